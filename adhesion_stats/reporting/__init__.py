"""Documents made from the results: every one is a pure function of results.json and a look.

This room computes no statistic, reads no file and no clock. ``words`` holds the words, ``model`` the small document
model, ``document`` the document of an assessment, ``figures`` the pictures, ``page`` and ``terminal`` the ways to
show them.
"""

from __future__ import annotations
