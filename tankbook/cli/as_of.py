"""`--as-of` beside the `--on` of every command that answers."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import wraps
from typing import Annotated, Any

import typer

from tankbook.acts.options import Opt
from tankbook.cli.options import Common, On, common, signature_of, taking

AsOf = Annotated[
    str,
    Opt(
        "DATE|REV",
        "Answer from the ledger as git had it then: at the end of a day, or at a commit.",
    ),
]

ASK_THEMSELVES = frozenset({"may_fill"})
"""Commands that ask every head of a day themselves."""


def with_as_of(function: Callable[..., Any]) -> Callable[..., Any]:
    """A command with `--as-of` after its `--on`; one without `--on` stays as it is.

    It is told with the options given before the command's name, so that no command has to take it.
    """
    listed = list(signature_of(function).parameters.values())
    place = next((i for i, p in enumerate(listed, 1) if p.annotation == On), None)
    if place is None or any(p.annotation == AsOf for p in listed):
        return function

    @wraps(function)
    def asked(*, as_of: str = "", **options: Any) -> Any:
        context: typer.Context = options["context"]
        before = context.obj if isinstance(context.obj, Common) else Common()
        context.obj = given = replace(before, as_of=as_of or before.as_of)
        if not given.as_of or function.__name__ in ASK_THEMSELVES:
            return function(**options)
        from tankbook.cli.heads import with_heads

        def answer(shared: Common, options: Mapping[str, Any]) -> Any:
            context.obj = shared
            return function(**{**options, "on": shared.on})

        said = (options.get("json", False), options.get("on", ""), options.get("ledger", ""))
        return with_heads(answer, common(context, *said), options)

    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    listed.insert(place, inspect.Parameter("as_of", kind, default="", annotation=AsOf))
    return taking(asked, listed)
