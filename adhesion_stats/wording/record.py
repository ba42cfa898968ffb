"""English sentences for the messages of the room ``record``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["RECORD"]

RECORD: dict[str, str] = {}
