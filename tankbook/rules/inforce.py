"""The rule rows in force for a ledger, and which of them speak of a cylinder."""

from __future__ import annotations

import datetime as dt
import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from functools import cache, lru_cache
from itertools import count
from typing import NamedTuple, TypeAlias

from msgspec import Struct, field

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.kinds import FromRecord
from tankbook.records.rulerow import (
    AppliesTo,
    GoodUntil,
    Obligation,
    RuleRow,
    RuleSet,
    Unless,
    WatchRow,
)
from tankbook.records.words import Material, Service, Use
from tankbook.rules.materials import material_of
from tankbook.rules.own_rows import Judged, is_binding, is_named, judged
from tankbook.rules.spelling import ALLOYS as ALLOYS
from tankbook.rules.spelling import alloy_named as alloy_named
from tankbook.rules.spelling import any_fits, folded, is_plainly, maker_named, numbered
from tankbook.rules.spelling import normal as normal
from tankbook.rules.stamped import marks_of
from tankbook.rules.strictness import clears
from tankbook.rules.tested import made_of
from tankbook.rules.wording import is_no_evidence, names_no_paper
from tankbook.units import PartialDate, Percent, Period
from tankbook.units.patterns import pattern

CLEAN_ABOVE = Percent.of(23.5, "%")
"""Gas richer than this wants an O2-clean cylinder where no row says so (common practice, no
source)."""
_PERMIT = pattern(r"(DOT|TC|CTC|ICC)-?(SP|E|SU)")


CylinderKind: TypeAlias = tuple[
    tuple[str, ...], bool, Material | None, str | None, PartialDate | None, Use | None,
    Service | None,
]  # fmt: skip
"""All that a rule row may ask of a cylinder."""

_numbers = count()


@cache
def _number(kind: CylinderKind) -> int:
    """A number that stands for all that a row may ask of a cylinder, in whatever rules."""
    return next(_numbers)


class Origin(NamedTuple):
    """What a notice asks of a cylinder besides its serial, folded for comparing; `written` is the
    maker as the card has it."""

    maker: str
    country: str
    specifications: tuple[str, ...]
    made: PartialDate | None
    written: str = ""


class Loosened(Struct, frozen=True):
    """What somebody decided to ask less of than the shipped rows do, or than anybody else does.

    `row` is the ledger's own row, which says `by`, `why` and `since`; `shipped` the row of practice
    that it stands in for or takes out of force, None where it answers what no shipped row answers.
    """

    row: RuleRow
    shipped: RuleRow | None
    ways: tuple[str, ...]

    def __str__(self) -> str:
        """In one line: which row, who, since when and why."""
        row = self.row
        what = "loosens shop practice" if self.shipped else "answers what no shipped row answers"
        return f"{row.id} {what}, by {row.by} since {row.since}: {row.why}"


