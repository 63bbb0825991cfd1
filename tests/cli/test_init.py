"""Beginning a ledger."""

from __future__ import annotations

import re
import shlex
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.cli import init_prompt
from tankbook.ledger.modelines import WHERE, file_of

Run = Callable[..., Any]


@pytest.mark.parametrize(
    ("short", "rules"), [("us", "us-dot"), ("US", "us-dot"), ("ca", "ca-tc"), ("UK", "uk")]
)
def test_a_rule_set_goes_by_its_short_name(short: str, rules: str, tb: Run) -> None:
    assert tb("init", "quay", "--rules", short).code == 0
    assert f"from {rules}, " in tb("rules", "--ledger", "quay").out
    assert tb("init", "bay", "--rules", "d").code == 2


@pytest.mark.parametrize(("units", "rules"), [("psi", "us-dot"), ("bar", "uk")])
def test_a_new_ledger_is_in_order_and_answers(
    units: str, rules: str, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran = tb("init", "quay", "--name", "North Quay", "--units", units, "--rules", rules)
    assert (ran.code, ran.err) == (0, "")
    assert ran.first == "Begun: a ledger in quay"
    monkeypatch.chdir(tmp_path / "quay")
    checked = tb("validate")
    assert checked.code == 0
    assert checked.first == "OK: no fault, 0 advice; 0 cylinders, 0 log lines"
    assert tb("--json").json["ledger"] == "North Quay"
    assert f"from {rules}, " in tb("rules").first


def test_what_is_written(tb: Run, tmp_path: Path) -> None:
    ran = tb("init", "quay", "--json")
    assert ran.json == {
        "ledger": "quay",
        "written": [
            "tankbook.yaml", "station.yaml", "checklists/before-hand-over.yaml",
            ".gitattributes", ".gitignore",
            *(f"schemas/{file_of(name)}" for name in WHERE),
            "cylinders/", "sets/", "checklists/", "fills/", "rules/", "schemas/",
        ],
        "asked": [],
    }  # fmt: skip
    root = tmp_path / "quay"
    assert all((root / each).exists() for each in ran.json["written"])
    assert "fills/*.csv text eol=lf merge=union\n" in (root / ".gitattributes").read_text()
    assert {"contacts.csv", ".tankbook/"} <= set((root / ".gitignore").read_text().splitlines())


def test_a_british_ledger_is_asked_for_its_risk_assessment(tb: Run) -> None:
    said = tb("init", "quay", "--rules", "uk")
    assert "Asked: was a written risk assessment" in said.out
    (asked,) = tb("init", "bay", "--rules", "uk", "--json").json["asked"]
    assert "without one, every answer asks for a yearly look inside" in asked
    assert "Asked" not in tb("init", "cove").out


def test_the_name_is_the_folders_unless_given(tb: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    tb("init", "quay")
    monkeypatch.chdir("quay")
    assert tb("--json").json["ledger"] == "quay"


def test_any_printable_name_comes_back_as_given(tb: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    name = 'O\'Quay: "deep" \\ #1 é'
    tb("init", "quay", "--name", name)
    monkeypatch.chdir("quay")
    assert tb("--json").json["ledger"] == name


@pytest.mark.parametrize("there", ["tankbook.yaml", "station.yaml", ".gitignore"])
def test_nothing_is_overwritten_and_nothing_is_written_beside_it(
    there: str, tb: Run, tmp_path: Path
) -> None:
    (tmp_path / there).write_text("mine\n")
    ran = tb("init", ".")
    assert (ran.code, ran.out) == (2, "")
    assert f"{there}: it is there already; nothing was written" in ran.err
    assert [p.name for p in tmp_path.iterdir()] == [there]
    assert (tmp_path / there).read_text() == "mine\n"


def test_a_file_in_the_way_is_one_line(tb: Run, tmp_path: Path) -> None:
    (tmp_path / "quay").write_text("a file")
    ran = tb("init", "quay")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize("name", ["", "two\nlines", "\x07"])
def test_a_name_that_cannot_be_is_refused(name: str, tb: Run, tmp_path: Path) -> None:
    if not name:
        assert tb("init", "quay", "--name", " ").code == 2
    else:
        assert tb("init", "quay", "--name", name).code == 2
    assert not (tmp_path / "quay").exists()


def test_a_beginning_that_was_cut_off_is_gone_on_with(tb: Run, tmp_path: Path) -> None:
    """The settings come last; without them it is no ledger yet."""
    tb("init", "whole", "--no-git")
    tb("init", "quay", "--name", "whole", "--no-git")
    root = tmp_path / "quay"
    for name in ("tankbook.yaml", ".gitignore"):
        (root / name).unlink()
    (root / "rules").rmdir()
    assert tb("init", "quay", "--name", "whole", "--no-git").code == 0
    for each in (tmp_path / "whole").rglob("*"):
        there = root / each.relative_to(tmp_path / "whole")
        assert there.exists()
        assert each.is_dir() or there.read_bytes() == each.read_bytes()


def test_what_a_beginning_would_not_have_written_is_in_the_way(tb: Run, tmp_path: Path) -> None:
    root = tmp_path / "quay"
    root.mkdir()
    for make in ("write_text", "mkdir", "symlink_to"):
        (root / "station.yaml").unlink(missing_ok=True)
        getattr(root / "station.yaml", make)(*{"mkdir": []}.get(make, ["nowhere"]))
        ran = tb("init", "quay")
        assert (ran.code, "station.yaml: it is there already" in ran.err) == (2, True)
        assert [each.name for each in root.iterdir()] == ["station.yaml"]
        if make == "mkdir":
            (root / "station.yaml").rmdir()


@pytest.mark.parametrize(("units", "rules"), [("psi", "us-dot"), ("bar", "uk")])
def test_a_new_shop_can_look_once_more_and_hand_over(
    units: str, rules: str, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tb("init", "quay", "--units", units, "--rules", rules, "--no-git")
    root = tmp_path / "quay"
    monkeypatch.chdir(root)
    settings = (root / "tankbook.yaml").read_text()
    policy = "sticker: {policy: at-hand-over, inspection_age: 12 months, second_look: 7 days}\n"
    assert f"# {policy}" in settings
    (root / "tankbook.yaml").write_text(settings.replace(f"# {policy}", policy) + "operator: MV\n")
    card = books.stamped(books.GOOD.replace("use: rental", "use: sale"))
    (root / "cylinders/SF-001.yaml").write_text(card.replace("2026-02-09", "2026-11-02"))
    on = ("--on", "2026-11-25")
    first = tb("hand-over", "SF-001", "--to", "C-1", *on)
    assert "no second outside look within 7 days is on record" in " ".join(first.out.split())
    looked = tb("inspect", "SF-001", "--checklist", "before-hand-over", "--pass-all", *on)
    assert looked.first == "Inspected SF-001 by `before-hand-over`: pass"
    again = tb("hand-over", "SF-001", "--to", "C-1", *on)
    assert "no second outside look" not in " ".join(again.out.split())
    assert rules == "uk" or again.first.startswith("Handed SF-001 over to C-1, slip 2026-001")


def test_a_station_its_prices_and_its_commits_are_begun_without_editing_a_file(
    tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for role in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{role}_NAME", "TO")
        monkeypatch.setenv(f"GIT_{role}_EMAIL", "to@example.org")
    ran = tb(
        "init", "quay", "--by", "TO", "--git", "--bank", "B1=4500/48L", "--bank", "007=300 bar/50",
        "--compressor", "yes", "--price", "hydro=45.00 USD", "--price", "visual=18USD",
        "--person", "ab", "--person", "NO",
    )  # fmt: skip
    assert (ran.code, ran.err) == (0, "")
    monkeypatch.chdir("quay")
    assert tb("validate").first == "OK: no fault, 0 advice; 0 cylinders, 0 log lines"
    station = tb("station", "--json").json
    assert [b["name"] for b in station["banks"]] == ["B1", "007"]
    assert "B1 OUT OF USE 48 L 4500 psi air not read" in " ".join(tb("station").out.split())
    assert "people:\n  TO: {}\n  AB: {}\n  NO: {}\n" in Path("tankbook.yaml").read_text()
    line = "station bank-test B1 --on 2026-01 --by T123 --period 10y"
    assert "Committed as" in tb("--on", "2026-11-25", *line.split()).out
    assert "hydro" not in tb("costs").out.partition("No price in the settings")[2]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("--bank B1", "--bank: 'B1' is no bank; write it as B1=4500/50L"),
        ("--units bar --bank B1=300", "write it as 300/50L"),
        ("--bank B1=4500/0L", "holds nothing"),
        ("--bank B1=4500/48L --bank b1=4000/48L", "--bank: 'b1' is given twice"),
        ("--bank ../x=4500/48L", "is not an id"),
        ("--compressor a/b", "is not an id"),
        ("--bank B1=4500/48L --booster b1", "--booster: 'b1' is given twice"),
        ("--booster BO1 --booster bo1", "--booster: 'bo1' is given twice"),
        ("--booster BO1=B1", "'BO1' takes from 'B1', which is not there; known: none; --bank and"),
        ("--compressor C1 --booster BO1=C2", "which is not there; known: C1"),
        ("--compressor C1 --booster BO1=BO1", "which is not there; known: C1"),
        ("--booster BO1=", "is no booster; write it as BO1, BO1=B1,C1 or BO1=B1/PRESSURE"),
        ("--booster =B1", "is no booster"),
        ("--compressor C1 --booster BO1=C1,", "is no booster"),
        ("--booster BO1/", "is no booster"),
        ("--booster BO1/high", "'high' is not a pressure"),
        ("--booster a:b", "is not an id"),
        ("--no-station --booster BO1", "are of a station; leave --no-station out"),
        ("--no-station --bank B1=4500/48L", "are of a station; leave --no-station out"),
        ("--no-station --compressor C1", "are of a station; leave --no-station out"),
        (
            "--price hidro=45USD",
            "names nothing that has a price; write it as hydro=45.00 USD; known: hydro,",
        ),
        ("--person A.B", "--person: 'A.B' are no initials"),
        ("--price hydro", "names nothing that has a price"),
        ("--price hydro=45", "carries its unit; write it as 45.00 USD"),
        ("--price hydro=4USD --price hydro=5USD", "'hydro' is given twice"),
    ],
)
def test_what_a_station_cannot_begin_with_is_refused_before_anything_is_written(
    line: str, told: str, tb: Run, tmp_path: Path
) -> None:
    ran = tb("init", "quay", *line.split())
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err
    assert not (tmp_path / "quay").exists()


@pytest.mark.parametrize("more", [(), ("--no-station",)])
def test_what_comes_next_names_what_is_there(more: tuple[str, ...], tb: Run) -> None:
    said = tb("init", "quay", *more).out
    assert "`tankbook book-in`" in said
    assert ("station.yaml" in said) is (not more)
    assert ("station" in said.split("Next, in quay:")[1]) is (not more)


def test_boosters_are_begun_without_editing_a_file(
    tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran = tb(
        "init", "quay", "--by", "MV", "--bank", "B1=4500/48L", "--compressor", "no", "--booster",
        "BO1=b1,NO,B1/4500", "--booster", "yes/300 bar", "--booster", "007",
    )  # fmt: skip
    assert (ran.code, ran.err) == (0, "")
    monkeypatch.chdir("quay")
    assert "from: [B1, no], max_pressure: 4500 psi}" in Path("station.yaml").read_text()
    assert tb("validate").first.startswith("OK: no fault, 0 advice")
    station = tb("station", "--json").json
    assert [(b["name"], b["max_psi"] and round(b["max_psi"])) for b in station["boosters"]] == [
        ("BO1", 4500), ("yes", 4351), ("007", None),
    ]  # fmt: skip
    assert tb("station", "hours", "86.5", "--of", "BO1").first == "Hour meter of BO1 reads 86.5 h"


UNREADABLE = {
    "a name that is no text": ("--name", "null"),
    "a name that is too long": ("--name", "x" * 600),
    "initials that are no text": ("--by", "null"),
    "a bank that is no text": ("--bank", "null=4500/48L"),
    "a compressor that is no text": ("--compressor", "null"),
    "a booster that is no text": ("--booster", "null"),
}


@pytest.mark.parametrize("asked", UNREADABLE)
def test_no_ledger_begins_with_a_fault(asked: str, tb: Run, tmp_path: Path) -> None:
    """What would not read back is refused before any of it is written."""
    ran = tb("init", "quay", *UNREADABLE[asked])
    assert (ran.code, ran.out) == (2, "")
    assert "cannot be kept" in ran.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("label", ["007", "yes", "no", "1e3", "0", "2026-01-01", "none", "C1"])
def test_a_label_that_reads_as_something_else_stays_as_typed(
    label: str, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    bank, person = ("--bank", f"{label}=4500/48L"), ("--person", "yes", "--person", "no")
    assert tb("init", "quay", "--by", "on", "--compressor", label, *bank, *person).code == 0
    monkeypatch.chdir("quay")
    assert tb("validate").first.startswith("OK: no fault")
    assert [b["name"] for b in tb("station", "--json").json["banks"]] == [label]
    read = tb("station", "read", f"{label}=4000", "--by", "NO")
    assert read.first == f"Read {label} 4000 psi"


@pytest.mark.parametrize("folder", ["office.git", "office.git/sub", "clone/.git/sub"])
def test_no_ledger_begins_among_gits_own_files(folder: str, tb: Run, tmp_path: Path) -> None:
    for made in ("office.git", "clone/.git"):
        for each in ("objects", "refs"):
            (tmp_path / made / each).mkdir(parents=True)
        (tmp_path / made / "HEAD").write_text("ref: refs/heads/main\n")
    ran = tb("init", folder)
    assert (ran.code, ran.out) == (2, "")
    assert "git keeps its own files there; clone it" in ran.err
    assert not list(tmp_path.rglob("tankbook.yaml"))


@pytest.mark.parametrize("folder", ["cylinders", "rules"])
def test_a_file_where_a_folder_is_to_be_leaves_nothing_half_made(
    folder: str, tb: Run, tmp_path: Path
) -> None:
    (tmp_path / folder).write_text("mine\n")
    assert f"{folder}: it is there already; nothing was written" in tb("init", ".").err
    assert [p.name for p in tmp_path.iterdir()] == [folder]


@pytest.mark.parametrize("word", ["yes", "NO", "y", "n", "ja", "ok", "quit"])
def test_an_answer_is_no_initials_where_they_are_asked_for(word: str) -> None:
    with pytest.raises(ValueError, match="is an answer: the initials of whoever signs"):
        init_prompt._initials(word)
    assert init_prompt._initials("mv") == "MV"


BANK = ("--bank", "B1=4500/48L")
COMMITTER = {
    f"GIT_{role}_{what}": said
    for role in ("AUTHOR", "COMMITTER")
    for what, said in (("NAME", "MV"), ("EMAIL", "mv@shop.example"))
}


def alone(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No configuration of git but what a test writes, and no name that it could guess."""
    home = tmp_path / "home"
    home.mkdir()
    (home / ".gitconfig").write_text("[user]\nuseConfigOnly = true\n")
    for name in [*COMMITTER, "GIT_CONFIG_GLOBAL", "XDG_CONFIG_HOME", "EMAIL"]:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("HOME", str(home))


def known(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, said in COMMITTER.items():
        monkeypatch.setenv(name, said)


@pytest.mark.parametrize("more", [(), ("--git",), ("--person", "KD"), ("--json",)])
def test_with_options_it_is_under_git_from_the_first_minute(
    more: tuple[str, ...], tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone(monkeypatch, tmp_path)
    known(monkeypatch)
    ran = tb("init", "club", "--by", "MV", *BANK, *more)
    assert (ran.code, ran.err) == (0, "")
    assert "It is under git, and each act is a commit." in ran.out or more == ("--json",)
    assert "not under git" not in ran.out
    status = ["git", "-C", "club", "status", "--porcelain"]
    assert subprocess.run(status, capture_output=True, check=True).stdout == b""
    assert "Committed as" in tb("--ledger", "club", "station", "read", "B1=4000").out
    assert "\ncommit: yes\n" in Path("club/tankbook.yaml").read_text()


UNGIT = {
    "it was left out": (("--no-git",), "(--no-git was given)"),
    "git knows nobody": ((), "(git does not know who commits)"),
    "in another's repository": ((), "No act is a commit: it lies in the repository of"),
    "git is not there": ((), "(git is not installed, or does not answer)"),
}


@pytest.mark.parametrize("how", UNGIT)
@pytest.mark.parametrize("json", [False, True])
def test_why_no_git_keeps_it_is_said_and_what_is_named_makes_every_act_a_commit(
    how: str, json: bool, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone(monkeypatch, tmp_path)
    if how != "git knows nobody":
        known(monkeypatch)
    folder = "club"
    if how == "in another's repository":
        subprocess.run(["git", "init", "-q", "site"], check=True)
        folder = "site/club"
    with monkeypatch.context() as without:
        if how == "git is not there":
            without.setenv("PATH", str(tmp_path))
        options, told = UNGIT[how]
        ran = tb("init", folder, "--by", "MV", *BANK, *options, *(["--json"] if json else []))
    assert ran.code == 0
    said = " ".join((ran.err if json else ran.out).split())
    assert told in said
    settings = tmp_path / folder / "tankbook.yaml"
    assert "commit: yes" not in settings.read_text()
    steps = re.findall("`([^`]*)`", said.partition("To have it ")[2])
    assert steps.count("commit: yes") == 1
    for step in steps:
        if step == "commit: yes":
            settings.write_text(settings.read_text() + step + "\n")
        else:
            subprocess.run(step.split(), check=True, capture_output=True)
    monkeypatch.chdir(folder)
    assert "Committed as" in tb("station", "read", "B1=4000").out
    assert tb("validate").code == 0


def test_a_ledger_that_was_to_be_under_git_and_is_not_says_all_that_is_left(
    tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone(monkeypatch, tmp_path)
    known(monkeypatch)
    with monkeypatch.context() as without:
        without.setenv("PATH", str(tmp_path))
        said = tb("init", "club", "--by", "MV", "--git", *BANK).err
    lines = re.findall("`([^`]*)`", said)
    assert [line.split()[1] for line in lines] == ["init", "add", "commit"]
    monkeypatch.chdir("club")
    for line in lines:
        subprocess.run(shlex.split(line), check=True, capture_output=True)
    assert "Committed as" in tb("station", "read", "B1=4000").out


@pytest.mark.parametrize("sets", ["uk,eu-adr", "uk, eu-adr", "uk,eu-adr,uk"])
def test_several_rule_sets_are_named_as_the_question_asks_for_them(
    sets: str, tb: Run, tmp_path: Path
) -> None:
    assert tb("init", "quay", "--units", "bar", "--rules", sets).code == 0
    assert "rules: [uk, eu-adr]" in (tmp_path / "quay/tankbook.yaml").read_text()


def test_a_british_ledger_begins_with_its_risk_assessment(tb: Run, tmp_path: Path) -> None:
    uk = ("--units", "bar", "--rules", "uk", "--by", "kd")
    ran = tb("init", "quay", *uk, "--risk-assessed", "2020-01=binder 3: p=4")
    assert (ran.code, "Asked" in ran.out) == (0, False)
    settings = (tmp_path / "quay/tankbook.yaml").read_text()
    assert 'risk_assessed: {on: 2020-01, by: KD, document: "binder 3: p=4"}' in settings
    assert "# risk_assessed" not in settings
    assert tb("--ledger", "quay", "validate").code == 0


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("--rules uk --by KD --risk-assessed binder", "write the day, and where it is written"),
        ("--rules uk --by KD --risk-assessed 2020-01=", "write the day, and where it is written"),
        ("--rules uk --by KD --risk-assessed x=binder", "'x' is not"),
        ("--rules uk --by KD --risk-assessed 2199-01=binder", "2199-01 is yet to come"),
        ("--rules uk --risk-assessed 2020-01=binder", "say who made or adopted it: --by"),
        ("--rules us-dot --by KD --risk-assessed 2020-01=binder", "only the rules of uk ask"),
        ("--rules uk,mars", "no rule set 'mars'; known: "),
        ("--rules uk,", "no rule set ''; known: "),
    ],
)
def test_a_risk_assessment_that_counts_for_nothing_is_refused(
    line: str, told: str, tb: Run, tmp_path: Path
) -> None:
    ran = tb("init", "quay", *line.split())
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err
    assert not (tmp_path / "quay").exists()


def test_no_ledger_begins_by_which_nothing_could_ever_be_filled(tb: Run, tmp_path: Path) -> None:
    """Transport law is no fill rule by itself; the line that is named begins one by which it is."""
    ran = tb("init", "quay", "--rules", "eu-adr", "--units", "bar")
    assert (ran.code, ran.out) == (2, "")
    assert not (tmp_path / "quay").exists()
    line = re.search(r"`tankbook (init [^`]+)`", " ".join(ran.err.split()))
    assert line is not None, ran.err
    assert tb(*line[1].split()).code == 0
    told = tb("station", "--ledger", "quay").out
    assert told.startswith("CLOSED: no air test is on record")
    assert "no fill rule by itself" not in told


@pytest.mark.parametrize(
    ("rules", "standard"),
    [("us-dot", "cga-grade-e"), ("uk", "hse-divers-air"), ("de", "en-12021-2014")],
)
def test_the_example_of_an_air_test_is_of_the_rules_that_are_followed(
    tb: Run, tmp_path: Path, rules: str, standard: str
) -> None:
    root = tmp_path / "quay"
    assert tb("init", str(root), "--rules", rules, "--no-git").code == 0
    assert f"standard: {standard}," in (root / "station.yaml").read_text()
