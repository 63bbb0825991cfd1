"""Bytes into text: what may not stand in a ledger, and where it is told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.text import (
    BOM,
    LINE_LIMIT,
    LOG_LIMIT,
    RECORD_LIMIT,
    character_faults,
    read_text,
)

CONFLICT = """\
serial: K118204
<<<<<<< HEAD
status: held
||||||| 1a2b3c4
status: in-service
=======
status: out
>>>>>>> rental
"""


def told(findings: object) -> list[str]:
    return [str(finding) for finding in findings]  # type: ignore[attr-defined]


@given(st.binary() | st.text().map(str.encode))
def test_text_encodes_back_to_the_bytes_or_is_not_given(data: bytes) -> None:
    text, findings = read_text(data, "a.yaml")
    assert (text is None) == bool(findings)
    assert text is None or text.encode() == data


def test_byte_order_mark_is_remembered() -> None:
    assert read_text(b"\xef\xbb\xbfserial: K1\n", "a.yaml") == (BOM + "serial: K1\n", [])


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (
            b"maker: Caf\xe9\n",
            "a.yaml:1:11: byte 0xE9 is not UTF-8 text; save the file as UTF-8",
        ),
        (
            "serial: K1\nmaker: é".encode() + b"\xff\n",
            "a.yaml:2:9: byte 0xFF is not UTF-8 text; save the file as UTF-8",
        ),
        (b"\xef\xbb\xbf\xff", "a.yaml:1:1: byte 0xFF is not UTF-8 text; save the file as UTF-8"),
        (b"a: \xed\xa0\x80", "a.yaml:1:4: byte 0xED is not UTF-8 text; save the file as UTF-8"),
        (
            "serial: K1".encode("utf-16"),
            "a.yaml:1:1: the file is UTF-16 or UTF-32 text; save it as UTF-8",
        ),
    ],
)
def test_undecodable_bytes(data: bytes, line: str) -> None:
    text, findings = read_text(data, "a.yaml")
    assert text is None
    assert told(findings)[0] == line


def test_every_undecodable_place_is_told() -> None:
    _, findings = read_text(b"a: \xff\nb: c\n\xfe", "a.yaml")
    assert [(f.where.line, f.where.column) for f in findings] == [(1, 4), (3, 1)]


def test_a_flood_of_faults_is_cut_short() -> None:
    _, findings = read_text(b"\xff" * 1000, "a.yaml")
    assert len(findings) == 21
    assert told(findings)[-1] == (
        "a.yaml: there are more than 20 such faults; mend these and look again"
    )


def lines_of(size: int) -> bytes:
    """Lines that come to so many bytes."""
    return (b"#" * 1023 + b"\n") * (size // 1024)


@pytest.mark.parametrize(("path", "limit"), [("a.yaml", RECORD_LIMIT), ("a.csv", LOG_LIMIT)])
def test_size_limit(path: str, limit: int) -> None:
    assert read_text(lines_of(limit), path)[1] == []
    text, findings = read_text(b"#" * (limit + 1), path)
    assert text is None
    assert f"more than the {limit:,} allowed" in findings[0].text


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (b"#" * LINE_LIMIT + b"\n", 0),
        (b"#" * LINE_LIMIT, 0),
        (b"#" * (LINE_LIMIT + 1), 1),
        (b"a\n" * 40_000 + b"#" * (LINE_LIMIT + 1) + b"\n", 40_001),
        (b"#" * (48 << 20), 1),
    ],
)
def test_a_line_of_a_csv_file_has_a_limit(data: bytes, line: int) -> None:
    """The whole of one line would be taken apart before anything could be said of it."""
    text, findings = read_text(data, "a.csv")
    assert [f.where.line for f in findings] == ([line] if line else [])
    assert (text is None) == bool(line)
    assert not line or "the line has more than the 65,536 bytes allowed" in findings[0].text


@pytest.mark.parametrize(
    ("character", "name"),
    [
        ("\0", "a NUL byte"),
        ("\r", "a carriage return without its line feed"),
        ("\x1b", "the character U+001B"),
        ("\x7f", "the character U+007F"),
        ("\x85", "the character U+0085"),
        ("\u2028", "the character U+2028"),
        ("\u2029", "the character U+2029"),
        ("\u202e", "the character U+202E"),
        ("\u2066", "the character U+2066"),
        ("\u200b", "the character U+200B"),
        ("\u2060", "the character U+2060"),
        ("\xad", "the character U+00AD"),
        (BOM, "a stray BOM"),
        ("\ud800", "the character U+D800"),
        ("\uffff", "the character U+FFFF"),
    ],
)
def test_forbidden_characters(character: str, name: str) -> None:
    (finding,) = character_faults(f"a: b\nc: d{character}e\n", "a.yaml")
    assert str(finding).startswith(f"a.yaml:2:5: {name} may not stand in a ledger; ")


@pytest.mark.parametrize("character", ["é", "°", "\xa0", "\u200f", "漢", "😀", "\t", "\r\n"])
def test_allowed_characters(character: str) -> None:
    assert character_faults(f"a: b{character}\n", "a.yaml") == []


def test_each_conflict_marker_is_told_with_its_line() -> None:
    findings = character_faults(CONFLICT, "cylinders/RB-014.yaml")
    assert [f.where.line for f in findings] == [2, 4, 6, 8]
    assert str(findings[0]) == (
        "cylinders/RB-014.yaml:2:1: a merge conflict is not settled here (<<<<<<<); "
        "keep the lines that are true and delete the markers"
    )


@pytest.mark.parametrize("line", ["========", "a =======", " <<<<<<< x", "# ======="])
def test_what_only_resembles_a_conflict_marker(line: str) -> None:
    assert character_faults(f"{line}\n", "a.yaml") == []
