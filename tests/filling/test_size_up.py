"""From the records to how many fills a day: against CoolProp, and what is taken, left out and told."""

from __future__ import annotations

import datetime as dt
import random
from typing import Any

import books
import pytest
import reference as cp
from changing import replace

from tankbook.filling import PlanError
from tankbook.filling.size_up import FullBy, MoreOf, NewBank, SizeWish, StationSize, size_up
from tankbook.filling.sizing import Binds
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.log import Booking
from tankbook.rules.fill_book import FillsWanted, fill_book
from tankbook.units import GaugePressure, RunningTime, Volume

BANK = "{name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}"
PUMP = "{name: C1, delivery: 6.5 cuft/min, max_pressure: 5000 psi}"
BOTH = f"ambient: 60 degF\nbanks: [{BANK}]\ncompressor: {PUMP}\n"
BANK_ALONE = f"ambient: 60 degF\nbanks: [{BANK}]\n"
PUMP_ALONE = f"ambient: 60 degF\ncompressor: {PUMP}\n"
AIR = Gas.parse("air")
SINCE = dt.date(2025, 11, 25)


def fills(*times: str, id_: str = "RB-014", more: str = "") -> str:
    """Lines of the log: from 500 to 3000 psi of air at 60 degF."""
    took = "act=fill; from=500 psi; to=3000 psi; temperature=60 degF; gas=air; by=MV"
    return "\n".join(f"at={at}+01:00; cylinder={id_}; {took}{more}" for at in times)


ONE = fills("2026-11-20T09:30:00")


def book_of(station: str | None = BOTH, log: str = ONE, **more: Any) -> Book:
    bookings = more.pop("bookings", ())
    cylinders = more.pop("cylinders", {"RB-014": books.GOOD})
    return replace(books.make_book(cylinders, station=station, log=log, **more), bookings=bookings)


def sized(book: Book | None = None, **more: Any) -> StationSize:
    wish = SizeWish(since=SINCE, gas=AIR, unit="psi")
    return size_up(book or book_of(), books.TODAY, replace(wish, **more))


# --- against CoolProp: its densities of air, and the balance of each fill written out


def rho(psi: float, degf: float = 60.0) -> float:
    """The density [mol/L] of air at a gauge pressure (CoolProp, HEOS, Air; computed)."""
    pascal = (psi + 14.69594878) * 6894.757293168
    return float(cp.PropsSI("Dmolar", "P", pascal, "T", (degf + 459.67) / 1.8, "Air")) / 1000


def by_cascade(banks: list[tuple[float, float]], volume: float, start: float, end: float) -> int:
    """How many cylinders the banks fill, each opened to the emptiest above it first."""
    held = [[litres, rho(psi)] for litres, psi in banks]
    low, high, count = rho(start), rho(end), 0
    while True:
        level = low
        for each in sorted(held, key=lambda b: b[1]):
            if level >= high or each[1] <= level:
                continue
            even = (each[0] * each[1] + volume * level) / (each[0] + volume)
            if even >= high:
                each[1] -= volume * (high - level) / each[0]
                level = high
            else:
                each[1] = level = even
        if level < high - 1e-9:
            return count
        count += 1


def made(cuft_per_min: float, minutes: float) -> float:
    """What a compressor makes [mol], counted at 70 degF and 1 atm (CoolProp)."""
    return cuft_per_min * 28.316846592 * minutes * rho(0.0, 70.0)


def test_a_bank_by_itself_against_coolprop() -> None:
    found = sized(book_of(BANK_ALONE))
    need = 11.1 * (rho(3000) - rho(500))
    assert found.now.carries.by_banks == by_cascade([(48, 5000)], 11.1, 500, 3000) == 2
    assert found.now.carries.a_day == 2
    assert found.now.carries.at_most == int(48 * (rho(5000) - rho(500)) / need) == 6
    assert found.now.carries.binds is Binds.PRESSURE
    kept = 48 * (rho(5000) - rho(500)) - 2 * need
    assert found.left.cuft == pytest.approx(kept / rho(0, 70) / 28.316846592, rel=0.005)


