"""How long a long form takes on paper, as a multiple of a floor measured in the same run.

Run with `pytest tests/benchmarks/test_paper.py --benchmark-enable`; by default a short form is printed
once, untimed. The floor is reading a face of type: what a form does once for each face, and never
again for a row.
"""

import itertools
import timeit

from pytest_benchmark.fixture import BenchmarkFixture
from reportlab.pdfbase.ttfonts import TTFont

from tankbook.ledger import shipped
from tankbook.output.drawing import A4
from tankbook.output.paper.face import PLAIN
from tankbook.output.paper.form import Form as PaperForm
from tankbook.output.paper.form import FormGroup, FormRow, print_form
from tankbook.output.paper.sheets import COUNT_COLUMNS

ROWS = 1800
MOST_FLOORS = 160
"""Where the floor takes 20 ms the form of 1,800 rows takes about 1.5 s; with a face read anew for each
row it took a minute and more."""


def floor() -> None:
    """A face of type, read."""
    TTFont(PLAIN, shipped.font(f"{PLAIN}.ttf"))


def form(rows: int, run: int) -> PaperForm:
    """A count sheet of cylinders whose ids and serials were never printed before."""
    cells = [
        ("", f"RB-{run:03d}{n:04d}", f"K{run:03d}{n:05d}", "11.1 L", "here") for n in range(rows)
    ]
    group = FormGroup("Rack 4", tuple(FormRow(row) for row in cells))
    return PaperForm("Count", (), COUNT_COLUMNS, (group,), (), "Test Quay")


def test_a_long_count_sheet(benchmark: BenchmarkFixture) -> None:
    runs = itertools.count()
    rows = 20 if benchmark.disabled else ROWS
    made = benchmark.pedantic(lambda: print_form(form(rows, next(runs)), A4), rounds=3)
    assert made.startswith(b"%PDF")
    if benchmark.disabled:
        return
    shortest = min(timeit.repeat(floor, number=1, repeat=5))
    ratio = benchmark.stats.stats.min / shortest
    benchmark.extra_info |= {"floor_milliseconds": 1e3 * shortest, "floors": ratio}
    print(f"{benchmark.stats.stats.min:.2f} s, {ratio:.0f} floors of {1e3 * shortest:.1f} ms")
    assert ratio < MOST_FLOORS
