"""What cannot be read, and what is dated ahead of every clock.

What a file that cannot be read would have said nobody knows, so whatever rests on it is refused.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence, Set

from tankbook.records.absence import Absence
from tankbook.records.audited import AUDITED_PATH
from tankbook.records.book import Ahead
from tankbook.records.counter import COUNTER_FILE
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.log import Lines, Log
from tankbook.records.node import EVERY_CYLINDER, Finding, Severity, Where
from tankbook.records.settings import People, Settings
from tankbook.records.words import Skill
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_files, on_unread
from tankbook.rules.signing import why_not
from tankbook.rules.spelling import ids_like
from tankbook.rules.wording import says_nothing
from tankbook.units import PartialDate
from tankbook.units.patterns import pattern

_MEND = "mend the file; `tankbook validate` lists every fault"
_EVERY = (EVERY_CYLINDER,)


def _first(unread: Sequence[Finding], paths: Sequence[str]) -> Finding | None:
    """The first fault of some files."""
    faults = (f for f in unread if f.severity is Severity.FAULT)
    return next((f for f in faults if f.where.path in paths), None)


def _in_folder(
    unread: Sequence[Finding], folder: str, astray: Mapping[str, tuple[str, ...]]
) -> Finding | None:
    """The first fault of what may belong into a folder of records, wherever it lies."""
    faults = (f for f in unread if f.severity is Severity.FAULT)
    within = (f for f in faults if f.where.path.casefold().startswith(folder))
    return next(within, None) or _first(unread, astray.get(folder.replace(".", "/"), ()))


@on_unread("pending", FAULT)
def acts_are_whole(unread: Sequence[Finding]) -> Iterator[Says]:
    """What an act touches that is not finished may be half told."""
    for each in unread:
        if each.code == "pending":
            yield Says(each.where, each.text, each.mend, touches=each.touches)


@on_unread("broken-file", FAULT)
def cards_are_read(broken: Mapping[str, tuple[Finding, ...]]) -> Iterator[Says]:
    """A cylinder or set whose own file cannot be read is never filled."""
    for id_, faults in broken.items():
        text = f"its file cannot be read: {faults[0]}" if faults else "its file cannot be read"
        if faults:
            yield Says(faults[0].where, text, _MEND, touches=(id_,))


@on_unread("card-unread", FAULT, since="0.2")
def cards_have_one_file(
    unread: Sequence[Finding], ids: Set[str], card_like: Set[str]
) -> Iterator[Says]:
    """A file that is not read, and is named as a cylinder or a set is, may be the newer one."""
    for fault in (each for each in unread if each.severity is Severity.FAULT):
        folder, _, name = fault.where.path.rpartition("/")
        is_card = folder in {"cylinders", "sets"} or fault.where.path in card_like
        if fault.code in {"file-name", "unsafe-id"} and is_card:
            stem = _COPY.sub("", name.split(".")[0])
            alike = tuple(i for i in ids if i.casefold() == stem.casefold()) or ids_like(stem, ids)
            text = f"a second file of it is not read: {fault.where.path}"
            mend = "join the two into one file, or take it out"
            if alike:
                yield Says(fault.where, text, mend, touches=alike)


_COPY = pattern(r"(?:[ _-]*\(\d+\)|[ _-]+(?:copy|kopie|copie|conflict\w*|old|new|backup).*)$", re.I)
"""What a copy of a file is called behind its own name."""


@on_unread("twin-unread", FAULT, since="0.2")
def unread_cards_are_no_twins(
    unread: Sequence[Finding], serials_in_broken: Mapping[str, tuple[str, ...]]
) -> Iterator[Says]:
    """A card that cannot be read, and in whose text the serial of another stands, may be of the
    same cylinder."""
    for path, ids in serials_in_broken.items():
        own = next((f for f in unread if f.where.path == path), None)
        if own is not None and ids:
            text = f"a card with its serial cannot be read: {own}"
            yield Says(own.where, text, _MEND, touches=ids)


def _on_folder(code: str, folder: str, what: str, says: str) -> None:
    """Declare a check of whether all that may belong into a folder is read: `what` cannot be, and
    `says` why that counts."""

    def find(unread: Sequence[Finding], astray: Mapping[str, tuple[str, ...]]) -> Iterator[Says]:
        fault = _in_folder(unread, folder, astray)
        if fault:
            yield Says(fault.where, f"{what}: {fault}", _MEND, touches=_EVERY)

    find.__doc__ = says
    on_unread(code, FAULT)(find)


_on_folder(
    "rules-unread",
    "rules/",
    "a rule set of the ledger's own cannot be read",
    "Rules of the ledger's own that cannot be read may be the stricter ones.",
)
_on_folder(
    "log-unread",
    "fills/",
    "the fill log cannot be read in full, so what it holds may be old news",
    "What a cylinder holds, and how clean it is, rests on every line of the log.",
)
_on_folder(
    "station-unread",
    "station.",
    "the station's file cannot be read",
    "A station left out for its faults must not look like one that has nothing to say.",
)


_on_folder(
    "counter-unread",
    "counter.",
    "the counter's file cannot be read, so a serial recorded as stolen may be in it",
    "A serial recorded as stolen must not be forgotten with a file that cannot be read.",
)


@on_unread("set-unread", FAULT, since="0.2")
def sets_are_read(
    unread: Sequence[Finding], named_in_broken: Mapping[str, tuple[str, ...]]
) -> Iterator[Says]:
    """Of a set that cannot be read nobody can tell which cylinders are on its manifold: those its
    text names are not filled, and where it names none, none that is in no other set."""
    for path, ids in named_in_broken.items():
        own = _first(unread, (path,))
        if own:
            text = f"it may be one side of a set that cannot be read: {own}"
            yield Says(own.where, text, _MEND, touches=ids)


@on_unread("audited-unread", FAULT, since="0.2")
def checkpoints_are_read(unread: Sequence[Finding]) -> Iterator[Says]:
    """Since when nothing was taken out is known by the last checkpoint of an audit."""
    fault = _first(unread, (AUDITED_PATH,))
    if fault:
        text = f"up to where the history was audited cannot be read: {fault}"
        yield Says(fault.where, text, _MEND, touches=_EVERY)


@on_files("checkpoint", FAULT, since="0.2")
def checkpoints_hold(absence: Absence) -> Iterator[Says]:
    """The last checkpoint of an audit is of a commit that is built on, and its digest is right."""
    wrong = absence.unproved
    if wrong is not None:
        where = Where(AUDITED_PATH, wrong.line)
        text = f"{wrong.why}, so what was taken out since is not missed"
        severity = None if wrong.fault else WARN
        yield Says(where, text, wrong.mend, severity, _EVERY)


@on_files("vanished", FAULT, since="0.2")
def nothing_vanished(absence: Absence) -> Iterator[Says]:
    """What told against something still stands where git knows of it, or somebody says why not."""
    for each in absence.gone:
        where = Where(each.path)
        yield Says(where, each.text, each.mend, None, each.ids or _EVERY, each.card)


@on_files("removed-unsigned", FAULT, since="0.2")
def removals_are_signed(absence: Absence, people: People) -> Iterator[Says]:
    """Whoever says why something was taken out is certified, where that is kept."""
    for each in absence.explained:
        wrong = why_not(people, each.removed.by, Skill.INSPECTOR, each.removed.on)
        dated = re.search(r"\d{4}-\d{2}(?:-\d{2})?$", each.gone.what)
        if dated and each.removed.on < PartialDate.parse(dated[0]).first:
            wrong = f"what says so is dated {each.removed.on}, before it"
        if wrong:
            text = f"{each.gone.what} was taken out, and {wrong}"
            mend = "let somebody certified say why, or put it back"
            yield Says(each.removed.source.at("by"), text, mend, touches=each.gone.ids or _EVERY)


@on_files("removed-unsaid", FAULT, since="0.2")
def removals_say_why(cylinders: Mapping[str, Cylinder], settings: Settings) -> Iterator[Says]:
    """Whoever took something out of a record said why."""
    lists = [((card.id,), card.removed) for card in cylinders.values() if card.removed]
    for touches, entries in (*lists, (_EVERY, settings.removed)):
        for each in entries:
            if says_nothing(each.why):
                text = f"{each.what} was taken out for `{each.why}`, which is no reason"
                yield Says(each.source.at("why"), text, "say why in words", touches=touches)


@on_files("name-left-behind", FAULT, since="0.2")
def names_are_taken_along(
    absence: Absence, cylinders: Mapping[str, Cylinder], all_sets: Mapping[str, Doubles], log: Lines
) -> Iterator[Says]:
    """A cylinder or a set that has another id now takes the log's lines of the old one along."""
    for old, new in absence.renamed:
        now = cylinders.get(new) or all_sets.get(new)
        count = Log.of(log).column("cylinder").count(old)
        if now is not None and count:
            text = f"{old} is {new} now, and the log has {count} lines of {old}"
            mend = f"write `formerly: [{old}]` in the file of {new}"
            yield Says(now.source.at(), text, mend, touches=(new,))


