"""Parts of the fill station that are out of use: what each is, since when, and what reopens it.

What is the case is found here, what follows from it the rule rows say. A part that is out keeps
those out that need it; where nothing else serves in its place, the station is closed. `may-fill`,
`fill`, `plan`, the board and `station` all ask here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.station import (
    COMPRESSOR,
    Bank,
    Booster,
    Checked,
    Compressor,
    Gauge,
    Position,
    Regulator,
    ReliefValve,
    Routine,
    Station,
    StationUpkeep,
    StationWalk,
    Whip,
    fitted_in_doubt,
    masters_of,
    new_since,
    that_stand,
)
from tankbook.records.words import InstrumentKind, PositionKind, TestResult
from tankbook.rules.answers import Due, Reason, State
from tankbook.rules.bank_out import banks_out
from tankbook.rules.bank_pressure import examined_under, stands_empty, unlifted
from tankbook.rules.carbon_monoxide import SAYS_CAUSE, co_alarms
from tankbook.rules.figures import OPEN_OVER_MIDNIGHT
from tankbook.rules.gauges import (
    allowance,
    highest_mark,
    is_low,
    may_be_of_the_old,
    off_by_too_much,
    off_said,
    proofs_of,
    read_gauges,
)
from tankbook.rules.incident_held import (
    checks_of,
    machine_part,
    machines_out,
    repaired_by,
    why_of,
)
from tankbook.rules.inforce import InForce, rules_of, speaks_of_station
from tankbook.rules.lapsed import dated_reason, recorded_with, tested_with_period
from tankbook.rules.mended import Mending, unmended
from tankbook.rules.meter import pump_of_upkeep
from tankbook.rules.pumps import against
from tankbook.rules.relief import bound_of, late_lift, weakest, weakest_of_all
from tankbook.rules.schedule import due_of_station, upkeep_failed, why_odd_without_period
from tankbook.rules.wording import says_no_answer
from tankbook.units import PartialDate, Period, time_of_day


class PartSort(StrEnum):
    """What a part of the station is."""

    BANK = "bank"
    BOOSTER = "booster"
    COMPRESSOR = "compressor"
    GAUGE = "gauge"
    POSITION = "position"
    REGULATOR = "regulator"
    RELIEF = "relief valve"
    WHIP = "whip"
    EVERY = "station"
    """All of it: nothing is filled."""


class StationPart(Struct, frozen=True):
    """A part of the station, by its label; the fill regulator has none."""

    kind: PartSort
    name: str = ""

    def __str__(self) -> str:
        """`bank B1`, `regulator`."""
        return f"{self.kind} {self.name}".strip()


EVERY = StationPart(PartSort.EVERY)
REGULATOR = StationPart(PartSort.REGULATOR)


class Out(Struct, frozen=True):
    """A part that is out of use, why and what reopens it, and the parts that are out with it."""

    part: StationPart
    reason: Reason
    keeps_out: tuple[StationPart, ...] = ()

    @property
    def parts(self) -> frozenset[StationPart]:
        """Itself, and what needs it."""
        return frozenset((self.part, *self.keeps_out))


class _Found(Struct, frozen=True):
    """What is the case with a part, before any rule is read."""

    part: StationPart
    question: Obligation
    state: str
    why: str
    mend: str
    keeps_out: tuple[StationPart, ...] = ()


# --- what is out of use --------------------------------------------------------------------------


@once_per_book
def _judged(book: Book, today: dt.date) -> tuple[tuple[Out, ...], tuple[Reason, ...]]:
    """What is out of use, and what is only warned of, as the rows in force have it; where none
    speaks of it, it is out."""
    station, out, warned = book.station, list[Out](), list[Reason]()
    if station is None:
        return (), ()
    rules = rules_of(book)
    for each in _found(book, station, rules, today):
        for reason in _by_the_rows(rules, each):
            if reason.gate is Gate.REFUSE:
                out.append(Out(each.part, reason, each.keeps_out))
            else:
                warned.append(reason)
        for loosened in rules.loosened_at_station(each.question, each.state):
            text = str(loosened)
            warned.append(Reason("row-loosened", text, Gate.WARN, loosened.row, loud=True))
    out += _lapsed(book, station, today)
    return tuple(dict.fromkeys(out)), tuple(dict.fromkeys(warned))


def _by_the_rows(rules: InForce, found: _Found) -> Iterator[Reason]:
    """What follows from what is the case with a part, as the rows in force have it."""
    rows = [r for r in rules.rows[found.question] if speaks_of_station(r, found.state)]
    code = f"{found.question}-{found.state}"
    for row in rows:
        yield Reason(code, found.why, row.gate, row, found.mend)
    if not rows:
        text = f"{found.why}; no rule row in force says what follows"
        yield Reason(code, text, Gate.REFUSE, None, found.mend)


_DATED = {
    Obligation.BANK_TEST: PartSort.BANK,
    Obligation.EXAMINATION: PartSort.BANK,
    Obligation.GAUGE_CHECK: PartSort.GAUGE,
    Obligation.WHIP_CHECK: PartSort.WHIP,
    Obligation.RELIEF_CHECK: PartSort.RELIEF,
    Obligation.UPKEEP: PartSort.COMPRESSOR,
}
"""What is asked of single parts at their times, so that a lapse puts that part out of use alone."""

_FAILING = frozenset(
    {
        Obligation.GAUGE_CHECK,
        Obligation.WHIP_CHECK,
        Obligation.RELIEF_CHECK,
        Obligation.UPKEEP,
    }
)
"""Those of which rows speak besides where a check failed."""


def puts_out(item: Due, reason: Reason) -> bool:
    """Whether a lapse or a failed check puts one part of the station out of use, and says nothing
    of the rest."""
    of_part = item.obligation in _DATED
    return of_part and (reason.gate is Gate.REFUSE or (item.failed and item.obligation in _FAILING))


def _lapsed(book: Book, station: Station, today: dt.date) -> Iterator[Out]:
    """The parts whose check or test lapsed, or is missing, where the rows refuse that."""
    for item in due_of_station(book, station, today):
        kind = _DATED.get(item.obligation)
        reason = dated_reason(item)
        if item.failed and item.obligation in _FAILING:
            continue  # told by what failed
        if kind is not None and reason is not None and reason.gate is Gate.REFUSE:
            valve = next((v for v in station.relief_valves if v.name == item.part), None)
            keeps = _protected(station, valve) if valve and kind is PartSort.RELIEF else ()
            bank = next((b for b in station.banks if b.name == item.part), None)
            whole = kind is PartSort.BANK and bank is None
            if kind is PartSort.BANK:
                empty = bank is not None and stands_empty(book, bank)
                # else nothing on record keeps anybody from filling out of it
                keeps = () if empty else (EVERY,)
                reason = replace(reason, mend=_bank_mend(station, bank, item, drained=empty))
            part = EVERY if whole else StationPart(kind, item.part)
            if item.obligation is Obligation.UPKEEP:
                own = next(u for u in station.upkeep if u.name == item.part)
                part = _upkept(station, own)
            yield Out(part, reason, keeps)
    for each in against(book, today):
        reason = dated_reason(each.lapsed) if each.lapsed else None
        if reason is not None:
            banks = tuple(StationPart(PartSort.BANK, name) for name in each.banks)
            yield Out(StationPart(PartSort.COMPRESSOR, each.name), reason, banks)


def _bank_mend(station: Station, bank: Bank | None, item: Due, *, drained: bool) -> str:
    """What to do about a bank whose test or examination lapsed, failed or was never recorded;
    without a bank it is the examination of the whole station."""
    how = "once one passes" if item.failed else "once it is done"
    if item.obligation is Obligation.EXAMINATION:
        named = (
            s.name for s in station.schemes if item.part in (*examined_under(station, s), s.name)
        )
        ways = [recorded_with(item.obligation, name, how) for name in named]
    elif bank is not None and not item.failed and not _has_period(bank, item):
        # a test that says the period, but where a decision that it has none has run out
        missing = item.state is State.MISSING
        carried = bool(why_odd_without_period(bank.specification))
        none = f"say on what ground: `tankbook station no-period {bank.name} --why GROUND`"
        none = none if bank.specification and not carried else f"of a vessel that has none, {none}"
        # what is built as a vessel is asked for its ground, and a cylinder for its test
        tested = [tested_with_period(bank.name)] if missing else []
        ways = [none, *tested] if bank.specification and not carried else [*tested, none]
    else:
        ways = [recorded_with(item.obligation, item.part, how)]
    if bank is not None and not drained:
        ways.append(f"till then drain it and read it: `tankbook station read {bank.name}=0`")
    return "; ".join(ways)


def _has_period(bank: Bank, item: Due) -> bool:
    """Whether a bank has a time from test to test, by its papers or by the row."""
    return isinstance(bank.period, Period) or (
        item.row is not None and isinstance(item.row.period, Period)
    )


def out_of_use(book: Book, today: dt.date) -> tuple[Out, ...]:
    """Every part that is out of use, with each reason."""
    return _judged(book, today)[0]


def told_of_parts(book: Book, today: dt.date) -> tuple[Reason, ...]:
    """What is told of the parts of the station and puts none out of use, such as a gauge that reads
    above true."""
    return _judged(book, today)[1] if book.station is not None else ()


@once_per_book
def parts_out(book: Book, today: dt.date) -> frozenset[StationPart]:
    """Every part that is out of use, by itself or with what it needs; `EVERY` where nothing else
    serves in its place."""
    if book.station is None:
        return frozenset()
    out = _out_together(book, book.station, today)
    return frozenset(out | ({EVERY} if _lacking(book, book.station, out) else set()))


def _out_together(book: Book, station: Station, today: dt.date) -> set[StationPart]:
    """Every part that is out of use, by itself or with what it needs."""
    out = {part for each in out_of_use(book, today) for part in each.parts}
    out |= _without_whip(station, out)
    return out | _without_feed(station, out)


def _lacking(book: Book, station: Station, out: set[StationPart]) -> frozenset[StationPart]:
    """The parts of which a fill needs one and all are out: a source, a place, a gauge to read, the
    regulator; empty where something serves."""
    sources = [StationPart(PartSort.BANK, b.name) for b in station.banks]
    sources += compressor_parts(station)
    places = [StationPart(PartSort.POSITION, p.name) for p in station.positions]
    places = places or [StationPart(PartSort.WHIP, w.name) for w in station.whips]
    gauges = [StationPart(PartSort.GAUGE, g.name) for g in read_gauges(station)]
    if not out.isdisjoint(gauges):  # only one that was checked takes the place of another
        known = {g.name for g in station.gauges if proofs_of(station, g, rules_of(book))}
        gauges = [g for g in gauges if g.name in known or g in out]
    needed = (sources, places, gauges, [REGULATOR], [EVERY])
    lacking = (part for parts in needed if parts and out.issuperset(parts) for part in parts)
    return frozenset(lacking)


def _taking_from(
    parts: Iterable[StationPart], unfed: Mapping[StationPart, set[StationPart]]
) -> set[StationPart]:
    """The boosters that take from some parts, or from a booster that does."""
    found = set(parts)
    for _ in unfed:
        found |= {part for part, feeds in unfed.items() if feeds & found}
    return found & unfed.keys()


def compressor_parts(station: Station) -> tuple[StationPart, ...]:
    """The compressors; one alone may have no label."""
    return tuple(map(compressor_part, station.every_compressor))


def compressor_part(compressor: Compressor) -> StationPart:
    """A compressor as a part of the station."""
    return StationPart(PartSort.COMPRESSOR, compressor.name or "")


def machine(pump: Compressor | Booster) -> StationPart:
    """A compressor or a booster as a part of the station."""
    if isinstance(pump, Compressor):
        return compressor_part(pump)
    return StationPart(PartSort.BOOSTER, pump.name)


def _without_feed(station: Station, out: set[StationPart]) -> set[StationPart]:
    """The boosters of which all that they take from is out."""
    found: set[StationPart] = set()
    for _ in station.boosters:  # one may take from another
        for booster in station.boosters:
            feeds = set(_feeds(station, booster))
            if feeds and feeds <= out | found:
                found.add(StationPart(PartSort.BOOSTER, booster.name))
    return found


def _feeds(station: Station, booster: Booster) -> Iterator[StationPart]:
    """What a booster takes from."""
    named = {name.casefold() for name in booster.from_}
    yield from (StationPart(PartSort.BANK, b.name) for b in station.banks if _is(b.name, named))
    for each in station.boosters:
        if _is(each.name, named) and each is not booster:
            yield StationPart(PartSort.BOOSTER, each.name)
    for made in station.every_compressor:
        if COMPRESSOR in named or _is(made.name or COMPRESSOR, named):
            yield compressor_part(made)


def _is(name: str, named: set[str]) -> bool:
    return name.casefold() in named


def _without_whip(station: Station, out: set[StationPart]) -> set[StationPart]:
    """The positions that no whip is left for. One that names its whip goes with it; of the others
    nobody wrote down which hangs where, so as many are left as whips are, the first ones."""
    bad = {p.name for p in out if p.kind is PartSort.WHIP}
    if not bad:
        return set()
    named = {p.name: _whip_of(station, p) for p in station.positions}
    lost = [name for name, whip in named.items() if whip in bad]
    loose = [p for p in station.positions if not named[p.name]]
    loose = [p for p in loose if p.kind is PositionKind.WHIP] or loose
    unnamed = [w.name for w in station.whips if w.name not in named.values()]
    left = [name for name in unnamed if name not in bad]
    lost += [p.name for p in loose[len(left) :]] if len(left) < len(unnamed) else []
    return {StationPart(PartSort.POSITION, name) for name in lost}


def _whip_of(station: Station, position: Position) -> str:
    """The whip of a position: the one that it names, or that is called as it is."""
    names = {w.name.casefold(): w.name for w in station.whips}
    return names.get((position.whip or position.name).casefold(), "")


# --- what a fill is told -------------------------------------------------------------------------


def part_reasons(book: Book, today: dt.date) -> Iterator[Reason]:
    """What the parts of the station have against any fill: a refusal of what closes it, else a
    warning that says what is out of use."""
    if book.station is None:
        return
    lacking = _lacking(book, book.station, _out_together(book, book.station, today))
    for each in told_out(book, today):
        if each.parts & lacking:
            yield each.reason
        else:
            yield replace(each.reason, text=f"out of use: {each.reason.text}", gate=Gate.WARN)
    yield from told_of_parts(book, today)


@once_per_book
def told_out(book: Book, today: dt.date) -> tuple[Out, ...]:
    """As `out_of_use`, as every screen, page and answer tells it: each with all that is out with
    it, the positions that no whip is left for among them, which its reason names."""
    station = book.station
    if station is None:
        return ()
    outs, every = out_of_use(book, today), _out_together(book, station, today)
    without = _without_whip(station, every)
    fed = {StationPart(PartSort.BOOSTER, b.name): {*_feeds(station, b)} for b in station.boosters}
    unfed = {part: feeds for part, feeds in fed.items() if feeds and feeds <= every}
    own = {o.part: _without_whip(station, {o.part}) for o in outs if o.part.kind is PartSort.WHIP}
    together = without - {part for parts in own.values() for part in parts}
    found = []
    for each in outs:
        lost = own[each.part] | together if each.part in own else set()
        lost |= _taking_from(each.parts, unfed)
        keeps = (each.parts | lost) - {each.part}
        names = ", ".join(sorted(str(part) for part in keeps - {EVERY}))
        text = each.reason.text + (f" (out with it: {names})" if names else "")
        reason = replace(each.reason, text=text)
        found.append(Out(each.part, reason, tuple(sorted(keeps, key=str))))
    return tuple(found)


def refused_by_name(book: Book, today: dt.date, names: Iterable[str]) -> Iterator[Reason]:
    """Why the parts that a fill names may not be used: a position, a whip, a bank, the compressor,
    each by its label."""
    said = {name.casefold() for name in names}
    whips = (
        {p.name: _whip_of(book.station, p) for p in book.station.positions} if book.station else {}
    )
    said |= {whip.casefold() for name, whip in whips.items() if name.casefold() in said and whip}
    outs = out_of_use(book, today)
    for each in outs:
        if any(_label(part).casefold() in said for part in each.parts):
            yield replace(each.reason, text=f"out of use: {each.reason.text}")
    if book.station is None:
        return
    for booster in book.station.boosters if outs else ():
        feeds = set(_feeds(book.station, booster)) if _is(booster.name, said) else set()
        for each in outs:
            if each.parts & feeds:
                text = f"out of use: {each.reason.text}; booster {booster.name} takes from it"
                mend = f"name what it took from, in place of {booster.name}; {each.reason.mend}"
                yield replace(each.reason, text=text, mend=mend.removesuffix("; "))
    out = {part for each in outs for part in each.parts}
    unsure = {part.name.casefold() for part in _without_whip(book.station, out)}
    unsure -= {name.casefold() for name, whip in whips.items() if whip}
    for each in outs:
        if each.part.kind is PartSort.WHIP and unsure & said:
            mend = f"say at each position which whip it has (`whip: {each.part.name}`); or "
            yield replace(
                each.reason, text=f"out of use: {each.reason.text}", mend=mend + each.reason.mend
            )


def _label(part: StationPart) -> str:
    """What a fill names a part by: its label; a compressor that has none by its kind."""
    return part.name or str(part.kind)


# --- what is the case with each part -------------------------------------------------------------


def _found(book: Book, station: Station, rules: InForce, today: dt.date) -> Iterator[_Found]:
    for gauge in station.gauges:
        yield from _of_gauge(station, gauge, rules)
    for whip in station.whips:
        rating = " --rating PRESSURE" if whip.rating else ""  # a new one has its own
        new = f"`tankbook station whip {whip.name} --new{rating}`"
        mend = f"fit a new one, {new}, or `--repaired WHAT`"
        mend += in_doubt(whip, f"whip {whip.name}")
        part = StationPart(PartSort.WHIP, whip.name)
        checked = checks_of(book, str(part), whip.checked)
        holds = Mending(book.settings.people, hose=True, checked=whip.checked)
        yield from _of_checks(part, Obligation.WHIP_CHECK, checked, holds, mend, new_since(whip))
    for position in station.positions:
        mend = f"have it repaired: `tankbook station position {position.name} --repaired WHAT`"
        part = StationPart(PartSort.POSITION, position.name)
        checked = checks_of(book, str(part), position.checked)
        holds = Mending(book.settings.people, hose=False, checked=position.checked)
        yield from _of_checks(part, Obligation.POSITION_CHECK, checked, holds, mend)
    if (regulator := station.regulator) is not None:
        mend = "have it repaired: `tankbook station regulator --repaired WHAT`; or `--new`"
        mend += in_doubt(regulator, "regulator")
        question, checked = Obligation.REGULATOR, regulator.checked
        holds = Mending(book.settings.people, hose=False, checked=checked)
        yield from _of_checks(REGULATOR, question, checked, holds, mend, new_since(regulator))
    for valve in station.relief_valves:
        yield from _of_relief(book, station, valve, rules)
    yield from _unprotected(station)
    for each in station.upkeep:
        yield from _of_upkeep(station, each, today)
    yield from _of_carbon_monoxide(book)
    named = [each for each in machines_out(book) if each.incident.on.first <= today]
    for out in named:
        yield _Found(compressor_part(out.pump), Obligation.UPKEEP, FAILED, out.why, out.mend)
    for pump in station.every_pump:
        checked = checks_of(book, machine_part(pump), pump.checked)
        mend = f"have it repaired: {repaired_by(pump)}"
        told = {why_of(n.incident) for n in named if n.pump is pump}
        for found in _of_checks(machine(pump), Obligation.UPKEEP, checked, None, mend):
            if not any(found.why.endswith(why) for why in told):
                yield found
    for one in against(book, today):
        if one.failed:
            part = StationPart(PartSort.COMPRESSOR, one.name)
            keeps = tuple(StationPart(PartSort.BANK, name) for name in one.banks)
            mend = f"find the cause; a later sample of {one.name} that passes reopens it; "
            mend += f"`tankbook recall {one.name}` finds what it filled"
            why = f"{part}: {one.failed}"
            yield _Found(part, Obligation.AIR_TEST, FAILED, why, mend, keeps)
    yield from _of_opening(station, today)
    for bank in banks_out(book, today):
        part = StationPart(PartSort.BANK, bank.name)
        yield _Found(part, Obligation.BANK_HOLD, bank.state, bank.why, bank.opens)


FAILED = "failed"


def _of_checks(
    part: StationPart,
    question: Obligation,
    checked: Iterable[Checked],
    holds: Mending | None,
    mend: str,
    fitted: PartialDate | None = None,
    keeps_out: tuple[StationPart, ...] = (),
) -> Iterator[_Found]:
    """A part that failed a check, and was neither replaced nor repaired since; without `holds`
    whoever is known may say that it was."""
    failed = unmended(checked, fitted, holds.mends if holds else None)
    if failed is not None:
        what = f": {failed.note}" if failed.note else ""
        for _, repair, wrong in holds.unproven()[-1:] if holds else ():
            what += f" (that it was repaired, {repair.repaired}, does not count: {wrong})"
        why = f"{part} failed its check of {failed.on}{what}"
        yield _Found(part, question, FAILED, why, mend, keeps_out)


def in_doubt(part: Whip | ReliefValve | Regulator | Gauge, named: str) -> str:
    """What mends it that nobody knows whether a part was new when it says so; else nothing."""
    fitted = fitted_in_doubt(part)
    if fitted is None:
        return ""
    text = f"; `fitted: {fitted}` may be of the new one that is struck out: where another came then"
    stamp = " --set-at PRESSURE" if isinstance(part, ReliefValve) else ""
    stamp = " --rating PRESSURE" if isinstance(part, Whip) and part.rating else stamp
    return f"{text}, record it, `tankbook station {named} --new{stamp} --on DAY`"


def _of_upkeep(station: Station, part: StationUpkeep, today: dt.date) -> Iterator[_Found]:
    """Upkeep that found something wrong: where nothing tells how dry the air of a compressor is,
    that compressor is out."""
    failed = upkeep_failed(part, today)
    if failed is None:
        return
    what = f": {failed.note}" if failed.note else ""
    why = f"upkeep {part.name} ({part.what}) failed on {failed.on}{what}"
    mend = f"have it repaired: `tankbook station upkeep {part.name} --repaired WHAT`"
    state = FAILED if part.what.tells_moisture else "amiss"
    yield _Found(_upkept(station, part), Obligation.UPKEEP, state, why, mend)


def _upkept(station: Station, part: StationUpkeep) -> StationPart:
    """The compressor or the booster that upkeep is of; of an instrument the compressor, where only
    one is; else the whole station."""
    pump = pump_of_upkeep(station, part)
    if pump is None and _is(part.of or "", {i.name.casefold() for i in station.instruments}):
        pump = station.only_compressor
    return machine(pump) if pump else EVERY


def _of_gauge(station: Station, gauge: Gauge, rules: InForce) -> Iterator[_Found]:
    """A gauge that reads below true lets a cylinder be filled above its mark; one that reads above
    leaves it short."""
    check = off_by_too_much(station, gauge, rules)
    if check is None:
        return
    low = is_low(check)
    named = "the master gauge" if gauge in masters_of(station) else "gauge"
    why = f"{named} {gauge.name} {off_said(check)} ({check.reads} at {check.true};"
    why += f" it may err by {allowance(station, gauge, rules)})"
    compare = f"`tankbook station gauge-check {gauge.name}`"
    mend = f"replace it, do not correct for it: `tankbook station gauge {gauge.name} --new`"
    mend += f", and compare the new one: {compare}"
    if may_be_of_the_old(check.on, new_since(gauge)):
        mend = f"it was new on {new_since(gauge)}, and that may be of the old one: compare it near"
        mend += f" {check.true}, {compare}"
    mend += "; or read another that was checked: `tankbook station gauge NAME --master`"
    mend += in_doubt(gauge, f"gauge {gauge.name}")
    state = "reads-low" if low else "reads-high"
    own = _at(station, gauge) if low else ()
    yield _Found(
        StationPart(PartSort.GAUGE, gauge.name), Obligation.GAUGE_CHECK, state, why, mend, own
    )


def _at(station: Station, gauge: Gauge) -> tuple[StationPart, ...]:
    """What is read on this gauge alone, where the station has no master."""
    if masters_of(station):
        return ()
    name = (gauge.position or "").casefold()
    parts = [
        StationPart(PartSort.POSITION, p.name)
        for p in station.positions
        if p.name.casefold() == name
    ]
    parts += [
        StationPart(PartSort.BANK, b.name) for b in station.banks if b.name.casefold() == name
    ]
    return tuple(parts)


# --- relief valves


def _of_relief(
    book: Book, station: Station, valve: ReliefValve, rules: InForce
) -> Iterator[_Found]:
    """A relief valve that failed, is set above the weakest part it protects, lifts too late, or let
    a bank rise above where it was to lift."""
    part, question = StationPart(PartSort.RELIEF, valve.name), Obligation.RELIEF_CHECK
    keeps = _protected(station, valve)
    mend = f"have it set or replaced: `tankbook station relief {valve.name} --new --set-at"
    mend += " PRESSURE`, or `--repaired WHAT`"
    mend += in_doubt(valve, f"relief {valve.name}")
    holds = Mending(book.settings.people, hose=False, checked=valve.checked)
    yield from _of_checks(part, question, valve.checked, holds, mend, new_since(valve), keeps)
    if (left := unlifted(book, station, valve)) is not None:
        bank = StationPart(PartSort.BANK, left.bank.name)
        why = f"{part} did not lift: {bank} read {left.high.reads} on {left.high.on}, and it was to"
        why += f" lift at {left.bound}"
        line = f"tankbook station relief {valve.name} --lifted PRESSURE"
        tested = f"try where it lifts on a later day: `{line}`; or say what was done to it, with"
        tested += " `--repaired WHAT`, or `--new --set-at PRESSURE`"
        if left.high.at is not None:
            tested += f"; on that day with an hour after {left.high.at:%H:%M}:"
            tested += f" `{line} --on {left.high.on} --at HH:MM`"
        banks = tuple(each for each in keeps if each != EVERY)
        yield _Found(part, question, "did-not-lift", why, tested, tuple({bank, *banks}))
    bound, weak = bound_of(station, valve), weakest(station, valve)
    if bound is None:
        return
    if weak is not None and bound > weak[1]:
        why = f"{part} is set at {valve.set_at}, above the {weak[1]} of {weak[0]}"
        yield _Found(part, question, "set-too-high", why, mend, keeps)
    highest, least = highest_mark(station), weakest_of_all(station, valve)
    beyond = ""
    if not valve.protects and highest is not None and bound > highest:
        beyond = "every mark of the station"
    elif least is not None and bound > least[1]:
        beyond = f"the {least[1]} of {least[0]}"
    if beyond:
        why = f"{part} is set at {valve.set_at}, above {beyond}, and what it protects is not"
        why += " recorded"
        says = f"`tankbook station relief {valve.name} --protects PART` records it; or {mend}"
        yield _Found(part, question, "set-too-high", why, says, keeps)
    if (late := late_lift(station, valve, rules)) is not None:
        why = f"{part} lifted at {late.lifted} on {late.check.on}, "
        why += f"set at {bound}" if valve.set_at else f"and protects {bound}"
        why += f": more than {late.over:g} % late"
        yield _Found(part, question, "lifts-late", why, mend, keeps)


def _unprotected(station: Station) -> Iterator[_Found]:
    """The banks that no relief valve is said to protect; one that is the only one, and does not
    say, protects all."""
    valves = station.relief_valves
    if not any(valve.protects for valve in valves) and len(valves) < 2:
        return
    named = {name.casefold() for valve in valves for name in valve.protects}
    silent = [valve.name for valve in valves if not valve.protects]
    bare = [bank.name for bank in station.banks if bank.name.casefold() not in named]
    line = "`tankbook station relief NAME --protects PART` names all that one protects"
    if len(silent) == 1:  # of all others the file says it
        parts = " ".join(f"--protects {name}" for name in bare)
        line = f"`tankbook station relief {silent[0]} {parts}`, where it protects that"
    for bank in station.banks:
        if bank.name in bare:
            part = StationPart(PartSort.BANK, bank.name)
            why, mend = f"no relief valve is said to protect {part}", line
            yield _Found(part, Obligation.RELIEF_CHECK, "protects-unknown", why, mend)


def _protected(station: Station, valve: ReliefValve) -> tuple[StationPart, ...]:
    """The parts that a relief valve protects: every fill goes through a panel; and of one of which
    nobody wrote what it protects, or wrote what the station does not have, all."""
    found = list[StationPart]()
    named = {name.casefold() for name in valve.protects}
    found += [
        StationPart(PartSort.BANK, b.name) for b in station.banks if b.name.casefold() in named
    ]
    found += [
        StationPart(PartSort.POSITION, p.name)
        for p in station.positions
        if p.name.casefold() in named
    ]
    found += [
        StationPart(PartSort.WHIP, w.name) for w in station.whips if w.name.casefold() in named
    ]
    found += [StationPart(PartSort.BOOSTER, b.name) for b in station.boosters if _is(b.name, named)]
    own = {COMPRESSOR} if station.every_compressor else set()
    for made in station.every_compressor:
        if COMPRESSOR in named or _is(made.name or COMPRESSOR, named):
            found.append(compressor_part(made))
    whole = not named or named - own - {part.name.casefold() for part in found}
    return (*found, *((EVERY,) if whole else ()))


# --- carbon monoxide, and the beginning of a day


def _of_carbon_monoxide(book: Book) -> Iterator[_Found]:
    """An alarm that nothing has answered: its cause named, and a reading within limits where the
    gas leaves the station, of an instrument that was bump-tested before it."""
    station = book.station
    standing = [alarm for alarm in co_alarms(book) if alarm.answer is None]
    if not standing or station is None:
        return
    alarm = standing[-1]
    showed = f" ({alarm.reading.co})" if alarm.reading.co else ""
    why = f"carbon monoxide alarm of {alarm.reading.on}{showed}"
    why += f"; {alarm.wanting}" if alarm.wanting else ""
    yield _Found(EVERY, Obligation.CO_ALARM, "open", why, _answers_alarm(station))


def _answers_alarm(station: Station) -> str:
    """What answers a carbon monoxide alarm, as it is told: with the labels to type, where there is
    one thing alone that they can be of."""
    monitors = [i.name for i in station.instruments if i.kind is InstrumentKind.CO_MONITOR]
    used = monitors[0] if len(monitors) == 1 else "INSTRUMENT"
    mend = "find the cause, let the air clear, then"
    if not monitors:
        mend += " write a CO monitor into station.yaml (`instruments:`),"
    mend += f" `tankbook station bump {used}` and `tankbook station co CO --with {used}"
    mend += f" {SAYS_CAUSE}`; see who got it: "
    return mend + recalls(station)


def recalls(station: Station, pumps: Collection[str] = ()) -> str:
    """The commands that list what was filled from some compressors, or from all: by their names in
    small letters."""
    every = [c.name for c in station.every_compressor if c.name]
    mine = [name for name in every if name.casefold() in pumps] or every
    sources = mine or [b.name for b in station.banks]
    return " or ".join(f"`tankbook recall {name}`" for name in sources or ["SOURCE"])


def opening_at(book: Book, at: dt.datetime) -> Iterator[Reason]:
    """What the lists of the station have against a fill at a moment, by what they said till then:
    what was found later says nothing of it, and what is open over midnight is open."""
    if book.station is not None:
        for found in _of_opening(book.station, at.date(), time_of_day(at)):
            yield from _by_the_rows(rules_of(book), found)


def _of_opening(station: Station, today: dt.date, hour: dt.time | None = None) -> Iterator[_Found]:
    """Where the station's list is kept, nothing is filled before it was walked through that day,
    nor after it was closed; at an hour, or at the end of the day."""
    if station.opening is None:
        yield from _of_closing(station, today, hour)
        return
    opened = _last_of("opening", station, today, hour)
    closed = _last_of("closing", station, today, hour)
    steps = ", ".join(station.opening.steps)
    mend = f"`tankbook station open` records it; it asks for: {steps}"
    state = "closed"
    left = left_by_walks(station, today, hour)
    until = _open_until(station, today) if opened is None and closed is None else None
    if left and (opened is not None or until is not None):
        state, why, mend = FAILED, said_of_walks(left), ANSWERS_WALKS
    elif until is not None and hour is not None and hour < until:
        return
    elif opened is None:
        state = "not-opened"
        why = f"the station was not opened on {today}"
        later = _first_of(station, today)
        if hour is not None and later is not None:
            why = f"the station was opened at {later:%H:%M} on {today}, after {hour:%H:%M}"
            mend = WHAT_HAPPENED
        elif until is not None:
            why += f"; as it was not closed the evening before, it was open till {until:%H:%M}"
            mend += f"; a fill before {until:%H:%M} is logged with its hour: --at"
        why += f"; {said_of_walks(left)}" if left else ""
        mend += f"; {ANSWERS_WALKS}" if left else ""
    elif closed is not None and (closed.at is None or opened.at is None or closed.at >= opened.at):
        why = f"the station was closed on {today}"
        mend = "`tankbook station open --at HOUR` with the hour at which it was opened again"
        if closed.at is None:
            mend = "say when it was closed, `tankbook station close --at HOUR`, then open it with"
            mend += " `tankbook station open --at HOUR`"
    else:
        return
    yield _Found(EVERY, Obligation.OPENING, state, why, mend)


WHAT_HAPPENED = "what happened: --happened"


def _open_until(station: Station, today: dt.date) -> dt.time | None:
    """Till which hour of a day the station is open where it was opened the day before, and not
    closed since; None where it was not."""
    before = today - dt.timedelta(days=1)
    opened = _last_of("opening", station, before)
    closed = _last_of("closing", station, before)
    if station.opening is None or opened is None:
        return None
    if closed is not None and (closed.at is None or opened.at is None or closed.at >= opened.at):
        return None
    said = station.opening.over_midnight
    stays = dt.timedelta(hours=said.hours) if said is not None else OPEN_OVER_MIDNIGHT
    midnight = dt.datetime.combine(today, dt.time.min)
    last = dt.datetime.combine(today, dt.time.max)
    return time_of_day(min(midnight + stays, last)) if stays > dt.timedelta(0) else None


def _first_of(station: Station, today: dt.date) -> dt.time | None:
    """The first hour at which the station was opened on a day; None where nobody says."""
    done = that_stand(station.opening.done) if station.opening else ()
    return min((w.at for w in done if w.on == today and w.at), default=None)


def _of_closing(station: Station, today: dt.date, hour: dt.time | None) -> Iterator[_Found]:
    """What closings found wrong, where no list is kept for the beginning of a day, so that nobody
    is asked what became of it."""
    left = left_by_walks(station, today, hour)
    if left:
        mend = "have it seen to, and say at the next closing what became of it:"
        mend += " `tankbook station close --note WHAT`"
        yield _Found(EVERY, Obligation.OPENING, "left", said_of_walks(left), mend)


ANSWERS_WALKS = (
    "look at it again, and say what became of it, `tankbook station open --note WHAT`; what is"
    " still wrong with `--fail WHAT`"
)


class LeftByWalk(Struct, frozen=True):
    """What a walk through one of the station's lists found wrong, and nothing answers yet."""

    list_: str
    walk: StationWalk


