"""May it be filled? Yes or no, to what pressure, and every reason."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Iterator
from functools import partial

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.log import LogLine
from tankbook.records.naming import named_among
from tankbook.records.node import Finding, Severity
from tankbook.records.rulerow import Gate, Obligation, RuleRow, WatchRow
from tankbook.records.words import LogAct
from tankbook.rules import chain, conditions
from tankbook.rules.air import (
    OXYGEN_USE,
    air_judge,
    of_others_alone,
    samples_of_air,
    which_was_later,
)
from tankbook.rules.answers import Ceiling, Limit, MayFill, Reason
from tankbook.rules.bank_given import untested_parts
from tankbook.rules.checks import CHECKS, against, of_station, touching_all
from tankbook.rules.conditions import Condition
from tankbook.rules.fill_history import contents_of, sets_with
from tankbook.rules.inforce import CylinderFacts, InForce, facts_of, rules_of, speaks_of_station
from tankbook.rules.lapsed import dated_reason, recorded_with
from tankbook.rules.left_out import no_serial
from tankbook.rules.limits import cold_target, limit_of, why_no_limit
from tankbook.rules.mixed import cannot_be
from tankbook.rules.out_of_use import part_reasons, puts_out, refused_by_name
from tankbook.rules.pumps import is_of_one, of_one
from tankbook.rules.schedule import (
    CYLINDER_OBLIGATIONS,
    dated_rows,
    due_of_cylinder,
    due_of_station,
)
from tankbook.rules.source_range import cannot_give
from tankbook.rules.test_pressure import asks_for_disc, disc_of, of_disc, test_pressure_of
from tankbook.units import GaugePressure, Temperature


class _Question(Struct):
    """One question being answered: the reasons so far and the rows they rest on."""

    rules: InForce
    facts: CylinderFacts
    reasons: list[Reason] = field(default_factory=list)
    rests_on: dict[str, None] = field(default_factory=dict)

    def ask(self, found: Condition) -> None:
        """Add a condition's reason: what its rows say, or a refusal where none speaks of it."""
        rows = self.rules.about(self.facts, found.question, found.state)
        self.loosened(found.question, found.state)
        if not rows:
            text = f"{found.text}; no rule row in force says whether it may be filled so"
            unheard = self.rules.unheard(self.facts, found.question, found.state)
            if unheard:
                text += f" ({unheard[0].id} would, and does not say who decided so, why and since)"
            mend = found.mend or f"a rule row of `obligation: {found.question}` says so or not"
            self.reasons.append(Reason(found.code, text, Gate.REFUSE, None, mend))
        for row in rows:
            self.use(row)
            self.reasons.append(Reason(found.code, found.text, row.gate, row, found.mend))

    def loosened(self, question: Obligation, state: str | None = None) -> None:
        """Tell in line one what the ledger's own rows loosen of what is asked."""
        for each in self.rules.loosened_for(self.facts, question, state):
            reason = Reason("row-loosened", str(each), Gate.WARN, each.row, loud=True)
            if reason not in self.reasons:
                self.reasons.append(reason)

    def use(self, row: RuleRow | WatchRow) -> None:
        """Note that the answer rests on a row."""
        self.rests_on[row.id] = None


