"""Checked rows -> the model, and the way back from a row of the model to where it is written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from diagnose.errors import Place, Problem
from diagnose.library import text
from diagnose.library.rows import Rows
from diagnose.model.check import Check, Finding, Limit, Link, Reading, SetUp
from diagnose.model.complaint import FELT, HEARD, Complaint, Gate, Leaf, Use, gates
from diagnose.model.library import (
    Access,
    Condition,
    Fact,
    FactValue,
    FollowUp,
    Library,
    Remedy,
    Source,
)
from diagnose.model.part import Fault, Life, Part

__all__ = ["BUILT_IN_SOURCES", "FLOOR", "TALK", "Draft", "build", "each_gate", "minutes_between"]

#: P(a grade that a link does not name): small, since nothing is impossible.
FLOOR = 1e-3

#: The set-up from which minutes are counted.
TALK = "talk"

#: Sources that need no row of their own.
BUILT_IN_SOURCES = {
    "common-practice": Source("common-practice", "common practice", note="a fact that the trade knows"),
    "estimate": Source("estimate", "estimate", note="a judgement, good to a factor of two"),
}


@dataclass(frozen=True, slots=True)
class Draft:
    """A library whose rules have not been judged yet, with what it takes to judge them.

    nodes: the node of every row, by the place that the row carries. rows: as gathered.
    """

    library: Library
    nodes: Mapping[Place, text.Node]
    rows: Rows

    def at(self, place: Place, *path: str | int) -> text.Node | None:
        """The value under a row: keys and indexes from the row's node down; None if not written.

        A value written alone where a list may stand is its own entry 0.
        """
        node = self.nodes.get(place)
        for step in path:
            if isinstance(node, text.Mapping) and isinstance(step, str):
                node = node.get(step)
            elif isinstance(node, text.Sequence) and isinstance(step, int):
                node = node.items[step] if step < len(node.items) else None
            elif not (isinstance(node, text.Scalar) and step == 0):
                return None
        return node

    def problem(self, place: Place, path: Sequence[str | int], wrong: str, mend: str) -> Problem:
        """A problem at the value under a row, or at the row itself where no such value is written."""
        node = self.at(place, *path) or self.at(place, "id") or self.nodes.get(place)
        return Problem(place, wrong, mend) if node is None else node.problem(wrong, mend)


def each_gate(library: Library) -> Iterator[tuple[Complaint, Gate]]:
    """Every gate that is written in a complaint, with the complaint."""
    for complaint in library.complaints.values():
        for gate in gates(complaint.top):
            yield complaint, gate


def build(rows: Rows, digest: str = "") -> Draft:
    """The library of all good rows. Never raises: what rows refer to need not exist."""
    builder = _Builder()
    return Draft(builder.library(rows, digest), builder.nodes, rows)


# values of checked nodes ----------------------------------------------------------------------


def _string(node: text.Node | None, default: str = "") -> str:
    return node.text.strip() if isinstance(node, text.Scalar) else default


def _number(node: text.Node | None, default: float) -> float:
    return float(node.text) if isinstance(node, text.Scalar) else default


def _strings(node: text.Node | None) -> tuple[str, ...]:
    """One value or a list of them."""
    return tuple(_string(item) for item in text.scalars(node))


def _fits(node: text.Node | None) -> dict[str, tuple[str, ...]]:
    return {key.text: _strings(value) for key, value in text.pairs(node)}


def _figures(node: text.Node | None, levels: Sequence[str]) -> tuple[float, ...]:
    """One figure a level; FLOOR for a level that is not named."""
    if isinstance(node, text.Mapping):
        named = {key.text.strip(): _number(value, FLOOR) for key, value in node.items}
        return tuple(named.get(level, FLOOR) for level in levels)
    given = node.items if isinstance(node, text.Sequence) else () if node is None else (node,)
    figures = [_number(item, FLOOR) for item in given[: len(levels)]]
    return tuple(figures + [FLOOR] * (len(levels) - len(figures)))


def _report(node: text.Node | None, otherwise: tuple[float, float]) -> tuple[float, float]:
    """The two figures of a report's reliability."""
    given = node.items if isinstance(node, text.Sequence) else ()
    if len(given) != 2:
        return otherwise
    return (_number(given[0], otherwise[0]), _number(given[1], otherwise[1]))


