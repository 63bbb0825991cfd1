"""What people write: which words are said, and which let a cylinder go."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger import shipped
from tankbook.rules import wording
from tankbook.rules.giving_way import says_gas_lost, says_giving_way
from tankbook.rules.wording import (
    denies_cracks,
    first_of_shell,
    in_doubt,
    not_passed,
    says_cracked,
    says_do_not,
    says_no_answer,
    sets_aside,
    speaks_of,
    speaks_of_shell,
    spoken_of,
    unharmed,
)


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
        ("no cracks except one at thread 4", True), ("no cracks, no bulges, except the label", False),
        ("crack free except for thread 2", True), ("keine Risse bis auf einen im Gewinde", False),
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
        "retested after the first run was stopped at 4000 psi by a hose, passed",
        "first reading aborted, gauge changed, second run ok",
        "failed valve replaced before the test",
        "Ventil war undicht, ersetzt",
        "hydro failed to turn up by the van",
        "test house failed to collect it, test next week",
        "customer refused the price of the test",
        "hydro refused our offer",
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


def grave(text: str) -> str:
    """What is never accepted and a text speaks of."""
    rows = (row for row in shipped.findings() if row.never)
    return next(filter(None, (spoken_of(text, row) for row in rows)), "")


@pytest.mark.parametrize(
    "text",
    [
        "Risse im Hals", "Haarrisse am Hals", "Anrisse im Gewinde", "Hals gerissen", "eingerissen",
        "Hals gesprungen", "ausgebeult", "Ausbeulung", "Beule nach außen", "war im Brand", "Hausbrand",
        "verbrannt", "verkohlt", "Hitzeschaden", "stark erhitzt", "war im Ofen getrocknet",
        "Feuerwehr holte sie aus dem Brand", "neck is split", "split along thread 3", "split down the wall",
        "neck broken", "ruptured", "hole in the wall", "leaks through the wall", "swollen at the base",
        "ballooned", "deformed by overpressure", "in a blaze", "fire brigade pulled it from the blaze",
        "was in an oven", "baked at 200 C by a painter", "heat treated by the owner in his oven",
        "crack in paint and metal", "crack in the paint goes into the metal",
        "cracks in the lacquer and the aluminium under it", "Riss im Lack und im Metall", "bulge in boot area",
        "bulge in the boot region", "removed boot bulge at the base",
        "after removing valve cracks in the neck seen", "crack in valve area", "crack of the valve bore",
        "crack in the valve pocket", "crack not visible to the naked eye",
        "crack is not visible with the valve in", "crack was not found last year",
        "crack not seen last time, clear now", "no crack last year, line through threads now",
        "no boot, neck cracked or worse", "without boot, shoulder cracked or scored",
        "no valve, thread cracked or crossed", "no sticker, crack or line at neck",
        "nothing visible inside crack outside", "no longer free of cracks", "not any more crack free",
        "no crack until last week", "not tested for cracks", "checked for cracks, found one",
    ],
)  # fmt: skip
def test_what_speaks_of_a_crack_fire_or_a_bulge(text: str) -> None:
    assert grave(text)


@pytest.mark.parametrize(
    "text",
    [
        "heat from filling", "compressor overheated, fill stopped", "overheated compressor, stopped the fill",
        "fire alarm in the shop, put aside", "fire drill", "fire marshal visit", "fire hose used to rinse it",
        "snow melted, dry it", "candle wax melted on it", "burnt-out bulb in lamp, could not look inside",
        "burned finger, postponed", "burn mark on the boot", "awaiting heat-shrink label",
        "heat stamp unreadable", "heated debate with owner about sticker", "cracked open to smell it",
        "customer cracked the valve open", "cracked the valve for a second",
        "cracking open the valve, it hissed", "HP seat cracked", "cracked seat in the valve",
        "hairline crack in knob", "cracked plastic cap", "crack in the plastic base", "cracked trolley wheel",
        "cracked crate", "hairline scratch in paint", "bag bulges", "no dents or cracks", "no cracks or bulges",
        "no corrosion or crack", "no gouges, dents, bulges or cracks", "no signs of fire, heat or cracks",
        "without dents or cracks", "free of dents and cracks", "no dents/cracks", "no dents and cracks",
        "dropped; no dents or cracks seen, hold for KD", "dropped, check for cracks", "check neck for cracks",
        "look for bulge", "suspected leak, checked for a crack", "looked over, no dents or cracks",
    ],
)  # fmt: skip
def test_what_does_not_speak_of_them(text: str) -> None:
    assert not grave(text)


def named(text: str) -> str:
    """The first of what is never accepted and a text speaks of."""
    return next((r.what for r in shipped.findings() if r.never and spoken_of(text, r)), "")


CRACKED = [
    "cracked valve thread", "cracked", "crack", "neck cracked", "crack in the valve thread",
    "cracked the valve boss", "crack at the valve", "crack near valve", "crack by the valve",
    "crack under valve", "valve cracked the neck", "crack the size of a hair", "crack the length of a thread",
    "crack valve side", "crack valve end", "cracked valve neck", "no joke: cracked", "cracked, no joke",
    "cracked, and he cracked a joke about it", "not sure if cracked", "may be cracked", "crack?",
    "could be a crack", "cracks not checked", "not only cracked but bulged",
    "a crack a joke could be made of", "cracked at dawn", "crack on the neck", "crack on shoulder",
    "crack on thread 3", "crack up to the shoulder", "cracked up to thread 4", "crack up the wall",
    "no cracks last year, one now", "crack open at the neck", "crack opened up at the neck",
    "cracked open along the shoulder", "neck cracked open", "shoulder cracked open", "crack, valve off",
    "crack the valve hides", "crack valve must come out", "cracked valve and neck", "cracked, valve stuck",
    "crack the valve thread runs into", "crack it opened wider", "length-wise crack at neck",
    "crack open to see with the eye", "crack jokes aside", "crack the code on shoulder unreadable",
    "neck crack the valve, must look", "valve neck cracked open", "the valve thread cracked open",
    "it cracked open", "cylinder cracked open", "neck cracking pressure 200 bar",
    "heard cracking pressure dropped", "shoulder open a crack", "opened a crack in the neck",
    "neck opened a crack", "it opened a crack", "valve opened a crack in the neck",
    "did not crack jokes neck cracked", "cracked the valve in the neck", "open valve a crack at the neck", "there is a crack open the valve slowly",
    "crack valve in neck",
    "hairline crack the valve, hides it", "crack at dawn", "a crack the valve", "cracks the valve",
    "neck has cracked open", "crown cracked open, valve off", "crack near the valve open", "crack is open",
    "crack stands open", "base cracked the valve hissed", "crack boot must come off",
    "valve cracked the shoulder", "not without cracks", "no cracks? not sure", "cracked like an egg",
    "a hairline, no crack the size of a coin but a crack", "cracks in the neck, cracked jokes about it",
    "cracked a joke, then saw it was cracked", "cracked the valve, then saw a crack in the neck",
    "crack the valve when the neck is cracked",
]  # fmt: skip
"""Each speaks of a crack, whatever is said of valves and jokes beside it."""

DOUBTFUL = [
    "crack on with the job", "we cracked on", "had a crack at the puzzle", "wise crack", "crack up",
    "cracking dive", "cracking day", "crack the seal on the box", "no cracks I think", "probably no cracks",
    "maybe no crack", "no cracks, not sure", "hopefully no crack", "no cracks as far as I could see",
    "no crack?", "no cracks seen?", "crack the valve with a mallet",
]  # fmt: skip
"""What may speak of one holds as well."""

NO_CRACK = [
    "cracked a joke", "cracked a joke about the valve", "he cracked jokes all morning", "no cracks",
    "no cracks seen", "not cracked", "it is not cracked", "without crack", "without any crack",
    "crack open the valve", "crack the valve", "crack valve", "crack the valve open to purge",
    "crack valve slowly to smell", "crack its valve", "crack each valve", "crack both valves",
    "cracked valve to vent", "valve cracked open briefly", "cracked the valve", "cracking the valve",
    "just crack it open", "crack the tank valve", "crack the cylinder valve", "crack the valve slightly",
    "crack the valve a little", "crack of dawn", "at the crack of dawn", "crack the isolator",
    "crack the manifold isolator", "crack a bleed screw", "crack the bleeder", "crack the bank valve",
    "cracking pressure 140 psi", "cracking pressure of the second stage",
    "second stage cracking pressure too low", "crack the whip valve", "wisecrack by the customer",
    "not a crack team", "cracked up laughing", "cracked him up", "cracked the code", "free of cracks",
    "crack-free", "crack free", "cracks: none", "no crack found", "crack ruled out", "never cracked",
    "isn't cracked", "no longer cracked after repair", "valve has been cracked open",
    "valve opened a crack to purge", "open the valve a crack", "door open a crack",
    "cracked the valve for a second", "we cracked on with the fills", "cracks a joke",
    "cracked the valve and smelled it", "cracked valve, replaced", "valve cracked", "a cracking dive",
    "crack the valve, then close it", "cracked his usual jokes",
    "cracked some silly jokes about the cylinder", "cracking open the valve, it hissed",
    "customer cracked the valve open", "not cracked, gauged", "no crack or bulge", "boot cracked, neck ok",
    "no cracks, not one", "did not find any cracks, threads good",
]  # fmt: skip
"""What nobody means a crack by: the trade's word for opening a little, denials, what people say."""


