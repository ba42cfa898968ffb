"""English sentences for the messages of the room ``acceptance``: code -> template over the message's facts."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["ACCEPTANCE", "ELSEWHERE"]

_VALUES = {
    "mean": "mean",
    "smallest": "smallest value",
    "characteristic": "characteristic value",
    "less_sd": "mean less {k} standard deviations",
    "index": "quality index (mean − {lower}) / standard deviation",
    "of_mean": "smallest value as a share of the mean",
}
_VALUES_WITH_UPPER_LIMIT = {
    "below": "estimated share of the population below {lower}",
    "cov": "coefficient of variation",
}
_STUCK = {
    "needs_more": "The {what} can't be formed from {n} values: at least {needed} are needed. {limit} is asked for.",
    "no_factor": "The contract's table of factors has none for {n} values, and nothing is put between its entries: the "
    "{what} can't be formed. {limit} is asked for.",
    "not_formed": "The {what} can't be formed from these values: the method needs values above 0 that are not all "
    "equal. {limit} is asked for.",
}

# {what} is the kind's noun; the rest are facts.
_OF_A_VALUE = {
    "met": "The {what}, {value}, reaches the {limit} asked for.",
    "on_limit": "The {what}, {value}, is on the limit of {limit}, and equal meets.",
    "not_met": "The {what}, {value}, is below the {limit} asked for.",
    "met_whatever": "Whatever [~the unknown values are ({unknown} of {n})|is not known{elsewhere}], the {what} is {value} or more; "
    "{limit} is asked for.",
    "not_met_whatever": "Whatever [~the unknown values are ({unknown} of {n})|is not known{elsewhere}], the {what} is {value} at most; "
    "{limit} is asked for.",
    "open": "The {what} lies between {low} and {high}, and {limit} is asked for: "
    "[~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    "open_up": "The {what} is {low} or more, with no upper end, and {limit} is asked for: "
    "[~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    "open_down": "The {what} is {high} at most and has no lower end, since a very high value widens the spread; "
    "{limit} is asked for: [~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    "open_wide": "The {what} has neither an upper nor a lower end, and {limit} is asked for: "
    "[~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    "all_excused": "The {what} has no end: {limit} is asked for.",
    "choice": "More values than planned are there ({n}), and whether the {what} reaches {limit} depends on which of "
    "them are taken.",
    "too_few": "The {what} can't be formed from a single value: a standard deviation needs two. {limit} is asked for.",
    "no_values": "There is no value from which a {what} could be formed. {limit} is asked for.",
    "not_resolved": "[~With {unknown} of {n} values unknown it|With what is not known{elsewhere} it] could not be proven whether the {what} can "
    "or must reach {limit}.",
}

# Where smaller values meet.
_OF_A_VALUE_WITH_UPPER_LIMIT = {
    "met": "The {what}, {value}, stays within the limit: {limit} at most is asked for.",
    "on_limit": "The {what}, {value}, is on the limit of {limit}, and equal meets.",
    "not_met": "The {what}, {value}, exceeds the limit: {limit} at most is asked for.",
    "met_whatever": "Whatever [~the unknown values are ({unknown} of {n})|is not known{elsewhere}], the {what} is {value} at most; no more than "
    "{limit} is asked for.",
    "not_met_whatever": "Whatever [~the unknown values are ({unknown} of {n})|is not known{elsewhere}], the {what} is {value} or more; {limit} at "
    "most is asked for.",
    "open": "The {what} lies between {low} and {high}, and {limit} at most is asked for: "
    "[~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    "open_up": "The {what} is {low} or more, with no upper end, and {limit} at most is asked for: "
    "[~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    "open_down": "The {what} is {high} at most, and no more than {limit} is asked for: "
    "[~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    "open_wide": "The {what} has no end known, and {limit} at most is asked for: "
    "[~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    **{state: _OF_A_VALUE[state] for state in ("choice", "too_few", "no_values")},
    "not_resolved": "[~With {unknown} of {n} values unknown it|With what is not known{elsewhere} it] could not be proven whether the {what} can "
    "or must stay within {limit}.",
}

# With a probability of conformity asked: {truly} is what has to be true.
_SURE = {
    "met": "{is_value}The probability that {truly} is {sure}; {least} is asked for.",
    "not_met": "{is_value}The probability that {truly} is only {sure}; {least} is asked for.",
    "met_whatever": "Whatever [~the unknown values are ({unknown} of {n})|is not known{elsewhere}], the probability that {truly} is at least "
    "{sure}; {least} is asked for.",
    "not_met_whatever": "Whatever [~the unknown values are ({unknown} of {n})|is not known{elsewhere}], the probability that {truly} is at most "
    "{sure}; {least} is asked for.",
    "open": "The probability that {truly} lies between {sure_low} and {sure_high}, and {least} is asked for: "
    "[~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
}
_TRULY = {
    **{
        kind: f"the true {_VALUES[kind]} reaches {{limit}}"
        for kind in ("mean", "smallest", "characteristic", "less_sd")
    },
    "count": "at least {z} of {planned} true values reach {limit}",
    "part": "at least {z} of {n} true values reach {limit} ({share} of {n}, rounded up to whole pulls)",
    "held": "each of the {n} pulls truly held {limit}",
}
_EXCUSED = {
    "smallest_unless": "the true smallest value of the pulls that are not excused reaches {limit}",
    "count_unless": "at least {z} of {planned} true values reach {limit} or are excused",
}

_PART_OPEN = (
    "From {reached} to {could} of {n} values reach {limit}, and {z} are asked for ({share} of {n}, rounded up to whole "
    "pulls): the unknown values decide."
)
_PART = {
    "met": "{reached} of {n} values reach {limit}; {z} are asked for ({share} of {n}, rounded up to whole pulls).",
    "on_limit": "{reached} of {n} values reach {limit}, the deciding one just so; {z} are asked for ({share} of {n}, "
    "rounded up to whole pulls).",
    "not_met": "Only {reached} of {n} values reach {limit}; {z} are asked for ({share} of {n}, rounded up to whole "
    "pulls).",
    "met_whatever": "Whatever [~the unknown values are ({unknown})|is not known{elsewhere}], {reached} of {n} values or more reach {limit}; {z} are "
    "asked for ({share} of {n}, rounded up to whole pulls).",
    "not_met_whatever": "Whatever [~the unknown values are ({unknown})|is not known{elsewhere}], {could} of {n} values at most reach {limit}; {z} "
    "are asked for ({share} of {n}, rounded up to whole pulls).",
    **dict.fromkeys(("open", "open_up", "open_down", "open_wide", "choice"), _PART_OPEN),
    **dict.fromkeys(
        ("too_few", "no_values", "needs_more", "no_factor", "not_formed"),
        "There is no value to count; {share} of the pulls at {limit} or more are asked for.",
    ),
    "not_resolved": "[~With {unknown} of {n} values unknown it|With what is not known{elsewhere} it] could not be proven whether {z} of {n} can or "
    "must reach {limit}.",
}

_HELD_OPEN = "{reached} of {n} pulls surely held {limit}; for the others [~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides]."
_HELD = {
    "met": "Each of the {n} pulls held {limit}.",
    "on_limit": "Each of the {n} pulls held {limit}, one of them just so, which is enough.",
    "not_met": "Only {reached} of {n} pulls held {limit}; each was to hold it.",
    "met_whatever": "Each of the {n} pulls held {limit}; at what stress they would have let go is not known for {unknown}.",
    "not_met_whatever": "At most {could} of {n} pulls held {limit}, whatever [~the unknown values are ({unknown})|is not known{elsewhere}]; each was "
    "to hold it.",
    **dict.fromkeys(("open", "open_up", "open_down", "open_wide", "choice"), _HELD_OPEN),
    **dict.fromkeys(
        ("too_few", "no_values", "needs_more", "no_factor", "not_formed"),
        "There is no pull that could have held {limit}.",
    ),
    "not_resolved": "[~With {unknown} of {n} values unknown it|With what is not known{elsewhere} it] could not be proven whether each pull can or "
    "must have held {limit}.",
}

_COUNT_OPEN = (
    "From {reached} to {could} values reach {limit}, and {z} of {planned} are asked for: the unknown values decide."
)
_COUNT = {
    "met": "{reached} of {n} values reach {limit}; {z} of {planned} are asked for.",
    "on_limit": "{reached} of {n} values reach {limit}, the deciding one just so; {z} of {planned} are asked for.",
    "not_met": "Only {reached} of {n} values reach {limit}; {z} of {planned} are asked for.",
    "met_whatever": "[~Whatever the unknown values are ({unknown})|Whichever of them are taken], {reached} of {n} values or more reach {limit}; "
    "{z} of {planned} are asked for.",
    "not_met_whatever": "[~Whatever the unknown values are ({unknown})|Whichever of them are taken], {could} of {n} values at most reach {limit}; "
    "{z} of {planned} are asked for.",
    "open": _COUNT_OPEN,
    "open_up": _COUNT_OPEN,
    "open_down": _COUNT_OPEN,
    "open_wide": _COUNT_OPEN,
    "all_excused": "{reached} of {n} values reach {limit}; {z} of {planned} are asked for.",
    "choice": "{reached} of {n} values reach {limit}, and {z} of {planned} are asked for: more values than planned are "
    "there, and it depends on which of them are taken.",
    "too_few": "There are too few values to count; {z} of {planned} at {limit} or more are asked for.",
    **dict.fromkeys(
        ("no_values", "needs_more", "no_factor", "not_formed"),
        "There is no value to count; {z} of {planned} at {limit} or more are asked for.",
    ),
    "not_resolved": "[~With {unknown} of {n} values unknown it|With what is not known{elsewhere} it] could not be proven whether {z} of "
    "{planned} can or must reach {limit}.",
}

# Where that lies which is not known, in a zone whose own values all are: as messages name it -> in words.
ELSEWHERE = {
    "pool": " of the zones that share the standard deviation",
    "failure": " of what broke",
}
_UNSEEN = "Whatever is not known{elsewhere}"
_WHICH = "failed in {codes} over {from} or more of the area"
_DEEP = ", {depth} deep or deeper"


# These kinds need one value only, no table and no fit.
_NEVER_STUCK = "No value could be formed from {n} values; {limit} is asked for."


def _variants(kind: str, sentences: Callable[[str], dict[str, str]]) -> dict[str, str]:
    """The sentences of a kind without and with a depth of the break; ``sentences`` takes how pulls failed in words."""
    named = {kind: _WHICH, f"{kind}_deep": _WHICH + _DEEP}
    own = {f"{name}_{state}": text for name, which in named.items() for state, text in sentences(which).items()}
    return {f"{name}_{state}": _NEVER_STUCK for name in named for state in _STUCK} | own


def _smallest_unless(which: str) -> dict[str, str]:
    """The smallest value with a way out."""
    noun = "smallest value of the pulls that are not excused"
    excused = f" Excused are pulls that {which}: {{sure}} of {{n}}"
    own = {state: f"{text.replace('{what}', noun)}{excused}." for state, text in _OF_A_VALUE.items()}
    decides = (
        f"Pulls below {{limit}} are excused where they {which}: {{sure}} of {{n}} surely, {{most}} at most. "
        "Values or failures that are not known decide."
    )
    return own | {
        **dict.fromkeys(("open", "open_up", "open_wide"), decides),
        "all_excused": f"Every pull is excused: all {{n}} {which}. {{limit}} is asked of the others.",
    }


def _count_unless(which: str) -> dict[str, str]:
    """Z of n with a way out."""
    rest = f" A pull that {which} counts as one that reaches it."
    own = {state: text.replace("Whichever of them are taken", _UNSEEN) for state, text in _COUNT.items()}
    return {state: text + rest for state, text in own.items()} | {
        "all_excused": f"Enough pulls are excused: they {which}. {{z}} of {{planned}} at {{limit}} or more are asked for.",
    }


def _mean_only(which: str) -> dict[str, str]:
    """The mean of the pulls of one failure."""
    noun = f"mean of the pulls that {which}"
    own = {state: text.replace("{what}", noun) for state, text in _OF_A_VALUE.items()}
    certain = " They are {sure} of {n}."
    own |= {state: own[state] + certain for state in ("met", "on_limit", "not_met")}
    decides = (
        f"The {noun} can be above or below {{limit}}: {{sure}} of {{n}} surely did, {{most}} at most; values or "
        "failures that are not known decide."
    )
    return own | {
        **dict.fromkeys(("open", "open_up", "open_down", "open_wide"), decides),
        "no_values": f"No pull {which}: there is no mean to compare with {{limit}}.",
        "all_excused": own["met"],
    }


_ALIKE = {
    state: text.replace("{what}", "least mean of pulls that failed alike")
    + " A pull goes with the code that has {from} or more of its area."
    for state, text in _OF_A_VALUE.items()
} | {
    "not_resolved": "The failure of so many pulls is open that it could not be proven whether the mean of each group of "
    "pulls that failed alike can or must reach {limit}.",
}
_ALIKE["all_excused"] = _ALIKE["met"]

_EACH_OPEN = (
    "From {sure} to {most} of {n} pulls reach the limit that their failure asks for, and all are asked to: values or "
    "failures that are not known, or cases on which the contract is silent, decide."
)
_EACH = {
    "met": "Each of the {n} pulls reaches the limit that its failure asks for.",
    "on_limit": "Each of the {n} pulls reaches the limit that its failure asks for, one or more of them just so.",
    "not_met": "Only {most} of {n} pulls reach the limit that their failure asks for.",
    "met_whatever": "Whatever is not known, each of the {n} pulls reaches the limit that its failure asks for.",
    "not_met_whatever": "Whatever is not known, {most} of {n} pulls at most reach the limit that their failure asks for.",
    **dict.fromkeys(("open", "open_up", "open_down", "open_wide", "choice", "not_resolved"), _EACH_OPEN),
    **dict.fromkeys(("too_few", "no_values", *_STUCK), "There is no pull that could reach its limit."),
    "all_excused": "Each of the {n} pulls reaches the limit that its failure asks for.",
}

_SHARES = {
    "share": "mean share of the area that broke in {codes}",
    "pulls": "share of pulls that broke over {from} or more of their area in {codes}",
    "pulls_deep": "share of pulls that broke over {from} or more of their area in {codes}, {depth} deep or deeper",
}
_UPPER = {False: "", True: "_upper"}


def _of_a_share(noun: str, *, upper: bool) -> dict[str, str]:
    """Sentences for a share with a lower or an upper limit."""
    asked = "{limit} or less" if upper else "{limit} or more"
    within, beyond = ("stays within the limit", "exceeds the limit") if upper else ("is enough", "is too small")
    worst, best = ("at most", "or more") if upper else ("or more", "at most")
    unknown = "Whatever the area of unknown failure would have done,"
    open_ends = (
        f"The {noun} lies between {{low}} and {{high}}, and {asked} is asked for: the area of unknown failure decides."
    )
    return {
        "met": f"The {noun}, {{value}}, {within}: {asked} is asked for.",
        "on_limit": f"The {noun}, {{value}}, is on the limit, and equal meets: {asked} is asked for.",
        "not_met": f"The {noun}, {{value}}, {beyond}: {asked} is asked for.",
        "met_whatever": f"{unknown} the {noun} is {{value}} {worst}; {asked} is asked for.",
        "not_met_whatever": f"{unknown} the {noun} is {{value}} {best}; {asked} is asked for.",
        **dict.fromkeys(("open", "open_up", "open_down", "open_wide", "choice"), open_ends),
        **dict.fromkeys(
            ("too_few", "no_values", "needs_more", "no_factor", "not_formed"),
            f"There is no pull from which the {noun} could be formed; {asked} is asked for.",
        ),
        "all_excused": f"The {noun} is enough: {asked} is asked for.",
        "not_resolved": f"It could not be proven whether the {noun} can or must be {asked}.",
    }


def _sure() -> dict[str, str]:
    """The sentences of criteria that ask for a probability of conformity."""
    found = {}
    excused = {f"{kind}{deep}": text for kind, text in _EXCUSED.items() for deep in ("", "_deep")}
    for kind, truly in (_TRULY | excused).items():
        noun = _VALUES.get(kind)
        is_value = "" if noun is None else f"The {noun} is {{value}}. "
        for state, text in _SURE.items():
            said = text.replace("{truly}", truly).replace("{is_value}", is_value)
            which = _WHICH + (_DEEP if kind.endswith("_deep") else "")
            found[f"{kind}_sure_{state}"] = said + (f" Excused are pulls that {which}." if kind in excused else "")
    return found


_DECIDED = {
    "not_together": "Each criterion could be met on its own, but [~no values of the unknown pulls ({unknown} of {n})|"
    "nothing that is not known{elsewhere}] [~meet|meets] them together.",
    "not_resolved": "[~With {unknown} of {n} values unknown it|With what is not known{elsewhere} it] could not be proven whether the "
    "requirement can or must be met.",
    "needs_level": "If every unknown value ({unknown} of {n}, {question}) reached {level}, the zone would conform.",
    "needs_one_level": "To conform, the unknown value (1 of {n}, {question}) would have to reach {level}.",
    "needs_common_level": "If all unknown values ({unknown} of {n}, {question}) were one and the same, {level} or more, "
    "the zone would conform.",
    "needs_level_between": "If all unknown values ({unknown} of {n}, {question}) were one and the same, between {level} "
    "and {last}, the zone would conform; higher ones widen the spread too far.",
    "needs_one_level_between": "To conform, the unknown value (1 of {n}, {question}) would have to lie between "
    "{level} and {last}; a higher one widens the spread too far.",
    "needs_level_at_most": "If all unknown values ({unknown} of {n}, {question}) were one and the same, {last} or less, "
    "the zone would conform; higher ones widen the spread too far.",
    "needs_one_level_at_most": "To conform, the unknown value (1 of {n}, {question}) must not lie above {last}; "
    "a higher one widens the spread too far.",
    "needs_no_common_level": "No level common to all unknown values ({unknown} of {n}, {question}) makes the zone "
    "conform; only values that differ from each other could.",
    "needs_alike": "Any level common to all unknown values ({unknown} of {n}, {question}) makes the zone conform; "
    "values far apart from each other would not.",
    "needs_one_way": "That is the easiest of the {ways} ways to meet the requirement that are still open.",
    "needs_area": "To conform, at least {part} of the area of unknown failure (on average {unknown} of a pull) would "
    "have to count as {codes}.",
    "needs_area_at_most": "To conform, at most {part} of the area of unknown failure (on average {unknown} of a pull) "
    "may count as {codes}.",
    "needs_pulls": "To conform, at least {number} of the {open} pulls that could go either way would have to count as "
    "broken in {codes}.",
    "needs_pulls_at_most": "To conform, at most {number} of the {open} pulls that could go either way may count as "
    "broken in {codes}.",
    "needs_excuse": "To conform, each pull that may lie below {limit} has to reach it, or to have failed in {codes} over "
    "{from} or more of its area.",
    "needs_excuse_deep": "To conform, each pull that may lie below {limit} has to reach it, or to have failed in {codes} "
    "over {from} or more of its area, {depth} deep or deeper.",
    "needs_each": "To conform, each of the {open} pulls that could go either way has to reach the limit that its failure "
    "asks for.",
    "needs_members": "It has to be known which pulls failed in {codes} over {from} or more of their area (from {sure} to "
    "{most} of {n}), and their mean has to reach {limit}.",
    "needs_a_member": "No pull failed in {codes} over {from} or more of its area: the engineer or the contract has to say "
    "what holds then.",
    "needs_alike_failure": "It has to be known how each pull failed, and the mean of each group that failed alike has to "
    "reach {limit}.",
    "needs_two_values": "A standard deviation needs at least two values; there is {n}.",
    "needs_more_values": "At least {needed} values are needed; there are {n}.",
    "needs_factor": "The contract would have to say which factor holds for {n} values.",
    "needs_not_told": "What the unknown values ({unknown} of {n}, {question}) would have to be can't be said in one level: "
    "the levels common to them that make the zone conform are no single range.",
    "needs_pooled": "To decide, the unknown values of the zones that share the standard deviation have to become known.",
    "too_few_valid": "Too few pulls are valid to decide: {valid}, and the contract asks for {least} at least.",
    "needs_valid": "At least {more} more valid pulls are needed before anything can be decided ({least} in all).",
    "needs_values": "At least one value is needed.",
    "needs_choice": "It has to be settled which of the {n} values are the planned ones.",
    "hangs_on_one_pull": "Without pull {pull} the outcome would be: {outcome}.",
    "hangs_on_one_measurement": "Without measurement {pull} the outcome would be: {outcome}.",
    "hangs_on_flagged": "Without the flagged pulls ({pulls}) the outcome would be: {outcome}.",
    "hangs_on_pooling": "With the zone's own standard deviation in place of the pooled one the outcome would be: {outcome}.",
    "hangs_on_rounding": "Compared {method} instead (ASTM E29 names both methods), the outcome would be: {outcome}.",
}

ACCEPTANCE: dict[str, str] = {
    **{
        f"{kind}_{state}": sentence.replace("{what}", noun)
        for kind, noun in _VALUES.items()
        for state, sentence in (_OF_A_VALUE | _STUCK).items()
    },
    **{
        f"{kind}_{state}": sentence.replace("{what}", noun)
        for kind, noun in _VALUES_WITH_UPPER_LIMIT.items()
        for state, sentence in (_OF_A_VALUE_WITH_UPPER_LIMIT | _STUCK).items()
    },
    **{f"{kind}_all_excused": _NEVER_STUCK for kind in (*_VALUES_WITH_UPPER_LIMIT, "part", "held")},
    "index_open_down": "The quality index (mean − {lower}) / standard deviation is {high} at most, with no lower end; "
    "{limit} is asked for: [~the unknown values decide ({unknown} of {n})|what is not known{elsewhere} decides].",
    **{f"part_{state}": sentence for state, sentence in _PART.items()},
    **{f"held_{state}": sentence for state, sentence in _HELD.items()},
    **{f"count_{state}": sentence for state, sentence in _COUNT.items()},
    **_variants("smallest_unless", _smallest_unless),
    **_variants("count_unless", _count_unless),
    **_variants("mean_only", _mean_only),
    **{f"mean_alike_{state}": _NEVER_STUCK for state in _STUCK},
    **{f"mean_alike_{state}": sentence for state, sentence in _ALIKE.items()},
    **{f"each_{state}": sentence for state, sentence in _EACH.items()},
    **{
        f"{kind}{suffix}_{state}": sentence
        for kind, noun in _SHARES.items()
        for upper, suffix in _UPPER.items()
        for state, sentence in _of_a_share(noun, upper=upper).items()
    },
    **_sure(),
    **_DECIDED,
}
