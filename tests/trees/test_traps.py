"""The classic traps of the trade (common practice), each with the row of the trees that guards against it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.network import Network
from diagnose.model.library import Remedy
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle
from tests.shipped import LIBRARY

ALIGNED = {"front-toe", "four-wheel-alignment"}


def remedy(fault: str) -> Remedy:
    return LIBRARY.remedies[LIBRARY.faults[fault].remedy]


def belief(
    complaint: str,
    told: Mapping[str, str] | None = None,
    car: Mapping[str, str] | None = None,
    side: str | None = None,
    conditions: Mapping[str, bool] | None = None,
) -> Belief:
    vehicle = Vehicle(facts=car or {}, conditions=conditions or {})
    seen = []
    for name, answer in (told or {}).items():
        finding, _, position = name.partition("@")
        seen.append(Seen(finding, position or None, answer))
    model = Car(LIBRARY, vehicle, {complaint: side})
    return Belief(model, Story(vehicle, (Heard(complaint, side),), tuple(seen)))


def chance(found: Belief, fault: str, position: str | None = None) -> float:
    """The most that a fault is to blame for at any of these places."""
    return max(float(found.to_blame[n]) for n in found.car.network.instances(fault, position))


# The front ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "fault",
    [
        "outer-tie-rod-end-play",
        "inner-tie-rod-joint-play",
        "tie-rod-bent",
        "lower-arm-front-bush-torn",
        "lower-arm-rear-bush-torn",
        "upper-arm-bush-worn",
        "tension-link-bush-worn",
        "front-arm-bushes-aged",
        "lower-arm-bent",
        "front-knuckle-bent",
        "front-strut-bent",
        "strut-bolts-slipped",
        "front-springs-low",
        "front-spring-broken",
        "front-subframe-shifted",
        "idler-arm-play",
        "centre-link-play",
        "drag-link-play",
        "rear-toe-link-play",
        "rear-arm-bent",
        "rear-trailing-arm-bush-torn",
        "twist-beam-bush-torn",
        "twist-beam-bent",
        "rear-springs-sagged",
    ],
)
def test_parts_that_move_the_toe_are_followed_by_an_alignment(fault: str) -> None:
    assert ALIGNED & set(remedy(fault).follow_ups)


@pytest.mark.parametrize(
    ("fault", "work"),
    [
        ("front-bushes-tightened-hanging", "recent-front-work"),
        ("rear-bushes-tightened-hanging", "recent-rear-work"),
    ],
)
def test_bushes_tightened_hanging_are_suspected_after_arm_work(fault: str, work: str) -> None:
    assert LIBRARY.faults[fault].lifts[work] >= 5.0


@pytest.mark.parametrize(
    "fault",
    [
        f.id
        for f in LIBRARY.faults.values()
        if f.id.endswith(("bush-torn", "arm-bush-worn", "link-bush-worn")) and "leaf" not in f.id
    ],
)
def test_new_bushes_are_tightened_at_ride_height(fault: str) -> None:
    assert "torque-at-ride-height" in remedy(fault).follow_ups
    assert "bush-at-height" in remedy(fault).cautions


def test_a_rack_is_not_condemned_while_the_coupling_is_loose() -> None:
    """Both give the same play at the rim; the joint is looked at before the gear is."""
    told = {
        "measure-rim-play-rack/rim-play@front": "past the inspection limit",
        "rock-the-steering-rack/shaft-turns-first@front": "yes",
    }
    found = belief("steering-free-play", told, {"steering": "hydraulic-rack"})
    assert chance(found, "column-coupling-loose") > chance(found, "rack-worn-on-centre")
    looking, opening = (LIBRARY.checks[c] for c in ("watch-column-joints", "feel-the-rack-support"))
    way = {c.id: LIBRARY.changes["talk", c.set_up] + c.minutes for c in (looking, opening)}
    assert way[looking.id] < way[opening.id]


def test_a_bush_inside_its_limit_may_still_spoil_the_feel() -> None:
    """Free play below the inspection limit, above the feel limit: a band that moves the bush up."""
    reading = LIBRARY.findings["lever-the-front-bush/free-play-front-bush"].reading
    assert reading is not None
    feel, limit = reading.limits
    assert feel.value < limit.value and "inside" in feel.name
    before = chance(belief("vague-steering"), "lower-arm-front-bush-torn")
    told = {"lever-the-front-bush/free-play-front-bush@front-left": feel.name}
    assert chance(belief("vague-steering", told), "lower-arm-front-bush-torn") > 2.0 * before


def test_two_soft_places_count_for_more_than_their_sum() -> None:
    """Each passes alone; together they are felt: P(vague | both) beats two independent causes."""
    car = Car(LIBRARY, Vehicle(facts={"steering": "electric-column-rack"}), {"vague-steering": None})

    def vague(*faults: str) -> float:
        """P(vague) with exactly these faults on the car."""
        network = car.plain.network
        present = {n for fault in faults for n in network.instances(fault)}
        prior = [1.0 - 1e-9 if n in present else 1e-9 for n in range(len(network.causes))]
        engine = type(car.plain)(_with(network, prior))
        return engine.ask([{}], ("vague-steering",)).node("vague-steering")

    bushes, mounts, both, none = (
        vague("front-arm-bushes-aged"),
        vague("rack-mounts-soft"),
        vague("front-arm-bushes-aged", "rack-mounts-soft"),
        vague(),
    )
    alone = 1.0 - (1.0 - bushes) * (1.0 - mounts) / (1.0 - none)
    assert both > alone + 0.03


def _with(network: Network, prior: Sequence[float]) -> Network:
    """The network with other priors, its mates set free of each other."""
    causes = tuple(replace(cause, prior=p) for cause, p in zip(network.causes, prior, strict=True))
    return replace(network, causes=causes, pairs={})


def test_a_seized_adjuster_shows_when_it_is_set() -> None:
    told = {"try-the-front-adjusters/angle-when-set@front-left": "the adjuster will not move"}
    found = belief("front-camber-one-side", told, side="left")
    assert found.causes[found.order()[0]].fault == "front-bush-or-adjuster-seized"


def test_a_pull_with_all_angles_good_is_looked_for_in_the_tyres() -> None:
    told = {"sum-up-the-print-out/an-angle-out": "no"}
    found = belief("pull-to-one-side", told, side="left")
    tyre = chance(found, "tyre-conicity")
    assert tyre > chance(found, "front-camber-set-unevenly")
    assert tyre > chance(found, "caster-uneven")


def test_pressures_come_before_what_they_would_spoil() -> None:
    assert LIBRARY.checks["set-tyre-pressures"].first


def test_a_ball_joint_is_judged_unloaded_and_one_with_an_indicator_loaded() -> None:
    assert LIBRARY.checks["lever-the-lower-joint"].set_up == "jacked"
    assert "jack far out under that arm" in LIBRARY.checks["lever-the-lower-joint"].how
    assert LIBRARY.checks["read-the-wear-indicator"].set_up == "lift-loaded"


@pytest.mark.parametrize("fault", ["outer-tie-rod-end-tight", "lower-ball-joint-tight", "rack-yoke-tight"])
def test_a_new_part_may_be_too_tight(fault: str) -> None:
    assert LIBRARY.faults[fault].lifts["recent-front-work"] >= 2.0
    after = chance(belief("does-not-self-centre", conditions={"recent-front-work": True}), fault)
    assert after > chance(belief("does-not-self-centre"), fault)


def test_a_steering_damper_is_fitted_last() -> None:
    """It hides the looseness: an axle that moves sideways is put right first, whatever the damper is like."""
    told = {
        "watch-the-axle-sideways/axle-moves-sideways@front": "yes",
        "stroke-the-steering-damper/dead-or-notchy@front": "yes",
    }
    found = belief("shimmy", told, {"front": "solid-axle", "steering": "steering-box"})
    assert chance(found, "front-track-bar-play") > 0.5
    assert "Last" in remedy("steering-damper-dead").watch


def test_balanced_and_back_again_means_the_front_end() -> None:
    told = {"ask-back-after-balancing/balanced-and-came-back": "yes"}
    car = {"front": "multi-link"}
    before, after = belief("shimmy", car=car), belief("shimmy", told, car)
    assert chance(after, "fluid-bush-leaked") > chance(before, "fluid-bush-leaked")
    assert chance(after, "wheel-out-of-balance", "front") < chance(before, "wheel-out-of-balance", "front")


def test_new_discs_on_a_rusty_hub_judder_again() -> None:
    told = {"ask-judder-came-back/renewed-and-came-back": "yes"}
    before, after = belief("judder-when-braking"), belief("judder-when-braking", told)
    assert chance(after, "front-disc-on-rusty-hub") > 1.5 * chance(before, "front-disc-on-rusty-hub")
    assert "unout" in remedy("front-disc-uneven").watch


def test_a_rim_is_not_centred_on_its_spline() -> None:
    assert "spline" in remedy("steering-wheel-set-crooked").watch
    told = {
        "count-turns-to-each-lock/rim-and-gear@front": LIBRARY.findings[
            "count-turns-to-each-lock/rim-and-gear"
        ].levels[-1]
    }
    before, after = belief("steering-wheel-off-centre"), belief("steering-wheel-off-centre", told)
    assert chance(after, "steering-wheel-set-crooked") > chance(before, "steering-wheel-set-crooked")


@pytest.mark.parametrize(
    "fault", ["front-toe-wrong", "steering-wheel-set-crooked", "front-camber-set-unevenly"]
)
def test_sensors_are_zeroed_after_an_alignment(fault: str) -> None:
    assert "angle-sensor-zero" in remedy(fault).follow_ups


def test_a_swap_that_changes_nothing_does_not_clear_the_tyre_altogether() -> None:
    before = chance(belief("pull-to-one-side", side="left"), "tyre-conicity", "front")
    told = {"swap-the-front-tyres/pull-after-swap@front": "stays"}
    after = chance(belief("pull-to-one-side", told, side="left"), "tyre-conicity", "front")
    assert 0.0 < after < before / 5.0


def test_camber_is_not_set_over_a_bent_strut() -> None:
    told = {
        "read-front-camber-and-caster/camber-difference@front": "enough to pull",
        "read-steering-axis-lean/pattern@front-left": "lean right, included angle less: it leans in",
    }
    where = LIBRARY.findings["read-front-camber-and-caster/camber-difference"].where
    if where != "front":
        told = dict(list(told.items())[1:])
    found = belief("front-camber-one-side", told, {"front": "strut"}, "left")
    assert chance(found, "front-strut-bent", "front-left") > chance(found, "front-camber-set-unevenly")


@pytest.mark.parametrize("check", ["lever-the-lower-joint", "lever-the-front-bush", "lever-the-rear-bush"])
def test_play_is_judged_by_hand_force(check: str) -> None:
    assert "lever-slip" in LIBRARY.checks[check].cautions
    assert "hand force only" in LIBRARY.cautions["lever-slip"]


def test_a_hydraulic_rack_is_rocked_with_the_engine_running() -> None:
    assert "running for a hydraulic rack" in LIBRARY.checks["rock-the-steering-rack"].how


# The rear -------------------------------------------------------------------------------------------------


def test_an_oil_film_is_no_leak() -> None:
    finding = LIBRARY.findings["rear-damper-look/oil"]
    film, streams = next(link.detection for link in finding.links if link.target == "rear-damper-leaked")
    # The film is as common on sound dampers as on leaking ones.
    assert film < finding.false_alarm[0]
    assert streams > 20.0 * finding.false_alarm[1]


def test_a_bounce_test_does_not_clear_a_faded_damper() -> None:
    told = {f"rear-bounce/half-swings@{corner}": "no" for corner in ("rear-left", "rear-right")}
    none = LIBRARY.findings["rear-bounce/half-swings"].none
    told = dict.fromkeys(told, none)
    before, after = belief("floaty-rear"), belief("floaty-rear", told)
    assert chance(after, "rear-damper-faded") > 0.4 * chance(before, "rear-damper-faded")


def test_a_plate_test_alone_does_not_condemn_a_light_tail() -> None:
    """Low without a damper fault in one of ten, and hard tyres read low as well."""
    finding = LIBRARY.findings["rear-suspension-plates/adhesion"]
    assert sum(finding.false_alarm) >= 0.08
    assert "tyres-overinflated" in {link.target for link in finding.links}


@pytest.mark.parametrize("check", ["rear-rig-angles", "read-front-camber-and-caster"])
def test_a_rig_reads_a_car_whose_pressures_and_heights_are_right(check: str) -> None:
    told = LIBRARY.checks[check].how.lower()
    assert "pressures" in told and "height" in told


def test_the_front_is_not_set_without_the_rear() -> None:
    assert LIBRARY.follow_ups["four-wheel-alignment"].name.endswith("rear before front")
    assert "four-wheel-alignment" in remedy("front-toe-set-without-rear").follow_ups
    found = belief("steering-wheel-off-centre", {"ask-recent-alignment/alignment-just-before": "yes"})
    assert chance(found, "front-toe-set-without-rear") > 0.05


def test_wheels_change_axles_before_a_bearing_is_bought() -> None:
    """A tyre that was worn by an old fault hums on for its life."""
    told = {"swap-front-to-rear/shake-after-axle-swap": "moves with the wheels"}
    before, after = belief("hum-with-speed"), belief("hum-with-speed", told)
    assert chance(after, "tyre-worn-irregularly") > chance(before, "tyre-worn-irregularly")
    assert chance(after, "front-wheel-bearing-worn") < 0.6 * chance(before, "front-wheel-bearing-worn")


def test_the_bearing_on_the_other_side_is_not_cleared_by_a_bend() -> None:
    told = {"swing-at-the-hum/louder-with-this-side-loaded@front-left": "yes"}
    found = belief("hum-with-speed", told)
    assert chance(found, "front-wheel-bearing-worn", "front-left") > 0.4
    assert chance(found, "front-wheel-bearing-worn", "front-right") > 0.01


@pytest.mark.parametrize(
    "fault",
    [
        "front-dampers-weak",
        "rear-damper-faded",
        "rear-damper-leaked",
        "front-spring-broken",
        "rear-spring-broken",
        "rear-springs-sagged",
        "front-strut-bent",
    ],
)
def test_dampers_and_springs_are_renewed_as_pairs(fault: str) -> None:
    assert remedy(fault).per in ("pair", "car")


def test_a_designed_gap_in_a_bush_is_not_called_torn() -> None:
    finding = LIBRARY.findings["pry-rear-pivot/state-of-pivot-bush"]
    assert finding.false_alarm[0] >= 0.2
    assert "moulded gaps" in LIBRARY.checks["pry-rear-pivot"].how


def test_discs_are_dialled_and_wheels_torqued_after_brake_work() -> None:
    for fault in (
        "front-disc-uneven",
        "rear-disc-uneven",
        "front-disc-on-rusty-hub",
        "rear-disc-on-rusty-hub",
    ):
        assert "wheel-retorque" in remedy(fault).follow_ups


def test_roll_is_looked_for_at_the_front_first() -> None:
    found = belief("rolls-too-much")
    assert chance(found, "front-drop-link-play") >= chance(found, "rear-drop-link-play")


def test_a_lean_may_come_from_the_other_end() -> None:
    found = belief(
        "leans-to-one-side", {"rear-ride-heights/side-low@left": "past the inspection limit"}, side="left"
    )
    assert chance(found, "front-spring-broken", "front-left") > 0.1


def test_a_swaying_trailer_is_loaded_right_before_anything_is_bought() -> None:
    found = belief("trailer-sways", {"weigh-the-nose/nose-share@rear": "hardly any or negative"})
    assert found.causes[found.order()[0]].fault == "trailer-nose-weight-wrong"
    assert remedy("trailer-nose-weight-wrong").parts <= 20.0
