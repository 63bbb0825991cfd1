"""What labels say, read back from the file; their codes, their type, and long runs."""

from __future__ import annotations

import datetime as dt
import tracemalloc
from collections.abc import Callable
from typing import Any

import books
import pdf as seen
import pytest
import zxingcpp
from msgspec.structs import replace
from PIL import ImageFilter
from syrupy.assertion import SnapshotAssertion

from tankbook.gas import Gas
from tankbook.gas.depth import USUAL_LEAST, depth_limit
from tankbook.ledger import shipped
from tankbook.output.card import Card
from tankbook.output.page import Page
from tankbook.output.paper.code import code_text
from tankbook.output.paper.face import PaperError
from tankbook.output.paper.flow import SMALLEST, FlowRow, Say
from tankbook.output.paper.grid import LabelGrid
from tankbook.output.paper.labels import (
    OWN,
    OWN_SHORT,
    Shop,
    _depth_rows,
    _lean_rows,
    label_of,
)
from tankbook.output.paper.run import LabelPlace, print_labels
from tankbook.output.tags import against_said
from tankbook.output.user_gas import _depths
from tankbook.records.book import Book
from tankbook.records.words import LabelKind, Shore
from tankbook.rules.answers import Analysis, Contents
from tankbook.rules.lean import from_where, told_oxygen
from tankbook.units import AbsolutePressure

Cards = Callable[[Book, str], Card]
Grids = Callable[[str], LabelGrid]

SHOWN = [
    (LabelKind.TAG, "letter-tags", ("RB-011", "CU-072", "DB-01", "DB-02", "RB-014")),
    (LabelKind.IDENTITY, "letter-30", ("RB-011", "CU-067")),
    (LabelKind.ANALYSIS, "letter-10", ("RB-041", "DB-01", "RB-011", "RB-022")),
    (LabelKind.RENTAL, "a4-8", ("RB-016", "RB-011", "DB-01")),
    (LabelKind.STRIP, "letter-30", ("RB-041", "DB-01")),
    (LabelKind.SLIP, "letter-slips", ("SF-054", "RB-011")),
    (LabelKind.DO_NOT_FILL, "roll-62", ("CU-072", "SF-052")),
]


@pytest.mark.parametrize(("kind", "sheet", "ids"), SHOWN)
def test_what_labels_say(
    kind: LabelKind, sheet: str, ids: tuple[str, ...], cove: Book, card_of: Cards, shop: Shop,
    grid: Grids, snapshot: SnapshotAssertion,
) -> None:  # fmt: skip
    labels = [label_of(card_of(cove, id_), kind, shop) for id_ in ids]
    assert seen.text_of(print_labels(labels, grid(sheet), "test").pdf) == snapshot


@pytest.mark.parametrize("dpi", [200, 300])
@pytest.mark.parametrize(("kind", "sheet", "ids"), SHOWN)
def test_codes_are_read_back_at_print_size(
    kind: LabelKind, sheet: str, ids: tuple[str, ...], dpi: int, cove: Book, card_of: Cards,
    shop: Shop, grid: Grids,
) -> None:  # fmt: skip
    cards = [card_of(cove, id_) for id_ in ids]
    done = print_labels([label_of(c, kind, shop) for c in cards], grid(sheet), "test")
    read = [text for page in range(done.pages) for text in seen.codes_of(done.pdf, page, dpi)]
    if kind is LabelKind.STRIP:
        assert read == []  # there is no room for a code that could be read
        return
    assert [text.split("\n")[0] for text in sorted(read)] == sorted(p.id for p in done.places)
    for text in read:
        id_, serial, ledger = text.split("\n")
        record = cove.cylinders.get(id_) or cove.sets[id_]
        expected = "+".join(record.cylinders) if id_ in cove.sets else record.serial  # type: ignore
        assert (serial, ledger) == (expected, "Test Quay")


