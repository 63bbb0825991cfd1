"""What the ledger raises when it will not, or cannot, do as asked."""

from __future__ import annotations

import errno
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType

from tankbook.records.node import Finding, Severity


class LedgerError(Exception):
    """A refusal that names a place, what is wrong there, and how to mend it.

    `path` is relative to the ledger where it can be, with a line and column where known; `text`
    says what is wrong without a full stop; `mend` says what to do about it. Whatever raises it has
    left the file as it was, unless `text` says otherwise.
    """

    def __init__(self, path: str, text: str, mend: str = "") -> None:
        super().__init__(path, text, mend)
        self.path = path
        self.text = text
        self.mend = mend

    def __str__(self) -> str:
        line = f"{self.path}: {self.text}"
        return f"{line}; {self.mend}" if self.mend else line


_CAUSES: dict[int, tuple[str, str]] = {
    errno.ENOSPC: ("the disk is full", "free some space and try again"),
    errno.EDQUOT: ("the disk quota is used up", "free some space and try again"),
    errno.EFBIG: ("the file would be too large for this disk", "keep the ledger on another disk"),
    errno.EIO: ("the disk reports an error", "check the disk, and copy the ledger off it first"),
    errno.EROFS: ("the disk is read-only", "keep the ledger where it can be written"),
    errno.EACCES: ("permission is denied", "give yourself the right to write here"),
    errno.EPERM: ("permission is denied", "give yourself the right to write here"),
    errno.ENAMETOOLONG: ("the name is too long", "use a shorter name"),
    errno.EISDIR: ("this is a folder, where a file is wanted", "move the folder out of the way"),
    errno.ENOTDIR: ("a file stands where a folder is wanted", "move the file out of the way"),
    errno.ENOENT: ("there is no such file or folder", "check the path"),
}


def from_os(path: str, error: OSError) -> LedgerError:
    """The operating system's refusal in plain words."""
    reason = error.strerror or str(error) or type(error).__name__
    text, mend = _CAUSES.get(error.errno or 0, (f"the system refuses: {reason}", ""))
    return LedgerError(path, text, mend)


class refusing:
    """While the block runs, the operating system's refusals become errors about a path."""

    def __init__(self, path: str | Path) -> None:
        self._path = str(path)

    def __enter__(self) -> None:
        pass

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        if isinstance(error, OSError):
            raise from_os(self._path, error) from error


def first_fault(findings: Iterable[Finding]) -> Finding | None:
    """The first of some findings that is a fault; None where none is."""
    return next((each for each in findings if each.severity is Severity.FAULT), None)


def of_finding(found: Finding, mend: str = "") -> LedgerError:
    """What is wrong with a record as a refusal, with another way to mend it where one is given."""
    return LedgerError(str(found.where), found.text, mend or found.mend)
