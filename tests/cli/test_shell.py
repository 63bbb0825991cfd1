"""How a line is typed: help and version in other words, one value for an option, the ledger named by
the environment, days and hours as people write them, and refusals as JSON."""

from __future__ import annotations

import datetime as dt
import re
import shutil
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import lines
import pytest
from hypothesis import given
from hypothesis import strategies as st

import tankbook
from tankbook.cli import option_values
from tankbook.cli.answer import RequestError
from tankbook.cli.commands import every_line
from tankbook.cli.open_ledger import LEDGER_VARIABLE, clock
from tankbook.cli.said_dates import hour_said
from tankbook.records import kinds
from tankbook.units import PartialDate

Run = Callable[..., Any]


# --- help and version


@pytest.mark.parametrize("line", ["due", "station hours", "jobs open", "station"])
def test_help_of_a_command_is_its_help(line: str, tb: Run) -> None:
    assert line in every_line()
    assert tb("help", *line.split()).out == tb(*line.split(), "--help").out


@pytest.mark.parametrize("line", ["fill inspect", "station hours due", "due due", "fill 14"])
def test_help_of_two_is_refused_and_not_of_the_first(line: str, tb: Run) -> None:
    ran = tb("help", *line.split())
    assert (ran.code, ran.out) == (2, "")
    mend = ran.err.rpartition("`tankbook help ")[2].rstrip("`\n")
    assert tb("help", *mend.split()).code == 0


def test_help_alone_is_the_help_of_all(tb: Run) -> None:
    assert tb("help").out == tb("--help").out
    assert tb("help", "help").out == tb("--help").out
    assert tb("help", "help", "fill").out == tb("fill", "--help").out
    assert tb("help", "duu").code == 2


def test_the_version_is_told_by_its_letter(tb: Run) -> None:
    assert tb("-V").out == tb("--version").out == f"tankbook {tankbook.__version__}\n"


# --- an option is given once


TWICE = [
    ("due", "--within", "3d", "--within", "9d"), ("due", "--on", "2026-01-01", "--on", "2026-01-02"),
    ("fill", "RB-014", "--to", "2900", "--to", "300"), ("--on", "2026-01-01", "due", "--on", "2026-01-02"),
    ("--ledger", "a", "due", "--ledger", "b"), ("hold", "RB-014", "--why", "a", "--why=b"),
    ("hold", "RB-014", "--why", "a", "--commit", "--no-commit"), ("station", "hours", "3", "--of", "a", "--of", "b"),
    ("--ledger", "a", "--ledger", "b", "due"), ("book-in", "--complete", "RB-014", "--complete", "RB-015"),
]  # fmt: skip


@pytest.mark.parametrize("line", TWICE, ids=" ".join)
def test_an_option_with_one_value_is_given_once(
    line: tuple[str, ...], tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ledger)
    before = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file()}
    ran = tb(*line)
    assert (ran.code, ran.out) == (2, "")
    assert "is given twice" in ran.err
    assert {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file()} == before


def test_what_may_be_given_again_may_be(tb: Run, ledger: Path) -> None:
    twice = ("list", "--where", "use=rental", "--where", "status=held", "--ledger", ledger)
    assert tb(*twice).code == 0
    assert tb("fleet", "--json", "--json", "--ledger", ledger).code == 0
    assert tb("--on", "2026-11-25", "fleet", "--on", "2026-11-25", "--ledger", ledger).code == 0


# --- the ledger by the environment


