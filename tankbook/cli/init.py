"""`tankbook init`."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

import typer

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import Answer, RequestError, as_data, shown
from tankbook.cli.options import Json, common

INITIALS = re.compile(r"[A-Za-z]{1,5}")


def init(
    context: typer.Context,
    folder: Annotated[str, Arg("DIR", "The ledger's folder.")] = "",
    name: Annotated[str, Opt("NAME", "What the ledger is called; else the folder's name.")] = "",
    units: Annotated[
        str, Opt("psi|bar", "What the gauges read in; psi unless said otherwise.")
    ] = "",
    rules: Annotated[
        list[str] | None,
        Opt("SET", "A rule set; may be given again. us-dot unless said otherwise."),
    ] = None,
    station: Annotated[
        bool | None,
        Flag(
            "Whether there is a fill station; there is one unless said otherwise.",
            "--station/--no-station",
        ),
    ] = None,
    by: Annotated[str, Opt("XX", "Initials of whoever signs where nobody else is said.")] = "",
    git: Annotated[
        bool | None,
        Flag("Put it under git, with a first commit; not unless said so.", "--git/--no-git"),
    ] = None,
    json: Json = False,
) -> Answer:
    """Begin a ledger: settings, a station to fill in, the folders, and what git needs to know.

    At a terminal, and without an option, it asks a few questions. Nothing that is already there is
    overwritten.
    """
    from tankbook.cli import keys
    from tankbook.ledger import shipped
    from tankbook.ledger.begin import Begun, begin, under_git
    from tankbook.output import begun as output
    from tankbook.records.words import Shore

    asked = common(context, json, "", "")
    known = [s for s in shipped.rule_set_names() if s not in shipped.EVERYWHERE]
    said = (name, units, rules, by, asked.json)
    if not any(said) and station is None and git is None and keys.is_terminal():
        from tankbook.cli.init_prompt import asked as ask
        from tankbook.cli.open_ledger import clock
        from tankbook.units import PartialDate

        alone = [s for s in known if shipped.rule_set(s).stands_alone]
        root, of = ask(folder, PartialDate.of(clock()), alone)
        folder = str(root)
    else:
        if not folder:
            raise RequestError("where is it to be?", "name a folder: `tankbook init DIR`")
        if (units or "psi") not in list(Shore):
            raise RequestError(f"--units: {units!r} is no unit of a ledger", "write psi or bar")
        sets = tuple(rules or ["us-dot"])
        for each in sets:
            if each not in known:
                raise RequestError(f"--rules: no rule set {each!r}", f"known: {', '.join(known)}")
        if by and not INITIALS.fullmatch(by):
            raise RequestError(f"--by: {shown(by)} are no initials", "write one to five letters")
        root = Path(folder)
        of = Begun(
            name or root.resolve().name, Shore(units or "psi"), sets,
            station=station is not False, by=by.upper(), git=bool(git),
        )  # fmt: skip
    written = begin(root, of)
    left = under_git(root, written) if of.git else ""
    notes = (f"tankbook: {left}",) if left else ()
    sets = () if of.risk else of.rules
    if asked.json:
        return as_data(output.data(folder, written, sets), notes=notes)
    return Answer(output.text(folder, written, sets), notes=notes)
