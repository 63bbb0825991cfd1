"""A ledger's own rows: what tightens, what is a fault, and what loosens by name."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, make_book, typed
from changing import replace
from hypothesis import given
from hypothesis import strategies as st

from tankbook.acts.rent import Going, rent
from tankbook.ledger import shipped
from tankbook.records.edits import Act, Refusal
from tankbook.records.fields import keys_of
from tankbook.records.rulerow import (
    AirLimits,
    AppliesTo,
    Obligation,
    RuleRow,
    RuleSet,
    WatchRow,
)
from tankbook.rules.gate import may_fill
from tankbook.rules.hand_over import may_hand_over
from tankbook.rules.inforce import rules_on
from tankbook.rules.own_rows import OwnRow, judged
from tankbook.rules.strictness import (
    RULE_KEYS,
    TOLD,
    WATCH_KEYS,
    covers,
    ends_no_later,
    limits_within,
    looser_in,
)
from tankbook.units import Concentration, PartialDate, Percent, Period

SETS = tuple(shipped.rule_set(n) for n in ("us-dot", "uk", "nz", *shipped.EVERYWHERE))
RULES = {r.id: r for s in SETS for r in s.rows}
WATCH = {w.id: w for s in SETS for w in s.watch}
NAMED = "by: MV, why: seldom used, since: 2026-03"


def own(rows: str = "", watch: str = "") -> RuleSet:
    text = f"heading: Shop rules\n{f'rows: [{rows}]' if rows else ''}\n"
    found: RuleSet = typed(RuleSet, text + (f"watch: [{watch}]\n" if watch else ""))
    return replace(found, id="shop")


def copy(id_: str, /, **changes: object) -> RuleSet:
    """A file of the ledger's own with one shipped row in it, changed."""
    row = RULES.get(id_) or WATCH[id_]
    changed = replace(row, **changes)  # type: ignore[arg-type]
    if isinstance(changed, RuleRow):
        return RuleSet(heading="Shop rules", id="shop", rows=(changed,))
    return RuleSet(heading="Shop rules", id="shop", watch=(changed,))


def verdict(*sets: RuleSet) -> OwnRow:
    (found,) = judged((*SETS, *sets)).own
    return found


def row(text: str) -> str:
    gate = "" if "gate:" in text else "gate: refuse, "
    return f"{{{gate}basis: practice, citation: shop, verified: memory, {text}}}"


WIDE = AppliesTo()
NARROW = AppliesTo(specification=("DOT-3AL",), permit=False)


E_BY_MASS = replace(
    RULES["bench.air-limits.cga-grade-e"].limits or AirLimits(),
    co_by_mass=Concentration.parse("500 mg/m3"),
)


