"""What a job proves, as a page: before and after, what made the difference, and what it is for the owner."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from diagnose.angles.show import Shown
from diagnose.debrief.as_json import change_json
from diagnose.debrief.compare import Change
from diagnose.job.proof import CURED, AnglePair, Proof, Share
from diagnose.job.repairs import Standing
from diagnose.job.session import Session
from diagnose.model.library import Library
from diagnose.model.story import FADED, Seen
from diagnose.screen.debrief import complaint_words, short_figure
from diagnose.screen.desk import Look, clean
from diagnose.screen.pages import labelled, paragraph
from diagnose.units import money, plain
from diagnose.words import likelihood, of_100, place_name

__all__ = ["before_and_after", "elapsed", "for_the_owner", "proof_json", "share_lines"]

#: Words by which a complaint is gone, or there.
GONE = frozenset({"no", "probably-not"})
THERE = frozenset({"yes", "probably", FADED})

#: How a verdict about two ratings is told in few words.
SCATTER = {
    "clear": "more than a driver's usual scatter",
    "perhaps": "may be a driver's scatter",
    "scatter": "no more than a driver's usual scatter",
}

#: How an answer after a repair is told.
SAID = {
    "yes": "still there",
    "probably": "probably still there",
    FADED: "faded, and still there",
    "cannot-tell": "could not be told",
    "probably-not": "probably gone",
    "no": "gone",
}


def elapsed(one: Standing) -> str:
    """`5 days, 300 km after`."""
    bits = [f"{plain(one.days)} day{'' if one.days == 1 else 's'}"] if one.days is not None else []
    bits += [f"{plain(one.km)} km"] if one.km is not None else []
    return ", ".join(bits) + " after"


# Before and after ------------------------------------------------------------------------------------


def before_and_after(
    session: Session, proof: Proof, look: Look, drives: bool = True
) -> Iterator[RenderableType]:
    """Readings, wheel angles and, if wanted, drives of before beside those of after."""
    compared = proof.drives if drives else ()
    lines = [_reading(session.library, *pair) for pair in proof.readings]
    lines += _angle_lines(session, proof.angles, look)
    if lines or compared:
        yield Text("Before and after", style="bold")
    for line in lines:
        yield paragraph(line, look)
    for one in compared:
        beside = "Beside the car known to be good" if one.of == "good-car" else "On the drives"
        told = " to ".join(each for each in (clean(one.other.when), clean(one.latest.when)) if each)
        if not one.changes:
            yield labelled(beside, "nothing was noticed that could be compared", look)
            continue
        yield paragraph(f"{beside}{f' ({told})' if told and one.of == 'before' else ''}:", look)
        for change in one.changes:
            yield paragraph(_change(session.library, change, one.of == "good-car"), look, 4)


def _reading(library: Library, before: Seen, after: Seen) -> str:
    finding = library.findings[before.finding]
    place = place_name(before.position)
    name = finding.name or library.checks[finding.check].name
    return (
        f"{name}{', ' + place if place else ''}: {_told(library, before)} before, {_told(library, after)} now"
    )


def _told(library: Library, seen: Seen) -> str:
    finding = library.findings[seen.finding]
    word = {"yes": "seen", "no": "not seen"}.get(seen.answer, seen.answer.replace("-", " "))
    if seen.reading is None or finding.reading is None:
        return word
    return f"{plain(seen.reading)} {finding.reading.unit} ({word})"


def _angle_lines(session: Session, pairs: Sequence[AnglePair], look: Look) -> list[str]:
    from diagnose.screen.angle_words import spot_name
    from diagnose.screen.angles import shown_for

    shown: Shown = shown_for(session.sheets, look)

    def side(value: float | None, angle: str, verdict: str) -> str:
        return f"{shown.value(value or 0.0, angle.removeprefix('cross-'))} ({verdict})"

    return [
        f"{spot_name(one.spot)}: {side(one.before.value, one.spot.angle, one.before.verdict)} before, "
        f"{side(one.after.value, one.spot.angle, one.after.verdict)} now"
        for one in pairs
    ]


def _change(library: Library, one: Change, reference: bool) -> str:
    name = complaint_words(library, one.complaint, one.side)
    there = "there" if reference else "before"
    figures = f"{short_figure(one.before)} {there}, {short_figure(one.after)} now"
    if one.change == "not-driven":
        return f"{name}: {figures}; a leg that shows it was not driven on both, nobody can tell"
    if one.share is None or not one.difference:
        return f"{name}: {figures}; alike"
    of = "cars that are alike" if reference else "drives of an unchanged car"
    return (
        f"{name}: {figures}; {SCATTER[one.verdict]} ({of_100(one.share)} of 100 pairs of {of} differ as much)"
    )


# Proof -----------------------------------------------------------------------------------------------


def share_lines(proof: Proof, look: Look) -> Iterator[RenderableType]:
    """How sure the cure is, and how that divides."""
    share, last = proof.share, proof.last
    good = share.for_good
    if share.left > 0.5:
        gone = {answer for _, answer in last.answers} <= GONE
        label, still = ("Not proven", "still there") if gone else ("Not cured", "there")
        yield labelled(label, f"the complaint is {still} in {of_100(share.left)} of 100 such jobs", look)
        if share.left <= 0.98:
            yield paragraph(f"Of 100 such jobs: {_divided(share, last)}", look, 4)
        return
    yield labelled(
        "Cured for good",
        f"in {of_100(good)} of 100 such jobs ({likelihood(good)}) the repairs ended the complaint, and what "
        "was fitted holds" + ("" if good >= CURED else _still_open(proof)),
        look,
        "green" if good >= CURED else "",
    )
    yield paragraph(f"Of 100 such jobs: {_divided(share, last)}", look, 4)
    best = max(range(len(share.rounds)), key=lambda n: share.rounds[n])
    if len(share.rounds) > 1 and share.rounds[best] > 0.05:
        # Only repairs are numbered on the page, not the later times.
        numbers = accumulate(int(not one.later) for one in proof.standings[1:])
        parts = [
            f"round {number} in {of_100(p)}"
            for number, p in zip(numbers, share.rounds, strict=True)
            if p > 0.02
        ]
        yield paragraph(f"What ended it: {', '.join(parts)}.", look, 4)


def _divided(share: Share, last: Standing) -> str:
    said = {answer for _, answer in last.answers}
    missed = ""
    if said and said <= GONE:
        missed = "missed on the drive" if last.later else "missed on the drive, or away for a while"
    parts = [
        f"{of_100(share.owed)} ended by the repairs",
        f"{of_100(share.never)} never there, or gone by itself",
        f"{of_100(share.left)} still there" + (f" ({missed})" if missed else ""),
    ]
    fails = share.owed * (1.0 - share.holds)
    return "; ".join(parts) + (
        f". What was fitted may fail early in {of_100(fails)}." if fails > 0.005 else "."
    )


def _still_open(proof: Proof) -> str:
    """What would make it surer, in words behind the figure."""
    last = proof.last
    said = {answer for _, answer in last.answers}
    if last.later or not said <= GONE:
        return ""
    return "; drive it again after some days (`--after-days`)"


# The owner -------------------------------------------------------------------------------------------


def for_the_owner(session: Session, proof: Proof, look: Look) -> Iterator[RenderableType]:
    """What was paid, and what has changed for it, in plain words."""
    currency, last = session.verdict.workshop.currency, proof.last
    yield Text("For the owner", style="bold")
    if last.spent is None:
        yield paragraph("What it cost was not told.", look)
    else:
        bits = [f"parts {money(last.parts, currency)}"] if last.parts else []
        bits += [f"{plain(round(last.hours, 2))} hours of work"] if last.hours else []
        yield paragraph(
            f"Spent so far: {money(last.spent, currency)} ({', '.join(bits) or 'nothing'}).", look
        )
    for text in _changed(session, proof):
        yield paragraph(text, look)


def _changed(session: Session, proof: Proof) -> Iterator[str]:
    """What is otherwise than before; honest where nothing is."""
    last, good = proof.last, proof.share.for_good
    said = [answer for _, answer in last.answers]
    names = {each: session.library.complaints[each].name for each in session.verdict.car.complaints}
    gone_once = any(answer in GONE for one in proof.standings[1:-1] for _, answer in one.answers)
    for complaint, answer in last.answers:
        again = gone_once and answer in ("yes", "probably") and last.later
        word = "was gone, and is back" if again else SAID.get(answer, answer)
        when = f" ({elapsed(last)} the repair)" if last.later and (last.days or last.km) else ""
        yield f"{names.get(complaint, complaint)}: {word}{when}."
    if not last.driven:
        yield "Nobody has driven it since the last repair: whether anything has changed is not known."
        return
    better = [
        f"{complaint_words(session.library, one.complaint, one.side)}"
        for each in proof.drives
        if each.of == "before"
        for one in each.changes
        if one.change in ("better", "gone") and one.verdict == "clear"
    ]
    mended = [one for one in proof.angles if one.before.verdict == "out" and one.after.verdict == "in"]
    if all(answer in ("yes", "probably") for answer in said) and not gone_once:
        if better:
            yield f"Felt less than before, by the ratings: {', '.join(better)}."
        elif mended:
            yield "On the drive nothing has changed. Wheel angles that were out are in now: that saves tyres."
        else:
            yield "On the drive nothing has changed" + (" for that money." if last.spent else ".")
        yield "What was renewed is ruled out, as far as the new part is good: the search is shorter."
    elif good >= CURED:
        yield f"That it is cured for good, and by this work, is {likelihood(good)} ({of_100(good)} of 100)."
    elif all(answer in GONE for answer in said):
        yield (
            f"That it is cured for good, and by this work, is {likelihood(good)} ({of_100(good)} of 100): "
            "not proven yet." + ("" if last.later else " Some days of driving will tell.")
        )
    if any(answer in THERE for answer in said) and proof.share.left < 0.5:
        yield "All that was told before speaks against this word: drive it once more before more is done."
    elif not all(answer in GONE for answer in said):
        yield from _next_cost(session)


def _next_cost(session: Session) -> Iterator[str]:
    verdict = session.verdict
    if verdict.next is not None:
        check = session.library.checks[verdict.next.check]
        yield f"Next: {check.name}, {round(verdict.next.minutes)} min, before more money is spent on parts."
        return
    steps = verdict.conclusion.steps
    if steps:
        cure, remedy, *_ = steps[0]
        price = money(cure.money, verdict.workshop.currency)
        yield f"Next stage: {remedy.name}, about {price} with what must follow it."


# Plain values ----------------------------------------------------------------------------------------


def proof_json(session: Session, proof: Proof) -> dict[str, Any]:
    """All of it as plain values; docs/json.md describes every key."""
    share, last = proof.share, proof.last
    return {
        "ended-by-repairs": share.owed,
        "never-there": share.never,
        "still-there": share.left,
        "holds": share.holds,
        "for-good": share.for_good,
        "ended-in-round": list(share.rounds),
        "readings": [
            {
                "finding": before.finding,
                "position": before.position,
                "before": {"answer": before.answer, "reading": before.reading},
                "now": {"answer": after.answer, "reading": after.reading},
            }
            for before, after in proof.readings
        ],
        "angles": [
            {
                "axle": one.spot.axle,
                "side": one.spot.side,
                "angle": one.spot.angle,
                "before": {"value": one.before.value, "verdict": one.before.verdict},
                "now": {"value": one.after.value, "verdict": one.after.verdict},
            }
            for one in proof.angles
        ],
        "drives": [
            {"of": one.of, "changes": [change_json(change) for change in one.changes]} for one in proof.drives
        ],
        "spent": last.spent,
        "parts": last.parts,
        "hours": last.hours,
        "owner": list(_changed(session, proof)),
    }
