"""Invented results dictionaries in the shape of results.json, for tests of everything that is made from them.

Not a second product: decisions are stated, not derived. Mean and sd come from the standard library.
"""

from __future__ import annotations

import copy
import statistics
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from math import sqrt

from adhesion_stats.wording import SENTENCES

__all__ = [
    "EXAMPLE_SENTENCES",
    "ZoneOf",
    "crowd",
    "demo",
    "hostile",
    "in_psi",
    "results_of",
    "sentences",
    "single_pull",
]

# Sentences for the messages below. The tests add them to the register of sentences; the package has its own.
EXAMPLE_SENTENCES: dict[str, str] = {
    "example_meets": "All criteria are met; {closest} is the closest.",
    "example_mean_below": "The mean of {mean} lies below {limit}.",
    "example_smallest_below": "Pull {pull} lies below {limit}.",
    "example_too_few": "{missing} of the {required} required pulls were not made; they could still turn the decision.",
    "example_bounded": "{n} pulls broke at the dolly adhesive, so that their values are lower bounds.",
    "example_met": "Met.",
    "example_not_met": "Not met.",
    "example_open": "Open: what is not known could meet it or not.",
    "example_need": "The mean of the unknown pulls would have to reach {value}.",
    "example_hangs_flag": "Without the flagged pull {pull} the zone would conform.",
    "example_hangs_one": "Without pull {pull} the zone would not conform.",
    "example_next_more": "Make {n} more pulls in this zone.",
    "example_next_ask": "Ask the contract's engineer what a break at the dolly adhesive means.",
    "example_next_none": "Nothing more is needed for this decision.",
    "example_next_inspect": "Look for the cause in {zone} before any repair is ordered.",
    "example_glue": "Broke over {percent} % of its area at or in the dolly adhesive.",
    "example_lost": "Lost before loading: no value could be had.",
    "example_replaced": "Replaced by its retest {by}.",
    "example_excluded": "Taken out by a written reason.",
    "example_retest_of_valid": "Repeats pull {of}, which is valid; the first pull stands.",
    "example_flagged": "Grubbs' test points at it (p = {p}).",
    "example_no_sd": "One pull says nothing about the spread.",
    "example_no_fractile": "A 5 % fractile from {n} pulls would say next to nothing.",
    "example_mixed": "Cut and uncut pulls stand in one zone.",
    "example_shares": "The shares of pull {pull} add up to {sum} %, not 100 %.",
    "example_small": "Few pulls describe the places tested, not the surface between them.",
    "example_danger": "A bond that is too weak can hurt people; contract, codes and a licensed engineer decide.",
    "example_contract": "{n} zones do not conform.",
    "example_contract_open": "{n} zones are undetermined.",
    "example_contract_good": "Every zone conforms.",
}


@contextmanager
def sentences() -> Iterator[None]:
    """The sentences of these messages, in the register of sentences for a while."""
    added = {code: text for code, text in EXAMPLE_SENTENCES.items() if code not in SENTENCES}
    SENTENCES.update(added)
    try:
        yield
    finally:
        for code in added:
            del SENTENCES[code]


DIGEST = "9f2c1d0b7a6e5f4c3b2a19080706050403020100ffeeddccbbaa998877665544"


def message(code: str, *, severity: str = "note", row: int | None = None, **facts: object) -> dict[str, object]:
    """A message as results.json has it."""
    return {"code": f"example_{code}", "severity": severity, "sheet": None, "row": row, "column": None, "facts": facts}


@dataclass(frozen=True)
class ZoneOf:
    """One zone: its values [MPa] as texts with a mark, what is asked, what came out.

    Marks: ``>`` at least, ``<`` at most, ``!`` flagged, ``x`` invalid, ``e`` excluded, ``r`` replaced, ``lost``.
    """

    name: str
    values: Sequence[str]
    outcome: str = "conforms"
    required: int | None = 5
    mean_limit: str = "1.50"
    smallest_limit: str = "1.00"
    failures: Sequence[Mapping[str, float]] = ({"A": 70.0, "A/B": 30.0}, {"A": 100.0}, {"A/B": 60.0, "B": 40.0})
    hangs: Sequence[Mapping[str, object]] = ()
    either: bool = False
    labels: Mapping[str, str] = field(default_factory=dict)