@pytest.mark.parametrize(
    ("id_", "changes"),
    [
        ("us.requalification.3al", {"drop": True}),
        ("us.requalification.3al", {"gate": "warn"}),
        ("us.requalification.3al", {"period": Period.parse("10 years")}),
        ("us.requalification.3al", {"period": None}),
        ("us.requalification.3al", {"met_by": ("hydrostatic", "inspection")}),
        ("us.requalification.3al", {"applies_to": NARROW}),
        ("us.requalification.3al", {"basis": "practice"}),
        ("us.requalification.3al", {"basis": "standard"}),
        ("us.requalification.3al", {"obligation": Obligation.VISUAL}),
        ("us.requalification.3al", {"starts": "stamped"}),
        ("us.requalification.un", {"beside": ()}),
        ("us.eddy-current.6351", {"applies_to": AppliesTo(alloy=("6351-T6",))}),
        ("us.reference-temperature", {"temperature": None}),
        ("us.test-pressure.3al", {"ratio": None}),
        ("us.test-pressure.3al", {"at_least": None}),
        ("us.fill-limit.un", {"ratio": None, "of": None}),
        ("us.hot-limit", {"drop": True}),
        ("us.plus-fill", {"share": Percent.parse("20 %")}),
        ("us.plus-fill", {"needs": ()}),
        ("us.plus-fill", {"applies_to": WIDE}),
        ("us.expansion-limit", {"share": Percent.parse("12 %")}),
        ("us.mark-required", {"needs": ("any",)}),
        ("us.pre-fill-look", {"gate": "warn"}),
        ("uk.requalification", {"period": Period.parse("6 years")}),  # a standard, not practice
        ("bench.standing.condemned", {"gate": "warn"}),
        ("bench.neck-crack", {"never_overridden": False}),
        ("bench.alloy.unknown", {"drop": True}),
        ("bench.air-test.failed", {"applies_to": AppliesTo(state=("none",))}),
        ("bench.oxygen-clean.never", {"share": Percent.parse("40 %")}),
        ("bench.permit.period-too-long", {"period": Period.parse("60 years")}),
        ("bench.air-limits.cga-grade-e", {"limits": None}),
        ("bench.air-limits.cga-grade-d", {"for_diving": True}),
        ("bench.air-limits.cga-grade-e", {"limits": E_BY_MASS}),
        ("uk.air-limits", {"limits": None}),
        ("uk.air-limits", {"applies_to": AppliesTo(standard="en-12021-2014")}),
        ("uk.visual.yearly", {"unless": "permit-renewed"}),
        ("us.lapsed.6688", {"drop": True}),
        ("us.lapsed.6688", {"gate": "warn"}),
        ("us.lapsed.6688", {"recall": None}),
        ("us.lapsed.6688", {"unless": "permit-renewed"}),
        ("alloy.kidde", {"alloy": "6061"}),
        ("alloy.kidde", {"made_before": PartialDate.parse("1980-01")}),
        ("alloy.catalina", {"maker": ()}),
    ],
)
def test_a_row_that_would_loosen_what_binds_is_a_fault(
    id_: str, changes: dict[str, object]
) -> None:
    """By name or not: law, standards, notices, and what nobody may override stay in force."""
    for names in ({}, {"by": "MV", "why": "we know better", "since": PartialDate.parse("2020-01")}):
        file = copy(id_, **changes, **names)
        got = verdict(file)
        assert (got.code, got.counts) == ("row-loosens", False)
        assert got.shipped is (RULES.get(id_) or WATCH[id_])
        rules = rules_on(replace(make_book(), rule_sets=(*SETS, file)), TODAY)
        assert next(r for r in rules.all_rows() if r.id == id_) is got.shipped


@pytest.mark.parametrize(
    ("id_", "changes"),
    [
        ("us.requalification.3al", {}),
        ("us.requalification.3al", {"period": Period.parse("2 years")}),
        ("us.requalification.3al", {"period": Period.parse("700 days")}),
        ("us.requalification.3al", {"met_by": ("hydrostatic",), "good_until": "same-day"}),
        ("us.requalification.3al", {"applies_to": None}),
        ("us.visual", {"basis": "law", "period": Period.parse("6 months")}),
        ("us.plus-fill", {"drop": True}),  # a grant: without it less is filled
        ("us.plus-fill", {"share": Percent.parse("5 %"), "applies_to": AppliesTo(specification=("DOT-3AA",), not_specification=("UN-*", "DOT-*", "TC-SP-*", "TC-SU-*"), permit=False)}),
        ("us.mark-required", {"needs": ("DOT",)}),
        ("nz.mark-required", {"needs": ("AS",)}),
        ("bench.regulator.unknown", {"gate": "refuse"}),
        ("bench.oxygen-clean.never", {"share": Percent.parse("21.5 %")}),
        ("bench.disc-rating.low", {"share": Percent.parse("95 %")}),
        ("bench.permit.period-too-long", {"period": Period.parse("5 years")}),
        ("uk.visual.yearly", {"unless": None}),
        ("us.lapsed.6688", {"specification": ()}),
        ("us.lapsed.6688", {"recall": "give it back"}),
        ("alloy.kidde", {"maker": ()}),
        ("alloy.catalina", {"made_from": PartialDate.parse("1980-01")}),
        ("alloy.catalina", {"alloy": "6351"}),
    ],
)  # fmt: skip
def test_a_row_that_tightens_counts(id_: str, changes: dict[str, object]) -> None:
    got = verdict(copy(id_, **changes))
    assert got.shipped is (RULES.get(id_) or WATCH[id_])
    assert (got.counts, got.looser) == (True, ())


