"""Words of the risk of a rule, as the command line and the figure say them. Part of ``words.WORDS``; no imports."""

from __future__ import annotations

__all__ = ["RISK_WORDS"]

RISK_WORDS: dict[str, str] = {
    "risk_head": "Risk of the rule: {file}",
    "risk_zones_all": "Every zone",
    "risk_zones_other": "Zones that no rule names",
    "risk_zones_named": "Zone {names}",
    "risk_zones_several": "Zones {names}",
    "risk_rule": "{values}; {asked}.",
    "risk_pulls_one": "1 pull",
    "risk_pulls_many": "{pulls} pulls",
    "risk_measurements_one": "1 measurement of {each} pulls",
    "risk_measurements_many": "{values} measurements of {each} pulls ({pulls} pulls)",
    "risk_measurements_one_short": "1 measurement",
    "risk_measurements_many_short": "{values} measurements",
    "risk_between": "The {each} pulls of a measurement are one value, their mean. Of the variance of single pulls "
    "{between} lie between measurements and {within} within them{source}.",
    "risk_between_own": " (no --between given; an assumption of this program, no published source)",
    "risk_split": "The split matters: to conform {p} of the time a zone needs a mean of {within} were all of the "
    "variance within measurements, {between} were all of it between them.",
    "risk_assumed": "Assumed: independent pulls, {distribution}, coefficient of variation {cov}{source}.",
    "risk_assumed_measured": "Assumed: independent measurements, {distribution}, coefficient of variation of single "
    "pulls {cov}{source}.",
    "risk_cov_own": " (no --cov given)",
    "risk_glue": "{glue} of the pulls break in the glue and are at least their value.",
    "risk_glue_again": "Pulls that break in the glue are tested again and change nothing here.",
    "risk_lost": "{lost} of the pulls give no value.",
    "risk_ceiling": "No unknown value lies above {ceiling}.",
    "risk_broke": "Pulls break in {shares}, whatever their strength.",
    "risk_left_out": "What the rule asks of the failure is left out: this is the risk of the strengths alone (--broke "
    "assumes where pulls break).",
    "risk_c_mean": "true mean",
    "risk_c_below": "below {limit}",
    "risk_c_pulls_below": "pulls below {limit}",
    "risk_c_conforms": "conforms",
    "risk_c_fails": "does not",
    "risk_c_open": "undetermined",
    "risk_c_whole": "all {zones} zones",
    "risk_c_other": "conforms, other",
    "risk_consumer": "Consumer's point: a zone of mean {mean}{below} still conforms {p} of the time.",
    "risk_producer": "Producer's point: a zone needs a mean of {mean}{below} to conform {p} of the time.",
    "risk_even": "Even chance at a mean of {mean}{below}.",
    "risk_below": " ({share} below {limit})",
    "risk_never": "There is no mean at which a zone conforms {p} of the time.",
    "risk_good": "A good zone, mean {mean}: rejected {rejected}, undetermined {open} of the time.",
    "risk_bad": "A bad zone, mean {mean}: accepted {accepted} of the time.",
    "risk_pulls": "The same zone with other numbers of pulls (mean {mean}): {rows}.",
    "risk_pulls_row": "{values} {p}",
    "risk_stricter": "From {values} on this rule gets stricter with every one more: a limit that no single value "
    "may miss is missed more often.",
    "risk_whole": "{zones} zones of mean {mean}: one conforms {p}, all of them {whole} of the time.",
    "risk_again": "A zone of mean {mean} that may be tested a second time without anything being mended conforms "
    "{twice} instead of {once} of the time{combined}.",
    "risk_combined": " ({p} where both tries count together)",
    "risk_divided": "Caution: if the border may be drawn when results are known ({least} values or more to a part), "
    "some part of that zone conforms {part} of the time, and {chosen} if its values may be picked. Draw borders before "
    "the first pull.",
    "risk_how": "How: {how}.",
    "risk_how_count": "exact; number of pulls that reach the limit, P = sum over i >= z of C(n, i) p^i (1 - p)^(n - i)",
    "risk_how_counts": "exact; numbers of pulls between the limits, multinomial sum",
    "risk_how_mean": "exact; normal mean, P = Phi(sqrt(n) (mu - L) / sigma)",
    "risk_how_mean and values": "exact; distribution of the sum of n values cut at the limits, by Fourier series "
    "(error below 0.000001)",
    "risk_how_mean less sd": "exact; non-central t, P = P(T'(n - 1; sqrt(n) (mu - L) / sigma) >= k sqrt(n))",
    "risk_how_simulated": "{simulations} simulated zones decided as real ones are, seed {seed}; standard error at most "
    "{error}",
    "risk_cautions": "Second tries that count together and borders drawn later are simulated (10 000 zones, seed "
    "{seed}; standard error at most 0.5 %). Pulls that lie close together are alike: true risks are then larger. "
    "These numbers serve the engineer's judgement; the contract, local codes and a licensed engineer decide.",
    "risk_of": "{what} ({code})",
    "risk_against": "Against {file}: {rule} {how}",
    "risk_normal": "normal strengths",
    "risk_lognormal": "lognormal strengths",
    "risk_weibull": "Weibull strengths",
    "risk_kind_mean": "mean at least {limits}",
    "risk_kind_smallest": "smallest value at least {limits}",
    "risk_kind_characteristic": "characteristic value at least {limits}",
    "risk_kind_count": "at least {z} of {of} pulls at or above {limits}",
    "risk_kind_other": "{kind} {limits}",
    "ax_true_mean": "True mean strength of the zone [{unit}]",
    "ax_probability": "Probability [%]",
    "risk_curve_conforms": "conforms",
    "risk_curve_does_not_conform": "does not conform",
    "risk_curve_undetermined": "undetermined",
}
