"""A sheet as Markdown (CommonMark, with the tables of GitHub Flavored Markdown), wrapped to be read as it is.

`escaped` is the one door for text: what stands in it is read back as the same text, never as markup, a link,
HTML or an entity. Pictures stand there in words and figures.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator

from diagnose.sheet import page as p
from diagnose.sheet.pictures import Lines, Picture, Steps, Ways
from diagnose.sheet.plain import plain_text
from diagnose.words import of_100

__all__ = ["escaped", "markdown_of"]

#: Columns of a line of text.
_WIDTH = 80

#: What means something wherever it stands: code, emphasis, links, tables, strike-through, mathematics.
_ANYWHERE = re.compile(r"([\\`*_\[\]|~$])")

#: What means something in some places: a tag, an entity, an address.
_TAG = re.compile(r"<(?=[A-Za-z/!?])")
_ENTITY = re.compile(r"&(?=#|[A-Za-z])")
_ADDRESS = re.compile(r"(?<=\w)([.:@])(?=[\w/])")

#: What makes a line a heading, a list, a quotation, a rule or an underline, where it begins with it.
_BEGINS = re.compile(r"^(>|#{1,6}(?=\s|$)|[+-](?=\s|$)|[-=](?=[-=\s]*$)|\d{1,9}(?=[.)](?:\s|$)))")


def escaped(text: str, begins: bool = False) -> str:
    """The text so that it is read back as it is. begins: it stands at the beginning of a line."""
    text = _ANYWHERE.sub(r"\\\1", plain_text(text))
    text = _ENTITY.sub(r"\\&", _TAG.sub(r"\\<", text))
    text = _ADDRESS.sub(lambda found: found[1] if _in_number(text, found) else "\\" + found[1], text)
    if begins:
        text = _BEGINS.sub(lambda found: f"{found[1]}\\" if found[1][0].isdigit() else f"\\{found[1]}", text)
    return text


def _in_number(text: str, found: re.Match[str]) -> bool:
    """True for the point of `6.5` and the colon of `12:30`."""
    at = found.start()
    around = text[at - 1] + text[at + 1 : at + 2]
    return found[1] != "@" and around.isascii() and around.isdigit() and len(around) == 2


def markdown_of(page: p.Page) -> str:
    """The whole page."""
    return "\n".join(_page(page)).rstrip("\n") + "\n"


def _page(page: p.Page) -> Iterator[str]:
    yield f"# {escaped(page.title)}"
    yield ""
    yield from _wrapped(f"{page.kicker}. {page.about}")
    for notice in page.notices:
        yield from _notice(notice)
    for section in page.sections:
        yield from _section(section, 2)
    yield "---"
    yield ""
    for each in page.closing:
        yield from _wrapped(each)


def _wrapped(text: str, first: str = "", rest: str = "") -> Iterator[str]:
    """A paragraph, wrapped, each line behind `first` or `rest`; with an empty line after it."""
    yield from _lines(text, first, rest)
    yield rest.rstrip() if rest.startswith(">") else ""


def _lines(text: str, first: str = "", rest: str = "") -> Iterator[str]:
    """The same without the empty line; nothing where there is no text, for a sign alone means other "
    "things."""
    lines = textwrap.wrap(
        plain_text(text), _WIDTH - len(first), break_long_words=False, break_on_hyphens=False
    )
    for number, line in enumerate(lines):
        yield (rest if number else first) + escaped(line, begins=True)


def _section(section: p.Section, level: int) -> Iterator[str]:
    yield f"{'#' * level} {escaped(section.title)}"
    yield ""
    for block in section.blocks:
        yield from _block(block)
    for each in section.below:
        yield from _section(each, level + 1)


def _block(block: p.Block) -> Iterator[str]:
    if isinstance(block, p.Paragraph):
        yield from _wrapped(block.text)
    elif isinstance(block, p.Quote):
        yield from _wrapped(block.text, "> ", "> ")
        yield from _lines(block.by, "> ", "> ")
        yield ""
    elif isinstance(block, p.Listed):
        for number, item in enumerate(block.items, start=1):
            sign = f"{number}. " if block.ordered else "- "
            yield from _lines(item, sign, " " * len(sign))
        yield ""
    elif isinstance(block, p.Facts):
        for name, value in block.rows:
            yield from _lines(f"{name}: {value}", "* ", "  ")
        yield ""
    elif isinstance(block, p.Table):
        yield from _table(block)
    elif isinstance(block, p.Branches):
        for branch in block.top:
            yield from _branch(branch, 0)
        yield ""
    elif isinstance(block, p.Figure) and isinstance(block.picture, Ways):
        # It is a list with marks, and stands below as such.
        return
    elif isinstance(block, p.Figure):
        yield from _picture(block.picture)
        yield from _wrapped(block.caption)
    else:
        yield from _notice(block)


def _notice(notice: p.Notice) -> Iterator[str]:
    if plain_text(notice.title):
        yield f"> **{escaped(notice.title)}**"
    for line in notice.lines:
        yield ">"
        yield from _lines(line, "> ", "> ")
    yield ""


def _branch(branch: p.Branch, depth: int) -> Iterator[str]:
    indent = "  " * depth
    said = f"{branch.text} ({branch.figure})" if branch.figure else branch.text
    yield from _lines(said, f"{indent}- ", f"{indent}  ")
    for each in branch.below:
        yield from _branch(each, depth + 1)


def _table(table: p.Table) -> Iterator[str]:
    yield from _wrapped(f"{table.caption}:")
    yield _row([escaped(column.name) for column in table.columns])
    yield _row(["---:" if column.number else "---" for column in table.columns])
    for row in table.rows:
        yield _row([escaped(cell.text) for cell in row])
    yield ""


def _row(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _picture(picture: Picture) -> Iterator[str]:
    """What the picture shows, in words, and its figures as a table."""
    yield from _wrapped(f"{picture.title}. {picture.description}")
    if isinstance(picture, Lines):
        yield _row(["answer", *(escaped(line.name) for line in picture.lines)])
        yield _row(["---", *("---:" for _ in picture.lines)])
        for number, point in enumerate(picture.points):
            values = [line.values[number] for line in picture.lines]
            told = ["" if value is None else of_100(value) for value in values]
            yield _row([escaped(f"{number + 1} {point}"), *told])
        yield ""
    elif isinstance(picture, Steps):
        yield _row(["stage", "spent", "gone, of 100"])
        yield _row(["---", "---:", "---:"])
        for step in (*picture.steps, *picture.others):
            yield _row([escaped(step.name), escaped(step.shown), of_100(step.gone)])
        yield ""
