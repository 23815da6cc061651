"""Deleting a job and erasing what somebody said: gone from the bytes of the file, and everything else stays.

Names and words are invented (demo).
"""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.errors import JournalError
from diagnose.job import events as e
from diagnose.job.drives import drives_of, references_of
from diagnose.job.erase import ERASED, without_person
from diagnose.job.events import KINDS, Event
from diagnose.job.export import export
from diagnose.job.journal import Journal
from diagnose.job.sheets import sheets_of
from diagnose.job.state import fold
from tests.drives import DEMO as DRIVE
from tests.scripted import Tell, telling
from tests.sheets import DEMO as SHEET
from tests.shipped import LIBRARY

#: Stands wherever somebody may have typed it.
WHO = "Ysolde Quillfeather"

ACTS: list[Event] = [
    e.ComplaintHeard("wander", words=f"{WHO} says it weaves"),
    e.Distance(143_000.0, 11.0),
    e.Answered("ask-wheel-stays-put/stays-put", None, "yes"),
    e.Noted(f"call {WHO}"),
    e.AnglesRead(SHEET.replace("demo", WHO) + f"# {WHO} measured\n"),
    e.DriveTold(
        DRIVE.replace("who: A", f"who: {WHO}").replace("the glove box", f"{WHO}'s bag").replace("demo", WHO)
    ),
    e.ReferenceTold(DRIVE.replace("who: A", f"who: {WHO}")),
    e.Repaired(
        "renew-outer-tie-rod-end", "front-left", ("outer-tie-rod-end-play@front-left",), f"from {WHO}", 35.0
    ),
    e.FeltSince("wander", "no", words=f"{WHO} is glad"),
    e.Closed(f"paid by {WHO}"),
]


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """Two jobs in which the name stands everywhere."""
    path = tmp_path / "jobs.sqlite"
    with Journal.open(path) as journal:
        for _ in range(2):
            job = journal.create(f"car of {WHO}")
            for act in ACTS:
                journal.append(job, act)
    return path


def test_a_deleted_job_is_gone_from_every_byte_and_its_number_with_it(store: Path) -> None:
    with Journal.open(store) as journal:
        other = export(journal, "job-2")
        journal.delete("job-1")
        assert [row.id for row in journal.jobs()] == ["job-2"]
        assert export(journal, "job-2") == other
        journal.delete("job-2")
        assert WHO.encode() not in store.read_bytes()
        assert sorted(each.name for each in store.parent.iterdir()) == [store.name]
        assert journal.create("another (demo)") == "job-3"


def test_the_file_still_refuses_to_have_events_changed(store: Path) -> None:
    with Journal.open(store) as journal:
        journal.delete("job-1")
        journal.rewrite("job-2", "job-2", lambda event: without_person(LIBRARY, event, "job-2"))
    database = sqlite3.connect(store)
    for act in ("DELETE FROM event", "UPDATE event SET body = '{}'"):
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            database.execute(act)
    database.close()


def test_a_job_that_cannot_be_read_can_be_deleted(store: Path) -> None:
    database = sqlite3.connect(store)
    database.execute("DROP TRIGGER event_is_final")
    database.execute("UPDATE event SET body = '{' WHERE job = 1 AND number = 2")
    database.execute(
        "CREATE TRIGGER event_is_final BEFORE UPDATE ON event "
        "BEGIN SELECT RAISE (ABORT, 'events are never changed'); END"
    )
    database.commit()
    database.close()
    with Journal.open(store) as journal:
        with pytest.raises(JournalError, match="event 2 cannot be read"):
            journal.rewrite("job-1", "job-1", lambda event: event)
        journal.delete("job-1")
        assert [row.id for row in journal.jobs()] == ["job-2"]


