"""The sheet of an incident on paper: no cylinder is torn, or the next page says whose it goes on."""

from __future__ import annotations

import pdf
from books import SETTINGS, make_book, typed
from hypothesis import example, given
from hypothesis import strategies as st

from tankbook.output.page import Page
from tankbook.output.paper.incident import incident_pdf
from tankbook.records.counter import CounterFile

FILLS = 3


def sheet(lengths: list[int]) -> list[str]:
    """The text of each page, of an incident of so many cylinders with so long lines."""
    cylinders = "".join(
        f"\n     - {{id: RB-{n:03}, serial: K{n:05}, status: held, handed: [start {n:03} {'hand ' * long}],"
        f" fills: [{', '.join([f'{chr(39)}fill{chr(39)}'] * FILLS)}], valve: end {n:03}}}"
        for n, long in enumerate(lengths)
    )
    text = f"incidents:\n  - on: 2026-11-24\n    by: MV\n    what: whip burst\n    cylinders:{cylinders}\n"
    found = typed(CounterFile, text, "counter.yaml").incidents[0]
    made = incident_pdf(found, make_book({}, settings=SETTINGS).settings, Page())
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in pdf.opened(made)]


@given(st.lists(st.integers(1, 75), min_size=1, max_size=24))
@example([60] * 12)
@example([5] * 40)
def test_no_cylinder_is_torn_over_two_pages(lengths: list[int]) -> None:
    pages = sheet(lengths)
    for n in range(len(lengths)):
        (page,) = [p for p in pages if f"Cylinder RB-{n:03}" in p]
        after = page.split(f"Cylinder RB-{n:03}")[1]
        assert f"start {n:03}" in after
        assert f"end {n:03}" in after
    assert not any("continued" in p for p in pages)
    assert sum("signed" in p and "seen by" in p for p in pages) == 1


def test_what_no_page_has_room_for_says_its_name_again() -> None:
    many = "[" + ", ".join(["'" + "word " * 75 + "'"] * 60) + "]"
    text = (
        "incidents:\n  - on: 2026-11-24\n    by: MV\n    what: whip burst\n    cylinders:\n"
        f"     - {{id: RB-001, fills: {many}, valve: the end}}\n"
    )
    found = typed(CounterFile, text, "counter.yaml").incidents[0]
    made = incident_pdf(found, make_book({}, settings=SETTINGS).settings, Page())
    pages = [" ".join(p.get_textpage().get_text_bounded().split()) for p in pdf.opened(made)]
    of_it = [p for p in pages if "word word" in p]
    assert len(of_it) > 1
    assert all(p.startswith("Cylinder RB-001, continued") for p in of_it[1:])
