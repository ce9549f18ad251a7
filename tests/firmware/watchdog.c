/* Mistaken: after every eighth line it waits in the middle of the next for something that never comes, until
   the watchdog starts it anew. Its numbers are right. */
#include "board.h"

#include <avr/io.h>
#include <avr/wdt.h>
#include <util/delay.h>

#define LINES_UNTIL_STUCK 8

int main(void) {
  uint8_t why = MCUSR;
  MCUSR = 0; /* else the watchdog can't be stopped: it runs on after a reset, with its shortest time */
  wdt_disable();
  wdt_enable(WDTO_1S);
  board_begin();
  print_text("Cup watch 3");
  print_end();
  print_text(why & _BV(WDRF) ? "started by the watchdog" : "started by the power switch");
  print_end();
  for (uint8_t line = 0;; line++) {
    int raw = board_count(0);
    double volts = raw * 5.0 / 1024.0;
    print_text("raw: ");
    print_whole(raw);
    print_text(", volts: ");
    print_decimals(volts, 3);
    print_text(", te");
    while (line == LINES_UNTIL_STUCK) {
    }
    print_text("mp: ");
    print_decimals(volts / 0.010, 1);
    print_end();
    wdt_reset();
    _delay_ms(LINE_MS);
  }
}
