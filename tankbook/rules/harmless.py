"""Reasons to hold a cylinder that say nothing of its shell: a closed list of words.

What may be wrong with a cylinder has no end of words; what is only its valve, its papers or its
owner has few. A reason in these words alone may be let go after a look from outside. The words are
from memory, in English and German; no source lists them.
"""

from __future__ import annotations

import re

from tankbook.rules.wording import plainly

_LITTLE = frozenset(
    "a an and any as at be been before but by can could did do does for from get got has have"
    " he her here him his i if in is it its itself just last me missing more my need needed"
    " needs new next no not of off old on once one only or our out over own please she so some"
    " still that the their them then there these they this till to today tomorrow too two until"
    " up us was we were when who will with yesterday yet you your again after also away back"
    " both first second fine well am an auf aus bei beim bis da dann das dem den der des die ein"
    " eine einen er es fehlt fehlen für hat ich im ist kein keine mit nach nicht noch nur ob"
    " oder sein sie und vom von vor wird zu zum zur".split()
)
_WORK = frozenset(
    "await awaiting wait waits waiting ask asks asked call called ring rang collect collected"
    " fetch fetched bring brings brought come comes came go goes went gone give given let leave"
    " left lent look looked see seen check checks checked read record recorded write written"
    " sign signed pay paid order ordered post posted send sent sell sold sale rent rental book"
    " booked booking keep kept put placed change changed replace replaced swap swapped fit"
    " fitted remove removed renew renewed mend mended fix fixed repair repaired service serviced"
    " tighten tightened loose loosened clean cleaned wash washed rinse rinsed dry dried find"
    " found lose lost decide decides decided wartet warten fragen gefragt abholen geholt bezahlt"
    " bestellt gewechselt ersetzt locker".split()
)
_PAPER = frozenset(
    "owner customer client member club student course school shop office counter rack shelf"
    " store stock room boat van bus trip pool season winter summer spring autumn week weeks day"
    " days month months year years january february march april may june july august september"
    " october november december monday tuesday wednesday thursday friday saturday sunday date"
    " dates due overdue annual visual inspection hydro requalification sticker stickers label"
    " labels tag tags certificate paper papers paperwork card form invoice bill price payment"
    " deposit money account receipt email phone address name initials illegible faded unreadable"
    " torn worn-off peeled expired lapsed reserved spare part parts supplier delivery delayed"
    " unknown unclear wrong mixed mistake duplicate analysis analysed unanalysed gas air nitrox"
    " oxygen mix blend empty drained full filled fill fills half reading pressure besitzer kunde"
    " kundin verein regal papier papiere rechnung aufkleber etikett termin fällig prüfung"
    " sichtprüfung tüv".split()
)
_FITTINGS = frozenset(
    "valve valves knob knobs handwheel handle wheel stem spindle seat packing gland o-ring"
    " o-rings oring orings o ring rings gasket seal seals disc disk dip tube insert outlet din"
    " yoke boot boots net mesh strap band clip plug cap protector gauge hose hoses manifold"
    " isolator bolts regulator first stage stiff stiffly turns turn tight hard drips hisses"
    " rattles rattle grease squeaks sticky burst ok okay cracked broken bent chipped split"
    " scuffed ventil handrad dichtung fuß fuss netz griff schwergängig kaputt gerissen".split()
)
"""Fittings, and what they do: as the reason of a hold the last are good with a fitting alone."""
_LEAKS = frozenset("leak leaks leaked leaking undicht bläst zischt".split())
_OF_FITTING = frozenset(
    "cracked broken bent chipped split scuffed drips hisses gerissen kaputt torn".split()
)
_PARTS = frozenset(
    "valve valves knob knobs handwheel handle stem spindle seat packing gland o-ring o-rings"
    " oring orings ring gasket seal disc disk boot boots net mesh strap band clip plug cap"
    " protector gauge hose manifold isolator regulator sticker label tag insert ventil handrad"
    " dichtung fuß fuss netz griff aufkleber etikett certificate paper".split()
)
_KNOWN = _LITTLE | _WORK | _PAPER | _FITTINGS | _LEAKS
_WORD = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*")
_NAMES = re.compile(r"\b[A-Z]{1,4}-?\d[\w-]*|\b[A-Z]{2,3}\b|\b\d[\w.:/-]*")
"""Ids, initials, figures and dates."""


def is_harmless(reason: str) -> bool:
    """Whether a reason to hold a cylinder is of its valve, its papers or its owner alone."""
    words = [w.casefold() for w in _WORD.findall(_NAMES.sub(" ", plainly(reason)))]
    if not words or not _KNOWN.issuperset(words):
        return False
    bare = not _PARTS.intersection(words)
    return not (bare and (_LEAKS | _OF_FITTING).intersection(words))
