"""What repairs share and take in. Demo rows; every sum is reckoned by hand beside it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.model.library import Access, FollowUp, Library, Remedy
from diagnose.model.work import access_hours, corners, covered, due, mends, opened, unit_at, units
from tests.small_trees import SMALL, compiled

LIBRARY = compiled(SMALL)[0].library
END, GEAR, PUMP = (LIBRARY.remedies[name] for name in ("renew-rod-end", "renew-gear", "pump-up"))


def of(per: str) -> Remedy:
    """The remedy of the rod ends, for another unit."""
    return replace(END, per=per)


# Where ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("per", "position", "place"),
    [
        ("each", "front-left", "front-left"),
        ("pair", "front-left", "front"),
        ("pair", "rear", "rear"),
        ("pair", "left", "left"),
        ("car", "front-left", "car"),
    ],
)
def test_a_unit_of_a_remedy_is_at_a_position_an_axle_or_the_car(per: str, position: str, place: str) -> None:
    assert unit_at(of(per), position) == place


def test_the_units_of_a_remedy_follow_from_its_faults() -> None:
    assert units(LIBRARY, END) == ("front-left", "front-right")
    assert units(LIBRARY, of("pair")) == ("front",)
    assert units(LIBRARY, PUMP) == ("car",)
    assert units(LIBRARY, GEAR) == ()  # it mends only what it covers


def test_a_remedy_is_at_work_at_the_corners_that_its_place_takes_in() -> None:
    assert corners(LIBRARY, END, "front-right") == ("front-right",)
    assert corners(LIBRARY, END, "front") == ("front-left", "front-right")
    assert corners(LIBRARY, END, "left") == ("front-left", "rear-left")
    assert len(corners(LIBRARY, END, "centre")) == 4


def test_for_the_whole_car_its_faults_say_at_which_corners() -> None:
    assert corners(LIBRARY, of("car"), "car") == ("front-left", "front-right")
    assert len(corners(LIBRARY, PUMP, "car")) == 4  # tyres of both axles
    assert corners(LIBRARY, GEAR, "car") == ()


# Access -----------------------------------------------------------------------------------------------


def test_access_brings_along_what_it_is_within_at_the_same_corner() -> None:
    left = opened(LIBRARY, END, "front-left")
    assert set(left) == {("end-parted", "front-left"), ("wheel-off", "front-left")}
    assert access_hours(LIBRARY, left) == pytest.approx(0.15 + 0.1)
    assert access_hours(LIBRARY, opened(LIBRARY, of("pair"), "front")) == pytest.approx(2 * 0.25)


def test_access_of_the_whole_car_opens_both_sides_of_what_it_is_within() -> None:
    gear = opened(LIBRARY, replace(END, access=("gear-out",)), "front-left")
    ends = {(name, at) for name in ("end-parted", "wheel-off") for at in ("front-left", "front-right")}
    assert set(gear) == {("gear-out", "car")} | ends
    assert len(gear) == 5
    assert access_hours(LIBRARY, gear) == pytest.approx(1.5 + 2 * 0.25)


def test_works_together_open_once_what_both_need() -> None:
    gear = opened(LIBRARY, replace(END, access=("gear-out",)), "front")
    left = opened(LIBRARY, END, "front-left")
    assert access_hours(LIBRARY, (*gear, *left)) == pytest.approx(access_hours(LIBRARY, gear))
    both = (*left, *opened(LIBRARY, END, "front-right"))
    assert access_hours(LIBRARY, both) == pytest.approx(2 * 0.25)


def test_two_accesses_within_one_open_it_once() -> None:
    caliper = Access("caliper-off", "caliper off", "each", 0.3, "wheel-off")
    library = replace(LIBRARY, access={**LIBRARY.access, "caliper-off": caliper})
    hub = replace(END, access=("end-parted", "caliper-off"))
    assert access_hours(library, opened(library, hub, "front-left")) == pytest.approx(0.15 + 0.3 + 0.1)


def test_no_access_takes_no_time_and_unknown_access_is_passed_over() -> None:
    assert opened(LIBRARY, PUMP, "car") == ()
    assert access_hours(LIBRARY, ()) == 0.0
    assert opened(LIBRARY, replace(END, access=("not-there",)), "front-left") == ()


# Covers -----------------------------------------------------------------------------------------------


def test_what_is_covered_is_followed_over_others() -> None:
    table = {
        "axle": replace(GEAR, id="axle", covers=("renew-gear",)),
        "renew-gear": GEAR,
        "renew-rod-end": END,
    }
    assert covered(table, ["axle"]) == {"renew-gear", "renew-rod-end"}
    assert covered(table, ["renew-gear"]) == {"renew-rod-end"}
    assert covered(table, ["renew-rod-end", "not-there"]) == set()


def test_a_remedy_mends_its_own_faults_at_its_place() -> None:
    assert mends(LIBRARY, END, "front-left") == (
        ("rod-end-play", "front-left"),
        ("rod-end-tight", "front-left"),
    )
    assert mends(LIBRARY, PUMP, "car") == (("tyres-soft", "front"), ("tyres-soft", "rear"))


def covering(per: str) -> Library:
    """The remedy of the tyres covers that of the rod ends, which is for that unit."""
    remedies = {**LIBRARY.remedies, END.id: of(per), PUMP.id: replace(PUMP, per="each", covers=(END.id,))}
    return replace(LIBRARY, remedies=remedies)


def test_what_it_covers_it_mends_only_at_its_own_place() -> None:
    for per in ("each", "pair"):
        library = covering(per)
        tyres = library.remedies[PUMP.id]
        sides = ("front-left", "front-right")
        ends = {(fault, at) for fault in ("rod-end-play", "rod-end-tight") for at in sides}
        assert set(mends(library, tyres, "front")) == {("tyres-soft", "front")} | ends
        assert mends(library, tyres, "rear") == (("tyres-soft", "rear"),)


def test_on_one_side_it_mends_of_a_pair_its_own_side_and_nothing_of_the_axle() -> None:
    rod = replace(END, covers=("renew-rods", PUMP.id))
    faults = {
        **LIBRARY.faults,
        "rod-bent": replace(LIBRARY.faults["rod-end-play"], id="rod-bent", remedy="renew-rods"),
    }
    rods = replace(END, id="renew-rods", per="pair")
    library = replace(LIBRARY, faults=faults, remedies={**LIBRARY.remedies, END.id: rod, "renew-rods": rods})
    assert ("rod-bent", "front-right") in mends(library, rod, "front-right")
    assert ("rod-bent", "front-left") not in mends(library, rod, "front-right")
    # Tyre pressures are a matter of the axle: work on one corner does not set them.
    assert "tyres-soft" not in {fault for fault, _ in mends(library, rod, "front-right")}


def follow_ups() -> Library:
    rows = (
        FollowUp("toe", "set the toe", 40, 0),
        FollowUp("nuts", "new nuts", 0, 8),
        FollowUp("alignment", "set all wheels", 60, 0, covers=("toe",)),
    )
    return replace(LIBRARY, follow_ups={row.id: row for row in rows})


def test_work_that_follows_is_due_once_and_not_where_other_work_covers_it() -> None:
    library = follow_ups()
    assert [each.id for each in due(library, ["toe", "nuts", "toe"])] == ["toe", "nuts"]
    assert [each.id for each in due(library, ["toe", "nuts", "alignment"])] == ["nuts", "alignment"]
    assert due(library, []) == ()
    assert due(library, ["not-there"]) == ()
