"""The document of an assessment: the results in the order in which a reader asks, as values of the document model.

Decision; what it rests on; figures; zone by zone; method; findings; cautions and signatures; appendix.
"""

from __future__ import annotations

from collections.abc import Mapping

from adhesion_stats.reporting.model import Document, Facts
from adhesion_stats.reporting.results import Results, results_from
from adhesion_stats.reporting.sections.basis import basis_section
from adhesion_stats.reporting.sections.closing import appendix_section, cautions_section, findings_section
from adhesion_stats.reporting.sections.decision import decision_section
from adhesion_stats.reporting.sections.figures import figures_section
from adhesion_stats.reporting.sections.method import method_section
from adhesion_stats.reporting.sections.parts import Anchors, cell
from adhesion_stats.reporting.sections.revision import revision_section
from adhesion_stats.reporting.sections.zones import zones_section
from adhesion_stats.reporting.words import word

__all__ = ["assessment_document"]


def _head(data: Results) -> Facts:
    contract = data["contract"]
    items = [(word(key), cell(text)) for key in _HEAD if (text := str(contract[key]))]  # type: ignore[literal-required]
    return Facts(tuple(items), role="head")


_HEAD = ("structure", "client", "engineer", "document", "test_method", "note")


def assessment_document(results: Mapping[str, object], revision: Mapping[str, object] | None = None) -> Document:
    """The document of an assessment, from the contents of results.json, and of revision.json where it is a revision.

    Raises ValueError for another format or version, and KeyError for a message that has no sentence.
    """
    data = results_from(results)
    anchors = Anchors.of(data)
    return Document(
        language=word("language"),
        title=data["contract"]["title"],
        subtitle=word("assessment"),
        banner=word("invented") if data["contract"]["invented"] else "",
        head=_head(data),
        sections=(
            decision_section(data, anchors),
            *(() if revision is None else (revision_section(revision),)),
            basis_section(data, anchors),
            figures_section(results),
            zones_section(data, anchors),
            method_section(data, anchors),
            findings_section(data),
            cautions_section(data),
            appendix_section(data, anchors),
        ),
    )
