"""The pure part: text, measurement, bands, alarms. No sockets, files, threads or clocks; the time is passed in."""
