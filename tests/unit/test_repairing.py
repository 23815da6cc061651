"""A repair and the drives after it, told in the walk: short questions, each skipped with Enter."""

from __future__ import annotations

import contextlib
import io
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.errors import InputError
from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.model.story import Workshop
from diagnose.screen.choosing import Stop
from diagnose.screen.desk import PipeDesk
from diagnose.screen.repairing import read_cost, read_felt
from diagnose.screen.walk import walk
from tests.small_trees import compiled, edited

LIBRARY = compiled(
    edited(
        (
            "tables.yaml",
            "follow-ups:\n",
            "follow-ups:\n"
            "  - {id: four-wheel-alignment, name: set the angles, minutes: 40, parts: 0, source: estimate}\n"
            "  - {id: new-locking-nuts, name: new nuts, minutes: 0, parts: 8, source: estimate}\n"
            "  - {id: torque-at-ride-height, name: final torque, minutes: 10, parts: 0, source: estimate}\n",
        ),
        (
            "parts.yaml",
            "follow-ups: toe",
            "follow-ups: [four-wheel-alignment, new-locking-nuts, torque-at-ride-height]",
        ),
    )
)[0].library

#: The lines typed -> the session afterwards, and what was shown.
Typed = Callable[..., tuple[Session, str]]

END = "g renew-rod-end@front-left"


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Typed:
    """A job of its own, begun or gone on with, in which these lines are typed."""
    monkeypatch.setenv("COLUMNS", "80")
    store = tmp_path / "jobs.sqlite"

    def type_(*lines: str) -> tuple[Session, str]:
        with Journal.open(store) as journal:
            if journal.jobs():
                session = Session(LIBRARY, journal, "job-1")
            else:
                facts = [e.VehicleFact("steering", "rack"), e.Distance(90_000.0, None)]
                steps = [[e.ComplaintHeard("wander")], facts, [e.ConditionKnown("rough-roads", None)]]
                session = Session.start(LIBRARY, journal, "demo car", Workshop(), steps)
            with contextlib.suppress(Stop, EOFError):
                walk(PipeDesk(io.StringIO("".join(f"{line}\n" for line in lines))), session)
            return session, capsys.readouterr().out

    return type_


def test_everything_about_a_repair_can_be_told(typed: Typed) -> None:
    session, out = typed(END, "35, 0.7 h", "original, new", "y", "n", "y", "")
    (repair,) = session.state.rounds[0].repairs
    assert (repair.price, repair.hours, repair.grade) == (35.0, 0.7, "original, new")
    assert (repair.one_use, repair.at_height, repair.angles_set) == (True, False, True)
    assert "Still to be done: final torque." in out
    assert max(map(len, out.splitlines())) <= 80


def test_and_everything_skipped(typed: Typed) -> None:
    session, _ = typed(END, "", "", "", "", "", "")
    (repair,) = session.state.rounds[0].repairs
    assert (repair.price, repair.hours, repair.grade) == (None, None, "")
    assert (repair.one_use, repair.at_height, repair.angles_set) == (None, None, None)
    # It is one step: one undo takes it back.
    session, _ = typed("", "u")
    assert session.state.rounds == ()


def test_only_what_the_repair_obliges_to_is_asked(typed: Typed) -> None:
    _, out = typed("g pump-up", "", "", "")
    assert "one-use" not in out
    assert "ride height" not in out
    assert "Wheel angles" not in out


def test_work_that_is_owed_is_told_by_its_number(typed: Typed) -> None:
    typed(END, "", "", "", "", "", "")
    session, out = typed("", "g")
    listed = [line for line in out.splitlines() if "still to be done:" in line]
    assert len(listed) == 3
    session, out = typed("", f"g {listed[0].split()[0]} torque-at-ride-height")
    assert "Still to be done: new nuts." in out
    assert [each.id for each in session.obligations] == ["new-locking-nuts"]
    # Nothing of it is a repair: no round begins.
    assert len(session.state.rounds) == 1


