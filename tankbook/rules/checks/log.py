"""What can be wrong with the fill log: its lines, and what they tell of each cylinder.

A fill that should not have been holds its cylinder until somebody has looked at it, or the line is
struck out. What came before the last full inspection is past: it is told and holds nothing.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set

from tankbook.gas import Gas
from tankbook.records.cylinder import Cylinder, Doubles, stays_with_owner
from tankbook.records.entries import HEARD_OUT, Cleaned, Rentals, standing
from tankbook.records.fields import attributes_of
from tankbook.records.kinds import EMPTY, Adverse, holds_gas, is_empty
from tankbook.records.log import Lines, Log, LogLine
from tankbook.records.naming import line_named, named_among
from tankbook.records.node import Where
from tankbook.records.settings import People
from tankbook.records.valve import ValveWork
from tankbook.records.words import LogAct, Skill
from tankbook.rules.air import by_others
from tankbook.rules.answers import Contents
from tankbook.rules.bad_air import BadAir, cleans, tells_bad
from tankbook.rules.bank_air import Beyond
from tankbook.rules.bank_gas import FromUnknown
from tankbook.rules.checks.declared import (
    ADVICE,
    FAULT,
    WARN,
    Says,
    on_cylinder,
    on_files,
    on_lines,
    on_log,
)
from tankbook.rules.clearing import names
from tankbook.rules.fill_history import (
    GAUGE_ERROR_AT_MOST,
    READ_ALIKE,
    WARMTH,
    struck_out,
    void_key,
)
from tankbook.rules.filled import TEST, Filled
from tankbook.rules.inforce import CylinderFacts
from tankbook.rules.mixed import ANALYSE_AGAIN, Mix, as_analysed, made_otherwise
from tankbook.rules.of_nobody import StrangeName
from tankbook.rules.overfilled import Remark, Stood, is_of_fill, is_of_open_day, told_of
from tankbook.rules.said_pressures import pressures_stood
from tankbook.rules.signing import is_outside, why_nobody_to_ask, why_not
from tankbook.rules.spelling import ids_like
from tankbook.rules.wording import (
    asks_if_overfilled,
    says_disc_let_go,
    says_nothing,
    says_overfilled,
)
from tankbook.units import GaugePressure, PartialDate, time_of_day

# --- the lines themselves ------------------------------------------------------------------------


@on_log("unknown-cylinder-in-log", FAULT)
def lines_name_known_ids(
    unknown_lines: Lines, ids: Set[str], by_serial: Mapping[str, tuple[str, ...]]
) -> Iterator[Says]:
    """Every line that stands names a cylinder or a set of the ledger.

    What a line says of a name that looks like theirs, or of their serial, may have happened to
    them.
    """
    for line in unknown_lines:
        text = f"{line.cylinder} is not in the ledger"
        mend = "correct it with a `void` line and a new one; a set that was taken apart keeps its"
        mend += " file, with `apart:` and the day"
        near = ids_like(line.cylinder, ids, by_serial)
        yield Says(line.where, text, mend, touches=near, missing=line.cylinder)


@on_files("log-of-nobody", FAULT, since="0.2", adverse=True)
def histories_are_of_somebody(lives_of_nobody: Sequence[StrangeName]) -> Iterator[Says]:
    """What was logged under the name of a set whose file is gone happened to two cylinders. What
    was logged over days under another name that is not there may have happened to one that was
    renamed, which is told."""
    for each in lives_of_nobody:
        if each.was_set:
            text = f"{each.name} was a set and its file is gone: what was filled into it is in both"
            mend = "put the file back, with `apart:` and the day on which it was taken apart"
        else:
            text = f"much is logged of {each.name}, which is not in the ledger, and nothing of it"
            mend = f"where it was called so before, write `formerly: [{each.name}]`; else book"
            mend += f" {each.name} in"
        if each.may_be:
            severity = None if each.was_set else WARN
            yield Says(each.last.where, text, mend, severity, each.may_be, each.name)


@on_files("set-apart", FAULT, since="0.2", adverse=True)
def sets_apart_are_not_filled(
    log: Lines, all_sets: Mapping[str, Doubles], gone_lines: Set[tuple[str, str]]
) -> Iterator[Says]:
    """No line of the log is of a set that was taken apart before, or not yet made up."""
    dated = {name: each for name, each in all_sets.items() if each.apart or each.made_up}
    for line in log if dated else ():
        each = dated.get(line.cylinder)
        if each is None or line.act is LogAct.VOID:
            continue
        day, hour = line.at.date(), time_of_day(line.at)
        if not each.joined(day, hour) and void_key(line) not in gone_lines:
            when = "at the time" if each.joined(day) else "on the day"
            text = f"{each.id} was not made up {when} of this {line.act}"
            if each.taken_apart and day > each.taken_apart:
                since = f"{each.id} was taken apart on {each.taken_apart}"
                text = f"{since}, and this {line.act} is later"
            mend = (
                "strike it out and log it of the cylinder it is of, or correct the day or the time"
            )
            yield Says(line.where, text, mend, touches=each.cylinders)


@on_files("strange-void-by-nobody", FAULT, since="0.2")
def strange_strikes_are_signed(
    strange_strikes: Sequence[tuple[LogLine, LogLine, str]],
    ids: Set[str],
    by_serial: Mapping[str, tuple[str, ...]],
) -> Iterator[Says]:
    """A line under a name that looks like one of the ledger's is struck out with a reason, later
    and by somebody who was certified, where that is kept: what it tells of may have happened."""
    for void, line, wrong in strange_strikes:
        text = f"a {line.act} of {line.cylinder}, which is not in the ledger, is struck out"
        mend = "strike it out again (`tankbook correct`): with a reason, by somebody certified"
        like = ids_like(line.cylinder, ids, by_serial)
        yield Says(void.where, f"{text}, and {wrong}", mend, touches=like)


@on_lines("void-of-nothing", FAULT, since="0.2")
def voids_name_a_line(lines: Lines) -> Iterator[Says]:
    """A void line names a line that is there."""
    known = {void_key(line) for line in lines if line.act is not LogAct.VOID}
    for line in lines:
        if line.act is LogAct.VOID and not struck_out([line]) & known:
            text = f"it strikes out `{line.voids or ''}`, which is no line of {line.cylinder}"
            yield Says(line.where, text, "write the struck line's time, and its cylinder on both")


@on_lines("void-without-reason", FAULT, since="0.2")
def voids_say_why(lines: Lines) -> Iterator[Says]:
    """A line is struck out with a reason."""
    for line in lines:
        if line.act is LogAct.VOID and not line.note:
            yield Says(line.where, "a line is struck out without a reason", "say why in `note`")


@on_lines("edited-line", FAULT, since="0.2")
def lines_say_it_once(lines: Lines, gone_lines: Set[tuple[str, str]]) -> Iterator[Says]:
    """No two lines tell of the same act at the same second otherwise.

    Where clones are joined, a line that one of them edited stands beside the original.
    """
    for first, line, cells in _doubles(lines):
        if cells and void_key(line) not in gone_lines:
            text = f"{_place(first, line)} tells of this {line.act} otherwise ({', '.join(cells)})"
            mend = "a line was edited: strike both out with `correct` and log it once more"
            yield Says(line.where, text, mend)


@on_log("line-twice", ADVICE)
def no_exact_doubles(log: Lines) -> Iterator[Says]:
    """No line stands twice; of a copied log it is said once, with how many."""
    doubles: dict[tuple[str, str], list[tuple[LogLine, LogLine]]] = {}
    for lines in _at_once(Log.of(log)):
        for first, line, cells in _doubles(lines):
            if not cells:
                doubles.setdefault((line.path, first.path), []).append((first, line))
    for pairs in doubles.values():
        first, line = min(pairs, key=lambda pair: pair[1].line)
        text = f"{_place(first, line)} says the same"
        if len(pairs) > 1:
            twice_in = "twice" if first.path == line.path else f"in {first.path} too"
            text = f"{len(pairs)} lines stand {twice_in}, the first of them as line {first.line}"
        yield Says(line.where, text, "`tankbook tidy` drops exact doubles")


def _at_once(log: Log) -> Iterable[Lines]:
    """The lines of each cylinder that are of one second with another of it: few logs have any."""
    keys = list(zip(log.column("cylinder"), log.column("at"), strict=True))
    if len(set(keys)) == len(keys):
        return ()
    times, found = Counter(keys), dict[str, list[LogLine]]()
    for place, key in enumerate(keys):
        if times[key] > 1:
            found.setdefault(key[0], []).append(log[place])
    return found.values()


def _doubles(lines: Lines) -> Iterator[tuple[LogLine, LogLine, list[str]]]:
    seen: dict[tuple[dt.datetime, LogAct, str | None], LogLine] = {}
    for line in lines:
        struck = line.voids if line.act is LogAct.VOID else None
        first = seen.setdefault((line.at, line.act, struck), line)
        if first is not line:
            names = attributes_of(LogLine).items()
            yield first, line, [n for n, a in names if getattr(line, a) != getattr(first, a)]


def _place(first: LogLine, line: LogLine) -> str:
    return f"{first.path}:{first.line}" if first.path != line.path else f"line {first.line}"


@on_log("log-order", ADVICE)
def times_in_order(out_of_order: Lines) -> Iterator[Says]:
    """Lines stand in the order of their time."""
    for line in out_of_order:
        yield Says(line.where, "earlier than the line before it")


@on_log("fill-above-bank", ADVICE)
def banks_can_have_given_it(beyond_banks: Sequence[Beyond]) -> Iterator[Says]:
    """A fill ends no higher than the banks that it names can have shown then."""
    for each in beyond_banks:
        line = each.line
        text = f"{line.cylinder} was filled to {line.to}, and {each.can_have_shown}"
        mend = "read the bank; record when it was raised (`tankbook station raise`), or correct"
        yield Says(line.where, text, f"{mend} the source of the fill")


@on_lines("fill-incomplete", FAULT, since="0.2")
def fills_are_whole(lines: Lines, gone_lines: Set[tuple[str, str]]) -> Iterator[Says]:
    """A fill says its pressure and gas."""
    for line in lines:
        told = line.act is not LogAct.FILL or void_key(line) in gone_lines
        if not told and (line.to is None or line.gas is None):
            text = "a fill without its pressure or its gas"
            yield Says(line.where, text, "fill in `to` and `gas`")


@on_cylinder("line-before-made", WARN, since="0.2")
def lines_are_its_own(card: Cylinder, facts: CylinderFacts, about: Lines) -> Iterator[Says]:
    """A line of the log from before a cylinder was made is of another one, or misdated."""
    early = [n for n in about if facts.made and n.at.date() < facts.made.first]
    for line in early[:1]:
        text = f"a {line.act} of {line.at.date()}, before {card.id} was made ({facts.made})"
        yield Says(line.where, text, "strike it out and write it with its day")


# --- what they tell of a cylinder ----------------------------------------------------------------


@on_cylinder("not-analysed", FAULT, since="0.2")
def mixtures_are_analysed(
    card: Cylinder, filled: Sequence[Filled], people: People
) -> Iterator[Says]:
    """Any gas but air was analysed, by somebody."""
    for each in filled:
        line = each.line
        if each.answered or each.step:
            continue
        if line.gas and not line.gas.is_air and (line.o2 is None or not line.analysed_by):
            text = f"{line.gas} without an analysed percentage and the analyst's initials"
            mend = "analyse it before the label goes on: `tankbook reading --o2 --analysed-by`"
            yield each.says(text, mend)
        elif line.gas and line.gas.helium_percent and line.he is None:
            text = f"{line.gas} without an analysed percentage of helium"
            yield each.says(text, "analyse both: `tankbook reading --o2 --he --analysed-by`")
        elif line.gas and not line.gas.is_air and not is_outside(people, line.analysed_by):
            wrong = why_not(people, line.analysed_by, Skill.ANALYST, line.at.date())
            said = each.says(f"{line.gas} was analysed, and {wrong}", "analyse it again")
            if wrong and not each.past:
                yield said._replace(severity=WARN)


@on_cylinder("filled-by-whom", ADVICE, since="0.2")
def fillers_are_known(card: Cylinder, filled: Sequence[Filled], people: People) -> Iterator[Says]:
    """Whoever filled it last was somebody certified as a filler then, where that is kept."""
    for each in filled[-1:]:
        wrong = why_not(people, each.line.by, Skill.FILLER, each.line.at.date())
        if wrong and not each.past:
            yield each.says(
                f"who filled it last: {wrong}", "write the certification, or the initials"
            )


@on_cylinder("fill-falls", WARN, since="0.2", adverse=True)
def fills_rise(card: Cylinder, filled: Sequence[Filled]) -> Iterator[Says]:
    """A fill ends above where it began."""
    for each in filled:
        line = each.line
        if line.from_ is not None and line.to is not None and line.to < line.from_:
            text = f"a fill from {line.from_} to {line.to}"
            yield each.says(text, "strike the line out and write it the right way round")


@on_cylinder("filled-with-nothing", FAULT, since="0.2", adverse=True)
def fills_fill(card: Cylinder, filled: Sequence[Filled]) -> Iterator[Says]:
    """A fill leaves something in it: one that does not tells nothing of what is."""
    for each in filled:
        if is_empty(each.line.to):
            text = f"a fill to {each.line.to}"
            yield each.says(text, "strike the line out; what was let out is a drain")


@on_cylinder("analysed-otherwise", FAULT, since="0.2", adverse=True)
def analysis_fits(
    card: Cylinder, filled: Sequence[Filled], mix: Mix, tolerance: float
) -> Iterator[Says]:
    """What was analysed is the gas that was logged. What is let out since, or was topped or mixed
    until a later analysis is of that gas and of what the gases and pressures made, is past."""
    for each in filled:
        line, gas = each.line, each.line.gas
        if gas is None:
            continue
        for name, read, meant in (
            ("oxygen", line.o2, gas.oxygen_percent),
            ("helium", line.he, gas.helium_percent),
        ):
            if read is not None and abs(read.percent - meant) > tolerance:
                text = f"logged as {gas}, and analysed at {read} {name}"
                mend = "strike the line out if it is mistyped; analyse it once it is mixed"
                said = each.says(text, f"{mend}; else drain it and log that")
                past = _is_past(line, gas, mix, tolerance)
                yield said._replace(severity=ADVICE) if past else said


def _is_past(line: LogLine, gas: Gas, mix: Mix, tolerance: float) -> bool:
    """Whether what was analysed of a gas is let out, or was analysed again since, and well."""
    gone = line.where not in mix.since
    later = (n for n in mix.fitting if n.at > line.at)
    return gone or any(_is_of(n, n.gas or gas, tolerance) for n in later)


def _is_of(line: LogLine, gas: Gas, tolerance: float) -> bool:
    """Whether an analysis is of a gas."""
    read = ((line.o2, gas.oxygen_percent), (line.he, gas.helium_percent))
    return all(share is None or abs(share.percent - meant) <= tolerance for share, meant in read)


@on_cylinder("read-otherwise", FAULT, since="0.2", adverse=True)
def readings_fit(
    card: Cylinder, gas_readings: Sequence[tuple[LogLine, LogLine]], mix: Mix, tolerance: float
) -> Iterator[Says]:
    """What is read or analysed after a fill is the gas that was filled, or what was analysed then:
    two analysers are each off by a little."""
    for line, fill in gas_readings:
        if _reads_as(line, fill, tolerance):
            continue
        if fill.gas is not None and _is_past(line, fill.gas, mix, tolerance):
            continue
        named = line.gas if line.gas != fill.gas else None
        text = f"{card.id} was filled with {fill.gas}, and a {line.act} after it says"
        mend = "strike out what is mistyped; else drain it and look inside"
        yield Says(line.where, f"{text} {named or as_analysed(line)}", mend)


def _reads_as(line: LogLine, fill: LogLine, tolerance: float) -> bool:
    gas = fill.gas
    if gas is None:
        return True
    known = ((line.o2, gas.oxygen_percent, fill.o2), (line.he, gas.helium_percent, fill.he))
    for read, meant, analysed in known:
        off = abs(read.percent - meant) if read else 0.0
        again = read and analysed and abs(read.percent - analysed.percent) <= tolerance
        if off > (READ_ALIKE if again else tolerance):
            return False
    return line.gas in {None, gas} or _is_named_by_its_reading(line, fill, tolerance)


def _is_named_by_its_reading(line: LogLine, fill: LogLine, tolerance: float) -> bool:
    """Whether another name is the rounding of what was read, of a gas that was analysed before."""
    if line.gas is None or line.o2 is None or fill.o2 is None or fill.gas is None:
        return False
    same_helium = line.gas.helium_percent == fill.gas.helium_percent
    rounded = abs(line.gas.oxygen_percent - line.o2.percent) <= tolerance
    return same_helium and rounded and abs(line.o2.percent - fill.o2.percent) <= tolerance


RISES = 0.15
"""Share by which a gauge may rise between two looks at it in the sun (own bound)."""


@on_cylinder("reading-rises", FAULT, since="0.2", adverse=True)
def readings_fill_nothing(card: Cylinder, about: Lines) -> Iterator[Says]:
    """A reading or a drain ends no higher than it began: what rises was filled."""
    for line in about:
        if line.act is LogAct.FILL or line.from_ is None or line.to is None:
            continue
        if line.to.pa > line.from_.pa * (1 + RISES) + GAUGE_ERROR_AT_MOST.pa:
            text = f"a {line.act} from {line.from_} to {line.to}: what rises was filled"
            yield Says(line.where, text, "strike it out, and log the fill with its gas and source")


@on_cylinder("over-limit", FAULT, since="0.2", adverse=True)
def stands_within_limit(card: Cylinder, stood_over: Sequence[Stood]) -> Iterator[Says]:
    """No fill went above the limit that was in force that day, and no gauge showed more.

    Bleeding it down undoes nothing of what it stood: it is looked inside first.
    """
    for each in stood_over:
        if each.beyond:
            text = f"{card.id} {each.text}, above the {each.lawful} that was lawful"
            mend = (
                "bleed it down and record that; then look inside"
                " (the same day: drain it to 0, log that, and let the look clear its hold)"
            )
            if is_of_open_day(card, each.day):
                mend += "; where that was before the test of its month, write the day of the test"
            yield Says(each.where, text, mend)


@on_cylinder("hold-says-overfilled", FAULT, since="0.2", adverse=True)
def overfills_are_looked_into(
    card: Cylinder, about: Lines, stood_over: Sequence[Stood], looked_inside: Sequence[dt.date]
) -> Iterator[Says]:
    """What was held as overfilled is looked inside before it is let go, whatever it stood at."""
    for hold in standing(card.held):
        told = hold.released is not None and says_overfilled(hold.why)
        # one whose pressure was above the limit of its day is told by that
        if not told or _is_over(hold.source.at("why"), stood_over) or is_of_fill(hold, about):
            continue
        if _is_answered(hold.why, card):
            continue
        named = [i for i in standing(card.inspected) if names(i, Adverse.HELD, hold.on)]
        clearing = any(i.on.first in looked_inside for i in named)
        if not clearing and not any(day > hold.on.last for day in looked_inside):
            text = f"it was held on {hold.on} as overfilled, and not looked inside since"
            mend = f"look inside, and record that; of the same day `clears: [held {hold.on}]`"
            yield Says(hold.source.at("why"), text, mend)


def _is_over(where: Where, stood_over: Sequence[Stood]) -> bool:
    return any(each.where == where and each.beyond for each in stood_over)


def _is_answered(text: str, card: Cylinder, read: GaugePressure | None = None) -> bool:
    """Whether whoever only asked if it was overfilled read a pressure, and none above its own."""
    stood = [*(said.pressure for said in pressures_stood(text)), *([read] if read else [])]
    own = card.service_pressure
    return asks_if_overfilled(text) and bool(stood) and own is not None and max(stood) <= own


@on_cylinder("note-says-overfilled", FAULT, since="0.2", adverse=True)
def noted_overfills_are_looked_into(
    card: Cylinder,
    about: Lines,
    rentals: Rentals,
    stood_over: Sequence[Stood],
    looked_inside: Sequence[dt.date],
) -> Iterator[Says]:
    """What is noted as overfilled is looked inside, where no pressure of it says how far."""
    for told in told_of(card, about, rentals, looked_inside):
        of_hold = told.key == "why"
        if of_hold or not says_overfilled(told.words) or _later_than(told, looked_inside):
            continue
        read = told.line.to if told.line else told.rental.pressure if told.rental else None
        if not _is_over(told.where, stood_over) and not _is_answered(told.words, card, read):
            text = f"a {told.what} of {told.on} is noted as overfilled, with no look inside since"
            mend = "look inside, and record that; or strike it out and record what is true"
            yield Says(told.where, text, mend)


def _later_than(told: Remark, looked_inside: Sequence[dt.date]) -> bool:
    return any(day > told.on.last for day in looked_inside)


@on_cylinder("card-says-overfilled", WARN, since="0.2", adverse=True)
def overfills_have_a_day(card: Cylinder) -> Iterator[Says]:
    """What the note of a card tells of a pressure above its own has a day, so that it is known
    whether somebody looked inside since."""
    own, note = card.service_pressure, card.note or ""
    most = own and GaugePressure.of(own.value * (1 + WARMTH), own.unit)
    for said in pressures_stood(note):
        if most is not None and said.pressure > most:
            text = f"its card says that it stood at {said.text}, and not when"
            mend = "hold it as that, on its day; or reword the note (`correct`)"
            yield Says(card.source.at("note"), text, mend)
            return


@on_cylinder("disc-let-go", WARN, since="0.2", adverse=True)
def discs_that_let_go_are_looked_into(
    card: Cylinder, about: Lines, rentals: Rentals, looked_inside: Sequence[dt.date]
) -> Iterator[Says]:
    """A burst disc that let go did so of age, or because it stood near the test pressure: the
    cylinder is empty then, and looked inside (common practice, no source)."""
    for told in told_of(card, about, rentals, looked_inside):
        if says_disc_let_go(told.words) and not _later_than(told, looked_inside):
            text = f"its burst disc let go by a {told.what} of {told.on}, with no look inside since"
            yield Says(told.where, text, "look inside, and say what it stood at")


@on_cylinder("over-mark", WARN, since="0.2", adverse=True)
def gauges_pass_no_mark(
    card: Cylinder, filled_hot: Stood | None, stood_over: Sequence[Stood]
) -> Iterator[Says]:
    """However warm a cylinder gets as it is filled, the gauge passes no mark: what was written down
    as warm enough for that is read again when it is cool."""
    if filled_hot is not None and all(each.where != filled_hot.where for each in stood_over):
        text = f"{filled_hot.text}, above {filled_hot.lawful}, which no gauge passes however warm"
        yield Says(filled_hot.where, text, "read it cool, and log that; bleed it where it is over")


@on_cylinder("over-by-the-gauge", WARN, since="0.2")
def stands_within_gauge(card: Cylinder, stood_over: Sequence[Stood]) -> Iterator[Says]:
    """A pressure that is over by no more than a gauge may err is bled and read again."""
    for each in stood_over[-1:]:
        if not each.beyond and each.still_over:
            text = f"{each.text}, over {each.lawful} by less than a gauge may err"
            yield Says(each.where, text, "bleed it, read it again, and log both")


@on_cylinder("void-by-nobody", FAULT, since="0.2")
def strikes_are_signed(
    card: Cylinder, unsigned_strikes: Sequence[tuple[LogLine, LogLine, str]]
) -> Iterator[Says]:
    """A fill, or a line that tells against it, is struck out alone and later by somebody who was
    certified, where that is kept; what was struck out before the last look inside is past."""
    for void, line, wrong in unsigned_strikes:
        text = f"a {line.act} is struck out, and {wrong}"
        mend = "look inside; or strike it out again: alone, later, by somebody certified"
        yield Says(void.where, text, mend)


@on_cylinder("out-of-date", FAULT, since="0.2")
def fills_in_date(card: Cylinder, filled: Sequence[Filled], people: People) -> Iterator[Says]:
    """Nothing was filled out of test or inspection."""
    for each in filled:
        for what in each.lapsed:
            text = f"{card.id} was filled while out of {what}"
            said = each.says(text, "record the missing test, or have it inspected")
            # what is shop practice a named person may override
            lifted = not each.bound and _is_named(each.line.override, people)
            # a test that the law did not ask for yet was not missing
            lawful = what == TEST and what not in each.bound and said.severity is None
            severity = ADVICE if lifted else WARN if lawful else said.severity
            yield said._replace(severity=severity)


def _is_named(override: str | None, people: People) -> bool:
    """Whether an override names somebody, of the ledger's people where it keeps any, and why."""
    words = re.findall(r"\w+", override or "")
    why = [word for word in words if word not in people]
    return len(why) < len(words) and not says_nothing(" ".join(why)) if people else len(words) > 1


