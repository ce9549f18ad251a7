"""The health of boards: what is wrong with a board, its wiring or its program, seen from what it sends."""

from .bench_health import ASSESS_EVERY_NS, BenchHealth
from .class_health import ClassHealth
from .seen import ChannelSeen

__all__ = ["ASSESS_EVERY_NS", "BenchHealth", "ChannelSeen", "ClassHealth"]
