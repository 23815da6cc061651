"""The minimal cut sets of a complaint's tree and the importance of its events, as a page and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.faulttree.events import Event
from diagnose.faulttree.tree import CutSet, FaultTree, Importance
from diagnose.model.library import Library
from diagnose.model.position import told_place
from diagnose.screen.desk import Look, clean
from diagnose.screen.narrow import Table
from diagnose.screen.pages import paragraph
from diagnose.words import of_100

__all__ = ["cuts_json", "cuts_page", "event_name", "gate_name"]


def gate_name(library: Library, key: str) -> str:
    """A gate in words: by its own name, or that of the nearest one above it that has one."""
    at = key
    while at:
        found = library.mechanisms.get(at) or library.complaints.get(at)
        if found is not None:
            return found.name
        at = at.rpartition(".")[0]
    return key


def event_name(library: Library, tree: FaultTree, event: Event) -> str:
    """A cause as in a ranking, a leak, or a link with what it raises and how often."""
    if event.kind == "leak":
        above = "" if event.gate == tree.top else f", for: {gate_name(library, event.gate)}"
        return f"something not listed here{above}"
    if event.kind == "link":
        then = "enough for" if event.cause is not None else "and then for"
        own = event.gate in library.mechanisms or event.gate in library.complaints
        if not own or tree.network.nodes[event.gate].top > 1:
            then += " its branch of"
        return f"{then}: {gate_name(library, event.gate)} (in {of_100(event.chance)} of 100)"
    assert event.cause is not None
    cause = tree.network.causes[event.cause]
    fault = library.faults[cause.fault]
    place = told_place(fault.where, cause.position)
    return f"{library.parts[fault.part].name}: {fault.name}" + (f", {place}" if place else "")


def _lines(library: Library, tree: FaultTree, found: CutSet) -> Iterator[tuple[int, str]]:
    """(depth, text) of the events of a cut set: every fault, under it its own link, then the links above."""
    told: set[int] = set()
    for number in found.events:
        event = tree.events[number]
        if event.kind == "link":
            continue
        yield 0, event_name(library, tree, event)
        for other in found.events:
            link = tree.events[other]
            if event.cause is not None and link.kind == "link" and link.cause == event.cause:
                told.add(other)
                yield 1, event_name(library, tree, link)
    # Events near the top have the small numbers.
    for number in sorted(found.events, reverse=True):
        if tree.events[number].kind == "link" and number not in told:
            yield 1, event_name(library, tree, tree.events[number])


def cuts_page(
    library: Library,
    tree: FaultTree,
    whose: str,
    side: str | None,
    look: Look,
    top: int,
    order: int | None,
    links: bool,
) -> RenderableType:
    """What it takes to raise the complaint, and which event weighs how much."""
    name = library.complaints[tree.top].name + (f" ({side})" if side else "")
    page: list[RenderableType] = [Text(clean(name), style="bold")]
    page.append(
        paragraph(f"Of {whose}; before any check. Of 100 such cars {of_100(tree.chance)} have it.", look, 0)
    )
    page.append(paragraph(_counted(tree), look, 0))
    page.append(Text(""))
    page.append(_sets(library, tree, look, top, order))
    page.append(Text(""))
    page.append(_weights(library, tree, look, top, links))
    page.append(Text(""))
    for line in _footnotes(tree):
        page.append(paragraph(line, look, 0, "dim"))
    return Group(*page)


def _counted(tree: FaultTree) -> str:
    """`178 minimal cut sets: 177 of one fault alone, 1 of 2 together.`"""
    whole = sum(tree.counts.values())
    each = [
        f"{many} of one fault alone" if order == 1 else f"{many} of {order} together"
        for order, many in tree.counts.items()
    ]
    return f"{whole} minimal cut set{'s' if whole != 1 else ''}: {', '.join(each)}."


def _sets(library: Library, tree: FaultTree, look: Look, top: int, order: int | None) -> RenderableType:
    found = tree.cut_sets(top, order)
    if not found:
        return paragraph(f"None has at most {order} fault{'s' if order != 1 else ''}.", look, 0)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("of 100\nwith it", justify="right", width=7)
    table.add_column("of 100\ncars", justify="right", width=6)
    table.add_column("\nwhat it takes: all of it together", width=max(min(look.width, 96) - 17, 30))
    for each in found:
        lines = Text("\n").join(
            paragraph(text, _narrow(look), 2 * depth, "" if depth == 0 else "dim")
            for depth, text in _lines(library, tree, each)
        )
        table.add_row(of_100(each.share), of_100(each.chance), lines)
    within = sum(many for size, many in tree.counts.items() if order is None or size <= order)
    if within == len(found):
        return table
    limit = "" if order is None else f" of at most {order} together"
    return Group(table, Text(f"and {within - len(found)} more{limit}", style="dim"))


def _narrow(look: Look) -> Look:
    """The look of the wide column of a table."""
    return Look(look.unicode, max(min(look.width, 96) - 17, 30))


def _weights(library: Library, tree: FaultTree, look: Look, top: int, links: bool) -> RenderableType:
    """Importance, the largest first."""
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), header_style="dim")
    wide = max(min(look.width, 110) - 39, 30)
    table.add_column("of 100 cars with it", width=wide)
    for head in ("in a set\n(F-V)", "goes\nwith it", "there", "decides\n(Birnb.)", "RAW"):
        table.add_column(head, justify="right")
    shown = [each for each in tree.importance if links or tree.events[each.event].kind != "link"][:top]
    for each in shown:
        event = tree.events[each.event]
        name = clean(event_name(library, tree, event))
        if event.kind == "link":
            source = event.source if event.cause is None else tree.network.causes[event.cause].id
            name = f"link of {source}, {name}"
        table.add_row(
            name,
            of_100(each.fussell_vesely),
            of_100(each.criticality),
            of_100(each.given_top),
            of_100(each.birnbaum),
            f"{each.achievement:.2f}",
        )
    return table


def _footnotes(tree: FaultTree) -> Iterator[str]:
    yield (
        "In a set: a whole cut set with it is there. Goes with it: the complaint would go with this alone. "
        "There: it is present, felt or not. Decides: of all such cars, those in which it makes the "
        "difference. RAW: how many times likelier the complaint is where it is certain."
    )
    if tree.bounds is not None:
        bound, rare = tree.bounds
        word = "min-cut bound" if tree.bounded else "min-cut formula (no bound: some mates shun each other)"
        yield (f"Exact {tree.chance:.6g}. For comparison: {word} {bound:.6g}, rare-event sum {rare:.6g}.")
    else:
        yield f"Exact {tree.chance:.6g}. There are too many cut sets to list each for the usual bounds."
    if tree.chances.pairs:
        many = len(tree.chances.pairs)
        yield (
            f"{many} pair{'s' if many != 1 else ''} of mates (left and right of one axle) depend on each "
            "other and are taken together."
        )


# JSON -------------------------------------------------------------------------------------------------


def _round(value: float) -> float:
    return round(float(value), 12) + 0.0


def cuts_json(
    library: Library, tree: FaultTree, side: str | None, top: int, order: int | None
) -> dict[str, Any]:
    """The same as plain values; importance of every event."""
    bounds = tree.bounds
    keys = [event.key for event in tree.events]
    return {
        "complaint": tree.top,
        "side": side,
        "probability": _round(tree.chance),
        "min_cut_bound": _round(bounds[0]) if bounds is not None and tree.bounded else None,
        "rare_event_sum": _round(bounds[1]) if bounds is not None else None,
        "counts": [{"order": size, "cut_sets": many} for size, many in tree.counts.items()],
        "cut_sets": [
            {
                "events": [keys[event] for event in each.events],
                "order": each.order,
                "probability": _round(each.chance),
                "share": _round(each.share),
            }
            for each in tree.cut_sets(top, order)
        ],
        "events": [_event(library, tree, each) for each in tree.importance],
        "mates": [
            {"events": [keys[pair.first], keys[pair.second]], "both": _round(pair.table[1][1])}
            for pair in tree.chances.pairs
        ],
    }


def _event(library: Library, tree: FaultTree, found: Importance) -> dict[str, Any]:
    event = tree.events[found.event]
    return {
        "key": event.key,
        "kind": event.kind,
        "name": event_name(library, tree, event),
        "source": event.source or None,
        "gate": event.gate or None,
        "position": tree.network.causes[event.cause].position if event.cause is not None else None,
        "probability": _round(event.chance),
        "birnbaum": _round(found.birnbaum),
        "criticality": _round(found.criticality),
        "fussell_vesely": _round(found.fussell_vesely),
        "risk_achievement_worth": _round(found.achievement),
        "risk_reduction_worth": None if found.reduction is None else _round(found.reduction),
        "given_complaint": _round(found.given_top),
        "cut_sets": found.cut_sets,
    }
