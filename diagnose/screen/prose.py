"""Prose on a screen: wrapped at a width that is easy to read, whatever the window has."""

from __future__ import annotations

import textwrap

from rich.text import Text

from diagnose.screen.desk import Look, clean, console_for

__all__ = ["READABLE", "labelled", "paragraph", "tell"]

#: Width at which text is still easy to read.
READABLE = 96


def _wide(look: Look) -> int:
    return max(min(look.width, READABLE), 40)


def paragraph(text: str, look: Look, indent: int = 2, style: str = "") -> Text:
    """A paragraph, wrapped and indented."""
    lines = textwrap.wrap(clean(text), _wide(look) - indent) or [""]
    pad = " " * indent
    return Text("\n".join(pad + line for line in lines), style=style)


def labelled(label: str, text: str, look: Look, style: str = "") -> Text:
    """A paragraph behind a bold label, wrapped under itself."""
    lines = textwrap.wrap(f"{label}: {clean(text)}", _wide(look) - 2)
    whole = Text("\n".join("  " + line for line in lines), style=style)
    whole.stylize("bold", 2, 2 + len(label) + 1)
    return whole


def tell(text: str) -> None:
    """Print a sentence, folded between words alone: names of files in it stay whole."""
    console, look = console_for()
    lines = textwrap.wrap(clean(text), _wide(look), break_long_words=False, break_on_hyphens=False)
    console.print("\n".join(lines), soft_wrap=True)
