"""A session plan read back from the file that `plan --json` wrote."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tankbook.acts.session import Planned, PlannedSession
from tankbook.gas import Gas, GasError
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.ordinary import named
from tankbook.units import GaugePressure, Temperature, UnitError

WAITS = "wait"
LARGEST = 8 << 20
"""Bytes of the largest plan that is read; that of a hundred cylinders has some hundred thousand."""


def read_plan(path: Path, compressor: str) -> PlannedSession:
    """The plan in a file.

    Args:
        path: the file.
        compressor: what the compressor is called in the log.

    Raises:
        LedgerError: the file cannot be read, or is no plan.
    """
    try:
        data: Any = json.loads(named(path, LARGEST).decode())
    except (ValueError, RecursionError) as error:
        mend = "write one with `tankbook plan --json`"
        raise LedgerError(str(path), "this is not JSON text", mend) from error
    try:
        return _session(data, compressor)
    except (KeyError, TypeError, ValueError, AttributeError, UnitError, GasError) as error:
        text = f"this is no session plan ({type(error).__name__}: {error})"
        raise LedgerError(str(path), text, "write one with `tankbook plan --json`") from error


def _session(data: Mapping[str, Any], compressor: str) -> PlannedSession:
    unit = str(data["unit"])
    sources: dict[str, list[str]] = {}
    for step in data["steps"]:
        name = str(step["source"]) or compressor
        for change in step["cylinders"]:
            # a source that was opened to it is one, however little was to come of it
            if step["act"] != WAITS and str(change["id"]) != name:
                sources.setdefault(str(change["id"]), []).append(name)
    loads = {i: load for load in data["loads"] for i in load["positions"]}
    cylinders = []
    for one in data["cylinders"]:
        id_ = str(one["id"])
        if one["start"] is None or one["holds"] is None:
            continue
        load = loads.get(id_)
        cylinders.append(
            Planned(
                id=id_,
                start=GaugePressure.of(float(one["start"]), unit),
                holds=GaugePressure.of(float(one["holds"]), unit),
                sources=tuple(sources.get(id_, ())),
                position=str(load["positions"][id_]) if load else "",
                fill_pressure=GaugePressure.of(float(load["fill_pressure"]), unit)
                if load
                else None,
            )
        )
    ambient = Temperature.of(round(float(data["ambient_c"]), 2), "degC")
    return PlannedSession(Gas.parse(str(data["gas"])), ambient, tuple(cylinders))
