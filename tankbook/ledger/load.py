"""Reading all of a ledger into a book."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.ledger import shipped, strays
from tankbook.ledger.comments import comments_of
from tankbook.ledger.csvlog import read_rows, read_table
from tankbook.ledger.cut_values import cut_values
from tankbook.ledger.errors import LedgerError, first_fault, of_finding
from tankbook.ledger.files import Files, OnDisk, refuse_newer
from tankbook.ledger.lock import Tell, nobody
from tankbook.ledger.names import (
    ENDINGS,
    SETTINGS_FILE,
    STATION_FILE,
    is_safe_id,
    raise_misspelt,
    resolve_among,
    spread_range,
)
from tankbook.ledger.ordinary import TooLarge
from tankbook.ledger.quick import Later, plain
from tankbook.ledger.text import BOM, printable, read_text
from tankbook.ledger.whole import pending_in, whole
from tankbook.records.audited import AUDITED_PATH, Audited
from tankbook.records.book import Book, Comment
from tankbook.records.checklist import Checklist
from tankbook.records.counter import COUNTER_FILE, CounterFile
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import NodeReader, Record, read
from tankbook.records.log import NEWER, Booking, Log, LogLine, columns, read_line, read_log
from tankbook.records.node import Finding, Node, Severity, Where
from tankbook.records.quick import quick_read
from tankbook.records.rulerow import RuleSet
from tankbook.records.settings import Settings
from tankbook.records.sheet import Sheet
from tankbook.records.station import Station, certificates_of
from tankbook.records.words import Shore
from tankbook.units.patterns import pattern

R = TypeVar("R", bound=Record)

_WORD = pattern(r"[A-Za-z0-9][A-Za-z0-9._-]*")
BOOKINGS_FILE = "bookings.csv"
_SINGLE = (SETTINGS_FILE, STATION_FILE, COUNTER_FILE, BOOKINGS_FILE, AUDITED_PATH)


def load(
    root: Path,
    *,
    today: dt.date | None = None,
    clock: dt.date | None = None,
    now: dt.datetime | None = None,
    tell: Tell = nobody,
) -> Book:
    """Read a whole ledger. Broken records are left out and named in the book's findings.

    Half an act is never seen: `ledger/whole.py` says how.

    Args:
        root: the ledger's folder.
        today: the day the ledger is asked about; what is dated later is left out.
        clock: today by the clock; what lies ahead of both is a fault.
        now: the moment it is asked, if on that day.
        tell: told of an interrupted act that was finished on the way.

    Raises:
        LedgerError: the settings cannot be read; nothing can be answered without them.
    """
    return whole(root, lambda files: load_from(files, today=today, clock=clock, now=now), tell)


def load_from(
    files: Files,
    *,
    today: dt.date | None = None,
    clock: dt.date | None = None,
    now: dt.datetime | None = None,
) -> Book:
    """As `load`, from wherever the files are."""
    book = read_from(files, clock=clock, now=now)
    broken = first_fault(f for f in book.findings if f.where.path == SETTINGS_FILE)
    if broken:
        raise of_finding(broken, broken.mend or "`tankbook validate` lists every fault")
    return book.as_known_on(today) if today else book


def read_from(
    files: Files, *, clock: dt.date | None = None, now: dt.datetime | None = None
) -> Book:
    """Read a whole ledger from wherever its files are, settings or not: what `validate` looks at.

    Raises:
        LedgerError: there is no settings file at all.
    """
    if not files.exists(SETTINGS_FILE):
        at = str(files.root) if isinstance(files, OnDisk) else files.name or "."  # as it was typed
        raise_misspelt(at, files.names(""))
        text = f"there is no {SETTINGS_FILE}"
        raise LedgerError(at, text, "make a ledger with `tankbook init DIR`")
    reading = _Reading(files)
    refuse_newer(files)
    settings = reading.record(Settings, SETTINGS_FILE)
    blocked = reading.folders_in_way()
    cylinders, broken = reading.folder(Cylinder, "cylinders")
    sets, broken_sets = reading.folder(Doubles, "sets")
    for id_ in cylinders.keys() & sets.keys():
        reading.fault(
            f"sets/{id_}.yaml", "id-clash", f"`{id_}` is a cylinder as well", "rename the set"
        )
        broken[id_] = tuple(reading.findings[-1:])
        del cylinders[id_], sets[id_]
    own_lists, broken_lists = reading.folder(Checklist, "checklists")
    own_rules, _ = reading.folder(RuleSet, "rules")
    own_sheets, _ = reading.folder(Sheet, "sheets")
    station = reading.record(Station, STATION_FILE) if files.exists(STATION_FILE) else None
    counter = reading.record(CounterFile, COUNTER_FILE) if files.exists(COUNTER_FILE) else None
    if files.exists(AUDITED_PATH):
        reading.record(Audited, AUDITED_PATH)  # what it says is proved where git is asked
    reading.look_alikes()
    renamed = _renamed(cylinders, sets)
    sets = {id_: _named_now(doubles, renamed) for id_, doubles in sets.items()}
    # those of the ledger's own may be the stricter ones
    lists = {} if "checklists" in blocked else {**shipped.checklists(), **own_lists}
    bookings = reading.lines(Booking, BOOKINGS_FILE) if files.exists(BOOKINGS_FILE) else ()
    return Book(
        settings=settings or Settings(ledger=files.name, units=Shore.PSI, rules=()),
        cylinders=cylinders,
        sets=sets,
        station=station,
        counter=counter,
        checklists={name: each for name, each in lists.items() if name not in broken_lists},
        log=reading.log().under(renamed),
        bookings=tuple(bookings),
        rule_sets=tuple(_rule_sets(settings, own_rules, reading)),
        sizes=shipped.sizes(),
        finding_rows=shipped.findings(),
        mark_words=shipped.mark_words(),
        sheets=own_sheets,
        findings=(*reading.findings, *reading.cut, *pending_in(files)),
        broken={**broken, **broken_sets},
        broken_sets={f: reading.words_of(f) for f in reading.unread_as("sets")},
        broken_cards={f: reading.text_of(f) for f in reading.unread_as("cylinders")},
        comments=reading.comments,
        papers=_papers(station, files),
        astray={f"{kind}/": tuple(reading.unread_as(kind)) for kind in strays.WIDE},
        clock=clock,
        now=now,
    )


def _papers(station: Station | None, files: Files) -> dict[str, str]:
    """The digests of the papers in the ledger that the station's entries name."""
    if station is None or not certificates_of(station):
        return {}
    from tankbook.ledger.papers import digests_of  # a ledger without papers is read without it

    return digests_of(station, files)


