"""What git knows of one record: the versions of its file, and lines of the log that are gone.

The log has a version for every fill of every cylinder, so where it is long not all of them are
read: `Past.every` says how closely it was looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import groupby, pairwise
from typing import Any, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from tankbook.ledger.files import Files
from tankbook.ledger.gitfiles import Objects
from tankbook.ledger.gitlog import LOG_PATH, FileDiff, Versions, cells_of, plain_text, raw_change
from tankbook.ledger.gitread import DIFF, Repository, top_of
from tankbook.ledger.gitwalk import folder_at, lineage
from tankbook.records.commits import Commit, CommitStep, LineSeen
from tankbook.rules.changes import LogChange, sort_out
from tankbook.rules.vanished import serial_of

BUDGET = 48 << 20
"""How many bytes of old logs one question reads, about: a quarter of a second."""

EVERY_COMMIT = "commit"
PERIODS = {"day": 86_400, "week": 604_800, "month": 2_629_746}
"""How closely a long log is looked at: the last version of each period, in seconds."""
YEAR = 31_556_952

Said: TypeAlias = tuple[str, ...]
"""What a line says: its cells, or the whole of a line that is no row."""


class _Version(Struct, frozen=True):
    """One file's difference in one commit, compared with one of its parents."""

    commit: str
    at: int
    path: str
    old: str
    new: str
    mode: str
    came: bool
    went: bool
    number: int = 0
    """Which of the commit's parents it is compared with, in the order told."""

    @property
    def diff(self) -> FileDiff:
        there = not self.came, not self.went
        return FileDiff(self.path, "", self.old, self.new, self.mode, *there)


class Past(Struct, frozen=True):
    """The steps of a record's file, parents first, and what became of lines of the log.

    `gone` pairs each change with the commit that made it; `paths` are those that the file had, the
    latest first.
    """

    steps: tuple[CommitStep, ...] = ()
    gone: tuple[tuple[Commit, LogChange], ...] = ()
    every: str = ""
    paths: tuple[str, ...] = ()


def past_of(
    repository: Repository,
    objects: Objects,
    tip: Commit,
    unsaved: Commit,
    path: str,
    ids: Sequence[str],
    latest: Files,
    formerly: Sequence[str] = (),
) -> Past:
    """What git knows of the record at `path`, and of the log's lines that name one of `ids`.

    `latest` holds the log as it is now; a line that once stood and is not in it is gone. `unsaved`
    stands for what is not committed.

    The record's file is followed through its renames (by `formerly`, or by its serial), and the
    ledger through those of its folder.

    Raises:
        LedgerError: git breaks off.
    """
    where = _Where.of(repository, objects, tip, path, formerly)
    search = _Search(objects, ids, latest, unsaved)
    size = _Size.of(latest)
    every, missing, logs = EVERY_COMMIT, None, None
    if size.lines * size.longest // 2 > BUDGET:
        with ThreadPoolExecutor(1) as aside:  # two walks, two processors
            looked = aside.submit(_looked_for, repository, objects, tip, where, search, size)
            versions = _parents_first(repository, tip, where, path)
            every, missing = looked.result()
    if missing is None:
        versions = _parents_first(repository, tip, where, path, "fills")
        logs = [v for v in versions if LOG_PATH.fullmatch(v.path)]
        missing = search.missing((v.path, v.new) for v in logs if not v.went)
    if missing and logs is None:
        logs = _parents_first(repository, tip, where, "fills")
    gone = tuple(search.gone(missing, logs or []))
    return Past(tuple(_steps(versions, path, objects)), gone, every, where.paths)