def may_fill(
    book: Book,
    id_: str,
    today: dt.date,
    gas: Gas | None = None,
    *,
    fill_pressure: GaugePressure | None = None,
    ambient: Temperature | None = None,
    connected: tuple[str, ...] = (),
    through: tuple[str, ...] = (),
    source: str = "",
    station: bool = True,
    warned: bool = True,
) -> MayFill:
    """Whether a cylinder or a set may be filled today.

    Args:
        book: the records, as known today.
        id_: a cylinder or a set in the book (or among its broken files).
        today: the day asked about.
        gas: the gas wanted; the settings' gas, else air.
        fill_pressure: what the fill regulator is set to; the station's setting where None.
        ambient: temperature at which the cylinder stands; the settings' where None.
        connected: the other cylinders and sets on the same regulator.
        through: the names of the whip, position and adaptor used; of a kind of which none is
            named, the lowest rated counts.
        source: what it is filled from, where that is known; its parts are named by `through` too.
            What others alone filled asks nothing of the station, but where a part of it is named.
        station: whether the station's own state is asked too, and what its parts stand.
        warned: whether its own records are asked for what they only warn of too; of a fleet of
            which yes or no is asked alone they are not.

    Raises:
        KeyError: `id_` is not in the book.
    """
    gas = gas or book.usual_gas
    ambient = ambient or book.settings.ambient
    if id_ in book.broken:
        return _broken(book, id_, gas, ambient, today)
    members = book.members(id_)
    answers = [
        _answer_cylinder(book, m, today, gas, ambient, in_set=id_ in book.sets, warned=warned)
        for m in members
    ]
    answer = _joined(book, id_, answers, gas, today) if id_ in book.sets else answers[0]
    # what others filled, our station had no part in
    others = of_others_alone(source) and not through
    if station and not others:
        answer = _with(answer, station_reasons(book, today, of_a_fill=True))
        answer = _with(answer, list(refused_by_name(book, today, through)))
        answer = _from_source(book, answer, source, today) if source else answer
        answer = _at_station(book, answer, through)
        answer = _with(answer, list(_regulator(book, answer, fill_pressure, connected, today)))
    else:  # what cannot be read of it may be what speaks against every cylinder
        unread = (f for f in of_station(book, today) if f.code == "station-unread")
        answer = _with(answer, found_reasons(unread))
        answer = _from_source(book, answer, source, today) if others else answer
    if answer.target and fill_pressure:
        answer = replace(answer, target=min(fill_pressure, answer.target))
    return _closed(answer)


def found_reasons(found: Iterable[Finding], told: Collection[str] = ()) -> list[Reason]:
    """The reasons that findings of the records give: a fault refuses, a warning is told.

    `told` names the codes that a rule row has already spoken of.
    """
    gates = {Severity.FAULT: Gate.REFUSE, Severity.WARN: Gate.WARN}
    return [
        Reason(f.code, f.text, gates[f.severity], None, f.mend, f.where)
        for f in found
        if f.severity in gates and f.code not in told
    ]


def adverse_of(reasons: Iterable[Reason]) -> Iterator[Reason]:
    """Those that checks of the records give for what was found or happened, or is stamped on it and
    was not read; and that it was refused before."""
    for reason in reasons:
        check = CHECKS.get(reason.code)
        found = check is not None and (check.adverse or reason.code in _OF_MARKS)
        if found or reason.code in _REFUSED:
            yield reason


def loud_of(answers: Iterable[MayFill]) -> tuple[str, ...]:
    """What the first line of an act that rests on these answers says besides, once each."""
    return tuple(dict.fromkeys(r.text for a in answers for r in a.warnings if r.loud))


_REFUSED = frozenset(
    {"refused-before", "refused-found", "refused-leak", "noted-shell", "noted-gas"}
)
_OF_MARKS = frozenset({"marks-gas", "marks-unread", "marks-unexplained", "stamp-unread"})


def _closed(answer: MayFill) -> MayFill:
    """The last word: one refusal, or no stated limit or look, and it is no."""
    fillable = not answer.refusals and answer.limit is not None and answer.look is not None
    return answer if answer.fillable is fillable else replace(answer, fillable=fillable)


def _broken(book: Book, id_: str, gas: Gas, ambient: Temperature | None, today: dt.date) -> MayFill:
    reasons = found_reasons(against(book, id_, today, station=False))
    return MayFill(id_, False, gas, tuple(reasons), None, None, ambient, None)


