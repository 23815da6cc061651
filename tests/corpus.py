"""Bad input that finds its own way: what reaches a new step of the code is kept, and spoiled further.

The steps are those of the program's own lines, each from one line to the next, as Python's tracing tells them
(the `sys.settrace` of the library reference). A seed makes a run again, on the same code.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import diagnose
from tests.fuzzing import DOORS, given, spoiled

__all__ = ["Grown", "grown"]

PROGRAM = str(Path(diagnose.__file__).parent)

#: A step: where it was taken, from which line to which.
Step = tuple[CodeType, int, int]

#: Texts longer than so many letters are not kept: nothing is to be learned from more of the same.
LONGEST = 20_000


@dataclass(slots=True)
class Grown:
    """Inputs tried and taken; steps of the good texts and of all; texts kept; what is wrong."""

    inputs: int = 0
    taken: int = 0
    good: int = 0
    steps: int = 0
    kept: int = 0
    slowest: float = 0.0
    wrong: list[str] = field(default_factory=list)


def grown(door: str, seed: int, inputs: int, seconds: float = float("inf"), longest: float = 60.0) -> Grown:
    """Try so many inputs, or for so long; none may take longer than `longest` seconds while it is traced."""
    texts, take = DOORS[door]
    chance, told, seen = random.Random(f"{door}/{seed}"), Grown(), set[Step]()
    kept = [text for text in dict.fromkeys(texts) if len(text) <= LONGEST]
    for text in kept:
        seen |= _steps(lambda text=text: given(take, text.encode()))[0]
    good, told.good = tuple(kept), len(seen)
    end = time.monotonic() + seconds
    while told.inputs < inputs and time.monotonic() < end:
        # The latest finds lead on most often; from what is sound more leads to the last stages.
        pool = chance.choice((good, kept[-20:], kept))
        data = spoiled((_spliced(pool, chance),), chance)
        start = time.perf_counter()
        steps, (taken, wrong) = _steps(lambda data=data: given(take, data))
        told.slowest = max(told.slowest, time.perf_counter() - start)
        told.inputs += 1
        told.taken += taken
        if time.perf_counter() - start > longest:
            wrong.append("took too long")
        told.wrong += [f"{each} of {data[:2000]!r}" for each in wrong]
        text = data.decode("utf-8", "replace")
        if not steps <= seen and len(text) <= LONGEST:
            seen |= steps
            kept.append(text)
            told.kept += 1
    told.steps = len(seen)
    return told


def _spliced(pool: Sequence[str], chance: random.Random) -> str:
    """One of the texts, or the beginning of one with the end of another."""
    text = chance.choice(pool)
    if chance.random() < 0.2:
        first, second = text.split("\n"), chance.choice(pool).split("\n")
        text = "\n".join(first[: chance.randrange(len(first) + 1)] + second[chance.randrange(len(second)) :])
    return text


def _steps(act: Callable[[], Any]) -> tuple[set[Step], Any]:
    """The steps of the program that an act takes, and what came of it."""
    steps: set[Step] = set()

    def called(frame: FrameType, event: str, _: Any) -> Any:
        code = frame.f_code
        if not code.co_filename.startswith(PROGRAM):
            return None
        last = frame.f_lineno

        def line(frame: FrameType, event: str, _: Any) -> Any:
            nonlocal last
            if event == "line":
                steps.add((code, last, frame.f_lineno))
                last = frame.f_lineno
            return line

        return line

    before = sys.gettrace()
    sys.settrace(called)
    try:
        return steps, act()
    finally:
        sys.settrace(before)
