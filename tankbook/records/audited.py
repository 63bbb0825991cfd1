"""Checkpoints of audits: audited.yaml."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from tankbook.records.fields import COUNT, TEXT, ListOf, Nested, Record, key
from tankbook.records.kinds import DAY

AUDITED_PATH = "audited.yaml"


class Checkpoint(Record, frozen=True, kw_only=True):
    """Up to which commit the history was audited, and what stood there."""

    title: ClassVar[str] = "checkpoint"
    on: dt.date = key(DAY, "When it was audited.", "2026-11-25", required=True)
    by: str | None = key(TEXT, "Initials.", "MV")
    through: str = key(
        TEXT,
        "The whole name of the last commit audited.",
        "3f0c9c1f6f0f4d0c8f8f3c2b7a6d5e4f3a2b1c0d",
        required=True,
    )
    commits: int = key(COUNT, "Commits read up to it.", "412", required=True)
    signs: int = key(COUNT, "Signs found up to it.", "0", required=True)
    digest: str = key(
        TEXT,
        "SHA-256 of the records at that commit and of this checkpoint.",
        "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
        required=True,
    )


class Audited(Record, frozen=True, kw_only=True):
    """Every checkpoint, the latest last; `audit --checkpoint` adds one."""

    title: ClassVar[str] = "audited"
    checkpoints: tuple[Checkpoint, ...] = key(
        ListOf(Nested(Checkpoint)), "Audits up to a commit, in order.", "[...]", required=True
    )
