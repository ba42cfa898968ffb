"""Words of proof loads: a pull that was loaded up to a stress and held, or let go before. No columns, no files.

A pull that held is known from below: it was not pulled to failure, so the stress is no strength. A pull that let go
below the proof stress is known from above. Only what says so plainly is taken; "1.5 ok" may be a strength that passed
as well as a proof load that held, and is asked about.

The words are plain ones of seven languages; common practice, no published source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.markers import is_no, is_yes
from adhesion_stats.intake.numbers import NUMBER, parse, plain_digits
from adhesion_stats.intake.quantities import is_unit

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "BELOW", "Held", "ProofCell", "held_at", "held_by_column", "held_heading", "held_in_words", "held_quantity",
    "proof_cell", "proof_heading",
]  # fmt: skip

BELOW = 1.0 - 1e-10  # what let go lies below the proof stress: nearer to it than any reading, and not equal to it


class Held(Enum):
    """What a text says about a proof load."""

    HELD = "held"
    LET_GO = "let go"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class ProofCell:
    """A cell such as "held at 1.5 MPa": the number as written, its unit, and what is said of it."""

    number: str
    unit: str
    held: Held


def _folded(*lines: str) -> frozenset[str]:
    return frozenset(fold(word) for line in lines for word in line.split(","))


_HELD = _folded(
    "held,hold,holds,held on,held ok,load held,held load,no failure,no break,no fracture,no rupture,without failure",
    "without break,not failed,not broken,unbroken,did not fail,did not break,didn't fail,didn't break,survived",
    "withstood,stopped,test stopped,stopped before failure,not pulled to failure,intact,remained intact,no debonding",
    "gehalten,hält,hielt,hat gehalten,standgehalten,kein bruch,kein abriss,kein versagen,ohne bruch,ohne abriss",
    "ohne versagen,nicht gebrochen,nicht abgerissen,nicht versagt,intakt",
    "tenu,tenue,tient,a tenu,sans rupture,pas de rupture,aucune rupture,non rompu,non rompue,pas rompu",
    "aguantó,aguanta,ha aguantado,resistió,resiste,soportó,soporta,sin rotura,sin fallo,sin falla,no rompió,no rompe",
    "no falló,intacto,intacta",
    "tenuto,ha tenuto,ha resistito,senza rottura,nessuna rottura,non rotto,non rotta,intatto,intatta",
    "aguentou,resistiu,suportou,sem ruptura,sem rotura,sem falha,não rompeu,não falhou",
    "wytrzymał,wytrzymała,wytrzymało,utrzymano,utrzymał,utrzymała,bez zerwania,bez zniszczenia,bez pęknięcia",
    "nie zerwano,nie zerwał,nie zerwała,brak zerwania,brak zniszczenia",
)
_LET_GO = _folded(
    "not held,did not hold,didn't hold,does not hold,load not held,let go,gave way",
    "nicht gehalten,hält nicht,hielt nicht,hat nicht gehalten,nicht standgehalten",
    "non tenu,non tenue,pas tenu,n'a pas tenu,ne tient pas",
    "no aguantó,no aguanta,no resistió,no soportó",
    "non tenuto,non ha tenuto,non ha resistito",
    "não aguentou,não resistiu,não suportou",
    "nie wytrzymał,nie wytrzymała,nie wytrzymało,nie utrzymano,nie utrzymał,nie utrzymała",
)
# Beside a word for proof these say how it went; alone they may judge a strength.
_PASSED = _folded("ok,okay,o k,pass,passed,passes,bestanden,i o,conforme,réussi,superado,superato,aprovado,zaliczono")
_FAILED = _folded(
    "fail,failed,fails,nicht bestanden,n i o,échec,échoué,no superado,non superato,reprovado,niezaliczono"
)
_PROOF = _folded(
    "proof,proof load,proof stress,proof test,proof loaded,proofload,proof loading",
    "prüflast,prüfspannung,probelast,probebelastung",
    "charge d'épreuve,contrainte d'épreuve,épreuve",
    "carga de prueba,tensión de prueba",
    "carico di prova,tensione di prova",
    "carga de prova,tensão de prova",
    "obciążenie próbne,próba obciążenia,naprężenie próbne",
)
_FILLERS = _folded(
    "at,to,up to,up,the,of,with,under,for,load,stress,a,until",
    "bei,bis,mit,unter,last,spannung",
    "à,au,sous,jusqu'à,charge,contrainte",
    "con,bajo,hasta,carga,tensión,en",
    "sotto,fino a,carico,tensione",
    "com,sob,até,em,tensão",
    "przy,do,pod,obciążeniem",
)
# Headings of a column that says whether a proof load held, beyond the words above.
_HELD_HEADINGS = _folded(
    "held y n,held yes no,held ja nein,held o n,proof held,proof load held,proof stress held,held at proof",
    "held at proof load,held proof load,stress held,held stress,prüflast gehalten,last gehalten,charge tenue",
    "carga sostenida,carico tenuto,carga mantida",
)
_NO_HEADINGS = _folded(
    "hold,stopped,test stopped,stopped before failure,survived,intact,intakt,intacto,intacta,intatto"
)
_HELD_QUANTITY = _folded("held", "load held,held load,stress held,held stress", "last gehalten", "charge tenue")
_TIME = re.compile(
    r"(?:\b(?:for|für|während|pendant|durante|per|przez|over)\b|[,;/(])?\s*\d+(?:[.,]\d+)?\s*"
    r"(?:s|sec|secs|seconds?|sek|sekunden?|secondes?|segundos?|secondi|sekund|min|mins|minutes?|minuten?|minutos?|"
    r"minuti|minut)\b\.?",
    re.IGNORECASE,
)
_LONGEST = 80


def _without(words: str, phrases: frozenset[str]) -> str:
    """The words without the longest of the phrases that stands in them."""
    for phrase in sorted(phrases, key=len, reverse=True):
        padded = f" {words} "
        if f" {phrase} " in padded:
            return " ".join(padded.replace(f" {phrase} ", " ", 1).split())
    return words


def _stripped(words: str) -> str:
    """The words without fillers at their ends."""
    tokens = words.split()
    while tokens and (tokens[0] in _FILLERS or " ".join(tokens[:2]) in _FILLERS):
        del tokens[0]
    while tokens and tokens[-1] in _FILLERS:
        del tokens[-1]
    return " ".join(tokens)


def held_in_words(text: str, *, proof: bool = False) -> Held | None:
    """What words without a number say; ``proof``: that a proof load is meant is known. None where they say nothing.

    >>> held_in_words("no failure at"), held_in_words("proof load"), held_in_words("1")
    (<Held.HELD: 'held'>, <Held.UNCLEAR: 'unclear'>, None)
    """
    words = fold(text).replace("/", " ")
    rest = _stripped(_without(words, _PROOF))
    meant = proof or rest != _stripped(words)
    for said, held in ((_HELD, Held.HELD), (_LET_GO, Held.LET_GO)):
        if rest in said or words in said:
            return held
    if rest in _PASSED:
        return Held.HELD if meant else Held.UNCLEAR
    if rest in _FAILED:
        return Held.LET_GO if meant else None
    return Held.UNCLEAR if not rest and rest != _stripped(words) else None


def held_by_column(text: str) -> Held | None:
    """What a cell of a column for "held" says; None for a blank, unclear for words that are not known."""
    if not text.strip():
        return None
    said = held_in_words(text, proof=True)
    if said in {Held.HELD, Held.LET_GO}:
        return said
    return Held.HELD if is_yes(text) else Held.LET_GO if is_no(text) else Held.UNCLEAR


def proof_cell(text: str, is_unit: Callable[[str], bool]) -> ProofCell | None:
    """Take a cell apart that says how a proof load went; None where it is no such cell, or holds several numbers.

    >>> proof_cell("no failure at 1,5 MPa (60 s)", lambda word: word == "MPa")
    ProofCell(number='1,5', unit='MPa', held=<Held.HELD: 'held'>)
    """
    plain = plain_digits(text).strip()
    if len(plain) > _LONGEST:
        return None
    without = _TIME.sub(" ", plain)
    plain = without if any(c.isdigit() for c in without) else plain
    found = list(re.finditer(NUMBER, plain))
    if len(found) != 1 or "<" in plain or "≤" in plain:
        return None
    number = found[0].group()
    before, after = plain[: found[0].start()], plain[found[0].end() :].strip()
    if number[:1] in "+-−–" and before.strip():  # a dash between words and number is no sign
        number = number[1:]
    unit = ""
    parts = re.split(r"(?<=\S)(?=[\s(),;:–—-])", after)
    for k in range(min(len(parts), 4), 0, -1):
        word = "".join(parts[:k]).strip(" ,;:()")
        if word and is_unit(word):
            unit, after = word, "".join(parts[k:])
            break
    held = held_in_words(f"{before} {after}".replace(">", " ").replace("≥", " "))
    return None if held is None else ProofCell(number.strip(), unit, held)


def proof_heading(text: str, *, weak: bool) -> bool:
    """Whether a heading names a proof stress or load; ``weak``: words count too that also name the load at failure."""
    words = fold(re.sub(r"[\[({][^\])}]*[\])}]", " ", text))
    if held_quantity(text):
        return True
    padded = f" {words} "
    strong = ("proof", "epreuve")
    return any(f" {word} " in padded for word in (sorted(_PROOF) if weak else strong))


def held_quantity(text: str) -> bool:
    """Whether a heading says that the stress or load in its column was held ("stress held [MPa]")."""
    words = fold(re.sub(r"[\[({][^\])}]*[\])}]", " ", text))
    for end in ("mpa", "n mm2", "psi", "kn", "n", "kpa"):
        words = words.removesuffix(f" {end}").removesuffix(f" in {end}")
    return words in _HELD_QUANTITY


def held_at(heading: str) -> tuple[float, str] | None:
    """Number and unit ("" where none) of a heading such as "held at 1.5 MPa"; None where it is none, or reads twice.

    >>> held_at("no failure at 1,5 MPa"), held_at("1.5 MPa")
    ((1.5, 'MPa'), None)
    """
    found = proof_cell(heading, lambda word: is_unit(word, "strength"))
    if found is None or found.held is not Held.HELD:
        return None
    _, number = parse(found.number)
    return None if number.problem else (number.value, found.unit)


def held_heading(text: str) -> bool:
    """Whether a heading is that of a column that says whether a proof load held."""
    words = fold(text)
    return (words in _HELD and words not in _NO_HEADINGS) or words in _HELD_HEADINGS
