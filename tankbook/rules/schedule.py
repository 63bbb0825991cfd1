"""What comes due: each obligation's last act, the last day it holds, and the days left."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from enum import IntEnum
from functools import cache
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified, standing
from tankbook.records.kinds import FromRecord, NoEnd
from tankbook.records.log import Log
from tankbook.records.naming import named_among
from tankbook.records.rulerow import (
    FIRST_TEST,
    INSPECTION,
    STICKER,
    Basis,
    Gate,
    Obligation,
    RuleRow,
    Starts,
)
from tankbook.records.settings import Person
from tankbook.records.station import (
    COMPRESSOR,
    AirTest,
    Bank,
    Booster,
    Checked,
    Compressor,
    Filter,
    FilterChange,
    NoPeriod,
    Scheme,
    Station,
    StationUpkeep,
    UpkeepDone,
    new_since,
    that_stand,
)
from tankbook.records.words import (
    InspectionResult,
    InstrumentKind,
    LogAct,
    Method,
    Service,
    Status,
    TestResult,
)
from tankbook.rules import meter, running
from tankbook.rules.air import (
    air_judge,
    by_others,
    parts_named,
    samples_of_air,
    speaks_of,
    taken_here,
)
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.bank_out import banks_out
from tankbook.rules.bank_pressure import examined_under
from tankbook.rules.clearing import is_of_the_outside, open_tests
from tankbook.rules.conditions import clean_until, family
from tankbook.rules.fill_history import standings
from tankbook.rules.gauges import is_low, off_by_too_much, off_said, proofs_of, unproved
from tankbook.rules.incident_held import checks_of, machine_part
from tankbook.rules.inforce import (
    CylinderFacts,
    InForce,
    act_ends,
    facts_of,
    rules_of,
    rules_on,
    speaks_of_station,
)
from tankbook.rules.lapsed import EVERY_AIR, STAMP_UNSAID, lapse_text
from tankbook.rules.mended import Mending, unmended
from tankbook.rules.relief import late_lift
from tankbook.rules.signing import (
    SEEN_STICKER,
    bench_of,
    counts_as_passed,
    why_nobody_to_ask,
)
from tankbook.rules.sparing import DONE_AS, Lasts, Rows, spared
from tankbook.rules.status import is_full_inspection, status_of
from tankbook.rules.strictness import PERIOD_TOO_LONG, ends_no_later
from tankbook.rules.tested import PRESSURE_TESTS, is_due_stamp, is_makers, passed, tested_on
from tankbook.rules.unmeasured import not_measured
from tankbook.rules.wording import says_nothing
from tankbook.units import PartialDate, Period, RunningTime, UnitError

SOON = Period.parse("30 days")
"""How far ahead `soon` looks unless the settings say otherwise."""
SOON_OF_HOURS = 0.1
"""What lasts some running hours is due soon once so much of them is left (own choice)."""

CYLINDER_OBLIGATIONS = (
    Obligation.REQUALIFICATION,
    Obligation.VISUAL,
    Obligation.EDDY_CURRENT,
    Obligation.SERVICE_LIFE,
    Obligation.PERMIT,
)

OF_CYLINDERS = (*CYLINDER_OBLIGATIONS, Obligation.OXYGEN_CLEANING)
"""All that falls due of a cylinder: what may refuse a fill, and what only ends what it serves."""

ENDS = frozenset({Obligation.SERVICE_LIFE, Obligation.PERMIT, Obligation.OXYGEN_CLEANING})
"""What ends on a day, and is no test that is done again."""


class _Act(Struct, frozen=True):
    """A passed act: its date, when it was done as far as that is known, and whether its date is
    when the next is due."""

    on: PartialDate
    done: PartialDate | None
    is_due: bool = False


class Lasting(Struct, frozen=True):
    """An act that counts, and until when it holds: to a day, or to the end of a month."""

    on: PartialDate
    ends: PartialDate

    @property
    def until(self) -> dt.date:
        """The last day it holds."""
        return self.ends.last


@once_per_book
def due(book: Book, today: dt.date) -> tuple[Due, ...]:
    """Every obligation of every cylinder, set, station part and person, first things first: the one
    list that every screen and paper shows.

    Cylinders that are sold, rejected, condemned or lost owe nothing more.
    """
    items = [
        d
        for c in book.cylinders.values()
        if not status_of(book, c).closed
        for d in _placed(book, c, due_of_cylinder(book, c, today), today)
    ]
    items += tuple(_due_of_sets(book, items))
    if book.station:
        items += due_of_station(book, book.station, today)
        items += _due_of_gas(book, today)
        items += _due_of_failed(book, book.station, today)
    for initials, person in book.settings.people.items():
        items += _due_of_person(book, initials, person, today)
    return tuple(sorted(items, key=_urgency))


def _placed(
    book: Book, cylinder: Cylinder, items: tuple[Due, ...], today: dt.date
) -> Iterator[Due]:
    """The obligations of a cylinder with what spares them, and where it is kept, out or away."""
    stands = kept_or_away(book, cylinder)
    met = spared(items, *acts_of(book, cylinder), today)
    for item in items:
        yield replace(item, spared=met.get(item.obligation), stands=stands)


def kept_or_away(book: Book, cylinder: Cylinder) -> tuple[Status, ...]:
    """Whether a cylinder is held, out (by itself or in its set) or away, the gravest first."""
    states = standings(book, cylinder)
    return tuple(s for s in _KEPT_OR_AWAY if s in states)


_KEPT_OR_AWAY = (Status.HELD, Status.AT_TEST, Status.AT_REPAIR, Status.OUT)


def acts_of(book: Book, cylinder: Cylinder) -> tuple[Rows, Lasts]:
    """The rows that say when a cylinder's acts fall due again, and how long one of a day holds."""
    facts = facts_of(cylinder, rules_of(book))
    rows = {question: dated_rows(book, facts, question) for question in DONE_AS}

    def lasts(question: Obligation, on: dt.date) -> dt.date | None:
        periods = ((row, period_of(row, cylinder)) for row in rows[question])
        try:
            spans = [lasts_until(row, period, on) for row, period in periods if period]
        except UnitError:  # past the last year that a date may have nothing comes again
            return None
        found = min(spans, default=None)
        return found if found is not None and found > on else None

    return rows, lasts


