"""Which complaint the driver means: his words on the shipped trees, ids, and nonsense."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.library.matching import LEAST, match_complaint
from tests.shipped import LIBRARY

#: As drivers say it, some of it in other words than the trees'.
WORDINGS = [
    ("it wanders all over the road", "wander"),
    ("I have to correct it all the time", "wander"),
    ("weaves on the motorway, needs constant corrections", "wander"),
    ("wont go straight, nervous at speed", "wander"),
    ("it pulls to the left", "pull-to-one-side"),
    ("drifts to the right on a level road", "pull-to-one-side"),
    ("keeps pulling over to one side", "pull-to-one-side"),
    ("steering wheel shakes at 100 km/h", "steering-wheel-vibration"),
    ("shimmy after every pothole", "shimmy"),
    ("the rim swings from side to side in my hands", "shimmy"),
    ("steering feels vague around the middle", "vague-steering"),
    ("dead spot in the centre of the steering", "vague-steering"),
    ("play in the steering, loose steering", "steering-free-play"),
    ("the rear is floaty over crests", "floaty-rear"),
    ("back end keeps bouncing after a dip", "floaty-rear"),
    ("one front wheel leans in at the top", "front-camber-one-side"),
    ("camber out on the left front", "front-camber-one-side"),
]


@pytest.mark.parametrize(("words", "complaint"), WORDINGS)
def test_the_drivers_words(words: str, complaint: str) -> None:
    found = match_complaint(LIBRARY, words)
    assert found, "nothing is offered"
    assert found[0].complaint == complaint, [(m.complaint, round(m.score)) for m in found]


@pytest.mark.parametrize(
    ("words", "complaint"),
    [(say, c.id) for c in LIBRARY.complaints.values() for say in c.says],
)
def test_every_wording_of_the_trees_means_its_own_complaint(words: str, complaint: str) -> None:
    assert match_complaint(LIBRARY, words)[0].complaint == complaint


@pytest.mark.parametrize("complaint", LIBRARY.complaints)
def test_an_id_or_a_name_matches_whole(complaint: str) -> None:
    name = LIBRARY.complaints[complaint].name
    for words in (
        complaint,
        complaint.upper(),
        f"  {complaint} ",
        complaint.replace("-", " "),
        name,
        name.lower(),
    ):
        found = match_complaint(LIBRARY, words)
        assert [(m.complaint, m.score) for m in found] == [(complaint, 100.0)]


@pytest.mark.parametrize(
    "words", ["", "   ", "?!", "it is the car", "purple elephants", "xqzzt", "12", "日本"]
)
def test_nonsense_means_nothing(words: str) -> None:
    assert match_complaint(LIBRARY, words) == []


def test_a_slip_of_the_pen_is_forgiven() -> None:
    assert match_complaint(LIBRARY, "wnaders on the motorway")[0].complaint == "wander"
    assert match_complaint(LIBRARY, "pulls to one sdie")[0].complaint == "pull-to-one-side"


def test_every_match_says_which_wording_it_resembles() -> None:
    for words, _ in WORDINGS:
        for match in match_complaint(LIBRARY, words):
            complaint = LIBRARY.complaints[match.complaint]
            assert match.because in (complaint.name, complaint.about, *complaint.says)


@given(st.text(max_size=60))
def test_any_text_gives_matches_in_order_or_none(words: str) -> None:
    found = match_complaint(LIBRARY, words)
    scores = [match.score for match in found]
    assert scores == sorted(scores, reverse=True)
    assert all(LEAST <= score <= 100.0 for score in scores)
    assert len({match.complaint for match in found}) == len(found)
    assert match_complaint(LIBRARY, words) == found
