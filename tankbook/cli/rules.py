"""`tankbook rules`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common


def rules(
    asked: Common,
    obligation: Annotated[
        str, Opt("QUESTION", "Only rows that answer it: visual, alloy, ...")
    ] = "",
) -> Answer:
    """The rule rows in force for this ledger, with citation, basis and how each was verified."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import rules as output
    from tankbook.records.rulerow import Obligation
    from tankbook.rules.inforce import rules_of

    if obligation and obligation not in list(Obligation):
        known = ", ".join(o.value for o in Obligation)
        raise RequestError(f"--obligation: no rule answers to {obligation!r}", f"known: {known}")
    desk = open_desk(asked)
    in_force = rules_of(desk.book)
    sets = output.only(in_force.sets, list(in_force.all_rows()), obligation)
    if asked.json:
        return desk.data(output.data(sets))
    return desk.answer(output.text(sets, desk.page))
