"""Plans for invented cars with the shipped trees."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.choice.cost import Cures
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.model.vehicle import Renewed, Vehicle
from diagnose.plan import planner as module
from diagnose.plan.chosen import Plan
from diagnose.plan.planner import Planner
from diagnose.plan.search import search
from diagnose.plan.units import AT_A_SHOP, Unit
from diagnose.plan.wishes import BUDGET, MAKER, UNMARKED, Offer, Wishes
from tests.shipped import LIBRARY

EUR = Workshop("EUR", 90.0)

PAST_FEEL = "past the feel limit, inside the inspection limit"

#: Demo: an invented van with play in the right inner tie rod, and perhaps in the outer one.
VAN = Story(
    Vehicle(km=187_000, years=12),
    (Heard("wander"),),
    (
        Seen("rock-at-3-and-9/linkage-play-at-tyre", "front-right", PAST_FEEL, 4.0),
        Seen("squeeze-the-bellows/knock-under-fingers", "front-right", "yes"),
        Seen("fingertips-along-the-chain/step-at-rod-end", "front-right", "probably"),
    ),
)
FLOATY = Story(Vehicle(km=214_000, years=14), (Heard("floaty-rear"),))


_KNOWN: dict[str, tuple[Belief, Cures]] = {}


def belief_of(story: Story) -> tuple[Belief, Cures]:
    if repr(story) not in _KNOWN:
        car = Car(LIBRARY, story.vehicle, story.complaints)
        _KNOWN[repr(story)] = Belief(car, story), Cures(car, EUR)
    return _KNOWN[repr(story)]


def planner(story: Story, wishes: Wishes | None = None) -> Planner:
    return Planner(*belief_of(story), wishes or Wishes(), EUR)


@cache
def floaty() -> tuple[Planner, Plan]:
    """A plan of three stages for a car that floats behind."""
    made = planner(FLOATY, Wishes(worth=3000.0))
    return made, made.plan()


def names(units: tuple[Unit, ...]) -> set[str]:
    return {unit.name for unit in units}


def test_the_money_adds_up() -> None:
    plan = planner(VAN, Wishes(worth=2500.0)).plan()
    assert plan.stages
    for stage in plan.stages:
        own = sum(unit.minutes for unit in stage.units)
        opening = sum(each.minutes for each in stage.openings)
        after = sum(each.minutes for each in stage.follow_ups)
        assert stage.minutes == pytest.approx(own + opening + after)
        assert stage.labour == pytest.approx(stage.minutes * 90.0 / 60.0)
        material = sum(each.parts for each in stage.follow_ups) * 0.9
        assert stage.parts == pytest.approx(sum(unit.price for unit in stage.units) + material)
        assert len({(each.id, each.place) for each in stage.openings}) == len(stage.openings)
        assert stage.saved >= -1e-9
    assert plan.cash == pytest.approx(sum(each.cash for each in plan.stages))
    assert plan.outlay <= plan.cash + 1e-9


def test_its_chances_are_those_of_the_belief() -> None:
    made = planner(VAN, Wishes(worth=2500.0))
    plan = made.plan()
    first = plan.stages[0]
    belief = made.belief
    ends = frozenset().union(*(unit.ends for unit in first.units))
    # The belief's own question takes the work as good; a few of 100 new parts are bad.
    assert belief.cured(sorted(ends)) - 0.03 < first.gone < belief.cured(sorted(ends)) + 1e-6
    assert [each.needed for each in plan.stages][1:] == [1.0 - each.gone for each in plan.stages][:-1]


@pytest.mark.slow
def test_the_quick_chances_are_near_the_exact_ones() -> None:
    for story in (VAN, FLOATY):
        made = planner(story)
        table = made.table(made.units()[:6])
        # The first stage is done in any case, a later one if the complaint is left.
        assert table.open[0] == 1.0
        assert table.open[1:].tolist() == table.left[1:].tolist()
        for items in (0b1, 0b11, 0b111, 0b111111):
            ends = {n for k, unit in enumerate(table.units) if items >> k & 1 for n in unit.ends}
            assert 1.0 - table.left[items] == pytest.approx(made.gone(ends), abs=0.06)


def test_the_search_costs_what_the_stages_cost() -> None:
    made = planner(VAN, Wishes(worth=2500.0))
    table = made.table(made.units()[:8])
    found = search(table.problem(), 3)
    assert found is not None
    stages = made.stages_of([[u for n, u in enumerate(table.units) if s >> n & 1] for s in found.sets])
    assert sum(each.cash for each in stages) == pytest.approx(found.cash)


@pytest.mark.slow
def test_more_worth_buys_more_chance() -> None:
    chances = [planner(FLOATY, Wishes(worth=worth)).plan().gone for worth in (50.0, 800.0, 5000.0)]
    assert chances == sorted(chances)
    assert chances[0] < chances[-1]


@pytest.mark.slow
def test_a_budget_is_kept_to() -> None:
    for limit in (Wishes(worth=4000.0, budget=500.0), Wishes(worth=4000.0, stage_budget=350.0, stages=2)):
        plan = planner(FLOATY, limit).plan()
        assert not plan.beyond
        assert plan.cash <= limit.budget + 1e-6
        assert all(each.cash <= limit.stage_budget + 1e-6 for each in plan.stages)


@pytest.mark.slow
def test_safety_comes_first_whatever_it_costs() -> None:
    plan = planner(VAN, Wishes(budget=50.0)).plan()
    rod = "renew-inner-tie-rod@front-right"
    assert rod in names(plan.stages[0].units)
    assert next(unit for unit in plan.stages[0].units if unit.name == rod).safety
    assert plan.beyond
    assert plan.cash > 50.0


@pytest.mark.slow
def test_own_labour_pays_for_the_rig_only() -> None:
    plan = planner(VAN, Wishes(own_rate=0.0)).plan()
    stage = plan.stages[0]
    shop = sum(each.minutes for each in stage.follow_ups if each.id in AT_A_SHOP)
    assert shop > 0.0
    assert stage.labour == pytest.approx(shop * 90.0 / 60.0)


def test_one_axle_only() -> None:
    made = planner(replace(FLOATY, heard=(Heard("wander"), Heard("floaty-rear"))), Wishes(only="rear"))
    for unit in made.units():
        assert all(made.belief.causes[n].position.split("-")[0] != "front" for n in unit.cure.causes)


def test_offers_are_chosen_and_unwanted_grades_left_alone() -> None:
    remedy = "renew-rear-dampers"
    offers = {
        remedy: (
            Offer(MAKER, Decimal(320)),
            Offer(UNMARKED, Decimal(210), days=4),
            Offer(BUDGET, Decimal(205)),
        )
    }

    def taken(wishes: Wishes) -> Offer:
        return next(u.offer for u in planner(FLOATY, wishes).units() if u.remedy.id == remedy)

    assert taken(Wishes(offers=offers)).grade == UNMARKED
    assert taken(Wishes(offers=offers, without=frozenset({"unmarked"}))).grade == BUDGET
    every = Wishes(offers=offers, without=frozenset({"unmarked", "maker", "budget"}))
    assert remedy not in {unit.remedy.id for unit in planner(FLOATY, every).units()}


@pytest.mark.slow
def test_what_is_left_out_of_the_search_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    full = floaty()[1]
    for most in (2, 4, 7):
        monkeypatch.setattr(module, "MOST_ITEMS", most)
        part = planner(FLOATY, Wishes(worth=3000.0)).plan()
        assert part.searched == most
        assert part.cost >= full.cost - 1e-6
        assert part.cost - part.gap <= full.cost + 1e-6


@pytest.mark.slow
def test_prices_are_asked_for_where_they_matter() -> None:
    plan = planner(FLOATY).plan()
    assert [each.worth for each in plan.ask] == sorted((each.worth for each in plan.ask), reverse=True)
    told = Wishes(offers={"renew-rear-dampers": (Offer(MAKER, Decimal(220)),)})
    assert "renew-rear-dampers" not in {each.unit.remedy.id for each in planner(FLOATY, told).plan().ask}


@pytest.mark.slow
def test_its_cost_may_be_anywhere_between_and_the_budget_may_not_hold() -> None:
    plan = floaty()[1]
    spread = plan.spread
    assert spread.low < spread.likely < spread.high
    assert spread.expected < spread.high
    assert spread.holds == 1.0
    tight = planner(FLOATY, Wishes(worth=3000.0, budget=plan.stages[0].cash * 1.02)).plan()
    assert 0.0 < tight.spread.holds < 1.0


@pytest.mark.slow
def test_several_complaints_are_told_apart() -> None:
    both = replace(FLOATY, heard=(Heard("floaty-rear"), Heard("front-inner-edge-wear")))
    plan = planner(both).plan()
    assert "renew-rear-dampers@rear" in {unit.name for stage in plan.stages for unit in stage.units}
    last = plan.stages[-1]
    assert last.gone <= min(last.each_gone.values()) + 1e-9
    # Who does not mind how it feels does not pay for it.
    uncaring = planner(both, Wishes(cares={"feel": 0.0})).plan()
    assert "renew-rear-dampers@rear" not in {u.name for stage in uncaring.stages for u in stage.units}


@pytest.mark.slow
def test_nothing_known_pays_for_nothing_dear() -> None:
    plan = planner(replace(VAN, seen=()), Wishes(worth=100.0)).plan()
    assert plan.cash < 100.0
    assert math.isclose(plan.gone, plan.stages[-1].gone if plan.stages else 1.0 - plan.there)


@pytest.mark.slow
def test_two_plans_are_alike() -> None:
    one, other = planner(VAN).plan(), planner(VAN).plan()
    assert one.cost == other.cost
    assert [names(s.units) for s in one.stages] == [names(s.units) for s in other.stages]


def test_what_is_due_anyway_is_done_while_access_is_open() -> None:
    def unit(km: float, story: Story = FLOATY) -> Unit:
        wishes = Wishes(keep_km=km, keep_years=km / 15_000)
        return next(u for u in planner(story, wishes).units() if u.name == "renew-rear-dampers@rear")

    short, long = unit(5_000.0), unit(90_000.0)
    assert short.later < long.later
    assert short.again < long.again
    renewed = replace(FLOATY.vehicle, renewed=(Renewed("rear-damper", None, at_km=212_000.0),))
    young = unit(90_000.0, replace(FLOATY, vehicle=renewed))
    assert young.later < long.later
    # Money saved later is counted, and only there.
    assert long.value == pytest.approx((long.later - long.again) * long.alone)


@pytest.mark.slow
def test_work_that_ends_the_same_fault_is_done_once() -> None:
    worn = replace(VAN, heard=(Heard("wander"), Heard("front-clunk-over-bumps")))
    plan = planner(worn, Wishes(worth=6000.0)).plan()
    done: set[int] = set()
    for unit in (unit for stage in plan.stages for unit in stage.units):
        assert not done & unit.parts, unit.name
        done |= unit.parts


def test_shared_access_is_opened_once_and_an_alignment_sets_the_toe() -> None:
    made = planner(VAN, Wishes(worth=6000.0))
    rods = [
        unit for unit in made.units() if unit.remedy.id in ("renew-inner-tie-rod", "renew-outer-tie-rod-end")
    ]
    right = [unit for unit in rods if unit.cure.place == "front-right"]
    assert len(right) == 2
    (stage,) = made.stages_of([right])
    apart = sum(made.stages_of([[unit]])[0].minutes for unit in right)
    assert stage.minutes < apart - 30.0
    toe = {n for n, cause in enumerate(made.belief.causes) if cause.fault == "front-toe-wrong"}
    assert toe <= right[0].ends
    assert not toe & right[0].parts


@pytest.mark.slow
def test_with_a_deadline_what_fails_the_inspection_comes_in_time() -> None:
    wishes = Wishes(worth=200.0, deadline=10)
    plan = planner(VAN, wishes).plan()
    late = [u for stage in plan.stages[1:] for u in stage.units if u.fails]
    assert not late
    first = plan.stages[0].units
    assert any(unit.fails for unit in first)


def test_what_must_be_done_stands_first_among_the_works(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever else gains more: of what does the same thing the cheapest, each thing once."""
    monkeypatch.setattr(module, "gains", lambda work, stages: [0.0] * len(work.units))
    every = planner(VAN, Wishes(worth=2500.0)).units()
    numbers = {number for unit in every for number in unit.safety}
    assert len(numbers) == 2
    first = every[: len(numbers)]
    assert {number for unit in first for number in unit.safety} == numbers
    for unit in first:
        assert unit.alone == min(each.alone for each in every if each.safety == unit.safety)
    # The others stand by name where none gains more.
    rest = [unit.name for unit in every[len(numbers) :]]
    assert rest == sorted(rest)


