"""A wheel-angle sheet from a file, YAML or CSV: every fault with its place, all of them at once.

docs/angles.md describes both formats. A blank value is a missing one, never a fault.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.angles.csvin import csv_entries, looks_like_csv
from diagnose.angles.entries import Reading, build, is_blank
from diagnose.angles.sheet import AXLES, FRONT_LAYOUTS, REAR_LAYOUTS, SIDES, SPECIFIED, UNITS
from diagnose.errors import Problem, SheetError
from diagnose.library.shapes import Choice, Key, Row, Shape, Text, YesNo, optional
from diagnose.library.text import Mapping, Node, Scalar, plain_text, read

__all__ = ["SHAPE", "read_sheets"]

#: The words that a row of a specification has in a file.
ALLOWED = ("low", "high", "nominal", "tolerance", "cross", "adjustable")


@dataclass(frozen=True)
class _OrBlank(Shape):
    """A value that may be left blank: then it is missing."""

    value: Shape

    def _what(self) -> str:
        return self.value.what

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if not (isinstance(node, Scalar) and is_blank(node.text)):
            self.value.check(node, label, problems)

    def _schema(self, definitions: dict[str, dict[str, object]]) -> dict[str, object]:
        return {"anyOf": [self.value.schema(definitions), {"type": "null"}]}


def _keys(*names: str) -> dict[str, Key]:
    return {name: optional(_OrBlank(Text(40))) for name in names}


def _row(name: str, keys: dict[str, Key]) -> Shape:
    return _OrBlank(Row(name, keys))


_WHEEL = _row("a wheel", _keys("camber", "caster", "inclination", "included", "toe", "height"))
_BOTH = {side: optional(_WHEEL) for side in SIDES}
_FRONT = _row("a front axle", {**_BOTH, **_keys("total-toe", "set-back")})
_REAR = _row("a rear axle", {**_BOTH, **_keys("total-toe", "set-back", "thrust")})
_MEASURED = {"front": optional(_FRONT), "rear": optional(_REAR), **_keys("rim")}
_ALLOWED = _row("what is allowed", {**_keys(*ALLOWED[:-1]), "adjustable": optional(_OrBlank(YesNo()))})
_SPECIFICATION = _row(
    "a specification",
    {
        axle: optional(
            _row(
                f"the specification of the {axle} axle",
                {angle: optional(_ALLOWED) for angle in SPECIFIED[axle] if angle != "set-back-length"},
            )
        )
        for axle in AXLES
    },
)
_CAR = _row(
    "a car",
    {
        "name": optional(_OrBlank(Text(80))),
        "front": optional(_OrBlank(Choice(FRONT_LAYOUTS))),
        "rear": optional(_OrBlank(Choice(REAR_LAYOUTS))),
        **_keys("wheelbase", "front-track", "rear-track"),
    },
)
#: A whole file.
SHAPE = Row(
    "a wheel-angle sheet",
    {
        "angles": Key(Choice(("1",))),
        "units": optional(_OrBlank(Choice(UNITS))),
        "toe-at": optional(_OrBlank(Text(40))),
        "car": optional(_CAR),
        "specification": optional(_SPECIFICATION),
        "repeatability": optional(_row("a repeatability", _keys("camber", "caster", "inclination", "toe"))),
        **_MEASURED,
        "before": optional(_row("a measurement", _MEASURED)),
        "after": optional(_row("a measurement", _MEASURED)),
    },
)


def read_sheets(data: bytes, file: str) -> Reading:
    """The sheets in the bytes of a file, YAML or CSV. Raises SheetError with every problem found.

    file: its name for messages; one that ends in .csv is CSV, and so is one that begins with such a header.
    """
    text, problems = plain_text(data, file)
    if problems:
        raise SheetError(problems)
    if file.lower().endswith(".csv") or looks_like_csv(text):
        entries = csv_entries(text, file, problems)
    else:
        entries = _yaml_entries(data, file, problems)
    misshapen = {problem.place for problem in problems}
    later: list[Problem] = []
    reading = build(entries, later)
    problems += [problem for problem in later if problem.place not in misshapen]
    if problems:
        raise SheetError(problems)
    return reading


def _yaml_entries(data: bytes, file: str, problems: list[Problem]) -> dict[str, Scalar]:
    root, found = read(data, file)
    problems += found
    entries: dict[str, Scalar] = {}
    if root is None:
        return entries
    SHAPE.check(root, "the file", problems)
    if isinstance(root, Mapping):
        for key, node in root.items:
            # A single measurement stands at the top: it is the one before.
            single = key.text in _MEASURED
            before = root.key("before")
            if single and before is not None:
                wrong = f"{key.text!r} stands at the top, and 'before' is there too"
                problems.append(
                    key.problem(wrong, f"move it below `before:`, which is in line {before.place.line}")
                )
            _flatten(node, f"before/{key.text}" if single else key.text, entries)
    return entries


def _flatten(node: Node, name: str, entries: dict[str, Scalar]) -> None:
    """Every text below a node by its name; the depth is bounded by the reader."""
    if isinstance(node, Scalar):
        entries.setdefault(name, node)
    elif isinstance(node, Mapping):
        for key, value in node.items:
            _flatten(value, f"{name}/{key.text}", entries)
