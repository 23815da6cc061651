"""`diagnose repair`: what was done to the car, what it still needs, how it drove since."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from diagnose.commands.typed import amount
from diagnose.errors import InputError

if TYPE_CHECKING:
    from diagnose.job.journal import Journal
    from diagnose.job.session import Session
    from diagnose.model.library import Library

__all__ = ["EXAMPLES", "add_arguments", "add_elapsed", "job_named", "repair"]

#: The end of `diagnose repair --help`.
EXAMPLES = """\
examples:
  diagnose repair                                   the last job, round by round, and what is still owed
  diagnose repair renew-drop-link@front-left --price 35 --hours 0.5
                                                    what was renewed, with what it cost
  diagnose repair set-front-toe --angles-set        a setting, the wheel angles with it
  diagnose repair --done wheel-retorque             work that a repair obliged to
  diagnose repair --felt no                         it was driven: the complaint is gone
  diagnose repair --felt probably --complaint wander --job job-7
  diagnose repair --felt yes --after-days 5         it was gone at first, and is back after five days
  diagnose repair --felt no --after-days 30 --after-km 1500
                                                    still gone: a better proof than the first drive

`diagnose trees remedies` lists the remedies. Drive only a car that is fit to be driven, on a road where it
harms nobody; local law comes first.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    parser.add_argument("remedies", nargs="*", metavar="REMEDY[@PLACE]", help="what was done, at which place")
    parser.add_argument("--job", default="last", help="the job (default: the last one told of)")
    parser.add_argument("--grade", default="", help="of the parts, in your own words")
    parser.add_argument("--price", type=amount, help="of the parts, all of them, in the job's currency")
    parser.add_argument("--hours", type=amount, help="of work, all of it")
    for name, what in (
        ("one-use", "one-use fixings were renewed"),
        ("at-height", "rubber bushes were tightened at ride height"),
        ("angles-set", "the wheel angles were set afterwards"),
    ):
        parser.add_argument(f"--{name}", action=argparse.BooleanOptionalAction, default=None, help=what)
    parser.add_argument(
        "--done", metavar="WORK", action="append", default=[], help="work that was owed and is done"
    )
    parser.add_argument(
        "--felt",
        choices=("yes", "probably", "faded", "cannot-tell", "probably-not", "no"),
        help="on the drive since: is the complaint still there? (faded: weaker than before, and there)",
    )
    add_elapsed(parser, "with --felt: ")
    parser.add_argument(
        "--by",
        choices=("road-test", "driver"),
        default="road-test",
        help="with --felt: on whose word (default: a road test)",
    )
    parser.add_argument("--complaint", metavar="ID", help="with --felt: of this complaint (default: of all)")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def add_elapsed(parser: argparse.ArgumentParser, when: str = "") -> None:
    """The options that say how long after the last repair something was felt."""
    for name, what in (("days", "days"), ("km", "kilometres")):
        parser.add_argument(
            f"--after-{name}",
            metavar="N",
            type=_elapsed,
            help=f"{when}so many {what} after the last repair, as an observation of its own",
        )


def _elapsed(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = 0.0
    if not 0.0 < value < 1e6:
        raise argparse.ArgumentTypeError(f"{text!r} is not a time after a repair: write a number, such as 5")
    return value


def repair(options: argparse.Namespace) -> dict[str, Any] | None:
    """Carry out the command; with --json the result is returned, to be printed as such."""
    from diagnose.job.journal import Journal
    from diagnose.job.session import Session
    from diagnose.library.shelf import load
    from diagnose.screen.desk import console_for
    from diagnose.screen.repairs import repairs_json, repairs_page

    if (options.after_days is not None or options.after_km is not None) and not options.felt:
        raise InputError(
            "--after-days and --after-km go with --felt: `diagnose repair --felt yes --after-days 5`"
        )
    if options.complaint and not options.felt:
        raise InputError("--complaint goes with --felt: `diagnose repair --felt no --complaint wander`")
    library = load(getattr(options, "trees", None))
    with Journal.open(getattr(options, "store", None)) as journal:
        session = Session(library, journal, job_named(library, journal, options.job))
        if not session.story.heard:
            raise InputError(
                f"{session.job} has no complaint yet: `diagnose resume {session.job}` asks for it"
            )
        _carry_out(session, options)
        if options.json:
            return repairs_json(session)
        console, look = console_for()
        console.print(repairs_page(session, look))
    return None


def job_named(library: Library, journal: Journal, wanted: str) -> str:
    """The job that is meant; `last`: the one that was told of last, open or closed. Raises InputError."""
    from diagnose.job.lookup import last_told

    if wanted != "last":
        return wanted
    job = last_told(library, journal)
    if job is None:
        raise InputError("there is no job yet: `diagnose walk` begins one")
    return job


def _carry_out(session: Session, options: argparse.Namespace) -> None:
    """Keep what was told; everything is looked up before anything is kept."""
    from diagnose.job import events as e
    from diagnose.library.nearest import suggest
    from diagnose.model.work import covered

    owed = {each.id for each in session.obligations}
    told = {name: getattr(options, name) for name in ("grade", "one_use", "at_height", "angles_set")}
    repairs = [session.repaired(each, **told) for each in options.remedies]
    if repairs:
        # What all of it cost stands with the first.
        first = {**told, "price": options.price, "hours": options.hours}
        repairs[0] = session.repaired(options.remedies[0], **first)
        owed |= {name for each in repairs for name in session.library.remedies[each.remedy].follow_ups}
    elif options.price is not None or options.hours is not None:
        raise InputError("--price and --hours go with a remedy: `diagnose repair renew-drop-link@front-left`")
    for name in options.done:
        if name not in owed and not covered(session.library.follow_ups, [name]) & owed:
            mend = suggest(name, owed, f"owed is {', '.join(sorted(owed)) or 'nothing'}")
            raise InputError(f"{name!r} is not owed: {mend}")
    complaints = session.verdict.car.complaints
    if options.complaint and options.complaint not in complaints:
        raise InputError(f"{options.complaint!r} is not a complaint of this job: {', '.join(complaints)}")
    if options.felt and not repairs and not session.state.rounds:
        raise InputError("nothing was repaired yet: name a remedy, or answer in `diagnose resume`")
    if options.felt and not repairs:
        session.demand_later(options.after_days, options.after_km)
    if repairs:
        session.repair(*repairs)
    if options.done:
        session.do(*(e.FollowedUp(name) for name in options.done))
    if options.felt:
        felt = [options.complaint] if options.complaint else list(complaints)
        session.feel(dict.fromkeys(felt, options.felt), options.after_days, options.after_km, options.by)
