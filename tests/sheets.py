"""Wheel-angle sheets to test with: the demo of docs/angles.md, random ones, and short ways to make one."""

from __future__ import annotations

import math
import re
from pathlib import Path

from hypothesis import strategies as st

from diagnose.angles.entries import kept
from diagnose.angles.read import read_sheets
from diagnose.angles.sheet import (
    FRONT_LAYOUTS,
    REAR_LAYOUTS,
    SPECIFIED,
    UNITS,
    Allowed,
    Car,
    Repeatability,
    Sheet,
    Sheets,
    Specification,
    spots,
)

PAGE = Path(__file__).resolve().parents[1] / "docs" / "angles.md"
#: Demo: an invented car.
DEMO = re.findall(r"^```yaml\n(.*?)^```$", PAGE.read_text("utf-8"), re.DOTALL | re.MULTILINE)[0]
DEMO_CSV = re.findall(r"^```csv\n(.*?)^```$", PAGE.read_text("utf-8"), re.DOTALL | re.MULTILINE)[0]


def deg(degrees: float, minutes: float = 0.0) -> float:
    """Degrees and minutes, the sign for the whole, as a sheet keeps them."""
    size = abs(degrees) + minutes / 60.0
    return kept(math.radians(math.copysign(size, degrees)), "camber")


def sheets_of(text: str, file: str = "demo.yaml") -> Sheets:
    """The sheets of such a file."""
    return read_sheets(text.encode(), file).sheets


def sheet_of(body: str) -> Sheet:
    """The measurement before of a sheet with these lines below its version."""
    found = sheets_of("angles: 1\n" + body).before
    assert found is not None
    return found


def _numbers(most: float, angle: str) -> st.SearchStrategy[float]:
    return st.floats(-most, most).map(lambda value: kept(value, angle))


def _of(angle: str) -> st.SearchStrategy[float]:
    if angle == "height":
        return _numbers(0.5, angle).map(lambda value: kept(value + 0.6, angle))
    return _numbers(0.05 if angle == "set-back-length" else math.radians(12.0), angle)


@st.composite
def specifications(draw: st.DrawFn) -> Specification:
    rows = []
    for axle, angles in SPECIFIED.items():
        left_out = draw(st.sampled_from(("set-back", "set-back-length")))
        for angle in angles:
            if angle == left_out or draw(st.booleans()):
                continue
            low, high = sorted((draw(_of(angle)), draw(_of(angle))))
            cross = draw(st.none() | _of(angle).map(abs))
            adjustable = draw(st.none() | st.booleans())
            has_low, has_high = draw(st.booleans()), draw(st.booleans())
            # Without a limit or nominal a length would be read as nothing in particular.
            has_low = has_low or angle == "set-back-length"
            rows.append(
                (
                    axle,
                    angle,
                    Allowed(low if has_low else None, high if has_high else None, None, cross, adjustable),
                )
            )
    return Specification(tuple(rows)).ordered()


@st.composite
def cars(draw: st.DrawFn) -> Car:
    letters = st.characters(codec="utf-8", exclude_categories=("C", "Z"))
    return Car(
        name=draw(st.text(letters, max_size=20).filter(lambda text: text not in ("-", "?"))),
        front=draw(st.sampled_from(("", *FRONT_LAYOUTS))),
        rear=draw(st.sampled_from(("", *REAR_LAYOUTS))),
        wheelbase=draw(st.none() | st.floats(1.0, 8.0).map(lambda x: kept(x, "height"))),
        front_track=draw(st.none() | st.floats(0.8, 3.0).map(lambda x: kept(x, "height"))),
        rear_track=draw(st.none() | st.floats(0.8, 3.0).map(lambda x: kept(x, "height"))),
        toe_at=draw(st.none() | st.floats(0.1, 2.0).map(lambda x: kept(x, "height"))),
    )


@st.composite
def sheets(draw: st.DrawFn, when: str = "before") -> Sheet:
    """A random measurement with any values missing."""
    sheet = Sheet(car=draw(cars()), specification=draw(specifications()))
    if draw(st.booleans()):
        sheet = Sheet(
            car=sheet.car, specification=sheet.specification, repeatability=Repeatability(toe=deg(0.1))
        )
    length = draw(st.booleans())
    for spot in spots():
        other = "set-back" if length else "set-back-length"
        if spot.angle != other and draw(st.booleans()):
            sheet = sheet.with_value(spot, draw(_of(spot.angle)))
    return sheet


@st.composite
def files(draw: st.DrawFn) -> Sheets:
    """A random file: both measurements, one, or none."""
    before = draw(sheets())
    known = {"car": before.car, "specification": before.specification, "repeatability": before.repeatability}
    after = draw(sheets())
    told = {
        name: Sheet(name, one.front, one.rear, one.thrust, one.rim, **known)
        for name, one in (("before", before), ("after", after))
        if draw(st.booleans())
    }
    return Sheets(told.get("before"), told.get("after"), draw(st.sampled_from(UNITS)), **known)