_RANK = {State.OVERDUE: 0, State.MISSING: 1, State.SOON: 2, State.OK: 3}


def _urgency(item: Due) -> tuple[int, int, str, str, str]:
    rank = _RANK[item.state]
    days = item.days_left if item.days_left is not None else 0
    return rank, days, item.id, item.part, item.obligation


@once_per_book
def due_of_cylinder(book: Book, cylinder: Cylinder, today: dt.date) -> tuple[Due, ...]:
    """The dated obligations of one cylinder.

    Where no row in force answers a question that every fill rule must answer (requalification,
    visual inspection), the obligation is `missing` without a row.
    """
    rules = rules_on(book, today)
    facts = facts_of(cylinder, rules)
    found = []
    for question in OF_CYLINDERS:
        rows = rules.about(facts, question)
        items = [i for row in rows if (i := _item(book, rules, facts, row, today)) is not None]
        found += [_gravest(items)] if items else []
        why = _gap(rules, facts, question, rows)
        if why:
            found.append(Due(DueKind.CYLINDER, cylinder.id, question, State.MISSING, why=why))
    return tuple(found)


def _gap(
    rules: InForce, facts: CylinderFacts, question: Obligation, rows: tuple[RuleRow, ...]
) -> str:
    """What the rows in force leave unanswered that some row must answer; empty where nothing."""
    if not rows and _must_be_answered(question, facts):
        return f"no rule row in force says when {question.called} is due"
    if _lacks_permit_row(rules, question, facts, rows):
        return f"no rule row in force holds its {question.called} to its permit's period"
    return _lacking(rules, question, rows)


def _lacking(rules: InForce, question: Obligation, rows: Iterable[RuleRow]) -> str:
    """That a row is missing which must stand beside one of some rows; empty where none is."""
    beside = rules.lacking(rows)
    named = f"{question.called}: the rule row {beside}"
    return f"{named}, which must stand beside, is missing" if beside else ""


def dated_rows(book: Book, facts: CylinderFacts, question: Obligation) -> tuple[RuleRow, ...]:
    """The rows in force that say when a cylinder's obligation is due."""
    return rules_of(book).about(facts, question)


def _lacks_permit_row(
    rules: InForce, question: Obligation, facts: CylinderFacts, rows: tuple[RuleRow, ...]
) -> bool:
    """A permit cylinder's test period is the permit's: some row in force must say so."""
    if question is not Obligation.REQUALIFICATION or not facts.permit:
        return False
    un_mark = any(s.startswith("UN-") for s in facts.specifications)
    return not un_mark and not rules.holds_permit(facts, rows)


def _must_be_answered(question: Obligation, facts: CylinderFacts) -> bool:
    if question is Obligation.EDDY_CURRENT:
        return (facts.alloy or "").startswith("6351")
    if question is Obligation.SERVICE_LIFE:
        return facts.permit
    if question is Obligation.PERMIT:
        permit = facts.cylinder.permit
        return permit is not None and permit.renewed_until is not None
    if question is Obligation.OXYGEN_CLEANING:
        kept = facts.cylinder.service not in {None, Service.AIR}
        return kept and clean_until(facts.cylinder.cleanings) is not None
    return True


def _gravest(items: Iterable[Due]) -> Due:
    """Of what several rows say of one obligation, what counts: what refuses before what warns, and
    what nobody may override before what somebody may; then the first to come due."""
    kept = list(items)
    worst = min(kept, key=_grave)
    refused = [i.next for i in kept if i.next and i.row and i.row.gate is Gate.REFUSE]
    if _gravity(worst) is not _Gravity.WARNS or not refused or not worst.next:
        return worst
    text = f"{worst.obligation.called} lapsed {worst.next:%b %Y}; refused after {min(refused)}"
    return replace(worst, why=worst.why or text)


def _grave(item: Due) -> tuple[int, int, dt.date, int]:
    """What comes first of several that are said of one obligation. Of what is met, days and running
    hours are weighed by the day that each is reckoned to hold."""
    rank, days, *_ = _urgency(item)
    met = _gravity(item) is _Gravity.MET
    return _gravity(item), rank, (item.by or dt.date.max) if met else dt.date.min, days


class _Gravity(IntEnum):
    """What an obligation does on the day asked."""

    BINDS = 0
    REFUSES = 1
    WARNS = 2
    MET = 3


def _gravity(item: Due) -> _Gravity:
    if item.state not in {State.OVERDUE, State.MISSING}:
        return _Gravity.MET
    if item.row is None or item.row.gate is Gate.REFUSE:
        lifted = item.row is not None and item.row.may_be_overridden
        return _Gravity.REFUSES if lifted else _Gravity.BINDS
    return _Gravity.WARNS


def _item(
    book: Book, rules: InForce, facts: CylinderFacts, row: RuleRow, today: dt.date
) -> Due | None:
    cylinder = facts.cylinder
    blank = Due(DueKind.CYLINDER, cylinder.id, row.obligation, State.MISSING, row=row)
    if row.obligation is Obligation.SERVICE_LIFE:
        return _service_life(blank, row, facts, today, book)
    if row.obligation is Obligation.PERMIT:
        return _renewal(blank, cylinder, today, book)
    if row.obligation is Obligation.OXYGEN_CLEANING:
        return _cleaning(blank, cylinder, today, book)
    if _stamp_is_unread(facts, row):
        return replace(blank, why=STAMP_UNSAID)
    period = period_of(row, cylinder)
    if period is None:
        return replace(blank, why="its permit's period is not recorded")
    if row.period is FromRecord.FROM_RECORD:
        doubt = _period_doubt(rules, facts, period)
        if doubt is not None:
            return replace(blank, row=doubt[0], why=doubt[1])
    acts = [a for a in _acts(book, cylinder, row) if _has_begun(a, period, today)]
    held = [_held(a, period, row) for a in acts]
    if row.obligation is Obligation.EDDY_CURRENT:
        gap = _retested_without(cylinder, held, today)
        if gap:
            return replace(blank, why=gap)
    failed = _failed_since(book, cylinder, row)
    if failed:
        met = failed.method.value in row.met_by
        of_it = met and (row.obligation is Obligation.VISUAL) is (failed.method is Method.VISUAL)
        what = row.obligation.called if of_it else f"{failed.method} test"
        return _overdue(blank, failed.on, f"failed its {what} {failed.on}", today)
    if not held:
        found = replace(blank, why=f"no {row.obligation.called} on record")
    else:
        act = max(held, key=lambda a: a.until)
        found = _until(replace(blank, last=act.on), act.ends, book, today)
    return _with_uncounted(found, book, cylinder, row, today)


