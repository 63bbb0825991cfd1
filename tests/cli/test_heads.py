"""A past day is asked of every head it had: what was merged later is told, and the strictest stands."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import ALONE, Repo

Run = Callable[..., Any]
CARD, OTHER = "cylinders/RB-014.yaml", "cylinders/SF-014.yaml"
DAY = "2026-11-24"


def noon(day: int, hour: int = 12) -> str:
    return dt.datetime(2026, 11, day, hour).astimezone().isoformat()


HELD = "status: held\nheld: [{on: 2026-11-24, by: KD, why: crack suspected}]"


@pytest.fixture(name="repo")
def _repo(ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """The bench held RB-014 on the 24th; the counter merged it on the 26th."""
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    repo = Repo.begin(ledger)
    repo.commit("Begin", at=noon(21))
    repo.git("checkout", "-q", "-b", "bench")
    repo.change(CARD, "status: in-service", HELD)
    repo.commit("Held RB-014", at=noon(24), by="KD")
    repo.git("checkout", "-q", "main")
    repo.put("bookings.csv", "date,reference,use,size,gas,count\n")
    repo.commit("Counter", at=noon(24, 13))
    return repo


def merge(repo: Repo, day: int = 26) -> None:
    repo.git("merge", "-q", "--no-ff", "-m", "merge", "bench", at=noon(day))


def ask(tb: Run, repo: Repo, *line: str, day: str = DAY) -> Any:
    return tb(*line, "--ledger", repo.root, "--as-of", day)


def test_a_pull_does_not_turn_no_into_yes(tb: Run, repo: Repo) -> None:
    """Asked at the bench on the 24th it was no; so it is after the merge."""
    repo.git("checkout", "-q", "bench")
    assert ask(tb, repo, "may-fill", "RB-014").code == 1
    repo.git("checkout", "-q", "main")
    assert ask(tb, repo, "may-fill", "RB-014").code == 0
    merge(repo)
    ran = ask(tb, repo, "may-fill", "RB-014")
    assert ran.code == 1
    assert ran.first.startswith("NO")
    head = repo.git("rev-parse", "bench").strip()[:10]
    assert (
        f"another head of that day, {head} of KD, known here only since the merge of 2026-11-26, "
        "REFUSES OR LIMITS RB-014" in ran.first
    )


def test_it_is_told_in_json_too(tb: Run, repo: Repo) -> None:
    merge(repo)
    answer, *faults = ask(tb, repo, "may-fill", "RB-014", "--json").json
    assert (answer["fillable"], faults[-1]["kind"]) == (False, "other-head")


def test_each_cylinder_has_the_strictest_of_its_answers(tb: Run, repo: Repo) -> None:
    repo.change(OTHER, "status: in-service", HELD.replace("KD", "AB"))
    repo.commit("Held SF-014", at=noon(24, 14), by="AB")
    merge(repo)
    got = ask(tb, repo, "may-fill", "RB-014", "SF-014", "--json").json
    assert [a["fillable"] for a in got[:2]] == [False, False]


def test_an_honest_head_that_is_no_stricter_is_told_and_changes_nothing(
    tb: Run, repo: Repo
) -> None:
    merge(repo)
    ran = ask(tb, repo, "may-fill", "SF-014")
    before = tb("may-fill", "SF-014", "--ledger", repo.root, "--as-of", "main^1")
    assert ran.code == before.code
    assert "is no stricter" in ran.first


@pytest.mark.parametrize("line", [("show", "RB-014"), ("validate",), ("due",), ("list",), ()])
def test_every_answer_says_that_another_head_said_otherwise(
    tb: Run, repo: Repo, line: tuple[str, ...]
) -> None:
    repo.git("checkout", "-q", "bench")
    late = repo.read(CARD).replace("2024-03", "2019-03").replace("K118204", "K118299")
    repo.put("cylinders/RB-017.yaml", late)
    repo.commit("Another", at=noon(24, 14), by="KD")
    repo.git("checkout", "-q", "main")
    merge(repo)
    ran = ask(tb, repo, *line)
    assert "another head of that day, " in " ".join(ran.out.split("\n")[:2])
    assert "known here only since the merge of 2026-11-26, SAYS OTHERWISE" in ran.out
    data = ask(tb, repo, *line, "--json").json
    faults = data if isinstance(data, list) else data["faults"]
    assert any(f.get("kind") == "other-head" for f in faults)


def test_one_that_says_the_same_is_told_as_such(tb: Run, repo: Repo) -> None:
    merge(repo)
    assert "says the same" in ask(tb, repo, "show", "SF-014").first
    assert "another head" in ask(tb, repo, "list", "--csv").err


def test_validate_answers_with_the_worse_code(tb: Run, repo: Repo) -> None:
    repo.git("checkout", "-q", "bench")
    repo.put(CARD, repo.read(CARD).replace("service_pressure: 3000 psi", "service_pressure: x"))
    repo.commit("Broken", at=noon(24, 15), by="KD")
    repo.git("checkout", "-q", "main")
    before = ask(tb, repo, "validate").code
    merge(repo)
    assert (before, ask(tb, repo, "validate").code) in {(0, 1), (1, 1)}
    assert ask(tb, repo, "show", "RB-014").code == 1
    assert ask(tb, repo, "may-fill", "RB-014").code == 1


def test_before_the_other_head_and_after_the_merge_there_is_only_one(tb: Run, repo: Repo) -> None:
    merge(repo)
    for day in ("2026-11-22", "2026-11-26", "2026-11-30"):
        assert "another head" not in ask(tb, repo, "show", "RB-014", day=day).out


def test_a_revision_is_asked_alone(tb: Run, repo: Repo) -> None:
    merge(repo)
    assert "another head" not in ask(tb, repo, "show", "RB-014", day="main^1").out


def test_a_fast_forward_leaves_nothing_to_tell(tb: Run, repo: Repo) -> None:
    repo.git("reset", "-q", "--hard", "main~1")
    repo.git("merge", "-q", "--ff-only", "bench")
    ran = ask(tb, repo, "may-fill", "RB-014")
    assert (ran.code, "another head" in ran.out) == (1, False)


def test_a_file_is_written_once_from_the_line_that_counted(
    tb: Run, repo: Repo, tmp_path: Path
) -> None:
    merge(repo)
    ran = ask(tb, repo, "calendar", "--ics", str(tmp_path / "x.ics"))
    assert (tmp_path / "x.ics").exists()
    assert "not asked" in ran.out


def test_a_back_dated_clock_answers_for_no_earlier_day(tb: Run, repo: Repo) -> None:
    repo.change(OTHER, "status: in-service", HELD)
    repo.commit("Wrong clock", at="2020-01-01T12:00:00+00:00")
    assert ask(tb, repo, "list", day="2020-06-01").code == 2
    assert ask(tb, repo, "may-fill", "SF-014", day="2026-11-22").code == 0
    assert ask(tb, repo, "may-fill", "SF-014", day="2026-11-24").code == 1


def test_other_lines_without_a_ledger_are_none(tb: Run, repo: Repo) -> None:
    repo.git("checkout", "-q", "--orphan", "site")
    repo.git("rm", "-rfq", ".")
    repo.put("index.html", "x")
    repo.commit("Site", at=noon(23))
    repo.git("checkout", "-q", "main")
    repo.git("merge", "-q", "--allow-unrelated-histories", "-m", "m", "site", at=noon(27))
    assert "another head" not in ask(tb, repo, "show", "RB-014").out


def test_audit_and_history_say_it_too(tb: Run, repo: Repo) -> None:
    merge(repo)
    assert "another head of that day" in ask(tb, repo, "history", "RB-014").out
    assert "another head of that day" in ask(tb, repo, "audit").out
