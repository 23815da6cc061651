"""What rows name must be there, and must be of the right kind: one function for one demand."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from diagnose.errors import Place, Problem
from diagnose.library.build import BUILT_IN_SOURCES, TALK, Draft, each_gate
from diagnose.library.nearest import suggest
from diagnose.library.rows import KINDS
from diagnose.library.text import pairs, scalars
from diagnose.model.complaint import Gate, Leaf, Use
from diagnose.model.position import WHERE

__all__ = ["REFERENCES"]


def links_point_to_known_causes(draft: Draft) -> Iterator[Problem]:
    """What a finding points to is a fault or a mechanism."""
    mechanisms = {name.text for name in draft.rows.mechanisms()}
    known = mechanisms | draft.rows.top["faults"].keys()
    for finding in draft.library.findings.values():
        for link in finding.links:
            if link.target not in known:
                wrong = f"finding {finding.id!r} points to unknown fault or mechanism {link.target!r}"
                mend = suggest(link.target, known, "add the fault under its part, or correct the id")
                yield draft.problem(link.place, (), wrong, mend)


def faults_and_mechanisms_share_no_id(draft: Draft) -> Iterator[Problem]:
    """An id under `points-to` can be only one thing."""
    for name in draft.rows.mechanisms():
        if name.text in draft.rows.top["faults"]:
            wrong = f"the mechanism {name.text!r} has the id of a fault"
            yield name.problem(wrong, "choose another id for the mechanism")


def leaves_name_known_faults(draft: Draft) -> Iterator[Problem]:
    """Every `cause` is a fault."""
    for complaint, gate in each_gate(draft.library):
        for leaf in gate.branches:
            if isinstance(leaf, Leaf):
                owner = f"complaint {complaint.id!r}"
                yield from _known(draft, leaf.place, ("cause",), owner, "faults", [leaf.fault])


def uses_name_known_mechanisms(draft: Draft) -> Iterator[Problem]:
    """Every `use` is a mechanism that a complaint defines."""
    known = {name.text for name in draft.rows.mechanisms()}
    for complaint, gate in each_gate(draft.library):
        for use in gate.branches:
            if isinstance(use, Use) and use.mechanism not in known:
                wrong = f"complaint {complaint.id!r} uses unknown mechanism {use.mechanism!r}"
                mend = suggest(use.mechanism, known, "define it in one complaint with `mechanism:`")
                yield draft.problem(use.place, ("use",), wrong, mend)


def faults_name_known_remedies(draft: Draft) -> Iterator[Problem]:
    """Every fault has a remedy that there is."""
    for fault in draft.library.faults.values():
        owner = f"fault {fault.id!r}"
        yield from _known(draft, fault.place, ("remedy",), owner, "remedies", [fault.remedy])


def lifts_name_known_conditions(draft: Draft) -> Iterator[Problem]:
    """What lifts the odds of a fault is a condition."""
    for fault in draft.library.faults.values():
        owner = f"fault {fault.id!r}"
        yield from _known_keys(draft, fault.place, "lifts", owner, "conditions")


def checks_name_known_set_ups(draft: Draft) -> Iterator[Problem]:
    """Every check is done in a set-up that there is."""
    for check in draft.library.checks.values():
        owner = f"check {check.id!r}"
        yield from _known(draft, check.place, ("set-up",), owner, "set-ups", [check.set_up])


def checks_name_known_tools(draft: Draft) -> Iterator[Problem]:
    """What a check needs is a tool."""
    for check in draft.library.checks.values():
        owner = f"check {check.id!r}"
        yield from _known(draft, check.place, ("needs",), owner, "tools", check.needs)


def checks_are_for_known_complaints(draft: Draft) -> Iterator[Problem]:
    """The complaints that a check is for are there."""
    for check in draft.library.checks.values():
        owner = f"check {check.id!r}"
        yield from _known(draft, check.place, ("only-for",), owner, "complaints", check.only_for)


def cautions_are_known(draft: Draft) -> Iterator[Problem]:
    """The cautions of checks and remedies are there."""
    for check in draft.library.checks.values():
        owner = f"check {check.id!r}"
        yield from _known(draft, check.place, ("cautions",), owner, "cautions", check.cautions)
    for remedy in draft.library.remedies.values():
        owner = f"remedy {remedy.id!r}"
        yield from _known(draft, remedy.place, ("cautions",), owner, "cautions", remedy.cautions)


def remedies_name_known_follow_ups(draft: Draft) -> Iterator[Problem]:
    """The work that must follow a remedy is there."""
    for remedy in draft.library.remedies.values():
        owner = f"remedy {remedy.id!r}"
        yield from _known(draft, remedy.place, ("follow-ups",), owner, "follow-ups", remedy.follow_ups)


def access_lies_within_known_access(draft: Draft) -> Iterator[Problem]:
    """What an access is within is an access."""
    for access in draft.library.access.values():
        if access.within:
            owner = f"access {access.id!r}"
            yield from _known(draft, access.place, ("within",), owner, "access", [access.within])


def remedies_name_known_access(draft: Draft) -> Iterator[Problem]:
    """The access that a remedy needs is there."""
    for remedy in draft.library.remedies.values():
        owner = f"remedy {remedy.id!r}"
        yield from _known(draft, remedy.place, ("access",), owner, "access", remedy.access)


def what_is_covered_is_known(draft: Draft) -> Iterator[Problem]:
    """A remedy covers remedies; work that must follow covers such work, and mends what remedies mend."""
    for remedy in draft.library.remedies.values():
        owner = f"remedy {remedy.id!r}"
        yield from _known(draft, remedy.place, ("covers",), owner, "remedies", remedy.covers)
    for each in draft.library.follow_ups.values():
        owner = f"follow-up {each.id!r}"
        yield from _known(draft, each.place, ("covers",), owner, "follow-ups", each.covers)
        yield from _known(draft, each.place, ("mends",), owner, "remedies", each.mends)


def complaints_stand_in_known_areas(draft: Draft) -> Iterator[Problem]:
    """The area that a complaint names is there."""
    for complaint in draft.library.complaints.values():
        if complaint.area:
            owner = f"complaint {complaint.id!r}"
            yield from _known(draft, complaint.place, ("area",), owner, "areas", [complaint.area])


def complaints_ask_known_checks(draft: Draft) -> Iterator[Problem]:
    """The questions of a complaint are checks."""
    for complaint in draft.library.complaints.values():
        owner = f"complaint {complaint.id!r}"
        yield from _known(draft, complaint.place, ("questions",), owner, "checks", complaint.questions)


def questions_are_put_in_talk(draft: Draft) -> Iterator[Problem]:
    """The questions of a complaint are checks that are done by talking."""
    for complaint in draft.library.complaints.values():
        for number, name in enumerate(complaint.questions):
            check = draft.library.checks.get(name)
            if check is not None and check.set_up != TALK:
                wrong = f"complaint {complaint.id!r} asks {name!r}, which is done in {check.set_up!r}"
                mend = f"list only checks whose set-up is {TALK!r}; others are proposed by themselves"
                yield draft.problem(complaint.place, ("questions", number), wrong, mend)


def fits_name_known_facts(draft: Draft) -> Iterator[Problem]:
    """`fits` names facts and values that there are, and a fault's stay inside its part's."""
    library = draft.library
    owners = [(row.place, f"part {row.id!r}") for row in library.parts.values()]
    owners += [(row.place, f"fault {row.id!r}") for row in library.faults.values()]
    owners += [(row.place, f"check {row.id!r}") for row in library.checks.values()]
    owners += [(branch.place, _branch_name(branch)) for branch in _branches(draft)]
    for place, owner in owners:
        yield from _known_keys(draft, place, "fits", owner, "facts")
        for key, value in pairs(draft.at(place, "fits")):
            fact = library.facts.get(key.text)
            if fact is None:
                continue
            known = [each.id for each in fact.values]
            for node in scalars(value):
                if node.text not in known:
                    wrong = f"{owner} fits unknown value {node.text!r} of fact {fact.id!r}"
                    yield node.problem(wrong, suggest(node.text, known, f"write one of: {', '.join(known)}"))


def leaves_fit_with_their_fault(draft: Draft) -> Iterator[Problem]:
    """The `fits` of a leaf leaves some car that has its fault."""
    for branch in _branches(draft):
        fault = draft.library.faults.get(branch.fault) if isinstance(branch, Leaf) else None
        if fault is None:
            continue
        for key, value in pairs(draft.at(branch.place, "fits")):
            own = fault.fits.get(key.text)
            named = [node.text for node in scalars(value)]
            if own is not None and named and not set(own) & set(named):
                wrong = f"no car has this leaf: fault {fault.id!r} fits {key.text} {', '.join(own)} alone"
                yield key.problem(wrong, "name one of these, or delete the leaf")


def _branches(draft: Draft) -> Iterator[Leaf | Use | Gate]:
    for _, gate in each_gate(draft.library):
        yield from gate.branches


def _branch_name(branch: Leaf | Use | Gate) -> str:
    if isinstance(branch, Leaf):
        return f"leaf {branch.fault!r}"
    return f"use {branch.mechanism!r}" if isinstance(branch, Use) else f"mechanism {branch.id!r}"


def faults_fit_within_their_part(draft: Draft) -> Iterator[Problem]:
    """The `fits` of a fault narrows that of its part."""
    for fault in draft.library.faults.values():
        part = draft.library.parts[fault.part]
        for key, value in pairs(draft.at(fault.place, "fits")):
            for node in scalars(value):
                if key.text in part.fits and node.text not in part.fits[key.text]:
                    wrong = (
                        f"fault {fault.id!r} fits {key.text} {node.text!r}, but its part {part.id!r} does not"
                    )
                    yield node.problem(wrong, "delete the value here, or add it to the part")


def sources_are_known(draft: Draft) -> Iterator[Problem]:
    """Every source that a row names is in the table `sources` or built in."""
    library = draft.library
    tables: tuple[tuple[str, Iterable[tuple[Place, str]]], ...] = (
        ("fact", ((row.place, row.id) for row in library.facts.values())),
        ("condition", ((row.place, row.id) for row in library.conditions.values())),
        ("set-up", ((row.place, row.id) for row in library.set_ups.values())),
        ("access", ((row.place, row.id) for row in library.access.values())),
        ("follow-up", ((row.place, row.id) for row in library.follow_ups.values())),
        ("remedy", ((row.place, row.id) for row in library.remedies.values())),
        ("fault", ((row.place, row.id) for row in library.faults.values())),
        ("check", ((row.place, row.id) for row in library.checks.values())),
        ("finding", ((row.place, row.id) for row in library.findings.values())),
        ("complaint", ((row.place, row.id) for row in library.complaints.values())),
        ("mechanism", ((row.place, row.id) for row in library.mechanisms.values())),
    )
    for kind, rows in tables:
        for place, name in rows:
            yield from _sources(draft, place, ("source",), f"{kind} {name!r}")
    for finding in library.findings.values():
        for number in range(len(finding.reading.limits) if finding.reading else 0):
            path = ("reading", "limits", number, "source")
            yield from _sources(draft, finding.place, path, f"finding {finding.id!r}")


def _sources(draft: Draft, place: Place, path: tuple[str | int, ...], owner: str) -> Iterator[Problem]:
    known = draft.rows.top["sources"].keys() | BUILT_IN_SOURCES.keys()
    node = draft.at(place, *path)
    for source in scalars(node) if node is not None else ():
        if source.text not in known:
            wrong = f"{owner} names unknown source {source.text!r}"
            otherwise = "add it under `sources:`, or write common-practice or estimate"
            yield source.problem(wrong, suggest(source.text, known, otherwise))


def changes_join_known_set_ups(draft: Draft) -> Iterator[Problem]:
    """Both ends of a change are set-ups."""
    for row in draft.rows.changes:
        between = row.node.get("between")
        if row.good and between is not None:
            names = [node.text for node in scalars(between)]
            yield from _known(draft, row.node.place, ("between",), "a change", "set-ups", names)


def repeats_name_known_events(draft: Draft) -> Iterator[Problem]:
    """What a finding repeats is a complaint or a finding."""
    known = draft.rows.findings() | draft.rows.top["complaints"].keys()
    for finding in draft.library.findings.values():
        if finding.repeats and finding.repeats not in known:
            wrong = f"finding {finding.id!r} repeats unknown complaint or finding {finding.repeats!r}"
            mend = suggest(finding.repeats, known, "write the id of a complaint, or check/finding")
            yield draft.problem(finding.place, ("repeats",), wrong, mend)


def repeats_do_not_run_in_a_circle(draft: Draft) -> Iterator[Problem]:
    """A finding repeats, over however many others, an event of its own standing."""
    from diagnose.library.graph import repeats_in_cycles

    for name in repeats_in_cycles(draft.library):
        finding = draft.library.findings[name]
        wrong = f"finding {name!r} repeats {finding.repeats!r}, which in the end repeats it"
        mend = "let one of them point to causes instead"
        yield draft.problem(finding.place, ("repeats",), wrong, mend)


def uses_do_not_run_in_a_circle(draft: Draft) -> Iterator[Problem]:
    """No mechanism leads back to itself."""
    from diagnose.library.graph import uses_in_cycles

    for use in uses_in_cycles(draft.library):
        wrong = f"the mechanism {use.mechanism!r} leads back to itself through this use"
        yield draft.problem(use.place, ("use",), wrong, "name the causes themselves here")


def cause_ids_do_not_clash(draft: Draft) -> Iterator[Problem]:
    """A fault's id with a position behind it is the id of nothing else."""
    taken = {fault.id: f"fault {fault.id!r}" for fault in draft.library.faults.values()}
    taken.update((name, f"mechanism {name!r}") for name in draft.library.mechanisms)
    for fault in draft.library.faults.values():
        for at in WHERE[fault.where]:
            expanded = f"{fault.id}-{at}"
            other = taken.setdefault(expanded, f"fault {fault.id!r} at {at}")
            if other != f"fault {fault.id!r} at {at}":
                wrong = f"fault {fault.id!r} at {at} gets the id {expanded!r}, which is that of {other}"
                yield draft.problem(fault.place, ("id",), wrong, "choose another id for one of the two")


