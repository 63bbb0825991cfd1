"""What is gone from a ledger under git: each kind of thing, each way for it to go, each trick."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest
from books import GOOD, SETTINGS
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from repos import ALONE, FIRST_DAY, Repo, ledger, line, make_hostile
from sweep import tries

from tankbook.ledger import gitread
from tankbook.ledger.absence import look
from tankbook.ledger.events import parse
from tankbook.records.absence import Absence, Gone
from tankbook.records.cylinder import Cylinder
from tankbook.records.fields import keys_of
from tankbook.records.life import life_of
from tankbook.records.node import MappingNode, Node, SequenceNode
from tankbook.records.station import AirTest, Checked, Hours
from tankbook.rules.vanished import entries_gone

CARD, OTHER = "cylinders/RB-014.yaml", "cylinders/RB-015.yaml"
STATION, SET, SHOP, LIST = (
    "station.yaml",
    "sets/DB-01.yaml",
    "rules/shop.yaml",
    "checklists/look.yaml",
)
TOOLS = "tankbook.yaml"
LOG, OLD_LOG = "fills/2026.csv", "fills/2025.csv"
NINE, TEN, ELEVEN = (f"2026-03-10T{h}:30:00+01:00" for h in ("09", "10", "11"))
HOLD = "held:\n  - {on: 2026-03-10, by: MV, why: dent}\n"
HELD = ("held 2026-03-10", "gone", ("RB-014",))
ROW = "  - {id: shop.a, obligation: visual, period: 12 months, gate: refuse, basis: practice, citation: house, verified: memory}\n"
BENCH = """\
whips:
  - {name: W2, checked: [{on: 2026-03-07, by: KD, result: fail, note: chafed}]}
air_tests:
  - {on: 2026-07-13, by: Example Air Lab, standard: cga-grade-e, result: fail, source: C1}
"""


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


def fill(repo: Repo) -> None:
    """A ledger with one of everything that may not go without a word."""
    repo.put(CARD, GOOD.lstrip() + HOLD)
    repo.put(OTHER, GOOD.lstrip().replace("K118204", "K118205"))
    repo.put(STATION, BENCH)
    repo.put(SET, "cylinders: [RB-014, RB-015]\nrating: 3442 psi\nisolator: open\n")
    repo.put(SHOP, f"heading: Ours\nrows:\n{ROW}")
    repo.put(LIST, "steps:\n  - {name: look, group: outside, look_for: dents, accept: none}\n")
    repo.log(line("2025-03-10T09:30:00+01:00"), year="2025")
    repo.log(line(NINE), line(TEN, "RB-015"))


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    repo = ledger(tmp_path / "quay")
    fill(repo)
    repo.commit()
    return repo


def brief(absence: Absence) -> list[tuple[str, str, tuple[str, ...]]]:
    return [(g.what, g.how.value, g.ids) for g in absence.gone]


def looked(repo: Repo) -> list[tuple[str, str, tuple[str, ...]]]:
    got = look(repo.root)
    assert got.unseen == ()
    assert got.asked
    assert got.heads.holds
    return brief(got)


def why_not(root: Path) -> str:
    """Why nothing can be told of a whole ledger."""
    got = look(root)
    assert got.gone == ()
    assert [u.path for u in got.unseen] == [""]
    assert not got.asked
    return got.unseen[0].why


def drop(path: str) -> Callable[[Repo], None]:
    return lambda repo: (repo.root / path).unlink()


def swap(path: str, old: str, new: str) -> Callable[[Repo], None]:
    return lambda repo: repo.change(path, old, new)


# --- what is gone


def test_nothing_is_gone(repo: Repo) -> None:
    got = look(repo.root)
    assert (got.gone, got.unseen, got.explained) == ((), (), ())
    assert got.heads.under_git
    assert got.heads.head is not None
    assert got.heads.head.id == repo.git("rev-parse", "HEAD").strip()
    assert got.heads.head.at.isoformat() == FIRST_DAY
    assert not got.heads.is_merge
    assert not got.heads.detached


CASES = {
    "entry gone": (swap(CARD, HOLD, ""), [HELD]),
    "entry altered": (swap(CARD, "why: dent", "why: none"), [("held 2026-03-10", "altered", ("RB-014",))]),
    "card gone": (drop(CARD), [(CARD, "gone", ("RB-014",))]),
    "harmless card gone": (drop(OTHER), [(OTHER, "gone", ("RB-015",))]),
    "station gone": (drop(STATION), [(STATION, "gone", ())]),
    "air test altered": (swap(STATION, "result: fail, source", "result: pass, source"), [("air test 2026-07-13", "altered", ())]),
    "whip gone": (swap(STATION, BENCH[: BENCH.index("air_tests")], ""), [("W2 checked 2026-03-07", "gone", ())]),
    "set gone": (drop(SET), [(SET, "gone", ("DB-01", "RB-014", "RB-015"))]),
    "set of others": (swap(SET, "RB-015]", "RB-016]"), [(f"{SET} cylinders", "altered", ("DB-01", "RB-014", "RB-015"))]),
    "set of another rating": (swap(SET, "3442", "4350"), [(f"{SET} rating", "altered", ("DB-01", "RB-014", "RB-015"))]),
    "rules gone": (drop(SHOP), [(SHOP, "gone", ())]),
    "row gone": (swap(SHOP, ROW, ""), [(f"{SHOP} shop.a", "gone", ())]),
    "row looser": (swap(SHOP, "12 months", "24 months"), [(f"{SHOP} shop.a", "altered", ())]),
    "checklist gone": (drop(LIST), [(LIST, "gone", ())]),
    "log gone": (drop(OLD_LOG), [(OLD_LOG, "gone", ())]),
    "line gone": (swap(LOG, line(NINE) + "\n", ""), [(f"fill {NINE} RB-014", "gone", ("RB-014",))]),
    "line edited": (swap(LOG, line(NINE), line(NINE, to="2000 psi")), [(f"fill {NINE} RB-014", "altered", ("RB-014",))]),
    "line of another": (swap(LOG, line(TEN, "RB-015"), line(TEN, "RB-016")), [(f"fill {TEN} RB-015", "altered", ("RB-015", "RB-016"))]),
    "person gone": (swap(TOOLS, "  MV: {certifications: [{skill: inspector, from: 2020-01}]}\n", ""), [("person MV", "gone", ())]),
    "person's end gone": (swap(TOOLS, "from: 2020-01", "from: 2010-01"), [("MV inspector 2020-01", "altered", ())]),
    "rule set gone": (swap(TOOLS, "[us-dot]", "[uk]"), [("rule set us-dot", "gone", ())]),
    "settings gone": (drop(TOOLS), [(TOOLS, "gone", ())]),
    "folder gone": (lambda repo: shutil.rmtree(repo.root / "rules"), [(SHOP, "gone", ())]),
    "folder of another case": (lambda repo: (repo.root / "rules").rename(repo.root / "Rules"), [(SHOP, "gone", ())]),
    "folder moved below": (lambda repo: (repo.root / SHOP).rename(repo.root / "rules/shop.yml"), [(SHOP, "gone", ())]),
    "a folder for a card": (lambda repo: (drop(OTHER)(repo), (repo.root / OTHER).mkdir()), [(OTHER, "gone", ("RB-015",))]),
    "emptied card": (lambda repo: repo.put(OTHER, ""), []),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_each_kind_of_thing_that_goes(repo: Repo, case: str) -> None:
    act, told = CASES[case]
    act(repo)
    got = look(repo.root)
    assert brief(got) == told
    assert all(g.commit == repo.git("rev-parse", "HEAD")[:10] for g in got.gone)
    assert {g.explain_in for g in got.gone} <= {CARD, TOOLS}
    repo.git("add", "-A")  # what git's index knows makes no difference
    assert brief(look(repo.root)) == told
    repo.git("checkout", "-q", "HEAD", "--", ".")
    if (repo.root / "Rules").exists():
        shutil.rmtree(repo.root / "Rules")
    assert looked(repo) == []


def swapped(repo: Repo) -> None:
    """Two cards change places."""
    one, other = repo.read(CARD), repo.read(OTHER)
    repo.put(CARD, other)
    repo.put(OTHER, one)


def moved(repo: Repo, formerly: str = "") -> None:
    """The card's cylinder goes on under another id, and its old id is given to a new cylinder."""
    repo.put("cylinders/RB-040.yaml", repo.read(CARD) + formerly)
    repo.put(CARD, GOOD.replace("K118204", "K40"))


