"""A job to make sheets of: an invented estate of an invented ferry company (demo), up to its first repair.

Every name, word and reading in it is invented. The acts are those that a workshop would carry out with the
program; the clock stands still, so that the sheet is the same each time.
"""

from __future__ import annotations

import tempfile
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from diagnose.belief.belief import places
from diagnose.commands.sheet import gather
from diagnose.debrief.drive import Drive, neat
from diagnose.debrief.read import read_drive
from diagnose.debrief.write import drive_yaml
from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.planned import kept
from diagnose.job.session import Session
from diagnose.model.check import Check, Finding
from diagnose.model.story import Seen, Workshop
from diagnose.plan.planner import Planner
from diagnose.plan.wishes import Wishes
from diagnose.sheet.made import sheet
from diagnose.sheet.material import Material
from diagnose.sheet.page import Page, Reader
from tests.sheets import sheets_of
from tests.shipped import LIBRARY

__all__ = [
    "HOSTILE",
    "NOW",
    "begun",
    "demo_material",
    "demo_page",
    "demo_session",
    "said_session",
    "searched_material",
]

NOW = datetime(2031, 5, 14, 9, 30, tzinfo=UTC)

#: Demo: the angles of the estate before and after its first repair.
ANGLES = """\
angles: 1
units: minutes
toe-at: 16 in
car: {name: demo estate of the Skerry ferry, front: strut, rear: twist-beam, wheelbase: 2700 mm}
specification:
  front:
    camber: {low: -1°20', high: 0°20', cross: 0°30', adjustable: no}
    caster: {nominal: 4°00', tolerance: 0°45', cross: 0°30', adjustable: no}
    toe: {low: 0°00', high: 0°10', adjustable: yes}
    total-toe: {nominal: 0°10', tolerance: 0°10', adjustable: yes}
  rear:
    camber: {low: -2°00', high: -0°50', cross: 0°30', adjustable: no}
    toe: {low: 0°00', high: 0°20', adjustable: no}
    thrust: {low: -0°15', high: 0°15'}
"""
BEFORE = """\
before:
  front:
    left: {camber: -0°40', caster: 3°50', toe: -0°02'}
    right: {camber: -0°35', caster: 4°10', toe: -0°19'}
  rear:
    left: {camber: -1°20', toe: 0°12'}
    right: {camber: -1°30', toe: 0°06'}
"""
AFTER = """\
after:
  front:
    left: {camber: -0°40', caster: 3°50', toe: 0°05'}
    right: {camber: -0°35', caster: 4°10', toe: 0°05'}
  rear:
    left: {camber: -1°20', toe: 0°12'}
    right: {camber: -1°30', toe: 0°06'}
"""

#: Demo: two drives over the same road, before and after the first repair.
DRIVES = (
    """\
debrief: 1
car: demo estate of the Skerry ferry
when: 3 May, morning
who: the driver of the ferry
km: 214000
pressures: set
load: driver and two crates
road: dry
legs:
  - leg: straight
    noticed:
      - {words: needs small corrections all the time, complaint: wander, rating: 3, began: from 80 km/h}
  - leg: rough
    noticed:
      - {words: a clunk from the front, complaint: none, rating: 5}
  - leg: braking
  - leg: roundabout
""",
    """\
debrief: 1
car: demo estate of the Skerry ferry
when: 12 May, morning
who: the driver of the ferry
km: 214180
pressures: set
load: driver and two crates
road: dry
legs:
  - leg: straight
    noticed:
      - {words: better but still not one hand, complaint: wander, rating: 6.5}
  - leg: rough
    noticed:
      - {words: the clunk is still there, complaint: none, rating: 5}
  - leg: braking
  - leg: roundabout
""",
)


def _check(name: str) -> Check:
    return LIBRARY.checks[name]


def begun(journal: Journal, name: str = "demo estate of the Skerry ferry") -> Session:
    """The job with its complaints and its car."""
    steps: list[list[e.Event]] = [
        [e.ComplaintHeard("wander", None, "I am sawing at the wheel all the way to the pier")],
        [
            e.VehicleFact("front", "strut"),
            e.VehicleFact("rear", "twist-beam"),
            e.VehicleFact("steering", "hydraulic-rack"),
            e.ConditionKnown("salt-climate", True),
            e.Distance(214_000.0, 14.0),
        ],
    ]
    return Session.start(LIBRARY, journal, name, Workshop("EUR", 85.0), steps)


