"""For all tests."""

from __future__ import annotations

import os

from hypothesis import settings

# No timed asserts: a machine shared with others may stand still for a second. In CI always the same examples:
# what lands must not hang on luck. Elsewhere each run looks at new ones.
settings.register_profile("house", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("house")
