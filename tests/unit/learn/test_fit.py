"""Learning as a whole: exact slopes, a likelihood that never falls, and what more jobs do."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from diagnose.belief.engine import Engine
from diagnose.belief.evidence import merge, observe
from diagnose.belief.network import expand
from diagnose.learn.figures import learned, taken
from diagnose.learn.fit import Fit, Search, fit
from diagnose.learn.history import Job, Label, grouped
from diagnose.learn.links import felt, judged, linked
from diagnose.learn.predict import score
from diagnose.learn.rows import Key, figures_of, with_figures
from diagnose.learn.simulate import DEMO_CARS, simulate
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen
from diagnose.model.vehicle import Renewed, Vehicle
from diagnose.trials.noise import perturbed
from tests.benchmarks.learning import held_out, trial
from tests.small_trees import SMALL, compiled
from tests.workshop_trees import workshop


@cache
def truth() -> Library:
    return perturbed(workshop(), 0.7, np.random.default_rng(3))


@cache
def history(count: int, wrong: float) -> tuple[Job, ...]:
    drawn = simulate(truth(), count, 1, cars=DEMO_CARS[1:2], course=tuple(truth().checks), label_error=wrong)
    return tuple(each.job for each in drawn)


@cache
def one_car() -> tuple[Job, ...]:
    """Jobs on one car with one complaint: one model does."""
    drawn = simulate(truth(), 36, 1, cars=DEMO_CARS[:1], course=tuple(truth().checks))
    return tuple(each.job for each in drawn if each.job.heard[0].complaint == "drifts")


@cache
def learned_from(times: int, plain: bool) -> Fit:
    return fit(workshop(), one_car() * times, plain=plain)


@cache
def small() -> Library:
    return compiled(SMALL)[0].library


#: Jobs on the small library that touch sides, conditions, renewed parts, votes, conjunctions, grades, unsure
#: answers, findings about the complaint, hidden, wrong, outside and failed cures.
ODD_JOBS = (
    Job(
        Vehicle(km=90_000.0, years=6.0, conditions={"rough-roads": True}),
        (Heard("wander"),),
        (Seen("rock-the-steering/end-moves", "front-left"), Seen("ask-tyres/long-ago", None, "probably")),
        Label((("rod-end-play", "front-left"),)),
    ),
    Job(
        Vehicle(facts={"steering": "rack"}, renewed=(Renewed("rod-end", "front-left", years_ago=1.0),)),
        (Heard("pull", "left"), Heard("wander")),
        (Seen("rock-the-steering/end-moves", "front-right", "probably-not"),),
        Label((("tyres-soft", None),)),
    ),
    Job(
        Vehicle(km=200_000.0),
        (Heard("wander"),),
        (Seen("rock-the-steering/how-stiff", None, "stiff"), Seen("ask-tyres/long-ago", None, "no")),
        None,
    ),
    Job(
        Vehicle(),
        (Heard("wander"),),
        (Seen("rock-the-steering/wander-felt", None, "yes"),),
        Label((("tyres-soft", "front"), ("rod-end-tight", "front-left"))),
    ),
    Job(Vehicle(), (Heard("wander"),), (), Label((), outside=True)),
    Job(Vehicle(), (Heard("wander"),), (), Label((("rod-end-play", "front-right"),), outside=True)),
    Job(Vehicle(), (Heard("wander"),), (), Label((("tyres-soft", "rear"),), cured=False)),
    Job(Vehicle(), (Heard("pull", "right"),), (), Label((("rod-end-play", "front-left"),))),
)


def without_mates(library: Library) -> Library:
    """Mates' joint prior is learned by its margins, so its slope is not exact."""
    return replace(library, faults={key: replace(each, mates=1.0) for key, each in library.faults.items()})


@pytest.mark.slow
@pytest.mark.parametrize("which", ["workshop", "odd"])
def test_slopes_are_those_of_the_likelihood(which: str) -> None:
    """Expected counts, turned into slopes, against differences of the likelihood, along random ways."""
    library = workshop() if which == "workshop" else without_mates(small())
    jobs = history(40, 0.05)[:10] if which == "workshop" else ODD_JOBS
    figures = tuple(figures_of(library).values())
    search = Search(library, grouped(jobs), figures, 0.05)
    search = Search(library, grouped(jobs), [figures[n] for n in search.touched()], 0.05)
    kinds = {"chance", "life", "strength", "leak", "detection", "false-alarm"}
    assert {each.key.kind for each in search.figures} == kinds
    draw = np.random.default_rng(0)
    move = draw.normal(0.0, 0.2, len(search.figures))
    slope = search.at(move).slope
    for _ in range(3):
        way = draw.normal(0.0, 1e-4, len(move))
        numeric = (search.at(move + way).value - search.at(move - way).value) / 2.0
        assert slope @ way == pytest.approx(numeric, rel=1e-4)


def test_labels_are_as_likely_as_they_fall() -> None:
    """P(this is what cures it) by the engine, against how often simulated cars are cured by it."""
    library, car = workshop(), DEMO_CARS[2]
    drawn = simulate(library, 600, 5, cars=[car], course=(), label_error=0.0, hidden=0.0)
    drifts = [each.truth for each in drawn if each.job.heard[0].complaint == "drifts"]
    network, ways, _ = linked(expand(library, car, {"drifts": None}))
    network, there = felt(network)
    told = merge([*observe(library, network, (Heard("drifts"),), ()), (there, (0.0, 1.0))])
    whole = float(Engine(network).ask([told]).log_evidence[0])
    for label, count in Counter(drifts).most_common(8):
        judge = judged(network, ways, label)
        assert judge is not None
        p = math.exp(float(Engine(judge[0]).ask([{**told, **judge[1]}]).log_evidence[0]) - whole)
        spread = math.sqrt(p * (1.0 - p) / len(drifts))
        assert abs(count / len(drifts) - p) < 4.0 * spread, label


