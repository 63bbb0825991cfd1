"""The programs that a commit would run because a repository names them.

A ledger that was handed on brings its hooks along. They run when somebody who may decide has looked
at them and said so once, in the configuration of their own that no copy of a repository brings.
"""

from __future__ import annotations

import os
import shlex
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitread import ask

ALLOWED = "tankbook.hooks"
"""The key, in a person's own configuration, that names the repositories whose programs may run."""

HOOKS = tuple(
    "pre-commit prepare-commit-msg commit-msg post-commit post-index-change "
    "reference-transaction".split()
)
"""Those that git runs while it makes a commit."""

_OF_REPOSITORY = {"local", "worktree"}
_SIGNERS = (".program", ".defaultkeycommand")


class _Setting(Struct, frozen=True):
    scope: str
    key: str
    value: str

    @property
    def of_repository(self) -> bool:
        return self.scope in _OF_REPOSITORY


class Programs(Struct, frozen=True):
    """What a commit in a repository would run, and whether somebody allowed it."""

    top: Path
    named: tuple[str, ...]
    allowed: bool

    @property
    def why_not(self) -> str:
        """Why no commit is made, or an empty text."""
        if self.allowed or not self.named:
            return ""
        return (
            f"committing would run {' and '.join(self.named)} of this repository; "
            f"look at it, and allow it once: `{self.how}`"
        )

    @property
    def how(self) -> str:
        """What allows it from now on."""
        return f"git config --global --add {ALLOWED} {shlex.quote(str(self.top))}"


def programs_of(root: Path) -> Programs:
    """What a commit would run.

    Raises:
        LedgerError: git cannot be asked.
    """
    top = Path(os.fsdecode(ask(root, "rev-parse", "--show-toplevel").removesuffix(b"\n")))
    settings = list(_settings(root))
    mine = [s.value for s in settings if s.key == ALLOWED and not s.of_repository]
    named = (*_hooks(root, settings), *_filters(settings), *_signers(settings), *_fetches(settings))
    real = os.path.realpath(top)
    allowed = any(each == "*" or os.path.realpath(Path(each).expanduser()) == real for each in mine)
    return Programs(top, named, allowed)


def allow(root: Path, programs: Programs) -> None:
    """Note, in the configuration of whoever asks, that a repository's programs may run.

    Raises:
        LedgerError: git refuses.
    """
    ask(root, "config", "--global", "--add", ALLOWED, str(programs.top))


def _settings(root: Path) -> Iterator[_Setting]:
    parts = os.fsdecode(ask(root, "config", "--null", "--show-scope", "--list")).split("\0")
    for scope, said in zip(parts[::2], parts[1::2], strict=False):
        key, _, value = said.partition("\n")
        yield _Setting(scope, key, value)


def _hooks(root: Path, settings: Sequence[_Setting]) -> Iterator[str]:
    """The hooks there are, unless whoever commits keeps their own in one place."""
    # what is said on git's own line is ours, to keep hooks from running while we ask
    said = [s for s in settings if s.key == "core.hookspath" and s.scope != "command"]
    if said and not said[-1].of_repository and Path(said[-1].value).expanduser().is_absolute():
        return
    if said:  # where git looks for them: from the top of the working copy
        top = os.fsdecode(ask(root, "rev-parse", "--show-toplevel").removesuffix(b"\n"))
        folder = Path(top, os.path.expanduser(said[-1].value))  # noqa: PTH111 - git's own `~`
    else:
        common = os.fsdecode(ask(root, "rev-parse", "--git-common-dir").removesuffix(b"\n"))
        folder = root / common / "hooks"
    for name in HOOKS:
        for file in (folder / name, folder / f"{name}.exe"):
            if file.exists() and os.access(file, os.X_OK):
                yield f"the {name} hook ({file})"
                break


def _filters(settings: Sequence[_Setting]) -> Iterator[str]:
    """The filters of the repository.

    Whatever a commit is of, git reads every file again that looks changed to it, in a copied
    repository each, and any of them may go through one.
    """
    own: dict[str, str] = {}
    for each in settings:
        section, _, rest = each.key.partition(".")
        name, _, key = rest.rpartition(".")
        if (
            section == "filter"
            and key in {"clean", "process"}
            and each.of_repository
            and each.value
        ):
            own[name] = each.value
    for name, program in own.items():
        yield f"the filter {name} ({program})"


def _signers(settings: Sequence[_Setting]) -> Iterator[str]:
    """The programs of the repository that would sign."""
    signs = [s.value for s in settings if s.key == "commit.gpgsign"]
    if not signs or signs[-1].casefold() in {"false", "no", "off", "0"}:
        return
    for each in settings:
        if each.key.startswith("gpg.") and each.key.endswith(_SIGNERS) and each.of_repository:
            yield f"the program that signs ({each.value})"


def _fetches(settings: Sequence[_Setting]) -> Iterator[str]:
    """What a partial clone lacks is fetched when it is missed, by a program that it names."""
    for each in settings:
        partial = each.key == "extensions.partialclone" or (
            each.key.startswith("remote.") and each.key.endswith(".promisor")
        )
        if partial and each.of_repository:
            yield "whatever fetches what this partial clone lacks"
            return


def refusal_of(root: Path) -> str:
    """Why a commit is left because of what it would run, or an empty text."""
    try:
        return programs_of(root).why_not
    except LedgerError as error:
        return f"{error.text}; {error.mend}" if error.mend else error.text
