"""A queue of cylinders to be filled, read from a plain text file."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.ordinary import named
from tankbook.ledger.text import BOM, read_text
from tankbook.units.patterns import pattern

_LINE = pattern(r"([^\s,=]+)\s*(?:[=,\s]\s*(.*))?")
_PAIRS = pattern(r"[^\s=]+=\S+(\s+[^\s=]+=\S+)+")
"""Several `14=500` on one line."""


class Queued(Struct, frozen=True):
    """A cylinder of the queue as written: its id, its pressure or an empty text, and where."""

    id: str
    pressure: str
    where: str


def read_queue(path: Path) -> list[Queued]:
    """The cylinders of a queue file: one a line, as `14=500`, `14, 500 psi`, `14 500` or `14`;
    `#` begins a remark.

    Raises:
        LedgerError: the file cannot be read, or a line of it names no cylinder.
    """
    found = []
    for number, line in enumerate(_text(path).splitlines(), 1):
        said = line.partition("#")[0].strip()
        where = f"{path.name}:{number}"
        for part in said.split() if _PAIRS.fullmatch(said) else [said] if said else []:
            match = _LINE.fullmatch(part)
            if match is None:
                raise LedgerError(f"{where}:1", f"{part!r} names no cylinder", "write it as 14=500")
            found.append(Queued(match[1], (match[2] or "").strip(), where))
    return found


def _text(path: Path) -> str:
    data = named(path)
    text, findings = read_text(data, path.name)
    if text is None:
        raise LedgerError(str(findings[0].where), findings[0].text, findings[0].mend)
    return text.removeprefix(BOM).replace("\r\n", "\n")
