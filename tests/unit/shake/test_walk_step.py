"""The check that asks for the order, answered with figures in the walk."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.job import events as e
from diagnose.job.export import export, import_text
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.model.story import Seen, Workshop
from diagnose.screen.choosing import Stop
from diagnose.screen.desk import PipeDesk
from diagnose.screen.measured import METHODS
from diagnose.screen.walk import walk
from diagnose.shake.grades import FINDING
from tests.shipped import LIBRARY

TO_IT = "o log the shake and reckon its order"

Typed = Callable[..., tuple[Session, str]]


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Typed:
    """A new job of a car that shakes, on which these lines are typed at its checks."""
    monkeypatch.setenv("COLUMNS", "80")

    def type_(*lines: str, drive: str | None = "rear") -> tuple[Session, str]:
        heard = e.ComplaintHeard.from_dict({"event": "complaint-heard", "complaint": "seat-vibration"})
        facts = [e.VehicleFact(name, None) for name in ("front", "rear", "steering")]
        known = [e.VehicleFact("drive", drive), e.Distance(None, None), e.ConditionKnown("tows", None)]
        with Journal.open(tmp_path / "jobs.sqlite") as journal:
            session = Session.start(LIBRARY, journal, "demo car", Workshop(), [[heard], facts, known])
            with pytest.raises((Stop, EOFError)):
                walk(PipeDesk(io.StringIO("".join(f"{line}\n" for line in (TO_IT, *lines)))), session)
            return session, " ".join(capsys.readouterr().out.split())

    return type_


def seen(session: Session) -> Seen:
    (found,) = session.story.seen
    return found


def test_figures_are_kept_with_what_they_come_to(typed: Typed) -> None:
    session, out = typed("14.6 Hz at 110 km/h, 12,1 Hz at 90", "205/55 R16", "3.9", "q")
    assert "or what was read: 14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h (by satellite)" in out
    assert (
        "Kept: 14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h; speed by speedometer, 20 s recorded. "
        "Once per wheel turn fits best: 14.9, 12.1 Hz expected." in out
    )
    told = seen(session)
    assert (told.finding, told.position, told.answer) == (FINDING, None, "once per wheel turn")
    assert len(told.shares) == 7
    assert told.shares[1] == 1.0
    assert session.state.notes == (
        "the strongest peak: 14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h; speed by speedometer, 20 s recorded; "
        "tyre 205/55 R16, final drive 3.9",
    )
    assert "vibration-orders" in session.state.done


@pytest.mark.slow
def test_what_is_asked_of_the_car_is_asked_once(typed: Typed) -> None:
    session, out = typed("14.6 Hz at 110", "205/55 R16", "", "u", TO_IT, "15.9 Hz at 110 by satellite", "q")
    assert out.count("Tyre size on the sidewall, such as 205/55 R16; Enter: not known >") == 1
    assert out.count("Final drive ratio, such as 3.9; Enter: not known >") == 1
    assert session.state.notes == (
        "the strongest peak: 15.9 Hz at 110 km/h; speed by satellite, 20 s recorded; "
        "tyre 205/55 R16, final drive not known",
    )


@pytest.mark.slow
def test_a_car_without_a_propshaft_is_not_asked_for_its_ratio(typed: Typed) -> None:
    session, out = typed("14.6 Hz at 68 mph", "", "q", drive="front")
    assert "Final drive" not in out
    assert seen(session).shares[3:5] == (0.0, 0.0)
    assert session.state.notes[0].endswith(
        "14.6 Hz at 68 mph; speed by speedometer, 20 s recorded; tyre not known"
    )


def test_slips_are_told_and_nothing_is_kept(typed: Typed) -> None:
    session, out = typed("14.6 Hz", "600 Hz at 110", "14.6 Hz at 110", "205/5", "205/55 R16", "99", "q")
    assert "'14.6 hz' is not a reading: write it like 14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h" in out
    assert "the frequency must be a number from 0.3 to 500 Hz, not 600" in out
    assert "'205/5' is not a tyre size: write it like 205/55 R16 91V" in out
    assert "the final drive ratio must be a number from 1 to 8, not 99" in out
    assert session.story.seen == ()
    assert session.state.notes == ()


@pytest.mark.slow
def test_a_note_and_a_grade_are_what_they_were(typed: Typed) -> None:
    session, _ = typed("t 14.6 Hz at 110 was read badly", "6", "q")
    assert session.state.notes == ("14.6 Hz at 110 was read badly",)
    assert seen(session) == Seen(FINDING, None, "same at every speed")


def test_stopping_at_a_question_about_the_car_keeps_nothing(typed: Typed) -> None:
    session, _ = typed("14.6 Hz at 110", "205/55 R16", "q")
    assert session.story.seen == ()
    assert session.state.closed is None


@pytest.mark.slow
def test_not_known_may_be_said_as_elsewhere(typed: Typed) -> None:
    session, out = typed("14.6 Hz at 110", "?", "c", "q")
    assert session.state.notes[0].endswith("tyre not known, final drive not known")
    assert "The tyre size is not known: any usual one is reckoned with." in out


@pytest.mark.slow
def test_a_doubt_is_told_at_once(typed: Typed) -> None:
    session, out = typed("14.6 Hz at 110 km/h by satellite", "205/55 R16", "", "q")
    assert "What is left" in out or "can be as well" in out
    assert "look again at the tyre size on the car, at the speed and its unit." in out
    assert sorted(seen(session).shares)[-2] > 0.5


@pytest.mark.slow
def test_undo_takes_figures_and_note_back(typed: Typed) -> None:
    session, _ = typed("14.6 Hz at 110", "205/55 R16", "", "u", "q")
    assert session.story.seen == ()
    assert session.state.notes == ()


@pytest.mark.slow
def test_an_export_keeps_the_shares(typed: Typed, tmp_path: Path) -> None:
    session, _ = typed("14.6 Hz at 110", "205/55 R16", "", "q")
    with Journal.open(tmp_path / "jobs.sqlite") as journal:
        text = export(journal, "job-1")
    with Journal.open(tmp_path / "other.sqlite") as other:
        again = Session(LIBRARY, other, import_text(other, text, "job.yaml"))
        assert seen(again) == seen(session)


def test_every_method_is_of_a_shipped_finding_that_it_fits() -> None:
    for name, make in METHODS.items():
        assert make().fits(LIBRARY.findings[name])
