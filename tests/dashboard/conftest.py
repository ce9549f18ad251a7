"""Fixtures of the dashboard's tests."""

from __future__ import annotations

from tests.dashboard.browser import browser, open_page, page

__all__ = ["browser", "open_page", "page"]
