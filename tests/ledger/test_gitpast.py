"""Lines of the log that are gone, looked for in every version of it or in some."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from books import GOOD
from repos import ALONE, HEADER, Repo, ledger, line, make_hostile

from tankbook.ledger import gitpast
from tankbook.ledger.files import OnDisk
from tankbook.ledger.gitfiles import head, objects_of
from tankbook.ledger.gitpast import Past, past_of
from tankbook.ledger.gitread import Repository
from tankbook.records.commits import Commit

CARD = "cylinders/RB-014.yaml"
LOG = "fills/2026.csv"


def at(month: int, day: int = 10) -> str:
    return f"2026-{month:02}-{day:02}T09:30:00+00:00"


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    """A fill of RB-014 and one of RB-015 in March, April and May, each month's in one commit."""
    repo = ledger(tmp_path / "quay")
    for month in (3, 4, 5):
        repo.log(line(at(month)), line(at(month, 11), "RB-015"))
        repo.commit(at=at(month, 12))
    return repo


def past(repo: Repo, *ids: str) -> Past:
    repository = Repository.of(repo.root)
    with objects_of(repo.root) as objects:
        tip = head(repository, objects)
        unsaved = Commit("", (tip.id,), "", tip.at, tip.at)
        return past_of(
            repository, objects, tip, unsaved, CARD, ids or ("RB-014",), OnDisk(repo.root)
        )


def gone(repo: Repo, *ids: str) -> list[tuple[str, str, tuple[tuple[str, str, str], ...]]]:
    return [
        (commit.id, change.before.cells[0], change.cells)
        for commit, change in past(repo, *ids).gone
    ]


def test_a_log_that_only_grew(repo: Repo) -> None:
    got = past(repo)
    assert (got.gone, got.every) == ((), "commit")
    assert [s.commit.subject for s in got.steps] == ["Begin"]


def test_an_edited_line_and_a_removed_one(repo: Repo) -> None:
    repo.change(LOG, line(at(3)), line(at(3), to="2900 psi"))
    edited = repo.commit(at=at(6))
    repo.change(LOG, line(at(4)) + "\n", "")
    removed = repo.commit(at=at(7))
    repo.change(LOG, line(at(3, 11), "RB-015"), line(at(3, 11), "RB-015", to="1 psi"))
    repo.commit(at=at(8))
    assert sorted(gone(repo)) == sorted([
        (edited, at(3), (("to", "3000 psi", "2900 psi"),)),
        (removed, at(4), ()),
    ])  # fmt: skip
    assert len(gone(repo, "RB-015", "RB-014")) == 3


def test_a_line_edited_twice_shows_both_edits(repo: Repo) -> None:
    repo.change(LOG, line(at(3)), line(at(3), to="2900 psi"))
    first = repo.commit(at=at(6))
    repo.change(LOG, line(at(3), to="2900 psi"), line(at(3), to="2800 psi"))
    second = repo.commit(at=at(7))
    assert {name for name, _, _ in gone(repo)} == {first, second}


def test_a_line_given_to_another_cylinder(repo: Repo) -> None:
    repo.change(LOG, line(at(3)), line(at(3), "RB-015"))
    name = repo.commit(at=at(6))
    assert gone(repo) == [(name, at(3), (("cylinder", "RB-014", "RB-015"),))]


def test_what_is_not_committed(repo: Repo) -> None:
    repo.change(LOG, line(at(3)), line(at(3), to="2900 psi"))
    assert gone(repo) == [("", at(3), (("to", "3000 psi", "2900 psi"),))]


@pytest.mark.parametrize(
    ("old", "new"),
    [("\n", "\r\n"), (",air,", ',"air",'), (HEADER + "\n", HEADER + "\n\n")],
)
def test_another_way_to_write_a_line_is_no_change(repo: Repo, old: str, new: str) -> None:
    repo.put(".gitattributes", "")
    repo.put(LOG, repo.read(LOG).replace(old, new))
    repo.commit(at=at(6))
    assert gone(repo) == []


def test_a_line_that_moved_to_another_log(repo: Repo) -> None:
    repo.change(LOG, line(at(3)) + "\n", "")
    repo.log(line(at(3)), year="2026-a")
    repo.commit(at=at(6))
    assert gone(repo) == []


def test_an_id_within_another_or_in_another_cell_is_not_meant(repo: Repo) -> None:
    others = [line(at(5), "XRB-014"), line(at(5), "RB-0141"), line(at(5), "RB-015", voids="RB-014"),
              line(at(5), "RB-015", position="RB-014")]  # fmt: skip
    repo.log(*others)
    repo.commit(at=at(5, 13))
    repo.put(LOG, repo.read(LOG).replace("\n".join(others) + "\n", ""))
    repo.commit(at=at(6))
    assert gone(repo) == []


def test_a_quoted_id_is_meant(repo: Repo) -> None:
    repo.change(LOG, line(at(3)), line(at(3)).replace("RB-014", '"RB-014"'))
    repo.commit(at=at(6))
    assert gone(repo) == []
    repo.change(LOG, line(at(3)).replace("RB-014", '"RB-014"') + "\n", "")
    name = repo.commit(at=at(7))
    assert gone(repo) == [(name, at(3), ())]


