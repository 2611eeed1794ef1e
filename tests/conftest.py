"""Set-up of every test run; imports no Qt, so that the pure tests run where Qt is missing."""

import os

from hypothesis import settings

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# The same examples in every run; `explore` looks for new ones.
settings.register_profile("repeatable", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, max_examples=2000, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))
