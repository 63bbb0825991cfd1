"""Finding a ledger, and what is meant by the tail of an id."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from tankbook.ledger.errors import LedgerError

SETTINGS_FILE = "tankbook.yaml"


def find_root(start: Path) -> Path:
    """The ledger that `start` lies in: the nearest folder upward that holds tankbook.yaml.

    Raises:
        LedgerError: there is none.
    """
    for folder in (start, *start.parents):
        if os.path.lexists(folder / SETTINGS_FILE):
            return folder
    text = f"no {SETTINGS_FILE} here or in any folder above"
    raise LedgerError(
        str(start), text, "name the ledger with --ledger DIR, or make one with `tankbook init DIR`"
    )


def named(known: Sequence[str], text: str, serials: Iterable[tuple[str, str]] = ()) -> str:
    """As `resolve`, among ids that are known, and pairs of id and serial.

    Raises:
        LedgerError: no id, or more than one, ends so.
    """
    if text in known:
        return text
    wanted = text.casefold()
    exact = [k for k in known if k.casefold() == wanted]
    number = wanted.lstrip("0") if wanted.isdigit() else ""
    tails = exact or [
        k for k in known if k.casefold().endswith(wanted) or (number and _tail_number(k) == number)
    ]
    tails = tails or [id_ for id_, serial in serials if serial.casefold() == wanted]
    if len(tails) == 1:
        return tails[0]
    if not tails:
        raise LedgerError(
            text, "no cylinder or set of this ledger ends so", "`tankbook list` shows them all"
        )
    shown = ", ".join(sorted(tails)[:8])
    raise LedgerError(text, f"{len(tails)} ids end so: {shown}", "write more of it")


def _tail_number(id_: str) -> str:
    digits = ""
    for character in reversed(id_):
        if not character.isdigit():
            break
        digits = character + digits
    return digits.lstrip("0")