def _renamed(cylinders: Mapping[str, Cylinder], sets: Mapping[str, Doubles]) -> dict[str, str]:
    """The ids that cylinders and sets had before, each with the one that has it now. An id that is
    in use, or that two claim, is nobody's."""
    here = cylinders.keys() | sets.keys()
    cards: list[Cylinder | Doubles] = [*cylinders.values(), *sets.values()]
    claims = [(old, each.id) for each in cards for old in each.formerly]
    several = Counter(old for old, _ in claims)
    return {old: new for old, new in claims if old not in here and several[old] == 1}


def _named_now(doubles: Doubles, renamed: Mapping[str, str]) -> Doubles:
    """A set whose cylinders are named as they are called now."""
    sides = tuple(renamed.get(side, side) for side in doubles.cylinders)
    return doubles if sides == doubles.cylinders else replace(doubles, cylinders=sides)


def _rule_sets(
    settings: Settings | None, own: Mapping[str, RuleSet], reading: _Reading
) -> Iterator[RuleSet]:
    """Shipped sets first, the ledger's own last, so that its rows replace shipped ones."""
    for name in (*(settings.rules if settings else ()), *shipped.EVERYWHERE):
        if name in shipped.rule_set_names():
            yield shipped.rule_set(name)
        elif name not in own and settings:
            where = settings.source.at("rules")
            text = f"there is no rule set `{name}`"
            known = ", ".join(n for n in shipped.rule_set_names() if n not in shipped.EVERYWHERE)
            reading.findings.append(Finding(where, "unknown-rule-set", text, f"known: {known}"))
    yield from own.values()


