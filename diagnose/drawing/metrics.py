"""How much room a text takes that nobody has drawn yet.

Nothing here asks for a font: whoever opens a picture has another one. The widths are those of a wide font for
the screen (DejaVu Sans, read off the font and rounded up), and the picture asks for fonts that are no wider.
"""

from __future__ import annotations

__all__ = ["fitted", "text_width"]

#: Widths in ems -> the letters that are so wide.
_WIDTHS = {
    0.275: "'",
    0.3: "IJijl",
    0.325: " ,.",
    0.35: "/:;\\|",
    0.375: "-f",
    0.405: "!()[]t",
    0.425: "r",
    0.475: '"',
    0.5: "*_`",
    0.525: "sz",
    0.55: "?c",
    0.58: "FL",
    0.6: "kvxy",
    0.625: "PTYaeo",
    0.65: "$0123456789ESbdghnpqu{}",
    0.675: "K",
    0.7: "ABCRVXZ",
    0.75: "NU",
    0.775: "DGH",
    0.8: "&OQ",
    0.825: "w",
    0.85: "#+<=>^~",
    0.875: "M",
    0.955: "%",
    0.975: "m",
    1.0: "@W",
}
_WIDTH = {letter: width for width, letters in _WIDTHS.items() for letter in letters}

#: Any other letter; a whole square, as those of East Asia take.
_OTHER = 1.05

#: Bold letters are so much wider at most.
_BOLD = 1.27


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """The most room that a text of this size takes, in the unit of the size."""
    return sum(_WIDTH.get(letter, _OTHER) for letter in text) * size * (_BOLD if bold else 1.0)


def fitted(text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
    """The text in lines none of which is wider than the room; a word that is, is cut. One line at least."""
    lines = [""]
    for word in text.split():
        joined = f"{lines[-1]} {word}".strip()
        if text_width(joined, size, bold=bold) <= room:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        for letter in word:
            if lines[-1] and text_width(lines[-1] + letter, size, bold=bold) > room:
                lines.append("")
            lines[-1] += letter
    return lines
