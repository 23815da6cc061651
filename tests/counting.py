"""Several repairs and the drives after them, by counting every state of everything.

In one world the car is the same in every round: parts, and links that hold; what was put right is sound, and
what was fitted new may itself be bad, or fail later. Written anew, it knows nothing of second trees. Slow and
obvious on purpose; the belief over rounds must agree with it to 1e-9.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from diagnose.belief.belief import Car
from diagnose.belief.evidence import observe
from diagnose.belief.network import FRESH, Network, reaching
from diagnose.belief.rounds import EARLY, LOOSE, QUIET, SETTLED_DAYS, SETTLED_KM
from diagnose.model.library import Library
from diagnose.model.story import Heard, Round, Story
from tests.oracle import cause_states, node_order

__all__ = ["Counting", "TooMany"]

Array = NDArray[Any]


def alone(network: Network, cause: int, key: str) -> float:
    """P(the event is on | this cause is present, alone, and nothing leaks), by counting which links hold."""
    found: set[int | str] = {cause}
    links: list[tuple[str, int | str, float]] = []
    for node in node_order(network):
        into = [(node.key, each.source, each.chances[0]) for each in node.inputs if each.source in found]
        if into and node.counts:
            links += into
            found.add(node.key)
    total = 0.0
    for held in itertools.product((False, True), repeat=len(links)):
        on: set[int | str] = {cause}
        for node in node_order(network):
            ways = [
                holds and source in on
                for holds, (target, source, _) in zip(held, links, strict=True)
                if target == node.key
            ]
            if node.counts and sum(ways) >= node.top:
                on.add(node.key)
        if key in on:
            total += math.prod(
                chance if holds else 1.0 - chance for holds, (_, _, chance) in zip(held, links, strict=True)
            )
    return total


class TooMany(Exception):
    """There are too many worlds to count."""


class Counting:
    """Every way that all may be, side by side: parts, links, leaks, new parts, drives; with its chance.

    present: shape (N,), P(part bad as the car came in); new_bad: cause -> P(what stands there now is bad).
    there: P(a complaint is there now); was_there: P(one was there as the car was brought, and none is now).
    """

    def __init__(self, library: Library, told: Story, most: int = 2**21) -> None:
        """Raises TooMany, having counted nothing, where there are more worlds than `most`."""
        self.most = most
        self.car = Car(library, told.vehicle, told.complaints)
        self.whole = self.car.plain.network
        self.rounds = told.rounds
        index = {(c.fault, c.position): n for n, c in enumerate(self.whole.causes)}
        self.cured: list[frozenset[int]] = [frozenset()]
        #: For each round, cause -> coins by which what stands there is bad: (cause, number of the round).
        self.bad: list[dict[int, tuple[tuple[int, int], ...]]] = [{}]
        #: Coin -> P(it is bad by it).
        self.chances_bad: dict[tuple[int, int], float] = {}
        ages: dict[int, float] = {}  # at the last repair, in times to settle
        oldest: dict[int, float] = {}  # at the last time that was told of
        for number, one in enumerate(told.rounds, start=1):
            some = frozenset(index[each] for each in one.cured)
            bad = dict(self.bad[-1])
            self.cured.append(self.cured[-1] | some)
            if one.later:
                for cause in bad:
                    chance = LOOSE if any(index[each] == cause for each in one.loose) else EARLY
                    age = min(ages[cause] + passed(one), 1.0)
                    failed = chance * max(age - oldest[cause], 0.0) / (1.0 - chance * oldest[cause])
                    oldest[cause] = max(age, oldest[cause])
                    if failed > 0.0:
                        bad[cause] = (*bad[cause], (cause, number))
                        self.chances_bad[cause, number] = failed
            else:
                ages = dict(oldest)
                for cause in some:
                    bad[cause] = ((cause, number),)
                    self.chances_bad[cause, number] = FRESH
                    ages[cause] = oldest[cause] = 0.0
            self.bad.append(bad)
        self.complaints = list(self.car.complaints)
        yes = [
            [replace(each, answer="yes") if each.answer == "faded" else each for each in heard]
            for heard in (told.heard, *(one.heard for one in told.rounds))
        ]
        seen = (told.seen, *(one.seen for one in told.rounds))
        observations = [observe(library, self.whole, *each) for each in zip(yes, seen, strict=True)]
        mechanisms = [each for each in library.mechanisms if each in self.whole.nodes]
        kept = reaching(self.whole, [*self.complaints, *mechanisms, *self.whole.acting])
        self.nodes = node_order(
            replace(self.whole, nodes={key: node for key, node in self.whole.nodes.items() if key in kept})
        )
        self.throw()
        for number, some_seen in enumerate(observations):
            states = self.states(number)
            for key, weights in some_seen:
                if key not in self.complaints:
                    self.p = self.p * (np.array(weights)[:, None] * self.levels(key, states, number)).sum(
                        axis=0
                    )
            for complaint in self.complaints:
                said = [weights for key, weights in some_seen if key == complaint]
                self.weigh_felt(complaint, number, states, said)
            for heard in told.rounds[number - 1].heard if number else ():
                self.weigh_faded(heard, number)
        self.total = float(self.p.sum())
        if self.total <= 0.0:
            return
        self.present = (self.p[:, None] * self.causes).sum(axis=0) / self.total
        self.new_bad = {
            cause: float(self.p[self.is_bad(cause, len(told.rounds))].sum()) / self.total
            for cause in self.bad[-1]
        }
        now = self.any_there(len(told.rounds))
        self.there = float(self.p[now].sum()) / self.total
        self.was_there = float(self.p[self.any_there(0) & ~now].sum()) / self.total

    def throw(self) -> None:
        """All coins, in every combination that can be."""
        chances: dict[object, list[float]] = {}
        for node in self.nodes:
            chances[node.key, -1] = list(node.start[:2])
            for number, each in enumerate(node.inputs):
                chances[node.key, number] = [1.0 - each.chances[0], each.chances[0]]
        for (cause, number), p in self.chances_bad.items():
            # What is not bad raises nothing: one side for that, and one for each set of complaints raised.
            links = [alone(self.whole, cause, complaint) for complaint in self.complaints]
            raised = [
                p * math.prod(c if on else 1.0 - c for c, on in zip(links, some, strict=True))
                for some in itertools.product((False, True), repeat=len(links))
            ]
            chances[cause, number] = [1.0 - p, *raised]
        sides = {coin: [n for n, chance in enumerate(each) if chance > 0.0] for coin, each in chances.items()}
        parts = [(state, p) for state, p in cause_states(self.whole) if p > 0.0]
        sizes = [len(parts), *(len(each) for each in sides.values())]
        self.size = math.prod(sizes)
        if self.size > self.most:
            raise TooMany
        picks = np.unravel_index(np.arange(self.size), sizes)
        self.causes = np.array([state for state, _ in parts])[picks[0]]
        self.p = np.array([p for _, p in parts])[picks[0]]
        self.coins = {
            coin: np.array(each)[pick] for pick, (coin, each) in zip(picks[1:], sides.items(), strict=True)
        }
        for coin, fallen in self.coins.items():
            self.p = self.p * np.array(chances[coin])[fallen]

    def on(self, source: int | str, number: int, states: Mapping[str, Array]) -> Array:
        """Where this gate is on, or this part is bad and was not put right by this round."""
        if isinstance(source, str):
            on: Array = states[source] == self.whole.nodes[source].top
            return on
        bad: Array = (self.causes[:, source] == 1) & (source not in self.cured[number])
        return bad

    def states(self, number: int) -> dict[str, Array]:
        """The state of every gate in this round."""
        found: dict[str, Array] = {}
        for node in self.nodes:
            state = self.coins[node.key, -1]
            for place, each in enumerate(node.inputs):
                state = state + self.coins[node.key, place] * self.on(each.source, number, found)
            found[node.key] = np.minimum(state, node.top)
        return found

    def is_bad(self, cause: int, number: int) -> Array:
        """Where what was fitted in the place of this cause is bad in this round."""
        bad: Array = np.any([self.coins[coin] > 0 for coin in self.bad[number][cause]], axis=0)
        return bad

    def raised(self, complaint: str, cause: int, number: int) -> Array:
        """Where what was fitted in the place of this cause raises the complaint in this round."""
        # The sides of a coin but the first count the complaints raised, in binary, the first one highest.
        place = len(self.complaints) - 1 - self.complaints.index(complaint)
        ways = [
            (self.coins[coin] > 0) & ((self.coins[coin] - 1) >> place & 1 == 1)
            for coin in self.bad[number].get(cause, ())
        ]
        led: Array = np.any(ways, axis=0) if ways else np.zeros(self.size, dtype=bool)
        return led

    def is_there(self, complaint: str, number: int, states: Mapping[str, Array]) -> Array:
        there = states[complaint] == self.whole.nodes[complaint].top
        for cause in self.bad[number]:
            there = there | self.raised(complaint, cause, number)
        return there

    def any_there(self, number: int) -> Array:
        states = self.states(number)
        there: Array = np.any([self.is_there(each, number, states) for each in self.complaints], axis=0)
        return there

    def weigh_felt(
        self, complaint: str, number: int, states: Mapping[str, Array], said: Sequence[Sequence[float]]
    ) -> None:
        """What was said of the complaint in this round, all of it of the same drives."""
        absent, there = (math.prod(weights[state] for weights in said) for state in (0, 1))
        if number and not self.rounds[number - 1].later:
            # Right after a repair it may have stayed away.
            there = (1.0 - QUIET) * there + QUIET * absent
        self.p = self.p * np.where(self.is_there(complaint, number, states), there, absent)

    def weigh_faded(self, heard: Heard, number: int) -> None:
        """One that has faded: four to one that something put right by the last repair had a part in it."""
        if heard.answer != "faded":
            return
        last = max(n for n in range(1, number + 1) if not self.rounds[n - 1].later)
        cured = self.cured[last] - self.cured[last - 1]
        helped = self.leads(heard.complaint, cured, last - 1)
        for cause in self.cured[last]:
            if (cause, last) in self.chances_bad:
                helped = helped | self.raised(heard.complaint, cause, last - 1)
        self.p = self.p * np.where(helped, 0.8, 0.2)

    def leads(self, complaint: str, causes: frozenset[int], number: int) -> Array:
        """Where a chain of links that hold leads from one of these causes to the complaint in this round."""
        states = self.states(number)
        led: dict[str, Array] = {}
        for node in self.nodes:
            led[node.key] = np.zeros(self.size, dtype=bool)
            for place, each in enumerate(node.inputs):
                if isinstance(each.source, str):
                    below = led[each.source]
                else:
                    below = np.full(self.size, each.source in causes) & self.on(each.source, number, states)
                led[node.key] |= below & (self.coins[node.key, place] == 1)
            led[node.key] &= self.on(node.key, number, states)
        return led[complaint]

    def levels(self, key: str, states: Mapping[str, Array], number: int) -> Array:
        """P(each level of a finding), shape (levels, W): the highest that anything raises."""
        node = self.whole.nodes[key]
        below = np.cumsum(node.start)[:, None] * np.ones(len(self.p))
        for each in node.inputs:
            cause = self.whole.cause_of(each.source)
            if cause is not None and cause in self.bad[number]:
                on = self.is_bad(cause, number)
            else:
                on = self.on(each.source, 0, states)
            shown = np.cumsum([1.0 - sum(each.chances), *each.chances])
            below = np.where(on, below * shown[:, None], below)
        return np.diff(np.concatenate([np.zeros((1, len(self.p))), below]), axis=0)


def passed(one: Round) -> float:
    """Times to settle that have passed since the last repair."""
    clocks = [told / whole for told, whole in ((one.days, SETTLED_DAYS), (one.km, SETTLED_KM)) if told]
    return min(max(clocks, default=1.0), 1.0)