@pytest.mark.parametrize(
    ("volumes", "pressures"),
    [((48, 48), (5000, 4000)), ((50, 80, 120), (3300, 4500, 4500)), ((200,), (3500,))],
)
def test_banks_of_other_sizes_and_ratings_against_coolprop(
    volumes: tuple[int, ...], pressures: tuple[int, ...]
) -> None:
    banks = ", ".join(
        BANK.replace("B1", f"B{n}").replace("48 L", f"{v} L").replace("5000", f"{p}")
        for n, (v, p) in enumerate(zip(volumes, pressures, strict=True))
    )
    found = sized(book_of(f"ambient: 60 degF\nbanks: [{banks}]\n")).now.carries
    both = list(zip(map(float, volumes), map(float, pressures), strict=True))
    assert found.by_banks == by_cascade(both, 11.1, 500, 3000) > 0


def test_a_compressor_by_itself_against_coolprop() -> None:
    found = sized(book_of(PUMP_ALONE))
    need = 11.1 * (rho(3000) - rho(500))
    by_hand = made(6.5, 480) / need
    assert found.now.carries.by_compressors == pytest.approx(by_hand, rel=0.003)
    assert found.now.carries.a_day == int(by_hand)
    assert found.compressors[0].gas.cuft == pytest.approx(6.5 * 480)
    more = {choice.more: choice.carries.a_day for choice in found.choices}
    assert more == {
        MoreOf.NOTHING: int(by_hand),
        MoreOf.HOUR: int(by_hand * 9 / 8),
        MoreOf.COMPRESSOR: int(by_hand * 2),
    }


def test_both_against_coolprop() -> None:
    """All that the compressor makes can be used: what a full bank lacks it brings directly."""
    found = sized()
    need = 11.1 * (rho(3000) - rho(500))
    total = (48 * (rho(5000) - rho(500)) + made(6.5, 480)) / need
    assert found.now.carries.at_most == int(total)
    assert found.now.carries.a_day == int(total)


def test_two_compressors_and_their_rest() -> None:
    resting = PUMP.replace("C1", "C2").replace("}", ", longest_run: 2 h, rest: 30 min}")
    found = sized(book_of(f"ambient: 60 degF\ncompressors: [{PUMP}, {resting}]\n"))
    assert [c.minutes for c in found.compressors] == [480, 390]  # 120 of 150: 3 x 120 + 30
    by_hand = made(6.5, 870) / (11.1 * (rho(3000) - rho(500)))
    assert found.now.carries.a_day == int(by_hand)


# --- what the log asked


def test_the_gas_of_a_day_is_that_of_the_fill_book() -> None:
    log = fills("2026-11-20T09:30:00", "2026-11-20T10:30:00", "2026-11-21T09:30:00")
    book = book_of(log=log)
    told = fill_book(book, FillsWanted(SINCE, books.TODAY)).totals.gave
    assert told is not None
    days = sized(book).usual.days
    assert sum(day.gas.cuft for day in days) == pytest.approx(told.cuft)
    assert days[0].gas.cuft == pytest.approx(2 * days[1].gas.cuft)


def test_usual_and_busy_days() -> None:
    """Ten days of 1, 2, ... 10 fills: the median 5.5, nine in ten ask no more than 9."""
    times = [f"2026-10-{day:02d}T09:{n:02d}:00" for day in range(1, 11) for n in range(day)]
    usual = sized(book_of(log=fills(*times))).usual
    assert (usual.typical, usual.busy) == (5.5, 9)
    assert usual.busiest is not None
    assert (usual.busiest.day, len(usual.busiest.fills)) == (dt.date(2026, 10, 10), 10)
    three = [f"2026-10-{day:02d}T09:{n:02d}:00" for day in (1, 2, 3) for n in range(day)]
    assert sized(book_of(log=fills(*three))).usual.busy == 3
    one = sized(book_of()).usual
    assert (one.typical, one.busy) == (1, 1)


