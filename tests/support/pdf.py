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
