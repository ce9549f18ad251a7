/* Mistaken: an int has 16 bits here, and from count 66 on `raw * 500` does not fit into it. */
#include "board.h"

#include <util/delay.h>

int main(void) {
  board_begin();
  for (;;) {
    int raw = board_count(0);
    int temp = raw * 500 / 1024; /* whole °C, by a sensor of 10 mV per °C */
    print_text("raw: ");
    print_whole(raw);
    print_text(", temp: ");
    print_whole(temp);
    print_end();
    _delay_ms(LINE_MS);
  }
}