_COPY = pattern(
    r"(?P<stem>[^.]+?)(?P<how> copy| - copy| \((?:copy|\d+)\)| [2-9])?(?P<ending>\.ya?ml|\.csv)"
    r"(?P<after>\.\w+|~)?",
    re.IGNORECASE,
)


_NAMED_AS = frozenset({*ENDINGS, *(folder.removesuffix("s") for folder in ENDINGS), "stations"})
"""What a file may be called that wanted to be a folder."""


def _really(name: str) -> str:
    """The record file that another is a copy of by its name, as editors make them; a copy that
    stands alone may be the record itself. Empty for any other name."""
    copy = _COPY.fullmatch(name)
    if copy is None:
        return ""
    ending = ".yaml" if copy["ending"].casefold() in _OF_YAML else copy["ending"]
    really = copy["stem"] + ending
    return really if really != name else ""


def _copied(name: str, names: Collection[str]) -> str:
    """The record beside a file that it is a copy of, or the older text, by its name; or empty."""
    really = _really(name)
    return really if really in names else strays.kept_of(name, names)


_OF_YAML = (".yml", ".yaml")


def _beside(name: str, names: Iterable[str]) -> str:
    """The record whose name stands in that of a file beside it: that is a copy of it, as shared
    disks and editors make them; or empty."""
    records = (n for n in names if n.endswith(".yaml") and n != name and not n.startswith("."))
    named = (n for n in records if _has_word(name, n.removesuffix(".yaml")))
    return max(named, key=len, default="")


def _has_word(text: str, word: str) -> bool:
    """Whether a text has a word in any case, with no letter or digit beside it."""
    before, found, after = text.casefold().partition(word.casefold())
    return bool(found) and not (before[-1:].isalnum() or after[:1].isalnum())


_KEPT = ("~", ".bak", ".orig", ".rej", ".old", ".save", ".tmp", ".swp", ".part")
"""How the names end that editors and merges keep an older file under."""

_A_FOLDER = "it is a folder, and named as a record is"
_DEEPEST = 8
"""How many folders within each other are looked into."""

_NO_RECORDS = frozenset({"contacts.csv", "audited.yaml"})
"""Files beside the folders that are read elsewhere."""