WITH_CODE = {
    LabelKind.TAG: "RB-011",
    LabelKind.IDENTITY: "RB-011",
    LabelKind.ANALYSIS: "DB-01",
    LabelKind.RENTAL: "RB-016",
    LabelKind.SLIP: "RB-011",
    LabelKind.DO_NOT_FILL: "CU-072",
}
BLUR = 1.0
"""Dots of 200 to the inch, as a standard deviation: of the order of a hand that is not still (own
choice, no source)."""


@pytest.mark.parametrize("sheet", sorted(shipped.sheets()))
def test_a_code_is_read_on_every_sheet_at_200_dpi_and_blurred(
    sheet: str, cove: Book, card_of: Cards, shop: Shop, grid: Grids
) -> None:
    """Of each kind that fits on it."""
    box, dot = grid(sheet).labels[0], 25.4 / 200
    edges = [round(each / dot) for each in (box.x, box.y, box.right, box.bottom)]
    read = {}
    for kind, id_ in WITH_CODE.items():
        try:
            done = print_labels([label_of(card_of(cove, id_), kind, shop)], grid(sheet), "test")
        except PaperError:
            continue
        image = seen.picture(done.pdf).crop(edges)
        for name, shown in (("as it is", image), ("blurred", blurred(image))):
            found = zxingcpp.read_barcodes(shown)
            read[kind.value, name] = [code.text.split("\n")[0] for code in found]
    assert read
    assert read == {each: [WITH_CODE[LabelKind(each[0])]] for each in read}


def blurred(image: Any) -> Any:
    return image.filter(ImageFilter.GaussianBlur(BLUR))


@pytest.mark.parametrize("sheet", sorted(shipped.sheets()))
def test_nothing_on_a_label_is_smaller_than_is_read_at_arm_s_length(
    sheet: str, cove: Book, card_of: Cards, shop: Shop, grid: Grids
) -> None:
    """Every kind of label on every sheet it fits on, short of room or not."""
    ids = {LabelKind.SLIP: ("RB-011",), LabelKind.DO_NOT_FILL: ("CU-072", "DB-02")}
    fits = 0
    for kind in LabelKind:
        for id_ in ids.get(kind, ("RB-041", "DB-01", "RB-011", "CU-067")):
            if kind is LabelKind.STRIP and card_of(cove, id_).contents.oxygen is None:
                continue
            label = label_of(card_of(cove, id_), kind, shop)
            try:
                done = print_labels([label], grid(sheet), "test", cuts=True, proof=True)
            except PaperError:
                continue
            fits += 1
            assert min(seen.sizes_of(done.pdf).items())[0] >= SMALLEST, (kind, id_)
    assert fits


def test_a_code_holds_no_person() -> None:
    assert code_text("RB-014", "K118204", "N" * 60) == f"RB-014\nK118204\n{'N' * 40}"


@pytest.mark.parametrize("ledger", ["Łódź nurkowa", "Αθήνα καταδύσεις", "Київ", "Æ 2000 psi"])
def test_names_print_and_are_read(
    ledger: str, cove: Book, card_of: Cards, shop: Shop, today: dt.date, grid: Grids
) -> None:
    there = Shop(ledger, today, Page())
    done = print_labels(
        [label_of(card_of(cove, "RB-011"), LabelKind.TAG, there)], grid("a4-tags"), "test"
    )
    assert f"{ledger}, 25 Nov 2026" in seen.text_of(done.pdf)
    assert seen.codes_of(done.pdf) == [f"RB-011\nF20411\n{ledger}"]


def test_type_is_embedded(cove: Book, card_of: Cards, shop: Shop, grid: Grids) -> None:
    label = label_of(card_of(cove, "RB-011"), LabelKind.TAG, shop)
    done = print_labels([label], grid("a4-tags"), "test")
    assert seen.fonts_of(done.pdf) == {
        "DejaVuSansCondensed": True,
        "DejaVuSansCondensed-Bold": True,
    }


