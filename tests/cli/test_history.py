"""`tankbook history` as people and programs see it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from repos import ALONE, Repo, ledger, line
from syrupy.assertion import SnapshotAssertion

Run = Callable[..., Any]
CARD, LOG = "cylinders/RB-014.yaml", "fills/2026.csv"
NINE, TEN = "2026-03-10T09:30:00+01:00", "2026-03-10T10:30:00+01:00"
HELD = "held:\n  - {on: 2026-03-10, by: MV, why: dent near the foot}\n"


def march(day: int) -> str:
    return f"2026-03-{day}T18:00:00+01:00"


@pytest.fixture(name="repo")
def _repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """A cylinder's honest life: fills, a hold released, a rental, a wrong line struck out."""
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    other = books.GOOD.replace("K118204", "K2")
    repo = ledger(tmp_path / "quay", **{"RB-014": books.GOOD, "RB-114": other})
    repo.log(
        line(NINE), line(TEN, gas="nitrox32", o2="32.1 %", analysed_by="MV"), line(TEN, "RB-114")
    )
    repo.put(CARD, repo.read(CARD) + HELD)
    repo.commit("Held RB-014", at=march(10))
    repo.change(CARD, "why: dent near the foot", "why: dent near the foot, released: 2026-03-12")
    repo.change(CARD, "status: in-service", "place: rack 2\nstatus: in-service")
    repo.commit("Released RB-014", at=march(12))
    void = {"voids": f"{NINE} RB-014", "note": "wrong cylinder", "by": "MV"}
    repo.log(
        line("2026-04-01T09:00:00+02:00"), line("2026-04-01T09:05:00+02:00", act="void", **void)
    )
    repo.put(
        CARD,
        repo.read(CARD) + "rented:\n  - {on: 2026-04-01, by: MV, to: B-4471, back: 2026-04-03}\n",
    )
    repo.change(CARD, "place: rack 2", "place: rack 3")
    repo.commit("Rented RB-014", at="2026-04-03T18:00:00+02:00")
    return repo


@pytest.fixture(name="tampered")
def _tampered(repo: Repo) -> Repo:
    repo.change(CARD, "{on: 2024-03, method", "{on: 2025-03, method")
    repo.commit("Tidy up", at="2026-05-10T18:00:00+02:00", by="TO")
    repo.change(
        LOG, line("2026-04-01T09:00:00+02:00"), line("2026-04-01T09:00:00+02:00", to="2900 psi")
    )
    repo.put(
        CARD, repo.read(CARD).replace(HELD.replace("foot}", "foot, released: 2026-03-12}"), "")
    )
    repo.commit("Log", at="2026-05-11T18:00:00+02:00", by="TO")
    repo.change(CARD, "sticker: issued", "sticker: issued, note: fine")
    repo.put(CARD, repo.read(CARD) + "lost:\n  - {on: 2026-05-12, by: MV}\n")
    return repo


def masked(text: str) -> str:
    """Names of commits hang on every byte of the fixture, so they are not part of the picture."""
    return re.sub(r"\b[0-9a-f]{10}\b", "1a2b3c4d5e", text)


def test_an_honest_life(tb: Run, repo: Repo, snapshot: SnapshotAssertion) -> None:
    ran = tb("history", "RB-014", "--ledger", repo.root)
    assert (ran.code, ran.err) == (0, "")
    assert (
        ran.first
        == "RB-014: no past entry found changed; 6 entries, 2 fills, 2024-03 to 2026-04-03"
    )
    assert masked(ran.out) == snapshot


def test_what_was_changed_comes_first_and_is_still_0(
    tb: Run, tampered: Repo, snapshot: SnapshotAssertion
) -> None:
    ran = tb("history", "RB-014", "--ledger", tampered.root, "--on", "2026-11-25")
    assert ran.code == 0
    assert (
        ran.first == "RB-014: 4 CHANGES AFTER THE FACT; 6 entries, 2 fills, 2025-03 to 2026-05-12"
    )
    assert max(map(len, ran.out.splitlines())) <= 80
    assert masked(ran.out) == snapshot


def test_every_fill(tb: Run, repo: Repo, snapshot: SnapshotAssertion) -> None:
    ran = tb("history", "RB-014", "--fills", "--ledger", repo.root)
    assert masked(ran.out) == snapshot
    lines = tb("history", "RB-014", "--fills", "--json", "--ledger", repo.root).json["lines"]
    assert [n["struck_out"] for n in lines] == [True, False, False, False]
    assert lines[1]["gas"] == "nitrox32"


