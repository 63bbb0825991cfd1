"""`tankbook history`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Annotated

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import DONE, Answer, RequestError, as_data, shown, with_more
from tankbook.cli.options import Common
from tankbook.cli.printing import draw_into, files_asked

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from tankbook.cli.archive import Archive
    from tankbook.cli.loud import Fault
    from tankbook.ledger.files import Files
    from tankbook.ledger.gitpast import Past
    from tankbook.output.drawing import Drawing
    from tankbook.records.log import LogLine
    from tankbook.records.node import Node
    from tankbook.rules.history import LifeStory


def history(
    asked: Common,
    id_: Annotated[str, Arg("ID", "A cylinder or set; a tail will do; or `station`.")],
    of: Annotated[
        str, Arg("PART", "Of the station, one part or list: G1, B1.readings, air-tests.")
    ] = "",
    fills: Annotated[bool, Flag("Every line of the log.")] = False,
    bundle: Annotated[
        str, Opt("DIR", "Write all that is on record of it into a new folder, with digests.")
    ] = "",
    svg: Annotated[
        str,
        Opt("FILE", "Draw its pressure over time, and its expansion at hydros, into this .svg."),
    ] = "",
    since: Annotated[str, Opt("DATE", "With --svg: pressures from this day on.")] = "",
) -> Answer:
    """The life of a cylinder, or of the station, in one timeline, and what was changed in its
    record since.

    Past entries that were edited or removed come first, with date, author and commit. With --svg
    the figures of its pictures stand instead of the timeline.
    """
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import root_asked, told
    from tankbook.ledger.files import OnDisk
    from tankbook.ledger.whole import whole

    if since and not svg:
        raise RequestError("--since goes with --svg", "say which file to draw into")
    if svg and bundle:
        raise RequestError("--svg and --bundle are two answers", "ask for one, then the other")
    if of and not _is_station(id_):
        raise RequestError("PART is of the station", "write `tankbook history station PART`")
    if _is_station(id_) and (svg or bundle or fills):
        why = "--svg, --bundle and --fills are of a cylinder or a set"
        raise RequestError(why, "`tankbook history station` tells its entries; fills: `fills`")
    files_asked({".svg": svg})
    until = option_values.day("--on", asked.on) if asked.on else None
    first = option_values.day("--since", since) if since else None
    root = root_asked(asked)
    how = _HistoryHow(id_, until, fills, bool(bundle), of)
    if asked.as_of:
        answer, made = _told(asked, OnDisk(root), how)
    else:
        answer, made = whole(root, lambda disk: _told(asked, disk, how), told)
    if svg:
        return _pictured(answer, asked, id_, svg, first)
    # outside of the reading, which is done again where files move
    return _written(answer, asked, root, bundle, made) if bundle else answer


def _pictured(answer: Answer, asked: Common, id_: str, svg: str, since: dt.date | None) -> Answer:
    """The answer, with the figures of the pictures for its timeline, and the pictures drawn."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import expansions, pressures
    from tankbook.rules.expansion import sheets_of
    from tankbook.rules.pressures import pressures_of

    desk = open_desk(asked)
    name, book = desk.resolve([id_])[0], desk.book
    if name in book.broken or not {name} & {*book.cylinders, *book.sets}:
        why = f"{name}: its file cannot be read, or is not here; nothing is drawn"
        raise RequestError(why, "`tankbook validate` says what is wrong with it")
    story = pressures_of(book, name, desk.today, since)
    cards = [book.cylinders[m] for m in book.members(name) if m in book.cylinders]
    sheets = [sheet for card in cards for sheet in sheets_of(book, card, desk.today)]

    def pages() -> list[Drawing]:
        found = [pressures.drawing(story, desk.page)]
        return [*found, expansions.drawing(sheets)] if sheets else found

    drawn = draw_into(svg, pages)
    if asked.json:
        told = {"pressures": pressures.data(story), "expansions": expansions.data(sheets)}
        return with_more(answer, told)
    first = answer.text.split("\n\n")[0]
    said = pressures.text(story, desk.page), expansions.text(sheets, desk.page)
    head = desk.page.wrap(pressures.headline(story, desk.page), hang="  ")
    return replace(answer, text="\n\n".join(filter(None, (first, head, *said, drawn))) + "\n")


STATION = "station"
"""What stands for the station where a cylinder is asked for."""


def _is_station(id_: str) -> bool:
    return id_.casefold() == STATION


class _HistoryHow(Struct, frozen=True):
    """What is asked of a history."""

    id_: str
    until: dt.date | None
    fills: bool
    bundle: bool
    of: str


