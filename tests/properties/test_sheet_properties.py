"""Whatever text stands in a page, the writers bring it out as text, and nothing beyond the template."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from diagnose.sheet.as_json import sheet_json
from diagnose.sheet.html import html_of
from diagnose.sheet.markdown import markdown_of
from diagnose.sheet.page import (
    Block,
    Branch,
    Branches,
    Cell,
    Column,
    Facts,
    Figure,
    Listed,
    Notice,
    Page,
    Paragraph,
    Quote,
    Section,
    Table,
)
from diagnose.sheet.pictures import Line, Lines, Step, Steps, Wheel, Wheels
from diagnose.sheet.plain import plain_text
from tests.parsed import attributes_of, find, name_of, names_of, parsed, text_of

#: Letters of every kind, lone surrogates among them; those that mean something in markup come up often.
LETTERS = st.characters() | st.sampled_from(
    "<>&\"'`*_[]()|\\#-+=!~:/.@ \n\t\x1b\u202e\u2066\u200b\ud800{}$%;,"
)
TEXTS = st.text(LETTERS, max_size=30) | st.sampled_from(
    (
        "</script>",
        "<svg onload=x>",
        "javascript:x",
        "&lt;",
        "-->",
        "<![CDATA[",
        "]]>",
        "http://a.example",
        "](x)",
    )
)


def page_of(texts: list[str]) -> Page:
    """A page with one of each kind of block, the texts in every place where a text can stand."""
    t = [*texts]
    cells = ((Cell(t[0], "bad"), Cell(t[1], "", 0.5)), (Cell(t[2]), Cell(t[3])))
    blocks: tuple[Block, ...] = (
        Paragraph(t[0], "lead"),
        Quote(t[1], t[2]),
        Listed((t[3], t[4])),
        Listed((t[5],), ordered=True),
        Facts(((t[0], t[1]), (t[2], t[3]))),
        Table(t[4], (Column(t[5]), Column(t[6], True)), cells, total=True),
        Branches((Branch(t[0], t[1], "bad", (Branch(t[2], "", "quiet"),)),)),
        Notice("danger", t[3], (t[4], t[5])),
    )
    figures: tuple[Block, ...] = (
        Figure(Lines(t[0], t[1], (t[2], t[3]), (Line(t[4], (0.1, 0.2)), Line(t[5], (None, 0.3)))), t[6]),
        Figure(Steps(t[0], t[1], (Step(t[2], 0.0, t[3], 0.0),), (Step(t[4], 9.0, t[5], 0.5),)), t[6]),
        Figure(
            Wheels(t[0], t[1], tuple(Wheel(t[2], 0.1, 0.1, ((t[3], "out"),)) for _ in range(4)), 0.1, t[4]),
            "",
        ),
    )
    notice = Notice("caution", t[0], (t[1],))
    section = Section("one", t[6], blocks, (Section("two", t[5], figures),))
    return Page("workshop", t[0], t[1], t[2], (notice,), (section,), (t[3],))


HARMLESS = parsed(html_of(page_of(["word"] * 7)))
KNOWN = {(name, key) for name, key, _ in attributes_of(HARMLESS)}


def harmless(texts: list[str]) -> Any:
    """The same page with a plain word in the place of every text that is not empty."""
    return parsed(html_of(page_of(["word" if plain_text(text) else "" for text in texts])))


def outside_pictures(root: Any) -> list[str]:
    """The names of all elements but those in pictures, where a long name takes more rows."""
    inside = {id(each) for svg in find(root, "svg") for each in svg.iter()}
    return [name_of(each) for each in root.iter() if isinstance(each.tag, str) and id(each) not in inside]


@pytest.mark.slow
@given(st.lists(TEXTS, min_size=7, max_size=7))
def test_html_has_no_element_and_no_attribute_beyond_the_templates(texts: list[str]) -> None:
    source = html_of(page_of(texts))
    source.encode("utf-8")
    root = parsed(source)
    assert outside_pictures(root) == outside_pictures(harmless(texts))
    assert set(names_of(root)) <= set(names_of(HARMLESS))
    assert {(name, key) for name, key, _ in attributes_of(root)} <= KNOWN


@pytest.mark.slow
@given(st.lists(TEXTS, min_size=7, max_size=7))
def test_html_has_every_text_as_it_is(texts: list[str]) -> None:
    root = parsed(html_of(page_of(texts)))
    shown = [plain_text(text) for text in texts]
    assert [text_of(each) for each in find(root, "h1", "h2", "h3")] == [shown[1], shown[6], shown[5]]
    assert [text_of(each) for each in find(root, "blockquote")[0]] == [shown[1], shown[2]]
    assert [text_of(each) for each in find(root, "dt", "dd")] == shown[:4]
    table = find(root, "table")[0]
    assert text_of(find(table, "caption")[0]) == shown[4]
    assert [text_of(each) for each in find(table, "th", "td")] == [shown[5], shown[6], *shown[:4]]
    assert [value for _, key, value in attributes_of(table) if key == "data-label"] == [shown[6]] * 2
    for svg in find(root, "svg"):
        assert [text_of(each) for each in find(svg, "title", "desc")] == shown[:2]


@given(st.lists(TEXTS, min_size=7, max_size=7))
def test_markdown_reads_back_as_text(texts: list[str]) -> None:
    tokens = MarkdownIt("gfm-like", {"html": True}).parse(markdown_of(page_of(texts)))
    kinds = {child.type for token in tokens for child in token.children or ()}
    assert kinds <= {"text", "softbreak", "strong_open", "strong_close"}
    assert not {token.type for token in tokens} & {"html_block", "fence", "code_block"}
    assert sum(token.type == "heading_open" for token in tokens) == 3
    assert sum(token.type == "td_open" for token in tokens) == 4 + 6 + 6


@given(st.lists(TEXTS, min_size=7, max_size=7))
def test_json_holds_every_text(texts: list[str]) -> None:
    found = json.loads(json.dumps(sheet_json(page_of(texts)), allow_nan=False))
    assert found["title"] == plain_text(texts[1])
    assert found["sections"][0]["blocks"][1] == {
        "is": "quote",
        "text": plain_text(texts[1]),
        "by": plain_text(texts[2]),
    }
