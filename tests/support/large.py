"""A large ledger, made up: thousands of cylinders and tens of thousands of fills."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterator
from pathlib import Path

import books

from tankbook.records.log import LogLine, columns

TODAY = books.TODAY
KINDS = (("RB", "rental", 15), ("CU", "customer", 3), ("SF", "sale", 1), ("PL", "pool", 1))
"""Prefix, use and share of twenty."""

SETTINGS = books.SETTINGS + "operator: MV\nambient: 64 degF\nprices: {hydro: 45.00 USD}\n"
STATION = """\
compressor: {name: C1}
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 4400 psi}]}
  - {name: B2, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 4900 psi}]}
air_tests:
  - {on: 2026-08-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none, source: B1}
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none, source: C1}
regulator_set: 3000 psi
"""


def write(root: Path, cylinders: int = 2000, fills: int = 50_000) -> list[str]:
    """Write the ledger and return the ids of its cylinders; the same one every time."""
    chance = random.Random(cylinders)
    for folder in ("cylinders", "sets", "fills"):
        (root / folder).mkdir(parents=True, exist_ok=True)
    (root / "tankbook.yaml").write_text(SETTINGS)
    (root / "station.yaml").write_text(STATION)
    uses = [(prefix, use) for prefix, use, share in KINDS for _ in range(share)]
    ids = []
    for number in range(cylinders):
        prefix, use = uses[number % len(uses)]
        ids.append(f"{prefix}-{number:04}")
        text = _card(number, use, chance)
        (root / "cylinders" / f"{ids[-1]}.yaml").write_text(text)
    rentals = [i for i in ids if i.startswith("RB")]
    for number in range(cylinders // 40):
        pair = ", ".join(rentals[2 * number : 2 * number + 2])
        text = f"cylinders: [{pair}]\nisolator: open\nuse: rental\n"
        (root / "sets" / f"DB-{number:03}.yaml").write_text(text)
    _write_log(root, ids, fills, chance)
    _write_bookings(root, chance)
    return ids


def _card(number: int, use: str, chance: random.Random) -> str:
    """A good cylinder with a history; one in fifty is out, held, away or in for work."""
    day = TODAY - dt.timedelta(days=chance.randrange(20, 400))
    tested = f"{chance.randrange(2022, 2025)}-{chance.randrange(1, 11):02}"
    text = books.GOOD.replace("K118204", f"K{200000 + number}").replace("2026-02-09", str(day))
    text = text.replace("2024-03", tested).replace(
        "use: rental", f"use: {use}\nplace: rack {number % 9}"
    )
    odd = number % 50
    if use == "rental":
        back = TODAY - dt.timedelta(days=chance.randrange(2, 300))
        entry = f"{{on: {back - dt.timedelta(days=1)}, to: B-{number}, until: {back}, back: {back}, valve: closed}}"
        text += f"rented:\n  - {entry}\n"
        if odd == 2:
            text = text.replace("status: in-service", "status: out")
            text += f"  - {{on: 2026-11-24, to: B-9{number}, until: 2026-11-2{4 + number % 3}}}\n"
    if odd == 1:
        text = text.replace("status: in-service", "status: held")
        text += "held:\n  - {on: 2026-11-01, by: MV, why: thread finding}\n"
    if use == "customer" and odd % 5 == 0:
        text += f"jobs:\n  - {{on: 2026-11-20, by: MV, work: [visual, fill], reference: C-{number}, promised: 2026-11-25}}\n"
    return text


def _write_log(root: Path, ids: list[str], fills: int, chance: random.Random) -> None:
    years: dict[int, list[str]] = {}
    begun = dt.datetime(2025, 1, 2, 8, tzinfo=dt.UTC)
    step = (dt.datetime(2026, 11, 24, tzinfo=dt.UTC) - begun) / max(fills, 1)
    for number in range(fills):
        at = begun + number * step
        summer = 4 <= at.month <= 9
        local = at.astimezone(dt.timezone(dt.timedelta(hours=2 if summer else 1)))
        years.setdefault(local.year, []).append(_line(local.replace(microsecond=0), ids, chance))
    for year, lines in years.items():
        text = "\n".join([",".join(columns(LogLine)), *lines, ""])
        (root / "fills" / f"{year}.csv").write_text(text)


def _line(at: dt.datetime, ids: list[str], chance: random.Random) -> str:
    id_, degrees = chance.choice(ids), chance.randrange(62, 67)
    if chance.random() < 0.05:
        left = 2500 if id_.endswith("77") else chance.randrange(2850, 2920)
        return f"{at.isoformat()},{id_},reading,,{left} psi,{degrees} degF,,,,MV,,,,,,"
    # never half full: it may have been looked inside since it was filled last
    before, to = chance.randrange(3, 15) * 100, chance.randrange(287, 291) * 10
    source = chance.choice(("B1", "B2", "B1+B2", "C1"))
    note = "looked over" if chance.random() < 0.9 else f"note {chance.randrange(999)}"
    return f"{at.isoformat()},{id_},fill,{before} psi,{to} psi,{degrees} degF,air,,,MV,,{source},P1,,,{note}"


def _write_bookings(root: Path, chance: random.Random) -> None:
    rows = ["date,reference,use,size,gas,count"]
    for ahead in range(14):
        day = TODAY + dt.timedelta(days=ahead)
        rows += [f"{day},B-{ahead}{n},rental,11.1 L,air,{chance.randrange(1, 8)}" for n in range(6)]
    (root / "bookings.csv").write_text("\n".join([*rows, ""]))


def lines_in(root: Path) -> Iterator[str]:
    """Every line of the log but the headers."""
    for path in sorted((root / "fills").glob("*.csv")):
        yield from path.read_text().splitlines()[1:]
