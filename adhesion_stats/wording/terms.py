"""English sentences for the messages of the room ``terms``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["TERMS"]

TERMS: dict[str, str] = {
    "file_not_readable": "This file can't be read: {problem}.",
    "spec_not_toml": 'This is not a readable TOML file in UTF-8: {problem}. Texts and limits stand in quotes: "1.50 MPa".',
    "spec_unknown_key": "{path}: no such key; known here: {known}.",
    "spec_unknown_key_near": '{path}: no such key; did you mean "{near}"?',
    "spec_missing_key": "{path} is missing; expected {what}.",
    "spec_empty": "{path} is empty; give it a content or leave the key out.",
    "spec_wrong_type": "{path}: expected {expected}, found {came}.",
    "spec_out_of_range": "{path}: expected {expected}, found {came}.",
    "spec_unknown_unit": '{path}: "{unit}" is no known unit here; known: {known}.',
    "spec_one_kind": "{path} must hold exactly one of: {known}.",
    "spec_two_limits": "{path} names two limits, {first} and {second}; the first is {first_is}. Which one governs? Add "
    "governs with one of the units: {units}.",
    "spec_governs_one": "{path} names one limit only, so that nothing is left to govern; leave governs out.",
    "spec_two_bands": "{path} stands beside guard: both move what the value has to reach. Leave one of them out; the probability "
    "works out its own guard band.",
    "spec_probability_of_part": "{path} is not taken for the mean of a part of the pulls, since which pulls are in it is no "
    "measurement; leave it out.",
    "spec_probability_in_shares": '{path}: with method = "{method}" the probability is exact only where the common components are '
    'shares of the reading ("1 %"). State them so, or choose another method.',
    "spec_more_than_all": "{path}: {z} of {n} pulls can't be reached; at_least must not exceed of.",
    "spec_key_without_use": '{path} has no meaning with method = "{method}"; leave it out or choose another method.',
    "spec_group_twice": '{path}: the group "{name}" is there twice; give each group a name of its own.',
    "spec_no_group": '{path} names the group "{name}", and there is no [[group]] table; add one with name and zones.',
    "spec_ladder_goes_on": "{path} refers to the designer, and steps follow; that step must be the last.",
    "spec_key_needs_another": "{path} has no meaning without {needs}; add that key or leave this one out.",
    "spec_two_selections": "{path} asks for the mean of the pulls of one failure and for means within the same failure; "
    "choose one of only_failed and within_same_failure.",
    "spec_units_differ": "{path} names limits in several units ({units}); write all limits of one criterion in one unit.",
    "spec_no_requirement": "The specification asks for nothing: add at least one [[require]] table.",
    "spec_ceiling_too_low": "{path} asks for {limit}, but pulls.ceiling is {ceiling}: a value that is only bounded could never "
    "reach it. Raise the ceiling or leave it out.",
    "spec_key_not_here": "{path} has no meaning here: {why}. Leave it out.",
    "spec_plan_no_zone": '{path} names zone "{zone}", which has no [[plan.zone]]; add one, or write its name exactly.',
    "spec_plan_zone_twice": '{path}: zone "{zone}" is planned twice; put both into one [[plan.zone]], or give them two names.',
    "spec_plan_crossing": "{path}: edge {first} and edge {second} meet (edge 1 goes from the first corner to the second); list the "
    "corners in their order round the zone.",
    "spec_plan_keep_out_elsewhere": '{path}: "{keep_out}" lies outside its zone; correct its place, or leave it out.',
    "spec_two_numbers": "{path} plans {planned} pulls by its z-of-n criterion, but {required} are required; make both equal.",
    # published rules and methods
    "spec_use_unknown": '{path}: no published rule or method is called "{name}" here; nearest: {near}. '
    "adhesion-stats rules lists them all.",
    "spec_use_is_method": '{path}: "{name}" is a test method; use it in the table [method].',
    "spec_use_is_rule": '{path}: "{name}" is a rule for zones; use it in a table [[require]].',
    "spec_use_several": '{path}: "{name}" has {count} values called {key}, and it can\'t be told which one is meant. Write the '
    "requirement out in place of use.",
    "spec_use_hole": '{path} is missing: "{name}" leaves to the contract {what}. Write it, for example {key} = {example}.',
}
