"""The way through the fault tree as a picture: what is on it, how it stands, and how it is drawn.

What is believed comes from the belief, which other tests hold to published examples; here the picture is
held to the belief, cause by cause, and to the rules for what is shown.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.drawing.picture import picture, walk
from diagnose.job.journal import Journal
from diagnose.sheet.draw import draw
from diagnose.sheet.element import Element, rendered
from diagnose.sheet.html import html_of
from diagnose.sheet.made import sheet
from diagnose.sheet.markdown import markdown_of
from diagnose.sheet.material import Material
from diagnose.sheet.page import Branches, Figure, Page, Section
from diagnose.sheet.pictures import Way, Ways
from diagnose.sheet.svg_ways import HIGHEST, WIDE, pieces
from diagnose.sheet.ways import MOST, MOST_BELOW, all_of, first_word, ways_of
from diagnose.words import SHOWN, stands
from tests.parsed import attributes_of, find, names_of, parsed, text_of
from tests.sheet_job import HOSTILE, NOW, demo_page, said_session, searched_material
from tests.shipped import LIBRARY

#: The complaint of the shipped library with the largest tree.
LARGEST = "wander"

#: Those with the most rows.
LARGE = sorted(LIBRARY.complaints, key=lambda each: -sum(1 for _ in walk(picture(LIBRARY, each))))[:12]


def material(complaints: tuple[str, ...] = (LARGEST,), answers: int = 25) -> Material:
    """A job in which so much was looked at and nothing seen."""
    return searched_material(complaints, answers)


def path_of(page: Page) -> Section:
    (found,) = [each for each in page.all_sections() if each.id == "path"]
    return found


def figures_of(page: Page) -> list[Ways]:
    return [
        block.picture
        for block in path_of(page).blocks
        if isinstance(block, Figure) and isinstance(block.picture, Ways)
    ]


# What is on it ----------------------------------------------------------------------------------------


@pytest.mark.slow
def test_rows_are_what_the_belief_says_of_their_causes() -> None:
    job = material()
    now, before = job.brought, first_word(job.brought)
    told = [way for way in all_of(ways_of(job, LARGEST, before, now)) if way.kind == "fault"]
    assert len(told) > 4
    causes = [(job.cause(each.id), number) for number, each in enumerate(now.causes)]
    for way in told:
        # Mates that stand alike share a row, which begins with the name of the first; a few faults that
        # exclude each other by layout have one name.
        name = max((name for name, _ in causes if way.name.startswith(name)), key=len)
        said = [
            (float(before.to_blame[number]), float(now.to_blame[number]))
            for each, number in causes
            if each == name
        ]
        assert any((way.was, way.now) == pytest.approx(each) for each in said)
        assert way.was is not None and way.now is not None
        assert max(way.was, way.now) >= SHOWN and way.state == stands(way.was, way.now)
    for way in all_of(ways_of(job, LARGEST, before, now)):
        if way.kind == "mechanism":
            (key,) = [each.id for each in LIBRARY.mechanisms.values() if each.name == way.name]
            assert way.now == pytest.approx(now.mechanisms[key])
            assert way.was == pytest.approx(before.mechanisms[key])


def test_what_a_row_says_is_told_by_its_figures() -> None:
    ways = list(all_of(ways_of(material(), LARGEST, first_word(material().brought), material().brought)))
    out = [way for way in ways if way.state == "out"]
    assert len(out) > 5 and all("as good as ruled out" in way.figure for way in out if way.kind == "fault")
    assert not [way for way in ways if way.state != "out" and "ruled out" in way.figure]
    # Nothing stands under what was ruled out with all that is under it.
    assert all(not way.below for way in out if way.kind == "mechanism")


def test_the_demo_shows_what_was_put_right_since_and_what_led_to_it() -> None:
    rows = [way for shown in figures_of(demo_page()) for way in all_of(shown.top)]
    by_name = {way.name: way for way in rows}
    renewed = by_name["outer tie rod end: play in the ball socket, front right"]
    assert renewed.state == "done" and renewed.figure.endswith("put right since")
    assert by_name["lost motion in the rods and links between gear and wheels"].state == "leads"
    assert by_name["outer tie rod end: play in the ball socket, front left"].state == "out"


def test_the_list_says_the_same_as_the_picture() -> None:
    for page in (demo_page(), sheet(material())):
        (tree,) = [block for block in path_of(page).blocks if isinstance(block, Branches)]
        listed, waiting = [], list(tree.top)
        while waiting:
            branch = waiting.pop(0)
            listed.append(branch.text)
            waiting = [*branch.below, *waiting]
        drawn = [way.name for shown in figures_of(page) for way in all_of(shown.top)]
        top = tree.top[0].text
        assert [name for name in drawn if name != top] == [name for name in listed if name != top]


@pytest.mark.slow
def test_of_many_rows_the_lightest_share_one() -> None:
    for complaint in LARGE:
        job = material((complaint,), 1)
        now = job.brought
        for way in all_of(ways_of(job, complaint, first_word(now), now)):
            assert len(way.below) <= (MOST if way.kind == "complaint" else MOST_BELOW)
            if way.below and way.below[-1].kind == "rest":
                assert len(way.below) >= MOST_BELOW and int(way.below[-1].name.split()[0]) > 1


@pytest.mark.slow
def test_each_complaint_of_a_job_has_its_picture() -> None:
    page = sheet(material(("wander", "front-clunk-over-bumps"), 3))
    tops = [shown.top.name for shown in figures_of(page)]
    assert set(tops) == {LIBRARY.complaints["wander"].name, LIBRARY.complaints["front-clunk-over-bumps"].name}


# How it is drawn --------------------------------------------------------------------------------------


def drawing(shown: Ways) -> Element:
    return draw("p", shown)


def as_page(shown: Ways) -> object:
    head = "<!DOCTYPE html><html><head><title>t</title></head><body>"
    return parsed(f"{head}{rendered(drawing(shown))}</body></html>")


def texts(shown: Ways) -> list[tuple[float, float, str]]:
    return [
        (float(each.attrib["x"]), float(each.attrib["y"]), text_of(each))
        for each in find(as_page(shown), "text")
    ]


def way_trees() -> st.SearchStrategy[Way]:
    names = st.text(min_size=1, max_size=90)
    parts = st.one_of(st.none(), st.floats(0.0, 1.0))
    states = st.sampled_from(["leads", "open", "out", "done"])
    leaf = st.builds(Way, st.just("fault"), names, states, parts, parts, names)
    return st.recursive(
        leaf,
        lambda below: st.builds(
            Way,
            st.sampled_from(["mechanism", "gate"]),
            names,
            states,
            parts,
            parts,
            names,
            st.sampled_from(["", "all of these"]),
            st.lists(below, min_size=1, max_size=4).map(tuple),
        ),
        max_leaves=12,
    )


@settings(deadline=None)
@given(way_trees())
def test_whatever_the_tree_says_is_text_in_its_place(way: Way) -> None:
    root = as_page(Ways("title", "description", Way("complaint", "demo", below=(way,))))
    kinds = {
        "html",
        "head",
        "title",
        "body",
        "svg",
        "desc",
        "path",
        "circle",
        "polygon",
        "rect",
        "line",
        "text",
    }
    assert set(names_of(root)) <= kinds
    (svg,) = find(root, "svg")
    *_, wide, high = map(float, svg.attrib["viewBox"].split())
    assert wide == WIDE
    rows = [float(each.attrib["y"]) for each in find(root, "text")]
    assert all(0 <= y <= high for y in rows) and rows == sorted(rows)
    for shape in find(root, "rect"):
        # A bar is never longer than its scale.
        assert 0.0 <= float(shape.attrib["width"]) <= 40.0


@settings(deadline=None)
@given(st.lists(way_trees(), min_size=1, max_size=8))
def test_parts_hold_every_branch_once_in_its_order(branches: list[Way]) -> None:
    top = Way("complaint", "demo", below=tuple(branches))
    parts = pieces(top)
    assert [each for part in parts for each in part.below] == branches
    assert all(part.name == top.name and part.below for part in parts)


def test_parts_fit_a_page_of_the_largest_trees() -> None:
    for complaint in LARGE:
        job = material((complaint,), 1)
        top = ways_of(job, complaint, first_word(job.brought), job.brought)
        for part in pieces(top):
            high = float(drawing(Ways("t", "d", part)).attributes[1][1].split()[-1])
            assert high <= HIGHEST + 4.0, complaint


@pytest.mark.parametrize("words", HOSTILE)
def test_no_name_of_a_tree_becomes_markup(words: str) -> None:
    def of(name: str) -> object:
        inner = Way("fault", name, "out", 0.2, 0.0, name)
        return as_page(Ways(name, name, Way("complaint", name, below=(inner,))))

    assert set(names_of(of(words))) == set(names_of(of("marked")))
    kinds = {(name, key) for name, key, _ in attributes_of(of("marked"))}
    assert {(name, key) for name, key, _ in attributes_of(of(words))} == kinds


@pytest.mark.slow
def test_what_was_typed_is_not_on_it(tmp_path: Path) -> None:
    with Journal.open(tmp_path / "jobs.sqlite", clock=lambda: NOW) as journal:
        session = said_session(journal, "typed by somebody (demo)")
        page = sheet(Material(session, session.job, NOW.date()))
        for section in page.all_sections():
            if section.id == "path":
                assert "typed by somebody" not in repr(section)


def test_how_it_stands_is_told_by_mark_line_words_and_a_struck_name() -> None:
    rows = tuple(
        Way("fault", f"demo {state}", state, 0.5, 0.5, f"words for {state}")
        for state in ("leads", "open", "out", "done")
    )
    root = as_page(Ways("t", "d", Way("complaint", "demo", below=rows)))
    shapes = [
        (each.tag.rpartition("}")[2], each.attrib["class"].split()[-1])
        for each in find(root, "circle", "path", "polygon")
        if each.attrib.get("class", "").startswith("state") and "top" not in each.attrib["class"]
    ]
    assert shapes == [("circle", "disc"), ("circle", "ring"), ("path", "cross"), ("polygon", "diamond")]
    dashed = [each.attrib["class"] for each in find(root, "path") if "stroke-dasharray" in each.attrib]
    assert dashed == ["way out"]
    said = [text for _, _, text in texts(Ways("t", "d", Way("complaint", "demo", below=rows)))]
    assert {f"words for {way.state}" for way in rows} <= set(said)


def test_lines_are_thicker_and_bars_longer_the_likelier_it_is() -> None:
    rows = tuple(Way("fault", f"demo {n}", "open", 0.1, n / 10.0, "words") for n in range(1, 10))
    root = as_page(Ways("t", "d", Way("complaint", "demo", below=rows)))
    lines = [
        float(each.attrib["stroke-width"]) for each in find(root, "path") if "stroke-width" in each.attrib
    ]
    bars = [float(each.attrib["width"]) for each in find(root, "rect") if "amount" in each.attrib["class"]]
    assert lines == sorted(set(lines)) and bars == pytest.approx([4.0 * n for n in range(1, 10)])
    (first, *others) = [float(each.attrib["x1"]) for each in find(root, "line")]
    assert all(each == first for each in others)


# On the page ------------------------------------------------------------------------------------------


def test_on_the_page_the_list_is_folded_under_the_picture() -> None:
    root = parsed(html_of(demo_page()))
    (folded,) = find(root, "details")
    assert text_of(find(folded, "summary")[0]) == "The same as a list"
    assert "open" not in folded.attrib and len(find(folded, "li")) > 10


def test_in_markdown_the_list_stands_alone() -> None:
    text = markdown_of(demo_page())
    part = text[text.index("## The way through") : text.index("## What was looked at")]
    assert "  - outer tie rod end: play" in part.replace("    - ", "  - ")
    assert "Disc" not in part and "| " not in part


def test_the_owner_is_told_in_words_what_was_ruled_out() -> None:
    page = demo_page("owner")
    assert "Looked into, and as good as ruled out: outer tie rod end" in " ".join(markdown_of(page).split())
    assert not [block for each in page.all_sections() for block in each.blocks if isinstance(block, Branches)]
