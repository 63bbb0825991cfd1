"""One walk over all commits, parents first, listing the signs of tampering in them."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from typing import TypeVar

from tankbook.records.commits import Commit, FileStep, LineSeen, Step
from tankbook.records.node import Node
from tankbook.rules.changes import Change, compare
from tankbook.rules.growing import What, flat
from tankbook.rules.log_changes import LogChange, cell, sort_out
from tankbook.rules.sides import Ancestry
from tankbook.rules.signs import (
    DAY,
    Found,
    Sign,
    Terms,
    id_of,
    of_change,
    of_entry,
    of_line,
    of_new_line,
)

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")

SETTINGS = "tankbook.yaml"


@dataclass(frozen=True, slots=True)
class Audit:
    """What a walk found: the signs and, apart from them, the corrections openly made.

    `commits` counts those that touched the ledger; `first` and `last` are the ends of these.
    """

    commits: int
    entries: int
    lines: int
    signs: tuple[Found, ...]
    corrections: tuple[Found, ...]
    first: Commit | None
    last: Commit | None


def audit(steps: Iterable[Step], terms: Terms) -> Audit:
    """List the signs of tampering in `steps`, which come parents first, a merge's together."""
    walk = _Walk(terms)
    for _, group in groupby(steps, key=lambda step: step.commit.id):
        walk.take(list(group))
    found = walk.found
    return Audit(
        commits=walk.commits,
        entries=walk.entries,
        lines=walk.lines,
        signs=tuple(f for f in found if f.sign is not Sign.CORRECTION),
        corrections=tuple(f for f in found if f.sign is Sign.CORRECTION),
        first=walk.first,
        last=walk.last,
    )


@dataclass(slots=True)
class _Traces:
    """What a commit left behind for the merges after it to be explained by."""

    touched: set[tuple[str, str, str]] = field(default_factory=set)
    lines: set[str] = field(default_factory=set)


