"""A tree as nodes and edges, each mechanism once, for languages that lay graphs out themselves."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.drawing.picture import Box, mark_words

__all__ = ["Edge", "Node", "joined"]


@dataclass(frozen=True, slots=True)
class Node:
    """An event: a name without signs, what kind of box it is, and its text."""

    name: str
    kind: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Edge:
    """From the node below to the gate above; strength in (0, 1], weight in [0, 1] or None if not told."""

    below: str
    above: str
    strength: float
    weight: float | None


def _plain(text: str) -> str:
    """The text without letters that could drive whatever reads it."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


def joined(top: Box) -> tuple[list[Node], list[Edge]]:
    """Nodes from the top down, and the edges."""
    nodes: list[Node] = []
    edges: list[Edge] = []
    known: dict[str, str] = {}

    def add(box: Box) -> str:
        if box.key in known:
            return known[box.key]
        name = f"n{len(nodes)}"
        if box.key:
            known[box.key] = name
        title = f"{box.name}: {box.gate_words}" if box.name and box.gate else box.name or box.gate_words
        only = (f"only {box.only}",) if box.only else ()
        lines = (title, *only, *mark_words(box))
        nodes.append(Node(name, box.kind, tuple(_plain(line) for line in lines)))
        for branch in box.branches:
            edges.append(Edge(add(branch), name, branch.strength, branch.weight))
        return name

    add(top)
    return nodes, edges
