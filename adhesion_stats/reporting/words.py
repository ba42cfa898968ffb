"""All words of the documents in English: headings, labels, states, and the sentences around numbers.

Messages have their sentences in ``adhesion_stats.wording``. A sentence here is a :meth:`str.format` text whose fields
are filled with parts of the document model, so that a number in a sentence keeps its value. Another language is
another table of the same keys.
"""

from __future__ import annotations

from string import Formatter

from adhesion_stats.reporting.audit_words import AUDIT_WORDS
from adhesion_stats.reporting.model import Part
from adhesion_stats.reporting.plan_words import PLAN_WORDS

__all__ = ["CONDITIONS_IN_WORDS", "LABELS_IN_WORDS", "WORDS", "broke_at", "fill", "word"]

WORDS: dict[str, str] = {
    **PLAN_WORDS,
    # whole document
    "language": "en",
    "assessment": "Assessment of pull-off adhesion tests",
    "invented": "Invented data. Contract, structure, readings and names on this page are made up to show the method.",
    "skip": "Skip to the decision",
    "contents": "Contents",
    "open": "Open",
    # head
    "structure": "Structure",
    "client": "Client",
    "engineer": "Engineer",
    "test_method": "Test method",
    "document": "Contract document",
    "note": "Note",
    "readings": "Readings",
    "specification": "Specification",
    "layout": "Layout of the readings",
    # decision
    "h_decision": "Decision",
    "the_contract": "The contract",
    "conforms": "conforms",
    "does not conform": "does not conform",
    "undetermined": "undetermined",
    "not_asked": "nothing asked",
    "is_not_asked": "is asked nothing",
    "is_conforms": "conforms",
    "is_does not conform": "does not conform",
    "is_undetermined": "is undetermined",
    "zones_count_unasked": "{zones} zones: {conforms} conforming, {fails} not conforming, {open} undetermined, and "
    "{unasked} of which nothing is asked.",
    "zones_count": "{zones} zones: {conforms} conforming, {fails} not conforming, {open} undetermined.",
    "one_zone_count": "One zone, which {is_outcome}.",
    "h_next": "What to do next",
    "t_zones": "Decision by zone",
    "c_zone": "Zone",
    "c_decision": "Decision",
    "c_margin": "Margin",
    "c_counted": "Pulls counted",
    "c_smallest": "Smallest",
    "c_mean": "Mean",
    "c_broke": "What broke",
    "c_hangs": "It hangs on",
    "c_next": "What next",
    "counted_of": "{counted} of {required}",
    "counted_beyond": "{counted} ({required} asked)",
    "counted_only": "{counted}",
    "as_bounds": "{n} as bounds",
    "limit_line": "≥\N{NO-BREAK SPACE}{limit}",
    "no_limit": "no limit set",
    "margin_on": "on {criterion}",
    "at_the_limit": "exactly on the limit, which meets it",
    "margin_to": "{low} to {high}",
    "at_least": "at\N{NO-BREAK SPACE}least ",
    "at_most": "at\N{NO-BREAK SPACE}most ",
    "n_more": "{n} more",
    "hangs_on_nothing": "nothing found",
    "nothing": "–",
    "not_recorded": "not recorded",
    "not_recorded_for": "not recorded for {n}",
    "margin_note": "Margin is how far the value lies on the right side of its limit; with a minus, on the "
    "wrong side. A range means that not everything is known: its ends are the least and the most that the "
    "unknown values allow.",
    "unit_pulls": "pulls",
    "unit_points": "percentage points",
    # revision
    "h_revision": "A revision",
    "r_revises": "This record takes the place of the one whose manifest has the SHA-256 {digest}.",
    "r_reason": "Reason: {reason}",
    "r_no_change": "No decision and no standing of a pull is another one.",
    "r_t_changes": "Decisions and standings that are not the same",
    "r_t_inputs": "What went in and is not the same",
    "r_before": "Before",
    "r_now": "Now",
    # basis
    "h_basis": "What the decision rests on",
    "basis_all": "Pulls in the file {file}: {made}. Counted: {counted}, all of them with an exact value.",
    "basis_bounds": "Pulls in the file {file}: {made}. Counted: {counted}, of which {bounded} as bounds and not as "
    "exact values.",
    "basis_out": "Not counted: {out}; each stands below with its reason.",
    "basis_none_out": "None is left out.",
    "t_counts": "Pulls by zone",
    "c_made": "In the file",
    "c_exact": "Exact",
    "c_bounded": "As bounds",
    "c_not_counted": "Not counted",
    "c_lost": "Of these lost",
    "c_required": "Required",
    "c_unknown": "Values not known",
    "t_out": "Pulls that do not count, and why",
    "t_second_look": "Pulls that count and need a second look",
    "c_pull": "Pull",
    "c_strength": "Strength",
    "c_status": "Standing",
    "c_reason": "Reason",
    "c_who": "Decided by",
    "c_what": "What to know",
    "who_rule": "rule",
    "status_counted": "counted",
    "status_invalid": "invalid",
    "status_excluded": "excluded",
    "status_replaced": "replaced",
    "status_lost": "lost before loading",
    "as_exact": "exact",
    "as_at_least": "at least",
    "as_at_most": "at most",
    "as_unknown": "unknown, from 0 up",
    "is_lower_bound": "Counts as a lower bound: the strength is at least this.",
    "is_upper_bound": "Counts as an upper bound: the strength is at most this.",
    "t_preparation": "Preparation and loading as recorded",
    "preparation_none": "The file records nothing about preparation and loading: cutting, dolly size, loading "
    "rate, dates and instrument are not known here.",
    "preparation_missing": "Not recorded in the file: {names}.",
    "pulls_recorded": "{n} of {all} pulls",
    "recorded_some": "recorded for {n} of {all}",
    "date": "Date of test",
    "area": "Tested area",
    # figures
    "h_figures": "Figures",
    "fig_pulls": "Every pull by zone",
    "fig_failure": "What broke, by zone",
    "fig_probability": "Normal probability plots",
    "fig_positions": "Plan of the pulls",
    "cap_pulls": "One row for each zone, one mark for each pull. Vertical lines are the limits; the short "
    "upright bar is the mean of the counted values.",
    "cap_failure": "Mean share of the tested area by place of failure, over the counted pulls whose failure "
    "was recorded.",
    "cap_probability": "Counted values in ascending order against normal quantiles (median ranks after J. J. Filliben,"
    " Technometrics 17, 1975). The line is the normal distribution with the "
    "zone's mean and standard deviation. From few pulls a straight row proves little.",
    "cap_positions": "Positions as given in the file, in metres. Marks as in the figure of every pull; zones "
    "are named where there is room.",
    "alt_pulls": "Dot plot of the strength of each pull in {unit}, one row per zone, with the limits and "
    "the mean. {decisions}",
    "alt_failure": "Stacked bars of the mean failure composition in percent, one bar per zone.",
    "alt_probability": "Normal probability plots of the strengths in {unit}, one small plot for each of {n} zones.",
    "alt_positions": "Plan of {n} pulls by position in metres, with zone names and the standing of each pull "
    "as the shape of its mark.",
    "alt_decision": "{zone}: {outcome}.",
    "numbers_of": "Numbers of this figure",
    "part_of": "{title}, part {i} of {n}",
    "prob_why_few": "{n} exact values; five are the least that a plot can show",
    "prob_why_bounds": "some values are bounds, which have no place on this plot",
    "prob_why_equal": "all values are equal",
    "prob_not_drawn": "{zone}: {why}.",
    "no_probability": "No probability plot: no zone has five counted values that are all exact.",
    "h_not_drawn": "Zones without a probability plot",
    "c_order": "Order",
    "limits": "Limits",
    "c_counted_values": "Counted",
    "c_others": "Not counted",
    "c_quantile": "Normal quantile",
    "c_marked": "Marked as",
    "c_recorded": "Recorded",
    "ax_strength": "Strength, {unit}",
    "ax_quantile": "Normal quantile",
    "ax_share": "Share of the tested area, %",
    "ax_x": "x, m",
    "ax_y": "y, m",
    "key_exact": "exact",
    "key_at_least": "at least",
    "key_at_most": "at most",
    "key_flagged": "flagged, counts",
    "key_invalid": "invalid",
    "key_excluded": "excluded",
    "key_replaced": "replaced",
    "key_lost": "lost, no value",
    "key_mean": "mean",
    "key_mean_bound": "mean is at least",
    "lim_mean": "mean ≥ {limit}",
    "lim_mean_only": "mean of some ≥ {limit}",
    "lim_mean_alike": "mean of each failure ≥ {limit}",
    "lim_smallest_unless": "smallest ≥ {limit} unless excused",
    "lim_count_unless": "{z} of {of} ≥ {limit} or excused",
    "lim_smallest": "smallest ≥ {limit}",
    "lim_characteristic": "characteristic ≥ {limit}",
    "lim_count": "{z} of {of} ≥ {limit}",
    # zones
    "h_zones": "Zone by zone",
    "zone_pulls": "See the pulls of this zone",
    "tree": "What is asked",
    "t_criteria_all": "Criteria of {zone}: all of these",
    "t_criteria_one": "Criterion of {zone}",
    "all_of": "All of these",
    "any_of": "Any one of these",
    "kind_mean": "mean at least {limit}",
    "kind_smallest": "smallest value at least {limit}",
    "kind_characteristic": "characteristic value at least {limit}",
    "kind_count": "at least {z} of {of} pulls at or above {limit}",
    "kind_failure share": "mean share of {codes} {sense} {share}",
    "kind_pulls with failure": "share of pulls with {from_share} or more of {codes} {sense} {share}",
    "kind_mean_only": "mean of the pulls with {from_share} or more of {codes}{deep} at least {limit}",
    "kind_mean_alike": "mean of each group of pulls that failed alike ({from_share} or more) at least {limit}",
    "kind_smallest_unless": "smallest value at least {limit}, unless {from_share} or more failed in {codes}{deep}",
    "kind_count_unless": "at least {z} of {of} pulls at or above {limit}, or with {from_share} of {codes}{deep}",
    "kind_pulls with failure_counted": "share of pulls with {from_share} or more of {codes}{deep} {sense} {share}",
    "kind_each pull": "each pull at or above the limit of its failure: {limits}",
    "kind_each_case": "{limit} with {from_share} or more of {codes}{deep}",
    "kind_each_otherwise": "{limit} otherwise",
    "kind_each_silent": "nothing said otherwise",
    "deep": ", {depth} deep or deeper",
    "short_mean": "the mean",
    "short_smallest": "the smallest value",
    "short_characteristic": "the characteristic value",
    "short_count": "the count",
    "short_each pull": "the limits by failure",
    "short_failure share": "the failure composition",
    "short_pulls with failure": "the failure composition",
    "of_question": "{criterion}, for {question}",
    "t_criteria": "Criteria of {zone}",
    "c_criterion": "Criterion",
    "c_value": "Value",
    "c_source": "Source",
    "value_to": "{low} to {high}",
    "to": "to",
    "binding": "decides",
    "values": "Values",
    "v_n": "Counted values",
    "v_mean": "Mean",
    "v_sd": "Standard deviation",
    "v_cov": "Coefficient of variation",
    "v_smallest": "Smallest",
    "v_largest": "Largest",
    "v_median": "Median",
    "v_interval": "Confidence interval of the mean, {confidence}",
    "v_tolerance": "Characteristic value: one-sided normal tolerance limit, content {content}, confidence {confidence}",
    "v_en1990-unknown": "Characteristic value: {fractile} fractile, standard deviation unknown",
    "v_en1990-known": "Characteristic value: {fractile} fractile, standard deviation known",
    "unsaid": "What these pulls can’t say",
    "needs": "What the unknown values would have to be",
    "hangs": "The decision hangs on",
    "hangs_none": "Nothing was found on which this decision hangs.",
    "next": "What to do next",
    "hints": "Where to look for the cause",
    "determinations": "What was determined all the same",
    "determined": "Determined: {decided} ({who}, {when}).",
    "determined_why": "Grounds: {why}",
    "determined_about": "Made on the decision that the zone {about}. Grounds: {why}",
    "determined_note": "A determination stands beside the computed decision and does not change it.",
    "letter": "A paragraph for a letter",
    "letter_zone": "Zone “{zone}” {is_outcome}; {counted} pulls count. {reason}",
    "letter_required_zone": "Zone “{zone}” {is_outcome}; {counted} pulls count, {required} were asked for. {reason}",
    "t_settled": "The decision under each reading of the rules on which the contract is silent",
    "settled_note": "The first reading is the one shown.",
    "c_glue": "Break at the dolly adhesive",
    "c_there": "Counts as broken there",
    "c_lost_rule": "Pulls lost before loading",
    "c_retest": "Retest of a valid pull",
    "glue_at_least": "from {share}: lower bound",
    "glue_discard": "from {share}: discard, test again",
    "glue_never": "value as it is",
    "lost_unknown": "values from 0 up",
    "lost_left out": "left out",
    "retest_no": "first pull stands",
    "retest_yes": "retest counts",
    "from_share": "from {share}",
    # method
    "h_method": "How it was computed, and how sure it is",
    "m_decision": "A value that is not known (a bound, a pull that was not made, a pull lost before "
    "loading) may be anything that is possible. A zone conforms when the specification is met"
    " whatever the unknown values are, does not conform when it is met for none of them, and "
    "is undetermined otherwise.",
    "m_hangs": "Each decision is tried again without each flagged pull, without each single pull, under "
    "the other rounding rule and under each reading of the contract where it is silent; where"
    " that turns the decision, the zone says so.",
    "m_unrounded": "Values are compared with their limits unrounded; a value equal to its limit meets it. "
    "The rounding of this page is for reading only.",
    "m_rounded": "Values are rounded to the last place of the limit as written (ties {ties}) and then "
    "compared; a value equal to its limit meets it.",
    "ties_even": "to even",
    "ties_up": "away from zero",
    "m_record": "Each strength is first rounded to {step}.",
    "m_step": "Strengths were entered in {unit}, in steps of {step}.",
    "m_entered": "Strengths or loads were entered in {unit}.",
    "m_step_none": "No recording step is known: strengths were computed from loads.",
    "m_screening": "Outlier tests ({tests}; {side}, level {level}) point at pulls and exclude none. They "
    "point at {flagged}; if nothing were wrong, about {expected} would be pointed at by "
    "chance alone.",
    "m_by_test": "{test}: {zones} zones tested, {flagged} flagged, {expected} expected by chance.",
    "m_no_screening": "The specification asks for no outlier test.",
    "side_low": "low side",
    "side_high": "high side",
    "side_both": "both sides",
    "test_grubbs": "Grubbs",
    "test_dixon": "Dixon",
    "t_screening": "Outlier tests",
    "c_test": "Test",
    "c_n": "n",
    "c_statistic": "Statistic",
    "c_critical": "Critical value",
    "c_p": "p",
    "c_result": "Result",
    "flagged_pull": "flags {pull}",
    "flags_none": "flags none",
    "dixon_convention": "Convention of Dixon’s ratios: {convention}.",
    "sources": "Documents that the numbers come from",
    # closing
    "h_findings": "Findings",
    "check_not_counted": "Not counted ({n}):",
    "findings_none": "Reading and judging the file gave no finding.",
    "t_findings": "What was found in the file",
    "c_severity": "Weight",
    "c_place": "Place",
    "c_finding": "Finding",
    "severity_error": "error",
    "severity_warning": "warning",
    "severity_note": "note",
    "place_sheet": "sheet {sheet}",
    "place_row": "row {row}",
    "place_column": "column {column}",
    "h_cautions": "Cautions",
    "c_always": "This page reports what follows from the readings and the specification as given. A bond "
    "that is too weak can let go and hurt people: whether the work is accepted, repaired or "
    "taken down is for the contract, the local codes and a licensed engineer to say.",
    "signatures": "Signatures",
    "sign_tested": "Tested by",
    "sign_assessed": "Assessed by",
    "sign_checked": "Checked by",
    "sign_name": "Name, office",
    "sign_date": "Date",
    "sign_signature": "Signature",
    "h_appendix": "Appendix",
    "h_all_pulls": "All pulls",
    "t_all_pulls": "All pulls as read and judged",
    "c_row": "Row",
    "c_entered": "As entered",
    "c_indicated": "As indicated",
    "c_as": "Counts as",
    "c_failure": "Failure",
    "c_date": "Date",
    "c_load": "Load",
    "c_area": "Area",
    "c_remark": "Reason and flags",
    "retest_of": "Retest of {pull}.",
    "exclusion": "Written reason: {reason}.",
    "h_inputs": "Files that this page was made from",
    "t_inputs": "Inputs and their SHA-256",
    "c_file": "File",
    "c_role": "What it is",
    "c_hash": "SHA-256",
    "inputs_note": "Whoever holds these files can compute the same decisions again.",
    **AUDIT_WORDS,
    # places of failure
    "at_A": "A substrate",
    "at_Y": "Y dolly adhesive",
    "at_Z": "Z dolly",
    "at_layer": "{letter} layer {n}",
    "at_interface": "{code} interface",
    "at_glue_face": "-/Y last layer to dolly adhesive",
    "letters": "Letters: {names}.",
    # terminal
    "check_head": "{file}: {pulls} pulls in {zones} zones.",
    "check_findings": "Findings: {counts}; by kind, the worst first.",
    "check_written": "written, {unit}",
    "check_more": "... and {n} more.",
    "check_row": "{n} row",
    "check_rows": "{n} rows",
    "check_zone": "{n} zone",
    "check_zones": "{n} zones",
    "check_file": "the file",
    "check_alike": "... and {n} more like these: {places}.",
}