def _written(
    answer: Answer, asked: Common, root: Path, folder: str, made: dict[str, bytes]
) -> Answer:
    """The answer to a bundle, which is written."""
    from json import loads
    from pathlib import Path

    from tankbook.ledger.bundle import SUMS, write

    digest = write(Path(folder).expanduser(), made, root)
    where, count = shown(folder), len(made)
    if asked.json:
        data = {"folder": folder, "files": count, "digest": digest}
        faults = loads(made["history.json"]).get("faults")
        return as_data(data | ({"faults": faults} if faults else {}), answer.code, answer.notes)
    said = f"Wrote {count} files into {where}; `sha256sum -c {SUMS}` in it proves them."
    first = answer.text.split("\n")[0]
    return replace(answer, text=f"{first}\n\n{said}\n{SUMS}: {digest}\n")


def _told(asked: Common, disk: Files, how: _HistoryHow) -> tuple[Answer, dict[str, bytes]]:
    """The answer and, where it is asked for, what a bundle holds; `disk` is the ledger in its
    folder."""
    from tankbook import __version__
    from tankbook.acts.at_station import STATION_FILE
    from tankbook.cli import loud
    from tankbook.cli.open_ledger import conflicts, page
    from tankbook.ledger import part
    from tankbook.ledger.bundle import shipped
    from tankbook.output import history as output
    from tankbook.output.as_json import dumps
    from tankbook.records.counter import COUNTER_FILE
    from tankbook.rules.history import life_story, of_the_station, with_counter, with_sets

    with _opened(asked, disk) as (archive, files, why_not):
        until, fills = how.until, how.fills or how.bundle
        of_station = _is_station(how.id_)
        name = STATION if of_station else _named(archive, files, how.id_)
        path = STATION_FILE if of_station else part.path_of(files, name)
        ids = () if of_station else (name, *part.sets_of(files, name))
        node, faults = part.node_at(files, path)
        formerly = () if of_station else tuple(part.formerly_of(node))
        lines, findings = part.lines_of(files, (*ids, *formerly))
        if archive and archive.past:
            until = until or archive.now.date()
        written = _written_by(until)
        lines = [each for each in lines if written(each.at)]
        past = _past(archive, files, path, ids, formerly)
        unsaved = archive.unsaved_commit if archive else None
        life = life_story(name, path, past.steps, node, lines, past.gone, unsaved)
        if of_station:
            life = _of_part(of_the_station(life), how.of, node)
        else:
            of_set = path.startswith("sets/")
            counter = part.node_at(files, COUNTER_FILE)[0]
            life = with_counter(life, node, counter, of_set=of_set)
            sides = {n: part.node_at(files, part.path_of(files, n))[0] for n in ids[1:]}
            life = with_sets(life, {name: node, **sides} if of_set else sides)
        settings = part.settings_of(files)
        shore = settings.units
        made: dict[str, bytes] = {}
        told: tuple[str, ...] = ()
        if how.bundle:
            made, told = _bundled(
                archive, files, name, path, formerly, past, lines, (written, until)
            )
            made |= shipped(settings.rules)
        shallow, notes = (archive.repository.shallow, archive.notes) if archive else (False, ())
    if until:
        # its lines are cut by their moments already
        life = replace(life.until(until), lines=life.lines, months=life.months)
    archived = output.GitLook(past.every, why_not, shallow)
    notes = (*notes, *conflicts([*faults, *findings]))
    of_all, said = _faults(asked, loud.unread([*faults, *findings]))
    code = loud.code_with(DONE, of_all)
    data = loud.in_data(output.data(life, archived, fills=fills), of_all)
    if asked.json and not how.bundle:
        return as_data(data, code, notes), {}
    paper = page(shore)
    text = output.text(life, archived, paper, fills=fills)
    answer = loud.told(Answer(text, code, notes), said)
    if how.bundle:
        made["history.txt"] = answer.text.encode()
        made["history.json"] = dumps(data).encode()
        tip = archive.tip.id if archive else ""
        made["ABOUT.txt"] = output.about_bundle(name, tip, why_not, __version__, told).encode()
    return answer, made


def _of_part(life: LifeStory, name: str, node: Node | None) -> LifeStory:
    """What the story of the station says of one of its parts or lists; all where none is named."""
    from tankbook.rules.history import about_part, parts_told

    if not name:
        return life
    found = about_part(life, name, node)
    if not found.events:
        named = ", ".join(parts_told(life, node))
        raise RequestError(f"nothing is on record of {name} at the station", f"it has {named}")
    return found


