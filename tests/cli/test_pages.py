"""Pages for the counter: read back, and held against what may-fill and due say."""

from __future__ import annotations

import datetime as dt
import errno
import importlib.util
import itertools
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import books
import html5lib
import hypothesis.strategies as st
import pdf
import pytest
import repos
from hypothesis import HealthCheck, given, settings

from tankbook.cli import pages as pages_command
from tankbook.cli.progress import Progress
from tankbook.ledger import page_folder
from tankbook.output.page import plain_date
from tankbook.output.page_names import file_name
from tankbook.output.pages import WrittenAt, mark_of

GOOD = books.GOOD
STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 4400 psi}]}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
regulator_set: 3000 psi
"""
DAY = "2026-11-25"
Run = Callable[..., Any]
Write = Callable[..., Path]


def read(path: Path) -> Any:
    """A page, by the standard's own parser: any slip against it is an error."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    return parser.parse(path.read_text("utf-8"))


def words(tree: Any) -> str:
    """What people read on a page."""
    body = tree.find("body")
    return " ".join(" ".join(body.itertext()).split())


def told(tree: Any) -> str:
    """The sentence below its title."""
    return "".join(tree.find("body/header/p").itertext())


def table(tree: Any, section: str) -> list[list[str]]:
    """The cells of the first table of a section."""
    found = next(s for s in tree.iter("section") if s.get("aria-labelledby") == section)
    rows = found.findall(".//tbody/tr")
    return [["".join(cell.itertext()) for cell in row] for row in rows]


def as_bytes(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir()}


def agree(tb: Run, root: Path, folder: Path, day: str = DAY) -> None:
    """Every page says what may-fill and due say of that day, and never yes."""
    ids = [p.stem for where in ("cylinders", "sets") for p in sorted((root / where).glob("*.yaml"))]
    common = ("--ledger", root, "--on", day, "--json")
    board = read(folder / "index.html")
    listed = [d for d in tb("due", "--all", *common).json if "obligation" in d]
    closed = {row[0]: row[1] for row in table(board, "closed")}
    free = {row[0]: row[1] for row in table(board, "free")}
    for id_ in ids:
        tree = read(folder / file_name(id_))
        title = tree.find("head/title").text
        gas = tb("show", id_, *common).json["contents"]["gas"]
        asked = ("may-fill", id_, *(("--gas", gas) if gas else ()))
        answer = tb(*asked, *common).json
        answer = next(a for a in answer if "fillable" in a)
        assert not re.search(r"\b(YES|may be filled now|fit to be filled|ready)\b", words(tree))
        if answer["fillable"]:
            assert id_ in free
            stood = r"as the records stood on (.+); not after (.+?)\. Ask the station"
            said = re.search(stood, told(tree))
            assert said, told(tree)
            assert said[1] == said[2] == free[id_] == plain_date(dt.date.fromisoformat(day))
            assert "DO NOT FILL" not in words(tree)
        else:
            assert id_ in closed
            on = plain_date(dt.date.fromisoformat(day))
            assert title == f"{id_} on {on}: DO NOT FILL"
            assert re.match(rf"DO NOT FILL( OR USE)?, as the records stood on {on}\. ", told(tree))
            reasons = [row[0] for row in table(tree, "filling")]
            if answer["reasons"][0]["code"] == "broken-file":
                assert reasons == ["its card cannot be read"] == [closed[id_]]
                assert len(list(tree.iter("section"))) == 1
                continue
            for reason in (r for r in answer["reasons"] if r["gate"] == "refuse"):
                named = re.sub(r"\b(MV|T123|B-4471|Example Air Lab)\b", "", reason["text"])
                named = re.sub(
                    r"(\.yaml:\d+:\d+): .*", r"\1", named
                )  # no page quotes what is wrong
                assert any(all(part in text for part in named.split()) for text in reasons), (
                    reason["text"],
                    reasons,
                )
        dues = [d for d in listed if d["id"] == id_ and d["kind"] != "station"]
        if dues:
            assert sorted(row[2] for row in table(tree, "due")) == sorted(
                d["next"] or "-" for d in dues
            )
    assert {*closed, *free} == set(ids)


def pages(tb: Run, root: Path, folder: Path, *more: str, day: str = DAY) -> Any:
    return tb("pages", folder, "--ledger", root, "--on", day, *more)


