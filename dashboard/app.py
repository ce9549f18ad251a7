"""The Dash app: pages, assets and security headers. Live data go from the bridge straight to the browser."""

from __future__ import annotations

import html
import re
from typing import Any
from urllib.parse import urlsplit

import dash
import flask
from dash import Input, Output, dcc
from dash import html as tags
from dash.development.base_component import Component

from dashboard.pages import bench, codes, compare, journal, set_up, wall, what_if, where_next
from dashboard.pages.frame import framed, not_found
from dashboard.recordings import Recordings
from dashboard.shipped import assets_folder

_INDEX = """<!DOCTYPE html>
<html lang="en" data-bridge="{bridge}">
    <head>
        {{%metas%}}
        <meta name="color-scheme" content="light dark">
        <title>{{%title%}}</title>
        {{%favicon%}}
        {{%css%}}
    </head>
    <body>
        <noscript>Benchrow needs scripts: please allow them for this page.</noscript>
        {{%app_entry%}}
        <div hidden>
            {{%config%}}
            {{%scripts%}}
            {{%renderer%}}
        </div>
    </body>
</html>"""

_HERE = {"127.0.0.1", "localhost", "::1", "0.0.0.0", "::", ""}  # noqa: S104 (names of this machine, none is bound)


def make_app(*, bridge_url: str, recordings: Recordings | None = None) -> dash.Dash:
    """The dashboard for one bridge.

    Args:
        bridge_url: The bridge's WebSocket, for example "ws://127.0.0.1:8765".
        recordings: Those that may be compared; None: there are none.
    """
    kept = recordings or Recordings()
    app = dash.Dash(
        __name__,
        title="Benchrow",
        update_title="",
        assets_folder=str(assets_folder()),
        assets_path_ignore=["^parts$"],  # imported modules: as scripts of their own they would run twice
        serve_locally=True,
        use_pages=False,
        pages_folder="",
        add_log_handler=False,
        index_string=_INDEX.format(bridge=html.escape(bridge_url, quote=True)),
        suppress_callback_exceptions=True,  # the pages' elements stand in the layout only once routed
    )
    app.layout = tags.Div([dcc.Location(id="address", refresh=False), tags.Div(id="content")])
    app.callback(Output("content", "children"), Input("address", "pathname"))(
        lambda path: page_at(path, recordings=kept)
    )
    compare.register(app, kept)
    what_if.register(app, kept)
    hashes = app.csp_hashes()
    app.server.after_request(lambda response: _secured(response, bridge_url, hashes))
    return app


def page_at(path: str | None, *, recordings: Recordings) -> Component:
    """The page of an address: "/" the wall, "/bench/3" the bench with number 3, "/next" and the like."""
    if path in (None, "", "/"):
        return framed(wall.layout(), here="/")
    if path in ("/next", "/next/"):
        return framed(where_next.layout(), here="/next")
    if path in ("/codes", "/codes/"):
        return framed(codes.layout())
    if path in ("/set-up", "/set-up/"):
        return framed(set_up.layout(), here="/set-up")
    if path in ("/compare", "/compare/"):
        return framed(compare.layout(recordings), here="/compare")
    if path in ("/what-if", "/what-if/"):
        return framed(what_if.layout(recordings), here="/what-if")
    if path in ("/journal", "/journal/"):
        return framed(journal.layout(), here="/journal")
    found = re.fullmatch(r"/bench/([1-9][0-9]{0,4})/?", path or "")
    if found:
        return framed(bench.layout(int(found[1])))
    return framed(not_found(path or ""))


def bridge_as_seen_from(page_host: str, bridge_url: str) -> str:
    """The bridge's address for a page that was opened under `page_host`.

    A page opened from another machine reaches a bridge on this one under the name by which it reached the
    page; `assets/parts/link.mjs` follows the same rule.
    """
    bridge = urlsplit(bridge_url)
    if (bridge.hostname or "") not in _HERE or page_host in _HERE:
        return bridge_url
    name = f"[{page_host}]" if ":" in page_host else page_host
    return bridge._replace(netloc=f"{name}:{bridge.port}" if bridge.port else name).geturl()


def _secured(response: flask.Response, bridge_url: str, script_hashes: Any) -> flask.Response:
    bridge = urlsplit(bridge_as_seen_from(_page_host(), bridge_url))
    policy = {
        "default-src": "'self'",
        "script-src": " ".join(["'self'", *script_hashes]),
        "style-src": "'self' 'unsafe-inline'",  # Dash and plotly write style elements
        "img-src": "'self' data: blob:",
        "connect-src": f"'self' {bridge.scheme}://{bridge.netloc}",
        "object-src": "'none'",
        "base-uri": "'none'",
        "form-action": "'self'",
        "frame-ancestors": "'none'",
    }
    response.headers["Content-Security-Policy"] = "; ".join(f"{k} {v}" for k, v in policy.items())
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Referrer-Policy"] = "no-referrer"
    response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
    return response


def _page_host() -> str:
    """The host name that the browser used; "" when it is none (a Host header may hold anything)."""
    try:
        name = urlsplit(f"//{flask.request.host}").hostname or ""
    except ValueError:
        return ""
    return name if re.fullmatch(r"[A-Za-z0-9.-]+|[0-9a-fA-F:.]+", name) else ""
