"""Which complaint the driver means by words about one leg: what the leg can show comes first."""

from __future__ import annotations

from dataclasses import replace

from diagnose.debrief.shows import shows
from diagnose.library.matching import Match, match_complaint
from diagnose.model.library import Library

__all__ = ["EXACT", "name_complaint"]

#: What goes without saying on a leg: `pulls left` of the braking leg is pulling left when braking.
_UNSAID = {
    "straight": "on a straight road",
    "undulating": "over long waves",
    "bend-power": "in bends",
    "bend-lift": "in bends",
    "roundabout": "in bends",
    "braking": "when braking",
    "rough": "over bumps on rough road",
    "parking": "when parking on lock",
    "crosswind": "in side wind",
}

#: What a leg that probes a complaint, or may show it, adds to its likeness, of 100 (estimate).
_PROBES, _MAY = 12.0, 8.0

#: The score of what is not only like a complaint: more than any likeness comes to.
EXACT = 120.0

#: What is less like than this, all counted, is not offered (estimate).
_LEAST = 70.0


def name_complaint(library: Library, words: str, kind: str) -> list[Match]:
    """Complaints that sound like the words, said of a leg of this kind; the best first, each once.

    An id, a name, or a wording of the library that the leg can show is taken alone, as EXACT. score: the
    likeness in 0..100, and some more where the leg can show it. because: the wording that it resembles.
    """
    plain = match_complaint(library, words)
    if not plain:
        return []
    first = plain[0]
    named = first.because == library.complaints[first.complaint].name  # by its id or name, not by a wording
    if len(plain) == 1 and first.score == 100.0 and (named or _fits(library, first, kind)):
        return [replace(first, score=EXACT)]
    best: dict[str, Match] = {}
    hinted = [
        match for match in match_complaint(library, f"{words} {_UNSAID[kind]}") if _fits(library, match, kind)
    ]
    known = {match.complaint for match in plain}
    for match in (*plain, *hinted):
        # What the leg alone brings up, with none of the driver's words, is not meant.
        if match in hinted and match.complaint not in known and not _akin(library, words, match):
            continue
        probes = kind in shows(library.complaints[match.complaint]).probes
        score = match.score + (_PROBES if probes else _MAY if _fits(library, match, kind) else 0.0)
        if match.complaint not in best or best[match.complaint].score < score:
            best[match.complaint] = Match(match.complaint, score, match.because)
    found = [match for match in best.values() if match.score >= _LEAST]
    # Of equals, the one whose name holds more of the words.
    return sorted(
        found,
        key=lambda match: (
            -match.score,
            -_shared(words, library.complaints[match.complaint].name),
            match.complaint,
        ),
    )


def _fits(library: Library, match: Match, kind: str) -> bool:
    return kind in shows(library.complaints[match.complaint]).kinds


def _akin(library: Library, words: str, match: Match) -> bool:
    """True if a word of the driver's occurs in the wordings of the complaint."""
    complaint = library.complaints[match.complaint]
    known = " ".join((complaint.name, complaint.about, *complaint.says))
    return _shared(words, known) > 0


def _shared(words: str, text: str) -> int:
    """How many of the longer words occur in the text, but for their endings."""
    low = text.lower()
    return sum(word[:4] in low for word in words.lower().split() if len(word) > 3)
