"""Which mark a pull gets: by what it is to the decision, not by its value."""

from __future__ import annotations

from adhesion_stats.reporting.results import Pull

__all__ = ["mark_of"]


def mark_of(pull: Pull) -> str:
    """Name of the pull's mark: standing first, then what is known of its value, then whether a test points at it."""
    if pull["strength"] is None:
        return "lost"
    if pull["status"] != "counted":
        return pull["status"]
    if pull["counts_as"] in {"at_least", "at_most"}:
        return pull["counts_as"]
    return "flagged" if pull["flags"] else "exact"
