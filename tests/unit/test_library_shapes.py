"""What a value must be: the whole message of every mistake, and the same demand as JSON Schema."""

# ruff: noqa: E501 - messages and the lines that they show stand here as they are printed

from __future__ import annotations

import jsonschema
import pytest

from diagnose.errors import Problem
from diagnose.library.nearest import nearest, suggest
from diagnose.library.shapes import (
    ByForm,
    ByKey,
    Choice,
    Clause,
    Identifier,
    Key,
    ListOf,
    MappingOf,
    Number,
    OneOrMore,
    Pattern,
    Probability,
    Row,
    Shape,
    Text,
    YesNo,
    document,
    is_number,
    optional,
)
from diagnose.library.text import Mapping, Node, Scalar, read
from tests.as_json import as_json

ROW = Row(
    "a part",
    {
        "id": Key(Identifier()),
        "name": Key(Text()),
        "km": optional(Number(0, 10)),
        "chance": optional(Number(0, 10)),
    },
    one_of=(("km", "chance"),),
)
SOME = Row(
    "a life",
    {"name": Key(Text()), "km": optional(Text()), "years": optional(Text())},
    some_of=(("km", "years"),),
)
PAIR = Row(
    "a danger",
    {"danger": optional(Text()), "when": optional(Text())},
    together=(("danger", "when"),),
)
NEST: Row = Row("a nest", {"name": Key(Text()), "inside": optional(lambda: NEST)})
BRANCH = ByKey(
    "a branch",
    (
        ("cause", Row("a leaf", {"cause": Key(Text()), "strength": optional(Number(0, 1))})),
        ("use", Row("a use", {"use": Key(Text()), "strength": optional(Number(0, 1))})),
    ),
)
EITHER = ByKey(
    "a thing",
    (("round", Row("a round thing", {"round": Key(Number(0, 9))})),),
    otherwise=Row("a square thing", {"side": Key(Number(0, 9))}),
)
FORM = ByForm(
    "a list or a mapping of figures",
    "write a list or a mapping",
    sequence=ListOf(Probability()),
    mapping=MappingOf(Text(), Probability(), "grades"),
)


def value(text: str) -> Node:
    """The value of the key `a`."""
    root, problems = read(text.encode(), "f.yaml")
    assert problems == []
    assert isinstance(root, Mapping)
    found = root.get("a")
    assert found is not None
    return found


def problems_of(shape: Shape, text: str) -> list[Problem]:
    found: list[Problem] = []
    shape.check(value(text), "'a'", found)
    return found


GOOD = [
    (Text(), "a: some words"),
    (Text(), "a: 3"),
    (Text(longest=3), "a: abc"),
    (Text(lines=True), "a: |\n  one\n  two"),
    (Identifier(), "a: rod-end-2"),
    (Clause(), "a: 2.3"),
    (Clause(), "a: 5.3.2.1"),
    (Identifier(), "a: 4ws"),
    (Pattern("x+", "some x", "write x"), "a: xxx"),
    (Number(0, 10), "a: 0"),
    (Number(0, 10), "a: 10.0"),
    (Number(-5, 10), "a: -4.5"),
    (Number(0, 10), "a: '3'"),
    (Number(0, 1, above=True), "a: 1"),
    (Number(0, 1, below=True), "a: 0"),
    (Number(1, 9, whole=True), "a: 3"),
    (Probability(), "a: 0.001"),
    (Probability(), "a: 0.999"),
    (Choice(("each", "pair")), "a: pair"),
    (YesNo(), "a: no"),
    (ListOf(Text()), "a: []"),
    (ListOf(Number(0, 1), 2, 2), "a: [0, 1]"),
    (OneOrMore(Identifier()), "a: one"),
    (OneOrMore(Identifier()), "a: [one, two]"),
    (MappingOf(Identifier(), Probability(), "faults"), "a: {b: 0.5, c: 0.25}"),
    (MappingOf(Identifier(), Probability(), "faults"), "a: {}"),
    (ROW, "a: {id: x, name: y, km: 1}"),
    (ROW, "a: {id: x, name: y, chance: 1}"),
    (SOME, "a: {name: x, km: 1, years: 2}"),
    (PAIR, "a: {danger: stop, when: always}"),
    (PAIR, "a: {}"),
    (NEST, "a: {name: x, inside: {name: y, inside: {name: z}}}"),
    (BRANCH, "a: {cause: x, strength: 0.5}"),
    (BRANCH, "a: {use: x}"),
    (EITHER, "a: {round: 3}"),
    (EITHER, "a: {side: 3}"),
    (FORM, "a: [0.5, 0.25]"),
    (FORM, "a: {big: 0.5}"),
]


