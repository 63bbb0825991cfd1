"""An act that was recorded and that neither the folder nor git holds any more is told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import Repo

ON = "2026-11-25"
CARD = "cylinders/RB-014.yaml"


@pytest.fixture(name="repo")
def _repo(ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """The ledger under git, with an identity."""
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "gitconfig"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    (tmp_path / "gitconfig").write_text("[user]\nname = Bench\nemail = bench@example.org\n")
    repo = Repo(ledger)
    repo.git("init", "-q", "-b", "main", ".")
    repo.put(".gitignore", ".tankbook/\ncontacts.csv\n")
    repo.commit("Begin")
    return repo


@pytest.fixture(name="say")
def _say(repo: Repo, tb: Callable[..., Any]) -> Callable[..., Any]:
    return lambda *words: tb("--ledger", repo.root, "--on", ON, *words)


def hold(say: Callable[..., Any], *more: str, id_: str = "RB-014", why: str = "dent") -> None:
    ran = say("hold", id_, "--why", why, "--by", "MV", *more)
    assert ran.code == 0, ran.err


def rebase_given_up(repo: Repo, say: Callable[..., Any]) -> None:
    repo.put("station.yaml", repo.read("station.yaml") + "# a word\n")
    repo.commit("A word")
    repo.git("rebase", "-q", "--exec", "false", "HEAD~1", ok=False)
    hold(say, "--commit")
    repo.git("rebase", "--abort")


def thrown_away(*how: str) -> Callable[[Repo, Callable[..., Any]], None]:
    def throw(repo: Repo, say: Callable[..., Any]) -> None:
        hold(say, "--no-commit")
        repo.git(*how)

    return throw


LOSSES = {
    "rebase --abort": rebase_given_up,
    "checkout": thrown_away("checkout", "--", "."),
    "stash": thrown_away("stash", "-q"),
    "reset": thrown_away("reset", "-q", "--hard"),
}


@pytest.mark.parametrize("lose", LOSSES.values(), ids=LOSSES)
def test_it_is_told_in_line_one_and_refuses_until_given_again(
    repo: Repo, say: Callable[..., Any], lose: Callable[[Repo, Callable[..., Any]], None]
) -> None:
    lose(repo, say)
    for why in ("dent", "boot off"):
        ran = say("may-fill", "RB-014")
        assert ran.code == 1
        assert "held 2026-11-25" in ran.first
        assert "never committed: Held RB-014: dent (MV" in " ".join(ran.out.split())
        hold(say, "--commit", id_="SF-014", why=why)  # the next act does not bury it
    repo.put(CARD, repo.read(CARD) + "# a hand was here\n")
    assert "held 2026-11-25" in say("may-fill", "RB-014").first
    repo.commit("A hand")
    assert "held 2026-11-25" in say("may-fill", "RB-014").first
    hold(say, "--commit")
    assert "never committed" not in say("may-fill", "RB-014").out


def test_somebody_may_say_why(repo: Repo, say: Callable[..., Any]) -> None:
    clean = say("may-fill", "RB-014").out
    thrown_away("checkout", "--", ".")(repo, say)
    ran = say("correct", "RB-014", "removed", "held 2026-11-25", "--why", "it was RB-015 that fell",
              "--by", "MV")  # fmt: skip
    assert ran.code == 0, ran.err
    assert say("may-fill", "RB-014").out == clean


def test_a_line_of_the_log_is_missed(repo: Repo, say: Callable[..., Any]) -> None:
    assert say("reading", "RB-014=2000", "--at", "10:00", "--by", "MV").code == 0
    repo.git("checkout", "--", ".")
    repo.git("clean", "-fdq", "fills")
    assert "reading 2026-11-25" in say("may-fill", "RB-014").first


def test_what_was_committed_by_hand_is_well(repo: Repo, say: Callable[..., Any]) -> None:
    before = repo.read(CARD)
    hold(say, "--no-commit")
    repo.put(CARD, repo.read(CARD) + "# a hand was here\n")
    repo.commit("By hand")
    assert "never committed" not in say("may-fill", "RB-014").out
    repo.put(CARD, before)
    repo.commit("Struck out")
    assert "never committed" not in say("may-fill", "RB-014").out
    hold(say, "--commit", id_="SF-014")
    assert "never committed" not in say("may-fill", "RB-014").out


def test_what_a_later_act_took_out_or_a_hand_renamed_is_well(
    repo: Repo, say: Callable[..., Any]
) -> None:
    hold(say, "--no-commit")
    assert say("release", "RB-014", "--why", "measured, ok", "--by", "MV").code == 0
    repo.put(CARD, repo.read(CARD) + "# a hand was here\n")
    assert "never committed" not in say("may-fill", "RB-014").out
    repo.git("mv", CARD, "cylinders/RB-114.yaml")
    moved = repo.read("cylinders/RB-114.yaml")
    repo.put("cylinders/RB-114.yaml", moved + "formerly: [RB-014]\n")
    assert "never committed" not in say("may-fill", "RB-114").out


def test_what_was_mended_by_hand_before_git_had_it_is_well(
    repo: Repo, say: Callable[..., Any]
) -> None:
    hold(say, "--no-commit", why="dennt")
    repo.put(CARD, repo.read(CARD).replace("dennt", "dent"))
    repo.commit("Hold")
    assert "never committed" not in say("may-fill", "RB-014").out


def test_an_entry_that_a_merge_put_elsewhere_in_its_list_is_well(
    repo: Repo, say: Callable[..., Any]
) -> None:
    hold(say, "--commit")
    assert (
        say(
            "release", "RB-014", "--why", "measured, within limits", "--by", "MV", "--no-commit"
        ).code
        == 0
    )
    older = "held:\n  - {on: 2026-01-05, by: MV, why: boot off, released: 2026-01-06}\n"
    repo.put(CARD, repo.read(CARD).replace("held:\n", older))
    repo.commit("Merged")
    assert "never committed" not in say("may-fill", "RB-014").out
