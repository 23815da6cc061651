"""A wheel-angle sheet typed through the real command on a pseudo-terminal, looked at, and killed midway."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from diagnose.angles.read import read_sheets
from diagnose.angles.sheet import Sheets
from tests.sheets import DEMO, deg
from tests.terminal.test_walk_terminal import COLOUR, Terminal


def sheets_in(path: Path) -> Sheets:
    return read_sheets(path.read_bytes(), str(path)).sheets


def test_a_whole_sheet_is_typed_questioned_kept_and_shown(
    environ: dict[str, str], started: list[Terminal], tmp_path: Path
) -> None:
    car, path = tmp_path / "car.yaml", tmp_path / "sheet.yaml"
    car.write_text(DEMO.partition("before:")[0], encoding="utf-8")
    terminal = Terminal(environ, "angles", "--type", str(car), "--save", str(path))
    started.append(terminal)
    assert terminal.prompt() == "1/13 rear left camber >"
    assert terminal.type("-1°20'") == "2/13 rear right camber >"
    assert terminal.type("-1.9") == "3/13 rear left toe >"
    assert terminal.type("u") == "2/13 rear right camber >"
    assert terminal.type("-1d30m") == "3/13 rear left toe >"
    # Minutes typed as degrees are questioned at once, and typed again.
    assert terminal.type("12") == "Enter keeps it; or type it again >"
    assert "It could be +0°12' (minutes typed as degrees)" in " ".join(terminal.text().split())
    assert terminal.type("12'") == "4/13 rear right toe >"
    assert terminal.type("0.10") == "5/13 front left camber >"
    assert terminal.type("-1°45'") == "6/13 front right camber >"
    assert "= -1°45' ! out: 0°25' past the most negative allowed" in " ".join(terminal.text().split())
    for reading in ("-0°40'", "3°30'", "4°10'", "", "", "-2 mm", "nonsense"):
        prompt = terminal.type(reading)
    assert prompt == "12/13 front left toe >"
    assert "'nonsense' is neither an angle nor a length: write it like" in terminal.text()
    assert terminal.type("-0°08'") == "Enter keeps it; or type it again >"
    assert terminal.type("") == "13/13 front right toe >"
    terminal.send("0.6 mm")
    assert terminal.end() == 0

    assert f"Kept in {path}" in "\n".join(terminal.lines(wide=True))
    assert "Missing: front inclination, front ride height" in " ".join(terminal.text().split())
    assert "exaggerated, not to scale" in terminal.text()
    assert COLOUR.search(terminal.raw)
    before = sheets_in(path).before
    assert before is not None
    assert (before.rear.right.camber, before.rear.left.toe) == (deg(-1, 30), deg(0, 12))
    assert (before.front.left.caster, before.front.left.inclination) == (deg(3, 30), None)
    assert before.front.left.toe == -deg(0, 8)
    assert before.front.set_back_length == -0.002


@pytest.mark.slow
def test_a_killed_session_has_lost_nothing(
    environ: dict[str, str], started: list[Terminal], tmp_path: Path
) -> None:
    path = tmp_path / "sheet.yaml"
    terminal = Terminal(environ, "angles", "--type", "--save", str(path))
    started.append(terminal)
    for reading in ("-1°20'", "-1°30'", "0°05'"):
        terminal.type(reading)
    terminal.child.kill(signal.SIGKILL)
    again = Terminal(environ, "angles", "--type", "--save", str(path))
    started.append(again)
    assert again.prompt() == "1/10 rear right toe >"
    before = sheets_in(path).before
    assert before is not None
    assert (before.rear.left.camber, before.rear.left.toe) == (deg(-1, 20), deg(0, 5))
    again.send("q")
    assert again.end() == 0


@pytest.mark.slow
@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
def test_without_colour_everything_reads_the_same(
    environ: dict[str, str], started: list[Terminal], tmp_path: Path, more: dict[str, str]
) -> None:
    path = tmp_path / "demo.yaml"
    path.write_text(DEMO, encoding="utf-8")
    terminal = Terminal({**environ, **more}, "angles", str(path))
    started.append(terminal)
    assert terminal.end() == 0
    assert not COLOUR.search(terminal.raw)
    assert terminal.text().isascii() == (more.get("TERM") == "dumb")
    words = " ".join(terminal.text().split())
    assert "! Out: front left camber: 0" in words
    assert "left out, difference out" in words


@pytest.mark.slow
def test_a_sheet_answers_the_rig_in_the_middle_of_a_walk(
    environ: dict[str, str], started: list[Terminal], tmp_path: Path
) -> None:
    sheet = tmp_path / "demo.yaml"
    sheet.write_text(DEMO, encoding="utf-8")
    terminal = Terminal(environ, "walk", "front-camber-one-side")
    started.append(terminal)
    assert "Which side?" in terminal.prompt()
    for typed in ("l", "1", "", "", "", ""):
        asked = terminal.type(typed)
        if asked == "answer >":
            break
    assert asked == "answer >"
    assert terminal.type("o camber and caster") == "answer >"
    assert "or the whole wheel-angle sheet: sheet FILE" in terminal.text()
    assert terminal.type(f"sheet {sheet}") == "answer >"
    shown = " ".join(terminal.text().split())
    assert "What the angles say of: Camber out at one front wheel" in shown
    assert "Spoken against by the angles:" in shown
    assert terminal.type("sheet nowhere.yaml") == "answer >"
