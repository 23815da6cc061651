"""`diagnose angles`: a wheel-angle sheet read from a file or typed, questioned, judged and shown."""

from __future__ import annotations

import argparse
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.errors import InputError
from diagnose.job.files import is_there, plain_name, read_bytes, write_text

if TYPE_CHECKING:
    from diagnose.angles.doubts import Doubt
    from diagnose.angles.entries import Reading
    from diagnose.angles.sheet import Sheets
    from diagnose.choice.verdict import Verdict
    from diagnose.model.library import Library
    from diagnose.screen.desk import Look

__all__ = ["EXAMPLES", "add_arguments", "angles"]

#: The end of `diagnose angles --help`.
EXAMPLES = """\
examples:
  diagnose angles sheet.yaml                   the table, the drawing and the verdicts
  diagnose angles sheet.csv --units mm         with toe in millimetres
  diagnose angles sheet.yaml --complaint pull-to-one-side --side left
                                               and what they say of the causes
  diagnose angles sheet.yaml --job last        keep it in the job, and what it says there
  diagnose angles second.yaml --job last --again
                                               read once more: what does not repeat
  diagnose angles --type --save sheet.yaml     type the readings, keep them as a file
  diagnose angles --type car.yaml --save sheet.yaml
                                               the same with the limits that car.yaml holds
  diagnose angles --type --after --save sheet.yaml
                                               the second measurement into the same file

docs/angles.md describes the files. Signs: toe-in, top of the wheel out, top of the steering
axis back and in, and what points to the right are positive.
"""

#: The first line of every file that a typed session writes: only such a file is written over.
_HEAD = "Written by `diagnose angles --type`, which may write it anew: keep remarks of your own elsewhere."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    parser.add_argument(
        "file",
        nargs="?",
        help="a sheet, YAML or CSV, or - for standard input; with --type what is known already",
    )
    parser.add_argument(
        "--type", dest="typed", action="store_true", help="type the readings one by one; Enter skips one"
    )
    parser.add_argument("--save", metavar="FILE", type=Path, help="with --type: keep the sheet in this file")
    parser.add_argument(
        "--after", action="store_true", help="with --type: the measurement after the work (default: before)"
    )
    parser.add_argument(
        "--units",
        choices=("degrees", "minutes", "mm"),
        help="decimal degrees, degrees and minutes, or toe in mm (default: the file's, else minutes)",
    )
    parser.add_argument(
        "--general",
        action="store_true",
        help="judge differences of camber and caster by common practice where the sheet has no limit",
    )
    parser.add_argument(
        "--job",
        metavar="JOB",
        help="keep the sheet in this job (last: the last one open), and say what it makes of the causes",
    )
    parser.add_argument(
        "--complaint", metavar="ID", help="say what the angles make of the causes of this complaint"
    )
    parser.add_argument("--side", choices=("left", "right"), help="with --complaint: its side")
    parser.add_argument(
        "--again",
        action="store_true",
        help="with --job: a second reading, nothing set since the first; it shows what does not repeat",
    )
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def angles(options: argparse.Namespace) -> dict[str, Any] | None:
    """Carry out the command; with --json the result is returned, to be printed as such."""
    if options.job and options.complaint:
        raise InputError("--job has complaints of its own: leave out --complaint")
    if options.again and not options.job:
        raise InputError("--again goes with --job: the first reading stands there")
    if options.side and not options.complaint:
        raise InputError("--side goes with --complaint: `--complaint pull-to-one-side --side left`")
    if not options.typed:
        for name in ("save", "after"):
            if getattr(options, name):
                raise InputError(f"--{name} goes with --type: `diagnose angles --type --save sheet.yaml`")
        if options.file is None:
            raise InputError("name a sheet, or type one with --type: `diagnose angles --help` shows both")
        reading = _read(options.file)
        return _told(_in_units(reading.sheets, options), reading, options)
    if options.json:
        raise InputError("--json does not go with --type: save the sheet, then ask for its --json")
    sheets = _typed(options)
    return _told(sheets, None, options)


def _in_units(sheets: Sheets, options: argparse.Namespace) -> Sheets:
    return replace(sheets, units=options.units) if options.units else sheets


def _told(sheets: Sheets, reading: Reading | None, options: argparse.Namespace) -> dict[str, Any] | None:
    """Show the sheets, or give them for JSON."""
    from diagnose.angles.doubts import doubts
    from diagnose.angles.show import Shown

    sources = reading.sources if reading else {}
    if options.json:
        from diagnose.angles.as_json import sheets_json

        found = doubts(sheets, sources, Shown(sheets.units, sheets.car.toe_at))
        return {**sheets_json(sheets, found, options.general), **_causes(sheets, options)}
    from diagnose.screen.angles import shown_for
    from diagnose.screen.desk import console_for

    _, look = console_for()
    _show(sheets, doubts(sheets, sources, shown_for(sheets, look)), options.general)
    _causes(sheets, options)
    return None


