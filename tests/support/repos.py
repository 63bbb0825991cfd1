"""Real repositories made with the git command, with an identity and a clock of their own."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from books import GOOD, SETTINGS

from tankbook.ledger.begin import GITATTRIBUTES, GITIGNORE
from tankbook.records.log import LogLine, columns

HEADER = ",".join(columns(LogLine))
ALONE = {
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_TERMINAL_PROMPT": "0",
    "LC_ALL": "C",
}
"""No configuration but the repository's own."""
FIRST_DAY = "2026-02-10T09:00:00+01:00"
_QUICK = ("-c", "maintenance.auto=false", "-c", "core.fsync=none")
"""No commit begins another process to tidy up, and none waits for the disk."""


def line(at: str, cylinder: str = "RB-014", act: str = "fill", **cells: str) -> str:
    """A line of the fill log; a fill to 3000 psi of air by MV unless cells say otherwise."""
    usual = {"to": "3000 psi", "gas": "air", "by": "MV", "source": "B1"} if act == "fill" else {}
    said = {"at": at, "cylinder": cylinder, "act": act, **usual, **cells}
    assert set(said) <= set(columns(LogLine)), said
    return ",".join(said.get(name, "") for name in columns(LogLine))


class Repo:
    """A working copy."""

    def __init__(self, root: Path) -> None:
        self.root = root

    @classmethod
    def begin(cls, root: Path) -> Repo:
        """A new repository, nothing committed."""
        root.mkdir(parents=True, exist_ok=True)
        repo = cls(root)
        repo.git("init", "-q", "-b", "main")
        return repo

    def git(self, *arguments: str, by: str = "MV", at: str = FIRST_DAY, ok: bool = True) -> str:
        """What git prints; a refusal fails the test unless `ok` is false."""
        who = {
            f"GIT_{role}_{what}": said
            for role in ("AUTHOR", "COMMITTER")
            for what, said in (("NAME", by), ("EMAIL", f"{by.lower()}@shop.example"), ("DATE", at))
        }
        kept = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
        done = subprocess.run(
            ["git", *_QUICK, "-C", str(self.root), *arguments],
            env={**kept, **ALONE, **who},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0 or not ok, done.stdout + done.stderr
        return done.stdout

    def put(self, path: str, text: str) -> None:
        """Write a file whole."""
        (self.root / path).parent.mkdir(parents=True, exist_ok=True)
        (self.root / path).write_text(text, encoding="utf-8", newline="")

    def read(self, path: str) -> str:
        return (self.root / path).read_text(encoding="utf-8")

    def change(self, path: str, old: str, new: str) -> None:
        """Replace the one place where a file says `old`."""
        text = self.read(path)
        assert text.count(old) == 1, (path, old, text.count(old))
        self.put(path, text.replace(old, new))

    def log(self, *lines: str, year: str = "2026") -> None:
        """Add lines to the log of a year, with its header where it is new."""
        path = f"fills/{year}.csv"
        there = self.read(path) if (self.root / path).exists() else HEADER + "\n"
        there += "" if there.endswith("\n") else "\n"
        self.put(path, there + "".join(f"{each}\n" for each in lines))

    def commit(self, says: str = "change", *, at: str = FIRST_DAY, by: str = "MV") -> str:
        """Commit all there is; its full name."""
        self.git("add", "-A")
        self.git("commit", "-q", "--allow-empty", "-m", says, by=by, at=at)
        return self.head

    @property
    def head(self) -> str:
        """The full name of the commit that is checked out, read where git has just written it."""
        said = self.root / ".git/HEAD"
        if said.is_file():
            name = said.read_text().strip()
            branch = self.root / ".git" / name.removeprefix("ref: ")
            if branch.is_file():
                return branch.read_text().strip()
        return self.git("rev-parse", "HEAD").strip()

    def clone(self, folder: Path) -> Repo:
        """A clone beside it, on the same branch."""
        self.git("clone", "-q", str(self.root), str(folder))
        return Repo(folder)


def ledger(root: Path, **cylinders: str) -> Repo:
    """A repository with a small ledger committed on the first day; RB-014 unless others are given."""
    repo = Repo.begin(root)
    repo.put(".gitattributes", GITATTRIBUTES)
    repo.put(".gitignore", GITIGNORE)
    repo.put("tankbook.yaml", SETTINGS.lstrip())
    for id_, text in (cylinders or {"RB-014": GOOD}).items():
        repo.put(f"cylinders/{id_}.yaml", text.lstrip())
    repo.commit("Begin")
    return repo


HOSTILE = """
[core]
	pager = touch pwned
	quotePath = true
	attributesFile = {attributes}
	abbrev = 4
[color]
	ui = always
	diff = always
[pager]
	log = touch pwned
	show = touch pwned
[alias]
	log = !touch pwned
	cat-file = !touch pwned
	rev-parse = !touch pwned
[log]
	showSignature = true
	showRoot = false
	decorate = full
	date = relative
	follow = true
	mailmap = true
	diffMerges = off
	abbrevCommit = true
[diff]
	noprefix = true
	mnemonicPrefix = true
	external = touch pwned
	renames = copies
	context = 9
	interHunkContext = 9
	algorithm = patience
	orderFile = {order}
	relative = false
	wsErrorHighlight = all
	colorMoved = zebra
	submodule = log
	suppressBlankEmpty = true
[diff "csv"]
	textconv = touch pwned; echo
	command = touch pwned
	binary = true
[filter "csv"]
	clean = touch pwned; cat
	smudge = touch pwned; cat
	process = touch pwned
	required = true
[format]
	pretty = oneline
[i18n]
	logOutputEncoding = UTF-16
[gpg]
	program = touch pwned
[notes]
	displayRef = refs/notes/*
"""
"""Configuration that would run programs, hide differences, or print them otherwise."""


def make_hostile(repo: Repo) -> dict[str, str]:
    """Configure a repository against its reader; the environment that goes with it.

    Whatever it makes git run leaves a file called `pwned` behind.
    """
    attributes, order = repo.root.parent / "attributes", repo.root.parent / "order"
    attributes.write_text("*.csv diff=csv filter=csv\n*.yaml diff=csv filter=csv\n")
    order.write_text("*.csv\n")
    repo.put(".mailmap", "Somebody else <x@x> <mv@shop.example>\n")
    with (repo.root / ".git/config").open("a") as config:
        config.write(HOSTILE.format(attributes=attributes, order=order))
    return {
        "GIT_EXTERNAL_DIFF": "touch pwned",
        "GIT_PAGER": "touch pwned",
        "PAGER": "touch pwned",
        "GIT_DIFF_OPTS": "-u5",
        "GIT_ICASE_PATHSPECS": "1",
        "GIT_GLOB_PATHSPECS": "1",
    }
