"""The documents hold: their examples run, their keys and links exist, and what they show is what is printed.

What README.md and docs/tutorial.md show is cut from `diagnose demo --fast`, and the worked examples of the
pages in `WORKED` are played in a folder of their own. After a change of what they print,
`python -m tests.unit.test_docs` writes them anew; then read them, and the text around them.
With `--measure` it writes the figures of docs/accuracy.md as well, which takes some minutes.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import chdir
from functools import cache
from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from diagnose import Car, Verdict, load
from diagnose.cli import run as program
from diagnose.commands.parser import parser as command_line
from diagnose.job.case import read_case
from diagnose.job.case_rounds import REPAIR, round_shape
from diagnose.library.schema import json_schema
from diagnose.report import ranking_json
from diagnose.screen.tables import ORDERS, WAYS

ROOT = Path(__file__).resolve().parents[2]
PAGES = [*sorted(ROOT.glob("*.md")), *sorted((ROOT / "docs").glob("*.md"))]
WITH_SESSIONS = [ROOT / "README.md", ROOT / "docs" / "tutorial.md"]

INSTALL = "python3 -m venv .venv && .venv/bin/pip install --quiet . && .venv/bin/diagnose"
TEST = (
    "python3 -m venv .venv-test && .venv-test/bin/pip install --quiet -e '.[test]' "
    "&& .venv-test/bin/python -m pytest -q"
)

#: A case whose ranking holds all that one can hold, but for a conflict.
SAMPLE = b"""
case: 1
vehicle: {front: strut, rear: twist-beam, km: 187000, years: 12, conditions: {salt-climate: yes}}
complaints: [{id: wander}]
answers:
  - check: fingertips-along-the-chain
    findings: {step-at-rod-end: {front-left: yes}}
    others: no
"""


def fenced(page: Path, language: str) -> list[str]:
    """The code blocks of a page in one language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", page.read_text("utf-8"), re.DOTALL | re.MULTILINE)


def run(*arguments: str, cwd: Path = ROOT, both: bool = False, typed: str = "") -> str:
    """What the program prints into a pipe of 80 columns; `both`: its errors as well, if it fails.

    In a folder of its own it keeps its jobs there. typed: lines that it is given.
    """
    own = {"COLUMNS": "80", "PYTHONIOENCODING": "utf-8"}
    if cwd != ROOT:
        own["DIAGNOSE_STORE"] = str(cwd / "jobs.db")
    out, errors = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    told = io.TextIOWrapper(io.BytesIO(typed.encode()), encoding="utf-8")
    with (
        chdir(cwd),
        mock.patch.dict(os.environ, own),
        mock.patch.multiple(sys, stdin=told, stdout=out, stderr=errors),
    ):
        os.environ.pop("TERM", None)
        code = program([*arguments])
    shown = []
    for each in (out, errors):
        each.flush()
        shown.append(each.buffer.getvalue().decode())  # type: ignore[attr-defined]
    assert both or code == 0, shown[1]
    return "".join(shown) if both else shown[0]


# Commands ---------------------------------------------------------------------------------------------


def test_the_two_commands_of_the_readme_stand_word_for_word() -> None:
    blocks = fenced(ROOT / "README.md", "sh")
    assert blocks == [INSTALL + "\n", TEST + "\n"]


