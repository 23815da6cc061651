"""Closed jobs drawn from a library whose figures are taken as true: for trials of learning itself.

Each car has the complaint and its driver says so; the same modest course of checks is done on each; then
what is needed is put right until the complaint is gone, and entered, rightly or (seldom) not. All of it is
invented.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.belief.belief import Car, places
from diagnose.choice.outcomes import Spot
from diagnose.learn.history import Job, Label
from diagnose.model.library import Library
from diagnose.model.vehicle import Vehicle
from diagnose.trials.cars import Drawn, draw, heard

__all__ = ["DEMO_CARS", "Simulated", "course_of", "simulate"]

#: The cars that come (demo data): young, middling, old.
DEMO_CARS = (
    Vehicle(km=45_000.0, years=4.0),
    Vehicle(km=120_000.0, years=9.0),
    Vehicle(km=230_000.0, years=15.0),
)


@dataclass(frozen=True, slots=True)
class Simulated:
    """A job as it was entered, and its cure as it was in truth."""

    job: Job
    truth: Label


def course_of(library: Library, most: int = 6) -> tuple[str, ...]:
    """A modest fixed course: the so many quickest checks, in the order of their minutes."""
    order = sorted(library.checks.values(), key=lambda check: (check.minutes, check.id))
    return tuple(check.id for check in order[:most])


def simulate(
    library: Library,
    count: int,
    seed: int,
    *,
    cars: Sequence[Vehicle] = DEMO_CARS,
    course: Sequence[str] | None = None,
    label_error: float = 0.05,
    hidden: float = 0.1,
) -> list[Simulated]:
    """So many closed jobs, by a seed. hidden: the share of those whose cause was never entered."""
    random = np.random.default_rng(seed)
    checks = course_of(library) if course is None else tuple(course)
    kinds = [(vehicle, complaint) for vehicle in cars for complaint in library.complaints]
    often = random.multinomial(count, [1.0 / len(kinds)] * len(kinds))
    found: list[Simulated] = []
    for (vehicle, complaint), number in zip(kinds, often, strict=True):
        found += _of_one(library, vehicle, complaint, int(number), checks, random, label_error, hidden)
    return [found[number] for number in random.permutation(len(found))]


def _of_one(
    library: Library,
    vehicle: Vehicle,
    complaint: str,
    count: int,
    checks: Sequence[str],
    random: np.random.Generator,
    label_error: float,
    hidden: float,
) -> Iterator[Simulated]:
    car = Car(library, vehicle, {complaint: None})
    spots = [
        Spot(finding, place)
        for check in checks
        if check in car.checks
        for finding in car.checks[check].findings
        for place in places(library, finding)
    ]
    spots = [spot for spot in spots if library.findings[spot.finding].repeats in ("", complaint)]
    suspects = sorted(car.suspects())
    for drawn in draw(car, count, random):
        truth = _cure(car, drawn, suspects)
        label: Label | None = truth
        chance = random.random(2)
        if chance[0] < label_error:
            wrong = car.causes[suspects[int(random.integers(len(suspects)))]]
            label = Label(((wrong.fault, wrong.position),))
        if chance[1] < hidden:
            label = None
        seen = tuple(drawn.answer(spot) for spot in spots)
        yield Simulated(Job(vehicle, heard(car), seen, label), truth)


def _cure(car: Car, drawn: Drawn, suspects: Sequence[int]) -> Label:
    """Which causes had to be put right: all suspects that are there, less those that are not needed."""
    need = frozenset(drawn.present) & frozenset(suspects)
    outside = drawn.complaint(need)
    for each in sorted(need):
        less = need - {each}
        # With something unlisted behind it too, what would raise the complaint by itself is needed.
        kept = frozenset(drawn.present) - {each}
        gone = not _raises(drawn, kept, each) if outside else not drawn.complaint(less)
        if gone:
            need = less
    causes = tuple((car.causes[each].fault, car.causes[each].position) for each in sorted(need))
    return Label(causes, outside)


def _raises(drawn: Drawn, others: frozenset[int], cause: int) -> bool:
    """True if the cause acts: a link of it into the complaint's tree worked."""
    nodes = drawn.car.plain.network.nodes
    for key in drawn.car.plain.network.blame:
        for number, each in enumerate(nodes[key].inputs):
            if each.source == cause and drawn.coins[key][number]:
                return True
    return False
