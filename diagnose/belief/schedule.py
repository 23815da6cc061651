"""In which order causes are folded in and events are closed, so that few events are open at once.

The cost of exact inference is the size of the table over the events that are open: opened by the
first of their inputs, closed when all are in. Finding the best order is hard; a greedy one is good:
always close next the event that needs the smallest table.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.belief.network import Network

__all__ = ["Close", "Fold", "Open", "Plan", "Step", "plan"]


@dataclass(frozen=True, slots=True)
class Open:
    """An event gets an axis in the table; it becomes the last one."""

    key: str


@dataclass(frozen=True, slots=True)
class Fold:
    """One cause, or two mates, is summed over.

    touches: for each cause, (axis number, chances) of every open event that it pushes.
    """

    causes: tuple[int, ...]
    touches: tuple[tuple[tuple[int, tuple[float, ...]], ...], ...]


@dataclass(frozen=True, slots=True)
class Close:
    """An event has all its inputs: it pushes the events above it and loses its axis.

    axis: its number before closing. above: (axis number after closing, chances) of what it pushes.
    """

    key: str
    axis: int
    above: tuple[tuple[int, tuple[float, ...]], ...]


Step = Open | Fold | Close


@dataclass(frozen=True)
class Plan:
    """Steps over the events `axes`; `width` is the largest table, in states."""

    steps: tuple[Step, ...]
    axes: frozenset[str]
    width: int


def plan(network: Network, axes: frozenset[str]) -> Plan:
    """An order of steps over the events `axes`, which must hold every event that feeds one of them."""
    keys = [key for key in network.nodes if key in axes]
    bit = {key: 1 << number for number, key in enumerate(keys)}
    size = {key: network.nodes[key].top + 1 for key in keys}
    pushes: dict[int, dict[str, list[tuple[float, ...]]]] = {}
    above: dict[str, dict[str, list[tuple[float, ...]]]] = {key: {} for key in keys}
    below: dict[str, set[str]] = {key: set() for key in keys}
    for key in keys:
        for each in network.nodes[key].inputs:
            if isinstance(each.source, str):
                above[each.source].setdefault(key, []).append(each.chances)
                below[key].add(each.source)
            else:
                pushes.setdefault(each.source, {}).setdefault(key, []).append(each.chances)
    blocks = _blocks(network, pushes)
    masks = [sum(bit[key] for key in {key for c in block for key in pushes.get(c, ())}) for block in blocks]
    touching: dict[str, set[int]] = {key: set() for key in keys}
    for number, block in enumerate(blocks):
        for cause in block:
            for key in pushes.get(cause, ()):
                touching[key].add(number)

    weight = {bit[key]: size[key] for key in keys}
    memo: dict[int, int] = {}

    def table(mask: int) -> int:
        """States of a table over the events in the mask."""
        if mask not in memo:
            states, rest = 1, mask
            while rest:
                low = rest & -rest
                states *= weight[low]
                rest ^= low
            memo[mask] = states
        return memo[mask]

    steps: list[Step] = []
    order: list[str] = []
    opened, width, left = 0, 1, list(keys)
    done: set[int] = set()

    def open_all(mask: int) -> None:
        nonlocal opened, width
        for key in keys:
            if mask & bit[key] and not opened & bit[key]:
                steps.append(Open(key))
                order.append(key)
                opened |= bit[key]
        width = max(width, table(opened))

    closed: set[str] = set()
    while left:
        best: tuple[int, int, int, int] | None = None
        chosen = ""
        for rank, key in enumerate(left):
            if not below[key] <= closed:
                continue
            waiting = touching[key] - done
            needed = opened | bit[key]
            for number in waiting:
                needed |= masks[number]
            for upper in above[key]:
                needed |= bit[upper]
            score = (table(needed), table(needed & ~bit[key]), len(waiting), rank)
            if best is None or score < best:
                best, chosen = score, key
        open_all(bit[chosen])
        for number in sorted(touching[chosen] - done, key=lambda n: (bin(masks[n] & ~opened).count("1"), n)):
            open_all(masks[number])
            where = {key: axis for axis, key in enumerate(order)}
            touches = tuple(
                tuple((where[k], c) for k, many in pushes.get(cause, {}).items() for c in many)
                for cause in blocks[number]
            )
            steps.append(Fold(blocks[number], touches))
            done.add(number)
        for upper in above[chosen]:
            open_all(bit[upper])
        axis = order.index(chosen)
        order.remove(chosen)
        opened &= ~bit[chosen]
        where = {key: number for number, key in enumerate(order)}
        ups = tuple((where[k], c) for k, many in above[chosen].items() for c in many)
        steps.append(Close(chosen, axis, ups))
        closed.add(chosen)
        left.remove(chosen)
    return Plan(tuple(steps), axes, width)


def _blocks(
    network: Network, pushes: Mapping[int, Mapping[str, Sequence[tuple[float, ...]]]]
) -> list[tuple[int, ...]]:
    """The causes that push an open event, mates together."""
    blocks: list[tuple[int, ...]] = []
    paired: set[int] = set()
    for i, j in network.pairs:
        if i in pushes or j in pushes:
            blocks.append((i, j))
            paired |= {i, j}
    blocks += [(cause,) for cause in pushes if cause not in paired]
    return blocks
