"""What a shell offers while a line is typed: `tankbook __complete SHELL PLACE WORDS...`, asked by
the scripts that `tankbook completion` prints.

It answers while somebody waits at the keyboard, so no record is read: ids are the names of files,
people and parts what the settings and the station say. What a shell would take for more than a word
(a blank, a quote, a `$(...)`) is offered to none. Nothing is ever told to be wrong here: where a
line cannot be completed, nothing is offered.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum
from pathlib import Path
from typing import Any, get_args

from tankbook.cli.commands import BY_WORK, COMMANDS, Command
from tankbook.units.patterns import pattern

FILES = ":files"
"""Said to a shell that is to offer files."""
PLAIN_WORD = pattern(r"[A-Za-z0-9@%+,./:=_-]*[A-Za-z0-9%_](?:#\d+)?")
"""What means itself in every shell, without quotes; a `#` is a sign only where a word begins."""
MOST = 5000
"""So many words are offered at most."""
SHELLS = ("bash", "zsh", "fish")

Offered = Iterator[tuple[str, str]]
"""Words with what is said of each; an empty text where nothing is."""


def complete(arguments: Sequence[str]) -> int:
    """Print what may stand in the place of a word: one a line, a tab and what it is. Always 0."""
    try:
        shell, place, *words = arguments
        typed = words[: int(place) + 1]
        found = offered(shell, _joined(typed) if shell == "bash" else typed)
        for word, said in found:
            print(f"{word}\t{said}" if said else word)
        sys.stdout.flush()
    except (ValueError, IndexError, OSError):
        return 0
    return 0


def _joined(words: Sequence[str]) -> list[str]:
    """Words joined where bash parts them, at `=`."""
    found: list[str] = []
    glued = False
    for word in words:
        if word == "=" and found:
            found[-1] += "="
            glued = True
        elif glued:
            found[-1] += word
            glued = False
        else:
            found.append(word)
    return found


def offered(shell: str, words: Sequence[str]) -> list[tuple[str, str]]:
    """What may stand in the place of the last word of a line, the program's name its first."""
    typed = words[-1].lstrip("\"'") if len(words) > 1 else ""
    before = list(words[1:-1])
    found, seen = [], set()
    for word, said in _joined_by_plus(_for(before, typed), typed):
        if word == FILES:
            return [(FILES, "")]
        if word in seen or not word.startswith(typed) or not PLAIN_WORD.fullmatch(word):
            continue
        seen.add(word)
        # bash puts in the place of what stands behind the sign
        found.append((word.rpartition("=")[2] if shell == "bash" and "=" in typed else word, said))
        if len(found) == MOST:
            break
    if not found and typed and "=" not in typed:
        found = list(_by_tail(_for(before, typed), typed))
    return found


def _joined_by_plus(offered: Offered, typed: str) -> Offered:
    """What may stand behind a `+` as well: another part beside those that stand before it."""
    option = re.match("--[a-z-]+=", typed)
    begun, plus, _ = typed[option.end() if option else 0 :].rpartition("+")
    sign = option[0] if option else ""
    for word, said in offered:
        bare = word.removeprefix(sign)
        if plus and said in _PARTS_JOINED and bare not in begun.split("+"):
            yield f"{sign}{begun}+{bare}", said
        yield word, said


_PARTS_JOINED = ("bank", "position", "whip", "adaptor")
"""What is named together: `B1+B2`, `P1+W1`."""


def _for(before: list[str], typed: str) -> Offered:
    """All that may stand there, whatever is typed of it yet."""
    line = _TypedLine(before)
    if line.command is None:
        if line.waits:
            yield from _valued(line.waits, line)
        elif typed.startswith("-"):
            yield from _GLOBAL.items()
        elif not line.strange:
            yield from _commands()
        return
    if line.asks_help and not line.rest:
        yield from _commands()
        return
    option, sign, _ = typed.partition("=")
    if sign and option.startswith("--"):
        yield from ((f"{option}={word}", said) for word, said in _valued(option, line))
    elif line.waits:
        yield from _valued(line.waits, line)
    elif typed.startswith("-"):
        yield from line.options()
    else:
        yield from ((n, c.briefly) for n, c in line.command.below.items() if not line.rest)
        yield from line.arguments()
        if not typed and line.takes_no_argument and not line.command.below:
            yield from line.options()


