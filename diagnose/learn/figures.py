"""What was learned, figure by figure: shipped, learned, how much the jobs tell of it, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.learn.counts import Beta, Gamma
from diagnose.learn.fit import Fit
from diagnose.learn.rows import Figure, Key
from diagnose.model.library import Library

__all__ = ["ENOUGH_EVENTS", "Learned", "learned", "taken"]

#: Sightings that the jobs must tell of a figure before it is taken over: half of what an estimate is worth.
ENOUGH_EVENTS = 1.0

#: A figure that moves by less than this part of itself stays as it is.
LEAST_CHANGE = 0.02


@dataclass(frozen=True, slots=True)
class Learned:
    """One figure. unit: "" for a chance, "km" or "years" for a life.

    shipped, learned, low, high: its values, the last two a 95 % credible interval. events: the sightings that
    the jobs are worth about it; cases: of a chance, so many cases would tell as much (of a life: events).
    factor: of a life, what its hazard is multiplied by; else 1. taken: there is enough to change it.
    file, line: where its row is written.
    """

    key: Key
    unit: str
    shipped: float
    learned: float
    low: float
    high: float
    events: float
    cases: float
    factor: float
    taken: bool
    file: str
    line: int


def learned(library: Library, fit: Fit) -> list[Learned]:
    """Every figure that the jobs had to do with, those with most evidence first."""
    values = fit.values()
    rows = [
        _one(library, figure, values[figure.key], float(sd))
        for figure, sd in zip(fit.figures, fit.sd, strict=True)
    ]
    return sorted(rows, key=lambda row: (not row.taken, -row.events, row.key))


def taken(rows: list[Learned]) -> dict[Key, float]:
    """The values to put into a library: of a life the factor on its hazard."""
    return {row.key: row.factor if row.unit else row.learned for row in rows if row.taken}


def _one(library: Library, figure: Figure, value: float, sd: float) -> Learned:
    whole = 1.0 / (sd * sd)
    events = max(whole - figure.events, 0.0)
    place = _place(library, figure)
    if figure.key.kind != "life":
        low, high = Beta(whole / (1.0 - value), whole / value).interval()
        enough = events >= ENOUGH_EVENTS and abs(value / figure.value - 1.0) >= LEAST_CHANGE
        cases = events / (value * (1.0 - value))
        return Learned(figure.key, "", figure.value, value, low, high, events, cases, 1.0, enough, *place)
    life = library.faults[figure.key.row].life
    assert life is not None
    unit, shipped = ("km", life.km) if life.km is not None else ("years", life.years)
    assert shipped is not None
    low, high = (value * end for end in Gamma(whole, whole).interval())
    now, least, most = (shipped * factor ** (-1.0 / life.shape) for factor in (value, high, low))
    enough = events >= ENOUGH_EVENTS and abs(now / shipped - 1.0) >= LEAST_CHANGE
    return Learned(figure.key, unit, shipped, now, least, most, events, events, value, enough, *place)


def _place(library: Library, figure: Figure) -> tuple[str, int]:
    """File and line of the row that the figure belongs to."""
    key = figure.key
    if key.kind in ("chance", "life"):
        place = library.faults[key.row].place
    elif key.kind in ("detection", "false-alarm"):
        place = library.findings[key.row].place
    else:
        complaint = library.complaints[figure.complaint]
        place = library.mechanisms[key.row].place if key.row in library.mechanisms else complaint.place
    return place.file, place.line
