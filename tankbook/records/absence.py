"""What stood in the archive and stands no longer, without having been struck out."""

from __future__ import annotations

import shlex
from collections.abc import Iterable
from enum import StrEnum

from msgspec import Struct, field

from tankbook.records.audited import Checkpoint
from tankbook.records.commits import Commit
from tankbook.records.cylinder import Removed
from tankbook.records.fields import Record

SETTINGS_PATH = "tankbook.yaml"


class How(StrEnum):
    """What became of it."""

    GONE = "gone"
    ALTERED = "altered"
    TAKEN_OUT = "taken out"


class Gone(Struct, frozen=True):
    """Something that stood in a commit and is gone from the ledger, or says something else now.

    Attributes:
        path: the file it stood in, relative to the ledger.
        what: its name, as an entry of `removed` says it: `held 2026-02-09`, `rules/shop.yaml`.
        how: whether it is gone or altered, or a later commit took it out that was made here.
        ids: the cylinders and sets it concerns; none where it concerns the whole ledger.
        place: the list or key it stood in (`held`, `whips.W2.checked`); empty for a file or a line.
        line: the line it stood on, from 1; 0 for a whole file.
        said: what it said, as far as it fits in a line.
        differs: the keys that say something else now.
        commit: enough of the commit's name to ask git for it; empty for what an act recorded and
            no commit ever had, of which `said` is the act in its own words.
        explain_in: the file whose `removed` may say why.
        now: what stands in its stead, by key, where it says something else now.
        kept: where it stands still, though not in what is checked out: `branch bench`.
    """

    path: str
    what: str
    how: How = How.GONE
    ids: tuple[str, ...] = ()
    place: str = ""
    line: int = 0
    said: str = ""
    differs: tuple[str, ...] = ()
    commit: str = ""
    explain_in: str = SETTINGS_PATH
    now: tuple[tuple[str, str], ...] = ()
    kept: str = ""

    @property
    def text(self) -> str:
        """What is wrong, without a full stop."""
        if not self.commit:
            where = "" if self.what == self.path else f" in {self.path}"
            if self.how is How.ALTERED:
                how = "with another day" if self.differs == ("on",) else "otherwise"
                keys = "" if self.differs == ("on",) else f" ({', '.join(self.differs)})"
                return f"{self.what} was recorded{where}, and stands {how}{keys}: {self.said}"
            if self.kept:
                return f"{self.what} was recorded{where}; {self.kept} has it, not this: {self.said}"
            if self.how is How.TAKEN_OUT:
                return f"{self.what} was recorded{where}, and a commit took it out: {self.said}"
            return f"{self.what} was recorded{where} and is gone, no branch holds it: {self.said}"
        where = f"{self.path}:{self.line}" if self.line else self.path
        where = "" if self.what == where else f" in {where}"
        became = "is gone" if self.how is How.GONE else "says something else now"
        keys = f" ({', '.join(self.differs)})" if self.differs else ""
        return f"{self.what} stood{where} at commit {self.commit} and {became}{keys}"

    @property
    def card(self) -> str:
        """The cylinder or set whose file is gone; an empty text where it is another thing."""
        folder, _, name = self.path.partition("/")
        whole = self.what == self.path and self.how is How.GONE
        return name.removesuffix(".yaml") if whole and folder in ("cylinders", "sets") else ""

    @property
    def mend(self) -> str:
        """What to do about it."""
        what = self.what.replace("'", "''")
        entry = f"{{on: DAY, by: INITIALS, what: '{what}', why: REASON}}"
        struck = "; what was typed wrong is struck out, by `tankbook correct`" if self.place else ""
        back = "put it back as it was" if self.commit else "give the act again"
        if self.commit and self.what == self.path and self.how is How.GONE:
            back = f"put it back: `git checkout {self.commit} -- {shlex.quote(self.path)}`"
        if self.what == self.path and self.path.startswith("sets/"):
            back += " (a set that was taken apart keeps its file, with `apart:` and the day)"
        if self.how is How.ALTERED and not self.commit:
            back = "commit it, if it was typed wrong"
        back = f"bring it here from {self.kept} (`git merge`)" if self.kept else back
        return f"{back}, or add {entry} to `removed` in {self.explain_in}{struck}"

    @property
    def key(self) -> tuple[str, ...]:
        """What tells it from any other: two commits may have held the same."""
        return self.path, self.place, self.what, self.said