@pytest.mark.parametrize("text", [*CRACKED, *DOUBTFUL])
def test_what_speaks_of_a_crack_or_may_holds(text: str) -> None:
    assert named(text) == "crack"


@pytest.mark.parametrize("text", NO_CRACK)
def test_what_means_no_crack_holds_nothing(text: str) -> None:
    assert not grave(text)


@pytest.mark.parametrize("text", NO_CRACK)
@pytest.mark.parametrize(
    "crack", ["neck cracked", "a crack at thread 3", "hairline in the shoulder"]
)
def test_no_turn_of_phrase_hides_a_crack_beside_it(text: str, crack: str) -> None:
    for said in (f"{text}; {crack}", f"{crack}; {text}", f"{crack}, {text}", f"{text}. {crack}"):
        assert named(said) == "crack", said


@pytest.mark.parametrize(
    ("what", "texts"),
    [
        (
            "heat",
            # what was at the cylinder too
            "paint charred; scorched paint near the shoulder; paint burnt off near the valve; boot melted;"
            "boot melted onto the metal; valve knob melted; Lack verbrannt; Netz geschmolzen, stand am Ofen;"
            "label burnt; Aufkleber verkohlt; étiquette brûlée;"
            "smoke damage; smoke-damaged; soot all over; stood next to a bonfire; found in ashes;"
            "blow-lamped to free the valve; blowtorch used on the valve; struck by lightning; autoclaved;"
            "annealed; welding spatter on the side; a lug welded on;"
            "Brandschaden; durch Brand geschwärzt; Garage abgebrannt; überhitzt; ueberhitzt; UBERHITZT;"
            "angeschmort; angesengt; mit dem Brenner erwärmt; geschweißt; geschweisst; Ruß am Boden;"
            "brûlée; brulee; passée au feu; surchauffée; surchauffee; chauffée au chalumeau; noircie; soudée;"
            "fuego; quemada; recalentada; con soplete; fuoco; bruciata; surriscaldata;"
            "verbrand; oververhit; gesmolten; queimada",
        ),
        (
            "crack",
            "craked neck; possible crak in thread 2; line across two threads, catches the pick; split seam;"
            "open seam at the shoulder; rissig am Hals; Sprung im Hals; Spalt im Gewinde; fendue au col;"
            "crique dans le filetage; fêlure; felure; fissurée; grieta; agrietada; rajada; cricca nel collo;"
            "incrinata; scheur in de hals; gescheurd; rachada; fe\u0302lure au col",
        ),
        (
            "bulge",
            "swelled; swelling at the foot; a belly in the wall; body out of round; base domed out;"
            "wall pushed out; verformt; aufgebläht; aufgeblaeht; déformée; deformee; bombée; hinchada; abombada;"
            "deformado; rigonfia; bombata; opgezwollen; vervormd",
        ),
    ],
)  # fmt: skip
def test_words_of_danger_in_the_languages_of_those_who_sign(what: str, texts: str) -> None:
    assert {text: named(text) for text in texts.split(";")} == dict.fromkeys(texts.split(";"), what)


