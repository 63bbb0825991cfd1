"""The commands that have commands below them."""

from __future__ import annotations

from dataclasses import dataclass

from tankbook.cli import station, upkeep
from tankbook.cli.acts import Command


@dataclass(frozen=True, slots=True)
class Group:
    """A command that answers by itself and has recording commands below it."""

    itself: Command
    below: dict[str, Command]


GROUPS: dict[str, Group] = {
    "station": Group(
        Command(
            station.station,
            "How the fill station stands, and its upkeep.",
            "tankbook station read B1=4400 B2=5100",
        ),
        {
            "read": Command(
                upkeep.read,
                "Record gauge readings of banks.",
                "tankbook station read B1=4400 B2=5100",
            ),
            "regulator": Command(
                upkeep.regulator,
                "Record what the fill regulator is set to.",
                "tankbook station regulator 3000",
            ),
            "hours": Command(
                upkeep.hours,
                "Record the compressor's hour meter.",
                "tankbook station hours 412.5",
            ),
            "filter": Command(
                upkeep.filter_,
                "Record a new filter element.",
                "tankbook station filter F1 --at 412.5",
            ),
            "air-test": Command(
                upkeep.air_test,
                "Record an air test against its limits.",
                'tankbook station air-test --by "Example Air Lab" --result pass',
            ),
            "gauge-check": Command(
                upkeep.gauge_check,
                "Record a gauge compared with a test gauge.",
                "tankbook station gauge-check G1 --reads 3040 --true 3000 --against TG",
            ),
            "whip": Command(
                upkeep.whip,
                "Record the check of a fill whip, or a new one.",
                'tankbook station whip W1 --fail "cover cut"',
            ),
            "relief": Command(
                upkeep.relief,
                "Record the check of a relief valve.",
                "tankbook station relief R1",
            ),
            "bank-test": Command(
                upkeep.bank_test,
                "Record the periodic test of a bank.",
                "tankbook station bank-test B1 --on 2026-10 --by T123",
            ),
        },
    ),
}
"""Each group by its name, in the order help lists them."""
