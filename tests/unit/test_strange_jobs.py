"""Jobs that are well formed and make no sense: every command says so in words, or does without.

Imported jobs may come from other trees, from a newer or older program, or from somebody's editor. Demo data.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.behind import carried_out

DAMPERS = "repaired, remedy: renew-front-dampers, place: front, ends: ['front-dampers-weak@front']"
WANDER = "complaint-heard, complaint: wander"

#: What is told after the opening, step by step.
JOBS = {
    "nothing": (),
    "a complaint of no tree": ("complaint-heard, complaint: no-such",),
    "a second one of no tree": (WANDER, "complaint-heard, complaint: no-such, side: left"),
    "a layout of no car": (WANDER, "vehicle-fact, fact: steering, value: warp"),
    "an unknown fact": (WANDER, "vehicle-fact, fact: nope, value: warp"),
    "an unknown condition": (WANDER, "condition-known, condition: nope, holds: true"),
    "an unknown part": (WANDER, "part-renewed, part: nope, position: left"),
    "a finding of no check": (WANDER, "answered, finding: a/b, position: front, answer: yes"),
    "a finding at a wrong place": (
        WANDER,
        "answered, finding: rock/free-play, position: rear-left, answer: lots, reading: 5, unit: parsec",
    ),
    "shares of nothing": (
        WANDER,
        "answered, finding: rock/free-play, position: null, answer: yes, shares: [0, 0, 0]",
    ),
    "checks that are none": (WANDER, "check-done, check: no-such", "turned, check: nope"),
    "a sheet that is none": (WANDER, "angles-read, text: garbage"),
    "a drive that is none": (WANDER, "drive-told, text: garbage"),
    "a reference that is none": (WANDER, "reference-told, text: garbage"),
    "a plan of no works": (WANDER, "planned, works: [x, 'y z@q'], cash: [1], gone: [0.5, 0.7, 0.1]"),
    "an empty plan": (WANDER, "planned, works: [], cash: [], gone: []", DAMPERS),
    "an unknown remedy": (WANDER, "repaired, remedy: no-such, place: front, ends: [x]"),
    "a remedy at no place": (
        WANDER,
        "repaired, remedy: renew-front-dampers, place: moon, ends: ['front-dampers-weak@moon', '@', 'a@b@c']",
    ),
    "a remedy that ends nothing": (
        WANDER,
        "repaired, remedy: renew-front-dampers, place: front, ends: []",
    ),
    "felt before any repair": (WANDER, "felt-since, complaint: wander, answer: no"),
    "another felt before any repair": (WANDER, "felt-since, complaint: shimmy, answer: no, days: 5"),
    "later times in no order": (
        WANDER,
        DAMPERS,
        "felt-since, complaint: shimmy, answer: no, days: 5",
        "felt-since, complaint: shimmy, answer: yes, days: 3",
    ),
    "work and remedies that are none": (
        WANDER,
        "followed-up, what: nope",
        "concluded, remedies: [nope]",
        "unfit, text: x",
    ),
    "more undone than there is": (WANDER, "undone, steps: 1000000"),
}

#: Quick enough for every run.
FAST = ("nothing", "a complaint of no tree")


def job(events: tuple[str, ...], workshop: str = "{}", time: str = "2026-05-04T09:31:00Z") -> bytes:
    told = (f"opened, name: demo, workshop: {workshop}", *events)
    rows = [f"- {{step: {n}, time: {time}, event: {event}}}" for n, event in enumerate(told, start=1)]
    return "\n".join(["journal: 1", "name: demo", "events:", *rows, ""]).encode()


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", [name if name in FAST else pytest.param(name, marks=pytest.mark.long) for name in JOBS]
)
def test_a_job_that_makes_no_sense_does_no_harm(name: str, tmp_path: Path) -> None:
    assert carried_out("jobs imported", job(JOBS[name]), tmp_path) == []


@pytest.mark.long
def test_nor_does_a_workshop_with_more_in_it(tmp_path: Path) -> None:
    workshop = "{cannot: [nope, rig], labour-rate: 90, x: [1, {a: b}]}"
    assert carried_out("jobs imported", job((WANDER,), workshop), tmp_path) == []


@pytest.mark.long
@pytest.mark.parametrize(
    "time", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "0001-01-01T00:00:00Z"]
)
def test_nor_does_a_time_at_the_ends_of_the_calendar(time: str, tmp_path: Path) -> None:
    assert carried_out("jobs imported", job((WANDER, DAMPERS), time=time), tmp_path) == []
