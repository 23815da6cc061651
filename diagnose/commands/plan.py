"""`diagnose plan`: what to replace first, in which stages, for which money."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from diagnose.commands.typed import amount
from diagnose.errors import InputError

if TYPE_CHECKING:
    from diagnose.choice.verdict import Verdict
    from diagnose.job.session import Session
    from diagnose.model.library import Library
    from diagnose.model.story import Workshop
    from diagnose.plan.planner import Planner
    from diagnose.plan.wishes import Offer, Wishes

__all__ = ["EXAMPLES", "add_arguments", "plan"]

#: The end of `diagnose plan --help`.
EXAMPLES = """\
examples:
  diagnose plan                                     what to replace first in the last job
  diagnose plan estate.yaml --budget 900            of a case file, within so much for all stages
  diagnose plan --wishes purse.yaml                 prices, budgets and likings from a file
  diagnose plan --own-labour --only front           what if: own labour; the front axle only
  diagnose plan --price renew-inner-tie-rod=52 --without budget
  diagnose plan --deadline 20 --care inspection=2   the annual inspection is in 20 days
  diagnose plan --keep                              keep the plan in the job, to compare with what happens

The plan advises and certifies nothing: the maker's data, local law and licensed practice come first.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    parser.add_argument("case", nargs="?", help="a case file, or - (default: the job)")
    parser.add_argument("--job", default="last", help="the job (default: the last one told of)")
    parser.add_argument("--wishes", metavar="FILE", help="prices, budgets and likings (docs/plan.md)")
    parser.add_argument("--budget", type=amount, help="the most for all stages, if all are needed")
    parser.add_argument("--stage-budget", type=amount, help="the most for any one stage")
    parser.add_argument("--stages", type=_stages, help="at most so many stages (default: 3)")
    parser.add_argument("--deadline", type=_days, metavar="DAYS", help="days to the annual inspection")
    parser.add_argument("--worth", type=amount, help="what it is worth to be rid of a complaint")
    parser.add_argument("--keep-km", type=amount, help="how far the car is to be driven yet (default: 30000)")
    parser.add_argument(
        "--own-labour",
        type=amount,
        nargs="?",
        const=0.0,
        metavar="RATE",
        help="you do the work; an hour of yours is worth RATE (default: 0)",
    )
    parser.add_argument("--only", choices=("front", "rear"), help="work on this axle only")
    parser.add_argument(
        "--without",
        choices=("maker", "unmarked", "budget"),
        action="append",
        default=[],
        help="no such parts",
    )
    parser.add_argument(
        "--care",
        type=_care,
        action="append",
        default=[],
        metavar="WHAT=WEIGHT",
        help="feel, tyres, safety or inspection, with a weight (1: as usual)",
    )
    parser.add_argument(
        "--price", action="append", default=[], metavar="REMEDY=AMOUNT", help="a price that was asked for"
    )
    parser.add_argument("--labour-rate", type=amount, help="money per hour of the workshop")
    parser.add_argument("--currency", help="its sign or letters")
    parser.add_argument("--keep", action="store_true", help="keep the plan in the job")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def _stages(text: str) -> int:
    if text not in ("1", "2", "3", "4", "5"):
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of stages: write 1 to 5")
    return int(text)


def _days(text: str) -> int:
    if not text.isdecimal() or int(text) > 3650:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a number of days: write a whole number, such as 20"
        )
    return int(text)


def _care(text: str) -> tuple[str, float]:
    from diagnose.plan.wishes import CARES

    what, _, weight = text.partition("=")
    if what not in CARES:
        raise argparse.ArgumentTypeError(f"{what!r} is none of {', '.join(CARES)}: write such as feel=2")
    return what, amount(weight or "1")


@dataclass(frozen=True)
class _Subject:
    """What is planned for: a job, or a case file."""

    verdict: Verdict
    workshop: Workshop
    session: Session | None


def plan(
    options: argparse.Namespace, library: Library, read: Callable[[str], bytes]
) -> dict[str, Any] | None:
    """Carry out the command; with --json the result is returned, to be printed as such."""
    from diagnose.job.journal import Journal
    from diagnose.plan.planner import Planner
    from diagnose.screen.desk import console_for

    if options.case is not None and options.keep:
        raise InputError("--keep goes with a job: a case file keeps nothing")
    wishes = _wishes(options, library, read)
    console, look = console_for()
    if options.case is not None:
        subject = _of_case(options, library, read)
        planner = Planner(subject.verdict.belief, subject.verdict.cures, wishes, subject.workshop)
        return _show(options, library, subject, planner, console, look)
    with Journal.open(getattr(options, "store", None)) as journal:
        subject = _of_job(options, library, journal)
        planner = Planner(subject.verdict.belief, subject.verdict.cures, wishes, subject.workshop)
        return _show(options, library, subject, planner, console, look)


