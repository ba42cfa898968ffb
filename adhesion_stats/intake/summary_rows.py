"""Words of rows that sum up others (mean, sd, total ...) and the comparison of what they state with what was read."""

from __future__ import annotations

import re

import numpy as np

from adhesion_stats.intake.folding import fold

__all__ = ["expected", "may_sum_up", "summary_kind"]

_WORDS: dict[str, tuple[str, ...]] = {
    "mean": ("mean", "average", "avg", "aver", "mean value", "average value", "mittel", "mittelwert", "mw",
        "durchschnitt", "mittelw", "moyenne", "moy", "valeur moyenne",
             "media", "promedio", "valor medio", "valore medio", "med", "srednia", "wartosc srednia", "x quer",
             "mean strength", "average strength", "gesamtmittel", "gesamtmittelwert", "gemiddelde",
        "medelvarde", "middelverdi", "prumer", "mittel ± s", "mean of", "Ø"),
    "sd": ("sd", "std", "stdev", "st dev", "std dev", "standard deviation", "stddev", "standardabweichung", "stabw",
        "s x", "ecart type", "desviacion", "desviacion estandar",
           "desviacion tipica", "desv est", "deviazione standard", "dev st", "dev std", "desvio padrao", "s",
           "odchylenie standardowe", "odchylenie", "s d", "sd n 1", "s n 1", "standaardafwijking", "streuung"),
    "min": ("min", "minimum", "smallest", "lowest", "kleinstwert", "kleinster wert", "mindestwert", "minimo",
        "minimale", "najmniejsza", "wartosc minimalna", "valor minimo", "valore minimo", "valeur minimale",
        "kleinster einzelwert", "min value", "minimum value", "min wert", "mini", "kleinste"),
    "max": ("max", "maximum", "largest", "highest", "grosstwert", "hochstwert", "maximo", "massimo",
        "najwieksza", "wartosc maksymalna", "valor maximo", "valore massimo", "valeur maximale",
        "grosster einzelwert",
        "max value", "maximum value", "max wert", "maxi", "grosste"),
    "n": ("n", "count", "anzahl", "number of tests", "no of tests", "nombre", "numero de ensayos", "liczba",
        "aantal"),
    "range": ("range", "spannweite", "etendue", "rango", "intervallo", "amplitude", "rozstep"),
    "median": ("median", "mediane", "mediana"),
    "cov": ("cov", "cv", "coefficient of variation", "variationskoeffizient", "coefficient de variation", "vk",
        "vk %", "cv %", "cov %", "v %",
        "coeficiente de variacion", "v", "var", "variance", "varianz",
            "coefficiente di variazione"),
    "total": ("total", "sum", "summe", "gesamt", "somme", "suma", "totale", "totaal", "razem", "grand total",
        "overall", "insgesamt", "all zones", "summary", "result"),
    "characteristic": ("characteristic", "characteristic value", "5 % fractile", "5% fractile", "fractile",
        "charakteristischer wert", "5 % quantil", "5% quantil", "quantil", "quantile",
        "5 % quantile", "5% quantile", "percentile", "perzentil", "fk",
        "f k",
                       "requirement", "required", "limit", "soll", "anforderung", "specified", "exigence",
        "requisito", "sollwert",
        "grenzwert", "mindestwert soll", "wartosc wymagana", "wymaganie", "valeur requise", "valeur exigee",
        "valor exigido", "valor requerido",
        "valore richiesto", "requisiti", "limite", "eis", "krav"),
}  # fmt: skip
_BY_WORD = {word: kind for kind, words in _WORDS.items() for word in words}
_FIRST = frozenset(word.split(" ")[0] for word in _BY_WORD)
_FIRST_SHAPES = frozenset(re.sub(r"[0-9]", "9", word) for word in _FIRST)
_LIMIT_WORDS = (
    *("specified", "required", "minimum", "acceptance", "target", "soll", "mindest", "anforderung", "grenzwert"),
    *("valeur exigee", "valeur requise", "requisito", "valor exigido"),
)
_LIMIT_FIRST = tuple(word.partition(" ")[0] for word in _LIMIT_WORDS)
_LIMIT = re.compile(
    rf"^(?:{'|'.join(_LIMIT_WORDS)})"
    r"[a-z]* (?:min|max|value|strength|wert|limit|bond|pull|mean|average|adhesion|criteri|mpa|n/mm2|festigkeit|haftzug)"
)
_LONGEST = 80  # a longer text is no label
_OF_ALL = frozenset({"overall", "grand", "total", "general", "gesamt", "all", "globale", "generale", "zone"})
_SHORT = {"n", "s", "v", "s x", "med", "var", "result", "limit", "soll", "mw", "required"}
_LONG = sorted((word for word in _BY_WORD if len(word) >= 3 and word not in _SHORT), key=len, reverse=True)
_LONG_BY_FIRST = {first: tuple(word for word in _LONG if word.split(" ")[0] == first) for first in _FIRST}
_REST = re.compile(r"(?:of |for |von |de |der |fur |zone |n ?)?.{0,40}")


