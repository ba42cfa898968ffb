"""Assessment: from readings and terms to one value that holds everything a document needs. Facts only, no words.

The order is fixed: judging under every way to read the contract -> decisions over every completion of the unknown
values -> what all ways agree on -> summaries, screening, what the decisions hang on, what to do next.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from adhesion_stats.acceptance import Outcome, cases, zones_of
from adhesion_stats.assessment.at_hand import at_hand_messages
from adhesion_stats.assessment.check import standing_messages
from adhesion_stats.assessment.classes import class_messages, classes_every_way
from adhesion_stats.assessment.decide import decide_every_way
from adhesion_stats.assessment.measurements import measurement_messages
from adhesion_stats.assessment.parts import Parts
from adhesion_stats.assessment.results import results_of
from adhesion_stats.assessment.rezoned import rezoned_in_file, rezoning_messages
from adhesion_stats.assessment.sense import sense_messages
from adhesion_stats.assessment.substrate import substrate_messages
from adhesion_stats.assessment.summary import summarise
from adhesion_stats.intake import Reading
from adhesion_stats.judging import parted, preparation_messages, screen
from adhesion_stats.terms.specification import Specification

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Assessment", "assess"]


@dataclass(frozen=True)
class Assessment(Parts):
    """An assessment; its fields are those of ``Parts``."""

    @property
    def outcomes(self) -> Mapping[str, str]:
        """Decision per zone, in words; zones of which nothing is asked are left out."""
        found = {zone: self.readings.outcome(zone) for zone in self.zones}
        return {zone: outcome.words for zone, outcome in found.items() if outcome is not None}

    @property
    def decision(self) -> str:
        """Decision of the contract: does not conform if a zone does not, conforms if all do, else undetermined."""
        outcomes = {outcome.words for outcome in self.outcomes_that_stand.values()}
        if Outcome.DOES_NOT_CONFORM.words in outcomes:
            return Outcome.DOES_NOT_CONFORM.words
        return Outcome.CONFORMS.words if outcomes == {Outcome.CONFORMS.words} else Outcome.UNDETERMINED.words

    def as_dict(self) -> dict[str, object]:
        """Everything as plain values, as written to results.json."""
        return results_of(self)

    def to_frame(self) -> pd.DataFrame:
        """One row per zone, for people (pandas); strengths in MPa."""
        import pandas as pd

        return pd.DataFrame(
            {
                "zone": [summary.zone for summary in self.summaries],
                "decision": [self.outcomes.get(summary.zone) for summary in self.summaries],
                "n": [summary.n for summary in self.summaries],
                "mean_mpa": [summary.mean for summary in self.summaries],
                "sd_mpa": [summary.sd for summary in self.summaries],
                "smallest_mpa": [summary.smallest for summary in self.summaries],
            }
        ).set_index("zone")


def assess(reading: Reading, specification: Specification) -> Assessment:
    """Assess the pulls of a readings file against a specification.

    Pure: the same reading and specification give the same assessment, to the last bit.
    """
    asked = specification
    populations = parted(reading.pulls, asked)
    pulls, specification = populations.pulls, populations.specification
    zones = zones_of(pulls, specification)
    readings = decide_every_way(pulls, specification, zones)
    shown = readings.shown.judgement
    step = specification.pulls.recording_step
    step_mpa = step.mpa if step is not None else pulls.recording_step_mpa
    standing, screening = screen(
        pulls,
        shown.standing,
        specification.screening,
        zones=zones,
        recording_step_mpa=0.0 if math.isnan(step_mpa) else step_mpa,
    )
    rezoned = rezoned_in_file(reading.pulls, asked)
    classes = classes_every_way(specification, pulls, readings.ways, zones, populations.of)
    messages = (
        *reading.messages,
        *shown.messages,
        *preparation_messages(pulls, standing, specification),
        *standing_messages(pulls, standing),
        *populations.messages,
        *rezoning_messages(rezoned),
        *measurement_messages(pulls, standing, specification),
        *substrate_messages(reading.pulls, standing, asked),
        *sense_messages(asked, reading.pulls),
        *at_hand_messages(specification, readings.shown.cases),
        *class_messages(classes),
    )
    return Assessment(
        pulls=pulls,
        specification=specification,
        standing=standing,
        cases=cases(pulls, standing, specification, readings.shown.settled, zones),
        zones=zones,
        readings=readings,
        summaries=summarise(pulls, standing, specification, zones),
        screening=screening,
        messages=messages,
        layout_source=reading.layout_source,
        populations=populations,
        rezoned=rezoned,
        classes=classes,
    )
