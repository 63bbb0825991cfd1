"""The sheet of labels: where each label lies on the page, as measured."""

from __future__ import annotations

from typing import ClassVar

from tankbook.records.fields import COUNT, TEXT, ListOf, Nested, Record, key
from tankbook.records.kinds import ID, LENGTH
from tankbook.units import Length


class Sheet(Record, frozen=True, kw_only=True):
    """A page of labels in even columns and rows; a roll of single labels is a page of one.

    Without `left` or `top` the labels stand in the middle of the page; without `across` or `down`
    they touch.
    """

    title: ClassVar[str] = "label sheet"
    id: str = ""
    name: str | None = key(ID, "Its name, where no file's name says it.", "letter-10")
    about: str | None = key(TEXT, "What it is.", "2 x 5 labels of 4 x 2 in")
    page_width: Length = key(LENGTH, "Width of the page.", "210 mm", required=True)
    page_height: Length = key(LENGTH, "Height of the page.", "297 mm", required=True)
    columns: int = key(COUNT, "Labels side by side.", "2", required=True)
    rows: int = key(COUNT, "Labels one below the other.", "4", required=True)
    label_width: Length = key(LENGTH, "Width of a label.", "99.1 mm", required=True)
    label_height: Length = key(LENGTH, "Height of a label.", "67.7 mm", required=True)
    left: Length | None = key(LENGTH, "From the page's left edge to the first label.", "4.7 mm")
    top: Length | None = key(LENGTH, "From the page's top edge to the first label.", "13.1 mm")
    across: Length | None = key(LENGTH, "From a label's left edge to the next one's.", "101.6 mm")
    down: Length | None = key(LENGTH, "From a label's top edge to the next one's.", "67.7 mm")
    edge: Length | None = key(LENGTH, "Kept blank inside each label; 2 mm unless said.", "2 mm")


class SheetTable(Record, frozen=True, kw_only=True):
    """The shipped sheets."""

    title: ClassVar[str] = "label sheets"
    sheets: tuple[Sheet, ...] = key(ListOf(Nested(Sheet)), "The sheets.", "[...]", required=True)
