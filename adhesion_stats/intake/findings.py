"""Collects what a file's reader must know while it is being read, so that all problems come at once. No words here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, overload

import numpy as np

from adhesion_stats.messages import Fact, Message, Place, Severity, worst_first

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from adhesion_stats.coded import Texts

__all__ = ["Findings", "Marked", "Seen", "ranges"]

_NAMED = 40  # rows that a message names one by one
_SHOWN = 12  # examples shown where there are more rows and many texts; all rows stand in the fact "rows"

Seen = tuple[int, str, str]  # row number, id of the pull ("" if none), text of the cell


@dataclass(frozen=True)
class Marked(Sequence[Seen]):
    """Rows that a message is about, made one at a time.

    Attributes
    ----------
    rows : (m,)
        Row numbers.
    at : (m,)
        Index of each row into ``names`` and ``cells``, and what ``text`` is called with.
    names, cells
        Id and cell by that index; both may be left out.
    text
        Gives the text of a row in place of its cell.
    """

    rows: NDArray[np.int64]
    at: NDArray[np.intp]
    names: Texts | None = None
    cells: Texts | None = None
    text: Callable[[int], str] | None = None

    def __len__(self) -> int:
        return len(self.rows)

    @overload
    def __getitem__(self, k: int) -> Seen: ...

    @overload
    def __getitem__(self, k: slice) -> list[Seen]: ...

    def __getitem__(self, k: int | slice) -> Seen | list[Seen]:
        if isinstance(k, slice):
            return [self[j] for j in range(*k.indices(len(self)))]
        i = int(self.at[k])
        return int(self.rows[k]), self.names[i] if self.names else "", self._text(i)

    def _text(self, i: int) -> str:
        if self.text is not None:
            return self.text(i)
        return self.cells[i] if self.cells is not None else ""

    @property
    def in_order(self) -> bool:
        """Whether every row number is larger than the one before."""
        return bool((np.diff(self.rows) > 0).all())

    def by_text(self, most: int) -> dict[str, NDArray[np.int64]] | None:
        """Row numbers of each text, texts in the order of their first rows; None if there are more than ``most``."""
        if self.text is not None:
            known: dict[str, int] = {}
            codes = np.empty(len(self), np.int64)
            for k, i in enumerate(self.at.tolist()):
                codes[k] = known.setdefault(self.text(i), len(known))
                if len(known) > most:
                    return None
            return {text: self.rows[codes == code] for text, code in known.items()}
        if self.cells is None:
            return {"": self.rows}
        own = self.cells.codes[self.at]
        used = np.flatnonzero(np.bincount(own, minlength=len(self.cells.values)))
        groups: dict[str, list[int]] = {}
        for code in used.tolist():
            groups.setdefault(self.cells.values[code], []).append(code)
            if len(groups) > most:
                return None
        masks = {text: np.isin(own, codes) for text, codes in groups.items()}
        return {text: self.rows[masks[text]] for text in sorted(masks, key=lambda text: int(masks[text].argmax()))}


def ranges(rows: Iterable[int]) -> str:
    """Return row numbers in short form.

    >>> ranges([4, 5, 6, 9])
    '4-6, 9'
    """
    runs: list[list[int]] = []
    for row in sorted(set(rows)):
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)


def _ranges(rows: NDArray[np.int64]) -> str:
    """:func:`ranges` of rising row numbers."""
    breaks = np.flatnonzero(np.diff(rows) != 1)
    firsts = rows[np.concatenate([[0], breaks + 1])].tolist()
    lasts = rows[np.concatenate([breaks, [len(rows) - 1]])].tolist()
    return ", ".join([str(a) if a == b else f"{a}-{b}" for a, b in zip(firsts, lasts, strict=True)])


def _named(seen: Seen) -> str:
    row, name, text = seen
    label = f"{row} ({name})" if name else str(row)
    return f'{label}: "{text}"' if text else label


def _found(seen: Marked) -> tuple[str, ...]:
    """The fact ``found`` of many rows in rising order."""
    by_text = seen.by_text(_NAMED)
    if by_text is None:
        return (*(_named(item) for item in seen[:_SHOWN]), f"... {_ranges(seen.rows[_SHOWN:])}")
    return tuple(f'{_ranges(of)}: "{text}"' if text else _ranges(of) for text, of in by_text.items())


class Findings:
    """Messages about one file; ``add`` says one thing, ``add_rows`` one thing about many rows."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._messages: list[Message] = []

    def add(
        self,
        code: str,
        severity: Severity,
        *,
        sheet: str = "",
        row: int | None = None,
        column: str | None = None,
        facts: Mapping[str, Fact] | None = None,
    ) -> None:
        """Say one thing about one place."""
        place = Place(file=self.file, sheet=sheet or None, row=row, column=column or None)
        self._messages.append(Message(code=code, severity=severity, place=place, facts=facts or {}))

    def add_rows(
        self,
        code: str,
        severity: Severity,
        seen: Sequence[Seen],
        *,
        sheet: str = "",
        column: str | None = None,
        facts: Mapping[str, Fact] | None = None,
    ) -> None:
        """Say one thing about several rows (nothing for none): facts ``count``, ``rows`` and ``found`` name them all.

        ``found`` holds ``4 (p3): "n/a"`` for each row, or, for many rows, each text with its runs of rows, or, for many
        rows with many texts, the first ones and the runs of the others.
        """
        if not seen:
            return
        if isinstance(seen, Marked) and len(seen) > _NAMED and seen.in_order:
            first, rows, found = int(seen.rows[0]), _ranges(seen.rows), _found(seen)
        else:
            ordered = sorted(seen)
            by_text: dict[str, list[int]] = {}
            for row, _, text in ordered:
                by_text.setdefault(text, []).append(row)
            first, rows = ordered[0][0], ranges(row for row, _, _ in ordered)
            if len(ordered) <= _NAMED:
                found = tuple(_named(item) for item in ordered)
            elif len(by_text) <= _NAMED:
                found = tuple(f'{ranges(of)}: "{text}"' if text else ranges(of) for text, of in by_text.items())
            else:
                rest = ranges(row for row, _, _ in ordered[_SHOWN:])
                found = (*(_named(item) for item in ordered[:_SHOWN]), f"... {rest}")
        all_facts: dict[str, Fact] = {"count": len(seen), "rows": rows, "found": found, **(facts or {})}
        self.add(code, severity, sheet=sheet, row=first, column=column, facts=all_facts)

    @property
    def failed(self) -> bool:
        """Whether an error was said."""
        return any(message.severity is Severity.ERROR for message in self._messages)

    @property
    def messages(self) -> tuple[Message, ...]:
        """Everything said, worst first, each thing once."""
        unique = {(m.code, m.severity, m.place, repr(m.facts)): m for m in reversed(worst_first(self._messages))}
        return tuple(reversed(unique.values()))
