"""What inspectors found, held against the limits read; and notes that should be findings."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import (
    Entry,
    Inspected,
    Refused,
    Rentals,
    Rented,
    Requalified,
    StepFinding,
    standing,
)
from tankbook.records.finding import FindingRow
from tankbook.records.kinds import Adverse
from tankbook.records.life import is_open, verdict
from tankbook.records.log import Lines
from tankbook.records.node import Where
from tankbook.records.settings import People
from tankbook.records.words import InspectionResult, Material, Seen, TestResult
from tankbook.rules.checks.cylinder import entries_of
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_cylinder
from tankbook.rules.clearing import JUDGED_ALONE, inspection_answered, names
from tankbook.rules.contradicted import contradicts
from tankbook.rules.giving_way import says_gas_lost, says_giving_way
from tankbook.rules.harmless import is_harmless, is_plain
from tankbook.rules.left_out import left_out
from tankbook.rules.letting_go import reads_well
from tankbook.rules.old_alloy import ALLOY
from tankbook.rules.overfilled import is_of_fill
from tankbook.rules.remark_words import doubts_said, part_not_read, pieces_of
from tankbook.rules.said_pressures import pressures_of_test
from tankbook.rules.seen import is_of
from tankbook.rules.signing import INSIDE, SigningRules, counts_as_passed
from tankbook.rules.tested import PRESSURE_TESTS, latest_pressure_test, passed
from tankbook.rules.wording import (
    in_doubt,
    not_passed,
    says_cracked,
    says_do_not,
    says_not_made,
    says_nothing,
    says_passed,
    sets_aside,
    share_kept,
    speaks_of_harm,
    spoken_of,
    unread_words,
    unsettled,
)
from tankbook.units import GaugePressure, PartialDate
from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import pattern


@on_cylinder("finding-not-accepted", FAULT, since="0.2", adverse=True)
def findings_accepted(
    card: Cylinder, bench: SigningRules, finding_rows: Sequence[FindingRow]
) -> Iterator[Says]:
    """What a passed inspection found is something that a standard accepts, or a later one names
    it and passes."""
    passed = _passed_with(standing(card.inspected), card, finding_rows)
    bad = [(look, each, why) for look, each, rows in passed for why in _not_accepted(each, rows)]
    every = list({id(look): look for look, _, _ in bad}.values())
    never = {row.what for row in bench.grave}
    for look, found, why in bad:
        answered = inspection_answered(bench, card, look, every)
        if not answered or _is_seen_unmeasured(card, look, found):
            text = f"its inspection of {look.on} passed with {why}"
            clears = f"the pass that answers it says `clears: [inspected {look.on}]`"
            mend = f"inspect it again; {clears}, and `depth:` or `length:` where it is still seen"
            if found.what in never:
                mend = f"have it tested; {clears}, and in `finding:` what it was instead"
            yield Says(found.source.at("what"), text, mend)


def _is_seen_unmeasured(card: Cylinder, look: Inspected, found: StepFinding) -> bool:
    """Whether what was measured once was found again later, and never measured again."""
    looks = [i for i in standing(card.inspected) if i is not look and i.on.first >= look.on.first]
    again = [f for i in looks for f in i.findings if f.what is found.what]
    measured = found.depth is not None or found.length is not None
    return measured and bool(again) and not any(f.depth or f.length for f in again)


def _passed_with(
    looks: Sequence[Inspected], card: Cylinder, rows: Sequence[FindingRow]
) -> Iterator[tuple[Inspected, StepFinding, list[FindingRow]]]:
    """What those of some inspections found that passed, each with the rows that speak of it on a
    cylinder of its material."""
    for look in looks:
        for found in look.findings if look.result is InspectionResult.PASS else ():
            yield look, found, [r for r in rows if r.what is found.what and is_of(r, card)]


def _not_accepted(found: StepFinding, rows: Sequence[FindingRow]) -> Iterator[str]:
    for row in rows:
        called = row.what.called
        if row.never and row.what not in JUDGED_ALONE:
            yield f"{called}, and none is accepted ({row.citation})"
        if row.deepest and found.depth and found.depth > row.deepest:
            yield f"{called} {found.depth} deep, over {row.deepest} ({row.citation})"
        if row.longest and found.length and found.length > row.longest:
            yield f"{called} {found.length} long, over {row.longest} ({row.citation})"


@on_cylinder("finding-unmeasured", WARN, since="0.2", adverse=True)
def findings_are_measured(
    card: Cylinder, bench: SigningRules, finding_rows: Sequence[FindingRow]
) -> Iterator[Says]:
    """What a passed inspection found and a limit was read for is measured."""
    for look, found, mine in _passed_with(_since_full(card, bench), card, finding_rows):
        deep = any(r.deepest for r in mine) and found.depth is None
        long = any(r.longest for r in mine) and found.length is None and found.depth is None
        if deep or long:
            text = f"its inspection of {look.on} passed with {found.what}, not measured"
            yield Says(found.source.at("what"), text, "measure it: `depth:` or `length:`")


_WHY_PASSED = "say at its `note:` what was done about it, or why it passed; else inspect it again"


@on_cylinder("finding-passed", WARN, since="0.2", adverse=True)
def findings_passed_say_why(
    card: Cylinder, bench: SigningRules, finding_rows: Sequence[FindingRow]
) -> Iterator[Says]:
    """What a passed inspection found and no limit was read for has a word of why it passed."""
    for look, found, mine in _passed_with(_since_full(card, bench), card, finding_rows):
        judged = any(r.deepest or r.longest or r.never for r in mine)
        note = found.note or ""
        said = f"`{doubt}`" if mine and (doubt := unsettled(note)) else ""
        said = said or ("no more" if mine and not judged and says_nothing(note) else "")
        if said:
            text = f"its inspection of {look.on} passed with {found.what}, and says {said}"
            yield Says(found.source.at("what"), text, _WHY_PASSED)


@on_cylinder("finding-asks-inside", WARN, since="0.2", adverse=True)
def findings_are_looked_into(
    card: Cylinder, bench: SigningRules, finding_rows: Sequence[FindingRow]
) -> Iterator[Says]:
    """What asks for a look inside, found at a look of the outside, was looked into since."""
    ask = {row.what for row in finding_rows if row.inside}
    looks = [i for i in standing(card.inspected) if counts_as_passed(bench, i)]
    inside = [i.on.first for i in looks if bench.weight(i.checklist) >= INSIDE]
    for look in looks:
        for found in look.findings if bench.weight(look.checklist) < INSIDE else ():
            if found.what in ask and not any(on >= look.on.last for on in inside):
                text = f"{found.what} was found on {look.on}, and nobody looked inside since"
                yield Says(found.source.at("what"), text, "look inside")


def _since_full(card: Cylinder, bench: SigningRules) -> Sequence[Inspected]:
    """The newest passed full inspection that counts, and those after it."""
    looks = standing(card.inspected)
    full = [n for n, i in enumerate(looks) if counts_as_passed(bench, i) and bench.is_full(i)]
    return looks[full[-1] :] if full else looks


@on_cylinder("look-left-out", WARN, since="0.2")
def looks_leave_nothing_out(card: Cylinder, bench: SigningRules) -> Iterator[Says]:
    """The newest full inspection that passed says of nothing that it was not looked at."""
    full = [i for i in standing(card.inspected) if counts_as_passed(bench, i) and bench.is_full(i)]
    said = left_out(full[-1].note or "") if full else ""
    if said:
        text = f"its {full[-1].checklist} of {full[-1].on} passed, and says `{said}`"
        mend = "look at that too, and record the inspection; what was seen alone is `outside`"
        yield Says(full[-1].source.at("note"), text, mend)


@on_cylinder("note-limits-pressure", WARN, since="0.2", adverse=True)
def notes_set_no_lower_limit(card: Cylinder) -> Iterator[Says]:
    """No note says that it holds less than its service pressure."""
    service = card.service_pressure
    looks, tests = standing(card.inspected)[-1:], standing(card.requalified)[-1:]
    noted: list[Cylinder | Inspected | Requalified] = [card, *looks, *tests]
    for entry in noted if service is not None else ():
        for match in _AT_MOST.finditer(entry.note or ""):
            most = _pressure_said(match)
            if service is not None and most is not None and most.pa < _LOWER * service.pa:
                text = f"a note says `{match[0].strip()}`, and its service pressure is {service}"
                mend = "read the shoulder again; write what it may hold as `service_pressure:`"
                yield Says(entry.source.at("note"), text, mend)


def _pressure_said(match: re.Match[str]) -> GaugePressure | None:
    """The pressure of a limit; without a unit that of its size, and none where it may be a year or
    is too small for one."""
    figure = match["figure"] or match["figure_before"]
    unit = (match["unit"] or match["unit_before"] or "").casefold().removesuffix("s")
    if not unit and (int(figure) < LEAST_LIMIT or _YEAR.fullmatch(figure)):
        return None
    unit = unit or ("bar" if int(figure) <= MOST_BAR else "psi")
    return GaugePressure.of(float(figure), unit)


_LOWER = 0.95
"""Below this share of the service pressure a limit in a note is another one, and not that pressure
rounded or at another temperature (own bound)."""
LEAST_LIMIT = 50
"""A smaller bare number is hardly a pressure (own choice)."""
MOST_BAR = 400
"""A larger bare number is hardly one in bar (own choice)."""
_YEAR = pattern(r"19[5-9]\d|20[0-4]\d")
_OF = r"(?: (?:fill(?:ing)?|working|service|charge))?(?: pressure)?(?: of)?"
_MOST = (
    rf"(?:max(?:imum|imal|\.)?{_OF}|limit(?:ed)?{_OF}(?: to)?|(?:de-?)?rated? to|not (?:above|over)"
    r"|no more than|höchstens|nur(?: bis)?|bis(?: max\.?)?|nicht über|top(?:ped)?(?: up)? to"
    r"|fill(?:ed)?(?: only)? to|only(?: to)?|up to|au plus|jusqu['’ ](?:à|a)|hasta|máx(?:imo|\.)?"
    r"|fino a|massimo|maximaal|tot)"
)
_FIGURE = r"(?P<figure{0}>\d{{2,4}})(?:\s*(?P<unit{0}>psi|bars?)\b)?"
_AT_MOST = pattern(
    rf"(?:\b{_MOST}\s*:?\s*{_FIGURE.format('')}"
    rf"|(?<![\d.,/]){_FIGURE.format('_before')} ?(?:max(?:imum|imal)?|only|limit|nur|tops)\b)"
    r"(?=\s*(?:$|[;!)]|[.,:](?!\d)|\band\b|\bund\b))",
    re.IGNORECASE,
)
"""How a note says the most that it may hold (own list)."""


@on_cylinder("reason-says-nothing", FAULT, since="0.2")
def reasons_say_something(card: Cylinder, rentals: Rentals) -> Iterator[Says]:
    """Whoever struck something out or let it go said why."""
    for _, entry in entries_of(card, rentals):
        for key in ("released_why", "lifted_why", "found_why"):
            said = getattr(entry, key, None)
            if isinstance(said, str) and says_nothing(said):
                yield Says(entry.source.at(key), f"`{said}` is no reason", "say why in words")
        if entry.void is not None and says_nothing(entry.void.why):
            text = f"the {entry.title} of {entry.on} is struck out for `{entry.void.why}`"
            yield Says(entry.source.at("void"), f"{text}, which is no reason", "say why in words")


@on_cylinder("note-asks-for-finding", WARN, since="0.2", adverse=True)
def notes_are_findings(
    card: Cylinder,
    about: Lines,
    rentals: Rentals,
    finding_rows: Sequence[FindingRow],
    bench: SigningRules,
    answered: Collection[str] = (),
) -> Iterator[Says]:
    """A note that speaks of damage says so as a finding, which somebody can judge; what somebody
    judged since is asked no more."""
    for note in _notes(card, about, rentals, bench):
        judged = note.judged or note.text in answered
        for row in finding_rows:
            word = "" if row.what in note.named else spoken_of(note.text, row)
            asked = not judged if row.never else not note.aside
            if word and asked and is_of(row, card):
                said = f"a note speaks of {word}: `{note.text[:60]}`"
                found = f"record it as a finding (`what: {row.what}`) at an inspection"
                mend = f"{found}, or reword it (`correct`)"
                yield Says(note.where, said, mend)
                break
        else:
            word = _of_why(note.text) if note.is_why else sets_aside(note.text)
            word = word or _other_alloy(card, note.text)
            word = word or ("" if judged else says_giving_way(note.text))
            if word:
                said = f"a note says {word}: `{note.text[:60]}`"
                yield Says(note.where, said, "record it as an entry, or reword it (`correct`)")


@on_cylinder("note-not-read", WARN, since="0.2", adverse=True)
def notes_are_understood(
    card: Cylinder,
    about: Lines,
    rentals: Rentals,
    finding_rows: Sequence[FindingRow],
    bench: SigningRules,
    people: People,
) -> Iterator[Says]:
    """A note is in letters that are read here, and what it says of a part of the cylinder, its
    valve or its gas is understood."""
    every = [*_notes(card, about, rentals, bench), *_of_open_holds(card)]
    for where, text, looked in ((n.where, n.text, n.looked) for n in every):
        if word := unread_words(text):
            said = f"a note is in letters that are not read here: `{word}`"
            yield Says(where, said, "say what it means in words that are read (`correct`)")
        elif not looked and (part := part_not_read(text, finding_rows, people)):
            said = f"a note of the {part.casefold()} is not understood here: `{text[:60]}`"
            yield Says(where, said, "look at it; or say it in other words (`correct`)")


@on_cylinder("note-not-judged", WARN, since="0.2")
def notes_are_judged(
    card: Cylinder,
    rentals: Rentals,
    finding_rows: Sequence[FindingRow],
    bench: SigningRules,
    people: People,
) -> Iterator[Says]:
    """The note of a card, and what a list said beside an entry, says in plain words what is
    nothing, or somebody looked at it since."""
    looks = [i.on.first for i in standing(card.inspected) if counts_as_passed(bench, i)]
    looks += [t.on.first for t in standing(card.requalified) if t.result is TestResult.PASS]
    names = " ".join(filter(None, (card.serial, card.marks, card.maker, card.owner, card.place)))
    names += f" {card.service_pressure}"
    judged = [j.text for j in card.note_judged if is_plain(j.text, people, names)]
    own = (_Beside(card.source.at("note"), "note", t, on) for t, on in pieces_of(_not_judged(card)))
    answered = (_Beside(card.source.at("note"), "note", t) for t in judged)
    for each in (*own, *answered, *_beside_entries(card, rentals)):
        seen = each.on is not None and any(day > each.on for day in looks)
        if seen or _is_told(each.text, finding_rows, people):
            continue
        whose = "its note" if each.entry == "note" else f"the note of its {each.entry}"
        if not is_plain(each.text, people, names):
            said = f"{whose} says what nobody judged: `{each.text[:60]}`"
            mend = _LOOK if each.entry == "note" else _LOOK_BESIDE
            yield Says(each.where, said, mend.format(f"{card.id} {each.entry}", each.before))
        elif other := contradicts(card, each.text):
            said = f"{whose} says {other}: `{each.text[:60]}`"
            yield Says(each.where, said, _WHICH.format(f"{card.id} {each.entry}", each.before))


class _Beside(NamedTuple):
    """A remark with the day that it is of, where that is known, and the entry of which it is the
    note, as `correct` names it: `note` is that of the card. `before`: what stands before it."""

    where: Where
    entry: str
    text: str
    on: dt.date | None = None
    before: str = ""


def _beside_entries(card: Cylinder, rentals: Rentals) -> Iterator[_Beside]:
    """What a list said beside an entry that came from it, and nobody judged: whoever wrote that
    may have had no word for it, and looked at nothing. The notes of one's own people, who write
    beside the work, are no such."""
    for name, entry in entries_of(card, rentals):
        note = getattr(entry, "note", None) or ""
        listed = FROM_A_LIST.match(note) if entry.void is None and not is_open(entry) else None
        if listed is None:
            continue
        for text, on in pieces_of(_without_judged(card, note[listed.end() :])):
            where = entry.source.at("note")
            yield _Beside(where, f"{name} {entry.on}", text, on or entry.on.last, listed[0])


FROM_A_LIST = pattern(r"sheet, row \d+; ")
"""What stands before the remarks of a row of somebody's list, in the note of its entry."""


