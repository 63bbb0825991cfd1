"""Which rows are in force, and which of them speak of a cylinder."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, typed, with_lines

from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Obligation, RuleSet
from tankbook.rules.gate import may_fill
from tankbook.rules.inforce import facts_of, in_force, is_permit, normal, rules_of, rules_on
from tests.support.changed import replace


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("DOT-3AL", "DOT-3AL"), ("dot 3al", "DOT-3AL"), ("DOT3AL", "DOT-3AL"), ("CTC-3AA", "TC-3AA"),
        ("UN ISO 7866", "UN-ISO-7866"), ("EN ISO 9809-1", "EN-ISO-9809-1"), ("ICC3AA", "ICC-3AA"),
    ],
)  # fmt: skip
def test_one_spelling(written: str, read: str) -> None:
    assert normal(written) == read


@pytest.mark.parametrize(
    ("changes", "want"),
    [
        ({}, False),
        ({"specification": "[DOT-SP 99001]"}, True),
        ({"specification": "[DOT-E 99001]"}, True),
        ({"specification": "[TC-SU 9901]"}, True),
        ({"material": "composite"}, True),
        ({"permit": "{period: 5 years}"}, True),
    ],
)
def test_permit_cylinders(changes: dict[str, str], want: bool) -> None:
    assert is_permit(typed(Cylinder, with_lines(GOOD, **changes))) is want


WATCH = """
heading: Notices
watch:
  - {id: a, maker: [Some Maker], made_before: 1990-02, alloy: 6351, gate: warn, basis: law, citation: N, verified: read}
  - {id: b, serial_from: K100, serial_to: K199, recall: return it, gate: refuse, basis: law, citation: N, verified: read}
  - {id: c, made_in: [US], made_from: 1990-02, alloy: 6061, gate: warn, basis: law, citation: N, verified: read}
"""


@pytest.mark.parametrize(
    ("changes", "alloy", "recalled"),
    [
        ({"maker": "SOME  maker Ltd", "made": "1990-01"}, "6351", 0),
        ({"maker": "Some Maker", "made": "1990-02"}, None, 0),
        ({"maker": "Some Maker", "made": "1991-02", "made_in": "us"}, "6061", 0),
        ({"serial": "K150"}, None, 1),
        ({"serial": "K200"}, None, 0),
        ({"serial": "L150"}, None, 0),
        ({"serial": "K0150"}, None, 0),
        ({"maker": "Some Maker", "made": "1985-01", "alloy": "6061"}, "6351", 0),
        (
            {
                "maker": "Some Maker",
                "made": "1985-01",
                "alloy": "6061",
                "alloy_known_from": "the letter of the maker's works",
            },
            "6061",
            0,
        ),
    ],
)
def test_watch_rows(changes: dict[str, str], alloy: str | None, recalled: int) -> None:
    text = with_lines(GOOD, **{"alloy": None, "maker": None, **changes})
    facts = facts_of(typed(Cylinder, text), in_force((shipped(WATCH),)))
    assert (facts.alloy, len(facts.recalls)) == (alloy, recalled)


def shipped(text: str, id_: str = "law") -> RuleSet:
    return replace(typed(RuleSet, text), id=id_, shipped=True)


ROW = "{id: x, obligation: visual, period: 1 year, gate: warn, basis: practice, citation: A, verified: read}"


def rows(*texts: str) -> str:
    return "heading: h\nrows:\n" + "".join(f"  - {text}\n" for text in texts)


def test_an_own_row_takes_the_place_of_a_shipped_one() -> None:
    own = rows(ROW.replace("1 year", "6 months"), ROW.replace("id: x", "id: y"))
    found = list(in_force((shipped(rows(ROW)), typed(RuleSet, own))).all_rows())
    assert [(r.id, str(getattr(r, "period", ""))) for r in found] == [
        ("x", "6 months"),
        ("y", "1 year"),
    ]


NAMED = ", by: MV, why: seldom used, since: 2026-03"


def test_dropped_rows_are_named() -> None:
    dropped = ROW.replace("}", f", drop: yes{NAMED}}}")
    sets = (shipped(rows(ROW)), typed(RuleSet, rows(dropped)))
    before, after = (in_force(sets, dt.date(2026, m, 1)) for m in (2, 3))
    assert ([r.id for r in before.all_rows()], before.dropped) == (["x"], ())
    assert ([r.id for r in after.all_rows()], after.dropped) == ([], ("x",))
    assert [str(each) for each in after.loosened] == [
        "x loosens shop practice, by MV since 2026-03: seldom used"
    ]


def test_where_no_day_is_said_nothing_is_loosened() -> None:
    dropped = ROW.replace("}", f", drop: yes{NAMED}}}")
    rules = in_force((shipped(rows(ROW)), typed(RuleSet, rows(dropped))))
    assert [r.id for r in rules.all_rows()] == ["x"]


LATER = """
heading: Shop rules
rows:
  - {id: us.visual, obligation: visual, period: 6 months, met_by: [inspection], gate: refuse,
     basis: practice, citation: shop, verified: read, since: 2026-06}