@pytest.mark.parametrize(
    ("more", "code", "says"),
    [
        (NAMED, "", ""),
        ("by: MV, why: seldom used", "row-unnamed", "since"),
        ("since: 2026-03", "row-unnamed", "by, why"),
        ("", "row-unnamed", "by, why, since"),
    ],
)
def test_a_row_that_loosens_practice_says_who_why_and_since(
    more: str, code: str, says: str
) -> None:
    text = "id: us.visual, obligation: visual, period: 18 months, met_by: [inspection]"
    got = verdict(own(row(f"{text}{', ' if more else ''}{more}")))
    assert got.code == code
    assert got.looser == ("period 18 months for 12 months",)
    assert says in got.fault
    assert got.counts is not bool(code)


TWICE = (
    "id: shop.a, obligation: visual, period: 6 months",
    "id: shop.a, obligation: visual, period: 12 months",
)


def test_two_rows_of_one_id_count_neither() -> None:
    one_file = judged((*SETS, own(", ".join(map(row, TWICE)))))
    two_files = judged((*SETS, own(row(TWICE[0])), own(row(TWICE[1]))))
    clash = judged((*SETS, own(row(TWICE[0]), watch=row("id: shop.a, recall: look"))))
    for found in (one_file, two_files, clash):
        assert [o.code for o in found.own] == ["row-twice", "row-twice"]
        assert found.faults == found.own


def test_a_watch_row_and_a_rule_row_of_one_id() -> None:
    assert verdict(own(watch=row("id: us.visual, recall: look"))).code == "row-twice"
    taken = own(row("id: alloy.kidde, obligation: visual, period: 1 month"))
    assert verdict(taken).code == "row-twice"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("id: shop.p, obligation: plus-fill, share: 10 %", "row-grants-plus"),
        ("id: shop.p, obligation: plus-fill", "row-grants-plus"),
        ("id: shop.d, obligation: visual, drop: yes", "row-unknown"),
        ("id: shop.a, obligation: air-limits", "row-lax-air"),
        ("id: shop.a, obligation: air-limits, limits: {}", "row-lax-air"),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: shop-air}", "row-lax-air"),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: shop-air}, limits: {co: 50 ppm, co2: 1000 ppm, oil: 5 mg/m3}", "row-lax-air"),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: shop-air}, limits: {co: 2 ppm, oil: 1 mg/m3}", "row-lax-air"),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: shop-air}, limits: {co: 2 ppm, co2: 500 mg/m3, oil: 1 mg/m3}", "row-lax-air"),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: shop-air}, limits: {co: 2 ppm, co2: 500 ppm, oil: 1 mg/m3}", "row-lax-air"),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: shop-air}, limits: {co: 2 ppm, co2: 500 ppm, oil: 1 mg/m3, oxygen_from: 20 %, oxygen_to: 22 %}", ""),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: cga-grade-e}, limits: {co: 90 ppm}", ""),
        ("id: shop.a, obligation: air-limits, limits: {co: 1 ppm}", ""),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: shop-air}, limits: {co: 3 ppm, co_by_mass: 35 mg/m3, co2: 500 ppm, oil: 0.1 mg/m3, water: 20 mg/m3, water_stored: 20 mg/m3, oxygen_from: 20 %, oxygen_to: 22 %}", "row-lax-air"),
        ("id: shop.a, obligation: air-limits, applies_to: {standard: shop-air}, limits: {co: 3 ppm, co_by_mass: 3.5 mg/m3, co2: 500 ppm, oil: 0.1 mg/m3, water: 20 mg/m3, water_stored: 20 mg/m3, oxygen_from: 20 %, oxygen_to: 22 %}", ""),
        ("id: shop.v, obligation: visual, period: 90 years, gate: warn", ""),
    ],
)  # fmt: skip
def test_a_new_row_may_ask_and_never_grant(text: str, code: str) -> None:
    assert verdict(own(row(text))).code == code


@pytest.mark.parametrize(
    ("alloy", "code"),
    [("6061", "row-clears-alloy"), ("not-6351", "row-clears-alloy"), ("nickel", "row-clears-alloy"), ("6351", "")],
)  # fmt: skip
def test_a_new_notice_may_warn_of_an_alloy_and_clear_none(alloy: str, code: str) -> None:
    assert verdict(own(watch=row(f"id: shop.w, alloy: {alloy}"))).code == code


