"""What each kind of label says, in the order it says it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import GasError
from tankbook.gas.depth import USUAL_LEAST, depth_limit
from tankbook.output.card import Card, contents_text, user_analysed
from tankbook.output.page import Page, plain_date
from tankbook.output.paper.code import code_text
from tankbook.output.paper.face import legible, printable
from tankbook.output.paper.flow import Blanks, Content, Figure, FlowRow, Item, Say
from tankbook.output.tags import (
    CARE,
    CARE_LIMIT,
    against_said,
    clean_said,
    dates_said,
    limit_said,
    side_said,
)
from tankbook.output.words import DO_NOT_FILL, DO_NOT_USE, OR_USE
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import Inspected, Rented, Requalified, standing
from tankbook.records.kinds import EMPTY
from tankbook.records.words import LabelKind, TestResult
from tankbook.rules.answers import Contents
from tankbook.rules.labels import not_to_use
from tankbook.rules.lean import from_where, is_lean, lean_said, not_up_there, told_oxygen
from tankbook.units import AbsolutePressure

NO_DIVE = "NOT FOR DIVING"

OWN = "Shop label. It is no test mark and no official sticker."
OWN_SHORT = "Shop label, no official sticker."
SLIP = "A shop's slip. It is no test certificate."


class Shop(Struct, frozen=True):
    """What every label of a run shares: the ledger's name, the day, the unit of pressures, and the
    oxygen partial pressure that depth limits are for, where the settings name one, the least to
    breathe, the address of the pages, where they have one, and the headings of checklists by their
    names."""

    ledger: str
    today: dt.date
    page: Page
    oxygen_pressure: AbsolutePressure | None = None
    least_oxygen: AbsolutePressure = USUAL_LEAST
    pages_at: str = ""
    headings: Mapping[str, str] = {}


class Label(Struct, frozen=True):
    """A label to print. The body of a DO NOT FILL tag goes on on a further one, never shortened."""

    id: str
    kind: LabelKind
    head: tuple[Item, ...]
    body: tuple[Item, ...]
    foot: tuple[Item, ...]
    code: str
    framed: bool = False
    largest: float = 12.0
    left: tuple[str, ...] = ()
    """What of it cannot be printed: a line to write on stands there."""

    def content(self, part: int = 1, parts: int = 1) -> Content:
        """What one of `parts` equal parts of the label says."""
        first = (part - 1) * len(self.body) // parts
        last = part * len(self.body) // parts
        more = (Say(f"{self.id}: part {part} of {parts}", bold=True),) if parts > 1 else ()
        items = (*self.head, *more, *self.body[first:last])
        where = f"{self.id}: the {NAMES[self.kind]}"
        return Content(items, self.foot, self.code, self.framed, where, self.largest)


NAMES = {
    LabelKind.IDENTITY: "identity tag",
    LabelKind.ANALYSIS: "analysis label",
    LabelKind.STRIP: "strip",
    LabelKind.DO_NOT_FILL: "DO NOT FILL tag",
    LabelKind.RENTAL: "rental tag",
    LabelKind.SLIP: "hand-over slip",
}


def label_of(card: Card, kind: LabelKind, shop: Shop) -> Label:
    """The label of a kind for a cylinder or set.

    Raises:
        PaperError: its id holds a character that cannot be printed.
    """
    printable(card.id, card.id)  # an id with a gap in it might be another's
    if kind is LabelKind.TAG:
        kind = LabelKind.IDENTITY if card.answer.fillable else LabelKind.DO_NOT_FILL
    made = _MAKERS[kind](card, shop)
    parts = (made.head, made.body, (*made.foot, *_foot(shop, made)))
    (head, body, foot), left = _legible(parts)
    return Label(
        card.id,
        kind,
        head=head,
        body=body,
        foot=foot,
        code=code_text(card.id, serials(card), shop.ledger, shop.pages_at) if made.coded else "",
        framed=made.framed,
        largest=made.largest,
        left=left,
    )


class _LabelParts(Struct, frozen=True):
    head: tuple[Item, ...]
    body: tuple[Item, ...]
    foot: tuple[Item, ...] = ()
    framed: bool = False
    largest: float = 12.0
    own: str = OWN
    own_short: str = OWN_SHORT
    coded: bool = True
    """Whether it has a code; what has none is for the smallest labels, and short of room."""


def _foot(shop: Shop, made: _LabelParts) -> tuple[Item, ...]:
    """Whose label it is, of what day, and what it is not: where room is short in one line, never
    left out. A strip, which tells of one fill, leaves out whose it is and the day of printing."""
    when = f"{shop.ledger}, {plain_date(shop.today)}"
    if not made.coded:
        return (
            Say(when, scale=0.8, spare=3),
            Say(made.own, scale=0.7, spare=1, leading=CLOSE, short=made.own_short),
        )
    return (
        Say(when, scale=0.8, spare=1, short=f"{when}. {made.own_short}"),
        Say(made.own, scale=0.7, spare=1),
    )


def _legible(
    parts: Iterable[tuple[Item, ...]],
) -> tuple[list[tuple[Item, ...]], tuple[str, ...]]:
    """The items of each part as they can be printed, and what of them cannot."""
    left: dict[str, None] = {}

    def said(text: str) -> str:
        shown, missing = legible(text)
        left.update(dict.fromkeys(missing))
        return shown

    def of(item: Item) -> Item:
        match item:
            case Say():
                return replace(item, text=said(item.text), short=said(item.short))
            case Figure():
                return replace(
                    item,
                    text=said(item.text),
                    says=tuple(map(said, item.says)),
                    short=tuple(map(said, item.short)),
                )
            case FlowRow():
                return replace(item, value=said(item.value))
        return item

    return [tuple(map(of, items)) for items in parts], tuple(left)


def serials(card: Card) -> str:
    """The serial number; of a set, its two cylinders."""
    if isinstance(card.record, Cylinder):
        return card.record.serial
    return "+".join(card.record.cylinders) if card.record else ""


# --- identity


def _identity(card: Card, shop: Shop) -> _LabelParts:
    said = f"{card.id}: {DO_NOT_USE}" if not_to_use(card.answer) else card.id
    head = (Say(said, scale=2.4, bold=True, shrinks=True),)
    body = [*_who(card, shop), *_until_rows(card)]
    if not card.answer.fillable:
        count = len(card.answer.refusals)
        body.append(Say(f"Not to be filled as on this day: {count} against it.", bold=True))
    care = CARE if limit_said(card, shop.page) is None else CARE_LIMIT
    return _LabelParts(head, tuple(body), (Say(care, scale=0.8, spare=1),))


def _who(card: Card, shop: Shop) -> Iterator[Item]:
    record, limit = card.record, limit_said(card, shop.page)
    for side in card.cylinders:
        yield FlowRow(side.id, side_said(side, shop.page))
    if isinstance(record, Cylinder):
        yield FlowRow("serial", record.serial)
        if record.specification:
            yield FlowRow("marks", ", ".join(record.specification), spare=2)
        pressure = record.service_pressure
        said = shop.page.marked(pressure) if pressure else "NOT KNOWN"
        yield FlowRow("marked", said, spare=0 if limit is None else 2)
    if limit is not None:
        yield FlowRow("fill to", limit)
    if isinstance(record, Cylinder) and card.water_volume:
        yield FlowRow("volume", str(card.water_volume.volume), spare=2)
    yield from (FlowRow(name, said) for name, said in clean_said(card))
    if isinstance(record, Cylinder) and record.valve and record.valve.outlet:
        yield FlowRow("outlet", record.valve.outlet.value, spare=2)
    if isinstance(record, Doubles) and record.manifold:
        yield FlowRow("manifold", record.manifold, spare=2)


def _until_rows(card: Card) -> Iterator[Item]:
    yield from (FlowRow(name, said) for name, said in dates_said(card))


# --- analysis


def _analysis(card: Card, shop: Shop) -> _LabelParts:
    held = card.contents
    known = held.gas is not None and held.pressure is not None and held.pressure >= EMPTY
    gas = str(held.gas) if known else "gas: ____________"
    head = (
        Say(gas, scale=2.2, bold=True, shrinks=True),
        Say(card.id, scale=1.3, bold=True, shrinks=True),
    )
    oxygen = held.oxygen if known else None
    body: list[Item] = []
    if oxygen is not None:
        body.append(FlowRow("oxygen", f"{oxygen:g} %, analysed"))
    else:
        body.append(Blanks((("oxygen", "%"), ("analyst", ""))))
    if known and held.helium is not None:
        body.append(FlowRow("helium", f"{held.helium:g} %, analysed"))
    elif known and held.gas is not None and held.gas.helium_percent:
        body.append(Blanks((("helium, analysed", "%"),)))
    if oxygen is not None:
        body += _analysis_rows(held)
    body += _pressure_rows(card, shop, known)
    body += _depth_rows(oxygen, shop)
    body += _lean_rows(told_oxygen(held) if known else None, shop)
    foot = (
        Say("Diver: own analysis before use", scale=0.9),
        Blanks(
            (
                ("oxygen", "%"),
                *_helium_blank(held, "helium"),
                ("depth", ""),
                ("date", ""),
                ("signed", ""),
            )
        ),
    )
    return _LabelParts(head, tuple(body), foot)


READ_ACROSS = 3.25
"""How much larger the depth on a strip is than the smallest type: figures of 5 mm (0.729 of the
size of the face's bold) at 6 pt."""


SHORT_BLANK = 8.0
"""The shortest rule [mm] on a strip: `10.2`, or initials (own choice, no source)."""

NO_TEMPERATURE = "hot or not: not noted"
"""Of a pressure that nobody noted the temperature of: a fill is hot, and shows less once it has
cooled; what was read lower within that is no sign that somebody used it."""

CLOSE = 1.05
"""How close the lines of a strip stand."""


def _strip(card: Card, shop: Shop) -> _LabelParts:
    """What a diver asks of one fill, on as little as 60 x 25 mm: how deep, before all."""
    held, most = card.contents, shop.oxygen_pressure
    assert held.oxygen is not None  # else it is refused, as without a setting
    assert most is not None
    try:
        depth = str(depth_limit(held.oxygen, most))
        why, brief = ["MAXIMUM DEPTH,", f"at {most} oxygen."], [f"MAX at {most} O2."]
    except GasError as error:
        depth, why = NO_DIVE, f"{error}.".split()
        brief = why
    helium = f", He {held.helium:g} %" if held.helium is not None else ""
    figures = f"O2 {held.oxygen:g} %{helium}"
    at = f" at {held.temperature}" if held.temperature else f", {NO_TEMPERATURE}"
    read = f", {plain_date(held.on)}" if held.on and held.on != held.analysed_on else ""
    both, one = (
        f"{said(held.pressure)}{at}{read}." if held.pressure else ""
        for said in (shop.page.marked, str)
    )
    on = plain_date(held.analysed_on) if held.analysed_on else "____"
    analysed = f"Analysed {on}, {held.analysed_by or '____'}."
    head = (
        Say(f"{card.id}  {held.gas}: {figures}", 1.2, bold=True, shrinks=True, leading=CLOSE),
        Figure(
            depth,
            READ_ACROSS,
            (*why, *_lean_words(held.oxygen, shop)),
            CLOSE,
            spare=1,
            short=(*brief, *_lean_words(held.oxygen, shop, brief=True)),
        ),
    )
    body = (Say(f"{analysed} {both}", leading=CLOSE, spare=2, short=f"{analysed} {one}"),)
    foot = (
        Blanks(
            (("user: O2", "%"), *_helium_blank(held, "He"), ("initials", "")), least=SHORT_BLANK
        ),
    )
    return _LabelParts(head, body, foot, largest=10.0, coded=False)


def _lean_words(oxygen: float, shop: Shop, *, brief: bool = False) -> Iterator[str]:
    """What `_lean_rows` says, in phrases; `brief`, by the trade's word for it."""
    if not is_lean(oxygen):
        return
    least = from_where(oxygen, shop.least_oxygen)
    if not not_up_there(oxygen, shop.least_oxygen):
        yield "LOW OXYGEN."
    elif least.is_surface:
        yield "NOT AT THE SURFACE."
    elif brief:
        yield f"HYPOXIC: least {least}."
    else:
        yield from ("NOT AT THE SURFACE:", f"least {least}.")


def _helium_blank(held: Contents, name: str) -> tuple[tuple[str, str], ...]:
    """Where the user writes the helium read, of a gas that has some."""
    has = held.helium or (held.gas is not None and held.gas.helium_percent)
    return ((name, "%"),) if has else ()


def _analysis_rows(held: Contents) -> Iterator[Item]:
    """When it was analysed and by whom: never the day on which somebody read the gauge."""
    on, by = held.analysed_on, held.analysed_by
    said = f"{plain_date(on)}, {by}" if on and by else plain_date(on) if on else by
    yield FlowRow("analysed", said)
    if not by:
        yield Blanks((("analyst", ""),))


def _pressure_rows(card: Card, shop: Shop, known: bool) -> Iterator[Item]:
    held = card.contents
    if not known or held.pressure is None:
        yield Blanks((("pressure", str(shop.page.shore)), ("date", "")))
        return
    at = f" at {held.temperature}" if held.temperature else ""
    on = f", read {plain_date(held.on)}" if held.on is not None else ""
    yield FlowRow("pressure", f"{shop.page.marked(held.pressure)}{at}{on}")


def _depth_rows(oxygen: float | None, shop: Shop) -> Iterator[Item]:
    """The depth limit, only ever from an analysis and a pressure that the settings name."""
    most = shop.oxygen_pressure
    if oxygen is None or most is None:
        yield Blanks((("depth limit", "m"), ("", "ft")))
    else:
        yield FlowRow("depth limit", how_deep(oxygen, most))


def how_deep(oxygen: float, most: AbsolutePressure) -> str:
    """How deep by its analysed oxygen [%], or why no dive: `34 m / 111 ft (oxygen 1.4 ata)`."""
    try:
        return f"{depth_limit(oxygen, most)} (oxygen {most})"
    except GasError as error:
        return f"{NO_DIVE}: {error}"


def _lean_rows(oxygen: float | None, shop: Shop) -> Iterator[Item]:
    """That a gas is too lean to breathe at the surface, and from where on it may be."""
    said, deep = lean_said(oxygen, shop.least_oxygen)
    if said:
        yield Say(f"LOW OXYGEN: {said}.", bold=True)
    if deep:
        yield FlowRow("least depth", deep)


# --- do not fill


def _do_not_fill(card: Card, shop: Shop) -> _LabelParts:
    closed = not_to_use(card.answer)
    head: tuple[Item, ...] = (
        Say(f"{DO_NOT_FILL}{OR_USE * bool(closed)}", scale=2.6, bold=True, shrinks=True),
        Say(card.id, scale=1.8, bold=True, shrinks=True),
    )
    record = card.record
    if isinstance(record, Cylinder):
        head = (*head, Say(f"serial {record.serial}", scale=0.9))
    for side in card.cylinders:
        serial = side.cylinder.serial if side.cylinder else "NOT KNOWN"
        head = (*head, Say(f"{side.id}: serial {serial}", scale=0.9))
    reasons = against_said(card)
    body = tuple(Say(f"{n}. {text[:1].upper()}{text[1:]}.") for n, text in enumerate(reasons, 1))
    return _LabelParts(
        head, body, framed=True, largest=14.0, own=f"{OWN} Only the shop takes it off."
    )


# --- rental


def _rental(card: Card, shop: Shop) -> _LabelParts:
    head = (
        Say("Rental", scale=1.2, bold=True),
        Say(card.id, scale=2.2, bold=True, shrinks=True),
    )
    held = card.contents
    body: list[Item] = []
    body += [FlowRow(side.id, side_said(side, shop.page)) for side in card.cylinders]
    read = f", {held.figures}" if held.oxygen is not None else ""
    body.append(FlowRow("gas", f"{held.gas}{read}" if held.gas else "not on record"))
    if held.oxygen is not None:
        body += _analysis_rows(held)
    body += _lean_rows(told_oxygen(held), shop)
    body += _pressure_rows(card, shop, held.pressure is not None)
    out = _out_to(card)
    if out is not None:
        body.append(FlowRow("out to", out.to))
        body.append(
            FlowRow("due back", plain_date(out.until)) if out.until else Blanks((("due back", ""),))
        )
    else:
        body.append(Blanks((("out to", ""), ("due back", ""))))
    body += _of_user(card)
    body += [
        Say("Bring it back with gas in it and the valve closed. Tell us of any knock.", scale=0.9),
        Blanks((("back: pressure", ""), ("valve", ""), ("damage", ""))),
    ]
    return _LabelParts(head, tuple(body), (Say("Analyse before use.", scale=0.9, spare=1),))


def _of_user(card: Card) -> Iterator[Item]:
    """What whoever took it analysed, and wrote; room to write that, where nothing is on record of a
    gas that is not air."""
    read, gas = user_analysed(card), card.contents.gas
    if read is not None:
        yield FlowRow("user analysed", read.figures)
        yield FlowRow("deepest", f"{read.depth or 'not written'}, {read.initials or 'not signed'}")
    elif gas is None or not gas.is_air:
        helium_blank = _helium_blank(card.contents, "helium")
        yield Blanks((("user: oxygen", "%"), *helium_blank, ("deepest", ""), ("initials", "")))


def _out_to(card: Card) -> Rented | None:
    rented = card.record.rented if card.record else ()
    return next((r for r in reversed(standing(rented)) if r.back is None), None)


# --- hand-over slip


def _slip(card: Card, shop: Shop) -> _LabelParts:
    record = card.record
    assert isinstance(record, Cylinder)  # a set gets no slip
    handed = standing(record.handed_over)
    number = handed[-1].slip if handed and handed[-1].slip else ""
    closed = not_to_use(card.answer)
    head = (
        *([Say(DO_NOT_USE, scale=2.6, bold=True, shrinks=True)] if closed else []),
        Say(f"Hand-over slip {number}".rstrip(), scale=1.2, bold=True),
        Say(card.id, scale=1.8, bold=True, shrinks=True),
    )
    body: list[Item] = []
    if handed:
        body.append(FlowRow("handed over", f"{plain_date(handed[-1].on)}, to {handed[-1].to}"))
    if record.maker:
        body.append(FlowRow("maker", record.maker, spare=2))
    body += _who(card, shop)
    body += [FlowRow("tested", _test(t)) for t in standing(record.requalified)]
    body += [FlowRow("inspected", _look(i, shop)) for i in standing(record.inspected)]
    body += _until_rows(card)
    body.append(FlowRow("holds", contents_text(card.contents, shop.page), spare=1))
    if (read := user_analysed(card)) is not None:
        said = replace(read, depth=None) if closed else read
        body.append(FlowRow("analysed", f"{said}, by who received it"))
    if closed:
        body += [Say(f"{text[:1].upper()}{text[1:]}.") for text in closed]
    foot = (
        Say(f"{CARE} Keep this slip with the cylinder's papers.", scale=0.9, spare=1),
        Blanks((("received by", ""), ("date", ""))),
    )
    return _LabelParts(head, tuple(body), foot, largest=11.0, own=SLIP, own_short=SLIP)


def _test(test: Requalified) -> str:
    failed = ", FAILED" if test.result is TestResult.FAIL else ""
    by = f", by {test.by}" if test.by else ""
    stamp = f", stamp {test.stamp}" if test.stamp else ""
    return f"{plain_date(test.on)}, {test.method}{by}{stamp}{failed}"


def _look(look: Inspected, shop: Shop) -> str:
    by = f", by {look.by}" if look.by else ""
    sticker = f", sticker {look.sticker}" if look.sticker else ""
    if look.sticker_on:
        sticker = f", sticker put on {plain_date(look.sticker_on)}"
    number = f" {look.sticker_number}" if look.sticker_number else ""
    followed = shop.headings.get(look.checklist, look.checklist)
    return f"{plain_date(look.on)}, {followed}, {look.result}{by}{sticker}{number}"


_MAKERS = {
    LabelKind.IDENTITY: _identity,
    LabelKind.ANALYSIS: _analysis,
    LabelKind.STRIP: _strip,
    LabelKind.DO_NOT_FILL: _do_not_fill,
    LabelKind.RENTAL: _rental,
    LabelKind.SLIP: _slip,
}
