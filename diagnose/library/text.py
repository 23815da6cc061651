"""YAML text -> a tree of nodes that know where they stand; nothing is guessed from a value's looks.

Every scalar stays text. Anchors and aliases work, within limits; tags, tabs, duplicate keys,
several documents and control characters are problems. Bad input never raises.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from diagnose.errors import Place, Problem

__all__ = [
    "MAX_BYTES",
    "MAX_DEPTH",
    "MAX_NODES",
    "Mapping",
    "Node",
    "Scalar",
    "Sequence",
    "describe",
    "entries",
    "pairs",
    "plain_text",
    "read",
    "scalars",
]

#: Limits of one file: its size, its nodes once aliases are written out, and its nesting.
MAX_BYTES = 2_000_000
MAX_NODES = 200_000
MAX_DEPTH = 30

#: Of one kind of mistake that stands in every line of a file, only the first few are told.
_MAX_ALIKE = 20


@dataclass(frozen=True, slots=True)
class _Spot:
    """What all nodes share: where it starts, how many characters to mark there, and that line."""

    place: Place
    length: int = field(compare=False)
    line: str = field(compare=False, repr=False)

    def problem(self, wrong: str, mend: str) -> Problem:
        """A problem that points at this node and shows its line."""
        return Problem(self.place, wrong, mend, self.line, self.length)


@dataclass(frozen=True, slots=True)
class Scalar(_Spot):
    """A piece of text, as written after quotes and folding are undone."""

    text: str


@dataclass(frozen=True, slots=True)
class Sequence(_Spot):
    """A list."""

    items: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Mapping(_Spot):
    """Keys with their values, in the order written; every key is there once."""

    items: tuple[tuple[Scalar, Node], ...]

    def get(self, key: str) -> Node | None:
        """The value under `key`, or None."""
        for name, value in self.items:
            if name.text == key:
                return value
        return None

    def key(self, key: str) -> Scalar | None:
        """The key itself, for messages that point at it, or None."""
        for name, _ in self.items:
            if name.text == key:
                return name
        return None


Node = Scalar | Sequence | Mapping


def describe(node: Node) -> str:
    """The node in a message: its text in quotes (shortened), `a list`, `keys with values` or `nothing`."""
    if isinstance(node, Sequence):
        return "a list"
    if isinstance(node, Mapping):
        return "keys with values"
    if not node.text.strip():
        return "nothing"
    text = " ".join(node.text.split())
    return repr(text if len(text) <= 60 else text[:57] + "...")


def scalars(node: Node | None) -> tuple[Scalar, ...]:
    """The node itself if it is a scalar, or the scalars of a list; none of anything else."""
    items = node.items if isinstance(node, Sequence) else (node,)
    return tuple(item for item in items if isinstance(item, Scalar))


def entries(node: Node | None) -> tuple[Mapping, ...]:
    """The mappings of a list; none of anything else."""
    items = node.items if isinstance(node, Sequence) else ()
    return tuple(item for item in items if isinstance(item, Mapping))


def pairs(node: Node | None) -> tuple[tuple[Scalar, Node], ...]:
    """The keys and values of a mapping; none of anything else."""
    return node.items if isinstance(node, Mapping) else ()


def read(data: bytes, file: str) -> tuple[Node | None, list[Problem]]:
    """The root node of a YAML file, and everything wrong with its form, in file order.

    file: the name to show in messages. The node is None where no tree could be made of the text;
    otherwise it may be used further although there are problems (of two equal keys the first is
    kept, a tag is left out). Takes memory in proportion to the file, whatever its aliases.
    """
    text, problems = plain_text(data, file)
    if problems:
        return None, problems
    return _Reader(text, file).read()


def plain_text(data: bytes, file: str) -> tuple[str, list[Problem]]:
    """The text of a file of any format, and what is wrong with its size, encoding and control characters.

    Nothing of a text with problems may be shown but through these.
    """
    if len(data) > MAX_BYTES:
        wrong = f"the file has more than {MAX_BYTES:,} bytes"
        return "", [Problem(Place(file), wrong, "split it into several files")]
    text, problems = _decode(data, file)
    return text, problems or list(_forbidden(text, file))


def _decode(data: bytes, file: str) -> tuple[str, list[Problem]]:
    try:
        return data.decode("utf-8").removeprefix("\ufeff"), []
    except UnicodeDecodeError as error:
        before = _LINE_END.split(data[: error.start].decode("utf-8"))
        after = data[error.start :].decode("utf-8", "replace")
        shown = before[-1] + _LINE_END.split(after, maxsplit=1)[0]
        line, column = len(before), len(before[-1]) + 1
        wrong = f"byte 0x{data[error.start]:02X} in line {line} is not UTF-8"
        mend = "save the file with the encoding UTF-8"
        return "", [Problem(Place(file, line, column), wrong, mend, _visible(shown))]


# What no tree needs and what could garble a terminal: control characters, the line ends that only
# some programs count, marks that turn the direction of writing, and non-characters.
_CONTROL = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]"
)
_FORBIDDEN = re.compile(f"\t|{_CONTROL.pattern}")
_LINE_END = re.compile("\r\n|\n|\r")


def _visible(line: str) -> str:
    """The line with every forbidden character as one plain one, so that columns still fit."""
    return _FORBIDDEN.sub(lambda found: " " if found[0] == "\t" else "\ufffd", line)


def _forbidden(text: str, file: str) -> Iterator[Problem]:
    """The first tab or control character of each line."""
    if not _FORBIDDEN.search(text):
        return
    told = 0
    for number, line in enumerate(_LINE_END.split(text), start=1):
        found = _FORBIDDEN.search(line)
        if found is None:
            continue
        place = Place(file, number, found.start() + 1)
        if found[0] == "\t":
            yield Problem(place, "a tab stands here", "use spaces, never tabs", _visible(line))
        else:
            wrong = f"the control character U+{ord(found[0]):04X} stands here"
            yield Problem(place, wrong, "delete it", _visible(line))
        told += 1
        if told == _MAX_ALIKE:
            return


@dataclass(slots=True)
class _Open:
    """A list or mapping whose end has not been read yet."""

    event: Any
    is_mapping: bool
    items: list[Any] = field(default_factory=list)  # nodes, or pairs of key and node
    seen: dict[str, Place] = field(default_factory=dict)
    key: Scalar | None = None
    wants_value: bool = False
    size: int = 1
    height: int = 1


@dataclass(frozen=True, slots=True)
class _Anchored:
    node: Node
    size: int
    height: int


class _Stop(Exception):
    """Reading cannot go on; the problem has been noted."""


class _Reader:
    """One pass over the parser's events with a stack of its own, so that depth costs no recursion."""

    def __init__(self, text: str, file: str) -> None:
        self.text = text
        self.file = file
        self.lines = _LINE_END.split(text)
        self.problems: list[Problem] = []
        self.open: list[_Open] = []
        self.anchors: dict[str, _Anchored] = {}
        self.root: Node | None = None
        self.count = 0
        self.usable = True

    def read(self) -> tuple[Node | None, list[Problem]]:
        import yaml  # here, since a library that comes from the cache needs no parser

        documents = 0
        try:
            for event in yaml.parse(self.text, Loader=yaml.CSafeLoader):
                if isinstance(event, yaml.ScalarEvent):
                    self._scalar(event)
                elif isinstance(event, (yaml.MappingStartEvent, yaml.SequenceStartEvent)):
                    self._start(event, isinstance(event, yaml.MappingStartEvent))
                elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
                    self._end(event)
                elif isinstance(event, yaml.AliasEvent):
                    self._alias(event)
                elif isinstance(event, yaml.DocumentStartEvent):
                    documents += 1
                    if documents > 1:
                        wrong, mend = "a second document starts here", "keep one document to a file"
                        self._stop(event, wrong, mend)
        except _Stop:
            self.usable = False
        except yaml.MarkedYAMLError as error:
            self.problems.append(self._syntax(error))
            self.usable = False
        except yaml.YAMLError as error:
            wrong = f"this is not YAML: {' '.join(str(error).split())}"
            self.problems.append(Problem(Place(self.file), wrong, "mend it or start the file anew"))
            self.usable = False
        if self.usable and self.root is None and not self.problems:
            wrong, mend = "the file is empty", "write at least one key with a value, or delete the file"
            self.problems.append(Problem(Place(self.file), wrong, mend))
        return (self.root if self.usable else None), sorted(self.problems)

    # events ---------------------------------------------------------------------------------

    def _scalar(self, event: Any) -> None:
        self._refuse_tag(event)
        place, length, line = self._spot(event.start_mark, event.end_mark)
        node = Scalar(place, length, line, event.value)
        found = _FORBIDDEN.search(event.value)
        if found:
            what = "a tab" if found[0] == "\t" else f"the control character U+{ord(found[0]):04X}"
            self.problems.append(node.problem(f"an escape in this text gives {what}", "delete it"))
        self._count(1, event)
        self._remember(event.anchor, node, 1, 0)
        self._attach(node, 1, 0)

    def _start(self, event: Any, is_mapping: bool) -> None:
        self._refuse_tag(event)
        self._count(1, event)
        if len(self.open) >= MAX_DEPTH:
            self._stop(event, f"this is nested more than {MAX_DEPTH} deep", "write it flatter")
        self.open.append(_Open(event, is_mapping))

    def _end(self, event: Any) -> None:
        done = self.open.pop()
        place, length, line = self._spot(done.event.start_mark, event.end_mark)
        node: Node = (
            Mapping(place, length, line, tuple(done.items))
            if done.is_mapping
            else Sequence(place, length, line, tuple(done.items))
        )
        self._remember(done.event.anchor, node, done.size, done.height)
        self._attach(node, done.size, done.height)

    def _alias(self, event: Any) -> None:
        known = self.anchors.get(event.anchor)
        if known is None:
            if any(opened.event.anchor == event.anchor for opened in self.open):
                wrong = f"the alias '*{event.anchor}' stands inside the value that it repeats"
                self._stop(event, wrong, "write the value out here")
            wrong = f"the alias '*{event.anchor}' repeats nothing: there is no '&{event.anchor}' above it"
            place, length, line = self._spot(event.start_mark, event.end_mark)
            mend = f"put '&{event.anchor}' before the value to repeat, or quote the text"
            self.problems.append(Problem(place, wrong, mend, line, length))
            self.usable = False
            self._attach(Scalar(place, length, line, ""), 1, 0)
            return
        if len(self.open) + known.height > MAX_DEPTH:
            wrong = f"with the alias '*{event.anchor}' this is nested more than {MAX_DEPTH} deep"
            self._stop(event, wrong, "write it flatter")
        self._count(known.size, event)
        self._attach(known.node, known.size, known.height)

    # building ------------------------------------------------------------------------------

    def _attach(self, node: Node, size: int, height: int) -> None:
        if not self.open:
            self.root = node
            return
        parent = self.open[-1]
        parent.size += size
        parent.height = max(parent.height, height + 1)
        if not parent.is_mapping:
            parent.items.append(node)
        elif not parent.wants_value:
            parent.wants_value = True
            parent.key = None
            if not isinstance(node, Scalar):
                wrong = f"a key is a word, not {describe(node)}"
                mend = "write the key as plain text before the colon; quote a text that starts with [ or {"
                self.problems.append(node.problem(wrong, mend))
            elif node.text in parent.seen:
                first = parent.seen[node.text]
                wrong = f"the key {node.text!r} stands here twice, first in line {first.line}"
                self.problems.append(node.problem(wrong, "keep one of the two"))
            else:
                parent.seen[node.text] = node.place
                parent.key = node
        else:
            parent.wants_value = False
            if parent.key is not None:
                parent.items.append((parent.key, node))

    def _remember(self, anchor: str | None, node: Node, size: int, height: int) -> None:
        if anchor is not None:
            self.anchors[anchor] = _Anchored(node, size, height)

    def _count(self, size: int, event: Any) -> None:
        self.count += size
        if self.count > MAX_NODES:
            wrong = f"with its aliases written out the file has more than {MAX_NODES:,} values"
            self._stop(event, wrong, "split it into several files, or use fewer aliases")

    def _refuse_tag(self, event: Any) -> None:
        if event.tag is not None:
            place, length, line = self._spot(event.start_mark, event.end_mark)
            wrong = f"the tag {event.tag!r} stands here; tags are not used in these files"
            mend = "delete the tag; quote a text that starts with !"
            self.problems.append(Problem(place, wrong, mend, line, length))

    def _spot(self, start: Any, end: Any) -> tuple[Place, int, str]:
        """Place, marked length and line of what lies between two marks (both counted from 0)."""
        line = self.lines[start.line] if start.line < len(self.lines) else ""
        stop = end.column if start.line == end.line else len(line.rstrip())
        length = max(stop - start.column, 1)
        return Place(self.file, start.line + 1, start.column + 1), length, line

    def _stop(self, event: Any, wrong: str, mend: str) -> None:
        place, length, line = self._spot(event.start_mark, event.end_mark)
        self.problems.append(Problem(place, wrong, mend, line, length))
        raise _Stop

    def _syntax(self, error: Any) -> Problem:
        """The parser's complaint in plain words, at the place where a person would look."""
        mark = error.problem_mark or error.context_mark
        context = str(error.context or "")
        trouble = str(error.problem or "")
        wrong = f"this is not YAML: {' '.join(f'{context} {trouble}'.split())}"
        words = (wrong, "look at this line and the one above it", False)
        for (in_context, in_trouble), plain in _PLAIN_WORDS.items():
            if in_context in context and in_trouble in trouble:
                words = plain
                break
        wrong, mend, at_context = words
        if at_context and error.context_mark is not None:
            mark = error.context_mark
        if mark is None:
            return Problem(Place(self.file), wrong, mend)
        place, _, line = self._spot(mark, mark)
        return Problem(place, wrong, mend, line)


