"""The shop's own statistics as a page: what its jobs come to, complaint by complaint."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from diagnose.job.shop import ShopLine
from diagnose.model.library import Library
from diagnose.screen.jobs import complaint_name, fault_name
from diagnose.sheet.page import Block, Cell, Column, Listed, Page, Paragraph, Section, Table
from diagnose.units import minutes, money

__all__ = ["shop_sheet"]

#: Causes named for one complaint at most.
CAUSES = 5

_COLUMNS = (
    Column("Complaint"),
    Column("Jobs", number=True),
    Column("Cured", number=True),
    Column("By the first visit", number=True),
    Column("Minutes of checks", number=True),
    Column("Parts fitted", number=True),
    Column("In vain", number=True),
)


def shop_sheet(library: Library, lines: Sequence[ShopLine], left_out: int, today: date) -> Page:
    """The page. lines: as `shop.report` gives them, all jobs first. left_out: jobs that cannot be read."""
    whole = lines[0]
    sections = [Section("figures", "What the jobs come to", tuple(_figures(library, lines, left_out)))]
    causes = _causes(library, lines)
    if causes:
        sections.append(Section("causes", "Most frequent causes of what was cured", (Listed(causes),)))
    return Page(
        "workshop",
        "Workshop report",
        "The jobs of this workshop",
        f"{whole.jobs} job{'' if whole.jobs == 1 else 's'} \u00b7 {today.isoformat()}",
        (),
        tuple(sections),
        (
            "Counted from the journal of this workshop; what was not told there is not in it. Few jobs say "
            "little.",
        ),
    )


def _figures(library: Library, lines: Sequence[ShopLine], left_out: int) -> list[Block]:
    whole, *single = lines
    rows = [_row(library, line) for line in single]
    found: list[Block] = []
    if whole.jobs:
        every = (*rows, _row(library, whole))
        found.append(
            Table("Jobs by complaint; one with several counts for each", _COLUMNS, every, total=True)
        )
        found.append(
            Paragraph(
                "Minutes: of checks, the median of the cured jobs. In vain: remedies with parts after which "
                "the complaint was still there.",
                "small",
            )
        )
    else:
        found.append(Paragraph("No jobs to report on."))
    if whole.driven < whole.jobs:
        silent = whole.jobs - whole.driven
        found.append(
            Paragraph(f"Of {silent} no drive after a repair was told: they count as not cured.", "small")
        )
    vain = " and ".join(money(amount, currency) for currency, amount in whole.vain_money if amount)
    if vain:
        found.append(Paragraph(f"Parts fitted in vain, as told: {vain}."))
    if left_out:
        found.append(Paragraph(f"Left out: {left_out} that cannot be read.", "small"))
    return found


def _row(library: Library, line: ShopLine) -> tuple[Cell, ...]:
    spent = "-" if line.minutes is None else minutes(line.minutes) if line.minutes else "0 min"
    share = line.cured / line.jobs if line.jobs else None
    return (
        Cell(complaint_name(library, line.complaint) or "All of them"),
        Cell(str(line.jobs)),
        Cell(str(line.cured), share=share),
        Cell(str(line.at_once)),
        Cell(spent),
        Cell(str(line.fitted)),
        Cell(str(line.vain)),
    )


def _causes(library: Library, lines: Sequence[ShopLine]) -> tuple[str, ...]:
    found = []
    for line in lines[1:]:
        names = [f"{fault_name(library, fault)} ({count})" for fault, count in line.causes[:CAUSES]]
        if names:
            found.append(f"{complaint_name(library, line.complaint)}: {'; '.join(names)}")
    return tuple(found)
