"""`diagnose trees cuts`: the minimal cut sets of a complaint's tree, and how much each event weighs."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from diagnose.commands import whose
from diagnose.errors import InputError

if TYPE_CHECKING:
    from diagnose.model.library import Library

__all__ = ["EXAMPLES", "add_arguments", "cuts"]

#: The end of `diagnose trees cuts --help`.
EXAMPLES = """\
examples:
  diagnose trees cuts shimmy                   of the reference car
  diagnose trees cuts shimmy --order 2 --top 20
                                               sets of at most two faults, the twenty likeliest
  diagnose trees cuts --case car.yaml          of the car of a case file
  diagnose trees cuts wander --job last        of the car of the last job

docs/fault-trees.md says what the figures mean. They are of the car before any check.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    whose.add_arguments(parser, side=True)
    parser.add_argument(
        "--top", metavar="N", type=_count, default=10, help="how many sets and events to show (default: 10)"
    )
    parser.add_argument(
        "--order", metavar="N", type=_count, help="only sets in which at most N faults must come together"
    )
    parser.add_argument(
        "--links", action="store_true", help="importance of links as well, not only of faults and leaks"
    )
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or not 1 <= int(text) <= 10_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a count: write a whole number from 1")
    return int(text)


def cuts(options: argparse.Namespace, library: Library) -> dict[str, Any] | None:
    """Carry out the command; with --json the result is returned, to be printed as such."""
    from diagnose.belief.network import expand
    from diagnose.faulttree.tree import FaultTree
    from diagnose.screen.cuts import cuts_json, cuts_page
    from diagnose.screen.desk import console_for

    asked = whose.whose(options, library, believe=False)
    network = expand(library, asked.vehicle, {asked.complaint: asked.side})
    if asked.complaint not in network.nodes:
        raise InputError(f"{asked.complaint}: nothing in its tree can raise it on this car")
    tree = FaultTree(network, asked.complaint)
    if options.json:
        return cuts_json(library, tree, asked.side, options.top, options.order)
    console, look = console_for()
    console.print(
        cuts_page(library, tree, asked.words, asked.side, look, options.top, options.order, options.links)
    )
    return None
