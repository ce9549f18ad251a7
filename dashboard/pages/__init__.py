"""The pages: what stands in them before the browser's script fills them with live data."""
