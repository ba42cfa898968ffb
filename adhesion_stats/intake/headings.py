"""Heading of a column -> what the column is, by plain words of several languages, and the unit written in the heading.

The word lists are common practice, no published source. A heading is judged alone here; which of several candidates
wins
is decided by ``proposal``.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from adhesion_stats.intake.dates import of_something_else
from adhesion_stats.intake.failure_words import code_of_words
from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.heading_units import BRACKET, split_unit, unit_is_plain
from adhesion_stats.intake.proof import held_heading, proof_cell
from adhesion_stats.intake.quantities import FIELD_QUANTITY, Dimension, dimensions, is_unit

__all__ = ["Heading", "letter_code", "understand"]


@dataclass(frozen=True, slots=True)
class Heading:
    """What a heading says. ``rank`` 1 = the plain word for it, larger = less sure; ``field`` "" = not known.

    ``code`` is the failure code of a column that holds the share of one letter (field ``share``).
    """

    text: str
    field: str = ""
    rank: int = 9
    unit: str = ""
    code: str = ""
    renamed: bool = False  # the unit decided against the word ("adhesion force [MPa]")


_Rule = tuple[str, int, tuple[str, ...]]

# Whole folded heading (without its unit).
_EXACT: tuple[_Rule, ...] = (
    ("zone", 1, ("zone", "zones", "zone no", "zone nr", "test zone", "zone id", "zona", "zonas", "strefa",
        "prufflache", "pruffeld", "prufbereich",
                 "testflache", "test area", "zona de ensayo", "zona di prova", "zona de ensaio",
                 "zone d essai", "zonenr", "zone name",
        "vak", "proefvlak", "testvlak", "testyta", "provyta", "zkusebni plocha")),
    ("zone", 2, ("area", "bereich", "flache", "abschnitt", "feld", "pole", "obszar", "region", "bauteilflache")),
    ("zone", 3, ("section", "location", "field", "bay", "lot", "position", "place", "site", "structure", "element",
        "member", "component", "bauteil",
                 "ort", "lage", "ouvrage", "lieu", "emplacement", "secteur", "surface", "elemento", "lugar",
                 "ubicacion", "sector", "tramo", "luogo",
                 "posizione", "elemento strutturale", "local", "trecho", "miejsce", "element konstrukcji", "deck",
                 "level", "floor", "room", "wall",
                 "building", "los", "achse", "group", "gruppe", "groupe", "grupo", "gruppo", "grupa")),
    ("zone", 4, ("formulation", "mix", "mixture", "material", "product", "series", "batch", "technique", "treatment",
        "variant", "type",
                 "resin", "serie", "charge nr", "mischung", "rezeptur", "produkt", "produit", "producto", "prodotto",
                 "produto")),
    ("planned_zone", 1, ("planned zone", "zone planned", "zone as planned", "original zone", "zone original",
        "old zone", "zone before", "previous zone", "initial zone", "zone geplant", "geplante zone", "zone alt",
        "ursprungliche zone", "geplante prufflache", "prufflache geplant", "zone prevue", "zone initiale",
        "zona prevista", "zona planificada", "zona inicial", "zona planejada", "zona planeada", "zona iniziale",
        "planowana strefa", "strefa planowana")),
    ("new_zone", 1, ("new zone", "zone new", "revised zone", "zone revised", "actual zone", "zone actual",
        "zone as tested", "zone tested", "zone after", "neue zone", "zone neu", "tatsachliche zone", "nouvelle zone",
        "zone reelle", "zona nueva", "zona real", "zona nuova", "zona effettiva", "zona nova", "nowa strefa",
        "strefa rzeczywista")),
    ("id", 1, ("id", "pull", "pull id", "pull no", "pull nr", "test no", "test nr", "test number", "test id", "no",
        "nr", "number", "num", "n°", "nº", "lfd nr",
               "lfdnr", "lfd", "laufende nr", "versuch nr", "versuchsnr", "probe nr", "probennr", "probenummer",
               "prufstelle", "pruf nr", "prufnr", "prufung nr",
               "numero", "n", "essai n°", "n° essai", "numero d essai", "n° de ensayo", "ensayo n°", "ensayo",
               "n° prova", "prova", "prova n°",
               "n° do ensaio", "ensaio", "nr proby", "nr badania", "numer", "proba", "lp", "dolly no", "dolly nr",
               "disc no", "disk no", "stempel nr", "stempelnr",
               "sample id", "specimen id", "specimen no", "sample no", "core no", "bohrkern nr", "messstelle nr",
               "test ref", "reference", "ref", "label",
               "mark", "pkt", "pos", "pos nr", "pos no", "pkt nr", "test point", "point", "point no", "messpunkt",
               "prufpunkt", "punto", "ponto", "punkt")),
    ("id", 2, ("specimen", "sample", "test", "essai", "versuch", "probe", "prufkorper", "eprouvette", "probeta",
        "campione", "provino", "amostra", "corpo de prova",
               "probka", "core", "bohrkern", "carotte", "messstelle", "#", "dolly id", "disc id")),
    ("id", 3, ("replicate", "repetition", "assay", "wiederholung", "rep", "index", "observation", "obs")),
    ("failure", 1, ("failure", "failure mode", "mode of failure", "mode", "type of failure", "failure type",
        "bruchbild", "bruchart", "bruchflache", "versagen",
                    "versagensart", "bruch", "mode de rupture", "rupture", "type de rupture", "facies de rupture",
                    "facies", "modo de rotura", "rotura",
                    "tipo de rotura", "tipo de fallo", "fallo", "modo de fallo", "rottura", "modo di rottura",
                    "tipo di rottura", "ruptura",
                    "tipo de ruptura", "modo de ruptura", "forma de ruptura", "zniszczenie", "rodzaj zniszczenia",
                    "sposob zniszczenia", "zerwanie",
                    "obraz zniszczenia", "fracture", "fracture pattern", "break", "locus of failure",
                    "failure locus", "failure location",
                    "failure composition", "failure pattern", "failure plane", "nature of failure",
                    "failure letters", "failure code")),
    ("date", 1, ("date", "test date", "date of test", "tested on", "date tested", "datum", "prufdatum",
        "tag der prufung", "date d essai", "date de l essai",
                 "fecha", "fecha de ensayo", "fecha del ensayo", "data", "data di prova", "data prova",
                 "data do ensaio", "data de ensaio", "data badania", "pruftag")),
    ("application_date", 1, ("applied on", "applied", "application date", "date applied", "date of application",
        "einbaudatum", "auftragsdatum", "beschichtungsdatum",
                             "einbau", "date d application", "fecha de aplicacion", "data di applicazione",
                             "data de aplicacao", "data nalozenia", "placed on",
                             "date placed", "cast on", "date of placing", "coating date", "date coated")),
    ("unit", 1, ("unit", "units", "einheit", "unite", "unidad", "unita", "unidade", "jednostka")),
    ("bound", 1, ("qualifier", "bound", "sign", "operator sign", "comparison", "relation", "vorzeichen",
        "limit sign", "censored")),
    ("lost", 1, ("lost", "lost before loading", "lost before test", "verloren", "perdu", "perdido", "perso",
        "utracony", "premature failure", "lost core")),
    ("hollow", 1, ("hollow", "hollow sounding", "hohl", "hohlklingend", "hohlliegend", "creux", "hueco", "vuoto",
        "oco", "gluchy", "hollow or sound", "hammer test")),
    ("cut", 1, ("cut", "cut or not", "scored", "scored or not", "cored", "geschnitten", "eingeschnitten",
        "angebohrt", "freigeschnitten", "vorgebohrt", "entaille",
                "decoupe", "cortado", "inciso", "tagliato", "naciecie", "naciety", "cut through", "scoring",
                "cutting")),
    ("measurement", 1, ("measurement", "measurement no", "measuring point", "messung", "mesure", "medicion",
        "misura", "medicao", "pomiar", "patch")),
    ("panel", 1, ("panel", "panel id", "panel no", "platte", "plaque", "placa", "pannello", "plyta", "slab",
        "test panel", "prufplatte")),
    ("system", 1, ("system", "coating system", "systeme", "sistema", "system powlokowy", "produktsystem")),
    ("primer", 1, ("primer", "grundierung", "primaire", "imprimacion", "gruntownik", "primario")),
    ("layer_names", 1, ("layer names", "layers", "schichten", "schichtaufbau", "aufbau", "couches", "capas",
        "strati", "camadas", "warstwy", "layer")),
    ("instrument", 1, ("instrument", "gauge", "device", "tester", "equipment", "gerat", "prufgerat", "appareil",
        "equipo", "strumento", "equipamento", "urzadzenie")),
    ("certificate", 1, ("certificate", "calibration certificate", "calibration", "calibration due",
        "kalibrierschein", "certificat", "certificado", "certificato")),
    ("operator", 1, ("operator", "tested by", "technician", "prufer", "operateur", "operador", "operatore",
        "operator badania", "inspector")),
    ("party", 1, ("party", "tested for", "partei", "partie", "on behalf of", "auftraggeber")),
    ("round", 1, ("round", "test round", "round of tests", "retest round", "prufrunde")),
    ("stage", 1, ("stage", "phase", "test stage", "stadium", "etape", "etapa", "fase", "etap")),
    ("pour", 1, ("pour", "pour no", "pour number", "concrete pour", "casting", "betonierabschnitt", "coulee", "getto",
        "hormigonado", "concretagem", "betonowanie")),
    ("span", 1, ("span", "span no", "span number", "brückenfeld", "bruckenfeld", "travee", "vano", "campata", "vao",
        "przeslo")),
    ("photo", 1, ("photo", "photo no", "photo nr", "photos", "foto", "foto nr", "fotos", "picture", "image", "bild",
        "bild nr", "zdjecie", "immagine", "imagem")),
    ("remark", 1, ("remark", "remarks", "comment", "comments", "note", "notes", "bemerkung", "bemerkungen",
        "anmerkung", "anmerkungen", "kommentar", "remarque",
                   "remarques", "commentaire", "observaciones", "observacion", "comentario", "osservazioni",
                   "commento", "observacoes", "observacao", "comentarios",
                   "uwagi", "uwaga", "observations", "beobachtung", "hinweis")),
    ("age_days", 1, ("age", "age at test", "alter", "prufalter", "edad", "eta", "idade", "wiek", "age days",
        "curing time", "age a l essai")),
    ("glue_age_days", 1, ("glue cured", "glue age", "adhesive cured", "adhesive age", "curing of adhesive",
        "curing time of adhesive", "dolly adhesive cured", "klebstoffalter", "aushartung klebstoff")),
    ("temperature_c", 1, ("temperature", "temp", "temperatur", "temperatura", "surface temperature",
        "oberflachentemperatur", "bauteiltemperatur")),
    ("moisture_percent", 1, ("moisture", "moisture content", "feuchte", "restfeuchte", "feuchtigkeit", "humidite",
        "humedad", "umidita", "umidade", "wilgotnosc",
                             "substrate moisture", "untergrundfeuchte")),
    ("rate_mpa_per_s", 1, ("rate", "loading rate", "stress rate", "rate of loading", "pull rate",
        "belastungsgeschwindigkeit", "prufgeschwindigkeit",
                           "vitesse", "vitesse de chargement", "velocidad de carga", "velocita di carico",
                           "velocidade de carga", "predkosc obciazania",
                           "lastgeschwindigkeit", "spannungsrate")),
    ("time_to_failure_s", 1, ("time to failure", "time", "failure time", "test duration", "duration", "prufdauer",
        "bruchzeit", "zeit bis bruch", "duree",
                              "tiempo", "tiempo hasta rotura", "tempo", "tempo di rottura", "czas",
                              "czas do zniszczenia")),
    ("x_m", 1, ("x", "pos x", "x position", "position x", "x coordinate", "coord x", "koordinate x", "x koordinate",
        "x pos")),
    ("y_m", 1, ("y", "pos y", "y position", "position y", "y coordinate", "coord y", "koordinate y", "y koordinate",
        "y pos")),
    ("strength", 1, ("strength", "stress", "f", "sigma", "σ", "fh", "f h", "adhesion", "bond", "pull off", "result",
        "value", "ergebnis", "haftzug", "hzf", "haz",
                     "resultat", "resultado", "risultato", "wynik", "valeur", "valor", "valore", "wert", "messwert",
                     "reading", "spannung", "tension",
                     "contrainte", "tensao", "tensione", "naprezenie", "abreissspannung", "adherence", "adherencia",
                     "aderenza", "aderencia", "adesione",
                     "przyczepnosc", "fs", "rm", "pull off value", "bond stress", "test result", "test value",
                     "max stress", "maximum stress", "measured value")),
    ("load", 1, ("load", "force", "max load", "maximum load", "failure load", "ultimate load", "peak load",
        "max force", "f max", "fmax", "fu", "f u", "p", "pmax",
                 "last", "kraft", "bruchlast", "bruchkraft", "hochstlast", "hochstkraft", "abreisskraft", "zugkraft",
                 "haftzugkraft", "charge", "effort",
                 "force max", "force de rupture", "charge de rupture", "carga", "fuerza", "carga maxima",
                 "carga de rotura", "fuerza maxima", "carico", "forza",
                 "carico massimo", "carico di rottura", "forca", "carga de ruptura", "forca maxima", "obciazenie",
                 "sila", "sila zrywajaca", "load at failure",
                 "breaking load", "pull off load", "pull off force", "tensile load", "tensile force",
                 "maximum force", "force at failure", "indicated load")),
    ("diameter", 1, ("diameter", "dia", "tested diameter", "core diameter", "core dia", "measured diameter",
        "diameter at failure", "disc", "disk", "disc size",
                     "disk size", "disc diameter", "disk diameter", "disc dia", "Ø", "kern Ø", "kerndurchmesser",
                     "bohrkerndurchmesser", "durchmesser",
                     "d", "stempel", "stempelgrosse", "stempeldurchmesser", "prufstempel", "stempel Ø", "pastille",
                     "diametre", "Ø pastille", "diametro",
                     "diametro disco", "disco", "sufrideira", "Ø disco", "srednica", "srednica krazka", "krazek",
                     "plate size", "pad size", "size", "mean diameter",
                     "specimen diameter", "dia of disc", "disc Ø",
        "plate", "test plate", "steel plate", "loading plate", "square plate",
        "square plates", "side", "side length", "seitenlange", "kantenlange", "cote", "lado", "lato", "bok")),
    ("dolly", 1, ("dolly", "dolly size", "dolly diameter", "dolly dia", "Ø dolly", "dolly Ø", "fixture",
        "fixture diameter", "nominal diameter",
                  "nominal disc size", "stud", "stud diameter", "nenndurchmesser", "loading fixture")),
    ("area", 1, ("tested area", "core area", "loaded area", "disc area", "disk area", "area of disc", "dolly area",
        "pruffl", "stempelflache", "bruchquerschnitt",
                 "querschnitt", "section area", "cross section", "cross sectional area", "surface testee",
                 "area ensayada", "superficie", "area testata",
                 "powierzchnia", "powierzchnia badana", "area of test", "contact area")),
    ("retest_of", 1, ("retest of", "retest", "repeat of", "repetition of", "replaces", "replacement for", "repeats",
        "wiederholung von", "wiederholung zu",
                      "ersatz fur", "contre essai de", "repeticion de", "ripetizione di", "repeticao de",
                      "powtorzenie", "retest for")),
    ("exclusion", 1, ("exclusion", "exclusion reason", "reason for exclusion", "excluded", "excluded because",
        "reason excluded", "ausschluss", "ausschlussgrund",
                      "motif d exclusion", "motivo de exclusion", "motivo di esclusione", "motivo da exclusao",
                      "powod wykluczenia")),
    ("cut_depth_mm", 1, ("cut depth", "depth of cut", "core depth", "coring depth", "depth of core",
        "drilling depth", "score depth", "bohrtiefe", "schnitttiefe",
                         "einschnitttiefe", "nuttiefe", "ringnuttiefe", "profondeur", "profondeur de carottage",
                         "profundidad", "profundidad de corte",
                         "profondita", "profundidade", "glebokosc", "glebokosc naciecia", "kerf depth", "depth")),
    ("failure_depth_mm", 1, ("failure depth", "depth of failure", "depth of break", "depth of fracture",
        "fracture depth", "failure depth in substrate", "bruchtiefe", "ausbruchtiefe", "profondeur de rupture",
        "profundidad de rotura", "profondita di rottura", "profundidade de ruptura")),
    ("coating_thickness_um", 1, ("coating thickness", "dft", "dry film thickness", "film thickness",
        "layer thickness", "thickness", "schichtdicke",
                                 "beschichtungsdicke", "trockenschichtdicke", "dicke", "epaisseur", "espesor",
                                 "spessore", "espessura", "grubosc", "grubosc powloki")),
)  # fmt: skip

# Stems inside a longer folded heading, first match wins.
_STEMS: tuple[_Rule, ...] = (
    ("retest_of", 2, ("retest of", "repeat of", "replacement for", "wiederholung von")),
    ("exclusion", 2, ("exclusion", "ausschluss", "exclu")),
    ("unit", 2, ("unit of ",)),
    ("id", 2, ("dolly no", "disc no", "disk no", "core no", "test no", "pull no", "specimen no", "sample no",
        "proben nr", "probe nr", "versuchs nr", "pruf nr")),
    ("coating_thickness_um", 2, ("coating thickness", "film thickness", "schichtdicke", "layer thickness")),
    ("failure_depth_mm", 2, ("failure depth", "depth of failure", "depth of break", "bruchtiefe")),
    ("cut_depth_mm", 2, ("cut depth", "coring depth", "depth of cut", "bohrtiefe", "schnitttiefe")),
    ("time_to_failure_s", 2, ("time to fail", "duration")),
    ("rate_mpa_per_s", 2, ("loading rate", "rate of load", "belastungsgeschwindigkeit", "vitesse de")),
    ("application_date", 2, ("application date", "date of application", "applied on", "einbaudatum")),
    ("date", 2, ("test date", "date of test", "prufdatum", "date")),
    ("failure", 2, ("failure mode", "mode of failure", "bruchbild", "bruchart", "versagensart", "mode de rupture",
        "facies", "modo de rotura", "tipo de rotura",
                    "modo di rottura", "tipo di rottura", "modo de ruptura", "forma de ruptura", "tipo de ruptura",
                    "rodzaj zniszczenia", "type of failure",
                    "failure type", "failure code", "locus of failure", "type of break", "failure surface",
                    "failure letters", "type de rupture")),
    ("load", 2, ("load", "force", "bruchlast", "kraft", "last", "charge", "effort", "carga", "fuerza", "carico",
        "forza", "forca", "obciazenie", "sila")),
    ("dolly", 2, ("dolly diameter", "dolly size", "nominal dia", "nenndurchmesser")),
    ("diameter", 2, ("diameter", "durchmesser", "diametre", "diametro", "srednica", "disc size", "disk size", "Ø",
        "disc dia")),
    ("strength", 2, ("strength", "festigkeit", "haftzug", "stress", "adhesion", "bond value", "haftzugwert",
        "contrainte", "adherence", "adherencia", "resistance",
                     "resistencia", "resistenza", "aderenza", "aderencia", "resistencia", "adesione", "tensao",
                     "tensione", "wytrzymalosc", "przyczepnosc",
                     "naprezenie", "pull off", "abreissspannung", "spannung", "arrachement", "strappo",
                     "arrancamiento", "arrancamento")),
    ("failure", 3, ("failure", "rupture", "versagen", "fracture", "rottura", "rotura", "ruptura")),
    ("remark", 2, ("remark", "comment", "bemerkung", "observa", "uwagi")),
    ("zone", 2, ("zone", "test area", "prufflache", "prufbereich", "pruffeld")),
    ("temperature_c", 2, ("surface temp", "oberflachentemp", "substrate temp", "bauteiltemp")),
    ("moisture_percent", 2, ("substrate moisture", "moisture content", "restfeuchte")),
    ("photo", 2, ("photo", "foto")),
    ("operator", 2, ("operator", "tested by", "prufer")),
    ("instrument", 2, ("instrument", "gauge", "prufgerat")),
    ("certificate", 2, ("certificate", "kalibrier")),
)  # fmt: skip

# A heading with one of these is no reading, whatever else it says.
_NO_READING = (
    "compress", "druckfest", "cube", "wurfel", "required", "specified", "specification", "requirement", "target",
    "limit", "soll", "mindest", "grenz",
    "mean", "average", "mittel", "moyen", "media", "promedio", "srednia", "character", "charakter", "caracter",
    "class", "klasse", "design", "std", "deviation",
    "abweichung", "minimum", "minimal", "min ", "exige", "requis", "requerid", "richiest", "wymagan", "flow",
    "setting", "pressure", "druck ", "pression", "presion", "manomet", "cisnieni", "pressao",
    "hydraul", "oil ", "modul", "rigid", "peel", "shear", "scher", "cisaill",
    "cizalla", "taglio ", "tear", "cell", "e mod", "scale",
)  # fmt: skip
_EXACT_INDEX: dict[str, tuple[str, int]] = {
    word: (field, rank) for field, rank, words in reversed(_EXACT) for word in words
}
_NUMBER_WORDS = frozenset({"no", "nr", "n", "n°", "num", "number", "numero", "numer", "nummer", "ref", "id"})
_LONGEST = 70  # a longer text is a sentence, no heading
_CODE = re.compile(r"(?:-\s*/\s*[A-Z]|[A-HYZ](?:\s*/\s*[A-HYZ])?)")
_PERCENT_SIGN = re.compile(r"[\[(]?%[\])]?|\b(?:percent|prozent|pct)\b", re.IGNORECASE)
_PERCENT_WORDS = re.compile(
    r"%|\bmode\b|\btype\b|\bbruchbild\b|\bbruchart\b|\bversagen\b|\brupture\b|\brottura\b|\brotura\b|"
    r"\bruptura\b|\bbreak\b|\bpercent\b|\bprozent\b|\bshare\b|\bpct\b|\banteil\b|\bof area\b|\bfailure\b|\bbruch\b",
    re.IGNORECASE,
)


def letter_code(text: str) -> tuple[str, bool] | None:
    """Failure code of a heading such as ``A``, ``A/B [%]``, ``-/Y``, and whether a percent word stands beside it."""
    bare = _PERCENT_WORDS.sub(" ", BRACKET.sub(lambda m: " % " if "%" in m.group() else m.group(), text))
    bare = " ".join(bare.replace("—", "-").replace("–", "-").split()).strip(" :,_()[]")
    found = _CODE.fullmatch(bare)
    if found is None:
        return None
    return found.group().replace(" ", ""), bare != " ".join(text.split())


def _by_words(folded: str) -> tuple[str, int]:
    found = _EXACT_INDEX.get(folded)
    if found:
        return found
    if " / " in folded:  # one heading in two languages
        parts = {_EXACT_INDEX.get(part, ("", 0)) for part in folded.split(" / ")}
        if len({field for field, _ in parts}) == 1 and all(field for field, _ in parts):
            return min(parts, key=lambda said: said[1])
    word, _, last = folded.rpartition(" ")
    numbered = _EXACT_INDEX.get(word, ("", 0)) if last in _NUMBER_WORDS else ("", 0)
    if numbered[0] == "id":  # "Ensaio nº", "Prova n."
        return numbered
    padded = f"{folded} "
    barred = any(word in padded for word in _NO_READING)
    for field, rank, stems in _STEMS:
        if any(stem in padded for stem in stems):
            if field == "date" and of_something_else(padded):
                return "", 9
            if barred and field in {"strength", "load", "zone", "failure", "diameter", "dolly"}:
                return "", 10
            return field, rank + 1
    return "", 10 if barred else 9


def _is_proof(text: str) -> bool:
    """Whether a text is a reading such as "no failure at 1.5 MPa", and no heading."""
    if not any(c.isdigit() for c in text):
        return False
    return proof_cell(text, lambda word: is_unit(word, "strength") or is_unit(word, "load")) is not None


@functools.lru_cache(maxsize=4096)
def understand(text: str) -> Heading:
    """Return what a heading says.

    >>> understand("tension_bond_strength_kgf_per_cm2")
    Heading(text='tension_bond_strength_kgf_per_cm2', field='strength', rank=3, unit='kgf/cm2', code='', renamed=False)
    """
    if not text.strip() or len(text) > _LONGEST or _is_proof(text):
        return Heading(text)
    code = letter_code(text)
    if code is not None:
        return Heading(text, "share", 1 if code[1] else 2, code=code[0])
    words = code_of_words(_PERCENT_SIGN.sub(" ", text)) if _PERCENT_SIGN.search(text) else ""
    if words:  # "% concrete", "Mörtel [%]"
        return Heading(text, "share", 1, code=words)
    if text.strip() == "#":
        return Heading(text, "id", 2)
    if held_heading(text):
        return Heading(text, "held", 1)
    field, rank = _by_words(fold(text))
    if field and rank == 1 and field not in FIELD_QUANTITY:
        return Heading(text, field, rank)
    name, unit = split_unit(text)
    folded = fold(name)
    if unit:
        field, rank = _by_words(folded) if folded else ("", 9)
        if not field:  # "pull-off f_h (mean of 3)" and the like: brackets often explain
            field, rank = _by_words(fold(BRACKET.sub(" ", name)))
        if field and rank < 10 and not unit_is_plain(text, unit):
            return Heading(text, field, rank)  # a factor, or two units: the numbers have none that is sure
    elif not field or rank > 1:
        bare, bare_rank = _by_words(fold(BRACKET.sub(" ", text)))
        if bare and bare_rank < rank:
            field, rank = bare, bare_rank
    return _with_unit(text, field, rank, unit, folded)


def _with_unit(text: str, field: str, rank: int, unit: str, folded: str) -> Heading:
    """Let the unit speak: it names a column without a word, and decides between load, strength and area."""
    if not unit:
        return Heading(text, field, rank)
    kinds = dimensions(unit)
    if not folded and kinds[0] in {"strength", "load"}:
        return Heading(text, kinds[0], 4, unit)
    wanted: Dimension | None = FIELD_QUANTITY.get(field)
    symbol = any(c.isalpha() for c in folded) and not re.search(r"^\d|\d\D*\d", folded) and len(folded) <= 25
    if not field and rank < 10 and symbol and kinds[0] in {"strength", "load"}:
        return Heading(text, kinds[0], 6, unit)
    if not field and rank < 10 and symbol and kinds[0] == "area":
        return Heading(text, "area", 6, unit)
    if wanted is None:
        if field == "zone" and is_unit(unit, "area"):
            return Heading(text, "area", 2, unit)
        if field == "failure" and "percent" not in kinds and kinds[0] in {"strength", "load"}:
            return Heading(text, kinds[0], 3, unit, renamed=True)
        return Heading(text, field, rank, "")
    if wanted in kinds:
        return Heading(text, field, rank, unit)
    pairs = {"strength", "load"}
    if wanted in pairs and kinds[0] in pairs:
        return Heading(text, kinds[0], 3, unit, renamed=True)
    if wanted == "length" and "area" in kinds and field in {"diameter", "dolly"}:
        return Heading(text, "area", 3, unit, renamed=True)
    if wanted == "area" and "length" in kinds:
        return Heading(text, "diameter", 3, unit, renamed=True)
    return Heading(text, "", 9, unit)
