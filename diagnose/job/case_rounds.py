"""What was done to the car of a case file, and how it was afterwards: its `rounds`, as the events of a job.

A round begins with repairs, or is the same car some time after the last ones (`after`). What a repair ends
is looked up on this very car, so that a case file and a job that was told at the terminal say the same.
"""

from __future__ import annotations

from collections.abc import Callable

from diagnose.belief.belief import Car
from diagnose.choice.cost import Cures
from diagnose.errors import InputError, Problem
from diagnose.job import events as e
from diagnose.job.repairs import ends_of, followed_by, meant, whole
from diagnose.job.story import answered_event
from diagnose.library.nearest import suggest
from diagnose.library.shapes import (
    ByForm,
    Choice,
    Identifier,
    ListOf,
    MappingOf,
    Number,
    OneOrMore,
    Row,
    Shape,
    Text,
    YesNo,
    is_number,
    optional,
)
from diagnose.library.shapes import Key as RowKey
from diagnose.library.text import Mapping, Node, Scalar, entries, pairs, scalars
from diagnose.model.library import Library
from diagnose.model.story import ANSWERS, FADED, Seen, Story, Workshop

__all__ = ["REPAIR", "Rounds", "round_shape"]

FELT = (*ANSWERS[:2], FADED, *ANSWERS[2:])

_MONEY, _HOURS = Number(0, 1_000_000, unit="money"), Number(0, 1_000, unit="hours")

REPAIR = Row(
    "a repair",
    {
        "remedy": RowKey(Text(120)),
        "grade": optional(Text(80)),
        "price": optional(_MONEY),
        "hours": optional(_HOURS),
        "one-use": optional(YesNo()),
        "at-height": optional(YesNo()),
        "angles-set": optional(YesNo()),
    },
)

_AFTER = Row(
    "a time after the last repair",
    {
        "days": optional(Number(0, 36_500, above=True, unit="days")),
        "km": optional(Number(0, 1_000_000, above=True, unit="kilometres")),
    },
    some_of=(("days", "km"),),
)


def round_shape(answered: Shape) -> Row:
    """The shape of one round; answered: that of an answered check."""
    felt = ByForm(
        "how a complaint felt",
        f"write {', '.join(FELT)}; or `complaint: answer` for each",
        scalar=Choice(FELT),
        mapping=MappingOf(Identifier(), Choice(FELT), "complaints"),
    )
    return Row(
        "a round",
        {
            "repairs": optional(ListOf(REPAIR, least=1)),
            "after": optional(_AFTER),
            "done": optional(OneOrMore(Identifier())),
            "felt": optional(felt),
            "answers": optional(ListOf(answered)),
        },
        one_of=(("repairs", "after"),),
    )


