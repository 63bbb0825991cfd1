"""A ledger as one commit has it, read from git's objects: nothing is checked out."""

from __future__ import annotations

import datetime as dt
import re
import subprocess
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from posixpath import dirname, join, normpath
from subprocess import Popen
from typing import IO

from msgspec import Struct, field

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import name_of_object
from tankbook.ledger.gitread import DIFF, NOTHING, Repository, lacking, started
from tankbook.ledger.text import LOG_LIMIT, printable
from tankbook.records.commits import Commit
from tankbook.rules.heads import KnownCommit, heads_at
from tankbook.units import doubt_of
from tankbook.units.patterns import pattern

_REVISION = pattern(r"@|(?:[0-9A-Za-z_][0-9A-Za-z_./+-]*|@)(?:[~^][0-9]{0,6})*")
_PERSON = pattern(r"(.*?) ?<[^<>\n]*> (\d{1,12}) ([+-])(\d\d)(\d\d)")
_FOLDER, _LINK, _MODULE = "40000", "120000", "160000"
_MOST_LINKS = 5
_KEEP = "keep the records themselves in the ledger"


class Object(Struct, frozen=True):
    """An object of a repository: its name, what it is, and its content."""

    name: str
    kind: str
    data: bytes

    @property
    def is_named_right(self) -> bool:
        """Whether its name is that of its content; git itself does not look."""
        return self.name == name_of_object(self.kind, self.data, len(self.name))


