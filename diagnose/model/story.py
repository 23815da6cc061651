"""What is known about one car and its complaint: facts, the driver's word, and what was seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from diagnose.model.vehicle import Vehicle

__all__ = ["ANSWERS", "FADED", "Heard", "Round", "Seen", "Story", "Workshop"]

#: The words of an answer, surest yes first.
ANSWERS = ("yes", "probably", "cannot-tell", "probably-not", "no")

#: A complaint after a repair that is weaker than before it, and still there.
FADED = "faded"


@dataclass(frozen=True, slots=True)
class Heard:
    """A complaint as it was told or felt; one event, observed by the driver or on a road test.

    answer: one of ANSWERS, or FADED after a repair.
    """

    complaint: str
    side: str | None = None
    answer: str = "yes"
    by: str = "driver"  # or "road-test"


@dataclass(frozen=True, slots=True)
class Seen:
    """One finding as it was answered.

    finding: "check-id/finding-id". answer: one of ANSWERS, or the name of a grade or band.
    reading: the number measured, in the unit of the finding, where there was one. shares: where the answer
    was worked out from numbers that leave it open, the likelihood of them at each state 0.. of the finding
    (any common factor); empty: the answer says it.
    """

    finding: str
    position: str | None = None
    answer: str = "yes"
    reading: float | None = None
    shares: tuple[float, ...] = ()

    @property
    def check(self) -> str:
        """The check that the finding belongs to."""
        return self.finding.partition("/")[0]


@dataclass(frozen=True, slots=True)
class Workshop:
    """What work costs here and what cannot be done: set-ups, tools or checks by id.

    labour_rate is money per hour, in `currency`.

    """

    currency: str = "cu"
    labour_rate: float = 100.0
    cannot: frozenset[str] = frozenset()

    def labour(self, minutes: float) -> float:
        """Money for so many minutes."""
        return self.labour_rate * minutes / 60.0

    def minutes(self, money: float) -> float:
        """Minutes of labour that so much money buys; 0 where labour is free."""
        return money / self.labour_rate * 60.0 if self.labour_rate > 0.0 else 0.0

    def parts(self, neutral: float) -> float:
        """Money for parts that cost so much in the neutral unit: parts keep their ratio to labour."""
        return neutral * self.labour_rate / 100.0


@dataclass(frozen=True, slots=True)
class Round:
    """One repair and what came after it, up to the next; or the same car some time after its last repair.

    cured: what it put right, as (fault, position). heard: the complaints as they were on the drives since.
    seen: what was looked at on the car since. later: no repair, but a later time: so many days and km after
    the last repair; None: nobody told. loose: what repairs fitted whose settling work was undone until this
    later time; undone: and is still undone at the end of the round.
    """

    cured: tuple[tuple[str, str], ...]
    heard: tuple[Heard, ...] = ()
    seen: tuple[Seen, ...] = ()
    later: bool = False
    days: float | None = None
    km: float | None = None
    loose: tuple[tuple[str, str], ...] = ()
    undone: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Story:
    """Everything that a belief rests on. `seen` is in the order in which it was answered.

    heard and seen are of the car as it was brought; rounds: its repairs, in order.
    """

    vehicle: Vehicle = field(default_factory=Vehicle)
    heard: tuple[Heard, ...] = ()
    seen: tuple[Seen, ...] = ()
    rounds: tuple[Round, ...] = ()

    @property
    def seen_now(self) -> tuple[Seen, ...]:
        """What was seen of the car as it is now: since the last repair, if there was one."""
        return self.rounds[-1].seen if self.rounds else self.seen

    def seeing(self, seen: tuple[Seen, ...]) -> Story:
        """The story with this as what was seen of the car as it is now."""
        if not self.rounds:
            return replace(self, seen=seen)
        return replace(self, rounds=(*self.rounds[:-1], replace(self.rounds[-1], seen=seen)))

    @property
    def complaints(self) -> Mapping[str, str | None]:
        """Complaint id -> side, of every complaint heard (a side told later counts)."""
        sides: dict[str, str | None] = {}
        for heard in self.heard:
            sides[heard.complaint] = heard.side or sides.get(heard.complaint)
        return sides
