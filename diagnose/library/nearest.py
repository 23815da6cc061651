"""The known name that somebody most likely meant."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["nearest", "suggest"]

#: Likeness, of 100, below which a name is no help.
_ALIKE = 65.0


def nearest(word: str, names: Iterable[str]) -> str | None:
    """The one of `names` that looks most like `word`, or None if none comes near."""
    from rapidfuzz import fuzz, process  # here, since a library without mistakes needs no look-alikes

    found = process.extractOne(word, sorted(names), scorer=fuzz.ratio, score_cutoff=_ALIKE)
    return None if found is None else str(found[0])


def suggest(word: str, names: Iterable[str], otherwise: str) -> str:
    """The mend of a message about an unknown name: the nearest one, or else `otherwise`."""
    near = nearest(word, names)
    return f"did you mean {near!r}?" if near is not None else otherwise
