"""Remarks from somebody else's list: which hold a cylinder until it was looked at."""

from __future__ import annotations

import pytest
from books import GOOD, TODAY, make_book

from tankbook.acts.tab_cells import says_who_has_it
from tankbook.rules.gate import may_fill
from tankbook.rules.harmless import is_plain
from tankbook.rules.told_against import tells_against

AGAINST = [
    "valve leaks", "dent on shoulder", "failed hydro 2023", "condemned", "out of test", "do not use",
    "rusty inside", "smells of oil", "max 180 bar", "погнут", "broken handwheel", "missing dip tube",
    "handle cracked", "u/s", "faulty valve", "valve stiff", "paint flaking", "scrap?", "crack in neck?",
    "needs visual", "Undicht am Ventil", "fuite au robinet", "was in the fire", "6351 alloy", "slow leak", "bent valve",
    "awaiting test", "cancelled", "result pending", "oos", "O/S", "expired", "NO GO", "red tagged", "dropped", "in Werkstatt", "à réformer",
    "test date not sure", "out to Jim since June", "on loan", "lent to Sue", "prêtée à Éric", "overdue",
    "pillar valve weeps", "weeps", "valve weeping", "seeps at the O-ring", "bubbles at the valve", "does not hold air", "loses 10 bar a week",
    "oily film on the valve seat", "hissing at the valve", "fell off the truck", "deep gouge near the neck",
    "Failed?: Y", "Damaged: x", "Defekt: ja", "In service: N", "Leak tested: N", "missing dip tube",
]  # fmt: skip
HARMLESS = [
    "blue boot", "new valve 2019", "valve serviced 2024", "no leaks", "ok", "no faults", "no damage",
    "good condition", "colour: yellow", "Jim's old one", "max 240 bar", "twin set with 12", "bought from the lake shop",
    "hydro 2021", "outlet DIN", "Stage", "loan stock",
    "belongs to Sue", "Netz fehlt", "belongs to the club", "gehört dem Verein", "Failed?: N", "Damaged: N", "Defekt: nein", "Leaking: no",
    "Rust?: N", "Do not fill: N", "Withdrawn: N", "Out of service: n",
]  # fmt: skip


@pytest.mark.parametrize("text", AGAINST)
def test_what_tells_against_a_cylinder(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text)


@pytest.mark.parametrize("text", HARMLESS)
def test_what_does_not(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text) == ""


# --- in six languages ----------------------------------------------------------------------------