def test_all_is_black(cove: Book, card_of: Cards, shop: Shop, grid: Grids) -> None:
    """Nothing is said by colour: a colour picture of every kind has grey dots only."""
    ids = {LabelKind.TAG: "CU-072", LabelKind.ANALYSIS: "RB-041", LabelKind.SLIP: "SF-054"}
    labels = [label_of(card_of(cove, id_), kind, shop) for kind, id_ in ids.items()]
    done = print_labels(labels, grid("letter-slips"), "test", cuts=True, proof=True)
    for page in seen.opened(done.pdf):
        image = page.render(scale=1).to_pil().convert("RGB")
        assert all(r == g == b for _, (r, g, b) in image.getcolors(70_000))


def test_the_same_labels_give_the_same_file(
    cove: Book, card_of: Cards, shop: Shop, grid: Grids
) -> None:
    def made() -> bytes:
        labels = [label_of(card_of(cove, "RB-011"), LabelKind.TAG, shop)]
        return print_labels(labels, grid("a4-tags"), "test", cuts=True).pdf

    assert made() == made()


def test_a_begun_sheet_is_used_up(cove: Book, card_of: Cards, shop: Shop, grid: Grids) -> None:
    labels = [
        label_of(card_of(cove, i), LabelKind.TAG, shop) for i in ("RB-011", "RB-012", "RB-014")
    ]
    done = print_labels(labels, grid("a4-8"), "test", start=7)
    tag = LabelKind.IDENTITY
    assert done.places == (
        LabelPlace("RB-011", tag, 1, 7), LabelPlace("RB-012", tag, 1, 8), LabelPlace("RB-014", tag, 2, 1),
    )  # fmt: skip
    assert (done.pages, done.next_place) == (2, 2)
    first = seen.opened(done.pdf)[0].get_textpage()
    assert "RB-011" not in first.get_text_bounded(0, 300, 595, 842)


def test_every_reason_is_printed_on_as_many_tags_as_it_takes(
    cove: Book, card_of: Cards, shop: Shop, grid: Grids
) -> None:
    card = card_of(cove, "CU-072")
    label = label_of(card, LabelKind.DO_NOT_FILL, shop)
    done = print_labels([label], grid("roll-90"), "test")
    text = seen.text_of(done.pdf)
    whole = " ".join(text.split())
    assert len(done.places) > 1
    assert text.count("DO NOT FILL") == len(done.places)
    assert f"CU-072: part 1 of {len(done.places)}" in whole
    reasons = against_said(card)
    assert set(reasons) == {reason.text for reason in card.answer.refusals}
    for n, reason in enumerate(reasons, 1):
        assert f"{n}. {reason[:1].upper()}{reason[1:]}." in whole


def test_what_does_not_fit_is_one_line(cove: Book, card_of: Cards, shop: Shop, grid: Grids) -> None:
    label = label_of(card_of(cove, "SF-054"), LabelKind.SLIP, shop)
    with pytest.raises(PaperError) as told:
        print_labels([label], grid("letter-30"), "test")
    assert str(told.value) == (
        "SF-054: the hand-over slip does not fit on a label with 63 x 21 mm to print on"
    )


GAS = (
    "at=2026-11-21T09:30:00+01:00; cylinder=RB-014; act=fill; to=200 bar; gas={gas}; by=MV{more}\n"
)


@pytest.mark.parametrize(
    ("gas", "more", "said"),
    [
        ("nitrox32", "; o2=32.1 %; analysed_by=MV", "33 m / 109 ft (oxygen 1.4 bar abs)"),
        ("oxygen", "; o2=99.6 %; analysed_by=MV", "3 m / 12 ft (oxygen 1.4 bar abs)"),
        ("trimix10/50", "; o2=10.2 %; analysed_by=MV", "LOW OXYGEN: not to be breathed"),
        ("nitrox32", "", "depth limit m ft"),
        ("air", "", "depth limit m ft"),
    ],
)
def test_the_depth_limit_comes_from_an_analysis_alone(
    gas: str, more: str, said: str, card_of: Cards, shop: Shop, grid: Grids
) -> None:
    good = books.GOOD.replace("service: air", "service: oxygen")
    book = books.make_book({"RB-014": good}, log=GAS.format(gas=gas, more=more))
    card = card_of(book, "RB-014")
    done = print_labels([label_of(card, LabelKind.ANALYSIS, shop)], grid("a4-8"), "test")
    assert said in seen.text_of(done.pdf)