def test_what_was_said_goes_and_what_was_seen_and_done_stays(store: Path) -> None:
    with Journal.open(store) as journal:
        before = journal.events("job-2")
        for job in ("job-1", "job-2"):
            assert journal.rewrite(job, job, lambda event: without_person(LIBRARY, event, "a car")) == 9
        assert WHO.encode() not in store.read_bytes()
        after = journal.events("job-2")
        assert journal.name("job-2") == "job-2"
        assert [(x.step, x.time, x.event.kind) for x in after] == [
            (x.step, x.time, x.event.kind) for x in before
        ]
        old, new = fold(before), fold(after)
    assert (new.answers, new.vehicle.km, new.done) == (old.answers, old.vehicle.km, old.done)
    assert [each.complaint for each in new.complaints] == ["wander"]
    assert new.rounds[0].repairs == (replace(old.rounds[0].repairs[0], grade=""),)
    assert new.rounds[0].complaints[0].road_test == "no"
    assert (new.notes, new.closed) == ((ERASED,), "closed")
    # The measured values, the legs and the ratings are what they were.
    one, other = sheets_of(old.angles), sheets_of(new.angles)
    assert dict(other.latest.values()) == pytest.approx(dict(one.latest.values()))
    ((_, drive),) = drives_of(LIBRARY, new)
    ((_, told),) = drives_of(LIBRARY, old)
    assert [(i.complaint, i.rating) for _, i in drive.impressions()] == [
        (i.complaint, i.rating) for _, i in told.impressions()
    ]
    assert (drive.who, drive.car, drive.km, drive.road) == ("", "", told.km, told.road)
    assert references_of(LIBRARY, new)["good-car"].who == ""


def test_every_kind_of_event_with_free_words_is_thought_of() -> None:
    """A new kind of event that takes words must be cleaned too, or be named here as having none."""
    answers = {"answered", "turned", "check-done", "skipped", "cannot", "undone"}
    car = {"vehicle-fact", "distance", "condition-known", "part-renewed"}
    work = {"followed-up", "planned", "concluded", "unfit"}  # `unfit` holds the program's own words
    plain = answers | car | work
    cleaned = {act.kind for act in ACTS} - {"distance", "answered"} | {"opened"}
    assert set(KINDS) == plain | cleaned


# The commands -----------------------------------------------------------------------------------------


@pytest.fixture
def jobs(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: Path) -> Tell:
    tell = telling("jobs", capsys, monkeypatch)

    def call(*arguments: str, text: str = "") -> tuple[int, str, str]:
        return tell(*arguments, "--store", store, text=text)

    return call


@pytest.mark.parametrize("typed", ["", "\n", "y\n", "job-2\n"])
@pytest.mark.parametrize("act", ["delete", "erase-person"])
def test_nothing_goes_without_its_id_typed(jobs: Tell, store: Path, act: str, typed: str) -> None:
    before = store.read_bytes()
    code, out, err = jobs(act, "job-1", text=typed)
    assert code == 2
    assert "This cannot be undone. Type job-1 >" in out or typed == ""
    assert err == "diagnose: nothing was changed: type the id as it is asked for, or give --yes\n"
    assert store.read_bytes() == before


def test_deleting_by_typing_the_id_or_by_yes(jobs: Tell, store: Path) -> None:
    code, out, err = jobs("delete", "job-1", text="job-1\n")
    assert (code, err) == (0, "")
    assert f"Deletes for good: job-1 (car of {WHO})." in out
    assert "Deleted: job-1. Exports, backups and printed sheets are yours to find.\n" in out
    code, _, err = jobs("delete", "job-2", "job-9", "--yes")
    assert code == 2
    assert "there is no job 'job-9'" in err
    # All of them are there, or none goes.
    assert jobs("delete", "job-2", "--yes")[0] == 0
    assert WHO.encode() not in store.read_bytes()


@pytest.mark.slow
def test_erasing_a_person(jobs: Tell, store: Path) -> None:
    for job in ("job-1", "job-2"):
        code, out, _ = jobs("erase-person", job, "--yes")
        assert (code, out.startswith(f"Erased in {job}: 9 events changed.")) == (0, True)
    assert WHO.encode() not in store.read_bytes()
    assert WHO not in jobs("export", "job-1")[1]
    assert jobs("show", "job-1")[0] == 0
    assert jobs("erase-person", "job-1", "--yes")[1].startswith("Erased in job-1: 0 events changed.")


def test_a_drive_that_cannot_be_read_is_told_and_nothing_is_changed(jobs: Tell, store: Path) -> None:
    with Journal.open(store) as journal:
        journal.append("job-1", e.DriveTold("debrief: 99"))
    before = store.read_bytes()
    code, _, err = jobs("erase-person", "job-1", "--yes")
    assert code == 2
    assert "so nothing was erased; `diagnose jobs delete job-1` takes out the whole job" in err
    assert store.read_bytes() == before
