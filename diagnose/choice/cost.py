"""What looking, curing and being wrong cost here, labour and parts in one currency.

Several faults may be present at once, so the decision is taken for every cure by itself: carry it out
or leave it. Carried out on a sound part it is money thrown away; left although it is to blame it brings
the car back. The expected cost of a belief is the sum, over all cures, of the cheaper of the two; a check
is worth what it takes off that sum. Money for parts that really are bad is due either way and counts
in neither. Doubt about the culprit has a price as well: the looking that it will still take.
docs/method.md has the reasoning.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnose.belief.belief import Car
from diagnose.belief.tables import Array
from diagnose.model.check import TALK, Check
from diagnose.model.library import Library, Remedy
from diagnose.model.position import axle_of
from diagnose.model.story import Workshop

__all__ = [
    "COME_BACK_HOURS",
    "DANGER_HOURS",
    "MINUTES_PER_BIT",
    "OUTSIDE_HOURS",
    "OVERHEAD",
    "Cure",
    "Cures",
    "change_minutes",
    "check_minutes",
    "possible",
    "remedy_money",
    "set_up_after",
]

#: Hours that a cause to blame costs when it is left: the complaint stays, the car comes back, is driven,
#: looked at and aligned again (estimate).
COME_BACK_HOURS = 5.0

#: Hours put on leaving a fault that makes the car unfit to drive, blamed for the complaint or not (estimate).
DANGER_HOURS = 2.0

#: Hours of further search that a cause outside the trees costs (estimate).
OUTSIDE_HOURS = 4.0

#: Minutes of looking that each bit of doubt about the culprit still costs on the way (estimate: what the
#: checks of the shipped library yield, set-ups shared).
MINUTES_PER_BIT = 12.0

#: Minutes that any question or check costs beside its own: reading it, answering it (estimate).
OVERHEAD = 1.0


def possible(check: Check, workshop: Workshop) -> bool:
    """True if the workshop has the set-up and every tool of the check."""
    return not ({check.id, check.set_up, *check.needs} & workshop.cannot)


def change_minutes(library: Library, check: Check, set_up: str) -> float:
    """Minutes to bring the car from its present set-up to that of the check; 0 to ask the driver."""
    return 0.0 if check.set_up == TALK else library.changes.get((set_up, check.set_up), 0.0)


def check_minutes(library: Library, check: Check, set_up: str) -> float:
    """Minutes of a check from the car's present set-up: the change, if any, and the check."""
    return change_minutes(library, check, set_up) + check.minutes


def set_up_after(check: Check, set_up: str) -> str:
    """The car's set-up once the check is done: a question leaves it where it was."""
    return set_up if check.set_up == TALK else check.set_up


def remedy_money(library: Library, remedy: Remedy, workshop: Workshop) -> float:
    """Money for one unit of a remedy with what must follow it."""
    minutes = remedy.hours * 60.0
    neutral = remedy.parts
    for each in remedy.follow_ups:
        minutes += library.follow_ups[each].minutes
        neutral += library.follow_ups[each].parts
    return workshop.labour(minutes) + workshop.parts(neutral)


@dataclass(frozen=True, slots=True)
class Cure:
    """One remedy at one place (a position, an axle or `car`), and the causes (indices) that it ends."""

    remedy: str
    place: str
    causes: tuple[int, ...]
    money: float


class Cures:
    """Every cure that this car may need, and what a belief about it is expected to cost."""

    def __init__(self, car: Car, workshop: Workshop) -> None:
        library = car.library
        groups: dict[tuple[str, str], list[int]] = {}
        for number, cause in enumerate(car.causes):
            remedy = library.remedies[library.faults[cause.fault].remedy]
            groups.setdefault((remedy.id, _unit(remedy, cause.position)), []).append(number)
        self.all: tuple[Cure, ...] = tuple(
            Cure(remedy, place, tuple(causes), remedy_money(library, library.remedies[remedy], workshop))
            for (remedy, place), causes in groups.items()
        )
        self.of_cause = np.zeros(len(car.causes), dtype=int)
        for index, cure in enumerate(self.all):
            for number in cure.causes:
                self.of_cause[number] = index
        self.money: Array = np.array([cure.money for cure in self.all])
        self.come_back = workshop.labour(COME_BACK_HOURS * 60.0)
        self.outside = workshop.labour(OUTSIDE_HOURS * 60.0)
        self.bit = workshop.labour(MINUTES_PER_BIT)
        danger = workshop.labour(DANGER_HOURS * 60.0)
        self._danger: Array = np.array(
            [danger if library.faults[cause.fault].danger == "stop" else 0.0 for cause in car.causes]
        )
        self._sum = np.zeros((len(car.causes), len(self.all)))
        self._sum[np.arange(len(car.causes)), self.of_cause] = 1.0

    def _any(self, p: Array) -> Array:
        """P(at least one cause of each cure), shape (C, cures); its causes taken as independent."""
        result: Array = -np.expm1(np.log1p(-np.clip(p, 0.0, 1.0 - 1e-12)) @ self._sum)
        return result

    def carrying_out(self, present: Array) -> Array:
        """Expected waste of each cure, shape (C, cures): its money times P(nothing that it ends is there)."""
        result: Array = self.money * (1.0 - self._any(present))
        return result

    def leaving(self, present: Array, to_blame: Array) -> Array:
        """Expected cost of leaving each cure, shape (C, cures): come-backs, and danger left on the road."""
        result: Array = self.come_back * self._any(to_blame) + (present * self._danger) @ self._sum
        return result

    def expected(self, present: Array, to_blame: Array, outside: Array) -> Array:
        """Expected money, shape (C,), of deciding now on every cure.

        present, to_blame: shape (C, N); outside: shape (C,), P(a cause that is not in the trees).
        """
        cheaper = np.minimum(self.carrying_out(present), self.leaving(present, to_blame))
        doubt = self._bits(to_blame, outside) * self.bit
        result: Array = cheaper.sum(axis=1) + self.outside * outside + doubt
        return result

    def _bits(self, to_blame: Array, outside: Array) -> Array:
        """Doubt about the culprit, shape (C,): the entropy in bits of blame shared out over the cures."""
        weight = np.concatenate([self._any(to_blame), np.maximum(outside, 1e-9)[:, None]], axis=1)
        p = weight / weight.sum(axis=1, keepdims=True)
        result: Array = -(p * np.log2(np.maximum(p, 1e-12))).sum(axis=1)
        return result

    def worth_doing(self, present: Array, to_blame: Array) -> list[int]:
        """Cures (indices) cheaper to carry out than to leave, most to blame first; arrays of shape (N,)."""
        waste = self.carrying_out(present[None, :])[0]
        leave = self.leaving(present[None, :], to_blame[None, :])[0]
        blame = self._any(to_blame[None, :])[0]
        chosen = [n for n in range(len(self.all)) if waste[n] < leave[n]]
        return sorted(
            chosen, key=lambda n: (-round(float(blame[n]), 12), self.all[n].remedy, self.all[n].place)
        )


def _unit(remedy: Remedy, position: str) -> str:
    """Where one unit of the remedy is: the position, the axle, or the car."""
    if remedy.per == "each":
        return position
    if remedy.per == "pair":
        return axle_of(position) or position
    return "car"
