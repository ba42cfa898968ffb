"""Words in a value's cell that are no numbers: missing marks, lost cores, glue failures. No columns, no files.

The lists are common practice, no published source.
"""

from __future__ import annotations

from enum import Enum

from adhesion_stats.intake.folding import fold

__all__ = ["Meaning", "is_missing", "is_no", "is_yes", "meaning"]


class Meaning(Enum):
    """What a text without a number says about a pull."""

    BLANK = "blank"
    MISSING = "missing"  # a known mark for "no value"
    LOST = "lost"  # lost before loading
    GLUE = "glue"  # broke at or in the dolly adhesive, no value
    WORD = "word"  # something else: no value, but worth a look


_MARKS = {
    "-", "--", "---", "–", "—", "−", "―", "?", "??", ".", "..", "...", "…", "/", "//", "\\", "x", "xx", "xxx", "a",
    "b", "*", "#",
    "n/a", "#n/a", "#na", "na", "n.a.", "n.a", "n. a.", "nd", "n.d.", "n. d.", "nt", "n.t.", "n. t.", "nm", "n.m.",
    "n.b.", "k.a.",
    "k. a.", "k.w.", "e.", "entf.", "s.o.", "s/o", "s/d", "s.d.", "nc", "n.c.", "nr", "n.r.", "nul", "null", "none",
    "nan", "nil",
    "tbd", "tbc", "b.d.", "n.v.t.", "void", "missing", "blank", "empty", "()", "[]", "✗", "✘", "×", "ø",
}  # fmt: skip
_MISSING_WORDS = {
    "not tested", "not measured", "not determined", "not available", "not applicable", "not recorded", "not done",
    "no value",
    "no result", "no reading", "no test", "no data", "untested", "nicht gepruft", "nicht gemessen", "nicht bestimmt",
    "nicht vorhanden", "entfallt", "entfallen", "kein wert", "keine angabe", "kein ergebnis", "ohne ergebnis", "fehlt",
    "non teste", "non testee", "non mesure", "non mesuree", "non realise", "sans objet", "pas de valeur", "absent",
    "no ensayado", "no medido", "sin dato", "sin datos", "sin valor", "no realizado", "non provato", "non misurato",
    "non eseguito", "nessun valore", "nao ensaiado", "nao medido", "sem dado", "sem dados", "sem valor",
    "nao realizado",
    "nie badano", "nie zbadano", "brak", "brak danych", "nie zmierzono", "brak wyniku",
}  # fmt: skip
_LOST_STEMS = (
    "lost", "verloren", "perdu", "perdid", "perso", "persa", "utracon", "stracon",
    "broke while", "broken while", "broke during", "broken during", "broke when", "debonded while", "debonded during",
    "debonded on coring", "debonded when", "fell off", "came off while", "came off during", "detached while",
    "detached during",
    "failed while coring", "failed during coring", "failed while drilling", "failed during drilling",
    "failed during cutting",
    "failed while cutting", "core broke", "core failed", "broke in coring", "broke on coring", "before loading",
    "beim bohren", "beim schneiden", "beim einschneiden", "beim anbohren", "beim freischneiden", "vor der prufung",
    "vor dem versuch", "abgefallen", "pendant le carottage", "lors du carottage", "au carottage", "lors du sciage",
    "decolle avant",
    "durante la extraccion", "durante el corte", "durante la perforacion", "al extraer", "antes del ensayo",
    "durante il carotaggio", "durante il taglio", "prima della prova", "durante o corte", "durante a extracao",
    "antes do ensaio",
    "podczas wiercenia", "podczas nacinania", "przed badaniem", "odpad",
)  # fmt: skip
_GLUE_STEMS = (
    "glue fail", "failure of glue", "failure in glue", "failure in the glue", "failure of the glue", "glue failure",
    "glue broke",
    "glue line", "glueline", "in glue", "in the glue", "glue", "epoxy fail", "failure of epoxy", "epoxy failure",
    "failure in adhesive", "failure of adhesive", "failure of the adhesive", "failure in the adhesive",
    "dolly adhesive",
    "disc adhesive", "disk adhesive", "adhesive of the dolly", "adhesive of the disc", "kleberbruch",
    "klebstoffbruch", "kleberversagen",
    "klebstoffversagen", "bruch im kleber", "bruch in kleber", "versagen im kleber", "klebstoff", "im kleber", "kleber",
    "rupture dans la colle", "rupture de la colle", "rupture colle", "defaut de collage", "dans la colle", "colle",
    "fallo del adhesivo", "fallo en el adhesivo", "rotura en el adhesivo", "fallo de pegamento", "pegamento",
    "rottura nella colla", "rottura della colla", "rottura colla", "rottura adesivo", "nella colla", "colla",
    "ruptura na cola", "ruptura da cola", "falha da cola", "falha na cola", "na cola", "zerwanie w kleju",
    "zerwanie kleju", "w kleju", "klej",
)  # fmt: skip
_YES = {
    "yes",
    "y",
    "ja",
    "j",
    "oui",
    "o",
    "si",
    "s",
    "sim",
    "tak",
    "t",
    "true",
    "wahr",
    "vrai",
    "verdadero",
    "vero",
    "x",
    "1",
    "✓",
    "✔",
}
_NO = {"no", "n", "nein", "non", "nao", "nie", "false", "falsch", "faux", "falso", "0", "-", "–", "—", ""}


def meaning(text: str, missing: frozenset[str] = frozenset()) -> Meaning:
    """Tell what a text without a number means; ``missing`` holds further marks (as written) that a layout names.

    >>> meaning("n/a"), meaning("core broke while drilling")
    (<Meaning.MISSING: 'missing'>, <Meaning.LOST: 'lost'>)
    """
    plain = text.strip()
    if not plain:
        return Meaning.BLANK
    if plain in missing or is_missing(plain):
        return Meaning.MISSING
    folded = fold(plain)
    if any(stem in folded for stem in _LOST_STEMS):
        return Meaning.LOST
    if any(folded == stem or f" {stem}" in f" {folded}" for stem in _GLUE_STEMS):
        return Meaning.GLUE
    return Meaning.WORD


def is_missing(text: str) -> bool:
    """Whether a text is one of the marks or words for "no value"; a blank is not."""
    lowered = text.strip().casefold()
    return lowered in _MARKS or lowered.strip("()[]") in _MARKS or fold(text) in _MISSING_WORDS


def is_yes(text: str) -> bool:
    """Whether a cell of a yes/no column says yes."""
    return text.strip().casefold() in _YES or fold(text) in _YES


def is_no(text: str) -> bool:
    """Whether a cell of a yes/no column says no (blank counts as no)."""
    return text.strip().casefold() in _NO or fold(text) in _NO
