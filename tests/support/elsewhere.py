"""Runs command lines as Windows would have them, as far as that can be simulated here.

    python -X warn_default_encoding elsewhere.py LINES

LINES is a JSON list of command lines; what each answered is printed as JSON. What is simulated: no
`fcntl`, no `fchmod`, no flag that keeps links from being followed; no name that Windows refuses; no
file is replaced, renamed or removed while this process has it open; a rename onto what is there
fails; standard output in code page 1252; a file that is opened without its encoding is an error.
What is not: paths with a drive and backslashes, the programs of git for Windows, its consoles.

The rules are those of Microsoft's page "Naming Files, Paths, and Namespaces", and of `MoveFileEx`
and `DeleteFile`, from memory.
"""

from __future__ import annotations

import builtins
import contextlib
import errno
import io
import json
import os
import re
import sys
import sysconfig
import types
import warnings
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

DEVICE = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)
FORBIDDEN = re.compile(r'[<>:"|?*\\\x00-\x1f]|[. ]$')


def refused(path: object) -> str:
    """The part of a path that Windows has no file of, or an empty text."""
    if not isinstance(path, str | bytes | os.PathLike):
        return ""
    parts = Path(os.fsdecode(path)).parts
    wrong = (p for p in parts if p != ".." and (DEVICE.fullmatch(p) or FORBIDDEN.search(p)))
    return next(wrong, "")


def in_use(path: object) -> bool:
    """Whether this process has the file open."""
    if not isinstance(path, str | os.PathLike):
        return False
    real = os.path.realpath(path)
    for number in Path("/proc/self/fd").iterdir():
        with contextlib.suppress(OSError):
            if str(number.readlink()) == real:
                return True
    with Path("/proc/self/maps").open(encoding="utf-8") as maps:
        return any(line.rstrip().endswith(f" {real}") for line in maps)


class Denied(PermissionError):
    """As Windows tells what is in use."""


def windows() -> None:
    """From here on this process meets what is the case on Windows."""
    sysconfig.get_config_vars()
    # What is not ours is imported as it is on this system.
    for each in ("typer.main", "icalendar", "reportlab", "PIL", "openpyxl", "rich.console"):
        __import__(each)
    real_lock = __import__("fcntl")
    fake = types.ModuleType("msvcrt")

    def locking(descriptor: int, mode: int, count: int) -> None:
        try:
            real_lock.lockf(
                descriptor, real_lock.LOCK_EX | real_lock.LOCK_NB, count, os.lseek(descriptor, 0, 1)
            )
        except OSError as error:
            raise PermissionError(errno.EACCES, "Permission denied") from error

    fake.locking, fake.LK_NBLCK = locking, 2  # type: ignore[attr-defined]
    sys.modules["msvcrt"] = fake
    sys.modules["fcntl"] = None  # type: ignore[assignment]
    for name in [each for each in sys.modules if each.startswith("tankbook.ledger")]:
        del sys.modules[name]
    for name in ("O_NOFOLLOW", "O_DIRECTORY", "O_CLOEXEC", "fchmod"):
        delattr(os, name)

    def guarded(call: Callable[..., Any], names: int, *, moves: bool, over: bool = True) -> Any:
        def guard(*arguments: Any, **more: Any) -> Any:
            for path in arguments[:names]:
                if wrong := refused(path):
                    raise OSError(errno.EINVAL, f"Windows has no name `{wrong}`", os.fspath(path))
                if moves and in_use(path):
                    raise Denied(errno.EACCES, "it is in use", os.fspath(path))
            if not over and os.path.lexists(arguments[1]):
                raise FileExistsError(errno.EEXIST, "it is there", os.fspath(arguments[1]))
            return call(*arguments, **more)

        return guard

    os.open = guarded(os.open, 1, moves=False)
    os.mkdir = guarded(os.mkdir, 1, moves=False)
    os.replace = guarded(os.replace, 2, moves=True)
    os.rename = guarded(os.rename, 2, moves=True, over=False)
    os.unlink = os.remove = guarded(os.unlink, 1, moves=True)
    builtins.open = io.open = guarded(builtins.open, 1, moves=False)
    warnings.filterwarnings("error", category=EncodingWarning, module="tankbook")
    sys.platform = "win32"


def answers(lines: Iterable[list[str]], encoding: str) -> list[dict[str, Any]]:
    """What each line answered: its code, and the bytes of both streams as latin-1."""
    from tankbook.cli.boundary import run

    told = []
    for line in lines:
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in "12")
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = run(line)
        texts = []
        for stream in (out, err):
            stream.flush()
            texts.append(stream.buffer.getvalue().decode("latin-1"))  # type: ignore[attr-defined]
        told.append({"line": line, "code": code, "out": texts[0], "err": texts[1]})
    return told


if __name__ == "__main__":
    windows()
    done = answers(json.loads(sys.argv[1]), "cp1252")
    assert sys.__stdout__ is not None
    sys.__stdout__.write(json.dumps(done))
