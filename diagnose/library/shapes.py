"""What a value must be, said once: it checks nodes and writes itself as JSON Schema (2020-12).

A shape knows nothing of trees. `check` appends what is wrong with a node to a list of problems;
`label` is what the message calls the value, such as `'minutes'`. `schema` returns the same demand
for editors; shapes with a `name` become entries of `$defs`.
"""

from __future__ import annotations

import math
import re
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from diagnose.errors import Problem
from diagnose.library.nearest import nearest, suggest
from diagnose.library.text import Mapping, Node, Scalar, describe
from diagnose.library.text import Sequence as ListNode

__all__ = [
    "ByForm",
    "ByKey",
    "Choice",
    "Clause",
    "Identifier",
    "Key",
    "ListOf",
    "MappingOf",
    "Number",
    "OneOrMore",
    "Pattern",
    "Probability",
    "Row",
    "Shape",
    "Text",
    "YesNo",
    "document",
    "is_number",
    "optional",
]

Schema = dict[str, Any]
Definitions = dict[str, Schema]

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
#: What lies nearer to 0 than this and is not 0 is a slip; other numbers divided by it would have no bound.
_NEAR_ZERO = 1e-9
_IDENTIFIER = r"[a-z0-9]+(-[a-z0-9]+)*"


def is_number(text: str) -> bool:
    """True for a plain decimal number: digits, at most one point between digits, maybe a minus.

    Hundreds of digits, which would be read as infinity, are none.
    """
    return _NUMBER.fullmatch(text) is not None and math.isfinite(float(text))


def plain(number: float) -> str:
    """The number as a person writes it: no exponent, no trailing zeros."""
    return f"{number:.10f}".rstrip("0").rstrip(".")


class Shape(ABC):
    """What a value must be."""

    @property
    def what(self) -> str:
        """What the value is called in a message: "must be ..."."""
        return self._what()

    def check(self, node: Node, label: str, problems: list[Problem]) -> None:
        """Append to `problems` everything that is wrong with the node."""
        self._check(node, label, problems)

    def schema(self, definitions: Definitions) -> Schema:
        """The same demand as JSON Schema; named shapes put themselves into `definitions`."""
        return self._schema(definitions)

    def refuse(self, node: Node, label: str, problems: list[Problem], mend: str) -> None:
        """Note that the node is not what it must be."""
        problems.append(node.problem(f"{label} must be {self.what}, not {describe(node)}", mend))

    @abstractmethod
    def _what(self) -> str: ...

    @abstractmethod
    def _check(self, node: Node, label: str, problems: list[Problem]) -> None: ...

    @abstractmethod
    def _schema(self, definitions: Definitions) -> Schema: ...


# scalars --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Text(Shape):
    """Some words, at most `longest` characters; on one line unless `lines` is True."""

    longest: int = 120
    lines: bool = False

    def _what(self) -> str:
        return "text"

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if not isinstance(node, Scalar) or not node.text.strip():
            self.refuse(node, label, problems, "write a few plain words; quote them if they hold : or #")
        elif len(node.text.strip()) > self.longest:
            wrong = f"{label} has {len(node.text.strip())} characters, more than {self.longest}"
            problems.append(node.problem(wrong, "say it shorter"))
        elif not self.lines and "\n" in node.text.strip():
            wrong = f"{label} must stand on one line"
            problems.append(node.problem(wrong, "write it in one line, or fold it with >-"))

    def _schema(self, definitions: Definitions) -> Schema:
        # A bare number or a bare yes is text too: every scalar is, until its key asks for a number.
        return {
            "type": ["string", "number", "boolean"],
            "minLength": 1,
            "maxLength": self.longest,
            "pattern": r"\S",
        }


@dataclass(frozen=True)
class Pattern(Shape):
    """A word of a certain build; `mend` says how to write one."""

    pattern: str
    called: str
    mend: str
    longest: int = 80

    def _what(self) -> str:
        return self.called

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if not isinstance(node, Scalar) or not re.fullmatch(self.pattern, node.text):
            self.refuse(node, label, problems, self.mend)
        elif len(node.text) > self.longest:
            wrong = f"{label} has {len(node.text)} characters, more than {self.longest}"
            problems.append(node.problem(wrong, "choose a shorter one"))

    def _schema(self, definitions: Definitions) -> Schema:
        return {
            "type": ["string", "integer"],
            "pattern": f"^(?:{self.pattern})$",
            "maxLength": self.longest,
        }


