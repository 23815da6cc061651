"""The belief about one car: its model, and what the story so far makes of it."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from diagnose.belief.cure import repaired, without
from diagnose.belief.engine import Engine
from diagnose.belief.evidence import UNSURE, Weights, merge, observe, observed_key
from diagnose.belief.network import Cause, Input, Network, Node, expand, fitted
from diagnose.belief.rounds import EARLY, LOOSE, Stage, failing, mark_of, reach, staged, worked_in
from diagnose.belief.run import Answer
from diagnose.belief.sets import Together, most_probable_sets
from diagnose.belief.tables import Array
from diagnose.errors import ImpossibleAnswers
from diagnose.model.check import Check
from diagnose.model.library import Library
from diagnose.model.position import WHERE
from diagnose.model.story import FADED, Seen, Story
from diagnose.model.vehicle import Vehicle

__all__ = ["OUTSIDE", "Belief", "Car", "places"]

#: Key of the node "a complaint would be there with every listed cause put right".
OUTSIDE = "something not listed here"

#: Key of the node "one of several complaints is there".
THERE = "a complaint"


def places(library: Library, finding: str) -> tuple[str | None, ...]:
    """The positions at which a finding is asked; (None,) for one about the whole car."""
    where = library.findings[finding].where
    return WHERE[where] if where else (None,)


class Car:
    """The model of one vehicle with the complaints heard about it; beliefs about it share it.

    Raises KeyError for an id that the library does not have.
    """

    def __init__(self, library: Library, vehicle: Vehicle, complaints: Mapping[str, str | None]) -> None:
        self.library = library
        self.vehicle = vehicle
        self.complaints = dict(complaints)
        self.checks: dict[str, Check] = {
            check.id: check
            for check in library.checks.values()
            if fitted((check.fits,), vehicle.facts, library) > 0.0
            and (not check.only_for or any(name in self.complaints for name in check.only_for))
        }
        findings = [(f, place) for f in library.findings for place in places(library, f)]
        network = expand(library, vehicle, self.complaints, findings)
        self.causes: tuple[Cause, ...] = network.causes
        #: For each round of repair, and each later time: complaint -> key of "it is there"; the same for "it
        #: shows on the drives", and for "what the last repair put right had a part in it". And cause put
        #: right -> what says "what was fitted in its place is bad": a cause, or the key of an event.
        self.rounds: tuple[Mapping[str, str], ...] = ()
        self.felt: tuple[Mapping[str, str], ...] = ()
        self.helped: tuple[Mapping[str, str], ...] = ()
        self.renewed: dict[int, int | str] = {}
        #: P(nothing that was fitted fails from now on, before it has settled, so as to raise a complaint).
        self.holds = 1.0
        #: Causes put right (indices), and complaint -> key of the event "it is there now".
        self.cured: frozenset[int] = frozenset()
        self.tops: dict[str, str] = {each: each for each in self.complaints if each in network.nodes}
        self._whole = network
        self._take(network)
        #: Mechanisms of the complaints, in the order of the trees.
        self.mechanisms = tuple(
            key for key in network.nodes if key in network.blame and key in library.mechanisms
        )

    def _take(self, network: Network) -> None:
        #: The model as it stands in the trees, without the second trees that ask what is left.
        self.plain = Engine(network)
        # Beyond the causes stand coins for links that two trees share.
        self._suspects = frozenset(n for n in network.suspects if n < len(self.causes))
        self.network = _with_outside(network, tuple(self.tops.values()))
        self.engine = Engine(self.network)
        #: Key of the event "a complaint is there now".
        self.there = THERE if len(self.tops) > 1 else next(iter(self.tops.values()), THERE)
        #: The same for every round, the car as it was brought first.
        self.there_in: tuple[str, ...] = (self.there,)
        if self.rounds:
            brought = {each: each for each in self.complaints if each in network.nodes}
            self._stand([brought, *self.rounds])

    def after(self, cured: Collection[int], answered: Collection[str] = ()) -> Car:
        """The same car once these causes (indices) were put right, well, and a complaint is still there.

        answered: keys of the findings that were answered before: they are of the car as it was. All
        others are of the car as it is now. A belief about it takes the story of before, and takes in
        that the complaints were felt again.
        """
        after = copy(self)
        after.cured = self.cured | frozenset(cured)
        whole = self._whole
        fresh = [key for key, node in whole.nodes.items() if not node.counts and key not in answered]
        keys = [each for each in self.complaints if each in whole.nodes]
        network, tops = repaired(whole, keys, after.cured, fresh, "~")
        after.tops = {complaint: top for complaint, top in tops.items() if top is not None}
        after._take(network)
        return after

    def through(self, story: Story) -> Car:
        """The same car through the repairs of a story; a belief about it takes the whole story.

        A fault that this car does not have, as its layout was told since, is passed over.
        """
        after = copy(self)
        numbers = {(cause.fault, cause.position): number for number, cause in enumerate(self.causes)}
        whole = self._whole
        keys = [each for each in self.complaints if each in whole.nodes]
        stages, still = _stages(self.library, story, numbers, keys)
        after.holds = 1.0
        for cause, chance in still.items():
            silent = math.prod(1.0 - reach(whole, cause, key) for key in keys)
            after.holds *= 1.0 - chance * (1.0 - silent)
        found = staged(whole, keys, stages)
        after.rounds, after.felt, after.helped = found.tops, found.felt, found.helped
        after.renewed = dict(found.renewed)
        after.cured = self.cured.union(*(stage.cured for stage in stages))
        after.tops = dict(found.tops[-1]) if found.tops else dict(self.tops)
        after._take(found.network)
        return after

    def _stand(self, rounds: Sequence[Mapping[str, str]]) -> None:
        """Name the event that a complaint is there in each round."""
        nodes, keys = dict(self.network.nodes), list[str]()
        for number, tops in enumerate(rounds):
            if len(tops) == 1:
                keys += tops.values()
                continue
            key = f"{THERE}{mark_of(number)}"
            nodes[key] = Node(key, 1, True, (1.0, 0.0), tuple(Input(each, (1.0,)) for each in tops.values()))
            keys.append(key)
        self.network = replace(self.network, nodes=nodes)
        self.engine = Engine(self.network)
        self.there_in = tuple(keys)

    def suspects(self) -> frozenset[int]:
        """Causes that can raise one of the complaints."""
        return self._suspects


def _stages(
    library: Library, story: Story, numbers: Mapping[tuple[str, str], int], keys: Collection[str]
) -> tuple[list[Stage], dict[int, float]]:
    """The rounds of a story, with the chances that what was fitted has failed by each later time; and for
    each cause put right the chance that what was fitted fails from now on.

    keys: the complaints that anything can raise.
    """
    answered = [story.seen, *(each.seen for each in story.rounds)]
    stages: list[Stage] = []
    #: Cause put right -> share of its time to settle that had passed at the last repair, and by now.
    run: dict[int, tuple[float, float]] = {}
    for number, (one, before) in enumerate(zip(story.rounds, answered, strict=False)):
        cured = frozenset(numbers[each] for each in one.cured if each in numbers)
        early: dict[int, float] = {}
        if one.later:
            loose = {numbers[each] for each in one.loose if each in numbers}
            for cause, (at_repair, by_now) in run.items():
                now = min(at_repair + worked_in(one.days, one.km), 1.0)
                early[cause] = failing(LOOSE if cause in loose else EARLY, by_now, now)
                run[cause] = (at_repair, max(by_now, now))
        else:
            run = {cause: (by_now, by_now) for cause, (_, by_now) in run.items()}
            run |= dict.fromkeys(cured, (0.0, 0.0))
        asked = frozenset(observed_key(library, seen.finding, seen.position) for seen in before)
        stages.append(Stage(cured, asked, one.later, early, _faded(story, number, keys)))
    last = story.rounds[-1].undone if story.rounds else ()
    undone = {numbers[each] for each in last if each in numbers}
    still = {
        cause: failing(LOOSE if cause in undone else EARLY, by_now, 1.0) for cause, (_, by_now) in run.items()
    }
    return stages, still


def _faded(story: Story, number: int, keys: Collection[str]) -> frozenset[str]:
    """Complaints that somebody said have faded, in this round or at a later time before the next repair."""
    found: set[str] = set()
    for place, one in enumerate(story.rounds[number:]):
        if place and not one.later:
            break
        found |= {each.complaint for each in one.heard if each.answer == FADED and each.complaint in keys}
    return frozenset(found)


def _with_outside(network: Network, complaints: tuple[str, ...]) -> Network:
    """The network with the node OUTSIDE over these top events, and THERE if they are several."""
    everything = range(len(network.causes))
    tops: list[str] = []
    for number, complaint in enumerate(complaints):
        network, top = without(network, complaint, everything, f"!{number}")
        if top is not None:
            tops.append(top)
    nodes = dict(network.nodes)
    if len(complaints) != 1:
        # Of none, where the last that could raise a complaint was put right, it is never there.
        nodes[THERE] = Node(THERE, 1, True, (1.0, 0.0), tuple(Input(each, (1.0,)) for each in complaints))
    nodes[OUTSIDE] = Node(OUTSIDE, 1, True, (1.0, 0.0), tuple(Input(top, (1.0,)) for top in tops))
    return replace(network, nodes=nodes)


@dataclass(frozen=True)
class Conflict:
    """Observations that do not fit together.

    bits: how much less likely they are together than apart, log2. suspect: index of the observation
    whose removal mends most of it, `mended` bits.
    """

    bits: float
    suspect: int
    mended: float


class Belief:
    """What one story makes of one car. Probabilities are exact under the trees."""

    def __init__(self, car: Car, story: Story) -> None:
        """Raises ImpossibleAnswers if the answers together have probability 0."""
        self.car = car
        self.story = story
        self.observations: list[tuple[str, Weights]] = _observed(car, story)
        if car.cured and not car.rounds:
            # After the repair it was driven until that was sure: a complaint is still there.
            self.observations.append((car.there, (0.0, 1.0)))
        self.weights = merge(self.observations)
        #: Keys of the events whose probability is asked for.
        bad = [each for each in car.renewed.values() if isinstance(each, str)]
        self.wanted: tuple[str, ...] = tuple(dict.fromkeys((OUTSIDE, car.there, *car.tops.values(), *bad)))
        #: Factor on the odds of each cause; None: the priors as they stand.
        self.lean: Array | None = None
        self.answer: Answer = car.engine.ask([self.weights], self.wanted)
        if not math.isfinite(float(self.answer.log_evidence[0])):
            raise ImpossibleAnswers(
                "these answers cannot all be true under the trees: take one back (u) or answer it as unsure"
            )

    def instead(
        self, observations: Sequence[tuple[str, Weights]], answer: Answer, lean: Array | None
    ) -> Belief:
        """The same story with these observations in the place of its own, and a factor on the odds of each
        cause; `answer` is what the engine says of them."""
        other = copy(self)
        # What was worked out for the old observations does not hold for the new ones.
        for name in ("mechanisms", "_left_out"):
            other.__dict__.pop(name, None)
        other.observations, other.weights = list(observations), merge(observations)
        other.answer, other.lean = answer, lean
        return other

    def seeing(self, answers: Sequence[Seen]) -> Belief:
        """The belief once these findings were answered as well. Raises ImpossibleAnswers as the first did."""
        story = self.story.seeing((*self.story.seen_now, *answers))
        if self.lean is None:
            return Belief(self.car, story)
        more = observe(self.car.library, self.car.network, (), answers)
        observations = [*self.observations, *more]
        answer = self.car.engine.ask([merge(observations)], self.wanted, self.lean)
        other = self.instead(observations, answer, self.lean)
        other.story = story
        return other

    @property
    def causes(self) -> tuple[Cause, ...]:
        """The causes of this car, in the order of all arrays."""
        return self.car.causes

    @property
    def present(self) -> Array:
        """P(cause present | story), shape (N,)."""
        present: Array = self.answer.present[0][: len(self.causes)]
        return present

    @property
    def to_blame(self) -> Array:
        """P(cause present, and a way from it up to a complaint held | story), shape (N,)."""
        blame: Array = self.answer.to_blame[0][: len(self.causes)]
        return blame

    @property
    def now(self) -> Array:
        """P(cause present now | story), shape (N,): after a repair, of what stands there now."""
        present = self.present.copy()
        for cause in self.car.cured:
            present[cause] = self.new_is_bad(cause)
        return present

    def new_is_bad(self, cause: int) -> float:
        """P(what was fitted in the place of this cause is bad, or badly fitted | story); 0 if nothing was."""
        bad = self.car.renewed.get(cause)
        if bad is None:
            return 0.0
        return self.answer.node(bad) if isinstance(bad, str) else float(self.answer.present[0][bad])

    @property
    def outside(self) -> float:
        """P(a complaint would be there with every listed cause put right | story)."""
        return self.answer.node(OUTSIDE)

    @property
    def there(self) -> float:
        """P(one of the complaints is there now | story)."""
        return self.answer.node(self.car.there)

    def ended(self, before: int, after: int) -> float:
        """P(a complaint was there in round `before`, and none is in round `after` | story).

        Round 0 is the car as it was brought. It is P(none in `after`) times P(one in `before`, if none is).
        """
        was, now = self.car.there_in[before], self.car.there_in[after]
        if was == now:
            return 0.0
        observations = [*self.observations, (now, (1.0, 0.0))]
        none = self.car.engine.ask([merge(observations)], (was,))
        share = math.exp(float(none.log_evidence[0]) - float(self.answer.log_evidence[0]))
        return share * none.node(was) if share > 0.0 else 0.0

    @cached_property
    def mechanisms(self) -> Mapping[str, float]:
        """Mechanism id -> P(it is there | story), most likely first."""
        # A run of its own: the tables stay smaller where nobody asks about mechanisms.
        answer = self.car.engine.ask([self.weights], self.car.mechanisms)
        found = {key: answer.node(key) for key in self.car.mechanisms}
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    def complaint(self, complaint: str) -> float:
        """P(the complaint is really there | story)."""
        return self.answer.node(self.car.tops[complaint])

    def order(self) -> list[int]:
        """Suspects, the most to blame first; ties by presence, then by id."""
        suspects = self.car.suspects()
        # Rounded, so that mates who are alike do not change places by the last bit.
        return sorted(
            suspects,
            key=lambda n: (
                -round(float(self.to_blame[n]), 12),
                -round(float(self.present[n]), 12),
                self.causes[n].id,
            ),
        )

    def cured(self, causes: Sequence[int]) -> float:
        """P(no complaint would be left | story) if these causes were put right, and nothing else.

        Exact; assumes that the work is good.
        """
        network = self.car.network
        tops: list[str] = []
        for number, complaint in enumerate(self.car.tops.values()):
            network, top = without(network, complaint, tuple(causes), f"?{number}")
            if top is not None:
                tops.append(top)
        nodes = dict(network.nodes)
        nodes["left"] = Node("left", 1, True, (1.0, 0.0), tuple(Input(top, (1.0,)) for top in tops))
        answer = Engine(replace(network, nodes=nodes)).ask([self.weights], ["left"])
        return 1.0 - answer.node("left")

    def together(self, count: int = 3) -> list[Together]:
        """The most probable sets of causes, the most probable first."""
        return most_probable_sets(self.car.plain, self.weights, count)

    @cached_property
    def _left_out(self) -> Answer:
        """One column for each observation: the story without it."""
        columns = [
            merge(self.observations[:n] + self.observations[n + 1 :]) for n in range(len(self.observations))
        ]
        return self.car.engine.ask(columns)

    def pull_of_each(self, cause: int) -> list[float]:
        """For each observation, the factor by which it moved the odds of the cause (leave-one-out)."""
        with_all = self.present[cause]
        factors = []
        for number in range(len(self.observations)):
            alone = float(self._left_out.present[number, cause])
            factors.append(_odds(float(with_all)) / _odds(alone))
        return factors

    def conflict(self) -> Conflict | None:
        """How badly the observations fit together; None if they support one another.

        Jensen's conflict measure: log2 of the product of P(each) over P(all together).
        Source: F. V. Jensen, B. Chamberlain, T. Nordahl, F. Jensen, Analysis in HUGIN of data
        conflict, UAI 1990.
        """
        count = len(self.observations)
        if count < 3:
            return None
        singles = self.car.engine.ask([dict([each]) for each in self.observations])
        together = float(self.answer.log_evidence[0])
        bits = (float(singles.log_evidence.sum()) - together) / math.log(2.0)
        best, mended = -1, 0.0
        total = float(singles.log_evidence.sum())
        for number in range(count):
            rest = total - float(singles.log_evidence[number]) - float(self._left_out.log_evidence[number])
            gain = bits - rest / math.log(2.0)
            if gain > mended:
                best, mended = number, gain
        return Conflict(bits, best, mended) if best >= 0 else None


def _observed(car: Car, story: Story) -> list[tuple[str, Weights]]:
    """Every observation of the story, each on the event of its own round.

    Raises ValueError for a story with other repairs than the car has.
    """
    if len(story.rounds) != len(car.rounds):
        raise ValueError("the car has not been through the repairs of this story: car.through(story)")
    network = car.network
    told = [(story.heard, story.seen), *((each.heard, each.seen) for each in story.rounds)]
    found: list[tuple[str, Weights]] = []
    for number, (heard, seen) in enumerate(told):
        felt = car.felt[number - 1] if number else {}
        # One that has faded is there; that the repair has a part in it may be imagined.
        as_there = [replace(each, answer="yes") if each.answer == FADED else each for each in heard]
        for key, weights in observe(car.library, network, as_there, seen):
            if key in car.complaints:
                key = felt.get(key, key)
            elif number < len(car.rounds):
                key += mark_of(number)
            found.append((key, weights))
        for each in heard:
            if number and each.answer == FADED and each.complaint in felt:
                found.append((car.helped[number - 1][each.complaint], (1.0 - UNSURE, UNSURE)))
    return found


def _odds(p: float) -> float:
    p = float(np.clip(p, 1e-12, 1 - 1e-12))
    return p / (1.0 - p)