_GLOBAL = {
    "--json": "Answer as JSON.", "--on": "Answer as on this day.", "--as-of": "Answer from git.",
    "--ledger": "The ledger's folder.", "--version": "Print the version.",
    "--help": "Show the help.",
}  # fmt: skip
_BEFORE = ("--on", "--as-of", "--ledger")


def _commands() -> Offered:
    for listed in BY_WORK.values():
        for name, command in listed.items():
            yield name, command.briefly
    yield "help", "The help of a command."


class _TypedLine:
    """What a line says so far: its command, its ledger, the option that waits for a value, and the
    last word of the command."""

    def __init__(self, before: Sequence[str]) -> None:
        self.command: Command | None = None
        self.asks_help = self.strange = False
        self.waits, self.ledger, self.word = "", "", ""
        self.rest: list[str] = []
        self._parameters: list[Any] | None = None
        for word in before:
            self._take(word)

    def _take(self, word: str) -> None:
        if self.waits:
            if self.waits == "--ledger":
                self.ledger = word
            self.waits = ""
        elif word.startswith("-"):
            option, sign, value = word.partition("=")
            if option == "--ledger" and sign:
                self.ledger = value
            if not sign and self._has_value(option):
                self.waits = option
        elif self.command is None:
            if word == "help" and not self.asks_help:
                self.asks_help = True
                self.command = Command("", "", "", COMMANDS)
            else:
                self.command, self.strange = COMMANDS.get(word), word not in COMMANDS
                self.word = word
        elif not self.rest and word in self.command.below:
            self.command, self._parameters = self.command.below[word], None
            self.word = word
        else:
            self.rest.append(word)

    def _has_value(self, option: str) -> bool:
        if self.command is None:
            return option in _BEFORE
        found = self.parameter(option)
        return found is not None and not _is_flag(found)

    @property
    def parameters(self) -> list[Any]:
        """What the command takes."""
        from tankbook.cli.options import declared, signature_of

        if self._parameters is None:
            command = self.command
            found = signature_of(declared(command.function)) if command and command.where else None
            self._parameters = list(found.parameters.values()) if found else []
        return self._parameters

    def parameter(self, option: str) -> Any:
        """The parameter of an option; None where there is none."""
        return next((p for p in self.parameters if option in _names(p)), None)

    def options(self) -> Offered:
        """Every option, with what it says."""
        for each in self.parameters:
            for name in _names(each):
                yield name, _info(each).help or ""
        yield "--help", "Show the help."

    @property
    def takes_no_argument(self) -> bool:
        """Whether nothing but options may stand behind the command."""
        return bool(self.parameters) and not any(map(_is_argument, self.parameters))

    def arguments(self) -> Offered:
        """What may stand behind the command without a name, in its turn."""
        taken = [p for p in self.parameters if _is_argument(p)]
        if self.command is COMMANDS["correct"] and len(self.rest) < len(_TO_CORRECT):
            yield from _TO_CORRECT[len(self.rest)](self)
        elif taken:
            turn = taken[min(len(self.rest), len(taken) - 1)]
            yield from _of_kind(_info(turn).metavar or "", self, turn.name)


def _info(parameter: Any) -> Any:
    """What the parser reads of a parameter."""
    return next((m for m in get_args(parameter.annotation)[1:] if hasattr(m, "metavar")), None)


