"""Orders of wheel, shaft and engine, and which of them a measured frequency can be."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.orders import (
    Candidate,
    Order,
    alias,
    beat_period,
    candidates,
    expected_orders,
    firing_order,
)
from diagnose.geometry.speed import KMH, Speed, by_speedometer, measured
from diagnose.geometry.tyres import parse_tyre

TYRE = parse_tyre("205/55R16")
EXACT = (0.0, 0.0)


def named(found: tuple[Candidate, ...]) -> list[tuple[str, float]]:
    return [(each.order.part, each.order.number) for each in found if each.within]


def by_name(found: tuple[Order, ...]) -> dict[tuple[str, float], Order]:
    return {(each.part, each.number): each for each in found}


# Speed ------------------------------------------------------------------------------------------------


def test_what_a_speedometer_may_show() -> None:
    """UN R39, 5.4 (figures from memory): 0 <= shown - true <= true / 10 + 4 km/h."""
    found = by_speedometer(110 * KMH)
    assert found.high == 110 * KMH
    assert found.low == pytest.approx((110 - 4) / 1.1 * KMH)
    assert found.high - found.low == pytest.approx(found.low / 10 + 4 * KMH)
    assert by_speedometer(2 * KMH).low == 0.0


@given(st.floats(0.0, 80.0))
def test_a_speedometer_never_shows_less(shown: float) -> None:
    found = by_speedometer(shown)
    assert 0.0 <= found.low <= found.best <= found.high == shown


def test_a_measured_speed() -> None:
    found = measured(20.0, 0.02)
    assert (found.low, found.best, found.high) == pytest.approx((19.6, 20.0, 20.4))
    assert measured(20.0) == measured(20.0, 0.01)


def test_speeds_that_cannot_be() -> None:
    with pytest.raises(InputError, match="speed must be a number from 0 to 540 km/h"):
        measured(-1.0)
    with pytest.raises(InputError, match="the speed shown must be"):
        by_speedometer(math.inf)
    with pytest.raises(InputError, match="a speed must lie between its bounds"):
        Speed(2.0, 1.0, 3.0)
    with pytest.raises(InputError, match="the uncertainty of speed must be"):
        measured(1.0, 0.9)


# Orders -----------------------------------------------------------------------------------------------


def test_orders_are_multiples_of_one_turn() -> None:
    """A maker's manual of 2003: 1.07 Hz for each 5 mph, so 12.84 Hz at 60 mph, and 26 and 39 (rounded)."""
    found = by_name(expected_orders(measured(12 * 1.07 * 3.05 * TYRE.diameter, 0.0), TYRE, worn=EXACT))
    assert found["wheel", 1].frequency == pytest.approx(12.84, abs=1e-9)
    assert found["wheel", 2].frequency == pytest.approx(25.68, abs=1e-9)
    assert found["wheel", 3].frequency == pytest.approx(38.52, abs=1e-9)


@pytest.mark.parametrize(
    ("kmh", "wheel", "shaft"), [(40, 5.7, 19.9), (80, 11.4, 39.9), (100, 14.2, 49.9), (130, 18.5, 64.8)]
)
def test_table_of_wheel_and_shaft(kmh: float, wheel: float, shaft: float) -> None:
    """Own arithmetic for a rolling circumference of 1.95 m and a final drive of 3.50."""
    speed = measured(kmh * KMH * 3.05 * TYRE.diameter / 1.95, 0.0)
    found = by_name(expected_orders(speed, TYRE, final_drive=3.5, worn=EXACT))
    assert found["wheel", 1].frequency == pytest.approx(wheel, abs=0.06)
    assert found["propeller shaft", 1].frequency == pytest.approx(shaft, abs=0.06)
    assert found["propeller shaft", 2].frequency == 2 * found["propeller shaft", 1].frequency


@pytest.mark.parametrize(
    ("cylinders", "order"), [(1, 0.5), (3, 1.5), (4, 2.0), (5, 2.5), (6, 3.0), (8, 4.0), (16, 8.0)]
)
def test_firing_orders(cylinders: int, order: float) -> None:
    """Textbook: a four-stroke cylinder fires in every second turn."""
    assert firing_order(cylinders) == order
    found = by_name(expected_orders(measured(20.0), TYRE, rpm=3000.0, cylinders=cylinders))
    assert found["engine", order].frequency == pytest.approx(50.0 * order)
    assert "firing" in found["engine", order].name
    assert found["engine", 0.5].frequency == 25.0


