"""One git commit of the files an act touched, and of nothing else.

Hooks and signing work as the repository has them, once somebody allowed it; whatever else its
configuration or the environment says must not change what is committed or how the message reads.

What stands in the way of a commit is told with how to mend it, and the act is recorded anyway.
What was left so is known again (`ledger/left.py`) and committed before the next act.

A ledger that was handed on brings its hooks along. They run when somebody who may decide has looked
at them and said so once, in the configuration of their own that no copy of a repository brings.
"""

from __future__ import annotations

import os
import shlex
import subprocess
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from tankbook.ledger import left
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitread import ask, ask_text, refuse_pipes
from tankbook.records.edits import Act
from tankbook.units.patterns import pattern

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
    top = Path(ask_text(root, "rev-parse", "--show-toplevel"))
    settings = list(_settings(root))
    mine = [s.value for s in settings if s.key == ALLOWED and not s.of_repository]
    hooks = _hooks_run(root, top, settings)
    named = (*hooks, *_filters(settings), *_signers(settings), *_fetches(settings))
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
    parts = ask_text(root, "config", "--null", "--show-scope", "--list").split("\0")
    for scope, line in zip(parts[::2], parts[1::2], strict=False):
        key, _, value = line.partition("\n")
        yield _Setting(scope, key, value)


def _hooks_run(root: Path, top: Path, settings: Sequence[_Setting]) -> Iterator[str]:
    """The hooks there are, unless whoever commits keeps their own in one place."""
    # what is said on git's own line is ours, to keep hooks from running while we ask
    where = [s for s in settings if s.key == "core.hookspath" and s.scope != "command"]
    if where and not where[-1].of_repository and Path(where[-1].value).expanduser().is_absolute():
        return
    if where:  # where git looks for them: from the top of the working copy
        folder = Path(top, os.path.expanduser(where[-1].value))  # noqa: PTH111 - git's own `~`
    else:
        folder = root / ask_text(root, "rev-parse", "--git-common-dir") / "hooks"
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


SECONDS = 120
"""How long git may take: hooks run, and a signature may ask for a passphrase."""

NOT_A_REPOSITORY = "the ledger is not in a git repository"
NO_GIT = "git is not installed, or does not answer"

# Set by git itself while a hook runs: they would point git away from the ledger's own repository.
_POINTERS = (
    "GIT_DIR",
    "GIT_WORK_TREE",
    "GIT_INDEX_FILE",
    "GIT_PREFIX",
    "GIT_COMMON_DIR",
    "GIT_OBJECT_DIRECTORY",
    "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    "GIT_SHALLOW_FILE",
    "GIT_GRAFT_FILE",
    "GIT_REPLACE_REF_BASE",
    "GIT_NAMESPACE",
    "GIT_CONFIG_PARAMETERS",
    "GIT_GLOB_PATHSPECS",
    "GIT_NOGLOB_PATHSPECS",
    "GIT_ICASE_PATHSPECS",
)
_PLAIN = (
    "--no-pager",
    "--literal-pathspecs",
    *("-c", "core.quotePath=false"),
    *("-c", "color.ui=false"),
    *("-c", "i18n.commitEncoding=UTF-8"),
    *("-c", "commit.verbose=false"),
    *("-c", "core.fsmonitor=false"),
    *("-c", f"diff.orderFile={os.devnull}"),
    *("-c", "gc.auto=0"),
    *("-c", "maintenance.auto=false"),
    # By itself git leaves it to chance whether a commit outlives a power cut; an act does not.
    *("-c", "core.fsync=all"),
)

_REBASE = "a rebase is under way (`git rebase --abort` would throw this act away)"
_UNFINISHED = {
    "MERGE_HEAD": "a merge is under way",
    "CHERRY_PICK_HEAD": "a cherry-pick is under way",
    "REVERT_HEAD": "a revert is under way",
    "rebase-merge": _REBASE,
    "rebase-apply": _REBASE,
    "BISECT_LOG": "a bisection is under way",
}


class Failed(Struct, frozen=True):
    """A commit that was not made."""

    why: str


def message(act: Act) -> str:
    """What the commit says: the act's sentence, its notes left out, and trailers to search by."""
    trailers = [f"Cylinder: {each}" for each in act.subjects]
    return "\n".join([act.sentence, "", *trailers, f"Act: {act.verb}", ""])


def hindrance(root: Path, paths: Sequence[str]) -> str:
    """Why the ledger can be written but not committed now, or an empty text.

    Raises:
        LedgerError: a file holds changes that were never committed and that no act made; one commit
            of exactly this act cannot be made.
    """
    why = in_the_way(root)
    if why:
        return why
    dirty = _dirty(root, paths)
    if isinstance(dirty, Failed):
        return dirty.why
    known = left.chains(root) if dirty else {}
    for path, state in dirty.items():
        if "?" not in state and " " not in state:  # as staged it is neither committed nor here
            raise _refusal(path, "staged changes")
        if _acts_of(root, path, known) is None:
            raise _refusal(path, "staged changes" if state[0] not in " ?" else "changes by hand")
    return ""


