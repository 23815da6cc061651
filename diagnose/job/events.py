"""What can happen in a job: one frozen class an event, to and from plain JSON values, strictly.

A new event is one class with `@_event("its-kind")` and one case in `diagnose.job.state`. Once it has
been written to somebody's disk, its kind, its field names and its defaults never change again.
"""

from __future__ import annotations

import dataclasses
import math
import re
import typing
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Any, ClassVar, Literal, Self, TypeVar

from diagnose.errors import JournalError
from diagnose.model.position import POSITIONS
from diagnose.model.story import ANSWERS

__all__ = [
    "ANSWERS",
    "KINDS",
    "Answered",
    "Cannot",
    "CheckDone",
    "Closed",
    "ComplaintHeard",
    "Concluded",
    "ConditionKnown",
    "Distance",
    "Entry",
    "Event",
    "EventFault",
    "FeltSince",
    "Noted",
    "Opened",
    "PartRenewed",
    "Planned",
    "ReferenceTold",
    "Skipped",
    "Turned",
    "Undone",
    "Unfit",
    "VehicleFact",
    "text_fields",
]

#: kind -> class, for every event that a journal may hold.
KINDS: dict[str, type[Event]] = {}

_HINTS: dict[type[Event], dict[str, Any]] = {}

#: Keys that stand beside an event's own fields in an export.
_RESERVED = frozenset({"event", "step", "time"})

_E = TypeVar("_E", bound="Event")


class EventFault(JournalError):
    """An event that cannot be: the kind, the field ("" for the event as a whole), what is wrong, the mend."""

    def __init__(self, kind: str, field: str, wrong: str, mend: str) -> None:
        self.kind, self.field, self.wrong, self.mend = kind, field, wrong, mend
        super().__init__(f"{wrong}\n    mend: {mend}")


class _Rule:
    """A demand on a value beyond its type; `says` completes "must be ..."."""

    def __init__(self, says: str, holds: Callable[[Any], bool]) -> None:
        self.says, self.holds = says, holds


_WORDS = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")

_Id = Annotated[str, _Rule("plain hyphenated words", lambda text: _WORDS.fullmatch(text) is not None)]
_FindingId = Annotated[
    str,
    _Rule(
        "check/finding, both plain hyphenated words",
        lambda text: text.count("/") == 1 and all(map(_WORDS.fullmatch, text.split("/"))),
    ),
]
_Position = Annotated[str, _Rule("one of " + ", ".join(POSITIONS), POSITIONS.__contains__)]
_Said = Annotated[str, _Rule("some words", lambda text: bool(text.strip()))]
_Line = Annotated[
    str, _Rule("one line of words", lambda text: bool(text.strip()) and len(text.splitlines()) == 1)
]
_Amount = Annotated[float, _Rule("a number, 0 or more", lambda number: number >= 0)]
_Elapsed = Annotated[float, _Rule("a number above 0", lambda number: number > 0)]
_Share = Annotated[float, _Rule("a number from 0 to 1", lambda number: 0 <= number <= 1)]
_Count = Annotated[int, _Rule("a whole number from 1 to 1000000", lambda number: 1 <= number <= 1_000_000)]


@dataclass(frozen=True, slots=True)
class Event:
    """The base of all events. Making one with a wrong value raises EventFault (a JournalError)."""

    kind: ClassVar[str] = ""

    def __post_init__(self) -> None:
        for name, hint in _hints(type(self)).items():
            value = getattr(self, name)
            checked = _checked(type(self).kind, _key(name), hint, value)
            if checked is not value:
                object.__setattr__(self, name, checked)

    def to_dict(self) -> dict[str, Any]:
        """JSON-safe: `event` (the kind) and every field, hyphenated, that differs from its default."""
        found: dict[str, Any] = {"event": type(self).kind}
        for each in dataclasses.fields(self):
            value = getattr(self, each.name)
            if value != _default(each):
                found[_key(each.name)] = list(value) if isinstance(value, tuple) else value
        return found

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """The event that `to_dict` gave.

        Raises EventFault (a JournalError) that names an unknown kind, a field unknown or missing, or a value.
        """
        kind = data.get("event")
        made = KINDS.get(kind) if isinstance(kind, str) else None
        if made is None or not issubclass(made, cls):
            raise EventFault(
                str(kind),
                "event",
                f"unknown event {kind!r}",
                f"the events are {', '.join(KINDS)}; a newer version of the program may know more",
            )
        assert isinstance(kind, str)
        fields = {_key(each.name): each for each in dataclasses.fields(made)}
        for key in data:
            if key != "event" and key not in fields:
                mend = f"its fields: {', '.join(fields)}"
                raise EventFault(kind, key, f"event {kind!r} has no field {key!r}", mend)
        for key, each in fields.items():
            if key not in data and _default(each) is dataclasses.MISSING:
                raise EventFault(kind, "", f"event {kind!r} lacks its field {key!r}", f"add {key!r}")
        return made(**{each.name: data[key] for key, each in fields.items() if key in data})