class InForce(Struct, frozen=True, eq=False):
    """Rows by the question they answer, after a ledger's own rows have taken their places.

    `dropped` names the rows of practice that the ledger took out of force, and `replaced` the
    binding ones it asks more than. `aside` names the rows that are out of force on purpose. `dated`
    says that the day is known on which they are in force.

    What has been asked of the rows is remembered: a fleet is many cylinders of few kinds.
    """

    rows: Mapping[Obligation, tuple[RuleRow, ...]]
    watch: tuple[WatchRow, ...]
    sets: tuple[RuleSet, ...]
    judged: Judged
    dropped: tuple[str, ...] = ()
    replaced: tuple[str, ...] = ()
    loosened: tuple[Loosened, ...] = ()
    aside: frozenset[str] = frozenset()
    dated: bool = False
    _spoken: dict[tuple[int, Obligation, str | None], tuple[RuleRow, ...]] = field(
        default_factory=dict
    )
    _watched: dict[Origin, tuple[WatchRow, ...]] = field(default_factory=dict)
    _facts: dict[int, CylinderFacts] = field(default_factory=dict)
    _lacks: dict[str, tuple[RuleSet, ...]] = field(default_factory=dict)
    _ids: dict[str, frozenset[str]] = field(default_factory=dict)

    @property
    def clean_above(self) -> Percent:
        """The most oxygen of a gas that needs no oxygen-clean cylinder, by the strictest row; what
        is common practice, no source, where there is none."""
        shares = (r.share for r in self.rows[Obligation.OXYGEN_CLEAN] if r.share)
        return min(shares, default=CLEAN_ABOVE)

    def about(
        self, facts: CylinderFacts, question: Obligation, state: str | None = None
    ) -> tuple[RuleRow, ...]:
        """The rows that answer a question about a cylinder, in a state where one is asked for.

        Where a shipped national set is in force, what it leaves open stays a gap: a row of the
        ledger's own fills it only if it says who decided so, why and since when.
        """
        asked = (facts.kind, question, state)
        found = self._spoken.get(asked)
        if found is None:
            found = self._speaking(facts, question, state)
            if question not in ADDING and self._is_gap(found, facts, state):
                found = tuple(row for row in found if self._may_fill_gaps(row))
            self._spoken[asked] = found
        return found

    def _speaking(
        self, facts: CylinderFacts, question: Obligation, state: str | None
    ) -> tuple[RuleRow, ...]:
        return tuple(row for row in self.rows[question] if row_applies(row, facts, state))

    def _is_gap(
        self, found: Iterable[RuleRow], facts: CylinderFacts, state: str | None = None
    ) -> bool:
        """Whether none of some rows is a shipped one, where a shipped national set is in force."""
        if not self.is_national:
            return False
        shipped = (self.judged.rules.get(row.id) for row in found)
        return not any(row is not None and row_applies(row, facts, state) for row in shipped)

    def _may_fill_gaps(self, row: RuleRow) -> bool:
        return self.dated and is_named(row)

    def holds_permit(self, facts: CylinderFacts, rows: tuple[RuleRow, ...]) -> bool:
        """Whether some of a permit cylinder's rows hold it to the period of its permit."""
        found = _from_record(rows)
        if self._is_gap(found, facts):
            return any(map(self._may_fill_gaps, found))
        return bool(found)

    def unheard(
        self, facts: CylinderFacts, question: Obligation, state: str | None = None
    ) -> tuple[RuleRow, ...]:
        """The ledger's own rows that would fill a gap, and do not say who, why and since when."""
        heard = self.about(facts, question, state)
        return tuple(r for r in self._speaking(facts, question, state) if r not in heard)

    def loosened_for(
        self, facts: CylinderFacts, question: Obligation, state: str | None = None
    ) -> tuple[Loosened, ...]:
        """Every loosening that the answer to a question about a cylinder rests on."""
        found = [
            each
            for each in self.loosened
            if each.shipped
            and each.shipped.obligation is question
            and row_applies(each.shipped, facts, state)
        ]
        rows = self.about(facts, question, state)
        if facts.permit and question is Obligation.REQUALIFICATION:
            rows = _from_record(rows)
        if question not in ADDING and self._is_gap(rows, facts, state):
            found += [Loosened(row, None, ()) for row in rows if self._may_fill_gaps(row)]
        return tuple(found)

    def loosened_at_station(
        self, question: Obligation, state: str | None = None
    ) -> tuple[Loosened, ...]:
        """Every loosening that an answer about the station, or about a person, rests on."""
        return tuple(
            each
            for each in self.loosened
            if each.shipped
            and each.shipped.obligation is question
            and speaks_of_station(each.shipped, state)
        )

    def lacking(self, rows: Iterable[RuleRow]) -> str:
        """A row that must stand beside one of some rows, and is missing; empty where none is.

        One that was taken out by name, or set aside by what is on record, is not missing.
        """
        if "known" not in self._ids:
            self._ids["known"] = frozenset(r.id for r in self.all_rows()) | self.aside
        known = self._ids["known"]
        return next((id_ for row in rows for id_ in row.beside if id_ not in known), "")

    def watching(self, cylinder: Cylinder, origin: Origin) -> list[WatchRow]:
        """The watch rows that speak of a cylinder."""
        found = self._watched.get(origin)
        if found is None:
            found = tuple(row for row in self.watch if _comes_from(row, origin))
            self._watched[origin] = found
        return [row for row in found if _serial_within(cylinder.serial, row)]

    def known(self, cylinder: Cylinder) -> CylinderFacts | None:
        """The facts of a cylinder, where they were asked for before."""
        found = self._facts.get(id(cylinder))
        return found if found is not None and found.cylinder is cylinder else None

    def remember(self, facts: CylinderFacts) -> CylinderFacts:
        """Keep the facts of a cylinder."""
        self._facts[id(facts.cylinder)] = facts
        return facts

    def all_rows(self) -> Iterator[RuleRow | WatchRow]:
        """Every row in force, question by question."""
        for rows in self.rows.values():
            yield from rows
        yield from self.watch

    @property
    def needs_stamp_means(self) -> bool:
        """A set in force reads retest stamps only where the record says what they mean."""
        return any(s.needs_stamp_means for s in self.sets)

    @property
    def is_national(self) -> bool:
        """A shipped set is in force that is enough to fill by, so that its gaps are refusals."""
        return any(s.shipped and _is_fill_rule(s) for s in self.sets)

    @property
    def lacks_notices(self) -> tuple[RuleSet, ...]:
        """The sets that hold fewer notices than they say: one has gone missing."""
        if "notices" not in self._lacks:
            found = tuple(s for s in self.sets if s.notices_held < (s.notices or 0))
            self._lacks["notices"] = found
        return self._lacks["notices"]

    @property
    def lacks_fill_rules(self) -> tuple[RuleSet, ...]:
        """The sets in force that ask for a national or shop set beside them, when there is none."""
        if "fill rules" not in self._lacks:
            limits = {id(row) for row in self.rows[Obligation.FILL_LIMIT]}
            enough = any(
                _is_fill_rule(s) and any(id(row) in limits for row in s.rows) for s in self.sets
            )
            wanting = tuple(s for s in self.sets if not s.stands_alone)
            self._lacks["fill rules"] = () if enough else wanting
        return self._lacks["fill rules"]


