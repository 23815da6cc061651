"""Pictures of trees: nothing overlaps, nothing is lost, nothing can slip in as markup."""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import matplotlib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from diagnose.belief.belief import Belief, Car
from diagnose.drawing.believed import marks_of
from diagnose.drawing.dot import dot
from diagnose.drawing.layout import laid_out
from diagnose.drawing.mermaid import mermaid
from diagnose.drawing.metrics import fitted, text_width
from diagnose.drawing.picture import Box, mark_words, picture, walk
from diagnose.drawing.sheet import SIZE
from diagnose.drawing.svg import MADE_BY, svg
from diagnose.model.story import Heard, Story
from diagnose.model.vehicle import Vehicle
from tests.examples import often
from tests.shipped import LIBRARY

SVG = "{http://www.w3.org/2000/svg}"
FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"

#: A rectangle: left, top, right, bottom.
Area = tuple[float, float, float, float]


def font(size: float, bold: bool) -> ImageFont.FreeTypeFont:
    """The font itself, not our table of its widths. Both are public and wide; browsers fall back on it."""
    return ImageFont.truetype(FONTS / f"DejaVuSans{'-Bold' if bold else ''}.ttf", size)


def measured(root: ElementTree.Element) -> Iterator[tuple[str, Area]]:
    """Every text of a picture and the area that its letters fill, by the font."""
    for each in root.iter(f"{SVG}text"):
        words = each.text or ""
        size = float(each.attrib["font-size"])
        face = font(size, each.get("font-weight") == "bold")
        left = float(each.attrib["x"]) - {"middle": 0.5, "end": 1.0}.get(each.get("text-anchor", ""), 0.0) * (
            face.getlength(words)
        )
        ink = face.getbbox(words, anchor="ls")
        y = float(each.attrib["y"])
        yield words, (left + ink[0], y + ink[1], left + ink[2], y + ink[3])


def meet(one: Area, other: Area) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def boxes(root: ElementTree.Element) -> Iterator[Area]:
    """The rectangles of gates."""
    for each in root.iter(f"{SVG}path"):
        if each.attrib["class"] == "box":
            numbers = [float(n) for n in re.findall(r"[\d.]+", each.attrib["d"])]
            yield min(numbers[::2]), min(numbers[1::2]), max(numbers[::2]), max(numbers[1::2])


def check(text: str, top: Box) -> None:
    root = ElementTree.fromstring(text)
    width, height = (float(n) for n in root.attrib["viewBox"].split()[2:])
    areas = list(measured(root))
    for words, area in areas:
        assert area[0] >= 0.0 and area[2] <= width, words
        assert area[1] >= 0.0 and area[3] <= height, words
    in_order = sorted(areas, key=lambda each: each[1][1])
    for n, (words, area) in enumerate(in_order):
        for other, its in in_order[n + 1 :]:
            if its[1] >= area[3]:
                break
            assert not meet(area, its), f"{words!r} over {other!r}"
    gates = list(boxes(root))
    for n, one in enumerate(gates):
        assert one[0] >= 0.0 and one[2] <= width and one[1] >= 0.0 and one[3] <= height
        assert not any(meet(one, other) for other in gates[n + 1 :])
    for words, area in areas:
        for box in gates:
            inside = box[0] <= area[0] and area[2] <= box[2] and box[1] <= area[1] and area[3] <= box[3]
            assert inside or not meet(area, box), f"{words!r} on the edge of a box"
    for each in root.iter(f"{SVG}path"):
        # Curves stay within the points that make them; the lower-case commands are not used.
        numbers = [
            float(n) for n in re.findall(r"-?[\d.]+", re.sub(r"A[\d.]+ [\d.]+ 0 \d \d", "", each.attrib["d"]))
        ]
        assert all(0.0 <= x <= width for x in numbers[::2]) and all(0.0 <= y <= height for y in numbers[1::2])
    shown = " ".join(words for words, _ in areas)
    for box_ in walk(top):
        for piece in (box_.name, *mark_words(box_)):
            assert " ".join(piece.split()) in shown, piece


@pytest.fixture(scope="module")
def wander() -> Box:
    """The largest tree of the library with the figures of a demo car laid over it."""
    vehicle = Vehicle("demo", {"front": "strut", "rear": "twist-beam"}, {}, 187_000, 12)
    belief = Belief(Car(LIBRARY, vehicle, {"wander": None}), Story(vehicle, (Heard("wander", None),)))
    return picture(LIBRARY, "wander", marks_of(belief, "wander", "demo"))


# SVG --------------------------------------------------------------------------------------------------


