"""Text as it may stand on a page: what a user typed, without what would drive a terminal or turn a line.

Taken out: control characters (with the whole escape sequence that they begin), the marks that order text
right to left (a word in another script is set apart by the page itself), characters without width, and
what is no character at all. Everything else stays as it was typed.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["plain_text"]

#: Escape sequences of terminals: CSI, OSC and the like up to their end, and two-letter ones (ECMA-48).
_SEQUENCES = re.compile(
    r"(?:\x1b\[|\x9b)[\x30-\x3f]*[\x20-\x2f]*[\x40-\x7e]"
    r"|(?:\x1b[\]PX^_]|[\x90\x98\x9d\x9e\x9f])[^\x07\x1b\x9c]*(?:\x07|\x1b\\|\x9c|$)"
    r"|\x1b[\x20-\x2f]*[\x30-\x7e]"
)

#: Categories of which nothing is shown: control, format, surrogate, private use.
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co"})

#: Characters of the category "format" that scripts need to spell words, and emoji to join.
_JOINERS = frozenset("\u200c\u200d")


def plain_text(text: str) -> str:
    """The text on one line: blanks of any kind become one blank each run, what is hidden is left out."""
    text = _SEQUENCES.sub("", text)
    shown = (
        " " if letter.isspace() else letter
        for letter in text
        if letter.isspace() or letter in _JOINERS or _is_shown(letter)
    )
    return " ".join("".join(shown).split())


def _is_shown(letter: str) -> bool:
    """False for what is hidden, and for code points that are no characters (Unicode Standard, 23.7)."""
    number = ord(letter)
    none = number & 0xFFFE == 0xFFFE or 0xFDD0 <= number <= 0xFDEF
    return not none and unicodedata.category(letter) not in _HIDDEN
