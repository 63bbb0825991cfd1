"""What people write in notes and findings: which words are said, and which denied.

The words are from memory, in the languages of those who sign; no source lists them. Where a text
must let a cylinder go, the words that do are a closed list, and whatever else it says does not.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import cache, lru_cache

from tankbook.records.finding import FindingRow
from tankbook.records.words import Seen
from tankbook.units.patterns import pattern

# --- what is said and what is denied -------------------------------------------------------------


def listed(words: str) -> tuple[str, ...]:
    """Words from a text with commas between them."""
    return tuple(word.strip() for word in words.split(","))


_DENYING = frozenset(
    {"no", "not", "nor", "neither", "nothing", "never", "without", "free", "negative", "zero"}
    | {"kein", "keine", "keinen", "keiner", "ohne", "nicht", "sans", "pas", "aucun", "aucune"}
    | {"sin", "ningun", "ninguna", "senza", "nessun", "nessuna", "geen", "zonder"}
)
"""Words that deny what follows them in a clause."""

_BETWEEN = frozenset(
    "a an any the this that its of on at in for from by to with has have had been be being"
    " is are was were did do does sign signs evidence trace traces indication indications"
    " heat fire longer hairline hint hints mark marks visible apparent obvious other further"
    " more new single found find see seen show shows showed shown detect detected observe"
    " observed noted sort kind type eddy current ultrasonic neck thread threads shoulder"
    " crown body wall base surface inside outside internal external suspected possible or de"
    " du des le la les einen eine ein im am anzeichen von signos oder nor dent dents crack"
    " cracks cracking bulge bulges pit pits pitting rust corrosion gouge gouges dig digs cut"
    " cuts burn burns leak leaks fold folds lap laps scratch scratches damage odour odor"
    " odours odors smell smells moisture water salt oil grease riss risse beule beulen delle dellen"
    " rost korrosion kratzer brandspuren fuego fuoco feu fisuras fissures cricche scheuren".split()
)
"""Words that may stand between a denying word and what it denies; any other ends the denial."""

_SHORT = pattern(
    r"\b(did|does|do|must|is|are|was|were|has|have|had|could|would|should|ca|wo)n['\u2019]?t\b",
    re.IGNORECASE,
)


def plainly(text: str) -> str:
    """A text with its contractions written out, accents joined to their letters, and ss for ß."""
    return _SHORT.sub(r"\1 not", unicodedata.normalize("NFC", text).replace("ß", "ss"))


_DOUBTING = frozenset({"not", "can", "cannot", "no", "couldn"})
"""Before a denying word these turn it round: `not without cracks`."""

_REACH = 9
"""The most words between a denying word and what it denies."""

_THING = (
    r"(?:dents?|cracks?|cracking|bulges?|pits?|pitting|rust|corrosion|gouges?|digs?|cuts?|fire|heat"
    r"|burns?|leaks?|folds?|laps?|scratch(?:es)?|damage|odou?rs?|smells?|moisture|water|salt|oil"
    r"|grease|risse?"
    r"|beulen?|dellen?|rost|korrosion|kratzer|brandspuren)"
)
_LISTED = pattern(
    rf"\b{_THING}(?:\s*,\s*{_THING})*"
    rf"(?:\s*,?\s*(?:or|nor|oder)\s+{_THING}\b|\s*/\s*{_THING}\b"
    rf"|\s*,?\s*(?:and|und)\s+{_THING}\b"
    r"(?=\s*(?:$|[.;:,()]|found|seen|noted|visible|detected|at all)))",
    re.IGNORECASE,
)
"""Things that are named one after another: what is said or denied of one is of all."""

_NAMES = pattern(
    r"\bheat ?waves?\b|\bheat (?:of|from) (?:the )?(?:day|sun|fill\w*)\b|\bsun[ -]heated\b"
    r"|\bpainted flames?\b|\bflames? (?:design|pattern|decal|sticker)s?\b"
    r"|\b(?:sun-?|wind-?)burn\w*|\bburn\w* (?:off |away )?(?:by|in) the sun\b"
    r"|\b(?:o-?ring|seal|hose|gasket|disc|plug)\b[^.;,]{0,20}\bwith a (?:loud )?crack\b"
    r"|\bover-?pressure (?:plug|disc|relief|valve|device)s?\b"
    r"|\bflash rust\b|\bfeu (?:vert|rouge)\b"
    r"|\bthreads? (?:is |are |was |slightly )?deform\w*|\bdeform\w* threads?\b"
    r"|\bcrack team\b"
    r"|\bsmells? of (?:new |fresh )?(?:paint|rubber|neoprene)\b"
    r"|\bcut (?:off )?the (?:old )?(?:tie|zip|cable|tape|strap|label|net)\b"
    r"|\bleak\w* (?:from|at|past) (?:the )?(?:[hl]p )?(?:seat|o-?ring|burst dis[ck]|valve stem)\b"
    r"|\bmelted in (?:a|the) (?:hot )?(?:car|van|sun)\b"
    r"|\bheat[ -]?(?:no|nr|number|lot|code|treatment|stamp|shrink)\b|\bheated (?:debate|talk)\b"
    r"|\bfire (?:dept|department|brigade|service|station|rescue|house|fighters?|lane|road|door|exit"
    r"|extinguisher|alarm|drill|marshal|hose|safety|inspection|insurance)\b|\bfeuerwehr\w*|\bfeuerlösch\w*"
    r"|\b(?:flame|rust|burnt|fire|salt)[ -](?:red|orange|brown|colou?red|white)\b"
    r"|\bcrack(?:ed|ing)? (?:it )?open\b|\bcrack(?:ed|ing)? the valve\b(?! (?:thread|opening|bore))"
    r"|\bopen(?:ed)? (?:it )?a crack\b"
    r"|\blap pool\b|\bpit stop\b|\bcut[ -]price\b|\bcut to (?:fit|length|size)\b"
    r"|\bsplit (?:ring|pin|decision)\b|\bburn(?:t|ed)[ -]out\b|\bheat (?:indicator|label|sticker)\b"
    r"|\bleak(?:age)?[ -]test\w*|\b(?:factory|maker'?s?) powder[ -]coat\w*"
    r"|\bpowder[ -]coated by (?:the )?(?:maker|factory)\b"
    r"|\b(?:used|dived?) in (?:the )?(?:salt ?water|sea)\b|\brins\w+ after (?:salt ?water|sea)\b",
    re.IGNORECASE,
)
"""Names in which a word stands for something else."""
_CLAUSE = pattern(r"[.;:!?()\n,]|\bbut\b|\bthough\b|\bexcept\b", re.IGNORECASE)
_DENIED_AFTER = pattern(
    r"(?:\s+(?:and|or|und|oder)\s+\w+)?\s*[:=]\s*(?:none|no|nil|n/?a|keine?|ok|0)\b|"
    r"\s+(?:is |are )?normal\b|"
    r"(?:\s+items)?(?:\s+(?:ist|sind|was|were|is|are|could|has been|have been)\b|\s*[:=])?\s+"
    r"(?:none|nil|n/?a|absent|excluded|ruled out|"
    r"nicht\s+(?:bestätigt|gefunden|vorhanden|sichtbar)|"
    r"(?:not|never)\s+(?:be\s+)?(?:found|seen|confirmed|present|visible|detected|needed"
    r"|required))\b"
    r"(?=\s*(?:$|[.;:,()!?\n]|and\b|or\b|but\b"
    r"|(?:in|on|of)\s+(?:the\s+)?(?:neck|threads?|shoulder|wall|body|cylinder)\b))"
    r"|[ -](?:free|frei)\b",
    re.IGNORECASE,
)
_IN_THE_PAST = pattern(
    r"(?:\s+\w+)?\s+(?:last\s+(?:year|time|month|week|look)|(?:in|of)\s+(?:19|20)\d\d|before"
    r"|previously"
    r"|earlier|so far|yet)\b",
    re.IGNORECASE,
)
"""A denial that says nothing of today."""


_TO_LOOK = pattern(
    r"(?<!\bnot )(?<!\bnever )\b(?:check|look|inspect|test|examin)\w*(?:\s+\w+)?\s+for\s+"
    rf"(?:a\s+|any\s+)?{_THING}\b",
    re.IGNORECASE,
)
"""What somebody is to look for, or did: it says nothing of what was found."""
_FOUND = pattern(r"\b(?:found|saw|seen|yes|there (?:is|was))\b", re.IGNORECASE)


def speaks_of(text: str, word: str) -> str:
    """The word by which a text speaks of something, or an empty text; `no crack` speaks of none.

    A word counts as it stands and with the endings of a plural or a verb; `bulg*` with any. It is
    denied where a denying word stands close before it, with nothing between that says more.
    """
    text = _prepared(text)
    for found in as_written(word).finditer(text) if _may_hold(text, word) else ():
        before = re.findall(r"[^\W_]+", _CLAUSE.split(text[: found.start()])[-1].casefold())
        denied = _is_denied(before) and not _IN_THE_PAST.match(text, found.end())
        after = bool(_DENIED_AFTER.match(text, found.end()))
        if (denied or after) and _EXCEPTED.match(text, found.end()):
            return found[0]
        if denied is after:
            return found[0]
    return ""


_EXCEPTED = pattern(
    r"(?:\s+\w+){0,4}?\s*,?\s+(?:except|excepting|apart from|other than|but for|bis auf|ausser"
    r"|außer|sauf|excepté|salvo|excepto|tranne|eccetto|behalve)\b",
    re.IGNORECASE,
)
"""What takes something out of a denial: `no cracks except one at thread 4`."""


@lru_cache(maxsize=4096)
def _prepared(text: str) -> str:
    """A text without what stands for something else, or is only asked; of several things that are
    named together, what is said of one is of all."""
    text = _NAMES.sub(" ", plainly(text))
    asked = _TO_LOOK.search(text)
    if asked and not _FOUND.search(text[asked.end() :]):
        text = _TO_LOOK.sub(" ", text)
    return _LISTED.sub(lambda m: re.sub(r"\s*[,/]\s*|\s+(?:and|und)\s+", " or ", m[0]), text)


def _is_denied(before: list[str]) -> bool:
    for back, word in enumerate(reversed(before[-_REACH:])):
        if word in _DENYING:
            rest = before[: len(before) - back - 1]
            if word == "nothing":
                return back == 0
            return not (rest and (rest[-1] in _DOUBTING or rest[-2:] == ["no", "longer"]))
        if word not in _BETWEEN:
            return False
    return False


_LONG = 5
"""The letters of a word that is looked for within others (own bound; `dent` is in `evident`)."""


_SPELT = {
    "ä": "(?:ä|ae?)",
    "ö": "(?:ö|oe?)",
    "ü": "(?:ü|ue?)",
    "ß": "ss",
    **{letter: f"[{letter}{plain}]" for letter, plain in zip("éèêûîô", "eeeuio", strict=True)},
}
"""How letters with an accent are written where a keyboard has none."""


@cache
def _core(word: str) -> str:
    """The longest part of a word that is always written alike."""
    return max(re.split(f"[{''.join(_SPELT)}]", word.removesuffix("*")), key=len).casefold()


@lru_cache(maxsize=4096)
def _folded(text: str) -> str:
    return plainly(text).casefold().translate(_DOTS)


_DOTS = {0x131: "i", 0x307: None}
"""The i without a dot, and the dot of the capital with one: an i whatever its case."""


def _may_hold(text: str, word: str) -> bool:
    """Whether a text may hold a word as written: a quick look, before a pattern is made for it."""
    return _core(word) in _folded(text)


@cache
def as_written(word: str) -> re.Pattern[str]:
    """A word with the endings of a plural or a verb; `bulg*` with any ending. A long one counts
    with a stray letter before it (`hairlin ecrack`) and within words that were run together as well
    (`hairlinecrackatthread3`)."""
    letters = word.removesuffix("*")
    stem = "".join(_SPELT.get(letter, re.escape(letter)) for letter in letters)
    ends = r"\w*" if word.endswith("*") else rf"(?:{letters[-1]}?(?:e?s|e?d|e?n|ing|y))?\b"
    within = rf"|\b(?=\w{{14}})\w*{stem}\w*" if len(letters) >= _LONG else ""
    stray = r"\w?" if len(letters) >= _LONG else ""
    return re.compile(rf"\b{stray}{stem}{ends}{within}", re.IGNORECASE)


def first_of(text: str, words: Iterable[str]) -> str:
    """The first of these words that a text speaks of, or an empty text."""
    held = (word for word in words if _may_hold(text, word))
    return next(filter(None, (speaks_of(text, word) for word in held)), "")


_ASIDE = pattern(
    r"\b(?:(?:do not|must not|never) (?:re)?(?:fill|use)\b"
    r"(?! (?:the |a |any |its )?(?:yoke|insert|boot|strap|handle|knob))"
    r"|ne (?:pas|plus) (?:remplir|gonfler|utiliser|charger)|no (?:llenar|cargar|usar)\b"
    r"|niet (?:vullen|gebruiken)|non (?:ri)?(?:caricare|empire|usare)|non usare"
    r"|hors (?:service|d.usage)|fuera de (?:servicio|uso)|buiten gebruik|fuori (?:uso|servizio)"
    r"|ausser dienst|out of order|leave empty|(?-i:DNF|OOS|O/S)|scrapped|(?:for|to) scrap\b"
    r"|scrap it|to be (?:scrapped|destroyed|cut up)|written off|display only"
    r"|retired (?:from|in (?:19|20)\d\d|cylinder|$)|would not pass|failed to pass"
    r"|(?-i:CO) alarm|(?-i:CO) \d\d+ ?ppm|scrap heap|reject (?:shelf|bin|heap)|sperrlager"
    r"|(?:serial|stamps?|marks?|number)(?: \w+)? (?:ground|filed|sanded) (?:off|away)"
    r"|(?:ground|filed|sanded) off (?:the )?(?:serial|stamp|marks?|number)"
    r"|filled to \d+ ?(?:psi|bar)? by mistake|over-?pressur\w+|run over\b|bullet hole|shot at"
    r"|not for (?:filling|use|breathing|diving|divers)\b|keep empty|keep out of use|kapott?\b"
    r"|(?:for )?(?:co2|argon|nitrogen|helium|welding|paintball)(?: use| gas)? only|scrap[.!]?$"
    r"|lost at sea|(?:did|does) not pass (?:its |the )?(?:hydro|test|requal|visual|inspection)"
    r"|(?:not (?:to )?|cannot |can not |must not )be (?:filled|used)|(?:not|un)[ -]?safe"
    r"|unfit|unserviceable|dangerous|derated|recalled|(?:to be|waiting for) scrap\w*|condemn\b"
    r"|hydro fail\w*"
    r"|(?:nicht|darf nicht|nicht mehr) (?:be|zu |ge)?füll(?:en|t)|ausser betrieb|zum verschrotten"
    r"|(?<!was )(?<!been )out of (?:service|test)(?! (?:from |since )?\d| when it came)"
    r"|condemned|rejected|quarantined?|stolen"
    r"|over-?filled|nicht (?:be)?füllen)\b",
    re.IGNORECASE,
)
_MISSHAPEN = listed(
    "deformed, swollen, welded, drilled, delaminat*, failed, fails, ruptur*, leaking, leaks at,"
    " leaked, undicht, defekt, kaputt, ausgebeul*, durchgefallen, ausgesondert, gesperrt, sperre,"
    " verschrott*, schrott, schrottreif, ferraille, chatarra, schroot, rottam*, junk,"
    " nicht bestanden,"
    " tüv gefallen, non conforme, afgekeurd*, überfüllt*, surpression, sobrepresión, gestohlen,"
    " volé,"
    " volée, robad*, rubat*, stretched, wall thin, helicoil, re-threaded, rethreaded,"
    " contains argon,"
    " used with argon, filled with argon, holds argon, headache, got sick, sick on"
)


_SHELL = listed(
    "welded, drilled, delaminat*, stretched, wall thin, thin wall, helicoil, re-threaded,"
    " rethreaded, run over, dropped from, fell off, fell from, neck bent, bent neck, sheared off,"
    " battery acid, muriatic acid, lye, drain cleaner, mercury, verzogen, ground at"
)


def speaks_of_harm(text: str) -> str:
    """The word by which a reason says what a shell suffered that no look outside tells, or an
    empty text."""
    text = _PEOPLE.sub(" ", plainly(text))
    return next(filter(None, (speaks_of_shell(text, word) for word in _SHELL)), "")


def sets_aside(text: str) -> str:
    """The words by which a note sets a cylinder aside, or an empty text."""
    rest = _ELSEWHERE.sub(" ", plainly(text))
    bad = (speaks_of_shell(rest, word) for word in _MISSHAPEN)
    return says_do_not(text) or next(filter(None, bad), "")


def says_do_not(text: str) -> str:
    """The words by which a text says that a cylinder is not to be filled, or an empty text."""
    found = _ASIDE.search(text := _PEOPLE.sub(" ", _HAPPENED.sub(" ", plainly(text))))
    return found[0] if found and (_NOT.match(found[0]) or speaks_of_shell(text, found[0])) else ""


_HAPPENED = pattern(r"\bhappened:\s*over-?filled\b", re.IGNORECASE)
"""What the log says of an overfill, which is judged by its pressures."""
_ELSEWHERE = pattern(r"\bfail(?:s|ed) to\b", re.IGNORECASE)


_NOTHING = frozenset(
    "na none nil nonegiven noreason noreasongiven because later pending tobedecided"
    " nobodyknows keingrund keiner nichts weißnicht unknown unclear unsure tba tbd tbc no"
    " not yes x guess guessed guesswork assumed assumption probably maybe notknown dontknow"
    " noidea rien nada niente unbekannt unklar geraten inconnu".split()
)


_UNHARMED = frozenset(
    "none no nil nothing na n a ok okay all fine good sound clean intact undamaged unharmed"
    " 0 as before seen visible noted found new any at return on the cylinder damage damages"
    " dents dent marks kein keine keiner keinen nichts ohne schaden schäden beschädigung"
    " beschädigungen unbeschädigt i o b befund in ordnung aucun aucune dommage rien".split()
)
_HARM = frozenset(
    "damage damages dents dent marks schaden schäden beschädigung beschädigungen dommage".split()
)
_SO = frozenset(
    "none no nil nothing any kein keine keiner keinen ohne aucun aucune without".split()
)


def unharmed(text: str) -> bool:
    """Whether what was noted of damage at a return says that there was none; a `?` does not."""
    words = re.findall(r"[^\W_]+", text.casefold())
    if "?" in text or not _UNHARMED.issuperset(words):
        return False
    return not _HARM.intersection(words) or bool(_SO.intersection(words))


_DOUBT = pattern(
    r"\bstill (?:leak|crack|bad|there|wet|smell)\w*|\bnobody (?:has )?looked\b"
    r"|\bnot (?:yet )?(?:looked|repaired|mended|done|checked|inspected|tested)\b"
    r"|\bnicht repariert\b|\b(?:do not|never) fill\b|\bunsafe\b|\bfailed at\b|\bcondemned by\b"
    r"|\bnoch undicht\b|^\s*undicht\b|\bnever (?:found|turned up)\b|\bwritten off\b"
    r"|\bstill missing\b|\bcould not find\b(?! any)|\bdid not look\b|\bnot found\b"
    r"|\b(?:probably|seems?|looks?) (?:fine|ok|okay|good|tight)\b(?! inside|, tested)",
    re.IGNORECASE,
)


def in_doubt(text: str) -> str:
    """The words by which a reason to let a cylinder go says that it is not well, or an empty
    text."""
    found = _DOUBT.search(plainly(text))
    return found[0] if found else ""


_UNSETTLED = pattern(
    r"\btoo (?:deep|long|much|many|worn)\b|\bneeds? (?!no)\w|\bunknown\b|^\s*deep\b"
    r"|\bnot (?:yet |been )?(?:removed|measured|dried|cleaned|done|looked|checked|dressed)\b",
    re.IGNORECASE,
)


def unsettled(text: str) -> str:
    """The words by which a note on what was found and passed says that it is not well, or an empty
    text."""
    found = _UNSETTLED.search(plainly(text))
    missing = speaks_of(text, "missing")  # `none missing` is well
    return (found[0] if found else "") or missing or in_doubt(text) or not_passed(text)


_MISTAKEN = pattern(
    r"\b(?:wrong|mistake\w*|mistook|error|misread|mistyped|typo|mix(?:ed)?[ -]?up|meant|duplicate"
    r"|twice"
    r"|(?:an)?other (?:cylinder|card|serial|bottle|tank|one)|not this|belongs? to|demonstrat\w*"
    r"|neighbour|instead of|confus\w*|(?:was|is|were) for|should have been|(?:never|not) condemned"
    r"|retract\w*|correct\w*"
    r"|training"
    r"|verwechs\w*|falsch\w*|irrtum|irrtümlich\w*|doppelt|andere flasche|erreur|mauvais\w*"
    r"|autre bouteille"
    r"|equivoc\w*|otra botella|sbagliat\w*|vergissing|verkeerd\w*)\b",
    re.IGNORECASE,
)


def says_mistaken(text: str) -> bool:
    """Whether a reason to strike out an entry says that it was a mistake, and what of."""
    return _MISTAKEN.search(plainly(text)) is not None


_REFUSED = pattern(
    r"\b(?:den(?:y|ied)|refus\w+|revok\w+|withdraw\w*|rescind\w*|expired?|lapsed|ends? it|ended"
    r"|pending"
    r"|applied for|application|request\w*|missing|lost|nobody|not renewed|not granted|rejected"
    r"|ungültig"
    r"|beantragt|abgelehnt|abgelaufen|widerrufen|demandé\w*|retiré\w*|perdu\w*)\b",
    re.IGNORECASE,
)


_HEARSAY = pattern(
    r"\b(?:forum|by eye|looks? like|colou?r|magnet\w*|(?:seller|owner|customer|mate) (?:said|told)"
    r"|asked|unsure|not confirmed|to be written|draft|in preparation|not yet|proposed|entwurf)\b",
    re.IGNORECASE,
)


def is_no_evidence(text: str) -> bool:
    """Whether what somebody says a fact is known from is no evidence of it: nothing, hearsay, or
    what was refused, lost or only asked for."""
    plain = plainly(text)
    bad = says_nothing(text) or in_doubt(text) or _REFUSED.search(plain) or _HEARSAY.search(plain)
    return bool(bad or not_passed(text))


_AN_END = pattern(r"\bthat ends\b|\bends? it\b|\bended\b", re.IGNORECASE)


def names_no_paper(text: str) -> bool:
    """Whether what stands for the paper of a renewal names none, or one by which it was refused."""
    return is_no_evidence(text) or _AN_END.search(plainly(text)) is not None


_NOT_MADE = pattern(
    r"\b(?:not (?:done|made|tested|carried out|calibrated)|no test\b(?! (?:needed|due|asked))"
    r"|(?:not|un)[ -]?pressuri[sz]ed|(?:only|just) (?:a )?(?:visual|look)|visual(?:ly)? only"
    r"|(?:on )?paper only|as a favou?r|(?:an)?other (?:serial|cylinder)|stamp bought"
    r"|no[- ]?go\b[^;.]{0,12}\b(?:goes|went|enter\w*|pass\w*)"
    r"|waived|to follow|pending|provisional(?:ly)?|without (?:a |the )?(?:hydro\w* ?)?test\w*"
    r"|not (?:\w+ ){0,2}(?:tested|reached|recommended|performed)"
    r"|(?:leak|hammer|valve) test (?:only|passed)"
    r"|copy of (?:\w+ ){0,2}(?:certificate|paper|sheet)|to (?:its )?working pressure(?: only)?\b"
    r"|reduced pressure|conditional\w*|bedingt|wrong (?:cylinder|serial)|does not match"
    r"|re-?test in \d+ (?:weeks?|months?)|limit(?:ed)?(?: to)? \d{3,}|fit for use at \d+"
    r"|nicht (?:geprüft|durchgeführt|gemacht|erreicht|getestet|vorgeführt)"
    r"|keine? (?:\w*druck)?prüfung|nur (?:eine )?sicht\w*|ohne (?:druck)?prüfung|ausstehend"
    r"|non (?:effectuée?|testée?|réalisée?)"
    r"|sin prueba|no probad[oa])\b",
    re.IGNORECASE,
)


def says_overfilled(text: str) -> bool:
    """Whether a text says that a cylinder was filled above what it may hold."""
    text = re.sub(r"(?i)\bover-?fill\w* (?:alarm|label|sticker|valve)\b", " ", text)
    text = _OVER_ELSE.sub(" ", _GAUGE_IS.sub(" ", text))
    beyond = _BEYOND_ITS_OWN.search(plainly(text))
    denied = beyond and _NOT.search(text[: beyond.start()])
    return bool(first_of(text, _OVERFILLED)) or bool(beyond and not denied)


_IF_OVERFILLED = pattern(
    r"\b(?:over-? ?(?:filled|fill)|überfüllt)\s*\?"
    r"|\b(?:said|says|worried|thought|feared|suspected|claim(?:s|ed)|maybe|possibly|perhaps)\b"
    r"[^,;.]{0,20}\bover-? ?fill\w*",
    re.IGNORECASE,
)


def asks_if_overfilled(text: str) -> bool:
    """Whether a text only asks if a cylinder was filled above what it may hold."""
    return _IF_OVERFILLED.search(text) is not None and not says_overfilled(
        _IF_OVERFILLED.sub("", text)
    )


_OVERFILLED = listed(
    "overfill*, over-fill*, over filled, over fill, overpressur*, over-pressur*, over pressur*,"
    " overcharg*, over-charg*, over charg*, overfull, over full, too full, überfüll*, zu voll,"
    " zu hoch gefüllt, surpression, surgonfl*, trop gonfl*, trop rempli*, sobrepresión,"
    " sovrappression*, overvuld, suroppression, surremplissage"
)
_BEYOND_ITS_OWN = pattern(
    r"\b(?:above|over|past|beyond|exceed\w*|über)\s+(?:the\s+|its\s+|dem?n?\s+)?"
    r"(?:(?:working|service|marked|stamped|rated|fill)(?:\s+pressure)?|betriebs\w*|arbeits\w*"
    r"|limits?)\b"
    r"(?!\s+(?:date|interval|life|by|mark|number|year|month|period|time|term|contract)\w*)"
    r"|\b(?:filled|pumped|charged|up)\s+to\s+(?:its\s+|the\s+)?(?:test pressure|tp)\b"
    r"|\b(?:filled|pumped|charged)\s+to\s+(?:the\s+)?bank pressure\b"
    r"|\bfill(?:ed)? (?:far |way |much )?too (?:high|much)\b|\bzu ?viel (?:drin|druck)\b"
    r"|\bpressure (?:was |is )?(?:far |way |much )?too high\b|\btoo much pressure\b"
    r"|\b(?:gauge|needle) (?:pegged|on the stop)\b(?! (?:at|on) (?:0|zero))"
    r"|\büber (?:dem )?(?:nenn|füll)druck\b"
    r"|\babove max\w* (?:fill )?pressure\b|\bsurremplie?\b"
    r"|(?<![\w.,-])\d[\d,.' ]*\s*(?:psi|bar|kpa|mpa)\s+"
    r"(?:(?:over|above|past)(?=\s*(?:$|[,;.!)]"
    r"|(?:its|the)\s+(?:limit|mark|working|service|max|rated|stamp)"
    r"|limit\b|and\b|when\b|bled\b|after\b|what\b|working\b|service\b))"
    r"|too (?:much|high|many)(?! for)|more than it (?:may|should|can)\b|zu ?viel|de trop)"
    r"|\b(?:fill(?:ed)?|pumped|charged|stood|topped(?: off| up)?|gefüllt|was|is|it)\s+"
    r"(?:(?:to|at|about|auf|bis|up to)\s+){0,2}"
    r"(?:11[1-9]|1[2-9]\d|[2-9]\d\d)(?:[.,]\d+)?\s*(?:%|percent|per cent|prozent)"
    r"|\b(?:11[1-9]|1[2-9]\d|[2-9]\d\d)\s*% of (?:its |the )?(?:wp|working|service|rated|fill)"
    r"|\b\d\d\s*(?:%|percent) (?:over|above)\b|\b1[.,][2-9]\d?\s*x\s*(?:its\s+)?(?:wp|working)"
    r"|\b(?:over (?:the )?max(?:imum)?|overshot|overshoot|past (?:the )?red(?: line)?|in the red)\b"
    r"|\b(?:exceeded|above|over) (?:the )?allowed pressure\b|\breached bank pressure\b"
    r"|\b(?:way |far )too much in it\b|\btoo hard filled\b|\bexcess pressure\b(?! valve)"
    r"|\bbrought to test pressure\b|\btest pressure on it\b|\bcave[ -]fill(?:ed|s)?\b"
    r"|\bzu ?(?:viel|stark) gefüllt\b|\b(?:über|ueber)druck\b(?!ventil)(?<!bar überdruck)"
    r"|(?:^|[,;.(]|\b(?:at|to|with|on|had|took))\s*full (?:bank|cascade|storage) pressure\b"
    r"(?!\s+(?:test|is|next))"
    r"|\bup to (?:the )?bank pressure\b"
    r"|\b(?:gauge|needle|manometer|zeiger)\b[^,;.]{0,20}"
    r"(?:off (?:the )?(?:scale|end)|against the (?:stop|pin)|am anschlag)"
    r"(?! (?:at|on|bei) (?:0|zero))",
    re.IGNORECASE,
)
_GAUGE_IS = pattern(
    r"\b(?:gauge|spg|manometer|g\d)\b[^,;.]{0,20}?(?<!\d)(?:\d{1,2}|1\d\d|200)\s*(?:psi|bar)\s+"
    r"(?:over|above|too|high|more)\b[^,;.]*",
    re.IGNORECASE,
)
"""By how little a gauge is off."""
_OVER_ELSE = pattern(
    r"\bover-?charg\w*\s+(?:him|her|them|us|me|for|by|the customer|customer)\b[^;.]*"
    r"|\bover-?charg\w*[^;.]{0,20}\b(?:refund\w*|usd|eur|bill\w*|invoice)\b"
    r"|\b(?:shelf|rack|boat|regal|van|room|store|crate|box)\s+(?:is |was |ist )?"
    r"(?:too|over|zu)[ -]?(?:full|voll)\b|\bboat overfull\b|\brack overfull\b"
    r"|\b(?:refus\w+|declin\w+|want\w*|ask\w*)\s+(?:for\s+|to\s+|an?\s+)*"
    r"(?:over-?fill\w*|cave[ -]fill\w*)[^;.]*",
    re.IGNORECASE,
)
"""What else is too full, and what somebody only wanted."""


def says_disc_let_go(text: str) -> bool:
    """Whether a text says that a burst disc let go."""
    return _DISC_WENT.search(plainly(text)) is not None


_DISC = (
    r"(?:(?:burst|safety|rupture|bursting)[ -]?(?:dis[ck]|plug)s?|(?<!brake )(?<!lp )dis[ck]s?"
    r"|berst\w*|bursting plug|(?:valve )?safety|disque)"
)
_WENT = (
    r"(?:blew|blown|burst|ruptured|let go|popped|gave way|went(?! (?:in|on|back)\b)|vented|split"
    r"|gone|(?:hat )?(?:ausgelöst|angesprochen)|geplatzt|geborsten|éclaté)"
)
_DISC_WENT = pattern(
    rf"(?<!if the )(?<!if a )\b{_DISC}\s+(?:has\s+|had\s+|was\s+|is\s+|just\s+|itself\s+)?{_WENT}\b"
    rf"|\b(?:blew|blown|popped|ruptured)\s+(?:the\s+|its\s+|a\s+|out\s+the\s+)?{_DISC}\b",
    re.IGNORECASE,
)


def says_not_made(text: str) -> str:
    """The words by which a note on a test says that it was not made, or of something else, or an
    empty text."""
    found = _NOT_MADE.search(plainly(text))
    return found[0] if found else ""


def says_nothing(text: str) -> bool:
    """Whether what stands in the place of a reason is none: a dot, a dash, `tbd`."""
    letters = "".join(re.findall(r"[^\W_]+", text.casefold()))
    return len(letters) < 2 or letters in _NOTHING


# --- of a cylinder or of what is fitted to it ----------------------------------------------------

_FITTINGS = listed(
    "valve(?: knob| handle| body| stem| seat)?, hand ?wheel, (?:yoke )?knob, boot, net, mesh,"
    " label, sticker, decal, (?:carry )?handle, chrome, (?:dust )?cap, o-?ring, burst disc,"
    " dip tube, plug, insert, (?:tank )?band, strap, back ?plate, paint, lacquer, varnish,"
    " coating, gauge(?: lens| glass| needle)?, needle, lens,"
    " (?:thread )?protector, clip, buckle, hose,"
    " gasket, bungee, (?:hp |lp )?seat, plastic(?: cap| foot)?, foot ?ring, netz,"
    " (?:stand|kunststoff|gummi)?fu(?:ß|ss), griff, gurt, lack, aufkleber, handrad,"
    " ventil(?:rad)?, (?:yoke )?screw, pied, culot, volant, robinet, joint, étiquette,"
    " volante, grifo, junta, etiqueta, pomolo, rubinetto, voet"
)
_NO_PART = listed(
    "trolley(?: wheel)?, crate, wheel, bag, box, bulb, lamp, compressor, finger, hand, snow, wax,"
    " (?:wooden )?(?:rack|shelf), hose, gauge(?: lens| glass)?, torch, battery, heater,"
    " pallet, fan, fill room, window, door, bench, mask, regulator"
)
"""What is not of a cylinder at all."""
_FITTING = f"(?:{'|'.join((*_FITTINGS, *_NO_PART))})"
_FITTING_IS = pattern(_FITTING + r"\s+(?:is|was|has|has been)?\s*(?:a\s+)?$", re.IGNORECASE)
_IS_OF_FITTING = pattern(
    r"(?:\s+(?:crack|scratch|split|marks?|hole|crust|spots?))?"
    r"\s+(?:(?:in|of|on|im|am|in der|an der|auf dem)\s+(?:the\s+|its\s+)?)?"
    rf"(?:the first |the old |chrome of the )?{_FITTING}\b"
    r"(?!\s+(?:hole|thread|port|boss|neck|opening|side|end|area|region|zone|bore|pocket)\b)"
    r"(?!\s+(?:and|goes|runs|into|through|down|under|und|bis)\s+(?:\w+\s+){0,3}"
    r"(?:metal\w*|alumini?um|steel|wall|neck|threads?|shell|shoulder|wand|hals|gewinde|stahl)\b)",
    re.IGNORECASE,
)
_BY_FITTING = pattern(
    r"\b(?:under|beneath|below|behind|beside|near|around|without|by|at|above|inside|and|or|no"
    r"|remov\w*|took off|off)"
    r"\s+(?:the\s+|its\s+)?$",
    re.IGNORECASE,
)


def speaks_of_shell(text: str, word: str) -> str:
    """As `speaks_of`, and not of a fitting: `boot cracked` and `cracked boot` say nothing of it."""
    if not _may_hold(text, word):
        return speaks_of(text, word)
    rest = as_written(word).sub(lambda m: "" if _is_fittings(text, m) else m[0], text)
    return speaks_of(rest, word)


def spoken_of(text: str, row: FindingRow) -> str:
    """The word by which a text speaks of a finding on a cylinder, or an empty text."""
    words = (word for word in row.words if _may_hold(text, word))
    return next(filter(None, (_spoken(text, word, row.what) for word in words)), "")


def _spoken(text: str, word: str, what: Seen) -> str:
    """As `speaks_of_shell`; what melts a boot, chars its paint or burns a label was at the cylinder
    as well, and what was done to the paint was done to it."""
    if what is Seen.PAINT and _of_paint(text, word):
        return speaks_of(text, word)
    if what is not Seen.HEAT:
        return speaks_of_shell(text, word)
    rest = as_written(word).sub(lambda m: "" if _is_no_part(text, m) else m[0], text)
    return speaks_of(rest, word)


_PAINT = r"(?:paint|lacquer|varnish|coating|farbe|lack|peinture|pintura|vernice|verf)"
_PAINT_IS = pattern(rf"\b{_PAINT}\s+(?:\w+\s+){{0,2}}$", re.IGNORECASE)
_IS_PAINT = pattern(rf"\s+(?:\w+\s+){{0,2}}{_PAINT}\b", re.IGNORECASE)


def _of_paint(text: str, word: str) -> bool:
    """Whether a word is said of the paint: `paint was stripped` is of no fitting."""
    said = as_written(word).finditer(text)
    return any(_PAINT_IS.search(text[: m.start()]) or _IS_PAINT.match(text, m.end()) for m in said)


def _is_fittings(text: str, found: re.Match[str]) -> bool:
    before = _FITTING_IS.search(text[: found.start()])
    if before and not _BY_FITTING.search(text[: before.start()]):
        return True
    return bool(_IS_OF_FITTING.match(text, found.end()))


_NO_PART_IS = pattern(
    rf"\b(?:{'|'.join(_NO_PART)})\s+(?:is|was|has|has been)?\s*(?:a\s+)?$", re.IGNORECASE
)
_IS_NO_PART = pattern(
    rf"\s+(?:(?:in|of|on)\s+(?:the\s+|its\s+)?)?(?:{'|'.join(_NO_PART)})\b", re.IGNORECASE
)
_A_MARK = pattern(rf"\s+marks?\s+(?:in|of|on)\s+(?:the\s+|its\s+)?{_FITTING}\b", re.IGNORECASE)


def _is_no_part(text: str, found: re.Match[str]) -> bool:
    """Whether something else got hot, or it is a mark on a fitting as a cigarette leaves it."""
    before = _NO_PART_IS.search(text[: found.start()])
    if before and not _BY_FITTING.search(text[: before.start()]):
        return found[0].casefold() not in _FIRES
    after = _IS_NO_PART.match(text, found.end()) or _A_MARK.match(text, found.end())
    return bool(after) and found[0].casefold() not in _FIRES


_FIRES = frozenset({"fire", "fires", "flame", "flames", "feuer"})
"""Fire itself: whatever else burnt in it."""

# --- what a test came to -------------------------------------------------------------------------

CRACKED = listed(
    "crack*, hairline*, fissur*, fractur*, neck split, split neck, thread split,"
    " split thread, shoulder split, wall split, riss, risse, rissen, anriss*, haarriss*,"
    " grieta*, fisura*, gerissen, eingerissen, angerissen, neck is split, split through, crak*,"
    " rissig*, fendu*, crique*, fêlure*, fêlé*, agriet*, rajad*, cricca*, incrinat*, scheur*,"
    " gescheurd*,"
    " split along, split down, ruptur*, hole in the wall, through the wall, durchgerissen"
)
_BAD = listed(
    "fail*, reject*, condemn*, scrap*, unsafe, unsound, unserviceable, unfit, leak, leaked,"
    " leaking, bulg*, defective, destroy*, refus*, inconclusive, durchgefallen, undicht,"
    " verworfen, nok, no good, not ok, below minimum, under minimum, too thin, too deep,"
    " over the limit, above the limit, above limit, below min*, under min*, unterschritten,"
    " überschritten, goes in, gauge enters, does not enter, not enter, geht hinein, stripped,"
    " ausgerissen, pit through, pitted through, out of round, not recommended,"
    " beyond limit*, over limit*, outside limit*, exceed*,"
    " burst, ruptur*, ftp, raté*, échoué*, refusé*, no pasó, rechazad*, afgekeurd*, bocciat*,"
    " not done, no test made, not calibrated, paper only, as a favour, as a favor, other serial,"
    " another serial, abort*, not finished, not complet*, not reached, stopped at, withheld,"
    " unstamped, no stamp, non conforme, not meet, deformed, swollen, gesperrt,"
    " ausgesondert, ausgeschieden, gerissen, ausbeul*, ausgebeul*, abgebrochen,"
    " gas escaped, no-go gauge enters, with restriction*, undersize*, oversize*,"
    " nicht erfolgreich, nicht mehr bestanden, nicht mehr in ordnung, zu groß, zu dünn, zu tief"
)
"""Words of a test that was not passed."""

_GOOD = listed(
    "pass*, accept*, approve*, sound, fit, safe, as new, negative, rissfrei, o.b,"
    " within limit*, bestanden, conforme, in ordnung"
)
"""Words of one that was; denied, they say the opposite."""

_ELSE = listed(
    "tool mark, toolmark, tap mark, machining, machine mark, burr, scratch, run-out,"
    " runout, scrape, score, fold, lap, valley, thread wear, werkzeugspur*, kratzer, riefe*,"
    " drehriefe*, falte*"
)
"""What a suspected crack turned out to be instead."""


def not_passed(text: str) -> str:
    """The word by which a text says that something was not passed, or an empty text: a word for
    that, or a denied word for its contrary."""
    text = _BESIDE.sub("", _LIMIT.sub("", _PEOPLE.sub("", plainly(text))))
    for word in _BAD:
        spoken = speaks_of_shell(text, word)
        if spoken and not _passed_after(text, spoken):
            return spoken
    half = _HALF.search(text)
    return half[0] if half else _denied(text)


def share_kept(text: str) -> float | None:
    """The percent of its expansion that a cylinder kept for good, as somebody wrote it."""
    found = _KEPT.search(plainly(text))
    return float(found["share"].replace(",", ".")) if found else None


_KEPT = pattern(
    r"\b(?:permanent|perm|expansion|pe|bleibende?|dehnung|ausdehnung)\b[^,;.%]{0,24}?"
    r"(?P<share>\d{1,3}(?:[.,]\d+)?)\s*%",
    re.IGNORECASE,
)


_HALF = pattern(r"\bonly \d+ ?\w* reached\b|\bover 10 ?(?:%|percent)", re.IGNORECASE)
"""A test that was not gone through with, or a figure over the limit of the trade."""
_LIMIT = pattern(r"\b(?:reject|condemn)\w*\s+(?:limit|level|criteri)\w*", re.IGNORECASE)
"""A figure that a test is held against, and nothing that it came to."""


_PEOPLE = pattern(
    r"\bfail(?:s|ed) to (?:turn up|show up|come|arrive|collect|fetch|pick|deliver|bring|send|ring"
    r"|call|answer|reply|sign|pay|return)\b"
    r"|\b(?:refus|reject)\w+ (?:the |our |his |her |their )?(?:price|quote|cost|offer|bill"
    r"|invoice)\b"
    r"|\b(?:refused|rejected) by (?:the |an? )?(?:airline|courier|carrier|post|ferry|customer"
    r"|owner)\b",
    re.IGNORECASE,
)
"""What somebody did not do, and nothing that a test came to."""

_BESIDE = pattern(
    r"(?:\b(?:old|the|failed|unsafe|unfit|scrapped|destroyed|rejected|refused|leaking|defective)\s+){0,2}"
    r"\b(?:plus|star|sticker|label|boot|valve(?!\s+(?:opening|thread|bore|hole|pocket|boss|end"
    r"|neck))"
    r"|o-?ring|knob|handle|burst dis[ck]s?|ventil)\b[^,;.]*",
    re.IGNORECASE,
)
"""A clause that is about something else than the cylinder's test: `plus not approved`."""


