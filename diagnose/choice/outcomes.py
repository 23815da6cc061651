"""What a check may show: its outcomes, how likely each is, and what it would leave believed.

Several findings of one check are taken as: none seen, exactly one seen (at which grade), several seen; a
coarser view of the outcomes, so that what the check is worth is never overstated by it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar
from weakref import WeakKeyDictionary

import numpy as np

from diagnose.belief.belief import OUTSIDE, Belief, Car, places
from diagnose.belief.columns import Columns, Observed
from diagnose.belief.evidence import Weights, observed_key
from diagnose.belief.network import finding_key
from diagnose.belief.tables import Array, Numbers
from diagnose.model.check import Check
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

    present: shape (N,), P(cause present | story and this outcome); not a number for a cause that was not
    looked at.
    """

    name: str
    spot: Spot | None
    level: int
    probability: float
    present: Array


class Shown(NamedTuple):
    """What one outcome of a check shows, as in `Outcome`."""

    name: str
    spot: Spot | None
    level: int


#: Check -> its findings that can tell something, for the cars at hand; they go when their car goes.
_KEPT: WeakKeyDictionary[Car, dict[str, tuple[Spot, ...]]] = WeakKeyDictionary()

#: A check with those of its findings that are not answered yet.
Candidate = tuple[Check, list[Spot]]


@dataclass(frozen=True)
class Table:
    """Beliefs side by side, a row each, with the probability of the row.

    p: shape (C,). present, blame: shape (C, M), P(cause present), P(it is to blame), of the causes looked
    at. outside, there: shape (C,), P(something not listed), P(the complaint is there). shown: by each row.
    """

    p: Array
    present: Array
    blame: Array
    outside: Array
    there: Array
    shown: tuple[Shown, ...]

    def outcomes(self, causes: Numbers, count: int) -> tuple[Outcome, ...]:
        """The rows as outcomes of a check. causes: shape (M,), numbers of those looked at, out of `count`."""
        present = np.full((len(self.p), count), np.nan)
        present[:, causes] = self.present
        return tuple(
            Outcome(each.name, each.spot, each.level, float(p), row)
            for each, p, row in zip(self.shown, self.p, present, strict=True)
        )


