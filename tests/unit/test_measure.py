"""Measuring on a car whose end is known: ranks, walks in four orders, and what the cases come to."""

from __future__ import annotations

from diagnose.job.case import read_case
from diagnose.measure import BASELINES, Measured, Walked, measure, summary
from tests.small_trees import SMALL, compiled

#: Demo data.
STIFF = """\
complaint:
  id: stiff
  name: Stiff to steer
  leak: 0.02
  source: estimate
  any:
    - {cause: rod-end-tight, strength: 0.6}
    - {cause: rod-end-play, strength: 0.05}
    - {cause: tyres-soft, strength: 0.3, at: front}
"""

LIBRARY = compiled({**SMALL, "stiff.yaml": STIFF})[0].library

#: Demo data: a tight rod end, found by rocking the steering; the tyres were looked at before.
CASE = b"""
case: 1
id: demo
vehicle: {steering: rack, km: 130000, years: 9}
complaints: [{id: stiff}]
answers:
  - {check: ask-tyres, findings: {long-ago: no}}
  - {check: rock-the-steering, findings: {how-stiff: very stiff}, others: no}
confirmed:
  causes: [{fault: rod-end-tight, position: front-left}]
  telling: 1
  source: demo
  confidence: high
"""


def test_the_walk_counts_minutes_of_the_checks_done() -> None:
    """Rocking the steering takes 5 minutes, and 2 to get the car there; the tyres were told of."""
    found = measure(LIBRARY, read_case(LIBRARY, CASE, "demo"))
    assert (found.rank_told, found.rank_before, found.rank_all, found.of) == (2, 2, 1, 3)
    assert found.walk == Walked(5.0 + 2.0, 1, 1, True)


def test_the_plain_orders_walk_the_same_car() -> None:
    found = measure(LIBRARY, read_case(LIBRARY, CASE, "demo"))
    assert tuple(found.baselines) == BASELINES
    assert found.baselines["fixed"] == found.baselines["ratio"] == found.walk
    # Without looking: the tyres are pumped up first (6 minutes), then the rod end is renewed (42), and
    # the toe set behind it (40).
    assert found.baselines["parts"] == Walked(6.0 + 42.0 + 40.0, 2, 0, True)


def test_without_the_plain_orders() -> None:
    assert measure(LIBRARY, read_case(LIBRARY, CASE, "demo"), baselines=False).baselines == {}


def measured(own: Walked, fixed: Walked, told: int | None) -> Measured:
    return Measured("x", "c", ("f",), told, told, 1, 1, 0.9, 0.1, 9, own, (), {"fixed": fixed})


def test_what_the_cases_come_to() -> None:
    results = [
        measured(Walked(10.0, 2, 1, True), Walked(20.0, 5, 3, True), 1),
        measured(Walked(0.0, 0, 0, True), Walked(0.0, 0, 0, True), 3),
        measured(Walked(30.0, 4, 2, True), Walked(120.0, 9, 6, False), 4),
        Measured("out", "c", (), None, None, None, None, None, 0.4, 9, None, ("a brace",)),
    ]
    sums = summary(results)
    assert (sums.cases, sums.listed) == (4, 3)
    assert (sums.first["told"], sums.three["told"]) == (1, 2)
    assert (sums.first["all"], sums.three["all"]) == (3, 3)
    own, fixed = sums.orders["own"], sums.orders["fixed"]
    assert (own.found, own.minutes, own.longest, own.slower) == (3, 10.0, 30.0, 1.0)
    # What it did not find counts with the minutes at which it gave up; a case solved at once not at all.
    assert (fixed.found, fixed.minutes, fixed.slower) == (2, 10.0, 3.0)
