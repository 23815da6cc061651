"""What a typed line means at a check: every form of answer, every command, every message."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.choice.outcomes import Spot
from diagnose.errors import InputError
from diagnose.model.check import Finding, Limit, Reading
from diagnose.model.library import Library
from diagnose.model.position import CORNERS
from diagnose.model.story import Seen
from diagnose.screen.answers import COMMANDS, Command, hint, parse

CLUNK = Finding("c/clunk", "c", "a clunk", ("yes",), (0.1,))
MOVES = replace(CLUNK, id="c/moves", name="the joint moves", where="each-front-corner")
WORN = replace(CLUNK, id="c/worn", name="worn tread", where="each-corner")
STIFF = Finding("c/stiff", "c", "how stiff", ("stiff", "very stiff"), (0.1, 0.1), none="easy")
SIDED = replace(STIFF, id="c/sided", where="each-front-corner")
PLAY = Finding(
    "c/play",
    "c",
    "play",
    ("past the feel limit", "past the inspection limit"),
    (0.1, 0.1),
    where="each-front-corner",
    none="inside all limits",
    reading=Reading(
        "length", "mm", (Limit(8, "past the feel limit"), Limit(13, "past the inspection limit"))
    ),
)
LIBRARY = cast(Library, SimpleNamespace(findings={f.id: f for f in (CLUNK, MOVES, WORN, STIFF, SIDED, PLAY)}))
LEFT, RIGHT = "front-left", "front-right"

#: Five findings: 1 no side, 2 two sides, 3 graded, 4 a reading with two sides, 5 four corners.
SEVERAL = [
    Spot("c/clunk", None),
    Spot("c/moves", LEFT),
    Spot("c/moves", RIGHT),
    Spot("c/stiff", None),
    Spot("c/play", LEFT),
    Spot("c/play", RIGHT),
    *(Spot("c/worn", corner) for corner in CORNERS),
]


def told(spots: Sequence[Spot], text: str) -> list[Seen]:
    answers = parse(LIBRARY, spots, text)
    assert isinstance(answers, list)
    assert [(seen.finding, seen.position) for seen in answers] == [(s.finding, s.position) for s in spots]
    return answers


def seen(text: str) -> dict[str, Any]:
    """What was said of the five findings but for `no`; `4r` -> answer, or (answer, reading)."""
    names = {"c/clunk": "1", "c/moves": "2", "c/stiff": "3", "c/play": "4", "c/worn": "5"}
    sides = {None: "", LEFT: "l", RIGHT: "r"}
    corners = dict(zip(CORNERS, ("fl", "fr", "rl", "rr"), strict=True))
    found = {}
    for each in told(SEVERAL, text):
        place = corners[str(each.position)] if each.finding == "c/worn" else sides[each.position]
        if each.answer != "no":
            value = each.answer if each.reading is None else (each.answer, each.reading)
            found[names[each.finding] + place] = value
    return found


# One finding at one place -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        ("y", "yes"),
        ("yes", "yes"),
        ("Y", "yes"),
        ("  yes  ", "yes"),
        ("1", "yes"),
        ("p", "probably"),
        ("probably", "probably"),
        ("c", "cannot-tell"),
        ("cannot-tell", "cannot-tell"),
        ("cannot tell", "cannot-tell"),
        ("m", "probably-not"),
        ("probably not", "probably-not"),
        ("Probably  Not", "probably-not"),
        ("probably-not", "probably-not"),
        ("n", "no"),
        ("no", "no"),
        ("0", "no"),
    ],
)
def test_yes_or_no(typed: str, answer: str) -> None:
    assert told([Spot("c/clunk", None)], typed) == [Seen("c/clunk", None, answer)]
    assert told([Spot("c/moves", RIGHT)], typed) == [Seen("c/moves", RIGHT, answer)]


@pytest.mark.parametrize("typed", ["2", "maybe", "yesno", "1 2", "1?", "-", "²", "9" * 5000])
def test_no_answer_to_a_single_question(typed: str) -> None:
    with pytest.raises(InputError) as raised:
        parse(LIBRARY, [Spot("c/clunk", None)], typed)
    assert str(raised.value).endswith(
        " is not an answer: y yes, p probably, c cannot tell, m probably not, n no"
    )


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        ("1", "stiff"),
        ("2", "very stiff"),
        ("b", "very stiff"),
        ("stiff", "stiff"),
        ("Very Stiff", "very stiff"),
        ("very", "very stiff"),
        ("0", "no"),
        ("easy", "no"),
        ("n", "no"),
        ("c", "cannot-tell"),
    ],
)
def test_grades(typed: str, answer: str) -> None:
    assert told([Spot("c/stiff", None)], typed) == [Seen("c/stiff", None, answer)]


def test_no_such_grade() -> None:
    with pytest.raises(InputError) as raised:
        parse(LIBRARY, [Spot("c/stiff", None)], "4")
    assert str(raised.value) == "'4' is not one of: 0 easy, 1 stiff, 2 very stiff"


@pytest.mark.parametrize(
    ("typed", "answer", "reading"),
    [
        ("9", "past the feel limit", 9.0),
        ("9 mm", "past the feel limit", 9.0),
        ("9mm", "past the feel limit", 9.0),
        ("7,9", "inside all limits", 7.9),
        ("8", "past the feel limit", 8.0),
        ("1.3 cm", "past the inspection limit", 13.0),
        ("0", "inside all limits", 0.0),
        ("1", "inside all limits", 1.0),
        ("c", "cannot-tell", None),
    ],
)
def test_readings(typed: str, answer: str, reading: float | None) -> None:
    assert told([Spot("c/play", LEFT)], typed) == [Seen("c/play", LEFT, answer, reading)]


def test_inches_are_converted() -> None:
    (answer,) = told([Spot("c/play", LEFT)], "0.35 in")
    assert answer.answer == "past the feel limit"
    assert answer.reading == pytest.approx(8.89)


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("9 bar", "'bar' is not a unit of this reading: write it in mm, cm, m, in, inch, \""),
        ("y", "'y' is not a number: write a number, such as 9 mm"),
        ("much", "'much' is not a number: write a number, such as 9 mm"),
    ],
)
def test_no_reading(typed: str, message: str) -> None:
    with pytest.raises(InputError) as raised:
        parse(LIBRARY, [Spot("c/play", LEFT)], typed)
    assert str(raised.value) == message


# Several findings ------------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", ["0", "n", "no", "none", "NONE"])
def test_none_of_it(typed: str) -> None:
    assert all(answer.answer == "no" for answer in told(SEVERAL, typed))


@pytest.mark.parametrize("typed", ["c", "cannot-tell", "cannot tell"])
def test_cannot_tell_any_of_it(typed: str) -> None:
    assert all(answer.answer == "cannot-tell" for answer in told(SEVERAL, typed))


@pytest.mark.parametrize(
    ("typed", "answers"),
    [
        ("1", {"1": "yes"}),
        ("1+", {"1": "yes"}),
        ("2", {"2l": "yes", "2r": "yes"}),
        ("2l", {"2l": "yes"}),
        ("1 2r", {"1": "yes", "2r": "yes"}),
        ("1, 2r", {"1": "yes", "2r": "yes"}),
        ("1,2r", {"1": "yes", "2r": "yes"}),
        ("1;2r", {"1": "yes", "2r": "yes"}),
        ("1?", {"1": "probably"}),
        ("1~", {"1": "cannot-tell"}),
        ("1-?", {"1": "probably-not"}),
        ("1-", {}),
        ("2 2r-", {"2l": "yes"}),
        ("2l? 2r~", {"2l": "probably", "2r": "cannot-tell"}),
        ("3=b", {"3": "very stiff"}),
        ("3=1", {"3": "stiff"}),
        ("3 = very stiff", {"3": "very stiff"}),
        ("3~", {"3": "cannot-tell"}),
        ("3=very stiff 1", {"3": "very stiff", "1": "yes"}),
        ("4r=9 mm", {"4r": ("past the feel limit", 9.0)}),
        ("4l=14", {"4l": ("past the inspection limit", 14.0)}),
        ("4l=1 cm 4r=2", {"4l": ("past the feel limit", 10.0), "4r": ("inside all limits", 2.0)}),
        ("4l=9,5 mm", {"4l": ("past the feel limit", 9.5)}),
        ("4=9 1", {"4l": ("past the feel limit", 9.0), "4r": ("past the feel limit", 9.0), "1": "yes"}),
        ("4l~ 4r=9", {"4l": "cannot-tell", "4r": ("past the feel limit", 9.0)}),
        ("5rl", {"5rl": "yes"}),
        ("5l", {"5fl": "yes", "5rl": "yes"}),
        ("5r?", {"5fr": "probably", "5rr": "probably"}),
        ("5fl, 5rr, 1?", {"5fl": "yes", "5rr": "yes", "1": "probably"}),
    ],
)
def test_numbers_with_places_marks_and_values(typed: str, answers: dict[str, Any]) -> None:
    assert seen(typed) == answers


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("6", "there is no 6: the list goes from 1 to 5"),
        ("1 99", "there is no 99: the list goes from 1 to 5"),
        ("1l", "1 has no sides: write 1 alone"),
        ("2fl", "2fl: write 2l or 2r"),
        ("5f", "5f: write 5fl or 5fr or 5rl or 5rr"),
        ("1=a", "1 takes no value: write 1, 1? or 1~"),
        ("3", "3 has grades: write 3=a stiff, 3=b very stiff"),
        ("3?", "3 has grades: write 3=a stiff, 3=b very stiff"),
        ("3=d", "'d' is not one of: 0 easy, 1 stiff, 2 very stiff"),
        ("4", "4 is a reading: write 4=8 mm, or 4~ if it was not measured"),
        ("4l?", "4 is a reading: write 4=8 mm, or 4~ if it was not measured"),
        ("4=9 bar", "'bar' is not a unit of this reading: write it in mm, cm, m, in, inch, \""),
        ("both", "'both' is not understood: write numbers such as 1 3, 2l for left, 2? if unsure"),
        ("1 left", "'left' is not understood: write numbers such as 1 3, 2l for left, 2? if unsure"),
        ("1 ?", "'?' is not understood: write numbers such as 1 3, 2l for left, 2? if unsure"),
        ("²", "'²' is not understood: write numbers such as 1 3, 2l for left, 2? if unsure"),
    ],
)
def test_what_cannot_be_understood(typed: str, message: str) -> None:
    with pytest.raises(InputError) as raised:
        parse(LIBRARY, SEVERAL, typed)
    assert str(raised.value) == message


def test_one_finding_at_two_places_is_several() -> None:
    spots = [Spot("c/sided", LEFT), Spot("c/sided", RIGHT)]
    assert [a.answer for a in told(spots, "1l=a 1r=b")] == ["stiff", "very stiff"]


@pytest.mark.parametrize("spots", [SEVERAL, SEVERAL[:1]])
def test_an_empty_line_is_no_answer(spots: list[Spot]) -> None:
    with pytest.raises(InputError) as raised:
        parse(LIBRARY, spots, "   ")
    assert str(raised.value) == "type an answer, or h for help"


# Commands ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("spots", [SEVERAL, SEVERAL[:1], [Spot("c/stiff", None)], [Spot("c/play", LEFT)]])
@pytest.mark.parametrize(("letter", "word"), [(letter, word) for letter, (word, _) in COMMANDS.items()])
def test_every_command_by_letter_and_by_word(spots: list[Spot], letter: str, word: str) -> None:
    assert parse(LIBRARY, spots, letter) == Command(word)
    assert parse(LIBRARY, spots, f" {word.upper()} ") == Command(word)


@pytest.mark.parametrize(
    ("typed", "command"),
    [
        ("w 2", Command("why", "2")),
        ("why 2", Command("why", "2")),
        ("?", Command("why")),
        ("o the tyres", Command("others", "the tyres")),
        ("u 3", Command("undo", "3")),
        ("t Left rear  tyre is new", Command("text", "Left rear tyre is new")),
        ("a it pulls to the left", Command("add", "it pulls to the left")),
        ("r money", Command("ranking", "money")),
    ],
)
def test_commands_take_what_is_typed_behind_them(typed: str, command: Command) -> None:
    assert parse(LIBRARY, SEVERAL, typed) == command


@given(st.text(max_size=40))
def test_any_text_is_an_answer_a_command_or_an_input_error(text: str) -> None:
    for spots in (SEVERAL, SEVERAL[:1], [Spot("c/stiff", None)], [Spot("c/play", LEFT)]):
        try:
            found = parse(LIBRARY, spots, text)
        except InputError as error:
            assert str(error).strip()
            continue
        assert isinstance(found, Command) or len(found) == len(spots)


@given(st.text(alphabet="0123456789lrfcyn?~-+=,; mab", max_size=25))
def test_any_near_miss_is_understood_or_refused(text: str) -> None:
    try:
        found = parse(LIBRARY, SEVERAL, text)
    except InputError:
        return
    assert isinstance(found, Command) or [(s.finding, s.position) for s in found] == [
        (s.finding, s.position) for s in SEVERAL
    ]


# The line that says how to answer -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("spots", "line"),
    [
        ([Spot("c/clunk", None)], "[y] yes [p] probably [c] cannot tell [m] probably not [n] no"),
        ([Spot("c/stiff", None)], "[1] stiff [2] very stiff [0] easy [c] cannot tell"),
        ([Spot("c/play", LEFT)], "a number in mm [c] cannot tell"),
        (SEVERAL, "the numbers of what you saw, 0 for none of it"),
    ],
)
def test_hints(spots: list[Spot], line: str) -> None:
    assert hint(LIBRARY, spots) == line


# Where one of the grades always holds ---------------------------------------------------------------------

ROADS = replace(STIFF, id="c/roads", levels=("on smooth road too", "on rough road only"), none="cannot tell")
ASKED = cast(Library, SimpleNamespace(findings={ROADS.id: ROADS, CLUNK.id: CLUNK}))


def test_where_one_grade_always_holds_none_is_offered() -> None:
    assert (
        hint(ASKED, [Spot(ROADS.id, None)]) == "[1] on smooth road too [2] on rough road only [c] cannot tell"
    )
    with pytest.raises(
        InputError, match="not one of: c cannot tell, 1 on smooth road too, 2 on rough road only"
    ):
        parse(ASKED, [Spot(ROADS.id, None)], "3")


@pytest.mark.parametrize("typed", ["0", "n", "no", "c", "cannot tell"])
def test_where_one_grade_always_holds_no_is_not_being_able_to_tell(typed: str) -> None:
    assert parse(ASKED, [Spot(ROADS.id, None)], typed) == [Seen(ROADS.id, None, "cannot-tell")]


@pytest.mark.parametrize("typed", ["0", "1", "1 2-", "1 2=0"])
def test_the_same_among_several_findings(typed: str) -> None:
    first, second = parse(ASKED, [Spot(CLUNK.id, None), Spot(ROADS.id, None)], typed)
    assert (first.answer, second.answer) == ("no" if typed == "0" else "yes", "cannot-tell")
