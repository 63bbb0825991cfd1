"""The papers that entries name: their digest as it is recorded, and as it is found again."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from pathlib import Path

import books
import pytest
from read_whole import read_ledger

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.papers import certificate_of
from tankbook.ledger.text import LOG_LIMIT, RECORD_LIMIT

PDF = b"%PDF-1.7 CO 2 ppm"
DIGEST = hashlib.sha256(PDF).hexdigest()


@pytest.fixture(name="root")
def _root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    root = tmp_path / "quay"
    (root / "papers" / "2026").mkdir(parents=True)
    (root / "station.yaml").write_text("regulator_set: 3000 psi\n")
    (root / "tankbook.yaml").write_text(books.SETTINGS)
    monkeypatch.chdir(root)
    return root


@pytest.mark.parametrize(
    ("lies", "said", "name"),
    [
        ("lab.pdf", "lab.pdf", "./lab.pdf"),
        ("papers/2026/lab.pdf", "papers/2026/lab.pdf", "papers/2026/lab.pdf"),
        ("papers/lab.pdf", "papers/2026/../lab.pdf", "papers/lab.pdf"),
        ("papers/lab 4711 (Öl).pdf", "papers/lab 4711 (Öl).pdf", "papers/lab 4711 (Öl).pdf"),
        ("../lab.pdf", "../lab.pdf", "lab.pdf"),
        ("../desk/lab.csv", "../desk/lab.csv", "lab.csv"),
        ("papers/2026.csv", "papers/2026.csv", "papers/2026.csv"),
        ("papers/LAB 4711.CSV", "papers/LAB 4711.CSV", "papers/LAB 4711.CSV"),
        ("../desk/.lab.pdf", "../desk/.lab.pdf", ".lab.pdf"),
    ],
)
def test_a_paper_is_named_by_its_way_in_the_ledger_and_by_its_name_elsewhere(
    root: Path, lies: str, said: str, name: str
) -> None:
    (root / lies).parent.mkdir(exist_ok=True)
    (root / lies).write_bytes(PDF)
    for file in (Path(said), root / said):
        found = certificate_of(root, file)
        assert (found.name, found.sha256) == (name, DIGEST)


def test_a_link_to_the_ledger_or_to_a_paper_elsewhere_is_what_it_leads_to(root: Path) -> None:
    (root / "papers/lab.pdf").write_bytes(PDF)
    (root / "../way").symlink_to(root)
    assert certificate_of(root, Path("../way/papers/lab.pdf")).name == "papers/lab.pdf"
    assert certificate_of(root / "../way", Path("papers/lab.pdf")).name == "papers/lab.pdf"
    (root / "../elsewhere.pdf").symlink_to(root / "papers/lab.pdf")
    assert certificate_of(root, Path("../elsewhere.pdf")).sha256 == DIGEST


def nothing(path: Path) -> None:
    assert not path.exists()


def empty(path: Path) -> None:
    path.write_bytes(b"")


def folder(path: Path) -> None:
    path.mkdir()


def linked(path: Path) -> None:
    path.symlink_to("station.yaml")


def device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def large(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(LOG_LIMIT + 1)


def whole(path: Path) -> None:
    path.parent.mkdir(exist_ok=True, parents=True)
    path.write_bytes(PDF)


def a_log(path: Path) -> None:
    path.write_text("at,cylinder,act,to\n2026-11-20T09:30:00+01:00,RB-014,fill,3000 psi\n")


def a_card(path: Path) -> None:
    path.write_text("serial: K118204\nspecification: DOT-3AL\n")


def a_record_too_large(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(RECORD_LIMIT + 1)


@pytest.mark.skipif(os.name == "nt", reason="pipes and links of POSIX systems")
@pytest.mark.parametrize(
    ("lies", "made", "why"),
    [
        ("lab.pdf", nothing, "there is no such file"),
        ("../lab.pdf", nothing, "no such file"),
        ("nowhere/lab.pdf", nothing, "no such file"),
        ("lab.pdf", empty, "the file is empty"),
        ("../lab.pdf", empty, "the file is empty"),
        ("lab.pdf", folder, "folder"),
        ("../lab.pdf", folder, "folder"),
        ("..", lambda path: None, "folder"),
        (".", lambda path: None, "folder"),
        ("lab.pdf", os.mkfifo, "no ordinary file"),
        ("../lab.pdf", os.mkfifo, "no ordinary file"),
        ("lab.pdf", linked, "symbolic link"),
        ("../lab.pdf", device, "no ordinary file"),
        ("lab.pdf", large, "more than the"),
        ("../lab.pdf", large, "more than the"),
        ("lab.odd", a_record_too_large, "more than the"),
        ("station.yaml", lambda path: None, "no paper"),
        ("papers/LAB.YAML", whole, "no paper"),
        ("papers/2026.csv", a_log, "no paper"),
        ("papers/cards.csv", a_card, "no paper"),
        ("fills/2026.csv", whole, "no paper"),
        ("FILLS/old/2026.CSV", whole, "no paper"),
        ("bookings.csv", whole, "no paper"),
        ("papers/contacts.csv", whole, "no paper"),
        (".git/config", whole, "no paper"),
        ("papers/.lab.pdf", whole, "no paper"),
        ("papers/a\\b.pdf", whole, "its name has a sign"),
        ("papers/a:b.pdf", whole, "its name has a sign"),
        ("papers/a\nb.pdf", whole, "no plain text"),
        ("papers/a\x1b[2Jb.pdf", whole, "no plain text"),
        ("../a\u202eb.pdf", whole, "no plain text"),
        ("../desk/station.yaml", whole, "the ledger has a file of that name"),
        ("../desk/papers", whole, "the ledger has a file of that name"),
    ],
)
def test_what_is_no_paper_is_refused(
    root: Path, lies: str, made: Callable[[Path], None], why: str
) -> None:
    made(root / lies)
    with pytest.raises(LedgerError) as told:
        certificate_of(root, Path(lies))
    assert why in str(told.value)
    assert str(told.value).isprintable()


def recorded(root: Path, name: str, more: str = "") -> None:
    """A station with an air test that names a paper of the digest of `PDF`."""
    paper = f"{{name: '{name}', sha256: {DIGEST}}}"
    entry = f"on: 2026-10-12, standard: cga-grade-e, result: pass, certificate: {paper}{more}"
    (root / "station.yaml").write_text(f"air_tests: [{{{entry}}}]\n", encoding="utf-8")


@pytest.mark.parametrize("name", ["lab.pdf", "papers/lab.pdf", "papers/2026/lab.pdf"])
def test_a_paper_in_the_ledger_is_held_against_its_digest(root: Path, name: str) -> None:
    (root / name).write_bytes(PDF)
    recorded(root, name)
    assert read_ledger(root).papers == {name: DIGEST}
    (root / name).write_bytes(PDF + b"\n")
    assert read_ledger(root).papers == {name: hashlib.sha256(PDF + b"\n").hexdigest()}
    recorded(root, name, ", void: {why: wrong paper, by: MV, on: 2026-10-13}")
    assert read_ledger(root).papers == {}


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("lab.pdf", {}),
        ("papers/lab.pdf", {"papers/lab.pdf": ""}),
        ("./gone.pdf", {"./gone.pdf": ""}),
        ("gone/lab.pdf", {"gone/lab.pdf": ""}),
        ("papers/2026", {"papers/2026": ""}),
        ("../secret.pdf", {}),
        ("papers/../../secret.pdf", {}),
        ("/etc/hostname", {}),
        ("C:/lab.pdf", {}),
        (".git/config", {}),
        ("way/secret.pdf", {"way/secret.pdf": ""}),
        ("way/deep/secret.pdf", {"way/deep/secret.pdf": ""}),
        ("link.pdf", {"link.pdf": ""}),
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="links of POSIX systems")
def test_no_name_leads_out_of_the_ledger(root: Path, name: str, found: dict[str, str]) -> None:
    outside = root.parent / "outside"
    (outside / "deep").mkdir(parents=True)
    for each in (outside, outside / "deep", root.parent):
        (each / "secret.pdf").write_bytes(PDF)
    (root / "way").symlink_to(outside)
    (root / "link.pdf").symlink_to(outside / "secret.pdf")
    recorded(root, name)
    assert read_ledger(root).papers == found


@pytest.mark.skipif(os.name == "nt", reason="pipes of POSIX systems")
def test_reading_waits_for_no_pipe_in_place_of_a_paper(root: Path) -> None:
    os.mkfifo(root / "lab.pdf")
    recorded(root, "lab.pdf")
    assert read_ledger(root).papers == {"lab.pdf": ""}
