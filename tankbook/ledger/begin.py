"""Beginning a ledger: its settings, a station to fill in, its folders, and what git must know."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from tankbook.ledger import atomic
from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.files import FORMAT
from tankbook.ledger.finding import SETTINGS_FILE
from tankbook.ledger.ordinary import ordinary
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

AMBIENT = {Shore.PSI: "70 degF", Shore.BAR: "20 degC"}

SETTINGS = """\
ledger: {name}
format: {format}

# What the gauges are read in: psi or bar. A bare number on the command line is taken in it.
units: {units}

# The rule sets in force; `tankbook rules` lists their rows.
rules: [{rules}]

# Take the `#` away where a line is true of yours, and correct it.
#
# How warm it usually is where the cylinders stand:
# ambient: {ambient}
#
# Who signs, by initials; names stay out of the ledger:
# people:
#   MV:
#     certifications:
#       - {{skill: inspector, from: 2026-01, until: 2029-01}}
#
# prices: {{hydro: 45.00 USD, visual: 18.50 USD}}
"""

ASKED = {
    "uk": """\
#
# Was a written risk assessment of inner corrosion made or adopted, and is it followed? Then a look
# inside may be as old as the law lets it be; without one every answer asks for a yearly look.
# risk_assessed: {on: 2026-01-10, by: MV, document: where it is kept}
"""
}
"""What a rule set asks of a ledger that is begun with it."""

STATION = """\
# The fill station. Take the `#` away where a line is true of yours, and correct it.
#
# banks:
#   - name: B1
#     water_volume: 48 L
#     working_pressure: {bank}
#     gas: air
#     readings:
#       - {{on: 2026-11-25, pressure: {reading}, by: MV}}
# compressor:
#   name: C1
#   hours:
#     - {{on: 2026-11-25, reads: 412.5 h, by: MV}}
# filters:
#   - name: F1
#     life: 50 h
#     changed:
#       - {{on: 2026-09-01, at: 380 h, by: MV}}
# air_tests:
#   - {{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1,
#      oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}}
# gauges:
#   - {{name: G1, master: yes}}
# positions:
#   - {{name: P1, kind: enclosed}}
open_whip: never
"""

EXAMPLES = {
    Shore.PSI: {"bank": "5000 psi", "reading": "4400 psi"},
    Shore.BAR: {"bank": "345 bar", "reading": "300 bar"},
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
                atomic.sync_folder(root)
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
    settings = SETTINGS.format(
        name=_quoted(name),
        format=FORMAT,
        units=units,
        rules=", ".join(rules),
        ambient=AMBIENT[units],
    )
    settings += "".join(ASKED[each] for each in rules if each in ASKED)
    return {
        "tankbook.yaml": settings,
        "station.yaml": STATION.format(**EXAMPLES[units]),
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
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
