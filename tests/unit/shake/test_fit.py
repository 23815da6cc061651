"""How well each source explains the readings: worked values, what stays open, what more readings do."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.speed import KMH
from diagnose.geometry.tyres import parse_tyre
from diagnose.shake.fit import Fit, fits_of, slope
from diagnose.shake.given import Build, Reading
from diagnose.shake.orders import sources_of
from diagnose.shake.spread import log_wheel_turns, own_spread

TYRE = parse_tyre("205/55 R16")
CAR = Build(TYRE)
FRONT = Build(TYRE, propshaft=False)


def read(frequency: float, speed: float, **more: object) -> Reading:
    return replace(Reading(frequency, speed * KMH, by="satellite"), **more)


def by_name(fits: tuple[Fit, ...]) -> dict[str, Fit]:
    return {each.source.name: each for each in fits}


def best(*readings: Reading, car: Build = CAR) -> str:
    return fits_of(readings, car)[0].source.name


# Worked values ----------------------------------------------------------------------------------------


def test_a_wheel_of_a_size_at_a_speed() -> None:
    """Own arithmetic: 631.9 mm; a turn rolls 1.8691 (worn, 3.0195 x 0.6191) to 1.9852 m (free).

    The middle, sqrt of the product, is 1.9263 m: 110 km/h make 30.556 / 1.9263 = 15.86 turns a second.
    """
    found = by_name(fits_of([read(15.9, 110)], CAR))
    assert found["once per wheel turn"].expected[0] == pytest.approx(15.86, abs=0.01)
    assert found["three times per wheel turn"].expected[0] == pytest.approx(47.59, abs=0.02)
    assert found["once per wheel turn"].fit == 1.0


def test_the_published_figure_lies_within() -> None:
    """A maker's table has 1 Hz at 5 mph for 235/75R15 (tests/unit/geometry/test_orders.py)."""
    (reading,) = [read(12.0, 60 * 1.609344)]
    found = by_name(fits_of([reading], Build(parse_tyre("235/75R15"))))["once per wheel turn"]
    assert found.fit == 1.0
    assert found.share == pytest.approx(0.0, abs=0.02)


def test_a_speedometer_shows_more_than_is_true() -> None:
    """UN R39, 5.4: shown 110 may be 96.4 to 110; the middle, 103.2, makes 28.66 / 1.9263 = 14.88."""
    found = fits_of([read(14.6, 110, by="speedometer")], CAR)[0]
    assert found.source.name == "once per wheel turn"
    assert found.expected[0] == pytest.approx(14.88, abs=0.01)


def test_propshaft_and_engine() -> None:
    """Own arithmetic: 15.86 x 3.9 = 61.9 Hz; 2800 rpm / 60 = 46.67, firing of four cylinders 93.3."""
    car = Build(TYRE, final_drive=3.9, cylinders=4)
    found = by_name(fits_of([read(61.9, 110, rpm=2800.0)], car))
    assert found["once per propshaft turn"].expected[0] == pytest.approx(61.87, abs=0.03)
    assert found["twice per propshaft turn"].expected[0] == pytest.approx(123.7, abs=0.1)
    assert found["once per engine turn"].expected[0] == pytest.approx(46.67, abs=0.01)
    assert found["firing, 4 cylinders"].expected[0] == pytest.approx(93.33, abs=0.01)
    assert best(read(61.9, 110, rpm=2800.0), car=car) == "once per propshaft turn"
    assert best(read(93.0, 110, rpm=2800.0), car=car) == "firing, 4 cylinders"


def test_engine_through_the_gears() -> None:
    """61.87 x 1.2 = 74.2 Hz once per engine turn, without its speed having been read."""
    car = Build(TYRE, final_drive=3.9, gear_ratio=1.2, cylinders=4)
    found = by_name(fits_of([read(74.3, 110)], car))
    assert found["once per engine turn"].expected[0] == pytest.approx(74.25, abs=0.05)
    assert found["once per engine turn"].fit == 1.0


def test_a_car_without_a_propshaft_has_no_order_of_one() -> None:
    assert {source.kind for source in sources_of(FRONT)} == {"wheel", "engine", "resonance", "stray"}


def test_a_circumference_that_was_measured_is_narrower() -> None:
    found = by_name(fits_of([read(15.2, 110)], Build(circumference=1.95)))["once per wheel turn"]
    assert found.expected[0] == pytest.approx(30.556 / 1.95, abs=0.01)
    assert (
        found.fit
        < by_name(fits_of([read(15.7, 110)], Build(circumference=1.95)))["once per wheel turn"].fit + 1e-9
    )


