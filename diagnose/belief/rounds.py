"""One car through several repairs: what was looked at, repaired and driven, round after round, in one model.

Every round has the complaint's tree once more, as `cure` writes it, without the causes put right so far;
links that do not belong to them are shared, so that all rounds speak of the very same car. What was fitted
new may itself be bad, or badly fitted: a cause of its own, with the chance that any new part has, which
counts from its round on. It raises the complaint as the old one would alone, by a link of its own.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.belief.cure import Twins
from diagnose.belief.network import FRESH, Cause, Input, Network, Node, reaching

__all__ = ["Stage", "Staged", "mark_of", "reach", "staged"]


@dataclass(frozen=True, slots=True)
class Stage:
    """One repair. cured: causes (indices) put right. asked: keys of the findings answered before it, and
    since the repair before."""

    cured: frozenset[int]
    asked: frozenset[str]


@dataclass(frozen=True)
class Staged:
    """A network with all rounds. tops: for each round from the first repair on, complaint -> key of "it is
    there"; renewed: cause -> index of the cause "what was fitted in its place is bad", as it stands now.
    """

    network: Network
    tops: tuple[Mapping[str, str], ...]
    renewed: Mapping[int, int]


def mark_of(number: int) -> str:
    """What stands behind the key of a finding that was answered in this round (0: as it was brought), once
    a later one has begun."""
    return f"@{number}"


def reach(network: Network, cause: int, key: str) -> float:
    """P(the event is on | this cause is present, alone, and nothing leaks). Ways are taken as independent."""
    node = network.nodes[key]
    chances = []
    for each in node.inputs:
        if isinstance(each.source, str):
            below = reach(network, cause, each.source)
        else:
            below = 1.0 if each.source == cause else 0.0
        if below > 0.0:
            chances.append(below * each.chances[0])
    counts = np.zeros(node.top + 1)
    counts[0] = 1.0
    for chance in chances:
        moved = np.concatenate([[0.0], counts[:-1]]) * chance
        moved[-1] += counts[-1] * chance
        counts = counts * (1.0 - chance) + moved
    return float(counts[-1])


def staged(network: Network, keys: Collection[str], stages: Sequence[Stage]) -> Staged:
    """The network of a car that was repaired so often. keys: its complaints."""
    tops: dict[str, str | None] = {key: key for key in keys}
    found: list[Mapping[str, str]] = []
    latest: dict[str, str | None] = {}
    renewed: dict[int, int] = {}
    first = network
    for number, stage in enumerate(stages):
        nodes = dict(network.nodes)
        for key in stage.asked & nodes.keys():
            if not nodes[key].counts:
                nodes[key + mark_of(number)] = replace(nodes[key], key=key + mark_of(number))
        network = replace(network, nodes=nodes)
        twins = Twins(network, stage.cured, "~" * (number + 1))
        tops = {key: None if top is None else twins.make(top) for key, top in tops.items()}
        causes = twins.causes
        for cause in sorted(stage.cured):
            renewed[cause] = len(causes)
            old = first.causes[cause]
            causes.append(Cause(f"{old.id}-new", old.fault, old.position, FRESH))
        nodes = twins.nodes
        for key, node in first.nodes.items():
            if not node.counts:
                inputs = [_now(first, each, renewed, latest, twins) for each in node.inputs]
                nodes[key] = replace(node, inputs=tuple(each for each in inputs if each is not None))
        there: dict[str, str] = {}
        for key, top in tops.items():
            ways = [] if top is None else [Input(top, (1.0,))]
            for cause, new in renewed.items():
                chance = reach(first, cause, key)
                if chance > 0.0:
                    # Whether it raises the complaint is decided once for all rounds.
                    raises = f"{key}!{new}"
                    nodes[raises] = Node(raises, 1, True, (1.0, 0.0), (Input(new, (chance,)),))
                    ways.append(Input(raises, (1.0,)))
            there[key] = f"{key}~{number + 1}"
            nodes[there[key]] = Node(there[key], 1, True, (1.0, 0.0), tuple(ways))
        found.append(there)
        network = replace(network, nodes=nodes, causes=tuple(causes))
    last = tuple(found[-1].values()) if found else tuple(keys)
    return Staged(replace(network, blame=reaching(network, last)), tuple(found), renewed)


def _now(
    first: Network,
    each: Input,
    renewed: Mapping[int, int],
    latest: dict[str, str | None],
    twins: Twins,
) -> Input | None:
    """An input of a finding as the car is now; None if nothing is left of it."""
    cause = first.cause_of(each.source)
    if cause is not None:
        return replace(each, source=renewed[cause]) if cause in renewed else each
    assert isinstance(each.source, str)
    known = latest.get(each.source, each.source)
    made = None if known is None else twins.make(known)
    if made is not None or known is not None:
        latest[each.source] = made
    return None if made is None else replace(each, source=made)
