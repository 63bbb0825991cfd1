"""`tankbook marks`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Arg
from tankbook.cli.answer import Answer, RequestError, as_data
from tankbook.cli.options import Common


def marks(
    asked: Common,
    line: Annotated[str, Arg("MARKS", "A shoulder line, in quotes.")],
) -> Answer:
    """What stamp marks mean, mark by mark, with citations. What cannot be read is never guessed.

    Needs no ledger. A test dated later than today, or than --on, is in doubt.
    """
    from tankbook.cli.open_ledger import day_asked, page
    from tankbook.ledger import shipped
    from tankbook.output import marks as output
    from tankbook.records.marks import read_marks

    if not line.strip():
        raise RequestError("there are no marks to read", 'write them in quotes: "DOT-3AL 3000 ..."')
    found = read_marks(line, shipped.marks(), today=day_asked(Common(on=asked.on)))
    if asked.json:
        return as_data(output.data(found))
    return Answer(output.text(found, page()))
