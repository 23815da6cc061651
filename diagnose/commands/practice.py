"""`diagnose practice`: a simulated car with hidden faults, to find out about and to compare."""

from __future__ import annotations

import argparse
import os
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.errors import InputError
from diagnose.library.paths import standing

if TYPE_CHECKING:
    from diagnose.model.library import Library
    from diagnose.model.story import Workshop
    from diagnose.practice.attempt import Attempt
    from diagnose.practice.record import Begun, Record
    from diagnose.screen.desk import Desk

__all__ = ["EXAMPLES", "add_arguments", "practice", "record_path"]

#: The end of `diagnose practice --help`.
EXAMPLES = """\
examples:
  diagnose practice                     a car of the level that your record says, any complaint
  diagnose practice wander --level 2    of one complaint, harder
  diagnose practice shimmy --level 2 --seed 7    the same car again, for two apprentices
  diagnose practice --record            how the last cars went

Levels: 1 one fault, among the first suspects; 2 not the first; 3 the first suspects
mislead; 4 two or three faults. q stops, and `diagnose practice` goes on there.
"""

#: Seeds are short enough to be told to somebody.
SEEDS = 1_000_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    parser.add_argument("complaint", nargs="?", help="its id (default: any)")
    parser.add_argument(
        "--level", type=int, choices=(1, 2, 3, 4), help="how hard (default: as the record says)"
    )
    parser.add_argument("--seed", type=_seed, help="the same seed, level and complaint: the same car")
    parser.add_argument("--new", action="store_true", help="leave the car that is open, for a new one")
    parser.add_argument("--record", action="store_true", help="show how the cars so far went")
    parser.add_argument("--json", action="store_true", help="with --record: print it as JSON")


