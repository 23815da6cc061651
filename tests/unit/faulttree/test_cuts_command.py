"""`diagnose trees cuts`: what it shows and prints, for which car, and what it refuses."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.network import expand
from diagnose.faulttree.tree import FaultTree
from diagnose.model.story import Story
from diagnose.model.vehicle import Vehicle
from diagnose.screen.cuts import gate_name
from diagnose.words import of_100
from tests.scripted import Tell, telling
from tests.shipped import LIBRARY
from tests.unit.test_docs import fenced, keys_of

ROOT = Path(__file__).resolve().parents[3]
CASE = """case: 1
vehicle: {name: demo saloon, km: 287000, years: 17, front: strut}
complaints: [{id: pull-to-one-side, side: left}, {id: wander}]
"""


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Tell:
    """Runs `diagnose trees cuts` in this process: (exit code, output, errors)."""
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    return telling("trees cuts", capsys, monkeypatch)


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "case.yaml"
    path.write_text(CASE, "utf-8")
    return path


def test_the_page_reads_in_80_columns_and_in_ascii(tell: Tell) -> None:
    code, out, err = tell("wander", "--top", "3")
    assert (code, err) == (0, "")
    assert out.isascii()
    assert max(map(len, out.splitlines())) <= 80
    told = " ".join(out.split())
    tree = FaultTree(expand(LIBRARY, Vehicle(), {"wander": None}), "wander")
    have = f"Of 100 such cars {of_100(tree.chance)} have it."
    assert f"Of the reference car: 130 000 km, 9 years; before any check. {have}" in told
    whole, alone, pairs = sum(tree.counts.values()), tree.counts[1], len(tree.chances.pairs)
    assert f"{whole} minimal cut sets: {alone} of one fault alone, " in told
    assert f"and {whole - 3} more" in told
    assert f"{pairs} pairs of mates" in told
    for each in tree.cut_sets(3):
        for number in each.events:
            event = tree.events[number]
            name = gate_name(LIBRARY, event.gate)
            if event.kind == "link":
                then = "enough for" if event.cause is not None else "and then for"
                assert f"{then}: {name} (in {of_100(event.chance)} of 100)" in told


@pytest.mark.slow
def test_links_are_shown_when_asked_for(tell: Tell) -> None:
    assert "link of" not in tell("wander")[1]
    assert "link of rear-axle-steers, and then for:" in tell("wander", "--links")[1]


@pytest.mark.slow
def test_an_order_cuts_off_and_an_empty_list_says_so(tell: Tell, tmp_path: Path) -> None:
    alone = tell("shimmy", "--order", "1")[1]
    counts = FaultTree(expand(LIBRARY, Vehicle(), {"shimmy": None}), "shimmy").counts
    assert f"{counts[1]} of one fault alone, {counts[2]} of 2 together" in " ".join(alone.split())
    both = tell("shimmy", "--order", "2", "--top", "2")[1]
    assert f"and {counts[1] + counts[2] - 2} more of at most 2 together" in both
    assert both.count("enough for its branch of") + both.count("something not listed here, for") >= 2
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "pull.yaml").write_text(
        "complaint:\n  id: demo-both\n  name: Demo of both\n  about: demo\n  says: [demo of both]\n"
        "  leak: 0.01\n  source: estimate\n  any:\n    - {cause: front-dampers-weak, strength: 0.5}\n",
        "utf-8",
    )
    code, out, _ = tell("demo-both", "--trees", tmp_path / "own")
    assert code == 0
    assert "2 minimal cut sets: 2 of one fault alone." in out


def test_json_tells_all_and_its_page_names_every_key(tell: Tell) -> None:
    code, out, _ = tell("wander", "--json", "--top", "4")
    found = json.loads(out)
    assert code == 0
    assert found["format"] == "handling-diagnose/cuts/1"
    assert len(found["cut_sets"]) == 4
    assert {each["kind"] for each in found["events"]} == {"cause", "link", "leak"}
    known = {each["key"] for each in found["events"]}
    assert all(known.issuperset(each["events"]) for each in found["cut_sets"])
    text = (ROOT / "docs" / "json.md").read_text("utf-8")
    part = text[text.index("cuts/1`\n") : text.index("shake/1`\n")]
    missing = {key for key in keys_of(found) if not re.search(rf"[`.\]]{key}`", part)}
    assert missing <= {"format"}


@pytest.mark.slow
def test_the_car_of_a_case_file_counts_and_its_answers_do_not(tell: Tell, case: Path) -> None:
    found = json.loads(tell("--case", case, "--json")[1])
    assert (found["complaint"], found["side"]) == ("pull-to-one-side", "left")
    vehicle = Vehicle("demo saloon", {"front": "strut"}, {}, 287_000, 17)
    car = Car(LIBRARY, vehicle, {"pull-to-one-side": "left"})
    expected = Belief(car, Story(vehicle)).complaint("pull-to-one-side")
    assert found["probability"] == pytest.approx(expected, abs=1e-9)
    more = f"{CASE}answers:\n  - check: fingertips-along-the-chain\n    others: no\n"
    assert json.loads(tell("--case", "-", "--json", text=more)[1]) == found
    other = json.loads(tell("wander", "--case", case, "--json")[1])
    assert (other["complaint"], other["side"]) == ("wander", None)
    assert "Of demo saloon; before any check." in tell("--case", case)[1]


@pytest.mark.slow
def test_the_car_of_a_job(tell: Tell, case: Path, tmp_path: Path) -> None:
    from diagnose.job.case import read_case
    from diagnose.job.journal import Journal
    from diagnose.job.session import Session
    from diagnose.job.steps import steps_of
    from diagnose.model.story import Workshop

    assert "no job is open" in tell("wander", "--job", "last")[2]
    with Journal.open(tmp_path / "jobs.sqlite") as journal:
        told = read_case(LIBRARY, CASE.encode(), "demo")
        job = Session.start(LIBRARY, journal, "demo", Workshop(), steps_of(LIBRARY, told)).job
    by_case = json.loads(tell("--case", case, "--json")[1])
    assert json.loads(tell("--job", "last", "--json")[1]) == by_case
    assert json.loads(tell("--job", job, "--json")[1]) == by_case
    assert f"Of the car of {job};" in tell("--job", job)[1]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "name a complaint, or a car with --case or --job: `diagnose trees` lists them"),
        (["wandr"], "there is no complaint 'wandr': did you mean 'wander'?"),
        (["wander", "--side", "left"], "--side: wander has no side; leave it out"),
        (["--case", "CASE", "--job", "last"], "--case and --job exclude each other: keep one of them"),
        (
            ["--case", "CASE", "--side", "right"],
            "--side right: pull-to-one-side was told of the left side; leave it out",
        ),
        (["wander", "--top", "0"], "'0' is not a count: write a whole number from 1"),
        (["wander", "--order", "some"], "'some' is not a count: write a whole number from 1"),
        (["--case", "nowhere.yaml"], "nowhere.yaml: cannot be read (No such file or directory)"),
    ],
)
def test_what_is_refused(tell: Tell, case: Path, arguments: list[str], message: str) -> None:
    code, out, err = tell(*(case if each == "CASE" else each for each in arguments))
    assert (code, out) == (2, "")
    assert message in err


def test_the_python_example_of_the_page_runs(capsys: pytest.CaptureFixture[str]) -> None:
    (example,) = fenced(ROOT / "docs" / "fault-trees.md", "python")
    exec(compile(example, "fault-trees.md", "exec"), {})
    assert len(capsys.readouterr().out.splitlines()) == 6


def test_the_page_says_how_large_the_largest_tree_is() -> None:
    tree = FaultTree(expand(LIBRARY, Vehicle(), {"wander": None}), "wander")
    text = " ".join((ROOT / "docs" / "fault-trees.md").read_text("utf-8").split())
    assert f"`wander`, has {len(tree.events)} events and {tree.size} nodes" in text
