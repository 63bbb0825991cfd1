"""The reference pages under docs/ say what the program says.

`pytest tests/output --snapshot-update` writes them anew, as it does the snapshots.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from pages import FILES, LINES, format_page, rules_page

from tankbook.ledger import shipped
from tankbook.records.fields import keys_of
from tankbook.records.log import LogLine, columns

DOCS = Path(__file__).parents[2] / "docs"


def ledger_format_page() -> str:
    return format_page(list(shipped.sizes().values()))


def rule_sets_page() -> str:
    names = shipped.rule_set_names()
    order = sorted(names, key=lambda n: (n in shipped.EVERYWHERE, n != "us-dot", n))
    return rules_page([shipped.rule_set(name) for name in order])


@pytest.mark.parametrize(
    ("name", "make"),
    [("ledger-format.md", ledger_format_page), ("rule-sets.md", rule_sets_page)],
    ids=["format", "rules"],
)
def test_the_page_is_not_stale(
    name: str, make: Callable[[], str], request: pytest.FixtureRequest
) -> None:
    if request.config.getoption("update_snapshots"):
        (DOCS / name).write_text(make(), encoding="utf-8")
    assert (DOCS / name).read_text(encoding="utf-8") == make()


@pytest.mark.parametrize("record", [record for _, record, _ in (*FILES, *LINES)])
def test_every_key_of_every_file_is_on_the_page(record: type) -> None:
    page = format_page()
    section = page.split(f"## {record.title[0].upper()}{record.title[1:]}\n")[1].split("\n## ")[0]
    for key in keys_of(record).values():
        assert f"| `{key.name}` |" in section
        assert key.doc in section


def test_the_header_of_the_fill_log_is_shown() -> None:
    assert f"```\n{','.join(columns(LogLine))}\n```" in format_page()


def test_every_trade_size_is_on_the_page() -> None:
    page = ledger_format_page()
    for size in shipped.sizes().values():
        assert f"| `{size.name}` | {size.water_volume} |" in page


def test_every_link_inside_the_page_leads_somewhere() -> None:
    page = ledger_format_page()
    headings = {h.lower().replace(" ", "-") for h in re.findall(r"^#+ (.+)$", page, re.MULTILINE)}
    links = set(re.findall(r"\]\(#([^)]+)\)", page))
    assert links <= headings


def test_every_shipped_row_is_on_the_rules_page() -> None:
    page = rule_sets_page()
    for name in shipped.rule_set_names():
        rule_set = shipped.rule_set(name)
        for row in (*rule_set.rows, *rule_set.watch):
            assert page.count(f"| `{row.id}` |") == 1
            assert row.citation.replace("|", "\\|") in page
