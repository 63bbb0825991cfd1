"""`init` at a terminal: a few questions, asked again where an answer cannot be; nothing is written
before the last is answered."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from repos import ALONE

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.skipif(os.name == "nt", reason="a pseudo-terminal")


class Terminal:
    """`tankbook` at a pseudo-terminal of its own."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.own, theirs = pty.openpty()
        environment = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
        environment |= {
            "PYTHONPATH": str(ROOT),
            "COLUMNS": os.environ.get("WIDTH_OF_TERMINAL", "100"),
            "HOME": str(folder),
        }
        environment |= {n: v for n, v in ALONE.items() if n.startswith("GIT_CONFIG")}
        for role in ("AUTHOR", "COMMITTER"):
            environment |= {f"GIT_{role}_NAME": "MV", f"GIT_{role}_EMAIL": "mv@shop.example"}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tankbook", *words],
            stdin=theirs, stdout=theirs, stderr=theirs, cwd=folder, env=environment, start_new_session=True,
            preexec_fn=_own_terminal,
        )  # fmt: skip
        os.close(theirs)
        self.told, self.waited = "", 0

    def until(self, text: str) -> None:
        """Read until a text is there, behind what was waited for before."""
        end = time.monotonic() + 30
        while (at := self.told.find(text, self.waited)) < 0:
            assert time.monotonic() < end, self.told
            if not select.select([self.own], [], [], 1)[0]:
                continue
            try:
                got = os.read(self.own, 4096)
            except OSError:
                got = b""
            assert got, self.told
            self.told += got.decode(errors="replace")
        self.waited = at + len(text)

    def types(self, text: str) -> None:
        os.write(self.own, text.encode())

    def answers(self, **said: str) -> None:
        """Answer each question as it comes; Enter where nothing is said of it."""
        for begins, name in QUESTIONS:
            of_a_station = name in ("compressor", "bank") and said.get("station", "yes")[0] == "y"
            if name == "git" or name in said or name in ASKED_ALWAYS or of_a_station:
                self.until(begins)
                self.types(said.get(name, "") + "\n")

    def ends(self) -> int:
        end = time.monotonic() + 30
        while self.process.poll() is None and time.monotonic() < end:
            if select.select([self.own], [], [], 0.2)[0]:
                try:
                    self.told += os.read(self.own, 4096).decode(errors="replace")
                except OSError:
                    break
        code = self.process.wait(30)
        while select.select([self.own], [], [], 0.1)[0]:
            try:
                got = os.read(self.own, 4096)
            except OSError:
                break
            if not got:
                break
            self.told += got.decode(errors="replace")
        return code


def _own_terminal() -> None:
    import fcntl
    import termios

    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # ignored by what begins in the background


QUESTIONS = [
    ("In which folder", "folder"), ("What is the ledger called", "name"), ("By which rules", "rules"), ("What do the gauges read in", "units"),
    ("Is there a fill station", "station"),
    ("The compressor's label", "compressor"), ("A bank of air", "bank"), ("Another", "bank 2"), ("Another", "no bank"),
    ("A booster, as", "booster"), ("Another", "no booster"), ("Initials of whoever signs", "by"), ("Was one made", "risk"), ("Where is it written", "document"),
    ("When, as", "when"), ("Keep it under git", "git"),
]  # fmt: skip
ASKED_ALWAYS = {"folder", "name", "rules", "units", "station", "by"}
ASKED_PLAINLY = {*ASKED_ALWAYS, "compressor", "bank", "git"}
"""What is asked where Enter is the answer to each."""