def _looked_for(
    repository: Repository,
    objects: Objects,
    tip: Commit,
    where: _Where,
    search: _Search,
    size: _Size,
) -> tuple[str, dict[Said, str] | None]:
    """How closely a long log can be looked at, and the lines missing; None at every commit."""
    listed = repository.ask("rev-list", "--first-parent", "--timestamp", tip.id, "--")
    if listed.count(b"\n") * size.longest // 2 <= BUDGET:
        return EVERY_COMMIT, None
    fit = (n for n, s in PERIODS.items() if YEAR // s * size.all // 2 <= BUDGET)
    every = next(fit, [*PERIODS][-1])
    chosen = _last_of_each(listed, PERIODS[every])
    return every, search.missing(_logs_of(where.folders, objects, chosen))


class _Where(Struct, frozen=True):
    """Where a ledger and one of its records lay: folders and paths, the latest first."""

    folders: tuple[str, ...]
    paths: tuple[str, ...]

    @classmethod
    def of(
        cls,
        repository: Repository,
        objects: Objects,
        tip: Commit,
        path: str,
        formerly: Sequence[str],
    ) -> _Where:
        """All that is known of where a record lay, up to a commit."""
        here = folder_at(repository, objects, tip)
        folders = tuple(lineage(repository, objects, tip.id, here).folders)
        folder = path.partition("/")[0]
        every = list(dict.fromkeys([path, *(f"{folder}/{old}.yaml" for old in formerly)]))
        where = cls(folders, tuple(every))
        for known in every:  # it grows
            for name in _called_before(repository, objects, tip, where, known):
                if name not in every:
                    every.append(name)
        return cls(folders, tuple(every))

    def canonical(self, full: str) -> tuple[str, int] | None:
        """A file by the path it has now, and how late in the order it comes; None for any other."""
        for place, folder in enumerate(self.folders):
            if full.startswith(folder):
                path = full.removeprefix(folder)
                if path in self.paths:
                    return self.paths[0], place + len(self.folders) * self.paths.index(path)
                if LOG_PATH.fullmatch(path):
                    return path, place
        return None


def _called_before(
    repository: Repository, objects: Objects, tip: Commit, where: _Where, path: str
) -> Iterator[str]:
    """The paths of a record of the same serial that went in the commit in which this one came."""
    folder = path.rpartition("/")[0]
    if folder == "fills" or not folder:
        return
    read = Versions(objects)
    paths = [f"{f}{path}" for f in where.folders]
    for each in _walk(repository, tip.id, paths, "--full-history", "--diff-filter=A"):
        mark = serial_of(read.node(path, each.new))
        if mark is None:
            continue
        folders = [f"{f}{folder}" for f in where.folders]
        for other in _walk(repository, each.commit, folders, "--no-walk", "--diff-filter=D"):
            name = f"{folder}/{other.path.rpartition('/')[2]}"
            if name != path and serial_of(read.node(name, other.old)) == mark:
                yield name


def _parents_first(
    repository: Repository, tip: Commit, where: _Where, *paths: str
) -> list[_Version]:
    """Every difference of some files or folders, those of parents before their children's.

    Git's usual order is that, unless clocks were wrong; the order that always is takes longer.
    """
    every = [p for path in paths for p in (where.paths if path in where.paths else [path])]
    full = [f"{folder}{path}" for path in every for folder in where.folders]
    versions = list(_walk(repository, tip.id, full, "--full-history"))
    if any(later.at > earlier.at for earlier, later in pairwise(versions)):
        versions = list(_walk(repository, tip.id, full, "--full-history", "--topo-order"))
    versions.reverse()
    if len(full) == len(paths):
        return [replace(v, path=v.path.removeprefix(where.folders[0])) for v in versions]
    return list(_joined(versions, where))


def _joined(versions: Iterable[_Version], where: _Where) -> Iterator[_Version]:
    """Differences by the paths that the files have now: what went in one place and came in another
    is one. A copy that goes while another stands is nothing."""
    standing: dict[str, set[int]] = {}
    for _, group in groupby(versions, key=lambda v: (v.commit, v.number)):
        found: dict[str, list[tuple[int, _Version]]] = {}
        for each in group:
            known = where.canonical(each.path)
            if known is not None:
                found.setdefault(known[0], []).append((known[1], each))
        for path, parts in found.items():
            there = standing.setdefault(path, set())
            there |= {n for n, v in parts if not v.went}
            there -= {n for n, v in parts if v.went}
            one = _one(path, sorted(parts, key=lambda p: p[0]), there)
            if one is not None:
                yield one


def _one(path: str, parts: list[tuple[int, _Version]], there: set[int]) -> _Version | None:
    """What several differences of one file, in one commit, come to."""
    after = next((p for p in parts if not p[1].went), None)
    if after is None:
        return None if there else replace(parts[0][1], path=path)
    number, version = after
    if not version.came:
        return replace(version, path=path)
    gone = next((v for n, v in parts if n != number and v.went), None)
    if gone is None:
        return replace(version, path=path)
    return (
        None if gone.old == version.new else replace(version, path=path, old=gone.old, came=False)
    )


def _walk(
    repository: Repository, tip: str, paths: Iterable[str], *options: str
) -> Iterator[_Version]:
    """Differences of some paths, from the top of the repository, the latest first."""
    arguments = (
        *top_of(repository), "log", *options, "--raw", "--format=%x01%H %ct", *DIFF, tip,
        "--", *paths,
    )  # fmt: skip
    commit, at, number = "", 0, 0
    with repository.stream(*arguments) as lines:
        for line in lines:
            if line.startswith(b"\1"):
                name, _, when = line[1:-1].partition(b" ")
                number = number + 1 if name.decode() == commit else 0
                commit, at = name.decode(), int(when)
            elif found := raw_change(line, "replace"):
                kept = found.path, found.old, found.new, found.modes[1]
                yield _Version(commit, at, *kept, found.came, found.went, number)


def _steps(versions: Iterable[_Version], path: str, objects: Objects) -> Iterator[CommitStep]:
    """The steps of one file; a merge once for each parent its file differs from."""
    read = Versions(objects)
    mine = (v for v in versions if v.path == path)
    for name, group in groupby(mine, key=lambda v: v.commit):
        commit = objects.commit(name)
        for place, each in enumerate(group):
            yield CommitStep(commit, place, (read.step(each.diff),))


# --- the log


class _Size(Struct, frozen=True):
    """How long the logs are: their lines, the bytes of the longest and of all.

    A log has at most about as many versions as lines, and these have about half its final size.
    """

    lines: int
    longest: int
    all: int

    @classmethod
    def of(cls, latest: Files) -> _Size:
        logs = [latest.read(f"fills/{n}") for n in latest.names("fills") if n.endswith(".csv")]
        sizes = list(map(len, logs))
        return cls(sum(log.count(b"\n") for log in logs), max(sizes, default=0), sum(sizes))


def _last_of_each(listed: bytes, seconds: int) -> list[str]:
    """Of commits listed with their times, the latest first, the last of each period."""
    last: dict[int, str] = {}
    for line in listed.splitlines():
        at, _, name = line.partition(b" ")
        last.setdefault(int(at) // seconds, name.decode())
    return list(last.values())


def _logs_of(
    folders: Sequence[str], objects: Objects, commits: Iterable[str]
) -> Iterator[tuple[str, str]]:
    """Path and object of every log that commits hold, each version once."""
    seen: set[str] = set()
    for commit in commits:
        top = objects.folder(f"{commit}^{{tree}}")
        for place in folders:
            folder = top
            for part in (*filter(None, place.split("/")), "fills"):
                folder = objects.folder(folder.get(part, ("", "0" * len(commit)))[1])
            for name, (_, version) in folder.items():
                if name.endswith(".csv") and version not in seen:
                    seen.add(version)
                    yield f"fills/{name}", version


_MADE_AFTER: Any = None
"""Of what is made of the others, in `__post_init__`."""


class _Search(Struct):
    """Looks for lines of some cylinders that once stood in the log."""

    objects: Objects
    ids: Sequence[str]
    latest: Files
    unsaved: Commit
    _needles: tuple[bytes, ...] = _MADE_AFTER
    _now: set[Said] = _MADE_AFTER

    def __post_init__(self) -> None:
        self._needles = tuple(f",{q}{i}{q},".encode() for i in self.ids for q in ("", '"'))
        logs = [f"fills/{n}" for n in self.latest.names("fills") if n.endswith(".csv")]
        self._now = {said for path in logs for said in self.lines(self.latest.read(path))}

    def missing(self, versions: Iterable[tuple[str, str]]) -> dict[Said, str]:
        """Lines that stood in one of some versions and do not now, with the path of their log."""
        found: dict[Said, str] = {}
        for path, version in versions:
            found |= dict.fromkeys(self.lines(self.version(version)) - self._now, path)
        return found

    def gone(
        self, missing: dict[Said, str], logs: Sequence[_Version]
    ) -> Iterator[tuple[Commit, LogChange]]:
        """What each missing line became, and in which commit."""
        for said, path in missing.items():
            yield self._when(said, [v for v in logs if v.path == path])

    def lines(self, data: bytes) -> set[Said]:
        """The lines of a log that name one of the ids, as cells."""
        return {_said(plain_text(line)) for needle in self._needles for line in _with(data, needle)}

    def version(self, name: str) -> bytes:
        """A version of a log; empty where there was none."""
        return (self.objects.blob(name) or b"") if name.strip("0") else b""

    def _when(self, said: Said, versions: Sequence[_Version]) -> tuple[Commit, LogChange]:
        """The first commit that took a line out of its log, and what the line became."""
        path = versions[0].path
        has: dict[str, bool] = {}

        def holds(name: str) -> bool:
            if name not in has:
                has[name] = said in self.lines(self.version(name))
            return has[name]

        for each in versions:
            if holds(each.old) and not holds(each.new):
                change = _became(said, path, self.version(each.old), self.version(each.new))
                return self.objects.commit(each.commit), change
        disk = self.latest.read(path) if self.latest.exists(path) else b""
        return self.unsaved, _became(said, path, self.version(versions[-1].new), disk)


def _with(data: bytes, needle: bytes) -> Iterator[bytes]:
    """The lines that say `needle` in their second cell."""
    at = data.find(needle)
    while at >= 0:
        start, end = data.rfind(b"\n", 0, at) + 1, data.find(b"\n", at)
        line = data[start : end if end >= 0 else len(data)]
        if line.find(b",") == at - start:
            yield line
        at = data.find(needle, max(at + 1, end))


def _said(text: str) -> Said:
    return cells_of(text) or (text,)


def _became(said: Said, path: str, old: bytes, new: bytes) -> LogChange:
    """What a line became between two versions of its log."""
    before, after = _numbered(path, old), _numbered(path, new)
    stays = {_said(b.text) for b in before} & {_said(a.text) for a in after}
    removed = [b for b in before if _said(b.text) not in stays]
    changes, _ = sort_out(removed, [a for a in after if _said(a.text) not in stays])
    gone = (c for c in changes if _said(c.before.text) == said)
    return next(gone, LogChange(LineSeen(path, 0, cells_of(",".join(said)), ",".join(said)), None))


def _numbered(path: str, data: bytes) -> list[LineSeen]:
    texts = (plain_text(line) for line in data.split(b"\n"))
    return [LineSeen(path, n, cells_of(text), text) for n, text in enumerate(texts, 1) if text]
