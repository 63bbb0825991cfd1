"""Asking git, so that neither its configuration nor the environment has a say in the answer.

Git is only read here, never written. Nothing is run that a repository's configuration names: no
pager, no external diff, no text conversion, no signature program, no fetching of what is missing.
"""

from __future__ import annotations

import os
import stat
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from subprocess import Popen
from threading import Timer
from types import MappingProxyType
from typing import IO

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitconfig import refuse_waiting
from tankbook.ledger.names import ENDINGS
from tankbook.ledger.ordinary import ordinary

SECONDS = 120
"""How long a short question to git may take."""

# What tells git where its configuration lies stays, so that a repository trusted there is trusted
# here. All else (GIT_DIR in a hook, GIT_DIFF_OPTS, GIT_EXTERNAL_DIFF, ...) would steer the answer.
_KEPT = (
    "GIT_CONFIG_GLOBAL",
    "GIT_CONFIG_SYSTEM",
    "GIT_CONFIG_NOSYSTEM",
    "GIT_CONFIG_COUNT",
    "GIT_CONFIG_KEY_",
    "GIT_CONFIG_VALUE_",
    "GIT_CEILING_DIRECTORIES",
    "GIT_DISCOVERY_ACROSS_FILESYSTEM",
    "GIT_TEST_ASSUME_DIFFERENT_OWNER",
)
_SET = {
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_GRAFT_FILE": os.devnull,
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_ALLOW_PROTOCOL": "none",
    "LC_ALL": "C",
}
_PLAIN = (
    "--no-pager",
    "--no-optional-locks",
    "--literal-pathspecs",
    *("-c", "core.fsmonitor=false"),
    *("-c", "core.hooksPath=/dev/null"),
    *("-c", "core.quotePath=true"),
    *("-c", "log.showRoot=true"),
    *("-c", f"diff.orderFile={os.devnull}"),
    # what it keeps to be faster says who builds on whom, and nobody proves it
    *("-c", "core.commitGraph=false"),
    # what a fetch of missing objects would do beside it, were one not forbidden
    *("-c", "gc.auto=0"),
    *("-c", "maintenance.auto=false"),
    # a folder that only looks like a repository is none
    *("-c", "safe.bareRepository=explicit"),
)

DIFF = (
    "--no-color",
    "--no-ext-diff",
    "--no-textconv",
    "--no-renames",
    "--no-show-signature",
    "--no-notes",
    "--no-mailmap",
    "--no-decorate",
    "--no-abbrev-commit",
    "--no-abbrev",
    "--submodule=short",
    "--ignore-submodules=all",
    "--diff-algorithm=myers",
    "--diff-merges=separate",
    "--encoding=UTF-8",
)
"""Options of every `git log`, so that no configuration changes what it prints."""

_TRUST = "if you trust it, tell git with `git config --global --add safe.directory DIR`"
_BEGIN = "to keep it under git from now on: `git init`, `git add .`, `git commit`"
_PARTIAL = "this is a partial clone, and what was left out of it is needed"
_REFETCH = "fetch the rest: `git fetch --refetch --no-filter`; or clone it without `--filter`"
_CAUSES = (
    ("lazy fetching disabled", _PARTIAL, _REFETCH),
    ("from promisor remote", _PARTIAL, _REFETCH),
    ("dubious ownership", "another user owns this repository, so git will not open it", _TRUST),
    ("not a git repository", "the ledger is not in a git repository", _BEGIN),
    ("unknown revision", "nothing is committed yet", "commit the ledger first"),
)


class Repository(Struct, frozen=True):
    """The git repository a ledger lies in.

    `prefix` is the ledger's folder in it, with a slash at its end, or an empty text. A shallow
    clone holds only the latest part of the history.
    """

    root: Path
    prefix: str
    shallow: bool

    @classmethod
    def of(cls, root: Path) -> Repository:
        """The repository that a ledger lies in.

        Raises:
            LedgerError: there is no git or no repository, or git will not open it.
        """
        _refuse_objects(root)
        asked = "rev-parse --is-shallow-repository --show-prefix".split()
        shallow, _, prefix = ask_text(root, *asked).partition("\n")
        return cls(root, prefix, shallow == "true")

    def ask(self, *arguments: str) -> bytes:
        """What git prints. Raises `LedgerError` with its refusal in plain words."""
        return ask(self.root, *arguments)

    @contextmanager
    def stream(self, *arguments: str) -> Iterator[IO[bytes]]:
        """What git prints, as it comes. Git is stopped when the reader has had enough.

        Raises:
            LedgerError: git is absent, or broke off.
        """
        with started(self.root, *arguments) as process:
            assert process.stdout is not None
            yield process.stdout
            if not process.stdout.read(1) and process.wait():
                raise lacking(self.root, "git broke off")