def _event(kind: str) -> Callable[[type[_E]], type[_E]]:
    """Register the class under its kind."""

    def register(cls: type[_E]) -> type[_E]:
        taken = _RESERVED & {each.name for each in dataclasses.fields(cls)}
        assert kind not in KINDS and not taken, f"{kind}: taken {taken}"
        cls.kind = kind
        KINDS[kind] = cls
        return cls

    return register


@_event("opened")
@dataclass(frozen=True, slots=True)
class Opened(Event):
    """The job begins: always the first event, alone in its step, never undone.

    library_digest and program_version tell with which trees and program the answers were given.
    workshop: currency, labour rate and the like, any plain JSON values.
    """

    name: _Line
    library_digest: str = ""
    program_version: str = ""
    workshop: Mapping[str, Any] = field(default_factory=dict)


@_event("vehicle-fact")
@dataclass(frozen=True, slots=True)
class VehicleFact(Event):
    """A fact of the car's layout; None makes it unknown again."""

    fact: _Id
    value: _Id | None = None


@_event("distance")
@dataclass(frozen=True, slots=True)
class Distance(Event):
    """Distance run in km and age in years, both as now known: None means unknown, not unchanged."""

    km: _Amount | None = None
    years: _Amount | None = None


@_event("condition-known")
@dataclass(frozen=True, slots=True)
class ConditionKnown(Event):
    """A condition of the car's life holds or does not; None makes it unknown again."""

    condition: _Id
    holds: bool | None = None


@_event("part-renewed")
@dataclass(frozen=True, slots=True)
class PartRenewed(Event):
    """A part was renewed at a distance in km, or some years ago; a later word on the same part counts."""

    part: _Id
    position: _Position | None = None
    at_km: _Amount | None = None
    years_ago: _Amount | None = None


@_event("complaint-heard")
@dataclass(frozen=True, slots=True)
class ComplaintHeard(Event):
    """The driver, or the technician after a road test, says whether a complaint is there (see ANSWERS)."""

    complaint: _Id
    side: Literal["left", "right"] | None = None
    words: str = ""
    answer: Literal["yes", "probably", "cannot-tell", "probably-not", "no"] = "yes"
    by: Literal["driver", "road-test"] = "driver"


@_event("answered")
@dataclass(frozen=True, slots=True)
class Answered(Event):
    """What was seen of one finding; position None is the whole car.

    answer: one of ANSWERS or the name of a grade. reading: the number measured, in `unit`, if any. shares:
    its likelihood at each state of the finding, where it was worked out from several numbers.
    """

    finding: _FindingId
    position: _Position | None
    answer: _Line
    reading: float | None = None
    unit: str = ""
    shares: tuple[_Share, ...] = ()


@_event("turned")
@dataclass(frozen=True, slots=True)
class Turned(Event):
    """The user is now doing this check."""

    check: _Id


@_event("check-done")
@dataclass(frozen=True, slots=True)
class CheckDone(Event):
    """The check is finished, with or without answers."""

    check: _Id


@_event("skipped")
@dataclass(frozen=True, slots=True)
class Skipped(Event):
    """Not this check now; it may be turned to later."""

    check: _Id


