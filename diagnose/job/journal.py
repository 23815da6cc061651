"""The store of jobs: one SQLite file; a step is on the disk before `append` returns, whole or not at all.

Nothing written is ever changed: corrections are new events, and the file itself refuses to have an
event altered or deleted. Two acts alone set that aside, because somebody may have a right to them:
`delete` takes out a whole job, `rewrite` takes out words.
"""

from __future__ import annotations

import json
import os
import re
import sqlite3
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

import platformdirs

from diagnose.errors import JournalError
from diagnose.job.events import Closed, Entry, Event, Opened, Undone
from diagnose.job.state import fold, order_faults
from diagnose.library.paths import standing

__all__ = [
    "BareEvent",
    "Clock",
    "JobRow",
    "Journal",
    "explain",
    "parse_time",
    "print_time",
    "store_path",
    "utc_now",
]

#: Tells the time, with its zone.
Clock = Callable[[], datetime]

#: Marks the file as ours ("DIAG"); SQLite documentation, "Database File Format", bytes 68 to 71.
APPLICATION_ID = 0x44494147
#: Version of the tables below. A store with a higher one is refused untouched.
VERSION = 1
#: Version -> the statements that make the next one of it. None yet: there has been no other layout.
STEPS: Mapping[int, Sequence[str]] = {}

_TABLES = (
    """CREATE TABLE job (
        number INTEGER PRIMARY KEY AUTOINCREMENT, -- never given twice; shown as job-7
        name   TEXT NOT NULL                      -- for lists; the name at opening stays in its event
    )""",
    """CREATE TABLE event (
        job    INTEGER NOT NULL REFERENCES job (number),
        number INTEGER NOT NULL,                  -- from 1 in each job, without gaps
        step   INTEGER NOT NULL,                  -- from 1 in each job; shared by events of one act
        time   TEXT NOT NULL,                     -- ISO 8601, UTC
        kind   TEXT NOT NULL,
        body   TEXT NOT NULL,                     -- the event's fields as JSON
        PRIMARY KEY (job, number)
    ) WITHOUT ROWID""",
    """CREATE TRIGGER event_is_kept BEFORE DELETE ON event
        BEGIN SELECT RAISE (ABORT, 'events are never deleted'); END""",
    """CREATE TRIGGER event_is_final BEFORE UPDATE ON event
        BEGIN SELECT RAISE (ABORT, 'events are never changed'); END""",
)

#: The triggers by name.
_GUARDS = {text.split()[2]: text for text in _TABLES if text.startswith("CREATE TRIGGER")}

_JOB_ID = re.compile(r"job-([1-9][0-9]{0,14})")


#: Kinds of events that are much of a store, and say nothing of what a job came to.
BULKY = ("turned", "skipped", "cannot", "noted", "angles-read", "drive-told", "reference-told", "planned")


@dataclass(frozen=True, slots=True)
class BareEvent:
    """An event as it lies in the store; body None: left out."""

    number: int
    step: int
    time: str
    kind: str
    body: str | None


@dataclass(frozen=True, slots=True)
class JobRow:
    """A job in the list of jobs: times of its first and last event (UTC), outcome or None while open."""

    id: str
    name: str
    opened: datetime
    last: datetime
    events: int
    closed: str | None


def utc_now() -> datetime:
    """The time now, in UTC."""
    return datetime.now(UTC)


def store_path(path: Path | None = None, environ: Mapping[str, str] | None = None) -> Path:
    """Where the jobs are kept: `path`, else DIAGNOSE_STORE, else the user's data folder.

    A folder that exists stands for `jobs.sqlite` in it.
    """
    named = (os.environ if environ is None else environ).get("DIAGNOSE_STORE", "")
    if path is None:
        data = platformdirs.user_data_path("handling-diagnose", appauthor=False)
        path = Path(named).expanduser() if named else data / "jobs.sqlite"
    return path / "jobs.sqlite" if standing(path) == "folder" else path


