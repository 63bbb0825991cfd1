"""`tankbook audit`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain
from typing import TYPE_CHECKING, Annotated

from msgspec import Struct

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError, as_data
from tankbook.cli.options import Common
from tankbook.cli.recording import By, CommitOption

if TYPE_CHECKING:
    from pathlib import Path

    from tankbook.cli.archive import Archive
    from tankbook.records.audited import Checkpoint
    from tankbook.records.commits import CommitStep
    from tankbook.records.edits import Act
    from tankbook.records.node import Finding
    from tankbook.rules.audit import Audit


def audit(
    asked: Common,
    late: Annotated[
        int | None,
        Opt("DAYS", "Days after which an entry is late; else as the settings say, or 14.", least=0),
    ] = None,
    many: Annotated[
        int | None,
        Opt("N", "Cylinders one commit may touch; else as the settings say, or 50.", least=1),
    ] = None,
    everything: Annotated[bool, Flag("List every sign (JSON does).", "--all")] = False,
    whole: Annotated[bool, Flag("Read all of it, whatever was audited before.")] = False,
    checkpoint: Annotated[bool, Flag("Record in audited.yaml up to where it was read.")] = False,
    by: By = "",
    commit: CommitOption = None,
) -> Answer:
    """Read every commit and list the signs of tampering: past entries altered or removed, ...

    After a checkpoint only what is new is read. Exit code 1 when there are any signs. Corrections
    made with `correct` are listed apart.
    """
    from tankbook.cli import loud
    from tankbook.cli.archive import archive_of
    from tankbook.cli.open_ledger import day_done, page
    from tankbook.ledger.apply import apply
    from tankbook.output import audit as output
    from tankbook.output import recorded as written

    if checkpoint:
        day_done(asked)
        if late is not None or many is not None:
            text = "--checkpoint is by the settings, not by --late or --many"
            raise RequestError(text, "leave them out")
    how = _AuditHow(late, many, whole, checkpoint, by)
    seen = archive_of(asked, lambda archive: _look(asked, archive, how))
    answer, pending = seen.answer, loud.pending(seen.pending)
    code = loud.code_with(DONE if answer.is_clean else NO, pending)
    done = None
    if seen.act is not None:
        # outside of the reading, which is done again where files move
        done = apply(seen.root, seen.act, commit=seen.usual if commit is None else commit)
    if asked.json:
        data = output.data(answer, seen.shallow)
        data |= {"recorded": written.data(done)} if done else {}
        return as_data(loud.in_data(data, pending), code, seen.notes)
    paper = page()
    text = output.text(answer, seen.shallow, paper, everything=everything)
    text += f"\n{written.text(done, paper)}" if done else ""
    said = loud.pending_line(seen.pending)
    return loud.told(Answer(text, code, seen.notes), said)


class _AuditHow(Struct, frozen=True):
    """What is asked of an audit."""

    late: int | None
    many: int | None
    whole: bool
    checkpoint: bool
    by: str


class _Looked(Struct, frozen=True):
    """What an audit saw, and the act that a checkpoint of it is."""

    answer: Audit
    root: Path
    shallow: bool
    notes: tuple[str, ...]
    pending: tuple[Finding, ...]
    act: Act | None
    usual: bool


def _look(asked: Common, archive: Archive, how: _AuditHow) -> _Looked:
    """The audit of a history, of people as they are certified now."""
    from tankbook.ledger.checkpoints import latest, stretch
    from tankbook.ledger.gitlog import commit_count
    from tankbook.ledger.gitwalk import steps
    from tankbook.ledger.part import settings_of
    from tankbook.ledger.shipped import sets_of
    from tankbook.rules.audit import audit as audit_of
    from tankbook.rules.checkpoint import unproved
    from tankbook.rules.terms import AskedByHand

    if how.checkpoint:
        _refuse_checkpoint(asked, archive)
    repository, tip = archive.repository, archive.tip
    where = (repository, archive.objects)
    known = latest(*where, archive.latest, tip)
    also = [unproved(known.checkpoint, known.why_not, tip)] if known.why_not else []
    part = None
    if known.checkpoint is not None and not (known.why_not or how.whole):
        part = stretch(*where, tip, known.checkpoint)
    base = part.base if part else ""
    shown = _watched(steps(*where, tip, base), commit_count(repository, tip, base))
    settings = settings_of(archive.latest)
    terms = AskedByHand(how.late, how.many, settings.people, sets_of)
    every = chain(shown, archive.unsaved())
    answer = audit_of(every, terms, part.start if part else None, also)
    act = _checkpoint(archive, answer, how.by) if how.checkpoint else None
    usual = bool(act) and settings.commit
    return _Looked(
        answer, repository.root, repository.shallow, archive.notes, archive.pending, act, usual
    )


def _refuse_checkpoint(asked: Common, archive: Archive) -> None:
    """See that no checkpoint is made of what was not read, nor over what was taken out and
    committed since the last one, and is missed: nothing would miss it any more.

    Raises:
        RequestError: it would be.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.errors import LedgerError

    if archive.repository.shallow:
        text = "a shallow clone has not all that a checkpoint would say was audited"
        raise RequestError(text, "fetch the rest: `git fetch --unshallow`")
    if archive.pending:
        text = "an act is not finished"
        raise RequestError(text, "`tankbook pending` shows it, and finishes or drops it")
    try:
        gone = open_desk(asked).book.absence.gone
    except LedgerError:  # the audit tells what cannot be read
        return
    missed = next((g for g in gone if g.commit != archive.tip.short), None)
    if missed is not None:
        raise RequestError(missed.text, f"{missed.mend}; then make the checkpoint")


def _checkpoint(archive: Archive, answer: Audit, by: str) -> Act:
    """The act of recording up to where the history was audited: what is committed, and no more."""
    from tankbook.ledger.checkpoints import checkpoints_in, values_of
    from tankbook.ledger.part import settings_of
    from tankbook.records.audited import AUDITED_PATH
    from tankbook.records.edits import Act, AddEntry, Edit, NewFile

    before = answer.since
    signs = answer.before + sum(1 for f in answer.signs if f.commit.id)
    commits = answer.commits + (before.commits if before else 0)
    who = by or settings_of(archive.latest).operator or ""
    day = f"{archive.now.date()}"
    values = values_of(archive.files, day, who, commits, signs)
    if (known := checkpoints_in(archive.latest)) and _is_same(known[-1], values):
        # it was recorded, and whoever gave it was not told
        return Act("audit", (), f"Audited through {archive.tip.short}, as is on record", ())
    edit: Edit = AddEntry(AUDITED_PATH, ("checkpoints",), values)
    if not archive.latest.exists(AUDITED_PATH):
        said = ", ".join(f"{key}: {text}" for key, text in values.items())
        edit = NewFile(AUDITED_PATH, f"checkpoints:\n  - {{{said}}}\n")
    return Act("audit", (), f"Audited through {archive.tip.short}", (edit,))


def _is_same(known: Checkpoint, values: Mapping[str, str]) -> bool:
    """Whether a checkpoint is of the same day, by the same hand, up to the same commit."""
    said = values.get("by", ""), values["on"], values["through"]
    return (known.by or "", f"{known.on}", known.through) == said


def _watched(steps: Iterable[CommitStep], commits: int) -> Iterator[CommitStep]:
    """The steps as they come, with how far they are on a terminal."""
    from tankbook.cli.progress import Progress

    show = Progress("Reading commits")
    done, last = 0, ""
    for step in steps:
        if step.commit.id != last:
            done, last = done + 1, step.commit.id
            show(done, commits)
        yield step
