"""Expected counts of one group of closed jobs, by the exact posteriors of the engine.

A job is seen only because somebody complained. So its likelihood is P(answers and label | complaint told),
and from what is expected with the answers that is taken off which the complaint alone would make expected.
A label is right with 1 - LABEL_ERROR; else it is any of the suspects, and says nothing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.belief.engine import Engine
from diagnose.belief.evidence import Weights, merge, observe
from diagnose.belief.network import (
    FRESH,
    Network,
    clocks,
    expand,
    fitted,
    was_renewed,
)
from diagnose.belief.run import Answer
from diagnose.learn.coins import Array, Gains, Toss
from diagnose.learn.history import Group
from diagnose.learn.links import Way, judged, linked
from diagnose.learn.rows import Key, leaf_keys
from diagnose.learn.shown import Shown, columns_of, shown_in
from diagnose.model.library import Library
from diagnose.model.part import REFERENCE_KM, REFERENCE_YEARS
from diagnose.model.vehicle import Vehicle

__all__ = ["LABEL_ERROR", "Expected", "expect"]

#: P(a confirmed cause was not it): a wrong entry, or a part renewed to be safe (estimate).
LABEL_ERROR = 0.05


@dataclass(frozen=True)
class Expected:
    """One group. told: P(the complaint told). log_likelihood: of each distinct job, given it, shape (J,).

    before: P(cause present) and the like of each toss before anything was told: (seen, tossed), shape (B,).
    right: P(the label is right) of each distinct job, shape (J,); 1 where there is none.
    """

    gains: Gains
    before: tuple[Array, Array]
    told: float
    log_likelihood: Array
    right: Array


def expect(
    library: Library,
    shipped: Library,
    numbers: Mapping[Key, int],
    group: Group,
    label_error: float = LABEL_ERROR,
) -> Expected:
    """Expected counts of a group of jobs under a library.

    shipped: the same library before any figure was moved. numbers: which figure is which. label_error: in
    (0, 1).
    """
    complaints: dict[str, str | None] = {}
    for each in group.heard:
        complaints[each.complaint] = each.side or complaints.get(each.complaint)
    asked = dict.fromkeys((seen.finding, seen.position) for answers in group.answers for seen in answers)
    network, ways = linked(expand(library, group.vehicle, complaints, asked))
    told = merge(observe(library, network, group.heard, ()))
    stories = [merge(observe(library, network, group.heard, answers)) for answers in group.answers]
    shown = shown_in(library, network, numbers, asked)
    columns, where = columns_of(told, stories, shown)
    keys = tuple(way.key for way in ways)
    plain = Engine(network).ask(columns, keys)
    parts = [(_Part(plain, network, ways, columns, where, shown), 1.0)]
    if group.label is not None:
        named = len({network.causes[n].fault for n in network.suspects}) + 1
        judge = judged(network, ways, group.label)
        parts[0] = (parts[0][0], label_error / named)
        if judge is not None:
            whole, says = judge
            answer = Engine(whole).ask([{**column, **says} for column in columns[1:]], keys)
            right = _Part(answer, network, ways, columns[1:], [(a - 1, b) for a, b in where], shown)
            parts.append((right, 1.0 - label_error))
    return _mixed(library, shipped, group.vehicle, network, ways, numbers, plain, parts)


class _Part:
    """What the engine says of all jobs of a group, with the label taken as right, or as saying nothing.

    log: log P(answers [and label]), shape (J,). present: (J, N). worked: P(way on), (J, W).
    """

    def __init__(
        self,
        answer: Answer,
        network: Network,
        ways: Sequence[Way],
        columns: Sequence[Mapping[str, Weights]],
        where: Sequence[tuple[int, Mapping[str, int]]],
        shown: Sequence[Shown],
    ) -> None:
        self.count = len(network.causes)
        self.way = {way.key: number for number, way in enumerate(ways)}
        at = np.array([column for column, _ in where], dtype=np.intp)
        self.log = answer.log_evidence[at]
        present, on = np.nan_to_num(answer.present), np.nan_to_num(answer.on)
        self.present: Array = present[at][:, : self.count]
        self.worked: Array = on[at]
        self.answer, self.columns, self.where, self.shown = answer, columns, where, shown
        self._present, self._on = present, on

    def detected(self) -> tuple[list[Toss], Array, Array]:
        """Tosses of findings with their counts, shape (B, J).

        A link of a finding that was seen worked with P(source on, without this finding) * detection times
        P(answers without it) / P(answers): a link that works makes the finding seen.
        """
        tosses: list[Toss] = []
        rows: list[tuple[Array, Array]] = []
        jobs = len(self.where)
        for each in self.shown:
            answered = np.array([each.key in self.columns[at] for at, _ in self.where])
            without = np.array(
                [at + 1 + less[each.key] if each.key in less else -1 for at, less in self.where]
            )
            factor = np.zeros(jobs)
            for job in np.flatnonzero(without >= 0).tolist():
                yes = self.columns[self.where[job][0]][each.key][1]
                apart = float(self.answer.log_evidence[without[job]]) - float(self.log[job])
                factor[job] = yes * math.exp(apart) if math.isfinite(apart) else 0.0
            number, alarm = each.alarm
            if number is not None:
                tosses.append(Toss(number))
                rows.append((np.minimum(alarm * factor, 1.0), answered.astype(np.float64)))
            for figure, source, detection in each.inputs:
                with_it = self._source(source, [at for at, _ in self.where])
                alone = self._source(source, without)
                tosses.append(Toss(figure))
                rows.append((np.minimum(detection * alone * factor, with_it), with_it * answered))
        shape = (len(rows), jobs)
        seen = np.array([row[0] for row in rows]).reshape(shape)
        return tosses, seen, np.array([row[1] for row in rows]).reshape(shape)

    def _source(self, source: int | str, columns: Sequence[int] | Array) -> Array:
        """P(a cause is there, or acts) in these columns."""
        at = np.asarray(columns, dtype=np.intp)
        found: Array = (
            self._present[at, source] if isinstance(source, int) else self._on[at, self.way[source]]
        )
        return found


def _mixed(
    library: Library,
    shipped: Library,
    vehicle: Vehicle,
    network: Network,
    ways: Sequence[Way],
    numbers: Mapping[Key, int],
    plain: Answer,
    parts: Sequence[tuple[_Part, float]],
) -> Expected:
    """All counts of a group, over the label being right or not."""
    logs = np.array([part.log + math.log(weight) for part, weight in parts])
    top = logs.max(axis=0)
    together = top + np.log(np.exp(logs - top).sum(axis=0))
    share = np.exp(logs - together)
    tosses: list[Toss] = []
    seen: list[Array] = []
    tossed: list[Array] = []
    before: list[tuple[float, float]] = []
    present = sum(part.present * w[:, None] for (part, _), w in zip(parts, share, strict=True))
    worked = sum(part.worked * w[:, None] for (part, _), w in zip(parts, share, strict=True))
    assert isinstance(present, np.ndarray)
    assert isinstance(worked, np.ndarray)
    priors = np.array([cause.prior for cause in network.causes])
    first = plain.present[0]
    ones = np.zeros(len(together))
    for number, toss in _priors(shipped, vehicle, network, numbers):
        tosses.append(toss)
        seen.append(present[:, number] - first[number])
        tossed.append(ones)
        before.append((float(priors[number]), 1.0))
    keys = leaf_keys(library)
    for number, way in enumerate(ways):
        figure = numbers.get(keys[id(way.leaf)])
        if figure is None:
            continue
        tosses.append(Toss(figure, way.chance / way.leaf.strength))
        seen.append(worked[:, number] - plain.on[0, number])
        tossed.append(present[:, way.cause] - first[way.cause])
        before.append((float(priors[way.cause]) * way.chance, float(priors[way.cause])))
    shown = [(part.detected(), w) for (part, _), w in zip(parts, share, strict=True)]
    for row, toss in enumerate(shown[0][0][0]):
        tosses.append(toss)
        seen.append(sum((d[1][row] * w for d, w in shown), np.zeros(len(together))))
        tossed.append(sum((d[2][row] * w for d, w in shown), np.zeros(len(together))))
        before.append((0.0, 0.0))
    right = share[1] if len(parts) > 1 else np.ones(len(together))
    log_told = float(plain.log_evidence[0])
    gains = Gains(tuple(tosses), np.array(seen), np.array(tossed))
    both = np.array(before).reshape(-1, 2)
    return Expected(gains, (both[:, 0], both[:, 1]), math.exp(log_told), together - log_told, right)


def _priors(
    library: Library, vehicle: Vehicle, network: Network, numbers: Mapping[Key, int]
) -> list[tuple[int, Toss]]:
    """The toss of each cause that anything in the network hangs on."""
    fed = {each.source for node in network.nodes.values() for each in node.inputs}
    found = []
    for number, cause in enumerate(network.causes):
        fault = library.faults[cause.fault]
        figure = numbers.get(Key("chance" if fault.life is None else "life", fault.id))
        if figure is None or number not in fed:
            continue
        share = fitted((library.parts[fault.part].fits, fault.fits), vehicle.facts, library)
        lifts = [factor for name, factor in fault.lifts.items() if vehicle.conditions.get(name)]
        lift = sum(math.log(factor) for factor in lifts)
        if fault.life is None:
            found.append((number, Toss(figure, share, lift)))
            continue
        km, years = clocks(vehicle, fault.part, cause.position)
        hazard = fault.life.hazard(
            REFERENCE_KM if km is None else km, REFERENCE_YEARS if years is None else years
        )
        fresh = FRESH if was_renewed(vehicle, fault.part, cause.position) else 0.0
        found.append((number, Toss(figure, share, lift, max(hazard, 1e-6), fresh)))
    return found
