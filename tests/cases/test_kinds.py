"""Own files across the kinds that people send, each with the outcome that is right for it. All numbers are invented."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest

from adhesion_stats.intake import read_bytes
from tests.cases.judge import Case, judge

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True)
class Kind:
    """A file as text, its right outcome, values as (zone, id, MPa), and what else must hold or be said."""

    name: str
    text: str
    values: tuple[tuple[str, str, float | None], ...] = ()
    outcome: str = "READ"
    says: tuple[str, ...] = ()
    extra: Mapping[str, Mapping[str, object]] = field(default_factory=dict)
    encoding: str = "utf-8"


def read(name: str, text: str, values: str, says: tuple[str, ...] = (), **extra: Mapping[str, object]) -> Kind:
    """A file that is read; ``values`` as ``Z1 p1 1.62; Z1 p2 -`` (a dash: no value); ``says``: what must be said."""
    rows = []
    for row in filter(None, (part.strip() for part in values.split(";"))):
        zone, name_, value = row.rsplit(" ", 2)
        rows.append((zone.strip(), name_.strip(), None if value == "-" else float(value)))
    return Kind(name, text, tuple(rows), "READ", says, extra)


def refuse(name: str, text: str, *says: str) -> Kind:
    """A file that is refused; ``says``: what the refusal names."""
    return Kind(name, text, (), "REFUSE", says)


TEXT = [
    read("tab separated", "zone\tid\tstrength MPa\nZ1\tp1\t1.62\nZ1\tp2\t1.48\n", "Z1 p1 1.62; Z1 p2 1.48"),
    read("pipe separated", "zone|id|strength MPa\nZ1|p1|1.62\nZ1|p2|1.48\n", "Z1 p1 1.62; Z1 p2 1.48"),
    read("separator named in the first line", "sep=;\nzone;id;strength MPa\nZ1;p1;1,62\n", "Z1 p1 1.62"),
    read("one column", "strength MPa\n1.62\n1.48\n", "(unnamed)  1.62; (unnamed)  1.48", ("one zone",)),
    read("one column with decimal comma", "strength [MPa]\n1,62\n1,48\n", "(unnamed)  1.62; (unnamed)  1.48"),
    read("old line ends", "zone,id,strength MPa\rZ1,p1,1.62\rZ1,p2,1.48\r", "Z1 p1 1.62; Z1 p2 1.48"),
    read(
        "line break in a quoted cell",
        'zone,id,strength MPa,remark\nZ1,p1,1.62,"wet\nsurface"\nZ1,p2,1.48,\n',
        "Z1 p1 1.62; Z1 p2 1.48",
    ),
    read("line break in a heading", 'zone,id,"strength\n[MPa]"\nZ1,p1,1.62\n', "Z1 p1 1.62"),
    read("comma in a quoted remark", 'zone,id,strength MPa,remark\nZ1,p1,1.62,"dry, clean"\n', "Z1 p1 1.62"),
    read("number sign in cells", "#,zone,strength MPa\n#1,Z#1,1.62\n#2,Z#1,1.48\n", "Z#1 #1 1.62; Z#1 #2 1.48"),
    read(
        "doubly encoded unit",
        "zone;id;strength [N/mmÂ²];mode\nFlÃ¤che;p1;1,62;A\n",
        "Fläche p1 1.62",
        ("encoded twice",),
    ),
    read(
        "space as thousands mark",
        "zone;id;load N;disc mm\nZ1;p1;3 141,6;50\nZ1;p2;981,7;50\n",
        "Z1 p1 1.6000; Z1 p2 0.5000",
    ),
    read("thin space as thousands mark", "zone;id;load N;disc mm\nZ1;p1;3\u202f141,6;50\n", "Z1 p1 1.6000"),
    read(
        "apostrophe as thousands mark",
        "zone;id;load N;disc mm\nZ1;p1;3'141.6;50\nZ1;p2;3’141.6;50\n",
        "Z1 p1 1.6000; Z1 p2 1.6000",
    ),
    read(
        "point as thousands mark",
        "zone;id;load N;disc mm\nZ1;p1;3.141,6;50\nZ1;p2;2.748,9;50\n",
        "Z1 p1 1.6000; Z1 p2 1.4000",
    ),
    read(
        "two decimal marks in one column",
        "zone;id;strength MPa\nZ1;p1;1,62\nZ1;p2;1.48\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        ("both occur",),
    ),
    read("three decimals with a point", "zone,id,strength MPa\nZ1,p1,1.619\nZ1,p2,1.482\n", "Z1 p1 1.619; Z1 p2 1.482"),
    read(
        "full-width digits",
        "zone,id,strength MPa\nZ1,p1,\uff11\uff0e\uff16\uff12\nZ1,p2,1.48\n",
        "Z1 p1 1.62; Z1 p2 1.48",
    ),
    read(
        "three decimals of a load",
        "zone,id,load kN,disc mm\nZ1,p1,3.180,50\nZ1,p2,2.910,50\n",
        "Z1 p1 1.6196; Z1 p2 1.4821",
    ),
    refuse("a load that may be newtons or kilonewtons", "zone;id;load N;disc mm\nZ1;p1;3.180;50\n", "3.180", "3180"),
    refuse(
        "raw and corrected strength",
        "zone,id,strength (MPa),corrected strength (MPa)\nZ1,1,1.62,1.7\n",
        "corrected strength (MPa)",
    ),
    read(
        "means of zones at the end",
        "id,zone,strength MPa\n1,A,1.62\n2,A,1.5\n3,B,1.5\nStd,A,0.08\nAverage A,,1.56\nAverage B,,1.5\n",
        "A 1 1.62; A 2 1.5; B 3 1.5",
        ("left out",),
    ),
    read("exponents", "zone,id,strength MPa\nZ1,p1,1.62E0\nZ1,p2,148e-2\n", "Z1 p1 1.62; Z1 p2 1.48"),
    refuse(
        "only ambiguous thousands or decimals",
        'zone;id;load N;disc mm\nZ1;p1;"3,141";50\nZ1;p2;"2,748";50\n',
        "3,141",
        "3.141",
        "3141",
        "decimal =",
    ),
    refuse(
        "ambiguous among two decimal marks",
        'zone,id,strength MPa\nZ1,1,1.62\nZ1,2,"1,48"\nZ1,3,"1,234"\n',
        "1,234",
        "row 4",
    ),
    refuse(
        "ambiguous strength", "zone;id;strength MPa\nZ1;p1;1,234\nZ1;p2;2,345\n", "1,234", "1.234", "1234", "decimal ="
    ),
    refuse("unquoted decimal comma", "zone,id,strength MPa\nZ1,p1,1,62\nZ1,p2,1,48\n", "row 2", "Z1,p1,1,62"),
    refuse(
        "unquoted comma in a remark",
        "zone,id,remark,strength MPa\nZ1,p1,dry, clean,1.62\nZ1,p2,dry,1.48\n",
        "row 2",
        "dry",
    ),
    refuse(
        "quote that swallows whole rows",
        'zone,id,remark,strength MPa\nZ1,p1,"2 in,1.62\nZ1,p2,2",1.48\nZ1,p3,dry,1.5\n',
        "row 2",
    ),
]

LAYOUT = [
    read("unit row below the headings", "zone;id;strength\n;;[N/mm²]\nZ1;p1;1,62\n", "Z1 p1 1.62"),
    read("headings in two lines", "Zone,Test,,Result\n,No.,Disc mm,Load kN\nZ1,1,50,3.18\n", "Z1 1 1.6196"),
    read("heading words over two lines", "zone,id,pull-off\n,,strength [MPa]\nZ1,p1,1.62\n", "Z1 p1 1.62"),
    read(
        "repeated headings",
        "zone,id,strength MPa\nZ1,p1,1.62\nzone,id,strength MPa\nZ2,p2,1.48\n",
        "Z1 p1 1.62; Z2 p2 1.48",
        ("1 row repeats the headings", "3"),
    ),
    read(
        "zone alone above its pulls",
        "zone,id,strength MPa\nNorth,,\n,p1,1.62\n,p2,1.48\nSouth,,\n,p3,2.05\n",
        "North p1 1.62; North p2 1.48; South p3 2.05",
        ("carried down",),
    ),
    read("blank rows", "zone,id,strength MPa\n\nZ1,p1,1.62\n,,\nZ1,p2,1.48\n\n", "Z1 p1 1.62; Z1 p2 1.48"),
    read(
        "mean that does not fit",
        "zone,id,strength MPa\nZ1,p1,1.62\nZ1,p2,1.48\nZ1,Mean,1.70\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        ("left out", "computed 1.55"),
    ),
    read(
        "summary in a first column without heading",
        ",zone,id,strength MPa\n,Z1,p1,1.62\n,Z1,p2,1.48\nMean,,,1.55\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        ("left out",),
    ),
    read(
        "mean named with its zone",
        "zone,id,strength MPa\nZ1,p1,1.62\nZ1,p2,1.48\nMean Z1,,1.55\nZ2,p3,2.0\n",
        "Z1 p1 1.62; Z1 p2 1.48; Z2 p3 2.0",
        ("left out",),
    ),
    read("columns in another order", "strength MPa,failure,id,zone\n1.62,A,p1,Z1\n", "Z1 p1 1.62"),
    read("signature below", "zone,id,strength MPa\nZ1,p1,1.62\n\nTested by: somebody,,\n", "Z1 p1 1.62", ("remark",)),
    read("unknown extra column", "zone,id,weather,strength MPa\nZ1,p1,dry,1.62\n", "Z1 p1 1.62", ("weather",)),
    read("unit stated above", "All values in N/mm²,,\nzone,id,strength\nZ1,p1,1.62\n", "Z1 p1 1.62"),
    read(
        "a unit row repeated",
        "zone,id,strength\n,,MPa\nZ1,p1,1.62\n,,MPa\nZ1,p2,1.48\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        ("units only",),
    ),
    refuse(
        "a unit row with another unit",
        "zone,id,strength\n,,MPa\nZ1,p1,1.62\n,,psi\nZ1,p2,235\n",
        "row 4",
        "psi",
        "strength",
    ),
    read(
        "two tables with two units",
        "zone,id,strength MPa\nZ1,p1,1.62\n\nzone,id,strength psi\nZ2,p2,235\n",
        "Z1 p1 1.62; Z2 p2 1.6203",
        ("several tables",),
    ),
    read(
        "sets of columns with their own zones",
        "zone,id,strength MPa,,zone,id,strength MPa\nZ1,p1,1.62,,Z2,p3,2.05\nZ1,p2,1.48,,,,\n",
        "Z1 p1 1.62; Z1 p2 1.48; Z2 p3 2.05",
        ("side by side",),
    ),
    read(
        "one row a zone",
        "zone,1 [MPa],2 [MPa],3 [MPa],mean\nZ1,1.62,1.48,1.71,1.60\nZ2,2.05,1.93,,1.99\n",
        "Z1 1 1.62; Z1 2 1.48; Z1 3 1.71; Z2 1 2.05; Z2 2 1.93",
        ("side by side", "blank place"),
    ),
    refuse("two tables without zones", "id,strength MPa\np1,1.62\n\nid,strength psi\np3,235\n", "zone"),
    read(
        "zones as titles over repeated headings",
        "Zone 1,,\nid,strength MPa,failure\n1,1.62,A\n2,1.48,A\n\nZone 2,,\nid,strength MPa,failure\n1,2.05,A\n",
        "Zone 1 1 1.62; Zone 1 2 1.48; Zone 2 1 2.05",
        ("carried down",),
    ),
    read(
        "a position names the pulls",
        "Position;F [kN];A [mm²];Bruch\n1;3,18;1963;A\n2;2,91;1963;A/B\n",
        "(unnamed) 1 1.62; (unnamed) 2 1.4824",
        ("one zone",),
    ),
    read(
        "heading of shares over their letters",
        "Bereich;Pkt;Haftzugfestigkeit in N/mm²;Bruchart in %;;\n;;;A;A/B;B\n1;1;1,6;80;20;\n",
        "1 1 1.6",
    ),
    read(
        "strength of the concrete beside",
        "zone,no,compressive strength MPa,pull-off strength MPa\nZ1,1,35,1.62\n",
        "Z1 1 1.62",
        ("compressive",),
    ),
    refuse("a mean without a label", "zone,id,strength MPa\nZ1,1,1.62\nZ1,2,1.48\nZ1,,1.55\n", "row 4", "1.55", "mean"),
    refuse(
        "second table with another unit is not mixed up",
        "zone,id,strength MPa\nZ1,p1,1.62\n\nzone,n,mean\nZ1,1,1.62\n",
        "row 4",
    ),
    refuse(
        "zone forgotten in one row",
        "zone,id,strength MPa\nZ1,p1,1.62\n,p2,1.48\nZ2,p3,1.5\nZ2,p4,1.6\n",
        "row 3",
        "zone",
    ),
    refuse("no headings", "Z1,p1,1.62\nZ1,p2,1.48\n", "Z1, p1, 1.62"),
    refuse(
        "zones that differ by case", "zone,id,strength MPa\nDeck,p1,1.62\ndeck,p2,1.48\n", "Deck", "deck", "[zones]"
    ),
    refuse("zones that differ by a blank", "zone,id,strength MPa\nDeck 1,p1,1.62\nDeck1,p2,1.48\n", "Deck 1", "Deck1"),
    refuse(
        "zones that differ by an accent", "zone,id,strength MPa\nFläche,p1,1.62\nFlache,p2,1.48\n", "Fläche", "Flache"
    ),
    refuse(
        "two strength columns",
        "zone,id,raw strength MPa,bond strength MPa\nZ1,p1,1.62,1.60\n",
        "raw strength MPa",
        "bond strength MPa",
    ),
]

UNITS = [
    read("unit column", "zone,id,strength,unit\nZ1,p1,1.62,MPa\nZ1,p2,235,psi\n", "Z1 p1 1.62; Z1 p2 1.6203"),
    read("psi in the heading", "zone,id,strength (psi)\nZ1,p1,235\n", "Z1 p1 1.6203"),
    read("pounds as force, inches", "zone,id,load lb,dia in\nZ1,p1,735,2\n", "Z1 p1 1.6131"),
    read(
        "square plates", "zone,id,load N,plate size\nZ1,p1,4000,50x50 mm\nZ1,p2,4000,50 mm\n", "Z1 p1 1.6; Z1 p2 2.0372"
    ),
    read("area in square centimetres", "zone,id,load kN,disc area cm²\nZ1,p1,3.18,19.6\n", "Z1 p1 1.6224"),
    read("kilograms per square centimetre", "zone,id,strength kg/cm2\nZ1,p1,16.5\n", "Z1 p1 1.6181"),
    read("force named, stress meant", "zone,id,adhesion force [MPa]\nZ1,p1,1.62\n", "Z1 p1 1.62", ("MPa",)),
    read("a cell with its own unit", "zone,id,strength MPa\nZ1,p1,1.62\nZ1,p2,235 psi\n", "Z1 p1 1.62; Z1 p2 1.6203"),
    refuse("no unit", "zone,id,strength\nZ1,p1,1.62\n", "row 2", "strength", "1.62", 'strength = "MPa"'),
    refuse("some cells without a unit", "zone,id,strength\nZ1,p1,1.62 MPa\nZ1,p2,235\n", "row 3", "235"),
    refuse("megapascals that are kilopascals", "zone,id,strength MPa\nZ1,p1,1620\nZ1,p2,1480\n", "MPa", "1620"),
    refuse(
        "newtons that are kilonewtons",
        "zone,id,load N,disc mm\nZ1,p1,3.18\nZ1,p2,2.91\n".replace("3.18", "3.18,50").replace("2.91", "2.91,50"),
        "load N",
    ),
    refuse("a disc of 2 without unit", "zone,id,load N,disc\nZ1,p1,3180,2\n", "row 2", "disc", '"2"'),
    refuse("load without size", "zone,id,load kN\nZ1,p1,3.18\n", "row 2", "load kN", "3.18", "diameter ="),
    refuse("unknown unit word", "zone,id,strength,unit\nZ1,p1,1.62,blobs\n", "blobs", "row 2"),
]

VALUES = [
    read(
        "at most",
        "zone,id,strength MPa\nZ1,p1,<0.5\nZ1,p2,1.48\n",
        "Z1 p1 0.5; Z1 p2 1.48",
        ("upper bound",),
        p1={"qualifier": "at most"},
    ),
    read(
        "at least in words",
        "zone,id,strength MPa\nZ1,p1,at least 3.5\nZ1,p2,mindestens 3.5\n",
        "Z1 p1 3.5; Z1 p2 3.5",
        ("lower bound",),
        p1={"qualifier": "at least"},
        p2={"qualifier": "at least"},
    ),
    read(
        "sign in its own column",
        "zone,id,qualifier,strength MPa\nZ1,p1,>,3.5\nZ1,p2,,1.48\n",
        "Z1 p1 3.5; Z1 p2 1.48",
        ("lower bound",),
        p1={"qualifier": "at least"},
    ),
    read(
        "a load beyond the range",
        "zone,id,load kN,disc mm\nZ1,p1,>7.0,50\n",
        "Z1 p1 3.5651",
        ("lower bound",),
        p1={"qualifier": "at least"},
    ),
    read("zero", "zone,id,strength MPa\nZ1,p1,0\nZ1,p2,1.48\n", "Z1 p1 0; Z1 p2 1.48", ("zero",), p1={"flagged": True}),
    read(
        "a sentinel",
        "zone,id,strength MPa\nZ1,p1,999\nZ1,p2,1.48\nZ1,p3,1.5\n",
        "Z1 p1 0; Z1 p2 1.48; Z1 p3 1.5",
        ('"999"',),
        p1={"flagged": True},
    ),
    read(
        "a negative sentinel",
        "zone,id,strength MPa\nZ1,p1,-1\nZ1,p2,1.48\n",
        "Z1 p1 0; Z1 p2 1.48",
        ('"-1"',),
        p1={"flagged": True},
    ),
    read(
        "a slipped decimal mark",
        "zone,id,strength MPa\nZ1,p1,16.2\nZ1,p2,1.48\nZ1,p3,1.5\n",
        "Z1 p1 0; Z1 p2 1.48; Z1 p3 1.5",
        ("16.2",),
        p1={"flagged": True},
    ),
    read(
        "footnote marks",
        "zone,id,strength MPa\nZ1,p1,1.62*\nZ1,p2,1.48²\nZ1,p3,1.5 a)\n",
        "Z1 p1 1.62; Z1 p2 1.48; Z1 p3 1.5",
        ("footnote",),
    ),
    read(
        "lost before loading",
        "zone,id,strength MPa\nZ1,p1,core broke while drilling\nZ1,p2,lost\nZ1,p3,1.5\n",
        "Z1 p1 -; Z1 p2 -; Z1 p3 1.5",
        ("lost before loading", "p1"),
    ),
    read(
        "an unknown word",
        "zone,id,strength MPa\nZ1,p1,see letter\nZ1,p2,1.48\n",
        "Z1 p1 -; Z1 p2 1.48",
        ("see letter", "1 of 2"),
    ),
    read(
        "glue failure in German",
        "Zone;Nr;Haftzug N/mm²\nZ1;p1;Kleberbruch\nZ1;p2;1,48\n",
        "Z1 p1 -; Z1 p2 1.48",
        ("Kleberbruch",),
        p1={"mode": {"Y": 100.0}},
    ),
    read(
        "about",
        "zone,id,strength MPa\nZ1,p1,ca. 1.6\nZ1,p2,1.48\n",
        "Z1 p1 0; Z1 p2 1.48",
        ("approximate",),
        p1={"flagged": True},
    ),
    read(
        "strength blank, load given",
        "zone,id,load kN,disc mm,strength MPa\nZ1,p1,3.18,50,\nZ1,p2,2.91,50,1.48\n",
        "Z1 p1 1.6196; Z1 p2 1.48",
        ("computed from load",),
    ),
    read(
        "which diameter would fit",
        "zone,id,load kN,disc mm,strength MPa\nZ1,p1,3.18,50,1.57\nZ1,p2,2.91,50,1.48\n",
        "Z1 p1 0; Z1 p2 1.48",
        ("50.8 mm",),
        p1={"flagged": True},
    ),
    read("formula injection stays text", "zone,id,strength MPa\n=HYPERLINK(1),p1,1.62\n", "=HYPERLINK(1) p1 1.62"),
    refuse("a range", "zone,id,strength MPa\nZ1,p1,1.5-1.7\nZ1,p2,1.48\n", "row 2", "1.5-1.7"),
    refuse(
        "two numbers in a cell",
        "zone,id,strength MPa\nZ1,p1,1.62 1.70\nZ1,p2,1.48 / 1.5\n",
        "row 2",
        "1.62 1.70",
        "1.48 / 1.5",
    ),
    refuse(
        "letters among digits", "zone,id,strength MPa\nZ1,p1,1.6Z\nZ1,p2,l.48\nZ1,p3,O.95\n", "1.6Z", "l.48", "O.95"
    ),
    refuse("three points", "zone,id,strength MPa\nZ1,p1,1.6.2\n", "1.6.2", "row 2"),
    refuse("a spreadsheet error", "zone,id,strength MPa\nZ1,p1,#DIV/0!\nZ1,p2,1.48\n", "#DIV/0!", "row 2"),
    refuse("unit of another kind in a cell", "zone,id,strength MPa\nZ1,p1,3.2 kN\n", "3.2 kN", "row 2"),
]

FAILURE = [
    read(
        "a column per letter",
        "zone,id,strength MPa,A,A/B,B\nZ1,p1,1.62,80,20,\nZ1,p2,1.48,,100,0\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        p1={"mode": {"A": 80.0, "A/B": 20.0}},
        p2={"mode": {"A/B": 100.0}},
    ),
    read(
        "crosses in a column per letter",
        "zone,id,strength MPa,A,A/B,B\nZ1,p1,1.62,x,,\nZ1,p2,1.48,,X,\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        p1={"mode": {"A": 100.0}},
        p2={"mode": {"A/B": 100.0}},
    ),
    read(
        "letter columns that sum to 90",
        "zone,id,strength MPa,A %,A/B %\nZ1,p1,1.62,80,10\n",
        "Z1 p1 1.62",
        ("= 90 %",),
        p1={"mode": "not accepted"},
    ),
    read(
        "shares of one",
        "zone,id,strength MPa,failure\nZ1,p1,1.62,0.8 A 0.2 A/B\n",
        "Z1 p1 1.62",
        ("tenths, fractions",),
        p1={"mode": {"A": 80.0, "A/B": 20.0}},
    ),
    read(
        "tenths",
        "zone,id,strength MPa,failure\nZ1,p1,1.62,A8 B2\n",
        "Z1 p1 1.62",
        ("tenths",),
        p1={"mode": {"A": 80.0, "B": 20.0}},
    ),
    read(
        "three layers",
        "zone,id,strength MPa,failure\nZ1,p1,1.62,B/C 60 C/D 30 D 10\n",
        "Z1 p1 1.62",
        p1={"mode": {"B/C": 60.0, "C/D": 30.0, "D": 10.0}},
    ),
    read(
        "no multiples of ten",
        "zone,id,strength MPa,failure\nZ1,p1,1.62,A 85 A/B 15\n",
        "Z1 p1 1.62",
        ("no multiples of 10",),
        p1={"mode": {"A": 85.0, "A/B": 15.0}},
    ),
    read(
        "words of six languages",
        "zone,id,strength MPa,failure\n"
        + "".join(
            f"Z1,p{k},1.5,{text}\n"
            for k, text in enumerate(
                (
                    "Bruch im Beton",
                    "rupture dans le béton",
                    "rotura en el hormigón",
                    "rottura nel calcestruzzo",
                    "ruptura no concreto",
                    "zerwanie w betonie",
                )
            )
        ),
        "".join(f"Z1 p{k} 1.5;" for k in range(6)),
        ("Words were taken",),
        p0={"mode": {"A": 100.0}},
        p1={"mode": {"A": 100.0}},
        p2={"mode": {"A": 100.0}},
        p3={"mode": {"A": 100.0}},
        p4={"mode": {"A": 100.0}},
        p5={"mode": {"A": 100.0}},
    ),
    read(
        "codes without shares",
        'zone,id,strength MPa,failure\nZ1,p1,1.62,"A, A/B"\n',
        "Z1 p1 1.62",
        ("how much of each",),
        p1={"mode": "not accepted"},
    ),
    read(
        "unknown words",
        "zone,id,strength MPa,failure\nZ1,p1,1.62,looks odd\n",
        "Z1 p1 1.62",
        ("looks odd",),
        p1={"mode": "not accepted"},
    ),
    read(
        "a legend that agrees",
        "A = failure in substrate,,,\nzone,id,strength MPa,failure\nZ1,p1,1.62,A\n",
        "Z1 p1 1.62",
        p1={"mode": {"A": 100.0}},
    ),
    refuse(
        "a legend that means other things",
        "A = adhesive failure; C = cohesive failure,,,\nzone,id,strength MPa,failure\nZ1,p1,1.62,A\n",
        "adhesive failure",
        "failure_letters",
        "row 1",
    ),
    refuse(
        "letters in brackets",
        "zone,id,strength MPa,failure mode\nZ1,p1,1.62,(a)\nZ1,p2,1.48,(b)\n",
        "C1583",
        "row 2",
        "(a)",
    ),
]

DATES = [
    read(
        "month first, one row proves it",
        "zone,id,date,strength MPa\nZ1,p1,04/03/2024,1.62\nZ1,p2,04/25/2024,1.48\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        p1={"date": "2024-04-03"},
        p2={"date": "2024-04-25"},
    ),
    read(
        "ambiguous dates",
        "zone,id,date,strength MPa\nZ1,p1,03/04/2024,1.62\nZ1,p2,05/06/2024,1.48\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        ("2024-04-03", "2024-03-04", "date_order"),
        p1={"date": ""},
        p2={"date": ""},
    ),
    read(
        "two orders in one column",
        "zone,id,date,strength MPa\nZ1,p1,25/04/2024,1.62\nZ1,p2,04/25/2024,1.48\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        ("not used",),
        p1={"date": ""},
        p2={"date": ""},
    ),
    read(
        "German points and month names",
        "zone;id;date;strength MPa\nZ1;p1;03.04.2024;1,62\nZ1;p2;4. März 2024;1,48\nZ1;p3;2024-05-01;1,5\n",
        "Z1 p1 1.62; Z1 p2 1.48; Z1 p3 1.5",
        p1={"date": "2024-04-03"},
        p2={"date": "2024-03-04"},
        p3={"date": "2024-05-01"},
    ),
    read(
        "day numbers", "zone,id,date,strength MPa\nZ1,p1,45385,1.62\n", "Z1 p1 1.62", ("Day numbers",), p1={"date": ""}
    ),
    read(
        "no such day",
        "zone,id,date,strength MPa\nZ1,p1,31.02.2024,1.62\n",
        "Z1 p1 1.62",
        ("31.02.2024",),
        p1={"date": ""},
    ),
]

MARKED = [
    read(
        "a column of valid pulls",
        "zone,id,strength [MPa],valid\nZ1,p1,1.62,no\nZ1,p2,1.50,yes\n",
        "Z1 p1 1.62; Z1 p2 1.50",
        ('This column seems to say which pulls count, and it was not used: rows 2 (p1): "no", 3 (p2): "yes"',),
    ),
    read(
        "a column of outliers",
        "Zone;Nr;Haftzugfestigkeit [MPa];Ausreißer\nZ1;1;1,62;\nZ1;2;0,50;x\n",
        "Z1 1 1.62; Z1 2 0.50",
        ('which pulls count, and it was not used: row 3 (2): "x"',),
    ),
]

MEANS = [
    refuse(
        "mean in an unknown language as a zone",
        "zone,strength [MPa]\nP 1,2.0\nP 1,2.4\nKeskiarvo,2.20\nP 2,1.0\nP 2,1.4\nKeskiarvo,1.20\n",
        "Keskiarvo",
        "leave_out_rows = [4, 7]",
    ),
    refuse(
        "one unknown word over a mean as a zone", "zone,strength [MPa]\nP 1,2.0\nP 1,2.4\nKeskiarvo,2.20\n", "Keskiarvo"
    ),
    read(
        "a zone of one pull with a value of its own",
        "zone,strength [MPa]\nP 1,2.0\nP 1,2.4\nPorch,2.35\n",
        "P 1  2.0; P 1  2.4; Porch  2.35",
    ),
    read(
        "a numbered zone of one pull that happens to be at the mean",
        "zone,strength [MPa]\nP 1,2.0\nP 1,2.4\nP 2,2.20\n",
        "P 1  2.0; P 1  2.4; P 2  2.20",
    ),
]

NAMES = [
    read("a zone called Total", "zone,id,strength MPa\nTotal,p1,1.62\nTotal,p2,1.48\n", "Total p1 1.62; Total p2 1.48"),
    read(
        "ids that became dates",
        "zone,id,strength MPa\nZ1,05-Mar,1.62\nZ1,P-7,1.48\nZ1,P-8,1.5\n",
        "Z1 05-Mar 1.62; Z1 P-7 1.48; Z1 P-8 1.5",
        ("05-Mar", "turned it into a date"),
    ),
    read("names protected from a spreadsheet", 'zone,id,strength MPa\n="007",="1E5",1.62\n', "007 1E5 1.62"),
    refuse(
        "zones that differ by a sign without width",
        "zone,id,strength MPa\nDeck,p1,1.62\nDeck\u200b,p2,1.48\n",
        "Deck",
    ),
    read(
        "mean behind the zone's name",
        "zone,id,strength MPa\nZ1,p1,1.62\nZ1,p2,1.48\nZ1 mean,,1.55\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        ("left out",),
    ),
    read(
        "mean labelled in the column of loads",
        "zone;id;load [kN];strength [MPa]\nZ1;1;3,18;1,62\nZ1;2;2,91;1,48\n;;Mittelwert:;1,55\nZ2;3;4,02;2,05\n",
        "Z1 1 1.62; Z1 2 1.48; Z2 3 2.05",
        ("left out", "Mittelwert:"),
    ),
    read(
        "lost, as the remark says",
        "zone,id,strength MPa,remark\nZ1,p1,,core broke during drilling\nZ1,p2,1.48,\n",
        "Z1 p1 -; Z1 p2 1.48",
        ("lost before loading: row 2 (p1)",),
    ),
    read(
        "the limit below the readings",
        "zone,id,strength MPa\nZ1,p1,1.62\nZ1,p2,1.48\n\nSpecified minimum strength,,1.50\n",
        "Z1 p1 1.62; Z1 p2 1.48",
        ("left out",),
    ),
    refuse(
        "a value beside a name of its own",
        "zone,id,strength MPa\nZ1,p1,1.62\nZ1,p2,1.48\nZ1,p3,1.5\n\nSomething else,,1.50\n",
        "Something else",
        "row 6",
    ),
    read(
        "failure in a text and in columns",
        "zone,id,strength MPa,A,A/B,failure\nZ1,p1,1.62,100,,A/B\nZ1,p2,1.48,80,20,A 80 A/B 20\nZ1,p3,1.5,,,A\n",
        "Z1 p1 1.62; Z1 p2 1.48; Z1 p3 1.5",
        ("do not agree",),
        p1={"mode": "not accepted"},
        p2={"mode": {"A": 80.0, "A/B": 20.0}},
        p3={"mode": {"A": 100.0}},
    ),
    read(
        "a first row of words under a blank heading",
        ",id,strength MPa\nZone 1,p1,n/a\nZone 1,p2,1.48\n",
        "(unnamed) p1 -; (unnamed) p2 1.48",
        ("column without heading", "Zone 1"),
    ),
    read(
        "the same id twice",
        "zone,id,strength MPa\nZ1,p1,1.62\nZ1,p1,1.48\n",
        "Z1 p1 1.62; Z1 p1 1.48",
        ("share their id",),
    ),
    read("the same id in two zones", "zone,id,strength MPa\nZ1,1,1.62\nZ2,1,1.48\n", "Z1 1 1.62; Z2 1 1.48"),
    read(
        "an id with decimals",
        "zone,id,strength MPa\nZ1,7,1.62\nZ1,7.0,1.48\nZ1,007,1.5\n",
        "Z1 7 1.62; Z1 7.0 1.48; Z1 007 1.5",
    ),
    read("no zone column", "id,strength MPa\np1,1.62\n", "(unnamed) p1 1.62", ("one zone",)),
    read(
        "French headings",
        "Zone;N°;Contrainte [MPa];Mode de rupture;Remarques\nZ1;e1;1,62;rupture dans le support;\n",
        "Z1 e1 1.62",
        e1={"mode": {"A": 100.0}},
    ),
    read(
        "Polish headings",
        "Strefa;Nr;Wytrzymałość na odrywanie [MPa];Rodzaj zniszczenia\nS1;1;1,62;A/B 100\n",
        "S1 1 1.62",
    ),
    read("Spanish headings", "Zona;N°;Resistencia a la tracción [N/mm²];Tipo de rotura\nZ1;1;1,62;A\n", "Z1 1 1.62"),
    read("Italian headings", "Zona;Prova;Carico [kN];Diametro [mm];Tipo di rottura\nZ1;1;3,18;50;A\n", "Z1 1 1.6196"),
    read("Portuguese headings", "Zona;Nº;Força [kN];Diâmetro [mm];Forma de ruptura\nZ1;1;3,18;50;A\n", "Z1 1 1.6196"),
]

ALL = [*TEXT, *LAYOUT, *UNITS, *VALUES, *FAILURE, *DATES, *MARKED, *MEANS, *NAMES]


def case_of(kind: Kind) -> Case:
    """The case that the judge knows."""
    readings = [
        {"zone": zone, "id": name, "strength_MPa": value, **kind.extra.get(name, {})}
        for zone, name, value in kind.values
    ]
    if kind.outcome == "REFUSE":
        return Case("REFUSE", refusal=kind.says)
    return Case("READ", readings, kind.says)


@pytest.mark.parametrize("kind", ALL, ids=[kind.name for kind in ALL])
def test_a_kind_of_file_is_read_rightly_or_refused_with_its_place(kind: Kind) -> None:
    """Each file has its right outcome."""
    assert (
        judge(case_of(kind), lambda: read_bytes(kind.text.encode(kind.encoding), file="readings.csv"), "readings.csv")
        == []
    )


def test_there_are_more_than_eighty_kinds_of_our_own() -> None:
    """Names are unique, so no kind hides another."""
    assert len({kind.name for kind in ALL}) == len(ALL) > 80
