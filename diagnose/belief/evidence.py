"""From answers to likelihoods: what each answer says about the event that it observes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from diagnose.belief.network import Network, finding_key
from diagnose.model.check import Finding
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen

__all__ = [
    "SURE",
    "UNSURE",
    "finding_weights",
    "heard_weights",
    "merge",
    "observe",
    "observed_key",
    "seen_weights",
]

#: P(the answer tends this way | the event): an unsure answer is worth a likelihood ratio of 4 to 1.
UNSURE = 0.8
SURE = 1.0

#: answer -> how much of it is a yes.
YES: Mapping[str, float] = {"yes": SURE, "probably": UNSURE, "probably-not": 1.0 - UNSURE, "no": 0.0}

Weights = tuple[float, ...]


def _mix(answer: str, there: float, absent: float) -> tuple[float, float] | None:
    """(P(answer | no event), P(answer | event)) for an observer who sees it with these chances."""
    if answer not in YES:
        return None
    yes = YES[answer]
    return (yes * absent + (1 - yes) * (1 - absent), yes * there + (1 - yes) * (1 - there))


def heard_weights(library: Library, heard: Heard) -> tuple[str, Weights] | None:
    """Node key and weights of a complaint as told or felt; None where the answer says nothing."""
    complaint = library.complaints[heard.complaint]
    there, absent = complaint.heard if heard.by == "driver" else complaint.felt
    mixed = _mix(heard.answer, there, absent)
    return None if mixed is None else (heard.complaint, mixed)


def finding_weights(finding: Finding, seen: Seen, levels: int) -> Weights | None:
    """Weights over the states 0..levels of a finding for one answer; None where it says nothing."""
    if len(seen.shares) == levels + 1:
        return None if min(seen.shares) == max(seen.shares) else seen.shares
    if seen.reading is not None and finding.reading is not None:
        return finding.reading.likelihoods(seen.reading)
    answer = seen.answer
    if answer in finding.levels and answer not in YES:
        wanted = finding.levels.index(answer) + 1
        return tuple(1.0 if state == wanted else 0.0 for state in range(levels + 1))
    if answer == finding.none:
        return None if finding.always else (1.0,) + (0.0,) * levels
    if answer not in YES:
        return None
    yes = YES[answer]
    return (1.0 - yes,) + (yes,) * levels


def observed_key(library: Library, finding: str, position: str | None) -> str:
    """Node key of the event that an answer there observes: the finding itself, or what that repeats."""
    target = library.findings[finding].repeats
    if not target:
        return finding_key(finding, position)
    if target not in library.findings:
        return target
    return finding_key(target, position if library.findings[target].where else None)


def seen_weights(library: Library, network: Network, seen: Seen) -> tuple[str, Weights] | None:
    """Node key and weights of a finding as answered; None where it says nothing in this network."""
    finding = library.findings[seen.finding]
    if finding.repeats:
        mixed = _mix(seen.answer, finding.hit, finding.false_alarm[0])
        if mixed is None:
            return None
        target = observed_key(library, seen.finding, seen.position)
        if target not in network.nodes:
            return None
        top = network.nodes[target].top
        # An event of several levels is seen as soon as it reaches the first.
        gate = network.nodes[target].counts
        states = [0.0 if (s < top if gate else s == 0) else 1.0 for s in range(top + 1)]
        return target, tuple(mixed[1] if state else mixed[0] for state in states)
    key = finding_key(seen.finding, seen.position)
    if key not in network.nodes:
        return None
    weights = finding_weights(finding, seen, network.nodes[key].top)
    return None if weights is None else (key, weights)


def observe(
    library: Library, network: Network, heard: Iterable[Heard], seen: Iterable[Seen]
) -> list[tuple[str, Weights]]:
    """Every observation of the story that says something, in order: complaints first."""
    found = [heard_weights(library, each) for each in heard]
    found += [seen_weights(library, network, each) for each in seen]
    return [each for each in found if each is not None]


def merge(observations: Iterable[tuple[str, Sequence[float]]]) -> dict[str, Weights]:
    """One set of weights a node: several observations of one event multiply."""
    merged: dict[str, Weights] = {}
    for key, weights in observations:
        before = merged.get(key)
        merged[key] = (
            tuple(weights) if before is None else tuple(a * b for a, b in zip(before, weights, strict=True))
        )
    return merged
