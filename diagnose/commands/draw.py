"""`diagnose trees draw`: one fault tree in the terminal, as SVG, or as text for other tools."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.commands import whose
from diagnose.errors import InputError
from diagnose.job.files import is_there, plain_name, read_bytes, write_text

if TYPE_CHECKING:
    from diagnose.commands.whose import Whose
    from diagnose.drawing.picture import Box
    from diagnose.model.library import Library

__all__ = ["EXAMPLES", "add_arguments", "draw"]

#: The end of `diagnose trees draw --help`.
EXAMPLES = """\
examples:
  diagnose trees draw wander                    in the terminal
  diagnose trees draw wander --svg wander.svg   a picture for screen and paper
  diagnose trees draw --job last --svg job.svg  with what the last job makes of it
  diagnose trees draw shimmy --format mermaid   text for a page of Markdown
  diagnose trees draw shimmy --format dot       text for graph tools

docs/trees.md shows the symbols.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    whose.add_arguments(parser, side=False)
    parser.add_argument(
        "--format",
        choices=("text", "svg", "dot", "mermaid"),
        default=None,
        help="what to print (default: text for the terminal)",
    )
    parser.add_argument("--svg", metavar="FILE", type=Path, help="keep the picture as this file")


def draw(options: argparse.Namespace, library: Library) -> None:
    """Carry out the command."""
    from diagnose.drawing.picture import picture

    if options.svg is not None and options.format is not None:
        raise InputError("--svg FILE keeps the picture, --format prints it: keep one of them")
    if options.svg is not None:
        _ours(options.svg)
    asked = whose.whose(options, library, believe=True)
    marks = None
    if asked.belief is not None:
        from diagnose.drawing.believed import marks_of

        marks = marks_of(asked.belief, asked.complaint, asked.words)
    top = picture(library, asked.complaint, marks)
    if options.svg is not None:
        from diagnose.drawing.svg import svg

        write_text(options.svg, svg(top, _subtitle(asked)))
        # A path is there to be copied: it is neither cut nor wrapped.
        print(f"Kept in {plain_name(options.svg)}")
    elif options.format in (None, "text"):
        _show(top, _subtitle(asked))
    else:
        print(_written(options.format, top, _subtitle(asked)), end="")


def _ours(path: Path) -> None:
    """Refuse to write over a file that this command did not write."""
    from diagnose.drawing.svg import MADE_BY

    if is_there(path) and MADE_BY.encode() not in read_bytes(str(path))[:400]:
        raise InputError(f"{plain_name(path)}: is there already and was not drawn by --svg; name a new file")


def _subtitle(asked: Whose) -> str:
    """Whose car the figures are of; nothing where there are none."""
    if asked.belief is None:
        return ""
    side = f" Told of the {asked.side} side." if asked.side else ""
    return f"Of 100 cars such as {asked.words}.{side}"


def _show(top: Box, subtitle: str) -> None:
    from diagnose.drawing.text import lines_of, wrapped
    from diagnose.screen.desk import clean, console_for

    console, look = console_for()
    if subtitle:
        console.print(clean(subtitle), style="dim", soft_wrap=True)
    for line in wrapped(lines_of(top, ascii_only=not look.unicode), look.width):
        console.print(clean(line), soft_wrap=True)


def _written(form: str, top: Box, subtitle: str) -> str:
    if form == "dot":
        from diagnose.drawing.dot import dot

        return dot(top)
    if form == "mermaid":
        from diagnose.drawing.mermaid import mermaid

        return mermaid(top)
    from diagnose.drawing.svg import svg

    return svg(top, subtitle)
