"""Words for likelihood: the bands end where they say, and a number never claims certainty."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.model.position import POSITIONS
from diagnose.words import likelihood, of_100, place_name, stands, stands_words

BANDS = [
    (0.99, "very likely", "virtually certain"),
    (0.90, "likely", "very likely"),
    (0.66, "as likely as not", "likely"),
    (0.33, "unlikely", "as likely as not"),
    (0.10, "very unlikely", "unlikely"),
    (0.01, "exceptionally unlikely", "very unlikely"),
]


@pytest.mark.parametrize(("edge", "at", "above"), BANDS)
def test_a_band_begins_above_its_edge(edge: float, at: str, above: str) -> None:
    assert likelihood(edge) == at
    assert likelihood(math.nextafter(edge, 1.0)) == above


def test_the_ends() -> None:
    assert likelihood(0.0) == "exceptionally unlikely"
    assert likelihood(1.0) == "virtually certain"


@pytest.mark.parametrize(
    ("p", "text"),
    [
        (0.0, "<1"),
        (0.00499, "<1"),
        (0.0051, "1"),
        (0.014, "1"),
        (0.126, "13"),
        (0.5, "50"),
        (0.994, "99"),
        (0.9951, ">99"),
        (1.0, ">99"),
    ],
)
def test_so_many_of_100(p: float, text: str) -> None:
    assert of_100(p) == text


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_is_never_said_of_less(one: float, other: float) -> None:
    low, high = sorted((one, other))
    order = ["exceptionally unlikely", *(word for _, _, word in reversed(BANDS))]
    assert order.index(likelihood(low)) <= order.index(likelihood(high))
    number = {"<1": 0.5, ">99": 99.5}
    first, second = (float(number.get(of_100(p), of_100(p))) for p in (low, high))
    assert first <= second


@given(st.floats(0.0, 1.0))
def test_nothing_is_said_to_be_certain_or_impossible(p: float) -> None:
    assert of_100(p) not in ("0", "100")


@pytest.mark.parametrize("position", POSITIONS)
def test_places_in_words(position: str) -> None:
    name = place_name(position)
    assert "-" not in name
    assert name == ("" if position == "centre" else " ".join(position.split("-")))


def test_the_whole_car_has_no_place() -> None:
    assert place_name(None) == ""


@pytest.mark.parametrize(
    ("before", "now", "how", "words"),
    [
        (0.09, 0.49, "leads", "leads to it"),
        (0.04, 0.0133, "out", "as good as ruled out"),
        (0.04, 0.014, "open", "less likely"),  # more than a third is left
        (0.3, 0.03, "open", "less likely"),  # not below 3 of 100
        (0.039, 0.001, "open", "less likely"),  # nobody thought of it
        (0.10, 0.10, "open", "still open"),
        (0.05, 0.085, "open", "likelier"),
        (0.05, 0.08, "open", "still open"),
        (0.33, 0.33, "open", "still open"),
        (0.33, 0.331, "leads", "leads to it"),
    ],
)
def test_how_a_cause_stands_after_it_was_looked_into(before: float, now: float, how: str, words: str) -> None:
    # The limits are those of docs/method.md, section 11.
    assert stands(before, now) == how and stands_words(before, now) == words
