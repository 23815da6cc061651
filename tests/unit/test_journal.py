"""The store of jobs: what it keeps, what it refuses, and what it says when something is in its way."""

from __future__ import annotations

import os
import resource
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import platformdirs
import pytest

from diagnose.errors import JournalError
from diagnose.job.events import Closed, Entry, Noted, Opened, Turned, Undone
from diagnose.job.journal import JobRow, Journal, explain, parse_time, print_time, store_path

START = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


class Ticking:
    """A clock that a minute passes on at each look."""

    def __init__(self) -> None:
        self.time = START - timedelta(minutes=1)

    def __call__(self) -> datetime:
        self.time += timedelta(minutes=1)
        return self.time


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "jobs.sqlite"


@pytest.fixture
def journal(path: Path) -> Iterator[Journal]:
    with Journal.open(path, clock=Ticking()) as journal:
        yield journal


def at(minutes: int) -> datetime:
    return START + timedelta(minutes=minutes)


def test_a_job_is_kept_over_closing_and_opening(path: Path) -> None:
    with Journal.open(path, clock=Ticking()) as journal:
        job = journal.create("grey estate", library_digest="ab", program_version="0.1", workshop={"rate": 90})
        assert job == "job-1"
        assert journal.append(job, Turned("rock"), Noted("a")) == 2
        assert journal.append(job, Undone()) == 3
    with Journal.open(path) as journal:
        assert journal.events(job) == [
            Entry(1, at(0), Opened("grey estate", "ab", "0.1", {"rate": 90})),
            Entry(2, at(1), Turned("rock")),
            Entry(2, at(1), Noted("a")),
            Entry(3, at(2), Undone()),
        ]


def test_a_job_can_be_made_with_steps_at_once(journal: Journal) -> None:
    job = journal.create("a", steps=[[Turned("rock"), Noted("a")], [], [Noted("b")]])
    assert [(entry.step, entry.event) for entry in journal.events(job)] == [
        (1, Opened("a")),
        (2, Turned("rock")),
        (2, Noted("a")),
        (3, Noted("b")),
    ]


def test_jobs_do_not_mix(journal: Journal) -> None:
    first, second = journal.create("a"), journal.create("b")
    journal.append(second, Noted("for b"))
    journal.append(first, Noted("for a"))
    assert (first, second) == ("job-1", "job-2")
    assert [entry.event for entry in journal.events(first)] == [Opened("a"), Noted("for a")]
    assert [entry.event for entry in journal.events(second)] == [Opened("b"), Noted("for b")]


def test_the_list_of_jobs(journal: Journal) -> None:
    assert journal.jobs() == []
    assert journal.last_open() is None
    assert journal.last_told() is None
    first, second = journal.create("a"), journal.create("b")  # minutes 0, 1
    journal.append(second, Closed("cured"))  # 2
    journal.append(first, Closed("given up"))  # 3
    journal.append(first, Undone())  # 4
    assert journal.jobs() == [
        JobRow("job-1", "a", opened=at(0), last=at(4), events=3, closed=None),
        JobRow("job-2", "b", opened=at(1), last=at(2), events=2, closed="cured"),
    ]


def test_the_last_open_job_is_the_one_written_to_last(journal: Journal) -> None:
    first, second, third = journal.create("a"), journal.create("b"), journal.create("c")
    assert journal.last_open() == third
    journal.append(first, Noted("x"))
    assert journal.last_open() == first
    journal.append(first, Closed("cured"))
    journal.append(third, Closed("cured"))
    assert journal.last_open() == second
    journal.append(second, Closed("cured"))
    assert (journal.last_open(), journal.last_told()) == (None, second)


def test_renaming_changes_the_list_and_no_event(journal: Journal) -> None:
    job = journal.create("a")
    journal.rename(job, "blue van")
    assert (journal.name(job), journal.jobs()[0].name) == ("blue van", "blue van")
    assert [entry.event for entry in journal.events(job)] == [Opened("a")]
    with pytest.raises(JournalError, match="one line of words"):
        journal.rename(job, " ")
    assert journal.name(job) == "blue van"


