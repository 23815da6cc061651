"""The library as a graph: its edges, what reaches what, and circles."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.library.graph import (
    complaints_raised_by,
    faults_raising,
    findings_showing,
    network,
    repeats_in_cycles,
    uses_in_cycles,
)
from diagnose.model.complaint import Complaint, Gate, Leaf
from diagnose.model.library import Library
from tests.small_trees import SMALL, compiled, edited

LIBRARY = compiled(SMALL)[0].library


def edges(kind: str) -> set[tuple[str, str]]:
    graph = network(LIBRARY)
    return {
        (f"{start[0]} {start[1]}", f"{end[0]} {end[1]}")
        for start, end in graph.edges
        if graph.edges[start, end]["kind"] == kind
    }


def test_faults_raise_complaints_over_gates() -> None:
    assert edges("raises") == {
        ("fault rod-end-play", "mechanism loose-steering"),
        ("fault tyres-soft", "mechanism two-soft"),
        ("fault rod-end-tight", "mechanism two-soft"),
        ("mechanism loose-steering", "complaint wander"),
        ("mechanism two-soft", "complaint wander"),
        ("fault tyres-soft", "complaint pull"),
        ("fault rod-end-tight", "complaint pull"),
        ("mechanism loose-steering", "complaint pull"),
    }


def test_faults_mechanisms_and_repeated_events_show_in_findings() -> None:
    assert edges("shows-in") == {
        ("fault tyres-soft", "finding ask-tyres/long-ago"),
        ("fault rod-end-play", "finding rock-the-steering/end-moves"),
        ("fault rod-end-tight", "finding rock-the-steering/how-stiff"),
        ("mechanism loose-steering", "finding rock-the-steering/how-stiff"),
        ("fault rod-end-play", "finding rock-the-steering/rim-play"),
        ("complaint wander", "finding rock-the-steering/wander-felt"),
    }


def test_findings_checks_set_ups_and_remedies() -> None:
    assert ("finding ask-tyres/long-ago", "check ask-tyres") in edges("found-by")
    assert len(edges("found-by")) == 5
    assert edges("done-in") == {
        ("check ask-tyres", "set-up talk"),
        ("check rock-the-steering", "set-up ground"),
    }
    assert edges("cured-by") == {
        ("fault rod-end-play", "remedy renew-rod-end"),
        ("fault rod-end-tight", "remedy renew-rod-end"),
        ("fault tyres-soft", "remedy pump-up"),
    }


def test_nodes_and_edges_carry_their_kind_and_strength() -> None:
    graph = network(LIBRARY)
    assert {kind for kind, _ in graph.nodes} == {
        "fault",
        "mechanism",
        "complaint",
        "finding",
        "check",
        "remedy",
        "set-up",
    }
    assert all(graph.nodes[node]["kind"] == node[0] for node in graph)
    assert graph.edges[("mechanism", "two-soft"), ("complaint", "wander")]["strength"] == 0.9


def test_what_is_named_but_not_there_is_left_out() -> None:
    draft, problems = compiled(edited(("pull.yaml", "cause: tyres-soft", "cause: tyres-sft")))
    assert len(problems) == 1
    assert ("fault", "tyres-sft") not in network(draft.library)


def test_a_gate_without_a_name_is_a_node_of_its_own() -> None:
    inner = Gate("any", 1, (Leaf("tyres-soft", 0.5),))
    top = Gate("all", 2, (inner, Leaf("rod-end-play", 0.5)))
    complaints = {"x": Complaint("x", "X", top)}
    graph = network(_with(complaints))
    assert graph.nodes["gate", "x#1"]["kind"] == "gate"
    assert faults_raising(graph, "x") == {"tyres-soft", "rod-end-play"}


def _with(complaints: dict[str, Complaint]) -> Library:
    return replace(LIBRARY, complaints=complaints, mechanisms={})


# what reaches what ----------------------------------------------------------------------------


def test_the_faults_that_can_raise_a_complaint() -> None:
    graph = network(LIBRARY)
    assert faults_raising(graph, "wander") == {"rod-end-play", "rod-end-tight", "tyres-soft"}
    assert faults_raising(graph, "pull") == {"rod-end-play", "rod-end-tight", "tyres-soft"}
    with pytest.raises(KeyError, match="hum"):
        faults_raising(graph, "hum")


def test_the_complaints_that_a_fault_can_raise() -> None:
    graph = network(compiled({**SMALL, "pull.yaml": "tools: []"})[0].library)
    assert complaints_raised_by(graph) == {
        "rod-end-play": {"wander"},
        "rod-end-tight": {"wander"},
        "tyres-soft": {"wander"},
    }
    alone = network(compiled({"parts.yaml": SMALL["parts.yaml"]})[0].library)
    assert complaints_raised_by(alone) == {"rod-end-play": set(), "rod-end-tight": set(), "tyres-soft": set()}


def test_a_finding_shows_a_fault_directly_or_over_a_mechanism_but_not_over_a_complaint() -> None:
    assert findings_showing(network(LIBRARY)) == {
        "rod-end-play": {
            "rock-the-steering/end-moves",
            "rock-the-steering/rim-play",
            "rock-the-steering/how-stiff",
        },
        "rod-end-tight": {"rock-the-steering/how-stiff"},
        "tyres-soft": {"ask-tyres/long-ago"},
    }


def test_no_circles_in_a_good_library() -> None:
    assert uses_in_cycles(LIBRARY) == []
    assert repeats_in_cycles(LIBRARY) == []


def test_uses_in_a_circle_over_two_complaints() -> None:
    files = edited(
        (
            "pull.yaml",
            "    - {cause: tyres-soft, strength: 0.5}\n",
            "    - mechanism: mine\n      name: mine\n      any: [{use: two-soft}, {use: loose-steering}]\n",
        ),
        ("wander.yaml", "- {cause: rod-end-tight, strength: 0.2}", "- {use: mine}"),
    )
    draft, _ = compiled(files)
    assert [use.mechanism for use in uses_in_cycles(draft.library)] == ["two-soft", "mine"]


def test_repeats_in_a_circle_of_two() -> None:
    files = edited(
        ("checks.yaml", "repeats: wander", "repeats: ask-tyres/long-ago"),
        (
            "checks.yaml",
            "        points-to: {tyres-soft: 0.6}\n        false-alarm: 0.3\n",
            "        repeats: rock-the-steering/wander-felt\n        hit: 0.9\n        false-alarm: 0.3\n",
        ),
    )
    draft, _ = compiled(files)
    assert repeats_in_cycles(draft.library) == ["ask-tyres/long-ago", "rock-the-steering/wander-felt"]


def test_a_repeat_of_a_repeat_is_no_circle() -> None:
    files = edited(
        (
            "checks.yaml",
            "        points-to: {tyres-soft: 0.6}\n        false-alarm: 0.3\n",
            "        repeats: rock-the-steering/wander-felt\n        hit: 0.9\n        false-alarm: 0.3\n",
        )
    )
    assert repeats_in_cycles(compiled(files)[0].library) == []
