"""What was practised: one line of JSON an act, so that a car begun can be gone on with, and progress shown.

A line that cannot be read, such as one torn by a full disk, is left out and counted; all others stand.
"""

from __future__ import annotations

import json
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import MISSING, asdict, dataclass, fields, replace
from datetime import datetime
from typing import Any

from diagnose.model.story import Workshop
from diagnose.practice.compare import Comparison
from diagnose.practice.exercise import LEVELS, Exercise

__all__ = [
    "GOOD_CARS",
    "Begun",
    "Practised",
    "Progress",
    "Record",
    "begun_line",
    "ended_line",
    "good_in_a_row",
    "left_line",
    "missed",
    "move_line",
    "next_level",
    "progress",
    "read_record",
]

VERSION = 1

#: Cars over which progress is told.
LAST = 5

#: Cars of one level, one after the other, that open the next; how dear a good one may be, times the program.
GOOD_CARS, GOOD_MONEY = 3, 1.5


@dataclass(frozen=True)
class Begun:
    """A car begun. number: from 1; asked: the complaint named, or "" for any; library: digest of the trees;
    moves: what was done so far."""

    number: int
    time: str
    seed: int
    level: int
    asked: str
    library: str
    currency: str
    labour_rate: float
    cannot: tuple[str, ...]
    moves: tuple[Mapping[str, str], ...] = ()

    @property
    def workshop(self) -> Workshop:
        """The workshop in which it was begun."""
        return Workshop(self.currency, self.labour_rate, frozenset(self.cannot))


@dataclass(frozen=True)
class Practised:
    """A car brought to its end, and what the program did on it. minutes, money, checks, wrong (parts fitted
    in vain), first (the first cure ended it), cured as in `Ended`; telling: the check that told most (id or
    ""), place: its number among the checks done (0: not done); hints: asked for. time: ISO 8601, UTC."""

    number: int
    time: str
    seed: int
    level: int
    complaint: str
    currency: str
    minutes: float
    money: float
    checks: int
    wrong: int
    first: bool
    cured: bool
    program_minutes: float
    program_money: float
    program_checks: int
    program_wrong: int
    program_first: bool
    program_cured: bool
    telling: str
    place: int
    hints: int = 0

    @property
    def dearer(self) -> float:
        """The money that it took, times that of the program."""
        return self.money / max(self.program_money, 1.0)


@dataclass(frozen=True)
class Record:
    """Everything practised: the cars ended, the one still open (or None), lines that could not be read."""

    cars: tuple[Practised, ...] = ()
    open: Begun | None = None
    begun: int = 0
    unreadable: int = 0


@dataclass(frozen=True)
class Progress:
    """What some cars come to: how many, of those the ones cured and cured at the first fitting, parts fitted
    in vain, the telling check done, and the median of the money times the program's."""

    cars: int
    cured: int
    first: int
    wrong: int
    telling: int
    dearer: float


def begun_line(exercise: Exercise, number: int, asked: str, seed: int, level: int, time: datetime) -> str:
    """The line that says with which car was begun."""
    workshop = exercise.workshop
    begun = Begun(
        number,
        time.isoformat(timespec="seconds"),
        seed,
        level,
        asked,
        exercise.car.car.library.digest,
        workshop.currency,
        workshop.labour_rate,
        tuple(sorted(workshop.cannot)),
    )
    told = asdict(begun)
    del told["moves"]
    return _line("begun", told)


def move_line(number: int, move: Mapping[str, str]) -> str:
    """The line of one move on a car: `check` or `cure`, with its id, or a `hint`."""
    return _line("move", {"number": number, **move})


def left_line(number: int) -> str:
    """The line of a car left for another."""
    return _line("left", {"number": number})


def ended_line(exercise: Exercise, begun: Begun, found: Comparison, time: datetime, hints: int = 0) -> str:
    """The line that ends a car, after so many hints."""
    mine, other = found.own, found.other
    return _line(
        "ended",
        asdict(
            Practised(
                begun.number,
                time.isoformat(timespec="seconds"),
                begun.seed,
                exercise.level,
                exercise.complaint,
                begun.currency,
                mine.minutes,
                mine.money,
                mine.checks,
                mine.wrong,
                mine.first,
                mine.cured,
                other.minutes,
                other.money,
                other.checks,
                other.wrong,
                other.first,
                other.cured,
                found.telling or "",
                found.place or 0,
                hints,
            )
        ),
    )