def _passed_after(text: str, bad: str) -> bool:
    """Whether a text goes on to say that it passed in the end: `first run failed, then passed`."""
    rest = text[text.rindex(bad) + len(bad) :]
    again = _IN_THE_END.search(rest) or _ONCE_MORE.search(text)
    return bool(again) and bool(first_of(rest, (*_GOOD, "ok")))


_ONCE_MORE = pattern(
    r"\b(?:re-?tested|re-?run|repeated|first (?:run|reading|test))\b", re.IGNORECASE
)
_IN_THE_END = pattern(
    r"\b(?:then|later|finally|eventually|repeated|again|second|re-?tested|re-?run|danach|dann)\b",
    re.IGNORECASE,
)


def _denied(text: str) -> str:
    """A good word that is denied, however much stands between in its clause."""
    for clause in re.split(r"\band\b|\bund\b|[.;:!?()\n,]", plainly(text)):
        for word in (*_GOOD, "ok", "okay", "in order"):
            found = as_written(word).search(clause)
            denied = found and _NOT.search(clause[: found.start()])
            if found and (denied or not speaks_of(clause, word)):
                return f"not {found[0]}"
    return ""


_NOT = pattern(
    r"\b(?:not|never|hardly|barely|cannot|nicht|non|far from)\b(?!\s+(?:only|just)\b)",
    re.IGNORECASE,
)


