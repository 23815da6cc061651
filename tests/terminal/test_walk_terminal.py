"""Whole jobs through the real command, typed on a pseudo-terminal of 80 columns and 24 lines, and killed.

The screen is read with a terminal emulator; what to type is taken from the job itself, so that other
figures in the trees need no other test.
"""

from __future__ import annotations

import io
import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pexpect
import pyte
import pytest
from rich.console import Console, RenderableType

import diagnose
from diagnose.choice.outcomes import Spot
from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.measure import likely_answer
from diagnose.model.story import Seen, Workshop
from diagnose.screen.choosing import PAGE
from diagnose.screen.desk import Look
from diagnose.screen.pages import places_of, short_places
from diagnose.screen.walk import walk
from tests.shipped import LIBRARY

ROOT = Path(diagnose.__file__).parents[1]

#: Colours of ECMA-48 "select graphic rendition": 30 to 49 and 90 to 107, alone or among others.
COLOUR = re.compile(rb"\x1b\[(?:[0-9;]*;)?(?:3[0-9]|4[0-9]|9[0-7]|10[0-7])(?:;[0-9;]*)?m")

#: What every question of the walk is asked behind.
ANSWER = "answer >"


@pytest.fixture
def environ(tmp_path: Path) -> dict[str, str]:
    """A plain terminal with Unicode and colour, and a store of its own."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("LC_", "PYTHON")) and k != "NO_COLOR"}
    return {
        **kept,
        "PYTHONPATH": str(ROOT),
        "DIAGNOSE_STORE": str(tmp_path / "jobs.sqlite"),
        "TERM": "xterm-256color",
        "LC_ALL": "C.UTF-8",
        "LINES": "24",
        "COLUMNS": "80",
    }


class Terminal:
    """The command on a terminal. `wide` sees the same bytes with room beyond the last column.

    command: another one, such as a shell, in its place.
    """

    def __init__(
        self,
        environ: dict[str, str],
        *arguments: str,
        columns: int = 80,
        command: Sequence[str] = (sys.executable, "-m", "diagnose"),
    ) -> None:
        first, *rest = *command, *arguments
        self.child = pexpect.spawn(first, rest, env=environ, dimensions=(24, columns), timeout=30)
        # The waits that pexpect puts in for programs that are not ready: `prompt` waits for ours.
        self.child.delaybeforesend = None
        self.child.delayafterclose = self.child.delayafterterminate = 0.02
        self.child.ptyproc.delayafterclose = self.child.ptyproc.delayafterterminate = 0.02
        self.dumb = environ.get("TERM") == "dumb"
        self.raw = b""
        self.screen = pyte.HistoryScreen(columns, 24, history=20_000)
        self.wide = pyte.HistoryScreen(columns + 120, 24, history=20_000)
        self.streams = [pyte.ByteStream(self.screen), pyte.ByteStream(self.wide)]
        self._mark = 0

    def read(self, until: Callable[[], bool], seconds: float = 30.0) -> None:
        """Take in output until it is so."""
        end = time.monotonic() + seconds
        while not until():
            try:
                data = self.child.read_nonblocking(65_536, timeout=0.02)
            except pexpect.TIMEOUT:
                data = b""
            except pexpect.EOF:
                if until():
                    return
                raise AssertionError(f"the program has ended:\n{self.text()}") from None
            if data:
                self.raw += data
                for stream in self.streams:
                    stream.feed(data)
                for _ in range(data.count(b"\x1b[6n")):
                    # The program asks where the cursor is, as it does of any terminal.
                    at = self.screen.cursor
                    self.child.send(f"\x1b[{at.y + 1};{at.x + 1}R")
            assert time.monotonic() < end, f"waited too long:\n{self.text()}"

    def at_prompt(self) -> bool:
        """True once a prompt has come after what was typed last, and the cursor stands behind it."""
        fresh = self.raw[self._mark :]
        if not self.dumb and b"\x1b[?2004h" not in fresh:  # bracketed paste: a prompt has begun
            return False
        line = self.screen.display[self.screen.cursor.y]
        return bool(fresh) and line[: self.screen.cursor.x].endswith("> ")

    def prompt(self) -> str:
        """Wait for the next prompt and return its line."""
        self.read(self.at_prompt)
        return self.screen.display[self.screen.cursor.y].rstrip()

    def type(self, text: str) -> str:
        """Answer the prompt; returns the next one."""
        self.send(text)
        return self.prompt()

    def send(self, text: str) -> None:
        """Answer the prompt, whatever comes then."""
        self.prompt()
        self._mark = len(self.raw)
        self.child.send(text + "\r")

    def end(self) -> int:
        """Wait for the end of the program; its exit code."""
        end = time.monotonic() + 30
        while True:
            try:
                data = self.child.read_nonblocking(65_536, timeout=1)
            except pexpect.TIMEOUT:
                assert time.monotonic() < end, f"it does not end:\n{self.text()}"
                continue
            except pexpect.EOF:
                break
            self.raw += data
            for stream in self.streams:
                stream.feed(data)
        self.child.close()
        assert self.child.exitstatus is not None, self.child.signalstatus
        return int(self.child.exitstatus)

    def lines(self, wide: bool = False) -> list[str]:
        """Everything shown so far, scrolled away or not."""
        screen = self.wide if wide else self.screen
        above = ["".join(line[x].data for x in range(screen.columns)).rstrip() for line in screen.history.top]
        return above + [line.rstrip() for line in screen.display]

    def text(self) -> str:
        """The same as one text."""
        return "\n".join(self.lines()).rstrip()

    def shown_since(self, text: str) -> str:
        """What has been shown behind the last place where this stands."""
        return self.text().rpartition(text)[2]


@pytest.fixture
def begin(environ: dict[str, str]) -> Iterator[Callable[..., Terminal]]:
    """Starts the command; afterwards no line may have passed column 80, and no traceback been shown."""
    started: list[Terminal] = []

    def start(*arguments: str, **more: str) -> Terminal:
        started.append(Terminal({**environ, **more}, *arguments))
        return started[-1]

    yield start
    for terminal in started:
        terminal.child.close(force=True)
        assert "Traceback" not in terminal.text()
        too_wide = [line for line in terminal.lines(wide=True) if len(line) > 80]
        assert too_wide == []


def job_of(environ: dict[str, str], job: str = "job-1") -> Session:
    """The job as it is in the store."""
    with Journal.open(Path(environ["DIAGNOSE_STORE"])) as journal:
        return Session(LIBRARY, journal, job)


def typed(spots: Sequence[Spot], answers: Sequence[Seen]) -> str:
    """What to type for these answers, as the page numbers them."""
    if len(spots) == 1:
        return typed_alone(answers[0])
    grouped = places_of(spots)
    bits = []
    for number, (name, places) in enumerate(grouped.items(), start=1):
        finding = LIBRARY.findings[name]
        short = {place: s for s, place in short_places(places).items()}
        for seen in answers:
            if seen.finding != name or seen.answer in ("no", finding.none):
                continue
            value = ""
            if seen.answer == "cannot-tell":
                value = "~"
            elif finding.reading is not None:
                level = finding.levels.index(seen.answer)
                value = f"={finding.reading.limits[level].value:g}"
            elif len(finding.levels) > 1:
                value = f"={chr(97 + finding.levels.index(seen.answer))}"
            bits.append(f"{number}{short.get(seen.position, '')}{value}")
    return ", ".join(bits) or "0"


def typed_alone(seen: Seen) -> str:
    """What to type where a check has one finding at one place."""
    finding = LIBRARY.findings[seen.finding]
    if seen.answer == "cannot-tell" or (finding.reading and seen.answer == finding.none):
        return "c"
    if seen.answer in ("no", finding.none):
        return "n"
    level = finding.levels.index(seen.answer) if seen.answer in finding.levels else 0
    if finding.reading is not None:
        return f"{finding.reading.limits[level].value:g}"
    return str(level + 1) if len(finding.levels) > 1 else "y"


def play(terminal: Terminal, environ: dict[str, str], fault: str, position: str, most: int = 40) -> str:
    """Answer as a car with that one fault would until the conclusion stands; the prompt of the conclusion."""
    prompt = terminal.prompt()
    for _ in range(most):
        if "record and close" in prompt:
            return prompt
        if ANSWER in prompt:
            session = job_of(environ)
            check = session.check_now()
            assert check is not None
            car = session.verdict.car
            truth = {car.network.instances(fault, position)[0]}
            spots = session.spots(check)
            answers = [likely_answer(car, spot.finding, spot.position, truth) for spot in spots]
            prompt = terminal.type(typed(spots, answers))
            continue
        known = {"such as 187000": "187000 km, 12 years", "[y] yes [n] no": "n"}
        reply = next((text for part, text in known.items() if part in prompt), "")
        prompt = terminal.type(reply)
    raise AssertionError(f"no conclusion after {most} answers:\n{terminal.text()}")


def to_the_first_check(terminal: Terminal) -> str:
    """Past the questions about the car; the prompt of the first check."""
    prompt = terminal.prompt()
    while ANSWER not in prompt:
        prompt = terminal.type("")
    return prompt


def heading(text: str) -> str:
    """The last check proposed in a text."""
    return re.findall(r"^(?:Next: |Ask the driver: ).*$", text, re.MULTILINE)[-1]


# Whole jobs ---------------------------------------------------------------------------------------------


def test_from_the_drivers_words_to_a_recorded_conclusion(
    begin: Callable[..., Terminal], environ: dict[str, str]
) -> None:
    terminal = begin()
    assert terminal.prompt() == ">"
    assert "What does the car do?" in terminal.text()
    terminal.send("it wanders all over the road")
    assert play(terminal, environ, "inner-tie-rod-joint-play", "front-left").startswith(
        "[Enter] record and close"
    )
    assert "Wanders on a straight road: needs small corrections" in terminal.text().replace("\n", " ")
    assert "187 000 km" in terminal.text()
    conclusion = terminal.shown_since("Conclusion")
    for part in ("Put right", "What else could be behind it", "something not listed here", "This advises"):
        assert part in conclusion
    terminal.send("")
    assert terminal.end() == 0
    assert "Recorded as job-1: " in terminal.text()
    session = job_of(environ)
    assert session.state.closed == "diagnosis concluded"
    remedy = LIBRARY.faults["inner-tie-rod-joint-play"].remedy
    assert session.state.concluded is not None
    assert remedy in session.state.concluded
    assert session.verdict.rows[0].id == "inner-tie-rod-joint-play-front-left"


@pytest.mark.slow
def test_a_one_sided_complaint_asks_for_the_side(
    begin: Callable[..., Terminal], environ: dict[str, str]
) -> None:
    terminal = begin("walk", "it", "pulls", "to", "one", "side")
    assert "Which side?" in terminal.prompt()
    assert "Which side?" in terminal.type("up")
    assert "type l, r, or c if it was not told" in terminal.text()
    terminal.type("l")
    assert job_of(environ).story.complaints == {"pull-to-one-side": "left"}
    told = begin("walk", "pulls to the right")
    told.prompt()
    assert job_of(environ, "job-2").story.complaints == {"pull-to-one-side": "right"}


@pytest.mark.slow
def test_words_that_mean_nothing_offer_the_complaints(begin: Callable[..., Terminal]) -> None:
    terminal = begin()
    areas = list(LIBRARY.by_area().values())
    prompt = f"1-{len(areas)}, or 0 to say it in words >"
    assert terminal.type("purple elephants") == prompt
    assert "None of the complaints here sounds like 'purple elephants'." in terminal.text()
    assert terminal.type("99") == prompt
    assert "'99' is not in the list." in terminal.text()
    assert terminal.type("0") == ">"
    terminal.send("q")
    assert terminal.end() == 0


@pytest.mark.slow
def test_a_complaint_is_found_by_its_area_page_by_page(
    begin: Callable[..., Terminal], environ: dict[str, str]
) -> None:
    areas = list(LIBRARY.by_area().values())
    number, wanted = max(enumerate(areas, start=1), key=lambda area: len(area[1]))
    assert len(wanted) > PAGE, "no area has a second page"
    terminal = begin()
    terminal.type("?")
    assert terminal.type(str(number)) == f"1-{PAGE}, m for more, or 0 to say it in words >"
    assert f"{PAGE} {wanted[PAGE - 1].name}" in terminal.text()
    assert f"{PAGE + 1} {wanted[PAGE].name}" not in terminal.text()
    terminal.type("m")
    assert f"{PAGE + 1} {wanted[PAGE].name}" in terminal.text()
    terminal.type("m")  # past the end it begins again
    unsided = next(n for n, c in enumerate(wanted, start=1) if not c.sided)
    terminal.type(str(unsided))
    assert list(job_of(environ).story.complaints) == [wanted[unsided - 1].id]


# Commands -----------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_undo_takes_back_the_last_answer(begin: Callable[..., Terminal], environ: dict[str, str]) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    first = heading(terminal.text())
    before = job_of(environ)
    terminal.type("c")
    assert heading(terminal.text()) != first
    terminal.type("u")
    assert "Taken back: 1 step." in terminal.text()
    assert heading(terminal.text()) == first
    after = job_of(environ)
    assert after.state.answers == before.state.answers == ()
    assert list(after.verdict.belief.present) == list(before.verdict.belief.present)
    terminal.type("undo x")
    assert "'x' is not a number of steps: u 2 takes back two" in terminal.text()


@pytest.mark.slow
def test_why_others_ranking_and_help_ask_again_and_change_nothing(
    begin: Callable[..., Terminal], environ: dict[str, str]
) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    steps = job_of(environ).state.steps
    for command, part in (
        ("w", "of 100 times"),
        ("?", "of 100 times"),
        ("w 1", "Before any answer: "),
        ("w 99999", "the ranking goes to "),
        ("r", "of 100 such cars"),
        ("r minute", "per minute of looking"),
        ("r money", "per money of cure"),
        ("h", "take back the last step"),
        ("yes and no", "is not understood" if "numbers of what" in terminal.text() else "is not an answer"),
    ):
        seen = len(terminal.lines())
        assert ANSWER in terminal.type(command)
        assert part in "\n".join(terminal.lines()[seen - 24 :]), command
    assert "number, or words of any check" in terminal.type("o")
    assert ANSWER in terminal.type("")
    assert job_of(environ).state.steps == steps


@pytest.mark.slow
def test_another_check_can_be_chosen(begin: Callable[..., Terminal], environ: dict[str, str]) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    terminal.type("o read and set all four tyre pressures")
    assert heading(terminal.text()) == "Next: read and set all four tyre pressures"
    session = job_of(environ)
    assert session.state.current is not None
    terminal.type("w")
    terminal.type("s")
    assert job_of(environ).state.skipped == (session.state.current,)
    assert heading(terminal.text()) != "Next: read and set all four tyre pressures"
    terminal.type("o xqzzt")
    assert "no check sounds like 'xqzzt'" in terminal.text()


@pytest.mark.slow
def test_without_a_lift_the_plan_is_made_anew(
    begin: Callable[..., Terminal], environ: dict[str, str]
) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    check = next(
        c for c in job_of(environ).verdict.car.checks.values() if c.set_up == "lift-hanging" and c.needs
    )
    terminal.type(f"o {check.name}")
    assert heading(terminal.text()).startswith(f"Next: {check.name}"[:78])
    assert terminal.type("x").startswith("what is missing? 1-")
    page = terminal.shown_since("> x")
    assert "1 just this check" in page
    assert f"2 no: {LIBRARY.set_ups['lift-hanging'].name}" in page
    assert f"3 no: {LIBRARY.tools[check.needs[0]]}"[:70] in page
    assert ANSWER in terminal.type("2")
    session = job_of(environ)
    assert session.state.cannot == ("lift-hanging",)
    assert session.set_up != "lift-hanging"
    now = session.check_now()
    assert now is not None
    assert now.set_up != "lift-hanging"
    assert all(LIBRARY.checks[p.check].set_up != "lift-hanging" for p in session.verdict.proposals)
    assert now.name.removeprefix("ask ")[:40] in heading(terminal.text())


@pytest.mark.slow
def test_a_note_and_a_second_complaint(begin: Callable[..., Terminal], environ: dict[str, str]) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    terminal.type("t left front tyre is new")
    assert "Noted." in terminal.text()
    assert "Which side?" in terminal.type("a it also pulls to one side")
    prompt = terminal.type("r")
    while ANSWER not in prompt:
        prompt = terminal.type("")
    session = job_of(environ)
    assert session.state.notes == ("left front tyre is new",)
    assert session.story.complaints == {"wander": None, "pull-to-one-side": "right"}
    assert "Wanders on a straight road and Pulls" in terminal.text()


@pytest.mark.slow
def test_facts_can_be_changed_on_the_way(begin: Callable[..., Terminal], environ: dict[str, str]) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    assert "which to change" in terminal.type("f")
    assert "such as 187000 km" in terminal.type("distance")
    assert "such as 187000 km" in terminal.type("far away")
    assert "'far away' is not a distance" in terminal.text()
    terminal.type("90000 km")
    assert job_of(environ).state.vehicle.km == 90_000.0
    terminal.type("f")
    terminal.type("renewed")
    part = LIBRARY.parts["outer-tie-rod-end"]
    terminal.type(part.name)
    assert "front left" in terminal.type("rear")
    assert "'rear': type l, r, or Enter" in terminal.text()
    assert "how long ago" in terminal.type("l")
    assert "how long ago" in terminal.type("lately")
    assert "'lately' is not an age" in terminal.text()
    assert ANSWER in terminal.type("2 years")
    (renewed,) = job_of(environ).state.vehicle.renewed
    assert (renewed.part, renewed.position, renewed.years_ago) == (part.id, "front-left", 2.0)
    terminal.type("f")
    assert "distance: 90000 km" in terminal.text()
    assert "renewed: outer tie rod end, front left, 2 years ago" in terminal.text()


# Not fit to drive ---------------------------------------------------------------------------------------


def test_a_car_that_is_not_fit_to_drive_interrupts_once(
    begin: Callable[..., Terminal], environ: dict[str, str]
) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    session = job_of(environ)
    finding = next(
        f
        for f in LIBRARY.findings.values()
        if f.unfit
        and f.levels == ("yes",)
        and f.check in session.verdict.car.checks
        and len(session.spots(LIBRARY.checks[f.check])) > 1
        and any(spot.finding == f.id for spot in session.spots(LIBRARY.checks[f.check]))
    )
    check = LIBRARY.checks[finding.check]
    terminal.type(f"o {check.id}")
    spots = job_of(environ).spots(check)
    number = list(places_of(spots)).index(finding.id) + 1
    prompt = terminal.type(str(number))
    assert prompt.startswith("[Enter] the driver has been told")
    page = " ".join(terminal.shown_since("FIT TO DRIVE").split())
    assert " ".join(finding.unfit.split()) in page
    assert "licensed workshop" in page
    for typed in ("2", "e", "nonsense"):
        prompt = terminal.type(typed)
        assert f"{typed!r} is not kept" in terminal.text()
        assert prompt.startswith("[Enter] the driver has been told")
        assert finding.unfit not in job_of(environ).state.unfit
    terminal.type("")
    assert finding.unfit in job_of(environ).state.unfit
    terminal.send("q")
    assert terminal.end() == 0
    again = begin("resume")
    again.prompt()
    assert "[Enter] the driver" not in again.text()


@pytest.mark.slow
def test_the_interruption_itself_can_be_undone(
    begin: Callable[..., Terminal], environ: dict[str, str]
) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    check = LIBRARY.checks["rock-the-steering-rack"]
    terminal.type(f"o {check.id}")
    terminal.type("1")
    while "[Enter] the driver" not in terminal.screen.display[terminal.screen.cursor.y]:
        # Not all that moves makes a car unfit; a bolt or joint about to part does.
        terminal.type("u")
        unfit = [f for f in check.findings if LIBRARY.findings[f].unfit]
        if not unfit:
            pytest.skip("no finding of this check makes the car unfit any more")
        number = list(places_of(job_of(environ).spots(check))).index(unfit[0]) + 1
        terminal.type(str(number))
    terminal.type("undo")
    assert job_of(environ).state.answers == ()


# Stopping and going on ----------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("key", ["\x03", "\x04"], ids=["Ctrl-C", "Ctrl-D"])
def test_ctrl_c_and_ctrl_d_keep_the_job(
    begin: Callable[..., Terminal], environ: dict[str, str], key: str
) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    terminal.type("c")
    terminal.child.send(key)
    assert terminal.end() == 0
    assert "Kept as job-1. `diagnose` goes on with it." in terminal.text()
    kept = job_of(environ)
    assert kept.state.closed is None
    assert len(kept.state.done) == 1
    again = begin()
    assert again.prompt().startswith("[Enter] go on with the first")
    assert "Jobs still open:" in again.text()
    again.type("")
    assert heading(again.text()) == heading(terminal.text())
    again.send("q")
    assert again.end() == 0


@pytest.mark.slow
@pytest.mark.parametrize("key", ["\x03", "\x04"], ids=["Ctrl-C", "Ctrl-D"])
def test_stopping_before_a_complaint_leaves_no_job(
    begin: Callable[..., Terminal], environ: dict[str, str], key: str
) -> None:
    terminal = begin()
    terminal.prompt()
    terminal.child.send(key)
    assert terminal.end() == 0
    with Journal.open(Path(environ["DIAGNOSE_STORE"])) as journal:
        assert journal.jobs() == []


@pytest.mark.slow
def test_a_conclusion_can_be_left_open(begin: Callable[..., Terminal], environ: dict[str, str]) -> None:
    terminal = begin("walk", "wanders")
    to_the_first_check(terminal)
    assert "record and close" in terminal.type("e")
    terminal.type("maybe")
    assert "'maybe': press Enter, or type o, u or q." in terminal.text()
    assert "number, or words" in terminal.type("others")
    assert "record and close" in terminal.type("")
    terminal.send("q")
    assert terminal.end() == 0
    assert job_of(environ).state.closed is None


# Other terminals ----------------------------------------------------------------------------------------


@pytest.mark.slow
def test_with_colour_and_without(begin: Callable[..., Terminal], environ: dict[str, str]) -> None:
    for more, coloured in (({}, True), ({"NO_COLOR": "1"}, False)):
        terminal = begin("walk", "wanders", **more)
        to_the_first_check(terminal)
        # The caution of a check on the lift is yellow.
        check = next(c for c in LIBRARY.checks.values() if c.set_up == "lift-hanging" and c.cautions)
        terminal.type(f"o {check.id}")
        assert "Caution: " in terminal.text()
        assert bool(COLOUR.search(terminal.raw)) == coloured
        assert "to blame" in terminal.text()


ASCII = {"TERM": "dumb", "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}


@pytest.mark.slow
@pytest.mark.parametrize("more", [ASCII, {"TERM": "dumb"}], ids=["ASCII", "dumb"])
def test_a_terminal_without_unicode_shows_pure_ascii(
    begin: Callable[..., Terminal], more: dict[str, str]
) -> None:
    terminal = begin("walk", "wanders", **more)
    to_the_first_check(terminal)
    assert "record and close" in terminal.type("e")
    terminal.send("")
    assert terminal.end() == 0
    assert "Recorded as job-1" in terminal.text()
    assert terminal.raw.isascii()
    assert not COLOUR.search(terminal.raw)


def through_a_pipe(environ: dict[str, str], lines: Sequence[str], *arguments: str) -> tuple[int, str]:
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", *arguments],
        input="".join(line + "\n" for line in lines),
        capture_output=True,
        env=environ,
        text=True,
        encoding="utf-8",
        timeout=60,
    )
    assert done.stderr == ""
    return done.returncode, done.stdout


@pytest.mark.slow
def test_through_a_pipe_it_reads_like_a_log(
    environ: dict[str, str], reference: tuple[list[tuple[str, str]], list[str]]
) -> None:
    questions, replies = reference
    code, out = through_a_pipe(environ, ["wanders", *replies, "q"])
    assert code == 0
    assert "\x1b" not in out
    assert max(map(len, out.splitlines())) <= 80
    assert "> wanders" in out
    assert out.count("\nKept: ") == sum(ANSWER in prompt for prompt, _ in questions[: len(replies)])
    assert "Kept as job-1." in out
    code, out = through_a_pipe({**environ, **ASCII}, ["q"], "resume")
    assert code == 0
    assert out.isascii()


@pytest.mark.slow
def test_a_pipe_that_ends_keeps_the_job(environ: dict[str, str]) -> None:
    code, out = through_a_pipe(environ, ["wanders", ""])
    assert code == 0
    assert out.endswith("Kept as job-1. `diagnose` goes on with it.\n")


# Killed at any instant ----------------------------------------------------------------------------------


class _Reference:
    """A desk that answers by itself and writes down each question: its prompt and the page before it."""

    def __init__(self, answers: int) -> None:
        self.left = answers
        self.questions: list[tuple[str, str]] = []
        self.replies: list[str] = []
        self._out = io.StringIO()
        self._console = Console(
            file=self._out, width=80, highlight=False, emoji=False, markup=False, no_color=True
        )

    @property
    def look(self) -> Look:
        return Look(True, 80)

    def show(self, page: RenderableType) -> None:
        self._console.print(page)

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:
        page = self._out.getvalue()
        self._out.seek(0)
        self._out.truncate()
        self.questions.append((prompt, page))
        if not self.left or "record and close" in prompt:
            raise EOFError
        self.left -= 1
        known = {ANSWER: "0", "such as 187000": "187000 km, 12 years", "[y] yes [n] no,": "n"}
        self.replies.append(next((reply for part, reply in known.items() if part in prompt), ""))
        return self.replies[-1]


@pytest.fixture(scope="module")
def reference(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[tuple[str, str]], list[str]]:
    """The questions of a walk in which nothing is ever found, undisturbed, and what was typed at each.

    Every reply is one step of the job, so that after n replies question n must be asked.
    """
    heard = e.ComplaintHeard.from_dict(
        {"event": "complaint-heard", "complaint": "wander", "words": "wanders"}
    )
    desk = _Reference(answers=8)
    with Journal.open(tmp_path_factory.mktemp("reference") / "jobs.sqlite") as journal:
        session = Session.start(LIBRARY, journal, "wanders", Workshop(), [[heard]])
        first = session.state.steps
        with pytest.raises(EOFError):
            walk(desk, session)
        assert session.state.steps == first + len(desk.replies)
    return desk.questions, desk.replies


@pytest.mark.parametrize("rounds", [4, pytest.param(150, marks=pytest.mark.long)])
def test_killed_at_any_instant_it_goes_on_at_the_same_question(
    environ: dict[str, str], reference: tuple[list[tuple[str, str]], list[str]], rounds: int
) -> None:
    questions, replies = reference
    chance = random.Random(20260611)
    command = [sys.executable, "-m", "diagnose"]
    script = "".join(line + "\n" for line in ["wanders", *replies]).encode()
    folder = Path(environ["DIAGNOSE_STORE"]).parent
    answered = [number for number, (prompt, _) in enumerate(questions) if ANSWER in prompt]
    whole = sum(page.count("\n") for _, page in questions)
    mid_walk = 0
    for round_ in range(rounds):
        mine = {**environ, "DIAGNOSE_STORE": str(folder / f"{round_}.sqlite")}
        process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=mine
        )
        with process:
            assert process.stdin is not None and process.stdout is not None and process.stderr is not None
            process.stdin.write(script)
            process.stdin.flush()
            # So many lines into what it shows, and a moment later: as fast or slow as the machine is.
            shown = [process.stdout.readline() for _ in range(chance.randrange(whole))]
            time.sleep(chance.uniform(0.0, 0.12))
            process.send_signal(signal.SIGKILL)
            told = b"".join([*shown, process.stdout.read()]).decode("utf-8", "replace")
            assert process.stderr.read() == b""
        # A line without its end may have been cut in the middle: it is no acknowledgement.
        lines = [line for line in told.splitlines(keepends=True) if line.endswith("\n")]
        kept = sum(line.startswith("Kept: ") for line in lines)
        with Journal.open(Path(mine["DIAGNOSE_STORE"])) as journal:
            jobs = journal.jobs()
            if not jobs:
                assert kept == 0
                continue
            state = Session(LIBRARY, journal, "job-1").state
        done = state.steps - 1  # the complaint is the first
        # What was acknowledged is there; at most the one act in hand was kept without being acknowledged.
        assert kept <= len(state.done) <= kept + 1
        assert done <= len(replies)
        assert len(state.done) == sum(number < done for number in answered)
        code, out = through_a_pipe(mine, ["q"], "resume")
        assert code == 0
        prompt, page = questions[done]
        resumed, _, rest = out.partition(prompt)
        assert rest.startswith(" q\n"), out
        # Only what belongs to the act before it (the words of the complaint, "Kept:") is not said again.
        assert page.endswith(resumed.lstrip("\n")), (page, resumed)
        assert resumed.strip()
        mid_walk += 0 < kept < len(answered)
    assert mid_walk >= rounds // 6, "hardly any kill fell into the walk: the test shows little"


@pytest.mark.slow
def test_the_store_of_a_killed_walk_lists_the_job_as_open(environ: dict[str, str]) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "walk", "wanders"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=environ,
    )
    with process:
        assert process.stdout is not None
        assert process.stdout.readline()
        while b"?" not in process.stdout.readline():
            pass
        process.kill()
    code, out = through_a_pipe(environ, [], "jobs", "--json")
    assert code == 0
    assert [(row["id"], row["closed"]) for row in json.loads(out)["jobs"]] == [("job-1", None)]


# Figures --------------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_a_frequency_typed_at_its_check(begin: Callable[..., Terminal], environ: dict[str, str]) -> None:
    terminal = begin("walk", "seat-vibration", "--name", "demo car")
    to_the_first_check(terminal)
    terminal.type("o log the shake and reckon its order")
    assert "Enter: not known" in terminal.type("14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h")
    assert "such as 3.9" in terminal.type("205/55 R16")
    terminal.type("")
    assert "Once per wheel turn fits best: 14.9, 12.1 Hz expected." in terminal.text()
    (seen,) = job_of(environ).story.seen
    assert (seen.answer, seen.shares[1]) == ("once per wheel turn", 1.0)
    assert "tyre 205/55 R16, final drive not known" in job_of(environ).state.notes[0]
    terminal.send("q")
    assert terminal.end() == 0


@pytest.mark.slow
def test_a_frequency_on_the_command_line(begin: Callable[..., Terminal]) -> None:
    terminal = begin(
        "shake", "--at", "90:12.1", "--at", "110:14.6", "--at", "130:17.3", "--tyre", "205/55 R16"
    )
    assert terminal.end() == 0
    assert "Once per wheel turn fits best: 12.1, 14.9, 17.6 Hz expected." in terminal.text()
