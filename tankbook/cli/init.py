"""`tankbook init`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tankbook.acts.options import Arg, Opt
from tankbook.cli.answer import Answer, RequestError, as_data
from tankbook.cli.options import Json, common


def init(
    context: typer.Context,
    folder: Annotated[str, Arg("DIR", "The ledger's folder.")],
    name: Annotated[str, Opt("NAME", "What the ledger is called; else the folder's name.")] = "",
    units: Annotated[str, Opt("psi|bar", "What the gauges read in.")] = "psi",
    rules: Annotated[
        list[str] | None,
        Opt("SET", "A rule set; may be given again. us-dot unless said otherwise."),
    ] = None,
    json: Json = False,
) -> Answer:
    """Begin a ledger: settings, a station to fill in, the folders, and what git needs to know.

    Nothing that is already there is overwritten.
    """
    from tankbook.ledger import shipped
    from tankbook.ledger.begin import begin
    from tankbook.output import begun as output
    from tankbook.records.words import Shore

    asked = common(context, json, "", "")
    if units not in list(Shore):
        raise RequestError(f"--units: {units!r} is no unit of a ledger", "write psi or bar")
    sets = tuple(rules or ["us-dot"])
    known = [s for s in shipped.rule_set_names() if s not in shipped.EVERYWHERE]
    for each in sets:
        if each not in known:
            raise RequestError(f"--rules: no rule set {each!r}", f"known: {', '.join(known)}")
    root = Path(folder)
    written = begin(root, name or root.resolve().name, Shore(units), sets)
    if asked.json:
        return as_data(output.data(folder, written, sets))
    return Answer(output.text(folder, written, sets))
