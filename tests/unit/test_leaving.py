"""Ctrl-C and Ctrl-D at every prompt of every dialogue: no fault is shown, and what was kept stays kept.

The prompts are found in the source, so that a new one is missed here until some dialogue comes to it.
"""

from __future__ import annotations

import ast
import io
import os
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import FrameType
from unittest import mock

import pytest

from diagnose.cli import run as program
from diagnose.job.journal import Journal
from tests.drives import DEMO as DRIVE
from tests.sheets import DEMO as SHEET

ROOT = Path(__file__).resolve().parents[2]
ROOMS = (*(ROOT / "diagnose" / "screen").glob("*.py"), *(ROOT / "diagnose" / "commands").glob("*.py"))

#: Commands in turn, in one folder, and what is typed at them.
DIALOGUES = {
    "a walk": [
        ("walk pulls-when-braking", "l;;187000 km, 12 years;n;t;a note;w;o;;a clunks;1;m;q"),
        ("resume", "n;n;n;x;1;s;c;e;q"),
        ("resume", "f;renewed;outer tie rod end;;2 years;f;distance;200000 km;x;1;d;?;8;1;y;q"),
        ("", "1;u 2;q"),
    ],
    "unfit, and repaired": [
        ("jobs import tests/cases/f17.yaml", ""),
        ("resume job-1", ";g;1;60, 0.8 h;used;y;n;y;y;;q"),
        ("", "n;shakes;1;q"),
        ("jobs erase-person job-1", "job-1"),
        ("jobs delete job-1 job-2", "job-1 job-2"),
    ],
    "angles": [("angles --type --save {folder}/typed.yaml", "-1°20';12;;q")],
    "a drive": [("debrief --type --save {folder}/typed.yaml", ";wanders;;7;80 km/h;q")],
    "practice": [
        ("practice --seed 1 --level 1", "1;1;;w;q"),
        ("practice", ";n;tie rod;1;0;n;;1;1;;g;;q"),
        ("practice --seed 2 --level 1", "q"),
        ("practice", "q"),
    ],
}
#: Quick ones.
QUICK = ("angles",)

#: Where the source asks and no dialogue comes: only answers that cannot all be true lead there.
BEYOND = {"self.desk.ask('[u] undo [q] stop >')"}


class Typed(io.StringIO):
    """Standard input on which these lines are typed; then Ctrl-C is pressed (`key`), or Ctrl-D."""

    def __init__(self, lines: list[str], key: type[BaseException] | None = None) -> None:
        super().__init__()
        self.lines, self.key = lines, key
        #: File and line of each prompt that was come to.
        self.asked: list[tuple[str, int]] = []

    def readline(self, size: int = -1, /) -> str:
        frame: FrameType | None = sys._getframe(1)
        while frame is not None and frame.f_code.co_filename.endswith("desk.py"):
            frame = frame.f_back
        assert frame is not None
        self.asked.append((Path(frame.f_code.co_filename).name, frame.f_lineno))
        if self.lines:
            return self.lines.pop(0) + "\n"
        if self.key is not None:
            raise self.key
        return ""


@dataclass(frozen=True)
class Told:
    """What came of it: exit code, what was shown, how many events each job has, and the prompts come to."""

    code: int
    shown: str
    kept: tuple[tuple[str, int], ...]
    asked: tuple[tuple[str, int], ...]


def told(name: str, number: int, lines: int, key: type[BaseException] | None) -> Told:
    """A dialogue up to its command of this number, of which so many lines are typed."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "drive.yaml").write_text(DRIVE, encoding="utf-8")
        (Path(folder) / "sheet.yaml").write_text(SHEET, encoding="utf-8")
        store = Path(folder) / "jobs.sqlite"
        with mock.patch.dict(os.environ, {"DIAGNOSE_STORE": str(store), "COLUMNS": "80"}):
            for at, (command, typed) in enumerate(DIALOGUES[name][: number + 1]):
                every = typed.split(";") if typed else []
                source = Typed(every[:lines] if at == number else every, key if at == number else None)
                out = io.StringIO()
                with mock.patch.multiple(sys, stdin=source, stdout=out, stderr=out):
                    code = program(command.format(folder=folder).split())
            with Journal.open(store) as journal:
                kept = tuple((row.id, row.events) for row in journal.jobs())
    return Told(code, out.getvalue(), kept, tuple(source.asked))


@cache
def whole(name: str) -> tuple[Told, ...]:
    """Each command of a dialogue with all that is typed at it."""
    return tuple(told(name, n, 1000, None) for n in range(len(DIALOGUES[name])))


SOME = [name if name in QUICK else pytest.param(name, marks=pytest.mark.long) for name in DIALOGUES]


@pytest.mark.parametrize("name", SOME)
def test_leaving_at_any_prompt_is_no_fault_and_loses_nothing(name: str) -> None:
    for number, all_of_it in enumerate(whole(name)):
        for lines in range(len(all_of_it.asked)):
            here = f"{DIALOGUES[name][number][0]}, after {lines} lines"
            stopped, ended = (told(name, number, lines, key) for key in (KeyboardInterrupt, None))
            assert "Traceback" not in stopped.shown + ended.shown, here
            confirming = DIALOGUES[name][number][0].startswith(("jobs delete", "jobs erase"))
            assert (stopped.code, ended.code) == ((2, 2) if confirming else (0, 0)), here
            assert stopped.kept == ended.kept, here


@pytest.mark.long
def test_the_dialogues_come_to_every_prompt_there_is() -> None:
    met = {place for name in DIALOGUES for each in whole(name) for place in each.asked}
    missed = [text for place, text in prompts() if place not in met and text not in BEYOND]
    assert missed == []


def prompts() -> Iterator[tuple[tuple[str, int], str]]:
    """Every place in the source that asks a person."""
    for path in (*ROOMS, ROOT / "diagnose" / "cli.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            called = node.func if isinstance(node, ast.Call) else None
            if isinstance(called, ast.Attribute) and called.attr == "ask" and path.name != "desk.py":
                assert isinstance(node, ast.Call)
                yield (path.name, node.lineno), ast.unparse(node)