class Journal:
    """An open store. Use it in a `with` block, or close it; one process may open a store many times.

    Every method raises JournalError, with the mend in its text, if the store cannot be read or written.
    """

    def __init__(self, path: Path, database: sqlite3.Connection, clock: Clock, wait: float) -> None:
        self.path = path
        self._database, self._clock, self._wait = database, clock, wait

    @classmethod
    def open(cls, path: Path | None = None, *, clock: Clock = utc_now, wait: float = 5.0) -> Journal:
        """The store at `store_path(path)`, made if there is none.

        wait: seconds that another process may hold the store before this one gives up.
        Raises JournalError, leaving the file as it was, for a file that is not a store of jobs and for
        one of a newer version.
        """
        path = store_path(path)
        if standing(path) == "other":
            raise JournalError(
                f"{path}: this is a device or a pipe, and no file\n    mend: name a file with DIAGNOSE_STORE"
            )
        try:
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise JournalError(
                f"{path.parent}: the folder for the jobs cannot be made ({error.strerror})\n"
                "    mend: name a file in a folder of yours with DIAGNOSE_STORE"
            ) from error
        _make_private(path)
        with _plain_errors(path, wait):
            database = sqlite3.connect(path, timeout=wait, isolation_level=None)
        journal = cls(path, database, clock, wait)
        try:
            with _plain_errors(path, wait):
                journal._prepare()
        except BaseException:
            database.close()
            raise
        return journal

    @classmethod
    def passing(cls) -> Journal:
        """A store in memory, for a job that is not kept; it is gone once it is closed."""
        return cls.open(Path(":memory:"))

    def close(self) -> None:
        """Let go of the file; nothing is pending, so nothing is lost by not closing."""
        self._database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def create(
        self,
        name: str,
        *,
        library_digest: str = "",
        program_version: str = "",
        workshop: Mapping[str, Any] | None = None,
        steps: Sequence[Sequence[Event]] = (),
    ) -> str:
        """Open a job and return its id, such as `job-7`; `steps` follow at once, in the same transaction."""
        opened = Opened(name, library_digest, program_version, workshop or {})
        time = self._now()
        groups = [[opened], *(step for step in steps if step)]
        entries = [Entry(n, time, event) for n, group in enumerate(groups, 1) for event in group]
        return self.adopt(opened.name, entries)

    def adopt(self, name: str, entries: Sequence[Entry]) -> str:
        """Write a whole job with its own steps and times as a new one; returns its id.

        Raises JournalError, writing nothing, if the entries are not in the order of `order_faults`.
        """
        _demand_order(entries)
        with self.writing() as database:
            number = database.execute("INSERT INTO job (name) VALUES (?)", (Opened(name).name,)).lastrowid
            assert number is not None
            self._insert(number, 1, entries)
        return f"job-{number}"

    def append(self, job: str, *events: Event) -> int:
        """Write the events as one step and return its number, once they are on the disk.

        All of them are written, or on any error (or a crash) none. Raises JournalError for an unknown
        job, no events, a second Opened, or an Undone together with other events.
        """
        if not events:
            raise JournalError(f"{job}: a step without events\n    mend: give at least one event")
        if any(isinstance(event, Opened) for event in events):
            raise JournalError(f"{job}: the job is open already\n    mend: create another job")
        if len(events) > 1 and any(isinstance(event, Undone) for event in events):
            raise JournalError(f"{job}: an undo among other events\n    mend: give it a step of its own")
        with self.writing() as database:
            number = self._number(job)
            query = "SELECT max(number), max(step) FROM event WHERE job = ?"
            last, before = database.execute(query, (number,)).fetchone()
            if last is None:
                raise self._damaged(job, 1, "is missing")
            step, time = int(before) + 1, self._now()
            self._insert(number, int(last) + 1, [Entry(step, time, event) for event in events])
        return step

    def events(self, job: str) -> list[Entry]:
        """All entries of the job, oldest first, as `fold` takes them.

        Raises JournalError with the event's number if one cannot be read, is missing or out of order.
        """
        query = "SELECT number, step, time, kind, body FROM event WHERE job = ? ORDER BY number"
        with _plain_errors(self.path, self._wait):
            rows = self._database.execute(query, (self._number(job),)).fetchall()
        entries = []
        for expected, (number, step, time, kind, body) in enumerate(rows, 1):
            if number != expected:
                raise self._damaged(job, expected, "is missing")
            try:
                event = Event.from_dict({"event": kind, **_object(body)})
                entries.append(Entry(step, parse_time(time), event))
            except (JournalError, ValueError) as error:
                raise self._damaged(job, number, f"cannot be read: {error}") from error
        for index, wrong, _ in order_faults(entries):
            raise self._damaged(job, index + 1, f"is out of order: {wrong}")
        return entries

    def name(self, job: str) -> str:
        """The job's name as last given."""
        with _plain_errors(self.path, self._wait):
            query = "SELECT name FROM job WHERE number = ?"
            return str(self._database.execute(query, (self._number(job),)).fetchone()[0])

    def rename(self, job: str, name: str) -> None:
        """Give the job another name in the lists; its events stay as they are."""
        name = Opened(name).name  # the same demands as at opening
        with self.writing() as database:
            database.execute("UPDATE job SET name = ? WHERE number = ?", (name, self._number(job)))

    def delete(self, job: str) -> None:
        """Take the job out of the store for good: its bytes are overwritten and the file is packed.

        Its number is never given again. Works for a job whose events cannot be read.
        """
        with self._erasing("event_is_kept") as database:
            number = self._number(job)
            database.execute("DELETE FROM event WHERE job = ?", (number,))
            database.execute("DELETE FROM job WHERE number = ?", (number,))
        self._pack()

    def rewrite(self, job: str, name: str, change: Callable[[Event], Event]) -> int:
        """Put `change` of each event in its place and give the job this name; what stood there before is
        overwritten, and the file is packed. Returns how many events were changed.

        The only act that changes what was written: for words that somebody has a right to see erased.
        Whatever `change` raises leaves the store as it was.
        """
        changed = 0
        with self._erasing("event_is_final") as database:
            number = self._number(job)
            for at, entry in enumerate(self.events(job), 1):
                fields = change(entry.event).to_dict()
                if fields != entry.event.to_dict():
                    changed += 1
                    kind = fields.pop("event")
                    body = json.dumps(fields, ensure_ascii=False, allow_nan=False)
                    row = (kind, body, number, at)
                    database.execute("UPDATE event SET kind = ?, body = ? WHERE job = ? AND number = ?", row)
            database.execute("UPDATE job SET name = ? WHERE number = ?", (Opened(name).name, number))
        self._pack()
        return changed

    @contextmanager
    def _erasing(self, guard: str) -> Iterator[sqlite3.Connection]:
        """A transaction without this guard, in which what is taken out is overwritten with zeros."""
        with _plain_errors(self.path, self._wait):
            self._database.execute("PRAGMA secure_delete = ON")
        with self.writing() as database:
            database.execute(f"DROP TRIGGER {guard}")
            yield database
            database.execute(_GUARDS[guard])

    def _pack(self) -> None:
        """Write the file anew without its free pages (SQLite documentation, VACUUM)."""
        with _plain_errors(self.path, self._wait):
            self._database.execute("VACUUM")

    def bare(self, only: Collection[int] | None = None) -> Iterator[tuple[str, str, list[BareEvent]]]:
        """Every job (`only`: those of these numbers), the oldest first: its id, its name, and its events
        without what few need of them.

        Left out are the bodies of `BULKY` kinds, and of answers before the first repair: most of a store.
        Each job stands for itself; what cannot be read is found out only by decoding it.
        """
        query = f"""
            WITH only AS (SELECT value FROM json_each(?))
            SELECT event.job, event.number, event.step, event.time, event.kind,
                   CASE WHEN event.kind IN ({", ".join(f"'{kind}'" for kind in BULKY)}) THEN NULL
                        WHEN event.kind = 'answered' AND event.number < ifnull(first.number, 1e18) THEN NULL
                        ELSE event.body END
            FROM event LEFT JOIN (SELECT job, min(number) AS number FROM event
                                  WHERE kind = 'repaired' AND job IN only GROUP BY job) AS first
                       ON first.job = event.job
            WHERE event.job IN only ORDER BY event.job, event.number"""
        with _plain_errors(self.path, self._wait):
            numbers = (
                [n for (n,) in self._database.execute("SELECT number FROM job")] if only is None else only
            )
            among = json.dumps([*numbers])
            named = "SELECT number, name FROM job WHERE number IN (SELECT value FROM json_each(?))"
            names = self._database.execute(f"{named} ORDER BY number", (among,)).fetchall()
            rows = self._database.execute(query, (among,)).fetchall()
        by_job: dict[int, list[BareEvent]] = {number: [] for number, _ in names}
        for job, *rest in rows:
            by_job.setdefault(job, []).append(BareEvent(*rest))
        for number, name in names:
            yield f"job-{number}", name, by_job[number]

    def jobs(self) -> list[JobRow]:
        """Every job, the oldest first."""
        query = """
            SELECT job.number, job.name, count(*), max(iif(event.kind = 'closed', event.number, 0)),
                   max(iif(event.kind IN ('undone', 'repaired', 'felt-since'), event.number, 0)),
                   (SELECT time FROM event WHERE job = job.number ORDER BY number LIMIT 1),
                   (SELECT time FROM event WHERE job = job.number ORDER BY number DESC LIMIT 1)
            FROM job JOIN event ON event.job = job.number GROUP BY job.number ORDER BY job.number"""
        with _plain_errors(self.path, self._wait):
            rows = self._database.execute(query).fetchall()
        found = []
        for number, name, count, ended, changing, first, last in rows:
            job = f"job-{number}"
            closed = None
            if ended > changing:
                closed = self._outcome(number, ended)
            elif ended:
                # A closing may have been undone, or the job gone on: only the fold can tell.
                closed = fold(self.events(job)).closed
            found.append(JobRow(job, name, parse_time(first), parse_time(last), count, closed))
        return found

    def _outcome(self, job: int, number: int) -> str:
        """The outcome in a closing event."""
        query = "SELECT body FROM event WHERE job = ? AND number = ?"
        with _plain_errors(self.path, self._wait):
            (body,) = self._database.execute(query, (job, number)).fetchone()
        try:
            closed = Event.from_dict({"event": "closed", **_object(body)})
        except (JournalError, ValueError) as error:
            raise self._damaged(f"job-{job}", number, f"cannot be read: {error}") from error
        assert isinstance(closed, Closed)
        return closed.outcome

    def last_open(self) -> str | None:
        """The id of the job not closed that was written to last, or None."""
        jobs = (f"job-{number}" for number in self._last_first())
        return next((job for job in jobs if fold(self.events(job)).closed is None), None)

    def last_told(self) -> str | None:
        """The id of the job that was written to last, open or closed, or None."""
        return next((f"job-{number}" for number in self._last_first()), None)

    def _last_first(self) -> list[int]:
        """The numbers of the jobs, the one written to last first."""
        # Times are kept as text that sorts as they do.
        query = """
            SELECT number,
                   (SELECT time FROM event WHERE job = job.number ORDER BY number DESC LIMIT 1) AS last
            FROM job WHERE last IS NOT NULL ORDER BY last DESC, number DESC"""
        with _plain_errors(self.path, self._wait):
            return [number for number, _ in self._database.execute(query)]

    def _prepare(self) -> None:
        """Refuse what is not ours before writing anything; then set up the connection, and an empty file."""
        database, version = self._database, self._version()
        if version == 0:
            with self._transaction():
                if self._version() == 0:  # another process may have been quicker
                    for statement in _TABLES:
                        database.execute(statement)
                    database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                    database.execute(f"PRAGMA user_version = {VERSION}")
        elif version < VERSION:
            self._renew(version)
        database.execute("PRAGMA journal_mode = DELETE")
        # FULL syncs the file and its journal; EXTRA also the folder, without which a commit could come
        # undone if the power fails just after it (SQLite documentation, PRAGMA synchronous).
        database.execute("PRAGMA synchronous = EXTRA")
        database.execute("PRAGMA foreign_keys = ON")
        database.execute("PRAGMA temp_store = MEMORY")  # what is in the store stays in it

    def _renew(self, version: int) -> None:
        """Bring an older layout up to this one, whole or not at all; the file as it was stays beside it."""
        beside = self.path.with_name(f"{self.path.name}.format-{version}")
        _make_private(beside)
        with closing(sqlite3.connect(beside)) as copy:
            self._database.backup(copy)
        with self._transaction():
            for number in range(self._version(), VERSION):  # another process may have been quicker
                for statement in STEPS[number]:
                    self._database.execute(statement)
            self._database.execute(f"PRAGMA user_version = {VERSION}")

    def _version(self) -> int:
        """The layout of the store, 0 for an empty file; JournalError for what this version cannot use."""
        queries = "PRAGMA application_id", "PRAGMA user_version", "SELECT count(*) FROM sqlite_master"
        ours, version, things = (self._database.execute(query).fetchone()[0] for query in queries)
        if ours == 0 and version == 0 and things == 0:
            return 0
        if ours != APPLICATION_ID:
            raise _not_ours(self.path)
        lowest = min(STEPS, default=VERSION)
        if version < lowest:
            raise JournalError(
                f"{self.path}: written by a version of this program that is too old "
                f"(format {version}; this version knows {lowest} and up)\n"
                "    mend: export its jobs with the program that wrote it; the file has not been touched"
            )
        if version > VERSION:
            raise JournalError(
                f"{self.path}: written by a newer version of this program "
                f"(format {version}; this version knows up to {VERSION})\n"
                "    mend: update the program; the file has not been touched"
            )
        return int(version)

    @contextmanager
    def _transaction(self, kind: str = "IMMEDIATE") -> Iterator[None]:
        """All or nothing; takes the right to write at the start, so that waiting never deadlocks."""
        try:
            self._database.execute(f"BEGIN {kind}")
            yield
            self._database.execute("COMMIT")
        except BaseException:
            # SQLite has rolled back by itself after some errors (a full disk), not after others.
            if self._database.in_transaction:
                self._database.execute("ROLLBACK")
            raise

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """The file as it stands at one moment, whatever others write."""
        with _plain_errors(self.path, self._wait), self._transaction("DEFERRED"):
            yield self._database

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A transaction in which no other may write."""
        with _plain_errors(self.path, self._wait), self._transaction():
            yield self._database

    def _insert(self, job: int, first: int, entries: Sequence[Entry]) -> None:
        for number, entry in enumerate(entries, first):
            fields = entry.event.to_dict()
            kind = fields.pop("event")
            body = json.dumps(fields, ensure_ascii=False, allow_nan=False)
            row = (job, number, entry.step, print_time(entry.time), kind, body)
            self._database.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?)", row)

    def _number(self, job: str) -> int:
        match = _JOB_ID.fullmatch(job)
        if match:
            query = "SELECT number FROM job WHERE number = ?"
            if self._database.execute(query, (int(match[1]),)).fetchone():
                return int(match[1])
        last = self._database.execute("SELECT number FROM job ORDER BY number DESC LIMIT 5").fetchall()
        kept = ", ".join(f"job-{number}" for (number,) in last)
        mend = f"the latest jobs are {kept}" if kept else "no job has been opened yet"
        raise JournalError(f"{self.path}: there is no job {job!r}\n    mend: {mend}")

    def _now(self) -> datetime:
        return parse_time(print_time(self._clock()))

    def _damaged(self, job: str, number: int, how: str) -> JournalError:
        return JournalError(
            f"{self.path}: {job}: event {number} {how}\n"
            "    mend: if a newer version of the program wrote it, use that; else restore a copy, or "
            "save what can be read with `diagnose jobs rescue STORE FOLDER`"
        )


def print_time(time: datetime) -> str:
    """ISO 8601 in UTC, such as 2026-05-04T09:30:00.000Z. Raises ValueError for a time without a zone."""
    if time.tzinfo is None:
        raise ValueError(f"time {time} has no zone")
    return time.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def parse_time(text: str) -> datetime:
    """The time in UTC, cut to milliseconds. Raises ValueError for anything but ISO 8601 with a zone."""
    time = datetime.fromisoformat(text)
    if time.tzinfo is None:
        raise ValueError(f"time {text!r} has no zone; write it as 2026-05-04T09:30:00Z")
    time = time.astimezone(UTC)
    return time.replace(microsecond=time.microsecond // 1000 * 1000)


def _make_private(path: Path) -> None:
    """Make a store that is not there yet, empty and for its owner alone; one that is there keeps its rights.

    A link to nowhere makes the file where it leads. SQLite gives its side files the rights of the store.
    Where this fails, opening the store says why.
    """
    if str(path) != ":memory:":
        with suppress(OSError, ValueError):
            os.close(os.open(os.path.realpath(path), os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))


def explain(error: sqlite3.Error, path: Path, wait: float) -> JournalError:
    """What an error of the database means for the user, and what to do about it."""
    full = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR)
    code = full & 0xFF  # the low byte: the primary code
    kept = "every answer acknowledged before is kept"
    match code:
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            wrong = f"another program is using the store and did not let go within {wait:g} s"
            mend = f"finish there or wait, then try again; {kept}"
        case sqlite3.SQLITE_READONLY if full == sqlite3.SQLITE_READONLY_DBMOVED:
            wrong = "the store is not there any more: it was moved or deleted while the job was open"
            mend = (
                f"put it back, or name another with DIAGNOSE_STORE, then give the last answer again; {kept}"
            )
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM:
            wrong = "the store can be read but not written"
            mend = "make the file and its folder writable for you, or name another with DIAGNOSE_STORE"
        case sqlite3.SQLITE_FULL:
            wrong = "there is no room left on the disk"
            mend = f"free some space, then give the last answer again; {kept}"
        case sqlite3.SQLITE_IOERR:
            wrong = f"the disk did not do what was asked ({error})"
            mend = f"see whether it is full, write-protected or gone, then give the last answer again; {kept}"
        case sqlite3.SQLITE_CANTOPEN:
            wrong = "the store cannot be opened or made here"
            mend = "make the file and its folder writable for you, or name another with DIAGNOSE_STORE"
        case sqlite3.SQLITE_NOTADB:
            return _not_ours(path)
        case _:
            wrong = f"the store is damaged ({error})"
            mend = (
                "`diagnose jobs rescue STORE FOLDER` exports what can be read of it; "
                "then put it aside and import that, or restore a copy"
            )
    return JournalError(f"{path}: {wrong}\n    mend: {mend}")


def _not_ours(path: Path) -> JournalError:
    return JournalError(
        f"{path}: this file is not a store of jobs\n"
        "    mend: name another with DIAGNOSE_STORE; this file has not been touched"
    )


@contextmanager
def _plain_errors(path: Path, wait: float) -> Iterator[None]:
    """Turn what can befall a file into JournalError; a mistake of ours in the SQL stays a traceback."""
    try:
        yield
    except (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError):
        raise
    except sqlite3.DatabaseError as error:
        raise explain(error, path, wait) from error


def _object(body: str) -> dict[str, Any]:
    """The JSON object in a row. Raises ValueError for anything else."""
    found = json.loads(body)
    if not isinstance(found, dict) or "event" in found:
        raise ValueError(f"not the fields of an event: {body[:60]}")
    return found


def _demand_order(entries: Sequence[Entry]) -> None:
    for index, wrong, mend in order_faults(entries):
        raise JournalError(f"event {index + 1}: {wrong}\n    mend: {mend}")