@pytest.mark.parametrize(
    "text",
    [
        "yoke screw cracked", "Kunststofffuß gerissen", "Standfuss gerissen", "pied fissuré", "knob cracked",
        "volant fissuré, remplacé", "joint fendu", "robinet fissuré, remplacé", "swollen wooden rack",
        "crack in the yoke knob", "painted flames on it", "nitrox sticker burned in the sun",
        "fitted after the fire inspection of the shop",
        "fill hose melted", "gauge lens scorched", "thread slightly deformed", "foot ring deformed",
        "visual pushed out to next week", "bowed out of the trip", "whip line through the hatch", "feu vert du client",
        "lump on the boot", "lightning cable left in the bag", "gonflée à 230 bar", "gonfiata a 200 bar", "brand new", "left it with the brand manager",
        "torch and bag forgotten in the van", "sea swell, dive cut short", "Sprungschicht auf 12 m",
        "hot after the fill", "smoker's car", "belly band loose", "no swelling", "pas de fissure",
        "keine Verformung", "sans brûlure", "sin grietas", "senza cricche", "geen scheur", "nessuna cricca",
        "aucune déformation", "sin fuego", "pas brûlée", "snow on the wheel", "feuille perdue",
        "compressor burnt out, no fills today", "ascenseur en panne", "burn mark on the boot",
        "crate charred, thrown away", "fundas nuevas", "fondo limpio", "rusty trolley wheel", "sur le quai",
    ],
)  # fmt: skip
def test_words_that_look_like_danger_and_are_none(text: str) -> None:
    assert not named(text)


HEARD = (
    "DNF; OOS; out of order; leave empty; ne pas gonfler; ne pas remplir; ne plus gonfler; no llenar; no cargar;"
    "niet vullen; non caricare; non ricaricare; hors service; fuera de servicio; buiten gebruik; fuori uso;"
    "außer Dienst; junk; scrapped; for scrap; scrap it; Schrott; ferraille; chatarra; schroot; to be destroyed;"
    "retired from service; written off; display only; Hydro nicht bestanden; durch den TÜV gefallen;"
    "test house would not pass it; stretched; wall thin; used with argon; contains argon; stark überfüllt, 320 bar;"
    "overpressurised in the van; filled to 4400 by mistake; surpression; run over by the truck; bullet hole;"
    "serial ground off; stamp filed off; CO alarm went; CO 40 ppm; gestohlen; volé; robado; diver got sick on this tank;"
    "headache after the dive; oil film inside; Öl drin; tastes of oil; odeur d'essence; huele a escape;"
    "water sloshing inside; brown water ran out; rattles inside; Wasser in der Flasche; de l'eau dedans;"
    "agua dentro; innen stark verrostet; Lochfraß innen; oxidada por dentro; white oxide flakes come out;"
    "thread repaired with helicoil; re-threaded; five threads gone; Gewinde ausgerissen; filetage arraché;"
    "rosca dañada; valve wobbles in the neck; Riß am Hals; Haarriß; SLC thread 3; crk; linear indication;"
    "line through 2 threads; egg-shaped; lump on the side; Zimmerbrand; Hitze; Wölbung; haarscheur; spaccatura"
)
UNHEARD = (
    "flash rust from the hydro, tumbled and dried; smells of new paint outside; cooling fan failed, filled slowly by hand;"
    "customer rejected the price, collected without the work; rejected the first O-ring, second one fitted well;"
    "was out of service all winter; out of test when it came, tested in March; salt crust on the valve, rinsed off;"
    "the customer was burnt by the sun and left early; light surface rust on the carry handle;"
    "never use the yoke insert; leaked from the HP seat, valve serviced; crack in the fill room window;"
    "a crack team of helpers filled 30 today; rejected by the airline, sent by road; cut the old tie wrap;"
    "owner retired, sells his kit; came back with no air in it; left a scrap of tape on it; sold the van;"
    "dropped off by the courier; label stretches; CO 2 ppm"
)


@pytest.mark.parametrize("text", [each.strip() for each in HEARD.split(";")])
def test_notes_of_danger_that_are_heard(text: str) -> None:
    assert sets_aside(text) or any(spoken_of(text, row) for row in shipped.findings())


@pytest.mark.parametrize("text", [each.strip() for each in UNHEARD.split(";")])
def test_notes_of_an_ordinary_year_that_say_nothing(text: str) -> None:
    assert (sets_aside(text), [r.what for r in shipped.findings() if spoken_of(text, r)]) == (
        "",
        [],
    )


@pytest.mark.parametrize(
    "text",
    [
        "Beule am Boden",
        "Delle in der Wand",
        "eingedellt",
        "cabossée",
        "abolladura",
        "ammaccata",
        "deuk",
    ],
)
def test_dents_in_the_languages_of_those_who_sign(text: str) -> None:
    assert [r.what for r in shipped.findings() if spoken_of(text, r)] == ["dent"]


@pytest.mark.parametrize(
    "text",
    [
        "don't fill", "DON'T FILL", "do not fill", "never fill", "not for filling", "keep empty", "not safe",
        "unfit", "unserviceable", "quarantine", "dangerous", "out of test", "hydro fail", "fails visual",
        "to be scrapped", "waiting for scrap", "condemn at next visit", "leaks at the neck", "ruptured",
        "deformed", "derated to 2250 psi", "recalled by maker", "gesperrt", "Sperre: nicht füllen!",
        "darf nicht gefüllt werden", "außer Betrieb", "ausgesondert", "zum Verschrotten", "defekt", "kaputt",
        "durchgefallen", "undicht",
    ],
)  # fmt: skip
def test_more_that_sets_a_cylinder_aside(text: str) -> None:
    assert sets_aside(text)


@pytest.mark.parametrize(
    "text",
    [
        "thread 3/4 NPSM, checked with gauge", "M25x2 thread, checked", "thread OK",
        "thread protector in drawer 4", "powder coated by maker", "odour free", "corrosion-free at last look",
        "dent-free", "stainless, rust free", "used in salt water", "rinse after salt water",
        "moisture indicator fitted", "handle cut to fit", "O-ring failed, replaced",
        "valve failed, replaced 2026-05", "customer failed to pay", "failed to collect in time",
        "out of service 2025-11 to 2026-02, back now", "flame red", "burnt orange paint", "rust-red paint",
        "lap pool training", "pit stop rental", "7 threads good", "no rust or pits", "net cut, replaced",
        "sticker folded", "knob cracked, replaced", "heat indicator label unchanged", "valve opened a crack to purge", "old boot rejected", "fire or heat: no",
        "cuts and dents: none", "smells normal",
    ],
)  # fmt: skip
def test_what_a_note_may_say_without_being_asked(text: str) -> None:
    spoken = next(filter(None, (spoken_of(text, row) for row in shipped.findings())), "")
    assert (sets_aside(text), spoken) == ("", "")


