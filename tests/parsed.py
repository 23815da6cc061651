"""A page of HTML as a browser reads it: parsed by the algorithm of the HTML Living Standard (html5lib)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import html5lib

__all__ = ["attributes_of", "find", "names_of", "parsed", "text_of"]

_NAMESPACES = ("{http://www.w3.org/1999/xhtml}", "{http://www.w3.org/2000/svg}")


def parsed(text: str) -> Any:
    """The root element. Every error of the markup is a failure."""
    reader = html5lib.HTMLParser(namespaceHTMLElements=False, strict=True)
    return reader.parse(text)


def name_of(element: Any) -> str:
    name = str(element.tag)
    for each in _NAMESPACES:
        name = name.removeprefix(each)
    return name


def find(root: Any, *names: str) -> list[Any]:
    """Every element of these names, in the order of the page."""
    return [each for each in root.iter() if isinstance(each.tag, str) and name_of(each) in names]


def text_of(element: Any) -> str:
    """All text in it, blanks as one."""
    return " ".join("".join(element.itertext()).split())


def names_of(root: Any) -> list[str]:
    """The names of all elements, in order; a comment would stand there as such."""
    return [name_of(each) if isinstance(each.tag, str) else "a comment" for each in root.iter()]


def attributes_of(root: Any) -> Iterator[tuple[str, str, str]]:
    """(element, attribute, value) of the whole page."""
    for each in root.iter():
        if isinstance(each.tag, str):
            for key, value in each.attrib.items():
                yield name_of(each), str(key), str(value)