def _pull(zone: ZoneOf, text: str, index: int, number: int, *, place: int | None, unit: str) -> dict[str, object]:
    mark = text[0] if text[0] in "><!xer" else ""
    number_text = text.removeprefix(mark) if text != "lost" else ""
    strength = None if text == "lost" else float(number_text)
    status = {"x": "invalid", "e": "excluded", "r": "replaced"}.get(mark, "lost" if text == "lost" else "counted")
    reasons = {
        "invalid": [message("glue", percent=80)],
        "excluded": [message("excluded")],
        "replaced": [message("replaced", by=f"{number + 1}R")],
        "lost": [message("lost")],
    }.get(status, [])
    glue = mark in (">", "x", "r")
    failure = (
        {} if text == "lost" else {"A": 20.0, "Y": 80.0} if glue else dict(zone.failures[number % len(zone.failures)])
    )
    name = f"{index + 1:03d}"
    return {
        "index": index,
        "sheet": None,
        "row": index + 2,
        "id": name,
        "name": name,
        "zone": zone.name,
        "strength": strength,
        "entered": "" if strength is None else f"{mark if mark in '<>' else ''}{number_text} {unit}".strip(),
        "bound": {">": "at_least", "<": "at_most"}.get(mark),
        "load_n": None if strength is None else strength * 1963.5,
        "area_mm2": 1963.5,
        "indicated_mpa": None,
        "indicated_load_n": None,
        "status": status,
        "counts_as": None
        if status not in ("counted", "lost")
        else {">": "at_least", "<": "at_most"}.get(mark, "unknown" if text == "lost" else "exact"),
        "reasons": reasons,
        "who": "" if status == "counted" else "Site engineer" if status == "excluded" else "rule",
        "flags": [message("flagged", p="0.021")] if mark == "!" else [],
        "failure": failure,
        "date": "2031-04-17",
        "retest_of": "",
        "exclusion": "dolly tilted, seen on photo 12" if status == "excluded" else "",
        "labels": dict(zone.labels),
        "conditions": {
            "x_m": None if place is None else 1.5 + (number % 4) * 1.4 + (place % 7) * 8.0,
            "y_m": None if place is None else 0.8 + (number // 4) * 1.5 + (number % 3) * 0.5 + (place // 7) * 7.0,
        },
    }


def _criterion(
    zone: ZoneOf,
    *,
    key: str,
    kind: str,
    text: str,
    low: float | None,
    high: float | None,
    open_: bool,
    n: int,
    at: bool,
) -> dict[str, object]:
    limit = float(text)
    met = low is not None and low >= limit - 1e-12
    lost = high is not None and not open_ and high < limit - 1e-12
    outcome = "conforms" if met else "does not conform" if lost else "undetermined"
    return {
        "key": key,
        "kind": kind,
        "question": "pull-off",
        "source": "contract, section 4.2",
        "limit": {"text": f"{text} MPa", "value": limit, "unit": "MPa", "places": 2, "mpa": limit},
        "share_limit": None,
        "method": None,
        "by_failure": None,
        "asked": {"sense": "at least", "value": limit, "unit": "MPa", "places": 2},
        "z": None,
        "of": None,
        "n": n,
        "low": low,
        "high": None if open_ else high,
        "high_is_open": open_,
        "low_is_open": False,
        "k": None,
        "total": None,
        "outcome": outcome,
        "at_limit": at,
        "margin_low": None if low is None else low - limit,
        "margin_high": None if open_ or high is None else high - limit,
        "published": None,
        "conformity": None,
        "reason": message({"conforms": "met", "does not conform": "not_met"}.get(outcome, "open")),
    }


def _zone(zone: ZoneOf, pulls: list[dict[str, object]]) -> dict[str, object]:
    counted = [p for p in pulls if p["status"] == "counted"]
    x = [float(str(p["strength"])) for p in counted]
    n = len(x)
    bounded = sum(p["counts_as"] in ("at_least", "at_most") for p in counted)
    lost = sum(p["status"] == "lost" for p in pulls)
    unknown = max(0, (zone.required or 0) - n)
    mean = statistics.fmean(x) if x else None
    sd = statistics.stdev(x) if n > 1 and not bounded else None
    open_ = bounded > 0 or unknown > 0
    floor_mean = None if mean is None else mean * n / (n + unknown)
    criteria = [
        _criterion(
            zone,
            key="1.1",
            kind="mean",
            text=zone.mean_limit,
            low=floor_mean,
            high=mean,
            open_=open_,
            n=n,
            at=mean is not None and abs(mean - float(zone.mean_limit)) < 1e-9,
        ),
        _criterion(
            zone,
            key="1.2",
            kind="smallest",
            text=zone.smallest_limit,
            low=0.0 if unknown else min(x, default=None),
            high=min(x, default=None),
            open_=bool(bounded and n == bounded) or not x,
            n=n,
            at=False,
        ),
    ]
    tree: dict[str, object] = {"all_of": ["1.1", "1.2"]}
    if zone.either:
        criteria.append(
            {
                **criteria[0],
                "key": "1.3",
                "kind": "failure share",
                "question": None,
                "limit": None,
                "asked": {"sense": "at least", "value": 80.0, "unit": "%", "places": 0},
                "share_limit": {"sense": "at least", "percent": 80.0, "codes": ["A"], "from_percent": None},
                "low": 85.0,
                "high": 85.0,
                "high_is_open": False,
                "outcome": "conforms",
                "margin_low": 5.0,
                "margin_high": 5.0,
                "at_limit": False,
                "reason": message("met"),
                "source": "",
            }
        )
        tree = {"any_of": [tree, "1.3"]}
    shares: dict[str, float] = {}
    recorded = [p["failure"] for p in counted if p["failure"]]
    for failure in recorded:
        for code, percent in dict(failure).items():  # type: ignore[call-overload]
            shares[code] = shares.get(code, 0.0) + percent / len(recorded)
    reasons = {
        "conforms": message("meets", closest=f"the smallest value, {zone.smallest_limit} MPa"),
        "does not conform": message("smallest_below", pull="003", limit=f"{zone.smallest_limit} MPa"),
        "undetermined": message("too_few", missing=unknown, required=zone.required)
        if unknown
        else message("bounded", n=bounded),
    }
    half = 0.0 if sd is None else 2.3 * sd / sqrt(n)
    return {
        "zone": zone.name,
        "outcome": zone.outcome,
        "reason": reasons[zone.outcome],
        "binding": "1.2" if zone.outcome == "does not conform" else "1.1",
        "pulls": {
            "made": len(pulls),
            "counted": n,
            "exact": n - bounded,
            "bounded": bounded,
            "not_counted": len(pulls) - n,
            "lost": lost,
            "required": zone.required,
            "unknown": unknown,
        },
        "summary": {
            "n": n,
            "mean": mean,
            "sd": sd,
            "cov": None if sd is None or not mean else sd / mean,
            "smallest": min(x, default=None),
            "largest": max(x, default=None) if not bounded else None,
            "median": statistics.median(x) if x and not bounded else None,
            "mean_is_lower_bound": bounded > 0,
            "interval": None
            if sd is None or mean is None or n < 3
            else {"confidence": 0.95, "low": mean - half, "high": mean + half},
            "characteristic": []
            if sd is None or mean is None or n < 5
            else [
                {
                    "method": "tolerance",
                    "content": 0.95,
                    "confidence": 0.75,
                    "known_cov": None,
                    "known_sd": None,
                    "rank": None,
                    "reached": None,
                    "k": 2.463,
                    "value": mean - 2.463 * sd,
                    "source": "ISO 16269-6:2014, Annex D",
                },
                {
                    "method": "en1990-unknown",
                    "content": 0.95,
                    "confidence": None,
                    "known_cov": None,
                    "known_sd": None,
                    "rank": None,
                    "reached": None,
                    "k": 2.33,
                    "value": mean - 2.33 * sd,
                    "source": "EN 1990:2002, D.7.2",
                },
            ],
            "unsaid": [message("no_sd")] if n < 2 else [message("no_fractile", n=n)] if n < 5 else [],
        },
        "criteria": criteria,
        "tree": tree,
        "needs": [message("need", value="2.10 MPa")] if zone.outcome == "undetermined" else [],
        "hangs_on": list(zone.hangs),
        "settled": [
            {
                "glue_from_percent": 50.0,
                "glue_then": "at least",
                "broke_there_from_percent": 50.0,
                "lost": "unknown",
                "retest_instead": False,
                "outcome": zone.outcome,
            },
            *(
                [
                    {
                        "glue_from_percent": 50.0,
                        "glue_then": "discard",
                        "broke_there_from_percent": 50.0,
                        "lost": "left out",
                        "retest_instead": False,
                        "outcome": "undetermined",
                    }
                ]
                if bounded
                else []
            ),
        ],
        "failure": {"percent": shares, "recorded": len(recorded), "not_recorded": n - len(recorded)},
        "next": [message("next_more", n=unknown)]
        if unknown
        else [message("next_ask")]
        if zone.outcome == "undetermined"
        else [message("next_inspect", zone=zone.name)]
        if zone.outcome == "does not conform"
        else [message("next_none")],
        "population": None,
        "measurements": None,
        "hints": [],
        "determinations": [],
        "classes": [],
        "to_confirm": [],
    }


def results_of(
    zones: Sequence[ZoneOf],
    *,
    title: str = "Deck repair, south viaduct",
    positions: bool = True,
    invented: bool = True,
    unit: str = "MPa",
    places: int = 2,
    messages: Sequence[dict[str, object]] = (),
) -> dict[str, object]:
    """Results for these zones."""
    pulls: list[dict[str, object]] = []
    out: list[dict[str, object]] = []
    for zone in zones:
        start, at = len(pulls), len(out) if positions else None
        mine = [_pull(zone, text, start + i, i, place=at, unit=unit) for i, text in enumerate(zone.values)]
        pulls += mine
        out.append(_zone(zone, mine))
    count = {o: sum(z["outcome"] == o for z in out) for o in ("conforms", "does not conform", "undetermined")}
    worst = "does not conform" if count["does not conform"] else "undetermined" if count["undetermined"] else "conforms"
    return {
        "format": "adhesion_stats results",
        "format_version": 2,
        "contract": {
            "title": title,
            "structure": "South viaduct, spans 1 to 4",
            "client": "Example client",
            "engineer": "Example office",
            "test_method": "EN 1542:1999",
            "document": "Particular specification, section 4",
            "note": "",
            "invented": invented,
        },
        "inputs": {
            "readings": {"file": "deck.csv", "sha256": DIGEST, "rows": len(pulls)},
            "specification": {"file": "deck.toml", "sha256": DIGEST[::-1]},
            "layout": None,
        },
        "unit": unit,
        "places": places,
        "entry": {"unit": unit, "recording_step_mpa": 0.01, "recording_step_text": "0.01 MPa"},
        "rounding": {"method": "unrounded", "ties": "even", "record_to": None},
        "decision": {
            "outcome": worst,
            "zones": count,
            "reason": message("contract", n=count["does not conform"])
            if count["does not conform"]
            else message("contract_open", n=count["undetermined"])
            if count["undetermined"]
            else message("contract_good"),
            "next": [message("next_ask")] if count["undetermined"] else [message("next_none")],
            "to_confirm": [],
        },
        "published": [],
        "zones": out,
        "rezoned": [],
        "pulls": pulls,
        "messages": list(messages),
        "on_site": {"frequency": [], "extents": [], "holes": {"count": len(pulls), "area_mm2": None}},
        "screening": {
            "tests": ["grubbs"],
            "side": "low",
            "level": 0.05,
            "dixon_convention": "dixon-1953",
            "zones": [
                {
                    "zone": z["zone"],
                    "n": z["pulls"]["exact"],  # type: ignore[index]
                    "test": "grubbs",
                    "ratio": None,
                    "statistic": 1.74,
                    "p": 0.021,
                    "critical": 1.672,
                    "side": "low",
                    "pull": next((p["index"] for p in pulls if p["zone"] == z["zone"] and p["flags"]), None),
                    "flagged": any(p["flags"] for p in pulls if p["zone"] == z["zone"]),
                    "note": None,
                }
                for z in out
            ],
            "by_test": [
                {
                    "test": "grubbs",
                    "zones": len(out),
                    "expected_by_chance": 0.05 * len(out),
                    "flagged": sum(bool(p["flags"]) for p in pulls),
                }
            ],
            "expected_by_chance": 0.05 * len(out),
            "flagged": sum(bool(p["flags"]) for p in pulls),
        },
        "uncertainty": None,
        "cautions": [message("small"), message("danger")],
        "method": {"sources": ["ISO 16269-6:2014, Annex D", "EN 1990:2002, D.7.2", "ASTM E178-21, table 1"]},
    }


def demo() -> dict[str, object]:
    """Fourteen zones with every outcome and every standing of a pull."""
    flag = [message("hangs_flag", pull="039")]
    return results_of(
        [
            ZoneOf("Span 1, lane", ["2.12", "1.98", "2.31", "2.05", "2.24"]),
            ZoneOf("Span 1, kerb", ["1.21", "1.35", "1.28", "0.94", "1.40"], "does not conform"),
            ZoneOf("Span 2, lane", ["2.61", "2.35", "0.87", "2.42", "2.55"], "does not conform"),
            ZoneOf(
                "Span 2, kerb", ["0.92", "1.74", "1.66", "1.81", "1.77"], "does not conform", failures=({"A": 100.0},)
            ),
            ZoneOf("Span 3, lane", [">1.20", ">1.35", "1.62", "1.71", "1.58"], "undetermined"),
            ZoneOf("Span 3, kerb", [">2.40", "2.12", "2.33", "2.20", "2.05"]),
            ZoneOf("Span 4, lane", ["2.10", "2.22", "1.95"], "undetermined"),
            ZoneOf("Span 4, kerb", ["0.71", "1.20"], "does not conform"),
            ZoneOf("Abutment west", ["2.02", "2.11", "2.06", "!0.98", "2.15", "2.09"], "does not conform", hangs=flag),
            ZoneOf("Abutment east", ["1.50", "1.40", "1.60", "1.45", "1.55"], hangs=[message("hangs_one", pull="045")]),
            ZoneOf("Pier 1 crosshead", ["1.92", "2.05", "1.88", "2.15", "1.97"], labels={"cut": "no"}),
            ZoneOf("Pier 2 crosshead", ["r1.10", "2.05", "1.88", "2.15", "1.97", "2.02"], either=True),
            ZoneOf("Pier 3 crosshead", ["1.21", "e2.05", "1.88", "2.15", "1.97", "x1.92"], "undetermined"),
            ZoneOf("Approach slab", ["1.92", "2.05", "lost", "2.15", "1.97", "1.83", "1.90"]),
        ],
        messages=[
            message("mixed", severity="warning"),
            message("shares", severity="note", row=12, pull="011", sum=95),
        ],
    )


def single_pull() -> dict[str, object]:
    """One zone with one pull, no position, no number of pulls required."""
    return results_of([ZoneOf("Only zone", ["1.72"], required=None)], positions=False, title="One pull", invented=False)


def crowd(zones: int = 60, pulls: int = 10) -> dict[str, object]:
    """Many zones, some with the longest names."""
    outcomes = ("conforms", "conforms", "conforms", "undetermined", "does not conform")
    made = []
    for i in range(zones):
        values = [f"{1.9 + ((i * 37 + j * 61) % 101 - 50) / 70:.2f}" for j in range(pulls)]
        if i % 9 == 4:
            values[2] = ">" + values[2]
        name = (
            f"Zone {i + 1}" if i % 7 else f"Level {i // 7}, grid line C to F, north face between the expansion joints"
        )
        made.append(ZoneOf(name, values, outcomes[i % 5]))
    return results_of(made, title="Car park, all levels", invented=False)


def hostile() -> dict[str, object]:
    """Names that would be markup, formulas or terminal commands if anybody let them."""
    return results_of(
        [
            ZoneOf('<b>&"bold"', ["1.72", "1.80", "2.01", "1.66", "1.93"]),
            ZoneOf("<script>alert(1)</script>", ["1.72", "lost"], "undetermined"),
            ZoneOf("$x_1$ \\frac{a}{b} {{ zone }}", ["1.72", ">1.2"], "undetermined"),
            ZoneOf("\x1b[31mred\x1b[0m 区域 é", ["1.72", "0.2"], "does not conform"),
        ],
        title='Deck <img src="http://pictures.invalid/a.png"> & "quotes"',
    )


def in_psi(results: Mapping[str, object] | None = None) -> dict[str, object]:
    """The same results, read in psi."""
    made = copy.deepcopy(dict(results or demo()))
    made["unit"], made["places"] = "psi", 0
    for zone in made["zones"]:  # type: ignore[attr-defined]
        for criterion in zone["criteria"]:
            limit = criterion["limit"]
            if limit:
                value = round(limit["mpa"] / 0.00689475729)
                limit.update(text=f"{value} psi", value=float(value), unit="psi", places=0)
                for end in ("margin_low", "margin_high"):
                    if criterion[end] is not None:
                        criterion[end] /= 0.00689475729
    return made
