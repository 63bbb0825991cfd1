"""Fills a day: worked by hand in round densities, the laws, and a hand that counts another way."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import Any

import pytest
from changing import replace
from hypothesis import given
from hypothesis import strategies as st

from tankbook.filling.levels import StandardFill, full_fills, most_fills
from tankbook.filling.sizing import (
    MOST_COUNTED,
    AskedFill,
    Binds,
    SizedBank,
    SizedCompressor,
    SizedStation,
    carries,
    day_of,
    refilled,
)

USUAL = StandardFill(10.0, 1.0, 5.0)
"""Ten litres from 1 to 5 mol/L take 40 mol."""


def bank(volume: float = 100.0, full: float = 10.0) -> SizedBank:
    return SizedBank("B", volume, full)


def pump(makes: float = 2.0, top: float = 10.0, **more: float) -> SizedCompressor:
    return SizedCompressor("C", makes, top, **more)


def station(
    banks: Sequence[SizedBank] = (),
    compressors: Sequence[SizedCompressor] = (),
    opens: float | None = 540.0,
    runs: float = 480.0,
) -> SizedStation:
    return SizedStation(tuple(banks), tuple(compressors), opens, runs)


def asked(*times: float, volume: float = 10.0) -> list[AskedFill]:
    return [AskedFill(at, volume, 1.0, 5.0) for at in times]


@pytest.mark.parametrize(
    ("made", "by_banks", "a_day", "at_most", "binds"),
    [
        # a bank of 100 L at 10 gives 0.4 mol/L a fill, and one more comes full while it is level
        # with the cylinder at 5 or above: (100 d + 10) / 110 >= 5, d >= 5.4, so 12 fills; above 1
        # mol/L it has 900 mol, which is 22.5 fills
        (station([bank()]), 12, 12, 22, Binds.PRESSURE),
        # 2 mol/min for 480 min are 960 mol, 24 fills
        (station([], [pump()]), 0, 24, 24, Binds.GAS),
        # an hour more: 1080 mol, 27 fills
        (station([], [pump()], runs=540), 0, 27, 27, Binds.GAS),
        # 60 min of 90: 5 x 60 + 30 = 330 min, 660 mol, 16.5 fills
        (station([], [pump(longest=60, rest=30)]), 0, 16, 16, Binds.GAS),
        # how long it rests is not known: as a plan takes it, not at all
        (station([], [pump(longest=60)]), 0, 24, 24, Binds.GAS),
        # it may not run
        (station([], [pump(longest=0, rest=30)]), 0, 0, 0, Binds.GAS),
        (station([], [pump(makes=0.0)]), 0, 0, 0, Binds.GAS),
        # 900 mol in the bank above 1 and 960 made: 46.5
        (station([bank()], [pump()]), 12, 46, 46, Binds.GAS),
        # neither reaches 5
        (station([bank(full=4.9)], [pump(top=4.9)]), 0, 0, 0, Binds.REACH),
        # a compressor that does not reach 5 feeds no bank that is above 4.9: at the most (440 + 960)
        # / 40, and above 4.9 it is 50 of 1 mol each
        (station([bank(full=5.4)], [pump(top=4.9)]), 1, 1, 35, Binds.PRESSURE),
        # above 3, which it reaches, the bank has 700 mol and a fill takes 20
        (station([bank()], [pump(top=3.0)]), 12, 12, 35, Binds.PRESSURE),
        (station(), 0, 0, 0, Binds.REACH),
    ],
)
def test_worked_by_hand(
    made: SizedStation, by_banks: int, a_day: int, at_most: int, binds: Binds
) -> None:
    found = carries(made, USUAL)
    assert (found.by_banks, found.a_day, found.binds) == (by_banks, a_day, binds)
    assert found.at_most == at_most


def test_what_a_compressor_does_not_fill_directly() -> None:
    # the bank at 5.2 brings one from 1 to (520 + 10) / 110 = 4.818
    short = bank(full=5.2)
    assert day_of(station([short], [pump(maintains=4.8)]), asked(600)).waited == pytest.approx(
        10 * (5 - 530 / 110) / 2
    )
    # below what its valve maintains it waits until the bank was fed; it is full already, and so
    # nothing comes of that
    assert day_of(station([short], [pump(maintains=4.9)]), asked(600)).carried == 0
    # without banks there is nothing to fill it from first
    assert day_of(station([], [pump(maintains=4.9)]), asked(600)).carried == 1
    # once opened in vain the bank is as it was
    done = day_of(station([short], [pump(maintains=4.9)]), asked(600))
    assert done.banks == (5.2,)


def test_one_waits_until_a_bank_was_fed() -> None:
    """Twelve take the bank to 5.2; what is lacking to 5.4 takes 20 mol, 10 min of 2 mol/min."""
    made = station([bank()], [pump(maintains=4.99)])
    done = day_of(made, asked(*[540] * 13))
    assert (done.carried, done.waited) == (13, 10)
    assert done.banks[0] == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("times", "carried", "waited"),
    [
        ((600, 600, 600), 3, 60),  # 20 min each, one after the other
        ((600, 700, 800), 3, 20),
        ((1000,), 1, 20),  # until 1020, when it stops
        ((1001,), 0, 0),
        ((500,), 1, 60),  # it begins at 540
        ((1000, 1000), 1, 20),
        ((), 0, 0),
    ],
)
def test_a_day_of_one_compressor(times: tuple[float, ...], carried: int, waited: float) -> None:
    done = day_of(station([], [pump()]), asked(*times))
    assert (done.asked, done.carried) == (len(times), carried)
    assert done.waited == pytest.approx(waited)


def test_where_no_hour_of_opening_is_known_a_day_begins_with_its_first_fill() -> None:
    made = station([], [pump()], opens=None)
    assert day_of(made, asked(1200, 1290)).whole
    assert day_of(made, asked(360, 700, 840)).carried == 2


def test_a_bank_fills_at_any_hour_and_the_compressor_feeds_it_before() -> None:
    assert day_of(station([bank()], []), asked(*range(1000, 1012))).whole
    assert not day_of(station([bank()], []), asked(*range(1000, 1013))).whole
    # 12 in the morning take 480 mol, which are made again in 240 min
    twice = asked(*[540] * 12, *[780] * 12)
    assert day_of(station([bank()], [pump()]), twice).waited == 0
    early = asked(*[540] * 12, *[660] * 12)
    assert day_of(station([bank()], [pump()]), early).waited > 0


def test_when_the_compressor_has_stopped_no_bank_is_fed() -> None:
    """12 take the bank to 5.2, an hour makes 120 mol: 6.4, from which 3 more come full."""
    made = station([bank()], [pump()], runs=60)
    assert day_of(made, asked(*[540] * 12, *[1000] * 12)).carried == 15


def test_who_is_sent_away_keeps_nobody_else_from_being_filled() -> None:
    late = [AskedFill(1001, 10.0, 1.0, 5.0), AskedFill(1002, 1.0, 1.0, 5.0)]
    assert day_of(station([], [pump()]), late).carried == 1
    # nor does it take a minute of the compressor's
    made = station([bank(full=5.2)], [pump(maintains=4.9)])
    done = day_of(made, [AskedFill(540, 10.0, 1.0, 5.0), AskedFill(545, 4.0, 4.5, 5.2)])
    level = (100 * 5.2 + 4 * 4.5) / 104
    assert (done.carried, done.waited) == (1, pytest.approx(4 * (5.2 - level) / 2))


def test_the_fuller_of_two_banks_is_fed_and_the_emptier_opened_first() -> None:
    made = station([bank(50, 6.0), bank(50, 12.0)], [pump(makes=1.0, top=12.0)])
    # to level with the first: (300 + 10) / 60 = 5.166, so 5 is reached: 40 mol of the first, which
    # is then at 5.2; the next is level at (260 + 10) / 60 = 4.5 and takes 5 mol of the second
    done = day_of(made, asked(540, 540))
    assert done.banks == pytest.approx((4.5, 12.0 - 5 / 50))
    later = day_of(made, [*asked(540, 540), AskedFill(542, 1.0, 1.0, 1.0)])
    assert later.banks == pytest.approx((4.5, 12.0 - 3 / 50))


@pytest.mark.parametrize(
    ("compressors", "held", "minutes"),
    [
        ((pump(),), 10.0, 0),
        ((pump(),), 8.0, 100),
        ((pump(), pump()), 8.0, 50),
        ((pump(longest=60, rest=30),), 8.0, 130),
        ((pump(top=9.0),), 8.0, None),
        ((pump(longest=0, rest=1),), 8.0, None),
        ((), 8.0, None),
    ],
)
def test_how_long_it_takes_to_fill_the_banks_again(
    compressors: tuple[SizedCompressor, ...], held: float, minutes: float | None
) -> None:
    found = refilled(station([bank()], compressors), (held,))
    assert found == (None if minutes is None else pytest.approx(minutes, abs=1e-6))


def test_what_is_beyond_counting_is_counted_no_further() -> None:
    found = carries(station([bank(1e9)]), USUAL)
    assert (found.by_banks, found.a_day) == (MOST_COUNTED, MOST_COUNTED)
    many = [AskedFill(540.0, 10.0, 1.0, 5.0)] * MOST_COUNTED
    assert day_of(station([bank()], [pump()]), many).carried == 46


# --- a hand that counts another way: in small portions of gas, and by the clock


def by_hand(made: SizedStation, fills: Sequence[AskedFill]) -> tuple[int, float]:
    """How many come full, the day stepped through by the minute and the gas in portions.

    It knows nothing of levels or ladders: a cylinder takes portions from the emptiest bank that
    is denser, each minute compressors run or rest and their gas goes where it may. One cylinder
    stands at the panel at a time.
    """
    held = [b.full for b in made.banks]
    begins = min(f.at for f in fills) if made.opens is None else made.opens
    queue = sorted(fills)
    minute, done, total = 0.0, 0, 0.0
    for fill in queue:
        start_held, start_minute = [*held], minute
        rho, full = fill.start, False
        while True:
            here = max(0.0, fill.at - begins)
            if minute < here and minute < made.runs:
                _give(made, held, minute, 1.0)
                minute += 1.0
                start_held, start_minute = [*held], minute
                continue
            if rho < fill.target - 1e-6:
                rho = _portions(made, held, fill, rho)
            full = rho >= fill.target - 1e-6
            if full or minute >= made.runs:
                break
            for each in made.compressors:
                if each.top >= fill.target - 1e-9 and _runs(each, minute):
                    rho += each.makes / fill.volume
            minute += 1.0
        if full:
            done, total = done + 1, total + fill.need
        else:
            held[:], minute = start_held, start_minute
    return done, total


def _portions(made: SizedStation, held: list[float], fill: AskedFill, rho: float) -> float:
    portion = fill.need / 4000
    while rho < fill.target - 1e-6:
        denser = [n for n, d in enumerate(held) if d > rho + portion / fill.volume]
        if not denser:
            return rho
        least = min(denser, key=lambda n: held[n])
        held[least] -= portion / made.banks[least].volume
        rho += portion / fill.volume
    return rho


def _runs(each: SizedCompressor, minute: float) -> bool:
    return math.isinf(each.longest) or minute % (each.longest + each.rest) < each.longest


def _give(made: SizedStation, held: list[float], minute: float, step: float) -> None:
    for each in made.compressors:
        amount = each.makes * step if _runs(each, minute) else 0.0
        for n in sorted(range(len(held)), key=lambda n: -held[n]):
            room = max(0.0, min(made.banks[n].full, each.top) - held[n]) * made.banks[n].volume
            held[n] += min(room, amount) / made.banks[n].volume
            amount -= min(room, amount)


@pytest.mark.parametrize("seed", range(12))
def test_a_hand_that_counts_in_portions_finds_the_same(seed: int) -> None:
    """Within one fill: the hand's minutes and portions are coarse."""
    chance = random.Random(seed)
    made = station(
        [bank(chance.randrange(40, 120), chance.uniform(6, 12)) for _ in range(seed % 4)],
        [pump(chance.uniform(1, 3), 12.0, longest=120, rest=30)] if seed % 3 else [pump()],
    )
    fills = [
        AskedFill(float(chance.randrange(540, 900)), chance.choice((7.0, 10.0, 12.0)),
                  chance.uniform(0.5, 2), chance.uniform(4.5, 5.5))
        for _ in range(chance.randrange(10, 60))
    ]  # fmt: skip
    done = day_of(made, fills)
    count, _ = by_hand(made, fills)
    assert abs(done.carried - count) <= 1


