"""Findings that are seen or not, as they stand in the model of one group of jobs.

For the links of a finding that was seen, the engine is asked about the same answers without it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.belief.evidence import Weights
from diagnose.belief.network import Network, Node, finding_key
from diagnose.learn.rows import Key
from diagnose.model.library import Library

__all__ = ["Shown", "columns_of", "shown_in"]


@dataclass(frozen=True)
class Shown:
    """A finding that is seen or not: its node, and where each input's figure and source stand.

    inputs: (figure, source, detection); alarm: (figure or None, false alarm).
    """

    key: str
    alarm: tuple[int | None, float]
    inputs: tuple[tuple[int, int | str, float], ...]


def columns_of(
    stories: Sequence[Mapping[str, Weights]], shown: Sequence[Shown]
) -> tuple[list[Mapping[str, Weights]], NDArray[np.intp], NDArray[np.intp]]:
    """The questions: each story, and it without each finding that it saw.

    With them the column of each story, shape (J,), and that of it without each finding, (J, F), or -1.
    """
    columns: list[Mapping[str, Weights]] = []
    at = np.zeros(len(stories), dtype=np.intp)
    without = np.full((len(stories), len(shown)), -1, dtype=np.intp)
    for job, story in enumerate(stories):
        at[job] = len(columns)
        columns.append(story)
        for number, each in enumerate(shown):
            if each.key in story and story[each.key][1] > 0.0:
                without[job, number] = len(columns)
                columns.append({key: value for key, value in story.items() if key != each.key})
    return columns, at, without


def shown_in(
    library: Library,
    network: Network,
    numbers: Mapping[Key, int],
    asked: Mapping[tuple[str, str | None], None],
) -> list[Shown]:
    """The findings asked that have a node of their own and two states."""
    found = []
    for name, place in asked:
        key = finding_key(name, place)
        finding = library.findings[name]
        node = network.nodes.get(key)
        if node is None or finding.repeats or len(finding.levels) != 1:
            continue
        detections = {link.target: link.detection[0] for link in finding.links if link.kind == "fault"}
        alarm = (numbers.get(Key("false-alarm", name)), node.start[1])
        found.append(Shown(key, alarm, _pointing(network, node, numbers, name, detections)))
    return found


def _pointing(
    network: Network, node: Node, numbers: Mapping[Key, int], name: str, detections: Mapping[str, float]
) -> tuple[tuple[int, int | str, float], ...]:
    """The inputs of a finding whose detection is a figure of its own."""
    inputs = []
    for each in node.inputs:
        cause = network.cause_of(each.source)
        if cause is None:
            continue
        fault = network.causes[cause].fault
        number = numbers.get(Key("detection", name, fault))
        if number is not None and each.chances[0] == detections.get(fault):
            inputs.append((number, each.source, each.chances[0]))
    return tuple(inputs)