def test_the_day_itself_and_what_others_did_is_left_out_and_counted() -> None:
    log = "\n".join(
        (
            fills("2026-11-20T09:30:00"),
            fills("2026-11-20T11:30:00", more="; source=elsewhere: Weir Street"),
            fills("2026-11-20T12:30:00", more="; source=elsewhere: Weir Street+B1"),
            fills("2026-11-25T09:30:00"),
            fills("2025-11-24T09:30:00"),
            fills("2026-11-21T09:30:00").replace("gas=air", "gas=nitrox32; o2=32 %"),
            "at=2026-11-22T09:30:00+01:00; cylinder=RB-014; act=reading; to=3000 psi; by=MV",
        )
    )
    usual = sized(book_of(log=log)).usual
    assert [len(day.fills) for day in usual.days] == [2]
    assert (usual.elsewhere, usual.today, usual.other_gas) == (1, 1, 1)


def test_what_was_struck_out_counts_nowhere() -> None:
    log = fills("2026-11-20T09:30:00", "2026-11-20T10:30:00")
    log += "\nat=2026-11-20T12:00:00+01:00; cylinder=RB-014; act=void; voids=2026-11-20T10:30:00+01:00 RB-014; by=MV"
    assert [len(day.fills) for day in sized(book_of(log=log)).usual.days] == [1]


@pytest.mark.parametrize(
    "line",
    [
        "cylinder=RB-014; act=fill; to=3000 psi; gas=air; by=MV",
        "cylinder=RB-014; act=fill; gas=air; by=MV",
        "cylinder=RB-014; act=fill; from=500 psi; to=3000 psi; by=MV",
        "cylinder=RB-014; act=fill; from=3000 psi; to=500 psi; gas=air; by=MV",
        "cylinder=GONE-1; act=fill; from=500 psi; to=3000 psi; gas=air; by=MV",
        "cylinder=NV-1; act=fill; from=500 psi; to=3000 psi; gas=air; by=MV",
    ],
)
def test_a_fill_of_which_something_is_not_known_is_taken_as_usual_and_counted(line: str) -> None:
    log = f"{ONE}\nat=2026-11-20T12:00:00+01:00; {line}"
    no_volume = books.GOOD.replace("water_volume: 11.1 L\n", "").replace("K118204", "K118209")
    book = book_of(log=log, cylinders={"RB-014": books.GOOD, "NV-1": no_volume})
    (day,) = sized(book).usual.days
    assert day.taken_as_usual == 1
    assert len(day.fills) == 2
    assert day.fills[0][1:] == pytest.approx(day.fills[1][1:])


def test_without_a_log_it_is_counted_in_the_standard_cylinder() -> None:
    found = sized(book_of(log=""))
    usual = found.usual.usual
    assert (usual.name, usual.fills) == ("al80", 0)
    assert usual.start.psi == pytest.approx(500)
    # 3000 psi at 70 degF shows less at 60 (CoolProp)
    assert rho(usual.target.psi) == pytest.approx(rho(3000, 70), rel=0.001)
    assert found.usual.days == ()
    assert found.now.carries.a_day > 0
    assert (found.usual.typical, found.usual.busy, found.refill) == (None, None, None)


def test_the_fills_of_a_set_are_one_fill_of_both() -> None:
    cylinders = {"RB-014": books.GOOD, "RB-015": books.GOOD.replace("K118204", "K118207")}
    book = book_of(
        log=fills("2026-11-20T09:30:00", id_="DB-01"),
        cylinders=cylinders,
        sets={"DB-01": "cylinders: [RB-014, RB-015]\nisolator: open\nuse: rental\n"},
    )
    (day,) = sized(book).usual.days
    assert [fill.volume for fill in day.fills] == [22.2]


