"""Settings for the whole suite."""

from __future__ import annotations

import os

import hypothesis

# One profile for people, one for CI: without a deadline, since shared machines stall; under CI the same examples every
# time, so that a red run can be repeated. Hypothesis would load a profile of its own where CI is set.
hypothesis.settings.register_profile("people", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True, database=None, print_blob=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "people")
