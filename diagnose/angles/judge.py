"""Every value of a sheet against what is allowed on the car, in words, and whether it can be set there.

"Near" is within the repeatability of the reading on either side of a limit: a second reading may tell the
other way. Repeatability of a total or difference is the sum of both wheels', of thrust half of that.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from diagnose.angles.derive import Derived, Figure, derived
from diagnose.angles.sheet import AXLES, SIDES, Allowed, Sheet, Spot
from diagnose.angles.show import Shown

__all__ = ["COMMON_CROSS", "NEAR", "Judgement", "Verdict", "judged"]

Verdict = Literal["in", "near", "out", "no figure", "missing"]

#: Differences left to right of which cars pull, where the car's own are not told: half a degree (rad).
COMMON_CROSS = {
    "camber": (math.radians(0.5), "two teaching texts and an alignment glossary"),
    "caster": (math.radians(0.5), "teaching slides and an alignment glossary"),
}

#: Set-back is read to about a millimetre either side (common practice), m.
_LENGTH_REPEATS = 0.002

#: Less than any reading, more than values lose by being kept (rad or m).
_HAIR = 1e-9

#: What "near" means, for a reader.
NEAR = "a second reading may tell otherwise"

_COMMON = "common practice: "


@dataclass(frozen=True, slots=True)
class Judgement:
    """One value judged.

    spot: its place; for a difference left to right the angle is `cross-camber` and so on, without a side.
    value, allowed: rad, or m for lengths. past: how far outside of the limit, 0 inside, None without verdict.
    words: the verdict as a sentence. source: whose limit it is. adjustable: None where nobody said.
    """

    spot: Spot
    value: float | None
    allowed: Allowed
    verdict: Verdict
    words: str
    past: float | None = None
    adjustable: bool | None = None
    source: str = ""

    @property
    def fixed(self) -> bool:
        """True where the value is out and cannot be set on this car."""
        return self.verdict == "out" and self.adjustable is False


def judged(
    sheet: Sheet, shown: Shown | None = None, general: bool = False, figures: Derived | None = None
) -> tuple[Judgement, ...]:
    """Every value that is measured, derived or specified, judged, in the order of a technician's table.

    shown: how to speak of values. general: judge differences of camber and caster by common practice where
    the specification has none. figures: `derived(sheet)`, if it is at hand.
    """
    return tuple(
        _Judge(sheet, shown or Shown(toe_at=sheet.car.toe_at), general, figures or derived(sheet)).all()
    )


@dataclass(frozen=True, slots=True)
class _Judge:
    sheet: Sheet
    shown: Shown
    general: bool
    figures: Derived

    def all(self) -> Iterator[Judgement]:
        figures = self.figures
        crosses = {
            ("front", "camber"): figures.cross_camber_front,
            ("front", "caster"): figures.cross_caster,
            ("front", "inclination"): figures.cross_inclination,
            ("front", "included"): figures.cross_included,
            ("rear", "camber"): figures.cross_camber_rear,
        }
        for axle in AXLES:
            angles = (
                ["camber", "caster", "inclination", "included", "toe"]
                if axle == "front"
                else ["camber", "toe"]
            )
            for angle in angles:
                yield from self._wheels(axle, angle)
                yield from self._cross(axle, angle, crosses.get((axle, angle)))
            total = figures.total_toe_front if axle == "front" else figures.total_toe_rear
            yield from self._axle(Spot(axle, "", "total-toe"), total)
            if axle == "front":
                yield from self._set_back()
        yield from self._axle(Spot("rear", "", "thrust"), figures.thrust)

    def _wheels(self, axle: str, angle: str) -> Iterator[Judgement]:
        allowed = self.sheet.specification.of(axle, angle)
        for side in SIDES:
            spot = Spot(axle, side, angle)
            value = self.sheet.value(spot)
            if angle == "included":
                value = getattr(self.figures, f"included_{side}").value
            if value is not None or allowed.has_range:
                yield self._one(spot, value, allowed, self._repeats(angle))

    def _cross(self, axle: str, angle: str, figure: Figure | None) -> Iterator[Judgement]:
        """The difference left to right of one angle; of toe that is not judged, thrust and total are."""
        allowed = self.sheet.specification.of(axle, angle)
        value = figure.value if figure else None
        most, source = allowed.cross, "specification"
        if most is None and self.general and axle == "front" and angle in COMMON_CROSS:
            most, source = COMMON_CROSS[angle][0], _COMMON + COMMON_CROSS[angle][1]
        if figure is None or (value is None and most is None):
            return
        limits = Allowed(None if most is None else -most, most, adjustable=allowed.adjustable)
        spot = Spot(axle, "", f"cross-{angle}")
        yield self._one(spot, value, limits, 2.0 * self._repeats(angle), source)

    def _set_back(self) -> Iterator[Judgement]:
        """Set-back once: as the specification has it, or else as it was read."""
        ranged = self.sheet.specification.of("front", "set-back-length").has_range
        as_read = self.sheet.front.set_back is None
        length = ranged or (as_read and not self.sheet.specification.of("front", "set-back").has_range)
        name = "set-back-length" if length else "set-back"
        figure = self.figures.set_back_length if length else self.figures.set_back
        yield from self._axle(Spot("front", "", name), figure)

    def _axle(self, spot: Spot, figure: Figure) -> Iterator[Judgement]:
        allowed = self.sheet.specification.of(spot.axle, spot.angle)
        if figure.value is not None or allowed.has_range:
            repeats = {
                "thrust": self.sheet.repeatability.toe,
                "total-toe": 2.0 * self.sheet.repeatability.toe,
                "set-back-length": _LENGTH_REPEATS,
            }
            yield self._one(spot, figure.value, allowed, repeats.get(spot.angle, self._repeats("toe")))

    def _repeats(self, angle: str) -> float:
        """Within what one wheel's reading comes out again (rad)."""
        known = self.sheet.repeatability
        return {
            "camber": known.camber,
            "caster": known.caster,
            "inclination": known.inclination,
            "included": known.camber + known.inclination,
        }.get(angle, known.toe)

    def _one(
        self, spot: Spot, value: float | None, allowed: Allowed, repeats: float, source: str = "specification"
    ) -> Judgement:
        can = allowed.adjustable
        if value is None:
            return Judgement(spot, None, allowed, "missing", "not measured", None, can)
        if not allowed.has_range:
            return Judgement(spot, value, allowed, "no figure", "no figure given", None, can)
        below = -math.inf if allowed.low is None else allowed.low - value
        above = -math.inf if allowed.high is None else value - allowed.high
        past = max(below, above)
        # What is typed in minutes is no round number in radians: a hair beyond a limit is on it.
        past = 0.0 if abs(past) < _HAIR else past
        near = abs(past) <= repeats + _HAIR
        end = "low" if below > above else "high"
        verdict: Verdict = "near" if near else "out" if past > 0.0 else "in"
        words = self._words(spot, past, end, verdict, allowed)
        if source.startswith(_COMMON) and verdict != "in":
            words += f" of {source}"
        return Judgement(spot, value, allowed, verdict, words, max(past, 0.0), can, source)

    def _words(self, spot: Spot, past: float, end: str, verdict: Verdict, allowed: Allowed) -> str:
        if verdict == "in":
            return "within what is allowed"
        limit = _limit(spot, end, allowed)
        size = self.shown.value(abs(past), spot.angle, plus=False)
        if not any(digit in size for digit in "123456789"):
            return f"right at the {limit} allowed"
        if verdict == "out":
            return f"{size} past the {limit} allowed"
        where = "past" if past > 0.0 else "short of"
        return f"{size} {where} the {limit} allowed"


def _limit(spot: Spot, end: str, allowed: Allowed) -> str:
    """`most negative`, `largest toe-in`: which limit it is, as a technician would say it."""
    if spot.angle.startswith("cross-"):
        return "largest difference"
    if spot.angle == "thrust":
        return "furthest to the left" if end == "low" else "furthest to the right"
    if spot.angle.startswith("set-back"):
        return f"largest set-back on the {'left' if end == 'low' else 'right'}"
    bound = allowed.low if end == "low" else allowed.high
    assert bound is not None
    if "toe" in spot.angle:
        if end == "low":
            return "largest toe-out" if bound < 0.0 else "smallest toe-in"
        return "largest toe-in" if bound > 0.0 else "smallest toe-out"
    if spot.angle in ("inclination", "included"):
        return "smallest" if end == "low" else "largest"
    if end == "low":
        return "most negative" if bound < 0.0 else "least positive"
    return "most positive" if bound > 0.0 else "least negative"