def _not_judged(card: Cylinder) -> str:
    """The note of a card without what somebody judged to be nothing."""
    return _without_judged(card, card.note or "")


def _without_judged(card: Cylinder, note: str) -> str:
    """A note without what somebody judged to be nothing, `; ` between its remarks. A longer remark
    that has those words in it is another one."""
    left = f"; {note}; "
    for each in sorted(card.note_judged, key=lambda j: -len(j.text)):
        left = left.replace(f"; {each.text.strip()}; ", "; ")
    return left.strip("; ")


_WHICH = (
    "look which is right, and correct the card or the note: `tankbook correct {0} --set "
    "note='{1}TEXT' --why WHY`"
)
_LOOK = (
    "look at it; where it is nothing, say so in plain words, or write its day before it: `tankbook "
    "correct {} --set note='YYYY-MM-DD: TEXT' --why WHY`, and a look of a later day answers it"
)
_LOOK_BESIDE = (
    "look at it, and record that: a look of a later day answers it; where it is nothing, say so in "
    "plain words: `tankbook correct {0} --set note='{1}TEXT' --why WHY`"
)


def _is_told(text: str, rows: Sequence[FindingRow], people: People) -> bool:
    """Whether a note is told by another check, or all that it says is known to be well."""
    told = any(spoken_of(text, row) for row in rows) or sets_aside(text) or says_gas_lost(text)
    doubted = says_giving_way(text) or unread_words(text) or any(doubts_said(rows, text))
    return bool(told or doubted or part_not_read(text, rows, people) or reads_well(text))


