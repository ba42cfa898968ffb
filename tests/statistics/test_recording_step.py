"""Every test of the room takes the recording step and no bounded value: one table walks them all.

A verdict (a flag, or a p-value below the level) has to stand for every way the recorded values could lie within half a
step of what was written. The table holds, for each test, how to ask for the verdict and how to ask for it of true
values; the checks run over the corners of the step's box, and over points inside it.
"""

from __future__ import annotations

import inspect
import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
import pytest
from numpy.typing import NDArray

from adhesion_stats import statistics as room
from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import Stack
from adhesion_stats.statistics.within_step import least_squares

Values = NDArray[np.float64]
Flags = NDArray[np.bool_]

STEP, LEVEL, N = 0.1, 0.1, 8
GROUPS = np.array([0, 0, 0, 0, 1, 1, 1, 1])


class Screen(Protocol):
    """What the outlier tests return."""

    @property
    def flagged(self) -> Flags:
        """(g,)."""


@dataclass(frozen=True)
class Verdict:
    """One test: whether each row of (g, 8) values is judged, at a step; ``parts`` how many samples a row holds."""

    ask: Callable[[Values, float], Flags]
    parts: int = 1
    exact: bool = True  # raised wherever brute force would, not only never where it would not
    least: int = 3  # verdicts to be seen among the rows tried, so that nothing passes by silence


def _halves(x: Values) -> tuple[Values, Values]:
    return np.sort(x[:, :4], axis=-1), np.sort(x[:, 4:], axis=-1)


def _sds(x: Values) -> tuple[Values, Values]:
    """Means and variances of four cells of two values."""
    cells = x.reshape(-1, 4, 2)
    return cells.mean(axis=-1), 0.5 * np.square(cells[..., 1] - cells[..., 0])


def _t(x: Values, step: float, spreads: str) -> Flags:
    a, b = _halves(x)
    one = room.t_test(a, b, spreads="equal" if spreads == "equal" else "unequal", confidence=0.95, recording_step=step)
    return np.less_equal(one.p_largest, LEVEL)


def _log_rank(x: Values, step: float, weights: str, bounded: bool) -> Flags:
    a, b = _halves(x)
    first, second = (_bounded(part) if bounded else Stack(np.arange(len(part)), part, part) for part in (a, b))
    kind: Literal["peto", "log-rank"] = "peto" if weights == "peto" else "log-rank"
    found: Flags = np.less_equal(room.log_rank(first, second, weights=kind, recording_step=step).p_largest, LEVEL)
    return found


def _bounded(x: Values) -> Stack:
    """The largest value of each row known from below only."""
    high = x.copy()
    high[:, -1] = np.inf
    return Stack(np.arange(len(x)), x, high)


def _permutation(x: Values, step: float, side: str) -> Flags:
    a, b = _halves(x)
    found: Flags = np.less_equal(getattr(room.permutation_test(a, b, recording_step=step), f"p_{side}_largest"), LEVEL)
    return found


def _outlier(x: Values, step: float, screen: Callable[[Values, float], Screen]) -> Flags:
    flagged: Flags = np.asarray(screen(np.sort(x, axis=-1), step).flagged)
    return flagged


def _tietjen(x: Values, step: float) -> Flags:
    return room.tietjen_moore(
        np.sort(x, axis=-1), k=2, alpha=LEVEL, recording_step=step, samples=5000, rng=np.random.default_rng(1)
    ).flagged


