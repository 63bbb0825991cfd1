"""How many fills a day the station carries: what was asked, what binds, what a bank more adds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankbook.filling.size_up import (
    AheadTold,
    BankSize,
    DayTold,
    FillPace,
    FullBy,
    MoreOf,
    PartLeftOut,
    StationChoice,
    StationSize,
)
from tankbook.filling.sizing import MOST_COUNTED, Binds
from tankbook.filling.usual_days import KindAsked
from tankbook.output.as_json import pressures
from tankbook.output.fill_book import FREE_GAS, amount
from tankbook.output.page import Page, counted, plain_date, titled
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.output.words import HELIUM
from tankbook.units import SAID_LIKE, Volume

WORST = 5
"""So many of the days that would not have been carried are shown to people; JSON has all."""


NO_DAYS = "-"


def _fills(count: int) -> str:
    return f"{count}" if count < MOST_COUNTED else f"{MOST_COUNTED} or more"


def _many(count: int) -> str:
    return counted(count, "fill") if count < MOST_COUNTED else f"{_fills(count)} fills"


def _added(count: int) -> str:
    return f"+{count}" if count else "-"


def _free(gas: Volume | None) -> dict[str, float | None]:
    return {f"free_gas_{unit}": gas.to(unit) if gas else None for unit in FREE_GAS}


DAYS = Table[DayTold](
    Column("date", lambda d: d.logged.day, "day", plain_date),
    Column("fills", lambda d: d.done.asked, "fills", right=True),
    Column("carried", lambda d: d.done.carried, "carried", right=True),
    Column("free_gas", lambda d: d.logged.gas, "gas", units=FREE_GAS, right=True),
    Column("waited_minutes", lambda d: d.done.waited),
    Column("late", lambda d: d.late, "late", right=True),
    Column("taken_as_usual", lambda d: d.logged.taken_as_usual),
    Column("hours_told", lambda d: d.logged.timed),
)
"""The days of the log, filled again."""

KINDS = Table[KindAsked](
    Column("size", lambda k: k.size, "size", wrap=True),
    Column("marked", lambda k: k.marked, "marked", reading=Page.whole, units=PRESSURE, right=True),
    Column("fills", lambda k: k.fills, "fills", right=True),
    Column("from", lambda k: k.start, "from", reading=Page.whole, units=PRESSURE, right=True),
    Column("to", lambda k: k.end, "to", reading=Page.whole, units=PRESSURE, right=True),
    Column("free_gas", lambda k: k.gave, "gas each", units=FREE_GAS, right=True),
)
"""What was filled, by size and marked pressure; pressures and gas are medians."""

AHEAD = Table[AheadTold](
    Column("date", lambda a: a.booked.day, "booked for", plain_date),
    Column("fills", lambda a: a.booked.count, "fills", right=True),
    Column("carried", lambda a: a.carried, "carried", right=True),
    Column("free_gas", lambda a: a.booked.gas, "gas", units=FREE_GAS, right=True),
    Column("taken_as_usual", lambda a: a.booked.taken_as_usual),
)
"""The days ahead."""

LEFT_OUT = Table[PartLeftOut](
    Column("part", lambda p: p.part, "not counted on", wrap=True),
    Column("why", lambda p: p.why, "why", wrap=True),
    Column("mend", lambda p: p.mend or None, "what to do", wrap=True),
)
"""What of the station is not counted on."""

BANKS = Table[BankSize](
    Column("name", lambda b: b.label),
    Column("water_volume_L", lambda b: b.water_volume.litres),
    Column("full", lambda b: b.full, units=PRESSURE),
    Column("full_by", lambda b: b.by.value),
    Column("readings", lambda b: b.readings),
    Column("read", lambda b: b.typically, units=PRESSURE),
)


def choices_table(found: StationSize, page: Page) -> Table[StationChoice]:
    """The station as it is, and with one thing more."""
    first = found.now.carries
    of_days = str if found.days else NO_DAYS.format

    return Table[StationChoice](
        Column("more", lambda c: c.more.value),
        Column("", lambda c: named(c, page), "with", wrap=True),
        Column("bank", lambda c: BANKS.object(c.bank) if c.bank else None),
        Column("full_banks", lambda c: c.carries.by_banks, "banks", _fills, right=True),
        Column("a_day", lambda c: c.carries.a_day, "a day", _fills, right=True),
        Column("more_a_day", lambda c: c.carries.a_day - first.a_day, "more", _added,
               right=True),
        Column("at_most", lambda c: c.carries.at_most, "at most", right=True),
        Column("binds", lambda c: c.carries.binds.value, "binds"),
        Column("days_carried", lambda c: c.days_carried, "days", of_days, right=True),
    )  # fmt: skip


def named(choice: StationChoice, page: Page) -> str:
    """What a station has more: `one more bank, 50 L at 4500 psi`."""
    if choice.bank is not None:
        higher = ", rated higher" if choice.more is MoreOf.HIGHER_BANK else ""
        what = f"one more bank{higher}"
        return f"{what}, {choice.bank.water_volume} at {page.marked(choice.bank.full)}"
    words = {
        MoreOf.NOTHING: "as it is",
        MoreOf.HOUR: "one more hour",
        MoreOf.COMPRESSOR: "one more compressor like the fastest",
    }
    return words[choice.more]


def data(found: StationSize) -> dict[str, Any]:
    """The JSON shape of `station size`. Pressures are gauge."""
    usual, days = found.usual.usual, found.usual
    busiest = days.busiest
    return {
        "since": days.since,
        "until": days.until,
        "gas": found.gas,
        "ambient_c": found.ambient.celsius,
        "reference": str(found.reference),
        "counted_in": {
            "size": usual.name,
            "fills": usual.fills,
            "water_volume_L": usual.volume.litres,
            **pressures(**{"from": usual.start, "to": usual.target}),
        },
        "asked": {
            "days": len(days.days),
            "fills": sum(days.counts),
            "usual_day": days.typical,
            "busy_day": days.busy,
            "most": len(busiest.fills) if busiest else None,
            "most_on": busiest.day if busiest else None,
            "usual_day_gas": _free(days.gas_of(0.5)),
            "busy_day_gas": _free(days.gas_of(0.9)),
            "taken_as_usual": sum(day.taken_as_usual for day in days.days),
            "days_without_hours": sum(not day.timed for day in days.days),
            "without_temperature": days.no_temperature,
            "today": days.today,
            "other_gas": days.other_gas,
            "elsewhere": days.elsewhere,
            "unread": days.unread,
            "kinds": KINDS.objects(days.kinds),
        },
        "opens": found.hours.opens and clock_time(found.hours.opens.minutes),
        "hours": found.hours.runs.hours,
        "opened_on_days": found.hours.opened_on,
        "closed_on_days": found.hours.closed_on,
        "banks": BANKS.objects(found.banks),
        "compressors": [
            {"name": c.label, "runs_hours": c.minutes / 60, **_free(c.gas)}
            for c in found.compressors
        ],
        "left_out": LEFT_OUT.objects(found.left_out),
        "by_compressors": found.now.carries.by_compressors,
        "choices": choices_table(found, Page()).objects(found.choices),
        "left_in_banks": _free(found.left),
        "pace": found.pace
        and {
            "fills": found.pace.fills,
            "positions": found.pace.positions,
            "load_minutes": found.pace.load_minutes,
            "assumed": found.pace.assumed,
        },
        "refill_hours": None if found.refill is None else found.refill / 60,
        "days": DAYS.objects(found.days),
        "ahead": AHEAD.objects(found.ahead),
        "undated": found.undated,
    }


def headline(found: StationSize, page: Page) -> str:
    """`CARRIES 31 fills of al80 a day, 14 of them from full banks; a busy day asked 12`."""
    now, days = found.now.carries, found.usual
    name = days.usual.name
    if now.binds is Binds.REACH:
        return f"CARRIES NO FILL: nothing here reaches {page.pressure(days.usual.target)}"
    said = (
        f"CARRIES {_many(now.a_day)} of {name} a day" if now.a_day else f"CARRIES NO FILL of {name}"
    )
    some = found.banks and now.a_day
    banks = f", {_fills(now.by_banks)} of them from full banks alone" if some else ""
    if days.busy is None or days.busiest is None:
        return f"{said}{banks}; no fill is logged since {days.since}"
    short = len(found.not_carried)
    lacks = f"; of {counted(len(days.days), 'day')} {short} not carried whole" if short else ""
    return (
        f"{said}{banks}; a busy day asked {days.busy}, the busiest {len(days.busiest.fills)}{lacks}"
    )


def text(found: StationSize, page: Page) -> str:
    """What is carried and what binds, what one thing more adds, what was asked and is booked."""
    worst = found.not_carried[:WORST]
    more = len(found.not_carried) - len(worst)
    parts = (
        page.paragraphs(_basis(found, page)),
        _in_amounts(choices_table(found, page), page).text(found.choices, page),
        page.paragraphs(_binding(found, page)),
        _in_amounts(KINDS, page).text(found.usual.kinds, page),
        page.paragraphs(_asked(found, page)),
        titled("Not carried" + (f" (and {more} more)" if more else ""),
               _in_amounts(DAYS, page).text(worst, page)),
        page.paragraphs(_late(found)),
        _in_amounts(AHEAD, page).text(found.ahead, page),
        LEFT_OUT.text(found.left_out, page),
        page.paragraphs((*_unsure(found, page), HOW)),
        page.wrap(HELIUM) if found.gas.helium_percent else "",
    )  # fmt: skip
    return page.answer(headline(found, page), *parts)


HOW = (
    "`banks` is how many such fills full banks give by themselves, `a day` how many are carried "
    "with all of them there in the morning; no way of filling exceeds `at most` (mass balance). "
    "`days` are those of the log of which every fill came full. It is gas that is counted, cold "
    "and real, not the heat of a fill. A bank is a pressure vessel: whether one may be added is "
    "for its maker's papers and local rules."
)


def _in_amounts(table: Table[Any], page: Page) -> Table[Any]:
    """A table with free gas to a whole cubic foot or litre."""
    return Table(
        *(
            column._replace(said=lambda v: amount(v, page)) if column.key == "free_gas" else column
            for column in table.columns
        )
    )


def _basis(found: StationSize, page: Page) -> Iterator[str]:
    """The cylinder, the banks and the hours that it is reckoned with."""
    usual = found.usual.usual
    volume = usual.volume.format("L", 1)
    name = volume if usual.name == volume else f"{usual.name}, {volume}"
    span = f"{page.pressure(usual.start)} to {page.pressure(usual.target)}"
    of = (
        f"the median of {counted(usual.fills, 'fill')} of the commonest size"
        if usual.fills
        else "the standard cylinder: no fill says what it took"
    )
    yield (
        f"Counted in {name}, from {span} of {found.gas}, "
        f"cold at {page.temperature(found.ambient)} ({of})."
    )
    if found.banks:
        banks = "; ".join(_bank(bank, page) for bank in found.banks)
        yield f"Banks, full in the morning: {banks}."
    low = [b for b in found.banks if b.seldom_full]
    if low:
        read = "; ".join(
            f"{b.label} {page.pressure(b.typically)} of {counted(b.readings, 'reading')}"
            for b in low
            if b.typically
        )
        yield f"As read they were not full: typically (the median) {read}. From less, less comes."
    yield from (
        f"How long {c.label or 'the compressor'} rests after {c.longest_run} is not recorded, and "
        "is taken as no time."
        for c in found.compressors
        if c.longest_run is not None and c.longest_run.si > 0 and not (c.rest and c.rest.si > 0)
    )
    yield from (
        f"{c.label or 'The compressor'} runs {c.minutes / 60:.1f} h of the day and makes "
        f"{amount(c.gas, page)}."
        for c in found.compressors
    )
    if found.compressors:
        yield _day(found)


def _bank(bank: BankSize, page: Page) -> str:
    by = {
        FullBy.RATED: "as rated",
        FullBy.RAISED: "as it was raised to, typically",
        FullBy.COMPRESSOR: "all that the compressor reaches",
        FullBy.READ: "the highest it was read; its rating is not recorded",
        FullBy.ASKED: "as asked",
    }
    return f"{bank.label} {bank.water_volume} at {page.marked(bank.full)} ({by[bank.by]})"


def _day(found: StationSize) -> str:
    hours = found.hours
    if hours.opens is None:
        begins = "with its first fill, as no list of opening tells the hour"
    else:
        begins = f"at {clock_time(hours.opens.minutes)}"
        begins += f", the median of {counted(hours.opened_on, 'day')} with an opening"
    said = f"A working day begins {begins}; it is {hours.runs.hours:.3g} h long"
    if hours.given:
        return f"{said}, as asked."
    if hours.closed_on:
        return f"{said}, the median of {counted(hours.closed_on, 'day')} with a closing too."
    return f"{said} (common practice, no source), or as --hours says."


def clock_time(minutes: float) -> str:
    """Minutes after midnight as a time of the day: `09:30`."""
    return f"{round(minutes) // 60:02d}:{round(minutes) % 60:02d}"


def _binding(found: StationSize, page: Page) -> Iterator[str]:
    """What stands in the way of one fill more, and what the compressors can do day after day."""
    now, usual = found.now.carries, found.usual.usual
    target = page.pressure(usual.target)
    left = amount(found.left, page)
    hours = " when the compressors stop" if found.compressors else ""
    if now.binds is Binds.REACH:
        yield f"What binds is reach: no bank and no compressor brings a cylinder to {target}."
    elif now.binds is Binds.PRESSURE:
        yield (
            f"What binds is pressure: after {_many(now.a_day)} the banks still hold {left} above "
            f"{page.pressure(usual.start)}{hours}, and bring no such cylinder to {target}. Another "
            "bank, opened last, or one rated higher uses it."
        )
    else:
        yield f"What binds is gas: after {_many(now.a_day)} there is not enough left{hours}."
    if found.compressors and found.banks:
        yield (
            f"Day after day it carries no more than {now.by_compressors:.1f}: what the banks give "
            "has to be made again."
        )
    if found.banks and found.refill is not None:
        yield (
            f"After the hardest busy day the compressors run {found.refill / 60:.1f} h more until "
            "the banks are full again."
        )
    if found.pace is not None:
        yield _pace(found.pace, page)
    if not found.compressors:
        yield (
            "No compressor is counted on: the banks are taken to be filled again from elsewhere "
            "before each day."
        )
    if not found.banks and all(c.bank is None for c in found.choices):
        like = SAID_LIKE[page.shore.value].new_bank
        yield f"There is no bank to take as a pattern: --add {like} asks what one would add."


def _pace(pace: FillPace, page: Page) -> str:
    rate = f"{pace.rate}, {pace.handling} to connect and remove a load"
    usual = " (as is usual where station.yaml names none)" if pace.assumed else ""
    return (
        f"Gas is not all: at {counted(pace.positions, 'position')}, {rate}{usual}, one person "
        f"fills {pace.fills} in the day at the most, where none is held at its stop as it cools: "
        "`plan` tells what a hold takes."
    )


def _asked(found: StationSize, page: Page) -> Iterator[str]:
    """What the log asked of a usual day and of busy ones."""
    days, busiest = found.usual, found.usual.busiest
    if busiest is None or days.typical is None:
        yield (
            f"No fill of {found.gas} is logged from {days.since} to {days.until}: nothing is known "
            "of what a day asks. Log each fill with its pressures: `tankbook fill`."
        )
        return
    usual, busy = days.gas_of(0.5), days.gas_of(0.9)
    assert usual is not None
    assert busy is not None
    yield (
        f"From {days.since} to {days.until} {counted(len(days.days), 'day')} had fills: a usual "
        f"one {days.typical:g} ({amount(usual, page)}, the median), a busy one {days.busy} "
        f"({amount(busy, page)}; nine in ten ask no more), the busiest {len(busiest.fills)} on "
        f"{plain_date(busiest.day)} ({amount(busiest.gas, page)})."
    )
    waits = [d.done.waited for d in found.days if d.done.whole and d.done.waited >= 1]
    if waits:
        yield (
            f"On {counted(len(waits), 'day')} of those carried a cylinder stood until the "
            f"compressors had done their part, {max(waits):.0f} min at the most."
        )


def _late(found: StationSize) -> Iterator[str]:
    """That fills were asked for after hours, which the compressors do not help."""
    if any(told.late for told in found.not_carried):
        yield (
            "`late` were asked for when the working day was over and the compressors had stopped; "
            "--hours counts with longer days."
        )


def _unsure(found: StationSize, page: Page) -> Iterator[str]:
    """What the answer does not rest on."""
    days, free = found.usual, page.temperature(found.reference.temperature)
    usual = sum(day.taken_as_usual for day in days.days)
    untimed = sum(not day.timed for day in days.days)
    ahead = sum(each.booked.taken_as_usual for each in found.ahead)
    said = (
        (usual, "without pressures, gas or volume on record, taken as the usual cylinder"),
        (days.no_temperature, f"without a temperature taken as read at {free}: hot, it held less"),
        (days.other_gas, "of other gases not counted (--gas asks about them)"),
        (days.elsewhere, "made elsewhere not counted"),
        (days.today, f"of {found.today} not counted, as the day may not be over"),
        (ahead, "booked of a size without volume or pressure, taken as the usual cylinder"),
        (found.undated, "of open jobs without a day not counted among the days ahead"),
    )
    yield from (f"{counted(n, 'fill')} {why}." for n, why in said if n)
    if untimed:
        yield (
            f"{counted(untimed, 'day')} with one time for every fill: spread over the working day."
        )
    if found.ahead:
        yield (
            "A booking counts whole: what stands full already asks for no fill. All are taken to "
            "come in the morning."
        )
    if days.unread:
        yield f"INCOMPLETE: {', '.join(days.unread)} could not be read; fills may be missing."
