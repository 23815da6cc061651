"""The small functions of a plan against figures that can be worked out on paper; all amounts are demo."""

from __future__ import annotations

import math
from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from diagnose.model.story import Workshop
from diagnose.plan.bound import Parts, least_cost, parts_of
from diagnose.plan.chances import Acting
from diagnose.plan.offers import usual_offer
from diagnose.plan.prices import worth_asking
from diagnose.plan.rest import gains
from diagnose.plan.search import Limits, Problem, search, value
from diagnose.plan.spread import Outgoing, spread_of
from diagnose.plan.units import Pay, Unit
from diagnose.plan.wishes import LIBRARY as USUAL
from diagnose.plan.wishes import MAKER, UNMARKED
from tests.shipped import LIBRARY

# What a plan may come to ---------------------------------------------------------------------------------


def triangular(part: float, low: float, peak: float, high: float) -> float:
    """The quantile of the triangular distribution (textbook): two halves of a square root."""
    width = high - low
    if part < (peak - low) / width:
        return low + math.sqrt(part * width * (peak - low))
    return high - math.sqrt((1.0 - part) * width * (high - peak))


def test_hours_alone_spread_as_their_law_says() -> None:
    """Hours between 0.8 and 1.6 of what is usual, 1 most often (estimate); prices that were asked for."""
    spread = spread_of([Outgoing(100.0, ((50.0, 50.0, 50.0),), 1.0)], 50.0 + 100.0 * 1.0)
    for found, part in ((spread.low, 0.1), (spread.likely, 0.5), (spread.high, 0.9)):
        assert found == pytest.approx(50.0 + 100.0 * triangular(part, 0.8, 1.0, 1.6), rel=5e-3)
    # The mean of a triangle is that of its corners; below its peak lies a quarter of it, (1 - 0.8) / 0.8.
    assert spread.expected == pytest.approx(50.0 + 100.0 * (0.8 + 1.0 + 1.6) / 3.0, rel=5e-3)
    assert spread.holds == pytest.approx(0.25, abs=0.01)


def test_prices_not_asked_for_spread_too_and_a_stage_is_paid_if_it_falls_due() -> None:
    sure, perhaps = ((60.0, 100.0, 170.0),), ((20.0, 20.0, 20.0),)
    spread = spread_of([Outgoing(0.0, sure, 1.0), Outgoing(0.0, perhaps, 0.3)], 1000.0)
    for found, part in ((spread.low, 0.1), (spread.likely, 0.5), (spread.high, 0.9)):
        assert found == pytest.approx(20.0 + triangular(part, 60.0, 100.0, 170.0), rel=5e-3)
    assert spread.expected == pytest.approx(110.0 + 0.3 * 20.0, rel=5e-3)
    assert spread.holds == 1.0
    assert spread_of([Outgoing(0.0, perhaps, 1.0)], 20.0).holds == 1.0
    assert spread_of([], 0.0).holds == 1.0


def test_the_same_draws_every_time() -> None:
    some = [Outgoing(80.0, ((10.0, 20.0, 40.0),), 1.0)]
    assert spread_of(some, 100.0) == spread_of(some, 100.0)


# Prices ---------------------------------------------------------------------------------------------------


def unit_of(name: str, price: float, low: float | None, high: float | None, asked: bool = False) -> Unit:
    offer = SimpleNamespace(asked=asked, low=low, high=high)
    return cast(Unit, SimpleNamespace(name=name, price=price, offer=offer))


