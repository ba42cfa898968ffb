"""Canonical bytes: they depend on the results alone."""

import hashlib
import json
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from adhesion_stats.record import canonical_bytes, read_results, results_digest

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


def test_keys_are_sorted_and_the_text_is_fixed() -> None:
    """The bytes of a small dictionary are exactly these."""
    found = canonical_bytes({"b": [1, 2.5, None, True], "a": "Brücke <b>"})
    assert found == ('{\n  "a": "Brücke <b>",\n  "b": [\n    1,\n    2.5,\n    null,\n    true\n  ]\n}\n'.encode())


def test_order_of_insertion_does_not_matter() -> None:
    """Equal dictionaries give equal bytes."""
    assert canonical_bytes({"a": 1, "b": {"c": 2, "d": 3}}) == canonical_bytes({"b": {"d": 3, "c": 2}, "a": 1})


def test_a_float_keeps_every_bit() -> None:
    """The shortest text that gives the float back: 0.1 + 0.2 is not 0.3."""
    assert b"0.30000000000000004" in canonical_bytes({"x": 0.1 + 0.2})


@given(st.dictionaries(st.text(), JSON, max_size=4))
def test_round_trip(results: dict[str, object]) -> None:
    """What was written is read back, and written again it gives the same bytes."""
    content = canonical_bytes(results)
    assert read_results(content) == results
    assert canonical_bytes(read_results(content)) == content


@pytest.mark.parametrize("number", [float("nan"), float("inf"), float("-inf")])
def test_no_nan_and_no_infinity(number: float) -> None:
    """A number that JSON does not have is refused, with its place."""
    with pytest.raises(ValueError, match=r"results\.zones\[1\]\.mean: .* is no JSON number"):
        canonical_bytes({"zones": [{}, {"mean": number}]})


@pytest.mark.parametrize("value", [np.int64(3), np.array([1.0]), {1, 2}, b"x"])
def test_foreign_types_are_refused(value: object) -> None:
    """A type that JSON does not have is refused, with its place."""
    with pytest.raises(TypeError, match=r"results\.a: .* has no place in JSON"):
        canonical_bytes({"a": value})


def test_a_key_must_be_text() -> None:
    """The library json would turn a number into a text key without a word."""
    with pytest.raises(TypeError, match="a key must be text"):
        canonical_bytes({"a": {1: "x"}})


def test_text_that_is_no_unicode_is_refused_with_its_place() -> None:
    """A lone surrogate, as undecodable file names have, can't be written as UTF-8."""
    with pytest.raises(ValueError, match=r"results\.file: text that is no valid Unicode"):
        canonical_bytes({"file": "\udcff"})


def test_the_digest_is_that_of_the_bytes() -> None:
    """The digest is the plain SHA-256 of the file's bytes."""
    assert results_digest({"a": 1}) == hashlib.sha256(b'{\n  "a": 1\n}\n').hexdigest()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'{"a": 1, "a": 2}', "a key stands twice"),
        (b'{"a": NaN}', "no JSON number"),
        (b"[1]", "expected a JSON object"),
        (b'{"a": ', "Expecting value"),
        (b"\xff\xfe", "utf-8"),
    ],
)
def test_damaged_results_are_refused(content: bytes, words: str) -> None:
    """What is not plain JSON is not read as if it were."""
    with pytest.raises(ValueError, match=words):
        read_results(content)


def test_hash_seed_does_not_matter() -> None:
    """Two processes under different hash seeds write the same bytes."""
    program = (
        "import sys; from adhesion_stats.record import canonical_bytes; "
        "sys.stdout.buffer.write(canonical_bytes({k: {k: 1.5} for k in {'zone', 'mean', 'sd', 'n', 'Brücke'}}))"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(filter(None, sys.path))},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(found) == 1
    assert len(json.loads(found.pop())) == 5
