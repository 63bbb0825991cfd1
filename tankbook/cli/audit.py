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
    from tankbook.rules.terms import AskedByHand


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
    from tankbook.ledger.checkpoints import latest, stretch
    from tankbook.ledger.gitlog import commit_count
    from tankbook.ledger.gitwalk import steps
    from tankbook.ledger.part import settings_of
    from tankbook.output import audit as output
    from tankbook.output import recorded as written
    from tankbook.rules.audit import audit as audit_of
    from tankbook.rules.checkpoint import unproved

    if checkpoint:
        day_done(asked)
        if late is not None or many is not None:
            text = "--checkpoint is by the settings, not by --late or --many"
            raise RequestError(text, "leave them out")

    def looked(archive: Archive) -> _Looked:
        if checkpoint and archive.repository.shallow:
            text = "a shallow clone has not all that a checkpoint would say was audited"
            raise RequestError(text, "fetch the rest: `git fetch --unshallow`")
        if checkpoint and archive.pending:
            text = "an act is not finished"
            raise RequestError(text, "`tankbook pending` shows it, and finishes or drops it")
        if checkpoint:
            _refuse_missed(asked, archive.tip.short)
        where = (archive.repository, archive.objects)
        known = latest(*where, archive.latest, archive.tip)
        also = [unproved(known.checkpoint, known.why_not, archive.tip)] if known.why_not else []
        part = None
        if known.checkpoint is not None and not (known.why_not or whole):
            part = stretch(*where, archive.tip, known.checkpoint)
        base = part.base if part else ""
        found = steps(*where, archive.tip, base)
        shown = _watched(found, commit_count(archive.repository, archive.tip, base))
        terms = _asked(archive, late, many)
        every = chain(shown, archive.unsaved())
        answer = audit_of(every, terms, part.start if part else None, also)
        act = _checkpoint(archive, answer, by) if checkpoint else None
        usual = bool(act) and settings_of(archive.latest).commit
        repository = archive.repository
        return _Looked(
            answer, repository.root, repository.shallow, archive.notes, archive.pending, act, usual
        )

    seen = archive_of(asked, looked)
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
    return loud.told(Answer(text, code, seen.notes), said, paper.width)


class _Looked(Struct, frozen=True):
    """What an audit saw, and the act that a checkpoint of it is."""

    answer: Audit
    root: Path
    shallow: bool
    notes: tuple[str, ...]
    pending: tuple[Finding, ...]
    act: Act | None
    usual: bool


def _refuse_missed(asked: Common, tip: str) -> None:
    """See that no checkpoint is made over what was taken out and committed since the last one, and
    is missed: nothing would miss it any more.

    Raises:
        RequestError: something is.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.errors import LedgerError

    try:
        gone = open_desk(asked).book.absence.gone
    except LedgerError:  # the audit tells what cannot be read
        return
    missed = next((g for g in gone if g.commit != tip), None)
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


def _asked(archive: Archive, late: int | None, many: int | None) -> AskedByHand:
    """What is asked for by hand, and who is certified now."""
    from tankbook.ledger.part import settings_of
    from tankbook.ledger.shipped import sets_of
    from tankbook.rules.terms import AskedByHand

    return AskedByHand(late, many, settings_of(archive.latest).people, sets_of)


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
