"""Makes docs/digits-of-agreement.md: digits that this package and others reach on the NIST reference datasets.

``python -m tests.tooling.digits_page`` in the clone writes the page; ``test_digits_page.py`` fails while it is out of
date.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import scipy
import statsmodels  # type: ignore[import-untyped]
from numpy.typing import NDArray
from scipy import stats
from statsmodels.stats.oneway import anova_oneway  # type: ignore[import-untyped]
from statsmodels.stats.weightstats import DescrStatsW  # type: ignore[import-untyped]

from adhesion_stats.statistics import mean_and_sd, mean_and_sd_as_recorded, one_way, precision
from tests.published_data import agreement
from tests.strd import ANOVA, UNIVARIATE, Codes, anova, univariate

PAGE = Path(__file__).resolve().parents[2] / "docs" / "digits-of-agreement.md"
LIBRARIES = ("numpy", "scipy", "pandas", "statsmodels")

Values = NDArray[np.float64]

_HEAD = f"""# Digits of agreement with certified values

The NIST Statistical Reference Datasets come with values certified to 15 digits. Shown is how many of them come out:
-log10 of the relative error, 15 at most. One number short of its neighbours means digits lost on the way.

Two of our own are shown. **In blocks** is `mean_and_sd`, which the assessments use; it takes the stored binary numbers
as they are, and reaches what they allow: 10000000.2 is no binary fraction, and storing it already costs NumAcc4 all but
8 digits of its spread. **As recorded** is `mean_and_sd_as_recorded` and `one_way`: the values as the decimals that they
print as, in exact arithmetic. For bond strengths of three or four digits all columns would be alike.

This page is made by `python -m tests.tooling.digits_page`, with numpy {np.__version__}, scipy {scipy.__version__},
pandas {pd.__version__} and statsmodels {statsmodels.__version__}.
"""


def _in_blocks(x: Values) -> tuple[float, float]:
    mean, sd = mean_and_sd(np.sort(x)[np.newaxis, :])
    return float(mean[0]), float(sd[0])


def _scipy(x: Values) -> tuple[float, float]:
    found = stats.describe(x)
    return float(found.mean), float(np.sqrt(found.variance))


def _statsmodels(x: Values) -> tuple[float, float]:
    found = DescrStatsW(x, ddof=1)
    return float(found.mean), float(found.std)


MEAN_AND_SD: dict[str, Callable[[Values], tuple[float, float]]] = {
    "ours, as recorded": mean_and_sd_as_recorded,
    "ours, in blocks": _in_blocks,
    "numpy": lambda x: (float(np.mean(x)), float(np.std(x, ddof=1))),
    "scipy": _scipy,
    "pandas": lambda x: (float(pd.Series(x).mean()), float(pd.Series(x).std())),
    "statsmodels": _statsmodels,
}


def _groups(x: Values, codes: Codes) -> list[Values]:
    return [x[codes == code] for code in np.unique(codes)]


def _numpy_f(x: Values, codes: Codes) -> float:
    """The textbook's sums of squares about the means, with numpy."""
    groups = _groups(x, codes)
    between = sum(group.size * (group.mean() - x.mean()) ** 2 for group in groups)
    within = sum(float(np.sum((group - group.mean()) ** 2)) for group in groups)
    return float(between / (len(groups) - 1) / (within / (x.size - len(groups))))


def _pandas_f(x: Values, codes: Codes) -> float:
    frame = pd.DataFrame({"x": x, "group": codes})
    means = frame.groupby("group")["x"].transform("mean")
    a = frame["group"].nunique()
    between, within = ((means - frame["x"].mean()) ** 2).sum(), ((frame["x"] - means) ** 2).sum()
    return float(between / (a - 1) / (within / (x.size - a)))


F_RATIO: dict[str, Callable[[Values, Codes], float]] = {
    "ours, as recorded": lambda x, codes: float(one_way(x[np.newaxis], group=codes, recording_step=0.0).statistic[0]),
    "numpy": _numpy_f,
    "scipy": lambda x, codes: float(stats.f_oneway(*_groups(x, codes)).statistic),
    "pandas": _pandas_f,
    "statsmodels": lambda x, codes: float(anova_oneway(_groups(x, codes), use_var="equal").statistic),
}


def _precision_sd(x: Values, codes: Codes) -> float:
    found = precision(x, level=np.zeros(x.size, dtype=np.int64), laboratory=codes)
    return float(found.repeatability_sd[0])


def _row(name: str, cells: list[float]) -> str:
    return f"| {name} | " + " | ".join(f"{cell:.1f}" for cell in cells) + " |"


def _heading(columns: list[str]) -> list[str]:
    return ["| set | " + " | ".join(columns) + " |", "|---|" + "---|" * len(columns)]


def page() -> Iterator[str]:
    """The page, line by line."""
    yield from _HEAD.splitlines()
    for at, quantity in ((1, "Standard deviation"), (0, "Mean")):
        yield from ("", f"## {quantity}, univariate sets", "")
        yield from _heading(list(MEAN_AND_SD))
        for name, certified in UNIVARIATE.items():
            x = univariate(name)
            cells = [agreement(work(x)[at], certified[1 + at]) for work in MEAN_AND_SD.values()]
            yield _row(name, cells)
    yield from ("", "## F ratio of the one-way analysis of variance", "")
    yield "numpy and pandas have no such function: their columns are the sums of squares about the means, written out."
    yield ""
    yield from _heading(list(F_RATIO))
    for name, target in ANOVA.items():
        values, codes = anova(name)
        yield _row(name, [agreement(work(values, codes), target.statistic) for work in F_RATIO.values()])
    yield from ("", "## Residual standard deviation of the same sets", "")
    yield "In blocks: the repeatability that `precision` gives, which works on stored binary numbers."
    yield ""
    yield from _heading(["ours, as recorded", "ours, in blocks"])
    for name, target in ANOVA.items():
        values, codes = anova(name)
        found = (
            float(one_way(values[np.newaxis], group=codes, recording_step=0.0).sd_within[0]),
            _precision_sd(values, codes),
        )
        yield _row(name, [agreement(one, target.sd_within) for one in found])
    yield from (
        "",
        "Source: NIST Statistical Reference Datasets, univariate summary statistics and analysis of variance,",
        "https://www.itl.nist.gov/div898/strd/ (work of the United States Government). The tests in `tests/published/`",
        "hold the package to these digits.",
    )


def tables(text: str) -> list[list[list[float]]]:
    """The numbers of each table of a page."""
    found: list[list[list[float]]] = []
    for line in text.splitlines():
        if line.startswith("| set |"):
            found.append([])
        elif line.startswith("| "):
            found[-1].append([float(cell) for cell in line.strip("| ").split(" | ")[1:]])
    return found


if __name__ == "__main__":
    PAGE.write_text("\n".join(page()) + "\n", encoding="utf-8")
