"""What lies in a record folder and is not read is told, and refuses what its text names; what is no
record lies there and refuses nothing."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest

from tankbook.ledger.kept import NO_PASS, SET_ASIDE
from tankbook.ledger.load import load
from tankbook.records.cylinder import Cylinder
from tankbook.records.fields import ListOf, Nested, keys_of
from tankbook.records.life import life_of
from tankbook.records.words import InspectionResult, Status, TestResult
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill

EXAMPLE = Path(__file__).resolve().parents[2] / "example_ledger"

TODAY = dt.date(2026, 11, 25)
QUAY = Path(__file__).parents[1] / "broken" / "quay"

CARD = """\
serial: SERIAL
maker: Example Cylinder Co
specification: [DOT-3AL]
service_pressure: 3000 psi
test_pressure: 5000 psi
material: aluminium
alloy: "6061"
neck_thread: 3/4-14 NPSM
valve: {outlet: yoke, thread: 3/4-14 NPSM, rating: 3000 psi, disc: 5000 psi}
requalified:
  - {on: 2024-03, method: hydrostatic, by: maker}
inspected:
  - {on: 2026-02-09, by: MV, checklist: annual, result: pass}
"""
CARDS = {"RB-041": "K118204", "RB-052": "M770316", "RB-063": "P552918", "RB-074": "T903357"}
EVERY = set(CARDS)
SET = "cylinders: [RB-041, RB-052]\nrating: 2000 psi\n"
TWIN = CARD.replace("SERIAL", "P552918") + "condemned: [{on: 2026-03-01, by: MV, why: cracked}]\n"
HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
LOG = HEADER + "2026-11-24T18:01:33-05:00,RB-063,fill,500 psi,6000 psi,54 degF,air,,,TO,,B1,P1,,,\n"
RULES = "heading: house rules\nrows:\n  - {id: shop.x, obligation: visual}\n"
STATION = "air_tests:\n  - {on: 2026-11-20, by: Lab, result: fail}\n"


@pytest.fixture(name="root")
def _root(tmp_path: Path) -> Path:
    for folder in ("cylinders", "sets", "fills", "rules"):
        (tmp_path / folder).mkdir()
    shutil.copy(QUAY / "tankbook.yaml", tmp_path)
    for id_, serial in CARDS.items():
        put(tmp_path, f"cylinders/{id_}.yaml", CARD.replace("SERIAL", serial))
    put(tmp_path, "fills/2025.csv", HEADER)
    assert refused(tmp_path) == set()
    return tmp_path


def put(root: Path, path: str, text: str | bytes) -> None:
    (root / path).parent.mkdir(parents=True, exist_ok=True)
    (root / path).write_bytes(text if isinstance(text, bytes) else text.encode())


def refused(root: Path) -> set[str]:
    book = load(root, today=TODAY, clock=TODAY)
    return {i for i in CARDS if not may_fill(book, i, TODAY).fillable}


SETS = [
    "sets/DB-01.txt", "sets/DB-01.md", "sets/DB-01.yml", "sets/DB-01.YAML", "sets/DB-01.Yml", "sets/DB-01",
    "sets/DB-01.bak", "sets/DB-01.json", "sets/x/DB-01.yaml", "sets/x/DB-01.txt", "sets/x/DB-01.yml",
    "sets/x/y/z/DB-01.yaml", "sets/DB-01.yaml~", "sets/DB-01 (1).yaml", "sets/DB-01.yaml.orig",
    "sets/DB-01.yaml.txt", "sets/DB-01 copy.yml", "sets/.DB-01.yaml", "sets/DB-01.yaml_old",
    "sets/#DB-01.yaml#", "Sets/DB-01.yaml", "Sets/DB-01.txt", "set/DB-01.yaml", "SETS/DB-01.yml",
    "cylinders/DB-01.yaml", "cylinders/DB-01.txt", "cylinders/x/DB-01.yaml", "cylinders/DB-01.yml",
    "rules/DB-01.yaml", "checklists/DB-01.yaml", "fills/DB-01.yaml", "fills/DB-01.txt", "DB-01.yaml", "DB-01.yml",
    "DB-01.txt", "DB-01 (1).yaml", "doubles.yaml",
]  # fmt: skip


@pytest.mark.parametrize("path", SETS)
def test_a_set_that_is_not_read_refuses_whom_its_text_names(root: Path, path: str) -> None:
    put(root, path, SET)
    assert {f.where.path for f in load(root).findings} == {path}
    wide = path.startswith(("rules/", "fills/"))
    assert refused(root) == (EVERY if wide else {"RB-041", "RB-052"})


TEXTS = {
    "quoted keys": '"cylinders": ["RB-041", "RB-052"]\n',
    "in braces": '{"cylinders": ["RB-041", "RB-052"], "rating": "2000 psi"}\n',
    "a comment first": "# back plate\n\ncylinders: [RB-041, RB-052]\n",
    "a list below": "rating: 2000 psi\ncylinders:\n- RB-041\n- RB-052\n",
    "set in": "  cylinders: [RB-041, RB-052]\n  rating: 2000 psi\n",
    "a conflict": "<<<<<<< HEAD\ncylinders: [RB-041, RB-052]\n=======\ncylinders: [RB-041]\n>>>>>>> b\n",
    "a stray line": "Twin set of the club\ncylinders: [RB-041, RB-052]\n",
    "line ends": "rating: 2000 psi\r\ncylinders: [RB-041, RB-052]\r\n",
    "a mark first": b"\xef\xbb\xbfcylinders: [RB-041, RB-052]\n",
    "wide letters": "cylinders: [RB-041, RB-052]\n".encode("utf-16"),
    "no yaml at all": "cylinders: [RB-041, RB-052\nrating: [\n",
    "another alphabet": "note: Fl\xe4che\ncylinders: [RB-041, RB-052]\n".encode("latin-1"),
}


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize("path", ["sets/DB-01.txt", "cylinders/DB-01.yaml", "DB-01.txt"])
def test_a_set_is_known_however_it_is_written(root: Path, path: str, text: str) -> None:
    put(root, path, TEXTS[text])
    assert refused(root) == {"RB-041", "RB-052"}


def test_a_set_that_names_no_two_refuses_all_that_are_in_no_other(root: Path) -> None:
    put(root, "sets/DB-02.yaml", "cylinders: [RB-063, RB-074]\n")
    put(root, "cylinders/DB-01.yaml", "cylinders: [RB-041, RX-999]\n")
    assert refused(root) == {"RB-041", "RB-052"}


@pytest.mark.parametrize("name", ["DB-01_BACKUP_123.yaml", "DB-01_LOCAL_9.yaml", "DB-01-old.yaml"])
def test_a_second_file_of_a_set_that_is_read_as_a_set_refuses_its_sides(
    root: Path, name: str
) -> None:
    put(root, "sets/DB-01.yaml", SET.splitlines()[0] + "\n")
    assert refused(root) == set()
    put(root, f"sets/{name}", SET)
    assert refused(root) == {"RB-041", "RB-052"}


CARDS_ASTRAY = [
    "cylinders/RB-099.md", "cylinders/RB-099.txt", "cylinders/RB-099", "cylinders/RB-099.yml",
    "cylinders/RB-099.YAML", "cylinders/x/RB-099.yaml", "cylinders/x/y/RB-099.txt", "cylinders/RB-099 (1).yaml",
    "cylinders/.RB-099.yaml", "cylinders/RB-099.yaml.orig", "cylinder/RB-099.yaml", "Cylinders/RB-099.txt",
    "sets/RB-099.yaml", "sets/RB-099.txt", "checklists/RB-099.yaml", "RB-099.yaml", "RB-099.txt",
]  # fmt: skip


@pytest.mark.parametrize("path", CARDS_ASTRAY)
def test_a_card_that_is_not_read_refuses_whose_serial_it_has(root: Path, path: str) -> None:
    put(root, path, TWIN)
    assert {f.where.path for f in load(root).findings} == {path}
    assert refused(root) == {"RB-063"}


@pytest.mark.parametrize("path", ["sets/RB-063.yaml", "RB-063.yaml", "cylinders/RB-063.txt"])
def test_a_card_of_an_id_that_is_here_refuses_it_whatever_its_serial(root: Path, path: str) -> None:
    put(root, path, TWIN.replace("P552918", "ZZ9"))
    assert refused(root) == {"RB-063"}


WIDE = {
    "fills.csv": LOG, "fill/2026.csv": LOG, "Fills/2026.csv": LOG, "fills/.2026.csv": LOG, "fills/2026.txt": LOG,
    "fills/2026.CSV": LOG, "fills/2026": LOG, "fills/2026.xlsx": b"PK\x00\x00", "fills/x/2026.txt": LOG,
    "fills/x/y/2026.csv": LOG, "2026.csv": LOG, "cylinders/2026.csv": LOG, "sets/2026.csv": LOG,
    "fills/2026.tsv": LOG.replace(",", "\t"), "fills/2026.txt ": LOG.splitlines()[1] + "\n",
    "fills/2026.csv;": LOG.replace(",", ";"), "cylinders/shop.yaml": RULES, "sets/shop.txt": RULES, "rules/shop.txt": RULES,
    "rules/shop.yml": RULES, "rules/x/shop.yaml": RULES, "Rules/shop.yaml": RULES, "shop.yaml": RULES,
    "cylinders/station.yaml": STATION, "station.yml": STATION, "Station.txt": STATION, "rules/station.yaml": STATION,
}  # fmt: skip


@pytest.mark.parametrize("path", WIDE)
def test_a_log_rules_or_a_station_that_is_not_read_refuses_all(root: Path, path: str) -> None:
    put(root, path, WIDE[path])
    assert {f.where.path for f in load(root).findings} == {path}
    assert refused(root) == EVERY


README = """\
# The cards