def _from_record(rows: tuple[RuleRow, ...]) -> tuple[RuleRow, ...]:
    return tuple(row for row in rows if row.period is FromRecord.FROM_RECORD)


_EVERYWHERE = {"bench", "alloys"}

ADDING = frozenset({Obligation.TEST_PRESSURE, Obligation.EXPANSION_LIMIT, Obligation.HOT_LIMIT})
"""Questions whose rows only ever refuse: where none answers, nothing is refused for it."""


def _is_fill_rule(each: RuleSet) -> bool:
    """Whether a set says to what pressure to fill, and wants no other beside it."""
    limits = any(row.obligation is Obligation.FILL_LIMIT for row in each.rows)
    return each.stands_alone and each.id not in _EVERYWHERE and limits


@once_per_book
def rules_of(book: Book) -> InForce:
    """The rules in force on the day a ledger is asked about.

    Where no day was said, a row that loosens practice is not in force: it says since when.
    """
    return _by_day(book).on(book.known_on)


def rules_on(book: Book, day: dt.date) -> InForce:
    """The rules in force on a day: what is dated `since` later is not, and loosens nothing yet.

    Between two such days the same rules are given, so that what was asked of them is remembered.
    """
    return _by_day(book).on(day)


def rules_turns(book: Book) -> tuple[dt.date, ...]:
    """The days on which other rules come into force, in their order."""
    return _by_day(book).turns


def rules_turn(book: Book, day: dt.date) -> dt.date | None:
    """The first day after this one on which other rules come into force; None where none do."""
    return next((turn for turn in rules_turns(book) if turn > day), None)


class _ByDay(Struct):
    """The rules in force for a ledger, between the days on which they change."""

    sets: tuple[RuleSet, ...]
    assessed: dt.date | None
    turns: tuple[dt.date, ...]
    known: dict[int | None, InForce] = field(default_factory=dict)

    def on(self, day: dt.date | None) -> InForce:
        """The rules of a day; None asks for what is in force whatever the day."""
        place = None if day is None and self.turns else bisect_right(self.turns, day or dt.date.min)
        if place not in self.known:
            begun = bool(self.assessed and day and self.assessed <= day)
            said = frozenset({Unless.RISK_ASSESSED}) if begun else frozenset[Unless]()
            self.known[place] = in_force(self.sets, day, said)
        return self.known[place]


