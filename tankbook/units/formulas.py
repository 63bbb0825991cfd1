"""Texts that a spreadsheet would run, made harmless.

A text that a spreadsheet would take for a formula gets an apostrophe before it, as OWASP advises
against CSV injection (its page of that name; from memory).
"""

from __future__ import annotations

FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What makes a text a formula at its beginning, the full-width forms included."""


def safe(text: str) -> str:
    """A text on one line that no spreadsheet runs as a formula.

    >>> safe("=1+1"), safe("blue boot")
    ("'=1+1", 'blue boot')
    """
    whole = " ".join(text.splitlines()) if "\n" in text or "\r" in text else text
    return f"'{whole}" if whole.lstrip(" \u00a0").startswith(FORMULA) else whole
