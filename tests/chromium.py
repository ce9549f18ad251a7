"""Where a Chromium stands on this machine; asked before anything is installed."""

from __future__ import annotations

from dashboard.exporting.finding_chromium import find_chromium

__all__ = ["find_chromium"]
