"""Finding a ledger, reading all of it, and naming its cylinders."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

import pytest
from books import GOOD, SETTINGS, STATION, TODAY
from read_whole import read_ledger

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.load import load, resolve
from tankbook.ledger.names import find_root
from tankbook.records.node import Severity
from tankbook.rules.gate import may_fill

HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
LINE = "2026-11-01T10:00:00-05:00,RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,C1,,,,\n"
BOOKED = "date,reference,use,size,gas,count"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    files = {
        "tankbook.yaml": SETTINGS,
        "station.yaml": STATION,
        "cylinders/RB-014.yaml": GOOD,
        "cylinders/RB-114.yaml": GOOD.replace("K118204", "K2"),
        "sets/DB-02.yaml": "cylinders: [RB-014, RB-114]\n",
        "fills/2026.csv": HEADER + LINE,
    }
    for path, text in files.items():
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_text(text.lstrip(), encoding="utf-8")
    return tmp_path


def told(root: Path) -> list[str]:
    return [str(f) for f in read_ledger(root).findings]


def test_a_sound_ledger(root: Path) -> None:
    book = load(root)
    assert not book.findings
    assert (list(book.cylinders), list(book.sets), len(book.log)) == (
        ["RB-014", "RB-114"],
        ["DB-02"],
        1,
    )
    assert [s.id for s in book.rule_sets] == ["us-dot", "bench", "alloys"]
    assert book.cylinders["RB-014"].id == "RB-014"


def test_it_is_found_upward(root: Path) -> None:
    assert find_root(root / "cylinders") == root
    with pytest.raises(LedgerError, match=r"no tankbook\.yaml"):
        find_root(root.parent)


@pytest.mark.parametrize(
    "name",
    ["tankbok.yaml", "Tankbook.yml", "tankbook.yaml.txt", "tank_book.yaml", "tankbook.yamll"],
)
def test_settings_under_nearly_their_name_are_told(root: Path, name: str) -> None:
    (root / "tankbook.yaml").rename(root / name)
    for asked in (lambda: find_root(root / "cylinders"), lambda: read_ledger(root)):
        with pytest.raises(LedgerError, match=r"name that tankbook\.yaml") as told:
            asked()
        assert name in str(told.value)


@pytest.mark.parametrize("name", ["station.yaml", "notes.yaml", "notes.txt"])
def test_another_file_is_not_taken_for_settings(root: Path, name: str) -> None:
    (root / "tankbook.yaml").unlink()
    (root / name).write_text("a: b\n")
    with pytest.raises(LedgerError) as told:
        read_ledger(root)
    assert "make a ledger" in str(told.value)
    assert name not in str(told.value)


def test_a_broken_cylinder_is_left_out_and_told(root: Path) -> None:
    (root / "cylinders/RB-014.yaml").write_text("serial: K1\nuse: rentl\n")
    book = load(root)
    assert "RB-014" not in book.cylinders
    assert [str(f.where) for f in book.broken["RB-014"]] == ["cylinders/RB-014.yaml:2:6"]


@pytest.mark.parametrize(
    ("path", "text", "line"),
    [
        ("cylinders/RB-9.yml", GOOD, "cylinders/RB-9.yml: it is not read: the name does not end in `.yaml`"),
        ("fills/2025.CSV", HEADER, "fills/2025.CSV: it is not read: the name of a year of the log is like"),
        ("cylinders/old/RB-9.yaml", GOOD, "cylinders/old/RB-9.yaml: it is not read: it lies in a folder within cylinders"),
        ("fills/2026 (copy).csv", HEADER + LINE, "fills/2026 (copy).csv: it is a copy of 2026.csv: every line of it would stand twice"),
        ("fills/2026 copy.csv", HEADER + LINE, "fills/2026 copy.csv: it is a copy of 2026.csv"),
        ("fills/2026 (1).csv", HEADER + LINE, "fills/2026 (1).csv: it is a copy of 2026.csv"),
        ("fills/2026 2.csv", HEADER + LINE, "fills/2026 2.csv: it is a copy of 2026.csv"),
        ("cylinders/RB-15.yaml", "serial: K9\nrented:\n", "cylinders/RB-15.yaml:2:1: rented is left empty, which says nothing"),
        ("cylinders/RB-15.yaml", "serial: K9\nsent:\n", "cylinders/RB-15.yaml:2:1: sent is left empty"),
        ("cylinders/RB-15.yaml", "serial: K9\nhanded_over:\n", "cylinders/RB-15.yaml:2:1: handed_over is left empty"),
        ("cylinders/RB-15.yaml", "serial: K9\nrefused: ''\n", "cylinders/RB-15.yaml:2:1: refused is left empty"),
        ("sets/DB-03.yaml", "cylinders: [A, B]\nrented:\n", "sets/DB-03.yaml:2:1: rented is left empty"),
        ("fills/2025/a.csv", HEADER, "fills/2025/a.csv: it is not read: it lies in a folder within fills"),
        ("cylinders/RB-9.yaml/notes.txt", "x", "cylinders/RB-9.yaml: it is a folder, and named as a record is"),
        ("station.yml", STATION, "station.yml: it is a copy of station.yaml, which alone is read"),
        ("Station copy.yaml.txt", STATION, "Station copy.yaml.txt: it is not read under this name"),
        ("sets/D.yaml.txt", "cylinders: [A, B]\n", "sets/D.yaml.txt: it is not read: the name does not end in `.yaml`"),
        ("rules/own.yaml~", "heading: x\n", "rules/own.yaml~: it is not read: the name does not end in `.yaml`"),
        ("Sets/D.yaml", "cylinders: [A, B]\n", "Sets/D.yaml: it is not read: the folder is called sets"),
        ("CYLINDERS/RB-9.yaml", GOOD, "CYLINDERS/RB-9.yaml: it is not read: the folder is called cylinders"),
        ("sets/RB-014.yaml", "cylinders: [RB-014, RB-114]\n", "sets/RB-014.yaml: `RB-014` is a cylinder as well"),
        ("cylinders/RB-15.yaml", "serial: K9\nservice_pressure: 3000 bar\n", "cylinders/RB-15.yaml:2:19: service_pressure: 3000 bar is above 690 bar: check the unit"),
        ("cylinders/rb-014.yaml", GOOD, "cylinders/rb-014.yaml: `rb-014` and `RB-014` differ only in capitals"),
        ("cylinders/RB 15.yaml", GOOD, "cylinders/RB 15.yaml: `RB 15` cannot be an id"),
        ("cylinders/RB-15.yaml", "serial: K9\nlost: [{on: 2026-01-02, found: 0226-02-09}]\n", "cylinders/RB-15.yaml:2:32: lost[1].found: year 226 is outside 1900 to 2200"),
        ("cylinders/RB-15.yaml", "", "cylinders/RB-15.yaml:1:1: cylinder is empty"),
        ("cylinders/RB-15.yaml", "serial: \x00", "cylinders/RB-15.yaml:1:9: "),
        ("fills/2025.csv", HEADER + LINE[:60], "fills/2025.csv:2:"),
        ("fills/2025.csv", HEADER + LINE.replace("fill,", "fil,"), "fills/2025.csv:2:34: act: `fil` is not a known word"),
        ("fills/2025.csv", HEADER + LINE.replace("-05:00", ""), "fills/2025.csv:2:1: at: `2026-11-01T10:00:00` is not"),
        ("bookings.csv", "date,reference\n", "bookings.csv:1:"),
        ("bookings.csv", f"{BOOKED},at\n2026-11-28,B-1,,,,2,9\n", "bookings.csv:2:21: at: `9` is not a time"),
        ("bookings.csv", f"{BOOKED},at\n2026-11-28,B-1,,,,2\n", "bookings.csv:2:"),
        ("bookings.csv", f"{BOOKED}\n2026-11-28,B-1,,,,2,09:00\n", "bookings.csv:2:"),
        ("bookings.csv", f"{BOOKED},on\n", "bookings.csv:1:35: the column 'on' is not known"),
        ("rules/shop.yaml", "heading: x\nrows: [{id: a}]\n", "rules/shop.yaml:2:8: rows[1].obligation is missing"),
        ("checklists/own.yaml", "full: yes\n", "checklists/own.yaml:1:1: steps is missing"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_place(root: Path, path: str, text: str, line: str) -> None:
    (root / path).parent.mkdir(exist_ok=True, parents=True)
    (root / path).write_text(text, encoding="utf-8")
    assert any(found.startswith(line) for found in told(root)), told(root)


@pytest.mark.parametrize(
    "text",
    [
        f"{BOOKED}\n2026-11-28,B-1,rental,al80,air,2\n2026-11-28,B-2,,,,1\n",
        f"\ufeff{BOOKED}\r\n2026-11-28,B-1,rental,al80,air,2\r\n2026-11-28,B-2,,,,1\r\n",
        f"{BOOKED},at\n2026-11-28,B-1,rental,al80,air,2,09:00\n2026-11-28,B-2,,,,1,\n",
    ],
)
def test_bookings_are_read_with_an_hour_and_without(root: Path, text: str) -> None:
    (root / "bookings.csv").write_bytes(text.encode())
    one, other = load(root).bookings
    assert (one.reference, one.count, other.count) == ("B-1", 2, 1)
    assert one.at == (dt.time(9) if ",at" in text else None)
    assert other.at is None


@pytest.mark.parametrize(
    "written",
    [
        "format: 3",
        "format:\n  3",
        "format:\r\n\t 3",
        '"format":\n   "3"',
        "format: >-\n  3",
        "format: |\n\n  3",
        "format: &new 3",
        "format: !!int 3",
        "format: # newer\n  3",
        "format: '3'",
        "# once, format: 2\nformat: 3",
        'format: "\\x33"',
        '"for\\u006dat": 3',
        "? format\n: 3",
        "format: 3\nbroken: [",
    ],
)
def test_a_newer_format_is_not_read_however_it_is_written(root: Path, written: str) -> None:
    (root / "tankbook.yaml").write_text(f"{SETTINGS.lstrip()}{written}\n", newline="")
    with pytest.raises(LedgerError, match="has format 3"):
        read_ledger(root)


@pytest.mark.parametrize(
    "serial",
    ["K118204", "K 118204", "K118 204", "K/118204", "K–118204", "K1182O4", "'K 118-204'",
     ">-\n  K 118204", "K\n  118204", "K,118204", "K#118204", "&a K 118204",
     "Q777\nmarks: DOT-3AL 3000 K 118204 03A24", "Q777\nmarks: DOT-3AL3000-K118204-M1004"],
)  # fmt: skip
def test_a_card_that_cannot_be_read_may_be_of_one_that_is(root: Path, serial: str) -> None:
    (root / "cylinders/RB-015.yaml").write_text(GOOD.replace("K118204", serial) + "foo: bar\n")
    book = read_ledger(root)
    assert "RB-015" in book.broken
    assert "twin-unread" in {r.code for r in may_fill(book, "RB-014", TODAY).refusals}


def test_a_short_serial_is_no_other_word_of_a_card_that_cannot_be_read(root: Path) -> None:
    for number, serial in enumerate(("1", "0001", "2024", "3000", "6061")):
        (root / f"cylinders/SH-{number}.yaml").write_text(GOOD.replace("K118204", f"'{serial}'"))
    (root / "cylinders/RB-015.yaml").write_text(GOOD.replace("K118204", "Q777") + "foo: bar\n")
    book = read_ledger(root)
    codes = {r.code for n in range(5) for r in may_fill(book, f"SH-{n}", TODAY).refusals}
    assert "twin-unread" not in codes


@pytest.mark.parametrize(
    "written",
    [
        "# see, format: 5",
        "note: 'Quay, format: 35 mm'",
        "format: 2 # not 3",
        "# " + "format: #" * 9000,
    ],
)
def test_what_only_looks_like_a_format_is_none(root: Path, written: str) -> None:
    (root / "tankbook.yaml").write_text(f"{SETTINGS.lstrip()}{written}\n", newline="")
    assert read_ledger(root).cylinders


def test_a_copy_of_the_log_is_not_read_beside_it(root: Path) -> None:
    (root / "fills/2026 copy.csv").write_text(HEADER + LINE)
    (root / "fills/2025 copy.csv").write_text(HEADER + LINE.replace("2026-", "2025-"))
    assert len(read_ledger(root).log) == 2  # that of 2025 stands alone


TOLD_AS_COPIES = [
    "RB-014 (copy).yaml", "RB-014 (1).yaml", "RB-014 2.yaml", "RB-014 - Copy.yaml", "Copy of RB-014.yaml",
    "RB-014 (conflicted copy 2026).yaml", "RB-014 (MV's conflicted copy 2026-11-20).yaml", "~$RB-014.yaml",
    "RB-014.YAML", "RB-014.Yaml", "RB-014.yml", "RB-014.YML", "RB-014", "RB-014.BAK", "RB-014.txt",
    "RB-014.yaml_", "RB-014.yaml.sb-1234", "._RB-014.yaml", ".RB-014.yaml", "rb-014.yml",
]  # fmt: skip
LEFT_ALONE = [
    "RB-014.yaml~", "RB-014.yaml.bak", "RB-014.yaml.orig", "RB-014.yaml.rej", "RB-014.yaml.old", "RB-014.yaml.save",
    "RB-014.yaml.tmp", "RB-014.yaml.swp", ".RB-014.yaml.swp", ".RB-014.yaml.swo", ".RB-014.yaml.un~",
    ".RB-014.yaml.kate-swp", ".~lock.RB-014.yaml#", "RB-014.yaml.part",
    "#RB-014.yaml#", "RB-014.yaml.~1~",
]  # fmt: skip
"""What editors keep beside a record, no newer than it."""


@pytest.mark.parametrize("name", TOLD_AS_COPIES)
def test_a_copy_under_a_name_of_its_own_is_to_be_held_against_its_record(
    root: Path, name: str
) -> None:
    """Renamed, it would be put over its record, or be a second card of one cylinder. One that says
    nothing besides is told, and is in nobody's way."""
    (root / "cylinders" / name).write_text(GOOD + "note: dent at the foot\n")
    (found,) = [f for f in load(root).findings if f.severity is Severity.FAULT]
    assert found.where.path == f"cylinders/{name}"
    assert "says what cylinders/RB-014.yaml does not: note: dent at the foot" in found.text
    assert "what is true of it into cylinders/RB-014.yaml, then take the copy out" in found.mend
    (root / "cylinders" / name).write_text(GOOD)
    here = [f for f in load(root).findings if f.where.path == f"cylinders/{name}"]
    kept = name.endswith(".BAK")
    assert [f.severity for f in here] == ([] if kept else [Severity.WARN])
    (root / "cylinders" / name).unlink()
    assert not [f for f in load(root).findings if f.severity is Severity.FAULT]


