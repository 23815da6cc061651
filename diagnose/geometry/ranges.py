"""What a reading may be at all: everything that is not finite, or cannot stand on a car, is refused in words.

Inside are radians and metres; the messages speak degrees and millimetres, as the reader typed them.
"""

from __future__ import annotations

import math

from diagnose.errors import InputError

__all__ = ["an_angle", "between", "length"]


def between(value: float, low: float, high: float, what: str, unit: str = "", scale: float = 1.0) -> float:
    """The value itself, if it is a number from `low` to `high`.

    value, low, high in the unit of the caller; `scale` turns them into `unit` for the message.
    Raises InputError with what was expected.
    """
    if math.isfinite(value) and low <= value <= high:
        return value
    given = f"{value * scale:.6g}" if math.isfinite(value) else "what was given"
    space = f" {unit}" if unit else ""
    raise InputError(
        f"{what} must be a number from {low * scale:.6g} to {high * scale:.6g}{space}, not {given}: "
        "look at the reading and its unit"
    )


def an_angle(value: float, what: str, most: float = 45.0, least: float | None = None) -> float:
    """The angle itself (radians), if it is from `least` to `most` degrees; else InputError.

    Without `least`: within `most` either way.
    """
    low = math.radians(-most if least is None else least)
    return between(value, low, math.radians(most), what, "deg", 180.0 / math.pi)


def length(value: float, what: str, low: float, high: float) -> float:
    """The length itself (metres), if it is from `low` to `high` metres; else InputError."""
    return between(value, low, high, what, "mm", 1000.0)
