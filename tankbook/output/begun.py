"""What `init` wrote, and what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


def data(folder: str, written: Sequence[str]) -> dict[str, Any]:
    """The JSON shape of `init`."""
    return {"ledger": folder, "written": list(written)}


def text(folder: str, written: Sequence[str]) -> str:
    """The folder, each thing written in it, and the next steps."""
    return "\n".join(
        [
            f"Begun: a ledger in {folder}",
            *(f"  {name}" for name in written),
            "",
            "Next: correct tankbook.yaml and station.yaml, write one file a cylinder under",
            "cylinders/, then run `tankbook validate` there. docs/ledger-format.md has every key.",
            "",
        ]
    )