@pytest.mark.parametrize("act", [swapped, moved])
def test_an_id_that_is_given_to_another_cylinder_keeps_what_told_against_it(
    repo: Repo, act: Callable[[Repo], None]
) -> None:
    """The tag still says the id of the cylinder that is held."""
    act(repo)
    ((what, how, ids),) = brief(look(repo.root))
    assert (what, how) == HELD[:2]
    assert "RB-014" in ids


def test_of_two_cards_that_may_be_the_one_that_went_neither_may_lack_what_it_had(
    repo: Repo,
) -> None:
    text = repo.read(CARD)
    (repo.root / CARD).unlink()
    other = "not_same: {id: RB-%s, by: MV, why: both at hand}\n"
    repo.put("cylinders/RB-040.yaml", text.replace(HOLD, "") + other % "041")
    repo.put("cylinders/RB-041.yaml", text + other % "040")
    ((what, how, ids),) = brief(look(repo.root))
    assert (what, how) == HELD[:2]
    assert {"RB-040", "RB-041"} <= set(ids)


def test_but_not_where_the_other_card_says_whose_it_was(repo: Repo) -> None:
    moved(repo, "formerly: [RB-014]\n")
    assert look(repo.root).gone == ()


GROWTH = {
    "released": swap(CARD, "why: dent", "why: dent, released: 2026-03-12, released_by: MV, released_why: measured"),
    "struck out": swap(CARD, "why: dent", "why: dent, void: {why: wrong card, by: MV, on: 2026-03-12}"),
    "respelt": swap(CARD, "{on: 2026-03-10, by: MV, why: dent}", "{why: dent, by: MV, on: '2026-03-10'}   # as read"),
    "new entry": swap(CARD, HOLD, HOLD + "  - {on: 2026-04-01, by: MV, why: rust}\n"),
    "new card": lambda repo: repo.put("cylinders/RB-020.yaml", GOOD.replace("K118204", "K20")),
    "new line": lambda repo: repo.log(line(ELEVEN)),
    "new log": lambda repo: repo.log(line("2027-01-01T09:30:00+01:00"), year="2027"),
    "log in another order": lambda repo: repo.put(LOG, "\n".join([repo.read(LOG).split("\n")[0], line(TEN, "RB-015"), line(NINE), ""])),
    "log under another name": lambda repo: (repo.root / OLD_LOG).rename(repo.root / "fills/2025-b.csv"),
    "log under another name with quotes": lambda repo: (repo.put("fills/2025-b.csv", repo.read(OLD_LOG).replace(",air,", ',"air",')), drop(OLD_LOG)(repo)),
    "harmless card under another id": lambda repo: (repo.root / OTHER).rename(repo.root / "cylinders/RB-115.yaml"),
    "logs joined": lambda repo: (repo.log(line("2025-03-10T09:30:00+01:00")), drop(OLD_LOG)(repo)),
    "log without its last line end": lambda repo: repo.put(LOG, repo.read(LOG).rstrip("\n")),
    "log with quotes": lambda repo: repo.put(LOG, repo.read(LOG).replace(",air,", ',"air",')),
    "everything with CR LF": lambda repo: [repo.put(p, repo.read(p).replace("\n", "\r\n")) for p in (CARD, STATION, SET, SHOP, LOG, TOOLS)],
    "stricter row": swap(SHOP, "12 months", "6 months"),
    "new row": swap(SHOP, ROW, ROW + ROW.replace("shop.a", "shop.b")),
    "rules under another name": lambda repo: (repo.root / SHOP).rename(repo.root / "rules/house.yaml"),
    "checklist changed": swap(LIST, "dents", "dents and rust"),
    "set under another name": lambda repo: (repo.root / SET).rename(repo.root / "sets/DB-09.yaml"),
    "isolator shut": swap(SET, "isolator: open", "isolator: shut"),
    "whip under another name": swap(STATION, "name: W2", "name: W3"),
    "person left": swap(TOOLS, "from: 2020-01}]", "from: 2020-01}], left: 2026-11-01"),
    "prices and bookings": lambda repo: (repo.put("bookings.csv", "x\n"), swap(TOOLS, "units: psi", "units: bar\nprices: {fill: 9.00 USD}")(repo)),
    "mode changed": lambda repo: (repo.root / CARD).chmod(0o755),
    "untracked": lambda repo: repo.git("rm", "-q", "--cached", "-r", "."),
}  # fmt: skip


@pytest.mark.parametrize("case", GROWTH)
def test_honest_work_is_not_told(repo: Repo, case: str) -> None:
    GROWTH[case](repo)
    assert looked(repo) == []


def test_line_ends_of_the_commit_make_no_difference(repo: Repo) -> None:
    repo.put(".gitattributes", "* -text\n")
    for path in (CARD, STATION, SET, SHOP, LOG, TOOLS):
        repo.put(path, repo.read(path).replace("\n", "\r\n"))
    repo.commit("With CR LF")
    for path in (CARD, STATION, SET, SHOP, LOG, TOOLS):
        repo.put(path, repo.read(path).replace("\r\n", "\n"))
    assert looked(repo) == []
    repo.change(CARD, HOLD, "")
    repo.change(LOG, line(NINE) + "\n", "")
    assert looked(repo) == [HELD, (f"fill {NINE} RB-014", "gone", ("RB-014",))]


def test_a_card_that_goes_on_under_another_id_takes_its_entries_along(repo: Repo) -> None:
    new = "cylinders/RB-114.yaml"
    (repo.root / CARD).rename(repo.root / new)
    repo.change(SET, "RB-014", "RB-114")
    assert looked(repo) == []
    repo.change(new, HOLD, "")
    (gone,) = look(repo.root).gone
    assert (gone.what, gone.ids, gone.path, gone.explain_in) == (
        "held 2026-03-10", ("RB-014", "RB-114"), CARD, new,
    )  # fmt: skip
    repo.change(new, "K118204", "K999999")
    assert brief(look(repo.root))[0] == (CARD, "gone", ("RB-014",))


def test_a_card_renamed_in_capitals_or_swapped_with_another(repo: Repo) -> None:
    (repo.root / CARD).rename(repo.root / "cylinders/rb-014.yaml")
    assert looked(repo) == []
    (repo.root / "cylinders/rb-014.yaml").rename(repo.root / "between")
    (repo.root / OTHER).rename(repo.root / CARD)
    (repo.root / "between").rename(repo.root / OTHER)
    # the tags were not swapped with the cards
    assert looked(repo) == [("held 2026-03-10", "gone", ("RB-014", "RB-015"))]
    repo.change(OTHER, HOLD, "")
    assert looked(repo) == [("held 2026-03-10", "gone", ("RB-014", "RB-015"))]


def test_a_serial_of_another_maker_is_another_cylinder(repo: Repo) -> None:
    text = repo.read(CARD)
    (repo.root / CARD).unlink()
    repo.put("cylinders/RB-114.yaml", text.replace("Example Cylinder Co", "Tarn Alloy"))
    assert looked(repo) == [(CARD, "gone", ("RB-014",))]
    repo.put("cylinders/RB-114.yaml", text.replace("maker: Example Cylinder Co\n", ""))
    assert looked(repo) == []


