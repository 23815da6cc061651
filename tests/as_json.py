"""A parsed YAML node as the JSON value that an editor's schema checker sees."""

from __future__ import annotations

from typing import Any

from diagnose.library.shapes import is_number
from diagnose.library.text import Mapping, Node, Sequence


def as_json(node: Node) -> Any:
    """The node as an editor reads it, with numbers where they look like numbers."""
    if isinstance(node, Sequence):
        return [as_json(item) for item in node.items]
    if isinstance(node, Mapping):
        return {key.text: as_json(item) for key, item in node.items}
    if not is_number(node.text):
        return node.text or None  # YAML reads nothing as null
    number = float(node.text)
    return int(node.text) if number.is_integer() and "." not in node.text else number
