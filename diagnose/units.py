"""Numbers with units as people type them, and as they are shown: converted at the edge, once."""

from __future__ import annotations

import re
from collections.abc import Mapping

from diagnose.errors import InputError

__all__ = [
    "FAMILIES",
    "MOST_AMOUNT",
    "MOST_KM",
    "MOST_READING",
    "MOST_SINCE",
    "MOST_YEARS",
    "hours",
    "minutes",
    "money",
    "parse_distance",
    "parse_reading",
    "parse_years",
    "plain",
]

#: unit -> factor to the first unit of its family. Inch and pound by the international definitions.
FAMILIES: tuple[Mapping[str, float], ...] = (
    {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, '"': 25.4},
    {"deg": 1.0, "°": 1.0, "degrees": 1.0, "'": 1 / 60, "′": 1 / 60, "arcmin": 1 / 60},
    {"kPa": 1.0, "kpa": 1.0, "bar": 100.0, "psi": 6.894757293168, "mbar": 0.1},
    {"K": 1.0, "k": 1.0, "°C": 1.0, "C": 1.0, "°F": 5 / 9, "F": 5 / 9},
    {"N": 1.0, "n": 1.0, "kgf": 9.80665, "lbf": 4.4482216152605},
    {"g": 1.0, "kg": 1000.0, "oz": 28.349523125},
    {"m/km": 1.0, "mm/m": 1.0},
    {"%": 1.0, "percent": 1.0},
    {"km": 1.0, "km.": 1.0, "miles": 1.609344, "mile": 1.609344, "mi": 1.609344},
)

#: Most that is taken of a car, typed or from a file: kilometres, years, and a reading in the unit of its
#: finding.
MOST_KM, MOST_YEARS, MOST_READING = 3_000_000, 120, 1_000_000_000

#: Most that is taken of a repair: money or hours of one, and days or kilometres since it; they lie below.
MOST_AMOUNT, MOST_SINCE = 1_000_000_000, 1_000_000

_NUMBER = re.compile(r"\s*([-+]?\d[\d\s_]*(?:[.,]\d+)?|[-+]?[.,]\d+)\s*(.*?)\s*$", re.DOTALL)


def _number(text: str, wanted: str) -> tuple[float, str]:
    """The number at the start of the text and the unit behind it."""
    text = " ".join(text.split())
    found = _NUMBER.match(text) if len(text) <= 60 else None
    if not found:
        raise InputError(f"{_shown(text)} is not a number: write {wanted}")
    digits = re.sub(r"[\s_]", "", found.group(1)).replace(",", ".")
    return float(digits), found.group(2)


def parse_reading(text: str, unit: str) -> float:
    """The reading in `unit`, from text such as `9`, `9 mm`, `0.35 in` or `1,5 bar`.

    Without a unit it is taken to be in `unit`. Raises InputError for text that is no number, for a
    unit of another kind, and for more than a thousand million either way.
    """
    value, given = _number(text, f"a number, such as 9 {unit}")
    factor = 1.0 if not given or given == unit else None
    for family in FAMILIES:
        if factor is None and unit in family and given in family:
            factor = family[given] / family[unit]
    if factor is not None:
        if abs(value * factor) > MOST_READING:
            raise InputError(f"{_shown(text)} is too much for a reading: write a number, such as 9 {unit}")
        return value * factor
    known = next((list(family) for family in FAMILIES if unit in family), [unit])
    raise InputError(f"{_shown(given)} is not a unit of this reading: write it in {', '.join(known)}")


def parse_distance(text: str) -> float:
    """Kilometres from text such as `187000`, `187 000 km`, `187k` or `116000 miles`; 0 to 3 million."""
    match = re.fullmatch(r"\s*([\d\s.,_']+?)\s*(k|tkm|thousand)?\s*(km|mi|mile|miles)?\s*", text.lower())
    if not match:
        raise InputError(f"{_shown(text)} is not a distance: write it like 187000 or 116000 miles")
    digits = re.sub(r"[\s_']", "", match.group(1))
    # 187.000 and 187,000 are thousands; a point before one or two digits is a decimal.
    digits = re.sub(r"[.,](?=\d{3}(\D|$))", "", digits).replace(",", ".")
    try:
        value = float(digits)
    except ValueError:
        raise InputError(f"{_shown(text)} is not a distance: write it like 187000 or 116000 miles") from None
    value *= 1000.0 if match.group(2) else 1.0
    value *= 1.609344 if (match.group(3) or "").startswith("mi") else 1.0
    if not 0.0 <= value <= MOST_KM:
        raise InputError(f"{_shown(text)} cannot be the distance of a car: write kilometres, such as 187000")
    return value


def parse_years(text: str) -> float:
    """Years from text such as `12`, `12 years`, `18 months`; 0 to 120."""
    match = re.fullmatch(
        r"\s*(\d+(?:[.,]\d+)?)\s*(y|yr|yrs|year|years|a|m|mo|month|months)?\s*", text.lower()
    )
    if not match:
        raise InputError(f"{_shown(text)} is not an age: write years, such as 12")
    value = float(match.group(1).replace(",", "."))
    value /= 12.0 if (match.group(2) or "").startswith("m") else 1.0
    if value > MOST_YEARS:
        raise InputError(f"{_shown(text)} is too old for an age in years: write it like 12")
    return value


def _shown(text: str) -> str:
    """The text in quotes, without control characters, shortened."""
    clean = "".join(letter if letter.isprintable() else "?" for letter in text.strip())
    return repr(clean if len(clean) <= 40 else clean[:37] + "...")


def plain(value: float) -> str:
    """A number as people write it: no exponent, at most two decimals, no trailing zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def minutes(value: float) -> str:
    """Minutes in words: `40 s`, `7 min`, `2 h 10 min`."""
    if round(value * 60) < 60:
        return f"{round(value * 60)} s"
    whole = round(value)
    if whole < 60:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def hours(value: float) -> str:
    """Minutes as hours with one decimal: `1.1 h`, as workshops write labour."""
    return f"{value / 60.0:.1f} h"


def money(value: float, currency: str) -> str:
    """Money, rounded to what the figures can bear: whole units."""
    return f"{round(value):,} {currency}".replace(",", " ")
