"""Tyre sizes as they stand on the sidewall, what they measure, and how far one turn rolls.

205/55 R16 91V   P215/65R17   LT245/75R16 120/116S   225/40 ZR18   245/60-15   195 R14 C
31x10.50R15LT    31x10,5-15   33x12.50R17
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from diagnose.errors import InputError
from diagnose.geometry.ranges import between, length

__all__ = [
    "FREE",
    "ROLLING_CROSS_PLY",
    "ROLLING_RADIAL",
    "TyreSize",
    "parse_tyre",
    "rolling_circumference",
    "tyre_date",
    "wheel_frequency",
]

INCH = 0.0254

#: One turn of a loaded tyre at 60 km/h over its diameter: ETRTO (both from memory). Tables of two makers for
#: five sizes come to 3.03 to 3.07, 3.05 in the mean. A free tyre rolls pi: 3 % more.
ROLLING_RADIAL = 3.05
ROLLING_CROSS_PLY = 2.99
FREE = math.pi

#: Height over width of a metric tyre that bears no figure for it: about 82 % (British inspection manual
#: 5.2.3, at second hand).
FULL_PROFILE = 82.0

_METRIC = re.compile(
    r"(?:P|LT|ST|T)?\s*(?P<width>\d{3})(?:\s*/\s*(?P<aspect>\d{2,3}))?\s*"
    r"(?P<build>ZR|R|B|D|-|/|\s)\s*(?P<rim>\d{1,2}(?:\.5)?)\s*(?:C|LT)?"
)
_FLOTATION = re.compile(
    r"(?:LT)?\s*(?P<diameter>\d{2}(?:\.\d{1,2})?)\s*[X*]\s*(?P<width>\d{1,2}(?:\.\d{1,2})?)\s*"
    r"(?P<build>ZR|R|B|D|-|/|\s)\s*(?P<rim>\d{1,2}(?:\.5)?)\s*(?:LT)?"
)
_SERVICE = re.compile(
    r"(?P<size>.*?)(?:\s+\(?(?P<load>\d{2,3})(?:\s*/\s*\d{2,3})?\s*(?P<speed>[A-HJ-NP-WYZ]\d?)\)?)?"
    r"\s*(?:XL|RF|REINF\.?|EXTRA LOAD)?\s*(?:M\+S)?"
)


@dataclass(frozen=True, slots=True)
class TyreSize:
    """What a size says, in metres: overall diameter and width of the new tyre, and the rim's diameter.

    build: "bias" where the size has a D or B before the rim, else "radial", as nearly all are. aspect:
    sidewall over width in percent, None for sizes that say the diameter itself. load, speed: the load index
    and speed letter behind the size, if there were any.
    """

    diameter: float
    width: float
    rim: float
    build: Literal["radial", "bias"]
    aspect: float | None = None
    load: int | None = None
    speed: str | None = None

    @property
    def sidewall(self) -> float:
        """Height of the sidewall (m): half of what the tyre adds to the rim."""
        return (self.diameter - self.rim) / 2.0

    @property
    def circumference(self) -> float:
        """Circumference of the free tyre (m): pi x diameter. It rolls less: `rolling_circumference`."""
        return math.pi * self.diameter

    @property
    def factor(self) -> float:
        """Rolling factor by the build: `ROLLING_RADIAL` or `ROLLING_CROSS_PLY`."""
        return ROLLING_RADIAL if self.build == "radial" else ROLLING_CROSS_PLY


def parse_tyre(text: str) -> TyreSize:
    """The size in a text such as `205/55 R16 91V` or `31x10.50R15LT`; letters around it may be missing.

    Diameter = rim + 2 x width x aspect / 100. Source: UNECE R30, 6.1.2 (from memory); flotation sizes say it.
    Width 105 to 455 mm, aspect 20 to 100, rim 8 to 30 in; flotation 20 to 54 in by 6 to 20 in.
    Raises InputError with how to write it.
    """
    mend = "write it like 205/55 R16 91V or 31x10.50R15"
    shown = repr("".join(letter if letter.isprintable() else "?" for letter in text[:40].strip()))
    plain = text.replace("×", "x").replace(",", ".").strip().upper()
    service = _SERVICE.fullmatch(plain if len(text) <= 40 and plain.isascii() else "")
    size = service["size"].strip() if service else ""
    metric, flotation = _METRIC.fullmatch(size), _FLOTATION.fullmatch(size)
    found = metric or flotation
    if found is None or service is None or (metric and found["build"] == "/" and not metric["aspect"]):
        raise InputError(f"{shown} is not a tyre size: {mend}")
    rim = between(float(found["rim"]), 8.0, 30.0, f"the rim in {shown}", "in") * INCH
    build: Literal["radial", "bias"] = "bias" if found["build"] in ("B", "D") else "radial"
    load = int(service["load"]) if service["load"] else None
    if metric:
        width = between(float(metric["width"]), 105.0, 455.0, f"the width in {shown}", "mm") / 1000.0
        aspect = float(metric["aspect"] or FULL_PROFILE)
        between(aspect, 20.0, 100.0, f"the height in {shown}", "percent")
        diameter = rim + 2.0 * width * aspect / 100.0
        return TyreSize(diameter, width, rim, build, aspect, load, service["speed"])
    across = between(float(found["diameter"]), 20.0, 54.0, f"the diameter in {shown}", "in") * INCH
    width = between(float(found["width"]), 6.0, 20.0, f"the width in {shown}", "in") * INCH
    if across <= rim + 0.05:
        raise InputError(f"{shown} leaves no sidewall: {mend}")
    return TyreSize(across, width, rim, build, None, load, service["speed"])


def rolling_circumference(tyre: TyreSize, worn: float = 0.0, factor: float | None = None) -> float:
    """How far (m) one turn rolls: factor x (diameter - 2 x worn).

    worn: tread that is gone (m), 0 to 15 mm. factor: that of the tyre's build unless given; 2.8 to pi.
    Source: ETRTO at 60 km/h (from memory), see `ROLLING_RADIAL`. The loss by wear is an upper estimate
    (own): a radial belt keeps some of it.
    """
    used = between(tyre.factor if factor is None else factor, 2.8, math.pi, "the rolling factor")
    return used * (tyre.diameter - 2.0 * length(worn, "worn tread", 0.0, 0.015))


def wheel_frequency(speed: float, circumference: float) -> float:
    """Turns of a wheel a second (Hz): speed (m/s, 0 to 150) over rolling circumference (m, 0.5 to 6)."""
    rolled = length(circumference, "the rolling circumference", 0.5, 6.0)
    return between(speed, 0.0, 150.0, "speed", "km/h", 3.6) / rolled


def tyre_date(code: str) -> tuple[int, int]:
    """(year, week) in which a tyre was made, from the last four digits of its code.

    `3623` is week 36 of 2023. Source: practice under 49 CFR 574. Three digits mean before 2000 and are
    refused (InputError), as all that is no such code.
    """
    digits = code.strip()
    if re.fullmatch("[0-9]{3}", digits):
        raise InputError(f"{digits!r} has three digits: the tyre was made before 2000, too old to use")
    if not re.fullmatch("[0-9]{4}", digits) or not 1 <= int(digits[:2]) <= 53:
        raise InputError(
            "the date of a tyre is the last four digits, week and year: write it like 3623, week 36 of 2023"
        )
    return 2000 + int(digits[2:]), int(digits[:2])
