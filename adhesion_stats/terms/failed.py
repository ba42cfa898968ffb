"""Which pulls a criterion is about, by what broke: the codes, the share of the area, the depth of the break.

One description serves the way out ("unless it failed so"), limits that depend on the failure, and a mean over the pulls
of one failure. What it means for pulls whose failure is only partly known is decided in ``acceptance``.

Imports: terms.checker inside the functions that parse. Must not import anything above floor 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from adhesion_stats.terms.checker import Checker

__all__ = ["Failed", "parse_depth", "parse_failed"]


@dataclass(frozen=True, slots=True)
class Failed:
    """The pulls that failed by ``codes`` over ``from_percent`` [%] or more of their area.

    ``depth_mm`` (None: not asked): and whose break lies that deep or deeper; ``depth_text`` is how it was written.
    """

    codes: tuple[str, ...]
    from_percent: float
    depth_mm: float | None = None
    depth_text: str = ""

    @property
    def key(self) -> str:
        """A text that tells two descriptions apart; not for readers."""
        return f"{'+'.join(self.codes)} from {self.from_percent!r} % deep {self.depth_mm!r} mm"


def parse_failed(check: Checker, entry: Mapping[str, object], path: str, name: str) -> Failed | None:
    """Return the description whose codes stand under the key ``name``, with ``from`` and ``depth_from`` beside it.

    None where something is missing or wrong; every problem is kept in ``check``.
    """
    codes = check.codes(entry, name, f"{path}.{name}")
    start = check.percent(entry, "from", f"{path}.from", above_zero=True)
    if "from" not in entry:
        check.problem("spec_missing_key", f"{path}.from", what='the share of a pull\'s area, such as "50 %"')
    depth, text = parse_depth(check, entry, path)
    if not codes or start is None or ("depth_from" in entry and depth is None):
        return None
    return Failed(codes, start, depth, text)


def parse_depth(check: Checker, entry: Mapping[str, object], path: str) -> tuple[float | None, str]:
    """Return the least depth of the break [mm] and how it was written; (None, "") where it is not asked or wrong."""
    depth = check.measure(entry, "depth_from", f"{path}.depth_from", "length")
    if depth is not None and depth <= 0:
        check.problem(
            "spec_out_of_range", f"{path}.depth_from", expected="a depth above 0", came=str(entry["depth_from"])
        )
        return None, ""
    return depth, "" if depth is None else str(entry["depth_from"]).strip()
