"""What a cylinder is clean for is said in the same words on every paper and page."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import books
import pdf
import pytest

Run = Callable[..., Any]
Write = Callable[[dict[str, str]], Path]

TODAY = "2026-11-25"
SAID = {
    "service: air": "AIR ONLY, not oxygen-clean",
    "service: nitrox": "NOT CLEAN, labelled nitrox",
    "": "not recorded",
}
LEFT = {
    "SOLD": "status: sold\nhanded_over: [{on: 2026-11-22, by: MV, to: C-1, slip: 2026-001}]\n",
    "SENT": "status: at-test\nsent: [{on: 2026-11-22, by: MV, to: Weir Street, "
    "for: requalification}]\n",
    "HERE": "status: in-service\n",
}


def papers(tb: Run, where: tuple[Any, ...], folder: Path) -> Iterator[tuple[str, str]]:
    file = folder / "paper.pdf"
    asked: dict[str, tuple[str, ...]] = {
        "slip": ("slip", "SOLD"),
        "receipt": ("receipt", "SOLD"),
        "dispatch": ("dispatch", "2026-11-22"),
        "tag": ("tags", "HERE", "--kind", "identity", "--unlogged"),
        "slip tag": ("tags", "SOLD", "--kind", "slip", "--unlogged"),
    }
    for name, words in asked.items():
        ran = tb(*words, "--pdf", file, *where)
        assert ran.code == 0, (name, ran.out + ran.err)
        yield name, pdf.text_of(file.read_bytes())
    yield "text tag", re.sub(r"[|+]", " ", tb("tags", "HERE", *where).out)
    assert tb("pages", folder / "pages", *where).code == 0
    page = (folder / "pages" / "c-here.html").read_text("utf-8")
    yield "page", re.sub(r"<[^>]*>", " ", page)


@pytest.mark.parametrize("service", SAID)
def test_every_paper_and_page_says_it_alike(
    service: str, tb: Run, write: Write, tmp_path: Path
) -> None:
    cards = {}
    for n, (id_, left) in enumerate(LEFT.items()):
        text = books.GOOD.replace("K118204", f"K10{n}").replace("use: rental", "use: sale")
        text = text.replace("status: in-service\n", left).replace("service: air", service)
        cards[f"cylinders/{id_}.yaml"] = books.stamped(text)
    where = ("--ledger", write(cards), "--on", TODAY)
    for name, text in papers(tb, where, tmp_path):
        said = " ".join(text.split())
        assert f"cleaned for {SAID[service]}" in said, (name, said)
        assert "cleaned for air" not in said, name
