"""Bad input of every kind, and what must hold of what takes it: an answer or a plain error, and soon.

Each door has a few good texts; what it is given is one of them spoiled, seeded, so that a finding can be had
again by its number. What a door takes must hold no number that is not finite or out of its range; and the
commands behind the door must be able to do with it what they do.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import io
import math
import random
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any
from unittest import mock

from diagnose.angles.read import read_sheets
from diagnose.choice.outcomes import Spot
from diagnose.debrief.read import parse_speed, read_drive
from diagnose.errors import DiagnoseError, LibraryError, Place, Problem
from diagnose.geometry.typed import parse_angle, parse_length, parse_toe, parse_typed
from diagnose.job.case import read_answers, read_case
from diagnose.job.export import import_text
from diagnose.job.journal import Journal
from diagnose.library import rows
from diagnose.library.build import build
from diagnose.library.format import FILE
from diagnose.library.matching import match_complaint
from diagnose.library.rows import gather
from diagnose.library.rules import judge
from diagnose.library.text import Node, read
from diagnose.plan.read import read_wishes
from diagnose.screen.answers import command, parse
from diagnose.screen.repairing import read_cost, read_felt
from diagnose.shake.typed import parse_readings
from diagnose.units import parse_distance, parse_reading, parse_years
from tests import drives, sheets, small_trees
from tests.shipped import LIBRARY

__all__ = ["DOORS", "Told", "astray", "given", "spoiled", "tried"]

HERE = Path(__file__).parent
TREES = HERE.parent / "trees"

#: What breaks readers: numbers out of every range, signs with a meaning, deep brackets, odd letters.
NASTY = (
    *(
        "1e999",
        "-1e999",
        "NaN",
        ".nan",
        "inf",
        "-0.0",
        "1" * 400,
        "0." + "0" * 320 + "1",
        "0.9999999999999999999",
        "9" * 61,
        "-1",
        "1000001",
        "0x1F",
        "1_000",
        "1:30",
        "\u0661\u0662",
        "٣",
        "½",
    ),
    *(
        "&a",
        "*a",
        "<<: *a",
        "!!python/object/apply:os.system [id]",
        "!!binary aGk=",
        "%YAML 1.1",
        "---",
        "...",
    ),
    *(
        "[" * 40,
        "{" * 40,
        "- " * 40,
        "? ",
        "|",
        ">",
        "'",
        '"',
        '"\\x1b"',
        "\\u202e",
        "#",
        ":",
        ": ",
        ",",
        ";",
    ),
    *(
        "\x00",
        "\x1b[2J",
        "\u202e",
        "\u2028",
        "\ufeff",
        "e\u0301" * 30,
        "\U0001f697",
        "\ud7ff",
        "\t",
        "\r",
        "\r\n",
        "\n\n",
    ),
    *("<script>x</script>", "]]>", "&amp;", "`x`", "[x](y)", "+1", "=cmd|' /C x'!A0"),
    *("=1+1", "@SUM(A1)", "-", "--", "~", "null", "yes", "true", "°", "'", "′", "″", "%", "km/h", "mph"),
    *("../../etc/passwd", "/dev/zero", "a" * 3000, "\u0130", "ß", "I\u0307"),
)


def spoiled(texts: tuple[str, ...], chance: random.Random) -> bytes:
    """One of the texts with one to six places spoiled; now and then with bytes that are no UTF-8."""
    text = chance.choice(texts)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        at = chance.randrange(len(text) + 1)
        lines = text.split("\n")
        line = chance.randrange(len(lines))
        match chance.randrange(9):
            case 0:
                text = text[:at] + chance.choice(NASTY) + text[at:]
            case 1:
                text = text[:at] + text[at + chance.randrange(1, 12) :]
            case 2:
                text = (
                    text[:at]
                    + chr(chance.choice((chance.randrange(0x80), chance.randrange(0xD800))))
                    + text[at + 1 :]
                )
            case 3:
                lines.insert(line, lines[chance.randrange(len(lines))])
                text = "\n".join(lines)
            case 4:
                del lines[line]
                text = "\n".join(lines)
            case 5:  # a value for another
                head, colon, _ = lines[line].partition(": ")
                lines[line] = f"{head}{colon}{chance.choice(NASTY)}"
                text = "\n".join(lines)
            case 6:  # a value of somewhere else
                other = chance.choice(lines).partition(": ")[2]
                head, colon, _ = lines[line].partition(": ")
                lines[line] = f"{head}{colon}{other}"
                text = "\n".join(lines)
            case 7:
                lines[line] = " " * chance.randrange(9) + lines[line].lstrip()
                text = "\n".join(lines)
            case 8:
                words = text.split(" ")
                words[chance.randrange(len(words))] = chance.choice(NASTY)
                text = " ".join(words)
    data = bytearray(text.encode("utf-8", "surrogatepass"))
    if data and chance.random() < 0.05:
        data[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(data)


def _texts(folder: str) -> tuple[str, ...]:
    return tuple(path.read_text("utf-8") for path in sorted((HERE / folder).glob("*.yaml")))


def _words(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def _trees(data: bytes) -> object:
    """The small library with a spoiled file in the place of the sound one, or laid over it."""
    return _compiled(_small(), data, over=len(data) % 2 == 1)


def _shipped_trees(data: bytes) -> object:
    return _compiled(_shipped(), data, over=False)


#: The lines of a sound file, and its root.
_Sound = tuple[frozenset[bytes], Node]


def _compiled(sound: Sequence[_Sound], data: bytes, over: bool) -> object:
    """What a folder of trees goes through: text, rows, model, rules. The sound files are parsed only once."""
    lines = set(data.split(b"\n"))
    own = max(range(len(sound)), key=lambda number: len(lines & sound[number][0]))
    root, problems = read(data, "spoiled.yaml")
    others = [(0, each) for number, (_, each) in enumerate(sound) if over or number != own]
    with mock.patch.object(rows, "FILE", _Sparing({id(each) for _, each in others})):
        draft = build(gather([*others, (1 if over else 0, root)], problems))
    problems.extend(judge(draft))
    if problems:
        raise LibraryError(problems)
    return draft.library


@dataclass(frozen=True, slots=True)
class _Sparing:
    """The shape of a tree file, without looking again at the files that are known to have it."""

    known: set[int]

    def check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if id(node) not in self.known:
            FILE.check(node, label, problems)


def _sound(texts: Iterable[bytes]) -> tuple[_Sound, ...]:
    roots = ((data, read(data, f"{number}.yaml")[0]) for number, data in enumerate(texts))
    return tuple((frozenset(data.split(b"\n")), root) for data, root in roots if root is not None)


@functools.cache
def _small() -> tuple[_Sound, ...]:
    return _sound(text.encode() for text in small_trees.SMALL.values())


@functools.cache
def _shipped() -> tuple[_Sound, ...]:
    return _sound(path.read_bytes() for path in sorted(TREES.rglob("*.yaml")))


def _import(data: bytes) -> object:
    with Journal.passing() as journal:
        return journal.events(import_text(journal, _words(data), "job.yaml"))


def _wishes(data: bytes) -> object:
    """The wishes; without a budget there is no bound, which is kept as infinite."""
    wishes = read_wishes(LIBRARY, data, "wishes.yaml")
    unbound = {name: 0.0 for name in ("budget", "stage_budget") if getattr(wishes, name) == math.inf}
    return dataclasses.replace(wishes, **unbound)


def _typed(data: bytes) -> object:
    text = _words(data)
    taken = []
    for reader in _READINGS:
        try:
            taken.append(reader(text))
        except (DiagnoseError, ValueError) as error:
            # A ValueError is these readers' own way to refuse, with words for the user.
            assert type(error) is ValueError or isinstance(error, DiagnoseError), repr(error)
    return taken


def _answers(data: bytes) -> object:
    text = _words(data)
    command(text)
    return parse(LIBRARY, _SPOTS[len(data) % len(_SPOTS)], text)


_READINGS: tuple[Callable[[str], object], ...] = (
    parse_distance,
    parse_years,
    lambda text: parse_reading(text, "mm"),
    lambda text: parse_reading(text, "degrees"),
    parse_typed,
    parse_angle,
    parse_length,
    parse_toe,
    parse_speed,
    parse_readings,
    read_cost,
    read_felt,
)

#: What is open at a check: one finding or several, graded or not, at one place or at several.
_SPOTS = tuple(
    tuple(
        Spot(finding, place) for finding in check.findings for place in (None, "front-left")[: 1 + number % 2]
    )
    for number, check in enumerate(LIBRARY.checks.values())
    if check.findings
)

_LINES = (
    *(
        "187000 km, 12 years",
        "116000 miles",
        "12 years",
        "14.6 Hz at 110 km/h",
        "0°30'",
        "-1° 12' 30\"",
        "2.5 mm",
    ),
    *(
        "1l 2? 3=b",
        "4r=9 mm",
        "y",
        "2~ 3-?",
        "60, 0.8 h",
        "y 5 days, 300 km",
        "68 mph:14.6",
        "u 2",
        "t it wanders",
    ),
    *(
        "the car pulls to the left when braking",
        "knocks over bumps, front right",
        "steering wheel shakes at 110",
    ),
)

_WISHES = """\
plan: 1
currency: cu
labour-rate: 90
budget: 900
stage-budget: 500
stages: 3
deadline: 20
keep: {km: 30000}
cares: {feel: 1.5, inspection: 2}
worth: 400
without: [budget]
prices:
  renew-front-dampers:
    - {grade: maker, price: 240, days: 2, bad: 0.01}
    - {grade: unmarked, price: 120, life: 0.6}
