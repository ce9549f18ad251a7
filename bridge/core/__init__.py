"""The pure part: text, measurement, bands, alarms. No sockets, files or clocks; the time is passed in."""
