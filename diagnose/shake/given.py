"""What was read, and of which car: values that refuse in words what cannot be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from diagnose.errors import InputError
from diagnose.geometry.orders import firing_order
from diagnose.geometry.ranges import between
from diagnose.geometry.speed import KMH
from diagnose.geometry.tyres import TyreSize

__all__ = ["MOST_READINGS", "UNITS", "Build", "By", "Reading", "Unit", "checked"]

#: How the speed was had.
By = Literal["speedometer", "satellite"]

#: Units in which a speed is shown, each in m/s.
Unit = Literal["km/h", "mph"]
UNITS: dict[Unit, float] = {"km/h": KMH, "mph": 1.609344 * KMH}

#: Readings taken together at most.
MOST_READINGS = 12


@dataclass(frozen=True, slots=True)
class Reading:
    """The strongest frequency at one steady speed.

    frequency in Hz (0.3 to 500), speed in m/s (5 to 350 km/h), rpm of the engine at that moment (300 to
    12000) or None. seconds: how long it was recorded (1 to 600). felt: beats counted by hand, not recorded.
    rate: samples a second of the recorder (2 to 100000) or None; it shows nothing true above half of it
    (sampling theorem, textbook). unit: in which the speed is shown. Raises InputError.
    """

    frequency: float
    speed: float
    rpm: float | None = None
    by: By = "speedometer"
    seconds: float = 20.0
    felt: bool = False
    rate: float | None = None
    unit: Unit = "km/h"

    @property
    def shown(self) -> float:
        """The speed in its unit."""
        return self.speed / UNITS[self.unit]

    def __post_init__(self) -> None:
        between(self.frequency, 0.3, 500.0, "the frequency", "Hz")
        between(self.speed, 5.0 * KMH, 350.0 * KMH, "the speed", "km/h", 3.6)
        between(self.seconds, 1.0, 600.0, "the time recorded", "s")
        if self.rpm is not None:
            between(self.rpm, 300.0, 12000.0, "engine speed", "rpm")
        if self.rate is not None and not self.felt:
            between(self.rate, 2.0, 100_000.0, "the recorder's rate", "samples a second")
            if self.frequency > self.rate / 2.0:
                raise InputError(
                    f"a recorder of {self.rate:g} samples a second shows nothing true above "
                    f"{self.rate / 2.0:g} Hz, so {self.frequency:g} Hz is no reading of it: "
                    "look at its rate and at the figure"
                )


@dataclass(frozen=True, slots=True)
class Build:
    """What is known of the car; None is unknown.

    tyre, or the circumference rolled in one turn (m, 0.9 to 4). final_drive: turns of the propshaft for one
    of the wheels, 1 to 8. propshaft: False for a car without one. gear_ratio: turns of the engine for one
    at the gearbox's end, 0.3 to 8. cylinders: 1 to 16 of a four-stroke engine. Raises InputError.
    """

    tyre: TyreSize | None = None
    circumference: float | None = None
    final_drive: float | None = None
    propshaft: bool | None = None
    gear_ratio: float | None = None
    cylinders: int | None = None

    def __post_init__(self) -> None:
        if self.circumference is not None:
            between(self.circumference, 0.9, 4.0, "the rolling circumference", "m")
        if self.final_drive is not None:
            between(self.final_drive, 1.0, 8.0, "the final drive ratio")
        if self.gear_ratio is not None:
            between(self.gear_ratio, 0.3, 8.0, "the gear ratio")
            if self.final_drive is None:
                raise InputError("a gear ratio needs the final drive ratio with it: give both, or rpm")
        if self.cylinders is not None:
            firing_order(self.cylinders)


def checked(readings: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """The readings themselves, if there are 1 to `MOST_READINGS` of them; else InputError."""
    if not readings:
        raise InputError("nothing was read: give a frequency and its speed, such as 14.6 Hz at 110 km/h")
    if len(readings) > MOST_READINGS:
        raise InputError(f"{len(readings)} readings are too many: give the {MOST_READINGS} clearest")
    return readings
