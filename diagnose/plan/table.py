"""All sets of some units of work: what each costs, and what it leaves of the complaint."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.choice.cost import DRIVE_MINUTES
from diagnose.model.library import Library
from diagnose.model.story import Workshop
from diagnose.model.work import covered
from diagnose.plan.bound import Parts, least_cost, parts_of
from diagnose.plan.chances import Acting, left
from diagnose.plan.search import Limits, Problem
from diagnose.plan.shared import Shared, set_costs, together
from diagnose.plan.units import Pay, Unit
from diagnose.plan.wishes import Wishes

__all__ = ["GAP_DAYS", "Behind", "Table", "Work", "shared_by"]

Array = NDArray[np.float64]

#: Days between two stages: the car is driven until it is sure what the last one did (estimate).
GAP_DAYS = 14


class Behind:
    """What may act behind the complaints: behind any of them, and behind each, with what it is worth to be
    rid of that one, in money."""

    def __init__(self, some: Acting, each: Sequence[tuple[Acting, float]]) -> None:
        self.some, self.each = some, tuple(each)

    @property
    def worth(self) -> float:
        """Of all complaints."""
        return sum(worth for _, worth in self.each)


class Work:
    """Some units of work, what each costs by itself and what they share, for one purse."""

    def __init__(
        self, units: Sequence[Unit], behind: Behind, library: Library, wishes: Wishes, workshop: Workshop
    ) -> None:
        self.units, self.behind = tuple(units), behind
        self.wishes, self.workshop = wishes, workshop
        self.pay = Pay(workshop.labour_rate, wishes.own_rate)
        self.shared = shared_by(units, library)
        self.own_cash = [each.price + self.pay.cash(each.minutes) for each in units]
        self.own_net = [each.price + self.pay.worth(each.minutes) - each.value for each in units]
        self.shared_cash = [
            (each.items, self.pay.cash(each.minutes, each.id) + workshop.parts(each.material))
            for each in self.shared
        ]
        self.shared_net = [
            (each.items, self.pay.worth(each.minutes, each.id) + workshop.parts(each.material))
            for each in self.shared
        ]
        #: To put the car together, drive it, and see.
        self.visit = self.pay.worth(DRIVE_MINUTES)

    @property
    def required(self) -> list[tuple[int, int]]:
        """What a plan must have: (units as bits, stages), one of these units within so many stages.

        Cures that safety calls for come into the first; with a deadline, faults that fail the inspection are
        ended before it, in as many stages as there is time for.
        """
        found: dict[tuple[int, int], None] = {}
        for number in sorted({each for unit in self.units for each in unit.safety}):
            some = sum(1 << n for n, unit in enumerate(self.units) if number in unit.safety)
            found[some, 1] = None
        if self.wishes.deadline is not None:
            stages = 1 + self.wishes.deadline // GAP_DAYS
            for cause in sorted({each for unit in self.units for each in unit.fails}):
                some = sum(1 << n for n, unit in enumerate(self.units) if cause in unit.fails)
                found[some, stages] = None
        return list(found)

    def parts(self, acting: Acting) -> Parts:
        """The easier task that bounds a plan of this work from below."""
        some = [items for items, _ in self.required]
        forced = [any(items >> n & 1 for items in some) for n in range(len(self.units))]
        ends = [each.ends for each in self.units]
        return parts_of(self.own_net, ends, self.shared_net, acting.quiet, forced)

    @property
    def least(self) -> float:
        """No plan of this work costs less."""
        some = self.behind.some
        end = min((worth for _, worth in self.behind.each), default=0.0)
        return least_cost(self.parts(some), some, self.visit, end)


class Table:
    """Arrays over all 2 ** n sets of n units: cash on the day, P(the complaint is left), P(a further stage is
    needed), and what is left to bear."""

    def __init__(self, work: Work) -> None:
        self.work, self.units, self.wishes = work, work.units, work.wishes
        self.cash = set_costs(work.own_cash, work.shared_cash)
        ends, bad = [each.ends for each in work.units], [each.bad for each in work.units]
        self.left = left(work.behind.some, ends, bad)
        #: The first stage is done in any case.
        self.open = self.left.copy()
        self.open[0] = 1.0
        apart = [
            (one, other)
            for one in range(len(work.units))
            for other in range(one)
            if work.units[one].parts & work.units[other].parts
        ]
        #: What ends the same fault is done once in a plan, by one of them.
        self.fine = together(len(work.units), apart)
        self.end = np.zeros(1 << len(work.units))
        for acting, worth in work.behind.each:
            self.end = self.end + worth * left(acting, ends, bad)

    def first(self, cash: Array) -> int:
        """The set that does for least cash what must be in the first stage, whatever the money."""
        fine = self.fine.copy()
        for items, stages in self.work.required:
            if stages == 1:
                fine &= np.arange(len(fine)) & items != 0
        some = np.flatnonzero(fine)
        return int(some[cash[some].argmin()]) if len(some) else 0

    @property
    def beyond(self) -> bool:
        """True if what must be done first is beyond the money."""
        cash = float(self.cash[self.first(self.cash)])
        return cash > min(self.wishes.stage_budget, self.wishes.budget)

    def net(self, change: Mapping[int, float] | None = None) -> Array:
        """Net cost of every set; change: money by which the price of a unit (a number) is other."""
        own = list(self.work.own_net)
        for number, money in (change or {}).items():
            own[number] += money
        return set_costs(own, self.work.shared_net, self.work.visit)

    def problem(self, change: Mapping[int, float] | None = None) -> Problem:
        """What is to be searched."""
        count = len(self.units)
        cash = self.cash + (
            set_costs([(change or {}).get(n, 0.0) for n in range(count)], []) if change else 0.0
        )
        fits = cash <= self.wishes.stage_budget + 1e-9
        net = self.net(change)
        later = np.where(fits, net, math.inf)
        first = later.copy()
        whole, must = self.wishes.budget, self.first(cash)
        if must and cash[must] > min(self.wishes.stage_budget, whole):
            # Safety comes before money; but then nothing else comes into the first stage.
            first[:] = math.inf
            first[must] = net[must]
            whole = max(whole, float(cash[must]))
        end = np.where(self.fine, self.end, math.inf)
        early = tuple(self.work.required)
        return Problem(count, (first, later), cash, self.open, end, Limits(whole, early))


def shared_by(units: Sequence[Unit], library: Library) -> list[Shared]:
    """What some of these units need once together: accesses, each with its place, and follow-ups.

    Where one follow-up covers another, the other is counted for both and the rest for the one alone: so a set
    pays for the covering one, and no more.
    """
    found = []
    places = dict.fromkeys(each for unit in units for each in unit.opened)
    for name, place in places:
        items = sum(1 << n for n, unit in enumerate(units) if (name, place) in unit.opened)
        found.append(Shared(name, place, items, library.access[name].hours * 60.0))
    for name in dict.fromkeys(each for unit in units for each in unit.follow_ups):
        follow = library.follow_ups[name]
        inner = covered(library.follow_ups, [name])
        items = sum(
            1 << n
            for n, unit in enumerate(units)
            if name in unit.follow_ups or name in covered(library.follow_ups, unit.follow_ups)
        )
        asked = {each for unit in units for each in unit.follow_ups}
        less = [library.follow_ups[each] for each in inner & asked]
        minutes = max(follow.minutes - sum(each.minutes for each in less), 0.0)
        material = max(follow.parts - sum(each.parts for each in less), 0.0)
        found.append(Shared(name, "", items, minutes, material))
    return found
