"""Make the parts of the demo data that are made by rule: the primer panels and the workbook as received.

``python tests/demo/make_demo.py`` writes both into ``data/demo``; a test makes them again and compares. The readings of
the two contracts are written by hand and are not touched.
"""

from __future__ import annotations

import csv
import io
from datetime import date, datetime
from itertools import groupby
from pathlib import Path

import numpy as np
import xlsxwriter
from scipy.special import ndtri

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"

# What is put into the panels; primer-panels/README.md says the same.
SEED = 20250606
MEAN_MPA = {"control": 1.90, "P": 2.30, "Q": 2.05, "R": 1.90}
PANEL_SD_MPA = 0.20
PULL_SD_MPA = 0.26
GLUE_MEAN_MPA, GLUE_SD_MPA = 2.70, 0.35
PANELS, PULLS = 4, 4
LOST_PANEL = "Q3"


def panels() -> str:
    """The panels' readings as CSV text: the same text for the same seed on every machine."""
    uniform = np.random.Generator(np.random.PCG64(SEED)).random

    def normal(mean: float, sd: float) -> float:
        return mean + sd * float(ndtri(uniform()))

    text = io.StringIO()
    write = csv.writer(text, lineterminator="\n").writerow
    write(["id", "primer", "panel", "date", "strength [MPa]", "dolly [mm]", "failure", "lost", "remark"])
    for primer, mean in MEAN_MPA.items():
        for number in range(1, PANELS + 1):
            panel = ("C" if primer == "control" else primer) + str(number)
            level = normal(mean, PANEL_SD_MPA)
            for pull in range(1, PULLS + 1):
                bond, glue, split = normal(level, PULL_SD_MPA), normal(GLUE_MEAN_MPA, GLUE_SD_MPA), uniform()
                first = [f"{panel}-{pull}", primer, panel, "2025-06-02"]
                if panel == LOST_PANEL:
                    write([*first, "", 50, "", "yes", "panel broke when it was turned over"])
                    continue
                share = 10 * round(5 + 5 * split)
                by = ("Y", "A/B") if glue < bond else ("A/B", "B")
                failure = f"{by[0]} {share} %" + (f", {by[1]} {100 - share} %" if share < 100 else "")
                write([*first, f"{min(bond, glue):.2f}", 50, failure, "", ""])
    return text.getvalue()


def workbook() -> bytes:
    """The readings of the repair contract as a workbook of the untidy kind, with the same numbers."""
    with (DEMO / "repair-contract" / "readings.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    names = [name for name in rows[0] if name not in {"zone", "id"}]
    headings = ["Zone", "No.", *(_heading(name)[0] for name in names)]
    units = ["", "", *(_heading(name)[1] for name in names)]
    target = io.BytesIO()
    book = xlsxwriter.Workbook(target, {"in_memory": True})
    book.set_properties({"created": datetime(2025, 5, 23)})  # noqa: DTZ001 - the file format knows no time zones
    sheet = book.add_worksheet("Readings")
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    zone_format = book.add_format({"valign": "top"})
    summary = book.add_format({"italic": True})
    sheet.write_string(
        0, 0, "Pumping station: pull-off readings (INVENTED)", book.add_format({"bold": True, "font_size": 14})
    )
    sheet.write_string(1, 0, "Strengths in N/mm², as received; 50 mm dollies")
    for column, (heading, unit) in enumerate(zip(headings, units, strict=True)):
        sheet.write_string(3, column, heading, bold)
        if unit:
            sheet.write_string(4, column, f"[{unit}]")
    line = 5
    for zone, group in groupby(rows, key=lambda row: row["zone"]):
        pulls = list(group)
        sheet.merge_range(line, 0, line + len(pulls) - 1, 0, zone, zone_format)
        for row in pulls:
            sheet.write_string(line, 1, row["id"])
            for column, name in enumerate(names, 2):
                if row[name]:
                    sheet.write_string(line, column, _as_received(name, row[name]))
            line += 1
        values = sorted(float(row["strength [MPa]"]) for row in pulls if row["strength [MPa]"])
        strength = 2 + names.index("strength [MPa]")
        for word, value in (("Mean", sum(values) / len(values)), ("Minimum", values[0])):
            sheet.write_string(line, 1, word, summary)
            sheet.write_string(line, strength, f"{value:.2f}".replace(".", ","), summary)
            line += 1
    sheet.set_column(0, 1, 15)
    sheet.set_column(2, len(names) + 1, 11)
    sheet.freeze_panes(5, 2)
    book.close()
    return target.getvalue()


def _heading(name: str) -> tuple[str, str]:
    """Heading and unit of a column; the unit stands in a row of its own in the workbook."""
    heading, _, unit = name.partition(" [")
    unit = unit.rstrip("]").replace("MPa/s", "N/mm²/s").replace("MPa", "N/mm²")
    return heading.capitalize() if len(heading) > 1 else heading, unit


def _as_received(name: str, text: str) -> str:
    """The cell's text as the untidy workbook has it: decimal commas, day first."""
    if name == "date":
        return date.fromisoformat(text).strftime("%d.%m.%Y")
    return text.replace(".", ",") if "[" in name else text


def main() -> None:
    """Write both files."""
    (DEMO / "primer-panels" / "readings.csv").write_text(panels(), encoding="utf-8", newline="\n")
    (DEMO / "repair-contract" / "readings-as-received.xlsx").write_bytes(workbook())


if __name__ == "__main__":
    main()
