"""A library as small as a workshop's daily bread, for trials of learning. Invented: demo data."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.model.library import Library
from tests.small_trees import TABLES, compiled

__all__ = ["WORKSHOP", "workshop"]

#: fault -> where, its life or chance, mates, P(it raises the complaint of its own), which complaint.
_FAULTS = (
    ("arm-bush-torn", "each-front-corner", "life: {km: 260000, shape: 1.6}", 0.35, "shakes"),
    ("disc-uneven", "each-front-corner", "chance: 0.03", 0.6, "shakes"),
    ("wheel-unbalanced", "each-axle", "chance: 0.06", 0.5, "shakes"),
    ("shaft-joint-worn", "front", "life: {km: 420000, shape: 1.5}", 0.5, "shakes"),
    ("rack-bush-soft", "front", "life: {years: 26, shape: 1.7}", 0.4, "drifts"),
    ("rod-end-loose", "each-front-corner", "life: {km: 480000, shape: 1.6}", 0.45, "drifts"),
    ("toe-out-of-true", "front", "chance: 0.08", 0.5, "drifts"),
    ("pressures-low", "each-axle", "chance: 0.05", 0.4, "drifts"),
    ("bearing-slack", "rear", "life: {km: 390000, shape: 1.5}", 0.4, "drifts"),
)

#: finding -> where it is asked, its false alarm, detections.
_FINDINGS = (
    ("arm-moves", "each-front-corner", 0.05, {"arm-bush-torn": 0.75}),
    ("pedal-pulses", "", 0.04, {"disc-uneven": 0.8}),
    ("felt-at-one-speed", "", 0.08, {"wheel-unbalanced": 0.7, "shaft-joint-worn": 0.2}),
    ("goes-with-load", "", 0.06, {"shaft-joint-worn": 0.7}),
    ("rack-shifts", "", 0.03, {"rack-bush-soft": 0.7}),
    ("end-knocks", "each-front-corner", 0.05, {"rod-end-loose": 0.8}),
    ("toe-reads-off", "", 0.06, {"toe-out-of-true": 0.9, "rod-end-loose": 0.2}),
    ("gauge-reads-low", "each-axle", 0.04, {"pressures-low": 0.9}),
    ("wheel-tips", "", 0.05, {"bearing-slack": 0.7}),
)


def _parts() -> str:
    rows = ["parts:"]
    for name, where, often, _, _ in _FAULTS:
        rows += [
            f"  - id: {name}-part",
            f"    name: part of {name}",
            f"    where: {where}",
            "    faults:",
            f"      - {{id: {name}, name: {name}, {often}, remedy: mend-{name}, source: estimate}}",
        ]
    rows.append("remedies:")
    for name, *_ in _FAULTS:
        rows.append(
            f"  - {{id: mend-{name}, name: mend {name}, per: each, hours: 1, parts: 40, source: estimate}}"
        )
    return "\n".join(rows) + "\n"


def _complaint(name: str, area: str = "course") -> str:
    rows = [
        "complaint:",
        f"  id: {name}",
        f"  name: It {name}",
        f"  says: [{name}]",
        "  leak: 0.02",
        "  source: estimate",
        f"  area: {area}",
        "  any:",
    ]
    rows += [f"    - {{cause: {fault}, strength: {s}}}" for fault, _, _, s, of in _FAULTS if of == name]
    return "\n".join(rows) + "\n"


def _checks() -> str:
    rows = ["checks:"]
    for number, (name, where, alarm, shows) in enumerate(_FINDINGS):
        points = ", ".join(f"{fault}: {chance}" for fault, chance in shows.items())
        rows += [
            f"  - id: look-{name}",
            f"    name: look whether {name}",
            "    set-up: ground",
            f"    minutes: {number + 2}",
            "    how: Look.",
            "    source: estimate",
            "    findings:",
            f"      - id: {name}",
            f"        name: {name}",
            *([f"        where: {where}"] if where else []),
            f"        points-to: {{{points}}}",
            f"        false-alarm: {alarm}",
        ]
    return "\n".join(rows) + "\n"


WORKSHOP: Mapping[str, str] = {
    "checks.yaml": _checks(),
    "drifts.yaml": _complaint("drifts"),
    "parts.yaml": _parts(),
    "shakes.yaml": _complaint("shakes"),
    "tables.yaml": TABLES,
}


def workshop() -> Library:
    """The library; its rules are not judged, since it is no more than a model to draw cars from."""
    return compiled(WORKSHOP)[0].library