@on_files("former-id-taken", FAULT, since="0.2")
def former_ids_are_free(
    cylinders: Mapping[str, Cylinder], all_sets: Mapping[str, Doubles], ids: Set[str]
) -> Iterator[Says]:
    """An id that something had before is nobody's now."""
    cards: list[Cylinder | Doubles] = [*cylinders.values(), *all_sets.values()]
    several = Counter(old for each in cards for old in each.formerly)
    for each in cards:
        for old in each.formerly:
            if old in ids or several[old] > 1:
                by = "is in the ledger" if old in ids else "is claimed by another too"
                text = f"{each.id} was {old} before, it says, and {old} {by}"
                sides = each.cylinders if isinstance(each, Doubles) else ()
                touches = (each.id, old, *sides)
                yield Says(each.source.at("formerly"), text, "take it out", touches=touches)


@on_files("not-compared", WARN, since="0.2")
def all_was_compared(absence: Absence) -> Iterator[Says]:
    """Everything in the archive could be held against the files, and what was recorded on this
    machine stands in them, and not on another branch."""
    for each in absence.unseen:
        name = each.path or "the ledger"
        text = f"whether anything is gone from {name} cannot be told: {each.why}"
        yield Says(Where(each.path or "tankbook.yaml"), text, each.mend, touches=each.ids or _EVERY)
    for apart in absence.apart:
        yield Says(Where(apart.path), apart.text, apart.mend, touches=apart.ids or _EVERY)


@on_files("in-the-future", FAULT, since="0.2")
def nothing_is_ahead(ahead: Sequence[Ahead], ids: Set[str], today: dt.date) -> Iterator[Says]:
    """Nobody can have written down what lies ahead of the day and of the clock. What the counter
    keeps touches nothing by its day: what tells against a cylinder there counts at once, and the
    rest not yet."""
    for each in ahead:
        alike = [like for name in each.ids if name not in ids for like in ids_like(name, ids)]
        text = f"{each.what}: {each.day} lies in the future"
        mend = f"correct the date; today is {today}"
        every = () if each.where.path == COUNTER_FILE else _EVERY
        yield Says(each.where, text, mend, touches=(*each.ids, *alike) or every)
