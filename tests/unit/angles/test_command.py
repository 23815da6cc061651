"""`diagnose angles`: exit codes, JSON, files that are kept and files that are left alone."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from diagnose.angles.read import read_sheets
from tests.scripted import Tell, telling
from tests.sheets import DEMO, DEMO_CSV, deg

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Tell:
    """Runs `diagnose angles` in this process: (exit code, output, errors)."""
    return telling("angles", capsys, monkeypatch)


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    path = tmp_path / "demo.yaml"
    path.write_text(DEMO, encoding="utf-8")
    return path


def test_a_sheet_is_shown(tell: Tell, demo: Path) -> None:
    code, out, err = tell(demo)
    assert (code, err) == (0, "")
    assert out.isascii()
    assert "-1d45m!" in out
    assert out.index("verdict") < out.index("exaggerated") < out.index("! Out: ") < out.index("Missing: ")


def test_units_outrank_those_of_the_file(tell: Tell, demo: Path) -> None:
    assert "-1.75!" in tell(demo, "--units", "degrees")[1]
    assert "-1.4 mm!" in tell(demo, "--units", "mm")[1]
    bare = "angles: 1\nrear: {left: {toe: 5'}}"
    assert "for mm the sheet needs `toe-at: 16 in`" in tell("-", "--units", "mm", text=bare)[1]


def test_csv_comes_from_standard_input_too(tell: Tell) -> None:
    code, out, _ = tell("-", text=DEMO_CSV)
    assert code == 0
    assert "demo van" in out


def test_common_practice_only_when_asked_for(tell: Tell) -> None:
    sheet = "angles: 1\nfront: {left: {caster: 5}, right: {caster: 4}}"
    assert "common practice" not in tell("-", text=sheet)[1]
    assert "of common practice: teaching slides" in " ".join(tell("-", "--general", text=sheet)[1].split())


def test_json_tells_all_and_its_page_names_every_key(tell: Tell, demo: Path) -> None:
    code, out, _ = tell(demo, "--json")
    assert code == 0
    found = json.loads(out)
    assert found["format"] == "handling-diagnose/angles/1"
    (one,) = found["measurements"]
    assert {"axle": "front", "side": "left", "angle": "camber", "value": -1.75} in one["values"]
    assert one["derived"]["thrust"]["value"] == 0.05
    camber = next(each for each in one["verdicts"] if (each["side"], each["angle"]) == ("left", "camber"))
    assert (camber["verdict"], camber["past"], camber["adjustable"]) == ("out", 0.416667, False)
    page = (ROOT / "docs" / "json.md").read_text("utf-8")
    part = page[page.index("angles/1`\n") : page.index("## Lists of the library")]
    asked = json.loads(tell("-", "--json", text="angles: 1\nrear: {left: {caster: 1}}")[1])
    keys = {*found, *found["car"], *found["specification"][0], *one, *camber, *one["derived"]["thrust"]}
    keys |= set(asked["questions"][0])
    assert {key for key in keys if not re.search(rf"[`.]{key}`", part)} == {"format"}


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        ([], "name a sheet, or type one with --type"),
        (["nowhere.yaml"], "nowhere.yaml: cannot be read (No such file or directory)"),
        (["."], "cannot be read (Is a directory)"),
        (["no\x1b[2Jsuch"], "no?[2Jsuch: cannot be read"),
        (["x", "--save", "y"], "--save goes with --type"),
        (["x", "--after"], "--after goes with --type"),
        (["--type", "--json"], "--json does not go with --type"),
        (["-", "--type"], "with --type the readings come from standard input"),
        (["--type", "--save", "/nowhere/at/all.yaml"], "/nowhere/at/all.yaml: cannot be written"),
        (["x", "--units", "inches"], "invalid choice: 'inches'"),
    ],
)
def test_mistakes_end_in_words(tell: Tell, arguments: list[str], part: str) -> None:
    code, _, err = tell(*arguments)
    assert code == 2
    assert part in err


def test_faults_of_a_file_are_counted(tell: Tell) -> None:
    code, out, err = tell("-", text="angles: 1\nrear: {left: {toe: x}, right: {toe: y}}")
    assert (code, out) == (2, "")
    assert "<stdin>:2:20: 'x' is neither an angle nor a length" in err
    assert err.endswith("2 problems\n")


def test_a_huge_file_is_refused_without_reading_it_whole(tell: Tell) -> None:
    code, _, err = tell("/dev/zero")
    assert code == 2
    assert "has more than 2,000,000 bytes" in err


# Typed ------------------------------------------------------------------------------------------------


def test_what_is_typed_is_kept_and_gone_on_with(tell: Tell, tmp_path: Path) -> None:
    path = tmp_path / "sheet.yaml"
    code, out, _ = tell("--type", "--save", path, text="-1°20'\n-1.5\nq\n")
    assert code == 0
    assert f"\nKept in {path}\n" in out
    assert "2/13 rear right camber > -1.5" in out
    code, out, _ = tell("--type", "--save", path, text="0.1\n")
    assert "1/11 rear left toe > 0.1" in out
    code, out, _ = tell("--type", "--after", "--save", path, text="-1\n")
    assert "1/13 rear left camber > -1" in out
    found = read_sheets(path.read_bytes(), str(path)).sheets
    assert found.before is not None
    assert found.after is not None
    assert (found.before.rear.left.camber, found.before.rear.left.toe) == (deg(-1, 20), deg(0.1))
    assert found.after.rear.left.camber == deg(-1)
    assert [each.name for each in tmp_path.iterdir()] == ["sheet.yaml"]


def test_limits_of_another_file_are_used_and_that_file_is_left_alone(tell: Tell, tmp_path: Path) -> None:
    car, path = tmp_path / "car.yaml", tmp_path / "sheet.yaml"
    car.write_text(DEMO.partition("before:")[0], encoding="utf-8")
    _, out, _ = tell("--type", car, "--save", path, text="-3\n")
    assert "= -3d00m ! out: 1d00m past the most negative allowed" in out
    assert "specification:" in path.read_text("utf-8")
    assert car.read_text("utf-8") == DEMO.partition("before:")[0]


def test_a_file_of_somebody_else_is_not_written_over(tell: Tell, demo: Path) -> None:
    code, _, err = tell("--type", "--save", demo, text="1\n")
    assert code == 2
    assert "is there already and was not written by --type" in err
    assert demo.read_text("utf-8") == DEMO
    assert tell("--type", demo, "--save", demo)[0] == 2
    assert demo.read_text("utf-8") == DEMO


def test_without_a_file_what_was_typed_is_printed_as_one(tell: Tell) -> None:
    _, out, _ = tell("--type", text="-1\nq\n")
    printed = out[out.index("angles: 1") : out.index("\n\n", out.index("angles: 1"))]
    found = read_sheets(printed.encode(), "printed").sheets.before
    assert found is not None
    assert found.rear.left.camber == deg(-1)
