"""What a job came to, at a glance: plain values, which can be kept as text and read back."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime

__all__ = ["Fitted", "Overview"]


@dataclass(frozen=True, slots=True)
class Fitted:
    """One repair: remedy@place, the faults (`fault@position`) that it ends, those of them that it is meant
    for, how many visits came before it.

    gone: True if every complaint was gone at its visit's last word, False if one was not, None if not told.
    """

    work: str
    ends: tuple[str, ...]
    meant: tuple[str, ...]
    visit: int
    gone: bool | None
    price: float | None
    hours: float | None


@dataclass(frozen=True)
class Overview:
    """One job. opened, last: UTC. closed: its outcome, None while it is open. complaints: ids, as told.

    words: what a search for the car looks at: name, layout, the driver's words. concluded: remedies settled
    on. minutes: of checks done. spent: money told for parts and hours, None if none was. owed: work that
    repairs oblige to and that is not done (ids). unreadable: why the job cannot be read; then all else that
    is not in the lists of jobs is empty.
    """

    id: str
    name: str
    opened: datetime | None
    last: datetime | None
    events: int
    closed: str | None = None
    complaints: tuple[str, ...] = ()
    words: str = ""
    concluded: tuple[str, ...] = ()
    repairs: tuple[Fitted, ...] = ()
    minutes: float = 0.0
    spent: float | None = None
    currency: str = ""
    owed: tuple[str, ...] = ()
    unreadable: str = ""

    @classmethod
    def from_text(cls, text: str) -> Overview:
        """What `as_text` gave."""
        kept = json.loads(text)
        lists = {name: tuple(value) for name, value in kept.items() if isinstance(value, list)}
        times = {name: kept[name] and datetime.fromisoformat(kept[name]) for name in ("opened", "last")}
        repairs = tuple(
            Fitted(**{**each, "ends": tuple(each["ends"]), "meant": tuple(each["meant"])})
            for each in kept["repairs"]
        )
        return cls(**{**kept, **lists, **times, "repairs": repairs})

    def as_text(self) -> str:
        """All of it as JSON."""
        return json.dumps(asdict(self), default=datetime.isoformat)

    @property
    def cured(self) -> bool:
        """True if the last word about every complaint after the last visit is that it has gone."""
        return bool(self.repairs) and self.repairs[-1].gone is True

    @property
    def at_once(self) -> bool:
        """True if the first visit cured it, and nothing said otherwise since."""
        return self.cured and self.repairs[-1].visit == 0

    @property
    def causes(self) -> tuple[str, ...]:
        """The faults (ids) that the visit which cured it was meant to end: each may have been the cause."""
        if not self.cured:
            return ()
        last = self.repairs[-1].visit
        ends = (end.partition("@")[0] for each in self.repairs if each.visit == last for end in each.meant)
        return tuple(dict.fromkeys(ends))
