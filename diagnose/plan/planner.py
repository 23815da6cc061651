"""The plan: from a belief and what the owner wants to stages of work.

Which sets of units in which stages is searched in full among the `MOST_ITEMS` that matter most; by how much
at most a plan with any of the others could be better is proven by a bound. How likely each
stage cures is then asked of the belief itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from diagnose.belief.belief import Belief
from diagnose.belief.cure import without
from diagnose.belief.engine import Engine
from diagnose.belief.network import reaching
from diagnose.choice.cost import UNSOLVED_HOURS, Cures
from diagnose.model.story import Round, Workshop
from diagnose.model.work import access_hours, due
from diagnose.plan.chances import Acting
from diagnose.plan.chosen import Alternative, Opening, Plan, Stage
from diagnose.plan.prices import PriceWorth, worth_asking
from diagnose.plan.rest import gains
from diagnose.plan.search import MOST_ITEMS, Problem, Stages, search, value
from diagnose.plan.spread import Outgoing, Spread, spread_of
from diagnose.plan.table import Behind, Table, Work
from diagnose.plan.units import LITTLE, Pay, Unit, now, units_of
from diagnose.plan.wishes import Wishes

__all__ = ["CHEAP", "Planner"]

Array = NDArray[np.float64]

#: Units whose prices are looked at, in one search each for a low and a high price.
PRICED = 9

#: Times that the works which are not in the plan make place for others.
SWAPS = 4

#: The cheapest alternative reaches at least so much of what the plan gains.
CHEAP = 0.5

#: What being rid of the complaint is worth, many times over, to whom only a sure cure counts.
AT_ANY_PRICE = 10.0


class Planner:
    """Makes plans for one belief; what was worked out once serves all of them."""

    def __init__(self, belief: Belief, cures: Cures, wishes: Wishes, workshop: Workshop) -> None:
        """workshop: its rate and currency are those of the wishes where these name some."""
        if wishes.rate is not None:
            workshop = replace(workshop, labour_rate=wishes.rate)
        if wishes.currency is not None:
            workshop = replace(workshop, currency=wishes.currency)
        self.belief, self.cures, self.wishes, self.workshop = belief, cures, wishes, workshop
        self.library = belief.car.library
        #: Complaint -> what it is worth to be rid of it, in money.
        self.worths: Mapping[str, float] = self._worths()
        self.behind = _behind(belief, self.worths)
        self._after: dict[frozenset[int], Belief] = {}

    def _worths(self) -> dict[str, float]:
        """Complaint -> what it is worth to be rid of it."""
        worth = self.wishes.worth
        if worth is None:
            worth = self.workshop.labour(UNSOLVED_HOURS * 60.0)
        cares = {
            each: "tyres" if self.library.complaints[each].area == "wear" else "feel"
            for each in self.belief.car.tops
        }
        return {each: worth * self.wishes.cares_for(what) for each, what in cares.items()}

    def plan(self) -> Plan:
        """The best plan. Without any work that may help it has no stages."""
        found = self._solved(cheap=False)
        if math.isfinite(self.wishes.budget) or math.isfinite(self.wishes.stage_budget):
            # Where the purse is small, parts that last less long may be the better choice.
            other = self._solved(cheap=True)
            if other.cost < found.cost - 1e-9:
                found = other
        table, stages, gap, every = found.table, found.stages, found.gap, found.every
        chosen = [self._units_in(table, each) for each in stages.sets]
        made = self._stages(chosen)
        used = {unit.name for stage in chosen for unit in stage}
        return Plan(
            made,
            self.belief.there,
            sum(each.needed * each.cash for each in made),
            stages.cost,
            gap,
            len(every),
            len(table.units),
            table.beyond,
            self._spread(made),
            self._prices(table, stages, used),
            tuple(
                sorted(
                    (unit for unit in every if unit.name not in used and unit.blame >= 10 * LITTLE),
                    key=lambda unit: -unit.blame,
                )
            ),
            self._alternatives(table, stages, chosen, made),
        )

    def stages_of(self, chosen: Sequence[Sequence[Unit]]) -> tuple[Stage, ...]:
        """Any stages of work, with what they cost and how likely each of them cures."""
        return self._stages(chosen)

    def units(self, cheap: bool = False) -> list[Unit]:
        """Everything that comes into question, what matters most first."""
        return [unit for unit, _ in self._ranked(cheap)]

    def _ranked(self, cheap: bool) -> list[tuple[Unit, float]]:
        """The same, each with what a plan may gain by it at most."""
        every = units_of(self.belief, self.cures, self.wishes, self.workshop, cheap)
        work = self._work(every)
        most = gains(work, self.wishes.stages)
        order = sorted(range(len(every)), key=lambda n: (-most[n], every[n].name))
        # One for everything that must be done comes first, the cheapest.
        first: list[int] = []
        for items, _ in work.required:
            if not any(items >> n & 1 for n in first):
                some = [n for n in order if items >> n & 1]
                first.append(min(some, key=lambda n: every[n].alone))
        return [(every[n], most[n]) for n in (*first, *(n for n in order if n not in first))]

    def table(self, units: Sequence[Unit]) -> Table:
        """All sets of these units."""
        return Table(self._work(units))

    def _work(self, units: Sequence[Unit]) -> Work:
        return Work(units, self.behind, self.library, self.wishes, self.workshop)

    def _solved(self, cheap: bool) -> _Solved:
        ranked = self._ranked(cheap)
        every = [unit for unit, _ in ranked]
        table = self.table(every[:MOST_ITEMS])
        stages = _searched(table, self.wishes.stages)
        gap = 0.0
        if len(every) > MOST_ITEMS:
            rest = sum(most for _, most in ranked[MOST_ITEMS:])
            least = max(self._work(every).least, stages.cost - rest)
            table, stages = self._with_others(table, stages, every)
            gap = max(stages.cost - least, 0.0)
        return _Solved(table, stages, gap, every)

    def _with_others(self, table: Table, stages: Stages, every: Sequence[Unit]) -> tuple[Table, Stages]:
        """The plan once others of the works took the places of those that are not in it, a few at a time."""
        others = list(every[MOST_ITEMS:])
        for _ in range(SWAPS):
            used = self._units_in(table, sum(stages.sets))
            some = others[: MOST_ITEMS - len(used)]
            others = others[len(some) :]
            if not some:
                break
            table_with = self.table([*used, *some])
            found = _searched(table_with, self.wishes.stages)
            if found.cost < stages.cost - 1e-9:
                table, stages = table_with, found
        return table, stages

    def _units_in(self, table: Table, items: int) -> list[Unit]:
        return [unit for n, unit in enumerate(table.units) if items >> n & 1]

    def after(self, causes: Iterable[int]) -> Belief:
        """The belief once these causes were put right, and nobody has driven yet; new parts may be bad."""
        cured = frozenset(causes)
        if not cured:
            return self.belief
        if cured not in self._after:
            story, car = self.belief.story, self.belief.car
            ended = tuple((car.causes[n].fault, car.causes[n].position) for n in sorted(cured))
            after = replace(story, rounds=(*story.rounds, Round(ended)))
            self._after[cured] = Belief(car.through(after), after)
        return self._after[cured]

    def gone(self, causes: Iterable[int]) -> float:
        """P(no complaint is left once these causes were put right), exact."""
        return 1.0 - self.after(causes).there

    def _stages(self, chosen: Sequence[Sequence[Unit]]) -> tuple[Stage, ...]:
        found: list[Stage] = []
        done: frozenset[int] = frozenset()
        for units in chosen:
            needed = 1.0 if not found else 1.0 - found[-1].gone
            done |= frozenset(n for unit in units for n in unit.ends)
            found.append(self._stage(units, needed, self.after(done)))
        return tuple(found)

    def _stage(self, units: Sequence[Unit], needed: float, belief: Belief) -> Stage:
        library, pay = self.library, Pay(self.workshop.labour_rate, self.wishes.own_rate)
        places = list(dict.fromkeys(each for unit in units for each in unit.opened))
        openings = tuple(
            Opening(
                name,
                place,
                library.access[name].hours * 60.0,
                tuple(n for n, unit in enumerate(units) if (name, place) in unit.opened),
            )
            for name, place in places
        )
        follow = due(library, (each for unit in units for each in unit.follow_ups))
        own = sum(unit.minutes for unit in units)
        opening = access_hours(library, places) * 60.0
        after = sum(each.minutes for each in follow)
        alone = sum(
            unit.minutes
            + access_hours(library, unit.opened) * 60.0
            + sum(library.follow_ups[each].minutes for each in unit.follow_ups)
            for unit in units
        )
        labour = pay.cash(own + opening) + sum(pay.cash(each.minutes, each.id) for each in follow)
        parts = sum(unit.price for unit in units) + self.workshop.parts(sum(each.parts for each in follow))
        minutes = own + opening + after
        days = max((unit.offer.days for unit in units), default=0)
        each_gone = {complaint: 1.0 - belief.complaint(complaint) for complaint in belief.car.tops}
        return Stage(
            tuple(units),
            openings,
            follow,
            minutes,
            alone - minutes,
            labour,
            parts,
            days,
            needed,
            1.0 - belief.there,
            each_gone,
        )

    def _spread(self, stages: Sequence[Stage]) -> Spread:
        outgoing = []
        for stage in stages:
            prices = []
            for unit in stage.units:
                offer = unit.offer
                low = float(offer.price if offer.low is None else offer.low)
                high = float(offer.price if offer.high is None else offer.high)
                prices.append((low, unit.price, high))
            material = stage.parts - sum(unit.price for unit in stage.units)
            outgoing.append(Outgoing(stage.labour, (*prices, (material,) * 3), stage.needed))
        return spread_of(outgoing, self.wishes.budget)

    def _prices(self, table: Table, stages: Stages, used: set[str]) -> tuple[PriceWorth, ...]:
        """What asking for prices is worth: of the units in the plan, and of those nearest to it."""
        some = [unit for unit in table.units if unit.name in used]
        some += [unit for unit in table.units if unit.name not in used][: max(PRICED - len(some), 0)]
        small = self.table(some)
        place = {unit.name: n for n, unit in enumerate(some)}
        sets = [sum(1 << place[unit.name] for unit in self._units_in(table, each)) for each in stages.sets]

        def best(number: int, change: float) -> float:
            found = search(small.problem({number: change}), self.wishes.stages)
            return math.inf if found is None else found.cost

        def planned(number: int, change: float) -> float:
            return value(small.problem({number: change}), sets)

        return tuple(worth_asking(some, best, planned))

    def _alternatives(
        self, table: Table, stages: Stages, chosen: Sequence[Sequence[Unit]], made: Sequence[Stage]
    ) -> tuple[Alternative, ...]:
        problem = table.problem()
        found = []
        whole = sum(stages.sets)
        cheapest = _cheapest(table, problem, whole) if whole else None
        if cheapest and cheapest != whole:
            found.append(self._alternative("cheapest", [self._units_in(table, cheapest)]))
        sure = search(replace(problem, end=problem.end * AT_ANY_PRICE), self.wishes.stages)
        if sure is not None and sure.sets:
            found.append(self._alternative("surest", [self._units_in(table, each) for each in sure.sets]))
        if len(chosen) > 1:
            at_once = [unit for stage in chosen for unit in stage]
            found.append(self._alternative("all at once", [at_once]))
        same = {frozenset(u.name for u in stage.units) for stage in made}
        return tuple(
            each
            for each in found
            if len(made) != 1 or each.stages != 1 or frozenset(u.name for u in each.units) not in same
        )

    def _alternative(self, name: str, chosen: Sequence[Sequence[Unit]]) -> Alternative:
        stages = self._stages(chosen)
        return Alternative(
            name,
            tuple(unit for stage in stages for unit in stage.units),
            len(stages),
            sum(each.cash for each in stages),
            sum(each.needed * each.cash for each in stages),
            stages[-1].gone,
        )


class _Solved:
    def __init__(self, table: Table, stages: Stages, gap: float, every: list[Unit]) -> None:
        self.table, self.stages, self.gap, self.every = table, stages, gap, every

    @property
    def cost(self) -> float:
        return self.stages.cost


def _searched(table: Table, stages: int) -> Stages:
    problem = table.problem()
    found = search(problem, stages)
    if found is None:
        # What the inspection wants cannot be had for the money: the rest is planned all the same.
        first = tuple(each for each in problem.limits.early if each[1] == 1 and table.wishes.deadline is None)
        found = search(replace(problem, limits=replace(problem.limits, early=first)), stages)
    return found if found is not None else Stages((), float(problem.end[0]), 0.0)


def _cheapest(table: Table, problem: Problem, whole: int) -> int | None:
    """The set that takes least cash for `CHEAP` of what that set, all that is planned, gains."""
    fine = np.isfinite(problem.net[0]) & (problem.cash <= problem.limits.whole)
    fine[0] = False
    for items, _ in problem.limits.early:
        fine &= np.arange(len(fine)) & items != 0
    if not fine.any():
        return None
    least = table.left[0] - CHEAP * (table.left[0] - table.left[whole])
    some = np.flatnonzero(fine & (table.left <= least + 1e-12))
    return int(some[np.lexsort((table.left[some], problem.cash[some]))[0]]) if len(some) else None


def _behind(belief: Belief, worths: Mapping[str, float]) -> Behind:
    """What may act behind the complaints that are heard, by the belief as it stands."""
    present, blame = now(belief)
    some = Acting.of(blame, present, belief.outside, belief.there)
    if len(worths) == 1:
        return Behind(some, [(some, next(iter(worths.values())))])
    each = []
    car = belief.car
    for number, (complaint, worth) in enumerate(worths.items()):
        top = car.tops[complaint]
        network, rest = without(car.network, top, range(len(car.causes)), f"%{number}")
        network = replace(network, blame=reaching(network, (top,)))
        wanted = [top] if rest is None else [top, rest]
        answer = Engine(network).ask([belief.weights], wanted)
        own = answer.to_blame[0][: len(car.causes)].copy()
        for cause, new in car.renewed.items():
            # Of an event of several ways to fail only its share in all complaints is known.
            own[cause] = blame[cause] if isinstance(new, str) else float(answer.to_blame[0][new])
        outside = 0.0 if rest is None else answer.node(rest)
        each.append((Acting.of(own, present, outside, answer.node(top)), worth))
    return Behind(some, each)
