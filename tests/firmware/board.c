#include "board.h"

#include <avr/io.h>
#include <stdlib.h>
#include <util/setbaud.h>

void board_begin(void) {
#if USE_2X
  UCSR0A = _BV(U2X0); /* first: the emulator works out the rate when the divider is set */
#endif
  UBRR0 = UBRR_VALUE;
  UCSR0B = _BV(TXEN0);
  UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
  ADCSRA = _BV(ADEN) | _BV(ADPS1) | _BV(ADPS0); /* the clock / 8: 125 kHz, for all ten bits */
}

int board_count(uint8_t pin) {
  ADMUX = _BV(REFS0) | pin; /* against the 5 V supply */
  ADCSRA |= _BV(ADSC);
  while (ADCSRA & _BV(ADSC)) {
  }
  return ADC;
}

static void print_byte(char byte) {
  while (!(UCSR0A & _BV(UDRE0))) {
  }
  UDR0 = byte;
}

void print_text(const char *text) {
  while (*text) {
    print_byte(*text++);
  }
}

void print_whole(int number) {
  char text[7];
  print_text(itoa(number, text, 10));
}

void print_decimals(double number, uint8_t decimals) {
  char text[20];
  print_text(dtostrf(number, 1, decimals, text));
}

void print_end(void) { print_text("\r\n"); }