def _names(parameter: Any) -> list[str]:
    info = _info(parameter)
    declared = getattr(info, "param_decls", None) or ()
    named = [*declared, *filter(lambda d: isinstance(d, str), [getattr(info, "default", "")])]
    return [part for name in named if name.startswith("-") for part in name.split("/")]


def _is_argument(parameter: Any) -> bool:
    return type(_info(parameter)).__name__ == "ArgumentInfo"


def _is_flag(parameter: Any) -> bool:
    kind = get_args(parameter.annotation)[0]
    return bool in (kind, *get_args(kind))


def _valued(option: str, line: _TypedLine) -> Offered:
    """The values of an option."""
    if line.command is None:
        yield from _of_kind({"--ledger": "DIR"}.get(option, "DATE"), line)
        return
    found = line.parameter(option)
    if found is None:
        return
    if option == "--held":
        yield from ((day, "") for day in _open_holds(line))
        return
    for kind in _kinds(get_args(found.annotation)[0]):
        if isinstance(kind, type) and issubclass(kind, StrEnum):
            yield from ((word.value, "") for word in kind)
    of_kind = _of_kind(_info(found).metavar or "", line, found.name)
    yield from (each for each in of_kind if not each[0].startswith("-"))  # would be an option


def _kinds(kind: Any) -> Iterator[Any]:
    yield kind
    for each in get_args(kind):
        yield from _kinds(each)


def _of_kind(metavar: str, line: _TypedLine, parameter: str = "") -> Offered:
    """What a value may be, by what the help calls it and how the parameter is called."""
    from tankbook.records.rulerow import Obligation
    from tankbook.records.words import Outlet, Use

    sets = {"USE": Use, "OUTLET": Outlet}
    bare = metavar.strip("[]{}").partition("=")[0].strip("[]{}")
    if metavar in ("FILE", "DIR"):
        yield FILES, ""
    elif metavar in sets:
        yield from ((word.value, "") for word in sets[metavar])
    elif bare in ("ID", "SET"):
        yield from _ids(line)
    elif metavar == "GAS":
        yield from _gases(line)
    elif metavar == "REFERENCE" and line.word in ("rent", "hand-over"):
        yield from _bookings(line)
    elif metavar in ("XX", "INITIALS"):
        yield from _people(line, gone=metavar == "INITIALS")
    elif bare in _LISTS_OF:
        yield from _parts(line, *_LISTS_OF[bare])
    elif bare == "NAME":
        yield from _named(parameter, line)
    elif bare == "KIND" and line.word == "schema":
        yield from _files_of_schemas()
    elif metavar == "DATE":
        yield "today", ""
    elif metavar == "RULES":
        yield from ((name, "") for name in _rule_sets())
    elif metavar == "CODE":
        yield from _codes()
    elif metavar == "QUESTION":
        yield from ((word.value, "") for word in Obligation)
    elif re.fullmatch(r"[a-z0-9-]+(\|[a-z0-9-]+)+", bare):
        yield from ((word, "") for word in bare.split("|"))


# --- what the ledger has


def _root(line: _TypedLine) -> Path | None:
    from tankbook.cli.open_ledger import root_asked
    from tankbook.cli.options import Common

    try:
        return root_asked(Common(ledger=line.ledger))
    except Exception:  # where there is none, none of its words are offered
        return None


def _rule_sets() -> list[str]:
    """The rule sets by which a ledger is begun."""
    from tankbook.ledger import shipped

    return [name for name in shipped.rule_set_names() if name not in shipped.EVERYWHERE]


def _codes() -> Offered:
    """What `explain` knows by one word."""
    from tankbook.ledger import shipped
    from tankbook.output.explained import every

    rows = {r.id: r for name in shipped.rule_set_names() for r in shipped.rule_set(name).every_row}
    for each in every(shipped.explained(), rows):
        yield each.name, ""


def _files_of_schemas() -> Offered:
    from tankbook.output.schema import OF_FILE

    yield from ((name, "") for name in OF_FILE)


