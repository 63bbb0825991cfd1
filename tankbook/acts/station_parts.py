"""Parts of the fill station that are checked, repaired and replaced; what failed is out of use."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.at_station import (
    Fail,
    Name,
    Seen,
    act_at,
    begun,
    begun_at,
    place_of,
    pump_of,
    way_to,
)
from tankbook.acts.common import (
    line_reasons,
    refusal,
    signer_reasons,
    text_reasons,
    ticked,
    uncertified,
)
from tankbook.acts.options import Arg, Flag, Opt
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.station import (
    COMPRESSOR,
    REPLACED,
    Checked,
    FilterChange,
    GaugeCheck,
    GaugeRenewed,
    MadeMaster,
    Regulator,
    ReliefValve,
    Station,
    UpkeepDone,
    Whip,
    masters_of,
    new_since,
)
from tankbook.records.words import TestResult
from tankbook.rules import meter as hour_meter
from tankbook.rules.gauges import allowance, highest_mark, unproved
from tankbook.rules.incident_held import MACHINE, checks_of, machine_part
from tankbook.rules.inforce import rules_of
from tankbook.rules.mended import SET_ANEW, Mending, every_unmended, unmended
from tankbook.rules.out_of_use import out_of_use
from tankbook.rules.relief import late_lift, protectable
from tankbook.units import GaugePressure, RunningTime

Repaired = Annotated[str, Opt("WHAT", "What was repaired since it failed; it passed.")]


# --- gauges --------------------------------------------------------------------------------------


def check_gauge(
    book: Book,
    name: Name,
    *,
    reads: Annotated[GaugePressure, Opt("PRESSURE", "What it showed.")],
    true: Annotated[GaugePressure, Opt("PRESSURE", "What the test gauge showed.")],
    against: Annotated[str, Opt("GAUGE", "The test gauge, by its label.")],
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record a gauge compared with a test gauge."""
    reasons = signer_reasons(book, by, on) + line_reasons(against=against)
    begins = begun_at(book, "gauges", name, "gauge", reasons)
    if isinstance(begins, Refusal):
        return begins
    if reasons:
        return refusal(reasons)
    draft, place = begins
    station = draft.record
    entry = GaugeCheck(on=on, against=against, reads=reads, true=true, by=by)
    draft = draft.enter(("gauges", place, "checked"), entry)
    name = station.gauges[place].name
    notes = [_how_far(book, station, place, entry)]
    if why := unproved(draft.record, draft.record.gauges[place], rules_of(book)):
        notes.append(f"that proves nothing of it: {why}")
    sentence = f"Checked gauge {name} against {against}: it shows {reads} at {true}"
    return act_at(book, "station gauge-check", sentence, draft, on, notes)


def _how_far(book: Book, station: Station, place: int, check: GaugeCheck) -> str:
    """How far a gauge is off, and whether that is too far."""
    gauge = station.gauges[place]
    most = allowance(station, gauge, rules_of(book))
    unit = check.reads.unit
    off = check.reads.to(unit) - check.true.to(unit)
    said = f"{gauge.name} is off by {off:+.0f} {unit}"
    if abs(off) <= most.to(unit) + 1e-9:
        return f"{said}, within {most}"
    to_do = "replace it, do not correct for it"
    if off < 0:
        recall = f"`tankbook recall --gauge {gauge.name}`"
        to_do += f"; what was filled by it is fuller than it says: {recall}"
    return f"{said}, more than {most}: {to_do}"


