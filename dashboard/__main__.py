"""`python -m dashboard`: the same as `benchrow`."""

from __future__ import annotations

import sys

from dashboard.command import main

sys.exit(main())
