"""Wishes and prices from a file, and which offer is taken."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from diagnose.errors import PlanError
from diagnose.model.part import Life
from diagnose.model.story import Workshop
from diagnose.plan.offers import again, best_offer, cheapest, offers_of, usual_offer
from diagnose.plan.read import read_wishes
from diagnose.plan.wishes import BUDGET, MAKER, UNMARKED, Offer, Wishes
from tests.shipped import LIBRARY

#: Demo prices, invented.
PURSE = b"""\
plan: 1
currency: EUR
labour-rate: 85
own-labour: 10
budget: 900.50
stage-budget: 400
stages: 2
deadline: 21
keep: {km: 45000}
cares: {feel: 2, inspection: 0.5}
worth: 1200
only: front
without: [budget]
prices:
  renew-inner-tie-rod:
    - {grade: maker, price: 78.50, days: 1}
    - {grade: budget, price: 31, bad: 0.08, life: 0.5}
hours: {renew-front-struts: 3}
"""


def test_every_key_arrives() -> None:
    found = read_wishes(LIBRARY, PURSE, "purse.yaml")
    assert (found.currency, found.rate, found.own_rate) == ("EUR", 85.0, 10.0)
    assert (found.budget, found.stage_budget, found.stages, found.deadline) == (900.5, 400.0, 2, 21)
    assert (found.keep_km, found.keep_years) == (45_000.0, 3.0)
    assert (found.cares_for("feel"), found.cares_for("inspection"), found.cares_for("tyres")) == (2, 0.5, 1)
    assert (found.worth, found.only, found.without) == (1200.0, "front", frozenset({"budget"}))
    maker, budget = found.offers["renew-inner-tie-rod"]
    assert (maker.grade, maker.price, maker.days, maker.badness) == (MAKER, Decimal("78.50"), 1, 0.02)
    assert (budget.badness, budget.lasting, budget.asked) == (0.08, 0.5, True)
    assert found.hours == {"renew-front-struts": 3.0}


def test_an_empty_purse_sets_no_limits() -> None:
    found = read_wishes(LIBRARY, b"plan: 1\n", "purse.yaml")
    assert found == Wishes()
    assert math.isinf(found.budget)


def test_all_faults_at_once_each_with_its_place_and_mend() -> None:
    text = b"""\
plan: 1
budgett: 3
stages: 9
prices:
  renew-inner-tie-rud:
    - {grade: maker, price: 10}
  renew-inner-tie-rod:
    - {grade: gold, price: -1}
"""
    with pytest.raises(PlanError) as caught:
        read_wishes(LIBRARY, text, "purse.yaml")
    message = str(caught.value)
    for place, word in (
        ("2:1", "budget"),
        ("3:9", "stages"),
        ("5:3", "renew-inner-tie-rod"),
        ("8:15", "maker"),
    ):
        assert f"purse.yaml:{place}" in message
        assert word in message
    assert len(caught.value.problems) >= 5
    assert message.count("mend:") == len(caught.value.problems)


def test_a_price_nobody_asked_for_is_a_range() -> None:
    remedy = LIBRARY.remedies["renew-inner-tie-rod"]
    offer = usual_offer(remedy, Workshop("EUR", 50.0))
    assert (float(offer.price), offer.asked) == (remedy.parts / 2.0, False)
    assert offer.low is not None
    assert offer.high is not None
    assert offer.low < offer.price < offer.high


def test_unwanted_grades_and_late_parts_are_left_out() -> None:
    remedy = LIBRARY.remedies["renew-inner-tie-rod"]
    late, soon = Offer(MAKER, Decimal(80), days=30), Offer(UNMARKED, Decimal(90), days=2)
    cheap = Offer(BUDGET, Decimal(30))
    offers = {remedy.id: (late, soon, cheap)}
    wishes = Wishes(offers=offers, deadline=10, without=frozenset({"budget"}))
    assert offers_of(remedy, wishes, Workshop()) == (soon,)
    # All come too late: better late than none.
    assert offers_of(remedy, Wishes(offers={remedy.id: (late,)}, deadline=10), Workshop()) == (late,)
    assert (
        offers_of(remedy, Wishes(offers={remedy.id: (cheap,)}, without=frozenset({"budget"})), Workshop())
        == ()
    )


def test_the_cheap_part_is_taken_only_if_its_short_life_costs_less() -> None:
    cheap, dear = Offer(BUDGET, Decimal(40)), Offer(MAKER, Decimal(100))
    life = [Life(2.0, km=60_000.0)]
    # By hand: 1 - (1 - bad) exp(-(x / life)^2).
    assert again(dear, life, 30_000.0, 0.0) == pytest.approx(1 - 0.98 * math.exp(-0.25))
    assert again(cheap, life, 30_000.0, 0.0) == pytest.approx(1 - 0.94 * math.exp(-((30 / 36) ** 2)))
    assert best_offer([cheap, dear], life, 300.0, 30_000.0, 0.0)[0] is dear
    assert best_offer([cheap, dear], life, 10.0, 30_000.0, 0.0)[0] is cheap
    assert best_offer([cheap, dear], [], 300.0, 30_000.0, 0.0)[0] is cheap
    assert cheapest([dear, cheap]) is cheap
    with pytest.raises(ValueError, match="no offer"):
        best_offer([], life, 1.0, 1.0, 1.0)


@pytest.mark.parametrize(
    ("key", "most", "beyond"),
    [
        ("labour-rate", "100000", "100001"),
        ("own-labour", "100000", "100001"),
        ("budget", "10000000", "10000001"),
        ("stage-budget", "10000000", "10000001"),
        ("worth", "10000000", "10000001"),
        ("stages", "5", "6"),
        ("deadline", "3650", "3651"),
        ("keep", "{km: 1000000, years: 50}", "{km: 1000001, years: 51}"),
        ("cares", "{feel: 100}", "{feel: 101}"),
        ("hours", "{renew-inner-tie-rod: 200}", "{renew-inner-tie-rod: 201}"),
        (
            "prices",
            "{renew-inner-tie-rod: [{grade: maker, price: 10000000, days: 1000, life: 10}]}",
            "{renew-inner-tie-rod: [{grade: maker, price: 10000001, days: 1001, life: 10.1}]}",
        ),
    ],
)
def test_the_most_that_can_be_wished(key: str, most: str, beyond: str) -> None:
    """The bounds are the project's own: what lies beyond is a slip of the hand."""
    read_wishes(LIBRARY, f"plan: 1\n{key}: {most}\n".encode(), "purse.yaml")
    with pytest.raises(PlanError) as caught:
        read_wishes(LIBRARY, f"plan: 1\n{key}: {beyond}\n".encode(), "purse.yaml")
    problems = str(caught.value).count("purse.yaml:2:")
    assert problems == {"keep": 2, "prices": 3}.get(key, 1)
