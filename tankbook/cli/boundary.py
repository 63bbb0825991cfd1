"""The one place where errors end: every way a command can fail becomes a line and an exit code."""

from __future__ import annotations

import errno
import os
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress

from tankbook.cli.answer import (
    INTERRUPTED,
    NOT_UNDERSTOOD,
    OUR_FAULT,
    Answer,
    RequestError,
    Unanswered,
    as_data,
)
from tankbook.output.screen import one_line, safe

RULE = "-" * 72


def run(argv: Sequence[str]) -> int:
    """Run a command line and return its exit code. Raises nothing."""
    try:
        return _write(_answer(argv))
    except KeyboardInterrupt:
        _say("tankbook: stopped")
        return INTERRUPTED
    except (BrokenPipeError, SystemExit):  # typer exits by itself only when a pipe is closed
        return _pipe_closed()
    except Unanswered as no:
        return _write(no.answer)
    except Exception as error:
        return _refused(error, argv)


def _answer(argv: Sequence[str]) -> Answer:
    from tankbook.cli.app import command

    line = spelled(argv)
    if _asks_help_as_json(line):
        from tankbook.cli.app import help_data

        return as_data(help_data(line))
    found = command(line).main(args=line, prog_name="tankbook", standalone_mode=False)
    return found if isinstance(found, Answer) else Answer("", found or 0)


def spelled(argv: Sequence[str]) -> list[str]:
    """A line as the parser knows it: `help due` is `due --help`, `-V` is `--version`."""
    line = list(argv)
    if line[:2] == ["--json", "help"]:
        line = ["help", "--json", *line[2:]]
    if line[:2] == ["help", "help"]:  # help is no command: all of them are told
        line = line[1:]
    if line[:1] == ["help"]:
        _one_command(line[1:])
        return [*line[1:], "--help"]
    return ["--version", *line[1:]] if line[:1] == ["-V"] else line


def _asks_help_as_json(line: Sequence[str]) -> bool:
    """Whether a line asks for help, and for JSON."""
    asked = line[: line.index("--")] if "--" in line else line
    return "--json" in asked and ("--help" in asked or "-h" in asked)


def _one_command(line: Sequence[str]) -> None:
    """See that help is asked of one command: of a second nothing would be said.

    Raises:
        RequestError: more words are behind it.
    """
    from tankbook.cli.commands import COMMANDS

    below, named = COMMANDS, list[str]()
    words = [word for word in line if not word.startswith("-")]
    for word in words:
        if named and not below:
            wrong = f"help is of one command, and `{word}` stands behind `{' '.join(named)}`"
            other = word if word in COMMANDS else " ".join(named)
            raise RequestError(wrong, f"ask for one: `tankbook help {other}`")
        if word not in below:
            return  # told by whoever parses it
        named.append(word)
        below = below[word].below


def _write(answer: Answer) -> int:
    """Text goes out as UTF-8 where it can; an ascii terminal gets escapes, not a failure."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")
    raw = getattr(sys.stdout, "buffer", None) if answer.utf8 else None
    if raw is not None:
        raw.write(safe(answer.text).encode("utf-8", "backslashreplace"))
    else:  # text, or a stream of text that a caller put in the place of standard output
        sys.stdout.write(safe(answer.text))
    sys.stdout.flush()
    if answer.out is not None:
        answer.out()
    for note in answer.notes:
        _say(note)
    return answer.code


def _pipe_closed() -> int:
    """Whoever read us (`head`) has had enough: nothing is wrong, and nothing is said."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    return 0


def _refused(error: Exception, argv: Sequence[str]) -> int:
    line = _line_for(error)
    if line is None:
        _as_json(argv, "a fault of the program; standard error has the report", "", OUR_FAULT)
        _say(report(error, argv))
        return OUR_FAULT
    if line:
        mend = getattr(error, "mend", "")
        # all that the line says, its subject too: a program has nothing else to know it by
        wrong = line.removesuffix(f"; {mend}") if mend else line
        _as_json(argv, one_line(wrong), mend, NOT_UNDERSTOOD)
        _say(f"tankbook: {one_line(line)}")
        return NOT_UNDERSTOOD
    return INTERRUPTED


def _as_json(argv: Sequence[str], text: str, mend: object, code: int) -> None:
    """The refusal on standard output as well, for a program that asked for JSON."""
    line = list(argv)
    if "--json" not in line[: line.index("--") if "--" in line else None]:
        return
    from tankbook.output.as_json import dumps

    said = {"text": text, "mend": one_line(str(mend)) if mend else None, "code": code}
    with suppress(OSError):  # nobody is listening; the exit code still tells
        _write(Answer(dumps({"error": said}), utf8=True))


def _line_for(error: Exception) -> str | None:
    """The line for people, empty for a stop at the keyboard, None for a fault of ours."""
    import typer

    from tankbook.gas import GasError
    from tankbook.ledger.errors import LedgerError
    from tankbook.units import UnitError

    if isinstance(error, typer.Abort):
        return ""
    if isinstance(error, typer.TyperException):
        return _usage(error)
    if isinstance(error, LedgerError | RequestError):
        return str(error)
    if isinstance(error, UnitError | GasError):
        return f"{error}; {error.mend}" if error.mend else str(error)
    if isinstance(error, OSError):  # the disk, the working folder, a full output: never ours
        said = error.strerror or errno.errorcode.get(error.errno or 0, type(error).__name__)
        return f"{error.filename or 'the system refuses'}: {said}"
    return None


def _usage(error: Exception) -> str:
    """A usage error on one line, with the help that lists what is known."""
    said = str(getattr(error, "format_message", error.__str__)())
    said = " ".join(said.split()).rstrip(".").replace(". Did you mean", "; did you mean")
    context = getattr(error, "ctx", None)
    path = getattr(context, "command_path", "tankbook")
    join = " " if said.endswith("?") else "; "
    return f"{said[:1].lower()}{said[1:]}{join}`{path} --help` lists what it takes"


def report(error: Exception, argv: Sequence[str]) -> str:
    """A block ready to paste into a report: versions, the command, the traceback."""
    import platform
    import shlex
    from importlib.metadata import version

    from tankbook import __version__

    trace = "".join(traceback.format_exception(error)).rstrip()
    return "\n".join(
        [
            "tankbook: this is a fault of the program, not of your records. Please report what is",
            "between the lines; read it first, as it may hold names from your files.",
            RULE,
            f"tankbook {__version__}, Python {platform.python_version()}, "
            f"typer {version('typer')}, {platform.platform()}",
            f"command: tankbook {shlex.join(argv)}",
            trace,
            RULE,
        ]
    )


def _say(line: str) -> None:
    from tankbook.cli import keys  # an answer without a note does without

    try:
        print(keys.fitted(safe(line)), file=sys.stderr)
    except OSError:  # nobody is listening; the exit code still tells
        return