LABELS_IN_WORDS: dict[str, str] = {
    "measurement": "Measurement",
    "panel": "Panel",
    "system": "System",
    "primer": "Primer",
    "layer_names": "Layers",
    "cut": "Cut around the dolly",
    "hollow": "Hollow or sound",
    "instrument": "Instrument",
    "certificate": "Certificate",
    "operator": "Operator",
    "party": "Party",
    "stage": "Stage",
    "round": "Round",
    "pour": "Pour",
    "span": "Span",
    "photo": "Photo",
    "remark": "Remark",
}
# condition -> (name, unit, decimal places)
CONDITIONS_IN_WORDS: dict[str, tuple[str, str, int]] = {
    "dolly_mm": ("Dolly", "mm", 1),
    "cut_depth_mm": ("Depth of cut", "mm", 0),
    "failure_depth_mm": ("Depth of the break", "mm", 1),
    "coating_thickness_um": ("Coating thickness", "µm", 0),
    "rate_mpa_per_s": ("Loading rate", "MPa/s", 3),
    "time_to_failure_s": ("Time to failure", "s", 0),
    "age_days": ("Age", "d", 0),
    "glue_age_days": ("Dolly adhesive cured", "d", 2),
    "temperature_c": ("Temperature", "°C", 1),
    "moisture_percent": ("Moisture", "%", 1),
    "x_m": ("x", "m", 2),
    "y_m": ("y", "m", 2),
}


def word(key: str) -> str:
    """A word or label. An unknown key is a fault of ours and raises KeyError."""
    return WORDS[key]


def fill(key: str, **parts: Part) -> tuple[Part, ...]:
    """The sentence of ``key`` as parts, its fields filled with parts (numbers stay numbers)."""
    filled: list[Part] = []
    for text, name, _, _ in Formatter().parse(WORDS[key]):
        if text:
            filled.append(text)
        if name:
            filled.append(parts[name])
    return tuple(filled)


def broke_at(code: str) -> str:
    """A place of failure in words: letters count from the substrate A; Y is the dolly adhesive, Z the dolly (ISO
    4624).
    """
    if code == "-/Y":
        return word("at_glue_face")
    if "/" in code:
        return word("at_interface").format(code=code)
    if f"at_{code}" in WORDS:
        return word(f"at_{code}")
    return word("at_layer").format(letter=code, n=ord(code) - ord("A")) if len(code) == 1 and code.isalpha() else code
