"""What laws and inspections allow: rows of data, each with its document. None is the only one or the default.

A maker's figure outranks them all. Values stand as the document prints them; `Limit.si` has metres and
radians, while percent, m/km, cycles and years stay. How far a row can be trusted stands in it: "seen" is the
text itself, "second hand" a page that quotes it, "from memory" neither: look before refusing a car by it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from diagnose.errors import InputError
from diagnose.geometry.ranges import between, length

__all__ = ["LIMITS", "Limit", "limits_of"]

INCH = 0.0254

#: Unit as printed -> factor to SI.
_UNITS = {
    "in": INCH,
    "mm": 0.001,
    "deg": math.pi / 180.0,
    "percent": 1.0,
    "m/km": 1.0,
    "of the diameter": 1.0,
    "times the maker's figure": 1.0,
    "N": 1.0,
    "cycles": 1.0,
    "turns": 1.0,
    "years": 1.0,
}

Status = Literal["seen", "second hand", "from memory"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: what is measured, the value as printed with its unit, whose law, and where it stands.

    least: the value is the least allowed, not the most. applies: to which vehicles or parts, or how.
    jurisdiction: a country's two letters, a state behind it, "EU" or "UN"; "trade" for what is no law.
    size_from: the row holds from this size (m) of steering wheel or rim on, up to the next such row.
    scales_at: the value was given for a steering wheel of this diameter (m) and grows with it.
    """

    quantity: str
    value: float
    unit: str
    jurisdiction: str
    document: str
    status: Status
    applies: str = ""
    least: bool = False
    size_from: float | None = None
    scales_at: float | None = None

    @property
    def si(self) -> float:
        """The value in metres, radians or newtons; percent, m/km, turns, cycles and years as printed."""
        return self.value * _UNITS[self.unit]

    def at(self, diameter: float) -> float:
        """The limit (SI) for a steering wheel of this diameter (m, 0.2 to 0.7), where it depends on it.

        Raises InputError for a diameter that none has.
        """
        length(diameter, "the steering wheel's diameter", 0.2, 0.7)
        if self.unit == "of the diameter":
            return self.value * diameter
        return self.si if self.scales_at is None else self.si * diameter / self.scales_at

    def keeps(self, reading: float, diameter: float | None = None) -> bool:
        """Whether a reading (SI) is within this limit; the limit itself is. diameter: as in `at`."""
        if not math.isfinite(reading):
            raise InputError(f"{self.quantity} must be a number to be held against a limit")
        if diameter is None and (self.scales_at is not None or self.unit == "of the diameter"):
            raise InputError("this limit goes by the size of the steering wheel: measure its diameter too")
        value = self.si if diameter is None else self.at(diameter)
        # What is equal but for the last bit of a conversion from inches is equal.
        near = math.isclose(reading, value, rel_tol=1e-12)
        return near or (reading > value if self.least else reading < value)


PLAY = "steering wheel play"
LINKAGE = "linkage play at the tyre"
TOE = "toe over the maker's figure"
SLIP = "side slip"
TREAD = "tread depth"
RUNOUT = "wheel runout at the bead"
BRAKES = "brake imbalance"
ADHESION = "adhesion difference"
PHASE = "damper phase shift"
CYCLES = "cycles after a push"
BEARING = "bearing play at the tyre"
EFFORT = "steering effort"

SEEN: Status = "seen"
QUOTED: Status = "second hand"
MEMORY: Status = "from memory"


def _by_size(
    quantity: str,
    rows: tuple[tuple[float, float], ...],
    jurisdiction: str,
    document: str,
    status: Status,
    applies: str = "",
) -> tuple[Limit, ...]:
    """Rows of a table by size: (from this size in inches on, value in inches)."""
    return tuple(
        Limit(quantity, value, "in", jurisdiction, document, status, applies, size_from=size * INCH)
        for size, value in rows
    )


#: Between the sizes of a table the row below holds: the stricter one (own choice; the tables are silent).
_LASH = ((0.0, 2.0), (18.0, 2.25), (20.0, 2.5), (22.0, 2.75))
_MANUAL = ((0.0, 2.0), (18.0, 2.25), (19.0, 2.375), (20.0, 2.5), (21.0, 2.625), (22.0, 2.75))
_POWER = ((18.0, 4.75), (19.0, 5.0), (20.0, 5.25), (21.0, 5.5), (22.0, 5.75))

_CARS = "up to 10000 lb"
_HEAVY = "over 10000 lb"

