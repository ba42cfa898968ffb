"""Where a number or rule comes from, and how sure we are of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Certainty", "Source"]


class Certainty(StrEnum):
    """How sure we are of a published number."""

    VERIFIED = "verified"  # seen in the document itself
    SECONDARY = "secondary"  # seen on a page that reports what the document says
    UNVERIFIED = "unverified"  # from memory: never a silent default


@dataclass(frozen=True, slots=True)
class Source:
    """A document with edition and the place in it, e.g. ``Source("EN 1990", "2002", "Annex D, table D1")``."""

    document: str
    edition: str
    where: str
    certainty: Certainty = Certainty.VERIFIED

    def __str__(self) -> str:
        return f"{self.document}:{self.edition}, {self.where}"
