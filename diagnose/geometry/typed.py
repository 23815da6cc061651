"""Angles and lengths as people type them, and angles as they are shown.

    -1°20'   -1° 20′   1d20m   1°20'30"     degrees and minutes; the sign holds for all of it, on 0° too
    -1.33    -1,33°    0.5 deg              decimal degrees: a bare number is in degrees
    -80'     80 min                         minutes
    2.5mm    0.1 in    1/16"   1 1/2 in     lengths

A sign may be + or a hyphen, or the minus of good typesetting. Feet are not known: ' means minutes.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from diagnose.errors import InputError
from diagnose.geometry.toe import toe_angle

__all__ = [
    "Typed",
    "decimal_degrees",
    "degrees_minutes",
    "parse_angle",
    "parse_length",
    "parse_toe",
    "parse_typed",
]

#: The longest text that is looked at.
LONGEST = 40

_FORMS = "write it like -1°20', -1.33, 80' or 2.5 mm"

#: Signs and marks that mean the same, each to the one used below.
_SAME = str.maketrans(
    {"−": "-", "–": "-", "‒": "-", "‑": "-", "‐": "-", "﹣": "-", "－": "-", "＋": "+",
     "º": "°", "˚": "°", "′": "'", "’": "'", "‘": "'", "´": "'", "`": "'", "″": '"', "”": '"', "“": '"',
     ",": ".", "\u00a0": " ", "\u202f": " ", "\u2009": " "}
)  # fmt: skip

_N = r"[0-9]{1,6}(?:\.[0-9]{0,9})?|\.[0-9]{1,9}"
_DEGREE, _MINUTE, _SECOND = (
    r"(?:°|degrees|degree|deg|d)",
    r"(?:'(?!')|minutes|min|arcmin|m)",
    r"(?:\"|''|sec|s)",
)
_ANGLE = re.compile(
    rf"(?:(?P<d>{_N})\s*{_DEGREE})?\s*(?:(?P<m>{_N})\s*{_MINUTE})?\s*(?:(?P<s>{_N})\s*{_SECOND})?"
)
_METRES_OR_MINUTES = re.compile(rf"({_N})\s*m")
_BARE = re.compile(rf"({_N})")
_LENGTH = re.compile(rf"({_N})\s*(mm|cm|inches|inch|in|\")")
_FRACTION = re.compile(
    r"(?:([0-9]{1,3})(?:\s+|\s*[-+]\s*))?([0-9]{1,3})\s*/\s*([0-9]{1,3})\s*(inches|inch|in|\")"
)

_METRES = {"mm": 0.001, "cm": 0.01, "inches": 0.0254, "inch": 0.0254, "in": 0.0254, '"': 0.0254}


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed: an angle in radians, or a length in metres."""

    kind: Literal["angle", "length"]
    value: float


def _shown(text: str) -> str:
    """The text in quotes, without control characters, shortened."""
    clean = "".join(letter if letter.isprintable() else "?" for letter in text[:200].strip())
    return repr(clean if len(clean) <= LONGEST else clean[: LONGEST - 3] + "...")


def parse_typed(text: str) -> Typed:
    """The angle or length that a text says; a bare number is in degrees.

    Angles at most 1500 degrees and lengths at most 10 m either way. Raises InputError, with how to write
    it, for anything else: words, nan, infinity, minutes of 60 and more behind degrees.
    """
    if len(text) > LONGEST:
        raise InputError(f"{_shown(text)} is too long for a reading: {_FORMS}")
    plain = text.translate(_SAME).strip().lower()
    sign = -1.0 if plain.startswith("-") else 1.0
    body = plain[1:].strip() if plain[:1] in ("-", "+") else plain
    found = _length(body, text) or _angle(body, text)
    if found is None:
        raise InputError(f"{_shown(text)} is neither an angle nor a length: {_FORMS}")
    most, unit = (math.radians(1500.0), "1500 degrees") if found.kind == "angle" else (10.0, "10 m")
    if found.value > most:
        raise InputError(f"{_shown(text)} is more than {unit}: look at the reading and its unit")
    return Typed(found.kind, sign * found.value if found.value else 0.0)


def _length(body: str, text: str) -> Typed | None:
    """A length without its sign, if the text is one."""
    if match := _LENGTH.fullmatch(body):
        return Typed("length", float(match[1]) * _METRES[match[2]])
    if match := _FRACTION.fullmatch(body):
        below = int(match[3])
        if not 0 < below <= 128 or int(match[2]) >= below:
            raise InputError(
                f"{_shown(text)} is not a fraction of an inch: write it like 1/16 in or 1 1/2 in"
            )
        return Typed("length", (int(match[1] or 0) + int(match[2]) / below) * 0.0254)
    return None