@pytest.mark.parametrize("job", ["job-9", "job-0", "job-", "9", "job-09", "job-" + "9" * 40, ""])
def test_an_unknown_job_is_named(journal: Journal, path: Path, job: str) -> None:
    journal.create("a")
    for ask in (journal.events, journal.name, lambda job: journal.append(job, Noted("x"))):
        with pytest.raises(JournalError) as caught:
            ask(job)
        assert str(caught.value) == f"{path}: there is no job {job!r}\n    mend: the latest jobs are job-1"
    assert len(journal.events("job-1")) == 1


def test_steps_that_cannot_be(journal: Journal) -> None:
    job = journal.create("a")
    for events, said in [
        ((), "job-1: a step without events\n    mend: give at least one event"),
        ((Opened("b"),), "job-1: the job is open already\n    mend: create another job"),
        ((Noted("x"), Undone()), "job-1: an undo among other events\n    mend: give it a step of its own"),
    ]:
        with pytest.raises(JournalError) as caught:
            journal.append(job, *events)
        assert str(caught.value) == said
    assert len(journal.events(job)) == 1


def test_a_job_out_of_order_is_not_adopted(journal: Journal) -> None:
    with pytest.raises(JournalError, match=r"^event 2: step 3 follows step 1\n"):
        journal.adopt("a", [Entry(1, START, Opened("a")), Entry(3, START, Noted("x"))])
    assert journal.jobs() == []


def test_a_step_that_fails_half_way_leaves_nothing(path: Path) -> None:
    with Journal.open(path) as journal, closing(sqlite3.connect(path)) as other:
        job = journal.create("a")
        other.execute(
            "CREATE TRIGGER stop BEFORE INSERT ON event WHEN new.number = 4 "
            "BEGIN SELECT RAISE (FAIL, 'no'); END"
        )
        with pytest.raises(sqlite3.IntegrityError):
            journal.append(job, Noted("2"), Noted("3"), Noted("4"))
        assert [entry.event for entry in journal.events(job)] == [Opened("a")]
        assert journal.append(job, Noted("2")) == 2


def test_the_file_lets_no_event_be_changed_or_deleted(journal: Journal, path: Path) -> None:
    journal.create("a")
    with closing(sqlite3.connect(path)) as other:
        with pytest.raises(sqlite3.IntegrityError, match="never changed"):
            other.execute("UPDATE event SET body = '{}'")
        with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
            other.execute("DELETE FROM event")


def test_the_file_is_marked_and_uses_no_side_files(journal: Journal, path: Path) -> None:
    journal.create("a")
    with closing(sqlite3.connect(path)) as other:
        marks = [
            other.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("application_id", "user_version", "journal_mode")
        ]
    assert marks == [int.from_bytes(b"DIAG"), 1, "delete"]
    assert [each.name for each in path.parent.iterdir()] == ["jobs.sqlite"]


def test_other_users_are_kept_out_of_a_new_store(tmp_path: Path) -> None:
    """POSIX file modes; a usual mask would let everybody read."""
    mask = os.umask(0o022)
    try:
        with Journal.open(tmp_path / "new" / "jobs.sqlite") as journal:
            journal.create("a")
        assert (tmp_path / "new").stat().st_mode & 0o777 == 0o700
        assert (tmp_path / "new" / "jobs.sqlite").stat().st_mode & 0o777 == 0o600
        # One that somebody shares on purpose stays shared.
        (tmp_path / "new" / "jobs.sqlite").chmod(0o660)
        Journal.open(tmp_path / "new" / "jobs.sqlite").close()
        assert (tmp_path / "new" / "jobs.sqlite").stat().st_mode & 0o777 == 0o660
    finally:
        os.umask(mask)


def test_a_clock_that_jumps_back_loses_nothing(path: Path) -> None:
    times = iter([at(10), at(11), at(-600), at(-599), at(12)])
    with Journal.open(path, clock=lambda: next(times)) as journal:
        job = journal.create("a")
        for text in ("1", "2", "3", "4"):
            journal.append(job, Noted(text))
        kept = journal.events(job)
    assert [entry.event for entry in kept][1:] == [Noted(text) for text in ("1", "2", "3", "4")]
    assert [entry.time for entry in kept] == [at(10), at(11), at(-600), at(-599), at(12)]
    with Journal.open(path) as journal:
        assert journal.last_open() == job


