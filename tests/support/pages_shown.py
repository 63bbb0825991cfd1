"""What a page of the docs shows: its commands with what they print, and its files."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path


@dataclass
class Step:
    """A command with the lines shown below it, or a file with its text."""

    command: str
    lines: list[str]
    file: str = ""


def steps(page: Path) -> Iterator[Step]:
    """What a page does, in order."""
    text = page.read_text(encoding="utf-8")
    for kind, rest, body in re.findall(r"^```(console|yaml|csv)(.*)\n((?:.*\n)*?)```$", text, re.M):
        if kind != "console":
            if rest.strip():
                yield Step("", body.splitlines(), rest.strip())
            continue
        step: Step | None = None
        for line in body.splitlines():
            if line.startswith("$ "):
                if step:
                    yield step
                step = Step(line.removeprefix("$ "), [])
            elif step:
                step.lines.append(line)
        if step:
            yield step


def matches(lines: list[str], printed: str) -> bool:
    """Whether what was printed is what is shown, where `...` stands for any lines."""
    parts = [re.escape(line.rstrip()) + "\n" if line != "..." else "(?:.*\n)*?" for line in lines]
    return re.fullmatch("".join(parts), re.sub(r"[ \t]+$", "", printed, flags=re.M)) is not None
