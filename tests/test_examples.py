"""The examples in docstrings print what they say."""

from __future__ import annotations

import doctest
import re
from importlib import import_module
from pathlib import Path

import pytest

import tankbook

PACKAGE = Path(tankbook.__file__).parent
WITH_EXAMPLES = [
    ".".join(("tankbook", *path.relative_to(PACKAGE).with_suffix("").parts))
    for path in sorted(PACKAGE.rglob("*.py"))
    if re.search(r"^ *>>> ", path.read_text(encoding="utf-8"), re.MULTILINE)
]


def test_there_are_some() -> None:
    assert len(WITH_EXAMPLES) >= 7


@pytest.mark.parametrize("module", WITH_EXAMPLES)
def test_the_examples_of_a_module_are_true(module: str, capsys: pytest.CaptureFixture[str]) -> None:
    ran = doctest.testmod(import_module(module))
    assert ran.attempted
    assert not ran.failed, capsys.readouterr().out
