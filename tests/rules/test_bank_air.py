"""What a bank holds and when it was pumped, from its readings, raisings and the fills of the log."""

from __future__ import annotations

import datetime as dt
import random

import pytest
from books import GOOD, make_book, with_lines
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import tries

from tankbook.gas import AIR_GAS, density
from tankbook.records.book import Book
from tankbook.rules.bank_air import (
    LEAST,
    BankAir,
    BankOrigin,
    air_of,
    beyond_banks,
    pumped,
    usual_temperature,
)
from tankbook.units import GaugePressure

BANK = "compressor: {name: C1, hours: [{on: 2026-11-01, reads: 400 h}]}\nbanks:\n"


def bank(name: str = "B1", **lists: str) -> str:
    keys = "".join(f", {key}: [{value}]" for key, value in lists.items())
    return f"  - {{name: {name}, water_volume: 48 L, gas: air{keys}}}\n"


def fill(day: int, from_: str, to: str, source: str = "B1", **more: str) -> str:
    at = more.pop("time", "10:00:00")
    keys = "".join(f"; {key}={value}" for key, value in more.items())
    begun = f"from={from_}; " if from_ else ""
    return (
        f"at=2026-11-{day:02d}T{at}+00:00; cylinder=A; act=fill; {begun}to={to}; gas=air; by=MV;"
        f" source={source}{keys}"
    )


def book(*banks: str, log: str = "", **more: str) -> Book:
    station = BANK + "".join(banks) + more.pop("station", "")
    cards = {"A": GOOD, "B": with_lines(GOOD, serial="K2")}
    return make_book(cards, station=station, log=log)


def air(made: Book, name: str = "B1") -> BankAir:
    assert made.station
    return air_of(made, next(b for b in made.station.banks if b.name == name))


def shows(made: Book, name: str = "B1", unit: str = "psi") -> float | None:
    read = air(made, name).shows
    return read.to(unit) if read else None


READ = "{on: 2026-11-10, pressure: 4400 psi}"


def test_a_fill_takes_what_its_cylinder_gained_by_the_equation_of_state() -> None:
    made = book(bank(readings=READ), log=fill(11, "500 psi", "3000 psi"))
    warm = usual_temperature(made)

    def rho(psi: float) -> float:
        return density(AIR_GAS, GaugePressure.of(psi, "psi").absolute(), warm)

    left = shows(made)
    assert left is not None
    taken = 11.1 * (rho(3000) - rho(500))
    assert 48 * (rho(4400) - rho(left)) == pytest.approx(taken, rel=1e-6)
    assert 3600 < left < 3900
    found = air(made)
    assert (found.fills, found.unmeasured, found.read, found.read_on) == (
        1,
        0,
        GaugePressure.of(4400, "psi"),
        dt.date(2026, 11, 10),
    )


@pytest.mark.parametrize(
    ("log", "lower"),
    [
        (fill(11, "500 psi", "3000 psi", "bank B1"), True),
        (fill(11, "500 psi", "3000 psi", "b1"), True),
        (fill(11, "35 bar", "207 bar"), True),
        (fill(11, "500 psi", "3000 psi", "banks"), True),
        (fill(11, "500 psi", "3000 psi", "B1+B2"), True),
        (fill(11, "500 psi", "3000 psi", "B1+C1"), True),
        (fill(11, "500 psi", "3000 psi", "B1 + elsewhere: Quay"), True),
        # what names no bank, names another, or is not said, takes nothing
        (fill(11, "500 psi", "3000 psi", "B2"), False),
        (fill(11, "500 psi", "3000 psi", "C1"), False),
        (fill(11, "500 psi", "3000 psi", "elsewhere: B1"), False),
        (fill(11, "500 psi", "3000 psi", "B9"), False),
        (fill(11, "500 psi", "3000 psi", "=HYPERLINK(B7)"), False),
        (fill(11, "", "3000 psi"), False),
        # before the reading, or of its day and nobody says at what time
        (fill(9, "500 psi", "3000 psi"), False),
        (fill(10, "500 psi", "3000 psi"), False),
        # struck out
        (
            fill(11, "500 psi", "3000 psi")
            + "\nat=2026-11-12T10:00:00+00:00; cylinder=A; act=void; by=MV; note=wrong bank;"
            " voids=2026-11-11T10:00:00+00:00 A",
            False,
        ),
    ],
)
def test_what_a_line_takes_from_a_bank(log: str, lower: bool) -> None:
    made = book(bank(readings=READ), bank("B2", readings=READ), log=log)
    left = shows(made)
    assert left is not None
    assert (left < 4390) is lower


