"""`--as-of` on every command that answers, and conflict markers told by every one of them."""

from __future__ import annotations

import datetime as dt
import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from repos import ALONE, Repo, line, make_hostile

from tankbook.cli.commands import COMMANDS

Run = Callable[..., Any]
CARD = "cylinders/RB-014.yaml"


def asks(function: Callable[..., Any]) -> bool:
    """Whether a command answers: it begins with what was asked, as no act does."""
    return next(iter(inspect.signature(function).parameters)) == "asked"


EVERY = {name: each.function for name, each in COMMANDS.items()}
ANSWERING = [name for name, function in EVERY.items() if asks(function)]
LINES = {
    "show": ["RB-014"], "marks": ["DOT-3AL 3000"], "may-fill": ["RB-014"], "capacity": ["RB-014"],
    "tags": ["RB-014"], "history": ["RB-014"],
}  # fmt: skip
"""What to ask of those that do not answer without."""
TRIED = (
    "",
    "show",
    "list",
    "rules",
    "validate",
    "due",
    "may-fill",
    "capacity",
    "fleet",
    "tags",
    "station",
)


def line_for(name: str) -> list[str]:
    return [*([name] if name else []), *LINES.get(name, [])]


@pytest.fixture(name="repo")
def _repo(ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """The small ledger committed on the 21st; on the 24th, local time, RB-014 was held and emptied."""
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    repo = Repo.begin(ledger)
    repo.commit("Begin", at=noon(21))
    repo.git("tag", "before")
    held = "status: held\nheld: [{on: 2026-11-24, by: MV, why: dent}]"
    repo.change(CARD, "status: in-service", held)
    repo.log(line("2026-11-24T10:00:00+01:00", act="drain", to="0 psi", by="MV"))
    repo.commit("Held RB-014", at=noon(24), by="TO")
    return repo


def noon(day: int) -> str:
    return dt.datetime(2026, 11, day, 12).astimezone().isoformat()


@pytest.mark.parametrize("name", ANSWERING)
def test_every_answering_command_takes_it(name: str, tb: Run) -> None:
    assert "--as-of DATE|REV" in tb(name, "--help").out


@pytest.mark.parametrize("name", sorted(set(EVERY) - set(ANSWERING)))
def test_no_other_command_takes_it(name: str, tb: Run) -> None:
    assert "--as-of" not in tb(name, "--help").out


@pytest.mark.parametrize("name", TRIED)
@pytest.mark.parametrize("when", ["before", "2026-11-22"])
def test_the_past_answers_as_the_files_did_then(
    name: str, when: str, tb: Run, repo: Repo, tmp_path: Path
) -> None:
    then = Repo(tmp_path / "then")
    repo.git("worktree", "add", "-q", str(then.root), "before")
    day = "2026-11-21" if when == "before" else when
    plain = [*line_for(name), "--json", "--ledger"]
    past = tb(*plain, repo.root, "--as-of", when)
    files = tb(*plain, then.root, "--on", day)
    assert past.code == files.code
    assert without_git(past.json) == without_git(files.json)
    assert past.err.startswith("tankbook: as of commit ")
    assert f", {noon(21)[:10]} 12:00" in past.err
    assert past.err.endswith(" MV\n")


def without_git(answer: Any) -> Any:
    now = {
        "uncommitted": None,
        "copies": None,
        "history": None,
    }  # of the folder as it is, not of then
    return answer | now if "uncommitted" in answer else answer


def test_what_was_known_on_a_day(tb: Run, repo: Repo) -> None:
    ask = ("may-fill", "RB-014", "--ledger", repo.root)
    assert tb(*ask, "--as-of", "2026-11-23").code == 0
    assert tb(*ask, "--as-of", "2026-11-24").code == 1
    assert tb(*ask, "--as-of", "HEAD").code == 1
    assert tb(*ask, "--as-of", "main~1").code == 0


def test_it_may_stand_before_the_command(tb: Run, repo: Repo) -> None:
    after = tb("show", "RB-014", "--ledger", repo.root, "--as-of", "before")
    before = tb("--as-of", "before", "--ledger", repo.root, "show", "RB-014")
    assert (before.out, before.err) == (after.out, after.err)
    assert after.first.startswith("RB-014 in-service")


def test_a_day_on_its_own_may_be_asked_of_what_was_known(tb: Run, repo: Repo) -> None:
    ask = ("due", "--json", "--ledger", repo.root, "--as-of", "before")
    assert tb(*ask).json != tb(*ask, "--on", "2027-11-25").json


def test_the_rules_are_those_of_then(tb: Run, repo: Repo) -> None:
    row = (
        "heading: Ours\nrows:\n  - {id: shop.outside, obligation: pre-fill-look, gate: refuse, "
        "basis: practice, citation: ours, verified: memory}\n"
    )
    repo.put("rules/shop.yaml", row)
    repo.commit("Rules", at=noon(25))
    assert "shop.outside" in tb("rules", "--ledger", repo.root).out
    assert "shop.outside" not in tb("rules", "--ledger", repo.root, "--as-of", "before").out


def test_what_lies_in_the_folder_is_neither_read_nor_touched(tb: Run, repo: Repo) -> None:
    expected = tb("list", "--as-of", "HEAD", "--ledger", repo.root).out
    repo.put(CARD, "broken: [\n")
    repo.put("cylinders/XX-999.yaml", books.GOOD)
    (repo.root / "fills/2026.csv").unlink()
    status = repo.git("status", "--porcelain")
    assert tb("list", "--as-of", "HEAD", "--ledger", repo.root).out == expected
    assert repo.git("status", "--porcelain") == status


def test_the_board_of_then_says_nothing_of_what_is_uncommitted_now(tb: Run, repo: Repo) -> None:
    repo.put("cylinders/XX-999.yaml", books.GOOD)
    assert tb("--json", "--ledger", repo.root).json["uncommitted"]
    assert tb("--json", "--ledger", repo.root, "--as-of", "HEAD").json["uncommitted"] is None


@pytest.mark.parametrize(
    "text", ["2025-01-01", "2026-02-30", "nosuch", "-n", "--upload-pack=x", "@{", "HEAD:x"]
)
def test_what_git_cannot_answer_is_one_line_and_2(text: str, tb: Run, repo: Repo) -> None:
    ran = tb("list", "--ledger", repo.root, f"--as-of={text}")
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)


