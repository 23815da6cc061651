"""Results as plain values for `--json`; docs/json.md documents every key. The shapes are versioned."""

from __future__ import annotations

from typing import Any

from diagnose.choice.lookahead import Proposal
from diagnose.choice.verdict import Verdict
from diagnose.model.story import Story
from diagnose.screen.pages import observation_name, reason

__all__ = ["RANK_FORMAT", "ranking_json"]

RANK_FORMAT = "handling-diagnose/ranking/1"


def _round(value: float) -> float:
    """Twelve decimals: two machines print the same, and nothing that matters is lost."""
    return round(float(value), 12) + 0.0


def _proposal(verdict: Verdict, proposal: Proposal) -> dict[str, Any]:
    library = verdict.library
    check = library.checks[proposal.check]
    return {
        "check": check.id,
        "name": check.name,
        "positions": sorted(
            {o.spot.position for o in proposal.outcomes if o.spot is not None and o.spot.position is not None}
        ),
        "set_up": check.set_up,
        "minutes": _round(proposal.minutes),
        "change_minutes": _round(proposal.change),
        "expected_saving": _round(proposal.saving),
        "expected_saving_minutes": _round(proposal.saving_minutes),
        "needs": list(check.needs),
        "cautions": [library.cautions[c] for c in check.cautions],
        "how": check.how,
        "reason": reason(verdict, proposal),
        "outcomes": [
            {
                "finding": o.spot.finding if o.spot else None,
                "position": o.spot.position if o.spot else None,
                "name": o.name,
                "probability": _round(o.probability),
            }
            for o in proposal.outcomes
        ],
    }


def ranking_json(verdict: Verdict, story: Story, most: int = 5) -> dict[str, Any]:
    """Everything that `diagnose rank --json` prints."""
    library, belief = verdict.library, verdict.belief
    conflict = verdict.conflict
    conclusion = verdict.conclusion
    # The next check comes first, also where it is proposed although it does not pay for itself.
    paying = [p for p in verdict.proposals if p.saving > 0.0 and p is not verdict.next]
    proposals = [*([verdict.next] if verdict.next else []), *paying][:most]
    return {
        "format": RANK_FORMAT,
        "library": library.digest,
        "vehicle": {
            "name": story.vehicle.name,
            "facts": dict(story.vehicle.facts),
            "conditions": dict(story.vehicle.conditions),
            "km": story.vehicle.km,
            "years": story.vehicle.years,
        },
        "complaints": [
            {
                "id": complaint,
                "name": library.complaints[complaint].name,
                "side": side,
                "probability": _round(belief.complaint(complaint)),
            }
            for complaint, side in story.complaints.items()
        ],
        "causes": [
            {
                "id": row.id,
                "part": row.part,
                "fault": row.fault,
                "name": row.name,
                "position": row.position,
                "probability": _round(row.probability),
                "prior": _round(row.prior),
                "moved": _round(row.moved),
                "to_blame": _round(row.to_blame),
                "to_blame_moved": _round(row.blame_moved),
                "danger": row.danger or None,
                "settling_check": row.settles,
                "settling_minutes": None if row.settle_minutes is None else _round(row.settle_minutes),
                "cost_of_cure": _round(row.cure_money),
                "per_minute": _round(row.per_minute),
                "per_money": _round(row.per_money),
                "source": list(library.faults[row.fault].source),
            }
            for row in verdict.rows
        ],
        "outside": {"name": "something not listed here", "probability": _round(belief.outside)},
        "mechanisms": [
            {"id": key, "name": library.mechanisms[key].name, "probability": _round(p)}
            for key, p in belief.mechanisms.items()
        ],
        "together": [
            {"causes": [belief.causes[n].id for n in found.causes], "probability": _round(found.probability)}
            for found in belief.together()
        ],
        "next": [_proposal(verdict, proposal) for proposal in proposals],
        "conflicts": []
        if conflict is None
        else [
            {
                "bits": _round(conflict.bits),
                "observation": belief.observations[conflict.suspect][0],
                "name": observation_name(library, belief.observations[conflict.suspect][0]),
            }
        ],
        "unfit_to_drive": list(verdict.unfit),
        "conclusion": {
            "decide_now": verdict.next is None,
            "cures": [
                {
                    "remedy": remedy.id,
                    "name": remedy.name,
                    "place": cure.place,
                    "causes": [belief.causes[n].id for n in cure.causes],
                    "cost": _round(cure.money),
                    "needed": _round(there),
                    "to_blame": _round(blame),
                    "cures_alone": _round(alone),
                }
                for cure, remedy, there, blame, alone in conclusion.steps
            ],
            "chance": _round(conclusion.chance),
            "cost": _round(conclusion.money),
            "minutes": _round(conclusion.minutes),
            "follow_ups": [{"id": each.id, "name": each.name} for each in conclusion.follow_ups],
            "watch": list(dict.fromkeys(s[1].watch for s in conclusion.steps if s[1].watch)),
        },
        "currency": verdict.workshop.currency,
    }