def test_each_verdict_has_its_place() -> None:
    text = """\
heading: Shop rules
rows:
  - id: bench.neck-crack
    obligation: neck-crack
    applies_to: {state: [cracked]}
    gate: warn
    basis: practice
    citation: shop
    verified: memory
"""
    got = verdict(replace(typed(RuleSet, text, "rules/shop.yaml"), id="shop"))
    assert str(got.where) == "rules/shop.yaml:3:9"
    assert got.fault == (
        "bench.neck-crack would loosen what nobody may override (gate warn for refuse; "
        "never_overridden no for yes): the shipped row stays"
    )
    assert got.mend


def test_the_example_ledgers_rules_are_sound(example_rules: RuleSet) -> None:
    assert judged((*SETS, example_rules)).faults == ()


@pytest.fixture
def example_rules() -> RuleSet:
    from pathlib import Path

    path = Path(__file__).parents[2] / "example_ledger" / "rules" / "shop.yaml"
    found: RuleSet = typed(RuleSet, path.read_text(encoding="utf-8"), "rules/shop.yaml")
    return found


# --- one row against another ---------------------------------------------------------------------


def test_every_key_is_compared_or_only_tells() -> None:
    """A key that is new must be given its place: compared, or told of the row itself."""
    assert set(keys_of(RuleRow)) == set(RULE_KEYS) | TOLD | {"drop"}
    reach = {"not_maker", "specification", "serial_from", "serial_to", "made_from", "made_before"}
    reach |= {"made_in", "not_made_in"}  # with `maker`, which stands for them all
    assert set(keys_of(WatchRow)) == set(WATCH_KEYS) | reach | TOLD | {"drop"}


@pytest.mark.parametrize("each", list((RULES | WATCH).values()), ids=lambda r: r.id)
def test_a_row_is_as_strict_as_itself(each: RuleRow | WatchRow) -> None:
    assert looser_in(each, each) == ()


PERIODS = st.one_of(
    st.integers(1, 60).map(lambda n: Period.of(n, "month")),
    st.integers(1, 2000).map(lambda n: Period.of(n, "day")),
)
DAYS = st.dates(min_value=TODAY.replace(year=2000), max_value=TODAY.replace(year=2060))


@given(PERIODS, PERIODS, DAYS)
def test_a_period_within_another_is_never_over_later(one: Period, other: Period, day) -> None:  # type: ignore[no-untyped-def]
    if ends_no_later(one, other):
        on = PartialDate.of(day)
        assert on.plus(one).last <= on.plus(other).last


@pytest.mark.parametrize(
    ("wide", "narrow", "want"),
    [
        (AppliesTo(), AppliesTo(specification=("DOT-3AL",)), True),
        (AppliesTo(specification=("DOT-*",)), AppliesTo(specification=("DOT 3AL", "DOT-3A*")), True),
        (AppliesTo(specification=("DOT-3A",)), AppliesTo(specification=("DOT-3A*",)), False),
        (AppliesTo(specification=("DOT-3A",)), AppliesTo(), False),
        (AppliesTo(not_specification=("DOT-3A",)), AppliesTo(not_specification=("DOT-*",)), True),
        (AppliesTo(not_specification=("DOT-*",)), AppliesTo(not_specification=("DOT-3A",)), False),
        (AppliesTo(not_specification=("DOT-*",)), AppliesTo(), False),
        (AppliesTo(alloy=("63",)), AppliesTo(alloy=("6351",)), True),
        (AppliesTo(permit=True), AppliesTo(), False),
        (AppliesTo(made_from=PartialDate(1970, 1)), AppliesTo(made_from=PartialDate(1990, 1)), True),
        (AppliesTo(made_before=PartialDate(1970, 1)), AppliesTo(made_before=PartialDate(1990, 1)), False),
        (AppliesTo(state=("held", "lost")), AppliesTo(state=("held",)), True),
        (AppliesTo(), AppliesTo(state=("held",)), False),
        (AppliesTo(state=("held",)), AppliesTo(), False),
        (AppliesTo(standard="a"), AppliesTo(), False),
        (None, None, True),
    ],
)  # fmt: skip
def test_which_row_speaks_of_all_that_another_does(
    wide: AppliesTo | None, narrow: AppliesTo | None, want: bool
) -> None:
    assert covers(wide, narrow) is want