@once_per_book
def _answer_cylinder(
    book: Book,
    id_: str,
    today: dt.date,
    gas: Gas,
    ambient: Temperature | None,
    *,
    in_set: bool,
    warned: bool,
) -> MayFill:
    """What is to be said of one cylinder."""
    if id_ in book.broken:
        return _broken(book, id_, gas, ambient, today)
    if id_ not in book.cylinders:
        reason = Reason("unknown-cylinder", f"{id_} is not in the ledger", Gate.REFUSE)
        return MayFill(id_, False, gas, (reason,), None, None, ambient, None)
    cylinder = book.cylinders[id_]
    rules = rules_of(book)
    case = _Question(rules, facts_of(cylinder, rules))
    _ask_marks(case, cylinder.serial)
    _tell_gaps(case)
    _ask_dates(case, book, cylinder, today)
    for condition in conditions.of_cylinder(book, case.facts, gas, today):
        case.ask(condition)
    _ask_watch(case)
    held = _ask_limit(case, book, cylinder, gas)
    joined = [] if in_set else list(_joined_to(book, cylinder, today, gas, ambient, warned=warned))
    for doubles, others in joined:
        held = _ask_set(case, held, doubles, others)
    look = _look(case)
    told = {r.code for r in case.reasons}
    case.reasons += found_reasons(against(book, id_, today, station=False, warned=warned), told)
    targets = [a.target for _, others in joined for a in others if a.target]
    answer = MayFill(
        id_,
        False,
        gas,
        tuple(case.reasons),
        held.limit if held else None,
        held.target(gas, ambient, targets) if held else None,
        ambient,
        look,
        tuple(case.rests_on),
        (id_,),
        held.ceiling if held else None,
    )
    return _closed(answer)


def _ask_marks(case: _Question, serial: str) -> None:
    case.loosened(Obligation.MARK_REQUIRED)
    rows = case.rules.about(case.facts, Obligation.MARK_REQUIRED)
    if not rows and not case.rules.lacks_fill_rules:
        text = "no rule row in force says which marks a cylinder must carry"
        case.reasons.append(Reason("mark-required", text, Gate.REFUSE))
    for row in rows:
        case.use(row)
        text = conditions.missing_mark(case.facts, row)
        if text:
            case.reasons.append(Reason("mark-required", text, row.gate, row))
    if no_serial(serial):  # whatever the rows say: no paper of another is known for its own
        text = f"its serial number was not read: `{serial}`"
        mend = (
            "read it off the shoulder; where it cannot be read, have a test house say whose it is"
        )
        case.reasons.append(Reason("serial-not-read", text, Gate.REFUSE, mend=mend))


def _tell_gaps(case: _Question) -> None:
    """Rows taken out of force, and notices gone missing, are said with every answer."""
    for row in case.rules.dropped:
        text = f"the ledger's own rules take {row} out of force"
        case.reasons.append(Reason("row-dropped", text, Gate.WARN))
    for row in case.rules.replaced:
        text = f"the ledger's own rules replace {row}"
        case.reasons.append(Reason("row-replaced", text, Gate.WARN))


def _ask_dates(case: _Question, book: Book, cylinder: Cylinder, today: dt.date) -> None:
    for question in CYLINDER_OBLIGATIONS:
        case.loosened(question)
        for row in dated_rows(book, case.facts, question):
            case.use(row)
    for item in due_of_cylinder(book, cylinder, today):
        reason = dated_reason(item)
        if reason:
            case.reasons.append(reason)


def _ask_watch(case: _Question) -> None:
    for row in case.facts.recalls:
        case.use(row)
        text = f"named in a notice: {row.recall} ({row.citation})"
        if row.gate is Gate.REFUSE:
            case.ask(Condition(Obligation.ALLOY, "recalled", "recalled", text))
        else:
            case.reasons.append(Reason("recalled", text, row.gate, row))
    if case.facts.alloy_row:
        case.use(case.facts.alloy_row)


_LIMITING = (
    Obligation.REFERENCE_TEMPERATURE,
    Obligation.FILL_LIMIT,
    Obligation.PLUS_FILL,
    Obligation.HOT_LIMIT,
)
"""The questions that a limit rests on."""


class _Fill(Struct, frozen=True):
    """To what a cylinder or a set may be filled, and how high a gauge may go on the way."""

    limit: Limit
    service: GaugePressure
    ceiling: Ceiling | None

    def target(
        self, gas: Gas, ambient: Temperature | None, others: Iterable[GaugePressure]
    ) -> GaugePressure:
        """What the settled gauge reads at the ambient temperature, never above the ceiling."""
        tops = [self.ceiling.pressure] if self.ceiling else []
        return min([cold_target(self.limit, gas.mixture, ambient), *tops, *others])


