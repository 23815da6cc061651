"""Work done, round by round with what it cost, and work planned, stage by stage with what it may cure."""

from __future__ import annotations

import math
from collections.abc import Iterator

from diagnose.job.planned import so_far
from diagnose.job.repairs import Standing
from diagnose.plan.chosen import Plan, Stage
from diagnose.screen.proof import elapsed, proof_json
from diagnose.screen.repairs import repair_name
from diagnose.screen.so_far import value_for_money
from diagnose.screen.stages import unit_name
from diagnose.sheet.material import Material
from diagnose.sheet.page import Block, Cell, Column, Facts, Figure, Listed, Notice, Paragraph, Section, Table
from diagnose.sheet.pictures import Step, Steps
from diagnose.units import hours, money, plain
from diagnose.words import likelihood, of_100

__all__ = ["next_check", "owner_plan", "plan", "repairs"]


# Done ---------------------------------------------------------------------------------------------------


def repairs(material: Material) -> Section | None:
    """Round by round; None before the first repair."""
    if len(material.standings) < 2:
        return None
    rows, number = [], 0
    for one in material.standings:
        number += one.number > 0 and not one.later
        rows.append(_round(material, one, number))
    columns = [
        Column("Round"),
        Column("What was done"),
        Column("Parts, hours"),
        Column("Spent by then", True),
    ]
    columns.append(Column("Complaint there, of 100", True))
    blocks: list[Block] = [Table("Repairs, and what was believed after each", tuple(columns), tuple(rows))]
    blocks += [Paragraph(text) for text in _result(material)]
    blocks.append(_proof(material))
    return Section("repairs", "What was done, and what came of it", tuple(blocks))


def _round(material: Material, one: Standing, number: int) -> tuple[Cell, ...]:
    done = "; ".join(repair_name(material.library, each) for each in one.repairs)
    told = []
    for each in one.repairs:
        bits = [material.said(each.grade)] if material.said(each.grade) else []
        bits += [f"parts {_told_money(material, each.price)}"] if each.price is not None else []
        bits += [f"{plain(each.hours)} h"] if each.hours is not None else []
        if bits:
            told.append(", ".join(bits))
    if one.later:
        done = (
            f"{elapsed(one)} the repair" if one.days is not None or one.km is not None else "looked at later"
        )
    there = of_100(one.there) + ("" if one.driven else " (not driven)")
    return (
        Cell(f"{number}, later" if one.later else str(number)),
        Cell(done or "as it was brought"),
        Cell("; ".join(told)),
        Cell("" if one.spent is None else _told_money(material, one.spent)),
        Cell(there, share=one.there),
    )


def _told_money(material: Material, value: float) -> str:
    """Money as it was told, in the job's currency."""
    return money(value, material.verdict.workshop.currency)


def _result(material: Material) -> Iterator[str]:
    """What has changed, whether it was worth it, and how the plan that was kept came out."""
    yield from proof_json(material.session, material.proof)["owner"]
    found = so_far(material.session)
    if found is None:
        return
    if material.plan is not None and material.worth is not None:
        text = value_for_money(found, material.plan, material.worth, material.amount)
        yield text[0].upper() + text[1:]
    for number, each in enumerate(found.stages, start=1):
        if each.planned_cash is not None and each.planned_gone is not None:
            yield (
                f"Round {number} was planned at {material.amount(each.planned_cash)}, gone in "
                f"{of_100(each.planned_gone)} of 100."
            )


def _proof(material: Material) -> Facts:
    """How all such jobs divide."""
    share = material.proof.share
    return Facts(
        (
            ("Ended by the repairs", f"in {of_100(share.owed)} of 100 such jobs"),
            ("Never there, or gone by itself", f"in {of_100(share.never)}"),
            ("Still there, felt or not", f"in {of_100(share.left)}"),
            ("Cured for good", f"in {of_100(share.for_good)} ({likelihood(share.for_good)})"),
        )
    )


# Next ---------------------------------------------------------------------------------------------------


def next_check(material: Material) -> Section | None:
    """The check to do next with its cautions first, or None where no check pays."""
    from diagnose.screen.pages import reason

    verdict, library = material.verdict, material.library
    proposal = verdict.next
    if proposal is None or material.cured:
        return None
    check = library.checks[proposal.check]
    blocks: list[Block] = []
    if check.cautions:
        blocks.append(Notice("caution", "Caution", tuple(library.cautions[each] for each in check.cautions)))
    blocks.append(Paragraph(check.how))
    if check.needs:
        blocks.append(Paragraph(f"Needs: {', '.join(library.tools[each] for each in check.needs)}."))
    blocks.append(Paragraph(f"Where: {library.set_ups[check.set_up].name}; {plain(check.minutes)} min."))
    blocks.append(Paragraph(f"Why: {reason(verdict, proposal)}"))
    return Section("next", f"Look at this next: {check.name}", tuple(blocks))


# Planned ------------------------------------------------------------------------------------------------


def plan(material: Material) -> Section | None:
    """Stages with cost and chance; None where nothing is planned any more."""
    made = material.plan
    if made is None or material.cured:
        return None
    if not made.stages:
        return Section("plan", "The plan", (Paragraph(_nothing(material, made)),))
    blocks: list[Block] = [_figure(material, made), *_in_all(material, made)]
    below = [_stage(material, number, stage) for number, stage in enumerate(made.stages, start=1)]
    return Section("plan", "The plan: what to replace first", tuple(blocks), tuple(below))


