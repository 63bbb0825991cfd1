"""Wrong answers that other commands once gave: exit codes, tails, days to come, contents."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from campaign import of_hazard
from hazards import HAZARDS, STATION, Hazard, Ledger, change, edited, entry, fact, put
from quay import AL80, BASE, ON
from runs import Bench, encoded, run

NOT_LISTED = {
    "station-cannot-be-read",
    "station-under-another-ending",
    "holds-nitrox-asked-air",
    "nitrox-asked-of-air-cylinder",
    "oxygen-clean-lost",
}
"""The list asks neither the station nor for any gas but what a cylinder is labelled for."""


def laid(tmp_path: Path, ledger: Ledger) -> Bench:
    bench = Bench(tmp_path / "ledger")
    bench.lay(encoded(ledger))
    return bench


def with_typo() -> Ledger:
    return edited(dict(BASE), (change("RB-101", "on: 2024-06, method", "on: 9/23, method"),))


@pytest.mark.parametrize("command", ["due", "list", "costs", "calendar"])
def test_a_card_that_cannot_be_read_is_no_clean_answer(command: str, tmp_path: Path) -> None:
    bench = laid(tmp_path, with_typo())
    sound = run(
        command, "--ledger", str(laid(tmp_path / "sound", dict(BASE)).root), "--on", str(ON)
    )
    answer = run(command, "--ledger", str(bench.root), "--on", str(ON))
    assert sound.code == 0, sound.out + sound.err
    assert answer.code != 0, answer.out + answer.err
    assert "RB-101" in answer.out + answer.err


def test_due_as_json_tells_the_card_that_cannot_be_read(tmp_path: Path) -> None:
    answer = run(
        "due", "--ledger", str(laid(tmp_path, with_typo()).root), "--on", str(ON), "--json"
    )
    assert answer.code != 0
    assert "RB-101" in answer.out


def test_a_missing_legal_test_is_overdue(tmp_path: Path) -> None:
    card = change("RB-101", AL80[AL80.index("requalified:") : AL80.index("inspected:")], "")
    bench = laid(tmp_path, edited(dict(BASE), (card,)))
    assert run("due", "--ledger", str(bench.root), "--on", str(ON)).code == 1


@pytest.mark.parametrize(
    "command", [("may-fill", "14"), ("hold", "14", "--why", "dent", "--by", "MV"), ("show", "14")]
)
def test_a_tail_of_two_cylinders_names_neither(command: tuple[str, ...], tmp_path: Path) -> None:
    two = [
        put(f"cylinders/{i}.yaml", AL80.replace("K118201", s))
        for i, s in (("RB-014", "K118901"), ("RB-114", "K118902"))
    ]
    bench = laid(tmp_path, edited(dict(BASE), tuple(two)))
    answer = run(*command, "--ledger", str(bench.root), "--on", str(ON))
    assert answer.code == 2, answer.out + answer.err
    assert "RB-114" in answer.err
    assert (bench.root / "cylinders/RB-014.yaml").read_bytes() == encoded(
        {"": AL80.replace("K118201", "K118901")}
    )[""]


def test_work_done_on_the_24th_is_not_ready_on_the_21st(tmp_path: Path) -> None:
    job = "{on: 2026-11-20, by: AB, work: [visual], reference: C-0192, state: ready, ready: 2026-11-24}"
    bench = laid(tmp_path, edited(dict(BASE), (entry("CU-202", "jobs", job),)))
    before, after = (
        run("jobs", "--ledger", str(bench.root), "--on", day)
        for day in ("2026-11-21", "2026-11-25")
    )
    assert "to call 1" in after.out
    assert "to call 0" in before.out
    assert "READY" not in before.out.upper()


def test_a_water_test_empties_a_cylinder(tmp_path: Path) -> None:
    """Its last line in the log says 4400 psi of air, and water has been in it since."""
    tested = (
        entry(
            "RB-109",
            "sent",
            "{on: 2026-11-02, to: Northside Test House, for: requalification, back: 2026-11-18, refitted: 2026-11-19, refitted_by: MV}",
        ),
        entry(
            "RB-109",
            "requalified",
            "{on: 2026-11, method: hydrostatic, by: Z418, stamp: 11 Z418 26}",
        ),
        entry(
            "RB-109",
            "inspected",
            "{on: 2026-11-19, by: MV, checklist: annual, result: pass, sticker: issued}",
        ),
    )
    root = str(laid(tmp_path, edited(dict(BASE), tested)).root)
    contents = json.loads(run("show", "RB-109", "--ledger", root, "--on", str(ON), "--json").out)[
        "contents"
    ]
    assert not contents or not contents["pressure_psi"], contents
    ready = json.loads(run("list", "--ready", "--ledger", root, "--on", str(ON), "--json").out)
    assert "RB-109" not in [each.get("id") for each in ready]


def test_house_rules_that_are_a_fault_are_told_by_validate(tmp_path: Path) -> None:
    twice = fact(
        "rules/shop.yaml",
        BASE["rules/shop.yaml"][
            BASE["rules/shop.yaml"].index("  - id: shop.notice.recall") :
        ].rstrip(),
    )
    answer = run(
        "validate",
        "--ledger",
        str(laid(tmp_path, edited(dict(BASE), (twice,))).root),
        "--on",
        str(ON),
    )
    assert answer.code == 1, answer.out


@pytest.mark.parametrize(
    "hazard",
    [
        h
        for h in HAZARDS
        if h not in STATION and not h.commits and not h.warns and h.key not in NOT_LISTED
    ],
    ids=lambda h: h.key,
)
def test_the_list_does_not_say_otherwise(hazard: Hazard, tmp_path: Path) -> None:
    """What may-fill refuses by itself, the list does not call fillable."""
    bench = Bench(tmp_path / "ledger")
    bench.lay(of_hazard(hazard).ledger.files)
    listed = run("list", "--ledger", str(bench.root), "--on", str(ON), "--json").out
    told = json.loads(listed) if listed.strip() else []
    if any(each.get("fillable") is True and each["id"] == hazard.cylinder for each in told):
        asked = bench.asked(hazard.cylinder, hazard.asked[0], "")
        assert asked.yes, asked.why
