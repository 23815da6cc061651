"""Speeds, frequencies and whole readings as people type them.

110 km/h   68 mph   110          speeds: a bare number is in km/h
14.6 Hz    14,6     876 /min     frequencies: a bare number is in hertz
14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h by satellite
14.6 Hz at 68 mph and 2800 rpm   counted 6 Hz at 40 km/h
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from diagnose.errors import InputError
from diagnose.geometry.speed import KMH
from diagnose.shake.given import UNITS, By, Reading, Unit

__all__ = [
    "looks_measured",
    "parse_frequency",
    "parse_number",
    "parse_ratio",
    "parse_readings",
    "parse_speed",
]

#: The longest text that is looked at.
LONGEST = 400

_N = r"[0-9]{1,6}(?:[.,][0-9]{1,6})?"
_SPEEDS: Mapping[str, float] = {
    "km/h": KMH,
    "kmh": KMH,
    "kph": KMH,
    "kmph": KMH,
    "mph": UNITS["mph"],
    "m/s": 1.0,
}
_FREQUENCIES: Mapping[str, float] = {
    "hz": 1.0,
    "/s": 1.0,
    "per second": 1.0,
    "a second": 1.0,
    "/min": 1.0 / 60.0,
    "per minute": 1.0 / 60.0,
    "a minute": 1.0 / 60.0,
}


def _either(units: Mapping[str, float]) -> str:
    return "|".join(map(re.escape, sorted(units, key=len, reverse=True)))


_SPEED = re.compile(rf"({_N})\s*({_either(_SPEEDS)})?")
_FREQUENCY = re.compile(rf"({_N})\s*({_either(_FREQUENCIES)})?")
_FORM = "write it like 14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h"
_REVS = r"(?:\s*(?:and|at|with)?\s*(?P<rpm>[0-9]{3,5})\s*rpm)?"
#: Frequency first; `at` may be missing where the frequency has its unit.
_READING = re.compile(
    rf"(?P<frequency>{_N})\s*(?:(?P<hertz>{_either(_FREQUENCIES)})\s*(?:at|@|:|\s)|(?:at|@))\s*"
    rf"(?P<speed>{_N})\s*(?P<unit>{_either(_SPEEDS)})?{_REVS}"
)
#: Speed first: then both have their units.
_TURNED = re.compile(
    rf"(?:at\s*)?(?P<speed>{_N})\s*(?P<unit>{_either(_SPEEDS)})\s*[:,]?\s*"
    rf"(?P<frequency>{_N})\s*(?P<hertz>{_either(_FREQUENCIES)}){_REVS}"
)
_SATELLITE = re.compile(r"\b(?:by|with|from)?\s*(?:the\s+)?(?:satellites?|gps|gnss)\b")
_SPEEDOMETER = re.compile(r"\b(?:by|with|from)?\s*(?:the\s+)?(?:speedometer|speedo)\b")
_FELT = re.compile(r"\b(?:counted|felt)(?:\s+by\s+hand)?\b|\bby hand\b")
_SECONDS = re.compile(rf"(?:\b(?:recorded|in|for|over)\s+)*\b({_N})\s*(?:s|sec|seconds)\b")
#: A comma between readings, not one inside a number: `14,6` is one, `110,12.1` are two.
_BETWEEN = re.compile(r"\s*(?:;|,(?!\d)|(?<!\d),|,(?=\d+\.\d))\s*")


def _shown(text: str) -> str:
    clean = "".join(letter if letter.isprintable() else "?" for letter in text[:200].strip())
    return repr(clean if len(clean) <= 40 else clean[:37] + "...")


def _figure(text: str) -> float:
    return float(text.replace(",", "."))


def parse_speed(text: str) -> tuple[float, Unit]:
    """Metres a second, and the unit to show it in, from `110`, `68 mph` or `30 m/s`. Raises InputError."""
    found = _SPEED.fullmatch(" ".join(text.lower().split()))
    if found is None:
        raise InputError(f"{_shown(text)} is not a speed: write it like 110 km/h or 68 mph")
    return _figure(found[1]) * _SPEEDS[found[2] or "km/h"], _unit(found[2])


def _unit(typed: str | None) -> Unit:
    return "mph" if typed == "mph" else "km/h"


def parse_frequency(text: str) -> float:
    """Hertz from `14.6`, `14,6 Hz` or `876 per minute`. Raises InputError."""
    found = _FREQUENCY.fullmatch(" ".join(text.lower().split()))
    if found is None:
        raise InputError(f"{_shown(text)} is not a frequency: write it like 14.6 Hz")
    return _figure(found[1]) * _FREQUENCIES[found[2] or "hz"]


def parse_ratio(text: str) -> float:
    """A ratio from `3.9`, `3,9`, `3.9:1` or teeth such as `39/10`. Raises InputError."""
    plain = " ".join(text.lower().split())
    teeth = re.fullmatch(r"([0-9]{1,3})\s*/\s*([0-9]{1,3})", plain)
    if teeth and int(teeth[2]):
        return int(teeth[1]) / int(teeth[2])
    found = re.fullmatch(rf"({_N})(?:\s*(?::|to)\s*1)?", plain)
    if found is None:
        raise InputError(f"{_shown(text)} is not a ratio: write it like 3.9, or its teeth like 39/10")
    return _figure(found[1])


def parse_number(text: str, what: str, example: str) -> float:
    """A bare number of a named thing. Raises InputError."""
    if re.fullmatch(_N, text.strip()) is None:
        raise InputError(f"{what} {_shown(text)} is not a number: write it like {example}")
    return _figure(text.strip())


def looks_measured(text: str) -> bool:
    """True for a line that means a frequency at a speed, well written or not."""
    plain = text.lower()
    unit = re.search(rf"\d\s*(?:rpm\b|{_either(_FREQUENCIES)}|{_either(_SPEEDS)})", plain)
    return unit is not None or re.search(r"\d\s*(?:\bat\b|@|:)\s*\d", plain) is not None


def parse_readings(text: str) -> tuple[Reading, ...]:
    """Readings from `14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h`, a comma between them.

    Anywhere: `by satellite`, `counted` (beats counted by hand), `20 s` (recorded so long), which hold for
    all; `and 2800 rpm` behind a speed for that reading. Raises InputError with how to write it.
    """
    if len(text) > LONGEST:
        raise InputError(f"{_shown(text)} is too long: {_FORM}")
    plain = " ".join(text.lower().split())
    by: By = "satellite" if _SATELLITE.search(plain) else "speedometer"
    felt = _FELT.search(plain) is not None
    for words in (_SATELLITE, _SPEEDOMETER, _FELT):
        plain = words.sub(" ", plain)
    told = _SECONDS.search(plain)
    seconds = _figure(told[1]) if told else 20.0
    plain = _SECONDS.sub(" ", plain) if told else plain
    found = []
    for bit in filter(None, (bit.strip(" :") for bit in _BETWEEN.split(plain))):
        one = _READING.fullmatch(bit) or _TURNED.fullmatch(bit)
        if one is None:
            raise InputError(f"{_shown(bit)} is not a reading: {_FORM}")
        frequency = _figure(one["frequency"]) * _FREQUENCIES[one["hertz"] or "hz"]
        speed = _figure(one["speed"]) * _SPEEDS[one["unit"] or "km/h"]
        rpm = float(one["rpm"]) if one["rpm"] else None
        found.append(Reading(frequency, speed, rpm, by, seconds, felt, None, _unit(one["unit"])))
    if not found:
        raise InputError(f"{_shown(text)} has no reading in it: {_FORM}")
    return tuple(found)
