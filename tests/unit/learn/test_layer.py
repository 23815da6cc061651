"""Learned figures as a layer of trees, and the command that writes it and takes it back."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from diagnose.cli import run
from diagnose.commands import learn as command
from diagnose.errors import InputError
from diagnose.job.case import Case, Confirmed
from diagnose.learn.figures import Learned
from diagnose.learn.history import Job, Label, grouped, job_of, split
from diagnose.learn.layer import MARK, OWN_JOBS, layer_files
from diagnose.learn.rows import Key, figures_of, with_figures
from diagnose.learn.simulate import course_of, simulate
from diagnose.library import shelf
from diagnose.library.shelf import load
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle
from tests.small_trees import SMALL, compiled
from tests.workshop_trees import workshop

CHANGED = {
    Key("chance", "tyres-soft"): 0.2,
    Key("life", "rod-end-play"): 2.0,
    Key("strength", "loose-steering", "rod-end-play"): 0.3,
    Key("strength", "two-soft", "tyres-soft", 1): 0.61,
    Key("leak", "two-soft"): 0.04,
    Key("leak", "wander"): 0.06,
    Key("strength", "pull", "rod-end-tight", 1): 0.12,
    Key("detection", "rock-the-steering/end-moves", "rod-end-play"): 0.7,
    Key("false-alarm", "rock-the-steering/end-moves"): 0.123,
}


def test_a_layer_changes_these_figures_and_no_others() -> None:
    draft, problems = compiled(SMALL)
    assert not problems
    assert set(CHANGED) <= set(figures_of(draft.library))
    files = layer_files(draft, CHANGED, 77)
    assert sorted(files) == ["learned-pull.yaml", "learned-wander.yaml", "learned.yaml"]
    assert all(text.startswith(MARK) for text in files.values())
    over, problems = compiled(SMALL, files)
    assert not problems
    before, after = figures_of(draft.library), figures_of(over.library)
    for key, figure in before.items():
        if key.kind != "life":
            assert after[key].value == pytest.approx(CHANGED.get(key, figure.value)), key
    life, wanted = (
        library.faults["rod-end-play"].life
        for library in (over.library, with_figures(draft.library, CHANGED))
    )
    assert life is not None
    assert wanted is not None
    assert life.km == pytest.approx(wanted.km, rel=5e-3)
    assert life.failed(10_000.0, 1.0) == pytest.approx(2.0 * 0.0003336, rel=0.02)
    assert over.library.sources[OWN_JOBS].name == "77 closed jobs of this workshop"
    assert OWN_JOBS in over.library.faults["tyres-soft"].source
    # Faults, findings and words that nobody changed are as they were.
    assert over.library.faults["rod-end-tight"] == draft.library.faults["rod-end-tight"]
    assert over.library.complaints["wander"].says == draft.library.complaints["wander"].says
    unchanged = "rock-the-steering/how-stiff"
    assert over.library.findings[unchanged].links == draft.library.findings[unchanged].links


def test_no_figure_given_is_the_very_library() -> None:
    library = workshop()
    assert with_figures(library, {}) is library
    values = {key: each.value for key, each in figures_of(library).items()}
    assert with_figures(library, values) == library


@pytest.fixture
def layer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for a layer over the small library, which stands in for the shipped one."""
    trees = tmp_path / "trees"
    trees.mkdir()
    for name, text in SMALL.items():
        (trees / name).write_text(text)
    monkeypatch.setattr(shelf, "shipped", lambda: trees)
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / "cache"))
    return tmp_path / "layer"


def test_a_written_layer_is_read_and_taken_back(layer: Path) -> None:
    """One strength and its file; then another figure in its place; then none again."""
    before = figures_of(load())
    key = next(key for key in before if key.kind == "strength")
    names = command.write_layer(layer, None, {key: 0.4321}, 50)
    assert len(names) == 2
    assert figures_of(load([layer], cache=False))[key].value == 0.432
    assert figures_of(load(None, cache=False))[key].value == before[key].value
    # A second one takes its place.
    other = next(key for key in before if key.kind == "chance")
    assert command.write_layer(layer, None, {other: 0.0123}, 60) == [str(layer / "learned.yaml")]
    assert figures_of(load([layer], cache=False))[key].value == before[key].value
    assert command.switch_back(layer) == ["learned.yaml.off"]
    assert [path.name for path in layer.iterdir()] == ["learned.yaml.off"]
    with pytest.raises(InputError, match="nothing to take back"):
        command.switch_back(layer)


def test_a_file_of_somebody_else_is_not_written_over(layer: Path) -> None:
    layer.mkdir()
    mine = layer / "learned.yaml"
    mine.write_text("parts: []\n")
    key = next(key for key in figures_of(load()) if key.kind == "chance")
    with pytest.raises(InputError, match="was not written by"):
        command.write_layer(layer, None, {key: 0.2}, 50)
    assert mine.read_text() == "parts: []\n"


def test_nothing_learned_is_not_written(layer: Path) -> None:
    with pytest.raises(InputError, match="every figure stays as shipped"):
        command.write_layer(layer, None, {}, 50)


def case_file(folder: Path, number: int, fault: str = "tyres-soft") -> Path:
    path = folder / f"{number}.yaml"
    path.write_text(
        "case: 1\nvehicle: {name: demo car, km: 120000}\ncomplaints:\n  - id: wander\n"
        f"confirmed:\n  causes:\n    - {{fault: {fault}}}\n"
    )
    return path


