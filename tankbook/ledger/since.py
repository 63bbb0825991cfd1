"""Every version of a ledger's files that a commit since its last checkpoint changed or took out.

What was taken out and committed is in none of the latest commits any more. So the commits since the
last checkpoint are listed by one `git log`, and of each the files it changed are read as they were
before it; where nothing but more was written since, they are not looked at further.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct, field

from tankbook.ledger.checkpoints import checkpoints_of, contents
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Folder, lf
from tankbook.ledger.gitfiles import AtCommit, Objects
from tankbook.ledger.githeads import LedgerCommits, RepositoryPlace
from tankbook.ledger.gitlog import RawChange, RawCommit, raw_log
from tankbook.ledger.gitread import DIFF, Repository
from tankbook.ledger.gitwalk import at_folder, lineage
from tankbook.ledger.names import STATION_FILE, would_be_missed
from tankbook.ledger.ordinary import of_ledger, size_limit_of
from tankbook.ledger.quick import Plain, plain
from tankbook.ledger.text import read_text
from tankbook.records.absence import SETTINGS_PATH, Unproved, Unseen
from tankbook.records.audited import AUDITED_PATH, Checkpoint
from tankbook.records.commits import Commit
from tankbook.records.counter import COUNTER_FILE
from tankbook.records.fields import ListOf, Nested, Record, keys_of
from tankbook.records.life import life_of
from tankbook.rules.changes import FOLDERS
from tankbook.rules.checkpoint import digest_holds
from tankbook.rules.vanished import AGAINST
from tankbook.units.patterns import pattern

_NAME = pattern(r"[0-9a-f]{40}|[0-9a-f]{64}")
_FACTS = frozenset({"marks", "cylinders", "rating"})
"""Facts of cards and sets that do not change without a word; nor does a status that tells against
its cylinder."""
_AGAINST = frozenset(s.value for s in AGAINST)
_LISTS: Mapping[str, Mapping[str, type[Record]]] = {
    folder: {
        name: each.kind.kind.record
        for name, each in keys_of(record).items()
        if isinstance(each.kind, ListOf) and isinstance(each.kind.kind, Nested)
    }
    for folder, record in FOLDERS.items()
}
"""The kinds of the entries in cards and sets, by the folder and their list."""
_BEYOND = "lies beyond this shallow clone"
_READ_ALL = "read all of it with `tankbook audit --whole`; if all is well, `audit --checkpoint`"


_COPY = f"a copy that is to do without git is asked once {AUDITED_PATH} is taken out of it"


class Before(Struct, frozen=True):
    """A ledger as a commit has it that another builds on, and which files that one changed."""

    then: AtCommit
    paths: frozenset[str]


class Since(Struct):
    """What the commits since a checkpoint changed, the newest first.

    Attributes:
        audited: the checkpoint, proved; None where there is none.
        unproved: why a checkpoint does not hold.
        before: what they changed.
    """

    audited: Checkpoint | None = None
    unproved: Unproved | None = None
    before: list[Before] = field(default_factory=list)


def since_checkpoint(
    place: RepositoryPlace, objects: Objects, held: LedgerCommits, here: Folder
) -> Since:
    """What was committed since the last checkpoint of a ledger, and how the files stood before.

    Raises:
        LedgerError: git cannot be asked, or what it keeps is damaged.
    """
    if held.heads.head is None or not held.heads.holds:
        return Since()
    return _SinceReading(place, objects, held, here, held.heads.head).read()


def not_asked(root: Path, unseen: Sequence[Unseen], *, begun: bool) -> Unproved | None:
    """That a ledger was audited under git and git cannot be asked of it now; None where it has no
    checkpoint that can be read.

    Args:
        root: the ledger's folder.
        unseen: what stands in the way.
        begun: whether there is a repository here at all.
    """
    try:
        every = checkpoints_of(of_ledger(root, AUDITED_PATH))
    except (FileNotFoundError, LedgerError):
        return None  # what cannot be read is told as any other file
    if not every:
        return None
    last = every[-1]
    said = f"commit {last.through[:10]} was audited on {last.on}, and "
    line = last.source.at("through").line
    wrong = next((u for u in unseen if not u.path), None)
    if wrong is None:
        mend = f"bring its `.git` back, or ask where that lies; {_COPY}"
        why = "nothing is committed in the git that is here" if begun else "there is no git here"
        return Unproved(f"{said}{why}", mend, line)
    mends = "; ".join(filter(None, (wrong.mend, _COPY)))
    return Unproved(f"{said}git cannot be asked now: {wrong.why}", mends, line)


class _SinceReading(Struct):
    place: RepositoryPlace
    objects: Objects
    held: LedgerCommits
    here: Folder
    head: Commit
    _folders: list[str] = field(default_factory=list)
    """Where in the repository the ledger lay, with a slash at its end; the latest first."""
    _at: dict[str, AtCommit] = field(default_factory=dict)
    _known: dict[str, tuple[str, bytes]] = field(default_factory=dict)
    """The object last read of each file."""

    def read(self) -> Since:
        moved = self.held.heads.moved_from
        folder = "/".join(self.place.folders) if moved is None else moved
        self._folders = [f"{folder}/" if folder else ""]
        checkpoint = self._last()
        if checkpoint is None:
            return Since()
        line = checkpoint.source.at("through").line
        said = f"commit {checkpoint.through[:10]}, audited on {checkpoint.on}, "
        wrong = self._unknown(checkpoint)
        if wrong == _BEYOND:
            mend = "fetch the rest: `git fetch --unshallow`"
            return Since(unproved=Unproved(f"{said}{wrong}", mend, line, fault=False))
        if wrong:
            return Since(unproved=Unproved(f"{said}{wrong}", _READ_ALL, line))
        asked = ("--topo-order", "--boundary", self.head.id, f"^{checkpoint.through}", "--")
        listed = self._listed(*asked)
        ends = {each.id for each in listed if each.boundary}
        changes = [each for each in listed if each.parent and not each.boundary]
        if checkpoint.through not in (*ends, self.head.id):
            why, mend = self._apart(checkpoint.through)
            return Since(unproved=Unproved(f"{said}{why}", mend, line))
        self._follow(changes, checkpoint.through)
        then = self._ledger(checkpoint.through)
        if then is None:
            why = f"{said}holds no ledger"
            return Since(unproved=Unproved(why, _READ_ALL, line))
        if not digest_holds(checkpoint, contents(then, self.here)):
            why = (
                f"the checkpoint of {checkpoint.on} was changed by hand: its digest is not that of "
                f"commit {checkpoint.through[:10]}"
            )
            return Since(unproved=Unproved(why, _READ_ALL, line))
        return Since(checkpoint, before=list(self._before(changes)))

    # --- the checkpoint

    def _last(self) -> Checkpoint | None:
        """The last checkpoint on record. Where there is none any more, of the version that git had
        last, so that taking them out hides nothing. None where that cannot be read, as is told."""
        data = self.here.data.get(AUDITED_PATH)
        if data is None and self.here.stands(AUDITED_PATH):
            return None
        try:
            every = checkpoints_of(data) if data is not None else ()
        except LedgerError:
            return None
        return every[-1] if every else self._last_in_git()

    def _last_in_git(self) -> Checkpoint | None:
        in_heads = (f.read(AUDITED_PATH) for f in self.held.commits if f.exists(AUDITED_PATH))
        found = next(filter(None, map(self._newest, in_heads)), None)
        if found is not None:
            return found
        found, came = self._taken_out(self._folders[0])
        if found is None and came:
            self._follow_all()
            others = (self._taken_out(folder)[0] for folder in self._folders[1:])
            found = next(filter(None, others), None)
        return found

    def _taken_out(self, folder: str) -> tuple[Checkpoint | None, bool]:
        """The last checkpoint that was taken out of a folder's file, and whether a ledger came into
        the folder when there were commits already: it may have been moved there."""
        file, settings = f"{folder}{AUDITED_PATH}", f"{folder}{SETTINGS_PATH}"
        line = ("--full-history", "--diff-filter=AMD", self.head.id, "--", file, settings)
        files = [f for each in self._listed(*line) if each.parent for f in each.files]
        was = (self.objects.blob(f.old) for f in files if f.path == file and not f.came)
        found = next(filter(None, (self._newest(data) for data in was if data)), None)
        return found, any(f.came for f in files if f.path == settings)

    def _follow_all(self) -> None:
        """Know the folders the ledger was moved from."""
        whole = Repository(self.place.top, "", shallow=False)
        self._folders = lineage(whole, self.objects, self.head.id, self._folders[0]).folders

    def _newest(self, data: bytes) -> Checkpoint | None:
        try:
            every = checkpoints_of(data)
        except LedgerError:
            return None  # what cannot be read here is told as any other file
        return every[-1] if every else None

    def _unknown(self, checkpoint: Checkpoint) -> str:
        """Why the commit audited cannot be asked for; empty where it can."""
        name = checkpoint.through
        if not _NAME.fullmatch(name) or len(name) != len(self.head.id):
            return "is no name of a commit"
        found = self.objects.find(name)
        if found is not None:
            return "" if found.kind == "commit" else "is no commit"
        if self.place.ask("rev-parse", "--is-shallow-repository") == "true":
            return _BEYOND
        return "is not in this repository"

    def _apart(self, name: str) -> tuple[str, str]:
        """Why what is checked out does not build on a commit, and what to do."""
        if not self.place.ask("rev-list", "-1", self.head.id, f"^{name}", "--"):
            mend = "check out the branch that was audited, and pull"
            return "lies ahead of what is checked out", mend
        why = "is not in the history of what is checked out: it was written anew, or is of another"
        return why, _READ_ALL

    # --- the commits

    def _listed(self, *asked: str) -> list[RawCommit]:
        """What commits changed, the newest first."""
        said = self.place.ask("log", "--raw", "--pretty=raw", *DIFF, *asked)
        return list(raw_log(said.encode("utf-8", "surrogateescape").split(b"\n")))

    def _follow(self, changes: Sequence[RawCommit], name: str) -> None:
        """Know the folders the ledger was moved from since."""
        settings = f"{self._folders[0]}{SETTINGS_PATH}"
        turned = any(f.path == settings and (f.came or f.went) for c in changes for f in c.files)
        if turned or self._ledger(name) is None:
            self._follow_all()
            self._at.clear()

    def _ledger(self, name: str) -> AtCommit | None:
        """The ledger as a commit has it, wherever it lay then."""
        if name not in self._at:
            commit = self.objects.commit(name)
            every = (at_folder(self.objects, commit, folder) for folder in self._folders)
            found = next((each for each in every if each.top), None)
            self._at[name] = found or AtCommit(self.objects, commit, "", {})
        return self._at[name] if self._at[name].top else None

    def _before(self, changes: Sequence[RawCommit]) -> Iterator[Before]:
        seen: set[tuple[str, str, str | None]] = set()
        for change in changes:
            paths = set()
            for file in change.files:
                path = self._path(file.path)
                if path and not file.came and not self._only_grew(path, file):
                    paths.add(path)
            then = self._ledger(change.parent) if paths else None
            if then is None:
                continue
            settings = then.object(SETTINGS_PATH)
            new = {p for p in paths if (p, then.object(p) or "", settings) not in seen}
            seen |= {(p, then.object(p) or "", settings) for p in new}
            if new:
                yield Before(then, frozenset(new))

    def _path(self, path: str) -> str:
        """The path in the ledger of a file that does not go without a word; empty for any other."""
        inside = (path.removeprefix(f) for f in self._folders if path.startswith(f))
        return next((each for each in inside if would_be_missed(each)), "")

    def _only_grew(self, path: str, file: RawChange) -> bool:
        """Whether a file has all that it had, and more perhaps."""
        if file.went or not file.plain or path.startswith(("rules/", "checklists/")):
            return False
        after, before = (self._bytes(path, name) for name in (file.new, file.old))
        if before is None or after is None:
            return False
        return _more_lines(before, after) if path.endswith(".csv") else _more(path, before, after)

    def _bytes(self, path: str, name: str) -> bytes | None:
        known = self._known.get(path)
        if known is not None and known[0] == name:
            return known[1]
        data = self.here.bytes_of(path, name)
        if data is None:
            try:
                data = self.objects.blob(name, size_limit_of(path))
            except LedgerError:
                return None  # it is told where it is compared
            if data is None:
                return None
        self._known[path] = name, data
        return data


def _more_lines(before: bytes, after: bytes) -> bool:
    was, is_ = lf(before).removesuffix(b"\n"), lf(after)
    return is_.startswith(was) and is_[len(was) : len(was) + 1] in (b"", b"\n")


_ENTRY = pattern(rb"( *- )\{[A-Za-z0-9_]+: [^\[\]{}\"'#&*!|>%@`]*\}")
"""An entry that is one line, whatever stands around it."""


def _more_entries(before: bytes, after: bytes) -> bool:
    """Whether entries were added behind another of their list, and all else is as it was."""
    was, is_ = before.split(b"\n"), after.split(b"\n")
    first = next((i for i, (b, a) in enumerate(zip(was, is_, strict=False)) if b != a), len(was))
    more = len(is_) - len(was)
    if more <= 0 or not first or was[first:] != is_[first + more :]:
        return False
    entries = [_ENTRY.fullmatch(line) for line in is_[first - 1 : first + more]]
    return len({each[1] if each else b"" for each in entries}) == 1 and entries[0] is not None


def _more(path: str, before: bytes, after: bytes) -> bool:
    if _more_entries(before, after):
        return True
    was, is_ = (_plain(path, data) for data in (before, after))
    if was is None or is_ is None:
        return False
    folder = path.rpartition("/")[0]
    if folder in _LISTS or path in (STATION_FILE, COUNTER_FILE):
        return _has_entries(was, is_, folder)
    return _has_all(was, is_)


def _plain(path: str, data: bytes) -> dict[str, Plain] | None:
    text, findings = read_text(data, path)
    return plain(text) if text is not None and not findings else None


def _has_all(was: Plain, is_: Plain) -> bool:
    """Whether every key, and every item of every list, says what it said, word for word."""
    if isinstance(was, dict) and isinstance(is_, dict):
        return all(key in is_ and _has_all(value, is_[key]) for key, value in was.items())
    if isinstance(was, list) and isinstance(is_, list):
        return _each_in(was, is_, None) if _are_entries(was) and _are_entries(is_) else was == is_
    return was == is_


def _has_entries(was: dict[str, Plain], is_: dict[str, Plain], folder: str) -> bool:
    """Whether every entry of a card, a set or a part of the station stands, and what of its facts
    counts. An entry may have gone on, as those of a card do."""
    kinds = _LISTS.get(folder, {})
    for key, value in was.items():
        now = is_.get(key, "")
        if isinstance(value, str) and isinstance(now, str):
            adverse = key in _FACTS or (key == "status" and value.casefold() in _AGAINST)
            if adverse and value != now:
                return False
            continue
        if not folder and isinstance(value, dict) and isinstance(now, dict) and "name" in value:
            if not _has_entries(value, now, ""):
                return False
        elif _are_entries(value) and _are_entries(now):
            assert isinstance(value, list)
            assert isinstance(now, list)
            parts = not folder and all("name" in each for each in value if isinstance(each, dict))
            if not (_parts_in(value, now) if parts else _each_in(value, now, kinds.get(key))):
                return False
        elif value != now:
            return False
    return True


def _are_entries(value: Plain) -> bool:
    return isinstance(value, list) and all(isinstance(each, dict) for each in value)


def _parts_in(was: list[Plain], is_: list[Plain]) -> bool:
    """Whether each part of the station is there by its name, with its entries."""
    now = {str(p["name"]): p for p in is_ if isinstance(p, dict) and "name" in p}
    if len(now) < len(is_):
        return False
    parts = [p for p in was if isinstance(p, dict)]
    return all(str(p["name"]) in now and _has_entries(p, now[str(p["name"])], "") for p in parts)


def _each_in(was: list[Plain], is_: list[Plain], kind: type[Record] | None) -> bool:
    """Whether each of a list is in another, as it was or gone on as entries of its kind do."""
    left = list(is_)
    for each in was:
        found = next((other for other in left if other == each), None)
        if found is None and kind is not None:
            found = next((other for other in left if _went_on(each, other, kind)), None)
        if found is None:
            return False
        left.remove(found)
    return True


def _went_on(was: Plain, is_: Plain, kind: type[Record]) -> bool:
    """Whether an entry has all that it had, and else only what is added to one that goes on."""
    life = life_of(kind)
    if not isinstance(was, dict) or not isinstance(is_, dict):
        return False
    if "void" in was or (life.closed_by and life.closed_by in was):
        return False
    more = is_.keys() - was.keys()
    return more <= life.grows and all(is_.get(key) == value for key, value in was.items())
