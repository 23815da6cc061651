"""The JSON Schema for editors says the same as the loader: a second reading of the same demands."""

from __future__ import annotations

import re
from pathlib import Path

import jsonschema
import pytest

from diagnose.errors import Problem
from diagnose.library.format import FILE
from diagnose.library.schema import json_schema
from diagnose.library.shelf import shipped
from diagnose.library.text import Node, read
from tests.as_json import as_json
from tests.small_trees import SMALL, edited

SCHEMA = json_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def parsed(text: str) -> Node:
    node, problems = read(text.encode(), "f.yaml")
    assert problems == []
    assert node is not None
    return node


def shape_problems(node: Node) -> list[Problem]:
    problems: list[Problem] = []
    FILE.check(node, "a tree file", problems)
    return problems


def test_it_is_a_schema_of_its_draft() -> None:
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_every_reference_in_it_leads_somewhere() -> None:
    found: set[str] = set()

    def walk(value: object) -> None:
        if isinstance(value, dict):
            if "$ref" in value:
                found.add(value["$ref"])
            for item in value.values():
                walk(item)
        elif isinstance(value, list):
            for item in value:
                walk(item)

    walk(SCHEMA)
    assert found == {f"#/$defs/{name}" for name in SCHEMA["$defs"]}


def test_two_kinds_of_row_do_not_share_a_name() -> None:
    names = [
        "fact",
        "condition",
        "set-up",
        "area",
        "tool",
        "caution",
        "follow-up",
        "access",
        "source",
        "remedy",
        "change",
        "part",
        "fault",
        "life",
        "check",
        "finding",
        "graded-finding",
        "finding-with-a-reading",
        "repeating-finding",
        "reading",
        "limit",
        "complaint",
        "leaf",
        "mechanism",
        "use",
        "value-of-a-fact",
    ]
    assert sorted(SCHEMA["$defs"]) == sorted(names)


@pytest.mark.parametrize("file", sorted(SMALL))
def test_it_takes_the_small_library(file: str) -> None:
    VALIDATOR.validate(as_json(parsed(SMALL[file])))


