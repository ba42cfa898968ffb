"""English sentences for the messages of the room ``judging``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["DOUBTS", "JUDGING"]

# What intake could not settle about a value, as it stands in "the value is in doubt (...)".
DOUBTS: dict[str, str] = {
    "approximate_value": "given as approximate",
    "columns_disagree": "two columns give different values",
    "implausible_strength": "far outside the other values",
    "instrument_not_applied": "the instrument's correction could not be applied",
    "load_strength_disagree": "load and strength disagree",
    "negative_strength": "below zero",
    "outside_certified_range": "outside the instrument's certified range",
    "proof_load_disagrees": "strength and proof load disagree",
    "sentinel_value": "looks like a code for no value",
    "struck_out": "struck out",
    "word_for_value": "a word stands in its place",
    "zero_strength": "zero",
}

JUDGING: dict[str, str] = {
    # why a pull does not count
    "reason_no_value": "no value was measured",
    "reason_lost": "lost before loading",
    "reason_glue": "broke at or in the dolly adhesive over {share} of the area: says nothing of the system beyond its value",
    "reason_glue_no_value": "the dolly adhesive broke, no value was measured",
    "reason_disputed": "the value is in doubt ({doubts}) and is not used until somebody decides",
    "reason_excluded": "excluded by {who}: {text}",
    "reason_replaced": "not valid; retest {retest} stands for it",
    "reason_retest_of_valid": "repeats {original}, which is neither invalid by rule nor excluded in writing: it stands",
    "reason_retest_of_replaced": "repeats {original}, for which another retest stands already",
    "reason_method": "departs from the method in {what}, which the specification names as making a pull invalid",
    # flags
    "flag_grubbs": "Grubbs test, {side} side: G = {statistic}, p = {p}",
    "flag_dixon": "Dixon test, {side} side: {ratio} = {statistic}, p = {p}",
    # exclusions and retests
    "exclusion_not_found": 'The specification excludes pull "{id}" (zone "{zone}"), but {found} pulls of the readings bear that '
    "id; nothing was excluded. Write id and zone exactly as in the readings.",
    "exclusion_not_found_anywhere": 'The specification excludes pull "{id}" and names no zone, but {found} pulls of the readings bear '
    "that id; nothing was excluded. Write the id exactly as in the readings, and the zone with it.",
    "retest_of_unknown": 'Pull "{pull}" is said to be a retest of "{original}", which names no single pull; it is taken as a '
    "pull of its own.",
    "retest_of_itself": 'Pull "{pull}" is said to be a retest of "{original}", which goes back to "{pull}" itself; "{pull}" is taken '
    "as a first pull of its own.",
    "retest_chain_too_long": 'Pull "{pull}" repeats "{original}", which is itself the end of a hundred retests of each other; "{pull}" is '
    "taken as a first pull of its own.",
    "round_not_read": 'Pull {pull}: "{written}" is no number of a round; taken as the first. Expected 1, 2, 3, ...',
    "rounds_without_ladder": "{zone} has pulls of several rounds ({rounds}), and the contract has no retest ladder: all are decided "
    "together.",
    "round_beyond_ladder": "{zone}: [the pull {pulls} is|the pulls {pulls} are] of round {round}, and no step of the retest ladder asks "
    "for one; nothing is decided from [it|them].",
    "stage_not_asked": "{zone}: [the pull {pulls} has|the pulls {pulls} have] no stage for which the contract has a rule, and it has none "
    "without a stage there; nothing is decided from [it|them].",
    "retest_replaces": 'Retest "{pull}" stands for "{original}" in zone "{zone}", which is not valid.',
    "retest_of_valid": 'Pull "{pull}" repeats "{original}" in zone "{zone}", which is neither invalid by rule nor excluded '
    "in writing: the first pull stands and the retest does not count. What the retest would change is shown with the zone.",
    "retest_of_replaced": 'Pull "{pull}" is a further retest of "{original}" in zone "{zone}", for which another retest stands '
    "already; it does not count.",
    # preparation
    "mixed_preparation": 'Zone "{zone}" mixes {what}: {values}. Values of different preparation may not be comparable.',
    "method_breach": "{count} pulls depart from the contract's {what} ({asked}): {pulls}.",
    "method_breach_invalid": "{count} pulls depart from the contract's {what} ({asked}) and do not count for it: {pulls}.",
    "method_too_few": 'Zone "{zone}": {counted} pulls count, and the method asks for at least {least}.',
    "method_not_recorded": "The contract asks for {what}: {asked}; {count} of {total} pulls have no record of it.",
    # what counts
    "glue_share_undecided": 'Pull "{pull}" broke at or in the dolly adhesive over {share} of its area. Whether it counts is for '
    "the contract to say (specification, table [glue]); it is listed here as {status}.",
    "zone_without_counted": 'Zone "{zone}" has no valid reading (0 of {made}).',
    "pulls_not_counted": 'Zone "{zone}": {counted} of {made} pulls count; not counted: {pulls}.',
    "pulls_bounded": 'Zone "{zone}": {bounded} of {counted} counted values are bounds only (at least / at most): {pulls}. A plain '
    "mean of such values is no measured mean; decisions are made over every value that they may have.",
    # summaries
    "summary_no_pulls": "no pull counts: nothing can be said",
    "summary_one_pull": "one pull says nothing about spread: no standard deviation, interval or characteristic value",
    "summary_bounded": "{bounded} of {n} values are bounds only: mean and smallest value are bounds too, and no spread is given",
    "summary_at_most": "{bounded} of {n} values are bounds only, some of them from above: neither a mean nor a smallest value "
    "can be given",
    "summary_factor_unknown": "the method gives no factor for n = {n}",
    "summary_needs_more": "a characteristic value by the method asked for needs at least {needed} pulls; there are {n}",
    "summary_not_fitted": "the method finds no characteristic value: it needs values above 0 that are not all equal",
    "summary_pooled_elsewhere": "the characteristic value with a pooled spread stands with its criterion",
    "summary_below_zero": "with k = {k} at n = {n} the characteristic value falls below zero: so few pulls say nothing about it",
    # screening
    "screening_too_few": "fewer than three exact values: no outlier test",
    "screening_all_equal": "all exact values are equal: no outlier test",
    "screening_step": "the distance lies within the recording step of {step}: no flag",
    "screening_convention_ends": "the Dixon convention gives no ratio for n = {n}",
}
