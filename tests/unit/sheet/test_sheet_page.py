"""The demo's sheet: what stands on it, how its HTML is built, and that nothing typed becomes markup."""

from __future__ import annotations

import json
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from markdown_it import MarkdownIt

from diagnose.debrief.drive import neat
from diagnose.job.journal import Journal
from diagnose.sheet.as_json import sheet_json
from diagnose.sheet.html import html_of
from diagnose.sheet.made import sheet
from diagnose.sheet.markdown import markdown_of
from diagnose.sheet.material import Material
from diagnose.sheet.page import Page, Reader
from diagnose.sheet.plain import plain_text
from tests.parsed import attributes_of, find, names_of, parsed, text_of
from tests.sheet_job import HOSTILE, NOW, demo_page, said_session

READERS: tuple[Reader, ...] = ("workshop", "owner")


@pytest.fixture(params=READERS)
def page(request: pytest.FixtureRequest) -> Page:
    return demo_page(request.param)


@pytest.fixture
def root(page: Page) -> Any:
    return parsed(html_of(page))


# Structure ----------------------------------------------------------------------------------------------


def test_one_title_and_headings_in_order(root: Any) -> None:
    # WCAG 2.2, 1.3.1 and 2.4.6: headings tell how the page is built; no level is left out.
    levels = [int(each.tag[-1]) for each in find(root, "h1", "h2", "h3", "h4")]
    assert levels.count(1) == 1 and levels[0] == 1
    assert all(next_ <= level + 1 for level, next_ in pairwise(levels))
    assert all(text_of(each) for each in find(root, "h1", "h2", "h3", "h4"))


def test_ids_are_unique_and_what_is_named_is_there(root: Any) -> None:
    ids = [value for _, key, value in attributes_of(root) if key == "id"]
    assert len(ids) == len(set(ids)) > 8
    named = [value for _, key, value in attributes_of(root) if key == "aria-labelledby"]
    assert {each for value in named for each in value.split()} <= set(ids)


def test_every_table_has_a_caption_and_heads_with_their_scope(root: Any) -> None:
    tables = find(root, "table")
    assert tables
    for table in tables:
        assert text_of(find(table, "caption")[0])
        heads = find(find(table, "thead")[0], "th")
        assert heads and all(head.attrib["scope"] == "col" and text_of(head) for head in heads)
        for row in find(find(table, "tbody")[0], "tr"):
            cells = find(row, "th", "td")
            assert len(cells) == len(heads)
            assert cells[0].tag == "th" and cells[0].attrib["scope"] == "row"
            # On a narrow screen each cell stands behind the name of its column.
            assert [c.attrib["data-label"] for c in cells[1:]] == [text_of(head) for head in heads[1:]]


def test_every_picture_has_its_name_and_description(root: Any) -> None:
    pictures = find(root, "svg")
    assert len(pictures) >= 2 and not find(root, "img")
    for svg in pictures:
        assert svg.attrib["role"] == "img"
        assert len(text_of(find(svg, "title")[0])) > 10 and len(text_of(find(svg, "desc")[0])) > 30


def test_no_script_no_address_and_a_language(root: Any, page: Page) -> None:
    assert find(root, "html")[0].attrib["lang"] == "en"
    assert not find(root, "script", "iframe", "object", "embed", "link", "a", "form", "base", "image", "use")
    keys = {key for _, key, _ in attributes_of(root)}
    assert not {key for key in keys if key.startswith("on")} and not keys & {
        "href",
        "src",
        "srcset",
        "action",
    }
    assert not re.search(r"https?:|//|url\(|@import", html_of(page))
    policies = [each.attrib.get("content", "") for each in find(root, "meta") if "http-equiv" in each.attrib]
    assert policies == ["default-src 'none'; style-src 'unsafe-inline'"]


# What stands on it --------------------------------------------------------------------------------------


def titles(page: Page) -> list[str]:
    return [section.id for section in page.all_sections()]


def test_the_workshop_has_all_that_the_job_has() -> None:
    assert titles(demo_page("workshop")) == [
        "in-short",
        "complaint",
        "car",
        "causes",
        "movement",
        "path",
        "checks",
        "readings",
        "angles",
        "drives",
        "drive-1",
        "drive-2",
        "repairs",
        "next",
        "plan",
        "stage-1",
        "afterwards",
        "notes",
    ]


def test_the_owner_has_the_short_one_without_jargon() -> None:
    page = demo_page("owner")
    assert titles(page) == [
        "in-short",
        "complaint",
        "checks",
        "causes",
        "angles",
        "repairs",
        "drives",
        "plan",
        "afterwards",
    ]
    text = markdown_of(page).lower()
    for word in (
        "prior",
        "posterior",
        "mechanism",
        "fault tree",
        "gate",
        "likelihood",
        "evidence",
        "inference",
    ):
        assert not re.search(rf"\b{word}\b", text), word
    assert len(text) < 0.5 * len(markdown_of(demo_page("workshop")))


@pytest.mark.parametrize("form", ["html", "md", "json"])
def test_the_driver_is_quoted_and_the_figures_stand_there(page: Page, form: str) -> None:
    text = written(page, form)
    # Demo: what was typed into the job.
    assert "I am sawing at the wheel all the way to the pier" in text
    assert "156 EUR" in text  # 46 for the part, 1.3 hours at 85: 46 + 110.50
    assert "free movement at the tread of this wheel, front right" in text and "5 mm" in text