HOLDS = {
    "de": [
        "nicht verwenden", "bitte nicht benutzen!", "darf nicht mehr benutzt werden", "nicht füllen", "verboten", "beim TÜV",
        "TÜV nicht bekommen", "tiefe Kratzer", "Kratzer tief", "Korrosion", "verbogen", "heruntergefallen", "Ventil klemmt",
        "gefährlich", "Müll", "Druckverlust", "angefressen", "Narben innen", "zur Prüfung", "Farbe blättert", "ausgemustert",
        "Ventil dreht nicht", "schief", "Gewinde ausgeschlagen", "ohne Zulassung", "verliert über Nacht", "gesperrt", "undicht",
    ],
    "fr": [
        "interdit", "interdite de gonflage", "réformé 2025", "ferraillé", "recalé", "bosse au fond", "en réparation chez Paul",
        "à contrôler avant gonflage", "dangereux", "rayure profonde", "robinet bloqué", "tombée du quai", "à la requalif", "fuit",
        "ne plus utiliser", "défense de gonfler", "à la poubelle", "rongée à l'intérieur", "oxydation", "pas étanche", "à vérifier",
        "perte de pression", "filetage endommagé", "hors service", "joint torique à changer", "pas conforme",
    ],
    "es": [
        "no usar", "prohibido", "peligroso", "golpe en la base", "abolladura", "pierde aire", "grifo bloqueado", "para revisar",
        "no pasó la prueba", "oxidada por dentro", "arañazo profundo", "fuera de servicio", "chatarra", "rosca dañada", "no llenar",
        "en revisión", "no cierra bien", "quemada", "sin marcado", "falta el grifo",
    ],
    "it": [
        "non usare", "vietato", "pericolosa", "ammaccata", "perde", "rubinetto bloccato", "da controllare", "non superato", "bruciata",
        "ruggine dentro", "graffio profondo", "fuori servizio", "da rottamare", "filetto danneggiato", "non chiude", "in revisione",
        "caduta dal molo", "deformata", "non ricaricare", "sospetta",
    ],
    "nl": [
        "niet gebruiken", "verboden", "gevaarlijk", "deuk", "lekt", "kraan vastgelopen", "nakijken", "niet geslaagd", "roest binnen",
        "diepe kras", "buiten gebruik", "schroot", "schroefdraad beschadigd", "sluit niet", "bij de keuring", "afgekeurd",
        "gevallen van de trap", "vervormd", "niet vullen", "moet gekeurd worden",
    ],
    "en": [
        "NO FILL", "no fill!", "bent", "warped", "pierced by anchor", "burst disc replaced with bolt", "O-ring blown", "at hydro",
        "no CE mark", "badly scratched", "dead", "toast", "knackered", "dodgy", "suspect", "bleeding at neck", "oxidation", "BER",
        "forbidden", "retired", "welded boss", "gone for test", "crushed foot", "holes drilled in it", "threads wobbly", "TRASH",
        "dinged up, see Bob", "do NOT use", "void", "derated", "not for air", "valve o/h needed", "attention", "decommissioned",
    ],
}  # fmt: skip
ASKED = [
    "robinet dur", "Peter hat die mal", "see John", "?", "!!!", "F", "wet", "hmm", "nee", "hot fill", "flomps", "ask Bob first",
    "låckt", "sustained load", "with Dave", "chez Marc", "C/O", "X", "\u2717", "lieber nicht", "mejor no", "meglio di no", "liever niet",
    "bin", "bin it", "in the bin", "one for the bin", "short thread", "top left thread short", "rotes Band", "red band", "H2O in it",
    "CO2 bottle", "6351", "alu 6351", "AA6351", "DNF2026", "to 150 bar", "for 150 bar", "stamped 200 bar", "stamp 03/2014",
    "stamped 2014", "black marks on one side", "long mark on left side", "marks on bottom", "at requalifier", "with the inspector",
    "delivered to requalifier", "zum Prüfer", "full of O2", "full of oxygen", "Tagged out: Y", "Tagged out: x", "Recall: Y",
    "Recall: \u2713", "Out of service: yes", "P/F: F", "P/F: pass", "Recall: N", "Recall: 2019",
    "Tagged out: 3", "Out of service: red",
    "plutôt pas", "only for show", "door stop", "Deko", "lampe", "NO", "no good", "TPED?", "prüfen!",
]  # fmt: skip
PLAIN = [
    "blue boot", "new 2019", "ok", "good", "fine", "yellow", "red and white", "two stripes", "black boot, green net", "club tank 7",
    "long, slim", "12 L", "10 litre steel", "AL80", "DIN", "yoke", "convertible valve", "twin set", "left", "right", "stage", "pony",
    "deco bottle, 40%", "nitrox", "air", "no leaks", "no damage", "no faults", "without defects", "nothing to report", "bought 2019",
    "bought used from the old club", "bought 03/2020 for 120 EUR", "second-hand", "purchase price 95 pounds", "from the lake shop",
    "rack 3", "top shelf", "in the boat", "club house, cellar", "pool", "pool cylinder", "hire",
    "training", "kids course", "instructor", "for students", "owner: club", "chairman", "spare", "reserve",
    "backup no. 2", "pair with 13", "doubles left", "paint: grey", "grey / orange", "silver, matt", "pink", "small", "very heavy",
    "neu", "neu 2021", "gut", "blauer Fuß", "gelb", "schwarzes Netz", "Standfuß rot", "Vereinsflasche", "Regal links",
    "im Keller", "Jugend", "Ausbildung", "Ersatz", "gekauft 2018", "Preis 150 EUR", "lang", "kurz und groß", "kein Rost", "keine Mängel",
    "ohne Befund", "o.B.", "i.O.", "ohne Beanstandung", "nichts zu beanstanden", "lackiert, blau", "Doppelgerät links", "Flasche vom Verein",
    "noir", "culot jaune", "filet bleu", "bouteille neuve", "bon état", "achetée 2017", "prix 120 euros", "propriété du club", "piscine",
    "cave, étagère 2", "formation enfants", "moniteur", "petite", "RAS", "rien à signaler", "aucun défaut", "sans rouille", "bi gauche",
    "azul", "base negra", "red amarilla", "nueva", "comprada 2020", "precio 100 EUR", "propietario: club", "piscina", "estante 4",
    "sin fugas", "sin daños", "ninguna novedad", "pequeña", "en el barco", "curso de niños", "bien",
    "giallo", "rete nera", "base rossa", "nuova", "comprata 2016", "prezzo 90 EUR", "magazzino", "scaffale 2", "in barca", "piccola",
    "nessun difetto", "senza ruggine", "nessuna perdita", "corso bambini", "buono", "proprietario: club",
    "geel", "zwart net", "rood voetje", "nieuw", "gekocht 2015", "aankoop 80 EUR", "rek 3", "in de kelder", "zwembad", "klein",
    "geen roest", "zonder schade", "geen gebreken", "jeugd", "goed", "eigenaar: vereniging", "Bag: blue", "Team: red", "no 14", "Nr. 3",
    "2019", "12/2020", "ID 44", "7", "30 kg", "boot and net", "handle: red", "valve: DIN", "M25x2", "dark green, light band",
    "new valve 2019", "belongs to the club", "gehört dem Verein", "owner: Verein",
]  # fmt: skip


