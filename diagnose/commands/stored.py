"""The jobs of the store: shown, exported, imported, answered, renamed, deleted, rescued."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from diagnose.commands import given, sheet
from diagnose.commands import jobs as _jobs
from diagnose.commands import repair as _repair
from diagnose.commands.rank import show_verdict
from diagnose.errors import InputError

__all__ = [
    "add_commands",
    "answer",
    "delete",
    "erase_person",
    "export",
    "import_",
    "jobs",
    "rename",
    "report",
    "rescue",
    "show",
]


def add_commands(parser: argparse.ArgumentParser, shared: argparse.ArgumentParser) -> None:
    """`jobs` and what may follow it. shared: what every command takes."""
    _jobs.add_filters(parser)
    _jobs.add_last(parser)
    parser.add_argument("--json", action="store_true", help="print the list as JSON")
    parser.set_defaults(command=jobs)
    act = parser.add_subparsers(metavar="ACT")
    figures = act.add_parser(
        "report", parents=[shared], help="what the jobs come to: causes, cures, time, vain"
    )
    _jobs.add_filters(figures, below=True)
    figures.add_argument(
        "--json", action="store_true", default=argparse.SUPPRESS, help="print the figures as JSON"
    )
    figures.add_argument("--to", metavar="FILE", type=sheet.target, help="as a page: .html, .md or .json")
    figures.add_argument("--replace", action="store_true", help="write over a file that is there already")
    figures.set_defaults(command=report)
    shown = act.add_parser("show", parents=[shared], help="ranking and conclusion of a job as it stands")
    shown.add_argument("job")
    shown.add_argument("--json", action="store_true", help="print the result as JSON")
    shown.set_defaults(command=show)
    exported = act.add_parser("export", parents=[shared], help="a job as a readable file, without loss")
    exported.add_argument("job")
    exported.add_argument("file", nargs="?", type=Path, help="default: standard output")
    exported.set_defaults(command=export)
    imported = act.add_parser(
        "import", parents=[shared], help="a job from such a file, or from a case file; it gets a new id"
    )
    imported.add_argument("file", help="the file, or - for standard input")
    imported.set_defaults(command=import_)
    answered = act.add_parser(
        "answer", parents=[shared], help="what was seen on the car of a job, from a file of answers"
    )
    answered.add_argument("job", help="its id, or last: the last one told of")
    answered.add_argument("file", help="`answers` as in a case file, or - for standard input")
    answered.set_defaults(command=answer)
    rescued = act.add_parser("rescue", help="export what can still be read of a damaged store, job by job")
    rescued.add_argument("damaged", metavar="STORE", type=Path, help="the damaged file; it stays as it is")
    rescued.add_argument("folder", type=Path, help="where to write the exports; made if it is not there")
    rescued.set_defaults(command=rescue)
    renamed = act.add_parser("rename", parents=[shared], help="give a job another name")
    renamed.add_argument("job")
    renamed.add_argument("name")
    renamed.set_defaults(command=rename)

    deleted = act.add_parser("delete", parents=[shared], help="take jobs out of the store for good")
    deleted.add_argument("jobs", nargs="+", metavar="JOB", help="their ids")
    erased = act.add_parser(
        "erase-person", parents=[shared], help="take names and free words out of a job for good"
    )
    erased.add_argument("job", help="its id")
    for each, command in ((deleted, delete), (erased, erase_person)):
        each.add_argument("--yes", action="store_true", help="do not ask")
        each.set_defaults(command=command)


def jobs(options: argparse.Namespace) -> int:
    """The list of jobs."""
    library = given.library(options)
    with given.journal(options) as journal:
        return given.result("jobs", _jobs.listing(options, library, journal))


def report(options: argparse.Namespace) -> int:
    """What the jobs come to."""
    library = given.library(options)
    with given.journal(options) as journal:
        return given.result("shop", _jobs.report(options, library, journal))


def show(options: argparse.Namespace) -> int:
    """Ranking and conclusion of a job as it stands."""
    from diagnose.job.session import Session

    library = given.library(options)
    with given.journal(options) as journal:
        session = Session(library, journal, options.job)
        if not session.story.heard:
            raise InputError(
                f"{options.job} has no complaint yet: `diagnose resume {options.job}` asks for it"
            )
        if options.json:
            from diagnose.report import ranking_json

            return given.print_json({"job": options.job, **ranking_json(session.verdict, session.story)})
        show_verdict(session.verdict, 8)
    return given.OK


def export(options: argparse.Namespace) -> int:
    """A job as a readable file."""
    from diagnose.job.export import export

    with given.journal(options) as journal:
        text = export(journal, options.job)
    if options.file is None:
        # Without loss, so not in the terminal's letters: an export is UTF-8 wherever it goes.
        reconfigure = getattr(sys.stdout, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8")
        sys.stdout.write(text)
        return given.OK
    from diagnose.job.files import write_text

    write_text(options.file, text, new=True)
    given.say(f"{options.job} written to {options.file}")
    return given.OK


def rescue(options: argparse.Namespace) -> int:
    """Export each job as far as it can be read, and say of each what is missing."""
    from diagnose.job.export import text_of
    from diagnose.job.files import plain_name, write_text
    from diagnose.job.rescue import rescue
    from diagnose.screen.prose import tell

    found = rescue(options.damaged)
    try:
        options.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except (OSError, ValueError) as error:
        words = getattr(error, "strerror", None) or str(error)
        raise InputError(f"{plain_name(options.folder)}: cannot be made ({words}); name another") from error
    kept = [saved for saved in found if saved.entries]
    for saved in kept:
        text = text_of(saved.name or saved.id, saved.entries)
        write_text(options.folder / f"{saved.id}.yaml", text, new=True)
    for saved in found:
        if not saved.whole:
            told = f"its first {len(saved.entries)} events" if saved.entries else "nothing of it"
            tell(
                f"{saved.id} {saved.name}: not whole; {told} saved, {saved.unused} behind a gap are left out"
            )
    whole = sum(saved.whole for saved in found)
    tell(f"{len(kept)} of {len(found)} jobs written to {options.folder}, {whole} of them whole.")
    if kept:
        tell("`diagnose jobs import FILE` brings each back, into a new store with --store or DIAGNOSE_STORE.")
    return given.OK if whole == len(found) else given.FAILED


def import_(options: argparse.Namespace) -> int:
    """A new job from an export, or from a case file."""
    from diagnose.job.export import MOST_BYTES, import_text
    from diagnose.job.files import read_bytes, shown_name

    data = read_bytes(options.file, MOST_BYTES)
    if len(data) > MOST_BYTES:
        raise InputError(f"{options.file}: the file is too large for a job; import a job's export")
    if _is_case(data):
        return _open_case(options, data)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputError(
            f"{options.file}: byte {error.start} is not UTF-8; save the file as UTF-8"
        ) from error
    with given.journal(options) as journal:
        job = import_text(journal, text, shown_name(options.file))
    print(f"imported as {job}")
    return given.OK


def _is_case(data: bytes) -> bool:
    """True for a case file; a job's export begins with `journal:`."""
    import re

    first = re.search(rb"^(case|journal)[ \t]*:", data, re.MULTILINE)
    return first is not None and first[1] == b"case"


