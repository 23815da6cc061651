"""Pictures: named for those who do not see them, told apart by more than colour, right in their places."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.sheet.draw import draw
from diagnose.sheet.element import rendered
from diagnose.sheet.pictures import Line, Lines, Step, Steps, Wheel, Wheels
from diagnose.sheet.svg import DASHES, SHAPES, spread
from tests.parsed import attributes_of, find, parsed, text_of

LINES = Lines(
    "Over the answers",
    "What moved.",
    ("one", "two", "three"),
    (Line("first", (0.1, 0.5, 0.9)), Line("second", (0.2, 0.2, None)), Line("third", (None, 0.3, 0.3))),
)
STEPS = Steps(
    "Money",
    "What it costs.",
    (
        Step("now", 0.0, "0 EUR", 0.0),
        Step("stage 1", 200.0, "200 EUR", 0.5),
        Step("stage 2", 300.0, "300 EUR", 0.8),
    ),
    (Step("surest", 400.0, "400 EUR", 0.9),),
)


def car(toe: float | None, thrust: float | None = 0.0, verdict: str = "") -> Wheels:
    wheels = tuple(
        Wheel(name, toe, math.radians(-1), (("toe", verdict),))
        for name in ("front left", "front right", "rear left", "rear right")
    )
    return Wheels("Car", "From above.", wheels, thrust, "thrust line")


def drawn(picture: Lines | Steps | Wheels) -> object:
    return parsed(
        "<!DOCTYPE html><html><head><title>t</title></head><body>"
        + rendered(draw("p", picture))
        + "</body></html>"
    )


@pytest.mark.parametrize("picture", [LINES, STEPS, car(0.0)], ids=["lines", "steps", "wheels"])
def test_a_picture_has_title_and_description_by_which_it_is_named(picture: Lines | Steps | Wheels) -> None:
    root = drawn(picture)
    (svg,) = find(root, "svg")
    assert svg.attrib["role"] == "img" and svg.attrib["aria-labelledby"] == "p-title p-desc"
    named = {each.attrib["id"]: text_of(each) for each in find(svg, "title", "desc")}
    assert named == {"p-title": picture.title, "p-desc": picture.description}


def test_lines_differ_in_dash_and_mark_and_are_named_at_their_end() -> None:
    assert len(set(DASHES)) == len(SHAPES) == len(set(SHAPES)) == 6
    root = drawn(LINES)
    curves = [each for each in find(root, "path") if each.attrib.get("class", "").startswith("curve")]
    assert len({each.attrib.get("stroke-dasharray", "") for each in curves}) == 3
    words = [text_of(each) for each in find(root, "text")]
    for line in LINES.lines:
        assert any(line.name in each for each in words)


def test_a_line_runs_through_its_values() -> None:
    (path,) = [
        each.attrib["d"] for each in find(drawn(LINES), "path") if each.attrib.get("class") == "curve line-0"
    ]
    points = [tuple(map(float, pair.split())) for pair in re.split("[ML]", path)[1:]]
    (x0, y0), (x1, y1), (x2, y2) = points
    assert x1 - x0 == pytest.approx(x2 - x1, abs=0.2)
    # Equal steps of likelihood are equal steps upwards (in an SVG upwards is less).
    assert y0 - y1 == pytest.approx(y1 - y2, abs=0.2) and y0 > y2


def test_a_stair_goes_up_where_a_stage_ends() -> None:
    (path,) = [each.attrib["d"] for each in find(drawn(STEPS), "path")]
    across = list(map(float, re.findall(r"H([\d.]+)", path)))
    up = [float(each) for each in re.findall(r"V([\d.]+)", path)]
    start = float(path[1:].split()[0])
    # 200 of 300 is as far along as two thirds; 0.5 and 0.8 as high as five and eight tenths.
    assert (across[0] - start) / (across[1] - start) == pytest.approx(2 / 3, abs=0.01)
    bottom = float(re.match(r"M[\d.]+ ([\d.]+)", path)[1])  # type: ignore[index]
    assert (bottom - up[0]) / (bottom - up[1]) == pytest.approx(5 / 8, abs=0.01)


def turns(picture: Wheels) -> list[float]:
    wheels = find(drawn(picture), "rect")
    return [float(each.attrib["transform"].split("(")[1].split()[0]) for each in wheels]


def test_toe_in_turns_the_fronts_of_both_wheels_to_the_middle() -> None:
    # SVG 1.1, 7.6: a positive rotate turns clockwise, so the front (top) of a wheel goes to the right.
    left, right, rear_left, rear_right = turns(car(math.radians(0.2)))
    assert left == rear_left > 0 > right == rear_right
    assert turns(car(math.radians(-0.2)))[0] < 0
    assert turns(car(None)) == [0, 0, 0, 0]


def test_a_wheel_out_of_range_is_told_by_its_outline_and_word() -> None:
    classes = [
        value
        for name, key, value in attributes_of(drawn(car(0.1, verdict="out")))
        if name == "rect" and key == "class"
    ]
    assert classes == ["wheel out"] * 4


def test_without_a_thrust_line_none_is_drawn() -> None:
    kinds = [value for _, key, value in attributes_of(drawn(car(0.0, thrust=None))) if key == "class"]
    assert "thrust" not in kinds


@given(st.lists(st.floats(0, 200), max_size=5), st.floats(1, 40))
def test_names_keep_their_order_and_stand_apart(places: list[float], gap: float) -> None:
    moved = spread(places, gap, 0.0, 240.0)
    order = sorted(range(len(places)), key=lambda n: places[n])
    for one, other in pairwise(order):
        assert moved[other] - moved[one] >= gap - 1e-9
    assert all(each <= 240.0 for each in moved)


def test_values_that_do_not_fit_the_points_are_refused() -> None:
    with pytest.raises(ValueError, match="1 values at 2 points"):
        Lines("t", "d", ("a", "b"), (Line("x", (0.1,)),))