def _of_open_holds(card: Cylinder) -> Iterator[_Note]:
    for hold in standing(card.held):
        for key, text in (("why", hold.why), ("note", hold.note)):
            if text and is_open(hold):
                yield _Note(hold.source.at(key), text, looked=True)


@on_cylinder("note-leaks", WARN, since="0.2", adverse=True)
def notes_of_leaks_are_seen_to(
    card: Cylinder, about: Lines, rentals: Rentals, bench: SigningRules
) -> Iterator[Says]:
    """A leak that is noted, and may be the valve's, was seen to: somebody worked on the valve."""
    work = max((w.on.last for w in standing(card.valve_work) if w.is_service), default=None)
    for note in _notes(card, about, rentals, bench):
        word = says_gas_lost(note.text)
        seen_to = work is not None and note.on is not None and work >= note.on
        if word and not seen_to:
            mend = f"see to the valve: `tankbook valve {card.id} --did serviced`; or say what leaks"
            yield Says(note.where, f"a note says {word}: `{note.text[:60]}`", mend)


@on_cylinder("let-go-unread", WARN, since="0.2", adverse=True)
def reasons_of_holds_are_known(
    card: Cylinder, about: Lines, looked_inside: Sequence[dt.date], people: People
) -> Iterator[Says]:
    """What was held for a reason that may be of its shell is looked inside, or tested, once it was
    let go: what may be wrong with a shell has no end of words."""
    for hold in standing(card.held):
        if hold.released is None or is_harmless(hold.why, people) or is_of_fill(hold, about):
            continue
        answers: list[Inspected | Requalified] = [*standing(card.inspected)]
        answers += standing(card.requalified)
        named = any(names(entry, Adverse.HELD, hold.on) for entry in answers)
        if not named and not any(day > hold.on.last for day in looked_inside):
            text = f"held on {hold.on} as `{hold.why[:60]}`, it was let go with no look inside"
            mend = f"look inside; of the same day `clears: [held {hold.on}]`"
            yield Says(hold.source.at("why"), text, mend)