def _with_uncounted(
    found: Due, book: Book, cylinder: Cylinder, row: RuleRow, today: dt.date
) -> Due:
    """What is not met, with the visual that somebody passed it at since and that does not count
    here: whoever entered it takes it for done."""
    if found.state not in {State.OVERDUE, State.MISSING} or row.obligation is not Obligation.VISUAL:
        return found
    last = found.last.last if found.last else dt.date.min
    looks = [
        i
        for i in standing(cylinder.inspected)
        if i.checklist == SEEN_STICKER
        and i.result is InspectionResult.PASS
        and last < i.on.last
        and i.on.first <= today
    ]
    if STICKER in row.met_by or not looks:
        return found
    look = max(looks, key=lambda i: i.on.last)
    lapse = found.why or lapse_text(found)
    who = why_nobody_to_ask(book.settings.people, look.by, look.on)
    said = (
        "nobody says who did it" + (f" ({who})" if look.by else "")
        if who
        else f"it is a sticker of {look.by} that was seen, which does not count here"
    )
    why = f"{lapse}; a visual of {look.on} is on record, and {said}"
    return replace(found, why=why, uncounted=look.on)


def _until(blank: Due, ends: PartialDate, book: Book, today: dt.date) -> Due:
    """An obligation that is met until a day, or to the end of a month."""
    left, monthly = (ends.last - today).days, ends.day is None
    state = _state(left, book, today)
    return replace(blank, state=state, next=ends.last, days_left=left, whole_month=monthly)


def _overdue(blank: Due, failed: PartialDate, why: str, today: dt.date) -> Due:
    """An obligation whose newest act was a failure."""
    days, day = (failed.first - today).days, failed.first
    late = replace(blank, state=State.OVERDUE, last=failed, next=day, days_left=days, why=why)
    return replace(late, failed=True)


def _has_begun(act: _Act, period: Period, day: dt.date) -> bool:
    """Whether an act can have been done by a day. A month counts from its first day.

    A stamp that says when the next test is due lies no further ahead than a test of this month puts
    it.
    """
    if act.done is not None:
        return act.done.first <= day
    furthest = PartialDate.of(day).plus(period)
    return act.on.first <= PartialDate(furthest.year, furthest.month).last


def _period_doubt(
    rules: InForce, facts: CylinderFacts, period: Period
) -> tuple[RuleRow | None, str] | None:
    """The row that a permit's period is too long for, and what to say of it; None where it fits."""
    bounds = rules.about(facts, Obligation.PERMIT, PERIOD_TOO_LONG)
    known = [(row, row.period) for row in bounds if isinstance(row.period, Period)]
    if not known:
        return None, "no rule row in force says how long a permit's period can be"
    for row, most in known:
        if not ends_no_later(period, most):
            return row, f"its permit's period of {period} is longer than any known ({most})"
    return None


def _renewal(blank: Due, cylinder: Cylinder, today: dt.date, book: Book) -> Due | None:
    """The end of a permit's last renewal, where one is recorded."""
    ends = cylinder.permit.renewed_until if cylinder.permit else None
    return _until(blank, ends, book, today) if ends else None


def _cleaning(blank: Due, cylinder: Cylinder, today: dt.date, book: Book) -> Due | None:
    """The end of its newest cleaning for oxygen service, where whoever cleaned it gave one."""
    cleaned = cylinder.cleanings
    until = clean_until(cleaned)
    ends = replace(blank, last=cleaned[-1].on) if cleaned else blank
    return _until(ends, until, book, today) if until else None


def _retested_without(cylinder: Cylinder, acts: list[Lasting], today: dt.date) -> str:
    """An eddy-current test goes with each requalification: one still in date from before the last
    is not enough."""
    tests = [r for r in passed(cylinder, PRESSURE_TESTS) if not is_makers(r)]
    current = [a for a in acts if a.until >= today]
    if not tests or not current:
        return ""
    retest = tested_on(cylinder, tests[-1])
    together = retest is not None and any(
        (retest.first - a.on.last).days <= _TOGETHER for a in current
    )
    return "" if together else f"no eddy-current test with its hydro of {tests[-1].on}"


_TOGETHER = 62
"""Days between two tests of one visit to the requalifier (common practice, no source)."""


def _stamp_is_unread(facts: CylinderFacts, row: RuleRow) -> bool:
    """A stamp that may say a test date or a due date says neither until the record tells which."""
    if row.starts is not Starts.STAMPED or facts.cylinder.stamp_means is not None:
        return False
    return any(not is_makers(r) for r in standing(facts.cylinder.requalified))


def _state(days_left: int, book: Book, today: dt.date) -> State:
    if days_left < 0:
        return State.OVERDUE
    horizon = PartialDate.of(today).plus(book.settings.soon or SOON).last
    return State.SOON if days_left <= (horizon - today).days else State.OK


def _service_life(
    blank: Due, row: RuleRow, facts: CylinderFacts, today: dt.date, book: Book
) -> Due | None:
    permit = facts.cylinder.permit
    ends: PartialDate | NoEnd | None
    if isinstance(row.period, Period):
        if facts.made is None:
            return replace(blank, why="when it was made is not recorded, so its life is unknown")
        ends = facts.made.plus(row.period)
    else:
        ends = permit.life_ends if permit else None
    if ends is None:
        return replace(blank, why="the end of its service life is not recorded (permit: life_ends)")
    return None if isinstance(ends, NoEnd) else _until(blank, ends, book, today)


