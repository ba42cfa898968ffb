"""Settings for the whole suite."""

from __future__ import annotations

import os
import warnings

import hypothesis

# papermill brings requests, which warns at its first import where PySocks is missing; here every warning is an error.
with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import papermill  # noqa: F401

# One profile for people, one for CI: without a deadline, since shared machines stall; under CI the same examples every
# time, so that a red run can be repeated. Hypothesis would load a profile of its own where CI is set.
hypothesis.settings.register_profile("people", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True, database=None, print_blob=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "people")
