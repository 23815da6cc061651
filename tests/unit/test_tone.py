"""What the program says is of one tone, as far as that can be read off its texts.

The rules stand in DEVELOPERS.md, "How it speaks". Read are the texts in the program itself, not its
docstrings; texts of a few words are names and keys, and are left out.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import diagnose

ROOT = Path(diagnose.__file__).parent

#: Texts that are not said: styles, patterns and statements in other languages, and what another library says.
NOT_SAID = (
    "sheet/style.py",
    "drawing/svg.py",
    "drawing/sheet.py",
    "job/journal.py",
    "job/lookup.py",
    "job/rescue.py",
)
QUOTED = {"mapping values are not allowed", "cannot start any token", "exceeded maximum nesting depth"}

#: Stands for what is put into a text.
HOLE = "{}"


def texts(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and text of every string that is no docstring; what is put into it is `{}`."""
    skipped = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            first = node.body[0] if node.body else None
            if isinstance(first, ast.Expr):
                skipped.add(id(first.value))
        elif isinstance(node, ast.JoinedStr):
            skipped |= {id(each) for each in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.expr) and id(node) not in skipped:
            text = text_of(node)
            if text is not None:
                yield node.lineno, text


def text_of(node: ast.expr) -> str | None:
    """The text of a string, or of one with something put into it."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            each.value if isinstance(each, ast.Constant) and isinstance(each.value, str) else HOLE
            for each in node.values
        )
    return None


@cache
def modules() -> list[tuple[str, ast.Module]]:
    """Name and tree of every module of the program."""
    return [
        (path.relative_to(ROOT).as_posix(), ast.parse(path.read_text("utf-8")))
        for path in sorted(ROOT.rglob("*.py"))
    ]


@cache
def said() -> list[tuple[str, str]]:
    """(place, text) of all that is said: three words or more."""
    found = []
    for name, tree in modules():
        if name in NOT_SAID:
            continue
        for line, text in texts(tree):
            if len(re.findall(r"[A-Za-z]{2,}", text)) >= 3 and text not in QUOTED:
                found.append((f"{name}:{line}", text))
    return found


def calls(*names: str) -> Iterator[tuple[str, ast.Call]]:
    """Calls of functions or methods of these names, with their places."""
    for module, tree in modules():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                called = (
                    node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                )
                if called in names:
                    yield f"{module}:{node.lineno}", node


@pytest.mark.slow
def test_all_that_is_said_is_found() -> None:
    assert len(said()) > 1500
    assert any(text == "a number, words of a check, n name the cause, h help >" for _, text in said())


@pytest.mark.parametrize(
    "words",
    [
        # Nobody is begged, nobody apologizes, nothing is celebrated, and nobody is told off.
        r"please|sorry|oops|unfortunately|congratulations|successfully|simply|obviously|illegal|invalid",
        # What only programmers say.
        r"mappings?|booleans?|integers?|exceptions?|tracebacks?|stdin|stdout|stderr|regex|tuples?|dicts?"
        r"|parsing|parsed|parser|runtime|unable to",
        # One word for one thing (docs/glossary.md), in British spelling.
        r"tires?|centers?|behaviors?|odometers?|color|colors|gray|malfunctions?|troubleshoot\w*",
    ],
)
def test_words_that_are_not_used(words: str) -> None:
    found = [
        (place, text)
        for place, text in said()
        if re.search(rf"(?<![\w-])(?:{words})(?![\w-])", text.lower()) and not text.startswith("<stdin>")
    ]
    assert found == []


@pytest.mark.parametrize(
    ("shape", "instead"),
    [
        (r"[a-z]!(\s|$)", "a full stop"),
        (r"\{\} is no (?!\{)[a-z]", "is not a"),
        (r"\(default [^:]", "(default: ...)"),
        (r"Enter if ", "Enter: ..."),
        (r"[a-z]  +[a-z]+ [a-z]+ [a-z]+\.$", "one blank"),
        (r"\b(?:don't|can't|won't|isn't|doesn't|it's|you're)\b", "the words in full"),
    ],
)
def test_shapes_that_are_not_used(shape: str, instead: str) -> None:
    assert [(place, text, instead) for place, text in said() if re.search(shape, text)] == []


def test_a_mistake_is_told_without_a_capital_and_a_full_stop() -> None:
    """It stands behind `diagnose:` or a place, and says after a colon, or a semicolon, how to mend it."""
    wrong = []
    for place, call in calls("InputError"):
        text = text_of(call.args[0]) if call.args else None
        if text is not None and (text.endswith((".", "!")) or re.match(r"[A-Z][a-z]", text)):
            wrong.append((place, text))
    assert wrong == []


def test_a_prompt_ends_with_an_angle_bracket() -> None:
    wrong = []
    for place, call in calls("ask", "_line"):
        text = text_of(call.args[0]) if call.args else None
        if text is not None and len(text.split()) > 2 and not text.endswith(" >"):
            wrong.append((place, text))
    assert wrong == []


def test_help_of_an_option_is_a_phrase() -> None:
    """It begins small and ends without a full stop; names and letters alone may begin with a capital."""
    wrong = []
    for place, call in calls("add_argument", "add_parser"):
        for keyword in call.keywords:
            text = text_of(keyword.value) if keyword.arg == "help" else None
            if text is not None and (text.endswith(".") or re.match(r"[A-Z][a-z]+ ", text)):
                wrong.append((place, text))
    assert wrong == []


def test_what_is_said_in_sentences_ends_with_a_full_stop() -> None:
    """A paragraph that is shown by itself and begins with a capital is a sentence, or asks, or leads on."""
    wrong = []
    for place, call in calls("say"):
        text = text_of(call.args[1]) if len(call.args) > 1 else None
        begins = text is not None and re.match(r"[A-Z][a-z]", text) and len(text.split()) > 3
        if text is not None and begins and not text.endswith((".", "?", ":", "...", ">", HOLE)):
            wrong.append((place, text))
    assert wrong == []
