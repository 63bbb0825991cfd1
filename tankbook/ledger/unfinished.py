"""Inspections left half done: one small file each, in the ledger's own folder that git ignores."""

from __future__ import annotations

import json
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from msgspec import Struct

from tankbook.ledger import atomic
from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.lock import hold
from tankbook.ledger.names import PRIVATE_FOLDER, is_safe_id
from tankbook.ledger.ordinary import ordinary
from tankbook.ledger.text import RECORD_LIMIT
from tankbook.records.entries import StepFinding
from tankbook.records.words import Seen, StepResult
from tankbook.units import Length


class Unfinished(Struct, frozen=True):
    """How far an inspection came: its checklist, who began it, the answers, and what was read.

    `read` holds what was typed at the valve steps, by the option it stands for.
    """

    checklist: str
    by: str
    answers: tuple[StepFinding, ...]
    read: Mapping[str, str]


_KEPT = ("step", "result", "what", "depth", "length", "note", "count", "position")


def _path(root: Path, id_: str) -> Path:
    if not is_safe_id(id_):
        raise LedgerError(id_, "this cannot be an id", "check the name")
    return root / PRIVATE_FOLDER / f"inspect-{id_}.json"


def load(root: Path, id_: str) -> Unfinished | None:
    """The inspection left half done, if there is one.

    Raises:
        LedgerError: its file cannot be read.
    """
    path = _path(root, id_)
    try:
        data: Any = json.loads(ordinary(path, str(path), RECORD_LIMIT, links=False).decode())
        answers = tuple(
            StepFinding(
                step=str(a["step"]),
                result=StepResult(a["result"]),
                what=Seen(a["what"]) if "what" in a else None,
                depth=Length.parse(a["depth"]) if "depth" in a else None,
                length=Length.parse(a["length"]) if "length" in a else None,
                note=a.get("note"),
                count=a.get("count"),
                position=a.get("position"),
            )
            for a in data["answers"]
        )
        read = {str(k): str(v) for k, v in data["read"].items()}
        return Unfinished(str(data["checklist"]), str(data["by"]), answers, read)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise from_os(str(path), error) from error
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        text = "this half-done inspection cannot be read"
        raise LedgerError(str(path), text, "begin again with --afresh") from error


def save(root: Path, id_: str, left: Unfinished) -> None:
    """Keep an inspection for later.

    Raises:
        LedgerError: another process writes, or the disk refuses.
    """
    path = _path(root, id_)
    answers = [
        {k: v if isinstance(v, int) else str(v) for k in _KEPT if (v := getattr(a, k))}
        for a in left.answers
    ]
    data = {"checklist": left.checklist, "by": left.by, "answers": answers, "read": {**left.read}}
    text = json.dumps(data, ensure_ascii=False, indent=1) + "\n"
    with hold(root):
        try:
            atomic.swap(path, text.encode())
            atomic.sync_folder(path.parent)
            atomic.sync_folder(root)
        except OSError as error:
            raise from_os(str(path), error) from error


def forget(root: Path, id_: str) -> None:
    """Throw away what was left half done, if anything was."""
    with suppress(OSError):
        path = _path(root, id_)
        path.unlink(missing_ok=True)
        atomic.sync_folder(path.parent)  # else it may come back, and be gone on with
