"""`tankbook show`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg
from tankbook.cli.answer import Answer
from tankbook.cli.options import Common

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tankbook.cli.open_ledger import Desk
    from tankbook.output.card import Card
    from tankbook.rules.answers import Due


def show(
    asked: Common,
    id_: Annotated[str, Arg("ID", "A cylinder or set; a tail will do.")],
) -> Answer:
    """The whole card: may it be filled, what it is, what it holds, every entry ever made."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import card as output

    desk = open_desk(asked)
    card = card_of(desk, desk.resolve([id_])[0])
    if asked.json:
        return desk.data(output.data(card))
    return desk.answer(output.text(card, desk.page))


def card_of(
    desk: Desk, id_: str, *, station: bool = True, dues: Iterable[Due] | None = None
) -> Card:
    """Everything known of a cylinder or set, also of one whose file cannot be read.

    Whether it may be filled is asked for the gas it holds, where that is known. `station` says
    whether the station's own state is asked too; a tag outlives it. `dues` is all that is due,
    where whoever makes many cards has asked already.
    """
    from tankbook.output.card import Card, sides_on_card
    from tankbook.rules.conditions import cleaned_for
    from tankbook.rules.fill_history import (
        contents_of,
        is_told_by_sides,
        sides_of,
        standings,
        standings_of,
    )
    from tankbook.rules.gate import may_fill
    from tankbook.rules.labels import no_longer_true
    from tankbook.rules.schedule import due
    from tankbook.rules.volume import water_volume_of

    book = desk.book
    cylinder, doubles = book.cylinders.get(id_), book.sets.get(id_)
    contents = contents_of(book, id_)
    every = due(book, desk.today) if dues is None else tuple(dues)
    return Card(
        id=id_,
        record=cylinder or doubles,
        answer=may_fill(book, id_, desk.today, contents.gas, station=station),
        contents=contents,
        dues=tuple(d for d in every if d.id == id_),
        water_volume=water_volume_of(book, cylinder) if cylinder else None,
        standing=standings(book, cylinder)[0].value if cylinder else "",
        states=tuple(state.value for state in standings_of(book, id_)),
        faults=book.broken.get(id_, ()),
        sides=sides_of(book, doubles) if doubles and is_told_by_sides(book, doubles) else (),
        cleaned_for=cleaned_for(book, cylinder, desk.today) if cylinder else "",
        cylinders=sides_on_card(book, doubles, every, desk.today) if doubles else (),
        untrue=tuple(no_longer_true(book, id_, desk.today)),
    )
