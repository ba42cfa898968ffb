"""Words of the document of an audit; see ``words``."""

from __future__ import annotations

__all__ = ["AUDIT_WORDS"]

AUDIT_WORDS: dict[str, str] = {
    "a_kind": "Audit of an assessment",
    "a_title": "Audit of {folder}",
    "a_skip": "Skip to the answer",
    "a_folder": "Folder",
    "a_manifest": "SHA-256 of the manifest",
    "a_h_answer": "Answer",
    "a_is_reproduced": "Reproduced",
    "a_is_numbers_differ": "Not reproduced: numbers differ",
    "a_is_altered": "Damaged or altered",
    "a_says_reproduced": "The record is whole, and everything in it follows from its raw files.",
    "a_says_numbers_differ": "The record is whole, and its raw files give other results than it holds, or none.",
    "a_says_altered": "Something in the record is missing, damaged or not what it should be; what it is stands below.",
    "a_all_agree": "All {entries} entries agree with what was computed again from the raw files.",
    "a_some_differ": "{differing} of {entries} entries are not what was computed again from the raw files.",
    "a_inexact": "{inexact} numbers agree within a relative difference of {largest}, not to the last bit.",
    "a_change": "{what}: recorded {recorded}, recomputed {recomputed}",
    "a_against": "{differing} of {entries} entries of {first} and {second} differ; left {first}, right {second}.",
    "a_against_same": "All {entries} entries of {first} and {second} are the same.",
    "a_t_changes": "Decisions and standings that are not the same",
    "a_c_what": "About",
    "a_c_recorded": "Recorded",
    "a_c_recomputed": "Recomputed",
    "a_c_relative": "Relative difference",
    "a_c_here": "Here",
    "a_c_name": "Name",
    "a_c_path": "Entry",
    "a_c_finding": "What was found",
    "a_c_line": "Lines: − shipped, + received",
    "a_t_messages": "What was found",
    "a_new_findings": "Findings about the files that the record does not show",
    "a_new_finding": "finding that the record does not show",
    "a_no_words": "A finding with the code {code}.",
    "a_h_numbers": "Numbers, texts and notebook",
    "a_not_compared": "Nothing was compared: there are no recorded results that can be read, or no raw files that can "
    "be used.",
    "a_no_difference": "No entry of the results differs.",
    "a_t_differences": "Entries of the results that differ",
    "a_t_cell": "Cell {cell} of the notebook: {what}",
    "a_cell_changed": "changed",
    "a_cell_added": "added",
    "a_cell_missing": "missing",
    "a_h_versions": "Versions",
    "a_same_versions": "The same versions and the same kind of machine made the record and this audit.",
    "a_t_versions": "What made the record, and what computed here",
    "a_limit_sender": "An audit shows that a record follows from its raw files. That these are the readings that were "
    "taken, it can’t show: whoever changes them and makes everything anew leaves no trace in the folder. A hash or a "
    "signature that came another way does, and this page says whether there was one.",
    "a_limit_pulls": "Nor does it show how the pulls were made, or that none was left out before the file was written.",
    "a_h_files": "Files as received",
    "a_t_files": "Files and their SHA-256",
}
