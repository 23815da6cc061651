"""The belief over rounds of repair is exact: it agrees with counting every state, whatever happened.

Random trees over four faults, three repairs at most, with findings, drives, and complaints that faded or
came back.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import strategies as st

from diagnose.belief.belief import Belief
from diagnose.errors import ImpossibleAnswers
from diagnose.model.complaint import Complaint, Gate, Leaf
from diagnose.model.library import Library
from diagnose.model.story import Heard, Round, Seen, Story
from tests.counting import Counting, TooMany
from tests.examples import often
from tests.unit.test_repaired import ASKED, BOX, EITHER, MOVES, PLAY, with_complaints

PARTS = (
    ("rod-end-play", "front-left"),
    ("rod-end-play", "front-right"),
    ("tyres-soft", "front"),
    ("tyres-soft", "rear"),
)
#: Worlds counted at most: what is larger is not drawn, so that the test stays quick.
WORLDS = 2**16

strengths = st.sampled_from([0.05, 0.3, 0.5, 0.8, 1.0 - 1e-3])


@st.composite
def libraries(draw: st.DrawFn) -> Library:
    """One or two complaints, each a small tree over the same faults."""
    complaints = []
    for name in ("wander", "pull")[: draw(st.sampled_from([1, 1, 1, 2]))]:
        one, other = Leaf("tyres-soft", draw(strengths)), Leaf("rod-end-play", draw(strengths))
        leak = draw(st.sampled_from([0.02, 0.1, 0.3]))
        shape = draw(st.sampled_from(["one", "either", "both", "both or one"]))
        branches: tuple[Leaf | Gate, ...] = {
            "one": (one,),
            "either": (one, other),
            "both": (Gate("all", 2, (one, other), strength=draw(strengths)),),
            "both or one": (Gate("all", 2, (one, other)), replace(other, strength=draw(strengths))),
        }[shape]
        complaints.append(Complaint(name, shape, Gate("any", 1, branches, leak=leak)))
    library = with_complaints(*complaints)
    moves = library.findings[MOVES]
    links = tuple(replace(each, detection=(draw(strengths),)) for each in moves.links)
    return replace(library, findings={**library.findings, MOVES: replace(moves, links=links)})


def seen(draw: st.DrawFn) -> tuple[Seen, ...]:
    answers = st.sampled_from(["yes", "probably", "probably-not", "no"])
    found = [
        Seen(MOVES, place, draw(answers))
        for place in ("front-left", "front-right")
        if draw(st.sampled_from([True, False, False]))
    ]
    if draw(st.sampled_from([True, False, False])):
        found.append(Seen(ASKED, None, draw(answers)))
    if draw(st.sampled_from([True, False, False, False])):
        found.append(Seen(PLAY, None, "past the feel limit", 9.0))
    return tuple(found)


def heard(draw: st.DrawFn, library: Library, answers: list[str]) -> tuple[Heard, ...]:
    return tuple(
        Heard(each, None, draw(st.sampled_from(answers)), draw(st.sampled_from(["driver", "road-test"])))
        for each in library.complaints
        if draw(st.sampled_from([True, True, False]))
    )


@st.composite
def stories(draw: st.DrawFn, library: Library) -> Story:
    """A car with up to three repairs; between them, now and then, a look at it some time later."""
    told = [Heard(each, None, draw(st.sampled_from(["yes", "probably"]))) for each in library.complaints]
    words = ["yes", "probably", "faded", "probably-not", "no"]
    rounds: list[Round] = []
    fitted: list[tuple[str, str]] = []
    for _ in range(draw(st.sampled_from([1, 2, 3, 3, 3]))):
        cured = tuple(draw(st.lists(st.sampled_from(PARTS), min_size=0, max_size=2, unique=True)))
        fitted += cured
        rounds.append(Round(cured, heard(draw, library, words), seen(draw)))
        days = 0.0
        for _ in range(draw(st.sampled_from([0, 0, 1, 2]))):
            days += draw(st.sampled_from([1.0, 10.0, 60.0]))
            since = draw(st.sampled_from([(days, None), (days, 1000.0), (None, 4000.0), (None, None)]))
            loose = tuple(draw(st.sets(st.sampled_from(fitted)))) if fitted else ()
            rounds.append(Round((), heard(draw, library, words), seen(draw), True, *since, loose))
    return Story(BOX, tuple(told), seen(draw), tuple(rounds))


@often(60, 400, st.data())
def test_every_round_equals_counting(data: st.DataObject) -> None:
    library = data.draw(libraries())
    told = data.draw(stories(library))
    try:
        every = Counting(library, told, WORLDS)
    except TooMany:
        assume(False)
        raise
    car = every.car.through(told)
    if every.total <= 0.0:
        with pytest.raises(ImpossibleAnswers):
            Belief(car, told)
        return
    belief = Belief(car, told)
    assert np.exp(belief.answer.log_evidence[0]) == pytest.approx(every.total, rel=1e-9)
    assert list(belief.present) == pytest.approx(list(every.present), abs=1e-9)
    assert belief.there == pytest.approx(every.there, abs=1e-9)
    assert belief.ended(0, len(told.rounds)) == pytest.approx(every.was_there, abs=1e-9)
    for cause, p in every.new_bad.items():
        assert belief.new_is_bad(cause) == pytest.approx(p, abs=1e-9)


def test_the_models_drawn_have_all_that_can_happen() -> None:
    """Three repairs, a later time, one that faded and one that came back: drawn and small enough to count."""
    told = Story(
        BOX,
        (Heard("wander"),),
        (Seen(MOVES, "front-left"),),
        (
            Round((PARTS[0],), (Heard("wander", None, "faded", "road-test"),)),
            Round((PARTS[2],), (Heard("wander", None, "no", "road-test"),)),
            Round((), (Heard("wander", None, "yes"),), (), True, 12.0, None, (PARTS[2],)),
            Round((PARTS[1],), (Heard("wander", None, "no", "road-test"),)),
        ),
    )
    every = Counting(EITHER, told)
    belief = Belief(every.car.through(told), told)
    assert list(belief.present) == pytest.approx(list(every.present), abs=1e-9)
    assert belief.ended(0, 4) == pytest.approx(every.was_there, abs=1e-9)
