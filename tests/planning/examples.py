"""Specifications with a plan, for tests: one that is good, and ways to make it say something."""

from __future__ import annotations

HEAD = '[contract]\ntitle = "t"\n[pulls]\nrequired = 5\n[[require]]\nmean_at_least = "1.50 MPa"\n'
PLAN = (
    '[plan]\nseed = 11\nstratified = true\nedge_distance = "150 mm"\nspacing = "200 mm"\nretest_positions = 1\n'
    '[[plan.frequency]]\npulls = 3\nfirst_area = "50 m2"\nthen_each = "250 m2"\nbegun = true\n'
)
DECK = '[[plan.zone]]\nname = "Deck"\norigin = ["0 m", "0 m"]\nrectangle = ["12 m", "8 m"]\n'
GOOD = HEAD + PLAN + DECK
SMALL = DECK.replace('["12 m", "8 m"]', '["1 m", "0.6 m"]')
OTHER = '[[require]]\nzones = ["Wall"]\nmean_at_least = "1.50 MPa"\n'
CAN_NOT_BE_PLANNED = (
    HEAD,
    HEAD.replace("[pulls]\nrequired = 5\n", "") + '[plan]\n[[plan.zone]]\nname = "Deck"\narea = "9 m2"\n',
    HEAD + PLAN.replace('"200 mm"', '"400 mm"') + SMALL,
    HEAD + PLAN.replace('"200 mm"', '"160 mm"') + SMALL,
)
SAYS_SOMETHING = (
    GOOD + OTHER,
    HEAD.replace("mean_at", 'zones = ["Wall"]\nmean_at') + PLAN + DECK,
    HEAD.replace("5", "2") + PLAN + DECK,
    HEAD.replace("required = 5\n", "")
    + '[[require]]\npulls_at_or_above = "1.0 MPa"\nat_least = 3\nof = 4\n'
    + PLAN
    + DECK,
)
RISK = (
    '[plan.risk]\ngood_mean = "2.00 MPa"\nbad_mean = "1.30 MPa"\ncov = "20 %"\naccept_good_at_least = "90 %"\n'
    'accept_bad_at_most = "{bad} %"\n'
)
BOTH = HEAD.replace("mean_at_least", 'all_of = [{ smallest_at_least = "1.00 MPa" }, { mean_at_least').rstrip() + " }]\n"
SAYS_RISK = (
    HEAD.replace('mean_at_least = "1.50 MPa"', 'failure_share = ["A"]\nat_least = "60 %"')
    + PLAN
    + DECK
    + RISK.format(bad=5),
    HEAD + PLAN + DECK + RISK.format(bad=5).replace("1.30", "1.90"),
    BOTH.replace("required = 5", "required = 30") + PLAN + DECK + RISK.format(bad=5),
)
NOT_A_PLAN = (
    HEAD + PLAN + DECK + 'unit = "m"\n',
    HEAD + PLAN + 'zones = ["Dek"]\n' + DECK,
    HEAD + PLAN + DECK + DECK,
    HEAD + PLAN + '[[plan.zone]]\nname = "Deck"\npolygon = [[0, 0], [4, 4], [4, 0], [0, 4]]\nunit = "m"\n',
    GOOD + 'keep_outs = [{ name = "Drain", origin = ["50 m", "3 m"], rectangle = ["1 m", "1 m"] }]\n',
)
MEASURED = HEAD.replace("required = 5", 'count_by = "measurement"\npulls_per_measurement = 3\nrequired = 4') + (
    '[plan]\nseed = 11\nstratified = true\nedge_distance = "150 mm"\nspacing = "200 mm"\nretest_positions = 1\n'
    'measurement_side = "1 m"\n[[plan.frequency]]\nmeasurements = 1\nfirst_area = "15 m2"\nthen_each = "15 m2"\n'
    "begun = true\n"
)
MEASURED_DECK = MEASURED + DECK
NO_MEASUREMENT = MEASURED_DECK.replace("pulls_per_measurement = 3\n", "")
MEASURED_CROWDED = (
    MEASURED + DECK.replace('["12 m", "8 m"]', '["3 m", "2 m"]'),
    MEASURED_DECK.replace('measurement_side = "1 m"', 'measurement_side = "250 mm"'),
)
MEASURED_SAYS = (
    MEASURED_DECK.replace('mean_at_least = "1.50 MPa"', 'pulls_at_or_above = "1.0 MPa"\nat_least = 3\nof = 4'),
    MEASURED_DECK + RISK.format(bad=5),
)