@pytest.mark.parametrize(("shape", "text"), GOOD)
def test_what_is_right_gives_no_problem(shape: Shape, text: str) -> None:
    assert problems_of(shape, text) == []


MISTAKES: list[tuple[str, Shape, str, str]] = [
    (
        "text that is missing",
        Text(),
        "a:",
        """\
f.yaml:1:3: 'a' must be text, not nothing
    mend: write a few plain words; quote them if they hold : or #
""",
    ),
    (
        "text that is a list",
        Text(),
        "a: [x]",
        """\
f.yaml:1:4: 'a' must be text, not a list
    1 | a: [x]
      |    ^^^
    mend: write a few plain words; quote them if they hold : or #
""",
    ),
    (
        "text that is too long",
        Text(longest=5),
        "a: abcdef",
        """\
f.yaml:1:4: 'a' has 6 characters, more than 5
    1 | a: abcdef
      |    ^^^^^^
    mend: say it shorter
""",
    ),
    (
        "text on two lines",
        Text(),
        "a: |-\n  x\n  y",
        """\
f.yaml:1:4: 'a' must stand on one line
    1 | a: |-
      |    ^^
    mend: write it in one line, or fold it with >-
""",
    ),
    (
        "a clause without points",
        Clause(),
        "a: 5",
        """\
f.yaml:1:4: 'a' must be the number of a clause, not '5'
    1 | a: 5
      |    ^
    mend: write its numbers with points between, such as 5.3.4
""",
    ),
    (
        "an id with a capital",
        Identifier(),
        "a: Rod-end",
        """\
f.yaml:1:4: 'a' must be an id, not 'Rod-end'
    1 | a: Rod-end
      |    ^^^^^^^
    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end
""",
    ),
    (
        "an id with a space",
        Identifier(),
        "a: rod end",
        """\
f.yaml:1:4: 'a' must be an id, not 'rod end'
    1 | a: rod end
      |    ^^^^^^^
    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end
""",
    ),
    (
        "an id with two hyphens",
        Identifier(),
        "a: rod--end",
        """\
f.yaml:1:4: 'a' must be an id, not 'rod--end'
    1 | a: rod--end
      |    ^^^^^^^^
    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end
""",
    ),
    (
        "an id with a hyphen at its end",
        Identifier(),
        "a: rod-",
        """\
f.yaml:1:4: 'a' must be an id, not 'rod-'
    1 | a: rod-
      |    ^^^^
    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end
""",
    ),
    (
        "an id that is too long",
        Identifier(),
        "a: " + "x" * 81,
        """\
f.yaml:1:4: 'a' has 81 characters, more than 80
    1 | a: xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx
      |    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
    mend: choose a shorter one
""",
    ),
    (
        "a word instead of a number",
        Number(0, 10, unit="minutes"),
        "a: five",
        """\
f.yaml:1:4: 'a' must be a number of minutes from 0 to 10, not 'five'
    1 | a: five
      |    ^^^^
    mend: write a decimal number of minutes in that range
""",
    ),
    (
        "a number with an exponent",
        Number(0, 10),
        "a: 1e1",
        """\
f.yaml:1:4: 'a' must be a number from 0 to 10, not '1e1'
    1 | a: 1e1
      |    ^^^
    mend: write a decimal number in that range
""",
    ),
    (
        "a number with a decimal comma",
        Number(0, 10),
        "a: 0,5",
        """\
f.yaml:1:4: 'a' must be a number from 0 to 10, not '0,5'
    1 | a: 0,5
      |    ^^^
    mend: write the decimal point as a point: 0.5
""",
    ),
    (
        "a number without a digit before its point",
        Number(0, 10),
        "a: .5",
        """\
f.yaml:1:4: 'a' must be a number from 0 to 10, not '.5'
    1 | a: .5
      |    ^^
    mend: write the digit before the point: 0.5
""",
    ),
    (
        "not a number",
        Number(0, 10),
        "a: nan",
        """\
f.yaml:1:4: 'a' must be a number from 0 to 10, not 'nan'
    1 | a: nan
      |    ^^^
    mend: write a decimal number in that range
""",
    ),
    (
        "infinity",
        Number(0, 10),
        "a: .inf",
        """\
f.yaml:1:4: 'a' must be a number from 0 to 10, not '.inf'
    1 | a: .inf
      |    ^^^^
    mend: write a decimal number in that range
""",
    ),
    (
        "a number with a gap",
        Number(0, 10),
        "a: 1_0",
        """\
f.yaml:1:4: 'a' must be a number from 0 to 10, not '1_0'
    1 | a: 1_0
      |    ^^^
    mend: write a decimal number in that range
""",
    ),
    (
        "digits of another script",
        Number(0, 10),
        "a: ٣",
        """\
f.yaml:1:4: 'a' must be a number from 0 to 10, not '٣'
    1 | a: ٣
      |    ^
    mend: write a decimal number in that range
""",
    ),
    (
        "a number that is too large to count",
        Number(0, 10),
        "a: " + "9" * 400,
        """\
f.yaml:1:4: 'a' must be a number from 0 to 10, not '999999999999999999999999999999999999999999999999999999999...'
    1 | a: 9999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999
      |    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
    mend: write a decimal number in that range
""",
    ),
    (
        "a number below its range",
        Number(1, 10),
        "a: 0.5",
        """\
f.yaml:1:4: 'a' must be a number from 1 to 10, not '0.5'
    1 | a: 0.5
      |    ^^^
    mend: write a decimal number in that range
""",
    ),
    (
        "a number at an excluded low end",
        Number(0, 1, above=True),
        "a: 0",
        """\
f.yaml:1:4: 'a' must be a number above 0, at most 1, not '0'
    1 | a: 0
      |    ^
    mend: write a decimal number in that range
""",
    ),
    (
        "a number at an excluded high end",
        Number(0, 1, below=True),
        "a: 1",
        """\
f.yaml:1:4: 'a' must be a number from 0 to below 1, not '1'
    1 | a: 1
      |    ^
    mend: write a decimal number in that range
""",
    ),
    (
        "a broken number of things",
        Number(1, 100, whole=True),
        "a: 2.5",
        """\
f.yaml:1:4: 'a' must be a whole number from 1 to 100, not '2.5'
    1 | a: 2.5
      |    ^^^
    mend: write a whole number such as 1
""",
    ),
    (
        "a probability of 0",
        Probability(),
        "a: 0",
        """\
f.yaml:1:4: 'a' must be a probability strictly between 0 and 1, not '0'
    1 | a: 0
      |    ^
    mend: write a decimal number such as 0.05 or 0.9; nothing is impossible, nothing is certain
""",
    ),
    (
        "a probability of 1",
        Probability(),
        "a: 1.0",
        """\
f.yaml:1:4: 'a' must be a probability strictly between 0 and 1, not '1.0'
    1 | a: 1.0
      |    ^^^
    mend: write a decimal number such as 0.05 or 0.9; nothing is impossible, nothing is certain
""",
    ),
    (
        "a probability in per cent",
        Probability(),
        "a: 40 %",
        """\
f.yaml:1:4: 'a' must be a probability strictly between 0 and 1, not '40 %'
    1 | a: 40 %
      |    ^^^^
    mend: write it as a part of 1: 0.4
""",
    ),
    (
        "a choice with a slip",
        Choice(("each", "pair", "car")),
        "a: pairs",
        """\
f.yaml:1:4: 'a' must be one of each, pair, car, not 'pairs'
    1 | a: pairs
      |    ^^^^^
    mend: did you mean 'pair'?
""",
    ),
    (
        "a choice of many",
        Choice(("red", "green", "blue", "grey")),
        "a: x",
        """\
f.yaml:1:4: 'a' must be one of red, green, blue, grey, not 'x'
    1 | a: x
      |    ^
    mend: write one of: red, green, blue, grey
""",
    ),
    (
        "neither yes nor no",
        YesNo(),
        "a: true",
        """\
f.yaml:1:4: 'a' must be yes or no, not 'true'
    1 | a: true
      |    ^^^^
    mend: write one of: yes, no
""",
    ),
    (
        "a list that is none",
        ListOf(Text()),
        "a: x",
        """\
f.yaml:1:4: 'a' must be a list, not 'x'
    1 | a: x
      |    ^
    mend: write a list: [one, two], or one '- ' line for each entry
""",
    ),
    (
        "a list with a wrong entry",
        ListOf(Number(0, 1)),
        "a: [1, x, 2]",
        """\
f.yaml:1:8: an entry of 'a' must be a number from 0 to 1, not 'x'
    1 | a: [1, x, 2]
      |        ^
    mend: write a decimal number in that range
f.yaml:1:11: an entry of 'a' must be a number from 0 to 1, not '2'
    1 | a: [1, x, 2]
      |           ^
    mend: write a decimal number in that range
""",
    ),
    (
        "a list that is too short",
        ListOf(Text(), least=1),
        "a: []",
        """\
f.yaml:1:4: 'a' has 0 entries, it needs at least 1
    1 | a: []
      |    ^^
    mend: add or delete entries
""",
    ),
    (
        "a list that is too long",
        ListOf(Text(), most=1),
        "a: [x, y]",
        """\
f.yaml:1:4: 'a' has 2 entries, it needs at most 1
    1 | a: [x, y]
      |    ^^^^^^
    mend: add or delete entries
""",
    ),
    (
        "a list that is not two long",
        ListOf(Text(), 2, 2),
        "a: [x]",
        """\
f.yaml:1:4: 'a' has 1 entry, it needs exactly 2
    1 | a: [x]
      |    ^^^
    mend: add or delete entries
""",
    ),
    (
        "one or more of a wrong kind",
        OneOrMore(Identifier()),
        "a: {b: c}",
        """\
f.yaml:1:4: 'a' must be an id, not keys with values
    1 | a: {b: c}
      |    ^^^^^^
    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end
""",
    ),
    (
        "one or more, one of them wrong",
        OneOrMore(Identifier()),
        "a: [b, C]",
        """\
f.yaml:1:8: an entry of 'a' must be an id, not 'C'
    1 | a: [b, C]
      |        ^
    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end
""",
    ),
    (
        "one or more, but none",
        OneOrMore(Identifier()),
        "a: []",
        """\
f.yaml:1:4: 'a' has 0 entries, it needs at least 1
    1 | a: []
      |    ^^
    mend: add or delete entries
""",
    ),
    (
        "a free mapping that is none",
        MappingOf(Identifier(), Probability(), "faults"),
        "a: [x]",
        """\
f.yaml:1:4: 'a' must be faults, each under a key, not a list
    1 | a: [x]
      |    ^^^
    mend: write `name: value` pairs, indented or in { }
""",
    ),
    (
        "a free mapping with a wrong key and a wrong value",
        MappingOf(Identifier(), Probability(), "faults"),
        "a: {B: 0.5, c: 2}",
        """\
f.yaml:1:5: a key of 'a' must be an id, not 'B'
    1 | a: {B: 0.5, c: 2}
      |     ^
    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end
f.yaml:1:16: 'c' in 'a' must be a probability strictly between 0 and 1, not '2'
    1 | a: {B: 0.5, c: 2}
      |                ^
    mend: write a decimal number such as 0.05 or 0.9; nothing is impossible, nothing is certain
""",
    ),
    (
        "a row that is none",
        ROW,
        "a: x",
        """\
f.yaml:1:4: 'a' must be a part (keys with values), not 'x'
    1 | a: x
      |    ^
    mend: write its keys: id, name, km, chance
""",
    ),
    (
        "a row without a key",
        ROW,
        "a: {id: x, km: 1}",
        """\
f.yaml:1:5: a part needs 'name'
    1 | a: {id: x, km: 1}
      |     ^^
    mend: add `name: ...`
""",
    ),
    (
        "a row without two keys",
        ROW,
        "a: {km: 1}",
        """\
f.yaml:1:5: a part needs 'id' and 'name'
    1 | a: {km: 1}
      |     ^^
    mend: add `id: ...` and `name: ...`
""",
    ),
    (
        "a row with a slip in a key",
        ROW,
        "a: {id: x, nme: y, km: 1}",
        """\
f.yaml:1:12: a part has no key 'nme'
    1 | a: {id: x, nme: y, km: 1}
      |            ^^^
    mend: did you mean 'name'?
""",
    ),
    (
        "a row with an unknown key",
        ROW,
        "a: {id: x, name: y, km: 1, colour: red}",
        """\
f.yaml:1:28: a part has no key 'colour'
    1 | a: {id: x, name: y, km: 1, colour: red}
      |                            ^^^^^^
    mend: the keys are: id, name, km, chance
""",
    ),
    (
        "a row with neither of two keys",
        ROW,
        "a: {id: x, name: y}",
        """\
f.yaml:1:5: a part needs one of 'km' or 'chance'
    1 | a: {id: x, name: y}
      |     ^^
    mend: add 'km' or 'chance'
""",
    ),
    (
        "a row with both of two keys",
        ROW,
        "a: {id: x, name: y, km: 1, chance: 1}",
        """\
f.yaml:1:28: a part has 'km' and 'chance', which exclude each other
    1 | a: {id: x, name: y, km: 1, chance: 1}
      |                            ^^^^^^
    mend: keep one of them
""",
    ),
    (
        "a row with none of some keys",
        SOME,
        "a: {name: y}",
        """\
f.yaml:1:5: a life needs 'km' or 'years', or both
    1 | a: {name: y}
      |     ^^^^
    mend: add 'km' or 'years'
""",
    ),
    (
        "a row with half of a pair",
        PAIR,
        "a:\n  danger: stop",
        """\
f.yaml:2:3: a danger has 'danger' but not 'when'
    2 |   danger: stop
      |   ^^^^^^
    mend: add `when: ...`
""",
    ),
    (
        "a row with the other half of a pair",
        PAIR,
        "a: {when: never}",
        """\
f.yaml:1:5: a danger has 'when' but not 'danger'
    1 | a: {when: never}
      |     ^^^^
    mend: add `danger: ...`
""",
    ),
    (
        "an empty row",
        ROW,
        "a: {}",
        """\
f.yaml:1:4: a part needs 'id' and 'name'
    1 | a: {}
      |    ^^
    mend: add `id: ...` and `name: ...`
f.yaml:1:4: a part needs one of 'km' or 'chance'
    1 | a: {}
      |    ^^
    mend: add 'km' or 'chance'
""",
    ),
    (
        "a row in a row",
        NEST,
        "a: {name: x, inside: {name: y, inside: {nam: z}}}",
        """\
f.yaml:1:41: a nest has no key 'nam'
    1 | a: {name: x, inside: {name: y, inside: {nam: z}}}
      |                                         ^^^
    mend: did you mean 'name'?
""",
    ),
    (
        "a branch of no kind",
        BRANCH,
        "a: {strength: 1}",
        """\
f.yaml:1:5: a branch needs 'cause' or 'use'
    1 | a: {strength: 1}
      |     ^^^^^^^^
    mend: add 'cause' or 'use'
""",
    ),
    (
        "an empty branch",
        BRANCH,
        "a: {}",
        """\
f.yaml:1:4: a branch needs 'cause' or 'use'
    1 | a: {}
      |    ^^
    mend: add 'cause' or 'use'
""",
    ),
    (
        "a branch that is no mapping",
        BRANCH,
        "a: leaf",
        """\
f.yaml:1:4: 'a' must be a branch (keys with values), not 'leaf'
    1 | a: leaf
      |    ^^^^
    mend: write keys with values: 'cause' or 'use'
""",
    ),
    (
        "a branch of a kind, with a slip",
        BRANCH,
        "a: {use: x, strenght: 1}",
        """\
f.yaml:1:13: a use has no key 'strenght'
    1 | a: {use: x, strenght: 1}
      |             ^^^^^^^^
    mend: did you mean 'strength'?
""",
    ),
    (
        "a kind without its telling key",
        EITHER,
        "a: {size: x}",
        """\
f.yaml:1:5: a square thing has no key 'size'
    1 | a: {size: x}
      |     ^^^^
    mend: did you mean 'side'?
""",
    ),
    (
        "a value of a form that is not allowed",
        FORM,
        "a: 0.5",
        """\
f.yaml:1:4: 'a' must be a list or a mapping of figures, not '0.5'
    1 | a: 0.5
      |    ^^^
    mend: write a list or a mapping
""",
    ),
    (
        "a value of an allowed form, wrong inside",
        FORM,
        "a: [0.5, 7]",
        """\
f.yaml:1:10: an entry of 'a' must be a probability strictly between 0 and 1, not '7'
    1 | a: [0.5, 7]
      |          ^
    mend: write a decimal number such as 0.05 or 0.9; nothing is impossible, nothing is certain
""",
    ),
]