def test_the_order_of_the_log_does_not_matter() -> None:
    lines = fills(*(f"2026-11-{d:02d}T{h:02d}:30:00" for d in range(3, 9) for h in (8, 12, 12, 15)))
    mixed = lines.splitlines()
    random.Random(3).shuffle(mixed)
    one, other = sized(book_of(log=lines)), sized(book_of(log="\n".join(mixed)))
    assert [(d.logged.day, d.done) for d in one.days] == [
        (d.logged.day, d.done) for d in other.days
    ]
    assert one.choices == other.choices


@pytest.mark.parametrize(
    ("times", "timed"),
    [
        (("T00:00:00",), False),
        (("T00:00:00", "T00:00:00"), False),
        (("T12:00:00",), True),
        (("T12:00:00", "T12:00:00"), True),
        (("T12:00:00", "T12:00:00", "T12:00:00"), False),
        (("T12:00:00", "T12:00:00", "T12:00:01"), True),
    ],
)
def test_a_day_with_one_time_for_all_is_spread(times: tuple[str, ...], timed: bool) -> None:
    (day,) = sized(book_of(log=fills(*(f"2026-11-20{at}" for at in times)))).usual.days
    assert day.timed is timed
    if not timed:
        assert [f.at for f in day.fills] == [n * 480 / len(times) for n in range(len(times))]


# --- days of the log, filled again


def test_a_day_that_is_not_carried_and_what_a_bank_would_do() -> None:
    """Full, the bank fills two; of six at nine o'clock four are sent away."""
    times = [f"2026-11-20T09:00:{n:02d}" for n in range(6)]
    quiet = [f"2026-11-21T09:00:{n:02d}" for n in range(2)]
    found = sized(book_of(BANK_ALONE, fills(*times, *quiet)))
    (short,) = found.not_carried
    assert (short.logged.day, short.done.asked, short.done.carried) == (dt.date(2026, 11, 20), 6, 2)
    two = by_cascade([(48, 5000), (48, 5000)], 11.1, 500, 3000)
    now, more = found.choices
    assert (now.days_carried, more.days_carried, two) == (1, 2, 8)
    assert more.bank is not None
    assert (more.bank.water_volume.litres, more.bank.full.psi) == (48, 5000)
    assert more.carries.by_banks == two


def test_fills_after_hours_have_no_compressor() -> None:
    log = fills("2026-11-20T09:00:00", "2026-11-20T18:00:00")
    found = sized(book_of(PUMP_ALONE, log))
    assert [(d.done.carried, d.late) for d in found.days] == [(1, 1)]
    longer = sized(book_of(PUMP_ALONE, log), hours=RunningTime.of(10, "h"))
    assert [(d.done.carried, d.late) for d in longer.days] == [(2, 0)]


def test_the_hours_are_those_of_opening_and_closing() -> None:
    done = '{{on: 2026-11-{:02d}, at: "{}", by: MV}}'.format
    lists = (
        f"opening: {{steps: [drains], done: [{done(18, '08:00')}, {done(19, '09:00')}, {done(20, '10:00')}, {done(22, '09:00')}, {done(25, '23:00')}]}}\n"
        f"closing: {{steps: [drains], done: [{done(18, '14:00')}, {done(20, '18:00')}, {done(22, '08:00')}, {done(25, '23:30')}]}}\n"
    )
    hours = sized(book_of(BOTH + lists)).hours
    assert hours.opens is not None
    assert (hours.opens.minutes, hours.opened_on) == (540, 4)
    assert (hours.runs.hours, hours.closed_on) == (7, 2)
    given = sized(book_of(BOTH + lists), hours=RunningTime.of(5, "h")).hours
    assert (given.runs.hours, given.given) == (5, True)
    none = sized().hours
    assert (none.opens, none.runs.hours, none.closed_on) == (None, 8, 0)


def test_how_long_the_banks_take_after_a_busy_day_and_not_after_the_busiest() -> None:
    """Nine days of one fill and one of two: nine in ten ask no more than one."""
    times = [f"2026-10-{day:02d}T09:00:00" for day in range(1, 11)]
    found = sized(book_of(log=fills(*times, "2026-10-10T09:00:01")))
    need = 11.1 * (rho(3000) - rho(500))
    assert found.refill == pytest.approx(need / made(6.5, 1), rel=0.003)