def demo_session(journal: Journal) -> Session:
    """The whole job: looked at, measured, driven, planned, repaired once, set and driven again."""
    session = begun(journal)
    session.answer(_check("ask-pressures-last-set"), [Seen("ask-pressures-last-set/long-ago", None, "no")])
    session.tell(read_drive(LIBRARY, DRIVES[0].encode(), "demo.yaml"))
    session.answer(
        _check("rock-at-3-and-9"),
        [
            Seen("rock-at-3-and-9/linkage-play-at-tyre", "front-left", "inside the feel limit", 1.0),
            Seen(
                "rock-at-3-and-9/linkage-play-at-tyre",
                "front-right",
                "past the feel limit, inside the inspection limit",
                5.0,
            ),
            Seen("rock-at-3-and-9/whole-gear-moves", "front", "no"),
        ],
    )
    session.answer(
        _check("fingertips-along-the-chain"),
        [
            Seen("fingertips-along-the-chain/step-at-rod-end", "front-left", "no"),
            Seen("fingertips-along-the-chain/step-at-rod-end", "front-right", "yes"),
            Seen("fingertips-along-the-chain/step-at-gear-or-shaft", "front", "none of them"),
        ],
        "Helper at the wheel, engine running (demo).",
    )
    session.measure(sheets_of(ANGLES + BEFORE))
    session.do(
        kept(Planner(session.verdict.belief, session.verdict.cures, Wishes(), Workshop("EUR", 85.0)).plan())
    )
    end = session.repaired(
        "renew-outer-tie-rod-end@front-right", grade="as fitted new", price=46.0, hours=0.6
    )
    session.repair(end, session.repaired("set-front-toe", hours=0.7, angles_set=True))
    session.measure(sheets_of(ANGLES + AFTER))
    session.tell(read_drive(LIBRARY, DRIVES[1].encode(), "demo.yaml"))
    session.answer(
        _check("lever-the-rear-bush"),
        [
            Seen("lever-the-rear-bush/free-or-twice-the-give", "front-left", "yes"),
            Seen("lever-the-rear-bush/free-or-twice-the-give", "front-right", "yes"),
        ],
    )
    session.do(e.Noted("The company wants it back for the Saturday boat (demo)."))
    return session


@cache
def demo_page(reader: Reader = "workshop", nameless: bool = False) -> Page:
    """The demo's sheet."""
    return sheet(replace(_played(), nameless=nameless), reader)


@cache
def _played() -> Material:
    """The demo played, once a process; its store is gone before it is told of."""
    with tempfile.TemporaryDirectory() as folder:
        return demo_material(Path(folder))


def demo_material(folder: Path) -> Material:
    """What the demo's sheet is made from, in a store of its own in the folder."""
    with Journal.open(folder / "jobs.sqlite", clock=lambda: NOW) as journal:
        session = demo_session(journal)
        return gather(session, session.job, NOW, Wishes())


#: What somebody might type into a field, to see it come out as more than text. Demo.
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</title></style></svg><a href='javascript:alert(1)'>x</a>",
    "<!-- --><![CDATA[x]]>&lt;b&gt;&amp;",
    "[x](http://a.example) ![y](z) <http://a.example> www.a.example",
    "| a | b | **c** `d` \\",
    "\x1b[31mred\x1b[0m \x1b]8;;http://a.example\x07link\x1b]8;;\x07",
    "\u202egnp.exe\u202c \u2066\u05d0\u05d1\u2069 \u200f",
    "{{7*7}} ${7*7} %s {0}",
)


def said_session(journal: Journal, words: str) -> Session:
    """A small job with these words in every field into which somebody may type."""
    line, told = " ".join(words.splitlines()), neat(words)
    steps: list[list[e.Event]] = [
        [e.ComplaintHeard("front-clunk-over-bumps", None, words)],
        [e.VehicleFact("front", "strut"), e.Distance(150_000.0, 10.0)],
    ]
    # No check can be done there, so that none is chosen: that takes long, and shows nothing that was typed.
    nowhere = Workshop(cannot=frozenset(LIBRARY.set_ups))
    session = Session.start(LIBRARY, journal, line, nowhere, steps)
    session.do(e.Noted(words))
    read = sheets_of(ANGLES + BEFORE + AFTER)
    session.measure(replace(read, car=replace(read.car, name=told)))
    for text in DRIVES:
        session.do(e.DriveTold(drive_yaml(_saying(read_drive(LIBRARY, text.encode(), "demo.yaml"), told))))
    session.repair(session.repaired("renew-front-drop-links@front", grade=line, price=60.0, hours=0.8))
    session.do(e.Unfit(words), e.Closed(words))
    return session


def _saying(drive: Drive, told: str) -> Drive:
    """The drive with these words in the place of all that was typed."""
    legs = tuple(
        replace(leg, noticed=tuple(replace(one, words=told, began=told) for one in leg.noticed))
        for leg in drive.legs
    )
    return replace(drive, car=told, when=told, who=told, load=told, weather=told, legs=legs)


@cache
def searched_material(complaints: tuple[str, ...], answers: int) -> Material:
    """Demo: whatever points to the first suspect is looked at, so many times, and nothing is seen."""
    nowhere = Workshop("EUR", 80.0, frozenset(LIBRARY.set_ups))
    heard: list[e.Event] = [e.ComplaintHeard(each) for each in complaints]
    with tempfile.TemporaryDirectory() as folder, Journal.open(Path(folder) / "jobs.sqlite") as journal:
        session = Session.start(LIBRARY, journal, "demo car", nowhere, [heard, [e.Distance(187_000.0, 12.0)]])
        asked: set[tuple[str, str | None]] = set()
        for _ in range(answers):
            finding, at = _next(session, asked)
            asked.add((finding.id, at))
            session.answer(_check(finding.check), [Seen(finding.id, at, "no")])
        found = Material(session, session.job, NOW.date())
        # Everything that reads the store is asked while it is there.
        sheet(found)
        return found


def _next(session: Session, asked: set[tuple[str, str | None]]) -> tuple[Finding, str | None]:
    """A finding with its place that points to the first suspect to which one points that was not asked."""
    causes = session.verdict.belief.causes
    return next(
        (finding, at)
        for row in session.verdict.rows
        for finding in LIBRARY.findings.values()
        if finding.reading is None and any(link.target == causes[row.number].fault for link in finding.links)
        for at in places(LIBRARY, finding.id)
        if (finding.id, at) not in asked and at in (None, causes[row.number].position)
    )
