"""The audit of real repositories: what each kind of tampering shows, and what honest work does not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from auditing import all_steps, audited, brief
from books import GOOD, SETTINGS
from repos import ALONE, HEADER, Repo, ledger, line, make_hostile

from tankbook.ledger.gitfiles import head, objects_of
from tankbook.ledger.gitlog import commit_count
from tankbook.ledger.gitread import Repository
from tankbook.records.commits import CommitStep

CARD = "cylinders/RB-014.yaml"
LOG = "fills/2026.csv"
MARCH = "2026-03-10T18:00:00+01:00"
APRIL = "2026-04-10T18:00:00+01:00"
NINE, TEN, ELEVEN = (f"2026-03-10T{h}:30:00+01:00" for h in ("09", "10", "11"))
HELD = "held:\n  - {on: 2026-03-10, by: MV, why: dent}\n"


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    """A ledger of the tenth of February with two fills and a held cylinder in March."""
    repo = ledger(tmp_path / "quay")
    repo.log(line(NINE), line(TEN, "RB-015"))
    repo.put(CARD, repo.read(CARD) + HELD)
    repo.commit(at=MARCH)
    return repo


def signs(repo: Repo) -> list[tuple[str, str, str]]:
    return brief(audited(repo).signs)


# --- honest work


def test_a_clean_ledger_says_what_it_read(repo: Repo) -> None:
    got = audited(repo)
    assert (got.signs, got.corrections) == ((), ())
    assert (got.commits, got.entries, got.lines) == (2, 4, 2)
    assert got.first is not None
    assert got.last is not None
    assert (got.first.subject, got.last.subject) == ("Begin", "change")


def honest_release(repo: Repo) -> None:
    repo.change(CARD, "why: dent", "why: dent, released: 2026-04-10, released_by: MV")


def honest_new_lines(repo: Repo) -> None:
    repo.log(line("2026-04-10T09:00:00+02:00"))


def honest_tidy(repo: Repo) -> None:
    repo.put(LOG, f"{HEADER}\n{line(TEN, 'RB-015')}\n{line(NINE)}\n")


def honest_line_ends(repo: Repo) -> None:
    repo.put(".gitattributes", "")
    repo.put(LOG, repo.read(LOG).replace("\n", "\r\n"))


def honest_last_line_end(repo: Repo) -> None:
    repo.put(LOG, repo.read(LOG).rstrip("\n"))


def honest_quotes(repo: Repo) -> None:
    repo.put(LOG, repo.read(LOG).replace(",air,", ',"air",'))


def honest_new_year(repo: Repo) -> None:
    (repo.root / LOG).rename(repo.root / "fills/2026-a.csv")


def honest_other_files(repo: Repo) -> None:
    repo.put("bookings.csv", "x\n")
    repo.put("rules/shop.yaml", "heading: Ours\n")
    repo.put("fills/notes.txt", "x\n")


def honest_remark(repo: Repo) -> None:
    repo.put(CARD, "# a remark\n" + repo.read(CARD).replace("status: in-service", "status:   held"))


@pytest.mark.parametrize(
    "work",
    [honest_release, honest_new_lines, honest_tidy, honest_line_ends, honest_last_line_end,
     honest_quotes, honest_new_year, honest_other_files, honest_remark],
)  # fmt: skip
def test_honest_work_shows_no_sign(repo: Repo, work: Callable[[Repo], None]) -> None:
    work(repo)
    repo.commit(at=APRIL)
    assert signs(repo) == []
    honest_new_lines(repo)
    repo.commit(at=APRIL)
    assert signs(repo) == []


def test_dropping_an_exact_double_shows_no_sign_and_dropping_both_does(repo: Repo) -> None:
    repo.log(line(NINE))
    repo.commit(at=MARCH)
    repo.put(LOG, f"{HEADER}\n{line(NINE)}\n{line(TEN, 'RB-015')}\n")
    repo.commit(at=MARCH)
    assert signs(repo) == []
    repo.put(LOG, f"{HEADER}\n{line(TEN, 'RB-015')}\n")
    repo.commit(at=MARCH)
    assert signs(repo) == [("line-removed", "RB-014", f"fill {NINE}")]


def test_corrections_are_listed_apart(repo: Repo) -> None:
    repo.change(CARD, "why: dent", "why: dent, void: {why: wrong card, by: MV, on: 2026-04-10}")
    voids = f"{NINE} RB-014"
    repo.log(
        line("2026-04-10T09:00:00+02:00", act="void", by="MV", voids=voids, note="typed twice")
    )
    repo.commit(at=APRIL)
    got = audited(repo)
    assert got.signs == ()
    assert [(f.id, f.what, f.why) for f in got.corrections] == [
        ("RB-014", "held 2026-03-10", "struck out by MV: wrong card"),
        ("RB-014", "void 2026-04-10T09:00:00+02:00", f"strikes out {voids}: typed twice"),
    ]


# --- tampering


def test_a_retest_date_changed_after_the_fact(repo: Repo) -> None:
    repo.change(CARD, "{on: 2024-03, method", "{on: 2025-03, method")
    name = repo.commit("Tidy up", at=APRIL, by="TO")
    (found,) = audited(repo).signs
    assert (found.sign, found.path, found.line) == ("entry-altered", CARD, 15)
    assert found.differs == (("on", "2024-03", "2025-03"),)
    assert (found.commit.id, found.commit.author, found.commit.at.isoformat()) == (
        name,
        "TO",
        APRIL,
    )


def test_a_trailer_does_not_make_an_edit_a_correction(repo: Repo) -> None:
    repo.change(CARD, "why: dent", "why: nothing")
    repo.commit("Corrected RB-014\n\nCylinder: RB-014\nAct: correct", at=APRIL)
    assert signs(repo) == [("entry-altered", "RB-014", "held 2026-03-10")]


def test_an_entry_taken_out(repo: Repo) -> None:
    repo.put(CARD, repo.read(CARD).replace(HELD, ""))
    repo.commit(at=APRIL)
    assert signs(repo) == [("entry-removed", "RB-014", "held 2026-03-10")]


def test_a_stamped_fact_changed(repo: Repo) -> None:
    repo.change(CARD, "service_pressure: 3000 psi", "service_pressure: 3300 psi")
    repo.change(CARD, "status: in-service", "status: held")
    repo.commit(at=APRIL)
    assert signs(repo) == [("fact-altered", "RB-014", "service_pressure")]


def test_a_card_taken_out_and_put_back_otherwise(repo: Repo) -> None:
    text = repo.read(CARD)
    (repo.root / CARD).unlink()
    repo.commit(at=APRIL)
    repo.put(CARD, text.replace("why: dent", "why: nothing"))
    repo.commit(at=APRIL)
    assert signs(repo) == [
        ("record-removed", "RB-014", ""),
        ("entry-altered", "RB-014", "held 2026-03-10"),
    ]


def test_an_edit_behind_a_version_that_cannot_be_read(repo: Repo) -> None:
    text = repo.read(CARD)
    repo.put(CARD, "<<<<<<< HEAD\n" + text)
    repo.commit(at=APRIL)
    repo.put(CARD, text.replace("why: dent", "why: nothing"))
    repo.commit(at=APRIL)
    assert signs(repo) == [
        ("unreadable", "RB-014", ""),
        ("entry-altered", "RB-014", "held 2026-03-10"),
    ]


def test_log_lines_edited_and_deleted(repo: Repo) -> None:
    repo.put(LOG, f"{HEADER}\n{line(NINE, to='2900 psi')}\n")
    repo.commit(at=APRIL)
    got = audited(repo).signs
    assert brief(got) == [
        ("line-edited", "RB-014", f"fill {NINE}"),
        ("line-removed", "RB-015", f"fill {TEN}"),
    ]
    assert got[0].differs == (("to", "3000 psi", "2900 psi"),)
    assert ("to", "3000 psi", "") in got[1].differs


def test_a_whole_log_deleted(repo: Repo) -> None:
    (repo.root / LOG).unlink()
    repo.commit(at=APRIL)
    assert signs(repo)[0] == ("record-removed", "fills", "")
    assert [s for s, _, _ in signs(repo)[1:]] == ["line-removed", "line-removed"]


def test_attributes_that_hide_a_file_from_diff_hide_nothing(repo: Repo) -> None:
    repo.put(".gitattributes", "* -diff -text\nfills/*.csv binary\n")
    repo.change(LOG, line(NINE), line(NINE, to="2900 psi"))
    repo.change(CARD, "why: dent", "why: nothing")
    repo.commit(at=APRIL)
    assert [s for s, _, _ in signs(repo)] == ["entry-altered", "line-edited"]


def test_bytes_that_are_no_text_hide_nothing(repo: Repo) -> None:
    data = (repo.root / LOG).read_bytes()
    (repo.root / LOG).write_bytes(data.replace(line(NINE).encode(), b"\0\xff@@ -1 +1 @@"))
    repo.commit(at=APRIL)
    assert [s for s, _, _ in signs(repo)] == ["line-removed"]


def test_lines_that_look_like_a_diff_are_lines(repo: Repo) -> None:
    said = [
        "diff --git a/x b/x",
        "@@ -1,9 +1,9 @@",
        "commit " + "0" * 40,
        "-- a/x",
        "++ b/x",
        "\\ No newline",
    ]
    repo.log(*said)
    repo.commit(at=MARCH)
    repo.put(LOG, repo.read(LOG).replace("\n".join(said) + "\n", ""))
    repo.commit(at=APRIL)
    got = audited(repo)
    assert [f.differs for f in got.signs] == [(("line", text, ""),) for text in said]


def test_entries_recorded_late_or_ahead(repo: Repo) -> None:
    repo.put(
        CARD,
        repo.read(CARD) + "lost:\n  - {on: 2026-03-11, by: MV}\n  - {on: 2026-04-12, by: MV}\n",
    )
    repo.change(CARD, "why: dent", "why: dent, released: 2026-03-20")
    repo.log(line(ELEVEN), line("2026-04-15T09:00:00+02:00"), line("2026-04-05T09:00:00+02:00"))
    repo.commit(at=APRIL)
    assert [(f.sign.value, f.what, f.why) for f in audited(repo).signs] == [
        ("recorded-late", "held 2026-03-10", "released 2026-03-20: recorded 21 days after"),
        ("recorded-late", "lost 2026-03-11", "recorded 30 days after"),
        ("recorded-ahead", "lost 2026-04-12", "recorded 2 days before"),
        ("recorded-late", f"fill {ELEVEN}", "recorded 31 days after"),
        ("recorded-ahead", "fill 2026-04-15T09:00:00+02:00", "recorded 5 days before"),
    ]
    assert len(audited(repo, late_days=30).signs) == 3


def test_a_month_is_late_from_its_end(repo: Repo) -> None:
    repo.change(CARD, "by: maker}", "by: maker}\n  - {on: 2026-03, method: hydrostatic, by: T123}")
    repo.commit(at="2026-04-14T12:00:00+02:00")
    assert signs(repo) == []
    assert len(audited(repo, late_days=13).signs) == 1


def test_what_a_new_card_or_a_first_import_brings_is_not_late(tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "quay")
    repo.put("tankbook.yaml", SETTINGS)
    repo.put(CARD, GOOD)
    repo.log(line(NINE))
    repo.commit(at="2026-11-25T09:00:00+01:00")
    repo.put("cylinders/RB-015.yaml", GOOD.replace("K118204", "K2"))
    repo.commit(at="2026-11-25T09:00:00+01:00")
    assert signs(repo) == []


PEOPLE = """
people:
  MV: {certifications: [{skill: inspector, from: 2020-01, until: 2026-03}, {skill: filler, from: 2026-01}]}
  TO: {left: 2026-02, certifications: [{skill: filler, from: 2020-01}]}
  AB: {certifications: [{skill: analyst, from: 2020-01}]}
