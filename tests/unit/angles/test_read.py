"""Sheets as files: what they say, and every fault with its place and its mend, all at once."""

from __future__ import annotations

import math
import time

import pytest

from diagnose.angles.read import read_sheets
from diagnose.angles.sheet import Allowed, Sheet
from diagnose.errors import SheetError
from tests.sheets import DEMO, DEMO_CSV, deg, sheet_of, sheets_of


def told(text: str | bytes, file: str = "demo.yaml") -> str:
    """What is told of such a file."""
    data = text if isinstance(text, bytes) else text.encode()
    with pytest.raises(SheetError) as found:
        read_sheets(data, file)
    assert "\x1b" not in str(found.value)
    return str(found.value)


# What is read -----------------------------------------------------------------------------------------


def test_the_demo_is_read_whole() -> None:
    sheets = sheets_of(DEMO)
    before = sheets.before
    assert before is not None
    assert sheets.after is None
    assert before.front.left.camber == deg(-1, 45)
    assert before.front.set_back_length == -0.002
    assert before.rear.total_toe == deg(0, 18)
    assert before.rim == deg(3)
    assert before.car.toe_at == 0.4064
    assert before.specification.of("front", "caster") == Allowed(
        deg(3, 15), deg(4, 45), deg(4), deg(0, 30), False
    )
    assert before.specification.of("rear", "total-toe") == Allowed()


def test_toe_as_a_length_is_read_at_its_diameter_wherever_that_stands() -> None:
    # Own arithmetic: asin(1 / 406.4) = 0.14099 degrees; of a total each wheel has half.
    toe = sheet_of("front: {left: {toe: 1 mm}, total-toe: 2 mm}\ntoe-at: 16 in").front
    assert math.degrees(toe.left.toe or 0.0) == pytest.approx(0.14099, abs=1e-5)
    assert toe.total_toe == pytest.approx(2 * (toe.left.toe or 0.0), abs=1e-9)


@pytest.mark.parametrize("blank", ["", "''", "'-'", "'?'"])
def test_a_blank_is_a_missing_value(blank: str) -> None:
    sheet = sheet_of(f"front:\n  left:\n    camber: {blank}\n    caster: 4\n  right:\nrear:\n")
    assert sheet.front.left.camber is None
    assert sheet.front.left.caster == deg(4)
    assert sheet.rear == Sheet().rear


def test_a_file_may_hold_limits_only_or_nothing() -> None:
    limits = sheets_of("angles: 1\nspecification: {rear: {toe: {high: 0°10'}}}")
    assert limits.both() == ()
    assert limits.latest.specification.of("rear", "toe").high == deg(0, 10)
    assert sheets_of("angles: 1").latest == Sheet()


def test_the_csv_of_the_page_is_read() -> None:
    sheets = sheets_of(DEMO_CSV, "demo.csv")
    assert sheets.before is not None
    assert sheets.after is not None
    assert sheets.car.name == "demo van"
    assert (sheets.car.front, sheets.car.front_track) == ("double-wishbone", 1.6)
    assert sheets.before.front.left.camber == deg(-1.75)
    assert sheets.before.specification.of("front", "camber") == Allowed(
        deg(-1, 20), deg(0.33), adjustable=False
    )
    assert sheets.before.specification.of("front", "set-back-length") == Allowed(-0.006, 0.006)
    assert sheets.before.rear.right.toe == pytest.approx(math.asin(2.54 / 406.4), abs=1e-9)
    assert sheets.before.thrust == 0.0
    assert sheets.after.front.left.camber == deg(-1)


@pytest.mark.parametrize(
    "text",
    [
        "when,axle,side,angle,value\nbefore,front,left,camber,-1°20'\n",
        "\ufeffvalue;angle;side;axle\r\n-1°20';camber;left;front\r\n",
        'axle,side,angle,value\nfront,left,camber,"-1°20\'"\n# a remark, with commas\n\n',
        "Axle, Side, Angle, Value\nFRONT, LEFT, CAMBER, -1.333333333\n",
    ],
)
def test_csv_in_any_order_with_marks_of_other_programs(text: str) -> None:
    before = sheets_of(text, "a file").before
    assert before is not None
    assert before.front.left.camber == pytest.approx(deg(-1, 20), abs=1e-9)


# What is refused --------------------------------------------------------------------------------------


def test_all_faults_of_a_yaml_file_are_told_at_once() -> None:
    text = """\
angles: 2
toe-at: 16
before:
  front:
    left: {camber: abc, toe: 2 mm, kaster: 1}
    right: {camber: 1°80', caster: 1e999}
specification: {front: {camber: {low: 3, high: 1, adjustable: maybe}, caster: {tolerance: 1}}}
"""
    found = told(text)
    for place in ("1:9", "2:9", "5:20", "5:36", "6:21", "6:36", "7:39", "7:63", "7:91"):
        assert f"demo.yaml:{place}: " in found, place
    # Toe as a length cannot be read where the diameter could not: told at 2:9 and at 5:30.
    assert found.count("mend: ") == 10
    assert "did you mean 'caster'?" in found
    assert "has 60 minutes or more" in found
    assert "'low' is above 'high'" in found


