"""A drive and two drives beside each other: every mark has a word beside it, nothing hangs on colour."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.debrief.compare import Change, Figure
from diagnose.debrief.drive import REFERENCES, Drive, Impression, Leg, speed_words
from diagnose.debrief.route import ROUTE
from diagnose.debrief.scale import rating_words, scale_lines, shown
from diagnose.debrief.shows import is_control
from diagnose.model.library import Library
from diagnose.screen.desk import Look, clean
from diagnose.screen.narrow import NARROW
from diagnose.screen.prose import READABLE, labelled, paragraph
from diagnose.words import of_100

__all__ = ["changes_page", "complaint_words", "drive_page", "scale_page", "short_figure", "strength_words"]

#: How a change is called beside the drive before, and beside a car known to be good.
NAMES = {
    "new": ("new", "only here"),
    "gone": ("gone", "only there"),
    "better": ("better", "better"),
    "worse": ("worse", "worse"),
    "unchanged": ("unchanged", "alike"),
    "not-driven": ("not driven", "not driven"),
}
STYLES = {"new": "red", "worse": "red", "gone": "green", "better": "green", "not-driven": "yellow"}


def _hung(first: str, text: str, look: Look, style: str = "") -> Text:
    """A paragraph that hangs behind its first columns; in a narrow window it stands below them."""
    width = max(min(look.width, READABLE), 40)
    below = look.width < NARROW
    pad = " " * (4 if below else len(first))
    lines = textwrap.wrap(clean(text), width - len(pad)) or [""]
    body = Text(first.rstrip() + "\n" + pad if below else first)
    body.append(f"\n{pad}".join(lines))
    if style:
        body.stylize(style, 0, len(first))
    return body


def complaint_words(library: Library, complaint: str | None, side: str | None = None) -> str:
    """`Pulls or drifts to one side (left)`."""
    if complaint is None:
        return "no complaint of the trees"
    known = library.complaints.get(complaint)
    return (known.name if known else complaint) + (f" ({side})" if side else "")


def strength_words(one: Impression) -> str:
    """`6.5 some to moderate`, `felt: probably`, `not rated`."""
    if one.rating is not None:
        return f"{shown(one.rating)} {rating_words(one.rating, is_control(one.complaint))}"
    return f"felt: {one.felt.replace('-', ' ')}" if one.felt else "not rated"


def scale_page(look: Look) -> Text:
    """The ten-point scale with both sorts of words."""
    width = max(min(look.width, READABLE), 40) - 2
    lines = [line for control in (False, True) for line in scale_lines(width, control)]
    return Text("\n".join("  " + line for line in lines), style="dim")


def drive_page(library: Library, drive: Drive, look: Look) -> RenderableType:
    """The head of a drive, then leg by leg what was noticed, and what was not driven."""
    lines: list[RenderableType] = list(_head(drive, look))
    for leg in drive.legs:
        if leg.noticed:
            lines.append(paragraph(_leg(leg), look, 0, "bold"))
            for one in leg.noticed:
                lines += _impression(library, one, look)
    quiet = [_leg(leg) for leg in drive.legs if not leg.noticed]
    if quiet:
        lines.append(labelled("Nothing noticed", "; ".join(quiet), look))
    away = [kind.name for kind in ROUTE.values() if kind.id not in drive.kinds]
    if away:
        lines.append(labelled("Not driven", ", ".join(away), look))
    return Group(*lines)


def _head(drive: Drive, look: Look) -> Iterator[Text]:
    yield Text(clean(drive.car) or "a car without a name", style="bold")
    km = f"{drive.km:,.0f} km".replace(",", " ") if drive.km is not None else ""
    who = f"driven by {drive.who}" if drive.who else ""
    first = [drive.when, who, km, drive.load]
    pressures = {"set": "tyre pressures set", "not-set": "tyre pressures not set"}
    road = "" if drive.road == "unknown" else f"road {drive.road}"
    second = [
        pressures.get(drive.pressures, "tyre pressures not known"),
        road,
        drive.weather,
        REFERENCES[drive.reference],
    ]
    for bits in (first, second):
        if any(bits):
            yield paragraph(f" {look.dot} ".join(bit for bit in bits if bit), look, 0)


def _leg(leg: Leg) -> str:
    """`straight fast road, 80-120 km/h`, and what was otherwise than usual."""
    told = f"{leg.what.name}, {speed_words(leg.low, leg.high)}"
    if leg.surface != leg.usual.surface:
        told += f", {leg.surface}"
    if leg.manoeuvre != leg.usual.manoeuvre:
        told += f", {leg.manoeuvre}"
    return told


def _impression(library: Library, one: Impression, look: Look) -> Iterator[Text]:
    strength = strength_words(one)
    said = complaint_words(library, one.complaint, one.side)
    if one.words:
        said += f': "{one.words}"'
    if one.began:
        said += f"; began: {one.began}"
    yield _hung(f"  {strength:<24} ", said, look)


# Two drives ------------------------------------------------------------------------------------------


def changes_page(
    library: Library, changes: Sequence[Change], other: Drive, look: Look, reference: bool = False
) -> RenderableType:
    """What became of each complaint since the other drive, or beside a car known to be good."""
    told = f" ({other.when})" if other.when else ""
    title = "Beside the car known to be good" if reference else "Since the drive before"
    lines: list[RenderableType] = [Text(clean(title + told), style="bold")]
    if not changes:
        lines.append(paragraph("Nothing was noticed on either drive that could be compared.", look))
        return Group(*lines)
    there = "there" if reference else "before"
    lines.append(Text(f"  {'':<11} {there:<8} {'now':<8} complaint", style="dim"))
    for one in changes:
        name = NAMES[one.change][reference]
        was, now = short_figure(one.before), short_figure(one.after)
        first = f"  {name:<11} {was:<8} {now:<8} "
        lines.append(
            _hung(first, complaint_words(library, one.complaint, one.side), look, STYLES.get(one.change, ""))
        )
        lines += [paragraph(text, look, 4) for text in _sentences(one, reference)]
    lines += _why(changes, look)
    return Group(*lines)


def short_figure(figure: Figure | None) -> str:
    """A rating, `felt`, `nothing`, or `?` where it was not driven."""
    if figure is None:
        return "?"
    return {"rated": shown(figure.rating), "unrated": "felt", "silent": "nothing"}[figure.told]


def _sentences(one: Change, reference: bool) -> Iterator[str]:
    """Whether it is more than scatter, and what is still to be driven."""
    if one.share is not None and one.difference:
        of = f"of 100 pairs of drives of an unchanged car {of_100(one.share)} differ as much"
        if reference:
            of = f"of 100 pairs of cars that are alike {of_100(one.share)} differ as much"
        yield {
            "clear": f"More than a driver's usual scatter: {of}.",
            "perhaps": f"It may be scatter: {of}. Drive it again.",
            "scatter": f"No more than a driver's usual scatter: {of}.",
        }[one.verdict]
    elif one.share is not None:
        yield f"Rated alike on both {'cars' if reference else 'drives'}."
    told = [figure for figure in (one.before, one.after) if figure is not None and figure.told != "silent"]
    if reference and one.verdict == "scatter" and len(told) == 2:
        yield "The good car does it too: perhaps it is its nature, or that of the road."
    here = "on the other car" if reference else "the time before"
    for missing, when in ((one.missing_after, "this time"), (one.missing_before, here)):
        if missing:
            legs = ", ".join(ROUTE[kind].name for kind in missing)
            end = "nobody can tell yet." if one.change == "not-driven" else "that part is open."
            yield f"Not driven {when}, or not as fast: {legs}; {end}"


def _why(changes: Sequence[Change], look: Look) -> Iterator[Text]:
    """The scatter that was reckoned with, and what made it wide."""
    known = [one.scatter for one in changes if one.scatter is not None]
    if not known:
        return
    low, high = min(one.deviation for one in known), max(one.deviation for one in known)
    points = f"{low:.1f}" if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f} to {high:.1f}"
    why = dict.fromkeys(name for one in known for name, _ in one.parts)
    text = f"{points} points between two ratings of an unchanged car (estimate): {'; '.join(why)}."
    yield labelled("Usual scatter", text, look)
