"""An attempt beside what the program did on the same car, and what each check told of the true cause.

What a check told is its weight of evidence for the fault that it told most of: the common logarithm of the
factor by which its answers, by themselves, raise the odds that this fault is to blame, over what the
complaint alone makes them. I. J. Good, Probability and the Weighing of Evidence (1950), chapter 6.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.belief.belief import Belief, Car
from diagnose.choice.cost import Cure
from diagnose.model.story import Seen, Story
from diagnose.practice.exercise import Exercise
from diagnose.trials.walk import Ended, Searched, Step

__all__ = ["Comparison", "Line", "compare", "lines_of"]

#: Weight of evidence from which a check tells something worth a word: a factor of 2.
TELLING = math.log10(2.0)


@dataclass(frozen=True)
class Line:
    """One step: a check (id) with what it showed, or a cure. minutes: of this step, with the drive.

    weight: of evidence for a true fault that was still in the car (0 for a cure); of: that fault (index of a
    cause), None for a cure; before, after: P(it is to blame) by the complaint alone, and with these answers;
    worn: the cure ended a fault; gone: the complaint was gone after it.
    """

    check: str | None
    cure: Cure | None
    seen: tuple[Seen, ...]
    minutes: float
    weight: float
    worn: bool
    gone: bool
    of: int | None = None
    before: float = 0.0
    after: float = 0.0


@dataclass(frozen=True)
class Comparison:
    """Two searches of one car. telling: the check (id) that told most of a true fault, of all that either
    did, or None where none told anything; weight: of it; place: its number among the apprentice's checks,
    None if it was not done; told: its line."""

    mine: tuple[Line, ...]
    program: tuple[Line, ...]
    own: Ended
    other: Ended
    telling: str | None
    weight: float
    place: int | None
    told: Line | None = None


def compare(
    exercise: Exercise, mine: Sequence[tuple[Step, Searched]], program: Sequence[tuple[Step, Searched]]
) -> Comparison:
    """The two searches beside each other; a search without a step has handed the car on at once."""
    one, other = lines_of(exercise, mine), lines_of(exercise, program)
    best = max((*other, *one), key=lambda line: line.weight, default=None)
    telling = best.check if best is not None and best.weight >= TELLING else None
    checks = [line.check for line in one if line.check is not None]
    place = checks.index(telling) + 1 if telling in checks else None
    ends = [_ended(exercise, trace) for trace in (mine, program)]
    told = best if telling else None
    weight = told.weight if told else 0.0
    return Comparison(one, other, ends[0], ends[1], telling, weight, place, told)


def _ended(exercise: Exercise, trace: Sequence[tuple[Step, Searched]]) -> Ended:
    """What a search came to; one without any step has only cost the handing on."""
    if trace:
        return trace[-1][1].ended()
    return Searched(exercise.car, exercise.cures, exercise.workshop).ended()


def lines_of(exercise: Exercise, trace: Sequence[tuple[Step, Searched]]) -> tuple[Line, ...]:
    """The steps of a search, each with its minutes and what it told."""
    found: list[Line] = []
    before = Searched(exercise.car, exercise.cures, exercise.workshop)
    cars: dict[tuple[frozenset[int], frozenset[str]], tuple[Car, Belief]] = {}
    for step, after in trace:
        minutes = after.minutes - before.minutes
        if step.check is not None:
            key = (before.cured, before.before)
            if key not in cars:
                car = exercise.car.car
                now = car.after(before.cured, before.before) if before.cured else car
                cars[key] = now, Belief(now, Story(car.vehicle, exercise.heard))
            seen = after.seen[len(before.seen) :]
            weight, fault, alone, told = _weight(*cars[key], exercise, seen)
            line = Line(step.check, None, seen, minutes, weight, False, False, fault, alone, told)
            found.append(line)
        elif step.cure is not None:
            cure = exercise.cures.all[step.cure]
            found.append(Line(None, cure, (), minutes, 0.0, not before.sound(cure), not after.there))
        before = after
    return tuple(found)


def _weight(
    car: Car, alone: Belief, exercise: Exercise, seen: Sequence[Seen]
) -> tuple[float, int | None, float, float]:
    """The weight of evidence of these answers for the true fault, still there, that they tell most of; that
    fault, and P(it is to blame) without and with them."""
    left = sorted(exercise.truth - car.cured)
    if not seen or not left:
        return 0.0, None, 0.0, 0.0
    told = Belief(car, Story(car.vehicle, exercise.heard, tuple(seen)))
    pairs = [(number, float(alone.to_blame[number]), float(told.to_blame[number])) for number in left]
    number, before, after = max(pairs, key=lambda each: _log_odds(each[2]) - _log_odds(each[1]))
    return _log_odds(after) - _log_odds(before), number, before, after


def _log_odds(p: float) -> float:
    p = min(max(p, 1e-12), 1.0 - 1e-12)
    return math.log10(p / (1.0 - p))
