"""The help of every command as data, and that it says what its text does."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tankbook.cli.commands import COMMANDS, every_line

Run = Callable[..., Any]


@pytest.mark.parametrize("name", sorted(every_line()))
def test_every_command_tells_its_help_as_data(tb: Run, name: str) -> None:
    words = name.split()
    ran = tb("help", *words, "--json")
    said = ran.json
    assert (ran.code, said["command"], said["briefly"]) == (0, name, every_line()[name].briefly)
    assert list(said) == ["command", "briefly", "example", "takes", "below", "text"]
    assert said["text"].split() == tb("help", *words).out.split()
    plain = " ".join(said["text"].replace("-\n", "-").split())
    for each in said["takes"]:
        assert all(option in plain for option in each["names"])
        assert each["names"] or each["value"]
    assert tb(*words, "--help", "--json").json == tb("--json", "help", *words).json == said


def test_the_help_of_all_names_every_command(tb: Run) -> None:
    assert tb("help", "--json").json["below"] == list(COMMANDS)
    assert tb("--help", "--json").json["command"] == ""


@pytest.mark.parametrize("line", [["help", "nonsense"], ["help", "station", "nonsense"]])
def test_help_of_what_there_is_not_is_refused_in_json(tb: Run, line: list[str]) -> None:
    ran = tb(*line, "--json")
    assert ran.code == 2
    assert "there is no command" in ran.json["error"]["text"]