def test_engine_speed_through_the_gears() -> None:
    """Own arithmetic: 100 km/h, 3.5 and a direct gear turn the engine as fast as the shaft."""
    found = by_name(expected_orders(measured(100 * KMH), TYRE, final_drive=3.5, gear_ratio=1.0))
    assert found["engine", 1].frequency == found["propeller shaft", 1].frequency
    half = by_name(expected_orders(measured(100 * KMH), TYRE, final_drive=3.5, gear_ratio=0.5))
    assert half["engine", 1].frequency == pytest.approx(found["engine", 1].frequency / 2)
    shaft = half["propeller shaft", 1]
    assert (half["engine", 1].low, half["engine", 1].high) == pytest.approx((shaft.low / 2, shaft.high / 2))


def test_engine_speed_from_a_dial_is_within_three_percent() -> None:
    """Common practice."""
    engine = by_name(expected_orders(measured(20.0), TYRE, rpm=3000.0))["engine", 1]
    assert (engine.low, engine.frequency, engine.high) == pytest.approx((48.5, 50.0, 51.5))


def test_what_a_car_has_not_is_not_named() -> None:
    parts = {each.part for each in expected_orders(measured(20.0), TYRE)}
    assert parts == {"wheel"}
    front = expected_orders(measured(20.0), TYRE, final_drive=4.0, gear_ratio=1.0, propeller_shaft=False)
    assert {each.part for each in front} == {"wheel", "engine"}


def test_a_brake_pulses_once_or_twice_a_turn() -> None:
    found = by_name(expected_orders(measured(20.0), TYRE, braking=True))
    assert {key for key in found if key[0] == "brake"} == {("brake", 1.0), ("brake", 2.0)}
    for number in (1.0, 2.0):
        assert found["brake", number].frequency == found["wheel", number].frequency


def test_a_band_holds_free_rolling_and_a_worn_tyre() -> None:
    """Rolling and free circumference differ by 3 % (3.05 and pi): the band must be wider than that."""
    wheel = by_name(expected_orders(measured(100 * KMH, 0.0), TYRE))["wheel", 1]
    assert wheel.low == pytest.approx(100 * KMH / TYRE.circumference)
    # Own choice: 6.4 mm of tread gone, 1 % below the factor of 3.05.
    assert wheel.high == pytest.approx(100 * KMH / (3.05 * 0.99 * (TYRE.diameter - 2 * 0.0064)))
    assert wheel.high / wheel.low > 1.03
    assert wheel.low < wheel.frequency < wheel.high


# Which one is it --------------------------------------------------------------------------------------


def at(kmh: float, circumference: float = 1.95) -> Speed:
    """A speed at which TYRE turns as one of this circumference would."""
    return measured(kmh * KMH * 3.05 * TYRE.diameter / circumference)


def test_worked_peaks() -> None:
    """Own arithmetic (1.95 m, 3.50): at 110 km/h 15.5 Hz is the wheel, 54 the shaft, 31 may be two things."""
    assert named(candidates(15.5, at(110), TYRE, 3.5))[0] == ("wheel", 1)
    assert named(candidates(12.7, at(90), TYRE, 3.5)) == [("wheel", 1)]
    assert named(candidates(54.0, at(110), TYRE, 3.5)) == [("propeller shaft", 1)]
    both = named(candidates(31.3, at(110), TYRE, 3.5, 1880.0))
    assert set(both) == {("wheel", 2), ("engine", 1)}
    # In another gear at the same speed the engine drops out.
    assert named(candidates(31.3, at(110), TYRE, 3.5, 2600.0)) == [("wheel", 2)]


def test_all_orders_come_back_with_those_that_fit_first() -> None:
    found = candidates(31.3, at(110), TYRE, 3.5, 1880.0, cylinders=4, braking=True)
    assert len(found) == 3 + 2 + 2 + 4
    fits = [each.within for each in found]
    assert fits == sorted(fits, reverse=True)
    shares = [abs(math.log1p(each.share)) for each in found if not each.within]
    assert shares == sorted(shares)
    for each in found:
        assert each.deviation == pytest.approx(31.3 - each.order.frequency)
        assert each.share == pytest.approx(31.3 / each.order.frequency - 1)


def test_a_speedometer_leaves_more_open_than_a_measured_speed() -> None:
    loose = set(named(candidates(27.5, by_speedometer(110 * KMH), TYRE)))
    tight = set(named(candidates(27.5, measured(110 * KMH), TYRE)))
    assert ("wheel", 2) in loose
    assert tight == set()


