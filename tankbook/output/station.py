"""The fill station as it stands: open or closed first, then its parts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct

from tankbook.output import due as due_output
from tankbook.output.as_json import number
from tankbook.output.may_fill import briefly
from tankbook.output.page import Page, ago
from tankbook.output.sources import Sources
from tankbook.output.tables import table
from tankbook.output.words import CAUTION
from tankbook.records.rulerow import Gate
from tankbook.records.station import AirTest, Bank, Gauge, Station, that_stand
from tankbook.rules.answers import BankState, Due, Reason
from tankbook.rules.meter import newest


class State(Struct, frozen=True):
    """What is known of the station on a day."""

    station: Station
    today: dt.date
    reasons: tuple[Reason, ...]
    dues: tuple[Due, ...]
    banks: tuple[BankState, ...]

    @property
    def shut(self) -> tuple[Reason, ...]:
        """The reasons why nothing is filled."""
        return tuple(r for r in self.reasons if r.gate is Gate.REFUSE)

    @property
    def air_test(self) -> AirTest | None:
        """The newest air test."""
        return next(iter(reversed(that_stand(self.station.air_tests))), None)


def data(state: State) -> dict[str, Any]:
    """The JSON shape of `station`. Pressures are gauge."""
    station, test = state.station, state.air_test
    meter = newest(station.compressor)
    regulator = station.regulator_set
    return {
        "open": not state.shut,
        "reasons": [
            {"code": r.code, "text": r.text, "citation": r.citation, "gate": r.gate}
            for r in state.reasons
        ],
        "regulator_psi": number(regulator.psi if regulator else None),
        "regulator_bar": number(regulator.bar if regulator else None),
        "hours": number(meter.reads.hours if meter else None),
        "air_test": {"on": test.on, "standard": test.standard, "result": test.result}
        if test
        else None,
        "banks": [
            _bank(bank, as_read) for bank, as_read in zip(station.banks, state.banks, strict=True)
        ],
        "gauges": [_gauge(g) for g in station.gauges],
        "due": due_output.data(state.dues),
    }


def _bank(bank: Bank, as_read: BankState) -> dict[str, Any]:
    most, pressure = bank.working_pressure, as_read.pressure
    return {
        "name": bank.name,
        "water_volume_l": number(bank.water_volume.litres),
        "working_psi": number(most.psi if most else None),
        "working_bar": number(most.bar if most else None),
        "gas": as_read.gas,
        "grade": bank.grade,
        "pressure_psi": number(pressure.psi if pressure else None),
        "pressure_bar": number(pressure.bar if pressure else None),
        "read_on": as_read.read_on,
        "stale": as_read.stale,
    }


def _gauge(gauge: Gauge) -> dict[str, Any]:
    check = next(iter(reversed(that_stand(gauge.checked))), None)
    return {
        "name": gauge.name,
        "master": gauge.master,
        "position": gauge.position,
        "checked_on": check.on if check else None,
        "against": check.against if check else None,
        "off_psi": number(check.reads.psi - check.true.psi if check else None),
        "off_bar": number(check.reads.bar - check.true.bar if check else None),
    }


def text(state: State, page: Page) -> str:
    """The station as text."""
    parts = [page.wrap(headline(state), hang="    ")]
    others = (r for r in state.reasons if not (state.shut and r is state.shut[0]))
    parts += [page.wrap(f"* {briefly(r)}", hang="  ") for r in others]
    if state.station.banks:
        parts += ["", *_banks(state, page)]
    if state.station.gauges:
        parts += ["", *_gauges(state.station.gauges, page)]
    parts += ["", *_facts(state, page)]
    if state.dues:
        sources = Sources()
        parts += ["", due_output.lines(state.dues, page, sources), "", *sources.lines(page)]
    return "\n".join([*parts, "", page.wrap(CAUTION), ""])


def headline(state: State) -> str:
    """`OPEN` or `CLOSED` and the first reason."""
    if state.shut:
        return f"CLOSED: {briefly(state.shut[0])}"
    test = state.air_test
    said = f"; air test of {test.on} passed" if test else ""
    return f"OPEN{said}"


def _banks(state: State, page: Page) -> Iterator[str]:
    rows = []
    for bank, as_read in zip(state.station.banks, state.banks, strict=True):
        stale = " STALE" if as_read.stale and as_read.read_on else ""
        rows.append(
            (
                bank.name,
                f"{bank.water_volume}",
                page.marked(bank.working_pressure) if bank.working_pressure else "-",
                f"{as_read.gas}{f', {bank.grade}' if bank.grade else ''}",
                page.pressure(as_read.pressure) if as_read.pressure else "not read",
                f"{ago(as_read.read_on, state.today)}{stale}" if as_read.read_on else "-",
            )
        )
    yield table(("bank", "volume", "marked", "gas", "reads", "read"), rows, page, wrap=("gas",))


def _gauges(gauges: Sequence[Gauge], page: Page) -> Iterator[str]:
    rows = []
    for gauge in gauges:
        check = next(iter(reversed(that_stand(gauge.checked))), None)
        unit = page.shore.value
        off = f"{check.reads.to(unit) - check.true.to(unit):+.0f} {unit}" if check else "-"
        name = f"{gauge.name} (master)" if gauge.master else gauge.name
        on, against = (str(check.on), check.against) if check else ("never", "-")
        rows.append((name, gauge.position or "-", off, on, against))
    headers = ("gauge", "of", "off by", "checked", "against")
    yield table(headers, rows, page, wrap=("against",))


def _facts(state: State, page: Page) -> Iterator[str]:
    station = state.station
    regulator = station.regulator_set
    yield f"Fill regulator: {page.marked(regulator) if regulator else 'not recorded'}"
    if station.compressor:
        last = newest(station.compressor)
        name = station.compressor.name or "Compressor"
        yield f"{name}: {f'{last.reads} on {last.on}' if last else 'hour meter not read'}"
    test = state.air_test
    if test:
        standard = f", {test.standard}" if test.standard else ""
        yield f"Air test: {test.on}, {test.by or 'by nobody named'}{standard}: {test.result}"