hours:
  renew-front-dampers: 2
"""

_JOB = """\
journal: 1
name: demo car
events:
  - {step: 1, time: 2026-05-04T09:30:00Z, event: opened, name: demo car, workshop: {rate: 90}}
  - {step: 2, time: 2026-05-04T09:31:00Z, event: complaint-heard, complaint: wander, words: it wanders}
  - {step: 3, time: 2026-05-04T09:31:30Z, event: distance, km: 187000.5, years: 12}
  - {step: 4, time: 2026-05-04T09:32:00Z, event: noted, text: "in ruts, too"}
  - {step: 5, time: 2026-05-04T09:32:30Z, event: answered, finding: a/b, position: front-left, answer: yes}
  - {step: 5, time: 2026-05-04T09:32:30Z, event: check-done, check: rock}
  - {step: 6, time: 2026-05-04T09:33:00Z, event: undone, steps: 2}
  - {step: 7, time: 2026-05-04T09:33:10Z, event: part-renewed, part: tyres, at-km: 150000, years-ago: 2}
  - {step: 8, time: 2026-05-04T09:33:20Z, event: condition-known, condition: salt-climate, holds: true}
  - {step: 9, time: 2026-05-04T09:33:30Z, event: planned, works: [renew-front-dampers@front], cash: [410.5],
     gone: [0.7], there: 0.95}
  - {step: 10, time: 2026-05-04T09:33:40Z, event: repaired, remedy: renew-front-dampers, place: front,
     ends: [front-dampers-weak@front], grade: maker, price: 240, hours: 2.5, one-use: true, at-height: false}
  - {step: 11, time: 2026-05-04T09:33:45Z, event: followed-up, what: wheel-retorque}
  - {step: 12, time: 2026-05-04T09:33:50Z, event: felt-since, complaint: wander, answer: faded, days: 5,
     km: 300.5, words: "a little, on ruts", by: driver}
  - step: 13
    time: 2026-05-04T09:34:00Z
    event: closed
    outcome: |
      cured
      for good
