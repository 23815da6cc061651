"""What was repaired, what it obliges to, and what it has come to: round by round, and as plain values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from diagnose.job.events import Repaired
from diagnose.job.repairs import Standing, standings
from diagnose.job.session import Session
from diagnose.screen.desk import Look
from diagnose.screen.pages import cause_name, labelled
from diagnose.units import money
from diagnose.words import likelihood, of_100, place_name

__all__ = ["CURED", "repairs_json", "repairs_page"]

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

#: From this chance on the complaint counts as cured.
CURED = 0.9


def _name(session: Session, repair: Repaired) -> str:
    remedy = session.library.remedies.get(repair.remedy)
    place = "" if repair.place in ("car", "centre") else f", {place_name(repair.place)}"
    return (remedy.name if remedy is not None else repair.remedy) + place


def repairs_page(session: Session, look: Look) -> RenderableType:
    """The job round by round: what was done, what is left of the complaint, what it cost, what is owed."""
    rounds = standings(session)
    currency = session.verdict.workshop.currency
    names = ", ".join(session.library.complaints[each].name for each in session.verdict.car.complaints)
    lines: list[RenderableType] = [Text(f"{session.job}: {names}", style="bold")]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("round")
    table.add_column("what was done", width=max(min(look.width, 100) - 46, 24), overflow="fold")
    table.add_column("complaint there", justify="right")
    table.add_column("spent", justify="right")
    for one in rounds:
        done = "; ".join(_name(session, each) for each in one.repairs) or "as it was brought"
        there = f"{of_100(one.there)} of 100" + ("" if one.driven else ", not driven")
        table.add_row(str(one.number), done, there, "-" if one.spent is None else money(one.spent, currency))
    lines.append(table)
    lines += _verdict(session, rounds, look)
    return Group(*lines)


def _verdict(session: Session, rounds: Sequence[Standing], look: Look) -> Iterator[RenderableType]:
    last, belief = rounds[-1], session.verdict.belief
    owed = session.obligations
    if owed:
        yield labelled("Still to be done", "; ".join(each.name for each in owed), look, "yellow")
        spoils = [each.name for each in owed if each.id in SPOILS]
        if spoils and last.driven and last.number:
            yield labelled("Mind", f"a drive says little before this is done: {spoils[0]}", look, "yellow")
    if not last.number:
        yield labelled("Next", "`diagnose repair REMEDY@PLACE` records what was done", look)
        return
    if not last.driven:
        yield labelled("Next", "drive it, then `diagnose repair --felt yes|probably|no`", look)
        return
    gone = 1.0 - last.there
    yield labelled(
        "Cured",
        f"in {of_100(gone)} of 100 such jobs ({likelihood(gone)}) the complaint is gone"
        + ("" if gone >= CURED else "; drive it again, or go on"),
        look,
        "green" if gone >= CURED else "",
    )
    news = [
        (belief.new_is_bad(number), number)
        for number in belief.car.renewed
        if belief.new_is_bad(number) > 0.05
    ]
    for p, number in sorted(news, reverse=True):
        cause = belief.causes[number]
        part = session.library.parts[session.library.faults[cause.fault].part]
        place = f", {place_name(cause.position)}" if "-" in cause.position else ""
        yield labelled(
            "The new part", f"{part.name}{place} is bad or badly fitted in {of_100(p)} of 100 such jobs", look
        )
    if gone < CURED:
        rows = [row for row in session.verdict.rows if row.to_blame >= 0.02][:4]
        left = "; ".join(f"{cause_name(row)} ({of_100(row.to_blame)})" for row in rows)
        yield labelled("Left to blame", left or "nothing listed here", look)


def repairs_json(session: Session) -> dict[str, Any]:
    """The same as plain values."""
    belief = session.verdict.belief
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
                "spent": one.spent,
            }
            for one in standings(session)
        ],
        "obligations": [each.id for each in session.obligations],
        "new-is-bad": {belief.causes[n].id: belief.new_is_bad(n) for n in sorted(belief.car.renewed)},
        "to-blame": [{"cause": row.id, "probability": row.to_blame} for row in session.verdict.rows],
    }
