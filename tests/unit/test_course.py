"""Curing one after the other: what it costs, in what order and how far, against counting every state."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.choice.course import Prices, Prospects, how_many

#: Every order of every number of cures is counted: enough examples for seconds.
few = settings(max_examples=25, deadline=None)

#: What a part can be: sound, worn without raising the complaint, or raising it.
SOUND, WORN, ACTS = range(3)


@dataclass(frozen=True)
class Garage:
    """Independent parts with a cure each, and something outside; the complaint is there if any acts.

    acts, worn: of each part P(it raises the complaint), P(it is worn and does not). there: how sure it is
    that the complaint is there at all.
    """

    acts: tuple[float, ...]
    worn: tuple[float, ...]
    outside: float
    there: float
    money: tuple[float, ...]
    drive: float
    unsolved: float

    def worlds(self) -> Iterator[tuple[float, tuple[int, ...], bool]]:
        """P(world), what each part is, whether something outside acts; weighed to what was heard."""
        worlds = []
        for state in itertools.product((SOUND, WORN, ACTS), repeat=len(self.acts)):
            p = math.prod(
                (1.0 - a - w, w, a)[part] for part, a, w in zip(state, self.acts, self.worn, strict=True)
            )
            worlds += [(p * self.outside, state, True), (p * (1.0 - self.outside), state, False)]
        heard = sum(p for p, state, out in worlds if out or ACTS in state)
        for p, state, out in worlds:
            yield (
                p * (self.there / heard if out or ACTS in state else (1.0 - self.there) / (1.0 - heard)),
                state,
                out,
            )

    def cost(self, order: Sequence[int]) -> float:
        """Expected cost of these cures in this order, and of handing on what they leave."""
        spent = 0.0
        for p, state, out in self.worlds():
            for number, cure in enumerate(order):
                # A cure is carried out while the complaint is there, the first on the driver's word.
                if number and not _left(state, out, order[:number]):
                    break
                spent += p * (self.drive + (self.money[cure] if state[cure] == SOUND else 0.0))
            if _left(state, out, order):
                spent += p * self.unsolved
        return spent

    def orders(self) -> Iterator[tuple[int, ...]]:
        """Every order of every number of cures."""
        for count in range(len(self.acts) + 1):
            yield from itertools.permutations(range(len(self.acts)), count)

    def given_there(self, part: int, what: int) -> float:
        """P(this part is so | the complaint is there)."""
        there = sum(p for p, state, out in self.worlds() if _left(state, out))
        return sum(p for p, state, out in self.worlds() if _left(state, out) and state[part] == what) / there

    def prospects(self) -> Prospects:
        """The same as the choice has it, to the last digit."""
        parts = range(len(self.acts))
        acting = 1.0 - (1.0 - self.outside) * math.prod(1.0 - a for a in self.acts)
        return Prospects(
            np.array([[self.given_there(part, ACTS) for part in parts]]),
            np.array([self.worn]),
            np.array([self.outside / acting]),
            np.array([self.there]),
            np.array([acting]),
        )

    def posteriors(self) -> Prospects:
        """The same made of posteriors, as the choice makes it."""
        parts = range(len(self.acts))
        blame = [sum(p for p, state, _ in self.worlds() if state[n] == ACTS) for n in parts]
        present = [sum(p for p, state, _ in self.worlds() if state[n] != SOUND) for n in parts]
        outside = sum(p for p, _, out in self.worlds() if out)
        return Prospects.of(
            np.array([blame]), np.array([present]), np.array([outside]), np.array([self.there])
        )

    @property
    def prices(self) -> Prices:
        return Prices(np.array(self.money), self.drive, self.unsolved)


def _left(state: Sequence[int], out: bool, cured: Sequence[int] = ()) -> bool:
    """True if the complaint is there with these parts put right."""
    return out or any(part == ACTS and n not in cured for n, part in enumerate(state))


@st.composite
def garages(draw: st.DrawFn, sure: bool = True, parts: int = 4) -> Garage:
    count = draw(st.integers(2, parts))
    acts = tuple(draw(st.floats(0.005, 0.6)) for _ in range(count))
    worn = tuple(draw(st.floats(0.0, 0.9)) * (1.0 - a) for a in acts)
    there = 1.0 if sure else draw(st.floats(0.3, 0.99))
    money = tuple(draw(st.floats(0.0, 500.0)) for _ in range(count))
    unsolved = draw(st.sampled_from([150.0, 400.0, 1000.0]))
    return Garage(acts, worn, draw(st.floats(0.001, 0.2)), there, money, draw(st.floats(5.0, 60.0)), unsolved)


#: Two of the three pay; the third is handed on. One part is often worn without raising anything.
PLAIN = Garage((0.3, 0.1, 0.02), (0.1, 0.4, 0.0), 0.05, 1.0, (120.0, 60.0, 400.0), 50.0, 600.0)


# What a course costs ------------------------------------------------------------------------------------


def test_a_course_by_hand() -> None:
    """Two parts, no wear that stays quiet, nothing outside: 1/2 and 1/2 each, so 2/3 of the blame each."""
    garage = Garage((0.5, 0.5), (0.0, 0.0), 0.0, 1.0, (90.0, 30.0), 6.0, 1000.0)
    prospects = garage.prospects()
    assert list(prospects.blame[0]) == pytest.approx([2 / 3, 2 / 3])
    course = prospects.course(garage.prices)
    # The cheap one first. It is sound in 1 of 3; the other one is needed in 2 of 3 and never sound then.
    assert course.order == (1, 0)
    assert course.cost == pytest.approx(30.0 / 3 + 6.0 + 6.0 * 2 / 3)
    assert list(course.left) == pytest.approx([1.0, 2 / 3, 0.0])


def test_what_does_not_pay_is_handed_on() -> None:
    course = PLAIN.prospects().course(PLAIN.prices)
    assert course.order == min(PLAIN.orders(), key=PLAIN.cost) == (0, 1)
    dear = Prices(np.array([5000.0, 5000.0, 5000.0]), 50.0, 600.0)
    assert PLAIN.prospects().course(dear).order == ()
    assert PLAIN.prospects().course(dear).cost == 600.0


@pytest.mark.slow
@few
@given(garages())
def test_the_course_is_the_best_of_all_orders_and_ends(garage: Garage) -> None:
    prospects = garage.prospects()
    course = prospects.course(garage.prices)
    assert course.cost == pytest.approx(garage.cost(course.order), rel=1e-9)
    assert course.cost == pytest.approx(min(garage.cost(order) for order in garage.orders()), rel=1e-9)
    assert prospects.costs(garage.prices)[0] == pytest.approx(course.cost, rel=1e-12)


@few
@given(garages(sure=False))
def test_a_driver_who_may_be_mistaken_is_reckoned_with(garage: Garage) -> None:
    course = garage.prospects().course(garage.prices)
    assert course.cost == pytest.approx(garage.cost(course.order), rel=1e-9)


@few
@given(garages(sure=False, parts=3))
def test_what_is_left_after_each_cure_is_what_counting_leaves(garage: Garage) -> None:
    course = garage.prospects().course(garage.prices)
    for number, left in enumerate(course.left):
        cured = course.order[:number]
        expected = sum(p for p, state, out in garage.worlds() if _left(state, out, cured))
        assert left == pytest.approx(expected, rel=1e-9)


@few
@given(garages(sure=False))
def test_posteriors_are_enough_to_know_what_it_costs(garage: Garage) -> None:
    """How many act at once is found from the shares alone, to 1e-5."""
    exact, found = garage.prospects(), garage.posteriors()
    assert found.acting == pytest.approx(exact.acting, abs=1e-4)
    assert found.worn == pytest.approx(exact.worn, abs=1e-3)
    assert found.costs(garage.prices) == pytest.approx(exact.costs(garage.prices), rel=1e-3)


def test_rows_do_not_disturb_one_another() -> None:
    beliefs = [PLAIN, Garage((0.05, 0.5, 0.2), (0.0, 0.1, 0.3), 0.01, 0.8, PLAIN.money, 50.0, 600.0)]
    each = [garage.prospects() for garage in beliefs]
    both = Prospects(
        np.concatenate([p.blame for p in each]),
        np.concatenate([p.worn for p in each]),
        np.concatenate([p.outside for p in each]),
        np.concatenate([p.there for p in each]),
        np.concatenate([p.acting for p in each]),
    )
    assert list(both.costs(PLAIN.prices)) == pytest.approx([p.costs(PLAIN.prices)[0] for p in each])


# What is left when a cure has failed --------------------------------------------------------------------


@few
@given(garages(sure=False, parts=3), st.integers(0, 1))
def test_a_failed_cure_is_conditioned_on(garage: Garage, cure: int) -> None:
    left, then = garage.prospects().failed(cure)
    still = [(p, state, out) for p, state, out in garage.worlds() if _left(state, out, (cure,))]
    total = sum(p for p, _, _ in still)
    assert left[0] == pytest.approx(total, rel=1e-9)
    for part in range(len(garage.acts)):
        blame = sum(p for p, state, _ in still if part != cure and state[part] == ACTS) / total
        assert then.blame[0, part] == pytest.approx(blame, rel=1e-9)
    assert then.outside[0] == pytest.approx(sum(p for p, _, out in still if out) / total, rel=1e-9)
    assert then.there[0] == 1.0


@few
@given(garages())
def test_the_rest_of_a_course_is_the_course_after_its_first_cure_has_failed(garage: Garage) -> None:
    prospects = garage.prospects()
    course = prospects.course(garage.prices)
    if course.order:
        left, then = prospects.failed(course.order[0])
        rest = then.course(garage.prices)
        assert left[0] * rest.cost == pytest.approx(
            course.cost - garage.cost(course.order[:1]) + garage.unsolved * course.left[1], rel=1e-6
        )


# How many act at once -----------------------------------------------------------------------------------


@given(st.lists(st.floats(0.001, 0.9), min_size=2, max_size=6), st.floats(0.0, 0.5))
def test_the_chance_that_any_acts_is_recovered_from_the_shares(acts: list[float], outside: float) -> None:
    any_acts = 1.0 - (1.0 - outside) * math.prod(1.0 - a for a in acts)
    found = how_many(np.array([acts]) / any_acts, np.array([outside]) / any_acts)
    assert found[0] == pytest.approx(any_acts, abs=2e-5)


def test_shares_that_sum_to_one_are_one_fault() -> None:
    assert how_many(np.array([[0.5, 0.3]]), np.array([0.2]))[0] == pytest.approx(0.0, abs=2e-5)


@pytest.mark.parametrize("rates", [(0.5, 0.3, 0.15), (0.15, 0.5, 0.3)])
def test_one_fault_is_ordered_by_likelihood_over_cost(rates: tuple[float, ...]) -> None:
    """Of three parts, one is it. The index is p / (price of a sound one + drive), by Kadane and Simon."""
    money, drive = np.array([300.0, 180.0, 40.0]), 20.0
    prospects = Prospects.of(
        np.array([rates]), np.array([rates]), np.array([1.0 - sum(rates)]), np.array([1.0])
    )
    course = prospects.course(Prices(money, drive, 10_000.0))
    index = [rate / (each + drive) for rate, each in zip(rates, money, strict=True)]
    assert course.order == tuple(sorted(range(3), key=lambda n: -index[n]))
    expected, left = 10_000.0 * (1.0 - sum(rates)), 1.0
    for cure in course.order:
        expected += drive * left + money[cure] * (left - rates[cure])
        left -= rates[cure]
    assert course.cost == pytest.approx(expected, rel=1e-4)


def test_several_faults_are_ordered_by_odds_over_cost() -> None:
    """Likelihood over cost would begin with the other one."""
    garage = Garage((0.6, 0.85), (0.0, 0.0), 0.001, 1.0, (90.0, 165.0), 10.0, 10_000.0)
    assert 0.6 / (90.0 + 10.0) > 0.85 / (165.0 + 10.0)
    assert garage.prospects().course(garage.prices).order == (1, 0)
    assert garage.cost((1, 0)) < garage.cost((0, 1))


def test_a_dear_part_is_not_tried_first_because_it_is_probably_not_sound() -> None:
    """What it costs if it is the culprit falls due in any order, so that is no reason to begin with it."""
    garage = Garage((0.28, 0.5), (0.0, 0.0), 0.01, 1.0, (20.0, 310.0), 50.0, 10_000.0)
    assert garage.cost((0, 1)) < garage.cost((1, 0)) - 30.0
    assert garage.prospects().course(garage.prices).order == (0, 1)


# Whatever is believed -----------------------------------------------------------------------------------

shares = st.floats(0.0, 0.7)


@st.composite
def beliefs(draw: st.DrawFn) -> tuple[list[float], list[float], float, float]:
    """Blame and presence of some parts, outside, there: as posteriors may be, odd ones among them."""
    blame = draw(st.lists(shares, min_size=1, max_size=5))
    present = [min(b + draw(st.floats(0.0, 0.5)), 1.0) for b in blame]
    return blame, present, draw(st.floats(0.0, 0.5)), draw(st.floats(0.05, 1.0))


def costs(
    blame: Sequence[float], present: Sequence[float], outside: float, there: float, prices: Prices
) -> float:
    prospects = Prospects.of(np.array([blame]), np.array([present]), np.array([outside]), np.array([there]))
    return float(prospects.costs(prices)[0])


@given(beliefs(), st.floats(0.0, 2000.0), st.floats(1.0, 60.0))
def test_no_course_costs_more_than_handing_on(
    belief: tuple[list[float], list[float], float, float], price: float, drive: float
) -> None:
    prices = Prices(np.full(len(belief[0]), price), drive, 1000.0)
    assert 0.0 <= costs(*belief, prices) <= 1000.0 * belief[3] * (1.0 + 1e-9)


@few
@given(garages(sure=False), st.floats(0.005, 0.6), st.floats(0.0, 500.0))
def test_another_cure_at_hand_never_makes_it_dearer(garage: Garage, acts: float, price: float) -> None:
    """The same car; only that one more of its faults has no cure at first."""
    more = Garage(
        (*garage.acts, acts),
        (*garage.worn, 0.0),
        garage.outside,
        1.0,
        (*garage.money, price),
        garage.drive,
        garage.unsolved,
    )
    unable = Prices(np.array([*garage.money, 1e9]), garage.drive, garage.unsolved)
    prospects = more.prospects()
    assert prospects.costs(more.prices)[0] <= prospects.costs(unable)[0] * (1.0 + 1e-9)


@given(beliefs())
def test_doubt_is_between_none_and_all_alike(belief: tuple[list[float], list[float], float, float]) -> None:
    blame, present, outside, there = belief
    prospects = Prospects.of(np.array([blame]), np.array([present]), np.array([outside]), np.array([there]))
    assert -1e-9 <= prospects.doubt()[0] <= math.log2(len(blame) + 1) + 1e-9


def test_doubt_of_two_alike_is_a_bit_as_far_as_the_complaint_is_there() -> None:
    pair = np.array([[0.4, 0.4]])
    prospects = Prospects.of(pair, pair, np.array([0.0]), np.array([0.8]))
    assert prospects.doubt()[0] == pytest.approx(0.8, abs=1e-6)