# --- the station


@pytest.mark.parametrize(
    ("bank", "full", "by"),
    [
        ("working_pressure: 4500 psi", 4500, FullBy.RATED),
        ("working_pressure: 6000 psi", 5000, FullBy.COMPRESSOR),
        ("readings: [{on: 2026-01-01, pressure: 3000 psi}, {on: 2026-01-02, pressure: 4100 psi}]", 4100, FullBy.READ),
        ("working_pressure: 4500 psi, raised: [{on: 2026-10-01, to: 4000 psi}, {on: 2026-10-02, to: 4200 psi}, {on: 2026-10-03, to: 4300 psi}]", 4200, FullBy.RAISED),
        ("working_pressure: 4500 psi, raised: [{on: 2026-10-01, to: 4000 psi}, {on: 2026-10-02, to: 4200 psi}]", 4500, FullBy.RATED),
        ("working_pressure: 4500 psi, raised: [{on: 2024-10-01, to: 4000 psi}, {on: 2024-10-02, to: 4200 psi}, {on: 2024-10-03, to: 4300 psi}]", 4500, FullBy.RATED),
        ("working_pressure: 4500 psi, raised: [{on: 2026-10-01, to: 4900 psi}, {on: 2026-10-02, to: 4900 psi}, {on: 2026-10-03, to: 4900 psi}], readings: [{on: 2026-10-04, pressure: 4400 psi}]", 4500, FullBy.RATED),
    ],
)  # fmt: skip
def test_what_a_bank_is_full_at(bank: str, full: float, by: FullBy) -> None:
    text = BOTH.replace("working_pressure: 5000 psi", bank)
    (told,) = sized(book_of(text)).banks
    assert (told.full.psi, told.by) == (pytest.approx(full), by)


@pytest.mark.parametrize(
    ("station", "part", "why", "mend"),
    [
        (BOTH.replace(", gas: air", ""), "bank B1", "what it holds is not recorded", "gas: air"),
        (BOTH.replace("gas: air", "gas: nitrox32"), "bank B1", "it holds nitrox32", "--gas nitrox32"),
        (BOTH.replace("working_pressure: 5000 psi, ", ""), "bank B1", "its working pressure is not recorded", "working_pressure"),
        (BOTH.replace("48 L", "0 L"), "bank B1", "it has no water volume", "water_volume: 48 L"),
        (BOTH.replace(", max_pressure: 5000 psi", ""), "compressor C1", "its delivery or highest pressure is not recorded", "max_pressure"),
        (BOTH.replace("6.5 cuft", "0 cuft"), "compressor C1", "its delivery or highest pressure is not recorded", "delivery"),
        (BOTH.replace("requalified: [{on: 2024-03,", "requalified: [{on: 2024-03, result: fail,"), "bank B1", "", ""),
    ],
)  # fmt: skip
def test_what_cannot_be_counted_on_is_left_out_with_its_mend(
    station: str, part: str, why: str, mend: str
) -> None:
    (left,) = sized(book_of(station)).left_out
    assert left.part == part
    assert why in left.why
    assert left.why
    assert mend in left.mend


@pytest.mark.parametrize(
    ("station", "said", "mend"),
    [
        (None, "no station is on record", "station.yaml"),
        ("ambient: 60 degF\n", "no bank and no compressor", "--add 4500/50L"),
        ("compressor: {name: C1}\n", "compressor C1: its delivery or highest pressure", "delivery"),
    ],
)
def test_what_cannot_be_reckoned_with_at_all(station: str | None, said: str, mend: str) -> None:
    with pytest.raises(PlanError) as caught:
        sized(book_of(station))
    assert said in str(caught.value)
    assert mend in caught.value.mend