@on_cylinder("filled-while", FAULT, since="0.2", adverse=True)
def fills_in_service(card: Cylinder, filled: Sequence[Filled]) -> Iterator[Says]:
    """Nothing was filled that was held, out, rejected, condemned, sold, away or lost, or against
    which something stood unanswered."""
    for each in filled:
        for what in each.meanwhile:
            text = f"{card.id} was filled while {what}"
            day = each.line.at.date()
            mend = "have it inspected; if one of the two dates is wrong, correct it"
            if f"held since {day}" == what:
                holds = [h for h in standing(card.held) if h.on.first == day and h.at is None]
                names = (named_among(card.held, hold) for hold in holds)
                ways = (
                    f"`tankbook correct {card.id} held {n} --set at=HH:MM --why WHY`" for n in names
                )
                mend += f" (a hold that came later that day says its hour: {'; '.join(ways)})"
            yield each.says(text, mend)


@on_cylinder("filled-against-service", FAULT, since="0.2")
def fills_fit_service(card: Cylinder, filled: Sequence[Filled]) -> Iterator[Says]:
    """No oxygen-rich gas went into a cylinder that is not kept for it."""
    for each in filled:
        if each.against_service and not each.step:
            text = (
                f"{each.line.gas} went into {card.id}, which is labelled for {each.against_service}"
            )
            yield each.says(text, "drain it and have it inspected, or correct the line")


