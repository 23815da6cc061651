"""The jobs of a shop as pages: the list, and what all of them come to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.job.glance import Overview
from diagnose.job.lookup import Looked
from diagnose.job.shop import ShopLine
from diagnose.model.library import Library
from diagnose.screen.desk import Look, clean
from diagnose.screen.narrow import Table
from diagnose.screen.prose import labelled, paragraph
from diagnose.units import minutes, money
from diagnose.words import work_name

__all__ = ["complaint_name", "fault_name", "jobs_json", "jobs_page", "report_json", "report_page"]

#: Columns from which the list also says what was complained of, and what was found and spent.
ROOM, MORE_ROOM = 100, 130

#: Causes named for a complaint.
MOST_CAUSES = 4

#: Letters of a date and time, such as 2026-05-04 09:30.
TIME = "%Y-%m-%d %H:%M"


def jobs_page(library: Library, found: Looked, look: Look) -> RenderableType:
    """These jobs, the last touched first."""
    rows = found.rows
    if not found.of:
        return Text("No jobs yet. `diagnose walk` begins one.")
    if not rows:
        return paragraph(f"None of {_count(found.of, 'job')} is meant: ask for less, or for others.", look, 0)
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    table.add_column("job", no_wrap=True)
    table.add_column("name", ratio=2)
    if look.width >= ROOM:
        table.add_column("complaint", ratio=2)
    if look.width >= MORE_ROOM:
        table.add_column("put right", ratio=3)
        table.add_column("spent", justify="right", no_wrap=True)
    table.add_column("last touched (UTC)", no_wrap=True)
    table.add_column("state", ratio=1 if look.width >= ROOM else None)
    for row in rows:
        cells = [row.id, clean(row.name)]
        if look.width >= ROOM:
            cells.append(", ".join(complaint_name(library, each) for each in row.complaints))
        if look.width >= MORE_ROOM:
            cells.append("; ".join(_remedy(library, each.work) for each in row.repairs))
            cells.append("" if row.spent is None else money(row.spent, row.currency))
        cells += [row.last.strftime(TIME) if row.last else "", clean(_state(row))]
        table.add_row(*cells)
    lines: list[RenderableType] = [table]
    if found.meant < found.of:
        lines.append(Text(f"{found.meant:,} of {_count(found.of, 'job')}", style="dim"))
    if len(rows) < found.meant:
        told = f"The last {len(rows):,} of {found.meant:,} are listed; --last {found.meant} lists them all."
        lines.append(paragraph(told, look, 0, "dim"))
    lines += [
        paragraph(f"{row.id} cannot be read: {row.unreadable}.", look, 0) for row in rows if row.unreadable
    ]
    return Group(*lines)


def _state(row: Overview) -> str:
    if row.unreadable:
        return "cannot be read"
    state = row.closed or "open"
    return f"{state}, owes {len(row.owed)}" if row.owed else state


def _count(number: int, word: str) -> str:
    return f"{number:,} {word}{'s' * (number != 1)}"


def complaint_name(library: Library, name: str) -> str:
    """The name of a complaint by its id; the id itself where the trees lack it."""
    return library.complaints[name].name if name in library.complaints else name


def _remedy(library: Library, work: str) -> str:
    remedy, _, place = work.partition("@")
    name = library.remedies[remedy].name if remedy in library.remedies else remedy
    return work_name(name, place)


def fault_name(library: Library, name: str) -> str:
    """Part and fault in words by the id of the fault; the id itself where the trees lack it."""
    fault = library.faults.get(name)
    return name if fault is None else f"{library.parts[fault.part].name}: {fault.name}"


def jobs_json(rows: Sequence[Overview]) -> list[dict[str, Any]]:
    """The same as plain values."""
    return [
        {
            "id": row.id,
            "name": row.name,
            "opened": row.opened.isoformat() if row.opened else None,
            "last": row.last.isoformat() if row.last else None,
            "events": row.events,
            "closed": row.closed,
            "complaints": list(row.complaints),
            "concluded": list(row.concluded),
            "repairs": [each.work for each in row.repairs],
            "cured": row.cured,
            "causes": list(row.causes),
            "minutes": row.minutes,
            "spent": row.spent,
            "currency": row.currency or None,
            "owed": list(row.owed),
            "unreadable": row.unreadable or None,
        }
        for row in rows
    ]


def report_page(library: Library, lines: Sequence[ShopLine], left_out: int, look: Look) -> RenderableType:
    """What the jobs come to. left_out: jobs that cannot be read."""
    whole = lines[0]
    told: list[RenderableType] = []
    if whole.jobs:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
        table.add_column("complaint", ratio=1)
        for name in ("jobs", "cured", "at once", "min", "fitted", "in vain"):
            table.add_column(name, justify="right", no_wrap=True)
        for line in lines:
            table.add_row(
                complaint_name(library, line.complaint) or "all of them",
                str(line.jobs),
                str(line.cured),
                str(line.at_once),
                "-" if line.minutes is None else minutes(line.minutes) if line.minutes else "0 min",
                str(line.fitted),
                str(line.vain),
            )
        told += [table, Text("")]
        told.append(
            paragraph(
                "At once: cured by the first visit. Min: of checks, the median of the cured. Fitted: "
                "remedies with parts; in vain: the complaint was still there after that visit.",
                look,
                0,
                "dim",
            )
        )
        if whole.driven < whole.jobs:
            told.append(
                paragraph(
                    f"Of {whole.jobs - whole.driven} no drive after a repair was told: they count as not "
                    "cured.",
                    look,
                    0,
                    "dim",
                )
            )
        vain = " and ".join(money(amount, currency) for currency, amount in whole.vain_money if amount)
        if vain:
            told.append(paragraph(f"Parts fitted in vain, as told: {vain}.", look, 0))
        if whole.causes:
            told += [Text(""), Text("Most frequent causes of what was cured", style="bold")]
        for line in lines[1:]:
            if line.causes:
                most = line.causes[:MOST_CAUSES]
                names = (f"{fault_name(library, cause)} ({count})" for cause, count in most)
                told.append(labelled(complaint_name(library, line.complaint), "; ".join(names), look))
    else:
        told.append(Text("No jobs to report on. `diagnose walk` begins one."))
    if left_out:
        told.append(paragraph(f"Left out: {_count(left_out, 'job')} that cannot be read.", look, 0))
    return Group(*told)


def report_json(lines: Sequence[ShopLine], left_out: int) -> dict[str, Any]:
    """The same as plain values."""
    found = [
        {
            "complaint": line.complaint or None,
            "jobs": line.jobs,
            "closed": line.closed,
            "cured": line.cured,
            "at_once": line.at_once,
            "driven": line.driven,
            "minutes": line.minutes,
            "fitted": line.fitted,
            "vain": line.vain,
            "vain_money": dict(line.vain_money),
            "causes": [{"fault": fault, "jobs": count} for fault, count in line.causes],
        }
        for line in lines
    ]
    return {"whole": found[0], "complaints": found[1:], "unreadable": left_out}