@pytest.mark.parametrize("name", LEFT_ALONE)
def test_what_an_editor_keeps_beside_its_record_is_left_alone(root: Path, name: str) -> None:
    (root / "cylinders" / name).write_text(GOOD)
    assert not [t for t in told(root) if name in t]
    assert list(load(root).cylinders) == ["RB-014", "RB-114"]


@pytest.mark.parametrize(
    "name", ["RB-0140.yml", "XRB-014.YAML", "RB-9.yml", "SF-1 (copy).yaml", "4913"]
)
def test_what_has_no_records_name_is_renamed(root: Path, name: str) -> None:
    (root / "cylinders" / name).write_text(GOOD.replace("K118204", "K9"))
    (found,) = [f for f in load(root).findings if f.where.path == f"cylinders/{name}"]
    assert found.mend in ("rename it", "use letters, digits, `-`, `_` and `.`")


def test_a_copy_beside_its_record_is_left_alone(root: Path) -> None:
    (root / "cylinders/RB-014.yaml~").write_text(GOOD)
    (root / "station.yaml").write_text(STATION)
    (root / "station.yaml.bak").write_text(STATION)
    assert not [t for t in told(root) if "~" in t or "bak" in t], told(root)


def test_a_pipe_is_no_record(root: Path) -> None:
    os.mkfifo(root / "cylinders/RB-15.yaml")
    assert "cylinders/RB-15.yaml: it is no ordinary file" in "\n".join(told(root))


