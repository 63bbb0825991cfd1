"""Handing a sold cylinder over: the sticker policy asked, the slip's data, the record closed."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.common import (
    Draft,
    act_of,
    happened_reasons,
    reference_reasons,
    refusal,
    signer_reasons,
    text_reasons,
)
from tankbook.acts.leaving import (
    LEFT,
    NOTHING_SHOWN,
    Showing,
    asked_of_gas,
    seen_now,
    shown_reasons,
)
from tankbook.acts.rent import fact_note
from tankbook.acts.soundness import sound
from tankbook.acts.stickers import number_aside, numbers_used
from tankbook.gas import AIR
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, stays_with_owner
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import GasAnalysed, HandedOver, Inspected
from tankbook.records.words import Use
from tankbook.rules.answers import Contents, Due, MayFill
from tankbook.rules.as_it_was import as_it_was
from tankbook.rules.conditions import cleaned_for
from tankbook.rules.fill_history import sets_with
from tankbook.rules.gate import may_fill
from tankbook.rules.hand_over import may_hand_over
from tankbook.rules.labels import found_since
from tankbook.rules.limits import limit_of
from tankbook.rules.old_alloy import said_of
from tankbook.rules.own_analysis import otherwise_in
from tankbook.rules.schedule import due_of_cylinder
from tankbook.rules.workshop import open_jobs
from tankbook.units import GaugePressure, Money, PartialDate, Temperature
from tankbook.units.patterns import pattern

_SLIP = pattern(r"([0-9]{4})-([0-9]{1,6})")


class Slip(Struct, frozen=True):
    """What the buyer is given in writing."""

    number: str
    on: dt.date
    by: str
    to: str
    cylinder: Cylinder
    price: Money | None
    limit: GaugePressure | None
    reference: Temperature | None
    contents: Contents
    dues: tuple[Due, ...]
    sticker_month: PartialDate | None
    sticker_number: str
    alloy: str = ""
    """What is said of it where it is of 6351, or may be."""
    analysed: GasAnalysed | None = None
    """What the buyer analysed, and wrote."""
    answer: MayFill | None = None
    """Whether it might be filled that day, whatever the state of the station."""
    cleaned_for: str = ""
    """What it may be said to be cleaned for; empty where nothing is recorded."""
    since: tuple[str, ...] = ()
    """What was found since against breathing what was given."""
    doubt: str = ""
    """At what hour it left is not on record, and what that day's lines tell of it (`AsItWas`)."""
    pressure_unknown: bool = False
    """As `doubt`, of its pressure alone."""
    otherwise: str = ""
    """How what its buyer analysed is not of what it held, by what is on record now."""

    @property
    def hour_unknown(self) -> bool:
        """Whether what it held is not known, for want of the hour."""
        return bool(self.doubt)


class Sale(Struct, frozen=True):
    """What is said of a hand-over. Empty or None takes the cylinder's price and the next slip."""

    to: str
    price: Money | None = None
    slip: str = ""
    sticker_number: str = ""
    shown: Showing = NOTHING_SHOWN
    happened: str = ""
    """Why it is recorded whatever keeps it here: it has left already."""


def hand_over(
    book: Book, id_: str, sale: Sale, *, by: str, on: dt.date, at: dt.time | None = None
) -> Act | Refusal:
    """Hand a cylinder over: refused with every reason, or recorded as sold, its sticker put on."""
    reasons = reference_reasons("to", sale.to) + signer_reasons(book, by, on)
    reasons += text_reasons(slip=sale.slip, sticker_number=sale.sticker_number)
    reasons += happened_reasons(sale.happened) + shown_reasons(sale.shown)
    seen, unseen = seen_now(book, [sale.to], sale.shown, by=by, on=on)
    reasons += unseen
    cylinder = book.cylinders.get(id_)
    if cylinder is None:
        what = "a set: hand its cylinders over one by one" if id_ in book.sets else "not readable"
        return refusal([*reasons, f"{id_} is {what}"])
    known = book.as_known_on(on)
    asked = may_hand_over(known, id_, on)
    if asked.sticker_first and not sale.sticker_number:
        sale = replace(sale, sticker_number=number_aside(book, cylinder) or "")
    of_gas = asked_of_gas(known, id_, sale.shown.taken(id_, sale.to), on, by=by)
    against = tuple(dict.fromkeys((*asked.reasons, *of_gas.against)))
    if not sale.happened:
        reasons += [f"{id_}: {text}; {LEFT}" for text in against]
    reasons += _not_for_sale(book, cylinder)
    number, used = sale.slip or next_slip(book, on), slips_used(book)
    if number in used:
        reasons.append(f"slip {number} is used already, for {used[number]}")
    reasons += _sticker_number(book, id_, sale, asked.sticker_first)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    draft = Draft(cylinder)
    if asked.sticker_first and asked.full is not None:
        full = _as_written(cylinder, asked.full)
        more = {"sticker_number": sale.sticker_number} if sale.sticker_number else {}
        draft = draft.amend("inspected", full, sticker_on=on, **more)
    price = sale.price or cylinder.price
    note = fact_note(sale.happened, against) if sale.happened else None
    entry = HandedOver(
        on=PartialDate.of(on), by=by, to=sale.to, price=price, slip=number,
        analysed=sale.shown.analysed.get(id_), note=note, at=at,
    )  # fmt: skip
    draft = draft.enter("handed_over", entry).stand(book)
    put_on = f", sticker {asked.month} put on" if asked.sticker_first else ""
    cost = f" for {price}" if price else ""
    fact = "Logged as a fact: handed" if sale.happened else "Handed"
    sentence = f"{fact} {id_} over to {sale.to}{cost}, slip {number}{put_on}, by {by}"
    sentence = "; ".join(dict.fromkeys([sentence, *asked.loud, *of_gas.loud]))
    notes = (
        "show the buyer the slip, and have what it holds analysed in front of them",
        *((f"it was sold for {cylinder.owner}, whose it was",) if cylinder.owner else ()),
        *(f"WARNING: {text}" for text in asked.warnings),
        *(f"WARNING: {text}" for text in (*against, *of_gas.warnings)),
    )
    act = act_of("hand-over", [draft], sentence, notes, seen)
    return sound(book, act, [draft], on, fact=bool(sale.happened))


