"""A whole job told through the real command, killed at random instants, and gone on with until it is done.

A job is first told in one go, and what stands in the store at each question and after each writing is noted.
Then it is told again in processes that die by SIGKILL: by the clock, or while they write to the store. After
each death the store must hold a beginning of that first telling, cut between two acts, with all that was
there when the last question was asked and when the last writing came back.
"""

from __future__ import annotations

import importlib
import os
import pkgutil
import random
import signal
import sqlite3
import sys
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import diagnose
from diagnose.cli import run
from diagnose.job.events import Entry
from diagnose.job.journal import Journal
from diagnose.screen.desk import PipeDesk

__all__ = ["Act", "Course", "Deaths", "told_whole", "told_with_deaths"]


#: A kill aimed at a writing comes within so many times what the longest one took.
WIDER = 1.25

#: What a process tells of itself: a question is asked, events begin to be written, they are on the disk.
ASKED, BEGUN, KEPT = "asked", "begun", "kept"


@dataclass(frozen=True, slots=True)
class Act:
    """One command with the lines typed at its questions; `again`: how it is gone on with."""

    arguments: tuple[str, ...]
    lines: tuple[str, ...] = ()
    again: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Course:
    """How many events stood at each question of an act and at its end, and after each writing of events.

    seconds: from the start of the act to the end of its last writing; writing: what the longest took.
    """

    stood: tuple[int, ...]
    kept: tuple[int, ...]
    seconds: float
    writing: float


@dataclass(slots=True)
class Deaths:
    """What came of it.

    clock, aimed: kills by the clock, and at an instant counted from the beginning of a writing.
    inside: of all these, the ones that fell into a writing; undone: of those, without a trace of it left.
    journals: kills that left SQLite's own journal behind, for whoever opens the store next.
    acknowledged: acts that stood acknowledged at them.
    """

    clock: int = 0
    aimed: int = 0
    inside: int = 0
    undone: int = 0
    journals: int = 0
    acknowledged: int = 0

    @property
    def kills(self) -> int:
        """All of them."""
        return self.clock + self.aimed


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
    # Else every process would load them anew, and most deaths would fall before anything is begun.
    for module in pkgutil.walk_packages(diagnose.__path__, "diagnose."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    courses = []
    for act in acts:
        start, written, begun, longest = time.monotonic(), 0.0, 0.0, 0.0
        read_end, write_end = os.pipe()
        child = _begin(path, act.arguments, act.lines, write_end, count=True)
        os.close(write_end)
        counts: dict[str, list[int]] = {ASKED: [], BEGUN: [], KEPT: []}
        with os.fdopen(read_end, "r") as stream:
            for line in stream:
                word, count, moment = line.split()
                counts[word].append(int(count))
                if word == BEGUN:
                    begun = float(moment)
                elif word == KEPT:
                    written, longest = float(moment) - start, max(longest, float(moment) - begun)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0, act.arguments
        courses.append(Course((*counts[ASKED], len(stored(path))), tuple(counts[KEPT]), written, longest))
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
            before, side = len(stored(path)), path.with_name(f"{path.name}-journal")
            lay = side.exists()
            to_write = [count for count in course.kept if count > before]
            read_end, write_end = os.pipe()
            child = _begin(path, arguments, act.lines[first:], write_end)
            os.close(write_end)
            with os.fdopen(read_end, "r") as stream:
                words = []
                if aimed := bool(left % 2):
                    nth = chance.randint(1, max(len(to_write), 1))
                    while words.count(BEGUN) < nth and (line := stream.readline()):
                        words += line.split()
                    time.sleep(chance.uniform(0.0, WIDER * course.writing))
                elif left:
                    # What is left of the act takes about its share of the whole.
                    share = course.seconds * (1.0 - first / len(stood))
                    time.sleep(chance.uniform(0.0, share + course.writing))
                if left:
                    os.kill(child, signal.SIGKILL)
                words += stream.read().split()
            code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
            left_behind = side.exists() and not lay
            found = stored(path)
            assert found == list(whole[: len(found)]), "what is kept is not a beginning of what was told"
            ends = len(found) in (0, len(whole)) or whole[len(found)][0] != found[-1][0]
            assert ends, "a step is torn"
            # What stood when the last question was asked was acknowledged by asking it; and a writing that
            # came back is kept, whether or not anything was said since.
            asked, kept = words.count(ASKED), words.count(KEPT)
            held = stood[first + asked - 1] if asked else stood[first] if first else 0
            held = max(held, to_write[kept - 1] if kept else before)
            assert len(found) >= held, f"{held - len(found)} events acknowledged and lost"
            if code == 0:
                assert len(found) == stood[-1], arguments
                break
            assert code == -signal.SIGKILL, f"{arguments} ended with {code}"
            left -= 1
            deaths.clock += not aimed
            deaths.aimed += aimed
            inside = words.count(BEGUN) > kept
            deaths.inside += inside
            deaths.undone += inside and len(found) == held
            deaths.journals += left_behind
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
    count: bool = False,
) -> int:
    """A process that carries out the command; writes a word to `told` at each question and writing.

    count: with each word also how many events stand then, and when it was.
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

        def say(word: str) -> None:
            moment = time.monotonic()
            # A transaction that is open is not looked into.
            more = f" {0 if word == BEGUN else len(stored(path))} {moment}" if count else ""
            os.write(told, f"{word}{more}\n".encode())

        _listen(say)
        code = run([*arguments, "--store", str(path)])
        sys.stdout.flush()
        os._exit(code)
    except BaseException:
        path.with_suffix(".txt").write_text(traceback.format_exc(), encoding="utf-8")
        os._exit(70)


def _listen(say: Callable[[str], None]) -> None:
    """Say when something is asked, when events begin to be written, and when that came back."""
    plain_ask, plain_connect = PipeDesk.ask, sqlite3.connect

    class Told(sqlite3.Connection):
        """A store's connection that tells of each transaction that writes events."""

        began = False

        def execute(self, statement: str, *values: Any) -> sqlite3.Cursor:
            if statement.startswith("INSERT INTO event") and not self.began:
                self.began = True
                say(BEGUN)
            cursor = super().execute(statement, *values)
            if statement == "COMMIT" and self.began:
                self.began = False
                say(KEPT)
            return cursor

    def ask(desk: PipeDesk, prompt: str, words: Sequence[str] = ()) -> str:
        say(ASKED)
        return plain_ask(desk, prompt, words)

    def connect(*arguments: Any, **named: Any) -> sqlite3.Connection:
        return plain_connect(*arguments, factory=Told, **named)

    PipeDesk.ask = ask  # type: ignore[method-assign]
    sqlite3.connect = connect  # type: ignore[assignment]
