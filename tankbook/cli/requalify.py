"""`tankbook requalify`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import Answer, RequestError, shown
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import Bench, Commit, DryRun, Ids, asked, run

if TYPE_CHECKING:
    from tankbook.records.edits import Act, Refusal
    from tankbook.units import Volume


def requalify(
    context: typer.Context,
    ids: Ids,
    on: Annotated[
        str, typer.Option("--on", metavar="MONTH", help="Month or day of the test: 2026-10.")
    ],
    by: Annotated[str, typer.Option("--by", metavar="RIN", help="The requalifier, by its RIN.")],
    method: Annotated[
        str,
        typer.Option(
            "--method",
            metavar="METHOD",
            help="hydrostatic, proof, ultrasonic, acoustic-emission, eddy-current or visual.",
        ),
    ] = "hydrostatic",
    plus: Annotated[bool, typer.Option("--plus", help="The stamp carries a plus mark.")] = False,
    stamp: Annotated[
        str,
        typer.Option(
            "--stamp", metavar="TEXT", help="The stamp as read: 10 T123 26.", show_default=False
        ),
    ] = "",
    test_pressure: Annotated[
        str,
        typer.Option(
            "--test-pressure", metavar="PRESSURE", help="Pressure reached.", show_default=False
        ),
    ] = "",
    total: Annotated[
        str,
        typer.Option(
            "--total-expansion",
            metavar="VOLUME",
            help="Total expansion of one cylinder: 0.0551L.",
            show_default=False,
        ),
    ] = "",
    permanent: Annotated[
        str,
        typer.Option(
            "--permanent-expansion",
            metavar="VOLUME",
            help="Permanent expansion of one cylinder.",
            show_default=False,
        ),
    ] = "",
    expansion: Annotated[
        list[str] | None,
        typer.Option(
            "--expansion",
            metavar="ID=TOTAL/PERMANENT",
            help="Both, for one of a batch: 14=0.0551/0.0021L; may be given again.",
            show_default=False,
        ),
    ] = None,
    failed: Annotated[
        list[str] | None,
        typer.Option(
            "--failed",
            metavar="ID=WHY",
            help="One that failed, and why; may be given again.",
            show_default=False,
        ),
    ] = None,
    clears: Annotated[
        list[str] | None,
        typer.Option(
            "--clears",
            metavar="[ID=]NAME",
            help='What a pass answers: "rejected 2026-10-05"; `none` where it answers nothing.',
            show_default=False,
        ),
    ] = None,
    finding: Annotated[
        list[str] | None,
        typer.Option(
            "--finding",
            metavar="[ID=]TEXT",
            help="What the requalifier wrote of it; may be given again.",
            show_default=False,
        ),
    ] = None,
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record a requalification of one cylinder or a batch.

    Permanent expansion over its limit is a failure, and a cylinder that failed is rejected until
    the requalifier condemns it. A pass says with --clears which failed test, rejection or suspected
    crack it answers. `--on DATE` before the command's name sets today.
    """
    from tankbook.acts.requalify import Test
    from tankbook.acts.requalify import requalify as plan
    from tankbook.cli import option_values
    from tankbook.records.words import Method

    given = asked(context, json, "", ledger, by, dry_run, commit)
    month = option_values.date("--on", on)
    how = option_values.word("--method", method, Method, METHOD_TWINS)
    pairs = [_pair("--expansion", each) for each in expansion or []]
    if total or permanent:
        if not (total and permanent) or len(ids) != 1:
            mend = "for a batch, give --expansion ID=TOTAL/PERMANENT for each"
            raise RequestError("give both expansions, of one cylinder", mend)
        pairs.append((ids[0], f"{total}/{permanent}"))
    expansions = {id_: _volumes(text) for id_, text in pairs}
    failures = dict(_pair("--failed", each) for each in failed or [])
    answers = [_of_one("--clears", each, ids) for each in clears or []]
    found = dict(_of_one("--finding", each, ids) for each in finding or [])

    def planned(bench: Bench) -> Act | Refusal:
        pressure = (
            option_values.pressure("--test-pressure", test_pressure, bench.desk.shore)
            if test_pressure
            else None
        )
        names: dict[str, tuple[str, ...]] = {}
        for id_, name in answers:
            whole = bench.resolve([id_])[0]
            names[whole] = (*names.get(whole, ()), name)
        test = Test(
            on=month,
            method=how,
            by=by,
            plus=plus,
            stamp=stamp,
            test_pressure=pressure,
            expansions={bench.resolve([i])[0]: v for i, v in expansions.items()},
            failures={bench.resolve([i])[0]: v for i, v in failures.items()},
            clears=names,
            findings={bench.resolve([i])[0]: v for i, v in found.items()},
        )
        return plan(bench.book, bench.resolve(ids), test, bench.today)

    return run(given, planned)


METHOD_TWINS = {"hydro": "hydrostatic", "ve": "eddy-current", "ue": "ultrasonic"}


def _pair(option: str, text: str) -> tuple[str, str]:
    id_, equals, value = text.partition("=")
    if not equals or not id_.strip() or not value.strip():
        raise RequestError(f"{option}: {shown(text)} is not ID=VALUE", "write it as 14=...")
    return id_.strip(), value.strip()


def _of_one(option: str, text: str, ids: list[str]) -> tuple[str, str]:
    """`14=none`, or `none` where one cylinder is named."""
    name, equals, said = text.partition("=")
    if equals and name.strip() and " " not in name.strip():
        return name.strip(), said.strip()
    if len(ids) != 1:
        raise RequestError(f"{option}: which cylinder is it about?", f"as in {option} {ids[0]}=...")
    return ids[0], text.strip()


def _volumes(text: str) -> tuple[Volume, Volume]:
    """`0.0551/0.0021L`: the total may leave its unit to the permanent expansion."""
    from tankbook.cli import option_values

    total, slash, permanent = text.partition("/")
    if not slash:
        mend = "write total and permanent expansion as 0.0551/0.0021L"
        raise RequestError(f"--expansion: {shown(text)} is one volume", mend)
    kept = option_values.volume("--expansion", permanent, None)
    return option_values.volume("--expansion", total, kept.unit), kept
