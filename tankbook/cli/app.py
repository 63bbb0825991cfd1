"""The commands, gathered."""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping, Sequence
from typing import Annotated, Any, TypeVar

import typer

from tankbook import __version__
from tankbook.cli import (
    audit,
    board,
    capacity,
    due,
    fleet,
    history,
    init,
    listing,
    marks,
    may_fill,
    pending,
    rules,
    show,
    tags,
    validate,
)
from tankbook.cli.acts import ACTS, Command
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.as_of import AsOf, with_as_of
from tankbook.cli.counter import COUNTER, COUNTER_GROUPS
from tankbook.cli.groups import GROUPS
from tankbook.cli.heads import with_heads
from tankbook.cli.options import Common, Json, Ledger, On
from tankbook.cli.papers import PAPERS
from tankbook.cli.sessions import SESSIONS

T = TypeVar("T")

HELP: dict[str, Any] = {
    "terminal_width": 80,
    "max_content_width": 80,
    "help_option_names": ["-h", "--help"],
}
"""Help reads the same on every terminal."""

COMMANDS: dict[str, Callable[..., Any]] = {
    "init": init.init,
    "show": show.show,
    "list": listing.listing,
    "marks": marks.marks,
    "rules": rules.rules,
    "validate": validate.validate,
    "due": due.due,
    "may-fill": may_fill.may_fill,
    "capacity": capacity.capacity,
    "fleet": fleet.fleet,
    "tags": tags.tags,
    "history": history.history,
    "audit": audit.audit,
    "pending": pending.pending,
}
"""Every command by its name, in the order help lists them."""


VALUED = ("--on", "--as-of", "--ledger")
"""The options before a command's name that have a value behind them."""


def command(asked: Sequence[str] = ()) -> Any:
    """The command line, ready to run: all of it, or only the command that is asked for.

    To build all of them takes longer than most answers.
    """
    acts = {**SESSIONS, **ACTS, **COUNTER, **PAPERS}
    groups = {**GROUPS, **COUNTER_GROUPS}
    only = _named(asked, {*COMMANDS, *acts, *groups})
    app = typer.Typer(
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings=dict(HELP),
        epilog="Example: tankbook --ledger example_ledger --on 2026-11-25",
    )
    app.callback(invoke_without_command=True)(start)
    for name, function in _only(only, COMMANDS):
        app.command(
            name, short_help=BRIEFLY[name], epilog=EXAMPLES[name], context_settings=dict(HELP)
        )(with_as_of(function))
    for name, act in _only(only, acts):
        app.command(name, **_told(act))(with_as_of(act.function))
    for name, group in _only(only, groups):
        below = typer.Typer(rich_markup_mode=None, context_settings=dict(HELP))
        below.callback(invoke_without_command=True)(with_as_of(group.itself.function))
        for each, act in group.below.items():
            below.command(each, **_told(act))(with_as_of(act.function))
        app.add_typer(below, name=name, **_told(group.itself))
    built = typer.main.get_command(app)
    _refuse_blanks(built)
    return built


def _refuse_blanks(built: Any) -> None:
    """Have every option that names a file or a folder refuse a text that names none: an empty one
    would be taken for none given."""
    for parameter in built.params:
        if parameter.metavar in NAMES_A_PATH:
            parameter.callback = _named_by
    for below in getattr(built, "commands", {}).values():
        _refuse_blanks(below)


NAMES_A_PATH = {"FILE": "file", "DIR": "folder"}
"""What the value of an option is that the help calls so."""


def _named_by(context: Any, parameter: Any, value: Any) -> Any:
    source = context.get_parameter_source(parameter.name)
    if isinstance(value, str) and not value.strip() and getattr(source, "name", "") in _GIVEN:
        said = parameter.opts[0] if parameter.opts[0].startswith("-") else parameter.metavar
        what = NAMES_A_PATH[parameter.metavar]
        raise RequestError(f"{said}: an empty text names no {what}", f"name a {what}")
    return value


_GIVEN = frozenset({"COMMANDLINE", "ENVIRONMENT"})


def _named(asked: Sequence[str], known: Container[str]) -> str:
    """The command a line names; an empty text for none, or where all are to be listed."""
    words = iter(asked)
    for word in words:
        if word in VALUED:
            next(words, None)
        elif word in HELP["help_option_names"] or not word.startswith("-"):
            return word if word in known else ""
    return ""


def _only(name: str, commands: Mapping[str, T]) -> list[tuple[str, T]]:
    return [(each, command) for each, command in commands.items() if name in ("", each)]


def _told(act: Command) -> dict[str, Any]:
    return {
        "short_help": act.briefly,
        "epilog": f"Example: {act.example}",
        "context_settings": dict(HELP),
    }


BRIEFLY = {
    "init": "Begin a ledger.",
    "show": "The whole card of a cylinder or set.",
    "list": "The cylinders, one a line, filtered on any field.",
    "marks": "What stamp marks mean.",
    "rules": "The rule rows in force.",
    "validate": "Check every file, and the records against each other.",
    "due": "What is due, most urgent first.",
    "may-fill": "May it be filled? Yes or no, to what, and why.",
    "capacity": "How much gas at a pressure, or the other way round.",
    "fleet": "How the fleet stands.",
    "tags": "Tags, in plain text or printed as PDF.",
    "history": "The life of a cylinder, and edits made since.",
    "audit": "Signs of tampering in the history.",
    "pending": "An act that was interrupted: show, finish or drop it.",
}
"""What the list of commands says of each."""

EXAMPLES = {
    "init": 'Example: tankbook init quay --name "Example Quay" --units psi --rules us-dot',
    "show": "Example: tankbook show 14",
    "list": "Example: tankbook list --ready --where size=al80 --sort first-test",
    "marks": 'Example: tankbook marks "DOT-3AL 3000 K118204 09A21"',
    "rules": "Example: tankbook rules --obligation requalification",
    "validate": "Example: tankbook validate --format github",
    "due": "Example: tankbook due --within 90d",
    "may-fill": "Example: tankbook may-fill 14 15 --gas nitrox32 --ambient 41",
    "capacity": "Example: tankbook capacity --water-volume 11.1L --at 3000psi",
    "fleet": "Example: tankbook fleet --on 2026-11-25",
    "tags": "Example: tankbook tags 14 15",
    "history": "Example: tankbook history 14 --fills",
    "audit": "Example: tankbook audit --late 7",
    "pending": "Example: tankbook pending --finish",
}
"""A line to run, shown at the end of each command's help."""


def start(
    context: typer.Context,
    json: Json = False,
    on: On = "",
    as_of: AsOf = "",
    ledger: Ledger = "",
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> Answer | None:
    """Diving cylinders kept lawful, in test and correctly filled, from plain text.

    Without a command: today's board. Exit codes: 0 done, 1 the answer is no, 2 the request or a
    file is not understood, 3 a fault of the program.
    """
    if version:
        return Answer(f"tankbook {__version__}\n")
    context.obj = Common(json, on, ledger, as_of)
    if context.invoked_subcommand:
        return None
    if as_of:
        return with_heads(lambda asked, _: board.board(asked), context.obj, {})
    return board.board(context.obj)
