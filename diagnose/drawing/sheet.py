"""The sheet on which a tree is laid out: lines of text, shapes, and the symbols of the standard.

Symbols (IEC 61025, NUREG-0492) lie on their side, as the tree does: what they raise is to the left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from diagnose.drawing.metrics import text_width
from diagnose.drawing.picture import Box

__all__ = [
    "HOLLOW",
    "RADIUS",
    "SIZE",
    "SMALL",
    "SYMBOL",
    "SYMBOL_HIGH",
    "THIN",
    "TRIANGLE",
    "Drawing",
    "Shape",
    "Sheet",
    "Text",
    "circle",
    "diamond",
    "gate_symbol",
    "rectangle",
    "small_triangle",
    "triangle",
]

#: Sizes of letters.
SIZE, SMALL = 13.0, 11.0

#: Gate symbols, the radius of a fault's circle, a transfer's triangle.
SYMBOL, SYMBOL_HIGH, RADIUS, TRIANGLE = 36.0, 30.0, 8.0, 30.0

#: How far the back of an OR is hollowed.
HOLLOW = 4.5

#: The thinnest stroke.
THIN = 1.2


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text: its left end (`start`), middle (`middle`) or right end (`end`), and its baseline."""

    x: float
    y: float
    text: str
    size: float = SIZE
    anchor: str = "start"
    bold: bool = False

    @property
    def box(self) -> tuple[float, float, float, float]:
        """(left, top, right, bottom) of the room it takes at most."""
        width = text_width(self.text, self.size, bold=self.bold)
        left = self.x - {"start": 0.0, "middle": width / 2.0, "end": width}[self.anchor]
        return left, self.y - 0.93 * self.size, left + width, self.y + 0.24 * self.size


@dataclass(frozen=True, slots=True)
class Shape:
    """A path (SVG path data) of a look: `line`, `box`, `symbol` or `faint`, and how thick its stroke is."""

    path: str
    look: str
    stroke: float = THIN


@dataclass(frozen=True)
class Drawing:
    """Everything of a drawn tree, and the size of the sheet."""

    width: float
    height: float
    texts: tuple[Text, ...]
    shapes: tuple[Shape, ...]


@dataclass
class Sheet:
    """A drawing in the making."""

    texts: list[Text] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)

    def line(self, *points: tuple[float, float], stroke: float = THIN, look: str = "line") -> None:
        """A line through points."""
        self.shapes.append(Shape(_path(points), look, stroke))


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in points)


# Symbols ------------------------------------------------------------------------------------------


def rectangle(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
    """The box of an event; x and y are its upper left corner."""
    points = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    sheet.shapes.append(Shape(f"{_path(points)} Z", "box"))


def circle(sheet: Sheet, x: float, y: float, radius: float) -> None:
    """A basic event: a fault. x and y are its middle."""
    path = (
        f"M{x - radius:.1f} {y:.1f} A{radius:.1f} {radius:.1f} 0 1 1 {x + radius:.1f} {y:.1f} "
        f"A{radius:.1f} {radius:.1f} 0 1 1 {x - radius:.1f} {y:.1f} Z"
    )
    sheet.shapes.append(Shape(path, "symbol"))


def diamond(sheet: Sheet, x: float, y: float, radius: float) -> None:
    """An undeveloped event: what the tree does not list. x and y are its middle."""
    points = ((x - radius, y), (x, y - radius), (x + radius, y), (x, y + radius))
    sheet.shapes.append(Shape(f"{_path(points)} Z", "symbol"))


def triangle(sheet: Sheet, x: float, y: float, number: int) -> None:
    """A transfer triangle, apex up, its left corner at x, with its number."""
    points = ((x, y + 12.0), (x + TRIANGLE / 2.0, y - 15.0), (x + TRIANGLE, y + 12.0))
    sheet.shapes.append(Shape(f"{_path(points)} Z", "symbol"))
    sheet.texts.append(Text(x + TRIANGLE / 2.0, y + 9.0, str(number), SMALL, anchor="middle"))


def small_triangle(sheet: Sheet, x: float, y: float) -> None:
    """The sign of a mechanism that other trees use too; its left corner at x, its middle at y."""
    points = ((x, y + 4.0), (x + 5.0, y - 5.0), (x + 10.0, y + 4.0))
    sheet.shapes.append(Shape(f"{_path(points)} Z", "symbol"))


def gate_symbol(sheet: Sheet, box: Box, x: float, y: float) -> None:
    """A gate lying on its side: what it raises to the left, its branches to the right."""
    half, end = SYMBOL_HIGH / 2.0, x + SYMBOL
    if box.gate == "all":
        path = (
            f"M{end:.1f} {y - half:.1f} L{x + half:.1f} {y - half:.1f} "
            f"A{half:.1f} {half:.1f} 0 0 0 {x + half:.1f} {y + half:.1f} L{end:.1f} {y + half:.1f} Z"
        )
    else:
        path = (
            f"M{x:.1f} {y:.1f} C{x + 5.0:.1f} {y - 9.0:.1f} {x + 14.0:.1f} {y - half:.1f} "
            f"{end:.1f} {y - half:.1f} Q{end - 2 * HOLLOW:.1f} {y:.1f} {end:.1f} {y + half:.1f} "
            f"C{x + 14.0:.1f} {y + half:.1f} {x + 5.0:.1f} {y + 9.0:.1f} {x:.1f} {y:.1f} Z"
        )
    sheet.shapes.append(Shape(path, "symbol"))
    if box.gate == "at-least":
        of = sum(1 for each in box.branches if each.kind != "leak")
        sheet.texts.append(Text(x + 19.0, y + 3.5, f"{box.need}/{of}", 9.0, anchor="middle"))
