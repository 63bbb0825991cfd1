"""May it be filled? Yes or no, to what pressure, and every reason."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field, replace

from tankbook.gas import AIR, Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.node import Finding, Severity
from tankbook.records.rulerow import Gate, Obligation, RuleRow, WatchRow
from tankbook.rules import conditions
from tankbook.rules.air import air_judge
from tankbook.rules.answers import Due, Limit, MayFill, Reason, State
from tankbook.rules.checks import against, of_station
from tankbook.rules.conditions import Condition
from tankbook.rules.contents import sets_with
from tankbook.rules.inforce import Facts, InForce, facts_of, rules_of, speaks_of_station
from tankbook.rules.limits import cold_target, limit_of
from tankbook.rules.schedule import (
    CYLINDER_OBLIGATIONS,
    dated_rows,
    due_of_cylinder,
    due_of_station,
)
from tankbook.units import GaugePressure, Temperature

AIR_WORD = Gas("air", AIR)


@dataclass(slots=True)
class _Case:
    """One question being answered: the reasons so far and the rows they rest on."""

    rules: InForce
    facts: Facts
    reasons: list[Reason] = field(default_factory=list)
    rests_on: dict[str, None] = field(default_factory=dict)

    def ask(self, found: Condition) -> None:
        """Add a condition's reason: what its rows say, or a refusal where none speaks of it."""
        rows = self.rules.about(self.facts, found.question, found.state)
        if not rows:
            text = f"{found.text}; no rule row in force says whether it may be filled so"
            self.reasons.append(Reason(found.code, text, Gate.REFUSE, None, found.mend))
        for row in rows:
            self.use(row)
            self.reasons.append(Reason(found.code, found.text, row.gate, row, found.mend))

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
    station: bool = True,
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
        station: whether the station's own state is asked too.

    Raises:
        KeyError: `id_` is not in the book.
    """
    gas = gas or book.settings.gas or AIR_WORD
    ambient = ambient or book.settings.ambient
    if id_ in book.broken:
        return _broken(book, id_, gas, ambient, today)
    members = book.sets[id_].cylinders if id_ in book.sets else (id_,)
    answers = [
        _answer_cylinder(book, m, today, gas, ambient, in_set=id_ in book.sets) for m in members
    ]
    answer = _joined(book, id_, answers, gas, today) if id_ in book.sets else answers[0]
    if station:
        answer = _with(answer, station_reasons(book, today))
        answer = _with(answer, list(_regulator(book, answer, fill_pressure, connected, today)))
    limit = answer.limit
    if limit and fill_pressure and fill_pressure < limit.pressure:
        target = fill_pressure if answer.target is None else min(fill_pressure, answer.target)
        answer = replace(answer, target=target)
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


def _closed(answer: MayFill) -> MayFill:
    """The last word: one refusal, or no stated limit or look, and it is no."""
    fillable = not answer.refusals and answer.limit is not None and answer.look is not None
    return answer if answer.fillable is fillable else replace(answer, fillable=fillable)


def _broken(book: Book, id_: str, gas: Gas, ambient: Temperature | None, today: dt.date) -> MayFill:
    reasons = found_reasons(against(book, id_, today, station=False))
    return MayFill(id_, False, gas, tuple(reasons), None, None, ambient, None)


def _answer_cylinder(
    book: Book, id_: str, today: dt.date, gas: Gas, ambient: Temperature | None, *, in_set: bool
) -> MayFill:
    """What is to be said of one cylinder, remembered for as long as the book lives."""
    known = _known_answers(book)
    asked = (id_, today, gas, str(ambient or ""), in_set)
    if asked not in known:
        known[asked] = _cylinder_asked(book, id_, today, gas, ambient, in_set)
    return known[asked]


@once_per_book
def _known_answers(
    book: Book,
) -> dict[tuple[str, dt.date, Gas, str, bool], MayFill]:
    """What was answered already, by what was asked."""
    return {}


def _cylinder_asked(
    book: Book, id_: str, today: dt.date, gas: Gas, ambient: Temperature | None, in_set: bool
) -> MayFill:
    if id_ in book.broken:
        return _broken(book, id_, gas, ambient, today)
    if id_ not in book.cylinders:
        reason = Reason("unknown-cylinder", f"{id_} is not in the ledger", Gate.REFUSE)
        return MayFill(id_, False, gas, (reason,), None, None, ambient, None)
    cylinder = book.cylinders[id_]
    rules = rules_of(book)
    case = _Case(rules, facts_of(cylinder, rules))
    _ask_marks(case)
    _tell_gaps(case)
    _ask_dates(case, book, cylinder, today)
    for condition in conditions.of_cylinder(book, case.facts, gas, today):
        case.ask(condition)
    _ask_watch(case)
    limit = _ask_limit(case, book, cylinder)
    if not in_set:
        _ask_other_side(case, book, cylinder, today, gas)
    look = _look(case)
    told = {r.code for r in case.reasons}
    case.reasons += found_reasons(against(book, id_, today, station=False), told)
    target = cold_target(limit, gas.mixture, ambient) if limit else None
    answer = MayFill(
        id_,
        False,
        gas,
        tuple(case.reasons),
        limit,
        target,
        ambient,
        look,
        tuple(case.rests_on),
        (id_,),
    )
    return _closed(answer)


def _ask_marks(case: _Case) -> None:
    rows = case.rules.about(case.facts, Obligation.MARK_REQUIRED)
    if not rows and not case.rules.lacks_fill_rules:
        text = "no rule row in force says which marks a cylinder must carry"
        case.reasons.append(Reason("mark-required", text, Gate.REFUSE))
    for row in rows:
        case.use(row)
        text = conditions.missing_mark(case.facts, row)
        if text:
            case.reasons.append(Reason("mark-required", text, row.gate, row))


def _tell_gaps(case: _Case) -> None:
    """Rows taken out of force, and notices gone missing, are said with every answer."""
    for row in case.rules.dropped:
        text = f"the ledger's own rules take {row} out of force"
        case.reasons.append(Reason("row-dropped", text, Gate.WARN))
    for row in case.rules.replaced:
        text = f"the ledger's own rules replace {row}"
        case.reasons.append(Reason("row-replaced", text, Gate.WARN))


def _ask_dates(case: _Case, book: Book, cylinder: Cylinder, today: dt.date) -> None:
    for question in CYLINDER_OBLIGATIONS:
        for row in dated_rows(book, case.facts, question):
            case.use(row)
    for item in due_of_cylinder(book, cylinder, today):
        reason = dated_reason(item)
        if reason:
            case.reasons.append(reason)


def dated_reason(item: Due) -> Reason | None:
    """The reason that an obligation overdue or missing gives; None where it is met."""
    if item.state not in {State.OVERDUE, State.MISSING}:
        return None
    gate = item.row.gate if item.row else Gate.REFUSE
    return Reason(f"{item.obligation}-{item.state}", lapse_text(item), gate, item.row)


def lapse_text(item: Due) -> str:
    """What has lapsed and when, in a few words: `visual lapsed Feb 2026`."""
    name = (
        f"{item.obligation.called} {item.part}".strip()
        if item.kind == "station"
        else item.obligation.called
    )
    if item.why and item.state is State.MISSING:
        return item.why if name in item.why else f"{name}: {item.why}"
    if item.why:
        return item.why
    if item.hours_over:
        return f"{name} is {item.hours_left} past its life"
    if item.obligation is Obligation.SERVICE_LIFE and item.next:
        return f"its service life ended {item.next:%b %Y}"
    return f"{name} lapsed {item.next:%b %Y}" if item.next else f"{name} has lapsed"


def _ask_watch(case: _Case) -> None:
    for row in case.facts.recalls:
        case.use(row)
        text = f"named in a notice: {row.recall} ({row.citation})"
        if row.gate is Gate.REFUSE:
            case.ask(Condition(Obligation.ALLOY, "recalled", "recalled", text))
        else:
            case.reasons.append(Reason("recalled", text, row.gate, row))
    if case.facts.alloy_row:
        case.use(case.facts.alloy_row)


def _ask_limit(case: _Case, book: Book, cylinder: Cylinder) -> Limit | None:
    limit = limit_of(book, cylinder)
    if limit is None:
        text = (
            "its service pressure is not recorded"
            if cylinder.service_pressure is None
            else "no rule row in force says to what pressure, at what temperature, it may be filled"
        )
        case.reasons.append(Reason("fill-limit", text, Gate.REFUSE))
        return None
    for row in limit.rows:
        case.use(row)
    if limit.why_no_plus:
        rows = [r for r in limit.rows if r.obligation is Obligation.FILL_LIMIT]
        text = f"filled to the marked pressure only: {limit.why_no_plus}"
        case.reasons.append(Reason("plus-not-used", text, Gate.WARN, rows[0]))
    for condition in conditions.of_valve(case.facts, limit.pressure):
        case.ask(condition)
    return limit


def _ask_other_side(case: _Case, book: Book, cylinder: Cylinder, today: dt.date, gas: Gas) -> None:
    for name in sets_with(book).get(cylinder.id, ()):
        for other in book.sets[name].cylinders:
            if other != cylinder.id:
                answer = _answer_cylinder(book, other, today, gas, None, in_set=True)
                if answer.refusals:
                    text = f"doubles {name}: {other} may not be filled ({answer.refusals[0].text})"
                    case.ask(
                        Condition(Obligation.DOUBLES, "other-side", "doubles-other-side", text)
                    )


def _look(case: _Case) -> RuleRow | None:
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
    limit = (
        min(limits, key=lambda each: each.pressure)
        if len(limits) == len(answers) and limits
        else None
    )
    targets = [a.target for a in answers if a.target]
    looks = [a.look for a in answers if a.look]
    rests = {row: None for a in answers for row in a.rests_on}
    cylinder = next((book.cylinders[m] for m in doubles.cylinders if m in book.cylinders), None)
    if cylinder is not None:
        case = _Case(rules_of(book), facts_of(cylinder, rules_of(book)), reasons, rests)
        for condition in conditions.of_set(doubles, limit.pressure if limit else None):
            case.ask(condition)
    known = {(r.code, r.text) for r in reasons}
    own = found_reasons(against(book, id_, today, station=False))
    reasons += [r for r in own if (r.code, r.text) not in known]
    return MayFill(
        id_,
        False,
        gas,
        tuple(reasons),
        limit,
        min(targets) if limit and targets else None,
        answers[0].ambient if answers else None,
        looks[0] if len(looks) == len(answers) and looks else None,
        tuple(rests),
        doubles.cylinders,
    )


def _with(answer: MayFill, more: list[Reason]) -> MayFill:
    if not more:
        return answer
    rests = dict.fromkeys(answer.rests_on)
    rests.update((r.row.id, None) for r in more if r.row)
    return replace(answer, reasons=answer.reasons + tuple(more), rests_on=tuple(rests))


def station_reasons(book: Book, today: dt.date) -> list[Reason]:
    """What the station's own state has against any fill. Empty where no station is recorded."""
    reasons = found_reasons(of_station(book, today))
    if book.station is None:
        return reasons
    rules = rules_of(book)
    items = due_of_station(book, book.station, today)
    none = not any(t.void is None for t in book.station.air_tests)
    if none:
        items = [i for i in items if i.obligation is not Obligation.AIR_TEST]
    reasons += [r for item in items if (r := dated_reason(item))]
    if none:
        reasons += _ask_station(rules, Obligation.AIR_TEST, "none", "no air test is on record")
    for failed in air_judge(book).wrong(book.station):
        reasons += _ask_station(rules, Obligation.AIR_TEST, "failed", failed)
    return reasons


