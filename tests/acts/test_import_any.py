"""Whatever stands in a table: a mapping is guessed that can be read, and each row comes to something."""

from __future__ import annotations

import csv
import io
import re
from contextlib import suppress

from books import GOOD, SETTINGS, TODAY
from clubs import read
from hypothesis import assume, given
from hypothesis import strategies as st
from shop import Shop, shop

from tankbook.acts.import_ import Comes, import_table
from tankbook.acts.tab_guess import guess
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.mapping import mapping_of
from tankbook.output.imported import data, text
from tankbook.output.mapping_file import text as mapping_text
from tankbook.output.page import Page
from tankbook.records.edits import Act

HEADING = st.sampled_from(["No", "Serial", "Make", "WP (bar)", "Hydro", "Visual", "Who has it", "Remarks", "Status", "Valve", "Metal", "Size", "Date", "What", "Price", "Colour", "", "?", "a: b #c", "- x", "Owner", "Use", "Gas"])  # fmt: skip
CELL = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["", "K1", "K2", "RB-014", "232", "3000", "11,1", "3,000", "04/2022", "3/4/22", "31/04/2021", "44287", "?", "n/a", "=1+1", "sold to Jim", "valve leaks", "Jim", "here", "yoke", "Alu", "steel", "al80", "a: b # c", '"', "'", "\\", "two\nlines", "\u202e", "Total", "{x}", "[y", "*z", "&a", "!t", "null", "погнут", "nitrox"]),
)  # fmt: skip
ANSWERS = {
    "use": "pool",
    "day_numbers": "1900",
    "key": "keep",
    "owned": "customer",
    "is": "last",
    "dates": "day-first",
    "decimal": "point",
    "unit": "bar",
    "hidden_rows": "take",
    "blanks": "as-above",
}


def answered(said: str) -> str:
    """A mapping in which somebody answered everything, not always wisely."""
    gone = said.partition("columns:")[0].count('": ?')
    said = said.replace('": ?', '": hold', gone)
    return re.sub(
        r"(?m)^( *(?:- )?)(\S.*?): \?( |$)",
        lambda m: f"{m[1]}{m[2]}: {ANSWERS.get(m[2], 'steel')}{m[3]}",
        said,
    )


LEDGER = shop(settings=SETTINGS.replace("units: psi", "units: bar"), RB_014=GOOD)


@given(
    st.lists(HEADING, min_size=1, max_size=6),
    st.lists(st.lists(CELL, min_size=1, max_size=6), max_size=5),
)
def test_any_table_comes_to_something(heads: list[str], rows: list[list[str]]) -> None:
    out = io.StringIO()
    csv.writer(out).writerows([heads, *rows])
    tab = None
    with suppress(LedgerError):
        tab = read(out.getvalue().encode("utf-8", "replace"))
    assume(tab is not None)
    assert tab is not None
    said = mapping_text(tab, guess(tab, TODAY))
    mapping, findings = mapping_of(answered(said), "m.yaml")
    assert mapping is not None, "\n".join([answered(said), *map(str, findings)])
    got = import_table(LEDGER.book, TODAY, tab, mapping, by="MV", good=True)
    assert text(got, (), Page())
    assert len(data(got, ())["rows"]) == len(got.fates)
    assert all(f.says for f in got.fates if f.comes in (Comes.CANNOT, Comes.LEFT_OUT))
    if isinstance(got.planned, Act):
        ledger = Shop(dict(LEDGER.files), LEDGER.settings, LEDGER.station)
        ledger.fact(got.planned)
        again = import_table(ledger.book, TODAY, tab, mapping, by="MV", good=True)
        assert isinstance(again.planned, Act)
        assert again.planned.edits == ()
