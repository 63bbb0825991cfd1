"""An act that was recorded and that neither the folder nor git holds any more is told."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import Repo, line

from tankbook.records.log import LogLine, columns

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
    return lambda *words: tb(
        "--ledger", repo.root, *(() if "--on" in words else ("--on", ON)), *words
    )


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
        assert "no branch holds it: Held RB-014: dent (MV" in " ".join(ran.out.split())
        hold(say, "--commit", id_="SF-014", why=why)  # the next act does not bury it
    repo.put(CARD, repo.read(CARD) + "# a hand was here\n")
    assert "held 2026-11-25" in say("may-fill", "RB-014").first
    repo.commit("A hand")
    assert "held 2026-11-25" in say("may-fill", "RB-014").first
    hold(say, "--commit")
    assert "no branch holds it" not in say("may-fill", "RB-014").out


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
    hold(say, "--no-commit")
    repo.put(CARD, repo.read(CARD) + "# a hand was here\n")
    repo.commit("By hand")
    assert "was recorded" not in say("may-fill", "RB-014").out
    hold(say, "--commit", id_="SF-014")
    assert "was recorded" not in say("may-fill", "RB-014").out


def test_what_a_later_act_took_out_or_a_hand_renamed_is_well(
    repo: Repo, say: Callable[..., Any]
) -> None:
    hold(say, "--no-commit")
    assert say("release", "RB-014", "--why", "measured, ok", "--by", "MV").code == 0
    repo.put(CARD, repo.read(CARD) + "# a hand was here\n")
    assert "no branch holds it" not in say("may-fill", "RB-014").out
    repo.git("mv", CARD, "cylinders/RB-114.yaml")
    moved = repo.read("cylinders/RB-114.yaml")
    repo.put("cylinders/RB-114.yaml", moved + "formerly: [RB-014]\n")
    assert "no branch holds it" not in say("may-fill", "RB-114").out


def test_what_was_mended_by_hand_before_git_had_it_is_well(
    repo: Repo, say: Callable[..., Any]
) -> None:
    hold(say, "--no-commit", why="dents")
    repo.put(CARD, repo.read(CARD).replace("dents", "dent"))
    repo.commit("Hold")
    assert "no branch holds it" not in say("may-fill", "RB-014").out


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
    assert "no branch holds it" not in say("may-fill", "RB-014").out


# --- one act, told once


def released(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--commit")
    ran = say("release", "RB-014", "--why", "measured, ok", "--by", "MV", "--no-commit")
    assert ran.code == 0, ran.err


def rented(repo: Repo, say: Callable[..., Any]) -> None:
    ran = say("rent", "RB-014=2900", "--to", "B-1", "--until", "2026-11-27", "--by", "MV",
              "--at", "09:00", "--no-commit")  # fmt: skip
    assert ran.code == 0, ran.err


def back(repo: Repo, say: Callable[..., Any]) -> None:
    rented(repo, say)
    repo.commit("Out")
    ran = say(
        "return", "RB-014=2000", "--valve", "closed", "--by", "MV", "--at", "10:00", "--no-commit"
    )
    assert ran.code == 0, ran.err


def held_four(repo: Repo, say: Callable[..., Any]) -> None:
    ran = say("hold", "RB-014", "SF-014", "--why", "dent", "--by", "MV", "--no-commit")
    assert ran.code == 0, ran.err


ONE_ACT = {
    "a hold": (lambda _, say: hold(say, "--no-commit"), "held 2026-11-25"),
    "a release": (released, "release 2026-11-25"),
    "a rental with its gauge": (rented, "rented 2026-11-25"),
    "a return with its gauge": (back, "return 2026-11-25"),
    "a hold of two": (held_four, "held 2026-11-25"),
}


@pytest.mark.parametrize("act", ONE_ACT)
@pytest.mark.parametrize("how", ["checkout -- .", "stash -q", "reset -q --hard"])
def test_one_act_is_told_once_in_its_own_words_and_one_entry_settles_it(
    repo: Repo, say: Callable[..., Any], act: str, how: str
) -> None:
    do, what = ONE_ACT[act]
    filled = ",".join(columns(LogLine)) + "\n" + line("2026-11-24T09:00:00+01:00") + "\n"
    repo.put("fills/2026.csv", filled)
    repo.commit("The log")
    do(repo, say)
    clean = (repo.root / ".git/tankbook/recorded").read_bytes()
    repo.git(*how.split())
    ran = say("may-fill", "RB-014")
    text = " ".join(ran.out.split())
    assert ran.code == 1
    assert text.count("no branch holds it") == 2, ran.out  # in line one, and with how to mend it
    vanished = "2 RECORDS VANISHED" if act == "a hold of two" else "1 RECORD VANISHED"
    assert vanished in ran.first
    assert what in ran.first
    assert ".0." not in ran.out
    assert "never committed" not in text
    assert (repo.root / ".git/tankbook/recorded").read_bytes() == clean
    ran = say("correct", "RB-014", "removed", what, "--why", "it was RB-015", "--by", "MV")
    assert ran.code == 0, ran.err
    assert "no branch holds it" not in say("may-fill", "RB-014").out


def test_an_act_that_another_process_finished_is_missed_as_well(
    repo: Repo, say: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    from tankbook.ledger import journal

    def end(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(journal, "carry_out", end)
        say("hold", "RB-014", "--why", "dent", "--by", "MV", "--no-commit")
    assert (repo.root / ".tankbook/journal").exists()
    assert "why: dent" not in repo.read(CARD)
    say("show", "RB-014")
    assert "why: dent" in repo.read(CARD)
    repo.git("checkout", "--", ".")
    assert "held 2026-11-25" in say("may-fill", "RB-014").first


# --- what was committed and thrown away


def with_remote(repo: Repo) -> None:
    repo.git("clone", "-q", "--bare", ".", "../stick.git")
    repo.git("remote", "add", "origin", "../stick.git")
    repo.git("fetch", "-q", "origin")


def reset_to_the_remote(repo: Repo, say: Callable[..., Any]) -> None:
    with_remote(repo)
    hold(say, "--commit")
    repo.git("reset", "-q", "--hard", "origin/main")


def reset_by_one(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--commit")
    repo.git("reset", "-q", "--hard", "HEAD~1")


def branch_deleted(repo: Repo, say: Callable[..., Any]) -> None:
    repo.git("checkout", "-qb", "bench")
    hold(say, "--commit")
    repo.git("checkout", "-q", "main")
    assert "branch bench has it" in say("may-fill", "RB-014").first
    repo.git("branch", "-q", "-D", "bench")


def rebase_skipped(repo: Repo, say: Callable[..., Any]) -> None:
    repo.git("checkout", "-qb", "other")
    repo.put(CARD, repo.read(CARD) + "note: one\n")
    repo.commit("A word")
    repo.git("checkout", "-q", "main")
    repo.put(CARD, repo.read(CARD) + "note: two\n")
    repo.commit("Another word")
    hold(say, "--commit")
    repo.git("rebase", "-q", "other", ok=False)
    for _ in range(2):
        repo.git("rebase", "--skip", ok=False)


def tagged(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--commit")
    repo.git("tag", "kept")
    repo.git("reset", "-q", "--hard", "HEAD~1")


def amended_away(repo: Repo, say: Callable[..., Any]) -> None:
    was = repo.read(CARD)
    hold(say, "--commit")
    repo.put(CARD, was + "# nothing\n")
    repo.git("commit", "-q", "--amend", "-a", "-m", "Nothing")


def expired(repo: Repo, say: Callable[..., Any]) -> None:
    reset_by_one(repo, say)
    repo.git("reflog", "expire", "--expire=now", "--all")
    repo.git("gc", "-q", "--prune=now")


def root_rebased(repo: Repo, drop: bool) -> None:
    """All of the history is written anew, without the newest commit but one where that is to go."""
    repo.put("station.yaml", repo.read("station.yaml") + "# a word\n")
    repo.commit("A word")
    todo = "sed -i /Held/d" if drop else "true"
    repo.git("-c", f"sequence.editor={todo}", "rebase", "-q", "-i", "--force-rebase", "--root")


def dropped_from_the_root_on(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--commit")
    root_rebased(repo, drop=True)


COMMITTED = {
    "rebase --root without it": dropped_from_the_root_on,
    "reset to the remote": reset_to_the_remote,
    "reset by one": reset_by_one,
    "branch -D": branch_deleted,
    "rebase --skip": rebase_skipped,
    "only a tag has it": tagged,
    "amended away": amended_away,
    "and git forgot it": expired,
}


@pytest.mark.parametrize("lose", COMMITTED.values(), ids=COMMITTED)
def test_a_committed_act_that_was_thrown_away_is_told(
    repo: Repo, say: Callable[..., Any], lose: Callable[[Repo, Callable[..., Any]], None]
) -> None:
    lose(repo, say)
    assert "why: dent" not in repo.read(CARD)
    ran = say("may-fill", "RB-014")
    assert ran.code == 1
    assert "held 2026-11-25" in ran.first
    assert "no branch holds it: Held RB-014: dent (MV" in " ".join(ran.out.split())
    hold(say, "--commit", id_="SF-014")  # the next act does not bury it
    assert "held 2026-11-25" in say("may-fill", "RB-014").first
    hold(say, "--commit")
    assert "no branch holds it" not in say("may-fill", "RB-014").out


def pushed(repo: Repo, say: Callable[..., Any]) -> None:
    with_remote(repo)
    hold(say, "--commit")
    repo.git("push", "-q", "origin", "main")
    hold(say, "--commit", id_="SF-014")
    assert "RB-014" not in (repo.root / ".git/tankbook/recorded").read_text()
    repo.git("reset", "-q", "--hard", "HEAD~2")


def on_a_branch_of_the_remote(repo: Repo, say: Callable[..., Any]) -> None:
    with_remote(repo)
    repo.git("checkout", "-qb", "bench")
    hold(say, "--no-commit")
    repo.commit("By hand")
    repo.git("push", "-q", "origin", "bench")
    repo.git("checkout", "-q", "main")
    repo.git("branch", "-q", "-D", "bench")


def rebased(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--commit")
    repo.git("checkout", "-qb", "other", "HEAD~1")
    repo.put("station.yaml", repo.read("station.yaml") + "# a word\n")
    repo.commit("A word")
    repo.git("checkout", "-q", "main")
    repo.git("rebase", "-q", "other")


def kept_from_the_root_on(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--commit")
    root_rebased(repo, drop=False)
    hold(say, "--commit", id_="SF-014")
    repo.put(CARD, repo.read(CARD) + "# a hand was here\n")


HONEST = {
    "rebase --root with it": kept_from_the_root_on,
    "pushed, then reset": pushed,
    "on a branch of the remote": on_a_branch_of_the_remote,
    "rebased": rebased,
}


@pytest.mark.parametrize("work", HONEST.values(), ids=HONEST)
def test_what_a_branch_holds_is_never_called_gone_from_all(
    repo: Repo, say: Callable[..., Any], work: Callable[[Repo, Callable[..., Any]], None]
) -> None:
    work(repo, say)
    assert "no branch holds it" not in say("may-fill", "RB-014").out


# --- what clears the folder, whatever git was told to ignore


def stashed_with_all(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--no-commit")
    repo.git("stash", "-q", "-a")


def cleaned(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--no-commit")
    repo.git("clean", "-qfdx")
    repo.git("checkout", "-q", ".")


def cleaned_of_a_commit(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--commit")
    repo.git("reset", "-q", "--hard", "HEAD~1")
    repo.git("clean", "-qffdx")


def taken_out_by_hand(repo: Repo, say: Callable[..., Any]) -> None:
    hold(say, "--no-commit")
    shutil.rmtree(repo.root / ".tankbook")
    repo.git("checkout", "-q", ".")


CLEARED = {
    "stash -a": stashed_with_all,
    "clean -fdx": cleaned,
    "reset and clean": cleaned_of_a_commit,
    "our folder deleted": taken_out_by_hand,
}


@pytest.mark.parametrize("within", [False, True], ids=["its own", "a folder of it"])
@pytest.mark.parametrize("lose", CLEARED.values(), ids=CLEARED)
def test_what_clears_the_folder_does_not_clear_the_memory(
    repo: Repo, tb: Callable[..., Any], lose: Callable[[Repo, Callable[..., Any]], None],
    within: bool,
) -> None:  # fmt: skip
    root = repo.root
    if within:  # the ledger lies in a folder of its repository
        shutil.rmtree(root / ".git")
        root.rename(root.parent / "inner")
        root.mkdir()
        (root.parent / "inner").rename(root / "quay")
        repo.git("init", "-q", "-b", "main")
        repo.commit("Begin")
        repo = Repo(root / "quay")

    def say(*words: str) -> Any:
        return tb("--ledger", repo.root, "--on", ON, *words)

    lose(repo, say)
    assert "why: dent" not in repo.read(CARD)
    ran = say("may-fill", "RB-014")
    assert ran.code == 1
    assert "held 2026-11-25" in ran.first
    hold(say, "--commit")
    assert "no branch holds it" not in say("may-fill", "RB-014").out


def test_the_end_of_a_working_copy_is_not_the_end_of_what_was_recorded_in_it(
    repo: Repo, say: Callable[..., Any], tb: Callable[..., Any]
) -> None:
    bench = repo.root.parent / "bench"
    repo.git("worktree", "add", "-q", str(bench))
    ran = tb("--ledger", bench, "--on", ON, "hold", "RB-014", "--why", "dent", "--by", "MV")
    assert ran.code == 0, ran.err
    repo.git("worktree", "remove", "--force", str(bench))
    ran = say("may-fill", "RB-014")
    assert ran.code == 1
    assert "held 2026-11-25" in ran.first


# --- what stands on a branch, or in a working copy, that is not checked out


def other_branch(act: Callable[..., None]) -> Callable[..., str]:
    def work(repo: Repo, say: Callable[..., Any]) -> str:
        repo.git("checkout", "-qb", "bench")
        act(repo, say)
        repo.git("checkout", "-q", "main")
        return "branch bench"

    return work


def older_commit(act: Callable[..., None]) -> Callable[..., str]:
    def work(repo: Repo, say: Callable[..., Any]) -> str:
        act(repo, say)
        repo.git("checkout", "-q", "HEAD~1")
        return "branch main"

    return work


def other_copy(act: Callable[..., None]) -> Callable[..., str]:
    """Recorded in a linked working copy, and not committed there."""

    def work(repo: Repo, say: Callable[..., Any]) -> str:
        bench = repo.root.parent / "bench"
        repo.git("worktree", "add", "-q", str(bench))
        act(Repo(bench), lambda *words: say("--ledger", bench, *words), "--no-commit")
        return f"the working copy {bench}"

    return work


def a_hold(repo: Repo, say: Callable[..., Any], how: str = "--commit") -> None:
    hold(say, how)


def a_release(repo: Repo, say: Callable[..., Any], how: str = "--commit") -> None:
    ran = say("release", "RB-016", "--why", "measured, ok", "--by", "MV", how)
    assert ran.code == 0, ran.err


def a_reading(repo: Repo, say: Callable[..., Any], how: str = "--commit") -> None:
    ran = say("reading", "RB-014=2000", "--at", "10:00", "--by", "MV", how)
    assert ran.code == 0, ran.err


def a_failed_air_test(repo: Repo, say: Callable[..., Any], how: str = "--commit") -> None:
    ran = say("station", "air-test", "--by", "MV", "--result", "fail", "--co", "30 ppm",
              "--source", "B1", how)  # fmt: skip
    assert ran.code == 0, ran.err


@pytest.mark.parametrize("where", [other_branch, older_commit, other_copy])
@pytest.mark.parametrize("act", [a_hold, a_failed_air_test])
def test_what_tells_against_a_cylinder_on_another_branch_is_a_no(
    repo: Repo, tb: Callable[..., Any], where: Callable[..., Any], act: Callable[..., None]
) -> None:
    def say(*words: str) -> Any:
        first = () if "--ledger" in words else ("--ledger", repo.root)
        return tb("--on", ON, *first, *words)

    kept = where(act)(repo, say)
    ran = say("may-fill", "RB-014")
    text = " ".join(ran.out.split())
    assert ran.code == 1, ran.out
    assert f"{kept} has it, not this" in text
    assert "ON ANOTHER BRANCH" in ran.first
    assert "VANISHED" not in ran.first
    assert f"bring it here from {kept}" in text
    assert say("list").code == 1
    if kept == "branch bench":
        repo.git("merge", "-q", "bench")
        assert "ON ANOTHER BRANCH" not in say("may-fill", "RB-014").out


@pytest.mark.parametrize("where", [other_branch, older_commit, other_copy])
@pytest.mark.parametrize("act", [a_release, a_reading])
def test_the_rest_is_told_and_refuses_nothing(
    repo: Repo, tb: Callable[..., Any], where: Callable[..., Any], act: Callable[..., None]
) -> None:
    def say(*words: str) -> Any:
        first = () if "--ledger" in words else ("--ledger", repo.root)
        return tb("--on", ON, *first, *words)

    asked = "RB-016" if act is a_release else "RB-014"
    code = say("may-fill", asked).code
    kept = where(act)(repo, say)
    ran = say("may-fill", asked)
    assert ran.code == code, ran.out
    assert "1 RECORD ON ANOTHER BRANCH" in ran.first
    assert f"{kept} has it, not this" in " ".join(ran.out.split())
    assert say("list").code == 0
    assert "elsewhere" in say("list", "--json").out


def correction(what: str, *words: str) -> Callable[..., None]:
    def act(repo: Repo, say: Callable[..., Any], how: str = "--commit") -> None:
        ran = say("correct", "RB-014", what, *words, "--why", "another's", "--by", "MV", how)
        assert ran.code == 0, ran.err + ran.out

    return act


def reading(*words: str) -> Callable[..., None]:
    def act(repo: Repo, say: Callable[..., Any], how: str = "--commit") -> None:
        ran = say("reading", *words, "--at", "10:00", "--by", "MV", how)
        assert ran.code == 0, ran.err + ran.out

    return act


AGAINST = {
    "a test struck out": correction("requalified", "2024-03"),
    "a look struck out": correction("inspected", "2026-02-09"),
    "a reading over the limit": reading("RB-014=4600"),
    "a reading of nothing": reading("RB-014=0"),
    "another gas": reading("RB-014=2000", "--o2", "36", "--analysed-by", "MV"),
}


@pytest.mark.parametrize("act", AGAINST.values(), ids=AGAINST)
@pytest.mark.parametrize("where", [other_branch, other_copy])
def test_a_line_or_a_correction_that_may_tell_against_a_cylinder_is_a_no(
    repo: Repo, tb: Callable[..., Any], where: Callable[..., Any], act: Callable[..., None]
) -> None:
    def say(*words: str) -> Any:
        first = () if "--ledger" in words else ("--ledger", repo.root)
        return tb("--on", ON, *first, *words)

    kept = where(act)(repo, say)
    ran = say("may-fill", "RB-014")
    assert ran.code == 1, ran.out
    assert "ON ANOTHER BRANCH" in ran.first
    assert f"{kept} has it, not this" in " ".join(ran.out.split())


# --- entries of one day, one to one


def settled(repo: Repo, say: Callable[..., Any], why: str = "boot off") -> None:
    hold(say, "--commit", why=why)
    ran = say("release", "RB-014", "--why", "fine", "--by", "MV", "--commit")
    assert ran.code == 0, ran.err


def second_reset(repo: Repo, say: Callable[..., Any]) -> None:
    settled(repo, say)
    hold(say, "--commit", why="crack at the neck")
    repo.git("reset", "-q", "--hard", "HEAD~1")


def second_stashed(repo: Repo, say: Callable[..., Any]) -> None:
    settled(repo, say)
    hold(say, "--no-commit", why="crack at the neck")
    repo.git("stash", "-q")


def second_of_the_same_words(repo: Repo, say: Callable[..., Any]) -> None:
    settled(repo, say, why="dent")
    hold(say, "--commit", why="dent")
    repo.git("reset", "-q", "--hard", "HEAD~1")


def second_after_the_first_was_mended(repo: Repo, say: Callable[..., Any]) -> None:
    settled(repo, say, why="dents")
    hold(say, "--no-commit", why="dents")
    repo.git("checkout", "--", ".")
    repo.put(CARD, repo.read(CARD).replace("dents", "dent"))
    repo.commit("Mended")


def theirs_of_the_day(*how: str) -> Callable[[Repo, Callable[..., Any]], None]:
    def work(repo: Repo, say: Callable[..., Any]) -> None:
        hold(say, "--commit", why="crack")
        was = repo.git("show", f"HEAD~1:{CARD}")
        repo.git("checkout", "-qb", "bench", "HEAD~1")
        theirs = "held:\n  - {on: 2026-11-25, by: MV, why: boot off, released: 2026-11-25}\n"
        assert "held:" not in was
        repo.put(CARD, f"{was.rstrip()}\n{theirs}")
        repo.commit("The bench's")
        repo.git("checkout", "-q", "main")
        repo.git("rebase", "-q", "bench", ok=False)
        if how:
            repo.git(*how)
            repo.git("add", "-A")
        repo.git("rebase", "--skip", ok=False)

    return work


ONE_DAY = {
    "reset": second_reset,
    "stash": second_stashed,
    "the same words": second_of_the_same_words,
    "the first one mended": second_after_the_first_was_mended,
    "rebase --skip": theirs_of_the_day(),
    "checkout --ours": theirs_of_the_day("checkout", "-q", "--ours", "--", CARD),
}


@pytest.mark.parametrize("lose", ONE_DAY.values(), ids=ONE_DAY)
def test_another_entry_of_the_day_does_not_stand_for_a_hold(
    repo: Repo, say: Callable[..., Any], lose: Callable[[Repo, Callable[..., Any]], None]
) -> None:
    lose(repo, say)
    ran = say("may-fill", "RB-014")
    assert ran.code == 1, ran.out
    assert "held 2026-11-25" in ran.first
    assert "no branch holds it" in " ".join(ran.out.split())


def test_another_release_of_the_day_does_not_stand_for_one(
    repo: Repo, say: Callable[..., Any]
) -> None:
    settled(repo, say)
    hold(say, "--commit", why="crack at the neck")
    ran = say("release", "RB-014", "--why", "a scratch", "--by", "MV", "--commit")
    assert ran.code == 0, ran.err
    assert "no branch holds it" not in say("may-fill", "RB-014").out
    repo.git("reset", "-q", "--hard", "HEAD~1")
    assert "release 2026-11-25" in say("may-fill", "RB-014").first


def test_a_passed_air_test_does_not_stand_for_a_failed_one_of_its_day(
    repo: Repo, say: Callable[..., Any]
) -> None:
    words = ["station", "air-test", "--by", "MV"]
    ran = say(*words, "--result", "pass", "--source", "panel", "--commit")
    assert ran.code == 0, ran.err
    ran = say(*words, "--result", "fail", "--co", "30 ppm", "--source", "B1", "--commit")
    assert ran.code == 0, ran.err
    repo.git("reset", "-q", "--hard", "HEAD~1")
    ran = say("may-fill", "RB-014")
    assert ran.code == 1
    assert "no branch holds it" in " ".join(ran.out.split())


def test_two_of_one_day_that_stand_are_well(repo: Repo, say: Callable[..., Any]) -> None:
    settled(repo, say, why="dents")
    hold(say, "--no-commit", why="dent")
    repo.put(CARD, repo.read(CARD).replace("dents", "dent"))
    repo.commit("Both")
    assert "no branch holds it" not in say("may-fill", "RB-014").out


# --- an entry that another ended, and one of a wrong day


def theirs(repo: Repo, card: str, old: str, new: str) -> None:
    """The bench ends the same entry, from the commit before, and this machine takes that alone."""
    repo.git("checkout", "-qb", "bench", "HEAD~1")
    repo.change(card, old, new)
    repo.commit("The bench's")
    repo.git("checkout", "-q", "main")
    repo.git("rebase", "-q", "bench", ok=False)
    repo.git("rebase", "--skip", ok=False)
    assert repo.read(card).count(new) == 1


HELD_OPEN = "{on: 2026-03-01, by: MV, why: thread finding}"
ENDS = {
    "the same": "released: 2026-11-25, released_by: MV, released_why: measured and ok",
    "another's": "released: 2026-11-25, released_by: KD, released_why: within limits",
    "of another day": "released: 2026-11-20, released_by: KD, released_why: within limits",
}


@pytest.mark.parametrize("end", ENDS.values(), ids=ENDS)
def test_a_release_is_not_missed_where_another_ended_the_hold(
    repo: Repo, say: Callable[..., Any], end: str
) -> None:
    ran = say("release", "RB-016", "--why", "measured, ok", "--by", "MV", "--commit")
    assert ran.code == 0, ran.err
    theirs(repo, "cylinders/RB-016.yaml", HELD_OPEN, f"{HELD_OPEN[:-1]}, {end}}}")
    assert "VANISHED" not in say("may-fill", "RB-016").first


def test_a_release_is_missed_where_the_hold_is_open_or_was_struck_out(
    repo: Repo, say: Callable[..., Any]
) -> None:
    for end in ("", ", void: {why: wrong card, by: MV, on: 2026-11-25}"):
        ran = say("release", "RB-016", "--why", "measured, ok", "--by", "MV", "--commit")
        assert ran.code == 0, ran.err
        repo.git("reset", "-q", "--hard", "HEAD~1")
        repo.change("cylinders/RB-016.yaml", HELD_OPEN, f"{HELD_OPEN[:-1]}{end}}}")
        assert "release 2026-11-25" in say("may-fill", "RB-016").first
        repo.git("checkout", "-q", ".")


def test_a_wrong_day_mended_by_hand_is_told_until_it_is_committed(
    repo: Repo, say: Callable[..., Any]
) -> None:
    hold(say, "--no-commit")
    repo.put(CARD, repo.read(CARD).replace("2026-11-25", "2026-11-24"))
    ran = say("may-fill", "RB-014")
    assert "VANISHED" not in ran.first
    assert "BRANCH" not in ran.first
    assert "held 2026-11-25 was recorded" in " ".join(ran.out.split())
    assert "stands with another day" in " ".join(ran.out.split())
    repo.commit("By hand")
    assert "held 2026-11-25" not in say("may-fill", "RB-014").out
    hold(say, "--commit", id_="SF-014")
    assert "held 2026-11-25" not in say("may-fill", "RB-014").out


def older(repo: Repo, day: str = "2026-05-01", why: str = "dent") -> None:
    """A hold that was let go stands in the card."""
    text = f"held:\n  - {{on: {day}, by: MV, why: {why}, released: {day}}}\n"
    repo.put(CARD, repo.read(CARD) + text)
    repo.commit("An older hold")


def beside_one_of_its_words(repo: Repo, say: Callable[..., Any]) -> None:
    older(repo)
    hold(say, "--no-commit")
    repo.git("checkout", "-q", ".")


def beside_one_that_was_redated(repo: Repo, say: Callable[..., Any]) -> None:
    beside_one_of_its_words(repo, say)
    repo.put(CARD, repo.read(CARD).replace("2026-05-01", "2026-05-02"))


def beside_another_act_of_its_words(repo: Repo, say: Callable[..., Any]) -> None:
    ran = say("--on", "2026-11-24", "hold", "RB-014", "--why", "dent", "--by", "MV", "--commit")
    assert ran.code == 0, ran.err
    ran = say("release", "RB-014", "--why", "measured, ok", "--by", "MV", "--commit")
    assert ran.code == 0, ran.err
    hold(say, "--no-commit")
    repo.git("checkout", "-q", ".")


def beside_one_in_other_words(repo: Repo, say: Callable[..., Any]) -> None:
    older(repo, why="boot off")
    hold(say, "--no-commit")
    repo.git("checkout", "-q", ".")


NOT_ITS = (
    beside_one_of_its_words,
    beside_one_that_was_redated,
    beside_another_act_of_its_words,
    beside_one_in_other_words,
)


@pytest.mark.parametrize("lose", NOT_ITS)
def test_an_entry_of_another_day_that_is_another_does_not_stand_for_a_hold(
    repo: Repo, say: Callable[..., Any], lose: Callable[[Repo, Callable[..., Any]], None]
) -> None:
    lose(repo, say)
    assert "VANISHED" in say("may-fill", "RB-014").first


# --- what another machine recorded in like words


AIR = ("station", "air-test", "--by", "Lab")


def at_the_bench(repo: Repo, say: Callable[..., Any], *acts: tuple[str, ...]) -> None:
    """Acts that another machine gave, committed and pushed."""
    with_remote(repo)
    bench = Repo(repo.root.parent / "bench")
    repo.git("clone", "-q", "../stick.git", "../bench")
    for words in acts:
        ran = say("--ledger", bench.root, *words, "--no-commit")
        assert ran.code == 0, ran.err
        bench.git("commit", "-qam", "The bench's", by="KD")
    bench.git("push", "-q", "origin", "main")
    repo.git("fetch", "-q", "origin")


def like_holds(
    mine: str, its: str, day: str
) -> tuple[tuple[tuple[str, ...], ...], tuple[str, ...]]:
    hold = ("hold", "RB-014", "--by", "MV", "--why")
    fine = ("--on", day, "release", "RB-014", "--why", "O-ring", "--by", "MV")
    return (("--on", day, *hold, its), fine), (*hold, mine)


ALIKE: dict[str, tuple[tuple[tuple[str, ...], ...], tuple[str, ...]]] = {
    "its words of another day": like_holds("leaks at the valve", "leaks at the valve", "2026-11-21"),
    "like words of its day": like_holds("dent, right side", "dent, left side", ON),
    "a failed air test": (
        (("--on", "2026-11-21", *AIR, "--result", "fail"),
         ("--on", "2026-11-24", *AIR, "--result", "pass")),
        (*AIR, "--result", "fail"),
    ),
}  # fmt: skip


def taken_from_the_remote(repo: Repo) -> None:
    repo.git("reset", "-q", "--hard", "origin/main")


def rebase_skipped_onto_it(repo: Repo) -> None:
    repo.git("rebase", "-q", "origin/main", ok=False)
    repo.git("rebase", "--skip", ok=False)


def never_committed(repo: Repo) -> None:
    repo.git("reset", "-q", "--hard", "HEAD~1")
    repo.git("merge", "-q", "origin/main")


def in_the_working_copy_alone(repo: Repo) -> None:
    repo.git("reset", "-q", "--hard", "HEAD~1")
    repo.git("checkout", "-q", "origin/main", "--", ".")


def copied_into_a_commit(repo: Repo) -> None:
    in_the_working_copy_alone(repo)
    repo.commit("Theirs")


@pytest.mark.parametrize("alike", ALIKE)
@pytest.mark.parametrize(
    "take",
    [taken_from_the_remote, rebase_skipped_onto_it, never_committed, in_the_working_copy_alone,
     copied_into_a_commit],
)  # fmt: skip
def test_an_entry_of_another_machine_in_like_words_does_not_stand_for_an_act(
    repo: Repo, tb: Callable[..., Any], alike: str, take: Callable[[Repo], None]
) -> None:
    def say(*words: str) -> Any:
        first = () if "--ledger" in words else ("--ledger", repo.root)
        return tb(*(() if "--on" in words else ("--on", ON)), *first, *words)

    theirs, mine = ALIKE[alike]
    at_the_bench(repo, say, *theirs)
    ran = say(*mine, "--commit")
    assert ran.code == 0, ran.err
    take(repo)
    for why in ("a scratch", "boot off"):
        ran = say("may-fill", "RB-014")
        assert ran.code == 1, ran.out
        assert "no branch holds it" in " ".join(ran.out.split())
        hold(say, "--commit", id_="SF-014", why=why)  # the next act does not bury it


def rebased_and_pushed(repo: Repo) -> None:
    repo.git("checkout", "-qb", "other", "HEAD~1")
    repo.put("station.yaml", repo.read("station.yaml") + "# a word\n")
    repo.commit("A word")
    repo.git("checkout", "-q", "main")
    repo.git("rebase", "-q", "other")
    repo.git("push", "-q", "origin", "main")


def nothing_more(repo: Repo) -> None:
    pass


MENDS = {
    "initials": (CARD, "by: MV, why: dent", "by: XX, why: dent", "stands otherwise (by)"),
    "a text lengthened": (CARD, "why: dent", "why: dent in the shoulder by the neck",
                          "stands otherwise (why)"),
    "a slip of the pen": (CARD, "why: dent", "why: dents", ""),
    "its day": (CARD, "on: 2026-11-25, by: MV, why: dent", "on: 2026-11-24, by: MV, why: dent",
                "stands with another day"),
    "the time of a line": ("fills/2026.csv", "T10:00:00", "T10:30:00", "stands otherwise (at)"),
    "the cylinder of a line": ("fills/2026.csv", ",RB-014,", ",SF-014,",
                               "stands otherwise (cylinder)"),
}  # fmt: skip


@pytest.mark.parametrize("mend", MENDS)
@pytest.mark.parametrize("then", [nothing_more, rebased_and_pushed])
def test_what_a_hand_mended_is_told_until_it_is_committed_here(
    repo: Repo, say: Callable[..., Any], mend: str, then: Callable[[Repo], None]
) -> None:
    path, was, now, told = MENDS[mend]
    repo.put("fills/2026.csv", ",".join(columns(LogLine)) + "\n")
    repo.commit("The log")
    with_remote(repo)
    (a_hold if path == CARD else a_reading)(repo, say, "--no-commit")
    repo.change(path, was, now)
    ran = say("may-fill", "RB-014")
    assert "VANISHED" not in ran.first
    assert "BRANCH" not in ran.first
    text = " ".join(ran.out.split())
    assert told in text
    assert ("was recorded" in text) is bool(told)
    repo.commit("By hand")
    then(repo)
    for why in ("a scratch", "boot off"):
        assert "was recorded" not in say("may-fill", "RB-014").out
        hold(say, "--commit", id_="SF-014", why=why)


# --- a card that was renamed


@pytest.mark.parametrize("formerly", [True, False], ids=["formerly", "serial alone"])
@pytest.mark.parametrize("other", [True, False], ids=["another was held", "none was"])
def test_an_act_on_a_card_that_was_renamed_counts_under_its_new_name(
    repo: Repo, say: Callable[..., Any], other: bool, formerly: bool
) -> None:
    hold(say, "--no-commit")
    repo.git("stash", "-q")
    repo.git("mv", CARD, "cylinders/RB-114.yaml")
    if formerly:
        repo.put("cylinders/RB-114.yaml", repo.read("cylinders/RB-114.yaml") + "formerly: RB-014\n")
    repo.commit("Renamed")
    if other:
        hold(say, "--commit", id_="SF-014")
    ran = say("may-fill", "RB-114")
    assert ran.first.startswith("NO"), ran.out
    assert "held 2026-11-25" in ran.first


@pytest.mark.parametrize("formerly", ["", "formerly: [RB-014]\n"], ids=["serial alone", "says so"])
def test_an_act_counts_under_the_older_id_where_what_is_left_knows_no_other(
    repo: Repo, say: Callable[..., Any], formerly: str
) -> None:
    """The new id goes together with what was recorded under it: a base that knew only the old."""
    repo.git("mv", CARD, "cylinders/RB-114.yaml")
    repo.put("cylinders/RB-114.yaml", repo.read("cylinders/RB-114.yaml") + formerly)
    repo.commit("Renamed")
    hold(say, "--commit", id_="RB-114")
    repo.git("reset", "-q", "--hard", "HEAD~2")
    ran = say("may-fill", "RB-014")
    assert ran.first.startswith("NO  RB-014"), ran.out
    assert "held 2026-11-25" in ran.first


NEW = {
    "by its serial": (("--serial", "K9"), ""),
    "by its serial and a maker typed since": (("--serial", "K9"), "maker: Else\n"),
    "by both": (("--serial", "K9"), "formerly: [RB-301]\n"),
}


@pytest.mark.parametrize("how", NEW)
@pytest.mark.parametrize("then", ["nothing", "a commit", "another act"])
def test_a_new_card_renamed_before_its_first_commit_is_well(
    repo: Repo, say: Callable[..., Any], how: str, then: str
) -> None:
    words, more = NEW[how]
    ran = say("book-in", "--id", "RB-301", *words, "--service-pressure", "3000 psi", "--by", "MV",
              "--no-commit")  # fmt: skip
    assert ran.code == 0, ran.err
    hold(say, "--no-commit", id_="RB-301")
    repo.git("add", "-A")
    repo.git("mv", "cylinders/RB-301.yaml", "cylinders/RB-303.yaml")
    text = repo.read("cylinders/RB-303.yaml")
    if "maker" in more:
        text = "".join(each for each in text.splitlines(True) if not each.startswith("maker:"))
    repo.put("cylinders/RB-303.yaml", text + more)
    if then == "a commit":
        repo.commit("Booked in")
    if then == "another act":
        hold(say, "--no-commit")
    assert "no branch holds it" not in say("may-fill", "RB-303").out
    assert "VANISHED" not in say("list").first
    repo.commit("All of it")
    hold(say, "--commit", id_="SF-014")
    assert "VANISHED" not in say("list").first
    (repo.root / "cylinders/RB-303.yaml").unlink()  # what git has, it tells
    assert "cylinders/RB-303.yaml" in say("list").first


def test_a_new_card_that_is_gone_is_told(repo: Repo, say: Callable[..., Any]) -> None:
    ran = say("book-in", "--id", "RB-301", "--serial", "K9", "--service-pressure", "3000 psi",
              "--by", "MV", "--no-commit")  # fmt: skip
    assert ran.code == 0, ran.err
    (repo.root / "cylinders/RB-301.yaml").unlink()
    assert "VANISHED: cylinders/RB-301.yaml" in say("list").first


def test_an_act_that_was_rebased_and_pushed_is_forgotten(
    repo: Repo, say: Callable[..., Any]
) -> None:
    with_remote(repo)
    rebased(repo, say)
    repo.git("push", "-q", "origin", "main")
    hold(say, "--commit", id_="SF-014")
    assert "RB-014" not in (repo.root / ".git/tankbook/recorded").read_text()


def test_however_many_acts_are_missed_each_version_is_read_once(
    repo: Repo, say: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    from tankbook.ledger import gitread, recorded

    log = ",".join(columns(LogLine)) + "\n"
    for number in range(8):
        log += f"2026-11-{number + 1:02}T09:00:00+01:00,RB-014,reading,,2900 psi,,,,,,,,,,,\n"
        repo.put("fills/2026.csv", log)
        repo.commit("A line")
    for minute in range(6):
        ran = say("reading", "RB-014=2000", "--at", f"10:{minute:02}", "--by", "MV", "--no-commit")
        assert ran.code == 0, ran.err
    repo.git("checkout", "--", ".")
    calls: list[str] = []
    for name in ("run", "Popen"):
        real = getattr(gitread.subprocess, name, None) or getattr(gitread, name)
        holder = gitread.subprocess if name == "run" else gitread

        def counted(*words: Any, _real: Any = real, **more: Any) -> Any:
            calls.append(" ".join(map(str, words[0])))
            return _real(*words, **more)

        monkeypatch.setattr(holder, name, counted)
    assert len(recorded.lost(repo.root).gone) == 6
    assert len([c for c in calls if " log " in c or "cat-file" in c]) <= 3, calls


def reverted(repo: Repo, was: str) -> None:
    repo.git("revert", "--no-edit", "HEAD")


def checked_out_as_before(repo: Repo, was: str) -> None:
    repo.git("checkout", "HEAD~1", "--", ".")
    repo.commit("Undo")


def by_hand(repo: Repo, was: str) -> None:
    repo.put(CARD, was)
    repo.commit("Undo")
    repo.put("station.yaml", repo.read("station.yaml") + "# a word\n")
    repo.commit("And on with it")


def on_a_branch_that_is_merged(repo: Repo, was: str) -> None:
    repo.git("checkout", "-qb", "bench")
    reverted(repo, was)
    repo.git("checkout", "-q", "main")
    repo.put("station.yaml", repo.read("station.yaml") + "# a word\n")
    repo.commit("A word")
    repo.git("merge", "-q", "--no-edit", "bench")
    repo.put("station.yaml", repo.read("station.yaml") + "# another\n")
    repo.commit("Another word")


UNDONE = [reverted, checked_out_as_before, by_hand, on_a_branch_that_is_merged]


@pytest.mark.parametrize("committed", ["--commit", "--no-commit"])
@pytest.mark.parametrize("undo", UNDONE)
def test_an_act_against_a_cylinder_that_a_later_commit_took_out_is_a_no(
    repo: Repo, say: Callable[..., Any], undo: Callable[[Repo, str], None], committed: str
) -> None:
    clean, was = say("may-fill", "RB-014").out, repo.read(CARD)
    hold(say, committed)
    if committed == "--no-commit":
        repo.commit("By hand")
    undo(repo, was)
    for why in ("a scratch", "boot off"):
        ran = say("may-fill", "RB-014")
        assert ran.code == 1, ran.out
        assert "a commit took it out: Held RB-014: dent (MV" in " ".join(ran.out.split())
        assert "1 RECORD VANISHED" in ran.first
        hold(say, "--commit", id_="SF-014", why=why)  # the next act does not bury it
    ran = say("correct", "RB-014", "removed", "held 2026-11-25", "--why", "it was RB-015 that fell",
              "--by", "MV")  # fmt: skip
    assert ran.code == 0, ran.err
    assert say("may-fill", "RB-014").out == clean


def test_a_failed_sample_that_was_reverted_closes_the_station(
    repo: Repo, say: Callable[..., Any]
) -> None:
    a_failed_air_test(repo, say)
    reverted(repo, "")
    ran = say("may-fill", "RB-014")
    assert ran.code == 1
    assert "a commit took it out: Air test FAILED" in " ".join(ran.out.split())


@pytest.mark.parametrize("act", [a_reading, a_release])
def test_what_tells_against_nothing_may_be_reverted(
    repo: Repo, say: Callable[..., Any], act: Callable[..., None]
) -> None:
    clean = say("may-fill", "RB-014").out
    act(repo, say)
    reverted(repo, "")
    assert say("may-fill", "RB-014").out == clean


def test_what_was_pushed_is_told_by_the_audit_where_it_was_reverted(
    repo: Repo, say: Callable[..., Any]
) -> None:
    with_remote(repo)
    a_hold(repo, say)
    repo.git("push", "-q", "origin", "main")
    reverted(repo, "")
    assert "was recorded" not in say("may-fill", "RB-014").out
    assert "held" in say("audit").out


def test_a_hold_that_was_reverted_and_given_again_is_well(
    repo: Repo, say: Callable[..., Any]
) -> None:
    a_hold(repo, say)
    reverted(repo, "")
    hold(say, "--commit")
    assert "was recorded" not in say("may-fill", "RB-014").out


def slip(repo: Repo, path: str, was: str, now: str) -> None:
    repo.change(path, was, now)
    repo.commit("A slip")


def no_journal_of_git(repo: Repo, say: Callable[..., Any]) -> str:
    a_hold(repo, say)
    slip(repo, CARD, "why: dent", "why: dent at the foot")
    repo.git("reflog", "expire", "--expire=now", "--all")
    return CARD


def renamed_and_a_slip(repo: Repo, say: Callable[..., Any]) -> str:
    a_hold(repo, say)
    new = "cylinders/RB-114.yaml"
    repo.git("mv", CARD, new)
    repo.put(new, repo.read(new) + "formerly: [RB-014]\n")
    repo.commit("Renamed")
    slip(repo, new, "why: dent", "why: dented")
    return new


def a_slip_in_a_correction(repo: Repo, say: Callable[..., Any]) -> str:
    a_hold(repo, say)
    ran = say(
        "correct",
        "RB-014",
        "held",
        "2026-11-25",
        "--why",
        "wrong cylnder",
        "--by",
        "MV",
        "--commit",
    )
    assert ran.code == 0, ran.err
    slip(repo, CARD, "wrong cylnder", "the wrong cylinder")
    text = repo.read(CARD)
    before, _, after = text.rpartition("by: MV, why: the wrong")
    assert before
    repo.put(CARD, f"{before}by: XX, why: the wrong{after}")
    repo.commit("By whom")
    return CARD


def given_again_later(repo: Repo, say: Callable[..., Any]) -> str:
    hold(say, "--commit", "--at", "09:00")
    reverted(repo, "")
    hold(say, "--commit", "--at", "10:00")
    return CARD


def thrown_away_and_given_again_later(repo: Repo, say: Callable[..., Any]) -> str:
    hold(say, "--no-commit", "--at", "09:00")
    repo.git("checkout", "--", ".")
    hold(say, "--commit", "--at", "10:00")
    return CARD


def a_look_that_held_and_a_slip(repo: Repo, say: Callable[..., Any]) -> str:
    ran = say("inspect", "RB-014", "--checklist", "outside", "--pass-all", "--except",
              "outside-look:hold", "--what", "gouge", "--note", "outside-look:long scrach",
              "--by", "MV", "--commit")  # fmt: skip
    assert ran.code == 0, ran.err
    text = repo.read(CARD)
    repo.put(CARD, text.replace("scrach", "scrach from the boot up"))
    repo.commit("A slip")
    return CARD


def a_busy_log(repo: Repo, say: Callable[..., Any]) -> str:
    ran = say("reading", "RB-014=2000", "--note", "smels of oil", "--at", "09:00", "--by", "MV",
              "--commit")  # fmt: skip
    assert ran.code == 0, ran.err
    slip(repo, "fills/2026.csv", "T09:00:00", "T09:05:00")
    for minute in range(3):
        more = line(f"2026-11-25T11:0{minute}:00+01:00", "RB-016") + "\n"
        repo.put("fills/2026.csv", repo.read("fills/2026.csv") + more)
        repo.commit(f"Line {minute}")
    return "fills/2026.csv"


def corrected(say: Callable[..., Any], day: str, why: str) -> None:
    ran = say("correct", "RB-014", "held", day, "--why", why, "--by", "MV", "--commit")
    assert ran.code == 0, ran.err


def the_entry_that_was_struck_out(repo: Repo, say: Callable[..., Any]) -> str:
    a_hold(repo, say)
    corrected(say, "2026-11-25", "wrong cylinder")
    text = repo.read(CARD)
    before, _, after = text.rpartition("on: 2026-11-25, by: MV, why: dent")
    assert before
    repo.put(CARD, f"{before}on: 2026-11-24, by: XX, why: dent{after}")
    repo.commit("Its day and signature")
    return CARD


def the_first_of_two_lines_in_like_words(repo: Repo, say: Callable[..., Any]) -> str:
    for time in ("09:00", "10:00"):
        ran = say("reading", "RB-014=2000", "--note", "smells of oil", "--at", time, "--by", "MV",
                  "--commit")  # fmt: skip
        assert ran.code == 0, ran.err
    slip(repo, "fills/2026.csv", "T09:00:00", "T09:30:00")
    return "fills/2026.csv"


STILL_THERE = [
    the_entry_that_was_struck_out, the_first_of_two_lines_in_like_words,
    no_journal_of_git, renamed_and_a_slip, a_slip_in_a_correction, given_again_later,
    thrown_away_and_given_again_later, a_look_that_held_and_a_slip, a_busy_log,
]  # fmt: skip


@pytest.mark.parametrize("work", STILL_THERE)
def test_what_stands_in_other_words_or_was_given_again_was_not_taken_out(
    repo: Repo,
    say: Callable[..., Any],
    work: Callable[[Repo, Callable[..., Any]], str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("tankbook.ledger.recorded.MOST_COMMITS", 2)
    path = work(repo, say)
    id_ = path[10:16] if path.startswith("cylinders/") else "RB-014"
    assert "was recorded" not in say("may-fill", id_).out
    hold(say, "--commit", id_="SF-014", why="a scratch")
    assert "was recorded" not in say("may-fill", id_).out


@pytest.mark.parametrize("also", ["a scratch", "dents", "dent"])
def test_another_hold_of_the_day_does_not_hide_one_that_was_taken_out(
    repo: Repo, say: Callable[..., Any], also: str
) -> None:
    if also == "dent":  # as much stood there by a hand
        repo.put(CARD, repo.read(CARD) + "held:\n  - {on: 2026-11-25, by: MV, why: rust}\n")
        repo.commit("By hand")
        a_hold(repo, say)
    else:
        a_hold(repo, say)
    reverted(repo, "")
    if also != "dent":
        hold(say, "--commit", why=also)
    assert "a commit took it out" in " ".join(say("may-fill", "RB-014").out.split())


def test_who_says_why_a_card_is_gone_says_so_of_what_stood_in_it(
    repo: Repo, say: Callable[..., Any]
) -> None:
    a_hold(repo, say)
    repo.git("rm", "-q", CARD)
    assert "VANISHED" in say("may-fill", "SF-014").first
    repo.commit("Retired")
    assert "VANISHED" in say("may-fill", "SF-014").first
    ran = say("correct", "ledger", "removed", CARD, "--why", "scrapped", "--by", "MV", "--commit")
    assert ran.code == 0, ran.err
    assert "VANISHED" not in say("may-fill", "SF-014").first


def mended_and_thrown_away(repo: Repo, say: Callable[..., Any]) -> str:
    hold(say, "--no-commit")
    repo.change(CARD, "why: dent", "why: dented")
    hold(say, "--no-commit", id_="SF-014", why="a scratch")
    repo.git("checkout", "--", CARD)
    return "no branch holds it"


def mended_committed_and_thrown_away(repo: Repo, say: Callable[..., Any]) -> str:
    a_hold(repo, say)
    slip(repo, CARD, "why: dent", "why: dented")
    hold(say, "--commit", id_="SF-014", why="a scratch")
    repo.git("reset", "-q", "--hard", "HEAD~3")
    return "no branch holds it"


def mended_and_taken_out(repo: Repo, say: Callable[..., Any]) -> str:
    was = repo.read(CARD)
    a_hold(repo, say)
    slip(repo, CARD, "why: dent", "why: dented")
    hold(say, "--commit", id_="SF-014", why="a scratch")
    repo.put(CARD, was)
    repo.commit("Undo")
    return "a commit took it out"


@pytest.mark.parametrize(
    "work", [mended_and_thrown_away, mended_committed_and_thrown_away, mended_and_taken_out]
)
def test_what_a_hand_mended_is_told_where_the_mended_words_are_gone(
    repo: Repo, say: Callable[..., Any], work: Callable[[Repo, Callable[..., Any]], str]
) -> None:
    told = work(repo, say)
    ran = say("may-fill", "RB-014")
    assert ran.code == 1, ran.out
    assert told in " ".join(ran.out.split())


def test_a_card_that_goes_on_is_not_explained_by_its_old_name(
    repo: Repo, say: Callable[..., Any]
) -> None:
    a_hold(repo, say)
    repo.git("reset", "-q", "--hard", "HEAD~1")
    new = "cylinders/RB-114.yaml"
    repo.git("mv", CARD, new)
    repo.put(new, repo.read(new) + "formerly: [RB-014]\n")
    repo.commit("Renamed")
    ran = say("correct", "ledger", "removed", CARD, "--why", "renamed", "--by", "MV", "--commit")
    assert ran.code == 0, ran.err
    assert "no branch holds it" in " ".join(say("may-fill", "RB-114").out.split())


def one_of_two_corrections(repo: Repo, say: Callable[..., Any]) -> str:
    hold(say, "--commit", "--at", "09:00", why="dent")
    hold(say, "--commit", "--at", "10:00", why="soot on the valve")
    corrected(say, "#1", "wrong cylinder")
    was = repo.read(CARD)
    corrected(say, "#2", "it was paint")
    now = repo.read(CARD)
    (first,) = [n for n in was.splitlines() if "wrong cylinder" in n]
    repo.put(CARD, now.replace(first, first[: first.index(", void")] + "}"))
    repo.commit("Undo")
    return "Struck out"


def a_reading_and_another_of_the_day(repo: Repo, say: Callable[..., Any]) -> str:
    ran = say("reading", "RB-014=2000", "--note", "smells of oil", "--at", "09:00", "--by", "MV",
              "--commit")  # fmt: skip
    assert ran.code == 0, ran.err
    reverted(repo, "")
    log = repo.read("fills/2026.csv") if (repo.root / "fills/2026.csv").exists() else ""
    header = "" if log else ",".join(columns(LogLine)) + "\n"
    more = line("2026-11-25T11:00:00+01:00", "RB-014", "reading", to="1900 psi", by="MV")
    repo.put("fills/2026.csv", f"{log}{header}{more}\n")
    repo.commit("By hand")
    return "reading"


def a_hold_beside_one_whose_slip_was_mended(repo: Repo, say: Callable[..., Any]) -> str:
    hold(say, "--commit", "--at", "09:00", why="dent")
    hold(say, "--commit", "--at", "10:00", why="sticker ilegible")
    slip(repo, CARD, "ilegible", "illegible")
    text = repo.read(CARD)
    (first,) = [n for n in text.splitlines(keepends=True) if "why: dent" in n]
    repo.put(CARD, text.replace(first, ""))
    repo.commit("Undo")
    return "Held RB-014: dent"


def of_one_act_on_two(repo: Repo, say: Callable[..., Any]) -> str:
    ran = say("reading", "RB-014=2000", "SF-014=2000", "--note", "smells of oil", "--at", "09:00",
              "--by", "MV", "--commit")  # fmt: skip
    assert ran.code == 0, ran.err
    log = repo.read("fills/2026.csv").splitlines(keepends=True)
    repo.put("fills/2026.csv", "".join(n for n in log if "RB-014" not in n))
    repo.commit("Undo")
    return "reading"


def a_strike_out_in_the_words_of_another(repo: Repo, say: Callable[..., Any]) -> str:
    hold(say, "--commit", "--at", "09:00", why="dent")
    hold(say, "--commit", "--at", "10:00", why="soot on the valve")
    corrected(say, "#1", "wrong cylinder")
    reverted(repo, "")
    corrected(say, "#2", "wrong cylinder")
    return "Struck out"


def failed(say: Callable[..., Any], whip: str) -> None:
    ran = say("station", "whip", whip, "--fail", "cover cut", "--by", "MV", "--commit")
    assert ran.code == 0, ran.err


def a_whip_beside_another(repo: Repo, say: Callable[..., Any]) -> str:
    whips = "whips: [{name: W1, fitted: 2026-05}, {name: W2, fitted: 2026-05}]\n"
    text = repo.read("station.yaml")
    assert "whips:" not in text
    repo.put("station.yaml", text + whips)
    repo.commit("Whips")
    failed(say, "W1")
    reverted(repo, "")
    failed(say, "W2")
    return "Checked whip W1"


def a_hold_beside_one_in_like_words(repo: Repo, say: Callable[..., Any]) -> str:
    hold(say, "--commit", "--at", "09:00", why="dent near foot")
    hold(say, "--commit", "--at", "10:00", why="dent near neck")
    slip(repo, CARD, "near neck", "near the neck")
    text = repo.read(CARD)
    (first,) = [n for n in text.splitlines(keepends=True) if "near foot" in n]
    repo.put(CARD, text.replace(first, ""))
    repo.commit("Undo")
    return "Held RB-014: dent near foot"


@pytest.mark.parametrize(
    "work",
    [
        of_one_act_on_two,
        a_strike_out_in_the_words_of_another,
        a_whip_beside_another,
        a_hold_beside_one_in_like_words,
        one_of_two_corrections,
        a_reading_and_another_of_the_day,
        a_hold_beside_one_whose_slip_was_mended,
    ],
)
def test_what_only_stands_beside_it_does_not_stand_for_what_was_taken_out(
    repo: Repo, say: Callable[..., Any], work: Callable[[Repo, Callable[..., Any]], str]
) -> None:
    told = work(repo, say)
    ran = say("may-fill", "RB-014")
    text = " ".join(ran.out.split())
    assert ran.code == 1, ran.out
    assert "a commit took it out" in text
    assert told in text
