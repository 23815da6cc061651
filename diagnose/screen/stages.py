"""The plan of what to replace first: each stage, what it costs, how likely it cures, what else there is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.choice.lookahead import Proposal
from diagnose.debrief.route import ROUTE
from diagnose.debrief.shows import shows
from diagnose.model.library import Library
from diagnose.model.story import Workshop
from diagnose.plan.chosen import Alternative, Plan, Stage
from diagnose.plan.units import Unit
from diagnose.plan.wishes import Wishes
from diagnose.screen.curve import Point, curve
from diagnose.screen.desk import Look
from diagnose.screen.narrow import Table
from diagnose.screen.pages import labelled, paragraph
from diagnose.units import hours, minutes, money
from diagnose.words import likelihood, of_100, place_name, work_name

__all__ = ["amounts", "plan_page", "unit_name"]

#: The currency of a job for which nobody has named one.
NO_CURRENCY = Workshop().currency

#: A price is worth asking for from this share of the cost of the plan on.
WORTH_ASKING = 0.002

#: Chances of work that is due from which on they are worth a word.
DUE = 0.1

#: Follow-ups that end in a reading of the wheel angles.
ANGLES = frozenset({"front-toe", "four-wheel-alignment"})


def amounts(workshop: Workshop, wishes: Wishes) -> Callable[[float], str]:
    """How money is written: in hours of labour where neither a currency nor a price is known."""
    if workshop.currency == NO_CURRENCY and not wishes.offers and workshop.labour_rate > 0.0:
        return lambda value: f"{value / workshop.labour_rate:.1f} h"
    return lambda value: money(value, workshop.currency)


def unit_name(unit: Unit) -> str:
    """`renew the inner tie rod, front right`."""
    name, place = unit.remedy.name, unit.cure.place
    # Most names say their axle themselves.
    return name if place_name(place) in name else work_name(name, place)


def plan_page(
    plan: Plan,
    library: Library,
    complaints: Sequence[str],
    wishes: Wishes,
    workshop: Workshop,
    look: Look,
    check: Proposal | None = None,
) -> RenderableType:
    """All of it. complaints: ids. check: the one worth doing before anything is paid for, if there is one."""
    amount = amounts(workshop, wishes)
    names = " and ".join(library.complaints[each].name for each in complaints)
    lines: list[RenderableType] = [Text(f"Plan for: {names}", style="bold")]
    if workshop.currency == NO_CURRENCY and not wishes.offers:
        text = (
            "Money is in hours of labour: no currency and no price is known (`--currency`, `--labour-rate`, "
            "`--price`)."
        )
        lines.append(paragraph(text, look, 2, "dim"))
    lines += _wanted(wishes, amount, look)
    if check is not None:
        saves = ""
        if check.saving_minutes >= 1.0:
            saves = f"; with what may follow it saves about {minutes(check.saving_minutes)} on average"
        name = f"{library.checks[check.check].name} ({minutes(check.minutes + check.change)})"
        text = f"{name}{saves}. The plan below is for what is known now."
        lines.append(labelled("Look first", text, look, "yellow"))
    if not plan.stages:
        lines.append(_nothing(plan, amount, look))
    for number, stage in enumerate(plan.stages, start=1):
        lines.append(_stage(number, stage, library, amount, look))
    if plan.stages:
        lines += [Text(), labelled("After each stage", _drive(library, complaints), look)]
        lines += _whole(plan, wishes, amount, look)
    lines += _others(plan, amount, look)
    lines.append(
        paragraph(
            "Prices and hours that nobody has asked for are estimates. The maker's data, local law and "
            "licensed practice come first.",
            look,
            2,
            "dim",
        )
    )
    return Group(*lines)


def _wanted(wishes: Wishes, amount: Callable[[float], str], look: Look) -> Iterator[RenderableType]:
    said = []
    if math.isfinite(wishes.budget):
        said.append(f"{amount(wishes.budget)} in all")
    if math.isfinite(wishes.stage_budget):
        said.append(f"{amount(wishes.stage_budget)} a stage")
    if wishes.own_rate is not None:
        said.append("own labour")
    if wishes.only:
        said.append(f"{wishes.only} axle only")
    if wishes.deadline is not None:
        said.append(f"inspection in {wishes.deadline} days")
    if wishes.without:
        said.append("no parts of grade " + ", ".join(sorted(wishes.without)))
    if said:
        yield labelled("Wanted", "; ".join(said), look)


def _nothing(plan: Plan, amount: Callable[[float], str], look: Look) -> RenderableType:
    return labelled(
        "No work pays",
        "by what is known now: nothing is likely enough to be behind the complaint for what it costs. Look "
        "further, or say what a cured car is worth to you (`--worth`). Giving up is reckoned at "
        f"{amount(plan.cost)}.",
        look,
    )


def _stage(
    number: int,
    stage: Stage,
    library: Library,
    amount: Callable[[float], str],
    look: Look,
) -> RenderableType:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("")
    table.add_column(f"Stage {number}", width=max(min(look.width, 100) - 36, 28), overflow="fold")
    table.add_column("labour", justify="right")
    table.add_column("parts", justify="right")
    for each, unit in enumerate(stage.units, start=1):
        why = Text(_why(unit, library), style="dim")
        table.add_row(str(each), Group(Text(unit_name(unit)), why), hours(unit.minutes), amount(unit.price))
    for name in dict.fromkeys(each.id for each in stage.openings):
        same = [each for each in stage.openings if each.id == name]
        where = "; ".join(
            (f"{place_name(each.place)} " if each.place != "car" else "")
            + f"({', '.join(str(n + 1) for n in each.units)})"
            for each in same
        )
        row = Text(f"{library.access[name].name}: {where}")
        table.add_row("", row, hours(sum(each.minutes for each in same)), "")
    material = stage.parts - sum(unit.price for unit in stage.units)
    after = "; ".join(each.name for each in stage.follow_ups)
    if after:
        minutes_after = sum(each.minutes for each in stage.follow_ups)
        table.add_row(
            "", Text(f"then: {after}"), hours(minutes_after), amount(material) if material >= 0.5 else ""
        )
    table.add_row("", Text("together", style="bold"), hours(stage.minutes), amount(stage.parts))
    lines: list[RenderableType] = [Text(), table]
    if stage.saved >= 1.0:
        lines.append(paragraph(f"Done together: {minutes(stage.saved)} less than one by one.", look, 3))
    lines.append(
        paragraph(
            f"Costs {amount(stage.cash)}."
            + (f" Parts there in {stage.days} days." if stage.days else "")
            + ("" if number == 1 else f" Needed in {of_100(stage.needed)} of 100 such jobs."),
            look,
            3,
        )
    )
    lines.append(
        paragraph(
            _gone(stage, library),
            look,
            3,
            "bold",
        )
    )
    lines += [paragraph(each, look, 3) for each in _afterwards(stage)]
    return Group(*lines)


def _gone(stage: Stage, library: Library) -> str:
    said = f"{of_100(stage.gone)} of 100 ({likelihood(stage.gone)})"
    if len(stage.each_gone) < 2:
        return f"The complaint is gone after it in {said}."
    each = "; ".join(f"{library.complaints[name].name}: {of_100(p)}" for name, p in stage.each_gone.items())
    return f"All are gone after it in {said}. {each}."


def _why(unit: Unit, library: Library) -> str:
    said = [f"behind the complaint in {of_100(unit.blame)} of 100"]
    if unit.safety:
        said.insert(0, "first, for safety")
    if unit.later - unit.again >= DUE:
        said.append(
            f"due anyway in {of_100(unit.later)} of 100 while the car is kept, {of_100(unit.again)} if new"
        )
    elif unit.again >= DUE:
        said.append(f"due again in {of_100(unit.again)} while the car is kept")
    if unit.remedy.per == "pair":
        said.append("both sides: a pair wears and works together")
    if unit.inspection and unit.failing >= 0.1:
        said.append(f"the inspection looks at it (item {', '.join(unit.inspection)})")
    if unit.offer.asked:
        said.append(unit.offer.grade.name)
    return "; ".join(said)


def _afterwards(stage: Stage) -> Iterator[str]:
    if any(each.id in ANGLES for each in stage.follow_ups):
        yield "Measure: the wheel angles, before and after (`diagnose angles --job last`)."
    watch = list(dict.fromkeys(unit.remedy.watch for unit in stage.units if unit.remedy.watch))
    if watch:
        yield "Watch: " + " ".join(watch)


def _drive(library: Library, complaints: Sequence[str]) -> str:
    """On which legs to feel for the complaints."""
    legs = dict.fromkeys(
        ROUTE[kind].name for each in complaints for kind in shows(library.complaints[each]).kinds
    )
    return "drive" + (f" on: {', '.join(legs)}" if legs else "") + " (`diagnose debrief --blank`)."


def _whole(
    plan: Plan, wishes: Wishes, amount: Callable[[float], str], look: Look
) -> Iterator[RenderableType]:
    spread = plan.spread
    if len(plan.stages) > 1 or spread.high - spread.low > 0.05 * max(spread.likely, 1.0):
        yield labelled(
            "In all",
            f"{amount(spread.low)} to {amount(spread.high)}, about {amount(spread.likely)}, if every stage "
            f"is needed; {amount(spread.expected)} on average, for a stage is only gone into if the one "
            "before did not cure it.",
            look,
        )
    if math.isfinite(wishes.budget):
        yield labelled(
            "Budget", f"{amount(wishes.budget)} holds in {of_100(spread.holds)} of 100 such jobs.", look
        )
    if plan.beyond:
        yield labelled(
            "Mind",
            "what must be done for safety is beyond the money named; it comes first all the same.",
            look,
            "yellow",
        )
    if plan.searched < plan.considered:
        sure = "none of the others would make a better one"
        if plan.gap >= 0.5:
            sure = f"with the others it could be better by {amount(plan.gap)} at most"
        yield labelled(
            "Searched",
            f"every plan with the {plan.searched} works of {plan.considered} that matter most; {sure}.",
            look,
        )
    others = [Point(each.cash, each.gone, each.name) for each in plan.alternatives]
    yield from curve(_points(plan), others, amount, look)


def _points(plan: Plan) -> list[Point]:
    points = [Point(0.0, 1.0 - plan.there, "now")]
    spent = 0.0
    for number, stage in enumerate(plan.stages, start=1):
        spent += stage.cash
        points.append(Point(spent, stage.gone, f"stage {number}"))
    return points


def _others(plan: Plan, amount: Callable[[float], str], look: Look) -> Iterator[RenderableType]:
    for each in plan.alternatives:
        yield labelled(each.name.capitalize(), _alternative(each, amount), look)
    some = [each for each in plan.ask if each.worth >= max(WORTH_ASKING * plan.cost, 0.5)][:2]
    if some:
        text = "; ".join(
            f"{unit_name(each.unit)}, which may be {amount(each.low)} to {amount(each.high)}" for each in some
        )
        yield labelled("Ask first for the price", f"{text}.", look)
    if plan.left_out:
        text = "; ".join(f"{unit_name(each)} ({of_100(each.blame)})" for each in plan.left_out[:4])
        yield labelled("Not in the plan", f"{text}: of 100, behind the complaint.", look)


def _alternative(each: Alternative, amount: Callable[[float], str]) -> str:
    stages = "one stage" if each.stages == 1 else f"{each.stages} stages"
    works = "; ".join(unit_name(unit) for unit in each.units[:3])
    more = len(each.units) - 3
    return (
        f"{amount(each.cash)} in {stages}, gone in {of_100(each.gone)} of 100: {works}"
        + (f" and {more} more" if more > 0 else "")
        + "."
    )
