"""The words for findings in what somebody wrote, by the shipped table and by law."""

from __future__ import annotations

import pytest
from books import GOOD, make_book, with_lines
from hypothesis import given
from hypothesis import strategies as st

from tankbook.records.finding import FindingRow
from tankbook.records.words import Material, Seen
from tankbook.rules.seen import rows_for, seen_in


def rows_of(material: str) -> tuple[FindingRow, ...]:
    book = make_book({"A": with_lines(GOOD, material=material)})
    return rows_for(book, book.cylinders["A"])


ROWS = rows_of("aluminium")


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        (None, []),
        ("", []),
        ("scuffed, as new, boot off", []),
        ("hairline crack near the foot", [Seen.SUSPECTED_CRACK, Seen.CRACK]),
        ("CRACKED at the crown", [Seen.SUSPECTED_CRACK, Seen.CRACK]),
        ("no crack, without a dent, free of corrosion, no sign of fire", []),
        ("no hairline crack", []),
        ("no dent, one gouge", [Seen.GOUGE]),
        ("not tested for cracks", [Seen.SUSPECTED_CRACK, Seen.CRACK]),
        ("rusty line, two pits", [Seen.LINE_CORROSION, Seen.PITS]),
        ("salt water came out", [Seen.SALT_WATER]),
        ("boot melted and charred", [Seen.HEAT]),
        ("accident", []),
        ("worn thread", [Seen.THREAD]),
    ],
)
def test_what_a_note_names(text: str | None, kinds: list[Seen]) -> None:
    found = seen_in(text, ROWS)
    assert {k for each in found.values() for k in each} == set(kinds)


def test_what_need_not_be_told_apart_is_left_out() -> None:
    assert seen_in("worn thread, a dent", ROWS, {Seen.THREAD}) == {"dent": (Seen.DENT,)}


def test_each_material_has_its_own_findings() -> None:
    rows = rows_of("steel")
    assert {r.what for r in rows} == {r.what for r in ROWS}
    assert not any(Material.ALUMINIUM in r.material for r in rows)


WORDS = sorted({w for row in ROWS for w in row.words})


@given(
    st.sampled_from(WORDS),
    st.sampled_from(["", "a ", "old ", "deep "]),
    st.text(" .,;", max_size=3),
)
def test_each_word_of_the_table_is_seen_alone_and_not_when_it_is_denied(
    word: str, before: str, after: str
) -> None:
    found = seen_in(f"{before}{word}{after}", ROWS)
    assert {w for row in ROWS for w in row.words if row.what in _kinds(found)} >= {word}
    first = word.split()[0]
    assert first not in " ".join(seen_in(f"no {word}", ROWS))


def _kinds(found: dict[str, tuple[Seen, ...]]) -> set[Seen]:
    return {k for each in found.values() for k in each}
