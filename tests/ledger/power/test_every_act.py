"""Each kind of act: a dry run writes nothing and says the same, as JSON; the history of what it
touched tells of it, and no audit takes it for tampering."""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import Any

import pytest
from by_schema import checked, taught
from deeds import KINDS, TODAY, begin, in_git, run, timeless
from repos import Repo

from tankbook.ledger.begin import GITATTRIBUTES, GITIGNORE

BY_HAND = {
    "init": "there is no ledger before it",
    "inspect kept": "its steps are asked for at a terminal",
    "pending --finish": "it ends another act",
    "pending --drop": "it ends another act",
    "audit": "a checkpoint is what the audit itself says",
}
"""What is tried elsewhere, and why."""
LOOSENS = {"station no-period"}
"""What takes an obligation away, which an audit is there to tell, though it was done openly."""
WITHOUT_LIFE = {"counter.yaml", "audited.yaml"}
"""Files whose entries are told in the life of a cylinder, once one has that serial."""


def files_of(root: Path) -> dict[str, bytes]:
    paths = (p for p in root.rglob("*") if p.is_file() and p.parts[len(root.parts)] != ".git")
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in paths}


def told(root: Path, name: str, *more: str) -> list[Any]:
    """What the life of a cylinder, a set or the station tells, events and lines of the log."""
    code, out, err = run(root, "history", name, "--fills", "--json", *more)
    if name == "station":
        code, out, err = run(root, "history", name, "--json", *more)
    assert code == 0, err
    life = json.loads(out)
    # by which commit it was recorded is no news of what happened
    events = [{k: v for k, v in each.items() if k != "commit"} for each in life["events"]]
    return [*events, *(life["lines"] or ())]


def names_of(path: str, before: bytes, after: bytes) -> set[str]:
    """What a file that an act changed is about."""
    if path == "station.yaml":
        return {"station"}
    if path.startswith("fills/"):
        new = set(after.decode().splitlines()) - set(before.decode().splitlines())
        return {line.split(",")[1] for line in new if not line.startswith("at,")}
    return {Path(path).stem}


def begun(name: str, top: Path) -> tuple[Path, Repo, list[str]]:
    """A ledger committed to git, ready for an act, and the act's words."""
    root, kind = top / "quay", KINDS[name]
    root.mkdir()
    begin(root, kind.cards)
    if kind.ready is not None:
        kind.ready(root)
    (root / ".gitignore").write_text(GITIGNORE)
    (root / ".gitattributes").write_text(GITATTRIBUTES)
    repo = Repo.begin(root)
    for key, said in (("user.name", "MV"), ("user.email", "mv@shop.invalid")):
        repo.git("config", key, said)
    repo.commit("Begin", at=f"{TODAY}T00:00:01+00:00")
    return root, repo, [w.replace("ROOT", str(root)) for w in shlex.split(kind.line)]


def test_what_is_left_out_is_known() -> None:
    assert set(BY_HAND) | LOOSENS <= set(KINDS)


@pytest.mark.parametrize("name", [n for n in KINDS if n not in BY_HAND])
def test_an_act_is_shown_before_it_is_done_and_told_after(name: str, top: Path) -> None:
    root, repo, words = begun(name, top)
    before = files_of(root)
    code, out, err = run(root, *words, "--dry-run", "--json")
    assert (code, err) == (0, "")
    assert files_of(root) == before
    dry = timeless(out)
    files = [p for p in dry.get("files", ()) if p in before]
    named = {Path(p).stem for p in files} | {*KINDS[name].cards}
    known = {Path(p).stem for p in before if p.startswith(("cylinders/", "sets/"))}
    lives = {each: told(root, each) for each in named & {*known, "station"}}

    code, out, err = run(root, *words, "--json", "--commit")
    assert (code, err) == (0, "")
    real = timeless(out)
    differ = {k for k in dry | real if k not in dry or k not in real or dry[k] != real[k]}
    assert differ <= {"recorded", "dry_run", "commit", "diff"}
    after = files_of(root)
    changed = [p for p in after if after[p] != before.get(p) and not p.startswith(".tankbook")]
    assert changed
    assert repo.git("status", "--porcelain") == ""
    for path in changed:
        if path in WITHOUT_LIFE or name == "tidy":
            continue
        for each in names_of(path, before.get(path, b""), after[path]):
            assert told(root, each) != lives.get(each), f"{path}: nothing is told of it"

    code, out, _ = run(root, "audit", "--late", "100000", "--json")
    signs = {sign["sign"] for sign in json.loads(out)["signs"]}
    assert signs == ({"settings-loosened"} if name in LOOSENS else set())
    assert code == bool(signs)


@pytest.mark.parametrize("kind", [k for k in KINDS if k != "init"])
def test_an_act_keeps_the_first_line_and_what_it_writes_passes_its_schema(
    kind: str, top: Path
) -> None:
    """That of an editor, in files that were there and in files that the act makes."""
    deed, root = KINDS[kind], top / "quay"
    begin(root, deed.cards)
    taught(root)
    before = checked(root)
    if deed.ready:
        deed.ready(root)
    there = {p: p.read_text(encoding="utf-8") for p in root.rglob("*.yaml")}
    code, out, err = deed.do(root)
    assert code == 0, (out, err)
    for path, text in there.items():
        assert path.read_text(encoding="utf-8").startswith(text.partition("\n")[0]), path
    if deed.ready is not in_git:  # which writes the settings anew
        assert checked(root) >= before