def test_a_store_whose_file_goes_away_takes_no_answer_for_kept(path: Path) -> None:
    """What the store says is kept must be found by whoever opens it next."""
    with Journal.open(path) as journal:
        job = journal.create("a")
        path.rename(path.with_name("gone.sqlite"))
        with pytest.raises(JournalError, match="the store is not there any more: it was moved or deleted"):
            journal.append(job, Noted("x"))
        path.with_name("gone.sqlite").rename(path)
        assert journal.append(job, Noted("y")) == 2
    with Journal.open(path) as journal:
        assert [entry.event for entry in journal.events(job)] == [Opened("a"), Noted("y")]


# What is on the disk already


def test_an_empty_file_becomes_a_store(path: Path) -> None:
    path.touch()
    with Journal.open(path) as journal:
        assert journal.create("a") == "job-1"


def spoil(path: Path, *statements: str) -> bytes:
    """Do this to the file with plain SQLite; its bytes afterwards."""
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        for statement in statements:
            database.execute(statement)
    return path.read_bytes()


@pytest.mark.parametrize(
    ("version", "told"),
    [
        (
            2,
            "written by a newer version of this program (format 2; this version knows up to 1)\n"
            "    mend: update the program; the file has not been touched",
        ),
        (
            0,
            "written by a version of this program that is too old (format 0; this version knows 1 and up)\n"
            "    mend: export its jobs with the program that wrote it; the file has not been touched",
        ),
    ],
    ids=["newer", "older than the oldest known"],
)
def test_a_store_of_a_layout_not_known_is_refused_unharmed(path: Path, version: int, told: str) -> None:
    with Journal.open(path) as journal:
        journal.create("a")
    before = spoil(path, f"PRAGMA user_version = {version}")
    with pytest.raises(JournalError) as caught:
        Journal.open(path)
    assert str(caught.value) == f"{path}: {told}"
    assert path.read_bytes() == before


#: A layout that there may be one day, to try the way there: demo.
NEXT = {1: ("ALTER TABLE job ADD COLUMN colour TEXT", "UPDATE job SET colour = 'grey'")}


def test_an_older_store_is_brought_up_to_date_and_kept_beside(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.open(path, clock=Ticking()) as journal:
        job = journal.create("a", steps=[[Noted("x")]])
        told = journal.events(job)
    before = path.read_bytes()
    with monkeypatch.context() as patched:
        patched.setattr("diagnose.job.journal.STEPS", NEXT)
        patched.setattr("diagnose.job.journal.VERSION", 2)
        for _ in range(2):  # the second time there is nothing to do
            with Journal.open(path) as journal:
                assert journal.events(job) == told
        assert journal_marks(path) == (2, [("grey",)])
    with pytest.raises(JournalError, match="written by a newer version"):
        Journal.open(path)
    beside = path.with_name("jobs.sqlite.format-1")
    with Journal.open(beside) as journal:
        assert journal.events(job) == told
    assert len(beside.read_bytes()) == len(before)
    assert beside.stat().st_mode & 0o777 == 0o600


def journal_marks(path: Path) -> tuple[int, list[tuple[str]]]:
    with closing(sqlite3.connect(path)) as other:
        (version,) = other.execute("PRAGMA user_version").fetchone()
        return version, other.execute("SELECT colour FROM job").fetchall()


def test_a_way_to_a_new_layout_that_fails_leaves_the_store_as_it_was(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.open(path) as journal:
        journal.create("a")
    before = path.read_bytes()
    monkeypatch.setattr("diagnose.job.journal.STEPS", {1: (*NEXT[1], "INSERT INTO none VALUES (1)")})
    monkeypatch.setattr("diagnose.job.journal.VERSION", 2)
    with pytest.raises(JournalError):
        Journal.open(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "make",
    [
        lambda path: path.write_text("wander: yes\n" * 100),
        lambda path: path.write_bytes(b"\0" * 5000),
        lambda path: spoil(path, "CREATE TABLE other (x)"),
        lambda path: spoil(path, "CREATE TABLE other (x)", "PRAGMA application_id = 7"),
        lambda path: spoil(path, "CREATE TABLE other (x)", "PRAGMA user_version = 1"),
    ],
    ids=["text", "zeros", "unmarked database", "another program's database", "a version only"],
)
def test_a_file_that_is_not_ours_is_refused_unharmed(path: Path, make: object) -> None:
    assert callable(make)
    make(path)
    before = path.read_bytes()
    with pytest.raises(JournalError) as caught:
        Journal.open(path)
    assert str(caught.value) == (
        f"{path}: this file is not a store of jobs\n"
        "    mend: name another with DIAGNOSE_STORE; this file has not been touched"
    )
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("(1, 2, 2, '2026-05-04T09:30:00Z', 'noted', '{')", "event 2 cannot be read: "),
        ("(1, 2, 2, '2026-05-04T09:30:00Z', 'noted', '[]')", "event 2 cannot be read: not the fields"),
        ("(1, 2, 2, '2026-05-04T09:30:00Z', 'sung', '{}')", "event 2 cannot be read: unknown event 'sung'"),
        ("(1, 2, 2, '2026-05-04T09:30:00', 'undone', '{}')", "event 2 cannot be read: time "),
        ("(1, 2, 3, '2026-05-04T09:30:00Z', 'undone', '{}')", "event 2 is out of order: step 3 "),
        ("(1, 3, 2, '2026-05-04T09:30:00Z', 'undone', '{}')", "event 2 is missing"),
    ],
)
def test_a_damaged_event_stops_the_reading_with_its_number(
    journal: Journal, path: Path, row: str, said: str
) -> None:
    journal.create("a")
    spoil(path, f"INSERT INTO event VALUES {row}")
    with pytest.raises(JournalError) as caught:
        journal.events("job-1")
    assert str(caught.value).startswith(f"{path}: job-1: {said}")
    assert str(caught.value).endswith(
        "    mend: if a newer version of the program wrote it, use that; else restore a copy, or "
        "save what can be read with `diagnose jobs rescue STORE FOLDER`"
    )


