"""A URL handler as anyone may add one: greeting:// says once, on opening, how its control lines stand."""

from __future__ import annotations

from serial.urlhandler import protocol_loop


class Serial(protocol_loop.Serial):
    def from_url(self, url: str) -> None:
        """It takes no options."""

    def open(self) -> None:
        super().open()
        self.write(b"DTR %d RTS %d\n" % (self.dtr, self.rts))
