"""The gauges of the fill station: on which a fill is read, and whether they tell the truth."""

from __future__ import annotations

import datetime as dt

from tankbook.records.rulerow import Obligation
from tankbook.records.station import Bank, Gauge, GaugeCheck, Station, that_stand
from tankbook.rules.fill_history import GAUGE_ERROR, GAUGE_ERROR_AT_MOST, HAIR, is_above
from tankbook.rules.inforce import InForce
from tankbook.units import GaugePressure, PartialDate


def read_gauges(station: Station) -> tuple[Gauge, ...]:
    """The gauges that a fill is read on: the masters; where there is none, those of no position and
    no bank; else all."""
    masters = tuple(g for g in station.gauges if g.master)
    return masters or tuple(g for g in station.gauges if not g.position) or station.gauges


def off_by_too_much(station: Station, gauge: Gauge, rules: InForce) -> GaugeCheck | None:
    """The newest check by which a gauge was off by more than it may err; else None. It is replaced
    and not corrected for: that it read right on a later day mends nothing. Of several points of the
    scale on one day the worst counts. What was found before a new one was fitted was of the old
    one; and of when it was fitted, where it was compared again since at what is within its error of
    the same pressure, as compared last."""
    checks = [c for c in that_stand(gauge.checked) if not is_older(c.on, gauge.fitted)]
    most = allowance(station, gauge, rules)
    own = [
        c
        for place, c in enumerate(checks, 1)
        if not (
            _may_be_of_the_old(c.on, gauge.fitted)
            and any(abs(later.true.pa - c.true.pa) <= most.pa for later in checks[place:])
        )
    ]
    off = [c for c in own if abs(c.reads.pa - c.true.pa) > most.pa + HAIR.pa]
    low = [c for c in off if is_low(c)] or off  # what fills too much, before what fills too little
    newest = [c for c in low if c.on == low[-1].on]
    return min(newest, key=lambda c: c.reads.pa - c.true.pa, default=None)


def _may_be_of_the_old(on: dt.date, fitted: PartialDate | None) -> bool:
    """Whether what was found when a new part was fitted may have been of the one before it."""
    return fitted is not None and fitted.first <= on <= fitted.last


def last_true(station: Station, gauge: Gauge, rules: InForce, today: dt.date) -> dt.date | None:
    """The last day, before the newest on which a gauge was off by too much, on which all points of
    its scale were true: from then on nobody knows since when it was off."""
    most = allowance(station, gauge, rules)
    checks = [c for c in that_stand(gauge.checked) if c.on <= today]
    off = {c.on for c in checks if abs(c.reads.pa - c.true.pa) > most.pa + HAIR.pa}
    newest = max(off, default=dt.date.max)
    return max((c.on for c in checks if c.on not in off and c.on < newest), default=None)


def is_low(check: GaugeCheck) -> bool:
    """Whether it read below true: what is filled by it is fuller than it says."""
    return check.reads < check.true


def is_older(on: dt.date, fitted: PartialDate | None) -> bool:
    """Whether something surely was of the part that was there before this one."""
    return fitted is not None and on < fitted.first


def allowance(station: Station, gauge: Gauge, rules: InForce) -> GaugePressure:
    """How far a gauge may err: its class, else the share of the rows, of its range; less where the
    station wants it (`gauge_error`). Of a range that nobody wrote down the highest pressure marked
    on what it may show stands for it, which is no more."""
    shares = [r.share for r in rules.rows[Obligation.GAUGE_CHECK] if r.share is not None]
    share = gauge.class_ or min(shares, default=None)
    reach = gauge.range_ or highest_mark(station)
    most = [GAUGE_ERROR_AT_MOST]
    if share is not None and reach is not None:
        most.append(GaugePressure.of(reach.value * share.percent / 100, reach.unit))
    elif station.gauge_error is None:
        most.append(GAUGE_ERROR)
    return min([*most, *([station.gauge_error] if station.gauge_error else [])])


def is_over_mark(station: Station, bank: Bank, reads: GaugePressure, rules: InForce) -> bool:
    """Whether a bank stands above the working pressure marked on it, by more than any gauge that it
    is read on may err; never of one whose mark is not on record."""
    most, name = bank.working_pressure, bank.name.casefold()
    own = [g for g in station.gauges if (g.position or "").casefold() == name]
    bands = [allowance(station, g, rules) for g in (*own, *read_gauges(station))]
    bands = bands or [min(station.gauge_error or GAUGE_ERROR, GAUGE_ERROR_AT_MOST)]
    return most is not None and is_above(reads, most, max(bands))


def highest_mark(station: Station) -> GaugePressure | None:
    """The highest pressure that is marked on a source or a part of the panel."""
    marked = [b.working_pressure for b in station.banks]
    marked += [p.rating for p in station.positions]
    marked += [w.rating for w in station.whips]
    marked += [c.max_pressure for c in station.every_compressor]
    marked += [station.panel.rating if station.panel else None]
    return max((p for p in marked if p is not None), default=None)
