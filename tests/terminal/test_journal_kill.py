"""A program killed at any instant: every acknowledged step is kept exactly once, and no step is torn."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path

import pytest

import diagnose.errors
from diagnose.job.events import Noted
from diagnose.job.journal import Journal

ROOT = Path(diagnose.errors.__file__).parents[1]

#: Appends steps of one to four events to job-1 for ever. A step's notes read round/turn/part/parts, so
#: that each can be told from all others; the turn and the step's number are printed once it is acknowledged.
WRITER = """
import sys
from pathlib import Path
from diagnose.job.events import Noted
from diagnose.job.journal import Journal

path, round_ = Path(sys.argv[1]), sys.argv[2]
print("ready", flush=True)
with Journal.open(path) as journal:
    if not journal.jobs():
        journal.create("demo car")
    turn = 0
    while True:
        parts = turn % 4 + 1
        padding = "x" * (turn * 997 % 9000)    # steps of several pages too
        notes = [Noted(f"{round_}/{turn}/{part}/{parts}/{padding}") for part in range(parts)]
        print(turn, journal.append("job-1", *notes), flush=True)
        turn += 1
"""


def run_and_kill(path: Path, round_: int, after: float) -> dict[int, int]:
    """Run a writer, kill it `after` seconds past its start; turn -> step number, as far as acknowledged."""
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), str(round_)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert process.stdout is not None and process.stderr is not None
    with process:
        assert process.stdout.readline() == "ready\n", process.stderr.read()
        time.sleep(after)
        assert process.poll() is None, process.stderr.read()
        process.send_signal(signal.SIGKILL)
        told = process.stdout.read()
    assert process.returncode == -signal.SIGKILL
    # A last line without its end was not acknowledged in full; its step may or may not be there.
    lines = [line for line in told.splitlines(keepends=True) if line.endswith("\n")]
    return {int(turn): int(step) for turn, step in map(str.split, lines)}


def kept(path: Path) -> dict[tuple[int, int], int]:
    """(round, turn) -> step number of all that is in the store; fails on a step torn, doubled or mixed."""
    with Journal.open(path) as journal:
        if not journal.jobs():
            return {}
        entries = journal.events("job-1")
    steps: dict[int, list[list[int]]] = defaultdict(list)
    for entry in entries[1:]:
        assert isinstance(entry.event, Noted)
        steps[entry.step].append([int(number) for number in entry.event.text.split("/")[:4]])
    assert list(steps) == list(range(2, len(steps) + 2))
    found = {}
    for step, notes in steps.items():
        round_, turn, _, parts = notes[0]
        assert notes == [[round_, turn, part, parts] for part in range(parts)], f"step {step} is torn"
        found[round_, turn] = step
    assert len(found) == len(steps), f"written twice: {Counter(found.values()).most_common(3)}"
    return found


@pytest.mark.slow
@pytest.mark.parametrize("rounds", [15, pytest.param(200, marks=pytest.mark.long)])
def test_a_writer_killed_anywhere_keeps_every_acknowledged_step(tmp_path: Path, rounds: int) -> None:
    chance = random.Random(20260504)
    path = tmp_path / "jobs.sqlite"
    acknowledged: dict[tuple[int, int], int] = {}
    for round_ in range(rounds):
        told = run_and_kill(path, round_, after=chance.uniform(0.0, 0.2))
        acknowledged |= {(round_, turn): step for turn, step in told.items()}
        found = kept(path)
        assert acknowledged.items() <= found.items()
        # At most the one step in hand when the program died was kept without having been acknowledged.
        unasked = [turn for of, turn in found if of == round_ and turn not in told]
        assert unasked in ([], [len(told)])
    assert len(acknowledged) > rounds, "the writer hardly came to write: the test shows little"


@pytest.mark.slow
@pytest.mark.parametrize("rounds", [12, pytest.param(300, marks=pytest.mark.long)])
def test_a_store_killed_while_it_is_made_can_be_used(tmp_path: Path, rounds: int) -> None:
    chance = random.Random(20260505)
    for round_ in range(rounds):
        path = tmp_path / str(round_) / "jobs.sqlite"
        told = run_and_kill(path, round_, after=chance.uniform(0.0, 0.03))
        found = kept(path)
        assert {(round_, turn): step for turn, step in told.items()}.items() <= found.items()
        with Journal.open(path) as journal:
            assert journal.append(journal.create("another"), Noted("x")) == 2