def period_of(row: RuleRow, cylinder: Cylinder) -> Period | None:
    """The period a row gives a cylinder; None where its record should give it and does not."""
    if row.period is FromRecord.FROM_RECORD:
        return cylinder.permit.period if cylinder.permit else None
    return row.period if isinstance(row.period, Period) else None


def _acts(book: Book, cylinder: Cylinder, row: RuleRow) -> list[_Act]:
    """Passed acts that meet a row.

    A stamp that says when the next test is due starts no period: a row that does not go by stamps
    counts from when the test was done, where that is on record.
    """
    visual = row.obligation is Obligation.VISUAL and FIRST_TEST not in row.met_by
    bench = bench_of(book)
    # where a sticker counts, whoever looked
    others = {Method.EDDY_CURRENT} | (set() if STICKER in row.met_by else {Method.VISUAL})
    acts = [
        act
        for r in standing(cylinder.requalified)
        if r.result is TestResult.PASS
        and r.method.value in row.met_by
        and not (visual and is_makers(r))
        and not (r.method in others and bench.is_nobodys(r))
        and not is_of_the_outside(r)
        and (act := _tested(cylinder, r, row)) is not None
    ]
    if not {INSPECTION, STICKER}.isdisjoint(row.met_by):
        acts += [
            _Act(i.on, i.on)
            for i in cylinder.inspected
            if (STICKER if i.checklist == SEEN_STICKER else INSPECTION) in row.met_by
            and is_full_inspection(book, i.checklist)
            and counts_as_passed(bench, i)
        ]
    return acts


def _tested(cylinder: Cylinder, test: Requalified, row: RuleRow) -> _Act | None:
    done = tested_on(cylinder, test)
    if is_due_stamp(cylinder, test):
        # the stamp ends it, whatever a row goes by; it begins nothing where a row counts the time
        of_its_kind = row.obligation is not Obligation.VISUAL or test.method is Method.VISUAL
        counted = done is not None or (row.starts is Starts.STAMPED and of_its_kind)
        return _Act(test.on, done, is_due=True) if counted else None
    return _Act(done, done) if done else None


def _held(act: _Act, period: Period, row: RuleRow) -> Lasting:
    """How long an act holds: its period, and no longer than its stamp says. A month holds to its
    end; a day to the day, or its month's end."""
    ends = [act_ends(act.done, period, row.good_until)] if act.done else []
    ends += [act_ends(act.on, _NO_TIME, row.good_until)] if act.is_due else []
    return Lasting(act.on, min(ends, key=lambda end: end.last))


_NO_TIME = Period.parse("0 days")


def lasts_until(row: RuleRow, period: Period, on: dt.date) -> dt.date:
    """The last day that an act done on a day will hold under a row."""
    return act_ends(PartialDate.of(on), period, row.good_until).last


_FAILS: Mapping[Obligation, frozenset[Method]] = {
    Obligation.REQUALIFICATION: PRESSURE_TESTS,
    Obligation.VISUAL: PRESSURE_TESTS | {Method.VISUAL},
}
"""Tests whose failure tells against an obligation, whatever a row lets meet it."""


def _failed_since(book: Book, cylinder: Cylinder, row: RuleRow) -> Requalified | None:
    against = _FAILS.get(row.obligation, frozenset())
    failed = (
        r
        for r in open_tests(bench_of(book), cylinder)
        if r.method in against or r.method.value in row.met_by
    )
    return max(failed, key=lambda r: r.on.last, default=None)


def _unanswered(failed: Iterable[PartialDate], passed: Iterable[PartialDate]) -> PartialDate | None:
    """The last failure, unless something was passed that is certain to have come after it."""
    latest = max(failed, key=lambda on: on.last, default=None)
    answered = latest is not None and any(on.first > latest.last for on in passed)
    return None if answered else latest


def holds_on(book: Book, cylinder: Cylinder, question: Obligation, day: dt.date) -> bool | None:
    """Whether an obligation was met on a past day by what had been done by then.

    None where no row in force that day asks it. A row that only warns is no obligation to have met.
    """
    spans = _spans(book, rules_on(book, day), cylinder, question)
    if spans is None:
        return None
    return all(_met_on(span, day) for span in spans)


def binds_on(book: Book, cylinder: Cylinder, question: Obligation, day: dt.date) -> bool:
    """Whether some row that nobody may override was unmet on a past day."""
    rules = rules_on(book, day)
    asking = rules.about(facts_of(cylinder, rules), question)
    rows = [row for row in asking if row.gate is Gate.REFUSE]
    spans = _spans(book, rules, cylinder, question) or []
    return any(
        not row.may_be_overridden and not _met_on(span, day)
        for row, span in zip(rows, spans, strict=True)
    )


_Span: TypeAlias = list[tuple[_Act, Period, dt.date]]
"""What met a row: each act, the period, and the last day it held."""


@once_per_book
def _known_spans(
    book: Book,
) -> dict[tuple[int, Obligation, int], tuple[Cylinder, list[_Span] | None]]:
    """What was worked out already, by cylinder and rules, beside the cylinder it was asked of."""
    return {}


def _met_on(span: _Span, day: dt.date) -> bool:
    return any(day <= last and _has_begun(act, period, day) for act, period, last in span)


def _spans(
    book: Book, rules: InForce, cylinder: Cylinder, question: Obligation
) -> list[_Span] | None:
    """What met each row that asks it of a cylinder, None where none does."""
    known, asked = _known_spans(book), (id(cylinder), question, id(rules))
    if asked not in known:
        known[asked] = cylinder, _met_by(book, rules, cylinder, question)
    return known[asked][1]


def _met_by(
    book: Book, rules: InForce, cylinder: Cylinder, question: Obligation
) -> list[_Span] | None:
    asking = rules.about(facts_of(cylinder, rules), question)
    rows = [row for row in asking if row.gate is Gate.REFUSE]
    if not rows:
        return None
    return [_span(book, cylinder, row) for row in rows]