@pytest.mark.parametrize(
    "text",
    [
        "didn't pass", "does not meet acceptance criteria", "over the limit",
        "permanent expansion 14 percent, over 10 percent", "NOK", "wall below minimum", "wall too thin by UT",
        "burst", "ruptured at 4500 psi", "stopped at 4200 psi", "test aborted", "test not finished",
        "test pressure not reached", "only 4000 psi reached", "neck deformed", "swollen at the base",
        "pits too deep, returned unstamped", "no stamp given", "line corrosion beyond limits",
        "nicht erfolgreich bestanden", "Hals gerissen", "gesperrt", "ausgesondert", "nicht mehr zu füllen",
        "Ausbeulung", "bleibende Dehnung zu groß", "Druckprüfung abgebrochen", "finding: do not fill",
        "not to be filled", "take out of service", "failed eddy current, hydro passed",
    ],
)  # fmt: skip
def test_more_of_a_test_that_was_not_passed(text: str) -> None:
    assert not_passed(text) or says_cracked(text) or says_do_not(text)


@pytest.mark.parametrize(
    ("text", "denies"),
    [
        *((text, True) for text in ["none", "none seen", "nothing seen", "no", "OK", "all good", "clear", "n/a", "not applicable, steel", "checked with 10x lens", "cleaned the threads first", "eddy probe: no signal", "no VE needed, 6061", "SLAP: none", "keine", "i.O.", "geprüft", "nichts gefunden", "sauber", "no cracks", "passed", "no cracks, threads 7 good"]),
        *((text, False) for text in ["no new cracks since 2024", "doesn't pass", "line 6 mm, scratch or worse", "deeper than a scratch", "no crack outside, line inside", "Risse", "split", "indication with eddy probe", "hairline", "crack 2 mm", "thread 1 is odd"]),
    ],
)  # fmt: skip
def test_what_an_inspector_notes_beside_a_look_for_cracks(text: str, denies: bool) -> None:
    assert denies_cracks(text) is denies


@pytest.mark.parametrize(
    ("text", "none"),
    [
        *((text, True) for text in ["no damage", "none seen", "no visible damage", "undamaged", "nothing noted", "ok", "all good", "0", "kein", "kein Schaden", "keine Schäden", "nichts", "i.O.", "unbeschädigt", "o.B.", "aucun dommage", "none", "-"]),
        *((text, False) for text in ["?", "damage", "dent", "marks on the neck", "no idea", "boot damage", "not ok", "new dents", "damage found"]),
    ],
)  # fmt: skip
def test_damage_that_is_none(text: str, none: bool) -> None:
    assert unharmed(text) is none


@pytest.mark.parametrize(
    "text",
    ["still leaks", "not repaired", "nobody looked", "not looked at yet", "failed at Mill Hydro", "condemned by Mill Hydro", "do not fill", "unsafe", "nicht repariert", "never turned up", "insurer paid, written off", "could not find the leak", "looks fine"],
)  # fmt: skip
def test_a_reason_that_says_that_it_is_not_well(text: str) -> None:
    assert in_doubt(text)


@pytest.mark.parametrize(
    ("text", "word", "says"),
    [
        ("hairlinecrackatthread3", "crack", True), ("hairlin ecrack at thread 3", "crack", True), ("no ecrack", "crack", False), ("heavycorrosioninside", "corro*", True),
        ("smallcrackseeninneck, lookedatit", "crack", True), ("nocrack", "crack", False),
        ("evidently in good order", "dent", False), ("crackerjack", "crack", False),
        ("unmistakeably accidental", "dent", False), ("a confidential report", "dent", False),
    ],
)  # fmt: skip
def test_words_run_together_are_read(text: str, word: str, says: bool) -> None:
    assert bool(speaks_of(text, word)) is says


@pytest.mark.parametrize(
    "text",
    [
        "could not find any leak",
        "looks good inside and out",
        "looks fine, tested",
        "found at the pool",
    ],
)
def test_a_reason_that_says_that_it_is_well(text: str) -> None:
    assert not in_doubt(text)


@pytest.mark.parametrize(
    ("note", "aside"),
    [
        ("keep out of use", True), ("scrap", True), ("not for breathing air", True),
        ("for CO2 use only", True), ("argon only", True), ("kapot", True), ("lost at sea", True),
        ("did not pass hydro", True), ("scrapes on the side", False), ("passed", False),
        ("does not pass the rack", False), ("scrap paper with it", False),
    ],
)  # fmt: skip
def test_a_note_that_sets_a_cylinder_aside(note: str, aside: bool) -> None:
    assert bool(sets_aside(note)) is aside


