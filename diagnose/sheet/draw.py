"""A picture of a sheet as an element of SVG."""

from __future__ import annotations

from diagnose.sheet.element import Element
from diagnose.sheet.pictures import Lines, Picture, Steps, Ways
from diagnose.sheet.svg_lines import draw_lines
from diagnose.sheet.svg_steps import draw_steps
from diagnose.sheet.svg_ways import draw_ways
from diagnose.sheet.svg_wheels import draw_wheels

__all__ = ["draw"]


def draw(name: str, picture: Picture) -> Element:
    """The picture drawn. name: unique on the page, for the ids in it."""
    if isinstance(picture, Lines):
        return draw_lines(name, picture)
    if isinstance(picture, Steps):
        return draw_steps(name, picture)
    if isinstance(picture, Ways):
        return draw_ways(name, picture)
    return draw_wheels(name, picture)
