"""Drives told leg by leg, and the last one beside the one before it."""

from __future__ import annotations

from diagnose.debrief.compare import Change, Figure
from diagnose.debrief.drive import Drive, speed_words
from diagnose.debrief.scale import shown
from diagnose.job.drives import drives_of
from diagnose.job.proof import Comparison
from diagnose.screen.debrief import NAMES, complaint_words, strength_words
from diagnose.sheet.material import Material
from diagnose.sheet.page import Block, Cell, Column, Mark, Paragraph, Section, Table
from diagnose.words import of_100

__all__ = ["drives", "owner_drives"]

_MARKS: dict[str, Mark] = {
    "new": "bad",
    "worse": "bad",
    "gone": "good",
    "better": "good",
    "not-driven": "near",
}

_VERDICTS = {
    "clear": "more than a driver's usual scatter",
    "perhaps": "may be a driver's scatter",
    "scatter": "no more than a driver's usual scatter",
}


def drives(material: Material) -> Section | None:
    """Every drive of the job, then the last two beside each other; None if none was told."""
    told = drives_of(material.library, material.session.state)
    if not told:
        return None
    compared = [_compared(material, one) for one in material.proof.drives if one.changes]
    below = [_drive(material, number, rounds, drive) for number, (rounds, drive) in enumerate(told, start=1)]
    return Section("drives", "Drives", tuple(compared), tuple(below))


def owner_drives(material: Material) -> Section | None:
    """The last drive beside the one before the repair, or that of a good car; None without either."""
    blocks = tuple(_compared(material, one) for one in material.proof.drives if one.changes)
    return Section("drives", "How it drives now", blocks) if blocks else None


def _drive(material: Material, number: int, rounds: int, drive: Drive) -> Section:
    rows = []
    for leg in drive.legs:
        where = f"{leg.what.name}, {speed_words(leg.low, leg.high)}"
        for one in leg.noticed:
            said = complaint_words(material.library, one.complaint, one.side)
            words = material.said(one.words)
            began = material.said(one.began)
            said += f": \u201c{words}\u201d" if words else ""
            said += f"; began {began}" if began else ""
            rows.append((Cell(where), Cell(said), Cell(strength_words(one))))
    quiet = "; ".join(leg.what.name for leg in drive.legs if not leg.noticed)
    when = material.said(drive.when)
    done = [one.repairs for one in material.session.state.rounds[:rounds] if not one.later]
    at = f"after repair {len(done)}" if done else "before any repair"
    head = material.joined(
        [
            at,
            material.said(drive.car),
            f"driven by {drive.who}" if material.said(drive.who) else "",
            material.said(drive.load),
            {"set": "tyre pressures set", "not-set": "tyre pressures not set"}.get(drive.pressures, ""),
            "" if drive.road == "unknown" else f"road {drive.road}",
            material.said(drive.weather),
        ]
    )
    blocks: list[Block] = [Paragraph(head, "small")]
    if rows:
        columns = (Column("Where"), Column("What was noticed"), Column("How strongly, of 10"))
        blocks.append(
            Table("What was noticed; 10 is not noticeable, 5 the border, 1 the worst", columns, tuple(rows))
        )
    if quiet:
        blocks.append(Paragraph(f"Nothing noticed on: {quiet}."))
    return Section(f"drive-{number}", f"Drive {number}{f', {when}' if when else ''}", tuple(blocks))


def _compared(material: Material, found: Comparison) -> Table:
    """The last drive beside another one."""
    good = found.of == "good-car"
    rows = tuple(_change(material, one, good) for one in found.changes)
    columns = (
        Column("What"),
        Column("There" if good else "Before", True),
        Column("Now", True),
        Column("Beside it" if good else "Change"),
        Column("Can it be trusted?"),
    )
    beside = "a car known to be good" if good else "the one before the repair"
    return Table(f"The last drive beside {beside} (ratings of 10, higher is better)", columns, rows)


def _change(material: Material, one: Change, good: bool) -> tuple[Cell, ...]:
    trust = _VERDICTS.get(one.verdict, "")
    if one.share is not None and one.difference:
        alike = "pairs of cars that are alike" if good else "pairs of drives of an unchanged car"
        trust += f": of 100 {alike} {of_100(one.share)} differ as much"
    return (
        Cell(complaint_words(material.library, one.complaint, one.side)),
        Cell(_short(one.before)),
        Cell(_short(one.after)),
        Cell(NAMES[one.change][good], _MARKS.get(one.change, "")),
        Cell(trust),
    )


def _short(figure: Figure | None) -> str:
    if figure is None:
        return "not driven"
    return {"rated": shown(figure.rating), "unrated": "felt", "silent": "nothing"}[figure.told]
