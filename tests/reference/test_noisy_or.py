"""Noisy OR: published rows, leaks, and the numerical trap that the engine must not have."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import pytest

from diagnose.belief.engine import Engine
from diagnose.belief.evidence import merge, observe
from diagnose.belief.network import Cause, Input, Network, Node, expand
from diagnose.model.check import Check, Finding, Link
from diagnose.model.complaint import Complaint, Gate
from diagnose.model.library import Library
from diagnose.model.part import Fault, Part
from diagnose.model.story import Seen
from diagnose.model.vehicle import Vehicle

NO, YES = (1.0, 0.0), (0.0, 1.0)


def causes_of(*priors: float) -> tuple[Cause, ...]:
    return tuple(Cause(f"d{n}", f"d{n}", "centre", p) for n, p in enumerate(priors, start=1))


def finding(key: str, leak: float, links: dict[int, float]) -> Node:
    return Node(key, 1, False, (1.0 - leak, leak), tuple(Input(n, (c,)) for n, c in links.items()))


def effect(leak: float, links: list[float], present: tuple[bool, ...]) -> float:
    """P(effect | exactly these causes present)."""
    nodes = {"effect": finding("effect", leak, dict(enumerate(links)))}
    for n in range(len(links)):
        nodes[f"d{n}"] = Node(f"d{n}", 1, True, (1.0, 0.0), (Input(n, (1.0,)),))
    engine = Engine(Network(causes_of(*[0.3] * len(links)), {}, nodes))
    given = {f"d{n}": YES if on else NO for n, on in enumerate(present)}
    log_both, log_given = engine.ask([{**given, "effect": YES}, given]).log_evidence
    return math.exp(log_both - log_given)


@pytest.mark.parametrize(
    ("cold", "flu", "malaria", "fever"),
    [
        (False, False, False, 0.0),
        (False, False, True, 0.9),
        (False, True, False, 0.8),
        (False, True, True, 0.98),
        (True, False, False, 0.4),
        (True, False, True, 0.94),
        (True, True, False, 0.88),
        (True, True, True, 0.988),
    ],
)
def test_fever(cold: bool, flu: bool, malaria: bool, fever: float) -> None:
    """Source: S. Russell, P. Norvig, Artificial Intelligence, as on public course slides; no leak."""
    assert effect(0.0, [0.4, 0.8, 0.9], (cold, flu, malaria)) == pytest.approx(fever, abs=1e-12)


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [(False, False, 0.1), (True, False, 0.28), (False, True, 0.46), (True, True, 0.568)],
)
def test_leaky_noisy_or(first: bool, second: bool, expected: float) -> None:
    """Formula and parameters: norsys.com help, NoisyOrDist; the four values were computed from them."""
    assert effect(0.1, [0.2, 0.4], (first, second)) == pytest.approx(expected, abs=1e-12)


def test_link_without_the_leak_is_what_a_link_means() -> None:
    """The two published parameters of a leaky link (Henrion's, with the leak in it; Diez's, the pure link).

    At a leak of .1, P(effect | only this cause) = .64 is a pure link of .60, because .36 / .9 = .4.
    """
    with_leak, leak = 0.64, 0.1
    link = 1.0 - (1.0 - with_leak) / (1.0 - leak)
    assert link == pytest.approx(0.60, abs=1e-12)
    assert effect(leak, [link], (True,)) == pytest.approx(0.64, abs=1e-12)
    # Taking the one for the other counts the leak twice.
    assert effect(leak, [with_leak], (True,)) == pytest.approx(0.676, abs=1e-12)


def test_three_causes_three_findings() -> None:
    """Own instance, not published: answers by enumeration and by quickscore, which agree."""
    nodes = {
        "f1": finding("f1", 0.01, {0: 0.8, 1: 0.3}),
        "f2": finding("f2", 0.02, {1: 0.6, 2: 0.5}),
        "f3": finding("f3", 0.05, {0: 0.4, 2: 0.7}),
    }
    network = Network(causes_of(0.01, 0.02, 0.05), {}, nodes)
    answer = Engine(network).ask([{"f1": YES, "f2": YES, "f3": NO}])
    assert math.exp(answer.log_evidence[0]) == pytest.approx(0.003828017927, abs=5e-13)
    expected = [0.046315256, 0.904644742, 0.045874361]
    assert list(answer.present[0]) == pytest.approx(expected, abs=5e-10)


@pytest.mark.parametrize(
    ("findings", "printed", "within"),
    [(5, 3.4153e-12, 2e-5), (10, 1.14108e-20, 5e-6), (14, 2.247349e-27, 3e-7), (18, 6.694528e-34, 1e-7)],
)
def test_many_positive_findings_do_not_cancel(findings: int, printed: float, within: float) -> None:
    """Own instance: inclusion and exclusion in double precision goes negative at 14 findings of this kind.

    The printed direct sums have five to seven digits; the sum in fractions here has all.
    """
    prior, links, leak = 0.001, (0.01, 0.02, 0.005), 1e-4
    exact = [Fraction(0)] * 4  # P(findings), P(findings and cause n)
    for present in itertools.product((0, 1), repeat=3):
        weight, silent = Fraction(1), 1 - Fraction(leak)
        for on, link in zip(present, links, strict=True):
            weight *= Fraction(prior) if on else 1 - Fraction(prior)
            silent *= 1 - Fraction(link) if on else 1
        weight *= (1 - silent) ** findings
        exact[0] += weight
        for number, on in enumerate(present, start=1):
            exact[number] += weight * on
    nodes = {f"f{n}": finding(f"f{n}", leak, dict(enumerate(links))) for n in range(findings)}
    answer = Engine(Network(causes_of(prior, prior, prior), {}, nodes)).ask([dict.fromkeys(nodes, YES)])
    found = math.exp(answer.log_evidence[0])
    assert found > 0.0
    assert found == pytest.approx(float(exact[0]), rel=1e-9, abs=0.0)
    assert found == pytest.approx(printed, rel=within, abs=0.0)
    posteriors = [float(each / exact[0]) for each in exact[1:]]
    assert list(answer.present[0]) == pytest.approx(posteriors, rel=1e-9, abs=0.0)


# One fact entered twice. Own instance: prior .1, finding .8 with the fault and .2 without it.


def library() -> Library:
    """One fault, a check that sees it, and a second check that sees the first one's finding again."""
    link = 1.0 - (1.0 - 0.8) / (1.0 - 0.2)  # so that P(seen | fault) is .8, false alarms among it
    first = Finding(
        "look/loose", "look", "it is loose", ("yes",), (0.2,), (Link("bolt-loose", "fault", (link,)),)
    )
    again = Finding("again/loose", "again", "still loose", ("yes",), (0.05,), repeats="look/loose", hit=0.9)
    gate = Gate("any", 1, (), leak=0.05)
    return Library(
        parts={"bolt": Part("bolt", "bolt", "centre")},
        faults={"bolt-loose": Fault("bolt-loose", "bolt", "loose", "centre", "tighten", chance=0.1)},
        checks={each: Check(each, each, "talk", 1, each, (f"{each}/loose",)) for each in ("look", "again")},
        findings={first.id: first, again.id: again},
        remedies={},
        set_ups={},
        changes={},
        complaints={"noise": Complaint("noise", "noise", gate)},
        mechanisms={},
        facts={},
        conditions={},
        follow_ups={},
        sources={},
        cautions={},
        tools={},
    )


