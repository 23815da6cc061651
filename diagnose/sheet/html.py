"""A sheet as one HTML file: no script, nothing fetched, for screens of any width and for paper."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from diagnose.sheet import page as p
from diagnose.sheet.draw import draw
from diagnose.sheet.element import Child, Element, element, rendered
from diagnose.sheet.plain import plain_text
from diagnose.sheet.style import STYLE

__all__ = ["html_of"]

#: How a mark is named for the style sheet.
_MARKS = {"": None, "good": "good", "near": "near", "bad": "bad", "quiet": "quiet"}

#: Nothing may be fetched and no script may run, whatever stands in the page (Content Security Policy).
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def html_of(page: p.Page) -> str:
    """The whole file. Ids of headings, pictures and captions are unique."""
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=_POLICY),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("meta", name="color-scheme", content="light dark"),
        element("meta", name="referrer", content="no-referrer"),
        element("title", f"{page.kicker}: {page.title}"),
        element("style", STYLE),
    )
    body = element(
        "body",
        element(
            "header",
            element("p", page.kicker, class_="kicker"),
            element("h1", page.title, dir="auto"),
            element("p", page.about, class_="about", dir="auto"),
        ),
        element(
            "main",
            [_notice(each) for each in page.notices],
            [_section(each, 2) for each in page.sections],
        ),
        element("footer", [element("p", each) for each in page.closing]),
        class_=page.reader,
    )
    return "<!DOCTYPE html>" + "\n" + rendered(element("html", head, body, lang="en"))


def _section(section: p.Section, level: int) -> Element:
    return element(
        "section",
        element(f"h{level}", section.title, id=section.id),
        list(_blocks(section)),
        [_section(each, level + 1) for each in section.below],
        aria_labelledby=section.id,
    )


def _blocks(section: p.Section) -> Iterator[Element]:
    """The blocks of a section; pictures that follow one another stand side by side where there is room."""
    numbered = list(enumerate(section.blocks, start=1))
    for pictures, some in groupby(numbered, key=lambda item: isinstance(item[1], p.Figure)):
        made = [_block(block, f"{section.id}-{number}") for number, block in some]
        if pictures and len(made) > 1:
            yield element("div", made, class_="figures")
        else:
            yield from made


def _block(block: p.Block, name: str) -> Element:
    if isinstance(block, p.Paragraph):
        return element("p", block.text, class_=None if block.kind == "plain" else block.kind, dir="auto")
    if isinstance(block, p.Quote):
        return element(
            "blockquote",
            element("p", block.text, dir="auto"),
            element("p", block.by, class_="by", dir="auto"),
        )
    if isinstance(block, p.Listed):
        items = [element("li", item, dir="auto") for item in block.items]
        return element("ol" if block.ordered else "ul", items)
    if isinstance(block, p.Facts):
        return element("dl", list(_facts(block)))
    if isinstance(block, p.Table):
        return _table(block)
    if isinstance(block, p.Branches):
        tree = _branches(block.top, "tree")
        return element("details", element("summary", block.again), tree) if block.again else tree
    if isinstance(block, p.Figure):
        caption = element("figcaption", block.caption, dir="auto")
        # The name of the kind, for the style sheet: `lines`, `steps`, `wheels`, `ways`.
        return element(
            "figure", draw(name, block.picture), caption, class_=type(block.picture).__name__.lower()
        )
    return _notice(block)


def _notice(notice: p.Notice) -> Element:
    """What must not be missed; its kind stands in its title's words, not in a colour alone."""
    return element(
        "div",
        element("p", element("strong", notice.title)),
        [element("p", line, dir="auto") for line in notice.lines],
        class_=f"notice {notice.kind}",
        role="note",
        aria_label=notice.title,
    )


def _facts(facts: p.Facts) -> Iterator[Element]:
    for name, value in facts.rows:
        yield element("div", element("dt", name), element("dd", value, dir="auto"))


def _branches(branches: tuple[p.Branch, ...], class_: str | None = None) -> Element:
    items = []
    for branch in branches:
        below = _branches(branch.below) if branch.below else None
        figure = element("span", branch.figure, class_="figure") if plain_text(branch.figure) else None
        said: list[Child] = [element("span", branch.text, class_="name"), *((" ", figure) if figure else ())]
        items.append(element("li", said, below, class_=_MARKS[branch.mark]))
    return element("ul", items, class_=class_)


def _table(table: p.Table) -> Element:
    """A table that on a narrow screen becomes a list of its rows, each cell behind the name of its column.

    There the browser shows it as blocks, so that the roles of a table are said outright.
    """
    heads = [
        element(
            "th", column.name, scope="col", role="columnheader", class_="number" if column.number else None
        )
        for column in table.columns
    ]
    rows = []
    for number, row in enumerate(table.rows):
        last = table.total and number == len(table.rows) - 1
        cells = [
            _cell(cell, column, n == 0)
            for n, (cell, column) in enumerate(zip(row, table.columns, strict=True))
        ]
        rows.append(element("tr", cells, role="row", class_="total" if last else None))
    return element(
        "table",
        element("caption", table.caption),
        element("thead", element("tr", heads, role="row"), role="rowgroup"),
        element("tbody", rows, role="rowgroup"),
        role="table",
    )


def _cell(cell: p.Cell, column: p.Column, names: bool) -> Element:
    kinds = [
        _MARKS[cell.mark] or "",
        "number" if column.number else "",
        "" if plain_text(cell.text) else "empty",
    ]
    class_ = " ".join(kind for kind in kinds if kind) or None
    bar = None
    if cell.share is not None:
        width = 100.0 * min(max(cell.share, 0.0), 1.0)
        bar = element("span", element("span", style=f"width: {width:.0f}%"), class_="bar", aria_hidden="true")
    if names:
        return element("th", element("bdi", cell.text), bar, scope="row", role="rowheader", class_=class_)
    return element("td", element("bdi", cell.text), bar, role="cell", data_label=column.name, class_=class_)
