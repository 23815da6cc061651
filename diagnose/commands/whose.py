"""Which car a command about a tree means: the reference car, that of a case file, or that of a job."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from typing import TYPE_CHECKING

from diagnose.errors import InputError
from diagnose.job.files import plain_name, read_bytes, shown_name

if TYPE_CHECKING:
    from diagnose.belief.belief import Belief
    from diagnose.model.library import Library
    from diagnose.model.vehicle import Vehicle

__all__ = ["Whose", "add_arguments", "whose"]


@dataclass(frozen=True)
class Whose:
    """A complaint of a car.

    words: whose car it is. belief: what is known of it, if it was asked for; None of the reference car.
    """

    complaint: str
    side: str | None
    vehicle: Vehicle
    words: str
    belief: Belief | None = None


def add_arguments(parser: argparse.ArgumentParser, *, side: bool) -> None:
    """The complaint, and the car of which it is asked. side: whether a side may be told without a file."""
    parser.add_argument(
        "complaint", nargs="?", help="its id (with --case or --job: default the first one told)"
    )
    parser.add_argument("--case", metavar="FILE", help="of the car of this case file (-: standard input)")
    parser.add_argument("--job", metavar="JOB", help="of the car of this job (last: the last one open)")
    if not side:
        return
    parser.add_argument(
        "--side", choices=("left", "right"), help="of a complaint to one side, where no file tells it"
    )


def whose(options: argparse.Namespace, library: Library, *, believe: bool) -> Whose:
    """What the options mean. believe: work out the belief of a case or job too; it must have the complaint.

    Raises InputError and the errors of case files, jobs and answers.
    """
    from diagnose.library.matching import known_complaint
    from diagnose.model.part import REFERENCE_KM, REFERENCE_YEARS
    from diagnose.model.vehicle import Vehicle

    if options.case and options.job:
        raise InputError("--case and --job exclude each other: keep one of them")
    if options.complaint is not None:
        known_complaint(library, options.complaint)
    if not options.case and not options.job:
        if options.complaint is None:
            raise InputError("name a complaint, or a car with --case or --job: `diagnose trees` lists them")
        side = _side(options, library, options.complaint, None)
        km = f"{REFERENCE_KM:,.0f}".replace(",", " ")
        words = f"the reference car: {km} km, {REFERENCE_YEARS:g} years"
        return Whose(options.complaint, side, Vehicle(), words)
    return (_of_case if options.case else _of_job)(options, library, believe)


def _of_case(options: argparse.Namespace, library: Library, believe: bool) -> Whose:
    from diagnose.belief.belief import Belief, Car
    from diagnose.job.case import read_case

    story = read_case(library, read_bytes(options.case), shown_name(options.case)).story
    complaint = _told(options, tuple(story.complaints), shown_name(options.case), believe)
    side = _side(options, library, complaint, story.complaints.get(complaint))
    belief = Belief(Car(library, story.vehicle, story.complaints), story) if believe else None
    name = plain_name(story.vehicle.name)
    return Whose(complaint, side, story.vehicle, name or f"the car of {shown_name(options.case)}", belief)


def _of_job(options: argparse.Namespace, library: Library, believe: bool) -> Whose:
    from diagnose.job.journal import Journal
    from diagnose.job.lookup import last_open
    from diagnose.job.session import Session

    with Journal.open(getattr(options, "store", None)) as journal:
        job = last_open(library, journal) if options.job == "last" else options.job
        if job is None:
            raise InputError("no job is open: `diagnose walk` begins one, `diagnose jobs` lists them all")
        session = Session(library, journal, job)
        story = session.story
        complaint = _told(options, tuple(story.complaints), job, believe)
        side = _side(options, library, complaint, story.complaints.get(complaint))
        belief = session.verdict.belief if believe else None
    return Whose(complaint, side, story.vehicle, f"the car of {job}", belief)


def _told(options: argparse.Namespace, told: tuple[str, ...], where: str, believe: bool) -> str:
    """The complaint asked for; without one, the first that was told."""
    if options.complaint is None:
        if not told:
            raise InputError(f"{where}: no complaint has been told yet; name one")
        return told[0]
    complaint: str = options.complaint
    if believe and complaint not in told:
        raise InputError(f"{where} does not tell of {complaint}: it tells of {', '.join(told) or 'nothing'}")
    return complaint


def _side(options: argparse.Namespace, library: Library, complaint: str, told: str | None) -> str | None:
    side: str | None = getattr(options, "side", None)
    if side is not None and not library.complaints[complaint].sided:
        raise InputError(f"--side: {complaint} has no side; leave it out")
    if side is not None and told is not None and side != told:
        raise InputError(f"--side {side}: {complaint} was told of the {told} side; leave it out")
    return side or told