class _Reading(Struct):
    """Reads the files of one ledger and gathers what is wrong with them."""

    files: Files
    findings: list[Finding] = field(default_factory=list)
    cut: list[Finding] = field(default_factory=list)
    """What is told of values of records that are read all the same."""
    comments: dict[str, tuple[Comment, ...]] = field(default_factory=dict)
    """What is written behind comment signs, by the id of the card."""
    as_record: set[str] = field(default_factory=set)
    """Folders that are named as a record is, by their paths."""
    named_so: dict[str, str] = field(default_factory=dict)
    """What is told, by the path that it is told with: a name may hold what no screen shows."""
    kinds: dict[str, frozenset[str]] = field(default_factory=dict)
    """What each file at fault may be a record of, by the path that it is told with."""

    def unread_as(self, kind: str) -> list[str]:
        """The files that are at fault and may be records of a kind, which its folder names."""
        return [path for path in self.at_fault() if kind in self.kinds_of(path)]

    def at_fault(self) -> list[str]:
        """The files in the folders of records, or astray, that something is wrong with."""
        faults = (f for f in self.findings if f.severity is Severity.FAULT and f.code != "pending")
        found = {f.where.path for f in faults}
        return sorted(p for p in found if p not in _SINGLE)

    def kinds_of(self, path: str) -> frozenset[str]:
        """What a file at fault may be a record of: what its folder says, and what its text does.

        A card among the sets names no sides, and is a card alone.
        """
        if path not in self.kinds:
            found = strays.kinds_of(self.at_hand(path))
            top = path.partition("/")[0].casefold().removesuffix("s")
            name = path.partition(".")[0].casefold().removesuffix("s")
            folder = next((f for f in ENDINGS if f.removesuffix("s") in (top, name)), "")
            card_alone = folder == "sets" and "cylinders" in found
            self.kinds[path] = found if card_alone or not folder else found | {folder}
        return self.kinds[path]

    def words_of(self, path: str) -> tuple[str, ...]:
        """The words in a file's text that may be ids, whatever else is wrong with it."""
        return tuple(dict.fromkeys(_WORD.findall(self.text_of(path))))

    def text_of(self, path: str) -> str:
        """The text of a file at fault, as far as it can be told; empty where nothing can."""
        data = self.at_hand(path)
        return strays.text_of(data) or data.decode("utf-8", errors="replace")

    def at_hand(self, path: str) -> bytes:
        """The bytes of a file at fault; none where it cannot be read."""
        try:
            return self.files.read(self.named_so.get(path, path))
        except LedgerError:
            return b""

    def fault(self, path: str, code: str, text: str, mend: str = "") -> None:
        shown = printable(path)
        self.named_so[shown] = path
        self.findings.append(Finding(Where(shown), code, printable(text), printable(mend)))

    def misnamed(self, path: str, text: str, mend: str = "rename it") -> None:
        """Note that a file or a folder is not read, for the name it has or the place it is in."""
        self.fault(path, "file-name", text, mend)

    def text(self, path: str) -> str | None:
        """The text of a file, or None after noting why it cannot be read."""
        try:
            data = self.files.read(path)
        except LedgerError as error:
            code = "too-large" if isinstance(error, TooLarge) else "unreadable"
            self.fault(path, code, error.text, error.mend)
            return None
        text, findings = read_text(data, printable(path))
        self.findings += findings
        return None if first_fault(findings) else text

    def node(self, text: str, path: str) -> Node | None:
        from tankbook.ledger.events import parse  # plain text is read without it

        node, findings = parse(text, path)
        self.findings += findings
        return None if first_fault(findings) else node

    def record(self, kind: type[R], path: str, **named: str) -> R | None:
        """One typed record, or None when anything in its file is at fault.

        `named` is what it is called, where that does not stand in the file.
        """
        before = len(self.findings)
        text = self.text(path)
        if len(self.findings) > before:
            return None
        assert text is not None
        cut = cut_values(text, path)
        if "id" in named and (said := comments_of(text, path)):
            self.comments[named["id"]] = said
        self.cut += [f for f in cut if f.severity is not Severity.FAULT]
        hidden = [f for f in cut if f.severity is Severity.FAULT]
        values = plain(text)
        if values is not None and not hidden:
            ordinary = quick_read(kind, values, path, Later(text, path), **named)
            if ordinary is not None:
                return ordinary
        node = self.node(text, path)
        if len(self.findings) > before:
            return None
        reader = NodeReader(path)
        got = read(kind, node, reader)
        self.findings += [*hidden, *reader.findings]
        return None if hidden or reader.findings or got is None else replace(got, **named)

    def folder(
        self, kind: type[R], name: str
    ) -> tuple[dict[str, R], dict[str, tuple[Finding, ...]]]:
        """The records of a folder by id, and the ids whose file is at fault with its findings."""
        good: dict[str, R] = {}
        broken: dict[str, tuple[Finding, ...]] = {}
        folded: dict[str, str] = {}
        for path in self.entries(name):
            id_ = path.removeprefix(f"{name}/").removesuffix(".yaml")
            before = len(self.findings)
            if not is_safe_id(id_):
                mend = "use letters, digits, `-`, `_` and `.`"
                if of := _beside(path.removeprefix(f"{name}/"), self.files.names(name)):
                    self.copy(path, f"{name}/{of}", "unsafe-id", mend)
                else:
                    self.fault(path, "unsafe-id", f"`{id_}` cannot be an id", mend)
                continue
            if id_.casefold() in folded:
                text = f"`{id_}` and `{folded[id_.casefold()]}` differ only in capitals"
                self.fault(path, "id-clash", text, "rename one: some disks take them for one file")
            folded[id_.casefold()] = id_
            if path in self.as_record:
                self.misnamed(path, _A_FOLDER)
            got = None if path in self.as_record else self.record(kind, path, id=id_)
            if got is None or len(self.findings) > before:
                broken[id_] = tuple(self.findings[before:])
            else:
                good[id_] = got
        return good, broken

    def folders_in_way(self) -> list[str]:
        """The folders whose files cannot be read, after noting why not."""
        found = {f: error for f in (*ENDINGS, "sheets") if (error := self.files.in_way(f))}
        for folder, error in found.items():
            self.fault(f"{folder}/", "unreadable", error.text, error.mend)
        return list(found)

    def look_alikes(self) -> None:
        """Files that stand for one that is read, but for their name: they would be passed over."""
        wanted = {SETTINGS_FILE, STATION_FILE, COUNTER_FILE, BOOKINGS_FILE}
        stems = {name.split(".")[0] for name in wanted}
        names = self.files.names("")
        for each in names:
            stem, _, ending = each.casefold().partition(".")
            own_sheet = f"{stem}.{ending}" == "counter.csv"  # a till's, and none of ours
            alike = stem in stems and ending in {"yaml", "yml", "csv"} and not own_sheet
            alike = alike or (_really(each).casefold() in wanted and _really(each) not in names)
            if each not in wanted and (of := _copied(each, names)):
                self.copy(each, of)
            elif alike and each not in wanted and each.casefold() != "contacts.csv":
                self.misnamed(each, "it is not read under this name")
            elif each not in wanted and self.is_astray(each):
                text = "it is not read here, and looks like a record"
                self.misnamed(each, text, "put it where it belongs, or take it out")
        for folder, ending in ENDINGS.items():
            self.folder_alike(folder)
            self.folders_within(folder, ending)

    def is_astray(self, name: str) -> bool:
        """Whether a file beside the folders is named as one of them, or is a record by its text."""
        stem, _, ending = name.casefold().partition(".")
        if stem in _NAMED_AS and ending in {"yaml", "yml"}:
            return True
        if stem in {"fills", "fill"} and ending == "csv":
            return True
        # beside the folders, answers and plans are kept as JSON, and have the keys of records
        kept = name.casefold() in _NO_RECORDS or ending.endswith("json")
        return not kept and self.is_by_its_text(name)

    def is_by_its_text(self, path: str) -> bool:
        """Whether a file that is not read is a record by its text, or cannot be opened to see."""
        name = path.rpartition("/")[2]
        if not strays.may_be_text(name):
            return False
        try:
            return bool(strays.kinds_of(self.files.read(path)))
        except TooLarge:
            return False
        except LedgerError:
            named = "/" in path or strays.is_named_so(name, "cylinders")
            return named and not name.startswith(".")

    def is_unread(self, folder: str, path: str) -> bool:
        """Whether a file that is not read is a record by its name or by its text."""
        name = path.rpartition("/")[2]
        named = not name.startswith(".") and strays.is_named_so(name, folder)
        return named or self.is_by_its_text(path)

    def copy(self, path: str, record: str, code: str = "file-name", otherwise: str = "") -> None:
        """Tell of a copy beside its record: as a fault what it says that the record does not, for
        it may be what somebody took for the record and wrote in; else that it lies there. Of the
        older text that an editor keeps only what tells against its cylinder counts.

        Args:
            path: of the copy.
            record: the path of its record.
            code: of the fault.
            otherwise: how it is mended where it is no copy.
        """
        from tankbook.ledger.copies import says_more  # few ledgers have a copy in them
        from tankbook.ledger.kept import told_against

        if not record.endswith(".yaml"):
            return
        try:
            is_, known = self.files.read(path), self.files.read(record)
            older = strays.kept_of(path.rpartition("/")[2], [record.rpartition("/")[2]])
            more = told_against(is_, known, record) if older else says_more(is_, known)
        except LedgerError as error:
            self.fault(path, "unreadable", error.text, error.mend)
            return
        if more:
            text = f"it is not read, and says what {record} does not: {more}"
            mend = f"write what is true of it into {record}, then take the copy out"
            mend = f"{mend}; is it no copy, {otherwise}" if otherwise else mend
            self.fault(path, code, text, mend)
        elif not older and not path.casefold().endswith(_KEPT):
            text = f"it is a copy of {record}, which alone is read: what is written here is lost"
            where, mend = Where(printable(path)), printable(f"take {path} out")
            self.cut.append(Finding(where, code, printable(text), mend, Severity.WARN))

    def is_copied(self, name: str, names: Collection[str]) -> bool:
        """Whether a file beside a year of the log is a copy of it by its name, as editors make
        them, and says no more than its beginning."""
        really = _copied(name, names)
        if not really:
            return False
        try:
            year = self.files.read(f"fills/{really}")
            return bool(year) and year.startswith(self.files.read(f"fills/{name}"))
        except LedgerError:
            return False

    def folder_alike(self, folder: str) -> None:
        """A folder in capitals beside the one that is read, or in its place.

        A disk that takes the two names for one folder shows the same files under both.
        """
        read = self.files.names(folder)
        singular = folder.removesuffix("s")
        for other in (folder.title(), folder.upper(), singular, singular.title()):
            names = self.files.names(other)
            for name in names if names != read else ():
                if self.is_unread(folder, f"{other}/{name}"):
                    text = f"it is not read: the folder is called {folder}"
                    self.misnamed(f"{other}/{name}", text, "rename the folder")

    def folders_within(self, folder: str, ending: str) -> None:
        """Records in a folder within the one that is read, and a folder named as a record is."""
        for each in self.files.folders(folder):
            path = f"{folder}/{each}"
            if each.startswith("."):
                continue
            if each.casefold().endswith(ending) and path not in self.as_record:
                self.misnamed(path, _A_FOLDER)
            self.within(folder, path)

    def within(self, folder: str, path: str, depth: int = 1) -> None:
        """The records in a folder within one that is read, however deep."""
        for name in self.files.names(path):
            if self.is_unread(folder, f"{path}/{name}"):
                text = f"it is not read: it lies in a folder within {folder}"
                mend = f"move it into {folder}, or the folder out of {folder}"
                self.misnamed(f"{path}/{name}", text, mend)
        for each in self.files.folders(path):
            if depth == _DEEPEST:
                text = f"it is not looked into: it lies too deep within {folder}"
                self.misnamed(f"{path}/{each}", text, f"move it out of {folder}")
            elif not each.startswith("."):
                self.within(folder, f"{path}/{each}", depth + 1)

    def entries(self, name: str) -> list[str]:
        """The record files of a folder, by name; anything else that looks like one is told."""
        found, names = [], self.files.names(name)
        folders = [f for f in self.files.folders(name) if f.endswith(".yaml") and f[0] != "."]
        self.as_record |= {f"{name}/{each}" for each in folders}
        for each in sorted((*names, *folders)):
            path = f"{name}/{each}"
            if each.endswith(".yaml") and not each.startswith("."):
                found.append(path)
            elif of := _copied(each, names):
                self.copy(path, f"{name}/{of}")
            elif self.is_unread(name, path):
                if of := _beside(each, names):
                    self.copy(path, f"{name}/{of}", otherwise="rename it")
                else:
                    hidden = each.startswith(".") and each.endswith(".yaml")
                    why = "begins with a point" if hidden else "does not end in `.yaml`"
                    self.misnamed(path, f"it is not read: the name {why}")
        return found

    def log(self) -> Log:
        """The fill log, year by year."""
        years, names = [], self.files.names("fills")
        for each in names:
            if _really(each) in names and each.endswith(".csv"):
                text = f"it is a copy of {_really(each)}: every line of it would stand twice"
                self.misnamed(f"fills/{each}", text, "take it out of fills")
            elif each.endswith(".csv") and not each.isprintable():
                self.misnamed(f"fills/{each}", "its name holds what no screen shows")
            elif each.endswith(".csv") and not each.startswith("."):
                years.append(self.log_of(f"fills/{each}"))
            elif not self.is_copied(each, names) and self.is_unread("fills", f"fills/{each}"):
                text = "it is not read: the name of a year of the log is like `2026.csv`"
                self.misnamed(f"fills/{each}", text, "rename it, or take it out")
        return Log.joined(years)

    def log_of(self, path: str) -> Log:
        """The fill log of a year."""
        text = self.text(path)
        if text is None:
            return Log({}, 0)
        table, findings = read_table(text, path, columns(LogLine))
        self.findings += findings
        reader = NodeReader(path)
        lines = read_log(table.cells, table.lines, reader, lambda row, i: table.row(row).column(i))
        self.findings += reader.findings
        return lines

    def lines(self, kind: type[Any], path: str) -> Iterator[Any]:
        text = self.text(path)
        if text is None:
            return
        header = columns(kind)
        before = header[: len(header) - NEWER.get(kind, 0)]
        if _begins_with(text, before):
            rows, findings = read_rows(text, path, before)
        else:
            rows, findings = read_rows(text, path, header)
        self.findings += findings
        reader = NodeReader(path)
        for row in rows:
            cells = (*row.cells, *("" for _ in header[len(row.cells) :]))
            got = read_line(kind, cells, reader, row.line, row.column)
            if got is not None:
                yield got
        self.findings += reader.findings