def stacked(tables: Sequence[Table]) -> tuple[Table, Numbers]:
    """The tables as one, in their order, and the number of the first row of each. There is one at least."""
    starts = np.cumsum([0, *(len(table.p) for table in tables[:-1])])
    together = Table(
        np.concatenate([table.p for table in tables]),
        np.concatenate([table.present for table in tables]),
        np.concatenate([table.blame for table in tables]),
        np.concatenate([table.outside for table in tables]),
        np.concatenate([table.there for table in tables]),
        tuple(each for table in tables for each in table.shown),
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
                if observed_key(library, name, place) in network.nodes and not car.cured:
                    spots.append(Spot(name, place))
            elif key in network.nodes and network.nodes[key].inputs:
                spots.append(Spot(name, place))
    return spots


def look_at(belief: Belief, candidates: Sequence[Candidate], causes: Numbers) -> list[Table]:
    """For each candidate the outcomes that can come, as a table. causes: numbers of those looked at."""
    whole = _whole(belief, causes)
    tables: dict[str, Table] = {}
    asked = [(check, _ways(belief.car, spots)) for check, spots in candidates]
    for group in _groups([(each, each[1].kept) for each in asked]):
        ends = np.cumsum([ways.columns for _, ways in group]).tolist()
        columns = Columns(ends[-1], belief.weights)
        for (_, ways), end in zip(group, ends, strict=True):
            first = end - ways.columns
            for key, observed in ways.observed:
                columns.observe(key, {seen: [first + n for n in those] for seen, those in observed.items()})
        found = _tables(_joint(belief, columns, causes), whole, [ways for _, ways in group])
        tables.update((check.id, table) for (check, _), table in zip(group, found, strict=True))
    return [tables[check.id] for check, _ in candidates]


@dataclass(frozen=True)
class Joint:
    """Several checks looked at together: a belief for every outcome of some of them, the others not done.

    cells: an axis for each check, as long as its outcomes and one more for "not done", which comes last; the
    number of the row of `rows`, or -1 where such outcomes cannot come.
    """

    cells: Numbers
    rows: Table

    @property
    def p(self) -> Array:
        """P(these outcomes), as `cells` stand."""
        result: Array = np.where(self.cells >= 0, self.rows.p[self.cells], 0.0)
        return result


def columns_together(belief: Belief, spots: Sequence[Spot]) -> int:
    """By how much a check multiplies the columns that `look_at_together` needs."""
    return _ways(belief.car, spots).columns + (len(spots) > 1)


def look_at_together(belief: Belief, checks: Sequence[Sequence[Spot]], causes: Numbers) -> Joint:
    """What each combination of outcomes of these checks, given by their open spots, would leave believed.

    causes: numbers of those looked at.
    """
    every = [_ways(belief.car, spots) for spots in checks]
    # With several spots, "anything at all" is a column of its own; with one it is the last.
    sizes = [columns_together(belief, spots) for spots in checks]
    places = np.arange(math.prod(sizes)).reshape(sizes)
    columns = Columns(places.size, belief.weights)
    for axis, ways in enumerate(every):
        for key, observed in ways.observed:
            columns.observe(
                key, {seen: places.take(those, axis).ravel().tolist() for seen, those in observed.items()}
            )
    joint = _joint(belief, columns, causes).reshape(*sizes, -1)
    for axis, (ways, spots) in enumerate(zip(every, checks, strict=True)):
        front = np.moveaxis(joint, axis, 0)
        whole = front[-1]
        told = front[:-1] if len(spots) > 1 else front
        rows = _shares(told.reshape(len(told), -1), ways.less)
        parts = [rows.reshape(len(rows), *whole.shape), whole[None]]
        if len(spots) > 1:
            parts.insert(1, np.maximum(whole - parts[0].sum(axis=0), 0.0)[None])
        joint = np.moveaxis(np.concatenate(parts), 0, axis)
    flat = joint.reshape(-1, joint.shape[-1])
    can = np.flatnonzero(flat[:, 0] > POSSIBLE)
    cells = np.full(len(flat), -1)
    cells[can] = np.arange(len(can))
    return Joint(cells.reshape(joint.shape[:-1]), _table(flat[can], (Shown("", None, 0),) * len(can)))


def _whole(belief: Belief, causes: Numbers) -> Array:
    """The belief as one row of a joint: its probability 1, outside, there, presence, blame."""
    result: Array = np.concatenate(
        [[1.0, belief.outside, belief.there], belief.present[causes], belief.to_blame[causes]]
    )
    return result


def _joint(belief: Belief, columns: Columns, causes: Numbers) -> Array:
    """For each column, shape (columns, 3 + 2 M): its probability given the story, and jointly with it that
    of a cause outside, of the complaint, of each of these causes present, of each to blame.

    columns: with all that the belief has observed.
    """
    answer = belief.car.engine.ask(columns, (OUTSIDE, belief.car.there), belief.lean)
    joint: Array = np.concatenate(
        [np.ones((columns.count, 1)), answer.on, answer.present[:, causes], answer.to_blame[:, causes]],
        axis=1,
    )
    ratio = np.exp(answer.log_evidence - float(belief.answer.log_evidence[0]))
    # What cannot be is not a number, and has a ratio of 0.
    return np.where(ratio[:, None] > 0.0, joint * ratio[:, None], 0.0)


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


class _Ways(NamedTuple):
    """What a check with some spots may show, as the columns of a run, and out of them its outcomes.

    shown: its outcomes: nothing seen; then for each spot and level, this at the level and no other; where
    there are several spots, last "several of these", which is all that is left and has no column.
    observed: key of a node -> what is observed of it in which columns: at most this level.
    less: shape (columns,), the column that is part of each, -1 for the first.
    kept: keys of the events that a look keeps open, beside those that are open anyway.
    """

    shown: tuple[Shown, ...]
    observed: tuple[tuple[str, Observed], ...]
    less: Numbers
    kept: frozenset[str]

    @property
    def columns(self) -> int:
        """How many there are."""
        return len(self.less)


#: Spots -> their ways, for the cars at hand; they go when their car goes.
_WAYS: WeakKeyDictionary[Car, dict[tuple[Spot, ...], _Ways]] = WeakKeyDictionary()


def _ways(car: Car, spots: Sequence[Spot]) -> _Ways:
    """What these spots of a check may show on this car."""
    known, name = _WAYS.setdefault(car, {}), tuple(spots)
    if name not in known:
        known[name] = _told_apart(car, name)
    return known[name]


def _told_apart(car: Car, spots: Sequence[Spot]) -> _Ways:
    findings = [car.library.findings[spot.finding] for spot in spots]
    # What only repeats another event has one outcome beside "no".
    tops = [1 if finding.repeats else len(finding.levels) for finding in findings]
    count = 1 + sum(tops)
    shown, less = [Shown("none of it", None, 0)], [-1]
    observed: list[tuple[str, Observed]] = []
    for spot, finding, top in zip(spots, findings, tops, strict=True):
        first = len(shown)
        key, nothing = _at_most(car, spot, 0)
        of_it = {nothing: [*range(first), *range(first + top, count)]}
        for level in range(1, top + 1):
            of_it.setdefault(_at_most(car, spot, level)[1], []).append(len(shown))
            one = len(finding.levels) == 1
            name = finding.name if one else f"{finding.name}: {finding.levels[level - 1]}"
            less.append(len(shown) - 1 if level > 1 else 0)
            shown.append(Shown(name, spot, level))
        observed.append((key, of_it))
    if len(spots) > 1:
        shown.append(Shown("several of these", None, -1))
    kept = frozenset[str]().union(*(_kept_open(car, spot) for spot in spots))
    return _Ways(tuple(shown), tuple(observed), np.array(less), kept)


def _kept_open(car: Car, spot: Spot) -> frozenset[str]:
    """Keys of the events that a look at this spot keeps open, beside those that are open anyway."""
    library, network = car.library, car.network
    finding = library.findings[spot.finding]
    if finding.repeats:
        listed = finding.repeats in library.findings
        return frozenset([observed_key(library, spot.finding, spot.position)] if listed else [])
    inputs = network.nodes[finding_key(spot.finding, spot.position)].inputs
    # That a cause acts is an event of one input: it closes as soon as it has opened.
    return frozenset(
        each.source for each in inputs if isinstance(each.source, str) and each.source not in network.acting
    )


def _at_most(car: Car, spot: Spot, level: int) -> tuple[str, Weights]:
    """Node and weights of "at most this level seen" at a spot."""
    finding, network = car.library.findings[spot.finding], car.network
    if finding.repeats:
        target = observed_key(car.library, spot.finding, spot.position)
        node = network.nodes[target]
        # A gate is there in its top state, a finding from its first level.
        first = node.top if node.counts else 1
        unseen = [
            1.0 - (finding.hit if state >= first else finding.false_alarm[0]) for state in range(node.top + 1)
        ]
        return target, tuple(unseen) if level == 0 else (1.0,) * (node.top + 1)
    key = finding_key(spot.finding, spot.position)
    return key, tuple(1.0 if state <= level else 0.0 for state in range(network.nodes[key].top + 1))


def _shares(joint: Array, less: Numbers) -> Array:
    """The outcomes that have a column, a row each: joint probabilities of each outcome by itself."""
    rows, some = joint.copy(), np.flatnonzero(less >= 0)
    rows[some] -= joint[less[some]]
    return np.maximum(rows, 0.0)


def _tables(joint: Array, whole: Array, every: Sequence[_Ways]) -> list[Table]:
    """For each check, given by its ways, those outcomes that can come. whole: the row of anything at all."""
    columns = np.array([ways.columns for ways in every])
    outcomes = np.array([len(ways.shown) for ways in every])
    firsts, starts = columns.cumsum() - columns, outcomes.cumsum() - outcomes
    less = np.concatenate([ways.less for ways in every])
    less = np.where(less >= 0, less + np.repeat(firsts, columns), -1)
    rows = np.zeros((int(outcomes.sum()), joint.shape[1]))
    rows[np.arange(len(joint)) + np.repeat(starts - firsts, columns)] = _shares(joint, less)
    several = np.flatnonzero(outcomes > columns)
    if len(several):
        rest = np.maximum(whole - np.add.reduceat(rows, starts)[several], 0.0)
        rows[starts[several] + columns[several]] = rest
    can = rows[:, 0] > POSSIBLE
    shown = tuple(itertools.compress(itertools.chain.from_iterable(ways.shown for ways in every), can))
    table = _table(rows[can], shown)
    ends = np.concatenate([[0], can.cumsum()])[[*starts, len(can)]]
    return [_stretch(table, slice(a, b)) for a, b in itertools.pairwise(ends.tolist())]


def _stretch(table: Table, rows: slice) -> Table:
    """These rows of a table."""
    return Table(
        table.p[rows],
        table.present[rows],
        table.blame[rows],
        table.outside[rows],
        table.there[rows],
        table.shown[rows],
    )


def _table(rows: Array, shown: tuple[Shown, ...]) -> Table:
    """Rows of a joint, none of probability 0, as a table."""
    given = np.clip(rows[:, 1:] / rows[:, :1], 0.0, 1.0)
    half = 2 + (given.shape[1] - 2) // 2
    return Table(rows[:, 0], given[:, 2:half], given[:, half:], given[:, 0], given[:, 1], shown)
