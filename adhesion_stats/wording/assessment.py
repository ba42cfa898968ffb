"""English sentences for the messages of the room ``assessment``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["ASSESSMENT"]

ASSESSMENT: dict[str, str] = {
    # the contract's decision
    "contract_conforms": "All {zones} zones conform.",
    "contract_conforms_one": "The one zone conforms.",
    "contract_fails": "{failing} of {zones} zones do not conform: {names}.",
    "contract_fails_only": "The one zone does not conform: {names}.",
    "contract_fails_one": "1 of {zones} zones does not conform: {names}.",
    "contract_undetermined_only": "The one zone is undetermined: {names}.",
    "contract_undetermined_one": "No zone is shown not to conform, but 1 of {zones} is undetermined: {names}.",
    "contract_undetermined": "No zone is shown not to conform, but {open} of {zones} are undetermined: {names}.",
    "contract_no_zone": "There is no zone to decide about.",
    "zone_without_requirement": 'Nothing is asked of zone "{zone}" by the specification, so nothing is decided about it.',
    "zone_without_pulls": 'The specification names zone "{zone}", and the readings hold no pull of it.',
    "zone_silent_rule": "The contract is silent on {rules}; by one reading the outcome is: {first}; by another: {other}.",
    # what the contract asks
    "sense_limit": "Criterion {key} asks for {limit}; pull-off strengths on concrete are usually {range} (common practice, no "
    "published source). Is the unit right?",
    "sense_units": "The limits are written in different units ({units}). Each is taken as written; are they meant so?",
    "sense_too_few": 'Zone "{zone}" has or is to have {n} pulls; criterion {key} needs {needed} at least, so that it can be neither '
    "met nor failed.",
    "sense_idle": "Criterion {idle} changes nothing: criterion {by} decides whatever the values are.",
    "sense_too_few_for_count": "{zones}: criterion {key} asks for {z} values at or above {asked}, and [1 counts|{n} count]. So few "
    "can't meet it, whatever they are.",
    "sense_above_ceiling": "{zones}: criterion {key} asks for {asked}, and the contract's ceiling is {ceiling}. No [value|{n} values] up "
    "to it can meet the criterion.",
    "sense_never_met": "{zones}: criterion {key} ({asked}) can't be met by [1 value|{n} values], whatever [it is|they are].",
    "sense_never_together": "{zones}: each criterion can be met by [1 value|{n} values], but no values and failures meet what is asked "
    "as a whole.",
    "sense_never_failed": "{zones}: criterion {key} ({asked}) asks nothing. [1 value meets|{n} values meet] it, whatever "
    "[it is|they are].",
    "sense_never_failed_whole": "{zones}: what is asked as a whole asks nothing. [1 value meets|{n} values meet] one or the other part "
    "of it, whatever [it is|they are].",
    "sense_scatter": "{zones}: from {n} values criterion {key} can be met only with a coefficient of variation below {cov}, however high "
    "the strengths. Its factor is k = {k}, and the limit is 1 / k. Careful tests on site are reported to scatter by {usual} (seen on a "
    "page that reports it, not in a standard).",
    "sense_no_such_failure": "No failure recorded in the file could meet [criterion|criteria] {keys}, on {codes}: the file records "
    "{recorded}. Do the same letters mean the same in both?",
    "sense_only_bounds": "{zones}: [the one value is|all {count} values are] known from below only ({bounds}). Criterion {key} ({asked}) "
    "can't be shown to be met by [it|them].",
    # pulls in other zones
    "rezoned_column": "{count} [pull stands|pulls stand] in another zone than the readings planned: {moves}.",
    "rezoned_plan": "{count} [pull stands|pulls stand] in another zone than the contract's plan gave [it|them]: {moves}.",
    "rezoned_decides": "With each pull in its earlier zone [one decision is|{count} decisions are] another: {changes}. The contract: "
    "{before} before, {now} now. Zones are fixed before the first pull; have the engineer confirm the new ones and why they were drawn.",
    "rezoned_decides_nothing": "With each pull in its earlier zone all decisions are the same.",
    # classes
    "class_is": 'Zone "{zone}" falls into class {name}.',
    "class_none": 'Zone "{zone}" falls below class {lowest}, the lowest.',
    "class_open": 'Zone "{zone}" falls into class {least} at least and {best} at most: what is unknown, or left open by the contract, decides.',
    "class_open_below": 'Zone "{zone}" falls into class {best} at most, and may fall below class {lowest}: what is unknown, or '
    "left open by the contract, decides.",
    # what a decision hangs on
    "hangs_on_silent_rule": "The contract is silent on {rules}. Of {ways} ways to read it, the zone conforms in {conforms}, does not "
    "conform in {fails} and stays undetermined in {open}.",
    "hangs_on_exclusion": "With the pulls counted that were excluded in writing ({pulls}) the decision would be: {outcome}.",
    "hangs_on_zoning": "Pulls were moved to other zones than planned; with each in its planned zone the outcome would be: {outcome}.",
    "hangs_on_any_pull": "Without any one of the pulls {pulls} the outcome would be: {outcome}.",
    "hangs_on_retest": 'With retest "{retest}" in place of the valid pull "{original}" the decision would be: {outcome}.',
    "retest_changes_nothing": 'With retest "{retest}" in place of the valid pull "{original}" the decision would be the same.',
    # published rules and methods
    "published_to_confirm": 'To be confirmed: {numbers} of "{name}" ({document}, {edition}) [is|are] not verified here ({sure}). '
    'Compare with the document and write confirmed = "who, when, where seen" beside use ({path}); until then the decision stands under '
    "that reserve.",
    "published_confirmed": '{numbers} of "{name}" ({document}, {edition}), not verified here ({sure}), [was|were] confirmed: '
    "{confirmed}.",
    "published_replaced": 'The contract asks for {key} = {instead} where "{name}" has {value} ({path}).',
    "published_left_out": 'The contract replaced the part of "{name}" in which {key} = {value} stood ({path}).',
    "published_superseded": '"{name}" was replaced by {newer}; the specification uses it all the same ({path}).',
    "published_note": '"{name}": {note}',
    # determinations
    "determination_without_zone": 'A determination by {who} is about zone "{zone}", which neither the readings nor the specification '
    "name; write the zone exactly as in the readings.",
    "determination_about_another": 'The determination by {who} ({when}) about zone "{zone}" was made when the decision was: {about}; '
    "it is now: {now}. It stands beside the decision as it was written; have it made again.",
    # where to look for the cause
    "hint_substrate": "Mostly in the substrate ({codes}, {share}): look at how deep it broke. A thin flake of sound stone and paste "
    "points to a skin (laitance, bruising by the preparation), a deep break to the concrete itself. Common practice, no published source.",
    "hint_first_face": "Mostly between substrate and first layer ({codes}, {share}): look at preparation, dust, moisture and "
    "temperature of the surface, primer, and the time between preparing and applying. Common practice, no published source.",
    "hint_face": "Mostly between two layers ({codes}, {share}): look at the time between coats, dirt or blush on the lower one, and "
    "how it was keyed. Common practice, no published source.",
    "hint_layer": "Mostly within a layer ({codes}, {share}): look at mixing, thickness, curing and age of that layer. "
    "Common practice, no published source.",
    "hint_adhesive": "Mostly at or in the dolly adhesive ({codes}, {share}): look at its mixing, curing time and temperature, and at "
    "dust on dolly and coating. It says little of the system. Common practice, no published source.",
    # next steps
    "next_nothing": "Nothing further is asked by this specification.",
    "next_refer": "Refer to the designer or engineer; retest or make good only as the contract provides.",
    "next_ask_contract": "Have the contract's author settle: {rules}.",
    "next_repeat_glue": "Repeat what broke in the dolly adhesive: {pulls}.",
    "next_make_pulls": "Make {count} more pulls.",
    "next_make_one_pull": "Make one more pull.",
    "next_settle_values": "Settle the values of {pulls} (see the findings).",
    "next_more_evidence": "More pulls, or an agreed reading of the bounded ones, are needed to decide.",
    "next_bound_patch": "Find out how far the weak patch reaches: [a place|{count} places] to pull next [is|are] named with the zone.",
    # how far a weak patch may reach
    "extent_pull_next": "Round {pull}: pull next half-way to its sound neighbours, at {places} (x; y).",
    "extent_open": "Round {pull}: no sound pull lies to the {sides}; the weak patch may reach the edge there.",
    "extent_area": "About {area} of the zone ({share}) lie nearer to a low pull than to any other pull that counts: take that as the area "
    "in doubt until more is known. A construction of this program, no published source.",
    "next_look_for_cause": "The decision hangs on few pulls: look at their break faces for a physical cause.",
    "next_contract_failing_one": "Refer one zone to the designer or engineer: {zones}.",
    "next_contract_open_one": "Complete the evidence for one zone: {zones}.",
    "next_contract_failing": "Refer {count} zones to the designer or engineer: {zones}.",
    "next_contract_open": "Complete the evidence for {count} zones: {zones}.",
    "next_contract_nothing": "Nothing further is asked by this specification.",
    "next_contract_no_zone": "Name the zones or supply readings.",
    # measurements
    "pull_without_measurement": "{zone}: the contract counts by measurement, and [the pull {pulls} names|the pulls {pulls} name] none; "
    "each is taken as a measurement of its own.",
    "measurement_not_valid": "{zone}: measurement {measurement} has {counted} of the {needed} pulls that make it valid; it is one of "
    "unknown value until they are there.",
    "next_make_measurements": "Make {count} more [measurement|measurements], or complete the one that was begun.",
    # stages and rounds
    "population_superseded": "Round {round}; a later round stands for this zone under the contract's retest ladder: {by}.",
    "population_not_asked": "Round {round}; no step of the contract's retest ladder asked for it, so it counts for nothing.",
    "population_stands": "Round {round}: it stands for this zone under the contract's retest ladder; round {before} came to: {came}.",
    "ladder_repeat": "Step {step} of {steps} of the contract's retest ladder is due: revise and repeat. Enter the pulls with "
    "round {next}.",
    "ladder_repeat_pulls": "Step {step} of {steps} of the contract's retest ladder is due: revise and repeat with {count} [pull|pulls]. "
    "Enter them with round {next}.",
    "ladder_refer": "Step {step} of {steps} of the contract's retest ladder is due: refer to the designer.",
    "next_contract_round": "Revise and make the next round of pulls, as the contract's retest ladder asks: {zones}.",
    "bond_above_substrate_mean": "{zone}: {limit} is asked of the bond, and the bare substrate gave a mean of {value} "
    "(n = {n}). A pull through the whole can hardly reach more than the substrate did.",
    "bond_above_substrate_smallest": "{zone}: {limit} is asked of single pulls, and the smallest of the bare substrate was {value} "
    "(n = {n}). A pull through the whole can hardly reach more than the substrate did.",
    "round_not_asked": "{name}: no step of the retest ladder asked for this round of pulls; it counts for nothing.",
    # cautions
    "caution_people": "A bond that fails can hurt people. These numbers serve an engineer's judgement and don't replace it: the "
    "contract, local codes and a licensed engineer decide.",
    "caution_sample": "Each zone is judged from a few pulls. They say nothing of places that were not pulled, and little of rare "
    "weak ones.",
    "caution_weakest": "A pull breaks where the system was weakest at that place. The strength of what did not break is only known "
    "to be at least that high.",
    "caution_instruments": "Instruments, dolly size, cutting, loading rate, age and moisture change the result; values made in "
    "different ways may not be comparable.",
    "caution_normal": "Outlier tests, intervals and characteristic values assume a normal distribution, which so few pulls can't show.",
    "caution_second_try": "A further round after one that failed raises the chance of passing, also for a bond that is too weak: where "
    "one round passes 46 times in 100, one of two independent rounds does 71 times (1 - 0.54 x 0.54, computed).",
    "caution_selection": "A mean over the pulls of one failure is a selection: a pull breaks in one place because that place was "
    "the weaker one there, so such a mean lies below the strength of the layer or bond that it names (11 % for two layers of 2.0 "
    "MPa each that scatter by 20 %, independent of each other, computed), and the pulls of another failure, which say that it held, "
    "are left out.",
    "caution_rounding": "Values are compared with limits unrounded. That is this program's default; ASTM E29 also names a method that "
    "rounds first.",
    "caution_uncertainty": "A probability of conformity is about the measurement: how likely the true values at these places are what "
    "is asked, if the stated uncertainty holds and nothing else is known of them beforehand. It says nothing of the places that were "
    "not pulled; that is what intervals and characteristic values are for.",
    "caution_invented": "The data of this contract are invented, for demonstration.",
}