def _span(book: Book, cylinder: Cylinder, row: RuleRow) -> _Span:
    period = period_of(row, cylinder)
    if period is None:
        return []
    return [(a, period, _held(a, period, row).until) for a in _acts(book, cylinder, row)]


def _due_of_sets(book: Book, items: list[Due]) -> Iterator[Due]:
    """What each set owes: every obligation of each of its cylinders, under the set's name."""
    by_id: dict[str, list[Due]] = {}
    for item in items if book.sets else ():
        by_id.setdefault(item.id, []).append(item)
    for name, doubles in book.sets.items():
        for member in dict.fromkeys(doubles.cylinders):
            for item in by_id.get(member, ()):
                yield replace(item, kind=DueKind.SET, id=name, part=member)


def due_of_station(book: Book, station: Station, today: dt.date) -> list[Due]:
    """The dated obligations of the station's parts."""
    counting = samples_of_air(station)
    pumps = station.every_compressor
    found = [] if len(pumps) > 1 else [_air_item(book, counting, EVERY_AIR, today)]
    for name in [c.name or COMPRESSOR for c in pumps] if len(pumps) > 1 else ():
        own = [t for t in counting if speaks_of(station, t, name.casefold())]
        found.append(_air_item(book, own, name, today))
    found += [_filter_item(book, f, station, today) for f in station.filters]
    for gauge in station.gauges:
        rules = rules_on(book, today)
        checks = [PartialDate.of(c.on) for c in proofs_of(station, gauge, rules)]
        items = _station_items(book, Obligation.GAUGE_CHECK, gauge.name, checks, today)
        if not checks:
            why = unproved(station, gauge, rules)
            items = [replace(i, why=why) if i.row is not None else i for i in items]
        off = off_by_too_much(station, gauge, rules)
        if off is not None and is_low(off):
            items = [_part_failed(item, PartialDate.of(off.on), today) for item in items]
        elif off is not None:
            items = [replace(item, beware=off_said(off)) for item in items]
        found.append(_gravest(items))
    question = Obligation.WHIP_CHECK
    for whip in station.whips:
        fitted = [new] if (new := new_since(whip)) else []
        checked = checks_of(book, f"whip {whip.name}", whip.checked)
        holds = Mending(book.settings.people, hose=True, checked=whip.checked).mends
        found.append(_part_item(book, question, whip.name, checked, fitted, today, holds))
    question = Obligation.RELIEF_CHECK
    for valve in station.relief_valves:
        fitted = [new] if (new := new_since(valve)) else []
        holds = Mending(book.settings.people, hose=False, checked=valve.checked).mends
        item = _part_item(book, question, valve.name, valve.checked, fitted, today, holds)
        late = late_lift(station, valve, rules_on(book, today))
        if late is not None and item.state in {State.OK, State.SOON}:
            on = PartialDate.of(late.check.on)
            item = _overdue(item, on, f"{valve.name} lifted late, at {late.lifted}, on {on}", today)
        found.append(item)
    question = Obligation.BUMP_TEST
    for each in station.instruments:
        if each.kind is InstrumentKind.CO_MONITOR:
            found.append(_part_item(book, question, each.name, each.bumped, [], today))
    found += [
        item
        for bank in station.banks
        if not _is_left_to_scheme(station, bank, item := _bank_item(book, bank, today))
    ]
    found += _examinations(book, station, today)
    found += [_upkeep_item(book, station, part, today) for part in station.upkeep]
    return found


def _due_of_gas(book: Book, today: dt.date) -> Iterator[Due]:
    """The banks of which the gas may not be given, or is told of: each once, by its gravest reason.
    It owes a sample; what else opens it the station says."""
    rules, found = rules_on(book, today), dict[str, Due]()
    for bank in banks_out(book, today):
        rows = rules.rows[Obligation.BANK_HOLD]
        row = next((r for r in rows if speaks_of_station(r, bank.state)), None)
        item = replace(_station_blank(Obligation.BANK_HOLD, bank.name, row), why=bank.why)
        if row is None or row.gate is Gate.REFUSE:
            item = _overdue(item, PartialDate.of(bank.since), bank.why, today)
        known = found.get(bank.name)
        if known is None or (item.failed and not known.failed):
            found[bank.name] = item
    yield from found.values()


def _due_of_failed(book: Book, station: Station, today: dt.date) -> Iterator[Due]:
    """The positions, compressors and boosters that failed a check and were not repaired since, each
    once: what is never due by a date is told here where it failed."""
    positions = ((f"position {p.name}", p.name, p.checked, True) for p in station.positions)
    pumps = ((machine_part(p), p.name or COMPRESSOR, p.checked, False) for p in station.every_pump)
    for part, name, checked, signed in (*positions, *pumps):
        question = Obligation.POSITION_CHECK if signed else Obligation.UPKEEP
        holds = Mending(book.settings.people, hose=False, checked=checked).mends if signed else None
        failed = unmended(checks_of(book, part, checked), None, holds)
        rows = rules_on(book, today).rows[question]
        row = next((r for r in rows if speaks_of_station(r, "failed")), None)
        if failed is not None and failed.on <= today:
            what = f": {failed.note}" if failed.note else ""
            why = f"{part} failed its check of {failed.on}{what}"
            item = _station_blank(question, name, row)
            yield _overdue(item, PartialDate.of(failed.on), why, today)