def top_of(repository: Repository) -> tuple[str, ...]:
    """Arguments that have git start at the top of the repository."""
    depth = repository.prefix.count("/")
    return ("-C", "../" * depth) if depth else ()


NOTHING: Mapping[str, str] = MappingProxyType({})


@contextmanager
def started(
    root: Path,
    *arguments: str,
    stdin: int | None = None,
    variables: Mapping[str, str] = NOTHING,
    seconds: float | None = None,
) -> Iterator[Popen[bytes]]:
    """A running git, which is ended with the block, or after some seconds.

    Raises:
        LedgerError: there is no git.
    """
    refuse_pipes(root)
    try:
        process = Popen(
            _line(root, arguments),
            stdin=subprocess.DEVNULL if stdin is None else stdin,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment() | dict(variables),
        )
    except OSError as error:
        raise _absent(root) from error
    timer = Timer(seconds, process.kill) if seconds else None
    if timer:
        timer.daemon = True
        timer.start()
    try:
        yield process
    finally:
        if timer:
            timer.cancel()
        process.kill()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()
        process.wait()


def ask(
    root: Path, *arguments: str, seconds: int = SECONDS, variables: Mapping[str, str] = NOTHING
) -> bytes:
    """What git prints when asked in a ledger's folder, with some variables in its environment.

    Raises:
        LedgerError: git is absent, too slow, or refuses; or it would be made to wait.
    """
    refuse_pipes(root)
    try:
        done = subprocess.run(
            _line(root, arguments),
            capture_output=True,
            stdin=subprocess.DEVNULL,
            env=environment() | dict(variables),
            timeout=seconds,
            check=False,
        )
    except OSError as error:
        raise _absent(root) from error
    except subprocess.TimeoutExpired as error:
        raise LedgerError(str(root), f"git took longer than {seconds} s") from error
    if done.returncode:
        raise _refusal(root, done.stderr.decode(errors="replace"))
    return done.stdout


def ask_text(
    root: Path, *arguments: str, seconds: int = SECONDS, variables: Mapping[str, str] = NOTHING
) -> str:
    """As `ask`, as text without its line end."""
    printed = ask(root, *arguments, seconds=seconds, variables=variables)
    return printed.decode("utf-8", "surrogateescape").removesuffix("\n")


def lacking(where: str | Path, text: str) -> LedgerError:
    """That git does not give what it should have: what a partial clone was told to leave out is
    not fetched here, as little as anything else; else `text`."""
    promised = r"^(remote\..*\.promisor|extensions\.partialclone)$"
    try:
        ask(Path(where), "config", "--get-regexp", promised)
    except LedgerError:
        return LedgerError(str(where), text, "`git fsck` may tell why")
    return LedgerError(str(where), _PARTIAL, _REFETCH)


_OWN = (
    "HEAD config config.worktree index packed-refs shallow commondir ORIG_HEAD MERGE_HEAD "
    "info/exclude info/attributes info/grafts info/sparse-checkout objects/info/alternates "
    "logs/HEAD"
).split()
"""Files of git's own, in its folder."""
_SAID = (".gitignore", ".gitattributes", ".gitmodules", ".mailmap")
"""Files that tell git of a folder, in that folder."""


def refuse_pipes(root: Path) -> None:
    """See that git is not made to wait: it opens its own files, and those that its configuration
    includes, whatever they are.

    Raises:
        LedgerError: one of them is a pipe or a device.
    """
    _looked_at(root)


def _looked_at(root: Path) -> list[str]:
    """The folders of git's own that were looked at."""
    found: list[str] = []
    for each in ENDINGS:
        for name in _SAID[:2]:
            _refuse_pipe(f"{root}/{each}/{name}")
    here = Path(os.path.realpath(root))  # git looks upward from where it is, not by which way
    for folder in (here, *here.parents):
        for name in _SAID:
            _refuse_pipe(f"{folder}/{name}")
        inside = f"{folder}/.git"
        if os.path.lexists(inside):
            _refuse_pipe(inside)
            for own in _folders(inside):
                _refuse_in(own, str(folder))
                found.append(own)
            if all(map(os.path.exists, (f"{own}/objects", f"{own}/refs"))):
                break  # else git may go on upward
    return found


