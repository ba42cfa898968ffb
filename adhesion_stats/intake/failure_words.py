"""Words for failure in seven languages -> layer letters as in EN 1542 and ISO 4624. Common practice, no published
source.

The substrate is A, the first layer on it B, the dolly adhesive Y, the dolly Z. Words for a layer mean the first layer.
"""

from __future__ import annotations

import re

from adhesion_stats.intake.folding import fold

__all__ = ["FILLERS", "code_of_words", "denies", "replace_words"]

_SUBSTRATE = (
    "substrate concrete", "concrete substrate", "parent concrete", "old concrete", "base concrete", "substrate",
    "substratum", "concrete", "base",
    "untergrund", "altbeton", "beton", "subs", "betongrund", "support", "beton support", "sustrato", "soporte",
    "hormigon", "supporto", "calcestruzzo",
    "substrato", "concreto", "betao", "suporte", "podloze", "podlozu", "podloza", "podlozem", "betonie", "betonu",
    "betonem",
    "masonry", "mauerwerk", "brick",
)  # fmt: skip
_LAYER = (
    "repair mortar", "mortar", "overlay", "topping", "coating", "layer", "first layer", "render", "repair material",
    "repair", "polymer", "lining", "membrane",
    "reparaturmortel", "mortel", "beschichtung", "schicht", "erste schicht", "putz", "deckschicht", "mortier",
    "revetement", "couche", "enduit", "mortero",
    "recubrimiento", "revestimiento", "capa", "malta", "rivestimento", "strato", "intonaco", "argamassa",
    "revestimento", "camada", "reboco", "zaprawa",
    "zaprawie", "powloka", "powloce", "warstwa", "warstwie", "zaprawy", "powloki",
)  # fmt: skip
_GLUE = (
    "dolly adhesive", "disc adhesive", "disk adhesive", "dolly glue", "disc glue", "test adhesive", "glue line",
    "glueline", "glue", "epoxy glue", "epoxy adhesive",
    "epoxy", "adhesive layer", "kleber", "klebstoff", "klebefuge", "klebeschicht", "klebung", "colle", "adhesif",
    "adhesivo", "pegamento", "colla", "adesivo", "cola",
    "klej", "kleju", "klejem", "klejowej",
)  # fmt: skip
_DOLLY = (
    "dolly",
    "disc",
    "disk",
    "steel disc",
    "steel disk",
    "stud",
    "fixture",
    "stempel",
    "prufstempel",
    "pastille",
    "disco",
    "sufrideira",
    "krazek",
    "krazkiem",
    "plate",
)
_WITHIN = (
    "cohesive failure in", "cohesive failure within", "cohesive in", "cohesive within", "cohesion in", "failure in",
    "failure within", "failure of", "break in", "within",
    "in", "kohasionsbruch im", "kohasionsbruch in", "bruch im", "bruch in der", "bruch in dem", "bruch in",
    "kohasiv im", "kohasiv in", "im", "in der", "in dem",
    "rupture cohesive dans", "rupture dans", "cohesive dans", "dans", "rotura cohesiva en", "rotura en",
    "cohesivo en", "cohesiva en", "en", "fallo en", "rottura coesiva nel",
    "rottura coesiva", "rottura nel", "rottura in", "coesiva nel", "coesivo nel", "coesiva in", "nel", "nella",
    "ruptura coesiva no", "ruptura no", "ruptura na", "coesiva no",
    "no", "na", "zerwanie kohezyjne w", "zerwanie w", "kohezyjne w", "zniszczenie w", "w", "cohesive", "kohasiv",
    "cohesif", "cohesiva", "coesiva", "kohezyjne", "kohasionsbruch",
)  # fmt: skip
_ARTICLES = r"(?:the |der |dem |den |die |das |le |la |l |el |los |il |lo |o |a |do |da |del |della |de |du )?"
_BETWEEN = (
    "adhesive failure between", "adesiva entre", "ruptura adesiva entre", "rotura adhesiva entre", "adhesiva entre",
    "rupture adhesive entre", "adhesive entre", "rottura adesiva tra", "adesiva tra", "adhezyjne miedzy",
    "zerwanie adhezyjne miedzy", "adhesion failure between", "failure between", "bond failure between",
    "interface between", "bond line between", "between", "adhesive between",
    "interface", "bond line", "bond", "adhasionsbruch zwischen", "bruch zwischen", "zwischen", "grenzflache",
    "adhasiv zwischen", "rupture entre", "interface entre", "entre",
    "interfaz entre", "interfaz", "rotura entre", "interfaccia tra", "interfaccia", "tra", "rottura tra", "fra",
    "interface entre", "ruptura entre", "miedzy", "pomiedzy",
    "zerwanie miedzy", "granica", "adhesive",
)  # fmt: skip
_AND = r"(?: and | und | et | y | e | i | to | a |/| / )"
_ADHESIVE_ONLY = (
    "adhesive failure", "adhesion failure", "bond failure", "bond line failure", "interface failure",
    "interfacial failure", "bond line", "bond", "interface", "adhasionsbruch",
    "adhasiv", "verbundfuge", "in der verbundfuge", "verbundversagen", "rupture adhesive", "interface",
    "rotura adhesiva", "fallo adhesivo", "verbund", "rottura adesiva all interfaccia", "rottura all interfaccia",
    "all interfaccia", "rupture a l interface", "a l interface", "rotura en la interfaz", "en la interfaz",
    "ruptura na interface", "na interface", "na granicy", "rottura adesiva", "interfaccia",
    "ruptura adesiva", "interfaz", "zerwanie adhezyjne", "adhezyjne",
)  # fmt: skip
_GLUE_FAILURES = (
    "glue failure", "failure of glue", "failure of the glue", "glue broke", "kleberbruch", "klebstoffbruch",
    "kleberversagen", "klebstoffversagen", "rupture de colle",
    "rupture de la colle", "rupture colle", "defaut de collage", "rottura della colla", "rottura colla",
    "ruptura da cola", "falha da cola", "falha na cola",
    "zerwanie kleju", "disc adhesive failure", "dolly adhesive failure", "failure of the disc adhesive",
    "failure of dolly adhesive", "epoxy failure",
    "fallo del pegamento", "fallo del adhesivo", "glue line failure",
)  # fmt: skip
FILLERS = frozenset({
    "failure", "fail", "failed", "break", "broke", "bruch", "rupture", "rottura", "rotura", "ruptura", "zerwanie",
    "mode", "of", "the", "ca", "approx", "about", "surface",
    "area", "percent", "and", "und", "et", "y", "e", "i", "der", "flache",
})  # fmt: skip


