"""Jobs looked up without reading them: a glance at each is kept beside it in the store.

The file itself takes a glance away in the same transaction that touches its job, whoever writes; what is
missing, or was made with other trees, is made anew when somebody looks. So a glance is never out of date, and
a store written without them only takes longer once.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import date

from diagnose.errors import JournalError
from diagnose.job.glance import Overview
from diagnose.job.journal import Journal
from diagnose.model.library import Library

__all__ = ["Looked", "Wanted", "last_open", "last_told", "look_up", "unseen"]

#: Counts up with every change of what a glance holds, or of how it is worked out. Another layout of
#: the table needs another name for it: stores that have this one keep it.
FORMAT = 1

#: Jobs looked at in one transaction, so that nobody waits long to write and memory stays flat.
BATCH = 500

_TABLE = """CREATE {} TABLE IF NOT EXISTS {} (
    job        INTEGER PRIMARY KEY,
    made       TEXT NOT NULL,    -- with which trees, and in which format
    last       TEXT NOT NULL,    -- time of the last event, '' if it cannot be read
    state      INTEGER,          -- 0 open, 1 closed, NULL if the job cannot be read
    owed       INTEGER NOT NULL, -- how much work
    complaints TEXT NOT NULL,    -- ids, each on a line of its own, as are those of
    causes     TEXT NOT NULL,    -- faults put right, their parts, and remedies
    words      TEXT NOT NULL,
    body       TEXT NOT NULL     -- all of the glance as JSON
)"""
#: By which is known which glances there are, and which are the last, without reading them.
_INDEX = "CREATE INDEX IF NOT EXISTS glance_last ON glance (made, last)"
_GONE = "DELETE FROM glance WHERE job = {}"
_TRIGGERS = tuple(
    f"CREATE TRIGGER IF NOT EXISTS {table}_{act}_glance AFTER {act.upper()} ON {table} "
    f"BEGIN {_GONE.format(job)}; END"
    for table, act, job in (
        ("event", "insert", "new.job"),
        ("event", "update", "old.job"),
        ("event", "delete", "old.job"),
        ("job", "update", "old.number"),
        ("job", "delete", "old.number"),
    )
)


@dataclass(frozen=True)
class Wanted:
    """Which jobs are meant; what is empty or None asks for nothing.

    complaint, cause: ids; the cause is a fault, its part, or a remedy. car: words, all of which must stand in
    name, layout or the driver's words. since, until: days of the last touch (UTC), both included. A job that
    cannot be read is meant only where nothing else than the day is asked for.
    """

    complaint: str = ""
    cause: str = ""
    car: tuple[str, ...] = ()
    owed: bool = False
    closed: bool | None = None
    since: date | None = None
    until: date | None = None

    def conditions(self) -> Iterator[tuple[str, str | int]]:
        """Each as SQL over the table above, with its one value."""
        if self.complaint:
            yield "instr(complaints, ?)", f"\n{self.complaint}\n"
        if self.cause:
            yield "instr(causes, ?)", f"\n{self.cause}\n"
        for word in self.car:
            yield "instr(words, ?) AND state IS NOT NULL", word.lower()
        if self.owed:
            yield "owed >= ?", 1
        if self.closed is not None:
            yield "state = ?", int(self.closed)
        if self.since:
            yield "substr(last, 1, 10) >= ?", self.since.isoformat()
        if self.until:
            yield "last <> '' AND substr(last, 1, 10) <= ?", self.until.isoformat()


@dataclass(frozen=True)
class Looked:
    """What was found. rows: the jobs meant, the last touched first, no more than asked for. meant: how many
    are meant; of: how many jobs there are."""

    rows: tuple[Overview, ...]
    meant: int
    of: int


def look_up(library: Library, journal: Journal, wanted: Wanted, most: int | None = None) -> Looked:
    """The jobs that are meant; most: no more than so many of them, at least one.

    Raises JournalError if the store cannot be read. One that cannot be written is read all the same.
    """
    made = _made(library)
    # Where nothing can be written (read-only, full, in use) what is missing is made below, for this time.
    with suppress(JournalError):
        _keep(library, journal, made)
    with journal.reading() as database:
        # Not a namesake: SQLite packs no file while an index in it is on a table that has one.
        database.execute(_TABLE.format("TEMP", "looked"))
        database.execute("DELETE FROM looked")
        for batch in _missing(database, made):
            _write(database, "looked", library, journal, batch, made)
        where = [*wanted.conditions()]
        meant = " AND ".join(["made = ?", *(f"({text})" for text, _ in where)])
        bound = (made, *(value for _, value in where))
        found: list[tuple[str, int, str]] = []
        for place in ("looked", "glance") if _kept(database) else ("looked",):
            query = f"SELECT last, job, '{place}' FROM {place} WHERE {meant}"
            found += database.execute(f"{query} ORDER BY last DESC, job DESC", bound)
        found.sort(reverse=True)
        rows = [
            database.execute(f"SELECT body FROM {place} WHERE job = ?", (job,)).fetchone()[0]
            for _, job, place in found[:most]
        ]
        (of,) = database.execute("SELECT count(*) FROM job").fetchone()
    return Looked(tuple(map(Overview.from_text, rows)), len(found), of)


def last_open(library: Library, journal: Journal) -> str | None:
    """The id of the job not closed that was written to last, or None."""
    return _last(library, journal, Wanted(closed=False)) if _quick(library, journal) else journal.last_open()


def last_told(library: Library, journal: Journal) -> str | None:
    """The id of the job that was written to last, open or closed, or None."""
    return _last(library, journal, Wanted()) if _quick(library, journal) else journal.last_told()


def unseen(library: Library, journal: Journal) -> int:
    """How many jobs nobody has glanced at since they were touched."""
    with journal.reading() as database:
        return sum(map(len, _missing(database, _made(library))))


def _quick(library: Library, journal: Journal) -> bool:
    return unseen(library, journal) <= BATCH


def _last(library: Library, journal: Journal, wanted: Wanted) -> str | None:
    return next((row.id for row in look_up(library, journal, wanted, 1).rows), None)


def _made(library: Library) -> str:
    return f"{FORMAT} {library.digest}"


def _kept(database: sqlite3.Connection) -> bool:
    """True if this store has a place for glances."""
    return bool(database.execute("SELECT 1 FROM sqlite_master WHERE name = 'glance'").fetchone())


def _missing(database: sqlite3.Connection, made: str) -> list[list[int]]:
    """The numbers of the jobs that have no glance made so, some at a time."""
    query, bound = "SELECT number FROM job", tuple[str, ...]()
    if _kept(database):
        query += " WHERE number NOT IN (SELECT job FROM glance WHERE made = ?)"
        bound = (made,)
    rows = database.execute(query, bound).fetchall()
    numbers = [number for (number,) in rows]
    return [numbers[at : at + BATCH] for at in range(0, len(numbers), BATCH)]


def _keep(library: Library, journal: Journal, made: str) -> None:
    """Glance at the jobs that nobody has glanced at since they were touched."""
    with journal.reading() as database:
        missing = _missing(database, made)
    for batch in missing:
        with journal.writing() as database:
            for statement in (_TABLE.format("", "glance"), _INDEX, *_TRIGGERS):
                database.execute(statement)
            _write(database, "glance", library, journal, batch, made)


def _write(
    database: sqlite3.Connection,
    where: str,
    library: Library,
    journal: Journal,
    jobs: list[int],
    made: str,
) -> None:
    from diagnose.job.overview import overviews  # here: a list of what is kept needs none of that

    for row in overviews(library, journal, jobs):
        number = int(row.id.removeprefix("job-"))
        last = row.last.isoformat() if row.last else ""
        state = None if row.unreadable else int(row.closed is not None)
        ids = _lines(row.complaints), _lines(_causes(library, row))
        values = (number, made, last, state, len(row.owed), *ids, row.words, row.as_text())
        database.execute(f"INSERT OR REPLACE INTO {where} VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", values)


def _lines(ids: tuple[str, ...] | set[str]) -> str:
    return "".join(f"\n{each}\n" for each in sorted(ids))


def _causes(library: Library, row: Overview) -> set[str]:
    """Ids by which the cause of a job may be asked for: faults put right, their parts, remedies."""
    found = {*row.concluded, *(each.work.partition("@")[0] for each in row.repairs)}
    for each in row.repairs:
        for end in each.ends:
            fault = end.partition("@")[0]
            found.add(fault)
            if fault in library.faults:
                found.add(library.faults[fault].part)
    return found