TESTS: dict[str, Verdict] = {
    "grubbs low": Verdict(
        lambda x, s: _outlier(x, s, lambda y, w: room.grubbs(y, alpha=LEVEL, sides="low", recording_step=w))
    ),
    "grubbs two": Verdict(
        lambda x, s: _outlier(x, s, lambda y, w: room.grubbs(y, alpha=LEVEL, sides="two", recording_step=w)),
        exact=False,  # the other end may be flagged where the suspect no longer is
    ),
    "dixon high": Verdict(
        lambda x, s: _outlier(
            x, s, lambda y, w: room.dixon(y, alpha=LEVEL, sides="high", convention="E178", recording_step=w)
        )
    ),
    "dixon Q low": Verdict(
        lambda x, s: _outlier(
            x, s, lambda y, w: room.dixon(y, alpha=LEVEL, sides="low", convention="Q", recording_step=w)
        )
    ),
    "grubbs_pair low": Verdict(
        lambda x, s: _outlier(x, s, lambda y, w: room.grubbs_pair(y, alpha=LEVEL, sides="low", recording_step=w)),
        exact=False,
    ),
    "grubbs_ends": Verdict(
        lambda x, s: _outlier(x, s, lambda y, w: room.grubbs_ends(y, alpha=LEVEL, recording_step=w))
    ),
    "esd": Verdict(
        lambda x, s: _outlier(x, s, lambda y, w: room.esd(y, r=2, alpha=LEVEL, levels="calibrated", recording_step=w)),
        exact=False,
    ),
    "tietjen_moore": Verdict(_tietjen, exact=False),
    "median_screen": Verdict(
        lambda x, s: _outlier(x, s, lambda y, w: room.median_screen(y, limit=3.5, recording_step=w)), exact=False
    ),
    "cochran": Verdict(
        lambda x, s: room.cochran(_sds(x)[1], degrees_of_freedom=1, alpha=LEVEL, recording_step=s).flagged, exact=False
    ),
    "mandel": Verdict(
        lambda x, s: np.any(
            room.mandel(_sds(x)[0], np.sqrt(_sds(x)[1]), n=2, alpha=0.1, recording_step=s).h_flagged, axis=-1
        ),
        exact=False,
    ),
    "shapiro_wilk": Verdict(
        lambda x, s: np.less_equal(room.shapiro_wilk(np.sort(x, axis=-1), recording_step=s).p_largest, LEVEL),
        exact=False,  # its worst point is no corner: see below
    ),
    "anderson_darling": Verdict(
        lambda x, s: np.less_equal(room.anderson_darling(np.sort(x, axis=-1), recording_step=s).p_largest, LEVEL),
        exact=False,
    ),
    "t_test equal": Verdict(lambda x, s: _t(x, s, "equal"), parts=2),
    "t_test Welch": Verdict(lambda x, s: _t(x, s, "unequal"), parts=2, exact=False),
    "sd_test": Verdict(
        lambda x, s: np.less_equal(
            room.sd_test(np.sort(x, axis=-1), sd=0.25, confidence=0.9, recording_step=s).p_upper_largest, LEVEL
        )
    ),
    "one_way": Verdict(
        lambda x, s: np.less_equal(room.one_way(x, group=GROUPS, recording_step=s).p_largest, LEVEL),
        parts=2,
        exact=False,
    ),
    "permutation_test lower": Verdict(lambda x, s: _permutation(x, s, "lower"), parts=2),
    "permutation_test two": Verdict(lambda x, s: _permutation(x, s, "two_sided"), parts=2),
    "log_rank": Verdict(lambda x, s: _log_rank(x, s, "log-rank", False), parts=2, exact=False),
    "log_rank peto, bounds": Verdict(lambda x, s: _log_rank(x, s, "peto", True), parts=2, exact=False),
}


def test_the_table_holds_every_test_of_the_room() -> None:
    """Whatever takes a recording step; and whatever gives p-values or flags takes one, or takes statistics only."""
    functions = {name: getattr(room, name) for name in room.__all__ if inspect.isfunction(getattr(room, name))}
    takes = {name for name, one in functions.items() if "recording_step" in inspect.signature(one).parameters}
    assert {name.split(" ")[0] for name in TESTS} == takes
    results = {
        name
        for name, one in functions.items()
        for result in [getattr(room, str(inspect.signature(one).return_annotation), None)]
        if result is not None
        and any(
            word in field for field in getattr(result, "__dataclass_fields__", {}) for word in ("p_value", "flagged")
        )
    }
    assert results <= takes, results - takes


def _recorded(name: str) -> Values:
    """Rows to one decimal: some calm, some with a low, a high, two strange values or groups apart."""
    rng = np.random.default_rng(len(name))
    x = rng.normal(2.5, 0.15, (160, N))
    x[40:80, 0] -= rng.uniform(0.4, 1.6, 40)
    x[40:60, 5] -= rng.uniform(0.4, 1.6, 20)
    x[80:110, 6] += rng.uniform(0.4, 1.6, 30)
    x[110:140, 4:] += rng.uniform(0.2, 0.9, (30, 1))
    x[140:, 0] -= rng.uniform(1.0, 2.0, 20)
    x[140:, 7] = 5.0 - x[140:, 0]
    recorded = x.round(1)
    if name in {"cochran", "mandel", "one_way"}:
        return recorded
    return recorded if TESTS[name].parts == 2 else np.sort(recorded, axis=-1)