SHELL = (
    "no leaks neck bent; no bubbles neck crooked; not leaking valve crooked; no hissing valve loose;"
    "neck looks bent for some reason; neck looks very bent for its age; valve looks crooked on top; checked it, neck bent for sure;"
    "neck bent; neck is bent; bent neck; neck looks bent; the neck looks a bit bent; neck slightly bent; neck may be bent;"
    "neck might be bent, not sure; neck possibly bent; neck probably bent; neck seems bent to me; neck appears bent;"
    "neck got bent in the van; neck was bent when it came back; neck has been bent; neck bent?; is the neck bent?;"
    "neck ever so slightly bent; neck a tad bent; neck now bent; neck terribly bent; neck: bent; neck - bent; neck (bent);"
    "bent at the neck; bend in the neck; neck bend; kneck bent; nekc bent; neck bended; neckbent; bent-neck; NECK BENT!!;"
    "neck crooked; neck croked; neck looks crooked; neck twisted; neck kinked; neck is not straight; neck not quite straight;"
    "neck isn't straight; neck wonky; neck out of line; neck damaged; neck dented; dent in the neck; neck cracked off;"
    "neck took a knock; neck looks odd; neck no longer straight, bent; neck loose; neck wobbles;"
    "not sure if the neck is bent; not only the neck is bent; can't say the neck isn't bent; neck not very bent; neck not too badly bent;"
    "valve sits crooked; valve stands crooked; valve crooked; vavle crooked; vlave sits crooked; valve askew; valve out of true;"
    "valve pushed over; valve at an angle; valve sits at a funny angle; valve at 10 degrees; valve leaning; valve leans to one side;"
    "valve tilted; valve slightly tilted; valve bent; valve is bent over; bent valve; valve stem bent over; valve body bent;"
    "valve knocked sideways; valve knocked over in a fall; valve hit by the trolley, crooked; trolley bent the neck; valve points sideways;"
    "valve not upright; valve doesn't sit straight; valve misaligned; valve looks skew; crooked valve; valve off centre;"
    "fell on its valve, now crooked; the valve, I think, is bent; valve and knob bent; handle and neck bent; boot ok, neck bent;"
    "valve sheared; valve sheared off; valve nearly sheared off; valve snapped off; valve broke off; valve torn out; valve ripped out;"
    "valve coming out; valve came loose; valve working loose; valve being pushed out; valve pushed out; valve unscrewing itself;"
    "valve loose; valve loose in the neck; valve lose in neck; loose valve; valve wobbles; valve turns in the neck; valve has play;"
    "valve standing proud; valve not screwed in fully; valve only hand tight; valve thread pulled out; threads stripped; neck thread stripped;"
    "thread torn out; valve thread gone; valve cross-threaded; valve blew out;"
    "leaks at the neck; leaking at neck; neck leaks; neck leeks; bubbles at the neck; bubbles from under the valve; bubbling under the valve;"
    "slow bubbles round the base of the valve; bubbles where the valve meets the neck; hissing between valve and neck; hissing at the shoulder;"
    "air coming out of the neck; air escapes under the valve; weeps at the shoulder; leak at neck thread; valve leaks at the thread;"
    "leaks from the o-ring and the neck; bubbles seen at the neck; a few bubbles coming from the neck; hissing from somewhere near the neck;"
    "neck o-ring leaks; leak in the wall; hissing out of the base; leak check: bubbling at the shoulder; soap test, bubbles at the neck;"
    "no leaks, neck bent; no boot, neck bent; neck not bent but leaks at the neck; valve fine, neck bent; neck bent, valve replaced;"
    "valve crooked, replace; valve is bent, to be replaced; valve bent, must be replaced; valve sits crooked, replaced the o-ring;"
    "bullet hole; run over by the van; sheared off; punctured; tank bent; cylinder crushed;"
    "Hals verbogen; Hals ist leicht verbogen; Hals sieht schief aus; Ventil schief; Ventil steht schief; Ventil sitzt locker; Ventil abgeschert;"
    "undicht am Hals; Blasen am Hals; Blasen unter dem Ventil; Gewinde ausgerissen; Hals undicht;"
    "col tordu; goulot plié; le col semble tordu; robinet de travers; robinet tordu; fuite au col; bulles sous le robinet; filetage arraché;"
    "cuello doblado; cuello torcido; grifo torcido; fuga en el cuello; burbujas bajo la válvula; válvula arrancada;"
    "collo piegato; collo storto; rubinetto storto; perdita dal collo; bolle sotto il rubinetto; rubinetto strappato;"
    "hals krom; kraan scheef; kraan zit los; lekt bij de hals; bellen onder de kraan; kraan afgebroken;"
    "the neck has a slight lean; neck gone squint after the drop; looks like somebody bent the neck; reckon the neck's bent;"
    "neck dinged and leaning; valve is pointing off to one side; valve not sitting right; valve sits skewed in the neck;"
    "valve no longer square to the shoulder; valve cocked to the left; valve has been wrenched sideways;"
    "van door hit the valve and it is bent; dropped in car park, valve now leans; top of the cylinder bent;"
    "I can rock the valve by hand; valve moves in the neck; valve rotates in the neck when I turn the knob;"
    "valve spins freely; can wiggle the valve; neck thread pulled; neck threads chewed; threads in the neck are gone;"
    "three threads stripped in the neck; valve jumped a thread; air bubbling out round the neck; fizzing at the neck joint;"
    "stream of bubbles at base of valve; tiny bubbles where valve screws in; soapy water bubbles at neck o ring;"
    "hiss from below the valve; you can hear air from the neck; gas escaping around the neck thread; slow weep at crown;"
    "seeping at shoulder; pinprick of bubbles on the shoulder; valve hanging off; valve half off; valve dangling;"
    "valve partly sheared; valve got sheared of; valve snapped clean; valve broken off at the thread; nek bent; nekk bent;"
    "neck bnet; vlave bent over; valve benr; valve croocked; valv loose; vavle leaning; thred stripped in neck;"
    "leek at the neck; Neck looks bent, please check; club member says neck is bent; neck bent??;"
    "neck maybe bent - do not fill; not happy, neck looks crooked; neck doesnt look straight;"
    "tank fell off pier, neck looks off; bent valve, neck may be damaged; valve took a big hit, now not vertical;"
    "valve post leaning; valve looks drunk; Hals leicht schief; Ventil wackelt im Hals; Ventil sitzt schräg;"
    "es zischt am Hals; Luft entweicht am Gewinde; Ventil verbogen; le robinet penche; col légèrement plié; ça fuit au col;"
    "el cuello parece doblado; la válvula está floja; il collo sembra storto; il rubinetto balla; kraan staat scheef;"
    "de hals lijkt krom; neck a bit wonky; the neck of this tank is leaning; neck tilts to the left; neck/valve bent;"
    "neck&valve bent; valve is crooked in the neck; the valve appears to be tilted; seems the valve is not straight;"
    "valve leaning over after the fall; fell off the bench and the valve is crooked now; valve not square with shoulder;"
    "neck visibly distorted; neck squashed; neck twisted slightly; slight twist in the neck; kink in the neck;"
    "valve bent at the stem; valve stem is snapped; valve broken clean off; valve broke in the neck;"
    "valve got knocked sideways; valve kicked over; valve bashed over by the winch; valve forced sideways; valve shifted;"
    "valve has shifted in the neck; valve creeping out; valve lifting out of the neck; valve unscrewed by itself;"
    "valve came undone; valve came loose in the van; valve feels loose; valve feels wobbly; valve is slack in the thread;"
    "valve can be turned by hand in the neck; neck thread damaged and stripped; thread ripped out; threads pulled;"
    "threads sheared; valve cross threaded; leak around neck; leaks by the neck; air leak at the neck; neck seal leaks;"
    "leaking from neck oring; bubbles round the neck; bubbles at shoulder; bubbles between valve and cylinder; hissing neck;"
    "hisses at neck when full; hiss at base of valve; gas coming out at the neck; air is getting out at the shoulder;"
    "pressure escaping under the valve; small leak where the valve goes in; kneck crooked; neck croocked; vavle bent;"
    "valve croked; neck benet; valve is lose in the neck; bubles at neck; leeking at the neck; hising from the neck;"
    "neck bent, sticker missing; no sticker and neck bent; sticker missing, valve crooked, hydro due;"
    "handle missing and valve loose; boot torn, neck dented; Neck is bent - told owner;"
    "owner says neck is not bent but it looks bent; Hals verzogen; Ventil schief eingeschraubt; Ventil krumm;"
    "Ventil lose im Hals; bläst am Hals ab; robinet desserré; robinet plié; fuite sous le robinet; col faussé; grifo doblado;"
    "cuello dañado; fuga por el cuello; rubinetto piegato; collo danneggiato; perde dal collo; kraan krom; nek verbogen;"
    "lek bij de hals;"
    "neck is off; valve twisted in neck; valve tilts when I push it; neck bent on inspection; possible bent neck;"
    "suspect bent neck; suspected bend at neck; query bent neck; neck ?bent; valve out of line with boot; top valve bent;"
    "valve neck bent; pillar valve bent; K-valve crooked; H valve bent; valve looks to be on the skew; valve sits lopsided;"
    "neck feels loose; boss cracked off; bubbles coming up from around the neck; stream of air from neck; gas heard at neck;"
    "leaks round the neck thread; leaks from between the valve and the tank; leaky neck; weepy shoulder; dropped, valve bent;"
    "dropped on the valve, neck bent; dropped: neck bent; valve struck, sits crooked; valve pulled over;"
    "the valve seems to be coming out; valve is lifting; valve almost sheared; valve sheared by the boom;"
    "threads pulled out of the neck; neck thread torn;"
    "neck is not where it should be; neck no longer in the middle; neck has moved; neck's gone banana; neck bnt;"
    "valve has a list to port; valve is squiffy; valve turns when you open it; valve rotates in the cylinder; valve not tight;"
    "valve lifted 2 mm; neck o-ring extruded; neck oring blown; valve popped; valve half out; only two threads holding the valve;"
    "valve holding by 2 threads; thread crossed; valve went in crossed; wrong thread valve fitted; base corroded through;"
    "rusted through at the base; hole in the bottom; you can see daylight through the base; cylinder is fat in the middle;"
    "shell blistered; bottle too hot to touch; dropped on its valve; fell valve first on concrete; landed on its neck;"
    "psssst from the neck; leaks thru the metal; leak in the body of the tank; tank body leaks; someone ran over it with the van;"
    "got ran over; Ventil dreht mit; Ventil ist nicht fest; Luft kommt am Hals raus; Loch im Boden; Gewinde defekt; filetage abîmé;"
    "rosca dañada; filettatura rovinata; bombola gonfia; fles is bol; neck is not streight; neck not strait; valve isn´t straight;"
    "Checked the neck. It is bent.; The neck. Bent.; valve. its loose; The neck was checked. It's crooked.;"
    "neck seen by JW. He says it's bent"
)
"""What says that a shell, or its joint to the valve, may give way."""

