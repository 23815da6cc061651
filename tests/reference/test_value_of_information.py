"""What knowing more is worth: published decisions, and the probing of a circuit by entropy."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping

import numpy as np
import pytest

from diagnose.choice.value import (
    best_action,
    best_actions,
    bits,
    bits_after,
    evpi,
    evsi,
    net_value,
    outcomes,
    tells,
    with_perfect_information,
    with_test,
    without_information,
)

#: P(closed, open, diffuse | dry, wet, soaking) of the seismic soundings.
SOUNDINGS = [[0.1, 0.3, 0.5], [0.3, 0.4, 0.4], [0.6, 0.3, 0.1]]
OIL = [0.5, 0.3, 0.2]


def test_oil_wildcatter() -> None:
    """H. Raiffa, Decision Analysis (1968); numbers as in P. P. Shenoy, Valuation-based systems for Bayesian
    decision analysis (1992), read at download.hugin.com and in the tests of github.com/agrumery/aGrUM.
    """
    drill, leave = [-70.0, 50.0, 200.0], [0.0, 0.0, 0.0]
    utility = [drill, leave]
    assert without_information(OIL, utility) == pytest.approx(20.0, abs=1e-9)
    assert best_action(OIL, utility) == 0
    assert with_perfect_information(OIL, utility) == pytest.approx(55.0, abs=1e-9)
    assert evpi(OIL, utility) == pytest.approx(35.0, abs=1e-9)

    chance, posterior = outcomes(OIL, SOUNDINGS)
    assert list(chance) == pytest.approx([0.24, 0.35, 0.41], abs=1e-12)
    assert list(posterior @ drill) == pytest.approx([87.5, 32.857, -30.488], abs=5e-4)
    assert best_actions(OIL, utility, SOUNDINGS) == (0, 0, 1)
    assert with_test(OIL, utility, SOUNDINGS) == pytest.approx(32.5, abs=1e-9)
    assert with_test(OIL, utility, SOUNDINGS, cost=10.0) == pytest.approx(22.5, abs=1e-9)
    assert evsi(OIL, utility, SOUNDINGS) == pytest.approx(12.5, abs=1e-9)
    assert net_value(OIL, utility, SOUNDINGS, cost=10.0) == pytest.approx(2.5, abs=1e-9)


def test_oil_wildcatter_with_uncertain_cost() -> None:
    """The getting-started example of a decision-tree procedure's manual (support.sas.com, orpmug, dtree),
    after H. Raiffa (1968). The worth of the soundings is ours, computed with other code.

    A test may cost less than perfect information is worth, and still too much.
    """
    oils, costs = (0.0, 700_000.0, 1_200_000.0), (150_000.0, 300_000.0, 500_000.0)
    prior = [p * q for p in OIL for q in (0.2, 0.6, 0.2)]
    states = list(itertools.product(oils, costs))
    utility = [[revenue - cost for revenue, cost in states], [0.0] * 9]
    assert without_information(prior, utility) == pytest.approx(140_000.0, abs=1e-6)
    oil = tells([revenue for revenue, _ in states])
    assert with_test(prior, utility, oil) == pytest.approx(295_000.0, abs=1e-6)
    assert evsi(prior, utility, oil) == pytest.approx(155_000.0, abs=1e-6)
    cost = tells([cost for _, cost in states])
    assert with_test(prior, utility, cost) == pytest.approx(150_000.0, abs=1e-6)
    assert evsi(prior, utility, cost) == pytest.approx(10_000.0, abs=1e-6)

    soundings = np.repeat(SOUNDINGS, 3, axis=1)
    assert evsi(prior, utility, soundings) == pytest.approx(40_100.0, abs=1e-6)
    assert with_test(prior, utility, soundings, cost=60_000.0) == pytest.approx(120_100.0, abs=1e-6)
    assert net_value(prior, utility, soundings, cost=60_000.0) == pytest.approx(-19_900.0, abs=1e-6)


def test_a_test_that_cannot_change_the_decision_is_worth_nothing() -> None:
    """The used car of J. Pearl, Probabilistic Reasoning in Intelligent Systems (1988), as set in
    S. Russell, P. Norvig, Artificial Intelligence: A Modern Approach, exercises to chapter 16
    (github.com/aimacode/aima-exercises). Inputs from there, results computed.

    It is bought for 1500, worth 2000 in good order, and a repair costs 700; the test costs 50.
    """
    prior, utility = [0.7, 0.3], [[500.0, -200.0], [0.0, 0.0]]
    passes = [[0.8, 0.35], [0.2, 0.65]]
    assert without_information(prior, utility) == pytest.approx(290.0, abs=1e-9)
    chance, posterior = outcomes(prior, passes)
    assert list(chance) == pytest.approx([0.665, 0.335], abs=1e-12)
    assert list(posterior[:, 0]) == pytest.approx([0.842105, 0.417910], abs=5e-7)
    assert list(posterior @ utility[0]) == pytest.approx([389.47, 92.54], abs=5e-3)
    assert best_actions(prior, utility, passes) == (0, 0)
    assert evsi(prior, utility, passes) == pytest.approx(0.0, abs=1e-9)
    assert net_value(prior, utility, passes, cost=50.0) == pytest.approx(-50.0, abs=1e-9)
    # Yet it takes away much of the doubt: bits are no measure of worth.
    assert (bits(prior), bits_after(prior, passes)) == pytest.approx((0.881291, 0.746907), abs=5e-7)


def test_party() -> None:
    """R. A. Howard's party problem; inputs from the example of a decision-tree library
    (rdrr.io/github/jongbinjung/datree), values computed. In the sun, in the rain.
    """
    prior = [0.4, 0.6]
    outdoors, porch, indoors = [1.0, 0.0], [0.95, 0.32], [0.57, 0.67]
    for place, value in ((outdoors, 0.40), (porch, 0.572), (indoors, 0.63)):
        assert without_information(prior, [place]) == pytest.approx(value, abs=1e-9)
    utility = [outdoors, porch, indoors]
    assert best_action(prior, utility) == 2
    assert without_information(prior, utility) == pytest.approx(0.63, abs=1e-9)
    # 0.4 * 1 + 0.6 * 0.67 - 0.63, by hand.
    assert evpi(prior, utility) == pytest.approx(0.172, abs=1e-9)


# Where to probe: the polybox. X = A * C, Y = B * D, Z = C * E by M1 to M3, F = X + Y, G = Y + Z by A1 and
# A2; the inputs A to E are 3, 2, 2, 3, 3, so that F = G = 12 if all parts are good.

PARTS = ("M1", "M2", "M3", "A1", "A2")

#: Values that a wire may have where nothing predicts it, all alike; those that are predicted are among them.
WIRE_VALUES = range(16)


def follows(bad: frozenset[str]) -> dict[str, int] | None:
    """What F = 10, G = 12 and the good parts say of X, Y and Z; None if they contradict each other."""
    known = {wire: 6 for part, wire in (("M1", "X"), ("M2", "Y"), ("M3", "Z")) if part not in bad}
    for _ in range(2):  # what one sum tells of Y may tell the other one's wire
        for part, wire, total in (("A1", "X", 10), ("A2", "Z", 12)):
            if part in bad:
                continue
            if "Y" in known and known.setdefault(wire, total - known["Y"]) != total - known["Y"]:
                return None
            if wire in known and known.setdefault("Y", total - known[wire]) != total - known[wire]:
                return None
    return known


def candidates() -> Iterator[tuple[frozenset[str], Mapping[str, int]]]:
    for number in range(6):
        for bad in map(frozenset, itertools.combinations(PARTS, number)):
            known = follows(bad)
            if known is not None:
                yield bad, known


def test_probing_the_polybox() -> None:
    """J. de Kleer, B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987).

    The circuit, its four minimal diagnoses and that X is to be measured are theirs, FROM MEMORY; the
    probabilities and entropies are computed by us, with each part bad with .01 and what nothing predicts
    spread over 16 values.
    """
    sets = list(candidates())
    assert len(sets) == 27
    minimal = [bad for bad, _ in sets if not any(other < bad for other, _ in sets)]
    assert minimal == [{"M1"}, {"A1"}, {"M2", "M3"}, {"M2", "A2"}]

    weight = np.array([0.01 ** len(bad) * 0.99 ** (5 - len(bad)) for bad, _ in sets])
    prior = weight / weight.sum()
    chance = {part: prior @ [part in bad for bad, _ in sets] for part in PARTS}
    expected = {"M1": 0.4976, "A1": 0.4976, "M2": 0.0196, "M3": 0.0148, "A2": 0.0148}
    assert chance == pytest.approx(expected, abs=5e-5)
    assert prior[0] == pytest.approx(0.47803, abs=5e-6)
    assert bits(prior) == pytest.approx(1.3594, abs=5e-5)

    probes = {
        wire: np.array(
            [[known.get(wire) == value for _, known in sets] for value in WIRE_VALUES], dtype=float
        )
        for wire in "XYZ"
    }
    predicted = {
        (wire, value): float(probes[wire][value] @ prior)
        for wire, value in (("X", 4), ("X", 6), ("Y", 6), ("Y", 4), ("Z", 6), ("Z", 8))
    }
    assert list(predicted.values()) == pytest.approx(
        [0.4926, 0.5024, 0.9901, 0.0097, 0.9949, 0.0048], abs=5e-5
    )
    entropy = {}
    for wire, told in probes.items():
        free = np.array([wire not in known for _, known in sets])
        entropy[wire] = bits_after(prior, told + free / len(WIRE_VALUES))
    assert entropy == pytest.approx({"X": 0.3263, "Y": 1.2783, "Z": 1.3125}, abs=5e-5)
    assert min(entropy, key=entropy.__getitem__) == "X"
