"""What follows from a sheet, against published examples and own arithmetic."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings

from diagnose.angles.derive import derived
from diagnose.angles.mirror import mirrored
from diagnose.angles.sheet import Sheet
from diagnose.geometry.demo import DEMO_STRUT
from diagnose.geometry.linkage import camber_per_travel
from tests.examples import often
from tests.sheets import deg, sheet_of, sheets


@pytest.mark.parametrize(
    ("left", "right", "thrust"),
    # Two published examples by size, their direction and the third by the formula of two makers' manuals
    # (2004, 2007), left less right.
    [("15'", "5'", deg(0, 5)), ("15'", "-5'", deg(0, 10)), ("0.10", "0.30", deg(-0.10))],
)
def test_thrust_is_half_of_left_less_right(left: str, right: str, thrust: float) -> None:
    found = derived(sheet_of(f"rear: {{left: {{toe: {left}}}, right: {{toe: {right}}}}}"))
    assert found.thrust.value == pytest.approx(thrust, abs=1e-9)
    assert found.thrust.of == ("rear left toe", "rear right toe")


def test_included_angle_is_inclination_and_camber() -> None:
    # A published example: inclination 8 1/2, camber -3/4, included angle 7 3/4.
    found = derived(sheet_of("front: {left: {inclination: 8.5, camber: -0.75}}"))
    assert found.included_left.value == pytest.approx(deg(7.75), abs=1e-9)
    assert found.included_right.value is None
    assert found.included_right.missing == ("front right inclination", "front right camber")
    assert found.cross_included.missing == ("front right inclination", "front right camber")


def test_front_toe_against_the_thrust_line_needs_only_its_own_wheel() -> None:
    # Own arithmetic: thrust 0°10' to the right takes 10' from the left and gives them to the right.
    found = derived(sheet_of("front: {left: {toe: 5'}}\nrear: {left: {toe: 15'}, right: {toe: -5'}}"))
    assert found.toe_to_thrust_left.value == pytest.approx(deg(-0.0, 5), abs=1e-9)
    assert found.toe_to_thrust_right.missing == ("front right toe",)


def test_crab_needs_the_wheelbase() -> None:
    # Own arithmetic: 2600 mm sin 0.2 = 9.08 mm, to the right as thrust.
    rear = "rear: {left: {toe: 0.2}, right: {toe: -0.2}}"
    assert derived(sheet_of(rear)).crab.missing == ("wheelbase",)
    crab = derived(sheet_of(f"car: {{wheelbase: 2600 mm}}\n{rear}")).crab
    assert crab.value == pytest.approx(2.6 * math.sin(deg(0.2)), abs=1e-9)
    assert crab.length


def test_set_back_is_turned_by_the_track_either_way() -> None:
    # Own arithmetic: 5 mm over 1500 mm is 0.191 degrees.
    as_length = derived(sheet_of("car: {front-track: 1500 mm}\nfront: {set-back: 5 mm}"))
    assert math.degrees(as_length.set_back.value or 0.0) == pytest.approx(0.19099, abs=1e-5)
    as_angle = derived(sheet_of("car: {front-track: 1500 mm}\nfront: {set-back: 0.19099}"))
    assert as_angle.set_back_length.value == pytest.approx(0.005, abs=1e-6)
    assert derived(sheet_of("front: {set-back: 5 mm}")).set_back.missing == ("front track",)


def test_height_makes_camber_on_a_known_layout_only() -> None:
    heights = "front: {left: {height: 620 mm}, right: {height: 640 mm}}"
    strut = derived(sheet_of(f"car: {{front: strut}}\n{heights}")).camber_of_height_front
    # Own geometry: 20 mm by the slope of the linkage, which tests/unit/geometry holds to its instant centre.
    assert strut.value == pytest.approx(0.020 * camber_per_travel(DEMO_STRUT), rel=0.01)
    assert strut.value is not None
    assert strut.value < 0.0
    assert strut.of == ("front left ride height", "front right ride height", "demo strut")
    leaf = derived(sheet_of(f"car: {{front: leaf}}\n{heights}")).camber_of_height_front
    assert leaf.value is None
    assert "strut or double-wishbone" in leaf.missing[0]


def test_given_totals_stand_in_where_wheels_are_missing() -> None:
    found = derived(sheet_of("front: {total-toe: 10'}\nrear: {thrust: 4', left: {toe: 9'}}"))
    assert found.total_toe_front.value == deg(0, 10)
    assert found.total_toe_front.of == ("front total toe as given",)
    assert found.thrust.of == ("thrust angle as given",)


def test_what_cannot_be_is_named_and_never_raised() -> None:
    found = derived(sheet_of("front: {left: {camber: 60}, right: {camber: 1}}"))
    assert found.cross_camber_front.value is None
    assert "45" in found.cross_camber_front.missing[0]
    heights = "front: {left: {height: 2500 mm}, right: {height: 100 mm}}"
    assert derived(sheet_of(f"car: {{front: strut}}\n{heights}")).camber_of_height_front.value is None


def test_an_empty_sheet_has_nothing_and_says_what_is_missing() -> None:
    for name, figure in derived(Sheet()).items():
        assert figure.value is None, name
        assert figure.missing, name


#: Names that a mirror swaps, and those whose sign it turns; the rest stay.
SWAPPED = {"toe_to_thrust_left": "toe_to_thrust_right", "included_left": "included_right"}
SWAPPED |= {other: one for one, other in SWAPPED.items()}
KEPT = ("total_toe_front", "total_toe_rear", *SWAPPED)


@pytest.mark.slow
@often(15, 60, sheets())
def test_a_mirror_mirrors_every_derived_value(sheet: Sheet) -> None:
    found, image = derived(sheet), derived(mirrored(sheet))
    for name, figure in found.items():
        there = getattr(image, SWAPPED.get(name, name))
        if figure.value is None:
            assert there.value is None, name
        else:
            sign = 1.0 if name in KEPT else -1.0
            assert there.value == pytest.approx(sign * figure.value, abs=1e-12), name


@pytest.mark.slow
@settings(max_examples=20, deadline=None)
@given(sheets())
def test_two_mirrors_show_the_sheet_itself(sheet: Sheet) -> None:
    assert mirrored(mirrored(sheet)) == sheet