def _nothing(material: Material, made: Plan) -> str:
    return (
        "By what is known now no work pays: nothing is likely enough to be behind the complaint for what it "
        f"costs. Look further. Giving up is reckoned at {material.amount(made.cost)}."
    )


def _figure(material: Material, made: Plan) -> Figure:
    steps, spent = [Step("now", 0.0, material.amount(0.0), 1.0 - made.there)], 0.0
    for number, stage in enumerate(made.stages, start=1):
        spent += stage.cash
        steps.append(Step(f"stage {number}", spent, material.amount(spent), stage.gone))
    others = tuple(
        Step(each.name, each.cash, material.amount(each.cash), each.gone) for each in made.alternatives
    )
    told = "; ".join(
        f"{each.name}: {each.shown}, gone in {of_100(each.gone)} of 100" for each in (*steps, *others)
    )
    picture = Steps(
        "Chance that the complaint is gone, against the money spent", f"{told}.", tuple(steps), others
    )
    return Figure(picture, "Discs: stages one after the other. Diamonds: other ways to spend the money.")


def _in_all(material: Material, made: Plan) -> Iterator[Block]:
    spread, amount = made.spread, material.amount
    yield Paragraph(
        f"In all {amount(spread.low)} to {amount(spread.high)}, about {amount(spread.likely)}, if every "
        "stage is "
        f"needed; {amount(spread.expected)} on average, for a stage is only gone into if the one before "
        "did not "
        "cure it. Prices and hours that nobody has asked for are estimates."
    )
    if math.isfinite(material.wishes.budget):
        yield Paragraph(
            f"The budget of {amount(material.wishes.budget)} holds in {of_100(spread.holds)} of 100 such "
            "jobs."
        )
    if made.beyond:
        yield Notice(
            "caution", "Beyond the money named", ("What must be done for safety costs more; it comes first.",)
        )
    if made.left_out:
        rest = "; ".join(f"{unit_name(each)} ({of_100(each.blame)})" for each in made.left_out[:4])
        yield Paragraph(f"Not in the plan (of 100, behind the complaint): {rest}.", "small")


def _stage(material: Material, number: int, stage: Stage) -> Section:
    library, amount = material.library, material.amount
    cautions = dict.fromkeys(each for unit in stage.units for each in unit.remedy.cautions)
    blocks: list[Block] = []
    if cautions:
        blocks.append(Notice("caution", "Caution", tuple(library.cautions[each] for each in cautions)))
    rows = []
    for unit in stage.units:
        why = [f"behind it in {of_100(unit.blame)} of 100"]
        why += ["first, for safety"] if unit.safety else []
        why += ["both sides: a pair wears and works together"] if unit.remedy.per == "pair" else []
        rows.append(
            (Cell(unit_name(unit)), Cell("; ".join(why)), Cell(hours(unit.minutes)), Cell(amount(unit.price)))
        )
    shared = sum(opening.minutes for opening in stage.openings)
    if shared:
        names = "; ".join(dict.fromkeys(library.access[each.id].name for each in stage.openings))
        access = "access shared by them" if len(stage.units) > 1 else "access"
        rows.append((Cell(access), Cell(names), Cell(hours(shared)), Cell("")))
    if stage.follow_ups:
        names = "; ".join(each.name for each in stage.follow_ups)
        material_ = stage.parts - sum(unit.price for unit in stage.units)
        after = sum(each.minutes for each in stage.follow_ups)
        rows.append(
            (
                Cell("what must follow"),
                Cell(names),
                Cell(hours(after)),
                Cell(amount(material_) if material_ >= 0.5 else ""),
            )
        )
    rows.append((Cell("together"), Cell(""), Cell(hours(stage.minutes)), Cell(amount(stage.parts))))
    columns = (Column("Work"), Column("Why"), Column("Labour", True), Column("Parts", True))
    blocks.append(Table(f"Stage {number}: {amount(stage.cash)} on the day", columns, tuple(rows), total=True))
    needed = "" if number == 1 else f"Needed in {of_100(stage.needed)} of 100 such jobs. "
    blocks.append(
        Paragraph(
            f"{needed}The complaint is gone after it in {of_100(stage.gone)} of 100 "
            f"({likelihood(stage.gone)})."
        )
    )
    watch = dict.fromkeys(unit.remedy.watch for unit in stage.units if unit.remedy.watch)
    if watch:
        blocks += [Paragraph("Watch afterwards:"), Listed(tuple(watch))]
    return Section(f"stage-{number}", f"Stage {number}", tuple(blocks))


def owner_plan(material: Material) -> Section | None:
    """What is to be done, what it costs and what it may bring, in few words."""
    made = material.plan
    if made is None or material.cured or not made.stages:
        return None
    rows = []
    for number, stage in enumerate(made.stages, start=1):
        works = "; ".join(unit_name(unit) for unit in stage.units)
        rows.append(
            (
                Cell(str(number)),
                Cell(works),
                Cell(material.amount(stage.cash)),
                Cell(of_100(stage.gone), share=stage.gone),
            )
        )
    columns = (
        Column("Visit"),
        Column("What is done"),
        Column("Cost", True),
        Column("Cured then, of 100", True),
    )
    blocks: list[Block] = [
        Table("Each visit only if the one before did not cure it", columns, tuple(rows)),
        _figure(material, made),
    ]
    spread = made.spread
    blocks.append(
        Paragraph(
            f"If every visit is needed it comes to {material.amount(spread.low)} to "
            f"{material.amount(spread.high)}. "
            "What nobody has asked a price for is an estimate: ask before you agree."
        )
    )
    return Section("plan", "What it would cost, and what it may bring", tuple(blocks))
