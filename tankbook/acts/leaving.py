"""What every act by which a cylinder leaves asks of the user, and keeps of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from tankbook.acts.common import reference_reasons, signer_reasons, text_reasons, uncertified
from tankbook.acts.counter import entered, unread
from tankbook.gas.depth import USUAL_LEAST
from tankbook.records.book import Book
from tankbook.records.counter import Certified
from tankbook.records.edits import Edit
from tankbook.records.entries import GasAnalysed
from tankbook.records.rulerow import Gate
from tankbook.records.words import UserLevel
from tankbook.rules.answers import Reason
from tankbook.rules.fill_history import contents_of
from tankbook.rules.lean import lean_said, told_oxygen
from tankbook.rules.leaving import Taken, filled_while_shut, gas_leaving
from tankbook.rules.signing import of_people
from tankbook.rules.trained import certified_as
from tankbook.units import PartialDate


class Showing(Struct, frozen=True):
    """What the user showed and wrote as something left: what each cylinder was analysed at, and
    what they were seen to be trained for, with what was seen."""

    analysed: Mapping[str, GasAnalysed] = {}
    level: UserLevel | None = None
    card: str = ""

    def taken(self, id_: str, reference: str, *, lent: bool = False) -> Taken:
        """Of one cylinder, by a reference."""
        return Taken(reference, self.analysed.get(id_), self.level, lent)


NOTHING_SHOWN = Showing()

LEFT = "where it has left already, record that with --happened"


class OfGas(Struct, frozen=True):
    """What stands against the gas that leaves, what is told of it, and what line one says."""

    against: tuple[str, ...]
    warnings: tuple[str, ...]
    loud: tuple[str, ...]


def asked_of_gas(book: Book, id_: str, taken: Taken, today: dt.date, *, by: str) -> OfGas:
    """What the rows have against its leaving, and what only somebody certified lets go; the book is
    as known today."""
    found = gas_leaving(book, id_, taken, today)
    others = filled_while_shut(book, id_, today) if uncertified(book, by, today) else ""

    def texts(each: Iterable[Reason]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(f"{r.text}; {r.mend}" if r.mend else r.text for r in each))

    return OfGas(
        (*texts(r for r in found if r.gate is Gate.REFUSE), *filter(None, (others,))),
        (
            *texts(r for r in found if r.gate is not Gate.REFUSE and not r.loud),
            *_signed_here(book, taken, today),
            *_too_lean(book, id_, taken),
        ),
        texts(r for r in found if r.loud),
    )


def _signed_here(book: Book, taken: Taken, today: dt.date) -> Iterator[str]:
    """That what the user analysed is signed with the initials of one of the ledger's people."""
    initials = (taken.analysed.initials or "") if taken.analysed else ""
    if of_people(initials, book.settings.people, today):
        yield (
            f"{initials} is one of the people here: whoever takes it analyses it, and writes their "
            "own initials"
        )


def _too_lean(book: Book, id_: str, taken: Taken) -> Iterator[str]:
    """That the gas is low in oxygen by what is on record or by what the user analysed, whichever is
    less, and from where on it may be breathed."""
    shares = [told_oxygen(contents_of(book, id_))]
    shares += [taken.analysed.oxygen.percent] if taken.analysed else []
    least = min((share for share in shares if share is not None), default=None)
    said, deep = lean_said(least, book.settings.least_oxygen_pressure or USUAL_LEAST)
    if said:
        yield f"LOW OXYGEN: {said}" + (f", least depth {deep}" if deep else "")


def shown_reasons(shown: Showing) -> list[str]:
    """Why what was shown cannot be written."""
    reasons = text_reasons(card=shown.card)
    reasons += [r for a in shown.analysed.values() for r in text_reasons(user=a.initials)]
    if shown.card and shown.level is None:
        reasons.append("--card says what was seen for --certified: give both")
    return reasons


def seen_now(
    book: Book,
    references: Sequence[str],
    shown: Showing,
    *,
    by: str,
    on: dt.date,
    option: str = "to",
) -> tuple[tuple[Edit, ...], list[str]]:
    """The edits that keep what a user was seen to be trained for, or why it cannot be kept; what is
    kept already is kept once. `option` is how the reference was given."""
    if shown.level is None:
        return (), []
    who = sorted(set(references))
    if len(who) != 1 or not who[0]:
        named = ", ".join(each or "nobody" for each in who)
        ways = "one act for each" if all(who) else f"--{option} says whose"
        return (), [f"--certified is of one reference, and these are for {named}: {ways}"]
    (reference,) = who
    reasons = unread(book) + reference_reasons(option, reference)
    reasons += signer_reasons(book, by, on) + shown_reasons(shown)  # what cannot be written
    if reasons:
        return (), reasons
    known = certified_as(book.as_known_on(on), reference, on)
    if any(e.level is shown.level and (not shown.card or e.card == shown.card) for e in known):
        return (), []
    entry = Certified(
        on=PartialDate.of(on),
        by=by,
        reference=reference,
        level=shown.level,
        card=shown.card or None,
    )
    return entered(book, "certified", entry), []