@on_cylinder("blend-unfinished", FAULT, since="0.2", adverse=True)
def blends_are_finished(card: Cylinder, filled: Sequence[Filled]) -> Iterator[Says]:
    """The oxygen of a blend in a cylinder that is cleaned for it waits for the rest, and for the
    analysis of what came of it: its label says another gas."""
    for each in filled:
        if each.step and not each.answered and not each.past:
            text = f"{each.line.gas} went into {card.id}, which is labelled for {card.service}"
            mend = "top it off and log what was analysed: `fill --o2 --analysed-by`; or drain it"
            yield each.says(f"{text}, and no analysis is of a later time", mend)


@on_cylinder("unexplained-contents", FAULT, since="0.2", adverse=True)
def contents_explained(
    card: Cylinder, rises: Sequence[tuple[LogLine, GaugePressure, GaugePressure]]
) -> Iterator[Says]:
    """A pressure above the last known one has a fill to explain it."""
    for line, read, before in rises:
        text = f"{card.id} read {read} with {before} known before it, and no fill between"
        mend = "log the fill, or drain it: what it holds is not known"
        yield Says(line.where, text, mend)


@on_cylinder("cleaned-while-full", WARN, since="0.2")
def cleanings_are_of_empty_ones(
    card: Cylinder,
    about: Lines,
    let_out_before: Callable[[Cleaned], Sequence[dt.datetime]],
    people: People,
) -> Iterator[Says]:
    """Nobody cleans a cylinder that holds gas: it was let out and that is not logged, or the
    cleaning is another's."""
    newest = {cleaning.to: cleaning for cleaning in standing(card.cleaned)}
    for cleaning in newest.values():
        asked = not why_nobody_to_ask(people, cleaning.by, cleaning.on)
        if cleaning.bled in HEARD_OUT and asked:
            continue
        left = _left_in(about, cleaning.on, let_out_before(cleaning))
        if left is not None:
            text = f"it was cleaned on {cleaning.on}, and by the log it stood at {left}"
            mend = "log that it was drained; or correct the day, or strike the cleaning out"
            yield Says(cleaning.source.at("on"), text, mend)


