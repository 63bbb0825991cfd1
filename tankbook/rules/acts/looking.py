"""An inspection as told: what was answered and read, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tankbook.records.book import Book
from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import StepFinding
from tankbook.records.words import (
    InspectionResult,
    Status,
    StepResult,
    Sticker,
    StickerPolicy,
    Use,
)
from tankbook.rules.acts import bench
from tankbook.rules.acts.bench import Read
from tankbook.rules.acts.common import line_reasons
from tankbook.rules.acts.stickers import numbers_used
from tankbook.rules.acts.walk import outcome, steps_for
from tankbook.rules.conditions import CRACK_STEP
from tankbook.rules.standing import status_of

NOT_HERE = {
    Status.OUT: "record its return first",
    Status.AT_TEST: "record that it is back first",
    Status.AT_REPAIR: "record that it is back first",
    Status.LOST: "record that it was found first",
    Status.SOLD: "book it in as a customer's",
    Status.CONDEMNED: "it never holds gas again",
}
"""Where a cylinder is not on the bench, or has no business there."""


@dataclass(frozen=True, slots=True)
class Look:
    """One cylinder's inspection: an answer for every step that applies, and what was read.

    `told` says how the owner was told of a rejection, where that was done already.
    """

    id: str
    answers: tuple[StepFinding, ...]
    read: Read = Read()
    note: str = ""
    sticker_number: str = ""
    withhold: bool = False
    told: str = ""


def wrong_with(book: Book, known: Book, look: Look, followed: Checklist) -> Iterator[str]:
    """What is wrong with an inspection as told.

    Args:
        book: the records, all of them.
        known: the records as known on the day of the inspection.
        look: what was told.
        followed: the checklist.
    """
    cylinder = book.cylinders.get(look.id)
    if cylinder is None:
        if look.id in book.sets:
            sides = " and ".join(book.sets[look.id].cylinders)
            yield f"it is a set; inspect its cylinders {sides}, each by itself"
        else:
            yield "its file cannot be read; `tankbook validate` says why"
        return
    status = status_of(book, known.cylinders[look.id])
    if status in NOT_HERE:
        yield f"it is {status}: {NOT_HERE[status]}"
    try:
        steps = steps_for(followed, cylinder)
    except ValueError as error:
        yield str(error)
        return
    given = [a.step for a in look.answers]
    if given != [s.name for s in steps]:
        left = [s.name for s in steps if s.name not in given]
        yield f"not every step is answered once: {', '.join(left) or 'some are answered twice'}"
    asks = {s.name for s in steps if s.ask_threads}
    for each in look.answers:
        yield from _finding(each, each.step in asks)
    results = {a.step: a.result for a in look.answers}
    if outcome(look.answers) is InspectionResult.PASS:
        yield from bench.why_not_passed(cylinder, look.read, results)
    texts = {"note": look.note, "told": look.told, "neck_thread": look.read.neck_thread}
    texts |= {"valve_thread": look.read.valve_thread, "lubricant": look.read.lubricant}
    yield from line_reasons(**{k: v for k, v in texts.items() if v})
    for each in look.answers:
        seen = {"note": each.note, "position": each.position}
        yield from line_reasons(**{k: v for k, v in seen.items() if v})


def _finding(answer: StepFinding, ask_threads: bool) -> Iterator[str]:
    if answer.result is StepResult.PASS:
        return
    if answer.result is not StepResult.NOTE and not answer.note and answer.step != CRACK_STEP:
        yield f"{answer.step} is {answer.result} without a word on what was seen; add --note"
    if ask_threads and (answer.count is None or not answer.position):
        yield f"{answer.step}: how many threads, and where? give --count and --position"


def number_reasons(book: Book, looks: Sequence[Look], followed: Checklist) -> Iterator[str]:
    """What is wrong with the sticker numbers given, and where one is missing."""
    numbered = book.settings.sticker is not None and book.settings.sticker.numbered
    used = numbers_used(book)
    last = f" (the last one is {max(used)})" if used else ""
    for look in looks:
        number = look.sticker_number
        if not number and numbered and _earns_one(book, look, followed):
            yield f"{look.id}: stickers are numbered here; give --sticker-number{last}"
        elif number and not numbered:
            yield "stickers are not numbered here (`sticker: {numbered: yes}` in tankbook.yaml)"
        elif number in used:
            yield f"sticker {number} is used already, on {used[number]}"
        elif number:
            used[number] = look.id


def _earns_one(book: Book, look: Look, followed: Checklist) -> bool:
    cylinder = book.cylinders.get(look.id)
    if cylinder is None:
        return False
    result = outcome(look.answers)
    return sticker_for(book, cylinder, look, followed, result) is Sticker.ISSUED


def sticker_for(
    book: Book, cylinder: Cylinder, look: Look, followed: Checklist, result: InspectionResult
) -> Sticker | None:
    """What becomes of the sticker: only a passed full inspection earns one."""
    if not followed.full or result is not InspectionResult.PASS:
        return None
    policy = book.settings.sticker.policy if book.settings.sticker else StickerPolicy.AT_INSPECTION
    at_hand_over = policy is StickerPolicy.AT_HAND_OVER and cylinder.use is Use.SALE
    return Sticker.WITHHELD if look.withhold or at_hand_over else Sticker.ISSUED
