"""A whole ledger as workbook, CSV or JSON, and back: nothing is lost, and nothing is passed off."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from pathlib import Path

import books
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import OnDisk
from tankbook.ledger.taken_out import (
    EXPORT,
    LONGEST,
    OutTable,
    cell,
    collect,
    files_of,
    tables_in,
    tables_of,
    written,
)
from tankbook.records.log import LogLine, columns

try:
    import openpyxl  # noqa: F401

    ENDINGS = [".json", ".csv", ".xlsx"]
except ImportError:
    ENDINGS = [".json", ".csv"]
ROOT = Path(__file__).parents[2]
HEADER = ",".join(columns(LogLine))
CARD = books.GOOD.lstrip()
SMALL = {
    "tankbook.yaml": books.SETTINGS.encode(),
    "cylinders/RB-014.yaml": (CARD + '# a remark\nnote: "=1+1 | it\'s"\n').encode(),
    "fills/2026.csv": f'{HEADER}\n2026-11-20T09:30:00+01:00,RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,B1,,,,"a ""b"", c"\n'.encode(),
}


def out(files: Mapping[str, bytes], ending: str) -> bytes:
    return written(tables_of(files, [("ledger", "Quay")]), ending, f"x{ending}")


def back(data: bytes, ending: str) -> dict[str, bytes]:
    return files_of(tables_in(data, f"x{ending}"), f"x{ending}")


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_example_ledger_comes_back_byte_by_byte(ending: str) -> None:
    files = collect(OnDisk(ROOT / "example_ledger"), contacts=True)
    assert len(files) > 50
    assert back(out(files, ending), ending) == files


LINE = st.one_of(
    st.text(max_size=30),
    st.sampled_from(["=1+1", "'=1+1", "+1", "-1", "@x", "|", "'", "#N/A", "TRUE", "0012", "1e3", " x ", "_x0041_", "\t", "\ufeff", "a\u2028b", "x" * (LONGEST + 5), "é" * 9, "\x0b", "base64"]),
)  # fmt: skip
DATA = st.one_of(
    st.lists(LINE, max_size=5).map(lambda lines: "\n".join(lines).encode("utf-8", "surrogatepass")),
    st.lists(LINE, max_size=5).map(
        lambda lines: ("\r\n".join(lines) + "\r\n").encode("utf-8", "surrogatepass")
    ),
    st.binary(max_size=40),
)
VALUE = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Co", "Cn", "Zl", "Zp", "Cf")),
    min_size=1,
    max_size=20,
).map(lambda t: '"' + t.replace("\\", "\\\\").replace('"', '\\"') + '"')
CARDS = st.dictionaries(
    st.from_regex(r"[A-Z]{2}-[0-9]{3}", fullmatch=True).map(lambda i: f"cylinders/{i}.yaml"),
    st.tuples(VALUE, VALUE, st.integers(0, 3)).map(
        lambda v: (CARD + f"note: {v[0]}\nheld:\n" + f"  - {{on: 2026-01-02, by: MV, why: {v[1]}}}\n" * v[2]).encode()
    ),
    max_size=3,
)  # fmt: skip
LEDGERS = st.builds(
    lambda cards, log, more: {**SMALL, **cards, "fills/2025.csv": log, **more},
    CARDS,
    DATA,
    st.dictionaries(
        st.sampled_from(
            ["station.yaml", "sets/DB-01.yaml", "notes.txt", ".gitignore", "papers/a b.pdf"]
        ),
        DATA,
    ),
)


@given(LEDGERS, st.sampled_from(ENDINGS))
def test_whatever_a_ledger_holds_comes_back_byte_by_byte(
    files: dict[str, bytes], ending: str
) -> None:
    assert back(out(files, ending), ending) == files


@given(LEDGERS)
def test_no_cell_of_any_table_is_a_formula(files: dict[str, bytes]) -> None:
    for table in tables_of(files, [("ledger", "=HYPERLINK(0)")]):
        for row in table.rows:
            assert not any(each.lstrip(" \u00a0").startswith(("=", "+", "-", "@")) for each in row)


def test_what_people_read_is_there() -> None:
    tables = {t.name: t for t in tables_of(SMALL, ())}
    cards = dict(zip(tables["cylinders"].heads, tables["cylinders"].rows[0], strict=True))
    assert cards["id"] == "RB-014"
    assert cards["specification"] == "DOT-3AL, TC-3ALM"
    assert cards["valve.rating"] == "3442 psi"
    assert cards["note"] == "'=1+1 | it's"
    assert tables["inspected"].rows[0][:3] == ("RB-014", "1", "2026-02-09")
    assert tables["fills"].rows[0][:4] == (
        "fills/2026.csv",
        "2",
        "2026-11-20T09:30:00+01:00",
        "RB-014",
    )
    assert ("tankbook.yaml", "units", "psi") in tables["others"].rows


def changed(old: str, new: str) -> bytes:
    data = out(SMALL, ".json").decode()
    assert old in data
    return data.replace(old, new, 1).encode()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"service_pressure": "3000 psi"', '"service_pressure": "3300 psi"', "its table cylinders was changed: RB-014"),
        ("|service_pressure: 3000 psi", "|service_pressure: 3300 psi", "cylinders/RB-014.yaml is not as it was written"),
        ("|service_pressure", "service_pressure", "line 4 of cylinders/RB-014.yaml: it is not as it was written"),
        ('"result": "pass"', '"result": "hold"', "its table inspected was changed: RB-014 1"),
        (EXPORT, "tankbook export 9", "it is no export that is known here (tankbook export 9)"),
        ('"fills": [', '"spills": [', "its table spills was changed"),
        ('"sums": [', '"sum": [', "it is no export that is known here"),
        ("cylinders/RB-014.yaml", "../RB-014.yaml", "is no file of a ledger"),
    ],
)  # fmt: skip
def test_what_was_changed_is_not_taken_for_the_ledger(old: str, new: str, said: str) -> None:
    data = (
        changed(old, new)
        if "../" not in new
        else out(SMALL, ".json").replace(old.encode(), new.encode())
    )
    with pytest.raises(LedgerError) as error:
        back(data, ".json")
    assert said in str(error.value)


@pytest.mark.parametrize(
    "path",
    [
        "/etc/passwd",
        "../x",
        "a/../../x",
        ".git/hooks/pre-commit",
        "cylinders/.x",
        "a\\b",
        "c:x",
        "a//b",
        "",
        "a/b.",
        "a\nb",
    ],
)
def test_a_path_that_leads_elsewhere_is_refused(path: str) -> None:
    tables = tables_of({**SMALL, path: b"x\n"}, ())
    with pytest.raises(LedgerError, match="is no file of a ledger"):
        files_of(tables, "x.json")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{}",
        b"[]",
        b"{",
        b'{"a": 1}',
        b'{"a": [1]}',
        b'{"files": [{"file": {}}]}',
        b"table,row\n",
        b"a,b\n",
        b"\xff\xfe\x00",
        b'"table","row","column","value"\n"x"\n',
        b"{" * 100_000,
    ],
)
def test_what_is_no_export_is_refused_in_a_line(data: bytes) -> None:
    with pytest.raises(LedgerError):
        files_of(tables_in(data, "x"), "x")


def test_a_csv_that_a_spreadsheet_saved_again_comes_back() -> None:
    """With semicolons, and in another encoding."""
    read = list(csv.reader(io.StringIO(out(SMALL, ".csv").decode("utf-8-sig"), newline="")))
    again = io.StringIO()
    csv.writer(again, delimiter=";", quoting=csv.QUOTE_MINIMAL).writerows(read)
    assert back(again.getvalue().encode("utf-16"), ".csv") == SMALL


def test_names_and_numbers_stay_at_home(tmp_path: Path) -> None:
    (tmp_path / "tankbook.yaml").write_text(books.SETTINGS)
    (tmp_path / "contacts.csv").write_text("reference,name,phone\nC-1,Ann Example,555\n")
    (tmp_path / ".git").mkdir()
    (tmp_path / ".git/config").write_text("x")
    assert set(collect(OnDisk(tmp_path), contacts=False)) == {"tankbook.yaml"}
    assert set(collect(OnDisk(tmp_path), contacts=True)) == {"tankbook.yaml", "contacts.csv"}


def test_a_link_is_not_followed_out_of_the_ledger(tmp_path: Path) -> None:
    (tmp_path / "tankbook.yaml").symlink_to("/etc/passwd")
    with pytest.raises(LedgerError):
        collect(OnDisk(tmp_path), contacts=False)


def test_json_is_json_and_every_value_a_text() -> None:
    read = json.loads(out(SMALL, ".json"))
    assert all(isinstance(v, str) for rows in read.values() for row in rows for v in row.values())


def test_a_cell_is_one_line_that_every_program_can_hold() -> None:
    assert cell("a\nb\tc\x00d_x0041_e") == "a b c d e"
    assert len(cell("x" * 99_999)) == LONGEST
    assert OutTable("a", ("b",), (("c",),)).rows == (("c",),)