def test_an_entry_moved_to_another_cylinder_is_gone(repo: Repo) -> None:
    repo.change(CARD, HOLD, "")
    repo.put(OTHER, repo.read(OTHER) + HOLD)
    assert looked(repo) == [HELD]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("CONDEMNED", True),
        ("NON REFILLABLE", True),
        ("NRC", True),
        ("ARGON ONLY", True),
        ("DO NOT FILL", True),
        ("NITROX", False),
    ],
)
def test_a_word_of_the_shoulder_that_takes_it_out_of_use_is_missed(
    repo: Repo, words: str, told: bool
) -> None:
    shoulder = "marks: DOT-3AL 3000 K118204 03A24"
    repo.put(CARD, f"{repo.read(CARD)}{shoulder} {words}\n")
    repo.commit("Read the shoulder")
    repo.change(CARD, f"{shoulder} {words}", shoulder)
    assert [what for what, _, _ in looked(repo)] == (["marks"] if told else [])


def test_of_asks_for_some_cylinders_and_the_whole_ledger(repo: Repo) -> None:
    repo.change(CARD, HOLD, "")
    drop(SHOP)(repo)
    got = look(repo.root)
    assert [g.what for g in got.of(["RB-014"])] == ["held 2026-03-10", SHOP]
    assert [g.what for g in got.of(["RB-015"])] == [SHOP]


def test_what_was_committed_is_no_longer_told(repo: Repo) -> None:
    repo.change(CARD, HOLD, "")
    repo.commit("Take the hold out")
    assert looked(repo) == []


# --- what explains it


def why(what: str, *, by: str = ", by: MV") -> str:
    return f"removed:\n  - {{on: 2026-03-12{by}, what: '{what}', why: decided so}}\n"


def test_a_card_explains_its_own_entries_and_the_settings_the_rest(repo: Repo) -> None:
    repo.put(CARD, repo.read(CARD).replace(HOLD, "") + why("Held  2026-03-10"))
    drop(SHOP)(repo)
    repo.put(TOOLS, repo.read(TOOLS) + why(SHOP))
    assert looked(repo) == []
    assert [(e.gone.what, e.removed.why) for e in look(repo.root).explained] == [
        ("held 2026-03-10", "decided so"),
        (SHOP, "decided so"),
    ]
    places = [e.removed.source.at("by") for e in look(repo.root).explained]
    assert [w.path for w in places] == [CARD, TOOLS]
    assert "by: MV" in repo.read(CARD).split("\n")[places[0].line - 1]
    repo.commit("Take both out")
    assert looked(repo) == []


def test_an_explanation_in_the_wrong_place_or_half_of_one_explains_nothing(repo: Repo) -> None:
    repo.change(CARD, HOLD, "")
    repo.put(TOOLS, repo.read(TOOLS) + why("held 2026-03-10"))
    repo.put(OTHER, repo.read(OTHER) + why("held 2026-03-10"))
    assert looked(repo) == [HELD]
    repo.put(CARD, repo.read(CARD) + why("held 2026-03-10", by=""))
    assert look(repo.root).gone[0].what == HELD[0]


def test_an_explanation_does_not_serve_twice(repo: Repo) -> None:
    repo.put(CARD, repo.read(CARD).replace(HOLD, "") + why("held 2026-03-10"))
    repo.commit("Take the hold out")
    repo.put(CARD, repo.read(CARD) + HOLD)
    repo.commit("Hold it again that day")
    repo.change(CARD, HOLD, "")
    assert looked(repo) == [HELD]


def test_the_words_told_explain_it(repo: Repo) -> None:
    for act in (swap(CARD, HOLD, ""), drop(SET), drop(LIST), swap(LOG, line(NINE) + "\n", "")):
        act(repo)
    entries: dict[str, list[str]] = {}
    for gone in look(repo.root).gone:
        said = gone.mend[gone.mend.index("{") : gone.mend.rindex("}") + 1]
        for word, stands in (("DAY", "2026-03-12"), ("INITIALS", "MV"), ("REASON", "so")):
            said = said.replace(word, stands)
        entries.setdefault(gone.explain_in, []).append(f"  - {said}\n")
    for path, each in entries.items():
        repo.put(path, repo.read(path) + "removed:\n" + "".join(each))
    assert sorted(entries) == [CARD, TOOLS]
    assert looked(repo) == []


def test_a_renamed_card_brings_its_explanations_and_may_add_one(repo: Repo) -> None:
    repo.put(CARD, repo.read(CARD) + why("held 2026-03-10"))
    repo.commit("Explain too early")
    repo.change(CARD, HOLD, "")
    new = "cylinders/RB-114.yaml"
    (repo.root / CARD).rename(repo.root / new)
    assert looked(repo) == [("held 2026-03-10", "gone", ("RB-014", "RB-114"))]
    repo.change(
        new,
        "removed:\n",
        "removed:\n  - {on: 2026-03-13, by: MV, what: held 2026-03-10, why: again}\n",
    )
    assert looked(repo) == []


# --- merges


def branches(repo: Repo, here: Callable[[Repo], object], there: Callable[[Repo], object]) -> None:
    """Two branches from the same commit; `there` is checked out last but one."""
    repo.git("checkout", "-q", "-b", "there")
    there(repo)
    repo.commit("There")
    repo.git("checkout", "-q", "main")
    here(repo)
    repo.commit("Here")


NEW_HOLD = "  - {on: 2026-04-01, by: KD, why: rust}\n"
add_hold = swap(CARD, HOLD, HOLD + NEW_HOLD)
note = swap(OTHER, "use: rental", "use: rental\nnote: blue boot")
NEW = ("held 2026-04-01", "gone", ("RB-014",))


@pytest.mark.parametrize("side", ["here", "there"])
def test_a_merge_that_loses_what_one_side_had(repo: Repo, side: str) -> None:
    sides = (add_hold, note) if side == "here" else (note, add_hold)
    branches(repo, *sides)
    repo.git("merge", "-q", "--no-commit", "there")
    assert look(repo.root).heads.underway == "merge"
    assert looked(repo) == []
    repo.change(CARD, NEW_HOLD, "")
    assert looked(repo) == [NEW]
    repo.commit("Merge there")
    got = look(repo.root)
    assert (got.heads.underway, got.heads.is_merge, brief(got)) == ("", True, [NEW])
    assert len(got.heads.others) == 2
    stood = repo.git("rev-parse", "HEAD^1" if side == "here" else "HEAD^2")
    assert got.gone[0].commit == stood[:10]
    repo.put("note", "x")
    repo.commit("After")
    assert looked(repo) == []


def test_a_merge_explained(repo: Repo) -> None:
    branches(repo, note, add_hold)
    repo.git("merge", "-q", "--no-commit", "there")
    repo.put(CARD, repo.read(CARD).replace(NEW_HOLD, "") + why("held 2026-04-01"))
    repo.commit("Merge there")
    assert looked(repo) == []
    assert len(look(repo.root).explained) == 1


def test_an_honest_merge_tells_nothing(repo: Repo) -> None:
    release = swap(CARD, "why: dent", "why: dent, released: 2026-03-12, released_by: MV")
    branches(repo, release, lambda r: (note(r), r.log(line(ELEVEN))))
    repo.git("merge", "-q", "-m", "Merge", "there")
    assert look(repo.root).heads.is_merge
    assert looked(repo) == []


def test_a_side_that_ended_an_entry_is_not_to_be_lost(repo: Repo) -> None:
    release = swap(CARD, "why: dent", "why: dent, released: 2026-03-12, released_by: MV")
    branches(repo, note, release)
    repo.git("merge", "-q", "--no-commit", "-s", "ours", "there")
    repo.commit("Merge")
    assert looked(repo) == [("held 2026-03-10", "altered", ("RB-014",))]


def test_every_side_of_an_octopus(repo: Repo) -> None:
    for name, act in (("one", lambda r: r.log(line(ELEVEN))), ("two", add_hold)):
        repo.git("checkout", "-q", "-b", name, "main")
        act(repo)
        repo.commit(name)
    repo.git("checkout", "-q", "main")
    repo.git("merge", "-q", "--no-commit", "one", "two")
    assert len(look(repo.root).heads.others) == 2
    repo.git("checkout", "-q", "HEAD", "--", ".")
    told = {f"fill {ELEVEN} RB-014", "held 2026-04-01"}
    assert {w for w, _, _ in looked(repo)} == told
    repo.commit("Merge both")
    assert {w for w, _, _ in looked(repo)} == told