def test_a_price_is_worth_what_the_plan_would_change() -> None:
    """Chances 1/4, 1/2, 1/4 (estimate), Howard's value of perfect information by hand."""
    units = [
        unit_of("a", 100.0, 60.0, 170.0),
        unit_of("b", 100.0, 60.0, 170.0),
        unit_of("asked", 100.0, 60.0, 170.0, asked=True),
        unit_of("no low", 100.0, None, 170.0),
        unit_of("no high", 100.0, 60.0, None),
    ]
    # Another part for 130 in all does the same as b; a is in the plan whatever it costs.
    found = worth_asking(
        units,
        lambda number, change: 100.0 + change if number == 0 else min(100.0 + change, 130.0),
        lambda number, change: 100.0 + change,
    )
    assert [(each.unit.name, each.worth, each.low, each.high) for each in found] == [
        ("b", 0.25 * (170.0 - 130.0), 60.0, 170.0),
        ("a", 0.0, 60.0, 170.0),
    ]
    # Where only the cheap price would change the plan. Equal ones stand by name.
    found = worth_asking(units[1::-1], lambda _, change: -50.0 if change < 0 else 0.0, lambda *_: 0.0)
    assert [(each.unit.name, each.worth) for each in found] == [("a", 12.5), ("b", 12.5)]
    # What is no better for knowing it is worth nothing, and never less.
    assert [each.worth for each in worth_asking(units[:1], lambda *_: 9.0, lambda *_: 0.0)] == [0.0]


def test_a_price_as_usual_lies_between_six_tenths_and_seventeen_tenths() -> None:
    """Estimates; parts are in the neutral unit in which an hour costs 100."""
    remedy = LIBRARY.remedies["renew-rear-dampers"]
    offer = usual_offer(remedy, Workshop("EUR", 50.0))
    assert float(offer.price) == pytest.approx(remedy.parts / 2.0)
    assert (offer.grade, offer.asked, offer.days) == (USUAL, False, 0)
    # Of no grade in particular: as often bad as a part without the maker's mark, as lasting as the maker's.
    assert (offer.badness, offer.lasting) == (UNMARKED.bad, MAKER.life) == (0.03, 1.0)
    assert offer.low is not None
    assert offer.high is not None
    assert float(offer.low) == pytest.approx(0.6 * remedy.parts / 2.0)
    assert float(offer.high) == pytest.approx(1.7 * remedy.parts / 2.0)


def test_who_works_at_home_pays_nothing_on_the_day_but_for_the_rig() -> None:
    shop, home = Pay(90.0), Pay(90.0, 12.0)
    assert (shop.cash(40.0), shop.worth(40.0)) == (60.0, 60.0)
    assert (home.cash(40.0), home.worth(40.0)) == (0.0, 8.0)
    assert (home.cash(40.0, "front-toe"), home.worth(40.0, "front-toe")) == (60.0, 60.0)
    assert (home.cash(40.0, "grease"), home.worth(40.0, "grease")) == (0.0, 8.0)


# Bounds ---------------------------------------------------------------------------------------------------


def acting(causes: Sequence[float], outside: float, there: float = 1.0) -> Acting:
    one = 1.0 - float(np.prod(1.0 - np.array(causes))) * (1.0 - outside)
    return Acting(np.array(causes), outside, one, there)


def test_the_parts_of_some_work() -> None:
    """By hand: lifts -log(1 - a) of 0.1, 0.3 and 0.2; 80 shared by the first two goes 20 to 60."""
    quiet = np.array([-0.1, -0.3, -0.2])
    ends = [frozenset({0}), frozenset({1}), frozenset({1, 2}), frozenset({2})]
    found = parts_of([30.0, 60.0, 100.0, -7.0], ends, [(0b0011, 80.0)], quiet)
    # Cause 2 is ended by what brings in 7; cause 1 costs 120 alone, or 0.3 / 0.5 of 100.
    assert found.lift == pytest.approx([0.1, 0.3])
    assert found.cost == pytest.approx([50.0, 60.0])
    assert (found.free, found.brought) == (pytest.approx(0.2), pytest.approx(7.0))
    # What must be done lifts for nothing.
    forced = parts_of([30.0, 60.0, 100.0, 7.0], ends, [(0b0011, 80.0)], quiet, [False, False, True, False])
    assert forced.lift == pytest.approx([0.1])
    assert (forced.free, forced.brought) == (pytest.approx(0.5), 0.0)
    # Shared by what lifts nothing, a cost is split evenly; a cause that cannot act is no part.
    idle = parts_of([10.0, 20.0], [frozenset({0}), frozenset({1})], [(0b11, 8.0)], np.array([0.0, 0.0]))
    assert (idle.lift.tolist(), idle.cost.tolist(), idle.brought) == ([], [], 0.0)
    paid = parts_of([-10.0, -20.0], [frozenset({0}), frozenset({1})], [(0b11, 8.0)], np.array([0.0, 0.0]))
    assert paid.brought == pytest.approx(6.0 + 16.0)


