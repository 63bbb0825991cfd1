"""What can be wrong with what was written of the work on a valve."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import HEARD_OUT, standing
from tankbook.records.settings import People
from tankbook.records.valve import ValveWork, out_of_order
from tankbook.records.words import Bled, ValveDone
from tankbook.rules.checks.declared import ADVICE, FAULT, WARN, Says, on_cylinder
from tankbook.rules.flow import bled_of
from tankbook.rules.signing import why_nobody_to_ask

_OF_INSERT = frozenset({"insert", "insert_in"})
_STAYS = frozenset({ValveDone.INSERT, ValveDone.READ})


@on_cylinder("valve-work-differs", FAULT, since="0.2")
def work_says_one_thing(card: Cylinder) -> Iterator[Says]:
    """What was done to a valve and how it was done go together."""
    for work in standing(card.valve_work):
        for key, text in _at_odds(work):
            mend = "write what was done; strike it out if it is wrong (`tankbook correct`)"
            yield Says(work.source.at(key), f"its valve work of {work.on}: {text}", mend)


def _at_odds(work: ValveWork) -> Iterator[tuple[str, str]]:
    """Each key that does not go with what was done, and why."""
    if work.is_other and work.stayed_on:
        yield "stayed_on", f"a valve that is {work.did} does not stay on"
    if work.did in _STAYS and work.stayed_on is False:
        yield "stayed_on", f"for `{work.did}` no valve comes off"
    if work.stayed_on and work.bled in HEARD_OUT:
        yield "bled", "it was bled empty, and the valve stayed on with the gas in"
    if work.is_off and work.bled is Bled.NO_FLOW:
        yield "bled", "no flow was heard, and the valve came off"
    for key in work.facts if work.did is ValveDone.INSERT else ():
        if key not in _OF_INSERT:
            yield key, f"an insert says nothing of its {key.replace('_', ' ')}"


@on_cylinder("no-flow-released", FAULT, since="0.2")
def is_let_go_once_let_out(card: Cylinder, taken_for_full: bool) -> Iterator[Says]:
    """What let no flow be heard is held till somebody says how it was let out after all."""
    for held in standing(card.held) if taken_for_full else ():
        if bled_of(held) is Bled.NO_FLOW and held.released is not None:
            text = (
                f"no flow was heard on {held.on} when it was bled, and it was released on"
                f" {held.released} with no word of how it was let out: it is taken for full"
            )
            mend = "say how: `released_bled: heard`, or `under-control`; or hold it for that again"
            yield Says(held.source.at("released"), text, mend)


@on_cylinder("valve-work-unsigned", FAULT, since="0.2")
def work_is_signed(
    card: Cylinder, people: People, looked_inside: Sequence[dt.date]
) -> Iterator[Says]:
    """Whoever worked on a valve, or read it, is one of the ledger's people or a firm by its name:
    which valve is on rests on their word. A look inside since has read it again."""
    for work in standing(card.valve_work):
        wrong = why_nobody_to_ask(people, work.by, work.on)
        if wrong:
            past = any(day >= work.on.last for day in looked_inside)
            text = f"its valve work of {work.on} ({work.did}) is on record, and {wrong}"
            mend = "look inside it (`tankbook inspect`); or write who did it: `by:`"
            yield Says(
                work.source.at("on"), text, mend, ADVICE if past else None if work.by else WARN
            )


@on_cylinder("valve-work-undated", FAULT, since="0.2")
def work_is_in_order(card: Cylinder) -> Iterator[Says]:
    """Which valve is on follows from the days, where two entries say two things of it."""
    entry = out_of_order(card.valve_, card.valve_work)
    if entry is not None:
        text = f"its valve work of {entry.on} came before or after other work of that month"
        mend = "write its day: which valve is on hangs on it"
        yield Says(entry.source.at("on"), text, mend)
