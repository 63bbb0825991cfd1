"""What `validate` checks across records: each check is one function in a list.

A check takes the book and today's date and yields findings; one run shows them all.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Inspected, standing
from tankbook.records.fields import Record
from tankbook.records.marks import read_marks
from tankbook.records.node import Finding, Severity, Where
from tankbook.records.station import Station, that_stand
from tankbook.records.words import Material, Skill, Sticker
from tankbook.rules.card_checks import expansion_of, test_pressure_of
from tankbook.rules.conditions import threads_match
from tankbook.rules.inforce import facts_of, normal, rules_of
from tankbook.rules.log_checks import LOG_CHECKS
from tankbook.rules.schedule import SEEN_STICKER
from tankbook.rules.standing import STRONG, status_from_entries
from tankbook.rules.tested import is_due_stamp, is_makers, made_of
from tankbook.rules.volume import volume_of_size

Check = Callable[[Book, dt.date], Iterator[Finding]]

ENTRY_LISTS = (
    "requalified",
    "inspected",
    "held",
    "sent",
    "rented",
    "handed_over",
    "rejected",
    "condemned",
    "cleaned",
    "lost",
    "jobs",
    "refused",
)


def check(book: Book, today: dt.date) -> list[Finding]:
    """Every cross-record finding, in the order of files and lines."""
    found = [f for each in CHECKS for f in each(book, today)]
    return sorted(found, key=lambda f: (f.where, f.code))


def _fault(where: Where, code: str, text: str, mend: str = "") -> Finding:
    return Finding(where, code, text, mend)


def _advice(where: Where, code: str, text: str, mend: str = "") -> Finding:
    return Finding(where, code, text, mend, Severity.ADVICE)


def entries_of(cylinder: Cylinder) -> Iterator[tuple[str, Entry]]:
    """Every dated entry of a cylinder with the list it stands in, struck out or not."""
    for name in ENTRY_LISTS:
        for entry in getattr(cylinder, name):
            yield name, entry


def serial_twice(book: Book, today: dt.date) -> Iterator[Finding]:
    """A serial is unique within a maker."""
    seen: dict[tuple[str, str], str] = {}
    for c in book.cylinders.values():
        key = ((c.maker or "").casefold().strip(), c.serial.casefold().strip())
        if key in seen:
            text = f"serial {c.serial} of this maker is already {seen[key]}"
            mend = "one cylinder, one file: join the two, or read the stamp again"
            yield _fault(c.source.at("serial"), "serial-twice", text, mend)
        else:
            seen[key] = c.id


def dates_in_order(book: Book, today: dt.date) -> Iterator[Finding]:
    """Nothing is dated before the cylinder was made, after today, or ends before it began."""
    for c in book.cylinders.values():
        made = made_of(c)
        for name, entry in entries_of(c):
            if entry.void is not None:
                continue
            if entry.on.first > today and not is_due_stamp(c, entry):
                text = f"{name}: {entry.on} lies in the future"
                where = entry.source.at("on")
                yield _fault(where, "in-the-future", text, f"today is {today}")
            if made and entry.on.last < made.first and not _is_makers(entry):
                text = f"{name}: {entry.on} is before the cylinder was made ({made})"
                yield _fault(entry.source.at("on"), "before-made", text)
            yield from _ends_in_order(name, entry, today)


def _is_makers(entry: Entry) -> bool:
    return (entry.by or "").casefold() == "maker"


_ENDS = ("released", "back", "refitted", "lifted", "found", "ready", "collected", "sticker_on")


def _ends_in_order(name: str, entry: Entry, today: dt.date) -> Iterator[Finding]:
    for end in _ENDS:
        day = getattr(entry, end, None)
        if not isinstance(day, dt.date):
            continue
        if day < entry.on.first:
            text = f"{name}: {end} {day} is before it began ({entry.on})"
            yield _fault(entry.source.at(end), "ends-before-start", text)
        if day > today:
            text = f"{name}: {end} {day} lies in the future"
            yield _fault(entry.source.at(end), "in-the-future", text, f"today is {today}")


def test_pressure_fits(book: Book, today: dt.date) -> Iterator[Finding]:
    """A test pressure is the specification's multiple of the service pressure."""
    for c in book.cylinders.values():
        yield from test_pressure_of(book, c)


