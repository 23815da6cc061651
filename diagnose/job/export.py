"""A job as readable text (YAML, one list item an event) and back, without loss.

As in the trees, text needs no quotes (`answer: yes` is the word yes); numbers, true, false and null are
themselves where a field asks for them. The job's id is no part of the text: an import is a new job.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Any

import yaml

from diagnose.errors import JournalError, Place, Problem
from diagnose.job.bounds import strays
from diagnose.job.events import KINDS, Entry, Event, EventFault, text_fields
from diagnose.job.journal import Journal, parse_time, print_time
from diagnose.job.state import order_faults
from diagnose.words import harmless

__all__ = ["MOST_BYTES", "export", "import_text", "text_of"]

#: Version of this form of text.
VERSION = 1

#: Bounds of a text taken in: letters, values and depth, far above any real job (10,000 events have some
#: 1,000,000 letters and 150,000 values); at each of them reading takes less than 500 MB.
_LETTERS, _VALUES, _DEPTH = 5_000_000, 1_000_000, 30

#: No text of so many letters has more bytes, so that what is larger need not be read to its end.
MOST_BYTES = 4 * _LETTERS

_TOO_LARGE = ("the file is too large for a job", "import a job's export")

_YAML = "check indents, colons and quotes there"

_HEAD = "# One job from complaint to cure: its events, oldest first. Events of one step belong together.\n"
_KEYS = ("journal", "name", "events")
_EVENT_KEYS = ("step", "time", "event")

_TAG = "tag:yaml.org,2002:"
# Only JSON's own words and numbers are not text, so that `no`, `on` or a date need no quotes.
_RESOLVE = (
    (f"{_TAG}null", re.compile(r"(null|~|)\Z"), ["n", "~", ""]),
    (f"{_TAG}bool", re.compile(r"(true|false)\Z"), ["t", "f"]),
    (f"{_TAG}int", re.compile(r"-?(0|[1-9][0-9]*)\Z"), list("-0123456789")),
    (
        f"{_TAG}float",
        re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+([eE][-+]?[0-9]+)?|[eE][-+]?[0-9]+)\Z"),
        list("-0123456789"),
    ),
)

#: Text that reads well as it stands, and lines of it that read well as a block; all else is escaped.
_SIMPLE = re.compile(r"[ -~\u00a1-\u061b\u061d-\u1fff\u2010-\u2027\u2030-\ud7ff]*")
_BLOCK = re.compile(r"(?!\n)([!-~]([ -~]*[!-~])?|)(\n([!-~]([ -~]*[!-~])?|))*(?<!\n)")


#: What YAML 1.1, section 5.1, does not count as printable.
_NOT_TEXT = re.compile("[^\t\r -~\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

#: What YAML 1.1, section 4.2, counts as the end of a line; its marks count by these.
_LINE_END = re.compile("\r\n|[\n\r\x85\u2028\u2029]")


class _Dumper(yaml.CSafeDumper):
    yaml_implicit_resolvers: dict[str, Any] = {}  # noqa: RUF012 - the library's own way to be set up


class _Loader(yaml.CSafeLoader):
    yaml_implicit_resolvers: dict[str, Any] = {}  # noqa: RUF012


for _tag, _pattern, _first in _RESOLVE:
    _Dumper.add_implicit_resolver(_tag, _pattern, _first)
    _Loader.add_implicit_resolver(_tag, _pattern, _first)


def _text(dumper: yaml.CSafeDumper, value: str) -> yaml.ScalarNode:
    style = None if _SIMPLE.fullmatch(value) else "|" if _BLOCK.fullmatch(value) else '"'
    return dumper.represent_scalar(f"{_TAG}str", value, style=style)


_Dumper.add_representer(str, _text)


def export(journal: Journal, job: str) -> str:
    """The job as text. Raises JournalError if there is no such job or it cannot be read."""
    return text_of(journal.name(job), journal.events(job))


def text_of(name: str, entries: Iterable[Entry]) -> str:
    """A job of that name with these events as text, which `import_text` reads."""
    events = []
    for entry in entries:
        fields = {key: _short(value) for key, value in entry.event.to_dict().items() if key != "event"}
        head = {"step": entry.step, "time": print_time(entry.time), "event": entry.event.kind}
        events.append({**head, **fields})
    data = {"journal": VERSION, "name": name, "events": events}
    # One line a value whatever its length: lines that do not move compare well.
    text = yaml.dump(
        data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, default_flow_style=False, width=2**30
    )
    # What could turn the direction of a reader's line stands only between double quotes: see _text.
    return _HEAD + harmless(text, lambda found: f"\\u{ord(found[0]):04x}")


def import_text(journal: Journal, text: str, file: str) -> str:
    """Write the job in `text` as a new one and return its id; no job in the store is changed.

    file: its name in messages. Raises JournalError with every problem found, each with file, line and
    column; then nothing has been written.
    """
    problems: list[Problem] = []
    try:
        reader = _Reader(file, text)
        name, entries = reader.job(reader.root())
        problems = reader.problems
    except _Stop as stop:
        problems = [stop.problem]
    if problems:
        raise JournalError("\n".join(str(problem) for problem in sorted(set(problems))))
    return journal.adopt(name, entries)


def _short(value: Any) -> Any:
    """A whole number without its `.0`; -0.0 and what is too large to be exact stay as they are."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return value if value == 0 and math.copysign(1, value) < 0 else int(value)
    return value


