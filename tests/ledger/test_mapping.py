"""The mapping file of an import: what is asked in it, and the place of whatever is wrong."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from clubs import CLUB, guessed, mapping, read

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.mapping import mapping_of, write_mapping
from tankbook.output.mapping_file import questions, text

SHORT = """\
headings: 1
columns:
  - {column: A, key: serial}
  - {column: B, heading: Hydro, key: hydro, is: last}
"""


def faults(said: str) -> list[str]:
    found, findings = mapping_of(said, "m.yaml")
    assert (found is None) == bool(findings)
    return [str(f) for f in findings]


def test_what_is_written_for_a_table_is_read_again_once_it_is_answered() -> None:
    found, findings = mapping_of(mapping(CLUB), "m.yaml")
    assert findings == []
    assert found is not None
    assert [c.column for c in found.columns] == list("ABCDEFGHIJK")


def test_every_question_is_a_question_mark_in_the_file() -> None:
    tab, found = read(CLUB), guessed(CLUB)
    said = text(tab, found)
    asked = [line for line in said.splitlines() if re.search(r": \?(\s|$)", line)]
    assert len(asked) == len(faults(said)) == 6
    assert len(questions(found)) == 5  # the two names are asked for in one


def test_a_question_mark_is_told_with_its_place_and_its_column() -> None:
    assert faults(SHORT.replace("last", "?")) == [
        "m.yaml:4:49: column B (Hydro): `is` is not answered; look at a cylinder whose stamp you "
        "know: write `last` where its dates say when it was tested, `next` with `period:` where "
        "they say when it is due"
    ]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("key: serial", "key: ?", "m.yaml:3:22: column A: `key` is not answered"),
        ("is: last", "is: lats", "m.yaml:4:49: columns[2].is: `lats` is not a known word; did you mean `last`?"),
        ("is: last", "si: last", "m.yaml:4:45: `columns[2].si` is not a key of this record"),
        ("column: A, ", "", "m.yaml:3:5: columns[1].column is missing; add `column: D`"),
        ("headings: 1\n", "", "m.yaml:1:1: headings is missing"),
        ("headings: 1", "heading: 1", "m.yaml:1:1: `heading` is not a key of this record; did you mean `headings`?"),
        ("is: last", "is: next, period: 5 yars", "columns[2].period: '5 yars' is not a period"),
        ("is: last", 'is: last, values: {"a": ?, "b": ?}', "column B (Hydro): `a` is not answered"),
        ("key: serial}", "key: serial", "m.yaml:3:5: the bracket here is not closed"),
    ],
)  # fmt: skip
def test_what_is_wrong_has_its_place(old: str, new: str, said: str) -> None:
    assert any(said in each for each in faults(SHORT.replace(old, new))), faults(
        SHORT.replace(old, new)
    )


@pytest.mark.parametrize(
    "words", ["a ?", '"who?": M-01', "'x: ?': M-01", '"x: ?, y": M-01', "b # c: ?"]
)
def test_a_question_mark_within_a_text_stays_what_it_is(words: str) -> None:
    said = (
        SHORT.replace("is: last", "is: last, otherwise: remark")
        + "gone:\n  "
        + (f"{words}\n" if ":" in words and "#" not in words else f'"{words}": hold\n')
    )
    found, findings = mapping_of(said.replace("M-01", "hold"), "m.yaml")
    assert findings == []
    assert found is not None
    assert [k.count("?") for k in found.gone] == [1]


def test_a_mapping_is_called_so_that_it_is_known_for_one(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match=r"ends in `.yaml`; name club.yaml"):
        write_mapping(tmp_path / "club.csv", SHORT)
    write_mapping(tmp_path / "club.yaml", SHORT)
    assert (tmp_path / "club.yaml").read_text() == SHORT