def test_a_bank_is_asked_about_where_there_is_nothing_yet() -> None:
    add = NewBank(Volume.of(50, "L"), GaugePressure.of(4500, "psi"))
    found = sized(book_of("ambient: 60 degF\n"), add=add)
    assert [c.carries.a_day for c in found.choices] == [
        0,
        by_cascade([(50, 4500)], 11.1, 500, 3000),
    ]
    assert found.now.carries.binds is Binds.REACH


def test_a_new_bank_is_no_fuller_than_the_compressor_makes_it() -> None:
    add = NewBank(Volume.of(50, "L"), GaugePressure.of(6000, "psi"))
    bank = sized(add=add).choices[1].bank
    assert bank is not None
    assert (bank.full.psi, bank.by) == (5000, FullBy.COMPRESSOR)


def test_one_rated_higher_is_asked_about_where_the_compressor_reaches_more() -> None:
    low = sized(book_of(BOTH.replace("working_pressure: 5000", "working_pressure: 3600")))
    assert [c.more for c in low.choices] == [
        MoreOf.NOTHING, MoreOf.BANK, MoreOf.HIGHER_BANK, MoreOf.HOUR, MoreOf.COMPRESSOR,
    ]  # fmt: skip
    banks = {c.more: c.carries.by_banks for c in low.choices}
    assert banks[MoreOf.HIGHER_BANK] == by_cascade([(48, 3600), (48, 5000)], 11.1, 500, 3000)
    assert banks[MoreOf.BANK] < banks[MoreOf.HIGHER_BANK]
    assert MoreOf.HIGHER_BANK not in {c.more for c in sized().choices}


def test_of_a_gas_that_is_not_air_only_its_banks_count() -> None:
    nitrox = BOTH.replace("gas: air", "gas: nitrox32")
    log = fills("2026-11-20T09:30:00").replace("gas=air", "gas=nitrox32; o2=32 %")
    found = sized(book_of(nitrox, log), gas=Gas.parse("nitrox32"))
    assert [c.more for c in found.choices] == [MoreOf.NOTHING, MoreOf.BANK]
    assert [left.part for left in found.left_out] == ["compressor C1"]
    assert found.now.carries.by_banks == 2


@pytest.mark.parametrize("hours", [1.0, 4.0, 8.0, 23.5])
def test_with_one_thing_more_never_less(hours: float) -> None:
    found = sized(hours=RunningTime.of(hours, "h"))
    for choice in found.choices[1:]:
        assert choice.carries.a_day >= found.now.carries.a_day
        assert choice.carries.by_banks >= found.now.carries.by_banks
        assert choice.days_carried >= found.now.days_carried
        assert choice.carries.a_day <= choice.carries.at_most
    assert (MoreOf.HOUR in {c.more for c in found.choices}) is (hours <= 23)


def test_how_many_one_person_fills() -> None:
    """From empty to 3000 psi at 300 psi/min is 10 min; what a cylinder comes with is saved."""
    text = BOTH + (
        "fill_rate: 300 psi/min\nhandling: 4 min\n"
        "positions: [{name: P1, kind: enclosed}, {name: P2, kind: enclosed}, {name: P3, kind: whip}]\n"
    )
    pace = sized(book_of(text)).pace
    assert pace is not None
    minutes = 4 + 10 * (rho(3000) - rho(500)) / (rho(3000) - rho(0))
    assert pace.load_minutes == pytest.approx(minutes, rel=0.001)
    assert (pace.fills, pace.positions, pace.assumed) == (2 * int(480 / minutes), 2, False)
    assert sized().pace is None