"""

#: Demo: an invented van, repaired twice, with a later time.
_ROUNDS = """\
case: 1
vehicle: {name: demo van, front: strut, km: 187000, years: 12, renewed: [{part: tyres, years-ago: 2}]}
complaints: [{id: front-clunk-over-bumps, side: left, heard: probably}]
answers:
  - check: hold-the-drop-links-loaded
    findings: {click-under-the-hand: {front-left: yes, front-right: no}}
rounds:
  - repairs:
      - {remedy: renew-front-drop-links, price: 60, hours: 0.8, grade: original, one-use: yes}
    done: wheel-retorque
    felt: faded
    answers:
      - check: hold-the-drop-links-loaded
        findings: {click-under-the-hand: no}
  - repairs: [{remedy: renew-front-roll-bar-bushes, price: 40, hours: 1}]
    felt: {front-clunk-over-bumps: no}
  - after: {days: 5, km: 300}
    felt: yes
workshop: {currency: cu, labour-rate: 90, cannot: [rig]}
"""

#: The answers of a case file are a file of answers too.
_ANSWERS = tuple(
    "case: 1\nanswers:" + text.partition("\nanswers:")[2].partition("\nconfirmed:")[0] + "\n"
    for text in _texts("cases")
    if "\nanswers:" in text
)

#: What is tried -> (the good texts, what takes the spoiled one).
DOORS: Mapping[str, tuple[tuple[str, ...], Callable[[bytes], object]]] = {
    "trees": (tuple(small_trees.SMALL.values()), _trees),
    "trees, shipped": (tuple(p.read_text("utf-8") for p in sorted(TREES.rglob("*.yaml"))), _shipped_trees),
    # One in thirty of them with rounds: for those a whole model is built.
    "case files": (
        _texts("cases") + _texts("plans") + 2 * (_ROUNDS,),
        lambda data: read_case(LIBRARY, data, "case.yaml"),
    ),
    "answers of a job": (
        _ANSWERS,
        lambda data: read_answers(LIBRARY, data, "seen.yaml"),
    ),
    "wheel angles": ((sheets.DEMO, sheets.DEMO_CSV), lambda data: read_sheets(data, "sheet")),
    "debriefs": ((drives.DEMO, drives.AFTER), lambda data: read_drive(LIBRARY, data, "drive.yaml")),
    "wishes of a plan": ((_WISHES,), _wishes),
    "jobs imported": ((_JOB,), _import),
    "readings typed": (_LINES, _typed),
    "answers typed": (_LINES, _answers),
    "complaints in words": (_LINES[-3:], lambda data: match_complaint(LIBRARY, _words(data)[:2000])),
}


@dataclass(slots=True)
class Told:
    """What came of the inputs of one door: taken, refused, and what must not be (number, what)."""

    taken: int = 0
    refused: int = 0
    slowest: float = 0.0
    wrong: list[tuple[int, str]] = dataclasses.field(default_factory=list)


def tried(
    door: str,
    first: int,
    count: int,
    longest: float = 10.0,
    then: Callable[[bytes, object], list[str]] | None = None,
) -> Told:
    """Give a door the inputs numbered from `first`; none may take longer than so many seconds.

    then: what to do with each input that was taken, and with what it was taken for; gives what is wrong.
    """
    texts, take = DOORS[door]
    told = Told()
    for number in range(first, first + count):
        data = spoiled(texts, random.Random(f"{door}/{number}"))
        start = time.perf_counter()
        taken, wrong = given(take, data, then)
        seconds = time.perf_counter() - start
        told.taken += taken
        told.refused += not taken and not wrong
        told.slowest = max(told.slowest, seconds)
        if seconds > longest:
            wrong.append(f"took {seconds:.1f} s")
        told.wrong += [(number, each) for each in wrong]
    return told


def given(
    take: Callable[[bytes], object],
    data: bytes,
    then: Callable[[bytes, object], list[str]] | None = None,
) -> tuple[bool, list[str]]:
    """Whether a door takes this, and what must not be of how it took or refused it."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            found = take(data)
            stray = astray(found)
            wrong = [f"took {stray}"] if stray else []
            return True, wrong + (then(data, found) if then is not None else [])
    except DiagnoseError as error:
        return False, [] if str(error).strip() else ["refused without a word"]
    except Exception as error:
        return False, [f"{type(error).__name__}: {error}"]