LIMITS: tuple[Limit, ...] = (
    # United States: federal standards for vehicles in use.
    *_by_size(PLAY, _LASH, "US", "49 CFR 570.7(a), Table 1", SEEN, _CARS),
    *_by_size(PLAY, _LASH, "US", "49 CFR 570.60, Table 2", SEEN, _HEAVY),
    *_by_size(PLAY, _MANUAL, "US", "49 CFR 393.209(b)", MEMORY, "commercial, manual steering"),
    # Two texts differ for the smallest wheel with power steering: 4 1/4 in here, 4 1/2 in Utah's.
    *_by_size(PLAY, ((0.0, 4.25), *_POWER), "US", "49 CFR 393.209(b)", MEMORY, "commercial, power steering"),
    *_by_size(
        PLAY, ((0.0, 4.5), *_POWER), "US-UT", "R714-162-9(1)(a)(i)", SEEN, "commercial, power steering"
    ),
    *_by_size(PLAY, _MANUAL, "US-UT", "R714-162-9(1)(a)(i)", SEEN, "commercial, manual steering"),
    Limit(LINKAGE, 0.25, "in", "US", "49 CFR 570.7(b)", SEEN, _CARS),
    *_by_size(
        LINKAGE, ((0.0, 0.25), (16.01, 0.375), (18.01, 0.5)), "US", "49 CFR 570.60(b), Table 3", SEEN, _HEAVY
    ),
    Limit(TOE, 1.5, "times the maker's figure", "US", "49 CFR 570.7(d)", SEEN, _CARS),
    Limit(TOE, 1.5, "times the maker's figure", "US", "49 CFR 570.60(d)", SEEN, _HEAVY),
    Limit(CYCLES, 2.0, "cycles", "US", "49 CFR 570.8(b)", MEMORY, _CARS),
    Limit(TREAD, 2 / 32, "in", "US", "49 CFR 570.9", MEMORY, _CARS, least=True),
    Limit(TREAD, 4 / 32, "in", "US", "49 CFR 570.62(a)", SEEN, "over 10000 lb, front", least=True),
    Limit(TREAD, 2 / 32, "in", "US", "49 CFR 570.62(a)", SEEN, "over 10000 lb, elsewhere", least=True),
    Limit(RUNOUT, 1 / 8, "in", "US", "49 CFR 570.10(b)", SEEN, "radial or lateral, of the bare wheel"),
    Limit(BRAKES, 25.0, "percent", "US", "49 CFR 570.5", MEMORY, _CARS),
    Limit(BRAKES, 25.0, "percent", "US", "49 CFR 570.59(a)(1)", MEMORY, _HEAVY),
    # States: they differ widely.
    *_by_size(PLAY, _LASH, "US-WA", "RCW 46.37.375(2)", SEEN),
    Limit(LINKAGE, 0.25, "in", "US-WA", "RCW 46.37.375(3)", SEEN),
    Limit(TOE, 1.5, "times the maker's figure", "US-WA", "RCW 46.37.375(7)", SEEN),
    Limit(PLAY, 2.0, "in", "US-OH", "OAC 4501:2-1-05(B)", SEEN, "power steering"),
    Limit(PLAY, 3.0, "in", "US-OH", "OAC 4501:2-1-05(B)", SEEN, "manual steering"),
    *_by_size(PLAY, ((0.0, 3.0), (18.01, 4.0)), "US-NC", "19A NCAC 03D .0535", SEEN),
    *_by_size(PLAY, ((0.0, 3.0), (21.0, 3.5)), "US-MD", "COMAR 11.22.03.04", SEEN, "passenger buses etc."),
    Limit(BEARING, 1 / 8, "in", "US-MD", "COMAR 11.22.03.04", SEEN, "front, at the sidewall"),
    Limit("difference from centre to either lock", 0.5, "turns", "US-MD", "COMAR 11.22.03.04", SEEN),
    Limit("tyre clearance at lock", 1.0, "in", "US-MD", "COMAR 11.22.03.04", SEEN, least=True),
    Limit("sag of one corner", 2.0, "in", "US-MD", "COMAR 11.22.03.03", SEEN, "coil spring"),
    Limit("torsion bar mount play", 1 / 8, "in", "US-MD", "COMAR 11.22.03.03", SEEN),
    Limit(
        TREAD, 2 / 32, "in", "US-MD", "COMAR 11.22.04.06", SEEN, "two major grooves, three places", least=True
    ),
    # European Union.
    Limit(
        PLAY,
        0.2,
        "of the diameter",
        "EU",
        "Directive 2014/45/EU, Annex I, 2.3",
        MEMORY,
        "given as an example",
    ),
    Limit(BRAKES, 30.0, "percent", "EU", "Directive 2014/45/EU, Annex I, 1.2.1", MEMORY, "major"),
    Limit(
        BRAKES,
        50.0,
        "percent",
        "EU",
        "Directive 2014/45/EU, Annex I, 1.2.1",
        MEMORY,
        "steered axle, dangerous",
    ),
    Limit(TREAD, 1.6, "mm", "EU", "Directive 89/459/EEC", MEMORY, "cars, main grooves", least=True),
    # Great Britain.
    Limit(PLAY, 75.0, "mm", "GB", "MOT manual (2012) 2.2", SEEN, "steering box", scales_at=0.380),
    Limit(PLAY, 13.0, "mm", "GB", "MOT manual (2012) 2.2", SEEN, "rack and pinion", scales_at=0.380),
    Limit(
        PLAY, 48.0, "mm", "GB", "MOT manual (2012) 2.2", SEEN, "rack, several column joints", scales_at=0.380
    ),
    Limit("king pin play at the rim", 10.0, "mm", "GB", "MOT manual (2012) 2.5", SEEN, "wheel of 50 cm"),
    Limit(TREAD, 1.6, "mm", "GB", "SI 1986/1078 reg. 27", QUOTED, "cars, central three quarters", least=True),
    Limit(
        TREAD, 1.0, "mm", "GB", "SI 1986/1078 reg. 27", QUOTED, "heavier vehicles, motorcycles", least=True
    ),
    Limit("cut in a tyre", 25.0, "mm", "GB", "SI 1986/1078 reg. 27", QUOTED, "or 10 % of the width, if more"),
    Limit(
        "tyre age",
        10.0,
        "years",
        "GB",
        "SI 1986/1078 as amended 2021",
        MEMORY,
        "front axles of lorries, buses",
    ),
    # Elsewhere.
    Limit(ADHESION, 30.0, "percent", "IE", "national car test, a newspaper's page", QUOTED),
    Limit(
        "ball joint play",
        1.0,
        "mm",
        "NL",
        "periodic inspection, a garage's page",
        QUOTED,
        "over play when new",
    ),
    Limit(PLAY, 10.0, "deg", "RU", "list of faults that forbid driving, 2.1", SEEN, "cars"),
    Limit(PLAY, 20.0, "deg", "RU", "list of faults that forbid driving, 2.1", SEEN, "buses"),
    Limit(PLAY, 25.0, "deg", "RU", "list of faults that forbid driving, 2.1", SEEN, "lorries"),
    Limit(PLAY, 15.0, "deg", "CN", "GB 7258", QUOTED, "design speed 100 km/h or more"),
    Limit(PLAY, 25.0, "deg", "CN", "GB 7258", QUOTED, "other motor vehicles"),
    Limit(PLAY, 35.0, "deg", "CN", "GB 7258", QUOTED, "three-wheelers"),
    Limit(SLIP, 5.0, "m/km", "CN", "GB 7258", MEMORY, "steered wheels of a beam axle"),
    Limit(SLIP, 5.0, "m/km", "JP", "periodic inspection standard", QUOTED, "unless the maker says more"),
    Limit(TREAD, 1.6, "mm", "JP", "inspection practice", MEMORY, least=True),
    Limit(TREAD, 1.5, "mm", "AU", "a motoring page", QUOTED, least=True),
    Limit(EFFORT, 150.0, "N", "UN", "UN R79, 6.2", MEMORY, "approval of cars, intact, 4 s into 12 m radius"),
    Limit(
        EFFORT, 300.0, "N", "UN", "UN R79, 6.2", MEMORY, "approval of cars, assistance failed, 4 s into 20 m"
    ),
    # No law: what testers and their builders go by.
    Limit(ADHESION, 15.0, "percent", "trade", "a university's laboratory sheet", SEEN),
    Limit(ADHESION, 10.0, "percent", "trade", "a tester builder's remark on a forum", QUOTED),
    Limit(PHASE, 35.0, "deg", "trade", "EGEA SPECSUS2018, CITA report of May 2019", SEEN, least=True),
)


