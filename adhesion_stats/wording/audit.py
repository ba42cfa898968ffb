"""English sentences for the messages of the room ``audit``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["AUDIT"]

AUDIT: dict[str, str] = {
    # the folder
    "audit_not_a_file": "The folder holds {name}, which is {kind}; a record holds plain files only. It was not followed.",
    "audit_unreadable": "{name} can't be read.",
    "audit_missing": "{name} is missing.",
    "audit_extra": "{name} is in the folder, and the manifest does not name it.",
    "audit_unexpected": "{name} is no file that this library writes into a record.",
    "audit_changed": "{name} is not the file that the manifest names: its SHA-256 is {found}, and {expected} is recorded.",
    "audit_not_json": "{name} is no JSON object: {problem}.",
    "audit_other_format": "{name} is of another form ({found}); expected is {expected}, version 1.",
    "audit_seal_broken": "{name} was changed after it was made: its seal does not fit.",
    "audit_role_missing": "{name} does not say which file is the {role}.",
    "audit_role_shared": "{name} names one file for two purposes: {file}.",
    "audit_not_results": "{name} is not of the form of results ({count} faults): {problem}.",
    "audit_not_canonical": "{name} is not written in the canonical form; somebody wrote it anew.",
    "audit_results_digest": "{name} is not what the manifest names as the canonical results.",
    "audit_input_name": "{name} was made from another {role} file than the manifest names.",
    "audit_input_changed": "{name} was made from another {role} file: {file} has another SHA-256 than the results name.",
    # page and notebook
    "audit_page_altered": "{name} is not the page that the recorded results give.",
    "audit_page_differs": "{name} reads otherwise than the page that the recorded results give here; other versions made it, "
    "so this may be their doing.",
    "audit_page_not_made": "{name} could not be compared: the page can't be made from the recorded results here ({problem}).",
    "audit_pictures_not_compared": "{name} says what it should; its pictures were made by other versions and can't be compared "
    "byte for byte.",
    "audit_not_a_notebook": "{name} is no notebook.",
    "audit_cells_changed": "{name} is not the notebook that this library ships: {count} cells differ (they are shown, none was run).",
    "audit_notebook_altered": "{name} has the shipped cells, and something else around them.",
    "audit_outputs_altered": "{name} does not show what the shipped notebook gives on these raw files.",
    "audit_outputs_differ": "{name} shows other text than the shipped notebook gives here; other versions made it, so this may be "
    "their doing.",
    # recomputation
    "audit_other_readings": "The readings that you hold are not those of the record: yours have the SHA-256 {own}, the record's "
    "{recorded}. The recomputation used yours.",
    "audit_unusable_readings": "The readings can't be used here ({count} reasons follow), so nothing could be recomputed.",
    "audit_unusable_specification": "The specification can't be used here ({count} reasons follow), so nothing could be recomputed.",
    "audit_versions_differ": "Other versions or another kind of machine made the record: {names}. Numbers may differ in their last "
    "digits, decisions may not.",
    "audit_older_form": "{name} is of an older form (version {form}), which holds less; what it holds was compared, its page was not.",
    "audit_revision": "The record says that it takes the place of another, whose manifest has the SHA-256 {digest}. What it says of that "
    "one was not compared; --against does that.",
    # from outside
    "audit_manifest_hash_agrees": "The manifest is the one whose SHA-256 you gave.",
    "audit_manifest_hash_differs": "The manifest is not the one whose SHA-256 you gave: it has {found}, you gave {expected}.",
    "audit_specification_hash_agrees": "The specification is the one whose SHA-256 you gave.",
    "audit_specification_hash_differs": "The specification is not the one whose SHA-256 you gave: it has {found}, you gave {expected}.",
    "audit_specification_not_compared": "Whether the specification is the one that the contract names was not compared: no hash of "
    "it was given.",
    "audit_signature_known": "{signer} signed this manifest with the key that you hold.",
    "audit_signature_unknown_key": "A signature in the name of {signer} fits the manifest, but no key of {signer} was given to compare "
    "with (the signature's own has the fingerprint {key}); it does not show who signed.",
    "audit_signature_other_key": "A signature in the name of {signer} was made with another key ({key}) than the one that you hold "
    "({expected}).",
    "audit_signature_broken": "The signature in the name of {signer} does not fit this manifest: one of them was changed.",
    "audit_signature_missing": "A key of {signer} was given, but the record holds no signature of that name.",
    "audit_not_a_signature": "{name} is no signature that can be read: {problem}.",
    "audit_nothing_from_outside": "Nothing from outside was compared, neither a hash of the manifest nor a signature with a key that "
    "you hold. A sender who changes the raw files and makes everything anew can't be seen in this way.",
}
