"""The library with its figures off by chance: what they may be in truth, for all that is known.

Every probability is moved in log odds by a normal error of its own; a life is moved so that the odds of
having failed at the reference car move likewise. A row is moved once, for all its positions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from diagnose.model.check import Finding
from diagnose.model.complaint import Gate, Leaf, Use
from diagnose.model.library import Library
from diagnose.model.part import Fault

__all__ = ["perturbed"]


def perturbed(library: Library, spread: float, random: np.random.Generator) -> Library:
    """The library with errors of this standard deviation in log odds; 0.4 is a factor of 1.5 on the odds."""

    def moved(p: float) -> float:
        if not 0.0 < p < 1.0:
            return p
        odds = math.log(p / (1.0 - p)) + spread * float(random.standard_normal())
        return 1.0 / (1.0 + math.exp(-odds))

    def levels(chances: Sequence[float]) -> tuple[float, ...]:
        """Grades keep their shares; their sum is moved."""
        total = sum(chances)
        if total <= 0.0:
            return tuple(chances)
        now = moved(total)
        return tuple(each / total * now for each in chances)

    def fault(each: Fault) -> Fault:
        if each.life is None:
            assert each.chance is not None
            return replace(each, chance=moved(each.chance))
        error = spread * float(random.standard_normal())
        # Near the reference car odds go with (distance / life) to the power of the shape.
        factor = math.exp(-error / each.life.shape)
        return replace(each, life=each.life.stretched(factor))

    def branch(each: Leaf | Use | Gate) -> Leaf | Use | Gate:
        if isinstance(each, Gate):
            return replace(gate(each), strength=moved(each.strength))
        return replace(each, strength=moved(each.strength))

    def gate(each: Gate) -> Gate:
        return replace(each, leak=moved(each.leak), branches=tuple(branch(below) for below in each.branches))

    def finding(each: Finding) -> Finding:
        if each.repeats:
            return replace(each, hit=moved(each.hit), false_alarm=levels(each.false_alarm))
        links = tuple(replace(link, detection=levels(link.detection)) for link in each.links)
        return replace(each, false_alarm=levels(each.false_alarm), links=links)

    return replace(
        library,
        faults={key: fault(each) for key, each in library.faults.items()},
        complaints={key: replace(each, top=gate(each.top)) for key, each in library.complaints.items()},
        mechanisms={key: gate(each) for key, each in library.mechanisms.items()},
        findings={key: finding(each) for key, each in library.findings.items()},
    )
