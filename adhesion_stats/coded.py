"""A column held as codes: each different value once, and for every row the place where its value stands.

This is how the package holds text. A million rows with two thousand zone names are two thousand texts and four bytes a
row; what depends on the text only (is it blank? which zone is it?) is asked once a text and looked up for the rows.
To everybody else a column is a plain sequence with an entry per row. Knows nothing of pulls, files or units.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, SupportsIndex, TypeVar, cast, overload

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Coded", "PackedTexts", "Texts", "filled"]

T = TypeVar("T", bound=Hashable)
U = TypeVar("U", bound=Hashable)

_FEW_ROWS = 1000  # below, a list comprehension is as quick as numpy
_LONG_RUN = 20  # mean number of equal rows in a row from which runs are put down whole


@dataclass(frozen=True, eq=False, repr=False)
class Coded(Sequence[T], Generic[T]):
    """A column: row i holds ``values[codes[i]]``. Equal to a tuple (or another column) with the same entries.

    Attributes
    ----------
    codes : (n,) int32
        Index into ``values``; kept as it is given, and read only from then on.
    values
        The different values. One that no row holds may stand there, and one may stand there twice (where nearly every
        row has a text of its own nobody looks); ``tidy`` is without both.

    >>> zones = Coded.of(["North", "South", "North"])
    >>> zones[2], zones.values, zones.codes.tolist()
    ('North', ('North', 'South'), [0, 1, 0])
    >>> zones.rows_of("North").tolist(), zones.where(lambda name: name > "P").tolist()
    ([0, 2], [False, True, False])
    """

    codes: NDArray[np.int32]
    values: Sequence[T]

    def __post_init__(self) -> None:
        codes = self.codes.view()
        codes.flags.writeable = False
        object.__setattr__(self, "codes", codes)

    # ------------------------------------------------------------------------------------------ how it is made

    @classmethod
    def of(cls, entries: Iterable[T]) -> Coded[T]:
        """The column with these entries."""
        known: dict[T, int] = {}
        codes = np.fromiter((known.setdefault(entry, len(known)) for entry in entries), np.int32)
        return cls(codes, tuple(known))

    @classmethod
    def same(cls, value: T, n: int) -> Coded[T]:
        """The column with one value in all of its ``n`` rows; takes no memory."""
        return cls(np.broadcast_to(np.int32(0), (n,)), (value,))

    @classmethod
    def joined(cls, parts: Sequence[Coded[T]]) -> Coded[T]:
        """The rows of several columns below each other."""
        starts = itertools.accumulate((len(part.values) for part in parts), initial=0)
        codes = [part.codes + np.int32(start) for part, start in zip(parts, starts, strict=False)]
        values = tuple(itertools.chain.from_iterable(part.values for part in parts))
        return cls(np.concatenate([np.zeros(0, np.int32), *codes]), values)

    # ------------------------------------------------------------------------------------------ as a sequence

    def __len__(self) -> int:
        return len(self.codes)

    @overload
    def __getitem__(self, at: SupportsIndex) -> T: ...

    @overload
    def __getitem__(self, at: slice) -> Coded[T]: ...

    def __getitem__(self, at: SupportsIndex | slice) -> T | Coded[T]:
        if isinstance(at, slice):
            return Coded(self.codes[at], self.values)
        code = int(self.codes[at])
        return self.values[code]

    def __iter__(self) -> Iterator[T]:
        return iter(self._listed())

    def __contains__(self, entry: object) -> bool:
        return any(value == entry for value in self.tidy.values)

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if not isinstance(other, Coded | tuple):
            return NotImplemented
        return len(self) == len(other) and all(mine == theirs for mine, theirs in zip(self, other, strict=True))

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        shown = ", ".join(map(repr, self[:6]))
        return f"Coded.of([{shown}{', ...' if len(self) > 6 else ''}])  # {len(self)} rows"

    def _listed(self) -> list[T]:
        """Every entry; long runs of one value, as of zones, are put down whole."""
        values, codes = self.values, self.codes
        if len(codes) < _FEW_ROWS:
            return [values[code] for code in codes.tolist()]
        changes = np.flatnonzero(codes[1:] != codes[:-1]) + 1
        if len(changes) < len(codes) // _LONG_RUN:
            edges = [0, *changes.tolist(), len(codes)]
            found: list[T] = []
            for start, end in itertools.pairwise(edges):
                found += [values[codes[start]]] * (end - start)
            return found
        each: list[T] = np.fromiter(values, object, len(values)).take(codes).tolist()
        return each

    # ------------------------------------------------------------------------------------------ other columns

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> Coded[T]:
        """The column of some rows, by index or by mask; ``values`` stay."""
        return Coded(self.codes[rows], self.values)

    def map(self, change: Callable[[T], U]) -> Coded[U]:
        """The column with every entry changed; asked once a value."""
        return Coded(self.codes, tuple(map(change, self.values)))

    def put(self, rows: NDArray[np.bool_], value: T) -> Coded[T]:
        """The column with one value in some of its rows, by mask."""
        if not rows.any():
            return self
        return Coded(np.where(rows, np.int32(len(self.values)), self.codes), (*self.values, value))

    def beside(self, other: Coded[U]) -> Coded[tuple[T, U]]:
        """The column of pairs with another one of the same length."""
        keys = self.codes * np.int64(max(1, len(other.values))) + other.codes
        pairs, codes = np.unique(keys, return_inverse=True)
        ours, theirs = np.divmod(pairs, max(1, len(other.values)))
        values = [(self.values[a], other.values[b]) for a, b in zip(ours.tolist(), theirs.tolist(), strict=True)]
        return Coded(codes.astype(np.int32), tuple(values))

    @property
    def tidy(self) -> Coded[T]:
        """The same column with each value that occurs once, in the order in which they first stand there."""
        return self if self._tidied is None else self._tidied

    @functools.cached_property
    def _tidied(self) -> Coded[T] | None:
        """None where the column is tidy as it is: if it held itself, its memory would not be given back at once."""
        known: dict[T, int] = {}
        to = np.zeros(len(self.values), np.int32)
        for code in self._first_seen():
            to[code] = known.setdefault(self.values[code], len(known))
        if len(known) == len(self.values) and bool((to == np.arange(len(to))).all()):
            return None
        return Coded(to[self.codes], tuple(known))

    def _first_seen(self) -> list[int]:
        """The codes that occur, in the order of their first rows."""
        codes = self.codes
        changes = np.flatnonzero(codes[1:] != codes[:-1]) + 1
        heads = codes[np.concatenate([[0], changes])] if len(changes) < len(codes) // 2 else codes
        first = np.full(len(self.values), -1, np.int64)
        first[heads[::-1]] = np.arange(len(heads) - 1, -1, -1)  # the last assignment stays
        here = np.flatnonzero(first >= 0)
        order: list[int] = here[np.argsort(first[here])].tolist()
        return order

    # ------------------------------------------------------------------------------------------ questions to it

    def where(self, test: Callable[[T], bool]) -> NDArray[np.bool_]:
        """(n,) whether the entry of each row passes the test; asked once a value."""
        return self.flagged(np.fromiter(map(test, self.values), np.bool_, len(self.values)))

    def flagged(self, flags: Sequence[bool] | NDArray[np.bool_]) -> NDArray[np.bool_]:
        """(n,) whether the value of each row is flagged; ``flags`` are those of ``values``, in their order."""
        found = np.asarray(flags, np.bool_)
        if not found.any():
            return np.zeros(len(self), np.bool_)
        return np.ones(len(self), np.bool_) if found.all() else found[self.codes]

    def only_used(self) -> tuple[Coded[T], NDArray[np.intp]]:
        """The same column without the values that no row holds, and which of them stay (indices, rising)."""
        here = np.bincount(self.codes, minlength=len(self.values)) > 0
        used = np.flatnonzero(here)
        if here.all():
            return self, used
        to = np.cumsum(here, dtype=np.int32) - np.int32(1)
        return Coded(to[self.codes], _chosen(self.values, used)), used

    def numbers(self, of: Callable[[T], float]) -> NDArray[np.float64]:
        """(n,) a number for the entry of each row; asked once a value."""
        found = np.fromiter(map(of, self.values), np.float64, len(self.values))
        return found[self.codes] if len(found) else np.zeros(len(self))

    def index_in(self, names: Sequence[T]) -> NDArray[np.int64]:
        """(n,) index of each entry in ``names`` (each once); -1 where it is none of them."""
        index = {name: k for k, name in enumerate(names)}
        to = np.array([index.get(value, -1) for value in self.values], np.int64)
        return to[self.codes] if len(to) else np.zeros(len(self), np.int64)

    def rows_of(self, value: T) -> NDArray[np.intp]:
        """(k,) rows that hold a value, rising; the rows of all values are found together at the first call."""
        code = self._codes_by_value.get(value)
        if code is None:
            return np.zeros(0, np.intp)
        order, edges = self._grouped
        return order[edges[code] : edges[code + 1]]

    @functools.cached_property
    def _codes_by_value(self) -> dict[T, int]:
        return {value: code for code, value in enumerate(self.tidy.values)}

    @functools.cached_property
    def _grouped(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """The rows by value, and where in them each value begins."""
        codes = self.tidy.codes
        ends = np.cumsum(np.bincount(codes, minlength=len(self.tidy.values)))
        return np.argsort(codes, kind="stable"), np.concatenate([[0], ends]).astype(np.intp)


Texts = Coded[str]


@dataclass(frozen=True, eq=False)
class PackedTexts(Sequence[str]):
    """Very many texts as one run of UTF-8: text k is made from ``data[offsets[k] : offsets[k + 1]]`` when asked for.

    The ids of a million rows, each its own, are so held in their bytes, and few of them are ever made.
    """

    offsets: NDArray[np.int32]
    data: bytes

    def __len__(self) -> int:
        return len(self.offsets) - 1

    @overload
    def __getitem__(self, at: int) -> str: ...

    @overload
    def __getitem__(self, at: slice) -> list[str]: ...

    def __getitem__(self, at: int | slice) -> str | list[str]:
        if isinstance(at, slice):
            return [self[k] for k in range(*at.indices(len(self)))]
        k = int(at) + len(self) if at < 0 else int(at)
        if not 0 <= k < len(self):
            raise IndexError(at)
        return self.data[self.offsets[k] : self.offsets[k + 1]].decode()

    def chosen(self, rows: NDArray[np.intp]) -> PackedTexts:
        """Some of the texts, by index."""
        lengths = np.diff(self.offsets)[rows]
        offsets = np.concatenate([[0], np.cumsum(lengths)]).astype(np.int32)
        at = np.arange(offsets[-1]) + np.repeat(self.offsets[:-1][rows] - offsets[:-1], lengths)
        return PackedTexts(offsets, np.frombuffer(self.data, np.uint8)[at].tobytes())

    def after(self, texts: Iterable[str]) -> PackedTexts:
        """The same with some texts before them."""
        first = [text.encode() for text in texts]
        start = np.concatenate([[0], np.cumsum([len(text) for text in first])]).astype(np.int32)
        return PackedTexts(np.concatenate([start[:-1], self.offsets + start[-1]]), b"".join([*first, self.data]))

    @property
    def filled(self) -> NDArray[np.bool_]:
        """(k,) whether each text has a sign at all."""
        return np.diff(self.offsets) > 0

    @property
    def rise(self) -> bool:
        """Whether every text is longer than the one before, or as long and behind it in the order of its bytes.

        Then no two are alike; numbered names (P1, P2, ... P10, or P01, P02, ...) rise.
        """
        lengths = np.diff(self.offsets)
        if (lengths[1:] < lengths[:-1]).any():
            return False
        edges = np.concatenate([[0], np.flatnonzero(lengths[1:] != lengths[:-1]) + 1, [len(lengths)]])
        for start, end in itertools.pairwise(edges.tolist()):
            width = int(lengths[start]) if end > start else 0
            alike = end - start > 1
            if alike and not width:
                return False
            if alike:
                signs = np.frombuffer(self.data, f"S{width}", end - start, int(self.offsets[start]))
                if not (signs[1:] > signs[:-1]).all():
                    return False
        return True

    def __iter__(self) -> Iterator[str]:
        edges = self.offsets.tolist()
        if self.data.isascii():
            text = self.data.decode()
            return (text[start:end] for start, end in itertools.pairwise(edges))
        return (self.data[start:end].decode() for start, end in itertools.pairwise(edges))


def filled(texts: Sequence[str]) -> NDArray[np.bool_]:
    """(k,) whether each text has a sign at all."""
    return texts.filled if isinstance(texts, PackedTexts) else np.fromiter(map(bool, texts), np.bool_, len(texts))


def _chosen(values: Sequence[T], rows: NDArray[np.intp]) -> Sequence[T]:
    if isinstance(values, PackedTexts):
        return cast("Sequence[T]", values.chosen(rows))
    return tuple(values[k] for k in rows.tolist())