def test_toe_as_a_length_without_diameter_says_what_to_add() -> None:
    assert told("angles: 1\nfront: {left: {toe: 2 mm}}") == (
        "demo.yaml:2:21: toe as a length means another angle on each rim\n"
        "    2 | front: {left: {toe: 2 mm}}\n"
        "      |                     ^^^^\n"
        "    mend: say toe-at too, such as 16 in, or give an angle"
    )


def test_one_measurement_stands_at_the_top_or_below_before() -> None:
    found = told("angles: 1\nbefore: {rim: 1}\nfront: {left: {camber: 1}}")
    assert "demo.yaml:3:1: 'front' stands at the top, and 'before' is there too" in found


@pytest.mark.parametrize(
    ("row", "place", "part"),
    [
        ("befor,front,left,camber,1,,,", "2:1", "'when' must be before or after, not 'befor'"),
        ("before,middle,left,camber,1,,,", "2:8", "'axle' must be front or rear"),
        ("before,front,,camber,1,,,", "2:14", "camber needs 'side'"),
        (",front,left,kamber,1,,,", "2:13", "there is no angle 'kamber'"),
        (",front,left,camber,x,,,", "2:20", "'x' is neither an angle nor a length"),
        (",front,left,camber,1,2,1,", "2:22", "'low' is above 'high'"),
        (",front,left,camber,1,,,perhaps", "2:24", "'adjustable' must be yes or no, not 'perhaps'"),
        (",rear,left,caster,1,2,,", "2:21", "there are no limits for caster at the rear axle"),
        (",front,left,camber,-1,33", "2:20", "'-1,33' has a comma, and the file is separated by commas"),
        (",front,left,camber,1,,,,5", "2:25", "this row has 9 values, the header has 8"),
        (",front,left,,1,,,", "2:13", "this row does not say which angle"),
        (",front,,layout,bicycle,,,", "2:16", "'layout' cannot be 'bicycle'"),
    ],
)
def test_a_fault_in_a_row_of_csv(row: str, place: str, part: str) -> None:
    found = told(f"when,axle,side,angle,value,low,high,adjustable\n{row}\n", "demo.csv")
    assert f"demo.csv:{place}: {part}" in found
    assert found.count("mend: ") == 1


def test_rows_of_csv_that_contradict_each_other() -> None:
    head = "axle,side,angle,value,low\n"
    found = told(head + "front,left,toe,1',0\nfront,right,toe,1',5'\nfront,left,toe,2',0\n", "demo.csv")
    assert "demo.csv:3:20: low of front toe is '0' in line 2, and another here" in found
    assert "demo.csv:4:16: before front left toe stands here again, first in line 2" in found


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "the file has no header"),
        ("axle,side,angle,valu\n", "there is no column 'valu'"),
        ("axle,side,angle\n", "the header has no column 'value'"),
        ("angle,value,angle\n", "the column 'angle' stands here twice"),
    ],
)
def test_a_header_of_csv_that_is_none(text: str, part: str) -> None:
    assert part in told(text, "demo.csv")


def test_a_csv_of_faults_only_is_told_as_far_as_it_helps() -> None:
    found = told("angle,value\n" + "nonsense,1\n" * 100_000, "demo.csv")
    assert found.count("there is no angle 'nonsense'") == 100
    assert "demo.csv:102:1: there are 100 problems above this line" in found


@pytest.mark.slow
@pytest.mark.parametrize(
    ("separators", "seconds"), [(100_000, 15.0), pytest.param(1_000_000, 60.0, marks=pytest.mark.long)]
)
def test_a_row_of_so_many_separators_is_read_at_once(separators: int, seconds: float) -> None:
    began = time.process_time()
    assert "the header has 2" in told("angle,value\n" + "," * separators + "x", "demo.csv")
    # Seconds at most if each cell costs the same; many minutes if each costs the rest of its line.
    assert time.process_time() - began < seconds


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "the file is empty"),
        (b"angles: 1\n" + b"#" * 2_000_000, "has more than 2,000,000 bytes"),
        (b"angles: 1\nfront: \x00", "the control character U+0000"),
        (b"angles: 1\ncar: {name: \x1b[2J}", "the control character U+001B"),
        (b'angles: 1\ncar: {name: "\\e[2J"}', "an escape in this text gives the control character U+001B"),
        (b"angles: 1\nfront: {left: {camber: 1e999}}", "'1e999' is neither an angle"),
        (b"angles: 1\nfront: {left: {camber: .nan}}", "'.nan' is neither an angle"),
        (b"angles: 1\nfront: {left: {camber: 999999}}", "more than 1500 degrees"),
        (b"angles: 1\nfront: " + b"[" * 5000, "nested more than 30 deep"),
        (b"angles: 1\nfront: \xff", "is not UTF-8"),
        (b"angles: 1\nfront: [1, 2]", "must be a front axle (keys with values), not a list"),
        (b"angles: 1\nfront: {left: {camber: [1]}}", "'camber' must be text, not a list"),
        (b"- 1", "a wheel-angle sheet"),
    ],
    ids=lambda each: each[:40] if isinstance(each, str) else "",
)
def test_hostile_files_are_refused_in_words(data: bytes, part: str) -> None:
    assert part in told(data)