def test_a_damaged_file_is_told(journal: Journal, path: Path) -> None:
    for _ in range(50):
        journal.create("a" * 500)
    bytes_ = bytearray(path.read_bytes())
    bytes_[4096:] = os.urandom(len(bytes_) - 4096)
    path.write_bytes(bytes_)
    with pytest.raises(JournalError, match="the store is damaged"), Journal.open(path) as again:
        again.jobs()


# What stands in the way


@pytest.mark.slow
def test_a_locked_store_is_waited_for_and_then_told(path: Path) -> None:
    with Journal.open(path, wait=0.2) as journal, closing(sqlite3.connect(path)) as other:
        job = journal.create("a")
        other.execute("BEGIN EXCLUSIVE")
        said = (
            f"{path}: another program is using the store and did not let go within 0.2 s\n"
            "    mend: finish there or wait, then try again; every answer acknowledged before is kept"
        )
        for ask in (
            lambda: journal.append(job, Noted("x")),
            lambda: journal.events(job),
            lambda: Journal.open(path, wait=0.2),
        ):
            with pytest.raises(JournalError) as caught:
                ask()
            assert str(caught.value) == said
        other.rollback()
        assert journal.append(job, Noted("x")) == 2


def test_a_reader_in_the_way_of_the_commit_leaves_nothing_half_done(path: Path) -> None:
    with Journal.open(path, wait=0.1) as journal, closing(sqlite3.connect(path)) as other:
        job = journal.create("a")
        other.execute("BEGIN")
        other.execute("SELECT * FROM event").fetchall()
        with pytest.raises(JournalError, match="another program is using the store"):
            journal.append(job, Noted("x"), Noted("y"))
        other.rollback()
        assert len(journal.events(job)) == 1
        assert journal.append(job, Noted("x")) == 2


def test_two_programs_write_to_one_store_in_turn(path: Path) -> None:
    with Journal.open(path) as one, Journal.open(path) as two:
        job = one.create("a")
        assert [one.append(job, Noted("1")), two.append(job, Noted("2")), one.append(job, Noted("3"))] == [
            2,
            3,
            4,
        ]
        assert one.events(job) == two.events(job)


@contextmanager
def unprivileged(folder: Path) -> Iterator[None]:
    """Root may write anything, so a test run as root becomes nobody for a while."""
    root = os.geteuid() == 0
    folder.chmod(0o555)
    try:
        if root:
            os.seteuid(65534)
        yield
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o755)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that every user can reach; pytest's own is closed to others."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder


