"""Ride frequency and motion ratio."""

from __future__ import annotations

import math

from diagnose.geometry.ranges import between, length

__all__ = [
    "GRAVITY",
    "motion_ratio",
    "ride_frequency",
    "ride_frequency_of_deflection",
    "spring_rate",
    "static_deflection",
    "wheel_rate",
]

#: Standard acceleration of free fall (m/s^2), ISO 80000-3.
GRAVITY = 9.80665


def ride_frequency(rate: float, mass: float) -> float:
    """Frequency (Hz) of a sprung mass (kg, 1 to 50000) on a rate at the wheel (N/m): sqrt(k / m) / 2 pi.

    The rate at the wheel (`wheel_rate`), not the spring's own. Source: textbook.
    """
    between(rate, 1.0, 1e7, "the rate", "N/m")
    return math.sqrt(rate / between(mass, 1.0, 50000.0, "the mass", "kg")) / (2.0 * math.pi)


def ride_frequency_of_deflection(deflection: float) -> float:
    """Frequency (Hz) from how far (m) the load presses a straight spring down: sqrt(g / d) / 2 pi.

    Deflection 1 mm to 5 m. Source: textbook.
    """
    return math.sqrt(GRAVITY / length(deflection, "static deflection", 0.001, 5.0)) / (2.0 * math.pi)


def static_deflection(frequency: float) -> float:
    """How far (m) the load presses down a straight spring of this ride frequency (Hz, 0.2 to 15)."""
    return GRAVITY / (2.0 * math.pi * between(frequency, 0.2, 15.0, "the ride frequency", "Hz")) ** 2


def motion_ratio(spring: float, wheel: float) -> float:
    """Travel of the spring over travel of the wheel (both m, of one movement), 0.1 to 2.

    Some texts turn it round; here below 1 means that the spring moves less than the wheel (own choice).
    """
    return between(
        length(spring, "travel of the spring", 0.001, 1.0) / length(wheel, "travel of the wheel", 0.001, 1.0),
        0.1,
        2.0,
        "the motion ratio",
    )


def wheel_rate(spring: float, ratio: float) -> float:
    """Rate at the wheel (N/m) of a spring (N/m) with this motion ratio: k r^2. Source: work, textbook."""
    return (
        between(spring, 1.0, 1e7, "the spring rate", "N/m")
        * between(ratio, 0.1, 2.0, "the motion ratio") ** 2
    )


def spring_rate(wheel: float, ratio: float) -> float:
    """Rate of the spring itself (N/m) from that at the wheel; the inverse of `wheel_rate`."""
    return (
        between(wheel, 1.0, 1e7, "the rate at the wheel", "N/m")
        / between(ratio, 0.1, 2.0, "the motion ratio") ** 2
    )