#: 90 degrees, which are kept to ten digits: what is no such angle on any car is asked about, not refused.
WIDEST = math.pi / 2 + 1e-9

#: A probability is not 1, however near.
BELOW_ONE = math.nextafter(1.0, 0.0)

#: Class and field -> the least and the most that the docs allow; every other number lies within MOST.
RANGES: Mapping[str, tuple[float, float]] = {
    **dict.fromkeys(("Leaf.strength", "Use.strength", "Gate.strength"), (1e-9, 1.0)),
    **dict.fromkeys(("Gate.leak", "Finding.hit", "Offer.bad"), (0.0, BELOW_ONE)),
    **dict.fromkeys(("Link.detection", "Finding.false_alarm", "Fault.chance"), (1e-9, BELOW_ONE)),
    **dict.fromkeys(("Complaint.heard", "Complaint.felt", "FactValue.share"), (1e-9, 1.0)),
    **dict.fromkeys(("Seen.shares", "Answered.shares", "Planned.gone", "Planned.there"), (0.0, 1.0)),
    **dict.fromkeys(("SetUp.enter", "SetUp.leave", "FollowUp.minutes"), (0.0, 1440.0)),
    "Check.minutes": (1e-9, 1440.0),
    **dict.fromkeys(("Remedy.hours", "Access.hours", "Wishes.hours"), (0.0, 200.0)),
    **dict.fromkeys(("Remedy.parts", "FollowUp.parts"), (0.0, 100_000.0)),
    "Life.km": (1.0, 1e7),
    "Life.years": (0.01, 200.0),
    "Life.shape": (0.1, 20.0),
    "Fault.mates": (1.0, 1000.0),
    "Fault.lifts": (1e-9, 1000.0),
    **dict.fromkeys(
        ("Vehicle.km", "Renewed.at_km", "PartRenewed.at_km", "Distance.km", "Drive.km"), (0.0, 3e6)
    ),
    **dict.fromkeys(("Vehicle.years", "Renewed.years_ago", "Distance.years"), (0.0, 120.0)),
    "PartRenewed.years_ago": (0.0, 120.0),
    "Workshop.labour_rate": (1e-9, 100_000.0),
    **dict.fromkeys(("Wishes.rate", "Wishes.own_rate"), (0.0, 100_000.0)),
    "Wishes.cares": (0.0, 100.0),
    "Wishes.keep_years": (0.0, 100.0),
    "Offer.life": (0.01, 10.0),
    **dict.fromkeys(("Leg.low", "Leg.high"), (0.0, 300.0)),
    "Impression.rating": (1.0, 10.0),
    **dict.fromkeys(
        [f"Wheel.{name}" for name in ("camber", "caster", "inclination", "included", "toe")],
        (-WIDEST, WIDEST),
    ),
    "Wheel.height": (-3.0, 3.0),
    **dict.fromkeys(("Axle.total_toe", "Axle.set_back", "Sheet.thrust"), (-WIDEST, WIDEST)),
    "Axle.set_back_length": (-1.0, 1.0),
    **dict.fromkeys(("Car.wheelbase", "Car.front_track", "Car.rear_track", "Car.toe_at"), (0.1, 8.0)),
}

#: A thousand million: the most of any amount.
MOST = 1e9


def astray(value: Any, name: str = "", depth: int = 14) -> str:
    """The first number in the value, however deep, that is not finite or out of its range; "" for none."""
    if isinstance(value, (float, Decimal)):
        low, high = RANGES.get(name, (-MOST, MOST))
        # A NaN lies between nothing.
        return "" if low <= value <= high else f"{name or 'a number'} = {value!r}"
    if depth == 0 or isinstance(value, (str, bytes, int, type(None), Place)):
        return ""
    inner: Iterable[tuple[Any, str]] = ()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        kind = type(value)
        inner = ((getattr(value, each), f"{kind.__name__}.{each}") for each in _names(kind))
    elif isinstance(value, Mapping):
        inner = ((each, name) for pair in value.items() for each in pair)
    elif isinstance(value, (list, tuple, set, frozenset)):
        inner = ((each, name) for each in value)
    return next((found for each, path in inner if (found := astray(each, path, depth - 1))), "")


@functools.cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(each.name for each in dataclasses.fields(kind))