def test_the_environment_names_the_ledger(
    tb: Run, ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert tb("fleet").code == 2
    monkeypatch.setenv(LEDGER_VARIABLE, str(ledger))
    assert tb("fleet").code == 0
    monkeypatch.chdir(ledger / "cylinders")
    assert tb("fleet").code == 0
    other = tmp_path / "other"
    shutil.copytree(ledger, other)
    assert tb("fleet", "--ledger", other).code == 0


def test_two_ledgers_are_not_chosen_between(
    tb: Run, ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = tmp_path / "other"
    shutil.copytree(ledger, other)
    monkeypatch.setenv(LEDGER_VARIABLE, str(ledger))
    monkeypatch.chdir(other)
    ran = tb("hold", "RB-014", "--why", "dent", "--by", "MV")
    assert (ran.code, ran.out) == (2, "")
    assert "--ledger" in ran.err
    cards = [each / "cylinders/RB-014.yaml" for each in (other, ledger)]
    assert not any("dent" in card.read_text() for card in cards)


@pytest.mark.parametrize("value", ["", "  "])
def test_an_empty_variable_names_none(
    value: str, tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(LEDGER_VARIABLE, value)
    monkeypatch.chdir(ledger)
    assert tb("fleet").code == 0


def test_a_variable_that_names_no_ledger_is_told(tb: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(LEDGER_VARIABLE, "/none/here")
    ran = tb("fleet")
    assert (ran.code, len(ran.err.splitlines())) == (2, 1)


# --- days and hours


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-11-25", (2026, 11, 25)), ("25 Nov 2026", (2026, 11, 25)), ("25. november 2026", (2026, 11, 25)), ("Nov 25, 2026", (2026, 11, 25)),
        ("25.11.2026", (2026, 11, 25)), ("11/25/2026", (2026, 11, 25)), ("25/11/2026", (2026, 11, 25)), ("5/5/2026", (2026, 5, 5)),
        ("2026-1-5", (2026, 1, 5)), ("2026/11/25", (2026, 11, 25)), ("25-Nov-2026", (2026, 11, 25)), ("1 sept 2026", (2026, 9, 1)), (" 25  Nov 2026 ", (2026, 11, 25)),
    ],
)  # fmt: skip
def test_a_day_that_can_be_read_in_one_way(text: str, day: tuple[int, int, int]) -> None:
    assert option_values.day("--on", text) == dt.date(*day)
    assert option_values.date("--on", text) == PartialDate.of(dt.date(*day))


def test_today_is_today() -> None:
    assert option_values.day("--on", "today") == clock()
    assert option_values.day("--on", "Yesterday") == clock() - dt.timedelta(days=1)


@pytest.mark.parametrize(
    "text",
    ["3/4/2026", "03.04.2026", "3-4-2026", "12/11/2026", "3/4/26", "03.04.26", "3-4-26", "04/03/26", "12/11/26"],
)  # fmt: skip
def test_a_day_of_two_readings_is_refused_with_both(text: str) -> None:
    one, other = sorted(int(n) for n in text.replace("/", "-").replace(".", "-").split("-")[:2])
    for read in (option_values.day, option_values.date):
        with pytest.raises(RequestError) as told:
            read("--on", text)
        assert f"2026-{one:02}-{other:02}" in str(told.value)
        assert f"2026-{other:02}-{one:02}" in str(told.value)


@pytest.mark.parametrize(
    ("text", "days"),
    [("25.11.26", ("2025-11-26", "2026-11-25")), ("30/11/98", ("1998-11-30",)), ("11/30/98", ("1998-11-30",)), ("98-11-30", ("1998-11-30",)), ("03.04.26", ("2003-04-26",))],
)  # fmt: skip
def test_a_year_of_two_figures_is_asked_about_and_never_taken(text: str, days: tuple[str]) -> None:
    for read in (option_values.day, option_values.date, kinds.DAY.parse, PartialDate.parse):
        with pytest.raises((RequestError, ValueError), match="may be") as told:
            read(*(("--on",) if read in (option_values.day, option_values.date) else ()), text)
        assert set(days) <= set(re.findall(r"\d{4}-\d\d-\d\d", str(told.value)))


@pytest.mark.parametrize("text", ["0524", "05/24", "5-24", "5.24"])
def test_a_month_without_its_century_is_asked_about(text: str) -> None:
    with pytest.raises(RequestError, match="may be 2024-05; write 2024-05 where that is meant"):
        option_values.date("--hydro", text)
    with pytest.raises(ValueError, match="may be 2024-05"):
        PartialDate.parse(text)


NO_DAY = [
    "", "soon", "2026-02-30", "31/31/2026", "31.31.26", "11/25", "2026", "30 Feb 2026", "25 Novem 2026", "tomorrow",
    "٢٥.١١.٢٠٢٦", "1" * 5000, "0/0/2026", "25 Nov 20266",
]  # fmt: skip


@pytest.mark.parametrize("text", NO_DAY)
def test_what_is_no_day_is_refused_as_before(text: str) -> None:
    with pytest.raises(RequestError, match="is not a calendar day; write it as 2026-11-25"):
        option_values.day("--on", text)


@given(st.text(max_size=30))
def test_no_text_is_too_strange_for_a_day(text: str) -> None:
    for read in (option_values.day, option_values.date):
        with suppress(RequestError):
            read("--on", text)
    hour_said(text)


@given(st.dates(dt.date(1900, 1, 1), dt.date(2199, 12, 31)))
def test_no_form_of_a_day_is_read_as_another(day: dt.date) -> None:
    named = f"{day.day} {day:%b} {day.year}"
    for form in (f"{day:%d.%m.%Y}", f"{day:%m/%d/%Y}", named, f"{day:%Y/%m/%d}"):
        told = read_or_told(form)
        assert told == day or (str(day) in str(told) and day.day <= 12)


def read_or_told(form: str) -> dt.date | str:
    try:
        return option_values.day("--on", form)
    except RequestError as two:
        return str(two)


@pytest.mark.parametrize(
    ("text", "month"),
    [("2026-02", "2026-02"), ("Nov 2026", "2026-11"), ("11/2026", "2026-11"), ("november 2026", "2026-11"), ("9.2026", "2026-09")],
)  # fmt: skip
def test_a_month_in_other_words(text: str, month: str) -> None:
    assert str(option_values.date("--on", text)) == month


@pytest.mark.parametrize("text", ["13/2026", "11/26", "Nov", "Novem 2026"])
def test_what_is_no_month_is_refused(text: str) -> None:
    with pytest.raises(RequestError):
        option_values.date("--on", text)


@pytest.mark.parametrize(
    ("text", "hour"),
    [("9:00", "09:00"), ("09:00", "09:00"), ("4:30 pm", "16:30"), ("4pm", "16:00"), ("12 am", "00:00"), ("12:15 PM", "12:15"), ("9 a.m.", "09:00")],
)  # fmt: skip
def test_an_hour_in_other_words(text: str, hour: str) -> None:
    assert option_values.time_of_day("--at", text) == dt.time.fromisoformat(hour)


@pytest.mark.parametrize("text", ["9", "24:00", "9:5", "13 pm", "0 am", "9:60", "noon", "-9:00"])
def test_what_is_no_hour_is_refused(text: str) -> None:
    with pytest.raises(RequestError):
        option_values.time_of_day("--at", text)


def test_an_act_takes_both(tb: Run, ledger: Path) -> None:
    said = ("--by", "MV", "--on", "25 Nov 2026", "--at", "9:05", "--dry-run", "--ledger", ledger)
    ran = tb("reading", "RB-014=1200", *said)
    assert ran.code == 0, ran.err
    assert "2026-11-25T09:05:00" in ran.out


# --- refusals as JSON


@pytest.mark.parametrize(
    "line",
    [
        ("due", "--json", "--on", "soon"), ("--json", "due", "--on", "3/4/2026"), ("fleet", "--json"), ("nothing", "--json"), ("due", "--json", "--nothing"),
        ("hold", "RB-014", "--json"), ("explain", "xyzzy", "--json"), ("due", "--json", "--within"), ("validate", "--json", "--format", "x"),
    ],
    ids=" ".join,
)  # fmt: skip
def test_a_refusal_is_json_where_json_is_asked(line: tuple[str, ...], tb: Run) -> None:
    ran = tb(*line)
    assert ran.code == 2
    assert ran.json["error"]["code"] == 2
    assert ran.err == said_of(ran)


def said_of(ran: Any) -> str:
    """The line for people, made of what a program is told: none of it may be left out there."""
    told = ran.json["error"]
    return f"tankbook: {told['text']}" + (f"; {told['mend']}" if told["mend"] else "") + "\n"


@pytest.mark.parametrize(
    ("line", "subject"),
    [
        (("may-fill", "RB-014", "998", "--json"), "998"), (("import", "nofile.csv", "--json"), "nofile.csv"),
        (("due", "--ledger", "nowhere", "--json"), "nowhere"),
        (("fills", "--since", "31.31.26", "--json"), "31.31.26"), (("show", "998..999", "--json"), "998"),
    ],
    ids=str,
)  # fmt: skip
def test_a_refusal_in_json_names_its_subject(
    line: tuple[str, ...], subject: str, tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ledger)
    ran = tb(*line)
    assert ran.code == 2
    assert subject in ran.json["error"]["text"]
    assert ran.err == said_of(ran)


EVERY = [
    (*name.split(), *more) for name, more in [*lines.READING.items(), *lines.RECORDING.items()]
]
WITHOUT = {"pending", "export", "marks"}
"""What looks at no ledger, or takes one as it stands."""


@pytest.mark.parametrize("wrong", ["option", "none", "syntax", "bytes"])
def test_every_command_refuses_in_json(
    wrong: str, tb: Run, ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An option that is none, no ledger, and settings that cannot be read; and nothing is written."""
    if wrong in ("syntax", "bytes"):
        (ledger / "tankbook.yaml").write_bytes(
            b"a: [\n" if wrong == "syntax" else b"ledger: \xff\n"
        )
    monkeypatch.chdir(ledger if wrong != "none" else tmp_path)
    before = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file()}
    for line in EVERY:
        if wrong != "option" and line[:1] and line[0] in WITHOUT:
            continue
        ran = tb(*line, "--json", *(("--nothing",) if wrong == "option" else ()))
        assert ran.code in ((2,) if wrong in ("option", "none") else (1, 2)), line
        if ran.code == 2:
            told = ran.json["error"]
            assert (told["code"], bool(told["text"])) == (2, True), line
            assert ran.err == said_of(ran), line
        assert ran.json is not None
    ours = {p for p in ledger.rglob("*") if p.is_file() and ".tankbook" not in p.parts}
    assert {p: p.read_bytes() for p in ours} == before


def test_a_refusal_is_none_where_it_is_not_asked(tb: Run) -> None:
    assert tb("fleet").out == ""
    assert tb("explain", "--", "--json").out == ""


def test_a_fault_of_ours_is_json_as_well(tb: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    from tankbook.cli import marks

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(marks, "as_data", broken)
    ran = tb("marks", "DOT-3AL 3000", "--json")
    assert ran.code == 3
    assert ran.json["error"]["code"] == 3
    assert "ZeroDivisionError" in ran.err
