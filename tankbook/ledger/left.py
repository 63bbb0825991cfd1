"""What this program wrote itself and git does not have yet: known by its digests.

Each act is noted before its files are written: for each file what it was, what it becomes, and the
act's words. Whoever commits next can then tell an act whose commit was left (git refused, the
process was ended between the two) from what a hand changed in between.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.ledger import atomic, recorded
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.githeads import places
from tankbook.ledger.lock import private_folder
from tankbook.ledger.names import PRIVATE_FOLDER
from tankbook.ledger.ordinary import ordinary
from tankbook.records.edits import Act

LEFT = f"{PRIVATE_FOLDER}/left"
_FORM = 1
_LARGEST = 4 << 20
FIRST_STATES, LAST_STATES = 50, 150
"""States of one file that are kept: a ledger may go uncommitted for long. The committed one is
most likely among the first, and the words of acts in the middle are left out of the commit."""
MOST_FILES = 500

_NONE = ""
"""The digest of a file that is not there."""


class Words(Struct, frozen=True):
    """What an act says of itself in a commit."""

    verb: str
    subjects: tuple[str, ...]
    sentence: str


class Chain(Struct, frozen=True):
    """The states that a file went through by acts alone, and the act that ended each.

    `now` is the digest of what the last of them made.
    """

    now: str
    states: tuple[tuple[str, Words], ...]

    def until(self, digest: str) -> Chain | None:
        """The chain up to a state; None where the file was never so by an act.

        An act that was noted and then refused leaves the file as it was before.
        """
        if digest == self.now:
            return self
        at = [place for place, (state, _) in enumerate(self.states) if state == digest]
        return Chain(digest, self.states[: at[-1]]) if at else None

    def since(self, committed: bytes | None) -> tuple[Words, ...] | None:
        """The acts since a version of the file; None where others than acts lie between."""
        old = digest_of(committed)
        at = [place for place, (state, _) in enumerate(self.states) if state == old]
        return tuple(words for _, words in self.states[at[-1] :]) if at else None


def digest_of(data: bytes | None) -> str:
    """The digest of a file's content, whatever its line ends; empty for none."""
    if data is None:
        return _NONE
    return hashlib.sha256(data.replace(b"\r\n", b"\n")).hexdigest()


def chains(root: Path) -> dict[str, Chain]:
    """What is noted, by the paths of the files; nothing where that cannot be read."""
    try:
        data: Any = json.loads(ordinary(root / LEFT, LEFT, _LARGEST, links=False))
        if data["form"] != _FORM:
            return {}
        return {str(path): _chain(each) for path, each in data["files"].items()}
    except (OSError, LedgerError, ValueError, TypeError, KeyError, RecursionError, AttributeError):
        return {}


def _chain(data: Mapping[str, Any]) -> Chain:
    states = (
        (str(old), Words(str(verb), tuple(map(str, subjects)), str(sentence)))
        for old, verb, subjects, sentence in data["states"]
    )
    return Chain(str(data["now"]), tuple(states))


def note(root: Path, act: Act, changes: Iterable[tuple[str, bytes | None, bytes]]) -> None:
    """Note what an act is about to make of each file: its path, what it is, what it becomes.

    Nothing is noted where the ledger is in no repository. Raises nothing: what could not be noted
    is only taken for changes by hand later.
    """
    changes = list(changes)
    if not changes or next(places(root), None) is None:
        return
    known = chains(root)
    words = Words(act.verb, act.subjects, act.sentence)
    for path, old, new in changes:
        before = digest_of(old)
        chain = known.pop(path, None)
        chain = chain.until(before) if chain else None
        states = chain.states if chain else ()
        known[path] = Chain(digest_of(new), _bounded((*states, (before, words))))
    _keep(root, known)
    with suppress(OSError):  # before the journal: whoever finishes that act does not note it anew
        atomic.sync_folder(root / PRIVATE_FOLDER)


def _bounded(states: tuple[tuple[str, Words], ...]) -> tuple[tuple[str, Words], ...]:
    if len(states) <= FIRST_STATES + LAST_STATES:
        return states
    return states[:FIRST_STATES] + states[-LAST_STATES:]


def forget(root: Path, paths: Iterable[str]) -> None:
    """Note that git has some files now. Raises nothing."""
    paths = set(paths)
    recorded.forget(root, paths)
    known = chains(root)
    left = {path: chain for path, chain in known.items() if path not in paths}
    if left != known:
        _keep(root, left)


def _keep(root: Path, known: Mapping[str, Chain]) -> None:
    files = dict([*known.items()][-MOST_FILES:])
    data = {
        "form": _FORM,
        "files": {
            path: {
                "now": chain.now,
                "states": [[old, w.verb, w.subjects, w.sentence] for old, w in chain.states],
            }
            for path, chain in files.items()
        },
    }
    with suppress(OSError, LedgerError):
        folder = private_folder(root)
        if not files:
            os.unlink(folder / "left")  # noqa: PTH108 - as in `atomic`
            return
        atomic.swap(folder / "left", json.dumps(data, ensure_ascii=False).encode())


def together(acts: Iterable[Words]) -> Words:
    """Several acts in the words of one commit, each act once."""
    each = list(dict.fromkeys(acts))
    if len(each) == 1:
        return each[0]
    subjects = tuple(dict.fromkeys(s for words in each for s in words.subjects))
    listed = "\n".join(f"- {words.sentence}" for words in each)
    first = replace(each[0], subjects=subjects)
    sentence = f"{len(each)} acts that were recorded and not committed\n\n{listed}"
    return replace(first, verb="later", sentence=sentence)