@pytest.mark.parametrize(("whips", "filled"), [("allowed", 1), ("never", None)])
def test_a_set_is_filled_at_no_enclosed_position(whips: str, filled: int | None) -> None:
    """What is counted in are doubles: of three positions one takes them, or none."""
    places = ", ".join(
        f"{{name: P{n}, kind: {kind}}}" for n, kind in enumerate(("enclosed", "enclosed", "whip"))
    )
    station = f"{BOTH}positions: [{places}]\nopen_whip: {whips}\n"
    sides = {"RB-041": books.GOOD, "RB-042": books.GOOD.replace("K118204", "K118299")}
    pair = {"DB-01": "cylinders: [RB-041, RB-042]\nrating: 3000 psi\nisolator: open\n"}
    log = fills("2026-11-20T09:30:00", "2026-11-20T09:50:00", id_="DB-01")
    pace = sized(book_of(station, log, cylinders=sides, sets=pair)).pace
    assert (pace.positions if pace else None) == filled


def test_what_banks_typically_showed_and_fills_read_without_a_temperature() -> None:
    read = "readings: [{on: 2024-01-01, pressure: 100 psi}, {on: 2026-10-01, pressure: 2000 psi}, {on: 2026-10-02, pressure: 4400 psi}, {on: 2026-10-03, pressure: 3000 psi}]"
    text = BOTH.replace("gas: air", f"gas: air, {read}")
    log = ONE + "\n" + fills("2026-11-21T09:30:00").replace("temperature=60 degF; ", "")
    found = sized(book_of(text, log))
    (told,) = found.banks
    assert told.typically is not None
    assert (told.readings, told.typically.psi, told.seldom_full) == (3, 3000, True)
    assert (
        not sized(book_of(text.replace("3000 psi}]", "4600 psi}]").replace("2000 psi", "4550 psi")))
        .banks[0]
        .seldom_full
    )
    assert not sized().banks[0].seldom_full
    assert found.usual.no_temperature == 1
    # 3000 psi at 70 degF is less gas than at 60
    colder, warmer = (day.gas.cuft for day in found.usual.days)
    ratio = (rho(3000, 70) - rho(500, 70)) / (rho(3000) - rho(500))
    assert warmer / colder == pytest.approx(ratio, rel=0.001)


# --- the days ahead


def booked(day: str, count: int, size: str | None = None, gas: str | None = None) -> Booking:
    return Booking(
        date=dt.date.fromisoformat(day),
        reference="B-1",
        size=size,
        gas=Gas.parse(gas) if gas else None,
        count=count,
    )


def test_what_is_booked_and_promised() -> None:
    job = "jobs: [{{on: 2026-11-20, by: MV, work: [{}], reference: C-1{}}}]\n".format
    cylinders = {
        "RB-014": books.GOOD,
        "CU-1": books.GOOD.replace("K118204", "K1") + job("visual, fill", ", promised: 2026-11-28"),
        "CU-2": books.GOOD.replace("K118204", "K2") + job("fill", ", promised: 2026-11-01"),
        "CU-3": books.GOOD.replace("K118204", "K3") + job("fill", ""),
        "CU-4": books.GOOD.replace("K118204", "K4") + job("visual", ", promised: 2026-11-28"),
        "CU-5": books.GOOD.replace("K118204", "K5") + job("fill", ", promised: 2026-11-28, ready: 2026-11-24"),
    }  # fmt: skip
    found = sized(
        book_of(
            cylinders=cylinders,
            bookings=(
                booked("2026-11-25", 9),
                booked("2026-11-28", 2),
                booked("2026-11-28", 1, "al80", "air"),
                booked("2026-11-28", 3, "al80", "nitrox32"),
                booked("2026-11-29", 2, "no-such-size"),
            ),
        )
    )
    told = [(a.booked.day.day, a.booked.count, a.booked.taken_as_usual) for a in found.ahead]
    assert told == [(26, 1, 0), (28, 4, 0), (29, 2, 2)]
    assert found.undated == 1
    assert all(each.whole for each in found.ahead)


def test_a_day_that_is_booked_for_more_than_is_carried() -> None:
    found = sized(book_of(bookings=(booked("2026-11-28", 200), booked("2026-12-05", 10**9))))
    assert [(a.carried, a.whole) for a in found.ahead] == [(found.now.carries.a_day, False)] * 2
    assert found.ahead[1].booked.count == 10**9
