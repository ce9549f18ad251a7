/* Right: one value a line, its label before it; three lines are one record. A sensor of 10 mV per °C. */
#include "board.h"

#include <util/delay.h>

int main(void) {
  board_begin();
  for (;;) {
    int raw = board_count(0);
    double volts = raw * 5.0 / 1024.0;
    print_text("Raw: ");
    print_whole(raw);
    print_end();
    print_text("Volts: ");
    print_decimals(volts, 3);
    print_end();
    print_text("Temp: ");
    print_decimals(volts / 0.010, 1);
    print_text(" C");
    print_end();
    _delay_ms(LINE_MS);
  }
}