def test_several_sources_give_equal_parts_and_a_set_takes_twice() -> None:
    one = shows(book(bank(readings=READ), log=fill(11, "500 psi", "3000 psi")))
    both = book(
        bank(readings=READ), bank("B2", readings=READ), log=fill(11, "500 psi", "3000 psi", "B1+B2")
    )
    half, other = shows(both), shows(both, "B2")
    assert one
    assert half
    assert half == other
    assert 4400 - half == pytest.approx((4400 - one) / 2, rel=0.05)
    cards = {"A": GOOD, "B": with_lines(GOOD, serial="K2")}
    sets = {"D": "cylinders: [A, B]\nisolator: open\n"}
    line = fill(11, "500 psi", "3000 psi").replace("cylinder=A", "cylinder=D")
    twice = shows(make_book(cards, sets=sets, station=BANK + bank(readings=READ), log=line))
    assert twice
    assert 4400 - twice == pytest.approx(2 * (4400 - one), rel=0.1)


@pytest.mark.parametrize("at", ["09:00", "11:00"])
def test_a_reading_with_its_time_comes_before_or_after_the_fills_of_its_day(at: str) -> None:
    read = READ.replace("pressure", f'at: "{at}", pressure')
    made = book(bank(readings=read), log=fill(10, "500 psi", "3000 psi"))
    left = shows(made)
    assert left is not None
    assert (left < 4390) is (at < "10:00")


def test_a_bank_of_which_nothing_is_known_shows_nothing() -> None:
    made = book(bank(), log=fill(11, "500 psi", "3000 psi"))
    assert air(made) == BankAir("B1", fills=1)
    assert not air(made).is_known
    assert beyond_banks(made) == ()


def origins(made: Book) -> list[tuple[str, str, int]]:
    return [(str(o.since), str(o.on)[8:], round(100 * o.share)) for o in air(made).origins]


@pytest.mark.parametrize(
    ("lists", "log", "found"),
    [
        ({"readings": READ}, "", [("None", "10", 100)]),
        # what was recorded
        (
            {"readings": READ, "raised": "{on: 2026-11-12, from: 2200 psi, to: 4400 psi}"},
            "",
            [("None", "10", 52), ("2026-11-12", "12", 48)],
        ),
        (
            {"raised": "{on: 2026-11-12, from: 0 psi, to: 4400 psi}"},
            "",
            [("2026-11-12", "12", 100)],
        ),
        # a gauge shows that it was pumped, though nobody recorded it
        (
            {
                "readings": "{on: 2026-11-10, pressure: 2200 psi}, {on: 2026-11-14, pressure: 4400 psi}"
            },
            "",
            [("None", "10", 52), ("2026-11-10", "14", 48)],
        ),
        # warmer, or the gauge
        (
            {
                "readings": "{on: 2026-11-10, pressure: 4000 psi}, {on: 2026-11-14, pressure: 4400 psi}"
            },
            "",
            [("None", "10", 100)],
        ),
        # many small rises add up
        (
            {
                "readings": "{on: 2026-11-10, pressure: 2000 psi}, {on: 2026-11-12, pressure: 2500 psi},"
                " {on: 2026-11-14, pressure: 3000 psi}"
            },
            "",
            [("None", "10", 67), ("2026-11-10", "14", 33)],
        ),
        # what was taken between: it was pumped before the fills, or between them, or after
        (
            {
                "readings": "{on: 2026-11-10, pressure: 4400 psi}, {on: 2026-11-14, pressure: 4400 psi}"
            },
            "\n".join(fill(11, "0 psi", "3000 psi", time=f"{h:02d}:00:00") for h in (9, 10)),
            [("None", "10", 63), ("2026-11-10", "14", 37)],
        ),
        (
            {
                "readings": "{on: 2026-11-01, pressure: 200 bar}, {on: 2026-11-21, pressure: 297 bar}"
            },
            "\n".join((fill(3, "0 psi", "2000 psi"), fill(16, "1350 psi", "1450 psi"))),
            [("None", "01", 63), ("2026-11-01", "21", 37)],
        ),
        # read empty: nothing of before is left
        (
            {
                "readings": "{on: 2026-11-10, pressure: 4400 psi}, {on: 2026-11-12, pressure: 0 psi},"
                " {on: 2026-11-14, pressure: 300 bar}"
            },
            "",
            [("2026-11-12", "14", 100)],
        ),
        ({"readings": f"{READ}, {{on: 2026-11-12, pressure: 0 psi}}"}, "", []),
        # struck out
        (
            {
                "readings": READ,
                "raised": "{on: 2026-11-12, from: 2200 psi, to: 4400 psi,"
                " void: {why: wrong bank, by: MV, on: 2026-11-13}}",
            },
            "",
            [("None", "10", 100)],
        ),
    ],
)
def test_when_what_a_bank_holds_was_pumped(
    lists: dict[str, str], log: str, found: list[tuple[str, str, int]]
) -> None:
    got = origins(book(bank(**lists), log=log))
    assert [(s, o) for s, o, _ in got] == [(s, o) for s, o, _ in found]
    assert all(abs(a - b) <= 6 for (*_, a), (*_, b) in zip(got, found, strict=True)), got


