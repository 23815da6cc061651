"""What the car does, in the driver's words, and which complaint of the library they mean."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.library.matching import match_complaint
from diagnose.model.library import Library
from diagnose.screen.choosing import Stop, choose, say
from diagnose.screen.desk import Desk, clean

__all__ = ["ask_complaint"]

#: Likeness, of 100, from which words mean a complaint without asking, with others far enough behind, and
#: where no other is like them.
CLEAR, AHEAD, ALONE = 80.0, 8.0, 65.0


def ask_complaint(desk: Desk, library: Library, words: str = "") -> tuple[str, str | None, str]:
    """(complaint id, side or None, the driver's words). Raises Stop at q."""
    wordings = [say_ for c in library.complaints.values() for say_ in (*c.says, c.name)]
    while True:
        if not words:
            say(desk, "What does the car do? Say it as the driver does, or ? for a list (q: stop).")
            words = desk.ask(">", wordings).strip()
        if words.lower() in ("q", "quit"):
            raise Stop
        if not words:
            continue
        chosen = _browse(desk, library) if words.lower() in ("?", "list") else _meant(desk, library, words)
        if chosen is None:
            words = ""
            continue
        complaint = library.complaints[chosen]
        say(
            desk, f"{complaint.name}: {complaint.about}." if complaint.about else f"{complaint.name}.", "bold"
        )
        side = _side(words) if complaint.sided else None
        if complaint.sided and side is None:
            side = _ask_side(desk)
        return chosen, side, clean(words)


def _meant(desk: Desk, library: Library, words: str) -> str | None:
    """The complaint that the words mean, asked for where they leave it open; None to say it otherwise."""
    found = match_complaint(library, words)
    if not found:
        say(desk, f"None of the complaints here sounds like {clean(words)!r}. This is what there is:")
        return _browse(desk, library)
    best, rest = found[0], found[1:]
    if best.score >= (CLEAR if rest else ALONE) and all(best.score - m.score >= AHEAD for m in rest):
        return best.complaint
    say(desk, "Which of these is it?")
    return _choose_complaint(desk, library, [match.complaint for match in found])


def _browse(desk: Desk, library: Library) -> str | None:
    """A complaint by its area of the car's behaviour; None to say it in words instead."""
    areas = library.by_area()
    names = [f"{library.areas.get(area, 'other')} ({len(rows)})" for area, rows in areas.items()]
    area = choose(desk, names) if len(areas) > 1 else 1
    if area is None:
        return None
    return _choose_complaint(desk, library, [c.id for c in list(areas.values())[area - 1]])


def _choose_complaint(desk: Desk, library: Library, found: Sequence[str]) -> str | None:
    rows = [library.complaints[name] for name in found]
    picked = choose(desk, [f"{c.name}: {c.about}" if c.about else c.name for c in rows])
    return None if picked is None else found[picked - 1]


def _side(words: str) -> str | None:
    """The side, if the words name exactly one."""
    named = {side for side in ("left", "right") if side in words.lower().split()}
    return named.pop() if len(named) == 1 else None


def _ask_side(desk: Desk) -> str | None:
    while True:
        typed = desk.ask("Which side? [l] left [r] right [c] not told >").strip().lower()
        if typed in ("l", "left", "r", "right"):
            return "left" if typed.startswith("l") else "right"
        if typed in ("c", "", "?"):
            return None
        if typed in ("q", "quit"):
            raise Stop
        say(desk, f"{clean(typed)!r}: type l, r, or c if it was not told.")