def commands(parser: argparse.ArgumentParser, before: str = "diagnose") -> Iterator[str]:
    """Every command of a parser, with those below it."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, below in action.choices.items():
                yield f"{before} {name}"
                yield from commands(below, f"{before} {name}")


@pytest.mark.parametrize("command", list(commands(command_line())))
def test_every_command_is_named_in_readme_or_how_to(command: str) -> None:
    text = (ROOT / "README.md").read_text("utf-8") + (ROOT / "docs" / "how-to.md").read_text("utf-8")
    _, top, *below = command.split()
    rows = [line for line in text.splitlines() if f"diagnose {top}" in line]
    assert rows, f"`{command}` is named nowhere"
    for name in below:
        assert any(re.search(rf"(`|diagnose {top} ){name}\b", row) or f", {name}" in row for row in rows)


def test_every_command_in_the_pages_exists() -> None:
    known = {command.split()[1] for command in commands(command_line())}
    for page in PAGES:
        for block in fenced(page, "sh"):
            for name in re.findall(r"(?:^|/)diagnose ([a-z]+)", block, re.MULTILINE):
                assert name in known, f"{page.name}: diagnose {name}"


# Examples ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("number", range(len(fenced(ROOT / "docs" / "case-files.md", "yaml"))))
def test_every_example_of_a_case_file_reads(number: int) -> None:
    text = fenced(ROOT / "docs" / "case-files.md", "yaml")[number]
    case = read_case(load(), text.encode(), f"example {number + 1}")
    assert case.story.heard


def test_the_example_of_a_workshop_reads(tmp_path: Path) -> None:
    from diagnose.job.profile import _SHAPE, read_profile

    (example,) = fenced(ROOT / "docs" / "how-to.md", "yaml")
    (tmp_path / "workshop.yaml").write_text(example, "utf-8")
    assert read_profile(load(), tmp_path / "workshop.yaml") is not None
    assert all(f"{key}:" in example for key in _SHAPE.keys)


def test_case_files_md_names_every_key() -> None:
    from diagnose.job import case

    text = (ROOT / "docs" / "case-files.md").read_text("utf-8")
    keys = {"case", "id", "vehicle", "complaints", "answers", "workshop", "confirmed", *case._VEHICLE_KEYS}
    rounds = round_shape(case._ANSWERED)
    for row in (case._COMPLAINT, case._ANSWERED, case._CONFIRMED, case._WORKSHOP, rounds, REPAIR):
        keys |= set(row.keys)
    assert {key for key in keys if f"`{key}`" not in text} == set()


def test_the_python_example_runs() -> None:
    (example,) = fenced(ROOT / "docs" / "how-to.md", "python")
    found = subprocess.run(
        [sys.executable, "-c", example], cwd=ROOT, capture_output=True, text=True, check=True, timeout=120
    )
    assert len(found.stdout.splitlines()) == 5


# JSON -------------------------------------------------------------------------------------------------


def keys_of(value: Any, free: tuple[str, ...] = ("facts", "conditions")) -> Iterator[str]:
    """Every key in a JSON value; those inside `free` are ids of the trees."""
    if isinstance(value, dict):
        for key, each in value.items():
            yield key
            if key not in free:
                yield from keys_of(each)
    elif isinstance(value, list):
        for each in value:
            yield from keys_of(each)


def test_json_md_names_every_key_of_a_ranking() -> None:
    library = load()
    case = read_case(library, SAMPLE, "sample")
    verdict = Verdict(Car(library, case.story.vehicle, case.story.complaints), case.story, case.workshop)
    found = set(keys_of(ranking_json(verdict, case.story)))
    assert {"causes", "next", "outcomes", "cures_alone", "unfit_to_drive", "follow_ups"} <= found
    found |= {"bits", "observation"}  # of a conflict, which the sample does not have
    text = (ROOT / "docs" / "json.md").read_text("utf-8")
    part = text[text.index("ranking/1`\n") : text.index("jobs/1`\n")]
    assert {key for key in found if not re.search(rf"[`.\]]{key}`", part)} == set()


def test_json_md_names_every_format() -> None:
    text = (ROOT / "docs" / "json.md").read_text("utf-8")
    sources = [ROOT / "diagnose" / "report.py", *sorted((ROOT / "diagnose" / "commands").glob("*.py"))]
    source = "".join(path.read_text("utf-8") for path in sources)
    formats = set(re.findall(r"handling-diagnose/[a-z]+/\d+", source))
    assert "handling-diagnose/{options.what}/1" in source
    below = {
        command.split()[2] for command in commands(command_line()) if command.startswith("diagnose trees ")
    }
    formats |= {
        f"handling-diagnose/{what}/1" for what in below - {"show", "draw", "check", "schema", "weigh"}
    }
    assert formats and {name for name in formats if f"`{name}`" not in text} == set()


# Links and words --------------------------------------------------------------------------------------


def anchors(page: Path) -> set[str]:
    """The anchors of a page's headings."""
    heads = re.findall(r"^#+ (.*)$", page.read_text("utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_relative_link_leads_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text("utf-8")):
        if "://" in target:
            continue
        name, _, anchor = target.partition("#")
        file = (page.parent / name).resolve() if name else page
        assert file.is_file() and file.is_relative_to(ROOT), f"{page.name}: {target}"
        assert not anchor or anchor in anchors(file), f"{page.name}: {target}"


# Sessions ---------------------------------------------------------------------------------------------


@cache
def demo() -> str:
    """What `diagnose demo --fast` prints into a pipe of 80 columns."""
    return run("demo", "--fast")


@cache
def sections() -> dict[str, list[str]]:
    """The demo cut at every step: `start`, each check by its name (and `#1`, `#2`, ...), `Conclusion`."""
    steps: list[list[str]] = [[]]
    for line in demo().splitlines():
        if re.search(r" · \d+ checks?, ", line) or line.startswith("No further check"):
            steps.append([])
        steps[-1].append(line.rstrip())
    found = {"start": steps[0]}
    for number, step in enumerate(steps[1:], start=1):
        heads = [re.match(r"(?:Next|Ask the driver): (.*)|(Conclusion)$", line) for line in step]
        name = next((head[1] or head[2] for head in heads if head), "before the conclusion")
        found[name] = found[f"#{number}"] = step
    return found


def excerpt(wanted: str) -> list[str]:
    """Lines of one section: `NAME`, `after NAME` for the one behind it, `...: 7` for its first lines."""
    name, _, count = wanted.partition(": ")
    known = sections()
    names = [each for each in known if not each.startswith("#")]
    if name.startswith("after "):
        name = names[names.index(name.removeprefix("after ")) + 1]
    lines = known[name]
    while lines and not lines[-1]:
        lines = lines[:-1]
    return lines[: int(count)] if count else lines


def session(mark: str) -> str:
    """The text of the block behind `<!-- demo: A | B: 7 | C -->`."""
    parts = ["\n".join(excerpt(wanted.strip())) for wanted in mark.split("|")]
    text = "\n[...]\n".join(part.strip("\n") for part in parts)
    last = mark.split("|")[-1]
    return text + ("\n[...]\n" if ": " in last else "\n")


BLOCK = re.compile(r"^<!-- demo: (.*?) -->\n```text\n(.*?)^```$", re.DOTALL | re.MULTILINE)


def rewritten(page: Path) -> str:
    """The page with its sessions as the program prints them now."""
    return BLOCK.sub(
        lambda found: f"<!-- demo: {found[1]} -->\n```text\n{session(found[1])}```", page.read_text("utf-8")
    )


@pytest.mark.slow
@pytest.mark.parametrize("page", WITH_SESSIONS, ids=lambda page: page.name)
def test_sessions_are_what_the_program_prints(page: Path) -> None:
    assert BLOCK.search(page.read_text("utf-8"))
    assert page.read_text("utf-8") == rewritten(page), "run: python -m tests.unit.test_docs"


# The worked example ------------------------------------------------------------------------------------

#: Page -> the steps that it has at least.
WORKED = {
    "trees": 9,
    "angles": 2,
    "vibration": 3,
    "debrief": 4,
    "plan": 3,
    "repairs": 14,
    "fault-trees": 2,
    "practice": 1,
}
#: A file of the example, or a command of it with what it prints (`< a; b`: with these lines typed; `| 6`: its
#: first six lines).
STEP = re.compile(
    r"^```yaml\n# file: (?P<file>\S+)\n(?P<text>.*?)^```$"
    r"|^<!-- run: (?P<run>.*?) -->\n```text\n(?P<out>.*?)^```$",
    re.DOTALL | re.MULTILINE,
)


def worked_page(name: str) -> Path:
    return ROOT / "docs" / f"{name}.md"


def worked(page: str, folder: Path) -> str:
    """The page with what its commands print now; its files are written to `folder` on the way."""

    def step(found: re.Match[str]) -> str:
        if found["file"]:
            file = folder / found["file"]
            file.parent.mkdir(exist_ok=True)
            file.write_text(found["text"], "utf-8")
            return found[0]
        command, _, first = found["run"].partition(" | ")
        command, _, typed = command.partition(" < ")
        lines_typed = "".join(f"{line}\n" for line in typed.split("; ")) if typed else ""
        lines = run(*command.split(), cwd=folder, both=True, typed=lines_typed).splitlines()
        if first:
            lines = [*lines[: int(first)], "[...]"]
        text = "\n".join(line.rstrip() for line in lines).strip("\n")
        return f"<!-- run: {found['run']} -->\n```text\n{text}\n```"

    return STEP.sub(step, page)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "steps"), WORKED.items())
