"""The demo: its lesson, its simulated boards, the recording that they made."""
