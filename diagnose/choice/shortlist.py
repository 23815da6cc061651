"""Which checks are worth looking at exactly: those that tell most about the culprit, taken to be one."""

from __future__ import annotations

from collections.abc import Sequence
from weakref import WeakKeyDictionary

import numpy as np

from diagnose.belief.belief import Belief, Car
from diagnose.belief.network import finding_key
from diagnose.belief.tables import Array
from diagnose.choice.cost import OVERHEAD, check_minutes
from diagnose.choice.outcomes import Candidate, Spot

__all__ = ["bits_told", "promising"]

#: Part of the doubt about the complaint itself that a second observation of it counts with.
OF_THE_COMPLAINT = 0.2


class _Shows:
    """P(a finding shows | this is the culprit) for each spot of a car, and the entropy of each in bits."""

    def __init__(self, car: Car) -> None:
        self.rows: dict[Spot, int] = {}
        self.seen = np.zeros((0, len(car.causes) + 1))
        self.entropy = self.seen

    def of(self, car: Car, spots: Sequence[Spot]) -> Array:
        """Numbers of the rows of these spots."""
        new = [spot for spot in spots if spot not in self.rows]
        if new:
            for spot in new:
                self.rows[spot] = len(self.rows)
            rows = np.array([self._row(car, spot) for spot in new])
            self.seen = np.concatenate([self.seen, rows])
            self.entropy = np.concatenate([self.entropy, entropies(rows)])
        return np.array([self.rows[spot] for spot in spots], dtype=int)

    def _row(self, car: Car, spot: Spot) -> Array:
        network, count = car.network, len(car.causes)
        node = network.nodes[finding_key(spot.finding, spot.position)]
        seen = np.full(count + 1, 1.0 - node.start[0])
        for each in node.inputs:
            cause = network.cause_of(each.source)
            for number in (cause,) if cause is not None else _below(car, str(each.source)):
                if number < count:
                    seen[number] = 1.0 - node.start[0] * (1.0 - sum(each.chances))
        return seen


def _below(car: Car, key: str) -> set[int]:
    """Causes that feed a node."""
    found: set[int] = set()
    for name in car.engine.feeds(key):
        found |= {each.source for each in car.network.nodes[name].inputs if isinstance(each.source, int)}
    return found


#: Tables of the cars at hand; they go when their car goes.
_KEPT: WeakKeyDictionary[Car, _Shows] = WeakKeyDictionary()


def bits_told(belief: Belief, candidates: Sequence[Candidate]) -> Array:
    """Bits about the culprit that each check tells, shape (candidates,); its findings added up.

    One culprit is assumed, or something not listed: the shares of blame, brought to 1.
    """
    library = belief.car.library
    shows = _KEPT.setdefault(belief.car, _Shows(belief.car))
    culprit = np.append(belief.to_blame, max(belief.outside, 1e-9))
    culprit = culprit / culprit.sum()
    doubt = OF_THE_COMPLAINT * float(entropies(np.array([belief.there]))[0])
    bits = np.zeros(len(candidates))
    spots: list[Spot] = []
    owners: list[int] = []
    for number, (_, open_ones) in enumerate(candidates):
        for spot in open_ones:
            if library.findings[spot.finding].repeats:
                bits[number] += doubt
            else:
                spots.append(spot)
                owners.append(number)
    rows = shows.of(belief.car, spots)
    told = entropies(shows.seen[rows] @ culprit) - shows.entropy[rows] @ culprit
    np.add.at(bits, owners, told)
    return bits


def promising(belief: Belief, candidates: Sequence[Candidate], set_up: str, most: int) -> list[Candidate]:
    """At most so many: half of them those that tell most a minute, then those that tell most in all."""
    if len(candidates) <= most:
        return list(candidates)
    library = belief.car.library
    bits = bits_told(belief, candidates)
    minutes = np.array([check_minutes(library, check, set_up) + OVERHEAD for check, _ in candidates])
    by_rate = np.argsort(-bits / minutes, kind="stable")[: most // 2]
    chosen = dict.fromkeys(int(n) for n in by_rate)
    for number in np.argsort(-bits, kind="stable"):
        if len(chosen) >= most:
            break
        chosen.setdefault(int(number))
    return [candidates[number] for number in sorted(chosen)]


def entropies(p: Array) -> Array:
    """Entropy in bits of yes/no events of these probabilities."""
    q = np.clip(p, 1e-12, 1 - 1e-12)
    result: Array = -(q * np.log2(q) + (1 - q) * np.log2(1 - q))
    return result
