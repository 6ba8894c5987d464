/* Published developing times at temperatures: the figures, as printed, and where they are printed.
 *
 * Each row is one cell of a table that was read in the source named. Fahrenheit is the column to
 * use: the Celsius columns are rounded from it, to whole degrees or to tenths. A series is one
 * film, developer, dilution and way of agitating; the developer's kind stands above it. */
#ifndef WETSIDE_TESTS_TIME_TEMPERATURE_H
#define WETSIDE_TESTS_TIME_TEMPERATURE_H

#include <math.h>

enum published_in {
    /* Eastman Kodak Company, publication F-32, web edition, part 2, tables "Rotary-Tube
     * Processing", rolls and sheets, 2001-2002. */
    IN_F32,
    /* Minnesota Department of Health, Administrative Rules part 4732.0555, X-ray film processing
     * requirements, "Time-Temperature Chart", 2024 (hand tanks; North Dakota, Washington and New
     * Mexico print the same chart). */
    IN_RULES,
    /* Ilford Photo, developer times, columns 68 F and 75 F, in a third person's transcription of
     * 2022: second-hand. Times are printed as minutes.seconds. */
    IN_COPY,
    /* L. P. Clerc, Photography Theory and Practice, c. 1937 (papers; shortest and longest normal
     * time). */
    IN_CLERC,
    /* An individual practitioner, article on developing at tap-water temperature, 2011 (own
     * trials). */
    IN_ARTICLE,
    /* E. J. Wall, "Thermo-Entwicklung", Jahrbuch fuer Photographie und Reproduktionstechnik vol.
     * 24, p. 44, 1910 (times of appearance). */
    IN_WALL
};

struct published_time {
    const char *series;
    enum published_in source;
    double f, c;         /* as printed; NAN where the column is missing */
    const char *printed; /* the time as printed */
    int s;               /* and in seconds */
};

