"""What is read off a valve and a neck at the bench, and whether it may go together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.common import Draft
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.kinds import NoDisc
from tankbook.records.valve import Valve, ValveWork
from tankbook.records.words import Outlet, Service, StepResult, ValveDone
from tankbook.rules import chain
from tankbook.rules.cleanliness import OXYGEN_SAFE, is_for_oxygen
from tankbook.rules.conditions import unnamed
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.limits import limit_of
from tankbook.rules.test_pressure import disc_of, of_disc, test_pressure_of, too_low
from tankbook.rules.threads import is_unnamed, threads_match
from tankbook.units import GaugePressure, PartialDate, Torque

NECK, VALVE, DISC, OUTLET = "neck-thread-read", "valve-thread-read", "disc-rating", "outlet-rating"
LUBRICANT, DIP_TUBE, TORQUE = "lubricant", "dip-tube", "torque"
"""The steps of a checklist that something is read at."""


class Read(Struct, frozen=True):
    """What was read at the bench; what was not is empty.

    `same_valve` says that the valve that was on the cylinder goes back: its thread is the card's.
    """

    neck_thread: str = ""
    valve_thread: str = ""
    same_valve: bool = False
    outlet: Outlet | None = None
    rating: GaugePressure | None = None
    insert: GaugePressure | None = None
    insert_in: bool | None = None
    disc: GaugePressure | NoDisc | None = None
    torque: Torque | None = None
    lubricant: str = ""


def why_not_passed(
    book: Book, cylinder: Cylinder, seen: Read, asked: Mapping[str, StepResult]
) -> Iterator[str]:
    """What stands against a pass, of the neck and the valve.

    Args:
        book: the records and the rules in force.
        cylinder: the card as it is.
        seen: what was read.
        asked: the steps that were answered, with their results.
    """
    yield from _threads(cylinder, seen, asked)
    valve = cylinder.valve or Valve()
    yield from _fits(book, cylinder, seen, asked)
    if LUBRICANT in asked and cylinder.service in {Service.NITROX, Service.OXYGEN}:
        used = seen.lubricant or valve.lubricant or ""
        if not is_for_oxygen(used):
            what = f"`{used}`" if used else "not said"
            yield (
                f"it is for {cylinder.service}, and its lubricant is {what}; "
                f"--lubricant {OXYGEN_SAFE}, or --except {LUBRICANT}:hold"
            )


def _threads(cylinder: Cylinder, seen: Read, asked: Mapping[str, StepResult]) -> Iterator[str]:
    """Neck and valve are read apart; a valve that does not match its neck is never fitted."""
    card_valve = cylinder.valve.thread if cylinder.valve else None
    neck = seen.neck_thread or (cylinder.neck_thread or "" if NECK not in asked else "")
    valve = seen.valve_thread or (card_valve or "" if seen.same_valve else "")
    if NECK in asked and not neck:
        yield "the neck thread was not read; write it down as read with --neck-thread"
    if VALVE in asked and seen.same_valve and not valve:
        yield "the thread of its valve is not on the card; read it, with --valve-thread"
    elif VALVE in asked and not valve:
        yield "the valve thread was not read; write it down as read with --valve-thread"
    bare = [f"{n} thread `{t}`" for n, t in (("neck", neck), ("valve", valve)) if is_unnamed(t)]
    if bare:
        yield "; ".join(unnamed(bare))
    elif neck and valve and not threads_match(neck, valve):
        yield (
            f"neck thread {neck} and valve thread {valve} differ: a wrong valve can be shot out "
            f"under pressure; --except {VALVE}:hold records it as a finding"
        )
    card = cylinder.neck_thread
    if seen.neck_thread and card and not threads_match(seen.neck_thread, card):
        yield (
            f"the neck thread was read as {seen.neck_thread}, and the card says {card}; gauge it, "
            f"then correct the card or --except {NECK}:hold"
        )
    if VALVE in asked and not neck and NECK not in asked:
        yield "its neck thread is not on the card; the full checklist reads it"


def _fits(
    book: Book, cylinder: Cylinder, seen: Read, asked: Mapping[str, StepResult]
) -> Iterator[str]:
    """What is too low on the valve as it was read, by the judges that a fill asks."""
    valve = replace(cylinder.valve or Valve(), **_read(seen))
    card = replace(cylinder, valve_=valve, valve_work=())
    rules = rules_of(book)
    facts, limit = facts_of(card, rules), limit_of(book, card)
    if OUTLET in asked and limit and card.service_pressure:
        found = chain.of_valve(rules, facts, limit, card.service_pressure).conditions
        for each in found:
            if each.state == "below":
                yield f"{each.text}; --except {OUTLET}:hold records it as a finding"
    disc = disc_of(card)
    if DISC in asked and isinstance(disc, GaugePressure):
        found = tuple(of_disc(rules, facts, disc, test_pressure_of(book, card)))
        wrong = [c.text for c in found if c.state == "above-test-pressure"]
        for text in filter(None, (*wrong, too_low(card, limit))):
            yield f"{text}; --except {DISC}:hold records it as a finding"


def not_compared(
    cylinder: Cylinder, torque: Torque | None, asked: Mapping[str, StepResult]
) -> Iterator[str]:
    """What a pass leaves open because a figure is not on the card.

    Args:
        cylinder: the card with what was read.
        torque: what was entered.
        asked: the steps that were answered.
    """
    valve = cylinder.valve or Valve()
    if OUTLET in asked and valve.rating is None:
        yield "the valve's rating is not recorded (--valve-rating): it was compared with nothing"
    if DISC in asked and valve.disc is None:
        yield "its burst disc is not recorded (--disc, or `none`): it was compared with nothing"
    if TORQUE in asked and torque is None:
        yield "no maker's torque is on the card, and none was given (--torque): none is logged"


def fitted(
    draft: Draft[Cylinder],
    seen: Read,
    results: Mapping[str, StepResult],
    *,
    by: str,
    on: PartialDate,
) -> Draft[Cylinder]:
    """The card with what was read written on it."""
    cylinder = draft.record
    if seen.neck_thread and not cylinder.neck_thread:
        draft = draft.set("neck_thread", seen.neck_thread)
    card = cylinder.valve.thread if cylinder.valve else None
    other = not card or not threads_match(seen.valve_thread, card)
    facts = {
        "thread": seen.valve_thread if seen.valve_thread and other else None,
        **_read(seen),
        "lubricant": seen.lubricant or None,
        "dip_tube": True if results.get(DIP_TUBE) is StepResult.PASS else None,
    }
    return with_valve(draft, {k: v for k, v in facts.items() if v is not None}, by=by, on=on)


def _read(seen: Read) -> dict[str, Any]:
    """The pressures of a valve and how it is used, as far as they were read."""
    names = ("outlet", "rating", "insert", "insert_in", "disc")
    return {k: v for k in names if (v := getattr(seen, k)) is not None}


def with_valve(
    draft: Draft[Cylinder], facts: Mapping[str, Any], *, by: str, on: PartialDate
) -> Draft[Cylinder]:
    """The card with facts of its valve: of the one it came with where it is still on, else as an
    entry of the day they were read."""
    if standing(draft.record.valve_work):
        new = {k: v for k, v in facts.items() if getattr(draft.record.valve, k) != v}
        read = ValveWork(on=on, by=by or None, did=ValveDone.READ, **new)
        return draft.enter("valve_work", read) if new else draft
    before = draft.record.valve
    if before is None:
        return draft.set("valve", Valve(**facts)) if facts else draft
    for name, value in facts.items():
        if getattr(before, name) != value:
            draft = draft.set(("valve", name), value)
    return draft
