"""`tankbook may-fill`."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.walk_in import MORE_SEEN, Maker, MarksLine, MarksSeen, OutletText, StickerMonth

if TYPE_CHECKING:
    from tankbook.cli.heads import Elsewhere
    from tankbook.cli.open_ledger import Desk
    from tankbook.gas import Gas
    from tankbook.ledger.errors import LedgerError
    from tankbook.rules.answers import MayFill
    from tankbook.units import GaugePressure, Temperature


def may_fill(
    asked: Common,
    ids: Annotated[
        list[str] | None, Arg("ID", "Cylinders or sets; a tail will do, or a range: 1..12.")
    ] = None,
    gas: Annotated[str, Opt("GAS", "Such as nitrox32; air, if not said.")] = "",
    fill_pressure: Annotated[str, Opt("PRESSURE", "What the fill regulator is set to.")] = "",
    ambient: Annotated[str, Opt("TEMPERATURE", "How warm it is where the cylinder stands.")] = "",
    position: Annotated[
        str, Opt("P1+W1", "The position, whip and adaptor; the lowest rated, if not said.")
    ] = "",
    source: Annotated[str, Opt("B1+B2", "What it is to be filled from.")] = "",
    together: Annotated[bool, Flag("They are connected to one regulator.")] = False,
    marks: MarksLine = "",
    maker: Maker = "",
    outlet: OutletText = "",
    sticker: StickerMonth = "",
    more: Annotated[list[str] | None, MORE_SEEN] = None,
) -> Answer:
    """May it be filled? Yes or no, to what pressure at what temperature, and every reason.

    Exit code 1 when any of them is refused. With --marks it is asked of a cylinder that has no
    card, by what is seen on it; nothing is recorded.
    """
    from tankbook.cli import loud
    from tankbook.cli.heads import resolved
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import may_fill as output
    from tankbook.rules.labels import no_longer_true

    seen = MarksSeen(marks, maker, outlet, sticker, "", tuple(more or ()))
    ids = ids or []
    if seen.is_said == bool(ids):
        mend = "give ids, or the marks of one that has no card with --marks"
        raise RequestError("name what is asked about", mend)
    desk = open_desk(asked)
    may_be: list[str] = []
    if seen.marks:
        desk, ids = _with_stranger(desk, seen)
        *may_be, _ = ids
    how = _how(desk, gas, fill_pressure, ambient, position, source, together=together)
    others = _other_heads(asked, desk)
    wanted = [*ids] if seen.marks else resolved(desk, ids, [there for _, there in others])
    strictest = how.answers_at(desk, wanted)
    said = _held_to(others, desk, how, wanted, strictest, json=asked.json)
    answers = list(strictest.values())
    code = DONE if all(a.fillable for a in answers) else NO
    labels = {id_: tuple(no_longer_true(desk.book, id_, desk.today)) for id_ in strictest}
    if asked.json:
        faults = [loud.Fault("", text, "other-head") for text in said]
        return desk.data(loud.in_data(output.data(answers, labels), faults), code)
    text = output.text(answers, desk.page, how.fill_pressure, labels)
    if seen.marks:
        on_file = f"It may be {' or '.join(may_be)}, which is asked about too. " if may_be else ""
        own = [r.mend for r in strictest[ids[-1]].reasons if f" {ids[-1]} " in f"{r.mend} "]
        first = _BOOK_IN.format(ids[-1]) if own else ""
        text = f"{text}\n{desk.page.wrap(on_file + _NO_CARD + first)}\n"
    told = desk.answer(text, code)
    return loud.told(told, "; ".join(said))


_NO_CARD = (
    "It was asked about by its marks, and nothing was recorded; `tankbook fill --marks` books it "
    "in with its fill."
)
_BOOK_IN = (
    " A line that names {} is typed once it is booked in: `tankbook book-in` with these marks."
)


class _How(Struct, frozen=True):
    """How they are to be filled, as the gate is asked."""

    gas: Gas | None
    fill_pressure: GaugePressure | None
    ambient: Temperature | None
    through: tuple[str, ...]
    source: str
    together: bool

    def answers_at(self, desk: Desk, ids: Collection[str]) -> dict[str, MayFill]:
        """What the gate says of each at a desk, through the parts named of that station."""
        from tankbook.rules.air import parts_named, taken_here
        from tankbook.rules.gate import may_fill as answer_of

        given, station = "+".join(taken_here(self.source)), desk.book.station
        through = (*self.through, *sorted(parts_named(station, given) if station else ()))
        return {
            id_: answer_of(
                desk.book,
                id_,
                desk.today,
                self.gas,
                fill_pressure=self.fill_pressure,
                ambient=self.ambient,
                connected=tuple(ids) if self.together else (),
                through=through,
                source=self.source,
            )
            for id_ in ids
        }


def _how(
    desk: Desk,
    gas: str,
    fill_pressure: str,
    ambient: str,
    position: str,
    source: str,
    *,
    together: bool,
) -> _How:
    """How they are to be filled, as the options say in the units of the ledger.

    Raises:
        RequestError: an option is not understood, or names no part of the station.
    """
    from tankbook.acts.log_line import place_reasons
    from tankbook.cli import option_values
    from tankbook.records.log import each_named

    pressure, shore = None, desk.shore
    mixture = option_values.gas("--gas", gas) if gas else None
    if fill_pressure:
        pressure = option_values.pressure("--fill-pressure", fill_pressure, shore)
    degrees = option_values.temperature("--ambient", ambient, shore) if ambient else None
    through = each_named(position)
    for why in place_reasons(desk.book, source, position):
        raise RequestError(why, "`tankbook station` shows its parts")
    return _How(mixture, pressure, degrees, through, source, together)


def _other_heads(asked: Common, desk: Desk) -> list[tuple[Elsewhere, Desk | LedgerError]]:
    """The other heads that the day asked about had, each opened or why it cannot be.

    Raises:
        Unanswered: they are too many.
    """
    from tankbook.cli.heads import TooManyHeads, elsewhere, opened

    try:
        return [(each, opened(each)) for each in elsewhere(asked)] if asked.as_of else []
    except TooManyHeads as why:
        raise desk.unanswered(str(why), json=asked.json) from why


def _held_to(
    others: Sequence[tuple[Elsewhere, Desk | LedgerError]],
    desk: Desk,
    how: _How,
    wanted: Sequence[str],
    strictest: dict[str, MayFill],
    *,
    json: bool,
) -> list[str]:
    """What each other head says, whose stricter answers take the place of those so far.

    Raises:
        Unanswered: one cannot be asked.
    """
    from tankbook.ledger.errors import LedgerError
    from tankbook.rules.known_as import with_sides

    said = []
    for each, there in others:
        if isinstance(there, LedgerError):
            text = f"{each.said}, cannot answer: {there.text}"
            raise desk.unanswered(text, json=json) from there
        called = with_sides(wanted, desk.book, there.book)
        every = list(dict.fromkeys(n for names in called.values() for n in names))
        verdict = _stricter(strictest, called, how.answers_at(there, every))
        said.append(f"another head of that day, {each.said}, {verdict}")
    return said


def _with_stranger(desk: Desk, seen: MarksSeen) -> tuple[Desk, list[str]]:
    """The desk with the card that a cylinder without one would have; and what is asked about: the
    cards that it may have already first, since what stands against them stands against it."""
    from tankbook.acts.walk_in import maybe_on_file

    card = seen.card(desk.book)
    book = replace(desk.book, cylinders={**desk.book.cylinders, card.id: card})
    then = replace(desk, book=book.as_known_on(desk.today))
    return then, [*maybe_on_file(then.book, card, desk.today), card.id]


def _stricter(
    strictest: dict[str, MayFill], called: Mapping[str, Collection[str]], got: Mapping[str, MayFill]
) -> str:
    """What another head says, whose stricter answers take the place of those so far.

    Args:
        strictest: the answers so far, by id.
        called: what each id is called there.
        got: the answers there.
    """
    stricter = []
    for id_, names in called.items():
        for name in names:
            if got[name].is_stricter_than(strictest[id_]):
                strictest[id_] = replace(got[name], id=id_)
                stricter.append(id_ if name == id_ else f"{id_} ({name} there)")
    lacking = [id_ for id_, names in called.items() if not names]
    verdict = f"REFUSES OR LIMITS {', '.join(stricter)}" if stricter else "is no stricter"
    return verdict + (f" and does not have {', '.join(lacking)}" if lacking else "")