def test_a_label_that_cannot_be_right_counts_as_none() -> None:
    """A fault of the other complaint is named: all that is left is that the label was wrong."""
    job = Job(DEMO_CARS[1], (Heard("drifts"),), (), Label((("disc-uneven", "front-left"),)))
    figures = tuple(figures_of(workshop()).values())
    hidden = Job(job.vehicle, job.heard)
    named, unnamed = (
        Search(workshop(), grouped([each]), figures, 0.05).at(np.zeros(len(figures)))
        for each in (job, hidden)
    )
    assert named.slope == pytest.approx(unnamed.slope, abs=1e-9)
    assert named.found[0].right[0] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("plain", [True, False])
def test_the_likelihood_never_falls(plain: bool) -> None:
    found = learned_from(1, plain)
    assert len(found.trace) > 3
    assert all(later >= earlier for earlier, later in itertools.pairwise(found.trace))
    assert found.trace[-1] > found.trace[0] + 1.0


def test_plain_steps_are_never_shortened() -> None:
    """Expectation and maximization needs no guard: its own whole step gains, from anywhere."""
    figures = tuple(figures_of(workshop()).values())
    search = Search(workshop(), grouped(one_car()), figures, 0.05)
    for seed in range(2):
        move = np.random.default_rng(seed).normal(0.0, 0.8, len(figures))
        state = search.at(move)
        assert search.at(search.better(state)).value > state.value


def test_more_jobs_make_surer() -> None:
    """Whatever the figures are, no job added makes any less sure, and more make some much surer."""
    figures = tuple(figures_of(workshop()).values())
    move = np.random.default_rng(2).normal(0.0, 0.3, len(figures))
    sds = []
    for count in (3, 8, len(one_car())):
        search = Search(workshop(), grouped(one_car()[:count]), figures, 0.05)
        sds.append(np.sqrt(np.diag(np.linalg.inv(search.at(move).information))))
    assert np.all(sds[1] <= sds[0] + 1e-12)
    assert np.all(sds[2] <= sds[1] + 1e-12)
    assert sds[2].min() < 0.8 * sds[0].min()


def test_jobs_as_the_shipped_figures_have_them_move_nothing_far() -> None:
    """The answers expected under the shipped figures, in their shares: every slope is 0."""
    library = workshop()
    (check, finding) = ("look-toe-reads-off", "look-toe-reads-off/toe-reads-off")
    assert check in library.checks
    figures = tuple(figures_of(library).values())
    bare = Job(DEMO_CARS[1], (Heard("drifts"),))
    slope = np.zeros(len(figures))
    for answer in ("yes", "no"):
        job = Job(bare.vehicle, bare.heard, (Seen(finding, None, answer),))
        search = Search(library, grouped([job]), figures, 0.05)
        state = search.at(np.zeros(len(figures)))
        assert np.abs(state.slope).max() > 0.01
        slope += math.exp(state.value) * state.slope
    assert np.abs(slope).max() < 1e-9


def test_nothing_seen_moves_nothing() -> None:
    """A complaint alone says nothing of any figure: it is what brought the car."""
    found = fit(workshop(), [Job(DEMO_CARS[1], (Heard("drifts"),))] * 30)
    assert np.abs(found.move).max() < 1e-6


def test_a_hundred_like_jobs_do_not_leave_the_range() -> None:
    job = Job(
        DEMO_CARS[0],
        (Heard("drifts"),),
        (Seen("look-wheel-tips/wheel-tips", None, "yes"),),
        Label((("bearing-slack", "rear"),)),
    )
    found = fit(workshop(), [job] * 100)
    for key, value in found.values().items():
        assert value > 0.0
        assert key.kind == "life" or value < 1.0
    for row in learned(workshop(), found):
        assert row.low <= row.learned <= row.high
        assert row.unit or (row.low > 0.0 and row.high < 1.0)
    values = found.values()
    assert values[Key("life", "bearing-slack")] > 1.5
    assert values[Key("detection", "look-wheel-tips/wheel-tips", "bearing-slack")] > 0.75


@pytest.mark.slow
@pytest.mark.parametrize("wrong", [pytest.param(0.0, marks=pytest.mark.long), 0.05])
def test_some_hundred_jobs_come_nearer_to_the_truth(wrong: float) -> None:
    scored = held_out(truth(), 150, 9)
    found = trial(workshop(), truth(), history(80, wrong), scored)
    shipped = score(workshop(), scored)
    assert shipped is not None
    assert found.error < 0.8 * found.before
    assert found.scores.brier < shipped.brier


@pytest.mark.slow
def test_only_what_there_is_enough_data_for_is_taken() -> None:
    rows = learned(workshop(), learned_from(4, False))
    assert any(row.taken for row in rows)
    assert any(not row.taken for row in rows)
    assert all(row.events >= 1.0 for row in rows if row.taken)
    library = with_figures(workshop(), taken(rows))
    now = figures_of(library)
    for row in rows:
        if not row.unit:
            assert now[row.key].value == pytest.approx(row.learned if row.taken else row.shipped)
        else:
            life = library.faults[row.key.row].life
            assert life is not None
            assert (life.km or life.years) == pytest.approx(row.learned if row.taken else row.shipped)


@pytest.mark.long
def test_error_falls_with_jobs() -> None:
    scored = held_out(truth(), 1500, 9)
    errors = [trial(workshop(), truth(), history(n, 0.05), scored).error for n in (100, 400, 1600)]
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] < 0.7 * errors[0]
