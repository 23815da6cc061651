"""What the shipped remedies share and take in, and what inspections fail, read as a technician would.

Facts of the trade are common practice. Item numbers: Directive 2014/45/EU, Annex I, point 3; 2.1 and 5.1 were
read in the text itself, the others are from memory.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from diagnose.library.shelf import load
from diagnose.model.library import Remedy
from diagnose.model.part import Fault
from diagnose.model.position import WHERE, axle_of
from diagnose.model.work import access_hours, covered, mends, opened, unit_at, units
from tests.shipped import LIBRARY

#: Item -> what it is about, in a few words of our own.
ITEMS = {
    "1.1.12": "flexible brake hoses",
    "1.1.13": "brake linings and pads",
    "1.1.15": "brake cables, rods, levers",
    "1.1.16": "brake cylinders and calipers",
    "1.1.17": "load-sensing valve",
    "1.2.1": "service brake performance",
    "2.1.1": "steering gear",
    "2.1.2": "steering gear mounting",
    "2.1.3": "steering linkage",
    "2.1.4": "operation of the linkage",
    "2.1.5": "power steering",
    "2.2.2": "steering column, yokes, forks, dampers",
    "2.3": "steering play",
    "2.6": "electronic power steering",
    "5.1.1": "axles",
    "5.1.2": "stub axles",
    "5.1.3": "wheel bearings",
    "5.2.1": "road wheel hub and fasteners",
    "5.2.2": "wheels",
    "5.2.3": "tyres",
    "5.3.1": "springs and stabilisers",
    "5.3.2": "shock absorbers",
    "5.3.3": "torque tubes, radius arms, wishbones, suspension arms",
    "5.3.4": "suspension joints",
    "5.3.5": "air suspension",
    "6.1.1": "chassis or frame",
    "6.1.2": "exhaust",
    "6.1.6": "coupling and towing device",
    "6.1.7": "transmission",
    "6.1.8": "engine mountings",
    "6.2.2": "mounting of cab and body",
}

#: Faults that make the car unfit to drive and that no item names, each with the reason.
NOT_INSPECTED = {
    "final-drive-noisy": "heard on the road, which is no part of the inspection",
    "rear-steering-off-zero": "no item for steered rear wheels of cars",
    "overloaded-or-tail-heavy": "the car comes empty",
    "trailer-nose-weight-wrong": "the car comes without the trailer",
    "trailer-axle-or-tyres-wrong": "the trailer has an inspection of its own",
    "tyre-pressures-wrong": "set by the tester, no defect of the car",
    "rear-tyres-low": "set by the tester, no defect of the car",
    "tyre-low": "set by the tester, no defect of the car",
}

WITH_ACCESS = [remedy for remedy in LIBRARY.remedies.values() if remedy.access]
COVERING = [
    (remedy, LIBRARY.remedies[name]) for remedy in LIBRARY.remedies.values() for name in remedy.covers
]


def named(name: str) -> set[str]:
    """Every access that a remedy opens, with what it is within."""
    remedy = LIBRARY.remedies[name]
    return {access for at in units(LIBRARY, remedy) for access, _ in opened(LIBRARY, remedy, at)}


def share(remedy: Remedy) -> float:
    """The part of its hours that its access takes, at the place where that is most."""
    hours = [access_hours(LIBRARY, opened(LIBRARY, remedy, at)) for at in units(LIBRARY, remedy)]
    return max(hours) / remedy.hours


# Access -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("access", LIBRARY.access)
def test_every_access_is_shared(access: str) -> None:
    """What only one remedy opens is nothing to share, and belongs into that remedy's own hours."""
    assert sum(access in named(remedy.id) for remedy in WITH_ACCESS) >= 2
    hours = LIBRARY.access[access].hours
    assert math.isclose(hours * 10, round(hours * 10))


@pytest.mark.parametrize("remedy", WITH_ACCESS, ids=lambda remedy: remedy.id)
def test_access_leaves_hours_for_the_work(remedy: Remedy) -> None:
    assert 0.0 < share(remedy) <= 0.85 + 1e-9


