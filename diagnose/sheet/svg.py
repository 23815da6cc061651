"""What the pictures share: the frame with its title and description, text, marks and dashes.

Pictures are drawn for a column of `WIDTH` units, so that their letters can be read on a telephone and in
print. Colours come from the style sheet; what tells two things apart is also a shape, a dash and a word.
"""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.sheet.element import Child, Element, element

__all__ = ["DASHES", "LETTER", "SHAPES", "WIDTH", "frame", "label", "mark", "spread"]

#: Width of a picture in its own units; letters are 12 of them high, of which an average one takes 6.2.
WIDTH = 400.0
LETTER = 6.2

#: How the lines of one picture are told apart, the first first.
DASHES = ("", "7 3", "2 3", "9 3 2 3", "4 2", "1 4")
SHAPES = ("disc", "square", "triangle", "diamond", "cross", "ring")


def frame(
    name: str,
    title: str,
    description: str,
    height: float,
    children: Iterable[Child | Iterable[Child]],
    wide: float = WIDTH,
) -> Element:
    """A picture. name: unique on the page, for the ids of title and description."""
    return element(
        "svg",
        element("title", title, id=f"{name}-title"),
        element("desc", description, id=f"{name}-desc"),
        *children,
        role="img",
        viewBox=f"0 0 {wide:g} {height:g}",
        aria_labelledby=f"{name}-title {name}-desc",
    )


def label(x: float, y: float, text: str, class_: str = "", anchor: str = "start") -> Element:
    """Text at a place; anchor: start, middle or end."""
    return element(
        "text", text, x=x, y=y, class_=class_ or None, text_anchor=None if anchor == "start" else anchor
    )


def mark(shape: str, x: float, y: float, class_: str, size: float = 3.6) -> Element:
    """A mark of one of `SHAPES` around a place."""
    if shape in ("disc", "ring"):
        return element("circle", cx=x, cy=y, r=size, class_=f"{class_} {shape}")
    if shape == "cross":
        path = f"M{x - size:.1f} {y - size:.1f}L{x + size:.1f} {y + size:.1f}M{x - size:.1f} {y + size:.1f}"
        return element("path", d=f"{path}L{x + size:.1f} {y - size:.1f}", class_=f"{class_} cross")
    corners = {
        "square": ((-1, -1), (1, -1), (1, 1), (-1, 1)),
        "triangle": ((0, -1.2), (1.1, 0.9), (-1.1, 0.9)),
        "diamond": ((0, -1.35), (1.35, 0), (0, 1.35), (-1.35, 0)),
    }[shape]
    points = " ".join(f"{x + size * dx:.1f},{y + size * dy:.1f}" for dx, dy in corners)
    return element("polygon", points=points, class_=f"{class_} {shape}")


def spread(places: list[float], gap: float, low: float, high: float) -> list[float]:
    """The places moved apart to at least `gap`, in their order, within low..high as far as there is room."""
    order = sorted(range(len(places)), key=lambda n: places[n])
    moved = list(places)
    floor = low
    for n in order:
        moved[n] = max(moved[n], floor)
        floor = moved[n] + gap
    ceiling = high
    for n in reversed(order):
        moved[n] = min(moved[n], ceiling)
        ceiling = moved[n] - gap
    return moved
