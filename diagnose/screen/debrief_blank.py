"""An empty debrief form on one page, to take along: 80 columns, at most 60 lines, plain letters."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from diagnose.debrief.drive import speed_words
from diagnose.debrief.route import ROUTE
from diagnose.debrief.scale import scale_lines

__all__ = ["CAUTIONS", "blank_form"]

WIDTH = 80

#: What stands before every road test; common practice, and the law of the road outranks it.
CAUTIONS = (
    "Only with a car that is fit to drive, by a driver who may drive it, on quiet roads, within the law of "
    "the place. Leave out every leg that the road, the traffic or the car does not allow. The driver drives; "
    "a passenger writes, or nobody does before the car is parked. Local law and licensed practice come "
    "before this form."
)


def blank_form() -> str:
    """The form as text."""
    return "\n".join(line.rstrip() for line in _lines()) + "\n"


def _lines() -> Iterator[str]:
    yield "DEBRIEF OF A DRIVE"
    yield from textwrap.wrap(CAUTIONS, WIDTH)
    yield ""
    yield _fields(("car", 30), ("when", 0))
    yield _fields(("who drove", 26), ("km at start", 22), ("load", 0))
    yield _fields(("tyre pressures set: yes / no      road: dry / damp / wet      weather", 0))
    yield "compared with: nothing / the same car before / a car known to be good"
    yield ""
    for control in (False, True):
        yield from scale_lines(WIDTH, control)
    yield from textwrap.wrap(
        "Halves are allowed; 5 is the border between acceptable and not. Write the driver's own words first, "
        "then the rating; L or R where it is to one side.",
        WIDTH,
    )
    yield ""
    for number, kind in enumerate(ROUTE.values(), start=1):
        speed = speed_words(kind.low, kind.high)
        yield f"{f'{number} {kind.name}, {speed}':<52}[ ] not driven  [ ] nothing"
        yield f"  {kind.manoeuvre} ({kind.surface})"
        for _ in range(2):
            yield _fields(("  ", 46), ("rating", 14), ("began", 0))


def _fields(*fields: tuple[str, int]) -> str:
    """Names with dots behind them, each so wide; 0: to the edge."""
    line = ""
    for name, width in fields:
        end = min(len(line) + width, WIDTH) if width else WIDTH
        line += f"{name} "
        line += "." * max(end - len(line) - 1, 0) + " "
    return line.rstrip()
