"""Expected counts of one group of closed jobs, by the exact posteriors of the engine.

A job is seen only because somebody complained, and closed as one only where the complaint was found to be
there. So its likelihood is P(answers and label | complaint told and there), and from what is expected with
the answers that is taken off which the complaint alone would make expected.
A label is right with 1 - LABEL_ERROR; else it names suspects by chance, and says nothing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.belief.engine import Engine
from diagnose.belief.evidence import Weights, merge, observe
from diagnose.belief.network import FRESH, Network, clocks, expand, fitted, was_renewed
from diagnose.learn.asking import Asker, Known
from diagnose.learn.coins import Array, Gains, Toss
from diagnose.learn.history import Group, Label
from diagnose.learn.links import Way, felt, judged, linked
from diagnose.learn.rows import Key, leaf_keys, leak_of
from diagnose.learn.shown import shown_in
from diagnose.model.library import Library
from diagnose.model.part import REFERENCE_KM, REFERENCE_YEARS
from diagnose.model.story import Seen
from diagnose.model.vehicle import Vehicle

__all__ = ["LABEL_ERROR", "Expected", "expect"]

#: P(a confirmed cause was not it): a wrong entry, or a part renewed to be safe (estimate).
LABEL_ERROR = 0.05

#: Of wrong labels: P(one more cause is named), P(something unlisted is) (estimates).
MORE, UNLISTED = 0.2, 0.1


@dataclass(frozen=True)
class Expected:
    """One group of J kinds. told: P(the complaint told and there). log_likelihood: given that, shape (J,).

    before: what each toss had before anything was told, (seen, tossed), shape (B,). right: P(the label is
    right), shape (J,); 1 where there is none.
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
    asked = dict.fromkeys((seen.finding, seen.position) for answers, _ in group.kinds for seen in answers)
    network, ways, leaks = linked(expand(library, group.vehicle, complaints, asked))
    network, there = felt(network)
    told = [*observe(library, network, group.heard, ()), (there, (0.0, 1.0))]
    stories = {
        answers: merge([*told, *observe(library, network, (), answers)])
        for answers in dict.fromkeys(answers for answers, _ in group.kinds)
    }
    asker = Asker(network, ways, leaks, shown_in(library, network, numbers, asked))
    engine = _engine(network)
    alone = engine.ask([merge(told)], asker.keys)
    known, right = _all_known(asker, engine, network, ways, group, stories, label_error)
    log_told = float(alone.log_evidence[0])
    rows = _priors(shipped, group.vehicle, network, numbers)
    tosses = [toss for _, toss in rows]
    priors = np.array([cause.prior for cause in network.causes])
    causes = [number for number, _ in rows]
    counts = [(known.present - alone.present[0, : len(priors)])[:, causes]]
    tossed = [np.zeros_like(counts[0])]
    before = [(priors[number], 1.0) for number in causes]
    keys = leaf_keys(library)
    links = [number for number, way in enumerate(ways) if keys[id(way.leaf)] in numbers]
    for number in links:
        way = ways[number]
        tosses.append(Toss(numbers[keys[id(way.leaf)]], way.chance / way.leaf.strength))
        before.append((priors[way.cause] * way.chance, priors[way.cause]))
    held = [ways[number].cause for number in links]
    counts.append((known.worked - alone.on[0])[:, links])
    tossed.append((known.present - alone.present[0, : len(priors)])[:, held])
    for number, leak in enumerate(leaks, start=len(ways)):
        figure = numbers.get(Key("leak", leak.gate))
        if figure is not None:
            tosses.append(Toss(figure, leak.chance / leak_of(library, leak.gate)))
            before.append((leak.chance, 1.0))
            counts.append((known.worked - alone.on[0])[:, [number]])
            tossed.append(np.zeros_like(counts[-1]))
    before += [(0.0, 0.0)] * len(asker.tosses)
    gains = Gains(
        (*tosses, *asker.tosses),
        np.concatenate([*counts, known.seen], axis=1).T,
        np.concatenate([*tossed, known.tossed], axis=1).T,
    )
    both = np.array(before, dtype=np.float64).reshape(-1, 2)
    return Expected(gains, (both[:, 0], both[:, 1]), math.exp(log_told), known.log - log_told, right)


def _all_known(
    asker: Asker,
    engine: Engine,
    network: Network,
    ways: Sequence[Way],
    group: Group,
    stories: Mapping[tuple[Seen, ...], Mapping[str, Weights]],
    label_error: float,
) -> tuple[Known, Array]:
    """What is known of each kind of job, over its label being right or not; and P(it is right)."""
    place = {answers: number for number, answers in enumerate(stories)}
    at = np.array([place[answers] for answers, _ in group.kinds], dtype=np.intp)
    plain = asker.known(engine, list(stories.values())).rows(at)
    right = plain.nothing()
    kinds: dict[Label, list[int]] = {}
    for number, (_, label) in enumerate(group.kinds):
        if label is not None:
            kinds.setdefault(label, []).append(number)
            plain.log[number] += math.log(label_error * _by_chance(label, len(network.suspects)))
    for label, here in kinds.items():
        judge = judged(network, ways, label)
        if judge is not None:
            whole, says = judge
            columns = [{**stories[group.kinds[number][0]], **says} for number in here]
            found = asker.known(_engine(whole), columns)
            found.log[:] += math.log(1.0 - label_error)
            right.put(here, found)
    known, share = plain.mixed(right)
    return known, np.where([label is not None for _, label in group.kinds], share, 1.0)


def _engine(network: Network) -> Engine:
    """An engine that does not work out what is to blame, which nothing here asks."""
    return Engine(replace(network, blame=frozenset()))


def _by_chance(label: Label, suspects: int) -> float:
    """P(a label that has nothing to do with the car is this one).

    Each number of causes named has a chance of its own, shared by all sets of so many suspects: were every
    label as likely as one with a single cause, those with several would look wrong, being rare.
    """
    count = min(len(label.causes), suspects)
    listed = (1.0 - MORE) * MORE ** max(count - 1, 0) / math.comb(suspects, count)
    if not label.outside:
        return (1.0 - UNLISTED) * listed
    return UNLISTED * (listed * MORE if count else 1.0 - MORE)


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
