"""The jobs of a shop at a glance: the same as the fold says, the filters, the figures, and what is broken.

Jobs are invented (demo); the figures expected are counted by hand.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from diagnose.job import events as e
from diagnose.job.events import Event
from diagnose.job.glance import Overview
from diagnose.job.journal import Journal
from diagnose.job.lookup import Wanted, look_up
from diagnose.job.overview import overviews
from diagnose.job.repairs import obligations
from diagnose.job.session import spent_minutes
from diagnose.job.shop import report
from diagnose.job.state import fold
from tests.scripted import Tell, telling
from tests.small_trees import SMALL, compiled

LIBRARY = compiled(SMALL)[0].library
SIDES = ("front-left", "front-right")
START = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)

HEARD = e.ComplaintHeard("wander", None, "weaves on the ridge road")
GONE = e.ComplaintHeard("wander", answer="no", by="road-test")
STILL = e.ComplaintHeard("wander", answer="yes", by="road-test")
ASKED = e.CheckDone("ask-tyres")
ROCKED = e.CheckDone("rock-the-steering")
PUMPED = e.Repaired("pump-up", "car", ("tyres-soft@front", "tyres-soft@rear"))
ENDS = ("rod-end-play@front-left", "rod-end-tight@front-left")
RENEWED = e.Repaired("renew-rod-end", "front-left", ENDS, price=40.0, hours=1.0)
RIGHT = e.Repaired("renew-rod-end", "front-right", ("rod-end-play@front-right",), price=35.0)

#: Jobs, step by step: what each comes to is in the tests.
JOBS: dict[str, list[Event]] = {
    "ferry van (demo)": [HEARD, e.VehicleFact("steering", "rack"), ASKED, PUMPED, GONE, e.Closed("cured")],
    "mail car (demo)": [HEARD, ASKED, ROCKED, RIGHT, STILL, RENEWED, e.FollowedUp("toe"), GONE],
    "bread van (demo)": [HEARD, e.Closed("sold"), e.Undone(1), e.Concluded(("pump-up",))],
    "sledge (demo)": [e.ComplaintHeard("pull", "left", "tugs"), RENEWED, e.Closed("driver left")],
    "gone on (demo)": [HEARD, PUMPED, GONE, e.Closed("cured"), RENEWED],
}


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """The jobs above, begun a day apart."""
    path = tmp_path / "jobs.sqlite"
    now = [START]
    with Journal.open(path, clock=lambda: now[0]) as journal:
        for number, (name, events) in enumerate(JOBS.items()):
            now[0] = START + timedelta(days=number)
            job = journal.create(name, workshop={"currency": "cu", "labour-rate": 60.0})
            for event in events:
                journal.append(job, event)
    return path


@pytest.fixture
def rows(store: Path) -> list[Overview]:
    with Journal.open(store) as journal:
        return overviews(LIBRARY, journal)


def test_a_glance_says_what_the_whole_fold_says(store: Path, rows: list[Overview]) -> None:
    with Journal.open(store) as journal:
        listed = journal.jobs()
        for row, other in zip(rows, listed, strict=True):
            state = fold(journal.events(row.id))
            assert (row.id, row.name, row.opened, row.last, row.events, row.closed) == (
                other.id,
                other.name,
                other.opened,
                other.last,
                other.events,
                state.closed,
            )
            assert row.complaints == tuple(each.complaint for each in state.complaints)
            assert row.minutes == spent_minutes(LIBRARY, state)
            assert row.owed == tuple(each.id for each in obligations(LIBRARY, state))
            works = [f"{r.remedy}@{r.place}" for one in state.rounds for r in one.repairs]
            assert [each.work for each in row.repairs] == works
    assert [row.closed for row in rows] == ["cured", None, None, "driver left", None]


def test_cures_and_money_are_those_told(rows: list[Overview]) -> None:
    ferry, mail, bread, sledge, on = rows
    assert (ferry.cured, ferry.at_once, ferry.causes) == (True, True, ("tyres-soft",))
    assert (mail.cured, mail.at_once, mail.causes) == (True, False, ("rod-end-play", "rod-end-tight"))
    assert [each.gone for each in mail.repairs] == [False, True]
    assert (bread.cured, bread.concluded, bread.repairs) == (False, ("pump-up",), ())
    # Nobody drove the sledge since, nor the car that a repair was done to after it was closed.
    assert [(each.cured, [r.gone for r in each.repairs]) for each in (sledge, on)] == [
        (False, [None]),
        (False, [True, None]),
    ]
    # 40 for the part and an hour at 60; where nothing was told there is nothing.
    assert [row.spent for row in rows] == [None, 135.0, None, 100.0, 100.0]


@pytest.mark.parametrize(
    ("wanted", "numbers"),
    [
        (Wanted(), [1, 2, 3, 4, 5]),
        (Wanted(complaint="pull"), [4]),
        (Wanted(cause="tyres-soft"), [1, 5]),
        (Wanted(cause="tyres"), [1, 5]),
        (Wanted(cause="pump-up"), [1, 3, 5]),
        (Wanted(cause="rod-end"), [2, 4, 5]),
        (Wanted(car=("VAN", "ridge")), [1, 3]),
        (Wanted(car=("a", "rack")), [1]),
        (Wanted(owed=True), [4, 5]),
        (Wanted(closed=True), [1, 4]),
        (Wanted(closed=False), [2, 3, 5]),
        (Wanted(since=date(2026, 5, 6)), [3, 4, 5]),
        (Wanted(since=date(2026, 5, 5), until=date(2026, 5, 6)), [2, 3]),
        (Wanted(complaint="wander", closed=True, owed=True), []),
    ],
)
def test_filters(store: Path, rows: list[Overview], wanted: Wanted, numbers: list[int]) -> None:
    with Journal.open(store) as journal:
        found = look_up(LIBRARY, journal, wanted)
        assert [row.id for row in found.rows] == [f"job-{n}" for n in reversed(numbers)]
        assert (found.meant, found.of) == (len(numbers), 5)
        # What is kept beside the jobs is all that was seen of them, and the last come first.
        assert found.rows == tuple(rows[n - 1] for n in reversed(numbers))
        assert look_up(LIBRARY, journal, wanted, 1).rows == found.rows[:1]


def test_the_figures_of_the_shop(rows: list[Overview]) -> None:
    whole, wander, pull = report(LIBRARY, rows)
    assert (whole.jobs, whole.closed, whole.cured, whole.at_once, whole.driven) == (5, 2, 2, 1, 3)
    assert (wander.complaint, wander.jobs, wander.cured) == ("wander", 4, 2)
    assert (pull.complaint, pull.jobs, pull.cured, pull.minutes) == ("pull", 1, 0, None)
    assert wander.causes == (("rod-end-play", 1), ("rod-end-tight", 1), ("tyres-soft", 1))
    # Of the remedies with parts one was in vain; setting pressures fits none.
    assert (wander.fitted, wander.vain, wander.vain_money) == (3, 1, (("cu", 35.0),))
    # The median of half a minute of asking, and of asking and rocking (5 min, 2 to get there).
    assert wander.minutes == (0.5 + 7.5) / 2


def test_a_job_that_cannot_be_read_hides_no_other(store: Path) -> None:
    database = sqlite3.connect(store)
    database.execute("DROP TRIGGER event_is_final")
    database.execute("UPDATE event SET body = '{\"what\": 3' WHERE job = 2 AND kind = 'followed-up'")
    database.execute("UPDATE event SET kind = 'from-the-future' WHERE job = 3 AND kind = 'concluded'")
    database.commit()
    database.close()
    with Journal.open(store) as journal:
        rows = overviews(LIBRARY, journal)
        every, still = (look_up(LIBRARY, journal, each).rows for each in (Wanted(), Wanted(closed=False)))
    assert [row.unreadable for row in rows] == [
        "",
        "event 8 cannot be read",
        "event 5 cannot be read",
        "",
        "",
    ]
    assert {row.id for row in every} == {f"job-{n}" for n in range(1, 6)}
    assert [row.id for row in still] == ["job-5"]
    assert report(LIBRARY, rows)[0].jobs == 3


def test_a_list_decodes_each_text_once_and_most_not_at_all(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that a store of thousands of jobs is listed in a second or two (tests/benchmarks/shelf.py)."""
    decoded: list[str] = []
    made = Event.from_dict
    monkeypatch.setattr(Event, "from_dict", lambda data: decoded.append(str(data)) or made(data))
    with Journal.open(store) as journal:
        for number in range(30):
            job = journal.create(f"copy {number} (demo)")
            journal.append(job, HEARD)
            journal.append(job, *(e.Answered("rock-the-steering/end-moves", p, "no") for p in SIDES))
            journal.append(job, ROCKED)
            journal.append(job, e.Noted(f"note {number}"))
        overviews(LIBRARY, journal)
    assert len(decoded) == len(set(decoded))
    assert not any("end-moves" in each or "note " in each for each in decoded)


