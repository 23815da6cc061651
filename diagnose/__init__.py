"""Finds out why a car steers or handles badly.

The model, belief and choice rooms are a library usable without a terminal:

    from diagnose import Belief, Car, Heard, Story, Vehicle, load

    library = load()
    vehicle = Vehicle(facts={"front": "strut"}, km=187_000)
    car = Car(library, vehicle, {"wander": None})
    belief = Belief(car, Story(vehicle, (Heard("wander"),)))
    belief.present, belief.to_blame, belief.outside
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from diagnose.version import __version__

__all__ = [
    "Belief",
    "Car",
    "Heard",
    "Library",
    "Seen",
    "Story",
    "Vehicle",
    "Verdict",
    "Workshop",
    "__version__",
    "load",
]

if TYPE_CHECKING:
    from diagnose.belief.belief import Belief, Car
    from diagnose.choice.verdict import Verdict
    from diagnose.library.shelf import load
    from diagnose.model.library import Library
    from diagnose.model.story import Heard, Seen, Story, Workshop
    from diagnose.model.vehicle import Vehicle

#: Where each public name lives; imported on first use, so that `diagnose --help` stays quick.
_HOMES = {
    "Belief": "diagnose.belief.belief",
    "Car": "diagnose.belief.belief",
    "Heard": "diagnose.model.story",
    "Library": "diagnose.model.library",
    "Seen": "diagnose.model.story",
    "Story": "diagnose.model.story",
    "Vehicle": "diagnose.model.vehicle",
    "Verdict": "diagnose.choice.verdict",
    "Workshop": "diagnose.model.story",
    "load": "diagnose.library.shelf",
}


def __getattr__(name: str) -> Any:
    """Import a public name from its home."""
    if name in _HOMES:
        from importlib import import_module

        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'diagnose' has no attribute {name!r}")