def test_other_ways_stand_beside_the_plan() -> None:
    made, plan = floaty()
    assert [each.name for each in plan.alternatives] == ["cheapest", "surest", "all at once"]
    cheapest, surest, at_once = plan.alternatives
    works = [unit for stage in plan.stages for unit in stage.units]
    # All of the plan in one visit ends as much, opens nothing twice and is paid for in any case.
    assert (at_once.stages, list(at_once.units)) == (1, works)
    assert at_once.gone == pytest.approx(plan.gone, abs=1e-12)
    assert at_once.cash == at_once.expected_cash
    assert plan.outlay < at_once.cash < plan.cash
    # To whom only a sure cure counts, no less of it; money later counts as often as it falls due.
    assert surest.gone >= plan.gone
    assert surest.stages > 1
    assert surest.expected_cash < surest.cash
    # The cheapest first visit that wins half of what all of the plan wins, looked for among all sets.
    table = made.table(made.units()[: module.MOST_ITEMS])
    place = {unit.name: n for n, unit in enumerate(table.units)}
    whole = sum(1 << place[name] for name in names(tuple(works)))
    half = (table.left[0] + table.left[whole]) / 2.0
    least = min(
        table.cash[items]
        for items in range(1, 1 << len(place))
        if table.fine[items] and table.left[items] <= half
    )
    assert cheapest.cash == pytest.approx(least)
    assert cheapest.stages == 1


