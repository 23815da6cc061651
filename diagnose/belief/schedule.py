"""In which order causes are folded in and events are closed, so that few events are open at once.

The cost of exact inference is the size of the table over the events that are open: opened by the
first of their inputs, closed when all are in. Finding the best order is hard; a greedy one is good:
always close next the event that needs the smallest table.

Most causes push one yes/no event and nothing else. Those of one event are bundled: what they do to it
together has a closed form, so a run takes them in one move, however many they are. Others push the same
few events: they are folded into a small table of these alone, and that into the large one.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.belief.network import Network
from diagnose.belief.ordering import Events, closing_order
from diagnose.belief.small import Pushes, Small
from diagnose.belief.tables import Array, Numbers

__all__ = ["Act", "Bundle", "Close", "Fold", "Group", "Links", "Move", "Open", "Plan", "Step", "plan"]

#: Folds of one event that are worth a bundle: fewer are faster one by one.
LEAST = 2

#: States of the small table of a group, at most; and of a table that is small itself.
MOST_STATES, SMALL = 64, 16

#: Passes over a large table that it takes to take a small one into it, for each state of that (measured);
#: from so many states on, where columns are few, it is quicker.
DENSE, WIDE_DENSE, WIDE = 6.0, 0.3, 4096

#: Passes to take a large table apart and to put it together, and those of a fold, for each that it makes
#: forwards (measured).
APART, FOLDED = 4.0, 6.0


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


@dataclass(frozen=True, eq=False)
class Links:
    """What n causes can do, once present, to one event of two states.

    chances: shape (links, n), P(the link works); 0 where a cause has fewer links than another.
    acts: (link, which of the n causes, key) of the links that are an event "it acts", whose odds what
    was seen of it may rescale.
    off, on: shape (n,), P(no link works), P(some link works), nothing seen of the acts.
    """

    chances: Array
    acts: tuple[tuple[int, int, str], ...]
    off: Array
    on: Array


@dataclass(frozen=True, eq=False)
class Bundle:
    """All causes whose only touch is this axis of two states, summed over at once.

    pairs: numbers of the pairs of mates, in the order of the network. singles: the other causes.
    first: the first of each pair, then the singles; `links` are theirs. second: the second of each
    pair; `mates` are their links.
    """

    axis: int
    pairs: Numbers
    singles: Numbers
    first: Numbers
    second: Numbers
    links: Links
    mates: Links


@dataclass(frozen=True, eq=False)
class Group:
    """Folds that push few of the open axes, summed over on a small table of these alone.

    axes: their numbers, in their order; sizes, keys: of each. every: they are all that are open, so that the
    table itself is the small one. folds: the causes of each, and what they do to the small table.
    """

    axes: tuple[int, ...]
    sizes: tuple[int, ...]
    keys: tuple[str, ...]
    every: bool
    folds: tuple[tuple[tuple[int, ...], tuple[Pushes, ...]], ...]
    small: Small


Move = Open | Fold | Bundle | Group | Close


@dataclass(frozen=True, eq=False)
class Plan:
    """Steps over the events `axes` of a network; `width` is the largest table, in states.

    silent: (cause, key, chance) of acts that push no open event. loose_pairs, loose: the pairs (their
    numbers) and the other causes that no step takes in.
    """

    network: Network
    steps: tuple[Step, ...]
    axes: frozenset[str]
    width: int
    silent: tuple[tuple[int, str, float], ...]
    loose_pairs: Numbers
    loose: Numbers

    # Made when they are asked for: to learn how wide a table would be, the steps are enough.

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """The steps, with bundles and groups of folds."""
        return _bundled(self.network, self.steps)

    @cached_property
    def shapes(self) -> tuple[tuple[tuple[int, ...], tuple[str, ...]], ...]:
        """Before each move, and after the last, (sizes, keys) of the open axes."""
        return _shapes(self.network, self.moves)


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
    silent = tuple((cause, key, chance) for cause, ways in acts.items() for key, chance, of in ways if not of)
    acts = {cause: found for cause, ways in acts.items() if (found := [way for way in ways if way[2]])}
    touched = {
        cause: {*pushes.get(cause, ()), *(key for _, _, of in acts.get(cause, ()) for key in of)}
        for cause in {*pushes, *acts}
    }
    blocks = _blocks(network, touched)
    masks = [0] * len(blocks)
    touching: dict[str, set[int]] = {key: set() for key in keys}
    for number, block in enumerate(blocks):
        for cause in block:
            for key in touched.get(cause, ()):
                masks[number] |= bit[key]
                touching[key].add(number)

    steps: list[Step] = []
    where: dict[str, int] = {}  # key of an open event -> its axis
    opened, width = 0, 1
    done: set[int] = set()

    def open_all(mask: int) -> None:
        nonlocal opened, width
        if not mask & ~opened:
            return
        for key in keys:
            if mask & bit[key] and not opened & bit[key]:
                steps.append(Open(key))
                where[key] = len(where)
                opened |= bit[key]
        width = max(width, math.prod(size[key] for key in where))

    def touch(pushed: Mapping[str, list[tuple[float, ...]]]) -> tuple[tuple[int, tuple[float, ...]], ...]:
        return tuple([(where[key], chances) for key, many in pushed.items() for chances in many])

    def fold(block: tuple[int, ...]) -> Fold:
        ways = [
            tuple([Act(name, chance, touch(of)) for name, chance, of in acts.get(cause, ())])
            for cause in block
        ]
        return Fold(block, tuple([touch(pushes.get(cause, {})) for cause in block]), tuple(ways))

    order = closing_order(
        Events(
            [size[key] for key in keys],
            [[masks[number] for number in sorted(touching[key])] for key in keys],
            [sum(bit[upper] for upper in above[key]) for key in keys],
            [sum(bit[lower] for lower in below[key]) for key in keys],
        )
    )
    for chosen in (keys[number] for number in order):
        open_all(bit[chosen])
        for number in sorted(touching[chosen] - done, key=lambda n: (bin(masks[n] & ~opened).count("1"), n)):
            open_all(masks[number])
            steps.append(fold(blocks[number]))
            done.add(number)
        for upper in above[chosen]:
            open_all(bit[upper])
        axis = where.pop(chosen)
        opened &= ~bit[chosen]
        where.update({key: number for number, key in enumerate(where)})
        steps.append(Close(chosen, axis, touch(above[chosen])))
    loose_pairs, loose = _loose(network, {c for step in steps if isinstance(step, Fold) for c in step.causes})
    return Plan(network, tuple(steps), axes, width, silent, loose_pairs, loose)


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


def _loose(network: Network, folded: Collection[int]) -> tuple[Numbers, Numbers]:
    """Pairs (their numbers) and other causes that no step takes in."""
    pairs = [number for number, (i, _) in enumerate(network.pairs) if i not in folded]
    paired = {cause for pair in network.pairs for cause in pair}
    rest = [c for c in range(len(network.causes)) if c not in folded and c not in paired]
    return _numbers(pairs), _numbers(rest)


def _shapes(network: Network, moves: Iterable[Move]) -> tuple[tuple[tuple[int, ...], tuple[str, ...]], ...]:
    """Sizes and keys of the open axes before each move, and after the last."""
    sizes: list[int] = []
    order: list[str] = []
    shapes: list[tuple[tuple[int, ...], tuple[str, ...]]] = [((), ())]
    for move in moves:
        if isinstance(move, Open):
            sizes.append(network.nodes[move.key].top + 1)
            order.append(move.key)
        elif isinstance(move, Close):
            del sizes[move.axis]
            del order[move.axis]
        else:
            shapes.append(shapes[-1])
            continue
        shapes.append((tuple(sizes), tuple(order)))
    return tuple(shapes)


def _bundled(network: Network, steps: Sequence[Step]) -> tuple[Move, ...]:
    """The steps, folds that stand side by side bundled by their one axis, or grouped by their few.

    The order of folds side by side is free: what one cause pushes does not hang on the others.
    """
    pairs: dict[tuple[int, ...], int] = {pair: number for number, pair in enumerate(network.pairs)}
    moves: list[Move] = []
    waiting: list[Fold] = []
    keys: list[str] = []

    def flush() -> None:
        sizes = [network.nodes[key].top + 1 for key in keys]
        by_axis: dict[int | None, list[Fold]] = {}
        for fold in waiting:
            by_axis.setdefault(_one_axis(fold, sizes), []).append(fold)
        single: list[Fold] = []
        for axis, folds in by_axis.items():
            if axis is None or len(folds) < LEAST:
                single += folds
            else:
                moves.append(_bundle(axis, folds, pairs))
        moves.extend(_grouped(network, keys, single))
        waiting.clear()

    for step in steps:
        if isinstance(step, Fold):
            waiting.append(step)
            continue
        flush()
        moves.append(step)
        if isinstance(step, Open):
            keys.append(step.key)
        else:
            del keys[step.axis]
    return tuple(moves)


def _grouped(network: Network, keys: Sequence[str], folds: Sequence[Fold]) -> list[Move]:
    """Folds that stand side by side, in groups where that is quicker. keys: of the open axes."""
    sizes = [network.nodes[key].top + 1 for key in keys]
    whole = math.prod(sizes)
    if folds and whole <= SMALL:
        return [_group(network, keys, range(len(keys)), folds)]
    dense = DENSE if whole < WIDE else WIDE_DENSE

    def passes(axes: Collection[int], those: Sequence[Fold]) -> tuple[float, bool]:
        """Passes over the large table that these folds take, and whether they do as a group."""
        states, alone = math.prod(sizes[axis] for axis in axes), sum(_passes(fold) for fold in those)
        together = APART + dense * states
        return (together, True) if together < alone and states <= MOST_STATES else (alone, False)

    groups: list[tuple[frozenset[int], list[Fold]]] = []
    for fold, pushed in sorted(((each, _axes(each)) for each in folds), key=lambda each: -len(each[1])):
        most, joined = passes(pushed, [fold])[0], -1
        for number, (axes, those) in enumerate(groups):
            more = passes(axes | pushed, [*those, fold])[0] - passes(axes, those)[0]
            if more < most:
                most, joined = more, number
        if joined < 0:
            groups.append((pushed, [fold]))
        else:
            axes, those = groups[joined]
            groups[joined] = (axes | pushed, [*those, fold])
    moves: list[Move] = []
    for axes, those in groups:
        if passes(axes, those)[1]:
            moves.append(_group(network, keys, sorted(axes), those))
        else:
            moves += those
    return moves


def _passes(fold: Fold) -> float:
    """Passes over a table that folding takes, about: for each story but that in which nothing is present."""
    each = [3.0 + 2.0 * len(touches) for touches in fold.touches]
    for number, acts in enumerate(fold.acts):
        each[number] += sum(2.0 * len(act.touches) + 3.0 * (len(act.touches) > 1) for act in acts)
    return FOLDED * (each[0] if len(each) == 1 else each[0] + 2.0 * each[1])


def _axes(fold: Fold) -> frozenset[int]:
    """The axes that the causes of a fold push."""
    own = frozenset(axis for touches in fold.touches for axis, _ in touches)
    return own | {axis for acts in fold.acts for act in acts for axis, _ in act.touches}


def _group(network: Network, keys: Sequence[str], axes: Sequence[int], folds: Sequence[Fold]) -> Group:
    """These folds on a table of these axes."""
    place = {axis: number for number, axis in enumerate(axes)}
    nodes = [network.nodes[keys[axis]] for axis in axes]
    small = Small.of(tuple([node.top + 1 for node in nodes]), tuple([node.counts for node in nodes]))
    mine = tuple([keys[axis] for axis in axes])
    blame = frozenset(number for number, key in enumerate(mine) if key in network.blame)

    def placed(touches: Iterable[tuple[int, tuple[float, ...]]]) -> tuple[tuple[int, tuple[float, ...]], ...]:
        return tuple([(place[axis], chances) for axis, chances in touches])

    made = [
        tuple(
            [
                small.pushes(placed(own), tuple([(a.key, a.chance, placed(a.touches)) for a in acts]), blame)
                for own, acts in zip(fold.touches, fold.acts, strict=True)
            ]
        )
        for fold in folds
    ]
    every = len(axes) == len(keys)
    causes = [fold.causes for fold in folds]
    return Group(tuple(axes), small.sizes, mine, every, tuple(zip(causes, made, strict=True)), small)


def _one_axis(fold: Fold, sizes: Sequence[int]) -> int | None:
    """The axis of two states that is all that the causes of a fold push, or None."""
    touches = [touch for many in fold.touches for touch in many]
    for acts in fold.acts:
        for act in acts:
            # An act that pushes once, surely, is a link like any other.
            if len(act.touches) != 1 or act.touches[0][1] != (1.0,):
                return None
            touches += act.touches
    axes = {axis for axis, _ in touches}
    if len(axes) != 1 or sizes[touches[0][0]] != 2:
        return None
    return touches[0][0]


def _bundle(axis: int, folds: Sequence[Fold], pairs: Mapping[tuple[int, ...], int]) -> Bundle:
    """Folds that push this axis only, as one move."""
    double = [fold for fold in folds if len(fold.causes) == 2]
    lone = [fold for fold in folds if len(fold.causes) == 1]
    singles = [fold.causes[0] for fold in lone]
    return Bundle(
        axis,
        _numbers([pairs[fold.causes] for fold in double]),
        _numbers(singles),
        _numbers([*(fold.causes[0] for fold in double), *singles]),
        _numbers([fold.causes[1] for fold in double]),
        _links([*double, *lone], 0),
        _links(double, 1),
    )


def _links(folds: Sequence[Fold], number: int) -> Links:
    """The links of one cause of each fold, those by which it acts last."""
    each = [
        [(chances[0], "") for _, chances in fold.touches[number]]
        + [(act.chance, act.key) for act in fold.acts[number]]
        for fold in folds
    ]
    chances = np.zeros((max((len(links) for links in each), default=0), len(folds)))
    acts: list[tuple[int, int, str]] = []
    for which, links in enumerate(each):
        for link, (chance, key) in enumerate(links):
            chances[link, which] = chance
            if key:
                acts.append((link, which, key))
    off, on = np.ones(len(folds)), np.zeros(len(folds))
    for works in chances:
        on += off * works
        off *= 1.0 - works
    return Links(chances, tuple(acts), off, on)


def _numbers(values: Sequence[int]) -> Numbers:
    return np.array(values, dtype=np.intp)
