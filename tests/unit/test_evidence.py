"""From answers to likelihoods, and one event observed twice is still one event."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.belief.belief import Belief, Car
from diagnose.belief.engine import Engine
from diagnose.belief.evidence import finding_weights, heard_weights, merge, observe, seen_weights
from diagnose.belief.network import expand
from diagnose.errors import NOWHERE
from diagnose.library.shelf import load
from diagnose.model.check import Finding
from diagnose.model.story import ANSWERS, Heard, Seen, Story
from diagnose.model.vehicle import Vehicle
from tests.small_trees import SMALL, compiled, edited

LIBRARY, SHIPPED = compiled(SMALL)[0].library, load()
FINDINGS = [(f, None) for f in LIBRARY.findings if not LIBRARY.findings[f].where]
FINDINGS += [("rock-the-steering/end-moves", p) for p in ("front-left", "front-right")]
NETWORK = expand(LIBRARY, Vehicle(facts={"steering": "rack"}), {"wander": None}, FINDINGS)
STIFF, PLAY = "rock-the-steering/how-stiff", "rock-the-steering/rim-play"
MOVES, FELT = "rock-the-steering/end-moves", "rock-the-steering/wander-felt"


@pytest.mark.parametrize(
    ("answer", "weights"),
    [
        ("yes", (0.0, 1.0)),
        ("probably", (0.2, 0.8)),
        ("cannot-tell", None),
        ("probably-not", (0.8, 0.2)),
        ("no", (1.0, 0.0)),
    ],
)
def test_yes_or_no(answer: str, weights: tuple[float, ...] | None) -> None:
    told = seen_weights(LIBRARY, NETWORK, Seen(MOVES, "front-left", answer))
    assert told == (None if weights is None else (f"{MOVES}@front-left", pytest.approx(weights)))


@pytest.mark.parametrize(
    ("answer", "weights"),
    [
        ("stiff", (0.0, 1.0, 0.0)),
        ("very stiff", (0.0, 0.0, 1.0)),
        ("easy", (1.0, 0.0, 0.0)),
        ("no", (1.0, 0.0, 0.0)),
        ("yes", (0.0, 1.0, 1.0)),
        ("probably", (0.2, 0.8, 0.8)),
        ("cannot-tell", None),
        ("of another trees", None),
    ],
)
def test_grades(answer: str, weights: tuple[float, ...] | None) -> None:
    told = seen_weights(LIBRARY, NETWORK, Seen(STIFF, None, answer))
    assert told == (None if weights is None else (STIFF, pytest.approx(weights)))


@pytest.mark.parametrize(
    ("answer", "reading", "weights"),
    [
        ("past the feel limit", 9.0, (0.0, 1.0, 0.0)),
        ("past the inspection limit", 15.0, (0.0, 0.0, 1.0)),
        ("inside all limits", 5.0, (1.0, 0.0, 0.0)),
        ("past the feel limit", None, (0.0, 1.0, 0.0)),
    ],
)
def test_bands_of_a_reading(answer: str, reading: float | None, weights: tuple[float, ...]) -> None:
    assert seen_weights(LIBRARY, NETWORK, Seen(PLAY, None, answer, reading)) == (PLAY, weights)


def test_shares_say_more_than_the_word() -> None:
    shares = (0.2, 0.7, 0.1)
    assert seen_weights(LIBRARY, NETWORK, Seen(PLAY, None, "past the feel limit", shares=shares)) == (
        PLAY,
        shares,
    )
    # Alike at every state, or of another number of states, they say nothing of their own.
    flat = Seen(PLAY, None, "past the feel limit", shares=(0.5, 0.5, 0.5))
    assert seen_weights(LIBRARY, NETWORK, flat) is None
    short = Seen(PLAY, None, "past the feel limit", shares=(0.5, 0.5))
    assert seen_weights(LIBRARY, NETWORK, short) == (PLAY, (0.0, 1.0, 0.0))


def test_a_grade_called_as_an_answer_is_still_the_answer() -> None:
    odd = Finding("c/f", "c", "f", ("probably", "no"), (0.1, 0.1), place=NOWHERE)
    assert finding_weights(odd, Seen("c/f", None, "probably"), 2) == pytest.approx((0.2, 0.8, 0.8))


@pytest.mark.parametrize(
    ("by", "answer", "weights"),
    [
        # (P(answer | not there), P(answer | there)); the driver 0.95 and 0.05, the road test 0.95 and 0.03.
        ("driver", "yes", (0.05, 0.95)),
        ("driver", "no", (0.95, 0.05)),
        ("driver", "probably", (0.8 * 0.05 + 0.2 * 0.95, 0.8 * 0.95 + 0.2 * 0.05)),
        ("driver", "probably-not", (0.2 * 0.05 + 0.8 * 0.95, 0.2 * 0.95 + 0.8 * 0.05)),
        ("road-test", "yes", (0.03, 0.95)),
        ("road-test", "no", (0.97, 0.05)),
        ("driver", "cannot-tell", None),
    ],
)
def test_a_complaint_as_told_and_as_felt(by: str, answer: str, weights: tuple[float, float] | None) -> None:
    told = heard_weights(LIBRARY, Heard("wander", None, answer, by))
    assert told == (None if weights is None else ("wander", pytest.approx(weights)))


@pytest.mark.parametrize(
    ("answer", "weights"),
    [
        ("yes", (0.05, 0.9)),
        ("no", (0.95, 0.1)),
        ("probably", (0.8 * 0.05 + 0.2 * 0.95, 0.8 * 0.9 + 0.2 * 0.1)),
    ],
)
def test_a_finding_that_repeats_the_complaint_observes_it(answer: str, weights: tuple[float, float]) -> None:
    assert seen_weights(LIBRARY, NETWORK, Seen(FELT, None, answer)) == ("wander", pytest.approx(weights))


def test_a_repeat_of_a_complaint_not_heard_says_nothing() -> None:
    network = expand(LIBRARY, Vehicle(), {"pull": None}, FINDINGS)
    assert seen_weights(LIBRARY, network, Seen(FELT)) is None


def test_a_repeat_of_a_graded_finding_is_seen_from_its_first_grade() -> None:
    files = edited(("checks.yaml", "repeats: wander", "repeats: rock-the-steering/how-stiff"))
    draft, problems = compiled(files)
    assert not problems
    network = expand(draft.library, Vehicle(facts={"steering": "rack"}), {}, [(STIFF, None)])
    assert seen_weights(draft.library, network, Seen(FELT)) == (STIFF, pytest.approx((0.05, 0.9, 0.9)))


def test_observations_come_in_order_complaints_first_without_those_that_say_nothing() -> None:
    heard = [Heard("wander"), Heard("wander", None, "cannot-tell", "road-test")]
    seen = [Seen(STIFF, None, "stiff"), Seen(MOVES, "front-left", "cannot-tell"), Seen(FELT)]
    assert [key for key, _ in observe(LIBRARY, NETWORK, heard, seen)] == ["wander", STIFF, "wander"]


def test_two_observations_of_one_event_are_one_set_of_weights() -> None:
    heard = [Heard("wander"), Heard("wander", None, "yes", "road-test")]
    merged = merge(observe(LIBRARY, NETWORK, heard, [Seen(FELT)]))
    assert merged == {"wander": pytest.approx((0.05 * 0.03 * 0.05, 0.95 * 0.95 * 0.9))}


@given(st.lists(st.sampled_from([a for a in ANSWERS if a != "cannot-tell"]), min_size=1, max_size=4))
def test_a_repeat_tells_of_the_causes_only_through_the_event(answers: list[str]) -> None:
    """However often it is felt: given the complaint, the causes stand as they do once it is certain.

    As independent facts the repeats would multiply and drive a cause far beyond that.
    """
    engine = Engine(NETWORK)
    certain = engine.ask([{"wander": (0.0, 1.0)}]).present[0]
    absent = engine.ask([{"wander": (1.0, 0.0)}]).present[0]
    seen = [Seen(FELT, None, answer) for answer in answers]
    answer = engine.ask([merge(observe(LIBRARY, NETWORK, [Heard("wander")], seen))], ["wander"])
    there = answer.node("wander")
    mixed = there * certain + (1.0 - there) * absent
    assert list(answer.present[0]) == pytest.approx(list(mixed), abs=1e-9)


def test_of_who_cannot_tell_which_grade_holds_nothing_is_learnt() -> None:
    """A driver who never watched tells nothing: the belief stays as it was to the last bit."""
    name = "ask-same-on-both-crowns/pull-and-slope"
    assert SHIPPED.findings[name].always
    vehicle = Vehicle(facts={}, km=150_000.0)
    car = Car(SHIPPED, vehicle, {"pull-to-one-side": "left"})
    told = Story(vehicle, (Heard("pull-to-one-side", "left"),))
    before = Belief(car, told)
    for word in ("cannot-tell", SHIPPED.findings[name].none):
        after = Belief(car, replace(told, seen=(Seen(name, None, word),)))
        assert np.array_equal(after.to_blame, before.to_blame)
