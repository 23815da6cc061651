"""A tree as text in the Mermaid language, which many viewers of Markdown draw."""

from __future__ import annotations

from diagnose.drawing.graphs import joined
from diagnose.drawing.picture import Box

__all__ = ["mermaid"]

_SHAPES = {"fault": ("([", "])"), "leak": ("{", "}")}


def mermaid(top: Box) -> str:
    """The tree as a flow chart, from faults up to the complaint; a shared mechanism is one node."""
    nodes, edges = joined(top)
    lines = ["flowchart RL"]
    for each in nodes:
        before, after = _SHAPES.get(each.kind, ("[", "]"))
        lines.append(f'  {each.name}{before}"{"<br/>".join(map(_plain, each.lines))}"{after}')
    for number, edge in enumerate(edges):
        label = f'|"{edge.strength:.3g}"|' if edge.strength < 1.0 else ""
        lines.append(f"  {edge.below} -->{label} {edge.above}")
        if edge.weight is not None:
            lines.append(f"  linkStyle {number} stroke-width:{1.0 + 5.0 * edge.weight:.2f}px")
    return "\n".join([*lines, ""])


def _plain(text: str) -> str:
    """The text between quotes: whatever the language might read as its own stands as a character code."""
    return "".join(
        letter if letter.isalnum() or letter in " .,:/()-'+=%" else f"#{ord(letter)};" for letter in text
    )
