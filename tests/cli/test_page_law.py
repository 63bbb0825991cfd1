"""Every paper of ledgers that are hard to set: no type under 6 pt, no text off its page or in another,
as the reader that had no part in making it finds them."""

from __future__ import annotations

import inspect
import itertools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pdf as seen
import pytest

from tankbook.cli.commands import COMMANDS
from tankbook.output.drawing import A4, Text
from tankbook.output.paper.pen import Pen

Run = Callable[..., Any]
Write = Callable[[dict[str, str]], Path]
ON = ("--on", "2026-11-25")

LONG = "RENTAL-CYLINDER-OF-THE-NORTH-POOL-000"
TALE = "dropped from the truck bed by the north gate and dented above the boot over forty mm " * 3
WORD = "Wasserdruckpruefungsverordnungsstelle"
SCRIPTS = (
    "\N{ARABIC LETTER ALEF}\N{ARABIC LETTER BEH} \N{CJK UNIFIED IDEOGRAPH-6F5C}\N{DIVING MASK} Quay"
)


def cylinder(serial: str, said: str, **changes: str | None) -> str:
    changes = {"place": said[:40].strip(), "maker": said[:60].strip(), **changes}
    return books.stamped(books.with_lines(books.GOOD.replace("K118204", serial), **changes))


HELD = "held:\n  - {{on: 2026-11-01, by: MV, why: {said}}}\n"
LENT = "rented:\n  - {{on: 2026-11-20, by: MV, to: {said}, until: 2026-11-24}}\n"
SENT = "sent:\n  - {{on: 2026-10-01, by: MV, to: {to}, for: requalification, why: {said}}}\n"
SOLD = (
    "handed_over:\n  - {{on: 2026-11-20, by: MV, to: {said}, slip: 2026-001, price: 1219.00 USD}}\n"
)
STATION = (
    books.STATION
    + """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-25, pressure: 4400 psi}]}
regulator_set: 3000 psi
positions: [{name: P1, kind: enclosed, whip: W1}]
whips: [{name: W1, checked: [{on: 2026-04-02, by: MV, result: pass}]}]
"""
)
HEAD = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"