@pytest.mark.parametrize(
    ("remedy", "opens"),
    [
        (
            "renew-front-dampers",
            "front-strut-apart front-strut-out front-drop-link-parted wheel-off car-raised",
        ),
        ("renew-front-drop-links", "front-drop-link-parted wheel-off car-raised"),
        ("renew-rear-drop-links", "car-raised"),
        ("renew-lower-arm-rear-bushes", "front-lower-arm-out lower-joint-parted wheel-off car-raised"),
        ("renew-outer-tie-rod-end", "tie-rod-end-parted wheel-off car-raised"),
        ("renew-twist-beam-bushes", "twist-beam-lowered wheel-off car-raised"),
        ("renew-rear-springs", "rear-spring-out rear-damper-parted wheel-off car-raised"),
        ("renew-front-discs", "disc-off brake-open wheel-off car-raised"),
        ("balance-the-wheel", "wheel-off car-raised"),
        ("set-tyre-pressures", ""),
        ("set-front-toe", ""),
        ("show-the-road", ""),
    ],
)
def test_what_a_technician_takes_apart_for_it(remedy: str, opens: str) -> None:
    assert named(remedy) == set(opens.split())


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        # Springs and dampers in one go: 3.1 + 2.8 h less the struts out and apart, once.
        (("renew-front-springs", "front"), ("renew-front-dampers", "car"), 3.6),
        # Arm and tie rod end of one corner: 1.8 + 0.6 h less car up and wheel off.
        (("renew-lower-arm", "front-left"), ("renew-outer-tie-rod-end", "front-left"), 2.2),
        # The same on two sides shares only the lift.
        (("renew-lower-arm", "front-left"), ("renew-outer-tie-rod-end", "front-right"), 2.3),
        # Ball joint and arm bushes: the joint of that side is parted for the arm anyway.
        (("renew-lower-ball-joint", "front-left"), ("renew-lower-arm-front-bushes", "front"), 3.2),
        # Front and rear share the lift alone.
        (("renew-front-discs", "front"), ("renew-rear-discs", "rear"), 2.9),
        # Roll bar and rack mounts: 2.5 + 2.2 h less the subframe down, once.
        (("renew-front-roll-bar", "car"), ("renew-rack-mounts", "car"), 3.6),
        # Nothing to share.
        (("refit-the-shaft-clamp", "car"), ("renew-rear-drop-links", "rear"), 1.2),
    ],
)
def test_hours_of_two_remedies_together(
    one: tuple[str, str], other: tuple[str, str], together: float
) -> None:
    both = [(LIBRARY.remedies[name], at) for name, at in (one, other)]
    apart = sum(remedy.hours for remedy, _ in both)
    each = [opened(LIBRARY, remedy, at) for remedy, at in both]
    saved = sum(access_hours(LIBRARY, some) for some in each) - access_hours(LIBRARY, {*each[0], *each[1]})
    assert apart - saved == pytest.approx(together)


# Covers -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bigger", "covers"), COVERING, ids=[f"{one.id}-{other.id}" for one, other in COVERING]
)
def test_what_covers_costs_about_as_much_or_more(bigger: Remedy, covers: Remedy) -> None:
    """A part with another inside is not far cheaper than that other; figures are good to a factor of 1.5."""
    sides = 2 if covers.per == "pair" and bigger.per == "each" else 1
    price = bigger.hours * 100 + bigger.parts
    assert price >= (covers.hours * 100 + covers.parts) / sides * 0.8


@pytest.mark.parametrize("remedy", LIBRARY.remedies.values(), ids=lambda remedy: remedy.id)
def test_a_remedy_mends_nothing_on_another_axle(remedy: Remedy) -> None:
    for at in units(LIBRARY, remedy):
        own = {
            axle_of(place)
            for fault in LIBRARY.faults.values()
            for place in WHERE[fault.where]
            if fault.remedy == remedy.id and unit_at(remedy, place) == at
        }
        assert {axle_of(place) for _, place in mends(LIBRARY, remedy, at)} <= own


