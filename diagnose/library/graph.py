"""The library as a directed graph: what raises what, and what shows where."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

import networkx as nx

from diagnose.model.complaint import Gate, Leaf, Use
from diagnose.model.library import Library

if TYPE_CHECKING:
    Network = nx.DiGraph[tuple[str, str]]
else:
    Network = nx.DiGraph

__all__ = [
    "Network",
    "complaints_raised_by",
    "faults_raising",
    "findings_showing",
    "in_circles",
    "network",
    "repeats_in_cycles",
    "uses_in_cycles",
]

Node = tuple[str, str]


def network(library: Library) -> Network:
    """The library as a graph; what a row refers to without its being there is left out.

    Nodes are pairs (kind, id) with the attribute `kind`: fault, mechanism, gate (one without a
    name), complaint, finding, check, remedy, set-up. Edges carry `kind`: `raises` (with strength)
    from fault over gates to complaint; `shows-in` from fault, mechanism, or the complaint or
    finding that is repeated, to finding; `found-by` from finding to check; `done-in` from check to
    set-up; `cured-by` from fault to remedy.
    """
    graph: Network = nx.DiGraph()
    tables = {
        "fault": library.faults,
        "mechanism": library.mechanisms,
        "complaint": library.complaints,
        "finding": library.findings,
        "check": library.checks,
        "remedy": library.remedies,
        "set-up": library.set_ups,
    }
    for kind, table in tables.items():
        graph.add_nodes_from(((kind, name) for name in table), kind=kind)

    def join(start: Node, end: Node, kind: str, strength: float = 1.0) -> None:
        if start in graph and end in graph:
            graph.add_edge(start, end, kind=kind, strength=strength)

    for complaint in library.complaints.values():
        for above, branch, below in _branches(complaint.top, ("complaint", complaint.id)):
            if below[0] == "gate":
                graph.add_node(below, kind="gate")
            join(below, above, "raises", branch.strength)
    for fault in library.faults.values():
        join(("fault", fault.id), ("remedy", fault.remedy), "cured-by")
    for finding in library.findings.values():
        here = ("finding", finding.id)
        for link in finding.links:
            join((link.kind, link.target), here, "shows-in")
        if finding.repeats:
            join(_event(finding.repeats), here, "shows-in")
        join(here, ("check", finding.check), "found-by")
    for check in library.checks.values():
        join(("check", check.id), ("set-up", check.set_up), "done-in")
    return graph


def _event(name: str) -> Node:
    return ("finding" if "/" in name else "complaint", name)


def _branches(top: Gate, node: Node) -> Iterator[tuple[Node, Leaf | Use | Gate, Node]]:
    """(node of the gate, branch, node of the branch) for every branch below a gate."""
    unnamed = 0
    todo = [(top, node)]
    while todo:
        gate, above = todo.pop()
        for branch in gate.branches:
            if isinstance(branch, Leaf):
                yield above, branch, ("fault", branch.fault)
            elif isinstance(branch, Use):
                yield above, branch, ("mechanism", branch.mechanism)
            else:
                below = ("mechanism", branch.id)
                if not branch.id:
                    unnamed += 1
                    below = ("gate", f"{node[1]}#{unnamed}")
                yield above, branch, below
                todo.append((branch, below))


def _only(graph: Network, *kinds: str) -> Network:
    """The graph with the edges of some kinds alone."""
    only: Network = nx.DiGraph()
    only.add_nodes_from(graph)
    only.add_edges_from(edge for edge in graph.edges if graph.edges[edge]["kind"] in kinds)
    return only


def faults_raising(graph: Network, complaint: str) -> set[str]:
    """The faults from which a way leads to the complaint, over however many gates.

    Raises KeyError for an unknown complaint.
    """
    node = ("complaint", complaint)
    if node not in graph:
        raise KeyError(complaint)
    return {name for kind, name in nx.ancestors(_only(graph, "raises"), node) if kind == "fault"}


def complaints_raised_by(graph: Network) -> dict[str, set[str]]:
    """For every fault of the graph, the complaints to which a way leads from it; maybe none."""
    return _reached(graph, "complaint", "raises")


def findings_showing(graph: Network) -> dict[str, set[str]]:
    """For every fault of the graph, the findings that point to it or to a mechanism above it."""
    return _reached(graph, "finding", "raises", "shows-in")


def _reached(graph: Network, kind: str, *over: str) -> dict[str, set[str]]:
    only = _only(graph, *over)
    if "shows-in" in over:  # a finding that repeats a complaint does not point to a fault
        only.remove_nodes_from([node for node in only if node[0] == "complaint"])
    return {
        node[1]: {name for found, name in nx.descendants(only, node) if found == kind}
        for node in graph
        if node[0] == "fault"
    }


def uses_in_cycles(library: Library) -> list[Use]:
    """Every use of a mechanism through which a mechanism would lead back to itself."""
    graph = _only(network(library), "raises")
    circle = _circles(graph)
    found = []
    for complaint in library.complaints.values():
        for above, branch, below in _branches(complaint.top, ("complaint", complaint.id)):
            if isinstance(branch, Use) and above in circle and circle.get(below) == circle[above]:
                found.append(branch)
    return found


def repeats_in_cycles(library: Library) -> list[str]:
    """The ids of findings that repeat each other in a circle, or themselves, in library order."""
    circle = _circles(_only(network(library), "shows-in"))
    return [
        finding.id
        for finding in library.findings.values()
        if finding.repeats
        and ("finding", finding.id) in circle
        and circle.get(_event(finding.repeats)) == circle["finding", finding.id]
    ]


def in_circles(leads_to: Mapping[str, Iterable[str]]) -> list[str]:
    """The ids that lead back to themselves, over however many others, in the order given."""
    graph: Network = nx.DiGraph()
    graph.add_edges_from((("", one), ("", other)) for one, others in leads_to.items() for other in others)
    circle = _circles(graph)
    return [name for name in leads_to if ("", name) in circle]


def _circles(graph: Network) -> dict[Node, int]:
    """Number of the circle for every node that lies on one."""
    found: dict[Node, int] = {}
    for number, nodes in enumerate(nx.strongly_connected_components(graph)):
        if len(nodes) > 1 or any(graph.has_edge(node, node) for node in nodes):
            found.update((node, number) for node in nodes)
    return found
