"""What a requalifier may write to let a cylinder go."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.rules.letting_go import Suspicion, lets_go, reads_well, speaks_for


@pytest.mark.parametrize(
    "text",
    [
        "suspected crack remains", "suspected crack still visible", "suspected crack is real",
        "suspected crack verified by eddy current", "suspected crack found, 3 threads",
        "suspected crack present", "suspected crack grew since February", "suspected crack not gone",
        "suspected crack 4 mm long through two threads", "suspected crack; destroy", "neck split",
        "indication in thread 2, 3 threads deep", "did not pass", "not acceptable", "unfit", "not fit for use",
        "unfit for service", "do not fill", "out of service", "not cleared", "positive", "defective", "refused",
        "inconclusive", "doubtful", "see report", "leaks", "nicht bestanden", "signal above limit",
        "eddy current signal at 4 o clock", "tbc", "x", "no crack test done", "not inspected", "pending",
        "not only a tool mark", "", "no crack at the neck, but a crack at the shoulder", "without crack test",
        "Riss bestätigt", "not without cracks", "cracks could not be ruled out", "no doubt a crack", "n/a",
        "letter not found", "cause of the line not found", "no indication what it is", "valve ok",
        "not sure it is ok", "in order to decide", "no report found", "no crack report enclosed",
        "origin not confirmed", "not negative", "indication confirmed", "fault found",
        "indications in two threads", "tool mark; failed", "tool mark, to be re-inspected", "no tool mark",
        "doesn't pass", "didn't pass", "won't pass", "can't be passed", "isn't safe", "isn't sound",
        "wasn't accepted", "not considered safe", "not deemed fit for service", "cannot be regarded as safe",
        "hardly safe", "far from sound", "non conforme", "non accepté", "nicht mehr in Ordnung",
        "nicht erfolgreich bestanden", "Prüfung nicht mehr bestanden", "pass withheld", "acceptance withheld",
        "pass not given", "does not meet acceptance criteria", "exceeds the acceptance limit",
        "signal above acceptance level", "outside acceptance criteria", "fit for display only",
        "passed on to the maker", "last test passed; this one not",
        "possible crack is growing; accepted by owner", "the suspected crack was confirmed, previously passed",
        "eddy current failed at thread 3, hydro passed", "Eddy current: fail. Hydro: pass.",
        "visual rejected, hydro within limits", "test-says-failed", "no new cracks since the last test",
        "no further cracks", "no other cracks besides thread 3", "no crack growth since 2024",
        "crack was not visible last year", "crack not present in 2024, 3 mm now",
        "no crack outside, line through three threads inside",
        "no crack in the shoulder; linear indication 6 mm in thread 2",
        "no indication found outside, thread 2 indicates",
        "no defects found in 2020, indication in thread 2 now",
        "kein Anriss sichtbar, Anzeige im Gewinde bleibt", "crack not confirmed nor excluded",
        "fold, do not fill", "lap, withdraw it from service", "fold runs into the wall, take it out of service",
        "score through four threads, deeper than allowed", "scratch 2 mm deep, over the limit",
        "lamination in the wall", "more than a scratch", "no crack but neck deformed",
        "no crack, wall too thin", "no cracks; expansion over the limit",
        "passed hydro. At the valve opening bulged", "valve", "sets_aside", "tool mark?",
        "probably a tool mark", "may be a tool mark", "could be a fold", "looks sound, please have it tested",
        "no crack found with the naked eye, needs eddy current",
        "no crack seen, retest with eddy current recommended", "passed by eye only", "no crack in the boot",
        "no crack in the valve", "no cracks in the paint", "crack free boot, neck see report",
        "no crack detection done", "without crack detection", "no crack detection equipment here",
        "no crack gauge to hand", "ohne Riss-Prüfung", "kein Riss-Test gemacht", "too much dirt to see",
        "cannot tell, too much paint", "could not see for dirt", "covered with grease", "dust on the lens",
        "paint", "customer says no crack", "owner wants it passed", "to be passed by maker",
        "passed back to the shop for their decision", "unless accepted by maker",
        "accepted on condition of a further eddy current test", "not sure, safe to say it needs eddy current",
        "neck thread wear, 3 threads left", "not yet passed", "not (yet) passed", "not fully passed",
        "yet to pass", "should pass next time", "passed: no", "passed? no", "pass: n", "safe: no",
        "approved: not", "accepted - not", "sound - hardly", "passed on paper only", "no longer crack free",
        "no more crack-free", "no crack until now", "line 6 mm in thread 3, owner told", "see letter", "ok",
        "not free of cracks", "hairline", "passed but cracked", "nothing", "no", "no crack, no",
        "tool mark not found", "crack is in a fold",
        "report no 12 crack found", "cylinder no 3 crack found", "letter no 5 crack seen in thread 2", "test no 2 crack present", "crack no. 3", "0 cracks 1 fissure", "crack ruled out or confirmed", "removed from service, passed", "removed from use, no crack", "negative for use", "passed the neck only", "report 12 crack found", "threads good crack",
    ],
)  # fmt: skip
def test_what_does_not_say_that_there_is_no_crack_lets_nothing_go(text: str) -> None:
    assert not lets_go(text)


@pytest.mark.parametrize(
    "text",
    [
        "no indication", "dye penetrant negative", "no defects", "no fault found", "nothing found",
        "suspicion not confirmed", "run-out of the tap", "ohne Befund", "o.B.", "rissfrei", "Drehriefe",
        "crack-free", "no crack", "no cracks found", "not a crack", "a tool mark",
        "found to be a fold, no cracks", "the suspected crack is a tool mark",
        "suspected crack is a tool mark, could not be felt", "negative for cracks",
        "crack-like indication is a tap mark", "crack indication was dirt", "passed", "free of cracks",
        "Riss nicht bestätigt", "keine Risse", "surface fold, no crack",
        "no eddy current indications of cracks", "crack: none", "cracks ruled out", "as new",
        "no crack or corrosion", "neither cracks nor corrosion", "crack not confirmed",
        "No evidence of cracking; accepted", "scratch, 0.1 mm", "no leaks, no cracks", "false indication",
        "false call", "false positive", "indication is non-relevant", "no recordable indications",
        "no reportable indication", "no significant indications", "no indications above threshold",
        "free from defects", "nothing abnormal detected", "NAD", "no abnormality", "no failure", "not rejected",
        "suspicion unfounded", "serviceable", "suitable for service", "return to service",
        "eddy current satisfactory", "signal below threshold", "keine Anzeigen", "keine Rissanzeigen",
        "ohne Rissanzeige", "keine unzulässigen Anzeigen", "Verdacht nicht bestätigt", "nicht gerissen",
        "Wirbelstrom i.O.", "i. O.", "Bearbeitungsspur", "Bearbeitungsriefe", "cylinder not affected",
        "no folds or cracks, passed", "no dents or cracks", "letter of 2026-03-04, no crack",
        "tool mark from tapping and no flaw in the thread", "eddy current: no crack",
        "letter of 4 March: no crack, a tool mark", "thread 2: tool mark, no crack", "it is a tool mark",
        "passed, plus not approved", "no cracks detected by eddy current test",
        "surface scratch only, not a crack", "crack indication is a tool mark", "hydro and eddy current passed",
        "VE passed", "test report no 4711: no crack", "hydrostatic test passed at 5000 psi", "no crack. Fit for further use", "fit for continued service", "threads clean, no crack", "no crack found on re-inspection", "re-examined, no crack", "keine Risse feststellbar", "kein Anriss, Wirbelstromprüfung bestanden", "within acceptance limits", "no findings", "report 4711-b: no crack",
    ],
)  # fmt: skip
def test_no_crack_or_what_it_was_instead_lets_it_go(text: str) -> None:
    assert lets_go(text)
    assert reads_well(text)


@pytest.mark.parametrize(
    ("text", "of", "lets"),
    [
        ("no heat damage", Suspicion.HEAT, True),
        ("hardness within limits", Suspicion.HEAT, True),
        ("hardness as new", Suspicion.HEAT, True),
        ("no damage by heat found", Suspicion.HEAT, True),
        ("tested and passed after heat", Suspicion.HEAT, True),
        ("keine Hitzeschäden", Suspicion.HEAT, True),
        *((text, Suspicion.HEAT, True) for text in ("no overheating", "not overheated", "hardness 120 HB, passed", "conductivity within limits")),
        *((text, Suspicion.BULGE, True) for text in ("not bulged", "roundness within limits")),
        ("no bulge", Suspicion.BULGE, True),
        ("no crack", Suspicion.HEAT, False),
        ("a tool mark", Suspicion.HEAT, False),
        ("no heat damage", Suspicion.CRACK, False),
        ("no bulge", Suspicion.CRACK, False),
        ("passed", Suspicion.BULGE, True),
        ("no defects", Suspicion.BULGE, True),
        *((text, Suspicion.HEAT, False) for text in ["heat number 4471", "heat treatment unknown", "the fire brigade owns it", "no damage to the boot", "no burn on the boot", "no damage to valve; wall soft", "hardness low, no damage to threads", "no heat test done", "no heat treatment", "not heated before", "no fire report available", "charred paint", "burnt through", "hardness below limit, no burn mark", "no further damage", "acceptance limits exceeded"]),
        *((text, Suspicion.BULGE, False) for text in ["no bulge in the boot", "no other bulge", "no further bulges", "bulge was not seen last year", "no bulge gauge"]),
    ],
)  # fmt: skip
def test_each_suspicion_is_answered_by_its_own_words(text: str, of: Suspicion, lets: bool) -> None:
    assert lets_go(text, of) is lets


GOOD = ("no crack", "passed", "a tool mark", "no indication", "keine Risse")
STRANGE = "xyzzy owner oddly bent maybe worse tomorrow cannot deeper wobbly".split()


@pytest.mark.parametrize(
    "text",
    [
        "crack not removed", "crack in thread 3 not polished out", "cracks not dressed out", "crack 12 mm not cleaned",
        "crack not superficial", "crack not harmless", "crack not small", "crack not only surface", "crack not from machining",
        "crack is in the neck not in body", "crack found in thread 2 not in wall", "crack not inspected", "crack not measured",
        "cracks not checked", "no harmless crack", "no small crack", "no superficial crack", "no crack removed", "not just any crack",
        "crack is clear", "crack in neck is clear", "crack was sound", "crack was fit", "crack clear of threads", "crack accepted",
        "crack is accepted", "crack was within limits", "cracks without polished threads", "crack with no light", "crack not ok",
        "crack not only visible but measured", "crack not good", "crack is not clear", "crack is not sound", "no ok", "no good",
        "crack is not a bulge", "crack is a crack not a tool mark", "crack in neck no bulge", "crack no leak", "crack without leak",
        "line is a crack not a scratch", "crack neither removed nor small", "crack, not removed", "no crack test passed",
        "crack nicht entfernt", "Riss nicht klein", "Riss nicht geprüft", "Riss im Hals nicht in der Schulter",
        "fold not the suspected crack", "crack free of dirt", "signal from a crack", "indication from thread 2", "crack from a tool mark", "crack by a scratch", "crack free from rust", "cracked", "confirmed", "found", "crack seen",
        "hydrostatic test passed, crack not removed", "crack not tested, passed", "no suspicion, confirmed", "no evidence removed crack confirmed",
        "passed all tests but eddy current", "only visual passed", "passed only hydro", "hydro passed, only visual done",
        "nur Sichtprüfung bestanden", "passed, only",
        "not a scratch it is a crack", "this is not a tool mark it is a crack", "not a tool mark a crack", "no fold crack",
        "no burr, crack", "kein Kratzer ein Riss",
        "accepted for retest", "fit for test", "suitable for eddy current test", "accepted for examination", "safe to test",
        "passed for inspection", "safe at 1500 psi", "passed for use at 1500 psi", "passed at 1500 psi", "fit at 155 bar",
        "no rejectable cracks", "no significant crack", "no relevant crack", "no reportable crack", "no recordable cracks",
        "no measurable crack", "keine unzulässigen Risse", "no crack of 3 mm", "crack not significant",
        "passed in March 2019", "no crack in March 2019", "no crack in 03/2019", "Riefe 12 mm durch 4 Gewinde",
        "Riefe durch alle Gewinde", "fold from thread 1 to 8",
    ],
)  # fmt: skip
def test_a_denial_of_something_else_leaves_a_crack_standing(text: str) -> None:
    assert not lets_go(text)
    assert not reads_well(text)


@pytest.mark.parametrize(
    "text",
    [
        "bulge not removed", "bulge not harmless", "bulge is in wall not in shoulder", "deformation not significant",
        "heat damage not removed", "burns not superficial", "damage not measured", "damage is clear", "damage is sound",
        "fire damage is superficial not in wall", "heat damage is within limits", "bulge is accepted", "bulge was safe",
        "damage not tested, passed",
    ],
)  # fmt: skip
def test_so_it_does_a_bulge_and_heat(text: str) -> None:
    assert not any(lets_go(text, of) for of in Suspicion)


@pytest.mark.parametrize(
    "text",
    [
        "suspected crack is not a crack but a tool mark", "the suspected crack is no crack", "no visible or measurable crack",
        "no sustained load cracking", "no sustained-load cracks", "Riss ausgeschlossen", "no SLC found", "no crack indicated",
        "no cracks could be found", "kein Riss erkennbar", "Verdacht auf Riss nicht bestätigt", "Verdacht unbegründet",
        "keine Auffälligkeiten", "crack not found", "crack was not found", "suspected crack not confirmed", "crack ruled out",
        "Riss nicht sichtbar", "indication was within limits", "line was accepted", "inspection found no crack",
        "tool mark, dressed out", "small scratch", "no crack found in the neck", "crack indications: none", "no crack detected",
        "only a scratch", "nur ein Kratzer", "no rejectable indications", "no significant defects",
        "no cracks or folds", "no folds or cracks", "no crack but a tool mark", "tool mark 2 mm", "run-out 0.1 mm, no crack",
        "hydro passed at 5000 psi", "tested at 345 bar, no crack", "fit for service", "no crack, fit for filling",
        "signal from a scratch", "ok, no crack", "good, no crack", "eddy current signal from thread run-out, no crack",
    ],
)  # fmt: skip
def test_what_a_requalifier_says_of_a_line_that_is_none(text: str) -> None:
    assert lets_go(text)


@given(st.sampled_from(GOOD), st.sampled_from(STRANGE), st.integers(0, 3), st.sampled_from(" ,;."))
def test_one_word_that_is_not_known_and_it_lets_nothing_go(
    good: str, strange: str, at: int, sign: str
) -> None:
    words = good.split()
    words.insert(min(at, len(words)), f"{sign} {strange}")
    assert not reads_well(" ".join(words))


@given(
    st.sampled_from(GOOD),
    st.sampled_from(("crack", "indication", "bulge", "heat damage", "defects")),
)
def test_a_fault_that_nobody_denies_is_never_let_go(good: str, fault: str) -> None:
    assert not reads_well(f"{good}; {fault} at the neck")
    assert not reads_well(f"{fault} found, {good}")


@pytest.mark.parametrize(
    "text",
    [
        "no dirt in crack", "no leak at the crack", "no signal from the crack", "no corrosion at the crack",
        "not rejected with crack", "no rust in the crack", "no dent with bulge", "no corrosion at the bulge",
        "hydro at 100 psi passed", "tested at 10 bar, sound", "passed hydro at 1500 psi", "paint sound",
        "report accepted", "letter approved", "Bericht einwandfrei",
    ],
)  # fmt: skip
def test_what_is_denied_at_a_crack_or_said_of_something_else_lets_nothing_go(text: str) -> None:
    assert not reads_well(text)


@pytest.mark.parametrize(
    ("text", "answers"),
    [
        ("threads sound", {Suspicion.CRACK}),
        ("neck passed", {Suspicion.CRACK}),
        ("cylinder sound", set(Suspicion)),
        ("hydro passed at 5000 psi", set(Suspicion)),
        ("tested at 225 bar, sound", set(Suspicion)),
        ("tested at 224 bar, sound", set()),
        ("tested at 3300 psi, sound", set(Suspicion)),
        ("tested at 3200 psi, sound", set()),
        ("no crack in neck or threads", {Suspicion.CRACK}),
        ("no defects at the suspected crack", set(Suspicion)),
        ("no indication of crack", {Suspicion.CRACK}),
        ("no damage by heat", {Suspicion.HEAT}),
    ],
)
def test_the_soundness_of_a_part_answers_for_that_part(text: str, answers: set[Suspicion]) -> None:
    assert {each for each in Suspicion if lets_go(text, each)} == answers


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("no heat damage, passed", True),
        ("conductivity in order", True),
        ("no fire damage", True),
        ("passed", False),
        ("no crack", False),
        ("no defects", False),
    ],
)
def test_what_speaks_for_aluminium_out_of_a_fire_names_the_heat(text: str, told: bool) -> None:
    assert speaks_for(text, Suspicion.HEAT) is told


SAID: dict[frozenset[Suspicion], list[str]] = {
    frozenset({Suspicion.CRACK}): [
        "no crack, ultrasonic and eddy current passed", "eddy current test: no indications in the neck threads",
        "EC test passed, no cracks found", "Wirbelstrom: keine Anzeige", "Wirbelstromprüfung ohne Befund",
        "Ultraschallprüfung bestanden", "Anzeige in Gang 3 ist eine Bearbeitungsriefe",
        "Anzeige war ein Kratzer, kein Riss", "indication in thread 4 found to be a tap mark",
        "no cracks, machining groove 0.2 mm", "Riefe 0,3 mm, kein Riss", "scratch of 0.1 mm polished out, no crack",
        "ET negative, tool mark", "MPI negative", "magnetic particle negative", "dye penetrant: no indications",
        "Risse: keine", "Anzeigen: keine", "false alarm, no crack by eddy current", "report 4711: no crack",
        "letter of 4 March 2026: no crack", "inside and outside examined, no crack",
        "visual and eddy current: no cracks", "EC passed", "EC: clear", "ET negative", "no crack (EC)", "false alarm",
        "false alarm: tool mark", "artefact", "machining groove", "scuff", "visual and eddy current passed",
        "thread 2: tool mark, no crack", "tool mark in thread 3", "indication in thread 3 is a tool mark",
        "line in thread 3 was a scratch", "sound neck", "eddy current passed, fit for service",
        "ET: negative", "UT: negativ", "certificate 4711: no crack", "keine Risse im Halsgewinde", "no crack in any thread",
    ],
    frozenset({Suspicion.BULGE, Suspicion.CRACK}): [
        "cracks: none, bulges: none",
    ],
    frozenset({Suspicion.BULGE}): [
        "Beulen: keine", "keine Verformung", "keine Beule, Druckprüfung mit 345 bar bestanden",
        "keine Beule, Durchmesser i.O.", "bulge not confirmed, diameter ok", "no bulge, roundness within limits",
        "hydro passed at 345 bar, permanent expansion 2.5 %, no bulge", "no bulging seen", "bulge ruled out",
        "Prüfdruck 345 bar, keine Beule", "bulge: none", "keine Beule", "hydro test passed, expansion 3 %, no bulge", "expansion normal, no bulge",
        "no bulge found, hydro 5737 psi", "diameter within limits, no bulge", "Druckprüfung bestanden, keine Beule",
    ],
    frozenset(Suspicion): [
        "hydro and ultrasonic passed", "Druckprüfung bestanden", "Druckprüfung mit 300 bar bestanden",
        "hydro and eddy current passed",
    ],
    frozenset({Suspicion.HEAT}): [
        "only paint burnt, passed", "heat: none", "no heat damage, hardness 118 HB", "Härte 120 HB, keine Überhitzung",
        "Härte i.O., kein Hitzeschaden", "keine Hitzeeinwirkung feststellbar",
        "conductivity 34 % IACS, within limits", "hardness and conductivity within limits",
        "only the paint scorched, metal unaffected", "nur Farbe verbrannt, keine Hitzeschäden",
        "burn was paint, metal sound", "no sign of overheating, hardness ok", "metal unaffected, hardness ok",
        "keine Wärmeeinwirkung", "only paint burnt, metal sound", "heat damage: none", "hardness 120 HB, passed",
        "conductivity 33 % IACS, hardness ok, no heat damage", "hardness test passed", "burn is a stain, passed",
        "heat was a stain, passed", "after fire passed", "hardness within limits, passed",
    ],
    frozenset({Suspicion.CRACK, Suspicion.HEAT}): [
        "unaffected",
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "answers"), [(text, answers) for answers, texts in SAID.items() for text in texts]
)
def test_what_a_requalifier_writes_answers_what_it_speaks_of(
    text: str, answers: frozenset[Suspicion]
) -> None:
    assert {each for each in Suspicion if lets_go(text, each)} == answers


@pytest.mark.parametrize(
    "text",
    [
        "visual inspection passed", "it passed the visual", "visual ok, passed", "no fault found by visual",
        "fit for use at 2000", "safe for use at 100", "accepted for service at 1800", "passed 2019", "passed 09-2019",
        "no crack found on 2019-09-04", "no crack seen on 12.03.2019", "accepted from January",
        "no crack in shoulder", "keine Anzeige in Schulter", "no crack in thread 5", "no crack in threads 1-2",
        "no crack in 7 threads", "no lines in 3 threads", "kein Riss am Hals, Gewinde geprüft", "surface accepted",
        "house accepted", "hydro passed; eddy current by maker", "passed out", "fold 30 mm", "lap 12 mm",
        "score 12 mm", "scratch 3 mm in 5 threads", "thread wear 6 threads", "sound shoulder",
        "conductivity 20, passed", "roundness 4 mm, passed", "no rejectable bulge", "no significant bulge",
        "no measurable bulge", "no bulge of 3 mm", "no burns inside", "no burn at the neck", "no softening in neck",
        "no crack detected, magnification 10x", "visual: no crack", "no crack, visual", "no crack in wall",
        "wall sound", "no crack in thread 3", "thread 3 sound", "sound thread 3", "shoulder: no crack",
        "thread 5: no crack, passed", "passed, no crack in thread 5", "no crack: shoulder", "threads inspected",
        "Hals geprüft, kein Riss", "in thread 3 no crack found", "kein Riss in Gang 3",
        "keine Anzeige in Gewindegang 2", "no crack in 2025", "no crack in March", "no crack since 2024",
        "Riss 2024 nicht gefunden", "passed 3/2024", "report 2019: no crack", "bestanden am 04.03.2019",
        "passed at 2000", "hydro 100 psi passed", "hydro 1800 psi, no fault found",
        "Druckprüfung mit 100 bar bestanden", "tested to 155 bar, passed", "passed at 155 bar", "passed by maker",
        "no crack, says maker", "lab passed", "passed by another house", "customer: no crack", "score 3 mm",
        "tool mark 2.5 mm", "fold 20 mm", "Riefe 5 mm", "wall score 1 mm", "shoulder: tool mark",
        "scratch 0.5 mm, 4 threads", "possible artefact", "suspected tool mark", "apparent scratch",
        "rejectable scratch", "unzulässige Riefe", "hydro negative", "negative", "no false alarm",
        "not a false alarm", "not an artefact", "no machining groove, crack", "bulge: 2 mm", "bulge: not found out",
        "bulge: 0.5 mm", "Beule: ja", "Beule 3 mm", "heat damage: yes", "heat damage: minor",
        "deformation within limits", "no significant deformation", "no significant heat damage",
        "no reportable burns", "expansion 12 %", "expansion 12 %, passed", "expansion 3 %",
        "permanent expansion 8 %, no bulge", "hardness 120", "conductivity 20", "roundness 4 mm", "surface passed",
        "no surface crack", "metal inspected", "paint unaffected", "only paint burnt", "burnt paint, passed",
        "passed for use at 150 bar", "safe for filling to 2000", "EC not done", "EC failed", "EC", "ET positive",
        "ET: positive, no crack", "no EC", "EC test pending, no crack", "only EC passed",
        "no confirmed crack", "free of confirmed cracks", "not dirt a crack", "was not paint, a crack",
        "crack found bulge none", "bulge confirmed line 0", "no bulge is crack", "no rust a crack",
        "not a bulge a crack", "crack seen heat damage: none",
        "bulge is a fold", "bulge was a tool mark, passed", "hydro: negative", "fold 0.5 - 12 mm", "fold 0.5 to 12 mm",
        "scratch 10.5 mm", "12.1 mm scratch", "scratch 0.5 mm x 12 mm", "score 2 mm deep in thread", "passed, 2 mm",
        "thread 3 and 4: no crack", "no crack in neck, thread 5", "crack: none in thread 3", "no bulge at the wall",
        "expansion 13 %, passed", "hydro not done, visual passed", "EC: none", "hydro: none, visual passed",
        "not only paint burnt, metal sound", "passed for 12 months", "passed until 2027", "test pressure 100 bar, passed",
        "certificate 2019: no crack", "Prüfdruck 155 bar, keine Beule",
    ],
)  # fmt: skip
def test_a_part_another_time_a_lesser_pressure_or_a_look_alone_answers_nothing(text: str) -> None:
    assert not reads_well(text)
