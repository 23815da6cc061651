"""Events to plain JSON values and back, and what they refuse."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import pytest

from diagnose.errors import JournalError
from diagnose.job.events import (
    KINDS,
    AnglesRead,
    Answered,
    Cannot,
    CheckDone,
    Closed,
    ComplaintHeard,
    Concluded,
    ConditionKnown,
    Distance,
    DriveTold,
    Event,
    EventFault,
    FeltSince,
    FollowedUp,
    Noted,
    Opened,
    PartRenewed,
    Planned,
    ReferenceTold,
    Repaired,
    Skipped,
    Turned,
    Undone,
    Unfit,
    VehicleFact,
    text_fields,
)

ONE_OF_EACH: list[tuple[Event, dict[str, Any]]] = [
    (
        Opened("grey estate", "ab12", "0.1", {"currency": "EUR", "labour-rate": 90, "cannot": ["rig"]}),
        {
            "event": "opened",
            "name": "grey estate",
            "library-digest": "ab12",
            "program-version": "0.1",
            "workshop": {"currency": "EUR", "labour-rate": 90, "cannot": ["rig"]},
        },
    ),
    (VehicleFact("front", "strut"), {"event": "vehicle-fact", "fact": "front", "value": "strut"}),
    (VehicleFact("front"), {"event": "vehicle-fact", "fact": "front"}),
    (Distance(187000, 12.5), {"event": "distance", "km": 187000.0, "years": 12.5}),
    (
        ConditionKnown("salt-climate", False),
        {"event": "condition-known", "condition": "salt-climate", "holds": False},
    ),
    (
        PartRenewed("outer-tie-rod-end", "front-left", at_km=150000),
        {
            "event": "part-renewed",
            "part": "outer-tie-rod-end",
            "position": "front-left",
            "at-km": 150000.0,
        },
    ),
    (
        ComplaintHeard("pulls", "left", "drifts to the verge", "probably", "road-test"),
        {
            "event": "complaint-heard",
            "complaint": "pulls",
            "side": "left",
            "words": "drifts to the verge",
            "answer": "probably",
            "by": "road-test",
        },
    ),
    (
        Answered("rock/free-play", None, "past the feel limit", 9, "mm"),
        {
            "event": "answered",
            "finding": "rock/free-play",
            "position": None,
            "answer": "past the feel limit",
            "reading": 9.0,
            "unit": "mm",
        },
    ),
    (Turned("rock"), {"event": "turned", "check": "rock"}),
    (CheckDone("rock"), {"event": "check-done", "check": "rock"}),
    (Skipped("rock"), {"event": "skipped", "check": "rock"}),
    (Cannot("rig"), {"event": "cannot", "what": "rig"}),
    (Noted("two\nlines"), {"event": "noted", "text": "two\nlines"}),
    (AnglesRead("angles: 1\n"), {"event": "angles-read", "text": "angles: 1\n"}),
    (
        Repaired("renew-arm", "front-left", ("arm-bent@front-left",), price=120.0, angles_set=False),
        {
            "event": "repaired",
            "remedy": "renew-arm",
            "place": "front-left",
            "ends": ["arm-bent@front-left"],
            "price": 120.0,
            "angles-set": False,
        },
    ),
    (DriveTold("debrief: 1\n"), {"event": "drive-told", "text": "debrief: 1\n"}),
    (FollowedUp("wheel-angles"), {"event": "followed-up", "what": "wheel-angles"}),
    (
        Planned(("renew-rear-dampers@rear set-tyre-pressures@car",), (310.5,), (0.6,), 0.9),
        {
            "event": "planned",
            "works": ["renew-rear-dampers@rear set-tyre-pressures@car"],
            "cash": [310.5],
            "gone": [0.6],
            "there": 0.9,
        },
    ),
    (
        FeltSince("pulls", "faded"),
        {"event": "felt-since", "complaint": "pulls", "answer": "faded"},
    ),
    (
        FeltSince("pulls", "yes", 5, 300.5, "again to the verge", "driver"),
        {
            "event": "felt-since",
            "complaint": "pulls",
            "answer": "yes",
            "days": 5.0,
            "km": 300.5,
            "words": "again to the verge",
            "by": "driver",
        },
    ),
    (ReferenceTold("debrief: 1\n"), {"event": "reference-told", "text": "debrief: 1\n"}),
    (
        ReferenceTold("debrief: 1\n", "same-car-before"),
        {"event": "reference-told", "text": "debrief: 1\n", "of": "same-car-before"},
    ),
    (Undone(), {"event": "undone"}),
    (Undone(2), {"event": "undone", "steps": 2}),
    (
        Concluded(("renew-outer-tie-rod-end", "set-toe")),
        {"event": "concluded", "remedies": ["renew-outer-tie-rod-end", "set-toe"]},
    ),
    (Unfit("Do not drive."), {"event": "unfit", "text": "Do not drive."}),
    (Closed("cured"), {"event": "closed", "outcome": "cured"}),
]


def test_the_table_below_has_every_kind() -> None:
    assert {event.kind for event, _ in ONE_OF_EACH} == set(KINDS)


@pytest.mark.parametrize(("event", "plain"), ONE_OF_EACH, ids=lambda value: getattr(value, "kind", ""))
def test_an_event_to_plain_values_and_back(event: Event, plain: dict[str, Any]) -> None:
    assert event.to_dict() == plain
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert Event.from_dict(plain) == event
    assert type(event).from_dict(plain) == event


def test_events_are_frozen() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        Turned("rock").check = "other"  # type: ignore[misc]


def test_whole_numbers_become_floats_and_lists_tuples() -> None:
    assert type(Distance(5).km) is float
    assert Event.from_dict({"event": "concluded", "remedies": ["a"]}) == Concluded(("a",))


def test_the_workshop_is_a_copy() -> None:
    given = {"cannot": ["rig"]}
    opened = Opened("a", workshop=given)
    given["cannot"].append("helper")
    assert opened.workshop == {"cannot": ["rig"]}


@pytest.mark.parametrize(
    ("plain", "message"),
    [
        (
            {"event": "turned", "check": "rock", "chekc": 1},
            "event 'turned' has no field 'chekc'\n    mend: its fields: check",
        ),
        ({"event": "turned"}, "event 'turned' lacks its field 'check'\n    mend: add 'check'"),
        (
            {"event": "distance", "km": -1},
            "'km' of event 'distance' is -1.0\n    mend: it must be a number, 0 or more",
        ),
        (
            {"event": "distance", "km": True},
            "'km' of event 'distance' is True\n    mend: it must be a number",
        ),
        (
            {"event": "distance", "km": float("nan")},
            "'km' of event 'distance' is nan\n    mend: it must be a number",
        ),
        (
            {"event": "turned", "check": "Rock it"},
            "'check' of event 'turned' is 'Rock it'\n    mend: it must be plain hyphenated words",
        ),
        (
            {"event": "answered", "finding": "rock", "position": None, "answer": "yes"},
            "'finding' of event 'answered' is 'rock'\n"
            "    mend: it must be check/finding, both plain hyphenated words",
        ),
        (
            {"event": "answered", "finding": "rock/play", "position": "top", "answer": "yes"},
            "'position' of event 'answered' is 'top'\n    mend: it must be one of front-left, front-right, "
            "rear-left, rear-right, front, rear, left, right, centre",
        ),
        (
            {"event": "complaint-heard", "complaint": "pulls", "answer": "maybe"},
            "'answer' of event 'complaint-heard' is 'maybe'\n"
            "    mend: it must be one of yes, probably, cannot-tell, probably-not, no",
        ),
        (
            {"event": "felt-since", "complaint": "pulls", "answer": "no", "days": 0},
            "'days' of event 'felt-since' is 0.0\n    mend: it must be a number above 0",
        ),
        (
            {"event": "noted", "text": "odd \udce9 byte"},
            "'text' of event 'noted' is 'odd \\udce9 byte'\n    mend: it must be text",
        ),
        (
            {"event": "undone", "steps": 0},
            "'steps' of event 'undone' is 0\n    mend: it must be a whole number from 1 to 1000000",
        ),
        (
            {"event": "opened", "name": "two\nlines"},
            "'name' of event 'opened' is 'two\\nlines'\n    mend: it must be one line of words",
        ),
        (
            {"event": "concluded", "remedies": "set-toe"},
            "'remedies' of event 'concluded' is 'set-toe'\n    mend: it must be a list",
        ),
        (
            {"event": "opened", "name": "a", "workshop": {"rate": float("inf")}},
            "'workshop' of event 'opened' is inf\n"
            "    mend: it must be keys with plain text, numbers, true, false, null or lists",
        ),
    ],
)
def test_a_wrong_event_is_named(plain: dict[str, Any], message: str) -> None:
    with pytest.raises(JournalError) as caught:
        Event.from_dict(plain)
    assert str(caught.value) == message


@pytest.mark.parametrize("kind", ["turnd", "", None, 3, ["turned"]])
def test_an_unknown_kind_is_named(kind: object) -> None:
    with pytest.raises(EventFault) as caught:
        Event.from_dict({"event": kind})
    assert str(caught.value).startswith(f"unknown event {kind!r}\n    mend: the events are opened, ")


def test_a_class_takes_only_its_own_kind() -> None:
    with pytest.raises(JournalError, match="unknown event 'turned'"):
        Skipped.from_dict({"event": "turned", "check": "rock"})


def test_making_a_wrong_event_fails_as_reading_one_does() -> None:
    with pytest.raises(JournalError, match="'position' of event 'part-renewed' is 'nowhere'"):
        PartRenewed("rack", "nowhere")


def test_fields_that_hold_text() -> None:
    assert text_fields("answered") == {"finding", "position", "answer", "unit"}
    assert text_fields("complaint-heard") == {"complaint", "side", "words", "answer", "by"}
    assert text_fields("distance") == text_fields("undone") == text_fields("concluded") == set()
