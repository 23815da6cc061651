"""Jobs begun and gone on with: the commands that walk."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.commands import given
from diagnose.errors import InputError

if TYPE_CHECKING:
    from diagnose.job.journal import Journal
    from diagnose.job.session import Session
    from diagnose.model.library import Library
    from diagnose.model.story import Workshop
    from diagnose.screen.desk import Desk

__all__ = ["resume", "start", "walk"]


def start(options: argparse.Namespace) -> int:
    """Without a command: choose among the open jobs, or begin a new one."""
    from diagnose.job.lookup import Wanted, look_up
    from diagnose.screen.answers import whole
    from diagnose.screen.choosing import say
    from diagnose.screen.desk import clean, make_desk

    library = given.library(options)
    desk = make_desk()
    with given.journal(options) as journal:
        still = look_up(library, journal, Wanted(closed=False), 9).rows
        if not still:
            return _new(desk, library, journal, "", None, given.kept_workshop(options, library))
        say(desk, "Jobs still open:", "bold")
        for number, row in enumerate(still, start=1):
            touched = f" (last touched {row.last:%Y-%m-%d %H:%M} UTC)" if row.last else ""
            say(desk, f"  {number} {row.id} {clean(row.name)}{touched}")
        try:
            while True:
                typed = desk.ask(
                    "[Enter] go on with the first [1-9] with that one [n] a new job [q] stop >"
                ).strip()
                if typed.lower() in ("n", "new"):
                    return _new(desk, library, journal, "", None, given.kept_workshop(options, library))
                if typed.lower() in ("q", "quit"):
                    return given.OK
                picked = whole(typed, len(still)) if typed else 1
                if picked is not None:
                    return _go_on(desk, library, journal, still[picked - 1].id)
                say(desk, f"{clean(typed)!r}: press Enter, or type a number, n or q.")
        except (EOFError, KeyboardInterrupt):
            return given.OK


def walk(options: argparse.Namespace) -> int:
    """A new job, from a complaint on."""
    from diagnose.screen.desk import make_desk

    library = given.library(options)
    workshop = given.workshop(options, library, given.kept_workshop(options, library))
    with given.journal(options) as journal:
        return _new(make_desk(), library, journal, " ".join(options.words), options.name, workshop)


def resume(options: argparse.Namespace) -> int:
    """Go on with a job."""
    from diagnose.job.lookup import last_open
    from diagnose.screen.desk import make_desk

    library = given.library(options)
    with given.journal(options) as journal:
        job = options.job or last_open(library, journal)
        if job is None:
            raise InputError("no job is open: `diagnose walk` begins one, `diagnose jobs` lists them all")
        return _go_on(make_desk(), library, journal, job)


def _new(
    desk: Desk, library: Library, journal: Journal, words: str, name: str | None, workshop: Workshop
) -> int:
    from diagnose.job import events as e
    from diagnose.job.session import Session
    from diagnose.screen.choosing import Stop, say
    from diagnose.screen.complaint import ask_complaint
    from diagnose.screen.desk import clean
    from diagnose.screen.workshop import lacks

    if workshop.cannot:
        # What is left out of a job is said at its beginning, lest somebody wonder at the checks proposed.
        say(desk, f"Left out of this job: whatever needs {lacks(library, workshop)}.", "dim")
    try:
        complaint, side, said = ask_complaint(desk, library, words)
    except (Stop, EOFError, KeyboardInterrupt):
        return given.OK
    heard = e.ComplaintHeard.from_dict(
        {"event": "complaint-heard", "complaint": complaint, "side": side, "words": said}
    )
    title = " ".join(clean(name or said or library.complaints[complaint].name).split())[:80]
    session = Session.start(library, journal, title, workshop, [[heard]])
    return _run_walk(desk, session)


def _go_on(desk: Desk, library: Library, journal: Journal, job: str) -> int:
    from diagnose.job.session import Session

    return _run_walk(desk, Session(library, journal, job))


def _run_walk(desk: Desk, session: Session) -> int:
    from diagnose.screen.choosing import Stop, say
    from diagnose.screen.walk import walk

    try:
        walk(desk, session)
    except (Stop, EOFError, KeyboardInterrupt):
        say(desk, "")
        say(desk, f"Kept as {session.job}. `diagnose` goes on with it.")
    return given.OK
