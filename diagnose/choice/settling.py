"""Which checks settle which causes."""

from __future__ import annotations

from diagnose.belief.belief import Car, places
from diagnose.belief.network import finding_key
from diagnose.choice.cost import possible
from diagnose.model.check import TALK
from diagnose.model.story import Workshop

__all__ = ["settling"]

#: A check settles a cause if it shows it this surely, with so few false alarms.
SETTLES_DETECTION = 0.6
SETTLES_FALSE_ALARM = 0.12


def settling(car: Car, workshop: Workshop) -> dict[int, list[str]]:
    """Cause -> checks that would settle it, of those that this workshop can do."""
    found: dict[int, list[str]] = {}
    network = car.network
    for check in car.checks.values():
        # What the driver remembers settles nothing.
        if check.set_up == TALK or not possible(check, workshop):
            continue
        for name in check.findings:
            for place in places(car.library, name):
                node = network.nodes.get(finding_key(name, place))
                if node is None or car.library.findings[name].repeats:
                    continue
                if 1.0 - node.start[0] > SETTLES_FALSE_ALARM:
                    continue
                for each in node.inputs:
                    cause = network.cause_of(each.source)
                    if cause is not None and sum(each.chances) >= SETTLES_DETECTION:
                        found.setdefault(cause, []).append(check.id)
    return found
