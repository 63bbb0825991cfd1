"""Whatever paper is printed of a cylinder, it says DO NOT USE where its gas must not be breathed."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import books
import pdf
import pytest

from tankbook.records.log import LogLine, columns

Run = Callable[..., Any]
Write = Callable[[dict[str, str]], Path]

TODAY = "2026-11-25"
LEFT = "2026-11-22"
LEAVING = {
    "LENT": f"status: out\nrented: [{{on: {LEFT}, by: MV, to: B-1, until: 2026-12-24, "
    "analysed: {oxygen: 32.0 %, depth: 33 m, initials: RT}}]\n",
    "SOLD": f"status: sold\nhanded_over: [{{on: {LEFT}, by: MV, to: C-1, slip: 2026-001, "
    "analysed: {oxygen: 32.0 %, depth: 33 m, initials: RT}}]\n",
    "SENT": f"status: at-test\nsent: [{{on: {LEFT}, by: MV, to: Weir Street, for: requalification}}]\n",
    "HERE": "status: in-service\n",
}
"""How each left, or did not, while nothing was against it."""

SINCE: dict[str, tuple[str, str]] = {
    "nothing": ("", ""),
    "out of date": ("", ""),
    "held": ("held: [{on: 2026-11-24, by: MV, why: gouge at the foot}]\n", ""),
    "rejected": ("rejected: [{on: 2026-11-24, by: MV, why: deep pit}]\n", ""),
    "condemned": ("condemned: [{on: 2026-11-24, by: T123, why: neck crack}]\n", ""),
    "lost": ("lost: [{on: 2026-11-24, by: MV}]\n", ""),
    "smelt of": ('note: "2026-11-24: smelt of oil when the valve was opened"\n', ""),
    "alarm": ("", "station co 40ppm --alarm --place outlet --at 10:00"),
    "stolen": ("", "stolen {serial} --why 'police notice' --ref N-4471"),
    "incident": ("", "incident 'valve burst' {id} --at 11:00 --saw MV"),
}
"""What was found or happened since, on its card and as a command."""

HARMLESS = {"nothing", "out of date"}
SERIAL = {"LENT": "K1001", "SOLD": "K1002", "SENT": "K1003", "HERE": "K1004"}
DEPTH = re.compile(r"\d m\b|\d ft\b")


def card(id_: str, since: str) -> str:
    looked = "2025-11-23" if since == "out of date" else "2026-02-09"
    text = books.GOOD.replace("K118204", SERIAL[id_]).replace("service: air", "service: nitrox")
    text = text.replace("2026-02-09", looked).replace("use: rental", "use: sale")
    text = books.stamped(text.replace("status: in-service\n", ""))
    text += "cleaned: [{on: 2026-10-01, to: oxygen, by: MV}]\n"
    return f"{text}{LEAVING[id_]}{SINCE[since][0]}"


def fill(id_: str) -> str:
    return f"2026-11-21T09:00:00+01:00,{id_},fill,500 psi,3000 psi,70 degF,nitrox32,31.9 %,,MV,MV,B1,,,,"


@pytest.fixture(name="of")
def _of(tb: Run, write: Write, tmp_path: Path) -> Callable[[str, str], dict[str, str]]:
    def of(id_: str, since: str) -> dict[str, str]:
        """Every paper of a cylinder, by its name; those that were refused are none."""
        root = write(
            {
                f"cylinders/{id_}.yaml": card(id_, since),
                "fills/2026.csv": "\n".join([",".join(columns(LogLine)), fill(id_), ""]),
                "tankbook.yaml": f"{books.SETTINGS}oxygen_pressure: 1.4 ata\n",
            }
        )
        where = ("--ledger", root, "--on", TODAY)
        if line := SINCE[since][1]:
            ran = tb(*shlex.split(line.format(id=id_, serial=SERIAL[id_])), *where, "--by", "MV")
            assert ran.code == 0, ran.out + ran.err
        return dict(_papers(tb, id_, where, tmp_path))

    return of


def _papers(tb: Run, id_: str, where: tuple[Any, ...], folder: Path) -> Any:
    for line in (f"receipt {id_}", f"slip {id_}", f"dispatch {LEFT}", f"tags {id_}"):
        file = folder / "paper.pdf"
        for more in ((), ("--pdf", file)) if "tags" not in line else ((),):
            ran = tb(*line.split(), *more, *where)
            if ran.code == 2:
                continue
            name = line.split()[0]
            said = pdf.text_of(file.read_bytes()) if more else ran.out
            yield f"{name}{' on paper' if more else ''}", said
    for kind in ("tag", "identity", "analysis", "strip", "rental", "slip"):
        file = folder / f"{kind}.pdf"
        file.unlink(missing_ok=True)
        tb("tags", id_, "--pdf", file, "--kind", kind, "--unlogged", *where)
        if file.exists():
            yield f"label {kind}", pdf.text_of(file.read_bytes())
    tb("pages", folder / "pages", *where)
    page = folder / "pages" / f"c-{id_.lower()}.html"
    if page.exists():
        yield (
            "page",
            re.sub(r"<style>.*?</style>|<[^>]+>", " ", page.read_text("utf-8"), flags=re.S),
        )


SAYS = {"dispatch": "; BEWARE of what is in {id}", "page": "DO NOT FILL OR USE"}
SAYS |= dict.fromkeys(("tags", "label tag"), SAYS["page"])
"""How a paper says it, where not as DO NOT USE."""
BEFORE = (
    "THE RECEIPT",
    "The receipt",
    "THE CYLINDER",
    "The cylinder",
    "THE NOTE",
    "The note",
    "serial",
)
"""What follows on the head of a paper."""
NOT_OF_ITS_GAS = {
    ("SENT", "alarm"): ("tags", "label", "page"),
    ("SOLD", "incident"): ("tags", "label", "page"),
}
"""What is at a test house holds nothing that is on record, and what is sold is held for nothing."""


def head_of(said: str) -> str:
    return re.split("|".join(BEFORE), said, maxsplit=1)[0]


@pytest.mark.parametrize(("id_", "since"), [*product(LEAVING, SINCE)])
def test_a_paper_of_bad_gas_says_so_first_and_gives_no_depth(
    of: Callable[[str, str], dict[str, str]], id_: str, since: str
) -> None:
    papers = of(id_, since)
    assert papers.keys() >= EVERY[id_], papers.keys()
    for name, said in papers.items():
        want = SAYS.get(name, SAYS.get(name.split()[0], "DO NOT USE")).format(id=id_)
        if since in HARMLESS:
            assert want not in said, name
            continue
        if name.split()[0] in NOT_OF_ITS_GAS.get((id_, since), ()):
            continue
        assert want in " ".join(head_of(said).split()), (name, said)
        assert not DEPTH.search(said), (name, said)
        assert "never above" not in said, (name, said)
        assert "deepest" not in said, (name, said)


EVERY = {
    "LENT": {"receipt", "receipt on paper", "tags", "label tag", "label identity", "page"},
    "SOLD": {"receipt", "receipt on paper", "slip", "slip on paper", "tags", "label tag", "page"},
    "SENT": {"dispatch", "dispatch on paper", "tags", "label tag", "page"},
    "HERE": {"tags", "label tag", "label identity", "page"},
}
"""The papers that there are of each, whatever came since."""


@pytest.mark.parametrize(
    ("id_", "papers"),
    [
        ("LENT", {"receipt", "label rental"}),
        ("SOLD", {"receipt", "slip"}),
        ("HERE", {"label strip", "label analysis"}),
    ],
)
def test_a_paper_of_good_gas_gives_its_depth_or_room_for_one(
    of: Callable[[str, str], dict[str, str]], id_: str, papers: set[str]
) -> None:
    """Else the test above would pass where none ever did."""
    found = of(id_, "nothing")
    for name in papers:
        assert DEPTH.search(found[name]), (name, found.get(name))
