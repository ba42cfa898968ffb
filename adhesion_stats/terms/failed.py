"""Which pulls a criterion is about, by what broke: the codes, the share of the area, the depth of the break.

One description serves the way out ("unless it failed so"), limits that depend on the failure, and a mean over the pulls
of one failure. What it means for pulls whose failure is only partly known is decided in ``acceptance``.

Imports nothing of the package. ``terms.structure`` reads it from a specification.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Failed"]


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
