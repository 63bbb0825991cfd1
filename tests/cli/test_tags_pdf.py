"""`tags --pdf`: the file, what is said of it, and every way it is refused."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pdf as seen
import pytest

from tankbook.output.paper.flow import SMALLEST

Run = Callable[..., Any]
DAY = ("--on", "2026-11-25")


@pytest.fixture(name="at")
def _at(tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.chdir(ledger)
    return lambda *words: tb(*words, *DAY)


def test_tags_are_printed(at: Run, ledger: Path) -> None:
    ran = at("tags", "RB-014", "15", "--pdf", "out.pdf", "--start", "3", "--cut-marks")
    assert ran.code == 0
    assert ran.out == (
        "2 labels on 1 page of letter-tags: out.pdf\n"
        "The next free place on this page is 5.\n"
        "Print at actual size (100 %, not fitted to the page).\n"
        "Entered on RB-014, RB-015\n"
    )
    pdf = (ledger / "out.pdf").read_bytes()
    assert "DO NOT FILL\nRB-015" in seen.text_of(pdf)
    assert [code.split("\n") for code in seen.codes_of(pdf)] == [
        ["RB-014", "K118204", "Test Quay"],
        ["RB-015", "K118205", "Test Quay"],
    ]


def test_as_json(at: Run) -> None:
    ran = at("tags", "RB-014", "--pdf", "out.pdf", "--sheet", "roll-62", "--json")
    assert ran.json == {
        "pdf": "out.pdf",
        "sheet": "roll-62",
        "pages": 1,
        "labels": [{"id": "RB-014", "kind": "identity", "page": 1, "place": 1}],
        "next_place": None,
        "refused": [],
        "not_printed": [],
        "entered": ["RB-014"],
    }
    refused = at("tags", "15", "--kind", "analysis", "--pdf", "no.pdf", "--json")
    assert refused.code == 1
    assert list(refused.json) == list(ran.json)
    assert refused.json["refused"][0].startswith("RB-015: ")


def test_the_shop_s_own_sheet(at: Run, ledger: Path) -> None:
    (ledger / "sheets").mkdir()
    (ledger / "sheets/small.yaml").write_text(
        "page_width: 120 mm\npage_height: 60 mm\ncolumns: 1\nrows: 1\n"
        "label_width: 100 mm\nlabel_height: 50 mm\n"
    )
    ran = at("tags", "RB-014", "--pdf", "out.pdf", "--sheet", "small", "--proof")
    assert ran.first == "1 label on 1 page of small: out.pdf"
    (frame,) = seen.frames_of((ledger / "out.pdf").read_bytes())
    assert (frame.x, frame.y) == pytest.approx((10, 5), abs=0.2)


def test_validate_reads_the_shop_s_sheets(at: Run, ledger: Path) -> None:
    (ledger / "sheets").mkdir()
    (ledger / "sheets/small.yaml").write_text("page_width: 120\n")
    told = at("validate")
    assert told.code == 1
    assert "sheets/small.yaml:1:13" in told.out


REFUSED = [
    (("--kind", "sticker"), 2, "--kind: there is no `sticker`; known: tag, identity, analysis, strip, do-not-fill, rental, slip"),
    (("--sheet", "a4-25"), 2, "--sheet: there is no `a4-25`; known: a4-tags, letter-tags, "),
    (("--start", "9"), 2, "sheet `letter-tags` has no place 9; its places are 1 to 8"),
    (("--sheet", "letter-30", "--kind", "rental"), 2, "RB-014: the rental tag does not fit on a label with 63 x 21 mm to print on; take a sheet of larger labels"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "code", "line"), REFUSED)
def test_what_is_refused(
    words: tuple[str, ...], code: int, line: str, at: Run, ledger: Path
) -> None:
    ran = at("tags", "RB-014", "--pdf", "out.pdf", *words)
    assert (ran.code, ran.out) == (code, "")
    assert ran.err.startswith(f"tankbook: {line}")
    assert len(ran.err.splitlines()) == 1
    assert not (ledger / "out.pdf").exists()


def test_the_options_of_print_want_a_file(at: Run) -> None:
    ran = at("tags", "RB-014", "--start", "2")
    assert (ran.code, ran.err) == (
        2, "tankbook: only printed tags take these options; name a file with --pdf FILE\n",
    )  # fmt: skip


def test_no_other_file_is_ever_written_over(at: Run, ledger: Path) -> None:
    card = ledger / "cylinders/RB-014.yaml"
    before = card.read_bytes()
    ran = at("tags", "RB-014", "--pdf", "cylinders/RB-014.yaml")
    assert (ran.code, ran.err) == (
        2,
        "tankbook: cylinders/RB-014.yaml: the name does not end in `.pdf`; name a PDF file\n",
    )
    notes = ledger / "notes.pdf"
    notes.write_text("not a PDF")
    assert at("tags", "RB-014", "--pdf", "notes.pdf").err == (
        "tankbook: notes.pdf: a file that is no PDF is there already; name another file\n"
    )
    assert at("tags", "RB-014", "--pdf", "none/a.pdf").err == (
        "tankbook: none/a.pdf: there is no folder none; make it first\n"
    )
    assert (card.read_bytes(), notes.read_text()) == (before, "not a PDF")
    assert at("tags", "RB-014", "--pdf", "a.pdf").code == 0
    assert at("tags", "15", "--pdf", "a.pdf").code == 0
    assert "RB-015" in seen.text_of((ledger / "a.pdf").read_bytes())


def test_all_reasons_at_once_and_nothing_printed(at: Run, ledger: Path) -> None:
    ran = at("tags", "RB-014", "15", "16", "--kind", "rental", "--pdf", "out.pdf")
    assert ran.code == 1
    assert ran.first.startswith("NO, for ")
    assert "RB-015: " in ran.out
    assert "RB-016: it is held: thread finding" in ran.out
    assert "RB-014" not in ran.out
    assert not (ledger / "out.pdf").exists()


def test_what_cannot_be_printed_is_a_line_to_write_on_and_the_rest_is_printed(
    at: Run, ledger: Path
) -> None:
    settings, card = ledger / "tankbook.yaml", ledger / "cylinders/RB-014.yaml"
    settings.write_text(settings.read_text().replace("Test Quay", "潜水 Quay"), encoding="utf-8")
    said = card.read_text()
    serial = next(line for line in said.splitlines() if line.startswith("serial:"))
    card.write_text(said.replace(serial, "serial: 水-K118204"), encoding="utf-8")
    ran = at("tags", "RB-014", "16", "--kind", "identity", "--pdf", "out.pdf")
    assert ran.code == 0
    assert ran.first == "2 labels on 1 page of letter-tags: out.pdf"
    told = " ".join(ran.out.split())
    place = said.splitlines().index(serial) + 1
    assert f"cylinders/RB-014.yaml:{place}:9: serial: `水` cannot be printed (U+6C34, " in told
    assert "ledger: `潜水` cannot be printed (U+6F5C, " in told
    assert "tankbook.yaml:" in told
    assert told.count("cannot be printed") == 2
    text = seen.text_of((ledger / "out.pdf").read_bytes())
    assert "serial ____-K118204" in text
    assert "____ Quay, 25 Nov 2026" in text
    assert "RB-016" in text
    assert at("tags", "RB-014", "--pdf", "out.pdf", "--json").json["not_printed"]


@pytest.mark.parametrize("words", [("list", "--count-sheet"), ("sheet", "RB-014", "16")])
def test_a_form_is_printed_though_one_name_cannot_be(
    words: tuple[str, ...], at: Run, ledger: Path
) -> None:
    settings, card = ledger / "tankbook.yaml", ledger / "cylinders/RB-014.yaml"
    settings.write_text(settings.read_text().replace("Test Quay", "潜水 Quay"), encoding="utf-8")
    said = card.read_text().replace("serial: K118204", "serial: 水-K118204")
    card.write_text(said, encoding="utf-8")
    ran = at(*words, "--pdf", "out.pdf")
    told = " ".join(ran.out.split())
    assert ran.code == 0
    assert ran.first.endswith("out.pdf")
    assert "ledger: `潜水` cannot be printed" in told
    text = seen.text_of((ledger / "out.pdf").read_bytes())
    assert "____ Quay" in text
    if words[0] == "list":
        assert "cylinders/RB-014.yaml" in told
        assert "____-K118204" in text


def test_the_fill_sheet_and_the_count_sheet_are_printed_too(at: Run, ledger: Path) -> None:
    ran = at("sheet", "RB-014", "15", "--pdf", "fill.pdf")
    assert (ran.code, ran.out) == (0, "Fill sheet for 1 of 2: fill.pdf\n")
    assert "DO NOT FILL" in seen.text_of((ledger / "fill.pdf").read_bytes())
    ran = at("list", "--count-sheet", "--pdf", "count.pdf")
    assert (ran.code, ran.out) == (0, "Count sheet for 4 cylinders: count.pdf\n")
    assert "K118208" in seen.text_of((ledger / "count.pdf").read_bytes())
    ran = at("list", "--pdf", "count.pdf")
    assert (ran.code, ran.err) == (
        2, "tankbook: --pdf prints the count sheet; add --count-sheet\n",
    )  # fmt: skip


def test_every_key_of_the_answer_is_on_the_json_page(at: Run) -> None:
    page = (Path(__file__).parents[2] / "docs/json.md").read_text(encoding="utf-8")
    printed = at("tags", "RB-014", "--pdf", "out.pdf", "--json").json
    assert all(f"`{key}`" in page for key in (*printed, *printed["labels"][0]))


PAPERS = [
    ("tags", "11", "41", "67", "DB-01", "DB-02"),
    ("sheet", "11", "12", "67", "41"),
    ("list", "--count-sheet"),
    ("plan", "11", "12", "14"),
    ("fills", "--month", "2026-11"),
    ("wall",),
    ("report",),
]


@pytest.mark.parametrize("words", PAPERS, ids=lambda words: words[0])
def test_no_paper_is_printed_smaller_than_is_read(
    words: tuple[str, ...], tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out.pdf"
    quay = shutil.copytree(example_ledger, tmp_path / "quay")  # the cards are written to
    ran = tb("--ledger", str(quay), *DAY, *words, "--pdf", str(out))
    assert out.exists(), ran.err
    sizes = seen.sizes_of(out.read_bytes())
    assert min(sizes) >= SMALLEST, sizes[min(sizes)]
