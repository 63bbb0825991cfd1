"""`tankbook pending`."""

from __future__ import annotations

from typing import Annotated

import typer

from tankbook.acts.options import Flag
from tankbook.cli.answer import DONE, NO, Answer, RequestError, as_data
from tankbook.cli.options import Json, Ledger, common


def pending(
    context: typer.Context,
    finish: Annotated[bool, Flag("Finish it, in a copy of the ledger as well.")] = False,
    drop: Annotated[bool, Flag("Take back all that was done of it, or set it aside.")] = False,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """An act that was interrupted: whose it is, what it does, how far it has come.

    Other commands finish it by themselves where they can; this one only shows it, unless it is
    told what to do. Exit code 1 while one is pending.
    """
    from tankbook.cli.open_ledger import day_asked, page, root_asked
    from tankbook.ledger.pending import Aside, PendingAct, drop_it, finish_it, look_at
    from tankbook.output import pending as output

    given = common(context, json, "", ledger)
    if finish and drop:
        raise RequestError("--finish and --drop do not go together", "give one of them")
    day_asked(given)  # nothing rests on it, but that it is a day
    root = root_asked(given)
    found: PendingAct | Aside | None
    if finish:
        found, done = finish_it(root), "finished"
    elif drop:
        found, done = drop_it(root), "dropped"
    else:
        found, done = look_at(root), ""
    if isinstance(found, Aside):
        told = output.aside_data(found) if given.json else output.aside_text(found, page())
        return as_data(told, DONE) if isinstance(told, dict) else Answer(told, DONE)
    done = done if found else ""
    code = NO if found and not done else DONE
    if given.json:
        return as_data(output.data(found, done), code)
    return Answer(output.text(found, page(), done), code)
