"""A job of three stages through the real command on a pseudo-terminal, killed between its stages."""

from __future__ import annotations

import signal

from tests.terminal.test_walk_terminal import Terminal


def test_three_stages_to_a_proven_cure(environ: dict[str, str], started: list[Terminal]) -> None:
    terminal = Terminal(environ, "walk", "front-clunk-over-bumps")
    started.append(terminal)
    asked = terminal.prompt()
    for typed in ("1", "187000 km, 12 years", "n", "n"):
        if asked == "answer >":
            break
        asked = terminal.type(typed)
    assert asked == "answer >"
    # The front: in vain.
    assert "Enter: nothing >" in terminal.type("g")
    assert "Parts and hours" in terminal.type("renew-front-drop-links")
    assert "not driven >" in terminal.type("60, 0.8 h")
    assert terminal.type("y") == "answer >"
    assert "Left to blame" in terminal.text()
    # Killed there, nothing is lost.
    terminal.child.kill(signal.SIGKILL)
    terminal.child.wait()
    terminal = Terminal(environ, "resume")
    started.append(terminal)
    assert terminal.prompt() == "answer >"
    # A rod end, which obliges to the wheel angles: they are set at once.
    assert "Parts and hours" in terminal.type("g renew-outer-tie-rod-end@front-left")
    assert "Wheel angles" in terminal.type("0.7 h")
    assert "not driven >" in terminal.type("y")
    assert terminal.type("p") == "answer >"
    # The dampers: it is gone, twice felt.
    assert "Parts and hours" in terminal.type("g renew-front-dampers")
    asked = terminal.type("240, 2 h")
    if "Wheel angles" in asked:
        asked = terminal.type("y")
    assert "not driven >" in asked
    terminal.type("n")
    shown = " ".join(terminal.text().split())
    assert "renew both front drop links" in shown
    assert "Cured for good: in" in shown
    terminal.child.kill(signal.SIGKILL)
    terminal.child.wait()
    terminal = Terminal(environ, "repair")
    started.append(terminal)
    terminal.read(lambda: not terminal.child.isalive())
    shown = " ".join(terminal.text().split())
    assert shown.count(" of 100 ") >= 4
    assert "Cured for good: in" in shown