def _open_case(options: argparse.Namespace, data: bytes) -> int:
    """A job with everything in it that a case file tells."""
    from diagnose.job.case import read_case
    from diagnose.job.files import shown_name
    from diagnose.job.session import Session
    from diagnose.job.steps import case_name, steps_of

    library = given.library(options)
    case = read_case(library, data, shown_name(options.file))
    with given.journal(options) as journal:
        session = Session.start(library, journal, case_name(case), case.workshop, steps_of(library, case))
    print(f"imported as {session.job}")
    return given.OK


def answer(options: argparse.Namespace) -> int:
    """Take what was seen on the car of a job from a file."""
    from diagnose.job.case import read_answers
    from diagnose.job.files import shown_name
    from diagnose.job.session import Session

    library = given.library(options)
    told = read_answers(library, given.read(options.file), shown_name(options.file))
    with given.journal(options) as journal:
        session = Session(library, journal, _repair.job_named(library, journal, options.job))
        if not session.story.heard:
            raise InputError(
                f"{session.job} has no complaint yet: `diagnose resume {session.job}` asks for it"
            )
        absent = [seen[0].check for seen in told if seen[0].check not in session.verdict.car.checks]
        if absent:
            raise InputError(f"{', '.join(absent)}: cannot be done on this car; leave it out")
        for seen in told:
            session.answer(library.checks[seen[0].check], seen)
    count = len(told)
    print(f"kept in {session.job}: {count} check{'s' if count != 1 else ''}")
    return given.OK


def rename(options: argparse.Namespace) -> int:
    """Give a job another name."""
    with given.journal(options) as journal:
        journal.rename(options.job, options.name)
    given.say(f"{options.job} is now called {options.name}")
    return given.OK


def delete(options: argparse.Namespace) -> int:
    """Take jobs out of the store for good."""
    with given.journal(options) as journal:
        _jobs.delete(options, journal)
    return given.OK


def erase_person(options: argparse.Namespace) -> int:
    """Take names and free words out of a job for good."""
    library = given.library(options)
    with given.journal(options) as journal:
        _jobs.erase_person(options, library, journal)
    return given.OK