def test_a_limit_on_stored_air_may_not_undo_the_one_at_the_compressor() -> None:
    dry = AirLimits(water=Concentration.parse("25 mg/m3"))
    stored = replace(dry, water_stored=Concentration.parse("50 mg/m3"))
    assert limits_within(dry, stored)
    assert not limits_within(stored, dry)
    assert {*AirLimits.declared} >= {"water_stored", "water_stored_high"}


def test_a_book_with_faulty_rows_answers_without_them_and_refuses_for_them() -> None:
    from tankbook.rules.gate import may_fill

    broken = own(row("id: us.visual, obligation: visual, period: 9 years, met_by: [inspection]"))
    stale = GOOD.replace("2026-02-09", "2025-02-09")
    plain = make_book({"A": stale})
    file = replace(plain, rule_sets=(*plain.rule_sets, broken))
    answers = [may_fill(b, "A", TODAY) for b in (plain, file)]
    refused = [[r.code for r in a.refusals] for a in answers]
    assert refused == [["visual-overdue"], ["visual-overdue", "row-unnamed"]]


def test_what_a_row_spares_is_said_in_words() -> None:
    spared = RULES["us.relief-device"].spares
    assert spared is not None
    assert str(spared) == "up to 12 in long and 4.5 in wide, below 1800 psi"


LOOSE_AIR = (
    "{id: us.air-test, subject: station, obligation: air-test, period: 24 months, "
    "met_by: [air-test], gate: refuse, basis: practice, citation: shop, verified: memory, %s}"
)


@pytest.mark.parametrize(
    ("named", "told"),
    [(NAMED, ["us.air-test loosens shop practice, by MV since 2026-03: seldom used"]),
     (NAMED.replace("seldom used", "tbd"), []), ("note: x", [])],
)  # fmt: skip
def test_what_is_loosened_at_the_station_is_told_with_each_fill(
    named: str, told: list[str]
) -> None:
    book = make_book({"A": GOOD}, own_rules=f"heading: Shop rules\nrows: [{LOOSE_AIR % named}]\n")
    answer = may_fill(book.as_known_on(TODAY), "A", TODAY)
    assert [r.text for r in answer.warnings if r.loud] == told
    assert answer.fillable is bool(told)


def test_a_disc_may_be_rated_lower_only_by_name() -> None:
    got = verdict(copy("bench.disc-rating.low", share=Percent.parse("10 %")))
    assert (got.code, got.looser) == ("row-unnamed", ("share 10 % for 90 %",))


LOOSE_LOOK = (
    "{id: us.visual, obligation: visual, period: 24 months, met_by: [inspection], "
    "good_until: end-of-month, gate: refuse, basis: practice, citation: shop, verified: memory, %s}"
)


def test_what_is_loosened_is_told_in_the_first_line_of_what_goes_out() -> None:
    told = "us.visual loosens shop practice, by MV since 2026-03: seldom used"
    card = GOOD.replace("2026-02-09", "2025-09-09")
    filled = "at=2026-11-24T09:30:00+01:00; cylinder=A; act=fill; to=3000 psi; gas=air; by=MV"
    rows = f"heading: Shop rules\nrows: [{LOOSE_LOOK % NAMED}]\n"
    at = dt.datetime.combine(TODAY, dt.time(10), dt.UTC)
    book = make_book({"A": card}, own_rules=rows, log=filled)
    gone = rent(book, [Going("A")], to="B-1", until=None, by="MV", at=at)
    assert isinstance(gone, Act)
    assert gone.sentence.endswith(f"; {told}")
    sold = make_book({"A": card.replace("rental", "sale")}, own_rules=rows, log=filled)
    assert may_hand_over(sold.as_known_on(TODAY), "A", TODAY).loud == (told,)
    strict = make_book({"A": card}, log=filled)
    refused = rent(strict, [Going("A")], to="B-1", until=None, by="MV", at=at)
    assert isinstance(refused, Refusal)
