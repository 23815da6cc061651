"""A sheet as plain values: the same sections, tables and pictures, for other programs."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

from diagnose.sheet import page as p
from diagnose.sheet.plain import plain_text

__all__ = ["FORMAT", "sheet_json"]

FORMAT = "handling-diagnose/sheet/1"

#: Block and picture -> what it is called in JSON.
_KINDS = {
    "Paragraph": "paragraph",
    "Quote": "quote",
    "Listed": "list",
    "Facts": "facts",
    "Table": "table",
    "Branches": "tree",
    "Figure": "figure",
    "Notice": "notice",
    "Lines": "lines",
    "Steps": "steps",
    "Wheels": "wheels",
    "Ways": "ways",
}


def sheet_json(page: p.Page) -> dict[str, Any]:
    """The page with its format; docs/json.md describes every key."""
    found = _plain(page)
    assert isinstance(found, dict)
    return {"format": FORMAT, **found}


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        told = {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
        kind = _KINDS.get(type(value).__name__)
        if kind is None:
            return told
        # A notice and a paragraph have a kind of their own beside what they are.
        return {"is": kind, **told}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return plain_text(value) if isinstance(value, str) else value