class Clause(Pattern):
    """The number of a clause: two to four whole numbers with points between."""

    def __init__(self) -> None:
        super().__init__(
            r"[1-9][0-9]?(\.[1-9][0-9]?){1,3}",
            "the number of a clause",
            "write its numbers with points between, such as 5.3.4",
        )

    def _schema(self, definitions: Definitions) -> Schema:
        # An editor takes the two of 2.3 for a decimal number.
        number: Schema = {"type": "number", "not": {"type": "integer"}}
        return {"anyOf": [{**super()._schema(definitions), "type": "string"}, number]}


class Identifier(Pattern):
    """Lower-case letters and digits, joined by single hyphens."""

    def __init__(self) -> None:
        super().__init__(
            _IDENTIFIER,
            "an id",
            "write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end",
        )


@dataclass(frozen=True)
class Number(Shape):
    """A decimal number from `low` to `high`; `above`: low itself is excluded; `below`: high is."""

    low: float
    high: float
    above: bool = False
    below: bool = False
    whole: bool = False
    unit: str = ""

    def _what(self) -> str:
        kind = "a whole number" if self.whole else "a number"
        unit = f" of {self.unit}" if self.unit else ""
        low, high = plain(self.low), plain(self.high)
        if self.above and self.below:
            return f"{kind}{unit} between {low} and {high}, both excluded"
        if self.above:
            return f"{kind}{unit} above {low}, at most {high}"
        if self.below:
            return f"{kind}{unit} from {low} to below {high}"
        return f"{kind}{unit} from {low} to {high}"

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if not isinstance(node, Scalar) or not is_number(node.text):
            self.refuse(node, label, problems, self._mend(node))
            return
        value = float(node.text)
        low = value > self.low if self.above else value >= self.low
        high = value < self.high if self.below else value <= self.high
        if not (low and high) or (self.whole and not value.is_integer()):
            self.refuse(node, label, problems, self._mend(node))
        elif 0.0 < abs(value) < _NEAR_ZERO:
            mend = f"write {'a number' if self.above else '0, or one'} not nearer to 0 than {_NEAR_ZERO:.9f}"
            self.refuse(node, label, problems, mend)

    def _mend(self, node: Node) -> str:
        written = node.text.strip() if isinstance(node, Scalar) else ""
        comma = written.replace(",", ".")
        if written != comma and is_number(comma):
            return f"write the decimal point as a point: {comma}"
        if written.startswith(".") and is_number("0" + written):
            return f"write the digit before the point: 0{written}"
        share = written.removesuffix("%").strip()
        if share != written and is_number(share):
            return f"write it as a part of 1: {plain(float(share) / 100)}"
        if self.whole:
            return f"write a whole number such as {plain(max(self.low, 1))}"
        if (self.low, self.high, self.above, self.below) == (0, 1, True, True):
            return "write a decimal number such as 0.05 or 0.9; nothing is impossible, nothing is certain"
        return f"write a decimal number{' of ' + self.unit if self.unit else ''} in that range"

    def _schema(self, definitions: Definitions) -> Schema:
        return {
            "type": "integer" if self.whole else "number",
            "exclusiveMinimum" if self.above else "minimum": self.low,
            "exclusiveMaximum" if self.below else "maximum": self.high,
        }


class Probability(Number):
    """A number strictly between 0 and 1."""

    def __init__(self) -> None:
        super().__init__(0, 1, above=True, below=True)

    def _what(self) -> str:
        return "a probability strictly between 0 and 1"


@dataclass(frozen=True)
class Choice(Shape):
    """One of a few words."""

    words: tuple[str, ...]

    def _what(self) -> str:
        return " or ".join(self.words) if len(self.words) < 3 else "one of " + ", ".join(self.words)

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if isinstance(node, Scalar) and node.text in self.words:
            return
        otherwise = f"write one of: {', '.join(self.words)}"
        word = node.text if isinstance(node, Scalar) else ""
        self.refuse(node, label, problems, suggest(word, self.words, otherwise))

    def _schema(self, definitions: Definitions) -> Schema:
        return {"enum": list(self.words)}


class YesNo(Choice):
    """The word yes or the word no."""

    def __init__(self) -> None:
        super().__init__(("yes", "no"))

    def _schema(self, definitions: Definitions) -> Schema:
        return {"enum": ["yes", "no", True, False]}  # some editors read a bare yes as true


# lists and mappings ---------------------------------------------------------------------------


