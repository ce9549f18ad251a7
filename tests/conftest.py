"""For all tests."""

from __future__ import annotations

from hypothesis import settings

# No timed asserts: a machine shared with others may stand still for a second.
settings.register_profile("house", deadline=None)
settings.load_profile("house")
