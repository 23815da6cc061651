"""Damping from a bounce, ride frequency and motion ratio, against textbook examples."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.damping import (
    critical_damping,
    damping_of_decrement,
    damping_of_peaks,
    decrement_of_damping,
    log_decrement,
    overshoot,
    spring_rate_of_period,
    swings_until,
    visible_swings,
)
from diagnose.geometry.ride import (
    GRAVITY,
    motion_ratio,
    ride_frequency,
    ride_frequency_of_deflection,
    spring_rate,
    static_deflection,
    wheel_rate,
)

ratios = st.floats(0.02, 0.9)


def test_a_shock_absorber_example() -> None:
    """Rao, Mechanical Vibrations: to a quarter in half a cycle, 200 kg, 2 s; printed with a rounded ratio."""
    decrement = log_decrement(4.0, 1.0, 0.5)
    assert decrement == pytest.approx(2.7726, abs=5e-5)
    damping = damping_of_decrement(decrement)
    assert damping == pytest.approx(0.403713, abs=1e-6)
    rate = spring_rate_of_period(200.0, 2.0, damping)
    assert rate == pytest.approx(2358.283, abs=2e-3)
    assert rate == pytest.approx(2358.2652, abs=0.05)
    assert critical_damping(200.0, rate) == pytest.approx(1373.545, abs=2e-3)
    # A copy on the web has 1109: twice as much.
    assert damping * critical_damping(200.0, rate) == pytest.approx(554.518, abs=2e-3)


def test_the_same_with_a_third() -> None:
    """The same problem with 1/3, 150 kg and 2 s; the answer is own arithmetic."""
    damping = damping_of_decrement(log_decrement(3.0, 1.0, 0.5))
    assert damping == pytest.approx(0.3301, abs=5e-5)
    assert spring_rate_of_period(150.0, 2.0, damping) == pytest.approx(1661.5, abs=0.05)


def test_a_hundred_cycles() -> None:
    """A question in a physics forum: the hundredth cycle at 13 % of the first; the answer is arithmetic."""
    decrement = log_decrement(100.0, 13.0, 100.0)
    assert decrement == pytest.approx(0.020402, abs=5e-7)
    assert damping_of_decrement(decrement) == pytest.approx(0.003247, abs=5e-7)


def test_a_critical_damping_example() -> None:
    """A textbook's problem: 8 kg, 5400 N/m and 40 N s/m; printed 416 and 0.096."""
    critical = critical_damping(8.0, 5400.0)
    assert critical == pytest.approx(415.7, abs=0.05)
    assert 40 / critical == pytest.approx(0.0962, abs=5e-5)
    assert decrement_of_damping(40 / critical) == pytest.approx(0.6074, abs=2e-4)
    assert math.exp(decrement_of_damping(40 / critical)) == pytest.approx(1.836, abs=1e-3)


def test_a_share_lost_in_a_cycle_is_not_the_damping_ratio() -> None:
    """A copy on the web takes a fall of 56 % in a cycle for a ratio of 0.56; it is 0.130."""
    decrement = log_decrement(1.0, 0.44)
    assert decrement == pytest.approx(0.821, abs=5e-4)
    assert damping_of_decrement(decrement) == pytest.approx(0.130, abs=5e-4)


def test_a_worked_bounce() -> None:
    """A worked case on a web page: from 0.5 to 0.075 in a whole cycle."""
    assert damping_of_decrement(log_decrement(0.5, 0.075)) == pytest.approx(0.289, abs=5e-4)


@pytest.mark.parametrize(
    ("damping", "decrement", "ratio", "first", "whole", "swings"),
    [
        (0.10, 0.632, 1.88, 0.729, 8, 7.3),
        (0.15, 0.953, 2.59, 0.621, 5, 4.8),
        (0.20, 1.283, 3.61, 0.527, 4, 3.6),
        (0.25, 1.622, 5.06, 0.444, 3, 2.8),
        (0.30, 1.976, 7.21, 0.372, 3, 2.3),
        (0.40, 2.742, 15.5, 0.254, 2, 1.7),
    ],
)
def test_table_of_what_a_bounce_shows(
    damping: float, decrement: float, ratio: float, first: float, whole: int, swings: float
) -> None:
    """Own arithmetic."""
    assert decrement_of_damping(damping) == pytest.approx(decrement, abs=6e-4)
    assert math.exp(decrement_of_damping(damping)) == pytest.approx(ratio, rel=2e-3)
    assert overshoot(damping) == pytest.approx(first, abs=6e-4)
    assert visible_swings(damping) == whole
    assert swings_until(damping) == pytest.approx(swings, abs=0.07)


@given(ratios)
def test_damping_round_trips(damping: float) -> None:
    assert damping_of_decrement(decrement_of_damping(damping)) == pytest.approx(damping, abs=1e-12)
    half = log_decrement(1.0, overshoot(damping), 0.5)
    whole = log_decrement(1.0, overshoot(damping, 2), 1.0)
    assert half == pytest.approx(whole, abs=1e-9)
    assert damping_of_decrement(half) == pytest.approx(damping, abs=1e-9)


