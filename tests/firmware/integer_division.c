/* Mistaken: `raw * 5 / 1024` is made of whole numbers only, so the fraction of a volt is lost before it counts. */
#include "board.h"

#include <util/delay.h>

int main(void) {
  board_begin();
  for (;;) {
    int raw = board_count(0);
    double volts = raw * 5 / 1024;
    print_text("raw: ");
    print_whole(raw);
    print_text(", volts: ");
    print_decimals(volts, 2);
    print_text(", temp: ");
    print_decimals(volts / 0.010, 1);
    print_end();
    _delay_ms(LINE_MS);
  }
}
