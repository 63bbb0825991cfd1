"""`tankbook commands`: every command by the work, and what it does."""

from __future__ import annotations

from typing import Annotated

import typer

from tankbook.acts.options import Arg
from tankbook.cli.answer import Answer, RequestError, as_data
from tankbook.cli.commands import BY_WORK, Command, WorkArea, every_line
from tankbook.cli.options import Common, Json


def listed(
    context: typer.Context,
    work: Annotated[str, Arg("", "One work alone: bench, counter, ...")] = "",
    json: Json = False,
) -> Answer:
    """Every command by the work, and what it does."""
    wanted = [each for each in WorkArea if each.casefold().startswith(work.casefold())]
    if not wanted:
        known = ", ".join(each.casefold() for each in WorkArea)
        raise RequestError(f"{work!r} is no work that commands are listed by", f"known: {known}")
    if json or (isinstance(context.obj, Common) and context.obj.json):
        return as_data(
            [_told(each, *line) for each in wanted for line in every_line(BY_WORK[each]).items()]
        )
    from tankbook.cli.open_ledger import page

    paper = page()
    parts = []
    for each in wanted:
        lines = every_line(BY_WORK[each])
        wide = max(map(len, lines)) + 2
        rows = (f"  {name:<{wide}}{command.briefly}" for name, command in lines.items())
        hang = " " * min(wide + 2, paper.width // 2)
        parts.append("\n".join([str(each), paper.paragraphs(rows, hang=hang)]))
    return Answer("\n\n".join(parts) + "\n")


def _told(work: WorkArea, line: str, command: Command) -> dict[str, str]:
    said = {"work": str(work), "command": line}
    return {**said, "briefly": command.briefly, "example": command.example}
