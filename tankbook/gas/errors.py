"""What this room raises."""

from __future__ import annotations


class GasError(ValueError):
    """A gas that cannot be, or a question the gas model cannot answer.

    `args[0]` says in one line what is wrong; `mend` says what to do about it (may be empty).
    """

    def __init__(self, message: str, mend: str = "") -> None:
        super().__init__(message)
        self.mend = mend


class RangeError(GasError):
    """A state outside the range of the equation of state. Names the limit and the value."""
