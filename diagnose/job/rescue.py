"""What can still be read of a damaged store: every job whole, or as far as it goes.

The damaged file is never opened: a copy of it is, so that a writing that was cut short is rolled back there.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.errors import JournalError
from diagnose.job.events import Entry, Event, Opened
from diagnose.job.journal import parse_time
from diagnose.job.state import order_faults
from diagnose.library.paths import standing

__all__ = ["Saved", "rescue"]

#: How many numbers in a row may hold nothing before a search for more ends.
_GIVE_UP = 500


@dataclass(frozen=True, slots=True)
class Saved:
    """One job: its id and name, the events up to the first that is lost, and how many behind are not used.

    whole: nothing of it was found to be missing. Without a first event there is nothing to keep: `entries` is
    empty.
    """

    id: str
    name: str
    entries: tuple[Entry, ...]
    unused: int
    whole: bool


def rescue(path: Path) -> list[Saved]:
    """The jobs of the store at `path`, in their order, as far as they can be read; the file stays as it is.

    Raises JournalError where there is no file, or nothing in it can be read as a store.
    """
    if standing(path) == "other":
        raise JournalError(
            f"{path}: this is a device or a pipe, and no file\n    mend: name the file of the damaged store"
        )
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy.sqlite"
        try:
            shutil.copyfile(path, copy)
            side = path.with_name(f"{path.name}-journal")
            if side.exists():
                shutil.copyfile(side, copy.with_name(f"{copy.name}-journal"))
        except OSError as error:
            raise JournalError(
                f"{path}: cannot be read ({error.strerror or error})\n"
                "    mend: name the file of the damaged store"
            ) from error
        with closing(sqlite3.connect(copy)) as database:
            numbers = _numbers(database)
            if numbers is None:
                raise JournalError(
                    f"{path}: nothing in it can be read as a store of jobs\n"
                    "    mend: see whether there is a copy of it, or an export of each job"
                )
            return [_saved(database, number) for number in numbers]


def _numbers(database: sqlite3.Connection) -> list[int] | None:
    """The numbers of all jobs that any row tells of; None where not even the tables can be found."""
    found: set[int] = set()
    readable = False
    for query in (
        "SELECT number FROM job WHERE number > ? ORDER BY number",
        "SELECT job FROM event WHERE job > ? ORDER BY job",
    ):
        for row in _skipping(database, query):
            if row is not None:
                readable = True
                found.add(row[0])
    if not readable:
        with suppress(sqlite3.DatabaseError):
            database.execute("SELECT count(*) FROM job").fetchone()
            readable = True
    return sorted(found) if readable else None


def _skipping(database: sqlite3.Connection, query: str, *bound: int) -> Iterator[tuple[Any, ...] | None]:
    """The rows that a query for those above one number gives, one by one; None for what cannot be read."""
    last = misses = 0
    while misses < _GIVE_UP:
        row: tuple[Any, ...] | None = None
        try:
            row = database.execute(f"{query} LIMIT 1", (*bound, last)).fetchone()
            if row is None:
                return
        except (sqlite3.DatabaseError, UnicodeDecodeError):
            pass
        if row is not None and isinstance(row[0], int) and row[0] > last:
            last, misses = row[0], 0
            yield row
        else:
            last, misses = last + 1, misses + 1
            yield None


def _saved(database: sqlite3.Connection, number: int) -> Saved:
    query = "SELECT number, step, time, kind, body FROM event WHERE job = ? AND number > ? ORDER BY number"
    rows = list(_skipping(database, query, number))
    entries = {row[0]: _entry(row) for row in rows if row is not None}
    kept: list[Entry] = []
    while (entry := entries.get(len(kept) + 1)) is not None:
        kept.append(entry)
    if kept:
        kept = kept[: min((index for index, _, _ in order_faults(kept)), default=len(kept))]
    whole = bool(kept) and len(kept) == len(entries) and None not in rows
    if not whole and kept:
        # A step is kept whole or not at all, and what comes behind the last one is not known.
        following = entries.get(len(kept) + 1)
        if following is None or following.step == kept[-1].step:
            cut = kept[-1].step
            kept = [entry for entry in kept if entry.step != cut]
    name = kept[0].event.name if kept and isinstance(kept[0].event, Opened) else ""
    with suppress(sqlite3.DatabaseError, TypeError, JournalError, UnicodeDecodeError):
        (given,) = database.execute("SELECT name FROM job WHERE number = ?", (number,)).fetchone()
        name = Opened(given).name
    return Saved(f"job-{number}", name, tuple(kept), len(entries) - len(kept), whole)


def _entry(row: tuple[Any, ...]) -> Entry | None:
    """The event in a row; None where it says nothing that an event can say."""
    _, step, time, kind, body = row
    try:
        return Entry(int(step), parse_time(time), Event.from_dict({**json.loads(body), "event": kind}))
    except (JournalError, ValueError, TypeError, OverflowError, RecursionError):
        return None