def left_by_walks(
    station: Station, today: dt.date, hour: dt.time | None = None
) -> tuple[LeftByWalk, ...]:
    """What openings and closings found wrong by a day, or by an hour of it, oldest first, and no
    later one that passed says, with initials, what became of it."""
    walks = [
        *_walks("opening", station, today, hour),
        *_walks("closing", station, today, hour),
    ]
    walks.sort(key=lambda each: each[:2])
    left = list[LeftByWalk]()
    for _, _, list_, walk in walks:
        if walk.result is TestResult.FAIL:
            left.append(LeftByWalk(list_, walk))
        elif walk.by and not says_no_answer(walk.note or ""):
            left.clear()
    return tuple(left)


def _walks(
    name: str, station: Station, today: dt.date, hour: dt.time | None = None
) -> Iterator[tuple[dt.date, dt.time, str, StationWalk]]:
    """The walks through a list by a day, each with its hour: where one of a day says none, in the
    order in which they were written, at the beginning of the day or at its end. Of those of the day
    itself that were later than an hour none: where nobody says when, it may have been before."""
    routine: Routine | None = getattr(station, name)
    done = [w for w in that_stand(routine.done) if w.on <= today] if routine else []
    untimed = {w.on for w in done if w.at is None}
    usual = dt.time.min if name == "opening" else dt.time.max
    for walk in done:
        known = walk.at if walk.on not in untimed else None
        later = walk.on == today and known is not None and hour is not None and known > hour
        if not later:
            yield walk.on, usual if known is None else known, name, walk


def said_of_walks(left: Iterable[LeftByWalk]) -> str:
    """What walks found, in words: `the opening of 2026-11-25 found: drains (by MV)`."""
    found = [
        f"the {each.list_} of {each.walk.on}"
        f"{f' at {each.walk.at:%H:%M}' if each.walk.at else ''} found:"
        f" {each.walk.note or 'something wrong'}{f' ({each.walk.by})' if each.walk.by else ''}"
        for each in left
    ]
    return f"{'; '.join(found)}; nothing on record says what became of it"


def _last_of(
    name: str, station: Station, today: dt.date, hour: dt.time | None = None
) -> StationWalk | None:
    """The last walk of a day, or by an hour of it, by its hour; the last that was written where one
    says no hour."""
    done = [w for on, _, _, w in _walks(name, station, today, hour) if on == today]
    hours = [w.at for w in done if w.at is not None]
    if not done or len(hours) < len(done):
        return done[-1] if done else None
    return max(reversed(done), key=lambda w: w.at or dt.time.min)