def written(page: Page, form: str) -> str:
    if form == "html":
        return text_of(parsed(html_of(page)))
    if form == "md":
        return " ".join(markdown_of(page).split())
    return json.dumps(sheet_json(page), ensure_ascii=False)


@pytest.mark.slow
def test_a_reading_stands_beside_both_its_limits() -> None:
    (readings,) = [section for section in demo_page().all_sections() if section.id == "readings"]
    rows = [[cell.text for cell in row] for row in readings.blocks[0].rows]  # type: ignore[union-attr]
    # Tighter: estimate of the shipped trees; wider: 49 CFR 570.60, a quarter of an inch, 6.4 mm.
    assert [row[1:] for row in rows] == [
        ["1 mm", "from 2 mm", "from 6.4 mm", "inside the feel limit"],
        ["5 mm", "from 2 mm", "from 6.4 mm", "past the feel limit, inside the inspection limit"],
    ]


def test_where_none_of_several_grades_was_seen_it_is_said_in_its_own_words() -> None:
    (checks,) = [section for section in demo_page().all_sections() if section.id == "checks"]
    cells = [row[2].text for row in checks.blocks[0].rows]  # type: ignore[union-attr]
    assert any("where a step is felt between two parts, front: none of them" in text for text in cells)
    assert not any(text.endswith(": not seen") for text in cells)


def test_warnings_and_the_limits_of_the_advice_stand_at_their_ends(page: Page, root: Any) -> None:
    assert page.notices[0].kind == "danger" and "fit to drive" in page.notices[0].title.lower()
    text = text_of(root)
    assert text.index("fit to drive") < text.index(page.sections[0].title)
    end = text_of(find(root, "footer")[0])
    assert "does not certify" in end and "Local law" in end and "maker" in end and "licensed practice" in end


def test_cautions_stand_before_the_step_that_needs_them() -> None:
    for name in ("next", "stage-1"):
        (section,) = [each for each in demo_page().all_sections() if each.id == name]
        assert section.blocks[0].kind == "caution"  # type: ignore[union-attr]


def test_the_same_job_gives_the_same_page(page: Page) -> None:
    assert html_of(page) == html_of(page) and "2031-05-14" in html_of(page)


def test_json_names_its_format_and_is_plain(page: Page) -> None:
    found = json.loads(json.dumps(sheet_json(page), allow_nan=False))
    assert found["format"] == "handling-diagnose/sheet/1"
    assert [each["id"] for each in found["sections"]] == [section.id for section in page.sections]
    kinds = {block["is"] for section in found["sections"] for block in section["blocks"]}
    assert kinds <= {"paragraph", "quote", "list", "facts", "table", "tree", "figure", "notice"}


# What was typed -------------------------------------------------------------------------------------------


def pages(journal: Journal, words: str) -> dict[Reader, Page]:
    session = said_session(journal, words)
    material = Material(session, "job-1", NOW.date())
    return {reader: sheet(material, reader) for reader in READERS}


def skeleton(root: Any) -> tuple[list[str], Counter[tuple[str, str]]]:
    return names_of(root), Counter((name, key) for name, key, _ in attributes_of(root))


@pytest.fixture(scope="module")
def harmless(tmp_path_factory: pytest.TempPathFactory) -> dict[Reader, Page]:
    with Journal.open(tmp_path_factory.mktemp("harmless") / "jobs.sqlite", clock=lambda: NOW) as journal:
        return pages(journal, "marked")


@pytest.mark.slow
@pytest.mark.parametrize("words", HOSTILE)
def test_what_somebody_typed_stays_text(words: str, tmp_path: Path, harmless: dict[Reader, Page]) -> None:
    with Journal.open(tmp_path / "jobs.sqlite", clock=lambda: NOW) as journal:
        found = pages(journal, words)
    for reader in READERS:
        root = parsed(html_of(found[reader]))
        assert skeleton(root) == skeleton(parsed(html_of(harmless[reader])))
        # A debrief leaves out control characters before they come here, so that there the rest is shown.
        shown, meant = text_of(root), {plain_text(words), plain_text(neat(words))}
        count = sum(shown.count(each) for each in meant)
        assert count == text_of(parsed(html_of(harmless[reader]))).count("marked") >= 5
        text = MarkdownIt("gfm-like", {"html": True}).parse(markdown_of(found[reader]))
        inline = {child.type for token in text for child in token.children or ()}
        assert inline <= {"text", "softbreak", "strong_open", "strong_close"}
        assert not {token.type for token in text} & {"html_block", "fence", "code_block"}
        for form in (
            html_of(found[reader]),
            markdown_of(found[reader]),
            json.dumps(sheet_json(found[reader])),
        ):
            assert "\x1b" not in form and "\\u001b" not in form
            assert not set(form) & set("\u202e\u2066\u200f") and "\\u202e" not in form


@pytest.mark.slow
def test_without_names_nothing_that_was_typed_is_left(tmp_path: Path) -> None:
    with Journal.open(tmp_path / "jobs.sqlite", clock=lambda: NOW) as journal:
        session = said_session(journal, "qqq typed by somebody")
        named = Material(session, "job-1", NOW.date())
        bare = Material(session, "job-1", NOW.date(), nameless=True)
    for reader in READERS:
        for form in ("html", "md", "json"):
            assert "qqq" in written(sheet(named, reader), form)
            assert "qqq" not in written(sheet(bare, reader), form)
