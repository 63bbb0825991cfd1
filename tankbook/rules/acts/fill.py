"""Logging fills: asked of the gate first, refused with every reason, or logged as a fact."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.edits import Act, Edit, Refusal
from tankbook.records.entries import Held, standing
from tankbook.records.log import LogLine
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.words import Act as LogAct
from tankbook.records.words import InspectionResult, Service, Skill, Status
from tankbook.rules.acts.common import Draft, edits_of, named, refusal, signer_reasons
from tankbook.rules.acts.log_line import (
    last_fill,
    line_of,
    moment_for,
    place_reasons,
    text_reasons,
)
from tankbook.rules.acts.people import has_lapsed
from tankbook.rules.answers import MayFill, Reason
from tankbook.rules.conditions import ordinary_air
from tankbook.rules.contents import EMPTY, contents_of, lines_by_cylinder, sets_with
from tankbook.rules.gate import AIR_WORD, may_fill, station_reasons
from tankbook.rules.limits import cold_target
from tankbook.rules.log_checks import HAPPENED
from tankbook.units import GaugePressure, PartialDate, Percent, Temperature

ANALYSIS = 1.0
"""How far an analysis may lie from the gas's name, in percent of oxygen (common practice, no
source)."""

LOOKED = "looked over"
"""How the note of a fill says that the pre-fill look was made."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One cylinder or set, the pressure reached, and the one it began with where that was read.

    Analysis, source, position and fill pressure are its own where they are not those of all.
    """

    id: str
    to: GaugePressure
    from_: GaugePressure | None = None
    source: str = ""
    position: str = ""
    fill_pressure: GaugePressure | None = None
    o2: Percent | None = None
    he: Percent | None = None


@dataclass(frozen=True, slots=True)
class Filling:
    """How it was filled. What is None or empty is taken from the day's last fill or the settings.

    `looked` says that each was looked over before; `override` and `approved_by` lift shop practice;
    `happened` logs a fact against advice, and why.
    """

    by: str = ""
    gas: Gas | None = None
    o2: Percent | None = None
    he: Percent | None = None
    analysed_by: str = ""
    source: str = ""
    position: str = ""
    temperature: Temperature | None = None
    fill_pressure: GaugePressure | None = None
    together: bool = False
    looked: bool = False
    override: str = ""
    approved_by: str = ""
    happened: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Settled:
    """A filling with its defaults filled in, and what these were taken from."""

    how: Filling
    gas: Gas
    echo: tuple[str, ...]


@dataclass(slots=True)
class Asked:
    """One cylinder's answer: what refuses it, what an override lifts, what is worth knowing."""

    wanted: Wanted
    answer: MayFill
    refusals: list[Reason] = field(default_factory=list)
    lifted: list[Reason] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


def fill(
    book: Book,
    wanted: Sequence[Wanted],
    how: Filling,
    *,
    at: dt.datetime,
    gave: Sequence[Wanted] = (),
) -> Act | Refusal:
    """Log fills: all of them, or none with every reason of every cylinder.

    Args:
        book: the records, all of them.
        wanted: each cylinder or set with its pressure.
        how: how they were filled.
        at: when, with its UTC offset.
        gave: cylinders that gave to others, logged as drains.

    Raises:
        RangeError: the temperature is outside the range of the gas model.
    """
    settled = settle(book, how, at, ask_source=not all(w.source for w in wanted))
    reasons = list(_impossible(book, wanted, settled, at))
    if reasons:
        return refusal(dict.fromkeys(reasons))
    then = book.as_known_on(at.date())
    asked = [_ask(then, each, settled, at, wanted) for each in wanted]
    how = settled.how
    if not how.happened:
        reasons = [*_unmet(wanted, settled), *_refused(book, asked, at)]
        if reasons:
            return refusal(dict.fromkeys(reasons))
    return _act(book, asked, settled, at, gave)


def settle(book: Book, how: Filling, at: dt.datetime, *, ask_source: bool = True) -> Settled:
    """Fill in what was not said: as in the day's last fill, else as the settings have it."""
    last = last_fill(book, at)
    settings = book.settings
    taken: dict[str, list[str]] = {}

    def default(name: str, given: str, session: str | None, setting: str | None) -> str:
        if given:
            return given
        if session:
            taken.setdefault("as in the day's last fill", []).append(f"{name} {session}")
            return session
        if setting:
            taken.setdefault("as the settings say", []).append(f"{name} {setting}")
        return setting or ""

    by = default("by", how.by, last.by if last else None, settings.operator)
    gas = how.gas
    if gas is None:
        session = str(last.gas) if last and last.gas else None
        gas = Gas.parse(default("gas", "", session, str(settings.gas or AIR_WORD)))
    source = how.source
    if ask_source:
        source = default("source", source, last.source_ if last else None, None)
    full = replace(how, by=by, gas=gas, source=source)
    return Settled(full, gas, tuple(f"{k}: {', '.join(v)}" for k, v in taken.items()))


