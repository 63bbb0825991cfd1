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


AHEAD, BACK = "2027-03-01T12:00:00+00:00", "2020-01-01T12:00:00+00:00"


@pytest.mark.parametrize("at", [AHEAD, BACK])
@pytest.mark.parametrize("more", [0, 1])
def test_a_clock_that_is_wrong_takes_no_hold_out_of_a_day_it_stood(
    tb: Run, repo: Repo, at: str, more: int
) -> None:
    """Nobody knows when the hold was taken out: with and without it are asked, and the answer
    says so."""
    repo.git("checkout", "-q", "bench")
    for count in range(more):
        repo.put("note.txt", f"{count}")
        repo.commit("Note", at=at)
    repo.change(CARD, HELD, "status: in-service")
    wrong = repo.commit("Gone", at=at, by="TO")[:10]
    repo.put("note.txt", "x")
    repo.commit("Later", at=noon(27))
    repo.commit("Latest", at=noon(28, 9))
    for day in ("2026-11-24", "2026-11-26"):
        ran = ask(tb, repo, "may-fill", "RB-014", day=day)
        assert (ran.code, ran.first[:2]) == (1, "NO"), ran.out
        assert ran.first.count("which does not fit the commits around it") >= 1
        assert wrong in ran.first or more
        *_, fault = ask(tb, repo, "may-fill", "RB-014", "--json", day=day).json
        assert "does not fit" in str(fault)
        assert "SAYS OTHERWISE" in ask(tb, repo, "show", "RB-014", day=day).out
    assert ask(tb, repo, "may-fill", "RB-014", day="2026-11-22").code == 0
    ran = ask(tb, repo, "may-fill", "RB-014", day="2026-11-28")
    assert (ran.code, "another head" in ran.out) == (0, False)


def test_what_was_committed_anew_by_a_pull_that_rebases_stood_where_it_was_written(
    tb: Run, repo: Repo
) -> None:
    repo.git("checkout", "-q", "bench")
    repo.git("rebase", "-q", "main", at=noon(26))
    ran = ask(tb, repo, "may-fill", "RB-014")
    assert (ran.code, "written 2026-11-24 and committed 2026-11-26" in ran.first) == (1, True)
    ran = ask(tb, repo, "may-fill", "RB-014", day="2026-11-23")
    assert (ran.code, "another head" in ran.out) == (0, False)


def test_too_many_dates_that_do_not_fit_are_a_no_that_names_its_cause_and_a_way(
    tb: Run, repo: Repo
) -> None:
    for count in range(30):
        repo.put("note.txt", f"{count}")
        repo.commit("Note", at=AHEAD)
    ran = ask(tb, repo, "may-fill", "RB-014", day="2026-11-25")
    assert (ran.code, ran.first[:2]) == (1, "NO")
    said = " ".join(ran.out.split())
    assert "the dates of 30 commits about 2026-11-25 do not fit together" in said
    assert "--as-of COMMIT" in said
    assert not ask(tb, repo, "may-fill", "RB-014", "--json", day="2026-11-25").json["answered"]
    ran = ask(tb, repo, "show", "RB-014", day="2026-11-25")
    assert (ran.code, "not asked: the dates of 30 commits" in ran.first) == (1, True)
    assert ask(tb, repo, "show", "RB-014", day="main").code == 0


def test_a_head_that_is_not_asked_leaves_no_yes(tb: Run, repo: Repo) -> None:
    for count in range(16):
        repo.put("note.txt", f"{count}")
        repo.commit("Note", at=AHEAD)
        if count in {9, 15}:
            left_out = count == 15
            ran = ask(tb, repo, "show", "SF-014", day="2026-11-25")
            assert (ran.code, "heads more, NOT ASKED" in ran.first) == (left_out, left_out)
            ran = ask(tb, repo, "list", day="2026-11-25")
            assert (ran.code, "heads more, NOT ASKED" in ran.first) == (1, True)
    assert ask(tb, repo, "may-fill", "SF-014", day="2026-11-25").code == 0


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


# --- a cylinder that another head calls otherwise


NEW = "cylinders/CL-001.yaml"
SERIAL = "K118204"


def call(repo: Repo, path: str, other: str, *formerly: str, hour: int = 14) -> None:
    """Give a cylinder another id."""
    text = repo.read(path)
    (repo.root / path).unlink()
    said = f"formerly: [{', '.join(formerly)}]\n" if formerly else ""
    repo.put(other, said + "\n".join(n for n in text.split("\n") if "formerly:" not in n))
    repo.commit(f"Call it {other}", at=noon(24, hour))


def no_of(tb: Run, repo: Repo, *ids: str) -> str:
    """The first line of a NO that another head caused."""
    ran = ask(tb, repo, "may-fill", *ids)
    assert ran.code == 1
    assert ran.first.startswith("NO")
    assert "REFUSES OR LIMITS" in ran.first
    return str(ran.first)


@pytest.mark.parametrize("formerly", [("RB-014",), ()])
def test_one_called_otherwise_here_is_asked_by_its_old_id(
    tb: Run, repo: Repo, formerly: tuple[str, ...]
) -> None:
    call(repo, CARD, NEW, *formerly)
    assert ask(tb, repo, "may-fill", "CL-001").code == 0
    merge(repo)
    assert "REFUSES OR LIMITS CL-001 (RB-014 there)" in no_of(tb, repo, "CL-001")
    (got, *_) = ask(tb, repo, "may-fill", "CL-001", "--json").json
    assert (got["id"], got["fillable"]) == ("CL-001", False)


