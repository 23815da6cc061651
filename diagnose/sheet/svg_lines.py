"""Draws `Lines`: how likely the leading causes were to blame, answer by answer, each line named at its "
"end."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from diagnose.sheet.element import Element, element
from diagnose.sheet.pictures import Line, Lines
from diagnose.sheet.svg import DASHES, LETTER, SHAPES, WIDTH, frame, label, mark, spread
from diagnose.words import of_100

__all__ = ["draw_lines"]

_TOP, _HEIGHT, _LEFT = 22.0, 206.0, 30.0

#: Where the lines end and their names begin, how far names stand apart, and their rows.
_RIGHT, _GAP, _ROW = 208.0, 40.0, 12.5


def draw_lines(name: str, picture: Lines) -> Element:
    """The picture. A line's name stands at its end, with the figure there, on two rows."""
    bottom = max(_TOP + _HEIGHT, _TOP + _GAP * len(picture.lines))
    return frame(
        name,
        picture.title,
        picture.description,
        bottom + 34,
        [_scale(picture, bottom), _all(picture, bottom)],
    )


def _full(picture: Lines) -> float:
    """The upper end of the scale: a quarter, a half, three quarters or the whole."""
    most = max((value for line in picture.lines for value in line.values if value is not None), default=1.0)
    return next((end for end in (0.25, 0.5, 0.75) if most <= end), 1.0)


def _y(picture: Lines, value: float, bottom: float) -> float:
    return bottom - value / _full(picture) * (bottom - _TOP)


def _x(picture: Lines, point: int) -> float:
    most = max(len(picture.points) - 1, 1)
    return _LEFT + 8 + (_RIGHT - _LEFT - 14) * point / most


def _scale(picture: Lines, bottom: float) -> Iterator[Element]:
    yield label(4, 12, "of 100 such cars", "dim")
    for part in range(6):
        value = _full(picture) * part / 5
        y = _y(picture, value, bottom)
        yield element("line", x1=_LEFT, y1=y, x2=_RIGHT, y2=y, class_="grid")
        yield label(_LEFT - 4, y + 4, f"{100 * value:.0f}", "dim", "end")
    # As many numbers below as there is room for.
    every, last = max(1, -(-len(picture.points) // 10)), len(picture.points) - 1
    for point in range(len(picture.points)):
        if point == last or (point % every == 0 and last - point >= every):
            yield label(_x(picture, point), bottom + 15, str(point + 1), "dim", "middle")
    yield label((_LEFT + _RIGHT) / 2, bottom + 29, "answer number, as listed below", "dim", "middle")


def _all(picture: Lines, bottom: float) -> Iterator[Element]:
    ends = [_y(picture, line.last, bottom) for line in picture.lines]
    places = spread(ends, _GAP, _TOP + 10, bottom - 14)
    for number, line in reversed(list(enumerate(picture.lines))):
        yield from _line(picture, number, line, bottom)
        yield element(
            "path",
            d=f"M{_RIGHT - 2:.1f} {ends[number]:.1f}L{_RIGHT + 10:.1f} {places[number]:.1f}",
            class_="leader",
        )
        shape = SHAPES[number % len(SHAPES)]
        yield mark(shape, _RIGHT + 15, places[number], f"line-{number % 6}")
        start, room = _RIGHT + 22, WIDTH - _RIGHT - 24
        rows = _rows(line, room)
        for row, text in enumerate(rows):
            y = places[number] + 4 + _ROW * (row - (len(rows) - 1) / 2)
            figure, _, rest = text.partition(" ") if row == 0 else ("", "", text)
            strong = element("tspan", figure, class_="strong") if figure else None
            yield element("text", strong, f" {rest}" if figure else rest, x=start, y=y, class_="name")


def _rows(line: Line, room: float) -> list[str]:
    """The figure at the end of the line and its name, on up to three rows."""
    text = f"{of_100(line.last)}  {line.name}"
    return textwrap.wrap(text, int(room / LETTER), max_lines=3, placeholder="..")


def _line(picture: Lines, number: int, line: Line, bottom: float) -> Iterator[Element]:
    known = [(point, value) for point, value in enumerate(line.values) if value is not None]
    at = [(_x(picture, point), _y(picture, value, bottom)) for point, value in known]
    if len(at) > 1:
        path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in at)
        dash = DASHES[number % len(DASHES)]
        yield element("path", d=path, class_=f"curve line-{number % 6}", stroke_dasharray=dash or None)
    for x, y in at:
        yield mark(SHAPES[number % len(SHAPES)], x, y, f"line-{number % 6}", 2.8)
