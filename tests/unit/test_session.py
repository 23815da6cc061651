"""One job at work: resumed it is the same, undone it is as before, and it asks what matters."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.errors import ImpossibleAnswers, InputError
from diagnose.job import events as e
from diagnose.job.case import read_case
from diagnose.job.journal import Journal
from diagnose.job.session import Ask, Session
from diagnose.job.steps import steps_of
from diagnose.model.complaint import Gate, Leaf
from diagnose.model.library import Library
from diagnose.model.story import Seen, Workshop
from diagnose.report import ranking_json
from tests.small_trees import SMALL, compiled, edited

LIBRARY = compiled(SMALL)[0].library
MOVES, PLAY, STIFF, FELT = (
    f"rock-the-steering/{f}" for f in ("end-moves", "rim-play", "how-stiff", "wander-felt")
)
ROCK = LIBRARY.checks["rock-the-steering"]
ASK = LIBRARY.checks["ask-tyres"]
ROCKED = [
    Seen(MOVES, "front-left", "yes"),
    Seen(MOVES, "front-right", "no"),
    Seen(STIFF, None, "no"),
    Seen(PLAY, None, "past the feel limit", 9.0),
    Seen(FELT, None, "cannot-tell"),
]


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    return Journal.open(tmp_path / "jobs.sqlite")


def begin(journal: Journal, workshop: Workshop | None = None, library: Library = LIBRARY) -> Session:
    heard = e.ComplaintHeard.from_dict(
        {"event": "complaint-heard", "complaint": "wander", "words": "it weaves"}
    )
    return Session.start(library, journal, "demo car", workshop or Workshop(), [[heard]])


def stand(session: Session) -> object:
    """Everything that the session says, as plain values."""
    check = session.check_now()
    return (
        ranking_json(session.verdict, session.story),
        check and check.id,
        session.asks(),
        session.set_up,
        session.spent,
        session.state.answers,
        session.state.done,
        session.state.notes,
    )


def test_a_job_begins_with_its_complaint(journal: Journal) -> None:
    session = begin(journal, Workshop("crowns", 80.0, frozenset({"helper"})))
    assert session.job == "job-1"
    assert session.story.complaints == {"wander": None}
    assert session.set_up == "talk"
    assert session.spent == 0.0
    assert session.verdict.workshop == Workshop("crowns", 80.0, frozenset({"helper"}))


@pytest.mark.slow
def test_a_job_taken_up_again_stands_where_it_was(journal: Journal) -> None:
    session = begin(journal)
    acts = [
        lambda: session.do(e.VehicleFact("steering", "rack")),
        lambda: session.do(e.Distance(187_000.0, 12.0)),
        lambda: session.do(e.ConditionKnown("rough-roads", True)),
        lambda: session.answer(ASK, [Seen("ask-tyres/long-ago", None, "probably")]),
        lambda: session.turn_to("rock-the-steering"),
        lambda: session.answer(ROCK, ROCKED),
        lambda: session.do(e.Noted("left boot torn")),
        lambda: session.hear("pull", "left", "drags to the left"),
        lambda: session.do(e.Cannot("lift")),
        lambda: session.undo(1),
    ]
    for act in acts:
        act()
        with Journal.open(journal.path) as again:
            assert stand(Session(LIBRARY, again, session.job)) == stand(session)


def test_undo_restores_exactly_what_was(journal: Journal) -> None:
    session = begin(journal)
    stands = [stand(session)]
    for act in (
        lambda: session.do(e.VehicleFact("steering", "rack")),
        lambda: session.do(e.PartRenewed("rod-end", "front-left", None, 1.0)),
        lambda: session.answer(ASK, [Seen("ask-tyres/long-ago")]),
        lambda: session.answer(ROCK, ROCKED),
        lambda: session.hear("pull", None, "drags"),
        lambda: session.do(e.Skipped("ask-tyres")),
        lambda: session.do(e.Cannot("helper")),
    ):
        act()
        stands.append(stand(session))
    for before in reversed(stands[:-1]):
        assert session.undo(1) == 1
        assert stand(session) == before
    # Only the complaint is left, which was told at the opening.
    assert session.undo(5) == 1
    assert session.story.heard == ()
    assert session.undo(1) == 0


def test_several_steps_are_taken_back_at_once(journal: Journal) -> None:
    session = begin(journal)
    first = stand(session)
    session.answer(ASK, [Seen("ask-tyres/long-ago")])
    session.answer(ROCK, ROCKED)
    assert session.undo(2) == 2
    assert stand(session) == first


def test_moved_is_what_the_last_answered_check_did(journal: Journal) -> None:
    session = begin(journal)
    session.do(e.VehicleFact("steering", "rack"))
    was = {row.id: row for row in session.verdict.rows}
    session.answer(ROCK, ROCKED)
    for row in session.verdict.rows:
        assert row.moved == pytest.approx(row.probability - was[row.id].probability)
        assert row.blame_moved == pytest.approx(row.to_blame - was[row.id].to_blame)
    moved = {row.id: row.moved for row in session.verdict.rows}
    assert moved["rod-end-play-front-left"] > 0.3
    session.do(e.Noted("a note moves nothing"))
    assert {row.id: row.moved for row in session.verdict.rows} == pytest.approx(moved)


def test_an_answer_given_again_replaces_the_first(journal: Journal) -> None:
    session = begin(journal)
    session.answer(ASK, [Seen("ask-tyres/long-ago", None, "yes")])
    session.answer(ASK, [Seen("ask-tyres/long-ago", None, "no")])
    assert [seen.answer for seen in session.story.seen] == ["no"]


def test_answers_that_cannot_be_are_not_kept(journal: Journal) -> None:
    session = begin(journal)
    before = stand(session)
    contrary = [Seen("ask-tyres/long-ago", None, "yes"), Seen("ask-tyres/long-ago", None, "no")]
    with pytest.raises(ImpossibleAnswers):
        session.answer(ASK, contrary)
    assert stand(session) == before
    assert stand(Session(LIBRARY, journal, session.job)) == before


# Checks in hand, set-ups, minutes -----------------------------------------------------------------------


def test_a_check_turned_to_is_in_hand_until_it_is_answered(journal: Journal) -> None:
    session = begin(journal)
    session.turn_to("ask-tyres")
    assert session.check_now() == ASK
    session.answer(ASK, [Seen("ask-tyres/long-ago", None, "no")])
    assert session.check_now() != ASK
    assert session.spots(ASK) == []


def test_a_check_in_hand_that_turns_out_not_to_be_possible_is_dropped(journal: Journal) -> None:
    for what in ("rock-the-steering", "ground", "helper"):
        session = begin(journal)
        session.turn_to("rock-the-steering")
        assert session.check_now() == ROCK
        session.do(e.Cannot(what))
        assert session.check_now() != ROCK
    assert session.verdict.workshop.cannot == {"helper"}


def test_the_car_does_not_stand_in_a_set_up_that_is_not_to_be_had(journal: Journal) -> None:
    session = begin(journal)
    session.turn_to("rock-the-steering")
    session.do(e.Cannot("ground"))
    assert session.set_up == "talk"


def test_a_check_skipped_is_not_proposed_again(journal: Journal) -> None:
    session = begin(journal)
    first = session.check_now()
    assert first is not None
    session.do(e.Skipped(first.id))
    assert session.check_now() != first


def test_minutes_spent_count_checks_and_changes(journal: Journal) -> None:
    session = begin(journal)
    session.answer(ASK, [Seen("ask-tyres/long-ago", None, "no")])
    assert session.spent == pytest.approx(0.5)
    session.answer(ROCK, ROCKED)
    assert session.spent == pytest.approx(0.5 + 2.0 + 5.0)
    assert session.set_up == "ground"


def test_a_check_that_this_car_does_not_allow_cannot_be_turned_to(journal: Journal) -> None:
    session = begin(journal)
    session.do(e.VehicleFact("steering", "box"))
    with pytest.raises(InputError) as raised:
        session.turn_to("rock-the-steering")
    assert str(raised.value) == "'rock-the-steering' cannot be done on this car"


# Questions about the car --------------------------------------------------------------------------------


def test_what_decides_much_of_the_blame_is_asked_once(journal: Journal) -> None:
    session = begin(journal)
    asks = session.asks()
    assert asks[0] == Ask("fact", "steering")
    assert Ask("distance", "distance") in asks
    assert Ask("condition", "rough-roads") in asks
    session.do(e.VehicleFact("steering", None))  # asked; not known
    session.do(e.Distance(None, None))
    session.do(e.ConditionKnown("rough-roads", None))
    assert session.asks() == []
    session.undo(3)
    assert session.asks() == asks


def test_a_fact_on_which_only_a_way_up_depends_is_asked(tmp_path: Path) -> None:
    """Low tyres are on every car; that they make this one wander depends on its steering."""
    alone = Gate("any", 1, (Leaf("tyres-soft", 0.5, fits={"steering": ("rack",)}),), leak=0.01)
    library = replace(LIBRARY, complaints={"wander": replace(LIBRARY.complaints["wander"], top=alone)})
    with Journal.open(tmp_path / "jobs.sqlite") as journal:
        assert Ask("fact", "steering") in begin(journal, library=library).asks()
    plain = replace(alone, branches=(Leaf("tyres-soft", 0.5),))
    library = replace(LIBRARY, complaints={"wander": replace(LIBRARY.complaints["wander"], top=plain)})
    with Journal.open(tmp_path / "others.sqlite") as journal:
        assert Ask("fact", "steering") not in begin(journal, library=library).asks()


# A library that has moved on ----------------------------------------------------------------------------


def test_what_the_trees_no_longer_know_waits_and_counts_for_nothing(journal: Journal) -> None:
    session = begin(journal)
    session.answer(ASK, [Seen("ask-tyres/long-ago")])
    session.answer(ROCK, ROCKED)
    names = ("checks.yaml", "      - id: long-ago", "      - id: long-since")
    draft, problems = compiled(edited(names))
    assert not problems
    later = Session(draft.library, journal, session.job)
    assert later.unknown == ["ask-tyres/long-ago"]
    assert [seen.finding for seen in later.story.seen] == [seen.finding for seen in ROCKED]
    assert later.verdict.rows
    assert session.unknown == []


# Case files as jobs -------------------------------------------------------------------------------------

CASE = b"""\
case: 1
vehicle:
  name: demo van
  km: 187000
  years: 12
  steering: rack
  conditions: {rough-roads: yes}
  renewed:
    - {part: rod-end, position: front-right, years-ago: 2}
complaints:
  - {id: wander, road-test: probably, heard: yes}
answers:
  - {check: ask-tyres, findings: {long-ago: no}}
  - check: rock-the-steering
    findings: {end-moves: {front-left: yes}, rim-play: 9 mm}
    others: no
workshop: {currency: crowns, labour-rate: 90}
"""


def test_a_case_opened_as_a_job_says_the_same(journal: Journal) -> None:
    case = read_case(LIBRARY, CASE, "demo.yaml")
    session = Session.start(LIBRARY, journal, case.story.vehicle.name, case.workshop, steps_of(LIBRARY, case))
    assert session.story.heard == case.story.heard
    assert session.story.seen == case.story.seen
    assert session.story.vehicle == case.story.vehicle
    assert session.state.steps == 4
    assert session.state.done == ("ask-tyres", "rock-the-steering")
    assert session.set_up == "ground"