@pytest.fixture(name="at")
def _at(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Sets the clock."""

    def set_to(moment: str) -> None:
        now = dt.datetime.fromisoformat(moment).replace(tzinfo=dt.UTC)
        monkeypatch.setattr("tankbook.cli.open_ledger._now", lambda: now)

    return set_to


def test_the_pages_of_the_example(tb: Run, example_ledger: Path, tmp_path: Path) -> None:
    done = pages(tb, example_ledger, tmp_path / "pages", "--customers", "--json")
    assert done.code == 0, done.err
    agree(tb, example_ledger, tmp_path / "pages")


LATE = GOOD.replace("2024-03", "2021-09").replace("2026-02-09", "2025-02-09")
HELD = GOOD.replace(
    "status: in-service", "status: held\nheld: [{on: 2026-03-01, by: MV, why: dent}]"
)
OUT = GOOD.replace("status: in-service", "status: out\nrented: [{on: 2026-11-24, to: B-4471}]")
CARDS = st.sampled_from(
    [GOOD, LATE, HELD, OUT, GOOD.replace("2024-03", "2022-01"), GOOD.replace("service: air", "service: nitrox"),
     GOOD.replace("water_volume: 11.1 L\n", ""), "serial: [\n"]
)  # fmt: skip
STATIONS = st.sampled_from(
    [STATION, STATION.replace("2026-10-12", "2026-01-12"), STATION.replace("result: pass", "result: fail"), "banks: [\n"]
)  # fmt: skip


@settings(
    max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    cards=st.lists(CARDS, min_size=1, max_size=3),
    station=STATIONS,
    day=st.dates(dt.date(2026, 11, 25), dt.date(2026, 11, 29)),
)
def test_pages_say_what_may_fill_and_due_say(
    tb: Run, write: Write, tmp_path: Path, cards: list[str], station: str, day: dt.date
) -> None:
    for each in ("quay", "pages"):
        shutil.rmtree(tmp_path / each, ignore_errors=True)
    root = write(
        {
            f"cylinders/RB-{n:03}.yaml": card.replace("K118204", f"K11820{n}")
            for n, card in enumerate(cards)
        }
        | {"station.yaml": station}
    )
    (root / "sets").mkdir()
    pages(tb, root, tmp_path / "pages", day=str(day))
    agree(tb, root, tmp_path / "pages", str(day))


@settings(
    max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    visual=st.dates(dt.date(2025, 11, 26), dt.date(2026, 11, 20)).map(str),
    hydro=st.sampled_from(["2021-12", "2022-01", "2024-03"]),
    station=st.sampled_from([STATION, STATION.replace("2026-10-12", "2026-06-12")]),
    day=st.dates(dt.date(2026, 11, 25), dt.date(2026, 12, 20)),
    part=st.floats(0, 1),
)
def test_may_fill_says_no_on_no_day_to_the_last_of_a_page(
    tb: Run, at: Callable[[str], None], write: Write, tmp_path: Path,
    visual: str, hydro: str, station: str, day: dt.date, part: float,
) -> None:  # fmt: skip
    """Asked on the day itself, as somebody does who reads the page then."""
    for each in ("quay", "pages"):
        shutil.rmtree(tmp_path / each, ignore_errors=True)
    card = GOOD.replace("2026-02-09", visual).replace("2024-03", hydro)
    root = write({"cylinders/RB-014.yaml": card, "station.yaml": station})
    at(f"{day}T14:05")
    now(tb, root, tmp_path / "pages")
    said = told(read(tmp_path / "pages" / file_name("RB-014")))
    assert tb("may-fill", "RB-014", "--ledger", root).code == int("DO NOT FILL" in said)
    until = re.search(r"not after (\d+ \w+ \d+)\.", said)
    if until is None:
        assert said.startswith("DO NOT FILL. Written ")
        return
    last = dt.datetime.strptime(until[1], "%d %b %Y").date()  # noqa: DTZ007
    assert last >= day
    for then in {day + part * (last - day), last}:
        at(f"{then}T09:00")
        assert tb("may-fill", "RB-014", "--ledger", root).code == 0, then


def now(tb: Run, root: Path, folder: Path, *more: str) -> Any:
    """The pages of now."""
    return tb("pages", folder, "--ledger", root, *more)


def test_only_what_changed_is_written(
    tb: Run, at: Callable[[str], None], ledger: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "pages"
    at("2026-11-25T14:05")
    now(tb, ledger, folder)
    was = as_bytes(folder)
    times = {p.name: p.stat().st_mtime_ns for p in folder.iterdir()}
    assert now(tb, ledger, folder, "--json").json["written"] == ["index.html"]
    again = {p.name: p.stat().st_mtime_ns for p in folder.iterdir() if p.name != "index.html"}
    assert again == {n: t for n, t in times.items() if n != "index.html"}
    at("2026-11-26T09:00")
    now(tb, ledger, folder)
    kept = {n for n, data in as_bytes(folder).items() if data == was[n]}
    assert file_name("RB-014") in kept  # it says still when it was written
    assert "25 Nov 2026, 14:05" in told(read(folder / file_name("RB-014")))
    assert "26 Nov 2026, 09:00" in told(read(folder / "index.html"))
    card = ledger / "cylinders" / "RB-014.yaml"
    card.write_text(card.read_text() + "held: [{on: 2026-11-26, by: MV, why: dent}]\n")
    done = now(tb, ledger, folder, "--json").json
    assert file_name("RB-014") in done["written"]
    assert file_name("RB-015") not in done["written"]
    assert told(read(folder / file_name("RB-014"))).startswith(
        "DO NOT FILL OR USE. Written 26 Nov 2026"
    )


def test_no_page_is_kept_after_its_last_day(
    tb: Run, at: Callable[[str], None], write: Write, tmp_path: Path
) -> None:
    """The visual runs out on 9 Feb 2027; nothing else of it does before."""
    root = write({"cylinders/RB-014.yaml": GOOD, "station.yaml": STATION})
    folder = tmp_path / "pages"
    at("2026-11-25T14:05")
    now(tb, root, folder)
    first = told(read(folder / file_name("RB-014")))
    last = re.search(r"not after (\d+ \w+ \d+)\.", first)
    assert last, first
    day = dt.datetime.strptime(last[1], "%d %b %Y").date()  # noqa: DTZ007
    at(f"{day}T23:59")
    now(tb, root, folder)
    assert told(read(folder / file_name("RB-014"))) == first
    at(f"{day + dt.timedelta(days=1)}T00:01")
    assert file_name("RB-014") in now(tb, root, folder, "--json").json["written"]
    assert told(read(folder / file_name("RB-014"))).startswith("DO NOT FILL. Written ")


def test_a_stamp_that_is_yet_to_come_is_not_taken_over(
    tb: Run, at: Callable[[str], None], ledger: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "pages"
    at("2026-11-26T09:00")
    now(tb, ledger, folder)
    at("2026-11-25T09:00")
    now(tb, ledger, folder)
    page = folder / file_name("RB-014")
    assert "25 Nov 2026" in told(read(page))
    page.write_bytes(page.read_bytes().replace(b"25 Nov 2026", b"24 Nov 2026"))
    now(tb, ledger, folder)
    assert "25 Nov 2026" in told(read(page))


def test_the_pages_of_a_day_say_so_and_nothing_of_another(
    tb: Run, at: Callable[[str], None], write: Write, tmp_path: Path
) -> None:
    root = write({"cylinders/RB-014.yaml": GOOD, "station.yaml": STATION})
    folder = tmp_path / "pages"
    for clock, stood in (
        ("2026-11-30T09:00", "as the records stood on 25 Nov 2026"),
        ("2026-11-01T09:00", "on 25 Nov 2026, were nothing more recorded until then"),
    ):
        at(clock)
        pages(tb, root, folder)
        for page in folder.iterdir():
            tree = read(page)
            assert "on 25 Nov 2026" in tree.find("head/title").text
            assert stood in words(tree).replace("As the", "as the").replace("On 25", "on 25")
            assert re.findall(r"not after (\d+ \w+ \d+)", words(tree)) in (
                ["25 Nov 2026"], ["25 Nov 2026"] * 2,
            )  # fmt: skip
            assert "when written" not in words(tree)
    pages(tb, root, folder, day="2026-11-24")
    assert not any(
        b"25 Nov 2026" in page.read_bytes().split(b"<section")[0] for page in folder.iterdir()
    )


def test_what_is_written_past_midnight_is_of_the_day_it_was_judged_for(
    tb: Run, monkeypatch: pytest.MonkeyPatch, write: Write, tmp_path: Path
) -> None:
    root = write({"cylinders/RB-014.yaml": GOOD, "station.yaml": STATION})
    noon = dt.datetime(2026, 11, 25, 23, 59, 50, tzinfo=dt.UTC)
    clock = (noon + dt.timedelta(seconds=4 * n) for n in itertools.count())
    monkeypatch.setattr("tankbook.cli.open_ledger._now", lambda: next(clock))
    monkeypatch.setattr("tankbook.cli.pages._run", later(clock, pages_command._run))
    now(tb, root, tmp_path / "pages")
    for page in (tmp_path / "pages").iterdir():
        assert "26 Nov" not in words(read(page)), page.name
    said = told(read(tmp_path / "pages" / "index.html"))
    assert said.startswith("Built 25 Nov 2026, 23:59; of this day alone, not after 25 Nov 2026.")


def later(clock: Iterator[dt.datetime], work: Callable[..., Any]) -> Callable[..., Any]:
    """A work during which a minute passes."""

    def done(*asked: Any, **named: Any) -> Any:
        for _ in range(15):
            next(clock)
        return work(*asked, **named)

    return done


def test_a_moment_is_told_with_its_time(tb: Run, ledger: Path, tmp_path: Path) -> None:
    tb("pages", tmp_path / "pages", "--ledger", ledger)
    found = mark_of((tmp_path / "pages" / "index.html").read_bytes())
    assert found is not None
    assert isinstance(found[1].at, dt.datetime)
    assert f"Built {found[1].said};" in told(read(tmp_path / "pages" / "index.html"))
    assert re.fullmatch(r"\d+ \w{3} \d{4}, \d\d:\d\d", found[1].said)


def test_a_stamp_is_taken_only_from_the_past_and_of_its_own_kind() -> None:
    noon = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
    now = WrittenAt(noon)
    assert WrittenAt(noon - dt.timedelta(minutes=1)).may_stand(now)
    assert not WrittenAt(noon + dt.timedelta(minutes=1)).may_stand(now)
    assert not WrittenAt(noon.date()).may_stand(now)
    assert not now.may_stand(WrittenAt(noon.date()))


def test_nothing_of_a_stranger_is_touched(tb: Run, ledger: Path, tmp_path: Path) -> None:
    folder = tmp_path / "pages"
    folder.mkdir()
    (folder / "holiday.txt").write_text("mine")
    refused = pages(tb, ledger, folder)
    assert refused.code == 2
    assert "no page of ours" in refused.err
    assert as_bytes(folder) == {"holiday.txt": b"mine"}
    (folder / "holiday.txt").unlink()
    pages(tb, ledger, folder)
    for name in ("holiday.txt", "c-rb-999.html", "a.html"):
        (folder / name).write_text("mine")
    (ledger / "cylinders" / "RB-015.yaml").unlink()
    done = pages(tb, ledger, folder, "--json").json
    assert done["removed"] == [file_name("RB-015")]
    there = as_bytes(folder)
    assert file_name("RB-015") not in there
    assert {there[n] for n in ("holiday.txt", "c-rb-999.html", "a.html")} == {b"mine"}
    page = folder / file_name("RB-014")
    page.write_text("mine")
    refused = pages(tb, ledger, folder)
    assert refused.code == 2
    assert page.read_text() == "mine"
    page.unlink()
    page.symlink_to(ledger / "tankbook.yaml")
    assert pages(tb, ledger, folder).code == 2
    assert (ledger / "tankbook.yaml").read_text() == books.SETTINGS


@pytest.mark.parametrize("where", ["", "cylinders", "pages", "fills/x"])
def test_not_into_the_ledger(tb: Run, ledger: Path, where: str) -> None:
    before = sorted(ledger.rglob("*"))
    refused = pages(tb, ledger, ledger / where)
    assert refused.code == 2
    assert "the ledger's own folder" in refused.err
    assert sorted(ledger.rglob("*")) == before


def test_not_into_the_ledger_by_a_link(tb: Run, ledger: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(ledger / "cylinders")
    assert pages(tb, ledger, tmp_path / "link").code == 2


def test_pages_of_a_day_asked_about_take_no_place_of_those_of_now(
    tb: Run, ledger: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "counter"
    assert tb("pages", folder, "--ledger", ledger).code == 0
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    for asked in (("--on", "2026-11-01"), ("--on", "2027-01-05")):
        refused = tb("pages", folder, "--ledger", ledger, *asked)
        assert refused.code == 2
        assert "or of a day that was asked about" in " ".join(refused.err.split())
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_not_among_the_pages_of_another_ledger(
    tb: Run, ledger: Path, write: Write, tmp_path: Path
) -> None:
    pages(tb, ledger, tmp_path / "pages")
    was = as_bytes(tmp_path / "pages")
    named = re.sub(r"(?m)^ledger: .*$", "ledger: Another Quay", books.SETTINGS)
    other = write({"tankbook.yaml": named, "cylinders/RB-014.yaml": GOOD}, "other")
    refused = pages(tb, other, tmp_path / "pages")
    assert refused.code == 2
    assert "another ledger" in refused.err
    assert as_bytes(tmp_path / "pages") == was


def two_called(write: Write, *names: str) -> Iterator[Path]:
    for name in names:
        yield write({"cylinders/RB-014.yaml": GOOD, "station.yaml": STATION}, name)


def test_not_among_those_of_another_ledger_of_the_same_name(
    tb: Run, write: Write, tmp_path: Path
) -> None:
    one, other = two_called(write, "one", "other")
    now(tb, one, tmp_path / "pages")
    was = as_bytes(tmp_path / "pages")
    refused = now(tb, other, tmp_path / "pages")
    assert refused.code == 2
    assert "another ledger" in refused.err
    assert as_bytes(tmp_path / "pages") == was


def test_two_ledgers_of_one_name_in_one_repository_are_two(tb: Run, tmp_path: Path) -> None:
    repo = repos.ledger(tmp_path / "quay", **{"RB-014": GOOD})
    for name in ("north", "south"):
        shutil.copytree(repo.root / "cylinders", repo.root / name / "cylinders")
        shutil.copy(repo.root / "tankbook.yaml", repo.root / name)
    repo.commit("Two more")
    now(tb, repo.root / "north", tmp_path / "pages")
    assert now(tb, repo.root / "south", tmp_path / "pages").code == 2
    assert now(tb, repo.root / "north", tmp_path / "pages", "--json").json["written"] == [
        "index.html"
    ]


def test_a_clone_goes_on_writing(tb: Run, tmp_path: Path) -> None:
    repo = repos.ledger(tmp_path / "quay", **{"RB-014": GOOD})
    now(tb, repo.root, tmp_path / "pages")
    repo.change("cylinders/RB-014.yaml", "alloy: 6061", "alloy: 6061\nplace: rack 2")
    repo.commit("Move it")
    repo.git("clone", "-q", str(repo.root), str(tmp_path / "elsewhere"))
    done = now(tb, tmp_path / "elsewhere", tmp_path / "pages", "--json")
    assert done.code == 0, done.err
    assert file_name("RB-014") in done.json["written"]  # it names the commit
    repo.git("clone", "-q", "--depth=1", repo.root.as_uri(), str(tmp_path / "shallow"))
    refused = now(tb, tmp_path / "shallow", tmp_path / "pages")
    assert refused.code == 2
    assert "unshallow" in refused.err


def test_a_clone_that_did_not_pull_writes_no_older_page_over_a_newer(
    tb: Run, tmp_path: Path
) -> None:
    """What another recorded and published is not taken back by who does not know of it."""
    folder = tmp_path / "pages"
    repo = repos.ledger(tmp_path / "quay", **{"RB-014": GOOD})
    now(tb, repo.root, folder)
    behind = repo.clone(tmp_path / "behind")
    more = "held: [{on: 2026-11-20, by: MV, why: dent}]\nalloy: 6061"
    repo.change("cylinders/RB-014.yaml", "alloy: 6061", more)
    repo.commit("Hold it", at="2026-11-20T10:00:00+01:00")
    now(tb, repo.root, folder)
    was = as_bytes(folder)
    assert "DO NOT FILL" in words(read(folder / file_name("RB-014")))
    for fetched in (False, True):
        if fetched:
            behind.git("fetch", "-q")
        refused = now(tb, behind.root, folder)
        assert refused.code == 2
        assert "pull first" in refused.err
        assert as_bytes(folder) == was
    behind.git("pull", "-q", "--ff-only")
    assert now(tb, behind.root, folder).code == 0


def test_who_puts_commits_on_others_goes_on_writing(tb: Run, tmp_path: Path) -> None:
    """A commit said otherwise or put elsewhere is the same; one taken back is none."""
    folder = tmp_path / "pages"
    repo = repos.ledger(tmp_path / "quay", **{"RB-014": GOOD})
    mine = repo.clone(tmp_path / "mine")
    repo.put("note.txt", "theirs")
    repo.commit("Theirs", at="2026-11-19T10:00:00+01:00")
    mine.change("cylinders/RB-014.yaml", "alloy: 6061", "alloy: 6061\nplace: rack 2")
    mine.commit("Mine", at="2026-11-20T10:00:00+01:00")
    assert now(tb, mine.root, folder).code == 0
    mine.git("commit", "-q", "--amend", "-m", "Mine, said better")
    assert now(tb, mine.root, folder).code == 0
    mine.git("pull", "-q", "--rebase", at="2026-11-21T10:00:00+01:00")
    assert now(tb, mine.root, folder).code == 0
    mine.git("reset", "-q", "--hard", "HEAD~1")
    assert now(tb, mine.root, folder).code == 2
    (folder / "index.html").unlink()
    assert now(tb, mine.root, folder).code == 0


def test_a_run_that_read_earlier_leaves_what_one_that_read_later_wrote(
    tb: Run, at: Callable[[str], None], write: Write, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """The slow one ends after the quick one, which knows of the hold."""
    root = write({"cylinders/RB-014.yaml": GOOD, "station.yaml": STATION})
    folder, slow = tmp_path / "pages", page_folder.check
    at("2026-11-25T14:00")
    now(tb, root, folder)
    at("2026-11-25T14:05")
    (root / "cylinders/RB-014.yaml").write_text(GOOD + "place: rack 2\n")

    def meanwhile(*asked: Any) -> None:
        monkeypatch.setattr(page_folder, "check", slow)
        held = HELD.replace("2026-03-01", "2026-11-25")
        (root / "cylinders/RB-014.yaml").write_text(held)
        at("2026-11-25T14:06")
        assert now(tb, root, folder).code == 0
        at("2026-11-25T14:05")
        return slow(*asked)

    monkeypatch.setattr(page_folder, "check", meanwhile)
    done = now(tb, root, folder)
    assert "DO NOT FILL" in words(read(folder / file_name("RB-014")))
    assert done.code == 2
    assert "run it again" in done.err
    assert now(tb, root, folder).code == 0


@pytest.mark.parametrize("broken_off", [0, 1, 2])
def test_where_the_power_fails_no_old_leave_stays(
    tb: Run, write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken_off: int
) -> None:
    """Nothing runs any more after it: what gave leave is away before the first is written."""
    cards = {f"cylinders/RB-01{n}.yaml": GOOD.replace("K118204", f"K11820{n}") for n in (4, 5, 6)}
    root = write(cards | {"station.yaml": STATION})
    folder, cut = tmp_path / "pages", tmp_path / "cut"
    now(tb, root, folder)
    for n in (4, 6):
        card = root / f"cylinders/RB-01{n}.yaml"
        card.write_text(card.read_text() + "held: [{on: 2026-11-20, by: MV, why: dent}]\n")
    put, left = page_folder.put_out, iter(range(broken_off))

    def failing(target: Path, data: bytes) -> None:
        if next(left, None) is None and not cut.exists():
            shutil.copytree(folder, cut)  # what the disk holds at that moment
        put(target, data)

    monkeypatch.setattr(page_folder, "put_out", failing)
    now(tb, root, folder)
    for page in cut.iterdir():
        held = page.name in {file_name("RB-014"), file_name("RB-016"), "index.html"}
        assert not held or "DO NOT FILL" in words(read(page)), page.name
    assert (cut / file_name("RB-015")).exists()


def test_a_ledger_that_comes_under_git_goes_on_writing(
    tb: Run, write: Write, tmp_path: Path
) -> None:
    root = write({"cylinders/RB-014.yaml": GOOD, "station.yaml": STATION})
    now(tb, root, tmp_path / "pages")
    repo = repos.Repo.begin(root)
    repo.commit("All")
    for _ in range(2):
        assert now(tb, root, tmp_path / "pages").code == 0


def test_a_card_that_cannot_be_read_tells_no_more(tb: Run, write: Write, tmp_path: Path) -> None:
    """Nobody knows whose it is: neither what is wrong, which may quote it, nor its fills."""
    card = "serial: K118209\nowner: Roe\nuse: Vidalovna\n"
    root = write(
        {
            "cylinders/RB-014.yaml": GOOD,
            "cylinders/CU-001.yaml": card,
            "sets/DB-01.yaml": "cylinders: [Vidalovna\n",
            "station.yaml": STATION,
            "fills/2026.csv": f"{repos.HEADER}\n"
            + repos.line("2026-11-20T10:00:00+00:00", "CU-001")
            + "\n",
        }
    )
    for n, asked in enumerate(([], ["--customers"])):
        folder = tmp_path / f"pages{n}"
        now(tb, root, folder, *asked)
        tree = read(folder / file_name("CU-001"))
        assert tree.find("head/title").text == "CU-001: DO NOT FILL"
        assert [row[0] for row in table(tree, "filling")] == ["its card cannot be read"]
        assert not re.search(
            r"K118209|Roe|psi|air|20 Nov|2026-11-20", words(tree).split("Caution")[0]
        )
        said = "".join(words(read(p)) for p in folder.iterdir())
        assert "Vidalovna" not in said
        assert "Roe" not in said


def test_a_page_goes_with_its_cylinder(tb: Run, write: Write, tmp_path: Path) -> None:
    """One that is gone, or becomes a customer's, leaves no old leave behind."""
    cards = {f"cylinders/RB-01{n}.yaml": GOOD.replace("K118204", f"K11820{n}") for n in (4, 5, 6)}
    root = write(cards | {"station.yaml": STATION})
    now(tb, root, tmp_path / "pages")
    (root / "cylinders/RB-014.yaml").unlink()
    card = root / "cylinders/RB-015.yaml"
    card.write_text(card.read_text().replace("use: rental", "use: customer\nowner: C-0192"))
    done = now(tb, root, tmp_path / "pages", "--json").json
    assert done["removed"] == [file_name("RB-014"), file_name("RB-015")]
    said = "".join(words(read(p)) for p in (tmp_path / "pages").iterdir())
    assert not re.search("RB-014|RB-015|C-0192", said)


@pytest.mark.parametrize("broken_off", [0, 1, 2, 3, 4])
def test_where_the_disk_is_full_no_old_leave_stays(
    tb: Run, write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken_off: int
) -> None:
    cards = {f"cylinders/RB-01{n}.yaml": GOOD.replace("K118204", f"K11820{n}") for n in (4, 5, 6)}
    root = write(cards | {"station.yaml": STATION})
    folder = tmp_path / "pages"
    now(tb, root, folder)
    for n in (4, 6):
        card = root / f"cylinders/RB-01{n}.yaml"
        card.write_text(card.read_text() + "held: [{on: 2026-11-20, by: MV, why: dent}]\n")
    put, left = page_folder.put_out, iter(range(broken_off))

    def full(target: Path, data: bytes) -> None:
        if next(left, None) is None:
            raise OSError(errno.ENOSPC, "No space left on device", str(target))
        put(target, data)

    monkeypatch.setattr(page_folder, "put_out", full)
    done = now(tb, root, folder)
    assert done.code == (2 if broken_off < 3 else 0), done.err
    for page in folder.iterdir():
        said = words(read(page))
        held = page.name in {file_name("RB-014"), file_name("RB-016"), "index.html"}
        assert not held or "DO NOT FILL" in said, page.name
    assert (folder / file_name("RB-015")).exists()
    monkeypatch.setattr(page_folder, "put_out", put)
    assert now(tb, root, folder).code == 0
    assert "DO NOT FILL" in words(read(folder / file_name("RB-014")))


def test_what_is_closed_is_written_first_and_the_board_last(
    tb: Run, write: Write, tmp_path: Path
) -> None:
    """Where the power fails, no page that gives leave is newer than one that should take it."""
    cards = {f"cylinders/RB-01{n}.yaml": GOOD.replace("K118204", f"K11820{n}") for n in (4, 5, 6)}
    cards["cylinders/RB-015.yaml"] = HELD.replace("K118204", "K118205")
    cards["cylinders/RB-016.yaml"] = "serial: [\n"
    written = now(tb, write(cards | {"station.yaml": STATION}), tmp_path / "pages", "--json").json
    assert set(written["written"][:2]) == {file_name("RB-015"), file_name("RB-016")}
    assert written["written"][-1] == "index.html"


def test_the_month_says_after_which_day_it_holds_no_more(
    tb: Run, at: Callable[[str], None], write: Write, tmp_path: Path
) -> None:
    root = write({"cylinders/RB-014.yaml": GOOD, "station.yaml": STATION})
    for moment, until in (("2026-11-25T14:05", "30 Nov 2026"), ("2027-02-03T09:00", "9 Feb 2027")):
        at(moment)
        now(tb, root, tmp_path / "pages")
        assert f"; not after {until}." in told(read(tmp_path / "pages" / "month.html"))


def test_nobody_is_named_unless_asked(tb: Run, write: Write, tmp_path: Path) -> None:
    cards = {
        "cylinders/RB-016.yaml": HELD.replace("why: dent", "why: dent seen by MV"),
        "cylinders/RB-021.yaml": OUT.replace("K118204", "K118207"),
        "cylinders/CU-001.yaml": GOOD.replace("K118204", "K118209").replace(
            "use: rental", "use: customer\nowner: C-0192\nprice: 189.00 USD"
        ),
    }  # fmt: skip
    root = write(cards | {"tankbook.yaml": books.SETTINGS + "prices: {hydro: 45.00 USD}\n"})
    pages(tb, root, tmp_path / "pages")
    said = "\n".join(words(read(p)) for p in (tmp_path / "pages").iterdir())
    assert not re.search(r"\bMV\b|C-0192|B-4471|CU-001|USD|months cost", said)
    assert "dent seen by [who]" in said
    pages(tb, root, tmp_path / "all", "--initials", "--customers", "--prices")
    said = "\n".join(words(read(p)) for p in (tmp_path / "all").iterdir())
    assert all(each in said for each in ("dent seen by MV", "CU-001", "months cost"))


def test_nobody_is_named_by_a_rule_or_a_part(tb: Run, write: Write, tmp_path: Path) -> None:
    """Wherever on a page: whose a gauge is, who decided a row, whose letter tells of a notice."""
    rules = """\
heading: Shop rules
rows:
  - {id: shop.visual, obligation: visual, period: 11 months, met_by: [inspection], gate: refuse,
     basis: practice, citation: "MV, letter to C-0192", verified: read}
watch:
  - {id: shop.notice, maker: [Example Cylinder Co], recall: "sent back by MV", gate: refuse,
     basis: practice, citation: letter of M. V., verified: read}
"""
    gauge = "gauges: [{name: G1-MV, checked: [{on: 2026-06-01, against: T, reads: 2500 psi,\n     true: 2500 psi, by: MV}]}]\n"
    cards = {
        "cylinders/RB-014.yaml": GOOD,
        "cylinders/CU-001.yaml": GOOD.replace("K118204", "K118209").replace(
            "use: rental", "use: customer\nowner: C-0192"
        ),
    }
    more = {"station.yaml": STATION + gauge, "rules/shop.yaml": rules}
    root = write(cards | more)
    for folder, asked in (("pages", ()), ("all", ("--initials", "--customers"))):
        assert now(tb, root, tmp_path / folder, *asked).code == 0
        said = "\n".join(words(read(p)) for p in (tmp_path / folder).iterdir())
        named = set(re.findall(r"MV|M\. V\.|C-0192", said))
        assert named == (set() if not asked else {"MV", "M. V.", "C-0192"}), named
        assert ("[who], letter to [customer]" in said) == (not asked)
        assert ("G1-[who]" in said) == (not asked)


def test_parts_out_of_use_are_said_before_that_nothing_is_against_the_rest(
    tb: Run, write: Write, tmp_path: Path
) -> None:
    """On the page of the station and on the board, as `station` says it; and who names a part by
    initials is not named."""
    more = """\
positions: [{name: P1, kind: enclosed}, {name: P3, kind: whip, whip: W1-MV}]
whips:
  - {name: W1-MV, rating: 5000 psi, checked: [{on: 2026-11-24, by: MV, result: fail, note: burst}]}
"""
    root = write({"cylinders/RB-014.yaml": GOOD, "station.yaml": STATION + more})
    now(tb, root, tmp_path / "pages")
    assert "W1-MV" in tb("station", "--ledger", root, "--on", DAY).out
    station = told(read(tmp_path / "pages" / "station.html"))
    board = words(read(tmp_path / "pages" / "index.html"))
    for said in (station, board):
        assert re.search(
            r"OUT OF USE: [^.]*whip W1-\[who\][^.]*\. Of the rest: nothing against it", said
        )
        assert "MV" not in said
    assert station.startswith("OUT OF USE: ")


def test_pages_need_nothing_else(tb: Run, write: Write, tmp_path: Path) -> None:
    card = HELD.replace("why: dent", "why: <script src=//evil.example></script>&\"'")
    root = write({"cylinders/RB-014.yaml": card})
    pages(tb, root, tmp_path / "pages")
    names = {p.name for p in (tmp_path / "pages").iterdir()}
    for page in (tmp_path / "pages").iterdir():
        tree = read(page)
        assert not list(tree.iter("script"))
        links = {e.get(k) for e in tree.iter() for k in ("href", "src") if e.get(k)}
        assert {n for n in links if not n.startswith("#")} <= {*names, "data:,"}


def test_the_commit_of_the_last_change(tb: Run, tmp_path: Path) -> None:
    repo = repos.ledger(tmp_path / "quay", **{"RB-014": GOOD, "RB-015": LATE})
    first = repo.head[:10]
    repo.change("cylinders/RB-015.yaml", "alloy: 6061", "alloy: 6061\nplace: rack 2")
    repo.commit("Move it")
    repos.make_hostile(repo)
    repo.change("cylinders/RB-015.yaml", "rack 2", "rack 3")
    pages(tb, repo.root, tmp_path / "pages")
    said = {i: words(read(tmp_path / "pages" / file_name(i))) for i in ("RB-014", "RB-015")}
    assert f"Last change of its card: commit {first}," in said["RB-014"]
    assert f"Last change of its card: commit {repo.head[:10]}," in said["RB-015"]
    assert "changed since" in said["RB-015"]
    assert "changed since" not in said["RB-014"]
    assert not list(tmp_path.rglob("pwned"))


def test_of_a_set_no_pressure_but_its_limit_is_read(tb: Run, write: Write, tmp_path: Path) -> None:
    cards = {f"cylinders/RB-01{n}.yaml": GOOD.replace("K118204", f"K11820{n}") for n in (4, 5)}
    doubles = (
        "cylinders: [RB-014, RB-015]\nisolator: open\nuse: rental\nmanifold: M7\nrating: 4350 psi\n"
    )
    root = write(cards | {"sets/DB-01.yaml": doubles})
    pages(tb, root, tmp_path / "pages")
    said = words(read(tmp_path / "pages" / file_name("DB-01")))
    assert set(re.findall(r"\d+ psi", said)) <= {"3000 psi"}
    assert "RB-014 serial K118204" in said  # as the tag whose code leads here
    assert "RB-015 serial K118205" in said
    agree(tb, root, tmp_path / "pages")


def test_what_cannot_be_read_is_told_on_the_board(tb: Run, ledger: Path, tmp_path: Path) -> None:
    (ledger / "cylinders" / "RB-015.yaml").write_text("serial: [\n")
    pages(tb, ledger, tmp_path / "pages")
    assert "NOT READ" in words(read(tmp_path / "pages" / "index.html"))


def test_outside_of_git_no_commit_is_told(tb: Run, ledger: Path, tmp_path: Path) -> None:
    pages(tb, ledger, tmp_path / "bare")
    page = words(read(tmp_path / "bare" / file_name("RB-014")))
    assert "not under git, or git cannot be asked" in page


@pytest.mark.parametrize("at", ["", "pages_at: https://tanks.example.org/pages/\n"])
def test_a_code_opens_the_page(tb: Run, write: Write, tmp_path: Path, at: str) -> None:
    root = write({"tankbook.yaml": books.SETTINGS + at, "cylinders/RB-014.yaml": GOOD})
    common = ("--unlogged", "--ledger", root, "--on", DAY)
    done = tb("tags", "RB-014", "--pdf", tmp_path / "t.pdf", *common)
    assert done.code == 0, done.out + done.err
    read_back = pdf.codes_of((tmp_path / "t.pdf").read_bytes())
    page = "https://tanks.example.org/pages/c-rb-014.html"
    assert read_back[0] == page if at else read_back[0].startswith("RB-014\nK118204\n")


@pytest.mark.parametrize(
    "text",
    ["javascript:alert(1)", "https://", "https://a b", "ftp://a.example", "https://u:p@a.example",
     "https://a.example/?q=1", "https://a.example/#x", "https://a.example/../b", "file:///etc",
     "https://a.example/" + "x" * 100, "HTTPS://a.example", "https://-a.example", "https://a.example//b"],
)  # fmt: skip
def test_no_hostile_address(tb: Run, write: Write, text: str) -> None:
    root = write(
        {"tankbook.yaml": f"{books.SETTINGS}pages_at: '{text}'\n", "cylinders/RB-014.yaml": GOOD}
    )
    refused = tb("validate", "--ledger", root, "--on", DAY)
    assert refused.code != 0
    assert "pages_at" in refused.out


PROJECT = Path(__file__).parents[2]


def pictured() -> ModuleType:
    """Of which pages `.ci/browser` takes the pictures in docs."""
    spec = importlib.util.spec_from_file_location("pictured", PROJECT / ".ci" / "pictured.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_pictures_in_the_docs_are_of_the_pages_as_they_are(
    tb: Run, example_ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where this fails, look at the pages and run `PICTURES=docs .ci/browser`."""
    hour = dt.timezone(dt.timedelta(hours=1))  # as it is there
    moment = dt.datetime(2026, 11, 25, 14, 5, tzinfo=hour)
    monkeypatch.setattr("tankbook.cli.open_ledger._now", lambda: moment)
    now(tb, example_ledger, tmp_path / "pages")
    ours, docs = pictured(), PROJECT / "docs"
    made = {
        name: ours.digest((tmp_path / "pages" / page).read_text("utf-8"))
        for name, (page, _) in ours.OF_NOW.items()
    }
    assert all((docs / f"{name}.png").is_file() for name in made)
    lines = (docs / ours.TAKEN_OF).read_text("utf-8").splitlines()
    assert dict(line.split(" ") for line in lines) == made


def test_what_a_picture_shows_is_told_from_what_git_says() -> None:
    page = '<meta name="tankbook-page" content="{}"><p>{}</p><p>Nothing against it{}</p>'
    digest = pictured().digest
    said = "Last change of its card: commit 272a2ef5aa, 30 Nov 2026, 06:59."
    assert digest(page.format("ab 2026", said, "")) == digest(
        page.format("cd 2027 e", "no commit", "")
    )
    assert digest(page.format("ab", said, "")) != digest(page.format("ab", said, "; not after"))


def test_what_is_in_no_commit_is_told_as_unknown_to_other_copies(tb: Run, tmp_path: Path) -> None:
    repo = repos.ledger(tmp_path / "cove")
    where = ("--ledger", repo.root)
    before = tb("pages", tmp_path / "out", *where)
    assert "In no commit yet" not in before.out
    assert tb("hold", "RB-014", "--why", "dent", "--by", "MV", *where).code == 0
    after = tb("pages", tmp_path / "out", *where)
    assert "In no commit yet" in " ".join(after.out.split())
    assert "cylinders/RB-014.yaml" in after.out
    apart = tb("pages", tmp_path / "out", *where, "--json").json["uncommitted"]
    assert "cylinders/RB-014.yaml" in apart
    repo.commit("Hold")
    assert "In no commit yet" not in tb("pages", tmp_path / "out", *where).out


def test_progress_is_told_of_all_that_takes_long(
    tb: Run, ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of what each cylinder is asked, of making the pages and of writing them."""
    shown = list[tuple[str, int, int]]()

    class Seen(Progress):
        def __init__(self, what: str) -> None:
            self.what = what

        def __call__(self, done: int, of: int) -> None:
            shown.append((self.what, done, of))

    monkeypatch.setattr("tankbook.cli.progress.Progress", Seen)
    assert tb("pages", tmp_path / "pages", "--ledger", ledger).code == 0
    pages = len([*(tmp_path / "pages").iterdir()])
    judged = pages - 3  # the board, the station and the month
    expected = {"pages": judged, "pages made": pages, "pages written": pages}
    assert shown == [(what, n, of) for what, of in expected.items() for n in range(1, of + 1)]


def test_a_gauge_that_reads_above_true_is_told_on_every_page_of_the_station(
    tb: Run, write: Write, tmp_path: Path
) -> None:
    gauge = (
        "gauges: [{name: G1, master: yes, range: 6000 psi, checked: "
        "[{on: 2026-11-20, against: TG-1, reads: 2800 psi, true: 2500 psi, by: KD}]}]\n"
    )
    root = write({"cylinders/RB-014.yaml": books.stamped(GOOD), "station.yaml": STATION + gauge})
    common = ("--ledger", root, "--on", DAY)
    said = "gauge G1 reads 300 psi above true"
    assert said in " ".join(tb("station", *common).out.split())
    assert said in " ".join(tb(*common).out.split())
    into = tmp_path / "pages"
    assert tb("pages", into, *common).code == 0
    for name in ("station.html", "index.html"):
        tree = read(into / name)
        assert said in words(tree), name
        assert "Nothing." not in words(tree)
