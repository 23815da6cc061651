"""Text on a page: what is hidden is left out, everything else stays."""

from __future__ import annotations

import pytest

from diagnose.sheet.plain import plain_text


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("knocks over bumps", "knocks over bumps"),
        ("  two\n lines\tand a tab ", "two lines and a tab"),
        # ECMA-48: CSI and OSC sequences go as a whole, up to their final byte or terminator.
        ("\x1b[31mred\x1b[0m", "red"),
        ("\x1b]0;title\x07shown", "shown"),
        ("\x1b]8;;http://a.example\x1b\\link\x1b]8;;\x1b\\", "link"),
        ("\x9b2Jcleared", "cleared"),
        ("bell\x07 and null\x00", "bell and null"),
        # Unicode Standard, 23.2 (layout controls): overrides and isolates.
        ("safe\u202egpj.exe", "safegpj.exe"),
        ("\u2066a\u2069\u200f\u061c", "a"),
        # Hidden letters: zero width space, soft hyphen, byte order mark, tags, private use, no characters.
        ("a\u200bb\u00adc\ufeffd\U000e0041e\ue000f\ufdd0g\uffff", "abcdefg"),
        ("half \ud800 a pair", "half a pair"),
        # Words in other scripts stay as they are written, joiners too.
        (
            "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
            "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
        ),
        (
            "\u0646\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",
            "\u0646\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",
        ),
        ("<b>& \"quotes\" 'too'", "<b>& \"quotes\" 'too'"),
    ],
)
def test_what_is_hidden_is_left_out(typed: str, shown: str) -> None:
    assert plain_text(typed) == shown
    assert plain_text(shown) == shown