@_event("cannot")
@dataclass(frozen=True, slots=True)
class Cannot(Event):
    """A set-up, tool or check that is not to be had for this job."""

    what: _Id


@_event("noted")
@dataclass(frozen=True, slots=True)
class Noted(Event):
    """A remark in the user's own words, of any number of lines."""

    text: _Said


@_event("angles-read")
@dataclass(frozen=True, slots=True)
class AnglesRead(Event):
    """Wheel-angle sheets as they stand now: the text of a sheet file, with all measurements so far."""

    text: _Said


@_event("drive-told")
@dataclass(frozen=True, slots=True)
class DriveTold(Event):
    """The debrief of a drive since the last repair: the text of a debrief file."""

    text: _Said


@_event("repaired")
@dataclass(frozen=True, slots=True)
class Repaired(Event):
    """A remedy that was carried out at one place: a position, an axle, or `car`.

    ends: the faults that it puts right, each as `fault@position`. grade, price, hours: of the parts and the
    work, as told. one_use, at_height, angles_set: whether one-use fixings were renewed, rubber was tightened
    at ride height, and the wheel angles were set; None: nobody said.
    """

    remedy: _Id
    place: _Line
    ends: tuple[_Line, ...]
    grade: str = ""
    price: _Amount | None = None
    hours: _Amount | None = None
    one_use: bool | None = None
    at_height: bool | None = None
    angles_set: bool | None = None


@_event("followed-up")
@dataclass(frozen=True, slots=True)
class FollowedUp(Event):
    """Work that a repair obliges to is done (id of a follow-up)."""

    what: _Id


@_event("planned")
@dataclass(frozen=True, slots=True)
class Planned(Event):
    """A plan that was kept: what is to be done in which stage.

    works: for each stage its works, each as `remedy@place`, with blanks between. cash: what each stage was to
    cost, in the job's currency. gone: P(the complaint is gone) after each; there: P(it is there) before.
    """

    works: tuple[_Line, ...]
    cash: tuple[_Amount, ...]
    gone: tuple[_Share, ...]
    there: _Share = 1.0


@_event("felt-since")
@dataclass(frozen=True, slots=True)
class FeltSince(Event):
    """A complaint as it was felt after the last repair: on the drives right after it, or a while later.

    answer: as of a complaint heard, or `faded`: weaker than before the repair, and still there. days, km:
    since that repair; both None: right after it. Each such time is an observation of its own.
    """

    complaint: _Id
    answer: Literal["yes", "probably", "faded", "cannot-tell", "probably-not", "no"]
    days: _Elapsed | None = None
    km: _Elapsed | None = None
    words: str = ""
    by: Literal["driver", "road-test"] = "road-test"


@_event("reference-told")
@dataclass(frozen=True, slots=True)
class ReferenceTold(Event):
    """A drive to compare with, as the text of a debrief file: of a car known to be good, or of the same car
    in good order before. A later one of the same kind takes its place."""

    text: _Said
    of: Literal["good-car", "same-car-before"] = "good-car"


@_event("undone")
@dataclass(frozen=True, slots=True)
class Undone(Event):
    """Takes back the last `steps` steps that still stand; alone in its own step, never undone itself."""

    steps: _Count = 1


@_event("concluded")
@dataclass(frozen=True, slots=True)
class Concluded(Event):
    """The remedies settled on; an empty tuple says that nothing needs doing."""

    remedies: tuple[_Id, ...] = ()


@_event("unfit")
@dataclass(frozen=True, slots=True)
class Unfit(Event):
    """The user has read and acknowledged that the car is not fit to drive, for the reason in `text`."""

    text: _Said


@_event("closed")
@dataclass(frozen=True, slots=True)
class Closed(Event):
    """The job ends; `outcome` says how, in words."""

    outcome: _Said


@dataclass(frozen=True, slots=True)
class Entry:
    """An event as the journal holds it: in which step (from 1) and when (UTC).

    A step is one act of the user. All its events were written together and are undone together.
    """

    step: int
    time: datetime
    event: Event


def text_fields(kind: str) -> frozenset[str]:
    """The fields of that kind, hyphenated, that hold text. Raises KeyError for an unknown kind."""
    return frozenset(
        _key(name) for name, hint in _hints(KINDS[kind]).items() if str in map(_plain, _choices(hint))
    )


