"""What readings say of the shipped finding, and how that moves the ranking of causes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose import Belief, Car, Heard, Seen, Story, Vehicle
from diagnose.geometry.speed import KMH
from diagnose.geometry.tyres import parse_tyre
from diagnose.shake.fit import fits_of
from diagnose.shake.given import Build, Reading
from diagnose.shake.grades import FINDING, GRADES, LEAST, fits_finding, likeliest, named_shares, shares_of
from tests.shipped import LIBRARY

ORDER = LIBRARY.findings[FINDING]
TYRE = parse_tyre("205/55 R16")
REAR = Build(TYRE, final_drive=3.9, propshaft=True, cylinders=4)


def read(frequency: float, speed: float, rpm: float | None = None) -> Reading:
    return Reading(frequency, speed * KMH, rpm, "satellite")


#: A reading, and the grade that it is of.
WHEEL = (read(15.9, 110, 2800.0),)
SHAFT = (read(61.9, 110, 2800.0),)
TWICE_SHAFT = (read(123.7, 110, 2800.0),)
ENGINE = (read(93.3, 110, 2800.0),)
RESONANCE = (read(23.0, 110), read(23.1, 90), read(22.9, 125))


def shares(readings: tuple[Reading, ...], car: Build = REAR) -> tuple[float, ...]:
    return shares_of(ORDER, fits_of(readings, car))


def test_the_shipped_finding_has_the_grades_that_are_known() -> None:
    assert fits_finding(ORDER)
    assert ORDER.levels == tuple(GRADES)
    assert not fits_finding(replace(ORDER, levels=("yes",)))


@pytest.mark.parametrize(
    ("readings", "grade"),
    [
        (WHEEL, "once per wheel turn"),
        ((read(31.8, 110),), "two or three per wheel turn"),
        ((read(47.7, 110),), "two or three per wheel turn"),
        (SHAFT, "once per propshaft turn"),
        (TWICE_SHAFT, "twice per propshaft turn"),
        (ENGINE, "with the engine"),
        (RESONANCE, "same at every speed"),
    ],
)
def test_the_likeliest_grade(readings: tuple[Reading, ...], grade: str) -> None:
    found = shares(readings)
    assert likeliest(ORDER, found) == grade
    assert found[1 + ORDER.levels.index(grade)] == 1.0
    assert named_shares(fits_of(readings, REAR))[grade] == 1.0


def test_no_clear_peak() -> None:
    """Two frequencies that are of nothing: neither the one nor the other goes with speed or stays."""
    readings = (read(7.0, 110, 2800.0), read(70.0, 109, 900.0), read(20.0, 100, 5000.0))
    found = shares(readings, Build(TYRE, final_drive=3.9, cylinders=4))
    assert likeliest(ORDER, found) == "no clear peak"


def test_an_order_that_the_car_cannot_have_gets_none() -> None:
    front = shares(SHAFT, Build(TYRE, propshaft=False))
    assert (front[3], front[4]) == (0.0, 0.0)
    assert front[0] > 0.0
    unknown = shares(SHAFT, Build(TYRE))
    assert unknown[3] > 10 * LEAST


@given(
    st.lists(st.tuples(st.floats(1.0, 150.0), st.floats(20.0, 200.0)), min_size=1, max_size=4),
    st.sampled_from([None, True, False]),
    st.booleans(),
)
@settings(deadline=None, max_examples=40)
def test_shares(pairs: list[tuple[float, float]], propshaft: bool | None, felt: bool) -> None:
    readings = tuple(replace(read(f, s), felt=felt) for f, s in pairs)
    found = shares(readings, Build(TYRE, propshaft=propshaft))
    assert len(found) == len(ORDER.levels) + 1
    assert max(found) == 1.0
    assert all(LEAST <= each <= 1.0 or (each == 0.0 and propshaft is False) for each in found)


# The ranking ------------------------------------------------------------------------------------------


def blame(complaint: str, readings: tuple[Reading, ...] | None) -> dict[str, float]:
    """Fault -> how likely it is to blame, at all its places together, in a car with a propshaft."""
    vehicle = Vehicle(facts={"drive": "rear"})
    car = Car(LIBRARY, vehicle, {complaint: None})
    seen = ()
    if readings is not None:
        told = shares(readings)
        seen = (Seen(FINDING, None, likeliest(ORDER, told), shares=told),)
    belief = Belief(car, Story(vehicle, (Heard(complaint),), seen))
    found: dict[str, float] = {}
    for number, cause in enumerate(belief.causes):
        found[cause.fault] = found.get(cause.fault, 0.0) + float(belief.to_blame[number])
    return found


ROUND = ("wheel-out-of-balance", "wheel-bent", "wheel-not-seated")
SHAFTS = ("propshaft-unbalanced", "propshaft-angle-wrong", "propshaft-joint-worn")


def moved(complaint: str, readings: tuple[Reading, ...], faults: tuple[str, ...]) -> list[float]:
    """How much likelier to blame the reading makes each of these faults, among those of the complaint."""
    before, after = blame(complaint, None), blame(complaint, readings)
    found = [after[fault] / before[fault] for fault in faults if before.get(fault, 0.0) > 1e-4]
    assert found
    return found


@pytest.mark.parametrize("complaint", ["seat-vibration", "steering-wheel-vibration"])
def test_a_first_wheel_order_raises_wheels_and_lowers_shafts(complaint: str) -> None:
    assert all(ratio > 1.0 for ratio in moved(complaint, WHEEL, ROUND))
    if complaint == "seat-vibration":
        assert all(ratio < 0.3 for ratio in moved(complaint, WHEEL, SHAFTS))


def test_a_propshaft_order_does_the_reverse() -> None:
    assert all(ratio < 0.7 for ratio in moved("seat-vibration", SHAFT, ROUND))
    assert moved("seat-vibration", SHAFT, ("propshaft-unbalanced",))[0] > 2.0
    assert moved("seat-vibration", TWICE_SHAFT, ("propshaft-angle-wrong",))[0] > 2.0


def test_an_engine_order_raises_engine_and_mounts() -> None:
    found = moved("vibration-under-load", ENGINE, ("engine-mount-worn", "engine-runs-rough"))
    assert all(ratio > 1.2 for ratio in found)
    assert all(ratio < 0.6 for ratio in moved("vibration-under-load", ENGINE, SHAFTS))


def test_a_resonance_lowers_what_turns() -> None:
    assert all(ratio < 1.0 for ratio in moved("seat-vibration", RESONANCE, ROUND))
    assert all(ratio < 1.0 for ratio in moved("seat-vibration", RESONANCE, SHAFTS))
    assert moved("seat-vibration", RESONANCE, ("exhaust-touching",))[0] > 2.0


def test_figures_without_doubt_weigh_as_the_word_does() -> None:
    """A clear wheel order, and the grade picked by hand: nearly the same ranking."""
    vehicle = Vehicle(facts={"drive": "rear"})
    car = Car(LIBRARY, vehicle, {"seat-vibration": None})
    heard = (Heard("seat-vibration"),)
    told = shares((read(15.9, 110, 2800.0), read(13.0, 90, 2290.0)))
    by_word = Belief(car, Story(vehicle, heard, (Seen(FINDING, None, "once per wheel turn"),)))
    by_figures = Belief(
        car, Story(vehicle, heard, (Seen(FINDING, None, "once per wheel turn", shares=told),))
    )
    assert by_figures.to_blame == pytest.approx(by_word.to_blame, abs=0.02)


def test_what_cannot_be_told_apart_moves_less_than_what_can() -> None:
    """Ratio 2: twice per wheel turn is once per propshaft turn."""
    two = Build(TYRE, final_drive=2.0, propshaft=True)
    found = shares((read(31.8, 110),), two)
    assert found[3] == 1.0
    assert 0.4 < found[2] < 0.6


def test_beats_counted_by_hand_move_less_than_a_recording() -> None:
    one = replace(read(6.0, 42), rpm=None)
    recorded, counted = shares((one,)), shares((replace(one, felt=True),))
    assert recorded[1] == counted[1] == 1.0
    assert counted[6] > recorded[6]
