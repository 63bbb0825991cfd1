"""Each command on a small ledger: its first line, its exit code, and what it leaves out."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
Write = Callable[..., Path]
ON = ["--on", "2026-11-25"]


@pytest.fixture(name="at")
def _at(tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run `tankbook ... --on 2026-11-25` inside the ledger."""

    def run(*arguments: str) -> Any:
        monkeypatch.chdir(ledger)
        return tb(*arguments, *ON)

    return run


# --- the board


def test_the_board_opens_with_the_station_and_what_is_ready(at: Run) -> None:
    ran = at()
    assert ran.code == 0
    assert ran.first == "Station open: air test to 12 Apr 2027, banks 1 d old; 1 ready"
    assert "Ready: 1 x 11.1 L air" in ran.out
    for heading in ("Overdue (2)", "Held (1)", "Out (1)"):
        assert heading in ran.out


def test_the_board_lists_what_is_not_committed(at: Run, ledger: Path) -> None:
    subprocess.run(["git", "init", "-q", str(ledger)], check=True)
    ran = at()
    assert "Not yet committed (9)" in ran.out
    assert at("--json").json["uncommitted"][0] == "cylinders/RB-014.yaml"


def test_outside_git_the_board_says_nothing_of_commits(at: Run) -> None:
    assert "committed" not in at().out
    assert at("--json").json["uncommitted"] is None


# --- may-fill


def test_a_yes_states_limit_and_todays_target(at: Run) -> None:
    ran = at("may-fill", "RB-014", "--ambient", "41")
    assert ran.code == 0
    assert ran.first == "YES RB-014 air: 3000 psi at 70 degF (2760 psi today at 41 degF)"
    assert "Before the fill: look over the outside (rule " in ran.out
    assert "Caution: a trained operator decides" in ran.out


def test_without_a_temperature_todays_target_is_not_made_up(at: Run) -> None:
    ran = at("may-fill", "RB-014")
    assert ran.first == "YES RB-014 air: 3000 psi at 70 degF"
    assert "Ask again with --ambient" in " ".join(ran.out.split())


def test_a_refusal_is_1_and_names_every_reason(at: Run) -> None:
    ran = at("may-fill", "RB-016")
    assert ran.code == 1
    assert ran.first == "NO  RB-016: it is held: thread finding (shop rule)"


def test_one_refusal_among_several_is_1(at: Run) -> None:
    ran = at("may-fill", "RB-014", "RB-016", "RB-014")
    assert ran.code == 1
    assert [line[:10] for line in ran.out.splitlines()[:2]] == ["YES RB-014", "NO  RB-016"]


def test_a_tail_names_a_cylinder(at: Run) -> None:
    assert at("may-fill", "16").first.startswith("NO  RB-016")


def test_another_gas_is_asked_for_by_its_word(at: Run) -> None:
    ran = at("may-fill", "RB-014", "--gas", "EAN32")
    assert ran.code == 1
    assert "nitrox32 is wanted" in ran.first


def test_a_bare_fill_pressure_takes_the_ledgers_unit_and_is_echoed(at: Run) -> None:
    ran = at("may-fill", "RB-014", "--fill-pressure", "3200")
    assert ran.code == 1
    assert "the fill regulator is set to 3200 psi, above 3000 psi of RB-014" in " ".join(
        ran.out.split()
    )
    assert "Asked with the fill regulator set to 3200 psi." in ran.out


def test_cylinders_on_one_regulator_are_held_to_the_lowest(at: Run, ledger: Path) -> None:
    low = books.GOOD.replace("3000 psi", "2640 psi").replace("K118204", "K118299")
    (ledger / "cylinders/RB-030.yaml").write_text(low)
    alone = at("may-fill", "RB-014", "RB-030", "--fill-pressure", "3000")
    assert alone.first.startswith("YES RB-014")
    together = at("may-fill", "RB-014", "RB-030", "--fill-pressure", "3000", "--together")
    assert "above 2640 psi of RB-030" in " ".join(together.out.split())
    assert together.first.startswith("NO  RB-014")


