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
    """P(a finding shows | this is the culprit) for each spot of a car, and the entropy of that in bits.

    Most causes leave a finding as rare as its false alarm (`alone`), so only the others are kept: for each of
    them the row of the spot, the number of the cause, and P(it shows).
    """

    def __init__(self) -> None:
        self.rows: dict[Spot, int] = {}
        self.alone, self.shown = np.zeros(0), np.zeros(0)
        self.spots, self.causes = np.zeros(0, dtype=int), np.zeros(0, dtype=int)
        self._entropy_alone, self._entropy_shown = np.zeros(0), np.zeros(0)

    def told(self, car: Car, spots: Sequence[Spot], culprit: Array) -> Array:
        """Bits that each of these spots tells of the culprit. culprit: P(it is this cause), for each of the
        car's, and P(something not listed), which shows nothing; sum 1."""
        self._learn(car, [spot for spot in spots if spot not in self.rows])
        count, share = len(self.alone), culprit[self.causes]
        more = share * (self.shown - self.alone[self.spots])
        shows = self.alone + np.bincount(self.spots, more, count)
        more = share * (self._entropy_shown - self._entropy_alone[self.spots])
        known = self._entropy_alone + np.bincount(self.spots, more, count)
        told: Array = (entropies(shows) - known)[[self.rows[spot] for spot in spots]]
        return told

    def _learn(self, car: Car, spots: Sequence[Spot]) -> None:
        """Take in spots that were not asked about before."""
        if not spots:
            return
        network, limit = car.network, len(car.causes)
        alone: list[float] = []
        shown: dict[tuple[int, int], float] = {}
        for row, spot in enumerate(spots, start=len(self.rows)):
            node = network.nodes[finding_key(spot.finding, spot.position)]
            self.rows[spot] = row
            alone.append(1.0 - node.start[0])
            for each in node.inputs:
                cause = network.cause_of(each.source)
                for number in (cause,) if cause is not None else _below(car, str(each.source)):
                    if number < limit:
                        shown[row, number] = 1.0 - node.start[0] * (1.0 - sum(each.chances))
        where = np.array(list(shown), dtype=int).reshape(-1, 2)
        self.alone = np.concatenate([self.alone, alone])
        self.shown = np.concatenate([self.shown, list(shown.values())])
        self.spots = np.concatenate([self.spots, where[:, 0]])
        self.causes = np.concatenate([self.causes, where[:, 1]])
        self._entropy_alone, self._entropy_shown = entropies(self.alone), entropies(self.shown)


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
    shows = _KEPT.setdefault(belief.car, _Shows())
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
    np.add.at(bits, owners, shows.told(belief.car, spots, culprit))
    return bits


def promising(belief: Belief, candidates: Sequence[Candidate], set_up: str, most: int) -> list[Candidate]:
    """At most so many: half of them those that tell most a minute, then those that tell most in all.

    What would spoil the others comes besides, whatever it tells: looking shows whether it is worth its cost.
    """
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
    chosen |= {number: None for number, (check, _) in enumerate(candidates) if check.first}
    return [candidates[number] for number in sorted(chosen)]


def entropies(p: Array) -> Array:
    """Entropy in bits of yes/no events of these probabilities."""
    q = np.clip(p, 1e-12, 1 - 1e-12)
    result: Array = -(q * np.log2(q) + (1 - q) * np.log2(1 - q))
    return result
