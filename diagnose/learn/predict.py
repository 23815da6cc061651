"""What a library says of jobs whose cause is known: chances to be scored, suspect by suspect."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diagnose.belief.engine import Engine
from diagnose.belief.evidence import merge, observe
from diagnose.belief.network import Network, expand
from diagnose.learn.history import Job, Label, grouped
from diagnose.learn.links import felt
from diagnose.learn.scores import Scores, scores
from diagnose.model.library import Library

__all__ = ["score", "stated"]


def score(library: Library, jobs: Sequence[Job]) -> Scores | None:
    """Scores of what the library says of these jobs; None if no cause is known in any of them."""
    chances, true = stated(library, jobs)
    return scores(chances, true) if chances else None


def stated(library: Library, jobs: Sequence[Job]) -> tuple[list[float], list[int]]:
    """For each suspect of each job: P(to blame | what was told and seen), and whether it was entered.

    Left out are jobs without a label or not cured, and places of a fault that was entered without one.
    The complaint is taken to be there, as in learning.
    """
    chances: list[float] = []
    true: list[int] = []
    for group in grouped(job for job in jobs if job.label is not None and job.label.cured):
        complaints: dict[str, str | None] = {}
        for each in group.heard:
            complaints[each.complaint] = each.side or complaints.get(each.complaint)
        asked = dict.fromkeys((seen.finding, seen.position) for answers, _ in group.kinds for seen in answers)
        network, there = felt(expand(library, group.vehicle, complaints, asked))
        suspects = sorted(network.suspects)
        told = [*observe(library, network, group.heard, ()), (there, (0.0, 1.0))]
        columns = [merge([*told, *observe(library, network, (), answers)]) for answers, _ in group.kinds]
        blame = np.clip(Engine(network).ask(columns).to_blame, 0.0, 1.0)
        for row, ((_, label), count) in enumerate(zip(group.kinds, group.counts, strict=True)):
            assert label is not None
            sure, unsure = _named(network, label)
            for cause in suspects:
                if cause not in unsure and np.isfinite(blame[row, cause]):
                    chances += [float(blame[row, cause])] * count
                    true += [int(cause in sure)] * count
    return chances, true


def _named(network: Network, label: Label) -> tuple[set[int], set[int]]:
    """The causes that were entered, and those of which one was but nobody says which."""
    sure: set[int] = set()
    unsure: set[int] = set()
    for fault, place in label.causes:
        found = network.instances(fault, place)
        (sure if len(found) == 1 else unsure).update(found)
    return sure, unsure - sure
