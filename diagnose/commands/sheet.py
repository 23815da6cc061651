"""`diagnose sheet`: a job, or a case file, as a page to hand over."""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.errors import InputError
from diagnose.library.paths import standing

if TYPE_CHECKING:
    from diagnose.job.session import Session
    from diagnose.model.library import Library
    from diagnose.plan.wishes import Wishes
    from diagnose.sheet.material import Material
    from diagnose.sheet.page import Page

__all__ = ["EXAMPLES", "add_arguments", "demand_free", "gather", "sheet", "target", "write_page"]

#: The end of `diagnose sheet --help`.
EXAMPLES = """\
examples:
  diagnose sheet                                    the last job as Markdown
  diagnose sheet job-7 --to van.html                a page for the workshop, to read or to print
  diagnose sheet job-7 --for owner --to owner.html  the short one, without jargon
  diagnose sheet estate.yaml --to estate.md         of a case file
  diagnose sheet --without-name --to shown.html     without names, plate, notes and the driver's words

The browser prints the page, or saves it as PDF. It advises and certifies nothing: the maker's data, local law
and licensed practice come first.
"""

#: The forms of a sheet by the ending of its file.
ENDINGS = (".html", ".md", ".json")

#: Signs of the sheet's own for terminals that have only ASCII.
_PLAIN = str.maketrans({"\u00b7": "-", "\u201c": '"', "\u201d": '"'})

_JOB = re.compile(r"job-[1-9][0-9]*|last")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    parser.add_argument(
        "job", nargs="?", default="last", help="a job, a case file, or - (default: the last job)"
    )
    parser.add_argument("--to", metavar="FILE", type=target, help="where to write it: .html, .md or .json")
    parser.add_argument(
        "--for",
        dest="reader",
        choices=("owner", "workshop"),
        default="workshop",
        help="the short one for the owner, or the full one (default: workshop)",
    )
    parser.add_argument(
        "--without-name",
        action="store_true",
        help="leave out whatever was typed: names, plate, notes, the driver's words",
    )
    parser.add_argument(
        "--wishes", metavar="FILE", help="prices, budgets and likings of the plan (docs/plan.md)"
    )
    parser.add_argument("--replace", action="store_true", help="write over a file that is there already")
    parser.add_argument("--json", action="store_true", help="print the sheet as JSON")


def target(text: str) -> Path:
    """A file that a page can be written to. Raises ArgumentTypeError for one of another ending."""
    path = Path(text)
    if path.suffix.lower() not in ENDINGS:
        raise argparse.ArgumentTypeError(
            f"{text!r} ends in none of {', '.join(ENDINGS)}: name it such as {path.stem or 'sheet'}.html"
        )
    return path


def sheet(
    options: argparse.Namespace, library: Library, read: Callable[[str], bytes]
) -> dict[str, Any] | None:
    """Carry out the command; with --json the result is returned, to be printed as such."""
    from diagnose.job.journal import utc_now
    from diagnose.sheet.as_json import sheet_json
    from diagnose.sheet.made import sheet as made
    from diagnose.sheet.markdown import markdown_of

    if options.to is not None and options.json:
        raise InputError("--to and --json exclude each other: name a file that ends in .json")
    if options.to is not None:
        demand_free(options.to, options.replace)
    wishes = _wishes(options, library, read)
    with _session(options, library, read) as (session, name):
        page = made(gather(session, name, utc_now(), wishes, options.without_name), options.reader)
    if options.json:
        return sheet_json(page)
    if options.to is None:
        sys.stdout.write(_shown(markdown_of(page), sys.stdout.encoding or "ascii"))
        return None
    write_page(page, options.to, options.replace)
    print(f"written to {options.to}")
    return None


def gather(session: Session, name: str, now: datetime, wishes: Wishes, nameless: bool = False) -> Material:
    """All that the sheet of this job is made from. Raises ImpossibleAnswers as its belief does."""
    from diagnose.plan.planner import Planner
    from diagnose.sheet.material import Material

    verdict = session.verdict
    planner = Planner(verdict.belief, verdict.cures, wishes, verdict.workshop)
    plan, worth = planner.plan(), planner.behind.worth
    called = session.journal.name(session.job)
    return Material(session, name, now.date(), nameless, plan, wishes, worth, planner.workshop, called)


@contextmanager
def _session(
    options: argparse.Namespace, library: Library, read: Callable[[str], bytes]
) -> Iterator[tuple[Session, str]]:
    """The job that is meant and how it is called; a case file is a job that is kept nowhere."""
    from diagnose.commands.repair import job_named
    from diagnose.job.case import read_case
    from diagnose.job.files import shown_name
    from diagnose.job.journal import Journal
    from diagnose.job.passing import passing
    from diagnose.job.session import Session

    if _JOB.fullmatch(options.job):
        with Journal.open(getattr(options, "store", None)) as journal:
            session = Session(library, journal, job_named(library, journal, options.job))
            if not session.story.heard:
                raise InputError(
                    f"{session.job} has no complaint yet: `diagnose resume {session.job}` asks for it"
                )
            yield session, session.job
        return
    case = read_case(library, read(options.job), shown_name(options.job))
    with passing(library, case, case.workshop) as session:
        yield session, ""


def _wishes(options: argparse.Namespace, library: Library, read: Callable[[str], bytes]) -> Wishes:
    from diagnose.plan.read import read_wishes
    from diagnose.plan.wishes import Wishes

    return Wishes() if options.wishes is None else read_wishes(library, read(options.wishes), options.wishes)


def _as(page: Page, ending: str) -> str:
    """The page in the form of the ending."""
    from diagnose.sheet.as_json import sheet_json
    from diagnose.sheet.html import html_of
    from diagnose.sheet.markdown import markdown_of

    if ending == ".html":
        return html_of(page)
    if ending == ".md":
        return markdown_of(page)
    return json.dumps(sheet_json(page), indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def _shown(text: str, encoding: str) -> str:
    """The text in the letters that standard output has; what it has not is written as on other screens."""
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = re.sub("([0-9])\u00b0([0-9]{2})'", r"\1d\2m", text).translate(_PLAIN)
    return text.encode(encoding, "replace").decode(encoding)


def write_page(page: Page, path: Path, replace: bool) -> None:
    """Write a page in the form of its file's ending. Raises InputError where that cannot be."""
    demand_free(path, replace)
    _write(path, _as(page, path.suffix.lower()))


def demand_free(path: Path, replace: bool) -> None:
    """Raises InputError for a folder, and for a file that is there and is not to be written over."""
    what = standing(path)
    if what == "folder":
        raise InputError(f"{path}: is a folder; name a file in it")
    if what == "other":
        raise InputError(f"{path}: is a device or a pipe, and no file; name a file")
    if what == "file" and not replace:
        raise InputError(f"{path}: is there already; name a new file, or write over it with --replace")


def _write(path: Path, text: str) -> None:
    """Write the whole file, or nothing: aside first, then in its place."""
    aside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        aside.write_text(text, encoding="utf-8")
        aside.replace(path)
    except OSError as error:
        raise InputError(
            f"{path}: cannot be written ({error.strerror or error}); name another file"
        ) from error
    finally:
        with suppress(OSError):
            aside.unlink(missing_ok=True)