def marks_agree(book: Book, today: dt.date) -> Iterator[Finding]:
    """Service pressure, serial and specification match the stamp marks as read."""
    for c in book.cylinders.values():
        if not c.marks:
            continue
        marks = read_marks(c.marks)
        stamped = marks.service_pressure
        if (
            stamped
            and c.service_pressure
            and abs(stamped.psi - c.service_pressure.psi) > 0.01 * stamped.psi
        ):
            text = f"service pressure {c.service_pressure} is not what the marks say ({stamped})"
            yield _fault(
                c.source.at("service_pressure"), "marks-pressure", text, "read the shoulder again"
            )
        if marks.serial and normal(marks.serial) != normal(c.serial):
            text = f"serial {c.serial} is not what the marks say ({marks.serial})"
            yield _fault(c.source.at("serial"), "marks-serial", text, "read the shoulder again")
        stated = {normal(s) for s in c.specification}
        for spec in marks.specifications:
            if stated and normal(spec) not in stated:
                text = f"the marks carry {spec}, which `specification` does not list"
                yield _fault(c.source.at("specification"), "marks-specification", text)


def threads_agree(book: Book, today: dt.date) -> Iterator[Finding]:
    """Neck and valve carry the same thread."""
    for c in book.cylinders.values():
        thread = c.valve.thread if c.valve else None
        if c.valve and c.neck_thread and thread and not threads_match(c.neck_thread, thread):
            text = f"neck thread {c.neck_thread} and valve thread {thread} differ"
            mend = "take the cylinder out of use: a wrong valve can be shot out under pressure"
            yield _fault(c.valve.source.at("thread"), "thread-differ", text, mend)


def plus_and_star(book: Book, today: dt.date) -> Iterator[Finding]:
    """A plus mark never goes on aluminium; a star gives a breathing cylinder nothing."""
    for c in book.cylinders.values():
        for r in standing(c.requalified):
            if r.plus and c.material is Material.ALUMINIUM:
                text = "a plus mark on an aluminium cylinder"
                yield _fault(r.source.at("plus"), "plus-on-aluminium", text, "read the stamp again")
            if r.star:
                text = "a star lengthens nothing here: the ordinary period is counted"
                yield _advice(r.source.at("star"), "star", text)
            if r.stamp:
                yield from _stamp_agrees(r.stamp, r.plus, r.source.at("stamp"))


def _stamp_agrees(stamp: str, plus: bool, where: Where) -> Iterator[Finding]:
    if ("+" in stamp) != plus:
        says = "carries a plus" if "+" in stamp else "carries no plus"
        text = f"the stamp `{stamp}` {says}, and `plus` says otherwise"
        yield _fault(where, "stamp-plus", text)


def inspectors_certified(book: Book, today: dt.date) -> Iterator[Finding]:
    """Whoever inspected was certified that day."""
    for c in book.cylinders.values():
        for entry in standing(c.inspected):
            if entry.sticker is Sticker.SEEN or entry.checklist == SEEN_STICKER:
                continue
            yield from _certified(book, entry)


def _certified(book: Book, entry: Inspected) -> Iterator[Finding]:
    person = book.settings.people.get(entry.by) if entry.by else None
    if person and person.is_certified(Skill.INSPECTOR, entry.on.first, entry.on.last):
        return
    where = entry.source.at("by")
    if not entry.by:
        yield _fault(
            where, "no-inspector", "an inspection without the inspector's initials", "add `by:`"
        )
        return
    if person is None:
        text = f"{entry.by} is not among the people of tankbook.yaml"
        yield _fault(where, "unknown-person", text, "add them with their certification")
        return
    text = f"{entry.by} had no valid inspector's certification on {entry.on}"
    yield _fault(where, "not-certified", text, "correct the entry, or record the certification")


def status_agrees(book: Book, today: dt.date) -> Iterator[Finding]:
    """A recorded status is what the entries say; one left out follows from them."""
    for c in book.cylinders.values():
        follows = status_from_entries(c)
        if c.status and follows and c.status is not follows:
            text = f"status is {c.status}, but its entries say {follows}"
            yield _fault(c.source.at("status"), "status", text, f"write `status: {follows}`")
        if c.status in STRONG and follows is None:
            text = f"status is {c.status}, but no entry says so"
            where = c.source.at("status")
            yield _fault(where, "status", text, "add the entry, or correct the status")


def sets_are_whole(book: Book, today: dt.date) -> Iterator[Finding]:
    """A set is two known cylinders of one service pressure, in no other set."""
    owner: dict[str, str] = {}
    for name, doubles in book.sets.items():
        where = doubles.source.at("cylinders")
        if len(doubles.cylinders) != 2 or len(set(doubles.cylinders)) != 2:
            yield _fault(where, "set-size", "a set is two different cylinders", "name both")
        for member in doubles.cylinders:
            if member not in book.cylinders and member not in book.broken:
                yield _fault(where, "unknown-cylinder", f"{member} is not in the ledger")
            if member in owner:
                yield _fault(where, "in-two-sets", f"{member} is already in {owner[member]}")
            owner[member] = name
        known = [book.cylinders[m] for m in doubles.cylinders if m in book.cylinders]
        pressures = {c.service_pressure for c in known}
        if len(pressures) > 1:
            yield _fault(where, "unlike-pressures", "its cylinders differ in service pressure")


