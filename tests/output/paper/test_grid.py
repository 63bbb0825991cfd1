"""Where labels lie, seen by another program; and sheets that cannot be."""

from __future__ import annotations

from collections.abc import Callable

import books
import pdf as seen
import pytest

from tankbook.ledger import shipped
from tankbook.output.drawing import Line
from tankbook.output.paper.face import PaperError
from tankbook.output.paper.grid import LabelGrid, cut_marks, grid_of
from tankbook.output.paper.labels import Label
from tankbook.output.paper.run import print_labels
from tankbook.records.sheet import Sheet
from tankbook.records.words import LabelKind
from tankbook.units import Length

BLANK = Label("A", LabelKind.IDENTITY, (), (), (), "A\nB\nC")

# Worked out by hand from page and label sizes: (sheet, place, left, top, width, height) in mm.
PLACES = [
    ("letter-10", 1, (215.9 - 106.3625 - 101.6) / 2, 12.7, 101.6, 50.8),  # 8.5 x 11 in, 4 x 2 in
    ("letter-10", 10, 215.9 - 3.96875 - 101.6, 12.7 + 4 * 50.8, 101.6, 50.8),
    ("letter-30", 30, 4.7625 + 2 * 69.85, 12.7 + 9 * 25.4, 66.675, 25.4),
    ("a4-24", 1, 0.0, 0.5, 70.0, 37.0),
    ("a4-24", 24, 140.0, 259.5, 70.0, 37.0),
    ("a4-14", 2, 4.65 + 101.6, 15.15, 99.1, 38.1),
    ("a4-tags", 8, 110.0, 10.0 + 3 * 71 , 90.0, 64.0),
    ("roll-90", 1, 0.0, 0.0, 90.0, 38.0),
]  # fmt: skip


@pytest.mark.parametrize(("name", "place", "left", "top", "width", "height"), PLACES)
def test_the_outline_lies_within_a_fifth_of_a_millimetre(
    name: str, place: int, left: float, top: float, width: float, height: float,
    grid: Callable[[str], LabelGrid],
) -> None:  # fmt: skip
    done = print_labels([BLANK], grid(name), "test", proof=True)
    frames = seen.frames_of(done.pdf)
    assert len(frames) == grid(name).per_page
    got = frames[place - 1]
    assert (got.x, got.y, got.width, got.height) == pytest.approx(
        (left, top, width, height), abs=0.2
    )


@pytest.mark.parametrize("name", shipped.sheets())
def test_every_outline_of_every_sheet_is_where_its_measures_say(
    name: str, grid: Callable[[str], LabelGrid]
) -> None:
    """Within 0.2 mm, by what the sheet's file says; without a margin they stand in the middle."""
    sheet = shipped.sheets()[name]
    wide, high = mm(sheet.label_width), mm(sheet.label_height)
    across, down = mm(sheet.across) or wide, mm(sheet.down) or high
    left = (mm(sheet.page_width) - (sheet.columns - 1) * across - wide) / 2
    top = (mm(sheet.page_height) - (sheet.rows - 1) * down - high) / 2
    left, top = mm(sheet.left) if sheet.left else left, mm(sheet.top) if sheet.top else top
    frames = seen.frames_of(print_labels([BLANK], grid(name), "test", proof=True).pdf)
    places = [(row, column) for row in range(sheet.rows) for column in range(sheet.columns)]
    for (row, column), found in zip(places, frames, strict=True):
        assert (found.x, found.y, found.width, found.height) == pytest.approx(
            (left + column * across, top + row * down, wide, high), abs=0.2
        )


def mm(length: Length | None) -> float:
    return length.mm if length else 0