@pytest.mark.parametrize("there", [1.0, 0.8])
def test_the_least_cost_of_one_part_by_hand(there: float) -> None:
    """a = 0.4 behind, 0.1 outside: left at first 1 - 0.6 * 0.9 = 0.46, after the part 0.1, of A = 0.46."""
    some = acting([0.4], 0.1, there)
    one = Parts(np.array([-math.log(0.6)]), np.array([50.0]), 0.0, 0.0)
    left = there * 0.1 / 0.46
    assert least_cost(one, some, 20.0, 900.0) == pytest.approx(
        there * 50.0 + 900.0 * left + 20.0 * there, rel=1e-9
    )
    # Giving up at once is cheaper where the part costs too much, and has no visit.
    assert least_cost(one, some, 20.0, 40.0) == pytest.approx(40.0 * there, rel=1e-12)
    # What comes in is had in any case.
    brings = Parts(one.lift, one.cost, 0.0, 15.0)
    assert least_cost(brings, some, 20.0, 900.0) == pytest.approx(
        there * 50.0 + 900.0 * left + 20.0 * there - 15.0, rel=1e-9
    )
    # A free lift that leaves only what is outside: nothing more to do.
    free = Parts(np.array([]), np.array([]), -math.log(0.6), 0.0)
    assert least_cost(free, some, 20.0, 900.0) == pytest.approx(900.0 * left + 20.0 * there, rel=1e-9)


def test_the_least_cost_of_two_parts_goes_by_odds_over_cost() -> None:
    """Srinivas (1995): by hand for a = 0.5 at 100 and 0.2 at 10, nothing outside; the cheap one first."""
    some = acting([0.5, 0.2], 0.0)
    parts = Parts(-np.log([0.5, 0.8]), np.array([100.0, 10.0]), 0.0, 0.0)
    whole = 1.0 - 0.5 * 0.8
    cheap_first = 10.0 + 100.0 * 0.5 / whole
    assert cheap_first < 100.0 + 10.0 * 0.2 / whole
    found = least_cost(parts, some, 0.0, 1e6)
    # A bound from chords on a grid: below the true figure, but by little.
    assert cheap_first - 1.0 < found <= cheap_first + 1e-9


def work_of(some: Acting, worth: float, own: float, parts: Parts) -> Any:
    unit = SimpleNamespace(ends=frozenset({0}))
    behind = SimpleNamespace(some=some, each=((some, worth),), worth=worth)
    return SimpleNamespace(behind=behind, units=(unit,), own_net=[own], parts=lambda acting: parts)


def test_what_one_unit_can_gain_by_hand() -> None:
    """One stage, one part: without it the end costs worth * P(there) * a / A * q more, less its own cost.

    With money for all of it q, that nothing acts, comes to 1 - outside = 0.9 at most; a = 0.4, A = 0.46.
    """
    some = acting([0.4], 0.1)
    parts = Parts(np.array([-math.log(0.6)]), np.array([50.0]), 0.0, 0.0)
    share = 0.4 / 0.46
    (found,) = gains(work_of(some, 900.0, 50.0, parts), 1)
    assert found == pytest.approx(900.0 * share * 0.9 - 50.0, rel=1e-9)
    # What pays for itself gains that as well; what costs too much gains nothing.
    (found,) = gains(work_of(some, 900.0, -30.0, parts), 1)
    assert found == pytest.approx(900.0 * share * 0.9 + 30.0, rel=1e-9)
    assert gains(work_of(some, 900.0, 5000.0, parts), 1) == [0.0]