@pytest.mark.parametrize("formerly", [("RB-014",), ()])
@pytest.mark.parametrize("asked", ["RB-014", "CL-001"])
def test_one_called_otherwise_there_is_asked_by_its_new_id(
    tb: Run, repo: Repo, formerly: tuple[str, ...], asked: str
) -> None:
    repo.git("checkout", "-q", "bench")
    call(repo, CARD, NEW, *formerly)
    repo.git("checkout", "-q", "main")
    merge(repo)
    assert "REFUSES OR LIMITS RB-014 (CL-001 there)" in no_of(tb, repo, asked)


def test_one_called_otherwise_on_both_sides(tb: Run, repo: Repo) -> None:
    call(repo, CARD, NEW, "RB-014")
    repo.put(NEW, repo.read(NEW).replace(SERIAL, "K917"))  # read again
    repo.commit("Read again", at=noon(24, 15))
    repo.git("checkout", "-q", "bench")
    call(repo, CARD, "cylinders/TK-009.yaml", "RB-014")
    repo.git("checkout", "-q", "main")
    repo.git("merge", "-q", "--no-ff", "-s", "ours", "-m", "m", "bench", at=noon(26))
    assert "CL-001 (TK-009 there)" in no_of(tb, repo, "CL-001")


@pytest.mark.parametrize("formerly", [("CL-000",), ("RB-014", "CL-000")])
def test_a_chain_of_new_ids(tb: Run, repo: Repo, formerly: tuple[str, ...]) -> None:
    call(repo, CARD, "cylinders/CL-000.yaml", "RB-014")
    call(repo, "cylinders/CL-000.yaml", NEW, *formerly, hour=15)
    merge(repo)
    assert "CL-001 (RB-014 there)" in no_of(tb, repo, "CL-001")


def test_an_id_that_another_cylinder_has_now(tb: Run, repo: Repo) -> None:
    """What was held is the one that had the id then."""
    other = repo.read(CARD).replace(SERIAL, "Z77001")
    call(repo, CARD, NEW)
    repo.put(CARD, other)
    repo.commit("Another", at=noon(24, 15))
    alone = ask(tb, repo, "may-fill", "RB-014").code
    repo.git("merge", "-q", "--no-ff", "-s", "ours", "-m", "m", "bench", at=noon(26))
    assert "CL-001 (RB-014 there)" in no_of(tb, repo, "CL-001")
    ran = ask(tb, repo, "may-fill", "RB-014")
    assert ran.code == alone
    assert "is no stricter and does not have RB-014" in ran.first


def test_a_new_cylinder_was_not_there_yet(tb: Run, repo: Repo) -> None:
    """It is told as such, and what was held there is another."""
    repo.put(NEW, repo.read(CARD).replace(SERIAL, "Z77001"))
    repo.commit("New", at=noon(24, 14))
    alone = ask(tb, repo, "may-fill", "CL-001").code
    merge(repo)
    ran = ask(tb, repo, "may-fill", "CL-001")
    assert ran.code == alone
    assert "is no stricter and does not have CL-001" in ran.first
    assert "does not have CL-001" in ask(tb, repo, "show", "CL-001").first


def test_a_card_there_that_cannot_be_read_may_be_it(tb: Run, repo: Repo) -> None:
    call(repo, CARD, NEW)
    repo.git("checkout", "-q", "bench")
    call(repo, CARD, "cylinders/TK-009.yaml")
    repo.put("cylinders/TK-009.yaml", "serial: [\n")
    repo.commit("Broken", at=noon(24, 15))
    repo.git("checkout", "-q", "main")
    repo.git("merge", "-q", "--no-ff", "-s", "ours", "-m", "m", "bench", at=noon(26))
    assert "CL-001 (TK-009 there)" in no_of(tb, repo, "CL-001")


def test_a_set_joined_here_is_asked_by_its_cylinders(tb: Run, repo: Repo) -> None:
    text = repo.read(CARD)
    call(repo, CARD, NEW, "RB-014")
    repo.put("cylinders/CL-002.yaml", text.replace(SERIAL, "Z77001"))
    said = "manifold: isolation manifold, 3442 psi\nrating: 3442 psi\nisolator: open\nuse: rental\n"
    repo.put("sets/DB-091.yaml", f"cylinders: [CL-001, CL-002]\n{said}")
    repo.commit("Joined", at=noon(24, 15))
    alone = ask(tb, repo, "may-fill", "DB-091")
    assert "held" not in alone.out
    assert alone.code == 0, alone.out
    merge(repo)
    assert "DB-091 (RB-014 there)" in no_of(tb, repo, "DB-091")


@pytest.mark.parametrize("line", [("show", "CL-001"), ("history", "CL-001"), ("due", "CL-001")])
def test_every_command_asks_by_the_id_there(tb: Run, repo: Repo, line: tuple[str, ...]) -> None:
    call(repo, CARD, NEW, "RB-014")
    merge(repo)
    ran = ask(tb, repo, *line)
    assert "SAYS OTHERWISE" in " ".join(ran.out.split("\n")[:3])
    assert "cannot answer" not in ran.out