def test_what_a_visit_saves_is_what_its_works_would_take_apart() -> None:
    made, plan = floaty()
    stage = plan.stages[-1]
    assert len(stage.units) == 3
    apart = [made.stages_of([[unit]])[0] for unit in stage.units]
    assert stage.saved == pytest.approx(sum(each.minutes for each in apart) - stage.minutes)
    assert stage.saved > 0.0
    for opening in stage.openings:
        asking = [n for n, unit in enumerate(stage.units) if (opening.id, opening.place) in unit.opened]
        assert list(opening.units) == asking


@pytest.mark.slow
def test_what_is_to_blame_and_not_in_the_plan_is_named() -> None:
    """From three in a hundred on, the likeliest first."""
    for plan in (floaty()[1], planner(VAN, Wishes(worth=200.0)).plan()):
        used = names(tuple(unit for stage in plan.stages for unit in stage.units))
        blames = [unit.blame for unit in plan.left_out]
        assert blames == sorted(blames, reverse=True)
        assert min(blames) >= 0.03
        assert not used & names(plan.left_out)


def test_days_are_those_of_the_part_that_comes_last() -> None:
    remedy = "renew-rear-dampers"
    made = planner(FLOATY, Wishes(offers={remedy: (Offer(MAKER, Decimal(200), days=6),)}))
    dampers = next(unit for unit in made.units() if unit.remedy.id == remedy)
    tyres = next(unit for unit in made.units() if unit.remedy.id == "set-tyre-pressures")
    assert [stage.days for stage in made.stages_of([[tyres, dampers], [tyres]])] == [6, 0]


