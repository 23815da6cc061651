"""A practice car through the real command on a pseudo-terminal: left, killed, gone on with, and compared."""

from __future__ import annotations

import json
import re
import signal
import stat
import subprocess
import sys
from pathlib import Path

from diagnose.library.shelf import load
from diagnose.model.story import Workshop
from diagnose.practice.exercise import draw_exercise
from diagnose.screen.practice import cause_words
from tests.terminal.test_walk_terminal import Terminal

NEXT = "h help >"


def test_a_car_from_the_drivers_words_to_the_comparison(
    environ: dict[str, str], started: list[Terminal]
) -> None:
    terminal = Terminal(environ, "practice", "front-clunk-over-bumps", "--level", "1", "--seed", "7")
    started.append(terminal)
    assert terminal.prompt().endswith(NEXT)
    shown = terminal.text()
    assert "level 1: one fault, among the first suspects" in shown
    assert "An invented car (demo)" in shown
    # By its place in the list, and back again.
    assert "0 to go back >" in terminal.type("2")
    assert terminal.type("0").endswith(NEXT)
    # By its words: the caution stands before the step.
    asked = terminal.type("shake the front drop links by hand")
    if "to go back" in asked:
        asked = terminal.type("1")
    assert asked == "[Enter] do it [0] back >"
    assert "Caution:" in terminal.text()
    assert terminal.type("").endswith(NEXT)
    assert "1 check · on a lift" in terminal.text()
    assert terminal.type("zzz qqq").endswith(NEXT)
    assert "No check here sounds like 'zzz qqq'" in terminal.text()
    # Stopped, and killed without a word: it goes on with what was seen.
    terminal.send("q")
    assert terminal.end() == 0
    terminal = Terminal(environ, "practice")
    started.append(terminal)
    assert "go on with car 1" in terminal.prompt()
    assert terminal.type("").endswith(NEXT)
    terminal.child.kill(signal.SIGKILL)
    terminal.child.wait()
    terminal = Terminal(environ, "practice")
    started.append(terminal)
    terminal.type("")
    assert "1 check · on a lift" in terminal.text()
    assert terminal.type("k").endswith(NEXT)
    assert "drop link" in terminal.shown_since("h help > k")
    # A sound part first, then the true one: the same seed draws the same car here.
    one = draw_exercise(load(), ["front-clunk-over-bumps"], 1, 7, Workshop())
    suspects = one.car.car.suspects()
    sound = next(
        cure
        for cure in one.cures.all
        if suspects & set(cure.causes) and not one.car.present & set(cure.causes)
    )
    picked = terminal.type(f"n {cause_words(one, min(suspects & set(sound.causes)))}")
    if "to go back" in picked:
        picked = terminal.type("1")
    assert "put it right and drive" in picked
    assert terminal.type("").endswith(NEXT)
    assert "in vain. Driven: the complaint is still there." in " ".join(terminal.text().split())
    (true,) = one.truth
    picked = terminal.type(f"n {cause_words(one, true)}")
    if "to go back" in picked:
        picked = terminal.type("1")
    assert "put it right and drive" in picked
    assert "another car" in terminal.type("")
    shown = " ".join(terminal.text().split())
    assert "Driven: the complaint is gone." in shown
    assert f"It was: {cause_words(one, true)}" in shown
    assert re.search(r"parts fitted in vain \d \d", shown)
    assert re.search(r"Telling: .* [\d.]+ times the odds\.", shown)
    terminal.send("q")
    assert terminal.end() == 0
    # The record: private, and for programs.
    record = Path(environ["DIAGNOSE_STORE"]).with_name("practice.jsonl")
    assert stat.S_IMODE(record.stat().st_mode) == 0o600
    command = [sys.executable, "-m", "diagnose", "practice", "--record"]
    told = json.loads(subprocess.check_output([*command, "--json"], env=environ))
    assert told["format"] == "handling-diagnose/practice/1"
    (car,) = told["cars"]
    assert (car["number"], car["checks"], car["cured"], car["first"]) == (1, 1, True, False)
    assert told["open"] is None
    page = subprocess.check_output(command, env={**environ, "LC_ALL": "C", "TERM": "dumb"})
    assert page.isascii()
    assert b"Clunk from the front" in page