# --- laws

BANKS = st.lists(
    st.builds(SizedBank, st.just("B"), st.floats(5, 200), st.floats(0.5, 14)), max_size=4
)
COMPRESSORS = st.lists(
    st.builds(
        SizedCompressor, st.just("C"), st.floats(0, 6), st.floats(1, 14),
        st.sampled_from([0.0, 3.0, 6.0]), st.sampled_from([math.inf, 0.0, 45.0, 240.0]),
        st.sampled_from([0.0, 15.0, 90.0]),
    ),
    max_size=2,
)  # fmt: skip
STATIONS = st.builds(
    station, BANKS, COMPRESSORS, st.sampled_from([None, 540.0]), st.floats(1, 1440)
)
USUALS = st.builds(
    lambda v, s, rise: StandardFill(v, s, s + rise),
    st.floats(8, 25), st.floats(0.04, 4), st.floats(2, 9),
)  # fmt: skip
FILLS = st.lists(
    st.builds(
        lambda at, v, s, rise: AskedFill(at, v, s, s + rise),
        st.floats(0, 1439), st.floats(2, 25), st.floats(0.04, 4), st.floats(0.0, 9),
    ),
    max_size=25,
)  # fmt: skip


@given(STATIONS, USUALS)
def test_no_more_is_carried_than_mass_balance_allows(made: SizedStation, usual: StandardFill) -> None:  # fmt: skip
    found = carries(made, usual)
    assert found.by_banks <= found.a_day <= found.at_most
    gas = sum(b.volume * max(0.0, b.full - usual.start) for b in made.banks)
    gas += sum(c.makes * made.runs for c in made.compressors)
    assert found.a_day * usual.need <= gas * (1 + 1e-9) + 1e-6
    if found.at_most < MOST_COUNTED:
        assert found.left <= gas + 1e-6


