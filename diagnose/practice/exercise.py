"""An exercise: a car drawn by a seed, as hard as its level says.

Level 1: one hidden fault, and by what the driver tells its cure stands first or second. Level 2: third to
eighth. Level 3: further down, so the first suspects mislead. Level 4: two faults or three
have to be put right.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.belief.belief import Belief, Car
from diagnose.choice.cost import Cures
from diagnose.choice.outcomes import unanswered
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.practice.car import PracticeCar, culprits
from diagnose.trials.cars import Drawn, draw, heard
from diagnose.trials.run import draw_side, draw_vehicle

__all__ = ["LEVELS", "Exercise", "draw_exercise", "level_of", "rank_after_talk", "wordings"]

#: What a level asks of its cars, in words.
LEVELS = {
    1: "one fault, among the first suspects",
    2: "one fault, not the first suspect",
    3: "one fault, where the first suspects mislead",
    4: "two or three faults at once",
}

#: Rank of the true cure after what the driver tells, up to which a car is of level 1 or 2.
FIRST, NEAR = 2, 8

#: A car that needs more cures than this teaches patience only.
MOST_FAULTS = 3

#: Words that name a side.
_SIDES = re.compile(r"\b(left|right)\b")

#: Cars drawn of one model, and models drawn, before a car of another level is taken.
CARS, MODELS = 12, 24


@dataclass(frozen=True)
class Exercise:
    """A car to practise on. words: what its driver says; truth: what has to be put right (indices of causes);
    rank: of the first of them after what the driver tells, by cures; level: as it came out;
    workshop: where it stands."""

    car: PracticeCar
    heard: tuple[Heard, ...]
    words: str
    truth: frozenset[int]
    rank: int
    level: int
    cures: Cures
    workshop: Workshop

    @property
    def complaint(self) -> str:
        """Its complaint (id)."""
        return self.heard[0].complaint


def draw_exercise(
    library: Library, complaints: Sequence[str], level: int, seed: int, workshop: Workshop
) -> Exercise:
    """The car of this seed; the same library, complaints, level, seed and workshop give the same car.

    complaints: ids out of which one is drawn. A level that none of the cars drawn has gives the nearest one.
    Cars are left out whose complaint no cure of a listed cause ends: nobody could find out.
    """
    random = np.random.default_rng([seed, level])
    nearest: Exercise | None = None
    for _ in range(MODELS):
        name = complaints[int(random.integers(len(complaints)))]
        for exercise in _of_one_model(library, name, seed, workshop, random):
            if exercise.level == level:
                return exercise
            if nearest is None or abs(exercise.level - level) < abs(nearest.level - level):
                nearest = exercise
    if nearest is None:
        raise ValueError("no car with a listed cause can be drawn for these complaints")
    return nearest


def _of_one_model(
    library: Library, complaint: str, seed: int, workshop: Workshop, random: np.random.Generator
) -> Iterator[Exercise]:
    vehicle = draw_vehicle(library, complaint, random)
    car = Car(library, vehicle, {complaint: draw_side(library, complaint, random)})
    cures = Cures(car, workshop)
    says = wordings(library, complaint, car.complaints[complaint])
    for each in draw(car, CARS, random):
        shown = PracticeCar(car, each.present, each.coins, each.again, seed=seed)
        truth = culprits(shown)
        if truth and len({int(cures.of_cause[n]) for n in truth}) <= MOST_FAULTS:
            words = says[int(random.integers(len(says)))]
            rank = rank_after_talk(shown, cures, truth)
            count = len({int(cures.of_cause[n]) for n in truth})
            yield Exercise(shown, heard(car), words, truth, rank, level_of(count, rank), cures, workshop)


def wordings(library: Library, complaint: str, side: str | None) -> tuple[str, ...]:
    """What its driver may say of it. With a side told, only words that name none, so that they cannot
    contradict it."""
    row = library.complaints[complaint]
    said = [each for each in row.says if side is None or not _SIDES.search(each.lower())]
    return tuple(said) or (row.name,)


def level_of(faults: int, rank: int) -> int:
    """The level of a car with so many cures needed, the first of them at this rank."""
    if faults > 1:
        return 4
    return 1 if rank <= FIRST else 2 if rank <= NEAR else 3


def rank_after_talk(drawn: Drawn, cures: Cures, truth: frozenset[int]) -> int:
    """The rank, from 1, of the first true cure once the driver has answered what this complaint asks."""
    car = drawn.car
    told: list[Seen] = []
    start = Story(car.vehicle, heard(car))
    for complaint in car.complaints:
        for name in car.library.complaints[complaint].questions:
            if name in car.checks:
                told += [drawn.answer(spot) for spot in unanswered(car, start, car.checks[name])]
    belief = Belief(car, Story(car.vehicle, heard(car), tuple(dict.fromkeys(told))))
    blame = cures.any(belief.to_blame[None, :])[0]
    best = max(float(blame[int(cures.of_cause[n])]) for n in truth)
    return 1 + int((blame > best + 1e-12).sum())