class Unseen(Struct, frozen=True):
    """A file, or all of them (an empty path), of which it cannot be told whether anything is gone.

    `ids` as in `Gone`; `why` says what stands in the way, without a full stop.
    """

    path: str
    why: str
    mend: str = ""
    ids: tuple[str, ...] = ()
    commit: str = ""


class Unproved(Struct, frozen=True):
    """A checkpoint that does not hold, so that what went since it cannot be missed.

    `why` says what is wrong, `mend` what to do about it, each without a full stop; `line` is where
    it stands in its file, 0 where it stands nowhere. It is no `fault` where the history at hand
    does not reach back to it.
    """

    why: str
    mend: str
    line: int = 0
    fault: bool = True


class Quiet(Struct, frozen=True):
    """An entry that is gone or altered, and says by itself nothing against its cylinder; what it
    would say there is for the rules to judge.

    `was` is the entry as it stood; `line` is that of the entry that stands in its stead, 0 where
    there is none. `id` is the cylinder as it is called now, empty for the station; `removed` says
    why it was taken out, if anybody did.
    """

    gone: Gone
    was: Record
    line: int = 0
    id: str = ""
    removed: Removed | None = None


class Explained(Struct, frozen=True):
    """Something gone that an entry of `removed` speaks of. Whether it may is judged elsewhere."""

    gone: Gone
    removed: Removed


class Heads(Struct, frozen=True):
    """What the ledger was held against.

    Attributes:
        under_git: whether the ledger lies in a git repository.
        head: the commit checked out; None where nothing is committed, or git cannot be asked.
        holds: whether that commit holds this ledger.
        others: the other sides of merges, finished or not, and the tip that a rebase is to redo.
        underway: `merge` or `rebase` while one is in progress, else an empty text.
        detached: whether no branch is checked out.
        moved_from: the folder the ledger stood in, where it was moved since the commit.
    """

    under_git: bool = False
    head: Commit | None = None
    holds: bool = False
    others: tuple[Commit, ...] = ()
    underway: str = ""
    detached: bool = False
    moved_from: str | None = None

    @property
    def exists(self) -> bool:
        """Whether anything is committed that could be held against the ledger."""
        return self.head is not None

    @property
    def is_merge(self) -> bool:
        """Whether the commit checked out is a merge."""
        return self.head is not None and len(self.head.parents) > 1


class Absence(Struct, frozen=True):
    """What is gone from a ledger under git, and what could not be looked at.

    `apart` is what was recorded here, and stands on a branch or in a working copy that is not asked
    and tells against nothing; or stands with another day. `renamed` are the ids of cards that are
    gone, each with the one that its cylinder has now.
    `audited` is the checkpoint since which every commit was asked; None where only the latest and
    the sides of a merge were. `unproved` says why it was not, where there is a checkpoint.
    """

    heads: Heads = field(default_factory=Heads)
    gone: tuple[Gone, ...] = ()
    unseen: tuple[Unseen, ...] = ()
    explained: tuple[Explained, ...] = ()
    quiet: tuple[Quiet, ...] = ()
    renamed: tuple[tuple[str, str], ...] = ()
    audited: Checkpoint | None = None
    unproved: Unproved | None = None
    apart: tuple[Gone, ...] = ()

    @property
    def asked(self) -> bool:
        """Whether git could be asked of the whole ledger; if not, nothing gone means nothing."""
        return not any(u.path == "" for u in self.unseen)

    def of(self, ids: Iterable[str]) -> tuple[Gone, ...]:
        """What is gone and concerns any of some cylinders or sets, or the whole ledger."""
        wanted = set(ids)
        return tuple(g for g in self.gone if not g.ids or wanted.intersection(g.ids))


def folded_name(what: str) -> str:
    """A name of something gone without regard to capitals and blanks."""
    return " ".join(what.split()).casefold()
