"""What would steer a terminal is written out; what people write is left alone."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.output.screen import one_line, safe

STEERING = [
    *map(chr, (0, 7, 8, 11, 12, 27, 31, 0x7F, 0x80, 0x85, 0x9B, 0x9F, 0xAD)),
    "\u061c", "\u200b", "\u200e", "\u200f", "\u2028", "\u2029", "\u202a", "\u202e", "\u2060",
    "\u2066", "\u2069", "\ufff9", "\U000e0041", "x\ufeff", "a\rb",
]  # fmt: skip


@pytest.mark.parametrize("text", STEERING)
def test_what_steers_is_written_out(text: str) -> None:
    assert safe(f"a{text}b").isprintable()
    assert "\\u" in safe(f"a{text}b")


@pytest.mark.parametrize(
    "text",
    ["", "bosse près du pied\n", "14\u202f°C\u00a0\t3000 psi", "\ufeffid\r\nRB-014\r\n", "水 Ω\n"],
)
def test_what_people_write_stays(text: str) -> None:
    assert safe(text) == text


@given(st.text())
def test_json_stays_what_it_was(text: str) -> None:
    assert json.loads(safe(json.dumps([text], ensure_ascii=False))) == [text]


@given(st.text())
def test_a_line_is_one(text: str) -> None:
    assert len(one_line(text).splitlines()) <= 1