@pytest.mark.parametrize("kind", [LabelKind.ANALYSIS, LabelKind.RENTAL])
def test_a_reading_changes_no_day_of_an_analysis(
    kind: LabelKind, card_of: Cards, shop: Shop, grid: Grids
) -> None:
    """What was analysed on the 21st and read on the 24th was analysed on the 21st; helium is said
    as it was analysed."""
    read = (
        "at=2026-11-24T09:30:00+01:00; cylinder=RB-014; act=reading; to=195 bar; temperature=8 degC"
    )
    more = "; o2=20.1 %; he=34.6 %; analysed_by=MV"
    good = books.GOOD.replace("service: air", "service: oxygen")
    log = GAS.format(gas="trimix20/35", more=more) + read + "\n"
    card = card_of(books.make_book({"RB-014": good}, log=log), "RB-014")
    text = seen.text_of(print_labels([label_of(card, kind, shop)], grid("a4-8"), "test").pdf)
    said = " ".join(text.split())
    assert "analysed 21 Nov 2026, MV" in said
    assert "at 8 degC, read 24 Nov 2026" in said
    assert "34.6 %" in said


CAP = 0.729 * 25.4 / 72
"""How high a figure of the bold face is [mm] at a size of 1 pt: 1493 of 2048 units, read in the
face's own tables."""
LEAN = "; o2=10.2 %; he=69.8 %; analysed_by=MV; temperature=12 degC"
SMALL_STRIPS = [
    ("roll-60", "nitrox32", "; o2=32.1 %; analysed_by=MV; temperature=12 degC", "33 m / 109 ft"),
    ("letter-30", "nitrox32", "; o2=32.1 %; analysed_by=MV; temperature=12 degC", "33 m / 109 ft"),
    ("a4-24", "nitrox32", "; o2=32.1 %; analysed_by=MV; temperature=12 degC", "33 m / 109 ft"),
    ("roll-60", "trimix10/70", LEAN, "127 m / 414 ft"),
    ("a4-24", "trimix10/70", LEAN, "127 m / 414 ft"),
    ("roll-60", "oxygen", "; o2=99.6 %; analysed_by=MV", "3 m / 12 ft"),
]


@pytest.mark.parametrize(("sheet", "gas", "more", "depth"), SMALL_STRIPS)
def test_a_strip_says_before_all_how_deep(
    sheet: str, gas: str, more: str, depth: str, card_of: Cards, today: dt.date, grid: Grids
) -> None:
    good = books.GOOD.replace("service: air", "service: oxygen")
    book = books.make_book({"RB-014": good}, log=GAS.format(gas=gas, more=more))
    shop = Shop("Test Quay", today, Page(shore=Shore.BAR), AbsolutePressure.of(1.4, "bar"))
    label = label_of(card_of(book, "RB-014"), LabelKind.STRIP, shop)
    pdf = print_labels([label], grid(sheet), "test").pdf
    largest = max(seen.sizes_of(pdf))
    assert (seen.sizes_of(pdf)[largest].strip(), largest * CAP >= 5) == (depth, True)
    said = " ".join(seen.text_of(pdf).split())
    read = more.split("o2=")[1].split(";")[0]
    assert f"RB-014 {gas}: O2 {read}" in said
    assert "MAXIMUM DEPTH, at 1.4 bar abs oxygen." in said
    assert "Analysed 21 Nov 2026, MV. 200 bar" in said
    assert f"user: O2 % {'He % ' if 'trimix' in gas else ''}initials" in said
    assert ("NOT AT THE SURFACE: least 8 m / 25 ft." in said) == (gas == "trimix10/70")
    assert ("He 69.8 %" in said) == (gas == "trimix10/70")


