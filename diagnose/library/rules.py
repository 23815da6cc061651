"""What a library must fulfil: runs all rules over a draft and hands back every problem.

Rules take a draft and yield problems at the value that offends; they never raise. They stand in
groups, so that one slip does not show as twenty: what rows say by themselves, then what they name and
what work shares, and what can be reached only when all the rest is right.
"""

from __future__ import annotations

from diagnose.errors import Problem
from diagnose.library.build import Draft
from diagnose.library.reach_rules import REACH
from diagnose.library.reference_rules import REFERENCES
from diagnose.library.row_rules import ROW_BY_ROW
from diagnose.library.work_rules import WORK

__all__ = ["judge"]


def judge(draft: Draft) -> list[Problem]:
    """All problems of the draft, unsorted.

    References are not judged if a file was unreadable, since what is missing may stand there.
    """
    problems = [problem for rule in ROW_BY_ROW for problem in rule(draft)]
    if not draft.rows.lost:
        problems.extend(problem for rule in (*REFERENCES, *WORK) for problem in rule(draft))
    if draft.rows.whole and not problems:
        problems.extend(problem for rule in REACH for problem in rule(draft))
    return problems