def test_nothing_dated_later_is_seen_unless_asked(root: Path) -> None:
    later = GOOD.replace("on: 2024-03", "on: 2062-09")
    (root / "cylinders/RB-014.yaml").write_text(later)
    assert load(root, today=dt.date(2026, 11, 25)).cylinders["RB-014"].requalified == ()


def test_nothing_is_answered_without_settings(root: Path) -> None:
    (root / "tankbook.yaml").write_text("ledger: X\nunits: psi\nrules: [us-dot]\nunit: bar\n")
    with pytest.raises(
        LedgerError, match="`unit` is not a key of this record; did you mean `units`"
    ):
        load(root)
    assert len(read_ledger(root).findings) == 1


def test_an_unknown_rule_set(root: Path) -> None:
    (root / "tankbook.yaml").write_text(SETTINGS.replace("us-dot", "us-dto").lstrip())
    with pytest.raises(LedgerError, match="there is no rule set `us-dto`; known: au, ca-tc"):
        load(root)


def test_the_ledgers_own_rows_come_last(root: Path) -> None:
    (root / "rules").mkdir()
    (root / "rules/shop.yaml").write_text("heading: Shop\nrows: []\n")
    assert [s.id for s in load(root).rule_sets] == ["us-dot", "bench", "alloys", "shop"]