def _angle(body: str, text: str) -> Typed | None:
    """An angle without its sign, if the text is one."""
    if _METRES_OR_MINUTES.fullmatch(body):
        raise InputError(f"{_shown(text)} may mean metres or minutes: write 5' or 5 mm")
    if match := _BARE.fullmatch(body):
        return Typed("angle", math.radians(float(match[1])))
    match = _ANGLE.fullmatch(body)
    if not match or not any(match.groups()):
        return None
    parts = [match["d"], match["m"], match["s"]]
    first = next(n for n, part in enumerate(parts) if part is not None)
    last = max(n for n, part in enumerate(parts) if part is not None)
    for n, part in enumerate(parts):
        if part is None:
            continue
        if n < last and "." in part:
            raise InputError(f"{_shown(text)} has a decimal before its last part: {_FORMS}")
        if n > first and float(part) >= 60.0:
            name = "minutes" if n == 1 else "seconds"
            raise InputError(f"{_shown(text)} has 60 {name} or more: write 1°20', not 0°80'")
    d, m, s = (float(part or 0.0) for part in parts)
    return Typed("angle", math.radians(d + m / 60.0 + s / 3600.0))


def parse_angle(text: str, most: float = math.pi / 2.0) -> float:
    """The angle in radians, of either sign, at most `most` radians (90 degrees unless said).

    Raises InputError for a length, for text that is no angle, and beyond `most`.
    """
    found = parse_typed(text)
    if found.kind != "angle":
        raise InputError(
            f"{_shown(text)} is a length, where an angle is wanted: write it like -1°20' or -1.33"
        )
    if abs(found.value) > most:
        raise InputError(
            f"{_shown(text)} is more than {math.degrees(most):.4g} degrees: look at the reading and its unit"
        )
    return found.value


def parse_length(text: str, most: float = 10.0) -> float:
    """The length in metres, of either sign, at most `most` metres; a unit must stand with it.

    Raises InputError for an angle, a bare number, text that is no length, and beyond `most`.
    """
    found = parse_typed(text)
    if found.kind != "length":
        raise InputError(f'{_shown(text)} has no unit of length: write it like 2.5 mm, 0.1 in or 1/16"')
    if abs(found.value) > most:
        raise InputError(
            f"{_shown(text)} is more than {most * 1000:.4g} mm: look at the reading and its unit"
        )
    return found.value


def parse_toe(text: str, diameter: float | None = None) -> float:
    """Toe of one wheel in radians, from an angle or from a length at `diameter` (m); toe-in positive.

    A length without a diameter is refused (InputError): 2 mm means another angle on each rim.
    """
    found = parse_typed(text)
    if found.kind == "angle":
        return parse_angle(text, math.radians(45.0))
    if diameter is None:
        raise InputError(f"{_shown(text)} is a length: say at which diameter it was taken, or give an angle")
    return toe_angle(found.value, diameter)


def _angle_shown(angle: float) -> float:
    """The angle, if it can be shown."""
    if not math.isfinite(angle) or abs(angle) > 1000.0:
        raise InputError("an angle to be shown must be a number of at most 1000 radians")
    return angle


def degrees_minutes(angle: float, *, plus: bool = False, ascii_only: bool = False) -> str:
    """An angle (rad) in degrees and whole minutes: `-1°20'`, `-0°05'`; `-1d20m` in ASCII.

    Rounded as a whole, so that 0°59.7' is 1°00'. What rounds to nothing has no sign. `plus` sets a + too.
    """
    total = round(math.degrees(abs(_angle_shown(angle))) * 60.0)
    degrees, minutes = divmod(total, 60)
    sign = "" if total == 0 else "-" if angle < 0.0 else "+" if plus else ""
    return f"{sign}{degrees}d{minutes:02d}m" if ascii_only else f"{sign}{degrees}°{minutes:02d}'"


def decimal_degrees(angle: float, places: int = 2, *, plus: bool = False) -> str:
    """An angle (rad) in decimal degrees, without a unit: `-1.33`; what rounds to nothing has no sign."""
    text = f"{math.degrees(abs(_angle_shown(angle))):.{places}f}"
    sign = "" if float(text) == 0.0 else "-" if angle < 0.0 else "+" if plus else ""
    return sign + text