def test_later_records_are_ignored(at: Run, tb: Run, ledger: Path) -> None:
    assert at("may-fill", "RB-016").code == 1
    before = tb("may-fill", "RB-016", "--on", "2026-02-20", "--ledger", ledger)
    assert "held" not in before.first


# --- due


def test_due_opens_with_the_count_and_is_1_when_something_is_overdue(at: Run) -> None:
    ran = at("due")
    assert ran.code == 1
    assert ran.first == "2 overdue, of cylinders; 0 due within 30 days"


def test_due_within_a_period(at: Run) -> None:
    ran = at("due", "--within", "90d")
    assert ran.first.endswith("due within 90 days")
    assert "RB-014 visual 2026-02-09 2027-02-09" in " ".join(ran.out.split())
    short = {(d["id"], d["obligation"]) for d in at("due", "--within", "3m", "--json").json}
    every = {(d["id"], d["obligation"]) for d in at("due", "--json").json}
    assert ("RB-014", "visual") in short
    assert ("RB-014", "requalification") in every - short


def test_due_of_one_cylinder_shows_what_is_in_date(at: Run) -> None:
    ran = at("due", "RB-014")
    assert ran.code == 0
    assert ran.first == "nothing overdue; 0 due within 30 days"
    assert "2029-03-31" in ran.out
    assert "RB-015" not in ran.out


def test_due_all_leaves_nothing_out(at: Run) -> None:
    assert "--all" in at("due").out
    assert "--all" not in at("due", "--all").out


# --- show and tags


def test_show_prints_the_whole_card(at: Run) -> None:
    ran = at("show", "RB-014")
    assert ran.code == 0
    assert ran.first == "RB-014 in-service: may be filled, air, 3000 psi at 70 degF"
    assert "holds             air, 3000 psi at 70 degF, 20 Nov 2026, from B1" in ran.out


def test_show_of_what_must_not_be_filled_is_0_and_says_so(at: Run) -> None:
    ran = at("show", "RB-016")
    assert ran.code == 0
    assert ran.first.startswith("RB-016 held: DO NOT FILL: ")


def test_show_of_a_set(at: Run) -> None:
    ran = at("show", "DB-02")
    assert ran.first.startswith("DB-02 out: DO NOT FILL: ")
    assert at("show", "DB-02", "--json").json["kind"] == "set"


def test_a_cylinder_is_asked_about_with_the_gas_it_holds(at: Run, ledger: Path) -> None:
    path = ledger / "cylinders/RB-021.yaml"
    text = (
        path.read_text()
        .replace("status: out", "status: in-service")
        .replace(
            "service: nitrox", "service: nitrox\ncleaned: [{on: 2026-03-01, by: MV, to: nitrox}]"
        )
        .replace("to: B-4471}", "to: B-4471, back: 2026-11-24}")
    )
    path.write_text(text)
    (ledger / "sets/DB-02.yaml").unlink()
    station = ledger / "station.yaml"
    station.write_text(station.read_text().replace("gas: air,", "gas: air, grade: oxygen,"))
    assert "nitrox32, and air is wanted" in at("may-fill", "RB-021").first
    assert "may be filled, nitrox32, 3000 psi" in at("show", "RB-021").first
    assert "for nitrox32" in " ".join(at("tags", "RB-021").out.replace("|", " ").split())
    assert "RB-021" in ids(at("list", "--where", "fill=yes", "--json"))


def test_tags_are_40_columns(at: Run) -> None:
    ran = at("tags", "RB-014", "RB-015")
    assert {len(line) for line in ran.out.splitlines() if line} == {40}
    assert ran.out.count("DO NOT FILL") == 1


def test_a_tag_does_not_speak_of_the_station(at: Run, ledger: Path) -> None:
    (ledger / "station.yaml").write_text("air_tests: [{on: 2025-11-25, result: pass}]\n")
    assert at("may-fill", "RB-014").code == 1
    assert "DO NOT FILL" not in at("tags", "RB-014").out