# What stays open --------------------------------------------------------------------------------------


@pytest.mark.parametrize("speeds", [(110.0,), (90.0, 110.0, 130.0)])
def test_wheel_twice_and_propshaft_once_at_ratio_two_stay_alike(speeds: tuple[float, ...]) -> None:
    """Whatever the number of speeds."""
    car = Build(TYRE, final_drive=2.0)
    found = by_name(fits_of([read(speed * 0.2884, speed) for speed in speeds], car))
    wheel, shaft = found["twice per wheel turn"], found["once per propshaft turn"]
    assert wheel.fit > 0.9
    assert wheel.fit == pytest.approx(shaft.fit, rel=0.02)


def test_one_reading_tells_no_resonance_from_an_engine_of_unknown_speed() -> None:
    found = by_name(fits_of([read(24.0, 110)], FRONT))
    assert found["same at every speed"].fit == pytest.approx(found["the engine, revs not read"].fit, rel=0.1)


def test_nothing_is_told_of_a_tyre_that_is_not_known() -> None:
    found = by_name(fits_of([read(15.0, 110)], Build()))["once per wheel turn"]
    assert found.expected == (None,)
    assert found.fit == 1.0
    assert (
        fits_of([read(15.0, 110)], Build())[1].fit
        > by_name(fits_of([read(15.9, 110)], CAR))["same at every speed"].fit
    )


# More readings ----------------------------------------------------------------------------------------


def test_what_keeps_its_frequency_is_a_resonance() -> None:
    readings = [read(15.9, 110), read(15.8, 90), read(16.0, 130)]
    assert best(*readings) == "same at every speed"
    assert fits_of(readings, CAR)[1].fit < 0.01
    assert slope(readings) == pytest.approx(0.0, abs=0.1)


def test_what_scales_is_an_order() -> None:
    readings = [read(15.9, 110), read(13.0, 90), read(18.8, 130)]
    assert best(*readings) == "once per wheel turn"
    assert by_name(fits_of(readings, CAR))["same at every speed"].fit < 1e-3
    assert slope(readings) == pytest.approx(1.0, abs=0.05)


def test_an_engine_held_at_one_speed_is_no_road_order() -> None:
    """Another gear: the road speed changes, the engine turns on at 2400."""
    readings = [read(40.2, 110, rpm=2400.0), read(40.0, 80, rpm=2400.0)]
    found = by_name(fits_of(readings, CAR))
    assert found["once per engine turn"].fit == 1.0
    assert found["once per propshaft turn"].fit < 0.05


def test_an_error_that_all_readings_share_is_not_averaged_away() -> None:
    """Ten readings that are all 12 % low are no surer of another order than that the speed was mistyped."""
    readings = [read(0.88 * 0.1442 * speed, speed) for speed in range(80, 130, 5)]
    assert by_name(fits_of(readings, FRONT))["once per wheel turn"].fit > 0.3


def test_one_stray_reading_among_three_does_not_decide() -> None:
    assert best(read(15.9, 110), read(13.0, 90), read(41.0, 130)) == "once per wheel turn"


def test_a_slope_needs_two_speeds() -> None:
    assert slope([read(14, 110), read(14.1, 112)]) is None
    assert slope([]) is None


# Whatever is read -------------------------------------------------------------------------------------

speeds = st.floats(30.0, 200.0)
frequencies = st.floats(3.0, 100.0)


@given(speeds, frequencies, st.floats(0.5, 1.7))
@settings(deadline=None, max_examples=40)
def test_scale(speed: float, frequency: float, by: float) -> None:
    """Twice the speed, frequency and revs in half the time: the same turns, so the same fits."""
    one = Reading(frequency, speed * KMH, 2000.0, "satellite", 20.0)
    other = Reading(frequency * by, speed * by * KMH, 2000.0 * by, "satellite", 20.0 / by)
    before, after = by_name(fits_of([one], CAR)), by_name(fits_of([other], CAR))
    for name, fit in before.items():
        assert after[name].fit == pytest.approx(fit.fit, rel=1e-6)


