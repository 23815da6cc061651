"""Spoiled input at every door: taken or refused in plain words, soon, in little room, never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.model.story import Seen
from diagnose.model.vehicle import Vehicle
from tests.behind import behind
from tests.benchmarks.grow import STRUCTURED
from tests.corpus import grown
from tests.fuzzing import DOORS, astray, tried
from tests.shipped import LIBRARY


@pytest.mark.parametrize("count", [30, pytest.param(2000, marks=pytest.mark.long)])
@pytest.mark.parametrize("door", DOORS)
def test_spoiled_input_is_taken_or_refused(door: str, count: int) -> None:
    count = count // 10 if door == "trees, shipped" else count
    told = tried(door, 0, count)
    assert told.wrong == []
    assert told.taken + told.refused == count


@pytest.mark.long
@pytest.mark.parametrize("door", [door for door in DOORS if door != "trees, shipped"])
def test_what_was_taken_does_no_harm_behind_the_door(door: str, tmp_path: Path) -> None:
    assert tried(door, 0, 300, longest=60.0, then=behind(door, tmp_path)).wrong == []


@pytest.mark.parametrize(
    ("door", "inputs"),
    [("answers typed", 1500), *(pytest.param(door, 2000, marks=pytest.mark.long) for door in STRUCTURED)],
)
def test_bad_input_finds_its_way_to_code_that_good_texts_never_reach(door: str, inputs: int) -> None:
    told = grown(door, 1, inputs)
    assert told.wrong == []
    assert told.steps > 1.05 * told.good
    assert told.kept > 0


def test_numbers_astray_are_found() -> None:
    """Else the bad input would show nothing."""
    assert astray([1.0, {"a": (float("nan"),)}]) == "a number = nan"
    assert astray({"km": 1e10}) == "a number = 10000000000.0"
    assert astray(Vehicle(km=-1.0)) == "Vehicle.km = -1.0"
    assert astray(Seen("a/b", shares=(0.5, 1.5))) == "Seen.shares = 1.5"
    assert astray(LIBRARY) == ""


@pytest.mark.parametrize("door", DOORS)
def test_the_good_texts_are_good(door: str) -> None:
    """Else spoiling them would show nothing: each door takes one at least."""
    texts, take = DOORS[door]
    for text in texts:
        try:
            take(text.encode())
        except Exception:
            continue
        return
    pytest.fail("nothing is taken")


def _laughs(depth: int) -> str:
    """Each level repeats the one below nine times: 9 to the power of the depth, written out."""
    rows = [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, depth)]
    return "\n".join(["a0: &a0 [x]", *rows, ""])


BOMBS = {
    "aliases": _laughs(30),
    "brackets": "[" * 1_000_000,
    "braces": "{a: " * 100_000,
    "keys": "case: 1\n" + "".join(f"k{n}: 1\n" for n in range(150_000)),
    "one line": "case: " + "x" * 1_900_000,
    "digits": "case: " + "9" * 1_000_000,
    "comment": "case: 1\n#" + "x" * 100_000_000,
    "values": "journal: 1\nname: demo\nevents: [" + "1," * 2_400_000 + "]",
    "events": "journal: 1\nname: demo\nevents:\n" + "- {step: 1}\n" * 400_000,
    "cells": "angles,1\n" + "a,b\n" * 400_000,
}


#: Runs the command with its output in a file; prints its exit code and the most memory that it took (kB).
INSIDE = """
import os, sys
out = [(os.POSIX_SPAWN_OPEN, n, sys.argv[1], os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600) for n in (1, 2)]
command = [sys.executable, "-m", "diagnose", *sys.argv[2:]]
_, status, used = os.wait4(os.posix_spawn(sys.executable, command, os.environ, file_actions=out), 0)
print(os.waitstatus_to_exitcode(status), used.ru_maxrss)
"""


@pytest.mark.long
@pytest.mark.parametrize("bomb", BOMBS)
@pytest.mark.parametrize("command", ["rank", "angles", "debrief", "plan", "jobs import"])
def test_a_bomb_is_refused_in_a_process_of_less_than_500_mb(tmp_path: Path, bomb: str, command: str) -> None:
    path = tmp_path / "bomb.yaml"
    path.write_text(BOMBS[bomb], encoding="utf-8")
    said = tmp_path / "said"
    # A small process in between: what a process took at most counts from the one that it came from.
    ran = subprocess.run(
        [sys.executable, "-c", INSIDE, str(said), *command.split(), str(path)],
        env={**os.environ, "DIAGNOSE_STORE": str(tmp_path / "jobs.sqlite")},
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    code, kilobytes = map(int, ran.stdout.split())
    assert code == 2
    assert "Traceback" not in said.read_text("utf-8")
    assert kilobytes < 500_000
