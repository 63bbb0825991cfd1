"""What this room raises."""

from __future__ import annotations


class PlanError(ValueError):
    """A question about filling that cannot be answered as asked.

    `args[0]` says in one line what is wrong; `mend` says what to do about it.
    """

    def __init__(self, message: str, mend: str) -> None:
        super().__init__(message)
        self.mend = mend
