"""What a YES must warn of, from the text of a ledger alone: the second half of the campaign's judge.

What is no reason against a fill, and no silence either: a serial that looks like another's, a note that
speaks of damage, marks that were not read. As `judge.py`, it shares no line with the program.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator

import reading as text
from judge import PRESSURE_TESTS, Judge, Node
from reading import last, listed, quantity, stamped, verdict


# fmt: off
def told(judge: Judge, id_: str) -> Iterator[tuple[str, str]]:
    """What a YES must warn of: the warning's code (or one of several), and why."""
    for side in {id_, *(side for doubles in judge.sets(id_).values() for side in listed(doubles.get("cylinders")))}:
        card = judge.card(side)
        if any(rating < judge.limit(card) - 1 for rating in text.ratings(judge.station)):
            yield "gauge-ceiling-below-limit", "a part of the station stands less"
        if side == id_:
            yield from of_card(judge, side, card)


def of_card(judge: Judge, id_: str, card: Node) -> Iterator[tuple[str, str]]:
    marks, tests = str(card.get("marks") or ""), [e for e in judge.tests(card) if e["method"] in PRESSURE_TESTS]
    if not marks or (text.series(card) == "DOT" and not text.us_mark(re.sub("[\u2010\u2013]", "-", marks.upper()))):
        yield "no-marks marks-unread" if marks else "no-marks", "its shoulder was not read"
    if tests and tests[-1].get("plus") == "yes" and judge.limit(card) == quantity(card.get("service_pressure")) and "3AA" in str(card.get("specification")):
        yield "plus-unstamped", "its plus is stamped nowhere"
    if tests and tests[-1].get("stamp") and not stamped(tests[-1]["stamp"]):
        yield "stamp-unread", f"stamp {tests[-1]['stamp']}"
    valve = card.get("valve") or {}
    disc, test = quantity(valve.get("disc")), quantity(card.get("test_pressure")) or judge.least_test(card)
    if disc is not None and disc < 0.9 * test - 2:
        yield "disc-low", f"disc {disc:.0f} of {test:.0f} psi"
    if valve.get("insert_in") == "yes" and not valve.get("insert") and judge.limit(card) > 3001:
        yield "insert-rating-unread", "its insert may be rated less"
    yield from (("serial-alike", why) for why in judge.twins(id_, card, sure=False))
    for e in (e for e in listed(card.get("inspected")) if judge.stands(e) and not judge.looks(card, 3, last(e) + dt.timedelta(1))):
        notes = [] if any(f.get("what") for f in listed(e.get("findings"))) else [e.get("note")]
        notes += [f.get("note") for f in listed(e.get("findings")) if verdict(e) == "pass" and not f.get("what") and f["result"] != "pass"]
        yield from (("note-asks-for-finding", f"a note says {said!r}") for said in notes if said and text.is_grave(said))
    if text.is_grave(card.get("note") or ""):
        yield "note-asks-for-finding", f"a note says {card['note']!r}"