def _begins_with(text: str, header: Sequence[str]) -> bool:
    """Whether a log has this header."""
    first = text.removeprefix(BOM).partition("\n")[0]
    return first.removesuffix("\r") == ",".join(header)


def resolve(book: Book, text: str) -> str:
    """The id that `text` names: the whole id, any unambiguous tail of one, or a whole serial.

    Raises:
        LedgerError: no id, or more than one, ends so.
    """
    if text in book.apart and text not in book.sets:
        once = book.apart[text]
        why = f"{text} was taken apart on {once.taken_apart}"
        raise LedgerError(f"sets/{text}.yaml", why, f"ask for {' or '.join(once.cylinders)}")
    serials = ((c.id, c.serial) for c in book.cylinders.values())
    try:
        return resolve_among([*book.cylinders, *book.sets, *book.broken], text, serials)
    except LedgerError:
        if text and (path := _unread_of(book, text)):
            mend = f"look at it, and where it is the right one call it {_named_right(path)}"
            why = f"its card seems to be {path}, which is not read under that name"
            raise LedgerError(text, why, mend) from None
        raise


def _unread_of(book: Book, text: str) -> str:
    """The file under a wrong name that may be the card or the set that is meant by a text, or an
    empty text."""
    paths = {_named_right(path): path for path in (*book.broken_cards, *book.broken_sets)}
    known = {name.rpartition("/")[2].removesuffix(".yaml"): paths[name] for name in paths}
    try:
        return known[resolve_among(list(known), text)]
    except LedgerError:
        return ""


def _named_right(path: str) -> str:
    """How a file of a record is called whose name is wrong: `cylinders/RB-020.yaml.bak`."""
    folder, sign, name = path.rpartition("/")
    return f"{folder}{sign}{name.strip('#').partition('.')[0].rstrip('~')}.yaml"


def ranges_spread(book: Book, texts: Iterable[str]) -> list[str]:
    """Texts with each range of ids (`SF-001..SF-012`, `1..12=500`) as the ids it stands for.

    Raises:
        LedgerError: a range is none, or not every id of it is there.
    """
    known = [*book.cylinders, *book.sets, *book.broken]
    serials = [c.serial for c in book.cylinders.values()]
    return [name for text in texts for name in spread_range(known, text, serials)]
