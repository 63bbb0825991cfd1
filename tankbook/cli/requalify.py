"""`tankbook requalify`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Annotated

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli import option_values
from tankbook.cli.answer import RequestError, shown
from tankbook.cli.recording import Bench, Planned
from tankbook.records.words import METHOD_TWINS, Method
from tankbook.units import GaugePressure, PartialDate, Volume


def requalify(
    bench: Bench,
    ids: Annotated[Sequence[str], Arg("ID", "Cylinders or sets; a tail will do.")],
    *,
    on: Annotated[PartialDate, Opt("MONTH", "Month or day of the test: 2026-10.")],
    by: Annotated[str, Opt("RIN", "The requalifier, by its RIN.")],
    method: Annotated[
        Method,
        Opt(
            "METHOD",
            "hydrostatic, proof, ultrasonic, acoustic-emission, eddy-current or visual.",
            twins=METHOD_TWINS,
        ),
    ] = Method.HYDROSTATIC,
    plus: Annotated[bool, Flag("The stamp carries a plus mark.")] = False,
    stamp: Annotated[str, Opt("TEXT", "The stamp as read: 10 T123 26.")] = "",
    test_pressure: Annotated[GaugePressure | None, Opt("PRESSURE", "Pressure reached.")] = None,
    total: Annotated[
        str, Opt("VOLUME", "Total expansion of one cylinder: 0.0551L.", "--total-expansion")
    ] = "",
    permanent: Annotated[
        str, Opt("VOLUME", "Permanent expansion of one cylinder.", "--permanent-expansion")
    ] = "",
    expansion: Annotated[
        Sequence[str],
        Opt(
            "ID=TOTAL/PERMANENT", "Both, for one of a batch: 14=0.0551/0.0021L; may be given again."
        ),
    ] = (),
    failed: Annotated[
        Sequence[str], Opt("ID=WHY", "One that failed, and why; may be given again.")
    ] = (),
    clears: Annotated[
        Sequence[str],
        Opt(
            "[ID=]NAME",
            'What a pass answers: "rejected 2026-10-05"; `none` where it answers nothing.',
        ),
    ] = (),
    finding: Annotated[
        Sequence[str], Opt("[ID=]TEXT", "What the requalifier wrote of it; may be given again.")
    ] = (),
) -> Planned:
    """Record a requalification of one cylinder or a batch.

    Permanent expansion over its limit is a failure, and a cylinder that failed is rejected until
    the requalifier condemns it. A pass says with --clears which failed test, rejection or suspected
    crack it answers. `--on DATE` before the command's name sets today.
    """
    from tankbook.acts.requalify import Test
    from tankbook.acts.requalify import requalify as plan

    pairs = [_pair("--expansion", each) for each in expansion]
    if total or permanent:
        if not (total and permanent) or len(ids) != 1:
            mend = "for a batch, give --expansion ID=TOTAL/PERMANENT for each"
            raise RequestError("give both expansions, of one cylinder", mend)
        pairs.append((ids[0], f"{total}/{permanent}"))
    expansions = {id_: _volumes(text) for id_, text in pairs}

    def by_id(told: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
        found: dict[str, tuple[str, ...]] = {}
        for id_, text in told:
            whole = bench.resolve([id_])[0]
            found[whole] = (*found.get(whole, ()), text)
        return found

    failures = by_id(_pair("--failed", each) for each in failed)
    findings = by_id(_of_one("--finding", each, ids) for each in finding)
    test = Test(
        on=on,
        method=method,
        by=by,
        plus=plus,
        stamp=stamp,
        test_pressure=test_pressure,
        expansions={bench.resolve([i])[0]: v for i, v in expansions.items()},
        failures={i: v[-1] for i, v in failures.items()},
        clears=by_id(_of_one("--clears", each, ids) for each in clears),
        findings={i: v[-1] for i, v in findings.items()},
    )
    return plan(bench.book, bench.resolve(list(ids)), test, bench.today)


def _pair(option: str, text: str) -> tuple[str, str]:
    id_, equals, value = text.partition("=")
    if not equals or not id_.strip() or not value.strip():
        raise RequestError(f"{option}: {shown(text)} is not ID=VALUE", "write it as 14=...")
    return id_.strip(), value.strip()


def _of_one(option: str, text: str, ids: Sequence[str]) -> tuple[str, str]:
    """`14=none`, or `none` where one cylinder is named."""
    name, equals, said = text.partition("=")
    if equals and name.strip() and " " not in name.strip():
        return name.strip(), said.strip()
    if len(ids) != 1:
        raise RequestError(f"{option}: which cylinder is it about?", f"as in {option} {ids[0]}=...")
    return ids[0], text.strip()


def _volumes(text: str) -> tuple[Volume, Volume]:
    """`0.0551/0.0021L`: the total may leave its unit to the permanent expansion."""
    total, slash, permanent = text.partition("/")
    if not slash:
        mend = "write total and permanent expansion as 0.0551/0.0021L"
        raise RequestError(f"--expansion: {shown(text)} is one volume", mend)
    kept = option_values.volume("--expansion", permanent, None)
    return option_values.volume("--expansion", total, kept.unit), kept