@pytest.mark.slow
@given(st.lists(st.tuples(speeds, frequencies), min_size=1, max_size=5), st.booleans(), st.booleans())
@settings(deadline=None, max_examples=20)
def test_fits_are_shares_of_the_best(pairs: list[tuple[float, float]], felt: bool, tyre: bool) -> None:
    readings = [Reading(f, s * KMH, felt=felt) for s, f in pairs]
    fits = fits_of(readings, CAR if tyre else Build())
    assert fits[0].fit == 1.0
    assert all(0.0 <= each.fit <= 1.0 and math.isfinite(each.density) for each in fits)
    turned = fits_of(readings[::-1], CAR if tyre else Build())
    assert by_name(turned).keys() == by_name(fits).keys()
    for name, fit in by_name(fits).items():
        assert by_name(turned)[name].density == pytest.approx(fit.density, rel=1e-9)


def expected_share(name: str, seconds: float, speed: float) -> float:
    """Mean over what that source would show of the share that it gets of all sources, equal beforehand.

    By the trapezoidal rule over the logarithm of the frequency.
    """
    of_it, share = [], []
    for fits in fits_everywhere(seconds, speed):
        density = by_name(fits)[name].density
        of_it.append(density)
        share.append(density / sum(each.density for each in fits))
    weights = np.array(of_it)
    return float(np.sum(weights * np.array(share)) / np.sum(weights))


@cache
def fits_everywhere(seconds: float, speed: float) -> list[tuple[Fit, ...]]:
    """The fits of one reading at each frequency of the grid: the same for every source asked about."""
    grid = np.arange(math.log(2.0), math.log(200.0), 0.008)
    return [fits_of([read(math.exp(log_f), speed, seconds=seconds)], FRONT) for log_f in grid]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["once per wheel turn", "twice per wheel turn"])
@pytest.mark.parametrize("speed", [50.0, 120.0])
def test_a_longer_recording_never_lowers_the_share_of_what_it_is_on_average(name: str, speed: float) -> None:
    coarse, middle, fine = (expected_share(name, seconds, speed) for seconds in (1.0, 3.0, 20.0))
    assert coarse <= middle + 1e-3
    assert middle <= fine + 1e-3
    assert coarse < fine


def test_beats_counted_by_hand_are_wider_than_a_recording() -> None:
    recorded, counted = read(5.0, 40), read(5.0, 40, felt=True)
    assert own_spread(counted) > 5 * own_spread(recorded)
    guessed = read(9.0, 70, felt=True)
    assert own_spread(guessed) > 2 * own_spread(counted)


def test_the_weights_of_the_shared_errors_sum_to_one() -> None:
    for car in (CAR, Build(), Build(circumference=1.9)):
        for by in ("satellite", "speedometer"):
            rows, weights = log_wheel_turns([read(15, 110, by=by), read(12, 90, by=by)], car)
            assert rows.shape == (2, len(weights))
            assert weights.sum() == pytest.approx(1.0)


# Refused ----------------------------------------------------------------------------------------------


def test_a_recorder_shows_nothing_true_above_half_its_rate() -> None:
    with pytest.raises(InputError) as told:
        read(60.0, 110, rate=100.0)
    assert str(told.value) == (
        "a recorder of 100 samples a second shows nothing true above 50 Hz, so 60 Hz is no reading of it: "
        "look at its rate and at the figure"
    )
    assert read(50.0, 110, rate=100.0).frequency == 50.0


@pytest.mark.parametrize(
    "wrong",
    [
        {"frequency": math.nan},
        {"frequency": 0.0},
        {"speed": 0.0},
        {"speed": math.inf},
        {"rpm": 20.0},
        {"seconds": 0.0},
        {"rate": 1.0},
    ],
)
def test_what_cannot_be_read(wrong: dict[str, float]) -> None:
    with pytest.raises(InputError, match="must be a number from"):
        replace(Reading(14.6, 30.0), **wrong)


def test_what_no_car_has() -> None:
    with pytest.raises(InputError, match="the final drive ratio must be a number from 1 to 8"):
        Build(final_drive=9.0)
    with pytest.raises(InputError, match="needs the final drive"):
        Build(gear_ratio=1.0)
    with pytest.raises(InputError, match="1 to 16 cylinders"):
        Build(cylinders=0)


def test_how_many_readings() -> None:
    with pytest.raises(InputError, match="nothing was read"):
        fits_of([], CAR)
    with pytest.raises(InputError, match="13 readings are too many: give the 12 clearest"):
        fits_of([read(14, 100)] * 13, CAR)
