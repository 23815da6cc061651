"""Draws `Ways`: part of a fault tree, top down and indented, so that it can be read on a narrow screen.

Each row has its mark, its name, and under it a bar with both figures and the words for how it stands. How it
stands is told by the mark, by the line that leads to it, by the words, and by a name that is struck.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from diagnose.drawing.metrics import fitted
from diagnose.sheet.element import Element, element
from diagnose.sheet.pictures import Way, Ways
from diagnose.sheet.svg import frame, label, mark

__all__ = ["draw_ways", "pieces"]

#: Narrower than the other pictures: it is all text. Letters are 12 high.
WIDE, LETTERS = 350.0, 12.0

#: Height of a line of text, room between rows, how far a row stands in, from the mark to the text.
_LINE, _GAP, _STEP, _TEXT = 14.5, 8.0, 15.0, 12.0

#: A bar of figures: its width and height, the room behind it.
_BAR, _HIGH, _BEHIND = 40.0, 7.0, 6.0

#: A picture is no higher than this: printed in its column it fits a page of Letter with its heading.
HIGHEST = 640.0

_SHAPES = {"leads": "disc", "open": "ring", "out": "cross", "done": "diamond"}


def pieces(top: Way) -> list[Way]:
    """The tree in as few parts as it takes for each to be no higher than a picture may be, alike in height.

    Every part has the complaint on top, and some of its branches whole.
    """
    alone = _height(replace(top, below=()))
    heights = [_height(replace(top, below=(branch,))) - alone for branch in top.below]
    high = HIGHEST - alone
    parts = _filled(heights, high)
    while high > 0.0 and len(lower := _filled(heights, high)) == len(parts):
        parts, high = lower, high - _LINE
    return [replace(top, below=tuple(top.below[number] for number in part)) for part in parts]


def _filled(heights: Sequence[float], room: float) -> list[list[int]]:
    """The branches (numbers) in order, in parts of no more than this height, but for a branch that is higher
    by itself."""
    parts: list[list[int]] = [[]]
    used = 0.0
    for number, height in enumerate(heights):
        if parts[-1] and used + height > room:
            parts.append([])
            used = 0.0
        parts[-1].append(number)
        used += height
    return parts


def draw_ways(name: str, picture: Ways) -> Element:
    """The picture."""
    rows = _rows(picture.top)
    return frame(
        name,
        picture.title,
        picture.description,
        rows[-1].bottom + 4.0,
        [[*_lines(rows)], [each for row in rows for each in _row(row)]],
        wide=WIDE,
    )


@dataclass(frozen=True)
class _Row:
    """A row at its place. over: the number of the row above it in the tree, -1 for the top."""

    way: Way
    depth: int
    over: int
    top: float

    @property
    def x(self) -> float:
        """The middle of its mark."""
        return 7.0 + _STEP * self.depth

    @property
    def y(self) -> float:
        """The middle of its mark, and of the first line of its name."""
        return self.top + _LINE / 2.0

    @property
    def text(self) -> float:
        """Where its text begins."""
        return self.x + _TEXT

    @cached_property
    def names(self) -> list[str]:
        """Its name in lines."""
        return fitted(self.way.name, LETTERS, WIDE - self.text - 2.0, bold=_is_bold(self.way))

    @cached_property
    def told(self) -> list[str]:
        """Its figures in words, in lines: the first beside the bar, if there is one."""
        room = WIDE - self.text - 2.0 - (_BAR + _BEHIND if self.has_bar else 0.0)
        said = [text for text in (self.way.figure, self.way.gate) if text]
        return [line for text in said for line in fitted(text, LETTERS, room)]

    @property
    def has_bar(self) -> bool:
        """True if it has a figure of its own to be shown as a bar; that of the complaint says nothing."""
        return self.way.now is not None and self.way.kind != "complaint"

    @property
    def bottom(self) -> float:
        """Its lower end."""
        return self.top + _LINE * (len(self.names) + len(self.told))


def _is_bold(way: Way) -> bool:
    return way.kind == "complaint" or way.state == "leads"


def _rows(top: Way) -> list[_Row]:
    """The rows one below the other."""
    rows: list[_Row] = []

    def lay(way: Way, depth: int, over: int) -> None:
        rows.append(_Row(way, depth, over, rows[-1].bottom + _GAP if rows else 2.0))
        number = len(rows) - 1
        for each in way.below:
            lay(each, depth + 1, number)

    lay(top, 0, -1)
    return rows


def _height(top: Way) -> float:
    return _rows(top)[-1].bottom


def _lines(rows: list[_Row]) -> Iterator[Element]:
    """The ways: down from each row, and across to each that stands under it, the thicker the likelier."""
    for number, row in enumerate(rows):
        below = [each for each in rows if each.over == number]
        if below:
            yield element("path", d=f"M{row.x:.1f} {row.y:.1f}V{below[-1].y:.1f}", class_="way")
        for each in below:
            width = 1.2 + 4.0 * (each.way.now or 0.0)
            yield element(
                "path",
                d=f"M{row.x:.1f} {each.y:.1f}H{each.x:.1f}",
                class_=f"way {each.way.state}",
                stroke_width=width,
                stroke_dasharray="1.5 2.5" if each.way.state == "out" else None,
            )


def _row(row: _Row) -> Iterator[Element]:
    way = row.way
    if way.kind != "complaint":
        yield mark(_SHAPES[way.state], row.x, row.y, f"state {way.state}", 4.4)
    else:
        yield mark("square", row.x, row.y, "state top", 5.0)
    y = row.top + 11.0
    for line in row.names:
        yield label(row.text, y, line, f"name {way.state} {'strong' if _is_bold(way) else ''}".strip())
        y += _LINE
    if row.has_bar:
        yield from _bar(way, row.text, y - 7.5)
    indent = _BAR + _BEHIND if row.has_bar else 0.0
    for line in row.told:
        yield label(row.text + indent, y, line, "dim")
        y += _LINE


def _bar(way: Way, x: float, y: float) -> Iterator[Element]:
    """Where it stands of 100, and a mark across where it stood at first."""
    yield element("rect", x=x, y=y, width=_BAR, height=_HIGH, class_="scale")
    now = min(max(way.now or 0.0, 0.0), 1.0)
    if now >= 0.005:
        yield element("rect", x=x, y=y, width=_BAR * now, height=_HIGH, class_=f"amount {way.state}")
    if way.was is not None:
        at = x + _BAR * min(max(way.was, 0.0), 1.0)
        yield element("line", x1=at, y1=y - 2.0, x2=at, y2=y + _HIGH + 2.0, class_="first")