# --- below the heading of a column that is kept --------------------------------------------------

BELOW_HOLDS = [
    "Stillgelegt: 05/2023", "Stillgelegt: ja", "Aussonderung: 2023", "Dismissione: 2023", "Ritirata: 05/2024", "Uit dienst: 2024",
    "Uit dienst sinds: 2024", "Disposed: 05/2023", "Withdrawn on: 2023-04-01", "End of life: 2025", "End of life: 11/2026", "Quarantine: x",
    "Fecha de baja: 12/2023", "Hors service: oui", "Mise au rebut: 2024", "Hydro failed: 04/2025", "Visual rejected: 02/2026", "Sperrung: 2024",
    "Defects: y", "Faults: \u2713", "Retired: 1", "Remarks: Stillgelegt: 2023",
]  # fmt: skip
BELOW_TOLD = [
    "Max fill: 150", "2nd WP: 200", "RAG: red", "RAG: green", "Ampel: rot", "Ampel: gut", "Flag: red", "Tag: yellow", "Zustand: 3", "Zustand: rot",
    "Condition: yellow", "Schulnote: 6", "Contents: trimix", "Second material: alu", "Safety notice: 2024", "Fülldruck: 150", "Fill to: 180",
    "Max pressure: 180", "Pression max: 200", "Issues: handle", "Defects: boot", "Rust: 2019", "Priority: 1", "Hydro due: 2024",
    "Colour code: red", "Size limit: 7", "End of life: 2040", "Stilllegung: 12/2026", "red", "Rot", "rouge", "Remarks: red", "Notes: Ampel: rot",
    "Owner: Ampel: rot", "column D: red", "Last filled: Bob",
]  # fmt: skip
BELOW_PLAIN = [
    "Remarks: blue boot", "Notes: rack 3", "Owner: club", "Owner's club: school", "Colour: red", "Boot colour: red", "Farbe: rot", "Team: red",
    "Netz: rot", "Size: 12 L", "Purchase date: 2019", "Date of purchase: 05/2019", "Kaufdatum: 2019", "Anschaffungsjahr: 2018", "Preis: 120 EUR",
    "Date d'achat: 2017", "Prix: 120", "Couleur: jaune", "Propriétaire: club", "Fecha de compra: 2016", "Precio: 100 EUR", "Colore: giallo",
    "Data di acquisto: 2016", "Prezzo: 90 EUR", "Kleur: geel", "Aankoop: 2015", "Eigenaar: vereniging", "Zustand: gut", "Condition: good",
    "État: bon état", "Condition: blue boot", "Last filled: 01/04/26", "Letzte Füllung: 1.4.2026", "Dernier gonflage: 04/2026", "column D: blue boot",
    "comment: new 2019", "Storage place: rack 3", "2024-05-01: blue boot",
]  # fmt: skip