def _impossible(
    book: Book, wanted: Sequence[Wanted], settled: Settled, at: dt.datetime
) -> Iterator[str]:
    """What cannot have been, or cannot be recorded, whoever says so."""
    how, day = settled.how, at.date()
    yield from signer_reasons(book, how.by, day)
    for option, who in (("--analysed-by", how.analysed_by), ("--approved-by", how.approved_by)):
        if who:
            yield from (f"{option}: {r}" for r in signer_reasons(book, who, day))
    for source, position in dict.fromkeys((_source(w, how), _position(w, how)) for w in wanted):
        yield from place_reasons(book, source, position)
    yield from text_reasons(
        override=how.override, happened=how.happened, note=how.note, source=how.source
    )
    if bool(how.override) != bool(how.approved_by):
        yield "an override has a reason and somebody who allows it: --override and --approved-by"
    if how.override and how.happened:
        yield "--override allows a fill, --happened logs one that nobody allowed; give one of them"
    if not wanted:
        yield "name at least one cylinder"
    ids = [w.id for w in wanted]
    for id_ in sorted({i for i in ids if ids.count(i) > 1}):
        yield f"{id_} is named twice"
    for each in wanted:
        if each.from_ is not None and each.from_ > each.to:
            yield (
                f"{each.id}: a fill from {each.from_} to {each.to} runs backward; what was let out "
                "is a `drain`"
            )
        if how.happened:
            for member in _members(book, each.id):
                if member not in book.cylinders:
                    yield f"{member}: its file cannot be read, so it cannot be held; mend it first"


def _source(wanted: Wanted, how: Filling) -> str:
    return wanted.source or how.source


def _position(wanted: Wanted, how: Filling) -> str:
    return wanted.position or how.position


def _members(book: Book, id_: str) -> tuple[str, ...]:
    return book.sets[id_].cylinders if id_ in book.sets else (id_,)


# --- asking the gate -----------------------------------------------------------------------------


def _ask(
    book: Book, each: Wanted, settled: Settled, at: dt.datetime, all_: Sequence[Wanted]
) -> Asked:
    how, day = settled.how, at.date()
    if _came_empty(book, each):
        found = LogLine(at=at, cylinder=each.id, act=LogAct.READING, to=each.from_)
        book = replace(book, log=(*book.log, found))
    answer = may_fill(
        book,
        each.id,
        day,
        settled.gas,
        fill_pressure=each.fill_pressure or how.fill_pressure,
        ambient=how.temperature,
        connected=tuple(w.id for w in all_) if how.together else (),
    )
    asked = Asked(each, answer)
    over = list(_over(answer, each, how.temperature))
    for reason in [*answer.refusals, *over]:
        lifts = bool(how.override) and reason.may_be_overridden and reason not in over
        (asked.lifted if lifts else asked.refusals).append(reason)
    asked.warnings += [r.text for r in answer.warnings]
    colder = how.temperature is None and answer.ambient is not None
    if colder and answer.target and each.to > answer.target:
        asked.warnings.append(
            f"no --temperature was given; at {answer.ambient} its limit would read "
            f"{answer.target.format(each.to.unit, 0)}"
        )
    return asked


def _came_empty(book: Book, each: Wanted) -> bool:
    """Whether it stood empty and nothing on record says why: water gets in that way.

    A drain, or a look inside since it was last filled, accounts for it.
    """
    if each.from_ is None or each.from_ >= EMPTY:
        return False
    ids = (each.id, *sets_with(book).get(each.id, ()))
    lines = [n for i in ids for n in lines_by_cylinder(book).get(i, ())]
    last = max(lines, key=lambda n: n.at, default=None)
    if last is not None and last.act is LogAct.DRAIN and last.to is not None and last.to < EMPTY:
        return False
    since = last.at.date() if last else dt.date.min
    return not all(_looked_inside(book, m, since) for m in _members(book, each.id))


def _looked_inside(book: Book, id_: str, since: dt.date) -> bool:
    cylinder = book.cylinders.get(id_)
    for entry in standing(cylinder.inspected) if cylinder else ():
        followed = book.checklists.get(entry.checklist)
        inside = followed is not None and (followed.inside or followed.full)
        if inside and entry.result is InspectionResult.PASS and entry.on.last >= since:
            return True
    return False


