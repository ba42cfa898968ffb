"""Results as bytes that depend on the results alone, so that a hash of them means something.

Sorted keys, UTF-8, two blanks of indentation for readers, the shortest text that gives a float back (``repr``), a
newline at the end. Neither NaN nor infinity (they are not JSON: a missing number is ``null``), no key that is not
text, no type that JSON does not have. Order of dictionaries, locale, time zone and hash seed can't enter.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Mapping

__all__ = ["canonical_bytes", "read_results", "results_digest"]

_HALF_A_PAIR = re.compile(rb"\\u[dD][89a-fA-F]")


def _check_text(value: str, path: str) -> None:
    try:
        value.encode("utf-8")
    except UnicodeEncodeError as error:
        raise ValueError(f"{path}: text that is no valid Unicode: {value!r}") from error


def _check(value: object, path: str) -> None:
    """Raise where ``value`` has no canonical text, and say where in the results that is."""
    if value is None or isinstance(value, int):  # a truth value is an int as well
        return
    if isinstance(value, str):
        _check_text(value, path)
    elif isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{path}: {value!r} is no JSON number; a missing number is None")
    elif isinstance(value, Mapping):
        for key, part in value.items():
            if not isinstance(key, str):
                raise TypeError(f"{path}: a key must be text, not {key!r} ({type(key).__name__})")
            _check_text(key, f"{path}, a key")
            _check(part, f"{path}.{key}")
    elif isinstance(value, list | tuple):
        for i, part in enumerate(value):
            _check(part, f"{path}[{i}]")
    else:
        raise TypeError(f"{path}: {type(value).__name__} has no place in JSON: {value!r}")


def canonical_bytes(results: Mapping[str, object]) -> bytes:
    r"""Return the canonical JSON bytes of ``results``.

    Parameters
    ----------
    results
        Mappings with text keys, lists, tuples, texts, booleans, integers, finite floats and None, nested.

    Returns
    -------
    bytes
        UTF-8, ending in a newline; equal for equal results.

    Raises
    ------
    ValueError
        For NaN, infinity or text that is not valid Unicode; the text says where.
    TypeError
        For a type that JSON does not have (numpy integers among them) or a key that is not text.

    Examples
    --------
    >>> canonical_bytes({"b": 1.5, "a": None})
    b'{\n  "a": null,\n  "b": 1.5\n}\n'
    """
    _check(results, "results")
    text = json.dumps(results, ensure_ascii=False, allow_nan=False, indent=2, sort_keys=True)
    return (text + "\n").encode("utf-8")


def results_digest(results: Mapping[str, object]) -> str:
    """Return the SHA-256 (hex) of the canonical bytes of ``results``."""
    return hashlib.sha256(canonical_bytes(results)).hexdigest()


def _unique(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        twice = sorted({name for name in names if names.count(name) > 1})
        raise ValueError(f"a key stands twice in one object: {', '.join(map(repr, twice))}")
    return found


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text[:40]} is larger than any number here")
    return number


def _no_constant(name: str) -> object:
    raise ValueError(f"{name} is no JSON number")


def read_results(content: bytes) -> dict[str, object]:
    """Read results from JSON bytes; whatever they hold can be written again by :func:`canonical_bytes`.

    Raises
    ------
    ValueError
        When the bytes are not JSON in UTF-8, not an object, or nested too deeply; for a key that stands twice, for NaN
        and numbers without end, and for text that is no valid Unicode.
    """
    try:
        found = json.loads(
            content.decode("utf-8"), object_pairs_hook=_unique, parse_constant=_no_constant, parse_float=_finite
        )
    except RecursionError:
        raise ValueError("it is nested too deeply") from None
    if _HALF_A_PAIR.search(content):  # a character in two halves, of which one may be missing
        json.dumps(found, ensure_ascii=False).encode("utf-8")
    if not isinstance(found, dict):
        raise ValueError(f"expected a JSON object with results, found {type(found).__name__}")  # noqa: TRY004 - one error type for unusable bytes
    return found
