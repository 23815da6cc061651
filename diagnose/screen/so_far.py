"""What the repairs of a job have cost, what they have changed, and whether it was worth it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.job.planned import SoFar
from diagnose.job.proof import CURED
from diagnose.model.library import Library
from diagnose.plan.chosen import Plan
from diagnose.screen.desk import Look
from diagnose.screen.narrow import Table
from diagnose.screen.pages import labelled
from diagnose.screen.repairs import repair_name
from diagnose.words import of_100

__all__ = ["so_far_json", "so_far_page", "value_for_money"]

#: Changes of a chance below this are nothing that money was well spent on.
LITTLE = 0.1


def so_far_page(
    found: SoFar,
    plan: Plan,
    library: Library,
    worth: float,
    amount: Callable[[float], str],
    look: Look,
) -> RenderableType:
    """Planned against actual, stage by stage, and in plain words whether the money was well spent."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("So far", width=max(min(look.width, 100) - 46, 24), overflow="fold")
    table.add_column("planned", justify="right")
    table.add_column("spent", justify="right")
    table.add_column("gone", justify="right")
    table.add_column("planned", justify="right")
    for number, each in enumerate(found.stages, start=1):
        table.add_row(
            f"{number}: {'; '.join(repair_name(library, one) for one in each.repairs)}",
            "-" if each.planned_cash is None else amount(each.planned_cash),
            "-" if each.spent is None else amount(each.spent),
            of_100(1.0 - each.there) if each.driven else "not driven",
            "-" if each.planned_gone is None else of_100(each.planned_gone),
        )
    return Group(table, labelled("Value", value_for_money(found, plan, worth, amount), look), Text())


def value_for_money(found: SoFar, plan: Plan, worth: float, amount: Callable[[float], str]) -> str:
    """Whether it was worth it, in plain words, and whether to go on.

    worth: what it is worth to be rid of the complaint, in money.
    """
    last = found.last
    spent = "what was spent was not told" if found.spent is None else f"{amount(found.spent)} spent"
    if not last.driven:
        return f"{spent}; nobody has driven since, so nothing can be said yet."
    change = found.there - last.there
    before, after = of_100(found.there), of_100(last.there)
    moved = f"the chance that the complaint is there went from {before} to {after} of 100"
    if 1.0 - last.there >= CURED:
        verdict = "it is gone"
        if found.spent is not None:
            verdict += (
                f", for less than the {amount(worth)} that it was worth"
                if found.spent <= worth
                else f", but for more than the {amount(worth)} that it was worth"
            )
    elif last.faded:
        verdict = "it has faded, so some of it was well spent"
    elif change < LITTLE:
        verdict = "so far that money did not help the complaint"
    else:
        verdict = "some of the way"
    if 1.0 - last.there >= CURED:
        ahead = "nothing more is needed for the complaint"
    elif not plan.stages:
        ahead = "going on does not pay by what is known now"
    else:
        ahead = (
            f"to go: {amount(plan.cash)} if every stage is needed, {amount(plan.outlay)} on average, for a "
            f"chance of {of_100(plan.gone)} of 100"
        )
    return f"{spent}; {moved}: {verdict}. {ahead[0].upper()}{ahead[1:]}."


def so_far_json(found: SoFar) -> dict[str, Any]:
    """The same as plain values."""
    return {
        "there": found.there,
        "spent": found.spent,
        "stages": [
            {
                "works": [f"{one.remedy}@{one.place}" for one in each.repairs],
                "spent": each.spent,
                "gone": 1.0 - each.there,
                "driven": each.driven,
                "planned_works": None if each.planned is None else list(each.planned),
                "planned_cash": each.planned_cash,
                "planned_gone": each.planned_gone,
            }
            for each in found.stages
        ],
    }