def _show(
    options: argparse.Namespace,
    library: Library,
    subject: _Subject,
    planner: Planner,
    console: Any,
    look: Any,
) -> dict[str, Any] | None:
    from diagnose.job.planned import kept, so_far
    from diagnose.plan.as_json import plan_json
    from diagnose.screen.so_far import so_far_json, so_far_page
    from diagnose.screen.stages import amounts, plan_page

    verdict, session = subject.verdict, subject.session
    made = planner.plan()
    gone_by = so_far(session) if session is not None else None
    if options.keep and session is not None:
        session.do(kept(made))
    complaints = list(verdict.car.complaints)
    if options.json:
        found = plan_json(made, planner.wishes, planner.workshop)
        found["so_far"] = None if gone_by is None else so_far_json(gone_by)
        found["look_first"] = None if verdict.next is None else verdict.next.check
        return found
    write = amounts(planner.workshop, planner.wishes)
    if gone_by is not None:
        console.print(so_far_page(gone_by, made, library, planner.behind.worth, write, look))
    page = plan_page(made, library, complaints, planner.wishes, planner.workshop, look, verdict.next)
    console.print(page)
    if options.keep:
        console.print("Kept in the job.")
    return None


def _of_case(options: argparse.Namespace, library: Library, read: Callable[[str], bytes]) -> _Subject:
    from diagnose.job.case import read_case
    from diagnose.job.files import shown_name
    from diagnose.job.passing import passing

    case = read_case(library, read(options.case), shown_name(options.case))
    with passing(library, case, case.workshop) as session:
        return _Subject(session.verdict, session.verdict.workshop, None)


def _of_job(options: argparse.Namespace, library: Library, journal: Any) -> _Subject:
    from diagnose.commands.repair import job_named
    from diagnose.job.session import Session

    session = Session(library, journal, job_named(library, journal, options.job))
    if not session.story.heard:
        raise InputError(f"{session.job} has no complaint yet: `diagnose resume {session.job}` asks for it")
    return _Subject(session.verdict, session.verdict.workshop, session)


def _wishes(options: argparse.Namespace, library: Library, read: Callable[[str], bytes]) -> Wishes:
    """The wishes of the file, changed by the options."""
    from diagnose.plan.read import read_wishes
    from diagnose.plan.wishes import Wishes

    wishes = (
        Wishes() if options.wishes is None else read_wishes(library, read(options.wishes), options.wishes)
    )
    told: dict[str, Any] = {
        "budget": options.budget,
        "stage_budget": options.stage_budget,
        "stages": options.stages,
        "deadline": options.deadline,
        "worth": options.worth,
        "own_rate": options.own_labour,
        "only": options.only,
        "rate": options.labour_rate,
        "currency": options.currency,
    }
    wishes = replace(wishes, **{name: value for name, value in told.items() if value is not None})
    if options.keep_km is not None:
        # At the same pace for as long.
        usual = Wishes()
        years = usual.keep_years * options.keep_km / usual.keep_km
        wishes = replace(wishes, keep_km=options.keep_km, keep_years=years)
    offers = dict(wishes.offers)
    for text in options.price:
        name, offer = _price(text, library)
        offers[name] = (*(each for each in offers.get(name, ()) if each.grade != offer.grade), offer)
    return replace(
        wishes,
        offers=offers,
        without=wishes.without | frozenset(options.without),
        cares={**wishes.cares, **dict(options.care)},
    )


def _price(text: str, library: Library) -> tuple[str, Offer]:
    from diagnose.library.nearest import suggest
    from diagnose.plan.wishes import UNMARKED, Offer

    name, _, typed = text.partition("=")
    if name not in library.remedies:
        mend = suggest(name, library.remedies, "`diagnose trees remedies` lists them all")
        raise InputError(f"there is no remedy {name!r}: {mend}")
    try:
        amount(typed)
    except argparse.ArgumentTypeError as error:
        raise InputError(f"--price {name}: {error}") from None
    price = Decimal(typed.replace(",", ".").strip())
    return name, Offer(UNMARKED, price, low=price, high=price)