@pytest.mark.parametrize(
    ("shape", "text", "message"), [case[1:] for case in MISTAKES], ids=[case[0] for case in MISTAKES]
)
def test_a_mistake_is_told_whole(shape: Shape, text: str, message: str) -> None:
    assert "\n".join(str(problem) for problem in problems_of(shape, text)) + "\n" == message


# the same demand as JSON Schema ---------------------------------------------------------------


@pytest.mark.parametrize(("shape", "text"), GOOD)
def test_the_schema_takes_what_the_shape_takes(shape: Shape, text: str) -> None:
    jsonschema.Draft202012Validator(document(shape, "demo")).validate(as_json(value(text)))


# What JSON Schema cannot see: whether a text that is folded over lines is one line.
ONLY_THE_SHAPE = {"text on two lines"}


@pytest.mark.parametrize(
    ("shape", "text"),
    [case[1:3] for case in MISTAKES if case[0] not in ONLY_THE_SHAPE],
    ids=[case[0] for case in MISTAKES if case[0] not in ONLY_THE_SHAPE],
)
def test_the_schema_refuses_what_the_shape_refuses(shape: Shape, text: str) -> None:
    schema = document(shape, "demo")
    jsonschema.Draft202012Validator.check_schema(schema)
    assert not jsonschema.Draft202012Validator(schema).is_valid(as_json(value(text)))