def test_a_worked_example_prints_what_it_shows(name: str, steps: int, tmp_path: Path) -> None:
    page = worked_page(name).read_text("utf-8")
    assert len(STEP.findall(page)) >= steps
    assert page == worked(page, tmp_path), "run: python -m tests.unit.test_docs"


# Python -----------------------------------------------------------------------------------------------

PYTHON = ROOT / "docs" / "python.md"
EXAMPLE = re.compile(r"^```python\n(?P<code>.*?)^```\n\n```text\n.*?^```$", re.DOTALL | re.MULTILINE)


def executed(page: str) -> str:
    """The page with what its examples print now; they run in one world, in their order."""
    world: dict[str, object] = {"__name__": "example"}

    def step(found: re.Match[str]) -> str:
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            exec(found["code"], world)
        return f"```python\n{found['code']}```\n\n```text\n{out.getvalue()}```"

    return EXAMPLE.sub(step, page)


@pytest.mark.slow
def test_the_examples_from_python_print_what_they_show() -> None:
    page = PYTHON.read_text("utf-8")
    assert len(EXAMPLE.findall(page)) == len(fenced(PYTHON, "python")) >= 6
    assert page == executed(page), "run: python -m tests.unit.test_docs"


# Figures ----------------------------------------------------------------------------------------------