def test_the_json_shape(tb: Run, tampered: Repo) -> None:
    got = tb("history", "RB-014", "--json", "--ledger", tampered.root).json
    assert list(got) == [
        "id",
        "changed",
        "git",
        "events",
        "months",
        "lines",
        "changes",
        "corrections",
    ]
    assert (got["changed"], got["git"], got["lines"]) == (
        True, {"log_compared": "commit", "shallow": False}, None,
    )  # fmt: skip
    assert (got["corrections"], [m["fills"] for m in got["months"]]) == (1, [1, 1])
    assert [c["sign"] for c in got["changes"]] == [
        "entry-altered", "entry-removed", "line-edited", "entry-altered",
    ]  # fmt: skip
    lost = next(e for e in got["events"] if e["what"] == "lost")
    assert lost == {
        "on": "2026-05-12", "what": "lost", "values": {"on": "2026-05-12", "by": "MV"},
        "struck_out": False, "committed": False, "commit": None,
    }  # fmt: skip
    test = next(e for e in got["events"] if e["what"] == "requalified")
    assert (test["values"]["on"], test["commit"]["subject"]) == ("2025-03", "Begin")


def test_what_is_wrong_with_the_ledger_is_told(tb: Run, repo: Repo) -> None:
    assert tb("history", "RB-014", "--ledger", repo.root).code == 0
    repo.put("cylinders/RB-114.yaml", "serial: [K2\n")
    ran = tb("history", "RB-014", "--ledger", repo.root)
    assert (ran.code, "1 FILE NOT READ: cylinders/RB-114.yaml" in ran.first) == (1, True)
    data = tb("history", "RB-014", "--json", "--ledger", repo.root)
    assert (data.code, data.json["faults"][0]["path"]) == (1, "cylinders/RB-114.yaml")


def test_what_vanished_is_told(tb: Run, repo: Repo) -> None:
    repo.put(CARD, repo.read(CARD) + "rejected: [{on: 2026-05-12, by: MV, why: pits}]\n")
    repo.commit("Reject RB-014", at="2026-05-12T18:00:00+02:00")
    repo.put(CARD, repo.read(CARD).replace("rejected: [{on: 2026-05-12, by: MV, why: pits}]\n", ""))
    ran = tb("history", "RB-014", "--ledger", repo.root)
    assert (ran.code, f"1 RECORD VANISHED: {CARD}" in ran.first) == (1, True)


def test_another_cylinder_is_none_of_it(tb: Run, tampered: Repo) -> None:
    ran = tb("history", "RB-114", "--ledger", tampered.root)
    assert (
        ran.first == "RB-114: no past entry found changed; 3 entries, 1 fill, 2024-03 to 2026-03-10"
    )


def test_a_card_that_is_gone_is_known_by_its_whole_id(tb: Run, repo: Repo) -> None:
    (repo.root / CARD).unlink()
    repo.commit("Gone", at="2026-05-12T18:00:00+02:00", by="TO")
    ran = tb("history", "RB-014", "--ledger", repo.root)
    assert ran.first.startswith("RB-014: 1 CHANGE AFTER THE FACT; 6 entries")
    assert "FILE REMOVED: the whole file was taken out" in ran.out
    assert "2026-05-12 18:00 +0200 TO" in ran.out
    ran = tb("history", "RB-999", "--ledger", repo.root)
    assert (ran.code, ran.err.count("\n")) == (2, 1)


def test_a_serial_names_it_too(tb: Run, repo: Repo) -> None:
    assert tb("history", "K118204", "--ledger", repo.root).first.startswith("RB-014")


def test_fills_of_its_set_are_its_own_and_a_set_has_a_life(tb: Run, repo: Repo) -> None:
    repo.put("sets/DB-02.yaml", "cylinders: [RB-014, RB-114]\n")
    repo.log(line("2026-04-05T09:00:00+02:00", "DB-02"))
    repo.commit(at="2026-04-05T18:00:00+02:00")
    repo.change("sets/DB-02.yaml", "[RB-014, RB-114]", "[RB-114, RB-014]")
    repo.commit(at="2026-04-06T18:00:00+02:00")
    ran = tb("history", "RB-014", "--fills", "--ledger", repo.root)
    assert "3 fills" in ran.first
    assert "(as DB-02)" in " ".join(ran.out.split()).replace(" MV 09:00 +0200", "")
    ran = tb("history", "DB-02", "--ledger", repo.root)
    assert ran.first.startswith("DB-02: no past entry found changed; 2 entries, 1 fill")
    event = tb("history", "DB-02", "--ledger", repo.root, "--json").json["events"][-1]
    assert event["values"] == {"before": "RB-014, RB-114", "after": "RB-114, RB-014"}


