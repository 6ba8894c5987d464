/* Text to seconds, degrees and millilitres, and back: the only place that does it.
 *
 * All reading functions skip blanks at both ends, take the whole text or refuse it, never depend on
 * the locale (a comma is accepted as a decimal mark too, but `1,000` is refused: it could be one or
 * a thousand), and on failure write one line that names the text and shows what would be right.
 * Printing functions write at most `size` bytes with the terminating zero and return the length
 * written. */
#ifndef WETSIDE_CALC_UNITS_H
#define WETSIDE_CALC_UNITS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wetside/calc/status.h"

/* The longest time and the limits of temperatures anywhere in the program. */
#define WS_TIME_MOST_MS  (INT64_C(48) * 3600 * 1000)
#define WS_LEAST_C       (-5.0)
#define WS_BATH_MOST_C   50.0
#define WS_MIXING_MOST_C 120.0

/* Reads a duration: `7:30`, `1:02:05`, `7.5` and `7` (minutes), `6 3/4`, `450s`, `7m`, `7m30s`,
 * `7 min 30 s`, `1h`, `1h 5m`, `0:07`. Refused: negative, empty, more than 59
 * after a colon, more than 48 hours, more than a millisecond's precision.
 * *echo (may be null) is true where a person could have meant something else (a bare `450`, `7.30`,
 * `90:00`, `1:02:05`, `7m90s`): the caller then shows ws_time_words. */
enum ws_status ws_time_read(const char *text, int64_t *time_ms, bool *echo, struct ws_message *why);

/* `9:30`, `0:07`, `1:02:05` from an hour on; rounded half away from zero to whole seconds;
 * a leading minus if negative. */
size_t ws_time_print(int64_t time_ms, char *text, size_t size);

/* `7 minutes 30 seconds`, `1 hour 5 minutes`, `45 seconds`, `1 minute`. */
size_t ws_time_words(int64_t time_ms, char *text, size_t size);

enum ws_scale { WS_CELSIUS, WS_FAHRENHEIT };

/* What a temperature is for sets its limits: a bath or a room -5 to 50 C, mixing -5 to 120 C. */
enum ws_temperature_use { WS_FOR_BATH, WS_FOR_MIXING };

/* Reads `20C`, `20 °C`, `68F`, `20.5`; a bare number is in `bare`. Gives degrees Celsius. */
enum ws_status ws_temperature_read(const char *text, enum ws_scale bare,
                                   enum ws_temperature_use use, double *c, struct ws_message *why);

/* `20.0 C` or `68.0 F`, one decimal; `?` when `c` is not a number (not known). */
size_t ws_temperature_print(double c, enum ws_scale scale, char *text, size_t size);

double ws_celsius_from_fahrenheit(double f);
double ws_fahrenheit_from_celsius(double c);

/* Reads `500`, `500 ml`, `1 l`, `0.5l`, `1.5 litres`; gives millilitres, above 0 and up to 1000 l.
 * Ounces, pints and gallons are refused with both meanings (US and imperial) spelled out. */
enum ws_status ws_volume_read(const char *text, double *ml, struct ws_message *why);

/* Three significant figures where it matters at the sink: `4.98 ml`, `16.6 ml`, `150 ml`,
 * `1000 ml`: two decimals below 10, one below 100, whole above (trailing zeros dropped). */
size_t ws_volume_print(double ml, char *text, size_t size);

/* Reads a plain decimal number (`12`, `0.5`, `0,5`), the whole text, finite. */
enum ws_status ws_number_read(const char *text, double *value, struct ws_message *why);

/* Copies UTF-8 into `text`, cutting at a character's boundary; always terminated; the length. */
size_t ws_text_copy(char *text, size_t size, const char *from);

#endif
