"""The rows of all files, checked for shape and laid over each other: same ids replace, new ids add."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from diagnose.errors import Problem
from diagnose.library.format import CHECK, COMPLAINT, FILE, PART, TABLE_CHANGES, TABLES
from diagnose.library.shapes import Row as RowShape
from diagnose.library.text import Mapping, Node, Scalar, entries
from diagnose.library.text import Sequence as ListNode

__all__ = ["KINDS", "Row", "Rows", "gather"]

#: Kinds of row, by the key of a file that holds them -> what one of them is called in a message.
KINDS = {
    "areas": "area",
    "facts": "fact",
    "conditions": "condition",
    "set-ups": "set-up",
    "tools": "tool",
    "cautions": "caution",
    "access": "access",
    "follow-ups": "follow-up",
    "sources": "source",
    "remedies": "remedy",
    "parts": "part",
    "faults": "fault",
    "checks": "check",
    "complaints": "complaint",
}

_SHAPES: dict[str, RowShape] = {**TABLES, "parts": PART, "checks": CHECK, "complaints": COMPLAINT}


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its node, the part that it belongs to (faults only), and the layer of its file.

    good: its shape is right, so that the model can be built of it.
    """

    kind: str
    id: str
    node: Mapping
    layer: int
    good: bool = True
    parent: Mapping | None = None


@dataclass(slots=True)
class Rows:
    """All rows: `every` as written, `top` after laying the layers over each other.

    lost: a file could not be read or a row has no id, so that a missing id proves nothing.
    """

    every: list[Row] = field(default_factory=list)
    top: dict[str, dict[str, Row]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    changes: list[Row] = field(default_factory=list)
    lost: bool = False

    def good(self, kind: str) -> Iterator[Row]:
        """The rows of one kind of which the model can be built, in the order written."""
        return (row for row in self.top[kind].values() if row.good)

    def findings(self) -> set[str]:
        """`check/finding` of every finding that is written, its shape right or not."""
        return {
            f"{row.id}/{name.text}"
            for row in self.top["checks"].values()
            for finding in entries(row.node.get("findings"))
            if isinstance(name := finding.get("id"), Scalar)
        }

    def mechanisms(self) -> list[Scalar]:
        """The name of every mechanism where it is defined, the shape around it right or not."""
        names = []
        todo = [row.node for row in self.top["complaints"].values()]
        while todo:
            node = todo.pop()
            name = node.get("mechanism")
            if isinstance(name, Scalar):
                names.append(name)
            for key in ("any", "all", "of"):
                todo.extend(entries(node.get(key)))
        return sorted(names, key=lambda name: name.place)

    @property
    def whole(self) -> bool:
        """True if every row is good and none is missing."""
        return not self.lost and all(row.good for row in self.every) and all(row.good for row in self.changes)


def gather(files: Sequence[tuple[int, Node | None]], problems: list[Problem]) -> Rows:
    """The rows of some files, each given as its layer (0 lowest) and its root node.

    Appends to `problems` what is wrong with the shape of a file. A root of None is a file that
    could not be read.
    """
    rows = Rows()
    for layer, root in sorted(files, key=lambda file: file[0]):
        if root is None:
            rows.lost = True
            continue
        found: list[Problem] = []
        FILE.check(root, "a tree file", found)
        problems.extend(found)
        if isinstance(root, Mapping):
            _file(root, layer, rows, sound=not found)
        else:
            rows.lost = True
    for row in rows.every:
        below = rows.top[row.kind].get(row.id)
        if below is None or below.layer < row.layer:  # of two in one layer, a mistake, the first stays
            rows.top[row.kind][row.id] = row
    return rows


def _file(root: Mapping, layer: int, rows: Rows, sound: bool) -> None:
    for key, value in root.items:
        kind = "complaints" if key.text == "complaint" else key.text
        written = value.items if isinstance(value, ListNode) else (value,)
        if kind == "changes":
            for entry in written:
                good = sound or _fits(TABLE_CHANGES, entry)
                if isinstance(entry, Mapping):
                    rows.changes.append(Row("changes", "", entry, layer, good))
        elif kind in _SHAPES:
            for entry in written:
                _row(kind, entry, layer, rows, good=sound or _fits(_SHAPES[kind], entry))


def _row(kind: str, entry: Node, layer: int, rows: Rows, good: bool, parent: Mapping | None = None) -> None:
    name = entry.get("id") if isinstance(entry, Mapping) else None
    if not isinstance(entry, Mapping) or not isinstance(name, Scalar):
        rows.lost = True
        return
    rows.every.append(Row(kind, name.text, entry, layer, good, parent))
    faults = entry.get("faults") if kind == "parts" else None
    if isinstance(faults, ListNode):
        for fault in faults.items:
            _row("faults", fault, layer, rows, good, parent=entry)


def _fits(shape: RowShape, node: Node) -> bool:
    found: list[Problem] = []
    shape.check(node, "a row", found)
    return not found
