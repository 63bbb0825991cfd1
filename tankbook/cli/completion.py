"""`tankbook completion`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Arg
from tankbook.cli.answer import Answer, RequestError, shown


def completion(
    shell: Annotated[str, Arg("bash|zsh|fish", "For which shell.")],
) -> Answer:
    """The lines by which a shell completes commands, options, ids, gases, banks and people.

    They go into the start file of the shell: source <(tankbook completion bash), the same of zsh,
    tankbook completion fish | source.
    """
    from tankbook.cli.completing import SHELLS
    from tankbook.ledger import shipped

    if shell not in SHELLS:
        raise RequestError(
            f"{shown(shell)} is no shell that is known", f"known: {', '.join(SHELLS)}"
        )
    return Answer(shipped.text_of(f"shell/completion.{shell}"), utf8=True)