def words_are_known(book: Book, today: dt.date) -> Iterator[Finding]:
    """Checklists and trade sizes that are named exist."""
    for c in book.cylinders.values():
        for entry in standing(c.inspected):
            if entry.checklist not in book.checklists and entry.checklist != SEEN_STICKER:
                text = f"there is no checklist `{entry.checklist}`"
                known = ", ".join([*sorted(book.checklists), SEEN_STICKER])
                yield _fault(
                    entry.source.at("checklist"), "unknown-checklist", text, f"known: {known}"
                )
        if c.size and volume_of_size(book, c.size) is None:
            text = f"`{c.size}` is no known trade size"
            mend = "give `water_volume:`, or add the size to `sizes:` in tankbook.yaml"
            yield _fault(c.source.at("size"), "unknown-size", text, mend)


def permits_are_whole(book: Book, today: dt.date) -> Iterator[Finding]:
    """A special-permit or composite cylinder carries what only its permit can say."""
    for c in book.cylinders.values():
        if not facts_of(c, rules_of(book)).permit:
            continue
        permit = c.permit
        for name in ("period", "test_pressure", "life_ends"):
            if permit is None or getattr(permit, name) is None:
                where = permit.source.at() if permit else c.source.at("specification")
                text = f"permit: {name} is missing; it cannot be worked out"
                yield _advice(where, "permit", text, "copy it from the permit; until then no fill")


def eddy_only_where_due(book: Book, today: dt.date) -> Iterator[Finding]:
    """An eddy-current test is no duty of 6061 and may mislead there."""
    for c in book.cylinders.values():
        if (c.alloy or "").startswith("6061"):
            for r in standing(c.requalified):
                if r.method.value == "eddy-current":
                    text = "an eddy-current test on 6061: no rule asks for it"
                    yield _advice(r.source.at("method"), "eddy-on-6061", text)


def expansion_within(book: Book, today: dt.date) -> Iterator[Finding]:
    """A passed test kept its permanent expansion within the limit."""
    for c in book.cylinders.values():
        yield from expansion_of(book, c)


def station_is_sound(book: Book, today: dt.date) -> Iterator[Finding]:
    """Bank readings are not above the bank's working pressure, and nothing lies in the future."""
    station = book.station
    if station is None:
        return
    for bank in station.banks:
        for reading in that_stand(bank.readings):
            if bank.working_pressure and reading.pressure > bank.working_pressure:
                text = f"{bank.name} read {reading.pressure}, above its {bank.working_pressure}"
                yield _advice(reading.source.at("pressure"), "bank-over", text)
    for record in _station_entries(station):
        on = getattr(record, "on", None)
        if isinstance(on, dt.date) and on > today:
            text = f"{on} lies in the future"
            yield _fault(record.source.at("on"), "in-the-future", text, f"today is {today}")
    names = [b.name for b in station.banks] + [p.name for p in station.positions]
    for name in sorted({n for n in names if names.count(n) > 1}):
        yield _fault(
            station.source.at(), "name-twice", f"two parts of the station are called {name}"
        )


def _station_entries(station: Station) -> Iterator[Record]:
    """Every dated entry of the station that stands."""
    for bank in station.banks:
        yield from that_stand(bank.readings)
    yield from that_stand(station.compressor.hours if station.compressor else ())
    for part in station.filters:
        yield from that_stand(part.changed)
    yield from that_stand(station.air_tests)
    for gauge in station.gauges:
        yield from that_stand(gauge.checked)
    for whip in station.whips:
        yield from that_stand(whip.checked)
    for valve in station.relief_valves:
        yield from that_stand(valve.checked)


def makers_first(book: Book, today: dt.date) -> Iterator[Finding]:
    """A cylinder has one first test by its maker."""
    for c in book.cylinders.values():
        firsts = [r for r in standing(c.requalified) if is_makers(r)]
        for extra in firsts[1:]:
            yield _fault(
                extra.source.at("by"), "two-first-tests", "a second first test by the maker"
            )


CHECKS: tuple[Check, ...] = (
    serial_twice,
    dates_in_order,
    test_pressure_fits,
    marks_agree,
    threads_agree,
    plus_and_star,
    inspectors_certified,
    status_agrees,
    sets_are_whole,
    words_are_known,
    permits_are_whole,
    eddy_only_where_due,
    expansion_within,
    station_is_sound,
    makers_first,
    *LOG_CHECKS,
)
