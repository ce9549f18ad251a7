/* Runs a board's program in an emulated 8-bit microcontroller, its serial line on a pseudo-terminal.

   emulator FIRMWARE MCU CLOCK_HZ SPEED SECONDS

   Prints `port NAME`, then runs SPEED times as fast as a real board; with SPEED 0 only as it is told to. Standard
   input takes lines `pin P MILLIVOLTS`, each answered with the same line once the pin has that voltage, and with
   SPEED 0 `run MS`: runs that much of the board's time and answers `run MS N_BYTES`, all that it has printed yet.
   It ends when standard input does, and by itself after SECONDS of real time. */
#include <poll.h>
#include <simavr/avr_adc.h>
#include <simavr/avr_uart.h>
#include <simavr/parts/uart_pty.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define SUPPLY_MILLIVOLTS 5000
#define N_PINS 8
#define N_STEPS 1024 /* of a 10-bit converter */
#define SLICE_MS 2   /* real time between two looks at the clock and at standard input */
#define LONGEST_SLICE_SECONDS 0.02
#define LONGEST_RUN_MS 200 /* at 9600 baud less than the line's queue of 512 bytes holds */

static const char UART = '0';
static char told[256]; /* what standard input said since its last line end */
static size_t n_told;
static uint32_t clock_hz;
static double speed, cycles_due;
static unsigned long n_printed;

static double seconds_now(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return now.tv_sec + now.tv_nsec / 1e9;
}

static void fail(const char *what) {
  fprintf(stderr, "emulator: %s\n", what);
  exit(1);
}

/* The library's own words would mix with the answers; a watchdog that fires is no error here. */
static void log_errors(avr_t *avr, const int level, const char *format, va_list values) {
  (void)avr;
  if (level <= LOG_ERROR) vfprintf(stderr, format, values);
}

/* The library counts floor(mV * 1023 / reference); a converter counts steps of reference / 1024, its top code being
   one step wide (IEEE 1241-2010, 4.1.2). So it is given the millivolts from which it makes the right count. */
static uint32_t millivolts_for_library(uint32_t millivolts) {
  uint32_t count = millivolts * N_STEPS / SUPPLY_MILLIVOLTS;
  if (count > N_STEPS - 1) count = N_STEPS - 1;
  return (count * SUPPLY_MILLIVOLTS + N_STEPS - 2) / (N_STEPS - 1);
}

static void count_byte(avr_irq_t *irq, uint32_t value, void *nothing) {
  (void)irq, (void)value, (void)nothing;
  n_printed++;
}

static void run_until_due(avr_t *avr) {
  while (avr->cycle < cycles_due) {
    int state = avr_run(avr);
    if (state == cpu_Done || state == cpu_Crashed) fail("the program crashed");
  }
}

static void obey(avr_t *avr, const char *line) {
  unsigned pin, millivolts, run_ms;
  char rest;
  if (speed == 0 && sscanf(line, "run %u %c", &run_ms, &rest) == 1) {
    if (run_ms > LONGEST_RUN_MS) fail("too long a run");
    cycles_due += run_ms / 1e3 * clock_hz;
    run_until_due(avr);
    printf("run %u %lu\n", run_ms, n_printed);
    return;
  }
  if (sscanf(line, "pin %u %u %c", &pin, &millivolts, &rest) != 2) fail("say: pin P MILLIVOLTS, or run MS");
  if (pin >= N_PINS || millivolts > SUPPLY_MILLIVOLTS) fail("there is no such pin or voltage");
  avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0 + pin), millivolts_for_library(millivolts));
  printf("pin %u %u\n", pin, millivolts);
}

/* Waits that long for standard input and does what it says; 0 at its end. */
static int listen_for(avr_t *avr, int wait_ms) {
  struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
  if (poll(&input, 1, wait_ms) <= 0) return 1;
  ssize_t n_read = read(STDIN_FILENO, told + n_told, sizeof told - 1 - n_told);
  if (n_read <= 0) return 0;
  n_told += n_read;
  told[n_told] = '\0';
  for (char *end; (end = strchr(told, '\n')); memmove(told, end + 1, n_told + 1)) {
    *end = '\0';
    n_told -= end + 1 - told;
    obey(avr, told);
  }
  if (n_told == sizeof told - 1) fail("a line without end");
  return 1;
}

static avr_t *board_with(const char *firmware_file, const char *mcu) {
  static elf_firmware_t firmware;
  if (elf_read_firmware(firmware_file, &firmware)) fail("the firmware can't be read");
  avr_t *avr = avr_make_mcu_by_name(mcu);
  if (!avr) fail("there is no such microcontroller");
  avr_init(avr);
  firmware.frequency = clock_hz;
  firmware.vcc = firmware.avcc = firmware.aref = SUPPLY_MILLIVOLTS;
  avr_load_firmware(avr, &firmware);
  avr->log = LOG_ERROR;
  return avr;
}

int main(int n_words, char **words) {
  if (n_words != 6) fail("say: emulator FIRMWARE MCU CLOCK_HZ SPEED SECONDS");
  clock_hz = strtoul(words[3], NULL, 10);
  speed = strtod(words[4], NULL);
  double seconds = strtod(words[5], NULL);
  if (clock_hz == 0 || !(speed >= 0) || !(seconds > 0)) fail("clock and seconds must be above 0, speed at least 0");
  setvbuf(stdout, NULL, _IOLBF, 0);
  avr_global_logger_set(log_errors);
  avr_t *avr = board_with(words[1], words[2]);

  static uart_pty_t line;
  uart_pty_init(avr, &line);
  /* Not uart_pty_connect: it makes a link of one name for all emulators. These boards only print. */
  avr_irq_t *output = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ(UART), UART_IRQ_OUTPUT);
  avr_irq_register_notify(output, count_byte, NULL);
  avr_connect_irq(output, line.irq + IRQ_UART_PTY_BYTE_IN);
  /* Else the program would sleep and echo by the library's own ideas of time. */
  uint32_t flags = 0;
  avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS(UART), &flags);
  printf("port %s\n", line.pty.slavename);

  double started = seconds_now(), at = started;
  while (at - started < seconds && listen_for(avr, SLICE_MS)) {
    double now = seconds_now();
    /* After a stall of the machine it goes on at its pace: a burst could be more than the line's queue holds. */
    cycles_due += (now - at < LONGEST_SLICE_SECONDS ? now - at : LONGEST_SLICE_SECONDS) * speed * clock_hz;
    at = now;
    run_until_due(avr);
  }
  return 0;
}
