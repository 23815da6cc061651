"""The pages of a practice car: pure functions from what is known to what is shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.choice.cost import OVERHEAD, Cure, change_minutes
from diagnose.model.check import TALK, Check, Finding
from diagnose.model.library import Library
from diagnose.model.position import told_place
from diagnose.model.story import Seen
from diagnose.practice.attempt import Attempt
from diagnose.practice.compare import Comparison, Line
from diagnose.practice.exercise import LEVELS, Exercise
from diagnose.practice.record import (
    GOOD_CARS,
    LAST,
    Practised,
    Record,
    good_in_a_row,
    missed,
    next_level,
    progress,
)
from diagnose.screen.desk import Look
from diagnose.screen.narrow import ANY, NARROW, Table, keys_table
from diagnose.screen.prose import READABLE, labelled, paragraph
from diagnose.units import minutes, money, plain
from diagnose.words import of_100, place_name, work_name

__all__ = [
    "brought_page",
    "cause_words",
    "check_asked_page",
    "compared_page",
    "cure_asked_page",
    "help_page",
    "level_line",
    "progress_lines",
    "record_json",
    "record_page",
    "seen_page",
    "status_line",
    "step_page",
    "suspects_page",
    "where_page",
]

#: What can be typed, and what it does.
HELP = (
    ("1, 2, ...", "the checks at that place, to choose from"),
    ("Enter", "the checks that are left where the car is now"),
    ("words", "a check by its words, such as: rock the steering"),
    ("n WORDS", "name the cause, such as: n drop link left; it is put right and driven"),
    ("k", "what you have seen so far"),
    ("w", "a hint: who stands first so far; once more: what the program would do next"),
    ("l", "the places where you can look"),
    ("g", "give up: the car is handed on"),
    ("q", "stop; `diagnose practice` goes on with this car"),
)

#: Suspects that a hint tells.
SUSPECTS_TOLD = 3


def brought_page(exercise: Exercise, seed: int, asked_level: int, look: Look) -> RenderableType:
    """The car as it is brought: what it is, and what its driver says."""
    library, vehicle = exercise.car.car.library, exercise.car.car.vehicle
    dot = f" {look.dot} "
    facts = [
        f"{fact.id.replace('-', ' ')}: {value.name}"
        for fact in library.facts.values()
        for value in fact.values
        if value.id == vehicle.facts.get(fact.id)
    ]
    run = f"{vehicle.km or 0:,.0f} km".replace(",", " ")
    heard = exercise.heard[0]
    said = f'"{exercise.words}"' + (f", to the {heard.side}" if heard.side else "")
    lines: list[RenderableType] = [
        Text(f"Practice car{dot}level {exercise.level}: {LEVELS[exercise.level]}{dot}seed {seed}", "bold")
    ]
    if exercise.level != asked_level:
        lines.append(paragraph(f"No car of level {asked_level} was drawn; this one comes near.", look))
    lines += [
        paragraph("An invented car (demo) with hidden faults, drawn as the trees say they occur.", look),
        paragraph(
            "Find out for little money what is behind it: look where you like, then name the cause. It is "
            "put right, and the car is driven.",
            look,
        ),
        paragraph(dot.join([*facts, run, f"{plain(vehicle.years or 0)} years"]), look),
        paragraph(f"The driver says: {said}. ({library.complaints[heard.complaint].name})", look),
    ]
    return Group(*lines)


def status_line(attempt: Attempt, look: Look) -> Text:
    """What was spent so far, and where the car stands."""
    at, library = attempt.at, attempt.car.library
    count = len(at.done)
    spent = minutes(at.minutes) if at.minutes else "0 min"
    bits = [spent, f"{count} check{'s' if count != 1 else ''}", library.set_ups[at.set_up].name]
    if at.tried:
        vain = f", {money(at.wasted, attempt.exercise.workshop.currency)} in vain" if at.wasted else ""
        bits.insert(2, f"{at.tried} put right{vain}")
    if attempt.unfit:
        bits.append("not to be driven")
    return Text(f" {look.dot} ".join(bits), style="bold")


def where_page(rows: Sequence[tuple[str, int, float]], look: Look) -> RenderableType:
    """Where can be looked: set-up in words, how many checks there, minutes to get there."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=False)
    table.add_column(justify="right", style="bold")
    table.add_column()
    table.add_column(justify="right")
    table.add_column(style="dim")
    for number, (name, count, change) in enumerate(rows, start=1):
        get = f"{minutes(change)} to get there" if change else ""
        table.add_row(f"  {number}", name, f"{count} checks" if count != 1 else "1 check", get)
    return table


