"""The gauges of the fill station: on which a fill is read, and whether they tell the truth."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from tankbook.records.rulerow import Obligation
from tankbook.records.station import (
    Bank,
    Gauge,
    GaugeCheck,
    Station,
    fitted_in_doubt,
    masters_of,
    new_since,
    that_stand,
)
from tankbook.rules.fill_history import GAUGE_ERROR, GAUGE_ERROR_AT_MOST, HAIR, is_above
from tankbook.rules.inforce import InForce
from tankbook.units import GaugePressure, PartialDate


def read_gauges(station: Station) -> tuple[Gauge, ...]:
    """The gauges that a fill is read on: the masters; where there is none, those of no position and
    no bank; else all."""
    masters = masters_of(station)
    return masters or tuple(g for g in station.gauges if not g.position) or station.gauges


def off_by_too_much(station: Station, gauge: Gauge, rules: InForce) -> GaugeCheck | None:
    """The newest check by which a gauge was off by more than it may err; else None. It is replaced
    and not corrected for: that it read right on a later day mends nothing. Of several points of the
    scale on one day the worst counts. What was found before a new one was fitted was of the old
    one; and of when it was fitted, where it was compared again since at what is within its error of
    the same pressure, as compared last."""
    most = allowance(station, gauge, rules)
    off = _off(comparisons_of(gauge), new_since(gauge), most)
    low = [c for c in off if is_low(c)] or off  # what fills too much, before what fills too little
    newest = [c for c in low if c.on == low[-1].on]
    return min(newest, key=lambda c: c.reads.pa - c.true.pa, default=None)


def _off(
    checks: Sequence[GaugeCheck], fitted: PartialDate | None, most: GaugePressure
) -> list[GaugeCheck]:
    """Those of the comparisons of one gauge, oldest first, by which it was off by too much."""
    own = [
        c
        for place, c in enumerate(checks, 1)
        if not (
            may_be_of_the_old(c.on, fitted)
            and any(abs(later.true.pa - c.true.pa) <= most.pa for later in checks[place:])
        )
    ]
    return [c for c in own if abs(c.reads.pa - c.true.pa) > most.pa + HAIR.pa]


def comparisons_of(gauge: Gauge) -> tuple[GaugeCheck, ...]:
    """What a gauge was compared at since it was new, oldest first: what stands and is not surely of
    the one before it."""
    fitted = new_since(gauge)
    return tuple(c for c in that_stand(gauge.checked) if not is_older(c.on, fitted))


def proofs_of(station: Station, gauge: Gauge, rules: InForce) -> tuple[GaugeCheck, ...]:
    """Those of its comparisons that prove a gauge: against a test gauge, or against one of the
    station's own that was proved true itself. What is found by another is found all the same: that
    it reads low by one that nobody compared is not doubted."""
    return tuple(c for c in comparisons_of(gauge) if _proves(station, c, rules, (gauge,)))


def unproved(station: Station, gauge: Gauge, rules: InForce) -> str:
    """Why nobody knows that what is read on a gauge is true; empty where a comparison proves it."""
    compared = comparisons_of(gauge)
    if proofs_of(station, gauge, rules):
        return ""
    named = "the master gauge" if gauge in masters_of(station) else "gauge"
    since = new_since(gauge)
    if not compared:
        anew = gauge.checked and since
        never = f"was not compared since it was new, {since}" if anew else ""
        return f"{named} {gauge.name} {never or 'was never compared with a test gauge'}"
    own = compared[-1].against
    return f"{named} {gauge.name} was compared with {own} alone, which nobody found true itself"


def _proves(station: Station, check: GaugeCheck, rules: InForce, asked: tuple[Gauge, ...]) -> bool:
    """Whether what a gauge was compared with was true then, as far as the station says: what is no
    gauge of its own is a test gauge. `asked` are those that this is asked for."""
    own = _own_named(station, check.against, check.on)
    return all(
        each not in asked and _was_true(station, each, check.on, rules, (*asked, each))
        for each in own
    )


_BESIDE = frozenset({"a", "gauge", "our", "own", "station", "stations", "the"})
"""What is written beside the label of a gauge, or instead of it."""


def _own_named(station: Station, named: str, on: dt.date) -> tuple[Gauge, ...]:
    """The gauges of the station that somebody names, however they are written: `gauge G2`, `g 2`,
    `the master`."""
    words = [w for w in re.findall(r"[^\W_]+", named.casefold()) if w not in _BESIDE]
    label = "".join(words)
    own = tuple(g for g in station.gauges if _plain(g.name) in {label, _plain(named)})
    return own or (masters_of(station, on) if label == "master" else ())


def _plain(name: str) -> str:
    return "".join(re.findall(r"[^\W_]+", name.casefold()))


def _was_true(
    station: Station, gauge: Gauge, on: dt.date, rules: InForce, asked: tuple[Gauge, ...]
) -> bool:
    """Whether one of the station's own gauges was proved true as it was on a day: some time while
    that one was there, and it was not found off before that, nor between that and the day. On the
    day of a change either was there."""
    every, most = that_stand(gauge.checked), allowance(station, gauge, rules)
    edges: list[PartialDate | None] = [None, *_changes_of(gauge, dt.date.max), None]
    for begun, ended in pairwise(edges):
        first = begun.first if begun else dt.date.min
        last = ended.last if ended else dt.date.max
        if not first <= on <= last:
            continue
        own = [c for c in every if first <= c.on <= last]
        off = {c.on for c in _off(own, begun, most)}
        true = {c.on for c in own if _proves(station, c, rules, asked)} - off
        wrong = min(off, default=dt.date.max)
        if not any(t < wrong and (wrong == dt.date.max or on <= t) for t in true):
            return False
    return True


def may_be_of_the_old(on: dt.date, fitted: PartialDate | None) -> bool:
    """Whether what was found when a new part was fitted may have been of the one before it."""
    return fitted is not None and fitted.first <= on <= fitted.last


class Unvouched(Struct, frozen=True):
    """A time in which nobody knows that a gauge was true.

    Attributes:
        since: its first day; None where that is the first of the log.
        until: its last; None where it is not over.
        why: what its first day rests on.
    """

    since: dt.date | None
    until: dt.date | None
    why: str

    def covers(self, day: dt.date) -> bool:
        """Whether a day lies in it."""
        begun = self.since is None or day >= self.since
        return begun and (self.until is None or day <= self.until)


def unvouched(
    station: Station, gauge: Gauge, rules: InForce, today: dt.date
) -> tuple[Unvouched, ...]:
    """When nobody knows that what is called by a gauge's label was true, oldest first.

    Of the one that is there, since it was last found true before it was first found off; of each
    before it that was found off, from then to when it was replaced. What was read on the day of
    that was read on either. Where the one that is there was never found true, the one before it
    counts though nobody found it off.
    """
    every = [c for c in that_stand(gauge.checked) if c.on <= today]
    edges: list[PartialDate | None] = [None, *_changes_of(gauge, today), None]
    found, vouched = list[Unvouched](), False
    for begun, ended in reversed(list(pairwise(edges))):
        first = begun.first if begun else None
        last = ended.last if ended else None
        own = [c for c in every if (not first or c.on >= first) and (not last or c.on <= last)]
        off = {c.on for c in _off(own, begun, allowance(station, gauge, rules))}
        # that one was true on the day of the change may be said of the next
        proved = (c for c in own if _proves(station, c, rules, (gauge,)))
        good = {c.on for c in proved if not may_be_of_the_old(c.on, ended)} - off
        true = max((on for on in good if on < min(off, default=dt.date.max)), default=None)
        if ended is None or off or not vouched:
            found.append(Unvouched(true or first, last, _rests_on(true, begun, ended)))
        vouched = vouched or bool(good)
    return tuple(reversed(found))


def _changes_of(gauge: Gauge, today: dt.date) -> list[PartialDate]:
    """When a new gauge took the place of another, oldest first."""
    days = {PartialDate.of(c.on) for c in that_stand(gauge.renewed) if c.on <= today}
    fitted = None if fitted_in_doubt(gauge) else gauge.fitted
    if fitted is not None and not any(may_be_of_the_old(d.first, fitted) for d in days):
        days.add(fitted)
    return sorted(days, key=lambda day: day.last)


def _rests_on(true: dt.date | None, begun: PartialDate | None, ended: PartialDate | None) -> str:
    """What the first day rests on from which nobody knows that a gauge was true."""
    which = f"of the one that was replaced {ended} " if ended else ""
    if true is not None:
        its = f"the last check {which}" if ended else "its last check "
        return f"{its}that found it true was on {true}"
    if begun is not None:
        return f"no check {which}found it true since it was new, {begun}"
    return f"no check {which}that found it true is on record: the whole log counts"


def off_said(check: GaugeCheck) -> str:
    """By how much it read off, and since when: `reads 150 psi above true since 2026-11-20`."""
    unit = check.true.unit
    by = abs(check.reads.to(unit) - check.true.to(unit))
    return f"reads {by:.0f} {unit} {'below' if is_low(check) else 'above'} true since {check.on}"


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


def bank_gauges(station: Station, bank: Bank) -> tuple[Gauge, ...]:
    """The gauges that a bank may be read on: its own, and those that a fill is read on."""
    name = bank.name.casefold()
    own = [g for g in station.gauges if (g.position or "").casefold() == name]
    return tuple(dict.fromkeys((*own, *read_gauges(station))))


def reading_error(station: Station, bank: Bank, rules: InForce) -> GaugePressure:
    """The most by which any gauge that a bank is read on may err."""
    bands = [allowance(station, g, rules) for g in bank_gauges(station, bank)]
    return max(bands or [min(station.gauge_error or GAUGE_ERROR, GAUGE_ERROR_AT_MOST)])


def is_over_mark(station: Station, bank: Bank, reads: GaugePressure, rules: InForce) -> bool:
    """Whether a bank stands above the working pressure marked on it, by more than any gauge that it
    is read on may err; never of one whose mark is not on record."""
    most = bank.working_pressure
    return most is not None and is_above(reads, most, reading_error(station, bank, rules))


def is_far_over_mark(bank: Bank, reads: GaugePressure, rules: InForce) -> bool:
    """Whether a bank reads so far above its mark that it was mostly misread: by more than the least
    share that a row says, or by anything where none does."""
    shares = [r.share.percent for r in rules.rows[Obligation.BANK_HOLD] if r.share is not None]
    most = bank.working_pressure
    above = min(shares, default=0.0) / 100
    return most is not None and reads.pa > most.pa * (1 + above) + HAIR.pa


def highest_mark(station: Station) -> GaugePressure | None:
    """The highest pressure that is marked on a source or a part of the panel."""
    marked = [b.working_pressure for b in station.banks]
    marked += [p.rating for p in station.positions]
    marked += [w.rating for w in station.whips]
    marked += [c.max_pressure for c in station.every_compressor]
    marked += [station.panel.rating if station.panel else None]
    return max((p for p in marked if p is not None), default=None)
