"""Draws `Steps`: the chance of a cure as a staircase over the money spent."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.sheet.element import Element, element
from diagnose.sheet.pictures import Step, Steps
from diagnose.sheet.svg import WIDTH, frame, label, mark
from diagnose.words import of_100

__all__ = ["draw_steps"]

_LEFT, _RIGHT, _TOP, _BOTTOM = 30.0, 388.0, 26.0, 196.0


def draw_steps(name: str, picture: Steps) -> Element:
    """The picture. Steps are numbered on it and named, with the other ways, in the rows under it."""
    rows = [*picture.steps, *picture.others]
    height = _BOTTOM + 36 + 17 * len(rows)
    return frame(
        name, picture.title, picture.description, height, [_scale(picture), _stairs(picture), _names(rows)]
    )


def _most(picture: Steps) -> float:
    return max((each.money for each in (*picture.steps, *picture.others)), default=0.0) or 1.0


def _x(picture: Steps, money: float) -> float:
    # The last step goes on a little beyond what is spent.
    return _LEFT + 6 + (_RIGHT - _LEFT - 40) * money / _most(picture)


def _y(gone: float) -> float:
    return _BOTTOM - gone * (_BOTTOM - _TOP)


def _scale(picture: Steps) -> Iterator[Element]:
    yield label(4, 13, "gone, of 100 such jobs", "dim")
    for hundred in (0, 25, 50, 75, 100):
        y = _y(hundred / 100)
        yield element("line", x1=_LEFT, y1=y, x2=_RIGHT, y2=y, class_="grid")
        yield label(_LEFT - 4, y + 4, str(hundred), "dim", "end")
    yield label(_RIGHT, _BOTTOM + 16, "money spent, as listed below", "dim", "end")


def _stairs(picture: Steps) -> Iterator[Element]:
    path = ""
    for step in picture.steps:
        x, y = _x(picture, step.money), _y(step.gone)
        path += f"H{x:.1f}V{y:.1f}" if path else f"M{x:.1f} {y:.1f}"
    if path:
        yield element("path", d=f"{path}H{_RIGHT:.1f}", class_="curve line-0")
    marked = [
        *((step, "disc", 0) for step in picture.steps),
        *((each, "diamond", 1) for each in picture.others),
    ]
    for number, (step, shape, colour) in enumerate(marked):
        x, y = _x(picture, step.money), _y(step.gone)
        yield mark(shape, x, y, f"line-{colour}", 4.0)
        yield label(x - 7, y - 7 if y > _TOP + 12 else y + 16, _sign(number), "sign", "middle")


def _sign(number: int) -> str:
    """`A`, `B` ...: short names of the places on the picture."""
    return chr(ord("A") + number % 26)


def _names(rows: list[Step]) -> Iterator[Element]:
    for number, step in enumerate(rows):
        y = _BOTTOM + 40 + 17 * number
        yield label(8, y, _sign(number), "sign")
        yield label(26, y, step.name)
        yield label(WIDTH - 118, y, step.shown, "", "end")
        yield label(WIDTH - 4, y, f"gone in {of_100(step.gone)} of 100", "", "end")
