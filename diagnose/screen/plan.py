"""The car of a wheel-angle sheet from above, in plain characters: wheels turned by toe, thrust line, marks.

Angles are exaggerated and nothing is to scale. Out of range is told by a mark and a word, and in colour.
"""

from __future__ import annotations

import math

from rich.text import Text

from diagnose.angles.sheet import SIDES
from diagnose.angles.show import Shown
from diagnose.screen.angles import MARKS, STYLES, Judged
from diagnose.screen.desk import Look

__all__ = ["LEAST_WIDTH", "plan_page"]

#: Columns below which there is no room for the drawing and what is written beside it.
LEAST_WIDTH = 78

#: Rows of the drawing: hubs of both axles, and the last of all.
_FRONT, _REAR, _LAST = 3, 13, 17

#: Half a wheel in rows, and how far its ends go sideways at most, in columns.
_HALF, _MOST = 2, 3

#: A tenth of a degree of toe turns the front of a wheel by a column; thrust goes 6 columns in half a degree.
_TOE_COLUMN, _THRUST_COLUMN, _THRUST_MOST = math.radians(0.1), math.radians(0.5) / 6.0, 6

#: Columns from the middle of the car to the middle of a wheel.
_OFF = 12

_LEGEND = "top: to where the top of a wheel leans.  ! out  ~ near a limit"


def plan_page(one: Judged, look: Look, shown: Shown) -> Text:
    """The drawing of one measurement, 20 lines high; in a terminal too narrow for it, a line that says so."""
    if look.width < LEAST_WIDTH:
        return Text(f"The drawing needs {LEAST_WIDTH} columns.", style="dim")
    return _Plan(one, look, shown).page()


