"""Days and times at the edge of what there is: refused in one line, or recorded as they were."""

from __future__ import annotations

import datetime as dt
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from lines import READING, RECORDING, leaves

from tankbook.cli import fill_log_options, local
from tankbook.cli.app import command

Run = Callable[..., Any]

EXTREME = ("0001-01-01", "1899-12-31", "2200-01-01", "9999-12-31")
NO_SUCH_DAY = ("is outside 1900 to 2", "is a day to come", "lies in the future")
ZONES = ("UTC", "America/Los_Angeles", "Pacific/Kiritimati")


@pytest.fixture(name="zone")
def _zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Set the zone of this computer's clock."""
    if not hasattr(time, "tzset"):
        pytest.skip("the zone is set otherwise here")

    def set_to(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield set_to
    monkeypatch.undo()
    time.tzset()


def files(root: Path) -> dict[str, bytes]:
    return {
        str(p.relative_to(root)): p.read_bytes()
        for p in root.rglob("*")
        if p.is_file() and ".tankbook" not in p.parts
    }


def test_every_command_with_a_day_is_tried() -> None:
    dated = {name for name, options in leaves(command()) if "--on" in options}
    assert dated == {*RECORDING, *READING} - {"", "pending"}


@pytest.mark.parametrize("name", RECORDING)
def test_nothing_is_recorded_on_a_day_that_is_none_or_is_to_come(
    name: str, ledger: Path, tb: Run
) -> None:
    before = files(ledger)
    for day in (*EXTREME, "2199-12-31", "2099-06-01"):
        ran = tb(*name.split(), *RECORDING[name], "--on", day, "--ledger", ledger)
        said = ran.err + " ".join(ran.out.split())
        assert any(why in said for why in NO_SUCH_DAY), (day, ran)
        assert ran.code == (1 if ran.out else 2)
        assert ran.err.count("\n") <= 1
    assert files(ledger) == before


@pytest.mark.parametrize("zone_name", ZONES)
def test_every_answer_of_a_day_at_the_edge_is_one(
    zone_name: str, ledger: Path, tb: Run, zone: Callable[[str], None]
) -> None:
    zone(zone_name)
    for name, line in READING.items():
        for day in EXTREME:
            ran = tb("--ledger", ledger, "--on", day, *name.split(), *line)
            if name == "audit":  # which is of all days
                continue
            assert ran.code == 2, (name, day, ran)
            assert "--on: year" in ran.err, (name, day, ran)
        for day in ("1900-01-01", "2199-12-31"):
            ran = tb("--ledger", ledger, "--on", day, *name.split(), *line)
            assert ran.code in (0, 1, 2), (name, day, ran)
            assert ran.err.count("\n") < 4, (name, day, ran)


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", "1969-12-31"])
def test_no_commit_is_of_a_day_at_the_edge(day: str, ledger: Path, tb: Run) -> None:
    ran = tb("--ledger", ledger, "--as-of", day)
    assert ran.code == 2
    assert ran.err.count("\n") == 1


# Berlin puts its clocks on at 02:00 on 29 March 2026 and back at 03:00 on 25 October 2026
# (Directive 2000/84/EC: the last Sundays of March and October, at 01:00 UTC).
SPRING, AUTUMN = "2026-03-29", "2026-10-25"


@pytest.mark.parametrize(
    ("day", "at", "said"),
    [
        (SPRING, "02:00", "02:00 was left out on 2026-03-29: clocks were put on then"),
        (SPRING, "02:30", "02:30 was left out on 2026-03-29: clocks were put on then"),
        (SPRING, "02:59:59", "02:59 was left out on 2026-03-29"),
        (AUTUMN, "02:00", "02:00 came twice on 2026-10-25"),
        (AUTUMN, "02:30", "write 2026-10-25T02:30:00+02:00, or 2026-10-25T02:30:00+01:00"),
        (SPRING, "01:59", ""),
        (SPRING, "03:00", ""),
        (AUTUMN, "01:59", ""),
        (AUTUMN, "03:00", ""),
        (AUTUMN, "2026-10-25T02:30:00+01:00", ""),
    ],
)
def test_clocks_that_are_put_on_and_back(
    day: str, at: str, said: str, ledger: Path, tb: Run, zone: Callable[[str], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    zone("Europe/Berlin")
    monkeypatch.setattr("tankbook.cli.open_ledger.clock", lambda: dt.date(2026, 11, 25))
    for act in (("reading", "RB-014=2900"), ("drain", "RB-014=2000")):
        ran = tb(*act, "--on", day, "--at", at, "--ledger", ledger, "--dry-run", "--by", "MV")
        assert said in ran.err, ran
        assert (ran.code == 2) == bool(said), ran
        if not said:
            offset = "+02:00" if (day, at) in {(SPRING, "03:00"), (AUTUMN, "01:59")} else "+01:00"
            assert f"{day}T{at if len(at) == 5 else '02:30'}:00{offset}" in ran.out
    held = tb(
        "hold", "RB-014", "--why", "x", "--on", day, "--at", at, "--by", "MV", "--ledger", ledger
    )
    if "was left out" in said and len(at) == 5:
        assert said in held.err


def test_a_sheet_of_a_day_on_which_clocks_change(zone: Callable[[str], None]) -> None:
    """What is added to the midnight of a day is what the clock at the bench showed."""
    zone("Europe/Berlin")
    for day, before, after in ((SPRING, "+01:00", "+02:00"), (AUTUMN, "+02:00", "+01:00")):
        midnight = local.midnight_of(dt.date.fromisoformat(day))
        assert midnight.isoformat() == f"{day}T00:00:00{before}"
        late = midnight + dt.timedelta(hours=14)
        assert late.isoformat() == f"{day}T14:00:00{after}"


def test_a_time_of_today_that_lies_ahead(ledger: Path, tb: Run) -> None:
    now = dt.datetime.now().astimezone()
    ahead = now + dt.timedelta(minutes=2)
    if ahead.date() != now.date():
        pytest.skip("it is nearly midnight")
    today = ("--on", str(now.date()))
    for on in ((), today):
        ran = tb("reading", "RB-014=2900", "--at", f"{ahead:%H:%M}", *on, "--ledger", ledger)
        assert ran.code == 2
        assert "lies ahead" in ran.err


@pytest.mark.parametrize(
    "at", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00", "1899-12-31T00:00:00+00:00"]
)
def test_no_time_is_of_a_day_at_the_edge(at: str, ledger: Path, tb: Run) -> None:
    ran = tb("reading", "RB-014=2900", "--at", at, "--by", "MV", "--ledger", ledger)
    assert ran.code == 2
    assert "--at: year" in ran.err


def test_where_midnight_is_left_out_a_day_stays_that_day(zone: Callable[[str], None]) -> None:
    """Beirut put its clocks on at midnight of 26 March 2023, as of the zone's data."""
    zone("Asia/Beirut")
    found = local.at_about(dt.date(2022, 3, 27), dt.time(0, 30))
    assert found.date() == dt.date(2022, 3, 27)
    assert fill_log_options.moment_of("--at", dt.date(2022, 3, 27), dt.time(1, 0)).hour == 1


@pytest.mark.parametrize("name", ["UTC+24", "XXX-25:30"])
def test_a_zone_that_is_none_is_told(name: str, zone: Callable[[str], None], tb: Run) -> None:
    zone(name)
    ran = tb("rules")
    assert ran.code == 2
    assert ran.err.startswith(f"tankbook: TZ={name}: no time zone lies a day or more from UTC")


# --- a machine with another offset


def put_on(monkeypatch: pytest.MonkeyPatch, now: str) -> None:
    monkeypatch.setattr("tankbook.cli.open_ledger._now", lambda: dt.datetime.fromisoformat(now))


def with_line(ledger: Path, text: str) -> None:
    file = next((ledger / "fills").glob("*.csv"))
    file.write_text(file.read_text().rstrip("\n") + f"\n{text}{',' * (15 - text.count(','))}\n")


AFTERNOON, NIGHT = "2026-11-28T13:55:00+00:00", "2026-11-28T23:30:00+00:00"
LISTS = ("", "due", "wall", "report", "calendar", "costs", "fleet")
HERE = [  # a moment, where, and which day it is there
    ("2026-11-25T10:30:00+00:00", "Pacific/Kiritimati", "2026-11-26"),
    ("2026-11-25T09:30:00+00:00", "Pacific/Kiritimati", "2026-11-25"),
    ("2026-11-25T09:30:00+00:00", "America/Adak", "2026-11-24"),
    ("2026-11-25T10:30:00+00:00", "America/Adak", "2026-11-25"),
    ("2026-11-25T23:59:59+00:00", "UTC", "2026-11-25"),
    ("2026-11-26T00:00:00+00:00", "UTC", "2026-11-26"),
]


@pytest.mark.parametrize(("now", "where", "day"), HERE)
def test_every_list_and_page_is_of_the_day_it_is_here(
    now: str,
    where: str,
    day: str,
    zone: Callable[[str], None],
    ledger: Path,
    tb: Run,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    """What holds to the 25th lapses at midnight here, on every list and page at once."""
    card = ledger / "cylinders/RB-014.yaml"
    card.write_text(card.read_text().replace("on: 2026-02-09", "on: 2025-11-25"))
    zone(where)
    put_on(monkeypatch, dt.datetime.fromisoformat(now).astimezone().isoformat())
    for line in LISTS:
        of_now = tb(*line.split(), "--json", "--ledger", ledger).json
        asked = tb(*line.split(), "--on", day, "--json", "--ledger", ledger).json
        assert of_now == asked, line
    lapsed = day > "2026-11-25"
    late = [d for d in tb("due", "--json", "--ledger", ledger).json if d["obligation"] == "visual"]
    assert [d["state"] == "overdue" for d in late if d["id"] == "RB-014"] == [lapsed]
    assert tb("pages", tmp_path / "pages", "--ledger", ledger).code == 0
    page = (tmp_path / "pages/c-rb-014.html").read_text()
    assert ("visual lapsed Nov 2026" in page) is lapsed


ACTS = {
    "reading": "{at},RB-014,reading,,2890 psi,,,,,MV",
    "empty": "{at},RB-014,reading,,0 psi,,,,,MV",
    "drained": "{at},RB-014,drain,,100 psi,,,,,MV",
    "nitrox": "{at},RB-014,fill,500 psi,3000 psi,,nitrox32,32.0 %,,MV,MV,B1",
    "unanalysed": "{at},RB-014,fill,500 psi,3000 psi,,nitrox32,,,MV,,B1",
    "over": "{at},RB-014,fill,500 psi,4900 psi,,air,,,MV,,B1",
}


@pytest.mark.parametrize(
    ("now", "at", "same"),
    [
        (AFTERNOON, "2026-11-29T03:54:00+14:00", "2026-11-28T13:54:00+00:00"),
        (NIGHT, "2026-11-29T00:10:00+01:00", "2026-11-28T23:10:00+00:00"),
        (NIGHT, "2026-11-29T13:30:00+14:00", "2026-11-28T23:30:00+00:00"),
    ],
)
@pytest.mark.parametrize("act", ACTS)
def test_a_line_counts_from_its_moment_whatever_day_it_was_there(
    act: str, now: str, at: str, same: str, ledger: Path, tb: Run, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """The answer is that to the same line as this computer would have written it."""
    put_on(monkeypatch, now)
    other = tmp_path / "other"
    shutil.copytree(ledger, other)
    with_line(ledger, ACTS[act].format(at=at))
    with_line(other, ACTS[act].format(at=same))
    for line in (("may-fill", "RB-014"), ("may-fill", "RB-014", "--on", "2026-11-28")):
        got, expected = (tb(*line, "--ledger", root) for root in (ledger, other))
        assert "lies in the future" not in got.out
        assert "cannot be read" not in got.out
        said = got.first.replace("on 2026-11-29", "on 2026-11-28")
        assert (got.code, said) == (expected.code, expected.first)
    past = ("may-fill", "RB-014", "--on", "2026-11-27", "--json")
    before = [tb(*past, "--ledger", root).json[0]["fillable"] for root in (ledger, other)]
    assert before[0] == before[1]


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("at", ["2026-11-29T03:56:00+14:00", "2026-11-29T00:10:00+01:00"])
def test_a_line_whose_moment_is_to_come_lies_in_the_future(
    act: str, at: str, ledger: Path, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_on(monkeypatch, AFTERNOON)
    with_line(ledger, ACTS[act].format(at=at))
    ran = tb("may-fill", "RB-014", "--ledger", ledger)
    assert (ran.code, "lies in the future" in ran.out) == (1, True)


@pytest.mark.parametrize(
    ("at", "told"),
    [
        ("2026-11-28T14:55:00+00:00", False),  # an hour: clocks may be so far apart
        ("2026-11-28T14:56:00+00:00", True),
        ("2026-11-28T23:00:00+00:00", True),
        ("2026-11-28T17:00:00+03:00", False),
        ("2026-11-28T12:00:00-03:00", True),
    ],
)
@pytest.mark.parametrize("act", [*ACTS, "void"])
def test_a_line_of_later_today_lies_in_the_future(
    act: str, at: str, told: bool, ledger: Path, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A drain or a stroke that nobody can have made yet lets nothing go."""
    put_on(monkeypatch, AFTERNOON)
    if act == "void":
        with_line(ledger, ACTS["over"].format(at="2026-11-28T10:00:00+00:00"))
        with_line(ledger, f"{at},RB-014,void,,,,,,,MV,,,,,2026-11-28T10:00:00+00:00 RB-014,slip")
    else:
        with_line(ledger, ACTS[act].format(at=at))
    ran = tb("may-fill", "RB-014", "--ledger", ledger)
    assert ("lies in the future" in ran.out) is told
    assert not told or ran.code == 1


def test_a_past_day_ends_at_midnight_here_whatever_day_it_was_there(
    ledger: Path, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_on(monkeypatch, AFTERNOON)
    asked = ("may-fill", "RB-014", "--on", "2026-11-26", "--ledger", ledger, "--json")
    assert tb(*asked).json[0]["fillable"]
    with_line(ledger, ACTS["nitrox"].format(at="2026-11-27T01:00:00+01:00"))  # midnight here
    assert tb(*asked).json[0]["fillable"]
    with_line(ledger, ACTS["nitrox"].format(at="2026-11-27T00:59:00+01:00"))
    assert not tb(*asked).json[0]["fillable"]


def test_a_machine_one_hour_west_goes_on_with_what_one_east_recorded(
    ledger: Path, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_on(monkeypatch, "2026-11-29T00:10:00+01:00")
    assert tb("reading", "RB-014=2900", "--by", "MV", "--ledger", ledger).code == 0
    put_on(monkeypatch, NIGHT)
    assert "lies in the future" not in tb("validate", "--ledger", ledger).out
    done = tb("reading", "RB-014=2880", "--by", "MV", "--ledger", ledger)
    assert done.code == 0, done.err
    assert "lies in the future" not in tb("may-fill", "RB-014", "--ledger", ledger).out


def test_a_line_struck_out_before_it_was_written_is_not_by_its_offset(
    ledger: Path, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_on(monkeypatch, AFTERNOON)
    with_line(ledger, ACTS["over"].format(at="2026-11-29T03:54:00+14:00"))
    with_line(
        ledger,
        "2026-11-28T13:00:00+00:00,RB-014,void,,,,,,,MV,,,,,2026-11-29T03:54:00+14:00 RB-014,slip",
    )
    assert tb("may-fill", "RB-014", "--ledger", ledger).code == 1


def test_an_entry_that_says_no_more_than_its_day_waits_for_it(
    ledger: Path, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A day has no moment: what tells against a cylinder counts at once, all else not yet."""
    put_on(monkeypatch, "2026-11-29T00:10:00+01:00")
    done = tb("hold", "RB-014", "--why", "dent", "--by", "MV", "--ledger", ledger)
    assert done.code == 0, done.err
    put_on(monkeypatch, NIGHT)
    ran = tb("may-fill", "RB-014", "--ledger", ledger)
    assert ran.code == 1
    assert "lies in the future" in ran.out
    put_on(monkeypatch, "2026-11-29T00:30:00+00:00")
    ran = tb("may-fill", "RB-014", "--ledger", ledger)
    assert (ran.code, "lies in the future" in ran.out) == (1, False)
