"""The crate of a demo record against the validators of both standards; run once, by hand, with the packages named.

In an environment of its own: ``pip install roc-validator frictionless``, and the context of RO-Crate as a file (the
validator fetches it otherwise; the npm package ro-crate has it as lib/context.json). Then::

    adhesion-stats crate reports/repair-contract --output /tmp/crate --date 2026-05-04 --license CC-BY-4.0
    python tests/benchmarks/validate_crate.py /tmp/crate context.json
    frictionless validate /tmp/crate/datapackage.json

The outcome stands in ``results/crate_validation.txt``.
"""
# The packages are not among those of the project.
# mypy: ignore-errors

import json
import sys
from pathlib import Path


def main() -> None:
    """Print what each profile finds at the levels REQUIRED and RECOMMENDED."""
    import rdflib.plugins.shared.jsonld.context as jsonld_context
    import rdflib.plugins.shared.jsonld.util as jsonld_util
    from rocrate_validator import models, services
    from rocrate_validator.utils import http

    context = json.loads(Path(sys.argv[2]).read_text(encoding="utf-8"))

    class Answer:
        status_code, ok, from_cache = 200, True, True
        headers = {"Content-Type": "application/ld+json"}  # noqa: RUF012 - stands in for a response
        text = json.dumps(context)
        content = text.encode()

        @staticmethod
        def json() -> object:
            return context

        @staticmethod
        def raise_for_status() -> None:
            return None

    def loaded(source: object, *words: object, **named: object) -> object:
        if isinstance(source, str) and source.startswith("https://w3id.org/ro/crate"):
            return context, None
        return original(source, *words, **named)

    original = jsonld_util.source_to_json
    http.HttpRequester.get = lambda *_, **__: Answer()
    jsonld_util.source_to_json = jsonld_context.source_to_json = loaded
    for profile in ("ro-crate-1.1", "process-run-crate-0.5"):
        settings = services.ValidationSettings(
            rocrate_uri=sys.argv[1], profile_identifier=profile, requirement_severity=models.Severity.RECOMMENDED
        )
        issues = services.validate(settings).get_issues()
        required = [issue for issue in issues if issue.severity >= models.Severity.REQUIRED]
        print(f"{profile}: {len(required)} required, {len(issues) - len(required)} recommended")
        for issue in issues:
            print(f"  {issue.severity.name} {issue.check.identifier} {issue.message}")


if __name__ == "__main__":
    main()
