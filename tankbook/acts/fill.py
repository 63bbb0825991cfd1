"""Logging fills: asked of the gate first, refused with every reason, or logged as a fact."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Sequence

from msgspec.structs import replace

from tankbook.acts.beyond import beyond_banks
from tankbook.acts.common import (
    Draft,
    dangers_of,
    edits_of,
    has_lapsed,
    named,
    named_twice,
    refusal,
    signer_reasons,
    text_reasons,
)
from tankbook.acts.fill_request import (
    FillAnswer,
    Filling,
    Settled,
    Wanted,
    ask_gate,
    position_of,
    refused,
    settle,
    source_of,
    temperature_of,
    unanalysed,
    unmet,
)
from tankbook.acts.hold import not_before
from tankbook.acts.log_line import as_labelled, line_of, moment_for, place_reasons
from tankbook.acts.soundness import lines_of, sound
from tankbook.acts.station_holds import holds_bad_air, let_go_late, let_go_said
from tankbook.gas import analysed_said
from tankbook.gas.depth import USUAL_LEAST
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, stays_with_owner
from tankbook.records.edits import Act, Edit, Refusal
from tankbook.records.entries import Held
from tankbook.records.fields import TEXT
from tankbook.records.kinds import is_empty
from tankbook.records.log import HAPPENED, LogLine
from tankbook.records.words import LogAct, Skill
from tankbook.rules.bad_air import bad_air_of
from tankbook.rules.carbon_monoxide import analyses_co
from tankbook.rules.conditions import is_clean_still, ordinary_air, why_ordinary
from tankbook.rules.fill_history import begins_empty, contents_of, void_key
from tankbook.rules.gate import loud_of, station_reasons
from tankbook.rules.incident import before_it_left
from tankbook.rules.lean import lean_said
from tankbook.rules.leaving import why_asked_of_others, why_banks_asked
from tankbook.rules.mixed import ANALYSE_AGAIN, made_otherwise, mix_of
from tankbook.rules.overfilled import AS_A_FACT
from tankbook.rules.wording import says_nothing
from tankbook.rules.workshop import open_jobs
from tankbook.units import GaugePressure, PartialDate, Percent, time_of_day

__all__ = ["Filling", "Wanted", "fill"]

BLED = "bled after the fill and read again"
"""How the note of a drain says that a gauge showed a little too much."""

GAVE = "gave to others in equalizing"
"""How the note of a drain says that a cylinder gave to others while they were equalized."""

LOOKED = "looked over"
"""How the note of a fill says that the pre-fill look was made."""


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
    then = before_it_left(book, [each.id for each in wanted], at)
    asked = [ask_gate(then, each, settled, at, wanted) for each in wanted]
    how = settled.how
    if not how.happened:
        reasons = [*unmet(book, wanted, settled), *refused(book, asked, at)]
        reasons += _of_gas_from_nowhere(then, wanted, at)
        if reasons:
            reasons += dangers_of(then, [each.id for each in wanted], at.date())
            reasons += settled.gas_taken
            return refusal(dict.fromkeys(reasons))
    return _act(book, asked, settled, at, gave)


def _impossible(
    book: Book, wanted: Sequence[Wanted], settled: Settled, at: dt.datetime
) -> Iterator[str]:
    """What cannot have been, or cannot be recorded, whoever says so."""
    how, day = settled.how, at.date()
    yield from signer_reasons(book, how.by, day)
    for option, who in (("--analysed-by", how.analysed_by), ("--approved-by", how.approved_by)):
        if who:
            yield from (f"{option}: {r}" for r in signer_reasons(book, who, day))
    for source, position in dict.fromkeys((source_of(w, how), position_of(w, how)) for w in wanted):
        yield from place_reasons(book, source, position)
    yield from text_reasons(
        override=how.override, happened=how.happened, note=how.note, source=how.source
    )
    if bool(how.override) != bool(how.approved_by):
        yield "an override has a reason and somebody who allows it: --override and --approved-by"
    elif how.override and says_nothing(how.override):
        yield f"--override: `{how.override}` is no reason"
    if how.override and how.happened:
        yield "--override allows a fill, --happened logs one that nobody allowed; give one of them"
    if not wanted:
        yield "name at least one cylinder"
    yield from named_twice(w.id for w in wanted)
    for each in wanted:
        if each.from_ is not None and each.from_ > each.to:
            yield (
                f"{each.id}: a fill from {each.from_} to {each.to} runs backward; what was let out "
                "is a `drain`"
            )
        if each.bled is not None and each.bled >= each.to:
            yield f"{each.id}: bled from {each.to} to {each.bled} runs backward"


# --- what is recorded ----------------------------------------------------------------------------


def _act(
    book: Book,
    asked: Sequence[FillAnswer],
    settled: Settled,
    at: dt.datetime,
    gave: Sequence[Wanted],
) -> Act | Refusal:
    how = settled.how
    ids = (*(a.wanted.id for a in asked), *(w.id for w in gave))
    at = _moment(book, asked, ids, at)
    edits: list[Edit] = [_drained(w.id, w.from_, w.to, how, at, GAVE) for w in gave]
    edits += [_line(book, each, settled, at) for each in asked]
    edits += [
        _drained(w.id, w.to, w.bled, _read_at(w, how), at + _LATER, BLED)
        for w in (each.wanted for each in asked)
        if w.bled is not None
    ]
    drafts: list[Draft[Cylinder]] = []
    if how.happened:
        drafts = [d for each in asked for d in _held(book, each, settled, at)]
    notes = [*settled.echo, *_notes(book, asked, settled, at)]
    notes += beyond_banks(book, edits)
    notes += [f"{d.record.id} is {d.record.status} now" for d in drafts]
    notes += _not_held(book, asked) if how.happened else []
    then = replace(book, log=(*book.log, *lines_of(edits)))
    notes += _made_otherwise(then, asked, settled, tuple(lines_of(edits)))
    if holds_bad_air(book, [a.wanted.id for a in asked if is_empty(a.wanted.from_)]):
        if late := let_go_late(book, then, by=how.by, on=at.date(), ids=ids):
            return refusal(f"{text}; or leave --from away, where nobody read it" for text in late)
        notes += let_go_said(book, then, at.date(), ids)
    act = Act(
        "fill",
        ids,
        _sentence(asked, settled),
        (*edits, *edits_of(drafts)),
        tuple(dict.fromkeys(notes)),
    )
    lifted = any(a.lifted for a in asked)
    hints = {**_HINTS, **_of_bad_air(then, asked, lines_of(edits))}
    return sound(book, act, drafts, at.date(), fact=bool(how.happened) or lifted, hints=hints)


def _of_bad_air(
    then: Book, asked: Iterable[FillAnswer], lines: Iterable[LogLine]
) -> dict[str, str]:
    """The way out where a fill itself would put bad air in: draining it again ends nothing. None
    where some of it was in before."""
    new = {void_key(line) for line in lines}
    cards = (then.cylinders.get(m) for a in asked for m in then.members(a.wanted.id))
    found = [bad for card in cards if card and (bad := bad_air_of(then, card)) and bad.certain]
    if not found or any(bad.emptied or void_key(bad.line) not in new for bad in found):
        return {}
    ways = ["say what it is filled from (--source)" for bad in found if bad.unsaid]
    for bad in found:
        if bad.unwritten:
            sampled = f"`tankbook station air-test --source {bad.unwritten.bank}`"
            ways += [bad.unwritten.mend, f"have {bad.unwritten.bank} sampled ({sampled})"]
    ways += [f"fill it from a good source{_OTHERWISE}"]
    return {"bad-air": "; or ".join(dict.fromkeys(ways))}


def _made_otherwise(
    then: Book, asked: Iterable[FillAnswer], settled: Settled, lines: Collection[LogLine]
) -> Iterator[str]:
    """What a fill is called, or was analysed at, that what it was filled from cannot make: asked
    while it stands there, and not at the next list of faults."""
    new = {(line.cylinder, line.at) for line in lines}
    for each in asked:
        source = source_of(each.wanted, settled.how)
        for member in then.members(each.wanted.id):
            card = then.cylinders.get(member)
            doubted = mix_of(then, card).doubted if card is not None else None
            if doubted is None or (doubted[0].cylinder, doubted[0].at) not in new:
                continue
            named = f"--source {source}+..." if source else "--source"
            what = f"what else went in, or stood in it before? Name all of it ({named})"
            yield f"WARNING: {made_otherwise(member, *doubted)}: {what}; {ANALYSE_AGAIN}"


_OTHERWISE = "; what happened all the same is logged with --happened"
_HINTS = {
    "unexplained-contents": f"log what filled it, or drain it{_OTHERWISE}",
    "out-of-date": f"record what is missing first{_OTHERWISE}",
    "filled-while": f"correct that first, if it is wrong{_OTHERWISE}",
    "filled-from-unknown": f"fill it from what is breathed{_OTHERWISE}",
}


def _moment(
    book: Book, asked: Sequence[FillAnswer], ids: tuple[str, ...], at: dt.datetime
) -> dt.datetime:
    """When they were filled; what is bled is read again a second later, on the same day."""
    at = moment_for(book, ids, at)
    later = at + _LATER
    bled = any(a.wanted.bled is not None for a in asked)
    return at - _LATER if bled and later.date() != at.date() else at


_LATER = dt.timedelta(seconds=1)


def _read_at(wanted: Wanted, how: Filling) -> Filling:
    """How it was filled, with the temperature of this one: bled at its stop it is warm yet."""
    return replace(how, temperature=temperature_of(wanted, how))


def _drained(
    id_: str, before: GaugePressure | None, left: GaugePressure, how: Filling, at: dt.datetime,
    note: str,
) -> Edit:  # fmt: skip
    return line_of(
        {
            "at": at,
            "cylinder": id_,
            "act": LogAct.DRAIN,
            "from": before,
            "to": left,
            "temperature": how.temperature,
            "by": how.by,
            "note": note,
        }
    )


def _line(book: Book, each: FillAnswer, settled: Settled, at: dt.datetime) -> Edit:
    how, wanted = settled.how, each.wanted
    notes = [f"{HAPPENED} {how.happened}"] if how.happened else []
    notes += [LOOKED] if how.looked else []
    notes += [wanted.took.said] if wanted.took else []
    notes += [how.note] if how.note else []
    return line_of(
        {
            "at": at,
            "cylinder": wanted.id,
            "act": LogAct.FILL,
            "from": wanted.from_ or _known_pressure(book, wanted, at),
            "to": wanted.to,
            "temperature": temperature_of(wanted, how),
            "gas": settled.gas,
            "o2": wanted.o2 or how.o2,
            "he": wanted.he or how.he,
            "by": how.by,
            "analysed_by": how.analysed_by,
            "source": as_labelled(book, source_of(wanted, how)),
            "position": as_labelled(book, position_of(wanted, how)),
            "override": f"{how.override} ({how.approved_by})" if each.lifted else "",
            "note": "; ".join(notes),
        }
    )


def _known_pressure(book: Book, wanted: Wanted, at: dt.datetime) -> GaugePressure | None:
    """What it was last read at that day, and nothing after work that let its gas out; any other
    older figure is no reading of this fill."""
    then = book.as_known_on(at.date())
    held = contents_of(then, wanted.id)
    known = held.pressure if held.on == at.date() or begins_empty(then, wanted.id, at) else None
    if is_empty(known) and holds_bad_air(then, [wanted.id]):
        return None  # nobody says how that was let out
    return known if known is not None and known <= wanted.to else None


def _held(
    book: Book, each: FillAnswer, settled: Settled, at: dt.datetime
) -> Iterator[Draft[Cylinder]]:
    """Whatever was filled against advice is held until somebody decides."""
    how = settled.how
    texts = [r.text for r in each.refusals]
    texts += [
        t.removeprefix(f"{each.wanted.id}: ") for t in unanalysed(book, [each.wanted], settled)
    ]
    texts = texts or [how.happened]
    why = f"filled to {each.wanted.to}, {AS_A_FACT}: {'; '.join(texts)}"
    entry = Held(
        on=PartialDate.of(at.date()),
        by=how.by,
        why=why if len(why) <= TEXT.limit else f"{why[: TEXT.limit - 3]}...",
        at=not_before(time_of_day(at)),
    )
    for member in book.members(each.wanted.id):
        if member in book.cylinders:
            yield Draft(book.cylinders[member]).enter("held", entry).stand(book)


def _not_held(book: Book, asked: Sequence[FillAnswer]) -> Iterator[str]:
    """What could not be held: nothing is filled from a file that cannot be read, either."""
    for each in asked:
        for member in book.members(each.wanted.id):
            if member not in book.cylinders:
                yield (
                    f"WARNING: {member} is not held, since its file cannot be read: mend it, then "
                    f"`tankbook hold {member}`"
                )


def _of_gas_from_nowhere(then: Book, wanted: Iterable[Wanted], at: dt.datetime) -> Iterator[str]:
    """What showed pressure before its fill though work let its gas out, and nothing was put in."""
    for each in wanted:
        if each.from_ is None or is_empty(each.from_) or not begins_empty(then, each.id, at):
            continue
        opened = contents_of(then, each.id).on
        yield (
            f"{each.id}: it showed {each.from_}, and its gas was let out on {opened}: nobody knows "
            "what that is, or it is another cylinder; look at its serial, then drain it (`tankbook "
            f"drain {each.id}`) and fill it from 0"
        )


def _notes(
    book: Book, asked: Sequence[FillAnswer], settled: Settled, at: dt.datetime
) -> Iterator[str]:
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
    then = book.as_known_on(at.date())
    for text in _of_gas_from_nowhere(then, [each.wanted for each in asked], at):
        yield f"WARNING: {text}"
    for each in asked:
        source = source_of(each.wanted, how)
        direct = why_asked_of_others(then, source, at.date())
        for why in (direct,) if direct else why_banks_asked(then, source, at):
            yield (
                f"{each.wanted.id}: it leaves only once it was analysed"
                f" ({analyses_co(book, each.wanted.id)}), or by somebody certified: {why}"
            )
    warm = [a.wanted.id for a in asked if a.wanted.warm]
    if warm:
        yield (
            f"{', '.join(warm)}: more than it settles to by the plan, so taken as read warm, at "
            "the stop (if it was cool already, give --temperature): read again once cool, and log "
            "that (`tankbook reading`)"
        )
    if not all(source_of(a.wanted, how) for a in asked):
        yield "WARNING: no --source: a bad-air recall cannot find it"
    if has_lapsed(book, how.by, Skill.FILLER, at.date()):
        yield f"WARNING: {how.by}'s certification as filler has lapsed"
    if how.analysed_by and has_lapsed(book, how.analysed_by, Skill.ANALYST, at.date()):
        yield f"WARNING: {how.analysed_by}'s certification as analyst has lapsed"
    for each in () if gas.is_air else asked:
        o2, he = each.wanted.o2 or how.o2, each.wanted.he or how.he
        if o2 is not None:
            read = analysed_said(o2.percent, he.percent if he else None)
            said = ", ".join((f"{gas}, {read}, {at.date()}, {how.analysed_by}", *_lean(book, o2)))
            yield f"{each.wanted.id}: label: {said}; analyse again at pick-up"
        yield from _asked_as_it_leaves(book, each.wanted.id)
    yield from _clean_lost(book, asked, settled, at)


def _lean(book: Book, o2: Percent) -> Iterator[str]:
    """That a gas is low in oxygen, and from where on it may be breathed."""
    least = book.settings.least_oxygen_pressure or USUAL_LEAST
    said, deep = lean_said(o2.percent, least)
    if said:
        yield f"LOW OXYGEN: {said}"
    if deep:
        yield f"least depth {deep}"


def _asked_as_it_leaves(book: Book, id_: str) -> Iterator[str]:
    """That a customer's cylinder with no work in hand is asked about once it is taken along."""
    for card in book.sides(id_):
        if stays_with_owner(card) and not open_jobs(card):
            yield (
                f"{card.id}: whoever takes it analyses it, and was seen to be trained for it: "
                f"`tankbook jobs collect {card.id} --analysed ... --depth ... --user ...`"
            )


