"""The instruments of a layout and which pull was made with which; no columns, no messages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.coded import Texts
    from adhesion_stats.terms.instruments import Instrument

__all__ = ["Gauges"]


@dataclass(frozen=True)
class Gauges:
    """The instruments that a layout states, and which pull was made with which.

    Attributes
    ----------
    known
        Instruments by name; empty where the layout states none (then nothing is corrected).
    name : (n,)
        Of the instrument of each pull, "" where none is named.
    nominal_mm2 : (n,)
        Area of the dolly for which a stress was shown [mm²], nan where the layout does not say.
    """

    known: Mapping[str, Instrument]
    name: Texts
    nominal_mm2: NDArray[np.float64]

    def by_instrument(self) -> list[tuple[str, Instrument, NDArray[np.bool_]]]:
        """Name, certificate and rows of each stated instrument that some pull names."""
        found = [(name, known, self.name.where(name.__eq__)) for name, known in self.known.items()]
        return [(name, known, rows) for name, known, rows in found if rows.any()]

    def area_shown(self, area_mm2: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n,) area by which an indicated stress and its load hang together [mm²]."""
        return np.where(np.isnan(self.nominal_mm2), area_mm2, self.nominal_mm2)

    def true_load(self, load_n: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n,) loads by certificate [N]; nan where the instrument shows no loads or the reading is out of range."""
        true = np.full(len(load_n), np.nan)
        for _, known, rows in self.by_instrument():
            if known.quantity == "load":
                true[rows] = known.true_of(load_n[rows] / known.factor) * known.factor
        return true
