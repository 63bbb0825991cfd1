"""What a later version asks less of: settings, the station's allowances, the ledger's own rules.

Whatever cannot be shown to ask as much counts as looser, as in `strictness`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas.depth import USUAL_LEAST, USUAL_LIMIT
from tankbook.records.absence import SETTINGS_PATH
from tankbook.records.checklist import Checklist
from tankbook.records.fields import COUNT, YES_NO, Kind, NodeReader, read
from tankbook.records.kinds import DATE, HOURS, PARTIAL, PERCENT, PERIOD, PRESSURE
from tankbook.records.node import Node
from tankbook.records.rulerow import RuleRow, RuleSet, WatchRow
from tankbook.records.words import OpenWhip
from tankbook.rules.changes import Change, value_of
from tankbook.rules.figures import OPEN_OVER_MIDNIGHT
from tankbook.rules.fill_history import UNEXPLAINED
from tankbook.rules.own_rows import OwnRow, judged
from tankbook.rules.strictness import ends_no_later, looser_in
from tankbook.rules.terms import LATE_DAYS, MANY
from tankbook.units import Period, RunningTime
from tankbook.units.patterns import pattern

Files: TypeAlias = Mapping[str, Node | None]
"""The ledger's own rule files by their paths; None for one that cannot be read."""

RULES, CHECKLISTS = "rules/", "checklists/"


class Looser(Struct, frozen=True):
    """Something that asks less than it did: a row, a step, a whole file.

    `what` names it, `why` says in what; `line` is where it stands, or stood, from 1.
    """

    path: str
    what: str
    why: str
    line: int = 0


# --- settings and the station

_Judge: TypeAlias = Callable[[str | None, str | None], bool]


def _grows(kind: Kind, usual: Any = None) -> _Judge:
    """Whether a value is larger than it was; one that is left out is the usual one, and where
    there is none nothing was allowed, or nothing was known."""

    def judge(before: str | None, after: str | None) -> bool:
        was, is_ = (usual if t is None else value_of(kind, t) for t in (before, after))
        if is_ is None:
            return after is not None or was is not None
        return was is not None and bool(_more(is_, was))

    return judge


def _lengthens(before: str | None, after: str | None) -> bool:
    """Whether a period is longer than it was; a bank of none was closed, and that it has none is
    what somebody decided on a ground, as an entry of its own."""
    return before is not None and _grows(PERIOD)(before, after)


def _shrinks(kind: Kind, usual: Any) -> _Judge:
    """Whether a value is smaller than it was; one that is left out is the usual one."""

    def judge(before: str | None, after: str | None) -> bool:
        was, is_ = (usual if t is None else value_of(kind, t) for t in (before, after))
        return is_ is None or (was is not None and bool(is_ < was))

    return judge


def _more(one: Any, other: Any) -> bool:
    return not ends_no_later(one, other) if isinstance(one, Period) else bool(one > other)


def _turns(to: bool) -> _Judge:
    """Whether a yes or no is now what it was not; one that is left out is no."""

    def judge(before: str | None, after: str | None) -> bool:
        was, is_ = (t is not None and value_of(YES_NO, t) is True for t in (before, after))
        return was is not to and is_ is to

    return judge


def _drops(before: str | None, after: str | None) -> bool:
    """Whether something named in a list is no longer named."""
    was, is_ = ({n.casefold() for n in (t or "").split(", ") if n} for t in (before, after))
    return bool(was - is_)


def _narrows(before: str | None, after: str | None) -> bool:
    """Whether a list that means everything where it names nothing is of less than it was."""
    return after is not None and (before is None or _drops(before, after))


def _widens(before: str | None, after: str | None) -> bool:
    """Whether a list that allows everything where it names nothing allows more than it did."""
    return before is not None and (after is None or _drops(after, before))


def _later(before: str | None, after: str | None) -> bool:
    """Whether a day that somebody left on is gone or later."""
    was, is_ = (None if t is None else value_of(DATE, t) for t in (before, after))
    return was is not None and (is_ is None or is_.last > was.last)


def _is_set(before: str | None, after: str | None) -> bool:
    return before is None and after is not None


_OPEN = tuple(each.value for each in OpenWhip)


def _opens(before: str | None, after: str | None) -> bool:
    was, is_ = (_OPEN.index(t) if t in _OPEN else 0 for t in (before, after))
    return is_ > was


SETTINGS: Mapping[str, _Judge] = {
    "late_entry": _grows(COUNT, LATE_DAYS),
    "many_at_once": _grows(COUNT, MANY),
    "signed": _turns(False),
    "commit": _turns(False),
    "rules": _drops,
    "unexplained": _grows(PRESSURE, UNEXPLAINED),
    "reading_age": _grows(PERIOD, Period.parse("2 days")),
    "oxygen_pressure": _grows(PARTIAL, max(USUAL_LIMIT.values())),
    "least_oxygen_pressure": _shrinks(PARTIAL, USUAL_LEAST),
    "risk_assessed.on": _is_set,
    "sticker.inspection_age": _grows(PERIOD),
    "sticker.second_look": _grows(PERIOD),
    "sticker.short_log": _turns(True),
    "sticker.numbered": _turns(False),
}
"""The settings that answers or an audit are judged by, each with when it asks less."""

