"""The risk of a rule: how often a zone conforms, does not conform or stays undetermined, against its true quality.

``rule_of_zone``              the rule of a zone as a specification writes it
``risk_figures``              how often a good and a bad zone conform; ``smallest_number``: what keeps both risks
``operating_characteristic``  the three probabilities on a grid of true means
``rule_of``                   a requirement ready to be asked: ``Rule.at``, ``point``, ``mean_where_accepted``
``means_for``                 a grid of true means that shows the whole curve
``ladder_of``                 the rounds of a retest ladder as a whole
``Pool``                      the zones over which a spread is pooled: the contract is the unit then
``by_number_of_pulls``        what more pulls do
``contract_risk``             several zones that must all conform
``retest``                    tests made again
``regrouping``                zones divided after the results
``compare``                   two rules side by side

Exact where a formula or a convolution exists (``exact``), else by simulated zones that ``evaluate`` decides
(``simulated``), with a standard error. Every rule that a specification can state has one way or the other.

Imports: numpy, this room, terms, statistics. Must not import judging, intake, pandas or anything above.
"""

from __future__ import annotations

from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.acceptance.risk.characteristic import (
    OperatingCharacteristic,
    Point,
    Rule,
    characteristic_of,
    means_for,
    operating_characteristic,
    rule_of,
)
from adhesion_stats.acceptance.risk.ladder import Climbed, Ladder, climbed, ladder_of
from adhesion_stats.acceptance.risk.more import (
    Comparison,
    Regrouping,
    Retest,
    by_number_of_pulls,
    compare,
    contract_risk,
    regrouping,
    retest,
)
from adhesion_stats.acceptance.risk.of_zone import (
    BETWEEN,
    assumed_of,
    ladder_of_zone,
    pool_of,
    rule_of_zone,
    stages_of,
    values_of,
)
from adhesion_stats.acceptance.risk.pooled import Pool, pooled
from adhesion_stats.acceptance.risk.wanted import MOST, RiskFigures, risk_figures, smallest_number

__all__ = [
    "BETWEEN",
    "MOST",
    "Assumed",
    "Climbed",
    "Comparison",
    "Ladder",
    "OperatingCharacteristic",
    "Point",
    "Pool",
    "Regrouping",
    "Retest",
    "RiskFigures",
    "Rule",
    "assumed_of",
    "by_number_of_pulls",
    "characteristic_of",
    "climbed",
    "compare",
    "contract_risk",
    "ladder_of",
    "ladder_of_zone",
    "means_for",
    "operating_characteristic",
    "pool_of",
    "pooled",
    "regrouping",
    "retest",
    "risk_figures",
    "rule_of",
    "rule_of_zone",
    "smallest_number",
    "stages_of",
    "values_of",
]