# rows -----------------------------------------------------------------------------------------


class _Builder:
    """Builds rows and remembers the node of each."""

    def __init__(self) -> None:
        self.nodes: dict[Place, text.Node] = {}

    def library(self, rows: Rows, digest: str) -> Library:
        parts = {row.id: self.part(row.node) for row in rows.good("parts")}
        faults: dict[str, Fault] = {}
        for row in rows.good("faults"):
            # The part as it stands after laying over: its position may have been replaced.
            part = parts.get(_string(row.parent.get("id") if row.parent else None))
            if part is not None:
                faults[row.id] = self.fault(row.node, part)
        complaints = {row.id: self.complaint(row.node) for row in rows.good("complaints")}
        mechanisms: dict[str, Gate] = {}
        for complaint in complaints.values():
            for gate in gates(complaint.top):
                if gate.id:
                    mechanisms.setdefault(gate.id, gate)
        checks: dict[str, Check] = {}
        findings: dict[str, Finding] = {}
        for row in rows.good("checks"):
            check, found = self.check(row.node, mechanisms)
            checks[check.id] = check
            findings.update((finding.id, finding) for finding in found)
        set_ups = {row.id: self.set_up(row.node) for row in rows.good("set-ups")}
        return Library(
            parts=parts,
            faults=faults,
            checks=checks,
            findings=findings,
            remedies={row.id: self.remedy(row.node) for row in rows.good("remedies")},
            set_ups=set_ups,
            changes=minutes_between(set_ups.values(), self.changes(rows)),
            complaints=complaints,
            mechanisms=mechanisms,
            facts={row.id: self.fact(row.node) for row in rows.good("facts")},
            conditions={row.id: self.condition(row.node) for row in rows.good("conditions")},
            follow_ups={row.id: self.follow_up(row.node) for row in rows.good("follow-ups")},
            sources={
                **BUILT_IN_SOURCES,
                **{row.id: self.source(row.node) for row in rows.good("sources")},
            },
            cautions={row.id: _string(self.row(row.node).get("text")) for row in rows.good("cautions")},
            access={row.id: self.access(row.node) for row in rows.good("access")},
            areas={row.id: _string(self.row(row.node).get("name")) for row in rows.good("areas")},
            tools={row.id: _string(self.row(row.node).get("name")) for row in rows.good("tools")},
            digest=digest,
        )

    def row(self, node: text.Mapping) -> text.Mapping:
        self.nodes[node.place] = node
        return node

    # tables

    def fact(self, node: text.Mapping) -> Fact:
        self.row(node)
        values = tuple(
            FactValue(_string(value.get("id")), _string(value.get("name")), _number(value.get("share"), 1))
            for value in text.entries(node.get("values"))
        )
        return Fact(
            _string(node.get("id")),
            _string(node.get("ask")),
            values,
            _strings(node.get("source")),
            node.place,
        )

    def condition(self, node: text.Mapping) -> Condition:
        self.row(node)
        return Condition(
            _string(node.get("id")),
            _string(node.get("ask")),
            _string(node.get("name")),
            _strings(node.get("source")),
            node.place,
        )

    def set_up(self, node: text.Mapping) -> SetUp:
        self.row(node)
        return SetUp(
            _string(node.get("id")),
            _string(node.get("name")),
            _number(node.get("enter"), 0),
            _number(node.get("leave"), 0),
            _strings(node.get("source")),
            _string(node.get("driven")) == "yes",
            node.place,
        )

    def changes(self, rows: Rows) -> dict[tuple[str, str], float]:
        direct: dict[tuple[str, str], float] = {}
        for row in rows.changes:
            if row.good:
                self.row(row.node)
                one, other = _strings(row.node.get("between"))
                minutes = _number(row.node.get("minutes"), 0)
                direct[one, other] = direct[other, one] = minutes
        return direct

    def follow_up(self, node: text.Mapping) -> FollowUp:
        self.row(node)
        return FollowUp(
            _string(node.get("id")),
            _string(node.get("name")),
            _number(node.get("minutes"), 0),
            _number(node.get("parts"), 0),
            _strings(node.get("source")),
            _strings(node.get("covers")),
            _strings(node.get("mends")),
            node.place,
        )

    def access(self, node: text.Mapping) -> Access:
        self.row(node)
        return Access(
            _string(node.get("id")),
            _string(node.get("name")),
            _string(node.get("per")),
            _number(node.get("hours"), 0),
            _string(node.get("within")),
            _strings(node.get("source")),
            node.place,
        )

    def source(self, node: text.Mapping) -> Source:
        self.row(node)
        return Source(
            _string(node.get("id")),
            _string(node.get("name")),
            _string(node.get("url")),
            _string(node.get("note")),
            node.place,
        )

    def remedy(self, node: text.Mapping) -> Remedy:
        self.row(node)
        return Remedy(
            id=_string(node.get("id")),
            name=_string(node.get("name")),
            per=_string(node.get("per")),
            hours=_number(node.get("hours"), 0),
            parts=_number(node.get("parts"), 0),
            follow_ups=_strings(node.get("follow-ups")),
            cautions=_strings(node.get("cautions")),
            watch=_string(node.get("watch")),
            source=_strings(node.get("source")),
            access=_strings(node.get("access")),
            covers=_strings(node.get("covers")),
            place=node.place,
        )

    # parts

    def part(self, node: text.Mapping) -> Part:
        self.row(node)
        return Part(
            _string(node.get("id")),
            _string(node.get("name")),
            _string(node.get("where")),
            _fits(node.get("fits")),
            node.place,
        )

    def fault(self, node: text.Mapping, part: Part) -> Fault:
        self.row(node)
        life, chance = node.get("life"), node.get("chance")
        return Fault(
            id=_string(node.get("id")),
            part=part.id,
            name=_string(node.get("name")),
            where=part.where,
            remedy=_string(node.get("remedy")),
            life=self.life(life) if isinstance(life, text.Mapping) else None,
            chance=None if chance is None else _number(chance, FLOOR),
            mates=_number(node.get("mates"), 1),
            lifts={key.text: _number(value, 1) for key, value in text.pairs(node.get("lifts"))},
            fits={**part.fits, **_fits(node.get("fits"))},
            danger=_string(node.get("danger")),
            danger_when=_string(node.get("danger-when")),
            source=_strings(node.get("source")),
            inspection=_string(node.get("inspection")),
            inspection_when=_string(node.get("inspection-when")),
            place=node.place,
        )

    def life(self, node: text.Mapping) -> Life:
        km, years = node.get("km"), node.get("years")
        return Life(
            shape=_number(node.get("shape"), 1),
            km=None if km is None else _number(km, 0),
            years=None if years is None else _number(years, 0),
        )

    # checks

    def check(self, node: text.Mapping, mechanisms: Mapping[str, Gate]) -> tuple[Check, list[Finding]]:
        self.row(node)
        name, source = _string(node.get("id")), _strings(node.get("source"))
        found = [self.finding(item, name, source, mechanisms) for item in text.entries(node.get("findings"))]
        check = Check(
            id=name,
            name=_string(node.get("name")),
            set_up=_string(node.get("set-up")),
            minutes=_number(node.get("minutes"), 1),
            how=_string(node.get("how")),
            findings=tuple(finding.id for finding in found),
            needs=_strings(node.get("needs")),
            cautions=_strings(node.get("cautions")),
            fits=_fits(node.get("fits")),
            source=source,
            first=_string(node.get("first")) == "yes",
            only_for=_strings(node.get("only-for")),
            place=node.place,
        )
        return check, found

    def finding(
        self,
        node: text.Mapping,
        check: str,
        source: tuple[str, ...],
        mechanisms: Mapping[str, Gate],
    ) -> Finding:
        self.row(node)
        source = _strings(node.get("source")) or source
        written = node.get("reading")
        reading = self.reading(written, source) if isinstance(written, text.Mapping) else None
        levels = (
            tuple(limit.name for limit in reading.limits)
            if reading is not None
            else _strings(node.get("grades")) or ("yes",)
        )
        links = []
        for key, value in text.pairs(node.get("points-to")):
            self.nodes[key.place] = key
            kind = "mechanism" if key.text in mechanisms else "fault"
            links.append(Link(key.text, kind, _figures(value, levels), key.place))
        none = _string(node.get("none")) or (reading.below if reading is not None else "not seen")
        return Finding(
            id=f"{check}/{_string(node.get('id'))}",
            check=check,
            name=_string(node.get("name")),
            levels=levels,
            false_alarm=_figures(node.get("false-alarm"), levels),
            links=tuple(links),
            where=_string(node.get("where")),
            none=none,
            reading=reading,
            repeats=_string(node.get("repeats")),
            hit=_number(node.get("hit"), 0),
            unfit=_string(node.get("unfit")),
            of_complaint=_string(node.get("of-complaint")) == "yes",
            source=source,
            place=node.place,
        )

    def reading(self, node: text.Mapping, source: tuple[str, ...]) -> Reading:
        limits = tuple(
            Limit(
                _number(limit.get("at"), 0),
                _string(limit.get("name")),
                _strings(limit.get("source")) or source,
            )
            for limit in text.entries(node.get("limits"))
        )
        return Reading(
            quantity=_string(node.get("quantity")),
            unit=_string(node.get("unit")),
            limits=limits,
            below=_string(node.get("below"), "inside all limits"),
            direction=_string(node.get("direction"), "over"),
            repeatability=_number(node.get("repeatability"), 0),
        )

    # complaints

    def complaint(self, node: text.Mapping) -> Complaint:
        self.row(node)
        source = _strings(node.get("source"))
        kind, need, branches = self.gate_body(node, source)
        top = Gate(
            kind,
            need,
            branches,
            leak=_number(node.get("leak"), FLOOR),
            source=source,
            place=node.place,
        )
        return Complaint(
            id=_string(node.get("id")),
            name=_string(node.get("name")),
            top=top,
            about=_string(node.get("about")),
            area=_string(node.get("area")),
            says=_strings(node.get("says")),
            sided=_string(node.get("sided")) == "yes",
            questions=_strings(node.get("questions")),
            heard=_report(node.get("heard"), HEARD),
            felt=_report(node.get("felt"), FELT),
            source=source,
            place=node.place,
        )

    def gate_body(
        self, node: text.Mapping, source: tuple[str, ...]
    ) -> tuple[str, int, tuple[Leaf | Use | Gate, ...]]:
        kind, key = next(
            (kind, key)
            for kind, key in (("any", "any"), ("all", "all"), ("at-least", "of"))
            if node.get(key) is not None
        )
        branches = tuple(self.branch(item, source) for item in text.entries(node.get(key)))
        need = {"any": 1, "all": len(branches)}.get(kind, int(_number(node.get("at-least"), 1)))
        return kind, need, branches

    def branch(self, node: text.Mapping, source: tuple[str, ...]) -> Leaf | Use | Gate:
        self.row(node)
        cause, use = node.get("cause"), node.get("use")
        fits = _fits(node.get("fits"))
        if cause is not None:
            strength = _number(node.get("strength"), FLOOR)
            at = " ".join(_strings(node.get("at")))
            return Leaf(_string(cause), strength, at, fits, node.place)
        if node.get("mechanism") is None:
            return Use(_string(use), _number(node.get("strength"), 1), fits, node.place)
        source = _strings(node.get("source")) or source
        kind, need, branches = self.gate_body(node, source)
        return Gate(
            kind=kind,
            need=need,
            branches=branches,
            id=_string(node.get("mechanism")),
            name=_string(node.get("name")),
            leak=_number(node.get("leak"), 0),
            strength=_number(node.get("strength"), 1),
            fits=fits,
            source=source,
            place=node.place,
        )


def minutes_between(
    set_ups: Iterable[SetUp], direct: Mapping[tuple[str, str], float]
) -> dict[tuple[str, str], float]:
    """Minutes from every set-up to every other: the quickest way, over other set-ups if need be.

    direct: ways straight from one to another; where there is none, leave the one and enter the
    other. Ways between unknown set-ups count for nothing. From a set-up to itself takes 0.
    """
    by_id = {set_up.id: set_up for set_up in set_ups}
    minutes = {
        (one.id, other.id): 0.0 if one is other else direct.get((one.id, other.id), one.leave + other.enter)
        for one in by_id.values()
        for other in by_id.values()
    }
    for over in by_id:  # shortest paths between all pairs (Floyd 1962, Algorithm 97)
        for one in by_id:
            for other in by_id:
                way = minutes[one, over] + minutes[over, other]
                if way < minutes[one, other]:
                    minutes[one, other] = way
    return minutes
