"""`tankbook tags`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from msgspec.structs import replace

from tankbook.acts.options import IDS, Flag, Opt
from tankbook.cli.answer import NO, Answer, RequestError
from tankbook.cli.options import Common
from tankbook.output.screen import one_line

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.output.card import Card
    from tankbook.output.paper.grid import LabelGrid
    from tankbook.output.paper.labels import Label
    from tankbook.rules.labels import LabelKind

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
        bool, Flag("With --pdf: outline and number every place of the sheet.")
    ] = False,
) -> Answer:
    """A tag for each: id, serial, pressure, limit, next dates, or DO NOT FILL and why.

    With --pdf they are printed, to the millimetre: identity tags, analysis labels, strips for one
    fill, DO NOT FILL tags, rental tags and hand-over slips; all but strips with a code that names
    the cylinder.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import tags as output

    if not pdf and (kind, sheet, start, cut_marks, proof) != ("tag", "", 1, False, False):
        raise RequestError("only printed tags take these options", "name a file with --pdf FILE")
    desk = open_desk(asked, fit=True)
    wanted = desk.every(ids)
    if pdf:
        return _printed(
            desk, wanted, pdf, _kind(kind), sheet, asked.json,
            start=start, cuts=cut_marks, proof=proof,
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
    from tankbook.rules.labels import LabelKind

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
    json: bool,
    *,
    start: int,
    cuts: bool,
    proof: bool,
) -> Answer:
    """Nothing is written where anything in the request is refused."""
    from pathlib import Path

    from tankbook.cli.printing import left_out, records_on
    from tankbook.cli.progress import Progress
    from tankbook.ledger.handed_out import check_out, write_out
    from tankbook.output.page import refused
    from tankbook.output.paper import run
    from tankbook.output.paper.face import PaperError
    from tankbook.rules.labels import against_label

    against = [
        f"{id_}: {reason}"
        for id_ in ids
        for reason in against_label(desk.book, id_, kind, desk.today)
    ]
    if against:
        alone = replace(desk, fit=False)  # it says nothing of what may be filled
        if json:
            return alone.data(run.data(None, "", against), NO)
        return alone.answer(refused(against, "printed", desk.page), NO)
    path = Path(file)
    check_out(path)
    try:
        grid = _grid(desk, sheet, kind)
        labels = _labels(desk, ids, kind)
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
    write_out(path, done.pdf)
    if json:
        return desk.data(run.data(done, file, left=left))
    notes = desk.page.paragraphs((one_line(line) for line in left), hang="  ")
    return desk.answer(run.text(done, one_line(file)) + (f"{notes}\n" if notes else ""))


def _labels(desk: Desk, ids: list[str], kind: LabelKind) -> list[Label]:
    from tankbook.gas.depth import USUAL_LEAST
    from tankbook.output.paper.labels import Shop, label_of
    from tankbook.rules.labels import LabelKind

    settings = desk.book.settings
    least = settings.least_oxygen_pressure or USUAL_LEAST
    shop = Shop(settings.ledger, desk.today, desk.page, settings.oxygen_pressure, least)
    cards = _cards(desk, ids)
    if kind is LabelKind.SLIP:
        cards = _for_slips(desk, cards)
    return [label_of(card, kind, shop) for card in cards]


def _grid(desk: Desk, name: str, kind: LabelKind) -> LabelGrid:
    from tankbook.ledger import shipped
    from tankbook.output.paper.grid import grid_of
    from tankbook.records.words import Shore
    from tankbook.rules.labels import LabelKind

    known = {**shipped.sheets(), **desk.book.sheets}
    paper = "letter" if desk.shore is Shore.PSI else "a4"
    strips = "letter-30" if desk.shore is Shore.PSI else "a4-24"
    usual = {LabelKind.SLIP: f"{paper}-slips", LabelKind.STRIP: strips}
    name = name or usual.get(kind, f"{paper}-tags")
    if name not in known:
        raise RequestError(f"--sheet: there is no `{name}`", f"known: {', '.join(known)}")
    return grid_of(known[name])