class _Stop(Exception):
    """A problem after which nothing more can be read."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem


class _Reader:
    """One text on its way to entries; collects problems with their places."""

    def __init__(self, file: str, text: str) -> None:
        self.file, self.source = file, text
        self.lines = _LINE_END.split(text)
        self.problems: list[Problem] = []
        self._seen: set[int] = set()

    def root(self) -> yaml.Node:
        """The text as nodes. Raises _Stop where it is no YAML, is empty, too large or too deep."""
        if len(self.source) > _LETTERS:
            raise _Stop(Problem(Place(self.file), *_TOO_LARGE))
        for number, line in enumerate(self.lines, 1):
            if odd := _NOT_TEXT.search(line):
                wrong = f"the character {odd[0]!a} cannot stand in a text file"
                raise _Stop(Problem(Place(self.file, number, odd.start() + 1), wrong, "take it out"))
        try:
            # Composing recurses in C; a scan of the events first keeps it from running out of stack.
            depth = values = 0
            for event in yaml.parse(self.source, Loader=_Loader):
                values += isinstance(event, yaml.NodeEvent)
                if values > _VALUES:
                    raise _Stop(self._problem(event.start_mark, *_TOO_LARGE))
                depth += isinstance(event, yaml.CollectionStartEvent)
                depth -= isinstance(event, yaml.CollectionEndEvent)
                if depth > _DEPTH:
                    mend = "nothing in a job is that deep: check brackets and indents"
                    raise _Stop(self._problem(event.start_mark, f"nested more than {_DEPTH} deep", mend))
            node = yaml.compose(self.source, Loader=_Loader)
        except yaml.MarkedYAMLError as error:
            wrong = ": ".join(part for part in (error.context, error.problem) if part)
            raise _Stop(self._problem(error.problem_mark, f"not readable as YAML: {wrong}", _YAML)) from error
        if node is None:
            raise _Stop(Problem(Place(self.file, 1, 1), "the file is empty", "import a job's export"))
        return node

    def job(self, root: yaml.Node) -> tuple[str, list[Entry]]:
        """Name and entries; with problems noted they are not to be used."""
        head = self._mapping(root, "a job")
        for key, (key_node, _) in head.items():
            if key not in _KEYS:
                self._note(key_node, f"unknown key {key!r}", f"the keys are {', '.join(_KEYS)}")
        for key in _KEYS:
            if key not in head:
                raise _Stop(self._problem(root.start_mark, f"key {key!r} is missing", f"add {key!r}"))
        version = head["journal"][1]
        found = self._value(version)
        if type(found) is not int or found != VERSION:
            wrong = f"the job's format is {found!r}; this program reads format {VERSION}"
            raise _Stop(self._problem(version.start_mark, wrong, "for a higher number, update the program"))
        name = self._name(head["name"][1])
        items = head["events"][1]
        if not isinstance(items, yaml.SequenceNode):
            mend = "begin each event with `- step:`"
            raise _Stop(self._problem(items.start_mark, "events must be a list", mend))
        read = [(item, self._entry(item)) for item in items.value]
        entries = [entry for _, entry in read if entry is not None]
        # With an event missing, its neighbours would be blamed for a gap that is not theirs.
        if len(entries) == len(read):
            for index, wrong, mend in order_faults(entries):
                self._note(read[index][0] if read else items, wrong, mend)
        return name, entries

    def _name(self, node: yaml.Node) -> str:
        try:
            event = Event.from_dict({"event": "opened", "name": self._value(node, as_text=True)})
        except EventFault as fault:
            self._note(node, fault.wrong.replace(" of event 'opened'", ""), fault.mend)
            return ""
        return str(event.to_dict()["name"])

    def _entry(self, node: yaml.Node) -> Entry | None:
        """The entry of one list item, or None with its problem noted."""
        try:
            found = self._mapping(node, "an event")
            for key in _EVENT_KEYS:
                if key not in found:
                    raise _Stop(self._problem(node.start_mark, f"the event has no {key!r}", f"add {key!r}"))
            step = self._value(found["step"][1])
            if type(step) is not int:
                mark, wrong = found["step"][1].start_mark, f"step {step!r} is not a whole number"
                raise _Stop(self._problem(mark, wrong, "number the steps from 1"))
            kind = str(self._value(found["event"][1], as_text=True))
            texts = text_fields(kind) if kind in KINDS else frozenset()
            fields = {
                key: self._value(value, as_text=key in texts)
                for key, (_, value) in found.items()
                if key not in _EVENT_KEYS
            }
            time = found["time"][1]
            try:
                moment = parse_time(str(self._value(time, as_text=True)))
            except (ValueError, OverflowError) as error:
                mend = "write it as 2026-05-04T09:30:00Z"
                raise _Stop(self._problem(time.start_mark, f"not a time: {error}", mend)) from error
            try:
                entry = Entry(step, moment, Event.from_dict({**fields, "event": kind}))
                for field, wrong, mend in strays(entry.event):
                    raise EventFault(kind, field, wrong, mend)
                return entry
            except EventFault as fault:
                key_node, value_node = found.get(fault.field, (node, node))
                unknown = fault.field != "event" and " has no field " in fault.wrong
                place = key_node if unknown else value_node
                raise _Stop(self._problem(place.start_mark, fault.wrong, fault.mend)) from fault
        except _Stop as stop:
            self.problems.append(stop.problem)
            return None

    def _mapping(self, node: yaml.Node, what: str) -> dict[str, tuple[yaml.Node, yaml.Node]]:
        """key -> (key node, value node), in order. Raises _Stop for anything else or a key given twice."""
        if not isinstance(node, yaml.MappingNode):
            wrong = f"{what} must be keys with values"
            raise _Stop(self._problem(node.start_mark, wrong, "write `key: value`"))
        self._once(node)
        found: dict[str, tuple[yaml.Node, yaml.Node]] = {}
        for key, value in node.value:
            if not isinstance(key, yaml.ScalarNode):
                raise _Stop(self._problem(key.start_mark, "a key must be one word", "write `key: value`"))
            if key.value in found:
                wrong = f"key {key.value!r} is given twice"
                raise _Stop(self._problem(key.start_mark, wrong, "keep one of them"))
            found[key.value] = key, value
        return found

    def _value(self, node: yaml.Node, as_text: bool = False) -> Any:
        """Plain JSON values; as_text takes any scalar but null as it is written."""
        if isinstance(node, yaml.MappingNode):
            return {key: self._value(value) for key, (_, value) in self._mapping(node, "this").items()}
        self._once(node)
        if isinstance(node, yaml.SequenceNode):
            return [self._value(each) for each in node.value]
        tag, text = node.tag.removeprefix(_TAG), str(node.value)
        try:
            match tag:
                case "null":
                    return None
                case "str":
                    return text
                case "bool" | "int" | "float" if as_text:
                    return text
                case "bool":
                    return text == "true"
                case "int":
                    return int(text)
                case "float":
                    return float(text)
        except ValueError:  # a number of thousands of digits, or a tag that its text does not bear out
            raise _Stop(self._problem(node.start_mark, "not a usable number", "write it shorter")) from None
        raise _Stop(self._problem(node.start_mark, f"unknown tag {node.tag!r}", "leave the tag out"))

    def _once(self, node: yaml.Node) -> None:
        """An alias brings the same node a second time; a short text could grow without bound by them."""
        if id(node) in self._seen:
            raise _Stop(self._problem(node.start_mark, "a value is used again by an alias", "write it out"))
        self._seen.add(id(node))

    def _note(self, node: yaml.Node, wrong: str, mend: str) -> None:
        self.problems.append(self._problem(node.start_mark, wrong, mend))

    def _problem(self, mark: Any, wrong: str, mend: str) -> Problem:
        if mark is None:
            return Problem(Place(self.file), wrong, mend)
        line = self.lines[mark.line] if mark.line < len(self.lines) else ""
        # What does not print could garble the terminal; one letter for one keeps the columns.
        line = "".join(letter if letter.isprintable() else "\ufffd" for letter in line)
        return Problem(Place(self.file, mark.line + 1, mark.column + 1), wrong, mend, text=line)
