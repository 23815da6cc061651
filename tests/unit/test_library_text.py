"""Reading YAML into nodes: places, limits, and the whole message of every mistake of form."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import Place
from diagnose.library.text import (
    MAX_BYTES,
    MAX_NODES,
    Mapping,
    Node,
    Scalar,
    Sequence,
    describe,
    entries,
    pairs,
    read,
    scalars,
)


def good(text: str) -> Node:
    node, problems = read(text.encode(), "f.yaml")
    assert problems == []
    assert node is not None
    return node


def plain(node: Node) -> object:
    """The node as lists, dicts and texts."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key.text: plain(value) for key, value in node.items}


def mapping(text: str) -> Mapping:
    node = good(text)
    assert isinstance(node, Mapping)
    return node


# what is read ---------------------------------------------------------------------------------


@pytest.mark.parametrize("word", ["no", "yes", "on", "null", "~", "1e3", "0x10", "2024-01-01", "1_000", "<<"])
def test_every_scalar_stays_text(word: str) -> None:
    assert plain(good(f"a: {word}\n")) == {"a": word}


def test_lists_mappings_quotes_and_folds() -> None:
    text = "a: [1, 'b c', {d: \"e\"}]\nf: >-\n  one\n  two\ng:\n  - x\n  - y: z\nh:\n"
    assert plain(good(text)) == {
        "a": ["1", "b c", {"d": "e"}],
        "f": "one two",
        "g": ["x", {"y": "z"}],
        "h": "",
    }


def test_one_document_may_have_its_marks_and_a_byte_order_mark() -> None:
    assert plain(good("\ufeff---\na: 1\n...\n")) == {"a": "1"}


def test_an_alias_repeats_its_value() -> None:
    assert plain(good("a: &x [1, 2]\nb: *x\nc: {d: *x}\n")) == {
        "a": ["1", "2"],
        "b": ["1", "2"],
        "c": {"d": ["1", "2"]},
    }


def test_of_two_equal_keys_the_first_stays() -> None:
    node, problems = read(b"a: 1\nb: 2\na: 3\n", "f.yaml")
    assert node is not None and plain(node) == {"a": "1", "b": "2"}
    assert len(problems) == 1


def test_a_tag_is_left_out_and_the_value_kept() -> None:
    node, problems = read(b"a: !!int 3\n", "f.yaml")
    assert node is not None and plain(node) == {"a": "3"}
    assert len(problems) == 1


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_places_count_lines_and_characters_from_one(end: str) -> None:
    root = mapping(end.join(["# heading", "\u00e9\u4e2d: \U0001f600, two", "b:", "  - [x, 'yy']", ""]))
    assert root.place == Place("f.yaml", 2, 1)
    (first, smiley), (second, rows) = root.items
    assert (first.place.column, first.length, first.line) == (1, 2, "\u00e9\u4e2d: \U0001f600, two")
    assert (smiley.place, smiley.length) == (Place("f.yaml", 2, 5), 6)
    assert second.place == Place("f.yaml", 3, 1)
    assert isinstance(rows, Sequence) and isinstance(rows.items[0], Sequence)
    x, quoted = rows.items[0].items
    assert (x.place, x.length) == (Place("f.yaml", 4, 6), 1)
    assert (quoted.place, quoted.length) == (Place("f.yaml", 4, 9), 4)


def test_a_value_over_several_lines_is_marked_to_the_end_of_its_first() -> None:
    root = mapping("how: >-\n  one\n  two\nrow:\n  a: 1  \n  b: 2\n")
    how, row = root.get("how"), root.get("row")
    assert how is not None and (how.place.line, how.place.column, how.length) == (1, 6, 2)
    assert row is not None and (row.place.line, row.place.column, row.length) == (5, 3, 4)


def test_a_mapping_gives_its_values_and_its_keys() -> None:
    root = mapping("a: 1\nb: 2\n")
    b = root.key("b")
    assert b is not None and b.place.line == 2
    assert root.key("c") is None and root.get("c") is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a: word", "'word'"),
        ("a: [x]", "a list"),
        ("a: {x: y}", "keys with values"),
        ("a:", "nothing"),
        ("a: '  '", "nothing"),
        ("a: >-\n  two\n\n  lines", "'two lines'"),
        ("a: " + "x" * 70, "'" + "x" * 57 + "...'"),
    ],
)
def test_describe(text: str, words: str) -> None:
    value = mapping(text).get("a")
    assert value is not None and describe(value) == words


