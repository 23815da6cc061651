"""Two drives beside each other: what became of each complaint, and whether it is more than scatter."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.debrief.compare import Change, compare
from diagnose.debrief.drive import Drive, leg_of
from diagnose.debrief.scatter import Scatter, as_often, scatter_of, verdict
from tests.drives import AFTER, DEMO, LIBRARY, drive_in, drive_of, drives, felt

SWAPPED = {"new": "gone", "gone": "new", "better": "worse", "worse": "better"}


def changes(before: Drive, after: Drive) -> dict[str, str]:
    return {one.complaint: one.change for one in compare(LIBRARY, before, after)}


def only(before: Drive, after: Drive) -> Change:
    (found,) = compare(LIBRARY, before, after)
    return found


# What became of it -----------------------------------------------------------------------------------


def test_the_demo() -> None:
    found = compare(LIBRARY, drive_in(DEMO), drive_in(AFTER))
    assert [(one.complaint, one.side, one.change) for one in found] == [
        ("pulls-when-braking", "left", "new"),
        ("front-clunk-over-bumps", None, "not-driven"),
        ("wander", None, "better"),
    ]
    new, away, better = found
    assert (new.legs, new.difference, new.verdict) == (("braking",), -3.0, "clear")
    assert (away.missing_before, away.missing_after) == ((), ("rough",))
    assert away.before is not None and away.before.rating == 3.0
    assert (away.after, away.difference, away.share, away.verdict) == (None, None, None, "")
    assert (better.difference, better.verdict) == (4.0, "clear")


def test_new_gone_better_worse_unchanged() -> None:
    straight = leg_of("straight")
    was, less, nothing = (
        drive_of(felt("straight", "wander", 4.0)),
        drive_of(felt("straight", "wander", 7.0)),
        drive_of(straight),
    )
    assert changes(nothing, was) == {"wander": "new"}
    assert changes(was, nothing) == {"wander": "gone"}
    assert changes(was, less) == {"wander": "better"}
    assert changes(less, was) == {"wander": "worse"}
    assert changes(was, was) == {"wander": "unchanged"}
    assert changes(nothing, nothing) == {}


def test_a_leg_that_was_not_driven_cures_nothing() -> None:
    was = drive_of(felt("rough", "front-clunk-over-bumps", 3.0))
    now = drive_of(leg_of("straight"), leg_of("parking"))
    assert only(was, now).change == "not-driven"
    assert only(was, now).missing_after == ("rough",)
    # And what comes up on a leg that was not driven before may be as old as the car.
    assert only(now, was).change == "not-driven"
    assert only(now, was).missing_before == ("rough",)


def test_gone_on_one_leg_and_the_other_not_driven_is_better_not_gone() -> None:
    was = drive_of(felt("straight", "wander", 5.0), felt("crosswind", "wander", 4.0))
    found = only(was, drive_of(leg_of("straight")))
    assert (found.change, found.legs, found.missing_after) == ("better", ("straight",), ("crosswind",))
    assert found.before is not None and found.before.rating == 5.0  # as it was on the leg compared


def ends(top: float, complaint: str, silent: float) -> str:
    """What becomes of a complaint felt on a straight up to `top` km/h, and not on one up to `silent`."""
    usual = leg_of("straight")
    was = drive_of(replace(felt("straight", complaint, 4.0), high=top))
    return only(was, drive_of(replace(usual, high=silent))).change


def test_a_leg_driven_slower_shows_nothing() -> None:
    # 10 km/h less is near enough.
    assert ends(120, "pull-to-one-side", 110) == "gone"
    assert ends(120, "pull-to-one-side", 109) == "not-driven"
    # But not below what the complaint needs, unless it was felt there: a shake of 100 km/h and more.
    assert ends(105, "seat-vibration", 100) == "gone"
    assert ends(105, "seat-vibration", 97) == "not-driven"
    assert ends(90, "seat-vibration", 90) == "gone"
    assert ends(90, "seat-vibration", 85) == "not-driven"


def test_felt_in_both_is_compared_where_both_drove() -> None:
    was = drive_of(felt("straight", "wander", 4.0), leg_of("crosswind"))
    now = drive_of(leg_of("straight"), felt("crosswind", "wander", 6.0))
    found = only(was, now)
    assert (found.change, found.legs) == ("better", ("straight", "crosswind"))


def test_the_worst_rating_on_the_legs_counts() -> None:
    was = drive_of(felt("straight", "wander", 4.0), felt("crosswind", "wander", 8.0))
    now = drive_of(felt("straight", "wander", 7.0), felt("crosswind", "wander", 6.0))
    found = only(was, now)
    assert found.before is not None and found.after is not None
    assert (found.before.rating, found.after.rating) == (4.0, 6.0)


def test_sides_are_apart_where_all_are_told() -> None:
    left = drive_of(felt("straight", "pull-to-one-side", 4.0, side="left"))
    right = drive_of(felt("straight", "pull-to-one-side", 4.0, side="right"))
    found = {(one.side, one.change) for one in compare(LIBRARY, left, right)}
    assert found == {("left", "gone"), ("right", "new")}
    untold = drive_of(felt("straight", "pull-to-one-side", 4.0))
    assert only(left, untold).change == "unchanged"


def test_without_a_rating_the_difference_is_vague() -> None:
    was = drive_of(felt("straight", "wander"))
    now = drive_of(leg_of("straight"))
    found = only(was, now)
    assert found.change == "gone" and found.before is not None and found.before.told == "unrated"
    rated = only(drive_of(felt("straight", "wander", 5.0)), now)
    assert rated.difference == found.difference
    assert found.share is not None and rated.share is not None and found.share > rated.share


def test_silence_about_the_steering_is_good_and_about_a_shake_nearly_nothing() -> None:
    steering = only(drive_of(felt("straight", "vague-steering", 6.0)), drive_of(leg_of("straight")))
    shake = only(drive_of(felt("straight", "seat-vibration", 6.0)), drive_of(leg_of("straight")))
    assert (steering.difference, shake.difference) == (2.5, 3.5)


def test_words_that_are_no_complaint_are_left_out() -> None:
    assert changes(drive_of(felt("straight", None)), drive_of(felt("straight", "no-such"))) == {}  # type: ignore[arg-type]


# Is it more than scatter? ----------------------------------------------------------------------------


def test_the_model_by_hand() -> None:
    """Half a point a drive; one point between them counts from 0.75: 2 (1 - Phi(0.75 / 0.7071)) = 0.2888."""
    drive = drive_of(leg_of("straight"))
    deviation = scatter_of(drive, drive).deviation
    assert deviation == pytest.approx(math.sqrt(0.5))
    assert as_often(1.0, deviation) == pytest.approx(0.2888, abs=5e-4)
    assert as_often(2.0, deviation) == pytest.approx(0.0133, abs=5e-4)
    assert verdict(as_often(2.0, deviation)) == "clear"
    assert verdict(as_often(1.5, deviation)) == "perhaps"
    assert verdict(as_often(1.0, deviation)) == "scatter"


def test_open_conditions_widen_it_and_the_page_can_say_which() -> None:
    plain = drive_of(leg_of("straight"))
    wider = {
        "another driver": replace(plain, who="B"),
        "it is not told who drove": replace(plain, who=""),
        "tyre pressures not set, or not known": replace(plain, pressures="not-set"),
        "the road damp, wet or not told": replace(plain, road="wet"),
        "rated without a reference": replace(plain, reference="none"),
        "another load, or not told": replace(plain, load="full"),
    }
    base = scatter_of(plain, plain)
    assert [why for why, _ in base.parts] == ["the same driver again"]
    for why, drive in wider.items():
        found = scatter_of(plain, drive)
        assert [name for name, _ in found.parts] == ["the same driver again", why]
        assert found.deviation > base.deviation
        assert scatter_of(drive, plain).deviation == pytest.approx(found.deviation)
    assert scatter_of(plain, plain, otherwise=True, other_car=True).deviation > base.deviation
    # The same name in other letters is the same driver.
    assert scatter_of(plain, replace(plain, who=" a ")) == base


def test_a_leg_driven_otherwise_widens_it() -> None:
    was = drive_of(felt("straight", "wander", 4.0))
    alike = only(was, drive_of(felt("straight", "wander", 6.0)))
    other = only(was, drive_of(replace(felt("straight", "wander", 6.0), surface="coarse")))
    assert alike.scatter is not None and other.scatter is not None
    assert other.scatter.deviation > alike.scatter.deviation


@given(st.floats(0.1, 5.0), st.floats(0.0, 5.0), st.floats(-9.0, 9.0))
def test_more_scatter_never_makes_a_difference_surer(base: float, more: float, difference: float) -> None:
    plain = Scatter((("base", base),))
    wider = plain.more("more", more)
    assert as_often(difference, wider.deviation) >= as_often(difference, plain.deviation)
    assert as_often(0.0, plain.deviation) == 1.0


@given(st.floats(0.1, 5.0), st.floats(0.0, 9.0), st.floats(0.0, 9.0))
def test_a_larger_difference_is_never_more_usual(deviation: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert 0.0 <= as_often(high, deviation) <= as_often(low, deviation) <= 1.0


# Of any two drives -----------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(drives, drives)
def test_swapping_two_drives_turns_better_into_worse(one: Drive, other: Drive) -> None:
    forth = {(each.complaint, each.side): each for each in compare(LIBRARY, one, other)}
    back = {(each.complaint, each.side): each for each in compare(LIBRARY, other, one)}
    assert forth.keys() == back.keys()
    for key, each in forth.items():
        mirror = back[key]
        assert mirror.change == SWAPPED.get(each.change, each.change)
        assert (mirror.missing_before, mirror.missing_after) == (each.missing_after, each.missing_before)
        assert (mirror.before, mirror.after, mirror.legs) == (each.after, each.before, each.legs)
        assert (mirror.share, mirror.verdict) == (pytest.approx(each.share), each.verdict)


@settings(max_examples=25, deadline=None)
@given(drives)
def test_an_identical_drive_is_unchanged(drive: Drive) -> None:
    for each in compare(LIBRARY, drive, drive):
        assert (each.change, each.difference, each.share, each.verdict) == ("unchanged", 0.0, 1.0, "scatter")


@settings(max_examples=25, deadline=None)
@given(drives, drives)
def test_gone_needs_every_leg_driven_again_and_nothing_felt(one: Drive, other: Drive) -> None:
    for each in compare(LIBRARY, one, other):
        if each.change == "gone":
            where = {
                leg.kind
                for leg, said in one.impressions()
                if said.complaint == each.complaint
                and each.side in (None, said.side)
                and said.answer(each.complaint in ("vague-steering", "heavy-steering"))
                not in ("no", "probably-not")
            }
            assert where and where <= other.kinds
            assert not each.missing_after


@settings(max_examples=25, deadline=None)
@given(drives, drives)
def test_worse_conditions_never_make_a_verdict_surer(one: Drive, other: Drive) -> None:
    wet = replace(other, road="wet", pressures="not-set", who="somebody else", reference="none")
    plain = {(each.complaint, each.side): each for each in compare(LIBRARY, one, other)}
    for each in compare(LIBRARY, one, wet):
        share, was = each.share, plain[each.complaint, each.side].share
        assert (share is None) == (was is None)
        if share is not None and was is not None:
            assert share >= was - 1e-12
