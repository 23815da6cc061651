"""What is behind the complaint: the ranking, and how it moved answer by answer."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.job import events as e
from diagnose.screen.pages import cause_name, observation_name
from diagnose.screen.repairs import repair_name
from diagnose.sheet.material import Material, Then
from diagnose.sheet.page import Block, Cell, Column, Figure, Notice, Paragraph, Section, Table
from diagnose.sheet.path import ruled_out
from diagnose.sheet.pictures import Line, Lines
from diagnose.units import minutes
from diagnose.words import likelihood, of_100

__all__ = ["causes", "movement", "owner_causes"]

#: Causes of the table, at most, and the blame below which they are not worth a row.
ROWS, LEAST = 10, 0.01

#: Causes that the owner is told to be as good as ruled out, by name.
OUT_NAMED = 6

#: Lines of the picture, "something not listed here" among them.
LINES = 5

OUTSIDE = "something not listed here"


def causes(material: Material) -> Section:
    """The ranking now, with what would settle each cause; then how it came about."""
    verdict, library = material.verdict, material.library
    rows = []
    for row in [row for row in verdict.rows if row.to_blame >= LEAST][:ROWS]:
        settles = (
            f"{library.checks[row.settles].name} ({minutes(row.settle_minutes or 0.0)})"
            if row.settles
            else ""
        )
        rows.append(
            (
                Cell(cause_name(row)),
                Cell(of_100(row.to_blame), share=row.to_blame),
                Cell(of_100(row.probability)),
                Cell(of_100(row.prior)),
                Cell(settles),
            )
        )
    outside = verdict.belief.outside
    rows.append((Cell(OUTSIDE), Cell(of_100(outside), share=outside), Cell(""), Cell(""), Cell("")))
    table = Table(
        "Of 100 such cars with these answers",
        (
            Column("Cause"),
            Column("To blame", True),
            Column("There", True),
            Column("Before any answer", True),
            Column("What would settle it"),
        ),
        tuple(rows),
    )
    meaning = (
        "To blame: the fault is there and leads to the complaint. There: it is present, felt or not. Several "
        "may be to blame at once, so the figures need not add up to 100."
    )
    blocks: list[Block] = [table, Paragraph(meaning, "small"), *_doubts(material)]
    below = (movement(material),) if len(material.history) > 1 else ()
    return Section("causes", "What is behind it", tuple(blocks), below)


def _doubts(material: Material) -> Iterator[Block]:
    """Answers that do not fit together, and a first place that hangs on a hair."""
    verdict = material.verdict
    if verdict.conflict is not None:
        name = observation_name(material.library, verdict.belief.observations[verdict.conflict.suspect][0])
        yield Notice("note", "These answers do not fit together", (f"Look at this one again: {name}.",))
    if verdict.close_call:
        names = "; ".join(cause_name(row) for row in verdict.close_call[:3])
        yield Paragraph(f"Close call: within the error of the figures these may stand first: {names}.")


def owner_causes(material: Material) -> Section:
    """The leading causes in few words, with a bar each."""
    verdict = material.verdict
    rows = [
        (
            Cell(cause_name(row)),
            Cell(of_100(row.to_blame), share=row.to_blame),
            Cell(likelihood(row.to_blame)),
        )
        for row in verdict.rows[:4]
        if row.to_blame >= LEAST
    ]
    outside = verdict.belief.outside
    rows.append((Cell(OUTSIDE), Cell(of_100(outside), share=outside), Cell(likelihood(outside))))
    table = Table(
        "What is behind it in so many of 100 such cars",
        (Column("Cause"), Column("Of 100", True), Column("In words")),
        tuple(rows),
    )
    blocks: list[Block] = [table]
    if fallen := ruled_out(material):
        more = f"; and {len(fallen) - OUT_NAMED} more" if len(fallen) > OUT_NAMED else ""
        blocks.append(
            Paragraph(f"Looked into, and as good as ruled out: {'; '.join(fallen[:OUT_NAMED])}{more}.")
        )
    return Section("causes", "What we think is behind it", tuple(blocks))


# Over the answers ---------------------------------------------------------------------------------------


def movement(material: Material) -> Section:
    """The picture of the leading causes over the answers, and what stood first after each."""
    history = material.history
    points = tuple(_told(material, then) for then in history)
    lines = _lines(material)
    lines.append(Line(OUTSIDE, tuple(then.belief.outside for then in history)))
    rises = "; ".join(
        f"{line.name}: {of_100(next((v for v in line.values if v is not None), 0.0))} at first, "
        f"{of_100(line.last)} now"
        for line in lines
    )
    picture = Lines(
        "How likely the leading causes were to blame, answer by answer",
        f"Of 100 such cars. {rises}.",
        points,
        tuple(lines),
    )
    rows = []
    for number, (then, point) in enumerate(zip(history, points, strict=True), start=1):
        first = max(then.blame, key=lambda cause: (then.blame[cause], cause), default=None)
        rows.append(
            (
                Cell(str(number)),
                Cell(point),
                Cell(material.cause(first) if first is not None else ""),
                Cell(
                    of_100(then.blame[first]) if first is not None else "", share=then.blame.get(first or "")
                ),
            )
        )
    table = Table(
        "What was told, and which cause was then most to blame",
        (Column("Answer"), Column("What was told"), Column("Then first"), Column("Of 100", True)),
        tuple(rows),
    )
    return Section(
        "movement", "How the answers moved it", (Figure(picture, "Every line is named at its end."), table)
    )


def _lines(material: Material) -> list[Line]:
    """The causes of the picture: the first of now, then those that once stood highest; in the order of now.

    Mates that stood alike all the time share a line.
    """
    history = material.history
    now = history[-1].blame
    drawn: dict[tuple[str, tuple[float, ...]], list[str]] = {}
    for cause in now:
        values = tuple(then.blame.get(cause, 0.0) for then in history)
        alike = tuple(round(value, 2) for value in values)
        drawn.setdefault((material.fault(cause), alike), []).append(cause)
    peak = {mates[0]: max(alike) for (_, alike), mates in drawn.items()}
    first = sorted(peak, key=lambda cause: (-now[cause], cause))[: LINES - 3]
    rest = sorted((c for c in peak if c not in first), key=lambda cause: (-peak[cause], cause))
    chosen = [*first, *rest[: LINES - 1 - len(first)]]
    mates_of = {mates[0]: mates for mates in drawn.values()}
    return [
        Line(
            " and ".join([material.cause(cause), *(material.place(each) for each in mates_of[cause][1:])]),
            tuple(then.blame.get(cause) for then in history),
        )
        for cause in sorted(chosen, key=lambda cause: (-now[cause], cause))
    ]


def _told(material: Material, then: Then) -> str:
    """What one step told, in a few words."""
    library, told = material.library, list[str]()
    for event in sorted(then.moment.events, key=lambda each: not isinstance(each, e.AnglesRead)):
        if isinstance(event, e.ComplaintHeard):
            who = "driver" if event.by == "driver" else "road test"
            known = library.complaints.get(event.complaint)
            name = known.name if known else event.complaint
            told.append(
                f"{who}: {name}" + ("" if event.answer == "yes" else f", {event.answer.replace('-', ' ')}")
            )
        elif isinstance(event, e.FeltSince):
            known = library.complaints.get(event.complaint)
            name = known.name if known else event.complaint
            told.append(f"on the drive since: {name}, {event.answer.replace('-', ' ')}")
        elif isinstance(event, e.Repaired):
            told.append(f"done: {repair_name(library, event)}")
        elif isinstance(event, e.Answered):
            check = library.checks.get(event.finding.partition("/")[0])
            told.append(check.name if check else event.finding)
        elif isinstance(event, e.AnglesRead):
            return "wheel angles measured"
    told = told or [then.moment.events[0].kind.replace("-", " ")]
    return "; ".join(dict.fromkeys(told))
