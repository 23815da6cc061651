"""Case files: one car, its complaints and answers in YAML, for scripts, tests and batch runs.

docs/case-files.md describes every key. All problems of a file are found in one reading.
"""

from __future__ import annotations

from collections.abc import Mapping as MappingType
from dataclasses import dataclass, field, replace

from diagnose.errors import CaseError, InputError, Problem
from diagnose.job import events as e
from diagnose.job.case_rounds import Rounds, round_shape
from diagnose.job.state import fold
from diagnose.job.steps import entries_of
from diagnose.job.story import known_story
from diagnose.library.nearest import suggest
from diagnose.library.shapes import (
    ByForm,
    Choice,
    Identifier,
    Key,
    ListOf,
    MappingOf,
    Number,
    OneOrMore,
    Row,
    Text,
    YesNo,
    is_number,
    optional,
)
from diagnose.library.text import Mapping, Node, Scalar, entries, pairs, read, scalars
from diagnose.model.check import Finding
from diagnose.model.library import Library
from diagnose.model.position import POSITIONS, WHERE
from diagnose.model.story import ANSWERS, Heard, Seen, Story, Workshop
from diagnose.model.vehicle import Renewed, Vehicle
from diagnose.units import MOST_KM, MOST_YEARS, parse_reading

__all__ = ["Case", "Confirmed", "read_answers", "read_case"]

_ID = Identifier()
_ANSWER = Choice(ANSWERS)