def _ask_limit(case: _Question, book: Book, cylinder: Cylinder, gas: Gas) -> _Fill | None:
    limit = limit_of(book, cylinder, gas)
    if limit is None or cylinder.service_pressure is None:
        text = why_no_limit(book, cylinder, gas)
        case.reasons.append(Reason("fill-limit", text, Gate.REFUSE))
        return None
    for question in _LIMITING:
        case.loosened(question)
    for row in limit.rows:
        case.use(row)
    if limit.why_no_plus:
        rows = [r for r in limit.rows if r.obligation is Obligation.FILL_LIMIT]
        text = f"filled to the marked pressure only: {limit.why_no_plus}"
        case.reasons.append(Reason("plus-not-used", text, Gate.WARN, rows[0]))
    _ask_disc(case, limit, test_pressure_of(book, cylinder))
    return _ask_fitted(case, limit, cylinder.service_pressure, chain.of_valve)


def _ask_fitted(
    case: _Question, limit: Limit, service: GaugePressure, judge: Callable[..., chain.Fitted]
) -> _Fill:
    """Ask about what stays on a cylinder or a set, and hold the limit to it."""
    fitted = judge(case.rules, case.facts, limit, service)
    for row in fitted.rows:
        case.use(row)
    for condition in fitted.conditions:
        case.ask(condition)
    limit = chain.held_to(limit, service, fitted)
    return _Fill(limit, service, _ceiling(case, limit, fitted))


def _ceiling(case: _Question, limit: Limit, fitted: chain.Fitted) -> Ceiling | None:
    rows = case.rules.about(case.facts, Obligation.GAUGE_CEILING)
    if not rows:
        text = "no rule row in force says how high a gauge may go while it is filled"
        case.reasons.append(Reason("gauge-ceiling", text, Gate.REFUSE))
        return None
    for row in rows:
        case.use(row)
    return chain.ceiling_of(limit, fitted, rows)


def _ask_disc(case: _Question, limit: Limit, test: GaugePressure | None) -> None:
    """Whether its burst disc fits its test pressure, or whether one may be missing."""
    cylinder = case.facts.cylinder
    disc = disc_of(cylinder)
    if isinstance(disc, GaugePressure):
        for condition in of_disc(case.rules, case.facts, disc, test):
            case.ask(condition)
        return
    text = "its valve has no burst disc" if disc else "its burst disc is not recorded"
    rows = case.rules.about(case.facts, Obligation.RELIEF_DEVICE)
    if not rows:
        case.ask(Condition(Obligation.RELIEF_DEVICE, "unknown", "relief-device", text))
    for row in rows:
        case.use(row)
    asking = [row for row in rows if asks_for_disc(row, cylinder, limit)]
    if disc is None and asking:
        mend = "read its rating into `disc:`, or write `disc: none` where it has none"
        case.ask(Condition(Obligation.DISC_RATING, "unknown", "disc-unknown", text, mend))
    elif asking:
        mend = "fit a valve with a disc rated at or just under the test pressure"
        case.reasons += [Reason("disc-none", text, row.gate, row, mend) for row in asking]


def _joined_to(
    book: Book,
    cylinder: Cylinder,
    today: dt.date,
    gas: Gas,
    ambient: Temperature | None,
    *,
    warned: bool,
) -> Iterator[tuple[Doubles, list[MayFill]]]:
    """The sets that a cylinder is in, each with the answers of the other side: an isolator that is
    called shut may be open, or leak."""
    for name in sets_with(book).get(cylinder.id, ()):
        doubles = book.sets[name]
        others = [m for m in dict.fromkeys(doubles.cylinders) if m != cylinder.id]
        yield (
            doubles,
            [
                _answer_cylinder(book, m, today, gas, ambient, in_set=True, warned=warned)
                for m in others
            ],
        )


