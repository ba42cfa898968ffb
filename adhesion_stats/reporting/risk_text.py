"""What the command line prints of the risk of a rule: short tables, plain text of at most a hundred columns."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from adhesion_stats.quantities import decimal_text
from adhesion_stats.reporting.risk_columns import HELD, probability, risk_columns, share, strength, values
from adhesion_stats.reporting.rule_sentences import rule_sentence
from adhesion_stats.reporting.terminal import GAP, WIDTH, visible, wrapped
from adhesion_stats.reporting.words import word

__all__ = [
    "asked_sentence",
    "assumptions",
    "before_table",
    "part_sentences",
    "risk_json",
    "risk_text",
    "zones_named",
]

Facts = Mapping[str, Any]  # plain facts of ``planning.risk``: the same tree that --json prints
_CONSUMER, _HALF, _PRODUCER = 0.10, 0.50, 0.95
_WORTH_SAYING = 0.001


def risk_json(facts: Mapping[str, object]) -> str:
    """Return the facts as one JSON object; strengths in MPa, shares and probabilities from 0 to 1."""
    return json.dumps(facts, ensure_ascii=True, indent=2, allow_nan=False)


def risk_text(facts: Facts) -> str:
    """Return the facts as text."""
    unit: str = facts["unit"]
    lines = list(wrapped(word("risk_head").format(file=visible(facts["file"])), WIDTH))
    for text in assumptions(facts["assumed"], unit):
        lines += wrapped(text, WIDTH)
    several = len(facts["parts"]) > 1
    for part in facts["parts"]:
        lines += ["", *_part(part, facts, unit, several=several)]
    if facts["stages"] is not None:
        lines += ["", *wrapped(_stages(facts["stages"]), WIDTH)]
    lines += ["", *wrapped(word("risk_cautions").format(seed=facts["assumed"]["seed"]), WIDTH)]
    return "\n".join(lines).replace(HELD, " ")


def _stages(stages: Facts) -> str:
    names = ", ".join(name or word("risk_stage_none") for name in stages["names"])
    return word("risk_stages").format(
        count=len(stages["names"]), names=names, each=share(stages["each"]), all=share(stages["all"])
    )


def assumptions(assumed: Facts, unit: str) -> Iterator[str]:
    """What is assumed of the pulls."""
    source = "" if assumed["cov_given"] else word("risk_cov_own")
    yield word("risk_assumed_measured" if assumed["per_measurement"] else "risk_assumed").format(
        distribution=word(f"risk_{assumed['distribution']}"), cov=share(assumed["cov"]), source=source
    )
    if assumed["per_measurement"]:
        own = "" if assumed["between_given"] else word("risk_between_own")
        yield word("risk_between").format(
            each=assumed["per_measurement"],
            between=share(assumed["between"]),
            within=share(1.0 - assumed["between"]),
            source=own,
        )
    if assumed["glue_share"]:
        again = assumed["glue_tested_again"]
        yield word("risk_glue_again" if again else "risk_glue").format(glue=share(assumed["glue_share"]))
    if assumed["lost_share"]:
        yield word("risk_lost").format(lost=share(assumed["lost_share"]))
    if assumed["ceiling_mpa"] is not None and (assumed["glue_share"] or assumed["lost_share"]):
        yield word("risk_ceiling").format(ceiling=strength(assumed["ceiling_mpa"], unit))
    if assumed["broke"]:
        shares = ", ".join(f"{visible(code)} {share(share)}" for code, share in assumed["broke"])
        yield word("risk_broke").format(shares=shares)


def _part(part: Facts, facts: Facts, unit: str, *, several: bool) -> Iterator[str]:
    stage = word("risk_stage").format(stage=part["stage"]) if part["stage"] else ""
    yield from wrapped(f"{zones_named(part['zones'], several=several)}{stage}: {asked_sentence(part)}", WIDTH)
    for text in before_table(part):
        yield from wrapped(text, WIDTH)
    if part["left_out"]:
        yield from wrapped(word("risk_left_out"), WIDTH)
    if part["against"] is not None:
        other = part["against"]
        text = word("risk_against").format(
            file=visible(facts["against"]), rule=asked_sentence(other), how=_how(other, facts)
        )
        yield from wrapped(text, WIDTH)
    yield from _table(part, unit)
    for text in part_sentences(part, facts, unit):
        yield from wrapped(text, WIDTH)


def zones_named(zones: Sequence[str], *, several: bool) -> str:
    """Whose rule it is."""
    named = [visible(zone) for zone in zones if zone]
    if not named:
        return word("risk_zones_other" if several else "risk_zones_all")
    return word("risk_zones_named" if len(named) == 1 else "risk_zones_several").format(names=", ".join(named))


def asked_sentence(part: Facts) -> str:
    """How many values, and what is asked of them."""
    return word("risk_rule").format(values=values(part), asked=rule_sentence(part["asked"]))


def _table(part: Facts, unit: str) -> Iterator[str]:
    columns = risk_columns(part, unit)
    if part["against"] is not None:
        columns.append((word("risk_c_other"), [probability(row["conforms"]) for row in part["against"]["rows"]]))
    widths = [max(len(head), *(len(cell) for cell in cells)) for head, cells in columns]
    table = [[head for head, _ in columns], *zip(*(cells for _, cells in columns), strict=True)]
    for row in table:
        yield GAP.join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def part_sentences(part: Facts, facts: Facts, unit: str) -> Iterator[str]:
    """The points of a part and what stands beside them."""
    for point in part["accepted_at"]:
        key = {_CONSUMER: "risk_consumer", _HALF: "risk_even", _PRODUCER: "risk_producer"}.get(point["probability"])
        if key is None:
            continue
        p = share(point["probability"])
        if point["mean_mpa"] is None:
            yield word("risk_never").format(p=p)
            continue
        below = ""
        if part["limit_mpa"] is not None:
            below = word("risk_below").format(
                share=probability(point["share_below"]), limit=strength(part["limit_mpa"], unit)
            )
        yield word(key).format(mean=strength(point["mean_mpa"], unit), below=below, p=p)
    if part["good"] is not None:
        good = part["good"]
        yield word("risk_good").format(
            mean=strength(good["mean_mpa"], unit),
            rejected=probability(good["does_not_conform"]),
            open=probability(good["undetermined"]),
        )
        if part["zones_together"] is not None:
            yield word("risk_whole").format(
                zones=part["zones_together"],
                mean=strength(good["mean_mpa"], unit),
                p=probability(good["conforms"]),
                whole=probability(good["all_zones_conform"]),
            )
    if part["bad"] is not None:
        bad = part["bad"]
        yield word("risk_bad").format(mean=strength(bad["mean_mpa"], unit), accepted=probability(bad["conforms"]))
    if part["ladder"] is not None:
        yield from _ladder(part["ladder"], unit)
    if part["against"] is not None:
        yield from _beside(part, unit)
    yield from _more(part, unit)
    yield word("risk_how").format(how=_how(part, facts))


def before_table(part: Facts) -> Iterator[str]:
    """The steps of the ladder, and the zones over which a spread is pooled."""
    if part["ladder"] is not None:
        yield word("risk_ladder").format(steps="; ".join(_step(step) for step in part["ladder"]["steps"]))
    if part["ladder_not_told"]:
        yield word("risk_ladder_not_told")
    pool = part["pool"]
    if pool is not None:
        key = "risk_pool_others" if pool["others"] else "risk_pool"
        yield word(key).format(zones=pool["zones"], others=pool["others"], df=pool["degrees_of_freedom"])


def _step(step: Facts) -> str:
    on = word(f"risk_on_{step['on']}")
    if step["do"] != "revise and repeat":
        return word("risk_step_refer").format(on=on)
    return word("risk_step_repeat").format(on=on, values=values(step))


def _ladder(ladder: Facts, unit: str) -> Iterator[str]:
    low, high = ladder["accepted_at"]
    if low["mean_mpa"] is not None and high["mean_mpa"] is not None:
        yield word("risk_ladder_points").format(
            low_p=share(low["probability"]),
            low=strength(low["mean_mpa"], unit),
            high_p=share(high["probability"]),
            high=strength(high["mean_mpa"], unit),
        )
    bad = ladder["bad"]
    if bad is not None:
        yield word("risk_ladder_bad").format(
            mean=strength(bad["mean_mpa"], unit),
            first=probability(bad["first_round"]),
            conforms=probability(bad["conforms"]),
            referred=probability(bad["referred"]),
            pulls=decimal_text(bad["pulls"], 1),
        )
    error = f"{decimal_text(100.0 * ladder['standard_error'], 1)} %"
    yield word("risk_ladder_exact") if ladder["exact"] else word("risk_ladder_simulated").format(error=error)


def _beside(part: Facts, unit: str) -> Iterator[str]:
    """Where two rules differ: at which means most, and their points."""

    def mean_of(rule: Facts, probability: float) -> str:
        found = next(p["mean_mpa"] for p in rule["accepted_at"] if p["probability"] == probability)
        return word("risk_no_mean") if found is None else strength(found, unit)

    for difference in part["differences"]:
        yield word(f"risk_differ_{difference['more']}").format(
            mean=strength(difference["mean_mpa"], unit),
            first=probability(difference["first"]),
            second=probability(difference["second"]),
        )
    if not part["differences"]:
        yield word("risk_differ_hardly")
    other = part["against"]
    yield word("risk_side_points").format(
        low_p=share(_CONSUMER),
        low_one=mean_of(part, _CONSUMER),
        low_two=mean_of(other, _CONSUMER),
        high_p=share(_PRODUCER),
        high_one=mean_of(part, _PRODUCER),
        high_two=mean_of(other, _PRODUCER),
    )


def _more(part: Facts, unit: str) -> Iterator[str]:
    if part["split"] is not None and None not in part["split"].values():
        split = part["split"]
        yield word("risk_split").format(
            p=share(split["probability"]),
            within=strength(split["within"], unit),
            between=strength(split["between"], unit),
        )
    if part["by_pulls"] is not None:
        rows = part["by_pulls"]["rows"]
        yield word("risk_pulls").format(
            mean=strength(part["by_pulls"]["mean_mpa"], unit),
            rows=", ".join(
                word("risk_pulls_row").format(values=values(row, short=True), p=probability(row["conforms"]))
                for row in rows
            ),
        )
        chances = [row["conforms"] for row in rows]
        best = max(range(len(chances)), key=chances.__getitem__)
        if chances[-1] < chances[best] - _WORTH_SAYING:
            yield word("risk_stricter").format(values=values(rows[best], short=True))
    if part["again"] is not None:
        again = part["again"]
        combined = "" if again["combined"] is None else word("risk_combined").format(p=probability(again["combined"]))
        yield word("risk_again").format(
            mean=strength(again["mean_mpa"], unit),
            twice=probability(again["replacing"]),
            once=probability(again["once"]),
            combined=combined,
        )
    if part["divided"] is not None:
        divided = part["divided"]
        yield word("risk_divided").format(
            least=divided["least_values"],
            part=probability(divided["a_part_conforms"]),
            chosen=probability(divided["chosen_conform"]),
        )


def _how(part: Facts, facts: Facts) -> str:
    return word(f"risk_how_{part['how']}").format(
        simulations=part["simulations"],
        seed=facts["assumed"]["seed"],
        error=f"{decimal_text(100.0 * part['standard_error'], 1)} %",
    )