def _no_label(text: str, first: frozenset[str]) -> bool:
    """Whether a text is surely no label: it holds none of the words that labels begin with (``first``)."""
    if not text.isascii():
        return False
    words = fold(text).split(" ")
    return first.isdisjoint(words) and not words[0].startswith(_LIMIT_FIRST)


def may_sum_up(shape: str) -> bool:
    """Whether a text of this shape (its digits replaced by 9) may announce a summary; if not, none of it does."""
    return not _no_label(shape, _FIRST_SHAPES)


def summary_kind(text: str, zones: frozenset[str] = frozenset()) -> str:
    """Kind of summary that a label announces ("mean", "sd", ...), "" for none.

    ``zones`` are folded zone names that may stand beside the word.

    >>> summary_kind("Mittelwert:"), summary_kind("Std."), summary_kind("P1")
    ('mean', 'sd', '')
    """
    if _no_label(text, _FIRST):  # most ids are settled here
        return ""
    plain = text.strip()
    if len(plain) > _LONGEST:
        return ""
    if plain in {"x̄", "x̅", "Σ", "∑", "σ", "µ", "μ"}:
        return {"σ": "sd", "Σ": "total", "∑": "total"}.get(plain, "mean")
    if re.fullmatch(r"[nN]\s*=\s*\d+", plain):
        return "n"
    folded = fold(plain)
    if folded in _BY_WORD:
        return _BY_WORD[folded]
    if _LIMIT.search(folded):
        return "characteristic"
    first, _, last = folded.rpartition(" ")
    if last in _BY_WORD and last not in _SHORT and (first in zones or first in _OF_ALL):
        return _BY_WORD[last]
    for word in _LONG_BY_FIRST.get(folded.partition(" ")[0], ()):
        if folded.startswith(word + " "):
            rest = folded[len(word) + 1 :]
            first = rest.split(" ")[0]
            known = first in {
                "of",
                "for",
                "von",
                "zone",
                "value",
                "strength",
                "wert",
                "de",
                "der",
                "mpa",
                "n/mm2",
                "n",
                "fur",
                "prufflache",
                "area",
                "all",
                "1",
                "total",
                "generale",
                "general",
                "globale",
                "aritmetica",
                "arytmetyczna",
                "arithmetic",
                "s",
                "%",
                "sd",
            }
            if rest in zones or known or rest.isdigit() or re.fullmatch(r"\d.*", rest):
                return _BY_WORD[word]
    return ""


def expected(kind: str, values: np.ndarray) -> tuple[float, ...]:
    """What a summary row of this kind may rightly state for ``values`` (sd: of a sample or of all); empty: unknown
    kind.
    """
    if len(values) == 0:
        return ()
    mean = float(np.mean(values))
    match kind:
        case "mean":
            return (mean,)
        case "min":
            return (float(values.min()),)
        case "max":
            return (float(values.max()),)
        case "median":
            return (float(np.median(values)),)
        case "sd" if len(values) > 1:
            squares = float(np.sum((values - mean) ** 2))
            return (float(np.sqrt(squares / (len(values) - 1))), float(np.sqrt(squares / len(values))))
        case _:
            return ()
