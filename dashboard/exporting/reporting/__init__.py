"""The report of a session: one HTML file that needs nothing else, runs no script and prints on any paper."""