static const struct published_time published_time[] = {
    /* R01: phenidone-hydroquinone (high-energy concentrate) */
    { "R01", IN_F32, 68, 20, "6 1/2", 390 },
    { "R01", IN_F32, 70, 21, "6 1/2", 390 },
    { "R01", IN_F32, 72, 22, "6", 360 },
    { "R01", IN_F32, 75, 24, "5 1/2", 330 },
    /* R02: phenidone-hydroquinone (high-energy concentrate) */
    { "R02", IN_F32, 68, 20, "6 1/2", 390 },
    { "R02", IN_F32, 70, 21, "6 1/2", 390 },
    { "R02", IN_F32, 72, 22, "6", 360 },
    { "R02", IN_F32, 75, 24, "5 1/2", 330 },
    /* R03: phenidone-hydroquinone (high-energy concentrate) */
    { "R03", IN_F32, 68, 20, "7", 420 },
    { "R03", IN_F32, 70, 21, "6 1/2", 390 },
    { "R03", IN_F32, 72, 22, "6", 360 },
    { "R03", IN_F32, 75, 24, "5", 300 },
    /* R04: phenidone-hydroquinone (high-energy concentrate) */
    { "R04", IN_F32, 68, 20, "6 1/2", 390 },
    { "R04", IN_F32, 70, 21, "6", 360 },
    { "R04", IN_F32, 72, 22, "5 1/2", 330 },
    { "R04", IN_F32, 75, 24, "5 1/2", 330 },
    /* R07: phenidone-ascorbate */
    { "R07", IN_F32, 68, 20, "5 3/4", 345 },
    { "R07", IN_F32, 70, 21, "5", 300 },
    { "R07", IN_F32, 72, 22, "4 1/2", 270 },
    { "R07", IN_F32, 75, 24, "3 3/4", 225 },
    /* R08: phenidone-ascorbate */
    { "R08", IN_F32, 68, 20, "5 1/4", 315 },
    { "R08", IN_F32, 70, 21, "4 3/4", 285 },
    { "R08", IN_F32, 72, 22, "4 1/4", 255 },
    /* R09: phenidone-ascorbate */
    { "R09", IN_F32, 68, 20, "8 3/4", 525 },
    { "R09", IN_F32, 70, 21, "8", 480 },
    { "R09", IN_F32, 72, 22, "7 1/4", 435 },
    { "R09", IN_F32, 75, 24, "6 1/4", 375 },
    /* R11: phenidone-ascorbate */
    { "R11", IN_F32, 68, 20, "7 3/4", 465 },
    { "R11", IN_F32, 70, 21, "7 1/2", 450 },
    { "R11", IN_F32, 72, 22, "7 1/4", 435 },
    { "R11", IN_F32, 75, 24, "6 3/4", 405 },
    /* R12: phenidone-ascorbate */
    { "R12", IN_F32, 68, 20, "7", 420 },
    { "R12", IN_F32, 70, 21, "6 1/2", 390 },
    { "R12", IN_F32, 72, 22, "6", 360 },
    { "R12", IN_F32, 75, 24, "5 1/4", 315 },
    /* R14: metol-hydroquinone borax */
    { "R14", IN_F32, 68, 20, "7", 420 },
    { "R14", IN_F32, 70, 21, "6 1/2", 390 },
    { "R14", IN_F32, 72, 22, "6", 360 },
    { "R14", IN_F32, 75, 24, "5 1/2", 330 },
    /* R15: phenidone-hydroquinone (high-energy concentrate) */
    { "R15", IN_F32, 68, 20, "6 1/2", 390 },
    { "R15", IN_F32, 70, 21, "6", 360 },
    { "R15", IN_F32, 72, 22, "5 1/2", 330 },
    /* R17: phenidone-hydroquinone (high-energy concentrate) */
    { "R17", IN_F32, 68, 20, "7", 420 },
    { "R17", IN_F32, 70, 21, "6 1/2", 390 },
    { "R17", IN_F32, 72, 22, "6", 360 },
    { "R17", IN_F32, 75, 24, "5", 300 },
    /* R18: phenidone-hydroquinone (high-energy concentrate) */
    { "R18", IN_F32, 68, 20, "6 1/2", 390 },
    { "R18", IN_F32, 70, 21, "6", 360 },
    { "R18", IN_F32, 72, 22, "5 1/2", 330 },
    { "R18", IN_F32, 75, 24, "5 1/2", 330 },
    /* R19: metol/phenidone-hydroquinone carbonate (x-ray) */
    { "R19", IN_RULES, 60, 15.6, "9 1/2", 570 },
    { "R19", IN_RULES, 61, 16.1, "8 1/2", 510 },
    { "R19", IN_RULES, 62, 16.7, "8", 480 },
    { "R19", IN_RULES, 63, 17.2, "7", 420 },
    { "R19", IN_RULES, 64, 17.8, "6 1/2", 390 },
    { "R19", IN_RULES, 65, 18.3, "6", 360 },
    { "R19", IN_RULES, 66, 18.9, "5 1/2", 330 },
    { "R19", IN_RULES, 67, 19.4, "5 1/2", 330 },
    { "R19", IN_RULES, 68, 20.0, "5", 300 },
    { "R19", IN_RULES, 69, 20.6, "4 1/2", 270 },
    { "R19", IN_RULES, 70, 21.1, "4 1/2", 270 },
    { "R19", IN_RULES, 71, 21.7, "4", 240 },
    { "R19", IN_RULES, 72, 22.2, "4", 240 },
    { "R19", IN_RULES, 73, 22.8, "3 1/2", 210 },
    { "R19", IN_RULES, 74, 23.3, "3 1/2", 210 },
    { "R19", IN_RULES, 75, 23.9, "3", 180 },
    { "R19", IN_RULES, 76, 24.4, "3", 180 },
    { "R19", IN_RULES, 77, 25.0, "2 1/2", 150 },
    { "R19", IN_RULES, 78, 25.6, "2 1/2", 150 },
    { "R19", IN_RULES, 79, 26.1, "2", 120 },
    { "R19", IN_RULES, 80, 26.7, "2", 120 },
    /* P01: phenidone-ascorbate */
    { "P01", IN_ARTICLE, 55, NAN, "23 min", 1380 },
    { "P01", IN_ARTICLE, 95, NAN, "2 min 40 s", 160 },
    /* P02: paper metol-hydroquinone */
    { "P02", IN_CLERC, 55, NAN, "30 s", 30 },
    { "P02", IN_CLERC, 65, NAN, "20 s", 20 },
    /* P03: paper metol-hydroquinone */
    { "P03", IN_CLERC, 55, NAN, "60 s", 60 },
    { "P03", IN_CLERC, 65, NAN, "40 s", 40 },
    /* P04: metol-hydroquinone */
    { "P04", IN_WALL, NAN, 8, "70 s", 70 },
    { "P04", IN_WALL, NAN, 20, "25 s", 25 },
    /* D01: phenidone-hydroquinone borate */
    { "D01", IN_COPY, 68, 20, "7.00", 420 },
    { "D01", IN_COPY, 75, 24, "5.00", 300 },
    /* D02: phenidone-hydroquinone borate */
    { "D02", IN_COPY, 68, 20, "8.00", 480 },
    { "D02", IN_COPY, 75, 24, "6.00", 360 },
    /* D03: phenidone-hydroquinone borate */
    { "D03", IN_COPY, 68, 20, "9.30", 570 },
    { "D03", IN_COPY, 75, 24, "7.00", 420 },
    /* D04: phenidone-hydroquinone borate */
    { "D04", IN_COPY, 68, 20, "12.30", 750 },
    { "D04", IN_COPY, 75, 24, "9.00", 540 },
    /* D05: phenidone-hydroquinone borate */
    { "D05", IN_COPY, 68, 20, "17.00", 1020 },
    { "D05", IN_COPY, 75, 24, "12.00", 720 },
    /* D06: phenidone-hydroquinone borate */
    { "D06", IN_COPY, 68, 20, "25.00", 1500 },
    { "D06", IN_COPY, 75, 24, "17.00", 1020 },
    /* D07: phenidone-hydroquinone borate */
    { "D07", IN_COPY, 68, 20, "8.00", 480 },
    { "D07", IN_COPY, 75, 24, "5.30", 330 },
    /* D08: phenidone-hydroquinone borate */
    { "D08", IN_COPY, 68, 20, "10.30", 630 },
    { "D08", IN_COPY, 75, 24, "7.30", 450 },
    /* D09: phenidone-hydroquinone borate */
    { "D09", IN_COPY, 68, 20, "13.30", 810 },
    { "D09", IN_COPY, 75, 24, "9.00", 540 },
    /* D10: phenidone-hydroquinone borate */
    { "D10", IN_COPY, 68, 20, "18.00", 1080 },
    { "D10", IN_COPY, 75, 24, "13.00", 780 },
    /* D11: phenidone-hydroquinone borate */
    { "D11", IN_COPY, 68, 20, "9.30", 570 },
    { "D11", IN_COPY, 75, 24, "7.00", 420 },
    /* D12: phenidone-hydroquinone borate */
    { "D12", IN_COPY, 68, 20, "12.00", 720 },
    { "D12", IN_COPY, 75, 24, "9.00", 540 },
    /* D13: phenidone-hydroquinone borate */
    { "D13", IN_COPY, 68, 20, "14.00", 840 },
    { "D13", IN_COPY, 75, 24, "11.00", 660 },
    /* D14: phenidone-hydroquinone borate */
    { "D14", IN_COPY, 68, 20, "9.00", 540 },
    { "D14", IN_COPY, 75, 24, "7.00", 420 },
    /* D15: phenidone-hydroquinone borate */
    { "D15", IN_COPY, 68, 20, "10.00", 600 },
    { "D15", IN_COPY, 75, 24, "8.00", 480 },
    /* D16: phenidone-hydroquinone borate */
    { "D16", IN_COPY, 68, 20, "13.00", 780 },
    { "D16", IN_COPY, 75, 24, "10.00", 600 },
    /* D17: phenidone-hydroquinone borate */
    { "D17", IN_COPY, 68, 20, "20.00", 1200 },
    { "D17", IN_COPY, 75, 24, "14.30", 870 },
    /* D21: phenidone-hydroquinone borate */
    { "D21", IN_COPY, 68, 20, "8.00", 480 },
    { "D21", IN_COPY, 75, 24, "5.00", 300 },
    /* D22: phenidone-hydroquinone borate */
    { "D22", IN_COPY, 68, 20, "9.00", 540 },
    { "D22", IN_COPY, 75, 24, "6.00", 360 },
    /* D23: phenidone-hydroquinone borate */
    { "D23", IN_COPY, 68, 20, "10.00", 600 },
    { "D23", IN_COPY, 75, 24, "7.00", 420 },
    /* D24: phenidone-hydroquinone borate */
    { "D24", IN_COPY, 68, 20, "14.00", 840 },
    { "D24", IN_COPY, 75, 24, "10.00", 600 },
    /* D25: phenidone-hydroquinone borate */
    { "D25", IN_COPY, 68, 20, "8.00", 480 },
    { "D25", IN_COPY, 75, 24, "6.00", 360 },
    /* D26: phenidone-hydroquinone borate */
    { "D26", IN_COPY, 68, 20, "10.00", 600 },
    { "D26", IN_COPY, 75, 24, "8.00", 480 },
    /* D27: phenidone-hydroquinone borate */
    { "D27", IN_COPY, 68, 20, "13.00", 780 },
    { "D27", IN_COPY, 75, 24, "10.00", 600 },
    /* D28: phenidone-hydroquinone borate */
    { "D28", IN_COPY, 68, 20, "7.00", 420 },
    { "D28", IN_COPY, 75, 24, "5.00", 300 },
    /* D29: phenidone-hydroquinone borate */
    { "D29", IN_COPY, 68, 20, "9.00", 540 },
    { "D29", IN_COPY, 75, 24, "7.00", 420 },
    /* D30: phenidone-hydroquinone borate */
    { "D30", IN_COPY, 68, 20, "8.00", 480 },
    { "D30", IN_COPY, 75, 24, "6.00", 360 },
    /* D31: phenidone-hydroquinone borate */
    { "D31", IN_COPY, 68, 20, "10.00", 600 },
    { "D31", IN_COPY, 75, 24, "8.00", 480 },
    /* D32: phenidone-hydroquinone borate */
    { "D32", IN_COPY, 68, 20, "14.00", 840 },
    { "D32", IN_COPY, 75, 24, "11.00", 660 },
};

enum { PUBLISHED_TIMES = sizeof published_time / sizeof *published_time };

#endif