def test_the_parts_of_a_node_by_form() -> None:
    word, many, row = (mapping("a: w\nb: [x, {c: d}, [y]]\nc: {d: e}\n").get(key) for key in "abc")
    assert [item.text for item in scalars(word)] == ["w"]
    assert [item.text for item in scalars(many)] == ["x"]
    assert scalars(row) == scalars(None) == ()
    assert [plain(item) for item in entries(many)] == [{"c": "d"}]
    assert entries(word) == entries(row) == entries(None) == ()
    assert [(key.text, plain(value)) for key, value in pairs(row)] == [("d", "e")]
    assert pairs(word) == pairs(many) == pairs(None) == ()


# what is refused ------------------------------------------------------------------------------

MISTAKES = [
    (
        "an empty file",
        b"",
        """\
f.yaml: the file is empty
    mend: write at least one key with a value, or delete the file
""",
    ),
    (
        "a file of comments alone",
        b"# nothing\n\n",
        """\
f.yaml: the file is empty
    mend: write at least one key with a value, or delete the file
""",
    ),
    (
        "a tab as indentation",
        b"parts:\n\t- id: a\n",
        """\
f.yaml:2:1: a tab stands here
    2 |  - id: a
      | ^
    mend: use spaces, never tabs
""",
    ),
    (
        "a tab inside a line",
        b"name: one\ttwo\n",
        """\
f.yaml:1:10: a tab stands here
    1 | name: one two
      |          ^
    mend: use spaces, never tabs
""",
    ),
    (
        "tabs in several lines",
        b"a: 1\n\tb: 2\n\tc: 3\n",
        """\
f.yaml:2:1: a tab stands here
    2 |  b: 2
      | ^
    mend: use spaces, never tabs
f.yaml:3:1: a tab stands here
    3 |  c: 3
      | ^
    mend: use spaces, never tabs
""",
    ),
    (
        "a tab from an escape",
        b'name: "one\\ttwo"\n',
        """\
f.yaml:1:7: an escape in this text gives a tab
    1 | name: "one\\ttwo"
      |       ^^^^^^^^^^
    mend: delete it
""",
    ),
    (
        "an escape sequence for a terminal",
        b'name: "red \\e[31m"\n',
        """\
f.yaml:1:7: an escape in this text gives the control character U+001B
    1 | name: "red \\e[31m"
      |       ^^^^^^^^^^^^
    mend: delete it
""",
    ),
    (
        "a control character",
        b"a: 1\nname: be\x07ll\n",
        """\
f.yaml:2:9: the control character U+0007 stands here
    2 | name: be�ll
      |         ^
    mend: delete it
""",
    ),
    (
        "a zero byte",
        b"name: a\x00b\n",
        """\
f.yaml:1:8: the control character U+0000 stands here
    1 | name: a�b
      |        ^
    mend: delete it
""",
    ),
    (
        "a line end that editors do not count",
        b"name: a\xe2\x80\xa8b\n",
        """\
f.yaml:1:8: the control character U+2028 stands here
    1 | name: a�b
      |        ^
    mend: delete it
""",
    ),
    (
        "a mark that turns the direction of writing",
        b"name: a\xe2\x80\xaeb\n",
        """\
f.yaml:1:8: the control character U+202E stands here
    1 | name: a�b
      |        ^
    mend: delete it
""",
    ),
    (
        "a byte that is not UTF-8",
        b"a: 1\nname: caf\xe9\n",
        """\
f.yaml:2:10: byte 0xE9 in line 2 is not UTF-8
    2 | name: caf�
      |          ^
    mend: save the file with the encoding UTF-8
""",
    ),
    (
        "a byte that is not UTF-8 after one that is",
        b"name: \xc3\xa9\xff\n",
        """\
f.yaml:1:8: byte 0xFF in line 1 is not UTF-8
    1 | name: é�
      |        ^
    mend: save the file with the encoding UTF-8
""",
    ),
    (
        "a file in UTF-16",
        b"\xff\xfea\x00:\x00 \x001\x00\n\x00",
        """\
f.yaml:1:1: byte 0xFF in line 1 is not UTF-8
    1 | ��a�:� �1�
      | ^
    mend: save the file with the encoding UTF-8
""",
    ),
    (
        "two documents",
        b"a: 1\n---\nb: 2\n",
        """\
f.yaml:2:1: a second document starts here
    2 | ---
      | ^^^
    mend: keep one document to a file
""",
    ),
    (
        "a tag",
        b"a: !!python/object:os.system x\n",
        """\
f.yaml:1:4: the tag 'tag:yaml.org,2002:python/object:os.system' stands here; tags are not used in these files
    1 | a: !!python/object:os.system x
      |    ^^^^^^^^^^^^^^^^^^^^^^^^^^^
    mend: delete the tag; quote a text that starts with !
""",
    ),
    (
        "a tag on a list",
        b"a: !mine [1]\n",
        """\
f.yaml:1:4: the tag '!mine' stands here; tags are not used in these files
    1 | a: !mine [1]
      |    ^^^^^^^
    mend: delete the tag; quote a text that starts with !
""",
    ),
    (
        "a key twice",
        b"a: 1\nb: 2\na: 3\n",
        """\
f.yaml:3:1: the key 'a' stands here twice, first in line 1
    3 | a: 3
      | ^
    mend: keep one of the two
""",
    ),
    (
        "a key twice in braces",
        b"row: {id: a, name: x, id: b}\n",
        """\
f.yaml:1:23: the key 'id' stands here twice, first in line 1
    1 | row: {id: a, name: x, id: b}
      |                       ^^
    mend: keep one of the two
""",
    ),
    (
        "a list as a key",
        b"? [a, b]\n: 1\n",
        """\
f.yaml:1:3: a key is a word, not a list
    1 | ? [a, b]
      |   ^^^^^^
    mend: write the key as plain text before the colon; quote a text that starts with [ or {
""",
    ),
    (
        "a mapping as a key",
        b"{a: 1}: 2\n",
        """\
f.yaml:1:1: a key is a word, not keys with values
    1 | {a: 1}: 2
      | ^^^^^^
    mend: write the key as plain text before the colon; quote a text that starts with [ or {
""",
    ),
    (
        "an alias of nothing",
        b"a: *b\n",
        """\
f.yaml:1:4: the alias '*b' repeats nothing: there is no '&b' above it
    1 | a: *b
      |    ^^
    mend: put '&b' before the value to repeat, or quote the text
""",
    ),
    (
        "an alias inside its own value",
        b"a: &a [1, *a]\n",
        """\
f.yaml:1:11: the alias '*a' stands inside the value that it repeats
    1 | a: &a [1, *a]
      |           ^^
    mend: write the value out here
""",
    ),
    (
        "an alias inside its own mapping",
        b"a: &a\n  b: *a\n",
        """\
f.yaml:2:6: the alias '*a' stands inside the value that it repeats
    2 |   b: *a
      |      ^^
    mend: write the value out here
""",
    ),
    (
        "a star at the start of a text",
        b"name: *** loud ***\n",
        """\
f.yaml:1:8: a '*' starts an alias, and this is none
    1 | name: *** loud ***
      |        ^
    mend: put the whole value in quotes
""",
    ),
    (
        "a list that is not closed",
        b"a: [1, 2\nb: 3\n",
        """\
f.yaml:1:4: the list that starts with '[' here is not written right
    1 | a: [1, 2
      |    ^
    mend: separate its entries by commas, close it with ']', and quote texts that hold : or ,
""",
    ),
    (
        "a list that ends with the file",
        b"a: [\n",
        """\
f.yaml:2:1: a value is missing here, or a '[' or '{' above is not closed
    mend: write the value, or close the bracket
""",
    ),
    (
        "a mapping that is not closed",
        b"row: {id: a, name: b\nnext: 1\n",
        """\
f.yaml:1:6: what is in the brackets from '{' here is not written right
    1 | row: {id: a, name: b
      |      ^
    mend: separate its keys by commas, close it with '}', and quote texts that hold : or ,
""",
    ),
    (
        "a quote that is not closed",
        b"a: 'one\nb: 2\n",
        """\
f.yaml:1:4: the quote that opens here is not closed, or holds a broken escape
    1 | a: 'one
      |    ^
    mend: close it with the same quote mark; write a backslash as \\\\ inside double quotes
""",
    ),
    (
        "an unknown escape",
        b'a: "c:\\dir"\n',
        """\
f.yaml:1:7: YAML does not know this escape
    1 | a: "c:\\dir"
      |       ^
    mend: write a backslash as \\\\, or use single quotes
""",
    ),
    (
        "a colon inside a text",
        b"name: play: in the socket\n",
        """\
f.yaml:1:11: a colon stands where no key can stand
    1 | name: play: in the socket
      |           ^
    mend: put the text in quotes, or indent this line like its neighbours
""",
    ),
    (
        "a key that is indented too far",
        b"a: 1\n  b: 2\n",
        """\
f.yaml:2:4: a colon stands where no key can stand
    2 |   b: 2
      |    ^
    mend: put the text in quotes, or indent this line like its neighbours
""",
    ),
    (
        "a key that is not indented far enough",
        b"a:\n    b: 1\n  c: 2\n",
        """\
f.yaml:3:3: this line does not line up with the keys above it
    3 |   c: 2
      |   ^
    mend: indent it like the keys that it belongs to; quote a text that starts with a special sign
""",
    ),
    (
        "a line without a colon",
        b"a: 1\nb\nc: 2\n",
        """\
f.yaml:2:1: this line has no colon after its key
    2 | b
      | ^
    mend: write `key: value`, or indent the line to continue the text above
""",
    ),
    (
        "a list and a key in one block",
        b"a:\n  - 1\n  b: 2\n",
        """\
f.yaml:3:3: this line does not line up with the list above it
    3 |   b: 2
      |   ^
    mend: start it with '- ' in the same column, or indent it further
""",
    ),
    (
        "a key and a list in one block",
        b"a: 1\n- b\n",
        """\
f.yaml:2:1: this line does not line up with the keys above it
    2 | - b
      | ^
    mend: indent it like the keys that it belongs to; quote a text that starts with a special sign
""",
    ),
    (
        "a list entry behind its key",
        b"a: - b\n",
        """\
f.yaml:1:4: a list entry cannot start here
    1 | a: - b
      |    ^
    mend: put the list on lines of its own below the key
""",
    ),
    (
        "a sign that cannot start a text",
        b"a: @home\n",
        """\
f.yaml:1:4: a value cannot start with this sign
    1 | a: @home
      |    ^
    mend: put the whole value in quotes
""",
    ),
    (
        "a percent sign that starts a text",
        b"a: %5\n",
        """\
f.yaml:1:4: a value cannot start with this sign
    1 | a: %5
      |    ^
    mend: put the whole value in quotes
""",
    ),
    (
        "a backquote",
        b"a: `x`\n",
        """\
f.yaml:1:4: a value cannot start with this sign
    1 | a: `x`
      |    ^
    mend: put the whole value in quotes
""",
    ),
    (
        "text below the end of the document",
        b"'a': 1\n'b'\n",
        """\
f.yaml:2:1: this line has no colon after its key
    2 | 'b'
      | ^
    mend: write `key: value`, or indent the line to continue the text above
""",
    ),
    (
        "a directive of another YAML",
        b"%YAML 3.0\n---\na: 1\n",
        """\
f.yaml:1:1: this is not YAML: found incompatible YAML document
    1 | %YAML 3.0
      | ^
    mend: look at this line and the one above it
""",
    ),
    (
        "an anchor that is none",
        b"a: & b\n",
        """\
f.yaml:1:5: a '&' starts an anchor, and this is none
    1 | a: & b
      |     ^
    mend: put the whole value in quotes
""",
    ),
    (
        "nested too deep",
        b"[" * 31 + b"]" * 31,
        """\
f.yaml:1:31: this is nested more than 30 deep
    1 | [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]
      |                               ^
    mend: write it flatter
""",
    ),
    (
        "nested too deep without an end",
        b"[" * 5000,
        """\
f.yaml:1:1001: this is nested more than 30 deep
    mend: write it flatter
""",
    ),
    (
        "nested too deep through an alias",
        b"a: &a " + b"[" * 20 + b"]" * 20 + b"\nb: " + b"[" * 10 + b"*a" + b"]" * 10,
        """\
f.yaml:2:14: with the alias '*a' this is nested more than 30 deep
    2 | b: [[[[[[[[[[*a]]]]]]]]]]
      |              ^^
    mend: write it flatter
""",
    ),
    (
        "a comma after a colon",
        b"a: {b:, c: 1}\n",
        """\
f.yaml:1:6: a colon stands inside a bare text in brackets
    1 | a: {b:, c: 1}
      |      ^
    mend: put a space after the colon of a key, or put the text in quotes
""",
    ),
]