def test_without_git_it_is_one_line_and_2(
    tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(ledger.parent))
    ran = tb("due", "--ledger", ledger, "--as-of", "2026-11-22")
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert "the ledger is not in a git repository" in ran.err


@pytest.mark.parametrize("name", ["hold", "fill", "book-in", "send", "inspect"])
def test_the_past_is_not_written(name: str, tb: Run, repo: Repo) -> None:
    more = {"hold": ["--why", "x"], "send": ["--to", "x", "--for", "repair"], "inspect": ["--pass-all"],
            "book-in": ["--serials", "K1"]}.get(name, ["--to", "3000"])  # fmt: skip
    ids = [] if name == "book-in" else ["RB-014"]
    ran = tb("--as-of", "before", "--ledger", repo.root, name, *ids, *more)
    assert (ran.code, ran.out) == (2, "")
    assert "the past can be asked about, not written" in ran.err
    assert repo.git("status", "--porcelain") == ""


# --- a merge that is not settled


@pytest.fixture(name="torn")
def _torn(repo: Repo) -> Repo:
    """Both sides ended the same entry, so that a person must decide."""
    repo.git("checkout", "-q", "-b", "second")
    repo.change(CARD, "why: dent", "why: dent, released: 2026-11-25, released_by: TO")
    repo.commit(at=noon(25))
    repo.git("checkout", "-q", "main")
    repo.change(CARD, "why: dent", "why: dent, released: 2026-11-24, released_by: MV")
    repo.commit(at=noon(25))
    repo.git("merge", "-q", "second", ok=False)
    return repo


def markers(repo: Repo) -> list[int]:
    marked = ("<<<<<<<", "=======", ">>>>>>>")
    return [n for n, text in enumerate(repo.read(CARD).splitlines(), 1) if text.startswith(marked)]


@pytest.mark.parametrize("name", TRIED)
def test_markers_are_told_with_their_lines_and_never_parsed(name: str, tb: Run, torn: Repo) -> None:
    ran = tb(*line_for(name), "--ledger", torn.root, "--on", "2026-11-25")
    assert len(markers(torn)) == 3
    said = ran.out + ran.err
    if name == "validate":
        assert all(
            f"{CARD}:{n}:1: fault: a merge conflict is not settled here" in said
            for n in markers(torn)
        )
    else:
        named = ", ".join(map(str, markers(torn)))
        assert f"{CARD}: a merge conflict is not settled at line {named}; keep the lines" in ran.err
    assert ran.code == 1


@pytest.mark.parametrize("path", ["tankbook.yaml", "fills/2026.csv", "station.yaml"])
def test_markers_in_other_files_are_told_too(path: str, tb: Run, repo: Repo) -> None:
    text = repo.read(path)
    repo.put(path, f"{text}<<<<<<< HEAD\n=======\n>>>>>>> second\n")
    lines = text.count("\n")
    ran = tb("list", "--ledger", repo.root)
    if path == "tankbook.yaml":
        assert ran.code == 2
        assert f"{path}:{lines + 1}:1: a merge conflict is not settled here" in ran.err
    else:
        assert ran.code == 1
        assert (
            f"{path}: a merge conflict is not settled at line {lines + 1}, {lines + 2}, {lines + 3}"
            in ran.err
        )


# --- whatever git is told to do


@pytest.mark.parametrize(
    "asked",
    [
        ("list", "--as-of", "HEAD"),
        ("list", "--as-of", "2026-11-22"),
        ("history", "RB-014"),
        ("audit",),
        (),
    ],
)
def test_no_configuration_breaks_or_steers_an_answer(
    asked: tuple[str, ...], tb: Run, repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    repo.put(".mailmap", "")
    repo.commit(at=noon(25))
    line_ = (*asked, "--ledger", repo.root, "--on", "2026-11-25")
    expected = tb(*line_)
    assert expected.code in (0, 1)
    for name, value in make_hostile(repo).items():
        monkeypatch.setenv(name, value)
    repo.put(".mailmap", "")
    monkeypatch.chdir(repo.root)
    assert tb(*line_) == expected
    assert not list(repo.root.rglob("pwned"))
