"""`tankbook schema`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tankbook.acts.options import Arg, Opt
from tankbook.cli.answer import Answer, RequestError, as_data, shown
from tankbook.cli.options import Json, common


def schema(
    context: typer.Context,
    kind: Annotated[str, Arg("KIND", "Of which kind of file: cylinder, station, ...")] = "",
    into: Annotated[
        str, Opt("DIR", "Write all of them there, such as into `schemas` in the ledger.")
    ] = "",
    json: Json = False,
) -> Answer:
    """JSON Schema of a ledger's files: an editor completes and checks them as you type.

    Without a kind the first line by which an editor finds each. A schema knows the shape of a file;
    `validate` judges the rest. Needs no ledger.
    """
    from tankbook.cli.open_ledger import page
    from tankbook.output import schema as output

    if kind and kind not in output.OF_FILE:
        known = ", ".join(output.OF_FILE)
        raise RequestError(f"{shown(kind)} is no kind of file", f"known: {known}")
    if kind and into:
        raise RequestError("--into writes all of them", "leave the kind out")
    if kind:
        return as_data(output.schema_of(kind))
    if into:
        _write(Path(into))
    folder = Path(into).name if into else "schemas"
    if common(context, json, "", "").json:
        return as_data(output.data(folder))
    return Answer(output.text(folder, page(), written=bool(into)))


def _write(folder: Path) -> None:
    """Write every schema, or none where one of them cannot be."""
    from tankbook.ledger.handed_out import write_all
    from tankbook.output import schema as output

    write_all(folder, output.all_files(), ".json")
