"""The ledger's commits as steps: what each did to the records, told by git's own differences."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Sequence
from functools import lru_cache
from typing import IO

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.ledger.errors import LedgerError, first_fault
from tankbook.ledger.events import parse
from tankbook.ledger.gitfiles import Objects, commit_of
from tankbook.ledger.gitread import DIFF, Repository, top_of
from tankbook.ledger.text import BOM, RECORD_LIMIT, read_text
from tankbook.records.commits import Commit, CommitStep, FileStep, LineSeen
from tankbook.records.log import LogLine, columns
from tankbook.records.node import Finding, Node
from tankbook.rules.changes import kind_of
from tankbook.units.patterns import pattern

NODES = 4096
"""How many versions of record files are kept read."""

LOG_PATH = pattern(r"fills/[^/]+\.csv")
_OWN = pattern(r"(?:rules|checklists)/[^/.][^/]*\.yaml")
_COMMIT = pattern(rb"commit ([0-9a-f]{40,64})(?: \(from ([0-9a-f]{40,64})\))?\n")
_DIFF = pattern(rb'diff --git (?:a/(.+) b/\1|"a/(.+)" "b/\2")\n')
_INDEX = pattern(rb"index ([0-9a-f]+)\.\.([0-9a-f]+)(?: ([0-7]+))?\n")
_HUNK = pattern(rb"@@ -(\d+)(?:,(\d+))? \+(\d+)(?:,(\d+))? @@")
_RAW = pattern(rb":(\d+) (\d+) ([0-9a-f]{40,64}) ([0-9a-f]{40,64}) ([A-Z])\d*\t(?:\"(.*)\"|(.*))")
_FILES = frozenset({"100644", "100755", "100664"})
_ESCAPE = pattern(rb"\\([0-7]{3}|.)")
_LETTERS = {b"a": 7, b"b": 8, b"t": 9, b"n": 10, b"v": 11, b"f": 12, b"r": 13}
_LINKS = {"120000", "160000"}
_WIDTH = len(columns(LogLine))


class FileDiff(Struct):
    """One file's difference: its versions by the names of their objects; for a log, its lines.

    `folder` is the one the ledger lay in, if that is asked, and `path` what follows it.
    """

    path: str
    folder: str = ""
    old: str = ""
    new: str = ""
    mode: str = ""
    existed: bool = True
    exists: bool = True
    removed: list[LineSeen] = field(default_factory=list)
    added: list[LineSeen] = field(default_factory=list)


def patches(
    repository: Repository, tip: Commit, folders: Sequence[str] = (), base: str = ""
) -> Iterator[tuple[Commit, str, list[FileDiff]]]:
    """Every commit up to `tip`, parents first, with the parent it is compared with and the files
    that differ; a merge once for each parent it differs from.

    Args:
        repository: the ledger's repository.
        tip: the last commit.
        folders: where the ledger lay, if not always where it lies now.
        base: a commit of whose history nothing is read; none, if not said.

    Raises:
        LedgerError: git breaks off.
    """
    arguments: tuple[str, ...] = (
        "log", "--reverse", "--topo-order", "--pretty=raw", "--patch", "--unified=0",
        "--inter-hunk-context=0", "--full-index", "--text", *DIFF, "--src-prefix=a/",
        "--dst-prefix=b/",
    )  # fmt: skip
    if folders:
        limits = () if "" in folders else folders
        sparse = ("--full-history", "--sparse") if limits else ()
        arguments = (*top_of(repository), *arguments, *sparse, tip.id, "--", *limits)
    else:
        but = (f"^{base}",) if base else ()
        arguments = (*arguments, "--relative", tip.id, *but, "--")
    with repository.stream(*arguments) as lines:
        yield from _Patches(lines, folders).each()


def commit_count(repository: Repository, tip: Commit, base: str = "") -> int:
    """How many commits there are up to `tip`, without those of a base."""
    but = (f"^{base}",) if base else ()
    return int(repository.ask("rev-list", "--count", tip.id, *but, "--"))


def step_of(commit: Commit, parent: str, files: list[FileDiff], versions: Versions) -> CommitStep:
    """What a commit did to the records and the log, against one of its parents."""
    records, removed, added, others = [], [], [], 0
    for each in files:
        if not each.new:  # only its mode differs
            others += 1
        elif LOG_PATH.fullmatch(each.path):
            removed += versions.gone(each)
            added += each.added
            if not each.exists:
                records.append(FileStep(each.path, None, None, True, False))
        elif is_read(each.path):
            records.append(versions.step(each))
        else:
            others += 1
    place = commit.parents.index(parent) if parent in commit.parents else 0
    return CommitStep(commit, place, tuple(records), tuple(removed), tuple(added), others)


def is_read(path: str) -> bool:
    """Whether an audit reads a file: a record, the ledger's own rules, a checklist."""
    return kind_of(path) is not None or _OWN.fullmatch(path) is not None