def test_wander_is_the_largest_tree() -> None:
    sizes = {complaint: sum(1 for _ in walk(picture(LIBRARY, complaint))) for complaint in LIBRARY.complaints}
    assert max(sizes, key=lambda complaint: sizes[complaint]) == "wander"


@pytest.mark.parametrize("complaint", list(LIBRARY.complaints))
def test_no_text_lies_over_another_and_nothing_is_outside(complaint: str) -> None:
    top = picture(LIBRARY, complaint)
    check(svg(top), top)


def test_nor_with_figures_laid_over_the_largest(wander: Box) -> None:
    text = svg(wander, "Of 100 cars such as demo.")
    check(text, wander)
    strokes = {float(found) for found in re.findall(r'stroke-width="([\d.]+)"', text)}
    assert min(strokes) == 1.2 and max(strokes) > 2.0
    assert 'class="faint"' in text
    assert "Most likely of 100 such cars: " in text


def test_a_long_tree_has_the_shape_of_a_sheet(wander: Box) -> None:
    found = laid_out(wander)
    assert 1.0 < found.width / found.height < 2.0


def test_every_triangle_has_its_other_end(wander: Box) -> None:
    root = ElementTree.fromstring(svg(wander))
    numbers = [words for words, _ in measured(root) if re.fullmatch(r"\d+", words)]
    numbers.remove("1")  # that of the key
    assert len(numbers) >= 20
    assert all(numbers.count(number) == 2 for number in numbers)


def test_a_mechanism_that_stands_twice_is_drawn_once() -> None:
    leaf = Box("fault", "demo part: worn", 0.5)
    shared = Box("mechanism", "demo shared", key="shared", gate="any", need=1, branches=(leaf, leaf))
    one = Box("mechanism", "demo one", key="one", gate="all", need=1, branches=(shared,))
    top = Box("complaint", "Demo", key="top", gate="at-least", need=1, branches=(one, shared, leaf))
    texts = [each.text for each in laid_out(top).texts]
    assert texts.count("1") == 3 + 1  # twice where it is used, once where it is drawn, once in the key
    assert texts.count("demo shared") == 3
    assert texts.count("demo part: worn") == 3
    assert "1/3" in texts
    for written in (dot(top), mermaid(top)):
        assert written.count("demo shared") == 1


def test_a_long_list_goes_on_elsewhere_and_a_vote_does_not() -> None:
    leaves = tuple(Box("fault", f"demo part {n}: worn", 0.5) for n in range(47))
    for gate, parts in (("any", 3), ("all", 3), ("at-least", 1)):
        list_ = Box("mechanism", "demo list", key="list", gate=gate, need=2, branches=leaves)
        top = Box("complaint", "Demo", key="top", gate="any", need=1, branches=(list_,))
        check(svg(top), top)
        texts = [each.text for each in laid_out(top).texts]
        assert len({text for text in texts if text.endswith(" of 3)")}) == parts - 1
        assert len([text for text in texts if text.startswith("demo part")]) == 47