@once_per_book
def _by_day(book: Book) -> _ByDay:
    found = book.settings.risk_assessed
    assessed = found.on.first if found and not is_no_evidence(found.document) else None
    turns = {r.since.first for each in book.rule_sets for r in each.every_row if r.since}
    turns |= {assessed} if assessed else set()
    return _ByDay(book.rule_sets, assessed, tuple(sorted(turns)))


def in_force(
    sets: tuple[RuleSet, ...], day: dt.date | None = None, said: frozenset[Unless] = frozenset()
) -> InForce:
    """The rows of rule sets that are in force, each of the ledger's own in the place it was given.

    Args:
        sets: shipped and own sets; own rows count as `judged` says.
        day: the day asked about; None leaves out every row that loosens.
        said: what is on record that sets rows aside.
    """
    verdicts = judged(sets)
    shipped: dict[str, RuleRow | WatchRow] = {**verdicts.rules, **verdicts.watch}
    rows = {i: r for i, r in shipped.items() if not (r.since and day and day < r.since.first)}
    own = [each for each in verdicts.own if each.counts and each.begun(day)]
    rows.update((each.row.id, each.row) for each in own)
    aside = {i for i, r in rows.items() if isinstance(r, RuleRow) and r.unless in said}
    dropped = tuple(each.row.id for each in own if each.row.drop)
    kept = [row for i, row in rows.items() if i not in aside and not row.drop]
    return InForce(
        rows=_by_question(kept),
        watch=tuple(row for row in kept if isinstance(row, WatchRow)),
        sets=sets,
        judged=verdicts,
        dropped=dropped,
        replaced=tuple(
            each.row.id
            for each in own
            if each.shipped and not each.row.drop and is_binding(each.shipped)
        ),
        loosened=tuple(
            Loosened(each.row, each.shipped, each.looser)
            for each in own
            if each.looser and isinstance(each.row, RuleRow) and isinstance(each.shipped, RuleRow)
        ),
        aside=frozenset(aside) | frozenset(dropped),
        dated=day is not None,
    )


def _by_question(rows: list[RuleRow | WatchRow]) -> dict[Obligation, tuple[RuleRow, ...]]:
    rules = [row for row in rows if isinstance(row, RuleRow)]
    return {q: tuple(row for row in rules if row.obligation is q) for q in Obligation}


class CylinderFacts(Struct, frozen=True):
    """What rows ask of a cylinder. `alloy` is the one recorded, or the one a watch row assumes;
    None where what is recorded names no alloy known here.

    `alloy_against` is the notice that a typed alloy contradicts: its own alloy counts then. `kind`
    is one number for all cylinders that every rule row treats alike. `recalls` are the
    notices that name it and that nothing on its card answers.
    """

    specifications: tuple[str, ...]
    permit: bool
    material: Material | None
    alloy: str | None
    alloy_row: WatchRow | None
    alloy_against: WatchRow | None
    recalls: tuple[WatchRow, ...]
    made: PartialDate | None
    cylinder: Cylinder
    kind: int


def facts_of(cylinder: Cylinder, rules: InForce) -> CylinderFacts:
    """The facts of a cylinder under the watch rows in force."""
    return rules.known(cylinder) or rules.remember(_facts_of(cylinder, rules))


def _facts_of(cylinder: Cylinder, rules: InForce) -> CylinderFacts:
    origin = _origin(cylinder)
    watched = rules.watching(cylinder, origin)
    permit = is_permit(cylinder)
    specs, made = origin.specifications, origin.made
    material = cylinder.material or (None if permit else material_of(specs))
    notice = _assumed(watched, rules, cylinder) if material is Material.ALUMINIUM else None
    alloy, row = alloy_named(cylinder.alloy), None
    if notice is None and material is Material.ALUMINIUM and cylinder.alloy is not None:
        notice = _might_be(rules, cylinder, origin)
    contradicts = _contradicts(cylinder, alloy, notice)
    if notice and (cylinder.alloy is None or contradicts):
        alloy, row = alloy_named(notice.alloy), notice
    kind = (specs, permit, material, alloy, made, cylinder.use, cylinder.service)
    return CylinderFacts(
        specifications=specs,
        permit=permit,
        material=material,
        alloy=alloy,
        alloy_row=row,
        alloy_against=notice if contradicts else None,
        recalls=tuple(w for w in watched if w.recall and not _is_answered(w, cylinder)),
        made=made,
        cylinder=cylinder,
        kind=_number(kind),
    )


