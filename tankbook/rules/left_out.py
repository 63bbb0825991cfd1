"""What a look at a cylinder says that it left out."""

from __future__ import annotations

import re

from tankbook.units.patterns import pattern

_PART = (
    r"(?:the |its )?(?:inside|interior|internals?|neck|crown|threads?|neck threads?|valve|it"
    r"|cylinder)"
)
_LOOKED = (
    r"(?:seen|looked|looked at|inspected|checked|examined|visible|accessible|removed|opened|out"
    r"|done|taken out|unscrewed)"
)
_NOT = r"(?:not|never|couldn't|couldn't be|could not be|wasn't|weren't)"
_INSIDE_OF_IT = r"(?:inside|(?:at |into )?(?:the |its )?(?:inside|interior|valve(?: out)?|neck))"
_OUTSIDE_ALONE = pattern(
    # English
    r"(?:looked at |seen |visual |only )*(?:the )?(?:outside|exterior|external(?:ly)?)"
    r"(?: (?:look|looked at|visual|inspection|inspected|examination|examined|check|checked))?"
    r"(?: only)?"
    r"|only (?:the |from )?outside"
    r"|no (?:look inside|(?:internal|interior|inside) (?:look|visual|inspection|examination|check))"
    rf"|{_PART} (?:was |were )?{_NOT} (?:be )?{_LOOKED}(?: inside)?"
    rf"|{_NOT} (?:be )?(?:seen|looked|looked at|inspected|examined|checked|opened)(?: inside)?"
    r"|(?:did not|didn't|could not|couldn't|unable to|not able to)"
    rf" (?:look|see|inspect|check|examine|get|remove|open|take out) {_INSIDE_OF_IT}"
    r"|(?:inside|interior|internals?|neck|threads?) (?:skipped|omitted|inaccessible|next time)"
    r"|(?:valve left|with (?:the )?valve) (?:in|fitted|on)|valve (?:seized|stuck)|neck only"
    r"|except (?:the )?inside"
    r"|without (?:removing|opening|taking out) the valve|could not remove (?:the )?valve"
    r"|(?:only )?(?:looked at |inspected |seen |checked )?from (?:the )?outside(?: only)?"
    r"|inspected externally"
    r"|(?:partial(?:ly)?|not fully) (?:inspection|inspected|look|visual)"
    r"|from (?:photographs|photos|pictures)"
    # German, folded: `ß` is `ss`
    r"|(?:nur )?(?:äussere )?(?:sichtprüfung|besichtigung|prüfung)(?: nur)? (?:von )?aussen"
    r"|(?:nur |ausschliesslich )?(?:von )?aussen|nur (?:von )?äusserlich"
    r"|äussere (?:prüfung|besichtigung|sichtprüfung)"
    r"|nur aussen geprüft|nur äussere (?:prüfung|besichtigung)|ohne ventil(?:ausbau|demontage)"
    r"|innen(?:prüfung|besichtigung)? nicht (?:durchgeführt|möglich|erfolgt|gemacht)"
    r"|innen nicht (?:geprüft|besichtigt|angesehen|gesehen|inspiziert|kontrolliert)"
    r"|(?:ohne|keine) innen(?:besichtigung|prüfung|kontrolle|inspektion|sicht)"
    r"|ventil (?:war )?nicht (?:ausgebaut|entfernt|geöffnet|demontiert|herausgedreht|abgeschraubt)"
    r"|ventil (?:sass|sitzt) fest"
    # French
    r"|(?:contrôle |vu |examen )?(?:l')?(?:extérieur|externe)(?: seulement| uniquement| seul)?"
    r"|(?:l')?intérieur (?:non|pas) (?:vu|contrôlé|inspecté|vérifié|examiné)"
    r"|robinet (?:non|pas) (?:démonté|déposé|retiré)"
    r"|sans (?:inspection|contrôle|examen) (?:intérieure?|interne|de l'intérieur)"
    # Spanish, Italian, Dutch
    r"|s[oó]lo (?:el |por el |por )?exterior|sin (?:ver|inspeccionar|revisar) (?:el )?interior"
    r"|sin inspección (?:interior|interna)|interior no (?:visto|revisado|inspeccionado)"
    r"|válvula no (?:desmontada|retirada)"
    r"|solo (?:l')?estern[oa]|solo dall'esterno|intern[oa] non (?:vist|ispezionat|controllat)[oa]"
    r"|senza (?:ispezione|controllo|esame) intern[oa]|valvola non (?:smontata|rimossa)"
    r"|alleen (?:de )?(?:buitenkant|buitenzijde|uitwendig)"
    r"|binnenkant niet (?:bekeken|gezien|geïnspecteerd|gecontroleerd)"
    r"|kraan niet (?:gedemonteerd|verwijderd)|niet van binnen (?:bekeken|gezien)"
)
"""A clause that says so and nothing else. From memory."""


_INSIDE = pattern(
    r"\b(?:insides?|interior|internal(?:ly)?|inner|bore|innen\w*|intérieure?|interne|interior|intern[oa]"
    r"|binnen\w*|inwendig)\b"
)
_STUCK = pattern(r"valve (?:seized|stuck)|ventil (?:sass|sitzt) fest")
_FREED = pattern(
    r"\b(?:freed|loosened|removed|came out|got out|replaced|gelöst|gelockert|ausgebaut)\b"
)


def left_out(text: str) -> str:
    """The clause by which a text says that a look was of the outside alone, or left something out;
    an empty text where none does. Of `internal, external` both were looked at."""
    said = text.casefold()
    clauses = (" ".join(clause.split()) for clause in re.split(r"[,;.:()\n]", said))
    freed = _FREED.search(said)  # `valve stuck, freed`
    found = [
        clause
        for clause in clauses
        if _OUTSIDE_ALONE.fullmatch(clause) and not (freed and _STUCK.fullmatch(clause))
    ]
    of_inside = any(_INSIDE.search(c) or c.startswith(("valve ", "ventil ")) for c in found)
    both = not of_inside and _INSIDE.search(said) is not None
    return "" if both or not found else found[0]
