"""A ledger whose repository was made to run programs: nothing is run by any command that reads.

Every kind of program leaves a canary of its own behind when it runs.
"""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from lines import READING, leaves
from repos import Repo

from tankbook.cli.app import command

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the canaries are scripts of a shell")

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")

HOOKS = (
    "pre-commit prepare-commit-msg commit-msg post-commit post-checkout post-merge pre-auto-gc "
    "post-index-change reference-transaction fsmonitor-watchman pre-push post-rewrite update"
).split()


def test_every_command_that_only_reads_is_tried() -> None:
    known = dict(leaves(command()))
    reading = {n for n, has in known.items() if "--dry-run" not in has}
    reading -= {"init", "commands", "explain", "schema", "completion"}
    assert reading | {"recall", "tags", ""} == set(READING)  # these two only with an option


class Canaries:
    """Programs that leave a file of their own name behind."""

    def __init__(self, folder: Path) -> None:
        self.sung, self.programs = folder / "sung", folder / "programs"
        self.sung.mkdir()
        self.programs.mkdir()

    def program(self, name: str, folder: Path | None = None) -> Path:
        """A script that sings, then passes on what it was given."""
        file = (folder or self.programs) / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(f"#!/bin/sh\ntouch '{self.sung}/{name}'\nexec cat\n")
        file.chmod(file.stat().st_mode | stat.S_IXUSR)
        return file

    def heard(self) -> list[str]:
        return sorted(each.name for each in self.sung.iterdir())


CONFIG = """
[core]
	fsmonitor = {fsmonitor}
	hooksPath = {hooks}
	pager = {pager}
	sshCommand = {ssh}
	editor = {editor}
	askPass = {askpass}
	alternateRefsCommand = {alternate}
	gitProxy = {proxy}
	attributesFile = {attributes}
[credential]
	helper = {credential}
[gpg]
	program = {gpg}
[gpg "ssh"]
	program = {gpgssh}
	defaultKeyCommand = {key}
[log]
	showSignature = true
[diff]
	external = {external}
	tool = evil
[diff "a=b"]
	textconv = {textconv}
	command = {command}
	cachetextconv = true
[merge "union"]
	driver = {merge}
[filter "a=b"]
	clean = {clean}
	smudge = {smudge}
	required = true
[filter "c.d=e ]"]
	process = {process}
	clean = {clean2}
[pager]
	log = {pagerlog}
	status = true
	diff = {pagerdiff}
[alias]
	status = !{alias}
	log = !{alias}
	cat-file = !{alias}
[include]
	path = included
[includeIf "gitdir:**"]
	path = included-if
[interactive]
	diffFilter = {interactive}
[sequence]
	editor = {sequence}
[web]
	browser = {browser}
[trailer "Act"]
	command = {trailer}
[uploadpack]
	packObjectsHook = {pack}
[remote "origin"]
	url = ext::{remote}
	vcs = evil
	uploadpack = {uploadpack}
	promisor = true
	partialclonefilter = blob:none
[protocol]
	allow = always
[submodule]
	recurse = true
[diff]
	submodule = log
	ignoreSubmodules = none
[status]
	submoduleSummary = true
"""
NAMES = sorted({part.partition("}")[0] for part in CONFIG.split("{")[1:]})

ENVIRONMENT = {
    "GIT_EXTERNAL_DIFF": "env-external",
    "GIT_PAGER": "env-pager",
    "PAGER": "env-pager",
    "GIT_SSH_COMMAND": "env-ssh",
    "GIT_ASKPASS": "env-askpass",
    "GIT_EDITOR": "env-editor",
    "GIT_PROXY_COMMAND": "env-proxy",
}


def git(root: Path, *arguments: str) -> None:
    Repo(root).git("-c", "core.hooksPath=/dev/null", *arguments, at="2026-11-25T12:00:00+01:00")


@pytest.fixture(name="canaries")
def _canaries(tmp_path: Path) -> Canaries:
    (tmp_path / "cage").mkdir()
    return Canaries(tmp_path / "cage")


