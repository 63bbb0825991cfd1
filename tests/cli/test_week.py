"""A week at the bench, the fill station and the counter of a new shop, day by day.

A delivery arrives and one of it goes back to its supplier; a membrane fills nitrox beside a bank;
five cylinders come back from test to owners who are no inspectors; a sample fails and is traced; the
master gauge lies; a walk-in, a refusal and a stolen serial stand at the counter. Each day ends
with what is asked of the records after it, a ledger that validates and an audit without a sign.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import Repo

SETTINGS = """
ambient: 64 degF
operator: MV
gas: air
ids: {rental: RB-###, sale: SF-0##, customer: CU-###}
people:
  MV: {role: bench, certifications: [{skill: inspector, from: 2024-05, until: 2027-05}]}
  AB: {role: counter}
"""
STATION = """\
ambient: 64 degF
regulator_set: 3000 psi
fill_rate: 400 psi/min
banks:
  - {name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air, grade: breathing, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
  - {name: B2, water_volume: 450 L, working_pressure: 5000 psi, gas: air, specification: ASME VIII-1, period: none,
     no_period: [{on: 2026-11-02, by: MV, why: "ASME vessel, no fixed interval", document: folder 3}]}
compressor: {name: C1, delivery: 8 cuft/min, max_pressure: 5000 psi, grade: oxygen, hours: [{on: 2026-11-21, reads: 412.5 h, by: MV}]}
sources: [{name: M1, kind: membrane, of: C1, oxygen_from: 28 %, oxygen_to: 36 %, grade: oxygen}]
filters: [{name: F1, of: C1, life: 50 h, changed: [{on: 2026-11-02, at: 400 h, by: MV}]}]
positions: [{name: P1, kind: enclosed, rating: 5000 psi, whip: W1}, {name: P2, kind: enclosed, rating: 5000 psi, whip: W2}]
whips: [{name: W1, rating: 5000 psi, checked: [{on: 2026-09-05, by: MV}]}, {name: W2, rating: 5000 psi, checked: [{on: 2026-09-05, by: MV}]}]
panel: {rating: 5000 psi}
gauges:
  - {name: G1, master: yes, range: 6000 psi, checked: [{on: 2026-04-01, against: TG-1, reads: 2505 psi, true: 2500 psi, by: MV}]}
  - {name: G2, range: 6000 psi, checked: [{on: 2026-04-01, against: TG-1, reads: 2500 psi, true: 2500 psi, by: MV}]}
instruments: [{name: CO-1, kind: co-monitor, bumped: [{on: 2026-11-20, by: MV}]}]
upkeep:
  - {name: OIL, what: oil, of: C1, hours: 50 h, every: 12 months, done: [{on: 2026-09-01, at: 380 h, by: MV}]}
  - {name: MI-1, what: moisture-indicator, of: C1, every: 7 days, done: [{on: 2026-11-20, by: MV}]}
opening: {steps: [drains, intake and wind, CO monitor, gauge zero, regulator backed off, whips looked at]}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1, oxygen: 20.9 %, co: 1 ppm,
     co2: 400 ppm, oil: 0.05 mg/m3, hydrocarbons: 3 ppm, water: 18 mg/m3, odour: none}
"""
LIKE = "--use rental --maker 'Example Cylinder Co' --neck-thread '3/4-14 NPSM' --set size=al80 --set material=aluminium --set alloy=6061"
WHOLE = "--valve-thread '3/4-14 NPSM' --outlet convertible --valve-rating 3442psi --set valve.disc=5000psi"
LOOK = "--pass-all --neck-thread '3/4-14 NPSM' --valve-thread '3/4-14 NPSM' --bled heard"
MON, TUE, WED, THU, FRI, SAT = (f"2026-11-{day}" for day in range(23, 29))


def _signed(line: str, day: str, by: str) -> list[str]:
    """A line with its day, and who signs where that is not said."""
    words = shlex.split(line)
    return [*words, "--on", day, *(() if "--by" in words else ("--by", by))]


class Shop:
    """The shop, to which lines are said."""

    def __init__(self, run: Callable[..., Any]) -> None:
        self.run, self.day = run, MON

    def asks(self, line: str) -> Any:
        """What a question is answered on the day."""
        return self.run(*shlex.split(line), "--on", self.day)

    def does(self, line: str, by: str = "MV") -> str:
        """Record something that must go well; what was told."""
        ran = self.run(*_signed(line, self.day, by))
        assert (ran.code, ran.err) == (0, ""), f"{line}\n{ran.out}{ran.err}"
        return _plain(ran.out)

    def is_refused(self, line: str, by: str = "MV") -> str:
        """Try something that must be refused, and what was told."""
        ran = self.run(*_signed(line, self.day, by))
        assert ran.code == 1, f"{line}\n{ran.out}{ran.err}"
        return _plain(ran.out)


def _plain(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture(name="shop")
def _shop(tb: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    root = tmp_path / "quay"
    begun = tb("init", str(root), "--name", "Test Quay", "--no-git")
    assert begun.code == 0
    settings = root / "tankbook.yaml"
    settings.write_text(settings.read_text() + SETTINGS)
    (root / "station.yaml").write_text(STATION)
    monkeypatch.chdir(root)
    shop = Shop(tb)
    assert shop.asks("validate").code == 0
    return shop


def _marks(*serials: str, tested: str) -> str:
    return " ".join(f"--marks 'DOT-3AL 3000 {serial} {tested}'" for serial in serials)


def test_the_week(shop: Shop, tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "quay")
    for scene in (
        _monday_a_delivery,
        _tuesday_a_fill_morning,
        _wednesday_five_back_from_test,
        _thursday_a_sample_fails,
        _friday_the_master_gauge_lies,
        _saturday_at_the_counter,
    ):
        scene(shop)
        valid = shop.asks("validate")
        assert valid.code == 0, valid.out
        repo.git("add", "-A")
        repo.git("commit", "-q", "-m", scene.__name__, at=f"{shop.day}T18:00:00+00:00")
    audit = shop.asks("audit")
    assert audit.code == 0, audit.out


def _monday_a_delivery(shop: Shop) -> None:
    shop.day = MON
    shop.does(
        f"book-in {_marks('K200001', 'K200002', 'K200003', tested='09A26')} {LIKE} --set service=nitrox"
    )
    told = shop.does(
        "valve 1 2 3 --did fitted --outlet convertible --thread '3/4-14 NPSM' --rating 3442psi --disc 5000psi --bled heard"
    )
    assert "nothing is in it now; the next fill begins at 0" in told
    assert "awaiting inspection" in told
    told = shop.does("send 3 --for supplier-return --to 'Example Supply' --why 'threads rough'")
    assert "Returned RB-003 to the supplier Example Supply" in told
    shop.does(f"inspect 1 2 {LOOK} --lubricant oxygen-compatible")
    shop.does("clean 1 --to nitrox --method 'detergent, hot water' --for 2y --bled heard")
    counted = shop.asks("fleet --json").json
    assert counted
    gone = shop.asks("may-fill 3")
    assert gone.code == 1
    assert "at-supplier" in gone.out
    card = shop.asks("show 1 --json").json
    assert card["valve"]["outlet"] == "convertible"


def _tuesday_a_fill_morning(shop: Shop) -> None:
    shop.day = TUE
    assert "the station was not opened on 2026-11-24" in shop.is_refused(
        "fill 2 --to 2900 --gas air --source B1 --position P1 --looked --at 08:00"
    )
    shop.does("station open --at 08:10")
    shop.does("station read B1=3100 B2=4000")
    shop.does("station raise B1 --from 3100 --to 4400 --hours 414")
    line = "fill 1 --to 2900 --position P1 --looked --temperature 64 --analysed-by MV"
    shop.is_refused(
        f"{line} --gas nitrox38 --source M1 --o2 38.0 --at 09:05"
    )  # it makes 28 to 36 %
    shop.does(f"{line} --gas nitrox32 --source M1 --o2 32.1 --at 09:10")
    shop.does(
        "fill 2 --to 2900 --gas air --source B1 --position P2 --looked --temperature 64 --at 09:40"
    )
    # a membrane of oxygen grade keeps a cylinder clean, ordinary air does not
    assert shop.asks("may-fill 1 --gas nitrox32 --source M1").code == 0
    assert "ends its oxygen-clean state" in _plain(
        shop.asks("may-fill 1 --gas air --source B1").out
    )
    book = shop.asks("fills --json").json["lines"]
    assert [(each["id"], each["from_psi"], each["source"]) for each in book] == [
        ("RB-001", 0, "M1"),
        ("RB-002", 0, "B1"),
    ]


def _wednesday_five_back_from_test(shop: Shop) -> None:
    shop.day = WED
    old = _marks(*(f"K30000{n}" for n in range(1, 6)), tested="11A21")
    shop.does(f"book-in {old} {LIKE} {WHOLE} --set service=air")
    five = "4..8"
    shop.does(f"send {five} --to 'Northside Test House' --for requalification --bled heard")
    shop.day = THU
    shop.does(f"back {five} --refitted-by 'Northside Test House'", by="AB")
    told = shop.does(
        f"done-elsewhere {five} --test hydro --visual --who 'Northside Test House T123' --done 2026-11 "
        "--stamp '11 T123 26' --checked in,out,threads,valve --paper 'invoice 88, binder 2'",
        by="AB",  # who is no inspector
    )
    assert "passed 5 cylinders" in told
    shop.does("station open --at 08:05")
    for id_ in ("RB-004", "RB-008"):
        answer = shop.asks(f"may-fill {id_}")
        assert answer.code == 0, answer.out
    assert shop.asks("show 4 --json").json["contents"]["pressure_psi"] == 0
    shop.does(
        "fill 4 5 --to 2900 --gas air --source B1 --position P1 --looked --temperature 64 --at 08:40",
        by="AB",
    )
    book = shop.asks("fills --json").json["lines"]
    assert {each["from_psi"] for each in book} == {0}


def _thursday_a_sample_fails(shop: Shop) -> None:
    told = shop.does("station air-test --by 'Example Air Lab' --co 14ppm --source C1")
    assert "FAILED" in told
    told = shop.does("recall C1 --hold")
    for each in ("RB-001", "RB-002", "RB-004", "RB-005"):
        assert each in shop.asks("recall C1").out
    assert "banks B1, B2" in told
    assert shop.asks("station --json").json["open"] is False
    shop.is_refused("release 2 --why 'smells fine'")
    shop.day = FRI
    shop.does("station open --at 08:00")
    passed = "station air-test --by 'Example Air Lab' --result pass --source"
    told = shop.does(f"{passed} C1")
    assert "did not measure CO, which failed before it: it reopens nothing" in told
    assert shop.asks("station --json").json["open"] is False
    shop.does(
        f"{passed} C1 --co 1ppm --co2 400ppm --oil 0.05mg/m3 --oxygen 20.9 --hydrocarbons 3ppm --water 18mg/m3 --odour none"
    )
    out = {each["part"] for each in shop.asks("station --json").json["out_of_use"]}
    assert out == {"bank B1", "bank B2"}
    assert "bank B1" in shop.is_refused(
        "fill 6 --to 2900 --gas air --source B1 --position P1 --looked --at 09:00"
    )
    shop.does(
        "fill 6 --to 2900 --gas air --source C1 --position P1 --looked --temperature 64 --at 09:05"
    )
    for id_ in ("1", "2", "4", "5"):
        shop.does(f"drain {id_} --at 10:00")
        shop.does(f"release {id_} --why 'drained to nothing'")


def _friday_the_master_gauge_lies(shop: Shop) -> None:
    told = shop.does("station gauge-check G1 --reads 2750 --true 2950 --against TG-1")
    assert "CLOSED: the master gauge G1 reads 200 psi below true" in told
    assert "RB-006" in shop.asks("recall --gauge G1").out
    shop.is_refused("fill 7 --to 2900 --gas air --source C1 --position P1 --looked --at 11:00")
    failed = next(d for d in shop.asks("due --json").json if d["id"] == "G1")
    assert failed["failed"] is True
    shop.does("station gauge G2 --master")
    assert shop.asks("station --json").json["open"] is True
    shop.does("station gauge-check G1 --reads 2950 --true 2950 --against TG-1")
    assert any(
        each["part"] == "gauge G1" for each in shop.asks("station --json").json["out_of_use"]
    )


def _saturday_at_the_counter(shop: Shop) -> None:
    shop.day = SAT
    shop.does("station open --at 07:50")
    shop.does("stolen K555123 --why 'police notice 88' --ref N-88")
    walk_in = "--maker 'Example Cylinder Co' --outlet yoke --sticker 2026-05 --ref C-0192"
    told = shop.does(
        f"fill --marks 'DOT-3AL 3000 K118204 09A24' {walk_in} --set alloy=6061 --from 500 --to 2900 --gas air --source C1 "
        "--position P1 --looked --temperature 64 --at 08:30",
        by="AB",
    )
    assert "2900 psi" in told
    stolen = shop.is_refused(
        f"fill --marks 'DOT-3AL 3000 K-555123 09A24' {walk_in} --from 500 --to 2900 --gas air --source C1 "
        "--position P1 --looked --temperature 64 --at 08:40",
        by="AB",
    )
    assert "police notice 88" in stolen
    shop.does(
        "refuse --marks 'DOT-3AL 3000 K777001 03A09' --reason 'hydro lapsed 2014' --told 'in person'",
        by="AB",
    )
    assert "hydro lapsed 2014" in shop.asks("may-fill --marks 'DOT-3AL 3000 K777001 03A09'").out
    assert all(each["id"] != "K777001" for each in shop.asks("due --json").json)
    month = shop.asks("fills --json").json
    assert len(month["lines"]) == 1
    shop.does(
        "fill RB-001 --from 0 --to 2900 --gas nitrox32 --source M1 --position P1 --looked --o2 32.1 --analysed-by MV "
        "--temperature 64 --at 10:00"
    )
    rent = "rent RB-001=2900 --to C-0192 --until 2026-11-29"
    told = shop.is_refused(f"{rent} --at 14:30", by="AB")
    assert "nobody saw that C-0192 is trained for nitrox" in told
    seen = "--certified nitrox --card 'card 40171' --analysed 31.8 --user RT"
    shop.is_refused(
        f"{rent} {seen} --depth 150ft --at 14:30", by="AB"
    )  # its oxygen is too high there
    shop.does(f"{rent} {seen} --depth 110ft --at 14:30", by="AB")
    told = shop.does(
        "incident 'whip W2 burst' RB-006 --at 16:30 --place 'fill room' --whip W2 --reading RB-006=2100"
    )
    assert "held RB-006, whip W2" in told
    assert shop.asks("may-fill RB-006").code == 1
    assert shop.asks("may-fill RB-002 --position P2").code == 1
    assert shop.asks("may-fill RB-002 --position P1").code == 0
    due = {each["id"]: each for each in shop.asks("due --json --all").json}
    assert due["MI-1"]["state"] == "overdue"  # every 7 days, last on the 20th
    shop.does("station upkeep MI-1 --fail 'turned pink'")
    assert (
        "upkeep MI-1 (moisture-indicator) failed" in shop.asks("may-fill RB-002 --position P1").out
    )
    shop.does("station upkeep MI-1 --repaired 'cartridge and separator drained'")
    shop.does("station upkeep OIL --at 416")
    told = _plain(shop.asks("history RB-001").out)
    for each in ("valve", "cleaned", "recall of C1", "nitrox32"):
        assert each in told, told
