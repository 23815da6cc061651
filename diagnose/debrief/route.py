"""The legs of a test drive: a fixed list of kinds, each with its usual surface, speeds and manoeuvre.

The list is common practice of road tests: each kind loads the car in a way that no other does. What it says
of surface, speed and manoeuvre is what is meant if nothing else is told; all of it may be changed.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ROUTE", "Kind"]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of leg. low and high: the speeds in km/h between which it is usually driven."""

    id: str
    name: str
    surface: str
    low: float
    high: float
    manoeuvre: str


#: id -> kind, in the order in which a debrief asks. Speeds are estimates; the law on the road outranks them.
ROUTE: dict[str, Kind] = {
    kind.id: kind
    for kind in (
        Kind(
            "straight",
            "straight fast road",
            "smooth tarmac",
            80,
            120,
            "steady speed, hands light on the rim, then power on and off",
        ),
        Kind(
            "undulating",
            "undulating road",
            "long waves and dips",
            60,
            90,
            "steady speed over the waves, rim held still",
        ),
        Kind(
            "bend-power",
            "bend under power",
            "smooth tarmac",
            40,
            70,
            "steady bend, then more throttle, gently; both ways",
        ),
        Kind(
            "bend-lift",
            "bend lifting off",
            "smooth tarmac",
            40,
            70,
            "steady bend, then lift off gently; both ways",
        ),
        Kind(
            "roundabout",
            "roundabout",
            "tarmac",
            20,
            35,
            "in and out with more and less lock, rim let come back by itself",
        ),
        Kind(
            "braking",
            "braking from speed",
            "smooth tarmac",
            20,
            80,
            "straight, nobody behind: brake lightly, then firmly",
        ),
        Kind(
            "rough",
            "rough or patched surface",
            "patches, joints, cobbles",
            30,
            50,
            "steady speed, then over single bumps with one side",
        ),
        Kind(
            "parking",
            "parking",
            "level, dry",
            0,
            10,
            "lock to lock both ways, set off and stop, forwards and back",
        ),
        Kind(
            "crosswind",
            "crosswind",
            "open road, bridges, lorries",
            70,
            100,
            "steady speed through gusts or past lorries",
        ),
    )
}