def _folders(inside: str) -> Iterator[str]:
    """Where git keeps what is its own: for a linked working copy two folders."""
    own = inside
    if not os.path.isdir(inside):  # noqa: PTH112 - a question asked thirty times
        led = small(inside).rstrip("\r\n").removeprefix("gitdir:").strip()
        own = os.path.join(os.path.dirname(inside), led)  # noqa: PTH118, PTH120
    yield own
    _refuse_pipe(f"{own}/commondir")
    common = small(f"{own}/commondir").strip()
    if common:
        yield os.path.join(own, common)  # noqa: PTH118


def small(file: str | Path) -> str:
    """The text of a small ordinary file of git's own, or nothing."""
    try:
        text = ordinary(file, "", _SMALL).decode("utf-8", "surrogateescape")
        return text.partition("\0")[0]  # as git reads it
    except (OSError, LedgerError):
        return ""


def _refuse_in(own: str, base: str) -> None:
    for name in _OWN:
        _refuse_pipe(f"{own}/{name}")
    for name in ("config", "config.worktree"):
        refuse_waiting(f"{own}/{name}", base)
    if own not in _SEEN:
        for folder in ("refs", "objects/pack"):
            _refuse_below(f"{own}/{folder}")
        _SEEN.add(own)


def _refuse_below(folder: str) -> None:
    """See that nothing in a folder, or in those within it, is a pipe or a device."""
    try:
        with os.scandir(folder) as entries:
            for each in entries:
                if each.is_dir(follow_symlinks=False):
                    _refuse_below(each.path)
                elif not each.is_file(follow_symlinks=False):
                    _refuse_pipe(each.path)
    except OSError:
        return


def _refuse_objects(root: Path) -> None:
    """As `refuse_pipes`, of every object: for who reads all of a history."""
    for own in _looked_at(root):
        _refuse_below(f"{own}/objects")


_SMALL = 1 << 16
"""Bytes of git's own small files that are read."""
_SEEN: set[str] = set()
"""Folders of git's whose refs and packs were looked at: once is enough."""


def _refuse_pipe(file: str) -> None:
    try:
        kind = stat.S_IFMT(os.stat(file).st_mode)  # noqa: PTH116 - thirty for every question
    except (OSError, ValueError):
        return
    if kind not in (stat.S_IFREG, stat.S_IFDIR):
        text = "it is no ordinary file, so git cannot be asked"
        raise LedgerError(ascii(file)[1:-1], text, "remove it")


def environment() -> dict[str, str]:
    """The environment git is run in."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith("GIT_") or k.startswith(_KEPT)}
    return kept | _SET


def overriding(settings: Mapping[str, str]) -> dict[str, str]:
    """Variables that set configuration for one question.

    `git -c NAME=VALUE` parts the two at the first `=`, which may stand in a name.
    """
    kept = environment()
    count = kept.get("GIT_CONFIG_COUNT", "")
    first = int(count) if count.isascii() and count.isdigit() else 0
    found = {"GIT_CONFIG_COUNT": str(first + len(settings))}
    for place, (name, value) in enumerate(settings.items(), first):
        found |= {f"GIT_CONFIG_KEY_{place}": name, f"GIT_CONFIG_VALUE_{place}": value}
    return found


def _line(root: Path, arguments: Sequence[str]) -> list[str]:
    return ["git", *_PLAIN, "-C", str(root), *arguments]


def _absent(root: Path) -> LedgerError:
    return LedgerError(str(root), "git is not installed, or cannot be run", "install git")


_ASIDE = ("hint: ", "warning: ")
"""What git says beside the reason of a refusal."""


def _refusal(root: Path, said: str) -> LedgerError:
    for words, text, mend in _CAUSES:
        if words in said:
            return LedgerError(str(root), text, mend)
    every = (line for line in said.splitlines() if line.strip())
    lines = [line.removeprefix("fatal: ") for line in every if not line.startswith(_ASIDE)]
    reason = lines[0] if lines else "it gives no reason"
    return LedgerError(str(root), f"git refuses: {ascii(reason)[1:-1]}")
