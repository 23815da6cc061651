"""Practising at a desk: the apprentice chooses what to look at, reads what is there, and names the cause."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from diagnose.choice.cost import OVERHEAD, Cure, change_minutes
from diagnose.model.check import BENCH, TALK, Check
from diagnose.practice.attempt import Attempt, Choice
from diagnose.screen.answers import whole
from diagnose.screen.choosing import Stop, choose, say
from diagnose.screen.desk import Desk, clean
from diagnose.screen.pages import unfit_page
from diagnose.screen.practice import (
    cause_words,
    check_asked_page,
    cure_asked_page,
    help_page,
    seen_page,
    status_line,
    step_page,
    suspects_page,
    where_page,
)
from diagnose.trials.searches import concerns
from diagnose.units import minutes, money

__all__ = ["practise"]

#: Likeness of words, of 100, from which one thing is meant, with the next far enough behind, and from which
#: a thing is offered at all.
CLEAR, AHEAD, OFFERED = 90.0, 5.0, 60.0

#: How far behind the most like thing another one is still offered.
NEAR = 20.0

#: Things offered where words leave it open.
MOST_OFFERED = 9

PROMPT = "a number, words of a check, n name the cause, h help >"

#: Keeps a move before what it shows is shown.
Keep = Callable[[Mapping[str, str]], None]


def practise(desk: Desk, attempt: Attempt, keep: Keep) -> None:
    """Go on until the complaint is gone or the car is handed on. Raises Stop when the apprentice stops."""
    _Practice(desk, attempt, keep).run()


def alike(typed: str, name: str) -> float:
    """How well the words typed are found in a name, 0 to 100: the mean over them of the most like word there.

    A word that begins like one typed is that word, so that `press` finds `pressures`.
    """
    from rapidfuzz import fuzz

    there = re.findall(r"\w+", name.lower())
    scores = [
        max((100.0 if each.startswith(word) else fuzz.ratio(word, each) for each in there), default=0.0)
        for word in re.findall(r"\w+", typed.lower())
    ]
    return sum(scores) / len(scores) if scores else 0.0


class _Practice:
    def __init__(self, desk: Desk, attempt: Attempt, keep: Keep) -> None:
        self.desk, self.attempt, self.keep = desk, attempt, keep
        self.library = attempt.exercise.car.car.library
        self._places: list[str] = []
        self._told_unfit: tuple[str, ...] = ()
        #: Steps taken when the suspects were told last.
        self._suspects_told: int | None = None

    def run(self) -> None:
        if self.attempt.at.there:
            self._where()
        while self.attempt.at.there:
            self._warn()
            self.desk.show(status_line(self.attempt, self.desk.look))
            words = [choice.check.name for choice in self._choices()]
            typed = self.desk.ask(PROMPT, words).strip()
            if self._carried_out(typed):
                return

    def _carried_out(self, typed: str) -> bool:
        """Do what was typed; True if the car is handed on."""
        first, _, rest = typed.partition(" ")
        word = first.lower()
        picked = whole(typed, len(self._places))
        if typed == "":
            self._here()
        elif word in ("l", "list") and not rest:
            self._where()
        elif word in ("q", "quit") and not rest:
            raise Stop
        elif word in ("h", "help", "?") and not rest:
            self.desk.show(help_page())
        elif word in ("k", "known") and not rest:
            self._known()
        elif word in ("w", "hint") and not rest:
            self._hint()
        elif word in ("g", "give") and not rest:
            return self._given_up()
        elif word in ("n", "name"):
            self._name(rest)
        elif picked is not None:
            self._at_place(self._places[picked - 1])
        else:
            self._by_words(typed)
        return False

    def _warn(self) -> None:
        """Say at once, and once, that the car is not fit to drive."""
        reasons = self.attempt.unfit
        if reasons and reasons != self._told_unfit:
            self.desk.show(unfit_page(reasons, self.desk.look))
            say(self.desk, "So no drive until that is put right: no road test, and that cause first.")
        self._told_unfit = reasons

    def _choices(self) -> list[Choice]:
        """What can be looked at; the bench only once something was taken off."""
        found = self.attempt.choices()
        return [each for each in found if self.attempt.at.tried or each.check.set_up != BENCH]

    def _where(self) -> None:
        rows, self._places = [], []
        by_place: dict[str, list[Choice]] = {}
        for choice in self._choices():
            if concerns(self.attempt.car, choice.check):
                by_place.setdefault(choice.check.set_up, []).append(choice)
        for name in self.library.set_ups:
            if name in by_place:
                some = by_place[name]
                change = change_minutes(self.library, some[0].check, self.attempt.at.set_up)
                rows.append((self.library.set_ups[name].name, len(some), change))
                self._places.append(name)
        say(self.desk, "Where to look:", "dim")
        self.desk.show(where_page(rows, self.desk.look))

    def _here(self) -> None:
        """The checks that are left where the car is; the places where none is left."""
        here = self.attempt.at.set_up
        if any(
            each.check.set_up == here and concerns(self.attempt.car, each.check) for each in self._choices()
        ):
            self._at_place(here)
        else:
            self._where()

    def _at_place(self, place: str) -> None:
        some = [
            each
            for each in self._choices()
            if each.check.set_up == place and concerns(self.attempt.car, each.check)
        ]
        rows = [f"{each.check.name} ({minutes(each.check.minutes + OVERHEAD)})" for each in some]
        picked = choose(self.desk, rows, "to go back")
        if picked is not None:
            self._check(some[picked - 1].check)

    def _by_words(self, typed: str) -> None:
        some = self._choices()
        at = [self.library.set_ups[each.check.set_up].name for each in some]
        rows = [
            f"{each.check.name} ({where}, {minutes(each.minutes + OVERHEAD)})"
            for each, where in zip(some, at, strict=True)
        ]
        picked = self._meant(typed, [each.check.name for each in some], "check", rows)
        if picked is not None:
            self._check(some[picked].check)

    def _meant(self, typed: str, names: Sequence[str], called: str, rows: Sequence[str] = ()) -> int | None:
        """The index of the name that the words mean, asked for where they leave it open; None for none.

        rows: the names as they are listed then, if not as they are.
        """
        scored = sorted((-alike(typed, name), len(name), index) for index, name in enumerate(names))
        least = max(OFFERED, -scored[0][0] - NEAR) if scored else OFFERED
        found = [(-score, index) for score, _, index in scored if -score >= least][:MOST_OFFERED]
        if not found:
            say(self.desk, f"No {called} here sounds like {clean(typed)!r}; h for help.", "yellow")
            return None
        scores = [score for score, _ in found]
        exact = [index for _, index in found if names[index].lower() == " ".join(typed.lower().split())]
        if exact or (scores[0] >= CLEAR and (len(scores) == 1 or scores[0] - scores[1] >= AHEAD)):
            return exact[0] if exact else found[0][1]
        # Alike ones stand in the order of the names: places as they are counted round the car.
        found.sort(key=lambda each: (-each[0], each[1]))
        picked = choose(self.desk, [(rows or names)[index] for _, index in found], "to go back")
        return None if picked is None else found[picked - 1][1]

    def _check(self, check: Check) -> None:
        change = change_minutes(self.library, check, self.attempt.at.set_up)
        self.desk.show(check_asked_page(self.library, check, change, self.desk.look))
        # A question to the driver is asked at once: it costs next to nothing, and harms nobody.
        if check.set_up != TALK and not self._agreed("[Enter] do it [0] back >"):
            return
        self.keep({"check": check.id})
        self.desk.show(seen_page(self.library, self.attempt.look(check), self.desk.look))

    def _agreed(self, prompt: str) -> bool:
        while True:
            typed = self.desk.ask(prompt).strip().lower()
            if typed in ("", "y", "yes"):
                return True
            if typed in ("0", "n", "no"):
                return False
            if typed in ("q", "quit"):
                raise Stop
            say(self.desk, f"{clean(typed)!r}: press Enter, or type 0.")

    def _known(self) -> None:
        seen = self.attempt.at.seen
        by_check: dict[str, list[int]] = {}
        for index, each in enumerate(seen):
            by_check.setdefault(each.check, []).append(index)
        if not seen:
            say(self.desk, "Nothing yet.")
        for name, indices in by_check.items():
            say(self.desk, self.library.checks[name].name, "bold")
            some = [seen[index] for index in indices]
            self.desk.show(seen_page(self.library, some, self.desk.look))

    def _hint(self) -> None:
        """First who stands first by what is known so far; asked once more there, what is to be done next."""
        if not self.attempt.hints and not self._agreed(
            "[Enter] a hint: this car then opens no level [0] back >"
        ):
            return
        steps = len(self.attempt.trace)
        further = self._suspects_told == steps
        self.keep({"hint": "step" if further else "suspects"})
        self.attempt.hints += 1
        if further:
            self.desk.show(step_page(self.attempt, self.desk.look))
        else:
            self.desk.show(suspects_page(self.attempt, self.desk.look))
            self._suspects_told = steps

    def _name(self, words: str) -> None:
        cures = self.attempt.cures()
        numbers = sorted(
            {n for cure in cures for n in cure.causes} & self.attempt.exercise.car.car.suspects(),
            key=lambda n: cause_words(self.attempt.exercise, n),
        )
        names = [cause_words(self.attempt.exercise, n) for n in numbers]
        if self.attempt.unfit and len(names) <= MOST_OFFERED:
            # The few that may make it unfit come first; no words are needed to find one of them.
            say(self.desk, "The car is not fit to drive: first put right what makes it so.", "bold")
            chosen = choose(self.desk, names, "to go back")
            if chosen is not None:
                self._put_right(cures, numbers[chosen - 1], names[chosen - 1])
            return
        typed = words or self.desk.ask("which cause? words, or Enter for a list >", names).strip()
        picked = self._meant(typed, names, "cause") if typed else self._from_list(names)
        if picked is None:
            return
        self._put_right(cures, numbers[picked], names[picked])

    def _from_list(self, names: Sequence[str]) -> int | None:
        """The index of a cause picked by its part; None for none."""
        parts = sorted({name.partition(": ")[0] for name in names})
        part = choose(self.desk, parts, "to go back")
        if part is None:
            return None
        some = [index for index, name in enumerate(names) if name.partition(": ")[0] == parts[part - 1]]
        picked = choose(self.desk, [names[index] for index in some], "to go back")
        return None if picked is None else some[picked - 1]

    def _put_right(self, cures: Sequence[Cure], number: int, name: str) -> None:
        cure = next(cure for cure in cures if number in cure.causes)
        currency = self.attempt.exercise.workshop.currency
        say(self.desk, f"You say: {name}.", "bold")
        self.desk.show(cure_asked_page(self.library, cure, currency, self.desk.look))
        if not self._agreed("[Enter] put it right and drive [0] back >"):
            return
        sound = self.attempt.at.sound(cure)
        self.keep({"cure": f"{cure.remedy}@{cure.place}"})
        self.attempt.put_right(cure)
        if not self.attempt.at.there:
            say(self.desk, "Driven: the complaint is gone.", "bold")
        elif sound:
            say(
                self.desk,
                f"Nothing was wrong there: {money(cure.money, currency)} in vain. Driven: the complaint is "
                "still there.",
                "bold",
            )
        else:
            say(self.desk, "That was worn or off, but driven: the complaint is still there.", "bold")

    def _given_up(self) -> bool:
        unsolved = self.attempt.exercise.cures.prices.unsolved
        currency = self.attempt.exercise.workshop.currency
        say(self.desk, f"Handing it on costs about {money(unsolved, currency)}.")
        return self._agreed("[Enter] hand it on [0] back >")
