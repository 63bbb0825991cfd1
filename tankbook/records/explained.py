"""What a code, a question or a word means: the texts behind `tankbook explain`."""

from __future__ import annotations

from typing import ClassVar

from tankbook.records.fields import TEXT, MapOf, Nested, Record, key


class Explanation(Record, frozen=True, kw_only=True):
    """What is meant by a code, why it matters, and how it is mended.

    `citation` is where that stands, or that it is common practice; that of its group where None.
    """

    title: ClassVar[str] = "explanation"
    means: str = key(TEXT, "What is the case.", "the text is no YAML", required=True)
    why: str = key(TEXT, "Why that matters.", "the file counts for nothing", required=True)
    mend: str = key(TEXT, "How it is mended.", "put it in quotes", required=True)
    citation: str | None = key(TEXT, "Where it stands.", "the rule row `bench.filter`")


class ExplainedGroup(Record, frozen=True, kw_only=True):
    """Codes of one kind."""

    title: ClassVar[str] = "group"
    id: str = key(TEXT, "Its name.", "reading", required=True)
    heading: str = key(TEXT, "What they are about.", "Files that cannot be read", required=True)
    citation: str = key(TEXT, "Where they stand, if they do not say.", "YAML 1.2.2", required=True)
    codes: dict[str, Explanation] = key(MapOf(Nested(Explanation)), "Each by its code.", "{...}")


class GlossaryWord(Record, frozen=True, kw_only=True):
    """A word of the trade, as it is said on both shores."""

    title: ClassVar[str] = "word"
    us: str = key(TEXT, "In the US, and in what is printed here.", "cylinder, tank", required=True)
    uk: str = key(TEXT, "In the UK.", "cylinder, bottle", required=True)
    means: str = key(TEXT, "What it is.", "what the gas is carried in", required=True)


class ExplainedTable(Record, frozen=True, kw_only=True):
    """Every text, and the glossary."""

    title: ClassVar[str] = "explained"
    groups: tuple[ExplainedGroup, ...] = key([ExplainedGroup], "By what they are about.", "[...]")
    words: tuple[GlossaryWord, ...] = key([GlossaryWord], "The glossary.", "[...]")


QUESTIONS = "questions"
"""The group of what rules are asked, by obligation; every other one is of codes."""
