"""What is known about one car: its layout, distance, age, life and renewed parts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["Renewed", "Vehicle"]


@dataclass(frozen=True, slots=True)
class Renewed:
    """A part known to have been renewed: its clocks start again from there."""

    part: str
    position: str | None = None
    at_km: float | None = None
    years_ago: float | None = None


@dataclass(frozen=True, slots=True)
class Vehicle:
    """One car. A fact or condition that is missing is unknown, not absent.

    km in kilometres and years since first use, both >= 0 or None where unknown.
    """

    name: str = ""
    facts: Mapping[str, str] = field(default_factory=dict)
    conditions: Mapping[str, bool] = field(default_factory=dict)
    km: float | None = None
    years: float | None = None
    renewed: tuple[Renewed, ...] = ()
