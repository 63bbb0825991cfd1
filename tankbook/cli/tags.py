"""`tankbook tags`."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Annotated

from msgspec.structs import replace

from tankbook.acts.options import IDS, Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.recording import Bench, By, CommitOption, Given, Planned
from tankbook.cli.recording import run as record
from tankbook.output.screen import one_line
from tankbook.units.dates import FIRST_YEAR

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tankbook.cli.open_ledger import Desk
    from tankbook.output.card import Card
    from tankbook.output.paper.grid import LabelGrid
    from tankbook.output.paper.labels import Label
    from tankbook.records.book import Book
    from tankbook.records.cylinder import Cylinder, Doubles
    from tankbook.records.words import LabelKind

KINDS = "tag, identity, analysis, strip, do-not-fill, rental, slip"


def tags(
    asked: Common,
    ids: Annotated[list[str], IDS],
    pdf: Annotated[str, Opt("FILE", "Print them into this PDF instead.")] = "",
    kind: Annotated[
        str, Opt("KIND", f"With --pdf: {KINDS}. A tag says DO NOT FILL where that is the answer.")
    ] = "tag",
    sheet: Annotated[
        str,
        Opt(
            "NAME",
            "With --pdf: the sheet of labels, shipped or from the ledger's sheets/; "
            "docs/paper.md lists them.",
        ),
    ] = "",
    start: Annotated[int, Opt("N", "With --pdf: the first place used on the sheet.")] = 1,
    cut_marks: Annotated[bool, Flag("With --pdf: marks to cut along.")] = False,
    proof: Annotated[
        bool, Flag("With --pdf: outline and number every place of the sheet; nothing is entered.")
    ] = False,
    unlogged: Annotated[bool, Flag("With --pdf: print without an entry on the cards.")] = False,
    by: By = "",
    dry_run: Annotated[bool, Flag("With --pdf: say what would be printed and entered.")] = False,
    commit: CommitOption = None,
) -> Answer:
    """A tag for each: id, serial, pressure, limit, next dates, or DO NOT FILL and why.

    With --pdf they are printed, to the millimetre: identity tags, analysis labels, strips for one
    fill, DO NOT FILL tags, rental tags and hand-over slips; all but strips with a code that names
    the cylinder. Each that is printed is entered on its card (`labelled`), with what it said, so
    that it can be told later which label was out when.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import tags as output

    of_print = (kind, sheet, start, cut_marks, proof, unlogged, by, dry_run, commit)
    if not pdf and of_print != ("tag", "", 1, False, False, False, "", False, None):
        raise RequestError("only printed tags take these options", "name a file with --pdf FILE")
    desk = open_desk(asked, fit=True)
    wanted = desk.every(ids)
    if pdf:
        entered = not (unlogged or proof or asked.as_of)
        return _printed(
            desk, wanted, pdf, _kind(kind), sheet, Given(asked, by, dry_run, commit),
            start=start, cuts=cut_marks, proof=proof, entered=entered,
        )  # fmt: skip
    cards = _cards(desk, wanted)
    if asked.json:
        return desk.data(output.data(cards))
    return desk.answer(output.text(cards, desk.page))


def _cards(desk: Desk, ids: list[str]) -> list[Card]:
    from tankbook.cli.show import card_of
    from tankbook.rules.schedule import due

    dues = due(desk.book, desk.today)
    return [card_of(desk, id_, station=False, dues=dues) for id_ in ids]


def _for_slips(desk: Desk, cards: list[Card]) -> list[Card]:
    """A sold cylinder is nobody's duty here any more, but its slip says how long its tests hold."""
    from tankbook.records.cylinder import Cylinder
    from tankbook.rules.schedule import due_of_cylinder

    return [
        replace(card, dues=tuple(due_of_cylinder(desk.book, card.record, desk.today)))
        if isinstance(card.record, Cylinder)
        else card
        for card in cards
    ]


def _kind(word: str) -> LabelKind:
    from tankbook.records.words import LabelKind

    try:
        return LabelKind(word)
    except ValueError:
        raise RequestError(f"--kind: there is no `{word}`", f"known: {KINDS}") from None