@given(STATIONS, FILLS)
def test_a_day_takes_no_gas_that_is_not_there(made: SizedStation, fills: list[AskedFill]) -> None:
    done = day_of(made, fills)
    assert 0 <= done.carried <= done.asked == len(fills)
    made_at_most = sum(c.makes * c.ran(made.runs) for c in made.compressors)
    before = sum(b.volume * b.full for b in made.banks)
    after = sum(v * d for v, d in zip(made.volumes, done.banks, strict=True))
    if done.whole:
        assert sum(f.need for f in fills) <= before - after + made_at_most + 1e-6
    assert after <= before + 1e-6
    assert all(0 <= d <= b.full + 1e-9 for d, b in zip(done.banks, made.banks, strict=True))


@given(STATIONS, FILLS, st.randoms())
def test_the_order_of_the_log_does_not_matter(
    made: SizedStation, fills: list[AskedFill], chance: random.Random
) -> None:
    mixed = [*fills]
    chance.shuffle(mixed)
    assert day_of(made, mixed) == day_of(made, fills)


@given(STATIONS, USUALS, FILLS, st.floats(0, 600))
def test_more_hours_never_lessen(
    made: SizedStation, usual: StandardFill, fills: list[AskedFill], more: float
) -> None:
    longer = replace(made, runs=made.runs + more)
    now, then = carries(made, usual), carries(longer, usual)
    assert then.a_day >= now.a_day
    assert then.at_most >= now.at_most
    assert day_of(longer, fills).whole or not day_of(made, fills).whole


