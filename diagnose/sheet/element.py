"""Elements of HTML and SVG as frozen data, and the one door through which text becomes markup.

There is no way to put ready-made markup into a page: what is not an element is text, and text is escaped.
Names of elements and attributes come from the templates, and are checked all the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape

from diagnose.sheet.plain import plain_text

__all__ = ["Child", "Element", "element", "rendered"]

_NAME = re.compile(r"[a-zA-Z][a-zA-Z0-9-]*")

#: Elements that have no end (HTML Living Standard, 13.1.2, void elements; those used here).
_VOID = frozenset({"meta", "br", "col"})

#: Elements that begin on a line of their own, so that the source can be read.
_LINES = frozenset(
    [
        "html",
        "head",
        "body",
        "meta",
        "title",
        "style",
        "header",
        "main",
        "footer",
        "section",
        "h1",
        "h2",
        "h3",
        "h4",
        "p",
        "ul",
        "ol",
        "li",
        "dl",
        "dt",
        "dd",
        "div",
        "table",
        "caption",
        "thead",
        "tbody",
        "tr",
        "blockquote",
        "figure",
        "figcaption",
        "aside",
        "details",
        "summary",
        "svg",
        "g",
        "nav",
    ]
)


@dataclass(frozen=True, slots=True)
class Element:
    """One element: its name, its attributes in order, its children (elements and text)."""

    name: str
    attributes: tuple[tuple[str, str], ...]
    children: tuple[Child, ...]


Child = Element | str


def element(
    name: str, /, *children: Child | Iterable[Child] | None, **attributes: str | float | None
) -> Element:
    """An element. Children may be nested in lists; None is left out.

    Attributes: `class_` for `class`, `_` for `-`; one that is None is left out; numbers are written short.
    """
    named = tuple(
        (key.rstrip("_").replace("_", "-"), _written(value))
        for key, value in attributes.items()
        if value is not None
    )
    for each in (name, *(key for key, _ in named)):
        if not _NAME.fullmatch(each):
            raise ValueError(f"{each!r} is not a name of an element or attribute")
    return Element(name, named, tuple(_flat(children)))


def _flat(children: Iterable[Child | Iterable[Child] | None]) -> Iterator[Child]:
    for child in children:
        if isinstance(child, str | Element):
            yield child
        elif child is not None:
            yield from _flat(child)


def _written(value: str | float) -> str:
    """An attribute's value; numbers to a hundredth."""
    if isinstance(value, str):
        return value
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def rendered(root: Element) -> str:
    """The element as text. Whatever stands in it as text or as the value of an attribute comes out as "
    "such."""
    return "".join(_pieces(root)).strip() + "\n"


def _pieces(one: Child) -> Iterator[str]:
    if isinstance(one, str):
        yield _text(one)
        return
    if one.name in _LINES:
        yield "\n"
    attributes = "".join(f' {key}="{escape(plain_text(value))}"' for key, value in one.attributes)
    yield f"<{one.name}{attributes}>"
    if one.name in _VOID:
        return
    if one.name == "style":
        yield from map(_style, one.children)
    else:
        for child in one.children:
            yield from _pieces(child)
    yield f"</{one.name}>"


def _text(text: str) -> str:
    """Text with its blanks at the ends, which part it from its neighbours."""
    plain = plain_text(text)
    if not plain:
        return " " if text[:1].isspace() else ""
    before = " " if text[0].isspace() else ""
    after = " " if text[-1].isspace() else ""
    return f"{before}{escape(plain)}{after}"


def _style(text: Child) -> str:
    """A style sheet, which is not escaped: it comes from the program alone, and cannot end early."""
    if not isinstance(text, str) or "<" in text:
        raise ValueError("a style sheet is text without '<'")
    return text
