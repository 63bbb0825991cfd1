"""What a repository's configuration has git open, looked at before git is.

Git opens the files that its configuration includes, whatever they are, and waits for a pipe. No
option and no variable keeps it from that. So the files are read here first, as git reads them, and
what they name is looked at.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator

from msgspec import Struct, field

from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.ordinary import ordinary

LARGEST = 1 << 20
"""Bytes of a configuration that are read."""
DEEPEST = 10
"""How deep a configuration may include others; git gives up there, too."""

_SPACE = b" \t\n\v\f\r"
_KEY = frozenset(b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-")
_LETTERS = {ord("t"): ord("\t"), ord("b"): ord("\b"), ord("n"): ord("\n")}
_OVERRIDDEN = frozenset({"diff.orderfile"})
"""Keys whose files are never opened, since every question to git says another."""
_MEND = "take that out of the file, or put an ordinary file there"


class Setting(Struct, frozen=True):
    """A key of a configuration in small letters, as `include.path`; its value and its line."""

    key: str
    value: str
    line: int


def refuse_waiting(file: str, base: str, depth: int = 0) -> None:
    """See that git does not wait for what a file of its configuration names.

    Args:
        file: the configuration.
        base: the folder git runs in, which names are relative to.
        depth: how many others include it.

    Raises:
        LedgerError: it names a pipe or a device, in what it includes or as a value, or it cannot
            be read.
    """
    try:
        data = ordinary(file, file, LARGEST)
    except FileNotFoundError:
        return
    except NotADirectoryError:
        return
    except OSError as error:
        raise from_os(_shown(file), error) from error
    except LedgerError as error:
        raise _refused(
            file, 0, f"it cannot be read ({error.text}), so git cannot be asked"
        ) from error
    for each in settings(data, file):
        included = each.key == "include.path" or (
            each.key.startswith("includeif.") and each.key.endswith(".path")
        )
        if each.key in _OVERRIDDEN:
            continue
        for place in _places(each.value, os.path.dirname(file), base):  # noqa: PTH120 - as git does
            if _waits(place):
                key = each.key if not included else each.key.partition(".")[0] + ".path"
                text = f"`{_shown(key)}` names {_shown(each.value)}, which is no ordinary file"
                raise _refused(file, each.line, f"{text}, so git cannot be asked")
        if included:
            if depth >= DEEPEST:
                text = f"it includes another, {DEEPEST} deep, so git cannot be asked"
                raise _refused(file, each.line, text)
            if each.value.startswith("%("):
                text = f"it includes {_shown(each.value)}, which only git can find"
                raise _refused(file, each.line, f"{text}, so git cannot be asked")
            place = os.path.expanduser(each.value)  # noqa: PTH111 - as git does
            refuse_waiting(os.path.join(os.path.dirname(file), place), base, depth + 1)  # noqa: PTH118, PTH120


def _places(value: str, beside: str, base: str) -> Iterator[str]:
    """Where a value leads, if it is the name of a file."""
    if value and "\0" not in value:
        path = os.path.expanduser(value)  # noqa: PTH111 - as git does
        yield from dict.fromkeys(os.path.join(folder, path) for folder in (beside, base))  # noqa: PTH118


def _waits(place: str) -> bool:
    """Whether opening or reading what lies at a place may never end."""
    try:
        found = os.stat(place)  # noqa: PTH116 - for each value of each question
    except (OSError, ValueError):
        return False
    if stat.S_ISREG(found.st_mode) or stat.S_ISDIR(found.st_mode):
        return False
    return not (stat.S_ISCHR(found.st_mode) and os.path.realpath(place) == os.devnull)


def _refused(file: str, line: int, text: str) -> LedgerError:
    where = f"{_shown(file)}:{line}" if line else _shown(file)
    return LedgerError(where, text, _MEND)


def _shown(text: str) -> str:
    return ascii(text)[1:-1]


# --- as git reads it


def settings(data: bytes, file: str) -> list[Setting]:
    """The settings of a configuration, in order.

    Raises:
        LedgerError: git would not take it either.
    """
    try:
        return list(_ConfigText(data.removeprefix(b"\xef\xbb\xbf")).settings())
    except _OddError as error:
        text = "it is not written as git's configuration is, so git cannot be asked"
        raise LedgerError(
            f"{_shown(file)}:{error.args[0]}", text, "`git config -l` tells more"
        ) from None


class _OddError(Exception):
    """The text is none that git takes; the line is in it."""


class _ConfigText(Struct):
    """The bytes of a configuration, and how far they are read."""

    data: bytes
    at: int = 0
    line: int = 1
    ended: bool = field(default=False)

    def next(self) -> int:
        """The next byte; a line end at the end, and for CR LF."""
        if self.at >= len(self.data):
            self.ended = True
            return 10
        found = self.data[self.at]
        self.at += 1
        if found == 13 and self.data[self.at : self.at + 1] == b"\n":
            self.at += 1
            found = 10
        if found == 10:
            self.line += 1
        return found

    def odd(self) -> _OddError:
        return _OddError(self.line)

    def settings(self) -> Iterator[Setting]:
        section, comment = b"", False
        while True:
            char = self.next()
            if char == 10:
                if self.ended:
                    return
                comment = False
            elif comment or char in _SPACE:
                continue
            elif char in b"#;":
                comment = True
            elif char == ord("["):
                section = self.section()
            elif char in _KEY and chr(char).isalpha():
                line = self.line
                name, value = self.setting(char)
                whole = section + b"." + name
                yield Setting(os.fsdecode(whole), os.fsdecode(value), line)
            else:
                raise self.odd()

    def section(self) -> bytes:
        found = bytearray()
        while True:
            char = self.next()
            if self.ended:
                raise self.odd()
            if char == ord("]"):
                return bytes(found).lower()
            if char in _SPACE:
                return bytes(found).lower() + b"." + self.subsection(char)
            if char not in _KEY and char != ord("."):
                raise self.odd()
            found.append(char)

    def subsection(self, char: int) -> bytes:
        while char in _SPACE:
            if char == 10:
                raise self.odd()
            char = self.next()
        if char != ord('"'):
            raise self.odd()
        found = bytearray()
        while (char := self.next()) != ord('"'):
            if char == ord("\\"):
                char = self.next()
            if char == 10:
                raise self.odd()
            found.append(char)
        if self.next() != ord("]"):
            raise self.odd()
        return bytes(found)

    def setting(self, char: int) -> tuple[bytes, bytes]:
        name = bytearray([char])
        while (char := self.next()) in _KEY and not self.ended:
            name.append(char)
        while char in b" \t":
            char = self.next()
        if char == 10:
            return bytes(name).lower(), b""
        if char != ord("="):
            raise self.odd()
        return bytes(name).lower(), self.value()

    def value(self) -> bytes:
        found, spaces = bytearray(), 0
        quoted = comment = False
        while True:
            char = self.next()
            if char == 10:
                if quoted:
                    raise self.odd()
                return bytes(found)
            if comment:
                continue
            if char in _SPACE and not quoted:
                spaces += bool(found)
                continue
            if not quoted and char in b"#;":
                comment = True
                continue
            found += b" " * spaces
            spaces = 0
            if char == ord("\\"):
                char = self.next()
                if char == 10:
                    if self.ended:
                        return bytes(found)
                    continue
                char = _LETTERS.get(char, char)
            elif char == ord('"'):
                quoted = not quoted
                continue
            found.append(char)
