"""In which order a technician reads the angles of a car, and what each is asked by.

Rear first, since everything else is set against it: rear camber, rear toe, then front camber, caster,
inclination, set-back and toe; the left wheel before the right. Source: common practice.
"""

from __future__ import annotations

from diagnose.angles.sheet import SIDES, Spot

__all__ = ["EXAMPLES", "READING_ORDER"]

#: Every reading that is asked for, in order.
READING_ORDER: tuple[Spot, ...] = (
    *(Spot("rear", side, angle) for angle in ("camber", "toe") for side in SIDES),
    *(Spot("front", side, angle) for angle in ("camber", "caster", "inclination") for side in SIDES),
    Spot("front", "", "set-back"),
    *(Spot("front", side, "toe") for side in SIDES),
)

#: How a reading may be written, by its name.
EXAMPLES = {
    "camber": "-1°20', -1.33 or -80'; top of the wheel out is positive",
    "caster": "4°05' or 4.1; top of the axis back is positive",
    "inclination": "13°10' or 13.2; top of the axis in is positive",
    "toe": "0°08', 0.13, 8' or 1.0 mm; toe-in is positive",
    "set-back": "4 mm or 0°09'; right wheel further back is positive",
}
