"""Fault trees with published values: the exact top value, what is behind it, and the usual rules."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import pytest

from diagnose.belief.engine import Engine
from diagnose.belief.network import Cause, Input, Network, Node
from tests.reference.small import ask, birnbaum, cut_set_rules, probability, tree


def check_rules(
    network: Network, cuts: Sequence[str], exact: float, rare: float, bound: float, within: float = 1e-6
) -> None:
    """Exact <= min-cut bound <= rare-event sum, each at its published value (relative)."""
    priors = {cause.id: cause.prior for cause in network.causes}
    our_rare, our_bound = cut_set_rules(priors, [cut.split() for cut in cuts])
    our_exact = probability(network, {"TOP": True})
    assert our_exact == pytest.approx(exact, rel=within)
    assert our_rare == pytest.approx(rare, rel=within)
    assert our_bound == pytest.approx(bound, rel=within)
    # But for the last bit: where the bound is exact, rounding may fall either way.
    assert our_exact * (1.0 - 1e-15) <= our_bound <= our_rare


def behind(network: Network) -> Mapping[str, float]:
    """P(event | top) of every basic event."""
    answer = ask(network, {"TOP": True})
    return {cause.id: float(p) for cause, p in zip(network.causes, answer.present[0], strict=True)}


# Pressure tank: Fault Tree Handbook, NUREG-0492 (1981), section VIII. Inputs and answers FROM MEMORY of
# the publication, arithmetic redone; look at the original before calling them published.
TANK = {"T": 5e-6, "K2": 3e-5, "S": 1e-4, "S1": 3e-5, "K1": 3e-5, "R": 1e-4}
TANK_GATES = {"relays": (1, ["S1", "K1", "R"]), "both": (2, ["S", "relays"]), "TOP": (1, ["T", "K2", "both"])}


def test_pressure_tank_top_value() -> None:
    network = tree(TANK, TANK_GATES)
    cuts = ["K2", "T", "S R", "S K1", "S S1"]
    check_rules(network, cuts, 3.501584875e-5, 3.5016e-5, 3.501584944e-5, within=1e-9)


@pytest.mark.parametrize(
    ("event", "difference", "posterior"),
    [  # event, P(top | event) - P(top | no event), P(event | top)
        ("K2", 0.999995, 0.856755),
        ("T", 0.99997, 0.142792),
        ("S", 1.59988e-4, 5.56855e-4),
        ("R", 9.99905e-5, 3.85529e-4),
        ("K1", 9.99835e-5, 1.15659e-4),
        ("S1", 9.99835e-5, 1.15659e-4),
    ],
)
def test_pressure_tank_importances(event: str, difference: float, posterior: float) -> None:
    network = tree(TANK, TANK_GATES)
    found = behind(network)[event]
    assert found == pytest.approx(posterior, rel=1e-5)
    top = probability(network, {"TOP": True})
    assert birnbaum(TANK[event], found, top) == pytest.approx(difference, rel=1e-5)


# Two redundant trains: github.com/rakhimov/scram, its tests of importance and of the min-cut bound.
TRAINS = {"V1": 0.4, "V2": 0.5, "P1": 0.6, "P2": 0.7}
TRAIN_GATES = {"one": (1, ["V1", "P1"]), "two": (1, ["V2", "P2"]), "TOP": (2, ["one", "two"])}
TRAIN_CUTS = ["P1 P2", "P1 V2", "V1 P2", "V1 V2"]


def test_two_trains() -> None:
    # The rare-event sum passes 1: an approximation made for small probabilities.
    check_rules(tree(TRAINS, TRAIN_GATES), TRAIN_CUTS, 0.646, 1.2, 0.766144)
    tenth = {event: p / 10 for event, p in TRAINS.items()}
    check_rules(tree(tenth, TRAIN_GATES), TRAIN_CUTS, 0.0113704, 0.012, 0.01194734)


@pytest.mark.parametrize(
    ("event", "difference", "posterior", "worth"),
    [  # event, Birnbaum, P(event | top), risk achievement worth P(top | event) / P(top)
        ("P1", 0.51, 0.7895, 1.316),
        ("P2", 0.38, 0.8235, 1.176),
        ("V1", 0.34, 0.5263, 1.316),
        ("V2", 0.228, 0.5882, 1.176),
    ],
)
def test_two_trains_importances(event: str, difference: float, posterior: float, worth: float) -> None:
    found = behind(tree(TRAINS, TRAIN_GATES))[event]
    assert found == pytest.approx(posterior, abs=5e-5)
    assert birnbaum(TRAINS[event], found, 0.646) == pytest.approx(difference, abs=1e-9)
    assert found / TRAINS[event] == pytest.approx(worth, abs=5e-4)


# A class example with a shared event ("ne574"): github.com/rakhimov/scram, input and tests.
SHARED = {"B": 0.1, "C": 0.3, "D": 0.5, "F": 0.7, "G": 0.2, "H": 0.4, "I": 0.8}
SHARED_GATES = {
    "left": (1, ["F", "G", "B", "C"]),
    "HI": (2, ["H", "I"]),
    "right": (1, ["C", "D", "HI"]),
    "TOP": (2, ["left", "right"]),
}
SHARED_CUTS = ["C", "D F", "D G", "D B", "H I F", "H I G", "H I B"]


def test_shared_event() -> None:
    check_rules(tree(SHARED, SHARED_GATES), SHARED_CUTS, 0.662208, 1.12, 0.726479)


def test_shared_event_is_one_cause() -> None:
    """C stands under both gates; as two events of 0.3 each the top value would be another."""
    apart = tree({**SHARED, "C2": 0.3}, {**SHARED_GATES, "right": (1, ["C2", "D", "HI"])})
    left = 1 - 0.3 * 0.8 * 0.9 * 0.7
    right = 1 - 0.7 * 0.5 * (1 - 0.4 * 0.8)
    assert probability(apart, {"TOP": True}) == pytest.approx(left * right, abs=1e-12)
    assert abs(left * right - 0.662208) > 0.01


def test_three_readings_of_one_importance() -> None:
    """Same source: for event B the cut-set union, the ratio of rare-event sums, and P(B | top) differ."""
    network = tree(SHARED, SHARED_GATES)
    top = probability(network, {"TOP": True})
    with_b = tree(SHARED, {"DB": (2, ["D", "B"]), "HIB": (3, ["H", "I", "B"]), "TOP": (1, ["DB", "HIB"])})
    assert probability(with_b, {"TOP": True}) / top == pytest.approx(0.0996666, abs=5e-8)
    sums = [cut_set_rules(SHARED, [c.split() for c in cuts])[0] for cuts in (["D B", "H I B"], SHARED_CUTS)]
    assert sums[0] / sums[1] == pytest.approx(0.0732143, abs=5e-8)
    assert behind(network)["B"] == pytest.approx(0.11507, abs=5e-6)


# Votes and simple gates: github.com/rakhimov/scram, input and tests.
THREE = {"A": 0.1, "B": 0.2, "C": 0.3}


def test_votes() -> None:
    vote = tree(THREE, {"TOP": (2, ["A", "B", "C"])})
    check_rules(vote, ["A B", "B C", "A C"], 0.098, 0.11, 0.106436)
    for event, difference in {"A": 0.38, "B": 0.34, "C": 0.26}.items():
        assert birnbaum(THREE[event], behind(vote)[event], 0.098) == pytest.approx(difference, abs=1e-9)
    # For an OR of independent events the min-cut bound is the exact value.
    check_rules(tree(THREE, {"TOP": (1, ["A", "B", "C"])}), ["A", "B", "C"], 0.496, 0.6, 0.496)
    chain = tree(THREE, {"AB": (2, ["A", "B"]), "BC": (2, ["B", "C"]), "TOP": (1, ["AB", "BC"])})
    check_rules(chain, ["A B", "B C"], 0.074, 0.08, 1 - 0.98 * 0.94)


def test_glossary_tree() -> None:
    """Source: fta-studio.pages.dev/glossary/fussell-vesely-importance.

    Printed there: 0.077 and 0.92, ratios of rare-event sums; further digits were recomputed.
    """
    priors = {"a": 0.01, "b": 0.02, "c": 0.005, "d": 0.003}
    network = tree(priors, {"ab": (2, ["a", "b"]), "ac": (2, ["a", "c"]), "TOP": (1, ["ab", "ac", "d"])})
    cuts = ["a b", "a c", "d"]
    rare, bound = cut_set_rules(priors, [cut.split() for cut in cuts])
    exact = probability(network, {"TOP": True})
    assert exact == pytest.approx(3.248253e-3, abs=5e-10)
    assert rare == pytest.approx(3.25e-3, abs=1e-12)
    assert exact <= bound <= rare
    assert cut_set_rules(priors, [("a", "b"), ("a", "c")])[0] / rare == pytest.approx(0.076923, abs=5e-7)
    assert priors["d"] / rare == pytest.approx(0.923077, abs=5e-7)
    with_a = tree(priors, {"ab": (2, ["a", "b"]), "ac": (2, ["a", "c"]), "TOP": (1, ["ab", "ac"])})
    assert probability(with_a, {"TOP": True}) / exact == pytest.approx(0.0766566, abs=5e-8)
    assert priors["d"] / exact == pytest.approx(0.923573, abs=5e-7)
    # d is a cut set by itself, so that ratio is its posterior too.
    assert behind(network)["d"] == pytest.approx(0.923573, abs=5e-7)


def test_operating_theatre_supply() -> None:
    """Source: github.com/rakhimov/scram, input of that name, constant probabilities."""
    priors = {"mains": 0.03, "generator": 0.02, "relay": 0.05}
    network = tree(priors, {"standby": (1, ["generator", "relay"]), "TOP": (2, ["mains", "standby"])})
    check_rules(network, ["mains generator", "mains relay"], 0.00207, 0.0021, 0.0020991)
    assert behind(network)["mains"] == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(("each", "top"), [(1e-17, 3e-17), (1e-3, 0.002997001)])
@pytest.mark.parametrize("counts", [True, False])
def test_small_probabilities_survive_an_or(each: float, top: float, counts: bool) -> None:
    """1 - (1 - p) loses 1e-17; three such events are 3e-17, not 0.

    Source: the trouble is described for the OR formula of IEC 61025 in "Fault Tree Analysis: How
    Accurate is it?".
    """
    causes = tuple(Cause(name, name, "centre", each) for name in "abc")
    node = Node("TOP", 1, counts, (1.0, 0.0), tuple(Input(n, (1.0,)) for n in range(3)))
    answer = Engine(Network(causes, {}, {"TOP": node})).ask([{"TOP": (0.0, 1.0)}])
    assert math.exp(answer.log_evidence[0]) == pytest.approx(top, rel=1e-12, abs=0.0)
    assert list(answer.present[0]) == pytest.approx([each / top] * 3, rel=1e-12)
