"""The calls by which a command changes a disk, noted where Python makes them.

Each is made, and noted after it was. What is written through a file object goes through `os.write`
as well, so that nothing is written past the notes; `test_tracing.py` holds that to what the
interpreter and the system themselves tell.
"""

from __future__ import annotations

import builtins
import io
import os
import subprocess
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest
from disk import Bind, Call, Cut, Disk, Other, Sync, Write, tree_of

_WRITING = os.O_WRONLY | os.O_RDWR
_MODES = {"w": os.O_CREAT | os.O_TRUNC, "x": os.O_CREAT | os.O_EXCL, "a": os.O_CREAT | os.O_APPEND}


class Tracer(AbstractContextManager["Tracer"]):
    """Notes what is done below a folder while it is entered.

    `calls` go on from those of before, where a process goes on from what another left in the
    system's memory. `told` is how many there were when the last answer was out.
    """

    def __init__(self, top: Path, base: Disk, calls: list[Call] | None = None) -> None:
        self.base = base
        self.calls: list[Call] = list(calls or ())
        self.noted: list[tuple[str, str]] = []
        self.told = 0
        self._top = f"{top}/"
        self._now = base.copy()
        for call in self.calls:
            self._now.do(call)
        self._open: dict[int, int] = {}
        self._patch = pytest.MonkeyPatch()
        self._real = {name: getattr(os, name) for name in dir(os) if callable(getattr(os, name))}

    def __enter__(self) -> Tracer:
        for name in dir(self):
            if name.startswith("_os_"):
                self._patch.setattr(os, name.removeprefix("_os_"), getattr(self, name))
        self._patch.setattr(os, "rename", self._os_replace)
        self._patch.setattr(os, "remove", self._os_unlink)
        self._patch.setattr(os, "fdatasync", self._os_fsync)
        for name in ("link", "symlink", "truncate", "rmdir", "removedirs", "renames"):
            self._patch.setattr(os, name, self._unknown(name))
        real = builtins.open
        for module in (io, builtins):
            self._patch.setattr(module, "open", lambda *a, **k: self._opened(real, *a, **k))
        run = subprocess.run
        self._patch.setattr(subprocess, "run", lambda *a, **k: self._other(run(*a, **k)))
        return self

    def __exit__(self, *_: object) -> None:
        self._patch.undo()

    def answer_out(self) -> None:
        """Take note that whoever gave the command was told."""
        self.told = len(self.calls)

    def _path(self, path: Any) -> str | None:
        """A path below the folder; None for any other."""
        text = os.fspath(path) if not isinstance(path, int) else ""
        text = os.path.abspath(text) if text else ""  # noqa: PTH100 - no link is followed
        if f"{text}/" == self._top:
            return ""
        return text.removeprefix(self._top) if text.startswith(self._top) else None

    def _note(self, what: str, path: str, *calls: Call) -> None:
        self.noted.append((what, path))
        for call in calls:
            self.calls.append(call)
            self._now.do(call)

    def _bind(self, what: str, path: str, number: int | None, moved: str = "", **how: bool) -> None:
        above, _, name = path.rpartition("/")
        names: tuple[tuple[str, int | None], ...] = ((name, number),)
        if moved:
            was, _, old = moved.rpartition("/")
            assert was == above, "a move from folder to folder is not modelled"
            names = ((old, None), *names)
        folder = self._now.find(above)
        assert folder is not None, path
        self._note(what, path, Bind(folder, names, **how))

    def _os_open(self, path: Any, flags: int, *rest: Any, **more: Any) -> int:
        opened: int = self._real["open"](path, flags, *rest, **more)
        self._open.pop(opened, None)
        inner = self._path(path)
        if inner is None or more.get("dir_fd") is not None:
            return opened
        there = self._now.find(inner)
        if flags & _WRITING:
            if there is None:
                there = self._now.free()
                self._bind("open", inner, there)
            else:
                cut = [Cut(there, 0)] if flags & os.O_TRUNC and self._now.files[there] else []
                self._note("open", inner, *cut)
        if there is not None:
            self._open[opened] = there
        return opened

    def _os_close(self, opened: int) -> None:
        self._open.pop(opened, None)
        self._real["close"](opened)

    def _os_write(self, opened: int, data: bytes) -> int:
        done: int = self._real["write"](opened, data)
        if opened in self._open:
            at = os.lseek(opened, 0, os.SEEK_CUR) - done
            self._note("write", "", Write(self._open[opened], at, bytes(data[:done])))
        return done

    def _os_ftruncate(self, opened: int, length: int) -> None:
        self._real["ftruncate"](opened, length)
        if opened in self._open:
            self._note("ftruncate", "", Cut(self._open[opened], length))

    def _os_fsync(self, opened: int) -> None:
        self._real["fsync"](opened)
        if opened in self._open:
            self._note("fsync", "", Sync(self._open[opened]))

    def _os_replace(self, old: Any, new: Any) -> None:
        self._real["replace"](old, new)
        before, after = self._path(old), self._path(new)
        if before is not None and after is not None:
            self._bind("rename", after, self._now.find(before), moved=before)

    def _os_unlink(self, path: Any, **more: Any) -> None:
        self._real["unlink"](path, **more)
        if (inner := self._path(path)) is not None:
            self._bind("unlink", inner, None)

    def _os_mkdir(self, path: Any, *rest: Any, **more: Any) -> None:
        self._real["mkdir"](path, *rest, **more)
        if (inner := self._path(path)) is not None:
            self._bind("mkdir", inner, self._now.free(), makes_folder=True)

    def _unknown(self, name: str) -> Callable[..., Any]:
        def call(*arguments: Any, **keywords: Any) -> Any:
            assert all(self._path(a) is None for a in arguments if isinstance(a, str | Path)), name
            return self._real[name](*arguments, **keywords)

        return call

    def _opened(
        self, real: Any, file: Any, mode: str = "r", buffering: int = -1,
        encoding: Any = None, errors: Any = None, newline: Any = None, *rest: Any, **more: Any,
    ) -> Any:  # fmt: skip
        """A file object; what is written to it goes through `os.write`."""
        if self._path(file) is None or not set(mode) & set("wxa+"):
            return real(file, mode, buffering, encoding, errors, newline, *rest, **more)
        assert "+" not in mode, "not modelled"
        raw = _Raw(os.open(file, _MODES[mode[0]] | os.O_WRONLY | os.O_CLOEXEC, 0o666))
        buffered = io.BufferedWriter(raw)
        return buffered if "b" in mode else io.TextIOWrapper(buffered, encoding, errors, newline)

    def _other(self, done: Any) -> Any:
        """What another program (git) changed is taken as synced: it syncs its own files."""
        real, known, now = tree_of(Path(self._top)), self._now.tree(), self._now.copy()
        calls: list[Any] = []

        def do(*each: Any) -> None:
            calls.extend(each)
            for call in each:
                now.do(call)

        def bind(path: str, number: int | None, folder: bool = False) -> None:
            above, _, name = path.rpartition("/")
            found = now.find(above)
            assert found is not None
            do(Bind(found, ((name, number),), folder), Sync(found))

        for path in sorted(known.keys() - real.keys(), reverse=True):
            bind(path, None)
        for path in sorted(real):
            data = real[path]
            if path not in known:
                bind(path, now.free(), data is None)
            number = now.find(path)
            if data is not None and number is not None and data != known.get(path):
                do(Cut(number, 0), Write(number, 0, data), Sync(number))
        if calls:
            self._note("other", "", Other(tuple(calls)))
        return done


class _Raw(io.RawIOBase):
    """A file that is written by `os.write` and closed by `os.close`."""

    def __init__(self, opened: int) -> None:
        self._opened = opened

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        return os.write(self._opened, bytes(data))

    def close(self) -> None:
        if not self.closed:
            super().close()
            os.close(self._opened)