def test_a_raising_knows_its_compressor_hours() -> None:
    made = book(bank(raised="{on: 2026-11-12, from: 0 psi, to: 4400 psi}"))
    assert str(air(made).origins[0].hours) == "400 h"
    said = book(bank(raised="{on: 2026-11-12, from: 0 psi, to: 4400 psi, hours: 412.5 h}"))
    assert str(air(said).origins[0].hours) == "412.5 h"


def test_a_raising_that_is_no_rise_still_put_something_in() -> None:
    for raised in (
        "{on: 2026-11-12, to: 4400 psi}",
        "{on: 2026-11-12, from: 4400 psi, to: 4000 psi}",
    ):
        made = book(bank(readings=READ, raised=raised))
        new = air(made).share(lambda o: o.recorded)
        assert 0.1 < new < 0.2


def test_what_a_reading_shows_is_no_second_raising() -> None:
    raised = "{on: 2026-11-12, from: 2200 psi, to: 4400 psi, source: 'elsewhere: Quay'}"
    readings = "{on: 2026-11-11, pressure: 2200 psi}, {on: 2026-11-12, pressure: 4400 psi}"
    made = book(bank(readings=readings, raised=raised))
    assert made.station
    assert [p.source for p in pumped(made.station.banks[0])] == ["elsewhere: Quay"]
    assert [o.source for o in air(made).origins] == ["", "elsewhere: Quay"]


@pytest.mark.parametrize(
    ("raised", "more"),
    [
        ([(11, "1000", "2500"), (12, "2300", "4000")], 0),  # one after another
        ([(11, "1000", "2500"), (12, "3300", "4000")], 1),  # between them it rose
        ([(11, "1000", "2500"), (12, "2300", "3200")], 1),  # and after them
        ([(11, "1800", "2500"), (12, "2300", "4000")], 1),  # and before
        ([(11, "", "2500"), (12, "2300", "4000")], 1),  # from nobody knows what
        ([(12, "1000", "4000")], 0),
        # many small rises between them are a large one
        ([(11, "1500", "2000"), (12, "2500", "4000")], 1),
        ([(11, "1300", "2000"), (12, "2300", "4000")], 0),
    ],
)
def test_raisings_one_after_another_are_the_whole_rise(
    raised: list[tuple[int, str, str]], more: int
) -> None:
    readings = "{on: 2026-11-10, pressure: 1000 psi}, {on: 2026-11-13, pressure: 4000 psi}"
    each = [
        f"{{on: 2026-11-{day}, {f'from: {low} psi, ' if low else ''}to: {high} psi}}"
        for day, low, high in raised
    ]
    made = book(bank(readings=readings, raised=", ".join(each)))
    assert made.station
    assert len([*pumped(made.station.banks[0])]) == len(raised) + more


@pytest.mark.parametrize(
    ("low", "raised", "high", "more"),
    [
        ("18:00", "09:00", "20:00", 1),  # what was raised before it was read is gone again
        ("09:00", "18:00", "20:00", 0),
        ("09:00", "21:00", "20:00", 1),
        ("18:00", "18:00", "20:00", 0),
        ("09:00", "", "20:00", 0),
    ],
)
def test_a_raising_explains_what_rose_after_it(low: str, raised: str, high: str, more: int) -> None:
    readings = (
        f"{{on: 2026-11-10, at: '{low}', pressure: 1000 psi}},"
        f" {{on: 2026-11-10, at: '{high}', pressure: 4000 psi}}"
    )
    at = f"at: '{raised}', " if raised else ""
    made = book(
        bank(readings=readings, raised=f"{{on: 2026-11-10, {at}from: 0 psi, to: 4000 psi}}")
    )
    assert made.station
    assert len([*pumped(made.station.banks[0])]) == 1 + more