@pytest.mark.parametrize("name", ["letter-10", "a4-24"])
def test_the_outline_is_where_a_picture_shows_it(
    name: str, grid: Callable[[str], LabelGrid]
) -> None:
    """At 600 dpi a dot is 0.04 mm: the first dark dots of a row and a column of the picture."""
    done = print_labels([BLANK], grid(name), "test", start=2, proof=True)
    image = seen.picture(done.pdf, dpi=600)
    box = grid(name).labels[1]
    dot = 25.4 / 600
    row = [image.getpixel((x, round((box.y + box.height / 2) / dot))) for x in range(image.width)]
    near = range(round((box.x - 1) / dot), round((box.x + 1) / dot))
    dark = [x for x in near if row[x] < 128]
    assert sum(dark) / len(dark) * dot == pytest.approx(box.x, abs=0.2)


@pytest.mark.parametrize("name", shipped.sheets())
def test_every_shipped_sheet_can_be(name: str, grid: Callable[[str], LabelGrid]) -> None:
    made = grid(name)
    sheet = shipped.sheets()[name]
    assert made.per_page == sheet.columns * sheet.rows
    assert made.name == name
    for n, box in enumerate(made.labels):
        assert box.x >= -0.05
        assert box.right <= made.width + 0.05
        for other in made.labels[n + 1 :]:
            apart = other.x >= box.right - 0.06 or other.y >= box.bottom - 0.06
            assert apart or other.right <= box.x + 0.06


@pytest.mark.parametrize("name", shipped.sheets())
def test_cut_marks_are_on_the_page_and_on_no_label(
    name: str, grid: Callable[[str], LabelGrid]
) -> None:
    made = grid(name)
    for mark in cut_marks(made):
        assert isinstance(mark, Line)
        for x, y in ((mark.x1, mark.y1), (mark.x2, mark.y2)):
            assert 0 <= x <= made.width
            assert 0 <= y <= made.height
            assert not any(
                b.x + 0.1 < x < b.right - 0.1 and b.y + 0.1 < y < b.bottom - 0.1
                for b in made.labels
            )
    if name.endswith(("-tags", "-slips")):
        assert len(list(cut_marks(made))) >= made.per_page * 4


SHEET = """
name: mine
page_width: 210 mm
page_height: 297 mm
columns: 2
rows: 4
label_width: 90 mm
label_height: 60 mm
"""

IMPOSSIBLE = [
    ({"columns": "4"}, "sheet `mine`: 4 labels reach 285.0 mm on a page 210.0 mm wide"),
    ({"left": "40 mm"}, "sheet `mine`: 2 labels reach 220.0 mm on a page 210.0 mm wide"),
    (
        {"across": "80 mm"},
        "sheet `mine`: labels 90 mm wide overlap where the next begins after 80 mm",
    ),
    ({"down": "5 mm"}, "sheet `mine`: labels 60 mm high overlap where the next begins after 5 mm"),
    ({"rows": "0"}, "sheet `mine`: 2 columns and 0 rows are no labels"),
    ({"label_width": "4 mm"}, "sheet `mine`: labels 4 mm wide are too small to print on"),
    ({"edge": "30 mm"}, "sheet `mine`: an edge of 30 mm leaves no label"),
    ({"page_height": "297 m"}, "sheet `mine`: a page of 210 x 297000 mm is no page"),
]


@pytest.mark.parametrize(("changes", "line"), IMPOSSIBLE)
def test_a_sheet_that_cannot_be_is_one_line(changes: dict[str, str], line: str) -> None:
    sheet = books.typed(Sheet, books.with_lines(SHEET, **changes))
    with pytest.raises(PaperError) as told:
        grid_of(sheet)
    assert str(told.value) == line


def test_a_sheet_without_margins_stands_in_the_middle() -> None:
    made = grid_of(books.typed(Sheet, SHEET))
    assert [(b.x, b.y) for b in made.labels[:3]] == [(15.0, 28.5), (105.0, 28.5), (15.0, 88.5)]


@pytest.mark.parametrize("start", [0, 9, -1])
def test_a_place_that_the_sheet_lacks(start: int, grid: Callable[[str], LabelGrid]) -> None:
    with pytest.raises(PaperError, match=f"sheet `a4-8` has no place {start}") as told:
        print_labels([BLANK], grid("a4-8"), "test", start=start)
    assert told.value.mend == "its places are 1 to 8"