def _ask_station(
    rules: InForce, question: Obligation, state: str, text: str, mend: str = ""
) -> list[Reason]:
    """What the rows say of a state of the station; a refusal where none speaks of it."""
    code = f"{question}-{state}"
    rows = [r for r in rules.rows[question] if speaks_of_station(r, state)]
    if not rows:
        gap = f"{text}; no rule row in force says what follows"
        return [Reason(code, gap, Gate.REFUSE, None, mend)]
    return [Reason(code, text, r.gate, r, mend) for r in rows]


def _regulator(
    book: Book,
    answer: MayFill,
    fill_pressure: GaugePressure | None,
    connected: tuple[str, ...],
    today: dt.date,
) -> Iterator[Reason]:
    rules = rules_of(book)
    set_to = fill_pressure or (book.station.regulator_set if book.station else None)
    if set_to is None and book.station:
        text = "what the fill regulator is set to is not recorded: read it before opening"
        yield from _ask_station(rules, Obligation.REGULATOR, "unknown", text)
    if set_to is None or answer.limit is None:
        return
    limits = {answer.id: answer.limit.pressure}
    for other in connected:
        if other != answer.id and other not in book.broken:
            theirs = may_fill(book, other, today, answer.gas, station=False).limit
            if theirs:
                limits[other] = theirs.pressure
    lowest = min(limits, key=lambda name: limits[name])
    if set_to <= limits[lowest]:
        return
    text = f"the fill regulator is set to {set_to}, above {limits[lowest]} of {lowest}"
    mend = f"set it to {limits[lowest]} or less"
    yield from _ask_station(rules, Obligation.REGULATOR, "above-limit", text, mend)
