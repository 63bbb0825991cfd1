"""What keeps a cylinder here: whatever else is wrong with it, and the gas that somebody takes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Set

from msgspec import Struct

from tankbook.gas import AIR_GAS, Gas, GasError
from tankbook.gas.depth import USUAL_LIMIT, depth_limit
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import GasAnalysed
from tankbook.records.kinds import is_empty
from tankbook.records.life import still_open
from tankbook.records.log import LogLine
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.station import Bank, Raised, Station, that_stand
from tankbook.records.words import Skill, UserLevel
from tankbook.rules.air import Drawn, air_judge, by_others, day_of, drawn, parts_named, taken_here
from tankbook.rules.answers import Reason
from tankbook.rules.bad_air import (
    bad_air_of,
    banks_of_bad_air,
    cylinders_called,
    fills_since_empty,
    kept_back,
    logged_in,
    sampled_cylinders,
    still_holds,
    tells_bad,
)
from tankbook.rules.carbon_monoxide import analyses_co, is_over, moment_of, proves
from tankbook.rules.conditions import Condition
from tankbook.rules.fill_history import contents_of, local_time
from tankbook.rules.gas_unknown import Unknown
from tankbook.rules.gate import adverse_of, may_fill, station_reasons
from tankbook.rules.inforce import InForce, facts_of, rules_of
from tankbook.rules.own_analysis import ANALYSE_TOGETHER, HAIR, analysed_otherwise
from tankbook.rules.services import analysis_tolerance
from tankbook.rules.signing import why_not
from tankbook.rules.trained import held_in, is_seen, nameless_in, wanted_for
from tankbook.rules.wording import says_nothing
from tankbook.units import Length

KEEPS_HERE = frozenset({"recorded-stolen", "bad-air", "blend-unfinished"})
"""The reasons for which not even its owner is handed it: whose it is, and what was put into it
here."""


class Taken(Struct, frozen=True):
    """Who takes a cylinder, what they analysed, and what they are seen to be trained for now."""

    reference: str
    analysed: GasAnalysed | None = None
    seen: UserLevel | None = None
    lent: bool = False
    """It goes out on rental, which asks by itself that its gas is on record (`rental`), and not
    whether it is what is on record."""


def against_leaving(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    """Why a cylinder is not handed out, be it to its owner, as the rule rows in force have it; and
    that it was recalled for its gas, and may not be let go yet.

    Args:
        book: the records, as known today.
        id_: a cylinder of the book.
        today: the day it would leave.
    """
    refused = may_fill(book, id_, today, station=False).refusals
    found = [r for r in refused if r.code in KEEPS_HERE]
    cards = (book.cylinders.get(each) for each in book.members(id_))
    recalled = (
        text
        for card in cards
        if card is not None
        for held in still_open(card.held)
        if held.is_recall
        for text in kept_back(book, card, held)
    )
    told = (f"{r.text}; {r.mend}" if r.mend else r.text for r in found)
    return tuple(dict.fromkeys((*told, *recalled)))


def gas_against_sending(
    book: Book, card: Cylinder, today: dt.date, *, certified: bool
) -> tuple[str, ...]:
    """Why the gas in a cylinder does not leave for a test house, a repairer or a supplier: it is
    suspect, or was recalled; or it is said to be of others, and nobody `certified` sends it. What
    that left behind is cleaned there, too."""
    bad = bad_air_of(book, card)
    recalled = (h for h in still_open(card.held) if h.is_recall)
    told = [text for held in recalled for text in still_holds(book, card, held)]
    if bad is not None and bad.certain and not bad.emptied:
        told = [f"{bad.held_by(card.id)}, and {tells_bad(bad.failed)}"]
    others = "" if certified else filled_while_shut(book, card.id, today)
    return tuple(dict.fromkeys((*told, *([f"{card.id}: {others}"] if others else []))))


def told_leaving(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    """What else is known against a cylinder that its owner takes, and does not keep it here: what
    was found of it or happened to it, and that it was refused before."""
    answer = may_fill(book, id_, today, contents_of(book, id_).gas, station=False)
    told = adverse_of((*answer.refusals, *answer.warnings))
    return tuple(dict.fromkeys(r.text for r in told if r.code not in KEEPS_HERE))


def filled_while_shut(book: Book, id_: str, today: dt.date) -> str:
    """Why gas that is said to be of others does not leave: as it was filled our own station was
    closed, or a bank of it was out for bad air, and no sample of it says that it is good. No list
    of words tells what is ours by another name. Empty where nothing asks that.

    Args:
        book: the records, as known today.
        id_: a cylinder or set of the book.
        today: the day it would leave.
    """
    station, names = book.station, {id_, *book.members(id_)}
    cards = (book.cylinders.get(each) for each in book.members(id_))
    for card in cards:
        if station is None or card is None:
            continue
        for line, since, why in _of_others(book, station, card, None, frozenset()):
            if not _is_sampled(book, station, names, since):
                return (
                    f"it was filled from {line.source_} on {since.date()}, while {why}: analyse it"
                    f" ({analyses_co(book, id_)}), or somebody certified lets it go (--by)"
                )
    return ""


def _of_others(
    book: Book,
    station: Station,
    card: Cylinder,
    until: dt.datetime | None,
    asked: frozenset[str],
) -> Iterator[tuple[LogLine, dt.datetime, str]]:
    """The fills that a cylinder holds gas of by a moment or now, the newest first, topped since or
    not, that were of what is said to be of others while something was wrong here, or of a cylinder
    or a bank that held such gas: by when it went in here, and what was wrong. `asked` are the
    cylinders on the way to this one."""
    asked |= {card.id}
    for line in reversed(fills_since_empty(book, card, until)):
        source, went_in = line.source_ or "", logged_in(line.at).last
        if why := why_asked_of_others(book, source, went_in.date()):
            yield line, went_in, why
        givers = {id_ for n in taken_here(source) for id_ in cylinders_called(book, n)} - asked
        for giver in (g for g in map(book.cylinders.get, sorted(givers)) if g is not None):
            for _, since, why in _of_others(book, station, giver, line.at, asked):
                if not _is_sampled(book, station, {giver.id}, since, _end_of(went_in)):
                    yield line, went_in, why
        for name in sorted(parts_named(station, source)):
            for why in _bank_of_others(book, station, name, line.at, asked, frozenset()):
                yield line, went_in, why


def why_banks_asked(book: Book, source: str, at: dt.datetime) -> tuple[str, ...]:
    """Why what the banks of a source give leaves only once it was analysed, or by somebody
    certified: what they held by a moment is said to be of others, and went in while something was
    wrong here.

    Args:
        book: the records.
        source: what a fill is said to come from, such as `B1+B2`.
        at: the moment, with its UTC offset.
    """
    station, none = book.station, frozenset[str]()
    if station is None:
        return ()
    named = sorted(parts_named(station, source))
    found = (_bank_of_others(book, station, name, at, none, none) for name in named)
    return tuple(dict.fromkeys(why for each in found for why in each))


def asked_of_bank(book: Book, bank: Bank, today: dt.date) -> str:
    """As `why_banks_asked` of a bank at the end of a day, with what answers it; empty where nothing
    is asked."""
    end = dt.datetime.combine(today, dt.time.max, dt.UTC)
    if not (found := why_banks_asked(book, bank.name, end)):
        return ""
    return (
        f"{'; '.join(found)}: what it gives leaves only once analysed, or by somebody certified;"
        f" that ends with a good sample of it (`tankbook station air-test --source {bank.name}`),"
        f" an analysis ({analyses_co(book, bank.name)}), or with its being read empty and raised"
        " anew"
    )


def _bank_of_others(
    book: Book,
    station: Station,
    name: str,
    until: dt.datetime,
    asked: frozenset[str],
    seen: frozenset[str],
) -> Iterator[str]:
    """Why what a bank held by a moment is asked about: somebody who is not certified raised it with
    such gas (`station raise --happened`), or from a bank that held some, and it was neither emptied
    nor sampled since. `seen` are the banks on the way to this one."""
    bank = next((b for b in station.banks if b.name.casefold() == name), None)
    if bank is None or name in seen:
        return
    people, last = book.settings.people, local_time(until)
    for raised in reversed(that_stand(bank.raised)):
        source, begun = raised.source_ or "", _moment(raised.on, raised.at, dt.time.min)
        went_in, of_day = _moment(raised.on, raised.at, dt.time.max), _end_of(last)
        # a sample of later that day is of the same gas, unless it was read empty that day
        most = last if _was_emptied(bank, raised, of_day) else of_day
        sampled = _is_sampled(book, station, {bank.name}, went_in, most)
        if begun > last or sampled or _was_emptied(bank, raised, last):
            continue
        by_then = went_in.replace(tzinfo=until.tzinfo)
        if why_not(people, raised.by, Skill.INSPECTOR, raised.on):  # who may let go lets it go
            why = why_asked_of_others(book, source, raised.on)
            whys = [f"from {source}, while {why}"] if why else []
            for id_ in (i for n in taken_here(source) for i in cylinders_called(book, n)):
                giver = book.cylinders.get(id_) if id_ not in asked else None
                found = _of_others(book, station, giver, by_then, asked) if giver else ()
                whys += [f"from {id_}, while {text}" for _, _, text in found]
            yield from (f"{bank.name} was raised on {raised.on} {text}" for text in whys)
        for part in sorted(parts_named(station, source)):
            yield from _bank_of_others(book, station, part, by_then, asked, seen | {name})


def _moment(day: dt.date, at: dt.time | None, unsaid: dt.time) -> dt.datetime:
    return dt.datetime.combine(day, at or unsaid)


def _was_emptied(bank: Bank, raised: Raised, last: dt.datetime) -> bool:
    """Whether a bank was empty after a raising and by a moment, by what is on record of it."""
    read = [(r.on, r.at) for r in that_stand(bank.readings) if is_empty(r.pressure)]
    read += [(r.on, r.at) for r in that_stand(bank.raised) if is_empty(r.from_) and r is not raised]
    since = _moment(raised.on, raised.at, dt.time.max)
    return any(since < _moment(on, at, dt.time.min) <= last for on, at in read)


def raised_while_shut(book: Book, source: str, day: dt.date) -> Iterator[str]:
    """Why nobody raises a bank on a day with gas that is said to be of others, or with that of a
    cylinder which holds some: something is wrong here that it may be of."""
    if why := why_asked_of_others(book, source, day):
        yield f"it is raised from {source}, while {why}: somebody certified does that (--by)"
    for id_ in (id_ for name in taken_here(source) for id_ in cylinders_called(book, name)):
        if why := filled_while_shut(book, id_, day):
            yield f"{id_}: {why}"


def why_asked_of_others(book: Book, source: str, day: dt.date) -> str:
    """What was wrong here on a day on which something was filled from what is said to be of others;
    empty where it is not, or nothing was."""
    return _wrong_on(book, day) if by_others(source) else ""


@once_per_book
def _wrong_on(book: Book, day: dt.date) -> str:
    """What was wrong here on a day, by what was on record by its end; empty where nothing was."""
    then = book.as_known_on(day)
    if bad := [each.bank.name for each in banks_of_bad_air(then, day)]:
        return f"bad air was in {', '.join(bad)}"
    shut = (r.text for r in station_reasons(then, day) if r.gate is Gate.REFUSE)
    return next((f"the station was CLOSED ({text})" for text in shut), "")


def _end_of(moment: dt.datetime) -> dt.datetime:
    return dt.datetime.combine(moment.date(), dt.time.max)


def _is_sampled(
    book: Book,
    station: Station,
    ids: Set[str],
    since: dt.datetime,
    until: dt.datetime | None = None,
) -> bool:
    """Whether what a cylinder or a bank holds was found good by a reading or a sample of it or its
    set, after it went in and by another moment; one that may be of before it proves nothing."""
    own, judge = {id_.casefold() for id_ in ids}, air_judge(book)
    read = (r for r in that_stand(station.co_readings) if (r.of or "").casefold() in own)
    good = [
        Drawn(moment_of(r), moment_of(r)) if r.at else day_of(r.on)
        for r in read
        if not is_over(book, r) and proves(book, r)
    ]
    good += [
        drawn(test)
        for test in that_stand(station.air_tests)
        if judge.passes(test)
        and (ids & {*sampled_cylinders(book, test)} or (test.source_ or "").casefold() in own)
    ]
    return any(since < d.first and (until is None or d.last <= until) for d in good)


def gas_leaving(book: Book, id_: str, taken: Taken, today: dt.date) -> tuple[Reason, ...]:
    """What the rows in force have against somebody's taking the gas a cylinder or a set holds.

    Any gas but air is analysed by whoever takes it, who writes how deep it may be taken and their
    initials, and is trained for it. What nobody knows is analysed too, and is what the user found.
    Of air only what was analysed all the same is judged.

    Args:
        book: the records, as known today.
        id_: a cylinder or set of the book, whose file could be read.
        taken: who takes it, and with what.
        today: the day it leaves.
    """
    rules, found = rules_of(book), dict[Reason, None]()
    kinds = [facts_of(book.cylinders[m], rules) for m in book.members(id_) if m in book.cylinders]
    for each in _conditions(book, id_, taken, rules, today):
        for facts in kinds:
            rows = rules.about(facts, each.question, each.state)
            if not rows:
                text = f"{each.text}; no rule row in force says what follows"
                found[Reason(each.code, text, Gate.REFUSE, None, each.mend)] = None
            for row in rows:
                found[Reason(each.code, each.text, row.gate, row, each.mend)] = None
            for less in rules.loosened_for(facts, each.question, each.state):
                said = Reason("row-loosened", str(less), Gate.WARN, less.row, loud=True)
                found[said] = None
    return tuple(found)


def _conditions(
    book: Book, id_: str, taken: Taken, rules: InForce, today: dt.date
) -> Iterator[Condition]:
    read, tolerance = taken.analysed, analysis_tolerance(rules)
    held = held_in(book, id_)
    nameless = [each for each in nameless_in(book, id_) if each is not None]
    named = [each for each in held if each.gas is not None] if not nameless else []
    gases = list(dict.fromkeys(each.gas for each in named if each.gas is not None))
    if not gases and read is not None and (name := _called(read, tolerance)) is not None:
        gases = [name]
    asked = taken.lent and all(each.gas is None for each in held)  # a rental asks that by itself
    for unknown in () if asked else dict.fromkeys(nameless):
        yield from _not_known(unknown, read)
    for gas in gases:
        if gas.is_air:
            continue
        if missing := _missing(gas, read):
            text = f"it holds {gas}, and the user did not {' and '.join(missing)}"
            yield _condition("not-analysed", text, "--analysed, --depth and --user say it")
        yield from _not_certified(book, gas, taken, rules, today)
    if read is None:
        return
    for each in named:
        if said := analysed_otherwise(each, read, tolerance):
            yield _condition("analysed-otherwise", said, ANALYSE_TOGETHER)
    yield from _too_deep(book, read)


def _condition(state: str, text: str, mend: str) -> Condition:
    return Condition(Obligation.LEAVING, state, f"leaving-{state}", text, mend)


def _not_known(unknown: Unknown, read: GasAnalysed | None) -> Iterator[Condition]:
    """That nobody knows what it holds, where the user did not find it out either."""
    if unknown.unfit:
        text = f"nobody knows what it holds: {unknown.why}; its oxygen does not say what else is in"
        mend = "drain it, and log that (`tankbook drain`), or have its air sampled"
        yield _condition("unknown", f"{text} that", f"{mend} (`tankbook station air-test`)")
        return
    if read is not None and (read.helium is not None or not unknown.helium):
        return
    if unknown.own:
        text = f"what it holds is its owner's own: {unknown.why}"
        yield _condition("own-gas", text, "whoever breathes it analyses it")
        return
    what = "its helium" if read is not None else "it"
    text = f"nobody knows what it holds: {unknown.why}; and the user did not analyse {what}"
    mend = "--analysed, --depth and --user say it; or it is analysed here, or drained, and that is"
    yield _condition("unknown", text, f"{mend} logged (`tankbook reading --o2`, `tankbook drain`)")


def _called(read: GasAnalysed, tolerance: float) -> Gas | None:
    """The gas of an analysis where nothing is logged; None where it may be air."""
    helium = read.helium.percent if read.helium else 0.0
    like_air = abs(read.oxygen.percent - AIR_GAS.oxygen_percent) <= tolerance + HAIR
    if like_air and helium <= tolerance:
        return None
    try:
        return Gas.of(read.oxygen.percent, helium)
    except GasError:
        return None  # no gas at all, which the depth says


def _missing(gas: Gas, read: GasAnalysed | None) -> list[str]:
    if read is None:
        return ["analyse it", "write depth and initials"]
    found = []
    if gas.helium_percent > 0 and read.helium is None:
        found.append("analyse its helium")
    if read.depth is None or read.depth.m <= 0:
        found.append("write how deep it may be taken")
    if says_nothing(read.initials or ""):
        found.append("write their initials")
    return found


def _too_deep(book: Book, read: GasAnalysed) -> Iterator[Condition]:
    most = book.settings.oxygen_pressure or USUAL_LIMIT[book.settings.units.value]
    try:
        limit = depth_limit(read.oxygen.percent, most)
    except GasError as error:
        yield _condition("too-deep", str(error), "analyse it again")
        return
    if read.depth is None:
        return
    in_feet = read.depth.unit in ("ft", "in")
    if _feet(read.depth) > limit.feet if in_feet else read.depth.m > limit.metres:
        text = f"{read.depth} is deeper than {limit}, the limit of {read.oxygen} oxygen at {most}"
        yield _condition("too-deep", text, "the user writes a depth within it")


def _feet(depth: Length) -> float:
    return round(depth.inches / 12, 9)


def _not_certified(
    book: Book, gas: Gas, taken: Taken, rules: InForce, today: dt.date
) -> Iterator[Condition]:
    for level in wanted_for(gas, rules):
        if not is_seen(book, level, taken.reference, today, taken.seen):
            who = taken.reference or "whoever takes it"
            text = f"it holds {gas}, and nobody saw that {who} is trained for {level.value}"
            yield _condition("not-certified", text, f"see it: --certified {level.value}")
