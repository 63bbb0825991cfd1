"""The conditions at the fill station: what is the case with a cylinder, before any rule is read.

Each condition names the question (an obligation) and the state in which it is asked; what follows
from it is for the rule rows to say.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import standing
from tankbook.records.log import LogLine
from tankbook.records.rulerow import AirLimits, Obligation, RuleRow
from tankbook.records.station import AirTest, Station
from tankbook.records.words import (
    Act,
    Grade,
    InspectionResult,
    Isolator,
    Material,
    Service,
    Status,
    StepResult,
    TestResult,
    ValvePosition,
)
from tankbook.rules.contents import EMPTY, contents_of, lines_about, read_empty, rentals_of
from tankbook.rules.inforce import Facts, normal, rules_of
from tankbook.rules.schedule import SEEN_STICKER
from tankbook.rules.standing import status_of
from tankbook.units import Concentration, GaugePressure, PartialDate, Percent

CRACK_STEP = "neck-cracks"
CRACK = "crack"
"""A checklist step whose name holds this looks for cracks."""


@dataclass(frozen=True, slots=True)
class Condition:
    """What is the case, the question it raises, and its state."""

    question: Obligation
    state: str
    code: str
    text: str
    mend: str = ""


def of_cylinder(book: Book, facts: Facts, gas: Gas, today: dt.date) -> Iterator[Condition]:
    """Every condition of a cylinder that a rule must speak to before it is filled."""
    cylinder = facts.cylinder
    yield from _standing(book, cylinder)
    yield from _crack(cylinder)
    yield from _permit(facts, today)
    yield from _alloy(facts)
    yield from _threads(cylinder)
    yield from _back_from_test(cylinder)
    yield from _returned(book, cylinder)
    yield from _damage(book, cylinder)
    yield from _service(book, cylinder, gas)
    yield from _clean(book, cylinder, gas)


def _standing(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    status = status_of(cylinder)
    if status is Status.IN_SERVICE:
        for rental in rentals_of(book, cylinder.id):
            if rental.void is None and rental.back is None:
                text = f"it is out in doubles, to {rental.to} since {rental.on}"
                yield Condition(Obligation.STANDING, Status.OUT, f"standing-{Status.OUT}", text)
        return
    why = _why(cylinder, status)
    text = f"it is {status}: {why}" if why else f"it is {status}"
    yield Condition(Obligation.STANDING, status, f"standing-{status}", text)


def _why(cylinder: Cylinder, status: Status) -> str:
    if status is Status.HELD:
        return next((h.why for h in reversed(standing(cylinder.held)) if h.released is None), "")
    if status is Status.REJECTED:
        return next((r.why for r in reversed(standing(cylinder.rejected)) if r.lifted is None), "")
    if status is Status.CONDEMNED:
        return next((c.why for c in reversed(standing(cylinder.condemned))), "")
    return ""


def _crack(cylinder: Cylinder) -> Iterator[Condition]:
    for entry in standing(cylinder.inspected):
        for found in entry.findings:
            if CRACK in found.step.casefold() and found.result is not StepResult.PASS:
                text = f"a crack was found at the neck on {entry.on}"
                yield Condition(Obligation.NECK_CRACK, "cracked", "neck-crack", text)
                return


def _permit(facts: Facts, today: dt.date) -> Iterator[Condition]:
    if not facts.permit:
        return
    permit = facts.cylinder.permit
    missing = {
        "missing-period": permit.period if permit else None,
        "missing-test-pressure": permit.test_pressure if permit else None,
        "missing-life-end": permit.life_ends if permit else None,
    }
    for state, value in missing.items():
        if value is None:
            what = state.removeprefix("missing-").replace("-", " ")
            text = f"its permit's {what} is not recorded"
            mend = "copy it from the special permit or design approval into `permit:`"
            yield Condition(Obligation.PERMIT, state, f"permit-{state}", text, mend)

    ends = permit.life_ends if permit else None
    if isinstance(ends, PartialDate) and ends.last < today:
        text = f"its service life ended {ends.last:%b %Y}: it is never filled again"
        yield Condition(Obligation.PERMIT, "past-life-end", "permit-past-life-end", text)


def _alloy(facts: Facts) -> Iterator[Condition]:
    if facts.material is None and not facts.permit:
        text = "its material is not recorded"
        yield Condition(Obligation.ALLOY, "unknown", "material-unknown", text)
    if facts.material is Material.ALUMINIUM and facts.alloy is None:
        text = "its alloy is not recorded, and no watch row in force speaks of its maker and date"
        mend = "record `alloy:` from the maker's papers, or have it identified"
        yield Condition(Obligation.ALLOY, "unknown", "alloy-unknown", text, mend)


def _threads(cylinder: Cylinder) -> Iterator[Condition]:
    neck = cylinder.neck_thread
    valve = cylinder.valve.thread if cylinder.valve else None
    neck, valve = _stated(neck), _stated(valve)
    if neck is None or valve is None:
        which = " and ".join(n for n, v in (("neck", neck), ("valve", valve)) if v is None)
        text = f"its {which} thread is not recorded"
        yield Condition(Obligation.THREAD_MATCH, "unknown", "thread-unknown", text)
    elif not threads_match(neck, valve):
        text = f"neck thread {neck} and valve thread {valve} differ"
        yield Condition(Obligation.THREAD_MATCH, "differ", "thread-differ", text)


_CODES = {"sp12": "3/4-14npsm", "25p": "m25x2", "18p": "m18x1.5"}


def _stated(thread: str | None) -> str | None:
    """A thread that says something: a `?` or `unknown` has no number in it."""
    return thread if thread and any(c.isdigit() for c in thread) else None


def threads_match(one: str, other: str) -> bool:
    """Whether two thread marks name the same thread, whichever way they are written.

    `3/4 NPSM` is `3/4-14 NPSM` (code SP12, read: DAN), `25P` is `M25x2` (read: DAN), `18P` is
    `M18x1.5` (memory).
    """
    return _thread(one) == _thread(other)


@lru_cache(maxsize=1024)
def _thread(text: str) -> str:
    word = re.sub(r"[\s\u00d7]", lambda m: "x" if m[0] == "\u00d7" else "", text.casefold())
    word = re.sub(r"^3/4(-14|x14)?-?npsm$", "3/4-14npsm", word)
    word = re.sub(
        r"^m(\d+)[x*/](\d+(?:\.\d+)?)(?:iso)?$", lambda m: f"m{m[1]}x{float(m[2]):g}", word
    )
    return _CODES.get(word, word)


def _back_from_test(cylinder: Cylinder) -> Iterator[Condition]:
    for entry in standing(cylinder.sent):
        if entry.back is not None and entry.refitted is None:
            text = f"back from {entry.for_} on {entry.back}, not yet dried and refitted"
            yield Condition(Obligation.REFIT, "not-refitted", "not-refitted", text)


def _returned(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    for on, state in _came_back(book, cylinder):
        if not _looked_inside(book, cylinder, on):
            how = "with its valve open" if state == "valve-open" else "empty"
            text = f"it came back {how} on {on} and has not been looked inside since"
            yield Condition(Obligation.RETURNED, state, f"returned-{state}", text)
            return


def _came_back(book: Book, cylinder: Cylinder) -> list[tuple[dt.date, str]]:
    found = []
    for rental in rentals_of(book, cylinder.id):
        if rental.void is not None or rental.back is None:
            continue
        if rental.valve is ValvePosition.OPEN:
            found.append((rental.back, "valve-open"))
        elif rental.pressure is not None and rental.pressure < EMPTY:
            found.append((rental.back, "empty"))
    found += [(day, "empty") for day in read_empty(book, cylinder.id)]
    return sorted(found)


def _looked_inside(book: Book, cylinder: Cylinder, since: dt.date) -> bool:
    for entry in standing(cylinder.inspected):
        checklist = book.checklists.get(entry.checklist)
        inside = checklist is not None and (checklist.inside or checklist.full)
        if inside and entry.result is InspectionResult.PASS and entry.on.first >= since:
            return True
    return False


def _damage(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    for rental in rentals_of(book, cylinder.id):
        if (
            rental.void is None
            and rental.back
            and rental.damage
            and not _seen_since(cylinder, rental.back)
        ):
            text = f"damage noted at return on {rental.back}: {rental.damage}"
            yield Condition(Obligation.DAMAGE, "noted", "damage-noted", text)
            return


def _seen_since(cylinder: Cylinder, since: dt.date) -> bool:
    return any(
        i.result is InspectionResult.PASS and i.on.first >= since and i.checklist != SEEN_STICKER
        for i in standing(cylinder.inspected)
    )


def _service(book: Book, cylinder: Cylinder, gas: Gas) -> Iterator[Condition]:
    rank = {Service.AIR: 0, Service.NITROX: 1, Service.OXYGEN: 2}
    wanted = (
        Service.AIR if gas.is_air else Service.OXYGEN if gas.oxygen_percent > 99 else Service.NITROX
    )
    if wanted is not Service.AIR:
        if cylinder.service is None:
            text = f"what it is cleaned and labelled for is not recorded, and {gas} is wanted"
            yield Condition(Obligation.GAS_SERVICE, "unknown", "gas-service-unknown", text)
        elif rank[cylinder.service] < rank[wanted]:
            text = f"it is labelled for {cylinder.service}, and {gas} is wanted"
            yield Condition(Obligation.GAS_SERVICE, "not-for-gas", "gas-not-for-service", text)
    held = contents_of(book, cylinder.id)
    if held.gas is not None and held.gas != gas:
        text = f"it holds {held.gas}, and {gas} is wanted: topping up gives neither"
        mend = "drain it, or blend and analyse"
        yield Condition(Obligation.GAS_SERVICE, "contents-differ", "contents-differ", text, mend)


def _clean(book: Book, cylinder: Cylinder, gas: Gas) -> Iterator[Condition]:
    rows = [r for r in rules_of(book).rows[Obligation.OXYGEN_CLEAN] if r.share]
    threshold = min((r.share.percent for r in rows if r.share), default=23.5)
    cleaned = standing(cylinder.cleaned)
    if gas.oxygen_percent <= threshold:
        if gas.is_air and cleaned:
            text = "an ordinary air fill ends its oxygen-clean state: use oxygen-grade air"
            yield Condition(Obligation.OXYGEN_CLEAN, "ordinary-air", "ends-oxygen-clean", text)
        return
    rank = {Service.AIR: 0, Service.NITROX: 1, Service.OXYGEN: 2}
    wanted = Service.OXYGEN if gas.oxygen_percent > 99 else Service.NITROX
    cleaned = tuple(c for c in cleaned if rank[c.to] >= rank[wanted])
    if not cleaned:
        text = f"{gas} needs an oxygen-clean cylinder, and no cleaning is on record"
        yield Condition(Obligation.OXYGEN_CLEAN, "never", "oxygen-clean-never", text)
        return
    since = cleaned[-1].on.first
    spoilt = [
        n for n in lines_about(book, cylinder.id) if n.at.date() >= since and ordinary_air(book, n)
    ]
    if spoilt:
        text = f"its oxygen-clean state was lost by an ordinary air fill on {spoilt[0].at.date()}"
        yield Condition(
            Obligation.OXYGEN_CLEAN,
            "lost",
            "oxygen-clean-lost",
            text,
            "clean it again and record it",
        )


def ordinary_air(book: Book, line: LogLine) -> bool:
    """Whether a fill used air that is not known to be of oxygen grade.

    Pure oxygen holds no air. A premixed gas of a bank marked `grade: oxygen` is not ordinary; a
    source that is not named, or not such a bank, is.
    """
    if line.act is not Act.FILL or (line.gas is not None and line.gas.oxygen_percent > 99):
        return False
    banks = {b.name: b for b in book.station.banks} if book.station else {}
    names = [n.strip() for n in (line.source_ or "").split("+") if n.strip()]
    return not names or any(n not in banks or banks[n].grade is not Grade.OXYGEN for n in names)


def of_valve(facts: Facts, limit: GaugePressure) -> Iterator[Condition]:
    """The conditions of a valve against the limit the cylinder is filled to."""
    valve = facts.cylinder.valve
    rating = valve.rating if valve else None
    ratings = [r for r in (rating, valve.insert if valve else None) if r is not None]
    if rating is None:
        text = "its valve's rating is not recorded"
        yield Condition(Obligation.VALVE_RATING, "unknown", "valve-rating-unknown", text)
    elif min(ratings) < limit:
        text = f"its valve is rated {min(ratings)}, below {limit}"
        yield Condition(Obligation.VALVE_RATING, "below", "valve-rating-below", text)
    disc = valve.disc if valve else None
    test = facts.cylinder.test_pressure or (
        facts.cylinder.permit.test_pressure if facts.cylinder.permit else None
    )
    if not isinstance(disc, GaugePressure) or test is None:
        text = "its burst disc or its test pressure is not recorded, so they cannot be compared"
        yield Condition(Obligation.DISC_RATING, "unknown", "disc-unknown", text)
    elif disc > test:
        text = f"its burst disc is rated {disc}, above the test pressure {test}"
        yield Condition(
            Obligation.DISC_RATING, "above-test-pressure", "disc-above-test-pressure", text
        )


def of_set(doubles: Doubles, limit: GaugePressure | None) -> Iterator[Condition]:
    """The conditions of a manifold."""
    if doubles.isolator is Isolator.SHUT:
        text = "its isolator is shut: each side has its own reading"
        yield Condition(
            Obligation.DOUBLES, "isolator-shut", "isolator-shut", text, "open it, or fill each side"
        )
    if doubles.rating is not None and limit is not None and doubles.rating < limit:
        text = f"its manifold is rated {doubles.rating}, below {limit}"
        yield Condition(Obligation.VALVE_RATING, "below", "manifold-rating-below", text)


def missing_mark(facts: Facts, row: RuleRow) -> str:
    """What a mark-required row finds missing, or an empty text."""
    if "any" in row.needs:
        return "" if facts.specifications else "its specification is not recorded"
    if any(family(s) in row.needs for s in facts.specifications):
        return ""
    marks = ", ".join(row.needs)
    named = ", ".join(facts.specifications) or "no specification"
    return f"it carries none of the marks {marks} ({named})"


def newest_air_test(station: Station) -> AirTest | None:
    """The air test that counts: the newest that is not struck out."""
    tests = sorted((t for t in station.air_tests if t.void is None), key=lambda t: t.on)
    return tests[-1] if tests else None


def counting_air_tests(station: Station) -> list[AirTest]:
    """The newest air test of each compressor or bank sampled; of two on one day, the failed one."""
    newest: dict[str, AirTest] = {}
    for test in station.air_tests:
        if test.void is None:
            source = (test.source_ or "").casefold()
            known = newest.get(source)
            if known is None or _counts_over(test, known):
                newest[source] = test
    return list(newest.values())


def _counts_over(test: AirTest, known: AirTest) -> bool:
    if test.on != known.on:
        return test.on > known.on
    return test.result is TestResult.FAIL or known.result is not TestResult.FAIL


def failed_air_test(book: Book, station: Station) -> Iterator[str]:
    """What is wrong with the air tests that count, if anything."""
    for test in counting_air_tests(station):
        of = f" ({test.source_})" if test.source_ else ""
        if test.result is TestResult.FAIL:
            yield f"the air test of {test.on}{of} failed"
        over = over_limits(book, test)
        if over:
            yield f"the air test of {test.on}{of} is over its limits: {', '.join(over)}"


def air_limits_gap(book: Book, station: Station) -> Iterator[str]:
    """What an air test measured that no rule row in force can judge."""
    for test in counting_air_tests(station):
        if test.standard and not _limit_rows(book, test.standard):
            yield f"no rule row in force gives the air limits of {test.standard}"
        values = (test.co, test.co2, test.oil, test.hydrocarbons, test.water, test.oxygen)
        if test.standard is None and any(v is not None for v in values):
            yield f"the air test of {test.on} gives values and names no standard to judge them by"
        for row in _limit_rows(book, test.standard) if test.standard else ():
            for name, got, most in _measured(test, row.limits) if row.limits else ():
                if got is not None and most is not None and got.unit != most.unit:
                    yield f"{name} {got} cannot be held against its limit of {most}"


def _limit_rows(book: Book, standard: str) -> list[RuleRow]:
    rows = rules_of(book).rows[Obligation.AIR_LIMITS]
    return [r for r in rows if r.applies_to and r.applies_to.standard == standard]


def over_limits(book: Book, test: AirTest) -> list[str]:
    """The measured values of an air test that break the limits of its standard."""
    if test.standard is None:
        return []
    found: list[str] = []
    for row in _limit_rows(book, test.standard):
        if row.limits:
            found += _over(test, row.limits)
    return found


def _measured(
    test: AirTest, limits: AirLimits
) -> tuple[tuple[str, Concentration | None, Concentration | None], ...]:
    return (
        ("CO", test.co, limits.co),
        ("CO2", test.co2, limits.co2),
        ("oil", test.oil, limits.oil),
        ("hydrocarbons", test.hydrocarbons, limits.hydrocarbons),
        ("water", test.water, limits.water),
    )


def _over(test: AirTest, limits: AirLimits) -> Iterator[str]:
    for name, got, most in _measured(test, limits):
        if got is not None and most is not None and got.unit == most.unit and got > most:
            yield f"{name} {got} (limit {most})"
    if test.oxygen is not None and not _within(test.oxygen, limits):
        yield f"oxygen {test.oxygen}"


def _within(oxygen: Percent, limits: AirLimits) -> bool:
    least, most = limits.oxygen_from, limits.oxygen_to
    return (least is None or oxygen >= least) and (most is None or oxygen <= most)


def family(specification: str) -> str:
    """The mark family of a specification: DOT, TC, UN, ISO, EN ...

    `UN` before a design standard is the packaging mark; before a number (`UN 1002`) it names the
    gas and marks nothing.
    """
    head, _, rest = normal(specification).partition("-")
    return "" if head == "UN" and not rest.startswith(("ISO", "EN")) else head
