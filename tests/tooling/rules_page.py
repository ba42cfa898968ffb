"""Makes docs/rules.md from the shipped rules and methods: ``python -m tests.tooling.rules_page`` in the clone."""

from __future__ import annotations

from pathlib import Path

from adhesion_stats.reporting.rules_text import rules_page

PAGE = Path(__file__).resolve().parents[2] / "docs" / "rules.md"

if __name__ == "__main__":
    PAGE.write_text(rules_page(), encoding="utf-8", newline="\n")
    print(PAGE)
