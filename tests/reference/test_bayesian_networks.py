"""Published Bayesian networks, written in the engine's causes and gates (see `small.bayes_network`)."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

from tests.reference.small import Table, ask, bayes_network, probability, rows


def check(
    tables: Mapping[str, Table], states: Mapping[str, bool], expected: Mapping[str, float], within: float
) -> None:
    """P(variable true | states) of every variable in `expected`."""
    network = bayes_network(tables)
    answer = ask(network, states, [*expected, *(f"not {name}" for name in expected)])
    for name, value in expected.items():
        assert answer.node(name) == pytest.approx(value, abs=within), name
        assert answer.node(f"not {name}") == pytest.approx(1.0 - answer.node(name), abs=1e-12)


def alarm(burglary: float, earthquake: float) -> dict[str, Table]:
    return {
        "B": rows("", burglary),
        "E": rows("", earthquake),
        "A": rows("B E", 0.95, 0.94, 0.29, 0.001),
        "J": rows("A", 0.90, 0.05),
        "M": rows("A", 0.70, 0.01),
    }


@pytest.mark.parametrize(
    ("states", "b", "e", "a"),
    [
        ({"J": True, "M": True}, 0.284172, 0.176067, 0.760692),
        ({"J": True, "M": False}, 0.005130, 0.004539, 0.013574),
        ({"J": False, "M": True}, 0.006876, 0.005612, 0.018250),
        ({"J": True}, 0.016284, 0.011395, 0.043438),
        ({"M": True}, 0.056117, 0.035881, 0.150090),
        ({"A": True}, 0.373551, 0.231009, 1.0),
        ({"A": True, "E": True}, 0.003268, 1.0, 1.0),
    ],
)
def test_alarm(states: dict[str, bool], b: float, e: float, a: float) -> None:
    """Source: S. Russell, P. Norvig, Artificial Intelligence; answers in github.com/aimacode/aima-python.

    Three digits of the first five P(B) are printed there; the others were recomputed by enumeration.
    """
    check(alarm(0.001, 0.002), states, {"B": b, "E": e, "A": a}, within=1e-6)


def test_alarm_priors() -> None:
    """Same source."""
    network = bayes_network(alarm(0.001, 0.002))
    assert probability(network, {"J": True}) == pytest.approx(0.05213898, abs=5e-9)
    assert probability(network, {"M": True}) == pytest.approx(0.01173634, abs=5e-9)
    assert probability(network, {"A": True}) == pytest.approx(0.00251644, abs=5e-9)
    everything = {"J": True, "M": True, "A": True, "B": False, "E": False}
    assert probability(network, everything) == pytest.approx(0.00062811, abs=5e-9)


def test_same_picture_with_other_priors() -> None:
    """The repository network "earthquake" (github.com/pgmpy/pgmpy, example models): not the book's alarm."""
    tables = alarm(0.01, 0.02)
    check(tables, {"J": True, "M": True}, {"B": 0.556522}, within=1e-6)
    check(tables, {}, {"A": 0.016114}, within=1e-6)


# Source: S. Lauritzen, D. Spiegelhalter, J. R. Statist. Soc. B 50 (1988); tables as in the R package gRain.
ASIA: dict[str, Table] = {
    "asia": rows("", 0.01),
    "smoke": rows("", 0.5),
    "tub": rows("asia", 0.05, 0.01),
    "lung": rows("smoke", 0.10, 0.01),
    "bronc": rows("smoke", 0.60, 0.30),
    "either": rows("tub lung", 1.0, 1.0, 1.0, 0.0),
    "xray": rows("either", 0.98, 0.05),
    "dysp": rows("either bronc", 0.9, 0.7, 0.8, 0.1),
}


def test_chest_clinic_marginals() -> None:
    expected = {"tub": 0.0104, "lung": 0.055, "bronc": 0.45, "either": 0.064828}
    check(ASIA, {}, {**expected, "xray": 0.11029004, "dysp": 0.4359706}, within=1e-9)


@pytest.mark.parametrize(
    ("states", "tub", "lung", "bronc", "either"),
    [
        ("dysp", 0.018845, 0.102759, 0.833967, 0.120536),
        ("dysp asia", 0.087751, 0.099525, 0.811402, 0.182300),
        ("dysp asia -smoke", 0.112835, 0.022567, 0.717942, 0.134274),
        ("dysp asia -smoke xray", 0.632329, 0.126466, 0.458960, 0.752472),
        ("dysp asia smoke -xray", 0.001931, 0.003861, 0.921596, 0.005599),
        ("xray", 0.092411, 0.488711, 0.506326, 0.576040),
    ],
)
def test_chest_clinic(states: str, tub: float, lung: float, bronc: float, either: float) -> None:
    """Inputs as published; these answers were computed with two other programs."""
    given = {name.removeprefix("-"): not name.startswith("-") for name in states.split()}
    expected = {"tub": tub, "lung": lung, "bronc": bronc, "either": either}
    check(ASIA, given, expected, within=1e-6)


