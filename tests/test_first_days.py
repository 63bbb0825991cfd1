"""The first day of each user, from `init` to the first answer, from the docs alone.

`tests/test_docs.py` runs the commands of these pages and holds what is shown against what is printed.
Here is what makes a page a first day: it begins with nothing, edits no file by hand but the mapping of an
import, and has its first YES after so few commands that a quarter of an hour will do.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from pages_shown import Step, steps

DOCS = Path(__file__).parents[1] / "docs"
PAGES = ["season-solo.md", "season-shop.md", "season-club.md"]
MOST = 16


def first_day(page: str) -> list[Step]:
    """What a page does up to its first YES."""
    done = []
    for step in steps(DOCS / page):
        done.append(step)
        if step.command.startswith("tankbook may-fill") and step.lines[0].startswith("YES "):
            return done
    pytest.fail(f"{page} has no cylinder that may be filled")


@pytest.mark.parametrize("page", PAGES)
def test_a_first_day_is_short_and_begins_with_nothing(page: str) -> None:
    commands = [s.command for s in first_day(page) if s.command]
    assert commands[0].startswith("tankbook init ")
    assert len(commands) <= MOST
    assert not any("example_ledger" in c for c in commands)


@pytest.mark.parametrize("page", PAGES)
def test_a_first_day_edits_no_file_but_a_mapping(page: str) -> None:
    mappings, tables = set(), set()
    for step in steps(DOCS / page):
        words = step.command.split()
        if words[:2] == ["tankbook", "import"]:
            tables.add(Path(words[2]).name)
            mappings.add(Path(words[words.index("--map") + 1]).name)
    written = {step.file for step in steps(DOCS / page) if step.file}
    assert written == mappings | tables


@pytest.mark.parametrize("page", PAGES)
def test_a_season_goes_on_to_the_autumn_and_asks_what_is_due(page: str) -> None:
    commands = [s.command for s in steps(DOCS / page) if s.command]
    season = commands[len([s for s in first_day(page) if s.command]) :]
    for word in ("tankbook rent ", "tankbook return ", "tankbook due ", "tankbook costs "):
        assert any(c.startswith(word) for c in season), word
    assert any("--on 2026-09" in c or "--on 2026-10" in c for c in season)