# (part of the context, part of the parser's message) -> (what is wrong, how to mend it, whether to
# point at the start of the open construct instead of the spot where the parser gave up).
_PLAIN_WORDS: dict[tuple[str, str], tuple[str, str, bool]] = {
    ("flow sequence", "did not find expected"): (
        "the list that starts with '[' here is not written right",
        "separate its entries by commas, close it with ']', and quote texts that hold : or ,",
        True,
    ),
    ("flow mapping", "did not find expected"): (
        "what is in the brackets from '{' here is not written right",
        "separate its keys by commas, close it with '}', and quote texts that hold : or ,",
        True,
    ),
    ("flow node", "did not find expected node content"): (
        "a value is missing here, or a '[' or '{' above is not closed",
        "write the value, or close the bracket",
        False,
    ),
    ("quoted scalar", "unknown escape"): (
        "YAML does not know this escape",
        "write a backslash as \\\\, or use single quotes",
        False,
    ),
    ("quoted scalar", ""): (
        "the quote that opens here is not closed, or holds a broken escape",
        "close it with the same quote mark; write a backslash as \\\\ inside double quotes",
        True,
    ),
    ("plain scalar", "found unexpected ':'"): (
        "a colon stands inside a bare text in brackets",
        "put a space after the colon of a key, or put the text in quotes",
        False,
    ),
    ("", "exceeded maximum nesting depth"): (
        f"this is nested more than {MAX_DEPTH} deep",
        "write it flatter",
        False,
    ),
    ("", "mapping values are not allowed"): (
        "a colon stands where no key can stand",
        "put the text in quotes, or indent this line like its neighbours",
        False,
    ),
    ("simple key", "could not find expected ':'"): (
        "this line has no colon after its key",
        "write `key: value`, or indent the line to continue the text above",
        True,
    ),
    ("block mapping", "did not find expected key"): (
        "this line does not line up with the keys above it",
        "indent it like the keys that it belongs to; quote a text that starts with a special sign",
        False,
    ),
    ("block collection", "did not find expected '-' indicator"): (
        "this line does not line up with the list above it",
        "start it with '- ' in the same column, or indent it further",
        False,
    ),
    ("", "cannot start any token"): (
        "a value cannot start with this sign",
        "put the whole value in quotes",
        False,
    ),
    ("", "sequence entries are not allowed"): (
        "a list entry cannot start here",
        "put the list on lines of its own below the key",
        False,
    ),
    ("alias", ""): (
        "a '*' starts an alias, and this is none",
        "put the whole value in quotes",
        False,
    ),
    ("anchor", ""): (
        "a '&' starts an anchor, and this is none",
        "put the whole value in quotes",
        False,
    ),
    ("", "did not find expected <document start>"): (
        "this line does not belong to what stands above it",
        "let every key of the file start in the same column",
        False,
    ),
}
