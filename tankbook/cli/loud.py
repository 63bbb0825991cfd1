"""What must be told with every answer: what could not be read, what vanished, and what the law asks
for and nobody recorded. It stands in the first line and in the data, and the answer is no."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.cli.answer import DONE, NO, NOT_UNDERSTOOD, Answer
from tankbook.output.page import Page, counted

if TYPE_CHECKING:
    import datetime as dt

    from tankbook.records.book import Book
    from tankbook.records.node import Finding
    from tankbook.rules.answers import Reason

MOST = 20
"""How many records at fault are listed."""

NAMED = 3
"""How many files a line names; the rest are counted."""


class Fault(Struct, frozen=True):
    """A file that could not be read, or a record that is missing."""

    path: str
    text: str
    kind: str = "fault"


def pending(findings: Iterable[Finding]) -> tuple[Fault, ...]:
    """That an act is not finished, or that the files would not hold still."""
    found = (f for f in findings if f.code == "pending")
    return tuple(Fault(f.where.path, str(f), "pending") for f in found)


def pending_line(findings: Iterable[Finding]) -> str:
    """What the first line ends with where an act is not finished."""
    return "; ".join(f"PENDING: {f.text}; {f.mend}" for f in findings if f.code == "pending")


def once(said: str, text: str, findings: Iterable[Finding]) -> str:
    """What a first line ends with, where its sentence has said already what is pending."""
    sentence = " ".join(text.split("\n\n", 1)[0].split())
    for each in findings:
        if each.code == "pending" and each.text in sentence:
            said = said.replace(f"PENDING: {each.text}; ", "PENDING; ")
    return said


def unread(findings: Iterable[Finding]) -> tuple[Fault, ...]:
    """Every file with a fault in it, and the first thing wrong with each."""
    from tankbook.records.node import Severity

    found: dict[str, Fault] = {}
    for each in findings:
        if each.severity is Severity.FAULT and each.code != "pending":
            found.setdefault(each.where.path, Fault(each.where.path, str(each)))
    return tuple(found.values())


def missing(book: Book, today: dt.date) -> tuple[Fault, ...]:
    """The cylinders in service without any record of a test that the law asks for."""
    from tankbook.rules.schedule import lacking_by_law

    return tuple(Fault(path, text) for path, text in lacking_by_law(book, today))


def vanished(book: Book) -> tuple[Fault, ...]:
    """What stood in git and is gone or altered, and nobody said why."""
    gone = (each for each in book.absence.gone if not each.kept)
    return tuple(Fault(each.path, each.text) for each in gone)


def elsewhere(book: Book, *, against: bool) -> tuple[Fault, ...]:
    """What was recorded on this machine and stands on a branch, or in a working copy, that is not
    asked: what tells against something, or the rest."""
    every = book.absence.gone if against else book.absence.apart
    return tuple(Fault(each.path, each.text, "elsewhere") for each in every if each.kept)


def elsewhere_line(book: Book) -> str:
    """What the first line ends with for these."""
    found = (*elsewhere(book, against=True), *elsewhere(book, against=False))
    records = counted(len(found), "RECORD", "RECORDS")
    return f"{records} ON ANOTHER BRANCH: {_named(found)}" if found else ""


def unproved(book: Book) -> tuple[Fault, ...]:
    """That the last checkpoint of an audit does not hold."""
    from tankbook.records.audited import AUDITED_PATH

    found = book.absence.unproved
    return (Fault(AUDITED_PATH, found.why),) if found is not None and found.fault else ()


def unproved_line(book: Book) -> str:
    """What the first line ends with where a checkpoint does not hold, or cannot be held against
    anything."""
    from tankbook.records.audited import AUDITED_PATH

    found = book.absence.unproved
    if found is None:
        return ""
    what = "DOES NOT HOLD" if found.fault else "NOT REACHED"
    return f"CHECKPOINT {what}: {AUDITED_PATH}"


def contradicted(book: Book, today: dt.date, only: Collection[str]) -> tuple[Fault, ...]:
    """The cylinders whose own records are at fault, of all or `only` of some, with the first thing
    wrong with each."""
    from tankbook.rules.checks import touching

    found = touching(book, today, only)
    return tuple(Fault(id_, first.text) for id_, first in found.items())


def at_fault(found: Sequence[Fault]) -> str:
    """What the first line of an answer about a fleet ends with, where records are at fault."""
    return f"{counted(len(found), 'record')} at fault: {_named(found)}" if found else ""


def closing(book: Book, today: dt.date, *, station: bool) -> tuple[Fault, ...]:
    """What stands against every fill here today: the ledger's rules are at fault, or the station
    is closed, where that is asked too."""
    from tankbook.rules.gate import closed_by

    unread = {f.where.path for f in book.findings}
    found = (Fault(_path_of(r), r.text, "closed") for r in closed_by(book, today, station=station))
    return tuple(f for f in found if f.path not in unread)


def _path_of(reason: Reason) -> str:
    return reason.where.path if reason.where else "station.yaml"


def loosened(book: Book) -> tuple[Fault, ...]:
    """The ledger's own rows in force that loosen practice: who decided so, since when and why."""
    from tankbook.rules.inforce import rules_of

    found = rules_of(book).loosened
    return tuple(Fault(each.row.source.at("id").path, str(each), "loosened") for each in found)


