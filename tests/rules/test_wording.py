"""What people write: which words are said, and which let a cylinder go."""

from __future__ import annotations

import pytest

from tankbook.rules.wording import lets_go, not_passed, sets_aside, speaks_of, speaks_of_shell


@pytest.mark.parametrize(
    "text",
    [
        "suspected crack remains", "suspected crack still visible", "suspected crack is real",
        "suspected crack verified by eddy current", "suspected crack found, 3 threads",
        "suspected crack present", "suspected crack grew since February", "suspected crack not gone",
        "suspected crack 4 mm long through two threads", "suspected crack; destroy", "neck split",
        "indication in thread 2, 3 threads deep", "did not pass", "not acceptable", "unfit",
        "not fit for use", "unfit for service", "do not fill", "out of service", "not cleared",
        "positive", "defective", "refused", "inconclusive", "doubtful", "see report", "leaks",
        "nicht bestanden", "signal above limit", "eddy current signal at 4 o clock", "tbc", "x",
        "no crack test done", "not inspected", "pending", "not only a tool mark", "",
        "no crack at the neck, but a crack at the shoulder", "without crack test", "Riss bestätigt",
        "not without cracks", "cracks could not be ruled out", "no doubt a crack", "n/a",
        "letter not found", "cause of the line not found", "no indication what it is", "valve ok",
        "not sure it is ok", "in order to decide", "no report found", "no crack report enclosed", "origin not confirmed",
        "not negative", "indication confirmed", "fault found", "indications in two threads",
        "tool mark; failed", "tool mark, to be re-inspected", "no tool mark",
    ],
)  # fmt: skip
def test_what_does_not_say_that_it_may_go_does_not_let_it_go(text: str) -> None:
    assert not lets_go(text)


@pytest.mark.parametrize(
    "text",
    [
        "no indication", "dye penetrant negative", "no defects", "no fault found", "nothing found",
        "suspicion not confirmed", "run-out of the tap", "ohne Befund", "o.B.", "rissfrei",
        "Drehriefe", "crack-free",
        "no crack", "no cracks found", "not a crack", "a tool mark", "found to be a fold, no cracks",
        "the suspected crack is a tool mark", "suspected crack is a tool mark, could not be felt",
        "negative for cracks", "crack-like indication is a tap mark", "crack indication was dirt",
        "passed", "free of cracks", "Riss nicht bestätigt", "keine Risse", "surface fold, no crack",
        "no eddy current indications of cracks", "crack: none", "cracks ruled out", "as new",
        "no crack or corrosion", "neither cracks nor corrosion", "crack not confirmed",
        "No evidence of cracking; accepted", "scratch, 0.1 mm", "no leaks, no cracks",
    ],
)  # fmt: skip
def test_what_was_there_instead_lets_it_go(text: str) -> None:
    assert lets_go(text)


@pytest.mark.parametrize(
    "text",
    [
        "do not fill", "don't fill", "dont use", "never fill this", "cannot be filled", "must not be used",
        "not to be filled", "out of test", "quarantined", "quarantine", "stolen", "overfilled to 5000 psi",
        "over-filled", "deformed", "swollen at the foot", "welded", "drilled", "delaminated",
        "nicht füllen", "condemned", "valve and neck deformed",
    ],
)  # fmt: skip
def test_what_sets_a_cylinder_aside(text: str) -> None:
    assert sets_aside(text)


@pytest.mark.parametrize(
    "text",
    [
        "new, never used", "not welded", "boot drilled for drain", "drain holes drilled in boot",
        "not overfilled", "never failed", "handle deformed", "fill slowly", "not filled since May",
        "swollen o-ring replaced", "never rejected", "never stolen",
    ],
)  # fmt: skip
def test_what_does_not(text: str) -> None:
    assert not sets_aside(text)


@pytest.mark.parametrize(
    ("text", "lets"),
    [("no heat damage", True), ("hardness within limits", True), ("burnt through", False), ("no crack", False)],
)  # fmt: skip
def test_heat_is_answered_by_words_of_heat(text: str, lets: bool) -> None:
    assert lets_go(text, ("heat*", "damage", "burn*")) is lets


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("could not rule out a crack", True), ("not sure if crack in neck", True),
        ("customer not happy about crack at neck", True), ("never seen such a crack", True),
        ("no valve damage crack at neck", True), ("without boot and crack at base", True),
        ("not a small crack", True), ("crack, not seen before", True),
        ("crack not visible from outside, only by lamp", True), ("crack not confirmed healed", True),
        ("no crack", False), ("no sign of a crack", False), ("did not find any cracks", False),
        ("no eddy current indication of cracks", False), ("neither cracks nor rust", False),
    ],
)  # fmt: skip
def test_a_denial_stands_close_to_what_it_denies(text: str, says: bool) -> None:
    assert bool(speaks_of(text, "crack*")) is says


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("boot cracked", False), ("cracked boot", False), ("crack in the boot", False),
        ("paint cracked", False), ("gauge lens cracked", False), ("crack im Netz", False),
        ("valve knob cracked", False), ("crack in valve handle", False), ("o-ring cracked", False),
        ("crack under the boot", True), ("cracked beside the label", True), ("boot ok, neck cracked", True),
        ("under the boot crack at base", True), ("crack in the valve thread", True), ("cracked", True),
    ],
)  # fmt: skip
def test_a_crack_in_a_fitting_is_none_in_the_cylinder(text: str, says: bool) -> None:
    assert bool(speaks_of_shell(text, "crack*")) is says


@pytest.mark.parametrize(
    "text",
    ["did not pass", "not ok, scrapped", "unsafe", "unserviceable", "leaked at 4000 psi", "bulged under test",
     "not accepted", "failed", "no longer fit"],
)  # fmt: skip
def test_a_test_that_says_it_was_not_passed(text: str) -> None:
    assert not_passed(text)


@pytest.mark.parametrize(
    "text",
    [
        "passed",
        "nothing failed",
        "no leaks",
        "valve leaked",
        "within limits",
        "passed, plus not approved",
        "plus rating refused",
        "passed; sticker not fit",
        "first run failed, repeated and passed",
    ],
)
def test_good_news_is_no_bad_news(text: str) -> None:
    assert not not_passed(text)