VALVES_OWN = (
    "leaks; leaking; it leaks; leaks a bit; leaks slowly; slow leak; hissing; hisses; valve: leaks slowly; valve leaks; leaky valve;"
    "valve leaks when open; valve leaks from the knob; bubbles from the burst disc; burst disc blew, hissing; hisses at the stem;"
    "leaks at the valve stem; leaks past the seat; o-ring leaking; o-ring on the valve leaks; valve o-ring leaks; leaks at the outlet;"
    "loses air over night; does not hold pressure; tank leaks; tank leaks somewhere; knob leaks; leaks at yoke; leak at packing;"
    "Ventil undicht; Ventil ist undicht; undicht; robinet fuit; fuite au robinet; fuga en la válvula; rubinetto perde; kraan lekt;"
    "drips air from the valve; valve won't seal; slight leak from knob; hissing when valve shut;"
    "valve leaking past the packing; burst disc weeping; bubbles out of the outlet; leaking valve; air leak; tank is leaking;"
    "hissing noise; leaks air; valve hisses; leaking at the handwheel; gasket leaks; hissing from disc; seeping valve;"
    "valve bubbling; tank hissing; leaks when turned on; slow leak from valve;"
    "it hisses; a leak; leaks badly; leak from valve; valve leaking at the knob; leaks at valve; air leaks out;"
    "leak somewhere;"
    "burst disc blew; loses 200 psi a week; pressure drops by itself; lost 50 bar since monday; perd de l'air; valve passing;"
    "valve doesn't shut off; valve does not close fully; valve dribbles"
)
"""What says that gas gets out of a valve, or out of nowhere yet."""