@on_cylinder("valve-off-while-full", WARN, since="0.2")
def valves_come_off_empty_ones(
    card: Cylinder,
    about: Lines,
    let_out_before: Callable[[Cleaned | ValveWork], Sequence[dt.datetime]],
) -> Iterator[Says]:
    """Nobody takes the valve off a cylinder that holds gas: how that was let out is not said, and
    what was in it stays on record."""
    for work in [w for w in standing(card.valve_work) if w.is_off][-1:]:
        left = _left_in(about, work.on, let_out_before(work)) if work.bled is None else None
        if left is not None:
            text = f"its valve was off on {work.on}, and by the log it stood at {left}"
            name = named_among(card.valve_work, work)
            way = f"`tankbook correct {card.id} valve_work {name} --set bled=heard --why WHY`"
            mend = f"say how it was bled: {way}; or log that it was drained"
            yield Says(work.source.at("on"), text, mend)


def _left_in(about: Lines, on: PartialDate, let_out: Sequence[dt.datetime]) -> GaugePressure | None:
    """What stood in a cylinder by the log as work of a day was done on it, that nothing let out
    before; None where that is nothing, or nobody knows."""
    stood = [n for n in about if n.at.date() < on.first and n.to is not None]
    # on that day it may have been let out before and filled after, in any order
    since = [n for n in about if n.at.date() >= on.first]
    left = stood[-1].to if stood else None
    emptied = any(_shows_empty(n) for n in since if n.at.date() <= on.last)
    emptied = emptied or any(_begun_at(n) < EMPTY for n in since[:1])
    opened = any(_came_later(when, stood[-1]) for when in let_out if stood)
    return left if holds_gas(left) and not emptied and not opened else None


