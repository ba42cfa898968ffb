"""The page of a plan: one HTML file that needs nothing else, from plan.json alone. Same plan, same bytes."""

from __future__ import annotations

from collections.abc import Mapping

from adhesion_stats.reporting.model import Figure
from adhesion_stats.reporting.page import document_page
from adhesion_stats.reporting.plan.document import plan_document
from adhesion_stats.reporting.plan.drawing import plan_svg
from adhesion_stats.reporting.words import word

__all__ = ["render_plan"]


def render_plan(plan: Mapping[str, object]) -> str:
    """The plan (contents of plan.json) as one self-contained HTML page."""

    def svg(figure: Figure, narrow: bool) -> str:
        return plan_svg(plan, figure.zones[0], narrow=narrow)

    return document_page(plan_document(plan), svg, skip=word("plan_skip"))
