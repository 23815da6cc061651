"""A plan as plain values; docs/json.md documents every key."""

from __future__ import annotations

import math
from typing import Any

from diagnose.model.story import Workshop
from diagnose.plan.chosen import Alternative, Plan, Stage
from diagnose.plan.units import Unit
from diagnose.plan.wishes import Wishes

__all__ = ["plan_json"]


def plan_json(plan: Plan, wishes: Wishes, workshop: Workshop) -> dict[str, Any]:
    """All that `diagnose plan --json` prints of a plan: money in the currency named, times in minutes."""
    return {
        "currency": workshop.currency,
        "labour_rate": workshop.labour_rate,
        "budget": _finite(wishes.budget),
        "stage_budget": _finite(wishes.stage_budget),
        "there": _chance(plan.there),
        "stages": [_stage(each) for each in plan.stages],
        "cash": _money(plan.cash),
        "expected_cash": _money(plan.outlay),
        "expected_cost": _money(plan.cost),
        "gap": _money(plan.gap),
        "considered": plan.considered,
        "searched": plan.searched,
        "beyond_budget": plan.beyond,
        "gone": _chance(plan.gone),
        "spread": {
            "low": _money(plan.spread.low),
            "likely": _money(plan.spread.likely),
            "high": _money(plan.spread.high),
            "expected": _money(plan.spread.expected),
            "budget_holds": _chance(plan.spread.holds),
        },
        "ask_for_price": [
            {
                "work": each.unit.name,
                "worth": _money(each.worth),
                "low": _money(each.low),
                "high": _money(each.high),
            }
            for each in plan.ask
        ],
        "left_out": [{"work": each.name, "to_blame": _chance(each.blame)} for each in plan.left_out],
        "alternatives": [_alternative(each) for each in plan.alternatives],
    }


def _stage(stage: Stage) -> dict[str, Any]:
    return {
        "works": [_unit(each) for each in stage.units],
        "access": [
            {
                "id": each.id,
                "place": each.place,
                "minutes": _money(each.minutes),
                "for": [stage.units[n].name for n in each.units],
            }
            for each in stage.openings
        ],
        "follow_ups": [each.id for each in stage.follow_ups],
        "minutes": _money(stage.minutes),
        "minutes_saved": _money(stage.saved),
        "labour": _money(stage.labour),
        "parts": _money(stage.parts),
        "cash": _money(stage.cash),
        "days": stage.days,
        "needed": _chance(stage.needed),
        "gone": _chance(stage.gone),
        "gone_each": {name: _chance(p) for name, p in stage.each_gone.items()},
    }


def _unit(unit: Unit) -> dict[str, Any]:
    return {
        "work": unit.name,
        "remedy": unit.remedy.id,
        "place": unit.cure.place,
        "minutes": _money(unit.minutes),
        "price": _money(unit.price),
        "grade": unit.offer.grade.id or None,
        "asked": unit.offer.asked,
        "days": unit.offer.days,
        "to_blame": _chance(unit.blame),
        "present": _chance(unit.there),
        "due_later": _chance(unit.later),
        "due_again": _chance(unit.again),
        "for_safety": bool(unit.safety),
        "inspection": list(unit.inspection),
    }


def _alternative(each: Alternative) -> dict[str, Any]:
    return {
        "name": each.name,
        "works": [unit.name for unit in each.units],
        "stages": each.stages,
        "cash": _money(each.cash),
        "expected_cash": _money(each.expected_cash),
        "gone": _chance(each.gone),
    }


def _money(value: float) -> float:
    return round(float(value), 2) + 0.0


def _chance(p: float) -> float:
    return round(float(p), 9) + 0.0


def _finite(value: float) -> float | None:
    return _money(value) if math.isfinite(value) else None
