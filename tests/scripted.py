"""The program without a terminal: a desk at which lines are typed, and a command run in this process."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from rich.console import RenderableType
from rich.text import Text

from diagnose.cli import run
from diagnose.screen.desk import Look

__all__ = ["Script", "Tell", "telling"]

#: Runs a command with these arguments, and `text` on standard input: (exit code, output, errors).
Tell = Callable[..., tuple[int, str, str]]


class Script:
    """A desk at which these lines are typed; then there is no more."""

    look = Look(True, 80)

    def __init__(self, *lines: str | type[BaseException]) -> None:
        self.lines = list(lines)
        self.log: list[str] = []

    def show(self, page: RenderableType) -> None:
        assert isinstance(page, Text)
        self.log.append(" ".join(page.plain.split()))

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:
        assert len(prompt) < 78
        self.log.append(prompt)
        if not self.lines:
            raise EOFError
        line = self.lines.pop(0)
        if isinstance(line, str):
            return line
        raise line


def telling(name: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Tell:
    """Runs `diagnose NAME` on a plain terminal of 80 columns; no traceback may be shown."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERM", "dumb")

    def call(*arguments: str | Path, text: str | bytes = "") -> tuple[int, str, str]:
        data = text if isinstance(text, bytes) else text.encode()
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(data), encoding="utf-8"))
        code = run([*name.split(), *map(str, arguments)])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return call
