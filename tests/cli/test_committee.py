"""`tankbook committee` on the command line."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pdf
import pytest

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")


def test_the_page_and_its_files(tb: Run, ledger: Path, tmp_path: Path) -> None:
    where = (*ON, "--ledger", ledger)
    told = tb("committee", *where)
    assert told.code == 0
    assert told.first.startswith("As of 25 Nov 2026. ")
    into = tb("committee", *where, "--pdf", "m.pdf", "--html", "m.html", "--paper", "letter")
    assert into.out.splitlines()[-1] == "Written to m.html and m.pdf."
    assert "why not fit" in (tmp_path / "m.html").read_text()
    data = tb("committee", *where, "--json").json
    assert data["cylinders"] == len(data["fit"]) + len(data["not_fit"]) + len(data["not_here"])
    rows = tb("committee", *where, "--csv").out.splitlines()
    assert len(rows) == len(data["not_fit"]) + 1
    assert tb("committee", *where, "--months", "0").code == 2


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_example_club_has_one_page(
    paper: str, tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    into = ("--pdf", "m.pdf", "--paper", paper)
    assert tb("committee", *ON, "--ledger", example_ledger, *into).code == 0
    said = pdf.text_of((tmp_path / "m.pdf").read_bytes())
    assert "page 1 of 1" in said
    assert "RB-016" in said
    assert "PL-087" in said


@pytest.mark.parametrize("way", [(), ("--csv",), ("--json",), ("--html", "m.html")])
def test_no_name_in_a_reason_is_told_unasked(
    way: tuple[str, ...], tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    root = tmp_path / "cove"
    shutil.copytree(example_ledger, root)
    settings = root / "tankbook.yaml"
    settings.write_text(settings.read_text().replace("people:\n", "people:\n  Mara Vell: {}\n", 1))
    path = root / "cylinders/RB-024.yaml"
    why = "gouge found by Mara Vell and MARA VELL and M. Vell with Bo VANDREL"
    path.write_text(path.read_text().replace("worn neck threads", why))
    (root / "contacts.csv").write_text("reference,name,phone\nC-1,Bo Vandrel,555 0100\n")
    for named in (False, True):
        more = ("--named",) if named else ()
        ran = tb("committee", *ON, "--ledger", root, *way, *more)
        said = (tmp_path / "m.html").read_text() if "--html" in way else ran.out
        assert "gouge found by" in " ".join(said.split())
        assert ("vell" in said.casefold()) == named
        assert "vandrel" not in said.casefold()


def test_an_empty_ledger_has_a_page(tb: Run, write: Callable[..., Path]) -> None:
    ran = tb("committee", *ON, "--ledger", write({}), "--pdf", "m.pdf")
    assert ran.code == 0, ran.err
    assert "0 cylinders: 0 fit to be filled" in ran.first


def test_a_card_that_cannot_be_read_is_told_on_the_page(
    tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    root = tmp_path / "cove"
    shutil.copytree(example_ledger, root)
    (root / "cylinders/RB-014.yaml").write_text("serial: [\n")
    ran = tb("committee", *ON, "--ledger", root)
    assert ran.code == 1
    assert "NOT COUNTED: RB-014, whose file cannot be read." in ran.out
    tb("committee", *ON, "--ledger", root, "--pdf", "m.pdf")
    said = " ".join(pdf.text_of((tmp_path / "m.pdf").read_bytes()).split())
    assert "NOT WHOLE: 1 FILE NOT READ: cylinders/RB-014.yaml" in said
    assert "NOT COUNTED: RB-014" in said


@pytest.mark.parametrize("way", [(), ("--csv",), ("--json",), ("--html", "m.html")])
@pytest.mark.parametrize("command", ["committee", "pages"])
def test_no_name_is_quoted_from_a_file_at_fault_unasked(
    command: str, way: tuple[str, ...], tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    """Neither in the answer nor beside it, from a card that cannot be read or contradicts itself."""
    if command == "pages" and way not in ((), ("--json",)):
        pytest.skip("pages are a folder")
    root = tmp_path / "cove"
    shutil.copytree(example_ledger, root)
    (root / "contacts.csv").write_text("reference,name,phone\nC-1,Bo Vandrel,555 0100\n")
    broken = root / "cylinders/RB-024.yaml"
    broken.write_text(broken.read_text().replace("material: ", "material: Bo Vandrel # "))
    other = root / "cylinders/RB-014.yaml"
    other.write_text(other.read_text().replace("size: al80", "size: Bo Vandrel"))
    words = (tmp_path / "pages",) if command == "pages" else ON
    ran = tb(command, *words, "--ledger", root, *way)
    told = [ran.out, ran.err]
    told += [p.read_text() for p in [*tmp_path.glob("*.html"), *(tmp_path / "pages").glob("*")]]
    assert "RB-024" in "".join(told)
    assert "Vandrel" not in "".join(told)


def test_the_sentence_that_it_is_not_whole_follows_one_full_stop(
    tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    root = tmp_path / "cove"
    shutil.copytree(example_ledger, root)
    (root / "cylinders/ST-083.yaml").write_text("serial: [\n")
    tb("committee", *ON, "--ledger", root, "--pdf", "m.pdf")
    said = " ".join(pdf.text_of((tmp_path / "m.pdf").read_bytes()).split())
    assert "against them. NOT WHOLE: 1 FILE NOT READ" in said