def _checklists(line: _TypedLine) -> Offered:
    """The checklists that are shipped, and the ledger's own."""
    from tankbook.ledger import shipped
    from tankbook.ledger.offered import checklists_in

    root = _root(line)
    names = (*shipped.checklists(), *(checklists_in(root) if root else ()))
    yield from ((name, "") for name in names)


def _by_tail(offered: Iterable[tuple[str, str]], typed: str) -> Offered:
    """The id that is meant by what was typed, or each that ends in it: a shell puts it in the place
    of the tail, or shows which there are."""
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.names import resolve_among

    ids = {word: said for word, said in offered if said in ("cylinder", "set")}
    try:
        yield resolve_among(list(ids), typed), ""
    except LedgerError:
        tail = typed.casefold()
        yield from (each for each in ids.items() if each[0].casefold().endswith(tail))


def _ids(line: _TypedLine) -> Offered:
    """The cylinders and sets, by the names of their files."""
    from tankbook.ledger.offered import ids_in

    root = _root(line)
    yield from ids_in(root) if root else ()


def _file(line: _TypedLine, name: str) -> dict[str, Any]:
    """What a file of the ledger says."""
    from tankbook.ledger.offered import said_in

    root = _root(line)
    return said_in(root, name) if root else {}


def _people(line: _TypedLine, *, gone: bool) -> Offered:
    """Who signs; those who are gone where the past is asked about."""
    people = _file(line, "tankbook.yaml").get("people")
    for initials, said in people.items() if isinstance(people, dict) else ():
        said = said if isinstance(said, dict) else {}
        role = said.get("role")
        if gone or "left" not in said:
            yield initials, role if isinstance(role, str) and role.isprintable() else ""


def _bookings(line: _TypedLine) -> Offered:
    """The references that are booked."""
    from tankbook.ledger.offered import bookings_in

    root = _root(line)
    yield from bookings_in(root) if root else ()


def _records(value: Any) -> Iterable[dict[str, Any]]:
    listed = value if isinstance(value, list) else [value]
    return (each for each in listed if isinstance(each, dict))


_PART_LISTS = (
    "banks compressor compressors boosters whips gauges positions filters relief_valves "
    "instruments upkeep schemes adaptors"
).split()


_PUMPS = ("compressor", "compressors")
_LISTS_OF = {
    "BANK": ("banks",), "B1+B2": ("banks", *_PUMPS), "SOURCE": ("banks", *_PUMPS),
    "P1+W1": ("positions", "whips", "adaptors"), "SCHEME": ("schemes",),
}  # fmt: skip
"""The lists of the station that a value is of, by what the help calls it."""
_NAMED = {
    "bank": ("banks",), "gauge": ("gauges",), "gauge-check": ("gauges",), "whip": ("whips",),
    "position": ("positions",), "relief": ("relief_valves",), "filter": ("filters",),
    "machine": (*_PUMPS, "boosters"), "compressor": (*_PUMPS, "boosters"),
    "upkeep": ("upkeep",), "bump": ("instruments",), "instrument": ("instruments",),
    "analyser": ("instruments",), "source": ("banks", *_PUMPS),
    "of": (*_PUMPS, "boosters", "banks"),
    "bank-test": _PART_LISTS, "reading": _PART_LISTS,
}  # fmt: skip
"""Those that a NAME is of, by its option, or by the command that takes it first."""


def _named(parameter: str, line: _TypedLine) -> Offered:
    """What a NAME may be; nothing where it is no part's, or of a part that is not there yet."""
    if parameter == "checklist":
        yield from _checklists(line)
    elif line.word != "init":
        yield from _parts(line, *_NAMED.get(line.word if parameter == "name" else parameter, ()))


def _parts(line: _TypedLine, *kinds: str) -> Offered:
    station = _file(line, "station.yaml")
    for kind in kinds:
        for part in _records(station.get(kind)):
            name = part.get("name")
            if isinstance(name, str):
                yield name, kind.rstrip("s").replace("_", " ")


