"""Fixtures of the dashboard's tests."""

from __future__ import annotations

from tests.dashboard.browser import browser, open_page, page
from tests.dashboard.made_up_bridge import made_up_bridge

__all__ = ["browser", "made_up_bridge", "open_page", "page"]
