"""The desk: the only thing that shows and asks. A terminal, a pipe, or a script in tests and demos.

Output is inline, so that a workshop can scroll and copy it. Colour never carries meaning alone; without
Unicode, without colour and through a pipe everything reads the same.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import IO, Protocol

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment

from diagnose.words import harmless

__all__ = ["Desk", "Line", "Look", "PipeDesk", "TerminalDesk", "clean", "console_for", "make_desk"]


@dataclass(frozen=True, slots=True)
class Look:
    """How things can be shown: whether block characters may be used, and the width in columns."""

    unicode: bool
    width: int

    @property
    def full(self) -> str:
        """A full bar cell."""
        return "\u2587" if self.unicode else "#"

    @property
    def part(self) -> str:
        """A bar cell that is half full."""
        return "\u258c" if self.unicode else "-"

    @property
    def dot(self) -> str:
        """What stands between short items on one line."""
        return "\u00b7" if self.unicode else "|"


class Desk(Protocol):
    """All that a dialogue may touch."""

    @property
    def look(self) -> Look:
        """How things can be shown here."""

    def show(self, page: RenderableType) -> None:
        """Print a page."""

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:
        """One line typed by the user; `words` complete it. Raises EOFError when there is no more."""


class Line(Protocol):
    """Asks for one line."""

    def __call__(self, prompt: str, words: Sequence[str] = (), /) -> str | None:
        """The line, which `words` complete; None where it was a command, which has been carried out."""


def clean(text: str) -> str:
    """The text without control characters, so that what a user typed cannot drive the terminal."""
    return "".join(c if c.isprintable() or c in "\n" else " " for c in text)


def _speaks_unicode(stream: object) -> bool:
    encoding = (getattr(stream, "encoding", None) or "ascii").lower().replace("-", "")
    return encoding.startswith("utf") and os.environ.get("TERM") != "dumb" and not _plain_locale()


def _plain_locale() -> bool:
    """True where the locale is C. Python writes UTF-8 there all the same, unless told how (PEP 540)."""
    told = os.environ.get("PYTHONIOENCODING") or os.environ.get("PYTHONUTF8") == "1"
    return os.environ.get("LC_ALL") in ("C", "POSIX") and not told


def console_for(stream: IO[str] | None = None, width: int | None = None) -> tuple[Console, Look]:
    """A console on the stream (standard output if None), and how it may look."""
    out = stream or sys.stdout
    unicode = _speaks_unicode(out)
    console = _Console(file=out, highlight=False, soft_wrap=False, width=width, emoji=False, markup=False)
    if not unicode:
        # Whatever a text holds, it is shown in the letters that this terminal has.
        reconfigure = getattr(out, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace", **({"encoding": "ascii"} if _plain_locale() else {}))
    columns = width or console.width
    if not console.is_terminal and width is None:
        told = os.environ.get("COLUMNS", "")
        columns = (
            min(max(int(told), 40), 400) if told.isascii() and told.isdecimal() and len(told) < 6 else 80
        )
        console = _Console(file=out, highlight=False, width=columns, emoji=False, markup=False, no_color=True)
    return console, Look(unicode, columns)


class _Console(Console):
    """A console that leaves it to the command line what a reader who has gone means."""

    def on_broken_pipe(self) -> None:
        """Say so, instead of leaving the program here."""
        raise BrokenPipeError

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """What is shown, without anything in its text that could drive the terminal, whoever wrote it."""
        for segment in super().render(renderable, options):
            # Such characters take no room, so that without them every column stays where it is.
            yield segment if segment.control else segment._replace(text=harmless(segment.text, ""))


class TerminalDesk:
    """A person at a terminal; prompts with completion, and a history while the program runs."""

    def __init__(self) -> None:
        self._console, self._look = console_for()
        self._session: object | None = None

    @property
    def look(self) -> Look:
        """How things can be shown here."""
        return Look(self._look.unicode, self._console.width)

    def show(self, page: RenderableType) -> None:
        """Print a page."""
        self._console.print(page)

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:
        """One line; Ctrl-C raises KeyboardInterrupt, Ctrl-D EOFError."""
        from prompt_toolkit import PromptSession
        from prompt_toolkit.completion import FuzzyWordCompleter

        if not isinstance(self._session, PromptSession):
            # Ctrl-Z gives the terminal back to the shell, as it does everywhere else.
            self._session = PromptSession(enable_suspend=True)
        session: PromptSession[str] = self._session
        completer = FuzzyWordCompleter(list(words)) if words else None
        return session.prompt(
            prompt + " ",
            completer=completer,
            complete_while_typing=bool(words),
            reserve_space_for_menu=6 if words else 0,
        )


class PipeDesk:
    """Answers come line by line from a pipe; each is shown behind its prompt, as in a log."""

    def __init__(self, source: IO[str] | None = None) -> None:
        self._console, self._look = console_for()
        self._source = source or sys.stdin
        reconfigure = getattr(self._source, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")  # a byte of another encoding is a slip, not an end

    @property
    def look(self) -> Look:
        """How things can be shown here."""
        return self._look

    def show(self, page: RenderableType) -> None:
        """Print a page."""
        self._console.print(page)

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:
        """The next line of the pipe. Raises EOFError at its end."""
        line = self._source.readline()
        if not line:
            raise EOFError
        line = line.rstrip("\r\n")
        self._console.print(f"{prompt} {clean(line)}")
        return line


def make_desk() -> Desk:
    """The desk for where the program runs: a terminal if both ends are one, else a pipe."""
    if sys.stdin.isatty() and sys.stdout.isatty():
        return TerminalDesk()
    return PipeDesk()