STRIP_GASES = {
    "air": ("air", "; o2=20.9 %"),
    "nitrox": ("nitrox32", "; o2=32.1 %"),
    "trimix, at the surface": ("trimix20/35", "; o2=20.1 %; he=34.6 %"),
    "trimix, lean": ("trimix18/45", "; o2=18.1 %; he=44.8 %"),
    "trimix, from deep": ("trimix10/70", "; o2=10.2 %; he=69.8 %"),
    "heliox": ("heliox16", "; o2=16.1 %; he=83.8 %"),
    "oxygen": ("oxygen", "; o2=99.6 %"),
    "too rich to dive": ("oxygen", "; o2=99.9 %"),
}
READ_AGAIN = (
    "at=2026-11-24T09:30:00+01:00; cylinder=RB-014; act=reading; to=195 bar; temperature=8 degC\n"
)


@pytest.mark.parametrize("sheet", sorted(shipped.sheets()))
@pytest.mark.parametrize("gas", STRIP_GASES)
def test_a_strip_of_every_gas_fits_on_every_sheet(
    sheet: str, gas: str, card_of: Cards, today: dt.date, grid: Grids
) -> None:
    """Read again or not, in psi or bar or both, the depth by either setting, with all it says, and
    that it is no official sticker: of a lean gas on the smallest sheets all in the trade's words."""
    named, read = STRIP_GASES[gas]
    good = books.GOOD.replace("service: air", "service: oxygen")
    for again in ("", READ_AGAIN):
        log = GAS.format(gas=named, more=f"{read}; analysed_by=MVW; temperature=12 degC")
        card = card_of(books.make_book({"RB-014": good}, log=log + again), "RB-014")
        for shore in Shore:
            for most in (AbsolutePressure.of(1.4, "ata"), AbsolutePressure.of(1.6, "bar")):
                page = Page(shore=shore)
                label = label_of(card, LabelKind.STRIP, Shop("Quay", today, page, most))
                pdf = print_labels([label], grid(sheet), "test").pdf
                sizes = seen.sizes_of(pdf)
                assert min(sizes) >= SMALLEST
                assert max(sizes) * CAP >= 5
                said = " ".join(seen.text_of(pdf).split())
                deepest = str(depth_limit(card.contents.oxygen or 0, most))
                assert deepest in said
                assert str(most) in said
                lean = (card.contents.oxygen or 0) < 19.5
                least = from_where(card.contents.oxygen or 0, USUAL_LEAST)
                assert ("LOW OXYGEN." in said) is (lean and least.is_surface)
                briefly = sheet in SMALL_SHEETS and f"MAX at {most} O2." in said
                warned = "HYPOXIC: least" if briefly else "NOT AT THE SURFACE: least"
                assert (warned in said) is (not least.is_surface)
                assert OWN in said or (OWN_SHORT in said and briefly)
                assert (f"least {least}" in said) is (lean and not least.is_surface)
                assert "Analysed 21 Nov 2026, MVW." in said
                assert ("24 Nov 2026" in said) is bool(again)


@pytest.mark.parametrize("sheet", sorted(shipped.sheets()))
@pytest.mark.parametrize("most", ["1.4 ata", "1.6 ata", "1.4 bar"])
@pytest.mark.parametrize("gas", sorted(set(STRIP_GASES) - {"too rich to dive"}))
def test_what_stands_beside_a_depth_leaves_no_phrase_torn(
    gas: str, sheet: str, most: str, card_of: Cards, today: dt.date, grid: Grids
) -> None:
    """The end of a phrase alone, under the figure, reads as a row of its own."""
    named, read = STRIP_GASES[gas]
    log = GAS.format(gas=named, more=f"{read}; analysed_by=MVW; temperature=12 degC")
    good = books.GOOD.replace("service: air", "service: oxygen")
    card = card_of(books.make_book({"RB-014": good}, log=log), "RB-014")
    number, unit = most.split()
    pressure = AbsolutePressure.of(float(number), unit)
    label = label_of(card, LabelKind.STRIP, Shop("Quay", today, Page(), pressure))
    lines = seen.text_of(print_labels([label], grid(sheet), "test").pdf).splitlines()
    oxygen = card.contents.oxygen or 0
    briefly = sheet in SMALL_SHEETS and any("MAX at" in line for line in lines)
    phrases = ["MAXIMUM DEPTH,", f"at {pressure} oxygen."]
    phrases = [f"MAX at {pressure} O2."] if briefly else phrases
    least = from_where(oxygen, USUAL_LEAST)
    if oxygen < 19.5 and least.is_surface:
        phrases += ["LOW OXYGEN."]
    elif oxygen < 19.5:
        deep = ["NOT AT THE SURFACE:", f"least {least}."]
        phrases += [f"HYPOXIC: least {least}."] if briefly else deep
    assert [phrase for phrase in phrases if sum(phrase in line for line in lines) != 1] == []
    assert "oxygen." not in {line.strip() for line in lines}


