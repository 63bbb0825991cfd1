"""Looking at a PDF with a reader that had no part in making it (PDFium), in mm."""

from __future__ import annotations

import ctypes
import math
from dataclasses import dataclass
from typing import Any

import pypdfium2
import pypdfium2.raw as raw
import zxingcpp

MM = 25.4 / 72


@dataclass(frozen=True)
class Found:
    """A rectangle as drawn: its corner from the top left of the page."""

    x: float
    y: float
    width: float
    height: float


def opened(pdf: bytes) -> Any:
    return pypdfium2.PdfDocument(pdf)


def text_of(pdf: bytes) -> str:
    """The text of each page, lines as they stand."""
    pages = [page.get_textpage().get_text_range() for page in opened(pdf)]
    return "\n\f\n".join(page.replace("\r\n", "\n").rstrip() for page in pages)


def picture(pdf: bytes, page: int = 0, dpi: float = 200) -> Any:
    return opened(pdf)[page].render(scale=dpi / 72).to_pil().convert("L")


def codes_of(pdf: bytes, page: int = 0, dpi: float = 200) -> list[str]:
    """What a decoder reads on a page, at print size."""
    found = zxingcpp.read_barcodes(picture(pdf, page, dpi))
    return sorted(code.text for code in found)


def frames_of(pdf: bytes, page: int = 0) -> list[Found]:
    """Every stroked rectangle of a page, its line taken off."""
    sheet = opened(pdf)[page]
    height = sheet.get_height()
    found = []
    for each in sheet.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        if raw.FPDFPath_CountSegments(each.raw) not in (4, 5):
            continue
        left, bottom, right, top = each.get_bounds()
        line = ctypes.c_float()
        raw.FPDFPageObj_GetStrokeWidth(each.raw, line)
        left, bottom, right, top = (
            left + line.value,
            bottom + line.value,
            right - line.value,
            top - line.value,
        )
        found.append(
            Found(left * MM, (height - top) * MM, (right - left) * MM, (top - bottom) * MM)
        )
    return found


def fonts_of(pdf: bytes) -> dict[str, bool]:
    """The faces used, and whether each is embedded."""
    found = {}
    for page in opened(pdf):
        for each in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            font = raw.FPDFTextObj_GetFont(each.raw)
            size = raw.FPDFFont_GetBaseFontName(font, None, 0)
            name = ctypes.create_string_buffer(size)
            raw.FPDFFont_GetBaseFontName(font, name, size)
            found[name.value.decode().split("+")[-1]] = raw.FPDFFont_GetIsEmbedded(font) == 1
    return found


def sizes_of(pdf: bytes) -> dict[float, str]:
    """The sizes of type [pt] as they come out on paper, each with a text that is set in it."""
    found: dict[float, str] = {}
    for page in opened(pdf):
        texts = page.get_textpage()
        for each in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            size, length = ctypes.c_float(), raw.FPDFTextObj_GetText(each.raw, texts.raw, None, 0)
            raw.FPDFTextObj_GetFontSize(each.raw, size)
            said = ctypes.create_string_buffer(length)
            raw.FPDFTextObj_GetText(
                each.raw, texts.raw, ctypes.cast(said, ctypes.POINTER(ctypes.c_ushort)), length
            )
            matrix = each.get_matrix()
            scale = min(math.hypot(matrix.a, matrix.b), math.hypot(matrix.c, matrix.d))
            text = said.raw.decode("utf-16-le", "replace").rstrip("\0")
            if text.strip():
                found[round(size.value * scale, 2)] = text
    return found


@dataclass(frozen=True)
class Set:
    """A text as it is set: what it says, its size [pt], and the rectangle of its ink."""

    page: int
    text: str
    size: float
    box: Found

    def over(self, other: Set) -> float:
        """How deep [mm] two lie in each other: the smaller of what they share across and down."""
        a, b = self.box, other.box
        across = min(a.x + a.width, b.x + b.width) - max(a.x, b.x)
        down = min(a.y + a.height, b.y + b.height) - max(a.y, b.y)
        return min(across, down)


def texts_of(pdf: bytes) -> list[list[Set]]:
    """Every text of each page that leaves ink."""
    found: list[list[Set]] = []
    for number, page in enumerate(opened(pdf)):
        texts, high = page.get_textpage(), page.get_height()
        mine = []
        for each in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            length = raw.FPDFTextObj_GetText(each.raw, texts.raw, None, 0)
            said = ctypes.create_string_buffer(max(length, 2))
            raw.FPDFTextObj_GetText(
                each.raw, texts.raw, ctypes.cast(said, ctypes.POINTER(ctypes.c_ushort)), length
            )
            text = said.raw.decode("utf-16-le", "replace").rstrip("\0")
            if not text.strip():
                continue
            size, matrix = ctypes.c_float(), each.get_matrix()
            raw.FPDFTextObj_GetFontSize(each.raw, size)
            scale = min(math.hypot(matrix.a, matrix.b), math.hypot(matrix.c, matrix.d))
            left, bottom, right, top = each.get_bounds()
            box = Found(left * MM, (high - top) * MM, (right - left) * MM, (top - bottom) * MM)
            mine.append(Set(number, text, round(size.value * scale, 2), box))
        found.append(mine)
    return found


INK = 0.25
"""How deep [mm] two texts may lie in each other: the tail of one line in the heads of the next."""


def amiss(pdf: bytes, *, smallest: float = 6.0) -> list[str]:
    """What is wrong with a file as it is set: type below the smallest [pt], a text off its page or
    in another."""
    wrong = []
    for page, texts in zip(opened(pdf), texts_of(pdf), strict=True):
        wide, high = page.get_width() * MM, page.get_height() * MM
        before: list[Set] = []
        for each in sorted(texts, key=lambda t: t.box.y):
            box, what = each.box, f"page {each.page + 1}: {each.text[:60]!r}"
            if each.size < smallest:
                wrong.append(f"{what} is set in {each.size} pt")
            if min(box.x, box.y, wide - box.x - box.width, high - box.y - box.height) < 0:
                wrong.append(f"{what} is not all on the page: {box}")
            before = [b for b in before if b.box.y + b.box.height > box.y]
            wrong += [f"{what} lies on {b.text[:60]!r}" for b in before if each.over(b) > INK]
            before.append(each)
    return wrong
