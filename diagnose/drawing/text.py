"""One tree as lines of text, for the terminal."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from diagnose.drawing.picture import Box, mark_words

__all__ = ["Line", "lines_of", "wrapped"]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a drawn tree: depth from 0, the branch drawn before the text, and the text.

    below: the branch drawn before what follows of the same event.
    """

    depth: int
    connector: str
    text: str
    below: str = ""

    def __str__(self) -> str:
        return self.connector + self.text


@dataclass(frozen=True, slots=True)
class _Pens:
    tee: str
    end: str
    bar: str
    gap: str = "   "


_UNICODE = _Pens("├─ ", "└─ ", "│  ")
_ASCII = _Pens("|- ", "`- ", "|  ")


def lines_of(top: Box, *, ascii_only: bool = False) -> list[Line]:
    """One fault tree from the complaint down, a line an event; strengths in brackets, then what is believed.

    ascii_only draws the branches without box characters; texts stay as the library writes them.
    """
    pens = _ASCII if ascii_only else _UNICODE
    more = pens.bar if top.branches else ""
    lines = [Line(0, "", _text(top), more)]
    lines += [Line(0, more, words, more) for words in mark_words(top)]
    _draw_below(top, 1, "", pens, lines)
    return lines


def _draw_below(box: Box, depth: int, prefix: str, pens: _Pens, lines: list[Line]) -> None:
    for number, branch in enumerate(box.branches):
        end = number == len(box.branches) - 1
        below = prefix + (pens.gap if end else pens.bar)
        hanging = below + (pens.bar if branch.branches else pens.gap)
        lines.append(Line(depth, prefix + (pens.end if end else pens.tee), _text(branch), hanging))
        lines += [Line(depth, hanging, words, hanging) for words in mark_words(branch)]
        _draw_below(branch, depth + 1, below, pens, lines)


def _text(box: Box) -> str:
    """An event in words: `toe wrong: ANY OF (drive: rear) [0.8]`."""
    if box.kind == "unknown":
        return f"{box.name}?"
    name = box.name
    if box.gate:
        name = f"{name}: {box.gate_words}" if name else box.gate_words
    only = f" ({box.only})" if box.only else ""
    weight = f" [{box.strength:g}]" if box.strength < 1 or not box.gate else ""
    return f"{name}{only}{weight}"


def wrapped(lines: list[Line], width: int) -> list[str]:
    """The lines cut to a width, what is left over hanging under its own branch."""
    found = []
    for line in lines:
        found += textwrap.wrap(
            line.text,
            max(width, len(line.below) + 16),
            initial_indent=line.connector,
            subsequent_indent=line.below,
            break_on_hyphens=False,
        ) or [line.connector]
    return found
