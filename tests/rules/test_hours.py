"""Hours of going out and coming back that cannot both be so: one judge, told and refused."""

from __future__ import annotations

from typing import NamedTuple

import pytest
from books import GOOD, make_book, stamped, with_lines

from tankbook.rules.hours import hours_at_odds

DAY = "2026-11-25"


def read(at: str, who: str = "B-1", id_: str = "A", day: str = DAY) -> str:
    return (
        f"at={day}T{at}:00+00:00; cylinder={id_}; act=reading; to=900 psi; by=MV; "
        f"note=back from {who}\n"
    )


def rented(at: str = "", who: str = "B-1", on: str = DAY, back: str = DAY) -> str:
    hour = f", at: '{at}'" if at else ""
    end = f", back: {back}, pressure: 900 psi, valve: closed" if back else ""
    return f"{{on: {on}, by: MV, to: {who}, until: {on}{hour}{end}}}"


def filled(at: str) -> str:
    return f"at={DAY}T{at}:00+00:00; cylinder=A; act=fill; to=3000 psi; gas=air; source=B1; by=MV\n"


def job(at: str, collected: str, on: str = DAY) -> str:
    hour = f"at: '{at}', " if at else ""
    return f"{{on: {on}, by: MV, {hour}work: [fill], reference: C-9, collected: {DAY}, collected_at: '{collected}'}}"


VOID = (
    "at=2026-11-25T20:00:00+00:00; cylinder=A; act=void; voids=2026-11-25T11:30:00+00:00; by=MV\n"
)
SOLD = "{on: 2026-11-25, by: MV, to: C-1, slip: 2026-001, at: '%s'}"