_LIMITING = pattern(
    r"\b(?:not|no|never|only|but|except|without|until|unless|if|should|must|limit\w*|less|lower|reduced"
    r"|nicht|nur|aber|ohne|kein\w*|bis|sauf|mais|pero|salvo)\b|\?",
    re.IGNORECASE,
)


def says_passed(text: str) -> bool:
    """Whether a text says that something was passed, and nothing that limits it."""
    good = first_of(text, (*_GOOD, "ok", "okay", "all good"))
    return bool(good) and not _LIMITING.search(plainly(text)) and not not_passed(text)


def says_cracked(text: str) -> str:
    """The word by which a requalifier says that there is a crack, or an empty text."""
    return next(filter(None, (speaks_of_shell(text, word) for word in CRACKED)), "")


def denies_cracks(text: str) -> bool:
    """Whether what somebody noted of a look for cracks says that there is none, or what it saw
    instead."""
    if _WORSE.search(text) or not_passed(text) or first_of(text, (*CRACKED, *_TRACES)):
        return False
    named = (
        unharmed(text)
        or _ALL_WELL.fullmatch(text)
        or any(as_written(word).search(text) for word in CRACKED)
    )
    return bool(named) or bool(first_of(text, (*_GOOD, *_ELSE)))


_WORSE = pattern(
    r"\b(?:new|further|deeper|worse|more than|growing|grew|longer than|through)\b(?! threads)",
    re.IGNORECASE,
)
_TRACES = ("line", "indication", "signal", "anzeige*", "split")
_ALL_WELL = pattern(
    r"(?:[\w /]+:\s*)?(?:none|nil|no signal|clear|ok|good|(?:all )?clear)\W*|not applicable\b.*"
    r"|(?:checked|geprüft|sauber|nichts (?:gefunden|zu sehen)|cleaned)\b[^,;]*|no \w+ needed\b.*",
    re.IGNORECASE,
)
"""What an inspector notes beside a look for cracks that found none."""
