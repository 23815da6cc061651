"""Steering ratio, free play, turning angles and caster by swing, against published examples."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.steering import (
    ackermann_inner,
    ackermann_outer,
    ackermann_share,
    caster_of_swing,
    play_angle,
    play_travel,
    rim_angle,
    road_wheel_angle,
    scaled_play,
    steering_ratio,
    toe_out_on_turns,
    trail,
)

INCH = 0.0254


def deg(value: float) -> float:
    return math.radians(value)


@pytest.mark.parametrize(("diameter", "lash"), [(16, 2), (18, 2.25), (20, 2.5), (22, 2.75)])
def test_every_row_of_the_federal_lash_table_is_one_angle(diameter: float, lash: float) -> None:
    """49 CFR 570.7(a), Table 1 (inches); the angle is arithmetic. Not the 10 deg that one page says."""
    assert math.degrees(play_angle(lash * INCH, diameter * INCH)) == pytest.approx(14.3239, abs=1e-4)


@pytest.mark.parametrize(("travel", "angle"), [(75, 22.617), (13, 3.920), (48, 14.475)])
def test_british_figures_as_angles(travel: float, angle: float) -> None:
    """MOT inspection manual (2012 edition) 2.2, on a wheel of 380 mm; the angles are arithmetic."""
    assert math.degrees(play_angle(travel / 1000, 0.380)) == pytest.approx(angle, abs=2e-3)


@pytest.mark.parametrize(("diameter", "scaled"), [(350, (11.97, 44.21, 69.08)), (400, (13.68, 50.53, 78.95))])
def test_british_figures_on_other_wheels(diameter: float, scaled: tuple[float, float, float]) -> None:
    """The manual says that they scale; own arithmetic."""
    for limit, expected in zip((13, 48, 75), scaled, strict=True):
        found = scaled_play(limit / 1000, 0.380, diameter / 1000) * 1000
        assert found == pytest.approx(expected, abs=0.006)


def test_arcs_in_manuals() -> None:
    """A maker-type manual: 5 deg at 400 mm (it says 18 to 20 mm; it is 17.45); own arithmetic on the rest."""
    assert play_travel(deg(5), 0.400) * 1000 == pytest.approx(17.45, abs=5e-3)
    assert play_travel(deg(10), 20 * INCH) / INCH == pytest.approx(1.745, abs=5e-4)
    assert play_travel(deg(10), 0.380) * 1000 == pytest.approx(33.2, abs=0.05)
    assert play_travel(deg(15), 0.380) * 1000 == pytest.approx(49.7, abs=0.05)
    assert math.degrees(play_angle(0.030, 0.370)) == pytest.approx(9.29, abs=5e-3)


@given(st.floats(0.0, 0.3), st.floats(0.3, 0.5))
def test_play_round_trips(travel: float, diameter: float) -> None:
    assert play_travel(play_angle(travel, diameter), diameter) == pytest.approx(travel, abs=1e-14)


def test_published_ratios() -> None:
    """Sources: an engineering page (540 deg, 35 and 30) and an encyclopaedia (360 to 24)."""
    assert steering_ratio(deg(540), deg(35), deg(30)) == pytest.approx(16.615, abs=1e-3)
    assert steering_ratio(deg(360), deg(24), deg(24)) == pytest.approx(15.0, abs=1e-9)
    assert steering_ratio(deg(360), deg(20), deg(20)) == pytest.approx(18.0, abs=1e-9)


def test_the_rack_limit_at_the_road_wheel() -> None:
    """Own arithmetic: 13 mm on 380 mm through 16:1."""
    assert math.degrees(road_wheel_angle(play_angle(0.013, 0.380), 16.0)) == pytest.approx(0.245, abs=5e-4)


@given(st.floats(-0.6, 0.6), st.floats(10.0, 25.0))
def test_rim_and_road_round_trip(road: float, ratio: float) -> None:
    assert road_wheel_angle(rim_angle(road, ratio), ratio) == pytest.approx(road, abs=1e-14)


def test_ackermann_example() -> None:
    """A web exercise's question (2.6 m, 1.5 m, inner 28 deg); the answer is arithmetic."""
    assert math.degrees(ackermann_outer(deg(28), 2.6, 1.5)) == pytest.approx(22.141, abs=1e-3)
    assert ackermann_share(deg(28), ackermann_outer(deg(28), 2.6, 1.5), 2.6, 1.5) == pytest.approx(1.0)


