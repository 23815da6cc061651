"""Within what the numbers of an event lie when it comes from a file, as they do where they are typed.

The types of `events` say what a store can hold; a number far outside these bounds is no car's.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.job.events import Event, Opened
from diagnose.units import MOST_AMOUNT, MOST_KM, MOST_READING, MOST_SINCE, MOST_YEARS

__all__ = ["strays"]

_DISTANCE, _AGE, _AMOUNT, _TIME = (0, MOST_KM), (0, MOST_YEARS), (0, MOST_AMOUNT), (0, MOST_SINCE)

#: (kind, field) -> the least and the most.
_BOUNDS: dict[tuple[str, str], tuple[float, float]] = {
    ("distance", "km"): _DISTANCE,
    ("distance", "years"): _AGE,
    ("part-renewed", "at-km"): _DISTANCE,
    ("part-renewed", "years-ago"): _AGE,
    ("answered", "reading"): (-MOST_READING, MOST_READING),
    ("repaired", "price"): _AMOUNT,
    ("repaired", "hours"): _AMOUNT,
    ("planned", "cash"): _AMOUNT,
    ("felt-since", "days"): _TIME,
    ("felt-since", "km"): _TIME,
}
_RATE = (0.01, 100_000)


def strays(event: Event) -> Iterator[tuple[str, str, str]]:
    """(field, what is wrong, how to mend it) for everything in the event that is out of its bounds."""
    kind = event.kind
    for field, value in event.to_dict().items():
        low, high = _BOUNDS.get((kind, field), (0, 0))
        for each in value if isinstance(value, list) else [value]:
            if (kind, field) in _BOUNDS and each is not None and not low <= each <= high:
                yield field, f"{field!r} of event {kind!r} is {each:g}", f"write {low:,} to {high:,}"
    if isinstance(event, Opened):
        yield from _workshop(event)


def _workshop(event: Opened) -> Iterator[tuple[str, str, str]]:
    low, high = _RATE
    rate = event.workshop.get("labour-rate", high)
    if isinstance(rate, bool) or not isinstance(rate, int | float) or not low <= rate <= high:
        yield "workshop", f"the labour rate is {rate!r}", f"write money per hour, {low} to {high:,}"
    currency = event.workshop.get("currency", "cu")
    if not isinstance(currency, str) or not 0 < len(currency.strip()) <= 8 or not currency.isprintable():
        yield "workshop", f"the currency is {str(currency)[:40]!r}", "write up to 8 letters such as EUR"
    cannot = event.workshop.get("cannot", [])
    if not isinstance(cannot, list) or not all(isinstance(each, str) for each in cannot):
        yield "workshop", "'cannot' is no list of words", "write ids, such as [rig]"
