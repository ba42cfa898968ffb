"""What the command line prints of the risk of a rule: short tables, plain text of at most a hundred columns."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from adhesion_stats.quantities import decimal_text, shown, shown_percent
from adhesion_stats.reporting.terminal import GAP, WIDTH, visible, wrapped
from adhesion_stats.reporting.words import WORDS, word
from adhesion_stats.units import factor

__all__ = ["risk_json", "risk_text"]

Facts = Mapping[str, Any]  # plain facts of ``planning.risk``: the same tree that --json prints
_HELD = "\N{NO-BREAK SPACE}"  # holds a number and its unit in one line
_CONSUMER, _HALF, _PRODUCER = 0.10, 0.50, 0.95
_WORTH_SAYING = 0.001


def risk_json(facts: Mapping[str, object]) -> str:
    """Return the facts as one JSON object; strengths in MPa, shares and probabilities from 0 to 1."""
    return json.dumps(facts, ensure_ascii=True, indent=2, allow_nan=False)


def risk_text(facts: Facts) -> str:
    """Return the facts as text."""
    unit: str = facts["unit"]
    lines = list(wrapped(word("risk_head").format(file=visible(facts["file"])), WIDTH))
    for text in _assumptions(facts["assumed"], unit):
        lines += wrapped(text, WIDTH)
    several = len(facts["parts"]) > 1
    for part in facts["parts"]:
        lines += ["", *_part(part, facts, unit, several=several)]
    lines += ["", *wrapped(word("risk_cautions").format(seed=facts["assumed"]["seed"]), WIDTH)]
    return "\n".join(lines).replace(_HELD, " ")


def _assumptions(assumed: Facts, unit: str) -> Iterator[str]:
    source = "" if assumed["cov_given"] else word("risk_cov_own")
    yield word("risk_assumed_measured" if assumed["per_measurement"] else "risk_assumed").format(
        distribution=word(f"risk_{assumed['distribution']}"), cov=_share(assumed["cov"]), source=source
    )
    if assumed["per_measurement"]:
        own = "" if assumed["between_given"] else word("risk_between_own")
        yield word("risk_between").format(
            each=assumed["per_measurement"],
            between=_share(assumed["between"]),
            within=_share(1.0 - assumed["between"]),
            source=own,
        )
    if assumed["glue_share"]:
        again = assumed["glue_tested_again"]
        yield word("risk_glue_again" if again else "risk_glue").format(glue=_share(assumed["glue_share"]))
    if assumed["lost_share"]:
        yield word("risk_lost").format(lost=_share(assumed["lost_share"]))
    if assumed["ceiling_mpa"] is not None and (assumed["glue_share"] or assumed["lost_share"]):
        yield word("risk_ceiling").format(ceiling=_strength(assumed["ceiling_mpa"], unit))
    if assumed["broke"]:
        shares = ", ".join(f"{visible(code)} {_share(share)}" for code, share in assumed["broke"])
        yield word("risk_broke").format(shares=shares)


def _part(part: Facts, facts: Facts, unit: str, *, several: bool) -> Iterator[str]:
    yield from wrapped(f"{_zones(part['zones'], several=several)}: {_asked(part)}", WIDTH)
    if part["left_out"]:
        yield from wrapped(word("risk_left_out"), WIDTH)
    if part["against"] is not None:
        other = part["against"]
        text = word("risk_against").format(file=visible(facts["against"]), rule=_asked(other), how=_how(other, facts))
        yield from wrapped(text, WIDTH)
    yield from _table(part, facts, unit)
    for text in _sentences(part, facts, unit):
        yield from wrapped(text, WIDTH)


def _zones(zones: Sequence[str], *, several: bool) -> str:
    named = [visible(zone) for zone in zones if zone]
    if not named:
        return word("risk_zones_other" if several else "risk_zones_all")
    return word("risk_zones_named" if len(named) == 1 else "risk_zones_several").format(names=", ".join(named))


def _asked(part: Facts) -> str:
    return word("risk_rule").format(values=_values(part), asked=_list(part["asked"]))


def _values(row: Facts, *, short: bool = False) -> str:
    """How many pulls, or measurements with their pulls."""
    if row["pulls"] == row["values"]:
        return word("risk_pulls_one" if row["pulls"] == 1 else "risk_pulls_many").format(pulls=row["pulls"])
    key = "risk_measurements_one" if row["values"] == 1 else "risk_measurements_many"
    key += "_short" if short else ""
    return word(key).format(values=row["values"], each=row["pulls"] // row["values"], pulls=row["pulls"])


def _list(asked: Sequence[Facts]) -> str:
    found = []
    for criterion in asked:
        key = f"risk_kind_{criterion['kind']}"
        limits = ", ".join(visible(text) for text in criterion["limits"])
        template = WORDS.get(key, WORDS["risk_kind_other"])
        text = template.format(kind=criterion["kind"], limits=limits, z=criterion["z"], of=criterion["of"])
        question = criterion["question"]
        found.append(
            text.strip() if question is None else word("risk_of").format(what=text.strip(), code=visible(question))
        )
    return "; ".join(found)


def _table(part: Facts, facts: Facts, unit: str) -> Iterator[str]:
    rows: Sequence[Facts] = part["rows"]
    other = None if part["against"] is None else part["against"]["rows"]
    limit = part["limit_mpa"]
    heads = [word("risk_c_mean"), word("risk_c_conforms"), word("risk_c_fails")]
    undetermined = any(row["undetermined"] > 0 for row in rows)
    if undetermined:
        heads.append(word("risk_c_open"))
    if limit is not None:
        key = "risk_c_below" if part["pulls"] == part["values"] else "risk_c_pulls_below"
        heads.insert(1, word(key).format(limit=_strength(limit, unit)))
    if facts["zones"] is not None:
        heads.append(word("risk_c_whole").format(zones=facts["zones"]))
    if other is not None:
        heads.append(word("risk_c_other"))
    table = [heads]
    for i, row in enumerate(rows):
        cells = [_strength(row["mean_mpa"], unit), _probability(row["conforms"]), _probability(row["does_not_conform"])]
        if undetermined:
            cells.append(_probability(row["undetermined"]))
        if limit is not None:
            cells.insert(1, _probability(row["share_below"]))
        if facts["zones"] is not None:
            cells.append(_probability(row["all_zones_conform"]))
        if other is not None:
            cells.append(_probability(other[i]["conforms"]))
        table.append(cells)
    widths = [max(len(cells[c]) for cells in table) for c in range(len(heads))]
    for cells in table:
        yield GAP.join(cell.rjust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()


def _sentences(part: Facts, facts: Facts, unit: str) -> Iterator[str]:
    for point in part["accepted_at"]:
        key = {_CONSUMER: "risk_consumer", _HALF: "risk_even", _PRODUCER: "risk_producer"}.get(point["probability"])
        if key is None:
            continue
        p = _share(point["probability"])
        if point["mean_mpa"] is None:
            yield word("risk_never").format(p=p)
            continue
        below = ""
        if part["limit_mpa"] is not None:
            below = word("risk_below").format(
                share=_probability(point["share_below"]), limit=_strength(part["limit_mpa"], unit)
            )
        yield word(key).format(mean=_strength(point["mean_mpa"], unit), below=below, p=p)
    if part["good"] is not None:
        good = part["good"]
        yield word("risk_good").format(
            mean=_strength(good["mean_mpa"], unit),
            rejected=_probability(good["does_not_conform"]),
            open=_probability(good["undetermined"]),
        )
        if facts["zones"] is not None:
            yield word("risk_whole").format(
                zones=facts["zones"],
                mean=_strength(good["mean_mpa"], unit),
                p=_probability(good["conforms"]),
                whole=_probability(good["all_zones_conform"]),
            )
    if part["bad"] is not None:
        bad = part["bad"]
        yield word("risk_bad").format(mean=_strength(bad["mean_mpa"], unit), accepted=_probability(bad["conforms"]))
    yield from _more(part, unit)
    yield word("risk_how").format(how=_how(part, facts))


def _more(part: Facts, unit: str) -> Iterator[str]:
    if part["split"] is not None and None not in part["split"].values():
        split = part["split"]
        yield word("risk_split").format(
            p=_share(split["probability"]),
            within=_strength(split["within"], unit),
            between=_strength(split["between"], unit),
        )
    if part["by_pulls"] is not None:
        rows = part["by_pulls"]["rows"]
        yield word("risk_pulls").format(
            mean=_strength(part["by_pulls"]["mean_mpa"], unit),
            rows=", ".join(
                word("risk_pulls_row").format(values=_values(row, short=True), p=_probability(row["conforms"]))
                for row in rows
            ),
        )
        chances = [row["conforms"] for row in rows]
        best = max(range(len(chances)), key=chances.__getitem__)
        if chances[-1] < chances[best] - _WORTH_SAYING:
            yield word("risk_stricter").format(values=_values(rows[best], short=True))
    if part["again"] is not None:
        again = part["again"]
        combined = "" if again["combined"] is None else word("risk_combined").format(p=_probability(again["combined"]))
        yield word("risk_again").format(
            mean=_strength(again["mean_mpa"], unit),
            twice=_probability(again["replacing"]),
            once=_probability(again["once"]),
            combined=combined,
        )
    if part["divided"] is not None:
        divided = part["divided"]
        yield word("risk_divided").format(
            least=divided["least_values"],
            part=_probability(divided["a_part_conforms"]),
            chosen=_probability(divided["chosen_conform"]),
        )


def _how(part: Facts, facts: Facts) -> str:
    return word(f"risk_how_{part['how']}").format(
        simulations=part["simulations"],
        seed=facts["assumed"]["seed"],
        error=f"{decimal_text(100.0 * part['standard_error'], 1)} %",
    )


def _strength(mpa: float, unit: str) -> str:
    """Two decimals in MPa; in smaller units as many as keep three figures of a usual limit."""
    size = factor(unit, "strength")
    return shown(mpa, unit, 0 if size < 0.01 else 1 if size < 0.1 else 2).replace(" ", _HELD)


def _share(share: float) -> str:
    text = decimal_text(100.0 * share, 1)
    return f"{text.removesuffix('.0')}{_HELD}%"


def _probability(share: float) -> str:
    """One decimal; what is not certain never reads 0.0 or 100.0 %."""
    if 0.0 < share < 0.0005:
        return f"<{_HELD}0.1{_HELD}%"
    if 0.9995 < share < 1.0:
        return f">{_HELD}99.9{_HELD}%"
    return shown_percent(100.0 * share, 1).replace(" ", _HELD)