def _known(
    draft: Draft,
    place: Place,
    path: tuple[str | int, ...],
    owner: str,
    kind: str,
    names: Sequence[str],
) -> Iterator[Problem]:
    """A problem for each name that is no row of that kind; `path` leads to the name or their list."""
    known = draft.rows.top[kind]
    for number, name in enumerate(names):
        if name not in known:
            wrong = f"{owner} names unknown {KINDS[kind]} {name!r}"
            article = "an" if KINDS[kind][0] in "aeiou" else "a"
            mend = suggest(name, known, f"add it as {article} {KINDS[kind]}, or correct the id")
            yield draft.problem(place, (*path, number), wrong, mend)


def _known_keys(draft: Draft, place: Place, key: str, owner: str, kind: str) -> Iterator[Problem]:
    known = draft.rows.top[kind]
    for node, _ in pairs(draft.at(place, key)):
        if node.text not in known:
            wrong = f"{owner} names unknown {KINDS[kind]} {node.text!r}"
            yield node.problem(wrong, suggest(node.text, known, f"add it under `{kind}:`, or correct the id"))


#: The demands above; each takes a draft and yields problems, and never raises.
REFERENCES: tuple[Callable[[Draft], Iterator[Problem]], ...] = (
    links_point_to_known_causes,
    faults_and_mechanisms_share_no_id,
    leaves_name_known_faults,
    uses_name_known_mechanisms,
    faults_name_known_remedies,
    lifts_name_known_conditions,
    checks_name_known_set_ups,
    checks_name_known_tools,
    checks_are_for_known_complaints,
    cautions_are_known,
    remedies_name_known_follow_ups,
    access_lies_within_known_access,
    remedies_name_known_access,
    what_is_covered_is_known,
    complaints_stand_in_known_areas,
    complaints_ask_known_checks,
    questions_are_put_in_talk,
    fits_name_known_facts,
    faults_fit_within_their_part,
    leaves_fit_with_their_fault,
    sources_are_known,
    changes_join_known_set_ups,
    repeats_name_known_events,
    repeats_do_not_run_in_a_circle,
    uses_do_not_run_in_a_circle,
    cause_ids_do_not_clash,
)