def test_sprinkler() -> None:
    """Source: K. Murphy's version; first three tables as in github.com/aimacode/aima-python.

    The table of the wet lawn and the four answers are FROM MEMORY, arithmetic redone.
    """
    tables = {
        "cloudy": rows("", 0.5),
        "sprinkler": rows("cloudy", 0.1, 0.5),
        "rain": rows("cloudy", 0.8, 0.2),
        "wet": rows("sprinkler rain", 0.99, 0.90, 0.90, 0.0),
    }
    check(tables, {}, {"wet": 0.6471}, within=5e-5)
    check(tables, {"wet": True}, {"sprinkler": 0.4298, "rain": 0.7079}, within=5e-5)
    # Explaining away: rain is known, so the sprinkler is needed less.
    check(tables, {"wet": True, "rain": True}, {"sprinkler": 0.1945}, within=5e-5)


@pytest.mark.parametrize(
    ("states", "expected"),
    [
        ({}, {"tampering": 0.02, "fire": 0.01, "report": 0.028126, "smoke": 0.0189}),
        ({"report": True}, {"tampering": 0.399169, "fire": 0.230505, "smoke": 0.215149}),
        ({"smoke": True}, {"tampering": 0.02, "fire": 0.476190, "report": 0.320176}),
        ({"report": True, "smoke": False}, {"tampering": 0.500797, "fire": 0.029369}),
        ({"report": True, "smoke": True}, {"tampering": 0.028436, "fire": 0.964234}),
    ],
)
def test_fire_alarm(states: dict[str, bool], expected: dict[str, float]) -> None:
    """Source: D. Poole, A. Mackworth, Artificial Intelligence (the alarm table is not monotone).

    Most tables and P(tampering | report) = 0.399 seen in public copies; P(alarm) of .99 and .0001 and the
    other answers FROM MEMORY, arithmetic redone.
    """
    tables = {
        "tampering": rows("", 0.02),
        "fire": rows("", 0.01),
        "alarm": rows("tampering fire", 0.5, 0.85, 0.99, 0.0001),
        "smoke": rows("fire", 0.9, 0.01),
        "leaving": rows("alarm", 0.88, 0.001),
        "report": rows("leaving", 0.75, 0.01),
    }
    check(tables, states, expected, within=1e-6)


@pytest.mark.parametrize(
    ("states", "expected"),
    [
        ("", (0.100, 0.300, 0.0116, 0.2081, 0.3041)),
        ("dyspnoea", (0.102, 0.307, 0.0249, 0.2174, 1.0)),
        ("smoker", (0.100, 1.0, 0.0320, 0.2224, 0.3112)),
        ("cancer", (0.2494, 0.8255, 1.0, 0.900, 0.650)),
        ("cancer smoker", (0.1563, 1.0, 1.0, 0.900, 0.650)),
        ("dyspnoea smoker", (0.102, 1.0, 0.0668, 0.2468, 1.0)),
    ],
)
def test_cancer(states: str, expected: tuple[float, ...]) -> None:
    """Source: K. Korb, A. Nicholson, Bayesian Artificial Intelligence; tables as in github.com/pgmpy/pgmpy.

    The book's three-digit answers are from memory; the fourth digit was recomputed.
    """
    tables = {
        "pollution": rows("", 0.1),
        "smoker": rows("", 0.3),
        "cancer": rows("pollution smoker", 0.05, 0.02, 0.03, 0.001),
        "xray": rows("cancer", 0.9, 0.2),
        "dyspnoea": rows("cancer", 0.65, 0.30),
    }
    names = ("pollution", "smoker", "cancer", "xray", "dyspnoea")
    # Three of the answers are printed to three digits only.
    for name, value in zip(names, expected, strict=True):
        digits = 5e-4 if name in ("pollution", "smoker") and round(value, 3) == value else 5e-5
        check(tables, dict.fromkeys(states.split(), True), {name: value}, within=digits)


@pytest.mark.parametrize(
    ("tables", "found", "explained", "bits"),
    [
        (alarm(0.001, 0.002), "J -M", "", 0.0418),
        (alarm(0.001, 0.002), "J M", "", -1.7680),
        (ASIA, "xray -dysp", "", 0.6508),
        (ASIA, "xray -dysp", "either", -1.5771),
        (ASIA, "xray -dysp", "bronc", 1.8706),
    ],
)
def test_findings_in_conflict(tables: dict[str, Table], found: str, explained: str, bits: float) -> None:
    """log2 of the product of P(each) over P(all together); below 0 with a cause beside, that explains it.

    Measure: F. V. Jensen, B. Chamberlain, T. Nordahl, F. Jensen, Analysis in HUGIN of data conflict, UAI
    1990. Networks as above; these answers were computed by enumeration.
    """
    network = bayes_network(tables)
    states = {name.removeprefix("-"): name[0] != "-" for name in f"{found} {explained}".split()}
    apart = math.prod(probability(network, {name: on}) for name, on in states.items())
    assert math.log2(apart / probability(network, states)) == pytest.approx(bits, abs=5e-5)
