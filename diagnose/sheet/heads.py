"""What stands first: what the sheet is, warnings, the complaint in the driver's words, the car, in short."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.job.session import spent_minutes
from diagnose.model.complaint import Complaint
from diagnose.screen.pages import cause_name
from diagnose.screen.repairs import repair_name
from diagnose.sheet.material import Material
from diagnose.sheet.naming import kilometres
from diagnose.sheet.page import Block, Facts, Listed, Notice, Paragraph, Quote, Section
from diagnose.units import minutes, money, plain
from diagnose.words import likelihood, of_100, place_name

__all__ = ["about", "car", "complaint", "in_short", "notices", "title"]

#: Share of the blame from which on a cause is named among the first.
NAMED = 0.1


def title(material: Material) -> str:
    """The complaints by their names."""
    names = []
    for each, side in material.verdict.car.complaints.items():
        known = material.library.complaints[each]
        names.append(known.name + (f" ({side})" if side else ""))
    return " and ".join(names)


def about(material: Material) -> str:
    """Which car, which job, which day."""
    vehicle = material.session.state.vehicle
    return material.joined(
        [
            material.car_name,
            kilometres(vehicle.km) if vehicle.km is not None else "",
            material.name,
            f"{material.made:%Y-%m-%d}",
        ]
    )


# Warnings ---------------------------------------------------------------------------------------------


def notices(material: Material) -> Iterator[Notice]:
    """Whether the car is fit to drive, before anything else, and what does not fit together."""
    unfit = material.verdict.unfit
    if unfit:
        perhaps = all(": do not drive when " in reason for reason in unfit)
        name = "May not be fit to drive: look at this before it moves" if perhaps else "Not fit to drive"
        law = "Local law and the maker's data come first; let a licensed workshop judge it before it moves."
        yield Notice("danger", name, (*unfit, law))
    earlier = [text for text in material.session.state.unfit if text not in unfit]
    if earlier:
        known = {finding.unfit for finding in material.library.findings.values()}
        told = [text if text in known or not material.nameless else "(words left out)" for text in earlier]
        yield Notice("danger", "Was found unfit to drive; make sure that this is mended", tuple(told))
    owed = material.session.obligations
    if owed:
        names = "; ".join(each.name for each in owed)
        yield Notice("caution", "Work that is still to be done after the repair", (f"{names}.",))


# The complaint and the car ----------------------------------------------------------------------------

_SAID = {
    "yes": "is there",
    "probably": "is probably there",
    "cannot-tell": "could not be told",
    "probably-not": "is probably not there",
    "no": "is not there",
}


def complaint(material: Material, title_: str = "The complaint") -> Section:
    """What the driver said, and what it was taken for."""
    blocks: list[Block] = []
    for heard in material.session.state.complaints:
        known = material.library.complaints.get(heard.complaint)
        words = material.said(heard.words)
        if words.strip():
            blocks.append(Quote(words, "The driver"))
        if known is None:
            continue
        about = f" ({known.about.rstrip('.')})" if known.about else ""
        told = [
            f"{who}: {_SAID.get(answer, answer)}"
            for who, answer in (("Driver", heard.driver), ("Road test", heard.road_test))
            if answer is not None
        ]
        blocks.append(Paragraph(". ".join([f"Taken as: {_named(known, heard.side)}{about}", *told]) + "."))
    return Section("complaint", title_, tuple(blocks))


def _named(known: Complaint, side: str | None) -> str:
    return known.name + (f" ({side})" if side else "")


def car(material: Material) -> Section:
    """What is known of the car."""
    library, vehicle = material.library, material.session.state.vehicle
    rows = []
    if material.car_name:
        rows.append(("Car", material.car_name))
    if vehicle.km is not None:
        rows.append(("Distance run", kilometres(vehicle.km)))
    if vehicle.years is not None:
        rows.append(("Age", f"{plain(vehicle.years)} years"))
    for name, value in vehicle.facts.items():
        fact = library.facts.get(name)
        named = next((each.name for each in fact.values if each.id == value), value) if fact else value
        rows.append((name.replace("-", " ").capitalize(), named))
    for name, holds in vehicle.conditions.items():
        condition = library.conditions.get(name)
        rows.append((condition.name.capitalize() if condition else name, "yes" if holds else "no"))
    for each in vehicle.renewed:
        part = library.parts.get(each.part)
        place = f", {place_name(each.position)}" if place_name(each.position) else ""
        when = [f"at {kilometres(each.at_km)}"] if each.at_km is not None else []
        when += [f"{plain(each.years_ago)} years ago"] if each.years_ago is not None else []
        rows.append((f"Renewed: {part.name if part else each.part}{place}", ", ".join(when)))
    blocks: tuple[Block, ...] = (
        (Facts(tuple(rows)),) if rows else (Paragraph("Nothing is known of the car."),)
    )
    return Section("car", "The car", blocks)


# In short -----------------------------------------------------------------------------------------------


def in_short(material: Material) -> Section:
    """Where it stands, in the fewest words."""
    blocks: list[Block] = [Paragraph(text, "lead") for text in _stand(material)]
    done = [repair_name(material.library, each) for one in material.standings for each in one.repairs]
    if done and not material.cured:
        blocks.append(Paragraph("Done so far:"))
        blocks.append(Listed(tuple(done)))
    blocks.append(Facts(tuple(_figures(material))))
    return Section("in-short", "In short", tuple(blocks))


def _stand(material: Material) -> Iterator[str]:
    last, verdict = material.standings[-1], material.verdict
    if material.cured:
        good = material.proof.share.for_good
        yield (
            f"The repairs ended the complaint, and what was fitted holds, in {of_100(good)} of 100 such jobs "
            f"({likelihood(good)})."
        )
        done = [repair_name(material.library, each) for one in material.standings for each in one.repairs]
        yield f"Done: {'; '.join(done)}."
        return
    if last.number and not last.driven:
        yield "It was repaired; nobody has driven it since, so whether it is cured is not known yet."
    first = [row for row in verdict.rows if row.to_blame >= NAMED][:3]
    if first:
        told = "; ".join(f"{cause_name(row)} ({of_100(row.to_blame)} of 100)" for row in first)
        yield f"Most likely behind it, of 100 such cars with these answers: {told}."
    else:
        yield "Nothing stands out yet: no cause is behind it in more than a few of 100 such cars."
    if verdict.next is not None:
        check = material.library.checks[verdict.next.check]
        yield f"Next: {check.name} ({minutes(verdict.next.minutes)}), before money is spent on parts."
    elif material.plan is not None and material.plan.stages:
        stage = material.plan.stages[0]
        yield (
            f"Next: the work of stage 1, about {material.amount(stage.cash)}; the complaint is gone after it "
            f"in {of_100(stage.gone)} of 100 such jobs."
        )


def _figures(material: Material) -> Iterator[tuple[str, str]]:
    state = material.session.state
    checks = len({answer.finding.partition("/")[0] for answer in state.answers})
    took = minutes(spent_minutes(material.library, state))
    if checks:
        yield "Checks done", f"{checks}, about {took} of looking"
    spent = material.standings[-1].spent
    if spent is not None:
        yield "Spent on repairs, as told", money(spent, material.verdict.workshop.currency)
    yield "Complaint is there now", f"in {of_100(material.standings[-1].there)} of 100 such cars"
    if state.closed is not None:
        yield "Closed", material.said(state.closed) or "yes"