def posterior(*seen: Seen) -> float:
    lib = library()
    network = expand(lib, Vehicle(), {}, [(each.finding, each.position) for each in seen])
    answer = Engine(network).ask([merge(observe(lib, network, (), seen))])
    return float(answer.present[0, network.index["bolt-loose"]])


def test_one_finding_entered_once() -> None:
    assert posterior(Seen("look/loose")) == pytest.approx(0.307692, abs=5e-7)


@pytest.mark.parametrize("times", [2, 3, 5])
def test_one_finding_entered_again_says_nothing_new(times: int) -> None:
    """As independent facts the same observation would be worth 0.64, 0.876712, 0.991288."""
    counted = 0.1 * 0.8**times / (0.1 * 0.8**times + 0.9 * 0.2**times)
    assert counted == pytest.approx({2: 0.64, 3: 0.876712, 5: 0.991288}[times], abs=5e-7)
    assert posterior(*[Seen("look/loose")] * times) == pytest.approx(0.307692, abs=5e-7)
    repeated = [Seen("look/loose"), *[Seen("again/loose")] * (times - 1)]
    assert posterior(*repeated) == pytest.approx(0.307692, abs=5e-7)


def test_repeated_views_alone_never_say_more_than_the_fact() -> None:
    """Second-hand sightings (hit .9, false .05) make the fact surer, and the fault at most as sure as it."""
    values = [posterior(*[Seen("again/loose")] * times) for times in (1, 2, 3, 5)]
    fact = 0.1 * 0.8 + 0.9 * 0.2  # P(the finding is there)
    sure = fact * 0.9 / (fact * 0.9 + (1.0 - fact) * 0.05)
    assert values[0] == pytest.approx(sure * 0.08 / fact + (1.0 - sure) * 0.02 / (1.0 - fact), abs=1e-9)
    assert values == sorted(values)
    assert values[-1] < 0.307693