def help_page() -> RenderableType:
    """What can be typed."""
    return keys_table(HELP)


def check_asked_page(library: Library, check: Check, change: float, look: Look) -> RenderableType:
    """A check before it is done: what it takes, and its cautions."""
    cost = minutes(check.minutes + OVERHEAD) + (f" and {minutes(change)} to get there" if change else "")
    head = f"Ask the driver: {check.name.removeprefix('ask ')}" if check.set_up == TALK else check.name
    lines: list[RenderableType] = [
        Text(head, style="bold"),
        Text(f"  {library.set_ups[check.set_up].name} {look.dot} {cost}", style="dim"),
    ]
    lines += [labelled("Caution", library.cautions[each], look, "yellow") for each in check.cautions]
    lines.append(paragraph(check.how, look))
    if check.needs:
        lines.append(labelled("Needs", ", ".join(library.tools[each] for each in check.needs), look))
    return Group(*lines)


def seen_page(library: Library, seen: Sequence[Seen], look: Look) -> RenderableType:
    """What a check showed: findings in their words, readings with their numbers, and what was not seen."""
    there: dict[tuple[str, str], list[str]] = {}
    absent: dict[str, None] = {}
    read: dict[str, list[Seen]] = {}
    for each in seen:
        finding = library.findings[each.finding]
        if finding.reading is not None and each.reading is not None:
            read.setdefault(each.finding, []).append(each)
        elif each.answer == "no":
            absent.setdefault(_absent(finding))
        else:
            there.setdefault((each.finding, each.answer), []).append(place_name(each.position))
    lines = [line for name, some in read.items() for line in _readings(library.findings[name], some, look)]
    for (name, answer), places in there.items():
        finding = library.findings[name]
        grade = answer if finding.levels != ("yes",) else "" if finding.name else "yes"
        text = ": ".join(bit for bit in (finding.name, grade) if bit)
        where = " and ".join(place for place in places if place)
        lines.append(paragraph(f"{look.dot} {text}{', ' + where if where else ''}", look, 2, "bold"))
    none = [name for name in absent if not any(_absent(library.findings[key]) == name for key, _ in there)]
    asked = all(library.checks[each.check].set_up == TALK for each in seen)
    if none:
        not_ = "The driver says no" if asked else "not seen"
        first = "" if lines else f"{look.dot} "
        lines.append(paragraph(f"{first}{not_}: {'; '.join(none)}", look, 2, "dim" if lines else ""))
    return Group(*lines)


def _absent(finding: Finding) -> str:
    """What was not seen; where one of several grades was looked for, what is there instead."""
    if finding.name and finding.levels != ("yes",) and finding.none != "not seen":
        return f"{finding.name} ({finding.none})"
    return finding.name or finding.none


def _readings(finding: Finding, seen: Sequence[Seen], look: Look) -> list[RenderableType]:
    """The numbers of one finding, each with the band that it lies in; under them the limits."""
    assert finding.reading is not None
    told = "; ".join(f"{place_name(each.position)} {_number(finding, each)}".strip() for each in seen)
    limits = "; ".join(f"{_from(finding, limit.value)}: {limit.name}" for limit in finding.reading.limits)
    return [
        paragraph(f"{look.dot} {finding.name}: {told}", look, 2, "bold"),
        paragraph(limits, look, 4, "dim"),
    ]


