"""The walk: from a complaint to a cause, one question at a time."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group
from rich.text import Text

from diagnose.angles.doubts import doubts
from diagnose.angles.evidence import ANSWERED
from diagnose.angles.sheet import Sheets, When
from diagnose.angles.write import sheet_yaml
from diagnose.errors import DiagnoseError, ImpossibleAnswers, InputError, WorkshopError
from diagnose.job import events as e
from diagnose.job.proof import CURED
from diagnose.job.session import Session
from diagnose.job.sheets import effect, read_file
from diagnose.model.check import TALK, Check
from diagnose.model.story import Seen
from diagnose.screen import pages
from diagnose.screen.angle_causes import causes_page
from diagnose.screen.angle_typing import type_sheet
from diagnose.screen.angle_words import doubts_page
from diagnose.screen.angles import shown_for
from diagnose.screen.answers import COMMANDS, WORDS, Command, command, hint, parse, whole
from diagnose.screen.car import ask_car, change_facts
from diagnose.screen.choosing import Stop, say
from diagnose.screen.complaint import ask_complaint
from diagnose.screen.desk import Desk, clean
from diagnose.screen.measured import Measured, Measures
from diagnose.screen.narrow import keys_table
from diagnose.screen.readings import beside_limits
from diagnose.screen.repairing import ask_drive, ask_repair
from diagnose.screen.repairs import repairs_page
from diagnose.screen.workshop import lack_name
from diagnose.units import minutes, plain
from diagnose.words import place_name

__all__ = ["walk"]


#: How a wheel-angle sheet is given at the checks that it answers.
SHEET = "or the whole wheel-angle sheet: sheet FILE, or sheet to type one (sheet after: after the work)"

#: What can be typed beside an answer, on every question about a check.
KEYS = "or: w why, o others, s skip, x cannot, u undo, t note, e end, q stop, h help"


def walk(desk: Desk, session: Session) -> None:
    """Go on with the job until it is concluded. Raises Stop when the user stops; all is kept."""
    try:
        _Walk(desk, session).run()
    except _Done:
        return


class _Walk:
    def __init__(self, desk: Desk, session: Session) -> None:
        self.desk = desk
        self.session = session
        self.library = session.library
        self._shown: str | None = None
        self._measures = Measures()
        #: Rounds after which the drive has been asked for.
        self._asked_drive = 0

    def run(self) -> None:
        if self.session.unknown:
            say(
                self.desk,
                f"These trees do not know: {', '.join(self.session.unknown)}. What was told of it waits.",
                "yellow",
            )
        if self.session.state.closed is not None and self.session.state.rounds:
            self._again()
        while not self.session.story.heard:
            complaint, side, words = ask_complaint(self.desk, self.library)
            self.session.hear(complaint, side, words)
        while True:
            try:
                self._unfit()
                asks = self.session.asks()
                if asks and not self.session.state.answers and not self.session.state.rounds:
                    ask_car(self.desk, self.session, asks[0], self._line)
                    continue
                if self._drive():
                    continue
                check = self.session.check_now()
                if check is not None and self.session.spots(check):
                    self._check(check)
                elif check is not None and self.session.state.current == check.id:
                    say(self.desk, f"{check.name}: nothing is left to answer there.")
                    self.session.do(e.CheckDone(check.id))
                elif self._conclude():
                    return
            except ImpossibleAnswers as error:
                say(self.desk, str(error), "yellow")
                self._command_only()

    def _line(self, prompt: str, words: Sequence[str] = (), /) -> str | None:
        """A line of text; None if it was a command that has been carried out."""
        typed = self.desk.ask(prompt, words).strip()
        asked = command(typed)
        if asked is not None and asked.name in ("undo", "quit", "help", "text"):
            self._command(asked, None)
            return None
        return typed

    # Checks --------------------------------------------------------------------------------------

    def _check(self, check: Check) -> None:
        verdict = self.session.verdict
        proposal = verdict.proposal(check.id)
        look = self.desk.look
        mark = f"{self.session.state.steps}/{check.id}"
        spots = self.session.spots(check)
        if self._shown != mark:
            # Shown once a step: a slip of the pen does not scroll the page away.
            self.desk.show(Text(""))
            self.desk.show(pages.head_page(self.session, look))
            self.desk.show(pages.ranking_page(verdict, look))
            conflict = pages.conflict_page(verdict, look)
            if conflict is not None:
                self.desk.show(conflict)
            close = pages.close_call_line(verdict, look)
            if close is not None:
                self.desk.show(close)
            if verdict.explained:
                say(self.desk, "What was found may explain it: e concludes now, or go on looking.", "bold")
            self.desk.show(pages.check_page(verdict, check, look, proposal))
            if len(spots) > 1 or self.library.findings[spots[0].finding].name:
                self.desk.show(pages.findings_page(self.library, spots, look))
            self._shown = mark
        self.desk.show(Text(f"  {hint(self.library, spots)}", style="dim"))
        example = SHEET if check.id in ANSWERED else self._measures.example(self.session, spots)
        if example:
            self.desk.show(pages.paragraph(example, look, 2, "dim"))
        self.desk.show(Text(f"  {KEYS}", style="dim"))
        typed = self.desk.ask("answer >")
        try:
            word, _, rest = typed.strip().partition(" ")
            if check.id in ANSWERED and word.lower() == "sheet":
                self._sheet(rest.strip())
                return
            if command(typed) is None and self._measures.takes(self.session, spots, typed):
                measured = self._measures.answer(self.session, spots, typed, self._line, self._say)
                if measured is not None:
                    self._keep(check, [measured.seen], measured)
                return
            told = parse(self.library, spots, typed)
        except InputError as error:
            say(self.desk, str(error), "yellow")
            return
        if isinstance(told, Command):
            self._command(told, check)
            return
        self._keep(check, told)

    def _sheet(self, name: str) -> None:
        """A whole wheel-angle sheet, from a file or typed; what is typed is kept reading by reading."""
        known = self.session.sheets
        if name and name != "after":
            reading = read_file(name)
            sheets = reading.sheets
            found = doubts(sheets, reading.sources, shown_for(sheets, self.desk.look))
            if found:
                self.desk.show(doubts_page(found, self.desk.look))
        else:
            when: When = "after" if name else "before"
            sheets = type_sheet(self.desk, known, when, self._keep_sheet)
        if not sheets.both():
            say(self.desk, "No reading: nothing was kept.", "yellow")
            return
        self.session.measure(sheets)
        session = self.session
        moved = effect(self.library, session.verdict.car, session.story, session.sheets)
        self.desk.show(causes_page(self.library, moved, session.verdict, self.desk.look))

    def _keep_sheet(self, sheets: Sheets) -> None:
        self.session.do(e.AnglesRead(sheet_yaml(sheets)))

    def _say(self, text: str) -> None:
        say(self.desk, text, "yellow")

    def _keep(self, check: Check, told: list[Seen], measured: Measured | None = None) -> None:
        try:
            self.session.answer(check, told, measured.note if measured else "")
        except ImpossibleAnswers:
            say(self.desk, "That cannot be together with the other answers; nothing was kept.", "yellow")
            return
        if measured is not None:
            say(self.desk, f"Kept: {measured.line}", "dim")
            return
        seen = [s for s in told if s.answer not in ("no", self.library.findings[s.finding].none)]
        words = []
        for each in seen:
            finding = self.library.findings[each.finding]
            place = place_name(each.position)
            answer = "" if each.answer == "yes" else f" ({each.answer.replace('-', ' ')})"
            if each.reading is not None:
                answer = f" {plain(each.reading)} {finding.reading.unit if finding.reading else ''}{answer}"
            words.append(f"{finding.name}{', ' + place if place else ''}{answer}")
        rest = len(told) - len(seen)
        if rest:
            words.append("the rest not seen" if seen else "none of it seen")
        say(self.desk, f"Kept: {'; '.join(words)}.", "dim")
        for each in told:
            for line in beside_limits(self.library, each):
                say(self.desk, f"  {line}", "dim")

    # Commands ------------------------------------------------------------------------------------

    def _command(self, command: Command, check: Check | None) -> None:
        name, rest = command.name, command.rest
        try:
            if name == "quit":
                raise Stop
            if name == "help":
                self._help(check)
            elif name == "undo":
                self._undo(rest)
            elif name == "text":
                self._note(rest)
            elif name == "why":
                self._why(rest, check)
            elif name == "ranking":
                self._ranking(rest)
            elif name == "others":
                self._others(rest)
            elif name == "add":
                complaint, side, words = ask_complaint(self.desk, self.library, rest)
                answer, by = self._heard()
                self.session.hear(complaint, side, words, answer, by)
            elif name == "facts":
                change_facts(self.desk, self.session, self._line)
            elif name == "repair":
                self._repair(rest)
            elif name == "end":
                self._end()
            elif check is not None and name == "skip":
                self.session.do(e.Skipped(check.id))
            elif check is not None and name == "cannot":
                self._cannot(check)
        except DiagnoseError as error:
            say(self.desk, str(error), "yellow")

    def _command_only(self) -> None:
        asked = command(self.desk.ask("[u] undo [q] stop >"))
        if asked is not None and asked.name in ("undo", "quit"):
            self._command(asked, None)

    def _help(self, check: Check | None) -> None:
        keys = [(f"{letter} {word}", about) for letter, (word, about) in COMMANDS.items()]
        self.desk.show(Group(Text(""), keys_table(keys)))
        if check is not None:
            say(
                self.desk,
                "Several findings: 1 3 = seen, 2l = left (fr: front right, and so on), 2? = probably, "
                "2~ = cannot tell, 2-? = probably not, 3=b = grade, 4=9 mm = reading; "
                "0 = none of it, c = cannot tell any of it.",
            )

    def _heard(self) -> tuple[str, str]:
        """(answer, by whom) of a complaint that is added: it may be there, or be said not to be."""
        say(
            self.desk, "Is it there? On the driver's word, or after your own road test (r before the letter)?"
        )
        while True:
            typed = self.desk.ask("[y] yes [p] probably [m] probably not [n] no, [ry] felt on the road ... >")
            word = typed.strip().lower() or "y"
            by = "road-test" if len(word) > 1 and word[0] == "r" else "driver"
            answer = WORDS.get(word[1:] if by == "road-test" else word)
            if answer is not None:
                return answer, by
            say(self.desk, f"{clean(typed)!r}: type y, p, m or n, with r before it after a road test.")

    def _undo(self, rest: str) -> None:
        steps = whole(rest, 999_999) if rest else 1
        if steps is None:
            raise InputError(f"{clean(rest)!r} is not a number of steps: u 2 takes back two")
        taken = self.session.undo(steps)
        say(
            self.desk,
            f"Taken back: {taken} step{'s' if taken != 1 else ''}."
            if taken
            else "There is nothing to take back.",
        )

    def _note(self, rest: str) -> None:
        text = rest or self.desk.ask("note >").strip()
        if text:
            self.session.do(e.Noted(clean(text)))
            self._shown = f"{self.session.state.steps}/{(self._shown or '/').partition('/')[2]}"
            say(self.desk, "Noted.", "dim")

    def _why(self, rest: str, check: Check | None) -> None:
        verdict = self.session.verdict
        if rest:
            number = whole(rest, len(verdict.rows))
            if number is None:
                raise InputError(
                    f"w 2 tells why cause 2 stands there; the ranking goes to {len(verdict.rows)}"
                )
            self.desk.show(pages.why_cause_page(verdict, verdict.rows[number - 1], self.desk.look))
            return
        proposal = verdict.proposal(check.id) if check else None
        if proposal is None:
            say(self.desk, "This check was your choice; the program would have taken another one first.")
        else:
            self.desk.show(pages.why_check_page(verdict, proposal, self.desk.look))

    def _ranking(self, rest: str) -> None:
        by = next((name for name in pages.RANKINGS if rest and name.startswith(rest.lower()[:3])), "blame")
        self.desk.show(pages.ranking_page(self.session.verdict, self.desk.look, 15, by))

    def _others(self, rest: str) -> None:
        verdict = self.session.verdict
        page, ids = pages.others_page(verdict, self.desk.look)
        names = {check.name: check.id for check in verdict.car.checks.values()}
        names |= {check.id: check.id for check in verdict.car.checks.values()}
        typed = rest
        if not typed:
            self.desk.show(page)
            typed = self.desk.ask("number, or words of any check; Enter: back >", list(names)).strip()
        if not typed:
            return
        number = whole(typed, len(ids))
        if number is not None:
            self.session.turn_to(ids[number - 1])
            return
        from rapidfuzz import fuzz, process

        found = process.extract(typed.lower(), list(names), scorer=fuzz.token_set_ratio, limit=1)
        if not found or found[0][1] < 60:
            raise InputError(f"no check sounds like {clean(typed)!r}")
        self.session.turn_to(names[found[0][0]])

    def _cannot(self, check: Check) -> None:
        # A place to look and what it needs may be one thing, such as a test lane.
        options = list(dict.fromkeys([check.id, check.set_up, *check.needs]))
        names = {
            check.id: "just this check",
            check.set_up: f"no: {self.library.set_ups[check.set_up].name}",
            **{tool: f"no: {self.library.tools[tool]}" for tool in check.needs},
        }
        for number, option in enumerate(options, start=1):
            self.desk.show(pages.paragraph(f"{number} {names[option]}", self.desk.look))
        last = len(options)
        # That a driver is not here to be asked says nothing of the workshop.
        lasting = range(3 if check.set_up == TALK else 2, last + 1)
        letters = "-".join(dict.fromkeys(f"{n}a" for n in (lasting[0], lasting[-1]))) if lasting else ""
        offer = f", {letters} always here" if lasting else ""
        # One question, not two: a line typed ahead can never be taken for an answer to the second.
        typed = self.desk.ask(f"what is missing? 1-{last} for this job only{offer}; Enter: 1 >").strip()
        for_good = typed.lower().endswith("a")
        picked = whole(typed[:-1].strip() if for_good else typed, last) if typed else 1
        if picked is None or (for_good and picked not in lasting):
            choice = f"1-{last}, {letters}" if lasting else f"1-{last}"
            raise InputError(f"{clean(typed)!r} is not in the list ({choice}); nothing was kept")
        what = options[picked - 1]
        self.session.do(e.Cannot(what))
        if for_good:
            # The job has it already, whatever becomes of the profile.
            self._always(what)

    def _always(self, what: str) -> None:
        try:
            self.session.lack_always(what)
        except WorkshopError as error:
            say(self.desk, "It counts for this job; for the workshop it could not be kept:", "yellow")
            self.desk.show(Text(clean(str(error)), style="yellow"))
            return
        told = f"From now on not to be had here: {lack_name(self.library, what)}."
        say(self.desk, f"{told} `diagnose workshop --has {what}` takes it back.")

    def _unfit(self) -> None:
        """Interrupt, once for each reason, when the car is not fit to drive."""
        new = [reason for reason in self.session.verdict.unfit if reason not in self.session.state.unfit]
        if not new:
            return
        self.desk.show(pages.unfit_page(new, self.desk.look))
        while True:
            typed = self.desk.ask("[Enter] the driver has been told [u] undo [q] stop >").strip()
            if typed.lower() in ("", "y", "yes"):
                break
            asked = command(typed)
            if asked is not None and asked.name in ("undo", "quit"):
                self._command(asked, None)
                return
            # An answer typed ahead must neither dismiss the warning nor be dropped in silence.
            say(self.desk, f"{clean(typed)!r} is not kept: press Enter, or type u or q.")
        self.session.do(*[e.Unfit(reason) for reason in new])

    # The end -------------------------------------------------------------------------------------

    def _drive(self) -> bool:
        """After a repair: how it drives. True if something was kept, or the job was closed as cured."""
        rounds = self.session.state.rounds
        if not rounds or rounds[-1].complaints or self._asked_drive == len(rounds):
            return False
        self._asked_drive = len(rounds)
        if not ask_drive(self.desk, self.session, self._line):
            return False
        self._driven()
        return True

    def _driven(self) -> None:
        """What a drive after a repair has come to; the job may be closed as cured."""
        self._asked_drive = len(self.session.state.rounds)
        self.desk.show(repairs_page(self.session, self.desk.look))
        if self.session.verdict.belief.there >= 1.0 - CURED:
            # The next page would push this one off a small screen.
            self._line("[Enter] look further >")
            return
        line = self._line("[Enter] close it as cured [o] look further >")
        if line is not None and not line:
            self.session.do(e.Closed("cured"))
            raise _Done

    def _repair(self, typed: str) -> None:
        """What was done, or how it drives since."""
        rounds, drives = self.session.state.rounds, self._asked_drive
        ask_repair(self.desk, self.session, self._line, typed)
        now = self.session.state.rounds
        if now != rounds and now[-1].complaints:
            self._asked_drive = drives
            self._driven()

    def _again(self) -> None:
        """A job that was closed after a repair: it may have come back since."""
        say(self.desk, f"{self.session.job} was closed: {clean(self.session.state.closed or '')}.", "bold")
        if not ask_drive(self.desk, self.session, self._line):
            return
        self._driven()

    def _end(self) -> None:
        if self._conclude(early=True):
            raise _Done

    def _conclude(self, early: bool = False) -> bool:
        """Show the conclusion; True once it is recorded."""
        verdict = self.session.verdict
        conclusion = verdict.conclusion
        look = self.desk.look
        self.desk.show(Text(""))
        self.desk.show(pages.head_page(self.session, look))
        self.desk.show(pages.ranking_page(verdict, look))
        if verdict.unfit:
            self.desk.show(pages.unfit_page(verdict.unfit, look))
        if not early and verdict.next is None:
            say(self.desk, "No further check saves more than it costs: decide now.", "bold")
        self.desk.show(pages.conclusion_page(verdict, conclusion, look))
        repaired = bool(self.session.state.rounds)
        prompt = "[Enter] record and close [g] repaired [o] look further [u] undo [q] keep >"
        if repaired:
            prompt = "[Enter] record [c] close as cured [g] repaired [o] further [u] undo [q] keep >"
        while True:
            typed = self.desk.ask(prompt).strip()
            if repaired and typed.lower() in ("c", "cured"):
                self.session.do(e.Closed("cured"))
                say(self.desk, f"Closed as cured: {self.session.job}.", "bold")
                return True
            if typed.lower() in ("", "y", "yes"):
                remedies = tuple(dict.fromkeys(step[1].id for step in conclusion.steps))
                self.session.do(e.Concluded(remedies), e.Closed("diagnosis concluded"))
                say(
                    self.desk,
                    f"Recorded as {self.session.job}: {minutes(self.session.spent)} of checks.",
                    "bold",
                )
                return True
            asked = command(typed)
            if asked is None or asked.name in ("skip", "cannot", "end"):
                say(self.desk, f"{clean(typed)!r}: press Enter, or type o, u or q.")
                continue
            before = self.session.state.steps
            self._command(asked, None)
            if self.session.state.steps != before and asked.name != "text":
                return False


class _Done(Exception):
    """The job has been concluded from a command."""
