"""The pages of the walk: pure functions from what is known to what is shown."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from diagnose.choice.cost import OVERHEAD, change_minutes
from diagnose.choice.lookahead import Proposal
from diagnose.choice.outcomes import Spot
from diagnose.choice.verdict import Conclusion, Row, Verdict
from diagnose.job.session import Session
from diagnose.model.check import CANNOT_TELL, TALK, Check, Finding
from diagnose.model.library import Library
from diagnose.model.position import side_of
from diagnose.screen.desk import Look
from diagnose.screen.narrow import NARROW, Table
from diagnose.screen.prose import READABLE, labelled, paragraph
from diagnose.units import minutes, money, plain
from diagnose.words import likelihood, of_100, place_name, work_name

__all__ = [
    "check_page",
    "conclusion_page",
    "findings_page",
    "head_page",
    "labelled",
    "others_page",
    "paragraph",
    "ranking_page",
    "unfit_page",
    "why_cause_page",
    "why_check_page",
]


def bar(p: float, cells: int, look: Look) -> str:
    """A bar of at most `cells` cells for a probability."""
    whole = p * cells
    full = int(whole)
    return (look.full * full + (look.part if whole - full >= 0.4 else ""))[:cells]


def cause_name(row: Row) -> str:
    """`outer tie rod end: play in the ball socket, front right`."""
    return f"{row.name}, {row.place}" if row.place else row.name


def shortened(row: Row, width: int) -> str:
    """The name of a cause in `width` columns: the fault is cut before the place is."""
    whole = cause_name(row)
    if len(whole) <= width:
        return whole
    place = whole.removeprefix(row.name)
    room = width - len(place) - 2
    return row.name[: max(room, 8)].rstrip(" ,:") + ".." + place


def moved(change: float) -> str:
    """`+27`, `-6` of 100 cars, or nothing for less than half a car."""
    cars = round(100.0 * change)
    return f"{cars:+d}" if cars else ""


def head_page(session: Session, look: Look) -> Text:
    """Complaint, car, answers, minutes: one line, where the window has room for it."""
    library, state = session.library, session.state
    names = [library.complaints[c].name for c in session.story.complaints]
    bits = [" and ".join(names) or "no complaint yet"]
    for heard in state.complaints:
        if heard.side:
            bits[0] += f" ({heard.side})"
    if state.vehicle.km is not None:
        bits.append(f"{state.vehicle.km:,.0f} km".replace(",", " "))
    if state.vehicle.years is not None:
        bits.append(f"{plain(state.vehicle.years)} years")
    answers = len({a.finding.partition("/")[0] for a in state.answers})
    spent = minutes(session.spent) if session.spent else "0 min"
    bits.append(f"{answers} check{'s' if answers != 1 else ''}, {spent}")
    text = f" {look.dot} ".join(bits)
    return Text(text, style="bold") if len(text) <= look.width else paragraph(text, look, 0, "bold")


#: How many times as much another check must save a minute for it to be said that it saves more.
MORE = 1.05

#: What the ranking may be ordered by; ties keep the order of blame.
RANKINGS: dict[str, Callable[[Row], float]] = {
    "blame": lambda row: -row.to_blame,
    "there": lambda row: -row.probability,
    "minute": lambda row: -row.per_minute,
    "money": lambda row: -row.per_money,
}


def ranking_page(verdict: Verdict, look: Look, count: int = 5, by: str = "blame") -> RenderableType:
    """The leading causes, what moved, and what is not listed here."""
    rows = sorted(verdict.rows, key=RANKINGS[by])[:count]
    extra = by in ("minute", "money")
    cells = 8 if look.width >= 76 else 5
    width = min(look.width, READABLE + 14)
    # What is left for the names, once numbers and bar have their room. Where there is none they stand alone.
    names = max(width - cells - (40 if extra else 32), 20) if width >= NARROW else None
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=True, header_style="dim")
    titles = {
        "blame": "of 100 such cars",
        "there": "of 100 such cars, by what is there",
        "minute": "by blame per minute of looking",
        "money": "by blame per money of cure",
    }
    table.add_column("")
    table.add_column(titles[by], width=names, no_wrap=True, overflow="ellipsis")
    table.add_column("", width=cells if names else None)
    table.add_column("to blame", justify="right", width=8)
    table.add_column("moved", justify="right", width=5)
    table.add_column("there", justify="right", width=5)
    if extra:
        table.add_column("look" if by == "minute" else "cure", justify="right", width=8, no_wrap=True)
    for number, row in enumerate(rows, start=1):
        cells_ = [
            Text(str(number), style="dim"),
            Text(shortened(row, names) if names else cause_name(row)),
            Text(bar(row.to_blame, cells if names else 0, look)),
            Text(of_100(row.to_blame), style="bold"),
            Text(moved(row.blame_moved)),
            Text(of_100(row.probability)),
        ]
        if extra:
            value = (
                (minutes(row.settle_minutes) if row.settle_minutes is not None else "-")
                if by == "minute"
                else money(row.cure_money, verdict.workshop.currency)
            )
            cells_.append(Text(value))
        table.add_row(*cells_)
    outside = verdict.belief.outside
    was = verdict.before.outside if verdict.before is not None else None
    last = [
        Text(""),
        Text("something not listed here"),
        Text(bar(outside, cells if names else 0, look)),
        Text(of_100(outside), style="bold"),
        Text(moved(outside - was) if was is not None else ""),
        Text(""),
    ]
    table.add_row(*last, *([Text("")] if extra else []))
    return table


def _named(rows: Sequence[Row], number: int) -> str:
    found = next((row for row in rows if row.number == number), None)
    return cause_name(found) if found else "a cause outside these complaints"


def reason(verdict: Verdict, proposal: Proposal) -> str:
    """Why this check, in one sentence, computed from its outcomes."""
    rows = verdict.rows
    best: tuple[float, int, str, float, float] | None = None
    nothing = None
    if not _always(verdict, proposal):
        nothing = next((o for o in proposal.outcomes if o.spot is None and o.level == 0), None)
    for outcome in proposal.outcomes:
        if outcome.spot is None or outcome.probability < 0.01:
            continue
        for row in rows[:25]:
            after = float(outcome.present[row.number])
            otherwise = float(nothing.present[row.number]) if nothing is not None else row.probability
            weight = outcome.probability * (after - otherwise) * (row.to_blame + 0.02)
            if best is None or weight > best[0] + 1e-12:
                best = (weight, row.number, outcome.name, row.probability, after)
    if best is None or best[0] <= 0.0:
        return f"It clears causes of suspicion. {worth(verdict, proposal)}"
    _, number, name, before, after = best
    sentence = f"It tells most about [{_named(rows, number)}], there in {of_100(before)} of 100: "
    sentence += f'{of_100(after)} if "{name}"'
    if nothing is not None:
        sentence += f", {of_100(float(nothing.present[number]))} if nothing is seen"
    return f"{sentence}. {worth(verdict, proposal)}"


def _always(verdict: Verdict, proposal: Proposal) -> bool:
    """True if one of its levels always holds, so that who tells of none cannot tell."""
    findings = verdict.library.checks[proposal.check].findings
    return all(verdict.library.findings[each].always for each in findings)


def worth(verdict: Verdict, proposal: Proposal) -> str:
    """Why it is worth doing, in one sentence."""
    saves = minutes(max(proposal.saving_minutes, 0.0))
    made = verdict.decision
    because = made.because if made.check is not None and made.check.check == proposal.check else ""
    if because == "with another":
        alone = next((p.saving for p in made.look.proposals if p.check == proposal.check), 0.0)
        begins = "With" if alone > 0.0 else "Alone it does not pay; with"
        return f"{begins} the checks that may follow it saves about {saves} on average."
    if proposal.saving > 0.0:
        return f"It saves about {saves} on average."
    if because == "first":
        return "Left as it is, it could spoil every check after it."
    if proposal.merit > 0.0:
        return f"It narrows the field, which saves about {minutes(proposal.merit)} of looking."
    if because == "unsolved":
        return "It does not pay for itself, but nothing found so far explains the complaint."
    return "On average it costs more than it saves."


def visit_line(verdict: Verdict, look: Look) -> RenderableType | None:
    """What to do next while the car is where the proposed check needs it, and where to stop."""
    visit = verdict.visit
    if visit is None:
        return None
    library = verdict.library
    then = "; ".join(f"{library.checks[leg.check].name} ({minutes(leg.minutes)})" for leg in visit.legs[1:])
    return labelled("If nothing is seen", f"{then}. Stop there, or as soon as something is found.", look)


def check_page(verdict: Verdict, check: Check, look: Look, proposal: Proposal | None) -> RenderableType:
    """The check proposed: what, how, where, with which tools and cautions, and why."""
    library = verdict.library
    change = change_minutes(library, check, verdict.set_up)
    cost = minutes(check.minutes)
    if check.set_up == verdict.set_up:
        cost += ", the car is already there" if check.set_up != TALK else ""
    elif change:
        cost += f" and {minutes(change)} to get there"
    if check.set_up == TALK:
        head = Text(f"Ask the driver: {check.name.removeprefix('ask ')}", style="bold")
    else:
        head = Text(f"Next: {check.name}", style="bold")
    where = library.set_ups[check.set_up].name
    lines: list[RenderableType] = [Text(""), head, Text(f"  {where} {look.dot} {cost}", style="dim")]
    for caution in check.cautions:
        lines.append(labelled("Caution", library.cautions[caution], look, "yellow"))
    lines.append(paragraph(check.how, look))
    if check.needs:
        lines.append(labelled("Needs", ", ".join(library.tools[t] for t in check.needs), look))
    if proposal is not None:
        lines.append(labelled("Why", reason(verdict, proposal), look))
        if proposal is verdict.next:
            then = visit_line(verdict, look)
            if then is not None:
                lines.append(then)
    return Group(*lines)


SHORT = {
    "front-left": "fl",
    "front-right": "fr",
    "rear-left": "rl",
    "rear-right": "rr",
    "left": "l",
    "right": "r",
    "front": "f",
    "rear": "r",
}


def places_of(spots: Iterable[Spot]) -> dict[str, list[str | None]]:
    """finding id -> positions still open, in order."""
    found: dict[str, list[str | None]] = {}
    for spot in spots:
        found.setdefault(spot.finding, []).append(spot.position)
    return found


def short_places(places: Sequence[str | None]) -> dict[str, str]:
    """Short word -> position: `l`, `r` where only the side differs, else `fl` and so on."""
    named = [place for place in places if place]
    sides = {side_of(place) for place in named}
    if len(named) == 2 and sides == {"left", "right"}:
        return {("l" if side_of(place) == "left" else "r"): place for place in named}
    return {SHORT.get(place, place): place for place in named}


def findings_page(library: Library, spots: Sequence[Spot], look: Look) -> RenderableType:
    """The findings of a check, numbered, with where they may be seen.

    One finding at one place needs no choosing: it stands without the number and the letters of its
    grades, which would be taken for answers.
    """
    table = Table(box=None, pad_edge=False, padding=(0, 1), show_header=False)
    table.add_column("", justify="right", style="bold")
    table.add_column("", ratio=1)
    table.add_column("", no_wrap=True)
    if len(spots) == 1:
        finding = library.findings[spots[0].finding]
        table.add_row("  ", _finding_text(finding, lettered=False), "")
        return table
    for number, (name, places) in enumerate(places_of(spots).items(), start=1):
        finding = library.findings[name]
        short = short_places(places)
        # One place needs no choosing.
        where = " ".join(short) if len(short) > 1 else ""
        table.add_row(f"  {number}", _finding_text(finding), Text(where, style="dim"))
    return table


def _finding_text(finding: Finding, lettered: bool = True) -> Text:
    text = Text(finding.name)
    if finding.reading is not None:
        word = "from" if finding.reading.direction == "over" else "at or below"
        limits = ", ".join(f"{limit.name}: {word} {plain(limit.value)}" for limit in finding.reading.limits)
        text.append(f" (a reading in {finding.reading.unit}; {limits})", style="dim")
    elif lettered and len(finding.levels) > 1:
        grades = ", ".join(f"{chr(96 + n)} {level}" for n, level in enumerate(finding.levels, start=1))
        text.append(f" ({grades})", style="dim")
    return text


def why_check_page(verdict: Verdict, proposal: Proposal, look: Look) -> RenderableType:
    """What the check may show, how likely, and what each would do to the ranking."""
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    table.add_column("of 100 times", justify="right")
    table.add_column("it shows", ratio=2)
    table.add_column("which then puts first", ratio=3)
    rows = {row.number: row for row in verdict.rows}
    for outcome in sorted(proposal.outcomes, key=lambda o: -o.probability)[:8]:
        where = place_name(outcome.spot.position) if outcome.spot else ""
        name = f"{outcome.name}{', ' + where if where else ''}"
        gains = sorted(
            rows, key=lambda n: -(float(outcome.present[n]) - rows[n].probability) * (0.2 + rows[n].to_blame)
        )
        best = gains[0]
        after = float(outcome.present[best])
        lift = after - rows[best].probability
        shown = (
            f"{cause_name(rows[best])} {of_100(rows[best].probability)} -> {of_100(after)}"
            if lift > 0.01
            else "nothing in particular; the causes it looks for become less likely"
        )
        if outcome.spot is None and outcome.level == 0 and _always(verdict, proposal):
            name, shown = CANNOT_TELL, "what is first now"
        table.add_row(of_100(outcome.probability), name, shown)
    lines: list[RenderableType] = [Text(""), table]
    if proposal.saving > 0:
        lines.append(
            paragraph(
                f"On average it saves {minutes(proposal.saving_minutes)} of work, "
                f"its own {minutes(proposal.minutes)} already taken off, or "
                f"{money(proposal.saving, verdict.workshop.currency)}.",
                look,
            )
        )
    else:
        lines.append(paragraph(worth(verdict, proposal), look))
    lines.append(paragraph(what_would_change(verdict, proposal), look))
    return Group(*lines)


def what_would_change(verdict: Verdict, proposal: Proposal) -> str:
    """At which time of its own the check would lose its place, and to which other one."""
    gain = proposal.merit + proposal.minutes + OVERHEAD
    others = [p for p in verdict.proposals if p.check != proposal.check and p.merit > 0.0]
    said = []
    best = max(others, key=lambda p: (p.rate, p.check), default=None)
    if best is not None:
        name = verdict.library.checks[best.check].name
        until = gain / best.rate - OVERHEAD
        if until > proposal.minutes:
            said.append(f"If it took more than {minutes(until)}, {name} would come before it.")
        else:
            more = "more" if best.rate > proposal.rate * MORE else "as much"
            said.append(f"Minute for minute, {name} saves {more}.")
    pays = gain - OVERHEAD
    if pays > proposal.minutes:
        said.append(f"It pays as long as it takes less than {minutes(pays)}.")
    return " ".join(said)


def why_cause_page(verdict: Verdict, row: Row, look: Look) -> RenderableType:
    """Why a cause stands where it does: prior, and the answers that moved it most."""
    belief, library = verdict.belief, verdict.library
    lines: list[RenderableType] = [
        Text(""),
        Text(cause_name(row), style="bold"),
        paragraph(
            f"Before any answer: {of_100(row.prior)} of 100 such cars. Now: {of_100(row.probability)} "
            f"({likelihood(row.probability)}); to blame for the complaint in {of_100(row.to_blame)}.",
            look,
        ),
    ]
    pulls = belief.pull_of_each(row.number)
    named = []
    for (key, _), factor in zip(belief.observations, pulls, strict=True):
        named.append((abs(_log(factor)), factor, observation_name(library, key)))
    told = [item for item in sorted(named, reverse=True) if item[0] > 0.1][:3]
    for _, factor, name in told:
        word = f"{plain(factor)} times as likely" if factor >= 1 else f"{plain(1 / factor)} times less likely"
        lines.append(paragraph(f"{look.dot} {name}: {word}", look))
    if not told:
        lines.append(paragraph("No answer has moved it much so far.", look))
    fault = library.faults[row.fault]
    source = ", ".join(library.sources[s].name if s in library.sources else s for s in fault.source)
    lines.append(paragraph(f"Its figures: {source}.", look, style="dim"))
    return Group(*lines)


def _log(factor: float) -> float:
    return math.log(max(factor, 1e-9))


def observation_name(library: Library, key: str) -> str:
    """An observed event in words; `key` as the belief has it, of the car now or before a repair."""
    if key in library.complaints:
        return f"the complaint ({library.complaints[key].name.lower()})"
    later = re.fullmatch(r"(?P<of>[^~%]+)(?:~\d+(?: shows)?|%\d+(?P<helped>helped))", key)
    if later is not None and later["of"] in library.complaints:
        name = library.complaints[later["of"]].name.lower()
        return f"that it faded ({name})" if later["helped"] else f"the complaint after a repair ({name})"
    before = re.fullmatch(r"(.+)@\d+", key)
    if before is not None:
        return f"{observation_name(library, before[1])}, before a repair"
    name, _, place = key.partition("@")
    finding = library.findings.get(name)
    if finding is None:
        mechanism = library.mechanisms.get(name)
        return mechanism.name if mechanism else name
    check = library.checks[finding.check]
    where = f", {place_name(place)}" if place else ""
    return f"{check.name}: {finding.name}{where}"


def others_page(verdict: Verdict, look: Look, count: int = 9) -> tuple[RenderableType, list[str]]:
    """Other checks with what they cost and save; and their ids in the order shown."""
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    table.add_column("")
    table.add_column("check", ratio=1)
    table.add_column("set-up", no_wrap=True)
    table.add_column("takes", justify="right", no_wrap=True)
    table.add_column("saves", justify="right", no_wrap=True)
    ids = []
    for number, proposal in enumerate(verdict.proposals[:count], start=1):
        check = verdict.library.checks[proposal.check]
        saves = minutes(proposal.merit) if proposal.merit > 0 else "nothing"
        set_up = verdict.library.set_ups[check.set_up].id.replace("-", " ")
        table.add_row(str(number), check.name, set_up, minutes(proposal.minutes), saves)
        ids.append(check.id)
    return Group(Text(""), table), ids


def unfit_page(reasons: Sequence[str], look: Look) -> RenderableType:
    """Plainly: this car is not fit to drive, or must be looked at before it is driven, and why."""
    rule = ("\u2501" if look.unicode else "=") * min(look.width, READABLE)
    perhaps = all(": do not drive when " in reason for reason in reasons)
    title = "MAY NOT BE FIT TO DRIVE: look at this before it moves" if perhaps else "NOT FIT TO DRIVE"
    lines: list[RenderableType] = [Text(""), Text(rule, style="bold red"), Text(title, style="bold red")]
    lines += [paragraph(reason, look) for reason in reasons]
    lines.append(
        paragraph(
            "Local law and the maker's data come first; let a licensed workshop judge it before it moves.",
            look,
        )
    )
    lines.append(Text(rule, style="bold red"))
    return Group(*lines)


def conflict_page(verdict: Verdict, look: Look) -> RenderableType | None:
    """Answers that do not fit together, and the one to look at again."""
    conflict = verdict.conflict
    if conflict is None:
        return None
    key, _ = verdict.belief.observations[conflict.suspect]
    name = observation_name(verdict.library, key)
    return labelled(
        "These answers do not fit together",
        f"they are about {round(2**conflict.bits)} times less likely together than one by one. "
        f"Look at this one again: {name}.",
        look,
        "yellow",
    )


def why_now(verdict: Verdict) -> str:
    """Why looking stops here; empty where a check would still pay."""
    if verdict.next is not None:
        return ""
    left = [p for p in verdict.proposals if p.saving <= 0.0]
    if not left:
        return "Nothing is left to look at that could tell more."
    best = max(left, key=lambda p: (p.saving, p.check))
    name = verdict.library.checks[best.check].name
    return (
        f"No check that is left saves more than it costs. The best of them, {name}, "
        f"would cost about {minutes(max(-best.saving_minutes, 1.0))} more than it saves."
    )


def close_call_line(verdict: Verdict, look: Look) -> RenderableType | None:
    """That the first place in the ranking hangs on a hair, if it does."""
    close = verdict.close_call
    if not close:
        return None
    names = [cause_name(row) for row in close[:2]]
    if len(close) > 2:
        names.append(f"{len(close) - 2} more")
    told = "; ".join(names)
    return labelled("Close call", f"within the error of the figures these may stand first: {told}.", look)


def conclusion_page(verdict: Verdict, conclusion: Conclusion, look: Look) -> RenderableType:
    """What to put right, the chance that it helps, what else it could be, what follows, what to watch."""
    library, workshop = verdict.library, verdict.workshop
    lines: list[RenderableType] = [Text(""), Text("Conclusion", style="bold underline")]
    if not conclusion.steps:
        lines.append(paragraph("Nothing listed here is worth curing on what is known.", look))
    stop = why_now(verdict)
    if stop:
        lines.append(paragraph(stop, look))
    if conclusion.steps:
        title = "Put right" if len(conclusion.steps) == 1 else "Put right in this order, driving after each"
        lines.append(Text(f"  {title}", style="bold"))
    for number, (cure, remedy, there, blame, alone) in enumerate(conclusion.steps, start=1):
        first = f"{work_name(remedy.name, cure.place)}: {money(cure.money, workshop.currency)}"
        mark = look.dot if len(conclusion.steps) == 1 else f"{number}."
        lines.append(paragraph(f"{mark} {first}", look))
        lines.append(
            paragraph(
                f"needed in {of_100(there)} of 100 such cars, to blame in {of_100(blame)}; "
                f"alone it cures {of_100(alone)}",
                look,
                4,
                "dim",
            )
        )
    if len(conclusion.steps) > 1:
        lines.append(paragraph(f"Ordered by {conclusion.rule}.", look, 2, "dim"))
    if conclusion.steps:
        lines.append(
            paragraph(
                f"All of it, done well: the complaint is gone in {of_100(conclusion.chance)} of 100 such "
                f"cars ({likelihood(conclusion.chance)}), for about "
                f"{money(conclusion.money, workshop.currency)} "
                f"and {minutes(conclusion.minutes)} of work. Money and times are estimates.",
                look,
            )
        )
        lines.append(
            paragraph("`diagnose plan` lays it out in stages, with prices, shared work and a purse.", look)
        )
        if conclusion.chance < 0.5:
            lines.append(
                paragraph(
                    "More than one thing is probably at work: put this right, drive it, then go on.",
                    look,
                )
            )
    if conclusion.behind:
        lines.append(Text("  What else could be behind it", style="bold"))
        for row in conclusion.behind:
            settle = (
                f"; {library.checks[row.settles].name} would settle it ({minutes(row.settle_minutes or 0)})"
                if row.settles
                else ""
            )
            lines.append(
                paragraph(f"{look.dot} {cause_name(row)}: {of_100(row.to_blame)} of 100{settle}", look)
            )
        lines.append(
            paragraph(f"{look.dot} something not listed here: {of_100(conclusion.outside)} of 100", look)
        )
    if conclusion.follow_ups:
        lines.append(Text("  What must follow", style="bold"))
        lines += [paragraph(f"{look.dot} {each.name}", look) for each in conclusion.follow_ups]
    watches = list(dict.fromkeys(step[1].watch for step in conclusion.steps if step[1].watch))
    if watches:
        lines.append(Text("  What to watch", style="bold"))
        lines += [paragraph(f"{look.dot} {each}", look) for each in watches]
    cautions = list(dict.fromkeys(c for step in conclusion.steps for c in step[1].cautions))
    for caution in cautions:
        lines.append(labelled("Caution", library.cautions[caution], look, "yellow"))
    lines.append(
        paragraph(
            "This advises; it does not certify. "
            "The maker's data, local law and licensed practice come first.",
            look,
            style="dim",
        )
    )
    return Padding(Group(*lines), (0, 0, 1, 0))