def _ask_set(
    case: _Question, held: _Fill | None, doubles: Doubles, others: list[MayFill]
) -> _Fill | None:
    """What a set adds where one of its sides is asked about by itself."""
    for each in chain.of_side(doubles, others):
        case.ask(each)
    if held is None:
        return None
    limit = chain.lower_of([held.limit, *(a.limit for a in others if a.limit)])
    judge = partial(chain.of_manifold, doubles=doubles, whose=f"doubles {doubles.id}: its")
    joint = _ask_fitted(case, limit, held.service, judge)
    tops = [held.ceiling, joint.ceiling, *(a.ceiling for a in others)]
    return replace(joint, ceiling=chain.lowest(tops))


def _look(case: _Question) -> RuleRow | None:
    rows = case.rules.about(case.facts, Obligation.PRE_FILL_LOOK)
    if not rows:
        return None
    case.use(rows[0])
    return rows[0]


def _of_sides(answers: list[MayFill]) -> Iterator[Reason]:
    """The reasons of each side, by its name; what touches both is said once."""
    common = set.intersection(*({*a.reasons} for a in answers)) if len(answers) > 1 else set()
    yield from (r for r in answers[0].reasons if r in common and r.row is None) if answers else ()
    for answer in answers:
        for reason in answer.reasons:
            if reason not in common or reason.row is not None:
                yield replace(reason, text=f"{answer.id}: {reason.text}")


def _joined(book: Book, id_: str, answers: list[MayFill], gas: Gas, today: dt.date) -> MayFill:
    """One answer for a set: every reason of either side, the lower limit."""
    doubles = book.sets[id_]
    reasons = list(_of_sides(answers))
    limits = [a.limit for a in answers if a.limit]
    targets = [a.target for a in answers if a.target]
    looks = [a.look for a in answers if a.look]
    rests = {row: None for a in answers for row in a.rests_on}
    cylinders = [book.cylinders[m] for m in doubles.cylinders if m in book.cylinders]
    held = None
    if cylinders:
        case = _Question(rules_of(book), facts_of(cylinders[0], rules_of(book)), reasons, rests)
        for condition in chain.of_isolator(doubles):
            case.ask(condition)
        marked = [c.service_pressure for c in cylinders if c.service_pressure]
        if limits and len(limits) == len(answers):
            judge = partial(chain.of_manifold, doubles=doubles)
            held = _ask_fitted(case, chain.lower_of(limits), min(marked), judge)
            tops = [*(a.ceiling for a in answers), held.ceiling]
            held = replace(held, ceiling=chain.lowest(tops))
    known = {(r.code, r.text) for r in reasons}
    own = found_reasons(against(book, id_, today, station=False))
    reasons += [r for r in own if (r.code, r.text) not in known]
    return MayFill(
        id_,
        False,
        gas,
        tuple(reasons),
        held.limit if held else None,
        held.target(gas, answers[0].ambient, targets) if held else None,
        answers[0].ambient if answers else None,
        looks[0] if len(looks) == len(answers) and looks else None,
        tuple(rests),
        doubles.cylinders,
        held.ceiling if held else None,
    )


def _with(answer: MayFill, more: list[Reason]) -> MayFill:
    if not more:
        return answer
    rests = dict.fromkeys(answer.rests_on)
    rests.update((r.row.id, None) for r in more if r.row)
    return replace(answer, reasons=answer.reasons + tuple(more), rests_on=tuple(rests))


def station_reasons(book: Book, today: dt.date, *, of_a_fill: bool = False) -> list[Reason]:
    """What the station's own state has against any fill. Empty where no station is recorded.

    `of_a_fill` leaves out what is worth knowing of the station and touches no cylinder.
    """
    return list(_of_station(book, today, of_a_fill))