class Versions:
    """Versions of record files by the names of their objects, each read once."""

    def __init__(self, objects: Objects) -> None:
        self._objects = objects
        self.node = lru_cache(NODES)(self._read)

    def step(self, file: FileDiff) -> FileStep:
        """A record file's difference with both versions read."""
        before = self.node(file.path, file.old) if file.existed else None
        linked = file.mode in _LINKS
        after = self.node(file.path, file.new) if file.exists and not linked else None
        return FileStep(file.path, before, after, file.existed, file.exists)

    def gone(self, file: FileDiff) -> list[LineSeen]:
        """Removed lines of a log; without those of which another copy still stands."""
        if not file.removed or not file.exists:
            return file.removed
        left = Counter(line.text for line in file.removed)
        left.subtract(line.text for line in file.added)
        if not any(n > 0 for n in left.values()):
            return file.removed
        data = self._objects.blob(file.new) or b""
        standing = set(map(plain_text, data.split(b"\n")))
        doubled = {text for text, n in left.items() if n > 0 and text in standing}
        return [line for line in file.removed if line.text not in doubled]

    def _read(self, path: str, name: str) -> Node | None:
        try:
            data = self._objects.blob(name, RECORD_LIMIT)
        except LedgerError:
            return None
        return None if data is None else node_of(path, data)


def node_of(path: str, data: bytes) -> Node | None:
    """A record file's content as a node; None where anything in it cannot be read."""
    return read_node(data, path)[0]


def read_node(data: bytes, path: str) -> tuple[Node | None, list[Finding]]:
    """As `node_of`, with what is wrong."""
    text, findings = read_text(data, path)
    node = None
    if text is not None:
        node, more = parse(text, path)
        findings = [*findings, *more]
    return (None if first_fault(findings) else node), findings


class _Patches:
    """Reads what `git log --patch --pretty=raw` prints."""

    def __init__(self, lines: IO[bytes], folders: Sequence[str] = ()) -> None:
        self._folders = sorted(folders, key=len, reverse=True)
        self._lines = lines
        self._line = lines.readline()

    def each(self) -> Iterator[tuple[Commit, str, list[FileDiff]]]:
        """Every commit with the parent it is compared with and the files that differ."""
        while self._line:
            found = _COMMIT.fullmatch(self._line)
            if found is None:
                raise LedgerError("git log", "git says something unexpected", "`git fsck`")
            self._next()
            commit = commit_of(found[1].decode(), self._header())
            files = []
            while self._line and not self._line.startswith(b"commit "):
                if self._line.startswith(b"diff --git "):
                    files.append(self._file())
                else:
                    self._next()
            yield commit, (found[2] or b"").decode(), files

    def _next(self) -> bytes:
        self._line = self._lines.readline()
        return self._line

    def _header(self) -> bytes:
        """The commit's header and the first line of its message."""
        kept = []
        while self._line and self._line != b"\n":
            kept.append(self._line)
            self._next()
        subject = b""
        while self._line.startswith((b"\n", b"    ")):
            subject = subject or self._line[4:]
            self._next()
        return b"".join([*kept, b"\n", subject])

    def _file(self) -> FileDiff:
        named = _DIFF.fullmatch(self._line)
        path = b"" if named is None else (named[1] or unquoted(named[2]))
        file = self._named(path.decode("utf-8", "surrogateescape"))
        while self._next() and not self._line.startswith((b"diff --git ", b"commit ", b"\n")):
            if self._line.startswith(b"@@ "):
                self._hunks(file)
                break
            self._about(file)
        return file

    def _named(self, path: str) -> FileDiff:
        """A file by its path in the ledger, in whichever folder that lay."""
        inside = [f for f in self._folders if path.startswith(f)]
        rest = ((f, path.removeprefix(f)) for f in inside)
        known = next(((f, r) for f, r in rest if is_read(r) or LOG_PATH.fullmatch(r)), None)
        folder, name = known or (inside[0] if inside else "", path)
        return FileDiff(name, folder)

    def _about(self, file: FileDiff) -> None:
        line = self._line
        if line.startswith(b"index "):
            found = _INDEX.fullmatch(line)
            if found is not None:
                file.old, file.new = found[1].decode(), found[2].decode()
                file.mode = (found[3] or b"").decode() or file.mode
        elif line.startswith(b"new file mode "):
            file.existed, file.mode = False, line.split()[-1].decode()
        elif line.startswith(b"deleted file mode "):
            file.exists = False

    def _hunks(self, file: FileDiff) -> None:
        """Takes exactly the lines that each hunk announces, whatever they say."""
        wanted = LOG_PATH.fullmatch(file.path) is not None
        while found := _HUNK.match(self._line):
            first, fewer, start, more = (1 if n is None else int(n) for n in found.groups())
            self._next()
            self._side(file.removed if wanted else None, file.path, first, fewer)
            self._side(file.added if wanted else None, file.path, start, more)

    def _side(self, kept: list[LineSeen] | None, path: str, first: int, number: int) -> None:
        for place in range(first, first + number):
            line = self._line
            self._next()
            if kept is not None:
                text = plain_text(line[1:].removesuffix(b"\n"))
                if is_line(text):
                    kept.append(LineSeen(path, place, cells_of(text), text))
        if self._line.startswith(b"\\"):  # it says that the last line has no end
            self._next()