# --- what may be struck out

_WHOLE_FILES = {"station": "station.yaml", "counter": "counter.yaml", "ledger": "tankbook.yaml"}
"""What is corrected beside cylinders and sets, and where it is kept."""


def _whose(line: _TypedLine) -> Offered:
    """What is corrected."""
    yield from _ids(line)
    yield from ((name, "") for name in _WHOLE_FILES)


def _meant_file(line: _TypedLine) -> tuple[str, str]:
    """The id that is corrected, and its file; empty texts where none is meant."""
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.names import resolve_among

    typed = line.rest[0]
    if typed in _WHOLE_FILES:
        return typed, _WHOLE_FILES[typed]
    ids = dict(_ids(line))
    try:
        id_ = resolve_among(list(ids), typed)
    except LedgerError:
        return "", ""
    return id_, f"{ids[id_]}s/{id_}.yaml"


def _lists(line: _TypedLine) -> dict[str, list[str]]:
    """The lists of entries that are in the file of what is corrected, and those of its parts
    (`B1.readings`), with the days of what stands in each."""
    _, path = _meant_file(line)
    said = _file(line, path) if path else {}
    found = {key: days for key, value in said.items() if (days := _days(value))}
    for part in (p for kind in _PART_LISTS for p in _records(said.get(kind))):
        name = part.get("name")
        if isinstance(name, str):
            found |= {f"{name}.{k}": days for k, v in part.items() if (days := _days(v))}
    return found


def _open_holds(line: _TypedLine) -> list[str]:
    """The days of the holds of the cylinder that is typed that were not let go yet."""
    _, path = _meant_file(line) if line.rest else ("", "")
    return _days(_file(line, path).get("held") if path else None, ended="released")


def _days(value: Any, ended: str = "void") -> list[str]:
    """The days of the entries of a list that are not struck out, nor ended; of several of a day
    each with its number, `2026-11-24#2`."""
    entries = _records(value) if isinstance(value, list) else ()
    dated = [(str(e.get("on") or e.get("out") or ""), e) for e in entries]
    of_day, seen, found = Counter(on for on, _ in dated), Counter[str](), list[str]()
    for on, entry in dated:
        seen[on] += 1
        if on and not {"void", ended} & set(entry):
            found.append(on if of_day[on] == 1 else f"{on}#{seen[on]}")
    return found


def _what(line: _TypedLine) -> Offered:
    """What of it may be corrected."""
    from tankbook.acts.correct_line import LOG_WORDS

    id_, _ = _meant_file(line)
    yield from ((name, f"{len(days)} in it") for name, days in _lists(line).items())
    if id_ not in ("", *_WHOLE_FILES):
        yield from ((word, "of the log") for word in sorted(LOG_WORDS))
        yield "note", "its own note"
    yield "removed", "what was taken out"


def _when(line: _TypedLine) -> Offered:
    """The days of what may be corrected; of the log, those on which it has a line of it."""
    from tankbook.acts.correct_line import LOG_WORDS
    from tankbook.ledger.offered import logged_days

    what, root = line.rest[1], _root(line)
    if what in LOG_WORDS and root:
        act = "" if what == "log" else what
        yield from ((day, "") for day in logged_days(root, _meant_file(line)[0], act))
    yield from ((day, "") for day in _lists(line).get(what, ()))


_TO_CORRECT = (_whose, _what, _when)
"""What `correct` takes, in its turn."""


def _gases(line: _TypedLine) -> Offered:
    for gas in ("air", "oxygen", "nitrox32", "nitrox36", "nitrox50", "trimix18/45", "trimix21/35"):
        yield gas, ""
    for bank in _records(_file(line, "station.yaml").get("banks")):
        held = bank.get("gas")
        if isinstance(held, str):
            yield held, "in a bank"
