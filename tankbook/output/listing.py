"""A list of cylinders, one a line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct

from tankbook.output.as_csv import Cell
from tankbook.output.as_json import number
from tankbook.output.page import Page, counted
from tankbook.output.tables import table
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.rules.tested import first_test

HEADERS = ("id", "use", "size", "pressure", "gas", "tested", "status", "fill")


class Listed(Struct, frozen=True):
    """A cylinder as listed: what it holds and whether it may be filled now."""

    cylinder: Cylinder
    size: str
    gas: str
    standing: str
    fillable: bool
    ready: bool


def data(rows: Sequence[Listed]) -> list[dict[str, Any]]:
    """The JSON shape of `list`."""
    return [
        {
            "id": row.cylinder.id,
            "serial": row.cylinder.serial,
            "use": row.cylinder.use,
            "size": row.size or None,
            "service": row.cylinder.service,
            "service_pressure": row.cylinder.service_pressure,
            "first_test": first_test(row.cylinder),
            "gas": row.gas or None,
            "stands": row.standing,
            "fillable": row.fillable,
            "ready": row.ready,
            "place": row.cylinder.place,
        }
        for row in rows
    ]


COLUMNS = (
    "id",
    "serial",
    "maker",
    "use",
    "size",
    "water_volume_L",
    "service",
    "service_pressure",
    "service_pressure_unit",
    "first_test",
    "gas",
    "status",
    "may_be_filled",
    "ready",
    "place",
    "owner",
)
"""The columns of `list --csv`."""


def lines(rows: Sequence[Listed]) -> list[tuple[Cell, ...]]:
    """The lines of `list --csv`."""
    found: list[tuple[Cell, ...]] = []
    for row in rows:
        c = row.cylinder
        marked = c.service_pressure
        found.append(
            (
                c.id,
                c.serial,
                c.maker,
                c.use.value if c.use else None,
                row.size,
                number(c.water_volume.litres) if c.water_volume else None,
                c.service.value if c.service else None,
                number(marked.to(marked.unit)) if marked else None,
                marked.unit if marked else None,
                first_test(c),
                row.gas,
                row.standing,
                row.fillable,
                row.ready,
                c.place,
                c.owner,
            )
        )
    return found


def text(
    rows: Sequence[Listed], asked: str, page: Page, sets: Mapping[str, Doubles] | None = None
) -> str:
    """How many there are of what was asked, then one line each, and the sets they make up.

    The column `tested` is the first test, `fill` whether it is ready to go out or may be filled.
    """
    head = f"{counted(len(rows), 'cylinder')}{asked}"
    ready = sum(row.ready for row in rows)
    if rows:
        head += f"; {ready} ready to go out, {sum(r.fillable for r in rows)} may be filled"
    body = table(HEADERS, [_cells(row) for row in rows], page, wrap=("size", "status"))
    parts = [page.wrap(head, hang="  "), *(["", body] if rows else [])]
    if sets:
        named = [f"{name} ({', '.join(doubles.cylinders)})" for name, doubles in sets.items()]
        parts += ["", page.wrap(f"Sets: {', '.join(named)}", hang="  ")]
    return "\n".join([*parts, ""])


def _cells(row: Listed) -> tuple[str, ...]:
    cylinder = row.cylinder
    return (
        cylinder.id,
        cylinder.use.value if cylinder.use else "-",
        row.size or "-",
        str(cylinder.service_pressure or "-"),
        row.gas or "-",
        str(first_test(cylinder) or "-"),
        row.standing.replace("-", " "),
        "ready" if row.ready else "yes" if row.fillable else "NO",
    )
