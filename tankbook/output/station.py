"""The fill station as it stands: open or closed first, then its parts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from msgspec import Struct

from tankbook.output import due as due_output
from tankbook.output.as_json import pressures
from tankbook.output.board import OUT
from tankbook.output.may_fill import briefly, reason_data, with_mend
from tankbook.output.page import Page, ago
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.output.words import CAUTION
from tankbook.records.entries import standing
from tankbook.records.rulerow import Gate
from tankbook.records.station import (
    COMPRESSOR,
    AirTest,
    Bank,
    Booster,
    Certificate,
    Compressor,
    Enricher,
    Gauge,
    GaugeCheck,
    Station,
    masters_of,
    that_stand,
)
from tankbook.records.words import Grade
from tankbook.rules.answers import BankState, Due, Reason
from tankbook.rules.gauges import comparisons_of
from tankbook.rules.meter import newest
from tankbook.rules.source_grade import SourceGrade


class StationState(Struct, frozen=True):
    """What is known of the station on a day."""

    station: Station
    today: dt.date
    reasons: tuple[Reason, ...]
    dues: tuple[Due, ...]
    banks: tuple[BankState, ...]
    out_of_use: tuple[tuple[str, Reason], ...] = ()
    graded: tuple[tuple[str, SourceGrade], ...] = ()
    unmeasured: tuple[str, ...] = ()
    """What the newest air test leaves out, as an air test calls it."""

    @property
    def shut(self) -> tuple[Reason, ...]:
        """The reasons why nothing is filled."""
        return tuple(r for r in self.reasons if r.gate is Gate.REFUSE)

    @property
    def air_test(self) -> AirTest | None:
        """The newest air test."""
        return next(iter(reversed(that_stand(self.station.air_tests))), None)

    @property
    def read_banks(self) -> list[ReadBank]:
        """Each bank with what was last read of it."""
        return list(zip(self.station.banks, self.banks, strict=True))

    @property
    def checked_gauges(self) -> list[CheckedGauge]:
        """Each gauge with its newest check since it was new that stands."""
        newest = ((g, next(iter(reversed(comparisons_of(g))), None)) for g in self.station.gauges)
        masters = masters_of(self.station)
        return [CheckedGauge(g, check, g in masters) for g, check in newest]


ReadBank = tuple[Bank, BankState]


class CheckedGauge(NamedTuple):
    """A gauge, its newest check, and whether fills are read on it."""

    gauge: Gauge
    check: GaugeCheck | None
    master: bool


def data(state: StationState) -> dict[str, Any]:
    """The JSON shape of `station`. Pressures are gauge."""
    station, test = state.station, state.air_test
    meter = newest(station.only_compressor)
    return {
        "open": not state.shut,
        "reasons": [reason_data(r) for r in state.reasons],
        **pressures(regulator=station.regulator_set),
        "hours": meter.reads.hours if meter else None,
        "compressors": [_pump(c) for c in station.every_compressor],
        "boosters": [_pump(b) for b in station.boosters],
        "sources": [_source(s, dict(state.graded)) for s in station.sources],
        "ordinary": [{"name": n, "why": g.why, "mend": g.mend} for n, g in state.graded if g.why],
        "air_test": {
            "on": test.on,
            "at": f"{test.at:%H:%M}" if test.at else None,
            "standard": test.standard,
            "result": test.result,
            "unmeasured": list(state.unmeasured),
            **_paper(test.certificate),
        }
        if test
        else None,
        "banks": _banks(state.today).objects(state.read_banks),
        "gauges": _gauges(Page()).objects(state.checked_gauges),
        "out_of_use": OUT.objects(state.out_of_use),
        "due": due_output.data(state.dues),
    }


def _pump(pump: Compressor | Booster) -> dict[str, Any]:
    """A compressor or a booster with what its meter shows."""
    last = newest(pump)
    return {
        "name": pump.name or COMPRESSOR,
        "hours": last.reads.hours if last else None,
        "read_on": last.on if last else None,
        "grade": pump.grade,
        **pressures(max=pump.max_pressure),
    }


def _source(source: Enricher, graded: Mapping[str, SourceGrade]) -> dict[str, Any]:
    """A membrane or a blender, and how clean what it gives is today."""
    found = graded.get(source.name)
    return {
        "name": source.name,
        "kind": source.kind,
        "of": source.of,
        "oxygen_from": source.oxygen_from.percent if source.oxygen_from else None,
        "oxygen_to": source.oxygen_to.percent if source.oxygen_to else None,
        "grade": found.grade if found else None,
    }


def _makes(source: Enricher) -> str:
    """`membrane, 24 to 36 % oxygen`."""
    least, most = source.oxygen_from, source.oxygen_to
    if least and most:
        return f"{source.kind}, {least.percent:g} to {most.percent:g} % oxygen"
    bound = f", up to {most.percent:g} % oxygen" if most else ""
    return f"{source.kind}{bound or (f', from {least.percent:g} % oxygen' if least else '')}"


def _banks(today: dt.date) -> Table[ReadBank]:
    """What is said of a bank."""

    def holds(bank: ReadBank) -> str:
        return f"{bank[1].gas}{f', {bank[0].grade}' if bank[0].grade else ''}"

    def age(bank: ReadBank) -> str | None:
        on = bank[1].read_on
        return f"{ago(on, today)}{' STALE' if bank[1].stale else ''}" if on else None

    return Table[ReadBank](
        Column("name", lambda b: b[0].name),
        Column("", lambda b: f"{b[0].name}{_stands(b[1])}", "bank"),
        Column("water_volume", lambda b: b[0].water_volume, "volume", units=("l",)),
        Column(
            "working",
            lambda b: b[0].working_pressure,
            "marked",
            reading=Page.marked,
            units=PRESSURE,
        ),
        Column("gas", lambda b: b[1].gas),
        Column("grade", lambda b: b[0].grade),
        Column("", holds, "gas", wrap=True),
        Column("pressure", lambda b: b[1].pressure, "reads", none="not read", units=PRESSURE),
        Column("read_on", lambda b: b[1].read_on),
        Column("stale", lambda b: b[1].stale),
        Column("", age, "read"),
        Column("held", lambda b: b[1].held or None),
        Column("asked", lambda b: b[1].asked or None),
        Column("certificate", lambda b: _of_newest_test(b[0])["certificate"]),
        Column("certificate_sha256", lambda b: _of_newest_test(b[0])["certificate_sha256"]),
    )


def _stands(bank: BankState) -> str:
    """What is said beside a bank that is out of use, or whose gas leaves only once analysed."""
    return " OUT OF USE" if bank.held else " ANALYSE" if bank.asked else ""


def _of_newest_test(bank: Bank) -> dict[str, str | None]:
    """The certificate of the newest test of a bank that stands."""
    test = next(iter(reversed(standing(bank.requalified))), None)
    return _paper(test.certificate if test else None)


def _gauges(page: Page) -> Table[CheckedGauge]:
    """What is said of a gauge and its newest check."""
    unit = page.shore.value

    def off(pair: CheckedGauge, unit: str) -> float | None:
        check = pair.check
        return check.reads.to(unit) - check.true.to(unit) if check else None

    return Table[CheckedGauge](
        Column("name", lambda g: g.gauge.name),
        Column("master", lambda g: g.master),
        Column("", lambda g: f"{g.gauge.name}{' (master)' if g.master else ''}", "gauge"),
        Column("position", lambda g: g.gauge.position, "of"),
        Column("", lambda g: off(g, unit), "off by", lambda off: f"{off:+.0f} {unit}"),
        Column("checked_on", lambda g: g.check.on if g.check else None, "checked", none="never"),
        Column("against", lambda g: g.check.against if g.check else None, "against", wrap=True),
        Column("off_psi", lambda g: off(g, "psi")),
        Column("off_bar", lambda g: off(g, "bar")),
    )


def text(state: StationState, page: Page) -> str:
    """The station as text."""
    first = state.shut[0] if state.shut else None
    reopens = [f"* {first.mend}"] if first and first.mend else []
    others = (r for r in state.reasons if r is not first)
    return page.answer(
        headline(state),
        _banks(state.today).text(state.read_banks, page),
        _gauges(page).text(state.checked_gauges, page),
        "\n".join(_facts(state, page)),
        *due_output.sourced(state.dues, page),
        page.wrap(CAUTION),
        under=[
            *reopens,
            *(f"* {with_mend(r)}" for r in others),
            *(f"* WARNING: bank {b.asked}" for b in state.banks if b.asked and not b.held),
        ],
        hang="    ",
    )


def headline(state: StationState) -> str:
    """`OPEN` or `CLOSED` and the first reason."""
    if state.shut:
        return f"CLOSED: {briefly(state.shut[0])}"
    pumps = [c.name or COMPRESSOR for c in state.station.every_compressor]
    if len(pumps) > 1:
        out = [n for n in pumps if any(part == f"compressor {n}" for part, _ in state.out_of_use)]
        serve = ", ".join(n for n in pumps if n not in out)
        return f"OPEN; {serve} in use" + (f", {', '.join(out)} out of use" if out else "")
    test = state.air_test
    said = f"; air test of {test.on} passed{_unmeasured(state)}" if test else ""
    return f"OPEN{said}"


def _unmeasured(state: StationState) -> str:
    """`; not measured: odour`, of the newest air test."""
    return f"; not measured: {', '.join(state.unmeasured)}" if state.unmeasured else ""


def _facts(state: StationState, page: Page) -> Iterator[str]:
    station = state.station
    regulator = station.regulator_set
    yield f"Fill regulator: {page.marked(regulator) if regulator else 'not recorded'}"
    for pump in station.every_pump:
        last = newest(pump)
        name = pump.name or "Compressor"
        of = "Booster " if isinstance(pump, Booster) else ""
        yield f"{of}{name}: {f'{last.reads} on {last.on}' if last else 'hour meter not read'}"
    kinds = {s.name: f" ({_makes(s)})" for s in station.sources}
    for name, found in state.graded:
        said = "oxygen-compatible" if found.grade is Grade.OXYGEN else "ordinary air"
        if found.grade is None:
            said = "not taken as oxygen-compatible" if found.why else "grade not recorded"
        why = f": {found.why}" if found.why else ""
        why += f"; {found.mend}" if found.mend else ""
        yield page.wrap(f"{name}{kinds.get(name, '')}: {said}{why}")
    test, several = state.air_test, len(station.every_compressor) > 1
    if test:
        standard = f", {test.standard}" if test.standard else ""
        of = f" ({test.source_ or 'no source'})" if several else ""
        hour = f" {test.at:%H:%M}" if test.at else ""
        said = f"Air test{of}: {test.on}{hour}, {test.by or 'by nobody named'}{standard}"
        yield page.wrap(f"{said}: {test.result}{_unmeasured(state)}", hang="  ")
        if test.certificate:
            begins = test.certificate.sha256[:12]
            yield page.wrap(f"Its certificate: {test.certificate.name} (SHA-256 {begins}...)")


def _paper(paper: Certificate | None) -> dict[str, str | None]:
    return {
        "certificate": paper.name if paper else None,
        "certificate_sha256": paper.sha256 if paper else None,
    }