def test_a_conflict_not_settled_is_no_absence_and_is_seen(repo: Repo) -> None:
    branches(
        repo, swap(CARD, "why: dent", "why: dent here"), swap(CARD, "why: dent", "why: dent there")
    )
    repo.git("merge", "-q", "there", ok=False)
    got = look(repo.root)
    assert got.gone == ()
    assert [(u.path, u.ids) for u in got.unseen] == [(CARD, ("RB-014",))]
    repo.put(CARD, GOOD.lstrip() + HOLD.replace("dent", "dent here"))
    assert looked(repo) == [("held 2026-03-10", "altered", ("RB-014",))]


def test_what_a_rebase_has_yet_to_redo(repo: Repo) -> None:
    clash = swap(OTHER, "use: rental", "use: rental\nnote: red boot")
    branches(repo, lambda r: (clash(r), add_hold(r)), note)
    repo.git("rebase", "-q", "there", ok=False)
    got = look(repo.root)
    assert got.heads.underway == "rebase"
    assert got.heads.detached
    # what is stopped at has been written to the folder, but for the file in conflict
    repo.git("checkout", "-q", "HEAD", "--", ".")
    assert [w for w, _, _ in brief(look(repo.root))] == ["held 2026-04-01"]


def test_a_detached_head_is_said(repo: Repo) -> None:
    repo.git("checkout", "-q", "--detach")
    assert look(repo.root).heads.detached
    assert looked(repo) == []


# --- where the ledger lies


def in_folder(root: Path, folder: str) -> tuple[Repo, Repo]:
    """A repository, and a ledger in a folder of it."""
    outer = Repo.begin(root)
    inner = Repo(root / folder)
    inner.put(TOOLS, SETTINGS.lstrip())
    fill(inner)
    outer.put("README", "x\n")
    outer.commit()
    return outer, inner


@pytest.mark.parametrize(
    "folder", ["quay", "a/b c/quay", "Qu\u00e4y", "qu'ay\n\t\"x", "quay\udcff"]
)
def test_a_ledger_in_a_folder_of_a_repository(tmp_path: Path, folder: str) -> None:
    try:
        _, inner = in_folder(tmp_path / "shop", folder)
    except OSError:
        pytest.skip("no such file name here")
    assert looked(inner) == []
    inner.change(CARD, HOLD, "")
    assert looked(inner) == [HELD]


@pytest.mark.parametrize(
    "name", ["RB 014", "R\u00fc-1", "a\nb", 'a"b', "a\\b", "tab\there", "x\udcff"]
)
def test_names_that_git_writes_in_quotes(repo: Repo, name: str) -> None:
    path = repo.root / f"cylinders/{name}.yaml"
    try:
        path.write_text(GOOD.lstrip().replace("K118204", "K9") + HOLD)
    except OSError:
        pytest.skip("no such file name here")
    repo.git("config", "core.quotePath", "false")
    repo.commit()
    assert looked(repo) == []
    path.write_text(GOOD.lstrip().replace("K118204", "K9"))
    (gone,) = look(repo.root).gone
    assert (gone.what, gone.ids) == ("held 2026-03-10", (name,))
    assert (gone.text + gone.mend).isprintable()
    path.unlink()
    (gone,) = look(repo.root).gone
    assert gone.ids == (name,)
    assert (gone.text + gone.mend).isprintable()


def test_a_linked_worktree(repo: Repo, tmp_path: Path) -> None:
    repo.git("worktree", "add", "-q", "-b", "side", str(tmp_path / "side"))
    side = Repo(tmp_path / "side")
    assert looked(side) == []
    side.change(CARD, HOLD, "")
    assert looked(side) == [HELD]
    assert looked(repo) == []
    # a merge is in progress in one of them alone
    branches(repo, note, add_hold)
    repo.git("merge", "-q", "--no-commit", "there")
    assert look(repo.root).heads.underway == "merge"
    assert look(side.root).heads.underway == ""


def test_a_worktree_of_a_bare_repository(repo: Repo, tmp_path: Path) -> None:
    repo.git("clone", "-q", "--bare", str(repo.root), str(tmp_path / "bare.git"))
    Repo(tmp_path / "bare.git").git("worktree", "add", "-q", str(tmp_path / "work"), "main")
    work = Repo(tmp_path / "work")
    assert looked(work) == []
    work.change(CARD, HOLD, "")
    assert looked(work) == [HELD]


def test_a_repository_kept_elsewhere(repo: Repo, tmp_path: Path) -> None:
    repo.git("init", "-q", "--separate-git-dir", str(tmp_path / "kept"))
    assert (repo.root / ".git").is_file()
    repo.change(CARD, HOLD, "")
    assert looked(repo) == [HELD]


def test_a_submodule(repo: Repo, tmp_path: Path) -> None:
    outer = Repo.begin(tmp_path / "outer")
    outer.git("-c", "protocol.file.allow=always", "submodule", "-q", "add", str(repo.root), "quay")
    outer.commit()
    inner = Repo(outer.root / "quay")
    assert looked(inner) == []
    inner.change(CARD, HOLD, "")
    assert looked(inner) == [HELD]


@pytest.mark.parametrize("then", ["nothing", "another"])
def test_a_submodule_without_its_repository(repo: Repo, tmp_path: Path, then: str) -> None:
    outer = Repo.begin(tmp_path / "outer")
    outer.git("-c", "protocol.file.allow=always", "submodule", "-q", "add", str(repo.root), "quay")
    outer.commit()
    (outer.root / "quay/.git").unlink()
    if then == "another":
        Repo(outer.root / "quay").git("init", "-q")
    assert "in a repository of its own" in why_not(outer.root / "quay")


def test_a_folder_of_records_that_is_a_submodule_cannot_be_seen(repo: Repo, tmp_path: Path) -> None:
    cards = Repo.begin(tmp_path / "cards")
    cards.put("RB-099.yaml", GOOD.lstrip() + HOLD)
    cards.commit()
    shutil.rmtree(repo.root / "cylinders")
    repo.commit("Make way")
    repo.git(
        "-c", "protocol.file.allow=always", "submodule", "-q", "add", str(cards.root), "cylinders"
    )
    repo.commit()
    got = look(repo.root)
    assert [(u.path, u.why) for u in got.unseen] == [
        ("cylinders", "it was a link or a repository of its own")
    ]


def test_a_clone_and_a_shallow_one(repo: Repo, tmp_path: Path) -> None:
    branches(repo, note, add_hold)
    repo.git("merge", "-q", "-m", "Merge", "there")
    clone = repo.clone(tmp_path / "clone")
    assert looked(clone) == []
    clone.change(CARD, HOLD + NEW_HOLD, "")
    assert [w for w, _, _ in looked(clone)] == ["held 2026-03-10", "held 2026-04-01"]
    url = f"file://{repo.root}"
    repo.git("clone", "-q", "--depth", "1", url, str(tmp_path / "shallow"))
    shallow = Repo(tmp_path / "shallow")
    shallow.change(CARD, HOLD + NEW_HOLD, "")
    got = look(shallow.root)
    assert [g.what for g in got.gone] == ["held 2026-03-10", "held 2026-04-01"]
    assert ["beyond this shallow clone" in u.why for u in got.unseen] == [True, True]
    # of a line of commits, a shallow clone has all that is asked for
    repo.put("note", "x")
    repo.commit("After")
    repo.git("clone", "-q", "--depth", "1", url, str(tmp_path / "line"))
    assert looked(Repo(tmp_path / "line")) == []


def test_no_repository(tmp_path: Path) -> None:
    root = tmp_path / "quay"
    shutil.copytree(Path(__file__).parents[2] / "example_ledger", root)
    got = look(root)
    assert not got.heads.under_git
    assert not got.heads.exists
    assert (got.gone, got.unseen) == ((), ())


