"""Signs of tampering, and what one entry or one line shows by itself."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from enum import StrEnum

from msgspec import Struct

from tankbook.records.commits import Commit, LineSeen
from tankbook.records.life import END_KEYS
from tankbook.records.log import LogLine, columns
from tankbook.records.words import LogAct, Skill, Sticker, ValveDone
from tankbook.rules.changes import Change, LogChange, What, cell
from tankbook.rules.terms import Signature, Terms
from tankbook.units import PartialDate

DAY = dt.timedelta(days=1)
"""How far clocks and time zones may be apart before an order of dates is remarked on."""


class Sign(StrEnum):
    """What was found. `CORRECTION` is none: it is how a mistake is put right."""

    ENTRY_ALTERED = "entry-altered"
    ENTRY_REMOVED = "entry-removed"
    FACT_ALTERED = "fact-altered"
    RECORD_REMOVED = "record-removed"
    RENAMED = "renamed"
    LINE_EDITED = "line-edited"
    LINE_REMOVED = "line-removed"
    LOST_IN_MERGE = "lost-in-merge"
    SETTINGS_LOOSENED = "settings-loosened"
    RULES_LOOSENED = "rules-loosened"
    LATE = "recorded-late"
    AHEAD = "recorded-ahead"
    NOT_CERTIFIED = "not-certified"
    MANY = "many-at-once"
    UNSIGNED = "unsigned"
    DATES = "commit-dates"
    BEGUN_AGAIN = "begun-again"
    UNREADABLE = "unreadable"
    CHECKPOINT = "checkpoint"
    CORRECTION = "correction"


class FoundSign(Struct, frozen=True):
    """One sign, the commit that shows it, and what it is about.

    `what` names the entry, the line or the fact; `differs` holds each key with what it said before
    and after; `why` says in words what is remarkable.
    """

    sign: Sign
    commit: Commit
    path: str
    id: str
    what: str
    differs: tuple[tuple[str, str, str], ...] = ()
    why: str = ""
    line: int = 0


STAMPED = frozenset(
    {
        "serial", "maker", "marks", "specification", "service_pressure", "test_pressure",
        "water_volume", "size", "rated", "material", "alloy", "made", "made_in", "neck_thread",
        "stamp_means", "permit.number", "permit.period", "permit.test_pressure",
        "permit.life_ends", "permit.expansion_limit",
        "risk_assessed.on", "risk_assessed.by", "risk_assessed.document",
    }
)  # fmt: skip
"""Facts that do not change in the life of a cylinder, nor in that of a paper."""
_MAY_GO = "risk_assessed."
"""Without a risk assessment more is asked."""

ENDS = END_KEYS | {"void.on", "told.on"}
"""Keys that hold the day on which an entry went on, was struck out, or its owner was told."""

_SIGNS = {
    What.ALTERED: Sign.ENTRY_ALTERED,
    What.REMOVED: Sign.ENTRY_REMOVED,
    What.STRUCK_OUT: Sign.CORRECTION,
}


def id_of(path: str) -> str:
    """What a file is about: a cylinder's or a set's id, `station`, `settings`, else its folder."""
    folder = path.partition("/")[0]
    if folder in {"rules", "checklists", "fills"}:
        return folder
    name = path.rpartition("/")[2].removesuffix(".yaml")
    return {"tankbook": "settings"}.get(name, name) if "/" not in path else name


def of_change(change: Change, commit: Commit) -> FoundSign | None:
    """The sign that a change is, or the correction; None for what is usual."""
    sign = _SIGNS.get(change.what)
    if change.what is What.FACT_CHANGED and change.place in STAMPED:
        goes = change.after is None and change.place.startswith(_MAY_GO)
        sign = None if goes else Sign.FACT_ALTERED
    if sign is None:
        return None
    if sign is not Sign.CORRECTION:
        return _found(sign, change, commit, _differs(change))
    after = change.after or {}
    why = f"struck out by {after.get('void.by')}: {after.get('void.why')}"
    return _found(sign, change, commit, (), why)


def _differs(change: Change) -> tuple[tuple[str, str, str], ...]:
    """Each key that differs, with what it said before and after."""
    before, after = change.before or {}, change.after or {}
    return tuple((k, before.get(k, ""), after.get(k, "")) for k in change.differing)


def of_loosening(change: Change, commit: Commit) -> FoundSign:
    """The sign that a fact asks less, or allows more, than it did."""
    return _found(Sign.SETTINGS_LOOSENED, change, commit, _differs(change))


def of_line(change: LogChange, commit: Commit) -> FoundSign:
    """The sign that an edited or removed line of the log is."""
    at = change.after or change.before
    sign = Sign.LINE_REMOVED if change.after is None else Sign.LINE_EDITED
    differs = change.cells
    if change.after is None and not change.before.cells:
        differs = (("line", change.before.text, ""),)
    elif change.after is None:
        named = zip(columns(LogLine), change.before.cells, strict=False)
        differs = tuple((name, said, "") for name, said in named if said)
    return FoundSign(
        sign, commit, at.path, change.cylinder, named_line(change.before), differs, "", at.number
    )


def named_line(line: LineSeen) -> str:
    """A log line in a word: its act and its time."""
    return f"{cell(line, 2)} {cell(line, 0)}" if line.cells else "a line that is no row"


def of_entry(change: Change, commit: Commit, terms: Terms) -> Iterator[FoundSign]:
    """What a new or ended entry shows by itself: recorded late or ahead."""
    if change.after is None:
        return
    new = {k: change.after[k] for k in ENDS & change.after.keys() if k in change.differing}
    if change.what is What.ADDED:
        new["on"] = change.on
    if change.fresh:
        new = {}
    for key, text in new.items():
        day = _date(text)
        if day is not None:
            why = _out_of_time(commit, day.first, day.last, terms)
            if why and not (why[0] is Sign.AHEAD and change.place.endswith("certifications")):
                said = why[1] if key == "on" else f"{key} {text}: {why[1]}"
                yield _found(why[0], change, commit, (), said)


def uncertified_entry(change: Change, commit: Commit, why: str) -> FoundSign:
    """The sign that an entry is by somebody who could not sign it."""
    return _found(Sign.NOT_CERTIFIED, change, commit, (), why)


def certified_late(change: Change, commit: Commit, day: dt.date, what: str) -> FoundSign:
    """The sign that a certification was recorded long after something that it covers."""
    days = (commit.at.date() - day).days
    return _found(
        Sign.LATE, change, commit, (), f"recorded {days} days after {what}, which it covers"
    )


def of_new_line(
    line: LineSeen, commit: Commit, terms: Terms, imported: bool
) -> Iterator[FoundSign]:
    """What a new line of the log shows by itself. An imported one may be old."""
    if not line.cells:
        return
    try:
        at = dt.datetime.fromisoformat(line.cells[0])
    except ValueError:
        return

    why = None if imported else _out_of_time(commit, at.date(), at.date(), terms)
    if why:
        yield found_in_line(why[0], line, commit, why[1])
    if cell(line, 2) == LogAct.VOID:
        said = f"strikes out {cell(line, 14)}: {cell(line, 15)}"
        yield found_in_line(Sign.CORRECTION, line, commit, said)


def found_in_line(sign: Sign, line: LineSeen, commit: Commit, why: str) -> FoundSign:
    """A sign that a line of the log shows."""
    return FoundSign(sign, commit, line.path, cell(line, 1), named_line(line), (), why, line.number)


def signed_in_line(line: LineSeen) -> Iterator[Signature]:
    """What a line of the log was signed for, and by whom."""
    if not line.cells or cell(line, 2) != LogAct.FILL:
        return
    try:
        day = PartialDate.of(dt.datetime.fromisoformat(line.cells[0]).date())
    except ValueError:
        return
    for skill, by in ((Skill.FILLER, cell(line, 9)), (Skill.ANALYST, cell(line, 10))):
        if by:
            yield Signature(by, skill, day)


def _out_of_time(
    commit: Commit, first: dt.date, last: dt.date, terms: Terms
) -> tuple[Sign, str] | None:
    """Whether a day lies too far from the commit that records it."""
    recorded = commit.at.date()
    late = (recorded - last).days
    if late > terms.late_days:
        return Sign.LATE, f"recorded {late} days after"
    ahead = (first - recorded).days
    if ahead > DAY.days:
        return Sign.AHEAD, f"recorded {ahead} days before"
    return None


_SKILLS = {
    "valve.serviced": Skill.VALVES,
    "valve_work": Skill.VALVES,
    "cleaned": Skill.O2_CLEANER,
}
_NO_WORK = frozenset({ValveDone.INSERT.value, ValveDone.READ.value})
"""What nobody is certified for: an insert in or out, a valve read."""


def signed_in_entry(change: Change) -> Signature | None:
    """What a new entry was signed for, and by whom; None where it needs no certification."""
    values, on = change.after or {}, _date(change.on)
    by = values.get("by", "")
    if on is None or not by or change.what is not What.ADDED:
        return None
    if change.place == "inspected":
        from tankbook.rules.signing import SEEN_STICKER  # a life needs no schedule

        seen = SEEN_STICKER, Sticker.SEEN.value
        if values.get("checklist") == seen[0] or values.get("sticker") == seen[1]:
            return None
        return Signature(by, Skill.INSPECTOR, on, always=True)
    if change.place == "valve_work" and values.get("did") in _NO_WORK:
        return None
    skill = _SKILLS.get(change.place)
    return Signature(by, skill, on) if skill else None


def _date(text: str) -> PartialDate | None:
    try:
        return PartialDate.parse(text)
    except ValueError:
        return None


def _found(
    sign: Sign,
    change: Change,
    commit: Commit,
    differs: tuple[tuple[str, str, str], ...],
    why: str = "",
) -> FoundSign:
    what = f"{change.place} {change.on}".strip()
    return FoundSign(sign, commit, change.path, id_of(change.path), what, differs, why, change.line)
