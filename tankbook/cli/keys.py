"""One key at a time from a terminal; a line at a time where there is none."""

from __future__ import annotations

import os
import shutil
import sys
from typing import TextIO

import typer

from tankbook.output.page import NO_BREAK, WIDTH, Page
from tankbook.output.screen import safe
from tankbook.units.patterns import pattern

NARROWEST, WIDEST = 40, 120
"""How narrow and how wide a page is, whatever the terminal."""

END = "q"
"""What is taken for the key where nobody is there to press one."""


def is_terminal() -> bool:
    """Whether a person can be asked."""
    return sys.stdin is not None and sys.stdin.isatty()  # None: it is closed


def say(text: str) -> None:
    """Write to standard error, so that the answer on standard output stays whole."""
    sys.stderr.write(safe(text))
    sys.stderr.flush()


def columns(stream: TextIO | None) -> int | None:
    """How wide a page is for a terminal; None for what is none, as a file or a pipe."""
    if stream is None or not stream.isatty():
        return None
    width = shutil.get_terminal_size((0, 24)).columns or _columns_of(stream) or WIDTH
    return min(max(width, NARROWEST), WIDEST)


def _columns_of(stream: TextIO) -> int:
    """How wide the terminal of a stream is, where standard output is another; 0 if unknown."""
    try:
        return os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError):  # it says none, or is no file
        return 0


_PLACE = pattern(r"(?:tankbook: )?[^:;,`]+:[0-9]+:[0-9]+:")
"""A path with line and column, with which a line may begin."""


def fitted(line: str) -> str:
    """A line for standard error as its terminal has room for it, the lines after the first set in;
    into a file or a pipe it goes whole. `path:line:column:` stays whole for whoever jumps there."""
    width = columns(sys.stderr)
    return line if width is None or "\n" in line else _fit(line, width)


def fitted_lines(text: str) -> str:
    """Lines for standard output as `fitted`; into a file or a pipe they go whole, for editors."""
    width = columns(sys.stdout)
    return text if width is None else "\n".join(_fit(each, width) for each in text.split("\n"))


def _fit(line: str, width: int) -> str:
    if len(line) <= width:
        return line
    begins = len(line) - len(line.lstrip(" "))
    if begins:
        said = Page(width - begins).wrap(line[begins:], hang="  ")
        return "\n".join(" " * begins + each for each in said.split("\n"))
    place = _PLACE.match(line) if NO_BREAK not in line else None
    head = place[0] if place else ""
    whole = head.replace(" ", NO_BREAK) + line[len(head) :]
    said = Page(width).wrap(whole, hang="  ")
    return said.replace(NO_BREAK, " ") if place else said


def key(prompt: str, known: str) -> str:
    """One of the letters in `known`; asked again until it is one.

    Raises:
        KeyboardInterrupt: stopped from the keyboard.
    """
    while True:
        say(prompt)
        pressed = _pressed()
        if pressed in known:
            return pressed
        say(f"  one of {', '.join(known)}, please\n")


def _pressed() -> str:
    if not is_terminal():
        line = sys.stdin.readline()
        return line.strip()[:1].casefold() if line else END
    pressed = typer.getchar().casefold()
    say(f"{pressed}\n" if pressed.isprintable() else "\n")
    if pressed == "\x03":
        raise KeyboardInterrupt
    return END if pressed in ("\x04", "\x1a") else pressed


def line(prompt: str) -> str:
    """A line of text, without blanks at its ends."""
    say(prompt)
    return sys.stdin.readline().strip()