@pytest.mark.parametrize("text", BELOW_HOLDS)
def test_a_yes_or_a_day_below_a_heading_of_danger_holds(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text, TODAY)
    assert not is_plain(text)


@pytest.mark.parametrize("text", BELOW_TOLD)
def test_below_a_heading_that_nobody_knows_no_value_is_plain(text: str) -> None:
    assert not is_plain(text)
    note = make_book({"RB-014": f"{GOOD}note: '{text}'\n"})
    answer = may_fill(note, "RB-014", TODAY, station=False)
    assert [r.text for r in answer.reasons if text in r.text], answer.reasons


@pytest.mark.parametrize("text", ["End of life: 2040", "Stilllegung: 12/2026"])
def test_an_end_to_come_holds_nothing(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text, TODAY) == ""


@pytest.mark.parametrize("text", BELOW_PLAIN)
def test_below_a_plain_heading_what_is_plain_stays_so(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text, TODAY) == ""
    assert is_plain(text)
    note = make_book({"RB-014": f'{GOOD}note: "{text}"\n'})
    assert not [r for r in may_fill(note, "RB-014", TODAY, station=False).reasons if text in r.text]


# --- as gas and figures are written short ---------------------------------------------------------

SHORT = [
    "oily", "very oily", "valve oily", "ölig", "huileuse", "aceitosa", "CO", "nitrogen", "Stickstoff", "azote", "nitrógeno", "azoto", "stikstof",
    "N2", "He", "helium", "Gas: N2", "blue boot, He", "max 180", "max. 180", "max: 180", "limit 180", "limit to 180 bar", "bis 180", "bis max. 180",
    "nur 180", "only 180", "180 max", "180 only", "jusqu'à 180", "hasta 180", "fino a 180", "tot 180", "top to 180", "fill to 180", "up to 180 bar",
    "max 2600", "Max fill: 150", "Fill to: 180", "no valve", "ohne Ventil", "sans robinet", "sin grifo", "senza rubinetto", "zonder kraan",
    "valve removed", "black dust", "white powder", "schwarzer Staub", "NG", "N.G.", "KO", "K.O.", "N.O.K.", "n.i.O.", "Ausschuss", "stop",
]  # fmt: skip
NOT_SHORT = [
    "CO test ok", "CO2 test ok", "helium analysed", "he has it in hand", "not oily", "no oil", "no black dust", "ohne schwarzen Staub", "max 240",
    "limit 300", "bis 2019", "limit 3 per person", "only 12 l", "12 max", "no. 180", "Inspector: KO", "Initials: NG", "nur 2 Füllungen",
    "up to date", "top shelf 180", "only 180 EUR", "fill to 230", "new valve", "no valve cap", "MV",
]  # fmt: skip


