"""`diagnose debrief`: a drive told leg by leg or read from a file, shown, and set beside another drive."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.commands.repair import add_elapsed
from diagnose.errors import InputError
from diagnose.job.files import is_there, plain_name, read_bytes, shown_name, write_text

if TYPE_CHECKING:
    from diagnose.debrief.drive import Drive
    from diagnose.job.journal import Journal
    from diagnose.job.session import Session
    from diagnose.model.library import Library
    from diagnose.model.story import Heard

__all__ = ["EXAMPLES", "add_arguments", "debrief"]

#: The end of `diagnose debrief --help`.
EXAMPLES = """\
examples:
  diagnose debrief --blank
      an empty form to take along
  diagnose debrief --type --save today.yaml
      tell a drive from memory, leg by leg, and keep it
  diagnose debrief today.yaml
      show it
  diagnose debrief today.yaml --before last.yaml
      what is new, gone, better, worse, or was not driven
  diagnose debrief today.yaml --reference good.yaml
      beside a car known to be good
  diagnose debrief today.yaml --job last
      keep it in the job, beside the drive before: whether the last repair helped
  diagnose debrief later.yaml --job last --after-days 14
      a drive two weeks after the repair
  diagnose debrief --reference good.yaml --job last
      keep a drive of a good car in the job, to stand beside its drives

