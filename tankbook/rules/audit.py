"""One walk over all commits, parents first, listing the signs of tampering in them."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from itertools import groupby
from typing import Any, TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.records.absence import folded_name
from tankbook.records.audited import Checkpoint
from tankbook.records.commits import Commit, CommitStep, FileStep, LineSeen
from tankbook.records.fields import NodeReader, read
from tankbook.records.life import ended_worse
from tankbook.records.node import Node
from tankbook.rules.changes import (
    Change,
    LogChange,
    What,
    cell,
    compare,
    kind_of,
    opening,
    sort_out,
)
from tankbook.rules.checkpoint import CommitState, Start
from tankbook.rules.loosening import (
    CHECKLISTS,
    RULES,
    Files,
    Looser,
    is_looser,
    looser_checklist,
    looser_rules,
)
from tankbook.rules.merge_ancestry import Ancestry, ByLine
from tankbook.rules.renames import (
    FOLDERS,
    Renamed,
    goes_on_as,
    losses,
    pairs,
    paths_of,
    surely_others,
)
from tankbook.rules.tamper_signs import (
    DAY,
    FoundSign,
    Sign,
    certified_late,
    found_in_line,
    id_of,
    named_line,
    of_change,
    of_entry,
    of_line,
    of_loosening,
    of_new_line,
    signed_in_entry,
    signed_in_line,
    uncertified_entry,
)
from tankbook.rules.terms import (
    AskedByHand,
    Policy,
    Signature,
    Terms,
    certified_later,
    could_not_sign,
)
from tankbook.rules.vanished import stem
from tankbook.units import PartialDate

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")

SETTINGS = "tankbook.yaml"
CERTIFICATIONS = ".certifications"


class Move(Struct, frozen=True):
    """A commit that moved the ledger from a folder of its repository to another."""

    commit: Commit
    before: str
    after: str


class Audit(Struct, frozen=True):
    """What a walk found: the signs and, apart from them, the corrections openly made.

    `commits` counts those that touched the ledger; `first` and `last` are the ends of these.
    `moves` are the commits that moved its folder. `brought` counts the entries and lines it began
    with, of before its first commit. `since` is the checkpoint from which it was
    read, None where all of it was.
    """

    commits: int
    entries: int
    lines: int
    signs: tuple[FoundSign, ...]
    corrections: tuple[FoundSign, ...]
    first: Commit | None
    last: Commit | None
    moves: tuple[Move, ...] = ()
    brought: int = 0
    since: Checkpoint | None = None

    @property
    def before(self) -> int:
        """How many signs there were up to the checkpoint."""
        return self.since.signs if self.since else 0

    @property
    def is_clean(self) -> bool:
        """Whether there is no sign, neither now nor up to the checkpoint."""
        return not self.signs and not self.before


def audit(
    steps: Iterable[CommitStep],
    asked: AskedByHand,
    start: Start | None = None,
    also: Iterable[FoundSign] = (),
) -> Audit:
    """List the signs of tampering in `steps`, which come parents first, a merge's together.

    Each commit is judged by the settings before it and in it; see `rules.terms`.

    Args:
        steps: the commits.
        asked: what was asked for by hand, and what is known now.
        start: where they begin, if not at the first of all.
        also: signs that were found otherwise.
    """
    walk = _Walk(asked, start, list(also))
    for stand in start.stands if start else ():
        walk.begin(stand)
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
        moves=tuple(walk.moves),
        brought=walk.brought,
        since=start.checkpoint if start else None,
    )


class _Traces(Struct):
    """What a commit left behind for the merges after it to be explained by."""

    touched: set[Hashable] = field(default_factory=set)
    """The facts and entries that it changed or took out."""
    grown: set[Hashable] = field(default_factory=set)
    """The entries that it ended or struck out: that explains no loss of the entry itself."""
    lines: set[str] = field(default_factory=set)
    files: set[str] = field(default_factory=set)
    """The files that it took out."""
    looser: set[tuple[str, str]] = field(default_factory=set)
    """The rows that it took out or made ask less."""
    renamed: set[tuple[str, str]] = field(default_factory=set)
    """The old and the new path of each card and set that it called otherwise."""


_MADE_AFTER: Any = None
"""Of what is made of the others, in `__post_init__`."""


class _Walk(Struct):
    asked: AskedByHand
    start: Start | None = None
    found: list[FoundSign] = field(default_factory=list)
    commits: int = 0
    entries: int = 0
    lines: int = 0
    brought: int = 0
    moves: list[Move] = field(default_factory=list)
    first: Commit | None = None
    last: Commit | None = None
    _ancestry: Ancestry = field(default_factory=Ancestry)
    _commits: dict[str, Commit] = field(default_factory=dict)
    _policies: dict[str, Policy] = field(default_factory=dict)
    _rules: dict[str, Files] = field(default_factory=dict)
    _terms: dict[tuple[int, ...], Terms] = field(default_factory=dict)
    _awaited: dict[tuple[str, str], tuple[PartialDate, str]] = field(default_factory=dict)
    """Who signed for what, first on which day and where, before a certification was recorded."""
    _traces: dict[str, _Traces] = field(default_factory=dict)
    _known: dict[str, Node] = field(default_factory=dict)
    """Each file as it was read last, on whatever line."""
    _begun: set[str] = field(default_factory=set)
    """Commits that have a ledger, or that build on one."""
    _last: ByLine[Node] = _MADE_AFTER
    """What of a file could be read before it was taken out or could be read no more."""
    _gone: ByLine[Node | bool] = _MADE_AFTER
    """Cards and sets that were taken out; false for one that has come back, or goes on."""
    _away: ByLine[bool] = _MADE_AFTER
    """Paths of cards and sets that go on under another: what comes there may be another's."""
    _there: ByLine[bool] = _MADE_AFTER
    """Whether there is a card or a set of a path, since it came or went."""

    def __post_init__(self) -> None:
        self._last, self._gone = ByLine(self._ancestry), ByLine(self._ancestry)
        self._away, self._there = ByLine(self._ancestry), ByLine(self._ancestry)

    def begin(self, stand: CommitState) -> None:
        """Know a commit that others build on, and that is not read."""
        name = stand.commit.id
        self._ancestry.add(name, ())
        self._commits[name] = stand.commit
        policy = Policy.of(stand.settings) if stand.settings else None
        self._policies[name] = policy or Policy()
        self._rules[name] = stand.rules
        if stand.settings is not None:
            self._begun.add(name)

    def take(self, steps: list[CommitStep]) -> None:
        """Look at one commit, compared with each of its parents."""
        name = steps[0].commit.id
        judged = self.start is None or not name or name in self.start.counts
        kept = self.commits, self.entries, self.lines, self.brought, self.first, self.last
        found, moves = len(self.found), len(self.moves)
        self._take(steps)
        if not judged:  # it was when the checkpoint was made
            self.commits, self.entries, self.lines, self.brought, self.first, self.last = kept
            del self.found[found:], self.moves[moves:]

    def _take(self, steps: list[CommitStep]) -> None:
        commit = steps[0].commit
        self._ancestry.add(commit.id, commit.parents)
        self._commits[commit.id] = commit
        touches = any(s.files or s.removed or s.added or s.others for s in steps)
        merges = len(commit.parents) > 1
        if touches and commit.id:
            self.commits += 1
            self.first, self.last = self.first or commit, commit
        terms = self._in_force(steps, touches and not merges)
        self._dates(commit, terms)
        self._rules[commit.id] = self._rules_at(steps)
        if merges:
            self._merge(commit, {step.parent: step for step in steps}, terms)
        elif touches:
            self._ordinary(steps[0], terms)
        has = any(f.path == SETTINGS and f.exists for s in steps for f in s.files)
        if has or any(p in self._begun for p in commit.parents):
            self._begun.add(commit.id)

    def _ordinary(self, step: CommitStep, terms: Terms) -> None:
        commit = step.commit
        if step.moved:
            self.moves.append(Move(commit, *step.moved))
        begins = self._begins(step)
        if begins and self._begun:
            why = "a beginning beside another: what it brought was held against nothing"
            self._note(Sign.BEGUN_AGAIN, commit, why, SETTINGS)
        traces = self._traces[commit.id] = _Traces()
        fresh = {f.path for f in step.files if self._before(f, commit.id) is None}
        renamed = self._renamed(step, commit)
        traces.renamed |= {(r.old, r.new) for r in renamed.values()}
        changes = [c for each in step.files for c in self._file(each, commit, traces, renamed)]
        gone, new = sort_out(step.removed, step.added)
        for each in renamed.values():
            if each.new not in {f.path for f in step.files}:
                changes += losses(each, self._now(each.new))
        looser = self._looser(step)
        traces.looser |= {(e.path, e.what) for e in looser}
        self._loosened(step, [c for c in changes if c.path not in fresh], looser)
        self._removed(step, gone, changes, looser, {r.old for r in renamed.values()})
        self._changes(changes, commit, traces, terms)
        self._lines(gone, new, commit, traces, terms, imported=begins)
        ids = {id_of(f.path) for f in step.files if f.existed and f.path.startswith("cylinders/")}
        ids |= {g.cylinder for g in gone} | {cell(line, 1) for line in new}
        if begins:
            self.brought += self._old(changes, new, commit)
        if len(ids) > terms.many and not begins:
            why = f"{len(ids)} cylinders at once, more than {terms.many}"
            self._note(Sign.MANY, commit, why)

    def _begins(self, step: CommitStep) -> bool:
        """Whether a commit begins the ledger, as against one of its parents: its settings are new,
        and never were before."""
        new = any(f.path == SETTINGS and not f.existed for f in step.files)
        before = step.commit.parents[step.parent : step.parent + 1]
        return new and not any(p in self._begun for p in before)

    def _old(self, changes: Iterable[Change], new: Iterable[LineSeen], commit: Commit) -> int:
        """How many entries and lines a ledger begins with that are older than its first commit."""
        days = [c.on for c in changes if c.what is What.ADDED and c.on]
        days += [cell(line, 0)[:10] for line in new]
        first = f"{commit.at.date() - DAY}"
        return sum(d < first[: len(d)] for d in days)

    def _renamed(self, step: CommitStep, commit: Commit) -> dict[str, Renamed]:
        """The cards and sets that go on under another path, by that. Either of the two may have
        been committed before the other."""
        line = commit.id
        gone, given, new = self._went(step, line)
        found = list(pairs(gone, new))
        found += pairs(given, _but(new, (r.new for r in found)), surely=True)
        new = _but(new, (r.new for r in found))
        if new:  # taken out in an earlier commit
            found += pairs(_but(self._taken_out(line), new), new, surely=True)
        for path, node in gone.items():
            self._gone.put(line, path, node)
        for path in (*(r.old for r in found), *new):
            self._back(line, path)
        left = _but(gone, (r.old for r in found))
        if left:  # copied to another name in an earlier commit
            lost = gone.keys() | self._taken_out(line).keys()
            for each in pairs(left, _but(self._cards(line), lost), surely=True):
                self._back(line, each.old)
                found.append(each)
        self._called(found, commit)
        return {each.new: each for each in found}

    def _went(
        self, step: CommitStep, line: str
    ) -> tuple[dict[str, Node], dict[str, Node], dict[str, Node]]:
        """The cards and sets of a step that went: those that are gone, as they were before on a
        line of descent, those in whose stead surely another stands, and those that are new."""
        files = [f for f in step.files if f.path.startswith(FOLDERS)]
        gone = {f.path: self._before(f, line) for f in files if not f.exists}
        given = {f.path: f.before for f in files if surely_others(f.before, f.after)}
        new = {f.path: f.after for f in files if not f.existed}
        there = [{p: n for p, n in each.items() if n is not None} for each in (gone, given, new)]
        return there[0], there[1], there[2]

    def _taken_out(self, line: str) -> dict[str, Node]:
        """The cards and sets that were taken out on a line and have not come back."""
        return {p: n for p, n in self._gone.items(line) if not isinstance(n, bool)}

    def _back(self, line: str, path: str) -> None:
        """Know that a card that was taken out is there again, or goes on."""
        if self._gone.get(line, path):
            self._gone.put(line, path, False)

    def _cards(self, line: str) -> dict[str, Node]:
        """The cards and sets that there are on a line, as they were read last, but for paths that
        go on under another."""
        found = dict(self.start.cards()) if self.start else {}
        here = dict(self._there.items(line))
        found |= {p: n for p, n in self._known.items() if p in found or here.get(p)}
        return {p: n for p, n in found.items() if here.get(p, True) and not self._away.get(line, p)}

    def _called(self, found: Iterable[Renamed], commit: Commit) -> None:
        """Note what goes on under another path, and what does so without a word."""
        for each in found:
            if not each.told:
                why = (
                    f"{stem(each.old)} goes on as {stem(each.new)}, and `formerly` does not say so"
                )
                self._note(Sign.RENAMED, commit, why, each.new)
            self._away.put(commit.id, each.old, True)

    def _now(self, path: str) -> Node:
        """A card as it stands, which may not have been touched since the reading began."""
        if path not in self._known and self.start is not None:
            return self.start.cards()[path]
        return self._known[path]

    def _before(self, step: FileStep, line: str) -> Node | None:
        """A file as it was before on a line of descent, so far as it could be read last."""
        if step.before is not None:
            return step.before
        known = self._last.get(line, step.path)
        if known is None and self.start is not None and kind_of(step.path):
            known = self.start.node(step.path)
        if not step.existed and self._away.get(line, step.path):  # unless it came back
            of_set = not step.path.startswith("cylinders/")
            return None if of_set or surely_others(known, step.after) else known
        return known

    def _keep(self, step: FileStep, commit: Commit) -> None:
        """Know what became of a file, for what builds on it."""
        if step.path.startswith(FOLDERS) and step.exists is not step.existed:
            self._there.put(commit.id, step.path, step.exists)
        if step.exists and self._away.get(commit.id, step.path):
            self._away.put(commit.id, step.path, False)
        if step.after is not None:
            self._known[step.path] = step.after
        elif step.before is not None:
            self._last.put(commit.id, step.path, step.before)

    def _file(
        self, step: FileStep, commit: Commit, traces: _Traces, renamed: Mapping[str, Renamed]
    ) -> tuple[Change, ...]:
        """The changes of one file; one that was unreadable or gone is compared with what it was,
        one that is called otherwise now with what it was called."""
        was = self._before(step, commit.id)
        before = renamed[step.path].before if step.path in renamed else was
        if any(r.old == step.path for r in renamed.values()):
            before = None  # what stands there now is another's
        self._keep(step, commit)
        if not step.exists:
            traces.files.add(step.path)
            return ()
        if step.after is None:
            self._note(Sign.UNREADABLE, commit, "it could not be read as committed", step.path)
            return ()
        return compare(step.path, before, step.after)

    def _loosened(
        self, step: CommitStep, changes: Iterable[Change], looser: Iterable[Looser]
    ) -> None:
        """Settings and rules that ask less than they did."""
        self.found += [of_loosening(c, step.commit) for c in changes if is_looser(c)]
        gone = {f.path for f in step.files if not f.exists}
        for each in looser:
            if each.path not in gone:
                self._note_looser(Sign.RULES_LOOSENED, each, step.commit)

    def _removed(
        self,
        step: CommitStep,
        gone: Sequence[LogChange],
        changes: Iterable[Change],
        looser: Iterable[Looser],
        go_on: Collection[str],
    ) -> None:
        """Whole files that were taken out, with what the settings say of it."""
        said = {
            folded_name(c.after.get("what", "")): f", by {c.after.get('by')}: {c.after.get('why')}"
            for c in changes
            if c.path == SETTINGS and c.place == "removed" and c.after and c.what is What.ADDED
        }
        rows: dict[str, list[str]] = {}
        for each in looser:
            rows.setdefault(each.path, []).append(each.what)
        fresh = any(f.exists and not f.existed and f.path.startswith(RULES) for f in step.files)
        lines = {g.before.path for g in gone}
        for path in (f.path for f in step.files if not f.exists and f.path not in go_on):
            if path.startswith("fills/") and path not in lines:
                continue  # its lines went on in another log
            if path.startswith(RULES) and path not in rows and fresh:
                continue  # and so did its rows
            held = f", with {', '.join(rows[path])}" if path in rows else ""
            why = f"the whole file was taken out{held}{said.get(folded_name(path), '')}"
            self._note(Sign.RECORD_REMOVED, step.commit, why, path)

    def _rules_at(self, steps: list[CommitStep]) -> Files:
        """The ledger's own rule files as a commit has them."""
        commit = steps[0].commit
        before = self._rules.get(commit.parents[0], {}) if commit.parents else {}
        step = next((s for s in steps if s.parent == 0), None)
        files = [f for f in step.files if f.path.startswith(RULES)] if step else []
        if not files:
            return before
        gone = {f.path for f in files if not f.exists}
        stays = {p: n for p, n in before.items() if p not in gone}
        return stays | {f.path: f.after for f in files if f.exists}

    def _looser(self, step: CommitStep) -> list[Looser]:
        """In what rules and checklists ask less than in the parent that a step is compared with.
        A ledger that begins may bring any."""
        found: list[Looser] = []
        if self._begins(step):
            return found
        for each in step.files:
            if each.path.startswith(CHECKLISTS):
                found += looser_checklist(each.path, each.before, each.after)
        if any(f.path.startswith(RULES) for f in step.files):
            commit = step.commit
            parent = commit.parents[step.parent] if commit.parents else ""
            sets = self.asked.shipped(self._policies[commit.id].rules)
            found += looser_rules(self._rules.get(parent, {}), self._rules[commit.id], sets)
        return found

    def _note_looser(self, sign: Sign, each: Looser, commit: Commit, more: str = "") -> None:
        id_ = id_of(each.path)
        self.found.append(
            FoundSign(sign, commit, each.path, id_, each.what, (), f"{each.why}{more}", each.line)
        )

    def _changes(
        self, changes: Iterable[Change], commit: Commit, traces: _Traces, terms: Terms
    ) -> None:
        for change in changes:
            if change.what is What.ADDED:
                self.entries += 1
            else:
                grows = change.what in {What.ENDED, What.STRUCK_OUT}
                (traces.grown if grows else traces.touched).add(_same(change))
            sign = of_change(change, commit)
            if sign is not None:
                self.found.append(sign)
            self.found += of_entry(change, commit, terms)
            signed = signed_in_entry(change)
            why = "" if signed is None else self._unsigned(signed, terms, change.path)
            if why:
                self.found.append(uncertified_entry(change, commit, why))
            if change.place.endswith(CERTIFICATIONS) and change.fresh:
                self._certified(change, commit, terms)

    def _unsigned(self, signed: Signature, terms: Terms, where: str) -> str:
        """Why somebody could not sign, as was known then and is known now; or an empty text."""
        why = could_not_sign(terms, signed)
        if why and certified_later(terms, signed):
            first = self._awaited.get((signed.by, signed.skill))
            if first is None or signed.on.first < first[0].first:
                self._awaited[signed.by, signed.skill] = signed.on, where
            return ""
        return why

    def _certified(self, change: Change, commit: Commit, terms: Terms) -> None:
        """A certification of somebody new, which may come long after what it is to cover."""
        held = change.after or {}
        by = change.place.removeprefix("people.").removesuffix(CERTIFICATIONS)
        awaited = self._awaited.get((by, held.get("skill", "")))
        if awaited is not None:
            day, where = awaited
            if (commit.at.date() - day.last).days > terms.late_days:
                self.found.append(certified_late(change, commit, day.last, f"{where} of {day}"))

    def _lines(
        self,
        gone: Iterable[LogChange],
        new: Iterable[LineSeen],
        commit: Commit,
        traces: _Traces,
        terms: Terms,
        *,
        imported: bool,
    ) -> None:
        for change in gone:
            traces.lines.add(change.before.text)
            self.found.append(of_line(change, commit))
        for line in new:
            self.lines += 1
            self.found += of_new_line(line, commit, terms, imported)
            for signed in signed_in_line(line):
                why = self._unsigned(signed, terms, named_line(line))
                if why:
                    self.found.append(found_in_line(Sign.NOT_CERTIFIED, line, commit, why))

    # --- merges

    def _merge(self, commit: Commit, steps: dict[int, CommitStep], terms: Terms) -> None:
        """A merge's own changes, and what one side had recorded and the merge dropped.

        What differs from every parent the merge did itself. What differs from one parent must have
        come from another side.
        """
        parents = range(len(commit.parents))
        compared = [steps.get(i, CommitStep(commit, i)) for i in parents]
        foreign = self._ancestry.unknown_to(commit.parents)
        sides = [[self._traces[n] for n in names if n in self._traces] for names in foreign]
        traces = self._traces[commit.id] = _Traces()
        renamed = self._renamed_in_merge(commit, compared, sides)
        traces.renamed |= {(r.old, r.new) for each in renamed for r in each}
        changes = [
            self._changed_in_merge(step, each, compared)
            for step, each in zip(compared, renamed, strict=True)
        ]
        sorted_out = [sort_out(step.removed, step.added) for step in compared]
        traces.files |= _in_all(
            [{f.path: f for f in s.files if not f.exists} for s in compared]
        ).keys()
        known = traces.renamed.union(*(t.renamed for side in sides for t in side))
        own = _in_all([{_key(c): c for c in each} for each in changes])
        self.found += [of_loosening(c, commit) for c in own.values() if is_looser(c)]
        self._changes(own.values(), commit, traces, terms)
        gone = _in_all([{g.before.text: g for g in lost} for lost, _ in sorted_out])
        new = _in_all([{line.text: line for line in more} for _, more in sorted_out])
        self._lines(gone.values(), new.values(), commit, traces, terms, imported=False)
        for i, others in enumerate(sides):
            begun = not self._begins(compared[i])
            rest = [c for c in changes[i] if _key(c) not in own and (begun or c.path != SETTINGS)]
            self._dropped(rest, others, commit, known)
            lines = [g for g in sorted_out[i][0] if g.before.text not in gone]
            self._dropped_lines(lines, others, commit)
            self._dropped_files(compared[i], others, commit, {r.old for r in renamed[i]})
        self._merged_rules(commit, compared, foreign, traces)
        for path, each in _in_all([{f.path: f for f in s.files} for s in compared]).items():
            if each.exists and each.after is None:
                self._note(Sign.UNREADABLE, commit, "it could not be read as merged", path)
        for each in (f for s in compared for f in s.files):
            self._keep(each, commit)

    def _renamed_in_merge(
        self, commit: Commit, steps: Sequence[CommitStep], sides: Sequence[list[_Traces]]
    ) -> list[list[Renamed]]:
        """What of each parent goes on under another path: as the other sides called it, or the
        merge by itself."""
        renamed = [self._goes_on(s, side, steps) for s, side in zip(steps, sides, strict=True)]
        every = {(r.old, r.new): r for each in renamed for r in each}
        self._called(every.values(), commit)
        return renamed

    def _goes_on(
        self, step: CommitStep, others: Iterable[_Traces], steps: Sequence[CommitStep]
    ) -> list[Renamed]:
        """What of one parent goes on under another path: a file that is gone, or in whose stead
        another cylinder's stands; where the other sides called it so, else by what it says."""
        gone, given, new = self._went(step, step.commit.parents[step.parent])
        called = set[tuple[str, str]]().union(*(t.renamed for t in others))
        found: list[Renamed] = []
        for old, node in (gone | given).items():
            for path in goes_on_as(old, called):
                now = new.get(path)
                if now is None and old in gone and path not in gone:  # both sides had it
                    now = self._merged(path, steps)
                if now is not None and not surely_others(node, now):
                    found.append(Renamed(old, path, node, told=True))  # or a sign where it was done
                    new.pop(path, None)
                    break
        found += pairs(_but(gone, (r.old for r in found)), new)
        given, new = _but(given, (r.old for r in found)), _but(new, (r.new for r in found))
        return [*found, *pairs(given, new, surely=True)]

    def _merged(self, path: str, steps: Sequence[CommitStep]) -> Node | None:
        """A card or set as a merge has it; None where it has none that can be read."""
        there = [f for s in steps for f in s.files if f.path == path]
        if there:
            return there[0].after
        line = steps[0].commit.id
        return None if self._gone.get(line, path) else self._cards(line).get(path)

    def _changed_in_merge(
        self, step: CommitStep, renamed: Iterable[Renamed], steps: Sequence[CommitStep]
    ) -> list[Change]:
        """What a merge changed of a parent: in each file against what it was called there."""
        before = {r.new: r.before for r in renamed}
        olds = {r.old for r in renamed}
        changes = [
            c
            for f in step.files
            if f.after
            for c in compare(
                f.path, before.get(f.path, None if f.path in olds else f.before), f.after
            )
        ]
        here = {f.path for f in step.files}
        for each in renamed:
            now = self._merged(each.new, steps) if each.new not in here else None
            changes += losses(each, now) if now is not None else ()
        return changes

    def _merged_rules(
        self,
        commit: Commit,
        steps: Sequence[CommitStep],
        foreign: Sequence[frozenset[str]],
        traces: _Traces,
    ) -> None:
        """Rules that ask less than on any side, and those of one side that nobody took out."""
        looser = [{(e.path, e.what): e for e in self._looser(s)} for s in steps]
        own = _in_all(looser)
        traces.looser |= own.keys()
        for each in own.values():
            self._note_looser(Sign.RULES_LOOSENED, each, commit)
        for i, found in enumerate(looser):
            said = [self._traces[n].looser for n in foreign[i] if n in self._traces]
            for key, each in found.items():
                if key not in own and not any(key in rows for rows in said):
                    more = "; one side had it, and no commit says why the merge has not"
                    self._note_looser(Sign.LOST_IN_MERGE, each, commit, more)

    def _dropped_files(
        self, step: CommitStep, others: list[_Traces], commit: Commit, go_on: Collection[str]
    ) -> None:
        for each in (f for f in step.files if f.path not in go_on):
            if not each.exists and not any(each.path in other.files for other in others):
                why = "one side had the whole file; the merge has not, and no commit says why"
                self._note(Sign.LOST_IN_MERGE, commit, why, each.path)

    def _dropped(
        self,
        changes: Iterable[Change],
        others: list[_Traces],
        commit: Commit,
        renamed: Collection[tuple[str, str]],
    ) -> None:
        for change in changes:
            sign = of_change(change, commit) if _loses(change) else None
            if sign is None and is_looser(change):
                sign = of_loosening(change, commit)
            if sign is None:
                continue
            same = {_same(change, path) for path in paths_of(change.path, renamed)}
            touched = any(same & each.touched for each in others)
            grown = change.after is not None and any(same & each.grown for each in others)
            if grown and not touched and _ended_worse(change):
                has = "only how the other did" if _goes_on(change) else "it as neither did"
                self._lost(sign, f"both sides went on with it; the merge has {has}")
            elif not grown and not touched:
                self._lost(sign, "one side had it so; the merge has not, and no commit says why")

    def _dropped_lines(
        self, gone: Iterable[LogChange], others: list[_Traces], commit: Commit
    ) -> None:
        for change in gone:
            if not any(change.before.text in each.lines for each in others):
                why = "one side had it; the merge has not, and no commit says why"
                self._lost(of_line(change, commit), why)

    def _lost(self, sign: FoundSign, why: str) -> None:
        """Note that what a sign is of was lost in a merge."""
        self.found.append(replace(sign, sign=Sign.LOST_IN_MERGE, why=why))

    # --- the commits themselves

    def _in_force(self, steps: list[CommitStep], touches: bool) -> Terms:
        """The terms of a commit. It must be signed where the settings before it or in it ask."""
        commit = steps[0].commit
        before = [self._policies[p] for p in commit.parents if p in self._policies]
        after = self._policies[commit.id] = self._policy(steps, before)
        counting = [*before, after]
        if touches and any(p.signed for p in counting) and not commit.signed and commit.id:
            self._note(Sign.UNSIGNED, commit, "the settings ask for a signature, and it has none")
        key = tuple(dict.fromkeys(map(id, counting)))
        if key not in self._terms:
            policies = list({id(p): p for p in counting}.values())
            self._terms[key] = Terms.of(policies, self.asked)
        return self._terms[key]

    def _policy(self, steps: list[CommitStep], before: list[Policy]) -> Policy:
        """What the settings of a commit ask for; as before where it left them alone or where they
        cannot be read."""
        commit = steps[0].commit
        said = {s.parent: f.after for s in steps for f in s.files if f.path == SETTINGS}
        same = (p for i, p in enumerate(commit.parents) if i not in said and p in self._policies)
        for parent in same:
            return self._policies[parent]
        node = next((n for n in said.values() if n is not None), None)
        found = Policy.of(node) if node is not None else None
        return found or (before[0] if before else Policy())

    def _dates(self, commit: Commit, terms: Terms) -> None:
        for parent in commit.parents:
            before = self._commits.get(parent)
            if before is not None and before.at - commit.at > DAY:
                days = (before.at - commit.at).days
                why = f"dated {days} days before {before.short}, which it builds on"
                self._note(Sign.DATES, commit, why)
        apart = abs(commit.at - commit.authored).days
        if apart > terms.late_days:
            why = f"written {commit.authored:%Y-%m-%d} by its author's date, {apart} days apart"
            self._note(Sign.DATES, commit, why)

    def _note(self, sign: Sign, commit: Commit, why: str, path: str = "") -> None:
        id_ = id_of(path) if path else ""
        self.found.append(
            FoundSign(sign, commit, path, id_, commit.subject if not path else "", (), why)
        )


def _but(files: Mapping[str, Node], paths: Iterable[str]) -> dict[str, Node]:
    """Some files without those of some paths."""
    out = set(paths)
    return {path: node for path, node in files.items() if path not in out}


def _goes_on(change: Change) -> bool:
    """Whether what stands after says anything that did not stand before."""
    before, after = change.before or {}, change.after or {}
    return any(before.get(k) != v for k, v in after.items())


def _ended_worse(change: Change) -> bool:
    """Whether an entry told more against its cylinder by how it went on than what it was replaced
    by, or whether that cannot be read."""
    was, now = change.was, change.is_
    if was is None or now is None:
        return False
    before, after = (read(each.record, each.node, NodeReader(change.path)) for each in (was, now))
    return before is None or after is None or ended_worse(before, after)


def _same(change: Change, path: str = "") -> Hashable:
    """What stays the same of the entry or the fact that changed, whatever becomes of it; `path`
    where its file has another name now."""
    return path or change.path, change.place, opening(change.was) if change.was else frozenset()


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
