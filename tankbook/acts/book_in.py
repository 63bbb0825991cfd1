"""Booking in: new cards for cylinders that arrive, one or a delivery."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from tankbook.acts.arrivals import ID, NOT_SAME, STICKER, Arrival, ArrivalCard, card_of, said
from tankbook.acts.common import signer_reasons
from tankbook.acts.soundness import SLIPS, ahead_of
from tankbook.records import kinds
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.edits import Act, NewFile, Refusal
from tankbook.records.node import Finding, Severity, Where
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.words import Status, StickerPolicy, Use
from tankbook.records.written import file_text
from tankbook.rules.checks import of_card
from tankbook.rules.counter import notes_of
from tankbook.rules.gate import may_fill
from tankbook.rules.inforce import CylinderFacts, facts_of, normal, row_applies, rules_of
from tankbook.rules.old_alloy import owner_told_of
from tankbook.rules.status import worked_out
from tankbook.units import GaugePressure


def book_in(
    book: Book,
    today: dt.date,
    arrivals: Sequence[Arrival],
    *,
    by: str = "",
    like: Cylinder | None = None,
) -> Act | Refusal:
    """New cards for every arrival, or a refusal that names what is wrong with each.

    Args:
        book: the records, all of them.
        today: the day they arrive.
        arrivals: what is known of each; a card's own `id` is taken at its word.
        by: initials of who books them in; may be empty.
        like: a cylinder of the same make, whose common facts the cards take over.
    """
    planned = booked_in(book, today, arrivals, by=by, like=like)
    return planned if isinstance(planned, Refusal) else planned[0]


def booked_in(
    book: Book,
    today: dt.date,
    arrivals: Sequence[Arrival],
    *,
    by: str = "",
    like: Cylinder | None = None,
    left: bool = True,
) -> tuple[Act, tuple[Cylinder, ...]] | Refusal:
    """As `book_in`, with the new cards beside the act; what is left to do to each is told unless
    it is not asked for."""
    given = [card_of(a, like, book.settings.units, by) for a in arrivals]
    cards = [with_test_pressure(book, card, by, like) for card in given]
    reasons = signer_reasons(book, by, today) if by else []
    if not cards:
        reasons.append("there is no cylinder to book in")
    ids, findings = _ids(book, cards)
    cylinders = [replace(c.cylinder, id=i) for c, i in zip(cards, ids, strict=True) if c.cylinder]
    findings = [f for card in cards for f in card.findings] + findings
    findings += _twice(cards)
    findings += _checked(book, cylinders, today)
    findings = sorted(findings, key=lambda f: f.where)
    faults = tuple(f for f in findings if f.severity is Severity.FAULT)
    if faults or reasons:
        return Refusal("nothing was recorded", tuple(reasons), faults)
    return _act(book, today, cards, cylinders, [str(f) for f in findings], left)


def _act(
    book: Book,
    today: dt.date,
    cards: list[ArrivalCard],
    cylinders: list[Cylinder],
    advice: list[str],
    todo: bool,
) -> tuple[Act, tuple[Cylinder, ...]]:
    files = []
    placed = []
    for card, cylinder in zip(cards, cylinders, strict=True):
        status = worked_out(book, cylinder)
        if status is not cylinder.status:
            card.values["status"] = status.value
            cylinder = replace(cylinder, status=status)
        placed.append(cylinder)
        files.append(NewFile(f"cylinders/{cylinder.id}.yaml", file_text(card.values)))
    then = replace(book, cylinders={**book.cylinders, **{c.id: c for c in placed}})
    notes = dict.fromkeys(n for card in cards for n in card.notes)
    walked_in = any(STICKER in card.arrival.given for card in cards)
    unseen = _unseen(placed) if walked_in else ()
    left = _grouped({c.id: to_do(then, c.id, today) for c in placed} if todo else {})
    first = [n for c in placed for n in notes_of(then, c)]
    alloys = {c.id: owner_told_of(then, c) for c in placed if is_customers(c)}
    owner = [f"{id_}: {text}" for id_, text in alloys.items() if text]
    told = tuple(dict.fromkeys((*first, *notes, *advice, *unseen, *owner, *left)))
    ids = tuple(c.id for c in placed)
    return Act("book-in", ids, _sentence(placed), tuple(files), told), tuple(placed)


def _unseen(cylinders: list[Cylinder]) -> Iterator[str]:
    """What an eye sees with the valve in and nobody wrote down, for those it is missing of."""
    for each in cylinders:
        missing = unseen_of(each)
        if missing:
            yield (
                f"{each.id}: not seen or not written down: {', '.join(missing)}; `tankbook book-in "
                f"--complete {each.id}` adds it"
            )


def unseen_of(cylinder: Cylinder) -> tuple[str, ...]:
    """What can be seen of a cylinder with its valve in and is not on its card."""
    valve = cylinder.valve
    facts = {
        "the marks": cylinder.marks,
        "its maker": cylinder.maker,
        "when it was last tested": cylinder.requalified,
        "its sticker": cylinder.inspected,
        "the outlet": valve.outlet if valve else None,
        "the thread mark on its crown": cylinder.neck_thread,
        "the thread mark on its valve": valve.thread if valve else None,
        "the pressure marked on its valve": valve.rating if valve else None,
    }
    return tuple(name for name, value in facts.items() if not value)


_FOR = {
    Use.RENTAL: "for rental",
    Use.SALE: "for sale",
    Use.CUSTOMER: "a customer's",
    Use.STAFF: "for staff",
    Use.POOL: "for the pool",
    Use.BANK: "for a bank",
}


def _sentence(cylinders: list[Cylinder]) -> str:
    first, last = cylinders[0], cylinders[-1]
    what = (
        _FOR[first.use] if len({c.use for c in cylinders}) == 1 and first.use else "of several uses"
    )
    if len(cylinders) == 1:
        facts = [f"serial {first.serial}", *first.specification[:1]]
        facts += [str(first.service_pressure)] if first.service_pressure else []
        return f"Booked in {first.id}: {', '.join(facts)}, {what}; {first.status}"
    serials = f"serials {first.serial} to {last.serial}"
    status = first.status if len({c.status for c in cylinders}) == 1 else "see each"
    which = f"{len(cylinders)} cylinders, {first.id} to {last.id}"
    return f"Booked in {which}: {serials}, {what}; {status}"


# --- ids -----------------------------------------------------------------------------------------

SCHEMES = {
    Use.RENTAL: "RB-###",
    Use.SALE: "SF-###",
    Use.CUSTOMER: "CU-###",
    Use.STAFF: "ST-###",
    Use.POOL: "PL-###",
    Use.BANK: "BK-###",
}
"""The schemes of a ledger that sets none of its own."""


def taken(book: Book) -> frozenset[str]:
    """Every id in use, in small letters: some disks do not tell capitals apart."""
    return frozenset(i.casefold() for i in (*book.cylinders, *book.sets, *book.broken))


def next_ids(book: Book, use: Use, count: int, besides: frozenset[str]) -> tuple[str, ...]:
    """The next ids of a use: after the highest ever given, so that none names two cylinders.

    Args:
        book: the records, all of them.
        use: what the cylinders are kept for.
        count: how many ids are wanted.
        besides: ids that are spoken for, in small letters.

    Raises:
        ValueError: the scheme is no scheme, or its digits do not reach.
    """
    scheme = book.settings.ids.get(use.value, SCHEMES[use])
    found = re.fullmatch(r"([^#]*)(#+)([^#]*)", scheme)
    if not found:
        raise ValueError(f"`{scheme}` is no id scheme; write `ids: {{{use}: {SCHEMES[use]}}}`")
    before, width, after = found[1], len(found[2]), found[3]
    shape = re.compile(rf"{re.escape(before)}(\d{{{width}}}){re.escape(after)}", re.IGNORECASE)
    used = taken(book) | besides
    number = max((int(m[1]) for i in used if (m := shape.fullmatch(i))), default=0)
    ids: list[str] = []
    while len(ids) < count:
        number += 1
        id_ = f"{before}{number:0{width}d}{after}"
        if len(str(number)) > width:
            raise ValueError(
                f"the scheme {scheme} has no {count} ids left; give it another # in tankbook.yaml"
            )
        if id_.casefold() not in used:
            ids.append(id_)
    return tuple(ids)


def _ids(book: Book, cards: list[ArrivalCard]) -> tuple[list[str], list[Finding]]:
    """An id for every card, its own or the next of its use, and why some have none."""
    own = [c.arrival.given[ID].text.strip() if ID in c.arrival.given else "" for c in cards]
    findings: list[Finding] = []
    used = set(taken(book))
    for card, id_ in zip(cards, own, strict=True):
        if id_ and id_.casefold() in used:
            findings.append(_fault(card, ID, "id-taken", f"{id_} is in use already"))
        elif id_ and (wrong := kinds.why_unsafe(id_)):
            findings.append(_fault(card, ID, "unsafe-id", wrong))
        used.add(id_.casefold())
    wanting = [i for i, c in enumerate(cards) if c.cylinder and not own[i]]
    by_use: dict[Use | None, list[int]] = {}
    for i in wanting:
        by_use.setdefault(_use(cards[i]), []).append(i)
    for use, places in by_use.items():
        if use is None:
            text = "what it is kept for is not said"
            mend = f"say so with --use or a column `use`: {', '.join(u.value for u in Use)}"
            # a use that was given and not understood is told already
            unsaid = [cards[i] for i in places if "use" not in cards[i].arrival.given]
            findings += [_fault(card, "use", "no-use", text, mend) for card in unsaid]
            continue
        try:
            ids = next_ids(book, use, len(places), frozenset(used))
        except ValueError as error:
            findings.append(_fault(cards[places[0]], ID, "no-id", str(error)))
            continue
        for i, id_ in zip(places, ids, strict=True):
            own[i] = id_
    return own, findings


def _use(card: ArrivalCard) -> Use | None:
    return card.cylinder.use if card.cylinder else None


_ONCE = "name each cylinder once; where two are stamped alike, book the second in by itself"


def _twice(cards: list[ArrivalCard]) -> Iterator[Finding]:
    """Cylinders that a request names twice, by their serials and makers."""
    before: dict[str, set[str]] = {}
    for card in cards:
        if card.cylinder is None:
            continue
        serial, maker = card.cylinder.serial, normal(card.cylinder.maker or "")
        makers = before.setdefault(normal(serial), set())
        if makers and (not maker or {maker, ""} & makers):
            text = f"serial {serial} of this maker is named twice"
            yield _fault(card, "serial", "named-twice", text, _ONCE)
        makers.add(maker)


def _fault(card: ArrivalCard, key: str, code: str, text: str, mend: str = "") -> Finding:
    given = card.arrival.given.get(key) or next(iter(card.arrival.given.values()), said(""))
    where = Where(card.arrival.place, given.start.line, given.start.column)
    return Finding(where, code, text, mend)


# --- checks --------------------------------------------------------------------------------------


def _checked(book: Book, cylinders: list[Cylinder], today: dt.date) -> list[Finding]:
    """What the checks of `validate` say of the new cards, beside those that are there."""
    new = {c.id: c for c in cylinders}
    beside = replace(book, cylinders={**book.cylinders, **new}).as_known_on(today)
    found = ahead_of(book, cylinders, today)
    for c in cylinders:
        found += of_card(beside, beside.cylinders[c.id], today)
    return [_weighed(f) for f in found if f.code not in _NOT_ASKED]


_TOLD_APART = (
    "one cylinder, one file; where both stamps were read and they are two, add "
    f"--set '{NOT_SAME}=ID: how they differ'"
)


def _weighed(found: Finding) -> Finding:
    """A slip of the request refuses it. Any other fault is a true fact that keeps a cylinder from
    being filled, and not from being recorded."""
    if found.code in SLIPS:
        mend = _TOLD_APART if found.code == "serial-twin" else found.mend
        return replace(found, severity=Severity.FAULT, mend=mend)
    fault = found.severity is Severity.FAULT
    return replace(found, severity=Severity.WARN) if fault else found


_NOT_ASKED = frozenset({"no-marks", "not-certified", "status"})


def with_test_pressure(
    book: Book, card: ArrivalCard, by: str, like: Cylinder | None = None
) -> ArrivalCard:
    """The card with the test pressure that its specification prescribes, where a row says it."""
    if card.cylinder is None or card.findings or card.cylinder.test_pressure:
        return card
    found = _prescribed(book, card.cylinder)
    if found is None:
        return card
    pressure, row = found
    given = {**card.arrival.given, "test_pressure": said(str(pressure))}
    more = card_of(replace(card.arrival, given=given), like, book.settings.units, by)
    note = f"test pressure {pressure}: {row.ratio or 'the least'} of service pressure"
    more.arrival = card.arrival
    more.notes.append(f"{note} ({row.citation})")
    return more


def _prescribed(book: Book, cylinder: Cylinder) -> tuple[GaugePressure, RuleRow] | None:
    rules, service = rules_of(book), cylinder.service_pressure
    facts = facts_of(cylinder, rules)
    rows = [r for r in rules.rows[Obligation.TEST_PRESSURE] if _prescribes(r, facts)]
    if service is None or facts.permit or len(rows) != 1:
        return None
    (row,) = rows
    wanted = service.to(service.unit) * float(row.ratio) if row.ratio else 0.0
    wanted = max(wanted, row.at_least.to(service.unit)) if row.at_least else wanted
    # rounded down: a burst disc is compared with it
    return (GaugePressure.of(float(int(wanted + 1e-6)), service.unit), row) if wanted else None


def _prescribes(row: RuleRow, facts: CylinderFacts) -> bool:
    """Whether a row gives the test pressure of a specification that it names. One that speaks of a
    whole family sets the least that is taken here: what is marked is not worked out from it."""
    named = map(normal, row.applies_to.specification if row.applies_to else ())
    return row_applies(row, facts) and not set(facts.specifications).isdisjoint(named)


# --- what is still to be done --------------------------------------------------------------------

_AFTER_INSPECTION = {"visual-missing", "visual-overdue"}


def to_do(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    """What is still to be done before a cylinder may be filled, and for sale stock, sold."""
    cylinder = book.cylinders[id_]
    refusals = may_fill(book, id_, today, station=False).refusals
    waiting = cylinder.status is Status.AWAITING_INSPECTION
    found = ["inspect it"] if waiting else []
    for reason in refusals:
        if waiting and (reason.code in _AFTER_INSPECTION or reason.code.startswith("standing")):
            continue
        found.append(reason.text)
    return (*found, *_before_sale(book, cylinder))


def _before_sale(book: Book, cylinder: Cylinder) -> Iterator[str]:
    policy = book.settings.sticker
    if cylinder.use is not Use.SALE or policy is None:
        return
    if policy.policy is StickerPolicy.AT_HAND_OVER:
        yield "its sticker goes on at hand-over"
    if policy.second_look:
        yield f"a second outside look within {policy.second_look} before hand-over"


def _grouped(work: dict[str, tuple[str, ...]]) -> Iterator[str]:
    """One line for all that need the same."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for id_, what in work.items():
        groups.setdefault(what, []).append(id_)
    for what, ids in groups.items():
        who = ids[0] if len(ids) == 1 else f"{ids[0]} to {ids[-1]} ({len(ids)})"
        if len(groups) > 1 and len(ids) > 1:
            who = ", ".join(ids)
        yield f"{who}: still to do: {'; '.join(what)}" if what else f"{who}: nothing to do"