# --- list


def ids(ran: Any) -> list[str]:
    return [row["id"] for row in ran.json]


@pytest.mark.parametrize(
    ("arguments", "found"),
    [
        ([], ["RB-014", "RB-015", "RB-016", "RB-021", "SF-014"]),
        (["--ready"], ["RB-014"]),
        (["--use", "sale"], ["SF-014"]),
        (["--use", "hire"], ["RB-014", "RB-015", "RB-016", "RB-021"]),
        (["--status", "held"], ["RB-016"]),
        (["--size", "11.1 L", "--status", "out"], ["RB-021"]),
        (["--where", "gas=nitrox32"], ["RB-021"]),
        (["--where", "service_pressure<3300"], ["RB-014", "RB-015", "RB-016", "RB-021", "SF-014"]),
        (["--where", "service_pressure>3000"], []),
        (["--where", "service_pressure>=206 bar"], ["RB-014", "RB-015", "RB-016", "RB-021", "SF-014"]),
        (["--where", "first-test<2022-01"], ["RB-015"]),
        (["--where", "first_test=2024-03"], ["RB-014", "RB-016", "RB-021", "SF-014"]),
        (["--where", "requalified.on>2024-02"], ["RB-014", "RB-016", "RB-021", "SF-014"]),
        (["--where", "inspected.on=2026-02"], ["RB-014", "RB-016", "RB-021", "SF-014"]),
        (["--where", "valve.outlet=yoke"], []),
        (["--where", "valve.outlet!=yoke", "--use", "sale"], ["SF-014"]),
        (["--where", "specification=tc-3alm", "--use", "sale"], ["SF-014"]),
        (["--where", "water_volume="], ["SF-014"]),
        (["--where", "place!="], ["SF-014"]),
        (["--where", "price>100 USD"], ["SF-014"]),
        (["--where", "fill=yes"], ["RB-014", "SF-014"]),
        (["--sort", "first-test"], ["RB-015", "RB-014", "RB-016", "RB-021", "SF-014"]),
        (["--sort", "price"], ["SF-014", "RB-014", "RB-015", "RB-016", "RB-021"]),
        (["--sort", "serial", "--use", "sale"], ["SF-014"]),
        (["--sort", "gas"], ["RB-014", "RB-021", "RB-015", "RB-016", "SF-014"]),
    ],
)  # fmt: skip
def test_lists(arguments: list[str], found: list[str], at: Run) -> None:
    assert ids(at("list", "--json", *arguments)) == found


def test_a_list_says_what_was_asked_with_units(at: Run) -> None:
    ran = at("list", "--where", "service_pressure<3300", "--use", "sale")
    assert ran.first == (
        "1 cylinder, service_pressure < 3300 psi, use = sale; 0 ready to go out, 1 may be"
    )


def test_a_whole_list_names_the_sets(at: Run) -> None:
    assert "Sets: DB-02 (RB-015, RB-021)" in at("list").out
    assert "Sets:" not in at("list", "--ready").out


@pytest.mark.parametrize(
    ("condition", "said"),
    [
        ("service_pressure", "is not a condition; write FIELD=VALUE"),
        ("service_pressure<", "compares with nothing; write a value"),
        ("service_pressure<3000 furlong", "unknown unit 'furlong'"),
        ("use=rentl", "`rentl` is not a known word; did you mean `rental`?"),
        ("serial<K2", "serial is not more or less than anything"),
        ("valve=yoke", "'valve' holds several fields; name one: valve.outlet"),
        ("valve.colour=red", "'valve.colour' is not a field of a cylinder; known: dip_tube"),
    ],
)
def test_a_condition_that_is_not_understood(condition: str, said: str, at: Run) -> None:
    ran = at("list", "--where", condition)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err


# --- capacity