@given(
    st.floats(8.0, 60.0), st.sampled_from([1.0, 2.0, 3.0]), st.floats(3.03, math.pi), st.floats(0.0, 0.0064),
    st.floats(0.0, 1.0),
)  # fmt: skip
def test_a_true_order_is_always_among_those_that_fit(
    shown: float, number: float, factor: float, worn: float, where: float
) -> None:
    """Whatever the true speed, rolling and wear are within their bounds."""
    speed = by_speedometer(shown)
    true = speed.low + where * (speed.high - speed.low)
    frequency = number * true / (factor * (TYRE.diameter - 2 * worn))
    if frequency > 0.1:
        assert ("wheel", number) in named(candidates(frequency, speed, TYRE, resolution=1e-9))


@given(st.floats(1.0, 200.0), st.floats(5.0, 60.0), st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_a_coarser_reading_never_rules_more_out(freq: float, speed: float, one: float, more: float) -> None:
    fine = set(named(candidates(freq, measured(speed), TYRE, 3.5, 2500.0, resolution=one)))
    coarse = set(named(candidates(freq, measured(speed), TYRE, 3.5, 2500.0, resolution=one + more)))
    assert fine <= coarse


def test_the_ends_of_a_band_fit_and_just_beyond_does_not() -> None:
    wheel = by_name(expected_orders(measured(30.0), TYRE))["wheel", 1]
    for frequency, fits in [
        (wheel.low - 0.4999, True),
        (wheel.low - 0.5001, False),
        (wheel.high + 0.4999, True),
        (wheel.high + 0.5001, False),
    ]:
        found = candidates(frequency, measured(30.0), TYRE, resolution=0.5)
        assert (("wheel", 1) in named(found)) == fits


def test_what_cannot_be_is_refused() -> None:
    speed = measured(20.0)
    for make, message in [
        (lambda: candidates(math.nan, speed, TYRE), "the measured frequency must be"),
        (lambda: candidates(10.0, measured(0.0), TYRE), "a standing car has no wheel orders"),
        (lambda: candidates(10.0, speed, TYRE, 35.0), "the final drive ratio must be"),
        (
            lambda: candidates(10.0, speed, TYRE, None, 30.0),
            "engine speed must be a number from 300 to 12000 rpm",
        ),
        (lambda: candidates(10.0, speed, TYRE, gear_ratio=1.0), "a gear ratio needs the final drive ratio"),
        (lambda: candidates(10.0, speed, TYRE, cylinders=4), "cylinders tell nothing without engine speed"),
        (
            lambda: candidates(10.0, speed, TYRE, None, 2000.0, cylinders=40),
            "an engine has 1 to 16 cylinders, not 40",
        ),
        (lambda: candidates(10.0, speed, TYRE, resolution=-1.0), "the resolution must be"),
        (lambda: candidates(10.0, speed, TYRE, worn=(0.0, 1.0)), "worn tread must be"),
        (
            lambda: candidates(10.0, speed, TYRE, None, 2000.0, rpm_share=0.9),
            "the uncertainty of engine speed",
        ),
    ]:
        with pytest.raises(InputError, match=message):
            make()


def test_a_reading_may_be_off_by_half_a_hertz_if_nothing_is_said() -> None:
    """As two seconds recorded give at best: one over the seconds."""
    speed = measured(30.0, 0.0)
    order = by_name(expected_orders(speed, TYRE, worn=EXACT))["wheel", 1]
    for away, fits in ((0.49, True), (0.51, False)):
        found = named(candidates(order.high + away, speed, TYRE, worn=EXACT))
        assert (("wheel", 1) in found) is fits


# Folding and beating ----------------------------------------------------------------------------------


def test_a_slow_recorder_folds() -> None:
    """Own arithmetic: at 100 samples a second 110 Hz is seen at 10, in the middle of the wheel's band."""
    assert alias(110.0, 100.0) == pytest.approx(10.0)
    assert alias(49.0, 100.0) == 49.0
    assert alias(51.0, 100.0) == 49.0


@given(st.floats(0.0, 1000.0), st.floats(10.0, 1000.0))
def test_nothing_is_seen_above_half_the_rate(frequency: float, rate: float) -> None:
    assert alias(frequency, rate) <= rate / 2 + 1e-9
    if frequency < rate / 2:
        assert alias(frequency, rate) == frequency
    assert alias(frequency + rate, rate) == pytest.approx(alias(frequency, rate), abs=1e-9)


def test_beats() -> None:
    """Own arithmetic: wheels that differ by 0.3 % at 14 Hz swell every 24 s."""
    assert beat_period(14.0, 14.0 * 1.003) == pytest.approx(23.8, abs=0.05)
    assert beat_period(14.0, 14.0 * 1.003) == beat_period(14.0 * 1.003, 14.0)
    assert beat_period(14.0, 14.0) == math.inf
