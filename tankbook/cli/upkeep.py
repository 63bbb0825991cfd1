"""The commands below `tankbook station` that record its upkeep."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import Bench, By, Commit, Day, DryRun, asked, run

if TYPE_CHECKING:
    from tankbook.records.edits import Act, Refusal

Name = Annotated[str, typer.Argument(metavar="NAME", help="The part, by its label.")]
Fail = Annotated[
    str,
    typer.Option("--fail", metavar="WHY", help="It failed, and why.", show_default=False),
]
Note = Annotated[
    str, typer.Option("--note", metavar="TEXT", help="What was seen.", show_default=False)
]


def read(
    context: typer.Context,
    readings: Annotated[
        list[str], typer.Argument(metavar="BANK=PRESSURE", help="Such as B1=4400.")
    ],
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record gauge readings of banks, as the master gauge shows them."""
    from tankbook.acts.station_upkeep import read_banks as plan
    from tankbook.cli import option_values

    pairs = [each.partition("=") for each in readings]
    if wrong := [each for each, p in zip(readings, pairs, strict=True) if not (p[0] and p[2])]:
        raise RequestError(f"{wrong[0]!r} is no reading", "write it as B1=4400")

    def planned(bench: Bench) -> Act | Refusal:
        shore = bench.desk.shore
        values = {name: option_values.pressure(name, text, shore) for name, _, text in pairs}
        return plan(bench.book, values, by=bench.by, on=bench.today)

    return run(asked(context, json, on, ledger, by, dry_run, commit), planned)