def test_a_row_that_holds_itself_is_one_definition() -> None:
    schema = document(NEST, "A nest")
    assert schema["$ref"] == "#/$defs/nest"
    assert schema["$defs"]["nest"]["properties"]["inside"] == {"$ref": "#/$defs/nest"}


def test_the_help_of_a_key_is_its_description() -> None:
    row = Row("a row", {"id": Key(Identifier(), about="its name"), "b": optional(Text())})
    properties = document(row, "demo")["$defs"]["row"]["properties"]
    assert properties["id"]["description"] == "its name"
    assert "description" not in properties["b"]


# numbers and names ----------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["0", "7", "-3", "0.25", "160000", "007"])
def test_decimal_numbers(text: str) -> None:
    assert is_number(text)


@pytest.mark.parametrize(
    "text", ["", "-", ".5", "5.", "+5", "1e3", "1,5", "0x1", "1_000", " 5", "5\n", "\u0663", "9" * 400]
)
def test_what_is_no_decimal_number(text: str) -> None:
    assert not is_number(text)


def test_a_number_all_but_nothing_is_a_slip() -> None:
    """One divided by it would have no bound; a schema cannot say so."""
    for shape, says in ((Number(0, 10), "0, or one"), (Number(0, 1, above=True), "a number")):
        problems: list[Problem] = []
        root, _ = read(b"0." + b"0" * 9 + b"1", "a.yaml")
        assert root is not None
        shape.check(root, "'at'", problems)
        assert [each.mend for each in problems] == [f"write {says} not nearer to 0 than 0.000000001"]
        problems.clear()
        root, _ = read(b"0." + b"0" * 8 + b"1", "a.yaml")
        assert root is not None
        shape.check(root, "'at'", problems)
        assert problems == []


