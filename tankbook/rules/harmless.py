"""Reasons to hold a cylinder that say nothing of its shell: a closed list of words.

What may be wrong with a cylinder has no end of words; what is only its valve, its papers or its
owner has few. A reason in these words alone may be let go after a look from outside. The words are
from memory, in English and German; no source lists them.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from tankbook.rules.wording import plainly
from tankbook.units.patterns import pattern

_LITTLE = frozenset(
    "a an and any as at be been before but by can could did do does for from get got has have"
    " he her here him his i if in is it its itself just last me missing more my need needed"
    " needs new next no not of off old on once one only or our out over own please she so some"
    " still that the their them then there these they this till to today tomorrow too two until"
    " up us was we were when who will with yesterday yet you your again after also away back"
    " both first second fine well am auf aus bei beim bis da dann das dem den der des die ein"
    " eine einen er es fehlt fehlen für hat ich im ist kein keine mit nach nicht noch nur ob"
    " oder sein sie und vom von vor wird zu zum zur instead low high short bit little says said"
    " s".split()
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
    " sichtprüfung tüv count stocktaking moved transit instructor class training demo loaner"
    " insurance warranty estate police ownership belongs ours registered entered entry number"
    " clash data incomplete complete bookkeeping typing storage unused pending test going"
    " quarantine contents unlabelled refill drain cleaning workshop kit falsch ersatzteil"
    " ersatzteile eigentümer inhalt gemisch analysiert abgelaufen zahlt standfuß".split()
)
_FITTINGS = frozenset(
    "valve valves knob knobs handwheel handle wheel stem spindle seat packing gland o-ring"
    " o-rings oring orings o ring rings gasket seal seals disc disk dip tube insert outlet din"
    " yoke boot boots net mesh strap band clip plug cap protector gauge hose hoses manifold"
    " isolator bolts regulator first stage stiff stiffly turns turn tight hard drips hisses"
    " rattles rattle grease squeaks sticky burst ok okay cracked broken bent chipped split"
    " scuffed ventil handrad dichtung fuß fuss netz griff schwergängig kaputt gerissen screw"
    " worn stuck close open opens fully shut flows free rebuild bands perished chrome peeling"
    " colour tropft losing loses slow slowly".split()
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
_OF_PART = (
    _LEAKS
    | _OF_FITTING
    | frozenset(
        "burst removed remove repaired repair hard worn losing loses perished peeling chrome stuck"
        " rattle rattles ring grease bent broken split gone".split()
    )
)
_KNOWN = _LITTLE | _WORK | _PAPER | _FITTINGS | _LEAKS
_WORD = pattern(r"[^\W\d_]+(?:-[^\W\d_]+)*")
_NAMES = pattern(r"\b[A-Z]{1,4}-?\d[\w-]*|\b\d{1,2}[:.]\d\d\b|\b\d{4}(?:-\d\d){1,2}\b|\b\d{1,2}\b")
"""Ids, hours, dates and small numbers; a larger one may be a pressure."""


def is_harmless(reason: str, people: Collection[str] = ()) -> bool:
    """Whether a reason to hold a cylinder is of its valve, its papers or its owner alone; the
    initials of `people` say nothing."""
    plain = _NAMES.sub(" ", plainly(reason))
    words = [w.casefold() for w in _WORD.findall(plain) if w not in people]
    if not words or re.search(r"\d", plain) or not _KNOWN.issuperset(words):
        return False
    at = [n for n, word in enumerate(words) if word in _OF_PART]
    return all(_is_of_part(words, n) for n in at)


def _is_of_part(words: list[str], at: int) -> bool:
    """Whether what may be of a shell as well is said of a fitting or a paper, and not denied of it:
    `valve leaks`, `leaks at the valve`, `boot is cracked`; not `leaks, not the valve`."""
    if _DENIALS.intersection(words):
        return False
    before = [w for w in words[max(at - _NEAR, 0) : at] if w not in _JOINING]
    next_ = words[at + 1 : at + 1 + _NEAR]
    after = [w for w in next_ if w not in _JOINING]
    joined = bool(next_) and (next_[0] in _AT or words[at] not in _LEAKS)
    return bool((before and before[-1] in _PARTS) or (joined and after and after[0] in _PARTS))


_NEAR = 4
_AT = frozenset("at from past on of in am an im aus".split())
_JOINING = frozenset(
    "a at the is was are has its it from past on of in an am im der die das ist bit little two both"
    " again still first second on hand".split()
)
_DENIALS = frozenset("not no but without kein keine nicht".split())
