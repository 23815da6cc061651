"""A small picture of steps: how likely the complaint is gone, against the money spent."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from rich.console import RenderableType
from rich.text import Text

from diagnose.screen.desk import Look
from diagnose.screen.pages import paragraph
from diagnose.words import of_100

__all__ = ["Point", "curve"]

#: Rows of the picture, and the columns that its left scale takes.
ROWS, SCALE = 7, 6


@dataclass(frozen=True, slots=True)
class Point:
    """Money spent, and P(the complaint is gone) from then on."""

    money: float
    gone: float
    name: str


def curve(
    points: Sequence[Point], others: Sequence[Point], amount: Callable[[float], str], look: Look
) -> Iterator[RenderableType]:
    """The picture, line by line; nothing where no money is spent. Every step stands in words below it too.

    others: single points beside the steps, marked by the first letter of their names.
    """
    most = max((each.money for each in (*points, *others)), default=0.0)
    if most <= 0.0:
        return
    width = max(min(look.width, 78) - SCALE - 14, 20)
    line, dot = ("\u2500", "\u25cf") if look.unicode else ("-", "*")
    # The last step goes on a little beyond what is spent.
    column = [round(each.money / most * (width - 6)) for each in points]
    row = [min(int(each.gone * ROWS), ROWS - 1) for each in points]
    grid = [[" "] * width for _ in range(ROWS)]
    for number in range(len(points)):
        end = column[number + 1] if number + 1 < len(points) else width
        for place in range(column[number], end):
            grid[row[number]][place] = line
    for number in range(len(points)):
        grid[row[number]][column[number]] = dot
    marks = []
    for each in others:
        across, up = round(each.money / most * (width - 6)), min(int(each.gone * ROWS), ROWS - 1)
        grid[up][across] = each.name[0].upper()
        marks.append(f"{each.name[0].upper()} {each.name}")
    yield Text("  gone, of 100 such jobs" + (f"   ({', '.join(marks)})" if marks else ""), style="dim")
    for number in reversed(range(ROWS)):
        here = [each for each, at in zip(points, row, strict=True) if at == number]
        scale = of_100(here[-1].gone) if here else ""
        yield Text(f"  {scale:>{SCALE - 3}} |" + "".join(grid[number]).rstrip())
    yield Text("  " + " " * (SCALE - 2) + "+" + "-" * width)
    steps = "; ".join(f"{each.name}: {amount(each.money)}, {of_100(each.gone)}" for each in points)
    yield paragraph("spent: " + steps, look)
