"""Random readings files and contracts: every kind of criterion, bounds, lost pulls, retests, silent rules, units.

Limits lie near the values, so that decisions of every sort come out; recorded values are coarse, so that ties do.
"""

from __future__ import annotations

import random

__all__ = ["contract", "readings"]

CODES = ("A", "A/B", "B", "-/Y", "Y")


def readings(r: random.Random, *, zones: int = 3) -> str:
    """A readings file as CSV."""
    load = r.random() < 0.15
    head = "zone,id,load [kN],diameter [mm]" if load else f"zone,id,strength [{'psi' if r.random() < 0.1 else 'MPa'}]"
    psi = "psi" in head
    places = r.choice((1, 2, 2))
    lines = [head + ",failure,failure depth [mm],lost,retest of,exclusion,measurement,stage,round"]
    for z in range(zones):
        for i in range(r.choice((1, 2, 3, 3, 4, 5, 6, 6, 8, 12))):
            lines += _pull(r, f"Zone {z + 1}", f"{z + 1}.{i + 1}", places, load=load, psi=psi)
    return "\n".join(lines) + "\n"


def _pull(r: random.Random, zone: str, name: str, places: int, *, load: bool, psi: bool) -> list[str]:
    value = max(0.1, r.gauss(1.6, 0.35))
    text = f"{value * 1.9635:.2f}" if load else f"{value * 145.04:.0f}" if psi else f"{value:.{places}f}"
    if r.random() < 0.12:
        text = f"> {text}"
    elif r.random() < 0.03:
        text = f"< {text}"
    lost = r.random() < 0.06
    text = "" if lost else text
    depth = r.choice(("", "3", "6", "8"))
    measured, stage, round_ = (
        r.choice(("", "M1", "M2")),
        r.choice(("", "", "production", "trial")),
        r.choice(("", "", "2")),
    )
    excluded = "hollow place" if r.random() < 0.04 else ""

    def row(name: str, text: str, retest: str, lost: str, excluded: str) -> str:
        values = f"{text},50" if load else text
        shares = _failure(r)
        return f'{zone},{name},{values},"{shares}",{depth},{lost},{retest},{excluded},{measured},{stage},{round_}'

    found = [row(name, text, "", "yes" if lost else "", excluded)]
    if r.random() < (0.5 if lost or excluded else 0.06):
        found.append(row(f"{name}R", text.lstrip("<> ") or f"{value:.2f}", name, "", ""))
    return found


def _failure(r: random.Random) -> str:
    if r.random() < 0.12:
        return ""
    codes = r.sample(CODES, r.choice((1, 1, 2, 2, 3)))
    weights = [r.randint(1, 4) for _ in codes]
    shares = [10 * round(10 * w / sum(weights)) for w in weights]
    shares[0] += 100 - sum(shares)
    return ", ".join(f"{c} {s} %" for c, s in zip(codes, shares, strict=True) if s)


def _limit(r: random.Random) -> str:
    return r.choice(
        (f"{r.uniform(0.8, 1.9):.2f} MPa", f"{r.uniform(0.8, 1.9):.1f} MPa", f"{r.uniform(130, 260):.0f} psi")
    )


def _question(r: random.Random) -> str:
    return r.choice(("", "", "", ', question = "A/B"', ', question = "A"'))


def _failed(r: random.Random) -> str:
    codes = ", ".join(f'"{c}"' for c in r.sample(CODES, r.choice((1, 1, 2))))
    depth = r.choice(("", "", ', depth_from = "6 mm"'))
    return f'[{codes}], from = "{r.choice((30, 50, 60, 80))} %"{depth}'


