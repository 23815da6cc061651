"""In which order causes are folded in and events are closed, so that few events are open at once.

The cost of exact inference is the size of the table over the events that are open: opened by the
first of their inputs, closed when all are in. Finding the best order is hard; a greedy one is good:
always close next the event that needs the smallest table.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from diagnose.belief.network import Network

__all__ = ["Act", "Close", "Fold", "Open", "Plan", "Step", "plan"]


@dataclass(frozen=True, slots=True)
class Open:
    """An event gets an axis in the table; it becomes the last one."""

    key: str


@dataclass(frozen=True, slots=True)
class Act:
    """A way in which a cause acts: with this chance it pushes all these events at once, else none.

    key: the event "it acts" itself, which needs no axis; what was seen of it may rescale its odds.
    """

    key: str
    chance: float
    touches: tuple[tuple[int, tuple[float, ...]], ...]


@dataclass(frozen=True, slots=True)
class Fold:
    """One cause, or two mates, is summed over.

    touches: for each cause, (axis number, chances) of every open event that it pushes by itself.
    acts: for each cause, the ways in which it acts.
    """

    causes: tuple[int, ...]
    touches: tuple[tuple[tuple[int, tuple[float, ...]], ...], ...]
    acts: tuple[tuple[Act, ...], ...]


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
    """An order of steps over the events `axes`, which must hold every event that feeds one of them.

    That a cause acts is an event of one input: it is decided when the cause is folded in, and has no axis.
    """
    keys = [key for key in network.nodes if key in axes and key not in network.acting]
    acting = [key for key in network.nodes if key in axes and key in network.acting]
    bit = {key: 1 << number for number, key in enumerate(keys)}
    size = {key: network.nodes[key].top + 1 for key in keys}
    pushes: dict[int, dict[str, list[tuple[float, ...]]]] = {}
    above: dict[str, dict[str, list[tuple[float, ...]]]] = {key: {} for key in keys}
    below: dict[str, set[str]] = {key: set() for key in keys}
    acts: dict[int, list[tuple[str, float, dict[str, list[tuple[float, ...]]]]]] = {}
    targets: dict[str, dict[str, list[tuple[float, ...]]]] = {key: {} for key in acting}
    for key in acting:
        (each,) = network.nodes[key].inputs
        assert isinstance(each.source, int)
        acts.setdefault(each.source, []).append((key, each.chances[0], targets[key]))
    for key in keys:
        for each in network.nodes[key].inputs:
            if each.source in targets:
                targets[str(each.source)].setdefault(key, []).append(each.chances)
            elif isinstance(each.source, str):
                above[each.source].setdefault(key, []).append(each.chances)
                below[key].add(each.source)
            else:
                pushes.setdefault(each.source, {}).setdefault(key, []).append(each.chances)
    touched = {
        cause: {*pushes.get(cause, ()), *(key for _, _, of in acts.get(cause, ()) for key in of)}
        for cause in {*pushes, *acts}
    }
    blocks = _blocks(network, touched)
    masks = [sum(bit[key] for key in {key for c in block for key in touched.get(c, ())}) for block in blocks]
    touching: dict[str, set[int]] = {key: set() for key in keys}
    for number, block in enumerate(blocks):
        for cause in block:
            for key in touched.get(cause, ()):
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
            steps.append(
                Fold(
                    blocks[number],
                    touches,
                    tuple(
                        tuple(
                            Act(name, chance, tuple((where[k], c) for k, many in of.items() for c in many))
                            for name, chance, of in acts.get(cause, ())
                        )
                        for cause in blocks[number]
                    ),
                )
            )
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


def _blocks(network: Network, pushes: Mapping[int, Collection[str]]) -> list[tuple[int, ...]]:
    """The causes that push an open event, mates together."""
    blocks: list[tuple[int, ...]] = []
    paired: set[int] = set()
    for i, j in network.pairs:
        if i in pushes or j in pushes:
            blocks.append((i, j))
            paired |= {i, j}
    blocks += [(cause,) for cause in pushes if cause not in paired]
    return blocks