def test_too_few_jobs_are_refused_in_words(layer: Path, capsys: pytest.CaptureFixture[str]) -> None:
    layer.mkdir()
    for number in range(5):
        case_file(layer, number)
    assert run(["learn", str(layer)]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert said == (
        "diagnose: too few closed jobs to learn from: 4 with a confirmed cause (with 0.2 of the jobs kept "
        "apart to score by), 20 are wanted; below that the shipped figures are the better ones"
    )


@pytest.mark.parametrize(
    ("arguments", "wrong"),
    [
        (["learn", "--with-jobs"], "--with-jobs goes with case files"),
        (["learn", "--back"], "which learned figures?"),
        (["learn", "x", "--hold-out", "0.9"], "not a share to keep apart"),
        (["learn", "x", "--seed", "-1"], "not a seed"),
        (["learn", "no-such-file.yaml"], "cannot be read"),
    ],
)
def test_mistakes_are_told(
    layer: Path, arguments: list[str], wrong: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 2
    assert wrong in capsys.readouterr().err


def test_learning_on_top_of_learning_is_refused(layer: Path, capsys: pytest.CaptureFixture[str]) -> None:
    key = next(key for key in figures_of(load()) if key.kind == "chance")
    cases = layer.parent / "cases"
    command.write_layer(layer, None, {key: 0.0123}, 50)
    cases.mkdir()
    case_file(cases, 1)
    assert run(["learn", str(cases), "--trees", str(layer)]) == 2
    assert "so that no job counts twice" in capsys.readouterr().err


def options(**given: object) -> argparse.Namespace:
    base = {
        "cases": ["files"],
        "with_jobs": False,
        "hold_out": 0.2,
        "seed": 1,
        "write": None,
        "back": False,
        "json": True,
    }
    return argparse.Namespace(**{**base, **given})


@pytest.mark.slow
def test_the_command_says_what_it_learned(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On simulated jobs of the small workshop, as JSON and as a page."""
    library = workshop()
    drawn = simulate(library, 60, 3, cars=[Vehicle(km=45_000.0, years=4.0)], course=course_of(library, 9))
    jobs = [each.job for each in drawn if each.job.heard[0].complaint == "drifts"][:20]
    monkeypatch.setattr(command, "LEAST_JOBS", 10)
    monkeypatch.setattr(command, "_jobs", lambda *_: jobs)
    said: list[dict[str, object]] = []

    def say(value: dict[str, object]) -> int:
        said.append(json.loads(json.dumps(value)))
        return 0

    assert command.learn(options(), library, lambda _: b"", say) == 0
    (found,) = said
    assert found["format"] == command.LEARNED_FORMAT
    assert (found["jobs"], found["held_out"]) == (16, 4)
    rows = found["figures"]
    assert isinstance(rows, list)
    assert set(rows[0]) == set(Learned.__slots__)
    assert isinstance(found["before"], dict)
    assert found["before"]["count"] > 10
    assert command.learn(options(json=False), library, lambda _: b"", say) == 0
    page = capsys.readouterr().out
    assert page.startswith("Learned from 16 closed jobs")
    assert "too little data" in " ".join(page.split())
    assert "Brier score" in page
    assert "4 jobs kept apart are few: it may be luck." in " ".join(page.split())
    assert max(map(len, page.splitlines())) <= 80


def test_a_case_becomes_a_job_without_a_name() -> None:
    story = Story(Vehicle("plate", km=9.0), (Heard("wander"),), (Seen("a/b"),))
    confirmed = Confirmed((("x", "front"), ("x", "front"), ("y", None)), ("rust",))
    job = job_of(Case("1", story, confirmed=confirmed))
    assert job == Job(
        Vehicle(km=9.0), story.heard, story.seen, Label((("x", "front"), ("y", None)), outside=True)
    )
    assert job_of(Case("1", story)).label is None
    assert job_of(Case("1", story, confirmed=Confirmed(()))).label is None


def test_like_jobs_are_counted_together() -> None:
    one = Job(Vehicle(km=1.0), (Heard("wander"),), (Seen("a/b"),))
    other = Job(Vehicle(km=1.0), (Heard("wander"),), (), Label((("x", None),)))
    far = Job(Vehicle(km=2.0), (Heard("wander"),))
    groups = grouped([one, other, one, far])
    assert [group.counts for group in groups] == [(2, 1), (1,)]
    assert groups[0].kinds == ((one.seen, None), ((), other.label))


def test_the_same_seed_keeps_the_same_jobs_apart() -> None:
    jobs = [Job(Vehicle(km=float(n)), (Heard("wander"),)) for n in range(50)]
    learn, apart = split(jobs, 0.2, 7)
    assert len(apart) == 10
    assert (learn, apart) == split(jobs, 0.2, 7)
    assert apart != split(jobs, 0.2, 8)[1]
    assert sorted((job.vehicle.km or 0.0) for job in learn + apart) == [float(n) for n in range(50)]


def test_the_same_seed_draws_the_same_history() -> None:
    library = workshop()
    one, other, third = (simulate(library, 30, seed, course=("look-wheel-tips",)) for seed in (1, 1, 2))
    assert one == other != third
    assert all(len(each.job.seen) == 1 for each in one)


def test_labels_are_wrong_and_hidden_as_often_as_said() -> None:
    drawn = simulate(workshop(), 400, 4, course=(), label_error=0.2, hidden=0.3)
    hidden = sum(each.job.label is None for each in drawn)
    assert 90 < hidden < 150
    wrong = sum(each.job.label not in (None, each.truth) for each in drawn)
    # Some wrong ones name the true cause by chance.
    assert 0.08 < wrong / (400 - hidden) < 0.25