def _came_later(when: dt.datetime, line: LogLine) -> bool:
    """Whether work came after a line of the log, or may have: of work of that day without a time
    nobody knows."""
    then = dt.datetime.combine(line.at.date(), time_of_day(line.at))
    return when >= then or when == dt.datetime.combine(then.date(), dt.time.min)


def _begun_at(line: LogLine) -> GaugePressure:
    """What a line found in a cylinder; where it does not say, nobody looked."""
    read = line.from_ if line.act is not LogAct.READING else line.to
    return read if read is not None else EMPTY


def _shows_empty(line: LogLine) -> bool:
    """Whether a line tells of a cylinder with nothing in it, before or after."""
    return _begun_at(line) < EMPTY or (is_empty(line.to))


@on_cylinder("mixed-unanalysed", FAULT, since="0.2", adverse=True)
def blends_are_analysed(card: Cylinder, mix: Mix, people: People) -> Iterator[Says]:
    """What was filled on another gas is neither till it is analysed. A customer's own, and what
    somebody of the place overrode, is told."""
    if mix.unanalysed is None:
        return
    line, held = mix.unanalysed
    left = f"{line.from_} of {held}" if line.from_ is not None else f"what was left of {held}"
    text = f"{card.id} was filled with {line.gas} on {left}, and not analysed"
    mend = "drain it to 0 and log that; or analyse it: `tankbook reading --o2 --analysed-by`"
    told = stays_with_owner(card) or _is_named(line.override, people)
    yield Says(line.where, text, mend, WARN if told else None)


