"""The shape of results.json, written out once more for the tests: which keys stand where and what they hold."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["shape_faults"]

TEXT, FLAG, COUNT, NUMBER, MESSAGE = "text", "flag", "count", "number", "message"

_MESSAGE: dict[str, object] = {
    "code": TEXT,
    "severity": TEXT,
    "sheet": (TEXT, None),
    "row": (COUNT, None),
    "column": (TEXT, None),
    "facts": "any",
}
_LIMIT: dict[str, object] = {"text": TEXT, "value": NUMBER, "unit": TEXT, "places": COUNT, "mpa": NUMBER}
_WHICH: dict[str, object] = {
    "codes": [TEXT],
    "from_percent": NUMBER,
    "depth_mm": (NUMBER, None),
    "depth": (TEXT, None),
}
_CRITERION: dict[str, object] = {
    "key": TEXT,
    "kind": TEXT,
    "question": (TEXT, None),
    "source": TEXT,
    "limit": (_LIMIT, None),
    "share_limit": ({"sense": TEXT, "percent": NUMBER, "codes": [TEXT], "from_percent": (NUMBER, None)}, None),
    "method": (
        {
            "name": TEXT,
            "content": (NUMBER, None),
            "confidence": (NUMBER, None),
            "known_cov": (NUMBER, None),
            "known_sd": (TEXT, None),
            "pooled_over": [TEXT],
        },
        None,
    ),
    "asked": {"sense": TEXT, "value": NUMBER, "unit": TEXT, "places": COUNT},
    "by_failure": (
        {
            "role": TEXT,
            "which": (_WHICH, None),
            "from_percent": (NUMBER, None),
            "limits": [{**_WHICH, "limit": _LIMIT}],
            "otherwise": (_LIMIT, None),
            "sure": (COUNT, None),
            "most": (COUNT, None),
            "pulls": [{"pull": COUNT, "sure": FLAG, "possible": FLAG}],
        },
        None,
    ),
    "conformity": (
        {
            "asked": (NUMBER, None),
            "low": (NUMBER, None),
            "high": (NUMBER, None),
            "uncertainty": (NUMBER, None),
            "needed": (NUMBER, None),
            "guard_band": (NUMBER, None),
            "errors": TEXT,
        },
        None,
    ),
    "z": (COUNT, None),
    "of": (COUNT, None),
    "n": COUNT,
    "low": (NUMBER, None),
    "high": (NUMBER, None),
    "high_is_open": FLAG,
    "low_is_open": FLAG,
    "k": (NUMBER, None),
    "total": (NUMBER, None),
    "outcome": TEXT,
    "at_limit": FLAG,
    "margin_low": (NUMBER, None),
    "margin_high": (NUMBER, None),
    "reason": MESSAGE,
    "published": ({"name": TEXT, "sure": (TEXT, None), "to_confirm": FLAG, "confirmed": (TEXT, None)}, None),
}
_USED: dict[str, object] = {
    "path": TEXT,
    "name": TEXT,
    "kind": TEXT,
    "document": TEXT,
    "edition": TEXT,
    "replaced_by": (TEXT, None),
    "zones": [TEXT],
    "confirmed": (TEXT, None),
    "to_confirm": FLAG,
    "numbers": [
        {"path": TEXT, "value": TEXT, "instead": (TEXT, None), "clause": TEXT, "sure": TEXT, "seen": TEXT},
    ],
}
_SUMMARY: dict[str, object] = {
    "n": COUNT,
    "mean": (NUMBER, None),
    "sd": (NUMBER, None),
    "cov": (NUMBER, None),
    "smallest": (NUMBER, None),
    "largest": (NUMBER, None),
    "median": (NUMBER, None),
    "mean_is_lower_bound": FLAG,
    "interval": ({"confidence": NUMBER, "low": NUMBER, "high": NUMBER}, None),
    "characteristic": [
        {
            "method": TEXT,
            "content": NUMBER,
            "confidence": (NUMBER, None),
            "known_cov": (NUMBER, None),
            "known_sd": (TEXT, None),
            "rank": (COUNT, None),
            "reached": (NUMBER, None),
            "k": (NUMBER, None),
            "value": NUMBER,
            "source": TEXT,
        }
    ],
    "unsaid": [MESSAGE],
}
_ZONE: dict[str, object] = {
    "zone": TEXT,
    "population": (
        {"zone": TEXT, "stage": TEXT, "round": COUNT, "stands": FLAG, "step": (COUNT, None), "said": [MESSAGE]},
        None,
    ),
    "measurements": (
        {
            "required": (COUNT, None),
            "valid": COUNT,
            "pulls_per_measurement": (COUNT, None),
            "listed": [
                {
                    "name": TEXT,
                    "pulls": [COUNT],
                    "counted": COUNT,
                    "valid": FLAG,
                    "low": (NUMBER, None),
                    "high": (NUMBER, None),
                }
            ],
        },
        None,
    ),
    "outcome": (TEXT, None),
    "reason": MESSAGE,
    "binding": (TEXT, None),
    "pulls": {
        "made": COUNT,
        "counted": COUNT,
        "exact": COUNT,
        "bounded": COUNT,
        "not_counted": COUNT,
        "lost": COUNT,
        "required": (COUNT, None),
        "unknown": COUNT,
    },
    "summary": _SUMMARY,
    "criteria": [_CRITERION],
    "tree": "any",
    "needs": [MESSAGE],
    "hangs_on": [MESSAGE],
    "settled": [
        {
            "glue_from_percent": NUMBER,
            "glue_then": TEXT,
            "broke_there_from_percent": NUMBER,
            "lost": TEXT,
            "retest_instead": FLAG,
            "outcome": (TEXT, None),
        }
    ],
    "failure": {"percent": "any", "recorded": COUNT, "not_recorded": COUNT},
    "next": [MESSAGE],
    "hints": [MESSAGE],
    "to_confirm": [MESSAGE],
    "classes": [{"best": (TEXT, None), "least": (TEXT, None), "names": [TEXT]}],
    "determinations": [{"decided": TEXT, "about": (TEXT, None), "who": TEXT, "when": TEXT, "why": TEXT}],
}
_PULL: dict[str, object] = {
    "index": COUNT,
    "sheet": (TEXT, None),
    "row": COUNT,
    "id": TEXT,
    "name": TEXT,
    "zone": TEXT,
    "strength": (NUMBER, None),
    "entered": TEXT,
    "bound": (TEXT, None),
    "load_n": (NUMBER, None),
    "indicated_mpa": (NUMBER, None),
    "indicated_load_n": (NUMBER, None),
    "area_mm2": (NUMBER, None),
    "status": TEXT,
    "counts_as": (TEXT, None),
    "reasons": [MESSAGE],
    "who": TEXT,
    "flags": [MESSAGE],
    "failure": "any",
    "date": (TEXT, None),
    "retest_of": TEXT,
    "exclusion": TEXT,
    "labels": "any",
    "conditions": "any",
}
_REZONING: dict[str, object] = {
    "source": TEXT,
    "moved": [{"pull": COUNT, "name": TEXT, "before": TEXT, "now": TEXT}],
    "zones": [{"zone": TEXT, "before": (TEXT, None), "now": (TEXT, None)}],
    "contract": {"before": TEXT, "now": TEXT},
    "unmatched": COUNT,
}
RESULTS: dict[str, object] = {
    "format": TEXT,
    "format_version": COUNT,
    "contract": {
        "title": TEXT,
        "structure": TEXT,
        "client": TEXT,
        "engineer": TEXT,
        "test_method": TEXT,
        "document": TEXT,
        "note": TEXT,
        "invented": FLAG,
    },
    "inputs": {
        "readings": {"file": TEXT, "sha256": TEXT, "rows": COUNT},
        "specification": {"file": TEXT, "sha256": TEXT},
        "layout": ({"file": TEXT, "sha256": TEXT}, None),
    },
    "unit": TEXT,
    "places": COUNT,
    "entry": {"unit": TEXT, "recording_step_mpa": (NUMBER, None), "recording_step_text": (TEXT, None)},
    "rounding": {"method": TEXT, "ties": TEXT, "record_to": (TEXT, None)},
    "decision": {"outcome": TEXT, "reason": MESSAGE, "zones": "any", "next": [MESSAGE], "to_confirm": [MESSAGE]},
    "published": [_USED],
    "zones": [_ZONE],
    "rezoned": [_REZONING],
    "pulls": [_PULL],
    "messages": [MESSAGE],
    "on_site": {
        "frequency": "any",
        "extents": "any",
        "holes": {"count": COUNT, "area_mm2": (NUMBER, None)},
    },
    "screening": {
        "tests": [TEXT],
        "side": TEXT,
        "level": NUMBER,
        "dixon_convention": TEXT,
        "zones": [
            {
                "zone": TEXT,
                "n": COUNT,
                "test": TEXT,
                "ratio": (TEXT, None),
                "statistic": (NUMBER, None),
                "p": (NUMBER, None),
                "critical": (NUMBER, None),
                "side": TEXT,
                "pull": (COUNT, None),
                "flagged": FLAG,
                "note": (MESSAGE, None),
            }
        ],
        "by_test": [{"test": TEXT, "zones": COUNT, "expected_by_chance": NUMBER, "flagged": COUNT}],
        "expected_by_chance": (NUMBER, None),
        "flagged": COUNT,
    },
    "cautions": [MESSAGE],
    "method": {"sources": [TEXT]},
    "uncertainty": (
        {
            "source": TEXT,
            "components": [
                {
                    "name": TEXT,
                    "stated_as": TEXT,
                    "text": TEXT,
                    "coverage_factor": (NUMBER, None),
                    "standard_mpa": NUMBER,
                    "standard_share": NUMBER,
                    "common": FLAG,
                }
            ],
        },
        None,
    ),
}


def _fits(value: object, kind: str) -> bool:
    if kind == FLAG:
        return isinstance(value, bool)
    if kind == COUNT:
        return isinstance(value, int) and not isinstance(value, bool)
    if kind == NUMBER:
        return isinstance(value, int | float) and not isinstance(value, bool)
    return kind == "any" or isinstance(value, str)


def shape_faults(value: object, shape: object = RESULTS, at: str = "results") -> list[str]:
    """Where ``value`` departs from ``shape``, each as one line; empty when nowhere."""
    if isinstance(shape, tuple):
        return [] if value is None else shape_faults(value, shape[0], at)
    if shape == MESSAGE:
        shape = _MESSAGE
    if isinstance(shape, str):
        return [] if _fits(value, shape) else [f"{at}: expected {shape}, found {value!r}"]
    if isinstance(shape, list):
        if not isinstance(value, list):
            return [f"{at}: expected a list, found {value!r}"]
        return [fault for i, part in enumerate(value) for fault in shape_faults(part, shape[0], f"{at}[{i}]")]
    if not isinstance(shape, dict) or not isinstance(value, Mapping):
        return [f"{at}: expected a table, found {value!r}"]
    faults = [f"{at}: {key!r} is missing" for key in shape if key not in value]
    faults += [f"{at}: {key!r} is not in the contract" for key in value if key not in shape]
    for key in shape:
        if key in value:
            faults += shape_faults(value[key], shape[key], f"{at}.{key}")
    return faults
