/* What every program of these boards uses: a serial line, a 10-bit converter on a 5 V reference, printing. */
#ifndef BOARD_H
#define BOARD_H

#include <stdint.h>

#define LINE_MS 100 /* between two lines */

/* Opens the serial line (BAUD, 8 data bits, no parity, one stop bit) and the converter. */
void board_begin(void);

/* What the converter says of a pin: 0 to 1023. */
int board_count(uint8_t pin);

void print_text(const char *text);
void print_whole(int number);
void print_decimals(double number, uint8_t decimals);
void print_end(void);

#endif
