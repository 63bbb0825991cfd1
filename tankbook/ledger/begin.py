"""Beginning a ledger: its settings, a station to fill in, its folders, and what git must know."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from tankbook.gas.depth import USUAL_LIMIT
from tankbook.ledger import atomic, shipped
from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.files import FORMAT
from tankbook.ledger.names import SETTINGS_FILE, STATION_FILE
from tankbook.ledger.ordinary import ordinary
from tankbook.ledger.splice import scalar
from tankbook.ledger.text import RECORD_LIMIT
from tankbook.records.words import Shore

FOLDERS = ("cylinders", "sets", "checklists", "fills", "rules")

GITATTRIBUTES = """\
# The fill log is appended to by several people: git joins their lines.
fills/*.csv text eol=lf merge=union
"""

GITIGNORE = """\
# Names and telephone numbers stay on this computer.
contacts.csv
# Locks and unfinished writes.
.tankbook/
.*.tmp
"""

EXAMPLES = {
    Shore.PSI: {"ambient": "70 degF", "bank": "5000 psi", "reading": "4400 psi"},
    Shore.BAR: {"ambient": "20 degC", "bank": "345 bar", "reading": "300 bar"},
}


def begin(root: Path, name: str, units: Shore, rules: tuple[str, ...]) -> tuple[str, ...]:
    """Write a new ledger in `root` and return what was written, folders ending in a slash.

    Nothing is written when any of its files is there already, but for what a beginning that was cut
    off left: the settings come last, and without them nothing is a ledger.

    Raises:
        LedgerError: a file of a ledger is there, or the disk refuses.
    """
    files = _files(name, units, rules)
    there = [each for each, text in files.items() if _is_in_way(root / each, text)]
    if there:
        mend = "nothing was written; move it away, or choose another folder"
        raise LedgerError(str(root / there[0]), "it is there already", mend)
    try:
        for folder in FOLDERS:
            atomic.make_folder(root / folder)
        for each, text in sorted(files.items(), key=lambda file: file[0] == SETTINGS_FILE):
            if each == SETTINGS_FILE:
                for place in sorted({(root / file).parent for file in files}):
                    atomic.sync_folder(place)
            atomic.swap(root / each, text.encode())
        atomic.sync_folder(root)
        with suppress(OSError):  # a folder above that may not be read was made by somebody else
            atomic.sync_folder(root.resolve().parent)
    except OSError as error:
        raise from_os(str(error.filename or root), error) from error
    return (*files, *(f"{folder}/" for folder in FOLDERS))


def _is_in_way(file: Path, text: str) -> bool:
    """Whether a file is there, and is not one that was to be written."""
    if not os.path.lexists(file):
        return False
    try:
        return file.name == SETTINGS_FILE or (
            ordinary(file, file.name, RECORD_LIMIT, links=False) != text.encode()
        )
    except (OSError, LedgerError):
        return True


def _files(name: str, units: Shore, rules: tuple[str, ...]) -> dict[str, str]:
    said = {"name": _quoted(name), "format": FORMAT, "units": units, "rules": ", ".join(rules)}
    said["oxygen"] = str(USUAL_LIMIT["psi" if "us-dot" in rules else "bar"])
    settings = shipped.beginning("tankbook").format(**said, **EXAMPLES[units])
    return {
        SETTINGS_FILE: settings + "".join(shipped.beginning(f"asked/{r}") for r in rules),
        STATION_FILE: shipped.beginning("station").format(**EXAMPLES[units]),
        "checklists/before-hand-over.yaml": shipped.beginning("before-hand-over"),
        ".gitattributes": GITATTRIBUTES,
        ".gitignore": GITIGNORE,
    }


def _quoted(name: str) -> str:
    """A name that YAML reads back as written, whatever is in it.

    Raises:
        LedgerError: it is empty or holds a control character.
    """
    if not name.strip() or not name.isprintable():
        raise LedgerError("--name", "a ledger needs a name of one printable line", "name it")
    return scalar(name, in_flow=False, like='"')