def test_a_store_that_is_read_only_can_be_read_and_says_so_when_written(open_folder: Path) -> None:
    path = open_folder / "jobs.sqlite"
    with Journal.open(path) as journal:
        job = journal.create("a")
    path.chmod(0o444)
    before = path.read_bytes()
    with unprivileged(open_folder), Journal.open(path) as journal:
        assert len(journal.events(job)) == 1
        with pytest.raises(JournalError) as caught:
            journal.append(job, Noted("x"))
    assert str(caught.value) == (
        f"{path}: the store can be read but not written\n"
        "    mend: make the file and its folder writable for you, or name another with DIAGNOSE_STORE"
    )
    assert path.read_bytes() == before


def test_a_folder_that_takes_no_file_is_told(open_folder: Path) -> None:
    with unprivileged(open_folder):
        with pytest.raises(JournalError) as caught:
            Journal.open(open_folder / "jobs.sqlite")
        with pytest.raises(JournalError) as deeper:
            Journal.open(open_folder / "data" / "jobs.sqlite")
    assert str(caught.value) == (
        f"{open_folder / 'jobs.sqlite'}: the store cannot be opened or made here\n"
        "    mend: make the file and its folder writable for you, or name another with DIAGNOSE_STORE"
    )
    assert str(deeper.value) == (
        f"{open_folder / 'data'}: the folder for the jobs cannot be made (Permission denied)\n"
        "    mend: name a file in a folder of yours with DIAGNOSE_STORE"
    )


def test_a_disk_that_takes_no_more_leaves_no_half_step(journal: Journal, path: Path) -> None:
    job = journal.create("a")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size + 8192, hard))
    try:
        with pytest.raises(JournalError) as caught:
            journal.append(job, Noted("small"), Noted("x" * 100_000))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert str(caught.value) == (
        f"{path}: the disk did not do what was asked (disk I/O error)\n"
        "    mend: see whether it is full, write-protected or gone, then give the last answer again; "
        "every answer acknowledged before is kept"
    )
    assert [entry.event for entry in journal.events(job)] == [Opened("a")]
    assert journal.append(job, Noted("small")) == 2


def test_a_full_disk_is_told(path: Path) -> None:
    with closing(sqlite3.connect(path)) as database:
        database.execute("PRAGMA max_page_count = 3")
        database.execute("CREATE TABLE t (x)")
        with pytest.raises(sqlite3.OperationalError) as full:
            database.execute("INSERT INTO t VALUES (zeroblob(100000))")
    assert str(explain(full.value, path, 5)) == (
        f"{path}: there is no room left on the disk\n"
        "    mend: free some space, then give the last answer again; every answer acknowledged before is kept"
    )


# Where the store is, and times


def test_where_the_jobs_are_kept(tmp_path: Path) -> None:
    data = platformdirs.user_data_path("handling-diagnose", appauthor=False)
    assert store_path(None, {}) == data / "jobs.sqlite"
    assert store_path(None, {"DIAGNOSE_STORE": "/somewhere/x.sqlite"}) == Path("/somewhere/x.sqlite")
    assert store_path(None, {"DIAGNOSE_STORE": "~/x"}) == Path.home() / "x"
    assert store_path(Path("/given"), {"DIAGNOSE_STORE": "/somewhere"}) == Path("/given")
    assert store_path(tmp_path, {}) == tmp_path / "jobs.sqlite"


def test_the_store_named_in_the_environment_is_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "new" / "own.sqlite"))
    with Journal.open() as journal:
        journal.create("a")
    assert (tmp_path / "new" / "own.sqlite").exists()


def test_times_are_kept_in_utc_to_the_millisecond() -> None:
    time = datetime(2026, 5, 4, 11, 30, 0, 123999, timezone(timedelta(hours=2)))
    assert print_time(time) == "2026-05-04T09:30:00.123Z"
    assert parse_time("2026-05-04T11:30:00.123999+02:00") == datetime(2026, 5, 4, 9, 30, 0, 123000, UTC)
    with pytest.raises(ValueError, match="has no zone"):
        print_time(datetime(2026, 5, 4))
    with pytest.raises(ValueError, match="has no zone; write it as"):
        parse_time("2026-05-04T09:30:00")
