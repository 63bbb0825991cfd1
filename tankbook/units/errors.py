"""The one error this room raises, and the quoting its messages share."""

from __future__ import annotations

LONGEST_QUOTE = 40


class UnitError(ValueError):
    """A text or a number that is not the quantity asked for.

    `args[0]` says in one line what is wrong; `mend` says what to write instead (may be empty).
    """

    def __init__(self, message: str, mend: str = "") -> None:
        super().__init__(message)
        self.mend = mend


def quoted(text: str) -> str:
    """`text` in quotes, on one line, cut to `LONGEST_QUOTE` characters.

    Hostile bytes (controls, lone surrogates, right-to-left marks) come out escaped.
    """
    shown = text if text.isprintable() else ascii(text)[1:-1]
    return f"'{shown if len(shown) <= LONGEST_QUOTE else shown[: LONGEST_QUOTE - 3] + '...'}'"


def listed(words: list[str], last: str = "or") -> str:
    """`psi, bar or kPa`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