def _might_be(rules: InForce, cylinder: Cylinder, origin: Origin) -> WatchRow | None:
    """A notice of the old alloy that may speak of a cylinder, for what its card does not say: who
    made it, where, or when. One that says neither who nor when is held against none."""
    told = bool(origin.maker) or origin.made is not None
    all_told = bool(origin.maker and origin.country) and origin.made is not None
    known = told and not all_told
    rows = (w for w in rules.watch if alloy_named(w.alloy) == "6351") if known else ()
    return next((w for w in rows if _comes_from(w, origin, may_be=True)), None)


def _numbers_in(text: str) -> str:
    return " ".join(re.findall(r"(?<!\d)\d{4}(?!\d)", text))


def _contradicts(cylinder: Cylinder, typed: str | None, notice: WatchRow | None) -> bool:
    """Whether an alloy is typed that a notice does not allow, without saying how it is known."""
    if notice is None or cylinder.alloy is None:
        return False
    known_from = cylinder.alloy_known_from or ""
    unsure = "?" in cylinder.alloy or is_no_evidence(known_from)
    if known_from and not unsure and alloy_named(_numbers_in(known_from)) in {None, typed}:
        return False
    return alloy_named(notice.alloy) == "6351" and typed != "6351"


def _assumed(watched: list[WatchRow], rules: InForce, cylinder: Cylinder) -> WatchRow | None:
    """The notice whose alloy is assumed: the warier where several speak of one cylinder.

    Where no shipped one does the alloy stays unknown, which a ledger's own rows cannot lift.
    """
    naming = [w for w in watched if w.alloy]
    shipped = (rules.judged.watch.get(w.id) for w in naming)
    if not any(w is not None and w.alloy and is_watched(w, cylinder) for w in shipped):
        return None
    return min(naming, key=lambda w: alloy_named(w.alloy) != "6351")


def _is_answered(row: WatchRow, cylinder: Cylinder) -> bool:
    """Whether the card names the renewal of an ended permit, and the paper. How long the renewal
    holds is a date that comes due."""
    permit = cylinder.permit
    if permit is None or permit.renewed_until is None or not permit.paper:
        return False
    return row.unless is Unless.PERMIT_RENEWED and not names_no_paper(permit.paper)


def _origin(cylinder: Cylinder) -> Origin:
    return Origin(
        maker_named(cylinder.maker),
        folded(cylinder.made_in or ""),
        _specifications(cylinder),
        made_of(cylinder) or marks_of(cylinder).first_date,
        folded(cylinder.maker or ""),
    )


def _specifications(cylinder: Cylinder) -> tuple[str, ...]:
    """The specifications in one spelling, a permit's number among them however it is written."""
    found = [normal(s) for s in cylinder.specification]
    number = cylinder.permit.number if cylinder.permit else None
    for text in [*found, *([normal(number)] if number else [])]:
        permit = re.match(r"(DOT|TC)-(SP|E|SU)-?0*(\d+)", text)
        if permit:
            found.append(f"{permit[1]}-{permit[2]}-{permit[3]}")
    return tuple(dict.fromkeys(found))


def is_permit(cylinder: Cylinder) -> bool:
    """Whether period, test pressure and life come from a permit or design approval."""
    return (
        cylinder.permit is not None
        or cylinder.material is Material.COMPOSITE
        or any(_PERMIT.match(normal(s)) for s in cylinder.specification)
    )


def row_applies(row: RuleRow, facts: CylinderFacts, state: str | None = None) -> bool:
    """Whether a row applies to a cylinder, in a state where the row asks for one."""
    to = row.applies_to
    if to is None:
        return state is None
    return _state_fits(to, state) and _cylinder_fits(to, facts)