def test_without_git_the_ledger_alone_tells(
    tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(ledger.parent))
    ran = tb("history", "RB-014", "--ledger", ledger)
    assert (ran.code, ran.err) == (0, "")
    assert (
        ran.first == "RB-014: changes unknown without git; 2 entries, 1 fill, 2024-03 to 2026-11-20"
    )
    said = " ".join(ran.out.split())
    assert "Git was not asked: the ledger is not in a git repository." in said
    assert "not committed" not in said
    assert tb("history", "RB-014", "--json", "--ledger", ledger).json["git"] is None
    assert tb("history", "RB-014", "--json", "--ledger", ledger).json["changed"] is None


def test_as_it_was_known_then(tb: Run, tampered: Repo) -> None:
    ran = tb("history", "RB-014", "--ledger", tampered.root, "--as-of", "2026-03-11")
    assert (
        ran.first
        == "RB-014: no past entry found changed; 4 entries, 2 fills, 2024-03 to 2026-03-10"
    )
    ran = tb("history", "RB-014", "--ledger", tampered.root, "--on", "2026-03-11")
    assert "rented" not in ran.out
    assert "ENTRY REMOVED" not in ran.out


def test_a_merge_that_drops_an_entry_shows(tb: Run, repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "second")
    repo.put(CARD, repo.read(CARD) + "lost:\n  - {on: 2026-04-04, by: MV}\n")
    repo.commit(at="2026-04-04T18:00:00+02:00")
    repo.git("checkout", "-q", "main")
    repo.git("merge", "-q", "-s", "ours", "-m", "merge", "second", at="2026-04-05T18:00:00+02:00")
    ran = tb("history", "RB-014", "--ledger", repo.root)
    assert "LOST IN A MERGE: lost 2026-04-04: recorded in" in " ".join(ran.out.split())


def test_both_sides_of_an_honest_merge_are_there(tb: Run, repo: Repo) -> None:
    repo.put(CARD, repo.read(CARD) + "# end\n")
    repo.commit(at="2026-04-04T10:00:00+02:00")
    repo.git("checkout", "-q", "-b", "second")
    repo.change(CARD, "# end\n", "# end\nlost:\n  - {on: 2026-04-04, by: MV}\n")
    repo.commit(at="2026-04-04T18:00:00+02:00", by="TO")
    repo.git("checkout", "-q", "main")
    repo.change(
        CARD,
        "sticker: issued}",
        "sticker: issued}\n  - {on: 2026-04-04, by: MV, checklist: annual, result: pass}",
    )
    repo.commit(at="2026-04-04T19:00:00+02:00")
    repo.git("merge", "-q", "-m", "merge", "second", at="2026-04-05T18:00:00+02:00")
    got = tb("history", "RB-014", "--json", "--ledger", repo.root).json
    assert got["changes"] == []
    assert all(e["commit"] for e in got["events"])


def test_markers_of_a_merge_are_told_with_their_lines(tb: Run, repo: Repo) -> None:
    repo.put(CARD, f"<<<<<<< HEAD\n{repo.read(CARD)}=======\n>>>>>>> x\n")
    repo.put(LOG, f"{repo.read(LOG)}<<<<<<< HEAD\n")
    ran = tb("history", "RB-014", "--ledger", repo.root)
    assert ran.code == 1
    assert f"{CARD}: a merge conflict is not settled at line 1, " in ran.err
    assert f"{LOG}: a merge conflict is not settled at line 7; keep" in ran.err


STATION = """\
banks:
  - {name: B1, water_volume: 48 L, readings: [{on: 2026-03-08, pressure: 4400 psi, by: MV}]}
compressor:
  name: C1
  hours: [{on: 2026-03-01, reads: 412.5 h, by: MV}]
whips:
  - name: W1
    checked:
      - {on: 2026-03-02, by: MV, result: fail, note: cover cut}
      - {on: 2026-03-03, by: MV, void: {why: no new one came, by: MV, on: 2026-03-04}}
gauges: [{name: G1}]
air_tests: [{on: 2026-03-05, standard: cga-grade-e, result: pass, source: C1}]
masters: [{on: 2026-03-06, gauge: G1, by: MV}]
"""