def test_nothing_committed_yet(tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "quay")
    repo.put(TOOLS, SETTINGS.lstrip())
    fill(repo)
    got = look(repo.root)
    assert (got.heads.under_git, got.heads.exists, got.unseen) == (True, False, ())
    repo.git("add", "-A")
    assert look(repo.root).gone == ()


def test_a_ledger_that_was_never_committed(tmp_path: Path) -> None:
    outer = Repo.begin(tmp_path / "shop")
    outer.put("README", "x\n")
    outer.commit()
    inner = Repo(outer.root / "quay")
    inner.put(TOOLS, SETTINGS.lstrip())
    fill(inner)
    got = look(inner.root)
    assert (got.heads.exists, got.heads.holds, got.gone) == (True, False, ())
    assert [u.why for u in got.unseen] == [
        "the latest commit has no `tankbook.yaml` of this ledger"
    ]


@pytest.mark.parametrize("how", ["switch", "delete"])
def test_a_branch_without_commits_where_there_are_some(repo: Repo, how: str) -> None:
    if how == "switch":
        repo.git("switch", "-q", "--orphan", "fresh")
    else:
        repo.git("update-ref", "-d", "HEAD")
    assert "though the repository has commits" in why_not(repo.root)


def test_a_moved_ledger(tmp_path: Path) -> None:
    outer, inner = in_folder(tmp_path / "shop", "quay")
    (outer.root / "new").mkdir()
    inner.root.rename(outer.root / "new/bench")
    moved = Repo(outer.root / "new/bench")
    assert looked(moved) == []
    assert look(moved.root).heads.moved_from == "quay"
    moved.change(CARD, HOLD, "")
    assert looked(moved) == [HELD]
    outer.commit("Move it")
    assert look(moved.root).heads.moved_from is None
    assert looked(moved) == []


def test_a_copy_is_no_move(tmp_path: Path) -> None:
    outer, inner = in_folder(tmp_path / "shop", "quay")
    shutil.copytree(inner.root, outer.root / "bench")
    assert not look(outer.root / "bench").heads.holds


def test_a_moved_ledger_is_told_from_another_that_went(tmp_path: Path) -> None:
    outer, inner = in_folder(tmp_path / "shop", "quay")
    other = Repo(outer.root / "pool")
    other.put(TOOLS, SETTINGS.lstrip().replace("Test Quay", "Pool"))
    other.put("cylinders/PL-001.yaml", GOOD.lstrip() + HOLD)
    outer.commit("A second ledger")
    shutil.rmtree(other.root)
    inner.root.rename(outer.root / "bench")
    bench = Repo(outer.root / "bench")
    assert look(bench.root).heads.moved_from == "quay"
    assert looked(bench) == []


def test_a_repository_made_inside_another_does_not_hide_it(tmp_path: Path) -> None:
    _, inner = in_folder(tmp_path / "shop", "quay")
    inner.git("init", "-q")
    inner.change(CARD, HOLD, "")
    assert looked(inner) == [HELD]