def test_the_nearest_name() -> None:
    names = ["raised-car", "lift-arms", "road-test"]
    assert nearest("rised-car", names) == "raised-car"
    assert nearest("hot-parts", ["airbag"]) is None
    assert nearest("anything", []) is None


def test_of_names_that_are_equally_near_the_first_in_the_alphabet() -> None:
    assert nearest("bolt-c", ["bolt-b", "bolt-a"]) == "bolt-a"


def test_a_suggestion_or_else_advice() -> None:
    assert suggest("rised-car", ["raised-car"], "add it") == "did you mean 'raised-car'?"
    assert suggest("xyz", ["raised-car"], "add it") == "add it"


def test_a_shape_of_another_room_is_a_shape_of_its_own() -> None:
    class Even(Shape):
        def _what(self) -> str:
            return "an even number"

        def _check(self, node: Node, label: str, problems: list[Problem]) -> None:
            if not isinstance(node, Scalar) or node.text[-1] not in "02468":
                self.refuse(node, label, problems, "add one")

        def _schema(self, definitions: dict[str, dict[str, object]]) -> dict[str, object]:
            return {"type": "integer", "multipleOf": 2}

    (problem,) = problems_of(ListOf(Even()), "a: [2, 3]")
    assert problem.wrong == "an entry of 'a' must be an even number, not '3'"