def change_gauge(
    book: Book,
    name: Name,
    *,
    master: Annotated[bool, Flag("Fills are read on this one from now on.")] = False,
    new: Annotated[bool, Flag("A new one was fitted.")] = False,
    note: Annotated[str, Opt("TEXT", "Why a new one was fitted.")] = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Say that a gauge is the master from now on, or was replaced. What the old one was compared at
    stays written; it says nothing of the new one."""
    reasons = signer_reasons(book, by, on) + text_reasons(note=note)
    if not (master or new):
        reasons.append("nothing is said of it: give --master or --new")
    if note and not new:
        reasons.append("--note says why a new one was fitted: give it with --new")
    begins = begun_at(book, "gauges", name, "gauge", reasons)
    if isinstance(begins, Refusal):
        return begins
    draft, place = begins
    if new and not reasons:
        entry = GaugeRenewed(on=on, by=by, note=note or None)
        draft = draft.enter(("gauges", place, "renewed"), entry)
    gauge, said = draft.record.gauges[place], list[str]()
    check = f"`tankbook station gauge-check {gauge.name}`"
    if new:
        said.append(f"Fitted a new gauge {gauge.name}" + (f": {note}" if note else ""))
    if master and not new and (why := unproved(draft.record, gauge, rules_of(book))):
        reasons.append(f"{why}: {check} first")
    already = masters_of(draft.record, on) == (gauge,)
    if master and already and not new:
        reasons.append(f"{gauge.name} is the master already")
    if reasons:
        return refusal(reasons)
    if master and not already:
        made = MadeMaster(on=on, gauge=gauge.name, by=by)
        draft = draft.enter(("masters",), made)
    others = ", ".join(g.name for g in masters_of(draft.record) if g != gauge)
    if master:
        called = f"was the master gauge from {on} on" if others else "is the master gauge"
        said.append(f"Gauge {gauge.name} {called}")
    notes = [f"compare it with a test gauge: {check}"] if new else []
    if master and others:
        notes.append(f"{others} was made the master since, and is")
    return act_at(book, "station gauge", "; ".join(said), draft, on, notes)


# --- what passes or fails a check ----------------------------------------------------------------


class PartKind(Struct, frozen=True):
    """A kind of part that is checked: its list in the file, what it is called, and what is fitted
    new rather than repaired."""

    key: str
    called: str
    verb: str
    fitted: bool = True


WHIP = PartKind("whips", "whip", "station whip")
RELIEF = PartKind("relief_valves", "relief valve", "station relief")
POSITION = PartKind("positions", "position", "station position", fitted=False)


def check_whip(
    book: Book,
    name: Name,
    *,
    failed: Fail = "",
    repaired: Repaired = "",
    new: Annotated[bool, Flag("A new whip was fitted.")] = False,
    rating: Annotated[
        GaugePressure | None, Opt("PRESSURE", "The working pressure marked on it.")
    ] = None,
    note: Seen = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record the check of a fill whip, or a new one. One that failed is out of use until then. What
    is marked on it does not change: a higher rating is of a new one, else somebody certified says
    with a note why another was written."""
    looked = Looked(failed, repaired, new, note)
    return check_part(book, WHIP, name, looked, {"rating": rating}, by=by, on=on)


def check_position(
    book: Book,
    name: Name,
    *,
    failed: Fail = "",
    repaired: Repaired = "",
    note: Seen = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record the check of a fill position. One that failed is out of use until it is repaired."""
    return check_part(book, POSITION, name, Looked(failed, repaired, note=note), by=by, on=on)


def check_machine(
    book: Book,
    name: Annotated[str, Arg("NAME", "The compressor or booster, by its label.")],
    *,
    failed: Fail = "",
    repaired: Annotated[
        str, Opt("WHAT", "What was found and done since it failed; it passed.")
    ] = "",
    note: Seen = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record the check of a compressor or a booster. One that failed, or that an incident names, is
    out of use until somebody says what was found and done."""
    looked = Looked(failed, repaired, note=note)
    reasons = signer_reasons(book, by, on) + looked.reasons
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    pump = pump_of(draft.record, name, "NAME")
    if isinstance(pump, str):
        return refusal([pump, *reasons])
    part = machine_part(pump)
    if reasons:
        return refusal(reasons)
    draft = draft.enter((*way_to(draft.record, pump), "checked"), looked.entry(on, by))
    after = next(p for p in draft.record.every_pump if p.name == pump.name)
    notes = _to_do(part, looked, unmended(checks_of(book, part, after.checked)), new=False)
    if not looked.failed:
        notes += _put_out(book, replace(book, station=draft.record), on)
    sentence = _sentence(part, looked)
    return act_at(book, MACHINE, sentence, draft, on, notes, fact=bool(failed))


def check_relief(
    book: Book,
    name: Name,
    *,
    failed: Fail = "",
    repaired: Repaired = "",
    new: Annotated[bool, Flag("A new one was fitted.")] = False,
    lifted: Annotated[GaugePressure | None, Opt("PRESSURE", "Where it lifted.")] = None,
    set_at: Annotated[GaugePressure | None, Opt("PRESSURE", "What it is set to now.")] = None,
    protects: Annotated[
        Sequence[str], Opt("PART", "What it protects: a bank, position, `compressor`, `panel`.")
    ] = (),
    note: Seen = "",
    by: str,
    on: dt.date,
    at: Annotated[
        dt.time | None, Opt("HH:MM", "At what time, where a bank rose too high that day.", "--at")
    ] = None,
) -> Act | Refusal:
    """Record the check of a relief valve, or a new one. What it protects is out of use where it
    failed, is set above that, or lifts late."""
    if wrong := _left_unprotected(book, name, protects, set_at, note, by, on):
        return refusal(wrong)
    looked = Looked(failed, repaired, new, note, lifted, at)
    changed = {"set_at": set_at, "protects": tuple(protects) or None}
    return check_part(book, RELIEF, name, looked, changed, by=by, on=on)


class Looked(Struct, frozen=True):
    """What a check of a part came to.

    Attributes:
        failed: what was wrong with it; empty where it passed.
        repaired: what was done about that since.
        new: a new one was fitted instead.
        note: what else was seen.
        lifted: where a relief valve lifted.
        at: at what time of the day, where that was said.
    """

    failed: str = ""
    repaired: str = ""
    new: bool = False
    note: str = ""
    lifted: GaugePressure | None = None
    at: dt.time | None = None

    @property
    def reasons(self) -> list[str]:
        """Why it cannot be recorded."""
        reasons = text_reasons(fail=self.failed, repaired=self.repaired, note=self.note)
        if sum(map(bool, (self.failed, self.repaired, self.new))) > 1:
            reasons.append("it failed, or was repaired, or is new: give one of them")
        return reasons

    def entry(self, on: dt.date, by: str) -> Checked:
        """The entry of it."""
        return Checked(
            on=on,
            by=by,
            result=TestResult.FAIL if self.failed else TestResult.PASS,
            repaired=self.repaired or (REPLACED if self.new else None),
            lifted=self.lifted,
            at=self.at,
            note=self.failed or self.note or None,
        )


def check_part(
    book: Book,
    kind: PartKind,
    name: str,
    looked: Looked,
    changed: Mapping[str, object] | None = None,
    *,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """A part checked, repaired, or replaced by a new one.

    Args:
        book: the records.
        kind: what it is.
        name: its label.
        looked: what the check came to.
        changed: what is written on the part besides, by its key.
        by: initials of who checked it.
        on: the day.
    """
    reasons = signer_reasons(book, by, on) + looked.reasons
    for named in (changed or {}).get("protects") or ():  # type: ignore[attr-defined]
        reasons += line_reasons(protects=named)
    begins = begun_at(book, kind.key, name, kind.called, reasons)
    if isinstance(begins, Refusal):
        return begins
    if reasons:
        return refusal(reasons)
    draft, place = begins
    station = draft.record
    part = getattr(station, kind.key)[place]
    if looked.new and isinstance(part, ReliefValve) and not (changed or {}).get("set_at"):
        was = f" (the old one was set to {part.set_at})" if part.set_at else ""
        line = f"`tankbook station relief {part.name} --new --set-at PRESSURE`"
        return refusal([f"a new relief valve has a stamp of its own{was}: {line} says what it is"])
    if isinstance(part, Whip) and (rated := _rated_anew(book, part, looked, changed or {}, by, on)):
        return refusal(rated)
    holds = Mending(book.settings.people, hose=kind is WHIP, checked=part.checked)
    failed = every_unmended(part.checked, new_since(part) if kind.fitted else None, holds.mends)
    named = f"{kind.called} {part.name}"
    if wrong := _unfit_to_repair(book, named, looked, holds, failed, by, on):
        return refusal(wrong)
    looked = _set_anew(book, part, looked, (changed or {}).get("set_at"))
    for key, value in (changed or {}).items():
        if value is not None:
            draft = draft.set((kind.key, place, key), value)
    draft = draft.enter((kind.key, place, "checked"), looked.entry(on, by))
    after = getattr(draft.record, kind.key)[place]
    late = isinstance(after, ReliefValve) and late_lift(draft.record, after, rules_of(book))
    late_now = bool(late and looked.lifted and late.lifted == looked.lifted)
    sentence = _sentence(f"{kind.called} {part.name}", looked, late=late_now)
    holds = replace(holds, checked=after.checked)
    open_ = unmended(after.checked, new_since(after) if kind.fitted else None, holds.mends)
    notes = _to_do(part.name, looked, open_)
    notes += _put_out(book, replace(book, station=draft.record), on) if not looked.failed else []
    rating = (changed or {}).get("rating")
    if (
        isinstance(part, Whip)
        and not looked.new
        and part.rating
        and rating not in {None, part.rating}
    ):
        sentence += f"; rated {rating}, not {part.rating}"
    if looked.new and isinstance(part, Whip) and not rating:
        line = f"`tankbook station whip {part.name} --rating PRESSURE`"
        notes.append(f"its rating is not recorded: read it off the new one, {line}")
    return act_at(book, kind.verb, sentence, draft, on, notes, fact=bool(looked.failed))


def _unfit_to_repair(
    book: Book,
    what: str,
    looked: Looked,
    holds: Mending,
    every: Sequence[Checked],
    by: str,
    on: dt.date,
) -> list[str]:
    """Why what failed is not repaired by somebody, and who may say that it holds again."""
    entry = looked.entry(on, by)
    held = ((each, holds.why_not(each, entry)) for each in reversed(every))
    failed, wrong = next(((each, why) for each, why in held if why), (None, ""))
    new = "" if what.startswith(POSITION.called) else "; a new one is fitted with --new"
    if looked.repaired and not every and (wrong := holds.why_not_alone(entry)):
        text = f"{what} is not on record as failed, and {ticked(looked.repaired)} is more than a"
        text += f" seal: say what failed (--fail WHAT), and it is out of use till then{new}"
        return [text, *(uncertified(book, by, on) or [wrong])]
    if not looked.repaired or failed is None:
        return []
    told = uncertified(book, by, on) or [wrong]
    why = f" ({failed.note})" if failed.note else ""
    return [f"{what} failed on {failed.on}{why}, which is more than a seal{new}", *told]


def _rated_anew(
    book: Book, whip: Whip, looked: Looked, changed: Mapping[str, object], by: str, on: dt.date
) -> list[str]:
    """Why a whip cannot have the rating that is given, or be new without one: what is marked on it
    stays as it is, and the old one's says nothing of a new one."""
    was, rating = whip.rating, changed.get("rating")
    line = f"`tankbook station whip {whip.name} --new --rating PRESSURE`"
    if was is None or (looked.new and rating):
        return []
    if looked.new:
        return [f"a new whip has a rating of its own (the old one's was {was}): {line} says it"]
    if not isinstance(rating, GaugePressure) or rating <= was:
        return []
    told = uncertified(book, by, on)
    if looked.note and not told:
        return []
    text = f"{whip.name} is rated {was}, by its record: of a new whip that has another, {line}"
    text += "; where what is written is wrong, somebody certified says why, with --note"
    return [text, *told]


def _left_unprotected(
    book: Book,
    name: str,
    protects: Sequence[str],
    set_at: GaugePressure | None,
    note: str,
    by: str,
    on: dt.date,
) -> list[str]:
    """Why what a relief valve is said to protect, or is set to, is not written in passing: it is
    nothing of the station, or what it protected so far would have no other; or it would lift above
    all that there is, and nobody says what it protects."""
    station = book.station
    place = place_of(station.relief_valves, name, "relief valve") if station else ""
    if station is None or isinstance(place, str):
        return []  # told by who enters it
    valve, known = station.relief_valves[place], protectable(station)
    line = f"`tankbook station relief {valve.name}"
    strange = [each for each in protects if each.casefold() not in {k.casefold() for k in known}]
    if strange:
        wrong = f"--protects: the station has no {', '.join(strange)}; write one of"
        return [f"{wrong} {', '.join(known)}"]
    highest = highest_mark(station)
    unsaid = not protects and not valve.protects and highest is not None
    if unsaid and set_at is not None and highest is not None and set_at > highest:
        text = f"{set_at} is above every mark of the station, and what {valve.name} protects is"
        return [f"{text} not recorded: {line} --set-at PRESSURE --protects PART` says both"]
    others = [v for v in station.relief_valves if v is not valve]
    left = {part.casefold() for v in others for part in v.protects}
    left |= {part.casefold() for part in protects}
    lost = [part for part in valve.protects if part.casefold() not in left] if protects else []
    of_it = [part for part in lost if part.casefold() in {k.casefold() for k in known}]
    told = uncertified(book, by, on)
    if not of_it or (note and not told):
        return []
    parts = ", ".join(of_it)
    text = f"nothing else is said to protect {parts}: name it with the rest, --protects"
    text += f" {of_it[0]}; where {valve.name} does not, somebody certified says why, with --note"
    return [text, *told]


def _set_anew(book: Book, part: object, looked: Looked, set_at: object) -> Looked:
    """That a valve was set to something else was done to it, so that where it lifted before says no
    more of it; but mends nothing of one that failed, nor of one that lifted late, unless it was
    tried since."""
    if not isinstance(part, ReliefValve) or looked.failed or looked.repaired or looked.new:
        return looked
    was = part.set_at
    if set_at is None or was is None or set_at == was or unmended(part.checked, new_since(part)):
        return looked
    late = book.station and late_lift(book.station, part, rules_of(book))
    if late and looked.lifted is None:
        return looked
    return replace(looked, repaired=f"{SET_ANEW}{was} to {set_at}")


def _put_out(book: Book, after: Book, on: dt.date) -> list[str]:
    """What of the station is out of use since a change."""
    known = {each.reason.text for each in out_of_use(book, on)}
    return [
        f"{each.reason.text}; {each.reason.mend}"
        for each in out_of_use(after, on)
        if each.reason.text not in known
    ]


def _sentence(what: str, looked: Looked, *, late: bool = False) -> str:
    if looked.new:
        return f"Fitted a new {what}"
    lifted = f", lifted at {looked.lifted}" if looked.lifted and not late else ""
    passed = f"LIFTED LATE, at {looked.lifted}" if late else "passed"
    said = f"FAILED: {looked.failed}" if looked.failed else passed
    repaired = f", repaired: {looked.repaired}" if looked.repaired else ""
    return f"Checked {what}: {said}{repaired}{lifted}"


def _to_do(name: str, looked: Looked, open_: Checked | None, *, new: bool = True) -> list[str]:
    """What is to be done with what failed, now or before; `new`: it may be replaced by a new one
    of its label."""
    if looked.failed and not new:
        return [f"shut {name} down and have it repaired, then say --repaired WHAT"]
    if looked.failed:
        return [f"take {name} off and replace it, or have it repaired"]
    if open_ is not None:
        what = f": {open_.note}" if open_.note else ""
        return [
            f"{name} failed on {open_.on}{what}; a check that passes does not mend that: "
            f"say {'--new, or ' if new else ''}--repaired WHAT"
        ]
    return []


# --- upkeep by days or running hours --------------------------------------------------------------


def upkept(
    book: Book,
    name: Annotated[str, Arg("NAME", "The upkeep, by its label.")],
    *,
    meter: Annotated[
        RunningTime | None, Opt("HOURS", "What the hour meter showed: 412.5.", "--at")
    ] = None,
    failed: Fail = "",
    repaired: Repaired = "",
    note: Seen = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record upkeep that was done, or that found something wrong. A moisture indicator or a dew
    point that failed puts its compressor out of use until it is repaired."""
    looked = Looked(failed, repaired, note=note)
    reasons = signer_reasons(book, by, on) + looked.reasons
    begins = begun_at(book, "upkeep", name, "upkeep", reasons)
    if isinstance(begins, Refusal):
        return begins
    if reasons:
        return refusal(reasons)
    draft, place = begins
    part = draft.record.upkeep[place]
    pump = hour_meter.pump_of_upkeep(draft.record, part)
    ahead = list[str]()
    if meter is not None and pump is not None:
        how = hour_meter.against(draft.record, pump, FilterChange(on=on, at=meter))
        last = hour_meter.newest(pump)
        read = f" (last read {last.reads} on {last.on})" if last else ""
        if how:
            return refusal(
                [
                    f"upkeep {part.name} was done at {meter} on {on}; the hour meter of"
                    f" {pump.name or COMPRESSOR} showed {how}{read}: read it again, or strike out"
                    " what was wrong: `tankbook correct station`; a new meter: `tankbook station"
                    " hours --instead-of`"
                ]
            )
        seen = [each for _, each in hour_meter.upkeep_seen(part) if each.on == on]
        if more := [each.at for each in seen if hour_meter.is_less(meter, each.at)]:
            return refusal(
                [
                    f"upkeep {part.name} was done at {more[0]} on {on} already, and the hour meter"
                    f" does not run back to {meter}: read it again, or strike out what was wrong:"
                    f" `tankbook correct station {part.name}.done {on} --why WHY`"
                ]
            )
        if last and last.on == on and hour_meter.is_less(last.reads, meter):
            ahead = [
                f"the hour meter of {pump.name or COMPRESSOR} read {last.reads} that day: read it"
                f" again; where it shows {meter}, record that (`tankbook station hours"
                f" {meter.hours:g}`), else set it right: `tankbook correct station"
                f" {part.name}.done {on} --set at=HOURS --why WHY`"
            ]
    entry = UpkeepDone(
        on=on,
        at=meter,
        by=by,
        result=TestResult.FAIL if failed else TestResult.PASS,
        repaired=repaired or None,
        note=failed or note or None,
    )
    draft = draft.enter(("upkeep", place, "done"), entry)
    said = f"FAILED: {failed}" if failed else "done"
    said += f", repaired: {repaired}" if repaired else ""
    at = f" at {meter}" if meter else ""
    open_ = unmended(draft.record.upkeep[place].done)
    notes = []
    if failed:
        notes = [f"have {part.name} repaired, then say --repaired WHAT"]
    elif open_ is not None:
        what = f": {open_.note}" if open_.note else ""
        notes = [f"{part.name} failed on {open_.on}{what}: that stands until --repaired WHAT"]
    notes += ahead
    if part.hours and meter is None and not failed:
        notes.append(f"it is done every {part.hours}: say what the hour meter shows, --at HOURS")
    sentence = f"Upkeep {part.name}{at}: {said}"
    return act_at(book, "station upkeep", sentence, draft, on, notes, fact=bool(failed))


# --- the fill regulator --------------------------------------------------------------------------


def set_regulator(
    book: Book,
    pressure: Annotated[GaugePressure | None, Arg("PRESSURE", "What it is set to.")] = None,
    *,
    failed: Fail = "",
    repaired: Repaired = "",
    new: Annotated[bool, Flag("A new one was fitted.")] = False,
    note: Seen = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record what the fill regulator is set to, or a check of it. One that failed closes the
    station until it is repaired or replaced."""
    looked = Looked(failed, repaired, new, note)
    checked = bool(failed or repaired or new or note)
    reasons = signer_reasons(book, by, on) + looked.reasons
    if pressure is None and not checked:
        reasons.append("nothing is said of it: give the PRESSURE that it is set to, or --fail WHY")
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    if reasons:
        return refusal(reasons)
    station = draft.record
    had = station.regulator
    holds = Mending(book.settings.people, hose=False, checked=had.checked if had else ())
    failed_on = every_unmended(had.checked, new_since(had), holds.mends) if had else []
    named = "the fill regulator"
    if wrong := _unfit_to_repair(book, named, looked, holds, failed_on, by, on):
        return refusal(wrong)
    said, notes = list[str](), list[str]()
    if pressure is not None:
        draft = draft.set("regulator_set", pressure)
        said.append(f"Fill regulator set to {pressure}")
    if checked:
        entry = looked.entry(on, by)
        if station.regulator is None:
            draft = draft.set("regulator", Regulator(checked=(entry,)))
        else:
            draft = draft.enter(("regulator", "checked"), entry)
        said.append(_sentence("fill regulator", looked))
        after = draft.record.regulator
        holds = replace(holds, checked=after.checked if after else ())
        open_ = unmended(after.checked, new_since(after), holds.mends) if after else None
        notes = _to_do("the fill regulator", looked, open_)
    return act_at(book, "station regulator", "; ".join(said), draft, on, notes, fact=bool(failed))
