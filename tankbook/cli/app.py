"""The commands, gathered."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from functools import cache
from textwrap import wrap
from typing import Annotated, Any

import typer
import typer.core

from tankbook import __version__
from tankbook.acts.options import Flag
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.commands import BY_WORK, COMMANDS, Command
from tankbook.cli.options import NAMES_A_PATH, AsOf, Common, Json, Ledger, On, declared

HELP_WIDTH = 80
HELP: dict[str, Any] = {
    "terminal_width": HELP_WIDTH,
    "max_content_width": HELP_WIDTH,
    "help_option_names": ["-h", "--help"],
}
"""Help reads the same in every file and on every terminal that has room for it."""

VALUED = ("--on", "--as-of", "--ledger")
"""The options before a command's name that have a value behind them."""


def command(asked: Sequence[str] | None = None) -> Any:
    """The command line, ready to run: all of it, or only the command that is asked for.

    To build all of them takes longer than most answers. They are built where a word names none,
    so that what is like it can be told.
    """
    only = None if asked is None else _named(asked)
    return _built(only if only in _KNOWN else None, _room())


def _room() -> int:
    """How wide help is: no wider than the terminal, if there is one."""
    if sys.stdout is None or not sys.stdout.isatty():
        return HELP_WIDTH
    from tankbook.cli import keys

    return min(keys.columns(sys.stdout) or HELP_WIDTH, HELP_WIDTH)


@cache
def _built(only: str | None, width: int) -> Any:
    app = typer.Typer(
        cls=_ByWork,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings=dict(HELP),
        epilog="Example: tankbook --ledger example_ledger --on 2026-11-25",
    )
    app.callback(invoke_without_command=True)(declared(start))
    for name, each in COMMANDS.items():
        if only is None or only == name:
            _add(app, name, each)
    built = typer.main.get_command(app)
    _refuse_blanks(built)
    _refuse_repeats(built)
    if width < HELP_WIDTH:
        _narrowed(built, width)
    return built


