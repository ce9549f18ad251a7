"""What a user would write in sixty lines: read ports, show them in a Dash page, offer them on a WebSocket.

    python naive.py [--interval MS] [--baud N] [--page-port N] [--socket-port N] PORT [PORT ...]

Lines look like "Temp: 23.45 C".
"""

from __future__ import annotations

import argparse
import asyncio
import json
import threading
import time
from collections import deque
from typing import Any

import plotly.graph_objects as go  # type: ignore[import-untyped]  # it has no types
import serial
from dash import Dash, Input, Output, dcc, html
from websockets.asyncio.server import ServerConnection, broadcast, serve

parser = argparse.ArgumentParser()
parser.add_argument("ports", nargs="+")
parser.add_argument("--interval", type=int, default=1000, help="page refresh in ms")
parser.add_argument("--baud", type=int, default=115200)
parser.add_argument("--page-port", type=int, default=8050)
parser.add_argument("--socket-port", type=int, default=8765)
args = parser.parse_args()

# (time, value), the last minute at 10 lines/s
history: list[deque[tuple[float, float]]] = [deque(maxlen=600) for _ in args.ports]
clients: set[ServerConnection] = set()
loop = asyncio.new_event_loop()


def read_port(bench: int, port: str) -> None:
    with serial.Serial(port, args.baud, timeout=1) as link:
        while True:
            line = link.readline().decode(errors="replace").strip()
            try:
                value = float(line.split(":")[1].split()[0])
            except (IndexError, ValueError):
                continue
            now = time.time()
            history[bench].append((now, value))
            message = json.dumps({"bench": bench + 1, "time": now, "value": value})
            loop.call_soon_threadsafe(broadcast, clients, message)


async def on_client(client: ServerConnection) -> None:
    clients.add(client)
    await client.wait_closed()
    clients.discard(client)


async def serve_clients() -> None:
    async with serve(on_client, "127.0.0.1", args.socket_port):
        await asyncio.Future()


app = Dash(__name__)
app.layout = html.Div(
    [dcc.Graph(id="gauges"), dcc.Graph(id="lines"), dcc.Interval(id="tick", interval=args.interval)]
)


@app.callback(Output("gauges", "figure"), Output("lines", "figure"), Input("tick", "n_intervals"))
def refresh(_: int | None) -> tuple[Any, Any]:
    gauges, lines = go.Figure(), go.Figure()
    for i, values in enumerate(history):
        points = list(values)
        indicator = go.Indicator(
            mode="gauge+number",
            value=points[-1][1] if points else None,
            title={"text": f"Bench {i + 1}"},
            number={"valueformat": ".2f"},
            gauge={"axis": {"range": [0, 50]}},
            domain={"row": i // 4, "column": i % 4},
        )
        gauges.add_trace(indicator)
        lines.add_trace(go.Scatter(x=[p[0] for p in points], y=[p[1] for p in points], name=f"Bench {i + 1}"))
    gauges.update_layout(grid={"rows": -(-len(history) // 4), "columns": 4}, height=800)
    return gauges, lines


for number, name in enumerate(args.ports):
    threading.Thread(target=read_port, args=(number, name), daemon=True).start()
threading.Thread(target=loop.run_until_complete, args=(serve_clients(),), daemon=True).start()
app.run(port=args.page_port)