def _causes(sheets: Sheets, options: argparse.Namespace) -> dict[str, Any]:
    """Keep the sheets in a job, and show what they make of the causes; with --json that is returned."""
    if not options.job and not options.complaint:
        return {}
    from diagnose.choice.verdict import Verdict
    from diagnose.job.sheets import effect
    from diagnose.library.shelf import load
    from diagnose.screen.angle_causes import causes_json, causes_page
    from diagnose.screen.desk import console_for
    from diagnose.screen.prose import tell

    library = load(getattr(options, "trees", None))
    kept = ""
    if options.job:
        from diagnose.job.journal import Journal
        from diagnose.job.lookup import last_open
        from diagnose.job.session import Session

        with Journal.open(getattr(options, "store", None)) as journal:
            job = last_open(library, journal) if options.job == "last" else options.job
            if job is None:
                raise InputError("no job is open: `diagnose walk` begins one, `diagnose jobs` lists them all")
            session = Session(library, journal, job)
            if not session.story.heard:
                raise InputError(f"{job} has no complaint yet: `diagnose resume {job}` asks for it")
            session.measure(sheets, options.again)
            verdict, sheets = session.verdict, session.sheets
            kept = f"Kept in {job}: `diagnose resume {job}` goes on from there."
    else:
        verdict = _alone(library, sheets, options)
    found = effect(library, verdict.car, verdict.belief.story, sheets)
    if not options.job:
        story = replace(verdict.belief.story, seen=found.said.answers)
        verdict = Verdict(verdict.car, story, verdict.workshop, "rig", None, found.said.checks, verdict.cures)
    if options.json:
        return {"ranking": causes_json(library, found, verdict), **({"job": job} if options.job else {})}
    console, look = console_for()
    console.print()
    console.print(causes_page(library, found, verdict, look))
    if kept:
        console.print()
        tell(kept)
    return {}


def _alone(library: Library, sheets: Sheets, options: argparse.Namespace) -> Verdict:
    """A car of which only the sheet and one complaint are known."""
    from diagnose.belief.belief import Car
    from diagnose.choice.cost import Cures
    from diagnose.choice.verdict import Verdict
    from diagnose.library.matching import known_complaint
    from diagnose.model.story import Heard, Story, Workshop
    from diagnose.model.vehicle import Vehicle

    complaint = known_complaint(library, options.complaint)
    told = {"front": sheets.car.front, "rear": sheets.car.rear}
    facts = {
        fact: value
        for fact, value in told.items()
        if fact in library.facts and value in {each.id for each in library.facts[fact].values}
    }
    vehicle = Vehicle(name=sheets.car.name, facts=facts)
    car = Car(library, vehicle, {complaint: options.side})
    workshop = Workshop()
    story = Story(vehicle, (Heard(complaint, options.side),))
    return Verdict(car, story, workshop, "rig", None, (), Cures(car, workshop))


def _show(sheets: Sheets, found: tuple[Doubt, ...], general: bool) -> None:
    from diagnose.screen.angle_words import doubts_page, verdicts_page
    from diagnose.screen.angles import judge_all, shown_for, table_page
    from diagnose.screen.desk import console_for
    from diagnose.screen.plan import plan_page

    console, look = console_for()
    shown = shown_for(sheets, look)
    judged = judge_all(sheets, shown, general)
    if sheets.units == "mm" and sheets.car.toe_at is None:
        console.print("Toe is shown as an angle: for mm the sheet needs `toe-at: 16 in`.", style="dim")
    console.print(table_page(sheets, judged, look, shown))
    if judged:
        console.print()
        console.print(plan_page(judged[-1], look, shown))
    console.print()
    console.print(verdicts_page(sheets, judged, look))
    if found:
        console.print()
        console.print(doubts_page(found, look))


# Files --------------------------------------------------------------------------------------------


def _read(name: str) -> Reading:
    from diagnose.job.sheets import read_file

    return read_file(name)


def _typed(options: argparse.Namespace) -> Sheets:
    from diagnose.angles.sheet import Sheets
    from diagnose.angles.write import sheet_yaml
    from diagnose.screen.angle_typing import type_sheet
    from diagnose.screen.desk import make_desk
    from diagnose.screen.pages import paragraph

    if options.file == "-":
        raise InputError("with --type the readings come from standard input: name the sheet as a file")
    path: Path | None = options.save
    known = _read(options.file).sheets if options.file else Sheets()
    if path is not None and is_there(path):
        if options.file:
            raise InputError(
                f"{plain_name(path)}: is there already; name a new file, or leave out {options.file}"
            )
        known = _own(path)
    sheets = _in_units(known, options)
    if path is not None:
        _keep(path, sheets)  # a file that cannot be written is told before anything is typed

    def keep(latest: Sheets) -> None:
        if path is not None:
            _keep(path, latest)

    desk = make_desk()
    sheets = type_sheet(desk, sheets, "after" if options.after else "before", keep)
    if path is not None:
        # A path is there to be copied: it is neither cut nor wrapped.
        print(f"Kept in {plain_name(path)}")
    elif any(sheets.both()):
        desk.show(paragraph("Not kept, for want of --save FILE. As a file it is:", desk.look, 2))
        print(_in_letters_of(desk.look, sheet_yaml(sheets)))
    print()
    return sheets


def _in_letters_of(look: Look, text: str) -> str:
    """A sheet's text as this terminal can show it; it reads the same."""
    if look.unicode:
        return text
    return re.sub(r"(?<=\d)°", "d", re.sub(r"(?<=\d)'", "min", text))


def _own(path: Path) -> Sheets:
    """The sheets of an earlier session; a file of anybody else is not written over."""
    if not read_bytes(str(path)).startswith(f"# {_HEAD}".encode()):
        raise InputError(
            f"{plain_name(path)}: is there already and was not written by --type; name a new file, "
            f"or `diagnose angles --type {plain_name(path)} --save NEW` goes on from it"
        )
    return _read(str(path)).sheets


def _keep(path: Path, latest: Sheets) -> None:
    """Write the file; returns once it is on the disk."""
    from diagnose.angles.write import sheet_yaml

    write_text(path, sheet_yaml(latest, _HEAD))
