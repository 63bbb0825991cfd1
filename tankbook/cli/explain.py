"""`tankbook explain`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.acts.options import Arg
from tankbook.cli.answer import DONE, Answer, RequestError, as_data, shown
from tankbook.cli.options import Common, Json, Ledger, common

if TYPE_CHECKING:
    from tankbook.records.rulerow import RuleRow, WatchRow


def explain(
    context: typer.Context,
    names: Annotated[
        list[str] | None,
        Arg("CODE", "Codes of findings and refusals, questions, rule rows, words of the trade."),
    ] = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """What a code, a rule row or a word means, why it matters, how to mend it, and its source.

    Without a name all of them, by what they are about. Needs no ledger; where one is here, its own
    rule rows are told, too.
    """
    from tankbook.cli.open_ledger import page
    from tankbook.ledger import shipped
    from tankbook.output import explained as output

    asked = common(context, json, "", ledger)
    table = shipped.explained()
    rows = {r.id: r for name in shipped.rule_set_names() for r in shipped.rule_set(name).every_row}
    own, notes = _own_rows(asked)
    rows |= own
    if not names:
        if asked.json:
            return as_data(output.data(list(output.every(table, rows))), DONE, notes)
        return Answer(output.listed(table, rows, page()), DONE, notes)
    found = []
    for name in names:
        told = output.named(table, rows, name)
        if not told:
            close = output.near(table, rows, name)
            mend = f"did you mean {' or '.join(f'`{n}`' for n in close)}? " if close else ""
            raise RequestError(
                f"nothing is called {shown(name)}", f"{mend}`tankbook explain` lists all"
            )
        found += told
    if asked.json:
        return as_data(output.data(found), DONE, notes)
    return Answer(output.text(found, page()), DONE, notes)


def _own_rows(asked: Common) -> tuple[dict[str, RuleRow | WatchRow], tuple[str, ...]]:
    """The rows of the ledger here, and why it could not be asked."""
    from tankbook.cli.open_ledger import open_desk, root_asked
    from tankbook.ledger.errors import LedgerError
    from tankbook.rules.inforce import rules_of

    if not asked.ledger:
        try:
            root_asked(asked)
        except LedgerError:
            return {}, ()
    try:
        desk = open_desk(asked)
        own = (s for s in rules_of(desk.book).sets if not s.shipped)
        return {row.id: row for each in own for row in each.every_row}, ()
    except LedgerError as error:
        return {}, (f"tankbook: the ledger here was not asked: {error}",)
