"""Case files ranked, and measured where their cause is known."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.commands import given, values
from diagnose.errors import ImpossibleAnswers, InputError

if TYPE_CHECKING:
    from diagnose.choice.verdict import Verdict

__all__ = ["add_arguments", "measure", "rank", "show_verdict"]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What `rank` takes, beside the workshop."""
    parser.add_argument("case", help="a case file, or - for standard input")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")
    parser.add_argument(
        "--top", metavar="N", type=values.count, default=8, help="how many causes to show (default: 8)"
    )
    parser.add_argument(
        "--by",
        choices=("blame", "there", "minute", "money"),
        default="blame",
        help="order of the table: to blame (default), there, or blame per minute or per money",
    )


def rank(options: argparse.Namespace) -> int:
    """The ranking, the next checks and the conclusion of a case file."""
    from diagnose.job.case import read_case
    from diagnose.job.files import shown_name
    from diagnose.job.passing import passing

    library = given.library(options)
    case = read_case(library, given.read(options.case), shown_name(options.case))
    with passing(library, case, given.workshop(options, library, case.workshop)) as session:
        if options.json:
            from diagnose.report import ranking_json

            return given.print_json(ranking_json(session.verdict, session.story))
        show_verdict(session.verdict, options.top, options.by)
    return given.OK


def show_verdict(verdict: Verdict, top: int, by: str = "blame") -> None:
    """Print where a search stands. top: how many causes; by: their order, as in `rank --by`."""
    from diagnose.screen import pages
    from diagnose.screen.desk import console_for

    console, look = console_for()
    names = [verdict.library.complaints[c].name for c in verdict.car.complaints]
    console.print(pages.paragraph(" and ".join(names), look, 0, "bold"))
    console.print(pages.ranking_page(verdict, look, top, by))
    conflict = pages.conflict_page(verdict, look)
    if conflict is not None:
        console.print(conflict)
    if verdict.unfit:
        console.print(pages.unfit_page(verdict.unfit, look))
    if verdict.next is not None:
        check = verdict.library.checks[verdict.next.check]
        console.print(pages.check_page(verdict, check, look, verdict.next))
        page, _ = pages.others_page(verdict, look, 5)
        console.print(page)
    else:
        console.print(
            pages.paragraph("No further check saves more than it costs: decide now.", look, 0, "bold")
        )
    console.print(pages.conclusion_page(verdict, verdict.conclusion, look))


def measure(options: argparse.Namespace) -> int:
    """How the trees do on cases whose cause is confirmed."""
    from dataclasses import asdict

    from diagnose.job.case import read_case
    from diagnose.library.paths import standing
    from diagnose.measure import measure, summary
    from diagnose.screen.tables import measured_page

    library = given.library(options)
    files: list[Path] = []
    for path in options.paths:
        files += sorted(path.rglob("*.yaml")) if standing(path) == "folder" else [path]
    if not files:
        raise InputError(f"no case files in {', '.join(map(str, options.paths))}: they end in .yaml")
    results = []
    for file in files:
        case = read_case(library, given.read(str(file)), str(file))
        if case.confirmed is not None:
            try:
                results.append(measure(library, case, not options.quick))
            except ImpossibleAnswers as error:
                raise ImpossibleAnswers(f"{file}: {error}") from error
    if options.json:
        found = {"cases": [asdict(each) for each in results], "summary": asdict(summary(results))}
        return given.print_json({"format": "handling-diagnose/measured/2", **found})
    from diagnose.screen.desk import console_for

    console, look = console_for()
    console.print(measured_page(results, look))
    return given.OK
