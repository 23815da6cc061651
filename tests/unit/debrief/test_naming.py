"""Words about one leg: what that leg can show is meant before what it cannot."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.debrief.naming import EXACT, name_complaint
from diagnose.debrief.route import ROUTE
from diagnose.debrief.shows import TABLE
from tests.drives import LIBRARY


def named(words: str, kind: str) -> list[str]:
    return [match.complaint for match in name_complaint(LIBRARY, words, kind)]


@pytest.mark.parametrize(
    ("words", "kind", "complaint"),
    [
        ("pulls left", "straight", "pull-to-one-side"),
        ("pulls left", "braking", "pulls-when-braking"),
        ("shakes", "braking", "judder-when-braking"),
        ("steering wheel shakes", "straight", "steering-wheel-vibration"),
        ("knocks", "rough", "front-clunk-over-bumps"),
        ("clunk", "parking", "clunk-when-pulling-away"),
        ("tail comes round", "bend-lift", "rear-steps-out-lifting-off"),
        ("wander", "rough", "wander"),  # an id is an id, and a name a name
        ("pull-to-one-side", "braking", "pull-to-one-side"),
        ("Pulls or drifts to one side", "braking", "pull-to-one-side"),
    ],
)
def test_the_leg_tells_which_is_meant(words: str, kind: str, complaint: str) -> None:
    assert named(words, kind)[0] == complaint


def test_what_sounds_like_nothing_is_nothing() -> None:
    assert named("xyzzy", "braking") == []
    assert named("the glove box squeaks", "rough") == []
    assert named("", "rough") == []


def test_a_wording_that_the_leg_can_show_is_taken_alone() -> None:
    assert named("pulls left", "straight") == ["pull-to-one-side"]
    assert name_complaint(LIBRARY, "pulls left", "straight")[0].score == EXACT
    # However like it is, what is only like a wording is asked about.
    (near,) = name_complaint(LIBRARY, "car needs constant steering on the motorway", "straight")
    assert near.score < EXACT
    assert len(named("pulls left", "braking")) > 1


@settings(max_examples=12, deadline=None)
@given(st.sampled_from(sorted(TABLE)), st.sampled_from(tuple(ROUTE)), st.text(max_size=20))
def test_an_id_is_found_on_every_leg_and_no_words_break_it(name: str, kind: str, words: str) -> None:
    assert named(name, kind)[0] == name
    found = named(words, kind)
    assert len(found) == len(set(found))
