"""What an audit up to a commit stands for: a digest, and the state that a later one begins from."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping

from msgspec import Struct

from tankbook.records.audited import AUDITED_PATH, Checkpoint
from tankbook.records.commits import Commit
from tankbook.records.node import Node
from tankbook.rules.tamper_signs import FoundSign, Sign, id_of


def checkpoint_digest(
    through: str, commits: int, signs: int, files: Iterable[tuple[str, bytes]]
) -> str:
    """SHA-256, in hexadecimal, of what a checkpoint says and of every file at its commit.

    It is that of these lines, each ended by a line feed: `through NAME`, `commits N`, `signs N`,
    then for each file, in the order of the bytes of their paths, its SHA-256, two spaces and its
    path, as `sha256sum` prints them.
    """
    whole = hashlib.sha256(f"through {through}\ncommits {commits}\nsigns {signs}\n".encode())
    for path, data in sorted(files, key=lambda f: f[0].encode("utf-8", "surrogateescape")):
        line = f"{hashlib.sha256(data).hexdigest()}  {path}\n"
        whole.update(line.encode("utf-8", "surrogateescape"))
    return whole.hexdigest()


def digest_holds(checkpoint: Checkpoint, files: Iterable[tuple[str, bytes]]) -> bool:
    """Whether a checkpoint's digest is that of its own words and of the files at its commit."""
    said = checkpoint.through, checkpoint.commits, checkpoint.signs
    return checkpoint_digest(*said, files) == checkpoint.digest


def unproved(checkpoint: Checkpoint | None, why: str, tip: Commit) -> FoundSign:
    """The sign that a checkpoint does not hold."""
    what = f"checkpoint of {checkpoint.on}" if checkpoint else ""
    return FoundSign(Sign.CHECKPOINT, tip, AUDITED_PATH, id_of(AUDITED_PATH), what, (), why)


class CommitState(Struct, frozen=True):
    """What stood in a commit from which others are read: its settings and its own rules."""

    commit: Commit
    settings: Node | None
    rules: Mapping[str, Node | None]


class Start(Struct, frozen=True):
    """Where an audit begins that does not read all.

    Attributes:
        checkpoint: what is taken for audited.
        stands: the commits that the first ones read build on.
        counts: the commits that are new; others are read to understand these, and not judged anew.
        node: a record as it stood where the reading begins.
        cards: every card and set there, by its path.
    """

    checkpoint: Checkpoint
    stands: tuple[CommitState, ...]
    counts: frozenset[str]
    node: Callable[[str], Node | None]
    cards: Callable[[], Mapping[str, Node]]
