"""What can be wrong with the settings and with the rules in force."""

from __future__ import annotations

from collections.abc import Iterator

from tankbook.records.rulerow import Obligation
from tankbook.records.settings import Settings
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_rules, on_settings
from tankbook.rules.inforce import InForce


@on_settings("certification-ends-first", FAULT)
def certifications_in_order(settings: Settings) -> Iterator[Says]:
    """A certification does not end before it begins."""
    for initials, person in settings.people.items():
        for held in person.certifications:
            if held.until is not None and held.until.last < held.from_.first:
                text = f"{initials}: a certification ends {held.until}, before {held.from_}"
                yield Says(held.source.at("until"), text)


@on_rules("no-fill-rules", FAULT)
def rules_are_in_force(rules: InForce, settings: Settings) -> Iterator[Says]:
    """A set of rules that is enough to fill by is in force."""
    where = settings.source.at("rules")
    for each in rules.lacks_fill_rules:
        text = f"{each.id} ({each.heading}) is no fill rule by itself"
        yield Says(where, text, "name a national or shop rule set beside it in tankbook.yaml")
    if not any(s.rows for s in rules.sets):
        yield Says(where, "no rule set is in force", "name one in tankbook.yaml")


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