@pytest.mark.parametrize(
    ("data", "message"), [case[1:] for case in MISTAKES], ids=[case[0] for case in MISTAKES]
)
def test_a_mistake_is_told_whole(data: bytes, message: str) -> None:
    _, problems = read(data, "f.yaml")
    assert "\n".join(str(problem) for problem in problems) + "\n" == message


def test_of_many_lines_with_tabs_the_first_twenty_are_told() -> None:
    _, problems = read(b"\tx\n" * 1000, "f.yaml")
    assert [problem.place.line for problem in problems] == list(range(1, 21))


def test_a_file_over_two_megabytes_is_refused_unread() -> None:
    node, problems = read(b"a: " + b"x" * (MAX_BYTES - 2), "f.yaml")
    assert node is None
    assert [str(problem) for problem in problems] == [
        "f.yaml: the file has more than 2,000,000 bytes\n    mend: split it into several files"
    ]
    assert read(b"a: " + b"x" * (MAX_BYTES - 3), "f.yaml")[1] == []


@pytest.mark.slow
def test_more_than_200_000_values_are_refused() -> None:
    # The list is a value itself.
    assert read(b"[" + b"1," * (MAX_NODES - 1) + b"]", "f.yaml")[1] == []
    node, problems = read(b"[" + b"1," * MAX_NODES + b"]", "f.yaml")
    assert node is None
    assert [problem.wrong for problem in problems] == [
        "with its aliases written out the file has more than 200,000 values"
    ]