def _refusal(path: str, what: str) -> LedgerError:
    mend = "nothing was written; commit them first, or record with --no-commit"
    return LedgerError(path, f"it holds {what} that are not committed", mend)


def in_the_way(root: Path) -> str:
    """What keeps this repository from being committed to, whatever its files hold."""
    try:
        refuse_pipes(root)
    except LedgerError as error:
        return f"{error}"
    top = _run(root, "rev-parse", "--show-toplevel")
    if isinstance(top, Failed):
        return NOT_A_REPOSITORY if "not a git repository" in top.why else top.why
    if not root.resolve().is_relative_to(Path(top).resolve()):
        return (
            "git takes another folder for the working copy of this repository; let it take this"
            " one: `git config --unset core.worktree`"
        )
    if why := underway(root):
        return why
    if isinstance(_run(root, "symbolic-ref", "--quiet", "HEAD"), Failed):
        return (
            "no branch is checked out, so a commit would be lost from sight; go to yours: "
            f"{_to_branch(root)}"
        )
    if isinstance(_run(root, "rev-parse", "--verify", "--quiet", "HEAD^{commit}"), Failed):
        return (
            "nothing is committed on this branch yet; begin with the whole ledger, this act in it: "
            '`git add .` and `git commit -m "Begin the ledger"`'
        )
    return refusal_of(root)


def _to_branch(root: Path) -> str:
    """How to go to the branch of this repository, where it has one; else to which of several."""
    listed = _run(root, "for-each-ref", "--format=%(refname:short)", "refs/heads")
    names = [] if isinstance(listed, Failed) else listed.split()
    if len(names) == 1:
        return f"`git switch {names[0]}`"
    return f"`git switch BRANCH`{', of ' + ', '.join(names) if names else ''}"


def _dirty(root: Path, paths: Sequence[str]) -> dict[str, str] | Failed:
    """The two letters of `git status` for those of some files that differ from the last commit."""
    how = ("--porcelain=v1", "-z", "--no-renames", "--untracked-files=all", "--ignored=no")
    listed = _run(root, "status", *how, "--ignore-submodules=all", "--", *paths)
    if isinstance(listed, Failed):
        return listed
    inside = _prefix(root) if listed else ""
    return {e[3:].removeprefix(inside): e[:2] for e in listed.split("\0") if e}


def _acts_of(root: Path, path: str, known: dict[str, left.Chain]) -> tuple[Act, ...] | None:
    """The acts that made a file what it is since the last commit; None where a hand had part."""
    chain = known.get(path)
    try:
        data = (root / path).read_bytes() if (root / path).is_file() else None
    except OSError:
        return None
    chain = chain.until(left.digest_of(data)) if chain else None
    return chain.since(_committed(root, path)) if chain else None


def _committed(root: Path, path: str) -> bytes | None:
    """A file as the last commit has it; None where it has none."""
    try:
        return ask(root, "cat-file", "blob", f"HEAD:./{path}")
    except LedgerError:
        return None


def commit_left(root: Path) -> str:
    """Commit the acts that were recorded and not committed, and no changes by hand.

    Returns why that cannot be done, or an empty text; also where nothing was left.
    """
    known = left.chains(root)
    paths = [path for path in known if _is_plain(path)]
    if not paths:
        return ""
    if why := refusal_of(root):  # before git looks at any file
        return why
    dirty = _dirty(root, paths)
    if isinstance(dirty, Failed):
        return dirty.why
    left.forget(root, set(paths) - dirty.keys())
    mine: dict[str, tuple[Act, ...]] = {}
    for path, state in dirty.items():
        acts = _acts_of(root, path, known) if "?" in state or " " in state else None
        if acts:
            mine[path] = acts
    if not mine:
        return ""
    every = left.together(each for acts in mine.values() for each in acts)
    made = commit(root, tuple(mine), message(every))
    if isinstance(made, Failed):
        return made.why
    left.forget(root, mine)
    return ""


def _is_plain(path: str) -> bool:
    """Whether a path that was noted is one of a ledger's files."""
    return path.isprintable() and not path.startswith(("/", "-")) and ".." not in path.split("/")


def underway(root: Path) -> str:
    """What git is in the middle of, so that nothing is committed now; or an empty text."""
    for name, why in _UNFINISHED.items():
        found = _run(root, "rev-parse", "--git-path", name)
        if isinstance(found, str) and (root / found).exists():
            return f"{why}; finish it, and commit this with it"
    return ""


def commit(root: Path, paths: Sequence[str], text: str) -> str | Failed:
    """Commit these files as they are now, and only them; the full name of the commit.

    What else is staged stays staged. When git refuses, the index is as it was.
    """
    known = _run(root, "ls-files", "-z", "--", *paths)
    if isinstance(known, Failed):
        return known
    tracked = set(known.split("\0"))
    new = [path for path in paths if path not in tracked]
    if new:
        added = _run(root, "add", "--intent-to-add", "--", *new)
        if isinstance(added, Failed):
            return added
    made = _run(
        root, "commit", "--quiet", "--only", "--cleanup=verbatim", "--file=-", "--", *paths,
        stdin=text,
    )  # fmt: skip
    if isinstance(made, Failed):
        if new:
            _run(root, "rm", "--cached", "--quiet", "--force", "--", *new)
        return made
    return _run(root, "rev-parse", "HEAD")


