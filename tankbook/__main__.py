"""The way in. Kept free of imports so that `tankbook --version` answers at once."""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command line (that of the process if None) and return its exit code."""
    if argv is None:
        gc.disable()  # one answer and the process ends: looking for garbage only costs time
    arguments = list(sys.argv[1:] if argv is None else argv)
    if arguments in (["--version"], ["-V"]):
        from tankbook import __version__

        print(f"tankbook {__version__}")
        return 0
    if arguments[:1] == ["__complete"]:
        from tankbook.cli.completing import complete

        return complete(arguments[1:])
    from tankbook.cli.boundary import run

    return run(arguments)


if __name__ == "__main__":
    sys.exit(main())
