"""Cells that a spreadsheet would execute: none comes out of a sheet, and none of the program's files has any.

What begins with = + - @, a tab or a carriage return may run as a formula (OWASP, "CSV Injection"; seen in
descriptions of it). Sheets are read from CSV; no command writes CSV or TSV.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from diagnose.angles.read import read_sheets
from diagnose.angles.write import sheet_yaml
from diagnose.commands.sheet import ENDINGS
from diagnose.errors import SheetError

HEAD = "when,axle,side,angle,value,low,high,adjustable\n"
FORMULAS = (
    "=1+1",
    "=cmd|' /C calc'!A0",
    "@SUM(A1:A9)",
    "+A1",
    "-A1",
    "=-0.5",
    "+1-1",
    "\t=1",
    '"=1,5"',
    "=HYPERLINK(1)",
)

ROOT = Path(__file__).parents[3]


@pytest.mark.parametrize("cell", FORMULAS)
@pytest.mark.parametrize("column", ["value", "low", "side", "angle", "adjustable"])
def test_a_formula_is_no_reading(cell: str, column: str) -> None:
    row = {"when": "before", "axle": "front", "side": "left", "angle": "camber", "value": "-0.5"}
    row |= {"low": "-1", "high": "1", "adjustable": "no", column: cell}
    with pytest.raises(SheetError) as caught:
        read_sheets((HEAD + ",".join(row.values()) + "\n").encode(), "sheet.csv")
    assert str(caught.value).startswith("sheet.csv:2:")
    assert "mend: " in str(caught.value)


def test_signs_of_numbers_are_no_formulas() -> None:
    rows = "before,front,left,camber,-1°25',,,\nbefore,front,right,camber,+0.5,,,\n"
    sheet = read_sheets((HEAD + rows).encode(), "sheet.csv").sheets.before
    assert sheet is not None
    assert sheet.front.left.camber is not None and sheet.front.left.camber < 0.0
    assert sheet.front.right.camber is not None and sheet.front.right.camber > 0.0


def test_a_name_that_looks_like_a_formula_stays_a_name() -> None:
    """It is written back as YAML, which runs nothing."""
    rows = ",,,name,=1+1,,,\nbefore,front,left,camber,-0.5,,,\n"
    sheets = read_sheets((HEAD + rows).encode(), "sheet.csv").sheets
    assert sheets.car.name == "=1+1"
    assert read_sheets(sheet_yaml(sheets).encode(), "sheet.yaml").sheets.car.name == "=1+1"


def test_no_command_writes_csv() -> None:
    """Else its cells would have to be made harmless."""
    assert set(ENDINGS) == {".html", ".md", ".json"}
    for path in sorted((ROOT / "diagnose").rglob("*.py")):
        assert not re.search(r"^\s*(import csv|from csv)\b", path.read_text("utf-8"), re.MULTILINE), path
