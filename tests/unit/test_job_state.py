"""The fold over a job's events, one rule a test."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import pytest

from diagnose.errors import JournalError
from diagnose.job.events import (
    Answered,
    Cannot,
    CheckDone,
    Closed,
    ComplaintHeard,
    Concluded,
    ConditionKnown,
    Distance,
    Entry,
    Event,
    Noted,
    Opened,
    PartRenewed,
    Skipped,
    Turned,
    Undone,
    Unfit,
    VehicleFact,
)
from diagnose.job.state import Heard, JobState, fold, live
from diagnose.model.vehicle import Renewed, Vehicle

NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)
OPENED = Opened("demo car")


def entries(*steps: Sequence[Event]) -> list[Entry]:
    """Numbered entries of a job that is opened in step 1; each further argument is one step."""
    return [Entry(n, NOON, event) for n, step in enumerate([[OPENED], *steps], 1) for event in step]


def folded(*events: Event) -> JobState:
    """The state after these events, each a step of its own."""
    return fold(entries(*([event] for event in events)))


def test_a_job_just_opened_knows_its_name_only() -> None:
    assert folded() == JobState(OPENED, Vehicle("demo car"))


def test_the_vehicle_is_as_known_last() -> None:
    state = folded(
        VehicleFact("front", "strut"),
        VehicleFact("rear", "twist-beam"),
        VehicleFact("rear", None),
        ConditionKnown("salt-climate", True),
        ConditionKnown("rough-roads", True),
        ConditionKnown("salt-climate", False),
        ConditionKnown("rough-roads", None),
        Distance(187000, 12),
        Distance(187500, None),
        PartRenewed("rack", None, years_ago=2),
        PartRenewed("outer-tie-rod-end", "front-left", at_km=150000),
        PartRenewed("rack", None, at_km=90000),
    )
    assert state.vehicle == Vehicle(
        "demo car",
        facts={"front": "strut"},
        conditions={"salt-climate": False},
        km=187500,
        years=None,
        renewed=(
            Renewed("rack", at_km=90000),
            Renewed("outer-tie-rod-end", "front-left", at_km=150000),
        ),
    )


def test_driver_and_road_test_stand_side_by_side() -> None:
    state = folded(
        ComplaintHeard("pulls", "left", "drifts to the verge", "yes", "driver"),
        ComplaintHeard("wander", words="all over the road"),
        ComplaintHeard("pulls", None, "", "probably-not", "road-test"),
        ComplaintHeard("pulls", "right", "", "probably", "driver"),
    )
    assert state.complaints == (
        Heard("pulls", "right", "drifts to the verge", driver="probably", road_test="probably-not"),
        Heard("wander", None, "all over the road", driver="yes"),
    )


def test_an_answer_given_again_replaces_the_earlier_and_stands_last() -> None:
    left, right = Answered("rock/play", "front-left", "yes"), Answered("rock/play", "front-right", "no")
    whole = Answered("rock/play", None, "no")
    again = Answered("rock/play", "front-left", "cannot-tell")
    assert folded(left, right, whole).answers == (left, right, whole)
    assert folded(left, right, whole, again).answers == (right, whole, again)


def test_a_check_is_turned_to_then_done() -> None:
    turned = folded(Turned("rock"))
    assert (turned.current, turned.last_check, turned.done) == ("rock", "rock", ())
    done = folded(Turned("rock"), CheckDone("rock"))
    assert (done.current, done.last_check, done.done) == (None, "rock", ("rock",))


def test_another_check_done_leaves_the_one_in_hand() -> None:
    state = folded(Turned("rock"), CheckDone("spin"), CheckDone("spin"))
    assert (state.current, state.last_check, state.done) == ("rock", "spin", ("spin",))


def test_skipping_the_check_in_hand_leaves_it_and_the_car_where_it_is() -> None:
    state = folded(Turned("rock"), Skipped("rock"))
    assert (state.current, state.last_check, state.skipped) == (None, "rock", ("rock",))


@pytest.mark.parametrize("event", [Turned("rock"), CheckDone("rock")])
def test_a_check_taken_up_is_no_longer_skipped(event: Event) -> None:
    assert folded(Skipped("rock"), Skipped("spin"), event).skipped == ("spin",)


def test_what_cannot_be_had_is_kept_once_and_leaves_a_check_in_hand() -> None:
    state = folded(Turned("rock"), Cannot("rig"), Cannot("helper"), Cannot("rig"))
    assert (state.cannot, state.current) == (("rig", "helper"), "rock")
    assert folded(Turned("rock"), Cannot("rock")).current is None


def test_notes_warnings_conclusion_and_closing() -> None:
    state = folded(
        Noted("a"),
        Noted("a"),
        Unfit("Do not drive."),
        Unfit("Do not drive."),
        Concluded(("set-toe",)),
        Concluded(()),
        Closed("cured"),
    )
    assert (state.notes, state.unfit) == (("a", "a"), ("Do not drive.",))
    assert (state.concluded, state.closed) == ((), "cured")
    assert folded().concluded is None and folded().closed is None


def test_undo_takes_back_a_whole_step() -> None:
    told = entries(
        [Noted("kept")], [Answered("rock/play", None, "yes"), CheckDone("rock"), Noted("x")], [Undone()]
    )
    assert fold(told) == fold(entries([Noted("kept")]))
    assert fold(told).steps == 1


def test_undo_brings_back_the_answer_before() -> None:
    first, second = Answered("rock/play", None, "yes"), Answered("rock/play", None, "no")
    assert folded(first, second, Undone()).answers == (first,)


def test_undo_counts_only_steps_that_still_stand() -> None:
    a, b, c, d = (Noted(letter) for letter in "abcd")
    assert folded(a, b, c, Undone(), Undone()).notes == ("a",)
    assert folded(a, b, c, Undone(), d, Undone(2)).notes == ("a",)
    assert folded(a, Closed("cured"), Undone()).closed is None


def test_undo_stops_at_the_opening() -> None:
    assert folded(Noted("a"), Undone(9)) == folded()
    assert folded(Undone(), Noted("a")).notes == ("a",)


def test_live_entries_keep_their_steps_and_leave_the_undoing_out() -> None:
    told = entries([Noted("a")], [Noted("b")], [Undone()], [Noted("c")])
    assert [(entry.step, entry.event) for entry in live(told)] == [
        (1, OPENED),
        (2, Noted("a")),
        (5, Noted("c")),
    ]


@pytest.mark.parametrize(
    ("told", "message"),
    [
        ([], "event 1: the job holds no events\n    mend: a job begins with the event 'opened'"),
        (
            [Entry(1, NOON, Noted("a"))],
            "event 1: the job begins with 'noted'\n    mend: a job begins with the event 'opened'",
        ),
        ([Entry(2, NOON, OPENED)], "event 1: the first step is 2\n    mend: number the steps from 1"),
        (
            entries([OPENED]),
            "event 2: the job is opened a second time\n    mend: keep only the first 'opened'",
        ),
        (
            [Entry(1, NOON, OPENED), Entry(3, NOON, Noted("a"))],
            "event 2: step 3 follows step 1\n"
            "    mend: number the steps one by one; events of one step share its number",
        ),
        (
            [Entry(1, NOON, OPENED), Entry(1, NOON, Noted("a"))],
            "event 2: 'opened' shares step 1 with another event\n    mend: give 'opened' a step of its own",
        ),
        (
            entries([Noted("a"), Undone()]),
            "event 3: 'undone' shares step 2 with another event\n    mend: give 'undone' a step of its own",
        ),
    ],
)
def test_a_journal_out_of_order_is_refused(told: list[Entry], message: str) -> None:
    with pytest.raises(JournalError) as caught:
        fold(told)
    assert str(caught.value) == message