def test_a_ledger_reached_through_links(repo: Repo, tmp_path: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to(repo.root)
    repo.change(CARD, HOLD, "")
    assert looked(Repo(link)) == [HELD]


def test_a_link_put_in_the_place_of_the_ledger(tmp_path: Path) -> None:
    outer, inner = in_folder(tmp_path / "shop", "quay")
    copy = Repo(tmp_path / "copy")
    inner.root.rename(copy.root)
    copy.change(CARD, HOLD, "")
    (outer.root / "quay").symlink_to(copy.root)
    assert looked(inner) == [HELD]


def test_relative_paths(repo: Repo, monkeypatch: pytest.MonkeyPatch) -> None:
    repo.change(CARD, HOLD, "")
    monkeypatch.chdir(repo.root)
    assert brief(look(Path())) == [HELD]
    monkeypatch.chdir(repo.root / "cylinders")
    assert brief(look(Path(".."))) == [HELD]


def test_links_among_the_records_committed(repo: Repo) -> None:
    (repo.root / OTHER).unlink()
    (repo.root / OTHER).symlink_to("RB-014.yaml")
    (repo.root / "cylinders/RB-016.yaml").symlink_to("/elsewhere/RB-016.yaml")
    repo.commit("Two links")
    repo.change(CARD, HOLD, "")
    got = look(repo.root)
    assert [w for w, _, _ in brief(got)] == ["held 2026-03-10"]
    assert {u.path for u in got.unseen} == {OTHER, "cylinders/RB-016.yaml"}
    (repo.root / "cylinders/RB-016.yaml").unlink()
    assert ("cylinders/RB-016.yaml", "gone", ("RB-016",)) in brief(look(repo.root))


# --- what cannot be seen


def test_a_link_to_the_same_is_not_taken_for_gone(repo: Repo) -> None:
    (repo.root / CARD).rename(repo.root / "kept")
    (repo.root / CARD).symlink_to("../kept")
    got = look(repo.root)
    assert got.gone == ()
    assert [(u.path, u.why) for u in got.unseen] == [(CARD, "it is a symbolic link")]


def test_a_file_that_cannot_be_read_is_not_taken_for_gone(repo: Repo) -> None:
    repo.put(CARD, repo.read(CARD) + "held: [\n")
    repo.put(STATION, "x" * (2 << 20))
    (repo.root / SET).unlink()
    os.mkfifo(repo.root / SET)
    (repo.root / SHOP).unlink()
    (repo.root / SHOP).symlink_to("shop.yaml")
    got = look(repo.root)
    assert got.gone == ()
    assert {u.path for u in got.unseen} == {CARD, STATION, SET, SHOP}


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_folder_that_may_not_be_read(repo: Repo) -> None:
    (repo.root / "rules").chmod(0)
    try:
        got = look(repo.root)
    finally:
        (repo.root / "rules").chmod(0o755)
    assert (got.gone, [u.path for u in got.unseen]) == ((), ["rules"])


def test_a_version_committed_that_cannot_be_read(repo: Repo) -> None:
    good = repo.read(CARD)
    repo.put(CARD, good + "<<<<<<< ours\n")
    repo.commit("Half a merge")
    repo.put(CARD, good.replace(HOLD, ""))
    got = look(repo.root)
    assert [(u.path, u.why) for u in got.unseen] == [(CARD, "the version committed cannot be read")]
    (repo.root / CARD).unlink()
    assert brief(look(repo.root)) == [(CARD, "gone", ("RB-014",))]


def test_a_version_committed_that_is_too_large(repo: Repo) -> None:
    good = repo.read(CARD)
    repo.put(CARD, good + "#" * (2 << 20))
    repo.commit("A large one")
    repo.put(CARD, good.replace(HOLD, ""))
    got = look(repo.root)
    assert [u.path for u in got.unseen] == [CARD]
    assert "more than the 1,048,576 allowed" in got.unseen[0].why


# --- a git that fails


def test_no_git(repo: Repo, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(repo.root))
    assert why_not(repo.root) == "git is not installed, or cannot be run"


def test_a_repository_of_another_user(repo: Repo, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")
    assert why_not(repo.root) == "another user owns this repository, so git will not open it"


@pytest.mark.parametrize(
    "harm", ["empty", "no HEAD", "empty HEAD", "a junk file", "a dangling file"]
)
def test_what_is_left_of_a_repository_does_not_count_as_none(repo: Repo, harm: str) -> None:
    git = repo.root / ".git"
    if harm == "no HEAD":
        (git / "HEAD").unlink()
    elif harm == "empty HEAD":
        (git / "HEAD").write_text("")
    else:
        shutil.rmtree(git)
        if harm == "empty":
            git.mkdir()
        else:
            git.write_text("junk" if harm == "a junk file" else "gitdir: /nowhere/at/all\n")
    assert why_not(repo.root)
    assert look(repo.root).heads.under_git


def loose(repo: Repo, revision: str) -> Path:
    name = repo.git("rev-parse", revision).strip()
    return repo.root / f".git/objects/{name[:2]}/{name[2:]}"


@pytest.mark.parametrize("what", ["HEAD", "HEAD^{tree}", "HEAD:cylinders", "HEAD:fills"])
@pytest.mark.parametrize("harm", ["gone", "empty", "junk", "another"])
def test_damaged_objects(repo: Repo, what: str, harm: str) -> None:
    hurt = loose(repo, what)
    hurt.chmod(0o644)
    if harm == "gone":
        hurt.unlink()
    elif harm == "another":
        shutil.copyfile(loose(repo, "HEAD:sets"), hurt)
    else:
        hurt.write_bytes(b"" if harm == "empty" else b"junk")
    assert why_not(repo.root)


@pytest.mark.parametrize("harm", ["gone", "empty", "another"])
def test_a_damaged_record_in_git(repo: Repo, harm: str) -> None:
    hurt = loose(repo, f"HEAD:{CARD}")
    other = loose(repo, f"HEAD:{OTHER}")
    hurt.chmod(0o644)
    if harm == "gone":
        hurt.unlink()
    elif harm == "empty":
        hurt.write_bytes(b"")
    else:
        shutil.copyfile(other, hurt)  # git itself does not notice
    repo.change(CARD, HOLD, "")
    drop(SHOP)(repo)
    got = look(repo.root)
    if harm != "empty":
        assert [u.path for u in got.unseen] == [CARD]
        assert [g.what for g in got.gone] == [SHOP]
    assert got.unseen


def test_what_is_damaged_is_not_asked_for_in_vain(repo: Repo) -> None:
    """A file that is the committed one, line ends aside, is known by its name alone."""
    for path in (CARD, LOG):
        hurt = loose(repo, f"HEAD:{path}")
        hurt.chmod(0o644)
        hurt.write_bytes(b"junk")
        repo.put(path, repo.read(path).replace("\n", "\r\n"))
    assert looked(repo) == []


@pytest.mark.parametrize("logs", [True, False])
@pytest.mark.parametrize("text", ["", "junk\n", "0" * 40 + "\n", "1" * 40 + "\n"])
def test_damaged_refs(repo: Repo, text: str, logs: bool) -> None:
    (repo.root / ".git/refs/heads/main").write_text(text)
    if not logs:
        shutil.rmtree(repo.root / ".git/logs")
    assert why_not(repo.root)
    (repo.root / ".git/HEAD").write_text("1" * 40 + "\n")
    assert why_not(repo.root)


@pytest.mark.parametrize("text", ["", "junk\n", "1" * 40 + "\n"])
def test_a_merge_in_progress_that_cannot_be_read(repo: Repo, text: str) -> None:
    (repo.root / ".git/MERGE_HEAD").write_text(text)
    assert look(repo.root).heads.underway == "merge"
    assert "merge" in why_not(repo.root)
    repo.change(CARD, HOLD, "")
    assert brief(look(repo.root)) == [HELD]


def test_a_git_that_hangs(repo: Repo, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    fake = tmp_path / "bin/git"
    fake.parent.mkdir()
    fake.write_text("#!/bin/sh\nexec sleep 60\n")
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", str(fake.parent), prepend=os.pathsep)
    monkeypatch.setattr("tankbook.ledger.githeads.SECONDS", 0.3)
    assert why_not(repo.root)


def test_git_files_that_are_pipes(repo: Repo) -> None:
    for name in ("MERGE_HEAD", "HEAD"):
        (repo.root / ".git" / name).unlink(missing_ok=True)
        os.mkfifo(repo.root / ".git" / name)
        assert "no ordinary file" in why_not(repo.root)
        (repo.root / ".git" / name).unlink()


def test_a_git_that_would_be_made_to_wait_is_not_asked(repo: Repo) -> None:
    os.mkfifo(repo.root / ".git/more")
    with (repo.root / ".git/config").open("a") as config:
        config.write("[include]\n\tpath = more\n")
    assert "no ordinary file, so git cannot be asked" in why_not(repo.root)


# --- tricks


@pytest.mark.parametrize("flag", ["--assume-unchanged", "--skip-worktree"])
def test_the_index_is_not_believed(repo: Repo, flag: str) -> None:
    before = (repo.root / CARD).stat()
    for path in (CARD, SHOP):
        repo.git("update-index", flag, path)
    repo.change(CARD, "why: dent", "why: none")
    os.utime(repo.root / CARD, ns=(before.st_atime_ns, before.st_mtime_ns))
    drop(SHOP)(repo)
    assert repo.git("status", "--porcelain") == ""
    assert looked(repo) == [("held 2026-03-10", "altered", ("RB-014",)), (SHOP, "gone", ())]


def test_a_sparse_checkout_leaves_out_what_is_told_as_gone(repo: Repo) -> None:
    repo.git("sparse-checkout", "set", "--no-cone", "/*", "!/rules")
    assert not (repo.root / SHOP).exists()
    assert looked(repo) == [(SHOP, "gone", ())]


def test_no_index_at_all(repo: Repo) -> None:
    (repo.root / ".git/index").write_bytes(b"junk")
    repo.change(CARD, HOLD, "")
    assert looked(repo) == [HELD]


def test_replaced_and_grafted_objects_are_not_believed(repo: Repo) -> None:
    clean = GOOD.lstrip()
    repo.put("clean", clean)
    blob = repo.git("hash-object", "-w", "clean").strip()
    repo.git("replace", repo.git("rev-parse", f"HEAD:{CARD}").strip(), blob)
    first = repo.git("rev-list", "--max-parents=0", "HEAD").strip()
    repo.git("replace", "-f", repo.git("rev-parse", "HEAD").strip(), first)
    (repo.root / ".git/info").mkdir(exist_ok=True)
    (repo.root / ".git/info/grafts").write_text(f"{repo.git('rev-parse', 'HEAD').strip()}\n")
    repo.put(CARD, clean)
    assert looked(repo) == [HELD]


def test_filters_and_attributes_change_nothing_and_are_not_run(repo: Repo) -> None:
    repo.git("config", "--file", ".git/config", "filter.a=b.clean", "touch pwned; sed s/x/x/")
    repo.git("config", "--file", ".git/config", "filter.a=b.smudge", "touch pwned; cat")
    repo.git("config", "--file", ".git/config", "filter.a=b.required", "true")
    repo.put(".gitattributes", "* filter=a=b text eol=crlf ident working-tree-encoding=UTF-16\n")
    os.utime(repo.root / OTHER)
    repo.change(CARD, HOLD, "")
    assert looked(repo) == [HELD]
    assert not list(repo.root.rglob("pwned"))


def test_a_hostile_repository_runs_nothing(repo: Repo, monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in make_hostile(repo).items():
        monkeypatch.setenv(name, value)
    with (repo.root / ".git/config").open("a") as config:
        config.write(
            "[core]\n\tfsmonitor = touch pwned\n\thooksPath = hooks\n\tsshCommand = touch pwned\n"
            '[credential]\n\thelper = "!touch pwned"\n[include]\n\tpath = /dev/zero-no-such\n'
            "[uploadpack]\n\tpackObjectsHook = touch pwned\n"
        )
    monkeypatch.chdir(repo.root)
    repo.change(CARD, HOLD, "")
    drop(SHOP)(repo)
    assert looked(repo) == [HELD, (SHOP, "gone", ())]
    assert not list(repo.root.parent.rglob("pwned"))


def test_a_clone_that_lacks_objects_fetches_none(repo: Repo, tmp_path: Path) -> None:
    repo.git("config", "uploadpack.allowFilter", "true")
    url = f"file://{repo.root}"
    repo.git("clone", "-q", "--filter=blob:none", "--no-checkout", url, str(tmp_path / "part"))
    part = Repo(tmp_path / "part")
    part.git("config", "remote.origin.uploadpack", "touch pwned; git-upload-pack")
    part.git("config", "remote.origin.url", "ext::sh -c touch% pwned")
    part.git("config", "protocol.ext.allow", "always")
    for path in (CARD, OTHER, STATION, SET, LIST, LOG, OLD_LOG, TOOLS):
        part.put(path, repo.read(path))
    part.change(CARD, HOLD, "")
    got = look(part.root)
    assert [u.path for u in got.unseen] == [CARD, SHOP]
    assert [g.what for g in got.gone] == [SHOP]
    assert not list(tmp_path.rglob("pwned"))


@pytest.mark.parametrize(
    "setting",
    [
        ("core.worktree", "/"),
        ("core.worktree", "/nowhere"),
        ("core.worktree", "../.."),
        ("core.worktree", "not/there"),
        ("core.bare", "true"),
        ("core.autocrlf", "true"),
        ("core.ignoreCase", "true"),
        ("core.symlinks", "false"),
        ("core.precomposeUnicode", "true"),
        ("core.logAllRefUpdates", "false"),
        ("core.checkStat", "minimal"),
        ("core.trustctime", "false"),
        ("core.excludesFile", "/dev/null"),
        ("extensions.worktreeConfig", "true"),
        ("safe.bareRepository", "all"),
        ("log.excludeDecoration", "*"),
        ("transfer.hideRefs", "refs/heads"),
    ],
)
@pytest.mark.parametrize("folder", ["", "quay"])
def test_no_setting_changes_the_answer(
    tmp_path: Path, folder: str, setting: tuple[str, str]
) -> None:
    outer, inner = in_folder(tmp_path / "shop", folder)
    outer.git("config", *setting)
    assert looked(inner) == []
    inner.change(CARD, HOLD, "")
    assert looked(inner) == [HELD]


def test_no_variable_of_the_environment_changes_the_answer(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    empty = Repo.begin(tmp_path / "empty")
    for name, value in {
        "GIT_DIR": str(empty.root / ".git"),
        "GIT_WORK_TREE": str(empty.root),
        "GIT_INDEX_FILE": "/dev/null",
        "GIT_OBJECT_DIRECTORY": str(empty.root / ".git/objects"),
        "GIT_ALTERNATE_OBJECT_DIRECTORIES": "/nowhere",
        "GIT_COMMON_DIR": str(empty.root / ".git"),
        "GIT_NAMESPACE": "x",
        "GIT_CEILING_DIRECTORIES": str(repo.root),
        "GIT_REPLACE_REF_BASE": "refs/heads/",
        "GIT_GRAFT_FILE": str(repo.root / CARD),
        "GIT_CONFIG_PARAMETERS": "'core.worktree=/nowhere'",
        "GIT_ATTR_SOURCE": "HEAD",
        "GIT_DEFAULT_HASH": "sha256",
        "GIT_PREFIX": "quay/",
        "GIT_TRACE": str(tmp_path / "trace"),
        "GIT_SHALLOW_FILE": "/dev/null",
        "LC_ALL": "de_DE.UTF-8",
        "LANGUAGE": "de",
    }.items():
        monkeypatch.setenv(name, value)
    repo.change(CARD, HOLD, "")
    assert looked(repo) == [HELD]
    assert not (tmp_path / "trace").exists()


@pytest.mark.parametrize("folder", ["shop", "a:b"])
def test_a_broken_repository_does_not_lead_to_the_one_around_it(
    tmp_path: Path, folder: str
) -> None:
    """Git takes a colon for the end of a folder it may not look above."""
    outer = ledger(tmp_path / folder)
    inner = Repo(outer.root / "pool")
    inner.put(TOOLS, SETTINGS.lstrip())
    fill(inner)
    inner.git("init", "-q", "-b", "main")
    inner.commit()
    assert looked(inner) == []
    (inner.root / ".git/HEAD").unlink()
    assert "for no repository" in why_not(inner.root)


def lay_over(root: Path, aside: Path) -> None:
    """A bare repository with a clean card, laid over a folder."""
    fake = Repo.begin(aside)
    fake.put(TOOLS, SETTINGS.lstrip())
    fake.put(CARD, GOOD.lstrip())
    fake.commit()
    for each in (fake.root / ".git").iterdir():
        copy = shutil.copytree if each.is_dir() else shutil.copyfile
        copy(each, root / each.name)


def test_a_folder_that_only_looks_like_a_repository(tmp_path: Path) -> None:
    _, inner = in_folder(tmp_path / "shop", "quay")
    lay_over(inner.root, tmp_path / "fake")
    inner.change(CARD, HOLD, "")
    assert looked(inner) == [HELD]
    shutil.move(tmp_path / "shop/.git", tmp_path / "aside")
    assert not look(inner.root).heads.under_git
    (tmp_path / "shop/.git").mkdir()
    assert "for no repository" in why_not(inner.root)


def test_a_folder_that_looks_like_a_repository_does_not_stand_in_for_a_broken_one(
    repo: Repo, tmp_path: Path
) -> None:
    lay_over(repo.root, tmp_path / "fake")
    (repo.root / ".git/HEAD").unlink()
    repo.change(CARD, HOLD, "")
    assert "repository" in why_not(repo.root)


def test_a_branch_called_like_a_revision(repo: Repo) -> None:
    first = repo.git("rev-list", "--max-parents=0", "HEAD").strip()
    for name in ("HEAD", "MERGE_HEAD", "heads/main"):
        repo.git(
            "update-ref", f"refs/heads/{name}" if "/" not in name else f"refs/tags/{name}", first
        )
    repo.git("update-ref", "refs/tags/HEAD", first)
    repo.change(CARD, HOLD, "")
    assert HELD in brief(look(repo.root))


def test_a_repository_of_longer_names(tmp_path: Path) -> None:
    root = tmp_path / "quay"
    root.mkdir()
    repo = Repo(root)
    repo.git("init", "-q", "-b", "main", "--object-format=sha256")
    repo.put(TOOLS, SETTINGS.lstrip())
    fill(repo)
    repo.commit()
    branches(repo, note, add_hold)
    repo.git("merge", "-q", "--no-commit", "there")
    assert looked(repo) == []
    assert look(root).heads.underway == "merge"
    repo.change(CARD, HOLD + NEW_HOLD, "")
    assert [w for w, _, _ in looked(repo)] == ["held 2026-03-10", "held 2026-04-01"]


def test_packed_objects_and_refs(repo: Repo) -> None:
    repo.git("gc", "-q")
    repo.change(CARD, HOLD, "")
    assert looked(repo) == [HELD]


def test_nothing_is_written_and_one_git_is_asked(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    def files() -> dict[Path, int]:
        return {p: p.lstat().st_mtime_ns for p in repo.root.rglob("*")}

    asked = []
    started = gitread.Popen
    monkeypatch.setattr(gitread, "Popen", lambda *a, **k: asked.append(a) or started(*a, **k))
    (repo.root / ".git/index.lock").write_text("")
    before = files()
    look(repo.root)
    repo.change(CARD, HOLD, "")
    assert look(repo.root).gone
    assert len(asked) == 2
    repo.put(CARD, repo.read(CARD) + HOLD)
    assert {p for p, at in files().items() if before.get(p) != at} == {repo.root / CARD}


# --- laws, on the example ledger

EXAMPLE = Path(__file__).parents[2] / "example_ledger"
Tree = dict[str, Any]


def tree_of(node: Node | None) -> Any:
    """A node as plain values."""
    if isinstance(node, MappingNode):
        return {name.text: tree_of(value) for name, value in node.pairs}
    if isinstance(node, SequenceNode):
        return [tree_of(item) for item in node.items]
    return node.text if node is not None else None


def scalar(text: str, chance: Random) -> str:
    plain = re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9 ./%+;_-]*[A-Za-z0-9%+.]", text) is not None
    style = chance.choice(["plain", "single", "double"] if plain else ["single", "double"])
    if style == "single":
        return "'" + text.replace("'", "''") + "'"
    if style == "double":
        return json.dumps(text, ensure_ascii=False)
    return text


def flow(value: Any, chance: Random) -> str:
    if isinstance(value, dict):
        names = chance.sample(list(value), len(value))
        return "{" + ", ".join(f"{n}: {flow(value[n], chance)}" for n in names) + "}"
    if isinstance(value, list):
        return "[" + ",  ".join(flow(item, chance) for item in value) + "]"
    return scalar(value, chance)


def block(tree: Tree, chance: Random, indent: str = "") -> str:
    """A record in some spelling: order of keys, quotes, flow or block, remarks."""
    lines = []
    for name in chance.sample(list(tree), len(tree)):
        value = tree[name]
        way = chance.randrange(3)
        if isinstance(value, list) and all(isinstance(v, dict) for v in value) and value and way:
            lines.append(f"{indent}{name}:   # a remark")
            for item in value:
                first, *rest = block(item, chance, f"{indent}    ").splitlines()
                lines += [f"{indent}  - {first.strip()}", *rest]
        elif isinstance(value, dict) and value and way:
            lines += [f"{indent}{name}:", block(value, chance, f"{indent}  ").rstrip("\n")]
        else:
            lines.append(f"{indent}{name}: {flow(value, chance)}")
        lines += [""] if way == 2 and not indent else []
    return "\n".join(lines) + "\n"


def adverse(path: str) -> list[tuple[Gone, list[Any]]]:
    """What the file at a path would lose if all of it went, each with the way to it."""
    text = (EXAMPLE / path).read_text()
    node = parse(text, path)[0]
    assert node is not None
    found = []
    for gone in entries_gone(path, node, None):
        trail: list[Any] = []
        part: Any = tree_of(node)
        steps = gone.place.split(".")
        for step in steps:
            if isinstance(part, list):
                step = next(i for i, p in enumerate(part) if p["name"] == step)
            trail.append(step)
            part = part[step]
        parts = part if isinstance(part, list) else [part]
        on = gone.what.split()[-1]
        found += [(gone, [*trail, i]) for i, p in enumerate(parts) if p["on"] == on][:1]
    return found


PATHS = ["station.yaml", *sorted(f"cylinders/{p.name}" for p in (EXAMPLE / "cylinders").iterdir())]
ADVERSE = [(path, gone, trail) for path in PATHS for gone, trail in adverse(path)]


def at(tree: Any, trail: list[Any]) -> Any:
    for step in trail:
        tree = tree[step]
    return tree


def taken_out(tree: Tree, trail: list[Any], chance: Random) -> None:
    del at(tree, trail[:-1])[trail[-1]]


def altered(tree: Tree, trail: list[Any], chance: Random) -> None:
    """One word of an entry changed that may not change, or one key taken out."""
    entry = at(tree, trail)
    kind = {"checked": Checked, "air_tests": AirTest, "hours": Hours}.get(trail[-2]) or {
        name: key.kind.kind.record
        for name, key in keys_of(Cylinder).items()
        if "on, by" in key.kind.label
    }[trail[-2]]
    may = life_of(kind).changed
    names = [n for n, v in entry.items() if n not in may and isinstance(v, str)]
    name = chance.choice(sorted(names))
    if chance.random() < 0.5:
        entry[name] += " x"
    else:
        del entry[name]


@pytest.fixture(name="brindle", scope="module")
def _brindle(tmp_path_factory: pytest.TempPathFactory) -> Repo:
    root = tmp_path_factory.mktemp("brindle") / "cove"
    shutil.copytree(EXAMPLE, root)
    repo = Repo(root)
    repo.git("init", "-q", "-b", "main")
    repo.commit()
    return repo


def test_the_example_has_what_these_laws_are_about() -> None:
    places = {gone.place for _, gone, _ in ADVERSE}
    assert {"held", "rejected", "condemned", "inspected", "air_tests", "whips.W2.checked"} <= places
    assert len(ADVERSE) > 15


@settings(max_examples=tries(30, 400), suppress_health_check=list(HealthCheck))
@given(chance=st.builds(Random, st.integers()))
def test_an_adverse_entry_taken_out_or_altered_is_told_however_the_file_is_written(
    brindle: Repo, chance: Random
) -> None:
    path, gone, trail = chance.choice(ADVERSE)
    text = (EXAMPLE / path).read_text()
    tree = tree_of(parse(text, path)[0])
    act = chance.choice([taken_out, altered])
    act(tree, trail, chance)
    brindle.put(path, block(tree, chance))
    got = look(brindle.root)
    brindle.put(path, text)
    assert [(g.what, g.ids) for g in got.gone] == [
        (gone.what, () if path == "station.yaml" else (path[10:-5],))
    ]
    assert got.unseen == ()


VOID = {"why": "wrong card", "by": "KD", "on": "2026-11-25"}


def grow(tree: Tree, trail: list[Any], chance: Random) -> None:
    """An entry goes on as its life allows, or is struck out."""
    entry, kind = at(tree, trail), trail[-2]
    if "void" in entry:
        return
    ways = {
        "held": {"released": "2026-11-25", "released_by": "KD", "released_why": "measured"},
        "rejected": {"lifted": "2026-11-25", "lifted_by": "KD", "lifted_why": "retested"},
        "lost": {"found": "2026-11-25", "found_by": "KD", "found_why": "under the bench"},
        "condemned": {"marked": "CONDEMNED stamped", "consent": "letter"},
        "inspected": {"sticker": "voided"},
        "handed_over": {"slip": "2026-031"},
    }
    more = {k: v for k, v in ways.get(kind, {}).items() if k not in entry or k == "sticker"}
    if chance.random() < 0.5:
        more = {**more, "void": VOID}
    entry |= more


@settings(max_examples=tries(30, 400), suppress_health_check=list(HealthCheck))
@given(chance=st.builds(Random, st.integers()))
def test_growth_and_another_way_to_write_are_not_told(brindle: Repo, chance: Random) -> None:
    path = chance.choice(PATHS)
    text = (EXAMPLE / path).read_text()
    tree = tree_of(parse(text, path)[0])
    for other, _, trail in ADVERSE:
        if other == path and chance.random() < 0.5:
            grow(tree, trail, chance)
    if path != "station.yaml" and chance.random() < 0.5:
        tree.setdefault("held", [])
        tree["held"].insert(0, {"on": "2026-11-25", "by": "KD", "why": "dent"})
    written = block(tree, chance)
    brindle.put(path, written.replace("\n", "\r\n") if chance.random() < 0.5 else written)
    got = look(brindle.root)
    brindle.put(path, text)
    assert (got.gone, got.unseen) == ((), ())


@settings(max_examples=tries(20, 200), suppress_health_check=list(HealthCheck))
@given(chance=st.builds(Random, st.integers()))
def test_lines_of_the_log_may_be_added_and_put_in_order_and_nothing_else(
    brindle: Repo, chance: Random
) -> None:
    path = chance.choice([LOG, OLD_LOG])
    text = (EXAMPLE / path).read_text()
    head, *rows = text.splitlines()
    place = chance.randrange(len(rows))
    was = rows[place].split(",")
    act = chance.choice(["add", "move", "drop", "edit"])
    if act == "add":
        rows.insert(place, line("2026-11-25T10:00:00-05:00"))
    else:
        row = rows.pop(place)
    if act == "move":
        rows.insert(chance.randint(0, len(rows)), row)
    if act == "edit":
        cells = row.split(",")
        column = chance.randrange(len(cells))
        cells[column] += "9"
        rows.insert(place, ",".join(cells))
    brindle.put(path, "\n".join([head, *rows, ""]))
    got = look(brindle.root)
    brindle.put(path, text)
    told = {"drop": "gone", "edit": "altered"}.get(act)
    expected = [(f"{was[2]} {was[0]} {was[1]}", told)] if told else []
    assert [(g.what, g.how.value) for g in got.gone] == expected


@pytest.mark.parametrize(("kept", "refused"), [("", False), (HOLD, True)])
def test_what_told_against_one_of_two_cards_of_a_serial_tells_against_both(
    tmp_path: Path, kept: str, refused: bool
) -> None:
    repo = ledger(tmp_path / "quay")
    repo.put(CARD, GOOD.lstrip())
    repo.put(OTHER, GOOD.lstrip() + kept)
    repo.commit()
    (repo.root / OTHER).unlink()
    gone = look(repo.root).gone
    assert any("RB-014" in g.ids for g in gone) is refused