SHIPPED = sorted(shipped().rglob("*.yaml"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.name)
def test_it_takes_every_shipped_tree(path: Path) -> None:
    VALIDATOR.validate(as_json(parsed(path.read_text(encoding="utf-8"))))


# One mistake for every key and every form of the format.
MISTAKES = [
    ("checks.yaml", "minutes: 5", "minutes: 0"),
    ("checks.yaml", "minutes: 5", "minutes: five"),
    ("checks.yaml", "minutes: 5\n", "minuts: 5\n"),
    ("checks.yaml", "    how: Helper turns the rim to and fro.\n", ""),
    ("checks.yaml", "needs: [helper]", "needs: []"),
    ("checks.yaml", "needs: [helper]", "needs: {helper: 1}"),
    ("checks.yaml", "set-up: ground", "set-up: On The Ground"),
    ("checks.yaml", "fits: {steering: rack}", "fits: rack"),
    ("checks.yaml", "rod-end-play: 0.85", "rod-end-play: 1"),
    ("checks.yaml", "rod-end-play: 0.85", "rod-end-play: [0.85]"),
    ("checks.yaml", "rod-end-play: 0.85", "Rod-end: 0.85"),
    ("checks.yaml", "false-alarm: 0.04", "false-alarm: 0"),
    ("checks.yaml", "        false-alarm: 0.04\n", ""),
    ("checks.yaml", "where: each-front-corner", "where: everywhere"),
    ("checks.yaml", "{stiff: 0.5, very stiff: 0.3}", "0.5"),
    ("checks.yaml", "{stiff: 0.5, very stiff: 0.3}", "{stiff: 0.5, very stiff: 1.3}"),
    ("checks.yaml", "grades: [stiff, very stiff]", "grades: stiff"),
    ("checks.yaml", "grades: [stiff, very stiff]", "grades: [stiff, very stiff]\n        reading: x"),
    ("checks.yaml", "quantity: length", "quantity: colour"),
    ("checks.yaml", "unit: mm\n", "unit: mm\n          direction: up\n"),
    ("checks.yaml", "{at: 8,", "{at: eight,"),
    ("checks.yaml", "name: past the feel limit, ", ""),
    ("checks.yaml", "repeats: wander", "repeats: a/b/c"),
    ("checks.yaml", "hit: 0.9", "hit: 1"),
    ("checks.yaml", "        hit: 0.9\n", ""),
    ("checks.yaml", "repeats: wander", "repeats: wander\n        points-to: {rod-end-play: 0.5}"),
    ("parts.yaml", "{km: 380000, shape: 2.2}", "{shape: 2.2}"),
    ("parts.yaml", "{km: 380000, shape: 2.2}", "{km: 380000}"),
    ("parts.yaml", "{km: 380000, shape: 2.2}", "{km: 0, shape: 2.2}"),
    ("parts.yaml", "chance: 0.01", "chance: 0.01\n        life: {km: 1, shape: 1}"),
    ("parts.yaml", "        chance: 0.01\n", ""),
    ("parts.yaml", "danger: stop", "danger: maybe"),
    ("parts.yaml", "        danger: stop\n", ""),
    ("parts.yaml", "        danger-when: the stud can be pulled out\n", ""),
    ("parts.yaml", "mates: 3", "mates: 0.5"),
    ("parts.yaml", "{rough-roads: 1.6}", "{rough-roads: 0}"),
    ("parts.yaml", "{rough-roads: 1.6}", "[rough-roads]"),
    ("parts.yaml", "per: each\n", "per: wheel\n"),
    ("parts.yaml", "access: end-parted", "access: []"),
    ("parts.yaml", "covers: renew-rod-end", "covers: {renew-rod-end: yes}"),
    ("parts.yaml", "inspection: 5.2.3", "inspection: tyres"),
    ("parts.yaml", "inspection: 5.2.3", "inspection: 5"),
    ("tables.yaml", "per: each, hours: 0.15", "per: pair, hours: 0.15"),
    ("tables.yaml", "hours: 1.5", "hours: 0"),
    ("tables.yaml", "within: wheel-off", "within: [wheel-off]"),
    ("tables.yaml", "per: car, hours: 1.5, ", "per: car, "),
    ("parts.yaml", "hours: 0.7", "hours: -1"),
    ("tables.yaml", "enter: 6", "enter: soon"),
    ("tables.yaml", "share: 0.9", "share: 0"),
    ("tables.yaml", "between: [lift, wheels-off]", "between: [lift]"),
    ("tables.yaml", "between: [lift, wheels-off]", "between: [lift, wheels-off, talk]"),
    ("tables.yaml", "{id: helper, name: a helper}", "{id: helper}"),
    ("tables.yaml", "tools:\n", "tool:\n"),
    ("tables.yaml", "tools:\n  - {id: helper, name: a helper}", "tools: {id: helper, name: a helper}"),
    ("tables.yaml", "{id: helper, name: a helper}", "helper"),
    ("tables.yaml", "{id: helper, name: a helper}", "{id: helper, name: [a helper]}"),
    ("pull.yaml", "sided: yes", "sided: left"),
    ("pull.yaml", "leak: 0.05", "leak: 0"),
    ("pull.yaml", "  leak: 0.05\n", ""),
    ("pull.yaml", "  source: [estimate, demo-book]\n", ""),
    ("pull.yaml", "at: this-side", "at: near-side"),
    ("pull.yaml", "strength: 0.8", "strength: 1.5"),
    ("pull.yaml", "{cause: tyres-soft, strength: 0.5}", "{cause: tyres-soft, strength: 1}"),
    ("pull.yaml", "{cause: tyres-soft, strength: 0.5}", "{cause: tyres-soft}"),
    ("pull.yaml", "{cause: tyres-soft, strength: 0.5}", "{strength: 0.5}"),
    ("pull.yaml", "  all:\n", "  any: [{use: loose-steering}]\n  all:\n"),
    ("pull.yaml", "  all:\n", "  at-least: 2\n  all:\n"),
    ("wander.yaml", "at-least: 2", "at-least: 1.5"),
    ("wander.yaml", "      at-least: 2\n", ""),
    ("wander.yaml", "      name: the steering is loose\n", ""),
    ("wander.yaml", "any:\n        - {cause: rod-end-play, strength: 0.45}", "any: []"),
]


@pytest.mark.parametrize("edit", MISTAKES, ids=[f"{edit[1]} -> {edit[2]}" for edit in MISTAKES])
def test_it_refuses_what_the_loader_refuses(edit: tuple[str, str, str]) -> None:
    node = parsed(edited(edit)[edit[0]])
    assert shape_problems(node) != []
    assert not VALIDATOR.is_valid(as_json(node))


# Forms that are right although they look odd.
ODD = [
    ("checks.yaml", "needs: [helper]", "needs: helper"),
    ("checks.yaml", "name: the rod end moves", "name: 7"),
    ("checks.yaml", "false-alarm: {stiff: 0.1}", "false-alarm: [0.1, 0.2]"),
    ("checks.yaml", "points-to: {tyres-soft: 0.6}", "points-to: {}"),
    ("checks.yaml", "repeats: wander", "repeats: ask-tyres/long-ago"),
    ("parts.yaml", "{km: 380000, shape: 2.2}", "{km: 380000, years: 20, shape: 2.2}"),
    ("parts.yaml", "parts: 35", "parts: 35.50"),
    ("parts.yaml", "inspection: 5.2.3", "inspection: 2.3"),
    ("pull.yaml", "strength: 0.8", "strength: 1"),
    ("pull.yaml", ", strength: 0.8", ""),
    ("pull.yaml", "sided: yes", "sided: no"),
    ("wander.yaml", "  questions: [ask-tyres]\n", ""),
]


@pytest.mark.parametrize("edit", ODD, ids=[f"{edit[1]} -> {edit[2]}" for edit in ODD])
def test_it_takes_what_the_loader_takes(edit: tuple[str, str, str]) -> None:
    node = parsed(edited(edit)[edit[0]])
    assert shape_problems(node) == []
    VALIDATOR.validate(as_json(node))


# docs/trees.md --------------------------------------------------------------------------------

DOCS = Path(__file__).parents[2].joinpath("docs", "trees.md").read_text(encoding="utf-8")
EXAMPLES = [
    example
    for example in re.findall(r"^```yaml\n(.*?)^```$", DOCS, re.MULTILINE | re.DOTALL)
    if "\ncase: " not in example  # a case file is read by docs/case-files.md's own test
]
A_CHECK = "checks:\n  - id: x\n    name: x\n    set-up: x\n    minutes: 1\n    how: x\n    source: estimate\n"


@pytest.mark.parametrize("example", EXAMPLES, ids=[example.split(":")[0].strip() for example in EXAMPLES])
def test_the_examples_of_the_documentation_are_right(example: str) -> None:
    if example.startswith("      "):  # findings alone
        example = A_CHECK + "    findings:\n" + example
    example = example.replace("{cause: ...}", "{cause: x, strength: 0.5}")
    node = parsed(example)
    assert shape_problems(node) == []
    VALIDATOR.validate(as_json(node))


def test_the_documentation_names_every_key() -> None:
    properties = [row.get("properties", {}) for row in (SCHEMA, *SCHEMA["$defs"].values())]
    missing = {key for keys in properties for key in keys if not re.search(rf"\b{key}:", DOCS)}
    assert missing == set()
