"""What somebody asks about the risk of a rule, from texts. All that is wrong is said at once.

Imports: errors, terms, acceptance. Must not import intake, judging, reporting.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast, get_args

from adhesion_stats.errors import UnknownUnit, WrongUsage
from adhesion_stats.statistics.strengths import MOST_COV, Distribution
from adhesion_stats.terms.checker import parse_limit
from adhesion_stats.terms.criteria import Limit

__all__ = ["MOST_PULLS", "RiskAsked", "asked_from"]

_PERCENT = re.compile(r"\s*(\d+(?:\.\d+)?)\s*%\s*")
_BROKE = re.compile(r"\s*(?P<code>\S+)\s+(?P<share>\d+(?:\.\d+)?\s*%)\s*")
MOST_PULLS = 200  # of a zone
_MOST_ZONES = 100_000
_USUAL_COV = 0.20  # good site work: 20 to 25 % on a testing practice's page; the output says where it was not given


@dataclass(frozen=True, kw_only=True)
class RiskAsked:
    """What is assumed, and what is wanted besides the three probabilities; shares [-]."""

    zone: str = ""
    pulls: int | None = None
    cov: float = _USUAL_COV
    cov_given: bool = False
    distribution: Distribution = "normal"
    glue_share: float = 0.0
    lost_share: float = 0.0
    between: float | None = None
    broke: tuple[tuple[str, float], ...] = ()
    zones: int | None = None
    good: Limit | None = None
    bad: Limit | None = None
    seed: int = 1


def asked_from(options: Mapping[str, object]) -> RiskAsked:
    """Return the options of ``adhesion-stats risk`` (texts, or None where not given) as values.

    Raises
    ------
    WrongUsage
        Names every option that can't be read, what was expected, and what came.
    """
    read = _Reader(options)
    cov = read.share("cov", most=MOST_COV, above_zero=True)
    glue, lost = read.share("glue_share") or 0.0, read.share("lost_share") or 0.0
    if glue + lost > 1.0:
        read.wrong.append("--glue-share and --lost-share together are more than all pulls")
    good, bad = read.strength("good"), read.strength("bad")
    if good is not None and bad is not None and good.mpa <= bad.mpa:
        read.wrong.append(f"--good must lie above --bad; got {good.text} and {bad.text}")
    asked = RiskAsked(
        zone=read.text("zone") or "",
        pulls=read.whole("pulls", least=1, most=MOST_PULLS),
        cov=_USUAL_COV if cov is None else cov,
        cov_given=cov is not None,
        distribution=read.distribution(),
        glue_share=glue,
        lost_share=lost,
        between=read.share("between"),
        broke=_failures(read.text("broke"), read.wrong),
        zones=read.whole("zones", least=1, most=_MOST_ZONES),
        good=good,
        bad=bad,
        seed=read.whole("seed", least=0, most=10**9 - 1) or 0,
    )
    if read.wrong:
        raise WrongUsage("\n".join(read.wrong))
    return asked


class _Reader:
    """Texts of options as values; what can't be read is gathered in ``wrong``."""

    def __init__(self, options: Mapping[str, object]) -> None:
        self.options = options
        self.wrong: list[str] = []

    def text(self, name: str) -> str | None:
        found = self.options.get(name)
        return found if isinstance(found, str) else None

    def share(self, name: str, *, most: float = 1.0, above_zero: bool = False) -> float | None:
        text = self.text(name)
        if text is None:
            return None
        found = _PERCENT.fullmatch(text)
        value = float(found[1]) / 100.0 if found else -1.0
        if 0.0 <= value <= most and not (above_zero and value == 0.0):
            return value
        least = "above 0 %" if above_zero else "from 0 %"
        self.wrong.append(f'{_option(name)} expects a share {least} to {100 * most:g} %, such as "20%"; got {text!r}')
        return None

    def whole(self, name: str, *, least: int, most: int) -> int | None:
        text = self.text(name)
        if text is None:
            return None
        if re.fullmatch(r"[0-9]{1,9}", text) and least <= int(text) <= most:
            return int(text)
        self.wrong.append(f"{_option(name)} expects a whole number from {least} to {most}; got {text!r}")
        return None

    def strength(self, name: str) -> Limit | None:
        text = self.text(name)
        if text is None:
            return None
        try:
            limit = parse_limit(text)
        except UnknownUnit as error:
            self.wrong.append(f"{_option(name)}: {error}")
            return None
        except ValueError:
            self.wrong.append(f'{_option(name)} expects a strength with its unit, such as "1.80 MPa"; got {text!r}')
            return None
        if limit.mpa > 0.0:
            return limit
        self.wrong.append(f"{_option(name)} expects a strength above zero; got {text!r}")
        return None

    def distribution(self) -> Distribution:
        text = self.text("distribution")
        for known in get_args(Distribution):
            if text == known:
                return cast("Distribution", text)
        self.wrong.append(f"--distribution expects {', '.join(get_args(Distribution))}; got {text!r}")
        return "normal"


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _failures(text: str | None, wrong: list[str]) -> tuple[tuple[str, float], ...]:
    """Failure codes with the share of the pulls that break so: ``A 70%, A/B 30%``."""
    if text is None:
        return ()
    found: list[tuple[str, float]] = []
    for part in text.split(","):
        entry = _BROKE.fullmatch(part)
        if entry is None:
            wrong.append(f'--broke expects failure codes with shares, such as "A 70%, A/B 30%"; got {text!r}')
            return ()
        found.append((entry["code"], float(entry["share"].rstrip("% ")) / 100.0))
    total = sum(share for _, share in found)
    if abs(total - 1.0) > 1e-9 or len(dict(found)) < len(found):
        wrong.append(f"--broke expects shares of different codes that sum to 100 %; got {text!r}, {100 * total:g} %")
        return ()
    return tuple(found)
