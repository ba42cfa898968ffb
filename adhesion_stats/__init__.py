"""Pull-off tests on concrete: from readings and a contract's terms to a decision per zone that anyone can rerun.

>>> from adhesion_stats import assess, read_readings, read_specification  # doctest: +SKIP
>>> specification = read_specification("specification.toml")  # doctest: +SKIP
>>> assessment = assess(read_readings("readings.csv", specification), specification)  # doctest: +SKIP
>>> assessment.decision  # doctest: +SKIP
'conforms'
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from adhesion_stats.acceptance.risk import OperatingCharacteristic, operating_characteristic
    from adhesion_stats.assessment import Assessment, assess
    from adhesion_stats.entrance import read_readings, read_specification
    from adhesion_stats.errors import AdhesionStatsError, InvalidSpecification, UnusableReadings

__all__ = [
    "AdhesionStatsError",
    "Assessment",
    "InvalidSpecification",
    "OperatingCharacteristic",
    "UnusableReadings",
    "__version__",
    "assess",
    "operating_characteristic",
    "read_readings",
    "read_specification",
]

__version__ = "0.1.0"

_HOMES = {
    "AdhesionStatsError": "errors",
    "Assessment": "assessment",
    "InvalidSpecification": "errors",
    "OperatingCharacteristic": "acceptance.risk",
    "UnusableReadings": "errors",
    "assess": "assessment",
    "operating_characteristic": "acceptance.risk",
    "read_readings": "entrance",
    "read_specification": "entrance",
}


def __getattr__(name: str) -> object:
    """Load a public name on first use, so that importing the package (and ``--help``) stays quick."""
    if name not in _HOMES:
        raise AttributeError(f"module 'adhesion_stats' has no attribute {name!r}")
    import importlib

    return getattr(importlib.import_module(f"adhesion_stats.{_HOMES[name]}"), name)
