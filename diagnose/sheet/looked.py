"""What was looked at: each check with what was seen, and every reading against its limits."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model.check import Finding, Limit
from diagnose.model.story import Seen
from diagnose.sheet.material import Material
from diagnose.sheet.naming import at
from diagnose.sheet.page import Block, Cell, Column, Listed, Mark, Paragraph, Section, Table
from diagnose.units import plain
from diagnose.words import place_name

__all__ = ["checks", "owner_checks"]

#: Answers that say that nothing was seen, and that leave it open.
_NOTHING = frozenset({"no", "probably-not"})
_OPEN = frozenset({"cannot-tell"})

#: How an answer stands behind a finding; a plain yes needs no word.
_WORDS = {"yes": "", "probably": "probably", "cannot-tell": "cannot tell", "probably-not": "probably not"}


def _rounds(material: Material) -> Iterator[tuple[str, tuple[Seen, ...]]]:
    """What was seen of the car as it was brought, and after each repair; wheel angles stand by themselves."""
    story, number = material.session.story, 0
    told = [("as it was brought", story.seen)]
    for one in story.rounds:
        number += not one.later
        told.append((f"after repair {number}" + (", later" if one.later else ""), one.seen))
    for when, seen in told:
        yield when, tuple(each for each in seen if each.check not in material.angle_checks)


def checks(material: Material) -> Section | None:
    """Every check with what was seen, then the readings; None if nothing was looked at."""
    blocks: list[Block] = []
    for when, seen in _rounds(material):
        if seen:
            caption = "Checks done" + (f", {when}" if material.session.story.rounds else "")
            blocks.append(_table(material, caption, seen))
    if not blocks:
        return None
    below = readings(material)
    return Section("checks", "What was looked at", tuple(blocks), (below,) if below else ())


def _table(material: Material, caption: str, seen: tuple[Seen, ...]) -> Table:
    library = material.library
    rows = []
    for check in dict.fromkeys(each.check for each in seen):
        mine = [each for each in seen if each.check == check]
        found = [
            _words(material, each)
            for each in mine
            if each.answer not in _NOTHING | _OPEN and not _none(material, each)
        ]
        not_ = [each for each in mine if each.answer in _NOTHING or _none(material, each)]
        open_ = [_words(material, each) for each in mine if each.answer in _OPEN]
        rows.append(
            (
                Cell(library.checks[check].name),
                Cell("; ".join([*found, *open_]) or "nothing", "" if found else "quiet"),
                Cell("; ".join(_grouped(material, not_)), "quiet"),
            )
        )
    columns = (Column("Check"), Column("Seen"), Column("Looked for, not seen"))
    return Table(caption, columns, tuple(rows))


def _none(material: Material, seen: Seen) -> bool:
    """True for the lowest grade or band, that of nothing seen."""
    finding = material.library.findings[seen.finding]
    return seen.answer == finding.none or (
        finding.reading is not None and seen.answer == finding.reading.below
    )


def _words(material: Material, seen: Seen) -> str:
    """`play felt in the joint, front right: 5 mm (past the limit)`."""
    finding = material.library.findings[seen.finding]
    word = _WORDS.get(seen.answer, seen.answer)
    if seen.reading is not None and finding.reading is not None:
        word = f"{plain(seen.reading)} {finding.reading.unit}" + (f" ({word})" if word else "")
    return finding.name + at(seen.position) + (f": {word}" if word else "")


def _grouped(material: Material, seen: list[Seen]) -> Iterator[str]:
    """The findings not seen, each once, with its places where it was not seen at some only."""
    for name in dict.fromkeys(each.finding for each in seen):
        mine = [each for each in seen if each.finding == name]
        places = " and ".join(place_name(each.position) for each in mine if place_name(each.position))
        unsure = ", probably" if all(each.answer == "probably-not" for each in mine) else ""
        finding = material.library.findings[name]
        figures = [
            f"{plain(each.reading)} {finding.reading.unit}"
            for each in mine
            if each.reading is not None and finding.reading
        ]
        told = f" ({', '.join(figures)})" if figures else ""
        if finding.reading is None and finding.levels != ("yes",) and finding.none != "not seen":
            # Of several grades none was seen: that has a name of its own, such as `none of them`.
            told = f": {finding.none}"
        yield finding.name + (f", {places}" if places else "") + unsure + told


# Readings -----------------------------------------------------------------------------------------------


def readings(material: Material) -> Section | None:
    """Every reading beside both its limits; None if nothing was measured."""
    rows, sources = [], dict[str, None]()
    for when, seen in _rounds(material):
        for each in seen:
            finding = material.library.findings[each.finding]
            if each.reading is None or finding.reading is None:
                continue
            rows.append(_reading(finding, each, when if material.session.story.rounds else ""))
            for limit in finding.reading.limits:
                sources.update(dict.fromkeys(limit.source))
    if not rows:
        return None
    table = Table(
        "Readings against both limits",
        (
            Column("What"),
            Column("Reading", True),
            Column("Tighter limit: felt, or worn"),
            Column("Wider limit: refused"),
            Column("So it is"),
        ),
        tuple(rows),
    )
    named = [material.library.sources[s].name if s in material.library.sources else s for s in sources]
    text = (
        "Inside the wider limit and outside the tighter one is a result of its own: an inspection lets "
        "it pass, "
        "and it can be felt all the same. The maker's figures for this car come first."
    )
    return Section(
        "readings",
        "Readings against the limits",
        (table, Paragraph(text, "small"), Paragraph(f"Limits: {'; '.join(named)}.", "small")),
    )


def _reading(finding: Finding, seen: Seen, when: str) -> tuple[Cell, ...]:
    reading = finding.reading
    assert reading is not None and seen.reading is not None
    level = reading.level(seen.reading)
    tighter, wider = _limits(reading.limits)
    mark: Mark = "good"
    if level:
        mark = "bad" if wider is not None and level >= len(reading.limits) else "near"
    band = reading.limits[level - 1].name if level else reading.below
    what = finding.name + at(seen.position) + (f" ({when})" if when else "")
    unit, over = reading.unit, reading.direction == "over"
    return (
        Cell(what),
        Cell(f"{plain(seen.reading)} {unit}"),
        Cell(_limit(tighter, unit, over)),
        Cell(_limit(wider, unit, over)),
        Cell(band, mark),
    )


def _limits(limits: tuple[Limit, ...]) -> tuple[Limit | None, Limit | None]:
    """The tighter and the wider of two limits; one alone is the wider where its name says that it refuses."""
    if len(limits) > 1:
        return limits[0], limits[-1]
    refuses = any(word in limits[0].name for word in ("inspection", "legal", "maker", "published"))
    return (None, limits[0]) if refuses else (limits[0], None)


def _limit(limit: Limit | None, unit: str, over: bool) -> str:
    if limit is None:
        return ""
    return f"{'from' if over else 'at or below'} {plain(limit.value)} {unit}"


# The owner ----------------------------------------------------------------------------------------------


def owner_checks(material: Material) -> Section | None:
    """What was found, without what was not; None if nothing was looked at."""
    found = []
    for when, seen in _rounds(material):
        later = f" ({when})" if material.session.story.rounds else ""
        found += [
            _words(material, each) + later
            for each in seen
            if each.answer not in _NOTHING | _OPEN and not _none(material, each)
        ]
    if not any(seen for _, seen in _rounds(material)):
        return None
    if not found:
        return Section("checks", "What we found", (Paragraph("Nothing was seen in the checks done."),))
    return Section("checks", "What we found", (Paragraph("Seen in the checks done:"), Listed(tuple(found))))