"""


def test_acts_of_people_whose_certification_was_not_valid(repo: Repo) -> None:
    repo.put("tankbook.yaml", SETTINGS.split("people:")[0] + PEOPLE.lstrip())
    card = repo.read(CARD).replace(
        "sticker: issued}",
        "sticker: issued}\n"
        "  - {on: 2026-04-09, by: MV, checklist: annual, result: pass}\n"
        "  - {on: 2026-04-09, checklist: sticker-seen, result: pass, sticker: seen, by: XX}",
    )
    repo.put(CARD, card + "cleaned:\n  - {on: 2026-04-09, by: XX, to: nitrox}\n")
    nitrox = {"gas": "nitrox32", "o2": "32 %"}
    repo.log(
        line("2026-04-10T09:00:00+02:00", by="MV", analysed_by="AB", **nitrox),
        line("2026-04-10T09:01:00+02:00", by="TO"),
        line("2026-04-10T09:02:00+02:00", by="AB"),
        line("2026-04-10T09:03:00+02:00", by="MV", analysed_by="ZZ", **nitrox),
        line("2026-04-10T09:04:00+02:00", act="reading", by="ZZ", to="3000 psi"),
    )
    repo.commit(at=APRIL)
    got = [
        f.why for f in audited(repo).signs if f.sign == "not-certified" and f.commit.at.month == 4
    ]
    assert got == [
        "MV held no valid certification as inspector on 2026-04-09",
        "TO left on 2026-02",
        "AB held no valid certification as filler on 2026-04-10",
        "ZZ is not among the people of tankbook.yaml",
    ]


def test_a_certification_entered_after_the_fact(repo: Repo) -> None:
    repo.change("tankbook.yaml", "from: 2020-01}", "from: 2020-01}, {skill: filler, from: 2026-01}")
    repo.commit(at=APRIL)
    (found,) = audited(repo).signs
    assert (found.sign, found.id, found.what) == (
        "recorded-late", "settings", "people.MV.certifications 2026-01",
    )  # fmt: skip


def test_a_commit_that_touches_many_cylinders(repo: Repo) -> None:
    repo.log(*(line(f"2026-04-10T09:{n:02}:00+02:00", f"RB-1{n:02}") for n in range(5)))
    repo.commit("Evening", at=APRIL)
    assert audited(repo, many=5).signs == ()
    (found,) = audited(repo, many=4).signs
    assert (found.sign, found.what, found.why) == (
        "many-at-once", "Evening", "5 cylinders at once, more than 4",
    )  # fmt: skip


def test_new_cards_are_not_many_at_once(repo: Repo) -> None:
    for n in range(5):
        repo.put(f"cylinders/RB-2{n}.yaml", GOOD.replace("K118204", f"K2{n}"))
    repo.commit(at=APRIL)
    assert audited(repo, many=4).signs == ()
    for n in range(5):
        repo.change(f"cylinders/RB-2{n}.yaml", "status: in-service", "status: held")
    repo.commit(at=APRIL)
    assert len(audited(repo, many=4).signs) == 1


def test_unsigned_where_the_settings_ask_for_it(repo: Repo) -> None:
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + "signed: yes\n")
    asked = repo.commit("Ask", at=APRIL)
    honest_new_lines(repo)
    bare = repo.commit("Bare", at=APRIL)
    signature = "gpgsig -----BEGIN SSH SIGNATURE-----\n abc\n -----END SSH SIGNATURE-----\n"
    body = (
        repo.git("cat-file", "commit", bare)
        .replace(bare, "")
        .replace("\n\n", f"\n{signature}\n", 1)
    )
    (repo.root.parent / "signed").write_text(body.replace("Bare", "Signed").replace(
        repo.git("rev-parse", f"{bare}^").strip(), bare))  # fmt: skip
    signed = repo.git("hash-object", "-t", "commit", "-w", str(repo.root.parent / "signed")).strip()
    repo.git("reset", "-q", "--soft", signed)
    repo.put("note", "not of the ledger's records")
    found = audited(repo).signs
    assert [(f.sign.value, f.commit.id) for f in found] == [("unsigned", asked), ("unsigned", bare)]


def test_no_longer_asking_for_signatures_is_a_sign_and_must_be_signed(repo: Repo) -> None:
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + "signed: yes\n")
    repo.commit(at=APRIL)
    repo.change("tankbook.yaml", "signed: yes", "signed: no")
    last = repo.commit(at=APRIL)
    honest_new_lines(repo)
    repo.commit(at=APRIL)
    assert [f.sign.value for f in audited(repo).signs if f.commit.id == last] == [
        "unsigned",
        "settings-loosened",
    ]
    assert len(audited(repo).signs) == 3


def test_dates_of_commits_that_cannot_be(repo: Repo) -> None:
    honest_new_lines(repo)
    repo.commit("Early", at="2026-04-10T12:00:00+02:00")
    repo.put("bookings.csv", "1")
    repo.commit("Backward", at="2026-04-01T12:00:00+02:00")
    repo.put("bookings.csv", "2")
    repo.commit("Forward", at="2026-04-10T12:00:00+02:00")
    repo.git("commit", "-q", "--amend", "--no-edit", "--date", "2026-02-11T12:00:00+02:00",
             at="2026-04-10T12:00:00+02:00")  # fmt: skip
    found = audited(repo).signs
    assert [(f.sign.value, f.what) for f in found] == [
        ("commit-dates", "Backward"),
        ("commit-dates", "Forward"),
    ]
    assert found[0].why.startswith("dated 9 days before ")
    assert found[1].why == "written 2026-02-11 by its author's date, 58 days apart"


# --- merges


@pytest.fixture(name="pair")
def _pair(repo: Repo, tmp_path: Path) -> Iterator[tuple[Repo, Repo]]:
    """Two clones with a fill and a cylinder's entry each, neither knowing of the other."""
    other = repo.clone(tmp_path / "other")
    repo.log(line("2026-04-10T09:00:00+02:00"))
    repo.change(CARD, "why: dent", "why: dent, released: 2026-04-10")
    repo.commit("Here", at=APRIL)
    other.log(line("2026-04-10T09:01:00+02:00", "RB-016"))
    other.put("cylinders/RB-016.yaml", GOOD.replace("K118204", "K3"))
    other.commit("There", at=APRIL, by="TO")
    return repo, other


