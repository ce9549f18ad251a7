"""The dashboard's server: pages, security headers, taken ports."""

from __future__ import annotations

import re
import socket
import urllib.request
from collections.abc import Iterator

import pytest

from bridge import BenchrowError
from dashboard.app import bridge_as_seen_from, make_app
from dashboard.serving import Dashboard
from dashboard.shipped import assets_folder, shipped_folder
from tests.dashboard.browser import dashboard_for

BRIDGE = "ws://127.0.0.1:8765"


@pytest.fixture
def dashboard() -> Iterator[Dashboard]:
    with dashboard_for(BRIDGE) as one:
        yield one


def get(url: str, host: str | None = None) -> tuple[dict[str, str], str]:
    request = urllib.request.Request(url, headers={"Host": host} if host else {})
    with urllib.request.urlopen(request, timeout=10) as answer:
        return dict(answer.headers), answer.read().decode()


def test_the_page_names_the_bridge_and_its_language(dashboard: Dashboard) -> None:
    _, text = get(dashboard.url)
    assert f'<html lang="en" data-bridge="{BRIDGE}">' in text


def test_a_bridge_url_cannot_break_out_of_its_attribute() -> None:
    client = make_app(bridge_url='ws://x/"><script>').server.test_client()
    assert 'data-bridge="ws://x/&quot;&gt;&lt;script&gt;"' in client.get("/").get_data(as_text=True)


def test_headers_allow_this_server_and_the_bridge_only(dashboard: Dashboard) -> None:
    headers, _ = get(dashboard.url)
    policy = dict(part.strip().split(" ", 1) for part in headers["Content-Security-Policy"].split(";"))
    assert policy["default-src"] == "'self'"
    assert policy["connect-src"] == f"'self' {BRIDGE}"
    assert "unsafe" not in policy["script-src"]
    assert policy["frame-ancestors"] == "'none'"
    assert headers["X-Content-Type-Options"] == "nosniff"


def test_a_page_opened_from_another_machine_may_reach_the_bridge_there(dashboard: Dashboard) -> None:
    headers, _ = get(dashboard.url, host=f"192.168.1.20:{dashboard.port}")
    assert "connect-src 'self' ws://192.168.1.20:8765" in headers["Content-Security-Policy"]


@pytest.mark.parametrize("host", ["x; script-src *", "a'b", "[::1", "é"])
def test_a_hostile_host_header_changes_no_rule(host: str) -> None:
    answer = make_app(bridge_url=BRIDGE).server.test_client().get("/", headers={"Host": host})
    if answer.status_code == 200:
        assert f"connect-src 'self' {BRIDGE};" in answer.headers["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("page_host", "bridge", "seen"),
    [
        ("localhost", "ws://127.0.0.1:8765", "ws://127.0.0.1:8765"),
        ("192.168.1.20", "ws://0.0.0.0:8765", "ws://192.168.1.20:8765"),
        ("fe80::1", "ws://[::]:8765", "ws://[fe80::1]:8765"),
        ("192.168.1.20", "ws://room-pc:8765", "ws://room-pc:8765"),
    ],
)
def test_the_bridge_is_reached_by_the_name_that_reached_the_page(
    page_host: str, bridge: str, seen: str
) -> None:
    assert bridge_as_seen_from(page_host, bridge) == seen


def test_the_page_loads_entry_scripts_as_modules_and_no_part_by_itself(dashboard: Dashboard) -> None:
    _, text = get(dashboard.url)
    scripts = re.findall(r'<script[^>]*src="(/assets/[^"?]+)[^>]*>', text)
    assert "/assets/wall.mjs" in scripts
    assert [one for one in scripts if "/parts/" in one] == []  # an imported module would run twice
    _, part = get(dashboard.url.rstrip("/") + "/assets/parts/link.mjs")
    assert "export class Link" in part


def test_pages_hold_no_address_of_the_outer_world(dashboard: Dashboard) -> None:
    _, text = get(dashboard.url)
    assert re.findall(r'(?:src|href)="(?:https?:)?//', text) == []
    for path in assets_folder().rglob("*"):
        if path.suffix in {".mjs", ".css"}:
            outer = re.findall(r"https?://(?!www\.w3\.org/)", path.read_text(encoding="utf-8"))
            assert outer == [], path.name


def test_raw_colours_stand_in_the_tokens_only() -> None:
    for path in assets_folder().rglob("*"):
        if path.suffix in {".mjs", ".css"} and path.name != "tokens.css":
            text = path.read_text(encoding="utf-8")
            assert re.findall(r"#[0-9a-fA-F]{3,8}\b(?!\s*\{)|\b(?:rgb|hsl)a?\(", text) == [], path.name


def test_a_taken_port_is_told_with_the_option_that_chooses_another() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(BenchrowError, match=rf"port {port} .*--port"):
            Dashboard("127.0.0.1", port, BRIDGE)


def test_a_missing_folder_says_where_it_was_sought() -> None:
    with pytest.raises(FileNotFoundError, match="'nowhere' is missing"):
        shipped_folder("nowhere")