def test_capacity_of_a_cylinder_at_its_marked_pressure(at: Run) -> None:
    ran = at("capacity", "RB-014")
    assert ran.code == 0
    assert ran.first == "77.8 cuft of air at 70 degF and 3000 psi in 11.1 L"


def test_capacity_and_back(at: Run) -> None:
    there = at("capacity", "RB-014", "--at", "2640", "--json").json
    back = at("capacity", "RB-014", "--free-gas", f"{there['free_gas_cuft']:.9f}", "--json").json
    assert back["pressure_psi"] == pytest.approx(2640, rel=1e-8)


def test_capacity_needs_no_ledger(tb: Run) -> None:
    ran = tb("capacity", "--water-volume", "12L", "--at", "232bar", "--temperature", "15 degC")
    assert ran.code == 0
    assert ran.first.endswith(" L of air at 15 degC and 232 bar in 12 L")


def test_a_bare_number_without_a_ledger_has_no_unit_to_take(tb: Run) -> None:
    ran = tb("capacity", "--water-volume", "12 L", "--at", "232")
    assert ran.code == 2
    assert "no tankbook.yaml here" in ran.err


def test_a_bare_number_takes_the_ledgers_unit(at: Run) -> None:
    assert at("capacity", "--water-volume", "12", "--at", "3000").first.endswith("3000 psi in 12 L")
    assert "at 41 degF" in at("capacity", "RB-014", "--temperature", "41").first


def test_a_pressure_above_the_marked_one_is_warned_of(at: Run) -> None:
    assert (
        "WARNING: above the marked pressure of 3000 psi"
        in at("capacity", "RB-014", "--at", "3500").out
    )


def test_both_ways_at_once_is_refused(at: Run) -> None:
    assert at("capacity", "RB-014", "--at", "3000", "--free-gas", "70").code == 2
    assert at("capacity", "--water-volume", "11.1 L").code == 2


# --- fleet, rules, marks


def test_the_fleet(at: Run) -> None:
    ran = at("fleet")
    assert ran.code == 0
    assert ran.first == "5 cylinders: 3 in service, 2 fit to be filled, 2 overdue, of cylinders"


def test_the_rules_in_force(at: Run) -> None:
    ran = at("rules", "--obligation", "requalification")
    assert ran.code == 0
    assert "in force from us-dot, bench, alloys" in ran.first
    assert {r["obligation"] for r in at("rules", "--obligation", "visual", "--json").json} == {
        "visual"
    }


def test_marks_need_no_ledger(tb: Run) -> None:
    ran = tb("marks", "DOT-3AL 3000 K118204 09A21")
    assert ran.code == 0
    assert ran.first == "DOT-3AL, 3000 psi, serial K118204, first test Sep 2021"


# --- validate and broken files


def test_a_good_ledger_is_0(at: Run) -> None:
    ran = at("validate")
    assert ran.code == 0
    assert ran.first.startswith("OK: no fault, ")


@pytest.fixture(name="broken")
def _broken(ledger: Path) -> Path:
    path = ledger / "cylinders/RB-014.yaml"
    path.write_text(path.read_text().replace("maker:", "makr:"))
    with (ledger / "fills/2026.csv").open("a") as log:
        log.write("2026-11-22,RB-015,fill,,,,,,,,,,,,,\n")
    return ledger


def test_every_fault_is_listed_and_the_code_is_1(broken: Path, at: Run) -> None:
    ran = at("validate")
    assert ran.code == 1
    assert ran.first.startswith("2 faults in 2 files, ")
    assert "cylinders/RB-014.yaml:3:1: fault: `makr` is not a key" in ran.out
    assert "did you mean `maker`?" in ran.out
    assert "fills/2026.csv:4:1: fault: " in ran.out


