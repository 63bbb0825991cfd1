"""A run of labels over pages: which place each takes, and the file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from msgspec import Struct

from tankbook.output.drawing import Box, Item, Text, frame, moved
from tankbook.output.page import counted
from tankbook.output.paper.face import PaperError
from tankbook.output.paper.flow import SMALLEST, laid_out
from tankbook.output.paper.grid import LabelGrid, cut_marks
from tankbook.output.paper.labels import Label
from tankbook.output.paper.pen import Pen
from tankbook.records.words import LabelKind

Progress = Callable[[int, int], None]


class LabelPlace(Struct, frozen=True):
    """Where a label was printed: page and place on it, both counted from 1."""

    id: str
    kind: LabelKind
    page: int
    place: int


class Printed(Struct, frozen=True):
    """A finished run. `next_place` is the first place left on its last page, None when full."""

    pdf: bytes
    sheet: str
    pages: int
    places: tuple[LabelPlace, ...]
    next_place: int | None


def print_labels(
    labels: Sequence[Label],
    grid: LabelGrid,
    title: str,
    *,
    start: int = 1,
    cuts: bool = False,
    proof: bool = False,
    progress: Progress | None = None,
) -> Printed:
    """Print labels in order, from a place on the first page on.

    Args:
        labels: what to print, at least one.
        grid: the sheet.
        title: the title of the file.
        start: the first place used, from 1: a sheet that was begun can be used up.
        cuts: draw marks to cut along.
        proof: outline and number every place of the sheet, used or not.
        progress: called with how many labels are done, and of how many.

    Raises:
        PaperError: there is no such place, or a label does not fit.
    """
    if not 1 <= start <= grid.per_page:
        raise PaperError(
            f"sheet `{grid.name}` has no place {start}",
            f"its places are 1 to {grid.per_page}",
        )
    pen = Pen(title)
    places: list[LabelPlace] = []
    at = start - 1
    for done, label in enumerate(labels, 1):
        for marks in _parts(label, grid.label.inside(grid.edge)):
            place = at % grid.per_page
            if place == 0 or not places:
                _begin_page(pen, grid, cuts=cuts, proof=proof)
            # a label is laid out on the first place of the sheet and moved to its own
            to = grid.labels[place]
            right, down = to.x - grid.label.x, to.y - grid.label.y
            pen.draw(*(moved(mark, right, down) for mark in marks))
            places.append(LabelPlace(label.id, label.kind, pen.pages, place + 1))
            at += 1
        if progress is not None:
            progress(done, len(labels))
    left = at % grid.per_page
    return Printed(pen.done(), grid.name, pen.pages, tuple(places), left + 1 if left else None)


def _parts(label: Label, box: Box) -> Iterator[tuple[Item, ...]]:
    """The label on one place, or on as few as hold the whole of it."""
    for parts in range(1, max(len(label.body), 1) + 1):
        try:
            found = [laid_out(label.content(n + 1, parts), box) for n in range(parts)]
        except PaperError:
            if label.kind is not LabelKind.DO_NOT_FILL or parts == max(len(label.body), 1):
                raise
        else:
            yield from found
            return


def _begin_page(pen: Pen, grid: LabelGrid, *, cuts: bool, proof: bool) -> None:
    pen.page(grid.width, grid.height)
    pen.draw(*(cut_marks(grid) if cuts else ()))
    if proof:
        for number, box in enumerate(grid.labels, 1):
            pen.draw(frame(box, 0.3), Text(box.x + 0.6, box.bottom - 0.6, str(number), SMALLEST))


def data(
    printed: Printed | None,
    path: str,
    reasons: Sequence[str] = (),
    left: Sequence[str] = (),
    entered: Sequence[str] = (),
) -> dict[str, Any]:
    """The JSON shape of printed labels, or of why there are none; all keys are always there."""
    return {
        "pdf": path if printed else None,
        "sheet": printed.sheet if printed else None,
        "pages": printed.pages if printed else 0,
        "labels": [
            {"id": p.id, "kind": p.kind, "page": p.page, "place": p.place}
            for p in (printed.places if printed else ())
        ],
        "next_place": printed.next_place if printed else None,
        "refused": list(reasons),
        "not_printed": list(left),
        "entered": list(entered),
    }


def text(printed: Printed, path: str) -> str:
    """What was printed where, and how to print it."""
    count = counted(len(printed.places), "label")
    lines = [f"{count} on {counted(printed.pages, 'page')} of {printed.sheet}: {path}"]
    if printed.next_place is not None:
        page = "this page" if printed.pages == 1 else "the last page"
        lines.append(f"The next free place on {page} is {printed.next_place}.")
    lines.append("Print at actual size (100 %, not fitted to the page).")
    return "\n".join(lines) + "\n"