STATION: Mapping[str, _Judge] = {
    "gauge_error": _grows(PRESSURE),
    "open_whip": _opens,
    "panel.rating": _grows(PRESSURE),
    "compressor.max_pressure": _grows(PRESSURE),
}
_PART = pattern(
    r"(?:whips|adaptors|positions|banks|filters|compressors|boosters|sources)"
    r"\..+\.(rating|working_pressure|life|period|max_pressure|oxygen_to)"
)
_OF_PART: Mapping[str, _Judge] = {
    "rating": _grows(PRESSURE),
    "working_pressure": _grows(PRESSURE),
    "period": _lengthens,
    "life": _grows(HOURS),
    "max_pressure": _grows(PRESSURE),
    "oxygen_to": _grows(PERCENT),
}
_OVER_MIDNIGHT = RunningTime.of(OPEN_OVER_MIDNIGHT / dt.timedelta(hours=1), "h")
_LISTED: tuple[tuple[str, _Judge], ...] = (
    (r"(?:schemes\..+\.of|relief_valves\..+\.protects|boosters\..+\.from)", _narrows),
    (r"boosters\..+\.drives", _widens),
    (r"(?:opening|closing)\.steps", _drops),
    (r"opening\.over_midnight", _grows(HOURS, _OVER_MIDNIGHT)),
    (r"upkeep\..+\.every", _grows(PERIOD)),
    (r"upkeep\..+\.hours", _grows(HOURS)),
)
"""What parts of the station say of others, and what is done from time to time."""
_LEFT = pattern(r"people\..+\.left")


def is_looser(change: Change) -> bool:
    """Whether a fact of the settings or the station asks less, or allows more, than it did."""
    judge = _judge_of(change.path, change.place)
    before, after = (((v or {}).get(change.place)) for v in (change.before, change.after))
    return judge is not None and judge(before, after)


def _judge_of(path: str, place: str) -> _Judge | None:
    if path == SETTINGS_PATH:
        return SETTINGS.get(place) or (_later if _LEFT.fullmatch(place) else None)
    if path != "station.yaml":
        return None
    part = _PART.fullmatch(place)
    if part is None and place not in STATION:
        return next((judge for said, judge in _LISTED if pattern(said).fullmatch(place)), None)
    return STATION.get(place) or (_OF_PART[part[1]] if part else None)


# --- rules


def looser_rules(before: Files, after: Files, sets: Sequence[RuleSet]) -> Iterator[Looser]:
    """In what the ledger's own rules ask less than they did.

    A row that asked more is gone or weaker; one that loosens is new, or looser than it was. A row
    that counts for nothing, being at fault, is neither. Rows may move from file to file.

    Args:
        before: the rule files as they were.
        after: the rule files as they are.
        sets: the shipped sets they stand beside.
    """
    was, is_ = _counting(before, sets), _counting(after, sets)
    for id_, old in was.items():
        new = is_.get(id_)
        if new is not None and new.row != old.row:
            ways = looser_in(new.row, old.row) or _later_begun(new.row, old.row)
            if ways:
                yield _looser(new, f"asks less than it did: {'; '.join(ways)}")
        elif new is None and not old.looser:
            path = old.row.source.path
            became = "no longer counts" if path in after and _names(after[path], id_) else "is gone"
            yield _looser(old, f"a row that asked more {became}")
    for id_, new in is_.items():
        if id_ not in was and new.looser:
            yield _looser(new, f"loosens practice: {'; '.join(new.looser)}{_told_by(new)}")
    yield from _looser_sets(before, after)


def _counting(files: Files, sets: Sequence[RuleSet]) -> dict[str, OwnRow]:
    own = [s for path, node in files.items() if (s := _set_of(path, node)) is not None]
    rows = judged((*sets, *own)).own
    return {each.row.id.casefold(): each for each in rows if each.counts}


def _set_of(path: str, node: Node | None) -> RuleSet | None:
    found = read(RuleSet, node, NodeReader(path)) if node is not None else None
    return replace(found, id=path.removeprefix(RULES).removesuffix(".yaml")) if found else None


def _later_begun(new: RuleRow | WatchRow, old: RuleRow | WatchRow) -> tuple[str, ...]:
    if new.since is not None and (old.since is None or new.since.first > old.since.first):
        return (f"since {new.since}",)
    return ()


def _looser(own: OwnRow, why: str) -> Looser:
    where = own.where
    return Looser(where.path, own.row.id, why, where.line)


def _told_by(own: OwnRow) -> str:
    row = own.row
    return f" (by {row.by} since {row.since}: {row.why})" if row.by else ""


def _names(node: Node | None, id_: str) -> bool:
    found = read(RuleSet, node, NodeReader("")) if node is not None else None
    return found is not None and any(r.id.casefold() == id_ for r in found.every_row)


def _looser_sets(before: Files, after: Files) -> Iterator[Looser]:
    for path, node in after.items():
        was, is_ = (_set_of(path, n) for n in (before.get(path), node))
        if was is None or is_ is None:
            continue
        if is_.stands_alone and not was.stands_alone:
            yield Looser(path, path, "says now that it is enough by itself")
        if was.needs_stamp_means and not is_.needs_stamp_means:
            yield Looser(path, path, "no longer asks what a stamp means")


# --- checklists


def looser_checklist(path: str, before: Node | None, after: Node | None) -> Iterator[Looser]:
    """In what a checklist of the ledger's own looks at less, or counts for more, than it did."""
    was, is_ = (
        read(Checklist, n, NodeReader(path)) if n is not None else None for n in (before, after)
    )
    if was is None or is_ is None:
        return
    for key in ("full", "inside"):
        if getattr(is_, f"{key}_") and not getattr(was, f"{key}_"):
            yield Looser(path, key, "counts for more than it did")
    there = {step.name: step for step in is_.steps}
    for step in was.steps:
        new = there.get(step.name)
        if new is None:
            yield Looser(path, step.name, "a step is gone")
        elif new.material and not (step.material and set(step.material) <= set(new.material)):
            yield Looser(path, step.name, "a step is asked of fewer cylinders")