# The command ------------------------------------------------------------------------------------------


@pytest.fixture
def jobs(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: Path) -> Tell:
    tell = telling("jobs", capsys, monkeypatch)

    def call(*arguments: str, store: Path = store) -> tuple[int, str, str]:
        return tell(*arguments, "--store", store)

    return call


def test_the_list_and_its_filters_at_80_columns(jobs: Callable[..., tuple[int, str, str]]) -> None:
    code, out, err = jobs("--cause", "pump-up", "--open")
    assert (code, err) == (0, "")
    assert all(len(line) <= 80 for line in out.splitlines())
    assert "job-5" in out and "job-3" in out and "job-1 " not in out
    assert "2 of 5 jobs" in out
    code, out, _ = jobs("--car", "nothing like it")
    assert (code, out) == (0, "None of 5 jobs is meant: ask for less, or for others.\n")


def test_a_first_look_at_very_many_jobs_is_announced(
    jobs: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("diagnose.commands.jobs.MANY", 4)
    assert jobs("--json")[2] == "Looks through 5 jobs, once: lists are quick afterwards.\n"
    assert jobs("--json")[2] == ""


def test_the_list_as_json(jobs: Callable[..., tuple[int, str, str]]) -> None:
    code, out, _ = jobs("--json", "--closed")
    found = json.loads(out)
    assert (code, found["format"]) == (0, "handling-diagnose/jobs/1")
    assert [(row["id"], row["causes"], row["spent"], row["unreadable"]) for row in found["jobs"]] == [
        ("job-1", ["tyres-soft"], None, None),
        ("job-4", [], 100.0, None),
    ]


def test_the_last_ones_alone(jobs: Callable[..., tuple[int, str, str]]) -> None:
    code, out, _ = jobs("--last", "2")
    assert code == 0
    assert [line.split()[0] for line in out.splitlines()[1:3]] == ["job-5", "job-4"]
    assert "The last 2 of 5 are listed; --last 5 lists them all." in out
    assert [row["id"] for row in json.loads(jobs("--last", "2", "--json")[1])["jobs"]] == ["job-4", "job-5"]
    code, _, err = jobs("--last", "-1")
    assert (code, "'-1' is not a number of jobs: write a whole number from 1" in err) == (2, True)


def test_the_report_takes_filters_before_and_behind_its_name(
    jobs: Callable[..., tuple[int, str, str]],
) -> None:
    for arguments in (
        ("report", "--open", "--json"),
        ("--open", "report", "--json"),
        ("--json", "--open", "report"),
    ):
        found = json.loads(jobs(*arguments)[1])
        assert found["format"] == "handling-diagnose/shop/1"
        assert found["whole"]["jobs"] == 3
    code, out, _ = jobs("report")
    assert code == 0
    assert all(len(line) <= 80 for line in out.splitlines())
    assert "Parts fitted in vain, as told: 35 cu." in out


def test_an_empty_shop_says_so(jobs: Callable[..., tuple[int, str, str]], tmp_path: Path) -> None:
    empty = tmp_path / "none" / "jobs.sqlite"
    assert jobs(store=empty) == (0, "No jobs yet. `diagnose walk` begins one.\n", "")
    assert jobs("report", store=empty)[1] == "No jobs to report on. `diagnose walk` begins one.\n"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--complaint", "wandr"), "diagnose: --complaint wandr: there is no such id; did you mean"),
        (("--cause", "gremlins"), "diagnose: --cause gremlins: there is no such id; "),
        (("--since", "4.5.2026"), "'4.5.2026' is not a day: write year, month and day, such as 2026-05-04"),
        (
            ("--since", "2026-05-05", "--until", "2026-05-04"),
            "--since 2026-05-05 is after --until 2026-05-04",
        ),
        (("--open", "--closed"), "not allowed with argument"),
    ],
)
def test_mistakes_are_told(
    jobs: Callable[..., tuple[int, str, str]], arguments: tuple[str, ...], told: str
) -> None:
    code, out, err = jobs(*arguments)
    assert (code, out) == (2, "")
    assert told in err
