"""The findings an inspector can name: the words they go by, and the limits that were read."""

from __future__ import annotations

from typing import ClassVar

from tankbook.records.fields import TEXT, YES_NO, ListOf, Nested, OneOf, Record, key
from tankbook.records.kinds import LENGTH
from tankbook.records.rulerow import VERIFIED, Verified
from tankbook.records.words import SEEN_TWINS, Material, Seen
from tankbook.units import Length


class FindingRow(Record, frozen=True, kw_only=True):
    """One finding: how it is called in notes, and how much of it a standard accepts."""

    title: ClassVar[str] = "finding row"
    what: Seen = key(OneOf(Seen, SEEN_TWINS), "The finding.", "gouge", required=True)
    words: tuple[str, ...] = key(
        ListOf(TEXT), "Words in a note that speak of it, by their beginning.", "[gouge, dig]"
    )
    material: tuple[Material, ...] = key(ListOf(OneOf(Material)), "Only for these.", "[aluminium]")
    never: bool = key(YES_NO, "None of it is accepted.", "yes", default=False)
    inside: bool = key(YES_NO, "It asks for a look inside.", "yes", default=False)
    deepest: Length | None = key(LENGTH, "Deepest that is accepted.", "0.031 in")
    longest: Length | None = key(LENGTH, "Longest that is accepted.", "6 in")
    citation: str = key(TEXT, "Where the limit stands.", "CGA C-6.1 s. 4.2", required=True)
    edition: str | None = key(TEXT, "Edition read.", "not stated")
    verified: Verified = key(VERIFIED, "How it is known.", "read", required=True)
    grade: str | None = key(TEXT, "Source grade.", "C")
    note: str | None = key(TEXT, "What else to know.", "wall unknown")


class FindingTable(Record, frozen=True, kw_only=True):
    """The shipped table of findings."""

    title: ClassVar[str] = "findings"
    findings: tuple[FindingRow, ...] = key(
        ListOf(Nested(FindingRow)), "The rows.", "[...]", required=True
    )