def _number(finding: Finding, seen: Seen) -> str:
    """`4 N, inside`: the number and the band that it lies in."""
    assert finding.reading is not None and seen.reading is not None
    band = seen.answer if seen.answer != "no" else finding.reading.below
    return f"{seen.reading:g} {finding.reading.unit}, {band}"


def _from(finding: Finding, limit: float) -> str:
    """`from 5 N`, or `at or below`, as the reading counts."""
    assert finding.reading is not None
    word = "from" if finding.reading.direction == "over" else "at or below"
    return f"{word} {plain(limit)} {finding.reading.unit}"


def cure_asked_page(library: Library, cure: Cure, currency: str, look: Look) -> RenderableType:
    """A cure before it is carried out: what it takes, and its cautions."""
    remedy = library.remedies[cure.remedy]
    lines: list[RenderableType] = [
        paragraph(
            f"{_cure_name(library, cure)}: {money(cure.money, currency)}; then a drive where it harms nobody",
            look,
            0,
            "bold",
        )
    ]
    lines += [labelled("Caution", library.cautions[each], look, "yellow") for each in remedy.cautions]
    return Group(*lines)


def _cure_name(library: Library, cure: Cure) -> str:
    return work_name(library.remedies[cure.remedy].name, cure.place)


def suspects_page(attempt: Attempt, look: Look) -> RenderableType:
    """A hint: the suspects that stand first by what was told and seen so far."""
    belief = attempt.state.belief
    lines = [paragraph("By what was told and seen so far, to blame in so many of 100 such cars:", look, 0)]
    rows = [
        (float(belief.to_blame[n]), cause_words(attempt.exercise, n)) for n in belief.order()[:SUSPECTS_TOLD]
    ]
    for share, words in (*rows, (belief.outside, "something not listed here")):
        lines.append(paragraph(f"{of_100(share):>3}  {words}", look))
    lines.append(paragraph("w once more tells what the program would do next.", look, 0, "dim"))
    return Group(*lines)


def step_page(attempt: Attempt, look: Look) -> RenderableType:
    """A further hint: what the program would do next."""
    step, library = attempt.proposed(), attempt.car.library
    if step.check is not None:
        check = library.checks[step.check]
        change = change_minutes(library, check, attempt.at.set_up)
        return Group(
            paragraph("Next the program would:", look, 0), check_asked_page(library, check, change, look)
        )
    if step.cure is None:
        return paragraph("The program would look no further: it would hand the car on.", look, 0)
    name = _cure_name(library, attempt.exercise.cures.all[step.cure])
    return paragraph(f"The program would look no further, but {name}.", look, 0)


def cause_words(exercise: Exercise, number: int) -> str:
    """A cause in words: part, fault, place."""
    cause, library = exercise.car.car.causes[number], exercise.car.car.library
    fault = library.faults[cause.fault]
    where = told_place(fault.where, cause.position)
    return f"{library.parts[fault.part].name}: {fault.name}" + (f", {where}" if where else "")


def compared_page(exercise: Exercise, found: Comparison, look: Look, hints: int = 0) -> RenderableType:
    """The end: what it was, what it cost beside the program, the steps of both, and the telling check.

    hints: so many were asked for.
    """
    library, currency = exercise.car.car.library, exercise.workshop.currency
    mine, other = found.own, found.other
    lines: list[RenderableType] = [Text("")]
    title = "It was" if len(exercise.truth) == 1 else "It was, together"
    lines.append(labelled(title, "; ".join(cause_words(exercise, n) for n in sorted(exercise.truth)), look))
    lines.append(
        paragraph(
            f"By what the driver tells, its cure stands {_nth(exercise.rank)} among the suspects.", look
        )
    )
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for name in ("", "you", "the program"):
        table.add_column(name, justify="left" if not name else "right")
    for name, first, second in (
        ("  looking and driving", _time(mine.minutes), _time(other.minutes)),
        ("  checks", str(mine.checks), str(other.checks)),
        ("  put right", str(mine.tried), str(other.tried)),
        ("  parts fitted in vain", str(mine.wrong), str(other.wrong)),
        ("  complaint gone", _yes(mine.cured), _yes(other.cured)),
        *([("  hints", str(hints), "")] if hints else []),
        ("  cost", money(mine.money, currency), money(other.money, currency)),
    ):
        table.add_row(name, first, second)
    unsolved = money(exercise.cures.prices.unsolved, currency)
    lines += [
        table,
        paragraph(
            f"Cost: labour of looking and driving, work in vain, {unsolved} for a car handed on.",
            look,
            2,
            "dim",
        ),
        Text(""),
        _both(library, found, look),
        paragraph(
            "x: how much the check by itself raises the odds of the true fault, over the complaint alone.",
            look,
            2,
            "dim",
        ),
        labelled("Telling", _telling(library, found), look),
        *_why_telling(exercise, found, look),
        paragraph(_luck(found), look),
    ]
    return Group(*lines)