def _printed(
    desk: Desk,
    ids: list[str],
    file: str,
    kind: LabelKind,
    sheet: str,
    given: Given,
    *,
    start: int,
    cuts: bool,
    proof: bool,
    entered: bool,
) -> Answer:
    """Nothing is written where anything in the request is refused; where the labels cannot be
    entered on the cards, nothing is printed."""
    from pathlib import Path

    from tankbook.acts.common import named
    from tankbook.cli.printing import left_out, records_on
    from tankbook.cli.progress import Progress
    from tankbook.ledger.handed_out import check_out
    from tankbook.output.paper import run
    from tankbook.output.paper.face import PaperError
    from tankbook.rules.labels import against_label

    now = _as_of_now(desk, given.common)
    against = [
        f"{id_}: {reason}"
        for id_ in ids
        for reason in against_label(desk.book, id_, kind, desk.today)
        or _against_now(desk, now, id_, kind)
    ]
    if against:
        return _refused(desk, given, against)
    path = Path(file)
    check_out(path)
    try:
        grid = _grid(desk, sheet, kind)
        cards = [_as_read_last(now, card, kind) for card in _cards_for(desk, ids, kind)]
        labels = _labels(desk, cards, kind)
        untrue = _untrue_today(desk, now, cards, labels)
        against = [f"{id_}: {why}" for id_, why in untrue.items() if kind not in _SAYING_CLOSED]
        if against:
            return _refused(desk, given, against)
        closed = _closed_today(desk, now, cards, kind, untrue)
        labels = [closed[e.id][1] if e.id in closed else e for e in labels]
        cards = [closed[e.id][0] if e.id in closed else e for e in cards]
        left = [
            line
            for label in labels
            for line in left_out(label.left, records_on(desk.book, label.id), label.id)
        ]
        left = list(dict.fromkeys(left))
        done = run.print_labels(
            labels, grid, f"{desk.book.settings.ledger}: {kind}",
            start=start, cuts=cuts, proof=proof, progress=Progress("tags"),
        )  # fmt: skip
    except PaperError as error:
        raise RequestError(str(error), error.mend) from error
    recorded = _enter(given, cards, labels, kind) if entered else None
    if recorded is not None and recorded.code != DONE:
        none = "NOTHING WAS PRINTED: the labels could not be entered on the cards (--unlogged).\n"
        return recorded if given.common.json else replace(recorded, text=f"{recorded.text}{none}")
    if not given.dry_run:
        _write(path, done.pdf, desk, cards if recorded is not None else [])
    out = recorded.out if recorded is not None else None
    on_cards = [card.id for card in cards if card.record is not None] if recorded else []
    if given.common.json:
        dry = {"dry_run": True} if given.dry_run else {}
        told = {**run.data(done, file, left=left, entered=on_cards), **dry}
        return replace(desk.data(told), out=out)
    lines = [one_line(line) for line in left]
    if entered:
        by = given.by or desk.book.settings.operator or ""
        lines += filter(None, [entered_on(desk.book, cards, labels, by)])
        lines += [f"{c.id}: not entered, as its file cannot be read" for c in cards if not c.record]
    elif given.common.as_of:
        lines.append("not entered on the cards: this is of the ledger as it was (--as-of)")
    not_of = f"as of today, not of {desk.today}, since it"
    shut = [id_ for id_, (card, _) in closed.items() if card.answer.refusals]
    if other := [id_ for id_ in closed if id_ not in shut]:
        lines.insert(0, f"{named(other)}: {not_of} has another limit today")
    if shut:
        lines.insert(0, f"{named(shut)}: {not_of} must not be filled today")
    lines[:0] = _stolen(desk.book, cards)
    notes = desk.page.paragraphs(lines, hang="  ")
    said = run.text(done, one_line(file)) if not given.dry_run else ""
    act = recorded.text if recorded is not None and given.dry_run else ""
    said = f"{said or act or DRY}{notes}{chr(10) if notes else ''}"
    return replace(desk.answer(said), out=out)


def _refused(desk: Desk, given: Given, against: list[str]) -> Answer:
    """Nothing was printed, and why."""
    from tankbook.output.page import refused
    from tankbook.output.paper import run

    alone = replace(desk, fit=False)  # it says nothing of what may be filled
    if given.common.json:
        return alone.data(run.data(None, "", against), NO)
    return alone.answer(refused(against, "printed", desk.page), NO)