@on_cylinder("made-otherwise", FAULT, since="0.2", adverse=True)
def gases_make_what_is_said(card: Cylinder, mix: Mix, people: People) -> Iterator[Says]:
    """What a fill is called, or was analysed at, can be what the gases and pressures made that are
    written down: else it was sampled before it was mixed, or something else went in. A customer's
    own, and what somebody of the place overrode, is told."""
    # what was put on another gas is told as that
    if mix.denied is None or (mix.unanalysed and mix.unanalysed[0] is mix.denied[0]):
        return
    line, made = mix.denied
    mend = "analyse it again, mixed: `tankbook reading --o2 --analysed-by`; strike out what is"
    mend = (
        f"{mend} mistyped, and say since when a bank holds its gas (`since:`); else drain it to 0"
    )
    mend = f"{mend} and log that"
    told = stays_with_owner(card) or _is_named(line.override, people)
    yield Says(line.where, made_otherwise(card.id, line, made), mend, WARN if told else None)


@on_cylinder("made-in-doubt", WARN, since="0.2", adverse=True)
def gases_make_what_was_analysed(card: Cylinder, mix: Mix) -> Iterator[Says]:
    """What was analysed is near what the gases and pressures made that are written down, and holds
    no more oxygen than they do."""
    if mix.doubted is not None:
        line, made = mix.doubted
        yield Says(line.where, made_otherwise(card.id, line, made), ANALYSE_AGAIN)