@pytest.mark.parametrize("text", SHORT)
def test_what_is_written_short_holds_as_what_is_written_out(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    for said in (text, text.upper()):
        assert tells_against(book, book.cylinders["RB-014"], said), said
        assert not is_plain(said)


@pytest.mark.parametrize("text", NOT_SHORT)
def test_what_only_looks_like_it_holds_nothing(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text) == ""


def test_there_are_enough_to_tell_something() -> None:
    assert sum(map(len, HOLDS.values())) >= 145
    assert len(set(PLAIN)) >= 150


@pytest.mark.parametrize(
    ("tongue", "text"), [(tongue, text) for tongue, texts in HOLDS.items() for text in texts]
)
def test_what_holds_in_any_tongue(tongue: str, text: str) -> None:
    """Each is held as it is and in capitals; whatever is not is asked about."""
    book = make_book({"RB-014": GOOD})
    for said in (text, text.upper(), f"{text}, 2024"):
        held = tells_against(book, book.cylinders["RB-014"], said)
        assert held or said != text, tongue
        assert held or not is_plain(said)


@pytest.mark.parametrize("text", ASKED)
def test_what_nobody_knows_is_no_plain_remark(text: str) -> None:
    assert not is_plain(text)


@pytest.mark.parametrize("text", PLAIN)
def test_what_is_plain_neither_holds_nor_is_asked(text: str) -> None:
    """Of a card that names no thread: what contradicts its own card is another matter."""
    said_no_thread = GOOD.replace("neck_thread: 3/4-14 NPSM\n", "").replace(
        ", thread: 3/4-14 NPSM", ""
    )
    book = make_book({"RB-014": said_no_thread})
    assert tells_against(book, book.cylinders["RB-014"], text) == ""
    assert is_plain(text)


@pytest.mark.parametrize("text", [*(t for ts in HOLDS.values() for t in ts), *ASKED])
def test_a_note_of_a_card_is_no_bare_yes(text: str) -> None:
    """Whatever a note says that is not plain is told beside the answer, in its own words."""
    note = text.replace("'", "''")
    answer = may_fill(
        make_book({"RB-014": f"{GOOD}note: '{note}'\n"}), "RB-014", TODAY, station=False
    )
    told = [r.text for r in answer.reasons if text[:40] in r.text]
    assert told, answer.reasons


def test_a_note_is_told_until_somebody_looked_at_it_after_its_day() -> None:
    def told(note: str) -> bool:
        book = make_book({"RB-014": f"{GOOD}note: '{note}'\n"})
        reasons = may_fill(book, "RB-014", TODAY, station=False).reasons
        return any(r.code == "note-not-judged" for r in reasons)

    [look] = make_book({"RB-014": GOOD}).cylinders["RB-014"].inspected[-1:]
    assert told("flomps")
    assert told(f"{TODAY}: flomps")
    assert not told(f"{look.on.year - 1}-01-02: flomps")
    assert not told("blue boot")


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("Sustained load crack?: N", False), ("Sustained load crack?: no", False), ("Neck crack (SLC): N", False),
        ("Cracks seen?: nein", False), ("Fissures au col: non", False), ("Risse am Hals: nein", False), ("Fire damage?: N", False),
        ("Grietas en el cuello: no", False), ("Scheuren: nee", False), ("Water inside: no", False), ("Last failed: never", False),
        ("Burst disc psi: 5000", False), ("Burst disc: new 2024", False), ("Hold-down strap: yes", False),
        ("Sustained load crack?: Y", True), ("Sustained load crack?: N?", True), ("Neck crack (SLC): seen", True), ("No cracks: no", True),
        ("Crack tested: N", True), ("Cracks repaired: no", True), ("Corrosion removed?: no", True), ("Free of cracks: no", True),
        ("Burst disc: burst", True), ("Burst disc: leaks", True), ("Burst disc blown: 2024", True), ("Strap: broken", True),
        ("Burst: 2024", True), ("Hold: yes", True), ("Hold: 2024", True),
    ],
)  # fmt: skip
def test_a_no_below_a_fault_and_the_name_of_a_part_hold_nothing(text: str, held: bool) -> None:
    book = make_book({"RB-014": GOOD})
    assert bool(tells_against(book, book.cylinders["RB-014"], text)) is held


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Conforme: oui", True), ("Ventil ok?: ja", True), ("Apta: s\u00ed", True), ("Apta: si", True), ("Idonea: si.", True), ("Safe to fill: yes", True),
        ("Sustained load crack?: N", True), ("Fissures au col: non", True),
        ("Conforme: non", False), ("Conforme: x", False), ("Conforme: oui?", False), ("Non conforme: oui", False), ("Not ok: yes", False),
        ("Test needed: yes", False), ("Sustained load crack?: Y", False), ("Failed?: yes", False), ("No cracks: no", False), ("Hydro: yes", False),
    ],
)  # fmt: skip
def test_the_no_of_a_fault_and_the_yes_of_what_is_well_are_plain(text: str, plain: bool) -> None:
    book = make_book({"RB-014": GOOD})
    assert is_plain(text) is plain
    assert not (plain and tells_against(book, book.cylinders["RB-014"], text))