def _clean_lost(
    book: Book, asked: Iterable[FillAnswer], settled: Settled, at: dt.datetime
) -> Iterator[str]:
    """A fill that is not known to be of oxygen grade ends the oxygen-clean state."""
    for each in asked:
        line = LogLine(
            at=at, cylinder=each.wanted.id, act=LogAct.FILL, gas=settled.gas,
            source_=source_of(each.wanted, settled.how) or None,
        )  # fmt: skip
        if not ordinary_air(book, line):
            continue
        for member in book.members(each.wanted.id):
            cylinder = book.cylinders.get(member)
            if cylinder is not None and is_clean_still(book, cylinder, at.date()):
                why = why_ordinary(book, line)
                because = f" ({why})" if why else ""
                yield f"{member}: gas of no oxygen grade ends its oxygen-clean state{because}"


def _sentence(asked: Sequence[FillAnswer], settled: Settled) -> str:
    how = settled.how
    pressures = list(dict.fromkeys(a.wanted.to for a in asked))
    if len(pressures) == 1:
        what = f"{named(a.wanted.id for a in asked)} to {pressures[0]}"
    elif len(asked) <= 4:
        what = ", ".join(f"{a.wanted.id} to {a.wanted.to}" for a in asked)
    else:
        what = f"{named(a.wanted.id for a in asked)} to {min(pressures)} and up to {max(pressures)}"
    sources = dict.fromkeys(filter(None, (source_of(a.wanted, how) for a in asked)))
    source = f" from {', '.join(sources)}" if sources else ""
    bled = ", ".join(f"{a.wanted.id} to {a.wanted.bled}" for a in asked if a.wanted.bled)
    source += f", bled {bled}" if bled else ""
    said = f"{what} with {settled.gas}{source}, by {how.by}"
    said = "; ".join([said, *loud_of(a.answer for a in asked)])
    if how.happened:
        return f"Logged as a fact: filled {said}; {how.happened}; held"
    return f"Filled {said}"