@on_cylinder("danger-under-pressure", WARN, since="0.2", adverse=True)
def no_danger_holds_pressure(card: Cylinder, danger_held: str) -> Iterator[Says]:
    """What is cracked, bulged, burnt or leaks holds no pressure."""
    if danger_held:
        mend = f"once it is empty: `tankbook drain {card.id}`"
        yield Says(card.source.at("serial"), danger_held, mend)


def _of_why(text: str) -> str:
    """The word by which a reason says that something is not well yet, or what the shell met."""
    return in_doubt(text) or speaks_of_harm(text)


def _other_alloy(card: Cylinder, text: str) -> str:
    """The alloy that a notice may speak of and a note names, where its card names another."""
    if ALLOY not in text:  # few notes speak of it
        return ""
    said = _AGAINST.shape("alloy").search(_AGAINST.without("a number", text))
    named = said and card.alloy and card.alloy in said[0]
    return said[0].strip() if said and card.material is Material.ALUMINIUM and not named else ""


_AGAINST = Lexicon("told_against")


class _Note(NamedTuple):
    """Where a note stands, what it says, and what is named beside it already.

    `aside`: it was said beside the work, and only what is never accepted is asked for. `is_why`: it
    says why an entry was made. `judged`: what is never accepted is refused already where it stands.
    `on`: the day. `looked`: somebody who inspected it wrote it, or it is held as long as it stands.
    """

    where: Where
    text: str
    named: frozenset[Seen] = frozenset()
    aside: bool = False
    is_why: bool = False
    judged: bool = False
    on: dt.date | None = None
    looked: bool = False