def test_annotations_name_files_from_where_the_check_runs(
    broken: Path, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(broken.parent)
    ran = tb("validate", "--format", "github", "--ledger", "quay", *ON)
    assert ran.code == 1
    wanted = "::error file=quay/cylinders/RB-014.yaml,line=3,col=1,title=unknown-key::"
    assert wanted in ran.out
    monkeypatch.chdir(broken)
    monkeypatch.setenv("GITHUB_WORKSPACE", str(broken.parent))
    assert wanted in tb("validate", "--format", "github", *ON).out


def test_annotations_in_a_folder_of_a_repository_name_files_from_its_top(
    broken: Path, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    (broken.parent / ".git").mkdir()
    for folder in (broken, broken / "cylinders", broken.parent):
        monkeypatch.chdir(folder)
        asked = ("--ledger", broken, "--format", "github", *ON)
        assert "::error file=quay/cylinders/RB-014.yaml,line=3," in tb("validate", *asked).out


def test_a_card_that_is_not_read_is_told_beside_those_that_are(broken: Path, tb: Run) -> None:
    first = tb("validate", "--ledger", broken, *ON).first
    read_, unread = re.search(r"; (\d+) cylinders?, .*; (\d+) file", first).groups()
    assert int(read_) + int(unread) == len(list((broken / "cylinders").iterdir()))
    assert first.endswith("that may be a card NOT READ")


def test_a_broken_cylinder_may_not_be_filled(broken: Path, at: Run) -> None:
    ran = at("may-fill", "RB-014")
    assert ran.code == 1
    assert ran.first.startswith("NO  RB-014: its file cannot be read")
    got, *told = at("may-fill", "RB-014", "--json").json
    assert (got["fillable"], got["limit_psi"]) == (False, None)
    assert [t["path"] for t in told if t["kind"] == "fault"] == [
        "cylinders/RB-014.yaml",
        "fills/2026.csv",
    ]


@pytest.mark.parametrize("name", ["", "list", "fleet", "rules", "due", "show", "tags"])
def test_the_rest_is_answered_and_the_faults_are_told_on_the_side(
    name: str, broken: Path, at: Run
) -> None:
    arguments = [name] if name else []
    ran = at(*arguments, *(["RB-015"] if name in ("show", "tags") else []))
    assert ran.out
    assert ran.err == (
        "tankbook: 2 files have faults (cylinders/RB-014.yaml, fills/2026.csv); "
        "`tankbook validate` lists them\n"
    )


def test_a_broken_cylinder_has_a_card_a_tag_and_a_place_on_the_board(broken: Path, at: Run) -> None:
    assert at("show", "RB-014").first.startswith("RB-014: DO NOT FILL: its file cannot be read")
    assert "DO NOT FILL" in at("tags", "RB-014").out
    assert "Could not be read, see `tankbook validate` (1)\n  RB-014" in at().out
    assert at("capacity", "RB-014").first.startswith("NO: RB-014 could not be read: ")


def test_broken_settings_answer_nothing_but_validate(at: Run, ledger: Path) -> None:
    (ledger / "tankbook.yaml").write_text("ledger: Quay\nunits: furlong\nrules: [us-dot]\n")
    ran = at("due")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("tankbook: tankbook.yaml:2:8: units: `furlong` is not a known word")
    checked = at("validate")
    assert checked.code == 1
    assert checked.first.startswith("1 fault in 1 file")


def test_an_empty_ledger_answers_everything(tb: Run, write: Write) -> None:
    root = write({"station.yaml": "open_whip: never\n"}, "empty")
    for name in ("", "list", "fleet", "rules", "due", "validate"):
        ran = tb(*([name] if name else []), *ON, "--ledger", root)
        assert (ran.code, ran.err) == (0, "")
        assert ran.out


def test_a_fleet_of_hundreds_is_listed_whole(tb: Run, write: Write) -> None:
    many = {
        f"cylinders/RB-{n:03}.yaml": books.GOOD.replace("K118204", f"K{n:06}")
        for n in range(1, 301)
    }
    root = write(many, "large")
    ran = tb("list", *ON, "--ledger", root)
    assert ran.first == "300 cylinders; 0 ready to go out, 300 may be filled"
    assert len(ran.out.splitlines()) == 304
