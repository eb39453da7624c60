"""Settings every test shares."""

from __future__ import annotations

from hypothesis import settings

# No test is timed, and a run says the same as the one before.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")