@on_cylinder("filled-elsewhere", FAULT, since="0.2", adverse=True)
def contents_are_its_own(
    card: Cylinder,
    about: Lines,
    elsewhere: Contents | None,
    rises: Sequence[tuple[LogLine, GaugePressure, GaugePressure]],
) -> Iterator[Says]:
    """What came back fuller than it went out, or was read with gas after work inside had left it
    empty, holds what nobody of the ledger's knows: nothing is put on that. A fill that names no gas
    is told."""
    if elsewhere is not None and not rises:  # which tell the same
        came = f"it came to {elsewhere.pressure} on {elsewhere.on}"
        text = f"{came} without a fill that is known to be its own"
        shown = f"{elsewhere.pressure}".replace(" ", "")
        if elsewhere.pressure is None:
            text = f"nobody knows whether gas of another came into it on {elsewhere.on}"
            shown = "PRESSURE"
        mend = (
            f"analyse it: `tankbook reading {card.id}={shown} --o2 PERCENT --analysed-by XX`; or "
            f"drain it: `tankbook drain {card.id}`; a fill here that nobody logged is logged as it "
            "was (`fill --on DATE`)"
        )
        fills = [line for line in about if line.act is LogAct.FILL]
        told = WARN if fills and fills[-1].gas is None else None
        yield Says(card.source.at(), f"{text}: what it holds is not known", mend, told)


