"""Whole jobs killed at random instants: is an acknowledged answer ever lost, doubled or torn?

python -m tests.benchmarks.kills --kills 1000: tells two invented jobs (walk, repairs, later times, drives,
wheel angles, plans kept) again and again in processes that die by SIGKILL, and prints what it counted.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from pathlib import Path

from tests.drives import AFTER, DEMO
from tests.killing import Act, Deaths, told_whole, told_with_deaths
from tests.sheets import DEMO as SHEET

#: Deaths of each act, at the most.
EACH = 12


def jobs(folder: Path) -> dict[str, list[Act]]:
    """The jobs to tell; all of it demo."""
    for name, text in (("before.yaml", DEMO), ("after.yaml", AFTER), ("sheet.yaml", SHEET)):
        (folder / name).write_text(text, encoding="utf-8")
    clunk = (
        *("1", "187000 km, 12 years", "n", "n", "", "t a note", "", "u", "x", "1"),
        *("g", "renew-front-drop-links", "60, 0.8 h", "original", "y", "y", ""),
        *("g renew-outer-tie-rod-end@front-left", "0.7 h", "", "", "y", "f", "", "q"),
    )
    wander = (
        "1",
        "1",
        "1",
        "150000 km, 11 years",
        "n",
        "",
        "",
        "t it wanders in ruts too",
        "u 2",
        "",
        "s",
        "q",
    )
    return {
        "walk, repairs, later times": [
            Act(("walk", "front-clunk-over-bumps", "--name", "demo car"), clunk, ("resume",)),
            Act(("repair", "renew-front-dampers", "--price", "240", "--hours", "2")),
            Act(("repair", "--felt", "no")),
            Act(("repair", "--felt", "yes", "--after-days", "5", "--after-km", "300")),
            Act(("plan", "--keep", "--stages", "1", "--budget", "900")),
            Act(("repair", "--felt", "no", "--after-days", "40", "--by", "driver")),
        ],
        "walk, drives, angles, plan": [
            Act(("walk", "wander", "--name", "demo car"), wander, ("resume",)),
            Act(("debrief", str(folder / "before.yaml"), "--job", "job-1")),
            Act(("angles", str(folder / "sheet.yaml"), "--job", "job-1")),
            Act(("plan", "--keep", "--stages", "1")),
            Act(("repair", "set-front-toe", "--angles-set")),
            Act(("debrief", str(folder / "after.yaml"), "--job", "job-1")),
            Act(("debrief", str(folder / "after.yaml"), "--job", "job-1", "--after-days", "14")),
        ],
    }


def main() -> None:
    """Kill so often as asked for, and print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=20261126)
    options = parser.parse_args()
    chance = random.Random(options.seed)
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        counted = {}
        for number, (title, acts) in enumerate(jobs(folder).items()):
            whole, courses = told_whole(folder / f"whole-{number}.sqlite", acts)
            deaths, told, share = Deaths(), 0, options.kills // 2
            while deaths.kills < share:
                path = folder / f"{number}-{told}.sqlite"
                told_with_deaths(path, acts, whole, courses, chance, deaths, EACH)
                told += 1
                path.unlink()
            counted[title] = deaths
            print(
                f"{title}: {len(whole)} events; told {told} times with {deaths.kills} kills: "
                f"{deaths.clock} by the clock, {deaths.aimed} aimed at a writing; "
                f"{deaths.inside} fell into one, {deaths.undone} of them left nothing of it, "
                f"{deaths.journals} kills left a journal behind; "
                f"{deaths.acknowledged} acts stood acknowledged at a kill: 0 lost, 0 doubled, 0 torn",
                flush=True,
            )
    kills = sum(deaths.kills for deaths in counted.values())
    print(f"{kills} kills, seed {options.seed}, {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
