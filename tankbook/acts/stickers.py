"""Inspection stickers: putting a withheld one on, and voiding a number."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest

from tankbook.acts.common import (
    Draft,
    act_of,
    line_reasons,
    named,
    refusal,
    signer_reasons,
    text_reasons,
)
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Inspected
from tankbook.records.words import Sticker, StickerPolicy, Use
from tankbook.rules.hand_over import full_inspection, policy_reasons
from tankbook.units.patterns import pattern

_REPLACED = pattern(r"sticker (\S+) voided")


def numbers_used(book: Book, going_on: str = "") -> dict[str, str]:
    """Every sticker number ever used, voided ones too, and the cylinder it was used on; but for the
    one that was set aside for a cylinder whose sticker is `going_on` now."""
    found: dict[str, str] = {}
    for cylinder in book.cylinders.values():
        aside = number_aside(book, cylinder) if cylinder.id == going_on else None
        for entry in cylinder.inspected:
            numbers = _REPLACED.findall(entry.note or "")
            for number in (*numbers, entry.sticker_number):
                if number and number != aside:
                    found[number] = cylinder.id
    return found


def number_aside(book: Book, cylinder: Cylinder) -> str | None:
    """The number of the sticker that was withheld from a cylinder and is set aside for it."""
    entry = full_inspection(book, cylinder)
    withheld = entry is not None and entry.sticker is Sticker.WITHHELD and not entry.sticker_on
    return entry.sticker_number if entry is not None and withheld else None


def put_on(
    book: Book, ids: Sequence[str], *, by: str, on: dt.date, numbers: Sequence[str] = ()
) -> Act | Refusal:
    """Put the withheld sticker of each cylinder on.

    Args:
        book: the records, all of them.
        ids: the cylinders.
        by: initials of who puts them on.
        on: the day.
        numbers: the sticker numbers, one a cylinder, where the shop numbers them.
    """
    numbers = numbers or _aside(book, ids)
    reasons = signer_reasons(book, by, on) + list(_numbers(book, ids, numbers))
    drafts = []
    for place, id_ in enumerate(ids):
        cylinder = book.cylinders.get(id_)
        if cylinder is None:
            what = "it is a set; name its cylinders" if id_ in book.sets else "it cannot be read"
            reasons.append(f"{id_}: {what}")
            continue
        entry, wrong = _withheld(book, cylinder, on)
        reasons += [f"{id_}: {w}" for w in wrong]
        if entry is not None and not wrong:
            values: dict[str, object] = {"sticker_on": on}
            if place < len(numbers):
                values["sticker_number"] = numbers[place]
            drafts.append((Draft(cylinder).amend("inspected", entry, **values), entry))
    if reasons:
        return refusal(dict.fromkeys(reasons))
    months = dict.fromkeys(f"{e.on.year}-{e.on.month:02d}" for _, e in drafts)
    sentence = f"Put the sticker on {named(ids)}: month {', '.join(months)}"
    return act_of("sticker", [d for d, _ in drafts], sentence)


def _aside(book: Book, ids: Sequence[str]) -> tuple[str, ...]:
    """The numbers set aside for all of these cylinders, or none."""
    cylinders = [book.cylinders.get(id_) for id_ in ids]
    found = [number_aside(book, c) if c is not None else None for c in cylinders]
    return tuple(n for n in found if n) if all(found) else ()


def _withheld(book: Book, cylinder: Cylinder, on: dt.date) -> tuple[Inspected | None, list[str]]:
    """The inspection whose sticker is withheld, and what stands against putting it on."""
    entry = full_inspection(book, cylinder)
    if entry is None:
        return None, ["no passed full inspection is on record: there is no sticker to put on"]
    if entry.on.first > on:
        return None, [f"its full inspection of {entry.on} is later than {on}"]
    if entry.sticker is not Sticker.WITHHELD:
        return None, [f"its sticker of {entry.on} is not withheld ({entry.sticker or 'none'})"]
    if entry.sticker_on is not None:
        return None, [f"its sticker is on since {entry.sticker_on}"]
    policy = book.settings.sticker
    at_hand_over = policy is not None and policy.policy is StickerPolicy.AT_HAND_OVER
    second = at_hand_over and cylinder.use is Use.SALE
    return entry, list(policy_reasons(book, cylinder, on, second_look=second))


def _numbers(book: Book, ids: Sequence[str], numbers: Sequence[str]) -> Iterator[str]:
    numbered = book.settings.sticker is not None and book.settings.sticker.numbered
    if numbers and not numbered:
        yield "stickers are not numbered here (`sticker: {numbered: yes}` in tankbook.yaml)"
    elif numbered and len(numbers) != len(ids):
        yield f"{len(numbers)} sticker numbers for {len(ids)} cylinders; give --number for each"
    taken: dict[str, str] = {}
    for id_, number in zip_longest(ids, numbers, fillvalue=""):
        yield from text_reasons(number=number)
        used = numbers_used(book, id_) | taken
        if number in used:
            yield f"sticker {number} is used already, on {used[number]}"
        taken |= {number: "another of these"} if number else {}


def void_number(
    book: Book, number: str, *, why: str, by: str, on: dt.date, instead: str = ""
) -> Act | Refusal:
    """Void a sticker number, and enter the number of the sticker that replaces it, if any.

    The voided number stays in the entry's note, so that it is never used again.
    """
    reasons = signer_reasons(book, by, on) + line_reasons(why=why, void=number)
    reasons += text_reasons(number=instead)
    if reasons:
        return refusal(reasons)
    found = _entry_of(book, number)
    if found is None:
        known = numbers_used(book).get(number)
        text = f"voided already, on {known}" if known else "on no cylinder"
        reasons.append(f"sticker {number} is {text}")
    if instead and instead in numbers_used(book):
        reasons.append(f"sticker {instead} is used already, on {numbers_used(book)[instead]}")
    if reasons or found is None:
        return refusal(reasons)
    cylinder, entry = found
    said = f"sticker {number} voided {on} by {by}: {why}"
    note = f"{entry.note}; {said}" if entry.note else said
    values: Mapping[str, object] = {"note": note, "sticker": Sticker.VOIDED}
    if instead:
        values = {"note": note, "sticker_number": instead}
    draft = Draft(cylinder).amend("inspected", entry, **values)
    after = f", replaced by {instead}" if instead else ""
    sentence = f"Voided sticker {number} of {cylinder.id}{after}: {why}"
    return act_of("sticker", [draft], sentence)


def _entry_of(book: Book, number: str) -> tuple[Cylinder, Inspected] | None:
    """The standing entry that a sticker number in force belongs to."""
    for cylinder in book.cylinders.values():
        for entry in cylinder.inspected:
            in_force = entry.sticker is not Sticker.VOIDED and entry.void is None
            if entry.sticker_number == number and in_force:
                return cylinder, entry
    return None