def _as_of_now(desk: Desk, asked: Common) -> Desk | None:
    """The ledger as of now, where it was asked as of a day that is over; else None."""
    from tankbook.cli.open_ledger import open_desk

    clock = desk.book.clock
    if clock is None or (desk.today >= clock and not asked.as_of):
        return None
    return open_desk(replace(asked, on="", as_of=""), fit=True)


def _closed_since(desk: Desk, now: Desk, id_: str) -> tuple[str, ...]:
    """What came since the day asked about against filling it. A date that has passed since is not
    of it: what is printed says that itself."""
    from tankbook.records.words import LabelKind
    from tankbook.rules.labels import against_label

    return against_label(now.book, id_, LabelKind.ANALYSIS, desk.today) if now.knows(id_) else ()


def _against_now(desk: Desk, now: Desk | None, id_: str, kind: LabelKind) -> Iterator[str]:
    """What is against a label of a day that is over, since what hangs on a cylinder is read today;
    a slip of one that was handed over goes with it, whatever came after."""
    from tankbook.records.words import LabelKind
    from tankbook.rules.labels import against_reading

    if now is None or kind in (*_SAYING_CLOSED, LabelKind.DO_NOT_FILL):
        return
    if kind is LabelKind.SLIP and _is_handed_over(now, id_):
        return
    against = _closed_since(desk, now, id_)
    if now.knows(id_):
        against += tuple(against_reading(now.book, id_, kind))
    for reason in dict.fromkeys(against):
        yield f"{reason}, as of today, not of {desk.today}"


def _untrue_today(
    desk: Desk, now: Desk | None, told: list[Card], labels: list[Label]
) -> dict[str, str]:
    """Of labels that are printed as of a day that is over, what was recorded since against what
    they say; of what was handed over, a slip goes with it all the same."""
    from tankbook.output.label_log import entries_for
    from tankbook.records.words import LabelKind
    from tankbook.rules.labels import untrue_by_now

    if now is None:
        return {}
    made = entries_for(told, labels, by="", on=desk.today, at=None)
    found = {}
    for card in told:
        entry = made.get(card.id)
        if entry is None or not now.knows(card.id) or entry.kind is LabelKind.DO_NOT_FILL:
            continue
        if entry.kind is LabelKind.SLIP and _is_handed_over(now, card.id):
            continue
        if why := untrue_by_now(now.book, card.id, entry, card.contents, desk.today):
            found[card.id] = f"{why}, as of today, not of {desk.today}"
    return found


def _as_read_last(now: Desk | None, card: Card, kind: LabelKind) -> Card:
    """The card, of a day that is over with its pressure as it was read last: no label that hangs
    gives one that was read otherwise since. A slip of what was handed over is of that day."""
    from tankbook.output.label_log import OF_GAS
    from tankbook.records.words import LabelKind
    from tankbook.rules.fill_history import contents_of

    if now is None or not now.knows(card.id) or kind not in OF_GAS:
        return card
    if kind is LabelKind.SLIP and _is_handed_over(now, card.id):
        return card
    held, then = contents_of(now.book, card.id), card.contents
    is_same = (held.gas, held.analysis, held.filled_at) == (then.gas, then.analysis, then.filled_at)
    return replace(card, contents=held) if is_same else card


def _is_handed_over(now: Desk, id_: str) -> bool:
    from tankbook.records.entries import standing

    card = now.book.cylinders.get(id_)
    return card is not None and bool(standing(card.handed_over))


def _closed_today(
    desk: Desk, now: Desk | None, told: list[Card], kind: LabelKind, untrue: dict[str, str]
) -> dict[str, tuple[Card, Label]]:
    """Of tags that are printed as of a day that is over, those of what must not be filled by what
    came since, or has another limit, as of today: a tag is read on the day that it hangs."""
    if now is None or kind not in _SAYING_CLOSED:
        return {}
    known = [card.id for card in told if now.knows(card.id) and not card.answer.refusals]
    closed = [id_ for id_ in known if _closed_since(desk, now, id_)]
    cards = [card for card in _cards(now, closed) if card.answer.refusals]
    cards += _cards(now, [id_ for id_ in known if id_ in untrue and id_ not in closed])
    labels = _labels(now, cards, kind)
    return {card.id: (card, label) for card, label in zip(cards, labels, strict=True)}


_SAYING_CLOSED = ("tag", "identity")
"""The kinds that are printed of what must not be filled as well, and then give no limit."""


