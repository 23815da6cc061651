"""A drawn car as an apprentice meets it: readings are numbers, and it has faults to be found."""

from __future__ import annotations

from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from diagnose.belief.network import reaching
from diagnose.choice.outcomes import Spot
from diagnose.model.story import Seen
from diagnose.practice.numbers import shown
from diagnose.trials.cars import Drawn

__all__ = ["PracticeCar", "culprits"]


@dataclass(eq=False)
class PracticeCar(Drawn):
    """A drawn car whose readings are numbers, the same ones for whoever looks. seed: of those numbers."""

    seed: int = 0

    def answer(self, spot: Spot, cured: frozenset[int] = frozenset()) -> Seen:
        """What a careful technician sees; a reading comes with its number and its band."""
        seen = super().answer(spot, cured)
        finding = self.car.library.findings[spot.finding]
        if finding.reading is None or finding.repeats:
            return replace(seen, answer=finding.unseen) if seen.answer == "no" else seen
        level = finding.levels.index(seen.answer) + 1 if seen.answer in finding.levels else 0
        # Each spot has numbers of its own, whatever was looked at before it.
        name = f"{spot.finding}@{spot.position}/{level}".encode()
        number = shown(finding.reading, level, np.random.default_rng([self.seed, crc32(name)]))
        band = finding.reading.level(number)
        return replace(seen, answer=finding.levels[band - 1] if band else "no", reading=number)


def culprits(drawn: Drawn) -> frozenset[int]:
    """Causes (indices) whose cure, all of them together and none to spare, ends the complaint of this car.

    Empty where no cure of listed causes ends it. Where several sets would do it is one of the smallest that
    dropping causes one by one can reach; a single cause that is enough alone is always preferred.
    """
    network = drawn.car.plain.network
    tops = [each for each in drawn.car.complaints if each in network.nodes]
    acting = sorted(
        {
            each.source
            for key in reaching(network, tops)
            if key in network.blame
            for each, level in zip(network.nodes[key].inputs, drawn.coins[key], strict=False)
            if level and isinstance(each.source, int) and each.source in drawn.present
        }
    )
    if drawn.complaint(frozenset(acting)):
        return frozenset()
    for each in acting:
        if not drawn.complaint(frozenset({each})):
            return frozenset({each})
    needed = set(acting)
    for each in acting:
        if not drawn.complaint(frozenset(needed - {each})):
            needed.remove(each)
    return frozenset(needed)