def test_two_banks_of_one_name_and_one_of_no_volume_are_no_crash() -> None:
    made = book(
        bank(readings=READ),
        bank("b1", readings=READ),
        bank("B3", readings=READ).replace("48 L", "0 L"),
    )
    assert shows(made, "B3") == 4400
    assert air(made, "B3").origins == ()


def test_a_bank_of_nitrox_is_reckoned_as_nitrox() -> None:
    nitrox = bank(readings=READ).replace("gas: air", "gas: nitrox32")
    left = shows(book(nitrox, log=fill(11, "500 psi", "3000 psi")))
    air_left = shows(book(bank(readings=READ), log=fill(11, "500 psi", "3000 psi")))
    assert left
    assert air_left
    assert 0 < abs(left - air_left) < 60


# --- what a bank cannot have given


@pytest.mark.parametrize(
    ("readings", "log", "told"),
    [
        # read 500 lower that day
        ("{on: 2026-11-12, pressure: 2450 psi}", fill(12, "500 psi", "2950 psi"), True),
        (
            '{on: 2026-11-12, at: "08:00", pressure: 2450 psi}',
            fill(12, "500 psi", "2950 psi"),
            True,
        ),
        # read after it, and others were filled before the reading: it stood higher
        (
            "{on: 2026-11-12, pressure: 2450 psi}",
            "\n".join(
                [fill(12, "500 psi", "2950 psi"), fill(12, "0 psi", "2400 psi", time="11:00:00")]
            ),
            False,
        ),
        (
            '{on: 2026-11-12, at: "18:00", pressure: 2450 psi}',
            fill(12, "500 psi", "2950 psi"),
            False,
        ),
        ("{on: 2026-11-10, pressure: 2450 psi}", fill(12, "500 psi", "2950 psi"), True),
        ("{on: 2026-11-10, pressure: 4400 psi}", fill(12, "500 psi", "2950 psi"), False),
        # by what was taken since
        (
            "{on: 2026-11-10, pressure: 3300 psi}",
            "\n".join(fill(d, "0 psi", "2900 psi") for d in (11, 12)),
            True,
        ),
        # within the gauge's error
        ("{on: 2026-11-10, pressure: 3400 psi}", fill(12, "2900 psi", "3340 psi"), False),
        # something else may have given it
        *(
            ("{on: 2026-11-10, pressure: 2450 psi}", fill(12, "500 psi", "2950 psi", source), False)
            for source in ("B1+C1", "B1+B9", "B1 + elsewhere: Quay", "B1+B2", "C1", "")
        ),
        ("{on: 2026-11-10, pressure: 0 psi}", fill(12, "500 psi", "2950 psi"), True),
    ],
)
def test_a_fill_that_its_bank_can_hardly_have_given(readings: str, log: str, told: bool) -> None:
    made = book(bank(readings=readings), bank("B2"), log=log.replace("source=;", ""))
    assert bool(beyond_banks(made)) is told


def test_each_such_fill_is_told_by_what_was_read_and_counts_as_pumped_once() -> None:
    log = "\n".join(fill(d, "500 psi", "3300 psi") for d in (11, 12, 13, 15))
    read = "{on: 2026-11-10, pressure: 2000 psi}, {on: 2026-11-14, pressure: 500 psi}"
    made = book(bank(readings=read), log=log)
    found = beyond_banks(made)
    assert [b.line.at.day for b in found] == [11, 12, 13, 15]
    shown = [b.most.psi for b in found[:3]]
    # that the first tells of a pumping is no reason to believe the next; what they took is gone
    assert 2000 > shown[0] > shown[1] > shown[2]
    assert [o.since for o in air(made).origins if o.since] == [
        dt.date(2026, 11, 10),
        dt.date(2026, 11, 14),
    ]
    assert not air(made).origins[1].recorded


def test_a_bank_read_higher_afterwards_was_pumped_before_who_knows_which_fill() -> None:
    read = "{on: 2026-11-10, pressure: 2000 psi}, {on: 2026-11-14, pressure: 4000 psi}"
    assert beyond_banks(book(bank(readings=read), log=fill(12, "500 psi", "3300 psi"))) == ()


# --- laws