def _over(answer: MayFill, each: Wanted, at: Temperature | None) -> Iterator[Reason]:
    """A pressure above what the limit reads at the temperature given: never lifted."""
    limit = answer.limit
    if limit is None:
        return
    most = cold_target(limit, answer.gas.mixture, at)
    if each.to.pa <= most.pa * (1 + 1e-9):
        return
    text = f"{each.to} is above its limit, {limit.pressure} at {limit.reference}"
    if most < limit.pressure:
        # shown rounded down: a reading at the figure shown is within the limit
        shown = GaugePressure.of(float(int(most.to(each.to.unit))), each.to.unit)
        text = f"{each.to} is above {shown}, what its {limit.pressure} read at {at}"
    mend = "bleed it down; what happened is logged with --happened"
    row = next((r for r in limit.rows if r.obligation is Obligation.FILL_LIMIT), None)
    yield Reason("over-limit", text, Gate.REFUSE, row, mend)


def _unmet(wanted: Sequence[Wanted], settled: Settled) -> Iterator[str]:
    """What every fill asks for besides the gate: the look, and an analysis of any gas but air."""
    how, gas = settled.how, settled.gas
    if not how.looked:
        yield "nobody has said that they were looked over before the fill: --looked"
    if not gas.is_air and not how.analysed_by:
        yield f"{gas} has an analyst: --analysed-by gives the initials"
    for each in wanted:
        o2, he = each.o2 or how.o2, each.he or how.he
        if not gas.is_air and o2 is None:
            yield f"{each.id}: {gas} is analysed before it is labelled: --o2 gives the percentage"
        if o2 is not None and abs(o2.percent - gas.oxygen_percent) > ANALYSIS:
            yield (
                f"{each.id}: {o2} oxygen was analysed, and {gas} has {gas.oxygen_percent:.4g} %: "
                "name the gas as analysed with --gas, or analyse again"
            )
        if he is not None and abs(he.percent - gas.helium_percent) > ANALYSIS:
            yield f"{each.id}: {he} helium was analysed, and {gas} has {gas.helium_percent:.4g} %"


def _refused(book: Book, asked: Sequence[Asked], at: dt.datetime) -> Iterator[str]:
    """Every refusal of every cylinder; what the station has against all of them, once."""
    shared = {(r.code, r.text) for r in station_reasons(book.as_known_on(at.date()), at.date())}
    for each in asked:
        for reason in each.refusals:
            who = "the station" if (reason.code, reason.text) in shared else each.wanted.id
            yield f"{who}: {told(reason)}"


def told(reason: Reason) -> str:
    """A reason, the rule it rests on, and the way out."""
    rest = f" [{reason.row.id}; {reason.citation}]" if reason.row else ""
    if reason.mend:
        return f"{reason.text}{rest}; {reason.mend}"
    lifts = "; --override may lift it" if reason.may_be_overridden else ""
    return f"{reason.text}{rest}{lifts}"


# --- what is recorded ----------------------------------------------------------------------------


def _act(
    book: Book,
    asked: Sequence[Asked],
    settled: Settled,
    at: dt.datetime,
    gave: Sequence[Wanted],
) -> Act:
    how = settled.how
    ids = (*(a.wanted.id for a in asked), *(w.id for w in gave))
    at = moment_for(book, ids, at)
    edits: list[Edit] = [_gave(each, settled, at) for each in gave]
    edits += [_line(book, each, settled, at) for each in asked]
    drafts = []
    if how.happened:
        drafts = [d for each in asked for d in _held(book, each, how, at.date())]
    notes = [*settled.echo, *_notes(book, asked, settled, at)]
    notes += [f"{d.cylinder.id} is {d.cylinder.status} now" for d in drafts]
    return Act(
        "fill",
        ids,
        _sentence(asked, settled),
        (*edits, *edits_of(drafts)),
        tuple(dict.fromkeys(notes)),
    )


def _line(book: Book, each: Asked, settled: Settled, at: dt.datetime) -> Edit:
    how, wanted = settled.how, each.wanted
    notes = [f"{HAPPENED} {how.happened}"] if how.happened else []
    notes += [LOOKED] if how.looked else []
    notes += [how.note] if how.note else []
    return line_of(
        {
            "at": at,
            "cylinder": wanted.id,
            "act": LogAct.FILL,
            "from": wanted.from_ or _known_pressure(book, wanted.id, at),
            "to": wanted.to,
            "temperature": how.temperature,
            "gas": settled.gas,
            "o2": wanted.o2 or how.o2,
            "he": wanted.he or how.he,
            "by": how.by,
            "analysed_by": how.analysed_by,
            "source": _source(wanted, how),
            "position": _position(wanted, how),
            "override": f"{how.override} ({how.approved_by})" if each.lifted else "",
            "note": "; ".join(notes),
        }
    )


