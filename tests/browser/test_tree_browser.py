"""The largest drawn tree in a real browser: on one page of its own size, its texts apart and on the sheet."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Any

import pytest

from diagnose.drawing.picture import picture, walk
from diagnose.drawing.svg import svg
from tests.browser.test_sheet_browser import browser
from tests.shipped import LIBRARY

__all__ = ["browser"]

pytestmark = pytest.mark.long

LARGEST = max(LIBRARY.complaints, key=lambda each: sum(1 for _ in walk(picture(LIBRARY, each))))


@pytest.fixture
def drawn(tmp_path: Path) -> Path:
    path = tmp_path / "tree.svg"
    path.write_text(svg(picture(LIBRARY, LARGEST)), "utf-8")
    return path


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_on_a_screen(browser: Any, drawn: Path, scheme: str, tmp_path: Path) -> None:
    page = browser.new_page(viewport={"width": 1440, "height": 900}, color_scheme=scheme)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(drawn.as_uri())
    assert said == []
    # It is drawn at its own size, however narrow the window: letters are 11 pixels or more.
    least = "Math.min(...[...document.querySelectorAll('text')].map(e => e.getBoundingClientRect().height))"
    assert page.evaluate(least) >= 9
    beyond, over = page.evaluate(
        """() => {
          const sheet = document.documentElement.viewBox.baseVal;
          const all = [...document.querySelectorAll('text')].map(e => [e.textContent, e.getBBox()]);
          const off = all.filter(([, b]) => b.x < 0 || b.y < 0 || b.x + b.width > sheet.width ||
            b.y + b.height > sheet.height).map(([t]) => t);
          const over = all.flatMap(([s, a], n) => all.slice(n + 1).filter(([t, b]) =>
            Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x) > 2 &&
            Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y) >
              0.45 * Math.min(a.height, b.height)
          ).map(([t]) => s + ' / ' + t));
          return [off, over];
        }"""
    )
    assert beyond == [] and over == []
    # A browser takes no picture of more than the window of a document that is no page.
    folder = Path(os.environ.get("DIAGNOSE_TEST_SHOTS") or tmp_path)
    page.screenshot(path=folder / f"tree-{scheme}.png")
    page.close()


def test_printed_it_is_one_page(browser: Any, drawn: Path, tmp_path: Path) -> None:
    page = browser.new_page(color_scheme="dark")
    page.goto(drawn.as_uri())
    page.pdf(path=tmp_path / "tree.pdf", prefer_css_page_size=True)
    # ISO 32000-1, 7.7.3: every page is an object of type Page.
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", (tmp_path / "tree.pdf").read_bytes())) == 1
    page.close()
