"""A whole job told through the real command, killed at random instants, and gone on with until it is done.

A job is first told in one go, and what stands in the store at each question is noted. Then it is told again
in processes that die by SIGKILL: by the clock, or while they write to the store. After each death the
store must hold a beginning of that first telling, cut between two acts, with all that was there when the
last question was asked or the last word printed.
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import sys
import threading
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.cli import run
from diagnose.job.events import Entry
from diagnose.job.journal import Journal
from diagnose.screen.desk import PipeDesk

__all__ = ["Act", "Course", "Deaths", "told_whole", "told_with_deaths"]


#: Within so many seconds of its beginning a writing is killed: about twice what one takes.
WRITING = 0.03


@dataclass(frozen=True, slots=True)
class Act:
    """One command with the lines typed at its questions; `again`: how it is gone on with."""

    arguments: tuple[str, ...]
    lines: tuple[str, ...] = ()
    again: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Course:
    """How many events stood at each question of an act, and at its end; and how long it took in all."""

    stood: tuple[int, ...]
    seconds: float


@dataclass(slots=True)
class Deaths:
    """What came of it: kills, kills aimed at the store being written, and acts acknowledged before one."""

    kills: int = 0
    within: int = 0
    acknowledged: int = 0


def stored(path: Path) -> list[tuple[int, dict[str, Any]]]:
    """(step, event) of the only job in the store; none where there is no job yet."""
    with Journal.open(path) as journal:
        rows = journal.jobs()
        assert len(rows) <= 1, "the job is there twice"
        return [(entry.step, _plain(entry)) for entry in (journal.events(rows[0].id) if rows else ())]


def _plain(entry: Entry) -> dict[str, Any]:
    return dict(entry.event.to_dict())


def told_whole(path: Path, acts: Sequence[Act]) -> tuple[list[tuple[int, dict[str, Any]]], list[Course]]:
    """Tell the job without a death: all its events (step and fields), and the course of each act."""
    courses = []
    for act in acts:
        start = time.monotonic()
        read_end, write_end = os.pipe()
        child = _begin(path, act.arguments, act.lines, write_end, count=True)
        os.close(write_end)
        with os.fdopen(read_end, "rb") as stream:
            seen = [int(number) for number in stream.read().split()]
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0, act.arguments
        courses.append(Course((*seen, len(stored(path))), time.monotonic() - start))
    return stored(path), courses


def told_with_deaths(
    path: Path,
    acts: Sequence[Act],
    whole: Sequence[tuple[int, dict[str, Any]]],
    courses: Sequence[Course],
    chance: random.Random,
    deaths: Deaths,
    each: int,
) -> None:
    """Tell the job, each act with at most so many deaths, noted in `deaths`.

    Raises AssertionError where anything is lost, doubled or torn.
    """
    for act, course in zip(acts, courses, strict=True):
        arguments, first, left, stood = act.arguments, 0, each, course.stood
        while True:
            within = None
            if left % 2:
                to_write = len({step for step, _ in whole[len(stored(path)) : stood[-1]]})
                within = chance.randint(1, max(to_write, 1)), chance.uniform(0.0, WRITING)
            read_end, write_end = os.pipe()
            child = _begin(path, arguments, act.lines[first:], write_end, within if left else None)
            os.close(write_end)
            if left and within is None:
                # What is left of the act takes about its share of the whole.
                time.sleep(chance.uniform(0.0, course.seconds * (1.0 - first / len(stood))))
                os.kill(child, signal.SIGKILL)
            with os.fdopen(read_end, "rb") as stream:
                asked = len(stream.read().split())
            code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
            found = stored(path)
            assert found == list(whole[: len(found)]), "what is kept is not a beginning of what was told"
            ends = len(found) in (0, len(whole)) or whole[len(found)][0] != found[-1][0]
            assert ends, "a step is torn"
            # What stood when the last question was asked was acknowledged by asking it.
            held = stood[first + asked - 1] if asked else stood[first] if first else 0
            assert len(found) >= held, f"{held - len(found)} events acknowledged and lost"
            if code == 0:
                assert len(found) == stood[-1], arguments
                break
            assert code == -signal.SIGKILL, f"{arguments} ended with {code}"
            left -= 1
            deaths.kills += 1
            deaths.within += within is not None
            deaths.acknowledged += len({step for step, _ in found[:held]})
            if len(found) == stood[-1]:
                break
            if found and act.again:
                arguments = act.again
            # Gone on with at the first question at which all that is kept stood already.
            first = next((n for n, count in enumerate(stood[:-1]) if count == len(found)), 0)
    assert stored(path) == list(whole)


def _begin(
    path: Path,
    arguments: Sequence[str],
    lines: Sequence[str],
    told: int,
    within: tuple[int, float] | None = None,
    count: bool = False,
) -> int:
    """A process that carries out the command; writes a word to `told` at each question.

    within: it kills itself at its nth writing to the store, so many seconds after that began.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    child = os.fork()
    if child:
        return child
    try:
        source, typed = os.pipe()
        os.write(typed, "".join(f"{line}\n" for line in lines).encode())
        os.close(typed)
        os.dup2(source, 0)
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        sys.stdin, sys.stdout, sys.stderr = (os.fdopen(n, mode) for n, mode in ((0, "r"), (1, "w"), (2, "w")))
        _listen((lambda: f"{len(stored(path))} ".encode()) if count else (lambda: b"? "), told)
        if within is not None:
            _die_within(*within)
        code = run([*arguments, "--store", str(path)])
        sys.stdout.flush()
        os._exit(code)
    except BaseException:
        path.with_suffix(".txt").write_text(traceback.format_exc(), encoding="utf-8")
        os._exit(70)


def _listen(word: Callable[[], bytes], told: int) -> None:
    plain = PipeDesk.ask

    def ask(desk: PipeDesk, prompt: str, words: Sequence[str] = ()) -> str:
        os.write(told, word())
        return plain(desk, prompt, words)

    PipeDesk.ask = ask  # type: ignore[method-assign]


def _die_within(writing: int, seconds: float) -> None:
    """Kill this process so many seconds after it began to write to the store for the nth time."""
    left = [writing]

    def begun(statement: str) -> None:
        if statement.startswith("BEGIN"):
            left[0] -= 1
            if left[0] == 0:
                threading.Timer(seconds, os.kill, (os.getpid(), signal.SIGKILL)).start()

    plain = sqlite3.connect

    def connect(*arguments: Any, **named: Any) -> sqlite3.Connection:
        database = plain(*arguments, **named)
        database.set_trace_callback(begun)
        return database

    sqlite3.connect = connect  # type: ignore[assignment]