class RawChange(Struct, frozen=True):
    """A file as a commit changed it: its path in the repository, the names of the objects it was
    and is, their modes, and whether it came or went."""

    path: str
    old: str
    new: str
    modes: tuple[str, str]
    came: bool
    went: bool

    @property
    def plain(self) -> bool:
        """Whether it was an ordinary file and is one."""
        return _FILES.issuperset(self.modes)


def raw_change(line: bytes, errors: str = "surrogateescape") -> RawChange | None:
    """What a line of `git log --raw` says; None for any other line."""
    found = _RAW.fullmatch(line.removesuffix(b"\n"))
    if found is None:
        return None
    path = unquoted(found[6]) if found[6] is not None else found[7]
    was, is_, old, new, status = (each.decode() for each in found.groups()[:5])
    how = status == "A", status == "D"
    return RawChange(path.decode("utf-8", errors), old, new, (was, is_), *how)


class RawCommit(Struct, frozen=True):
    """A commit against one of its parents, none for the first of a history, and what it changed; a
    `boundary` is one that what was asked for builds on."""

    id: str
    parent: str = ""
    boundary: bool = False
    files: list[RawChange] = field(default_factory=list)


def raw_log(lines: Iterable[bytes]) -> Iterator[RawCommit]:
    """What `git log --raw --pretty=raw` says, the newest first."""
    found, compared = None, False
    for line in lines:
        if line.startswith(b"commit "):
            if found is not None:
                yield found
            words = line.decode().split()
            boundary, compared = words[1] == "-", "(from" in words
            parent = words[-1].rstrip(")") if compared else ""
            found = RawCommit(words[2] if boundary else words[1], parent, boundary)
        elif found is None:
            continue
        elif line.startswith(b"parent ") and not compared:
            found, compared = replace(found, parent=line.split()[1].decode()), True
        elif change := raw_change(line):
            found.files.append(change)
    if found is not None:
        yield found


def lines_seen(path: str, data: bytes, but: Container[bytes] = ()) -> list[LineSeen]:
    """The lines of a log that say anything, with their numbers, without some that are known."""
    each = enumerate(data.split(b"\n"), 1)
    texts = ((number, plain_text(line)) for number, line in each if line not in but)
    return [LineSeen(path, n, cells_of(text), text) for n, text in texts if is_line(text)]


def is_line(text: str) -> bool:
    """Whether a line of a log says anything: it is neither blank nor the header."""
    return bool(text.strip()) and not text.removeprefix(BOM).startswith("at,cylinder,")


def plain_text(line: bytes) -> str:
    """A line of a log without its line end; what is no UTF-8 is marked as such."""
    return line.removesuffix(b"\r").decode("utf-8", "replace")


def cells_of(text: str) -> tuple[str, ...]:
    """The cells of a line, none where it is no row."""
    if '"' not in text:
        cells = text.split(",")
    else:
        try:
            cells = next(csv.reader([text], strict=True), [])
        except csv.Error:
            return ()
    return tuple(cells) if len(cells) == _WIDTH else ()


def unquoted(path: bytes) -> bytes:
    """A path that git wrote in quotation marks."""

    def one(found: re.Match[bytes]) -> bytes:
        said = found[1]
        if len(said) == 3:
            return bytes([int(said, 8) & 0xFF])
        return bytes([_LETTERS[said]]) if said in _LETTERS else said

    return _ESCAPE.sub(one, path)