def _notes(card: Cylinder, about: Lines, rentals: Rentals, bench: SigningRules) -> Iterator[_Note]:
    """The notes since the last full inspection that counts, and on the card itself."""
    looks = standing(card.inspected)
    passed = [i for i in looks if counts_as_passed(bench, i) and bench.is_full(i)]
    since = passed[-1].on.first if passed else dt.date.min
    if card.note:
        named = frozenset(f.what for look in looks for f in look.findings if f.what)
        yield _Note(card.source.at("note"), card.note, named)
    if card.place and sets_aside(card.place):
        yield _Note(card.source.at("place"), card.place)
    for look in looks:
        if look.on.last >= since:
            yield from _of_look(look)
    tests = standing(card.requalified)
    for test in tests:
        # what the newest one found no look of one's own answers
        counted = test is tests[-1] or test.on.last >= since
        if test.finding and counted and not reads_well(test.finding):
            yield _Note(test.source.at("finding"), test.finding)
    answered = {c.on for look in looks for c in look.clears if c.what is Adverse.DAMAGE}
    for name, entry in entries_of(card, rentals):
        damaged = _damaged(entry)
        stands = damaged is not None and not any(on.meets(damaged) for on in answered)
        # while it is open it holds anyway
        if entry.void is None and entry.on.last >= since and not (is_open(entry) or stands):
            every = _of_entry(name, entry, *_answer_of(card, name, entry))
            yield from (each._replace(on=entry.on.first) for each in every)
    for work in card.valve_.serviced if card.valve_ else ():
        if work.note and work.void is None and work.on.last >= since:
            why = bool(in_doubt(work.note))
            yield _Note(work.source.at("note"), work.note, is_why=why, on=work.on.first)
    for line in about:
        if line.note and line.at.date() >= since:
            yield _Note(line.where, line.note, on=line.at.date())