def _air_item(book: Book, counting: Sequence[AirTest], part: str, today: dt.date) -> Due:
    """The air test of the station, or of one of several compressors."""
    judge, station = air_judge(book), book.station
    passed = [t for t in counting if judge.passes(t)]
    left = [next(iter(judge.left_unmeasured(station, t)), "") if station else "" for t in passed]
    tests = [PartialDate.of(t.on) for t, text in zip(passed, left, strict=True) if not text]
    air = _gravest(_station_items(book, Obligation.AIR_TEST, part, tests, today))
    if air.row is not None and counting and not tests:
        of, newest = f" of {part}" if part != EVERY_AIR else "", max(t.on for t in counting)
        why = f"the newest one{of} failed, on {newest}"
        for test, text in zip(passed, left, strict=True):
            if test.on == newest:
                why = f"the newest one{of}, of {newest}, {text}"
        air = _overdue(air, PartialDate.of(newest), why, today)
    elif tests and not air.is_open:  # it holds, and nobody may take for measured what it leaves out
        known = [t for t, text in zip(passed, left, strict=True) if not text]
        last = max(known, key=lambda t: t.on)
        if missing := not_measured(judge, last):
            why = f"the newest one, of {last.on}, did not measure {', '.join(missing)}"
            air = replace(air, why=why)
    return air


def _part_item(
    book: Book,
    question: Obligation,
    part: str,
    checked: Iterable[Checked],
    fitted: list[PartialDate],
    today: dt.date,
    mends: Callable[[Checked, Checked], bool] | None = None,
) -> Due:
    """A whip or a relief valve: new ones count as checked, and a failed check ends the last one."""
    checks = that_stand(checked)
    good = [PartialDate.of(c.on) for c in checks if c.result is TestResult.PASS] + fitted
    items = _station_items(book, question, part, good, today)
    failed = unmended(checks, next(iter(fitted), None), mends)
    if failed is not None:
        items = [_part_failed(item, PartialDate.of(failed.on), today) for item in items]
    return _gravest(items)


def _part_failed(item: Due, failed: PartialDate, today: dt.date) -> Due:
    """An obligation whose newest act was a failure; one without a rule stays missing."""
    if item.row is None:
        return item
    why = f"{item.part} failed its {item.obligation.called} on {failed}"
    return _overdue(item, failed, why, today)


def _station_rows(book: Book, question: Obligation, today: dt.date) -> list[RuleRow]:
    """The rows in force that say when something at the station is due."""
    rows = rules_on(book, today).rows[question]
    return [r for r in rows if speaks_of_station(r) and r.period is not None]


def _station_blank(question: Obligation, part: str, row: RuleRow | None) -> Due:
    return Due(DueKind.STATION, "station", question, State.MISSING, row=row, part=part)


def _unasked(question: Obligation, part: str) -> Due:
    why = f"no rule row in force says when {question.called} is due"
    return replace(_station_blank(question, part, None), why=why)


def _station_items(
    book: Book, question: Obligation, part: str, acts: list[PartialDate], today: dt.date
) -> list[Due]:
    """The obligation as each row in force asks for it, or that none does, or not in full."""
    rows = _station_rows(book, question, today)
    lacking = _lacking(rules_on(book, today), question, rows)
    if lacking:
        return [replace(_station_blank(question, part, None), why=lacking)]
    items = [
        _counted(_station_blank(question, part, row), acts, row.period, row, book, today)
        for row in rows
        if isinstance(row.period, Period)
    ]
    return items or [_unasked(question, part)]


def _counted(
    blank: Due, acts: list[PartialDate], period: Period, row: RuleRow, book: Book, today: dt.date
) -> Due:
    """An obligation met by the act that holds longest."""
    if not acts:
        return replace(blank, why=f"no {blank.obligation.called} on record")
    held = (_held(_Act(on, on), period, row) for on in acts)
    act = max(held, key=lambda a: a.until)
    return _until(replace(blank, last=act.on), act.ends, book, today)


def _bank_item(book: Book, bank: Bank, today: dt.date) -> Due:
    rows = _station_rows(book, Obligation.BANK_TEST, today)
    items = [_bank_under(book, bank, row, today) for row in rows]
    return _gravest(items) if items else _unasked(Obligation.BANK_TEST, bank.name)


def _bank_under(book: Book, bank: Bank, row: RuleRow, today: dt.date) -> Due:
    """A bank's test as one row asks for it: the period of its papers, or the row's; where it was
    decided that it has none, until that is decided again."""
    blank = _station_blank(Obligation.BANK_TEST, bank.name, row)
    period = row.period if isinstance(row.period, Period) else bank.period
    tests = standing(bank.requalified)
    acts = [r.on for r in tests if r.result is TestResult.PASS and r.method.value in row.met_by]
    failed = _unanswered((r.on for r in tests if r.result is TestResult.FAIL), acts)
    if failed:
        return _part_failed(blank, failed, today)
    if isinstance(period, Period):
        return _counted(blank, acts, period, row, book, today)
    decided = newest_decision(bank)
    if decided is None:
        why = "who decided that it has no period, and why, is not recorded: `tankbook station "
        why = f"{why}no-period {bank.name} --why GROUND`" if period else ""
        return replace(blank, why=why or "its period is not recorded")
    wrong = why_undecided(decided, book.settings.people)
    if wrong:
        return replace(blank, why=f"that it has no period {wrong}")
    since = replace(blank, last=max(acts, key=lambda d: d.last, default=None))
    if decided.until is None:
        by = f"{decided.by} decided on {decided.on}" if decided.by else f"decided on {decided.on}"
        return replace(since, state=State.OK, why=f"it has no period, as {by}")
    item = _until(since, decided.until, book, today)
    text = f"that {bank.name} has no period held until {decided.until}: decide it again"
    return replace(item, why=text if item.state is State.OVERDUE else "")


def newest_decision(bank: Bank) -> NoPeriod | None:
    """The last decision that stands, that a bank has no period."""
    return next(iter(reversed(that_stand(bank.no_period))), None)


_CARRIED = frozenset({"DOT", "ICC", "CTC", "TC", "UN", "ISO", "EN"})
"""The mark families of cylinders that are made to be carried, and tested at a period for that."""


def why_odd_without_period(specification: str | None) -> str:
    """Why it is odd that a bank of some make has no period: cylinders of that make are tested at
    one. An empty text of what is built as a vessel, or whose make nobody wrote down."""
    made = next((word for word in (specification or "").split() if family(word) in _CARRIED), "")
    if not made:
        return ""
    return (
        f"it is made to {made}, and cylinders of that are tested at a period: what keeps it from "
        "that is the ground (that it stays where it is, by whose rule), on the paper that is named"
    )


