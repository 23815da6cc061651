"""What the jobs of a shop come to: the figures of all of them together.

Counts only, from what was told: a cause counts for a complaint where the complaint was gone after the visit
that ended it. Where a visit ended several faults each of them counts, for nobody can tell them apart.
"""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.job.glance import Overview
from diagnose.model.library import Library

__all__ = ["ShopLine", "report"]


@dataclass(frozen=True)
class ShopLine:
    """The jobs of one complaint, or of all (complaint ""). closed, cured, at_once (by the first visit) and
    driven (told after a visit): counts. minutes: median of the checks of the cured jobs, None without any.
    fitted: remedies with parts carried out; vain: those of them after which a complaint was still there;
    vain_money: prices told for them, by currency. causes: (fault id, cured jobs), most frequent first."""

    complaint: str
    jobs: int
    closed: int
    cured: int
    at_once: int
    driven: int
    minutes: float | None
    fitted: int
    vain: int
    vain_money: tuple[tuple[str, float], ...]
    causes: tuple[tuple[str, int], ...]


def report(library: Library, rows: Sequence[Overview]) -> list[ShopLine]:
    """All jobs together first, then complaint by complaint, the most frequent first."""
    rows = [row for row in rows if not row.unreadable]
    counts = Counter(complaint for row in rows for complaint in row.complaints)
    names = sorted(counts, key=lambda name: (-counts[name], name))
    return [
        _line(library, "", rows),
        *(_line(library, name, [row for row in rows if name in row.complaints]) for name in names),
    ]


def _line(library: Library, complaint: str, rows: Sequence[Overview]) -> ShopLine:
    cured = [row for row in rows if row.cured]
    fitted = vain = 0
    money: dict[str, float] = {}
    for row in rows:
        for each in row.repairs:
            remedy = library.remedies.get(each.work.partition("@")[0])
            # Of a remedy of other trees only a price told says that parts were fitted.
            if each.price is None if remedy is None else remedy.parts <= 0.0:
                continue
            fitted += 1
            if each.gone is False:
                vain += 1
                money[row.currency] = money.get(row.currency, 0.0) + (each.price or 0.0)
    causes = Counter(cause for row in cured for cause in row.causes)
    return ShopLine(
        complaint,
        len(rows),
        sum(row.closed is not None for row in rows),
        len(cured),
        sum(row.at_once for row in rows),
        sum(any(each.gone is not None for each in row.repairs) for row in rows),
        statistics.median(row.minutes for row in cured) if cured else None,
        fitted,
        vain,
        tuple(sorted(money.items())),
        tuple(sorted(causes.items(), key=lambda item: (-item[1], item[0]))),
    )