def _any(words: tuple[str, ...]) -> str:
    return "(?:" + "|".join(re.escape(word) for word in sorted(set(words), key=len, reverse=True)) + ")"


def _patterns() -> list[tuple[re.Pattern[str], str]]:
    a, b, y, z = _any(_SUBSTRATE), _any(_LAYER), _any(_GLUE), _any(_DOLLY)
    between, within = _any(_BETWEEN), _any(_WITHIN)
    pairs = ((a, b, "A/B"), (y, z, "Y/Z"), (b, y, "-/Y"), (a, y, "-/Y"))
    found: list[tuple[str, str]] = [(_any(_GLUE_FAILURES), "Y")]
    for first, second, code in pairs:
        for left, right in ((first, second), (second, first)):
            found.append((f"(?:{between} )?{_ARTICLES}{left}{_AND}{_ARTICLES}{right}(?: {_any(_BETWEEN)})?", code))
    for inside, code in ((y, "Y"), (a, "A"), (b, "B")):
        found.append((f"{within} {_ARTICLES}{inside}", code))
        found.append(
            (f"{inside} {_any(('failure', 'cohesive failure', 'cohesive', 'bruch', 'break', 'versagen'))}", code)
        )
    found += [
        ("betonbruch|betonausbruch|untergrundbruch", "A"),
        ("mortelbruch|schichtbruch", "B"),
        (_any(_ADHESIVE_ONLY), "A/B"),
    ]
    found += [(a, "A"), (y, "Y"), (b, "B")]
    return [(re.compile(rf"(?<![a-z0-9]){pattern}(?![a-z0-9])"), code) for pattern, code in found]


_PATTERNS = _patterns()


# "no" is "in the" in Portuguese, before a Portuguese noun.
_NOT = re.compile(
    r"(?<![a-z])(?:not|non|kein|keine|keinem|keinen|keiner|nicht|ohne|without|never|neither|sans|pas|aucun|aucune|sin|"
    r"ningun|ninguna|senza|nessun|nessuna|sem|nenhum|nenhuma|bez|brak|nie|zadne|excluding|except|ausser|or|oder|"
    r"no(?! (?:concreto|betao|substrato|suporte|revestimento|reboco|adesivo|interior|material|tijolo|meio)))(?![a-z])"
)


def denies(text: str) -> bool:
    """Whether a text in words denies something or leaves a choice ("no concrete failure", "glue or concrete").

    >>> denies("no concrete failure"), denies("ruptura no concreto"), denies("failure in concrete")
    (True, False, False)
    """
    return bool(_NOT.search(fold(text)))


def replace_words(text: str) -> str:
    """Folded text with every known phrase replaced by its code in angle brackets: ``80% <A>, 20% <A/B>``."""
    folded = text
    for pattern, code in _PATTERNS:
        folded = pattern.sub(f"<{code}>", folded)
    return folded


def code_of_words(text: str) -> str:
    """Code for a phrase that says one failure only, "" if it is not known.

    >>> code_of_words("Cohesive in concrete"), code_of_words("Adhäsionsbruch zwischen Beton und Mörtel")
    ('A', 'A/B')
    """
    left = replace_words(fold(text))
    codes = set(re.findall(r"<([^>]+)>", left))
    words = re.sub(r"<[^>]+>", " ", left).split()
    return codes.pop() if len(codes) == 1 and not [w for w in words if w not in FILLERS] else ""
