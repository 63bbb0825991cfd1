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
from tankbook.rules.air import air_judge
from tankbook.rules.bad_air import bad_air_of, sampled_cylinders
from tankbook.rules.bank_air import beyond_banks
from tankbook.rules.bank_gas import filled_from_unknown, gas_unsure, raised_from_nothing
from tankbook.rules.bank_held import banks_held
from tankbook.rules.counter import stolen_as
from tankbook.rules.expansion import expansion_beyond, expansion_limit
from tankbook.rules.fill_history import (
    days_looked_inside,
    filled_elsewhere,
    gas_readings_of,
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
from tankbook.rules.incident_held import Unheld, unheld
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.limits import limit_of, permit_doubt
from tankbook.rules.mixed import mix_of
from tankbook.rules.of_nobody import lives_of_nobody, unknown_lines
from tankbook.rules.overfilled import filled_hot, stood_over
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
    return tuple(b for a, b in pairwise(log) if a.path == b.path and b.at < a.at)


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


SHARED: Mapping[str, Part] = {
    "tolerance": lambda book, today: analysis_tolerance(rules_of(book)),
    "today": lambda book, today: today,
    "rules": lambda book, today: rules_of(book),
    "settings": lambda book, today: book.settings,
    "people": lambda book, today: book.settings.people,
    "checklists": lambda book, today: book.checklists,
    "bench": lambda book, today: bench_of(book),
    "station": lambda book, today: book.station,
    "counter": lambda book, today: book.counter,
    "seen_no_more": lambda book, today: tuple(seen_no_more(book, today)),
    "unheld": _unheld,
    "air": lambda book, today: air_judge(book),
    "unproved": lambda book, today: tuple(unproved(book)),
    "gases_unsure": lambda book, today: [
        (bank, found)
        for bank in (book.station.banks if book.station else ())
        if (found := gas_unsure(book, bank)) is not None
    ],
    "raised_from_nothing": lambda book, today: tuple(raised_from_nothing(book)),
    "raised_beyond": lambda book, today: tuple(raised_beyond(book)),
    "papers": lambda book, today: book.papers,
    "meter_unread": lambda book, today: meter_unread(book.station, today) if book.station else "",
    "meter_stale": lambda book, today: meter_stale(book, today),
    "log": lambda book, today: book.log,
    "by_serial": lambda book, today: ids_by_serial(book),
    "unknown_lines": lambda book, today: unknown_lines(book),
    "lives_of_nobody": lambda book, today: tuple(lives_of_nobody(book)),
    "strange_strikes": lambda book, today: unsigned_strange_strikes(book),
    "beyond_banks": lambda book, today: beyond_banks(book),
    "of_cylinders": lambda book, today: [
        t for t in (book.station.air_tests if book.station else ()) if sampled_cylinders(book, t)
    ],
    "out_of_order": lambda book, today: _out_of_order(book),
    "gone_lines": lambda book, today: struck_out_lines(book),
    "cylinders": lambda book, today: book.cylinders,
    "all_sets": lambda book, today: book.every_set,
    "apart": lambda book, today: book.apart,
    "set_names": lambda book, today: sets_with(book),
    "ids": lambda book, today: book.ids,
    "sizes": lambda book, today: known_sizes(book),
    "finding_rows": lambda book, today: book.finding_rows,
    "mark_words": lambda book, today: book.mark_words,
    "unread": lambda book, today: book.findings,
    "broken": lambda book, today: book.broken,
    "astray": lambda book, today: book.astray,
    "card_like": lambda book, today: book.broken_sets.keys() | book.broken_cards.keys(),
    "named_in_broken": lambda book, today: _named_in_broken(book),
    "serials_in_broken": lambda book, today: _serials_in_broken(book),
    "is_cut": lambda book, today: book.cut,
    "absence": lambda book, today: book.absence,
    "ahead": lambda book, today: book.ahead,
    "latest_day": lambda book, today: max(today, book.clock or today),
}
"""What any check may ask for."""

_OF_CARD: Mapping[str, CardPart] = {
    "facts": lambda book, card, today: facts_of(card, rules_of(book)),
    "worked_out": lambda book, card, today: worked_out(book, card),
    "limit": lambda book, card, today: limit_of(book, card),
    "permit_doubt": lambda book, card, today: permit_doubt(book, card),
    "test_pressure": lambda book, card, today: test_pressure_of(book, card),
    "expansion": lambda book, card, today: expansion_limit(book, card),
    "expansion_beyond": lambda book, card, today: expansion_beyond(book, card),
    "volume": lambda book, card, today: water_volume_of(book, card),
    "trade_size": lambda book, card, today: book.sizes.get(card.size or ""),
    "stolen": lambda book, card, today: stolen_as(book, card),
    "rentals": lambda book, card, today: rentals_of(book, card.id),
    "about": lambda book, card, today: lines_about(book, card.id),
    "filled": lambda book, card, today: fills_of(book, card),
    "looked_inside": lambda book, card, today: days_looked_inside(book, card),
    "let_out_before": lambda book, card, today: partial(let_out_before, book, card),
    "unsigned_strikes": lambda book, card, today: unsigned_strikes(book, card, today),
    "telling_rentals": lambda book, card, today: telling_rentals(book, card),
    "filled_hot": lambda book, card, today: filled_hot(book, card),
    "stood_over": lambda book, card, today: stood_over(book, card),
    "marks": lambda book, card, today: marks_of(card),
    "stamps": lambda book, card, today: stamps_of(card),
    "plus_is_stamped": lambda book, card, today: plus_is_stamped(card, today),
    "bad_air": lambda book, card, today: bad_air_of(book, card),
    "of_unknown": lambda book, card, today: filled_from_unknown(book, card),
    "elsewhere": lambda book, card, today: filled_elsewhere(book, card),
    "mix": lambda book, card, today: mix_of(book, card),
    "gas_readings": lambda book, card, today: gas_readings_of(book, card),
    "rises": lambda book, card, today: rises_of(book, card),
    "danger_held": lambda book, card, today: under_pressure(book, card),
}


@once_per_book
def _parts_of_cards(book: Book) -> dict[tuple[str, int, dt.date], tuple[Cylinder, Any]]:
    """What was asked for already, by part, card and day, beside the card."""
    return {}


def _once(name: str, part: CardPart) -> CardPart:
    """A part that is worked out once for a card and a day, however many checks ask for it."""

    def asked(book: Book, card: Cylinder, today: dt.date) -> Any:
        known, key = _parts_of_cards(book), (name, id(card), today)
        kept = known.get(key)
        if kept is None or kept[0] is not card:
            kept = known[key] = card, part(book, card, today)
        return kept[1]

    return asked


OF_CARD: Mapping[str, CardPart] = {
    "card": lambda book, card, today: card,
    **{name: _once(name, part) for name, part in _OF_CARD.items()},
}
"""What a check of a cylinder may ask for besides."""

OF_SET: Mapping[str, SetPart] = {
    "doubles": lambda book, doubles, today: doubles,
    "sides": lambda book, doubles, today: tuple(
        book.cylinders[m] for m in dict.fromkeys(doubles.cylinders) if m in book.cylinders
    ),
    "read_otherwise": lambda book, doubles, today: tuple(read_otherwise(book, doubles)),
}
"""What a check of a set may ask for besides."""