def _time(value: float) -> str:
    return minutes(value) if value else "0 min"


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _telling(library: Library, found: Comparison) -> str:
    if found.telling is None:
        return "no check of yours or the program's told much of the fault; this one was for patience."
    check = library.checks[found.telling]
    told = f"{check.name} ({library.set_ups[check.set_up].name}): {_factor(found.weight)} times the odds."
    if found.place is None:
        return f"{told} You did without it."
    return f"{told} It was your {_nth(found.place)} check."


def _why_telling(exercise: Exercise, found: Comparison, look: Look) -> list[RenderableType]:
    """What the telling check showed on this car, and what that made of the fault."""
    told = found.told
    if told is None or told.of is None:
        return []
    library = exercise.car.car.library
    return [
        paragraph("What it showed:", look),
        seen_page(library, told.seen, look),
        paragraph(
            f"That alone takes {cause_words(exercise, told.of)} from {of_100(told.before)} to "
            f"{of_100(told.after)} of 100 such cars.",
            look,
        ),
    ]


def _nth(number: int) -> str:
    words = {1: "first", 2: "second", 3: "third"}
    ends = {1: "st", 2: "nd", 3: "rd"}
    end = "th" if 10 < number % 100 < 14 else ends.get(number % 10, "th")
    return words.get(number, f"{number}{end}")


def _luck(found: Comparison) -> str:
    """Who came cheaper on this car, and what that is worth."""
    mine, other = found.own.money, found.other.money
    if mine < other:
        return "You came cheaper than the program. On one car that may be luck; over ten it is skill."
    if mine <= other * 1.5:
        return "You came close to the program on this car."
    ways = []
    if found.place is None and found.telling in {line.check for line in found.program}:
        ways.append("did the telling check")
    if _in_vain(found.mine) > _in_vain(found.program):
        ways.append("put less right in vain")
    because = f": it {' and '.join(ways)}" if ways else ""
    return f"The program came cheaper{because}. Look in its column for what you would not have done."


def _in_vain(lines: Sequence[Line]) -> int:
    return sum(line.cure is not None and not line.worn for line in lines)


def _factor(weight: float) -> str:
    factor = 10.0**weight
    return "over 1000" if factor > 1000.0 else f"{factor:.0f}" if factor >= 9.5 else f"{factor:.1f}"


def _both(library: Library, found: Comparison, look: Look) -> RenderableType:
    """The steps of both, side by side."""
    if look.width < NARROW:
        return _in_turn(library, found)
    width = (min(look.width, READABLE + 24) - 20) // 2
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), header_style="dim")
    table.add_column("", justify="right", style="dim", width=3)
    for name in ("you", "the program"):
        table.add_column(name, width=width, no_wrap=True)
        table.add_column("x", justify="right", width=6, no_wrap=True)
    for number in range(max(len(found.mine), len(found.program))):
        cells = [str(number + 1)]
        for line in (found.mine[number : number + 1], found.program[number : number + 1]):
            name, factor = _cells(library, line[0]) if line else ("", "")
            cells += [_cut(name, width), factor]
        table.add_row(*cells)
    return table


