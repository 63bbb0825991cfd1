"""`tankbook hand-over` and `tankbook slip`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer
from msgspec.structs import replace

from tankbook.cli.answer import DONE, Answer, RequestError
from tankbook.cli.options import Json, Ledger, On, common
from tankbook.cli.recording import Bench, By, Commit, Day, DryRun, Id, asked, run

if TYPE_CHECKING:
    from tankbook.cli.options import Common
    from tankbook.records.edits import Act, Refusal


def _text(name: str, metavar: str, says: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(
        name, metavar=metavar, help=says, show_default=False
    )
    return option


def hand_over(
    context: typer.Context,
    id_: Id,
    to: Annotated[str, _text("--to", "REFERENCE", "The buyer's reference; no name.")],
    price: Annotated[str, _text("--price", "PRICE", "Paid; the card's price, if not said.")] = "",
    slip: Annotated[str, _text("--slip", "NUMBER", "Of the slip; the next, if not said.")] = "",
    sticker_number: Annotated[
        str, _text("--sticker-number", "NUMBER", "Where the shop numbers its stickers.")
    ] = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Hand a sold cylinder over, as the sticker policy allows, and print its slip.

    A withheld sticker goes on now; the record is closed as sold, and kept.
    """
    from tankbook.cli import option_values

    given = asked(context, json, on, ledger, by, dry_run, commit)
    paid = option_values.money("--price", price) if price else None
    named: list[str] = []

    def planned(bench: Bench) -> Act | Refusal:
        from tankbook.acts.hand_over import Sale
        from tankbook.acts.hand_over import hand_over as plan

        named[:] = bench.resolve([id_])
        sale = Sale(to, paid, slip, sticker_number)
        return plan(bench.book, named[0], sale, by=bench.by, on=bench.today)

    answer = run(given, planned)
    if given.common.json or dry_run or answer.code != DONE:
        return answer
    return replace(answer, text=f"{answer.text}\n{_slip(given.common, named[0]).text}")


def slip(
    context: typer.Context, id_: Id, json: Json = False, on: On = "", ledger: Ledger = ""
) -> Answer:
    """The slip of a cylinder that was handed over, again."""
    return _slip(common(context, json, on, ledger), id_)


def _slip(asked_: Common, id_: str) -> Answer:
    from tankbook.acts.hand_over import slip_of
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import slip as output

    desk = open_desk(asked_)
    (name,) = desk.resolve([id_])
    found = slip_of(desk.book, name, desk.today) if name in desk.book.cylinders else None
    if found is None:
        raise RequestError(f"{name} was not handed over", "`tankbook stock` lists what is for sale")
    if asked_.json:
        return desk.data(output.data(found))
    return desk.answer(output.text(found, desk.book.settings.ledger, desk.page))