@given(ratios, st.integers(2, 6), st.floats(1.0, 100.0))
def test_peaks_of_a_linear_body_give_its_damping(damping: float, count: int, push: float) -> None:
    peaks = [push * overshoot(damping, n) for n in range(count)]
    assert damping_of_peaks(peaks) == pytest.approx(damping, abs=1e-7)
    same_side = [push * overshoot(damping, 2 * n) for n in range(count)]
    assert damping_of_peaks(same_side, 1.0) == pytest.approx(damping, abs=1e-7)


@given(ratios, ratios)
def test_more_damping_swings_less(one: float, other: float) -> None:
    if one < other:
        assert visible_swings(one) >= visible_swings(other)
        assert overshoot(one) > overshoot(other)


@given(ratios, st.floats(0.02, 0.5))
def test_what_is_left_after_the_visible_swings_is_too_small(damping: float, share: float) -> None:
    swings = visible_swings(damping, share)
    assert overshoot(damping, swings) <= share * (1 + 1e-6)
    assert swings == 0 or overshoot(damping, swings - 1) > share * (1 - 1e-6)


def test_without_damping_it_never_ends() -> None:
    assert swings_until(0.0) == math.inf
    assert overshoot(0.0, 100) == 1.0
    assert damping_of_peaks([1.0, 1.0, 1.0]) == 0.0


@pytest.mark.parametrize(
    ("first", "later", "cycles", "message"),
    [
        (0.0, 1.0, 1.0, "peaks must be sizes above 0, without a sign: measure from where it comes to rest"),
        (1.0, -0.5, 0.5, "peaks must be sizes above 0, without a sign: measure from where it comes to rest"),
        (
            math.nan,
            1.0,
            1.0,
            "peaks must be sizes above 0, without a sign: measure from where it comes to rest",
        ),
        (
            1.0,
            2.0,
            1.0,
            "the later peak is larger than the first: a free bounce dies away, so measure again",
        ),
        (2.0, 1.0, 0.7, "peaks stand whole or half cycles apart: give 0.5, 1, 1.5 and so on"),
        (
            2.0,
            1.0,
            0.0,
            "the cycles between the peaks must be a number from 0.5 to 1000, not 0: "
            "look at the reading and its unit",
        ),
    ],
)
def test_messages(first: float, later: float, cycles: float, message: str) -> None:
    with pytest.raises(InputError) as error:
        log_decrement(first, later, cycles)
    assert str(error.value) == message


def test_what_does_not_swing_is_refused() -> None:
    with pytest.raises(InputError, match="the damping ratio must be"):
        overshoot(1.0)
    with pytest.raises(InputError, match="the damping ratio must be"):
        visible_swings(0.0)
    with pytest.raises(InputError, match="damping needs 2 to 50 peaks"):
        damping_of_peaks([1.0])
    with pytest.raises(InputError, match="the share that is still seen"):
        swings_until(0.3, 0.0)


# Ride -------------------------------------------------------------------------------------------------


def test_ride_frequencies() -> None:
    """A chassis newsletter's formula (0.159 sqrt(S / m)); the numbers are own arithmetic."""
    assert ride_frequency(17000.0, 250.0) == pytest.approx(1.312, abs=1e-3)
    assert ride_frequency(17000.0, 250.0) == pytest.approx(0.159 * math.sqrt(17000 / 250), rel=2e-3)
    assert static_deflection(1.0) * 1000 == pytest.approx(248.4, abs=0.05)
    assert static_deflection(1.5) * 1000 == pytest.approx(110.4, abs=0.05)


@given(st.floats(0.3, 10.0), st.floats(50.0, 1000.0))
def test_deflection_rate_and_mass_agree(frequency: float, mass: float) -> None:
    deflection = static_deflection(frequency)
    assert ride_frequency_of_deflection(deflection) == pytest.approx(frequency, rel=1e-12)
    assert ride_frequency(mass * GRAVITY / deflection, mass) == pytest.approx(frequency, rel=1e-12)


@given(st.floats(5000.0, 100000.0), st.floats(0.3, 1.2))
def test_rates_round_trip_and_keep_the_work(spring: float, ratio: float) -> None:
    at_wheel = wheel_rate(spring, ratio)
    assert spring_rate(at_wheel, ratio) == pytest.approx(spring, rel=1e-12)
    # The same energy for a movement of the wheel and what the spring moves then.
    assert at_wheel * 0.01**2 == pytest.approx(spring * (0.01 * ratio) ** 2, rel=1e-12)


def test_a_motion_ratio() -> None:
    assert motion_ratio(0.030, 0.050) == pytest.approx(0.6)
    assert wheel_rate(30000.0, motion_ratio(0.030, 0.050)) == pytest.approx(10800.0)
    with pytest.raises(InputError, match=r"the motion ratio must be a number from 0\.1 to 2, not 5"):
        motion_ratio(0.050, 0.010)
    with pytest.raises(InputError, match="static deflection must be a number from 1 to 5000 mm"):
        ride_frequency_of_deflection(0.0)
    with pytest.raises(InputError, match="the mass must be"):
        ride_frequency(17000.0, 0.0)
    with pytest.raises(InputError, match="the ride frequency must be"):
        static_deflection(math.nan)
