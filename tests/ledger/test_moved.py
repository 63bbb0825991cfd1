"""A ledger whose folder was moved, cards and sets that were renamed: nothing is lost from sight."""

from __future__ import annotations

from pathlib import Path

import pytest
from auditing import APRIL, CARD, LOG, MARCH, audited, brief, kinds
from books import GOOD, SETTINGS
from repos import ALONE, HEADER, Repo, ledger, line

from tankbook.ledger.files import OnDisk
from tankbook.ledger.gitfiles import commit_asked, head, objects_of
from tankbook.ledger.gitpast import Past, past_of
from tankbook.ledger.gitread import Repository
from tankbook.ledger.gitwalk import files_then
from tankbook.ledger.load import load_from
from tankbook.records.commits import Commit
from tankbook.rules.history import life_story
from tankbook.rules.vanished import stem

NINE = "2026-03-10T09:30:00+01:00"
HELD = "held:\n  - {on: 2026-03-10, by: MV, why: dent}\n"
OLD = "{on: 2024-03, method"
LATER = "{on: 2025-03, method"


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


def begin(root: Path, folder: str) -> Repo:
    """A club's repository with a ledger in one of its folders, of February and March."""
    repo = Repo.begin(root)
    repo.put("readme", "the club\n")
    repo.commit("Club")
    inside = within(repo, folder)
    inside.put("tankbook.yaml", SETTINGS.lstrip())
    inside.put(CARD, GOOD.lstrip())
    repo.commit("Begin")
    inside.log(line(NINE))
    inside.put(CARD, inside.read(CARD) + HELD)
    repo.commit("Held", at=MARCH)
    return repo


def within(repo: Repo, folder: str) -> Repo:
    return Repo(repo.root / folder) if folder else repo


def move(repo: Repo, before: str, after: str) -> Repo:
    for name in ("tankbook.yaml", "cylinders", "fills"):
        (repo.root / after).mkdir(parents=True, exist_ok=True)
        (repo.root / before / name).rename(repo.root / after / name)
    return within(repo, after)


MOVES = [("shop", "club/ledger"), ("", "ledger"), ("ledger", ""), ("a b", "Prüf\tung")]


@pytest.mark.parametrize(("before", "after"), MOVES)
def test_a_move_is_followed_and_no_sign(tmp_path: Path, before: str, after: str) -> None:
    repo = begin(tmp_path / "club", before)
    within(repo, before).change(CARD, OLD, LATER)
    bad = repo.commit("Bad", at=MARCH)
    inside = move(repo, before, after)
    moved = repo.commit("Move", at=APRIL)
    inside.log(line("2026-04-10T09:30:00+02:00"))
    repo.commit("After", at=APRIL)
    got = audited(inside)
    assert [(f.sign.value, f.commit.id) for f in got.signs] == [("entry-altered", bad)]
    assert (got.commits, got.entries, got.lines) == (5, 4, 2)
    ((m),) = got.moves
    slash = [f and f"{f}/" for f in (before, after)]
    assert (m.commit.id, m.before, m.after) == (moved, *slash)