def _line(event: str, told: Mapping[str, Any]) -> str:
    return json.dumps({"practice": VERSION, "event": event, **told}, allow_nan=False)


def read_record(lines: Iterable[str]) -> Record:
    """The record of these lines, in their order."""
    record = Record()
    for line in lines:
        if not line.strip():
            continue
        try:
            record = _taken(record, json.loads(line))
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
            record = replace(record, unreadable=record.unreadable + 1)
    return record


def _taken(record: Record, told: Any) -> Record:
    """The record with one line more. Raises ValueError, TypeError or KeyError for one that says nothing."""
    if told["practice"] != VERSION:
        raise ValueError("written by another version")
    event = told["event"]
    if event == "begun":
        begun = _as(Begun, {**told, "cannot": tuple(told["cannot"]), "moves": ()})
        return replace(record, open=begun, begun=max(record.begun, begun.number))
    if event == "ended":
        ended = _as(Practised, told)
        still = record.open if record.open is not None and record.open.number != ended.number else None
        return replace(record, cars=(*record.cars, ended), open=still)
    if record.open is None or record.open.number != told["number"]:
        return record
    if event == "left":
        return replace(record, open=None)
    if event == "move":
        move = {key: str(told[key]) for key in ("check", "cure", "hint") if key in told}
        return replace(record, open=replace(record.open, moves=(*record.open.moves, move)))
    raise ValueError(f"no such event: {event!r}")


#: What JSON may hold where a field has this type; a whole number stands for a fraction too.
_KINDS: Mapping[str, tuple[type, ...]] = {
    "int": (int,),
    "float": (int, float),
    "str": (str,),
    "bool": (bool,),
}


def _as(kind: Any, told: Mapping[str, Any]) -> Any:
    """The value of a line, each field of its type. Raises TypeError or KeyError.

    A field with a default was not there from the first: a line without it is an older one.
    """
    known = [each for each in fields(kind) if each.name in told or each.default is MISSING]
    for each in known:
        value = told[each.name]
        wanted = _KINDS.get(str(each.type))
        if wanted is not None and (
            not isinstance(value, wanted) or (isinstance(value, bool) and bool not in wanted)
        ):
            raise TypeError(f"{each.name} is {value!r}")
    return kind(**{each.name: told[each.name] for each in known})


def progress(cars: Sequence[Practised]) -> Progress | None:
    """What these cars come to; None without any."""
    if not cars:
        return None
    return Progress(
        len(cars),
        sum(each.cured for each in cars),
        sum(each.first for each in cars),
        sum(each.wrong for each in cars),
        sum(each.place > 0 for each in cars),
        statistics.median(each.dearer for each in cars),
    )


def next_level(cars: Sequence[Practised]) -> int:
    """The level for the next car: that of the last one; one more once the last few of it were good.

    Good is a car cured with no hint and no part fitted in vain, for at most 1.5 times the program's money.
    """
    if not cars:
        return 1
    return min(cars[-1].level + (good_in_a_row(cars) >= GOOD_CARS), max(LEVELS))


def good_in_a_row(cars: Sequence[Practised]) -> int:
    """How many of the last cars, one after the other, were good ones of the last one's level or above."""
    count = 0
    for each in reversed(cars):
        if each.level < cars[-1].level or missed(each):
            break
        count += 1
    return count


def missed(car: Practised) -> str:
    """Why it was no good one, in words; empty if it was."""
    if not car.cured:
        return "the complaint was still there"
    if car.wrong:
        return "a part was fitted in vain" if car.wrong == 1 else f"{car.wrong} parts were fitted in vain"
    if car.hints:
        return "a hint was asked for" if car.hints == 1 else f"{car.hints} hints were asked for"
    return "" if car.dearer <= GOOD_MONEY else f"it cost {car.dearer:.1f} times what the program spent"
