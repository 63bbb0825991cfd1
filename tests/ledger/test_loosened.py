"""Settings, rules and whole files loosened or taken out, found in real repositories."""

from __future__ import annotations

from pathlib import Path

import pytest
from auditing import APRIL, MARCH, audited, brief, kinds
from books import GOOD
from repos import ALONE, Repo, ledger, line

ROW = (
    "  - {id: shop.look, obligation: pre-fill-look, gate: refuse, basis: practice, "
    "citation: ours, verified: memory}\n"
)
RULES = "heading: Ours\nrows:\n" + ROW
STEPS = "steps:\n  - {name: boot, group: outside, look_for: rust}\n"
SHOP, LIST = "rules/shop.yaml", "checklists/ours.yaml"
SET = "cylinders: [RB-014, RB-015]\nuse: rental\n"


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    repo = ledger(tmp_path / "quay")
    repo.put(SHOP, RULES)
    repo.put(LIST, STEPS)
    repo.put("sets/DB-01.yaml", SET)
    repo.put("station.yaml", "regulator_set: 3000 psi\n")
    repo.log(line("2026-03-10T09:30:00+01:00"))
    repo.commit("Ours", at=MARCH)
    assert kinds(repo) == []
    return repo


def test_a_looser_setting_is_a_sign_and_a_stricter_one_is_none(repo: Repo) -> None:
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + "late_entry: 7\nsigned: no\n")
    repo.commit(at=MARCH)
    assert kinds(repo) == []
    repo.change("tankbook.yaml", "late_entry: 7", "late_entry: 999")
    repo.commit(at=APRIL)
    (found,) = audited(repo).signs
    assert (found.sign, found.id, found.what) == ("settings-loosened", "settings", "late_entry")
    assert found.differs == (("late_entry", "7", "999"),)


def test_what_a_ledger_begins_with_is_no_sign(tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "quay")
    repo.put("tankbook.yaml", "ledger: Q\nunits: psi\nrules: [us-dot]\nlate_entry: 999\n")
    repo.put(SHOP, RULES.replace("shop.look", "bench.outside").replace("refuse", "warn"))
    repo.commit()
    assert kinds(repo) == []


def test_a_ledger_that_is_begun_anew_is_excused_nothing(repo: Repo) -> None:
    settings = repo.read("tankbook.yaml")
    (repo.root / "tankbook.yaml").unlink()
    repo.commit("Gone", at=APRIL)
    repo.put("tankbook.yaml", settings + "late_entry: 999\n")
    repo.change(SHOP, "gate: refuse", "gate: warn")
    repo.log(line("2026-02-12T09:30:00+01:00"))
    repo.commit("Begin", at=APRIL)
    assert kinds(repo) == [
        "record-removed", "settings-loosened", "rules-loosened", "recorded-late",
    ]  # fmt: skip


def test_what_it_began_with_is_counted_and_no_sign(tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "imported")
    repo.put("tankbook.yaml", "ledger: Q\nunits: psi\nrules: [us-dot]\n")
    repo.put("cylinders/RB-014.yaml", GOOD.lstrip())
    repo.log(line("2024-03-10T09:30:00+01:00"), line("2026-02-10T08:30:00+01:00"))
    repo.commit()
    got = audited(repo)
    assert (got.signs, got.brought) == ((), 2)


@pytest.mark.parametrize("path", [SHOP, LIST, "sets/DB-01.yaml", "station.yaml"])
def test_a_whole_file_taken_out(repo: Repo, path: str) -> None:
    (repo.root / path).unlink()
    repo.commit(at=APRIL)
    (found,) = audited(repo).signs
    assert (found.sign, found.path) == ("record-removed", path)
    if path == SHOP:
        assert found.why == "the whole file was taken out, with shop.look"


def test_a_whole_folder_of_rules_that_is_not_committed_yet(repo: Repo) -> None:
    from tankbook.ledger.files import OnDisk
    from tankbook.ledger.gitfiles import files_at, head, objects_of
    from tankbook.ledger.gitread import Repository
    from tankbook.ledger.gitwalk import unsaved

    (repo.root / SHOP).unlink()
    repository = Repository.of(repo.root)
    with objects_of(repo.root) as objects:
        tip = head(repository, objects)
        step = unsaved(files_at(repository, objects, tip), OnDisk(repo.root), tip.at)
    assert [(f.path, f.exists) for f in step.files] == [(SHOP, False)]


def test_what_the_settings_say_of_a_file_taken_out_is_told_with_it(repo: Repo) -> None:
    (repo.root / SHOP).unlink()
    said = "removed: [{on: 2026-04-10, by: MV, what: rules/shop.yaml, why: it repeated others}]\n"
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + said)
    repo.commit(at=APRIL)
    (found,) = audited(repo).signs
    assert found.why.endswith("with shop.look, by MV: it repeated others")


def test_rules_that_ask_less(repo: Repo) -> None:
    repo.change(SHOP, "gate: refuse", "gate: warn")
    repo.commit(at=APRIL)
    assert brief(audited(repo).signs) == [("rules-loosened", "rules", "shop.look")]
    repo.change(SHOP, "gate: warn", "gate: refuse")
    repo.commit(at=APRIL)
    assert len(audited(repo).signs) == 1


def test_rules_that_only_moved_to_another_file(repo: Repo) -> None:
    (repo.root / SHOP).rename(repo.root / "rules/quay.yaml")
    repo.commit(at=APRIL)
    assert kinds(repo) == []


def test_rules_loosened_on_a_branch_are_told_once_and_by_a_merge_too(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "lax")
    repo.change(SHOP, "gate: refuse", "gate: warn")
    bad = repo.commit("Lax", at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.put("bookings.csv", "x\n")
    repo.commit(at=APRIL)
    repo.git("merge", "-q", "-m", "merge", "lax", at=APRIL)
    assert [(f.sign, f.commit.id) for f in audited(repo).signs] == [("rules-loosened", bad)]


def test_rules_that_one_side_had_and_a_merge_dropped(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "strict")
    repo.put("rules/more.yaml", RULES.replace("shop.look", "shop.more"))
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + "late_entry: 3\n")
    repo.commit(at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.put("bookings.csv", "x\n")
    repo.commit(at=APRIL)
    repo.git("merge", "-q", "-s", "ours", "-m", "merge", "strict", at=APRIL)
    found = brief(audited(repo).signs)
    assert ("lost-in-merge", "rules", "shop.more") in found
    assert ("lost-in-merge", "settings", "late_entry") in found


def test_an_edit_of_the_file_does_not_explain_the_loss_of_a_row(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "strict")
    one, more = RULES, RULES.replace("shop.look", "shop.more").partition("rows:\n")[2]
    repo.put(SHOP, one + more)
    repo.commit(at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.put(SHOP, f"{one}# said anew\n")
    repo.commit(at=APRIL)
    repo.git("merge", "-q", "-s", "ours", "-m", "merge", "strict", at=APRIL)
    assert brief(audited(repo).signs) == [("lost-in-merge", "rules", "shop.more")]


def test_a_checklist_that_looks_at_less(repo: Repo) -> None:
    repo.put(LIST, STEPS.replace("boot", "stamp"))
    repo.commit(at=APRIL)
    assert brief(audited(repo).signs) == [("rules-loosened", "checklists", "boot")]
