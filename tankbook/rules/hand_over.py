"""May a cylinder be handed over for good? Its inspection's age, a second look, its sticker."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Inspected, standing
from tankbook.records.words import Sticker, Use
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import adverse_of, loud_of, may_fill
from tankbook.rules.signing import SEEN_STICKER, bench_of, counts_as_passed
from tankbook.rules.status import is_full_inspection
from tankbook.units import PartialDate


class HandOver(Struct, frozen=True):
    """Whether a cylinder may be handed over, and every reason why not.

    `full` is the full inspection it leaves with, whose month the sticker carries; `look` the second
    outside look, where the shop asks for one; `sticker_first` says that a withheld sticker must go
    on before it leaves; `warnings` are what its records tell besides, `loud` what the first line
    says of the rules it rests on.
    """

    id: str
    today: dt.date
    reasons: tuple[str, ...]
    full: Inspected | None
    look: Inspected | None
    sticker_first: bool
    warnings: tuple[str, ...] = ()
    loud: tuple[str, ...] = ()

    @property
    def allowed(self) -> bool:
        """It may be handed over."""
        return not self.reasons

    @property
    def month(self) -> PartialDate | None:
        """The month its sticker carries."""
        return PartialDate(self.full.on.year, self.full.on.month) if self.full else None


def may_hand_over(book: Book, id_: str, today: dt.date) -> HandOver:
    """Whether a cylinder may be handed over today, by the rules in force and the sticker policy.

    It must be one that could be filled, whatever the state of the station; its full inspection must
    not be older than `sticker: inspection_age`, and be followed by a second outside look not longer
    ago than `sticker: second_look`.

    Raises:
        KeyError: `id_` is no cylinder that could be read.
    """
    cylinder = book.cylinders[id_]
    full = full_inspection(book, cylinder)
    against = may_fill(book, id_, today, contents_of(book, id_).gas, station=False)
    reasons = [r.text for r in against.refusals]
    reasons += policy_reasons(book, cylinder, today, second_look=cylinder.use is Use.SALE)
    worn = full is not None and (full.sticker is Sticker.ISSUED or full.sticker_on is not None)
    if full is not None and full.sticker is Sticker.VOIDED:
        reasons.append("its sticker was voided and not replaced")
    return HandOver(
        id=id_,
        today=today,
        reasons=tuple(dict.fromkeys(reasons)),
        warnings=tuple(dict.fromkeys(w.text for w in adverse_of(against.warnings))),
        loud=loud_of([against]),
        full=full,
        look=look_again(book, cylinder, full, today) if full else None,
        sticker_first=full is not None and full.sticker is Sticker.WITHHELD and not worn,
    )


def full_inspection(book: Book, cylinder: Cylinder) -> Inspected | None:
    """The newest passed full inspection made here that counts: signed by somebody who may."""
    found = [
        i
        for i in standing(cylinder.inspected)
        if i.checklist != SEEN_STICKER
        and is_full_inspection(book, i.checklist)
        and counts_as_passed(bench_of(book), i)
    ]
    return found[-1] if found else None


def look_again(book: Book, cylinder: Cylinder, full: Inspected, today: dt.date) -> Inspected | None:
    """The newest passed look after the full inspection that counts and is recent enough by the
    policy. A sticker of another shop is none."""
    within = book.settings.sticker.second_look if book.settings.sticker else None
    looks = [
        i
        for i in standing(cylinder.inspected)
        if i is not full
        and counts_as_passed(bench_of(book), i)
        and i.checklist != SEEN_STICKER
        and i.on.first >= full.on.first
        and i.on.first <= today
        and (within is None or today <= i.on.plus(within).last)
    ]
    return looks[-1] if looks else None


def policy_reasons(
    book: Book, cylinder: Cylinder, today: dt.date, *, second_look: bool
) -> Iterator[str]:
    """What the shop's sticker policy has against a sticker, or a hand-over, today.

    Args:
        book: the records.
        cylinder: the cylinder.
        today: the day of the hand-over.
        second_look: whether the second outside look is asked for.
    """
    full = full_inspection(book, cylinder)
    if full is None:
        yield "no passed full inspection is on record"
        return
    policy = book.settings.sticker
    age = policy.inspection_age if policy else None
    if age and full.on.plus(age).last < today:
        yield f"its full inspection of {full.on} is older than {age}: inspect it again"
    asked = policy.second_look if policy and second_look else None
    if asked and look_again(book, cylinder, full, today) is None:
        how = "look it over and record that (`tankbook inspect --checklist outside`)"
        yield f"no second outside look within {asked} is on record: {how}"
