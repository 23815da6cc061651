"""What a row, or the rows of one kind, must fulfil: one function for one demand, named after it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping

from diagnose.errors import Place, Problem
from diagnose.library import text
from diagnose.library.build import BUILT_IN_SOURCES, Draft, each_gate
from diagnose.library.nearest import suggest
from diagnose.library.rows import KINDS
from diagnose.model.check import CANNOT_TELL, Finding
from diagnose.model.complaint import Gate, Leaf, Use, gates
from diagnose.model.part import Fault, Fits
from diagnose.model.position import WHERE, meets

__all__ = ["ROW_BY_ROW"]


def ids_are_unique(draft: Draft) -> Iterator[Problem]:
    """No id twice in one kind of row in one layer of files."""
    seen: dict[tuple[int, str, str], text.Node] = {}
    for row in draft.rows.every:
        node = row.node.get("id") or row.node
        key = (row.layer, row.kind, row.id)
        if key in seen:
            yield _twice(node, KINDS[row.kind], row.id, seen[key])
        seen.setdefault(key, node)


def ids_inside_rows_are_unique(draft: Draft) -> Iterator[Problem]:
    """No id twice among the findings of a check or the values of a fact."""
    for kind, key, what in (("checks", "findings", "finding"), ("facts", "values", "value")):
        for row in draft.rows.top[kind].values():
            seen: dict[str, text.Node] = {}
            for item in text.entries(row.node.get(key)):
                name = item.get("id")
                if isinstance(name, text.Scalar):
                    first = seen.setdefault(name.text, name)
                    if first is not name:
                        yield _twice(name, what, name.text, first)


def mechanisms_are_defined_once(draft: Draft) -> Iterator[Problem]:
    """No mechanism defined in two places; elsewhere it is used."""
    seen: dict[str, text.Scalar] = {}
    for name in draft.rows.mechanisms():
        first = seen.setdefault(name.text, name)
        if first is not name:
            wrong = f"the mechanism {name.text!r} is defined twice, first at {first.place}"
            yield name.problem(wrong, f"write `use: {name.text}` here, or choose another id")


def changes_are_given_once(draft: Draft) -> Iterator[Problem]:
    """No pair of set-ups twice in one layer, and no change from a set-up to itself."""
    seen: dict[tuple[int, frozenset[str]], text.Node] = {}
    for row in draft.rows.changes:
        between = row.node.get("between")
        if not row.good or not isinstance(between, text.Sequence):
            continue
        names = [item.text for item in between.items if isinstance(item, text.Scalar)]
        first = seen.setdefault((row.layer, frozenset(names)), between)
        if len(set(names)) == 1:
            wrong = f"a change between {names[0]!r} and itself takes no time"
            yield between.problem(wrong, "name two different set-ups, or delete the row")
        elif first is not between:
            wrong = f"the change between {names[0]!r} and {names[1]!r} stands twice, first at {first.place}"
            yield between.problem(wrong, "keep one of the two; a change counts both ways")


def built_in_sources_are_left_alone(draft: Draft) -> Iterator[Problem]:
    """No row for a source that is built in."""
    for row in draft.rows.every:
        if row.kind == "sources" and row.id in BUILT_IN_SOURCES:
            node = row.node.get("id") or row.node
            yield node.problem(f"the source {row.id!r} is built in", "delete this row")


def shares_of_a_fact_sum_to_one(draft: Draft) -> Iterator[Problem]:
    """The values of a fact cover all cars."""
    for fact in draft.library.facts.values():
        total = sum(value.share for value in fact.values)
        if abs(total - 1) > 1e-6:
            wrong = f"the shares of fact {fact.id!r} sum to {total:.6g}, not to 1"
            mend = "change them so that they sum to 1"
            yield draft.problem(fact.place, ("values", 0, "share"), wrong, mend)


def grades_are_told_apart(draft: Draft) -> Iterator[Problem]:
    """No two grades or bands of a finding with the same name."""
    for finding in draft.library.findings.values():
        seen: set[str] = set()
        for number, level in enumerate((finding.none, *finding.levels)):
            if level in seen:
                path: tuple[str | int, ...] = ("grades", number - 1)
                if finding.reading is not None:
                    path = ("reading", "limits", number - 1, "name")
                wrong = f"finding {finding.id!r} has two results named {level!r}"
                yield draft.problem(finding.place, path, wrong, "give each result a name of its own")
            seen.add(level)


def figures_match_the_grades(draft: Draft) -> Iterator[Problem]:
    """A list has one figure for each grade or band; a mapping names only grades that there are."""
    for finding in draft.library.findings.values():
        targets = [("false-alarm",), *(("points-to", link.target) for link in finding.links)]
        for path in targets:
            node = draft.at(finding.place, *path)
            count = len(finding.levels)
            if isinstance(node, text.Sequence) and len(node.items) != count:
                given = "1 figure" if len(node.items) == 1 else f"{len(node.items)} figures"
                grades = "1 grade" if count == 1 else f"{count} grades"
                wrong = f"{path[-1]!r} has {given}, but finding {finding.id!r} has {grades}"
                yield node.problem(wrong, f"write {count}, one for each of: {', '.join(finding.levels)}")
            elif isinstance(node, text.Mapping):
                for key, _ in node.items:
                    if key.text.strip() not in finding.levels:
                        wrong = f"finding {finding.id!r} has no grade {key.text!r}"
                        otherwise = f"write one of: {', '.join(finding.levels)}"
                        yield key.problem(wrong, suggest(key.text, finding.levels, otherwise))


def who_cannot_tell_had_grades_to_choose(draft: Draft) -> Iterator[Problem]:
    """That one of its levels always holds can be said of a finding with grades only."""
    for finding in draft.library.findings.values():
        if finding.always and (len(finding.levels) < 2 or finding.reading is not None):
            wrong = f"finding {finding.id!r} says that one of its grades always holds, and has no grades"
            mend = f"leave `none` out, or give it grades: `none: {CANNOT_TELL}` is for those alone"
            yield draft.problem(finding.place, ("none",), wrong, mend)


def grades_together_stay_below_one(draft: Draft) -> Iterator[Problem]:
    """The figures of grades that exclude each other leave room for none of them."""
    for finding in draft.library.findings.values():
        for path, figures in (
            (("false-alarm",), finding.false_alarm),
            *((("points-to", link.target), link.detection) for link in finding.links),
        ):
            if sum(figures) > 1 - 1e-9:
                wrong = (
                    f"the figures of {path[-1]!r} in finding {finding.id!r} sum to "
                    f"{sum(figures):.6g}; together they must stay below 1"
                )
                mend = "lower them: the rest is the chance that none of the grades is seen"
                yield draft.problem(finding.place, path, wrong, mend)


def limits_follow_their_direction(draft: Draft) -> Iterator[Problem]:
    """Limits rise for `over` and fall for `under`."""
    for finding in draft.library.findings.values():
        if finding.reading is None:
            continue
        over = finding.reading.direction == "over"
        for number, (one, next_one) in enumerate(itertools.pairwise(finding.reading.limits)):
            if next_one.value <= one.value if over else next_one.value >= one.value:
                words = "rise" if over else "fall"
                wrong = (
                    f"the limits of finding {finding.id!r} must {words} for direction "
                    f"{finding.reading.direction!r}, but {next_one.value:g} follows {one.value:g}"
                )
                mend = "put the limit that is left first in front, or change the direction"
                path = ("reading", "limits", number + 1, "at")
                yield draft.problem(finding.place, path, wrong, mend)


def votes_are_in_range(draft: Draft) -> Iterator[Problem]:
    """`at-least` asks for no more branches than there are."""
    for complaint, gate in each_gate(draft.library):
        if gate.need > len(gate.branches):
            count = len(gate.branches)
            wrong = f"at-least {gate.need} of {count} in complaint {complaint.id!r} can never come true"
            yield draft.problem(gate.place, ("at-least",), wrong, f"write a number from 1 to {count}")


def causes_stand_once_under_a_gate(draft: Draft) -> Iterator[Problem]:
    """No fault or mechanism twice under one gate at the same place, on one and the same car."""
    for complaint, gate in each_gate(draft.library):
        seen: dict[tuple[str, str], list[Fits]] = {}
        for branch in gate.branches:
            if isinstance(branch, Gate):
                continue
            key, name = ("cause", branch.fault) if isinstance(branch, Leaf) else ("use", branch.mechanism)
            at = branch.at if isinstance(branch, Leaf) else ""
            before = seen.setdefault((name, at), [])
            if not all(_apart(branch.fits, fits) for fits in before):
                wrong = f"{name!r} stands twice under one gate of complaint {complaint.id!r}"
                mend = "keep one of the two, or let their `fits` name different cars"
                yield draft.problem(branch.place, (key,), wrong, mend)
            before.append(branch.fits)


def _apart(one: Fits, other: Fits) -> bool:
    """True if no car fits both."""
    return any(not set(one[fact]) & set(other[fact]) for fact in one.keys() & other.keys())


def sides_are_named_only_in_sided_complaints(draft: Draft) -> Iterator[Problem]:
    """`this-side` and `other-side` mean something only where the driver names a side."""
    library = draft.library
    for complaint in library.complaints.values():
        if complaint.sided:
            continue
        for gate in gates(complaint.top):
            for branch in gate.branches:
                if isinstance(branch, Leaf) and branch.relative:
                    wrong = (
                        f"complaint {complaint.id!r} is not sided, so {branch.relative!r} means nothing in it"
                    )
                    mend = "write `sided: yes` in the complaint, or delete `at`"
                    yield draft.problem(branch.place, ("at",), wrong, mend)
                elif isinstance(branch, Use) and _has_sides(library.mechanisms, branch.mechanism):
                    wrong = (
                        f"complaint {complaint.id!r} is not sided, but the mechanism "
                        f"{branch.mechanism!r} names sides"
                    )
                    mend = "write `sided: yes` in the complaint, or define a mechanism without sides"
                    yield draft.problem(branch.place, ("use",), wrong, mend)


def sided_complaints_name_a_side(draft: Draft) -> Iterator[Problem]:
    """A sided complaint has a cause on this side or on the other; else its side tells nothing."""
    library = draft.library
    for complaint in library.complaints.values():
        if not complaint.sided:
            continue
        used = [
            branch.mechanism
            for gate in gates(complaint.top)
            for branch in gate.branches
            if isinstance(branch, Use)
        ]
        own = _names_side(complaint.top)
        if not own and not any(_has_sides(library.mechanisms, name) for name in used):
            wrong = f"complaint {complaint.id!r} is sided, but no cause in it is at this-side or other-side"
            mend = "write `at: this-side` at the causes that sit there, or `sided: no`"
            yield draft.problem(complaint.place, ("sided",), wrong, mend)


def _names_side(gate: Gate) -> bool:
    return any(
        isinstance(branch, Leaf) and branch.relative for inner in gates(gate) for branch in inner.branches
    )


def _has_sides(mechanisms: Mapping[str, Gate], name: str) -> bool:
    """True if the mechanism, or one that it uses, names a side."""
    seen: set[str] = set()
    todo = [name]
    while todo:
        gate = mechanisms.get(todo.pop())
        if gate is None or gate.id in seen:
            continue
        seen.add(gate.id)
        if _names_side(gate):
            return True
        todo.extend(
            branch.mechanism for inner in gates(gate) for branch in inner.branches if isinstance(branch, Use)
        )
    return False


def inspections_name_their_item(draft: Draft) -> Iterator[Problem]:
    """When an inspection fails the car stands beside the item under which it does."""
    for fault in draft.library.faults.values():
        if fault.inspection_when and not fault.inspection:
            wrong = f"fault {fault.id!r} has 'inspection-when' but not 'inspection'"
            mend = "add `inspection: ...`, or delete it"
            yield draft.problem(fault.place, ("inspection-when",), wrong, mend)


def leaves_stand_where_their_fault_is(draft: Draft) -> Iterator[Problem]:
    """`at` names a position that the fault can have."""
    for complaint, gate in each_gate(draft.library):
        for leaf in gate.branches:
            if not isinstance(leaf, Leaf):
                continue
            fault = draft.library.faults.get(leaf.fault)
            for at in leaf.fixed:
                if fault is not None and not _meets_any(at, WHERE[fault.where]):
                    wrong = (
                        f"{leaf.fault!r} in complaint {complaint.id!r} is never at {at!r}: "
                        f"its part is at {fault.where!r}"
                    )
                    yield draft.problem(leaf.place, ("at",), wrong, _places(fault))


def findings_stand_where_their_faults_are(draft: Draft) -> Iterator[Problem]:
    """A finding and a fault that it points to can be at the same place."""
    for finding, link_place, fault in _links_to_faults(draft):
        if finding.where and not any(_meets_any(at, WHERE[fault.where]) for at in WHERE[finding.where]):
            wrong = f"finding {finding.id!r} is at {finding.where!r}, but {fault.id!r} is at {fault.where!r}"
            yield draft.problem(link_place, (), wrong, "change `where`, or point to a fault at that place")


def findings_point_to_something_everywhere(draft: Draft) -> Iterator[Problem]:
    """At each place of a finding there is a fault that it points to."""
    for finding in draft.library.findings.values():
        faults = [draft.library.faults.get(link.target) for link in finding.links]
        if not finding.where or not faults or None in faults:
            continue  # a mechanism is everywhere, and an unknown fault is told elsewhere
        known = [fault for fault in faults if fault is not None]
        bare = [
            at
            for at in WHERE[finding.where]
            if not any(_meets_any(at, WHERE[fault.where]) for fault in known)
        ]
        if bare and len(bare) < len(WHERE[finding.where]):
            wrong = f"finding {finding.id!r} points to nothing at {' and '.join(bare)}"
            mend = "narrow `where` to the places of its faults"
            yield draft.problem(finding.place, ("where",), wrong, mend)


def _links_to_faults(draft: Draft) -> Iterator[tuple[Finding, Place, Fault]]:
    for finding in draft.library.findings.values():
        for link in finding.links:
            fault = draft.library.faults.get(link.target)
            if fault is not None:
                yield finding, link.place, fault


def _meets_any(at: str, places: Iterable[str]) -> bool:
    return any(meets(at, place) for place in places)


def _places(fault: Fault) -> str:
    return f"write one of: {', '.join(WHERE[fault.where])}"


def _twice(node: text.Node, kind: str, name: str, first: text.Node) -> Problem:
    wrong = f"the {kind} {name!r} stands here a second time, first at {first.place}"
    return node.problem(wrong, "give it another id, or delete one of the two")


#: The demands above; each takes a draft and yields problems, and never raises.
ROW_BY_ROW: tuple[Callable[[Draft], Iterator[Problem]], ...] = (
    ids_are_unique,
    ids_inside_rows_are_unique,
    mechanisms_are_defined_once,
    changes_are_given_once,
    built_in_sources_are_left_alone,
    shares_of_a_fact_sum_to_one,
    grades_are_told_apart,
    who_cannot_tell_had_grades_to_choose,
    figures_match_the_grades,
    grades_together_stay_below_one,
    limits_follow_their_direction,
    votes_are_in_range,
    causes_stand_once_under_a_gate,
    sides_are_named_only_in_sided_complaints,
    sided_complaints_name_a_side,
    inspections_name_their_item,
    leaves_stand_where_their_fault_is,
    findings_stand_where_their_faults_are,
    findings_point_to_something_everywhere,
)
