"""The sheet in a real browser: nothing said on the console, no scrolling sideways, pages as they are printed.

Long, and skipped where no browser is found: Debian's `chromium`, a browser of the `playwright` package, or
the one that DIAGNOSE_TEST_BROWSER names. DIAGNOSE_TEST_SHOTS names a folder to keep the pictures in.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from diagnose.sheet.html import html_of
from diagnose.sheet.made import sheet
from diagnose.sheet.page import Page, Reader
from tests.sheet_job import demo_page, searched_material

pytestmark = pytest.mark.long

READERS: tuple[Reader, ...] = ("workshop", "owner")

#: The demo's sheets, and that of a job on the largest tree in which much was ruled out.
PAGES = (*READERS, "searched")

#: Names under which Chromium is found on a path.
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")

#: Widths of a telephone (360 is the narrowest in common use), a tablet, a wide screen.
WIDTHS = (360, 768, 1440)

#: Sizes of paper in points of 1/72 inch: ISO 216 A4 (210 by 297 mm), US Letter (8.5 by 11 in).
PAPER = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}

#: Pages that the demo's sheets may take.
MOST = {"workshop": 14, "owner": 5, "searched": 9}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    api = pytest.importorskip("playwright.sync_api", reason="the `playwright` package is not installed")
    named = os.environ.get("DIAGNOSE_TEST_BROWSER") or next(filter(None, map(shutil.which, NAMES)), None)
    with api.sync_playwright() as playwright:
        own = playwright.chromium.executable_path
        path = named or (own if Path(own).exists() else None)
        if path is None:
            pytest.skip(
                "no browser is found: `apt-get install chromium`, or name one in DIAGNOSE_TEST_BROWSER"
            )
        found = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield found
        found.close()


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("sheets")
    made: dict[str, Page] = {reader: demo_page(reader) for reader in READERS}
    made["searched"] = sheet(searched_material(("wander",), 25))
    for name, page in made.items():
        (folder / f"{name}.html").write_text(html_of(page), "utf-8")
    return {name: folder / f"{name}.html" for name in made}


def shot(page: Any, name: str, tmp_path: Path) -> None:
    """A picture of the whole page, kept where somebody wants to look at it."""
    folder = Path(os.environ.get("DIAGNOSE_TEST_SHOTS") or tmp_path)
    target = folder / f"{name}.png"
    page.screenshot(path=target, full_page=True)
    assert target.stat().st_size > 10_000


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("reader", PAGES)
def test_on_a_screen(
    browser: Any, files: dict[str, Path], reader: str, width: int, scheme: str, tmp_path: Path
) -> None:
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page = context.new_page()
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(files[reader].as_uri())
    assert said == [] and asked == [files[reader].as_uri()]
    # Nothing is wider than the screen, nor does any text of a picture leave it.
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    beyond = page.evaluate(
        """() => [...document.querySelectorAll('svg text, td, th, p, li, dd, h1, h2, h3')]
        .map(e => [e.textContent, e.getBoundingClientRect()])
        .filter(([, r]) => r.width > 1 && (r.right > innerWidth + 1 || r.left < -1))
        .map(([text]) => text)"""
    )
    assert beyond == []
    # Letters of pictures can be read: 9 pixels high at least.
    least = page.evaluate(
        """() => Math.min(
        ...[...document.querySelectorAll('svg text')].map(e => e.getBoundingClientRect().height))"""
    )
    assert least >= 9
    light = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert (light == "rgb(255, 255, 255)") == (scheme == "light")
    shot(page, f"{reader}-{width}-{scheme}", tmp_path)
    context.close()


@pytest.mark.parametrize("reader", PAGES)
def test_texts_of_a_picture_do_not_lie_on_one_another(
    browser: Any, files: dict[str, Path], reader: str
) -> None:
    page = browser.new_page(viewport={"width": 900, "height": 800})
    page.goto(files[reader].as_uri())
    overlaps = page.evaluate(
        """() => [...document.querySelectorAll('svg')].flatMap(svg => {
          const all = [...svg.querySelectorAll('text')].map(e => [e.textContent, e.getBoundingClientRect()]);
          return all.flatMap(([s, a], n) => all.slice(n + 1).filter(([t, b]) =>
            Math.min(a.right, b.right) - Math.max(a.left, b.left) > 2 &&
            Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.45 * Math.min(a.height, b.height)
          ).map(([t]) => s + ' / ' + t));
        })"""
    )
    assert overlaps == []
    page.close()


@pytest.mark.parametrize("paper", list(PAPER))
@pytest.mark.parametrize("reader", PAGES)
def test_printed(browser: Any, files: dict[str, Path], reader: str, paper: str, tmp_path: Path) -> None:
    page = browser.new_page(color_scheme="dark")
    page.goto(files[reader].as_uri())
    folder = Path(os.environ.get("DIAGNOSE_TEST_SHOTS") or tmp_path)
    pdf = folder / f"{reader}-{paper}.pdf"
    page.pdf(path=pdf, format=paper)
    data = pdf.read_bytes()
    # ISO 32000-1, 7.7.3: every page is an object of type Page with its own or an inherited MediaBox.
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", data))
    assert 2 <= pages <= MOST[reader]
    boxes = {
        tuple(float(each) for each in box.split())[2:]
        for box in re.findall(rb"/MediaBox\s*\[([\d. ]+)\]", data)
    }
    assert len(boxes) == 1
    assert next(iter(boxes)) == pytest.approx(PAPER[paper], abs=1.0)
    # On paper it is dark on light, whatever the screen was set to.
    page.emulate_media(media="print", color_scheme="dark")
    ground = "getComputedStyle(document.documentElement).getPropertyValue('--ground').trim()"
    assert page.evaluate(ground) == "#ffffff"
    page.close()


def test_the_list_of_a_tree_unfolds_on_a_screen_and_is_left_out_on_paper(
    browser: Any, files: dict[str, Path]
) -> None:
    page = browser.new_page(viewport={"width": 360, "height": 800})
    page.goto(files["searched"].as_uri())
    seen = "document.querySelector('details li').checkVisibility()"
    assert not page.evaluate(seen)
    page.click("summary")
    assert page.evaluate(seen)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.click("summary")
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.querySelector('details')).display") == "none"
    # What is ruled out is struck through there too, where colours are lost.
    struck = "getComputedStyle(document.querySelector('text.name.out')).textDecorationLine"
    assert page.evaluate(struck) == "line-through"
    page.close()


def test_no_heading_is_left_alone_at_the_foot_of_a_page(browser: Any, files: dict[str, Path]) -> None:
    page = browser.new_page()
    page.goto(files["workshop"].as_uri())
    page.emulate_media(media="print")
    for name in ("h2", "h3", "thead", "caption"):
        values = page.evaluate(
            f"[...new Set([...document.querySelectorAll('{name}')].map(e => getComputedStyle(e).breakAfter))]"
        )
        assert values == ["avoid"], name
    for name in ("tr", "figure", ".notice"):
        all_ = f"[...document.querySelectorAll('{name}')]"
        values = page.evaluate(f"[...new Set({all_}.map(e => getComputedStyle(e).breakInside))]")
        assert values == ["avoid"], name
    page.close()
