"""A window resized in a question, ten lines pasted at once, and Ctrl-C and Ctrl-D at first prompts."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.job import events as e
from diagnose.job.journal import Journal
from tests.terminal.test_walk_terminal import Terminal


def test_a_resize_and_a_paste_lose_and_invent_nothing(
    environ: dict[str, str], started: list[Terminal]
) -> None:
    plain = {key: value for key, value in environ.items() if key not in ("COLUMNS", "LINES")}
    terminal = Terminal(plain, "walk", "front-clunk-over-bumps", "--name", "demo car")
    started.append(terminal)
    terminal.prompt()
    terminal.child.setwinsize(24, 60)
    terminal.type("1")
    terminal.child.setwinsize(24, 80)
    terminal.type("187000 km, 12 years")
    terminal.type("n")
    # Bracketed paste (xterm control sequences): one text, not ten answers.
    terminal.send("\x1b[200~" + "\r".join(["n"] * 10) + "\x1b[201~")
    terminal.read(lambda: "is not an answer" in terminal.text() or "type y, n" in terminal.text())
    terminal.child.send("\x03")
    assert terminal.end() == 0
    with Journal.open(Path(environ["DIAGNOSE_STORE"])) as journal:
        kept = [entry.event for entry in journal.events("job-1")]
    assert not [event for event in kept if isinstance(event, e.Answered)]
    assert len(kept) == 5


@pytest.mark.parametrize("key", ["\x03", "\x04"])
@pytest.mark.parametrize(
    "command", ["walk", "debrief --type", pytest.param("angles --type", marks=pytest.mark.long)]
)
def test_leaving_at_a_prompt_is_no_fault(
    environ: dict[str, str], started: list[Terminal], command: str, key: str
) -> None:
    terminal = Terminal(environ, *command.split())
    started.append(terminal)
    terminal.prompt()
    terminal.child.send(key)
    assert terminal.end() == 0
