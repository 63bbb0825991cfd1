"""What the acts at the counter share: references, the owner told, notes."""

from __future__ import annotations

import datetime as dt

from tankbook.acts.common import line_reasons
from tankbook.records.entries import Told
from tankbook.units import quoted


def reference_reasons(option: str, text: str) -> list[str]:
    """Why a text is no reference: it is missing, or reads like a person's name."""
    reasons = line_reasons(**{option: text})
    if not reasons and " " in text.strip() and not any(c.isdigit() for c in text):
        reasons.append(
            f"--{option} {quoted(text)} reads like a name: give a reference, and write the name "
            "beside it in contacts.csv"
        )
    return reasons


def told(how: str, by: str, on: dt.date) -> Told | None:
    """That the owner was told, and how; None where nobody has told them."""
    return Told(on=on, by=by, how=how) if how else None


def added_note(note: str | None, more: str) -> str:
    """A note with something added, so that what was noted before stays readable."""
    return f"{note}; {more}" if note else more
