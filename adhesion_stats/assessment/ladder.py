"""Where a contract stands on its retest ladder: the decision of each round, the step that is due, what it asks.

The first round is decided by its own pulls. While a round came to what the next step is for, that step is due: another
round (decided by its own pulls alone), or the designer. The last round that was reached and made stands for the zone in
the contract's decision; rounds before it stay in the record with their decisions, and rounds that no step asked for
count for nothing and are said.

Imports: acceptance, judging, messages.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from adhesion_stats.acceptance import Outcome
from adhesion_stats.judging import Population
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.terms.specification import Specification

__all__ = ["Rung", "ladder_messages", "population_facts", "rungs"]


@dataclass(frozen=True)
class Rung:
    """A population on the ladder.

    ``state``: "stands" (its decision is the zone's), "superseded" (a later round stands), "not asked" (a later round
    that no step asked for). ``step`` (None: none) is the step that is due after it, ``due`` what it asks.
    """

    population: Population
    state: str
    step: int | None = None
    due: Message | None = None


def rungs(
    specification: Specification, of: Mapping[str, Population], outcome: Callable[[str], Outcome | None]
) -> dict[str, Rung]:
    """Return for each population's name where it stands; every population stands where there is no ladder."""
    chains: dict[tuple[str, str], dict[int, str]] = {}
    for name, population in of.items():
        chains.setdefault((population.zone, population.stage), {})[population.round] = name
    found: dict[str, Rung] = {}
    for chain in chains.values():
        found |= _chain(specification, of, chain, outcome)
    return found


def _chain(
    specification: Specification,
    of: Mapping[str, Population],
    chain: Mapping[int, str],
    outcome: Callable[[str], Outcome | None],
) -> dict[str, Rung]:
    found: dict[str, Rung] = {}
    number, reached = 1, True
    while reached and number in chain:
        name = chain[number]
        step = specification.ladder[number - 1] if number <= len(specification.ladder) else None
        decided = outcome(name)
        due = step is not None and decided is not None and decided.words == step.on
        goes_on = due and step is not None and step.do == "revise and repeat" and number + 1 in chain
        if goes_on:
            found[name] = Rung(of[name], "superseded", number)
        else:
            asks = _due(specification, number) if due else None
            found[name] = Rung(of[name], "stands", number if due else None, asks)
        reached, number = goes_on, number + 1
    for name in chain.values():
        found.setdefault(name, Rung(of[name], "not asked"))
    return found


def _due(specification: Specification, number: int) -> Message:
    """What the step asks after round ``number``."""
    step = specification.ladder[number - 1]
    facts: dict[str, Fact] = {"round": number, "step": number, "steps": len(specification.ladder)}
    if step.do == "refer to the designer":
        return Message("ladder_refer", facts=facts)
    if step.pulls is None:
        return Message("ladder_repeat", facts=facts | {"next": number + 1})
    return Message("ladder_repeat_pulls", facts=facts | {"next": number + 1, "count": step.pulls})


def ladder_messages(found: Mapping[str, Rung]) -> list[Message]:
    """Say each round that no step asked for."""
    return [
        Message("round_not_asked", Severity.WARNING, facts={"zone": rung.population.zone, "name": name})
        for name, rung in found.items()
        if rung.state == "not asked"
    ]


def population_facts(name: str, found: Mapping[str, Rung], specification: Specification) -> dict[str, object] | None:
    """What a population is and where it stands, as facts for results.json; None where zones are not parted.

    ``said``: messages about the place on the ladder; ``stands``: whether its decision is one of the contract's.
    """
    rung = found.get(name)
    if rung is None:
        return None
    population, said = rung.population, list[Message]()
    if rung.state == "superseded":
        by = next(
            other
            for other, later in found.items()
            if later.population == Population(population.zone, population.stage, population.round + 1)
        )
        said.append(Message("population_superseded", facts={"round": population.round, "by": by}))
    elif rung.state == "not asked":
        said.append(Message("population_not_asked", facts={"round": population.round}))
    elif population.round > 1:
        last = population.round - 1
        came = specification.ladder[last - 1].on  # the step to this round was taken for that reason
        facts: dict[str, Fact] = {"round": population.round, "before": last, "came": came}
        said.append(Message("population_stands", facts=facts))
    return {
        "zone": population.zone,
        "stage": population.stage,
        "round": population.round,
        "stands": rung.state == "stands",
        "step": rung.step,
        "said": [message.as_dict() for message in said],
    }