HELIUM_BOXES = {
    LabelKind.STRIP: "user: O2 % He %",
    LabelKind.RENTAL: "user: oxygen % helium %",
    LabelKind.ANALYSIS: "oxygen % helium % depth",
}


@pytest.mark.parametrize("gas", sorted(set(STRIP_GASES) - {"air"}))
@pytest.mark.parametrize("kind", HELIUM_BOXES)
def test_who_dives_a_gas_with_helium_has_room_to_write_both(
    kind: LabelKind, gas: str, card_of: Cards, today: dt.date, grid: Grids
) -> None:
    named, read = STRIP_GASES[gas]
    log = GAS.format(gas=named, more=f"{read}; analysed_by=MVW; temperature=12 degC")
    good = books.GOOD.replace("service: air", "service: oxygen")
    card = card_of(books.make_book({"RB-014": good}, log=log), "RB-014")
    shop = Shop("Quay", today, Page(), AbsolutePressure.of(1.4, "ata"))
    for sheet in ("letter-30", "roll-60") if kind is LabelKind.STRIP else ("letter-tags",):
        pdf = print_labels([label_of(card, kind, shop)], grid(sheet), "test").pdf
        said = " ".join(seen.text_of(pdf).split())
        assert (HELIUM_BOXES[kind] in said) is ("he=" in read)


@pytest.mark.parametrize("sheet", sorted(shipped.sheets()))
def test_no_label_goes_without_saying_what_it_is_not(
    sheet: str, cove: Book, card_of: Cards, shop: Shop, grid: Grids
) -> None:
    """Short of room or not, on every sheet it fits on."""
    bare, fits = [], 0
    for kind in (LabelKind.IDENTITY, LabelKind.RENTAL, LabelKind.DO_NOT_FILL, LabelKind.ANALYSIS):
        for id_ in ("RB-012", "RB-011", "RB-041", "DB-01", "CU-072", "SF-054"):
            try:
                done = print_labels([label_of(card_of(cove, id_), kind, shop)], grid(sheet), "test")
            except PaperError:
                continue
            fits += 1
            for page in range(done.pages):
                said = " ".join(seen.text_of(done.pdf).split("\f")[page].split())
                if OWN not in said and OWN_SHORT not in said:
                    bare.append((kind.value, id_))
    assert fits
    assert bare == []


@pytest.mark.parametrize("id_", ["RB-012", "DB-01"])
def test_a_rental_tag_of_the_usual_sheet_says_it_whole(
    id_: str, cove: Book, card_of: Cards, today: dt.date, grid: Grids
) -> None:
    shop = Shop("Brindle Cove fill station", today, Page(), AbsolutePressure.of(1.4, "bar"))
    label = label_of(card_of(cove, id_), LabelKind.RENTAL, shop)
    pdf = print_labels([label], grid("letter-tags"), "test").pdf
    assert OWN in " ".join(seen.text_of(pdf).split())
    assert "Bring it back with gas in it" in seen.text_of(pdf)


SMALL_SHEETS = {"letter-30", "roll-60"}
LONG_NAMES = [("CUSTOMER-OWN-STEEL-00123", "MVWQ"), ("RB-014", "M. van Wijngaarden-Quartermain")]


