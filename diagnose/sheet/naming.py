"""How things are called on a sheet."""

from __future__ import annotations

from diagnose.words import place_name

__all__ = ["at", "kilometres"]


def at(place: str | None) -> str:
    """`, front left`; empty for the whole car and for the centre."""
    name = "" if place == "car" else place_name(place)
    return f", {name}" if name else ""


def kilometres(km: float) -> str:
    """`187 000 km`."""
    return f"{km:,.0f} km".replace(",", " ")