@dataclass(slots=True)
class _Walk:
    terms: Terms
    found: list[Found] = field(default_factory=list)
    commits: int = 0
    entries: int = 0
    lines: int = 0
    first: Commit | None = None
    last: Commit | None = None
    _ancestry: Ancestry = field(default_factory=Ancestry)
    _commits: dict[str, Commit] = field(default_factory=dict)
    _signing: dict[str, bool] = field(default_factory=dict)
    _traces: dict[str, _Traces] = field(default_factory=dict)
    _known: dict[str, Node] = field(default_factory=dict)

    def take(self, steps: list[Step]) -> None:
        """Look at one commit, compared with each of its parents."""
        commit = steps[0].commit
        self._ancestry.add(commit.id, commit.parents)
        self._commits[commit.id] = commit
        touches = any(s.files or s.removed or s.added or s.others for s in steps)
        merges = len(commit.parents) > 1
        if touches and commit.id:
            self.commits += 1
            self.first, self.last = self.first or commit, commit
        self._signature(steps, touches and not merges)
        self._dates(commit)
        if merges:
            self._merge(commit, {step.parent: step for step in steps})
        elif touches:
            self._ordinary(steps[0])

    def _ordinary(self, step: Step) -> None:
        commit = step.commit
        begins = any(f.path == SETTINGS and not f.existed for f in step.files)
        traces = self._traces[commit.id] = _Traces()
        changes = [c for each in step.files for c in self._file(each, commit, traces)]
        gone, new = sort_out(step.removed, step.added)
        self._changes(changes, commit, traces)
        self._lines(gone, new, commit, traces, imported=begins)
        ids = {id_of(f.path) for f in step.files if f.existed and f.path.startswith("cylinders/")}
        ids |= {g.cylinder for g in gone} | {cell(line, 1) for line in new}
        if len(ids) > self.terms.many and not begins:
            why = f"{len(ids)} cylinders at once, more than {self.terms.many}"
            self._note(Sign.MANY, commit, why)

    def _file(self, step: FileStep, commit: Commit, traces: _Traces) -> tuple[Change, ...]:
        """The changes of one file; one that was unreadable or gone is compared with what it was."""
        before = step.before if step.before is not None else self._known.get(step.path)
        if step.after is not None:
            self._known[step.path] = step.after
        if not step.exists:
            traces.touched.add((step.path, "", ""))
            self._note(Sign.RECORD_REMOVED, commit, "the whole file was taken out", step.path)
            return ()
        if step.after is None:
            self._note(Sign.UNREADABLE, commit, "it could not be read as committed", step.path)
            return ()
        return compare(step.path, before, step.after)

    def _changes(self, changes: Iterable[Change], commit: Commit, traces: _Traces) -> None:
        for change in changes:
            if change.what is What.ADDED:
                self.entries += 1
            else:
                traces.touched.add((change.path, change.place, change.on))
            sign = of_change(change, commit)
            if sign is not None:
                self.found.append(sign)
            self.found += of_entry(change, commit, self.terms)

    def _lines(
        self,
        gone: Iterable[LogChange],
        new: Iterable[LineSeen],
        commit: Commit,
        traces: _Traces,
        *,
        imported: bool,
    ) -> None:
        for change in gone:
            traces.lines.add(change.before.text)
            self.found.append(of_line(change, commit))
        for line in new:
            self.lines += 1
            self.found += of_new_line(line, commit, self.terms, imported)

    # --- merges

    def _merge(self, commit: Commit, steps: dict[int, Step]) -> None:
        """A merge's own changes, and what one side had recorded and the merge dropped.

        What differs from every parent the merge did itself. What differs from one parent must have
        come from another side.
        """
        parents = range(len(commit.parents))
        compared = [steps.get(i, Step(commit, i)) for i in parents]
        foreign = self._ancestry.unknown_to(commit.parents)
        changes = [
            [c for f in step.files if f.after for c in compare(f.path, f.before, f.after)]
            for step in compared
        ]
        sorted_out = [sort_out(step.removed, step.added) for step in compared]
        traces = self._traces[commit.id] = _Traces()
        own = _in_all([{_key(c): c for c in each} for each in changes])
        self._changes(own.values(), commit, traces)
        gone = _in_all([{g.before.text: g for g in lost} for lost, _ in sorted_out])
        new = _in_all([{line.text: line for line in more} for _, more in sorted_out])
        self._lines(gone.values(), new.values(), commit, traces, imported=False)
        for i in parents:
            others = [self._traces[name] for name in foreign[i] if name in self._traces]
            rest = [c for c in changes[i] if _key(c) not in own]
            self._dropped(rest, others, commit)
            lines = [g for g in sorted_out[i][0] if g.before.text not in gone]
            self._dropped_lines(lines, others, commit)
            self._dropped_files(compared[i], others, commit)
        for path, each in _in_all([{f.path: f for f in s.files} for s in compared]).items():
            if each.exists and each.after is None:
                self._note(Sign.UNREADABLE, commit, "it could not be read as merged", path)
        self._known |= {f.path: f.after for s in compared for f in s.files if f.after is not None}

    def _dropped_files(self, step: Step, others: list[_Traces], commit: Commit) -> None:
        for each in step.files:
            key = (each.path, "", "")
            if not each.exists and not any(key in other.touched for other in others):
                why = "one side had the whole file; the merge has not, and no commit says why"
                self._note(Sign.LOST_IN_MERGE, commit, why, each.path)

    def _dropped(self, changes: Iterable[Change], others: list[_Traces], commit: Commit) -> None:
        for change in changes:
            sign = of_change(change, commit) if _loses(change) else None
            key = (change.path, change.place, change.on)
            if sign is not None and not any(key in each.touched for each in others):
                why = "one side had it so; the merge has not, and no commit says why"
                self.found.append(replace(sign, sign=Sign.LOST_IN_MERGE, why=why))

    def _dropped_lines(
        self, gone: Iterable[LogChange], others: list[_Traces], commit: Commit
    ) -> None:
        for change in gone:
            if not any(change.before.text in each.lines for each in others):
                why = "one side had it; the merge has not, and no commit says why"
                self.found.append(
                    replace(of_line(change, commit), sign=Sign.LOST_IN_MERGE, why=why)
                )

    # --- the commits themselves

    def _signature(self, steps: list[Step], touches: bool) -> None:
        """A commit must be signed where the settings before it or in it ask for that."""
        commit = steps[0].commit
        asked = any(self._signing.get(p, False) for p in commit.parents)
        after = [f.after for s in steps for f in s.files if f.path == SETTINGS]
        asks = flat(after[0]).get("signed") in {"yes", "true"} if after else asked
        self._signing[commit.id] = asks
        if touches and (asks or asked) and not commit.signed and commit.id:
            self._note(Sign.UNSIGNED, commit, "the settings ask for a signature, and it has none")

    def _dates(self, commit: Commit) -> None:
        for parent in commit.parents:
            before = self._commits.get(parent)
            if before is not None and before.at - commit.at > DAY:
                days = (before.at - commit.at).days
                why = f"dated {days} days before {before.short}, which it builds on"
                self._note(Sign.DATES, commit, why)
        apart = abs(commit.at - commit.authored).days
        if apart > self.terms.late_days:
            why = f"written {commit.authored:%Y-%m-%d} by its author's date, {apart} days apart"
            self._note(Sign.DATES, commit, why)

    def _note(self, sign: Sign, commit: Commit, why: str, path: str = "") -> None:
        id_ = id_of(path) if path else ""
        self.found.append(
            Found(sign, commit, path, id_, commit.subject if not path else "", (), why)
        )


def _key(change: Change) -> tuple[object, ...]:
    before = tuple(sorted((change.before or {}).items()))
    return change.path, change.place, before, tuple(sorted((change.after or {}).items()))


def _in_all(each: Sequence[dict[K, V]]) -> dict[K, V]:
    first, *rest = each
    return {k: v for k, v in first.items() if all(k in other for other in rest)}


def _loses(change: Change) -> bool:
    """Whether something that stood before does not stand after."""
    after = change.after or {}
    return any(after.get(k) != v for k, v in (change.before or {}).items())