@pytest.fixture(name="hostile")
def _hostile(ledger: Path, canaries: Canaries, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ledger in a repository that names a program wherever git would take one."""
    (ledger / "contacts.csv").write_text("reference,name,phone\nB-4471,Ann Example,555 0100\n")
    (ledger / ".gitignore").write_text("contacts.csv\n")
    git(ledger, "init", "-q", "-b", "main")
    git(ledger, "add", ".")
    nested = ledger / "within"
    nested.mkdir()
    git(nested, "init", "-q")
    (nested / "file").write_text("x\n")
    (nested / ".gitattributes").write_text("* filter=nested\n")
    git(nested, "add", ".")
    git(nested, "commit", "-q", "-m", "Within")
    git(ledger, "add", "within")
    git(ledger, "commit", "-q", "-m", "Begin")
    (ledger / "fills/2026.csv").write_text((ledger / "fills/2026.csv").read_text() + "\n")
    git(ledger, "commit", "-q", "-a", "-m", "More")

    programs = {name: str(canaries.program(name)) for name in NAMES}
    inside = ledger / ".git"
    attributes = canaries.programs / "attributes.txt"
    attributes.write_text("* filter=c.d=e diff=a=b\n")
    programs |= {"attributes": str(attributes), "hooks": str(inside / "evil-hooks")}
    (inside / "config").write_text((inside / "config").read_text() + CONFIG.format(**programs))
    for name in HOOKS:
        canaries.program(name, inside / "evil-hooks")
        canaries.program(f"{name}", inside / "hooks")
    for name in ("included", "included-if"):
        filters = f'[filter "{name}"]\n\tclean = {canaries.program(name)}\n'
        (inside / name).write_text(f"{filters}[core]\n\tfsmonitor = {canaries.program(name)}\n")
    with (nested / ".git/config").open("a") as config:
        evil = canaries.program("nested")
        config.write(f'[filter "nested"]\n\tclean = {evil}\n[core]\n\tfsmonitor = {evil}\n')
    (ledger / ".gitattributes").write_text(
        "* filter=a=b diff=a=b\n*.csv filter=included\nsets/* filter=included-if\n"
        "station.yaml filter=from-env\n"
    )
    (inside / "info").mkdir(exist_ok=True)
    (inside / "info/attributes").write_text("cylinders/* filter=a=b diff=a=b merge=union\n")
    for each in (*ledger.glob("*/*.yaml"), *ledger.glob("*.yaml"), nested / "file"):
        os.utime(each, (1, 1))  # so that git reads it again

    for name, program in ENVIRONMENT.items():
        monkeypatch.setenv(name, str(canaries.program(program)))
    for name in ("git-status", "git-log", "git-remote-evil", "git-remote-ext"):
        canaries.program(name, canaries.programs / "exec")
    monkeypatch.setenv("GIT_EXEC_PATH", str(canaries.programs / "exec"))
    monkeypatch.setenv("GIT_CONFIG_PARAMETERS", f"'core.fsmonitor={canaries.program('params')}'")
    monkeypatch.setenv("GIT_TRACE", str(canaries.sung / "trace"))
    monkeypatch.setenv("GIT_TRACE2_EVENT", str(canaries.sung / "trace2"))
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_COUNT", "2")
    monkeypatch.setenv("GIT_CONFIG_KEY_0", "filter.from-env.clean")
    monkeypatch.setenv("GIT_CONFIG_VALUE_0", str(canaries.program("from-env")))
    monkeypatch.setenv("GIT_CONFIG_KEY_1", "core.fsmonitor")
    monkeypatch.setenv("GIT_CONFIG_VALUE_1", str(canaries.program("from-env")))
    return ledger


@pytest.mark.parametrize(("copied", "json"), [(False, ()), (True, ("--json",))])
def test_reading_runs_no_program(
    hostile: Path, canaries: Canaries, tb: Run, tmp_path: Path, copied: bool, json: tuple[str, ...]
) -> None:
    root = hostile
    if copied:
        root = tmp_path / "copy"
        shutil.copytree(hostile, root)
    codes = {}
    for name, line in READING.items():
        where = ("--ledger", root, *ON) if name != "audit" else ("--ledger", root)
        codes[name] = tb(*where, *json, *name.split(), *line).code
    assert 3 not in codes.values(), codes
    for name in ("", "show", "may-fill", "history"):
        tb("--ledger", root, "--as-of", "main", *filter(None, (name,)), *READING[name])
    assert canaries.heard() == []


def test_recording_runs_no_program_that_nobody_allowed(
    hostile: Path, canaries: Canaries, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("GIT_TRACE", "GIT_TRACE2_EVENT"):  # what a person asks of git for themselves
        monkeypatch.delenv(name)
    hold = ("hold", "RB-014", "--why", "dent", "--by", "MV", "--on", "2026-11-25", "--commit")
    ran = tb("--ledger", hostile, *hold)
    assert ran.code == 0, ran
    assert "NOT committed: committing would run the pre-commit hook (" in " ".join(ran.out.split())
    assert "dent" in (hostile / "cylinders/RB-014.yaml").read_text()
    tb("--ledger", hostile, "tidy", "--commit")
    assert canaries.heard() == []


def test_the_canaries_do_sing(
    hostile: Path, canaries: Canaries, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is kept from running above runs when git is asked plainly."""
    for name in ("GIT_TRACE", "GIT_TRACE2_EVENT", "GIT_EXEC_PATH", "GIT_CONFIG_PARAMETERS"):
        monkeypatch.delenv(name)
    repo = Repo(hostile)
    repo.git("status", ok=False)
    repo.git("add", "--renormalize", ".", ok=False)
    repo.git("log", "-p", "--textconv", ok=False)
    repo.git("diff", ok=False)
    repo.git("-c", "core.fsmonitor=false", "status", "--ignore-submodules=none", ok=False)
    repo.git("-c", "filter.a=b.required=false", "commit", "-q", "-m", "x", ok=False)
    heard = set(canaries.heard())
    assert heard >= {"clean", "textconv", "included", "nested", "pre-commit"}, heard


@pytest.mark.parametrize(
    "redirected", ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_COMMON_DIR"]
)
def test_the_environment_leads_to_no_other_repository(
    hostile: Path, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, redirected: str
) -> None:
    before = tb("--ledger", hostile, *ON, "--json").json["uncommitted"]
    monkeypatch.setenv(redirected, str(tmp_path / "elsewhere"))
    assert tb("--ledger", hostile, *ON, "--json").json["uncommitted"] == before
    assert before