def test_there_and_back_and_on(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    within(repo, "shop").change(CARD, OLD, LATER)
    repo.commit("Bad", at=MARCH)
    for before, after in (("shop", "club"), ("club", "shop"), ("shop", ""), ("", "shop")):
        move(repo, before, after)
        repo.commit(f"To {after}", at=APRIL)
    got = audited(within(repo, "shop"))
    assert brief(got.signs) == [("entry-altered", "RB-014", "requalified 2024-03")]
    assert [m.after for m in got.moves] == ["club/", "shop/", "", "shop/"]


@pytest.mark.parametrize(("before", "after"), MOVES[1:3])
def test_what_was_changed_in_the_commit_that_moved_it(
    tmp_path: Path, before: str, after: str
) -> None:
    repo = begin(tmp_path / "club", before)
    inside = move(repo, before, after)
    inside.change(CARD, OLD, LATER)
    inside.change(LOG, line(NINE), line(NINE, to="2900 psi"))
    inside.put("tankbook.yaml", inside.read("tankbook.yaml") + "late_entry: 99\n")
    repo.commit("Move", at=APRIL)
    assert brief(audited(inside).signs) == [
        ("settings-loosened", "settings", "late_entry"),
        ("entry-altered", "RB-014", "requalified 2024-03"),
        ("line-edited", "RB-014", f"fill {NINE}"),
    ]


def test_what_was_left_out_in_the_commit_that_moved_it(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    inside = move(repo, "shop", "ledger")
    (inside.root / CARD).unlink()
    inside.put(LOG, HEADER + "\n")
    repo.commit("Move", at=APRIL)
    assert brief(audited(inside).signs) == [
        ("record-removed", "RB-014", ""),
        ("line-removed", "RB-014", f"fill {NINE}"),
    ]


def test_a_copy_whose_original_is_taken_out_later(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    within(repo, "shop").change(CARD, OLD, LATER)
    repo.commit("Bad", at=MARCH)
    for name in ("tankbook.yaml", CARD, LOG):
        repo.put(f"ledger/{name}", repo.read(f"shop/{name}"))
    repo.commit("Copy", at=APRIL)
    repo.git("rm", "-rq", "shop")
    repo.commit("Tidy up", at=APRIL)
    assert kinds(within(repo, "ledger")) == ["entry-altered"]


def test_a_move_on_a_branch_merged_with_work_done_in_the_old_folder(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    repo.git("checkout", "-q", "-b", "tidy")
    move(repo, "shop", "club/ledger")
    repo.commit("Move", at=APRIL)
    repo.git("checkout", "-q", "main")
    shop = within(repo, "shop")
    shop.log(line("2026-04-10T09:30:00+02:00"))
    shop.change(CARD, "why: dent", "why: dent, released: 2026-04-10, released_by: MV")
    repo.commit("Meanwhile", at=APRIL)
    shop.change(CARD, OLD, LATER)
    bad = repo.commit("Bad", at=APRIL)
    repo.git("merge", "-q", "-m", "merge", "tidy", at=APRIL)
    inside = within(repo, "club/ledger")
    assert "released" in inside.read(CARD)
    assert LATER in inside.read(CARD)
    got = audited(inside)
    assert [(f.sign.value, f.commit.id) for f in got.signs] == [("entry-altered", bad)]
    assert got.lines == 2


def test_a_merge_that_moves_and_drops_what_the_old_folder_had(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    repo.git("checkout", "-q", "-b", "tidy")
    move(repo, "shop", "ledger")
    repo.commit("Move", at=APRIL)
    repo.git("checkout", "-q", "main")
    within(repo, "shop").log(line("2026-04-10T09:30:00+02:00"))
    repo.commit("Meanwhile", at=APRIL)
    repo.git("checkout", "-q", "tidy")
    repo.git("merge", "-q", "-s", "ours", "-m", "merge", "main", at=APRIL)
    found = brief(audited(within(repo, "ledger")).signs)
    assert found == [("lost-in-merge", "RB-014", "fill 2026-04-10T09:30:00+02:00")]


def test_another_ledger_beside_it_is_another(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    within(repo, "shop").change(CARD, OLD, LATER)
    repo.commit("Bad", at=MARCH)
    repo.put("pool/tankbook.yaml", SETTINGS.lstrip().replace("Test Quay", "Pool"))
    repo.put(f"pool/{CARD}", GOOD.replace("K118204", "K9"))
    repo.commit("Pool", at=APRIL)
    got = audited(within(repo, "pool"))
    assert (kinds(within(repo, "pool")), got.commits, got.moves) == ([], 1, ())
    assert kinds(within(repo, "shop")) == ["entry-altered"]


def test_one_of_two_ledgers_is_moved(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    repo.put("pool/tankbook.yaml", SETTINGS.lstrip().replace("Test Quay", "Pool"))
    repo.put(f"pool/{CARD}", GOOD.replace("K118204", "K9"))
    repo.commit("Pool", at=APRIL)
    inside = within(repo, "pool")
    inside.change(CARD, "result: pass", "result: hold")
    repo.commit("Bad", at=APRIL)
    for name in ("tankbook.yaml", CARD):
        repo.put(f"lake/{name}", inside.read(name))
    repo.git("rm", "-rq", "pool")
    repo.commit("Move", at=APRIL)
    got = audited(within(repo, "lake"))
    assert (kinds(within(repo, "lake")), got.moves[0].before) == (["entry-altered"], "pool/")


# --- cards and sets


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    repo = ledger(tmp_path / "quay")
    repo.put(CARD, repo.read(CARD) + HELD)
    repo.put("sets/DB-01.yaml", "cylinders: [RB-014, RB-015]\nrating: 3000 psi\nuse: rental\n")
    repo.commit(at=MARCH)
    return repo


NEW = "cylinders/CL-001.yaml"
FORMERLY = "formerly: [RB-014]\n"


def rename(repo: Repo, *, formerly: bool = True) -> None:
    (repo.root / CARD).rename(repo.root / NEW)
    if formerly:
        repo.put(NEW, FORMERLY + repo.read(NEW))


def test_a_card_renamed_with_formerly_is_no_sign(repo: Repo) -> None:
    rename(repo)
    repo.commit(at=APRIL)
    assert kinds(repo) == []


def test_one_renamed_without_it_names_both(repo: Repo) -> None:
    rename(repo, formerly=False)
    repo.commit(at=APRIL)
    (found,) = audited(repo).signs
    assert (found.sign, found.id, found.why) == (
        "renamed", "CL-001", "RB-014 goes on as CL-001, and `formerly` does not say so",
    )  # fmt: skip


@pytest.mark.parametrize("formerly", [True, False])
@pytest.mark.parametrize("serial", ["K118204", "K118205"])
def test_a_date_altered_in_the_same_commit(repo: Repo, formerly: bool, serial: str) -> None:
    rename(repo, formerly=formerly)
    repo.put(NEW, repo.read(NEW).replace(OLD, LATER).replace("K118204", serial))
    repo.commit(at=APRIL)
    found = brief(audited(repo).signs)
    assert ("entry-altered", "CL-001", "requalified 2024-03") in found
    assert (("fact-altered", "CL-001", "serial") in found) is (serial != "K118204")
    assert (("renamed", "CL-001", "") in found) is not formerly


def test_a_card_taken_out_first_and_put_back_under_another_id(repo: Repo) -> None:
    text = repo.read(CARD)
    (repo.root / CARD).unlink()
    repo.commit(at=APRIL)
    repo.put(NEW, text.replace(OLD, LATER))
    repo.commit(at=APRIL)
    assert kinds(repo) == ["record-removed", "renamed", "entry-altered"]


def test_a_card_copied_to_another_id_first_and_taken_out_later(repo: Repo) -> None:
    repo.put(NEW, FORMERLY + repo.read(CARD).replace(OLD, LATER))
    repo.commit(at=APRIL)
    (repo.root / CARD).unlink()
    repo.commit(at=APRIL)
    assert brief(audited(repo).signs) == [("entry-altered", "CL-001", "requalified 2024-03")]


def test_another_cylinder_in_its_stead_is_another(repo: Repo) -> None:
    (repo.root / CARD).unlink()
    repo.put(NEW, "serial: X1\nservice_pressure: 207 bar\nuse: pool\n")
    repo.commit(at=APRIL)
    assert brief(audited(repo).signs) == [("record-removed", "RB-014", "")]


def test_a_cylinder_of_the_same_make_in_its_stead_is_another(repo: Repo) -> None:
    """A fleet has makers, sizes and days in common."""
    other = repo.read(CARD).replace("K118204", "X9").replace("2024-03", "2025-06")
    (repo.root / CARD).unlink()
    repo.put(NEW, other.replace(HELD, "").replace("on: 2026-02-09", "on: 2026-03-30"))
    repo.commit(at=APRIL)
    assert brief(audited(repo).signs)[0] == ("record-removed", "RB-014", "")


def test_a_set_renamed(repo: Repo) -> None:
    (repo.root / "sets/DB-01.yaml").rename(repo.root / "sets/TW-01.yaml")
    repo.commit(at=APRIL)
    assert [(f.sign.value, f.id) for f in audited(repo).signs] == [("renamed", "TW-01")]


def test_renamed_on_a_branch_and_merged(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "ids")
    rename(repo)
    repo.commit(at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.put("bookings.csv", "x\n")
    repo.commit(at=APRIL)
    repo.git("merge", "-q", "-m", "merge", "ids", at=APRIL)
    assert kinds(repo) == []


def test_moved_and_renamed_in_one_commit(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    inside = move(repo, "shop", "ledger")
    rename(inside)
    inside.put(NEW, inside.read(NEW).replace(OLD, LATER))
    repo.commit("Move", at=APRIL)
    assert brief(audited(inside).signs) == [("entry-altered", "CL-001", "requalified 2024-03")]


# --- renamed on one side, recorded on the other


MAY = "2026-05-20T18:00:00+02:00"
CRACKED = "{on: 2026-04-10, by: TO, why: looks cracked}"


def crack(repo: Repo, path: str = CARD) -> None:
    repo.put(path, repo.read(path).replace("held:\n", f"held:\n  - {CRACKED}\n"))
    repo.commit("Cracked", at=APRIL, by="TO")


def call(repo: Repo, path: str, other: str, *formerly: str) -> None:
    text = repo.read(path).removeprefix(FORMERLY)
    (repo.root / path).unlink()
    repo.put(other, (f"formerly: [{', '.join(formerly)}]\n" if formerly else "") + text)
    repo.commit(f"Call it {stem(other)}", at=APRIL)


def join(repo: Repo, other: Repo, how: str = "ort") -> None:
    """Begin to merge in May what another clone did in April."""
    repo.git("fetch", "-q", str(other.root), "main")
    more = ("--no-commit", "--no-ff", "-s", how)
    repo.git("merge", "-q", *more, "FETCH_HEAD", at=MAY, ok=False)


@pytest.fixture(name="bench")
def _bench(repo: Repo, tmp_path: Path) -> Repo:
    """Another clone, in which RB-014 was held under its old id."""
    bench = repo.clone(tmp_path / "bench")
    crack(bench)
    return bench


@pytest.mark.parametrize(("formerly", "signs"), [(("RB-014",), []), ((), ["renamed"])])
@pytest.mark.parametrize("pulled", [True, False])
def test_what_the_other_side_recorded_under_the_old_id_is_no_sign(
    repo: Repo, bench: Repo, formerly: tuple[str, ...], signs: list[str], pulled: bool
) -> None:
    call(repo, CARD, NEW, *formerly)
    here, there = (repo, bench) if pulled else (bench, repo)
    join(here, there)
    assert "cracked" in here.read(NEW)
    here.commit("Merge", at=MAY)
    assert kinds(here) == signs


@pytest.mark.parametrize("formerly", [("RB-014",), ()])
@pytest.mark.parametrize("how", ["resolve", "ours"])
def test_what_a_merge_lost_of_the_old_id_is_told(
    repo: Repo, bench: Repo, formerly: tuple[str, ...], how: str
) -> None:
    call(repo, CARD, NEW, *formerly)
    join(repo, bench, how)
    (repo.root / CARD).unlink(missing_ok=True)
    repo.commit("Merge", at=MAY)
    found = [f for f in brief(audited(repo).signs) if f[0] != "renamed"]
    assert found == [("lost-in-merge", "CL-001", "held 2026-04-10")]


CHAIN = [("CL-000", ("RB-014",)), ("CL-001", ("CL-000",))]


@pytest.mark.parametrize("kept", [True, False])
@pytest.mark.parametrize("serial", [True, False])
def test_a_chain_of_new_ids(repo: Repo, tmp_path: Path, kept: bool, serial: bool) -> None:
    if not serial:
        repo.put(CARD, repo.read(CARD).replace("serial: K118204\n", ""))
        repo.commit(at=MARCH)
    bench = repo.clone(tmp_path / "bench")
    crack(bench)
    path = CARD
    for name, formerly in CHAIN:
        call(repo, path, f"cylinders/{name}.yaml", *formerly)
        path = f"cylinders/{name}.yaml"
    join(repo, bench, "ours")
    if kept:
        repo.put(NEW, repo.read(NEW).replace("held:\n", f"held:\n  - {CRACKED}\n"))
    repo.commit("Merge", at=MAY)
    lost = [("lost-in-merge", "CL-001", "held 2026-04-10")]
    found = [f for f in brief(audited(repo).signs) if f[0] != "fact-altered"]
    assert found == ([] if kept else lost)


@pytest.mark.parametrize("kept", [True, False])
def test_called_otherwise_on_both_sides(repo: Repo, bench: Repo, kept: bool) -> None:
    other = "cylinders/TK-9.yaml"
    call(repo, CARD, NEW, "RB-014")
    call(bench, CARD, other, "RB-014")
    join(repo, bench)
    for path in (CARD, other):
        (repo.root / path).unlink(missing_ok=True)
    repo.put(NEW, repo.git("show", "HEAD:" + NEW).replace("[RB-014]", "[RB-014, TK-9]"))
    if kept:
        repo.put(NEW, repo.read(NEW).replace("held:\n", f"held:\n  - {CRACKED}\n"))
    repo.commit("Merge", at=MAY)
    lost = [("lost-in-merge", "CL-001", "held 2026-04-10")]
    assert brief(audited(repo).signs) == ([] if kept else lost)


def test_of_two_new_ids_the_one_that_went_is_to_be_named(repo: Repo, bench: Repo) -> None:
    call(repo, CARD, NEW, "RB-014")
    call(bench, CARD, "cylinders/TK-9.yaml", "RB-014")
    join(repo, bench, "ours")
    repo.put(NEW, repo.read(NEW).replace("held:\n", f"held:\n  - {CRACKED}\n"))
    repo.commit("Merge", at=MAY)
    assert brief(audited(repo).signs) == [("renamed", "CL-001", "")]


ANOTHER = GOOD.lstrip().replace("K118204", "Z1").replace("2024-03", "2025-07")


@pytest.mark.parametrize("at_once", [True, False])
def test_an_id_given_to_another_cylinder_afterwards(repo: Repo, at_once: bool) -> None:
    rename(repo)
    if not at_once:
        repo.commit(at=APRIL)
    repo.put(CARD, ANOTHER)
    repo.commit(at=APRIL)
    assert kinds(repo) == []
    repo.put(NEW, repo.read(NEW).replace(OLD, LATER))
    repo.commit(at=APRIL)
    assert brief(audited(repo).signs) == [("entry-altered", "CL-001", "requalified 2024-03")]


def test_the_same_cylinder_put_back_under_its_old_id_is_compared(repo: Repo) -> None:
    text = repo.read(CARD)
    rename(repo)
    repo.commit(at=APRIL)
    repo.put(CARD, text.replace(HELD, ""))
    repo.commit(at=APRIL)
    assert brief(audited(repo).signs) == [("entry-removed", "RB-014", "held 2026-03-10")]


def test_a_set_id_given_to_another_afterwards(repo: Repo) -> None:
    old, new = "sets/DB-01.yaml", "sets/TW-01.yaml"
    text = repo.read(old)
    repo.put(old, text + "rented:\n  - {on: 2026-03-10, to: B-1, until: 2026-03-12}\n")
    repo.commit(at=MARCH)
    call(repo, old, new, "DB-01")
    repo.put(old, text.replace("RB-014, RB-015", "RB-020, RB-021"))
    repo.commit(at=APRIL)
    assert kinds(repo) == []


def test_an_entry_that_a_merge_put_on_the_cylinder_that_has_the_id_now(
    repo: Repo, bench: Repo
) -> None:
    rename(repo)
    repo.put(CARD, ANOTHER)
    repo.commit(at=APRIL)
    join(repo, bench, "ours")
    repo.put(CARD, f"{ANOTHER}held:\n  - {CRACKED}\n")
    repo.commit("Merge", at=MAY)
    assert ("lost-in-merge", "CL-001", "held 2026-04-10") in brief(audited(repo).signs)


def test_what_was_taken_out_before_the_new_id_is_told_once(repo: Repo, tmp_path: Path) -> None:
    bench = repo.clone(tmp_path / "bench")
    bench.put("bookings.csv", "x\n")
    bench.commit(at=APRIL)
    repo.change(CARD, HELD, "")
    repo.commit("Taken out", at=APRIL)
    call(repo, CARD, NEW, "RB-014")
    join(repo, bench)
    repo.commit("Merge", at=MAY)
    assert brief(audited(repo).signs) == [("entry-removed", "RB-014", "held 2026-03-10")]


def test_a_merge_that_calls_it_otherwise_by_itself(repo: Repo, bench: Repo) -> None:
    repo.put("bookings.csv", "x\n")
    repo.commit(at=APRIL)
    join(repo, bench)
    rename(repo)
    repo.commit("Merge", at=MAY)
    assert kinds(repo) == []


def test_one_that_has_both_ids_for_a_while(repo: Repo, tmp_path: Path) -> None:
    repo.put(NEW, FORMERLY + repo.read(CARD))
    repo.commit("Copied", at=MARCH)
    bench = repo.clone(tmp_path / "bench")
    crack(bench)
    (repo.root / CARD).unlink()
    repo.commit("And taken out", at=APRIL)
    join(repo, bench, "ours")
    repo.commit("Merge", at=MAY)
    assert brief(audited(repo).signs) == [("lost-in-merge", "CL-001", "held 2026-04-10")]


def test_a_card_taken_out_after_it_was_called_otherwise(repo: Repo) -> None:
    rename(repo)
    repo.commit(at=APRIL)
    (repo.root / NEW).unlink()
    repo.commit(at=APRIL)
    assert brief(audited(repo).signs) == [("record-removed", "CL-001", "")]


def test_a_set_called_otherwise_and_rented_on_the_other_side(repo: Repo, tmp_path: Path) -> None:
    old, new = "sets/DB-01.yaml", "sets/TW-01.yaml"
    rented = "rented:\n  - {on: 2026-04-10, to: B-1, until: 2026-04-12}\n"
    bench = repo.clone(tmp_path / "bench")
    bench.put(old, bench.read(old) + rented)
    bench.commit(at=APRIL)
    call(repo, old, new, "DB-01")
    join(repo, bench, "ours")
    repo.commit("Merge", at=MAY)
    assert brief(audited(repo).signs) == [("lost-in-merge", "TW-01", "rented 2026-04-10")]
    repo.git("reset", "-q", "--hard", "HEAD~1")
    join(repo, bench)
    repo.put(new, repo.read(new) if "B-1" in repo.read(new) else repo.read(new) + rented)
    repo.commit("Merge", at=MAY)
    assert kinds(repo) == []


@pytest.mark.parametrize("how", ["ort", "ours"])
def test_moved_and_called_otherwise_on_one_side(tmp_path: Path, how: str) -> None:
    repo = begin(tmp_path / "club", "shop")
    bench = repo.clone(tmp_path / "bench")
    crack(within(bench, "shop"))
    inside = move(repo, "shop", "ledger")
    repo.commit("Move", at=APRIL)
    call(inside, CARD, NEW, "RB-014")
    join(repo, bench, how)
    repo.commit("Merge", at=MAY)
    lost = [("lost-in-merge", "CL-001", "held 2026-04-10")]
    assert brief(audited(inside).signs) == ([] if "cracked" in inside.read(NEW) else lost)


# --- the life of one cylinder, and the ledger of a day


def life(repo: Repo, path: str = CARD, formerly: tuple[str, ...] = ()) -> Past:
    repository = Repository.of(repo.root)
    with objects_of(repo.root) as objects:
        tip = head(repository, objects)
        unsaved = Commit("", (tip.id,), "", tip.at, tip.at)
        ids = (stem(path), *formerly)
        return past_of(repository, objects, tip, unsaved, path, ids, OnDisk(repo.root), formerly)


def changed(past: Past, path: str = CARD) -> list[tuple[str, str]]:
    told = life_story(stem(path), path, past.steps, None, (), past.gone, None)
    return [(f.sign.value, f.what) for f in told.changes]


@pytest.mark.parametrize(("before", "after"), MOVES[2:])
def test_a_life_goes_on_through_a_move(tmp_path: Path, before: str, after: str) -> None:
    repo = begin(tmp_path / "club", before)
    within(repo, before).change(CARD, OLD, LATER)
    within(repo, before).log(line("2026-03-10T10:30:00+01:00"))
    repo.commit("Bad", at=MARCH)
    inside = move(repo, before, after)
    inside.change(LOG, line(NINE) + "\n", "")
    inside.change(CARD, "why: dent", "why: scratch")
    repo.commit("Move", at=APRIL)
    past = life(inside)
    assert [s.commit.subject for s in past.steps] == ["Begin", "Held", "Bad", "Move"]
    assert changed(past) == [
        ("entry-altered", "requalified 2024-03"),
        ("entry-altered", "held 2026-03-10"),
        ("line-removed", f"fill {NINE}"),
    ]


def test_a_life_knows_work_done_in_the_old_folder_meanwhile(tmp_path: Path) -> None:
    repo = begin(tmp_path / "club", "shop")
    repo.git("checkout", "-q", "-b", "tidy")
    move(repo, "shop", "ledger")
    repo.commit("Move", at=APRIL)
    repo.git("checkout", "-q", "main")
    within(repo, "shop").change(CARD, OLD, LATER)
    repo.commit("Bad", at=APRIL)
    repo.git("merge", "-q", "-m", "merge", "tidy", at=APRIL)
    assert changed(life(within(repo, "ledger"))) == [("entry-altered", "requalified 2024-03")]


@pytest.mark.parametrize("formerly", [True, False])
def test_a_life_goes_on_through_a_rename(repo: Repo, formerly: bool) -> None:
    repo.change(CARD, "why: dent", "why: scratch")
    repo.commit("Bad", at=MARCH)
    rename(repo, formerly=formerly)
    repo.put(NEW, repo.read(NEW).replace(OLD, LATER))
    repo.commit("Renamed", at=APRIL)
    past = life(repo, NEW, ("RB-014",) if formerly else ())
    assert changed(past, NEW) == [
        ("entry-altered", "held 2026-03-10"),
        ("entry-altered", "requalified 2024-03"),
    ]


def test_a_life_goes_on_through_a_chain_of_new_ids(repo: Repo) -> None:
    repo.change(CARD, "why: dent", "why: scratch")
    repo.commit("Bad", at=MARCH)
    call(repo, CARD, "cylinders/CL-000.yaml")
    call(repo, "cylinders/CL-000.yaml", NEW)
    assert changed(life(repo, NEW), NEW) == [("entry-altered", "held 2026-03-10")]


@pytest.mark.parametrize(("before", "after"), MOVES[:2])
def test_the_ledger_of_a_day_before_the_move(tmp_path: Path, before: str, after: str) -> None:
    repo = begin(tmp_path / "club", before)
    inside = move(repo, before, after)
    inside.put("cylinders/RB-015.yaml", GOOD.replace("K118204", "K2"))
    repo.commit("Move", at=APRIL)
    repository = Repository.of(inside.root)
    with objects_of(inside.root) as objects:
        for day, ids in (("2026-03-20", ["RB-014"]), ("2026-05-01", ["RB-014", "RB-015"])):
            commit, _ = commit_asked(repository, objects, day)
            assert list(load_from(files_then(repository, objects, commit)).cylinders) == ids
