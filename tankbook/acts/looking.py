"""An inspection as told: what was answered and read, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from tankbook.acts import bench
from tankbook.acts.bench import Read
from tankbook.acts.common import UNREADABLE, line_reasons, text_reasons
from tankbook.acts.open_against import named_in, open_against, way_out
from tankbook.acts.stickers import numbers_used
from tankbook.acts.walk import looks_for_cracks, outcome, steps_for
from tankbook.records.book import Book
from tankbook.records.checklist import Checklist, ChecklistStep
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import StepFinding
from tankbook.records.finding import FindingRow
from tankbook.records.kinds import Adverse
from tankbook.records.words import (
    ChecklistGroup,
    InspectionResult,
    Seen,
    Status,
    StepResult,
    Sticker,
    StickerPolicy,
    Use,
)
from tankbook.rules.fill_history import not_here
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.seen import rows_for, seen_in

_NOT_HERE = {
    Status.OUT: "record its return first",
    Status.AT_TEST: "record that it is back first",
    Status.AT_REPAIR: "record that it is back first",
    Status.AT_SUPPLIER: "record that it is back first",
    Status.LOST: "record that it was found first",
    Status.SOLD: "book it in as a customer's",
    Status.CONDEMNED: "it never holds gas again",
}
"""Where a cylinder is not on the bench, or has no business there."""


class Look(Struct, frozen=True):
    """One cylinder's inspection: an answer for every step that applies, and what was read.

    `told` says how the owner was told of a rejection, where that was done already. `clears` names
    what a pass answers, as typed; `why` says on what ground a hold it names is let go.
    """

    id: str
    answers: tuple[StepFinding, ...]
    read: Read = Read()
    note: str = ""
    sticker_number: str = ""
    withhold: bool = False
    told: str = ""
    clears: tuple[str, ...] = ()
    why: str = ""


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
            yield UNREADABLE
        return
    gone = not_here(known, known.cylinders[look.id])
    if gone:
        yield f"it is {gone}: {_NOT_HERE[gone]}"
    try:
        steps = steps_for(followed, cylinder)
    except ValueError as error:
        yield str(error)
        return
    given = [a.step for a in look.answers]
    if given != [s.name for s in steps]:
        left = [s.name for s in steps if s.name not in given]
        yield f"not every step is answered once: {', '.join(left) or 'some are answered twice'}"
    by_name = {s.name: s for s in steps}
    rows = rows_for(book, cylinder)
    for each in look.answers:
        if each.step in by_name:
            yield from _finding(each, by_name[each.step], rows)
    passed = outcome(look.answers) is InspectionResult.PASS
    if words := seen_in(look.note, rows):
        yield (
            f"the note says `{next(iter(words))}`: record that at its step, with --except "
            "STEP:hold and --what"
        )
    elif passed and (said := says_giving_way(look.note)):
        yield (
            f"the note says `{said}`, and it would pass: record that at its step, with --except "
            "STEP:hold; what was put right, with --except STEP:note and --note STEP:TEXT"
        )
    if look.clears or look.why:
        yield from _clearing(known, look)
    results = {a.step: a.result for a in look.answers}
    if passed:
        yield from bench.why_not_passed(book, cylinder, look.read, results)
    yield from text_reasons(
        note=look.note,
        told=look.told,
        why=look.why,
        neck_thread=look.read.neck_thread,
        valve_thread=look.read.valve_thread,
        lubricant=look.read.lubricant,
    )
    for each in look.answers:
        yield from text_reasons(note=each.note, position=each.position)


def _finding(answer: StepFinding, step: ChecklistStep, rows: Sequence[FindingRow]) -> Iterator[str]:
    if answer.result is StepResult.PASS:
        return
    told = answer.note or answer.what
    if answer.result is not StepResult.NOTE and not told and not looks_for_cracks(answer.step):
        yield f"{answer.step} is {answer.result} without a word on what was seen; add --note"
    if step.ask_threads and (answer.count is None or not answer.position):
        yield f"{answer.step}: how many threads, and where? give --count and --position"
    if answer.what is None:
        yield from _unsaid(answer, step, rows)
    elif step.group is ChecklistGroup.VALVE and answer.what in _OF_THE_BODY:
        yield (
            f"{answer.step}: --what {answer.what} is of the cylinder, and this step is about its "
            "valve: replace the valve, or record it where the neck and the wall are looked at"
        )


_AT_CRACKS = (Seen.SUSPECTED_CRACK, Seen.CRACK, Seen.FOLD, Seen.TOOL_MARK)
_OF_THE_BODY = frozenset({Seen.SUSPECTED_CRACK, Seen.CRACK, Seen.HEAT})


def _unsaid(answer: StepFinding, step: ChecklistStep, rows: Sequence[FindingRow]) -> Iterator[str]:
    """That it must be said what was found: cracks, heat and water are never left to a note."""
    words = words_of(answer, step, rows)
    kinds = dict.fromkeys(k for each in words.values() for k in each)
    if looks_for_cracks(answer.step):
        kinds = dict.fromkeys((*_AT_CRACKS, *kinds))
        yield f"{answer.step}: what is it? give --what, one of {', '.join(kinds)}"
    elif words:
        said = "`, `".join(words)
        yield (
            f"{answer.step}: the note says `{said}`: say what it is with --what, such as "
            f"{' or '.join(kinds)}"
        )
    if answer.depth is not None or answer.length is not None:
        yield f"{answer.step}: of what is that the measure? give --what"


def words_of(
    answer: StepFinding, step: ChecklistStep, rows: Sequence[FindingRow]
) -> dict[str, tuple[Seen, ...]]:
    """The words in the note of a finding that say what it may be.

    That threads are meant is plain where threads are asked about; what is found of a valve is none
    of the cylinder's.
    """
    if step.group is ChecklistGroup.VALVE:
        return {}
    return seen_in(answer.note, rows, {Seen.THREAD} if step.ask_threads else ())


def _clearing(known: Book, look: Look) -> Iterator[str]:
    """What is wrong with the names of what a pass is to answer."""
    if outcome(look.answers) is not InspectionResult.PASS:
        yield "--clears goes with a pass: what is held or rejected answers nothing"
        return
    found, wrong = named_in(look.clears, open_against(known, known.cylinders[look.id]))
    yield from wrong
    for each in found:
        if not each.by_look:
            way = way_out(look.id, each)
            yield f"no inspection answers {each}: {way}"
    holds = [o for o in found if o.what is Adverse.HELD]
    if look.why and not holds and not wrong:
        yield '--why says on what ground a hold is let go: name it, as in --clears "held DATE"'
    if look.why and len({o.on for o in holds}) < len(holds):
        yield "it is held twice for different reasons: let each go with `tankbook release`"


def number_reasons(book: Book, looks: Sequence[Look], followed: Checklist) -> Iterator[str]:
    """What is wrong with the sticker numbers given, and where one is missing."""
    numbered = book.settings.sticker is not None and book.settings.sticker.numbered
    used = numbers_used(book)
    last = f" (the last one is {max(used)})" if used else ""
    for look in looks:
        number = look.sticker_number
        if number and (wrong := line_reasons(sticker_number=number)):
            yield from wrong
        elif not number and numbered and _earns_one(book, look, followed):
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
