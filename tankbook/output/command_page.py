"""The page on the commands, made from what each `--help` prints."""

from __future__ import annotations

from collections.abc import Mapping

HEAD = """\
# The commands

<!-- Made from `--help`; a test fails when it is stale. -->

The ledger is found upward from the folder you stand in, or named with `--ledger DIR`. `--on DATE`
answers as on that day and ignores later records. `--json` answers for programs; the shapes are in
[json.md](json.md). Ids may be given by any tail that names one alone: `14` for `RB-014`. A bare
number takes the ledger's unit.

The first line is the answer. Exit codes: 0 done; 1 the answer is no (`validate` with a fault, `due`
with something overdue, `may-fill` with a refusal); 2 the request or a file is not understood; 3 a
fault of the program, with a report ready to paste.
"""


def command_page(helps: Mapping[str, str]) -> str:
    """The whole page, in Markdown, from the help text of each command by its name."""
    lines = []
    for name, text in helps.items():
        lines += ["", f"## {name}", "", "```", text.strip("\n"), "```"]
    return HEAD + "\n".join(lines) + "\n"
