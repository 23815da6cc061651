"""Several repairs and the drives after them, against counting every state of everything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.network import FRESH, Cause, Input, Network, Node, finding_key
from diagnose.belief.rounds import EARLY, LOOSE, failing, reach, worked_in
from diagnose.model.library import Library
from diagnose.model.story import Heard, Round, Seen, Story
from tests.counting import Counting
from tests.unit.test_repaired import (
    ASKED,
    BOTH,
    BOX,
    EITHER,
    FRONT,
    HELPED,
    LEFT,
    MOVES,
    PLAY,
    REAR,
    RIGHT,
    SLACK,
    TWO,
)

#: A second observer of the finding MOVES.
AGAIN = "rock-the-steering/moves-too"
TWICE = replace(
    EITHER,
    findings={
        **EITHER.findings,
        AGAIN: replace(
            EITHER.findings[MOVES],
            id=AGAIN,
            false_alarm=(0.05,),
            links=(),
            repeats=MOVES,
            hit=0.8,
        ),
    },
)

PLACES = {
    LEFT: ("rod-end-play", "front-left"),
    RIGHT: ("rod-end-play", "front-right"),
    FRONT: ("tyres-soft", "front"),
    REAR: ("tyres-soft", "rear"),
}


def after(
    *cured: str, said: str = "yes", seen: Sequence[Seen] = (), complaints: Sequence[str] = ("wander",)
) -> Round:
    heard = tuple(Heard(each, None, said, "road-test") for each in complaints)
    return Round(tuple(PLACES[each] for each in cured), heard, tuple(seen))


def since(
    said: str = "yes",
    days: float | None = None,
    km: float | None = None,
    seen: Sequence[Seen] = (),
    loose: Sequence[str] = (),
) -> Round:
    """The same car some time after its last repair."""
    heard = (Heard("wander", None, said, "road-test"),)
    return Round((), heard, tuple(seen), True, days, km, tuple(PLACES[each] for each in loose))


def story(library: Library, *rounds: Round, seen: Sequence[Seen] = ()) -> Story:
    heard = tuple(Heard(each) for each in library.complaints)
    return Story(BOX, heard, tuple(seen), rounds)


CASES = {
    "one, in vain": (EITHER, story(EITHER, after(LEFT))),
    "one, and it is gone": (EITHER, story(EITHER, after(LEFT, said="no"))),
    "gone, then back": (EITHER, story(EITHER, after(LEFT, said="no"), after(said="yes"))),
    "two, one after the other": (EITHER, story(EITHER, after(LEFT), after(FRONT, said="no"))),
    "three rounds": (
        EITHER,
        story(EITHER, after(LEFT), after(FRONT, said="probably"), after(RIGHT, said="no")),
    ),
    "the same part twice": (EITHER, story(EITHER, after(LEFT), after(LEFT, said="no"))),
    "two at once": (EITHER, story(EITHER, after(LEFT, RIGHT, said="probably-not"))),
    "looked at before and after": (
        EITHER,
        story(
            EITHER,
            after(LEFT, seen=[Seen(MOVES, "front-left", "no"), Seen(MOVES, "front-right", "yes")]),
            seen=[Seen(MOVES, "front-left", "yes")],
        ),
    ),
    "a new part that shows play": (
        EITHER,
        story(EITHER, after(LEFT, seen=[Seen(MOVES, "front-left", "yes")])),
    ),
    "seen again, but never itself, and then a repair": (
        TWICE,
        story(TWICE, after(LEFT, seen=[Seen(MOVES, "front-left", "no")]), seen=[Seen(AGAIN, "front-left")]),
    ),
    "readings in two rounds": (
        EITHER,
        story(
            EITHER,
            after(LEFT, seen=[Seen(PLAY, None, "inside all limits", 3.0)]),
            seen=[Seen(PLAY, None, "past the feel limit", 9.0)],
        ),
    ),
    "one arm of an AND": (BOTH, story(BOTH, after(FRONT, said="no", seen=[Seen(ASKED)]))),
    "a mechanism before and after": (
        HELPED,
        story(HELPED, after(LEFT, seen=[Seen(SLACK, None, "no")]), seen=[Seen(SLACK, None, "yes")]),
    ),
    "a mechanism through two repairs": (
        HELPED,
        story(
            HELPED, after(LEFT, seen=[Seen(SLACK)]), after(RIGHT, said="no", seen=[Seen(SLACK, None, "no")])
        ),
    ),
    "gone at first, back after days": (EITHER, story(EITHER, after(LEFT, said="no"), since("yes", 5.0))),
    "gone for good": (EITHER, story(EITHER, after(LEFT, said="no"), since("no", 30.0, 1500.0))),
    "gone, gone, and back, never tightened": (
        EITHER,
        story(
            EITHER,
            after(LEFT, said="no"),
            since("no", None, 500.0, loose=(LEFT,)),
            since("yes", 60.0, loose=(LEFT,), seen=[Seen(MOVES, "front-left", "yes")]),
        ),
    ),
    "back, then cured by another": (
        EITHER,
        story(EITHER, after(LEFT, said="no"), since("yes"), after(FRONT, said="no"), since("no", 20.0)),
    ),
    "back, and the same part once more": (
        EITHER,
        story(EITHER, after(LEFT, said="no"), since("yes", 10.0), after(LEFT, said="no")),
    ),
    "faded": (EITHER, story(EITHER, after(LEFT, said="faded"))),
    "faded later, with the other arm": (
        BOTH,
        story(BOTH, after(LEFT, said="probably-not"), since("faded", 8.0)),
    ),
    "faded through a mechanism": (HELPED, story(HELPED, after(LEFT, said="faded", seen=[Seen(SLACK)]))),
    "faded, of a tree that the driver told of": (
        EITHER,
        story(EITHER, after(FRONT, said="faded"), seen=[Seen(ASKED)]),
    ),
    "faded, then gone": (EITHER, story(EITHER, after(LEFT, said="faded"), after(FRONT, said="no"))),
    "the same part twice, faded": (EITHER, story(EITHER, after(LEFT), after(LEFT, RIGHT, said="faded"))),
    "two complaints, one cured": (
        TWO,
        story(
            TWO,
            Round(
                (PLACES[FRONT],),
                (Heard("wander", None, "no", "road-test"), Heard("pull", None, "yes", "road-test")),
            ),
        ),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_is_believed_after_all_rounds_equals_counting(name: str) -> None:
    library, told = CASES[name]
    every = Counting(library, told)
    car = every.car.through(told)
    belief = Belief(car, told)
    for number, cause in enumerate(car.causes):
        assert belief.present[number] == pytest.approx(every.present[number], abs=1e-9), cause.id
    for cause_number, p in every.new_bad.items():
        assert belief.new_is_bad(cause_number) == pytest.approx(p, abs=1e-9)
    assert belief.there == pytest.approx(every.there, abs=1e-9)
    assert belief.ended(0, len(told.rounds)) == pytest.approx(every.was_there, abs=1e-9)
    # P(everything told) as well: the rounds weigh one another.
    assert np.exp(belief.answer.log_evidence[0]) == pytest.approx(every.total, rel=1e-9)


def test_the_time_to_settle_is_shared_out_whatever_times_are_told() -> None:
    """Two looks at half time and at the end: the same chance in all as one at the end."""
    assert (worked_in(45.0, None), worked_in(45.0, 5000.0), worked_in(900.0, 0.5)) == (0.5, 1.0, 1.0)
    assert worked_in(None, None) == 1.0
    half, rest = failing(LOOSE, 0.0, 0.5), failing(LOOSE, 0.5, 1.0)
    assert 1.0 - (1.0 - half) * (1.0 - rest) == pytest.approx(LOOSE)
    assert failing(EARLY, 0.0, 1.0) == EARLY
    # A time told that lies before the last one adds nothing.
    assert failing(EARLY, 0.8, 0.3) == 0.0


def of(library: Library, told: Story) -> Belief:
    return Belief(Car(library, BOX, told.complaints).through(told), told)


def number(belief: Belief, name: str) -> int:
    return next(n for n, cause in enumerate(belief.causes) if cause.id == name)


def test_a_repair_in_vain_clears_its_cause_and_blames_the_others() -> None:
    before, vain = of(EITHER, story(EITHER)), of(EITHER, story(EITHER, after(LEFT)))
    assert vain.to_blame[number(vain, LEFT)] < 1e-9
    assert vain.to_blame[number(vain, FRONT)] > before.to_blame[number(before, FRONT)]
    assert vain.present[number(vain, LEFT)] < before.present[number(before, LEFT)]


def test_a_cure_speaks_for_its_cause() -> None:
    before, cured = of(EITHER, story(EITHER)), of(EITHER, story(EITHER, after(LEFT, said="no")))
    assert cured.present[number(cured, LEFT)] > before.present[number(before, LEFT)] + 0.15
    # The leak is left, the driver's own errors, and what stays away for a while after any work.
    assert cured.there < 0.25


def test_a_complaint_that_came_back_speaks_for_the_new_part() -> None:
    gone = story(EITHER, after(LEFT, said="no"))
    back = story(EITHER, after(LEFT, said="no"), after(said="yes"))
    vain = story(EITHER, after(LEFT))
    one, two = of(EITHER, gone), of(EITHER, back)
    assert two.new_is_bad(number(two, LEFT)) > one.new_is_bad(number(one, LEFT))
    assert of(EITHER, vain).new_is_bad(number(two, LEFT)) > FRESH
    assert of(EITHER, gone).new_is_bad(number(two, LEFT)) < FRESH


def test_gone_after_weeks_proves_more_than_gone_at_once() -> None:
    """Right after the work a complaint may stay away for a while."""
    once = of(EITHER, story(EITHER, after(LEFT, said="no")))
    weeks = of(EITHER, story(EITHER, after(LEFT, said="no"), since("no", 30.0)))
    assert weeks.there < once.there / 2.0


def test_back_after_days_is_no_longer_a_driver_who_erred() -> None:
    """Gone, then there on the same drives: one of two words is wrong. With weeks between both may be right,
    and what was fitted is suspected, more so where it was never tightened."""
    at_once = of(EITHER, story(EITHER, after(LEFT, said="no"), after(said="yes")))
    days = of(EITHER, story(EITHER, after(LEFT, said="no"), since("yes", 45.0)))
    loose = of(EITHER, story(EITHER, after(LEFT, said="no"), since("yes", 45.0, loose=(LEFT,))))
    left = number(days, LEFT)
    assert days.there > 0.5
    assert days.new_is_bad(left) > FRESH
    assert loose.new_is_bad(left) > days.new_is_bad(left)
    assert np.exp(days.answer.log_evidence[0]) > np.exp(at_once.answer.log_evidence[0]) * 0.5


def test_a_complaint_that_faded_had_several_causes() -> None:
    still = of(EITHER, story(EITHER, after(LEFT, said="yes")))
    faded = of(EITHER, story(EITHER, after(LEFT, said="faded")))
    left, front = number(still, LEFT), number(still, FRONT)
    # What was put right had its part in it, and something else is left.
    assert faded.present[left] > still.present[left] + 0.1
    assert faded.there > 0.85
    assert faded.to_blame[left] < 1e-9
    assert faded.to_blame[front] > 0.1


def test_the_removed_part_tells_which_of_two_was_guilty() -> None:
    """Two were renewed together and it was cured: what an old part shows is of the car before."""
    both = after(LEFT, RIGHT, said="no")
    worn = [Seen(MOVES, "front-left", "yes"), Seen(MOVES, "front-right", "no")]
    shown = of(EITHER, story(EITHER, both, seen=worn))
    blind = of(EITHER, story(EITHER, both))
    left, right = number(shown, LEFT), number(shown, RIGHT)
    assert blind.present[left] == pytest.approx(blind.present[right], abs=1e-9)
    assert shown.present[left] > blind.present[left] > shown.present[right]


def test_a_story_with_other_repairs_than_the_car_is_refused() -> None:
    told = story(EITHER, after(LEFT))
    with pytest.raises(ValueError, match="through"):
        Belief(Car(EITHER, BOX, told.complaints), told)


def test_findings_keep_their_round() -> None:
    told = story(EITHER, after(LEFT), seen=[Seen(MOVES, "front-left", "yes")])
    belief = of(EITHER, told)
    key = finding_key(MOVES, "front-left")
    assert f"{key}@0" in belief.weights
    assert key not in belief.weights


def test_how_surely_a_cause_alone_raises_an_event() -> None:
    """By hand: other causes count for nothing, ways are independent, a count needs as many branches."""
    nodes = {
        "either": Node("either", 1, True, (0.9, 0.1), (Input(0, (0.5,)), Input(1, (0.3,)), Input(0, (0.4,)))),
        "through": Node("through", 1, True, (1.0, 0.0), (Input("either", (0.6,)), Input(2, (0.8,)))),
        "both": Node("both", 2, True, (1.0, 0.0, 0.0), (Input(0, (0.5,)), Input(1, (0.3,)))),
        "two": Node(
            "two", 2, True, (1.0, 0.0, 0.0), (Input(0, (0.5,)), Input("through", (0.7,)), Input(1, (0.9,)))
        ),
    }
    network = Network(tuple(Cause(f"d{n}", f"d{n}", "centre", 0.1) for n in range(3)), {}, nodes)
    first = 1.0 - 0.5 * 0.6
    for key, expected in (
        ("either", (first, 0.3, 0.0)),
        ("through", (0.6 * first, 0.6 * 0.3, 0.8)),
        ("both", (0.0, 0.0, 0.0)),
        ("two", (0.5 * 0.7 * 0.6 * first, 0.9 * 0.7 * 0.6 * 0.3, 0.0)),
    ):
        assert [reach(network, n, key) for n in range(3)] == pytest.approx(list(expected)), key
