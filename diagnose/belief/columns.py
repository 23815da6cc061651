"""Questions asked side by side, each a column with what was observed in it, gathered node by node."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

__all__ = ["Columns", "Observed"]

#: P(what was observed | state 0..top of a node) -> the columns in which just that was observed, rising.
Observed = Mapping[tuple[float, ...], Sequence[int]]


class Columns:
    """So many columns. seen: node key -> what was observed of it; a column that is not named did not look."""

    def __init__(self, count: int, common: Mapping[str, Sequence[float]] = MappingProxyType({})) -> None:
        """common: what was observed in all of them."""
        self.count = count
        everywhere = range(count)
        self.seen: dict[str, Observed] = {key: {tuple(values): everywhere} for key, values in common.items()}

    @classmethod
    def of(cls, columns: Sequence[Mapping[str, Sequence[float]]]) -> Columns:
        """A column for each of these observations of its own."""
        found: dict[str, dict[tuple[float, ...], list[int]]] = {}
        for number, column in enumerate(columns):
            for key, values in column.items():
                found.setdefault(key, {}).setdefault(tuple(values), []).append(number)
        made = cls(len(columns))
        made.seen.update(found)
        return made

    def observe(self, key: str, observed: Observed) -> None:
        """Take in what was observed of a node besides; several observations of one event multiply."""
        before = self.seen.get(key)
        if before is None:
            self.seen[key] = observed
            return
        more = {column: values for values, columns in observed.items() for column in columns}
        found: dict[tuple[float, ...], list[int]] = {}
        for values, columns in before.items():
            for column in columns:
                also = more.pop(column, None)
                both = values if also is None else tuple(a * b for a, b in zip(values, also, strict=True))
                found.setdefault(both, []).append(column)
        for column, values in more.items():
            found.setdefault(values, []).append(column)
        self.seen[key] = found
