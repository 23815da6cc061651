"""`diagnose practice` through a pipe, on small trees (demo): left, ended, gone on with, refused."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.choice.outcomes import Spot
from diagnose.commands import practice as command
from diagnose.model.library import Library
from diagnose.model.story import Workshop
from diagnose.practice.exercise import draw_exercise
from tests.scripted import telling
from tests.small_trees import SMALL, compiled, edited

LIBRARY: Library = compiled(SMALL)[0].library

#: Runs the command with these arguments, and lines typed.
Told = Callable[..., tuple[int, str, str]]


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Told:
    tell = telling("practice", capsys, monkeypatch)

    def call(*arguments: str, lines: str = "", library: Library = LIBRARY) -> tuple[int, str, str]:
        monkeypatch.setattr("diagnose.commands.given.library", lambda options: library)
        text = "".join(f"{line}\n" for line in lines.split("|")) if lines else ""
        return tell(*arguments, "--store", tmp_path / "jobs.sqlite", text=text)

    return call


def record(tmp_path: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in (tmp_path / "practice.jsonl").read_text("utf-8").splitlines()]


def test_a_car_handed_on_is_compared_and_kept(told: Told, tmp_path: Path) -> None:
    code, out, err = told("wander", "--seed", "3", "--level", "1", lines="ask about the tyres||g||q")
    assert (code, err) == (0, "")
    assert all(len(line) <= 80 for line in out.splitlines())
    assert "Handing it on costs about 1 000 cu." in out
    assert re.search(r"complaint gone +no +(yes|no)\n", out)
    assert "By what the driver tells, its cure stands" in out
    assert [line["event"] for line in record(tmp_path)] == ["begun", "move", "ended"]
    code, out, _ = told("--record")
    assert code == 0
    assert "Your first car: 0 cured, 0 at the first fitting; 0 parts in vain;" in out


def test_cut_off_anywhere_it_goes_on_with_what_was_seen(told: Told, tmp_path: Path) -> None:
    told("wander", "--seed", "3", "--level", "1")
    # Cut off before the check is agreed to, then after it.
    check = "rock the steering"
    for lines, moves in ((f"|{check}", 0), (f"|{check}|", 1), ("|k", 1)):
        code, out, _ = told(lines=lines)
        assert code == 0
        assert "Kept: `diagnose practice` goes on with this car." in out
        assert sum(line["event"] == "move" for line in record(tmp_path)) == moves
    assert "1 check | " in out
    assert f"{check}\n  " in out
    assert sum(line["event"] == "begun" for line in record(tmp_path)) == 1


def test_a_hint_is_agreed_to_once_told_in_two_steps_and_kept(told: Told, tmp_path: Path) -> None:
    asked = "[Enter] a hint: this car then opens no level [0] back >"
    code, out, _ = told("wander", "--seed", "3", "--level", "1", lines="w|0|w||w|ask about the tyres|w")
    assert code == 0
    assert out.count(asked) == 2
    assert out.count("to blame in so many of 100 such cars:") == 2
    assert out.count("program would") == 3  # twice what `w` once more would tell, and once just that
    kept = [line.get("hint") for line in record(tmp_path) if line["event"] == "move"]
    assert kept == ["suspects", "step", None, "suspects"]
    # It goes on with them: no second question, and the end says how many there were.
    code, out, _ = told(lines="|w|g||q")
    assert asked not in out
    assert re.search(r"hints +4 *\n", out)
    assert "Not a good one:" in out
    ended = record(tmp_path)[-1]
    assert (ended["event"], ended["hints"]) == ("ended", 4)


def test_another_car_leaves_the_one_that_is_open(told: Told, tmp_path: Path) -> None:
    told("wander", "--seed", "3", lines="q")
    _, out, _ = told(lines="n|q")
    assert "Car 1 is left." in out
    _, out, _ = told("--new", lines="q")
    assert "Car 2 is left." in out
    assert [line["event"] for line in record(tmp_path)] == ["begun", "left", "begun", "left", "begun"]


def test_a_car_of_other_trees_is_not_gone_on_with(told: Told) -> None:
    told("wander", "--seed", "3", lines="q")
    other = compiled(edited(("wander.yaml", "leak: 0.03", "leak: 0.04")))[0].library
    assert other.digest == LIBRARY.digest  # neither comes from a folder
    changed = Library(**{**{f: getattr(other, f) for f in other.__dataclass_fields__}, "digest": "another"})
    code, out, _ = told(lines="q", library=changed)
    assert code == 0
    assert "Car 1 was drawn from other trees; it cannot go on." in " ".join(out.split())
    assert "Car 1 is left." in out


def test_a_killed_comparison_is_made_when_it_goes_on(told: Told, tmp_path: Path) -> None:
    """The move that cured the car is on the disk, its end is not."""
    told("wander", "--seed", "3", "--level", "1", lines="g||q")
    file = tmp_path / "practice.jsonl"
    begun = file.read_text("utf-8").splitlines()[0]
    one = command.read(file).cars[0]
    assert not one.cured
    exercise = draw_exercise(LIBRARY, ["wander"], 1, 3, Workshop())
    cures = {exercise.cures.all[int(exercise.cures.of_cause[n])] for n in exercise.truth}
    lines = [begun]
    for cure in cures:
        lines.append(
            json.dumps({"practice": 1, "event": "move", "number": 1, "cure": f"{cure.remedy}@{cure.place}"})
        )
    file.write_text("\n".join(lines), "utf-8")  # and the last line is not ended
    code, out, _ = told(lines="q")
    assert code == 0
    assert "It was" in out
    assert "what next" not in out
    assert command.read(file).cars[0].first


def test_a_car_found_unfit_says_so_at_once_and_is_mended_before_it_is_driven(told: Told) -> None:
    seed = next(
        seed
        for seed in range(200)
        if draw_exercise(LIBRARY, ["wander"], 1, seed, Workshop())
        .car.answer(Spot("rock-the-steering/end-moves", "front-left"))
        .answer
        == "yes"
    )
    lines = "rock the steering||n set the pressures|1|0|q"
    code, out, _ = told("wander", "--level", "1", "--seed", str(seed), lines=lines)
    assert code == 0
    assert re.search(r"NOT FIT TO DRIVE\n +The joint is about to part\.\n", out)
    assert "So no drive until that is put right: no road test, and that cause first." in out
    assert "not to be driven" in out
    offered = out.partition("first put right what makes it so.")[2].partition("to go back")[0]
    assert "outer rod end: play in the socket, front left" in offered
    assert "tyres" not in offered


def test_a_cause_can_be_named_from_a_list(told: Told) -> None:
    code, out, _ = told("wander", "--seed", "3", "--level", "1", lines="n||1|1|0|q")
    assert code == 0
    assert "which cause? words, or Enter for a list >" in out
    assert "  1 outer rod end\n  2 tyres\n" in out
    assert "You say: outer rod end: " in out


def test_mistakes_are_told(told: Told, tmp_path: Path) -> None:
    code, out, err = told("wandr")
    assert (code, out) == (2, "")
    assert "'wandr'" in err and "wander" in err
    assert told("--json")[2] == "diagnose: --json goes with --record: `diagnose practice --record --json`\n"
    assert "'x' is not a seed: write a whole number such as 7" in told("--seed", "x")[2]
    (tmp_path / "practice.jsonl").mkdir()
    code, _, err = told("--record")
    assert code == 2
    assert "the record of practice cannot be read" in err


def test_an_empty_record_says_so(told: Told) -> None:
    assert told("--record")[1] == "No car has been brought to its end yet: `diagnose practice` begins one.\n"
    found = json.loads(told("--record", "--json")[1])
    assert (found["cars"], found["open"], found["last"]) == ([], None, None)