def _stolen(book: Book, cards: list[Card]) -> Iterator[str]:
    """What whoever hangs a label on one that is recorded as stolen is told."""
    from tankbook.rules.counter import stolen_told

    for id_ in dict.fromkeys(side for each in cards for side in book.members(each.id)):
        if id_ in book.cylinders:
            yield from stolen_told(book, book.cylinders[id_])


def entered_on(book: Book, cards: list[Card], labels: list[Label], by: str) -> str:
    """On whose cards labels were entered, and which of them say the same as the last of their
    kind; an empty text where none was."""
    from tankbook.acts.common import named, subject_of
    from tankbook.acts.label import reprints
    from tankbook.output.label_log import entries_for

    made = entries_for(cards, labels, by=by, on=book.clock or dt.date(FIRST_YEAR, 1, 1), at=None)
    again = [i for i, entry in made.items() if reprints(subject_of(book, i), entry)]
    said = f"Entered on {named(made)}{f', by {by}' if by else ''}" if made else ""
    return f"{said}; printed again, saying the same: {named(again)}" if again else said


def _write(path: Path, pdf: bytes, desk: Desk, entered: list[Card]) -> None:
    """Write the file. Raises `LedgerError`, which tells that they are entered all the same."""
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.handed_out import write_out

    try:
        write_out(path, pdf)
    except LedgerError as error:
        if not entered:
            raise
        ways = (_struck_out_by(c.record, c.id, desk.today) for c in entered if c.record)
        mend = f"the labels are on the cards all the same, strike them out: {', '.join(ways)}"
        raise LedgerError(error.path, f"{error.text}; nothing was printed", mend) from error


def _struck_out_by(before: Cylinder | Doubles, id_: str, today: dt.date) -> str:
    """The command that strikes out the label entered last on a card that was so before."""
    day = str(today)
    number = sum(str(each.on).startswith(day) for each in before.labelled) + 1
    which = f"{day}#{number}" if number > 1 else day
    return f'`tankbook correct {id_} labelled {which} --why "not printed"`'


DRY = "nothing would be entered, and nothing was printed (--dry-run)\n"


def _enter(given: Given, cards: list[Card], labels: list[Label], kind: LabelKind) -> Answer | None:
    """Enter on each card which label is printed for it; None where no card can be read."""
    from tankbook.acts.label import label
    from tankbook.output.label_log import entries_for

    if all(card.record is None for card in cards):
        return None

    def planned(bench: Bench) -> Planned:
        made = entries_for(cards, labels, by=bench.by, on=bench.today, at=bench.at)
        what = f"a {kind}" if len(made) == 1 else f"{kind}s"
        return label(bench.book, made, what, by=bench.by, on=bench.today)

    return record(given, planned)


def _cards_for(desk: Desk, ids: list[str], kind: LabelKind) -> list[Card]:
    from tankbook.records.words import LabelKind

    cards = _cards(desk, ids)
    return _for_slips(desk, cards) if kind is LabelKind.SLIP else cards


def _labels(desk: Desk, cards: list[Card], kind: LabelKind) -> list[Label]:
    from tankbook.gas.depth import USUAL_LEAST
    from tankbook.output.paper.labels import Shop, label_of

    settings = desk.book.settings
    least = settings.least_oxygen_pressure or USUAL_LEAST
    pages_at = settings.pages_at or ""
    lists = desk.book.checklists.items()
    headings = {name: each.shown_as for name, each in lists if each.shown_as}
    shop = Shop(
        settings.ledger, desk.today, desk.page, settings.oxygen_pressure, least, pages_at, headings
    )  # fmt: skip
    return [label_of(card, kind, shop) for card in cards]


def _grid(desk: Desk, name: str, kind: LabelKind) -> LabelGrid:
    from tankbook.ledger import shipped
    from tankbook.output.paper.grid import grid_of
    from tankbook.records.words import LabelKind, Shore

    known = {**shipped.sheets(), **desk.book.sheets}
    paper = "letter" if desk.shore is Shore.PSI else "a4"
    strips = "letter-30" if desk.shore is Shore.PSI else "a4-24"
    usual = {LabelKind.SLIP: f"{paper}-slips", LabelKind.STRIP: strips}
    name = name or usual.get(kind, f"{paper}-tags")
    if name not in known:
        raise RequestError(f"--sheet: there is no `{name}`", f"known: {', '.join(known)}")
    return grid_of(known[name])