def loosening(found: Sequence[Fault], *, whole: bool) -> str:
    """What the first line ends with where practice is loosened: how often, or the `whole` of it."""
    if whole or not found:
        return "; ".join(f.text for f in found)
    verb = "loosens" if len(found) == 1 else "loosen"
    return f"{counted(len(found), 'own rule row')} {verb} shop practice"


def closed(found: Sequence[Fault]) -> str:
    """What the first line ends with where nothing may be filled here, whatever the cylinder."""
    more = f", and {len(found) - 1} more" if len(found) > 1 else ""
    return f"NOTHING MAY BE FILLED HERE: {found[0].text}{more}" if found else ""


def listed(found: Sequence[Fault], page: Page) -> str:
    """The records at fault, one a line, for the end of an answer."""
    head = f"Records at fault ({len(found)}); `tankbook validate` tells all of it"
    lines = [page.wrap(head, hang="  ")]
    lines += [page.wrap(f"{f.path}: {f.text}", "  ", "    ") for f in found[:MOST]]
    lines += [f"  and {len(found) - MOST} more"] if len(found) > MOST else []
    return "\n".join(["", *lines, ""])


def line(unread: Sequence[Fault], missing: Sequence[Fault], vanished: Sequence[Fault] = ()) -> str:
    """What a first line ends with: how many files were not read, what is missing, what vanished."""
    said = []
    if unread:
        files = counted(len(unread), "FILE", "FILES")
        said.append(f"{files} NOT READ: {_named(unread)}")
    if missing:
        records = counted(len(missing), "record that the law asks for", "records")
        said.append(f"{records} missing: {_named(missing)}")
    if vanished:
        said.append(f"{counted(len(vanished), 'RECORD', 'RECORDS')} VANISHED: {_named(vanished)}")
    return "; ".join(said)


def _named(faults: Sequence[Fault]) -> str:
    """The files of faults, each once however many records of it there are."""
    paths = list(dict.fromkeys(f.path for f in faults))
    more = f", and {len(paths) - NAMED} more" if len(paths) > NAMED else ""
    return ", ".join(paths[:NAMED]) + more


def told(answer: Answer, said: str) -> Answer:
    """An answer with something added to its first line, or before it where that is a picture.

    A sentence that was broken to fit the page is joined again: nothing may stand inside it. Where
    it goes on its lines are set in (`Page.answer`), and what comes under it begins at the edge. A
    terminal has it broken again; a file or a pipe has it in its first line whole.
    """
    if not said:
        return answer
    from tankbook.cli import keys

    lines = answer.text.split("\n")
    if lines[0].startswith("+-"):
        lines.insert(0, said)
    else:
        while len(lines) > 1 and lines[1].strip() and lines[1].startswith(" "):
            lines[:2] = [f"{lines[0]} {lines[1].strip()}"]
        end = "." if lines[0].endswith(".") else ""
        lines[0] = f"{lines[0].removesuffix(end)}; {said}{end}"
    if room := keys.columns(sys.stdout):
        lines[0] = Page(room).wrap(lines[0], hang="  ")
    return replace(answer, text="\n".join(lines))


def in_data(value: Any, faults: Sequence[Fault]) -> Any:
    """Data with the faults in it: an array gains an item for each, an object a key `faults`."""
    if not faults:
        return value
    items = [{"kind": f.kind, "path": f.path, "text": f.text} for f in faults]
    if isinstance(value, list):
        return [*value, *items]
    return {**value, "faults": items} if isinstance(value, dict) else value


def code_with(code: int, faults: Sequence[Fault]) -> int:
    """The exit code of an answer that something is missing from: no, unless it was worse."""
    return NO if faults and code in {DONE, NO} and code != NOT_UNDERSTOOD else code