class Objects:
    """The objects of a repository, all asked of one `git cat-file --batch`.

    With `proved`, each object must be what its name says.
    """

    def __init__(self, process: Popen[bytes], where: str, *, proved: bool = False) -> None:
        assert process.stdin is not None
        assert process.stdout is not None
        self._asked: IO[bytes] = process.stdin
        self._told: IO[bytes] = process.stdout
        self._where = where
        self._proved = proved
        self._trees: dict[str, dict[str, tuple[str, str]]] = {}

    def find(self, name: str, limit: int = LOG_LIMIT) -> Object | None:
        """An object, or None where there is none.

        Raises:
            LedgerError: it is larger than `limit` bytes, or git broke off.
        """
        assert "\n" not in name
        try:
            self._asked.write(name.encode("utf-8", "surrogateescape") + b"\n")
            self._asked.flush()
        except OSError as error:
            raise self._broke_off() from error
        head = self._told.readline().split()
        if len(head) != 3:
            if head and head[-1] in (b"missing", b"ambiguous"):
                return None
            raise self._broke_off()
        size = int(head[2])
        if size > limit:
            for start in range(0, size + 1, limit):
                self._told.read(min(limit, size + 1 - start))
            text = f"the file has {size:,} bytes, more than the {limit:,} allowed"
            raise LedgerError(self._where, text, "is this the right file?")
        found = Object(head[0].decode(), head[1].decode(), self._told.read(size + 1)[:-1])
        if len(found.data) < size:
            raise self._broke_off()
        if self._proved and not found.is_named_right:
            text = f"object {found.name} is not what its name says"
            raise LedgerError(self._where, text, "`git fsck` may tell more")
        return found

    def lacks(self, text: str) -> LedgerError:
        """That git does not have what it should have, and why."""
        return lacking(self._where, text)

    def _broke_off(self) -> LedgerError:
        return self.lacks("git broke off")

    def blob(self, name: str, limit: int = LOG_LIMIT) -> bytes | None:
        """The content of a file by its object's name, or None where there is none."""
        found = self.find(name, limit)
        return found.data if found and found.kind == "blob" else None

    def file_at(self, path: str, mode: str, name: str) -> bytes:
        """The content of a file by its mode and its object's name, which is empty where there is no
        such file.

        Raises:
            LedgerError: there is none, it is a link, or git does not have its content.
        """
        if not name:
            raise LedgerError(path, "there is no such file", "check the path")
        if mode == _LINK:
            raise LedgerError(path, "it is a symbolic link", "replace it by the file itself")
        try:
            data = None if mode == _MODULE else self.blob(name)
        except LedgerError as error:
            raise LedgerError(path, error.text, error.mend) from error
        if data is None:
            wrong = self.lacks("git does not have its content")
            raise LedgerError(path, wrong.text, wrong.mend)
        return data

    def commit(self, name: str) -> Commit:
        """A commit by its full name.

        Raises:
            LedgerError: there is none, or its header cannot be read.
        """
        found = self.find(name)
        if found is None or found.kind != "commit":
            raise self.lacks(f"commit {name} is missing")
        return commit_of(name, found.data)

    def folder(self, name: str) -> dict[str, tuple[str, str]]:
        """The mode and object of everything in a folder, by name; nothing if there is no such."""
        found = self.find(name)
        if found is None or found.kind != "tree":
            return {}
        return dict(_entries(found.data, len(found.name) // 2))

    def tree(self, name: str) -> dict[str, tuple[str, str]]:
        """As `folder`, of one that a commit names.

        Raises:
            LedgerError: git does not have it.
        """
        if name not in self._trees:
            found = self.find(name)
            if found is None or found.kind != "tree":
                text = f"folder {name.partition('^')[0]} of a commit is missing"
                raise self.lacks(text)
            self._trees[name] = dict(_entries(found.data, len(found.name) // 2))
        return self._trees[name]


def _entries(tree: bytes, length: int) -> Iterator[tuple[str, tuple[str, str]]]:
    at = 0
    while at < len(tree):
        zero = tree.index(b"\0", at)
        mode, _, name = tree[at:zero].partition(b" ")
        at = zero + 1 + length
        yield name.decode("utf-8", "surrogateescape"), (mode.decode(), tree[zero + 1 : at].hex())


def commit_of(name: str, text: bytes) -> Commit:
    """A commit from its object's text.

    Raises:
        LedgerError: its author or committer cannot be read.
    """
    head, _, message = text.decode("utf-8", "replace").partition("\n\n")
    fields: dict[str, list[str]] = {}
    for line in head.split("\n"):
        key, _, value = line.partition(" ")
        fields.setdefault(key, []).append(value)
    author, committer = (_person(fields.get(k, [""])[0]) for k in ("author", "committer"))
    if author is None or committer is None:
        raise LedgerError(name, "the commit's header cannot be read", "`git fsck` may tell why")
    return Commit(
        id=name,
        parents=tuple(fields.get("parent", ())),
        author=author[0],
        at=committer[1],
        authored=author[1],
        subject=printable(message.partition("\n")[0]),
        signed="gpgsig" in fields or "gpgsig-sha256" in fields,
    )


def _person(text: str) -> tuple[str, dt.datetime] | None:
    """Name and time, in the offset written; one that no clock has counts as UTC."""
    found = _PERSON.fullmatch(text)
    if found is None:
        return None
    minutes = int(found[4]) * 60 + int(found[5])
    sign = -1 if found[3] == "-" else 1
    zone = dt.timezone(dt.timedelta(minutes=sign * minutes) if minutes < 1440 else dt.timedelta())
    try:
        return printable(found[1]), dt.datetime.fromtimestamp(int(found[2]), zone)
    except (ValueError, OverflowError, OSError):
        return None


class AtCommit(Struct):
    """The files of a ledger as a commit has them. Nothing is checked out."""

    objects: Objects
    commit: Commit
    name: str
    top: dict[str, tuple[str, str]]
    _folders: dict[str, dict[str, tuple[str, str]]] = field(default_factory=dict)

    def names(self, folder: str) -> list[str]:
        """The names of the files in a folder, sorted."""
        entries = self._entries(folder)
        return sorted(name for name, (mode, _) in entries.items() if mode not in (_FOLDER, _MODULE))

    def folders(self, folder: str) -> list[str]:
        """The names of the folders in a folder, sorted."""
        return sorted(n for n, (mode, _) in self._entries(folder).items() if mode == _FOLDER)

    def in_way(self, folder: str) -> LedgerError | None:
        """Why the files of a folder cannot be read; None where they can, or there is none."""
        mode, _ = self.top.get(folder, (_FOLDER, ""))
        if mode == _FOLDER:
            return None
        what = {_LINK: "a link", _MODULE: "a repository of its own"}.get(mode, "a file")
        return LedgerError(folder, f"it was {what}, where a folder is wanted", _KEEP)

    def exists(self, path: str) -> bool:
        """Whether there is such a file."""
        return self._find(path) is not None

    def read(self, path: str) -> bytes:
        """The bytes of a file. Raises `LedgerError`."""
        entry = self._find(path)
        return self.objects.file_at(path, *(entry or ("", "")))

    def holds(self, path: str, data: bytes) -> bool:
        """Whether a file has exactly this content, by the name of its object; nothing is read."""
        entry = self._find(path)
        if entry is None:
            return False
        return name_of_object("blob", data, len(entry[1])) == entry[1]

    def object(self, path: str) -> str | None:
        """The name of the object that a file is; None where there is no such file.

        A symbolic link to another file of the commit stands for that file.
        """
        for _ in range(_MOST_LINKS):
            entry = self._find(path)
            if entry is None or entry[0] != _LINK:
                return entry[1] if entry else None
            target = (self.objects.blob(entry[1]) or b"").decode("utf-8", "surrogateescape")
            path = normpath(join(dirname(path), target))
        return None

    def modules(self) -> list[str]:
        """The folders that are repositories of their own, or links: what they hold is not here."""
        return [name for name, (mode, _) in self.top.items() if mode in (_MODULE, _LINK)]

    def _find(self, path: str) -> tuple[str, str] | None:
        folder, _, name = path.rpartition("/")
        entry = self._entries(folder).get(name)
        return None if entry is None or entry[0] in (_FOLDER, _MODULE) else entry

    def _entries(self, folder: str) -> dict[str, tuple[str, str]]:
        if not folder:
            return self.top
        if folder not in self._folders:
            mode, name = self.top.get(folder, ("", ""))
            self._folders[folder] = self.objects.tree(name) if mode == _FOLDER else {}
        return self._folders[folder]


@contextmanager
def objects_of(
    root: Path,
    *,
    proved: bool = False,
    variables: Mapping[str, str] = NOTHING,
    seconds: float | None = None,
) -> Iterator[Objects]:
    """The objects of the repository a ledger lies in.

    Args:
        root: where git is asked.
        proved: whether each object must be what its name says.
        variables: what git's environment holds besides.
        seconds: after which git is stopped.

    Raises:
        LedgerError: there is no git.
    """
    with started(
        root, "cat-file", "--batch", stdin=subprocess.PIPE, variables=variables, seconds=seconds
    ) as process:
        yield Objects(process, str(root), proved=proved)


def files_at(repository: Repository, objects: Objects, commit: Commit) -> AtCommit:
    """The ledger's files as a commit has them.

    Raises:
        LedgerError: the commit holds no such ledger.
    """
    found = ledger_in(objects, commit, repository.prefix.split("/"))
    if found is None:
        day = f"{commit.at:%Y-%m-%d}"
        text = f"commit {commit.short} of {day} holds no ledger here"
        raise LedgerError(
            str(repository.root), text, "`git log -- tankbook.yaml` shows when it began"
        )
    return AtCommit(objects, commit, repository.root.resolve().name, found)


def ledger_in(
    objects: Objects, commit: Commit, folders: Iterable[str]
) -> dict[str, tuple[str, str]] | None:
    """The top folder of a ledger in a commit, reached by some folders; None if there is none.

    Raises:
        LedgerError: git does not have all of the commit, or another repository has the ledger.
    """
    found = objects.tree(f"{commit.id}^{{tree}}")
    for part in filter(None, folders):
        mode, name = found.get(part, ("", ""))
        if mode == _MODULE:
            text = (
                f"the ledger is in a repository of its own, which was {printable(part)} in this one"
            )
            raise LedgerError(part, text, "`git submodule update --init` brings it back")
        found = objects.tree(name) if mode == _FOLDER else {}
    return found if "tankbook.yaml" in found else None


def commit_asked(
    repository: Repository, objects: Objects, text: str, today: dt.date | None = None
) -> tuple[Commit, dt.date]:
    """The commit that a day or a revision stands for, and the day it is about.

    A day means the last commit along the first parents by its end, midnight of this computer's
    clock; see `heads_on` for those that were not merged yet. A revision is a branch, a tag or a
    commit's name, with `~1` or `^` after it; it is about the day of its committer's date, where it
    was made.

    Raises:
        LedgerError: it is neither, or git does not have it.
    """
    if is_day(text):
        day = _day(text)
        return heads_on(repository, objects, day, today).base, day
    commit = objects.commit(_named(repository, text))
    return commit, commit.at.date()


def head(repository: Repository, objects: Objects) -> Commit:
    """The latest commit of the branch that is checked out.

    Raises:
        LedgerError: there is none.
    """
    return objects.commit(_named(repository, "HEAD"))


def _day(text: str) -> dt.date:
    try:
        found = dt.date.fromisoformat(text)
    except ValueError:
        mend = "write it as 2026-11-25"
        raise LedgerError("--as-of", f"{text!r} is not a calendar day", mend) from None
    if not 1970 <= found.year < 2200:  # as git's own clock counts, and as days may lie
        raise LedgerError("--as-of", f"year {found.year} is outside 1970 to 2199", "check the year")
    return found


def is_day(text: str) -> bool:
    """Whether what was asked for is written as a day; any else is a revision."""
    return re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII) is not None


MOST_DOUBTS = 24
"""How many commits may be asked whose dates leave open whether they were made by a day."""


class Other(Struct, frozen=True):
    """A commit that was the latest of a line of descent on a day, or may have been.

    `merge` is the commit that merged it afterwards; None where it lies along the first parents.
    `doubt` is the commit whose dates leave it open; see `rules.heads`.
    """

    head: Commit
    merge: Commit | None
    doubt: Commit | None = None


class HeadsOn(Struct, frozen=True):
    """The commit that a day stands for, and the other lines of descent there were.

    `too_many` says why not all of them can be asked; empty where they can.
    """

    base: Commit
    others: tuple[Other, ...] = ()
    too_many: str = ""


def heads_on(
    repository: Repository, objects: Objects, day: dt.date, today: dt.date | None = None
) -> HeadsOn:
    """The commit along the first parents that counted at the end of a day, midnight of this
    computer's clock, and what had been committed elsewhere and was merged since.

    A commit dated before what it builds on was made no earlier than that. One whose date does not
    fit was made some time between those around it: with it and without it are two heads.

    Args:
        repository: where git is asked.
        objects: its objects.
        day: the day.
        today: what is dated later than this has a wrong date.

    Raises:
        LedgerError: nothing was committed by then, or git does not have it.
    """
    tip = _named(repository, "HEAD")
    line = ("log", "--topo-order", "--reverse", "--no-patch", "--format=%H,%ct,%at,%P", *DIFF)
    listed = repository.ask(*line, tip, "--")
    known = _known(listed.decode())
    until = None if today is None else _end(today)
    found = heads_at(known, tip, _end(day), until)
    if found is not None:
        doubts = dict.fromkeys(each.doubt for each in found.others if each.doubt)
        if len(doubts) > MOST_DOUBTS:
            text = (
                f"the dates of {len(doubts)} commits about {day} do not fit together, a clock was "
                "wrong; `git log` lists them: name the one that counted, --as-of COMMIT"
            )
            return HeadsOn(objects.commit(found.base), too_many=text)

        def commit(name: str) -> Commit | None:
            return objects.commit(name) if name else None

        others = (
            Other(objects.commit(each.id), commit(each.merged_in), commit(each.doubt))
            for each in found.others
        )
        return HeadsOn(objects.commit(found.base), tuple(others))
    if repository.shallow:
        text = f"this shallow clone does not reach back to {day}"
        raise LedgerError(str(repository.root), text, "fetch the rest: `git fetch --unshallow`")
    began = objects.commit(known[0].id).at
    text = f"nothing was committed by {day}: the archive begins on {began:%Y-%m-%d}"
    raise LedgerError(str(repository.root), text, "name a later day")


def _end(day: dt.date) -> int:
    """The last second of a day by this computer's clock."""
    try:
        midnight = dt.datetime.combine(day + dt.timedelta(days=1), dt.time()).timestamp()
    except (ValueError, OverflowError, OSError):
        midnight = 0.0
    return max(int(midnight) - 1, 0)


def _known(listed: str) -> list[KnownCommit]:
    """The commits that `git log` lists, one a line: name, dates, parents."""
    found = []
    for line in listed.splitlines():
        name, at, authored, parents = line.split(",")
        written = int(authored) if authored else None
        found.append(KnownCommit(name, tuple(parents.split()), int(at or 0), written))
    return found


def _named(repository: Repository, text: str) -> str:
    """The full name of the commit that a revision stands for."""
    if not _REVISION.fullmatch(text) or ".." in text or len(text) > 250:
        mend = "name a day (2026-11-25), a branch, a tag or a commit"
        raise LedgerError("--as-of", f"{text!a} is neither a day nor a revision", mend)
    try:
        name = f"{text}^{{commit}}"
        found = repository.ask("rev-parse", "--verify", "--quiet", "--end-of-options", name)
        return found.decode().split()[-1]
    except LedgerError:
        if text == "HEAD":
            raise LedgerError(
                str(repository.root), "nothing is committed yet", "commit the ledger first"
            ) from None
        if doubt := doubt_of(text, day=True):  # no name of a commit, then a day in other words
            raise LedgerError("--as-of", str(doubt), doubt.mend) from None
        mend = "`git log` lists the commits"
        if repository.shallow:
            mend = "this is a shallow clone; fetch the rest: `git fetch --unshallow`"
        raise LedgerError("--as-of", f"git knows no commit {text!r}", mend) from None