CASES: dict[str, tuple[dict[str, str], str, str]] = {
    "in order": ({"rented": rented("08:00")}, read("12:00"), ""),
    "in one minute": ({"rented": rented("08:00")}, read("08:00"), ""),
    "back before out": ({"rented": rented("08:00")}, read("07:59"), "came back at 07:59"),
    "back another day": ({"rented": rented("08:00", back="2026-11-26")}, read("06:00", day="2026-11-26"), ""),
    "no hour of leaving": ({"rented": rented()}, read("06:00"), ""),
    "no reading": ({"rented": rented("08:00")}, "", ""),
    "twice, in order": ({"rented": f"{rented('08:00')}, {rented('14:00', 'B-2')}"}, read("12:00") + read("17:00", "B-2"), ""),
    "twice to one": ({"rented": f"{rented('08:00')}, {rented('14:00')}"}, read("12:00") + read("17:00"), ""),
    "twice to one, one not read": ({"rented": f"{rented('08:00')}, {rented('14:00')}"}, read("12:00"), ""),
    "twice to one, late": ({"rented": f"{rented('08:00')}, {rented('14:00')}"}, read("12:00") + read("13:00"), "came back at 13:00, and went out at 14:00"),
    "twice at once": ({"rented": f"{rented('08:00')}, {rented('10:00', 'B-2')}"}, read("12:00") + read("17:00", "B-2"), "went out at 10:00, and came back at 12:00 from B-1"),
    "twice at once, the other way about": ({"rented": f"{rented('10:00', 'B-2')}, {rented('08:00')}"}, read("12:00") + read("17:00", "B-2"), "went out at 10:00, and came back at 12:00 from B-1"),
    "while out overnight": ({"rented": f"{rented('08:00', back='2026-11-26')}, {rented('10:00', 'B-2')}"}, read("17:00", "B-2"), "was out with B-1 then"),
    "out before back from yesterday": ({"rented": f"{rented(on='2026-11-24')}, {rented('10:00', 'B-2', back='')}"}, read("12:00"), "went out at 10:00, and came back at 12:00"),
    "out after back from yesterday": ({"rented": f"{rented(on='2026-11-24')}, {rented('13:00', 'B-2', back='')}"}, read("12:00"), ""),
    "sold before it was back": ({"rented": rented("08:00"), "handed_over": SOLD % "11:00"}, read("12:00"), "handed over at 11:00, and came back at 12:00"),
    "sold before it went out": ({"rented": rented("08:00"), "handed_over": SOLD % "07:00"}, read("12:00"), "handed over at 07:00, and went out to B-1 at 08:00"),
    "sold after it was back": ({"rented": rented("08:00"), "handed_over": SOLD % "13:00"}, read("12:00"), ""),
    "collected before taken in": ({"jobs": job("09:00", "08:00")}, "", "collected at 08:00, and taken in at 09:00"),
    "collected after": ({"jobs": job("09:00", "10:00")}, filled("09:30"), ""),
    "collected before it was filled": ({"jobs": job("", "08:00")}, filled("09:30"), "collected at 08:00, and filled at 09:30"),
    "collected, and filled again": ({"jobs": job("", "10:00")}, filled("09:30") + filled("15:00"), ""),
    "taken in before, filled again later": ({"jobs": job("", "08:00", "2026-11-20")}, filled("09:30"), ""),
    "filled while out": ({"rented": rented("08:00")}, read("12:00") + filled("11:30"), "filled at 11:30, and was out with B-1 since 08:00 until 12:00"),
    "filled before it left": ({"rented": rented("08:00")}, filled("07:30") + read("12:00"), ""),
    "filled as it left": ({"rented": rented("08:00")}, filled("08:00") + read("12:00"), ""),
    "filled as it came": ({"rented": rented("08:00")}, read("12:00") + filled("12:00"), ""),
    "filled and no hour of leaving": ({"rented": rented()}, filled("07:30") + read("12:00"), ""),
    "filled and no hour of the return": ({"rented": rented("08:00")}, filled("11:30"), ""),
    "filled on the day it came, before": ({"rented": rented(on="2026-11-24")}, filled("11:30") + read("12:00"), "filled at 11:30 on 2026-11-25, and was out with B-1 until 12:00"),
    "filled on the day it came, after": ({"rented": rented(on="2026-11-24")}, read("12:00") + filled("12:30"), ""),
    "filled on the day it left, after": ({"rented": rented("08:00", back="2026-11-26")}, filled("11:30"), "out with B-1 since 08:00"),
    "filled on the day it left, not back": ({"rented": rented("08:00", back="")}, filled("11:30"), "out with B-1 since 08:00"),
    "filled between two": ({"rented": f"{rented('08:00')}, {rented('14:00', 'B-2')}"}, read("12:00") + filled("13:00") + read("17:00", "B-2"), ""),
    "filled while out, struck out": ({"rented": rented("08:00")}, read("12:00") + filled("11:30") + VOID, ""),
}  # fmt: skip


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("case", CASES)
def test_hours_that_cannot_both_be_so(case: str, whole: bool) -> None:
    lists, log, told = CASES[case]
    if whole and lists.keys() != {"rented"}:
        return
    entries = "".join(f"{name}: [{each}]\n" for name, each in lists.items())
    card = stamped(with_lines(GOOD, status=None))
    if whole:
        cards = {"A": card, "B": card.replace("K118204", "K118205")}
        sets = {"DB": f"cylinders: [A, B]\nrating: 3442 psi\nisolator: open\n{entries}"}
        book = make_book(cards, sets=sets, log=log.replace("=A;", "=DB;"))
    else:
        book = make_book({"A": card + entries}, log=log)
    found = [each.text for each in hours_at_odds(book, "DB" if whole else "A")]
    assert len(found) == bool(told), found
    assert all(told in each for each in found)


# --- every line that needs hands on it, against every way of being out ---------------------------


class Way(NamedTuple):
    """A way of being out: what says so, of the card, its set or the other side, with the readings
    of the log, and from which moment until which it was surely out (day and hour of November)."""

    owner: str
    entries: str
    log: str
    since: tuple[int, str] | None
    until: tuple[int, str] | None


def _out(owner: str, entries: str, since: tuple[int, str] | None, until: tuple[int, str] | None,
         log: str = "") -> Way:  # fmt: skip
    return Way(owner, entries, log, since, until)