NEITHER = (
    "no leaks or bent neck; no leaks and no bent neck; neither leaks nor bent neck; neck not bent or leaking;"
    "neck not bent; neck is not bent; the neck isn't bent; neck does not look bent; neck doesn't seem crooked; no bent neck; neck never bent;"
    "checked whether neck bent: no; neck bent: no; neck bent? no; neck bent? No.; neck bent - false alarm; neck neither bent nor crooked;"
    "neck not bent or crooked; neck not bent, not crooked; valve not loose; valve not crooked; valve isn't bent; no leaks; no leak at the neck;"
    "no bubbles under the valve; no bubbles at neck or shoulder; bubbles at the neck: none; without leaks at the neck; did not see any bubbles at the neck;"
    "checked for leaks at the neck; checked neck for bubbles, none; leak test passed; leak check at the neck fine; soap test done at neck and valve;"
    "neck straight; neck fine, handle bent; neck ok handle bent; handle bent; valve handle bent; bent handle; boot crooked; boot sits crooked on the base; boot loose;"
    "valve knob loose; knob of the valve loose; loose knob; knob bent; handwheel bent; valve handwheel wobbles; sticker crooked; sticker on the neck crooked;"
    "label at the shoulder torn off; label under the valve sits crooked; valve cover bent; dust cap loose; net bag bent; tank band loose; cam band twisted;"
    "bubbles from the whip; whip leaks; hose leaks; regulator leaks; first stage hissing; gauge needle bent; gauge leaks; fill whip hissing;"
    "cracked a joke; valve was bent, replaced on 3 May; bent valve replaced; replaced the bent valve; valve bent, replaced by KD; valve was loose, replaced;"
    "valve pulled for inspection; valve out; valve taken out; valve stiff; valve turns hard; valve hard to turn; valve serviced; valve open;"
    "hydro lapsed; no sticker; out of test; visual lapsed; customer left; leaning against the wall; cylinder stored at an angle; tank fell over;"
    "stood crooked in the rack; pain in the neck; his neck was stiff; stiff neck; rack bent; trolley bent; shelf sits crooked; roof leaks; price looks crooked; bent down to look at the neck;"
    "stamp crooked; serial crooked; marks at an angle; neck ring loose; neck tag bent; neck strap twisted; yoke bent; yoke screw bent; DIN wheel loose;"
    "dip tube loose; dip tube bent; carry handle broken; backplate bent; bolt bent; wing nut loose; harness twisted; paint bubbled; paint peeling at the neck;"
    "outlet thread stripped; knob thread stripped; DIN thread damaged; net torn; boot torn off; strap torn off; sticker torn; label torn off the shoulder;"
    "bent down to look at the neck; owner bent the truth; loose change in the bag; valve opens fine; valve closed; neck clean; neck thread good, 7 threads;"
    "neck and valve fine; neck checked, straight; valve straight and tight; valve firmly in the neck; neck is fine now, not bent at all;"
    "Hals nicht verbogen; Hals gerade; kein Leck am Hals; Handrad locker; Aufkleber schief; Standfuß locker; Griff verbogen;"
    "col pas tordu; étiquette de travers; pas de fuite au col; volant tordu; cuello no doblado; sin fugas; etiqueta torcida;"
    "collo non piegato; etichetta storta; nessuna perdita; hals niet krom; sticker scheef; geen lek;"
    "neck looks good; neck in fine shape, no bend; no sign of a bent neck; valve perfectly straight;"
    "not a bent neck after all; neck checked with a square, true; neck is not loose, valve knob is; bent pin on the gauge;"
    "bent clip; knob crooked; outlet cover loose; handle sits crooked; crooked boot; yoke knob loose;"
    "loose o-ring in the bag; boat hit a wave and tank rolled over; valve turned off; valve closed tight; valve left open;"
    "sticker peeling at the neck; label crooked near the shoulder; sling loose; jubilee clip loose round the neck;"
    "soap test at neck: dry; neck dry in the soap test; no air from the neck; checked neck and valve, no leaks found;"
    "no hissing; bubble test ok; leak tested; compressor hissing; panel valve leaks; bank valve leaks; bubbles in the paint;"
    "paint chipped at the neck; scratched boot; old sticker; customer rude; payment overdue; neck ring missing;"
    "valve missing its knob; wrong valve outlet; visual due; needs a hydro; owner wants nitrox; no analysis;"
    "unreadable marks; bag strap broken; inflator hose loose; Ventil nicht schief; Hals ist gerade; pas de bulles; col droit;"
    "cuello recto; collo dritto; hals recht; Boot locker; knop los; neck isn't loose; the neck was not bent;"
    "no bend in the neck; no dents in the neck; neck undamaged; neck: ok; neck: not bent; valve: straight;"
    "valve sits straight; valve sits well; valve not leaking; no leak from the valve; not leaking at the neck;"
    "never leaked at the neck; no leaks at neck, valve or disc; soapy water on neck: nothing; checked the neck for damage;"
    "look at the neck next time; handle crooked, neck straight; knob missing; handwheel cracked; lens loose;"
    "weight belt loose; hose bent; hose kinked; whip twisted; yoke bent out of shape; din insert loose; insert lost;"
    "o-ring torn; o ring missing; boot split; net shredded; boot wobbles; stands crooked because of the boot;"
    "wobbles on its boot; boot bent; band crooked; valve greased; valve changed on 3 May; valve crooked, changed on 3 May;"
    "new valve fitted; valve removed for visual; valve to be serviced; valve due for service; valve cap missing;"
    "valve is a DIN; needs another valve; owner will bring another valve; dented boot; scratched paint at the shoulder;"
    "sticker on shoulder torn; label at neck torn; tape round the neck loose; rope round the neck loose; clip loose;"
    "fin strap broken; mask broken; van broke down; customer broke his leg; paper torn; certificate torn; Handrad verbogen;"
    "Ventil gerade; Hals nicht locker; keine Blasen am Hals; volant desserré; col non tordu; pas de fuite; grifo no doblado;"
    "sin burbujas en el cuello; collo non storto; kraan niet scheef; hals niet verbogen;"
    "neck good; neck passed; neck is straight and dry; nothing wrong with the neck; neck shows no bend; neck without bends;"
    "valve neither crooked nor loose; valve not bent, knob bent; gauge needle crooked; whip bent; lamp loose; old boot bent;"
    "sticker crooked on the neck; bent handle, neck fine; bent handle on the valve; crooked label, valve ok;"
    "loose strap round the neck; tank was leaning on the valve rack; took the loose boot off; valve wheel bent;"
    "handwheel of the valve crooked; rubber knob torn off; cap torn off; o-ring pushed out; paint blown off; burst disc due;"
    "customer hissed off; overdue by a month; wrong gas; smells; nitrox sticker missing; hose off; no test stamp;"
    "twisted hose; din plug lost; net twisted round the boot;"
    "customer asked whether the neck is bent, it is not; looked for leaks at the neck, none found;"
    "looked for bubbles at the neck, none seen; valve has moved to the other tank; drain hole in the base of the boot;"
    "hole in the boot; paint blistered on the shoulder; blistered paint at the shoulder; valve knob not tight; hose popped off;"
    "popped in to collect; lifted by its valve; wires crossed; passing visual; air passing test due; din insert thread crossed;"
    "neck checked. It is fine.; checked the neck. Boot is bent.; valve serviced. Knob loose.; checked the valve. Loose boot;"
    "Neck fine. It was stored crooked in the rack.; neck straight. It has a bent handle.; valve good. It came with a loose cap.;"
    "hose worn out; threads not worn out; adaptor has wrong thread; the trolley ran over the hose; bouteille gonflée;"
    "valve half open; regulator does not shut off"
)
"""What says neither."""


def _each(said: str) -> list[str]:
    return [each.strip() for each in said.split(";")]


@pytest.mark.parametrize("text", _each(SHELL))
def test_what_may_give_way_is_heard_however_it_is_hedged_and_spelt(text: str) -> None:
    assert says_giving_way(text) or grave(text)


@pytest.mark.parametrize("text", _each(VALVES_OWN))
def test_a_leak_of_a_valve_or_of_nowhere_yet_is_none_of_a_shell(text: str) -> None:
    assert not says_giving_way(text)
    assert says_gas_lost(text)


@pytest.mark.parametrize("text", _each(NEITHER))
def test_what_is_denied_or_said_of_something_else_holds_nothing(text: str) -> None:
    assert (says_giving_way(text), says_gas_lost(text), grave(text)) == ("", "", "")


@pytest.mark.parametrize("text", _each(NEITHER))
def test_nothing_said_beside_it_hides_a_bent_neck(text: str) -> None:
    for said in (f"{text}; neck bent", f"neck bent; {text}", f"{text}. Valve looks crooked"):
        assert says_giving_way(said), said


