"""How long a density takes, as time and as a multiple of a floor measured in the same run.

Run with `pytest tests/benchmarks --benchmark-enable`; by default each body runs once, untimed.
"""

import itertools
import timeit

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tankbook.gas import AIR, molar_density, properties
from tankbook.units import GaugePressure

NUMBERS = [0.1 * n for n in range(100)]
MOST_FLOORS = 20
"""Where the floor takes 1.5 microseconds this is 30; a density should never take over 60."""


def floor() -> float:
    """A hundred multiplications and additions in a plain loop: what Python cannot do without."""
    total = 0.0
    for number in NUMBERS:
        total = 0.5 * total + number
    return total


def note_ratio(benchmark: BenchmarkFixture) -> None:
    """Put the ratio to the floor beside the times; when timed, hold it to `MOST_FLOORS`."""
    if benchmark.disabled:
        return
    calls = 2000
    shortest = min(timeit.repeat(floor, number=calls, repeat=7)) / calls
    ratio = benchmark.stats.stats.median / shortest
    benchmark.extra_info |= {"floor_microseconds": 1e6 * shortest, "floors": ratio}
    assert ratio < MOST_FLOORS


@pytest.mark.parametrize("kpa", [100, 20_000, 41_500])
def test_density_at_one_temperature(benchmark: BenchmarkFixture, kpa: float) -> None:
    assert benchmark(molar_density, AIR, 293.15, kpa) > 0
    note_ratio(benchmark)


def test_density_at_ever_new_temperatures(benchmark: BenchmarkFixture) -> None:
    steps = itertools.count()
    assert benchmark(lambda: molar_density(AIR, 223 + next(steps) % 2_000_003 * 1e-4, 20_000)) > 0
    note_ratio(benchmark)


def test_all_properties_at_ever_new_temperatures(benchmark: BenchmarkFixture) -> None:
    steps = itertools.count()
    state = benchmark(lambda: properties(AIR, 223 + next(steps) % 2_000_003 * 1e-4, 8.0))
    assert state.density == 8.0
    note_ratio(benchmark)


def test_reading_pressures_never_seen_before(benchmark: BenchmarkFixture) -> None:
    steps = itertools.count()
    assert benchmark(lambda: GaugePressure.parse(f"{next(steps)} psi")).unit == "psi"
    note_ratio(benchmark)
