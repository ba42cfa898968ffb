"""English sentences for the messages of the room ``record``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["RECORD"]

RECORD: dict[str, str] = {
    "folder_exists": "{folder} is there already. A finished report is never changed: name a new folder.",
    "folder_appeared": (
        "{folder} was made by somebody else while this run was under way; it is left as it is, and nothing of this run "
        "was kept. Name a new folder."
    ),
    "folder_unwritable": "{folder} can't be made ({problem}). Name a folder in a place where you may write.",
}