def speaks_of_station(row: RuleRow, state: str | None = None) -> bool:
    """Whether a row applies to a part of the station, in a state where the row asks for one."""
    return _state_fits(row.applies_to, state)


def _state_fits(to: AppliesTo | None, state: str | None) -> bool:
    wanted = to.state if to else ()
    return state in wanted if wanted else state is None


def _cylinder_fits(to: AppliesTo, facts: CylinderFacts) -> bool:
    cylinder = facts.cylinder
    return (
        any_fits(to.specification, facts.specifications)
        and not (to.not_specification and any_fits(to.not_specification, facts.specifications))
        and (not to.material or facts.material in to.material)
        and (not to.alloy or any((facts.alloy or "").startswith(a) for a in to.alloy))
        and (not to.use or cylinder.use in to.use)
        and (not to.service or cylinder.service in to.service)
        and (to.permit is None or to.permit == facts.permit)
        and (
            to.made_before is None
            or (facts.made is not None and facts.made.first < to.made_before.first)
        )
        and (
            to.made_from is None
            or (facts.made is not None and facts.made.last >= to.made_from.first)
        )
    )


def is_watched(row: WatchRow, cylinder: Cylinder) -> bool:
    """Whether a notice speaks of a cylinder, going by what its record says."""
    return _comes_from(row, _origin(cylinder)) and _serial_within(cylinder.serial, row)


def _comes_from(row: WatchRow, origin: Origin, *, may_be: bool = False) -> bool:
    """Whether a notice speaks of cylinders of an origin, whatever their serial; or `may_be`, were
    what is missing of the origin as the notice says."""
    maker, country, specs, made, _ = origin
    if row.maker and (maker or not may_be) and not _is_of(row, origin):
        return False
    if row.not_maker and (_is_excluded(row, origin) if maker else not may_be):
        return False
    if row.specification and not any_fits(row.specification, specs):
        return False
    if row.made_in and (country or not may_be) and country not in map(folded, row.made_in):
        return False
    if row.not_made_in and (country in map(folded, row.not_made_in) if country else not may_be):
        return False
    if made is None and (row.made_from or row.made_before) and not (may_be and row.maker):
        return False  # any cylinder of no date would be one
    if may_be and not maker and row.made_before is None:
        return False  # and any of no maker, however new
    if row.made_from and made and made.last < row.made_from.first:
        return False
    return not (row.made_before and made and made.first >= row.made_before.first)


def _is_of(row: WatchRow, origin: Origin) -> bool:
    """Whether a maker is one that a notice names. Where nobody wrote it down, a recall of serials
    in a range may be of it. A notice that clears asks for the name without a doubt."""
    if not origin.maker:
        return bool(row.recall and (row.serial_from or row.serial_to))
    if clears(row):
        return any(is_plainly(origin.written, m) for m in row.maker)
    return any(maker_named(m) in origin.maker for m in row.maker)


def _is_excluded(row: WatchRow, origin: Origin) -> bool:
    """Whether a maker is one that a notice does not speak of; one that is named in doubt is not
    taken out of a notice that tells against it."""
    if clears(row):
        return any(maker_named(m) in origin.maker for m in row.not_maker)
    return any(is_plainly(origin.written, m) for m in row.not_maker)


def _serial_within(serial: str, row: WatchRow) -> bool:
    """Whether a serial lies in a range, as a worn stamp may be read. Only serials of one shape can
    be compared: the same letters and no more digits, for leading zeros are lost."""
    first, last = (numbered(b) if b is not None else None for b in (row.serial_from, row.serial_to))
    got = numbered(serial)
    if any(b.letters != got.letters or b.digits < got.digits for b in (first, last) if b):
        return False
    return (first is None or first.number <= got.number) and (
        last is None or got.number <= last.number
    )


@lru_cache(maxsize=16384)
def act_ends(on: PartialDate, period: Period, good_until: GoodUntil) -> PartialDate:
    """When an act that was done on a day, or in a month, holds no longer: its last day or month."""
    ends = on.plus(period)
    return PartialDate(ends.year, ends.month) if good_until is GoodUntil.END_OF_MONTH else ends
