"""What wheel-angle sheets say of the causes: what is likelier, what is ruled out, what to look at next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.belief.belief import Belief
from diagnose.choice.verdict import Verdict
from diagnose.job.sheets import Effect
from diagnose.model.library import Library
from diagnose.screen.desk import Look
from diagnose.screen.narrow import ANY, NARROW, Table
from diagnose.screen.pages import cause_name, labelled, moved, shortened
from diagnose.words import FELL, of_100

__all__ = ["causes_json", "causes_page"]

#: Leading causes shown, and those ruled out or cleared that are named.
LEADING, NAMED = 6, 8

#: A cause is spoken against, or cleared, that stood at this much at least and fell to `FELL` of it or less.
STOOD = 0.015


def _fell(before: Belief, after: Belief) -> list[int]:
    """Causes that one belief held possible and the other hardly does, the likeliest before first."""
    found = [
        number
        for number in before.order()
        if before.to_blame[number] >= STOOD and after.to_blame[number] <= FELL * before.to_blame[number]
    ]
    return found[:NAMED]


def causes_page(library: Library, found: Effect, verdict: Verdict, look: Look) -> RenderableType:
    """The ranking by the last measurement, what it rules out, what the work cleared, and the next check.

    verdict: of the car with all that its sheets say.
    """
    names = ", ".join(library.complaints[each].name for each in verdict.car.complaints)
    latest = found.latest
    lines: list[RenderableType] = [Text(f"What the angles say of: {names}", style="bold")]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    names_wide = min(look.width, 100) - 36 if look.width >= NARROW else None
    table.add_column("of 100 such cars", no_wrap=True, width=names_wide)
    table.add_column("without", justify="right")
    table.add_column("before" if found.now else "with it", justify="right")
    if found.now:
        table.add_column("after", justify="right")
    table.add_column("moved", justify="right")
    # The sheets are weighed on the car as it was brought: what was put right since is a suspect there.
    brought = Verdict(latest.car, latest.story, verdict.workshop) if verdict.car.rounds else verdict
    rows = {each.number: each for each in brought.rows}
    for number in latest.order()[:LEADING]:
        row = [shortened(rows[number], names_wide or ANY), of_100(float(found.without.to_blame[number]))]
        row.append(of_100(float(found.with_it.to_blame[number])))
        if found.now:
            row.append(of_100(float(found.now.to_blame[number])))
        base = found.with_it if found.now else found.without
        row.append(moved(float(latest.to_blame[number] - base.to_blame[number])))
        table.add_row(*row)
    row = ["something not listed here", of_100(found.without.outside), of_100(found.with_it.outside)]
    if found.now:
        row.append(of_100(found.now.outside))
    table.add_row(*row, "", style="dim")
    lines.append(table)
    ruled = [cause_name(rows[n]) for n in _fell(found.without, found.with_it)]
    if ruled:
        lines.append(labelled("Spoken against by the angles", "; ".join(ruled), look))
    if found.now:
        cleared = [cause_name(rows[n]) for n in _fell(found.with_it, found.now)]
        lines.append(
            labelled("Cleared by the new sheet", "; ".join(cleared) or "nothing that stood before", look)
        )
    for open_ in found.said.left_open:
        lines.append(labelled("Left open", open_, look, "dim"))
    lines += _next(library, verdict, look)
    return Group(*lines)


def _next(library: Library, verdict: Verdict, look: Look) -> Iterator[RenderableType]:
    proposal = verdict.next
    if proposal is None:
        yield labelled("Next", "nothing is worth more looking: cure, then measure and drive again", look)
    else:
        check = library.checks[proposal.check]
        yield labelled("Next", f"{check.name} ({round(proposal.minutes)} min)", look)


def causes_json(library: Library, found: Effect, verdict: Verdict) -> dict[str, Any]:
    """The same as plain values."""
    latest = found.latest
    proposal = verdict.next
    return {
        "complaints": list(verdict.car.complaints),
        "answers": [
            {
                "finding": each.finding,
                "position": each.position,
                "answer": each.answer,
                **({"reading": each.reading} if each.reading is not None else {}),
                **({"shares": list(each.shares)} if each.shares else {}),
            }
            for each in found.said.answers
        ],
        "left-open": list(found.said.left_open),
        "causes": [
            {
                "cause": latest.causes[number].id,
                "without": float(found.without.to_blame[number]),
                "with": float(found.with_it.to_blame[number]),
                **({"after": float(found.now.to_blame[number])} if found.now else {}),
            }
            for number in latest.order()
        ],
        "ruled-out": [latest.causes[n].id for n in _fell(found.without, found.with_it)],
        "cleared": [latest.causes[n].id for n in _fell(found.with_it, found.now)] if found.now else [],
        "next": proposal.check if proposal is not None else None,
    }