def test_a_picture_says_what_it_is_and_fetches_nothing(wander: Box) -> None:
    text = svg(wander, "Of 100 cars such as demo.")
    root = ElementTree.fromstring(text)
    assert MADE_BY in text[:400]
    named = root.attrib["aria-labelledby"].split()
    by_id = {each.attrib["id"]: each for each in root if "id" in each.attrib}
    assert [by_id[name].tag for name in named] == [f"{SVG}title", f"{SVG}desc"]
    assert by_id[named[0]].text == "Fault tree: Wanders on a straight road"
    assert root.attrib["role"] == "img"
    # Text is text, black and white, with a dark ground and paper told apart; no address but the name space.
    assert "prefers-color-scheme: dark" in text and "@media print" in text
    assert re.findall(r"https?://[^\"]+", text) == ["http://www.w3.org/2000/svg"]
    assert not re.search(r"<image|<script|<use|href|url\(|@import", text)
    for colour in re.findall(r"#([0-9a-f]{3}(?:[0-9a-f]{3})?)\b", text):
        parts = re.findall(r"." if len(colour) == 3 else r"..", colour)
        levels = [int(part * 2 if len(part) == 1 else part, 16) for part in parts]
        assert max(levels) - min(levels) <= 8, f"#{colour} is a colour"


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two greys, by WCAG 2.2 (relative luminance, success criterion 1.4.3)."""

    def luminance(colour: str) -> float:
        whole = colour if len(colour) == 6 else "".join(part * 2 for part in colour)
        found = []
        for n in (0, 2, 4):
            c = int(whole[n : n + 2], 16) / 255.0
            found.append(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4)
        return 0.2126 * found[0] + 0.7152 * found[1] + 0.0722 * found[2]

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_ink_stands_out_on_every_ground() -> None:
    """WCAG 2.2 asks for 4.5 to 1; 7 to 1 is its enhanced level (1.4.6)."""
    style = svg(Box("complaint", "Demo", key="top", gate="any")).split("<style>")[1].split("</style>")[0]
    plain, dark = style.split("@media (prefers-color-scheme: dark)")
    for part in (plain, dark.split("@media print")[0]):
        ink = re.findall(r"text \{[^}]*fill: #(\w+)", part)[0]
        for ground in re.findall(r"\.(?:ground|box|symbol) \{ fill: #(\w+)", part):
            assert contrast(ink, ground) >= 7.0


# Names ------------------------------------------------------------------------------------------------

NASTY = st.one_of(
    st.sampled_from(
        [
            "<script>alert(1)</script>",
            "</text><svg onload='x'>",
            'a "quoted" \\ back\\"slash',
            "]]> & &amp; &#60;b&#62;",
            "a --> b; end; style n0 fill:red",
            "`code` **bold** #quot; %% remark",
            'x"]; n0 -> n1 [label="y',
            "tab\tand\nline\x00\x1b[31m",
            "\u8ecaW\u0301\U0001f697" * 30,
            "onewordwithoutanyspaceatall" * 20,
        ]
    ),
    st.text(max_size=60),
)


@st.composite
def drawn(draw: st.DrawFn) -> Box:
    leaves = tuple(Box("fault", draw(NASTY), 0.5, only=draw(NASTY)) for _ in range(draw(st.integers(1, 3))))
    gate = Box("mechanism", draw(NASTY), 0.7, "gate", "at-least", 1, "", ("x",), 0.3, branches=leaves)
    return Box("complaint", draw(NASTY), key="top", gate="any", need=1, branches=(gate, *leaves))


@pytest.mark.slow
@often(40, 200, drawn(), NASTY)
def test_no_name_can_be_markup_and_none_leaves_its_place(top: Box, subtitle: str) -> None:
    root = ElementTree.fromstring(svg(top, subtitle))
    assert {each.tag for each in root.iter()} <= {
        f"{SVG}{tag}" for tag in ("svg", "title", "desc", "style", "rect", "path", "text")
    }
    allowed = {"x", "y", "font-size", "font-weight", "text-anchor"}
    assert all(set(each.attrib) <= allowed for each in root.iter(f"{SVG}text"))
    found = laid_out(top, subtitle)
    for n, one in enumerate(found.texts):
        assert one.box[0] >= -1e-6 and one.box[2] <= found.width + 1e-6
        assert not any(meet(one.box, other.box) for other in found.texts[n + 1 :])


#: Statements of the DOT language as far as they are used. By its grammar (graphviz.org, "DOT language") a
#: string ends at the first quote that no backslash stands before.
STRING = r'"((?:[^"\\\n]|\\.)*)"'
DOT_NODE = re.compile(rf"  (n\d+) \[shape=(\w+), label={STRING}\];")
DOT_EDGE = re.compile(rf"  (n\d+) -> (n\d+)(?: \[(?:label={STRING})?(?:, )?(?:penwidth=[\d.]+)?\])?;")


def dot_read(text: str) -> tuple[list[re.Match[str]], list[re.Match[str]]]:
    """Nodes and edges; every line must be one, but for the frame."""
    lines = text.split("\n")
    assert lines[:3] == ["digraph tree {", "  rankdir=RL;", '  node [fontname="sans-serif"];']
    assert lines[-2:] == ["}", ""]
    nodes = [found for line in lines if (found := DOT_NODE.fullmatch(line))]
    edges = [found for line in lines if (found := DOT_EDGE.fullmatch(line))]
    assert len(nodes) + len(edges) == len(lines) - 5
    return nodes, edges


@often(40, 200, drawn())
def test_dot_reads_back_as_the_same_tree(top: Box) -> None:
    nodes, edges = dot_read(dot(top))
    assert len(nodes) == sum(1 for _ in walk(top)) == len(edges) + 1
    assert {each[1] for each in edges} | {"n0"} == {each[1] for each in nodes}
    for found, box in zip(nodes, walk(top), strict=True):
        told = html.unescape(re.sub(r"\\(.)", r"\1", found[3]))
        assert "".join(letter if letter.isprintable() else " " for letter in box.name) in told


# Only Graphviz itself can show how it reads a text; a bare machine has none, and the project's check asks for
# nothing but Python and git. What is written for it is read by rules of its language everywhere (above).
@pytest.mark.skipif(shutil.which("dot") is None, reason="Graphviz is not installed: apt-get install graphviz")
@often(5, 60, drawn())
def test_graphviz_shows_the_names_as_they_are(top: Box) -> None:
    """The program itself, where there is one: its picture holds the names as text, and nothing else."""
    ran = subprocess.run(
        ["dot", "-Tsvg"], input=dot(top).encode(), capture_output=True, check=True, timeout=60
    )
    root = ElementTree.fromstring(ran.stdout)
    assert {each.tag.removeprefix(SVG) for each in root.iter()} <= {
        *("svg", "g", "title", "text", "polygon", "ellipse", "path"),
    }
    shown = "".join("".join("".join(each.itertext()).split()) for each in root.iter(f"{SVG}text"))
    for box in walk(top):
        assert "".join("".join(c if c.isprintable() else " " for c in box.name).split()) in shown


@often(40, 200, drawn())
def test_mermaid_holds_names_as_letters_and_codes_only(top: Box) -> None:
    """Its entity codes are those of HTML without the ampersand (Mermaid, flow charts, "entity codes")."""
    lines = mermaid(top).splitlines()
    assert lines[0] == "flowchart RL"
    labels = [found[1] for line in lines if (found := re.fullmatch(r'  n\d+\W+?"(.*)"\W+', line))]
    assert len(labels) == sum(1 for _ in walk(top))
    for label, box in zip(labels, walk(top), strict=True):
        plain = label.replace("<br/>", " ")
        assert not re.search(r"[<>\"`{}\[\]|;#&]", re.sub(r"#\d+;", "", plain))
        told = html.unescape(re.sub(r"#(\d+);", r"&#\1;", plain))
        name = "".join(letter if letter.isprintable() else " " for letter in box.name)
        assert name in told


def test_dot_and_mermaid_of_a_shipped_tree(wander: Box) -> None:
    nodes, _ = dot_read(dot(wander))
    mechanisms = {box.key for box in walk(wander) if box.gate}
    others = sum(1 for box in walk(wander) if not box.gate)
    assert len(nodes) == len(mechanisms) + others
    text = dot(wander)
    assert re.search(r'n1 \[shape=box, label="lost motion in the rods .*: ANY OF\\nthere \d+"\];', text)
    assert re.search(r'n1 -> n0 \[label="0\.\d+", penwidth=\d\.\d\d\];', text)
    told = mermaid(wander)
    assert re.search(r'  n1 -->\|"0\.\d+"\| n0\n  linkStyle \d+ stroke-width:\d\.\d\dpx', told)
    numbers = [int(n) for n in re.findall(r"linkStyle (\d+)", told)]
    assert all(b > a for a, b in pairwise(numbers))


# Room -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bold", [False, True])
def test_no_letter_takes_more_room_than_reckoned(bold: bool) -> None:
    face = font(100.0, bold)
    for letter in (chr(code) for code in range(32, 127)):
        assert face.getlength(letter) <= text_width(letter, 100.0, bold=bold) + 1e-6, letter


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=80), st.floats(30.0, 300.0))
def test_text_is_cut_into_the_room_and_none_of_it_is_lost(text: str, room: float) -> None:
    lines = fitted(text, 13.0, room)
    assert all(text_width(line, 13.0) <= room for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


@pytest.mark.slow
def test_trees_md_says_how_large_the_sheets_are() -> None:
    """Letters of SIZE pixels, 96 to the inch and 72 points to the inch, once the sheet is fitted between
    margins of 1 cm on paper of ISO 216: A3 297 x 420 mm, A2 420 x 594 mm."""

    def points(complaint: str, paper: tuple[float, float]) -> float:
        found = laid_out(picture(LIBRARY, complaint))
        sheet = sorted((found.width * 25.4 / 96.0, found.height * 25.4 / 96.0))
        return SIZE * 0.75 * min(1.0, *((side - 20.0) / its for side, its in zip(paper, sheet, strict=True)))

    many = sum(1 for complaint in LIBRARY.complaints if points(complaint, (297.0, 420.0)) >= 6.0)
    told = " ".join((Path(__file__).parents[3] / "docs" / "trees.md").read_text("utf-8").split())
    assert f"are of 6 points or more in {many} of the {len(LIBRARY.complaints)} shipped trees" in told
    assert f"the largest, `wander`, wants A2 ({points('wander', (420.0, 594.0)):.0f} points)" in told
