"""A session plan read back from the file that `plan --json` wrote."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tankbook.acts.session import BankTold, Planned, PlannedSession
from tankbook.gas import Gas, GasError
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.ordinary import given
from tankbook.records.log import LEAST_HELD, MOST_MINUTES, FillTook
from tankbook.units import GaugePressure, Temperature, UnitError

WAITS = "wait"
_TIMED = frozenset({"load", "number", "minutes", "in_turn", "held_minutes"})
"""What the steps of a plan say of their time; a hand-made one may not."""
HELD = "held at the stop until the time is up"
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
        data: Any = json.loads(given(path, LARGEST).decode())
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
                took=_took(data, id_),
                at_most=_at_most(data, id_, unit),
                stop=_stop(data, id_, unit),
            )
        )
    ambient = Temperature.of(round(float(data["ambient_c"]), 2), "degC")
    told = tuple(_told(each, unit) for each in data.get("banks_read") or ())
    return PlannedSession(Gas.parse(str(data["gas"])), ambient, tuple(cylinders), told)


def _told(said: Mapping[str, Any], unit: str) -> BankTold:
    """A reading of a bank that a plan was given."""
    return BankTold(
        str(said["bank"]),
        GaugePressure.of(float(said["pressure"]), unit),
        dt.date.fromisoformat(said["on"]),
        None if said["at"] is None else dt.time.fromisoformat(said["at"]).replace(tzinfo=None),
    )


def _at_most(data: Mapping[str, Any], id_: str, unit: str) -> GaugePressure | None:
    """The most that a cylinder may be read at once it has cooled, where the plan says so: the end
    of its band, and no more than half way to the stop."""
    own = [c for s in data["steps"] for c in s["cylinders"] if str(c["id"]) == id_]
    said = [own[-1].get("settles_to"), _latest(own[-1]), own[-1].get("settles_high")] if own else []
    if not said or None in said:
        return None
    settles, stop, high = map(float, said)
    return GaugePressure.of(min(high, (settles + stop) / 2), unit)


def _latest(change: Mapping[str, Any]) -> Any:
    """The highest that the gauge of a cylinder may be stopped at in a step; a plan that was saved
    by an earlier version names no `at_most`."""
    most, stop = change.get("at_most"), change.get("stop_at")
    return stop if most is None else most


def _stop(data: Mapping[str, Any], id_: str, unit: str) -> GaugePressure | None:
    """Where a cylinder is stopped at the latest, where the plan says so."""
    own = [_latest(c) for s in data["steps"] for c in s["cylinders"] if str(c["id"]) == id_]
    if not own or None in own:
        return None
    return GaugePressure.of(max(map(float, own)), unit)


def _took(data: Mapping[str, Any], id_: str) -> FillTook | None:
    """How long the plan has a cylinder filled: from where it is first opened to where it is shut
    for the last time, of one connection."""
    if any(not step.keys() >= _TIMED for step in data["steps"]):
        return None
    flows = [
        (step, changes, place)
        for step in data["steps"]
        for changes in [step["cylinders"]]
        for place, change in enumerate(changes)
        if str(change["id"]) == id_
    ]
    if not flows or len({step["load"] for step, *_ in flows}) > 1:
        return None
    (first, changes, place), (last, ends, at) = flows[0], flows[-1]
    between = [s for s in data["steps"] if first["number"] < s["number"] < last["number"]]
    minutes = sum(float(step["minutes"]) for step in between)
    if first["number"] == last["number"]:
        minutes = float(ends[at]["minutes"])
    else:
        later = changes[place:] if first["in_turn"] else [changes[place]]
        before = ends[: at + 1] if last["in_turn"] else [ends[at]]
        minutes += sum(float(change["minutes"]) for change in (*later, *before))
    held = float(last["held_minutes"]) if str(ends[at]["ends"]) == HELD else 0.0
    known = LEAST_HELD <= minutes <= MOST_MINUTES
    return FillTook(minutes, min(held, minutes)) if known else None