@once_per_book
def _of_station(book: Book, today: dt.date, of_a_fill: bool) -> tuple[Reason, ...]:
    found = of_station(book, today)
    reasons = found_reasons(f for f in found if f.touches or not of_a_fill)
    if book.station is None:
        return tuple(reasons)
    rules = rules_of(book)
    items = due_of_station(book, book.station, today)
    none = not any(t.void is None for t in book.station.air_tests)
    judge = air_judge(book)
    wrong = [
        (test, text)
        for test, text in judge.wrong_tests(book.station)
        if not of_one(book, test, today)  # that one is told as out of use
    ]
    passed = any(
        judge.passes(t) and not any(judge.left_unmeasured(book.station, t))
        for t in samples_of_air(book.station)
    )
    if none or (wrong and not passed):  # it is told below what is wrong
        items = [i for i in items if i.obligation is not Obligation.AIR_TEST]
    # what puts one part out of use is told with what that closes
    dated = ((item, dated_reason(item)) for item in items)
    reasons += [
        r for item, r in dated if r and not (puts_out(item, r) or is_of_one(book, item, today))
    ]
    reasons += part_reasons(book, today)
    for question in dict.fromkeys(item.obligation for item in items):
        reasons += _loosened_at_station(rules, question)
    if none:
        pumps = [c.name or "" for c in book.station.every_compressor]
        of = pumps[0] if len(pumps) > 1 else ""  # of the others it is asked then
        text, mend = "no air test is on record", recorded_with(Obligation.AIR_TEST, of)
        reasons += _ask_station(rules, Obligation.AIR_TEST, "none", text, mend)
    for test, failed in wrong:
        mend = "find the cause; a later sample of the same place that passes reopens it, or of a"
        mend += " place that is gone one of each source"
        if unsure := which_was_later(book.station, test):
            mend = f"{unsure}; else {mend}"
        if judge.fails_oxygen_alone(test):
            which = named_among(book.station.air_tests, test)
            mend += f"; it may be breathed by what it measured: where {OXYGEN_USE} was all that it"
            mend += f" failed, `tankbook correct station air-tests {which} --set result=pass --why"
            mend += " WHY`"
        reasons += _ask_station(rules, Obligation.AIR_TEST, "failed", failed, mend)
    return tuple(dict.fromkeys(reasons))


def closed_by(book: Book, today: dt.date, *, station: bool = True) -> tuple[Reason, ...]:
    """What stands against every fill today, whatever the cylinder: the state of the station, where
    that is asked too, and what is at fault in rules, settings or log and touches them all."""
    found = found_reasons(touching_all(book, today))
    found += station_reasons(book, today, of_a_fill=True) if station else []
    return tuple(r for r in found if r.gate is Gate.REFUSE)


def shut_by(book: Book, today: dt.date) -> tuple[Reason, ...]:
    """Why a station is called closed: its own state first, then what stands against every fill
    whatever the station."""
    own = (r for r in station_reasons(book, today) if r.gate is Gate.REFUSE)
    return tuple(dict.fromkeys((*own, *closed_by(book, today, station=False))))


def _ask_station(
    rules: InForce, question: Obligation, state: str, text: str, mend: str = ""
) -> list[Reason]:
    """What the rows say of a state of the station; a refusal where none speaks of it."""
    code = f"{question}-{state}"
    loosened = _loosened_at_station(rules, question, state)
    rows = [r for r in rules.rows[question] if speaks_of_station(r, state)]
    if not rows:
        gap = f"{text}; no rule row in force says what follows"
        return [Reason(code, gap, Gate.REFUSE, None, mend)]
    return [*(Reason(code, text, r.gate, r, mend) for r in rows), *loosened]


def _loosened_at_station(
    rules: InForce, question: Obligation, state: str | None = None
) -> list[Reason]:
    """What the ledger's own rows loosen of what is asked of the station, told in line one."""
    return [
        Reason("row-loosened", str(each), Gate.WARN, each.row, loud=True)
        for each in rules.loosened_at_station(question, state)
    ]


