"""`tankbook audit` as people and programs see it. What is a sign is tested in tests/ledger."""

from __future__ import annotations

import io
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from repos import ALONE, Repo, ledger, line
from syrupy.assertion import SnapshotAssertion

from tankbook.cli import open_ledger
from tankbook.cli.progress import Progress
from tankbook.output.page import Page
from tankbook.records.words import Shore

Run = Callable[..., Any]
CARD, LOG = "cylinders/RB-014.yaml", "fills/2026.csv"
NINE = "2026-03-10T09:30:00+01:00"
HELD = "held:\n  - {on: 2026-03-10, by: MV, why: dent near the foot}\n"
ON = ("--on", "2026-11-25")


def march(day: int) -> str:
    return f"2026-03-{day}T18:00:00+01:00"


@pytest.fixture(name="repo")
def _repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """Honest so far: two fills, a hold, and one line struck out openly."""
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    repo = ledger(tmp_path / "quay")
    repo.log(line(NINE), line("2026-03-10T09:40:00+01:00", "RB-015"))
    repo.put(CARD, repo.read(CARD) + HELD)
    repo.commit("Filled two, held RB-014", at=march(10))
    void = {"voids": f"{NINE} RB-014", "note": "wrong cylinder", "by": "MV"}
    repo.log(line("2026-03-11T09:00:00+01:00", act="void", **void))
    repo.commit("Corrected", at=march(11))
    return repo


@pytest.fixture(name="tampered")
def _tampered(repo: Repo) -> Repo:
    """A retest date changed, a line edited, one deleted, one late, and an edit not committed."""
    repo.change(CARD, "{on: 2024-03, method", "{on: 2025-03, method")
    repo.commit("Tidy up", at=march(20), by="TO")
    repo.change(LOG, line(NINE), line(NINE, to="2900 psi"))
    repo.change(LOG, line("2026-03-10T09:40:00+01:00", "RB-015") + "\n", "")
    repo.log(line("2026-03-02T10:00:00+01:00"))
    repo.commit("Log", at=march(21), by="TO")
    repo.change(CARD, "why: dent near the foot", "why: scratch")
    return repo


def masked(text: str) -> str:
    """Names of commits hang on every byte of the fixture, so they are not part of the picture."""
    return re.sub(r"\b[0-9a-f]{10}\b", "1a2b3c4d5e", text)


def test_a_clean_ledger_is_0_and_says_how_much_was_read(
    tb: Run, repo: Repo, snapshot: SnapshotAssertion
) -> None:
    ran = tb("audit", "--ledger", repo.root, *ON)
    assert (ran.code, ran.err) == (0, "")
    assert ran.first == "CLEAN: no sign of tampering; read 3 commits, 4 entries, 3 log lines"
    assert masked(ran.out) == snapshot


def test_signs_are_1_and_grouped_the_gravest_first(
    tb: Run, tampered: Repo, snapshot: SnapshotAssertion
) -> None:
    ran = tb("audit", "--ledger", tampered.root, *ON)
    assert ran.code == 1
    assert ran.first == "NOT CLEAN: 5 signs; read 5 commits, 4 entries, 4 log lines"
    assert max(map(len, ran.out.splitlines())) <= 80
    assert masked(ran.out) == snapshot


