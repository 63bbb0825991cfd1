"""By which schema an editor checks a file of a ledger: where it lies, and the comment that says so.

The schemas themselves are made of the records in `output/schema.py`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.names import SETTINGS_FILE, STATION_FILE
from tankbook.records.audited import AUDITED_PATH
from tankbook.records.counter import COUNTER_FILE

SCHEMAS = "schemas"
"""The folder of a ledger that they lie in."""

WRITE_SCHEMAS = f"`tankbook schema --into {SCHEMAS}`"

WHERE: Mapping[str, str] = {
    "settings": SETTINGS_FILE,
    "cylinder": "cylinders/*.yaml",
    "set": "sets/*.yaml",
    "station": STATION_FILE,
    "counter": COUNTER_FILE,
    "checklist": "checklists/*.yaml",
    "rules": "rules/*.yaml",
    "sheet": "sheets/*.yaml",
    "audited": AUDITED_PATH,
}
"""Each kind of file, with where such files lie in a ledger."""


def file_of(name: str) -> str:
    """What the file of a schema is called."""
    return f"{name}.schema.json"


def modeline(name: str, folder: str) -> str:
    """The comment by which editors find the schema of a file, in its first line.

    `folder` is where the schemas lie, from the ledger's folder, with `/`. The form is an open
    convention of YAML editors.
    """
    up = "../" * WHERE[name].count("/") or "./"
    place = folder if re.match(r"/|[a-z]+://", folder) else f"{up}{folder}"
    return f"# yaml-language-server: $schema={place}/{file_of(name)}"


def with_modeline(path: str, text: str, read: Callable[[str], bytes | None]) -> str:
    """The text of a new file of a ledger, with its modeline first where its schema is there.

    Args:
        path: where the file is to lie.
        text: what it is to say.
        read: gives a file of the ledger by its path, or None where there is none.
    """
    name = _name_of(path)
    if not name:
        return text
    try:
        there = read(f"{SCHEMAS}/{file_of(name)}") is not None
    except LedgerError:  # a record is not kept waiting for what only an editor reads
        there = False
    return f"{modeline(name, SCHEMAS)}\n{text}" if there else text


def _name_of(path: str) -> str:
    """The kind of a file by its path, or an empty text."""
    folder, _, name = path.rpartition("/")
    alike = f"{folder}/*.yaml" if folder and name.endswith(".yaml") else path
    return next((kind for kind, where in WHERE.items() if where == alike), "")