def merge(repo: Repo, other: Repo, *how: str) -> None:
    repo.git("fetch", "-q", str(other.root), "main")
    repo.git("merge", "-q", "--no-commit", "--no-ff", *how, "FETCH_HEAD", at=APRIL, ok=False)


def test_an_honest_merge_shows_no_sign(pair: tuple[Repo, Repo]) -> None:
    repo, other = pair
    merge(repo, other)
    repo.commit("Merge", at=APRIL)
    got = audited(repo)
    assert got.signs == ()
    assert (got.commits, got.lines) == (5, 4)


def test_what_one_side_took_out_is_told_once(pair: tuple[Repo, Repo]) -> None:
    repo, other = pair
    other.change(LOG, line(NINE) + "\n", "")
    other.put("cylinders/RB-016.yaml", GOOD.replace("K118204", "K4"))
    bad = other.commit("Bad", at=APRIL)
    merge(repo, other)
    repo.commit("Merge", at=APRIL)
    found = audited(repo).signs
    assert [(f.sign.value, f.commit.id) for f in found] == [
        ("fact-altered", bad),
        ("line-removed", bad),
    ]


def test_a_merge_that_drops_what_one_side_had(pair: tuple[Repo, Repo]) -> None:
    repo, other = pair
    merge(repo, other, "-s", "ours")
    repo.commit("Merge", at=APRIL)
    found = audited(repo).signs
    assert brief(found) == [
        ("lost-in-merge", "RB-016", "fill 2026-04-10T09:01:00+02:00"),
        ("lost-in-merge", "RB-016", ""),
    ]


