"""Every error that the package raises on purpose.

::

    AdhesionStatsError
    ├── UnusableReadings      (ValueError)   a readings file that can't be used; carries messages        -> exit 3
    ├── InvalidSpecification  (ValueError)   a specification that can't be used; carries messages        -> exit 2
    ├── WrongUsage            (ValueError)   a call or command that asks for something impossible        -> exit 2
    │   └── UnwritableFolder                 a folder that exists or can't be made; carries messages      -> exit 2
    ├── UnknownUnit           (ValueError)   a unit word that no table knows
    ├── InvalidSample         (ValueError)   a statistic asked of a sample that can't give it
    ├── NotebookFailed        (RuntimeError) the report's notebook could not be executed                   -> exit 1
    └── RecordDiffers         (ValueError)   recomputed results are not those that were recorded

An error that carries messages prints each of them as a sentence with its place, worst first.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from adhesion_stats.messages import Message

__all__ = [
    "AdhesionStatsError",
    "InvalidSample",
    "InvalidSpecification",
    "NotebookFailed",
    "RecordDiffers",
    "UnknownUnit",
    "UnusableReadings",
    "UnwritableFolder",
    "WrongUsage",
]


_MOST_LINES = 300  # problems that are said one by one


class AdhesionStatsError(Exception):
    """Base of every error raised on purpose."""


class _WithMessages(AdhesionStatsError, ValueError):
    def __init__(self, messages: Sequence[Message]) -> None:
        self.messages: tuple[Message, ...] = tuple(messages)
        super().__init__(self.messages)

    def __str__(self) -> str:
        from adhesion_stats.wording import say_with_place

        lines = [say_with_place(message) for message in self.messages[:_MOST_LINES]]
        more = len(self.messages) - len(lines)
        return "\n".join(lines if not more else [*lines, f"... and {more} more of such problems"])


class UnusableReadings(_WithMessages):
    """The readings file can't be used as it stands."""


class InvalidSpecification(_WithMessages):
    """The specification can't be used as it stands."""


class WrongUsage(AdhesionStatsError, ValueError):
    """The call or command asks for something that can't be done."""


class UnwritableFolder(_WithMessages, WrongUsage):
    """The folder for a report exists already or can't be made."""


class UnknownUnit(AdhesionStatsError, ValueError):
    """A unit word that is not known for this kind of quantity."""

    def __init__(self, text: str, quantity: str, known: Sequence[str]) -> None:
        self.text, self.quantity, self.known = text, quantity, tuple(known)
        super().__init__(f"{text!r} is no known unit of {quantity}; known: {', '.join(known)}")


class InvalidSample(AdhesionStatsError, ValueError):
    """A statistic was asked of a sample that can't give it (too few values, a level outside 0..1, ...)."""


class NotebookFailed(AdhesionStatsError, RuntimeError):
    """The notebook of the report could not be executed; the text names the cell and what happened in it."""


class RecordDiffers(AdhesionStatsError, ValueError):
    """Recomputed results are not those that were recorded; the text names what differs."""