BOX = np.array(list(itertools.product((-0.5, 0.5), repeat=N))) * STEP


@pytest.mark.parametrize("name", TESTS)
def test_a_verdict_stands_for_every_way_the_values_could_lie(name: str) -> None:
    """All 256 corners of the step's box and 100 points inside it; exact rules are also raised wherever these allow."""
    verdict = TESTS[name]
    x = _recorded(name)
    rng = np.random.default_rng(5)
    inside = rng.uniform(-0.5, 0.5, (100, N)) * STEP
    # True strengths differ: a hair at the corners keeps ties from being true.
    hair = rng.uniform(0.0, 1e-7, BOX.shape) if name.startswith("log_rank") else 0.0
    points = np.concatenate((BOX * (1.0 - 1e-12) + hair, inside))
    with_step, as_recorded = verdict.ask(x, STEP), verdict.ask(x, 0.0)
    assert not (with_step & ~as_recorded).any()  # the recorded values are one of the ways
    seen = lost = 0
    for row in np.flatnonzero(as_recorded)[:25]:
        every = x[row] + points
        if name.startswith("permutation"):
            every = every.round(9)
        stands = bool(verdict.ask(np.ascontiguousarray(every), 0.0).all())
        assert stands or not with_step[row], (name, x[row])
        seen += int(with_step[row])
        lost += int(not with_step[row])
        if verdict.exact:
            assert not stands or with_step[row], (name, x[row])
    assert seen >= verdict.least, (seen, lost)


TIES = np.array([[1.5, 1.5, 1.5, 1.5, 1.5, 1.5, 1.5, 1.6], [1.5, 1.5, 1.5, 1.6, 1.5, 1.6, 1.6, 1.6]])


@pytest.mark.parametrize("name", TESTS)
def test_ties_within_the_step_are_no_finding(name: str) -> None:
    """Two neighbouring recorded values may all be one true value."""
    assert not TESTS[name].ask(TIES, STEP).any()


def test_ties_alone_would_be_found_without_the_step() -> None:
    """What the step is there for: many tests judge the rows above as recorded."""
    found = {name for name in TESTS if TESTS[name].parts == 1 and TESTS[name].ask(TIES, 0.0).any()}
    assert {"grubbs two", "dixon high", "shapiro_wilk", "anderson_darling", "median_screen"} <= found


def test_the_largest_p_value_of_shapiro_and_wilk_is_reached() -> None:
    """A local search over the box, from many starts, comes to the same W within 1e-9 and never beyond it."""
    from scipy import optimize

    from adhesion_stats.statistics.normality import _coefficients
    from adhesion_stats.statistics.within_step import farthest_cosine

    a = _coefficients(N)
    x = np.sort(_recorded("shapiro_wilk")[40:52], axis=-1)
    lacking = farthest_cosine(x, a, STEP)
    rng = np.random.default_rng(2)

    def without(y: Values) -> float:
        centred = y - y.mean()
        return float(1.0 - (a @ centred) ** 2 / (centred @ centred))

    for row, least in zip(x, lacking, strict=True):
        found = min(
            float(
                optimize.minimize(
                    without,
                    row + rng.uniform(-0.5, 0.5, N) * STEP,
                    bounds=[(v - 0.5 * STEP, v + 0.5 * STEP) for v in row],
                    method="L-BFGS-B",
                    options={"ftol": 1e-15, "gtol": 1e-12},
                ).fun
            )
            for _ in range(4)
        )
        assert -1e-12 < found - least < 1e-9


def _squares(y: Values) -> float:
    return float(np.sum(np.square(y - y.mean())))


def test_ends_of_the_sum_of_squares() -> None:
    """Against scipy's search over the box, and 0 where all could be equal."""
    from scipy import optimize

    x = np.sort(_recorded("sd_test")[40:48], axis=-1)
    for row, least in zip(x, least_squares(x, 0.3), strict=True):
        found = optimize.minimize(_squares, row, bounds=[(v - 0.15, v + 0.15) for v in row]).fun
        assert least == pytest.approx(found, rel=1e-6)
    assert least_squares(np.array([[1.5, 1.5, 1.6]]), 0.1).tolist() == [0.0]