def test_a_merge_that_takes_back_an_end(pair: tuple[Repo, Repo]) -> None:
    repo, other = pair
    merge(repo, other)
    repo.change(CARD, ", released: 2026-04-10", "")
    repo.commit("Merge", at=APRIL)
    found = audited(repo).signs
    assert brief(found) == [("lost-in-merge", "RB-014", "held 2026-03-10")]
    assert found[0].differs == (("released", "2026-04-10", ""),)


def test_a_merge_that_edits_by_itself(pair: tuple[Repo, Repo]) -> None:
    repo, other = pair
    merge(repo, other)
    repo.change(CARD, "{on: 2024-03, method", "{on: 2025-03, method")
    repo.change(LOG, line(NINE), line(NINE, to="2900 psi"))
    repo.put("cylinders/RB-016.yaml", GOOD.replace("K118204", "K5"))
    name = repo.commit("Merge", at=APRIL)
    found = audited(repo).signs
    assert {f.commit.id for f in found} == {name}
    assert sorted(brief(found)) == [
        ("entry-altered", "RB-014", "requalified 2024-03"),
        ("line-edited", "RB-014", f"fill {NINE}"),
        ("lost-in-merge", "RB-016", "serial"),
    ]


def test_both_sides_going_on_with_one_entry(repo: Repo, tmp_path: Path) -> None:
    repo.put(
        CARD,
        repo.read(CARD).replace(HELD, "held:\n  - on: 2026-03-10\n    why: dent\n\n    by: MV\n"),
    )
    repo.commit(at=MARCH)
    other = repo.clone(tmp_path / "other")
    repo.change(CARD, "    why: dent\n", "    released: 2026-04-10\n    why: dent\n")
    repo.commit(at=APRIL)
    other.change(
        CARD, "    by: MV\n", "    by: MV\n    void: {why: wrong card, by: MV, on: 2026-04-10}\n"
    )
    other.commit(at=APRIL)
    merge(repo, other)
    repo.commit("Merge", at=APRIL)
    assert "released" in repo.read(CARD)
    assert "void" in repo.read(CARD)
    assert signs(repo) == []


