"""The plan beside other ways of working."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tankbook.filling import Outcome, Plan
from tankbook.output.page import Page, counted
from tankbook.output.tables import table

FAVOURED = "plan, favouring "
"""How the planner names its own ways of working."""


def ways_lines(plan: Plan, compared: tuple[Outcome, ...] | None, page: Page) -> Iterator[str]:
    """Both things to favour, always; with --explain the other ways of working too."""
    ways = compared or tuple(sorted((plan.outcome, plan.other), key=lambda o: o.way))
    yield "Ways of working, cold, without waits to cool (* this plan)"
    rows = [
        (
            f"{_way(each)} *" if each.way == plan.outcome.way else _way(each),
            str(each.unfilled),
            str(each.full_fills),
            f"{each.stored_above_mol:.0f}",
            f"{each.compressor_minutes:.0f}",
            str(each.handlings),
            f"{each.session_minutes:.0f}",
        )
        for each in ways
    ]
    headers = ("way", "unfilled", "fills left", "mol above", "compr. min", "loads", "min")
    yield table(headers, rows, page, wrap=("way",), right=headers[1:])
    if compared:
        yield page.wrap(
            "mol above: gas stored above the density of the highest target, which alone can finish "
            "a fill. Ways by rule fill one cylinder after another as queued."
        )
        yield from (page.wrap(line) for line in _lost(plan.outcome, compared))


def _way(outcome: Outcome) -> str:
    return outcome.way.replace(FAVOURED, "favouring ")


def _lost(ours: Outcome, ways: Sequence[Outcome]) -> Iterator[str]:
    """What the habits of the panel would cost against this plan, in fills."""
    for each in ways:
        if each.way.startswith(FAVOURED) or each.way == "lowest bank first":
            continue
        fills = ours.full_fills - each.full_fills
        filled = each.unfilled + each.compressor_fills - ours.unfilled - ours.compressor_fills
        said = []
        if filled > 0:
            said.append(f"fill {counted(filled, 'cylinder')} fewer from the banks")
        if fills > 0:
            said.append(f"leave {counted(fills, 'full fill')} fewer")
        if said:
            yield f"{each.way[:1].upper()}{each.way[1:]} would {' and '.join(said)}."
