"""An analysis is told with its helium and of its own day, whatever was read or came back since."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import books
import pdf
import pytest

from tankbook.records.log import LogLine, columns

Run = Callable[..., Any]
Write = Callable[[dict[str, str]], Path]

TODAY, READ = "2026-11-25", "10:00"
ANALYSED = {"23 Nov 2026", "2026-11-23"}
FILL = (
    "2026-11-23T09:00:00+01:00,RB-014,fill,0 psi,3000 psi,70 degF,trimix10/70,10.2 %,69.8 %,MV,MV,"
    ",,,,"
)
DAY = r"(\d{4}-\d\d-\d\d|\d{1,2} [A-Z][a-z]{2} \d{4})"
SOLD = "handed_over: [{on: 2026-11-24, by: MV, to: C-1, slip: 2026-001}]\nstatus: sold\n"
HERE = "status: in-service\n"
SINCE: dict[str, list[tuple[str, ...]]] = {
    "nothing": [],
    "read": [("reading", "14=2950", "--at", READ)],
    "back": [
        ("rent", "14", "--to", "B-7", "--analysed", "10.2/69.8", "--depth", "60m", "--user", "ZZ",
         "--certified", "trimix", "--at", "09:10"),
        ("return", "14=2950", "--valve", "closed", "--at", READ),
    ],
}  # fmt: skip
"""What came since that is of the pressure alone."""


@pytest.fixture(name="root")
def _root(write: Write) -> Path:
    good = books.stamped(books.GOOD.replace("service: air", "service: oxygen"))
    return write(
        {
            "cylinders/RB-014.yaml": good,
            "cylinders/RB-015.yaml": good.replace("K118204", "K118205")
            .replace(HERE, SOLD)
            .replace("use: rental", "use: sale"),
            "fills/2026.csv": "\n".join(
                [",".join(columns(LogLine)), FILL, FILL.replace("RB-014", "RB-015"), ""]
            ),
            "tankbook.yaml": f"{books.SETTINGS}oxygen_pressure: 1.4 ata\n",
        }
    )


def told(tb: Run, root: Path, tmp_path: Path) -> Iterator[tuple[str, str]]:
    """Every answer, paper and page that tells what is in one, by its name."""
    where = ("--ledger", root, "--on", TODAY)
    paper = tmp_path / "paper.pdf"
    for id_ in ("14", "15"):
        asked = [
            *((f"tags {kind}", ("tags", id_, "--kind", kind, "--unlogged"))
              for kind in ("analysis", "strip", "rental", "slip")),
            ("slip", ("slip", id_)),
            ("receipt", ("receipt", id_)),
        ]  # fmt: skip
        for name, words in asked:
            ran = tb(*words, "--pdf", paper, *where)
            if ran.code == 0:
                yield f"{name} {id_}", pdf.text_of(paper.read_bytes())
        yield f"show {id_}", tb("show", id_, *where).out
    assert tb("pages", tmp_path / "pages", *where).code == 0
    for page in sorted((tmp_path / "pages").glob("c-*.html")):
        yield page.name, re.sub(r"<[^>]*>", " ", page.read_text("utf-8"))
    ran = tb("incident", "taste", "14", "15", "--at", "11:00", "--by", "MV", *where, "--pdf", paper)
    assert ran.code == 0, ran.err
    yield "incident", pdf.text_of(paper.read_bytes())
    yield "kept", (root / "counter.yaml").read_text("utf-8")
    yield "incidents", tb("incidents", TODAY, *where).out


@pytest.mark.parametrize("since", SINCE)
def test_it_is_told_with_its_helium_and_its_own_day_everywhere(
    since: str, tb: Run, root: Path, tmp_path: Path
) -> None:
    for words in SINCE[since]:
        ran = tb(*words, "--by", "MV", "--ledger", root, "--on", TODAY)
        assert ran.code == 0, ran.out + ran.err
    found, wrong = set(), []
    for name, text in told(tb, root, tmp_path):
        said = " ".join(text.split())
        for each in re.finditer(r"10\.2 ?%", said):
            found.add(name)
            after = said[each.end() : each.end() + 60]
            if not re.search(r"69\.8 ?%", after):
                wrong.append(f"{name}: no helium in {said[each.start() :][:90]}")
        days = re.finditer(rf"10\.2 ?% oxygen, 69\.8 % helium(?: by MV on|,| by MV,) {DAY}", said)
        wrong += [f"{name}: {d[0]}" for d in days if d[1] not in ANALYSED]
        if re.search(r"10\.2 ?%", said) and not ANALYSED & {*re.findall(DAY, said)}:
            wrong.append(f"{name}: not the day of its analysis")
    assert wrong == []
    expected = {"show 14", "c-rb-014.html", "incident", "kept", "incidents", "slip 15"}
    expected |= {"tags analysis 14", "tags rental 14"}
    expected |= {"tags strip 14"} if since == "nothing" else set()
    assert expected - found == set()


def test_what_a_fill_says_of_its_label_has_helium_and_from_where_it_may_be_breathed(
    tb: Run, root: Path
) -> None:
    words = ("fill", "14=3000", "--gas", "trimix10/70", "--o2", "10.2", "--he", "69.8")
    more = ("--analysed-by", "MV", "--by", "MV", "--at", "12:00", "--looked")
    ran = tb(*words, *more, "--on", TODAY, "--ledger", root, "--dry-run")
    said = " ".join((ran.out + ran.err).split())
    assert "label: trimix10/70, 10.2 % oxygen, 69.8 % helium, 2026-11-25, MV" in said, said
    assert "LOW OXYGEN: not to be breathed at the surface, least depth 8 m / 25 ft" in said
