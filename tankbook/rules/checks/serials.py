"""One cylinder under two ids: serials that are the same, or that look the same."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tankbook.records.counter import CounterFile, Stolen
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.settings import Settings
from tankbook.rules.checks.declared import ADVICE, FAULT, WARN, Says, on_cylinder, on_files
from tankbook.rules.counter import (
    WHAT_TO_DO,
    said_of_stolen,
    why_not_seen,
    why_not_settled,
    why_not_struck,
)
from tankbook.rules.trained import SeenNoMore
from tankbook.rules.twins import Likeness, Twin


@on_cylinder("serial-twin", FAULT, since="0.2")
def serial_is_its_own(card: Cylinder, twins: Sequence[Twin]) -> Iterator[Says]:
    """No two cards carry one serial of one maker, whichever way it is written."""
    for twin in twins:
        if twin.likeness is Likeness.SAME:
            text = f"its serial {card.serial} of this maker is {twin.id} as well"
            text += f", which is {twin.status}" if twin.status else ""
            severity = None if twin.grave else WARN
            yield Says(card.source.at("serial"), text, _mend(twin), severity=severity)


@on_cylinder("serial-alike", WARN, since="0.2")
def serial_is_told_apart(card: Cylinder, twins: Sequence[Twin]) -> Iterator[Says]:
    """A serial that looks like another's, or may be another's, is told apart by somebody."""
    for twin in twins:
        if twin.likeness is not Likeness.SAME:
            text = f"its serial {card.serial} looks like {twin.serial} of {twin.id}"
            text += f", which is {twin.status}" if twin.status else ""
            text += "; one maker is not recorded" if twin.likeness is Likeness.MAKER_UNKNOWN else ""
            yield Says(card.source.at("serial"), text, _mend(twin))


@on_cylinder("serial-stolen", ADVICE)
def serial_is_not_stolen(card: Cylinder, stolen: Sequence[Stolen]) -> Iterator[Says]:
    """A serial that is recorded as stolen is told of the card that has it, or may have it; an
    answer tells it as its rule row says."""
    for entry in stolen:
        text = said_of_stolen(entry, card)
        yield Says(card.source.at("serial"), text, WHAT_TO_DO)


@on_files("not-settled", WARN, since="0.2")
def what_was_stolen_is_settled(counter: CounterFile | None, settings: Settings) -> Iterator[Says]:
    """A serial that is said to be found says how, by one of the ledger's people, on no day before
    it was stolen; it, a refusal and an incident are struck out by somebody who may."""
    kept = (
        (
            *((e, f"serial {e.serial}", "taken for stolen") for e in counter.stolen),
            *((e, f"the refusal of serial {e.serial}", "told") for e in counter.refused),
            *((e, f"the incident of {e.on}", "counted") for e in counter.incidents),
        )
        if counter
        else ()
    )
    for entry, what, so in kept:
        if entry.void is not None and (wrong := why_not_struck(entry, settings.people)):
            text = f"{what} is struck out, and {wrong}: it is {so} still"
            mend = "let somebody certified strike it out, or take `void:` away"
            yield Says(entry.void.source.at("by"), text, mend)
    for entry in standing(counter.stolen) if counter else ():
        if wrong := why_not_settled(entry, settings.people):
            text = (
                f"serial {entry.serial}: found {entry.found}, and {wrong}: it is taken for stolen"
            )
            mend = "say `found_why:` and `found_proof:`, and `found_by:` who may"
            yield Says(entry.source.at("found"), text, mend)


@on_files("seen-by-nobody", WARN, since="0.2")
def whoever_saw_it_is_known(counter: CounterFile | None, settings: Settings) -> Iterator[Says]:
    """What a user was seen to be trained for was seen by one of the ledger's people."""
    for entry in standing(counter.certified) if counter else ():
        if wrong := why_not_seen(entry, settings.people):
            text = (
                f"that {entry.reference} is trained for {entry.level} counts for nothing: {wrong}"
            )
            yield Says(entry.source.at("by"), text, "let one of the people see it, and sign")


@on_files("seen-no-more", WARN, since="0.2")
def whoever_has_it_was_seen_to_be_trained(seen_no_more: Sequence[SeenNoMore]) -> Iterator[Says]:
    """Nothing is out to somebody whose training for what it holds was struck out, and seen by
    nobody since."""
    for each in seen_no_more:
        levels = " and ".join(level.value for level in each.levels)
        text = f"{each.id} is out to {each.to}, and that they are trained ({levels}) was struck out"
        yield Says(each.struck.source.at("void"), text, each.mend)


def _mend(twin: Twin) -> str:
    return (
        "one cylinder, one file: join the two, or read both stamps and write "
        f"`not_same: {{id: {twin.id}, by: ..., why: HOW THEY DIFFER}}`"
    )
