"""Markdown: what is text is read back as the same text, by a CommonMark parser that also links addresses."""

from __future__ import annotations

import pytest
from markdown_it import MarkdownIt

from diagnose.sheet.markdown import escaped, markdown_of
from diagnose.sheet.page import Cell, Column, Listed, Page, Paragraph, Quote, Section, Table

#: CommonMark with HTML, and the tables, strike-through and bare addresses of GitHub Flavored Markdown.
READER = MarkdownIt("gfm-like", {"html": True})


@pytest.mark.parametrize(
    "text",
    [
        "plain words",
        "*bold* _too_ __and__ **more** ~~gone~~",
        "[a link](http://a.example) ![a picture](x.png) [x]: http://a.example",
        "<b onclick=x>bold</b> <!-- hidden --> <script>alert(1)</script> </div> <?x?>",
        "<http://a.example> http://a.example https://a.example",
        "www.a.example mailto:a@b.example a@b.example",
        "&lt;b&gt; &#60; &amp;",
        "# heading", "> quoted", "- item", "+ item", "* item", "1. item", "12) item", "---", "===", "- - -",
        "``` code", "`code`", "~~~", "a | b", "\\", "back\\slash\\*", "$x$", "[ ] task", "[^1]",
        "6.5 mm at 12:30", "<1 and >99",
        "+27 -6 =", "\u05d0\u05d1 and \u0645", "a  b", "#", "#hash", "-5", "+0\u00b005'",
    ],
)  # fmt: skip
def test_text_is_read_back_as_text(text: str) -> None:
    assert texts(f"{escaped(text, begins=True)}\n") == [" ".join(text.split())]
    cell = f"| {escaped(text)} |\n| --- |\n| {escaped(text)} |\n"
    assert texts(cell) == [" ".join(text.split())] * 2


def test_the_reader_would_make_markup_of_it() -> None:
    # Without the escapes these are a link, a tag, a heading, emphasis: the test above can fail.
    kinds = {
        child.type
        for source in ("see http://a.example", "a@b.example", "a <b>c</b>", "*d*", "[e](f)", "![g](h)")
        for token in READER.parse(source)
        for child in token.children or ()
    }
    assert {"link_open", "html_inline", "em_open", "image"} <= kinds


def texts(source: str) -> list[str]:
    """The text of every block; anything but plain text in one is a failure."""
    found = []
    for token in READER.parse(source):
        assert token.type not in ("html_block", "fence", "code_block", "hr"), token
        if token.type == "inline":
            kinds = {child.type for child in token.children or ()}
            assert kinds <= {"text", "softbreak"}, (source, kinds)
            found.append("".join(" " if c.type == "softbreak" else c.content for c in token.children or ()))
    return found


def page(*blocks: object) -> Page:
    section = Section("one", "One", blocks)  # type: ignore[arg-type]
    return Page("workshop", "Sheet", "Title", "about", (), (section,), ("end",))


def test_lines_are_wrapped_and_no_line_becomes_something_else() -> None:
    words = "word " * 14 + "aaaaa 1. # - > + === --- [x]: y " * 12
    found = markdown_of(page(Paragraph(words), Quote(words, "who"), Listed((words, words))))
    assert max(map(len, found.splitlines())) <= 90
    kinds = [token.type for token in READER.parse(found)]
    assert kinds.count("heading_open") == 2 and kinds.count("list_item_open") == 2
    assert kinds.count("blockquote_open") == 1 and kinds.count("hr") == 1
    assert kinds.count("ordered_list_open") == 0


def test_a_table_has_its_cells_whatever_stands_in_them() -> None:
    table = Table(
        "T", (Column("a|b"), Column("n", True)), ((Cell("x|y"), Cell("1\n2")), (Cell(""), Cell("\\|")))
    )
    kinds = [token.type for token in READER.parse(markdown_of(page(table)))]
    assert kinds.count("th_open") == 2 and kinds.count("td_open") == 4
