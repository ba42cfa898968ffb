"""The parts of an assessment, as the steps give them."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from adhesion_stats.acceptance import Cases, Outcome
from adhesion_stats.assessment.classes import ZoneClass
from adhesion_stats.assessment.decide import Readings
from adhesion_stats.assessment.ladder import Rung, rungs
from adhesion_stats.assessment.pull_facts import Retests
from adhesion_stats.assessment.rezoned import Rezoning
from adhesion_stats.assessment.summary import ZoneSummary
from adhesion_stats.judging import Populations, ScreeningTable, silent_rules
from adhesion_stats.messages import Message
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.specification import Specification

__all__ = ["Parts"]


@dataclass(frozen=True)
class Parts:
    """What was read, judged and decided.

    Attributes
    ----------
    pulls, specification
        The inputs, as facts.
    standing
        Judgement of each pull under the reading of the contract that is shown, with flags.
    cases
        The values that the shown decisions are about, with flags.
    zones
        Names of the zones, those of the file first.
    readings
        The decisions under every way to read the contract.
    summaries
        Per zone, what its counted pulls say.
    screening
        Outlier tests.
    messages
        Findings of all stages.
    populations
        What the zones stand for where the contract parts them by stage or round.
    rezoned
        Pulls that stand in another zone than planned.
    classes
        Into which class each zone falls, where the contract sorts zones into classes.
    layout_source
        Name and SHA-256 (hex) of the layout file by which the readings were read, None where there was none.
    """

    pulls: Pulls
    specification: Specification
    standing: Standing
    cases: Cases
    zones: tuple[str, ...]
    readings: Readings
    summaries: tuple[ZoneSummary, ...]
    screening: ScreeningTable
    messages: tuple[Message, ...]
    layout_source: tuple[str, str] | None
    populations: Populations
    rezoned: tuple[Rezoning, ...] = ()
    classes: tuple[ZoneClass, ...] = ()

    @functools.cached_property
    def rungs(self) -> Mapping[str, Rung]:
        """Where each population stands on the contract's retest ladder; empty where zones are not parted."""
        return rungs(self.specification, self.populations.of, self.readings.outcome)

    @property
    def outcomes_that_stand(self) -> Mapping[str, Outcome]:
        """The decisions of which the contract's is made: without rounds that a later one stands for."""
        found = {zone: self.readings.outcome(zone) for zone in self.zones}
        on = self.rungs
        return {
            zone: outcome
            for zone, outcome in found.items()
            if outcome is not None and (zone not in on or on[zone].state == "stands")
        }

    @functools.cached_property
    def silent(self) -> tuple[str, ...]:
        """The rules on which the contract is silent and which the pulls make matter."""
        return silent_rules(self.specification, self.pulls)

    @functools.cached_property
    def retests(self) -> Retests:
        """Which counted pull stands for which."""
        return Retests.of(self.pulls, self.standing)
