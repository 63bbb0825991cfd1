"""`tankbook tags`."""

from __future__ import annotations

from typing import Annotated

import typer

from tankbook.cli.answer import Answer, as_data
from tankbook.cli.options import Json, Ledger, On, common


def tags(
    context: typer.Context,
    ids: Annotated[
        list[str], typer.Argument(metavar="ID", help="Cylinders or sets; a tail will do.")
    ],
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer:
    """A tag for each: id, serial, pressure, gas, next dates, or DO NOT FILL and why."""
    from tankbook.cli.desk import open_desk
    from tankbook.cli.show import card_of
    from tankbook.output import tags as output

    asked = common(context, json, on, ledger)
    desk = open_desk(asked)
    cards = [card_of(desk, id_, station=False) for id_ in desk.resolve(ids)]
    if asked.json:
        return as_data(output.data(cards), notes=desk.notes)
    return Answer(output.text(cards, desk.page), notes=desk.notes)