def test_built_cars_stand_far_below_ackermann() -> None:
    """Lock angles of two makers' manuals: 36 deg 40 min / 32 deg 50 min and 41 deg 20 min / 35 deg 10 min."""
    # With pivots 1 m apart and a wheelbase of 1 m the share is the difference of the cotangents itself.
    one = ackermann_share(deg(36 + 40 / 60), deg(32 + 50 / 60), 1.0, 1.0)
    other = ackermann_share(deg(41 + 20 / 60), deg(35 + 10 / 60), 1.0, 1.0)
    assert (one, other) == pytest.approx((0.206, 0.282), abs=1e-3)


@given(st.floats(0.02, 0.7), st.floats(2.0, 3.5), st.floats(1.2, 1.7))
def test_ackermann_round_trips(inner: float, wheelbase: float, track: float) -> None:
    outer = ackermann_outer(inner, wheelbase, track)
    assert ackermann_inner(outer, wheelbase, track) == pytest.approx(inner, abs=1e-12)
    assert outer < inner
    assert toe_out_on_turns(inner, outer) == inner - outer
    # Both wheels' axes meet the rear axle's line in one point.
    assert wheelbase / math.tan(outer) - wheelbase / math.tan(inner) == pytest.approx(track, abs=1e-9)


def test_caster_of_a_swing() -> None:
    """Geometry: 1.462 times the change for 20 deg each way."""
    change = deg(2.0)
    assert caster_of_swing(change / 2, -change / 2) / change == pytest.approx(1.462, abs=5e-4)
    assert caster_of_swing(-change / 2, change / 2) < 0.0


@given(st.floats(-0.12, 0.20), st.floats(0.0, 0.3), st.floats(-0.03, 0.03))
def test_a_swung_wheel_in_space_shows_its_caster(caster: float, inclination: float, camber: float) -> None:
    """Own, in three dimensions: turn a wheel about its leaning axis and read camber as a level would."""

    def read(turn: float) -> float:
        # x forward, y out, z up; the spin axis points out, so that camber is how far it points down.
        axis = (-math.tan(caster), -math.tan(inclination), 1.0)
        size = math.hypot(*axis)
        a, b, c = (each / size for each in axis)
        y, z = math.cos(camber), -math.sin(camber)
        along = b * y + c * z
        lifted = z * math.cos(turn) + a * y * math.sin(turn) + c * along * (1.0 - math.cos(turn))
        return -math.asin(lifted)

    # The wheel goes out when its leading edge does: counter-clockwise from above for y to the left.
    found = caster_of_swing(read(deg(20)), read(deg(-20)))
    assert found == pytest.approx(caster, rel=0.08, abs=1e-9)


def test_trails() -> None:
    """Own arithmetic: 300 mm of radius."""
    assert trail(0.3, deg(3)) * 1000 == pytest.approx(15.7, abs=0.05)
    assert trail(0.3, deg(6)) * 1000 == pytest.approx(31.5, abs=0.05)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="the road wheels must have turned"):
        steering_ratio(1.0, 0.0, 0.0)
    with pytest.raises(InputError, match="travel at the rim must be a number from 0 to 500 mm, not -1"):
        play_angle(-0.001, 0.38)
    with pytest.raises(InputError, match="the steering wheel's diameter must be"):
        play_angle(0.01, 38.0)
    with pytest.raises(InputError, match="the inner wheel's angle must be"):
        ackermann_inner(deg(60), 1.5, 1.7)
    with pytest.raises(InputError, match="the angle of play must be a number from 0 to 180 deg, not 200:"):
        play_travel(deg(200), 0.38)
    with pytest.raises(InputError, match="the outer wheel's angle must be"):
        toe_out_on_turns(deg(20), 0.0)
    with pytest.raises(InputError, match="the swing must be a number from 5 to 45 deg, not 1:"):
        caster_of_swing(0.0, 0.0, deg(1))
