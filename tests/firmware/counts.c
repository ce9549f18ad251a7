/* Right: the converter's count and nothing else, one a line. */
#include "board.h"

#include <util/delay.h>

int main(void) {
  board_begin();
  for (;;) {
    print_whole(board_count(0));
    print_end();
    _delay_ms(LINE_MS);
  }
}
