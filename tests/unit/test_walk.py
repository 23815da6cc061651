"""The walk on small trees: what is missing is told for this job or for good, and no line is misread.

The walk as it looks, on the shipped trees, is in tests/terminal.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.profile import profile_path, read_profile, write_profile
from diagnose.job.session import Session
from diagnose.model.story import Workshop
from diagnose.screen.choosing import Stop
from diagnose.screen.desk import PipeDesk
from diagnose.screen.walk import walk
from tests.small_trees import SMALL, compiled

LIBRARY = compiled(SMALL)[0].library
ROCK = "o rock-the-steering"  # on the ground, with a helper

#: A journal's path, and the lines typed -> the session afterwards, and what was shown.
Typed = Callable[..., tuple[Session, str]]


@pytest.fixture
def store(tmp_path: Path) -> Path:
    return tmp_path / "jobs.sqlite"


@pytest.fixture
def typed(store: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Typed:
    """A new job on which these lines are typed, once the questions about the car are over."""
    monkeypatch.setenv("COLUMNS", "80")

    def type_(*lines: str) -> tuple[Session, str]:
        heard = e.ComplaintHeard.from_dict({"event": "complaint-heard", "complaint": "wander"})
        facts = [e.VehicleFact("steering", "rack"), e.Distance(None, None)]
        asked = e.ConditionKnown("rough-roads", None)
        with Journal.open(store) as journal:
            session = Session.start(LIBRARY, journal, "demo car", Workshop(), [[heard], facts, [asked]])
            with pytest.raises((Stop, EOFError)):
                walk(PipeDesk(io.StringIO("".join(f"{line}\n" for line in lines))), session)
            return session, capsys.readouterr().out

    return type_


def test_for_this_job_only_is_what_a_number_means(typed: Typed, store: Path) -> None:
    session, out = typed(ROCK, "x", "3", "q")
    assert "  1 just this check\n  2 no: on the ground\n  3 no: a helper\n" in out
    assert "what is missing? 1-3 for this job only, 2a-3a always here; Enter: 1 > 3\n" in out
    assert session.state.cannot == ("helper",)
    assert not profile_path(store).exists()


def test_a_place_that_is_a_tool_too_is_offered_once(typed: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a test lane is both."""
    check = LIBRARY.checks["rock-the-steering"]
    checks = {**LIBRARY.checks, check.id: replace(check, needs=(check.set_up, *check.needs))}
    tools = {**LIBRARY.tools, check.set_up: "a level floor"}
    monkeypatch.setattr("tests.unit.test_walk.LIBRARY", replace(LIBRARY, checks=checks, tools=tools))
    session, out = typed(ROCK, "x", "2", "q")
    assert "  1 just this check\n  2 no: a level floor\n  3 no: a helper\n" in out
    assert "what is missing? 1-3 for this job only" in out
    assert session.state.cannot == ("ground",)


@pytest.mark.parametrize("lines", [("",), ("1",), ()], ids=["Enter", "1", "cut off"])
def test_just_this_check_is_the_default(typed: Typed, store: Path, lines: tuple[str, ...]) -> None:
    session, _ = typed(ROCK, "x", *lines)
    assert session.state.cannot == (("rock-the-steering",) if lines else ())
    assert not profile_path(store).exists()


@pytest.mark.parametrize("answer", ["3a", "3 A"])
def test_always_here_is_kept_for_the_job_and_for_the_workshop(typed: Typed, store: Path, answer: str) -> None:
    write_profile(profile_path(store), Workshop("EUR", 95.0, frozenset({"lift"})))
    session, out = typed(ROCK, "x", answer, "u")
    assert (
        "From now on not to be had here: a helper. `diagnose workshop --has helper` takes\nit back.\n" in out
    )
    # An undo takes it back for the job; what was told of the workshop stays told.
    assert session.state.cannot == ()
    kept = read_profile(LIBRARY, profile_path(store))
    assert kept == Workshop("EUR", 95.0, frozenset({"lift", "helper"}))


@pytest.mark.parametrize("answer", ["1a", "4", "a", "0", "y", "2a3"])
def test_what_is_not_in_the_list_keeps_nothing(typed: Typed, store: Path, answer: str) -> None:
    session, out = typed(ROCK, "x", answer, "q")
    assert f"'{answer}' is not in the list (1-3, 2a-3a); nothing was kept\n" in out
    assert session.state.cannot == ()
    assert not profile_path(store).exists()


def test_a_driver_who_is_not_here_is_no_lack_of_the_workshop(typed: Typed, store: Path) -> None:
    session, out = typed("o ask-tyres", "x", "2a", "x", "2", "q")
    assert "what is missing? 1-2 for this job only; Enter: 1 > 2a\n" in out
    assert "'2a' is not in the list (1-2); nothing was kept\n" in out
    assert session.state.cannot == ("talk",)
    assert not profile_path(store).exists()


def test_what_the_profile_cannot_keep_counts_for_the_job(typed: Typed, store: Path) -> None:
    file = profile_path(store)
    file.write_text("workshop: 1\nlacks: [helpr]\n", encoding="utf-8")
    session, out = typed(ROCK, "x", "2a", "q")
    assert "It counts for this job; for the workshop it could not be kept:\n" in out
    # Where the lines end depends on how long the path of the folder is.
    told = "".join(out.split("could not be kept:")[1].split())
    assert "workshop.yaml:2:9: there is no set-up or tool 'helpr'".replace(" ", "") in told
    assert "mend: did you mean 'helper'?".replace(" ", "") in told
    assert session.state.cannot == ("ground",)
    assert file.read_text(encoding="utf-8") == "workshop: 1\nlacks: [helpr]\n"
