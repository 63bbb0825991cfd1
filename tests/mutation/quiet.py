"""A pytest plugin: the same examples every time, and nothing left behind."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from hypothesis import HealthCheck, Phase, settings

ORDER = "MUTANTS_TESTS"
"""Names the file that holds the tests to run, one a line, in their order."""
EXACT = "MUTANTS_EXACT"
"""Set where every one of them must be found: before anything is changed."""

hypothesis.configuration.set_hypothesis_home_dir(Path(os.environ["MUTANTS_SCRATCH"]) / "hypothesis")
settings.register_profile(
    "mutants",
    derandomize=True,
    database=None,
    deadline=None,
    phases=(Phase.explicit, Phase.generate),
    report_multiple_bugs=False,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("mutants")


def pytest_collection_modifyitems(config: pytest.Config, items: list[Any]) -> None:
    """Keep the chosen tests, in the chosen order."""
    if not os.environ.get(ORDER):
        return
    names = Path(os.environ[ORDER]).read_text("utf-8").split("\n")
    place = {name: i for i, name in enumerate(names)}
    items[:] = sorted((i for i in items if i.nodeid in place), key=lambda i: place[i.nodeid])
    if os.environ.get(EXACT) and len(items) != len(place):
        gone = sorted(place.keys() - {i.nodeid for i in items})
        raise pytest.UsageError(f"tests that were watched are not found again: {gone[:5]}")
