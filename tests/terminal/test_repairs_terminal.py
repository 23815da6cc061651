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
    assert "Grade of the parts" in terminal.type("60, 0.8 h")
    assert "one-use" in terminal.type("original")
    assert "not driven >" in terminal.type("y")
    assert terminal.type("y") == "[Enter] look further >"
    assert "Left to blame" in terminal.text()
    assert terminal.type("") == "answer >"
    # Killed there, nothing is lost.
    terminal.child.kill(signal.SIGKILL)
    terminal.child.wait()
    terminal = Terminal(environ, "resume")
    started.append(terminal)
    assert terminal.prompt() == "answer >"
    # A rod end, which obliges to the wheel angles: they are set at once.
    assert "Parts and hours" in terminal.type("g renew-outer-tie-rod-end@front-left")
    assert "Grade of the parts" in terminal.type("0.7 h")
    asked = terminal.type("")
    if "one-use" in asked:
        asked = terminal.type("")
    assert "Wheel angles" in asked
    assert "not driven >" in terminal.type("y")
    assert terminal.type("f") == "[Enter] look further >"
    assert terminal.type("") == "answer >"
    # The dampers: it is gone.
    assert "Parts and hours" in terminal.type("g renew-front-dampers")
    asked = terminal.type("240, 2 h")
    for _ in range(4):
        if "not driven >" not in asked:
            asked = terminal.type("" if "Grade" in asked else "y")
    assert "not driven >" in asked
    terminal.type("n")
    shown = " ".join(terminal.text().split())
    assert "renew both front drop links" in shown
    assert "Not proven: the complaint is still there in" in shown
    # It stays away: that is the proof.
    assert terminal.type("") == "answer >"
    assert "not driven >" in terminal.type("g d")
    terminal.type("n 30 days, 2000 km")
    shown = " ".join(terminal.text().split())
    assert "30 days, 2000 km after" in shown
    assert "Cured for good: in" in shown
    terminal.child.kill(signal.SIGKILL)
    terminal.child.wait()
    terminal = Terminal(environ, "repair")
    started.append(terminal)
    terminal.read(lambda: not terminal.child.isalive())
    shown = " ".join(terminal.text().split())
    assert shown.count(" of 100 ") >= 4
    assert "Cured for good: in" in shown
