"""What the readings say of a graded finding: a likelihood for each grade, and for none of them."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.check import Finding
from diagnose.shake.fit import Fit
from diagnose.shake.orders import Source

__all__ = ["FINDING", "GRADES", "LEAST", "fits_finding", "likeliest", "named_shares", "shares_of"]

#: The finding that a measured frequency answers.
FINDING = "vibration-orders/order"

#: Grade -> kind and orders, with how common each is within the grade (own estimate); the firing order,
#: whichever it is, is written 0.
GRADES: dict[str, tuple[str, dict[float, float]]] = {
    "once per wheel turn": ("wheel", {1.0: 1.0}),
    "two or three per wheel turn": ("wheel", {2.0: 0.5, 3.0: 0.5}),
    "once per propshaft turn": ("propshaft", {1.0: 1.0}),
    "twice per propshaft turn": ("propshaft", {2.0: 1.0}),
    "with the engine": ("engine", {0.5: 0.15, 1.0: 0.30, 1.5: 0.10, 0.0: 0.45}),
    "same at every speed": ("resonance", {0.0: 1.0}),
}

#: No grade that the car can have falls below this share of the best: a figure may be of another gear, unit or
#: tyre than was typed, and then the arithmetic is sure of the wrong thing (own estimate: 1 of 300).
LEAST = 1.0 / 300.0


def fits_finding(finding: Finding) -> bool:
    """True if the finding has exactly the grades that are known here."""
    return finding.levels == tuple(GRADES)


def shares_of(finding: Finding, fits: Sequence[Fit]) -> tuple[float, ...]:
    """Likelihood of the readings at each state of the finding, none first; the best is 1.

    A grade of which the car can have no source gets 0.
    """
    return tuple(_shares(finding.levels, fits))


def named_shares(fits: Sequence[Fit], none: str = "no clear peak") -> dict[str, float]:
    """The same by the names of the grades."""
    return dict(zip((none, *GRADES), _shares(tuple(GRADES), fits), strict=True))


def _shares(levels: Sequence[str], fits: Sequence[Fit]) -> list[float]:
    stray = next(each.density for each in fits if each.source.kind == "stray")
    found = [stray, *(_grade(level, fits) for level in levels)]
    best = max(each for each in found if each is not None)
    return [0.0 if each is None else max(each / best, LEAST) for each in found]


def _grade(level: str, fits: Sequence[Fit]) -> float | None:
    """Mean density of a grade's sources by how common they are; None where the car has none of them."""
    kind, weights = GRADES[level]
    of_kind = {each.source: each.density for each in fits if each.source.kind == kind}
    if not of_kind:
        return None
    total = whole = 0.0
    for source, density in of_kind.items():
        weight = _weight(source, weights, of_kind)
        total += weight * density
        whole += weight
    return total / whole


def _weight(source: Source, weights: dict[float, float], others: dict[Source, float]) -> float:
    """How common a source is within its grade; what fires shares one weight among all that may."""
    weight = weights.get(source.number, 0.0)
    if "firing" in source.name and 0.0 in weights:
        weight += weights[0.0] / sum("firing" in each.name for each in others)
    return weight


def likeliest(finding: Finding, shares: Sequence[float]) -> str:
    """The grade with the largest share, `no` where no clear peak has it; the first of equals."""
    best = max(range(len(shares)), key=lambda state: shares[state])
    return finding.levels[best - 1] if best else finding.none