class _Plan:
    def __init__(self, one: Judged, look: Look, shown: Shown) -> None:
        self.one = one
        self.shown = shown
        self.unicode = look.unicode
        self.width = min(look.width, 140) // 2 * 2 - 1
        self.middle = self.width // 2
        self.beside = self.middle - _OFF - _MOST - 3
        self.cells = [[" "] * self.width for _ in range(_LAST + 1)]
        self.styles = [[""] * self.width for _ in range(_LAST + 1)]

    def page(self) -> Text:
        self._lines()
        for axle, row in (("front", _FRONT), ("rear", _REAR)):
            for side in SIDES:
                self._wheel(axle, side, row)
                self._labels(axle, side, row)
        self._thrust_words()
        title = f"{self.one.sheet.when}, seen from above, front at the top: exaggerated, not to scale"
        text = Text(title[0].upper() + title[1:], style="bold")
        for cells, styles in zip(self.cells, self.styles, strict=True):
            line = Text(style="not bold")
            for letter, style in zip(cells, styles, strict=True):
                line.append(letter, style)
            line.rstrip()
            text.append("\n")
            text.append_text(line)
        text.append("\n" + _LEGEND, "dim not bold")
        return text

    def _put(self, row: int, column: int, text: str, style: str = "") -> None:
        for n, letter in enumerate(text, start=column):
            if 0 <= n < self.width:
                self.cells[row][n] = letter
                self.styles[row][n] = style

    def _lines(self) -> None:
        """Centre line, axles, and the thrust line over them."""
        for row in range(0, _REAR + _HALF + 1):
            self._put(row, self.middle, "┊" if self.unicode else ":", "dim")
        for row in (_FRONT, _REAR):
            self._put(row, self.middle - _OFF, ("─" if self.unicode else "-") * (2 * _OFF + 1), "dim")
            self._put(row, self.middle, "┼" if self.unicode else "+", "dim")
        thrust = self.one.figures.thrust.value
        if thrust is None:
            return
        far = max(
            -_THRUST_MOST, min(_THRUST_MOST, _away(thrust / _THRUST_COLUMN, math.radians(0.02), thrust))
        )
        for row in range(0, _REAR + 1):
            column = self.middle + _rounded(far * (_REAR - row) / _REAR)
            mark = ("▲" if self.unicode else "^") if row == 0 else ("•" if self.unicode else "*")
            self._put(row, column, mark, self._style("rear", "", "thrust"))

    def _style(self, axle: str, side: str, angle: str) -> str:
        found = self.one.of(axle, side, angle)
        return STYLES.get(found.verdict, "") if found else ""

    def _wheel(self, axle: str, side: str, hub: int) -> None:
        inward = 1 if side == "left" else -1
        centre = self.middle - inward * _OFF
        wheel = getattr(getattr(self.one.sheet, axle), side)
        body = "███" if self.unicode else "###"
        lean = 0
        if wheel.toe is None:
            body = "░░░" if self.unicode else "..."
        else:
            turned = _away(wheel.toe / _TOE_COLUMN, math.radians(0.02), wheel.toe)
            lean = inward * max(-_MOST, min(_MOST, turned))
        for row in range(-_HALF, _HALF + 1):
            column = centre - 1 + _rounded(-lean * row / _HALF)
            self._put(hub + row, column, body, self._style(axle, side, "toe"))
        self._top(axle, side, hub - _HALF - 1, centre + lean, inward, wheel.camber)

    def _top(self, axle: str, side: str, row: int, centre: int, inward: int, camber: float | None) -> None:
        """Over the wheel, which way its top leans."""
        if camber is None:
            return
        left, right = ("◄", "►") if self.unicode else ("<", ">")
        lean = 0 if abs(camber) < math.radians(0.05) else -inward if camber > 0.0 else inward
        text = {-1: f"{left}top ", 0: " top ", 1: f" top{right}"}[lean]
        self._put(row, centre - 2, text, self._style(axle, side, "camber"))

    def _labels(self, axle: str, side: str, hub: int) -> None:
        """The wheel's name and values on the outer side, close to the wheel."""
        angles = ("camber", "toe", "caster", "inclination") if axle == "front" else ("camber", "toe")
        lines = [(f"{axle} {side}", "bold"), *(self._label(axle, side, angle) for angle in angles)]
        longest = max(len(text) for text, _ in lines)
        start = max(self.beside - max(longest, 20), 0) if side == "left" else self.width - self.beside
        for n, (text, style) in enumerate(lines):
            self._put(hub - _HALF + n, start, text, style)

    def _label(self, axle: str, side: str, angle: str) -> tuple[str, str]:
        """One value with its verdict, and its style."""
        found = self.one.of(axle, side, angle)
        name = {"inclination": "incl."}.get(angle, angle).ljust(6)
        if found is None or found.value is None:
            return f"{name} missing", "dim"
        verdict = "" if found.verdict == "no figure" else found.verdict
        said = self.shown.value(found.value, angle)
        text = " ".join((name, said, *MARKS.get(verdict, "").split(), verdict)).rstrip()
        if verdict in MARKS and len(text) + 2 + len(found.words) <= self.beside:
            text += ": " + found.words
        return text, STYLES.get(verdict, "")

    def _thrust_words(self) -> None:
        thrust = self.one.figures.thrust
        if thrust.value is None:
            text = f"no thrust line: {' and '.join(thrust.missing)} missing"
        else:
            found = self.one.of("rear", "", "thrust")
            verdict = found.verdict if found and found.verdict != "no figure" else ""
            side = "straight ahead" if abs(thrust.value) < math.radians(0.005) else _side(thrust.value)
            text = f"thrust line {self.shown.angle(thrust.value)}, {side}"
            if verdict:
                text += " ".join((":", *MARKS.get(verdict, "").split(), verdict))
        self._put(_LAST, self.middle - len(text) // 2, text, self._style("rear", "", "thrust"))


def _side(thrust: float) -> str:
    return "to the right" if thrust > 0.0 else "to the left"


def _rounded(value: float) -> int:
    """To the nearest whole, halves away from nothing, so that both sides are drawn alike."""
    return int(math.copysign(math.floor(abs(value) + 0.5), value))


def _away(columns: float, least: float, angle: float) -> int:
    """Columns as a whole number; what is more than `least` (rad) is seen at least by one."""
    whole = _rounded(columns)
    return whole if whole or abs(angle) < least else int(math.copysign(1, angle))