ACCURACY = ROOT / "docs" / "accuracy.md"
FIGURES = re.compile(r"(<!-- measure: (\S+) -->\n).*?(<!-- end -->)", re.DOTALL)


def figures(folder: str) -> str:
    """Table of the cases in a folder, and what they come to together."""
    rows = ["| case | complaint | told | before | all | of | walk, min |", "|---|---|---|---|---|---|---|"]
    found = json.loads(run("measure", folder, "--json"))
    for each in found["cases"]:
        walk = each["walk"]
        minutes = "-" if walk is None else f"{walk['minutes']:.0f}" if walk["found"] else "not found"
        ranks = [each[key] or "-" for key in ("rank_told", "rank_before", "rank_all")]
        rows.append(
            "| " + " | ".join(map(str, (each["case"], each["complaint"], *ranks, each["of"], minutes))) + " |"
        )
    sums = found["summary"]
    rows += ["", "| known | first | among the first three | of |", "|---|---|---|---|"]
    rows += [
        f"| {title} | {sums['first'][way]} | {sums['three'][way]} | {sums['cases']} |"
        for way, title in WAYS.items()
    ]
    rows += [
        "",
        "| order of looking | found | median min | longest | set-ups | times the program's |",
        "|---|---|---|---|---|---|",
    ]
    for name, title in ORDERS.items():
        order = sums["orders"][name]
        spent = f"{order['minutes']:.0f} | {order['longest']:.0f} | {order['set_ups']:g}"
        rows.append(f"| {title} | {order['found']} of {sums['listed']} | {spent} | {order['slower']:.1f} |")
    return "\n" + "\n".join(rows) + "\n\n"


def measured(page: str) -> str:
    """The page with its figures as they are now."""
    return FIGURES.sub(lambda found: found[1] + figures(found[2]) + found[3], page)


@pytest.mark.long
def test_the_figures_of_accuracy_md_are_what_is_measured() -> None:
    page = ACCURACY.read_text("utf-8")
    assert FIGURES.search(page)
    assert page == measured(page), "run: python -m tests.unit.test_docs --measure"


def test_the_published_schema_is_the_one_that_the_program_checks_by() -> None:
    """`diagnose trees schema > docs/tree.schema.json` makes it anew."""
    published = json.loads((ROOT / "docs" / "tree.schema.json").read_text(encoding="utf-8"))
    assert published == json_schema()


if __name__ == "__main__":
    for each in WITH_SESSIONS:
        each.write_text(rewritten(each), "utf-8")
    for each in map(worked_page, WORKED):
        with tempfile.TemporaryDirectory() as away:
            each.write_text(worked(each.read_text("utf-8"), Path(away)), "utf-8")
    PYTHON.write_text(executed(PYTHON.read_text("utf-8")), "utf-8")
    if "--measure" in sys.argv:
        ACCURACY.write_text(measured(ACCURACY.read_text("utf-8")), "utf-8")
