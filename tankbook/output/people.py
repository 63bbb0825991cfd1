"""Whom a reference stands for, where this computer knows it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tankbook.records.log import Contact

Names = Mapping[str, Contact]
"""Contacts by reference; empty where there is no contacts file."""


def whom_to_ring(reference: str, names: Names) -> str:
    """`B-4471 A. Example 555 0100`, as far as it is known."""
    person = data(reference, names)
    return " ".join(filter(None, (told(person), person["phone"])))


def data(reference: str, names: Names) -> dict[str, Any]:
    """A reference as JSON; `name` and `phone` are null where they are not known here."""
    contact = names.get(reference)
    return {
        "reference": reference or None,
        "name": contact.name if contact else None,
        "phone": contact.phone if contact else None,
    }


def told(person: Mapping[str, Any]) -> str:
    """`B-4471 A. Example`, from what `data` gives."""
    return " ".join(filter(None, (person["reference"] or "-", person["name"])))
