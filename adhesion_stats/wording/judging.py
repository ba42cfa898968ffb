"""English sentences for the messages of the room ``judging``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["JUDGING"]

JUDGING: dict[str, str] = {}