def criterion(r: random.Random) -> str:
    """One criterion as an inline table."""
    q, limit = _question(r), _limit(r)
    kinds = [
        f'mean_at_least = "{limit}"{q}',
        f'smallest_at_least = "{limit}"{q}',
        f'smallest_at_least = "75 % of 2.00 MPa"{q}',
        f'smallest_at_least_of_mean = "{r.choice((60, 75, 85))} %"{q}',
        f'pulls_at_or_above = "{limit}", at_least_share = "{r.choice((50, 80, 90))} %"{q}',
        f'held_at = "{limit}"{q}',
        f'mean_less_sd_at_least = "{limit}", k = {r.choice((0.3, 1.0, 1.4, 2))}{q}',
        f'mean_less_sd_at_least = "{limit}", k = {{ 3 = 1.7, 4 = 1.55, 5 = 1.45, 6 = 1.4 }}{q}',
        f'quality_index_at_least = {r.choice((0.5, 1.12, 1.7))}, lower_limit = "{limit}"{q}',
        f'share_below_at_most = "{r.choice((2.5, 10, 20))} %", lower_limit = "{limit}"{q}',
        f'cov_at_most = "{r.choice((10, 20, 25))} %"{q}',
        f'smallest_at_least = "{limit}", unless_failed = {_failed(r)}',
        f'mean_at_least = "{limit}", only_failed = {_failed(r)}',
        f'mean_at_least = "{limit}", within_same_failure = true, from = "60 %"',
        f'failure_share = ["{r.choice(CODES)}"], {r.choice(("at_least", "at_most"))} = "{r.choice((20, 40, 60))} %"',
        f'pulls_with_failure = {_failed(r)}, {r.choice(("at_least", "at_most"))} = "{r.choice((20, 50, 80))} %"',
        _each_pull(r),
        *(f'characteristic_at_least = "{limit}", {method}{q}' for method in METHODS),
    ]
    return "{ " + r.choice(kinds) + " }"


def _each_pull(r: random.Random) -> str:
    cases = '{ failed = ["A/B"], from = "60 %", at_least = "1.5 MPa" }'
    cases += ', { failed = ["A"], from = "40 %", at_least = "1.2 MPa" }'
    return f"each_pull = [ {cases} ]" + r.choice(("", ', otherwise = "1.6 MPa"'))


METHODS = (
    'method = "tolerance", content = 0.95, confidence = 0.75',
    'method = "tolerance-known-sd", content = 0.95, confidence = 0.75, known_sd = "0.30 MPa"',
    'method = "pooled", content = 0.90, confidence = 0.75',
    'method = "lognormal", content = 0.95, confidence = 0.75',
    'method = "weibull", content = 0.90, confidence = 0.75',
    'method = "order-statistic", content = 0.70, confidence = 0.75',
    'method = "en1990-unknown"',
    'method = "en1990-known", known_cov = 0.20',
    'method = "en14358-normal"',
    'method = "en14358-lognormal"',
    'method = "iso12491", confidence = 0.75',
)


def contract(r: random.Random) -> str:
    """A specification."""
    found = ["[contract]", 'title = "Random"', "invented = true"]
    for i in range(r.choice((1, 1, 2))):
        found += ["[[require]]"]
        if i:
            found += ['zones = ["Zone 1", "Zone 4"]'] if r.random() < 0.5 else ['stage = "production"']
        n = r.choice((1, 1, 2, 2, 3))
        if n == 1 and r.random() < 0.3:
            z = r.randint(1, 4)
            found += [f'pulls_at_or_above = "{_limit(r)}"', f"at_least = {z}", f"of = {z + r.randint(0, 2)}"]
        elif r.random() < 0.75:
            found += [f"all_of = [{', '.join(criterion(r) for _ in range(n))}]"]
        else:
            found += [f"any_of = [{', '.join(criterion(r) for _ in range(n))}]"]
    counts = any(line.startswith("pulls_at_or_above") for line in found)
    found += ["[pulls]"]
    found += [] if counts or r.random() < 0.4 else [f"required = {r.randint(2, 6)}"]
    found += r.choice(([], ['ceiling = "4.00 MPa"'], []))
    found += r.choice(([], ['lost = "unknown"'], ['lost = "left out"']))
    found += r.choice(([], [], [], ["least_valid = 4"]))
    found += ['count_by = "measurement"', "pulls_per_measurement = 2"] if r.random() < 0.12 else []
    found += r.choice(([], ['[glue]\nfrom = "50 %"\nthen = "at least"'], ['[glue]\nfrom = "50 %"\nthen = "discard"']))
    found += r.choice(([], ['[interface]\nbroke_there_from = "50 %"']))
    found += r.choice(
        ([], [], ['[rounding]\nmethod = "rounded"\nties = "even"'], ['[rounding]\nties = "up"\nrecord_to = "0.05 MPa"'])
    )
    found += r.choice(([], ['[screening]\nside = "both"'], ['[screening]\nside = "high"\nlevel = 0.1']))
    found += ['[[ladder]]\ndo = "revise and repeat"\npulls = 3'] if r.random() < 0.1 else []
    return "\n".join(found) + "\n"