def _of_look(look: Inspected) -> Iterator[_Note]:
    named = frozenset(f.what for f in look.findings if f.what)
    if look.note:
        looked = FROM_A_LIST.match(look.note) is None  # a list is written by anybody
        yield _Note(look.source.at("note"), look.note, named, on=look.on.first, looked=looked)
    for found in look.findings if verdict(look) is InspectionResult.PASS else ():
        if found.note:
            at = found.source.at("note")
            yield _Note(at, found.note, named, on=look.on.first, looked=True)


_WORDS = ("note", "why", "damage", "released_why", "lifted_why", "found_why")
"""The keys of an entry in which somebody says what happened."""


def _damaged(entry: Entry) -> PartialDate | None:
    """The day of the return at which damage was noted, if any was."""
    noted = isinstance(entry, Rented) and entry.damage and entry.back
    return (
        PartialDate.of(entry.back) if noted and isinstance(entry, Rented) and entry.back else None
    )


_NAMED = {
    "held": Adverse.HELD,
    "rejected": Adverse.REJECTED,
    "inspected": Adverse.INSPECTED,
    "rented": Adverse.DAMAGE,
}


def _answer_of(card: Cylinder, name: str, entry: Entry) -> tuple[frozenset[Seen], bool]:
    """What the looks that answer an entry found, and whether a pressure test that passed does: one
    of the threads alone says nothing of pits or dents."""
    word, on = _NAMED.get(name), _damaged(entry) or entry.on
    if word is None:
        return frozenset(), False
    looks = (i for i in standing(card.inspected) if names(i, word, on))
    named = frozenset(f.what for i in looks for f in i.findings if f.what)
    return named, any(names(r, word, on) for r in passed(card, PRESSURE_TESTS))