def _gave(wanted: Wanted, settled: Settled, at: dt.datetime) -> Edit:
    """A cylinder that gave to others while they were equalized."""
    return line_of(
        {
            "at": at,
            "cylinder": wanted.id,
            "act": LogAct.DRAIN,
            "from": wanted.from_,
            "to": wanted.to,
            "temperature": settled.how.temperature,
            "by": settled.how.by,
            "note": "gave to others in equalizing",
        }
    )


def _known_pressure(book: Book, id_: str, at: dt.datetime) -> GaugePressure | None:
    """What it was last read at that day; an older figure is no reading of this fill."""
    held = contents_of(book.as_known_on(at.date()), id_)
    return held.pressure if held.on == at.date() else None


def _held(book: Book, each: Asked, how: Filling, day: dt.date) -> Iterator[Draft]:
    """Whatever was filled against advice is held until somebody decides."""
    texts = [r.text for r in each.refusals] or [how.happened]
    why = f"filled to {each.wanted.to}, logged as a fact: {'; '.join(texts)}"
    entry = Held(
        on=PartialDate.of(day), by=how.by, why=why if len(why) <= 500 else why[:497] + "..."
    )
    for member in _members(book, each.wanted.id):
        yield Draft(book.cylinders[member]).enter("held", entry).stand(Status.HELD)


def _notes(book: Book, asked: Sequence[Asked], settled: Settled, at: dt.datetime) -> Iterator[str]:
    how, gas = settled.how, settled.gas
    if how.override and not any(a.lifted for a in asked):
        yield "nothing had to be overridden, so no override is logged"
    for each in asked:
        for reason in each.lifted:
            yield f"{each.wanted.id}: overridden by {how.approved_by}: {reason.text}"
    shared = {r.text for r in station_reasons(book, at.date())}
    for each in asked:
        for text in each.warnings:
            yield f"WARNING: {text}" if text in shared else f"{each.wanted.id}: WARNING: {text}"
    if not all(_source(a.wanted, how) for a in asked):
        yield "WARNING: no --source: a bad-air recall cannot find it"
    if has_lapsed(book, how.by, Skill.FILLER, at.date()):
        yield f"WARNING: {how.by}'s certification as filler has lapsed"
    if how.analysed_by and has_lapsed(book, how.analysed_by, Skill.ANALYST, at.date()):
        yield f"WARNING: {how.analysed_by}'s certification as analyst has lapsed"
    for each in () if gas.is_air else asked:
        o2 = each.wanted.o2 or how.o2
        said = f"{gas}, {o2} oxygen, {at.date()}, {how.analysed_by}"
        if o2 is not None:
            yield f"{each.wanted.id}: label: {said}; analyse again at pick-up"
    yield from _clean_lost(book, asked, settled, at)


def _clean_lost(
    book: Book, asked: Iterable[Asked], settled: Settled, at: dt.datetime
) -> Iterator[str]:
    """A fill that is not known to be of oxygen grade ends the oxygen-clean state."""
    for each in asked:
        line = LogLine(
            at=at, cylinder=each.wanted.id, act=LogAct.FILL, gas=settled.gas,
            source_=_source(each.wanted, settled.how) or None,
        )  # fmt: skip
        if not ordinary_air(book, line):
            continue
        for member in _members(book, each.wanted.id):
            cylinder = book.cylinders.get(member)
            clean = cylinder is not None and standing(cylinder.cleaned)
            if clean and cylinder is not None and cylinder.service is not Service.AIR:
                yield f"{member}: gas of no oxygen grade ends its oxygen-clean state"


def _sentence(asked: Sequence[Asked], settled: Settled) -> str:
    how = settled.how
    pressures = list(dict.fromkeys(a.wanted.to for a in asked))
    if len(pressures) == 1:
        what = f"{named(a.wanted.id for a in asked)} to {pressures[0]}"
    elif len(asked) <= 4:
        what = ", ".join(f"{a.wanted.id} to {a.wanted.to}" for a in asked)
    else:
        what = f"{named(a.wanted.id for a in asked)} to {min(pressures)} and up to {max(pressures)}"
    sources = dict.fromkeys(filter(None, (_source(a.wanted, how) for a in asked)))
    source = f" from {', '.join(sources)}" if sources else ""
    said = f"{what} with {settled.gas}{source}, by {how.by}"
    if how.happened:
        return f"Logged as a fact: filled {said}; {how.happened}; held"
    return f"Filled {said}"
