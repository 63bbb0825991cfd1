"""The parts of the records that checks are given, by the name a check asks for them with."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from functools import partial
from itertools import pairwise
from typing import Any

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.log import Log, LogLine
from tankbook.records.words import LogAct
from tankbook.rules.air import air_judge
from tankbook.rules.bad_air import bad_air_of, sampled_cylinders
from tankbook.rules.bank_air import beyond_banks
from tankbook.rules.bank_gas import (
    filled_from_unknown,
    gas_unsure,
    raised_from_nothing,
    untested_air,
)
from tankbook.rules.bank_held import banks_held
from tankbook.rules.commented import comments_against, comments_unjudged
from tankbook.rules.counter import stolen_as
from tankbook.rules.expansion import expansion_beyond, expansion_limit
from tankbook.rules.fill_history import (
    days_looked_inside,
    emptied_alone,
    filled_elsewhere,
    gas_readings_of,
    is_taken_for_full,
    let_out_before,
    lines_about,
    read_otherwise,
    rentals_of,
    rises_of,
    sets_with,
    struck_out_lines,
)
from tankbook.rules.filled import (
    fills_of,
    telling_rentals,
    unsigned_strange_strikes,
    unsigned_strikes,
)
from tankbook.rules.hours import told_of_hours
from tankbook.rules.in_hands import went_out
from tankbook.rules.incident_held import Unheld, unheld
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.limits import limit_of, permit_doubt
from tankbook.rules.mixed import mix_of
from tankbook.rules.of_nobody import lives_of_nobody, unknown_lines
from tankbook.rules.overfilled import filled_hot, stood_over
from tankbook.rules.own_analysis import user_read_otherwise
from tankbook.rules.remarks import notes_answered
from tankbook.rules.schedule import meter_stale, meter_unread
from tankbook.rules.services import analysis_tolerance
from tankbook.rules.signing import bench_of
from tankbook.rules.source_grade import unproved
from tankbook.rules.source_range import raised_beyond
from tankbook.rules.stamped import marks_of, plus_is_stamped, stamps_of
from tankbook.rules.status import worked_out
from tankbook.rules.test_pressure import test_pressure_of
from tankbook.rules.trained import seen_no_more
from tankbook.rules.twins import ids_by_serial, may_be_in, serials_of
from tankbook.rules.two_halves import halves_at_odds
from tankbook.rules.under_pressure import under_pressure
from tankbook.rules.volume import known_sizes, water_volume_of

Part = Callable[[Book, dt.date], Any]
CardPart = Callable[[Book, Cylinder, dt.date], Any]
SetPart = Callable[[Book, Doubles, dt.date], Any]


@once_per_book
def _out_of_order(book: Book) -> tuple[LogLine, ...]:
    log = Log.of(book.log)
    if log.in_order:
        return ()
    pairs = ((a, b) for a, b in pairwise(log) if a.path == b.path and b.at < a.at)
    return tuple(b for a, b in pairs if not _sets_right(a, b))


def _sets_right(struck: LogLine, line: LogLine) -> bool:
    """Whether a line is the right one behind that which strikes the wrong one out: it has the time
    of what it tells, and is written when that was found."""
    if struck.act is not LogAct.VOID or line.act is LogAct.VOID:
        return False
    of_then = (struck.voids or "").startswith(line.at.isoformat())
    return of_then or struck.cylinder == line.cylinder


@once_per_book
def _named_in_broken(book: Book) -> dict[str, tuple[str, ...]]:
    """Whom each set that cannot be read may touch, by its path: the cylinders that its text names,
    else all that are in no other set."""
    single = tuple(c for c in book.cylinders if c not in sets_with(book))
    found = {}
    for path, words in book.broken_sets.items():
        named = tuple(w for w in dict.fromkeys(words) if w in book.cylinders)
        found[path] = named if len(named) > 1 else (*named, *single)
    return found


def _serials_in_broken(book: Book) -> dict[str, tuple[str, ...]]:
    """The cylinders whose serial stands in the text of each card that cannot be read."""
    return {
        path: tuple(
            card.id
            for card in book.cylinders.values()
            if any(may_be_in(text, serial) for serial in serials_of(card))
        )
        for path, text in book.broken_cards.items()
    }


def _unheld(book: Book, today: dt.date) -> list[Unheld]:
    """What incidents name and nobody set aside; of a bank while nothing has opened it since."""
    banks = [b.name for b in book.station.banks] if book.station else []
    shut = {held.name for held in banks_held(book, today)}
    opened = {f"bank {name}" for name in banks if name not in shut}
    return [each for each in unheld(book) if each.name not in opened]


def _of_no_day(part: Callable[..., Any]) -> Callable[..., Any]:
    """A part that asks for no day, as one that is given a day last of all."""
    return lambda *asked: part(*asked[:-1])


_SHARED: Mapping[str, Callable[[Book], Any]] = {
    "tolerance": lambda book: analysis_tolerance(rules_of(book)),
    "rules": lambda book: rules_of(book),
    "settings": lambda book: book.settings,
    "people": lambda book: book.settings.people,
    "checklists": lambda book: book.checklists,
    "bench": lambda book: bench_of(book),
    "station": lambda book: book.station,
    "counter": lambda book: book.counter,
    "air": lambda book: air_judge(book),
    "unproved": lambda book: tuple(unproved(book)),
    "gases_unsure": lambda book: [
        (bank, found)
        for bank in (book.station.banks if book.station else ())
        if (found := gas_unsure(book, bank)) is not None
    ],
    "raised_from_nothing": lambda book: tuple(raised_from_nothing(book)),
    "raised_beyond": lambda book: tuple(raised_beyond(book)),
    "papers": lambda book: book.papers,
    "log": lambda book: book.log,
    "by_serial": lambda book: ids_by_serial(book),
    "unknown_lines": lambda book: unknown_lines(book),
    "lives_of_nobody": lambda book: tuple(lives_of_nobody(book)),
    "strange_strikes": lambda book: unsigned_strange_strikes(book),
    "beyond_banks": lambda book: beyond_banks(book),
    "of_cylinders": lambda book: [
        t for t in (book.station.air_tests if book.station else ()) if sampled_cylinders(book, t)
    ],
    "out_of_order": lambda book: _out_of_order(book),
    "gone_lines": lambda book: struck_out_lines(book),
    "cylinders": lambda book: book.cylinders,
    "all_sets": lambda book: book.every_set,
    "apart": lambda book: book.apart,
    "set_names": lambda book: sets_with(book),
    "ids": lambda book: book.ids,
    "sizes": lambda book: known_sizes(book),
    "finding_rows": lambda book: book.finding_rows,
    "mark_words": lambda book: book.mark_words,
    "unread": lambda book: book.findings,
    "broken": lambda book: book.broken,
    "astray": lambda book: book.astray,
    "card_like": lambda book: book.broken_sets.keys() | book.broken_cards.keys(),
    "named_in_broken": lambda book: _named_in_broken(book),
    "serials_in_broken": lambda book: _serials_in_broken(book),
    "is_cut": lambda book: book.cut,
    "absence": lambda book: book.absence,
    "ahead": lambda book: book.ahead,
}
_SHARED_OF_DAY: Mapping[str, Part] = {
    "today": lambda book, today: today,
    "seen_no_more": lambda book, today: tuple(seen_no_more(book, today)),
    "unheld": _unheld,
    "meter_unread": lambda book, today: meter_unread(book.station, today) if book.station else "",
    "meter_stale": lambda book, today: meter_stale(book, today),
    "latest_day": lambda book, today: max(today, book.clock or today),
}
SHARED: Mapping[str, Part] = {
    **{name: _of_no_day(part) for name, part in _SHARED.items()},
    **_SHARED_OF_DAY,
}
"""What any check may ask for."""

_OF_CARD: Mapping[str, Callable[[Book, Cylinder], Any]] = {
    "facts": lambda book, card: facts_of(card, rules_of(book)),
    "worked_out": lambda book, card: worked_out(book, card),
    "limit": lambda book, card: limit_of(book, card),
    "permit_doubt": lambda book, card: permit_doubt(book, card),
    "test_pressure": lambda book, card: test_pressure_of(book, card),
    "expansion": lambda book, card: expansion_limit(book, card),
    "expansion_beyond": lambda book, card: expansion_beyond(book, card),
    "volume": lambda book, card: water_volume_of(book, card),
    "trade_size": lambda book, card: book.sizes.get(card.size or ""),
    "stolen": lambda book, card: stolen_as(book, card),
    "rentals": lambda book, card: rentals_of(book, card.id),
    "own_analysis": lambda book, card: user_read_otherwise(book, card.id),
    "odd_hours": lambda book, card: told_of_hours(book, card.id),
    "went_at": lambda book, card: partial(went_out, book, card.id),
    "halves": lambda book, card: tuple(halves_at_odds(book, card.id)),
    "about": lambda book, card: lines_about(book, card.id),
    "filled": lambda book, card: fills_of(book, card),
    "taken_for_full": lambda book, card: is_taken_for_full(book, card.id),
    "looked_inside": lambda book, card: days_looked_inside(book, card),
    "let_out_before": lambda book, card: partial(let_out_before, book, card),
    "telling_rentals": lambda book, card: telling_rentals(book, card),
    "filled_hot": lambda book, card: filled_hot(book, card),
    "stood_over": lambda book, card: stood_over(book, card),
    "marks": lambda book, card: marks_of(card),
    "stamps": lambda book, card: stamps_of(card),
    "bad_air": lambda book, card: bad_air_of(book, card),
    "of_unknown": lambda book, card: filled_from_unknown(book, card),
    "untested": lambda book, card: untested_air(book, card),
    "answered": lambda book, card: notes_answered(book, card),
    "elsewhere": lambda book, card: filled_elsewhere(book, card),
    "mix": lambda book, card: mix_of(book, card),
    "gas_readings": lambda book, card: gas_readings_of(book, card),
    "rises": lambda book, card: rises_of(book, card),
    "comments": lambda book, card: comments_against(book, card),
    "unjudged": lambda book, card: comments_unjudged(book, card),
    "danger_held": lambda book, card: under_pressure(book, card),
}
_OF_CARD_AND_DAY: Mapping[str, CardPart] = {
    "unsigned_strikes": lambda book, card, today: unsigned_strikes(book, card, today),
    "plus_is_stamped": lambda book, card, today: plus_is_stamped(card, today),
}


OF_CARD: Mapping[str, CardPart] = {
    "card": lambda book, card, today: card,
    **{name: _of_no_day(part) for name, part in _OF_CARD.items()},
    **_OF_CARD_AND_DAY,
}
"""What a check of a cylinder may ask for besides."""

OF_NO_DAY = frozenset({"card", *_SHARED, *_OF_CARD})
"""What a check of a cylinder may ask for that is the same whatever the day that is asked about."""

OF_SET: Mapping[str, SetPart] = {
    "doubles": lambda book, doubles, today: doubles,
    "sides": lambda book, doubles, today: tuple(
        book.cylinders[m] for m in dict.fromkeys(doubles.cylinders) if m in book.cylinders
    ),
    "read_otherwise": lambda book, doubles, today: tuple(read_otherwise(book, doubles)),
    "emptied_alone": lambda book, doubles, today: emptied_alone(book, doubles),
    "own_analysis_of_set": lambda book, doubles, today: user_read_otherwise(book, doubles.id),
    "halves_of_set": lambda book, doubles, today: tuple(halves_at_odds(book, doubles.id)),
    "odd_hours_of_set": lambda book, doubles, today: told_of_hours(book, doubles.id),
}
"""What a check of a set may ask for besides."""
