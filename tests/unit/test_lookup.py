"""The glances kept beside the jobs: never out of date whoever writes, and never needed.

What they must equal is every job read anew (`overviews`), as they were before anything was kept.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.job import events as e
from diagnose.job import lookup
from diagnose.job.events import Event
from diagnose.job.journal import Journal
from diagnose.job.lookup import Wanted, look_up
from diagnose.job.overview import overviews
from diagnose.model.library import Library
from tests.unit.test_overview import ENDS, HEARD, JOBS, LIBRARY, RENEWED

ACTS: dict[str, Callable[[Journal], object]] = {
    "a note": lambda journal: journal.append("job-2", e.Noted("x")),
    "a complaint": lambda journal: journal.append("job-2", e.ComplaintHeard("pull", "left", "tugs too")),
    "an undo": lambda journal: journal.append("job-1", e.Undone(1)),
    "a repair": lambda journal: journal.append("job-1", RENEWED),
    "closed": lambda journal: journal.append("job-3", e.Closed("sold")),
    "a name": lambda journal: journal.rename("job-2", "post car (demo)"),
    "words erased": lambda journal: journal.rewrite("job-2", "job-2", _wordless),
    "a job gone": lambda journal: journal.delete("job-3"),
    "one more": lambda journal: journal.create("barrow (demo)", steps=[[HEARD]]),
    "nothing": lambda journal: None,
}


def _wordless(event: Event) -> Event:
    return replace(event, words="") if isinstance(event, e.ComplaintHeard) else event


@pytest.fixture
def store(tmp_path: Path) -> Path:
    path = tmp_path / "jobs.sqlite"
    with Journal.open(path) as journal:
        for name, events in JOBS.items():
            job = journal.create(name, workshop={"currency": "cu", "labour-rate": 60.0})
            for event in events:
                journal.append(job, event)
    return path


def read_anew(journal: Journal, library: Library = LIBRARY) -> list[object]:
    rows = overviews(library, journal)
    return [*sorted(rows, key=lambda row: (row.last, int(row.id[4:])), reverse=True)]  # type: ignore[arg-type]


@pytest.mark.parametrize("act", ACTS.values(), ids=list(ACTS))
def test_a_glance_is_never_out_of_date(store: Path, act: Callable[[Journal], object]) -> None:
    with Journal.open(store) as journal, Journal.open(store) as other:
        before = look_up(LIBRARY, journal, Wanted())
        assert [*before.rows] == read_anew(journal)
        act(other)  # another terminal
        after = look_up(LIBRARY, journal, Wanted())
        assert [*after.rows] == read_anew(journal)
        assert (after.rows == before.rows) is (act is ACTS["nothing"])
        assert after.of == after.meant == len(after.rows)


def test_only_what_was_touched_is_read_again(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []
    monkeypatch.setattr(
        "diagnose.job.overview.overviews", lambda *all_: asked.append(all_[2]) or overviews(*all_)
    )
    with Journal.open(store) as journal:
        look_up(LIBRARY, journal, Wanted())
        journal.append("job-4", e.Noted("x"))
        look_up(LIBRARY, journal, Wanted())
        look_up(LIBRARY, journal, Wanted(complaint="wander"), 2)
    assert asked == [[1, 2, 3, 4, 5], [4]]


def test_a_program_that_knows_no_glances_may_write_too(store: Path) -> None:
    """One of before: the file itself takes away what is no longer so."""
    with Journal.open(store) as journal:
        look_up(LIBRARY, journal, Wanted())
        with closing(sqlite3.connect(store)) as other:
            row = (3, 6, 6, "2027-01-01T00:00:00.000Z", "closed", '{"outcome": "by hand"}')
            other.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?)", row)
            other.execute("UPDATE job SET name = 'by hand' WHERE number = 4")
            other.commit()
        assert [*look_up(LIBRARY, journal, Wanted()).rows] == read_anew(journal)
        (first,) = look_up(LIBRARY, journal, Wanted(), 1).rows
        assert (first.id, first.closed) == ("job-3", "by hand")


def test_a_store_that_cannot_be_written_is_looked_up_all_the_same(store: Path) -> None:
    with Journal.open(store, wait=0.05) as journal, closing(sqlite3.connect(store)) as other:
        kept = look_up(LIBRARY, journal, Wanted())
        other.execute("DELETE FROM glance WHERE job IN (2, 5)")
        other.commit()
        before = store.read_bytes()
        other.execute("BEGIN IMMEDIATE")  # writing, and not done yet
        assert look_up(LIBRARY, journal, Wanted()) == kept
        # Another look, with another question, has nothing left over from this one.
        assert [row.id for row in look_up(LIBRARY, journal, Wanted(closed=False)).rows] == [
            "job-5",
            "job-3",
            "job-2",
        ]
        assert store.read_bytes() == before


def test_other_trees_or_another_format_look_anew(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is owed, and which part a fault is of, hang on the trees."""
    follow = {**LIBRARY.remedies, "renew-rod-end": replace(LIBRARY.remedies["renew-rod-end"], follow_ups=())}
    other = replace(LIBRARY, remedies=follow, digest="another")
    with Journal.open(store) as journal:
        assert look_up(LIBRARY, journal, Wanted(owed=True)).meant == 2
        assert look_up(other, journal, Wanted(owed=True)).meant == 0
        assert [*look_up(other, journal, Wanted()).rows] == read_anew(journal, other)
        assert look_up(LIBRARY, journal, Wanted(owed=True)).meant == 2
        with closing(sqlite3.connect(store)) as database:
            database.execute("UPDATE glance SET state = 1")
            database.commit()
        assert look_up(LIBRARY, journal, Wanted(closed=True)).meant == 5
        monkeypatch.setattr(lookup, "FORMAT", lookup.FORMAT + 1)
        assert look_up(LIBRARY, journal, Wanted(closed=True)).meant == 2


