"""Each commit is judged by the settings in force then, whatever they say today."""

from __future__ import annotations

from pathlib import Path

import pytest
from auditing import APRIL, CARD, MARCH, audited, kinds
from books import GOOD, SETTINGS
from repos import ALONE, Repo, ledger, line

EARLY, LATE = "2026-03-20T18:00:00+01:00", "2026-06-10T18:00:00+02:00"


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    """A ledger that asks for entries within seven days."""
    repo = ledger(tmp_path / "quay")
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + "late_entry: 7\n")
    repo.commit("Seven days")
    return repo


def late(repo: Repo, at: str, day: str = "2026-03-10T09:30:00+01:00") -> None:
    repo.log(line(day))
    repo.commit("Log", at=at)


def test_a_looser_setting_excuses_nothing_before_it(repo: Repo) -> None:
    late(repo, EARLY)
    assert kinds(repo) == ["recorded-late"]
    repo.change("tankbook.yaml", "late_entry: 7", "late_entry: 999")
    repo.commit("Looser", at=APRIL)
    assert "recorded-late" in kinds(repo)


def test_nor_what_is_done_in_the_same_commit(repo: Repo) -> None:
    repo.change("tankbook.yaml", "late_entry: 7", "late_entry: 999")
    late(repo, EARLY)
    assert "recorded-late" in kinds(repo)


def test_what_comes_after_it_is_judged_by_it(repo: Repo) -> None:
    repo.change("tankbook.yaml", "late_entry: 7", "late_entry: 30")
    repo.commit("Looser", at=MARCH)
    late(repo, EARLY)
    assert "recorded-late" not in kinds(repo)


def test_a_stricter_setting_accuses_nobody_of_before(repo: Repo) -> None:
    late(repo, "2026-03-15T18:00:00+01:00")
    repo.change("tankbook.yaml", "late_entry: 7", "late_entry: 1")
    repo.commit("Stricter", at=APRIL)
    assert kinds(repo) == []


def test_what_is_given_by_hand_goes_before_any_setting(repo: Repo) -> None:
    late(repo, EARLY)
    assert audited(repo, late_days=30).signs == ()
    assert len(audited(repo, late_days=5).signs) == 1


def test_each_branch_has_its_own_settings_and_a_merge_the_stricter(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "lax")
    repo.change("tankbook.yaml", "late_entry: 7", "late_entry: 999")
    repo.commit("Looser", at=MARCH)
    late(repo, EARLY, "2026-02-12T09:00:00+01:00")
    repo.git("checkout", "-q", "main")
    repo.put("cylinders/RB-015.yaml", GOOD.replace("K118204", "K2"))
    repo.commit("Here", at=MARCH)
    assert kinds(repo) == []
    repo.git("merge", "-q", "--no-commit", "--no-ff", "lax", at=APRIL)
    repo.log(line("2026-03-25T09:30:00+01:00", "RB-015"))
    repo.commit("Merge", at=APRIL)
    found = [f for f in audited(repo).signs if f.sign == "recorded-late"]
    assert [(f.commit.subject, f.id) for f in found] == [("Merge", "RB-015")]


def test_many_at_once_is_that_of_then(repo: Repo) -> None:
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + "many_at_once: 2\n")
    repo.commit(at=MARCH)
    repo.log(*(line(MARCH, f"RB-1{n:02}") for n in range(3)))
    repo.commit("Evening", at=MARCH)
    repo.change("tankbook.yaml", "many_at_once: 2", "many_at_once: 99")
    repo.commit(at=APRIL)
    assert "many-at-once" in kinds(repo)


def test_settings_that_cannot_be_read_leave_those_before_in_force(repo: Repo) -> None:
    text = repo.read("tankbook.yaml")
    repo.put("tankbook.yaml", "<<<<<<< HEAD\n" + text)
    repo.commit(at=MARCH)
    late(repo, EARLY)
    repo.put("tankbook.yaml", text)
    repo.commit(at=APRIL)
    assert kinds(repo) == ["unreadable", "recorded-late"]


# --- people


def inspection(repo: Repo, at: str, day: str, by: str = "AB") -> None:
    said = f"\n  - {{on: {day}, by: {by}, checklist: annual, result: pass}}"
    repo.change(CARD, "sticker: issued}", "sticker: issued}" + said)
    repo.commit("Inspected", at=at)


AB = "  AB: {certifications: [{skill: inspector, from: 2020-01, until: 2030-01}]}\n"


def test_somebody_removed_since_is_no_sign(repo: Repo) -> None:
    repo.put("tankbook.yaml", SETTINGS.lstrip() + AB)
    repo.commit(at=MARCH)
    inspection(repo, MARCH, "2026-03-10")
    repo.change("tankbook.yaml", AB, "")
    repo.commit("Left us", at=APRIL)
    assert "not-certified" not in kinds(repo)


def test_a_certification_typed_in_soon_after_is_no_sign(repo: Repo) -> None:
    inspection(repo, MARCH, "2026-03-10")
    assert kinds(repo) == ["not-certified"]
    repo.put("tankbook.yaml", "late_entry: 7\n" + SETTINGS.lstrip() + AB)
    repo.commit("Forgot AB", at="2026-03-12T18:00:00+01:00")
    assert kinds(repo) == []


def test_one_typed_in_long_after_is_recorded_late(repo: Repo) -> None:
    inspection(repo, MARCH, "2026-03-10")
    repo.put("tankbook.yaml", "late_entry: 7\n" + SETTINGS.lstrip() + AB)
    repo.commit("Forgot AB", at=LATE)
    (found,) = audited(repo).signs
    assert (found.sign, found.id, found.why) == (
        "recorded-late", "settings",
        "recorded 92 days after cylinders/RB-014.yaml of 2026-03-10, which it covers",
    )  # fmt: skip


def test_a_certification_taken_away_for_one_evening_saves_nobody(repo: Repo) -> None:
    settings = SETTINGS.lstrip() + "late_entry: 7\n"
    tracked = settings.replace("from: 2020-01}", "from: 2020-01}, {skill: filler, from: 2020-01}")
    repo.put("tankbook.yaml", tracked)
    repo.commit(at="2026-02-11T09:00:00+01:00")
    repo.put("tankbook.yaml", settings)
    repo.log(line(MARCH, by="XX"))
    repo.commit("Evening", at=MARCH)
    assert [f.why for f in audited(repo).signs if f.sign == "not-certified"] == [
        "XX is not among the people of tankbook.yaml"
    ]


def test_whoever_had_left_by_what_is_known_now_is_told(repo: Repo) -> None:
    repo.put("tankbook.yaml", SETTINGS.lstrip() + AB)
    repo.commit(at=MARCH)
    inspection(repo, MARCH, "2026-03-10")
    repo.change("tankbook.yaml", AB, AB.replace("AB: {", "AB: {left: 2026-02, "))
    repo.commit("AB had left", at=APRIL)
    assert [f.why for f in audited(repo).signs if f.sign == "not-certified"] == [
        "AB left on 2026-02"
    ]
