"""Which check to do next: the one that saves most money on the way to a cure, one step ahead.

For every check worth considering: what it can show, how likely each outcome is, and what the search
would cost after it. Several findings of one check are taken as: none seen, exactly one seen (at which
grade), several seen; a coarser view of the outcomes, so the saving is never overstated by it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.belief.belief import OUTSIDE, Belief, places
from diagnose.belief.evidence import Weights, merge
from diagnose.belief.network import finding_key
from diagnose.belief.tables import Array
from diagnose.choice.cost import OVERHEAD, Cures, change_minutes, check_minutes, possible
from diagnose.model.check import TALK, Check
from diagnose.model.library import Library
from diagnose.model.story import Workshop

__all__ = ["Outcome", "Proposal", "Spot", "next_checks", "open_spots"]

#: How many checks are looked at exactly; the others are ranked out by what they can tell per minute.
CONSIDERED = 36

#: A change of set-up is shared by so many checks at most: later answers may make the others needless.
MOST_SHARES = 3


@dataclass(frozen=True, slots=True)
class Spot:
    """A finding at a position."""

    finding: str
    position: str | None


@dataclass(frozen=True)
class Outcome:
    """What a check may show: `spot` at `level`, or none (spot None), or several at once.

    present: shape (N,), P(cause present | story and this outcome).
    """

    name: str
    spot: Spot | None
    level: int
    probability: float
    present: Array


@dataclass(frozen=True)
class Proposal:
    """A check with its worth. Minutes include the change of set-up from where the car is now.

    shares: how many checks worth their own minutes wait in that set-up, this one among them (at
    most 3): the change serves them all, so each is charged its share.
    saving: expected money saved, the check and its share of the change taken off; may be negative.
    saving_minutes: the same in minutes of labour.
    """

    check: str
    minutes: float
    change: float
    saving: float
    saving_minutes: float
    outcomes: tuple[Outcome, ...]
    shares: int = 1

    @property
    def worth(self) -> float:
        """What the check saves before its own cost, as a multiple of that cost (above 1: it pays)."""
        cost = self.change / self.shares + (self.minutes - self.change) + OVERHEAD
        return (self.saving_minutes + cost) / cost


def open_spots(belief: Belief, check: Check) -> list[Spot]:
    """The findings of a check not answered yet that can tell something about this car."""
    answered = {(seen.finding, seen.position) for seen in belief.story.seen}
    library, network = belief.car.library, belief.car.network
    spots = []
    for name in check.findings:
        finding = library.findings[name]
        for place in places(library, name):
            if (name, place) in answered:
                continue
            key = finding_key(name, place)
            if finding.repeats:
                if _repeated(library, name, place) in network.nodes:
                    spots.append(Spot(name, place))
            elif key in network.nodes and network.nodes[key].inputs:
                spots.append(Spot(name, place))
    return spots


def _repeated(library: Library, finding: str, position: str | None) -> str:
    """The node key of the event that a finding observes once more."""
    target = library.findings[finding].repeats
    if target not in library.findings:
        return target
    return finding_key(target, position if library.findings[target].where else None)


def next_checks(
    belief: Belief,
    cures: Cures,
    workshop: Workshop,
    set_up: str,
    done: Collection[str] = (),
    only: Collection[str] | None = None,
    most: int = CONSIDERED,
) -> tuple[float, list[Proposal]]:
    """(expected money if nothing more is looked at, the checks in the order in which to do them).

    First those that pay where the car stands, then those that pay elsewhere, then the others; each by
    what it saves for each minute. Checks that the workshop cannot do, or that are in `done`, are left
    out; `only` narrows them further.
    """
    library = belief.car.library
    # The driver is asked what the complaints told list; questions of other complaints would puzzle him.
    asked = {name for each in belief.car.complaints for name in library.complaints[each].questions}
    candidates: list[Candidate] = []
    for check in belief.car.checks.values():
        if check.id in done or (only is not None and check.id not in only) or not possible(check, workshop):
            continue
        if check.set_up == TALK and check.id not in asked:
            continue
        spots = open_spots(belief, check)
        if spots:
            candidates.append((check, spots))
    candidates = _promising(belief, candidates, set_up, most)
    now = float(
        cures.expected(belief.present[None, :], belief.to_blame[None, :], np.array([belief.outside]))[0]
    )
    proposals: list[Proposal] = []
    for group in _groups(belief, candidates):
        proposals += _look_at(belief, cures, workshop, set_up, now, group)
    proposals = _share_changes(library, proposals, workshop)
    # Those that pay come first: before the car is moved on, what pays where it stands; and among those
    # what saves most for each minute, since quick checks may make the slow ones needless.
    proposals.sort(
        key=lambda p: (
            p.saving <= 0.0,
            p.saving > 0.0 and p.change > 0.0,
            -round(p.worth, 9),
            p.minutes,
            p.check,
        )
    )
    return now, proposals


def _share_changes(library: Library, proposals: list[Proposal], workshop: Workshop) -> list[Proposal]:
    """Charge each check its share of a change of set-up that others waiting there need as well."""
    waiting: dict[str, int] = {}
    for each in proposals:
        if each.saving + workshop.labour(each.change) > 0.0:
            set_up = library.checks[each.check].set_up
            waiting[set_up] = waiting.get(set_up, 0) + 1
    shared = []
    for each in proposals:
        shares = min(max(waiting.get(library.checks[each.check].set_up, 1), 1), MOST_SHARES)
        back = each.change * (1.0 - 1.0 / shares)
        shared.append(
            replace(
                each,
                saving=each.saving + workshop.labour(back),
                saving_minutes=each.saving_minutes + back,
                shares=shares if each.change else 1,
            )
        )
    return shared


Candidate = tuple[Check, list[Spot]]


def _groups(belief: Belief, candidates: list[Candidate]) -> list[list[Candidate]]:
    """Candidates that one run answers together.

    An event that a finding repeats, and a mechanism that one points to, stay open in every column of
    their run: many of them at once would make the table wide. Those that need none share a run, the
    others go with those that need the same.
    """
    groups: dict[frozenset[str], list[Candidate]] = {}
    for candidate in candidates:
        groups.setdefault(_kept_open(belief, candidate[1]), []).append(candidate)
    return list(groups.values())


def _kept_open(belief: Belief, spots: Sequence[Spot]) -> frozenset[str]:
    """Keys of the events that a look at these spots keeps open, beside those that are open anyway."""
    library, nodes = belief.car.library, belief.car.network.nodes
    kept: set[str] = set()
    for spot in spots:
        finding = library.findings[spot.finding]
        if finding.repeats:
            if finding.repeats in library.findings:
                kept.add(_repeated(library, spot.finding, spot.position))
            continue
        inputs = nodes[finding_key(spot.finding, spot.position)].inputs
        # That a cause acts is an event of one input: it closes as soon as it has opened.
        acting = belief.car.network.acting
        kept |= {each.source for each in inputs if isinstance(each.source, str) and each.source not in acting}
    return frozenset(kept)


def _look_at(
    belief: Belief, cures: Cures, workshop: Workshop, set_up: str, now: float, group: list[Candidate]
) -> list[Proposal]:
    """What each check of the group would show and save, before changes of set-up are shared out."""
    library = belief.car.library
    columns: list[Mapping[str, Weights]] = []
    starts: list[int] = []
    for _, spots in group:
        starts.append(len(columns))
        columns += _columns(belief, spots)
    answer = belief.car.engine.ask(columns, (OUTSIDE,))
    count = len(belief.causes)
    ratio = np.exp(answer.log_evidence - float(belief.answer.log_evidence[0]))
    blame = np.nan_to_num(answer.to_blame[:, :count]) * ratio[:, None]
    present = np.nan_to_num(answer.present[:, :count]) * ratio[:, None]
    outside = np.nan_to_num(answer.on[:, 0]) * ratio
    proposals = []
    for (check, spots), start in zip(group, starts, strict=True):
        parts = _partition(library, belief, spots, start, ratio, blame, present, outside)
        minutes = check_minutes(library, check, set_up)
        after = 0.0
        outcomes = []
        for name, spot, level, p, b, q, o in parts:
            if p <= 1e-9:
                continue
            after += p * float(cures.expected(q[None, :] / p, b[None, :] / p, np.array([o / p]))[0])
            outcomes.append(Outcome(name, spot, level, p, np.clip(q / p, 0.0, 1.0)))
        saving = now - after - workshop.labour(minutes + OVERHEAD)
        change = change_minutes(library, check, set_up)
        rate = max(workshop.labour(1.0), 1e-9)
        proposals.append(Proposal(check.id, minutes, change, saving, saving / rate, tuple(outcomes)))
    return proposals


def _promising(belief: Belief, candidates: list[Candidate], set_up: str, most: int) -> list[Candidate]:
    """The checks that tell most about the culprit, per minute and in all (bits, one culprit assumed)."""
    library, network = belief.car.library, belief.car.network
    blame = belief.to_blame
    whole = float(blame.sum()) + belief.outside
    if whole <= 0.0:
        return candidates[:most]
    culprit = np.append(blame, belief.outside) / whole
    scored = []
    for order, (check, spots) in enumerate(candidates):
        bits = 0.0
        for spot in spots:
            finding = library.findings[spot.finding]
            if finding.repeats:
                there = belief.complaint(finding.repeats) if finding.repeats in belief.car.complaints else 0.5
                bits += 0.2 * _entropy(there)
                continue
            node = network.nodes[finding_key(spot.finding, spot.position)]
            seen = np.full(len(culprit), 1.0 - node.start[0])
            for each in node.inputs:
                cause = network.cause_of(each.source)
                for number in (cause,) if cause is not None else _below(belief, str(each.source)):
                    if number < len(blame):
                        seen[number] = 1.0 - node.start[0] * (1.0 - sum(each.chances))
            bits += _entropy(float(culprit @ seen)) - float(culprit @ _entropies(seen))
        minutes = check_minutes(library, check, set_up) + OVERHEAD
        scored.append((bits / minutes, bits, order))
    by_rate = sorted(scored, key=lambda s: (-s[0], s[2]))[: most // 2]
    by_bits = sorted(scored, key=lambda s: (-s[1], s[2]))
    chosen = {order for _, _, order in by_rate}
    for _, _, order in by_bits:
        if len(chosen) >= most:
            break
        chosen.add(order)
    return [candidates[number] for number in sorted(chosen)]


def _below(belief: Belief, key: str) -> set[int]:
    """Causes that feed a node."""
    found: set[int] = set()
    for name in belief.car.engine.feeds(key):
        found |= {i.source for i in belief.car.network.nodes[name].inputs if isinstance(i.source, int)}
    return {n for n in found if n < len(belief.causes)}


def _entropies(p: Array) -> Array:
    q = np.clip(p, 1e-12, 1 - 1e-12)
    result: Array = -(q * np.log2(q) + (1 - q) * np.log2(1 - q))
    return result


def _entropy(p: float) -> float:
    return float(_entropies(np.array([p]))[0])


def _weights(belief: Belief, spot: Spot, level: int) -> tuple[str, Weights]:
    """Node and weights of "at most this level seen" at a spot."""
    finding = belief.car.library.findings[spot.finding]
    network = belief.car.network
    if finding.repeats:
        target = _repeated(belief.car.library, spot.finding, spot.position)
        node = network.nodes[target]
        # A gate is there in its top state, a finding from its first level.
        first = node.top if node.counts else 1
        unseen = [
            1.0 - (finding.hit if state >= first else finding.false_alarm[0]) for state in range(node.top + 1)
        ]
        return target, tuple(unseen) if level == 0 else (1.0,) * (node.top + 1)
    key = finding_key(spot.finding, spot.position)
    return key, tuple(1.0 if state <= level else 0.0 for state in range(network.nodes[key].top + 1))


def _tops(belief: Belief, spot: Spot) -> int:
    finding = belief.car.library.findings[spot.finding]
    return 1 if finding.repeats else len(finding.levels)


def _columns(belief: Belief, spots: Sequence[Spot]) -> list[Mapping[str, Weights]]:
    """Story plus: nothing seen; then for each spot and level: others not seen, this up to the level."""
    nothing = [_weights(belief, spot, 0) for spot in spots]
    columns: list[Mapping[str, Weights]] = [merge([*belief.observations, *nothing])]
    for number, spot in enumerate(spots):
        others = nothing[:number] + nothing[number + 1 :]
        for level in range(1, _tops(belief, spot) + 1):
            this = _weights(belief, spot, level)
            columns.append(merge([*belief.observations, *others, this]))
    return columns


def _partition(
    library: Library,
    belief: Belief,
    spots: Sequence[Spot],
    start: int,
    ratio: Array,
    blame: Array,
    present: Array,
    outside: Array,
) -> list[tuple[str, Spot | None, int, float, Array, Array, float]]:
    """The outcomes of a check: name, spot, level, P, and the joint of P with blame, presence, outside."""
    parts: list[tuple[str, Spot | None, int, float, Array, Array, float]] = [
        ("none of it", None, 0, float(ratio[start]), blame[start], present[start], float(outside[start]))
    ]
    column = start
    for spot in spots:
        last = start
        for level in range(1, _tops(belief, spot) + 1):
            column += 1
            finding = library.findings[spot.finding]
            name = (
                finding.name if len(finding.levels) == 1 else f"{finding.name}: {finding.levels[level - 1]}"
            )
            parts.append(
                (
                    name,
                    spot,
                    level,
                    max(float(ratio[column] - ratio[last]), 0.0),
                    np.maximum(blame[column] - blame[last], 0.0),
                    np.maximum(present[column] - present[last], 0.0),
                    max(float(outside[column] - outside[last]), 0.0),
                )
            )
            last = column
    p = 1.0 - sum(part[3] for part in parts)
    if p > 1e-9 and len(spots) > 1:
        parts.append(
            (
                "several of these",
                None,
                -1,
                p,
                np.maximum(belief.to_blame - sum(part[4] for part in parts), 0.0),
                np.maximum(belief.present - sum(part[5] for part in parts), 0.0),
                max(belief.outside - sum(part[6] for part in parts), 0.0),
            )
        )
    return parts
