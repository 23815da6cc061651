"""A tree as an SVG picture: text is text, nothing is fetched, and it reads on paper, light and dark.

Black and white alone: what is likelier has a thicker line and a number, so nothing hangs on colour. On a dark
ground ink and ground change places; in print they are as on paper.
"""

from __future__ import annotations

from xml.sax.saxutils import escape

from diagnose.drawing.layout import laid_out
from diagnose.drawing.picture import Box, mark_words, walk
from diagnose.drawing.sheet import Drawing

__all__ = ["MADE_BY", "svg"]

#: Stands in every picture: only a file with it is written over.
MADE_BY = "drawn by: diagnose trees draw"

_STYLE = """\
text { font-family: Verdana, "DejaVu Sans", Geneva, Arial, sans-serif; fill: #111; }
.ground { fill: #fff; }
.line { fill: none; stroke: #111; }
.faint { fill: none; stroke: #111; stroke-dasharray: 2 4; }
.box { fill: #f2f2f2; stroke: #111; }
.symbol { fill: #fff; stroke: #111; }
@media (prefers-color-scheme: dark) {
  text { fill: #eee; }
  .ground { fill: #16181b; }
  .line, .faint { stroke: #eee; }
  .box { fill: #26292e; stroke: #eee; }
  .symbol { fill: #16181b; stroke: #eee; }
}
@media print {
  text { fill: #000; }
  .ground { fill: #fff; }
  .line, .faint { stroke: #000; }
  .box, .symbol { fill: #fff; stroke: #000; }
}
"""


def svg(top: Box, subtitle: str = "") -> str:
    """The picture as a whole file. Texts of the library are escaped: they can be no markup."""
    return _written(laid_out(top, subtitle), top, subtitle)


def _written(drawing: Drawing, top: Box, subtitle: str) -> str:
    width, height = f"{drawing.width:.0f}", f"{drawing.height:.0f}"
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f"<!-- {MADE_BY} -->",
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" role="img" aria-labelledby="tree-title tree-desc" lang="en">',
        f'<title id="tree-title">{_plain(f"Fault tree: {top.name}")}</title>',
        f'<desc id="tree-desc">{_plain(_described(top, subtitle))}</desc>',
        f"<style>\n{_STYLE}@page {{ size: {width}px {height}px; margin: 0; }}\n</style>",
        f'<rect class="ground" width="{width}" height="{height}"/>',
    ]
    lines += [
        f'<path class="{each.look}" stroke-width="{each.stroke:.2f}" d="{each.path}"/>'
        for each in drawing.shapes
    ]
    for each in drawing.texts:
        anchor = "" if each.anchor == "start" else f' text-anchor="{each.anchor}"'
        bold = ' font-weight="bold"' if each.bold else ""
        lines.append(
            f'<text x="{each.x:.1f}" y="{each.y:.1f}" font-size="{each.size:g}"{anchor}{bold}>'
            f"{_plain(each.text)}</text>"
        )
    return "\n".join([*lines, "</svg>", ""])


def _plain(text: str) -> str:
    """The text as character data: escaped, without letters that XML does not have."""
    return escape("".join(letter if letter.isprintable() else " " for letter in text))


def _described(top: Box, subtitle: str) -> str:
    """The picture in words, for those who do not see it: the ways up, and the likeliest of them if told."""
    gates = sum(1 for box in walk(top) if box.gate) - 1
    faults = sum(1 for box in walk(top) if box.kind == "fault")
    ways = "; ".join(each.name for each in top.branches if each.name)
    told = f"{top.gate_words.lower()}: {ways}. {gates} gates and {faults} rows of faults below the complaint."
    marked = sorted(
        (box for box in walk(top) if box.kind == "fault" and box.weight), key=lambda box: -(box.weight or 0.0)
    )
    if marked:
        named = "; ".join(f"{box.name} ({mark_words(box)[0]})" for box in marked[:3])
        told += f" {subtitle} Most likely of 100 such cars: {named}."
    return told[0].upper() + told[1:]
