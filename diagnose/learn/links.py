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

__all__ = ["LEFT", "Way", "judged", "linked"]

#: Key of the event "the complaint is there with what was named put right".
LEFT = "left"


@dataclass(frozen=True, slots=True)
class Way:
    """The event "this cause is there and its link worked": key of the node, cause, and the link's leaf.

    chance: P(it works | cause present), the strength and what the car's layout or a side makes of it.
    """

    key: str
    cause: int
    leaf: Leaf
    chance: float


def linked(network: Network) -> tuple[Network, list[Way]]:
    """The same model with a node for each link from a cause into a complaint's tree, and those nodes."""
    nodes = dict(network.nodes)
    acting = dict(network.acting)
    for gate in sorted(network.blame):
        if gate in acting:
            continue
        inputs = list(nodes[gate].inputs)
        for place, each in enumerate(inputs):
            if isinstance(each.source, int) and each.leaf is not None:
                key = f"{network.causes[each.source].id}>{gate}.{place}"
                nodes[key] = Node(key, 1, True, (1.0, 0.0), (each,))
                acting[key] = each.source
                inputs[place] = Input(key, (1.0,))
        nodes[gate] = replace(nodes[gate], inputs=tuple(inputs))
    whole = replace(network, nodes=nodes, acting=acting)
    whole = replace(whole, blame=reaching(whole, tuple(network.complaints)))
    ways = []
    for key, cause in acting.items():
        (link,) = nodes[key].inputs
        if link.leaf is not None:
            ways.append(Way(key, cause, link.leaf, link.chances[0]))
    return whole, ways


def judged(
    network: Network, ways: Sequence[Way], label: Label
) -> tuple[Network, dict[str, tuple[float, float]]] | None:
    """The model in which a label can be observed, and the observations that say it is right.

    Right means: with the named causes put right no complaint is left, or, where it was not cured or
    something unlisted was part of it, one is; and of several named together each acted. None if it cannot
    be right in this car.
    """
    named = [network.instances(fault, place) for fault, place in label.causes]
    if not all(named):
        return None
    cured = sorted({number for each in named for number in each})
    if not named:
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
    return replace(whole, nodes=nodes), says