def _narrowed(built: Any, width: int) -> None:
    """Have help fit a narrow terminal: less room for what an option is called."""
    wide = built.context_class

    class Formatter(wide.formatter_class):  # type: ignore[name-defined,misc] # the parser's own
        def write_dl(self, rows: Any, col_max: int = 30, col_spacing: int = 2) -> None:
            super().write_dl(rows, min(col_max, width // 3), col_spacing)

    class Narrow(wide):  # type: ignore[valid-type,misc]
        formatter_class = Formatter

    for each in (built, *_below(built)):
        each.context_class = Narrow
        each.context_settings |= {"terminal_width": width, "max_content_width": width}


def _below(built: Any) -> Iterator[Any]:
    for each in getattr(built, "commands", {}).values():
        yield each
        yield from _below(each)


def _add(app: typer.Typer, name: str, command: Command) -> None:
    function = declared(command.function)
    if not command.below:
        app.command(name, **_told(command))(function)
        return
    below = typer.Typer(rich_markup_mode=None, context_settings=dict(HELP))
    below.callback(invoke_without_command=True)(function)
    for each, act in command.below.items():
        _add(below, each, act)
    app.add_typer(below, name=name, **_told(command))


class _ByWork(typer.core.TyperGroup):
    """The commands by their work, names alone: so that all of them stand on one screen."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        with formatter.section("Commands, by the work"):
            formatter.write_dl([(str(work), " ".join(listed)) for work, listed in BY_WORK.items()])
        with formatter.section("What each does"):
            lines = wrap("tankbook commands; tankbook help COMMAND", formatter.width - 2)
            formatter.write("".join(f"  {line}\n" for line in lines))


def _refuse_blanks(built: Any) -> None:
    """Have every option that names a file or a folder refuse a text that names none: an empty one
    would be taken for none given."""
    for parameter in built.params:
        if parameter.metavar in NAMES_A_PATH:
            parameter.callback = _named_by
    for below in getattr(built, "commands", {}).values():
        _refuse_blanks(below)


def _refuse_repeats(built: Any) -> None:
    """Have every option that has one value be given once: of two the parser would keep the last."""
    made = built.make_parser

    def make_parser(context: Any) -> Any:
        parser = made(context)
        parse = parser.parse_args

        def once(args: Any) -> Any:
            opts, rest, order = parse(args=args)
            if not context.resilient_parsing:
                _given_once(order)
            return opts, rest, order

        parser.parse_args = once
        return parser

    built.make_parser = make_parser
    for below in getattr(built, "commands", {}).values():
        _refuse_repeats(below)


def _given_once(order: Sequence[Any]) -> None:
    """Refuse an option that is there twice; a flag may be, where it cannot be denied as well."""
    seen: set[str] = set()
    for parameter in order:
        named = parameter.opts[0]
        one = getattr(parameter, "is_flag", False) and not parameter.secondary_opts
        if not named.startswith("-") or getattr(parameter, "multiple", False) or one:
            continue
        if named in seen:
            raise RequestError(f"{named} is given twice", ONCE)
        seen.add(named)


def _named_by(context: Any, parameter: Any, value: Any) -> Any:
    source = context.get_parameter_source(parameter.name)
    if isinstance(value, str) and not value.strip() and getattr(source, "name", "") in _GIVEN:
        said = parameter.opts[0] if parameter.opts[0].startswith("-") else parameter.metavar
        what = NAMES_A_PATH[parameter.metavar]
        raise RequestError(f"{said}: an empty text names no {what}", f"name a {what}")
    return value


def help_data(line: Sequence[str]) -> dict[str, Any]:
    """The help that a line asks for, as data: of the command that it names, or of all.

    Raises:
        RequestError: there is no such command.
    """
    from tankbook.cli.commands import every_line

    name = _named(line)
    if name and name not in COMMANDS:
        raise RequestError(f"there is no command {name!r}", "`tankbook commands` lists all")
    behind = line[line.index(name) + 1] if name else "-"
    if name and COMMANDS[name].below and not behind.startswith("-"):
        if behind not in COMMANDS[name].below:
            names = ", ".join(COMMANDS[name].below)
            raise RequestError(f"there is no command `{name} {behind}`", f"known: {names}")
        name = f"{name} {behind}"
    built = command([name.split(" ")[0]] if name else None)
    context = built.make_context("tankbook", [], resilient_parsing=True)
    for word in name.split():
        built = built.commands[word]
        context = built.context_class(built, info_name=word, parent=context)
    known = every_line().get(name)
    return {
        "command": name,
        "briefly": known.briefly if known else "",
        "example": known.example if known else "",
        "takes": [_parameter(p, context) for p in built.params],
        "below": [n for n in every_line() if n.rpartition(" ")[0] == name],
        "text": context.get_help(),
    }


def _parameter(parameter: Any, context: Any) -> dict[str, Any]:
    """An argument or an option, as the help says it."""
    named = [*parameter.opts, *parameter.secondary_opts]
    option = parameter.param_type_name == "option"
    takes_value = not (option and (parameter.is_flag or parameter.count))
    return {
        "names": named if option else [],
        "value": parameter.make_metavar(context) if takes_value else None,
        "says": parameter.help or "",
        "required": parameter.required,
        "repeated": bool(parameter.multiple if option else parameter.nargs != 1),
    }


ONCE = "give it once: only one of them can count"
"""How an option is mended that says two things."""

_GIVEN = frozenset({"COMMANDLINE", "ENVIRONMENT"})


def _named(asked: Sequence[str]) -> str:
    """The command a line names; an empty text for none, as where help is asked of all."""
    words = iter(asked)
    for word in words:
        if word in VALUED:
            next(words, None)
        elif word in HELP["help_option_names"]:
            return ""
        elif not word.startswith("-"):
            return word
    return ""


_KNOWN = frozenset({"", *COMMANDS})


def _told(act: Command) -> dict[str, Any]:
    return {
        "short_help": act.briefly,
        "epilog": f"Example: {act.example}",
        "context_settings": dict(HELP),
    }


def start(
    context: typer.Context,
    json: Json = False,
    on: On = "",
    as_of: AsOf = "",
    ledger: Ledger = "",
    version: Annotated[bool, Flag("Print the version; so does -V.")] = False,
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
    from tankbook.cli import board

    if as_of:
        from tankbook.cli.heads import with_heads

        return with_heads(lambda asked, _: board.board(asked), context.obj, {})
    return board.board(context.obj)
