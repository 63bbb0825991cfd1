"""The shipped rule rows, watch rows, sizes and checklists: that they type, and how they are known.

What a row says is checked against its primary source where one is at hand; the figures here are
those of the source named beside each case, with its mark.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from itertools import combinations

import pytest

from tankbook.gas import AIR, PSI_REFERENCE, capacity
from tankbook.ledger import shipped
from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Basis, Obligation, RuleRow, RuleSet, Verified, WatchRow
from tankbook.records.words import ChecklistGroup, Material
from tankbook.rules.inforce import facts_of, in_force, normal, row_applies
from tankbook.units import GaugePressure, PartialDate, Period

NAMES = ("alloys", "au", "bench", "ca-tc", "de", "eu-adr", "nz", "uk", "us-dot")


@cache
def sets() -> dict[str, RuleSet]:
    return {name: shipped.rule_set(name) for name in NAMES}


def rows() -> Iterator[RuleRow | WatchRow]:
    for each in sets().values():
        yield from each.rows
        yield from each.watch


def row(id_: str) -> RuleRow:
    return next(r for r in rows() if r.id == id_ and isinstance(r, RuleRow))


def cylinder(**facts: object) -> Cylinder:
    return Cylinder(serial="K1", **facts)  # type: ignore[arg-type]


def test_every_shipped_set_is_known_here() -> None:
    assert shipped.rule_set_names() == tuple(sorted(NAMES))


def test_ids_are_unique_over_all_sets() -> None:
    ids = [r.id for r in rows()]
    assert len(ids) == len(set(ids))


def test_each_id_begins_with_its_set() -> None:
    for name, each in sets().items():
        start = name.split("-")[0].rstrip("s") if name == "alloys" else name.split("-")[0]
        assert all(r.id.startswith(f"{start}.") for r in (*each.rows, *each.watch)), name


@pytest.mark.parametrize("each", list(rows()), ids=lambda r: r.id)
def test_how_each_row_is_known(each: RuleRow | WatchRow) -> None:
    assert each.citation
    if each.verified is Verified.MEMORY:
        assert each.grade is None  # what was not read has no source to grade
    elif each.verified is Verified.READ:
        assert each.grade in {"A", "B", "C"}
    if each.citation == "common practice, no source":
        assert each.verified is not Verified.READ
        assert each.basis is not Basis.LAW


def test_real_makers_are_named_only_in_the_alloy_list() -> None:
    makers = {m for w in sets()["alloys"].watch for m in (*w.maker, *w.not_maker)}
    assert len(makers) == 4
    for file in _files():
        if file.name != "alloys.yaml":
            text = file.read_text(encoding="utf-8")
            assert [m for m in makers if m.lower() in text.lower()] == [], file.name


def _files() -> Iterator[object]:
    for folder in (
        shipped._data(),
        *(shipped._data().joinpath(f) for f in ("rules", "checklists")),
    ):
        yield from (f for f in folder.iterdir() if f.name.endswith(".yaml"))


MANDATORY = (
    Obligation.REQUALIFICATION,
    Obligation.VISUAL,
    Obligation.REFERENCE_TEMPERATURE,
    Obligation.FILL_LIMIT,
    Obligation.MARK_REQUIRED,
    Obligation.PRE_FILL_LOOK,
    Obligation.TEST_PRESSURE,
    Obligation.AIR_TEST,
    Obligation.SERVICE_LIFE,
    Obligation.RELIEF_DEVICE,
)


@pytest.mark.parametrize("name", ["us-dot", "ca-tc", "uk", "de", "au", "nz"])
def test_a_set_that_stands_alone_answers_every_question(name: str) -> None:
    assert sets()[name].stands_alone
    answered = {r.obligation for r in sets()[name].rows}
    assert [q for q in MANDATORY if q not in answered] == []


def test_transport_law_does_not_stand_alone() -> None:
    assert [n for n, s in sets().items() if not s.stands_alone] == ["alloys", "bench", "eu-adr"]


def test_the_sets_together_answer_every_obligation() -> None:
    answered = {r.obligation for s in sets().values() for r in s.rows}
    assert set(Obligation) - answered == set()


STATES = {
    Obligation.STANDING: "awaiting-inspection held out at-test at-repair at-supplier "
    "awaiting-collection sold "
    "rejected condemned lost stolen refused-before refused-found refused-leak "
    "noted-shell noted-gas",
    Obligation.NECK_CRACK: "cracked suspected",
    Obligation.THREAD_MATCH: "differ unknown unread",
    Obligation.VALVE_RATING: "below unknown unread below-limit manifold-unread metric",
    Obligation.DISC_RATING: "above-test-pressure unknown low",
    Obligation.GAUGE_CEILING: "below-limit",
    Obligation.SOURCE: "out-of-range too-rich not-driven",
    Obligation.GAS_SERVICE: "not-for-gas contents-differ unknown",
    Obligation.OXYGEN_CLEAN: "ordinary-air never lost lapsed unsure",
    Obligation.ALLOY: "unknown recalled",
    Obligation.RETURNED: "empty valve-open",
    Obligation.DAMAGE: "noted over-heated over-heated-steel",
    Obligation.REFIT: "not-refitted",
    Obligation.PERMIT: "missing-period missing-test-pressure missing-life-end past-life-end "
    "period-too-long test-too-low test-too-high",
    Obligation.DOUBLES: "other-side isolator-shut both-fill",
    Obligation.REGULATOR: "above-limit unknown recorded-above-limit failed",
    Obligation.AIR_TEST: "failed none",
    Obligation.GAUGE_CHECK: "reads-low reads-high",
    Obligation.WHIP_CHECK: "failed",
    Obligation.POSITION_CHECK: "failed",
    Obligation.RELIEF_CHECK: "failed set-too-high lifts-late protects-unknown did-not-lift",
    Obligation.CO_ALARM: "open",
    Obligation.UPKEEP: "failed amiss",
    Obligation.BANK_HOLD: "held bad-air suspect-air unsure-air other-gas unsure-gas over-mark "
    "over-pressed unfit",
    Obligation.OPENING: "not-opened failed closed left",
    Obligation.LEAVING: "not-analysed unknown own-gas analysed-otherwise too-deep not-certified",
}


@pytest.mark.parametrize(("question", "states"), STATES.items())
def test_each_state_at_the_bench_has_one_row(question: Obligation, states: str) -> None:
    found = [
        s
        for r in sets()["bench"].rows
        if r.obligation is question and r.applies_to
        for s in r.applies_to.state
    ]
    assert sorted(found) == sorted(states.split())


def test_cracks_condemnation_failed_air_and_unknowns_are_never_overridden() -> None:
    for each in sets()["bench"].rows:
        state = set(each.applies_to.state) if each.applies_to else set()
        if state & {"cracked", "condemned", "rejected", "failed"} or (
            "unknown" in state and each.gate == "refuse"
        ):
            assert each.never_overridden, each.id


# One cylinder for each kind a set speaks of: every question of a value or a date has one answer.
KINDS = [
    ("us-dot", ("DOT-3AL",), Material.ALUMINIUM),
    ("us-dot", ("DOT-3AL", "TC-3ALM"), Material.ALUMINIUM),
    ("us-dot", ("DOT-3AA",), Material.STEEL),
    ("us-dot", ("DOT-3A",), Material.STEEL),
    ("us-dot", ("DOT-3AAX",), Material.STEEL),
    ("us-dot", ("DOT-3HT",), Material.STEEL),
    ("us-dot", ("DOT-3",), Material.STEEL),
    ("us-dot", ("DOT-3B",), Material.STEEL),
    ("us-dot", ("TC-3AAM",), Material.STEEL),
    ("us-dot", ("ISO 9809-1",), Material.STEEL),
    ("us-dot", ("UN ISO 9809-1",), Material.STEEL),
    ("us-dot", ("UN ISO 11119-2",), Material.COMPOSITE),
    ("us-dot", ("DOT-SP 12079",), Material.STEEL),
    ("us-dot", ("DOT-E 9791",), Material.STEEL),
    ("ca-tc", ("TC-3ALM",), Material.ALUMINIUM),
    ("ca-tc", ("DOT-3AL", "TC-3ALM"), Material.ALUMINIUM),
    ("ca-tc", ("TC-SU 5134",), Material.COMPOSITE),
    ("uk", ("EN 1964-1",), Material.STEEL),
    ("de", ("EN ISO 9809-1",), Material.STEEL),
    ("au", ("AS 1777",), Material.ALUMINIUM),
    ("nz", ("ISO 7866",), Material.ALUMINIUM),
]
ONE_ANSWER = (
    Obligation.REQUALIFICATION,
    Obligation.VISUAL,
    Obligation.SERVICE_LIFE,
    Obligation.REFERENCE_TEMPERATURE,
    Obligation.TEST_PRESSURE,
    Obligation.PLUS_FILL,
    Obligation.EXPANSION_LIMIT,
    Obligation.FILL_LIMIT,
    Obligation.MARK_REQUIRED,
    Obligation.PRE_FILL_LOOK,
    Obligation.RELIEF_DEVICE,
    Obligation.GAUGE_CEILING,
)
OUTLETS = [
    f"{outlet}{marked}"
    for outlet in ("yoke", "din-200", "din-300", "m26", "insert-in", "insert-out")
    for marked in ("", "-marked")
]


@pytest.mark.parametrize(("name", "specs", "material"), KINDS)
def test_every_outlet_has_one_ceiling(
    name: str, specs: tuple[str, ...], material: Material
) -> None:
    rules = in_force((sets()["bench"], sets()["alloys"], sets()[name]))
    facts = facts_of(cylinder(specification=specs, material=material), rules)
    for state in OUTLETS:
        found = [r for r in rules.rows[Obligation.OUTLET] if row_applies(r, facts, state)]
        assert [bool(r.at_most and r.temperature) for r in found] == [True], state


@pytest.mark.parametrize(
    ("id_", "at_most", "temperature"),
    [
        ("bench.outlet.yoke", "232 bar", "15 degC"),  # ISO 12209 scope (read); 15 degC (read, C)
        ("bench.outlet.yoke.cga", "3000 psi", "70 degF"),  # CGA 850 in a trade article (read, C)
        ("bench.outlet.yoke.cga-marked", "3442 psi", "70 degF"),  # memory
        ("bench.outlet.insert-in", "232 bar", "15 degC"),  # ISO 12209 scope (read)
        ("bench.outlet.insert-in.cga", "3000 psi", "70 degF"),  # as a yoke (inference)
        ("bench.outlet.insert-in.cga-marked", "3442 psi", "70 degF"),  # memory
        ("bench.outlet.insert-out", "232 bar", "15 degC"),  # ISO 12209 scope (inference)
        ("bench.outlet.din-200", "232 bar", "15 degC"),  # that it is the five-thread one: memory
        ("bench.outlet.din-300", "300 bar", "15 degC"),  # ISO 12209 scope (read)
        ("bench.outlet.m26", "232 bar", "15 degC"),  # memory
        ("bench.outlet.m26-marked", "300 bar", "15 degC"),  # memory
    ],
)
def test_what_outlets_stand(id_: str, at_most: str, temperature: str) -> None:
    assert (str(row(id_).at_most), str(row(id_).temperature)) == (at_most, temperature)


def test_what_the_law_asks_of_relief_devices() -> None:
    # 49 CFR 173.301(f)(1) and (5), 2015 (read, B)
    law = row("us.relief-device")
    assert (law.needs, law.gate, law.basis) == (("disc",), "refuse", Basis.LAW)
    assert law.spares is not None
    small = (str(law.spares.length), str(law.spares.diameter), str(law.spares.below))
    assert small == ("12 in", "4.5 in", "1800 psi")
    # +0/-10 % of the test pressure, 173.301(f)(3), of other gases than Division 2.2 (read, B)
    assert str(row("bench.disc-rating.low").share) == "90 %"


@pytest.mark.parametrize(("name", "specs", "material"), KINDS)
def test_no_question_is_answered_twice(
    name: str, specs: tuple[str, ...], material: Material
) -> None:
    rules = in_force((sets()["bench"], sets()["alloys"], sets()[name]))
    facts = facts_of(cylinder(specification=specs, material=material, alloy="6061"), rules)
    for question in ONE_ANSWER:
        answers = [r for r in rules.rows[question] if row_applies(r, facts)]
        beside = {id_ for r in answers for id_ in r.beside}
        alone = [r.id for r in answers if r.id not in beside]
        assert len(alone) <= 1, alone
        assert len(answers) <= 2, answers
    assert any(row_applies(r, facts) for r in rules.rows[Obligation.REQUALIFICATION])
    assert any(row_applies(r, facts) for r in rules.rows[Obligation.VISUAL])


@pytest.mark.parametrize(
    ("id_", "period"),
    [
        ("us.requalification.3a", "5 years"),  # 49 CFR 180.209(a) Table 1, older copy (read)
        ("us.requalification.3al", "5 years"),  # same; 5 of "5, 10 or 12" is inference
        ("us.requalification.3ht", "3 years"),  # same
        ("us.requalification.3", "5 years"),  # same
        ("us.requalification.un", "10 years"),  # 180.207(c) Table 1, 2015 (read)
        ("us.requalification.un-underwater", "5 years"),  # 180.209(a), taken further (inference)
        ("us.requalification.un-composite", "5 years"),  # 180.207(c) Table 1, 2015 (read)
        ("us.eddy-current.6351", "5 years"),  # 180.205(f)(4), 2015 (read)
        ("us.service-life.3ht", "24 years"),  # 180.205(i)(1)(v), 2015 (read)
        ("us.visual", "12 months"),  # trade norm, as a maker says (read)
        ("us.air-test", "6 months"),  # 29 CFR 1910.430(b)(4), 2015 (read)
        ("ca.requalification", "5 years"),  # CSA B339 (memory)
        ("uk.requalification", "5 years"),  # EN ISO 18119 as reported (read)
        ("uk.visual", "30 months"),  # BSAC 2017 (read)
        ("uk.visual.yearly", "12 months"),  # EN ISO 18119:2018 annex as reported (read)
        ("uk.air-test", "3 months"),  # HSE as a trade page tells (read)
        ("de.requalification", "60 months"),  # BetrSichV (read)
        ("de.visual", "30 months"),  # BetrSichV (read)
        ("au.requalification", "12 months"),  # test stations (read)
        ("nz.requalification", "2 years"),  # a tester (read)
        ("nz.visual", "12 months"),  # a tester (read)
        ("eu.requalification", "10 years"),  # ADR P200 (memory)
        ("eu.requalification.composite", "5 years"),  # RID P200 (3)(d) note (read)
    ],
)
def test_periods_as_their_sources_give_them(id_: str, period: str) -> None:
    assert row(id_).period == Period.parse(period)


@pytest.mark.parametrize(
    ("id_", "ratio", "at_least"),
    [
        ("us.test-pressure.3a", "5/3", None),  # 180.209(a) Table 1 (read)
        ("us.test-pressure.3al", "5/3", "450 psi"),  # 178.46(g), 2015 (read)
        ("us.test-pressure.3ax", "5/3", None),  # Table 1 (read)
        ("us.test-pressure.3", None, "3000 psi"),  # Table 1 (read)
        ("us.test-pressure.3b", "2/1", None),  # Table 1 (read)
        ("us.test-pressure.foreign", "5/3", None),  # Table 1 and (l) (read)
        ("us.fill-limit.un", "2/3", None),  # 173.302b(b) as quoted (read): of the test pressure
        ("us.hot-limit", "5/4", None),  # 173.301a(d), private copy of 2024 (read)
        ("us.hot-limit.un", "1/1", None),  # 173.302b(b) as quoted (read): of the test pressure
        ("nz.test-pressure", "5/3", None),  # a tester (read)
        ("nz.test-pressure.iso", "3/2", None),  # common pairs (memory)
    ],
)
def test_test_pressures(id_: str, ratio: str | None, at_least: str | None) -> None:
    got = row(id_)
    assert got.ratio == (Fraction(ratio) if ratio else None)
    assert str(got.at_least or "") == (at_least or "")


def test_plus_and_star() -> None:
    # 173.302(c) copy (read): 3A, 3AX, 3AA, 3AAX, 3T; 3AL is not listed
    plus = row("us.plus-fill")
    assert plus.applies_to is not None
    assert "DOT-3AL" not in {normal(s) for s in plus.applies_to.specification}
    assert str(plus.share) == "10 %"
    # nothing lengthens a period for the star: no ordinary US row is longer than 5 years
    for each in sets()["us-dot"].rows:
        ordinary = each.obligation is Obligation.REQUALIFICATION and ".un" not in each.id
        if ordinary and isinstance(each.period, Period):
            assert each.period.months <= 60, each.id


@pytest.mark.parametrize(
    ("standard", "co", "co2", "oil"),
    [  # the table of limits: OSHA and USCG read (B), CGA and EN copies read (C), Norway read (A)
        ("osha-1910-430", "20 ppm", "1000 ppm", "5 mg/m3"),
        ("uscg-197-340", "20 ppm", "1000 ppm", "5 mg/m3"),
        ("cga-grade-e", "10 ppm", "1000 ppm", "5 mg/m3"),
        ("cga-grade-d", "10 ppm", "1000 ppm", "5 mg/m3"),
        ("en-12021-2014", "5 ppm", "500 ppm", "0.5 mg/m3"),
        ("norway-5-5", "10 ppm", "500 ppm", "1 mg/m3"),
        # HSE leaflet 9 rev 1, a copy read (C): divers' CO is 3 ppm
        ("hse-divers-air", "3 ppm", "500 ppm", "0.5 mg/m3"),
        # four US specifications as a laboratory tells, read (C)
        ("oxygen-compatible", "2 ppm", "500 ppm", "0.1 mg/m3"),
    ],
)
def test_air_limits(standard: str, co: str, co2: str, oil: str) -> None:
    limits = row(f"bench.air-limits.{standard}").limits
    assert limits is not None
    assert (str(limits.co), str(limits.co2), str(limits.oil)) == (co, co2, oil)


@pytest.mark.parametrize(
    ("standard", "stored", "most"),
    [  # EN 12021: 25 at the compressor read (C), 50 and 35 of stored air from memory
        ("en-12021-2014", None, "25 mg/m3"),
        ("en-12021-2014", "30 bar", "25 mg/m3"),
        ("en-12021-2014", "200 bar", "50 mg/m3"),
        ("en-12021-2014", "300 bar", "35 mg/m3"),
        # HSE leaflet 9: 25 at the outlet, 50 in a cylinder of 40 to 200 bar, read (C)
        ("hse-divers-air", None, "25 mg/m3"),
        ("hse-divers-air", "150 bar", "50 mg/m3"),
        ("hse-divers-air", "300 bar", "25 mg/m3"),
        ("cga-grade-e", "200 bar", "None"),
    ],
)
def test_water_where_the_sample_was_drawn(standard: str, stored: str | None, most: str) -> None:
    limits = row(f"bench.air-limits.{standard}").limits
    assert limits is not None
    assert str(limits.water_at(GaugePressure.parse(stored) if stored else None)) == most


def test_one_standard_is_not_for_diving() -> None:
    """CGA names Grade E the least for sport diving (read, C); Grade D is for surface respirators."""
    out = [r.id for r in sets()["bench"].rows if not r.for_diving]
    assert out == ["bench.air-limits.cga-grade-d"]


def test_the_limits_of_us_law_are_read_now() -> None:
    for id_, temperature in (
        ("us.reference-temperature", "70 degF"),  # 173.301a(c), private copy of 2024 (C)
        ("us.hot-limit", "131 degF"),  # 173.301a(d), the same
        ("us.hot-limit.un", "65 degC"),  # 173.302b(b) as quoted by a maker (C)
    ):
        got = row(id_)
        assert (str(got.temperature), got.verified, got.grade) == (temperature, Verified.READ, "C")


def test_what_stands_beside_what_is_there() -> None:
    ids = {r.id for r in rows()}
    named = [i for r in rows() if isinstance(r, RuleRow) for i in r.beside]
    assert named
    assert set(named) <= ids


class TestAlloys:
    @pytest.mark.parametrize(
        ("maker", "made_in", "made", "alloy"),
        [  # DOT Notice 94-7, forum copy (read), unless said otherwise
            ("Walter Kidde", "US", "1985-01", "6351"),
            ("CLIFF IMPACT", "US", "1990-06", "6351"),
            ("Cliff Impact", "US", "1990-07", "6061"),
            ("Catalina Cylinders", "US", "1989-01", "6061"),
            ("Luxfer", "US", "1988-08", "6351"),  # maker's policy (read), rounded up
            ("Luxfer", "US", "1989-01", "not-6351"),
            ("Luxfer", "AU", "1990-12", "6351"),  # maker's policy: to 1990
            ("Luxfer", "AU", "1991-01", "not-6351"),
            ("Luxfer", "England", "1995-12", "6351"),  # maker's policy: to 1995
            ("Luxfer", None, "1988-01", "6351"),
            ("Luxfer", None, "1992-01", None),  # the country decides and is not recorded
            ("Luxfer", None, "1996-01", "not-6351"),
            ("Example Cylinder Co", "US", "1990-01", "6351"),
            ("Example Cylinder Co", "US", "1990-02", "6061"),
            ("Example Cylinder Co", "IT", "2000-01", "6351"),  # any made outside the US
            ("Example Cylinder Co", None, "2000-01", None),
            ("Example Cylinder Co", None, "2021-09", "not-6351"),  # own bound of 2007
            (None, None, "2021-09", None),
        ],
    )
    def test_what_is_assumed(
        self, maker: str | None, made_in: str | None, made: str, alloy: str | None
    ) -> None:
        one = cylinder(
            specification=("DOT-3AL",),
            material=Material.ALUMINIUM,
            maker=maker,
            made_in=made_in,
            made=PartialDate.parse(made),
        )
        assert facts_of(one, in_force((sets()["alloys"],))).alloy == alloy

    def test_no_two_rows_speak_of_one_cylinder(self) -> None:
        watch = sets()["alloys"].watch
        for maker in ("Walter Kidde", "Cliff Impact", "Catalina", "Luxfer", "Example Cylinder Co"):
            for made_in in ("US", "AU", "GB", "IT", None):
                for year in range(1970, 2026):
                    one = cylinder(
                        specification=("DOT-3AL",),
                        material=Material.ALUMINIUM,
                        maker=maker,
                        made_in=made_in,
                        made=PartialDate(year, 3),
                    )
                    fits = [
                        w.id
                        for w in watch
                        if facts_of(one, in_force((RuleSet(heading="", watch=(w,)),))).alloy_row
                    ]
                    assert len(fits) <= 1, (maker, made_in, year, fits)

    def test_6351_is_barred_in_australia_and_tested_in_the_us(self) -> None:
        one = cylinder(specification=("AS 1777",), material=Material.ALUMINIUM, alloy="6351")
        for name, id_ in (("au", "au.mark-required.6351"), ("us-dot", "us.eddy-current.6351")):
            rules = in_force((sets()[name],))
            assert row_applies(row(id_), facts_of(one, rules))


def test_sizes() -> None:
    sizes = shipped.sizes()
    # nominal sizes from memory; Navy volumes and the textbook's cubic inches read
    assert str(sizes["al80"].water_volume) == "11.1 L"
    assert sizes["al80"].verified is Verified.MEMORY
    assert str(sizes["steel72"].water_volume) == "0.42 cuft"
    assert sizes["steel72"].verified is Verified.READ
    # textbook table, printed beside its cubic inches: 673 cuin is 11.028 L
    assert sizes["al80-673"].water_volume.litres == pytest.approx(11.028, abs=5e-4)
    for one, other in combinations(sizes, 2):
        assert one.casefold() != other.casefold()


@pytest.mark.parametrize(
    ("name", "cuft"), [("al13", 13), ("al19", 19), ("al30", 30), ("hp117", 117), ("hp130", 130)]
)
def test_a_size_from_memory_holds_what_its_name_says(name: str, cuft: float) -> None:
    size = shipped.sizes()[name]
    assert size.verified is Verified.MEMORY
    assert size.service_pressure is not None
    at = PSI_REFERENCE.temperature
    held = capacity(AIR, size.water_volume, size.service_pressure, at, PSI_REFERENCE)
    assert held.free_gas.cuft == pytest.approx(cuft, rel=0.04)


@pytest.mark.parametrize(
    ("name", "full"), [("new", True), ("annual", True), ("internal", False), ("outside", False)]
)
def test_checklists(name: str, full: bool) -> None:
    checklist: Checklist = shipped.checklists()[name]
    names = [s.name for s in checklist.steps]
    assert (checklist.full, checklist.inside) == (full, name != "outside")
    assert len(names) == len(set(names))
    assert ("neck-cracks" in names) is checklist.inside
    groups = [s.group for s in checklist.steps]
    assert groups == sorted(
        groups, key=list(ChecklistGroup).index
    )  # outside, inside, threads, valve
    for step in checklist.steps:
        assert not (step.group is ChecklistGroup.THREADS and not step.ask_threads), step.name
        assert (step.citation is None) or step.verified is not None, step.name
        if step.citation is None:
            assert step.verified is not Verified.READ, step.name


@pytest.mark.parametrize("name", ["new", "annual"])
def test_a_full_checklist_fits_the_valve_step_by_step(name: str) -> None:
    valve = [s.name for s in shipped.checklists()[name].steps if s.group is ChecklistGroup.VALVE]
    wanted = "neck-thread-read valve-thread-read o-ring lubricant dip-tube disc-rating outlet-rating torque"
    assert set(wanted.split()) <= set(valve)