def _written_by(until: dt.date | None) -> Callable[[dt.datetime], bool]:
    """Whether a line of the log of a moment had been written by a day; every one without a day."""
    from tankbook.cli.open_ledger import clock, moment
    from tankbook.records.book import written_by

    if until is None:
        return lambda _: True
    today, now = clock(), moment()
    return lambda at: written_by(at, until, today, now)


def _bundled(
    archive: Archive | None,
    files: Files,
    name: str,
    path: str,
    formerly: tuple[str, ...],
    past: Past,
    lines: Sequence[LogLine],
    cut: tuple[Callable[[dt.datetime], bool], dt.date | None],
) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """The records that a bundle holds, and what its first page says of them."""
    from tankbook.ledger import part
    from tankbook.ledger.bundle import at_last_fill, records_about, unlike_commit, versions
    from tankbook.ledger.text import printable
    from tankbook.rules.vanished import members

    written, until = cut
    sets = part.sets_of(files, name)
    sides = members(part.node_at(files, path)[0]) if path.startswith("sets/") else ()
    paths = [path, *(f"sets/{s}.yaml" for s in sets), *(f"cylinders/{s}.yaml" for s in sides)]
    ids = (name, *sets, *formerly, *sides)
    fills = [line for line in lines if line.act == "fill"]
    sources = {s.strip() for line in fills for s in (line.source_ or "").split("+")} - {*ids, ""}
    made = records_about(files, paths, ids, sorted(sources), written)
    if archive is None:
        return made, ()
    told = []
    committed = records_about(archive.files, paths, ids, sorted(sources), written)
    changed = [] if archive.past else unlike_commit(made, committed)
    if changed:
        named = ", ".join(map(printable, changed))
        told.append(f"Not as that commit has it, but as it lay in the folder: {named}.")
    if archive.repository.shallow:
        told.append("The history is a shallow clone: what was before its first commit is not here.")
    where = archive.repository, archive.objects
    if fills:
        day = max(f.at for f in fills).astimezone().date()
        then, said = at_last_fill(*where, min(day, until) if until else day)
        made |= then
        told.append(f"The settings, station, rules and checklists {said}.")
    made |= versions(*where, past.steps, past.paths or (path,))
    return made, tuple(told)


def _faults(asked: Common, own: tuple[Fault, ...]) -> tuple[tuple[Fault, ...], str]:
    """What must be told of the whole ledger, and in which words; of its own files alone where the
    ledger cannot be opened."""
    from tankbook.cli import loud
    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.errors import LedgerError

    try:
        desk = open_desk(asked)
    except LedgerError:
        return own, loud.line(own, ())
    return desk.faults, desk.said


@contextmanager
def _opened(asked: Common, disk: Files) -> Iterator[tuple[Archive | None, Files, str]]:
    """The archive and the ledger's files; where git cannot be asked the files alone, and why."""
    from tankbook.cli.archive import archive_asked
    from tankbook.ledger.errors import LedgerError

    with ExitStack() as stack:
        try:
            archive = stack.enter_context(archive_asked(asked, disk))
        except LedgerError as error:
            if asked.as_of:
                raise
            yield None, disk, error.text
        else:
            yield archive, archive.latest, ""


def _past(
    archive: Archive | None,
    files: Files,
    path: str,
    ids: tuple[str, ...],
    formerly: tuple[str, ...],
) -> Past:
    from tankbook.ledger.gitpast import Past, past_of

    if archive is None:
        return Past()
    where = (archive.repository, archive.objects, archive.tip, archive.unsaved_commit)
    return past_of(*where, path, (*ids, *formerly), files, formerly)


def _of_station(files: Files, text: str) -> str:
    """What tells of a part of the station that is meant; empty where it has none of that name."""
    from tankbook.acts.at_station import STATION_FILE
    from tankbook.ledger import part
    from tankbook.rules.history import parts_of

    node, _ = part.node_at(files, STATION_FILE)
    for label, told in parts_of(node).items():
        if label.casefold() == text.casefold():
            way = f"`tankbook history {STATION} {label}`" if told else f"`tankbook {STATION}`"
            return f"{way} tells of it"
    return ""


def _named(archive: Archive | None, files: Files, text: str) -> str:
    """The id asked for; one whose file is gone is known to git by its whole id."""
    from tankbook.ledger import part
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.names import is_safe_id, resolve_among

    try:
        return resolve_among(part.ids_of(files), text)
    except LedgerError as error:
        if archive is not None and is_safe_id(text) and archive.once_had(text):
            return text
        if "ends so:" in error.text:
            raise
        if way := _of_station(files, text):
            raise RequestError(f"{text} is a part of the station", way) from None
    from tankbook.ledger.load import load_from, resolve

    return resolve(load_from(files), text)
