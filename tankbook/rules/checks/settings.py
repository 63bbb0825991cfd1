"""What can be wrong with the settings and with the rules in force."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from tankbook.records.node import EVERY_CYLINDER
from tankbook.records.rulerow import Obligation
from tankbook.records.settings import People, Settings
from tankbook.records.station import Station
from tankbook.rules.checks.declared import ADVICE, FAULT, WARN, Says, on_rules, on_settings
from tankbook.rules.fill_history import GAUGE_ERROR_AT_MOST, UNEXPLAINED_AT_MOST
from tankbook.rules.inforce import InForce
from tankbook.rules.wording import says_nothing
from tankbook.units import PartialDate


@on_settings("certification-ends-first", FAULT)
def certifications_in_order(settings: Settings) -> Iterator[Says]:
    """A certification does not end before it begins."""
    for initials, person in settings.people.items():
        for held in person.certifications:
            if held.until is not None and held.until.last < held.from_.first:
                text = f"{initials}: a certification ends {held.until}, before {held.from_}"
                yield Says(held.source.at("until"), text)


@on_settings("allows-too-much", ADVICE, since="0.2")
def allowances_are_small(settings: Settings, station: Station | None) -> Iterator[Says]:
    """What pressures are allowed to differ by is no more than gauges and weather do."""
    rise, error = settings.unexplained, station.gauge_error if station else None
    if rise is not None and rise > UNEXPLAINED_AT_MOST:
        text = f"`unexplained: {rise}` counts as {UNEXPLAINED_AT_MOST}"
        yield Says(settings.source.at("unexplained"), text, "write how far a gauge may err")
    if station is not None and error is not None and error > GAUGE_ERROR_AT_MOST:
        text = f"`gauge_error: {error}` counts as {GAUGE_ERROR_AT_MOST}"
        yield Says(station.source.at("gauge_error"), text, "write how far a gauge may err")


@on_rules("no-fill-rules", FAULT)
def rules_are_in_force(rules: InForce, settings: Settings) -> Iterator[Says]:
    """A set of rules that is enough to fill by is in force."""
    for each in rules.lacks_fill_rules:
        text = f"{each.id} ({each.heading}) is no fill rule by itself"
        where = settings.source.at("rules")
        yield Says(where, text, "name a national or shop rule set beside it in tankbook.yaml")
    if not any(s.rows for s in rules.sets):
        where = settings.source.at("rules")
        yield Says(where, "no rule set is in force", "name one in tankbook.yaml")


def _own(rules: InForce, code: str) -> Iterator[Says]:
    for each in rules.judged.faults:
        if each.code == code:
            yield Says(each.where, each.fault, each.mend)


def _on_own_rows(code: str, says: str) -> None:
    """Declare a check of what was judged of the ledger's own rows; `says` is its line."""

    def find(rules: InForce) -> Iterator[Says]:
        return _own(rules, code)

    find.__doc__ = says
    on_rules(code, FAULT, since="0.2")(find)


_on_own_rows(
    "row-twice",
    "No two rows of the ledger's own have one id, nor that of a shipped row of another kind.",
)
_on_own_rows(
    "row-loosens", "A row of the ledger's own loosens neither law nor what nobody may override."
)


@on_rules("row-unnamed", FAULT, since="0.2")
def loosening_is_named(rules: InForce, people: People) -> Iterator[Says]:
    """A row that loosens practice says who of the people decided so, why and since when."""
    yield from _own(rules, "row-unnamed")
    for each in rules.judged.loosened if people else ():
        if each.row.by not in people:
            text = f"{each.row.id} loosens practice, and {each.row.by} is nobody in tankbook.yaml"
            yield Says(each.where, text, "say who decided (`by`), by the initials under `people:`")
        elif each.row.since and (gone := _gone(people, each.row.by, each.row.since)):
            text = f"{each.row.id} loosens practice since {each.row.since}, and {gone}"
            yield Says(each.where, text, "let somebody of the ledger's people decide it")


@on_rules("row-loosened", ADVICE, since="0.2")
def loosened_rows_are_told(rules: InForce) -> Iterator[Says]:
    """A row that loosens practice is listed with who decided so, why and since when."""
    for each in rules.loosened:
        mend = "take it out when it is no longer wanted"
        yield Says(each.row.source.at("id"), str(each), mend)


def _gone(people: People, by: str | None, on: PartialDate) -> str:
    """That somebody had left before a day, or an empty text."""
    person = people.get(by or "")
    left = person.left if person else None
    return f"{by} left on {left}" if left is not None and left.last < on.first else ""


_on_own_rows("row-unknown", "A row that takes another out of force names one that is there.")
_on_own_rows(
    "row-range",
    "A range of serials in a notice of the ledger's own is one that some serial can lie in.",
)


@on_rules("risk-unsigned", FAULT, since="0.2")
def risk_is_assessed_by_somebody(settings: Settings, latest_day: dt.date) -> Iterator[Says]:
    """A risk assessment that lengthens a period was made by somebody of the ledger's, by now."""
    found = settings.risk_assessed
    if found is None:
        return
    wrong = ""
    if says_nothing(found.document):
        text = f"the risk assessment counts for nothing: `{found.document}` is no document"
        yield Says(found.source.at("document"), text, "say where it is written", WARN, ())
    if settings.people and found.by not in settings.people:
        wrong = f"{found.by} is not among the people of tankbook.yaml"
    elif gone := _gone(settings.people, found.by, found.on):
        wrong = gone
    elif found.on.first > latest_day:
        wrong = f"it is dated {found.on}, which is yet to come"
    if wrong:
        mend = "correct it, or let one of the ledger's people adopt it"
        touches = (EVERY_CYLINDER,)
        yield Says(found.source.at("by"), f"the risk assessment: {wrong}", mend, touches=touches)


_on_own_rows("row-unheard", "A row of the ledger's own says nothing that no question hears.")
_on_own_rows(
    "row-clears-alloy", "No notice of the ledger's own clears an alloy that a shipped one suspects."
)
_on_own_rows("row-grants-plus", "No row of the ledger's own grants the 10 % of a plus mark.")
_on_own_rows("row-lax-air", "No air standard of the ledger's own is laxer than every shipped one.")


@on_rules("notice-missing", WARN)
def notices_are_whole(rules: InForce, settings: Settings) -> Iterator[Says]:
    """A set that counts its notices holds them all."""
    for each in rules.lacks_notices:
        text = f"{each.id} should hold {each.notices} notices and holds {each.notices_held}"
        yield Says(settings.source.at("rules"), text)


@on_rules("pre-fill-look", FAULT)
def look_is_asked_for(rules: InForce, settings: Settings) -> Iterator[Says]:
    """Some row asks for the look before filling."""
    if not rules.rows[Obligation.PRE_FILL_LOOK]:
        text = "no rule row in force asks for the look before filling"
        yield Says(settings.source.at("rules"), text)
