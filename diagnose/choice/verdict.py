"""Where the search stands: the ranking, the next check, what to cure, what does not fit, what is unsafe."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from diagnose.belief.belief import Belief, Car, Conflict
from diagnose.belief.evidence import YES
from diagnose.belief.narrow import for_looking
from diagnose.choice.cost import Cure, Cures, check_minutes
from diagnose.choice.course import Prospects
from diagnose.choice.decide import Decision, decide
from diagnose.choice.lookahead import Look, Proposal, look_ahead
from diagnose.choice.orders import Action, choose_rule, two_or_more
from diagnose.choice.settling import settling
from diagnose.choice.visit import Visit, plan_visit
from diagnose.model.check import TALK
from diagnose.model.library import FollowUp, Remedy
from diagnose.model.position import meets, told_place
from diagnose.model.story import Seen, Story, Workshop
from diagnose.model.work import due

__all__ = ["Conclusion", "Row", "Verdict", "conclude", "found_unfit"]

#: Bits of conflict from which answers are said not to fit together, and the part that one must mend.
CONFLICT_BITS = 2.0
CONFLICT_MENDED = 1.5

#: Factor on the odds within which two causes may change places: figures are good to 1.5 to 2.
CLOSE = 1.5

#: A cause less often to blame than this needs no word about who stands first.
WORTH_A_WORD = 0.05

#: Checks of the set-up out of which the visit is put together.
VISITED = 5

#: From this likelihood a dangerous fault interrupts.
DANGER_FROM = 0.5


@dataclass(frozen=True, slots=True)
class Row:
    """One cause in the ranking. Probabilities in 0..1; minutes and money as the workshop counts them.

    probability: P(present). to_blame: P(present and raising the complaint). moved: change of
    probability by the last step. settles: the cheapest check that would settle it, None if there is none.
    """

    number: int
    id: str
    fault: str
    part: str
    name: str
    position: str
    probability: float
    prior: float
    moved: float
    to_blame: float
    blame_moved: float
    settles: str | None
    settle_minutes: float | None
    cure_money: float
    danger: str
    where: str = ""

    @property
    def place(self) -> str:
        """Its place in words, as its name needs it."""
        return told_place(self.where, self.position)

    @property
    def per_minute(self) -> float:
        """Likelihood to be to blame per minute of the cheapest settling check (0 without one)."""
        return self.to_blame / self.settle_minutes if self.settle_minutes else 0.0

    @property
    def per_money(self) -> float:
        """Likelihood to be to blame per money of its cure."""
        return self.to_blame / max(self.cure_money, 1e-9)


@dataclass(frozen=True)
class Conclusion:
    """What to put right. `chance`: P(no complaint left) if all of it is done well; exact.

    Each step: the cure, its remedy, P(what it ends is there), P(it is to blame), P(cured by it alone). They
    stand in the order in which to try them, by the rule named.
    """

    steps: tuple[tuple[Cure, Remedy, float, float, float], ...]
    chance: float
    money: float
    minutes: float
    follow_ups: tuple[FollowUp, ...]
    behind: tuple[Row, ...]
    outside: float
    rule: str


class Verdict:
    """Everything that is said about one story at one moment."""

    def __init__(
        self,
        car: Car,
        story: Story,
        workshop: Workshop,
        set_up: str = TALK,
        before: Belief | None = None,
        done: Collection[str] = (),
        cures: Cures | None = None,
    ) -> None:
        self.car = car
        self.library = car.library
        # A car that was found unfit is not driven again to find out more.
        self.found_unfit = found_unfit(car, story)
        driven = {s.id for s in car.library.set_ups.values() if s.driven} if self.found_unfit else set()
        self.workshop = replace(workshop, cannot=workshop.cannot | driven)
        self.set_up = set_up
        self.belief = Belief(car, story)
        self.before = before
        self.done = tuple(done)
        self.cures = cures or Cures(car, workshop)

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """The suspects, the most to blame first."""
        belief, before = self.belief, self.before
        same = before is not None and len(before.causes) == len(belief.causes)
        rows, now = [], belief.now
        for number in belief.order():
            cause = belief.causes[number]
            fault = self.library.faults[cause.fault]
            part = self.library.parts[fault.part]
            settles, minutes = self._settling(number)
            p, b = float(now[number]), float(belief.to_blame[number])
            was = float(before.present[number]) if same and before else cause.prior
            blamed = float(before.to_blame[number]) if same and before else b
            rows.append(
                Row(
                    number,
                    cause.id,
                    fault.id,
                    part.id,
                    f"{part.name}: {fault.name}",
                    cause.position,
                    p,
                    cause.prior,
                    p - was,
                    b,
                    b - blamed,
                    settles,
                    minutes,
                    self.cures.all[int(self.cures.of_cause[number])].money,
                    fault.danger,
                    fault.where,
                )
            )
        return tuple(rows)

    @cached_property
    def _settlers(self) -> dict[int, list[str]]:
        return settling(self.car, self.workshop)

    def _settling(self, number: int) -> tuple[str | None, float | None]:
        options = [
            (check_minutes(self.library, self.library.checks[name], self.set_up), name)
            for name in set(self._settlers.get(number, ()))
            if name not in self.done
        ]
        if not options:
            return None, None
        minutes, name = min(options)
        return name, minutes

    @cached_property
    def prospects(self) -> Prospects:
        """What may be behind the complaint, as far as cures are concerned: one row."""
        belief = self.belief
        return self.cures.prospects(
            belief.present[None, :],
            belief.to_blame[None, :],
            np.array([belief.outside]),
            np.array([belief.there]),
        )

    @cached_property
    def decision(self) -> Decision:
        """What to do next, and why."""
        return decide(self.belief, self.cures, self.workshop, self.set_up, self.done)

    @property
    def proposals(self) -> list[Proposal]:
        """Checks looked at exactly, the proposed one first, then what saves most for its cost."""
        check = self.decision.check
        rest = [p for p in self.decision.look.proposals if check is None or p.check != check.check]
        return [check, *rest] if check is not None else rest

    def proposal(self, check: str) -> Proposal | None:
        """What this check is worth next, though it may not be one of those looked at; None if it was done, or
        can tell nothing, or cannot be done here."""
        known = next((each for each in self.proposals if each.check == check), None)
        if known is not None:
            return known
        look = self._ahead([check])
        if not look.proposals:
            return None
        (found,) = look.proposals
        saving = self.decision.look.now - found.cost
        return replace(found, saving=saving, saving_minutes=self.workshop.minutes(saving))

    def _ahead(self, checks: Collection[str]) -> Look:
        """A look ahead at these checks only."""
        return look_ahead(self._looked_from, self.cures, self.workshop, self.set_up, self.done, only=checks)

    @cached_property
    def _looked_from(self) -> Belief:
        """Narrowed once for all looks beside the decision."""
        return for_looking(self.belief)

    @property
    def next(self) -> Proposal | None:
        """The check to do next, or None where curing now, or handing the job on, is cheaper than any."""
        return self.decision.check

    @property
    def explained(self) -> bool:
        """True if something found so far may well be behind the complaint."""
        return any(row.probability >= 0.5 and row.to_blame >= 0.2 for row in self.rows)

    @cached_property
    def close_call(self) -> tuple[Row, ...]:
        """Causes that may as well stand first: small errors in the figures would change places.

        Those of other faults whose odds to be to blame are within `CLOSE` of the first's.
        """
        first, *others = self.rows or (None,)
        if first is None or first.to_blame < WORTH_A_WORD:
            return ()
        odds = first.to_blame / max(1.0 - first.to_blame, 1e-9)
        close: dict[str, Row] = {}
        for row in others:
            mine = row.to_blame / max(1.0 - row.to_blame, 1e-9)
            if row.fault != first.fault and mine * CLOSE >= odds:
                close.setdefault(row.fault, row)
        return tuple(close.values())

    @cached_property
    def visit(self) -> Visit | None:
        """What else to do while the car is in the set-up of the proposed check, and where to stop.

        Checks in order, each only if none before it showed anything; None if it is the only one.
        """
        made = self.decision
        if made.check is None or self.library.checks[made.check.check].set_up == TALK:
            return None
        here = self.library.checks[made.check.check].set_up
        # Beside the checks that were looked at: what does not come next may well come with it.
        around = self._ahead([check.id for check in self.car.checks.values() if check.set_up == here])
        names = [
            each.check
            for each in sorted(around.proposals, key=lambda p: -(p.rate + p.change / (p.minutes + 1.0)))
            if each.check != made.check.check
        ][:VISITED]
        if not names:
            return None
        visit = plan_visit(
            self.belief,
            self.cures,
            self.workshop,
            self.done,
            made.look,
            made.check,
            [made.check.check, *names],
        )
        return visit if len(visit.legs) > 1 else None

    @cached_property
    def conflict(self) -> Conflict | None:
        """Answers that do not fit together, if there are such."""
        found = self.belief.conflict()
        if found is None or found.bits < CONFLICT_BITS or found.mended < CONFLICT_MENDED:
            return None
        return found

    @property
    def unfit(self) -> tuple[str, ...]:
        """Why the car is not, or may not be, fit to drive, in words; empty if nothing says so."""
        reasons = list(self.found_unfit)
        for row in self.rows:
            if row.danger == "stop" and row.probability >= DANGER_FROM:
                fault = self.library.faults[row.fault]
                where = f" ({row.position.replace('-', ' ')})" if row.position != "centre" else ""
                reasons.append(f"{row.name}{where}: do not drive {_when(fault.danger_when)}.")
        return tuple(dict.fromkeys(reasons))

    @cached_property
    def conclusion(self) -> Conclusion:
        """What to put right as things stand now."""
        return conclude(self)


def _when(text: str) -> str:
    """`when ...`, or the text itself where it holds in any case."""
    return text if text.startswith(("in any case", "until", "at all")) else f"when {text}"


def found_unfit(car: Car, story: Story) -> tuple[str, ...]:
    """What was seen that makes the car unfit to drive, in the words of its findings; what a repair has ended
    since does not count any more."""
    library, reasons = car.library, []
    for number, some in enumerate((story.seen, *(each.seen for each in story.rounds))):
        mended = {each for one in story.rounds[number:] for each in one.cured}
        for seen in some:
            finding = library.findings[seen.finding]
            ended = any(
                each[0] == link.target and meets(seen.position, each[1])
                for link in finding.links
                for each in mended
            )
            if finding.unfit and _seen(seen, finding.levels) and not ended:
                reasons.append(finding.unfit)
    return tuple(dict.fromkeys(reasons))


def _seen(seen: Seen, levels: Sequence[str]) -> bool:
    return YES.get(seen.answer, 0.0) > 0.5 or (seen.answer in levels and seen.answer not in YES)


def _in_order(verdict: Verdict, chosen: Sequence[int]) -> tuple[list[int], str]:
    """These cures in the order in which to try them, and the rule by which they are ordered, in words."""
    prospects = verdict.prospects
    acting = float(prospects.acting[0])
    blame = prospects.blame[0]
    # P(two faults at once act) decides whether the rule for one fault or that for several fits.
    several = two_or_more([*(blame * acting), float(prospects.outside[0]) * acting])
    # What a culprit costs falls due in any order: only the money for a part that does not act counts.
    sound = verdict.cures.money * (1.0 - prospects.worn[0] / (1.0 - blame * acting))
    actions = [
        Action(str(n), min(float(blame[n]) * acting, 1.0), float(sound[n]) + verdict.cures.prices.drive)
        for n in chosen
    ]
    plan = choose_rule(actions, two_or_more=several)
    named = [int(name) for name in plan.names]
    # What ends nothing of the complaint (danger is its reason) comes last.
    return [*named, *(n for n in chosen if n not in named)], plan.rule


def conclude(verdict: Verdict) -> Conclusion:
    """The cures of the best course, and those that danger alone calls for; at least the one most to blame."""
    belief, cures, library = verdict.belief, verdict.cures, verdict.library
    rows = verdict.rows
    suspects = {row.number for row in rows}
    look = verdict.decision.look
    chosen = list(dict.fromkeys([*look.course.order, *cures.for_safety(belief.present, belief.to_blame)]))
    if look.cure is not None and look.cure not in chosen:
        chosen.insert(0, look.cure)
    chosen = [index for index in chosen if suspects & set(cures.all[index].causes)]
    if not chosen and rows:
        chosen = [int(cures.of_cause[rows[0].number])]
    chosen, rule = _in_order(verdict, chosen) if chosen else ([], "")
    if look.cure in chosen:
        chosen.remove(look.cure)
        chosen.insert(0, look.cure)
    steps = []
    minutes = neutral = 0.0
    follow: list[str] = []
    causes: list[int] = []
    for index in chosen:
        cure = cures.all[index]
        remedy = library.remedies[cure.remedy]
        there = 1.0
        blame = 1.0
        for number in cure.causes:
            there *= 1.0 - float(belief.present[number])
            blame *= 1.0 - float(belief.to_blame[number])
        steps.append((cure, remedy, 1.0 - there, 1.0 - blame, belief.cured(cure.causes)))
        causes += cure.causes
        minutes += remedy.hours * 60.0
        neutral += remedy.parts
        follow += remedy.follow_ups
    follow_ups = due(library, follow)
    minutes += sum(each.minutes for each in follow_ups)
    neutral += sum(each.parts for each in follow_ups)
    workshop = verdict.workshop
    behind = tuple(row for row in rows if row.number not in causes)[:5]
    return Conclusion(
        tuple(steps),
        belief.cured(causes) if causes else 0.0,
        workshop.labour(minutes) + workshop.parts(neutral),
        minutes,
        follow_ups,
        behind,
        belief.outside,
        rule,
    )
