"""Where the search stands: the ranking, the next check, what to cure, what does not fit, what is unsafe."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from diagnose.belief.belief import Belief, Car, Conflict, places
from diagnose.belief.evidence import YES
from diagnose.belief.network import finding_key
from diagnose.choice.cost import Cure, Cures, check_minutes, possible
from diagnose.choice.lookahead import Proposal, next_checks
from diagnose.model.check import TALK
from diagnose.model.library import FollowUp, Library, Remedy
from diagnose.model.story import Seen, Story, Workshop

__all__ = ["Conclusion", "Row", "Verdict", "conclude"]

#: Bits of conflict from which answers are said not to fit together, and the part that one must mend.
CONFLICT_BITS = 2.0
CONFLICT_MENDED = 1.5

#: A check settles a cause if it shows it this surely, with so few false alarms.
SETTLES_DETECTION = 0.6
SETTLES_FALSE_ALARM = 0.12

#: Questions put to the driver before the car is looked at, so that the talk stays short.
MOST_QUESTIONS = 4

#: Part of its cost that a check must save to be proposed while the complaint is unexplained.
FAIR_PART = 0.25

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

    Each step: the cure, its remedy, P(what it ends is there), P(it is to blame), P(cured by it alone).
    """

    steps: tuple[tuple[Cure, Remedy, float, float, float], ...]
    chance: float
    money: float
    minutes: float
    follow_ups: tuple[FollowUp, ...]
    behind: tuple[Row, ...]
    outside: float


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
        self.found_unfit = _found_unfit(car.library, story)
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
        rows = []
        for number in belief.order():
            cause = belief.causes[number]
            fault = self.library.faults[cause.fault]
            part = self.library.parts[fault.part]
            settles, minutes = self._settling(number)
            p, b = float(belief.present[number]), float(belief.to_blame[number])
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
                )
            )
        return tuple(rows)

    @cached_property
    def _settlers(self) -> dict[int, list[str]]:
        """Cause -> checks that would settle it, of those this workshop can do."""
        found: dict[int, list[str]] = {}
        network = self.car.network
        for check in self.car.checks.values():
            # What the driver remembers settles nothing.
            if check.set_up == TALK or not possible(check, self.workshop):
                continue
            for name in check.findings:
                for place in places(self.library, name):
                    node = network.nodes.get(finding_key(name, place))
                    if node is None or self.library.findings[name].repeats:
                        continue
                    if 1.0 - node.start[0] > SETTLES_FALSE_ALARM:
                        continue
                    for each in node.inputs:
                        cause = network.cause_of(each.source)
                        if cause is not None and sum(each.chances) >= SETTLES_DETECTION:
                            found.setdefault(cause, []).append(check.id)
        return found

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
    def _looked_ahead(self) -> tuple[float, list[Proposal]]:
        """The driver's questions come first, while he is there and they pay; then every check."""
        now, every = next_checks(self.belief, self.cures, self.workshop, self.set_up, self.done)
        # What would spoil the checks after it comes before them, if it is worth a fair part of its cost.
        every.sort(key=lambda p: not (self.library.checks[p.check].first and p.worth >= FAIR_PART))
        asked = sum(1 for name in self.done if self.library.checks[name].set_up == TALK)
        if self.set_up != TALK or asked >= MOST_QUESTIONS:
            return now, every
        questions = {q for c in self.car.complaints for q in self.library.complaints[c].questions}
        _, talk = next_checks(self.belief, self.cures, self.workshop, TALK, self.done, questions)
        first = [proposal for proposal in talk if proposal.saving > 0.0]
        named = {proposal.check for proposal in first}
        return now, first + [proposal for proposal in every if proposal.check not in named]

    @property
    def proposals(self) -> list[Proposal]:
        """Checks looked at exactly, in the order in which to do them; the saving may be negative."""
        return self._looked_ahead[1]

    @property
    def explained(self) -> bool:
        """True if something found so far may well be behind the complaint."""
        return any(row.probability >= 0.5 and row.to_blame >= 0.2 for row in self.rows)

    @property
    def next(self) -> Proposal | None:
        """The check to do next, or None where deciding now is cheaper than any check.

        While nothing found explains the complaint, a check that does not pay for itself is proposed
        as well, as long as it is worth a fair part of what it costs: a complaint left without a cause
        is not a decision.
        """
        best = self.proposals[0] if self.proposals else None
        if best is None or best.saving > 0.0 or self.library.checks[best.check].first:
            return best
        return best if best.worth >= FAIR_PART and not self.explained else None

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


def _found_unfit(library: Library, story: Story) -> tuple[str, ...]:
    """What was seen that makes the car unfit to drive, in the words of its findings."""
    reasons = []
    for seen in story.seen:
        finding = library.findings[seen.finding]
        if finding.unfit and _seen(seen, finding.levels):
            reasons.append(finding.unfit)
    return tuple(dict.fromkeys(reasons))


def _seen(seen: Seen, levels: Sequence[str]) -> bool:
    return YES.get(seen.answer, 0.0) > 0.5 or (seen.answer in levels and seen.answer not in YES)


def conclude(verdict: Verdict) -> Conclusion:
    """The cures that cost less to carry out than to leave; at least the one most to blame."""
    belief, cures, library = verdict.belief, verdict.cures, verdict.library
    rows = verdict.rows
    suspects = {row.number for row in rows}
    chosen = [
        index
        for index in cures.worth_doing(belief.present, belief.to_blame)
        if suspects & set(cures.all[index].causes)
    ]
    if not chosen and rows:
        chosen = [int(cures.of_cause[rows[0].number])]
    steps = []
    minutes = neutral = 0.0
    follow: dict[str, FollowUp] = {}
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
        for each in remedy.follow_ups:
            follow[each] = library.follow_ups[each]
    minutes += sum(each.minutes for each in follow.values())
    neutral += sum(each.parts for each in follow.values())
    workshop = verdict.workshop
    behind = tuple(row for row in rows if row.number not in causes)[:5]
    return Conclusion(
        tuple(steps),
        belief.cured(causes) if causes else 0.0,
        workshop.labour(minutes) + workshop.parts(neutral),
        minutes,
        tuple(follow.values()),
        behind,
        belief.outside,
    )
