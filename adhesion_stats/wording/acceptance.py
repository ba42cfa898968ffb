"""English sentences for the messages of the room ``acceptance``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["ACCEPTANCE"]

ACCEPTANCE: dict[str, str] = {}
