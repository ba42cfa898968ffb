"""The sections of an assessment's document, each made from the results alone, in the order in which a reader asks."""

from __future__ import annotations
