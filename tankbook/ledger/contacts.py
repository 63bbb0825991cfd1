"""Names by reference: a file of this computer only, which git must never know."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from tankbook.ledger import git
from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.ordinary import of_ledger
from tankbook.ledger.text import read_text
from tankbook.records.fields import NodeReader
from tankbook.records.log import Contact, columns, read_line
from tankbook.records.node import Finding, Severity, Where

CONTACTS_FILE = "contacts.csv"


def contacts(root: Path) -> Mapping[str, Contact]:
    """The contacts by reference; none where the file is not there or cannot be read."""
    found, _ = read_contacts(root)
    return found


def names_and_numbers(root: Path) -> Iterator[str]:
    """The names and numbers that are known on this computer, for none to stand on a page."""
    for each in contacts(root).values():
        yield from filter(None, (each.name, each.phone))


def read_contacts(root: Path) -> tuple[dict[str, Contact], list[Finding]]:
    """The contacts by reference, and what is wrong with the file."""
    try:
        data = of_ledger(root, CONTACTS_FILE)
    except FileNotFoundError:
        return {}, []
    except LedgerError as error:
        return {}, [Finding(Where(CONTACTS_FILE), "unreadable", error.text, error.mend)]
    text, findings = read_text(data, CONTACTS_FILE)
    if text is None:
        return {}, findings
    rows, wrong = read_rows(text, CONTACTS_FILE, columns(Contact))
    reader = NodeReader(CONTACTS_FILE, [*findings, *wrong])
    found: dict[str, Contact] = {}
    for row in rows:
        contact = read_line(Contact, row.cells, reader, row.line, row.column)
        if contact is None:
            continue
        if contact.reference in found:
            said = f"{contact.reference} is here already"
            where = Where(CONTACTS_FILE, row.line, 1)
            reader.findings.append(Finding(where, "reference-twice", said, "keep one of the lines"))
        found.setdefault(contact.reference, contact)
    return found, reader.findings


def check_contacts(root: Path) -> list[Finding]:
    """What is wrong with the contacts: git knows them, or might come to know them, or they are
    written wrongly.

    Raises:
        LedgerError: the disk refuses.
    """
    return [*_known_to_git(root), *read_contacts(root)[1]]


def _known_to_git(root: Path) -> Iterator[Finding]:
    where = Where(CONTACTS_FILE)
    known = git.known_to_git(root, CONTACTS_FILE)
    if known is git.KnownToGit.TRACKED:
        said = "git keeps it: names and telephone numbers leave this computer with the ledger"
        mend = (
            f"`git rm --cached {CONTACTS_FILE}`, name it in .gitignore, commit that, and take it "
            "out of the history before it is pushed"
        )
        yield Finding(where, "contacts-tracked", said, mend)
    elif known is git.KnownToGit.NOT_IGNORED:
        said = "git does not ignore it: `git add` would take it in"
        mend = f"write {CONTACTS_FILE} into .gitignore"
        yield Finding(where, "contacts-not-ignored", said, mend, Severity.ADVICE)
