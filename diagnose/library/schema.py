"""JSON Schema of a tree file, for editors that complete and check while one writes."""

from __future__ import annotations

from typing import Any

from diagnose.library.format import FILE
from diagnose.library.shapes import document

__all__ = ["json_schema"]


def json_schema() -> dict[str, Any]:
    """The schema (draft 2020-12) of one tree file, from the same shapes that the loader checks.

    It cannot see what a whole library must fulfil, such as that a named fault exists.
    """
    return document(FILE, "A file of fault trees")