# --- in one word, as an order, of something else, of another day ---------------------------------

IN_OTHER_FORMS = [
    "roestplekken", "roestvlekken binnen", "roestvorming", "vliegroest", "Rostflecken", "Rostansatz", "Flugrost innen", "Lochfraß", "Rostnarben",
    "Haarriss", "Spannungsriss", "Materialfehler", "Gewindeschaden", "Korrosionsspuren", "Wasserschaden", "Brandschaden", "roestschade",
    "haarscheur", "Bodenkorrosion", "picada por dentro", "picado", "con picaduras", "piquée", "piqûres au fond", "vaiolata dentro", "corroída",
    "corrosa", "arrugginita", "rouillée", "oxidada", "muffig", "riecht muffig", "modrig", "sent le moisi", "huele a humedad", "odore di muffa",
    "muf van binnen", "schimmel erin", "moho dentro", "musty", "nicht mehr nehmen", "nicht mehr anbieten", "nicht mehr einplanen",
    "ne plus proposer", "ne pas accepter", "no ofrecer", "non accettare", "niet meer aannemen", "do not accept", "don't offer it", "déclassé",
    "déclassée en 2024", "declasse", "declassata", "desclasificada", "downgraded", "derated", "herabgestuft", "zurückgestuft", "afgewaardeerd",
    "in the workshop for a crack", "bad valve", "bad light, valve leaks", "leaks, goes to the requalifier in the spring",
    "gone to the requalifier in May", "needs to go to the tester in May",
]  # fmt: skip
OF_NO_CYLINDER = [
    "bad light", "photo taken in bad light", "bad handwriting", "bad photo", "poor light", "poor photo", "bad weather", "bad luck",
    "in the workshop", "at the workshop", "valve serviced in the workshop 2024", "goes to the requalifier in the spring",
    "going to the tester in May", "to go to the test house next year", "goes for hydro in June", "sent for hydro every five years",
    "geht im Frühjahr zum TÜV", "part à l'épreuve au printemps", "va al retimbrado en primavera", "va al collaudo in primavera",
    "gaat in het voorjaar naar de keuring", "with the new valve", "with the blue boot", "nicht vergessen", "ne pas oublier la clé",
    "no olvidar la llave", "non dimenticare", "niet vergeten", "nicht verwechseln mit 12", "rostfrei", "rostfreie Schrauben", "roestvrij", "Rostock",
    "Rostschutz", "hydro next year", "Modelle 12L", "auf dem Gitterrost", "Schreibfehler in der Liste", "Farbfleck", "defrost",
]  # fmt: skip


@pytest.mark.parametrize("text", IN_OTHER_FORMS)
def test_what_is_said_in_one_word_or_as_an_order_holds(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text)


@pytest.mark.parametrize("text", OF_NO_CYLINDER)
def test_what_is_said_of_something_else_or_another_day_holds_nothing(text: str) -> None:
    """None of it is taken for plain by that."""
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text) == ""


@pytest.mark.parametrize(
    ("text", "has_it"),
    [("with the new valve", False), ("with a blue boot", False), ("with the club", True), ("with Bob", True), ("avec robinet neuf", False), ("avec Marc", True)],
)  # fmt: skip
def test_who_has_it_is_no_part(text: str, has_it: bool) -> None:
    assert says_who_has_it(text) is has_it
