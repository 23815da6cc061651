"""Saying a sentence at a desk, and picking one of a list there."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.screen import pages
from diagnose.screen.answers import whole
from diagnose.screen.desk import Desk, clean

__all__ = ["PAGE", "Stop", "choose", "say"]

#: Rows of a list shown at once: with two lines each they leave room for the question at 80x24.
PAGE = 9


class Stop(Exception):
    """The user stops; everything is kept."""


def say(desk: Desk, text: str, style: str = "") -> None:
    """A paragraph without indent."""
    desk.show(pages.paragraph(text, desk.look, 0, style))


def choose(desk: Desk, rows: Sequence[str], back: str = "to say it in words") -> int | None:
    """The number, from 1, of the row picked from a list shown a page at a time; None for none of them."""
    start = 0
    while True:
        page = rows[start : start + PAGE]
        for number, row in enumerate(page, start=start + 1):
            desk.show(pages.paragraph(f"{number} {row}", desk.look))
        more = ", m for more" if len(rows) > PAGE else ""
        while True:
            numbers = f"{start + 1}-{start + len(page)}" if len(page) > 1 else f"{start + 1}"
            typed = desk.ask(f"{numbers}{more}, or 0 {back} >").strip().lower()
            if typed in ("q", "quit"):
                raise Stop
            if typed in ("0", ""):
                return None
            if more and typed in ("m", "more"):
                # After the last page the first one comes round again.
                start = start + PAGE if start + PAGE < len(rows) else 0
                break
            picked = whole(typed, len(rows))
            if picked is not None:
                return picked
            say(desk, f"{clean(typed)!r} is not in the list.")
