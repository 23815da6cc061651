"""Readings near a limit: shared out between its two sides by how well they repeat; far from it, sure."""

from __future__ import annotations

import math
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.belief.belief import Belief, Car
from diagnose.model.check import CERTAIN, REPEATABILITY_OF_SPREAD, Limit, Reading
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle
from diagnose.screen.readings import beside_limits
from tests.shipped import LIBRARY
from tests.small_trees import compiled, edited

PLAY = Reading("length", "mm", (Limit(8.0, "felt"), Limit(13.0, "past inspection")), repeatability=3.0)
GRIP = Reading("ratio", "%", (Limit(40.0, "weak"), Limit(20.0, "poor")), direction="under", repeatability=8.0)


def test_repeatability_is_that_of_iso_5725() -> None:
    """ISO 5725-1 and -6: the limit that the difference of two readings keeps to in 95 of 100 is 2.8 times the
    standard deviation of one (1.96 times the root of 2 is 2.77); checked with the standard library's normal
    distribution as the reference."""
    assert pytest.approx(2.8, abs=0.03) == REPEATABILITY_OF_SPREAD
    difference = NormalDist(0.0, math.sqrt(2.0) / REPEATABILITY_OF_SPREAD)
    assert difference.cdf(1.0) - difference.cdf(-1.0) == pytest.approx(0.95, abs=1e-4)


@pytest.mark.parametrize("value", [6.5, 7.9, 8.0, 8.4, 10.0, 12.0, 13.5])
def test_each_band_takes_its_part_of_the_spread(value: float) -> None:
    """The reference is the standard library's normal distribution."""
    spread = NormalDist(value, PLAY.repeatability / REPEATABILITY_OF_SPREAD)
    parts = (spread.cdf(8.0), spread.cdf(13.0) - spread.cdf(8.0), 1.0 - spread.cdf(13.0))
    assert PLAY.likelihoods(value) == pytest.approx(parts, abs=1e-9)


def test_on_a_limit_both_sides_are_alike() -> None:
    none, felt, _ = PLAY.likelihoods(8.0)
    assert none == pytest.approx(felt, abs=1e-5)
    _, weak, poor = GRIP.likelihoods(20.0)
    assert weak == pytest.approx(poor, abs=1e-5)


def test_far_from_every_limit_it_is_sure() -> None:
    assert PLAY.likelihoods(2.0) == (1.0, 0.0, 0.0)
    assert PLAY.likelihoods(30.0) == (0.0, 0.0, 1.0)
    assert GRIP.likelihoods(70.0) == (1.0, 0.0, 0.0)
    assert GRIP.likelihoods(5.0) == (0.0, 0.0, 1.0)


def test_what_is_counted_is_sure_up_to_its_limit() -> None:
    counted = Reading("count", "swings", (Limit(3.0, "more than a sound one"),))
    assert counted.likelihoods(2.999) == (1.0, 0.0)
    assert counted.likelihoods(3.0) == (0.0, 1.0)


@given(st.floats(-50, 80), st.floats(0.0, 5.0), st.sampled_from([PLAY, GRIP]))
def test_worse_readings_never_look_better(value: float, more: float, reading: Reading) -> None:
    worse = value + more if reading.direction == "over" else value - more
    one, other = reading.likelihoods(value), reading.likelihoods(worse)
    assert sum(one) == pytest.approx(1.0)
    assert all(0.0 <= each <= 1.0 for each in one)
    for level in range(1, len(one)):
        # P(at least this band) only grows, but for the rounding to a sure band.
        assert sum(other[level:]) >= sum(one[level:]) - (1.0 - CERTAIN) - 1e-12


READINGS = [f for f in LIBRARY.findings.values() if f.reading is not None]


def test_every_reading_of_the_library_says_how_well_it_repeats() -> None:
    for finding in READINGS:
        assert finding.reading is not None
        limits = [limit.value for limit in finding.reading.limits]
        assert 0.0 < finding.reading.repeatability < abs(limits[0]), finding.id
        gaps = [abs(b - a) for a, b in pairwise(limits)]
        # Else the band between two limits could hardly be told.
        assert all(finding.reading.repeatability <= gap for gap in gaps), finding.id


def told(finding: str, place: str | None, value: float) -> np.ndarray:
    """P(present) of every cause of a demo car, one number known."""
    car = Car(LIBRARY, VEHICLE, {"vague-steering": None})
    seen = Seen(finding, place, "no", value)
    return Belief(car, Story(VEHICLE, (Heard("vague-steering"),), (seen,))).to_blame


VEHICLE = Vehicle(facts={"steering": "rack", "front": "strut"}, km=190_000.0, years=13)


@pytest.mark.parametrize(
    ("finding", "place", "limit", "repeats"),
    [
        ("measure-rim-play-rack/rim-play", "front", 8.0, 3.0),
        ("measure-rim-play-rack/rim-play", "front", 13.0, 3.0),
        ("rock-at-3-and-9/linkage-play-at-tyre", "front-left", 2.0, 1.0),
        ("lever-the-front-bush/free-play-front-bush", "front-right", 1.5, 0.7),
    ],
)
def test_a_hair_beside_a_limit_moves_the_ranking_by_a_hair(
    finding: str, place: str | None, limit: float, repeats: float
) -> None:
    """What a hand cannot repeat must not turn a ranking over; a clear difference must move it."""
    under, over = told(finding, place, limit - repeats / 50), told(finding, place, limit + repeats / 50)
    assert np.abs(over - under).max() < 0.02
    assert int(under.argmax()) == int(over.argmax())
    low, high = told(finding, place, limit - repeats), told(finding, place, limit + repeats)
    assert np.abs(high - low).max() > 3.0 * np.abs(over - under).max()


def test_a_reading_is_shown_beside_both_limits_with_their_sources() -> None:
    lines = beside_limits(LIBRARY, Seen("measure-rim-play-rack/rim-play", None, "", 9.0))
    assert len(lines) == 3
    assert "from 8 mm: past it" in lines[0]
    assert "from 13 mm: not past it" in lines[1]
    assert all("[" in line for line in lines[:2])
    assert lines[2].startswith("Near a limit: such a reading repeats within 3 mm")
    assert "82 of 100" in lines[2]
    assert "18 of 100" in lines[2]
    assert len(beside_limits(LIBRARY, Seen("measure-rim-play-rack/rim-play", None, "", 40.0))) == 2
    assert beside_limits(LIBRARY, Seen("measure-rim-play-rack/rim-play", None, "cannot-tell")) == []


def test_a_repeatability_must_be_a_number_of_0_or_more() -> None:
    for wrong in ("-1", "little"):
        files = edited(("checks.yaml", "unit: mm", f"unit: mm\n          repeatability: {wrong}"))
        assert any(wrong in str(each) for each in compiled(files)[1])
