/* What a person presses again and again on the way to a pour, for scripts in a darkroom of aid
 * stock. Each piece waits for what it answers, so that a script stops where the way differs. */
#ifndef WETSIDE_TESTS_CONSOLE_AID_SCRIPTS_H
#define WETSIDE_TESTS_CONSOLE_AID_SCRIPTS_H

/* Lines of a pre-flight, slowly enough to have been seen to; more than there are do no harm. */
#define TICK     "<+600ms><space>"
#define TICK_SIX TICK TICK TICK TICK TICK TICK
#define TICK_ALL TICK_SIX TICK_SIX TICK_SIX TICK_SIX TICK_SIX TICK_SIX "<+600ms>"
#define TICKED   "<until pre-flight, 0 of>" TICK_ALL "<until All is seen to>"
/* From the pre-flight to the first bath's screen, of a process with so many baths; with four. */
#define TO_THE_POUR_OF(baths) TICKED "<enter><until bath 1 of " baths ">"
#define TO_THE_POUR           TO_THE_POUR_OF("4")

/* From the Sink at rest with one roll to a question; `process` and `bottle` are keys to its line in
 * the list, `fill` and `dilution` keys before enter, all "" for what stands there. */
#define TO_TANK(process)                                                                           \
    "<until Develop><enter><until By which process?>" process                                      \
    "<enter><until on reel 1><enter><until on reel 2><enter><until In which tank?>"
#define TO_BOTTLE(process, fill)                                                                   \
    TO_TANK(process) "<enter><until How much fills>" fill "<enter><until From which bottle?>"
#define TO_DILUTION(process, fill, bottle)                                                         \
    TO_BOTTLE(process, fill) bottle "<enter><until How is the developer thinned?>"
#define TO_SHEET(process, fill, bottle, dilution)                                                  \
    TO_DILUTION(process, fill, bottle)                                                             \
    dilution "<enter><until How warm>20<enter><until Go on>"

/* From a bath that waits with its film in the open, to black: step by step, by the hand key. */
#define YES_BY(key, step) "<until " step "><+600ms>" key "<+400ms>"
#define TO_BLACK_BY(key)                                                                           \
    "<until space: lights out first>" key YES_BY(key, "LIGHTS OUT 1/4")                            \
        YES_BY(key, "LIGHTS OUT 2/4") YES_BY(key, "LIGHTS OUT 3/4")                                \
            YES_BY(key, "LIGHTS OUT 4/4") "<black>"
#define TO_BLACK TO_BLACK_BY("<space>")
/* The same from `l`, by y. */
#define Y_TO(step) "<until " step "><+600ms>y<+400ms>"
#define L_TO_BLACK                                                                                 \
    "l<+400ms>" Y_TO("LIGHTS OUT 1/4") Y_TO("LIGHTS OUT 2/4") Y_TO("LIGHTS OUT 3/4")               \
        Y_TO("LIGHTS OUT 4/4") "<black>"
/* And back to light. */
#define TO_LIGHT "<+1s><esc><+3s><enter><+400ms>"

/* All eight answers of a stranger, and on to the pre-flight. */
#define EIGHT                                                                                      \
    "<enter>Tarn 125<enter>MQB concentrate<enter>1+4<enter>300<enter>7:30<down>20C<enter>"         \
    "22.5<enter><enter><enter>"

/* Every size from large to one cell, and back to the usual one. */
#define SIZES                                                                                      \
    "<size 120x40><size 40x12><size 39x7><size 16x4><size 10x3><size 5x2><size 1x1><size 2x30>"    \
    "<size 200x1><size 80x24>"

#endif
