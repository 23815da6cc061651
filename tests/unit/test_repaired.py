"""A car on which something was put right in vain, against counting every state and every coin.

One world has the car before and after the repair: the same parts and the same links that held, only that
what was put right is sound. Answers from before tell of the first, those from after of the second.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from diagnose.belief.belief import Belief, Car
from diagnose.belief.evidence import merge, observe
from diagnose.belief.network import finding_key, reaching
from diagnose.choice.outcomes import Spot, unanswered
from diagnose.errors import ImpossibleAnswers
from diagnose.model.check import Finding, Link
from diagnose.model.complaint import Complaint, Gate, Leaf, Use
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle
from tests.oracle import cause_states, node_order
from tests.small_trees import SMALL, compiled

Numbers = NDArray[np.intp]
Where = NDArray[np.bool_]

WHOLE = compiled(SMALL)[0].library
BOX = Vehicle(facts={"steering": "box"}, km=250_000.0)
MOVES, PLAY, ASKED = "rock-the-steering/end-moves", "rock-the-steering/rim-play", "ask-tyres/long-ago"
SLACK = "rock-the-steering/slack"
LEFT, RIGHT, FRONT, REAR = (
    "rod-end-play-front-left",
    "rod-end-play-front-right",
    "tyres-soft-front",
    "tyres-soft-rear",
)
SOFT, LOOSE = Leaf("tyres-soft", 0.5), Leaf("rod-end-play", 0.3)


def with_complaints(*complaints: Complaint, **mechanisms: Gate) -> Library:
    """The small library with other complaints, and a finding that shows the mechanism `slack`."""
    felt = Finding(
        SLACK, "rock-the-steering", "slack", ("yes",), (0.1,), (Link("slack", "mechanism", (0.8,)),)
    )
    return replace(
        WHOLE,
        complaints={each.id: each for each in complaints},
        mechanisms=mechanisms,
        findings={f: found for f, found in WHOLE.findings.items() if f in (MOVES, PLAY, ASKED)}
        | ({SLACK: felt} if mechanisms else {}),
    )


EITHER = with_complaints(Complaint("wander", "either", Gate("any", 1, (SOFT, LOOSE), leak=0.1)))
BOTH = with_complaints(
    Complaint("wander", "both", Gate("any", 1, (Gate("all", 2, (SOFT, LOOSE), strength=0.9),), leak=0.05))
)
#: A mechanism that raises the complaint only where the tyres help, and that a finding shows.
HELPED = with_complaints(
    Complaint("wander", "helped", Gate("any", 1, (Gate("all", 2, (Use("slack", 0.7), SOFT)),), leak=0.02)),
    slack=Gate("any", 1, (LOOSE,), id="slack", name="slack", leak=0.1),
)
SURE = with_complaints(Complaint("wander", "no leak", Gate("any", 1, (Leaf("tyres-soft", 0.5),))))
TWO = with_complaints(
    Complaint("wander", "one", Gate("any", 1, (SOFT,), leak=0.1)),
    Complaint("pull", "two", Gate("any", 1, (LOOSE,), leak=0.05)),
)


@dataclass(frozen=True)
class Tried:
    """A repair in vain: the complaints, what was answered before it, what it put right, what came after."""

    library: Library
    cured: tuple[str, ...]
    before: tuple[Seen, ...] = ()
    after: tuple[Seen, ...] = ()
    said: str = "yes"

    @property
    def story(self) -> Story:
        heard = tuple(Heard(each, None, self.said) for each in self.library.complaints)
        return Story(BOX, heard, (*self.before, *self.after))

    def car(self) -> Car:
        """The car as it came in."""
        return Car(self.library, BOX, self.story.complaints)

    def belief(self) -> Belief:
        """What the program makes of it."""
        car = self.car()
        answered = [finding_key(each.finding, each.position) for each in self.before]
        return Belief(car.after([car.network.index[each] for each in self.cured], answered), self.story)


class Counted:
    """Every way that all may be, side by side: parts, and how each link and leak falls.

    p: shape (W,), their chances after what was heard, seen, tried and seen again; they sum to 1. causes:
    shape (W, N), the parts as the car came in; sound: after the repair.
    """

    def __init__(self, tried: Tried) -> None:
        car, story = tried.car(), tried.story
        network = car.plain.network
        before = merge(observe(tried.library, network, story.heard, tried.before))
        after = merge(observe(tried.library, network, (), tried.after))
        kept = reaching(network, [*car.complaints, *before, *after])
        self.network = replace(network, nodes={k: node for k, node in network.nodes.items() if k in kept})
        self.nodes = node_order(self.network)
        self.complaints = list(car.complaints)
        parts = list(cause_states(self.network))
        #: Chances of each coin: a link falls to 0 or to a level, a leak (number -1) to a state.
        coins = {(node.key, -1): list(node.start) for node in self.nodes}
        for node in self.nodes:
            for number, each in enumerate(node.inputs):
                coins[node.key, number] = [1.0 - sum(each.chances), *each.chances]
        sides = {coin: [n for n, chance in enumerate(chances) if chance] for coin, chances in coins.items()}
        sizes = [len(parts), *(len(side) for side in sides.values())]
        picks = np.unravel_index(np.arange(math.prod(sizes)), sizes)
        self.causes = np.array([state for state, _ in parts])[picks[0]]
        self.p = np.array([p for _, p in parts])[picks[0]]
        self.fallen = {}
        for pick, (coin, side) in zip(picks[1:], sides.items(), strict=True):
            self.fallen[coin] = np.array(side)[pick]
            self.p = self.p * np.array(coins[coin])[self.fallen[coin]]
        self.sound = self.without([self.network.index[each] for each in tried.cured], self.causes)
        self.weigh(self.states(self.causes), before)
        now = self.states(self.sound)
        self.weigh(now, after)
        self.p = self.p * self.there(now)
        self.p = self.p / self.p.sum()

    def without(self, cured: Sequence[int], parts: Numbers) -> Numbers:
        """These parts with some of them put right."""
        left = parts.copy()
        left[:, list(cured)] = 0
        return left

    def states(self, parts: Numbers) -> dict[str, Numbers]:
        """The state of every node with these parts."""
        found: dict[str, Numbers] = {}
        for node in self.nodes:
            state = self.fallen[node.key, -1]
            for number, each in enumerate(node.inputs):
                level = self.fallen[node.key, number] * self.on(each.source, parts, found)
                state = np.minimum(state + level, node.top) if node.counts else np.maximum(state, level)
            found[node.key] = state
        return found

    def on(self, source: int | str, parts: Numbers, states: Mapping[str, Numbers]) -> Where:
        """Where this part is bad, or this node is in its top state."""
        if isinstance(source, str):
            return np.equal(states[source], self.network.nodes[source].top)
        return np.equal(parts[:, source], 1)

    def weigh(self, states: Mapping[str, Numbers], seen: Mapping[str, Sequence[float]]) -> None:
        for key, weights in seen.items():
            self.p = self.p * np.array(weights)[states[key]]

    def there(self, states: Mapping[str, Numbers]) -> Where:
        """Where a complaint is there."""
        there: Where = np.any([self.on(each, self.sound, states) for each in self.complaints], axis=0)
        return there

    def chance(self, where: Where) -> float:
        return float(self.p[where].sum())

    def to_blame(self, number: int) -> Where:
        """Where a chain of links that hold goes from this part, bad now, up to a complaint that is there."""
        states = self.states(self.sound)
        leads: dict[str, Where] = {}
        for node in self.nodes:
            leads[node.key] = np.zeros(len(self.p), dtype=bool)
            for input_, each in enumerate(node.inputs):
                below = leads[each.source] if isinstance(each.source, str) else each.source == number
                on = self.on(each.source, self.sound, states) & (self.fallen[node.key, input_] > 0)
                leads[node.key] |= on & below
            leads[node.key] &= self.on(node.key, self.sound, states)
        led: Where = np.any([leads[each] for each in self.complaints], axis=0)
        return led


CASES = {
    "nothing seen": Tried(EITHER, (LEFT,)),
    "an unsure driver": Tried(EITHER, (FRONT, REAR), said="probably"),
    "seen before": Tried(EITHER, (LEFT,), (Seen(MOVES, "front-left"), Seen(MOVES, "front-right", "no"))),
    "seen after": Tried(EITHER, (LEFT,), after=(Seen(MOVES, "front-left"), Seen(MOVES, "front-right"))),
    "before and after": Tried(
        EITHER, (LEFT, RIGHT), (Seen(MOVES, "front-left"),), (Seen(ASKED, None, "probably"),)
    ),
    "a reading after": Tried(EITHER, (LEFT,), after=(Seen(PLAY, None, "past the feel limit", 9.0),)),
    "a reading before": Tried(EITHER, (LEFT,), (Seen(PLAY, None, "past the feel limit", 9.0),)),
    "one arm of an AND": Tried(BOTH, (FRONT,), after=(Seen(ASKED),)),
    "both arms of an AND": Tried(BOTH, (FRONT, LEFT), (Seen(ASKED),)),
    "a mechanism, shown before": Tried(HELPED, (LEFT,), (Seen(SLACK),)),
    "a mechanism, shown after": Tried(HELPED, (LEFT,), after=(Seen(SLACK),)),
    "a mechanism, gone after": Tried(HELPED, (LEFT, RIGHT), after=(Seen(SLACK, None, "no"), Seen(ASKED))),
    "two complaints": Tried(TWO, (LEFT,), (Seen(MOVES, "front-left"),)),
    "everything": Tried(EITHER, (LEFT, RIGHT, FRONT, REAR)),
}


@pytest.mark.parametrize("tried", CASES.values(), ids=CASES)
def test_what_is_believed_after_a_repair_in_vain_equals_counting(tried: Tried) -> None:
    belief, every = tried.belief(), Counted(tried)
    for number, cause in enumerate(belief.causes):
        present = every.chance(every.causes[:, number] == 1)
        assert belief.present[number] == pytest.approx(present, abs=1e-9), cause.id
        assert belief.to_blame[number] == pytest.approx(every.chance(every.to_blame(number)), abs=1e-9), (
            cause.id
        )
    nothing = every.states(np.zeros_like(every.sound))
    assert belief.outside == pytest.approx(every.chance(every.there(nothing)), abs=1e-9)
    assert belief.there == pytest.approx(1.0, abs=1e-9)
    now = every.states(every.sound)
    for each in every.complaints:
        there = every.chance(every.on(each, every.sound, now))
        assert belief.complaint(each) == pytest.approx(there, abs=1e-9)


@pytest.mark.parametrize("name", ["nothing seen", "seen before", "one arm of an AND", "two complaints"])
def test_a_further_cure_equals_counting_what_it_leaves(name: str) -> None:
    belief, every = CASES[name].belief(), Counted(CASES[name])
    more = every.network.index[RIGHT]
    left = every.chance(every.there(every.states(every.without([more], every.sound))))
    assert left < 0.99
    assert belief.cured([more]) == pytest.approx(1.0 - left, abs=1e-9)


def test_what_was_put_right_is_not_to_blame_any_more() -> None:
    tried = CASES["seen before"]
    left = tried.car().network.index[LEFT]
    before = Belief(tried.car(), tried.story)
    after = tried.belief()
    assert before.to_blame[left] > 0.3
    assert after.to_blame[left] == pytest.approx(0.0, abs=1e-12)
    assert left not in after.order()
    # That the complaint is still there speaks for all the others, and less for what was put right.
    assert all(after.to_blame[n] > before.to_blame[n] for n in after.order())
    assert after.outside > before.outside
    assert after.present[left] < before.present[left]


def test_when_it_was_answered_matters() -> None:
    """A joint that moves after it was renewed says nothing of the old one; before, it spoke for it."""
    seen = (Seen(MOVES, "front-left"),)
    before, after = Tried(EITHER, (LEFT,), seen).belief(), Tried(EITHER, (LEFT,), after=seen).belief()
    none = Tried(EITHER, (LEFT,)).belief()
    left = before.car.network.index[LEFT]
    assert before.present[left] > none.present[left] + 0.1
    assert after.present[left] == pytest.approx(none.present[left], abs=1e-12)


def test_repairs_add_up() -> None:
    car = CASES["seen before"].car()
    left, right = (car.network.index[each] for each in (LEFT, RIGHT))
    one_by_one, at_once = car.after([left]).after([right]), car.after([left, right])
    assert one_by_one.cured == at_once.cured == {left, right}
    story = CASES["nothing seen"].story
    assert list(Belief(one_by_one, story).to_blame) == pytest.approx(list(Belief(at_once, story).to_blame))


def test_a_car_on_which_nothing_was_cured_only_has_the_complaint_for_sure() -> None:
    """It was driven to see: the driver was right."""
    tried = Tried(EITHER, ())
    car = tried.car()
    sure = Belief(car, tried.story)
    assert sure.there < 1.0
    assert car.after(()).cured == frozenset()
    # Only a car with something cured is known to have been driven.
    assert Belief(car.after(()), tried.story).there == pytest.approx(sure.there)


def test_the_first_car_is_left_as_it_was() -> None:
    tried = CASES["seen before"]
    car = tried.car()
    before = list(Belief(car, tried.story).present)
    car.after([0])
    assert car.cured == frozenset()
    assert list(Belief(car, tried.story).present) == before


def test_only_what_can_still_tell_something_is_looked_for() -> None:
    car = Car(WHOLE, BOX, {"wander": None})
    tyres = [car.network.index[each] for each in (FRONT, REAR)]
    story, check = Story(BOX, (Heard("wander"),)), WHOLE.checks["ask-tyres"]
    assert unanswered(car, story, check) == [Spot(ASKED, None)]
    assert unanswered(car.after(tyres[:1]), story, check) == [Spot(ASKED, None)]
    assert unanswered(car.after(tyres), story, check) == []


def test_a_complaint_that_nothing_is_left_to_raise_cannot_be_there() -> None:
    with pytest.raises(ImpossibleAnswers):
        Tried(SURE, (FRONT, REAR)).belief()