def test_the_end_of_one_hold_does_not_explain_the_loss_of_another_of_its_day(
    repo: Repo, tmp_path: Path
) -> None:
    other = repo.clone(tmp_path / "other")
    other.change(CARD, "why: dent", "why: dent, released: 2026-03-10")
    other.commit(at=APRIL)
    second = "{on: 2026-03-10, by: TO, why: looks cracked at the neck}"
    repo.put(CARD, repo.read(CARD).replace(HELD, f"{HELD}  - {second}\n"))
    repo.commit(at=APRIL)
    merge(repo, other)
    repo.git("checkout", "--theirs", CARD)
    repo.commit("Merge", at=APRIL)
    lost = [f for f in audited(repo).signs if f.sign.value == "lost-in-merge"]
    assert brief(lost) == [("lost-in-merge", "RB-014", "held 2026-03-10")]


def test_what_both_sides_went_on_with_is_not_gone_by_that(repo: Repo, tmp_path: Path) -> None:
    other = repo.clone(tmp_path / "other")
    other.change(CARD, "why: dent", "why: dent, released: 2026-04-09")
    other.commit(at=APRIL)
    repo.change(CARD, "why: dent", "why: dent, released: 2026-04-10")
    repo.commit(at=APRIL)
    merge(repo, other)
    text = repo.read(CARD)
    repo.put(CARD, text[: text.index("<<<<<<<")] + text[text.index(">>>>>>>") :].partition("\n")[2])
    repo.commit("Merge", at=APRIL)
    lost = [f for f in audited(repo).signs if f.sign.value == "lost-in-merge"]
    assert {f.what for f in lost} == {"held 2026-03-10"}


OUT = "rented:\n  - on: 2026-03-10\n    to: B-6000\n    until: 2026-03-12\n"
CAME = "    back: 2026-03-12\n    pressure: "
OPEN, SHUT = "0 psi\n    valve: open\n", "900 psi\n    valve: closed\n"
BENT, LATE = "900 psi\n    damage: bent neck\n", "900 psi\n"
OFF = "    released: 2026-04-{day}\n    released_by: {by}\n"
VOID = "    void: {why: wrong card, by: MV, on: 2026-04-10}\n"
STOOD = "held:\n  - on: 2026-03-10\n    by: MV\n    why: dent\n"


@pytest.mark.parametrize(
    ("entry", "lost", "kept", "told"),
    [
        (OUT, CAME + OPEN, CAME + SHUT, True),
        (OUT, CAME + SHUT, CAME + OPEN, False),
        (OUT, CAME + BENT, CAME + SHUT, True),
        (OUT, CAME + SHUT, CAME + BENT, False),
        (OUT, CAME + BENT, CAME + OPEN, True),
        (OUT, CAME + OPEN, CAME + OPEN.replace("0 psi", "5 psi"), False),
        (OUT, CAME.replace("12", "28") + LATE, CAME + LATE, True),
        (OUT, CAME + LATE, CAME.replace("12", "28") + LATE, False),
        (OUT, CAME + LATE, CAME + LATE.replace("900", "905"), False),
        (OUT, CAME + "0 psi\n    valve: opne\n", CAME + SHUT, True),
        (STOOD, OFF.format(day="10", by="MV"), OFF.format(day="10", by="TO"), False),
        (STOOD, OFF.format(day="20", by="MV"), OFF.format(day="10", by="TO"), True),
        (STOOD, OFF.format(day="10", by="MV"), OFF.format(day="20", by="TO"), False),
        (STOOD, OFF.format(day="10", by="MV"), VOID, True),
        (STOOD, VOID, OFF.format(day="10", by="MV"), False),
    ],
)
@pytest.mark.parametrize("theirs", [True, False])
def test_which_of_two_ends_a_merge_took(
    repo: Repo, tmp_path: Path, entry: str, lost: str, kept: str, told: bool, theirs: bool
) -> None:
    """The worse one that nobody took back is told; the milder one is not."""
    repo.put(CARD, repo.read(CARD).replace(HELD, "") + entry)
    repo.commit("Out", at=MARCH)
    other = repo.clone(tmp_path / "other")
    here, there = (lost, kept) if theirs else (kept, lost)
    repo.put(CARD, repo.read(CARD) + here)
    repo.commit("Here", at=APRIL)
    other.put(CARD, other.read(CARD) + there)
    other.commit("There", at=APRIL, by="TO")
    before = len(audited(repo).signs)
    merge(repo, other)
    repo.git("checkout", "--theirs" if theirs else "--ours", CARD)
    repo.commit("Merge", at=APRIL)
    assert repo.read(CARD).endswith(kept)
    found = [f for f in audited(repo).signs if f.sign.value == "lost-in-merge"]
    assert len(found) == told, (before, audited(repo).signs)
    assert all(f.why.startswith("both sides went on with it") for f in found)