def _of_entry(
    name: str, entry: Entry, named: frozenset[Seen] = frozenset(), tested: bool = False
) -> Iterator[_Note]:
    if isinstance(entry, Inspected):
        return
    aside = tested or name in {"jobs", "refused", "handed_over"}
    judged = {"held": "why", "rejected": "why", "rented": "damage"}.get(name)
    for key in _WORDS:
        text = getattr(entry, key, None)
        if isinstance(text, str):
            why = key != "note"
            yield _Note(
                entry.source.at(key),
                text,
                named,
                aside=aside and key != "damage",
                is_why=why,
                judged=key == judged,
            )
    for reason in entry.reasons if isinstance(entry, Refused) else ():
        yield _Note(entry.source.at("reasons"), reason, aside=True, is_why=True)


@on_cylinder("test-says-failed", FAULT, since="0.2", adverse=True)
def tests_say_one_thing(card: Cylinder) -> Iterator[Says]:
    """A test that passed does not say that it failed."""
    for test in standing(card.requalified):
        for key, text in (("finding", test.finding), ("note", test.note)):
            pressure = test.method in PRESSURE_TESTS
            word = _against(text or "", of_test=key == "finding", of_pressure=pressure)
            if word and test.result is TestResult.PASS:
                said = f"the test of {test.on} passed, and its {key} speaks of {word}"
                mend = "write `result: fail` if it did not pass, or reword it"
                yield Says(test.source.at(key), said, mend, None if key == "finding" else WARN)


@on_cylinder("test-finding-unread", WARN, since="0.2", adverse=True)
def findings_of_tests_read_well(card: Cylinder) -> Iterator[Says]:
    """What the newest passed pressure test found is said in words that are known, or somebody reads
    it."""
    test = latest_pressure_test(card)
    finding = (test.finding if test else None) or ""
    # a pressure that it names is judged by itself
    known = reads_well(finding) or says_passed(finding)
    figures = share_kept(finding) is not None or any(pressures_of_test(finding))
    known = known or (figures and not not_passed(finding) and not re.search("[,;?]", finding))
    if test and test.result is TestResult.PASS and finding and not known:
        text = f"its test of {test.on} passed, and its finding is not known to say so"
        mend = "read it: `finding:` says that it passed, or what was found and that it is none"
        yield Says(test.source.at("finding"), f"{text}: `{finding[:60]}`", mend)


def _against(text: str, *, of_test: bool, of_pressure: bool) -> str:
    """The word by which what is written of a passed test tells against the cylinder, if any."""
    if not text or reads_well(text):
        return ""
    graver = of_test and (says_cracked(text) or says_do_not(text))
    graver = graver or (of_test and of_pressure and says_not_made(text))
    return not_passed(text) or graver or ""
