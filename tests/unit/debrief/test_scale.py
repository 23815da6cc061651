"""The ten-point scale: SAE J1441 as told at second hand, its words, and what is typed."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.debrief.scale import WORDS, answer, parse_rating, rating_words
from diagnose.errors import InputError
from diagnose.model.story import ANSWERS
from tests.drives import ratings


def test_five_is_the_border_on_both_columns() -> None:
    # SAE J1441 (2024 edition), second hand: 5 is borderline, 10 best, 1 not acceptable.
    assert WORDS[5] == ("borderline", "borderline")
    assert WORDS[10] == ("imperceptible", "excellent")
    assert WORDS[1] == ("not acceptable", "not acceptable")
    assert sorted(WORDS) == list(range(1, 11))


@pytest.mark.parametrize(
    ("rating", "control", "words"),
    [
        (6, False, "moderate"),
        (6, True, "fair"),
        (6.5, False, "some to moderate"),
        (7.5, True, "good"),
        (9.5, False, "imperceptible to trace"),
        (9.5, True, "excellent"),
        (1.5, True, "very poor to not acceptable"),
    ],
)
def test_a_rating_in_words(rating: float, control: bool, words: str) -> None:
    assert rating_words(rating, control) == words


@pytest.mark.parametrize(
    ("text", "rating"),
    [
        ("6", 6.0),
        (" 6.5 ", 6.5),
        ("6,5", 6.5),
        ("7.50", 7.5),
        ("6/10", 6.0),
        ("moderate", 6.0),
        ("Annoying", 4.0),
        ("A  little", 8.0),
        ("a-little", 8.0),
        ("very poor", 2.0),
        ("poor", 3.5),
        ("excellent", 9.5),
        ("good", 7.5),
        ("not acceptable", 1.0),
        ("some to moderate", 6.5),
    ],
)
def test_typed_text_becomes_a_rating(text: str, rating: float) -> None:
    assert parse_rating(text) == rating


@pytest.mark.parametrize("text", ["0", "10.5", "11", "6.3", "99"])
def test_a_number_off_the_scale_is_told(text: str) -> None:
    with pytest.raises(InputError) as told:
        parse_rating(text)
    assert str(told.value) == (
        f"{text} is not on the scale: write 1 (not acceptable) to 10 (imperceptible), in halves"
    )


@pytest.mark.parametrize("text", ["", "loud", "to", "6 to 7 to 8", "poor to loud", "nan", "-6", "6e0", "٦"])
def test_what_is_no_rating_is_told_with_the_mend(text: str) -> None:
    with pytest.raises(InputError) as told:
        parse_rating(text)
    assert str(told.value) == (
        f"{text!r} is not a rating: write 1 to 10 such as 6 or 6.5, or a word of the scale such as moderate "
        "or annoying"
    )


@given(st.text(max_size=30))
def test_any_text_is_a_rating_on_the_scale_or_refused(text: str) -> None:
    try:
        rating = parse_rating(text)
    except InputError:
        return
    assert 1.0 <= rating <= 10.0 and (2.0 * rating).is_integer()


@given(ratings, st.booleans())
def test_the_words_of_a_rating_read_back_within_half_a_point(rating: float, control: bool) -> None:
    assert abs(parse_rating(rating_words(rating, control)) - rating) <= 0.5


def test_how_surely_it_was_felt() -> None:
    # Estimates of docs/debrief.md.
    said = {rating: answer(rating) for rating in (10, 9.5, 9, 8.5, 8, 7.5, 7, 5, 1)}
    assert said == {
        10: "no",
        9.5: "probably-not",
        9: "cannot-tell",
        8.5: "probably",
        8: "probably",
        7.5: "yes",
        7: "yes",
        5: "yes",
        1: "yes",
    }
    control = {rating: answer(rating, control=True) for rating in (9, 8.5, 8, 7.5, 7, 6.5)}
    assert control == {
        9: "no",
        8.5: "probably-not",
        8: "cannot-tell",
        7.5: "probably",
        7: "probably",
        6.5: "yes",
    }


@pytest.mark.parametrize("control", [False, True])
def test_a_worse_rating_is_never_felt_less_surely(control: bool) -> None:
    sure = [ANSWERS.index(answer(halves / 2.0, control)) for halves in range(2, 21)]
    assert all(worse <= better for worse, better in pairwise(sure))
    assert set(sure) == set(range(len(ANSWERS)))