@pytest.mark.parametrize(
    ("remedy", "at", "mended", "not_mended"),
    [
        (
            "renew-lower-arm",
            "front-left",
            ["lower-arm-rear-bush-torn@front-left", "lower-ball-joint-play@front-left"],
            ["lower-arm-rear-bush-torn@front-right", "outer-tie-rod-end-play@front-left"],
        ),
        (
            "renew-steering-rack",
            "car",
            [
                "inner-tie-rod-joint-play@front-left",
                "inner-tie-rod-joint-play@front-right",
                "rack-bolts-loose@front",
            ],
            ["outer-tie-rod-end-play@front-left", "rack-mounts-soft@front", "rack-seals-leaking@front"],
        ),
        (
            "renew-hydraulic-rack",
            "car",
            ["rack-worn-on-centre@front", "tie-rod-locknut-loose@front-left"],
            [],
        ),
        (
            "renew-front-struts",
            "front",
            [
                "front-dampers-weak@front",
                "front-bump-stop-gone@front-left",
                "strut-bolts-slipped@front-right",
            ],
            ["front-spring-broken@front-left", "strut-top-mount-sagged@front-left"],
        ),
        (
            "renew-the-pair",
            "rear",
            ["tyre-belt-separated@rear-left", "wheel-out-of-balance@rear-right", "tyres-mismatched@rear"],
            ["tyre-belt-separated@front-left", "wheel-bent@rear-left", "tyre-pressures-wrong@front"],
        ),
        # A leak that soaked the linings is not cured by new discs and pads.
        (
            "renew-front-discs",
            "front",
            ["front-disc-on-rusty-hub@front-left"],
            ["front-pads-contaminated@front-left"],
        ),
        # The maker's stud or flange is another part than the beam.
        ("renew-twist-beam", "car", ["twist-beam-bush-torn@rear-left"], ["twist-beam-bent@rear-left"]),
    ],
)
def test_what_the_new_part_brings_along(
    remedy: str, at: str, mended: list[str], not_mended: list[str]
) -> None:
    found = {f"{fault}@{place}" for fault, place in mends(LIBRARY, LIBRARY.remedies[remedy], at)}
    assert found >= set(mended)
    assert not found & set(not_mended)


def test_a_whole_alignment_sets_the_front_toe() -> None:
    assert covered(LIBRARY.follow_ups, ["four-wheel-alignment"]) == {"front-toe"}


@pytest.mark.slow
def test_the_compiled_copy_holds_all_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path))
    load()
    assert len(list(tmp_path.iterdir())) == 1
    assert load() == LIBRARY


# Inspections --------------------------------------------------------------------------------------------

INSPECTED = [fault for fault in LIBRARY.faults.values() if fault.inspection]


@pytest.mark.parametrize("fault", INSPECTED, ids=lambda fault: fault.id)
def test_an_inspection_fails_it_under_an_item_that_there_is(fault: Fault) -> None:
    assert fault.inspection in ITEMS
    assert "eu-2014-45" in fault.source
    # The item is of the group that the part belongs to.
    group = fault.place.file.rpartition("/")[2].removesuffix(".yaml")
    of_group = {
        "brakes-and-drive": ("1.", "6.1.7", "6.1.8", "5.1.3"),
        "driveline": ("6.1.7", "5.1.3"),
        "front-suspension": ("5.", "6.1.1"),
        "rear": ("5.", "6.1.1"),
        "settings-and-body": ("6.",),
        "steering": ("2.",),
        "tyres-and-wheels": ("5.2",),
    }
    assert fault.inspection.startswith(of_group[group])


UNFIT = [fault for fault in LIBRARY.faults.values() if fault.danger == "stop"]


@pytest.mark.parametrize("fault", UNFIT, ids=lambda fault: fault.id)
def test_what_makes_a_car_unfit_is_failed_or_says_why_not(fault: Fault) -> None:
    assert bool(fault.inspection) != (fault.id in NOT_INSPECTED)


@pytest.mark.parametrize(
    "fault",
    # No item, or none that such an inspection finds: settings, feel, wear inside, what only a driver notices.
    [
        "front-toe-wrong",
        "caster-uneven",
        "rear-damper-faded",
        "front-arm-bushes-aged",
        "fluid-bush-leaked",
        "strut-top-bearing-seized",
        "tyre-conicity",
        "wheel-out-of-balance",
        "rack-valve-uneven",
        "normal-for-this-car",
    ],
)
def test_an_inspection_does_not_look_for_everything_that_is_felt(fault: str) -> None:
    assert LIBRARY.faults[fault].inspection == ""
