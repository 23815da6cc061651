"""What a drive says to the belief: for each complaint one answer of a road test, or nothing."""

from __future__ import annotations

from collections.abc import Collection

from diagnose.debrief.drive import Drive
from diagnose.debrief.shows import is_control, probed
from diagnose.model.library import Library
from diagnose.model.story import ANSWERS, Heard

__all__ = ["SILENCE", "heard"]

#: What silence says of a complaint that a driven leg probes. Nobody asked for it by name, so it is no `no`.
SILENCE = "probably-not"


def heard(library: Library, drive: Drive, among: Collection[str] | None = None) -> tuple[Heard, ...]:
    """The drive as answers of a road test, at most one a complaint, in the order of the library.

    A complaint that was noticed has the surest answer of all its impressions: they are one driver's on one
    drive, not so many observations. Its side is that of the surest impression that tells one. One that was
    not noticed, but would have shown on a leg that was driven, is `probably-not`; of all others nothing is
    said.

    among: where given, silence counts for these complaints only. Give those of the job before the drive goes
    into a `Story`: every complaint that a story names brings its whole tree into the network, and the thirty
    that a full drive is silent about are too many for an exact belief.
    """
    told: dict[str, tuple[str, str | None]] = {}
    for _, impression in drive.impressions():
        name = impression.complaint
        if name is None or name not in library.complaints:
            continue
        answer = impression.answer(is_control(name))
        side = impression.side if library.complaints[name].sided else None
        known = told.get(name)
        if known is None or ANSWERS.index(answer) < ANSWERS.index(known[0]):
            told[name] = (answer, side or (known[1] if known else None))
        elif known[1] is None:
            told[name] = (known[0], side)
    found: list[Heard] = []
    for name, complaint in library.complaints.items():
        if name in told:
            answer, side = told[name]
            found.append(Heard(name, side, answer, "road-test"))
        elif (among is None or name in among) and any(probed(complaint, leg) for leg in drive.legs):
            found.append(Heard(name, None, SILENCE, "road-test"))
    return tuple(found)