def _as_written(cylinder: Cylinder, known: Inspected) -> Inspected:
    """The entry that was known on the day as its file has it, whatever became of it since."""
    node = known.source.node
    entries = (i for i in cylinder.inspected if i.source.node is node or i == known)
    return next(entries)


def _not_for_sale(book: Book, cylinder: Cylinder) -> list[str]:
    """What keeps a cylinder from being sold, besides what would keep it from being filled."""
    found = []
    if stays_with_owner(cylinder):
        already = f"{cylinder.id} is a customer's already: it is collected, not sold"
        sold = "; where you sell it for them, `use: sale` on its card says so; where you bought it"
        found.append(f"{already}{sold} from them, take `owner:` off it too")
    elif cylinder.use is not Use.SALE:
        kept = cylinder.use.value if cylinder.use else "nothing recorded"
        found.append(f"{cylinder.id} is kept for {kept}: set `use: sale` before it is sold")
    found += [
        f"{cylinder.id} is one side of {name}: take the set apart first"
        for name in sets_with(book).get(cylinder.id, ())
    ]
    found += [f"{cylinder.id} has work in hand since {j.on}" for j in open_jobs(cylinder)]
    return found


def _sticker_number(book: Book, id_: str, sale: Sale, sticker_first: bool) -> list[str]:
    numbered = book.settings.sticker is not None and book.settings.sticker.numbered
    number = sale.sticker_number
    if number and not (sticker_first and numbered):
        return ["no numbered sticker goes on it now: leave --sticker-number out"]
    if sticker_first and numbered and not number:
        return ["its sticker goes on now, and has a number: --sticker-number"]
    used = numbers_used(book, id_)
    if number in used:
        return [f"sticker {number} is used already, on {used[number]}"]
    return []


def slips_used(book: Book) -> dict[str, str]:
    """Every slip number ever used, struck-out sales too, and the cylinder it was for."""
    return {
        entry.slip: cylinder.id
        for cylinder in book.cylinders.values()
        for entry in cylinder.handed_over
        if entry.slip
    }


def next_slip(book: Book, on: dt.date) -> str:
    """The next slip number of the year: `2026-031` follows `2026-030`."""
    numbers = [
        int(found[2])
        for slip in slips_used(book)
        if (found := _SLIP.fullmatch(slip)) and int(found[1]) == on.year
    ]
    return f"{on.year}-{max(numbers, default=0) + 1:03}"


def slip_of(book: Book, id_: str, on: dt.date) -> Slip | None:
    """The slip of a cylinder that was handed over, as its records were known on the day it was: a
    fill or a test since is none of what the buyer was given. None where it was not handed over."""
    sales = [e for e in book.cylinders[id_].handed_over if e.void is None]
    if not sales:
        return None
    sold = sales[-1]
    day, now = min(sold.on.last, on), book
    left = as_it_was(book, id_, sold, day)
    book, contents = left.book, left.held
    cylinder = book.cylinders[id_]
    limit = limit_of(book, cylinder, contents.gas or AIR)
    asked = may_hand_over(book, id_, day)
    answer = may_fill(book, id_, day, contents.gas, station=False)
    return Slip(
        number=sold.slip or "",
        on=sold.on.first,
        by=sold.by or "",
        to=sold.to,
        cylinder=cylinder,
        price=sold.price,
        limit=limit.pressure if limit else None,
        reference=limit.reference if limit else None,
        contents=contents,
        dues=due_of_cylinder(book, cylinder, day),
        sticker_month=asked.month,
        sticker_number=(asked.full.sticker_number or "") if asked.full else "",
        alloy=said_of(book, cylinder),
        analysed=sold.analysed,
        answer=answer,
        cleaned_for=cleaned_for(book, cylinder, on),
        since=tuple(found_since(now, id_, contents, answer, day, on)),
        doubt=left.doubt,
        pressure_unknown=left.pressure_unknown,
        otherwise=otherwise_in(now, contents, sold.analysed),
    )
