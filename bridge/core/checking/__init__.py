"""The conversion check: which formula a board's program computes with, told from its printed numbers."""

from bridge.core.checking.check import ConversionCheck
from bridge.core.checking.verdict import Verdict

__all__ = ["ConversionCheck", "Verdict"]