One file a cylinder. RB-041 and RB-052 are a set. A card reads:

```yaml
serial: K118204
cylinders: [RB-041, RB-052]
```

Ask the shop before you move one. Note: photographs go beside.
"""
PICTURE = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"serial: P552918\n" * 3
SWAP = b"b0VIM 9.0\x00\x00" + SET.encode()
HONEST = {
    "README": README, "README.md": README, "readme.txt": README, "README.de.md": README, "LICENSE": "All of it.\n",
    "RB-041.jpg": PICTURE, "RB-041.JPG": PICTURE, "RB-041 crack.png": PICTURE, "RB-041.heic": PICTURE,
    "RB-041.gif": PICTURE, "RB-041": PICTURE, "hydro RB-041.pdf": b"%PDF-1.7\n", "RB-041.docx": b"PK\x00", ".gitkeep": "",
    ".gitignore": "*.jpg\n", ".DS_Store": b"\x00\x01", "Thumbs.db": b"\xd0\xcf\x00", "desktop.ini": "[.ShellClassInfo]\n",
    "._RB-041.yaml": b"\x00\x05\x16\x07", ".RB-041.yaml.swp": SWAP, ".RB-041.yaml.0123abcd.tmp": TWIN,
    "labels.txt": "RB-041  air 3000 psi\nRB-052  air 3000 psi\n", "labels.html": "<p>RB-041</p>\n",
    "RB-041.txt": "Photograph of the shoulder, serial: K118204, taken by MV\n", "caption.txt": "note: neck\nplace: rack 2\n",
    "todo": "- call the requalifier about RB-041\n", "old/README.md": README, "old/RB-041.jpg": PICTURE,
    "cards.md": "cylinders: one card each\nnote: ask first\n", ".old/DB-01.yaml": SET, "empty.txt": "", "RB-041.zip": b"PK\x03\x04",
}  # fmt: skip


@pytest.mark.parametrize("folder", ["cylinders/", "sets/", "fills/", "rules/", "checklists/", ""])
def test_what_is_no_record_refuses_nothing(root: Path, folder: str) -> None:
    for name, text in HONEST.items():
        put(root, folder + name, text)
    assert [str(f) for f in load(root).findings] == []
    assert refused(root) == set()


@pytest.mark.parametrize("name", ["labels.csv", "count.csv"])
@pytest.mark.parametrize("folder", ["cylinders/", "sets/", "rules/", ""])
def test_a_sheet_of_labels_is_no_log(root: Path, folder: str, name: str) -> None:
    put(root, folder + name, "id,serial,gas,place\nRB-041,K118204,air,rack 2\n")
    assert not load(root).findings


def test_a_lock_of_an_editor_is_no_record(root: Path) -> None:
    for folder in ("cylinders", "sets", "fills"):
        (root / folder / ".#RB-041.yaml").symlink_to("mv@bench.4711:1700000000")
    assert not load(root).findings


@pytest.mark.parametrize("name", ["RB-041.yaml~", "RB-041.yaml.bak", "RB-041.yaml.orig"])
def test_what_an_editor_kept_beside_its_record_is_left_alone(root: Path, name: str) -> None:
    put(root, f"cylinders/{name}", CARD.replace("SERIAL", "K118204"))
    assert not load(root).findings


CONDEMNED = "condemned: [{on: 2026-03-01, by: MV, why: cracked}]\n"
MORE = {
    "in braces": CONDEMNED,
    "in lines": "condemned:\n  - on: 2026-03-01\n    by: MV\n",
    "on two lines": "held:\n  -\n    by: MV\n    on: '2026-03-01'\n",
    "no yaml": "condemned: [{on: 2026-03-01, by: MV\n",
    "line ends": "condemned:\r\n- on: 2026-03-01\r\n",
}
BESIDE = [
    "RB-063.yaml.txt", "RB-063.yaml.new", "RB-063.yaml.1", "RB-063.yaml.save", "RB-063.yaml~", "RB-063.yaml.bak",
    "RB-063 copy.yaml.bak", "RB-063 (1).yaml~", "RB-063.yml.txt",
]  # fmt: skip


@pytest.mark.parametrize("name", BESIDE)
@pytest.mark.parametrize("more", MORE)
def test_a_copy_that_says_more_than_its_record_refuses_it(root: Path, name: str, more: str) -> None:
    put(root, f"cylinders/{name}", CARD.replace("SERIAL", "P552918") + MORE[more])
    assert refused(root) == {"RB-063"}


MENDED = {
    "a day mended": ("on: 2026-02-09", "on: 2026-02-10"),
    "a month with its day": ("on: 2024-03", "on: 2024-03-12"),
    "an entry more": ("inspected:", "inspected:\n  - {on: 2025-02-09, by: MV, checklist: annual, result: pass}"),
    "struck out": ("result: pass}", "result: pass, void: {on: 2026-03-01, by: MV, why: typed twice}}"),
}  # fmt: skip


@pytest.mark.parametrize("mended", MENDED)
@pytest.mark.parametrize("name", ["RB-063.yaml~", "RB-063.yaml.bak", "RB-063.yaml.orig"])
def test_a_copy_of_before_a_mend_is_left_alone(root: Path, name: str, mended: str) -> None:
    before = CARD.replace("SERIAL", "P552918")
    put(root, "cylinders/RB-063.yaml", before.replace(*MENDED[mended]))
    put(root, f"cylinders/{name}", before)
    assert not load(root).findings


OTHERWISE = {
    "a note": ("maker:", "note: DO NOT FILL, crack in neck\nmaker:", "note: DO NOT FILL, crack in neck"),
    "a status": ("maker:", "status: condemned\nmaker:", "status: condemned"),
    "an owner": ("maker:", "owner: Sue\nmaker:", "owner: Sue"),
    "marks": ("maker:", "marks: unreadable\nmaker:", "marks: unreadable"),
    "a lower pressure": ("service_pressure: 3000 psi", "service_pressure: 2400 psi", "service_pressure: 2400 psi"),
    "an alloy": ('alloy: "6061"', 'alloy: "6351"', "alloy: 6351"),
    "a standard": ("[DOT-3AL]", "[DOT-3AL, DOT-E9001]", "specification DOT-E9001"),
    "a part of the valve": ("disc: 5000 psi", "disc: 3000 psi", "valve disc: 3000 psi"),
    "a result": ("result: pass", "result: fail", "inspected 2026-02-09 result: fail"),
    "a note of an entry": ("result: pass", "result: pass, note: pit", "inspected 2026-02-09 note: pit"),
    "a key nobody knows": ("maker:", "danger: leaks\nmaker:", "danger: leaks"),
    "an empty value": ("maker: Example Cylinder Co", "maker:", "maker: "),
}  # fmt: skip
NAMES = [
    *BESIDE, "RB-063 (1).yaml", "RB-063.yml", "RB-063.txt", "RB-063.YAML", "RB-063 - Copy.yaml", "rb-063.yml",
    "RB-063 (conflicted copy).yaml", "RB-063.yaml.orig", "RB-063.yaml.old",
]  # fmt: skip
KEPT = {
    "RB-063.yaml~", "RB-063.yaml.~1~", "RB-063.yaml.~12~", "RB-063.yaml.bak", "RB-063.yaml.bak2", "RB-063.yaml.orig",
    "RB-063.yaml.old", "RB-063.yaml.save", "RB-063.yaml.save.1", "#RB-063.yaml#", "RB-063.bak", "RB-063.yaml.BAK",
    "RB-063.yaml.bak~", "RB-063.yaml.swp",
}  # fmt: skip
"""Names under which editors and merges keep an older text, or one not yet saved."""


@pytest.mark.parametrize("name", [n for n in NAMES if n not in KEPT])
@pytest.mark.parametrize("otherwise", OTHERWISE)
def test_a_copy_that_differs_in_any_key_says_in_which_and_refuses_its_record(
    root: Path, name: str, otherwise: str
) -> None:
    own = CARD.replace("SERIAL", "P552918")
    was, is_, told = OTHERWISE[otherwise]
    put(root, f"cylinders/{name}", own.replace(was, is_))
    (found,) = load(root).findings
    assert found.text == f"it is not read, and says what cylinders/RB-063.yaml does not: {told}"
    assert refused(root) == {"RB-063"}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("less", ["", "maker", "note", "reordered", "in braces", "a comment"])
def test_a_copy_that_differs_in_nothing_refuses_nothing(root: Path, name: str, less: str) -> None:
    """Nor does one that says less than its record, or the same in other words of YAML."""
    own = CARD.replace("SERIAL", "P552918")
    text = {
        "maker": own.replace("maker: Example Cylinder Co\n", ""),
        "reordered": "\n".join(reversed(own.splitlines()[:5])) + "\n" + own.split("\n", 5)[5],
        "in braces": own.replace("valve: {outlet: yoke,", 'valve: {"outlet": "yoke",'),
        "a comment": f"# as of last year\n{own}",
    }.get(less, own)
    if less == "note":
        put(root, "cylinders/RB-063.yaml", own + "note: blue boot\n")
    put(root, f"cylinders/{name}", text)
    told = load(root).findings
    kept = name.endswith(("~", ".bak", ".old", ".save", ".orig"))
    assert [f.severity.value for f in told] == ([] if kept else ["warn"])
    assert refused(root) == set()


AGAINST = {
    "a note": ("maker:", "note: DO NOT FILL, crack in neck\nmaker:"),
    "a note of an entry": ("result: pass", "result: pass, note: deep pit in the wall"),
    "a status": ("maker:", "status: condemned\nmaker:"),
    "a key nobody knows": ("maker:", "danger: leaks\nmaker:"),
    "a fail": ("result: pass", "result: fail"),
    "a finding": ("result: pass", "result: pass, findings: [{step: neck, result: reject, what: crack}]"),
    "condemned": ("maker:", "condemned: [{on: 2026-03-01, by: MV, why: cracked}]\nmaker:"),
    "held for a paper": ("maker:", "held: [{on: 2026-03-01, by: MV, why: no paper}]\nmaker:"),
    "lost": ("maker:", "lost: [{on: 2026-03-01, by: MV, why: overboard}]\nmaker:"),
    "damage": ("maker:", "rented: [{on: 2026-03-01, to: B-1, back: 2026-03-02, damage: scratched}]\nmaker:"),
    "no YAML": ("maker:", "condemned: [{on: 2026-03-01, by: MV\nmaker:"),
}  # fmt: skip
"""What an older text may tell against its cylinder."""


@pytest.mark.parametrize("name", sorted(KEPT))
@pytest.mark.parametrize("against", AGAINST)
def test_what_an_editor_kept_refuses_its_record_where_it_tells_against_it(
    root: Path, name: str, against: str
) -> None:
    own = CARD.replace("SERIAL", "P552918")
    put(root, f"cylinders/{name}", own.replace(*AGAINST[against]))
    assert refused(root) == {"RB-063"}


WHERE_IT_IS_KNOWN = {
    "released since": (
        "held: [{on: 2026-02-10, by: MV, why: bulge}]\n",
        "held: [{on: 2026-02-10, by: MV, why: bulge, released: 2026-02-11, released_by: MV, released_why: a boot}]\n",
    ),
    "struck out since": (
        "held: [{on: 2026-02-10, by: MV, why: bulge}]\n",
        "held: [{on: 2026-02-10, by: MV, why: bulge, void: {on: 2026-02-11, by: MV, why: of RB-052}}]\n",
    ),
    "a day mended": (
        "held: [{on: 2026-02-10, by: MV, why: bulge}]\n",
        "held: [{on: 2026-02-09, by: MV, why: bulge, released: 2026-02-11, released_by: MV, released_why: a boot}]\n",
    ),
    "a note made an entry": (
        "note: dent at the base, blue boot\n",
        "note: blue boot\nheld: [{on: 2026-02-10, by: MV, why: Dent at  the base, released: 2026-02-11}]\n",
    ),
    "struck out in it": (
        "held: [{on: 2026-02-10, by: MV, why: bulge, void: {on: 2026-02-11, by: MV, why: of RB-052}}]\n",
        "",
    ),
    "a note": ("note: blue boot, bought of Sue\n", "note: red boot\n"),
    "a remark": ("# DO NOT FILL\n", ""),
}


@pytest.mark.parametrize("name", [*sorted(KEPT)])
@pytest.mark.parametrize("how", WHERE_IT_IS_KNOWN)
def test_what_an_editor_kept_says_nothing_where_its_record_knows_it(
    root: Path, name: str, how: str
) -> None:
    before, since = WHERE_IT_IS_KNOWN[how]
    own = CARD.replace("SERIAL", "P552918")
    put(root, "cylinders/RB-063.yaml", own + since)
    put(root, f"cylinders/{name}", own + before)
    assert not load(root).findings


@pytest.mark.parametrize("name", sorted(KEPT))
@pytest.mark.parametrize(
    "otherwise", [k for k in OTHERWISE if k not in AGAINST and k != "a result"]
)
def test_what_an_editor_kept_is_silent_where_it_only_says_otherwise(
    root: Path, name: str, otherwise: str
) -> None:
    own = CARD.replace("SERIAL", "P552918")
    put(root, f"cylinders/{name}", own.replace(*OTHERWISE[otherwise][:2]))
    assert not load(root).findings


CONFLICT = """\
<<<<<<< HEAD
held: [{{on: 2026-02-10, by: MV, why: {ours}}}]
=======
held: [{{on: 2026-02-12, by: TO, why: {theirs}}}]
>>>>>>> boat
"""


@pytest.mark.parametrize(
    ("record", "theirs", "ids"),
    [
        ("held: [{on: 2026-02-10, by: MV, why: boot}]\n", "boot", {"RB-063"}),
        ("held: [{on: 2026-02-10, by: MV, why: boot}, {on: 2026-02-12, by: TO, why: bulge}]\n", "bulge", set()),
        ("held:\n  - {on: 2026-02-10, by: MV, why: boot}\n  - {on: 2026-02-12, by: TO, why: bulge}\n", "bulge", set()),
    ],
)  # fmt: skip
def test_of_a_merge_that_was_kept_what_neither_side_lost_is_silent(
    root: Path, record: str, theirs: str, ids: set[str]
) -> None:
    own = CARD.replace("SERIAL", "P552918")
    put(root, "cylinders/RB-063.yaml", own + record)
    put(root, "cylinders/RB-063.yaml.orig", own + CONFLICT.format(ours="boot", theirs=theirs))
    assert {i.where.path for i in load(root).findings} == {f"cylinders/{i}.yaml.orig" for i in ids}


def test_an_editor_is_used_between_acts(root: Path) -> None:
    """What a person writes who has the editor keep backups, and whose hold another act lets go."""
    record = root / "cylinders/RB-063.yaml"
    for text in ("held: [{on: 2026-02-10, by: MV, why: bulge}]\n", "held: []\n", "place: boat\n"):
        (root / "cylinders/RB-063.yaml~").write_bytes(record.read_bytes())
        put(root, "cylinders/RB-063.yaml", CARD.replace("SERIAL", "P552918") + text)
        told = load(root).findings
        assert bool(told) == (text == "held: []\n")  # the hold went without a word


def test_every_entry_that_sets_aside_is_known_to_do_so() -> None:
    """By the lives of entries: those that put a cylinder somewhere it is not filled, for good or
    until somebody lets it go; not one that is out or away."""
    aside = {Status.HELD, Status.REJECTED, Status.CONDEMNED, Status.LOST, Status.SOLD}
    keys = keys_of(Cylinder)
    found = {
        name
        for name, each in keys.items()
        if isinstance(each.kind, ListOf)
        and isinstance(each.kind.kind, Nested)
        and life_of(each.kind.kind.record).opens in aside
    }
    assert found | {"stolen", "incidents"} == SET_ASIDE
    assert {*NO_PASS} >= {r.value for r in (*InspectionResult, *TestResult)} - {"pass"}


DOUBLES = "cylinders: [RB-041, RB-052]\nrating: 3442 psi\n"
SIDES = "cylinders: [RB-052, RB-041]\n"


@pytest.mark.parametrize("name", ["DB-01.yaml.txt", "DB-01 (1).yaml", "DB-01.yml"])
@pytest.mark.parametrize(
    ("otherwise", "told"),
    [
        (SIDES, "cylinders: [RB-052, RB-041]"),
        ("cylinders:\n  - RB-052\n  - RB-041\n", "cylinders: [RB-052, RB-041]"),
        ("cylinders: [RB-041, RB-063]\n", "cylinders RB-063"),
        (DOUBLES + "isolator: shut\n", "isolator: shut"),
        (DOUBLES.replace("3442", "3000"), "rating: 3000 psi"),
    ],
)
def test_a_copy_of_a_set_that_differs_refuses_it(
    root: Path, name: str, otherwise: str, told: str
) -> None:
    put(root, "sets/DB-01.yaml", DOUBLES)
    assert refused(root) == set()
    put(root, f"sets/{name}", otherwise)
    (found,) = load(root).findings
    assert found.text.endswith(f"what sets/DB-01.yaml does not: {told}")
    assert refused(root) >= {"RB-041", "RB-052"}


@pytest.mark.parametrize("name", ["DB-01.yaml~", "DB-01.yaml.bak", "#DB-01.yaml#"])
def test_what_an_editor_kept_of_a_set_refuses_nothing(root: Path, name: str) -> None:
    put(root, "sets/DB-01.yaml", SET)
    put(root, f"sets/{name}", SIDES)
    assert not load(root).findings


NESTED = {
    "station.yaml": (
        "banks:\n  - {name: B1, water_volume: 48 L, working_pressure: 5000 psi}\n",
        ("5000 psi", "3000 psi"), "banks B1 working_pressure: 3000 psi",
    ),
    "rules/shop.yaml": (RULES, ("visual", "hydrostatic"), "rows shop.x obligation: hydrostatic"),
}  # fmt: skip
AIR = "air_tests: [{on: 2026-03-01, result: fail, laboratory: Example Lab}]\n"


@pytest.mark.parametrize("record", NESTED)
def test_a_copy_of_station_or_rules_that_differs_deep_down_refuses_all(
    root: Path, record: str
) -> None:
    text, change, told = NESTED[record]
    put(root, record, text)
    before = {str(f) for f in load(root).findings}
    put(root, f"{record}.txt", text.replace(*change))
    (found,) = [f for f in load(root).findings if f.where.path == f"{record}.txt"]
    assert found.text.endswith(f": {told}")
    assert refused(root) == EVERY
    (root / f"{record}.txt").unlink()
    folder, _, name = record.rpartition("/")
    for kept in (f"{name}~", f"{name}.~3~", f"#{name}#", f"{name}.orig", f"{name}.swp"):
        put(root, f"{folder}/{kept}".strip("/"), text.replace(*change))
    assert {str(f) for f in load(root).findings} == before


@pytest.mark.parametrize("name", ["station.yaml~", "station.yaml.~1~", "#station.yaml#"])
def test_air_that_failed_in_what_an_editor_kept_refuses_all(root: Path, name: str) -> None:
    put(root, "station.yaml", NESTED["station.yaml"][0])
    put(root, name, NESTED["station.yaml"][0] + AIR)
    assert refused(root) == EVERY


@pytest.mark.parametrize("name", ["2026.csv.~1~", "#2026.csv#", "2026.csv.swp"])
def test_the_beginning_of_a_year_that_an_editor_kept_is_silent(root: Path, name: str) -> None:
    put(root, "fills/2026.csv", LOG)
    put(root, f"fills/{name}", LOG.splitlines()[0] + "\n")
    assert not [f for f in load(root).findings if f.where.path == f"fills/{name}"]


def test_of_much_that_a_copy_says_the_rest_is_counted(root: Path) -> None:
    own = CARD.replace("SERIAL", "P552918") + "note: x\nowner: Sue\nplace: boat\nmarks: none\n"
    put(root, "cylinders/RB-063.yaml.txt", own.replace("note: x", f"note: {'x' * 99}"))
    (found,) = load(root).findings
    assert found.text.endswith(f"note: {'x' * 54}..., owner: Sue, place: boat, and 1 more")


def test_a_copy_with_a_second_entry_of_a_day_refuses_its_record(root: Path) -> None:
    held = "held:\n  - {on: 2026-02-10, by: MV, why: boot, released: 2026-02-11, released_by: MV, released_why: on}\n"
    card = CARD.replace("SERIAL", "P552918") + held
    put(root, "cylinders/RB-063.yaml", card)
    before = refused(root)
    put(root, "cylinders/RB-063.yaml.txt", card + "  - {on: 2026-02-10, by: MV, why: bulge}\n")
    assert refused(root) == {"RB-063"}
    assert before == set()


@pytest.mark.parametrize(
    ("hunk", "ids"),
    [
        ("-condemned: [{on: 2026-03-01, by: MV, why: cracked}]", set()),
        ("+  - {on: 2026-03-01, by: MV, why: cracked}", {"RB-063"}),
        ("+  - {on: 2026-02-09, by: MV, checklist: annual, result: pass}", set()),
    ],
)
def test_of_a_patch_what_it_puts_in_counts(root: Path, hunk: str, ids: set[str]) -> None:
    head = "--- cylinders/RB-063.yaml\n+++ cylinders/RB-063.yaml\n@@ -9,0 +10 @@\n"
    put(root, "cylinders/RB-063.yaml.rej", f"{head}{hunk}\n")
    assert refused(root) == ids


def test_what_a_patch_left_over_refuses_its_record(root: Path) -> None:
    left = f"--- cylinders/RB-063.yaml\n+++ cylinders/RB-063.yaml\n@@ -9,0 +10 @@\n+{CONDEMNED}"
    put(root, "cylinders/RB-063.yaml.rej", left)
    assert refused(root) == {"RB-063"}


@pytest.mark.parametrize("name", ["station.yaml.txt", "station.yaml.new", "rules/shop.yaml.txt"])
def test_a_copy_of_station_or_rules_that_says_more_refuses_all(root: Path, name: str) -> None:
    record = name.rpartition(".")[0]
    text = RULES if "rules" in name else STATION.replace("fail", "pass")
    put(root, record, text)
    assert not [f for f in load(root).findings if f.where.path == name]
    more = text.splitlines()[-1].replace("shop.x", "shop.w").replace("fail", "pass")
    put(root, name, f"{text}{more}\n")
    assert [f.where.path for f in load(root).findings if f.code == "file-name"] == [name]
    assert refused(root) == EVERY


def test_a_note_too_large_for_a_record_is_none(root: Path) -> None:
    put(root, "cylinders/manual.txt", "x" * 3_000_000)
    assert not load(root).findings


def test_folders_are_looked_into_so_far(root: Path) -> None:
    put(root, "sets/" + "x/" * 12 + "DB-01.yaml", SET)
    assert ["too deep" in f.text for f in load(root).findings] == [True]
    assert refused(root) == EVERY


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("plan.json", '{"sets": [], "cylinders": [{"serial": "1", "held": []}]}'),
        ("out.json", '[{"id": "RB-041", "serial": "F1", "condemned": []}]'),
        ("cylinders.csv", "id,serial,maker\nRB-041,F1,Example\n"),
        ("sets.csv", "id,cylinders\nDB-01,RB-041\n"),
        ("fills/2026.csv~", "as the year begins"),
        ("fills/2026.csv.bak", "as the year is"),
        ("fills/2026.csv.orig", ""),
    ],
)
def test_what_was_printed_or_kept_by_an_editor_refuses_nothing(
    path: str, text: str, tmp_path: Path
) -> None:
    root = tmp_path / "cove"
    shutil.copytree(EXAMPLE, root)
    year = (root / "fills/2026.csv").read_text()
    text = {"as the year begins": year[:2000], "as the year is": year}.get(text, text)
    (root / path).write_text(text)
    found = [f for f in load(root).findings if f.where.path == path]
    assert not found, found


def test_a_copy_of_a_year_that_says_more_is_told(tmp_path: Path) -> None:
    root = tmp_path / "cove"
    shutil.copytree(EXAMPLE, root)
    year = (root / "fills/2026.csv").read_text()
    (root / "fills/2026.csv~").write_text(year + "2026-11-25T09:00:00-05:00,RB-014,fill\n")
    assert [f for f in load(root).findings if f.where.path == "fills/2026.csv~"]


def test_a_set_follows_a_cylinder_to_its_new_name(root: Path) -> None:
    """Whether it was taken apart since or not."""
    (root / "cylinders/RB-041.yaml").unlink()
    renamed = CARD.replace("SERIAL", "K118204") + "formerly: [RB-041]\n"
    put(root, "cylinders/RB-141.yaml", renamed)
    over = "2026-11-20T18:00:00-05:00,DB-01,fill,500 psi,6000 psi,54 degF,air,,,TO,,B1,P1,,,\n"
    put(root, "fills/2026.csv", HEADER + over)
    for apart in ("", "apart: 2026-11-21\n"):
        put(root, "sets/DB-01.yaml", SET + apart)
        book = load(root, today=TODAY, clock=TODAY)
        assert (book.sets | book.apart)["DB-01"].cylinders == ("RB-141", "RB-052")
        for id_ in ("RB-141", "RB-052"):
            assert "over-limit" in {r.code for r in may_fill(book, id_, TODAY).refusals}
            assert not {f.code for f in check(book, TODAY)} & {"unknown-cylinder", "side-misnamed"}