def _seed(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or len(text) > 9:
        raise argparse.ArgumentTypeError(f"{text!r} is not a seed: write a whole number such as 7")
    return int(text)


def record_path(store: Path | None = None) -> Path:
    """Where the record is kept: beside the jobs, wherever those are."""
    from diagnose.job.journal import store_path

    return store_path(store).with_name("practice.jsonl")


def practice(options: argparse.Namespace, library: Library, workshop: Workshop) -> dict[str, Any] | None:
    """Carry out the command; with --record --json the result is returned, to be printed as such."""
    from diagnose.library.matching import known_complaint
    from diagnose.screen.desk import console_for, make_desk
    from diagnose.screen.practice import record_json, record_page

    path = record_path(getattr(options, "store", None))
    if options.json and not options.record:
        raise InputError("--json goes with --record: `diagnose practice --record --json`")
    if options.record:
        record = read(path)
        if options.json:
            return record_json(record)
        console, look = console_for()
        console.print(record_page(record, library, look))
        return None
    if options.complaint:
        known_complaint(library, options.complaint)
    _session(make_desk(), library, workshop, path, options)
    return None


def _session(
    desk: Desk, library: Library, workshop: Workshop, path: Path, options: argparse.Namespace
) -> None:
    """Cars one after the other, until the apprentice stops."""
    from diagnose.screen.choosing import Stop, say

    told = options.complaint or options.level or options.seed is not None or options.new
    try:
        attempt, begun = None, read(path).open
        if begun is not None and not told:
            attempt = _gone_on(desk, library, begun)
        if attempt is None or begun is None:
            attempt, begun = _begin(desk, library, workshop, path, options)
        while True:
            _one_car(desk, path, attempt, begun)
            say(desk, "")
            # What was asked for was asked for the first car.
            options.seed = options.level = None
            if desk.ask("[Enter] another car [q] stop >").strip().lower() in ("q", "quit", "n", "no"):
                return
            attempt, begun = _begin(desk, library, workshop, path, options)
    except (Stop, EOFError, KeyboardInterrupt):
        if read(path).open is not None:
            say(desk, "Kept: `diagnose practice` goes on with this car.")


def _gone_on(desk: Desk, library: Library, begun: Begun) -> Attempt | None:
    """The car begun and not ended, as it was left; None if it cannot be had any more, or is not wanted."""
    from diagnose.practice.attempt import Attempt
    from diagnose.practice.exercise import draw_exercise
    from diagnose.screen.choosing import Stop, say
    from diagnose.screen.practice import brought_page

    if begun.library != library.digest or (begun.asked and begun.asked not in library.complaints):
        say(desk, f"Car {begun.number} was drawn from other trees; it cannot go on.")
        return None
    pool = [begun.asked] if begun.asked else list(library.complaints)
    exercise = draw_exercise(library, pool, begun.level, begun.seed, begun.workshop)
    attempt = Attempt(exercise)
    try:
        attempt.replay(begun.moves)
    except ValueError:
        say(desk, f"What was done on car {begun.number} cannot be done again; a new car is begun.")
        return None
    desk.show(brought_page(exercise, begun.seed, begun.level, desk.look))
    if not attempt.at.there:
        return attempt
    while True:
        typed = desk.ask(f"[Enter] go on with car {begun.number} [n] a new one >").strip().lower()
        if typed in ("", "y", "yes"):
            return attempt
        if typed in ("n", "new"):
            return None
        if typed in ("q", "quit"):
            raise Stop
        say(desk, "Press Enter, or type n or q.")


def _begin(
    desk: Desk, library: Library, workshop: Workshop, path: Path, options: argparse.Namespace
) -> tuple[Attempt, Begun]:
    """A new car, which is on the disk before it is shown."""
    from diagnose.job.journal import utc_now
    from diagnose.practice.attempt import Attempt
    from diagnose.practice.exercise import draw_exercise
    from diagnose.practice.record import begun_line, left_line, next_level
    from diagnose.screen.choosing import say
    from diagnose.screen.practice import brought_page

    record = read(path)
    level = options.level or next_level(record.cars)
    seed = options.seed if options.seed is not None else secrets.randbelow(SEEDS)
    asked = options.complaint or ""
    pool = [asked] if asked else list(library.complaints)
    if record.open is not None:
        say(desk, f"Car {record.open.number} is left.", "dim")
    say(desk, "Drawing a car ...", "dim")
    try:
        exercise = draw_exercise(library, pool, level, seed, workshop)
    except ValueError as error:
        raise InputError(f"{error}: name another complaint") from error
    lines = [left_line(record.open.number)] if record.open is not None else []
    lines.append(begun_line(exercise, record.begun + 1, asked, seed, level, utc_now()))
    for line in lines:
        append(path, line)
    begun = read(path).open
    assert begun is not None
    desk.show(brought_page(exercise, seed, level, desk.look))
    return Attempt(exercise), begun


def _one_car(desk: Desk, path: Path, attempt: Attempt, begun: Begun) -> None:
    """One car to its end, and what the program made of it."""
    from diagnose.job.journal import utc_now
    from diagnose.practice.attempt import as_the_program
    from diagnose.practice.compare import compare
    from diagnose.practice.record import ended_line, move_line
    from diagnose.screen.choosing import say
    from diagnose.screen.practice import compared_page, level_line, progress_lines
    from diagnose.screen.practice_walk import practise

    def keep(move: Mapping[str, str]) -> None:
        append(path, move_line(begun.number, move))

    practise(desk, attempt, keep)
    say(desk, "Working out what the program does on the very same car ...", "dim")
    found = compare(attempt.exercise, attempt.trace, list(as_the_program(attempt.exercise)))
    append(path, ended_line(attempt.exercise, begun, found, utc_now(), attempt.hints))
    desk.show(compared_page(attempt.exercise, found, desk.look, attempt.hints))
    cars = read(path).cars
    say(desk, progress_lines(cars)[0])
    say(desk, level_line(cars))


# The file ---------------------------------------------------------------------------------------------


def read(path: Path) -> Record:
    """The record in that file; an empty one if there is none."""
    from diagnose.practice.record import read_record

    if standing(path) == "other":
        raise InputError(f"{path}: is a device or a pipe, and no record of practice; name another --store")
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        data = b""
    except OSError as error:
        raise InputError(
            f"{path}: the record of practice cannot be read ({error.strerror}); move it away"
        ) from error
    return read_record(data.decode("utf-8", "replace").splitlines())


def append(path: Path, line: str) -> None:
    """Write a line behind the others; returns once it is on the disk. Nobody else may read the file."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        number = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o600)
        try:
            size = os.lseek(number, 0, os.SEEK_END)
            os.lseek(number, max(size - 1, 0), os.SEEK_SET)
            # A line torn by a crash ends here; it is left out when the record is read.
            torn = b"\n" if size and os.read(number, 1) != b"\n" else b""
            os.write(number, torn + line.encode() + b"\n")
            os.fsync(number)
        finally:
            os.close(number)
    except OSError as error:
        raise InputError(
            f"{path}: the record of practice cannot be written ({error.strerror}); name another --store"
        ) from error