@pytest.fixture(name="begun")
def _begun(tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    opened: list[Terminal] = []

    def begin(*words: str) -> Terminal:
        opened.append(Terminal(tmp_path, "init", *words))
        return opened[-1]

    yield begin
    for each in opened:
        if each.process.poll() is None:
            each.process.kill()
            each.process.wait()
        os.close(each.own)


@pytest.mark.parametrize(
    "said",
    [{"document": ""}, {"document": "binder 3", "who": ""}],
    ids=["no place", "nobody answers"],
)
def test_a_risk_assessment_without_a_place_is_left_out_and_told(
    said: dict[str, str], begun: Callable[..., Terminal], tb: Run, tmp_path: Path
) -> None:
    terminal = begun("quay")
    for begins, answer in [
        ("What is the ledger called", ""), ("By which rules", "uk"), ("What do the gauges", ""), ("Is there a fill station", "no"),
        ("Initials of whoever signs", ""), ("Was one made", "yes"), ("Where is it written", said["document"]),
        *([("Initials of whoever made", said["who"])] if "who" in said else []), ("Keep it under git", ""),
    ]:  # fmt: skip
        terminal.until(begins)
        terminal.types(answer + "\n")
    assert terminal.ends() == 0, terminal.told
    assert "left out: without a" in terminal.told
    assert "Asked: was a written risk assessment" in terminal.told
    settings = (tmp_path / "quay/tankbook.yaml").read_text()
    assert "\nrisk_assessed" not in settings
    assert "\n# risk_assessed" in settings
    assert tb("--ledger", "quay", "validate").code == 0


@pytest.mark.parametrize("last", ["Where is it written", "When, as", "Keep it under git"])
def test_a_stop_behind_the_risk_assessment_leaves_nothing(
    last: str, begun: Callable[..., Terminal], tmp_path: Path
) -> None:
    terminal = begun("quay")
    for begins, answer in [
        ("What is the ledger called", ""), ("By which rules", "uk"), ("What do the gauges", ""), ("Is there a fill station", "no"),
        ("Initials of whoever signs", "kd"), ("Was one made", "yes"), ("Where is it written", "binder"), ("When, as", "2199-01"), ("When, as", ""), ("Keep it under git", ""),
    ]:  # fmt: skip
        terminal.until(begins)
        if begins == last:
            terminal.types("\x03")
            break
        terminal.types(answer + "\n")
    assert terminal.ends() == 130
    assert files(tmp_path) == []


def files(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


@pytest.mark.parametrize(
    "said",
    [
        {}, {"folder": "quay", "name": 'Quay: "one" #2', "rules": "ca-tc", "by": "mv"}, {"rules": "uk", "risk": "no"},
        {"rules": "uk", "by": "kd", "risk": "yes", "document": "binder 3, it's: there #1", "when": ""}, {"rules": "de", "station": "no", "git": "no"},
        {"rules": "au", "units": "psi"}, {"bank": "B1=4500/48L", "bank 2": "B2=4500/48L", "no bank": "", "booster": "BO1=B1,B2", "no booster": ""},
        {"compressor": "C1", "booster": ""}, {"rules": "nz", "station": "n"},
    ],
    ids=str,
)  # fmt: skip
def test_a_ledger_that_was_asked_for_is_in_order(
    said: dict[str, str], begun: Callable[..., Terminal], tb: Run, tmp_path: Path
) -> None:
    terminal = begun()
    terminal.answers(**said)
    assert terminal.ends() == 0, terminal.told
    root = tmp_path / said.get("folder", "ledger")
    checked = tb("validate", "--ledger", root)
    assert (checked.code, checked.first) == (0, "OK: no fault, 0 advice; 0 cylinders, 0 log lines")
    assert tb("--json", "--ledger", root).json["ledger"] == said.get("name", root.name)
    settings = (root / "tankbook.yaml").read_text(encoding="utf-8")
    assert f"rules: [{said.get('rules', 'us-dot')}]" in settings
    usual = "psi" if said.get("rules", "us-dot") in ("us-dot", "ca-tc") else "bar"
    assert f"\nunits: {said.get('units', usual)}\n" in settings
    assert (root / "station.yaml").exists() is (said.get("station", "yes")[0] == "y")
    assert (f"\noperator: {said.get('by', '').upper()}\n" in settings) is bool(said.get("by"))
    assert ("\nrisk_assessed: {" in settings) is (said.get("risk") == "yes")
    if (root / "station.yaml").exists():
        station = tb("station", "--ledger", root, "--json").json
        assert [b["name"] for b in station["banks"]] == ["B1", "B2"][: 2 * ("bank" in said)]
        assert [b["name"] for b in station["boosters"]] == ["BO1"][: bool(said.get("booster"))]
        assert ("A booster" in terminal.told) is ("booster" in said)
    assert (root / ".git").exists() is (said.get("git") != "no")
    if said.get("git") != "no":
        log = subprocess.run(
            ["git", "-C", root, "log", "--oneline"], capture_output=True, text=True, check=True
        )
        assert len(log.stdout.splitlines()) == 1
        status = subprocess.run(
            ["git", "-C", root, "status", "--porcelain"], capture_output=True, text=True, check=True
        )
        assert status.stdout == ""


@pytest.mark.parametrize("place", range(len(ASKED_PLAINLY)))
def test_a_stop_at_any_question_leaves_nothing(
    place: int, begun: Callable[..., Terminal], tmp_path: Path
) -> None:
    terminal = begun()
    asked = [b for b, name in QUESTIONS if name in ASKED_PLAINLY]
    for begins in asked[:place]:
        terminal.until(begins)
        terminal.types("\n")
    terminal.until(asked[place])
    terminal.types("\x03")
    assert terminal.ends() == 130
    assert files(tmp_path) == []


def test_the_end_of_the_input_is_no_answer(begun: Callable[..., Terminal], tmp_path: Path) -> None:
    terminal = begun()
    terminal.until("In which folder")
    terminal.types("\x04")
    assert terminal.ends() == 130
    assert files(tmp_path) == []


def test_a_killed_one_leaves_nothing(begun: Callable[..., Terminal], tmp_path: Path) -> None:
    terminal = begun("quay")
    terminal.until("What is the ledger called")
    terminal.process.send_signal(signal.SIGTERM)
    terminal.ends()
    assert files(tmp_path) == []


WRONG = [
    ("The compressor's label", "a/b", "is not an id"), ("A bank of air", "B1", "is no bank; write it as B1="), ("A bank of air", "B1=x/48L", "not"),
    ("By which rules", "usa", "one of "), ("By which rules", "eu-adr", "says too little alone"), ("The compressor's label", "no", "is an answer"), ("The compressor's label", "None", "is an answer"),
    ("A bank of air", "no", "is an answer"), ("What do the gauges read in", "kPa", "one of psi, bar"),
    ("Is there a fill station", "perhaps", "yes or no"), ("Initials of whoever signs", "Jo Smith", "names stay out"), ("Initials of whoever signs", "$(id)", "letters"),
    ("What is the ledger called", "a\x1b[31m", "no line of up to"), ("What is the ledger called", "x" * 300, "no line of up to"),
]  # fmt: skip


@pytest.mark.parametrize("width", ["40", "60"])
def test_no_question_is_wider_than_its_terminal(
    width: str, begun: Callable[..., Terminal], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WIDTH_OF_TERMINAL", width)
    terminal = begun()
    for begins in ("In which folder", "What is the ledger called", "By which rules", "What do"):
        terminal.until(begins)
        terminal.types("\n")
    terminal.until("Is there")
    assert "eu-adr" in terminal.told
    lines = [line.rstrip() for line in terminal.told.replace("\r", "").splitlines()]
    assert [line for line in lines if len(line) > int(width)] == []
    terminal.process.kill()


@pytest.mark.parametrize(("question", "wrong", "told"), WRONG)
def test_an_answer_that_cannot_be_is_asked_again(
    question: str, wrong: str, told: str, begun: Callable[..., Terminal], tmp_path: Path
) -> None:
    terminal = begun()
    for begins, name in QUESTIONS:
        if name not in ASKED_PLAINLY:
            continue
        terminal.until(begins)
        if begins == question:
            terminal.types(wrong + "\n")
            terminal.until(told)
            terminal.until(begins)
        terminal.types("\n")
    assert terminal.ends() == 0, terminal.told
    assert files(tmp_path) == ["ledger"]


def test_a_folder_that_holds_one_is_asked_again_and_a_named_one_refused(
    begun: Callable[..., Terminal], tb: Run, tmp_path: Path
) -> None:
    assert tb("init", tmp_path / "quay", "--units", "psi").code == 0
    before = (tmp_path / "quay/tankbook.yaml").read_bytes()
    terminal = begun()
    terminal.until("In which folder")
    terminal.types("quay\n")
    terminal.until("it is there already")
    terminal.until("In which folder")
    terminal.types("\x03")
    assert terminal.ends() == 130
    named = begun("quay")
    assert named.ends() == 2
    assert "What is the ledger called" not in named.told
    assert (tmp_path / "quay/tankbook.yaml").read_bytes() == before


@pytest.mark.parametrize(
    "option",
    [
        ("--name", "Quay"),
        ("--units", "bar"),
        ("--rules", "uk"),
        ("--no-station",),
        ("--no-git",),
        ("--by", "MV"),
        ("--json",),
    ],
)
def test_with_an_option_nothing_is_asked(
    option: tuple[str, ...], begun: Callable[..., Terminal], tmp_path: Path
) -> None:
    terminal = begun("quay", *option)
    assert terminal.ends() == 0, terminal.told
    assert "?" not in terminal.told.partition("Asked")[0]
    assert (tmp_path / "quay/tankbook.yaml").exists()


def test_without_a_terminal_nothing_is_asked(tb: Run, tmp_path: Path) -> None:
    assert tb("init").code == 2
    assert files(tmp_path) == []
    assert tb("init", "quay").code == 0


def test_it_is_no_repository_within_another(tb: Run, tmp_path: Path) -> None:
    subprocess.run(["git", "init", "-q", tmp_path], check=True)
    ran = tb("init", "quay", "--git")
    assert ran.code == 0
    assert "it lies in the repository of" in ran.err
    assert not (tmp_path / "quay/.git").exists()


@pytest.mark.parametrize("by", ["Jo Smith", "$(id)", "x" * 9, "1"])
def test_initials_that_are_none_are_refused(by: str, tb: Run, tmp_path: Path) -> None:
    assert tb("init", "quay", "--by", by).code == 2
    assert files(tmp_path) == []