@pytest.mark.parametrize("width", [40, 60])
def test_signs_and_corrections_fit_a_narrow_terminal(
    tb: Run, tampered: Repo, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setattr(open_ledger, "page", lambda shore=Shore.PSI: Page(width, shore))
    ran = tb("audit", "--ledger", tampered.root, *ON)
    assert "Corrections" in ran.out
    assert [each for each in ran.out.splitlines() if len(each) > width] == []


def test_corrections_alone_are_clean(tb: Run, repo: Repo) -> None:
    ran = tb("audit", "--ledger", repo.root, "--json", *ON)
    assert (ran.code, ran.json["signs"], len(ran.json["corrections"])) == (0, [], 1)


def test_the_json_shape(tb: Run, tampered: Repo) -> None:
    got = tb("audit", "--ledger", tampered.root, "--json", *ON).json
    assert list(got) == [
        "clean", "commits", "entries", "log_lines", "first", "last", "shallow", "brought", "checkpoint",
        "moves", "signs", "corrections",
    ]  # fmt: skip
    assert (got["clean"], got["commits"], got["shallow"]) == (False, 5, False)
    first, last = got["signs"][0], got["signs"][1]
    assert list(first) == ["sign", "id", "what", "why", "differs", "path", "line", "commit"]
    assert first["differs"] == [{"key": "on", "before": "2024-03", "after": "2025-03"}]
    assert (first["commit"]["author"], first["commit"]["at"]) == ("TO", march(20))
    assert list(first["commit"]) == ["id", "at", "author", "authored", "subject", "signed"]
    assert (last["sign"], last["commit"]) == ("entry-altered", None)


def test_what_counts_as_late_and_as_many(tb: Run, tampered: Repo) -> None:
    def kinds(*options: str) -> list[str]:
        got = tb("audit", "--ledger", tampered.root, "--json", *ON, *options).json
        return [s["sign"] for s in got["signs"]]

    assert "recorded-late" in kinds()
    assert "recorded-late" not in kinds("--late", "30")
    assert "many-at-once" in kinds("--many", "1")


def test_no_setting_excuses_what_was_done_before_it(tb: Run, tampered: Repo) -> None:
    def kinds() -> list[str]:
        return [
            s["sign"] for s in tb("audit", "--ledger", tampered.root, "--json", *ON).json["signs"]
        ]

    settings = tampered.read("tankbook.yaml")
    tampered.put("tankbook.yaml", settings + "late_entry: 999\n")
    assert "recorded-late" in kinds()
    tampered.commit("Settings", at=march(22))
    assert "recorded-late" in kinds()
    tampered.log(line("2026-02-20T10:00:00+01:00"))
    tampered.commit("Log", at=march(23))
    assert kinds().count("recorded-late") == 1


def test_long_lists_are_cut_unless_all_is_asked_for(tb: Run, repo: Repo) -> None:
    repo.log(*(line(f"2026-01-{d:02}T09:00:00+01:00") for d in range(1, 26)))
    repo.commit(at=march(12))
    short = tb("audit", "--ledger", repo.root, *ON).out
    assert "Recorded late (25)" in short
    assert "  15 more; --all lists them" in short
    assert tb("audit", "--ledger", repo.root, "--all", *ON).out.count("recorded ") == 25


def test_the_past_is_audited_up_to_then(tb: Run, tampered: Repo) -> None:
    ran = tb("audit", "--ledger", tampered.root, "--as-of", "2026-03-15")
    assert (ran.code, ran.first[:5]) == (0, "CLEAN")
    assert ran.err.startswith("tankbook: as of commit ")
    ran = tb("audit", "--ledger", tampered.root, "--as-of", "HEAD")
    assert ran.first.startswith("NOT CLEAN: 4 signs")


@pytest.mark.parametrize("name", ["no repository", "nothing committed", "other user"])
def test_without_a_history_it_is_one_line_and_2(
    name: str, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for key, value in ALONE.items():
        monkeypatch.setenv(key, value)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
    repo = Repo(tmp_path / "quay")
    if name != "no repository":
        repo = Repo.begin(repo.root)
    repo.put("tankbook.yaml", books.SETTINGS)
    if name == "other user":
        monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")
    ran = tb("audit", "--ledger", repo.root)
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    said = {"no repository": "not in a git repository", "nothing committed": "nothing is committed yet",
            "other user": "another user owns"}[name]  # fmt: skip
    assert said in ran.err


def test_a_shallow_clone_says_so(tb: Run, repo: Repo, tmp_path: Path) -> None:
    repo.git("clone", "-q", "--depth", "2", repo.root.as_uri(), str(tmp_path / "shallow"))
    ran = tb("audit", "--ledger", tmp_path / "shallow", *ON)
    assert "This is a shallow clone" in ran.out
    assert tb("audit", "--ledger", tmp_path / "shallow", "--json", *ON).json["shallow"] is True


def test_whoever_committed_cannot_steer_the_terminal(tb: Run, repo: Repo) -> None:
    repo.change(CARD, "why: dent near the foot", "why: scratch")
    repo.commit("\x1b[2J", at=march(20), by="T\x1b[31mO")
    for command in (["audit"], ["history", "RB-014"]):
        assert "\x1b" not in tb(*command, "--ledger", repo.root, *ON).out


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_progress_is_for_a_terminal_and_for_long_work() -> None:
    clock = iter([0.0, 0.5, 1.5, 1.6, 3.0])
    terminal = Terminal()
    show = Progress("Reading commits", terminal, lambda: next(clock))
    for done in range(1, 5):
        show(done, 4)
    shown = terminal.getvalue().split("\r")
    assert "Reading commits" in shown[1]
    assert "[##########..........] 2 of 4" in shown[1]
    assert shown[-1].strip() == ""


def test_nothing_is_shown_where_there_is_no_terminal(tb: Run, repo: Repo) -> None:
    assert tb("audit", "--ledger", repo.root, *ON).err == ""


# --- what the acts do is never taken for tampering

SHOP = """
operator: MV
requalifier: Northside Test House
commit: yes
"""
CUSTOMER = books.GOOD.replace("K118204", "K2").replace(
    "use: rental", "use: customer\nowner: C-0192"
)
WITHHELD = books.GOOD.replace("K118204", "K3").replace("sticker: issued", "sticker: withheld")
STORY = [
    'hold 14 --why "dent near the foot"',
    'release 14 --why "gauged"',
    "send 14 --for requalification",
    "back 14",
    "refit 14",
    "inspect 14 --pass-all --neck-thread '3/4-14 NPSM' --valve-thread '3/4-14 NPSM'",
    "reading 14=2900",
    "drain 14=2500 --from 2900",
    "rent 14 --to B-4471 --happened 'went out with the boat'",
    "return 14=600 --valve closed --damage '14=handwheel cracked'",
    "jobs open CU-061 --work visual,fill --price 25USD",
    "jobs update CU-061 --price 30USD --told telephone",
    "jobs update CU-061 --note 'parts ordered' --state awaiting-parts",
    "jobs done CU-061",
    "jobs collect CU-061 --analysed 20.9",
    "refuse CU-061 --reason 'no stamp to be read'",
    "sticker SF-051",
    'reject CU-061 --why "line corrosion"',
    "reject CU-061 --told letter",
    'condemn CU-061 --by T123 --why "neck crack" --marked CONDEMNED',
    "correct 14 held --why 'it was RB-015'",
    "correct 14 drain --why misread --set 'to=2450 psi'",
    "drain 14",
    "valve 14 --did changed --outlet yoke --thread '3/4-14 NPSM' --bled heard",
    "valve 14 --did read --rating 3442psi --disc 5000psi",
    "clean 14 --to nitrox --for 2y --bled heard",
    "pair DB-09 14 SF-051 --isolator open --bled heard",
    "unpair DB-09 --bled heard",
    "pair DB-09 14 SF-051 --bled heard",
    "tidy",
]


def test_no_act_is_taken_for_tampering(
    tb: Run, repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in {"NAME": "MV", "EMAIL": "mv@shop.example"}.items():
        monkeypatch.setenv(f"GIT_AUTHOR_{name}", value)
        monkeypatch.setenv(f"GIT_COMMITTER_{name}", value)
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + SHOP)
    repo.put("cylinders/CU-061.yaml", CUSTOMER)
    repo.put("cylinders/SF-051.yaml", WITHHELD)
    repo.put(CARD, repo.read(CARD).replace("\n" + HELD, "\n"))
    repo.git("checkout", "-q", "--orphan", "afresh")
    repo.commit("Begin")
    before = int(repo.git("rev-list", "--count", "HEAD"))
    for line_ in STORY:
        ran = tb("--ledger", repo.root, *shlex.split(line_))
        assert ran.code == 0, (line_, ran.out, ran.err)
    assert int(repo.git("rev-list", "--count", "HEAD")) - before >= len(STORY) - 1
    ran = tb("audit", "--ledger", repo.root, "--late", "100000")
    assert ran.code == 0, ran.out
    assert "Corrections, openly made (3)" in ran.out


def test_an_index_told_to_look_away_hides_nothing(tb: Run, repo: Repo) -> None:
    repo.git("update-index", "--assume-unchanged", CARD, LOG)
    repo.change(CARD, "why: dent near the foot", "why: scratch")
    repo.change(LOG, line(NINE), line(NINE, to="2900 psi"))
    assert repo.git("status", "--porcelain") == ""
    got = tb("audit", "--ledger", repo.root, "--json", *ON).json["signs"]
    assert [(s["sign"], s["commit"]) for s in got] == [
        ("entry-altered", None),
        ("line-edited", None),
    ]


def test_other_line_ends_on_disk_are_no_change(tb: Run, repo: Repo) -> None:
    for path in (CARD, LOG, "tankbook.yaml"):
        repo.put(path, repo.read(path).replace("\n", "\r\n"))
    assert tb("audit", "--ledger", repo.root, *ON).code == 0


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("sha256: " + "0" * 64, "sha256: " + "1" * 64, "sha256"),
        ("name: lab.pdf", "name: other.pdf", "other.pdf"),
        (", certificate: {name: lab.pdf, sha256: " + "0" * 64 + "}", "", "certificate"),
    ],
)
def test_a_certificate_changed_or_taken_out_is_told(
    old: str, new: str, told: str, tb: Run, repo: Repo
) -> None:
    paper = "certificate: {name: lab.pdf, sha256: " + "0" * 64 + "}"
    test = f"on: 2026-03-10, by: Lab, standard: cga-grade-e, result: pass, {paper}"
    repo.put("station.yaml", f"air_tests:\n  - {{{test}}}\n")
    repo.commit("Air sampled", at=march(12))
    assert tb("audit", "--ledger", repo.root, *ON).code == 0
    repo.change("station.yaml", old, new)
    repo.commit("Tidy up", at=march(20), by="TO")
    ran = tb("audit", "--ledger", repo.root, *ON)
    assert ran.code == 1
    assert told in ran.out
    assert "air_tests" in ran.out
