"""`tankbook requalify`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Annotated

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import RequestError, shown
from tankbook.cli.option_values import by_id, pair, volume
from tankbook.cli.recording import Bench, Planned
from tankbook.records.words import METHOD_TWINS, Method
from tankbook.units import GaugePressure, PartialDate, Volume


def requalify(
    bench: Bench,
    ids: Annotated[
        Sequence[str], Arg("ID", "Cylinders or sets; a tail will do, or a range: 1..12.")
    ],
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

    def told(option: str, texts: Iterable[str]) -> Iterator[tuple[str, str]]:
        mend = f"as in {option} {ids[0]}=..."
        otherwise = RequestError(f"{option}: no cylinder is named", mend)
        return by_id(bench.resolve, texts, named, str, lambda _: otherwise, free=True)

    named = bench.every(ids)
    answered: dict[str, tuple[str, ...]] = {}
    for id_, text in told("--clears", clears):
        answered[id_] = (*answered.get(id_, ()), text)
    test = Test(
        on=on,
        method=method,
        by=by,
        plus=plus,
        stamp=stamp,
        test_pressure=test_pressure,
        expansions=_expansions(bench, named, total, permanent, expansion),
        failures=dict(_pairs(bench, "--failed", failed)),
        clears=answered,
        findings=dict(told("--finding", finding)),
    )
    return plan(bench.book, named, test, bench.today)


def _pairs(bench: Bench, option: str, texts: Iterable[str]) -> Iterator[tuple[str, str]]:
    for text in texts:
        wrong = RequestError(f"{option}: {shown(text)} is not ID=VALUE", "write it as 14=...")
        id_, value = pair(text, wrong)
        yield bench.resolve([id_])[0], value


def _expansions(
    bench: Bench, ids: Sequence[str], total: str, permanent: str, each: Iterable[str]
) -> dict[str, tuple[Volume, Volume]]:
    """Total and permanent expansion by id, of the one cylinder or of several."""
    pairs = list(_pairs(bench, "--expansion", each))
    if total or permanent:
        if not (total and permanent) or len(ids) != 1:
            mend = "for a batch, give --expansion ID=TOTAL/PERMANENT for each"
            raise RequestError("give both expansions, of one cylinder", mend)
        pairs.append((ids[0], f"{total}/{permanent}"))
    return {id_: _volumes(text) for id_, text in pairs}


def _volumes(text: str) -> tuple[Volume, Volume]:
    """`0.0551/0.0021L`: the total may leave its unit to the permanent expansion."""
    total, slash, permanent = text.partition("/")
    if not slash:
        mend = "write total and permanent expansion as 0.0551/0.0021L"
        raise RequestError(f"--expansion: {shown(text)} is one volume", mend)
    kept = volume("--expansion", permanent, None)
    return volume("--expansion", total, kept.unit), kept
