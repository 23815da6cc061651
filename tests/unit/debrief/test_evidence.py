"""Which leg shows which complaint, and what a drive says to the belief."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.evidence import heard_weights
from diagnose.debrief.drive import Drive, Impression, leg_of
from diagnose.debrief.evidence import heard
from diagnose.debrief.route import ROUTE
from diagnose.debrief.shows import CONTROL, STANDING, TABLE, UNFELT_AREAS, probed, shows
from diagnose.model.complaint import Complaint, Gate
from diagnose.model.story import Heard, Story
from tests.drives import AFTER, DEMO, LIBRARY, drive_in, drive_of, felt

FELT = [
    complaint
    for complaint in LIBRARY.complaints.values()
    if complaint.area not in UNFELT_AREAS and complaint.id not in STANDING
]


def said(drive: Drive) -> dict[str, tuple[str | None, str]]:
    return {each.complaint: (each.side, each.answer) for each in heard(LIBRARY, drive)}


def test_every_shipped_complaint_that_is_felt_on_the_road_has_its_legs_and_no_other() -> None:
    assert set(TABLE) == {complaint.id for complaint in FELT}
    assert set(STANDING) | CONTROL <= set(LIBRARY.complaints)
    for name, row in TABLE.items():
        assert row.kinds, name
        assert set(row.probes) | set(row.may) <= set(ROUTE), name
        assert not set(row.probes) & set(row.may), name


#: Words of a complaint that name the leg it belongs on, whatever the table says.
CLEAR = {
    "brak": "braking",
    "wind": "crosswind",
    "rough road": "rough",
    "over bumps": "rough",
    "park": "parking",
    "on lock": "parking",
    "in bends": "bend-lift",
    "lifting off": "bend-lift",
    "under power": "bend-power",
    "straight ahead": "straight",
    "straight road": "straight",
    "long waves": "undulating",
}


def test_the_table_agrees_with_the_names_in_the_library() -> None:
    wrong = [
        (complaint.id, leg)
        for complaint in FELT
        for word, leg in CLEAR.items()
        if word in complaint.name.lower() and leg not in shows(complaint).kinds
    ]
    # It sticks where the rim comes back from: the bend, not the straight that follows.
    assert wrong == [("does-not-self-centre", "straight")]


def test_every_leg_as_usual_is_fast_enough_for_what_it_probes() -> None:
    for complaint in FELT:
        for kind in shows(complaint).probes:
            assert probed(complaint, leg_of(kind)), (complaint.id, kind)
    wander = LIBRARY.complaints["wander"]
    assert not probed(wander, replace(leg_of("straight"), low=30, high=60))


def test_a_complaint_of_ones_own_trees_is_never_probed_but_may_show() -> None:
    own = Complaint("squirms", "Squirms", Gate("any", 1, ()), area="course")
    assert shows(own).kinds == ("straight", "undulating", "braking", "crosswind")
    assert not any(probed(own, leg_of(kind)) for kind in ROUTE)
    assert shows(LIBRARY.complaints["one-corner-low"]).kinds == ()


def test_what_was_rated_is_said_by_its_strength() -> None:
    found = said(drive_in(AFTER))
    assert found["wander"] == (None, "probably")  # 8, a little
    assert found["pulls-when-braking"] == ("left", "yes")


def test_silence_counts_only_where_a_driven_leg_would_have_shown_it() -> None:
    found = said(drive_in(DEMO))
    assert found["judder-when-braking"] == (None, "probably-not")
    assert found["kickback"] == (None, "probably-not")
    assert "wallows-in-bends" not in found  # no bend was driven
    assert "swayed-by-wind" not in found  # no crosswind
    assert "trailer-sways" not in found  # nobody towed
    assert "rear-steps-out-lifting-off" not in found
    assert "outer-edge-wear" not in found  # not felt at all
    # The words that are no complaint say nothing.
    assert {each.by for each in heard(LIBRARY, drive_in(DEMO))} == {"road-test"}
    assert heard(LIBRARY, Drive()) == ()


def test_silence_may_be_asked_for_some_complaints_only() -> None:
    found = heard(LIBRARY, drive_in(DEMO), among=("kickback", "swayed-by-wind"))
    assert [each.complaint for each in found] == [
        name for name in LIBRARY.complaints if name in ("front-clunk-over-bumps", "wander", "kickback")
    ]


def test_several_impressions_of_one_complaint_are_one_answer_the_surest() -> None:
    drive = drive_of(
        felt("undulating", "pull-to-one-side", 9.0),
        felt("straight", "pull-to-one-side", 5.0),
        felt("crosswind", "pull-to-one-side", 9.5, side="right"),
    )
    pulls = [each for each in heard(LIBRARY, drive) if each.complaint == "pull-to-one-side"]
    assert pulls == [Heard("pull-to-one-side", "right", "yes", "road-test")]
    again = replace(drive, legs=drive.legs[::-1])
    assert [each for each in heard(LIBRARY, again) if each.complaint == "pull-to-one-side"] == pulls


def test_an_answer_told_outranks_the_rating_and_no_rating_is_a_yes() -> None:
    assert said(drive_of(felt("straight", "wander")))["wander"] == (None, "yes")
    assert said(drive_of(felt("straight", "wander", 7.0, "cannot-tell")))["wander"] == (None, "cannot-tell")
    assert said(drive_of(felt("straight", "wander", 10.0)))["wander"] == (None, "no")
    # `good` is no complaint about the steering, `a little` is one about a shake.
    assert said(drive_of(felt("straight", "vague-steering", 8.0)))["vague-steering"] == (None, "cannot-tell")
    assert said(drive_of(felt("straight", "seat-vibration", 8.0)))["seat-vibration"] == (None, "probably")


def test_what_the_library_does_not_know_is_passed_over() -> None:
    leg = leg_of("parking", (Impression("squirms", "squirms"),))
    assert "squirms" not in said(drive_of(leg))


def weight(answer: str) -> float:
    """The likelihood ratio of an answer of a road test about wandering."""
    found = heard_weights(LIBRARY, Heard("wander", None, answer, "road-test"))
    assert found is not None
    return found[1][1] / found[1][0]


def test_silence_is_worth_less_than_a_no() -> None:
    (silent,) = heard(LIBRARY, drive_of(leg_of("straight")), among=("wander",))[-1:]
    assert 1.0 > weight(silent.answer) > weight("no")


@pytest.mark.parametrize(("rating", "way"), [(3.0, 1), (10.0, -1), (8.0, 0)])
def test_the_belief_takes_it(rating: float, way: int) -> None:
    """Felt play is more to blame, felt nothing less; what cannot be told moves nothing."""
    told = Heard("wander")
    drive = drive_of(felt("straight", "steering-free-play", rating))
    more = heard(LIBRARY, drive, among=())
    plain = Story(heard=(told, Heard("steering-free-play", None, "cannot-tell")))
    story = replace(plain, heard=(*plain.heard, *more))

    car = Car(LIBRARY, story.vehicle, story.complaints)

    def played(story: Story) -> float:
        belief = Belief(car, story)
        return sum(
            float(p)
            for cause, p in zip(belief.causes, belief.present, strict=True)
            if cause.fault == "outer-tie-rod-end-play"
        )

    was, now = played(plain), played(story)
    assert was > 0.0
    assert (now > was, now < was) == (way > 0, way < 0)
