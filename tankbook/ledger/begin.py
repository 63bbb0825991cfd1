"""Beginning a ledger: its settings, a station to fill in, its folders, and what git must know."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from msgspec import Struct

from tankbook.gas.depth import USUAL_LIMIT
from tankbook.ledger import atomic, shipped
from tankbook.ledger.errors import LedgerError, first_fault, from_os
from tankbook.ledger.files import FORMAT
from tankbook.ledger.modelines import SCHEMAS, with_modeline
from tankbook.ledger.names import SETTINGS_FILE, STATION_FILE, tops
from tankbook.ledger.ordinary import ordinary
from tankbook.ledger.splice import SpliceValue, flow, scalar
from tankbook.ledger.text import RECORD_LIMIT
from tankbook.records.settings import RiskAssessed
from tankbook.records.words import Shore
from tankbook.units import GaugePressure, Money, Volume

FOLDERS = ("cylinders", "sets", "checklists", "fills", "rules")

GITATTRIBUTES = """\
# The fill log is appended to by several people: git joins their lines.
fills/*.csv text eol=lf merge=union
"""

GITIGNORE = """\
# Names and telephone numbers stay on this computer.
contacts.csv
# Locks and unfinished writes.
.tankbook/
.*.tmp
"""

EXAMPLES = {
    Shore.PSI: {"ambient": "70 degF", "bank": "5000 psi", "reading": "4400 psi"},
    Shore.BAR: {"ambient": "20 degC", "bank": "345 bar", "reading": "300 bar"},
}
AIR_STANDARDS = {"uk": "hse-divers-air", "de": "en-12021-2014", "eu-adr": "en-12021-2014"}
"""The standard that the example of an air test names, by the rules that are followed, where it is
not that of North America."""


_GITS = ("HEAD", "objects", "refs")
"""What lies in a bare repository, and in the `.git` of any other (gitrepository-layout)."""


class BegunBank(Struct, frozen=True):
    """A bank of air that a station begins with: its label, water volume and marked pressure."""

    name: str
    water_volume: Volume
    working_pressure: GaugePressure


class BegunBooster(Struct, frozen=True):
    """A booster that a station begins with: its label, what it takes from, how high it fills."""

    name: str
    takes_from: tuple[str, ...] = ()
    max_pressure: GaugePressure | None = None


class Begun(Struct, frozen=True):
    """What a ledger begins with.

    Attributes:
        name: what it is called.
        units: what its gauges read in.
        rules: its rule sets.
        station: whether there is a fill station.
        by: initials of whoever signs where nobody else is said; empty for nobody.
        risk: the written risk assessment that the UK's rules ask for, where there is one.
        git: whether it is kept under git from its first minute, each act a commit.
        banks: the banks of its station.
        compressor: the label of its compressor; empty for none.
        boosters: the boosters of its station.
        people: initials of whoever else signs.
        prices: the price of each test or job, by what it is called in the settings.
        schemas: the schemas by which an editor checks its files, by their names; none for none.
    """

    name: str
    units: Shore
    rules: tuple[str, ...]
    station: bool = True
    by: str = ""
    risk: RiskAssessed | None = None
    git: bool = False
    banks: tuple[BegunBank, ...] = ()
    compressor: str = ""
    boosters: tuple[BegunBooster, ...] = ()
    people: tuple[str, ...] = ()
    prices: tuple[tuple[str, Money], ...] = ()
    schemas: Mapping[str, bytes] = {}


class Ungit(Struct, frozen=True):
    """Why no act of a new ledger is a commit.

    Attributes:
        why: it in words.
        first: what is to be done before git can keep it, as lines of a shell or words.
        inside: whether it lies in another repository.
    """

    why: str
    first: tuple[str, ...] = ()
    inside: bool = False


class _Unwritten(Struct, frozen=True):
    """The files of a ledger before they are written, as whoever reads a ledger asks for them."""

    texts: dict[str, str]
    name: str = ""

    def names(self, folder: str) -> list[str]:
        return sorted(p.split("/")[1] for p in self.texts if p.startswith(f"{folder}/"))

    def folders(self, folder: str) -> list[str]:
        return []

    def in_way(self, folder: str) -> LedgerError | None:
        return None

    def exists(self, path: str) -> bool:
        return path in self.texts

    def read(self, path: str) -> bytes:
        return self.texts[path].encode()


def _refuse_faults(files: dict[str, str]) -> None:
    """See that what is to be written reads back: no ledger begins with a fault."""
    from tankbook.ledger.load import read_from

    fault = first_fault(read_from(_Unwritten(files)).findings)
    if fault is not None:
        mend = "say it otherwise; nothing was written"
        raise LedgerError("what was asked for cannot be kept", fault.text, mend)


def _refuse_gits_own(root: Path) -> None:
    """See that git does not keep its own files in a folder: in a bare repository nobody works."""
    where = root.resolve()
    if any(all((p / each).exists() for each in _GITS) for p in (where, *where.parents)):
        mend = "clone it and begin the ledger in the clone, or choose another folder"
        raise LedgerError(str(root), "git keeps its own files there", mend)


def in_the_way(root: Path) -> None:
    """See that a ledger can be begun in a folder.

    Raises:
        LedgerError: one is there already, it is no folder, or git keeps its own files there.
    """
    _refuse_gits_own(root)
    if os.path.lexists(root / SETTINGS_FILE):
        raise LedgerError(str(root / SETTINGS_FILE), "it is there already", "choose another folder")
    if os.path.lexists(root) and not root.is_dir():
        raise LedgerError(str(root), "it is no folder", "choose another name")


def begin(root: Path, of: Begun) -> tuple[str, ...]:
    """Write a new ledger in `root` and return what was written, folders ending in a slash.

    Nothing is written when any of its files is there already, but for what a beginning that was cut
    off left: the settings come last, and without them nothing is a ledger.

    Raises:
        LedgerError: a file of a ledger is there, or the disk refuses.
    """
    _refuse_gits_own(root)
    files = _files(of)
    _refuse_faults(files)
    there = [each for each, text in files.items() if _is_in_way(root / each, text)]
    folders = (*FOLDERS, *((SCHEMAS,) if of.schemas else ()))
    there += [f for f in folders if os.path.lexists(root / f) and not (root / f).is_dir()]
    if there:
        mend = "nothing was written; move it away, or choose another folder"
        raise LedgerError(str(root / there[0]), "it is there already", mend)
    try:
        for folder in folders:
            atomic.make_folder(root / folder)
        for each, text in sorted(files.items(), key=lambda file: file[0] == SETTINGS_FILE):
            if each == SETTINGS_FILE:
                for place in sorted({(root / file).parent for file in files}):
                    atomic.sync_folder(place)
            atomic.swap(root / each, text.encode())
        atomic.sync_folder(root)
        with suppress(OSError):  # a folder above that may not be read was made by somebody else
            atomic.sync_folder(root.resolve().parent)
    except OSError as error:
        raise from_os(str(error.filename or root), error) from error
    return (*files, *(f"{folder}/" for folder in folders))


def _is_in_way(file: Path, text: str) -> bool:
    """Whether a file is there, and is not one that was to be written."""
    if not os.path.lexists(file):
        return False
    try:
        return file.name == SETTINGS_FILE or (
            ordinary(file, file.name, RECORD_LIMIT, links=False) != text.encode()
        )
    except (OSError, LedgerError):
        return True


def ungit(root: Path, by: str) -> Ungit | None:
    """Why a ledger to come is not put under git unless it is asked for; None where it is.

    What lies in the repository of something else is not committed there unasked.
    """
    from tankbook.ledger import commit

    inside = next(tops(root), None)
    if inside is not None:
        why = f"it lies in the repository of {inside[0]}, and --git was not given"
        return Ungit(why, inside=True)
    where = root.resolve()
    known = commit.is_known(next(each for each in (where, *where.parents) if each.is_dir()))
    if isinstance(known, commit.Failed):
        return Ungit(known.why, ("install git",))
    if not known:
        who = by or "XX"
        mail = f"{who.lower()}@shop.invalid"
        said = ("user.name", who), ("user.email", mail)
        lines = tuple(f"`git config --global {key} {value}`" for key, value in said)
        return Ungit("git does not know who commits", lines)
    return None


def under_git(root: Path, written: Sequence[str]) -> str:
    """Put a new ledger under git, with what was written as its first commit.

    Returns:
        What is to be done still, in words; empty where all went well.
    """
    from tankbook.ledger import commit

    inside = next(tops(root), None)
    if inside is not None:
        return f"it lies in the repository of {inside[0]}; in {root}: {_first('.')}"
    made = commit.new_repository(root)
    if isinstance(made, commit.Failed):
        return f"it is not under git: {made.why}; in {root}: `git init`, {_first()}"
    left = f"its first commit is left; in {root}: {{}}; then {_first()}"
    if refused := commit.refusal_of(root):
        return left.format(refused)
    files = [each for each in written if not each.endswith("/")]
    first = commit.commit(root, files, "Begin the ledger\n")
    if isinstance(first, commit.Failed):
        return left.format(first.why)
    return ""


def _first(only: str = "") -> str:
    """How the first commit is made by hand; `only` what is named, whatever else is staged."""
    return f'`git add .` and `git commit -m "Begin the ledger"{only and f" {only}"}`'


def _files(of: Begun) -> dict[str, str]:
    said = {"name": _quoted(of.name), "format": FORMAT, "units": of.units}
    said |= {"rules": ", ".join(of.rules)}
    said["oxygen"] = str(USUAL_LIMIT["psi" if "us-dot" in of.rules else "bar"])
    settings = shipped.beginning("tankbook").format(**said, **EXAMPLES[of.units])
    settings += "" if of.risk else "".join(shipped.beginning(f"asked/{r}") for r in of.rules)
    files = {SETTINGS_FILE: settings + _of_people(of)}
    if of.station:
        standards = (AIR_STANDARDS[rules] for rules in of.rules if rules in AIR_STANDARDS)
        standard = next(standards, "cga-grade-e")
        blank = shipped.beginning("station").format(standard=standard, **EXAMPLES[of.units])
        files[STATION_FILE] = blank + _of_station(of)
    files["checklists/before-hand-over.yaml"] = shipped.beginning("before-hand-over")
    schemas = {f"{SCHEMAS}/{name}": data for name, data in of.schemas.items()}
    return {
        **{path: with_modeline(path, text, schemas.get) for path, text in files.items()},
        ".gitattributes": GITATTRIBUTES,
        ".gitignore": GITIGNORE,
        **{path: data.decode() for path, data in schemas.items()},
    }


def _of_station(of: Begun) -> str:
    """Its banks, its compressor and its boosters."""
    lines = [""] if of.banks or of.compressor or of.boosters else []
    lines += ["banks:"] if of.banks else []
    for bank in of.banks:
        size = f"water_volume: {bank.water_volume}, working_pressure: {bank.working_pressure}"
        lines.append(f"  - {{name: {scalar(bank.name, in_flow=True, like='')}, {size}, gas: air}}")
    if of.compressor:
        lines.append(f"compressor: {{name: {scalar(of.compressor, in_flow=True, like='')}}}")
    lines += ["boosters:"] if of.boosters else []
    for each in of.boosters:
        said: dict[str, SpliceValue] = {"name": each.name}
        said |= {"from": list(each.takes_from)} if each.takes_from else {}
        said |= {"max_pressure": str(each.max_pressure)} if each.max_pressure else {}
        lines.append(f"  - {flow(said)}")
    return "".join(f"{line}\n" for line in lines)


def _of_people(of: Begun) -> str:
    """Who signs, what they decided, what tests cost, and whether each act is a commit."""
    people = dict.fromkeys(filter(None, (of.by, of.risk.by if of.risk else "", *of.people)))
    lines = ["", "people:", *(f"  {each}: {{}}" for each in people)] if people else []
    lines += [f"operator: {of.by}"] if of.by else []
    if of.risk:
        document = scalar(of.risk.document, in_flow=True, like='"')
        said = f"on: {of.risk.on}, by: {of.risk.by}, document: {document}"
        lines += [f"risk_assessed: {{{said}}}"]
    if of.prices:
        prices = ", ".join(
            f"{scalar(name, in_flow=True, like='')}: {price}" for name, price in of.prices
        )
        lines += ["", f"prices: {{{prices}}}"]
    if of.git:
        lines += ["", "# Each act is a commit that says what was done.", "commit: yes"]
    return "".join(f"{line}\n" for line in lines)


def named_well(name: str) -> str:
    """A name that a ledger may have.

    Raises:
        LedgerError: it is empty or holds a control character.
    """
    _quoted(name)
    return name


def _quoted(name: str) -> str:
    """A name that YAML reads back as written, whatever is in it.

    Raises:
        LedgerError: it is empty or holds a control character.
    """
    if not name.strip() or not name.isprintable():
        raise LedgerError("--name", "a ledger needs a name of one printable line", "name it")
    return scalar(name, in_flow=False, like='"')
