/* Things of the book as JSON, for the verbs that show them. New references; null without memory. */
#ifndef WETSIDE_COMMAND_ANSWER_H
#define WETSIDE_COMMAND_ANSWER_H

#include <jansson.h>

#include "wetside/drive/page.h"

/* One line of a list of rolls. */
json_t *ws_answer_roll_line(const struct ws_roll_line *line);
/* A roll's page: the roll, its verdicts, and the run with its baths (null if not developed). */
json_t *ws_answer_roll(const struct ws_page_roll *page);
/* A batch without, and with, its ledger and rolls. */
json_t *ws_answer_batch(const struct ws_batch *batch);
json_t *ws_answer_batch_page(const struct ws_page_batch *page);

#endif
