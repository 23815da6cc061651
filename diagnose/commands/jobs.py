"""`diagnose jobs`: the list of jobs, which of them, and what they come to."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Collection
from datetime import date
from typing import TYPE_CHECKING, Any

from diagnose.errors import InputError

if TYPE_CHECKING:
    from diagnose.job.journal import Journal
    from diagnose.job.lookup import Looked, Wanted
    from diagnose.model.library import Library

__all__ = ["add_filters", "add_last", "delete", "erase_person", "listing", "report"]

#: Jobs listed where no number is asked for.
LAST = 50

#: Jobs to look through that take more than a moment.
MANY = 5000


def add_filters(parser: argparse.ArgumentParser, below: bool = False) -> None:
    """The arguments that say which jobs are meant. below: those given before its name hold for it too."""
    options: dict[str, Any] = {"default": argparse.SUPPRESS} if below else {}
    parser.add_argument("--complaint", metavar="ID", help="only jobs with this complaint", **options)
    parser.add_argument(
        "--cause",
        metavar="ID",
        help="only jobs where this fault, part or remedy was put right or settled on",
        **options,
    )
    parser.add_argument(
        "--car",
        metavar="WORDS",
        help="only cars with all these words in name, layout or what the driver said",
        **options,
    )
    day = {"metavar": "DATE", "type": _day, **options}
    parser.add_argument("--owed", action="store_true", help="only jobs with work still owed", **options)
    parser.add_argument("--since", help="last touched on this day or later (UTC)", **day)
    parser.add_argument("--until", help="last touched on this day or before (UTC)", **day)
    state = parser.add_mutually_exclusive_group()
    state.add_argument("--open", action="store_true", help="only jobs still open", **options)
    state.add_argument("--closed", action="store_true", help="only jobs that were closed", **options)


def add_last(parser: argparse.ArgumentParser) -> None:
    """The argument that says how many are listed."""
    told = f"only the N last touched (default: {LAST}, as JSON all)"
    parser.add_argument("--last", metavar="N", type=_number, help=told)


def _number(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) < 10 and int(text)):
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of jobs: write a whole number from 1")
    return int(text)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a day: write year, month and day, such as 2026-05-04"
        ) from error


def listing(options: argparse.Namespace, library: Library, journal: Journal) -> dict[str, Any] | None:
    """The list; with --json it is returned, to be printed as such."""
    from diagnose.screen.desk import console_for
    from diagnose.screen.jobs import jobs_json, jobs_page

    found = _meant(options, library, journal, options.last or (None if options.json else LAST))
    if options.json:
        return {"jobs": jobs_json(sorted(found.rows, key=lambda row: int(row.id.removeprefix("job-"))))}
    console, look = console_for()
    console.print(jobs_page(library, found, look))
    return None


def report(options: argparse.Namespace, library: Library, journal: Journal) -> dict[str, Any] | None:
    """What the jobs come to; with --json it is returned, to be printed as such."""
    from diagnose.job import shop
    from diagnose.screen.desk import console_for
    from diagnose.screen.jobs import report_json, report_page

    meant = _meant(options, library, journal).rows
    lines = shop.report(library, meant)
    left_out = sum(bool(row.unreadable) for row in meant)
    if options.json:
        return report_json(lines, left_out)
    if options.to is not None:
        from diagnose.commands.sheet import write_page
        from diagnose.job.journal import utc_now
        from diagnose.sheet.shop import shop_sheet

        write_page(shop_sheet(library, lines, left_out, utc_now().date()), options.to, options.replace)
        print(f"written to {options.to}")
        return None
    console, look = console_for()
    console.print(report_page(library, lines, left_out, look))
    return None


def _meant(
    options: argparse.Namespace, library: Library, journal: Journal, most: int | None = None
) -> Looked:
    """The jobs that the options mean, no more than `most`. Raises InputError for ids that neither the trees
    nor any job knows."""
    from diagnose.job.lookup import Wanted, look_up, unseen

    waiting = unseen(library, journal)
    if waiting > MANY:
        print(f"Looks through {waiting:,} jobs, once: lists are quick afterwards.", file=sys.stderr)
    ids = (
        ("--complaint", options.complaint, {*library.complaints}, "`diagnose trees` lists the complaints"),
        (
            "--cause",
            options.cause,
            {*library.faults, *library.parts, *library.remedies},
            "`diagnose trees causes` lists the faults",
        ),
    )
    wanted = _wanted(options)
    for option, name, known, otherwise in ids:
        if name and name not in known:
            # Jobs may be older than the trees.
            asked = Wanted(complaint=name) if option == "--complaint" else Wanted(cause=name)
            if not look_up(library, journal, asked, 1).meant:
                raise _unknown(option, name, known, otherwise)
    return look_up(library, journal, wanted, most)


def _wanted(options: argparse.Namespace) -> Wanted:
    from diagnose.job.lookup import Wanted

    if options.since and options.until and options.since > options.until:
        raise InputError(f"--since {options.since} is after --until {options.until}: swap them")
    return Wanted(
        options.complaint or "",
        options.cause or "",
        tuple((options.car or "").split()),
        options.owed,
        False if options.open else True if options.closed else None,
        options.since,
        options.until,
    )


def _unknown(option: str, name: str, known: Collection[str], otherwise: str) -> InputError:
    from diagnose.library.nearest import suggest

    return InputError(f"{option} {name}: there is no such id; {suggest(name, known, otherwise)}")


# For good ---------------------------------------------------------------------------------------------


def delete(options: argparse.Namespace, journal: Journal) -> None:
    """Take jobs out of the store for good, once that is confirmed; all of them are there, or none goes."""
    from diagnose.screen.prose import tell

    named = list(dict.fromkeys(options.jobs))
    shown = [f"{job} ({journal.name(job)})" for job in named]
    _confirmed(options, named, [f"Deletes for good: {each}." for each in shown])
    for job in named:
        journal.delete(job)
    tell(f"Deleted: {', '.join(named)}. {_ELSEWHERE}")


def erase_person(options: argparse.Namespace, library: Library, journal: Journal) -> None:
    """Take names and free words out of a job, once that is confirmed; checks, repairs and figures stay."""
    from diagnose.errors import DebriefError, SheetError
    from diagnose.job.erase import without_person
    from diagnose.screen.prose import tell

    job = options.job
    told = (
        f"Erases in {job} ({journal.name(job)}) its name, the driver's words, notes, grades of parts, and "
        "who drove. What was seen and done on the car, and when, stays."
    )
    _confirmed(options, [job], [told])
    try:
        count = journal.rewrite(job, job, lambda event: without_person(library, event, job))
    except (DebriefError, SheetError) as error:
        raise InputError(
            f"{job}: a drive or a sheet in it cannot be read, so nothing was erased; `diagnose jobs delete "
            f"{job}` takes out the whole job"
        ) from error
    tell(f"Erased in {job}: {count} event{'s' * (count != 1)} changed. {_ELSEWHERE}")


_ELSEWHERE = "Exports, backups and printed sheets are yours to find."


def _confirmed(options: argparse.Namespace, named: list[str], told: list[str]) -> None:
    """Return once it is confirmed by --yes, or by typing the ids. Raises InputError otherwise."""
    if options.yes:
        return
    from diagnose.screen.desk import clean, make_desk
    from diagnose.screen.pages import paragraph

    desk = make_desk()
    for line in told:
        desk.show(paragraph(clean(line), desk.look, 0))
    wanted = " ".join(named)
    try:
        typed = desk.ask(f"This cannot be undone. Type {wanted if len(wanted) < 40 else 'their ids'} >")
    except (EOFError, KeyboardInterrupt):
        typed = ""
    if typed.replace(",", " ").split() != named:
        raise InputError("nothing was changed: type the id as it is asked for, or give --yes")
