"""Which kind of leg can show which complaint, and which complaints are about how the car answers.

Common practice of road tests: a complaint is looked for where the car is loaded in the way that brings it
out. Two kinds of links are kept apart. A leg that *probes* a complaint would most likely have shown it, so
that silence about it says something; on a leg that *may* show it, silence says nothing: it comes and goes,
needs a trailer, a lorry or a load, or would need driving that has no place on a public road.

The table speaks of the shipped complaints. For one of your own trees only its area is known: then some legs
may show it, and silence about it never counts.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.debrief.drive import Leg
from diagnose.debrief.route import ROUTE
from diagnose.model.complaint import Complaint

__all__ = ["CONTROL", "STANDING", "TABLE", "UNFELT_AREAS", "Shows", "is_control", "probed", "shows"]


@dataclass(frozen=True, slots=True)
class Shows:
    """Kinds of leg that probe a complaint, kinds that may show it, and the speed (km/h) it needs there."""

    probes: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    least: float = 0.0

    @property
    def kinds(self) -> tuple[str, ...]:
        """All of them, in the order of the route."""
        return tuple(kind for kind in ROUTE if kind in self.probes or kind in self.may)


_BENDS = ("bend-power", "bend-lift")

TABLE: dict[str, Shows] = {
    # How the steering feels
    "does-not-self-centre": Shows(("roundabout", "bend-lift"), ("parking",)),
    "heavier-one-way": Shows(("roundabout", "parking"), _BENDS),
    "heavy-now-and-then": Shows((), ("roundabout", "parking", *_BENDS)),
    "heavy-steering": Shows(("roundabout", "parking")),
    "heavy-when-parking": Shows(("parking",)),
    "kickback": Shows(("rough",), ("undulating",)),
    "lazy-turn-in": Shows((*_BENDS, "roundabout")),
    "light-steering": Shows(("straight",), ("crosswind",), least=100),
    "notchy-on-centre": Shows(("straight",), ("undulating",)),
    "steering-free-play": Shows(("straight",), ("parking", "rough")),
    "steering-wheel-off-centre": Shows(("straight",)),
    "vague-steering": Shows(("straight",), ("undulating", "crosswind")),
    # How it holds its course
    "darts-over-bumps": Shows(("rough",), ("undulating",)),
    "follows-ruts": Shows((), ("straight", "rough")),
    "pull-to-one-side": Shows(("straight",), ("undulating",)),
    "pulls-after-alignment": Shows(("straight",), ("undulating",)),
    "pulls-when-braking": Shows(("braking",)),
    "runs-crabwise": Shows((), ("straight",)),
    "steps-aside-with-throttle": Shows(("straight",), ("bend-power", "bend-lift")),
    "swayed-by-wind": Shows(("crosswind",), ("straight",), least=70),
    "trailer-sways": Shows((), ("straight", "undulating", "braking", "crosswind")),
    "tugs-under-power": Shows((), ("straight", "bend-power")),
    "unstable-when-braking": Shows(("braking",), least=60),
    "wander": Shows(("straight",), ("undulating", "crosswind"), least=70),
    # Shakes and vibrations
    "judder-when-braking": Shows(("braking",), least=80),
    "seat-vibration": Shows(("straight",), ("crosswind",), least=100),
    "shimmy": Shows((), ("straight", "rough", "undulating")),
    "steering-wheel-vibration": Shows(("straight",), ("crosswind",), least=100),
    "thump-with-the-wheels": Shows((), ("straight", "roundabout", "parking")),
    "vibration-under-load": Shows(("bend-power",), ("straight",)),
    # Rear axle, body and ride
    "bottoms-out": Shows((), ("undulating", "rough")),
    "floaty-rear": Shows(("undulating",)),
    "harsh-ride": Shows(("rough",)),
    "nervous-rear": Shows(("straight",), ("crosswind", "undulating"), least=80),
    "pitches-and-dives": Shows(("braking", "undulating")),
    "poor-traction": Shows((), ("bend-power", "roundabout")),
    "rear-hop": Shows(("rough",), ("bend-power", "parking")),
    "rear-steers-over-bumps": Shows(("rough",), ("undulating",)),
    "rear-steps-out-lifting-off": Shows((), ("bend-lift", "braking")),
    "rear-steps-out-under-power": Shows((), ("bend-power", "roundabout")),
    "rolls-too-much": Shows(_BENDS, ("roundabout",)),
    "wallows-in-bends": Shows(_BENDS, ("undulating", "roundabout")),
    # Noises
    "binds-in-tight-turns": Shows(("parking",), ("roundabout",)),
    "click-on-lock": Shows(("parking",), ("roundabout",)),
    "clunk-when-pulling-away": Shows(("parking",), ("braking",)),
    "clunk-when-steering": Shows(("parking",), ("roundabout",)),
    "creak-or-groan-on-lock": Shows(("parking",), ("roundabout",)),
    "driveline-clunk": Shows(("straight",), ("parking", *_BENDS)),
    "front-clunk-over-bumps": Shows(("rough",), ("undulating", "parking")),
    "hum-with-speed": Shows(("straight",), ("crosswind",), least=80),
    "one-wheel-hot": Shows((), ("parking", "braking")),
    "rattle-on-rough-road": Shows(("rough",)),
    "rear-clunk-over-bumps": Shows(("rough",), ("undulating",)),
    "rear-creak": Shows((), ("rough", "undulating", "parking", *_BENDS)),
}

#: What is seen on the standing car or its tyres, not felt on the road: areas, and complaints of other areas.
UNFELT_AREAS = ("angles", "wear")
STANDING = ("leans-to-one-side", "one-corner-low")

#: Complaints about how the car answers the driver, rated with the words for control; all others are
#: disturbances.
CONTROL = frozenset(
    {
        "does-not-self-centre",
        "heavier-one-way",
        "heavy-now-and-then",
        "heavy-steering",
        "heavy-when-parking",
        "lazy-turn-in",
        "light-steering",
        "notchy-on-centre",
        "poor-traction",
        "rear-steps-out-lifting-off",
        "rear-steps-out-under-power",
        "rolls-too-much",
        "steering-free-play",
        "vague-steering",
    }
)

#: For complaints that the table does not know: where those of an area may show.
_BY_AREA: dict[str, tuple[str, ...]] = {
    "steering": ("straight", *_BENDS, "roundabout", "parking"),
    "course": ("straight", "undulating", "braking", "crosswind"),
    "shake": ("straight", "bend-power", "braking"),
    "body": ("undulating", *_BENDS, "rough"),
    "noise": ("roundabout", "rough", "parking"),
}


def shows(complaint: Complaint) -> Shows:
    """Where the complaint shows."""
    known = TABLE.get(complaint.id)
    return known or Shows((), _BY_AREA.get(complaint.area, ()) if complaint.id not in STANDING else ())


def probed(complaint: Complaint, leg: Leg) -> bool:
    """True if the complaint, were it there, would most likely have been noticed on this leg."""
    found = shows(complaint)
    return leg.kind in found.probes and leg.high >= found.least


def is_control(complaint: str | None) -> bool:
    """True if the complaint is rated with the words for control."""
    return complaint in CONTROL
