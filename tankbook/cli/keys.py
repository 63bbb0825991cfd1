"""One key at a time from a terminal; a line at a time where there is none."""

from __future__ import annotations

import sys

import typer

from tankbook.output.screen import safe

END = "q"
"""What is taken for the key where nobody is there to press one."""


def is_terminal() -> bool:
    """Whether a person can be asked."""
    return sys.stdin.isatty()


def say(text: str) -> None:
    """Write to standard error, so that the answer on standard output stays whole."""
    sys.stderr.write(safe(text))
    sys.stderr.flush()


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
