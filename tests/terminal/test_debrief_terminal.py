"""A drive told through the real command on a pseudo-terminal, killed midway, gone on with, and compared."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from tests.drives import DEMO, drive_in
from tests.terminal.test_walk_terminal import COLOUR, Terminal


def test_a_whole_drive_is_told_killed_gone_on_with_and_compared(
    environ: dict[str, str], started: list[Terminal], tmp_path: Path
) -> None:
    before, path = tmp_path / "before.yaml", tmp_path / "today.yaml"
    before.write_text(DEMO, encoding="utf-8")
    terminal = Terminal(environ, "debrief", "--type", "--save", str(path))
    started.append(terminal)
    assert terminal.prompt() == "1/9 straight fast road, 80-120 km/h >"
    assert terminal.type("wanders") == "how strong, 10 imperceptible to 1 not acceptable; Enter: not rated >"
    assert "= Wanders on a straight road" in terminal.text()
    assert terminal.type("8") == "where, or at what speed, did it begin? Enter: not told >"
    assert terminal.type("u").startswith("how strong")
    assert terminal.type("a little").startswith("where")
    assert terminal.type("") == "1/9 straight fast road, anything else >"
    assert terminal.type("") == "2/9 undulating road, 60-90 km/h >"
    for _ in range(4):
        terminal.type("-")
    assert terminal.prompt() == "6/9 braking from speed, 20-80 km/h >"
    terminal.type("pulls left")
    terminal.child.kill(signal.SIGKILL)
    kept = drive_in(path.read_text("utf-8"))
    assert [one.complaint for _, one in kept.impressions()] == ["wander", "pulls-when-braking"]

    again = Terminal(environ, "debrief", "--type", "--save", str(path), "--before", str(before))
    started.append(again)
    assert again.prompt() == "1/7 undulating road, 60-90 km/h >"
    for _ in range(7):
        prompt = again.type("-")
    assert prompt == "the car, in a word or two >"
    for told in ("demo hatchback, invented", "4 May", "driver A", "143230", "y", "driver", "dry", "still"):
        prompt = again.type(told)
    assert prompt == "compared with: before (this car), good (another), Enter: nothing >"
    again.send("before")
    assert again.end() == 0

    words = " ".join(again.text().split())
    assert f"Kept in {path}" in "\n".join(again.lines(wide=True))
    assert "better 4 8 Wanders on a straight road More than a driver's usual scatter" in words
    assert "not driven 3 ? Clunk from the front over bumps" in words
    assert COLOUR.search(again.raw)
    drive = drive_in(path.read_text("utf-8"))
    assert (drive.who, drive.km, drive.pressures, drive.reference) == (
        "driver A",
        143230.0,
        "set",
        "same-car-before",
    )


@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
def test_without_colour_everything_reads_the_same(
    environ: dict[str, str], started: list[Terminal], tmp_path: Path, more: dict[str, str]
) -> None:
    path = tmp_path / "demo.yaml"
    path.write_text(DEMO, encoding="utf-8")
    terminal = Terminal({**environ, **more}, "debrief", str(path), "--before", str(path))
    started.append(terminal)
    assert terminal.end() == 0
    assert not COLOUR.search(terminal.raw)
    assert terminal.text().isascii() == (more.get("TERM") == "dumb")
    assert "unchanged 4 4 Wanders on a straight road" in " ".join(terminal.text().split())