@pytest.mark.parametrize(
    ("part", "days"),
    [
        ((), [1, 2, 3, 5, 6, 8]),
        (("W1",), [2, 3]),
        (("w1.checked",), [2, 3]),
        (("B1.readings",), [8]),
        (("air-tests",), [5]),
        (("C1",), [1, 5]),
        (("compressor",), [1]),
        (("hours",), [1]),
        (("G1",), [6]),
    ],
)
def test_the_station_is_told_by_part_and_day(
    repo: Repo, tb: Run, part: tuple[str, ...], days: list[int]
) -> None:
    repo.put("station.yaml", STATION)
    repo.commit("Described the station", at=march(9))
    told = tb("--ledger", repo.root, "--json", "history", "station", *part).json
    entries = [e for e in told["events"] if e["on"] < "2026-03-09"]
    assert [int(e["on"][-2:]) for e in entries] == days
    assert all(e["commit"]["subject"] == "Described the station" for e in entries)
    struck = [e["on"] for e in entries if e["struck_out"]]
    assert struck == (["2026-03-03"] if 3 in days else [])
    assert told["corrections"] == len(struck)


def test_what_was_changed_in_the_station_is_told_whatever_part_is_asked_for(
    repo: Repo, tb: Run
) -> None:
    repo.put("station.yaml", STATION)
    repo.commit("Described the station", at=march(9))
    repo.change("station.yaml", "result: fail, note: cover cut", "result: pass")
    repo.commit("Tidy up", at=march(11), by="TO")
    for part in ((), ("B1",)):
        said = tb("--ledger", repo.root, "history", "station", *part).out
        assert said.startswith("station: 1 CHANGE AFTER THE FACT; ")
        assert "fill" not in said.splitlines()[0]


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("station", "B9"), "nothing is on record of B9 at the station; it has B1, C1, W1, air_tests"),
        (("station", "--fills"), "are of a cylinder or a set"),
        (("RB-014", "B1"), "write `tankbook history station PART`"),
    ],
)  # fmt: skip
def test_what_is_not_told_of_the_station(
    repo: Repo, tb: Run, asked: tuple[str, ...], told: str
) -> None:
    repo.put("station.yaml", STATION)
    ran = tb("--ledger", repo.root, "history", *asked)
    assert ran.code == 2
    assert told in " ".join(ran.err.split())


@pytest.mark.parametrize("git", [True, False])
@pytest.mark.parametrize("known", [True, False])
def test_doubles_made_up_and_taken_apart_are_in_the_life_of_the_set_and_of_both_sides(
    known: bool, git: bool, tmp_path: Path, tb: Run
) -> None:
    """Of a set whose making up nobody recorded, that it was taken apart was in no history."""
    sides = ("RB-014", "RB-114")
    cards = {id_: books.GOOD.replace("K118204", f"K{id_}") for id_ in sides}
    repo = ledger(tmp_path / "shop", **cards)
    on = ("--by", "MV", "--ledger", repo.root)
    if known:
        ran = tb("pair", "DB-09", *sides, "--bled", "heard", *on, "--on", "2026-11-20")
        assert ran.code == 0, ran.out + ran.err
    else:
        repo.put("sets/DB-09.yaml", "cylinders: [RB-014, RB-114]\nisolator: open\n")
    if git:
        repo.commit("Doubles")
    else:
        (repo.root / ".git").rename(tmp_path / "git")
    assert tb("unpair", "DB-09", "--bled", "heard", *on, "--on", "2026-11-24").code == 0
    for id_ in ("DB-09", *sides):
        events = tb("history", id_, "--ledger", repo.root, "--json").json["events"]
        told = [e for e in events if e["what"] in {"made_up", "taken_apart"}]
        days = {e["on"] for e in told} | {e["values"].get("apart") for e in told}
        assert days - {None} == ({"2026-11-20", "2026-11-24"} if known else {"2026-11-24"})
        assert all(e["values"].get("of") == (None if id_ == "DB-09" else "DB-09") for e in told)


@pytest.mark.parametrize(
    ("asked", "way"),
    [
        ("B1", "tankbook history station B1"),
        ("b1", "tankbook history station B1"),
        ("W1", "tankbook station"),
        ("B9", "tankbook list"),
    ],
)
def test_a_part_of_the_station_is_told_of_by_another_line(
    tb: Run, repo: Repo, asked: str, way: str
) -> None:
    bank = "{name: B1, water_volume: 48 L, readings: [{on: 2026-03-10, pressure: 4000 psi}]}"
    repo.put("station.yaml", f"banks: [{bank}]\nwhips: [{{name: W1}}]\n")
    repo.commit("Described the station", at=march(13))
    got = tb("history", asked, "--ledger", repo.root)
    assert got.code == 2
    assert f"`{way}`" in got.err
    if "list" not in way:
        assert f"{asked} is a part of the station" in got.err
        assert tb(*way.split()[1:], "--ledger", repo.root).code in {0, 1}
