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
    # what to settle before the first pull
    "plan_zone_not_asked": 'Zone "{zone}" is planned, but the specification asks nothing of it: its pulls would not be decided about.',
    "plan_zone_missing": 'The specification names zone "{zone}", and the plan does not describe it.',
    "plan_more_than_z_of_n": 'Zone "{zone}": {pulls} pulls are planned and a criterion counts among {n} pulls. Settle before testing which of '
    "the pulls are the {n} counted ones.",
    "plan_more_than_required": 'Zone "{zone}": the plan asks for {pulls} pulls, {required} is the number that [pulls] requires. The decision '
    "waits for {required}; whether all {pulls} were made is said beside it.",
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
    "plan_caution_no_outline": "A zone without an outline gets a number of pulls and no positions.",
}
