"""What an obligation that lapsed, or was never met, has against a fill."""

from __future__ import annotations

import datetime as dt

from tankbook.records.rulerow import INSPECTION, STICKER, Gate, Obligation
from tankbook.rules.answers import Due, DueKind, Reason, State
from tankbook.units import PartialDate


def dated_reason(item: Due) -> Reason | None:
    """The reason that an obligation overdue or missing gives; None where it is met."""
    if item.state not in {State.OVERDUE, State.MISSING}:
        return None
    gate = item.row.gate if item.row and not _is_long_over(item) else Gate.REFUSE
    code, text = f"{item.obligation}-{item.state}", lapse_text(item)
    if item.why == STAMP_UNSAID:
        mend = (
            f"say on its card what its stamps' dates are of: `tankbook book-in --complete {item.id}"
            " --set stamp_means=test-date`, or `next-due`"
        )
        return Reason(code, text, gate, item.row, mend=mend)
    stamped = item.obligation is Obligation.VISUAL and item.row
    if stamped and INSPECTION not in stamped.met_by:
        way = (
            f"`tankbook done-elsewhere {item.id} --test visual --who WHO --done MONTH --stamp TEXT`"
        )
        mend = f"have it tested and stamped, {way}: a look of your own does not count here"
        return Reason(code, text, gate, item.row, mend=mend)
    if stamped and item.uncounted is not None:
        return Reason(code, text, gate, item.row, mend=counted_by(item))
    if stamped and STICKER not in stamped.met_by and not item.why:
        mend = "look at it by a full checklist, or have it tested: a sticker does not count here"
        return Reason(code, text, gate, item.row, mend=mend)
    return Reason(code, text, gate, item.row, mend=mend_of(item))


def counted_by(item: Due) -> str:
    """How a visual on record that does not count yet is made to, where somebody tested it."""
    line = f"tankbook done-elsewhere {item.id} --test visual --who WHO --done {item.uncounted}"
    return (
        f"where a test house did it, say who: `{line}` (`import` takes it as `visual_by` or `by:`)"
        "; else look at it by a full checklist"
    )


STAMP_UNSAID = "what the retest stamp's date means is not recorded (stamp_means)"
"""Why nothing is known of a test of which only a stamp tells, where stamps may be of the next."""

EVERY_AIR = "air"
"""What the air test is called of a station whose compressors are not told apart."""


_DONE_BY = {
    Obligation.GAUGE_CHECK: "gauge-check {} --against WHAT --reads PRESSURE --true PRESSURE",
    Obligation.WHIP_CHECK: "whip {}",
    Obligation.RELIEF_CHECK: "relief {}",
    Obligation.POSITION_CHECK: "position {}",
    Obligation.FILTER: "filter {}",
    Obligation.BUMP_TEST: "bump {}",
    Obligation.UPKEEP: "upkeep {}",
    Obligation.BANK_TEST: "bank-test {} --on MONTH --by RIN",
    Obligation.EXAMINATION: "examined {} --by EXAMINER --next DAY",
    Obligation.AIR_TEST: "air-test --by LABORATORY --source {}",
}
"""The command that records what was done at the station, once it is, for a part of it."""


def mend_of(item: Due) -> str:
    """What to do about what was never met, or is met no more, at the station; empty elsewhere,
    where the name of the obligation says it."""
    open_ = item.state in {State.OVERDUE, State.MISSING} and not item.failed
    if item.uncounted is not None and open_:
        return counted_by(item)
    if item.kind is not DueKind.STATION or not open_:
        return ""
    if item.obligation is Obligation.EXAMINATION:
        return ""  # it is recorded of its scheme, and not of the part
    if item.obligation is Obligation.FILTER and item.state is State.MISSING:
        return ""  # it says itself what is not recorded, the hour meter perhaps
    if item.obligation is Obligation.GAUGE_CHECK and item.state is State.MISSING:
        how = "compare it with a test gauge, or enter what its own certificate says"
        return recorded_with(item.obligation, item.part, how)
    if item.obligation is Obligation.BANK_TEST and item.state is State.MISSING:
        return tested_with_period(item.part)  # which may be all that it lacks
    return recorded_with(item.obligation, item.part)


def tested_with_period(bank: str) -> str:
    """With what command the last test of a bank is recorded together with its period."""
    said = recorded_with(Obligation.BANK_TEST, bank, "its last test, and the period of its papers")
    return said.replace("RIN`", "RIN --period PERIOD`")


def recorded_with(question: Obligation, part: str, how: str = "once it is done") -> str:
    """`once it is done: ...` with the command that records it of a part; empty where none does."""
    command = _DONE_BY.get(question)
    if command and question is Obligation.AIR_TEST and part in {"", EVERY_AIR}:
        command = command.removesuffix(" --source {}")  # it is of all that the station gives
    return f"{how}: `tankbook station {command.format(part)}`" if command else ""


def _is_long_over(item: Due) -> bool:
    """Whether it lapsed longer ago than its row lets it be warned of."""
    if item.row is None or item.row.refuses_after is None or item.next is None:
        return False
    if item.days_left is None:
        return False
    last = PartialDate.of(item.next).plus(item.row.refuses_after).last
    return item.next - dt.timedelta(days=item.days_left) > last


def lapse_text(item: Due) -> str:
    """What has lapsed and when, in a few words: `visual lapsed Feb 2026`."""
    name = item.obligation.called
    if item.kind == "station" and item.part not in name.split():
        name = f"{name} {item.part}".strip()
    if item.why and (item.state is State.MISSING or item.obligation is Obligation.AIR_TEST):
        return item.why if name in item.why else f"{name}: {item.why}"
    if item.why:
        return item.why
    if item.hours_over:
        its = "hours" if item.obligation is Obligation.UPKEEP else "life"
        return f"{name} is {item.hours_left} past its {its}"
    if item.obligation is Obligation.SERVICE_LIFE and item.next:
        return f"its service life ended {item.next:%b %Y}"
    return f"{name} lapsed {item.next:%b %Y}" if item.next else f"{name} has lapsed"