def new_repository(root: Path) -> str | Failed:
    """Make the folder of a ledger a git repository, of no commit yet."""
    return _run(root, "init", "--quiet")


def is_known(root: Path) -> bool | Failed:
    """Whether git knows who commits in a folder that is there; failed where git does not answer."""
    said = _run(root, "var", "GIT_COMMITTER_IDENT")
    if isinstance(said, Failed):
        return said if said.why == NO_GIT else False
    return not isinstance(_run(root, "var", "GIT_AUTHOR_IDENT"), Failed)


def _run(root: Path, *arguments: str, stdin: str = "") -> str | Failed:
    """What git prints, without its line end, or why it would not."""
    environment = {k: v for k, v in os.environ.items() if k not in _POINTERS}
    environment |= {
        "GIT_TERMINAL_PROMPT": "0",
        "GIT_NO_LAZY_FETCH": "1",  # newer versions of git know it
        "LC_ALL": "C",
    }
    try:
        done = subprocess.run(
            ["git", *_PLAIN, "-C", str(root), *arguments],
            input=stdin.encode(),
            capture_output=True,
            env=environment,
            timeout=SECONDS,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return Failed(NO_GIT)
    if done.returncode != 0:
        return Failed(_why(root, done.stderr.decode(errors="replace"), done.stdout))
    return done.stdout.decode("utf-8", "surrogateescape").removesuffix("\n")


def _prefix(root: Path) -> str:
    """The ledger's folder in its repository, with a slash at its end."""
    found = _run(root, "rev-parse", "--show-prefix")
    return found if isinstance(found, str) else ""


_LOCKED = pattern(r"Unable to create '([^'\n]*\.lock)': File exists")
_IGNORED = pattern(r"paths are ignored by one of your \.gitignore files:\n([^\n]+)")
_WHO = (
    "git does not know who commits; `git config user.name XX` and "
    "`git config user.email xx@shop.invalid` tell it"
)
_CAUSES = (
    ("tell me who you are", _WHO),
    ("no email was given", _WHO),
    ("no name was given", _WHO),
    ("empty ident name", _WHO),
    ("unable to auto-detect email address", _WHO),
    (
        "dubious ownership",
        "another user owns this repository, so git will not open it; if you trust it: "
        "`git config --global --add safe.directory DIR`",
    ),
    ("insufficient permission", "git may not write in its own folder; give yourself the right"),
    ("Permission denied", "git may not write in its own folder; give yourself the right"),
    ("No space left on device", "the disk is full; free some space"),
    (
        "failed to sign the data",
        "the signature was not made; mend that, or leave it: `git config commit.gpgSign false`",
    ),
)
"""What git says, and what it means with how to mend it."""


def _why(root: Path, said: str, printed: bytes) -> str:
    """Why git refuses, in one line with how to mend it."""
    locked = _LOCKED.search(said)
    if locked:
        return _locked(root, locked[1])
    ignored = _IGNORED.search(said)
    if ignored:
        inside = _prefix(root)
        path = ignored[1].removeprefix(inside) or "."
        path = "." if f"{path}/" == inside else path
        return (
            f"git is told to ignore {path}; take that out of `.gitignore` "
            f"(`git check-ignore -v {path}` names the line) and commit it"
        )
    for words, why in _CAUSES:
        if words in said:
            return why
    brief = _briefly(said, printed.decode(errors="replace"))
    if "fatal: " not in said and "error: " not in said and (hooks := _hooks(root)):
        return f"the {' or '.join(hooks)} hook refuses: {brief}"
    return f"git refuses: {brief}"


def _locked(root: Path, file: str) -> str:
    try:
        seconds = max(int(time.time() - (root / file).stat().st_mtime), 0)
    except OSError:
        return "git was at work here just now"
    age = f"{seconds} s" if seconds < 120 else f"{seconds // 60} min"
    age = age if seconds < 7200 else f"{seconds // 3600} h"
    name = Path(file).name
    return f"git's {name} is there for {age}; if no git is at work here, delete {file}"


def _hooks(root: Path) -> list[str]:
    """The hooks there are that can refuse a commit."""
    found = _run(root, "rev-parse", "--git-path", "hooks")
    if isinstance(found, Failed):
        return []
    return [name for name in HOOKS[:3] if os.access(root / found / name, os.X_OK)]


def _briefly(*streams: str) -> str:
    """The line of git's words that says most."""
    said = (line.strip() for stream in streams for line in stream.splitlines())
    lines = list(filter(None, said))
    for start in ("fatal: ", "error: "):
        for line in lines:
            if line.startswith(start):
                return line.removeprefix(start)
    return lines[0] if lines else "it gives no reason"