@pytest.mark.parametrize("sheet", sorted(shipped.sheets()))
@pytest.mark.parametrize(("id_", "analyst"), [*LONG_NAMES, ("M" * 40, "W" * 30)])
def test_a_long_id_or_analyst_is_on_a_strip_whole_or_it_is_refused(
    id_: str, analyst: str, sheet: str, card_of: Cards, today: dt.date, grid: Grids
) -> None:
    """Of the gas of which a strip says most; only the two smallest sheets ever refuse."""
    good = books.GOOD.replace("service: air", "service: oxygen")
    named, read = STRIP_GASES["trimix, from deep"]
    log = GAS.format(gas=named, more=f"{read}; analysed_by={analyst}") + READ_AGAIN
    book = books.make_book({id_: good}, log=log.replace("cylinder=RB-014", f"cylinder={id_}"))
    shop = Shop("Quay", today, Page(shore=Shore.PSI), AbsolutePressure.of(1.4, "ata"))
    label = label_of(card_of(book, id_), LabelKind.STRIP, shop)
    try:
        pdf = print_labels([label], grid(sheet), "test").pdf
    except PaperError as error:
        refused = str(error)
    else:
        refused = ""
        assert min(seen.sizes_of(pdf)) >= SMALLEST
        said = "".join(seen.text_of(pdf).split())
        assert id_ in said
        assert f"{analyst}.".replace(" ", "") in said
    assert not refused or (sheet in SMALL_SHEETS and f"{id_}: the strip does not fit" in refused)


def test_without_a_setting_the_depth_is_left_blank(
    cove: Book, card_of: Cards, today: dt.date, grid: Grids
) -> None:
    shop = Shop("Test Quay", today, Page(shore=Shore.BAR))
    label = label_of(card_of(cove, "RB-041"), LabelKind.ANALYSIS, shop)
    text = seen.text_of(print_labels([label], grid("a4-8"), "test").pdf)
    assert "32.1 %, analysed" in text
    assert "3290 psi (226 bar) at 55 degF" in text
    assert "depth limit m ft" in text


def test_a_letter_that_cannot_be_printed_leaves_a_line_and_not_the_run(
    card_of: Cards, shop: Shop, grid: Grids
) -> None:
    book = books.make_book({"RB-014": books.GOOD.replace("Example Cylinder Co", "潜水 Co שלום")})
    label = label_of(card_of(book, "RB-014"), LabelKind.SLIP, shop)
    assert label.left == ("潜水", "שלום")
    text = seen.text_of(print_labels([label], grid("letter-slips"), "test").pdf)
    assert "maker ____ Co ____\n" in text


def test_an_id_is_never_printed_with_a_gap(card_of: Cards, shop: Shop) -> None:
    """It might be another's."""
    card = card_of(books.make_book({"RB-014": books.GOOD}), "RB-014")
    with pytest.raises(PaperError, match=r"^潜-014: `潜` cannot be printed"):
        label_of(replace(card, id="潜-014"), LabelKind.TAG, shop)


def test_many_tags_in_bounded_memory(cove: Book, card_of: Cards, shop: Shop, grid: Grids) -> None:
    """A finished page is kept as compressed bytes: ten pages take little more than one."""
    labels = [label_of(card_of(cove, "RB-011"), LabelKind.TAG, shop)] * 80
    print_labels(labels[:8], grid("a4-8"), "warm")  # faces and codes are loaded once
    seen_progress: list[tuple[int, int]] = []

    def peak(count: int) -> int:
        tracemalloc.start()
        print_labels(
            labels[:count], grid("a4-8"), "test",
            progress=lambda done, of: seen_progress.append((done, of)),
        )  # fmt: skip
        try:
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    few, many = peak(8), peak(80)
    assert many < few + 4_000_000
    assert seen_progress[-80:] == [(n, 80) for n in range(1, 81)]