def test_a_merge_that_took_neither_end_is_said_to_have_neither(repo: Repo, tmp_path: Path) -> None:
    repo.put(CARD, repo.read(CARD).replace(HELD, "") + OUT)
    repo.commit("Out", at=MARCH)
    other, out = repo.clone(tmp_path / "other"), repo.read(CARD)
    repo.put(CARD, out + CAME + OPEN)
    repo.commit("Here", at=APRIL)
    other.put(CARD, out + CAME + BENT)
    other.commit("There", at=APRIL, by="TO")
    merge(repo, other)
    repo.put(CARD, out)
    repo.commit("Merge", at=APRIL)
    found = [f.why for f in audited(repo).signs if f.sign.value == "lost-in-merge"]
    assert found == ["both sides went on with it; the merge has it as neither did"] * 2


def test_who_changes_the_end_that_a_machine_recorded_itself_loses_nothing_in_a_merge(
    repo: Repo, tmp_path: Path
) -> None:
    repo.put(CARD, repo.read(CARD).replace(HELD, "") + OUT)
    repo.commit("Out", at=MARCH)
    other = repo.clone(tmp_path / "other")
    repo.put(CARD, repo.read(CARD) + CAME + OPEN)
    repo.commit("Here", at=APRIL)
    repo.put(CARD, repo.read(CARD).replace(OPEN, SHUT))
    name = repo.commit("It was shut", at=APRIL)
    other.log(line("2026-04-10T09:01:00+02:00", "RB-016"))
    other.commit("There", at=APRIL)
    merge(repo, other)
    repo.commit("Merge", at=APRIL)
    found = [(f.sign.value, f.commit.id) for f in audited(repo).signs]
    assert ("entry-altered", name) in found
    assert "lost-in-merge" not in {sign for sign, _ in found}


