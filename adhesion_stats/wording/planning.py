"""English sentences for the messages of the room ``planning``: code -> template over the message's facts."""

from __future__ import annotations

__all__ = ["PLANNING"]

PLANNING: dict[str, str] = {
    # what can't be planned
    "plan_no_zone": "There is no zone to plan: add one [[plan.zone]] for each zone, with name, outline and what it consists of.",
    "plan_nothing_asked": 'No rule asks for a pull in zone "{zone}": write how many the contract asks for ([pulls] required, or a '
    "[[plan.frequency]] that stands for this zone).",
    "plan_no_room": 'Zone "{zone}" has room for at least {fit} positions at {spacing} from centre to centre and {edge} from its edges '
    "and keep-outs, and a way to place {asked} was not found ({pulls} pulls, {retests} retest positions beside each). Plan fewer pulls or "
    "retest positions, or have the engineer allow smaller distances.",
    "plan_too_crowded": 'Zone "{zone}" could hold {asked} positions in plain rows ({pulls} pulls, {retests} retest positions beside each; '
    "{spacing} from centre to centre, {edge} from edges), but too tightly to place them at random. Plan fewer pulls or retest positions, or "
    "have the engineer allow smaller distances.",
    "plan_no_measurement": "The contract counts by measurement and does not say of how many pulls: add pulls_per_measurement to [pulls].",
    "plan_no_room_measurements": 'Zone "{zone}" has room for at least {fit} measurements in squares of {side}, {edge} from its edges and '
    "keep-outs, and a way to place {measurements} was not found. Plan fewer measurements, or have the engineer allow a smaller square or "
    "smaller distances.",
    "plan_no_room_in_measurement": 'Zone "{zone}": a square of {side} has room for at least {fit} positions at {spacing} from centre to '
    "centre, and a way to place {asked} was not found ({pulls} pulls of a measurement, {retests} retest positions beside each). Have the "
    "engineer allow a larger square or smaller distances, or plan fewer retest positions.",
    # what to settle before the first pull
    "plan_zone_not_asked": 'Zone "{zone}" is planned, but the specification asks nothing of it: its pulls would not be decided about.',
    "plan_zone_missing": 'The specification names zone "{zone}", and the plan does not describe it.',
    "plan_more_than_z_of_n": 'Zone "{zone}": {pulls} pulls are planned and a criterion counts among {n} pulls. Settle before testing which of '
    "the pulls are the {n} counted ones.",
    "plan_more_than_required": 'Zone "{zone}": the plan asks for {pulls} pulls, {required} is the number that [pulls] requires. The decision '
    "waits for {required}; whether all {pulls} were made is said beside it.",
    "plan_more_than_z_of_n_measured": 'Zone "{zone}": {pulls} measurements are planned and a criterion counts among {n} measurements. Settle '
    "before testing which of the measurements are the {n} counted ones.",
    "plan_more_than_required_measured": 'Zone "{zone}": the plan asks for {pulls} measurements, {required} is the number that [pulls] '
    "requires. The decision waits for {required}; whether all {pulls} were made is said beside it.",
    "plan_risk_no_strength": 'Zone "{zone}": the risks can\'t be told, since its rule asks nothing of strengths apart from what broke.',
    "plan_risk_not_met": 'Zone "{zone}": {pulls} pulls accept the good zone in {good} and the bad one in {bad} of cases. No number up to {most} '
    "keeps both risks that are wanted under this rule: change the risks or the rule, not the number.",
    "plan_risk_met_by_fewer": 'Zone "{zone}": {pulls} pulls accept the good zone in {good} and the bad one in {bad} of cases; {wanted} would keep '
    "both risks. A limit that every single pull must reach gets stricter with each pull.",
    # cautions
    "plan_caution_people": "A plan serves the engineer's judgement and doesn't replace it: the contract, local codes and a licensed engineer "
    "decide how many pulls are made, where, and who makes good.",
    "plan_caution_seed": "The positions are random so that nobody chose them. Fix the seed before anybody has seen the work, and keep the plan "
    "with the record; a new seed after the results are known would be a choice.",
    "plan_caution_suspect": "Random positions speak for the zone as a whole. Places that sound hollow or look suspect are pulled on purpose, in "
    "addition, and belong to a zone of their own.",
    "plan_caution_moved": "Where a position can't be pulled (reinforcement, a joint, a step), use its retest position or the nearest free place, "
    "and write where it was pulled.",
    "plan_caution_services": "Look for reinforcement, tendons, heating and cables before cutting; each pull leaves a hole to be made good.",
    "plan_caution_risk": "The risks take the pulls of a zone as independent and their strengths as normal. Pulls close together are alike, and "
    "then the true risks are larger.",
    "plan_caution_risk_measured": "The risks take the measurements of a zone as independent and the strengths as normal. Measurements "
    "close together are alike, and then the true risks are larger.",
    "plan_caution_no_outline": "A zone without an outline gets a number of pulls and no positions.",
    # on site: short sentences for somebody with a phone in the hand
    "site_not_asked": "The specification asks nothing of this zone.",
    "site_conforms": "Conforms. Every pull that is asked for is made ({counted}).",
    "site_conforms_already": "Conforms already, whatever the [pull|{count} pulls] still to make [gives|give]. [It is|They are] asked for "
    "all the same.",
    "site_fails": "Does not conform. Every pull that is asked for is made ({counted}).",
    "site_stop": "Stop: it does not conform, whatever the [pull|{count} pulls] still to make would give. Ask the engineer before you go on.",
    "site_open": "Open: {counted} of {asked} pulls count, [one more is|{count} more are] asked for.",
    "site_open_complete": "Open, with {counted} pulls that count.",
    "site_settles_from": "The next pull settles it: {level} or more conforms, less does not.",
    "site_settles_between": "The next pull settles it: from {level} to {last} conforms, less does not, more does not either (it widens the "
    "spread too far).",
    "site_settles_runs": "The next pull settles it: {runs} conforms, anything else does not.",
    "site_settles_any": "The next pull settles it, whatever it gives.",
    "site_next_any": "No value of the next pull alone rules the zone out.",
    "site_next_from": "The next pull must reach {level}; with less the zone can't conform any more.",
    "site_next_between": "The next pull must lie from {level} to {last}; otherwise the zone can't conform any more.",
    "site_next_runs": "The next pull must lie in {runs}; otherwise the zone can't conform any more.",
    "site_not_at_once": "The next pull alone can't settle it.",
    "site_at_once_any": "With the next pull it conforms at once, whatever it gives.",
    "site_at_once_from": "With {level} or more it conforms at once.",
    "site_at_once_between": "With {level} to {last} it conforms at once.",
    "site_at_once_runs": "With {runs} it conforms at once.",
    "site_lacks": "Measurement {measurement} lacks [one pull|{count} pulls] of {each}; write {measurement} in the column measurement.",
    "site_assumes": "That takes the next pull to break where the criterion asks ({questions}).",
    "site_repeat": 'Repeat {pull}, beside it; write {pull} under "retest of".',
    "site_repeat_at": 'Repeat {pull} at {id}: x = {x}, y = {y}; write {pull} under "retest of".',
    "site_pull_at": "Next place: {id} at x = {x}, y = {y}[|; {count} planned places are left].",
    "site_glue_short": "{pull}: the dolly adhesive had cured {hours}, {asked} are asked for. Wait longer before you pull.",
    "site_glue_unknown": "Write how long the dolly adhesive had cured ({asked} are asked for): not recorded for {count} [pull|pulls].",
}

_OF_MEASUREMENTS = (
    ("With the next pull", "With the next measurement"),
    ("The next pull", "The mean of the next measurement"),
    ("the next pull", "the mean of the next measurement"),
    ("[pull|{count} pulls]", "[measurement|{count} measurements]"),
    ("Every pull", "Every measurement"),
    (" pulls", " measurements"),
)


def _of_measurements(text: str) -> str:
    """A sentence about pulls as one about measurements."""
    for pull, measurement in _OF_MEASUREMENTS:
        text = text.replace(pull, measurement)
    return text


_ALSO = (
    "site_conforms",
    "site_fails",
    "site_stop",
    "site_open",
    "site_settles",
    "site_next",
    "site_not_at",
    "site_at_once",
)
PLANNING |= {f"{code}_measured": _of_measurements(PLANNING[code]) for code in tuple(PLANNING) if code.startswith(_ALSO)}
