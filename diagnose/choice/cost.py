"""What looking, curing and being wrong cost here, labour and parts in one currency.

A belief costs what the best course of cures from there is expected to cost (`course`), and besides, for
every fault that makes the car unfit to drive, the cheaper of putting it right unseen and leaving it on
the road. A check is worth what it takes off that sum. docs/method.md has the reasoning.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass

import numpy as np

from diagnose.belief.belief import Car
from diagnose.belief.tables import Array, Numbers
from diagnose.choice.course import Prices, Prospects
from diagnose.model.check import TALK, Check
from diagnose.model.library import Library, Remedy
from diagnose.model.story import Workshop
from diagnose.model.work import due, unit_at

__all__ = [
    "DANGER_HOURS",
    "DRIVE_MINUTES",
    "OVERHEAD",
    "UNSOLVED_HOURS",
    "Cure",
    "Cures",
    "change_minutes",
    "check_minutes",
    "possible",
    "remedy_money",
    "set_up_after",
]

#: Hours that a complaint costs which is handed on unsolved: the search goes on elsewhere, or the car comes
#: back, is driven, looked at and aligned again (estimate).
UNSOLVED_HOURS = 10.0

#: Hours put on leaving a fault behind the complaint that makes the car unfit to drive (estimate).
DANGER_HOURS = 2.0

#: Minutes to put the car together after a cure, drive it, and see whether the complaint has gone (estimate).
DRIVE_MINUTES = 30.0

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
    for each in due(library, remedy.follow_ups):
        minutes += each.minutes
        neutral += each.parts
    return workshop.labour(minutes) + workshop.parts(neutral)


@dataclass(frozen=True, slots=True)
class Cure:
    """One remedy at one place (a position, an axle or `car`), and the causes (indices) that it ends."""

    remedy: str
    place: str
    causes: tuple[int, ...]
    money: float


class Cures:
    """Every cure that this car may need, and what a belief about it is expected to cost.

    all: the cures. money: shape (cures,), of each. causes: shape (N,), the numbers of the causes that all
    arrays about causes stand for. numbers: shape (cures,), which each cure is among those of the whole car.
    of_cause: shape (N,), which cure ends each cause.
    """

    def __init__(self, car: Car, workshop: Workshop) -> None:
        library = car.library
        groups: dict[tuple[str, str], list[int]] = {}
        for number, cause in enumerate(car.causes):
            remedy = library.remedies[library.faults[cause.fault].remedy]
            groups.setdefault((remedy.id, unit_at(remedy, cause.position)), []).append(number)
        self.all: tuple[Cure, ...] = tuple(
            Cure(remedy, place, tuple(causes), remedy_money(library, library.remedies[remedy], workshop))
            for (remedy, place), causes in groups.items()
        )
        danger = workshop.labour(DANGER_HOURS * 60.0)
        self._danger: Array = np.array(
            [danger if library.faults[cause.fault].danger == "stop" else 0.0 for cause in car.causes]
        )
        self._drive, self._unsolved = workshop.labour(DRIVE_MINUTES), workshop.labour(UNSOLVED_HOURS * 60.0)
        self._parts: dict[frozenset[int], Cures] = {}
        self._take(np.arange(len(car.causes)), np.arange(len(self.all)))

    def _take(self, causes: Numbers, numbers: Numbers) -> None:
        """Have arrays of these causes, and as cures those of `all`, which are these of the whole car."""
        self.causes, self.numbers = causes, numbers
        owner = {cause: index for index, cure in enumerate(self.all) for cause in cure.causes}
        self.of_cause: Numbers = np.array([owner[int(cause)] for cause in causes], dtype=np.intp)
        self.money: Array = np.array([cure.money for cure in self.all])
        self.prices = Prices(self.money, self._drive, self._unsolved)
        # Causes of one cure stand together, so that sums over them are one step.
        self._order = np.argsort(self.of_cause, kind="stable")
        counts = np.bincount(self.of_cause, minlength=len(self.all))
        self._starts = counts.cumsum() - counts
        #: The cures that end a dangerous fault, their causes, and where those of each begin.
        cures = np.unique(self.of_cause[self._danger > 0.0])
        some = [self._order[self._starts[n] : self._starts[n] + counts[n]] for n in cures]
        ends = np.cumsum(counts[cures])
        self._dangerous = cures, np.concatenate([self._order[:0], *some]), ends - counts[cures]

    def of(self, suspects: frozenset[int]) -> Cures:
        """Those that end one of these causes (numbers), with all that each of them ends.

        To the others no blame can fall, so that they have no part in what curing costs.
        """
        if suspects not in self._parts:
            some = [index for index, cure in enumerate(self.all) if suspects & set(cure.causes)]
            part = copy(self)
            part.all, part._parts = tuple(self.all[index] for index in some), {}
            causes = np.array([cause for cure in part.all for cause in cure.causes], dtype=np.intp)
            part._danger = self._danger[causes]
            part._take(causes, np.array(some, dtype=np.intp))
            self._parts[suspects] = part
        return self._parts[suspects]

    def _sums(self, values: Array) -> Array:
        """Sums over the causes of each cure; shape (C, N) -> (C, cures)."""
        result: Array = np.add.reduceat(values[:, self._order], self._starts, axis=1)
        return result

    def any(self, p: Array) -> Array:
        """P(at least one cause of each cure), shape (C, cures); its causes taken as independent."""
        result: Array = -np.expm1(self._sums(np.log1p(-np.clip(p, 0.0, 1.0 - 1e-12))))
        return result

    def prospects(self, present: Array, to_blame: Array, outside: Array, there: Array) -> Prospects:
        """What the beliefs hold for these cures. present, to_blame: shape (C, N); outside, there: shape
        (C,), P(a cause that is not in the trees), P(the complaint is there).
        """
        each = Prospects.of(to_blame, present, outside, there)
        # Causes of one cure are independent a priori; given the complaint one explains the other away.
        acting = each.acting[:, None]
        a = each.blame * acting
        acts = np.minimum(self.any(a), 1.0 - 1e-9)
        neither = np.exp(self._sums(np.log(np.maximum(1.0 - a - each.worn, 1e-12))))
        worn = np.clip(1.0 - acts - neither, 0.0, 1.0)
        return Prospects(np.minimum(acts / acting, 1.0 - 1e-9), worn, each.outside, each.there, each.acting)

    def danger(self, present: Array, to_blame: Array) -> Array:
        """Expected money for dangerous faults behind the complaint, shape (C,).

        Each is put right unseen or left on the road, the cheaper. A joint so worn that it is felt is the one
        that may part; one with the first trace of play is not. So blame counts, not presence.
        """
        cures, causes, starts = self._dangerous
        sound = np.add.reduceat(np.log1p(-np.clip(present[:, causes], 0.0, 1.0 - 1e-12)), starts, axis=1)
        left = np.add.reduceat(to_blame[:, causes] * self._danger[causes], starts, axis=1)
        result: Array = np.minimum(self.money[cures] * np.exp(sound), left).sum(axis=1)
        return result

    def for_safety(self, present: Array, to_blame: Array) -> list[int]:
        """Cures (indices) that are worth their money for the danger alone; arrays of shape (N,)."""
        waste = self.money * (1.0 - self.any(present[None, :])[0])
        danger = self._sums((to_blame * self._danger)[None, :])[0]
        return [int(n) for n in np.flatnonzero(waste < danger)]
