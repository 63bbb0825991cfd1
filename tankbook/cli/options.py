"""The options every command shares, and how a declared option becomes one of the parser's."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable
from functools import wraps
from typing import Annotated, Any, get_args, get_origin

import typer
from msgspec import Struct

from tankbook.acts.options import Arg, Flag, Opt

Json = Annotated[bool, Flag("Answer as JSON; docs/json.md has the shapes.")]
Csv = Annotated[bool, Flag("Answer as CSV for a spreadsheet; docs/reports.md says how.")]
On = Annotated[
    str, Opt("DATE", "Answer as on this day (2026-11-25); records of later days are ignored.")
]
AsOf = Annotated[
    str,
    Opt(
        "DATE|REV",
        "Answer from the ledger as git had it then: at the end of a day, or at a commit.",
    ),
]
Ledger = Annotated[
    str,
    Opt("DIR", "The ledger's folder; else that of TANKBOOK_LEDGER, or the nearest one upward."),
]

NAMES_A_PATH = {"FILE": "file", "DIR": "folder"}
"""What the value of an option is that the help calls so."""


class Common(Struct, frozen=True):
    """The shared options as given, before or after the command's name."""

    json: bool = False
    on: str = ""
    ledger: str = ""
    as_of: str = ""


def common(context: typer.Context, json: bool, on: str, ledger: str, as_of: str = "") -> Common:
    """A command's own options, and for what it lacks those given before its name."""
    before = context.obj if isinstance(context.obj, Common) else Common()
    return Common(
        json or before.json,
        _one("--on", before.on, on),
        _one("--ledger", before.ledger, ledger),
        _one("--as-of", before.as_of, as_of),
    )


def _one(option: str, before: str, behind: str) -> str:
    """What an option says that may stand before the command's name or behind it.

    Raises:
        RequestError: it says two things.
    """
    if before and behind and before != behind:
        from tankbook.cli.answer import RequestError

        raise RequestError(f"{option} is given twice", "give it once: only one of them can count")
    return behind or before


def declared(function: Callable[..., Any]) -> Callable[..., Any]:
    """A command as the parser reads it.

    A function that begins with a `book`, a `bench` or what was `given` records an act; one that
    begins with what was `asked` answers from the ledger, of today or of a past day. Any other says
    all of its options itself.
    """
    begins = next(iter(inspect.signature(function).parameters))
    if begins in {"book", "bench", "given"}:
        from tankbook.cli.recording import recorded

        return recorded(function)
    own = list(signature_of(function).parameters.values())
    shared = list(signature_of(_shared).parameters.values())
    names = {p.name for p in shared}

    @wraps(function)
    def command(**options: Any) -> Any:
        if begins != "asked":
            return function(**options)
        context: typer.Context = options.pop("context")
        context.obj = asked = common(context, **{name: options.pop(name) for name in names})
        if context.invoked_subcommand:
            return None
        if not asked.as_of or function.__name__ in ASK_THEMSELVES:
            return function(asked, **options)
        from tankbook.cli.heads import with_heads

        return with_heads(lambda of, again: function(of, **again), asked, options)

    if begins == "asked":
        context = inspect.Parameter("context", _KEYWORD, annotation=typer.Context)
        own = [context, *(p.replace(kind=_KEYWORD) for p in own[1:]), *shared]
    return taking(command, map(read_by_parser, own))


ASK_THEMSELVES = frozenset({"may_fill"})
"""Commands that ask every head of a day themselves."""

_KEYWORD = inspect.Parameter.KEYWORD_ONLY
_BEGINS = frozenset({"book", "bench", "given", "asked"})
"""What a function begins with that the parser does not ask for."""


def _shared(*, json: Json = False, on: On = "", as_of: AsOf = "", ledger: Ledger = "") -> None:
    """The options of every command that answers."""


def signature_of(function: Callable[..., Any]) -> inspect.Signature:
    """What a function takes, the annotations read of all that is asked for."""
    found = inspect.signature(function)
    known = inspect.unwrap(function).__globals__
    read = [
        p.replace(annotation=eval(p.annotation, known))
        if isinstance(p.annotation, str) and p.name not in _BEGINS
        else p
        for p in found.parameters.values()
    ]
    return inspect.Signature(read)


def taking(function: Any, parameters: Iterable[inspect.Parameter]) -> Callable[..., Any]:
    """A function that is said to take these, for the parser to read."""
    function.__signature__ = inspect.Signature(list(parameters))
    function.__annotations__ = {
        name: p.annotation for name, p in function.__signature__.parameters.items()
    }
    found: Callable[..., Any] = function
    return found


def marker_of(parameter: inspect.Parameter) -> Opt | Arg | Flag | None:
    """How a parameter is asked for; None where it is not."""
    for said in getattr(parameter.annotation, "__metadata__", ()):
        if isinstance(said, Opt | Arg | Flag):
            return said
    return None


def name_of(parameter: inspect.Parameter) -> str:
    """How an option is typed; of an argument, what the help calls it."""
    said = marker_of(parameter)
    if isinstance(said, Arg):
        return said.metavar
    return (said.name if said else "") or f"--{parameter.name.strip('_').replace('_', '-')}"


def read_by_parser(parameter: inspect.Parameter) -> inspect.Parameter:
    """A parameter with its declaration in the parser's words."""
    said, default = marker_of(parameter), parameter.default
    if said is None:
        return parameter
    kind = get_args(parameter.annotation)[0]
    if isinstance(said, Arg):
        read = typer.Argument(metavar=said.metavar or None, help=said.says, show_default=False)
    elif isinstance(said, Flag):
        # one that may be neither said nor denied is not shown as denied
        read = typer.Option(name_of(parameter), help=said.says, show_default=kind is bool)
    else:
        shown = bool(default) and default is not inspect.Parameter.empty
        read = typer.Option(
            name_of(parameter), metavar=said.metavar or None, help=said.says, show_default=shown,
            min=said.least,
        )  # fmt: skip
    return parameter.replace(annotation=Annotated[kind, read])


def is_many(kind: Any) -> bool:
    """Whether an option of this type may be given again."""
    return isinstance(get_origin(kind), type) and issubclass(get_origin(kind), Iterable)