def test_aliases_that_grow_without_bound_are_refused_at_once() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    for number in range(1, 12):
        many = ", ".join([f"*a{number - 1}"] * 10)
        lines.append(f"a{number}: &a{number} [{many}]")
    node, problems = read("\n".join(lines).encode(), "f.yaml")
    assert node is None
    assert [(problem.place.line, problem.wrong) for problem in problems] == [
        (6, "with its aliases written out the file has more than 200,000 values")
    ]


def test_thirty_deep_is_allowed() -> None:
    assert read(b"[" * 30 + b"]" * 30, "f.yaml")[1] == []


def test_all_mistakes_that_can_be_read_past_are_told_at_once() -> None:
    _, problems = read(b"a: !x 1\na: 2\nb: *c\n[d]: 1\n", "f.yaml")
    assert [problem.place.line for problem in problems] == [1, 2, 3, 4]


SNIPPETS = st.sampled_from(
    [
        "a",
        "b",
        ": ",
        ":",
        "\n",
        "\n  ",
        "- ",
        "[",
        "]",
        "{",
        "}",
        ",",
        "&x ",
        "*x",
        "!t ",
        "'",
        '"',
        "\\",
        "#",
        " ",
        "|\n",
        ">-\n",
        "? ",
        "---\n",
        "...\n",
        "%",
        "\t",
        "\x00",
        "\u00e9",
    ]
)


@pytest.mark.slow
@settings(deadline=None, max_examples=300)
@given(
    st.one_of(
        st.binary(max_size=60), st.lists(SNIPPETS, max_size=40).map(lambda parts: "".join(parts).encode())
    )
)
def test_whatever_is_read_gives_a_node_or_a_problem_with_a_place_in_the_file(data: bytes) -> None:
    node, problems = read(data, "f.yaml")
    assert node is not None or problems
    assert problems == sorted(problems)
    lines = data.count(b"\n") + data.count(b"\r") + 1
    for problem in problems:
        assert problem.place.file == "f.yaml"
        assert 0 <= problem.place.line <= lines + 1
        assert all(sign == "\n" or unicodedata.category(sign) != "Cc" for sign in str(problem))
