"""What an act at the bench changes in a ledger, as values.

An act is planned here and in `rules` without touching a file; the ledger room splices it into the
text of the files, all of it or nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

from msgspec import Struct

from tankbook.records.node import Finding

Trail: TypeAlias = tuple[str | int, ...]
"""Keys and list indices from the root of a file to a value."""

Value: TypeAlias = "str | tuple[Value, ...] | Mapping[str, Value]"
"""What is written: text, a list, or keys in order; every scalar as it is to be read back."""


class SetValue(Struct, frozen=True):
    """Write a value under a key: replace what is there, or add the key."""

    file: str
    trail: Trail
    value: Value


class AddEntry(Struct, frozen=True):
    """Add an entry at the end of a list, which begins with it where there is none yet."""

    file: str
    trail: Trail
    entry: Value


class NewFile(Struct, frozen=True):
    """Write a new file; that it exists already is a refusal."""

    file: str
    text: str


class AddLine(Struct, frozen=True):
    """Add a line to the fill log of the year of its `at`."""

    cells: Mapping[str, str]


Edit: TypeAlias = SetValue | AddEntry | NewFile | AddLine


class Act(Struct, frozen=True):
    """An act ready to be recorded.

    `verb` is the command's word (the `Act:` trailer of a commit), `subjects` the ids it is about
    (`Cylinder:` trailers), `sentence` says in one line what happened, `notes` what the person
    should see besides (warnings, what is still to be done).
    """

    verb: str
    subjects: tuple[str, ...]
    sentence: str
    edits: tuple[Edit, ...]
    notes: tuple[str, ...] = ()


class Refusal(Struct, frozen=True):
    """Why nothing is recorded: every reason, each with how to mend it."""

    sentence: str
    reasons: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
