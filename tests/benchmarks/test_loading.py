"""How long reading a record takes, as time and as a multiple of a floor measured in the same run.

The floor of a record is libyaml handing over its events, nobody keeping them; that of a log is the
csv module parting its lines. Run with `pytest tests/benchmarks --benchmark-enable`.
"""

import csv
import timeit

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.events import parse
from tankbook.ledger.splice import Append, splice
from tankbook.records.log import LogLine, columns

RECORD = """\
serial: K118204                  # unique within a maker
maker: Example Cylinder Co
marks: DOT-3AL 3000 K118204 09A21
specification: [DOT-3AL, TC-3ALM]
service_pressure: 3000 psi
test_pressure: 5000 psi
water_volume: 11.1 L             # as stamped
material: aluminium
alloy: 6061
neck_thread: 3/4-14 NPSM
valve: {outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi}
service: air
use: rental
status: in-service
requalified:
  - {on: 2021-09, method: hydrostatic, by: maker}
  - {on: 2026-03, method: hydrostatic, by: Example Test House}
inspected:
  - {on: 2025-02-11, by: MV, checklist: annual, result: pass, sticker: issued}
  - {on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued}
"""
HEADER = columns(LogLine)
LINE = (
    "2026-11-25T09:30:00+01:00,RB-014,fill,500 psi,3000 psi,64 degF,nitrox32,32.1 %,0 %,MV,MV,"
    "B1+B2,P1,,,topped off after the visual\n"
)
LOG = ",".join(HEADER) + "\n" + LINE * 5000


def events() -> None:
    from _ruamel_yaml import CParser

    next_event = CParser(RECORD).get_event
    while next_event() is not None:
        pass


def note_ratio(benchmark: BenchmarkFixture, floor: float, most: float) -> None:
    """Put the ratio to the floor, in seconds, beside the times; when timed, hold it to `most`."""
    if benchmark.disabled:
        return
    ratio = benchmark.stats.stats.median / floor
    benchmark.extra_info |= {"floor_microseconds": 1e6 * floor, "floors": ratio}
    assert ratio < most


def test_reading_a_record(benchmark: BenchmarkFixture) -> None:
    pytest.importorskip("_ruamel_yaml")
    _, findings = benchmark(parse, RECORD, "cylinders/RB-014.yaml")
    assert findings == []
    note_ratio(benchmark, min(timeit.repeat(events, number=500, repeat=7)) / 500, most=6)


def test_adding_an_entry_to_a_record(benchmark: BenchmarkFixture) -> None:
    pytest.importorskip("_ruamel_yaml")
    edit = Append(("inspected",), {"on": "2027-02-08", "by": "MV", "result": "pass"})
    text = benchmark(splice, RECORD, [edit], "cylinders/RB-014.yaml")
    assert text == RECORD + "  - {on: 2027-02-08, by: MV, result: pass}\n"
    note_ratio(benchmark, min(timeit.repeat(events, number=500, repeat=7)) / 500, most=20)


def test_reading_a_log(benchmark: BenchmarkFixture) -> None:
    rows, findings = benchmark(read_rows, LOG, "fills/2026.csv", HEADER)
    assert (len(rows), findings) == (5000, [])
    lines = LOG.split("\n")
    floor = min(timeit.repeat(lambda: list(csv.reader(lines)), number=1, repeat=7))
    note_ratio(benchmark, floor, most=5)
