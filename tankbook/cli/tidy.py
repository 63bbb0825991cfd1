"""`tankbook tidy`."""

from __future__ import annotations

import typer

from tankbook.cli.answer import Answer, as_data
from tankbook.cli.options import Json, Ledger, common
from tankbook.cli.recording import CommitOption, DryRun


def tidy(
    context: typer.Context,
    dry_run: DryRun = False,
    commit: CommitOption = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Put the fill log in the order of its time and drop exact duplicates, nothing else.

    Zero bytes that a power cut left at its end are cut off. A log with a line cut short, or with a
    merge that is not settled, is left as it is.
    """
    from tankbook.cli.allowing import ask_leave
    from tankbook.cli.open_ledger import page, root_asked, told
    from tankbook.cli.recording import acknowledging
    from tankbook.ledger.tidy import tidy as put_in_order
    from tankbook.output import recorded as output

    given = common(context, json, "", ledger)
    root = root_asked(given)
    if not dry_run:
        ask_leave(root, commit)
    done = put_in_order(root, dry_run=dry_run, commit=commit, tell=told)
    answer = as_data(output.data(done)) if given.json else Answer(output.text(done, page()))
    return acknowledging(answer, root, done)
