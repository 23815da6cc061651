"""Which complaint the driver means, from his own words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from diagnose.errors import InputError
from diagnose.library.nearest import suggest
from diagnose.model.library import Library

__all__ = ["Match", "known_complaint", "match_complaint"]

#: Likeness, of 100, below which a complaint is not offered.
LEAST = 55.0

#: What naming one side adds to the likeness of a complaint that has sides.
ONE_SIDE = 10.0

#: Words that say nothing about which complaint it is.
_IDLE = frozenset(
    re.findall(
        "[a-z]+",
        """
        a an the it its is are i my me we to of on in at and or when while with very really bit little car
        feels feel like just all does do has have be been that this there so from for always sometimes
        also too now still even quite rather slightly some
        """,
    )
)


@dataclass(frozen=True, slots=True)
class Match:
    """A complaint that may be meant; `score` in 0..100, `because` is the wording that it resembles."""

    complaint: str
    score: float
    because: str


def match_complaint(library: Library, words: str) -> list[Match]:
    """Complaints that sound like the words, the best first; empty if none does.

    An id, a name or a wording of one complaint alone matches whole; otherwise every word counts by its
    likeness to the words of the complaint's wordings, rare words more than common ones.
    """
    from rapidfuzz import fuzz, process

    said = " ".join(words.lower().split())
    plain = re.sub(r"[^a-z0-9 ]+", " ", said.replace("-", " "))
    for complaint in library.complaints.values():
        if said in (complaint.id, complaint.name.lower()) or plain.strip() == complaint.id.replace("-", " "):
            return [Match(complaint.id, 100.0, complaint.name)]
    tokens = _tokens(plain)
    if not tokens:
        return []
    exact = [
        Match(complaint.id, 100.0, say)
        for complaint in library.complaints.values()
        for say in complaint.says
        if _tokens(say.lower()) == tokens
    ]
    if len({match.complaint for match in exact}) == 1:
        return exact[:1]
    wordings = {c.id: [c.name, c.about, *c.says] for c in library.complaints.values()}
    bags = {key: _bag(tuple(texts)) for key, texts in wordings.items()}
    # Who names one side means a complaint that has sides.
    one_side = len({"left", "right"} & set(plain.split())) == 1 or "one side" in plain
    likenesses = {token: {key: _likeness(token, bag) for key, bag in bags.items()} for token in set(tokens)}
    # What few other complaints know is worth more.
    alike = {token: sum(1 for value in each.values() if value >= 84.0) for token, each in likenesses.items()}
    worths = {token: 1.0 / count if count else 0.35 for token, count in alike.items()}
    weight = sum(worths[token] for token in tokens)
    found: list[Match] = []
    for key, texts in wordings.items():
        # Half: does each thing said occur in this complaint, and how few others know it?
        gained = 0.0
        for token in tokens:
            likeness = likenesses[token][key]
            gained += worths[token] * (likeness if likeness >= 75.0 else 0.0)
        best = process.extractOne(plain, [t.lower() for t in texts if t], scorer=fuzz.token_set_ratio)
        _, nearness, index = best
        score = 0.6 * gained / max(weight, 1e-9) + 0.4 * nearness
        if library.complaints[key].sided and one_side:
            score = min(score + ONE_SIDE, 100.0)
        found.append(Match(key, score, [t for t in texts if t][index]))
    found.sort(key=lambda match: (-match.score, match.complaint))
    return [match for match in found if match.score >= LEAST]


@lru_cache(maxsize=1000)
def _bag(texts: tuple[str, ...]) -> tuple[str, ...]:
    """The telling words of all wordings of one complaint, each once, in order."""
    return tuple(sorted({token for text in texts for token in _tokens(text.lower())}))


def _likeness(token: str, bag: Sequence[str]) -> float:
    """The most that a word of the bag is like the token, in 0..100."""
    from rapidfuzz import fuzz, process

    best = process.extractOne(token, bag, scorer=fuzz.ratio)
    return best[1] if best else 0.0


@lru_cache(maxsize=10_000)  # the wordings of a library, each needed twice for every word from a driver
def _tokens(text: str) -> tuple[str, ...]:
    """The telling words, each cut to its stem, so that `pulling`, `pulled` and `pulls` meet."""
    return tuple(
        _stem(word)
        for word in re.findall(r"[a-z0-9]+", text)
        if word not in _IDLE and len(word) > 1 and not word.isdigit()
    )


def _stem(word: str) -> str:
    """The word without a common English ending; a rough cut is enough for likeness."""
    for ending in ("ing", "ed", "es", "s"):
        stem = word.removesuffix(ending)
        if stem != word and len(stem) >= 3:
            doubled = stem[-1] == stem[-2] and stem[-1] not in "lsz"
            return stem[:-1] if doubled else stem
    return word


def known_complaint(library: Library, name: str) -> str:
    """The id itself. Raises InputError, with the nearest one, for an id that the library does not have."""
    if name not in library.complaints:
        mend = suggest(name, library.complaints, "`diagnose trees` lists them")
        raise InputError(f"there is no complaint {name!r}: {mend}")
    return name