def _from_source(book: Book, answer: MayFill, source: str, today: dt.date) -> MayFill:
    """The answer for a fill from a source: whether that gives the gas, and how clean its air is. A
    cylinder that is topped to another gas is blended, and analysed: what it becomes is no range of
    the source."""
    station, rules = book.station, rules_of(book)
    at = dt.datetime(today.year, today.month, today.day, 12, tzinfo=dt.UTC)
    line = LogLine(at=at, cylinder=answer.id, act=LogAct.FILL, gas=answer.gas, source_=source)
    reasons: list[Reason] = []
    mixed = any(r.code == "contents-differ" for r in answer.reasons)
    for each in cannot_give(station, rules, source, answer.gas) if station and not mixed else ():
        reasons += _ask_station(rules, Obligation.SOURCE, each.state, each.text, each.mend)
    for id_ in answer.members if not mixed else ():
        made = cannot_be(book, line, contents_of(book, id_), answer.target)
        if made is not None:
            text = f"from {source} it would be {made}, and {answer.gas} is wanted"
            mend = f"fill it from what gives {answer.gas}, or ask for what it would be: --gas"
            reasons += _ask_station(rules, Obligation.SOURCE, "out-of-range", text, mend)
    for part in untested_parts(book, source, today):
        text = f"{part}: no test of its air is known here"
        mend = f"see its air test, and say when: `--source '{part}, air test seen DATE'`"
        reasons.append(Reason("air-untested", text, Gate.WARN, None, mend))
    if not conditions.ordinary_air(book, line):
        kept = tuple(r for r in answer.reasons if r.code != conditions.ENDS_CLEAN)
        answer = replace(answer, reasons=kept)
    for id_ in answer.members:
        if id_ in book.cylinders:
            cylinder = book.cylinders[id_]
            case = _Question(rules, facts_of(cylinder, rules))
            for condition in conditions.of_source(book, cylinder, line):
                case.ask(condition)
            reasons += case.reasons
    return _with(answer, list(dict.fromkeys(reasons)))


def _at_station(book: Book, answer: MayFill, through: tuple[str, ...]) -> MayFill:
    """The answer, filled no higher than the parts of the station stand, each lower one named."""
    if answer.ceiling is None:
        return answer
    parts = chain.of_station(book.station, through)
    reasons: list[Reason] = []
    for part in chain.below(answer.ceiling, parts):
        text = f"{part.name} {part.said}, below {answer.ceiling.pressure}: filled no higher"
        mend = "fill through another, and say which"
        state = "below-limit"
        reasons += _ask_station(rules_of(book), Obligation.GAUGE_CEILING, state, text, mend)
    ceiling = chain.lower(answer.ceiling, parts)
    target = min(answer.target, ceiling.pressure) if answer.target else None
    return replace(_with(answer, reasons), ceiling=ceiling, target=target)


def _regulator(
    book: Book,
    answer: MayFill,
    fill_pressure: GaugePressure | None,
    connected: tuple[str, ...],
    today: dt.date,
) -> Iterator[Reason]:
    """The fill regulator against the lowest of all that is connected.

    A setting given with the question is the one that will be used, and refuses. The one on record
    is where it was left: it is set anew for each load.
    """
    rules = rules_of(book)
    set_to = fill_pressure or (book.station.regulator_set if book.station else None)
    if set_to is None and book.station:
        text = "what the fill regulator is set to is not recorded: read it before opening"
        yield from _ask_station(rules, Obligation.REGULATOR, "unknown", text)
    if set_to is None or answer.ceiling is None:
        return
    tops = {answer.id: answer.ceiling}
    for other in connected:
        if other != answer.id and other not in book.broken:
            theirs = may_fill(book, other, today, answer.gas, station=False).ceiling
            if theirs:
                tops[other] = theirs
    lowest = min(tops, key=lambda name: tops[name].pressure)
    most = tops[lowest].pressure
    if set_to <= most:
        return
    whose = tops[lowest].part if chain.is_of_station(tops[lowest], book.station) else lowest
    if fill_pressure:
        text = f"the fill regulator is set to {set_to}, above {most} of {whose}"
        state, mend = "above-limit", f"set it to {most} or less"
    else:
        text = f"the fill regulator was last set to {set_to}, above {most} of {whose}"
        state, mend = "recorded-above-limit", f"set it to {most} or less before opening"
    yield from _ask_station(rules, Obligation.REGULATOR, state, text, mend)
