"""A job over time: what was repaired, what it obliges to, what it proves, what it comes to for the owner."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.job.drives import references_of
from diagnose.job.events import Repaired
from diagnose.job.proof import CURED, Proof, proof_of
from diagnose.job.repairs import Standing
from diagnose.job.session import Session
from diagnose.model.library import Library
from diagnose.screen.desk import Look
from diagnose.screen.narrow import Table
from diagnose.screen.pages import cause_name, labelled
from diagnose.screen.proof import before_and_after, elapsed, for_the_owner, proof_json, share_lines
from diagnose.units import money
from diagnose.words import of_100, place_name, work_name

__all__ = ["repair_name", "repairs_json", "repairs_page"]

#: Work without which a drive says little of the repair (follow-ups by id; common practice).
SPOILS = frozenset(
    {
        "front-toe",
        "four-wheel-alignment",
        "angle-sensor-zero",
        "torque-at-ride-height",
        "pressures-after",
        "balance-wheels",
        "bleed-brakes",
        "bleed-steering",
        "height-learn",
    }
)

#: From this chance on a new part is named as doubtful; any is bad in 3 of 100.
DOUBTFUL = 0.1


def repair_name(library: Library, repair: Repaired) -> str:
    """What was done, and where, in words."""
    remedy = library.remedies.get(repair.remedy)
    return work_name(remedy.name if remedy is not None else repair.remedy, repair.place)


def repairs_page(session: Session, look: Look, drives: bool = True) -> RenderableType:
    """The job round by round: what was done, what is left of the complaint, what it cost; and its proof.

    drives: with the last drive beside others; False where that has just been shown.
    """
    proof = proof_of(session)
    currency = session.verdict.workshop.currency
    names = ", ".join(session.library.complaints[each].name for each in session.verdict.car.complaints)
    lines: list[RenderableType] = [Text(f"{session.job}: {names}", style="bold")]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("round")
    table.add_column("what was done", width=max(min(look.width, 100) - 46, 24), overflow="fold")
    table.add_column("complaint there", justify="right")
    table.add_column("spent", justify="right")
    number = 0
    for one in proof.standings:
        number += not one.later and one.number > 0
        done = "; ".join(repair_name(session.library, each) for each in one.repairs) or "as it was brought"
        if one.later:
            done = elapsed(one)
        there = f"{of_100(one.there)} of 100" + ("" if one.driven else ", not driven")
        spent = "-" if one.spent is None else money(one.spent, currency)
        table.add_row("" if one.later else str(number), done, there, spent)
    lines.append(table)
    lines += _owed(session, proof.last, look)
    lines += _references(session, look)
    if not proof.last.number:
        lines.append(labelled("Next", "`diagnose repair REMEDY@PLACE` records what was done", look))
        return Group(*lines)
    lines += before_and_after(session, proof, look, drives)
    lines += _verdict(session, proof, look)
    lines += for_the_owner(session, proof, look)
    return Group(*lines)


def _references(session: Session, look: Look) -> Iterator[RenderableType]:
    """The drives that the job keeps to compare with."""
    whose = {"good-car": "a car known to be good", "same-car-before": "the same car before"}
    kept = references_of(session.library, session.state)
    if kept:
        told = [
            f"a drive of {whose[of]}{f', {drive.when}' if drive.when else ''}" for of, drive in kept.items()
        ]
        yield labelled("Kept to compare with", "; ".join(told), look, "dim")


def _owed(session: Session, last: Standing, look: Look) -> Iterator[RenderableType]:
    """Work that is still to be done, and what it does to a drive."""
    owed = session.obligations
    if not owed:
        return
    yield labelled("Still to be done", "; ".join(each.name for each in owed), look, "yellow")
    spoils = [each.name for each in owed if each.id in SPOILS]
    if spoils and last.driven and last.number:
        yield labelled("Mind", f"a drive says little before this is done: {spoils[0]}", look, "yellow")


def _verdict(session: Session, proof: Proof, look: Look) -> Iterator[RenderableType]:
    """How sure the cure is, what speaks against it, and what is left."""
    belief = session.verdict.belief
    yield Text("Proof", style="bold")
    if not proof.last.driven:
        yield labelled("Next", "drive it, then `diagnose repair --felt yes|probably|faded|no`", look)
        return
    yield from share_lines(proof, look)
    news = [
        (belief.new_is_bad(number), number)
        for number in belief.car.renewed
        if belief.new_is_bad(number) > DOUBTFUL
    ]
    for p, number in sorted(news, reverse=True):
        cause = belief.causes[number]
        part = session.library.parts[session.library.faults[cause.fault].part]
        place = f", {place_name(cause.position)}" if "-" in cause.position else ""
        text = f"{part.name}{place} is bad, badly fitted or has failed in {of_100(p)} of 100 such jobs"
        yield labelled("The new part", text, look)
    if proof.share.for_good < CURED:
        rows = [row for row in session.verdict.rows if row.to_blame >= 0.02][:4]
        left = "; ".join(f"{cause_name(row)} ({of_100(row.to_blame)})" for row in rows)
        yield labelled("Left to blame", left or "nothing listed here", look)


def repairs_json(session: Session) -> dict[str, Any]:
    """The same as plain values."""
    belief, proof = session.verdict.belief, proof_of(session)
    return {
        "job": session.job,
        "rounds": [
            {
                "round": one.number,
                "repairs": [
                    {key: value for key, value in each.to_dict().items() if key != "event"}
                    for each in one.repairs
                ],
                "complaint": one.there,
                "driven": one.driven,
                "felt": dict(one.answers),
                "later": one.later,
                "days": one.days,
                "km": one.km,
                "spent": one.spent,
            }
            for one in proof.standings
        ],
        "obligations": [each.id for each in session.obligations],
        "new-is-bad": {belief.causes[n].id: belief.new_is_bad(n) for n in sorted(belief.car.renewed)},
        "to-blame": [{"cause": row.id, "probability": row.to_blame} for row in session.verdict.rows],
        "proof": proof_json(session, proof) if proof.last.number else None,
    }