def test_what_fails_the_inspection_is_reckoned_from_what_is_present() -> None:
    """P(one at least is there), these taken as independent; those as likely there as not fail it."""
    made = planner(VAN)
    belief, faults = made.belief, LIBRARY.faults
    some = [unit for unit in made.units() if unit.inspection]
    assert some
    for unit in made.units():
        seen = sorted(n for n in unit.parts if faults[belief.causes[n].fault].inspection)
        there = [float(belief.present[n]) for n in seen]
        assert unit.failing == pytest.approx(1.0 - math.prod(1.0 - p for p in there))
        assert unit.fails == {n for n, p in zip(seen, there, strict=True) if p >= 0.5}
        assert set(unit.inspection) == {faults[belief.causes[n].fault].inspection for n in seen}
        every = [float(belief.present[n]) for n in unit.parts]
        assert unit.there == pytest.approx(1.0 - math.prod(1.0 - p for p in every))


def test_the_gap_is_no_wider_than_either_bound() -> None:
    made, plan = floaty()
    ranked = made._ranked(False)
    assert plan.gap > 0.0
    assert plan.gap <= plan.cost - made._work(made.units()).least + 1e-6
    assert plan.gap <= sum(most for _, most in ranked[module.MOST_ITEMS :]) + 1e-6
