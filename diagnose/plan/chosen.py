"""A plan as plain values: what each stage does, what it costs, and how likely it cures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.model.library import FollowUp
from diagnose.plan.prices import PriceWorth
from diagnose.plan.spread import Spread
from diagnose.plan.units import Unit

__all__ = ["Alternative", "Opening", "Plan", "Stage"]


@dataclass(frozen=True, slots=True)
class Opening:
    """An access that the stage opens: id, place, minutes, and the units (by number) that use it."""

    id: str
    place: str
    minutes: float
    units: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """One visit.

    cash: paid on the day, `labour` of it for work, `parts` for parts and material. minutes: of labour, access
    and follow-ups among them. saved: minutes that sharing saves against each unit by itself. days: until all
    parts are there. needed: P(the stage is needed at all). gone: P(no complaint is left after it), exact;
    each_gone: the same of each complaint, by id.
    """

    units: tuple[Unit, ...]
    openings: tuple[Opening, ...]
    follow_ups: tuple[FollowUp, ...]
    minutes: float
    saved: float
    labour: float
    parts: float
    days: int
    needed: float
    gone: float
    each_gone: Mapping[str, float]

    @property
    def cash(self) -> float:
        """Paid on the day."""
        return self.labour + self.parts


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another way: its name, what it does in how many stages, cash if all is needed and expected, and the
    chance that the complaint is gone in the end."""

    name: str
    units: tuple[Unit, ...]
    stages: int
    cash: float
    expected_cash: float
    gone: float


@dataclass(frozen=True)
class Plan:
    """What to replace first, and what then.

    there: P(a complaint is there now). outlay: expected cash. cost: expected cost by which the plan was
    chosen, with what is left of the complaint. gap: by how much at most another plan may be better, 0 if none
    is. considered: how many units came into question; searched: among how many every plan was looked at.
    beyond: what must be done for safety costs more than the money named. spread: what it may come to. ask:
    prices worth asking for first. left_out: other units that may well be behind the complaint, the most to
    blame first.
    """

    stages: tuple[Stage, ...]
    there: float
    outlay: float
    cost: float
    gap: float
    considered: int
    searched: int
    beyond: bool
    spread: Spread
    ask: tuple[PriceWorth, ...]
    left_out: tuple[Unit, ...]
    alternatives: tuple[Alternative, ...]

    @property
    def cash(self) -> float:
        """Paid if every stage is needed."""
        return sum(each.cash for each in self.stages)

    @property
    def gone(self) -> float:
        """P(no complaint is left after all stages)."""
        return self.stages[-1].gone if self.stages else 1.0 - self.there