@given(STATIONS, USUALS, st.floats(5, 200), st.floats(0.5, 14))
def test_one_more_bank_never_lessens(
    made: SizedStation, usual: StandardFill, volume: float, full: float
) -> None:
    more = replace(made, banks=(*made.banks, SizedBank("N", volume, full)))
    now, then = carries(made, usual), carries(more, usual)
    assert then.at_most >= now.at_most
    kept = then.never_less(now)
    assert kept.a_day >= now.a_day
    assert kept.by_banks >= now.by_banks
    assert kept.a_day <= max(then.at_most, now.at_most)


@given(BANKS, USUALS)
def test_full_banks_fill_as_many_as_a_plan_counts(
    banks: list[SizedBank], usual: StandardFill
) -> None:
    """Give or take one that is level with its target to the last digit."""
    counted = full_fills([b.volume for b in banks], [b.full for b in banks], usual)
    assert abs(carries(station(banks), usual).by_banks - counted) <= 1


@given(BANKS, USUALS)
def test_without_what_is_made_the_bound_is_that_of_banks(
    banks: list[SizedBank], usual: StandardFill
) -> None:
    volumes, full = [b.volume for b in banks], [b.full for b in banks]
    assert most_fills(volumes, full, usual, [(0.0, 20.0)]) == most_fills(volumes, full, usual)


@given(st.floats(0, 2000), st.floats(0, 300), st.floats(0, 300))
def test_a_compressor_runs_no_longer_than_the_clock(
    minutes: float, longest: float, rest: float
) -> None:
    each: Any = pump(longest=longest, rest=rest)
    ran = each.ran(minutes)
    assert 0 <= ran <= minutes + 1e-9
    assert each.ran(minutes + 10) >= ran - 1e-9