LEFT, CAME, OPEN, SHUT = (24, "10:00"), (26, "15:00"), (30, "23:59"), (26, "00:00")
NIGHT = (24, "23:59")
BACK = ", back: 2026-11-26, pressure: 900 psi, valve: closed"
GONE = "{on: 2026-11-24, by: MV, to: B-1, until: 2026-11-26, at: '10:00'%s}"
GONE_BY_DAY = "{on: 2026-11-24, by: MV, to: B-1, until: 2026-11-26%s}"
AWAY = "{on: 2026-11-24, by: MV, to: LAB, for: requalification%s}"
CAME_IN = read("15:00", day="2026-11-26")
STRUCK = ", void: {on: 2026-11-24, by: MV, why: another went out}"
WAYS = {
    **{
        f"{what} of {owner}": _out(owner, f"rented: [{entry}]", since, until, log)
        for owner in ("A", "DB", "B")
        for what, entry, since, until, log in (
            ("a rental, open", GONE % "", LEFT, OPEN, ""),
            ("a rental, closed", GONE % BACK, LEFT, CAME, CAME_IN),
            ("a rental, no hour of return", GONE % BACK, LEFT, SHUT, ""),
            ("a rental, no hours", GONE_BY_DAY % BACK, NIGHT, SHUT, ""),
            ("a rental, struck out", GONE % STRUCK, None, None, ""),
        )
    },
    "its last day alone": _out("A", f"rented: [{GONE_BY_DAY % BACK}]", NIGHT, CAME, CAME_IN),
    "sent": _out("A", f"sent: [{AWAY % ''}]", NIGHT, OPEN),
    "sent and back": _out("A", f"sent: [{AWAY % ', back: 2026-11-26'}]", NIGHT, SHUT),
    "the other side sent": _out("B", f"sent: [{AWAY % ''}]", NIGHT, OPEN),
    "given back": _out("A", f"sent: [{AWAY.replace('requalification', 'supplier-return') % ''}]", NIGHT, OPEN),
    "sold": _out("A", "handed_over: [{on: 2026-11-24, by: MV, to: C-1, slip: 2026-001, at: '10:00'}]", LEFT, (25, "00:00")),  # then its owner walks in with it
    "sold, no hour": _out("A", "handed_over: [{on: 2026-11-24, by: MV, to: C-1, slip: 2026-001}]", None, None),
    "lost": _out("A", "lost: [{on: 2026-11-24, by: MV}]", NIGHT, OPEN),
}  # fmt: skip
MOMENTS = [(23, "12:00"), (24, "09:59"), (24, "10:00"), (24, "10:01"), (24, "20:00"),
           (25, "00:00"), (25, "12:00"), (26, "08:00"), (26, "14:59"), (26, "15:00"),
           (26, "15:01"), (27, "12:00")]  # fmt: skip
ACTS = ("fill", "reading", "drain", "reading by somebody else")


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("named", ["A", "DB"])
@pytest.mark.parametrize("way", WAYS)
def test_whoever_had_it_in_hand_while_it_was_out_is_told(way: str, named: str, act: str) -> None:
    owner, entries, log, since, until = WAYS[way]
    wholly = owner != "B" or named == "DB"  # what befalls the other side says nothing of this one
    card = stamped(with_lines(GOOD, status=None))
    cards = {"A": card, "B": card.replace("K118204", "K118205")}
    doubles = "cylinders: [A, B]\nrating: 3442 psi\nisolator: open\n"
    if owner == "DB":
        doubles += entries + "\n"
    else:
        cards[owner] += entries + "\n"
    for day, hour in MOMENTS:
        line = f"at=2026-11-{day}T{hour}:30+00:00; cylinder={named}; by=MV; act={act.split()[0]}"
        line += "; to=1000 psi" + ("; gas=air; source=B1" if act == "fill" else "")
        line += "; note=they rang" if " " in act else ""
        readings = log.replace("cylinder=A;", f"cylinder={owner};")
        book = make_book(cards, sets={"DB": doubles}, log=f"{line}\n{readings}")
        found = [o for id_ in ("A", "B", "DB") for o in hours_at_odds(book, id_)]
        out = since is not None and until is not None and since < (day, hour) < until
        by_day = act == "fill" and _is_between(since, until, day)
        assert bool(found) is (wholly and out and not by_day and " " not in act), (day, hour)
        for each in found:
            assert each.may_be
            assert f"tankbook correct {named} {act} 2026-11-{day}T{hour}:30" in each.mend(book)


def _is_between(since: tuple[int, str] | None, until: tuple[int, str] | None, day: int) -> bool:
    """Whether a day lies within whole days on which it was out, of which its fills tell."""
    return since is not None and until is not None and since[0] < day < until[0]
