"""The library looked at: lists, rows, drawings, cut sets, weights, and one's own trees checked."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands import cuts as _cuts
from diagnose.commands import draw as _draw
from diagnose.commands import given
from diagnose.commands.helps import add_command
from diagnose.errors import LibraryError

__all__ = ["add_commands", "check", "cuts", "draw", "schema", "show", "trees", "weigh"]


def add_commands(parser: argparse.ArgumentParser, shared: argparse.ArgumentParser) -> None:
    """`trees` and what may follow it. shared: what every command takes."""
    parser.add_argument("--json", action="store_true", help="print the list as JSON")
    parser.set_defaults(command=trees, what="complaints")
    of = parser.add_subparsers(metavar="WHAT")
    for what in ("complaints", "causes", "checks", "remedies", "parts", "conditions", "sources"):
        listing = of.add_parser(what, parents=[shared], help=f"list the {what}")
        listing.add_argument("--json", action="store_true", help="print the list as JSON")
        listing.set_defaults(command=trees, what=what)
    row = of.add_parser(
        "show", parents=[shared], help="one row of any kind with its figures and their sources"
    )
    row.add_argument("id", help="id of a complaint, mechanism, fault, part, check or remedy")
    row.add_argument("--json", action="store_true", help="print it as JSON")
    row.set_defaults(command=show)
    told = "one fault tree as a drawing, in the terminal or as a picture; with a job's figures if wanted"
    add_command(of, "draw", _draw, draw, told, shared)
    told = "what it takes to raise a complaint: minimal cut sets, and how much each fault weighs"
    add_command(of, "cuts", _cuts, cuts, told, shared)
    weighing = of.add_parser(
        "weigh", parents=[shared], help="what a complaint says by itself, and which questions move nothing"
    )
    weighing.add_argument("complaint", nargs="?", help="its id (default: list what moves nothing in any)")
    weighing.add_argument("--json", action="store_true", help="print it as JSON")
    weighing.set_defaults(command=weigh)
    checking = of.add_parser("check", parents=[shared], help="validate a folder of trees of your own")
    checking.add_argument("path", type=Path)
    checking.add_argument("--json", action="store_true", help="print the problems as JSON")
    checking.set_defaults(command=check)
    shape = of.add_parser("schema", help="JSON Schema of a tree file, for editors")
    shape.set_defaults(command=schema)


def trees(options: argparse.Namespace) -> int:
    """A list of the library."""
    from diagnose.screen import tables
    from diagnose.screen.desk import console_for

    library = given.library(options)
    rows = tables.listing(library, options.what)
    if getattr(options, "json", False):
        return given.print_json({"format": f"handling-diagnose/{options.what}/1", options.what: rows})
    console, look = console_for()
    console.print(tables.listing_page(options.what, rows, look, library.areas))
    return given.OK


def show(options: argparse.Namespace) -> int:
    """One row of it."""
    from diagnose.screen import tables
    from diagnose.screen.desk import console_for

    library = given.library(options)
    row = tables.find_row(library, options.id)
    if options.json:
        return given.print_json({"format": "handling-diagnose/row/1", **row})
    console, look = console_for()
    console.print(tables.row_page(library, row, look))
    return given.OK


def draw(options: argparse.Namespace) -> int:
    """One tree as a drawing."""
    _draw.draw(options, given.library(options))
    return given.OK


def cuts(options: argparse.Namespace) -> int:
    """Minimal cut sets of a tree, and what each fault weighs."""
    return given.result("cuts", _cuts.cuts(options, given.library(options)))


def weigh(options: argparse.Namespace) -> int:
    """What a complaint says by itself, and which questions move nothing."""
    from diagnose.choice.influence import weigh, weigh_all
    from diagnose.library.matching import known_complaint
    from diagnose.screen import tables
    from diagnose.screen.desk import console_for

    library = given.library(options)
    console, look = console_for()
    if options.complaint:
        known_complaint(library, options.complaint)
        one = weigh(library, options.complaint)
        if options.json:
            return given.print_json({"format": "handling-diagnose/weighed/1", **tables.weighed_json(one)})
        console.print(tables.weighed_page(library, one, look))
        return given.OK
    idle = weigh_all(library)
    if options.json:
        return given.print_json({"format": "handling-diagnose/idle/1", **tables.idle_json(idle)})
    console.print(tables.idle_page(library, idle, look))
    return given.OK


def check(options: argparse.Namespace) -> int:
    """Read a folder of trees, and tell what is wrong with it."""
    from diagnose.library.shelf import check

    problems = check(options.path)
    if options.json:
        given.print_json(
            {
                "format": "handling-diagnose/problems/1",
                "problems": [
                    {
                        "file": p.place.file,
                        "line": p.place.line,
                        "column": p.place.column,
                        "wrong": p.wrong,
                        "mend": p.mend,
                    }
                    for p in problems
                ],
            }
        )
        return given.MISTAKE if problems else given.OK
    if problems:
        raise LibraryError(problems)
    given.say(f"{options.path}: no problems")
    return given.OK


def schema(options: argparse.Namespace) -> int:
    """The JSON Schema of a tree file."""
    from diagnose.library.schema import json_schema

    return given.print_json(json_schema())
