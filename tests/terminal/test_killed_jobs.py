"""Whole jobs in processes that are killed: nothing acknowledged is lost, doubled or torn; each goes on."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.benchmarks.kills import jobs
from tests.killing import Act, Deaths, told_whole, told_with_deaths


@pytest.mark.slow
def test_a_walk_is_killed_and_gone_on_with(tmp_path: Path) -> None:
    lines = ("1", "187000 km, 12 years", "n", "n", "t a note", "u", "t another", "q")
    acts = [Act(("walk", "front-clunk-over-bumps", "--name", "demo car"), lines, ("resume",))]
    whole, courses = told_whole(tmp_path / "whole.sqlite", acts)
    deaths, chance, told = Deaths(), random.Random(20260504), 0
    # A kill that comes once all is kept ends a telling before its time.
    while deaths.kills < 4:
        told_with_deaths(tmp_path / f"{told}.sqlite", acts, whole, courses, chance, deaths, each=4)
        told += 1
    assert [event["event"] for _, event in whole][-3:] == ["noted", "undone", "noted"]
    assert deaths.acknowledged > 0


@pytest.mark.long
@pytest.mark.parametrize("title", ["walk, repairs, later times", "walk, drives, angles, plan"])
def test_whole_jobs_are_killed_and_gone_on_with(tmp_path: Path, title: str) -> None:
    acts = jobs(tmp_path)[title]
    whole, courses = told_whole(tmp_path / "whole.sqlite", acts)
    deaths, chance = Deaths(), random.Random(20260505)
    for number in range(2):
        told_with_deaths(tmp_path / f"{number}.sqlite", acts, whole, courses, chance, deaths, each=6)
    assert deaths.inside > 5
    assert deaths.acknowledged > 20