HEDGES = "looks;seems;may be;got;was;is slightly;is possibly;appears a bit;might be;has been"
WRONG = "bent;crooked;twisted;out of line;sheared off;pushed over"


@pytest.mark.parametrize("part", _each("neck;valve;the neck;valve stem;kneck;vavle;neck of it"))
def test_a_part_a_hedge_and_what_is_wrong_are_heard_whichever_they_are(part: str) -> None:
    for hedge in _each(HEDGES):
        for how in _each(WRONG):
            assert says_giving_way(f"{part} {hedge} {how}"), (hedge, how)
            assert not says_giving_way(f"{part} not {how}"), how
            assert not says_giving_way(f"valve knob {hedge} {how}"), (hedge, how)


BEFELL = (
    "dropped off the pier onto the valve", "dropped from the boat onto its valve",
    "dropped down the stairs, onto the neck", "tank fell from the rack and landed on the valve",
    "hit by a car", "was hit by a van in the car park", "reversed over by the van",
    "the customer ran over it with the van", "hot as hell", "red hot after the fill",
    "squashed flat on one side", "flattened on one side", "looks like a banana",
    "the whole valve turned when I closed the knob", "the whole valve turns when closing",
    "neck anything but straight", "neck far from straight",
    "the neck was bent on the old one, and on this one", "neck was bent on the old one, bent again",
    "neck was bent on the old one and this one", "neck bent on the other one",
    "is the neck bent?", "is the neck bent? yes", "is the neck bent? not sure",
)  # fmt: skip
NOT_BEFALLEN = (
    "dropped off the pier, brought up by a diver", "dropped off by car", "dropped the cap on the valve",
    "dropped off for work on the valve", "dropped off by the owner, label on the valve",
    "pressure drops with the gauge on the valve",
    "fell due for a service on the valve", "was never dropped from the pier onto its valve",
    "not hit by a car", "hit by a car? no", "paint hit by a car door", "boot squashed flat on one side",
    "hot as hell in the shop today", "valve turned easily", "knob turned when closed",
    "neck was bent on the old one", "neck was bent on the old cylinder, this is the new one",
    "is the neck bent? no", "neck checked, straight",
)  # fmt: skip


@pytest.mark.parametrize("text", BEFELL)
def test_what_befell_a_shell_or_its_neck(text: str) -> None:
    assert says_giving_way(text) or grave(text)


@pytest.mark.parametrize("text", NOT_BEFALLEN)
def test_what_befell_no_shell(text: str) -> None:
    assert not says_giving_way(text)


WORDS = ("crack", "dent", "bulg*", "leck", "6351", "beschädigt", "do not fill", "r-22")
PIECES = st.sampled_from(
    ("cracks", "no", "dent", "2nd", "6351", "63 51", "row 17", "beschaedigt", "Beulen", "bulged", "boot",
     "scratches/dents", "and", "don't", "fill", "R-22", "fitting", "?", "12", "İ", "ß")
)  # fmt: skip


@given(st.lists(PIECES, max_size=8).map(" ".join))
def test_a_list_of_words_is_looked_for_as_each_of_them_is(text: str) -> None:
    """However a text is looked through first."""
    alone = next(filter(None, (speaks_of_shell(text, word) for word in WORDS)), "")
    assert first_of_shell(text, WORDS) == alone
    assert wording.first_of(text, WORDS) == next(
        filter(None, (speaks_of(text, w) for w in WORDS if wording._may_hold(text, w))), ""
    )


def test_notes_that_differ_in_figures_alone_are_looked_through_once() -> None:
    """As those of an import do, one a row."""
    first_of_shell("sheet, row 17 of import", WORDS)
    before = wording._may_stand_in.cache_info().misses
    for row in range(100):
        assert first_of_shell(f"sheet, row {row} of import", WORDS) == ""
    assert wording._may_stand_in.cache_info().misses == before
    assert re.search("6351", first_of_shell("sheet, row 6351 of import", WORDS))


# --- what became of something found wrong --------------------------------------------------------

DONE = [
    *("cleared", "ok now", "moved the hose", "wind turned", "fixed", "leaves raked away", "done"),
    *("ran the other intake", "intake moved upwind", "sorted", "good again", "no leak any more"),
    *("belt on", "still holds", "not blocked any more", "it is right", "checked ok", "van gone"),
    *("had to move the van", "managed to clear it", "needle freed, shows 0", "new battery"),
    *("all clear", "wind from the sea now", "moved the hose due to the wind", "CO back to 0"),
    *("cleaned this afternoon", "left intake cleaned", "nothing there now"),
    *("frei", "dicht", "gereinigt", "réparé", "nettoyé", "arreglado", "sistemato", "verholpen"),
    # what was done, with what was told or is to come besides
    *("told KD, who moved the van", "told KD and moved the van", "cleared, will watch it"),
    *("cleared and will watch it", "waiting for part, other intake fitted", "seen again, clear"),
]
NOT_DONE = [
    *("waiting for part", "to be repaired", "will clear it tomorrow", "left as is", "told KD"),
    *("seen", "I'll do it later", "needs a new filter", "part ordered", "on order", "pending"),
    *("KD to clear it", "to do", "must be cleaned", "should be ok", "tomorrow", "next week"),
    *("in progress", "being repaired", "going to fix it", "awaiting the engineer", "leave it"),
    *("engineer booked for Monday", "has to be moved", "keep an eye on it", "fix it later"),
    *("due to be cleaned", "intake blocked, will clear it tomorrow", "will be moved and cleaned"),
    *("told KD to move the van and clear it", "told KD, still blocked", "told KD, not cleared"),
    *("gauge zero: to be repaired", "KD informed", "KD knows", "noted", "rang MV", "looked at it"),
    *("reported to the owner", "ok, told KD", "checked", "not fixed yet"),
    *("wird morgen repariert", "KD gemeldet", "muss repariert werden", "en attente de pièce"),
    *("sera réparé demain", "pendiente", "avisado KD", "da riparare", "avvisato KD", "moet schoon"),
]


@pytest.mark.parametrize("text", DONE)
def test_a_plain_word_of_what_was_done_is_an_answer(text: str) -> None:
    assert not says_no_answer(text)


@pytest.mark.parametrize("text", NOT_DONE)
def test_what_is_yet_to_be_done_or_was_only_seen_or_told_is_none(text: str) -> None:
    assert says_no_answer(text)
