"""Wear-out lives against published values of the Weibull distribution."""

from __future__ import annotations

import math

import pytest

from diagnose.model.part import Life


def test_published_worked_value() -> None:
    """t = 105, shape 20, scale 100: F 0.929581, f 0.035589.

    Source: a spreadsheet's own reference page for its Weibull function (learn.microsoft.com, archived
    page cc723032). The density is the slope of `failed`, here by a central difference.
    """
    life = Life(shape=20.0, km=100.0)
    assert life.failed(105.0, 0.0) == pytest.approx(0.929581, abs=1e-6)
    slope = (life.failed(105.0 + 1e-4, 0.0) - life.failed(105.0 - 1e-4, 0.0)) / 2e-4
    assert slope == pytest.approx(0.035589, abs=1e-6)


def test_handbook_value() -> None:
    """t = 1000, shape 1.5, scale 5000: F 0.085559.

    FROM MEMORY of the NIST/SEMATECH e-Handbook of Statistical Methods, 8.1.6.2, arithmetic redone.
    """
    assert Life(shape=1.5, years=5000.0).failed(0.0, 1000.0) == pytest.approx(0.085559, abs=1e-5)


@pytest.mark.parametrize("shape", [0.5, 1.0, 2.2, 20.0])
def test_at_the_characteristic_life_632_of_1000_have_failed(shape: float) -> None:
    life = Life(shape=shape, km=160_000.0, years=12.0)
    expected = pytest.approx(1.0 - math.exp(-1.0), abs=1e-12)
    assert life.failed(160_000.0, 0.0) == expected
    assert life.failed(0.0, 12.0) == expected
    # The larger clock counts; they do not add up.
    assert life.failed(160_000.0, 12.0) == expected


def test_a_shape_of_one_is_the_exponential_law() -> None:
    assert Life(shape=1.0, km=200.0).failed(50.0, 0.0) == pytest.approx(1.0 - math.exp(-0.25), abs=1e-12)


def test_small_chances_keep_their_digits() -> None:
    """(t / scale)^shape = 1e-18 is the chance itself, where 1 - exp(-x) would give 0."""
    assert Life(shape=2.0, km=1e9).failed(1.0, 0.0) == pytest.approx(1e-18, rel=1e-12)
