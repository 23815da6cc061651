"""An equal model with smaller tables: fewer open events, and graded findings as yes/no ones."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from diagnose.belief.network import Input, Network, Node

__all__ = ["at_level", "flatten"]


def flatten(network: Network, keep: Collection[str], told: Collection[str] = ()) -> Network:
    """The network without those OR gates whose only effect is to raise another OR, surely.

    Findings that are neither in `keep` nor in `told` (those that only rescale odds) say nothing: they
    are left out, and keep no gate.

    P(top off) is the product over all links either way, so causes push the upper gate directly:
    exact for evidence, presence and blame. `keep`: nodes that are observed or asked for; they stay.
    """
    network = replace(
        network,
        nodes={k: n for k, n in network.nodes.items() if n.counts or k in keep or k in told},
    )
    users: dict[str, list[str]] = {}
    for key, node in network.nodes.items():
        for each in node.inputs:
            if isinstance(each.source, str):
                users.setdefault(each.source, []).append(key)
    gone: set[str] = set()
    for key, node in network.nodes.items():
        above = users.get(key, [])
        if key in keep or not _is_or(node) or len(above) != 1 or not _is_or(network.nodes[above[0]]):
            continue
        if all(e.chances == (1.0,) for e in network.nodes[above[0]].inputs if e.source == key):
            gone.add(key)
    if not gone:
        return network

    def gathered(node: Node) -> tuple[list[Input], float]:
        """All inputs that now push the node, and P(no leak on the way)."""
        found: list[Input] = []
        quiet = node.start[0]
        for each in node.inputs:
            if isinstance(each.source, str) and each.source in gone:
                more, below = gathered(network.nodes[each.source])
                found += more
                quiet *= below
            else:
                found.append(each)
        return found, quiet

    nodes: dict[str, Node] = {}
    for key, node in network.nodes.items():
        if key in gone:
            continue
        if any(each.source in gone for each in node.inputs):
            inputs, quiet = gathered(node)
            node = replace(node, start=(quiet, 1.0 - quiet), inputs=tuple(inputs))
        nodes[key] = node
    return replace(network, nodes=nodes, blame=network.blame & frozenset(nodes))


def _is_or(node: Node) -> bool:
    return node.counts and node.top == 1


def at_level(network: Network, levels: Mapping[str, int]) -> Network:
    """The network with each graded finding of `levels` as two yes/no ones.

    "The highest level raised is k" is "none above k was raised" and, that known, "k was raised":
    the node becomes the second, a node of the same key with `^` behind it the first.
    """
    nodes = dict(network.nodes)
    for key, level in levels.items():
        node = nodes[key]
        own = tuple(Input(e.source, (_given(e.chances, level),)) for e in node.inputs)
        alarm = _given(node.start[1:], level)
        nodes[key] = Node(key, 1, False, (1.0 - alarm, alarm), own)
        above = tuple(Input(e.source, (sum(e.chances[level:]),)) for e in node.inputs)
        false = sum(node.start[1:][level:])
        nodes[key + "^"] = Node(
            key + "^", 1, False, (1.0 - false, false), tuple(e for e in above if e.chances[0] > 0.0)
        )
    return replace(network, nodes=nodes)


def _given(chances: tuple[float, ...], level: int) -> float:
    """P(exactly this level | none above it)."""
    return chances[level - 1] / (1.0 - sum(chances[level:]))