def _key(name: str) -> str:
    return name.replace("_", "-")


def _hints(cls: type[Event]) -> dict[str, Any]:
    """Field name -> type with its rules; worked out once for each class."""
    if cls not in _HINTS:
        hints = typing.get_type_hints(cls, include_extras=True)
        _HINTS[cls] = {each.name: hints[each.name] for each in dataclasses.fields(cls)}
    return _HINTS[cls]


def _default(of: dataclasses.Field[Any]) -> Any:
    if of.default_factory is not dataclasses.MISSING:
        return of.default_factory()
    return of.default


def _choices(hint: Any) -> tuple[Any, ...]:
    """(X, None) for `X | None`, else (X,)."""
    # `Annotated[...] | None` is a typing.Union, `float | None` a types.UnionType: both have these args.
    args = typing.get_args(hint)
    return args if type(None) in args else (hint,)


def _plain(hint: Any) -> Any:
    """The type that the values of a hint have: str for an id, a rule on text or a choice of words."""
    origin = typing.get_origin(hint)
    if origin is Annotated:
        return typing.get_args(hint)[0]
    return str if origin is Literal else origin or hint


def _checked(kind: str, key: str, hint: Any, value: Any) -> Any:
    """The value in its stored form (float for int, tuple for list); raises EventFault if it does not fit."""
    choices = _choices(hint)
    if value is None and type(None) in choices:
        return None
    want = next(choice for choice in choices if choice is not type(None))
    plain = _plain(want)
    if plain is tuple:
        if not isinstance(value, list | tuple):
            raise _misfit(kind, key, "a list", value)
        (inner, _) = typing.get_args(want)
        return tuple(_checked(kind, key, inner, each) for each in value)
    if plain is Mapping:
        if not isinstance(value, Mapping):
            raise _misfit(kind, key, "keys with values", value)
        return _json(kind, key, value, depth=8)
    says = {str: "text", bool: "true or false", int: "a whole number", float: "a number"}[plain]
    if not _is(plain, value):
        raise _misfit(kind, key, says, value)
    if plain is float:
        value = float(value)
    if typing.get_origin(want) is Literal and value not in typing.get_args(want):
        raise _misfit(kind, key, "one of " + ", ".join(typing.get_args(want)), value)
    if typing.get_origin(want) is Annotated:
        for rule in typing.get_args(want)[1:]:
            if not rule.holds(value):
                raise _misfit(kind, key, rule.says, value)
    return value


def _is(plain: type, value: Any) -> bool:
    """True for a value of exactly that kind: no bool for a number, no infinity, no text with broken bytes."""
    if plain is float:
        return type(value) in (int, float) and _finite(value)
    if plain is str:
        # A lone surrogate (a byte that was no UTF-8) can be kept neither in the store nor in an export.
        return isinstance(value, str) and not any("\ud800" <= letter <= "\udfff" for letter in value)
    return type(value) is plain


def _finite(value: float) -> bool:
    # Whole numbers past 2**53 would change when another program reads them as doubles.
    return math.isfinite(value) if isinstance(value, float) else abs(value) <= 2**53


def _json(kind: str, key: str, value: Any, depth: int) -> Any:
    """A copy of plain JSON values, at most `depth` deep, so that the event shares no list with its maker."""
    if depth and isinstance(value, Mapping) and all(_is(str, each) for each in value):
        return {name: _json(kind, key, each, depth - 1) for name, each in value.items()}
    if depth and isinstance(value, list | tuple):
        return [_json(kind, key, each, depth - 1) for each in value]
    if value is None or isinstance(value, bool) or _is(str, value) or _is(float, value):
        return value
    raise _misfit(kind, key, "keys with plain text, numbers, true, false, null or lists", value)


def _misfit(kind: str, key: str, says: str, value: Any) -> EventFault:
    shown = ascii(value) if len(ascii(value)) <= 60 else ascii(value)[:57] + "..."
    return EventFault(kind, key, f"{key!r} of event {kind!r} is {shown}", f"it must be {says}")