def ledger(said: str, ids: tuple[str, ...], more: int = 0) -> dict[str, str]:
    """Six cylinders: with gas, held, lent, sent, sold, empty; a set of two more; and as many more."""
    here, held, lent, sent, sold, bare = ids
    cards = {
        here: cylinder(
            "K1", said, service="oxygen", cleaned="[{on: 2026-10-01, to: oxygen, by: MV}]"
        ),
        held: cylinder("K2", said, status="held") + HELD.format(said=said),
        lent: cylinder("K3", said, status="out") + LENT.format(said=said[:40].strip()),
        sent: cylinder("K4", said, status="at-test") + SENT.format(to=said[:40].strip(), said=said),
        sold: cylinder("K5", said, status="sold", use="sale") + SOLD.format(said=said[:40].strip()),
    }
    cards[bare] = cylinder("K6", said)
    cards |= {f"{bare}-{side}": cylinder(f"S{side}", said) for side in "ab"}
    for n in range(more):
        late = {"owner": f"C-{n}", "use": "customer"} if n % 5 == 0 else {}
        text = cylinder(f"M{n:04}", said, **late)
        cards[f"RB-{n + 100}"] = text.replace("2024-03", "2019-03") if n % 3 else text
    gases = ("air", "nitrox32"), ("trimix10/70", "trimix18/45")
    lines = [
        f"2026-11-{20 + n // 24:02}T{n % 24:02}:30:00+01:00,{here},fill,500 psi,3000 psi,70 degF,"
        f'{gas},{"10.2 %" if "10" in gas else "20.9 %"},{"69.8 %" if "10" in gas else ""},MV,MV,B1,P1,,,"{said}"\n'
        for n, gas in enumerate(
            itertools.islice(itertools.cycle(itertools.chain(*gases)), 3 + more // 4)
        )
    ]
    return {
        "tankbook.yaml": books.with_lines(books.SETTINGS, ledger=said[:60].strip()) + "oxygen_pressure: 1.4 ata\n",
        "station.yaml": STATION,
        "fills/2026.csv": HEAD + "".join(lines),
        "counter.yaml": f'incidents:\n  - {{on: 2026-11-20, by: MV, what: "{said}", place: "{said[:60].strip()}"}}\n',
        "sets/DB.yaml": f"cylinders: [{bare}-a, {bare}-b]\nrating: 3442 psi\nmanifold: {said[:40].strip()}\nisolator: open\n",
        **{f"cylinders/{id_}.yaml": text for id_, text in cards.items()},
    }  # fmt: skip


SHORT = ("RB-01", "RB-02", "RB-03", "RB-04", "RB-05", "RB-06")
WIDE = tuple(f"{'W' * 58}-{n}" for n in range(1, 7))
LEDGERS: dict[str, tuple[dict[str, str], tuple[str, ...]]] = {
    "plain": (ledger("Quay", SHORT), SHORT),
    "long ids": (ledger("Quay", (ids := tuple(f"{LONG}{n}" for n in range(1, 7)))), ids),
    "long tales": (ledger(TALE.strip(), SHORT), SHORT),
    "long words": (ledger(f"{WORD}{WORD}", SHORT), SHORT),
    "wide letters": (ledger("WWWWWWWWWW MMMMMMMMMMMMMM " * 3, WIDE, 20), WIDE),
    "a wide word": (ledger("W" * 300, WIDE), WIDE),
    "no glyphs": (ledger(SCRIPTS, SHORT), SHORT),
    "300 rows": (ledger("north pool", SHORT, 300), SHORT),
    "no rows": ({"tankbook.yaml": books.SETTINGS}, ()),
}

LABELS = [
    f"tags {which} --unlogged --sheet {sheet}"
    for which in (
        "{0} --kind tag",
        "{1} --kind tag",
        "DB --kind tag",
        "{0} --kind identity",
        "{0} --kind analysis",
        "{0} --kind strip",
        "{1} --kind do-not-fill",
        "{2} --kind rental",
        "{4} --kind slip",
    )
    for sheet in ("letter-30", "letter-tags", "letter-4")
]
PAPERS = (
    "sheet {0} {1}",
    "list --count-sheet",
    "plan {5}=500 DB=700 --ambient 70",
    "fills --month 2026-11",
    "incidents 2026-11-20",
    "incident burst {0} DB --by MV",
    "wall",
    "wall --months 24 --customers",
    "report",
    "report --one-page",
    "sheet {5} DB",
    "slip {4}",
    "receipt {2}",
    "receipt {4}",
    "committee",
    "dispatch 2026-10-01",
    "dispatch 2026-10-01 --back",
)
OF_NONE = {"list", "wall", "report", "committee", "fills"}
"""Those that are of a ledger without a cylinder as well."""
OF_MANY = {"list", "wall", "committee", "fills"}
"""Those that have a row for each."""


def test_every_command_that_prints_is_tried() -> None:
    """All that take `--pdf`."""
    prints = {n for n, c in COMMANDS.items() if "pdf" in inspect.signature(c.function).parameters}
    assert prints == {line.split()[0] for line in (*PAPERS, *LABELS)}


def test_what_is_amiss_is_seen() -> None:
    """Small type, a text over the edge, and one in another."""

    def made(*texts: Text) -> bytes:
        pen = Pen("t")
        pen.page(*A4)
        pen.draw(*texts)
        return pen.done()

    fine = Text(20, 20, "fine", 8), Text(20, 23.5, "below", 8), Text(60, 20, "beside", 8)
    assert seen.amiss(made(*fine)) == []
    for wrong, told in (
        (Text(20, 40, "tiny", 5.5), "set in 5.5 pt"),
        (Text(205, 40, "over the edge", 8), "not all on the page"),
        (Text(22, 20.5, "within", 8), "lies on 'fine'"),
        (Text(20, 22, "too close", 8), "lies on"),
    ):
        found = seen.amiss(made(*fine, wrong))
        assert found, wrong
        assert all(told in each for each in found if wrong.text in each), found


def printed(tb: Run, line: str, ids: tuple[str, ...], root: Path, into: Path) -> bytes | None:
    """The paper; None where it was refused, and then nothing is written and it is said why."""
    into.unlink(missing_ok=True)
    ran = tb(*line.format(*ids).split(), *ON, "--ledger", root, "--pdf", into)
    if into.exists():
        return into.read_bytes()
    assert ran.code in {1, 2}, (line, ran.out)
    assert ran.out + ran.err, line
    return None


@pytest.mark.parametrize("name", LEDGERS)
def test_every_paper_can_be_read(name: str, tb: Run, write: Write, tmp_path: Path) -> None:
    files, ids = LEDGERS[name]
    root = write(files)
    few = {"no rows": OF_NONE, "300 rows": OF_MANY}.get(name)
    for line in PAPERS:
        if few and line.split()[0] not in few:
            continue
        made = printed(tb, line, ids, root, tmp_path / "x.pdf")
        assert made is not None, line
        assert seen.amiss(made) == [], line


@pytest.mark.parametrize("name", ["plain", "long ids", "long tales", "no glyphs"])
def test_every_label_can_be_read_or_is_refused(
    name: str, tb: Run, write: Write, tmp_path: Path
) -> None:
    files, ids = LEDGERS[name]
    root, count = write(files), 0
    for line in LABELS:
        made = printed(tb, line, ids, root, tmp_path / "x.pdf")
        if made is not None:
            count += 1
            assert seen.amiss(made) == [], line
    assert count >= 5