_VEHICLE_KEYS = {
    "name": optional(Text(80)),
    "km": optional(Number(0, MOST_KM, unit="kilometres")),
    "years": optional(Number(0, MOST_YEARS, unit="years")),
    "conditions": optional(MappingOf(_ID, YesNo(), "conditions")),
    "renewed": optional(
        ListOf(
            Row(
                "a renewed part",
                {
                    "part": Key(_ID),
                    "position": optional(Choice(POSITIONS)),
                    "at-km": optional(Number(0, MOST_KM, unit="kilometres")),
                    "years-ago": optional(Number(0, MOST_YEARS, unit="years")),
                },
                some_of=(("at-km", "years-ago"),),
            )
        )
    ),
}
_COMPLAINT = Row(
    "a complaint",
    {
        "id": optional(_ID),
        "says": optional(Text(200)),
        "side": optional(Choice(("left", "right"))),
        "heard": optional(_ANSWER),
        "road-test": optional(_ANSWER),
    },
    one_of=(("id", "says"),),
)
_VALUE = Text(80)
_ANSWERED = Row(
    "an answered check",
    {
        "check": Key(_ID),
        "findings": optional(
            MappingOf(
                _ID,
                ByForm(
                    "an answer",
                    "write yes, probably, cannot-tell, probably-not, no, a grade or a reading",
                    scalar=_VALUE,
                    mapping=MappingOf(Choice(POSITIONS), _VALUE, "positions"),
                ),
                "findings",
            )
        ),
        "others": optional(Choice(("no",))),
    },
    some_of=(("findings", "others"),),
)
_CONFIRMED = Row(
    "a confirmed diagnosis",
    {
        "causes": optional(
            ListOf(Row("a confirmed cause", {"fault": Key(_ID), "position": optional(Choice(POSITIONS))}))
        ),
        "not-in-trees": optional(ListOf(Text(200))),
        "telling": optional(Number(0, 100, whole=True)),
        "source": optional(Text(300)),
        "confidence": optional(Choice(("high", "medium", "low"))),
    },
)
_WORKSHOP = Row(
    "a workshop",
    {
        "currency": optional(Text(8)),
        "labour-rate": optional(Number(0, 100_000, above=True, unit="money per hour")),
        "cannot": optional(OneOrMore(_ID)),
    },
)


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What it turned out to be: (fault, position or None), and causes that no tree expresses.

    telling: how many answers at the end are the telling last checks.
    """

    causes: tuple[tuple[str, str | None], ...]
    outside: tuple[str, ...] = ()
    telling: int = 0
    source: str = ""


@dataclass(frozen=True, slots=True)
class Case:
    """A case file. steps: how many of `story.seen` each answered check brought, in order; rounds: the events
    from the first repair on, step by step."""

    id: str
    story: Story
    workshop: Workshop = field(default_factory=Workshop)
    confirmed: Confirmed | None = None
    steps: tuple[int, ...] = ()
    rounds: tuple[tuple[e.Event, ...], ...] = ()


def read_case(library: Library, data: bytes, file: str) -> Case:
    """The case in the bytes of a file. Raises CaseError with every problem found."""
    root, problems = read(data, file)
    if root is None:
        raise CaseError(problems)
    return _Reader(library, problems).case(root)


def read_answers(library: Library, data: bytes, file: str) -> list[list[Seen]]:
    """The answers in a file that holds nothing but `case` and `answers`, a list for each answered check.

    Raises CaseError with every problem found.
    """
    root, problems = read(data, file)
    if root is None:
        raise CaseError(problems)
    return _Reader(library, problems).answers_alone(root)


class _Reader:
    def __init__(self, library: Library, problems: list[Problem]) -> None:
        self.library = library
        self.problems = problems

    def case(self, root: Node) -> Case:
        facts = {
            fact.id: optional(Choice(tuple(v.id for v in fact.values)))
            for fact in self.library.facts.values()
        }
        shape = Row(
            "a case file",
            {
                "case": Key(Choice(("1",))),
                "id": optional(Text(60)),
                "vehicle": optional(Row("a vehicle", {**_VEHICLE_KEYS, **facts})),
                "complaints": Key(ListOf(_COMPLAINT, least=1)),
                "answers": optional(ListOf(_ANSWERED)),
                "rounds": optional(ListOf(round_shape(_ANSWERED))),
                "workshop": optional(_WORKSHOP),
                "confirmed": optional(_CONFIRMED),
            },
        )
        shape.check(root, "the file", self.problems)
        if not isinstance(root, Mapping):
            raise CaseError(self.problems)
        # What is of the wrong shape has been told; the rest is read all the same, to tell all at once.
        misshapen = {problem.place for problem in self.problems}
        before = list(self.problems)
        self.problems = []
        vehicle = self._vehicle(root.get("vehicle"))
        heard = self._complaints(root.get("complaints"))
        answered = self._answered(root.get("answers"))
        seen = [each for found in answered for each in found]
        workshop = self._workshop(root.get("workshop"))
        confirmed = self._confirmed(root.get("confirmed"))
        story = Story(vehicle, tuple(heard), tuple(seen))
        rounds: list[list[e.Event]] = []
        if root.get("rounds") is not None and story.heard:
            rounds = Rounds(self.library, self.problems, story, workshop, self._answered).steps(
                root.get("rounds")
            )
        problems = before + [problem for problem in self.problems if problem.place not in misshapen]
        if problems:
            raise CaseError(problems)
        case = Case(
            _text(root.get("id")),
            story,
            workshop,
            confirmed,
            tuple(map(len, answered)),
            tuple(map(tuple, rounds)),
        )
        return replace(case, story=_through(self.library, case)) if rounds else case

    def answers_alone(self, root: Node) -> list[list[Seen]]:
        keys = {"case": Key(Choice(("1",))), "answers": Key(ListOf(_ANSWERED, least=1))}
        Row("a file of answers", keys).check(root, "the file", self.problems)
        misshapen = {problem.place for problem in self.problems}
        before, self.problems = list(self.problems), []
        found = self._answered(root.get("answers")) if isinstance(root, Mapping) else []
        problems = before + [problem for problem in self.problems if problem.place not in misshapen]
        if problems:
            raise CaseError(problems)
        return [seen for seen in found if seen]

    def _answered(self, node: Node | None) -> list[list[Seen]]:
        """The answers of a list of checks, a list for each; told of the car at one time."""
        found = [self._answers(entry) for entry in entries(node)]
        self._twice(node, [each for some in found for each in some])
        return found

    def _known(self, node: Node | None, table: MappingType[str, object], called: str) -> str:
        """The id in the node; notes a problem if the table does not have it."""
        name = _text(node)
        if isinstance(node, Scalar) and name not in table:
            listed = "causes" if called == "fault" else f"{called}s"
            otherwise = f"`diagnose trees {listed}` lists them all"
            self.problems.append(
                node.problem(f"there is no {called} {name!r}", suggest(name, table, otherwise))
            )
        return name

    def _vehicle(self, node: Node | None) -> Vehicle:
        if not isinstance(node, Mapping):
            return Vehicle()
        conditions = {}
        for key, value in pairs(node.get("conditions")):
            conditions[self._known(key, self.library.conditions, "condition")] = _text(value) == "yes"
        renewed = []
        for entry in entries(node.get("renewed")):
            part = self._known(entry.get("part"), self.library.parts, "part")
            renewed.append(
                Renewed(
                    part,
                    _text(entry.get("position")) or None,
                    _number(entry.get("at-km")),
                    _number(entry.get("years-ago")),
                )
            )
        facts = {f: _text(node.get(f)) for f in self.library.facts if node.get(f) is not None}
        return Vehicle(
            _text(node.get("name")),
            facts,
            conditions,
            _number(node.get("km")),
            _number(node.get("years")),
            tuple(renewed),
        )

    def _complaints(self, node: Node | None) -> list[Heard]:
        from diagnose.library.matching import match_complaint

        heard: list[Heard] = []
        for entry in entries(node):
            says = entry.get("says")
            if isinstance(says, Scalar):
                found = match_complaint(self.library, says.text)
                if not found:
                    mend = "say it otherwise, or write `id:` with one that `diagnose trees` lists"
                    self.problems.append(says.problem(f"no complaint sounds like {says.text!r}", mend))
                    continue
                complaint = found[0].complaint
            else:
                complaint = self._known(entry.get("id"), self.library.complaints, "complaint")
                if complaint not in self.library.complaints:
                    continue
            side = _text(entry.get("side")) or None
            if side and not self.library.complaints[complaint].sided:
                at = entry.key("side") or entry
                self.problems.append(
                    at.problem(f"complaint {complaint!r} has no side", "delete the line with `side`")
                )
            tested = _text(entry.get("road-test"))
            told = _text(entry.get("heard"))
            if told or not tested:
                heard.append(Heard(complaint, side, told or "yes", "driver"))
            if tested:
                heard.append(Heard(complaint, side, tested, "road-test"))
        return heard

    def _answers(self, entry: Mapping) -> list[Seen]:
        check = self._known(entry.get("check"), self.library.checks, "check")
        if check not in self.library.checks:
            return []
        names = {f.partition("/")[2]: self.library.findings[f] for f in self.library.checks[check].findings}
        seen: list[Seen] = []
        for key, value in pairs(entry.get("findings")):
            if key.text not in names:
                mend = suggest(key.text, names, f"its findings are: {', '.join(names)}")
                self.problems.append(key.problem(f"check {check!r} has no finding {key.text!r}", mend))
                continue
            seen += self._finding(names[key.text], value)
        if entry.get("others") is not None:
            told = {(each.finding, each.position) for each in seen}
            for finding in names.values():
                places = WHERE[finding.where] if finding.where else (None,)
                seen += [Seen(finding.id, place, "no") for place in places if (finding.id, place) not in told]
        return seen

    def _finding(self, finding: Finding, value: Node) -> list[Seen]:
        places: tuple[str | None, ...] = WHERE[finding.where] if finding.where else (None,)
        if isinstance(value, Mapping):
            seen = []
            for key, answer in value.items:
                if key.text not in places:
                    known = [place for place in places if place] or ["no position: write the answer alone"]
                    self.problems.append(
                        key.problem(
                            f"{finding.id!r} is not asked at {key.text!r}", f"write {' or '.join(known)}"
                        )
                    )
                elif isinstance(answer, Scalar):
                    seen += self._one(finding, key.text, answer)
            return seen
        if isinstance(value, Scalar):
            return [each for place in places for each in self._one(finding, place, value)]
        return []

    def _one(self, finding: Finding, place: str | None, value: Scalar) -> list[Seen]:
        """One answer: a word, a grade or band, or a reading."""
        text = " ".join(value.text.split())
        if text.startswith("likelihoods "):
            return self._shares(finding, place, value, text.split()[1:])
        if finding.always and text in ("no", finding.none):
            return [Seen(finding.id, place, finding.unseen)]
        if text in ANSWERS and not (finding.reading and text in ("yes", "probably", "probably-not")):
            return [Seen(finding.id, place, text)]
        if text in finding.levels or text == finding.none:
            return [Seen(finding.id, place, text)]
        if finding.reading is None:
            words = [*ANSWERS, *(finding.levels if finding.levels != ("yes",) else ())]
            mend = suggest(text, words, f"write one of: {', '.join(words)}")
            problem = value.problem(f"{text!r} is not an answer to {finding.id!r}", mend)
            if problem not in self.problems:
                self.problems.append(problem)
            return []
        try:
            reading = parse_reading(text, finding.reading.unit)
        except InputError as error:
            problem = value.problem(f"{text!r} is not a reading of {finding.id!r}", str(error))
            if problem not in self.problems:
                self.problems.append(problem)
            return []
        level = finding.reading.level(reading)
        return [Seen(finding.id, place, finding.levels[level - 1] if level else finding.none, reading)]

    def _shares(self, finding: Finding, place: str | None, value: Scalar, words: list[str]) -> list[Seen]:
        """An answer that was worked out from numbers: its likelihood at each state, none first."""
        states = [finding.none, *finding.levels]
        try:
            shares = tuple(float(word) for word in words)
        except ValueError:
            shares = ()
        if len(shares) != len(states) or not all(0.0 <= x <= 1.0 for x in shares) or not any(shares):
            mend = f"write {len(states)} numbers from 0 to 1, not all 0: for {', '.join(states)}"
            self.problems.append(value.problem(f"these are no likelihoods of {finding.id!r}", mend))
            return []
        best = max(range(len(shares)), key=lambda state: shares[state])
        word = states[best] if finding.levels != ("yes",) else ("yes" if best else "no")
        return [Seen(finding.id, place, word, shares=shares)]

    def _twice(self, node: Node | None, seen: list[Seen]) -> None:
        """Two answers to one finding at one place: only one of them can be meant."""
        told: set[tuple[str, str | None]] = set()
        for each in seen:
            if (each.finding, each.position) in told and node is not None:
                at = next(
                    (
                        key
                        for entry in reversed(entries(node))
                        for key, _ in pairs(entry.get("findings"))
                        if f"{_text(entry.get('check'))}/{key.text}" == each.finding
                    ),
                    node,
                )
                problem = at.problem(f"{each.finding!r} is answered twice", "keep one of the answers")
                if problem not in self.problems:
                    self.problems.append(problem)
            told.add((each.finding, each.position))

    def _workshop(self, node: Node | None) -> Workshop:
        if not isinstance(node, Mapping):
            return Workshop()
        known = {**self.library.set_ups, **self.library.tools, **self.library.checks}
        cannot = set()
        for each in scalars(node.get("cannot")):
            if each.text not in known:
                mend = suggest(each.text, known, "write the id of a set-up, a tool or a check")
                self.problems.append(each.problem(f"there is no set-up, tool or check {each.text!r}", mend))
            cannot.add(each.text)
        default = Workshop()
        return Workshop(
            _text(node.get("currency")) or default.currency,
            _number(node.get("labour-rate")) or default.labour_rate,
            frozenset(cannot),
        )

    def _confirmed(self, node: Node | None) -> Confirmed | None:
        if not isinstance(node, Mapping):
            return None
        causes = tuple(
            (
                self._known(entry.get("fault"), self.library.faults, "fault"),
                _text(entry.get("position")) or None,
            )
            for entry in entries(node.get("causes"))
        )
        outside = tuple(each.text for each in scalars(node.get("not-in-trees")))
        return Confirmed(causes, outside, int(_number(node.get("telling")) or 0), _text(node.get("source")))


def _through(library: Library, case: Case) -> Story:
    """The story of a case with rounds: that of the job which it opens."""
    return known_story(library, fold(entries_of(library, case)))


def _text(node: Node | None) -> str:
    return " ".join(node.text.split()) if isinstance(node, Scalar) else ""


def _number(node: Node | None) -> float | None:
    return float(node.text) if isinstance(node, Scalar) and is_number(node.text) else None
