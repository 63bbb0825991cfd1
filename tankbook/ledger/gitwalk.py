"""The ledger's commits as steps, wherever in its repository it lay."""

from __future__ import annotations

from collections.abc import Iterator

from tankbook.ledger.gitfiles import Objects
from tankbook.ledger.gitlog import Versions, patches, step_of
from tankbook.ledger.gitmoves import Lineage, at_folder, folder_at, lineage
from tankbook.ledger.gitread import Repository
from tankbook.ledger.unsaved import between
from tankbook.records.commits import Commit, Step


def steps(repository: Repository, objects: Objects, tip: Commit, base: str = "") -> Iterator[Step]:
    """Every commit up to `tip`, parents first; a merge once for each parent it differs from.

    With a `base`, which has the ledger where it lies now, nothing of its history.

    Raises:
        LedgerError: git breaks off.
    """
    versions = Versions(objects)
    if base:
        for commit, parent, files in patches(repository, tip, base=base):
            yield step_of(commit, parent, files, versions)
        return
    here = folder_at(repository, objects, tip)
    found = lineage(repository, objects, tip.id, here)
    if found.folders == [repository.prefix]:
        for commit, parent, files in patches(repository, tip):
            yield step_of(commit, parent, files, versions)
        return
    for commit, parent, files in patches(repository, tip, found.folders):
        found.take(commit, parent)
        moved = _moved(found, commit, parent, objects)
        if moved is not None:
            yield moved
        else:
            place = found.place(commit.id)
            yield step_of(commit, parent, [f for f in files if f.folder == place], versions)


def _moved(found: Lineage, commit: Commit, parent: str, objects: Objects) -> Step | None:
    """The step of a commit that moved the ledger; None where it stayed."""
    parent = parent or (commit.parents[0] if commit.parents else "")
    before, after = found.place(parent), found.place(commit.id)
    if before is None or after is None or before == after:
        return None
    was, is_ = (
        at_folder(objects, c, f) for c, f in ((objects.commit(parent), before), (commit, after))
    )
    step = between(was, is_, commit, commit.parents.index(parent))
    return Step(commit, step.parent, step.files, step.removed, step.added, 1, (before, after))
