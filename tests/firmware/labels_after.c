/* Right: count, volts and temperature on one line, each with its label behind it; a sensor of 10 mV per °C. */
#include "board.h"

#include <util/delay.h>

int main(void) {
  board_begin();
  for (;;) {
    int raw = board_count(0);
    double volts = raw * 5.0 / 1024.0;
    print_whole(raw);
    print_text(" raw, ");
    print_decimals(volts, 3);
    print_text(" volts, ");
    print_decimals(volts / 0.010, 1);
    print_text(" temp");
    print_end();
    _delay_ms(LINE_MS);
  }
}