@dataclass(frozen=True)
class ListOf(Shape):
    """A list of `least` to `most` entries, all of one shape."""

    item: Shape
    least: int = 0
    most: int = 10_000

    def _what(self) -> str:
        return "a list"

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if not isinstance(node, ListNode):
            self.refuse(node, label, problems, "write a list: [one, two], or one '- ' line for each entry")
            return
        if not self.least <= len(node.items) <= self.most:
            wanted = (
                f"exactly {self.least}"
                if self.least == self.most
                else f"at least {self.least}"
                if len(node.items) < self.least
                else f"at most {self.most}"
            )
            number = "1 entry" if len(node.items) == 1 else f"{len(node.items)} entries"
            problems.append(node.problem(f"{label} has {number}, it needs {wanted}", "add or delete entries"))
        for item in node.items:
            self.item.check(item, f"an entry of {label}", problems)

    def _schema(self, definitions: Definitions) -> Schema:
        return {
            "type": "array",
            "items": self.item.schema(definitions),
            "minItems": self.least,
            "maxItems": self.most,
        }


@dataclass(frozen=True)
class OneOrMore(Shape):
    """One value, or a list of at least one of them."""

    item: Shape

    def _what(self) -> str:
        return self.item.what

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if isinstance(node, ListNode):
            ListOf(self.item, least=1).check(node, label, problems)
        else:
            self.item.check(node, label, problems)

    def _schema(self, definitions: Definitions) -> Schema:
        one = self.item.schema(definitions)
        return {"anyOf": [one, ListOf(self.item, least=1).schema(definitions)]}


@dataclass(frozen=True)
class MappingOf(Shape):
    """A mapping whose keys are free, all of one shape, and whose values are all of another."""

    key: Shape
    value: Shape
    of: str  # what the keys are, in the plural: "faults"

    def _what(self) -> str:
        return f"{self.of}, each under a key"

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if not isinstance(node, Mapping):
            self.refuse(node, label, problems, "write `name: value` pairs, indented or in { }")
            return
        for key, value in node.items:
            self.key.check(key, f"a key of {label}", problems)
            self.value.check(value, f"{key.text!r} in {label}", problems)

    def _schema(self, definitions: Definitions) -> Schema:
        key = {**self.key.schema(definitions), "type": "string"}
        return {
            "type": "object",
            "propertyNames": key,
            "additionalProperties": self.value.schema(definitions),
        }


@dataclass(frozen=True)
class Key:
    """One key of a row: its value, whether it must be there, and a line of help for editors."""

    value: Shape | Callable[[], Shape]
    required: bool = True
    about: str = ""

    def shape(self) -> Shape:
        """The value's shape; a function stands for one that is defined later, as a gate in a gate."""
        return self.value if isinstance(self.value, Shape) else self.value()


def optional(value: Shape | Callable[[], Shape], about: str = "") -> Key:
    """A key that may be left out."""
    return Key(value, required=False, about=about)


