"""The whole command set, one line after the other, with the files that it reads; demo."""

from __future__ import annotations

from pathlib import Path

from tests.drives import DEMO
from tests.sheets import DEMO as SHEET

__all__ = ["COMMANDS", "lay_out"]

#: Lines for a folder of their own (`{folder}`). What is typed stands behind `<<<`, parted by semicolons.
COMMANDS = """\
--version
walk front-clunk-over-bumps --name demo <<< 1;187000 km, 12 years;n;n;t note;w;o;q
resume <<< g renew-front-dampers;240, 2 h;;y;y;n;q
 <<< q
jobs
jobs --json
jobs show job-1
jobs export job-1 {folder}/out.yaml
jobs import {folder}/out.yaml
jobs answer last {folder}/seen.yaml
jobs report
jobs rename job-1 demo
jobs erase-person job-1 --yes
jobs rescue {folder}/jobs.sqlite {folder}/saved
jobs delete job-2 --yes
workshop
workshop --labour-rate 90
repair
repair renew-front-drop-links --job job-1 --hours 1.5
repair --felt no --after-days 9
debrief --blank
debrief {folder}/drive.yaml --job job-1
debrief --type --save {folder}/typed.yaml <<< -;q
angles {folder}/sheet.yaml --complaint wander
angles --type --save {folder}/angles.yaml <<< ;;q
shake --at 110:14.6
rank tests/cases/f17.yaml
plan tests/plans/estate.yaml --stages 1
sheet job-1 --to {folder}/sheet.html
practice wander --seed 3 --level 1 <<< ask about the tyres;;k
trees
trees complaints
trees causes
trees checks
trees remedies
trees parts
trees conditions
trees sources
trees show wander
trees draw wander
trees draw wander --svg {folder}/wander.svg
trees cuts wander
trees weigh wander
trees check trees
trees schema
measure tests/cases/f17.yaml --quick
trials wander --cars 4 --workers 2
learn tests/cases/f17.yaml
completion bash
demo --fast
"""

#: What somebody saw on the car of a job; demo.
SEEN = """\
case: 1
answers:
  - {check: ask-wheel-or-tail-first, findings: {first-to-move: the tail}}
"""


def lay_out(folder: Path) -> None:
    """Write the files that the commands read."""
    for name, text in (("drive.yaml", DEMO), ("sheet.yaml", SHEET), ("seen.yaml", SEEN)):
        (folder / name).write_text(text, encoding="utf-8")