class Rounds:
    """Reads the rounds of a case file; problems are added to `problems`."""

    def __init__(
        self,
        library: Library,
        problems: list[Problem],
        story: Story,
        workshop: Workshop,
        answers: Callable[[Node | None], list[list[Seen]]],
    ) -> None:
        """story: the car as it was brought. answers: reads a list of answered checks, a list for each."""
        self.library, self.problems, self.story, self.answers = library, problems, story, answers
        self.workshop = workshop
        self._model: tuple[Car, Cures] | None = None
        self._owed: set[str] = set()
        self._repaired = False
        self._last: tuple[float | None, float | None] = (None, None)

    def steps(self, node: Node | None) -> list[list[e.Event]]:
        """The events of all rounds, a list for each step."""
        found: list[list[e.Event]] = []
        for entry in entries(node):
            found += self._round(entry)
        return [step for step in found if step]

    def _round(self, entry: Mapping) -> list[list[e.Event]]:
        repairs = [made for each in entries(entry.get("repairs")) if (made := self._repair(each))]
        follow = dict.fromkeys(each for one in repairs for each in followed_by(self.library, one))
        self._owed |= {name for one in repairs for name in self.library.remedies[one.remedy].follow_ups}
        self._repaired |= bool(entries(entry.get("repairs")))
        days, km = self._after(entry)
        done = [e.FollowedUp(each.text) for each in scalars(entry.get("done")) if self._is_owed(each)]
        steps: list[list[e.Event]] = [[*repairs, *follow]]
        felt = self._felt(entry, days, km)
        # Work done before the drive that is told of was done before that later time.
        steps += [list[e.Event](done), felt]
        for seen in self.answers(entry.get("answers")):
            told: list[e.Event] = [e.Turned(seen[0].check)] if seen else []
            told += [answered_event(self.library, each) for each in seen]
            steps.append([*told, e.CheckDone(seen[0].check)] if seen else [])
        return steps

    def _repair(self, entry: Mapping) -> e.Repaired | None:
        node = entry.get("remedy")
        if not isinstance(node, Scalar):
            return None
        car, cures = self._car()
        try:
            cure = meant(cures, node.text.strip())
        except InputError as error:
            wrong, _, mend = str(error).partition(": ")
            self.problems.append(node.problem(wrong, mend))
            return None
        told = {name: _yes(entry.get(name)) for name in ("one-use", "at-height", "angles-set")}
        made = e.Repaired(
            cure.remedy,
            cure.place,
            ends_of(car, cure),
            _text(entry.get("grade")),
            _number(entry.get("price")),
            _number(entry.get("hours")),
            told["one-use"],
            told["at-height"],
            told["angles-set"],
        )
        return whole(car, made)

    def _car(self) -> tuple[Car, Cures]:
        if self._model is None:
            car = Car(self.library, self.story.vehicle, self.story.complaints)
            self._model = (car, Cures(car, self.workshop))
        return self._model

    def _after(self, entry: Mapping) -> tuple[float | None, float | None]:
        node = entry.get("after")
        if not isinstance(node, Mapping):
            self._last = (None, None)
            return None, None
        days, km = _number(node.get("days")), _number(node.get("km"))
        if not self._repaired:
            at = entry.key("after") or entry
            wrong = "nothing was repaired before this round"
            self.problems.append(at.problem(wrong, "begin with a round that has `repairs`"))
        for name, now, before in (("days", days, self._last[0]), ("km", km, self._last[1])):
            if now is not None and before is not None and now < before:
                place: Node = node.get(name) or node
                wrong = f"{now:g} {name} lie before the {before:g} of the round before"
                self.problems.append(place.problem(wrong, f"count {name} from the last repair, in order"))
        self._last = (days, km)
        return days, km

    def _is_owed(self, node: Scalar) -> bool:
        name = node.text.strip()
        if name in self._owed:
            return True
        mend = suggest(name, self._owed, f"owed is {', '.join(sorted(self._owed)) or 'nothing'}")
        self.problems.append(node.problem(f"{name!r} is not owed by a repair before", mend))
        return False

    def _felt(self, entry: Mapping, days: float | None, km: float | None) -> list[e.Event]:
        node = entry.get("felt")
        complaints = list(self.story.complaints)
        told: dict[str, str] = {}
        if isinstance(node, Scalar):
            told = dict.fromkeys(complaints, node.text.strip())
        for key, value in pairs(node):
            if key.text not in complaints:
                mend = suggest(key.text, complaints, f"they are {', '.join(complaints)}")
                self.problems.append(key.problem(f"{key.text!r} is not a complaint of this file", mend))
            elif isinstance(value, Scalar):
                told[key.text] = value.text.strip()
        if days is not None or km is not None:
            told = told or dict.fromkeys(complaints, "cannot-tell")
        return [
            e.FeltSince.from_dict(
                {"event": "felt-since", "complaint": name, "answer": answer, "days": days, "km": km}
            )
            for name, answer in told.items()
            if answer in FELT
        ]


def _text(node: Node | None) -> str:
    return " ".join(node.text.split()) if isinstance(node, Scalar) else ""


def _number(node: Node | None) -> float | None:
    return float(node.text) if isinstance(node, Scalar) and is_number(node.text) else None


def _yes(node: Node | None) -> bool | None:
    text = _text(node)
    return None if text not in ("yes", "no") else text == "yes"
