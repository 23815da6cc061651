"""Several repairs and the drives after them, against counting every state of everything.

In one world the car is the same in every round: parts, and links that hold; what was put right is sound, and
what was fitted new may itself be bad. The counting here is written anew and knows nothing of second trees.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from diagnose.belief.belief import Belief, Car
from diagnose.belief.evidence import observe
from diagnose.belief.network import FRESH, finding_key, reaching
from diagnose.belief.rounds import reach
from diagnose.model.library import Library
from diagnose.model.story import Heard, Round, Seen, Story
from tests.oracle import cause_states, node_order
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

Array = NDArray[Any]

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


def story(library: Library, *rounds: Round, seen: Sequence[Seen] = ()) -> Story:
    heard = tuple(Heard(each) for each in library.complaints)
    return Story(BOX, heard, tuple(seen), rounds)


class Counting:
    """Every way that all may be, side by side: parts, links, leaks, new parts; with its chance.

    present: shape (N,), P(part bad as the car came in); new_bad: cause -> P(what stands there now is bad).
    """

    def __init__(self, library: Library, told: Story) -> None:
        self.car = Car(library, BOX, told.complaints)
        self.whole = self.car.plain.network
        index = {(c.fault, c.position): n for n, c in enumerate(self.whole.causes)}
        self.cured: list[frozenset[int]] = [frozenset()]
        #: For each round, cause -> number of the repair that fitted what stands there.
        self.fitted: list[dict[int, int]] = [{}]
        for number, one in enumerate(told.rounds, start=1):
            some = frozenset(index[each] for each in one.cured)
            self.cured.append(self.cured[-1] | some)
            self.fitted.append({**self.fitted[-1], **dict.fromkeys(some, number)})
        self.complaints = list(self.car.complaints)
        observed = [(told.heard, told.seen), *((each.heard, each.seen) for each in told.rounds)]
        observations = [observe(library, self.whole, heard, seen) for heard, seen in observed]
        mechanisms = [each for each in library.mechanisms if each in self.whole.nodes]
        kept = reaching(self.whole, [*self.complaints, *mechanisms, *self.whole.acting])
        self.nodes = node_order(
            replace(self.whole, nodes={key: node for key, node in self.whole.nodes.items() if key in kept})
        )
        self.throw()
        for number, some in enumerate(observations):
            states = self.states(number)
            for key, weights in some:
                if key in self.complaints:
                    self.p = self.p * np.array(weights)[self.is_there(key, number, states).astype(int)]
                else:
                    self.p = self.p * (np.array(weights)[:, None] * self.levels(key, states, number)).sum(
                        axis=0
                    )
        self.total = float(self.p.sum())
        self.present = (self.p[:, None] * self.causes).sum(axis=0) / self.total
        self.new_bad = {
            cause: float(self.p[self.coins[cause, fitted] == 1].sum()) / self.total
            for cause, fitted in self.fitted[-1].items()
        }
        now = self.states(len(told.rounds))
        there = np.any([self.is_there(each, len(told.rounds), now) for each in self.complaints], axis=0)
        self.there = float(self.p[there].sum()) / self.total

    def throw(self) -> None:
        """All coins, in every combination that can be."""
        chances: dict[object, list[float]] = {}
        for node in self.nodes:
            chances[node.key, -1] = list(node.start[:2])
            for number, each in enumerate(node.inputs):
                chances[node.key, number] = [1.0 - each.chances[0], each.chances[0]]
        for cause, number in dict.fromkeys(each for some in self.fitted for each in some.items()):
            chances[cause, number] = [1.0 - FRESH, FRESH]
            for complaint in self.complaints:
                chance = reach(self.whole, cause, complaint)
                chances[cause, number, complaint] = [1.0 - chance, chance]
        sides = {coin: [side for side in (0, 1) if each[side] > 0.0] for coin, each in chances.items()}
        parts = [(state, p) for state, p in cause_states(self.whole) if p > 0.0]
        sizes = [len(parts), *(len(each) for each in sides.values())]
        picks = np.unravel_index(np.arange(math.prod(sizes)), sizes)
        self.causes = np.array([state for state, _ in parts])[picks[0]]
        self.p = np.array([p for _, p in parts])[picks[0]]
        self.coins = {
            coin: np.array(each)[pick] for pick, (coin, each) in zip(picks[1:], sides.items(), strict=True)
        }
        for coin, fallen in self.coins.items():
            self.p = self.p * np.array(chances[coin])[fallen]

    def states(self, number: int) -> dict[str, Array]:
        """The state of every gate in this round."""
        found: dict[str, Array] = {}
        for node in self.nodes:
            state = self.coins[node.key, -1]
            for place, each in enumerate(node.inputs):
                if isinstance(each.source, str):
                    on = found[each.source] == self.whole.nodes[each.source].top
                else:
                    on = (self.causes[:, each.source] == 1) & (each.source not in self.cured[number])
                state = state + self.coins[node.key, place] * on
            found[node.key] = np.minimum(state, node.top)
        return found

    def is_there(self, complaint: str, number: int, states: Mapping[str, Array]) -> Array:
        there = states[complaint] == self.whole.nodes[complaint].top
        for cause, fitted in self.fitted[number].items():
            there = there | ((self.coins[cause, fitted] == 1) & (self.coins[cause, fitted, complaint] == 1))
        return there

    def levels(self, key: str, states: Mapping[str, Array], number: int) -> Array:
        """P(each level of a finding), shape (levels, W): the highest that anything raises."""
        node = self.whole.nodes[key]
        below = np.cumsum(node.start)[:, None] * np.ones(len(self.p))
        for each in node.inputs:
            cause = self.whole.cause_of(each.source)
            if cause is not None and cause in self.fitted[number]:
                on = self.coins[cause, self.fitted[number][cause]] == 1
            elif isinstance(each.source, str):
                on = states[each.source] == self.whole.nodes[each.source].top
            else:
                on = self.causes[:, each.source] == 1
            shown = np.cumsum([1.0 - sum(each.chances), *each.chances])
            below = np.where(on, below * shown[:, None], below)
        return np.diff(np.concatenate([np.zeros((1, len(self.p))), below]), axis=0)


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
    # P(everything told) as well: the rounds weigh one another.
    assert np.exp(belief.answer.log_evidence[0]) == pytest.approx(every.total, rel=1e-9)


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
    assert cured.present[number(cured, LEFT)] > before.present[number(before, LEFT)] + 0.2
    # The leak is left, and the driver's own errors.
    assert cured.there < 0.15


def test_a_complaint_that_came_back_speaks_for_the_new_part() -> None:
    gone = story(EITHER, after(LEFT, said="no"))
    back = story(EITHER, after(LEFT, said="no"), after(said="yes"))
    vain = story(EITHER, after(LEFT))
    one, two = of(EITHER, gone), of(EITHER, back)
    assert two.new_is_bad(number(two, LEFT)) > one.new_is_bad(number(one, LEFT))
    assert of(EITHER, vain).new_is_bad(number(two, LEFT)) > FRESH
    assert of(EITHER, gone).new_is_bad(number(two, LEFT)) < FRESH


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
