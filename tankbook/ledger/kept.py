"""What an older text that an editor kept tells against a cylinder, unknown to its record.

After each act the text in an editor's backup is that of before, and nobody wrote in it: what it
says otherwise was changed since. What must not be lost with it is a fact against the cylinder.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import cache

from tankbook.ledger import shipped
from tankbook.ledger.copies import entries_in, lines_not_in, more_in, plain_of, told_of
from tankbook.ledger.names import STATION_FILE
from tankbook.ledger.splice import SpliceValue
from tankbook.ledger.strays import KEY, text_of
from tankbook.records.book import Book
from tankbook.records.counter import COUNTER_FILE
from tankbook.records.cylinder import Cylinder
from tankbook.records.settings import Settings
from tankbook.records.words import Shore
from tankbook.rules.told_against import tells_against
from tankbook.units.patterns import pattern


def told_against(copy: bytes, record: bytes, path: str) -> str:
    """What an older text tells against its cylinder, station or shop that the record knows nothing
    of: a cylinder set aside, condemned or failed on a day of which the record has none, a pass that
    was no pass, words of damage that stand nowhere in the record; or an empty text.

    Args:
        copy: the older text, read as a record or not: a merge leaves its marks in it.
        record: the text that is read.
        path: of the record: rules, lists and settings tell nothing against anybody.
    """
    if not path.startswith(("cylinders/", "sets/")) and path not in (STATION_FILE, COUNTER_FILE):
        return ""
    is_, known = text_of(copy), text_of(record)
    told, there = plain_of(is_), plain_of(known)
    if told is None or there is None:
        return told_of(_in_lines(is_.splitlines(), known))
    knows = _plainly(known)
    more = more_in(told, there)
    return told_of(each.told for each in more if _is_against(each.key, each.value, knows))


SET_ASIDE = frozenset(
    {"held", "rejected", "condemned", "lost", "handed_over", "stolen", "incidents"}
)
"""Keys of entries that tell against a cylinder whatever they say."""
_OF_A_RENTAL = frozenset({"damage"})
NO_PASS = frozenset({"fail", "reject", "hold"})
"""What an entry came to that tells against its cylinder."""


def _is_against(key: str, value: SpliceValue, known: str) -> bool:
    """Whether what stands below a key tells against a cylinder; what was struck out does not."""
    if isinstance(value, dict):
        within = (_is_against(name, each, known) for name, each in value.items())
        return "void" not in value and (key in SET_ASIDE or any(within))
    if isinstance(value, list):
        return any(_is_against(key, each, known) for each in value)
    text = str(value)
    if key == "result":
        return text in NO_PASS
    return (key in _OF_A_RENTAL and _plainly(text) not in known) or _is_danger(text, known)


def _is_danger(text: str, known: str) -> bool:
    """Whether a text has words that tell against a cylinder, and which stand nowhere in its
    record."""
    if not any(c.isalpha() for c in text) or not tells_against(_blank(), _CARD, text):
        return False
    new = [each for each in _CLAUSES.split(text) if _plainly(each) not in known]
    return bool(new) and bool(tells_against(_blank(), _CARD, ", ".join(new)))


_CLAUSES = pattern(r"\s*[,;:.!?{}\[\]]\s+|[,;:.!?{}\[\]]+$")


def _plainly(text: str) -> str:
    return " ".join(text.split()).casefold()


def _in_lines(lines: list[str], known: str) -> Iterator[str]:
    """As `told_against`, of a text that does not read as YAML, by its entries and its lines."""
    of_record, there = list(entries_in(known.splitlines())), list(entries_in(lines))
    known_kinds, kinds = Counter(key for key, _ in of_record), Counter(key for key, _ in {*there})
    for key, named in there:
        more = kinds[key] > known_kinds[key]  # else its day was mended
        if key in SET_ASIDE and more and (key, named) not in of_record:
            yield f"{key} {named}"
    for line in lines_not_in(lines, known):
        begun = KEY.match(line)
        if begun and begun[1] in SET_ASIDE and f"{begun[1]}:" not in known:
            yield begun[1]
        failed = any(found[1] in NO_PASS for found in _RESULT.finditer(line))
        if failed or _is_danger(_KEYS.sub(", ", line), _plainly(known)):
            yield line


_RESULT = pattern(r"\bresult\s*:\s*[\"']?(\w+)")
_KEYS = pattern(r"\b[a-z_]+\s*:(?=\s|$)")


@cache
def _blank() -> Book:
    """A book of no records, with the words by which a remark is judged."""
    settings = Settings(ledger="", units=Shore.PSI, rules=())
    return Book(settings, finding_rows=shipped.findings(), mark_words=shipped.mark_words())


_CARD = Cylinder(serial="")