@on_cylinder("filled-from-unknown", FAULT, since="0.2", adverse=True)
def banks_held_what_was_filled(card: Cylinder, of_unknown: FromUnknown | None) -> Iterator[Says]:
    """Nothing holds gas of a bank that another gas had gone into than it was on record with, unless
    it was analysed with that fill or later; nor of what is not breathed, unless it was sampled."""
    if of_unknown is not None:
        drained = "drain it to 0 (`tankbook drain`)"
        mend = f"analyse it and log that (`tankbook reading`), or {drained}"
        if of_unknown.unfit:
            sampled = "have its air sampled (`tankbook station air-test`)"
            mend = f"{drained}, or {sampled}; its oxygen says nothing of what else is in that"
        said = f"{of_unknown.text}: what it holds is not known"
        # nothing is filled on top of what nobody may breathe, nor is it lent
        yield Says(of_unknown.line.where, said, mend, None if of_unknown.unfit else WARN)


@on_cylinder("air-untested", WARN, since="0.2", adverse=True)
def air_of_others_was_tested(card: Cylinder, untested: FromUnknown | None) -> Iterator[Says]:
    """Nothing holds air of others of which nobody here knows a test: of what is in it beside oxygen
    an analyser says nothing."""
    if untested is not None:
        line = untested.line
        say = f"`tankbook correct {line.cylinder} fill {line_named(line.at)} --why WHY"
        say += " --set source='elsewhere: WHERE, air test seen DATE'`"
        mend = "drain it to 0 (`tankbook drain`), or have its air sampled (`tankbook station"
        mend += " air-test`)"
        if line.source_ and by_others(line.source_):
            mend += f"; where an air test that still holds was seen, say when: {say}"
        yield Says(line.where, untested.text, mend)


@on_cylinder("bad-air", FAULT, since="0.2", adverse=True)
def air_was_good(card: Cylinder, bad_air: BadAir | None) -> Iterator[Says]:
    """Nothing holds air of a source that failed its test: what was filled from that since its last
    good sample is a fault, topped since or not, and so is what does not say its source. What came
    by way of a bank not known to have been pumped since is told until it is emptied. What stays
    behind is a fault until it was looked inside and cleaned as well.
    """
    if bad_air is None:
        return
    line, failed = bad_air.line, bad_air.failed
    if bad_air.emptied:
        text = f"{bad_air.held_by()}, and {tells_bad(failed)}; that stays behind"
        yield Says(line.where, f"{text} in it, emptied or not", cleans(card, line.at.date()))
        return
    text = f"{bad_air.held_by()}, and {tells_bad(failed)}"
    text += "; it was only topped since" if bad_air.topped else ""
    text += "; its source is not said, or is no part here" if bad_air.unsaid else ""
    text += f"; {bad_air.unwritten.said}" if bad_air.unwritten else ""
    mend = "drain it to 0 and log that: `tankbook drain`"
    if bad_air.unbled:
        how = " and ".join(bad_air.unbled)
        mend += f"; or where somebody heard it bled for the work since, say so: {how}"
    if bad_air.analysed:
        mend = f"analyse it: {bad_air.analysed}; or {mend}"
    if bad_air.stays:
        mend += f"; then {cleans(card, line.at.date())}, as that stays behind"
    if bad_air.unsaid:
        which = f"{line.cylinder} fill {line_named(line.at)}"
        how = f"`tankbook correct {which} --set source=NAME --why WHY`"
        mend = f"say what it was filled from, and sign that: {how}; or {mend}"
    if bad_air.hours:
        mend = f"say at what hour the sample of that day was drawn: {bad_air.hours}; or {mend}"
    if bad_air.unwritten:
        mend = f"{bad_air.unwritten.mend}; or {mend}"
    yield Says(line.where, text, mend, None if bad_air.certain else WARN)