def test_a_slip_is_asked_again(typed: Typed) -> None:
    session, out = typed(END, "dear", "35", "", "perhaps", "y", "", "", "later", "y 5 parsecs", "n")
    assert "'dear' is neither money nor hours" in out
    assert "'perhaps': type y, n, or Enter." in out
    assert "'later': type y, f, p, c, m or n" in out
    assert "'5 parsecs' is not a time after the repair" in out
    assert session.state.rounds[0].repairs[0].one_use is True
    assert session.state.rounds[0].complaints[0].road_test == "no"


@pytest.mark.slow
def test_back_after_days_is_told_with_the_time(typed: Typed) -> None:
    """Closed as cured; resumed when it has come back, the job goes on."""
    session, out = typed(END, "35", "", "", "", "", "n", "")
    assert session.state.closed == "cured"
    assert "Cured for good: in" in out
    session, out = typed("y 5 days, 300 km")
    assert "job-1 was closed: cured." in out
    assert session.state.closed is None
    _, later = session.state.rounds
    assert (later.later, later.days, later.km) == (True, 5.0, 300.0)
    assert later.complaints[0].road_test == "yes"
    assert "was gone, and is back (5 days, 300 km after the repair)" in " ".join(out.split())
    # An earlier time than the last one told is refused, a later one is another observation.
    session, out = typed("g d", "y 2 days", "f 9 days")
    assert "2 days after the repair lie before the 5 days told of last" in " ".join(out.split())
    assert [each.days for each in session.state.rounds] == [None, 5.0, 9.0]
    assert session.state.rounds[2].complaints[0].road_test == "faded"


def test_a_job_that_was_repaired_can_be_closed_as_cured_at_its_end(typed: Typed) -> None:
    session, out = typed(END, "", "", "", "", "", "n", "o", "e", "c")
    assert "[c] close as cured" in out
    assert session.state.closed == "cured"


def test_a_closed_job_without_news_stays_closed(typed: Typed) -> None:
    typed(END, "", "", "", "", "", "n", "")
    session, _ = typed("")
    assert session.state.closed == "cured"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("n", ("no", None, None)),
        ("faded", ("faded", None, None)),
        ("Y 5 days", ("yes", 5.0, None)),
        ("n 2 weeks, 800 km", ("no", 14.0, 800.0)),
        ("p after 1,5 months and 100 miles", ("probably", 45.0, pytest.approx(160.9344))),
    ],
)
def test_how_it_drives_is_read(text: str, expected: tuple[str, float | None, float | None]) -> None:
    assert read_felt(text) == expected


@pytest.mark.parametrize("text", ["x", "y 0 days", "y days", "y 5", "n 5 days 3 parsecs"])
def test_what_cannot_be_read_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_felt(text)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("60", (60.0, None)),
        ("60, 0.8 h", (60.0, 0.8)),
        ("0,8h 60", (60.0, 0.8)),
        ("1.5 hours; 12,50", (12.5, 1.5)),
        ("0", (0.0, None)),
    ],
)
def test_what_parts_and_hours_cost(typed: str, meant: tuple[float | None, float | None]) -> None:
    assert read_cost(typed) == meant


@pytest.mark.parametrize(
    "typed", ["-60", "1e999", "1" * 400, "60 80", "2 h 3 h", "sixty 60", "60x", "60 min", "a60", "1000000000"]
)
def test_what_is_no_cost_is_asked_again(typed: str) -> None:
    with pytest.raises(InputError, match="is neither money nor hours: write 60"):
        read_cost(typed)


@pytest.mark.parametrize(
    "typed", ["y " + "1" * 400 + " km", "y 5 days 6 days", "n 2 weeks, 1 day", "y 1000000 km"]
)
def test_a_time_told_twice_or_out_of_reach_is_asked_again(typed: str) -> None:
    with pytest.raises(InputError, match="is not a time after the repair: write 5 days, 300 km, or both"):
        read_felt(typed)
