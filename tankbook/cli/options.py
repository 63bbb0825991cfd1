"""The options every command shares."""

from __future__ import annotations

from typing import Annotated

import typer
from msgspec import Struct

Json = Annotated[bool, typer.Option("--json", help="Answer as JSON; docs/json.md has the shapes.")]
Csv = Annotated[
    bool, typer.Option("--csv", help="Answer as CSV for a spreadsheet; docs/reports.md says how.")
]
On = Annotated[
    str,
    typer.Option(
        "--on",
        metavar="DATE",
        help="Answer as on this day (2026-11-25); records of later days are ignored.",
        show_default=False,
    ),
]
Ledger = Annotated[
    str,
    typer.Option(
        "--ledger",
        metavar="DIR",
        help="The ledger's folder; else it is looked for here and upward.",
        show_default=False,
    ),
]


class Common(Struct, frozen=True):
    """The shared options as given, before or after the command's name."""

    json: bool = False
    on: str = ""
    ledger: str = ""
    as_of: str = ""


def common(context: typer.Context, json: bool, on: str, ledger: str) -> Common:
    """A command's own options, and for what it lacks those given before its name."""
    before = context.obj if isinstance(context.obj, Common) else Common()
    return Common(json or before.json, on or before.on, ledger or before.ledger, before.as_of)
