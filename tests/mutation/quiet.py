"""A pytest plugin: the same examples every time, and nothing left behind."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from hypothesis import Phase, settings

ORDER = "MUTANTS_TESTS"
"""Names the file that holds the tests to run, one a line, in their order."""

hypothesis.configuration.set_hypothesis_home_dir(Path(os.environ["MUTANTS_SCRATCH"]) / "hypothesis")
settings.register_profile(
    "mutants",
    derandomize=True,
    database=None,
    deadline=None,
    phases=(Phase.explicit, Phase.generate),
    report_multiple_bugs=False,
)
settings.load_profile("mutants")


def pytest_collection_modifyitems(config: pytest.Config, items: list[Any]) -> None:
    """Keep the chosen tests, in the chosen order."""
    chosen = os.environ.get(ORDER)
    if chosen:
        place = {name: i for i, name in enumerate(Path(chosen).read_text("utf-8").split("\n"))}
        items[:] = sorted((i for i in items if i.nodeid in place), key=lambda i: place[i.nodeid])
