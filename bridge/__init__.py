"""Bytes from many boards to readings, live, recorded and replayed."""
