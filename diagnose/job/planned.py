"""A plan kept in a job, and what came of it: planned against actual, stage by stage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from diagnose.job.events import Planned, Repaired
from diagnose.job.repairs import Standing, standings
from diagnose.model.story import FADED
from diagnose.plan.chosen import Plan

if TYPE_CHECKING:
    from diagnose.job.session import Session

__all__ = ["SoFar", "StageSoFar", "kept", "so_far"]


@dataclass(frozen=True, slots=True)
class StageSoFar:
    """One repair: what was done and spent, and what had been planned for it where a plan was kept before.

    spent: money as told, None where nobody told. there: P(the complaint is there) after it. driven: whether
    anybody has since. faded: by the last word it is weaker, and still there. planned: `remedy@place` of each
    work planned, planned_cash, planned_gone: what it was to cost and to reach; None without a plan.
    """

    repairs: tuple[Repaired, ...]
    spent: float | None
    there: float
    driven: bool
    faded: bool
    planned: tuple[str, ...] | None
    planned_cash: float | None
    planned_gone: float | None


@dataclass(frozen=True, slots=True)
class SoFar:
    """there: P(the complaint was there) before any repair. spent: in all, None where nobody told a price."""

    there: float
    stages: tuple[StageSoFar, ...]
    spent: float | None

    @property
    def last(self) -> StageSoFar:
        """The latest repair."""
        return self.stages[-1]


def kept(plan: Plan) -> Planned:
    """The plan as an event."""
    return Planned(
        tuple(" ".join(unit.name for unit in stage.units) for stage in plan.stages),
        tuple(round(stage.cash, 2) for stage in plan.stages),
        tuple(round(stage.gone, 6) for stage in plan.stages),
        round(plan.there, 6),
    )


def so_far(session: Session) -> SoFar | None:
    """What was done and what came of it; None before the first repair.

    What was felt some time after a repair is told of that repair.
    """
    rounds = standings(session)
    stages: list[StageSoFar] = []
    before = None
    for one in rounds[1:]:
        if one.later and stages:
            last = stages[-1]
            driven, faded = last.driven or one.driven, _faded(one) if one.answers else last.faded
            stages[-1] = replace(last, there=one.there, driven=driven, faded=faded)
            continue
        spent = None if one.spent is None else one.spent - (before or 0.0)
        before = one.spent if one.spent is not None else before
        stages.append(_stage(session, one, rounds, spent))
    return SoFar(rounds[0].there, tuple(stages), rounds[-1].spent) if stages else None


def _stage(session: Session, one: Standing, rounds: Sequence[Standing], spent: float | None) -> StageSoFar:
    plan, number = _plan_for(session, one.number, rounds)
    if plan is None or number >= len(plan.works):
        return StageSoFar(one.repairs, spent, one.there, one.driven, _faded(one), None, None, None)
    works, cash, gone = tuple(plan.works[number].split()), plan.cash[number], plan.gone[number]
    return StageSoFar(one.repairs, spent, one.there, one.driven, _faded(one), works, cash, gone)


def _faded(one: Standing) -> bool:
    return any(answer == FADED for _, answer in one.answers)


def _plan_for(session: Session, number: int, rounds: Sequence[Standing]) -> tuple[Planned | None, int]:
    """The plan that stood when this round (from 1) began, and which of its stages that was (from 0)."""
    found: tuple[Planned | None, int] = (None, 0)
    for before, plan in session.state.plans:
        if before < number:
            between = [one for one in rounds[before + 1 : number] if not one.later]
            found = (plan, len(between))
    return found
