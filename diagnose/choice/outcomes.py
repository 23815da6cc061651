"""What a check may show: its outcomes, how likely each is, and what it would leave believed.

Several findings of one check are taken as: none seen, exactly one seen (at which grade), several seen; a
coarser view of the outcomes, so that what the check is worth is never overstated by it.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from diagnose.belief.belief import OUTSIDE, Belief, Car, places
from diagnose.belief.evidence import Weights, added
from diagnose.belief.network import finding_key
from diagnose.belief.tables import Array
from diagnose.model.check import Check
from diagnose.model.library import Library
from diagnose.model.story import Seen, Story

__all__ = [
    "Candidate",
    "Joint",
    "Outcome",
    "Spot",
    "Table",
    "answered_by",
    "answers_of",
    "columns_together",
    "left_open",
    "look_at",
    "look_at_together",
    "open_spots",
]

T = TypeVar("T")

#: Events that one run keeps open for the checks that it looks at: each more makes its table wider.
MOST_KEPT = 2

#: Outcomes of a lower probability are left out.
POSSIBLE = 1e-9


@dataclass(frozen=True, slots=True)
class Spot:
    """A finding at a position."""

    finding: str
    position: str | None


@dataclass(frozen=True)
class Outcome:
    """What a check may show: `spot` at `level`, or none (spot None), or several at once (level -1).

    present: shape (N,), P(cause present | story and this outcome).
    """

    name: str
    spot: Spot | None
    level: int
    probability: float
    present: Array


#: Check -> its findings that can tell something, for the cars at hand; they go when their car goes.
_KEPT: WeakKeyDictionary[Car, dict[str, tuple[Spot, ...]]] = WeakKeyDictionary()

#: A check with those of its findings that are not answered yet.
Candidate = tuple[Check, list[Spot]]


@dataclass(frozen=True)
class Table:
    """Beliefs side by side, a row each, with the probability of the row.

    p: shape (C,). present, blame: shape (C, N), P(cause present), P(it is to blame). outside, there: shape
    (C,), P(something not listed), P(the complaint is there). names, spots, levels: of each row's outcome.
    """

    p: Array
    present: Array
    blame: Array
    outside: Array
    there: Array
    names: tuple[str, ...]
    spots: tuple[Spot | None, ...]
    levels: tuple[int, ...]

    def outcomes(self) -> tuple[Outcome, ...]:
        """The rows as outcomes of a check."""
        return tuple(
            Outcome(name, spot, level, float(p), present)
            for name, spot, level, p, present in zip(
                self.names, self.spots, self.levels, self.p, self.present, strict=True
            )
        )


def stacked(tables: Sequence[Table]) -> tuple[Table, NDArray[np.intp]]:
    """The tables as one, in their order, and the number of the first row of each. There is one at least."""
    starts = np.cumsum([0, *(len(table.p) for table in tables[:-1])])
    together = Table(
        np.concatenate([table.p for table in tables]),
        np.concatenate([table.present for table in tables]),
        np.concatenate([table.blame for table in tables]),
        np.concatenate([table.outside for table in tables]),
        np.concatenate([table.there for table in tables]),
        tuple(name for table in tables for name in table.names),
        tuple(spot for table in tables for spot in table.spots),
        tuple(level for table in tables for level in table.levels),
    )
    return together, starts


def open_spots(belief: Belief, check: Check) -> list[Spot]:
    """The findings of a check not answered yet that can tell something about this car."""
    return unanswered(belief.car, belief.story, check)


def unanswered(car: Car, story: Story, check: Check) -> list[Spot]:
    """The same without a belief."""
    return left_open(car, answered_by(story), check)


def answered_by(story: Story) -> set[Spot]:
    """Where a story has an answer about the car as it is now."""
    return {Spot(seen.finding, seen.position) for seen in story.seen_now}


def left_open(car: Car, answered: Collection[Spot], check: Check) -> list[Spot]:
    """The findings of a check that can tell something about this car and have no answer yet."""
    kept = _KEPT.setdefault(car, {})
    if check.id not in kept:
        kept[check.id] = tuple(_telling(car, check))
    return [spot for spot in kept[check.id] if spot not in answered]


def answers_of(belief: Belief, spots: Sequence[Spot], outcome: Outcome) -> list[Seen]:
    """The answers to these spots that show just this outcome. Raises ValueError for "several"."""
    if outcome.level < 0:
        raise ValueError("several findings at once are not one answer each")
    seen = []
    for spot in spots:
        finding = belief.car.library.findings[spot.finding]
        word = finding.levels[outcome.level - 1] if spot == outcome.spot else "no"
        seen.append(Seen(spot.finding, spot.position, word))
    return seen


def _telling(car: Car, check: Check) -> list[Spot]:
    """The findings of a check that can tell something about this car."""
    library, network = car.library, car.network
    spots = []
    for name in check.findings:
        finding = library.findings[name]
        for place in places(library, name):
            key = finding_key(name, place)
            if finding.repeats:
                # Once it was cured in part, a complaint is another event than the one that was told.
                if _repeated(library, name, place) in network.nodes and not car.cured:
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


def look_at(belief: Belief, candidates: Sequence[Candidate]) -> list[Table]:
    """For each candidate the outcomes that can come, as a table."""
    whole = _whole(belief)
    tables: dict[str, Table] = {}
    for group in _groups([(candidate, _kept_open(belief, candidate[1])) for candidate in candidates]):
        columns: list[Mapping[str, Weights]] = []
        starts: list[int] = []
        for _, spots in group:
            starts.append(len(columns))
            columns += [added(belief.weights, each) for each in _columns(belief, spots)]
        joint = _joint(belief, columns)
        for (check, spots), start in zip(group, starts, strict=True):
            tables[check.id] = _partition(belief, spots, joint[start:], whole)
    return [tables[check.id] for check, _ in candidates]


@dataclass(frozen=True)
class Joint:
    """Several checks looked at together: a belief for every outcome of some of them, the others not done.

    cells: an axis for each check, as long as its outcomes and one more for "not done", which comes last; the
    number of the row of `rows`, or -1 where such outcomes cannot come.
    """

    cells: NDArray[np.intp]
    rows: Table

    @property
    def p(self) -> Array:
        """P(these outcomes), as `cells` stand."""
        result: Array = np.where(self.cells >= 0, self.rows.p[self.cells], 0.0)
        return result


def columns_together(belief: Belief, spots: Sequence[Spot]) -> int:
    """By how much a check multiplies the columns that `look_at_together` needs."""
    return 1 + sum(_tops(belief, spot) for spot in spots) + (len(spots) > 1)


def look_at_together(belief: Belief, checks: Sequence[Sequence[Spot]]) -> Joint:
    """What each combination of outcomes of these checks, given by their open spots, would leave believed."""
    ways = [_columns(belief, spots) for spots in checks]
    # With several spots, "anything at all" is a column of its own; with one it is the last.
    ways = [[*each, []] if len(spots) > 1 else each for each, spots in zip(ways, checks, strict=True)]
    columns = [
        added(belief.weights, itertools.chain.from_iterable(chosen)) for chosen in itertools.product(*ways)
    ]
    joint = _joint(belief, columns).reshape(*(len(each) for each in ways), -1)
    for axis, spots in enumerate(checks):
        front = np.moveaxis(joint, axis, 0)
        whole = front[-1]
        told = front[:-1] if len(spots) > 1 else front
        rows, _, _, _ = _rows(belief, spots, told.reshape(len(told), -1), whole.reshape(-1))
        every = np.concatenate([rows.reshape(len(rows), *whole.shape), whole[None]])
        joint = np.moveaxis(every, 0, axis)
    flat = joint.reshape(-1, joint.shape[-1])
    can = np.flatnonzero(flat[:, 0] > POSSIBLE)
    cells = np.full(len(flat), -1)
    cells[can] = np.arange(len(can))
    nothing = ("",) * len(can)
    table = _table(belief, flat[can], nothing, (None,) * len(can), (0,) * len(can))
    return Joint(cells.reshape(joint.shape[:-1]), table)


def _whole(belief: Belief) -> Array:
    """The belief as one row of a joint: its probability 1, outside, there, presence, blame."""
    result: Array = np.concatenate([[1.0, belief.outside, belief.there], belief.present, belief.to_blame])
    return result


def _joint(belief: Belief, columns: Sequence[Mapping[str, Weights]]) -> Array:
    """For each column, shape (columns, 3 + 2 N): its probability given the story, and jointly with it that
    of a cause outside, of the complaint, of each cause present, of each to blame."""
    answer = belief.car.engine.ask(columns, (OUTSIDE, belief.car.there), belief.lean)
    count = len(belief.causes)
    ratio = np.exp(answer.log_evidence - float(belief.answer.log_evidence[0]))[:, None]
    joint: Array = np.concatenate(
        [
            ratio,
            np.nan_to_num(answer.on) * ratio,
            np.nan_to_num(answer.present[:, :count]) * ratio,
            np.nan_to_num(answer.to_blame[:, :count]) * ratio,
        ],
        axis=1,
    )
    return joint


def _groups(needs: Sequence[tuple[T, frozenset[str]]]) -> list[list[T]]:
    """Things to look at, with the events that each keeps open, in groups that one run answers together.

    An event that a finding repeats, and a mechanism that one points to, stay open in every column of
    their run: many of them at once would make the table wide. So a run takes what keeps few open.
    """
    groups: list[tuple[frozenset[str], list[T]]] = []
    by_need: dict[frozenset[str], list[T]] = {}
    for thing, need in needs:
        by_need.setdefault(need, []).append(thing)
    for need, members in sorted(by_need.items(), key=lambda item: (len(item[0]), sorted(item[0]))):
        for number, (kept, group) in enumerate(groups):
            if len(kept | need) <= max(MOST_KEPT, len(kept), len(need)):
                groups[number] = (kept | need, group + members)
                break
        else:
            groups.append((need, members))
    return [group for _, group in groups]


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


def _columns(belief: Belief, spots: Sequence[Spot]) -> list[list[tuple[str, Weights]]]:
    """Nothing seen; then for each spot and level: others not seen, this up to the level."""
    nothing = [_weights(belief, spot, 0) for spot in spots]
    columns = [nothing]
    for number, spot in enumerate(spots):
        others = nothing[:number] + nothing[number + 1 :]
        columns += [[*others, _weights(belief, spot, level)] for level in range(1, _tops(belief, spot) + 1)]
    return columns


def _rows(
    belief: Belief, spots: Sequence[Spot], joint: Array, whole: Array
) -> tuple[Array, list[str], list[Spot | None], list[int]]:
    """The outcomes of a check from its columns: a row each, their names, spots and levels.

    joint: the rows of `_columns`, first its own; whole: the row of anything at all.
    """
    library = belief.car.library
    rows = [joint[0]]
    names, levels = ["none of it"], [0]
    spotted: list[Spot | None] = [None]
    column = 0
    for spot in spots:
        last = 0
        finding = library.findings[spot.finding]
        for level in range(1, _tops(belief, spot) + 1):
            column += 1
            rows.append(np.maximum(joint[column] - joint[last], 0.0))
            one = len(finding.levels) == 1
            names.append(finding.name if one else f"{finding.name}: {finding.levels[level - 1]}")
            spotted.append(spot)
            levels.append(level)
            last = column
    if len(spots) > 1:
        rows.append(np.maximum(whole - sum(rows), 0.0))
        names.append("several of these")
        spotted.append(None)
        levels.append(-1)
    return np.array(rows), names, spotted, levels


def _partition(belief: Belief, spots: Sequence[Spot], joint: Array, whole: Array) -> Table:
    """The outcomes of a check that can come, as a table."""
    every, names, spotted, levels = _rows(belief, spots, joint, whole)
    can = np.flatnonzero(every[:, 0] > POSSIBLE)
    return _table(
        belief,
        every[can],
        tuple(names[n] for n in can),
        tuple(spotted[n] for n in can),
        tuple(levels[n] for n in can),
    )


def _table(
    belief: Belief,
    rows: Array,
    names: tuple[str, ...],
    spots: tuple[Spot | None, ...],
    levels: tuple[int, ...],
) -> Table:
    """Rows of a joint, none of probability 0, as a table."""
    given = np.clip(rows[:, 1:] / rows[:, :1], 0.0, 1.0)
    count = len(belief.causes)
    return Table(
        rows[:, 0],
        given[:, 2 : 2 + count],
        given[:, 2 + count :],
        given[:, 0],
        given[:, 1],
        names,
        spots,
        levels,
    )