def test_what_one_side_took_out_is_not_laid_to_the_merge(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "second")
    repo.change(LOG, line(at(3)) + "\n", "")
    bad = repo.commit("Bad", at=at(6))
    repo.git("checkout", "-q", "main")
    repo.log(line(at(6, 11), "RB-015"))
    repo.commit(at=at(6, 12))
    repo.git("merge", "-q", "-m", "merge", "second", at=at(6, 13))
    assert gone(repo) == [(bad, at(3), ())]


def test_a_line_that_lived_on_a_merged_side_only(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "second")
    repo.log(line(at(6)))
    repo.commit(at=at(6, 11))
    repo.change(LOG, line(at(6)) + "\n", "")
    bad = repo.commit(at=at(6, 12))
    repo.git("checkout", "-q", "main")
    repo.git("merge", "-q", "--no-ff", "-m", "merge", "second", at=at(6, 13))
    assert gone(repo) == [(bad, at(6), ())]


def look(monkeypatch: pytest.MonkeyPatch, every: str) -> None:
    """Take the log for too long to be looked at more closely."""
    if every != "commit":
        monkeypatch.setattr(gitpast, "BUDGET", 1)
        monkeypatch.setattr(gitpast, "PERIODS", {every: gitpast.PERIODS[every]})


@pytest.mark.parametrize("every", ["commit", "day", "week", "month"])
def test_a_long_log_is_looked_at_less_closely_and_the_commit_is_found_all_the_same(
    repo: Repo, every: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    repo.log(line(at(6)))
    repo.commit(at=at(6, 11))
    repo.change(LOG, line(at(3)), line(at(3), to="2900 psi"))
    bad = repo.commit(at=at(7))
    repo.log(line(at(8)))
    repo.commit(at=at(8, 11))
    look(monkeypatch, every)
    assert past(repo).every == every
    assert gone(repo) == [(bad, at(3), (("to", "3000 psi", "2900 psi"),))]


@pytest.mark.parametrize(
    ("lines", "commits", "every"),
    [(10, 10, "commit"), (3_000, 3_000, "day"), (3_000, 300, "commit"), (5_000, 5_000, "week"), (60_000, 60_000, "month")],
)  # fmt: skip
def test_how_closely_a_log_can_be_looked_at(lines: int, commits: int, every: str) -> None:
    size = gitpast._Size(lines, 75 * lines, 75 * lines)

    class Told:
        def ask(self, *line_: str) -> bytes:
            return b"1764061200 0\n" * commits

    class Search:
        def missing(self, versions: object) -> dict[tuple[str, ...], str]:
            return {}

    tip = Commit("0", (), "", dt.datetime.now(dt.UTC), dt.datetime.now(dt.UTC))
    where = gitpast._Where(("",), ())
    got = gitpast._looked_for(Told(), None, tip, where, Search(), size)  # type: ignore[arg-type]
    assert got[0] == every


def test_clocks_that_ran_backward_do_not_turn_the_steps_round(repo: Repo) -> None:
    for n, day in enumerate((9, 5, 1)):
        repo.change(CARD, "use: rental", f"place: rack {n}\nuse: rental") if not n else repo.change(
            CARD, f"rack {n - 1}", f"rack {n}"
        )
        repo.commit(f"Rack {n}", at=at(6, day))
    assert [s.commit.subject for s in past(repo).steps] == ["Begin", "Rack 0", "Rack 1", "Rack 2"]


def test_a_card_in_a_folder_of_a_larger_repository(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    repo = Repo.begin(tmp_path / "club")
    inside = Repo(repo.root / "a b/quay")
    for path, text in {"tankbook.yaml": "ledger: x\n", CARD: GOOD.lstrip()}.items():
        inside.put(path, text)
        repo.put(path, "ledger: other\n")
    inside.log(line(at(3)))
    repo.commit()
    inside.change(LOG, line(at(3)), line(at(3), to="2900 psi"))
    bad = repo.commit(at=at(4))
    for every in ("commit", "month"):
        assert gone(inside) == [(bad, at(3), (("to", "3000 psi", "2900 psi"),))]
        assert past(inside).every == every
        monkeypatch.setattr(gitpast, "BUDGET", 1)


@pytest.mark.parametrize("every", ["commit", "month"])
def test_no_configuration_breaks_or_steers_it(
    repo: Repo, every: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    repo.change(LOG, line(at(3)), line(at(3), to="2900 psi"))
    repo.commit("Bad", at=at(6))
    repo.change(CARD, "result: pass", "result: hold")
    repo.commit("Worse", at=at(7))
    look(monkeypatch, every)
    expected = past(repo)
    for name, value in make_hostile(repo).items():
        monkeypatch.setenv(name, value)
    monkeypatch.chdir(repo.root)
    assert repr(past(repo)) == repr(expected)
    assert [s.commit.subject for s in expected.steps] == ["Begin", "Worse"]
    assert not list(repo.root.rglob("pwned"))
