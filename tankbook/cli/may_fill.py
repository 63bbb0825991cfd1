"""`tankbook may-fill`."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import DONE, NO, Answer, RequestError
from tankbook.cli.options import Json, Ledger, On, common

if TYPE_CHECKING:
    from tankbook.cli.desk import Desk
    from tankbook.rules.answers import MayFill


def may_fill(
    context: typer.Context,
    ids: Annotated[
        list[str], typer.Argument(metavar="ID", help="Cylinders or sets; a tail will do.")
    ],
    gas: Annotated[
        str,
        typer.Option(
            "--gas", metavar="GAS", help="Such as nitrox32; air, if not said.", show_default=False
        ),
    ] = "",
    fill_pressure: Annotated[
        str,
        typer.Option(
            "--fill-pressure",
            metavar="PRESSURE",
            help="What the fill regulator is set to.",
            show_default=False,
        ),
    ] = "",
    ambient: Annotated[
        str,
        typer.Option(
            "--ambient",
            metavar="TEMPERATURE",
            help="How warm it is where the cylinder stands.",
            show_default=False,
        ),
    ] = "",
    position: Annotated[
        str,
        typer.Option(
            "--position",
            metavar="P1+W1",
            help="The position, whip and adaptor; the lowest rated, if not said.",
            show_default=False,
        ),
    ] = "",
    together: Annotated[
        bool, typer.Option("--together", help="They are connected to one regulator.")
    ] = False,
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer:
    """May it be filled? Yes or no, to what pressure at what temperature, and every reason.

    Exit code 1 when any of them is refused.
    """
    from tankbook.cli import ask, loud
    from tankbook.cli.desk import open_desk
    from tankbook.cli.heads import elsewhere
    from tankbook.ledger.errors import LedgerError
    from tankbook.output import may_fill as output
    from tankbook.rules.acts.log_line import place_reasons
    from tankbook.rules.gate import may_fill as answer_of

    asked = common(context, json, on, ledger)
    desk = open_desk(asked)
    mixture = ask.gas("--gas", gas) if gas else None
    pressure = ask.pressure("--fill-pressure", fill_pressure, desk.shore) if fill_pressure else None
    degrees = ask.temperature("--ambient", ambient, desk.shore) if ambient else None
    through = tuple(filter(None, (name.strip() for name in position.split("+"))))
    for why in place_reasons(desk.book, "", position):
        raise RequestError(why, "`tankbook station` shows its parts")
    wanted = desk.resolve(ids)

    def answers_at(desk: Desk, of: Collection[str] = wanted) -> list[MayFill]:
        return [
            answer_of(
                desk.book,
                id_,
                desk.today,
                mixture,
                fill_pressure=pressure,
                ambient=degrees,
                connected=tuple(wanted) if together else (),
                through=through,
            )
            for id_ in wanted
            if id_ in of
        ]

    answers, said = answers_at(desk), []
    for each in elsewhere(asked) if asked.as_of else ():
        try:
            other = open_desk(each.asked)
        except LedgerError as error:
            raise desk.unanswered(
                f"{each.said}, cannot answer: {error.text}", json=asked.json
            ) from error
        known = {id_ for id_ in wanted if other.knows(id_)}
        there = {a.id: a for a in answers_at(other, known)}
        pairs = [(a, there.get(a.id, a)) for a in answers]
        stricter = [o.id for a, o in pairs if o.is_stricter_than(a)]
        answers = [o if o.is_stricter_than(a) else a for a, o in pairs]
        verdict = f"REFUSES OR LIMITS {', '.join(stricter)}" if stricter else "is no stricter"
        said.append(f"another head of that day, {each.said}, {verdict}")
    code = DONE if all(a.fillable for a in answers) else NO
    if asked.json:
        faults = [loud.Fault("", text, "other-head") for text in said]
        return desk.data(loud.in_data(output.data(answers), faults), code)
    told = desk.answer(output.text(answers, desk.page, pressure), code)
    return loud.told(told, "; ".join(said), desk.page.width)
