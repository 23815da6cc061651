"""Coins that hang on one figure: their chances, slopes, and the likeliest figure for some counts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from diagnose.belief.network import FRESH, expand
from diagnose.learn.coins import Toss, chances, join
from diagnose.learn.counts import prior_of
from diagnose.learn.fit import Search
from diagnose.learn.rows import ESTIMATE, SOURCED, Figure, Key, figures_of, with_figures
from diagnose.model.part import Life
from diagnose.model.vehicle import Renewed, Vehicle
from tests.small_trees import SMALL, compiled

TOSSES = (
    Toss(0),
    Toss(0, share=0.5),
    Toss(0, share=0.9, lift=math.log(1.6)),
    Toss(1, hazard=0.3),
    Toss(1, share=0.9, lift=math.log(3.0), hazard=0.02, fresh=FRESH),
)
SHIPPED = np.array([math.log(0.2 / 0.8), 0.0])


def test_slopes_are_derivatives() -> None:
    coins = join(TOSSES, np.zeros(5), np.zeros(5))
    move, h = np.array([0.3, -0.7]), 1e-6
    _, slope = chances(coins, SHIPPED, move)
    more, _ = chances(coins, SHIPPED, move + h)
    less, _ = chances(coins, SHIPPED, move - h)
    assert slope == pytest.approx((more - less) / (2.0 * h), rel=1e-6)


def test_coins_of_causes_have_the_priors_of_the_model() -> None:
    """With layout, condition, renewal and a moved figure, against the network that the library makes."""
    library = compiled(SMALL)[0].library
    car = Vehicle(
        km=150_000.0,
        years=11.0,
        conditions={"rough-roads": True},
        renewed=(Renewed("rod-end", "front-left", at_km=100_000.0),),
    )
    moved = with_figures(library, {Key("life", "rod-end-play"): 1.7, Key("chance", "rod-end-tight"): 0.03})
    network = expand(moved, car, {})
    life = library.faults["rod-end-play"].life
    assert life is not None
    # Since the renewal: 50 000 km, and years at the car's own pace.
    tosses = (
        Toss(0, lift=math.log(1.6), hazard=life.hazard(50_000.0, 0.0), fresh=FRESH),
        Toss(0, lift=math.log(1.6), hazard=life.hazard(150_000.0, 0.0)),
        Toss(1, share=0.9),
    )
    shipped = np.array([0.0, math.log(0.01 / 0.99)])
    move = np.array([math.log(1.7), math.log(0.03 / 0.97) - shipped[1]])
    found, _ = chances(join(tosses, np.zeros(3), np.zeros(3)), shipped, move)
    names = ("rod-end-play-front-left", "rod-end-play-front-right", "rod-end-tight-front-left")
    assert found == pytest.approx([network.causes[network.index[each]].prior for each in names], rel=1e-9)


def search() -> Search:
    figures = [
        Figure(Key("chance", "x"), 0.2, ESTIMATE),
        Figure(Key("strength", "y", "x"), 0.7, SOURCED),
        Figure(Key("life", "z"), 1.0, ESTIMATE),
    ]
    return Search(compiled(SMALL)[0].library, [], figures, 0.05)


def test_counts_of_a_chance_end_in_the_mean_of_its_beta() -> None:
    """The peak in log odds is (a + seen) / (a + b + tossed), in closed form."""
    coins = join((Toss(0), Toss(1), Toss(1)), np.array([3.5, 10.0, 2.0]), np.array([40.0, 12.0, 5.0]))
    move = search().likeliest(coins)
    for number, (shipped, events, seen, tossed) in enumerate([(0.2, 2.0, 3.5, 40.0), (0.7, 8.0, 12.0, 17.0)]):
        p = 1.0 / (1.0 + math.exp(-(math.log(shipped / (1.0 - shipped)) + move[number])))
        assert p == pytest.approx(prior_of(shipped, events).after(seen, tossed).mean, rel=1e-8)
    assert move[2] == 0.0


def test_counts_that_agree_with_what_is_shipped_move_nothing() -> None:
    coins = join((Toss(0), Toss(0, share=0.5)), np.array([20.0, 10.0]), np.array([100.0, 100.0]))
    assert np.abs(search().likeliest(coins)).max() < 1e-9


def test_rare_failures_end_in_the_mean_of_their_gamma() -> None:
    """At small hazards "failed" is nearly "failures": (e + k) / (e + sum of hazards)."""
    coins = join((Toss(2, hazard=1e-4), Toss(2, hazard=3e-4)), np.array([3.0, 5.0]), np.array([2e4, 1e4]))
    factor = math.exp(search().likeliest(coins)[2])
    assert factor == pytest.approx((2.0 + 8.0) / (2.0 + 2.0 + 3.0), rel=1e-3)


def test_sources_make_a_figure_weigh_more() -> None:
    figures = figures_of(compiled(SMALL)[0].library)
    assert figures[Key("life", "rod-end-play")].events == SOURCED
    assert figures[Key("chance", "tyres-soft")].events == ESTIMATE


def test_the_hazard_is_that_of_the_weibull_life() -> None:
    life = Life(1.6, km=380_000.0)
    assert 1.0 - math.exp(-life.hazard(187_000.0, 3.0)) == pytest.approx(life.failed(187_000.0, 3.0))
    assert life.hazard(380_000.0, 0.0) == 1.0
