"""The pulls of a readings file as read: facts only, one entry per row, nothing judged.

Plain floats with the unit in the name; ``nan`` means "not given" inside this table and nowhere else (outputs say null).
Text is held coded (``coded.Texts``): each different text once, and for every pull the place where its text stands.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded, Texts

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

__all__ = ["CONDITIONS", "GLUE_CODES", "LABELS", "UNNAMED_ZONE", "Bound", "Pulls", "not_given"]

UNNAMED_ZONE = "(unnamed)"
GLUE_CODES = ("-/Y", "Y", "Y/Z")  # breaks at or in the dolly adhesive (ISO 4624, EN 1542)

# Text columns that a readings file may carry besides id and zone ("" where not given).
LABELS = (
    "measurement", "panel", "system", "primer", "layer_names", "cut", "hollow", "instrument", "certificate",
    "operator", "party", "stage", "round", "pour", "span", "photo", "remark",
    "planned_zone",
)  # fmt: skip
# Number columns that a readings file may carry (nan where not given); the unit is part of the name.
CONDITIONS = (
    "dolly_mm", "cut_depth_mm", "failure_depth_mm",
    "coating_thickness_um", "rate_mpa_per_s", "time_to_failure_s", "age_days",
    "temperature_c", "moisture_percent", "glue_age_days", "x_m", "y_m",
)  # fmt: skip


def not_given(n: int) -> NDArray[np.float64]:
    """(n,) a column that the file does not have: nan for every pull, read only; takes no memory."""
    return np.broadcast_to(np.float64(np.nan), (n,))


class Bound(IntEnum):
    """What is known of a value."""

    EXACT = 0
    AT_LEAST = 1
    AT_MOST = 2
    NOTHING = 3


@dataclass(frozen=True)
class Pulls:
    """The pulls of one file, as columns of equal length ``n`` (one entry per row of the file, in file order).

    Attributes
    ----------
    file, digest
        Name of the file and SHA-256 of its bytes (hex).
    sheet, row
        Where each pull stands: sheet name ("" for text files) and row number, first row of the file = 1.
    id, zone
        Text, exactly as written. A pull without id has ""; a file without zones has ``UNNAMED_ZONE``.
    strength_mpa : (n,) [MPa]
        As entered, or load over tested area; nan where no value was measured. For a bounded pull: the bound.
    bound : (n,) int8
        ``Bound`` of the strength; ``NOTHING`` where strength is nan.
    load_n, area_mm2 : (n,) [N], [mm²]
        nan where not given.
    failure_codes, failures : (c,), (n,) of (c,) [% of area]
        Failure composition: the share of each code as recorded, () where nothing was recorded.
    lost : (n,) bool
        Lost before loading (core broke while cutting, dolly fell off, ...), so that no value could be had.
    retest_of
        Id of the pull that this one repeats, "" where none.
    exclusion
        Reason written in the file why the pull should not count, "" where none.
    doubts
        Codes of what intake could not settle about the value (such as load and strength that disagree): a pull with
        a doubt is shown and not used until somebody decides.
    date
        ISO date of the test, "" where not given or not sure.
    entered
        Text of the value's cell as written, for the reader.
    indicated_mpa, indicated_load_n : (n,) [MPa], [N]
        Strength and load as the instrument showed them, where a certificate corrected them (then ``strength_mpa`` and
        ``load_n`` hold the true values); nan where nothing was corrected.
    labels, conditions
        The optional columns that the file has, keyed by the names of ``LABELS`` and ``CONDITIONS``.
    recording_step_mpa
        Step in which strengths were recorded (0.01 MPa, 1 psi, ...), taken from the finest decimal place written in
        the file; nan when strengths were computed from loads.
    entry_unit
        Unit in which strengths (or loads) were written, for display.
    """

    file: str
    digest: str
    sheet: Texts
    row: NDArray[np.int64]
    id: Texts
    zone: Texts
    strength_mpa: NDArray[np.float64]
    bound: NDArray[np.int8]
    load_n: NDArray[np.float64]
    area_mm2: NDArray[np.float64]
    failure_codes: tuple[str, ...]
    failures: Coded[tuple[float, ...]]
    lost: NDArray[np.bool_]
    retest_of: Texts
    exclusion: Texts
    doubts: Coded[tuple[str, ...]]
    date: Texts
    entered: Texts
    labels: Mapping[str, Texts] = field(default_factory=dict)
    conditions: Mapping[str, NDArray[np.float64]] = field(default_factory=dict)
    recording_step_mpa: float = float("nan")
    entry_unit: str = "MPa"
    indicated_mpa: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))
    indicated_load_n: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self) -> None:
        """Readings that no certificate corrected are nan, so that every column has ``n`` entries."""
        for name in ("indicated_mpa", "indicated_load_n"):
            if not len(getattr(self, name)):
                object.__setattr__(self, name, not_given(len(self.id)))

    def __len__(self) -> int:
        return len(self.id)

    @property
    def zones(self) -> tuple[str, ...]:
        """Zone names in the order in which the file first names them."""
        return tuple(self.zone.tidy.values)

    @property
    def recorded(self) -> NDArray[np.bool_]:
        """(n,) whether the failure composition of the pull was recorded."""
        return self.failures.where(bool)

    @functools.cached_property
    def failure_percent(self) -> NDArray[np.float64]:
        """(n, c) failure composition as a matrix [% of area]; a row of nan where it was not recorded."""
        columns = [self.share((code,)) for code in self.failure_codes]
        return np.stack(columns, axis=1) if columns else np.zeros((len(self), 0))

    def share(self, codes: tuple[str, ...]) -> NDArray[np.float64]:
        """(n,) share of the area that failed by any of ``codes`` [%]; nan where the failure was not recorded."""
        at = [k for k, code in enumerate(self.failure_codes) if code in codes]
        return self.failures.numbers(lambda shares: sum(shares[k] for k in at) if shares else np.nan)

    def failure(self, i: int) -> dict[str, float]:
        """Composition of pull ``i`` as {code: percent}, without the codes at 0 %; empty where not recorded."""
        shares = self.failures[i]
        return {code: share for code, share in zip(self.failure_codes, shares, strict=bool(shares)) if share > 0}

    def name(self, i: int) -> str:
        """Name of pull ``i`` for a reader: its id, else ``row 12``."""
        return self.id[i] or f"row {int(self.row[i])}"

    def to_frame(self) -> pd.DataFrame:
        """The table for people, one row per pull (pandas)."""
        import pandas as pd

        columns: dict[str, object] = {
            "sheet": list(self.sheet),
            "row": self.row,
            "id": list(self.id),
            "zone": list(self.zone),
            "strength_mpa": self.strength_mpa,
            "bound": [Bound(b).name.lower() for b in self.bound],
            "failure": [", ".join(f"{c} {p:g} %" for c, p in self.failure(i).items()) for i in range(len(self))],
            "lost": self.lost,
            "retest_of": list(self.retest_of),
            "exclusion": list(self.exclusion),
            "date": list(self.date),
        }
        columns |= {name: list(texts) for name, texts in self.labels.items()}
        columns |= dict(self.conditions.items())
        return pd.DataFrame(columns)
