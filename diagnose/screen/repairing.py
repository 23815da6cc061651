"""A repair and the drives after it, told at the desk: short questions, each skipped with Enter."""

from __future__ import annotations

import re
from dataclasses import replace

from diagnose.errors import InputError
from diagnose.job import events as e
from diagnose.job.repairs import AT_ONCE
from diagnose.job.session import Session
from diagnose.model.story import FADED
from diagnose.screen import pages
from diagnose.screen.answers import WORDS, whole
from diagnose.screen.desk import Desk, Line, clean
from diagnose.units import MOST_AMOUNT, MOST_SINCE
from diagnose.words import work_name

__all__ = ["ask_drive", "ask_repair", "read_cost", "read_felt"]

#: Field of a repair -> what is asked of it, where its remedy obliges to that work.
QUESTIONS = {
    "one_use": "New one-use nuts and bolts? [y] yes [n] no; Enter: not known >",
    "at_height": "Rubber tightened at ride height? [y] yes [n] no; Enter: not known >",
    "angles_set": "Wheel angles set afterwards? [y] yes [n] not yet; Enter: not known >",
}

#: Words for how a complaint is after a repair.
FELT = {**WORDS, "f": FADED, FADED: FADED, "gone": "no"}

DAYS = {"d": 1.0, "day": 1.0, "days": 1.0, "w": 7.0, "week": 7.0, "weeks": 7.0, "month": 30.0, "months": 30.0}
KM = {"km": 1.0, "mi": 1.609344, "mile": 1.609344, "miles": 1.609344}


def ask_repair(desk: Desk, session: Session, line: Line, typed: str) -> None:
    """What was done: remedies, and work that earlier ones oblige to, by name or number; or `d`: a drive.

    Raises InputError for what this car has not.
    """
    steps = session.verdict.conclusion.steps
    owed = {each.id: each.name for each in session.obligations}
    names = [*(f"{cure.remedy}@{cure.place}" for cure, *_ in steps), *owed]
    since = "d: driven since; " if session.state.rounds else ""
    while not typed:
        _say(desk, "What was done?", "bold")
        for number, (cure, remedy, *_) in enumerate(steps, start=1):
            desk.show(pages.paragraph(f"{number} {work_name(remedy.name, cure.place)}", desk.look))
        for number, name in enumerate(owed.values(), start=len(steps) + 1):
            desk.show(pages.paragraph(f"{number} still to be done: {name}", desk.look))
        said = line(f"numbers, or a remedy such as renew-front-drop-links; {since}Enter: nothing >")
        if not said:
            return
        typed = said
    if typed.strip().lower() in ("d", "driven") and session.state.rounds:
        ask_drive(desk, session, line)
        return
    chosen = []
    for word in typed.replace(",", " ").split():
        at = whole(word, len(names))
        chosen.append(names[at - 1] if at is not None else word)
    done = [e.FollowedUp(each) for each in dict.fromkeys(chosen) if each in owed]
    events = [session.repaired(each) for each in dict.fromkeys(chosen) if each not in owed]
    if not events:
        session.do(*done)
        _tell_owed(desk, session)
        return
    money, hours = _ask_cost(desk, line)
    events[0] = replace(events[0], price=money, hours=hours)
    grade = line("Grade of the parts, such as original or used; Enter: not told >")
    if grade:
        events = [replace(each, grade=" ".join(clean(grade).split())) for each in events]
    for field, question in QUESTIONS.items():
        concerned = [each for each in events if _owes(session, each, field)]
        if concerned:
            answer = _yes_or_no(desk, line, question)
            events = [
                replace(each, **{field: answer}) if each in concerned else each  # type: ignore[arg-type]
                for each in events
            ]
    session.repair(*events)
    if done:
        session.do(*done)
    _tell_owed(desk, session)


def _tell_owed(desk: Desk, session: Session) -> None:
    owed = [each.name for each in session.obligations]
    _say(
        desk,
        f"Still to be done: {'; '.join(owed)}." if owed else "Nothing is owed.",
        "yellow" if owed else "dim",
    )


def _owes(session: Session, repair: e.Repaired, field: str) -> bool:
    return bool(set(session.library.remedies[repair.remedy].follow_ups) & set(AT_ONCE[field]))