def _psi(draw: st.DrawFn, least: int = 0, most: int = 5000) -> str:
    psi = draw(st.integers(least, most))
    return f"{psi} psi" if draw(st.booleans()) else f"{psi // 15} bar"


@st.composite
def lives(draw: st.DrawFn) -> tuple[list[str], list[str], list[str]]:
    """Readings, raisings and fills, in any order and of any sense."""
    readings, raised, fills = [], [], []
    for _ in range(draw(st.integers(0, 9))):
        day, kind = draw(st.integers(1, 24)), draw(st.sampled_from("rrurf"))
        at = draw(st.sampled_from(["", ', at: "10:00"']))
        if kind == "r":
            readings.append(f"{{on: 2026-11-{day:02d}, pressure: {_psi(draw)}{at}}}")
        elif kind == "u":
            from_ = draw(st.sampled_from(["", f", from: {_psi(draw)}"]))
            raised.append(f"{{on: 2026-11-{day:02d}, to: {_psi(draw)}{from_}{at}}}")
        else:
            source = draw(st.sampled_from(["B1", "B1+B2", "banks", "B1+C1", "B9", "elsewhere: B1"]))
            begun = draw(st.sampled_from(["", _psi(draw, 0, 4000)]))
            time = f"{draw(st.integers(0, 23)):02d}:00:00"
            fills.append(fill(day, begun, _psi(draw, 0, 4000), source, time=time))
    return readings, raised, fills


def _made(life: tuple[list[str], list[str], list[str]]) -> Book:
    readings, raised, fills = life
    lists = {"readings": ", ".join(readings), "raised": ", ".join(raised)}
    said = {name: text for name, text in lists.items() if text}
    return book(bank(**said), bank("B2", readings=READ), log="\n".join(fills))


@settings(max_examples=tries(60, 2000), deadline=None)
@given(lives())
def test_shares_sum_to_one_and_no_pressure_is_below_nothing(
    life: tuple[list[str], list[str], list[str]],
) -> None:
    found = air(_made(life))
    if found.origins:
        assert sum(o.share for o in found.origins) == pytest.approx(1, abs=1e-6)
        assert all(0 < o.share <= 1 + 1e-9 for o in found.origins)
        assert all(o.since is None or o.since <= o.on for o in found.origins)
    assert found.shows is None or found.shows.pa >= 0
    assert 0 <= found.share(lambda _: True) <= 1


@settings(max_examples=tries(60, 2000), deadline=None)
@given(lives(), st.randoms(use_true_random=False))
def test_the_order_in_which_records_stand_is_harmless(
    life: tuple[list[str], list[str], list[str]], random_: random.Random
) -> None:
    readings, raised, fills = life
    days = [r[:16] for r in readings]
    once = [r for r in readings if days.count(r[:16]) == 1]  # of one day, the last in the file is
    before = air(_made((once, raised, fills)))
    for each in (once, raised, fills):
        random_.shuffle(each)
    after = air(_made((once, raised, fills)))
    assert before.shows == after.shows or (
        before.shows and after.shows and before.shows.pa == pytest.approx(after.shows.pa, abs=1)
    )
    assert [(o.since, o.on) for o in before.origins] == [(o.since, o.on) for o in after.origins]
    assert [o.share for o in before.origins] == pytest.approx([o.share for o in after.origins])


@settings(max_examples=tries(30, 1000), deadline=None)
@given(st.lists(st.tuples(st.integers(15, 4000), st.integers(4100, 5000)), min_size=1, max_size=60))
def test_topping_never_takes_all_of_what_was_in_it_and_emptying_does(
    tops: list[tuple[int, int]],
) -> None:
    day = dt.date(2026, 1, 1)
    raised = []
    for low, high in tops:
        day += dt.timedelta(days=1)
        raised.append(f"{{on: {day}, from: {low} psi, to: {high} psi}}")
    begun = "{on: 2026-01-01, pressure: 4400 psi}"
    first = dt.date(2026, 1, 1)
    topped = air(book(bank(readings=begun, raised=", ".join(raised))))
    old = topped.share(lambda o: (o.since or dt.date.min) <= first)
    assert old >= LEAST
    empty = f"{begun}, {{on: {day + dt.timedelta(days=1)}, pressure: 0 psi}}"
    assert air(book(bank(readings=empty, raised=", ".join(raised)))).origins == ()


def test_an_origin_is_what_it_says() -> None:
    one = BankOrigin(None, dt.date(2026, 11, 1))
    assert BankAir("B1", origins=(one,)).share(lambda o: o is one) == 1.0