def test_words_erased_and_jobs_deleted_leave_no_glance_behind(store: Path) -> None:
    with Journal.open(store) as journal:
        look_up(LIBRARY, journal, Wanted())
        assert store.read_bytes().count(b"weaves on the ridge road") > 4
        for number in (1, 2, 3):
            journal.rewrite(f"job-{number}", f"job-{number}", _wordless)
        journal.delete("job-4")
        journal.rewrite("job-5", "job-5", _wordless)
        for words in (b"ridge", b"ferry van", b"mail car", b"tugs", b"sledge"):
            found = store.read_bytes().count(words)
            # The name at the opening stays in its event here: only `_wordless` was asked for.
            assert found == (words in (b"ferry van", b"mail car")), words


def test_ids_are_looked_for_whole(store: Path) -> None:
    with Journal.open(store) as journal:
        assert look_up(LIBRARY, journal, Wanted(complaint="pull")).meant == 1
        assert look_up(LIBRARY, journal, Wanted(complaint="pul")).meant == 0
        assert look_up(LIBRARY, journal, Wanted(cause=ENDS[0].partition("@")[0][:-1])).meant == 0
        assert look_up(LIBRARY, journal, Wanted(car=("%", "_"))).meant == 0


@pytest.mark.parametrize("batch", [500, 1])
def test_the_last_job_is_the_journals_own(store: Path, monkeypatch: pytest.MonkeyPatch, batch: int) -> None:
    """Where many jobs were never looked at the journal is asked itself."""
    monkeypatch.setattr(lookup, "BATCH", batch)
    with Journal.open(store) as journal:
        assert lookup.unseen(LIBRARY, journal) == 5
        for act in (*ACTS.values(), lambda journal: journal.append("job-5", e.Closed("cured"))):
            assert lookup.last_open(LIBRARY, journal) == journal.last_open()
            assert lookup.last_told(LIBRARY, journal) == journal.last_told()
            act(journal)


def test_jobs_are_looked_at_in_small_parts(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lookup, "BATCH", 2)
    with Journal.open(store) as journal:
        assert [*look_up(LIBRARY, journal, Wanted()).rows] == read_anew(journal)