def strike_decision(bank: Bank, decided: NoPeriod) -> str:
    """The command that strikes out the decision that a bank has no period."""
    when = f"{bank.name}.no_period {named_among(bank.no_period, decided)}"
    return f"`tankbook correct station {when} --why WHY`"


def why_undecided(decided: NoPeriod, people: Collection[str]) -> str:
    """What is wrong with the decision that a bank has no period; an empty text where it counts.
    Initials of the ledger's own `people` are somebody's, whatever they spell."""
    if says_nothing(decided.why):
        return f"was decided on {decided.on} on no ground (`why: {decided.why}`)"
    if decided.by not in people and _is_nobody(decided.by):
        return f"was decided on {decided.on} by nobody (`by: {decided.by}`)"
    if decided.until is not None and decided.until.last <= decided.on:
        return f"was decided on {decided.on}, until {decided.until}, which is no later"
    return ""


def _is_nobody(by: str) -> bool:
    return says_nothing(by) and not (len(by) == 1 and by.isalpha())


def _is_left_to_scheme(station: Station, bank: Bank, item: Due) -> bool:
    """Whether a bank has no period because a written scheme says when it is examined."""
    unsaid = item.row is not None and item.row.period is FromRecord.FROM_RECORD
    asked = item.state is State.MISSING and unsaid and not isinstance(bank.period, Period)
    return asked and any(bank.name in examined_under(station, s) for s in station.schemes)


def _examinations(book: Book, station: Station, today: dt.date) -> list[Due]:
    """What each written scheme asks for: one item a bank that it names; where it names none, or
    anything else, one under its own name, which is the whole system."""
    rows = _station_rows(book, Obligation.EXAMINATION, today)
    found: dict[str, list[Due]] = {}
    for scheme in station.schemes:
        parts = examined_under(station, scheme) if scheme.of else ()
        others = {name.casefold() for name in scheme.of} - {name.casefold() for name in parts}
        for part in (*parts, scheme.name) if others or not parts else parts:
            items = [_examined(book, scheme, part, row, today) for row in rows]
            found.setdefault(part, []).extend(items or [_unasked(Obligation.EXAMINATION, part)])
    return [_gravest(items) for items in found.values()]


def _examined(book: Book, scheme: Scheme, part: str, row: RuleRow, today: dt.date) -> Due:
    """The examination of a part: good until the day that the examiner set."""
    blank = _station_blank(Obligation.EXAMINATION, part, row)
    done = that_stand(scheme.examined)
    failed = _unanswered(
        (PartialDate.of(e.on) for e in done if e.result is TestResult.FAIL),
        [PartialDate.of(e.on) for e in done if e.result is TestResult.PASS],
    )
    if failed:
        return _part_failed(blank, failed, today)
    if not done:
        return replace(blank, why=f"no examination under {scheme.name} is on record")
    last = min(
        (e for e in done if e.on == done[-1].on),
        key=lambda e: e.next_.last if e.next_ else dt.date.min,
    )
    if last.next_ is None:
        why = f"the examination of {last.on} under {scheme.name} does not say when the next is due"
        return replace(blank, why=why)
    seen = replace(blank, last=PartialDate.of(last.on))
    return _until(seen, last.next_, book, today)


def _filter_item(book: Book, part: Filter, station: Station, today: dt.date) -> Due:
    rows = _station_rows(book, Obligation.FILTER, today)
    items = [
        _filter_under(_station_blank(Obligation.FILTER, part.name, r), part, station) for r in rows
    ]
    return _gravest(items) if items else _unasked(Obligation.FILTER, part.name)


def _filter_under(blank: Due, part: Filter, station: Station) -> Due:
    """A filter's life in running hours, as the row of `blank` asks for it."""
    made, several = meter.compressor_of(station, part), len(station.every_compressor) > 1
    if made is None and several:
        return replace(blank, why="which compressor it is of is not recorded (`of:`)")
    changes = that_stand(part.changed)
    if part.life is None or not changes or not meter.readings(made):
        return replace(blank, why="its life, its last change or the hour meter is not recorded")
    return _in_hours(blank, station, made, changes, part.life)


def _in_hours(
    blank: Due,
    station: Station,
    pump: Compressor | Booster | None,
    changes: Sequence[FilterChange],
    life: RunningTime,
) -> Due:
    """What lasts some running hours from the last time that it was done."""
    hours, change = meter.readings(pump), changes[-1]
    run = max(ran for _, ran in meter.shown(station, pump)) - meter.counted_at(hours, change)
    fell = any(c.on == change.on and meter.is_less(change.at, c.at) for c in changes)
    if fell or meter.went_back(station, pump):
        return replace(blank, why=meter.to_set_right(station, pump))
    left = life.hours - run
    state = (
        State.OVERDUE
        if left < 0
        else State.SOON
        if left <= SOON_OF_HOURS * life.hours
        else State.OK
    )
    hours_left = RunningTime.of(round(abs(left), 1), "h")
    season = running.season_of(station, pump) if left >= 0 else None
    return replace(
        blank,
        state=state,
        last=PartialDate.of(change.on),
        hours_left=hours_left,
        hours_over=left < 0,
        expected=season.used_up(left, season.seen_on) if season else None,
    )


def _upkeep_item(book: Book, station: Station, part: StationUpkeep, today: dt.date) -> Due:
    """Upkeep, by days or running hours, whichever comes first; a failure stands until it is
    mended."""
    rows = _station_rows(book, Obligation.UPKEEP, today)
    if not rows:
        return _unasked(Obligation.UPKEEP, part.name)
    items = [item for row in rows for item in _upkeep_under(book, station, part, row, today)]
    failed = upkeep_failed(part, today)
    if failed is not None:
        items = [_part_failed(item, PartialDate.of(failed.on), today) for item in items]
    return _gravest(items)


def upkeep_failed(part: StationUpkeep, today: dt.date) -> UpkeepDone | None:
    """What upkeep found wrong and nobody mended by a day; None where there is nothing."""
    return unmended(d for d in part.done if d.on <= today or d.result is TestResult.FAIL)