def _yes_or_no(desk: Desk, line: Line, question: str) -> bool | None:
    while True:
        typed = (line(question) or "").lower()
        if typed in ("", "c"):
            return None
        if typed in ("y", "yes", "n", "no"):
            return typed.startswith("y")
        _say(desk, f"{clean(typed)!r}: type y, n, or Enter.", "yellow")


def _ask_cost(desk: Desk, line: Line) -> tuple[float | None, float | None]:
    while True:
        typed = line("Parts and hours, such as 60, 0.8 h; Enter: not told >")
        if not typed:
            return None, None
        try:
            return read_cost(typed)
        except InputError as error:
            _say(desk, str(error), "yellow")


def ask_drive(desk: Desk, session: Session, line: Line) -> bool:
    """How each complaint is since the repair; True if something was kept."""
    before = session.state.steps
    for complaint in session.verdict.car.complaints:
        name = session.library.complaints[complaint].name
        _say(desk, f"Driven since, with care and where it harms nobody: {name}?", "bold")
        _say(desk, "A while after the repair, with the time: n 30 days, y 5 days, y 300 km.", "dim")
        while True:
            typed = line("[y] there [f] faded [p] probably [m] prob. not [n] gone; Enter: not driven >")
            if not typed:
                break
            try:
                answer, days, km = read_felt(typed)
                session.feel({complaint: answer}, days, km)
            except InputError as error:
                _say(desk, str(error), "yellow")
                continue
            break
    return session.state.steps > before


def read_felt(typed: str) -> tuple[str, float | None, float | None]:
    """(answer, days, km) from text such as `n`, `faded`, `y 5 days`, `n 2 weeks, 800 km`.

    Raises InputError for anything else.
    """
    word, _, rest = typed.strip().lower().partition(" ")
    answer = FELT.get(word)
    if answer is None:
        raise InputError(
            f"{clean(word)!r}: type y, f, p, c, m or n, and the time behind it: y 5 days, y 300 km"
        )
    days: float | None = None
    km: float | None = None
    found = re.findall(r"(\d+(?:[.,]\d+)?)\s*([a-z]+)", rest)
    known = [unit in DAYS or unit in KM for _, unit in found]
    if re.sub(r"(\d+(?:[.,]\d+)?)\s*([a-z]+)|after|and|[\s,;]", "", rest) or not all(known):
        raise InputError(f"{clean(rest)!r} is not a time after the repair: write 5 days, 300 km, or both")
    for number, unit in found:
        value = float(number.replace(",", ".")) * (DAYS[unit] if unit in DAYS else KM[unit])
        if value <= 0.0:
            raise InputError("right after the repair it is told without a time: type y or n alone")
        if value >= MOST_SINCE or (days if unit in DAYS else km) is not None:
            raise InputError(f"{clean(rest)!r} is not a time after the repair: write 5 days, 300 km, or both")
        if unit in DAYS:
            days = value
        else:
            km = value
    return answer, days, km


#: Money for parts, or hours with their `h`; several are apart by spaces, commas or semicolons.
_COST = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*(h|hrs?|hours?)?(?:\s*[,;]\s+|\s+|$)")


def read_cost(typed: str) -> tuple[float | None, float | None]:
    """(money for parts, hours) from text such as `60, 0.8 h`, or either alone (hours with their `h`).

    Raises InputError for anything else, for either told twice, and for a thousand million or more.
    """
    told: dict[bool, float] = {}
    rest = typed.strip().lower()
    while rest:
        found = _COST.match(rest)
        of_work = found is not None and found[2] is not None
        if found is None or of_work in told or not float(found[1].replace(",", ".")) < MOST_AMOUNT:
            told = {}
            break
        told[of_work] = float(found[1].replace(",", "."))
        rest = rest[found.end() :]
    if not told:
        raise InputError(f"{clean(typed)!r} is neither money nor hours: write 60, 0.8 h, or Enter")
    return told.get(False), told.get(True)


def _say(desk: Desk, text: str, style: str = "") -> None:
    desk.show(pages.paragraph(text, desk.look, 0, style))
