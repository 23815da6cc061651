"""What car it is: how it is built, how far it has run, what was renewed; asked, shown and changed."""

from __future__ import annotations

import re

from diagnose.errors import InputError
from diagnose.job import events as e
from diagnose.job.session import Ask, Session
from diagnose.model.part import Part
from diagnose.model.position import WHERE
from diagnose.screen import pages
from diagnose.screen.answers import whole
from diagnose.screen.choosing import say
from diagnose.screen.desk import Desk, Line, clean
from diagnose.units import parse_distance, parse_years, plain
from diagnose.words import place_name

__all__ = ["ask_car", "change_facts", "read_distance"]


def ask_car(desk: Desk, session: Session, ask: Ask, line: Line) -> None:
    """Put one question about the car, and keep what is answered."""
    if ask.kind == "distance":
        _ask_distance(desk, session, line)
    elif ask.kind == "fact":
        _ask_fact(desk, session, ask.id, line)
    else:
        _ask_condition(desk, session, ask.id, line)


def _ask_fact(desk: Desk, session: Session, name: str, line: Line) -> None:
    fact = session.library.facts[name]
    say(desk, fact.ask, "bold")
    for number, value in enumerate(fact.values, start=1):
        desk.show(pages.paragraph(f"{number} {value.name}", desk.look))
    ids = {value.id: value.id for value in fact.values} | {value.name: value.id for value in fact.values}
    while True:
        typed = line(f"1-{len(fact.values)}; Enter: not known >", list(ids))
        if typed is None:
            return
        if typed.lower() in ("", "c", "0"):
            return session.do(e.VehicleFact(name, None))
        picked = whole(typed, len(fact.values))
        if picked is not None:
            return session.do(e.VehicleFact(name, fact.values[picked - 1].id))
        if typed.lower() in ids:
            return session.do(e.VehicleFact(name, ids[typed.lower()]))
        say(desk, f"{clean(typed)!r} is not in the list.")


def _ask_distance(desk: Desk, session: Session, line: Line) -> None:
    say(desk, "How far has it run, and how old is it?", "bold")
    while True:
        typed = line("such as 187000 km, 12 years; Enter: not known >", [])
        if typed is None:
            return
        try:
            km, years = read_distance(typed)
        except InputError as error:
            say(desk, str(error))
            continue
        return session.do(e.Distance(km, years))


def _ask_condition(desk: Desk, session: Session, name: str, line: Line) -> None:
    say(desk, session.library.conditions[name].ask, "bold")
    while True:
        typed = line("[y] yes [n] no; Enter: not known >", [])
        if typed is None:
            return
        if typed.lower() in ("y", "yes", "n", "no"):
            return session.do(e.ConditionKnown(name, typed.lower().startswith("y")))
        if typed.lower() in ("", "c"):
            return session.do(e.ConditionKnown(name, None))
        say(desk, f"{clean(typed)!r}: type y, n, or Enter.")


def change_facts(desk: Desk, session: Session, line: Line) -> None:
    """Show what is known of the car, and change one thing. Raises InputError for a name that is none."""
    vehicle = session.state.vehicle
    for fact in session.library.facts.values():
        value = next((v.name for v in fact.values if v.id == vehicle.facts.get(fact.id)), "not known")
        desk.show(pages.paragraph(f"{fact.id}: {value}", desk.look))
    for condition in session.library.conditions.values():
        holds = vehicle.conditions.get(condition.id)
        word = "not known" if holds is None else "yes" if holds else "no"
        desk.show(pages.paragraph(f"{condition.id}: {word}", desk.look))
    run = [f"{vehicle.km:.0f} km"] if vehicle.km is not None else []
    run += [f"{plain(vehicle.years)} years"] if vehicle.years is not None else []
    desk.show(pages.paragraph(f"distance: {', '.join(run) or 'not known'}", desk.look))
    for part in vehicle.renewed:
        # A case file may know the distance of the renewal, its age, or only that it was.
        # A job begun on other trees may name a part that these do not have.
        known = session.library.parts.get(part.part)
        bits = [known.name if known else clean(part.part)]
        bits += [place_name(part.position)] if part.position else []
        bits += [f"at {part.at_km:.0f} km"] if part.at_km is not None else []
        bits += [f"{plain(part.years_ago)} years ago"] if part.years_ago is not None else []
        desk.show(pages.paragraph(f"renewed: {', '.join(bits)}", desk.look))
    names = [*session.library.facts, *session.library.conditions, "distance", "renewed"]
    typed = desk.ask("which to change (a name above, distance, renewed); Enter: back >", names).strip()
    if not typed:
        return
    if typed == "distance":
        _ask_distance(desk, session, line)
    elif typed == "renewed":
        _renewed(desk, session)
    elif typed in session.library.facts:
        _ask_fact(desk, session, typed, line)
    elif typed in session.library.conditions:
        _ask_condition(desk, session, typed, line)
    else:
        raise InputError(f"{clean(typed)!r} is not one of: {', '.join(names)}")


def _renewed(desk: Desk, session: Session) -> None:
    names = {part.name: part.id for part in session.library.parts.values()}
    typed = desk.ask("which part was renewed >", list(names)).strip().lower()
    if not typed:
        return
    from rapidfuzz import fuzz, process

    found = process.extractOne(typed, list(names), scorer=fuzz.token_set_ratio, score_cutoff=70)
    if found is None:
        raise InputError(f"no part sounds like {clean(typed)!r}")
    part = session.library.parts[names[found[0]]]
    at = _where_renewed(desk, part)
    while True:
        typed = desk.ask(f"{part.name}: how long ago, such as 2 years; Enter: back >").strip()
        if not typed:
            return
        try:
            years = parse_years(typed)
        except InputError as error:
            say(desk, str(error))
            continue
        return session.do(e.PartRenewed(part.id, at, None, years))


def _where_renewed(desk: Desk, part: Part) -> str | None:
    """The one position that was renewed, or None for all of them."""
    short = pages.short_places(WHERE[part.where])
    if len(short) == 1:
        return None
    choice = ", ".join(f"[{letter}] {place_name(place)}" for letter, place in short.items())
    while True:
        typed = desk.ask(f"{part.name}: {choice}; Enter: all >").strip().lower()
        if not typed:
            return None
        if typed in short:
            return short[typed]
        if typed.replace(" ", "-") in short.values():
            return typed.replace(" ", "-")
        say(desk, f"{clean(typed)!r}: type {', '.join(short)}, or Enter for all of them.")


def read_distance(typed: str) -> tuple[float | None, float | None]:
    """(km, years) from text such as `187000 km, 12 years`, either alone, or nothing."""
    km: float | None = None
    years: float | None = None
    text = typed.lower().replace(" and ", ", ")
    age = re.search(r"(\d+(?:[.,]\d+)?)\s*(years?|yrs?|y|months?|mo)\b(?:\s*old)?", text)
    if age:
        years = parse_years(f"{age.group(1)} {age.group(2)}")
        text = (text[: age.start()] + text[age.end() :]).strip(" ,;")
    rest = text.strip(" ,;")
    if rest:
        bits = [bit.strip() for bit in re.split(r"[,;](?!\d{3})", rest) if bit.strip()]
        if len(bits) == 2 and years is None:
            km, years = parse_distance(bits[0]), parse_years(bits[1])
        else:
            km = parse_distance(rest)
    return km, years