def limits_of(quantity: str, jurisdiction: str | None = None, size: float | None = None) -> tuple[Limit, ...]:
    """All limits of a quantity, in one jurisdiction if it is named, for one size if it is given.

    size: diameter (m, 0.1 to 1) of the steering wheel (play) or rim (linkage). Of each table by size the
    row that holds there is given; other rows always. Empty where a jurisdiction has none here.
    Raises InputError, with what there is, for a quantity or jurisdiction that no row has.
    """
    _known(quantity, [row.quantity for row in LIMITS], "quantity with limits")
    if jurisdiction is not None:
        _known(jurisdiction, [row.jurisdiction for row in LIMITS], "jurisdiction with limits")
    found = [row for row in LIMITS if row.quantity == quantity and jurisdiction in (None, row.jurisdiction)]
    if size is None:
        return tuple(found)
    between(size, 0.1, 1.0, "the size", "mm", 1000.0)
    holds: dict[tuple[str, str, str], float] = {}
    for row in found:
        # A size in inches comes back from metres a hair below itself.
        if row.size_from is not None and row.size_from <= size * (1.0 + 1e-12):
            table = (row.jurisdiction, row.document, row.applies)
            holds[table] = max(row.size_from, holds.get(table, 0.0))
    return tuple(
        row
        for row in found
        if row.size_from is None or row.size_from == holds.get((row.jurisdiction, row.document, row.applies))
    )


def _known(word: str, words: list[str], what: str) -> None:
    """Refuse a word that is none of those known."""
    if word not in words:
        raise InputError(f"there is no {what} {word!r}: there are {', '.join(sorted(set(words)))}")
