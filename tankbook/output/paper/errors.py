"""What will not be printed, in a line for people."""

from __future__ import annotations


class PaperError(ValueError):
    """What is wrong, without a full stop, and in `mend` what to do about it."""

    def __init__(self, text: str, mend: str = "") -> None:
        super().__init__(text)
        self.mend = mend