@pytest.mark.parametrize("settings", ["", "oxygen_pressure: 1.4 ata\n", "oxygen_pressure: 1.6 bar abs\nleast_oxygen_pressure: 0.21 bar abs\n"])  # fmt: skip
@pytest.mark.parametrize("oxygen", [None, 0, 5, 10.2, 19.4, 19.5, 20.9, 32.1, 99.6, 100])
@pytest.mark.parametrize("gas", ["trimix10/50", "nitrox32", "air"])
def test_a_label_and_a_slip_say_one_thing_of_the_depths(
    gas: str, oxygen: float | None, settings: str
) -> None:
    analysis = None if oxygen is None else Analysis(dt.date(2026, 11, 24), oxygen)
    held = Contents(Gas.parse(gas), None, None, None, None, analysis)
    book = books.make_book({}, settings=f"{books.SETTINGS}{settings}")
    most = book.settings.oxygen_pressure
    least = book.settings.least_oxygen_pressure or USUAL_LEAST
    shop = Shop("Quay", dt.date(2026, 11, 25), Page(), most, least)
    on_label = [*_depth_rows(held.oxygen, shop), *_lean_rows(told_oxygen(held), shop)]
    rows = {row.name: row.value for row in on_label if isinstance(row, FlowRow)}
    on_slip = dict(_depths(held, book.settings))
    assert rows.get("depth limit", "") == on_slip["deepest"]
    assert rows.get("least depth") == on_slip.get("least depth")
    lean = [row.text for row in on_label if isinstance(row, Say)]
    said = on_slip.get("LOW OXYGEN")
    assert lean == ([f"LOW OXYGEN: {said}."] if said else [])
    if oxygen == 0 and most:
        assert on_slip["deepest"] == "NOT FOR DIVING: 0 % oxygen is not a gas to breathe"


def test_a_lean_gas_that_nobody_analysed_is_told_to_be_lean(
    card_of: Cards, shop: Shop, grid: Grids
) -> None:
    good = books.GOOD.replace("service: air", "service: oxygen")
    book = books.make_book({"RB-014": good}, log=GAS.format(gas="trimix10/50", more=""))
    label = label_of(card_of(book, "RB-014"), LabelKind.ANALYSIS, shop)
    said = seen.text_of(print_labels([label], grid("a4-8"), "test").pdf)
    assert "LOW OXYGEN: not to be breathed at the surface." in " ".join(said.split())


@pytest.mark.parametrize("id_", ["RB-014", "A" * 18, "AB-" + "1234567" * 3, "A" * 28])
def test_an_analysis_on_a_strip_is_torn_nowhere(
    id_: str, card_of: Cards, today: dt.date, grid: Grids
) -> None:
    good = books.GOOD.replace("service: air", "service: nitrox")
    shop = Shop("Quay", today, Page(), AbsolutePressure.of(1.4, "ata"))
    log = GAS.format(gas="nitrox32", more="; o2=32.1 %; analysed_by=MV").replace("RB-014", id_)
    label = label_of(card_of(books.make_book({id_: good}, log=log), id_), LabelKind.STRIP, shop)
    for sheet in ("letter-30", "a4-24"):
        try:
            said = seen.text_of(print_labels([label], grid(sheet), "test").pdf)
        except PaperError:  # an id of two lines leaves no room for what no label goes without
            assert (sheet, len(id_) > 20) == ("letter-30", True)
            continue
        assert any("O2 32.1 %" in text for text in said.splitlines()), said


def test_a_slip_calls_a_look_as_its_checklist_is_shown(
    cove: Book, card_of: Cards, shop: Shop
) -> None:
    card = card_of(cove, "RB-011")
    headed = replace(shop, headings={"annual": "Annual inspection"})
    says = [
        [
            i.value
            for i in label_of(card, LabelKind.SLIP, each).body
            if isinstance(i, FlowRow) and i.name == "inspected"
        ]
        for each in (shop, headed)
    ]
    plain, called = says
    assert any(", annual, pass" in line for line in plain)
    assert called == [line.replace(", annual, ", ", Annual inspection, ") for line in plain]
    assert any(", new, " in line for line in called)