docs/debrief.md describes the files. Drive only a car that is fit to drive, within
the law of the place; a passenger writes, or nobody before the car is parked.
"""

#: The first line of every file that a typed session writes: only such a file is written over.
_HEAD = "Written by `diagnose debrief --type`, which may write it anew: keep remarks of your own elsewhere."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    parser.add_argument("file", nargs="?", help="a debrief, or - for standard input")
    parser.add_argument(
        "--type", dest="typed", action="store_true", help="tell the drive at the terminal, leg by leg"
    )
    parser.add_argument("--save", metavar="FILE", type=Path, help="with --type: keep the drive in this file")
    parser.add_argument("--before", metavar="FILE", help="an earlier drive of the same car to compare with")
    parser.add_argument("--reference", metavar="FILE", help="a drive of a car known to be good")
    parser.add_argument(
        "--job",
        metavar="JOB",
        help="keep the drive in this job (last: the last one open) and say what it makes of the causes",
    )
    add_elapsed(parser, "with --job: ")
    parser.add_argument("--blank", action="store_true", help="print an empty form on one page")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def debrief(options: argparse.Namespace, library: Library) -> dict[str, Any] | None:
    """Carry out the command; returns what is to be printed as JSON, if that is wanted.

    Raises DebriefError with every problem of a file, and InputError.
    """
    _demand(options)
    if options.blank:
        from diagnose.screen.debrief_blank import blank_form

        print(blank_form(), end="")
        return None
    others = {name: _read(library, getattr(options, name)) for name in ("before", "reference")}
    if not options.job:
        drive = _typed(options, library) if options.typed else _read(library, options.file)
        assert drive is not None
        return _told(library, drive, others["before"], others["reference"], options.json)
    from diagnose.job.journal import Journal

    with Journal.open(getattr(options, "store", None)) as journal:
        return _in_job(options, _session(journal, options, library), others)


def _session(journal: Journal, options: argparse.Namespace, library: Library) -> Session:
    """The job that is meant. `last`: the last open one; with a time after a repair the last one told of,
    which may have been closed as cured."""
    from diagnose.job.lookup import last_open, last_told
    from diagnose.job.session import Session

    job = options.job
    if job == "last":
        job = last_open(library, journal)
        if options.after_days is not None or options.after_km is not None:
            job = last_told(library, journal)
    if job is None:
        raise InputError("no job is open: `diagnose walk` begins one, `diagnose jobs` lists them all")
    session = Session(library, journal, job)
    if not session.story.heard:
        raise InputError(f"{job} has no complaint yet: `diagnose resume {job}` asks for it")
    return session


def _in_job(
    options: argparse.Namespace, session: Session, others: dict[str, Drive | None]
) -> dict[str, Any] | None:
    """Keep the drive in the job, and those it is to stand beside; show it beside them."""
    from diagnose.job.drives import drives_of, references_of

    library = session.library
    session.demand_later(options.after_days, options.after_km)
    drive: Drive | None = None
    if options.typed or options.file:
        drive = _typed(options, library) if options.typed else _read(library, options.file)
    for name, of in (("before", "same-car-before"), ("reference", "good-car")):
        told = others[name]
        if told is not None:
            session.refer(told, of)
    kept, told_before = references_of(library, session.state), drives_of(library, session.state)
    before = others["before"] or (told_before[-1][1] if told_before else kept.get("same-car-before"))
    reference = kept.get("good-car")
    if drive is None:
        return _references(session, kept, options.json)
    _, besides = session.tell(drive, options.after_days, options.after_km)
    found = _told(library, drive, before, reference, options.json)
    return _said(session, besides, found)


def _references(session: Session, kept: dict[str, Drive], json: bool) -> dict[str, Any] | None:
    """The drives that a job keeps to compare with."""
    if json:
        from diagnose.debrief.write import drive_data

        return {"job": session.job, "references": {of: drive_data(drive) for of, drive in kept.items()}}
    from diagnose.screen.debrief import drive_page
    from diagnose.screen.desk import console_for

    console, look = console_for()
    for of, drive in kept.items():
        title = {"good-car": "A car known to be good", "same-car-before": "The same car before"}[of]
        console.print(f"{title}, to stand beside the drives of {session.job}:")
        console.print(drive_page(session.library, drive, look))
    return None


def _said(session: Session, besides: list[Heard], found: dict[str, Any] | None) -> dict[str, Any] | None:
    """What the drive makes of the job: shown, or with what is printed as JSON."""
    from diagnose.screen.desk import console_for
    from diagnose.screen.prose import tell
    from diagnose.screen.repairs import repairs_json, repairs_page

    if found is not None:
        return {**found, "repairs": repairs_json(session)}
    console, look = console_for()
    console.print()
    console.print(repairs_page(session, look, drives=False))
    for each in besides:
        name = session.library.complaints[each.complaint].name
        tell(f"Felt as well, and no complaint of {session.job}: {name} (in the walk: a {each.complaint})")
    return None


def _demand(options: argparse.Namespace) -> None:
    """Refuse what does not go together."""
    if options.blank and (options.file or options.typed or options.before or options.reference):
        raise InputError("--blank prints an empty form: give no file and no other option with it")
    if options.blank and options.job:
        raise InputError("--blank prints an empty form: there is no drive to keep in a job yet")
    if options.blank and options.json:
        raise InputError("--blank prints a form for people: leave out --json")
    if options.save is not None and not options.typed:
        raise InputError("--save keeps what was typed: use it with --type")
    if options.typed and options.file:
        raise InputError(
            f"with --type the drive is told anew: `--save {plain_name(options.file)}` keeps it there"
        )
    if options.typed and options.json:
        raise InputError("--json does not go with --type: save the drive, then ask for its --json")
    later = options.after_days is not None or options.after_km is not None
    if later and not (options.job and (options.file or options.typed)):
        raise InputError(
            "--after-days and --after-km go with --job and a drive: it was so long after a repair"
        )
    if options.job and (options.before or options.reference) and not (options.file or options.typed):
        return  # only a drive to compare with is to be kept
    if not (options.file or options.typed or options.blank):
        raise InputError("name a debrief, or tell a drive with --type: `diagnose debrief --help` shows both")
    streams = [name for name in (options.file, options.before, options.reference) if name == "-"]
    if len(streams) > 1 or (streams and options.typed):
        raise InputError("standard input holds one thing only: give the others as files")


def _read(library: Library, name: str | None) -> Drive | None:
    from diagnose.debrief.read import read_drive

    return None if name is None else read_drive(library, read_bytes(name), shown_name(name))


def _told(
    library: Library, drive: Drive, before: Drive | None, reference: Drive | None, json: bool
) -> dict[str, Any] | None:
    """Show the drive and its comparisons, or give them for JSON."""
    from diagnose.debrief.compare import compare

    since = None if before is None else compare(library, before, drive)
    beside = None if reference is None else compare(library, reference, drive, other_car=True)
    if json:
        from diagnose.debrief.as_json import debrief_json

        return debrief_json(library, drive, since, beside)
    from diagnose.screen.debrief import changes_page, drive_page
    from diagnose.screen.desk import console_for

    console, look = console_for()
    console.print(drive_page(library, drive, look))
    if since is not None and before is not None:
        console.print()
        console.print(changes_page(library, since, before, look))
    if beside is not None and reference is not None:
        console.print()
        console.print(changes_page(library, beside, reference, look, reference=True))
    return None


# Told at the terminal --------------------------------------------------------------------------------


def _typed(options: argparse.Namespace, library: Library) -> Drive:
    from diagnose.debrief.drive import Drive
    from diagnose.debrief.write import drive_yaml
    from diagnose.screen.debrief_typing import type_drive
    from diagnose.screen.desk import make_desk
    from diagnose.screen.pages import paragraph

    path: Path | None = options.save
    known = _own(library, path) if path is not None and is_there(path) else Drive()

    def keep(latest: Drive) -> None:
        if path is not None:
            write_text(path, drive_yaml(latest, _HEAD))

    keep(known)  # a file that cannot be written is told before anything is typed
    desk = make_desk()
    drive = type_drive(desk, library, known, keep)
    if path is not None:
        # A path is there to be copied: it is neither cut nor wrapped.
        print(f"Kept in {plain_name(path)}")
    elif drive != Drive():
        desk.show(paragraph("Not kept, for want of --save FILE. As a file it is:", desk.look, 2))
        print(drive_yaml(drive))
    print()
    return drive


def _own(library: Library, path: Path) -> Drive:
    """The drive of an earlier session; a file of anybody else is not written over."""
    from diagnose.debrief.read import read_drive

    data = read_bytes(str(path))
    if not data.startswith(f"# {_HEAD}".encode()):
        raise InputError(
            f"{plain_name(path)}: is there already and was not written by --type; name a new file"
        )
    return read_drive(library, data, plain_name(path))
