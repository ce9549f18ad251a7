"""A lesson with every key, and ways to look at what the reader says about another."""

from __future__ import annotations

from bridge.errors import Fault
from bridge.lesson_file import faults_of

FULL = """\
# What the class follows today.
title = "Which cover keeps the cup warm?"  # on every page
note = "Warm tap water"
lines_per_second = 10.0
try_baud = "ask"

[[channel]]
name = "temperature"
quantity = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
low = 15.0
high = 55.0
decimals = 1

[channel.bands]
baseline = 20.0
edges = [
    2.0,  # hand-warm
    5.0,
    10.0,
]
names = ["room", "lukewarm", "warm", "start"]
deadband = 0.4
baseline_from = "fixed"
dwell_seconds = 0.0
steady_seconds = 20.0
phases = ["baseline", "run"]

[[channel.phase_bands]]
phases = ["cool-down"]
step = 4.0
steps = 2
names = ["cold", "cool", "warm"]

[[channel.limit]]
kind = "high"
at = 48.0
deadband = 0.5
on_delay_seconds = 2.0
off_delay_seconds = 1.0
priority = "high"
message = "Water too warm"
advice = "Add some cold water"

# The sensor that all benches have.
[[conversion]]
name = "sensor"
start = "count"
width_bits = 10
reference_volts = 5.0
divisor = "2^n"
offset_volts = 0.0
volts_per_unit = 0.010

[[layout]]
name = "labelled"
kind = "pairs"
fields = ["raw", "volts", { name = "temperature", label = "Temp", unit = "°C" }]
separator = ";"
decimal_comma = false

[[phase]]
name = "baseline"
note = "Leave the cups alone"
lines_per_second = 10.0

[[phase]]
name = "run"

[[phase]]
name = "cool-down"

[[alarm]]
name = "no numbers"
findings = ["no bytes", "wrong baud"]
weight = "fault"
on_delay_seconds = 10.0
off_delay_seconds = 0.0
priority = "low"
latching = false
needs_acknowledgement = false
phases = ["run"]
message = "Nothing can be read"
advice = "See the bench's page"

# The bench at the window.
[[bench]]
number = 1
name = "No cover"
shape = "circle"
colour = "orange"
row = 1
place = 1
board = "location:1-1.2"
baud = 9600
layout = "labelled"
pulse_dtr = true
lines_per_second = 5.0

[bench.channel.temperature]
field = "raw"
conversion = "sensor"
gain = 1.0
offset = 0.0
baseline = 20.5

[bench.channel.temperature.calibration]
fit = "line"
points = [
    [20.1, 20.6, 0.1, 0.05],
    [45.0, 44.7, 0.1, 0.05],  # the warm bath
]
date = 2026-03-05
reference = "bath thermometer"

# The bench at the door.
[[bench]]
number = 2
"""


def with_line(old: str, new: str) -> str:
    """The full lesson with one line changed; the line must be there once."""
    assert FULL.count(old) == 1, old
    return FULL.replace(old, new)


def line_of(text: str, piece: str) -> int:
    """The line where the piece stands first."""
    return text[: text.index(piece)].count("\n") + 1


def only_fault(text: str) -> Fault:
    """The one fault of a text."""
    faults = faults_of(text)
    assert len(faults) == 1, [str(one) for one in faults]
    return faults[0]