def regulator(
    context: typer.Context,
    pressure: Annotated[str, typer.Argument(metavar="PRESSURE", help="What it is set to.")],
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record what the fill regulator is set to."""
    from tankbook.acts.station_upkeep import set_regulator as plan
    from tankbook.cli import option_values

    def planned(bench: Bench) -> Act | Refusal:
        value = option_values.pressure("PRESSURE", pressure, bench.desk.shore)
        return plan(bench.book, value, by=bench.by, on=bench.today)

    return run(asked(context, json, on, ledger, by, dry_run, commit), planned)


def hours(
    context: typer.Context,
    reads: Annotated[str, typer.Argument(metavar="HOURS", help="What the meter shows: 412.5.")],
    instead_of: Annotated[
        str,
        typer.Option(
            "--instead-of",
            metavar="HOURS",
            help="A new meter: what the old one showed last.",
            show_default=False,
        ),
    ] = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record the compressor's hour meter."""
    from tankbook.acts.station_upkeep import meter as plan
    from tankbook.cli import option_values

    value = option_values.running_time("HOURS", reads)
    old = option_values.running_time("--instead-of", instead_of) if instead_of else None
    return run(
        asked(context, json, on, ledger, by, dry_run, commit),
        lambda bench: plan(bench.book, value, instead_of=old, by=bench.by, on=bench.today),
    )


def filter_(
    context: typer.Context,
    name: Name,
    at: Annotated[
        str,
        typer.Option(
            "--at",
            metavar="HOURS",
            help="What the hour meter shows; today's reading, if not said.",
            show_default=False,
        ),
    ] = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record a new filter element."""
    from tankbook.acts.station_upkeep import change_filter as plan
    from tankbook.cli import option_values

    meter = option_values.running_time("--at", at) if at else None
    return run(
        asked(context, json, on, ledger, by, dry_run, commit),
        lambda bench: plan(bench.book, name, meter, by=bench.by, on=bench.today),
    )


def air_test(
    context: typer.Context,
    by: Annotated[str, typer.Option("--by", metavar="LABORATORY", help="Laboratory, or initials.")],
    standard: Annotated[
        str,
        typer.Option(
            "--standard",
            metavar="NAME",
            help="Whose limits count, such as cga-grade-e; those of the last test, if not said.",
            show_default=False,
        ),
    ] = "",
    result: Annotated[
        str,
        typer.Option(
            "--result",
            metavar="pass|fail",
            help="The laboratory's word; else the limits judge, given every value they limit.",
            show_default=False,
        ),
    ] = "",
    source: Annotated[
        str,
        typer.Option(
            "--source",
            metavar="NAME",
            help="Where it was drawn: a part, `panel` or B1+B2.",
            show_default=False,
        ),
    ] = "",
    oxygen: Annotated[
        str,
        typer.Option("--oxygen", metavar="PERCENT", help="Oxygen: 20.9.", show_default=False),
    ] = "",
    co: Annotated[
        str,
        typer.Option("--co", metavar="VALUE", help="Carbon monoxide: 1ppm.", show_default=False),
    ] = "",
    co2: Annotated[
        str,
        typer.Option("--co2", metavar="VALUE", help="Carbon dioxide: 420ppm.", show_default=False),
    ] = "",
    oil: Annotated[
        str,
        typer.Option(
            "--oil", metavar="VALUE", help="Oil and particulates: 0.1mg/m3.", show_default=False
        ),
    ] = "",
    hydrocarbons: Annotated[
        str,
        typer.Option(
            "--hydrocarbons",
            metavar="VALUE",
            help="Hydrocarbons as methane: 3ppm.",
            show_default=False,
        ),
    ] = "",
    water: Annotated[
        str, typer.Option("--water", metavar="VALUE", help="Water: 18mg/m3.", show_default=False)
    ] = "",
    odour: Annotated[
        str, typer.Option("--odour", metavar="TEXT", help="Odour: none.", show_default=False)
    ] = "",
    on: Annotated[
        str,
        typer.Option("--on", metavar="DATE", help="When the sample was drawn.", show_default=False),
    ] = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record an air test against the limits of a standard; a failed one closes the station."""
    from tankbook.acts.air_test import air_test as plan
    from tankbook.cli import option_values
    from tankbook.records.station import AirTest
    from tankbook.records.words import TestResult

    said = option_values.word("--result", result, TestResult) if result else None
    drawn = option_values.day("--on", on) if on else None
    values = {"co": co, "co2": co2, "oil": oil, "hydrocarbons": hydrocarbons, "water": water}
    measured: dict[str, Any] = {
        name: option_values.concentration(f"--{name}", text)
        for name, text in values.items()
        if text
    }
    if oxygen:
        measured["oxygen"] = option_values.percent("--oxygen", oxygen)

    def planned(bench: Bench) -> Act | Refusal:
        test = AirTest(
            on=drawn or bench.today,
            by=by,
            standard=standard or None,
            result=said or TestResult.PASS,
            source_=source or None,
            odour=odour or None,
            **measured,
        )
        return plan(bench.book, test, said, bench.today)

    return run(asked(context, json, "", ledger, by, dry_run, commit), planned)


def gauge_check(
    context: typer.Context,
    name: Name,
    reads: Annotated[str, typer.Option("--reads", metavar="PRESSURE", help="What it showed.")],
    true: Annotated[
        str, typer.Option("--true", metavar="PRESSURE", help="What the test gauge showed.")
    ],
    against: Annotated[
        str, typer.Option("--against", metavar="GAUGE", help="The test gauge, by its label.")
    ],
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record a gauge compared with a test gauge."""
    from tankbook.acts.station_upkeep import check_gauge as plan
    from tankbook.cli import option_values

    def planned(bench: Bench) -> Act | Refusal:
        return plan(
            bench.book,
            name,
            reads=option_values.pressure("--reads", reads, bench.desk.shore),
            true=option_values.pressure("--true", true, bench.desk.shore),
            against=against,
            by=bench.by,
            on=bench.today,
        )

    return run(asked(context, json, on, ledger, by, dry_run, commit), planned)


def whip(
    context: typer.Context,
    name: Name,
    fail: Fail = "",
    note: Note = "",
    new: Annotated[bool, typer.Option("--new", help="A new whip was fitted.")] = False,
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record the check of a fill whip, or a new one."""
    from tankbook.acts.station_upkeep import WHIP, check_part

    return run(
        asked(context, json, on, ledger, by, dry_run, commit),
        lambda bench: check_part(
            bench.book,
            WHIP,
            name,
            by=bench.by,
            on=bench.today,
            failed=fail,
            note=note,
            new=new,
        ),
    )


def relief(
    context: typer.Context,
    name: Name,
    fail: Fail = "",
    note: Note = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record the check of a relief valve."""
    from tankbook.acts.station_upkeep import RELIEF, check_part

    return run(
        asked(context, json, on, ledger, by, dry_run, commit),
        lambda bench: check_part(
            bench.book, RELIEF, name, by=bench.by, on=bench.today, failed=fail, note=note
        ),
    )


def bank_test(
    context: typer.Context,
    name: Name,
    on: Annotated[
        str, typer.Option("--on", metavar="MONTH", help="Month or day of the test: 2026-10.")
    ],
    by: Annotated[str, typer.Option("--by", metavar="RIN", help="The requalifier, by its RIN.")],
    method: Annotated[
        str, typer.Option("--method", metavar="METHOD", help="As of `requalify`.")
    ] = "hydrostatic",
    stamp: Annotated[
        str, typer.Option("--stamp", metavar="TEXT", help="The stamp.", show_default=False)
    ] = "",
    fail: Fail = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record the periodic test of a bank."""
    from tankbook.acts.station_upkeep import bank_tested as plan
    from tankbook.cli import option_values
    from tankbook.cli.requalify import METHOD_TWINS
    from tankbook.records.entries import Requalified
    from tankbook.records.words import Method

    how = option_values.word("--method", method, Method, METHOD_TWINS)
    test = Requalified(on=option_values.date("--on", on), by=by, method=how, stamp=stamp or None)
    return run(
        asked(context, json, "", ledger, by, dry_run, commit),
        lambda bench: plan(bench.book, name, test, bench.today, fail),
    )