@pytest.mark.parametrize("name", [name for name in TESTS if not name.startswith("log_rank")])
def test_bounded_values_are_refused_in_words(name: str) -> None:
    """A value known from below, given as infinity, is no value."""
    x = np.array([[1.1, 1.3, 1.4, 1.5, 1.6, 1.7, 1.9, np.inf]])
    with np.errstate(invalid="ignore"), pytest.raises(InvalidSample, match=r"exact|finite"):
        TESTS[name].ask(x, 0.0)


STACK = Stack(np.zeros(1, dtype=np.int64), np.ones((1, 8)), np.full((1, 8), np.inf))
TAKES_A_SAMPLE: dict[str, Callable[[Values], object]] = {
    "grubbs": lambda x: room.grubbs(x, alpha=LEVEL, sides="low", recording_step=0.0),
    "dixon": lambda x: room.dixon(x, alpha=LEVEL, sides="low", convention="E178", recording_step=0.0),
    "grubbs_pair": lambda x: room.grubbs_pair(x, alpha=LEVEL, sides="low", recording_step=0.0),
    "grubbs_ends": lambda x: room.grubbs_ends(x, alpha=LEVEL, recording_step=0.0),
    "esd": lambda x: room.esd(x, r=1, alpha=LEVEL, levels="published", recording_step=0.0),
    "tietjen_moore": lambda x: room.tietjen_moore(
        x, k=1, alpha=LEVEL, recording_step=0.0, samples=1000, rng=np.random.default_rng(1)
    ),
    "median_screen": lambda x: room.median_screen(x, limit=3.5, recording_step=0.0),
    "shapiro_wilk": lambda x: room.shapiro_wilk(x, recording_step=0.0),
    "anderson_darling": lambda x: room.anderson_darling(x, recording_step=0.0),
    "t_test": lambda x: room.t_test(x, x, spreads="equal", confidence=0.9, recording_step=0.0),
    "sd_test": lambda x: room.sd_test(x, sd=1.0, confidence=0.9, recording_step=0.0),
    "permutation_test": lambda x: room.permutation_test(x, x, recording_step=0.0),
}


@pytest.mark.parametrize("name", TAKES_A_SAMPLE)
def test_a_stack_with_bounds_is_refused_in_words(name: str) -> None:
    """With the number of values that are known within bounds, and what to pass instead."""
    with pytest.raises(InvalidSample, match="8 of 8 values per sample are known within bounds"):
        TAKES_A_SAMPLE[name](STACK)  # type: ignore[arg-type]


def test_log_rank_refuses_upper_bounds() -> None:
    """Lower bounds are what it is made for."""
    low = np.array([[1.0, 2.0, 3.0]])
    stack = Stack(np.zeros(1, dtype=np.int64), low, low + np.array([[0.0, 0.5, 0.0]]))
    with pytest.raises(InvalidSample, match="bounded from below only"):
        room.log_rank(stack, stack, weights="log-rank", recording_step=0.1)


def test_the_least_statistic_of_a_screen_has_the_largest_p_value() -> None:
    """At or below the level exactly where the flag stands; the recorded p-value may be smaller."""
    x = _recorded("grubbs low")
    for sides in ("low", "high", "two"):
        grubbs = room.grubbs(x, alpha=LEVEL, sides=sides, recording_step=STEP)
        dixon = room.dixon(x, alpha=LEVEL, sides=sides, convention="E178", recording_step=STEP)
        p_grubbs = room.grubbs_p_value(grubbs.least, n=N, sides=sides)
        p_dixon = room.dixon_p_value(dixon.least, ratio="r11", n=N, sides=sides)
        assert np.array_equal(p_grubbs < LEVEL, grubbs.flagged)
        assert np.array_equal(p_dixon < LEVEL, dixon.flagged)
        assert (p_grubbs >= room.grubbs_p_value(grubbs.statistic, n=N, sides=sides) - 1e-12).all()
        assert grubbs.within_step.any()
        assert dixon.within_step.any()