@dataclass(frozen=True)
class Row(Shape):
    """A mapping with known keys.

    name: the kind of row, as in "a finding". one_of: exactly one key of each group must be there;
    some_of: at least one; together: if one of the group is there, all must be.
    """

    name: str
    keys: dict[str, Key]
    one_of: tuple[tuple[str, ...], ...] = ()
    some_of: tuple[tuple[str, ...], ...] = ()
    together: tuple[tuple[str, ...], ...] = ()
    inline: bool = False  # written out in the schema instead of an entry of $defs

    def _what(self) -> str:
        return f"{self.name} (keys with values)"

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        if not isinstance(node, Mapping):
            self.refuse(node, label, problems, f"write its keys: {', '.join(self.keys)}")
            return
        meant: set[str] = set()
        for key, value in node.items:
            known = self.keys.get(key.text)
            if known is not None:
                known.shape().check(value, f"{key.text!r}", problems)
                continue
            # A slip is most likely one of the keys that are not there yet.
            free = [name for name in self.keys if node.get(name) is None]
            near = nearest(key.text, free)
            meant.update([near] if near else [])
            mend = f"did you mean {near!r}?" if near else f"the keys are: {', '.join(self.keys)}"
            problems.append(key.problem(f"{self.name} has no key {key.text!r}", mend))
        self._check_presence(node, meant, problems)

    def _check_presence(self, node: Mapping, meant: set[str], problems: list[Problem]) -> None:
        # Point at the first key: it stands where the row starts and is short enough to mark.
        here: Node = node.items[0][0] if node.items else node
        # What was meant by a slip is not missing as well: one mistake, one message.
        there = {key.text for key, _ in node.items} | meant
        missing = [name for name, key in self.keys.items() if key.required and name not in there]
        if missing:
            names = " and ".join(repr(name) for name in missing)
            problems.append(here.problem(f"{self.name} needs {names}", f"add {_lines(missing)}"))
        for group in self.one_of:
            given = [name for name in group if name in there]
            names = " or ".join(repr(name) for name in group)
            if not given:
                wrong = f"{self.name} needs one of {names}"
                problems.append(here.problem(wrong, f"add {names}"))
            elif len(given) > 1:
                second = node.key(given[1]) or here
                both = " and ".join(repr(name) for name in given)
                wrong = f"{self.name} has {both}, which exclude each other"
                problems.append(second.problem(wrong, "keep one of them"))
        for group in self.some_of:
            if not there.intersection(group):
                names = " or ".join(repr(name) for name in group)
                wrong = f"{self.name} needs {names}, or both"
                problems.append(here.problem(wrong, f"add {names}"))
        for group in self.together:
            absent = [name for name in group if name not in there]
            present = [name for name in group if name in there]
            if absent and present:
                at = node.key(present[0]) or here
                wrong = f"{self.name} has {present[0]!r} but not {absent[0]!r}"
                problems.append(at.problem(wrong, f"add {_lines(absent)}"))

    def _schema(self, definitions: Definitions) -> Schema:
        if self.inline:
            return self._object(definitions)
        name = re.sub("^an? ", "", self.name).replace(" ", "-")
        if name not in definitions:
            definitions[name] = {}  # holds the name while the row refers to itself further down
            definitions[name] = self._object(definitions)
        return {"$ref": f"#/$defs/{name}"}

    def _object(self, definitions: Definitions) -> Schema:
        properties: Schema = {}
        for name, key in self.keys.items():
            schema = key.shape().schema(definitions)
            properties[name] = {"description": key.about, **schema} if key.about else schema
        result: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
        required = [name for name, key in self.keys.items() if key.required]
        if required:
            result["required"] = required
        groups: list[Schema] = []
        for group in self.one_of:
            groups.append({"oneOf": [{"required": [name]} for name in group]})
        for group in self.some_of:
            groups.append({"anyOf": [{"required": [name]} for name in group]})
        if groups:
            result["allOf"] = groups
        if self.together:
            result["dependentRequired"] = {
                name: [other for other in group if other != name] for group in self.together for name in group
            }
        return result


def _lines(names: Sequence[str]) -> str:
    return " and ".join(f"`{name}: ...`" for name in names)


# one of several shapes ------------------------------------------------------------------------


@dataclass(frozen=True)
class ByKey(Shape):
    """A mapping whose kind follows from the first of some telling keys that it holds.

    otherwise: the kind of a mapping without any of them; None: one of them must be there.
    """

    name: str
    cases: tuple[tuple[str, Shape], ...]
    otherwise: Shape | None = None

    def _what(self) -> str:
        return f"{self.name} (keys with values)"

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        words = " or ".join(repr(key) for key, _ in self.cases)
        if not isinstance(node, Mapping):
            self.refuse(node, label, problems, f"write keys with values: {words}")
            return
        for key, shape in self.cases:
            if node.get(key) is not None:
                shape.check(node, label, problems)
                return
        if self.otherwise is not None:
            self.otherwise.check(node, label, problems)
            return
        here: Node = node.items[0][0] if node.items else node
        problems.append(here.problem(f"{self.name} needs {words}", f"add {words}"))

    def _schema(self, definitions: Definitions) -> Schema:
        rest: Any = False if self.otherwise is None else self.otherwise.schema(definitions)
        for key, shape in reversed(self.cases):
            rest = {"if": {"required": [key]}, "then": shape.schema(definitions), "else": rest}
        return {"type": "object", **rest}


@dataclass(frozen=True)
class ByForm(Shape):
    """A value that may be written as a scalar, a list or a mapping, each with its own shape."""

    called: str
    mend: str
    scalar: Shape | None = None
    sequence: Shape | None = None
    mapping: Shape | None = None

    def _what(self) -> str:
        return self.called

    def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
        form = (
            self.scalar
            if isinstance(node, Scalar)
            else self.sequence
            if isinstance(node, ListNode)
            else self.mapping
        )
        if form is None:
            self.refuse(node, label, problems, self.mend)
        else:
            form.check(node, label, problems)

    def _schema(self, definitions: Definitions) -> Schema:
        forms = (self.scalar, self.sequence, self.mapping)
        return {"anyOf": [form.schema(definitions) for form in forms if form is not None]}


def document(shape: Shape, title: str) -> Schema:
    """The shape as a whole JSON Schema document."""
    definitions: Definitions = {}
    schema = shape.schema(definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        **schema,
        "$defs": definitions,
    }
