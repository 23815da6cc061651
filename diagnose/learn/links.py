"""A car's model in which every link from a cause into a complaint's tree is an event of its own.

Then the engine's posterior of that event is the expected count of "this link worked", and one run counts
them all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnose.belief.cure import without
from diagnose.belief.network import Input, Network, Node, reaching
from diagnose.learn.history import Label
from diagnose.model.complaint import Leaf

__all__ = ["LEFT", "Leak", "Way", "felt", "judged", "linked"]

#: Key of the event "the complaint is there with what was named put right".
LEFT = "left"

#: Key of the event "one of several complaints is there".
THERE = "a complaint"


@dataclass(frozen=True, slots=True)
class Way:
    """The event "this cause is there and its link worked": key of the node, cause, and the link's leaf.

    asked: the key under which its probability can be asked for. chance: P(it works | cause present), the
    strength and what the car's layout or a side makes of it.
    """

    key: str
    asked: str
    cause: int
    leaf: Leaf
    chance: float


@dataclass(frozen=True, slots=True)
class Leak:
    """The event "something unlisted raised this gate": key of the node, id of the gate, chance."""

    key: str
    gate: str
    chance: float


def linked(network: Network) -> tuple[Network, list[Way], list[Leak]]:
    """The same model with a node for each link from a cause into a complaint's tree, and for each leak."""
    nodes = dict(network.nodes)
    ways, leaks = [], []
    for gate in sorted(network.blame):
        inputs = list(nodes[gate].inputs)
        for place, each in enumerate(inputs):
            if not isinstance(each.source, int) or each.leaf is None:
                continue
            if gate in network.acting:
                # Findings hang on it already. The engine keeps no table for it, but does for one behind it.
                asked = f"{gate}?"
                nodes[asked] = Node(asked, 1, True, (1.0, 0.0), (Input(gate, (1.0,)),))
                ways.append(Way(gate, asked, each.source, each.leaf, each.chances[0]))
                continue
            key = f"{network.causes[each.source].id}>{gate}.{place}"
            nodes[key] = Node(key, 1, True, (1.0, 0.0), (each,))
            inputs[place] = Input(key, (1.0,))
            ways.append(Way(key, key, each.source, each.leaf, each.chances[0]))
        start = nodes[gate].start
        if nodes[gate].top == 1 and start[1] > 0.0:
            key = f"leak>{gate}"
            leaks.append(Leak(key, gate, start[1]))
            nodes[key] = Node(key, 1, True, start, ())
            inputs.append(Input(key, (1.0,)))
            start = (1.0, 0.0)
        nodes[gate] = replace(nodes[gate], start=start, inputs=tuple(inputs))
    whole = replace(network, nodes=nodes)
    return replace(whole, blame=reaching(whole, tuple(network.complaints))), ways, leaks


def felt(network: Network) -> tuple[Network, str]:
    """The model with an event "a complaint is there", and its key."""
    tops = [key for key in network.complaints if key in network.nodes]
    if len(tops) == 1:
        return network, tops[0]
    node = Node(THERE, 1, True, (1.0, 0.0), tuple(Input(top, (1.0,)) for top in tops))
    return replace(network, nodes={**network.nodes, THERE: node}), THERE


def judged(
    network: Network, ways: Sequence[Way], label: Label
) -> tuple[Network, dict[str, tuple[float, float]]] | None:
    """The model in which a label can be observed, and the observations that say it is right.

    Right means: with the named causes put right no complaint is left, or, where it was not cured, one is; and
    of several named together each acted. Where something unlisted was part of it, it means that a complaint
    is left with every listed cause put right, and that no cause but those named acted. None if it cannot be
    right in this car.
    """
    named = [network.instances(fault, place) for fault, place in label.causes]
    if not all(named):
        return None
    cured = sorted({number for each in named for number in each})
    others: list[Way] = []
    if label.outside or not named:
        others = [way for way in ways if way.cause not in cured]
        cured = list(range(len(network.causes)))
    whole, tops = network, list[str]()
    for number, complaint in enumerate(key for key in network.complaints if key in network.nodes):
        whole, top = without(whole, complaint, cured, f"!{number}")
        if top is not None:
            tops.append(top)
    nodes = dict(whole.nodes)
    says: dict[str, tuple[float, float]] = {}
    gone = label.cured and not label.outside
    if tops:
        nodes[LEFT] = Node(LEFT, 1, True, (1.0, 0.0), tuple(Input(top, (1.0,)) for top in tops))
        says[LEFT] = (1.0, 0.0) if gone else (0.0, 1.0)
    elif not gone:
        return None
    if label.cured and (len(named) > 1 or label.outside):
        for number, each in enumerate(named):
            if len(each) != 1:
                continue  # where it was is not known, so which link is not either
            inputs = tuple(Input(way.key, (1.0,)) for way in ways if way.cause == each[0])
            if not inputs:
                return None
            key = f"{LEFT} acted {number}"
            nodes[key] = Node(key, 1, True, (1.0, 0.0), inputs)
            says[key] = (0.0, 1.0)
    if label.cured and label.outside and others:
        key = f"{LEFT} others"
        nodes[key] = Node(key, 1, True, (1.0, 0.0), tuple(Input(way.key, (1.0,)) for way in others))
        says[key] = (1.0, 0.0)
    return replace(whole, nodes=nodes), says