"""


def test_rules_on_a_day() -> None:
    """A row dated `since` is in force from that day; between two such days nothing changes."""
    book = make_book({"A": GOOD}, own_rules=LATER)
    days = [dt.date(2026, 5, 31), dt.date(2026, 6, 1), dt.date(2027, 1, 1)]
    periods = [[str(r.period) for r in rules_on(book, day).rows[Obligation.VISUAL]] for day in days]
    assert periods == [["12 months"], ["6 months"], ["6 months"]]
    assert rules_on(book, days[1]) is rules_on(book, days[2])
    assert rules_of(book.as_known_on(days[0])) is not rules_of(book.as_known_on(days[1]))
    assert [str(r.period) for r in rules_of(book.as_known_on(days[0])).rows[Obligation.VISUAL]] == [
        "12 months"
    ]


def test_without_dated_rows_every_day_has_the_same_rules() -> None:
    book = make_book({"A": GOOD})
    assert rules_on(book, dt.date(1990, 1, 1)) is rules_of(book) is rules_on(book, TODAY)


GAP = """
heading: Shop rules
rows:
  - {id: shop.limit, obligation: fill-limit, gate: refuse, basis: practice, citation: shop,
     verified: memory%s}
"""


@pytest.mark.parametrize(
    ("specification", "more", "answers", "told"),
    [
        ("[DOT-3AL]", "", ["us.fill-limit", "shop.limit"], 0),
        ("[DOT-3AL]", NAMED, ["us.fill-limit", "shop.limit"], 0),
        ("[DOT-8AL]", "", [], 0),
        ("[DOT-8AL]", NAMED, ["shop.limit"], 1),
        ("[DOT-8AL]", ", by: MV, why: we know", [], 0),
    ],
    ids=["answered", "answered, named", "gap", "gap, named", "gap, no day"],
)
def test_an_own_row_fills_a_gap_of_a_national_set_only_by_name(
    specification: str, more: str, answers: list[str], told: int
) -> None:
    book = make_book({"A": with_lines(GOOD, specification=specification)}, own_rules=GAP % more)
    rules = rules_on(book, TODAY)
    facts = facts_of(book.cylinders["A"], rules)
    assert [r.id for r in rules.about(facts, Obligation.FILL_LIMIT)] == answers
    loosened = rules.loosened_for(facts, Obligation.FILL_LIMIT)
    assert len(loosened) == told
    unheard = rules.unheard(facts, Obligation.FILL_LIMIT)
    assert [r.id for r in unheard] == ([] if answers else ["shop.limit"])


def test_beside_transport_law_the_shops_own_rows_answer() -> None:
    settings = SETTINGS.replace("[us-dot]", "[eu-adr]")
    book = make_book({"A": GOOD}, settings=settings, own_rules=GAP % "")
    rules = rules_on(book, TODAY)
    facts = facts_of(book.cylinders["A"], rules)
    assert [r.id for r in rules.about(facts, Obligation.FILL_LIMIT)] == ["shop.limit"]
    assert rules.lacks_fill_rules == ()
    alone = make_book({"A": GOOD}, settings=settings)
    assert [s.id for s in rules_of(alone).lacks_fill_rules] == ["eu-adr", "bench", "alloys"]


@pytest.mark.parametrize(
    ("since", "told"), [("2026-03", ["us.visual"]), ("2026-12", [])], ids=["begun", "not yet"]
)
def test_what_was_loosened_is_told_where_it_counts(since: str, told: list[str]) -> None:
    own = LATER.replace("6 months", "18 months").replace(
        "since: 2026-06", f"by: MV, why: seldom used, since: {since}"
    )
    book = make_book({"A": GOOD}, own_rules=own)
    rules = rules_on(book, TODAY)
    facts = facts_of(book.cylinders["A"], rules)
    assert [each.row.id for each in rules.loosened_for(facts, Obligation.VISUAL)] == told
    assert rules.loosened_for(facts, Obligation.REQUALIFICATION) == ()


def test_what_was_loosened_at_the_station_is_told() -> None:
    own = """
    heading: Shop rules
    rows:
      - {id: bench.gauge-check, subject: station, obligation: gauge-check, period: 24 months,
         gate: warn, basis: practice, citation: shop, verified: memory,
         by: MV, why: two gauges read alike, since: 2026-03}
    """
    rules = rules_on(make_book({"A": GOOD}, own_rules=own), TODAY)
    (each,) = rules.loosened_at_station(Obligation.GAUGE_CHECK)
    assert (each.row.by, each.row.why, str(each.row.since)) == (
        "MV",
        "two gauges read alike",
        "2026-03",
    )
    assert rules.loosened_at_station(Obligation.WHIP_CHECK) == ()


def test_a_row_that_must_stand_beside_another() -> None:
    pair = rows(ROW.replace("}", ", beside: [y]}"), ROW.replace("id: x", "id: y"))
    whole, half = in_force((shipped(pair),)), in_force((shipped(pair.rsplit("  -", 1)[0]),))
    assert whole.lacking(whole.rows[Obligation.VISUAL]) == ""
    assert half.lacking(half.rows[Obligation.VISUAL]) == "y"
    dropped = ROW.replace("id: x", "id: y").replace("}", f", drop: yes{NAMED}}}")
    named = in_force((shipped(pair), typed(RuleSet, rows(dropped))), TODAY)
    assert named.lacking(named.rows[Obligation.VISUAL]) == ""


ENDED = "{number: DOT-E 9791, period: 5 years, test_pressure: 5250 psi, life_ends: none%s}"


@pytest.mark.parametrize(
    ("more", "recalled"),
    [
        ("", True),
        (", renewed_until: 2029-08", True),
        (", paper: renewal of 2024", True),
        (", renewed_until: 2029-08, paper: renewal of 2024", False),
    ],
)
def test_an_ended_permit_is_answered_by_its_renewal_and_the_paper(
    more: str, recalled: bool
) -> None:
    text = with_lines(GOOD, specification="[DOT-E 9791]", permit=ENDED % more)
    book = make_book({"A": text})
    facts = facts_of(book.cylinders["A"], rules_of(book))
    assert bool(facts.recalls) is recalled


def test_a_lapsed_permit_is_not_answered() -> None:
    """Two permits were reported lapsed (trade article of 1997, read, C): no paper revives them."""
    renewed = (ENDED % ", renewed_until: 2029-08, paper: letter").replace("9791", "6688")
    book = make_book({"A": with_lines(GOOD, specification="[DOT-SP 6688]", permit=renewed)})
    assert facts_of(book.cylinders["A"], rules_of(book)).recalls


def test_an_own_notice_assumes_no_alloy_where_none_is_known() -> None:
    own = """
    heading: Shop notices
    watch:
      - {id: shop.w, alloy: 6351, basis: practice, citation: N, verified: read}
    """
    known = {"alloy": None, "made": "2021-09", "requalified": None}
    cases = ({**known, "maker": "Example Cylinder Co"}, {**known, "maker": None})
    for changes, alloy in zip(cases, ("6351", None), strict=True):
        book = make_book({"A": with_lines(GOOD, **changes)}, own_rules=own)
        assert facts_of(book.cylinders["A"], rules_of(book)).alloy == alloy


def test_rules_of_a_book_are_worked_out_once() -> None:
    book = make_book({"A": GOOD})
    assert rules_of(book) is rules_of(book)


@pytest.mark.parametrize(
    ("paper", "named"), [("letter of 2023", False), ("-", True), ("tbd", True)]
)
def test_an_ended_permit_is_renewed_by_a_paper(paper: str, named: bool) -> None:
    permit = "{number: DOT-E 9791, period: 5 years, test_pressure: 5000 psi, life_ends: none, renewed_until: 2029-08, paper: '%s'}"
    card = with_lines(
        GOOD, specification="[DOT-E 9791]", material="steel", alloy=None, permit=permit % paper
    )
    book = make_book({"A": card})
    assert bool(facts_of(book.cylinders["A"], rules_of(book)).recalls) is named


UN = {
    "specification": "[UN ISO 7866]", "service_pressure": "232 bar", "test_pressure": "348 bar",
    "valve": "{outlet: din-200, thread: 3/4-14 NPSM, rating: 232 bar, disc: 348 bar}",
}  # fmt: skip
FILLED = "at=2026-11-10T09:30:00+01:00; cylinder=A; act=fill; to=220 bar; gas=air; by=MV; source=C1"


@pytest.mark.parametrize(("tested", "lifted"), [("2021-10", True), ("2016-10", False)])
def test_a_fill_that_the_law_allowed_is_no_contradiction(tested: str, lifted: bool) -> None:
    tests = f"[{{on: 2015-04, method: hydrostatic, by: maker}}, {{on: {tested}, method: hydrostatic, by: T1}}]"
    book = make_book({"A": with_lines(GOOD, **UN, requalified=tests)}, log=FILLED)
    answer = may_fill(book.as_known_on(TODAY), "A", TODAY)
    assert answer.refusals
    assert all(r.may_be_overridden for r in answer.refusals) is lifted, answer.refusals
    assert ("out-of-date" in {r.code for r in answer.warnings}) is lifted
