"""A tree as text in the DOT language of graph tools; they lay it out themselves."""

from __future__ import annotations

from diagnose.drawing.graphs import Node, joined
from diagnose.drawing.picture import Box

__all__ = ["dot"]

_SHAPES = {"complaint": "box", "mechanism": "box", "gate": "box", "fault": "ellipse", "leak": "diamond"}


def dot(top: Box) -> str:
    """The tree as a directed graph, from faults up to the complaint; a shared mechanism is one node."""
    nodes, edges = joined(top)
    lines = ["digraph tree {", "  rankdir=RL;", '  node [fontname="sans-serif"];']
    lines += [f"  {each.name} [shape={_shape(each)}, label={_quoted(each.lines)}];" for each in nodes]
    for edge in edges:
        told = [f"label={_quoted((f'{edge.strength:.3g}',))}"] if edge.strength < 1.0 else []
        if edge.weight is not None:
            told.append(f"penwidth={1.0 + 5.0 * edge.weight:.2f}")
        how = f" [{', '.join(told)}]" if told else ""
        lines.append(f"  {edge.below} -> {edge.above}{how};")
    return "\n".join([*lines, "}", ""])


def _shape(node: Node) -> str:
    return _SHAPES.get(node.kind, "plaintext")


def _quoted(lines: tuple[str, ...]) -> str:
    """Lines as a string of the language, joined by its own sign: quotes and backslashes are escaped, and the
    ampersand too, since Graphviz reads character codes of HTML in a label."""
    escaped = (line.replace("&", "&amp;").replace("\\", "\\\\").replace('"', '\\"') for line in lines)
    return '"' + "\\n".join(escaped) + '"'