def test_two_stages_gain_what_the_second_need_not_cost() -> None:
    """As above for two stages. Before the last one q is 0.9 and P(left) 0.1 / 0.46; `won` is what can be won
    in all, 900 less 900 * 0.1 / 0.46; a second stage costs the share times q of won / left or of 900."""
    some = acting([0.4], 0.1)
    parts = Parts(np.array([-math.log(0.6)]), np.array([50.0]), 0.0, 0.0)
    share, left = 0.4 / 0.46, 0.1 / 0.46
    won = 900.0 * (1.0 - left)
    (found,) = gains(work_of(some, 900.0, 50.0, parts), 2)
    later = share * 0.9 * min(won / left, 900.0)
    assert found == pytest.approx(later + 900.0 * share * 0.9 - 50.0 * left, rel=1e-9)


def test_part_of_a_repair_for_part_of_its_money() -> None:
    """Dantzig (1957): where money is short, the last thing bought is bought in part, at its share of lift."""
    some = acting([0.4], 0.1)
    dear = Parts(np.array([-math.log(0.6)]), np.array([200.0]), 0.0, 0.0)
    (found,) = gains(work_of(some, 100.0, 10.0, dear), 1)
    # `won` begins at 100 and shrinks, six times: q = 0.54 exp(lift won / 200), won = 100 - 100 (1 - q) / A.
    won = 100.0
    for _ in range(6):
        q = 0.54 * math.exp(-math.log(0.6) * won / 200.0)
        won = 100.0 - 100.0 * (1.0 - q) / 0.46
    assert found == pytest.approx(max(100.0 * 0.4 / 0.46 * q - 10.0, 0.0), rel=1e-9)


# The search -----------------------------------------------------------------------------------------------


def test_a_plan_within_the_last_coin_is_had() -> None:
    """Two works of 50; the purse holds 100, or a coin less, and then one stage does one of them."""
    cash = np.array([0.0, 50.0, 50.0, 100.0])
    end = np.array([1000.0, 400.0, 500.0, 0.0])
    open_ = np.array([1.0, 0.4, 0.5, 0.1])
    whole = Problem(2, (cash,), cash, open_, end, Limits(100.0))
    found = search(whole, 1)
    assert found is not None
    assert (found.sets, found.cost, found.cash) == ((3,), 100.0, 100.0)
    less = search(Problem(2, (cash,), cash, open_, end, Limits(99.99)), 1)
    assert less is not None
    assert (less.sets, less.cost, less.cash) == ((1,), 450.0, 50.0)
    # In two stages the second is paid in 4 of 10 cases: 50 + 0.4 * 50.
    two = search(Problem(2, (cash,), cash, open_, end), 2)
    assert two is not None
    assert (two.sets, two.cost, two.cash) == ((1, 2), 70.0, 100.0)
    assert value(whole, (1, 2)) == pytest.approx(70.0)


def test_no_stage_is_added_that_makes_nothing_cheaper() -> None:
    """The second work costs nothing and leaves as much to bear."""
    net = np.array([0.0, 50.0, 0.0, 50.0])
    end = np.array([1000.0, 400.0, 1000.0, 400.0])
    for whole in (math.inf, 60.0, 49.0):
        found = search(Problem(2, (net,), net, np.ones(4), end, Limits(whole)), 3)
        assert found is not None
        assert found.sets == (() if whole < 50.0 else (1,))


def test_too_many_items_are_refused() -> None:
    none = np.zeros(1)
    with pytest.raises(ValueError, match="21 items are too many to search in full"):
        search(Problem(21, (none,), none, none, none), 1)
    few = np.zeros(2)
    assert search(Problem(1, (few,), few, np.ones(2), few), 1) is not None
