"""A line to run for every command, on the small ledger of tests/cli."""

from __future__ import annotations

from typing import Any

READING: dict[str, tuple[str, ...]] = {
    "": (),
    "show": ("RB-014",),
    "list": (),
    "marks": ("DOT-3AL 3000 K118204 09A21",),
    "rules": (),
    "validate": (),
    "pending": (),
    "due": (),
    "may-fill": ("RB-014",),
    "capacity": ("RB-014", "--at", "2000"),
    "fleet": (),
    "tags": ("RB-014",),
    "history": ("RB-014", "--fills"),
    "audit": (),
    "plan": ("RB-014=500",),
    "equalize": ("RB-014=500", "RB-015=3000"),
    "blend": ("RB-021", "--to", "nitrox32"),
    "rentals": ("--names",),
    "stock": (),
    "slip": ("RB-014",),
    "receipt": ("RB-014",),
    "dispatch": (),
    "committee": (),
    "incidents": (),
    "recall": ("B1", "--names"),
    "leaks": (),
    "fills": ("--month", "2026-11"),
    "sheet": ("RB-014",),
    "costs": (),
    "calendar": (),
    "wall": (),
    "report": (),
    "pages": ("counter-pages",),
    "export": ("quay.json",),
    "station": (),
    "station size": (),
    "jobs": ("--names",),
}
"""A line for every command that only reads; what it answers does not matter here."""

RECORDING: dict[str, tuple[str, ...]] = {
    "book-in": ("--marks", "DOT-3AL 3000 Z1 09A21"),
    "import": ("none.csv",),
    "inspect": ("RB-014", "--pass-all", "--by", "MV"),
    "sticker": ("RB-014",),
    "clean": ("RB-014", "--to", "nitrox"),
    "valve": ("RB-014", "--did", "insert", "--insert-in", "no"),
    "fill": ("RB-014=2900", "--source", "B1", "--at", "09:00"),
    "reading": ("RB-014=2900", "--at", "09:00"),
    "drain": ("RB-014", "--at", "09:00"),
    "hold": ("RB-014", "--why", "dent"),
    "release": ("RB-016", "--why", "measured"),
    "reject": ("RB-014", "--why", "pits"),
    "condemn": ("RB-014", "--why", "thin", "--by", "T123", "--marked", "X over the marks"),
    "send": ("RB-014", "--for", "requalification"),
    "back": ("RB-014",),
    "refit": ("RB-014",),
    "requalify": ("RB-014", "--by", "T123"),
    "done-elsewhere": ("RB-014", "--visual", "--who", "Weir T45", "--done", "2026-01"),
    "correct": ("RB-014", "inspected", "2026-02-09", "--why", "wrong card"),
    "rent": ("RB-014", "--to", "B-1"),
    "return": ("RB-021=600/closed",),
    "refuse": ("RB-014", "--reason", "visual lapsed"),
    "stolen": ("ZZ-1", "--why", "police notice of 20 Nov", "--by", "MV"),
    "incident": ("whip W1 burst", "RB-014", "--at", "09:00", "--by", "MV"),
    "hand-over": ("SF-014", "--to", "C-1"),
    "recall": ("B1", "--hold"),
    "tags": ("RB-014", "--pdf", "x.pdf", "--by", "MV"),
    "isolator": ("DB-01", "shut"),
    "pair": ("DB-09", "RB-014", "RB-015"),
    "unpair": ("DB-01",),
    "count": ("RB-014",),
    "station read": ("B1=2300",),
    "station raise": ("B1", "--to", "4400"),
    "station analyse": ("B1", "--oxygen", "20.9"),
    "station regulator": ("3000",),
    "station hours": ("9999",),
    "station filter": ("F1", "--at", "441.5"),
    "station air-test": ("--by", "Example Air Lab", "--result", "pass"),
    "station gauge-check": ("G1", "--reads", "3040", "--true", "3000", "--against", "TG-1"),
    "station whip": ("W1",),
    "station relief": ("R1",),
    "station gauge": ("G2", "--master"),
    "station machine": ("C1",),
    "station position": ("P1",),
    "station co": ("14ppm", "--alarm"),
    "station bump": ("CO-1",),
    "station upkeep": ("oil",),
    "station open": (),
    "station close": (),
    "station bank-test": ("B1", "--by", "T123"),
    "station bank-look": ("B1", "--decided", "no bulge"),
    "station bank-clean": ("B1", "--method", "dried", "--at", "16:00"),
    "station no-period": ("B1", "--why", "ASME vessel"),
    "station examined": ("WS1", "--by", "Examiner", "--next", "2031-01-01"),
    "jobs open": ("RB-014", "--work", "visual"),
    "jobs update": ("RB-014", "--note", "x"),
    "jobs done": ("RB-014",),
    "jobs collect": ("RB-014",),
}
"""A line for every command that records on a day."""


def leaves(group: Any, path: str = "") -> list[tuple[str, set[str]]]:
    """Every command with its options."""
    found = []
    for name, each in group.commands.items():
        options = {o for p in each.params for o in p.opts}
        if hasattr(each, "commands"):
            found += [(f"{name}", options), *leaves(each, f"{name} ")]
        else:
            found.append((f"{path}{name}", options))
    return found
