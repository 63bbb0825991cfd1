"""An act that is not finished: what it is, who gave it and when, and how far it has come."""

from __future__ import annotations

from typing import Any

from tankbook.ledger.pending import Aside, PendingAct
from tankbook.output.page import Page, counted
from tankbook.output.recorded import shown

NOTHING = "No act is pending\n"
WAYS = (
    "Any command that this computer gives in this folder finishes it; `tankbook pending --finish` "
    "does so too where a file was changed by hand, or in a copy. `tankbook pending --drop` takes "
    "back what was done of it."
)


CHECK = (
    "What that act did before it was interrupted, if anything, still stands: hold the files "
    "against git or a copy, then run `tankbook validate`."
)


def data(found: PendingAct | None, done: str = "") -> dict[str, Any]:
    """The JSON shape of `pending`. `done` is what became of it: `finished` or `dropped`."""
    note = found.written.note if found else None
    return {
        "pending": found is not None and not done,
        "done": done or None,
        "act": note.verb if note else "",
        "ids": list(note.subjects) if note else [],
        "sentence": note.sentence if note else "",
        "by": note.by if note else "",
        "at": note.at.isoformat() if note else None,
        "files": [
            {"path": f.path, "state": str(f.state), "diff": f.diff}
            for f in (found.files if found else ())
        ],
    }


def aside_data(aside: Aside) -> dict[str, Any]:
    """The JSON shape of a journal that was set aside."""
    return data(None, "set aside") | {"aside": aside.name, "why": aside.why}


def aside_text(aside: Aside, page: Page) -> str:
    """What was wrong with a journal, where it lies now, and what is still to be done."""
    said = f"Set aside as {aside.name}, nothing else was written: {aside.why}"
    return page.wrap(said, hang="    ") + "\n" + page.wrap(CHECK) + "\n"


def text(found: PendingAct | None, page: Page, done: str = "") -> str:
    """The act's own sentence, then each file and what the act makes of it."""
    if found is None:
        return NOTHING
    if done:
        said = "Finished" if done == "finished" else "Dropped, nothing of it is recorded"
        return page.wrap(f"{said}: {found}", hang="    ") + "\n"
    files = counted(len(found.files), "file")
    parts = [page.wrap(f"PENDING: {found}, {files}", hang="    "), ""]
    parts += [f"{f.path}: {f.state}" for f in found.files]
    diff = "".join(f.diff for f in found.files)
    parts += ["", shown(diff).rstrip("\n")] if diff else []
    return "\n".join([*parts, "", page.wrap(WAYS), ""])
