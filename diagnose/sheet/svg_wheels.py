"""Draws `Wheels`: a car from above, wheels turned by their toe, the thrust line, and every value in words.

Angles are exaggerated and nothing is to scale. What is out of range is told by a word and a thick outline.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from diagnose.sheet.element import Element, element
from diagnose.sheet.pictures import Wheel, Wheels
from diagnose.sheet.svg import WIDTH, frame, label

__all__ = ["draw_wheels"]

_MIDDLE = WIDTH / 2
#: Rows of the hubs, how far the wheels stand from the middle, half a wheel's length and width.
_FRONT, _REAR, _OFF = 74.0, 214.0, 46.0
_LONG, _WIDE = 24.0, 8.0

#: A tenth of a degree of toe turns a wheel by 2.5 degrees on the picture; of thrust by 2.
_TOE_TURN, _THRUST_TURN, _MOST_TURN = 25.0, 20.0, 20.0


def draw_wheels(name: str, picture: Wheels) -> Element:
    """The picture."""
    height = 268.0 + 15 * len(picture.lines)
    return frame(
        name,
        picture.title,
        picture.description,
        height,
        [_body(), _thrust(picture), _all_wheels(picture), _lines(picture)],
    )


def _body() -> Iterator[Element]:
    left, right, top, bottom = _MIDDLE - _OFF + 8, _MIDDLE + _OFF - 8, 26.0, 256.0
    yield element(
        "path",
        d=f"M{left + 16:.0f} {top:.0f}H{right - 16:.0f}Q{right:.0f} {top:.0f} {right:.0f} {top + 22:.0f}"
        f"V{bottom - 14:.0f}Q{right:.0f} {bottom:.0f} {right - 14:.0f} {bottom:.0f}H{left + 14:.0f}"
        f"Q{left:.0f} {bottom:.0f} {left:.0f} {bottom - 14:.0f}V{top + 22:.0f}Q{left:.0f} {top:.0f} "
        f"{left + 16:.0f} {top:.0f}Z",
        class_="body",
    )
    for y in (_FRONT, _REAR):
        yield element("line", x1=_MIDDLE - _OFF, y1=y, x2=_MIDDLE + _OFF, y2=y, class_="axle")
    yield element("line", x1=_MIDDLE, y1=16, x2=_MIDDLE, y2=256, class_="centre", stroke_dasharray="8 3 2 3")
    yield label(_MIDDLE, 12, "front", "dim", "middle")


def _turned(angle: float, factor: float) -> float:
    """Degrees on the picture, never more than so many."""
    return max(-_MOST_TURN, min(_MOST_TURN, math.degrees(angle) * factor))


def _thrust(picture: Wheels) -> Iterator[Element]:
    if picture.thrust is None:
        return
    turn = math.radians(_turned(picture.thrust, _THRUST_TURN))
    far = _REAR - 34
    x, y = _MIDDLE + far * math.sin(turn), _REAR - far * math.cos(turn)
    yield element("line", x1=_MIDDLE, y1=_REAR, x2=x, y2=y, class_="thrust")
    # An arrow head that points the way it goes.
    for side in (-1, 1):
        back = turn + math.pi + side * 0.42
        yield element(
            "line", x1=x, y1=y, x2=x + 9 * math.sin(back), y2=y - 9 * math.cos(back), class_="thrust"
        )


def _all_wheels(picture: Wheels) -> Iterator[Element]:
    for number, wheel in enumerate(picture.wheels):
        side, hub = (-1 if number % 2 == 0 else 1), (_FRONT if number < 2 else _REAR)
        x = _MIDDLE + side * _OFF
        verdicts = {verdict for _, verdict in wheel.lines}
        state = "out" if "out" in verdicts else "near" if "near" in verdicts else ""
        # Toe-in turns the front of either wheel towards the middle.
        turn = 0.0 if wheel.toe is None else -side * _turned(wheel.toe, _TOE_TURN)
        yield element(
            "rect",
            x=x - _WIDE,
            y=hub - _LONG,
            width=2 * _WIDE,
            height=2 * _LONG,
            rx=4,
            class_=f"wheel {state}".strip(),
            stroke_dasharray="3 3" if wheel.toe is None else None,
            transform=f"rotate({turn:.1f} {x:.1f} {hub:.1f})",
        )
        yield from _camber(wheel, x, hub, side)
        anchor = "end" if side < 0 else "start"
        beside = _MIDDLE + side * (_OFF + 22)
        top = hub - 6.5 * len(wheel.lines) + 2
        yield label(beside, top, wheel.name, "strong", anchor)
        for row, (text, verdict) in enumerate(wheel.lines, start=1):
            yield label(beside, top + 14 * row, text, verdict, anchor)


def _camber(wheel: Wheel, x: float, hub: float, side: int) -> Iterator[Element]:
    """Over the wheel, which way its top leans: an arrow, none where it stands upright or is not known."""
    if wheel.camber is None or abs(wheel.camber) < math.radians(0.05):
        return
    way = side if wheel.camber > 0.0 else -side
    y = hub - _LONG - 9
    yield element("line", x1=x - 7 * way, y1=y, x2=x + 7 * way, y2=y, class_="lean")
    yield element(
        "path",
        d=f"M{x + 3 * way:.1f} {y - 4:.1f}L{x + 8 * way:.1f} {y:.1f}L{x + 3 * way:.1f} {y + 4:.1f}",
        class_="lean",
    )


def _lines(picture: Wheels) -> Iterator[Element]:
    for row, text in enumerate(picture.lines):
        yield label(_MIDDLE, 276 + 15 * row, text, "", "middle")