def test_hidden_and_temporary_files_are_not_records(root: Path) -> None:
    (root / "cylinders/.RB-014.yaml.tmp").write_text("half")
    assert not told(root)


def test_later_records_are_left_out(root: Path) -> None:
    assert load(root, today=dt.date(2026, 10, 31)).log == ()


@pytest.mark.parametrize(
    ("text", "id_"),
    [("RB-014", "RB-014"), ("rb-014", "RB-014"), ("014", "RB-014"), ("114", "RB-114"), ("02", "DB-02"), ("2", "DB-02"), ("k118204", "RB-014")],
)  # fmt: skip
def test_any_unambiguous_tail_will_do(root: Path, text: str, id_: str) -> None:
    assert resolve(load(root), text) == id_


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("4", "2 ids end so: RB-014, RB-114"),
        ("14", "2 ids end so: RB-014, RB-114"),
        ("77", "no cylinder or set"),
    ],
)
def test_other_tails_are_refused(root: Path, text: str, why: str) -> None:
    with pytest.raises(LedgerError, match=why):
        resolve(load(root), text)


def test_a_link_that_leads_to_itself_is_a_file_that_cannot_be_read(root: Path) -> None:
    try:
        (root / "cylinders/RB-200.yaml").symlink_to("RB-200.yaml")
    except OSError:
        pytest.skip("this disk has no symbolic links")
    assert [(f.where.path, f.code) for f in load(root).findings] == [
        ("cylinders/RB-200.yaml", "unreadable")
    ]
