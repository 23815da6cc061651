"""An equal model with smaller tables: fewer open events, graded findings as yes/no ones, and what is
known not to have happened taken into the odds of what could have raised it."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.belief.network import Input, Network, Node
from diagnose.belief.tables import Array, Numbers

__all__ = ["Cut", "Quiet", "absorbed", "at_level", "flatten"]


def flatten(network: Network, keep: Collection[str]) -> Network:
    """The network without those OR gates whose only effect is to raise another OR, surely.

    Findings that are not in `keep` say nothing, or only rescale odds: they are left out, and keep no gate.

    P(top off) is the product over all links either way, so causes push the upper gate directly:
    exact for evidence, presence and blame. `keep`: nodes that are observed or asked for; they stay.
    """
    network = replace(
        network,
        nodes={k: n for k, n in network.nodes.items() if n.counts or k in keep},
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


class Quiet:
    """What it says of the inputs of a finding that it stayed at or below a level.

    within: for each level, P(no false alarm above it). sources: shape (n,), numbers of what pushes it, as
    `number` gives them; keep: shape (levels, n), P(it raises nothing above the level). events: the keys of
    those that are nodes, with their numbers.
    """

    def __init__(self, node: Node, number: Callable[[int | str], int]) -> None:
        self.within: list[float] = np.cumsum(node.start).tolist()
        found: dict[int, Array] = {}
        self.events: dict[str, int] = {}
        for each in node.inputs:
            # P(this input alone stays at or below the level) = 1 - chances above it.
            tail = np.concatenate([np.cumsum(each.chances[::-1])[::-1], [0.0]])
            source = number(each.source)
            found[source] = found.get(source, 1.0) * (1.0 - tail)
            if isinstance(each.source, str):
                self.events[each.source] = source
        self.sources = np.array(list(found), dtype=np.intp)
        self.keep = np.array(list(found.values())).reshape(len(found), node.top + 1).T


@dataclass(frozen=True, slots=True)
class Cut:
    """A finding known to have stayed at or below a level, in these columns (None: in all).

    factor: P(what was observed | such a level).
    """

    quiet: Quiet
    level: int
    factor: float
    columns: Numbers | None

    @property
    def log(self) -> float:
        """Log of P(what was observed | nothing that pushes it is there)."""
        return math.log(max(self.factor * self.quiet.within[self.level], 1e-300))


def absorbed(cuts: Sequence[Cut], sources: int, columns: int) -> tuple[Array, Array]:
    """What known absences do: the factor on the odds of each source, shape (columns, sources), and the log
    of that on everything, shape (columns,).
    """
    everywhere, base = np.ones(sources), 0.0
    for cut in cuts:
        if cut.columns is None:
            base += cut.log
            everywhere[cut.quiet.sources] *= cut.quiet.keep[cut.level]
    factor, log = np.tile(everywhere, (columns, 1)), np.full(columns, base)
    some = [(cut, cut.columns) for cut in cuts if cut.columns is not None]
    if some:
        _absorb_some(some, factor, log)
    return factor, log


def _absorb_some(cuts: Sequence[tuple[Cut, Numbers]], factor: Array, log: Array) -> None:
    """Take in what was absent in some columns: every cut meets each of its columns with each of its sources.

    All in one go, since there may be hundreds of cuts, each of a few columns.
    """
    counts = [len(columns) for _, columns in cuts]
    rows = np.concatenate([columns for _, columns in cuts])
    log += np.bincount(rows, np.repeat([cut.log for cut, _ in cuts], counts), len(log))
    # The sources of all cuts stand in one row; for each column of a cut its stretch of that row is read.
    sources = np.concatenate([cut.quiet.sources for cut, _ in cuts])
    keep = np.concatenate([cut.quiet.keep[cut.level] for cut, _ in cuts])
    widths = np.array([len(cut.quiet.sources) for cut, _ in cuts])
    width, first = np.repeat(widths, counts), np.repeat(np.cumsum(widths) - widths, counts)
    place = np.arange(int(width.sum())) + np.repeat(first - (np.cumsum(width) - width), width)
    where = np.repeat(rows, width) * factor.shape[1] + sources[place]
    np.multiply.at(factor.reshape(-1), where, keep[place])