def test_a_second_beginning_is_a_sign(repo: Repo) -> None:
    repo.git("checkout", "-q", "--orphan", "again")
    repo.log(line("2026-01-05T09:00:00+01:00"))
    second = repo.commit("Brought in", at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.git(
        "merge",
        "-q",
        "--allow-unrelated-histories",
        "-X",
        "theirs",
        "-m",
        "merge",
        "again",
        at=APRIL,
    )
    found = [f for f in audited(repo).signs if f.sign.value == "begun-again"]
    assert [f.commit.id for f in found] == [second]


def test_an_edit_of_a_file_does_not_explain_its_loss(repo: Repo, tmp_path: Path) -> None:
    repo.put("rules/shop.yaml", "rows: []\n")
    repo.commit(at=MARCH)
    other = repo.clone(tmp_path / "other")
    other.put("rules/shop.yaml", "rows: []\nnote: said anew\n")
    other.commit(at=APRIL)
    repo.put("rules/shop.yaml", "rows: []\n# told once more\n")
    repo.commit(at=APRIL)
    merge(repo, other)
    (repo.root / "rules/shop.yaml").unlink()
    repo.commit("Merge", at=APRIL)
    assert ("lost-in-merge", "rules", "") in signs(repo)


def test_a_card_left_in_conflict_by_a_merge(pair: tuple[Repo, Repo]) -> None:
    repo, other = pair
    other.change(CARD, "why: dent", "why: dent, released: 2026-04-09")
    other.commit(at=APRIL)
    merge(repo, other)
    assert "<<<<<<<" in repo.read(CARD)
    repo.commit("Merge", at=APRIL)
    assert signs(repo) == [("unreadable", "RB-014", "")]


def test_a_card_that_a_merge_leaves_out(pair: tuple[Repo, Repo]) -> None:
    repo, other = pair
    merge(repo, other)
    (repo.root / "cylinders/RB-016.yaml").unlink()
    repo.commit("Merge", at=APRIL)
    assert signs(repo) == [("lost-in-merge", "RB-016", "")]


def test_a_card_that_one_side_took_out_is_told_once(pair: tuple[Repo, Repo]) -> None:
    repo, other = pair
    (other.root / "cylinders/RB-016.yaml").unlink()
    other.commit(at=APRIL)
    merge(repo, other)
    repo.commit("Merge", at=APRIL)
    assert signs(repo) == [("record-removed", "RB-016", "")]


# --- each commit against its own line of descent


NEW, NEW_CARD = "cylinders/RB-200.yaml", GOOD.replace("K118204", "K200").lstrip()


def join(repo: Repo, into: str, other: str, *how: str) -> None:
    repo.git("checkout", "-q", into)
    repo.git("merge", "-q", "--no-commit", "--no-ff", *how, other, at=APRIL, ok=False)


@pytest.mark.parametrize("into", ["side", "main"])
@pytest.mark.parametrize("kept", ["side", "main"])
def test_a_cherry_pick_took_nothing_out_that_it_never_had(repo: Repo, into: str, kept: str) -> None:
    repo.git("checkout", "-q", "-b", "side")
    repo.put(NEW, NEW_CARD)
    picked = repo.commit("New", at=APRIL)
    repo.put(NEW, NEW_CARD + HELD.replace("03-10", "04-10"))
    repo.commit("Held", at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.log(line("2026-04-10T09:00:00+02:00"))
    repo.commit("Fill", at=APRIL)
    repo.git("cherry-pick", picked, at=APRIL)
    join(repo, into, "main" if into == "side" else "side")
    repo.git("checkout", kept, "--", NEW)
    name = repo.commit("Merge", at=APRIL)
    found = [(f.sign.value, f.commit.id) for f in audited(repo).signs]
    assert found == ([] if kept == "side" else [("lost-in-merge", name)])


@pytest.mark.parametrize("into", ["side", "main"])
def test_two_lines_with_a_card_of_one_id_each(repo: Repo, into: str) -> None:
    """Each new there; neither altered the other."""
    repo.git("checkout", "-q", "-b", "side")
    repo.put(NEW, NEW_CARD + HELD.replace("03-10", "04-10"))
    repo.commit("New", at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.put(NEW, NEW_CARD.replace("3000 psi", "2400 psi"))
    repo.commit("New", at=APRIL)
    assert repo.read(NEW) != NEW_CARD
    join(repo, into, "main" if into == "side" else "side", "-s", "ours")
    name = repo.commit("Merge", at=APRIL)
    assert {f.commit.id for f in audited(repo).signs} <= {name}


@pytest.mark.parametrize("into", ["side", "main"])
def test_a_card_taken_out_on_one_line_is_not_called_otherwise_on_another(
    repo: Repo, into: str
) -> None:
    repo.put(NEW, NEW_CARD)
    repo.commit("New", at=MARCH)
    repo.git("checkout", "-q", "-b", "side")
    (repo.root / NEW).unlink()
    bad = repo.commit("Out", at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.put("cylinders/RB-201.yaml", NEW_CARD)  # the serial twice, as by a slip
    repo.commit("Typed twice", at=APRIL)
    join(repo, into, "main" if into == "side" else "side")
    repo.commit("Merge", at=APRIL)
    found = [(f.sign.value, f.id, f.commit.id) for f in audited(repo).signs]
    assert ("record-removed", "RB-200", bad) in found
    assert not [f for f in found if f[2] not in {bad, repo.git("rev-parse", "HEAD").strip()}]


@pytest.mark.parametrize("into", ["side", "main"])
def test_a_copy_on_one_line_does_not_excuse_what_another_took_out(repo: Repo, into: str) -> None:
    repo.put(NEW, NEW_CARD)
    repo.commit("New", at=MARCH)
    repo.git("checkout", "-q", "-b", "side")
    repo.put("cylinders/RB-201.yaml", "formerly: [RB-200]\n" + NEW_CARD)
    repo.commit("Copied", at=APRIL)
    repo.git("checkout", "-q", "main")
    (repo.root / NEW).unlink()
    bad = repo.commit("Out", at=APRIL)
    join(repo, into, "main" if into == "side" else "side")
    repo.commit("Merge", at=APRIL)
    found = [(f.sign.value, f.id, f.commit.id) for f in audited(repo).signs]
    assert ("record-removed", "RB-200", bad) in found


@pytest.mark.parametrize("way", ["gone", "broken"])
@pytest.mark.parametrize("into", ["side", "main"])
def test_what_comes_back_otherwise_on_its_own_line_is_told(repo: Repo, way: str, into: str) -> None:
    repo.put(NEW, NEW_CARD + HELD)
    repo.commit("New", at=MARCH)
    repo.git("checkout", "-q", "-b", "side")
    repo.log(line("2026-04-10T09:00:00+02:00"))
    repo.commit("Fill", at=APRIL)
    repo.git("checkout", "-q", "main")
    if way == "gone":
        (repo.root / NEW).unlink()
    else:
        repo.put(NEW, "x: [\n")
    repo.commit("First", at=APRIL)
    repo.put(NEW, NEW_CARD)
    bad = repo.commit("Then", at=APRIL)
    join(repo, into, "main" if into == "side" else "side")
    repo.commit("Merge", at=APRIL)
    found = [(f.sign.value, f.what, f.commit.id) for f in audited(repo).signs]
    assert ("entry-removed", "held 2026-03-10", bad) in found


@pytest.mark.parametrize("into", ["side", "main"])
def test_what_a_line_that_was_merged_took_out_and_comes_back_otherwise(
    repo: Repo, into: str
) -> None:
    repo.put(NEW, NEW_CARD + HELD)
    repo.commit("New", at=MARCH)
    repo.git("checkout", "-q", "-b", "side")
    (repo.root / NEW).unlink()
    repo.commit("Out", at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.log(line("2026-04-10T09:00:00+02:00"))
    repo.commit("Fill", at=APRIL)
    join(repo, into, "main" if into == "side" else "side")
    repo.commit("Merge", at=APRIL)
    repo.put(NEW, NEW_CARD)
    bad = repo.commit("Back", at=APRIL)
    found = [(f.sign.value, f.what, f.commit.id) for f in audited(repo).signs]
    assert ("entry-removed", "held 2026-03-10", bad) in found


def test_three_sides_at_once(repo: Repo, tmp_path: Path) -> None:
    for n in (7, 8):
        repo.git("checkout", "-q", "-b", f"side{n}", "main")
        repo.put(f"cylinders/RB-01{n}.yaml", GOOD.replace("K118204", f"K{n}"))
        repo.commit(at=APRIL)
    repo.git("checkout", "-q", "main")
    repo.put("cylinders/RB-019.yaml", GOOD.replace("K118204", "K9"))
    repo.commit(at=APRIL)
    repo.git("merge", "-q", "-m", "octopus", "side7", "side8", at=APRIL)
    assert len(repo.git("log", "-1", "--format=%P").split()) == 3
    assert signs(repo) == []


# --- whatever the configuration says


def test_no_configuration_breaks_or_steers_it(
    pair: tuple[Repo, Repo], monkeypatch: pytest.MonkeyPatch
) -> None:
    repo, other = pair
    repo.change(CARD, "why: dent", "why: nothing")
    repo.change(LOG, line(NINE), line(NINE, to="2900 psi"))
    repo.commit("Bad \N{LATIN SMALL LETTER E WITH ACUTE}", at=APRIL)
    merge(repo, other, "-X", "ours")
    repo.commit("Merge", at=APRIL)
    repo.git("notes", "add", "-m", "diff --git a/x b/x", "HEAD~1")
    expected = all_steps(repo)
    for name, value in make_hostile(repo).items():
        monkeypatch.setenv(name, value)
    monkeypatch.chdir(repo.root)
    got = all_steps(repo)
    assert [s.commit for s in got] == [s.commit for s in expected]
    assert list(map(sorted_step, got)) == list(map(sorted_step, expected))
    assert not list(repo.root.rglob("pwned"))


def sorted_step(step: CommitStep) -> tuple[object, ...]:
    files = sorted((f.path, repr(f.before), repr(f.after)) for f in step.files)
    return (
        files,
        sorted(step.removed, key=repr),
        sorted(step.added, key=repr),
        step.others,
        step.parent,
    )


@pytest.mark.parametrize(
    "name", ["a b.csv", "Prüfung.csv", 'say "x".csv', "tab\there.csv", "b/../x.csv", "-n.csv"]
)
def test_odd_names_of_logs_are_read(repo: Repo, name: str) -> None:
    name = name.replace("b/../", "b..")
    repo.put(f"fills/{name}", f"{HEADER}\n{line(ELEVEN)}\n")
    repo.commit(at=MARCH)
    repo.put(f"fills/{name}", f"{HEADER}\n")
    repo.commit(at=APRIL)
    (found,) = audited(repo).signs
    assert (found.sign, found.path) == ("line-removed", f"fills/{name}")


def test_a_ledger_in_a_folder_of_a_larger_repository(tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "club")
    for path, text in {
        "tankbook.yaml": SETTINGS,
        CARD: GOOD.lstrip(),
        LOG: f"{HEADER}\n{line(NINE)}\n",
    }.items():
        repo.put(f"club house/quay/{path}", text)
        repo.put(path, "another: ledger\n")
    repo.commit()
    repo.put("elsewhere", "x")
    repo.commit()
    repo.change(f"club house/quay/{CARD}", "result: pass", "result: hold")
    repo.commit(at=MARCH)
    inside = Repo(repo.root / "club house/quay")
    got = audited(inside)
    assert brief(got.signs) == [("entry-altered", "RB-014", "inspected 2026-02-09")]
    assert (got.commits, count_of(inside)) == (2, 3)


def count_of(repo: Repo) -> int:
    repository = Repository.of(repo.root)
    with objects_of(repo.root) as objects:
        return commit_count(repository, head(repository, objects))


def test_a_shallow_clone_is_read_as_far_as_it_reaches(repo: Repo, tmp_path: Path) -> None:
    honest_release(repo)
    repo.commit(at=APRIL)
    repo.git("clone", "-q", "--depth", "1", repo.root.as_uri(), str(tmp_path / "shallow"))
    got = audited(Repo(tmp_path / "shallow"))
    assert (got.signs, got.commits) == ((), 1)


def test_an_empty_commit_and_a_change_of_mode_are_nothing(repo: Repo) -> None:
    repo.commit("Nothing", at=MARCH)
    (repo.root / CARD).chmod(0o755)
    repo.commit("Mode", at=MARCH)
    got = audited(repo)
    assert (got.signs, got.commits) == ((), 3)


def test_a_card_that_becomes_a_link(repo: Repo) -> None:
    (repo.root / CARD).unlink()
    (repo.root / CARD).symlink_to("../tankbook.yaml")
    repo.commit(at=APRIL)
    assert signs(repo) == [("unreadable", "RB-014", ""), ("record-removed", "RB-014", "")]