def _upkeep_under(
    book: Book, station: Station, part: StationUpkeep, row: RuleRow, today: dt.date
) -> list[Due]:
    """Upkeep as one row asks for it: by days, by running hours, or both."""
    blank = _station_blank(Obligation.UPKEEP, part.name, row)
    period = row.period if isinstance(row.period, Period) else part.every
    done = [d for d in that_stand(part.done) if d.result is TestResult.PASS and d.on <= today]
    if period is None and part.hours is None:
        return [replace(blank, why=f"upkeep {part.name} has no interval (`every:` or `hours:`)")]
    if not done:
        return [replace(blank, why=f"no upkeep {part.name} on record")]
    items = []
    if period is not None:
        items.append(
            _counted(blank, [PartialDate.of(d.on) for d in done], period, row, book, today)
        )
    if part.hours is not None:
        pump = meter.pump_of_upkeep(station, part)
        read = [c for d, c in meter.upkeep_seen(part) if d in done]
        if not meter.readings(pump):
            why = "the hour meter of what it is of is not recorded"
            items.append(replace(blank, why=f"upkeep {part.name}: {why}"))
        elif done[-1].at is None or not read:
            why = f"what the hour meter showed on {done[-1].on} is not recorded (`at:`)"
            items.append(replace(blank, why=f"upkeep {part.name}: {why}"))
        else:
            items.append(_in_hours(blank, station, pump, read, part.hours))
    return items


def lacking_by_law(book: Book, today: dt.date) -> Iterator[tuple[str, str]]:
    """The file of each cylinder in service that lacks a test which the law asks for, and what it
    lacks."""
    for card in book.cylinders.values():
        tested = any(r.void is None and r.result is TestResult.PASS for r in card.requalified)
        kept = status_of(book, card)
        looked_at = kept is Status.AWAITING_INSPECTION and bool(standing(card.inspected))
        if tested or not (kept is Status.IN_SERVICE or looked_at):
            continue
        for item in due_of_cylinder(book, card, today):
            law = item.row is not None and item.row.basis is Basis.LAW
            if item.state is State.MISSING and law:
                yield card.source.path, f"{card.id}: {item.why}"


def meter_unread(station: Station, today: dt.date) -> str:
    """That a filter's life cannot be counted, since the hour meter was not read since it was
    fitted; an empty text where it was, or was fitted no longer ago than a reading usually is."""
    for made in station.every_compressor:
        hours, changes = meter.readings(made), meter.changes(station, made)
        if not hours or not changes:
            continue
        last, change = hours[-1], changes[-1]
        if last.on >= change.on or today <= change.on + meter.usual_gap(hours):
            continue
        of = f" of {made.name}" if made is not station.only_compressor else ""
        text = f"the hour meter{of} was last read on {last.on}, before a filter was fitted"
        return f"{text} on {change.on}"
    return ""


def meter_stale(book: Book, today: dt.date) -> str:
    """That a compressor was used, by the log and by the raisings, while its hour meter was unread
    for longer than it usually is. What is counted by it (filters, upkeep) stands still meanwhile.

    An empty text where it was read, where nothing is counted by it, or where one reading says
    nothing of how often it is read.
    """
    station = book.station
    for made in station.every_compressor if station else ():
        hours = meter.readings(made)
        if station is None or len(hours) < 2 or not _counted_by(station, made):
            continue
        last = max(on for on, _ in meter.shown(station, made))
        used = max((on for on in _used(book, station, made) if on <= today), default=last)
        if used > last + meter.usual_gap(hours):
            of = f" of {made.name}" if made is not station.only_compressor else ""
            return f"the hour meter{of} was last read on {last}, and it was used on {used}"
    return ""


def _counted_by(station: Station, made: Compressor) -> bool:
    """Whether anything falls due by the hours of a compressor."""
    worn = any(each.life for each in meter.filters_of(station, made))
    kept = (u for u in station.upkeep if meter.pump_of_upkeep(station, u) is made)
    return worn or any(each.hours for each in kept)


def _used(book: Book, station: Station, made: Compressor) -> Iterator[dt.date]:
    """The days on which gas was taken or a bank raised that came from a compressor: of several from
    one that is named, of the only one from whatever was filled here."""
    own = (made.name or COMPRESSOR).casefold()

    @cache
    def of_it(source: str) -> bool:
        if made is station.only_compressor:
            return bool(taken_here(source)) or not by_others(source)
        return any(own in parts_named(station, name) for name in taken_here(source))

    log = Log.of(book.log)
    acts, times, sources = (log.column(name) for name in ("act", "at", "source_"))
    for act, at, source in zip(acts, times, sources, strict=True):
        if act is LogAct.FILL and of_it(source or ""):
            yield at.date()
    for bank in station.banks:
        yield from (r.on for r in that_stand(bank.raised) if of_it(r.source_ or ""))


def _due_of_person(book: Book, initials: str, person: Person, today: dt.date) -> list[Due]:
    row = next(
        (
            r
            for r in rules_on(book, today).rows[Obligation.CERTIFICATION]
            if r.period is FromRecord.FROM_RECORD
        ),
        None,
    )
    if person.left and person.left.last < today:
        return []
    found = []
    for skill in sorted({c.skill for c in person.certifications}):
        held = [c for c in person.certifications if c.skill is skill]
        begun = [c for c in held if c.from_.first <= today]
        latest = max(begun or held, key=lambda c: c.until.last if c.until else dt.date.max)
        blank = Due(
            DueKind.PERSON, initials, Obligation.CERTIFICATION, State.MISSING, row=row, part=skill
        )
        if row is None:
            found.append(replace(blank, why="no rule row in force says when certification is due"))
        elif not begun:
            found.append(replace(blank, why=f"it begins on {latest.from_}"))
        elif latest.until is None:
            found.append(replace(blank, state=State.OK, last=latest.from_))
        else:
            since = replace(blank, last=latest.from_)
            found.append(_until(since, latest.until, book, today))
    return found