def _in_turn(library: Library, found: Comparison) -> RenderableType:
    """The steps of one, then those of the other."""
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), show_header=False)
    for _ in range(3):
        table.add_column()
    for who, lines in (("you", found.mine), ("the program", found.program)):
        for number, line in enumerate(lines, start=1):
            name, factor = _cells(library, line)
            table.add_row(f"{who} {number}", name, f"x {factor}" if factor else "")
    return table


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 2].rstrip() + ".."


def _cells(library: Library, line: Line) -> tuple[str, str]:
    if line.cure is not None:
        end = "gone" if line.gone else "still there" if line.worn else "in vain"
        return f"{end}: {_cure_name(library, line.cure)}", ""
    return library.checks[line.check or ""].name, _short_factor(line.weight)


def _short_factor(weight: float) -> str:
    factor = 10.0**weight
    if factor > 999.0 or factor < 0.05:
        return ">999" if factor > 1.0 else "<0.1"
    return f"{factor:.0f}" if factor >= 9.5 else f"{factor:.1f}"


def record_page(record: Record, library: Library, look: Look) -> RenderableType:
    """The cars practised, the last ones first, and what they come to."""
    if not record.cars:
        return paragraph("No car has been brought to its end yet: `diagnose practice` begins one.", look, 0)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("car", justify="right")
    table.add_column("level", justify="right")
    width = max(min(look.width, READABLE) - 54, 14) if look.width >= NARROW else ANY
    table.add_column("complaint", width=None if width == ANY else width, no_wrap=True)
    for name in ("min", "program", "in vain", "cost x", "cured"):
        table.add_column(name, justify="right", no_wrap=True)
    for each in reversed(record.cars[-10:]):
        known = library.complaints.get(each.complaint)
        table.add_row(
            str(each.number),
            str(each.level),
            _cut(known.name if known else each.complaint, width),
            f"{each.minutes:.0f}",
            f"{each.program_minutes:.0f}",
            str(each.wrong),
            f"{each.dearer:.1f}",
            "at once" if each.first else _yes(each.cured),
        )
    lines: list[RenderableType] = [table, Text("")]
    lines += [paragraph(text, look, 0) for text in (*progress_lines(record.cars), level_line(record.cars))]
    if record.unreadable:
        lines.append(
            paragraph(f"Left out: {_count(record.unreadable, 'line')} that cannot be read.", look, 0)
        )
    return Group(*lines)


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'s' * (number != 1)}"


def progress_lines(cars: Sequence[Practised]) -> list[str]:
    """The last cars in words, and those before them."""
    found = []
    for name, some in (("last", cars[-LAST:]), ("before", cars[-2 * LAST : -LAST])):
        sums = progress(some)
        if sums is None:
            continue
        count = "first car" if sums.cars == 1 else f"{sums.cars} cars"
        which = "Before that" if name == "before" else "Your last" if sums.cars > 1 else "Your"
        vain, told = _count(sums.wrong, "part"), _count(sums.telling, "time")
        found.append(
            f"{which} {count}: {sums.cured} cured, {sums.first} at the first fitting; {vain} in vain; "
            f"telling check done {told}; cost {sums.dearer:.1f} times the program's (median)."
        )
    return found


def level_line(cars: Sequence[Practised]) -> str:
    """How far it is to the next level, after a car; cars: all, this one last."""
    level, then, good = cars[-1].level, next_level(cars), good_in_a_row(cars)
    if then > level:
        return f"{GOOD_CARS} good cars in a row: the next car is of level {then}."
    reason = missed(cars[-1])
    so = f"Not a good one: {reason}." if reason else "A good one."
    if level == max(LEVELS):
        return f"{so} {good} in a row on the highest level."
    return f"{so} {GOOD_CARS} good ones in a row open level {level + 1}; so far {good}."


def record_json(record: Record) -> dict[str, Any]:
    """The record as plain values."""
    last, earlier = progress(record.cars[-LAST:]), progress(record.cars[-2 * LAST : -LAST])
    return {
        "cars": [asdict(each) for each in record.cars],
        "last": None if last is None else asdict(last),
        "before": None if earlier is None else asdict(earlier),
        "open": None if record.open is None else record.open.number,
        "unreadable": record.unreadable,
    }
