"""`tankbook jobs` and the commands below it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import Answer
from tankbook.cli.fill_log_options import Note
from tankbook.cli.names import Asked, names_asked, open_with_names, with_hint
from tankbook.cli.options import Json, Ledger, On, common
from tankbook.cli.recording import By, Commit, Day, DryRun, Ids, asked, run

if TYPE_CHECKING:
    from tankbook.acts.jobs import News
    from tankbook.units import PartialDate


def _text(name: str, metavar: str, says: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(
        name, metavar=metavar, help=says, show_default=False
    )
    return option


WORK = "hydro,visual,..."
Began = Annotated[str, _text("--job", "DATE", "Which job, by the day it was taken in.")]
Told = Annotated[str, _text("--told", "HOW", "Owner told: in person, telephone, letter.")]


def jobs(
    context: typer.Context,
    names: Asked = False,
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer | None:
    """The workshop board: how many are in, promised today, to call, at the requalifier.

    The commands below take work in, move it on, finish it and hand it back.
    """
    asked_ = common(context, json, on, ledger)
    context.obj = asked_
    if context.invoked_subcommand:
        return None
    from tankbook.output import workshop as output
    from tankbook.rules.workshop import workshop_board

    desk = open_with_names(asked_)
    board = workshop_board(desk.book, desk.today)
    if asked_.json:
        return desk.data(output.data(board, names_asked(desk.root, names)))
    return desk.answer(with_hint(desk.root, names, lambda n: output.text(board, n, desk.page)))


def open_(
    context: typer.Context,
    ids: Ids,
    work: Annotated[
        list[str],
        _text("--work", WORK, "hydro, visual, valve-service, o2-clean, fill; with commas."),
    ],
    reference: Annotated[
        str, _text("--reference", "REFERENCE", "Whose it is; its owner, if not said.")
    ] = "",
    promised: Annotated[str, _text("--promised", "DATE", "When it was promised.")] = "",
    price: Annotated[
        str, _text("--price", "PRICE", "The price agreed; the settings' prices, if not said.")
    ] = "",
    note: Note = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Take work in on a customer's cylinder."""
    from tankbook.acts.jobs import open_job as plan

    given = asked(context, json, on, ledger, by, dry_run, commit)
    news = _news(work, reference=reference, promised=promised, price=price, note=note)
    return run(
        given,
        lambda bench: plan(bench.book, bench.resolve(ids), news, by=bench.by, on=bench.today),
    )


def update(
    context: typer.Context,
    ids: Ids,
    state: Annotated[
        str, _text("--state", "STATE", "open, awaiting-parts or at-requalifier.")
    ] = "",
    work: Annotated[list[str] | None, _text("--work", WORK, "What is wanted now.")] = None,
    reference: Annotated[str, _text("--reference", "REFERENCE", "Whose it is.")] = "",
    promised: Annotated[str, _text("--promised", "DATE", "The new date.")] = "",
    price: Annotated[str, _text("--price", "PRICE", "The new price.")] = "",
    told: Told = "",
    note: Note = "",
    job: Began = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Move work on; what was said before stays in the job's note."""
    from tankbook.acts.jobs import update as plan

    given = asked(context, json, on, ledger, by, dry_run, commit)
    news = _news(
        work or [],
        reference=reference, promised=promised, price=price, state=state, told=told, note=note,
    )  # fmt: skip
    began = _began(job)
    return run(
        given,
        lambda bench: plan(
            bench.book, bench.resolve(ids), news, by=bench.by, on=bench.today, began=began
        ),
    )


def done(
    context: typer.Context,
    ids: Ids,
    told: Told = "",
    job: Began = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Finish work: the cylinder awaits collection. What nothing on record shows is said."""
    from tankbook.acts.jobs import done as plan

    given = asked(context, json, on, ledger, by, dry_run, commit)
    began = _began(job)
    return run(
        given,
        lambda bench: plan(
            bench.book,
            bench.resolve(ids),
            by=bench.by,
            on=bench.today,
            told_how=told,
            began=began,
        ),
    )


def collect(
    context: typer.Context,
    ids: Ids,
    note: Note = "",
    job: Began = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Hand cylinders back to their owners; unfinished work takes a --note."""
    from tankbook.acts.jobs import collect as plan

    given = asked(context, json, on, ledger, by, dry_run, commit)
    began = _began(job)
    return run(
        given,
        lambda bench: plan(
            bench.book, bench.resolve(ids), by=bench.by, on=bench.today, note=note, began=began
        ),
    )


def _news(
    work: list[str],
    *,
    reference: str = "",
    promised: str = "",
    price: str = "",
    state: str = "",
    told: str = "",
    note: str = "",
) -> News:
    from tankbook.acts.jobs import News
    from tankbook.cli import option_values
    from tankbook.records.words import JobState, Work

    words = [w.strip() for each in work for w in each.split(",") if w.strip()]
    return News(
        work=tuple(dict.fromkeys(option_values.word("--work", w, Work) for w in words)),
        reference=reference,
        promised=option_values.day("--promised", promised) if promised else None,
        price=option_values.money("--price", price) if price else None,
        state=option_values.word("--state", state, JobState) if state else None,
        told=told,
        note=note,
    )


def _began(text: str) -> PartialDate | None:
    from tankbook.cli import option_values

    return option_values.date("--job", text) if text else None
