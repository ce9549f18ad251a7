"""What every hand-out says about its limits."""

from __future__ import annotations

CAUTIONS = (
    "Teaching aid: not a medical, safety or legal-metrology instrument.",
    "An alarm here protects nobody: it teaches.",
    "Low voltage from USB or batteries only, never the mains; water warm, not hot, and away from "
    "mains-powered equipment.",
    "Local laboratory rules and the responsible, qualified person come first.",
)
