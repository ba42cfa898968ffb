"""English sentences for the messages of the room ``intake``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["INTAKE"]

INTAKE: dict[str, str] = {}
